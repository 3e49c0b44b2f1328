"""Small smooth shapes: rounded boxes, triangles, lines, verdict signs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import pygame
import pygame.gfxdraw

from viewer.screen.pixels import PREMULTIPLIED, alpha_surface
from viewer.screen.ring import disc
from viewer.screen.theme import Rgb

Point = tuple[float, float]


@lru_cache(maxsize=256)
def _disc(radius_px: int, color: Rgb) -> pygame.Surface:
    return disc(radius_px, color)


def rounded(
    surface: pygame.Surface,
    rect: pygame.Rect,
    radius_px: int,
    color: Rgb,
    edge: Rgb | None = None,
    edge_px: int = 1,
) -> None:
    """A filled box with smooth round corners, and an edge where one is given."""
    if edge is not None:
        rounded(surface, rect, radius_px, edge)
        rect = rect.inflate(-2 * edge_px, -2 * edge_px)
        radius_px = max(1, radius_px - edge_px)
    r = min(radius_px, rect.width // 2, rect.height // 2)
    if r < 1:
        surface.fill(color, rect)
        return
    surface.fill(color, (rect.x + r, rect.y, rect.width - 2 * r, rect.height))
    surface.fill(color, (rect.x, rect.y + r, rect.width, rect.height - 2 * r))
    corner = _disc(r, color)
    half = corner.get_width() // 2
    for right in (0, 1):
        for low in (0, 1):
            x = rect.right - r if right else rect.x
            y = rect.bottom - r if low else rect.y
            area = (half if right else half - r, half if low else half - r, r, r)
            surface.blit(corner, (x, y), area, special_flags=PREMULTIPLIED)


def polygon(surface: pygame.Surface, points: Sequence[Point], color: Rgb) -> None:
    """A filled polygon with smooth edges."""
    whole = [(math.floor(x + 0.5), math.floor(y + 0.5)) for x, y in points]
    if any(abs(v) > 30000 for point in whole for v in point):
        return  # gfxdraw counts in 16 bits
    pygame.gfxdraw.filled_polygon(surface, whole, color)
    pygame.gfxdraw.aapolygon(surface, whole, color)


def line(surface: pygame.Surface, start: Point, end: Point, width_px: float, color: Rgb) -> None:
    """A smooth straight line with square ends."""
    length = math.hypot(end[0] - start[0], end[1] - start[1])
    if length == 0:
        return
    if width_px <= 1.25:
        pygame.draw.aaline(surface, color, start, end)
        return
    nx = (end[1] - start[1]) / length * width_px / 2
    ny = -(end[0] - start[0]) / length * width_px / 2
    corners = [
        (start[0] + nx, start[1] + ny),
        (end[0] + nx, end[1] + ny),
        (end[0] - nx, end[1] - ny),
        (start[0] - nx, start[1] - ny),
    ]
    polygon(surface, corners, color)


@lru_cache(maxsize=64)
def verdict_sign(verdict: str, size_px: int, color: Rgb) -> pygame.Surface:
    """A check, an exclamation mark, a cross or a question mark; drawn, not a letter."""
    big = 8
    n = size_px * big
    surface = alpha_surface(n, n)
    width = max(1, n // 7)

    def at(x: float, y: float) -> tuple[int, int]:
        return round(x * n), round(y * n)

    def stroke(*points: Point) -> None:
        placed = [at(*p) for p in points]
        for a, b in pairwise(placed):
            # A line of pygame is thinner the more it slants.
            length = math.hypot(b[0] - a[0], b[1] - a[1]) or 1.0
            nx, ny = (b[1] - a[1]) / length * width / 2, (a[0] - b[0]) / length * width / 2
            corners = [(a[0] + nx, a[1] + ny), (b[0] + nx, b[1] + ny)]
            corners += [(b[0] - nx, b[1] - ny), (a[0] - nx, a[1] - ny)]
            pygame.draw.polygon(surface, color, corners)
        for p in placed:
            pygame.draw.circle(surface, color, p, width // 2)

    if verdict == "fits":
        stroke((0.15, 0.55), (0.4, 0.8), (0.85, 0.22))
    elif verdict == "outside":
        stroke((0.2, 0.2), (0.8, 0.8))
        stroke((0.8, 0.2), (0.2, 0.8))
    elif verdict == "in-margin":
        stroke((0.5, 0.14), (0.5, 0.58))
        pygame.draw.circle(surface, color, at(0.5, 0.84), round(width * 0.65))
    else:
        stroke(
            (0.3, 0.3),
            (0.36, 0.18),
            (0.5, 0.13),
            (0.65, 0.18),
            (0.7, 0.32),
            (0.62, 0.45),
            (0.5, 0.54),
            (0.5, 0.62),
        )
        pygame.draw.circle(surface, color, at(0.5, 0.85), round(width * 0.65))
    return pygame.transform.smoothscale(surface.premul_alpha(), (size_px, size_px))
