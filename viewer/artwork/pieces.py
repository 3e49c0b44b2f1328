"""The separate pieces of ink of a measured file, to be listed, pointed at and left out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.connected import Runs, connected_runs
from viewer.artwork.leaving import pieces_at
from viewer.artwork.load import vector_job
from viewer.artwork.measure import look_coarsely
from viewer.artwork.measure_image import ImageMeasuring, block_of
from viewer.artwork.model import Artwork, LoadOptions, Points
from viewer.artwork.pool import CancelCheck
from viewer.artwork.source import open_file
from viewer.errors import ArtworkError
from viewer.geometry import convex_hull, smallest_enclosing_circle

MOST_PIECES = 500
"""So many are listed; of any others only the number is told."""
_CONTACT_PX = 2.0
"""How far a contact of the circle may lie from the coarse pixels of its piece."""


@dataclass(frozen=True)
class Piece:
    """Ink that hangs together in a coarse picture (0.1 mm). Page frame, mm, after scaling."""

    number: int
    """From 1, the largest first."""
    center_mm: tuple[float, float]
    """A point on it, well inside; not its middle, which may be bare."""
    box_mm: tuple[float, float, float, float]
    """x0, y0, x1, y1."""
    area_mm2: float
    outline_mm: Points
    """Its convex hull, shape (n, 2)."""
    leave_out_mm: tuple[float, float]
    """The point that leaves it out, for ``LoadOptions.leave_out``."""
    touches: bool
    """Whether the smallest circle of what is measured touches it."""
    named_by: tuple[tuple[float, float], ...] = ()
    """Those points of ``LoadOptions.leave_out`` that name it."""
    ignored: bool = False
    """Whether it is a speck that is not measured (``LoadOptions.ignore_specks``)."""

    @property
    def left_out(self) -> bool:
        """Whether a point leaves it out."""
        return bool(self.named_by)


class PieceList(tuple[Piece, ...]):
    """Pieces in order of area. ``total``: how many there are, listed or not."""

    total: int


def find_pieces(artwork: Artwork, cancelled: CancelCheck | None = None) -> PieceList:
    """All pieces, those left out too, drawn anew from the file of a loaded ``artwork``.

    At most `MOST_PIECES` are listed: those left out, those that the circle touches, and
    then the largest. Raises ArtworkError when the file has changed, Cancelled.
    """
    with open_file(artwork.path, artwork.options, cancelled=cancelled) as opened:
        if opened.sha256 != artwork.sha256:
            raise ArtworkError(
                f"{artwork.path}: has changed since it was measured; open it again",
                code="changed",
            )
        kx, ky = artwork.mm_per_file_unit
        if opened.format == "image":
            block = block_of((kx, ky))
            measuring = ImageMeasuring(opened, artwork.options, cancelled)
            counts = measuring.counts(measuring.paper().rule, block)
            runs = connected_runs(counts > 0)
            raster = _Raster((0.0, 0.0), (kx * block, ky * block))
            areas = runs.sums(counts) * (kx * ky)
        else:
            grid, drawn = look_coarsely(vector_job(opened, artwork.options, kx, None, cancelled))
            runs = connected_runs(np.logical_or.reduce([d.masks[0] for _w, d in drawn]))
            side = grid.pixel_mm * kx
            raster = _Raster((grid.x0_mm * kx, grid.y0_mm * kx), (side, side))
            shown = next((d for w, d in drawn if w.kind == artwork.drawn_by), drawn[0][1])
            assert shown.cover is not None
            areas = runs.sums(shown.cover) * (side * side / 255.0)
    return _listed(artwork, runs, areas, raster)


def without_piece(artwork: Artwork, piece: Piece) -> LoadOptions:
    """The options to load the file with one more piece left out."""
    options = artwork.options
    return replace(options, leave_out=(*options.leave_out, piece.leave_out_mm))


def with_piece(artwork: Artwork, piece: Piece) -> LoadOptions:
    """The options to load the file with a piece that was left out."""
    kept = tuple(p for p in artwork.options.leave_out if p not in piece.named_by)
    return replace(artwork.options, leave_out=kept)


@dataclass(frozen=True)
class _Raster:
    """Where pixel (0, 0) begins on the page, and the sides of a pixel, mm."""

    start_mm: tuple[float, float]
    pixel_mm: tuple[float, float]

    def to_mm(self, points_px: Points) -> Points:
        return points_px * self.pixel_mm + self.start_mm

    def to_px(self, point_mm: tuple[float, float]) -> tuple[float, float]:
        x, y = ((v - s) / k for v, s, k in zip(point_mm, self.start_mm, self.pixel_mm, strict=True))
        return x, y


def _listed(artwork: Artwork, runs: Runs, areas: NDArray[np.float64], raster: _Raster) -> PieceList:
    named = _named(artwork, runs, raster)
    ignored = {
        nearest
        for speck in artwork.specks
        if speck.ignored
        and (nearest := _nearest(runs, raster, speck.center_mm, speck.size_mm, set())) is not None
    }
    skipped = {*named, *ignored}
    touching = {
        _nearest(runs, raster, contact, _CONTACT_PX * max(raster.pixel_mm), skipped)
        for contact in _contacts(artwork)
    }
    rank = np.lexsort((np.arange(runs.count), -areas))
    first = [p for p in rank.tolist() if p in skipped or p in touching]
    rest = [p for p in rank.tolist() if p not in skipped and p not in touching]
    chosen = set((first + rest)[:MOST_PIECES])
    by_piece = np.argsort(runs.piece, kind="stable")
    begin = np.searchsorted(runs.piece[by_piece], np.arange(runs.count + 1))
    boxes = runs.boxes()
    found: list[Piece] = []
    for number, p in enumerate(rank.tolist(), 1):
        if p not in chosen:
            continue
        own = by_piece[begin[p] : begin[p + 1]]
        low, high = raster.to_mm(boxes[p].reshape(2, 2).astype(np.float64)).tolist()
        (x, y), *hull = raster.to_mm(
            np.concatenate([[runs.point_on(own)], convex_hull(_corners(runs, own))])
        )
        k = artwork.leave_out_scale
        found.append(
            Piece(
                number=number,
                center_mm=(float(x), float(y)),
                box_mm=(low[0], low[1], high[0], high[1]),
                area_mm2=float(areas[p]),
                outline_mm=np.array(hull),
                leave_out_mm=(float(x) / k, float(y) / k),
                touches=p in touching,
                named_by=named.get(p, ()),
                ignored=p in ignored,
            )
        )
    pieces = PieceList(found)
    pieces.total = runs.count
    return pieces


def _named(
    artwork: Artwork, runs: Runs, raster: _Raster
) -> dict[int, tuple[tuple[float, float], ...]]:
    """The pieces that points of the options name, and those points."""
    named: dict[int, tuple[tuple[float, float], ...]] = {}
    k = artwork.leave_out_scale
    sides = (raster.pixel_mm[0] / k, raster.pixel_mm[1] / k)
    for said in artwork.options.leave_out:
        point = raster.to_px((said[0] * k, said[1] * k))
        (piece,) = pieces_at(runs, [point], sides, [said])
        named[piece] = (*named.get(piece, ()), said)
    return named


def _nearest(
    runs: Runs, raster: _Raster, point_mm: tuple[float, float], reach_mm: float, but: set[int]
) -> int | None:
    """The piece nearest to a point of the page, if it is near; not one of ``but``."""
    away = runs.distances(raster.to_px(point_mm), raster.pixel_mm)
    away[np.isin(runs.piece, list(but))] = math.inf
    at = int(away.argmin())
    return int(runs.piece[at]) if away[at] <= reach_mm else None


def _contacts(artwork: Artwork) -> list[tuple[float, float]]:
    support = smallest_enclosing_circle(artwork.outline.hull_mm).support
    return [(float(x), float(y)) for x, y in support]


def _corners(runs: Runs, own: NDArray[np.intp]) -> Points:
    """Outer pixel corners of some runs, shape (4 k, 2)."""
    row, start, end = runs.row[own], runs.start[own], runs.end[own]
    x = np.concatenate([start, end, start, end])
    y = np.concatenate([row, row, row + 1, row + 1])
    return np.stack([x, y], axis=1).astype(np.float64)
