"""Pieces of ink that a person leaves out: found by a point, told, and cut out of masks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from viewer.artwork.connected import Mask, Runs, grown
from viewer.artwork.model import ArtworkWarning, LeftOut, Speck
from viewer.errors import ArtworkError

REACH_MM = 1.0
"""How far a point may lie from the piece that it means."""
_MOST_PLACES = 5

Pixel = tuple[float, float]


def pieces_at(
    runs: Runs, points_px: Sequence[Pixel], pixel_mm: Pixel, said: Sequence[Pixel]
) -> list[int]:
    """The piece nearest to each point, each once, in ascending order.

    ``pixel_mm``: sides of a pixel, in the same mm as ``said``, the points as they were
    given. ArtworkError for a point with no ink near it.
    """
    found: set[int] = set()
    for point, (x, y) in zip(points_px, said, strict=True):
        away = runs.distances(point, pixel_mm)
        if not len(away) or float(away.min()) > REACH_MM:
            raise ArtworkError(
                f"--leave-out {x:.6g},{y:.6g}: there is no ink within {REACH_MM:g} mm of that "
                "point; give one on the piece, in mm from the page's left and top",
                code="no-piece",
            )
        found.add(int(runs.piece[int(away.argmin())]))
    return sorted(found)


def cells_left(runs: Runs, pieces: Sequence[int]) -> Mask:
    """Pixels of some pieces and those about them, but never one of any other piece.

    The pixels about them hold what rounding moved over an edge, and no ink to speak of.
    """
    own = runs.mask_of(np.array(pieces, np.int64))
    others = np.setdiff1d(np.arange(runs.count), pieces)
    return grown(own) & ~runs.mask_of(others)


def all_left_out() -> ArtworkError:
    """For when no ink remains."""
    return ArtworkError(
        "every piece of ink is left out, so there is nothing to measure: take one back "
        "(where a coloured border counts as ink, say --paper border first)",
        code="no-ink",
    )


def left_out_warning(left_out: Sequence[LeftOut]) -> ArtworkWarning:
    """How many pieces are not measured, and where."""
    count = "1 piece of ink" if len(left_out) == 1 else f"{len(left_out)} pieces of ink"
    return ArtworkWarning(
        "left-out", f"{count} left out as you said, at {places(p.point_mm for p in left_out)} mm"
    )


def places(points: Iterable[tuple[float, float]]) -> str:
    """``(1.0, 2.0), (3.0, 4.0)`` and, after a few, how many more."""
    told = [f"({x:.1f}, {y:.1f})" for x, y in points]
    more = f" and {len(told) - _MOST_PLACES} more" if len(told) > _MOST_PLACES else ""
    return ", ".join(told[:_MOST_PLACES]) + more


def specks_warning(specks: Sequence[Speck]) -> ArtworkWarning:
    """Where specks decide the circle, or that they are left out. At least one speck."""
    first = specks[0]
    place = f"({first.center_mm[0]:.1f}, {first.center_mm[1]:.1f}) mm"
    count = f"{len(specks)} specks" if len(specks) > 1 else "a speck"
    if first.ignored:
        text = f"{count} left out as you said, the first at {place}"
        return ArtworkWarning("specks-ignored", text)
    return ArtworkWarning(
        "speck",
        f"{count} of at most {first.size_mm:.1f} mm at {place} decides the circle: "
        "remove it, or say --ignore-specks if it will not be etched",
    )


def scaled_left_out(piece: LeftOut, factor: float) -> LeftOut:
    """The same piece when the page's size is multiplied."""
    (x, y), (a, b, c, d) = piece.point_mm, piece.box_mm
    box = (a * factor, b * factor, c * factor, d * factor)
    return LeftOut((x * factor, y * factor), box, piece.area_mm2 * factor**2)
