"""Tiny separate pieces of ink that decide the smallest circle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.geometry import convex_hull, mask_extent_points, smallest_enclosing_circle

Mask = NDArray[np.bool_]

SPECK_SIZE_MM = 1.0
"""A separate piece no larger than this in either direction is a speck."""
_MAX_SPECKS = 40


@dataclass(frozen=True)
class CoarseSpeck:
    """Pixel box (x0, y0, x1, y1; half open) of a piece, and its pixels."""

    box: tuple[int, int, int, int]
    pixels: tuple[tuple[int, int], ...]


def find_specks(mask: Mask, pixel_mm: float) -> list[CoarseSpeck]:
    """Specks of a coarse mask, outermost first; removing all of them shrinks the circle.

    A piece that shares its last pixels with larger ink is not a speck. With nothing
    but specks there are none: then they are the artwork.
    """
    work = mask.copy()
    limit_px = max(2, round(SPECK_SIZE_MM / pixel_mm) + 2)
    found: list[CoarseSpeck] = []
    first_radius = 0.0
    while len(found) < _MAX_SPECKS:
        corners = mask_extent_points(work)
        if not len(corners):
            return []
        circle = smallest_enclosing_circle(convex_hull(corners))
        first_radius = first_radius or circle.radius
        piece = _speck_at_contacts(work, circle.support, limit_px)
        if piece is None:
            shrunk = (first_radius - circle.radius) * 2.0
            return found if shrunk > 2.0 else []
        for y, x in piece.pixels:
            work[y, x] = False
        found.append(piece)
    return []


def _speck_at_contacts(
    mask: Mask, contacts: NDArray[np.float64], limit_px: int
) -> CoarseSpeck | None:
    for x, y in contacts:
        for start in _pixels_at_corner(mask, round(float(x)), round(float(y))):
            piece = _small_piece(mask, start, limit_px)
            if piece is not None:
                return piece
    return None


def _pixels_at_corner(mask: Mask, x: int, y: int) -> list[tuple[int, int]]:
    near = [(y - 1, x - 1), (y - 1, x), (y, x - 1), (y, x)]
    height, width = mask.shape
    return [(b, a) for b, a in near if 0 <= b < height and 0 <= a < width and mask[b, a]]


def _small_piece(mask: Mask, start: tuple[int, int], limit_px: int) -> CoarseSpeck | None:
    """Flood fill (8 neighbors) that gives up as soon as the piece is no speck."""
    seen = {start}
    stack = [start]
    y0 = y1 = start[0]
    x0 = x1 = start[1]
    height, width = mask.shape
    while stack:
        y, x = stack.pop()
        y0, y1, x0, x1 = min(y0, y), max(y1, y), min(x0, x), max(x1, x)
        if y1 - y0 >= limit_px or x1 - x0 >= limit_px:
            return None
        for b in range(max(0, y - 1), min(height, y + 2)):
            for a in range(max(0, x - 1), min(width, x + 2)):
                if mask[b, a] and (b, a) not in seen:
                    seen.add((b, a))
                    stack.append((b, a))
    return CoarseSpeck((x0, y0, x1 + 1, y1 + 1), tuple(seen))
