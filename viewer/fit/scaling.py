"""The greatest scale at which artwork fits: at one angle, and at the best one."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from viewer.artwork.model import Artwork
from viewer.fit import cuts as c
from viewer.fit.area import ImageArea, image_area
from viewer.fit.problems import LimitedInk, limited_ink
from viewer.fit.readings import unconditional_blocks
from viewer.fit.shift import InkGroup, best_shifts, first_basis, look_at, settle, shift_problem
from viewer.fit.turn import better_angle, first_turns
from viewer.press import Cup, PressLimits

_FINEST_MM = 1e-10
_SETTLED_MM = 1e-9
_BETTER_MM = 0.002
_MOST_STEPS = 60
_MOST_TURNS = 8


def largest_scale_anyhow(
    ink: LimitedInk,
    area: ImageArea,
    first_turn_deg: float,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[float, float] | None:
    """The greatest factor at which every reading fits at one allowed placement, and its angle.

    Begins at ``first_turn_deg``; looks for an angle with room left at the greatest scale
    so far, until none has more than 0.002 mm. None where no scale fits, or any does.
    """
    best, turn_deg = _first_scale(ink, area, first_turn_deg)
    if best is None:
        return None
    for _ in range(_MOST_TURNS):
        better = better_angle(ink.together(area, best), ink.limits.angles, _BETTER_MM, cancelled)
        larger = None if better is None else scale_at(ink, area, better)
        if better is None or larger is None or larger <= best:
            break
        best, turn_deg = larger, better
    return best, turn_deg


def _first_scale(ink: LimitedInk, area: ImageArea, turn_deg: float) -> tuple[float | None, float]:
    """A scale to begin with, and its angle.

    Shrunk, the ink comes to the datum. Where that may lie in the image area any angle will
    do; where it may not, an angle that is best for the whole can be hopeless for the
    smaller, and many are tried.
    """
    found = scale_at(ink, area, turn_deg)
    dot = shift_problem([InkGroup(np.zeros((1, 2)))], area, ink.limits.hold.reach_mm)
    if best_shifts(dot, np.zeros(1), _SETTLED_MM).clearance_mm[0] >= 0:
        return found, turn_deg
    best, at = (-math.inf, turn_deg) if found is None else (found, turn_deg)
    turns, _ = first_turns(ink.limits.angles)
    for other in np.degrees(turns):
        scale = scale_at(ink, area, float(other))
        if scale is not None and scale > best:
            best, at = scale, float(other)
    return (best if best > 0 else None), at


def scale_at(ink: LimitedInk, area: ImageArea, turn_deg: float) -> float | None:
    """The greatest factor at which every reading fits at one angle, at its best shift.

    The same exchange of three cuts as for the best shift, with the scale in the place of
    the clearance: at scale k an ink point p needs ``g.d + k n.p <= reach``. The bound
    comes down from above and never passes the answer. None where no scale fits, or any does.
    """
    turn = np.array([math.radians(turn_deg)])
    known = [reading.outline.uncertainty_mm for reading in ink.readings]
    scale = _scale_of_cap(ink, area)
    if scale is None or scale <= 0:
        return None
    problem = ink.together(area, scale)
    basis = _in_scale(first_basis(problem, turn), scale, turn, known)
    for _ in range(_MOST_STEPS):
        dx, dy, bound = (float(v) for v in c.corner_of(basis, c.inverse_of(basis))[:, 0])
        if not math.isfinite(bound) or bound <= 0:
            return None
        if bound < scale:
            scale, problem = bound, ink.together(area, bound)
        across, along = problem.reach_mm
        shift = (max(-across, min(across, dx)), max(-along, min(along, dy)))
        room_mm, offered = look_at(problem, turn, shift)
        if room_mm >= -_SETTLED_MM:
            break
        before = basis.copy()
        settle(basis, [_in_scale(cut, scale, turn, known) for cut in offered])
        if np.array_equal(before, basis):
            # A cut that is violated and can take no other's place: no scale satisfies all.
            return None
    return _surely_fitting(ink, area, turn, scale)


def _surely_fitting(ink: LimitedInk, area: ImageArea, turn: c.Values, scale: float) -> float | None:
    """The scale, less what the last digits need for a true fit."""
    step = 2.0**-46
    while scale > 0 and step < 1e-3:
        found = best_shifts(ink.together(area, scale), turn, _FINEST_MM)
        if found.clearance_mm[0] >= 0:
            return scale
        scale *= 1.0 - step
        step *= 4.0
    return None


def _in_scale(cut: c.Cuts, scale: float, turn: c.Values, known: Sequence[float]) -> c.Cuts:
    """Cuts of artwork at a scale as limits of the scale itself.

    The uncertainty counts as at scale 1 below it, and grows with the scale above; both
    lines hold everywhere, the one that is tight at ``scale`` is used.
    """
    turned = cut.copy()
    cos, sin = math.cos(float(turn[0])), math.sin(float(turn[0]))
    reached = c.reached(cut[c.NX], cut[c.NY], cut[c.PX], cut[c.PY], cos, sin)
    is_ink = cut[c.PART] >= 0
    uncertain = np.array(known)[cut[c.GROUP].astype(int)] if scale > 1.0 else 0.0
    per_scale = reached / scale + uncertain
    turned[c.SIGMA] = np.where(is_ink, per_scale, 0.0)
    turned[c.BETA] = np.where(is_ink, cut[c.REACH] + uncertain * scale, cut[c.BETA])
    return turned


def largest_scale_at(
    artwork: Artwork, cup: Cup, turn_deg: float, limits: PressLimits | None = None
) -> float | None:
    """The greatest factor at which the artwork fits a cup at one angle, at its best shift.

    None where none does, where something forbids to say "fits" at all, or where any does.
    """
    limits = PressLimits() if limits is None else limits
    ink = limited_ink(artwork, limits)
    if unconditional_blocks(artwork) or not ink.is_known:
        return None
    return scale_at(ink, image_area(cup, limits), turn_deg)


def _scale_of_cap(ink: LimitedInk, area: ImageArea) -> float | None:
    """Above the answer: what the cup alone takes of the main reading."""
    circle = ink.alone(0, area).circle
    grow_mm = ink.readings[0].outline.uncertainty_mm
    radius_mm = area.disc_radius_mm
    if not math.isfinite(grow_mm) or circle.radius <= 0:
        return None
    return max(radius_mm / (circle.radius + grow_mm), (radius_mm - grow_mm) / circle.radius)
