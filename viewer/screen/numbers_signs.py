"""A sign for each grade, and which verdict's color and pattern it has."""

from __future__ import annotations

from functools import lru_cache

import pygame

from viewer.screen.pixels import alpha_surface
from viewer.screen.shapes import verdict_sign
from viewer.screen.theme import Rgb
from viewer.sizing import Grade

VERDICT_OF = {
    Grade.FITS: "fits",
    Grade.DEPENDS: "in-margin",
    Grade.CANNOT: "outside",
    Grade.TOO_CLOSE: "too-close",
}
"""Solid, striped, crossed, dotted: as the verdicts of files are."""


def grade_sign(found: Grade, size_px: int, color: Rgb) -> pygame.Surface:
    """A check, a disc half full, a cross or a question mark."""
    if found is Grade.DEPENDS:
        return _half_disc(size_px, color)
    return verdict_sign(VERDICT_OF[found], size_px, color)


@lru_cache(maxsize=32)
def _half_disc(size_px: int, color: Rgb) -> pygame.Surface:
    big = 8 * size_px
    surface = alpha_surface(big, big)
    middle, radius = big // 2, big * 9 // 20
    pygame.draw.circle(surface, color, (middle, middle), radius, max(1, big // 9))
    pygame.draw.circle(
        surface, color, (middle, middle), radius, draw_top_left=True, draw_bottom_left=True
    )
    return pygame.transform.smoothscale(surface.premul_alpha(), (size_px, size_px))
