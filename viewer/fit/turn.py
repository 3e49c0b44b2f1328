"""The best angle of all, proved: branch and bound over the artwork's turn.

Angles are solved in batches; each solved angle gives a wave that bounds the clearance
everywhere (see ``waves``). Intervals that cannot hold anything better than what was
found are dropped, the others are divided where the bounds still allow most. The cup's
disc alone caps every angle as well. The gap that is left is reported, the inner
solver's own gap included.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.errors import stop_if
from viewer.fit import cuts as c
from viewer.fit.least_shift import least_shift
from viewer.fit.shift import (
    ShiftProblem,
    Shifts,
    best_shifts,
    clearance_at,
    merged,
    solve_in_order,
)
from viewer.fit.waves import Waves, highest_between, waves_of
from viewer.press import Angles

Values = NDArray[np.float64]

GAP_MM = 0.005
"""No placement exceeds the one returned by more than this."""
_SEARCH_MM = 0.0005
_INNER_MM = 0.00002
_POLISH_MM = 1e-10
_TIE_MM = 0.004
_PEAK_DEG = 0.25
_SAME_DEG = 1e-6
_FIRST_STEP_DEG = 5.0
_NARROWEST_RAD = 1e-9
_MOST_ROUNDS = 60
_MOST_ANGLES = 60_000


@dataclass(frozen=True)
class Turned:
    """The best placement found for a problem. Lengths in mm, positive inside.

    ``shift_mm``: where the datum lands in the press frame. ``gap_mm``: no angle and shift
    that is allowed exceeds ``clearance_mm`` by more. ``contacts``: (part, group, x, y) of
    the ink that decides, x and y relative to the datum in the artwork's frame.
    ``unturned_mm``: the best at turn 0.
    """

    turn_deg: float
    shift_mm: tuple[float, float]
    clearance_mm: float
    gap_mm: float
    contacts: tuple[tuple[int, int, float, float], ...]
    unturned_mm: float


def best_turn(
    problem: ShiftProblem,
    angles: Angles,
    cancelled: Callable[[], bool] | None = None,
    level_mm: float = -math.inf,
) -> Turned:
    """The placement with the greatest clearance over the angles allowed.

    Of placements that differ by less than the gap the one with the least turn is taken
    (positive on equality), then the one with the least shift; but never one below
    ``level_mm`` where another reaches it. Raises Cancelled.
    """
    search = _Angles(problem, angles, cancelled)
    search.run()
    turn_rad = search.chosen(level_mm)
    exact = best_shifts(problem, np.array([turn_rad]), _POLISH_MM)
    shift = (float(exact.shift_mm[0, 0]), float(exact.shift_mm[0, 1]))
    clearance_mm = float(exact.clearance_mm[0])
    nearer = least_shift(problem, turn_rad, shift, clearance_mm)
    nearer_mm = clearance_at(problem, turn_rad, nearer)[0]
    if nearer_mm >= min(clearance_mm, level_mm):
        shift, clearance_mm = nearer, nearer_mm
    return Turned(
        turn_deg=math.degrees(turn_rad),
        shift_mm=shift,
        clearance_mm=clearance_mm,
        gap_mm=max(0.0, max(search.upper_mm, float(exact.upper_mm[0])) - clearance_mm),
        contacts=_contacts(exact, problem, turn_rad, shift, clearance_mm),
        unturned_mm=search.unturned_mm,
    )


def better_angle(
    problem: ShiftProblem,
    angles: Angles,
    enough_mm: float,
    cancelled: Callable[[], bool] | None = None,
) -> float | None:
    """An allowed angle, in degrees, at which more than ``enough_mm`` is left; None where
    none has more. Quicker than the best of all, and as sure. Raises Cancelled."""
    search = _Angles(problem, angles, cancelled)
    search.run(enough_mm)
    best = float(search.lower.max())
    if best <= enough_mm:
        return None
    good = np.nonzero(search.lower >= best - _SEARCH_MM)[0]
    return math.degrees(float(search.turns[_least_turn(search.turns, good)]))


def _least_turn(turns_rad: Values, among: NDArray[np.intp]) -> int:
    """Which of some angles is nearest to zero; of two mirror images the positive one."""
    sizes = np.round(np.abs(turns_rad[among]), 9)
    return int(among[np.lexsort((-turns_rad[among], sizes))[0]])


class _Angles:
    """Solved angles in ascending order, and the waves they give."""

    def __init__(
        self, problem: ShiftProblem, angles: Angles, cancelled: Callable[[], bool] | None
    ) -> None:
        self._problem = problem
        self._cancelled = cancelled
        self._first, self._is_interval = first_turns(angles)
        self._found: Shifts | None = None
        self.waves = Waves(np.zeros(0), np.zeros(0), np.zeros(0))
        self.upper_mm = math.inf
        area, circle = problem.area, problem.circle
        self._cap = area.disc_radius_mm - circle.radius - problem.groups[0].grow_mm
        self.unturned_mm = -math.inf

    def run(self, enough_mm: float = -math.inf) -> None:
        """Divide until nothing better than what was found, or than enough, can be left."""
        self._add(self._first)
        self.unturned_mm = float(self.lower[int(np.abs(self.turns).argmin())])
        if not self._is_interval:
            self.upper_mm = float(self.found.upper_mm.max())
            return
        for _ in range(_MOST_ROUNDS):
            bound, at = self._bounds()
            best = float(self.lower.max())
            self.upper_mm = max(best, float(bound.max(initial=-math.inf)))
            width = np.diff(self.turns)
            least = max(best + _SEARCH_MM, enough_mm)
            is_open = (bound > least) & (width > _NARROWEST_RAD)
            if not is_open.any() or len(self.turns) > _MOST_ANGLES:
                return
            left, right = self.turns[:-1][is_open], self.turns[1:][is_open]
            keep_off = 0.05 * (right - left)
            self._add(np.clip(at[is_open], left + keep_off, right - keep_off))

    @property
    def found(self) -> Shifts:
        """The angles solved so far."""
        assert self._found is not None
        return self._found

    @property
    def turns(self) -> Values:
        """Their turns in radians, ascending."""
        return self.found.turns_rad

    @property
    def lower(self) -> Values:
        """The clearance found at each."""
        return self.found.clearance_mm

    def _add(self, turns: Values) -> None:
        stop_if(self._cancelled)
        if self._found is None:
            self._found = solve_in_order(self._problem, turns, _INNER_MM)
        else:
            more = best_shifts(self._problem, turns, _INNER_MM, self._found)
            self._found = merged(self._found, more)
        self.waves = waves_of(self._found)

    def _bounds(self) -> tuple[Values, Values]:
        bound, at = highest_between(
            self.turns[:-1], self.turns[1:], self.waves[:-1], self.waves[1:]
        )
        return np.minimum(bound, self._cap + 1e-9), at

    def chosen(self, level_mm: float) -> float:
        """Of the angles within the gap the least; then the peak beside it."""
        best = float(self.lower.max())
        least = self.upper_mm - _TIE_MM
        if best >= level_mm:
            least = max(least, level_mm)
        least = min(least, best)
        self._look_nearer_to_zero(least)
        index = _least_turn(self.turns, np.nonzero(self.lower >= least)[0])
        if self.turns[index] == 0.0 or not self._is_interval:
            return float(self.turns[index])
        near = np.abs(self.turns - self.turns[index]) <= math.radians(_PEAK_DEG)
        peak = np.nonzero(near)[0][self.lower[near].argmax()]
        # A turn that is as good as its mirror image is given as the positive one.
        return self._same_positive(float(self.turns[peak]), float(self.lower[peak]))

    def _same_positive(self, turn: float, clearance_mm: float) -> float:
        if turn >= 0 or -turn > self.turns[-1]:
            return turn
        mirrored = best_shifts(self._problem, np.array([-turn]), _INNER_MM)
        return -turn if float(mirrored.clearance_mm[0]) >= clearance_mm - 2e-5 else turn

    def _look_nearer_to_zero(self, least_mm: float) -> None:
        """Refine where an angle nearer to zero could reach the same."""
        if not self._is_interval:
            return
        for _ in range(_MOST_ROUNDS):
            bound, at = self._bounds()
            nearest = float(np.abs(self.turns[self.lower >= least_mm]).min())
            left, right = self.turns[:-1], self.turns[1:]
            inner = np.where(left > 0, left, np.where(right < 0, -right, 0.0))
            is_open = (bound >= least_mm) & (inner < nearest - math.radians(_PEAK_DEG))
            is_open &= (self.lower[:-1] < least_mm) & (self.lower[1:] < least_mm)
            is_open &= right - left > math.radians(0.01)
            if not is_open.any():
                return
            keep_off = 0.05 * (right - left)
            self._add(np.clip(at, left + keep_off, right - keep_off)[is_open])


def first_turns(angles: Angles) -> tuple[Values, bool]:
    """Angles in radians to begin with, ascending, 0 among them; and whether those between count."""
    if angles.kind == "none" or (angles.kind == "within" and angles.value_deg == 0):
        return np.zeros(1), False
    if angles.kind == "step":
        return np.radians(step_turns_deg(angles.value_deg)), False
    limit = 180.0 if angles.kind == "any" else angles.value_deg
    half = max(1, math.ceil(limit / _FIRST_STEP_DEG))
    steps = np.arange(-half, half + 1, dtype=np.float64)
    return np.radians(steps * (limit / half)), True


def step_turns_deg(step_deg: float) -> Values:
    """The multiples of a step in (-180, 180], ascending."""
    count = round(360.0 / step_deg)
    numbers = np.arange(-((count - 1) // 2), count // 2 + 1, dtype=np.float64)
    return numbers * (360.0 / count)


def is_turn_allowed(turn_deg: float, angles: Angles) -> bool:
    """Whether a press may turn the artwork so far, to a millionth of a degree."""
    if angles.kind == "any":
        return True
    if angles.kind == "step":
        steps = turn_deg / angles.value_deg
        return abs(steps - round(steps)) * angles.value_deg <= _SAME_DEG
    limit = angles.value_deg if angles.kind == "within" else 0.0
    return abs(turn_deg) <= limit + _SAME_DEG


def _contacts(
    exact: Shifts,
    problem: ShiftProblem,
    turn_rad: float,
    shift: tuple[float, float],
    clearance_mm: float,
) -> tuple[tuple[int, int, float, float], ...]:
    """The cuts that carry weight; else simply the ink that is nearest to an edge."""
    basis = exact.basis[:, 0]
    weight = c.inverse_of(exact.basis)[2, 0]
    found = []
    for index in range(3):
        part = int(basis[c.PART, index])
        if weight[index] > 1e-6 and part >= 0:
            x, y = float(basis[c.PX, index]), float(basis[c.PY, index])
            found.append((part, int(basis[c.GROUP, index]), x, y))
    if not found:
        _, part, group, at = clearance_at(problem, turn_rad, shift)
        x, y = problem.groups[group].points_mm[at]
        found.append((part, group, float(x), float(y)))
    return tuple(dict.fromkeys(found))
