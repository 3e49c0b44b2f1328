"""Whether two renderings of one page show the same ink, to a coarse pixel.

A page that was rewritten is not believed to be the page that it came from: both are drawn
and compared place by place, so that ink on painted paper counts as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

Rgba = NDArray[np.uint8]
Draw = Callable[[float, float, float, int, int], Rgba]
"""x0_mm, y0_mm, px_per_mm, width and height in pixels, as ``PdfFile.draw``."""
Box = tuple[float, float, float, float]

_PX_PER_MM = 5.0
_MOST_PX = 6_000_000
_STRIP_PX = 1_000_000
_AT_ONCE = 100_000
_STEPS = (-1, 0, 1)
_LEVELS = 40
"""Edges of curves that are flattened otherwise differ by so much of their coverage."""


def show_the_same(one: Draw, other: Draw, box_mm: Box) -> bool:
    """Whether neither drawing has ink or color within the box that the other lacks.

    Every pixel of either must be found in the other within one pixel of its place: any
    coverage at all, and each channel over white to `_LEVELS` of 255.
    """
    for before, after in _strips(one, other, box_mm):
        # The rim has no neighbors on one side: it is in the next strip, or beyond the ink.
        apart = (before != after).any(axis=-1)[1:-1, 1:-1]
        places = np.argwhere(apart) + 1
        for part in np.array_split(places, len(places) // _AT_ONCE + 1):
            if not (_found(before, after, part) and _found(after, before, part)):
                return False
    return True


def _strips(one: Draw, other: Draw, box_mm: Box) -> Iterator[tuple[Rgba, Rgba]]:
    x0, y0, x1, y1 = box_mm
    width_mm, height_mm = x1 - x0, y1 - y0
    k = min(_PX_PER_MM, math.sqrt(_MOST_PX / (width_mm * height_mm)))
    width, height = math.ceil(width_mm * k) + 2, math.ceil(height_mm * k) + 2
    rows = max(8, _STRIP_PX // width)
    # The last two rows are drawn again, so that each has its neighbors in one strip.
    for top in range(0, height, rows):
        window = (x0 - 1.0 / k, y0 + (top - 1) / k, k, width, min(rows, height - top) + 2)
        yield one(*window), other(*window)


def _found(picture: Rgba, other: Rgba, places: NDArray[np.intp]) -> bool:
    """Whether what ``picture`` shows at (k, 2) places is in ``other``, at most a pixel off."""
    y, x = places.T
    shown = _over_white(picture[y, x])
    near = np.stack([_over_white(other[y + b, x + a]) for b in _STEPS for a in _STEPS])
    least, most = near.min(axis=0), near.max(axis=0)
    strays = (shown > most + _LEVELS) | (shown < least - _LEVELS)
    lost = (shown[:, 3] > 0) & (most[:, 3] == 0)
    return not (strays.any() or lost.any())


def _over_white(rgba: Rgba) -> NDArray[np.int32]:
    """Colors (k, 4) as seen on white, and the coverage itself, for white ink."""
    seen = rgba.astype(np.int32)
    seen[:, :3] = 255 - (255 - seen[:, :3]) * seen[:, 3:] // 255
    return seen
