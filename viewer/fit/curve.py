"""The whole curve: best clearance at every angle, and the stretches of angle that fit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import Artwork
from viewer.errors import stop_if
from viewer.fit.area import ImageArea, image_area
from viewer.fit.problems import LimitedInk, limited_ink
from viewer.fit.shift import ShiftProblem, Shifts, best_shifts, merged, solve_in_order
from viewer.fit.turn import GAP_MM, step_turns_deg
from viewer.fit.waves import Waves, highest_between, waves_of
from viewer.geometry import smallest_enclosing_circle
from viewer.press import Angles, Cup, PressLimits

Values = NDArray[np.float64]

CURVE_ANGLES = 720
_CURVE_MM = 0.004
_STRETCH_MM = 0.0002
_NARROW_DEG = 0.01
_NO_LENGTH_MM = 1e-6
_HARDLY_MM = 0.001


@dataclass(frozen=True, eq=False)
class AngleCurve:
    """Best clearance over the artwork's turn.

    ``turns_deg`` ascend in (-180, 180]; ``clearances_mm`` of the main reading are within
    ``gap_mm`` of what no shift can exceed. ``fitting_deg``: stretches of allowed angle
    that surely fit, uncertainty and every reading counted; one angle is a stretch of no
    length. ``is_flat``: turning changes nothing that could be set.
    """

    turns_deg: Values
    clearances_mm: Values
    gap_mm: float
    fitting_deg: tuple[tuple[float, float], ...]
    is_flat: bool


def angle_curve(
    artwork: Artwork,
    cup: Cup,
    limits: PressLimits | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> AngleCurve:
    """The curve of one cup, at every half degree whatever angles are allowed.

    Raises ArtworkError for artwork without ink, Cancelled.
    """
    limits = PressLimits() if limits is None else limits
    ink = limited_ink(artwork, limits)
    steps = np.arange(1, CURVE_ANGLES + 1, dtype=np.float64)
    turns_deg = steps * (360.0 / CURVE_ANGLES) - 180.0
    area = image_area(cup, limits)
    if limits.is_cup_alone:
        return _flat_curve(ink, area, turns_deg)
    found = solve_in_order(ink.alone(0, area), np.radians(turns_deg), _CURVE_MM, cancelled)
    clearances = found.clearance_mm
    return AngleCurve(
        turns_deg=turns_deg,
        clearances_mm=clearances,
        gap_mm=found.gap_mm,
        fitting_deg=_fitting(ink.together(area), limits.angles, cancelled),
        is_flat=bool(clearances.max() - clearances.min() <= GAP_MM),
    )


def _flat_curve(ink: LimitedInk, area: ImageArea, turns_deg: Values) -> AngleCurve:
    circle = smallest_enclosing_circle(ink.readings[0].outline.hull_mm)
    clearance_mm = area.disc_radius_mm - circle.radius
    joint = best_shifts(ink.together(area), np.zeros(1), 1e-9)
    fits = float(joint.clearance_mm[0]) >= 0
    return AngleCurve(
        turns_deg=turns_deg,
        clearances_mm=np.full(len(turns_deg), clearance_mm),
        gap_mm=0.0,
        fitting_deg=_all_of(ink.limits.angles) if fits else (),
        is_flat=True,
    )


# --- stretches that fit -------------------------------------------------------------


def _all_of(angles: Angles) -> tuple[tuple[float, float], ...]:
    if angles.kind == "any":
        return ((-180.0, 180.0),)
    if angles.kind == "within":
        return ((-angles.value_deg, angles.value_deg),)
    turns = step_turns_deg(angles.value_deg) if angles.kind == "step" else [0.0]
    return tuple((float(turn), float(turn)) for turn in turns)


def _fitting(
    problem: ShiftProblem, angles: Angles, cancelled: Callable[[], bool] | None
) -> tuple[tuple[float, float], ...]:
    """Stretches where the joint clearance is surely not negative.

    Between two angles that fit it can sink only so far (see ``_sinks_below``); between
    two that do not, the waves tell how high it can rise. Where neither settles it the
    interval is divided, down to a hundredth of a degree; what is still open then does not
    count as fitting.
    """
    if not all(math.isfinite(group.grow_mm) for group in problem.groups):
        return ()
    spans = _all_of(angles)
    if spans[0][0] == spans[0][1]:
        turns = np.radians(np.array([low for low, _ in spans]))
        good = best_shifts(problem, turns, _STRETCH_MM).clearance_mm >= 0
        return tuple(span for span, is_good in zip(spans, good, strict=True) if is_good)
    low, high = spans[0]
    count = max(2, math.ceil((high - low) / 0.5)) + 1
    found = solve_in_order(problem, np.radians(np.linspace(low, high, count)), _STRETCH_MM)
    radius = problem.turning_radius_mm
    for _ in range(40):
        stop_if(cancelled)
        at = _to_divide(found, radius)
        if not len(at):
            break
        found = merged(found, best_shifts(problem, at, _STRETCH_MM, found))
    return _stretches(found, radius)


def _to_divide(found: Shifts, radius_mm: float) -> Values:
    """Angles at which an interval that is not settled yet should be looked at."""
    turns, lower = found.turns_rad, found.clearance_mm
    width = np.diff(turns)
    good = lower >= 0
    both, none = good[:-1] & good[1:], ~good[:-1] & ~good[1:]
    waves: Waves = waves_of(found)
    bound, at = highest_between(turns[:-1], turns[1:], waves[:-1], waves[1:])
    sinks = _sinks_below(lower, width, radius_mm)
    # Where hardly anything is left at the better end, an end of a stretch is told as it is.
    ends = np.maximum(lower[:-1], lower[1:]) > _HARDLY_MM
    is_open = np.where(both, sinks, np.where(none, bound > _HARDLY_MM, ends))
    is_open &= width > math.radians(_NARROW_DEG)
    middle = (turns[:-1] + turns[1:]) / 2.0
    keep_off = 0.1 * width
    at = np.clip(np.where(none, at, middle), turns[:-1] + keep_off, turns[1:] - keep_off)
    result: Values = at[is_open]
    return result


def _sinks_below(lower: Values, width: Values, radius_mm: float) -> NDArray[np.bool_]:
    """Whether the clearance could become negative between two angles where it is not.

    Between two turns R0 and R1 a turn is R = a R0 + b R1, with a + b at most
    1 / cos(width / 2). Shifted in the same proportion, every ink point lies that little
    beyond the straight line between its two places, and along a straight line a clearance
    is never less than at both ends, as the parts are convex.
    """
    beyond_mm = radius_mm * (1.0 / np.cos(width / 2.0) - 1.0)
    result: NDArray[np.bool_] = np.minimum(lower[:-1], lower[1:]) < beyond_mm - _NO_LENGTH_MM
    return result


def _stretches(found: Shifts, radius_mm: float) -> tuple[tuple[float, float], ...]:
    turns, lower = found.turns_rad, found.clearance_mm
    good = lower >= 0
    is_sure = ~_sinks_below(lower, np.diff(turns), radius_mm)
    degrees = np.degrees(turns)
    stretches: list[list[float]] = []
    for index in np.nonzero(good)[0]:
        turn = float(degrees[index])
        if stretches and index > 0 and good[index - 1] and is_sure[index - 1]:
            stretches[-1][1] = turn
        else:
            stretches.append([turn, turn])
    return tuple((low, high) for low, high in stretches)
