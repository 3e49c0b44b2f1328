"""Ink where it must not be: hatched, live, without touching the picture.

An 8-bit surface holds the hatch of all ink as if it were outside. Every part of the
image area is convex, so each row has one stretch inside of all hard edges, replaced by
the hatch of the margin, and one inside of all margins, replaced by nothing. That is two
copies a row, so it follows the mouse.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.screen import theme
from viewer.screen.artwork_layer import DARK_INK, LIGHT_INK
from viewer.screen.pixels import empty_indexed

PALETTE = ((0, 0, 0), theme.AMBER, theme.VERMILION, (255, 255, 255), (0x30, 0x1C, 0x00))
_AMBER, _VERMILION, _WHITE, _BROWN = 1, 2, 3, 4


Points = NDArray[np.float64]
Spans = tuple[NDArray[np.float64], NDArray[np.float64]]


@dataclass(frozen=True, eq=False)
class Inside:
    """Where ink may lie: within a circle about the cup's center and within all polygons.

    Px from the cup's center; the polygons are convex.
    """

    radius_px: float
    polygons: Sequence[Points] = ()


class Highlight:
    """The hatched ink of one view; make a new one when the view changes."""

    def __init__(self, codes: pygame.Surface, origin_px: tuple[int, int], period_px: int) -> None:
        view = pygame.surfarray.pixels2d(codes)
        ink: NDArray[np.uint8] = view.T
        rows = np.flatnonzero(ink.any(axis=1))
        columns = np.flatnonzero(ink.any(axis=0))
        self._surface: pygame.Surface | None = None
        if len(rows) == 0:
            return
        self._x0, self._y0 = int(columns[0]), int(rows[0])
        ink = np.ascontiguousarray(
            ink[self._y0 : int(rows[-1]) + 1, self._x0 : int(columns[-1]) + 1]
        )
        del view
        start = (self._x0 - origin_px[0], self._y0 - origin_px[1])
        self._margin = _hatched(ink, start, period_px, _AMBER, 1)
        self._outside = _hatched(ink, start, period_px, _VERMILION, -1)
        self._surface = empty_indexed(ink.shape[1], ink.shape[0], PALETTE)

    def draw(
        self,
        target: pygame.Surface,
        view_px: tuple[int, int],
        center_px: tuple[int, int],
        image: Inside,
        hard: Inside,
    ) -> None:
        """Draw for a cup whose center is at ``center_px`` of the view.

        ``view_px``: where on the target the view's corner is. ``image``: within all
        margins; ``hard``: within the edges themselves.
        """
        if self._surface is None:
            return
        self._refresh(center_px, image, hard)
        target.blit(self._surface, (view_px[0] + self._x0, view_px[1] + self._y0))

    def _refresh(self, center_px: tuple[int, int], image: Inside, hard: Inside) -> None:
        assert self._surface is not None
        width, height = self._surface.get_size()
        x, y = center_px[0] - self._x0, center_px[1] - self._y0
        pixels = pygame.surfarray.pixels2d(self._surface)
        rows: NDArray[np.uint8] = pixels.T
        rows[...] = self._outside
        for inside, source in ((hard, self._margin), (image, None)):
            for row, low, high in _columns(inside, x, y, width, height):
                rows[row, low:high] = 0 if source is None else source[row, low:high]
        del pixels, rows


def _columns(inside: Inside, x: int, y: int, width: int, height: int) -> list[tuple[int, int, int]]:
    """Per row the columns whose pixel centers are inside: (row, low, high)."""
    rows = np.arange(height)
    at: Points = rows.astype(float) + (0.5 - y)
    low, high = _circle_spans(inside.radius_px, at)
    for polygon in inside.polygons:
        left, right = polygon_spans(polygon, at)
        low, high = np.maximum(low, left), np.minimum(high, right)
    keep = high > low
    rows, low, high = rows[keep], low[keep] + x, high[keep] + x
    first = np.clip(np.ceil(low - 0.5), 0, width).astype(int)
    last = np.clip(np.floor(high - 0.5) + 1, 0, width).astype(int)
    return list(zip(rows.tolist(), first.tolist(), last.tolist(), strict=True))


def _circle_spans(radius: float, at: Points) -> Spans:
    square = radius * radius - at * at
    half = np.sqrt(np.maximum(square, 0.0))
    half[square <= 0] = -1.0
    return -half, half


def polygon_spans(polygon: Points, at: Points) -> Spans:
    """Left and right end of a convex polygon at each height; left > right beside of it."""
    top = int(polygon[:, 1].argmin())
    points = np.roll(polygon, -top, axis=0)
    bottom = int(points[:, 1].argmax())
    one, other = points[: bottom + 1], np.vstack([points[bottom:], points[:1]])[::-1]
    ends = [np.interp(at, chain[:, 1], chain[:, 0]) for chain in (one, other)]
    beside = (at <= points[0, 1]) | (at >= points[bottom, 1])
    left, right = np.minimum(*ends), np.maximum(*ends)
    left[beside], right[beside] = 1.0, -1.0
    return left, right


def _hatched(
    ink: NDArray[np.uint8], start_px: tuple[int, int], period_px: int, code: int, slope: int
) -> NDArray[np.uint8]:
    """Stripes of ``code`` on all ink; white between them on dark ink, brown on light."""
    height, width = ink.shape
    column = np.arange(width) + start_px[0]
    row = (np.arange(height) + start_px[1]) * slope
    # One row of the pattern, shifted: cheaper than arithmetic on every pixel.
    stripe = np.arange(width + period_px) % period_px < (period_px * 2) // 3
    shift = (column[0] + row) % period_px
    wide = np.lib.stride_tricks.sliding_window_view(stripe, width)[shift]
    between = np.where(ink == DARK_INK, np.uint8(_WHITE), np.uint8(_BROWN))
    result = np.where(wide, np.uint8(code), between)
    result[ink < LIGHT_INK] = 0
    return result
