"""The connected pieces of a mask, kept as runs of pixels: no I/O, pixels only.

Two pixels belong together when they share a side or a corner. Runs keep this quick and
small for a frame around a large page as well as for half a million dots.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Runs:
    """Runs of ink, row by row from the left: columns ``start`` to ``end`` (not included).

    ``piece`` numbers the piece that a run belongs to, from 0, in reading order.
    """

    shape: tuple[int, int]
    row: Whole
    start: Whole
    end: Whole
    piece: Whole
    count: int
    """How many pieces there are."""

    def mask_of(self, pieces: NDArray[np.integer]) -> Mask:
        """The pixels of some pieces."""
        wanted = np.zeros(self.count, np.bool_)
        wanted[pieces] = True
        chosen = wanted[self.piece]
        height, width = self.shape
        steps = np.zeros((height, width + 1), np.int8)
        # Runs never touch one another, so no place is both a start and an end.
        steps[self.row[chosen], self.start[chosen]] = 1
        steps[self.row[chosen], self.end[chosen]] = -1
        return np.cumsum(steps, axis=1, dtype=np.int8)[:, :width].view(np.bool_)

    def boxes(self) -> Whole:
        """Per piece x0, y0, x1, y1 (half open), shape (count, 4)."""
        boxes = np.empty((self.count, 4), np.int64)
        boxes[:, :2], boxes[:, 2:] = np.iinfo(np.int64).max, -1
        np.minimum.at(boxes[:, 0], self.piece, self.start)
        np.minimum.at(boxes[:, 1], self.piece, self.row)
        np.maximum.at(boxes[:, 2], self.piece, self.end)
        np.maximum.at(boxes[:, 3], self.piece, self.row + 1)
        return boxes

    def sums(self, values: NDArray[np.unsignedinteger]) -> NDArray[np.float64]:
        """Per piece the sum of ``values``, which are of the mask's shape, over it."""
        weights = np.empty(len(self.row), np.float64)
        first = np.searchsorted(self.row, np.arange(self.shape[0] + 1))
        for y in np.flatnonzero(np.diff(first)):
            of_row = slice(first[y], first[y + 1])
            total = np.concatenate([[0], np.cumsum(values[y], dtype=np.int64)])
            weights[of_row] = total[self.end[of_row]] - total[self.start[of_row]]
        return np.bincount(self.piece, weights, minlength=self.count).astype(np.float64)

    def distances(
        self, point: tuple[float, float], pixel: tuple[float, float] = (1.0, 1.0)
    ) -> NDArray[np.float64]:
        """How far each run is from a point (in pixels); 0 inside it. ``pixel``: its sides."""
        x, y = point
        across = np.maximum(np.maximum(self.start - x, x - self.end), 0.0)
        down = np.maximum(np.maximum(self.row - y, y - (self.row + 1)), 0.0)
        return np.asarray(np.hypot(across * pixel[0], down * pixel[1]))

    def point_on(self, own: NDArray[np.intp]) -> tuple[float, float]:
        """The middle of a pixel of the longest of the runs ``own``, well within it."""
        length = (self.end - self.start)[own]
        longest = own[length == length.max()]
        run = longest[len(longest) // 2]
        column = (int(self.start[run]) + int(self.end[run]) - 1) // 2
        return column + 0.5, int(self.row[run]) + 0.5


def connected_runs(mask: Mask) -> Runs:
    """The pieces of a bool array (h, w), in reading order of their first pixel."""
    row, start, end = _runs(mask)
    piece, count = _joined(row, start, end, mask.shape[1])
    return Runs((mask.shape[0], mask.shape[1]), row, start, end, piece, count)


def _runs(mask: Mask) -> tuple[Whole, Whole, Whole]:
    height, width = mask.shape
    padded = np.zeros((height, width + 1), np.bool_)
    padded[:, :width] = mask
    flat = padded.ravel()
    # With an empty column at each row's end, no run goes round a corner.
    change = np.flatnonzero(flat[1:] != flat[:-1]) + 1
    if flat.size and flat[0]:
        change = np.concatenate([[0], change])
    starts, ends = change[::2], change[1::2]
    row = starts // (width + 1)
    return row, starts - row * (width + 1), ends - row * (width + 1)


def _joined(row: Whole, start: Whole, end: Whole, width: int) -> tuple[Whole, int]:
    """Number of each run's piece, and how many there are."""
    span = width + 2
    starts, ends = row * span + start, row * span + end
    below = (row + 1) * span
    # Runs of the next row that share a corner: theirs end at or after our start, and begin
    # at or before our end. Both ends ascend, so they are neighbors in the list.
    first = np.searchsorted(ends, below + start, side="left")
    last = np.searchsorted(starts, below + end, side="right")
    many = np.maximum(last - first, 0)
    one = np.repeat(np.arange(len(row)), many)
    other = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many) + np.repeat(first, many)
    parent = np.arange(len(row))
    while len(one):
        low, high = np.minimum(parent[one], parent[other]), np.maximum(parent[one], parent[other])
        apart = low != high
        if not apart.any():
            break
        one, other = one[apart], other[apart]
        np.minimum.at(parent, high[apart], low[apart])
        while True:
            above = parent[parent]
            if np.array_equal(above, parent):
                break
            parent = above
    roots, piece = np.unique(parent, return_inverse=True)
    return piece.astype(np.int64), len(roots)


def grown(mask: Mask) -> Mask:
    """A mask and all pixels that share a side or a corner with it."""
    out = mask.copy()
    out[1:] |= mask[:-1]
    out[:-1] |= mask[1:]
    sides = out.copy()
    out[:, 1:] |= sides[:, :-1]
    out[:, :-1] |= sides[:, 1:]
    return out
