"""Coarse to fine: from a renderer to the outline of the ink.

A coarse picture finds which places can decide the convex hull; only those are drawn
fine. Windows go to a renderer process, row ends come back. All lengths here are the
file's own millimetres; scaling is applied to the finished outline.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.connected import Mask, connected_runs
from viewer.artwork.model import InkRule, Points
from viewer.artwork.pool import (
    CancelCheck,
    Window,
    Worker,
    rule_json,
    split_tiles,
    unpack_masks,
)
from viewer.errors import RenderError
from viewer.geometry import convex_hull, hull_excess, mask_extent_points

Rect = tuple[float, float, float, float]

STRIP_PX = 1_000_000
"""A coarse picture is drawn in strips of at most this many pixels."""
_DEPTH_PX = 2.3
"""A coarse pixel whose center is deeper than this inside the hull decides nothing:
half a diagonal to its corner, and a diagonal for ink that only touches a pixel."""
_BATCH = 12
_MOST_POINTS = 200_000
"""Corners kept before they are reduced to their hull, which bounds memory."""
_MAX_TILES = 30_000
_TIP_RADIUS_PX = 12
_TIP_FULL_PX = 16.0
"""Full coverage expected near a hull vertex: a 15 degree corner, or a line 4 px wide,
holds more than this many pixels of ink within the window."""
_MAX_TIPS = 600


@dataclass(frozen=True)
class Grid:
    """A raster laid over the page; pixel (0, 0) has its top-left corner at x0, y0."""

    x0_mm: float
    y0_mm: float
    px_per_mm: float
    width: int
    height: int

    def to_mm(self, points_px: Points) -> Points:
        """Pixel corners to millimetres."""
        return points_px / self.px_per_mm + (self.x0_mm, self.y0_mm)

    def to_px(self, points_mm: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """Millimetres to pixels."""
        k = self.px_per_mm
        return [((x - self.x0_mm) * k, (y - self.y0_mm) * k) for x, y in points_mm]

    @property
    def pixel_mm(self) -> float:
        """Side of one pixel."""
        return 1.0 / self.px_per_mm


@dataclass(frozen=True)
class Precision:
    """How finely one renderer is asked, and what its edges may be off."""

    px_per_mm: float
    edge_px: float
    """Beyond the pixel's own diagonal: rounding and lost faint coverage, in pixels."""
    centers: bool = False
    """Hull of pixel centers, not outer corners: halves the part the pixel itself has in
    the uncertainty, for a renderer that cannot be asked more finely."""
    coarse_px: float = 2.0 * math.sqrt(2.0)
    """How much further than the fine hull the coarse one may reach, in coarse pixels."""

    @property
    def uncertainty_mm(self) -> float:
        """Of a hull of outer pixel corners."""
        diagonal = math.sqrt(2.0)
        return ((diagonal / 2.0 if self.centers else diagonal) + self.edge_px) / self.px_per_mm


@dataclass(frozen=True)
class Measured:
    """A fine hull in file millimetres, and what it is worth."""

    hull_mm: Points
    uncertainty_mm: float
    complete: bool
    thin_at_mm: tuple[float, float] | None = None


class LostInkError(RenderError):
    """A fine picture lacks ink that the coarse one shows. Lengths in file millimetres."""

    def __init__(self, message: str, coarse_mm: Points, fine_mm: Points, lost_mm: float) -> None:
        super().__init__(message)
        self.coarse_mm, self.fine_mm, self.lost_mm = coarse_mm, fine_mm, lost_mm


def grid_over(rect: Rect, px_per_mm: float) -> Grid:
    """The smallest grid of whole pixels, aligned to zero, that covers a rectangle."""
    x0 = math.floor(rect[0] * px_per_mm) - 1
    y0 = math.floor(rect[1] * px_per_mm) - 1
    x1 = math.ceil(rect[2] * px_per_mm) + 1
    y1 = math.ceil(rect[3] * px_per_mm) + 1
    return Grid(x0 / px_per_mm, y0 / px_per_mm, px_per_mm, x1 - x0, y1 - y0)


@dataclass
class CoarseDrawing:
    """What one renderer draws on a coarse grid: a mask per rule, the first one's ink in
    pixels, and on request its coverage, 0 to 255 a pixel, which adds up to the same.
    """

    masks: list[Mask]
    area_px: float = 0.0
    cover: NDArray[np.uint8] | None = None


def strips_of(grid: Grid, most_px: int = STRIP_PX) -> list[tuple[int, int]]:
    """Row ranges of at most ``most_px`` pixels each."""
    rows = max(1, min(grid.height, most_px // grid.width))
    return [(y, min(y + rows, grid.height)) for y in range(0, grid.height, rows)]


def coarse_drawings(
    workers: Sequence[Worker],
    grid: Grid,
    rules: Sequence[InkRule],
    tick: Callable[[float], None],
    cancelled: CancelCheck | None,
    *,
    with_cover: bool = False,
    in_one: bool = False,
) -> list[CoarseDrawing | RenderError]:
    """Per worker what it draws, or its failure. ``in_one``: not in strips."""
    strips = strips_of(grid, grid.width * grid.height if in_one else STRIP_PX)
    shape = grid.height, grid.width
    results: list[CoarseDrawing | RenderError] = [
        CoarseDrawing(
            [np.zeros(shape, np.bool_) for _ in rules],
            cover=np.zeros(shape, np.uint8) if with_cover else None,
        )
        for _ in workers
    ]
    for number, (top, bottom) in enumerate(strips):
        window = (grid.x0_mm, grid.y0_mm + top / grid.px_per_mm, grid.px_per_mm,
                  grid.width, bottom - top)  # fmt: skip
        asked = [i for i, r in enumerate(results) if not isinstance(r, RenderError)]
        for i in asked:  # all renderers draw the strip at the same time
            workers[i].send(
                "masks", window=window, rules=[rule_json(r) for r in rules], cover=with_cover
            )
        for i in asked:
            result = results[i]
            assert not isinstance(result, RenderError)
            try:
                header, blob = workers[i].receive(cancelled)
                size = (bottom - top) * grid.width if with_cover else 0
                blob, cover = blob[: len(blob) - size], blob[len(blob) - size :]
                parts = unpack_masks(blob, len(rules), (bottom - top, grid.width))
            except RenderError as error:
                results[i] = error
                continue
            for mask, part in zip(result.masks, parts, strict=True):
                mask[top:bottom] = part
            if result.cover is not None:
                result.cover[top:bottom] = np.frombuffer(cover, np.uint8).reshape(-1, grid.width)
            result.area_px += float(header["area_px"])
        tick((number + 1) / len(strips))
    return results


def coarse_hull(mask: Mask, grid: Grid) -> Points:
    """Hull of a coarse mask's outer pixel corners, mm; shape (0, 2) without ink."""
    points = mask_extent_points(mask)
    return grid.to_mm(convex_hull(points)) if len(points) else np.empty((0, 2))


class _Band:
    """The places of a coarse mask that can decide its hull."""

    def __init__(self, mask: Mask) -> None:
        self.mask = mask
        hull = convex_hull(mask_extent_points(mask))
        rows = np.arange(mask.shape[0], dtype=np.float64) + 0.5
        self.left, self.right = _inset_interval(hull, rows, _DEPTH_PX)

    def is_deep(self, y: int, x: int) -> bool:
        """Whether a coarse pixel lies too far inside to matter."""
        if not 0 <= y < len(self.left):
            return False
        return bool(self.left[y] <= x + 0.5 <= self.right[y])

    def candidates(self) -> NDArray[np.int64]:
        """(k, 2) rows and columns of the inked pixels that matter."""
        found: list[NDArray[np.int64]] = []
        width = self.mask.shape[1]
        for y in np.flatnonzero(self.mask.any(axis=1)):
            row = self.mask[y]
            left, right = self.left[y], self.right[y]
            if left > right:
                columns = np.flatnonzero(row)
            else:
                a = min(width, max(0, math.ceil(left - 0.5)))
                b = min(width, max(a, math.floor(right - 0.5) + 1))
                columns = np.concatenate([np.flatnonzero(row[:a]), np.flatnonzero(row[b:]) + b])
            if len(columns):
                found.append(np.stack([np.full(len(columns), y), columns], axis=1))
        return np.concatenate(found) if found else np.empty((0, 2), np.int64)


def _inset_interval(
    hull: Points, rows: NDArray[np.floating[Any]], depth: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Per row the x interval deeper than ``depth`` inside a convex hull; empty: left > right."""
    low = np.full(len(rows), -np.inf)
    high = np.full(len(rows), np.inf)
    if len(hull) < 3:
        return high, low
    center = hull.mean(axis=0)
    for start, end in zip(hull, np.roll(hull, -1, axis=0), strict=True):
        normal = np.array([-(end[1] - start[1]), end[0] - start[0]])
        normal /= np.hypot(*normal)
        if normal @ (center - start) < 0:
            normal = -normal
        # inside and deep: normal . (p - start) >= depth
        rest = depth - normal[1] * (rows - start[1])
        if abs(normal[0]) < 1e-12:
            low[rest > 0] = np.inf
        elif normal[0] > 0:
            np.maximum(low, start[0] + rest / normal[0], out=low)
        else:
            np.minimum(high, start[0] + rest / normal[0], out=high)
    return low, high


Cells = tuple[int, int, int, int]
"""Coarse cells x0, y0, x1, y1 (half open)."""


def _block_cells(candidates: NDArray[np.int64], block: int) -> list[Cells]:
    """Candidate pixels grouped into blocks, each cropped to its own and padded by one."""
    keys = candidates // block
    order = np.lexsort((keys[:, 1], keys[:, 0]))
    candidates, keys = candidates[order], keys[order]
    change = np.flatnonzero(np.any(np.diff(keys, axis=0) != 0, axis=1)) + 1
    cells: list[Cells] = []
    for group in np.split(candidates, change):
        y0, x0 = group.min(axis=0)
        y1, x1 = group.max(axis=0)
        cells.append((int(x0) - 1, int(y0) - 1, int(x1) + 2, int(y1) + 2))
    return cells


class Refiner:
    """Draws the deciding places of one mask fine.

    Not looked at: what lies in ``beyond_mm``, and in the coarse pixels ``left_cells``.
    """

    def __init__(
        self,
        worker: Worker,
        mask: Mask,
        grid: Grid,
        rule: InkRule,
        precision: Precision,
        *,
        beyond_mm: Sequence[Rect] = (),
        left_cells: Mask | None = None,
        deadline: float = math.inf,
        tick: Callable[[float], None] = lambda _fraction: None,
        cancelled: CancelCheck | None = None,
    ) -> None:
        self.worker, self.grid, self.rule, self.precision = worker, grid, rule, precision
        self.beyond_mm, self.left_cells, self.deadline = tuple(beyond_mm), left_cells, deadline
        self.tick, self.cancelled = tick, cancelled
        self.band = _Band(mask)
        self.ratio = max(1, math.ceil(precision.px_per_mm / grid.px_per_mm - 1e-9))
        self.px_per_mm = self.ratio * grid.px_per_mm
        side = 480 if worker.kind != "resvg" else 288
        self.block = max(1, side // self.ratio - 2)
        self._drawn: set[Cells] = set()
        self._covered: list[Cells] = []

    def run(self) -> Measured:
        """The fine hull. Raises RenderError when the fine picture contradicts the coarse."""
        coarse = coarse_hull(self.band.mask, self.grid)
        todo = _block_cells(self.band.candidates(), self.block)
        points: list[Points] = []
        done = 0
        complete = True
        while todo:
            if time.monotonic() > self.deadline or done > _MAX_TILES:
                complete = False
                break
            batch, todo = todo[:_BATCH], todo[_BATCH:]
            todo += self._draw(batch, points)
            done += len(batch)
            if sum(len(p) for p in points) > _MOST_POINTS:
                points[:] = [convex_hull(np.concatenate(points))]
            self.tick(done / (done + len(todo)))
        points += [self._corners(cells) for cells in todo]
        if not points or not sum(len(p) for p in points):
            text = f"the {self.worker.kind} renderer lost the ink in the fine picture"
            raise LostInkError(text, coarse, np.empty((0, 2)), 0.0)
        hull = convex_hull(np.concatenate(points))
        self._agree_with_coarse(coarse, hull)
        sure = replace(self.precision, px_per_mm=self.px_per_mm).uncertainty_mm
        if not complete:
            return Measured(hull, max(sure, (math.sqrt(2) + 1) * self.grid.pixel_mm), False)
        loss, thin_at = self._tips(hull)
        return Measured(hull, sure + loss, True, thin_at)

    def _corners(self, cells: Cells) -> Points:
        x0, y0, x1, y1 = cells
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], np.float64)
        return self.grid.to_mm(corners)

    def _agree_with_coarse(self, coarse: Points, hull: Points) -> None:
        if self.beyond_mm or not len(coarse):
            return
        excess, at = hull_excess(coarse, hull)
        if excess > self.precision.coarse_px * self.grid.pixel_mm:
            text = (
                f"the {self.worker.kind} renderer lost ink near ({at[0]:.1f}, {at[1]:.1f}) mm "
                "in the fine picture"
            )
            raise LostInkError(text, coarse, hull, excess)

    def _window(self, cells: Cells) -> Window:
        x0, y0, x1, y1 = cells
        return (
            self.grid.x0_mm + x0 / self.grid.px_per_mm,
            self.grid.y0_mm + y0 / self.grid.px_per_mm,
            self.px_per_mm,
            (x1 - x0) * self.ratio,
            (y1 - y0) * self.ratio,
        )

    def _holes_in(self, window: Window) -> list[tuple[int, int, int, int]]:
        x0, y0, k, width, height = window
        holes = self._left_in(window)
        for hx0, hy0, hx1, hy1 in self.beyond_mm:
            box = (
                math.floor((hx0 - x0) * k) if hx0 > -math.inf else 0,
                math.floor((hy0 - y0) * k) if hy0 > -math.inf else 0,
                math.ceil((hx1 - x0) * k) if hx1 < math.inf else width,
                math.ceil((hy1 - y0) * k) if hy1 < math.inf else height,
            )
            if box[0] < width and box[1] < height and box[2] > 0 and box[3] > 0:
                holes.append(box)
        return holes

    def _left_in(self, window: Window) -> list[tuple[int, int, int, int]]:
        """The coarse pixels left out that a window shows, in pixels of the window."""
        if self.left_cells is None:
            return []
        x0, y0, k, width, height = window
        cells = self.grid.px_per_mm
        left, top = (x0 - self.grid.x0_mm) * cells, (y0 - self.grid.y0_mm) * cells
        a, b = max(0, math.floor(left)), max(0, math.floor(top))
        c, d = math.ceil(left + width * cells / k), math.ceil(top + height * cells / k)
        runs = connected_runs(self.left_cells[b : max(b, d), a : max(a, c)])
        step = k / cells
        # Tiles are made of whole coarse pixels, so there rounding only takes away noise.
        return [
            (
                round((a + int(start) - left) * step),
                round((b + int(row) - top) * step),
                round((a + int(end) - left) * step),
                round((b + int(row) + 1 - top) * step),
            )
            for row, start, end in zip(runs.row, runs.start, runs.end, strict=True)
        ]

    def _draw(self, batch: Iterable[Cells], points: list[Points]) -> list[Cells]:
        """Draw tiles, add their outer corners, and return the tiles that must follow."""
        batch = [cells for cells in batch if cells not in self._drawn]
        if not batch:
            return []
        self._drawn.update(batch)
        self._covered += batch
        windows = [self._window(cells) for cells in batch]
        _header, blob = self.worker.call(
            "tiles",
            windows=windows,
            holes=[self._holes_in(w) for w in windows],
            rule=rule_json(self.rule),
            cancelled=self.cancelled,
        )
        more: list[Cells] = []
        answers = split_tiles(blob, [(w[3], w[4]) for w in windows])
        for cells, window, (ends, border) in zip(batch, windows, answers, strict=True):
            found = _centers(ends) if self.precision.centers else _outer_corners(ends)
            if len(found):
                points.append(found / self.px_per_mm + (window[0], window[1]))
            if border.any():
                more += self._extensions(cells, window, border)
        return more

    def _extensions(self, cells: Cells, window: Window, border: Mask) -> list[Cells]:
        """Where ink leaves a tile into cells that the coarse picture held for empty."""
        x0, y0, x1, y1 = cells
        width, height = window[3], window[4]
        top, bottom = border[:width], border[width : 2 * width]
        left, right = border[2 * width : 2 * width + height], border[2 * width + height :]
        sides = ((top, True, y0 - 1), (bottom, True, y1), (left, False, x0 - 1), (right, False, x1))
        reach = max(2, self.block // 2)
        more: list[Cells] = []
        for line, horizontal, across in sides:
            start = x0 if horizontal else y0
            for cell in np.unique(np.flatnonzero(line) // self.ratio) + start:
                y, x = (across, int(cell)) if horizontal else (int(cell), across)
                if self._is_known(y, x):
                    continue
                if horizontal:
                    far = across - reach + 1 if line is top else across
                    more.append((x - 1, far, x + 2, far + reach))
                else:
                    far = across - reach + 1 if line is left else across
                    more.append((far, y - 1, far + reach, y + 2))
        return [m for m in dict.fromkeys(more) if m not in self._drawn]

    def _is_known(self, y: int, x: int) -> bool:
        height, width = self.band.mask.shape
        if 0 <= y < height and 0 <= x < width and self.band.mask[y, x]:
            return True
        if self.band.is_deep(y, x):
            return True
        return any(a <= x < c and b <= y < d for a, b, c, d in self._covered)

    def _tips(self, hull: Points) -> tuple[float, tuple[float, float] | None]:
        """How much of a needle's tip may be missing, and where ink is that thin."""
        corners = _sharp_vertices(hull)
        k, r = self.px_per_mm, _TIP_RADIUS_PX
        windows = [
            (float(x) - (r + 0.5) / k, float(y) - (r + 0.5) / k, k, 2 * r + 1, 2 * r + 1)
            for x, y in corners
        ]
        if not windows:
            return 0.0, None
        header, _blob = self.worker.call(
            "tips",
            windows=windows,
            holes=[self._left_in(w) for w in windows],
            rule=rule_json(self.rule),
            cancelled=self.cancelled,
        )
        sums = np.asarray(header["sums"], np.float64)
        thin = np.flatnonzero(sums < _TIP_FULL_PX)
        if not len(thin):
            return 0.0, None
        worst = int(thin[np.argmin(sums[thin])])
        # width at the window's edge -> taper -> length over which less than 1/15 px is left
        lost_px = min(60.0, _TIP_RADIUS_PX**2 / 15.0 / max(float(sums[worst]), 0.2))
        return lost_px / k, (float(corners[worst][0]), float(corners[worst][1]))


def _outer_corners(ends: NDArray[np.int16]) -> Points:
    rows = np.flatnonzero(ends[:, 0] >= 0).astype(np.float64)
    if not len(rows):
        return np.empty((0, 2))
    kept = ends[ends[:, 0] >= 0].astype(np.float64)
    x = np.concatenate([kept[:, 0], kept[:, 0], kept[:, 1] + 1, kept[:, 1] + 1])
    y = np.concatenate([rows, rows + 1, rows, rows + 1])
    return np.stack([x, y], axis=1)


def _centers(ends: NDArray[np.int16]) -> Points:
    rows = np.flatnonzero(ends[:, 0] >= 0).astype(np.float64)
    kept = ends[ends[:, 0] >= 0].astype(np.float64)
    x = np.concatenate([kept[:, 0], kept[:, 1]]) + 0.5
    return np.stack([x, np.concatenate([rows, rows]) + 0.5], axis=1)


def _sharp_vertices(hull: Points) -> Points:
    """Vertices where the hull turns by more than 4 degrees, the sharpest if many."""
    if len(hull) < 3:
        return hull
    ahead = np.roll(hull, -1, axis=0) - hull
    angle = np.arctan2(ahead[:, 1], ahead[:, 0])
    turn = np.abs((angle - np.roll(angle, 1) + math.pi) % (2 * math.pi) - math.pi)
    sharp = np.flatnonzero(turn > math.radians(4.0))
    return hull[sharp[np.argsort(-turn[sharp])][:_MAX_TIPS]]
