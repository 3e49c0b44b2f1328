"""Placements in steps that can be set, and within what the press allows."""

from __future__ import annotations

import math
from itertools import product

import numpy as np

from viewer.artwork.model import Artwork
from viewer.fit.least_shift import least_shift
from viewer.fit.model import Placement
from viewer.fit.problems import LimitedInk, limited_ink
from viewer.fit.shift import ShiftProblem, best_shifts, clearance_at
from viewer.fit.turn import is_turn_allowed
from viewer.press import Angles, PressLimits

STEPS_PER_MM = 100
"""A shift is settable to 0.01 mm."""
STEPS_PER_DEG = 10
"""A turn is settable to 0.1 degree."""

_SAME_MM = 1e-6
_TIDY_DECIMALS = 9

Point = tuple[float, float]


def settled(artwork: Artwork, placement: Placement, limits: PressLimits) -> Placement:
    """The placement nearest to one wished for that hold, datum and angles allow.

    Positions are taken to 0.01 mm; turns within (-180, 180] as they are, unless the press
    allows others only.
    """
    turn_deg = nearest_turn(placement.turn_deg, limits.angles)
    if limits.hold.is_free:
        x, y = placement.center_mm
        return Placement((_stepped(x), _stepped(y)), turn_deg)
    ink = limited_ink(artwork, limits)
    # The datum stays where it was wished to be, in the press frame of the turn allowed.
    wished = ink.shift_of(placement.center_mm, turn_deg)
    shift = _within_reach((_stepped(wished[0]), _stepped(wished[1])), limits)
    return Placement(tidy_center(ink, shift, turn_deg), turn_deg)


def nearest_turn(turn_deg: float, angles: Angles) -> float:
    """The allowed turn nearest to one wished for, in (-180, 180]."""
    turn = wrapped_deg(turn_deg)
    if angles.kind == "none":
        return 0.0
    if angles.kind == "within":
        return max(-angles.value_deg, min(angles.value_deg, turn))
    if angles.kind == "step":
        return wrapped_deg(round(turn / angles.value_deg) * angles.value_deg)
    return turn


def wrapped_deg(angle_deg: float) -> float:
    """The same direction in (-180, 180]."""
    if -180.0 < angle_deg <= 180.0:
        return angle_deg + 0.0
    wrapped = -((-angle_deg + 180.0) % 360.0 - 180.0)
    return wrapped if wrapped != 0 else 0.0


def is_allowed(ink: LimitedInk, placement: Placement) -> bool:
    """Whether hold and angles let the press take a placement, to a millionth of a mm."""
    limits = ink.limits
    if not is_turn_allowed(placement.turn_deg, limits.angles):
        return False
    shift = ink.shift_of(placement.center_mm, placement.turn_deg)
    return all(
        abs(moved) <= reach + _SAME_MM
        for moved, reach in zip(shift, limits.hold.reach_mm, strict=True)
    )


def rounded_placement(
    ink: LimitedInk, problem: ShiftProblem, turn_deg: float
) -> tuple[Placement, float]:
    """The best settable placement around an exact angle, and its clearance in ``problem``.

    At each of the settable turns beside it the shift is sought anew, then rounded: a
    shift is set from the datum, along and across the press.
    """
    found = []
    for turn in _turns_beside(turn_deg, ink.limits.angles):
        exact = best_shifts(problem, np.array([math.radians(turn)]), 1e-7)
        found_shift = (float(exact.shift_mm[0, 0]), float(exact.shift_mm[0, 1]))
        turn_rad, room_mm = math.radians(turn), float(exact.clearance_mm[0])
        shift = least_shift(problem, turn_rad, found_shift, room_mm)
        for center in _centers_beside(ink, shift, turn):
            at = ink.shift_of(center, turn)
            clearance_mm = clearance_at(problem, turn_rad, at)[0]
            found.append((clearance_mm, -abs(turn), Placement(center, turn)))
    clearance_mm, _, placement = max(found, key=lambda one: one[:2])
    return placement, clearance_mm


def _turns_beside(turn_deg: float, angles: Angles) -> list[float]:
    if angles.kind in ("none", "step"):
        return [turn_deg]
    steps = turn_deg * STEPS_PER_DEG
    below, above = math.floor(steps + 1e-7), math.ceil(steps - 1e-7)
    turns = dict.fromkeys(
        nearest_turn(round(step / STEPS_PER_DEG, 1), angles) for step in (below, above)
    )
    return list(turns)


def _centers_beside(ink: LimitedInk, shift_mm: Point, turn_deg: float) -> list[Point]:
    shifts = product(_steps_beside(shift_mm[0]), _steps_beside(shift_mm[1]))
    inside = dict.fromkeys(_within_reach(shift, ink.limits) for shift in shifts)
    return [tidy_center(ink, shift, turn_deg) for shift in inside]


def tidy_center(ink: LimitedInk, shift_mm: Point, turn_deg: float) -> Point:
    """The center of a shift, without the dust of the last digits."""
    x, y = ink.center_of(shift_mm, turn_deg)
    return round(x, _TIDY_DECIMALS) + 0.0, round(y, _TIDY_DECIMALS) + 0.0


def _within_reach(shift_mm: Point, limits: PressLimits) -> Point:
    across, along = limits.hold.reach_mm
    return (
        max(-across, min(across, shift_mm[0])),
        max(-along, min(along, shift_mm[1])),
    )


def _stepped(value_mm: float) -> float:
    return round(value_mm * STEPS_PER_MM) / STEPS_PER_MM


def _steps_beside(value_mm: float) -> tuple[float, ...]:
    below, above = math.floor(value_mm * STEPS_PER_MM), math.ceil(value_mm * STEPS_PER_MM)
    return (below / STEPS_PER_MM, above / STEPS_PER_MM)
