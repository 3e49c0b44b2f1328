"""Ink where it must not be: hatched, live, without touching the picture.

An 8-bit surface holds the hatch of all ink as if it were outside; for each row
the stretch inside the ring is replaced by the hatch of the margin, and the
stretch inside the image circle by nothing. That is two copies a row, so it
follows the mouse.
"""

from __future__ import annotations

import math

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.screen.artwork_layer import DARK_INK, LIGHT_INK
from viewer.screen.pixels import empty_indexed
from viewer.screen.theme import ORANGE, VERMILION

PALETTE = ((0, 0, 0), ORANGE, VERMILION, (255, 255, 255), (0x30, 0x1C, 0x00))
_AMBER, _VERMILION, _WHITE, _BROWN = 1, 2, 3, 4


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
        image_px: float,
        inner_px: float,
    ) -> None:
        """Draw for a cup whose center is at ``center_px`` of the view.

        ``view_px``: where on the target the view's corner is. Radii in px.
        """
        if self._surface is None:
            return
        self._refresh(center_px, image_px, inner_px)
        target.blit(self._surface, (view_px[0] + self._x0, view_px[1] + self._y0))

    def _refresh(self, center_px: tuple[int, int], image_px: float, inner_px: float) -> None:
        assert self._surface is not None
        width, height = self._surface.get_size()
        x, y = center_px[0] - self._x0, center_px[1] - self._y0
        pixels = pygame.surfarray.pixels2d(self._surface)
        rows: NDArray[np.uint8] = pixels.T
        rows[...] = self._outside
        for radius, source in ((inner_px, self._margin), (image_px, None)):
            first = max(0, math.floor(y - radius))
            last = min(height, math.ceil(y + radius))
            for row, low, high in _spans(first, last, x, y, radius, width):
                rows[row, low:high] = 0 if source is None else source[row, low:high]
        del pixels, rows


def _spans(
    first: int, last: int, x: int, y: int, radius: float, width: int
) -> list[tuple[int, int, int]]:
    """Per row the columns whose pixel centers are inside a circle: (row, low, high)."""
    if last <= first:
        return []
    rows = np.arange(first, last)
    half_square = radius * radius - (rows + 0.5 - y) ** 2
    rows, half_square = rows[half_square > 0], half_square[half_square > 0]
    half = np.sqrt(half_square)
    low = np.clip(np.ceil(x - half - 0.5), 0, width).astype(int)
    high = np.clip(np.floor(x + half - 0.5) + 1, 0, width).astype(int)
    return list(zip(rows.tolist(), low.tolist(), high.tolist(), strict=True))


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
