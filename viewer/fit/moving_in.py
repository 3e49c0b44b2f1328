"""Which ink must be drawn further in for a cup to take it, where, and by how much."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import Artwork, Outline, Points
from viewer.fit.area import ImageArea, cos_sin
from viewer.fit.model import Placement
from viewer.fit.problems import LimitedInk
from viewer.geometry import convex_hull

Room = Callable[[Points], Points]

MOST_SHARE = 0.25
"""Ink that would have to move by more than this share of the largest image's radius is
another drawing; nothing is said about it."""
_PROBE_MM = 1e-6
_SPARE_MM = 1e-6
_ROUNDS = 40


@dataclass(frozen=True)
class PointMove:
    """One stretch of the outline that is too far out.

    ``point_mm``: its ink that must move most; ``by_mm``: by how much, along the page
    vector ``toward`` of length 1. All other ink of the stretch moves by no more.
    """

    point_mm: tuple[float, float]
    by_mm: float
    toward: tuple[float, float]


def moves_in(
    ink: LimitedInk, area: ImageArea, placement: Placement
) -> tuple[tuple[PointMove, ...], Artwork | None]:
    """The moves at a placement, the greatest first, and the artwork with them made.

    Every reading is moved in; each is grown by its uncertainty. None where the artwork is
    inside already, or where it would be another drawing.
    """
    found: list[PointMove] = []
    outlines: list[Outline] = []
    most_mm = MOST_SHARE * area.disc_radius_mm
    for reading in ink.readings:
        hull = reading.outline.hull_mm
        center = np.array(placement.center_mm) * reading.ratio
        grow_mm = reading.outline.uncertainty_mm
        room = partial(
            _room, center=center, turn_deg=placement.turn_deg, area=area, grow_mm=grow_mm
        )
        moved = _moved_in(hull, room)
        if moved is None:
            return (), None
        by_mm = np.hypot(*(moved - hull).T)
        if float(by_mm.max()) > most_mm:
            return (), None
        for run in _runs(hull, by_mm > _SPARE_MM, room):
            most = run[int(by_mm[run].argmax())]
            x, y = hull[most] / reading.ratio
            dx, dy = (moved[most] - hull[most]) / by_mm[most]
            if all(math.dist((x, y), other.point_mm) > 0.05 for other in found):
                toward = (float(dx), float(dy))
                found.append(PointMove((float(x), float(y)), float(by_mm[most]), toward))
        outlines.append(Outline(convex_hull(moved), grow_mm))
    if not found:
        return (), None
    found.sort(key=lambda move: -move.by_mm)
    return tuple(found), _with_outlines(ink, outlines)


def _with_outlines(ink: LimitedInk, outlines: list[Outline]) -> Artwork:
    others = [r for r in ink.artwork.alternatives if r.outline.hull_mm.size]
    return replace(
        ink.artwork,
        outline=outlines[0],
        alternatives=tuple(
            replace(reading, outline=outline)
            for reading, outline in zip(others, outlines[1:], strict=True)
        ),
    )


def _room(
    points: Points, center: Points, turn_deg: float, area: ImageArea, grow_mm: float
) -> Points:
    """Clearance of page points, less the uncertainty."""
    cos, sin = cos_sin(turn_deg)
    x, y = (points - center).T
    return area.clearance_mm(cos * x + sin * y, cos * y - sin * x)[0] - grow_mm


def _moved_in(hull: Points, room: Room) -> Points | None:
    """Points brought in along the steepest way, until all of them are clear."""
    points = hull.copy()
    for _ in range(_ROUNDS):
        now = room(points)
        out = now < 0
        if not out.any():
            return points
        some = points[out]
        steps = np.eye(2) * _PROBE_MM
        slope = np.stack([room(some + step) - room(some - step) for step in steps], axis=1)
        slope /= 2 * _PROBE_MM
        length = np.hypot(*slope.T)
        if not (length > 0.1).all():
            return None
        by_mm = -now[out] / length + _SPARE_MM
        points[out] = some + slope / length[:, None] * by_mm[:, None]
    return None


def _runs(hull: Points, out: NDArray[np.bool_], room: Room) -> list[list[int]]:
    """Stretches of a closed outline that are out, as lists of the numbers of its points.

    Neighbors with ink that is inside between them are two stretches.
    """
    after = np.roll(hull, -1, axis=0)
    between = [room(hull + (after - hull) * share) for share in (0.25, 0.5, 0.75)]
    is_joined = out & np.roll(out, -1) & (np.max(between, axis=0) < 0)
    count = len(out)
    start = next((i for i in range(count) if not is_joined[i]), count - 1)
    found: list[list[int]] = []
    run: list[int] = []
    for step in range(1, count + 1):
        index = (start + step) % count
        if out[index]:
            run.append(index)
        if run and not is_joined[index]:
            found.append(run)
            run = []
    return [*found, run] if run else found
