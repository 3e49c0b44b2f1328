"""One cup together with pad, etch area, hold and angles: everything is searched, and proved."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from viewer.fit.area import ImageArea, image_area
from viewer.fit.model import BestPlacement, CupFit, Limit, Placement, Settable
from viewer.fit.problems import LimitedInk
from viewer.fit.readings import Room, disputed_codes, judge_readings, unconditional_blocks
from viewer.fit.scaling import largest_scale_anyhow, scale_at
from viewer.fit.settable import rounded_placement
from viewer.fit.shift import ShiftProblem, clearance_at
from viewer.fit.turn import GAP_MM, Turned, best_turn
from viewer.fit.verdict import Verdict
from viewer.press import Cup

Cancelling = Callable[[], bool] | None

_SAME_SCALE = 0.0005
"""For so little nobody turns artwork: half of what a scale is told to."""


def fit_limited_cup(
    ink: LimitedInk, cup: Cup, setup_tolerance_mm: float, cancelled: Cancelling = None
) -> CupFit:
    """Judge artwork against a cup and all that limits it besides. Raises Cancelled."""
    area = image_area(cup, ink.limits)
    found = [_best_of(ink, number, area, cancelled) for number in range(len(ink.readings))]
    found[0] = _no_worse_than_rounded(ink, ink.alone(0, area), found[0])
    rooms = _rooms(ink, cup, found, cancelled)
    joint = _together(ink, area, found, cancelled)
    is_joint = joint is not None and joint.clearance_mm >= 0
    verdict, causes = judge_readings(ink.artwork, ink.readings, rooms, is_joint)
    main = found[0]
    best = _best_placement(ink, area, main, joint, verdict)
    scale, scale_turn_deg, unturned_scale = _scales(ink, area, best.turn_deg, cancelled)
    return CupFit(
        cup=cup,
        verdict=verdict,
        tight=verdict is Verdict.FITS and best.clearance_mm < setup_tolerance_mm,
        clearance_mm=main.clearance_mm,
        hard_clearance_mm=rooms[0].hard_clearance_mm,
        largest_scale=scale,
        largest_scale_turn_deg=scale_turn_deg,
        largest_scale_unturned=unturned_scale,
        best=best,
        limits=_limits(ink, area, main),
        unturned_clearance_mm=min(main.unturned_mm, main.clearance_mm),
        turn_helps=main.clearance_mm - main.unturned_mm > GAP_MM,
        causes=causes,
        disputed=disputed_codes(ink.artwork, ink.readings, rooms, is_joint),
    )


def _best_of(ink: LimitedInk, number: int, area: ImageArea, cancelled: Cancelling) -> Turned:
    # A tie must not be broken towards a placement that misses a fit by a hair.
    level_mm = ink.readings[number].outline.uncertainty_mm
    return best_turn(ink.alone(number, area), ink.limits.angles, cancelled, level_mm)


def _no_worse_than_rounded(ink: LimitedInk, problem: ShiftProblem, best: Turned) -> Turned:
    """The best, or the settable placement beside it where that is better.

    Both bounds of a search end within the last digits of each other. Where artwork just
    touches, whole numbers may be on the better side of them.
    """
    placement, clearance_mm = rounded_placement(ink, problem, best.turn_deg)
    if clearance_mm <= best.clearance_mm:
        return best
    shift = ink.shift_of(placement.center_mm, placement.turn_deg)
    upper_mm = max(best.clearance_mm + best.gap_mm, clearance_mm)
    return replace(
        best,
        turn_deg=placement.turn_deg,
        shift_mm=shift,
        clearance_mm=clearance_mm,
        gap_mm=upper_mm - clearance_mm,
    )


def _rooms(
    ink: LimitedInk, cup: Cup, found: list[Turned], cancelled: Cancelling
) -> tuple[Room, ...]:
    hard_area = image_area(cup, ink.limits, hard=True)
    rooms = []
    for number, best in enumerate(found):
        hard = best_turn(
            ink.alone(number, hard_area),
            ink.limits.angles,
            cancelled,
            ink.readings[number].outline.uncertainty_mm,
        )
        # Margins only take away, so the hard edges are never nearer than the area.
        hard_mm = max(hard.clearance_mm, best.clearance_mm)
        rooms.append(Room(best.clearance_mm, hard_mm, max(best.gap_mm, hard.gap_mm)))
    return tuple(rooms)


def _together(
    ink: LimitedInk, area: ImageArea, found: list[Turned], cancelled: Cancelling
) -> Turned | None:
    """One placement for every reading, grown by its uncertainty; None where none can be."""
    if not ink.is_known:
        return None
    known = [reading.outline.uncertainty_mm for reading in ink.readings]
    if any(best.clearance_mm + best.gap_mm < u for best, u in zip(found, known, strict=True)):
        return None
    if len(found) == 1:
        only = found[0]
        return replace(
            only,
            clearance_mm=only.clearance_mm - known[0],
            unturned_mm=only.unturned_mm - known[0],
        )
    problem = ink.together(area)
    best = best_turn(problem, ink.limits.angles, cancelled, 0.0)
    return _no_worse_than_rounded(ink, problem, best)


def _best_placement(
    ink: LimitedInk, area: ImageArea, main: Turned, joint: Turned | None, verdict: Verdict
) -> BestPlacement:
    """The main reading's best, unless it fits only where all readings are placed together."""
    problem = ink.alone(0, area)
    use, clearance_mm = main, main.clearance_mm
    if verdict is Verdict.FITS and joint is not None and len(ink.readings) > 1:
        use = joint
        turn_rad = math.radians(joint.turn_deg)
        clearance_mm = clearance_at(problem, turn_rad, joint.shift_mm)[0]
    center_mm = ink.center_of(use.shift_mm, use.turn_deg)
    gap_mm = max(0.0, main.clearance_mm + main.gap_mm - clearance_mm)
    settable = _settable(ink, area, use, Placement(center_mm, use.turn_deg), verdict)
    return BestPlacement(center_mm, use.turn_deg, clearance_mm, gap_mm, settable)


def _settable(
    ink: LimitedInk, area: ImageArea, use: Turned, exact: Placement, verdict: Verdict
) -> Settable:
    problem = ink.together(area) if ink.is_known else ink.alone(0, area)
    placement, joint_mm = rounded_placement(ink, problem, use.turn_deg)
    if verdict is Verdict.FITS and joint_mm < 0:
        # Rounding to what can be set would lose a fit by less than a step: keep it exact.
        placement = exact
    shift = ink.shift_of(placement.center_mm, placement.turn_deg)
    turn_rad = math.radians(placement.turn_deg)
    clearance_mm = clearance_at(ink.alone(0, area), turn_rad, shift)[0]
    return Settable(placement.center_mm, placement.turn_deg, clearance_mm)


def _scales(
    ink: LimitedInk, area: ImageArea, turn_deg: float, cancelled: Cancelling
) -> tuple[float | None, float, float | None]:
    """The greatest scale and its turn, and the greatest at turn 0."""
    if unconditional_blocks(ink.artwork) or not ink.is_known:
        return None, 0.0, None
    unturned = scale_at(ink, area, 0.0)
    found = largest_scale_anyhow(ink, area, turn_deg, cancelled)
    if found is None or (unturned is not None and unturned >= found[0] - _SAME_SCALE):
        return unturned, 0.0, unturned
    return found[0], found[1], unturned


def _limits(ink: LimitedInk, area: ImageArea, main: Turned) -> tuple[Limit, ...]:
    datum = np.array(ink.datum_mm)
    found = []
    for part, _, x, y in main.contacts:
        at = datum + np.array((x, y))
        found.append(Limit((float(at[0]), float(at[1])), area.parts[part].name))
    return tuple(found)
