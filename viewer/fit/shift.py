"""The best shift for given angles: the greatest clearance, with a proof, many angles at once.

For one angle the clearance is a concave function of the shift d: the least of the cuts of
all parts and points. Three cuts bound it from above; where they meet, the true clearance
is a bound from below and its tightest tangents are new cuts. Exchanging them (a dual
simplex step each) closes in on the optimum; curved edges are never replaced by polygons,
each tangent is taken where it is needed. What is left between the two bounds is the gap.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.errors import stop_if
from viewer.fit import cuts as c
from viewer.fit.area import ImageArea
from viewer.fit.cuts import Cuts, Values
from viewer.fit.round_look import RoundLook
from viewer.geometry import Circle, Points, smallest_enclosing_circle

MOST_ROUNDS = 80
_COARSE = 4
_MOST_EXCHANGES = 12
_VIOLATION = 1e-12


@dataclass(frozen=True, eq=False)
class InkGroup:
    """Ink points of one reading, shape (n, 2), mm, relative to the datum.

    ``ratio``: how much further than the cup's center the same point of this reading
    moves when the placement is shifted (another page scale; 1 for the main reading).
    ``grow_mm``: by how much the ink may reach further than its points.
    """

    points_mm: Points
    ratio: float = 1.0
    grow_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class ShiftProblem:
    """Ink, the area it must lie in, and how far it may be shifted each way (across, along).

    ``circle``: the smallest around the first group.
    """

    groups: tuple[InkGroup, ...]
    area: ImageArea
    reach_mm: tuple[float, float]
    circle: Circle

    @property
    def is_free(self) -> bool:
        """Whether nothing limits the shift."""
        return self.reach_mm == (math.inf, math.inf)

    @property
    def turning_radius_mm(self) -> float:
        """No clearance at its best shift changes faster than this per radian of turn.

        Free: about the circle's center, which the shift can hold still. Else about the datum.
        """
        center = np.array(self.circle.center if self.is_free else (0.0, 0.0))
        return max(float(np.hypot(*(g.points_mm - center * g.ratio).T).max()) for g in self.groups)


@dataclass(frozen=True, eq=False)
class Shifts:
    """Per angle: the best shift found, the clearance there, and what none can exceed.

    ``shift_mm`` has shape (angles, 2): where the datum lands in the press frame.
    ``basis`` proves ``upper_mm``.
    """

    turns_rad: Values
    shift_mm: Values
    clearance_mm: Values
    upper_mm: Values
    basis: Cuts

    @property
    def gap_mm(self) -> float:
        """Greatest distance between the bounds."""
        return float((self.upper_mm - self.clearance_mm).max(initial=0.0))


def shift_problem(
    groups: Sequence[InkGroup], area: ImageArea, reach_mm: tuple[float, float]
) -> ShiftProblem:
    """Prepare ink for an area. Every group must have a point."""
    circle = smallest_enclosing_circle(groups[0].points_mm)
    return ShiftProblem(tuple(groups), area, reach_mm, circle)


def best_shifts(
    problem: ShiftProblem, turns_rad: Values, tolerance_mm: float, near: Shifts | None = None
) -> Shifts:
    """The best shift at every angle, to within ``tolerance_mm`` where that can be reached.

    ``near``: angles solved before, ascending; each search then begins with the cuts of
    the nearest of them.
    """
    search = _Search(problem, np.asarray(turns_rad, dtype=float))
    if near is not None and len(near.turns_rad):
        search.begin_near(near)
    return search.run(tolerance_mm)


def solve_in_order(
    problem: ShiftProblem,
    turns_rad: Values,
    tolerance_mm: float,
    cancelled: Callable[[], bool] | None = None,
) -> Shifts:
    """``best_shifts`` of ascending angles, quicker: every fourth first, the others from there."""
    is_first = np.zeros(len(turns_rad), dtype=bool)
    is_first[::_COARSE] = True
    first = best_shifts(problem, turns_rad[is_first], tolerance_mm)
    if is_first.all():
        return first
    stop_if(cancelled)
    rest = best_shifts(problem, turns_rad[~is_first], tolerance_mm, first)
    return merged(first, rest)


def merged(one: Shifts, two: Shifts) -> Shifts:
    """Two sets of solved angles as one, ascending."""
    turns = np.concatenate([one.turns_rad, two.turns_rad])
    order = np.argsort(turns, kind="stable")
    return Shifts(
        turns[order],
        np.concatenate([one.shift_mm, two.shift_mm])[order],
        np.concatenate([one.clearance_mm, two.clearance_mm])[order],
        np.concatenate([one.upper_mm, two.upper_mm])[order],
        np.concatenate([one.basis, two.basis], axis=1)[:, order],
    )


def clearance_at(
    problem: ShiftProblem, turn_rad: float, shift_mm: tuple[float, float]
) -> tuple[float, int, int, int]:
    """Clearance at one placement, and which (part, group, point) decides it."""
    found = []
    for number, group in enumerate(problem.groups):
        room, part, at = group_clearance(group, problem.area, turn_rad, shift_mm)
        found.append((room, part, number, at))
    return min(found)


def group_clearance(
    group: InkGroup, area: ImageArea, turn_rad: float, shift_mm: tuple[float, float]
) -> tuple[float, int, int]:
    """Clearance of one group at one placement, and which (part, point) decides it."""
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    x, y = group.points_mm[:, 0], group.points_mm[:, 1]
    qx = cos * x + sin * y + group.ratio * shift_mm[0]
    qy = cos * y - sin * x + group.ratio * shift_mm[1]
    room, part = area.clearance_mm(qx, qy)
    at = int(room.argmin())
    return float(room[at]) - group.grow_mm, int(part[at]), at


def first_basis(problem: ShiftProblem, turns_rad: Values) -> Cuts:
    """The three cuts per angle that a search begins with: the cup alone."""
    return _Search(problem, turns_rad).basis


def look_at(
    problem: ShiftProblem, turn_rad: Values, shift_mm: tuple[float, float]
) -> tuple[float, list[Cuts]]:
    """Clearance at one placement, and the tightest cut of every side and edge there."""
    room, offered, _ = _Search(problem, turn_rad).look(np.arange(1), np.array([shift_mm]))
    return float(room[0]), offered


def deepest_mm(area: ImageArea) -> float:
    """Greatest clearance of any single point: negative when the parts have none in common."""
    dot = InkGroup(np.zeros((1, 2)))
    problem = shift_problem([dot], area, (math.inf, math.inf))
    return float(best_shifts(problem, np.zeros(1), 1e-9).upper_mm[0])


# --- the search -----------------------------------------------------------------


class _Search:
    """One batch of angles. Rows that have settled are left out of further rounds."""

    def __init__(self, problem: ShiftProblem, turns_rad: Values) -> None:
        self.problem = problem
        self.turns = turns_rad
        self.cos, self.sin = np.cos(turns_rad), np.sin(turns_rad)
        self.turned = [self._turn(group.points_mm) for group in problem.groups]
        self.basis = self._first_basis()
        self.fixed = self._fixed_cuts()
        looks = (
            RoundLook(part, number, index, group.ratio, *turned)
            for index, (group, turned) in enumerate(zip(problem.groups, self.turned, strict=True))
            for number, part in enumerate(problem.area.parts)
            if part.is_round_somewhere
        )
        # Ellipses last: what the others leave saves much exact measuring there.
        self.looks = sorted(looks, key=lambda look: look.is_ellipse)
        count = len(turns_rad)
        self.lower = np.full(count, -np.inf)
        self.upper = np.full(count, np.inf)
        self.shift = np.zeros((count, 2))

    def _turn(self, points: Points) -> tuple[Values, Values]:
        x, y = points[:, 0], points[:, 1]
        return (
            np.outer(self.cos, x) + np.outer(self.sin, y),
            np.outer(self.cos, y) - np.outer(self.sin, x),
        )

    def begin_near(self, near: Shifts) -> None:
        """Begin with cuts that settled another angle: they hold at every angle, and their
        multipliers are the same there."""
        after = np.clip(np.searchsorted(near.turns_rad, self.turns), 1, len(near.turns_rad) - 1)
        before = after - 1
        if len(near.turns_rad) == 1:
            after = before = np.zeros(len(self.turns), dtype=np.intp)
        is_before = self.turns - near.turns_rad[before] < near.turns_rad[after] - self.turns
        self.basis = near.basis[:, np.where(is_before, before, after)]
        nx, ny, px, py = (self.basis[field] for field in (c.NX, c.NY, c.PX, c.PY))
        cos, sin = self.cos[:, None], self.sin[:, None]
        self.basis[c.BETA] = self.basis[c.REACH] - c.reached(nx, ny, px, py, cos, sin)

    def run(self, tolerance_mm: float) -> Shifts:
        """Exchange cuts until the bounds meet."""
        reach = np.array(self.problem.reach_mm)
        rows = np.arange(len(self.turns))
        best = self.basis.copy()
        is_near = np.zeros(len(self.turns), dtype=np.bool_)
        for number in range(MOST_ROUNDS):
            basis = self.basis[:, rows]
            corner = c.corner_of(basis, c.inverse_of(basis))
            falls = corner[2] < self.upper[rows]
            self.upper[rows[falls]] = corner[2][falls]
            best[:, rows[falls]] = basis[:, falls]
            shift = np.clip(corner[:2].T, -reach, reach)
            # Until the bounds could meet for the first time a rough look is enough for cuts.
            enough = np.where(is_near[rows], -np.inf, self.upper[rows] - tolerance_mm)
            room, offered, is_sure = self.look(
                rows, shift, enough if number < MOST_ROUNDS // 2 else None
            )
            is_near[rows[is_sure]] = True
            rises = (room > self.lower[rows]) & is_sure
            self.lower[rows[rises]] = room[rises]
            self.shift[rows[rises]] = shift[rises]
            is_open = self.upper[rows] - self.lower[rows] > tolerance_mm
            if not is_open.any():
                break
            self.basis[:, rows] = settle(basis, offered)
            rows = rows[is_open]
        return Shifts(self.turns, self.shift, self.lower, np.maximum(self.upper, self.lower), best)

    # --- cuts to begin with ---

    def _first_basis(self) -> Cuts:
        """The points that decide the smallest circle, against the cup: the best for it alone."""
        group = self.problem.groups[0]
        normals, points = _circle_cuts(self.problem.circle, group.points_mm)
        radius = self.problem.area.disc_radius_mm - group.grow_mm
        basis = np.empty((c.FIELDS, len(self.turns), 3))
        for index, ((ux, uy), (px, py)) in enumerate(zip(normals, points, strict=True)):
            basis[:, :, index] = self._cut(
                self.cos * ux + self.sin * uy,
                self.cos * uy - self.sin * ux,
                np.full(len(self.turns), radius),
                np.full(len(self.turns), px),
                np.full(len(self.turns), py),
                np.arange(len(self.turns)),
                0,
                0,
            )
        return basis

    def _cut(
        self,
        nx: Values,
        ny: Values,
        reach: Values,
        px: Values,
        py: Values,
        rows: NDArray[np.intp],
        part: int,
        group: int,
    ) -> Cuts:
        ratio = self.problem.groups[group].ratio
        cos, sin = self.cos[rows], self.sin[rows]
        return c.tangent_cut(nx, ny, reach, px, py, cos, sin, ratio=ratio, part=part, group=group)

    def _fixed_cuts(self) -> list[Cuts]:
        """Straight sides and limits of the shift: they do not depend on the shift."""
        count = len(self.turns)
        every = np.arange(count)
        found = []
        for number, part in enumerate(self.problem.area.parts):
            for nx, ny, reach in part.sides():
                for index, (group, (x, y)) in enumerate(
                    zip(self.problem.groups, self.turned, strict=True)
                ):
                    at = (nx * x + ny * y).argmax(axis=1)
                    found.append(
                        self._cut(
                            np.full(count, nx),
                            np.full(count, ny),
                            np.full(count, reach - group.grow_mm),
                            group.points_mm[at, 0],
                            group.points_mm[at, 1],
                            every,
                            number,
                            index,
                        )
                    )
        for gx, gy, limit in (
            (1.0, 0.0, self.problem.reach_mm[0]),
            (-1.0, 0.0, self.problem.reach_mm[0]),
            (0.0, 1.0, self.problem.reach_mm[1]),
            (0.0, -1.0, self.problem.reach_mm[1]),
        ):
            if math.isfinite(limit):
                found.append(c.shift_cut(gx, gy, limit, count))
        return found

    # --- looking at a shift ---

    def look(
        self, rows: NDArray[np.intp], shift: Values, enough: Values | None = None
    ) -> tuple[Values, list[Cuts], NDArray[np.bool_]]:
        """Clearance at a shift per row, the cuts that say so, and whether it is sure.

        Where it cannot come to ``enough`` it may be told too large, and not be sure.
        """
        dx, dy = shift[:, 0], shift[:, 1]
        room = np.full(len(rows), np.inf)
        is_sure = np.ones(len(rows), dtype=np.bool_)
        offered = []
        for cut in self.fixed:
            here = cut[:, rows]
            offered.append(here)
            if here[c.PART, 0] >= 0:
                room = np.minimum(room, here[c.BETA] - here[c.GX] * dx - here[c.GY] * dy)
        for look in self.looks:
            group = self.problem.groups[look.group]
            least = None if enough is None else enough + group.grow_mm
            found = look.worst(rows, dx, dy, room + group.grow_mm, least)
            at, nx, ny, reach, clearance, sure = found
            is_sure &= sure
            room = np.minimum(room, clearance - group.grow_mm)
            px, py = group.points_mm[at, 0], group.points_mm[at, 1]
            reach = reach - group.grow_mm
            offered.append(self._cut(nx, ny, reach, px, py, rows, look.part, look.group))
        return room, offered, is_sure


def settle(basis: Cuts, offered: Sequence[Cuts]) -> Cuts:
    """Take the most violated of the cuts offered into each basis, until none is violated."""
    every = np.stack(offered)
    column = np.arange(basis.shape[1])
    for _ in range(_MOST_EXCHANGES):
        inverse = c.inverse_of(basis)
        dx, dy, s = c.corner_of(basis, inverse)
        slack = every[:, c.BETA] - every[:, c.GX] * dx - every[:, c.GY] * dy
        slack -= every[:, c.SIGMA] * s
        most = slack.argmin(axis=0)
        where = np.nonzero(slack[most, column] < -_VIOLATION)[0]
        if not len(where):
            break
        c.exchange(basis, inverse, every[most, :, column].T, where)
    return basis


def _circle_cuts(circle: Circle, points: Points) -> tuple[Points, Points]:
    """Three normals that hold each other, and the points they touch, in the artwork's frame."""
    support = np.asarray(circle.support, dtype=float)
    from_center = support - np.array(circle.center)
    if circle.radius <= 0 or len(support) < 2:
        angles = np.radians((90.0, 210.0, 330.0))
        normals = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        return normals, points[(points @ normals.T).argmax(axis=0)]
    normals = from_center / np.hypot(*from_center.T)[:, None]
    if len(support) == 2:
        aside = np.array([[-normals[0, 1], normals[0, 0]]])
        normals = np.vstack([normals, aside])
        support = np.vstack([support, points[(points @ aside.T).argmax(axis=0)]])
    return normals, support
