"""Of equally good shifts the least: a strip in a long area may lie anywhere along it."""

from __future__ import annotations

import math

import numpy as np

from viewer.fit import cuts as c
from viewer.fit.shift import ShiftProblem, clearance_at, look_at

_ALLOWED_LOSS_MM = 1e-6
_MOST_CUTS = 60
_SLACK = 1e-9
_NEAR_MM = 1e-4
"""So near to a level asked for is there: shifts are set in steps a hundred times as large."""


def least_shift(
    problem: ShiftProblem, turn_rad: float, shift_mm: tuple[float, float], clearance_mm: float
) -> tuple[float, float]:
    """The shift nearest to none that loses (next to) nothing of ``clearance_mm``.

    Shifts that keep a clearance form a convex set. It is closed in on from outside by
    half-planes, the tightest cuts at the nearest point so far. Where that does not come
    to an end ``shift_mm`` itself is returned.
    """
    level = clearance_mm - _ALLOWED_LOSS_MM
    planes: list[tuple[float, float, float]] = []
    for axis, limit in enumerate(problem.reach_mm):
        if math.isfinite(limit):
            for sign in (1.0, -1.0):
                planes.append((sign * (1 - axis), sign * axis, limit))
    for _ in range(_MOST_CUTS):
        nearest = _nearest_to_origin(planes)
        if nearest is None:
            return shift_mm
        if clearance_at(problem, turn_rad, nearest)[0] >= level - _SLACK:
            return nearest if math.hypot(*nearest) < math.hypot(*shift_mm) - 1e-4 else shift_mm
        _, offered = look_at(problem, np.array([turn_rad]), nearest)
        for cut in offered:
            if cut[c.PART, 0] >= 0:
                gx, gy, room = (float(cut[field, 0]) for field in (c.GX, c.GY, c.BETA))
                planes.append((gx, gy, room - level))
    return shift_mm


def nearest_shift(
    problem: ShiftProblem, turn_rad: float, start_mm: tuple[float, float], level_mm: float
) -> tuple[float, float] | None:
    """The allowed shift nearest to ``start_mm`` whose clearance is at least ``level_mm``.

    Closed in on from outside as in ``least_shift``. None where no shift has so much, or
    where that takes too long to find.
    """
    planes: list[tuple[float, float, float]] = []
    for axis, limit in enumerate(problem.reach_mm):
        if math.isfinite(limit):
            for sign in (1.0, -1.0):
                room = limit - sign * start_mm[axis]
                planes.append((sign * (1 - axis), sign * axis, room))
    for _ in range(_MOST_CUTS):
        step = _nearest_to_origin(planes)
        if step is None:
            return None
        shift = (start_mm[0] + step[0], start_mm[1] + step[1])
        if clearance_at(problem, turn_rad, shift)[0] >= level_mm - _NEAR_MM:
            return shift
        _, offered = look_at(problem, np.array([turn_rad]), shift)
        for cut in offered:
            if cut[c.PART, 0] >= 0:
                gx, gy, room = (float(cut[field, 0]) for field in (c.GX, c.GY, c.BETA))
                if gx * gx + gy * gy > 0:
                    room -= gx * start_mm[0] + gy * start_mm[1]
                    planes.append((gx, gy, room - level_mm))
    return None


def _nearest_to_origin(
    planes: list[tuple[float, float, float]],
) -> tuple[float, float] | None:
    """The point of least length with ``g.d <= b`` for every (gx, gy, b); None where none is."""
    if not planes:
        return (0.0, 0.0)
    table = np.array(planes)
    g, b = table[:, :2], table[:, 2]
    squares = np.einsum("ij,ij->i", g, g)
    on_lines = g * (b / squares)[:, None]
    one, two = np.triu_indices(len(planes), 1)
    determinant = g[one, 0] * g[two, 1] - g[one, 1] * g[two, 0]
    usable = np.abs(determinant) > 1e-12
    one, two, determinant = one[usable], two[usable], determinant[usable]
    corners = np.stack(
        [
            (b[one] * g[two, 1] - b[two] * g[one, 1]) / determinant,
            (g[one, 0] * b[two] - g[two, 0] * b[one]) / determinant,
        ],
        axis=1,
    )
    points = np.vstack([np.zeros((1, 2)), on_lines, corners])
    is_inside = (points @ g.T <= b + _SLACK).all(axis=1)
    if not is_inside.any():
        return None
    inside = points[is_inside]
    x, y = inside[np.hypot(*inside.T).argmin()]
    return float(x), float(y)
