"""Where the ink of a picture ends: the only pixels that a hull can touch."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viewer.geometry.types import Points

_WINDOW_PX = 128


def mask_extent_points(mask: NDArray[np.bool_]) -> Points:
    """Outer pixel corners of the first and the last ink pixel of each row.

    Shape (4 x rows with ink, 2), as (x, y) in pixels; a pixel at column x, row y
    covers [x, x + 1] by [y, y + 1]. Their hull is the hull of all ink. A mask
    without ink gives no points.
    """
    if mask.ndim != 2 or mask.dtype != np.bool_:
        raise ValueError(f"mask must be a bool array (h, w), not {mask.dtype} {mask.shape}")
    if mask.size == 0:
        return np.empty((0, 2))
    first = mask.argmax(axis=1)
    rows = np.flatnonzero(mask[np.arange(len(mask)), first])
    left, right = first[rows], _last_in_rows(mask, rows) + 1
    x = np.concatenate((left, left, right, right))
    y = np.concatenate((rows, rows + 1, rows, rows + 1))
    return np.stack((x, y), axis=1).astype(np.float64)


def _last_in_rows(mask: NDArray[np.bool_], inked: NDArray[np.intp]) -> NDArray[np.intp]:
    """Last ink column of each row ``inked``, every one of which has ink.

    Searched in windows from the right, so that only what lies beyond the ink is
    read; argmax over a reversed view would copy the whole picture first.
    """
    last = np.empty(len(mask), dtype=np.intp)
    rows, end = inked, mask.shape[1]
    while len(rows):
        begin = max(0, end - _WINDOW_PX)
        window = mask[rows, begin:end][:, ::-1]
        offset = window.argmax(axis=1)
        found = window[np.arange(len(rows)), offset]
        last[rows[found]] = end - 1 - offset[found]
        rows, end = rows[~found], begin
    return last[inked]
