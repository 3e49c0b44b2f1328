"""The greatest scale at which artwork fits: at one angle, and at the best one."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from viewer.artwork.model import Artwork
from viewer.fit import cuts as c
from viewer.fit.area import ImageArea, image_area
from viewer.fit.problems import LimitedInk, limited_ink
from viewer.fit.readings import unconditional_blocks
from viewer.fit.shift import best_shifts
from viewer.fit.turn import best_turn
from viewer.press import Cup, PressLimits

_SETTLED_MM = 1e-9
_BETTER_MM = 0.002
_MOST_STEPS = 60
_MOST_TURNS = 8
_NUDGE = 1.0 - 2.0**-44


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
    turn_deg = first_turn_deg
    best = scale_at(ink, area, turn_deg)
    if best is None:
        # However small, it does not fit at that angle; shrunk to a point every angle is alike.
        return None
    for _ in range(_MOST_TURNS):
        found = best_turn(ink.together(area, best), ink.limits.angles, cancelled)
        if found.clearance_mm <= _BETTER_MM:
            break
        larger = scale_at(ink, area, found.turn_deg)
        if larger is None or larger <= best:
            break
        best, turn_deg = larger, found.turn_deg
    return best, turn_deg


def scale_at(ink: LimitedInk, area: ImageArea, turn_deg: float) -> float | None:
    """The greatest factor at which every reading fits at one angle, at its best shift.

    At one angle the clearance is a concave function of the scale, and the cuts that
    settle one scale bound it linearly: Newton's steps come down from above and never
    pass the answer. None where no scale fits, or any does.
    """
    turn = np.array([math.radians(turn_deg)])
    scale = _scale_of_cap(ink, area)
    for _ in range(_MOST_STEPS):
        if scale is None or not math.isfinite(scale) or scale <= 0:
            return None
        found = best_shifts(ink.together(area, scale), turn, _SETTLED_MM / 10)
        if found.clearance_mm[0] >= 0:
            return scale
        if found.upper_mm[0] >= -_SETTLED_MM:
            scale *= _NUDGE
            continue
        scale = min(_newton(ink, found.basis, turn, scale), scale * _NUDGE)
    return None


def largest_scale_at(
    artwork: Artwork, cup: Cup, turn_deg: float, limits: PressLimits | None = None
) -> float | None:
    """The greatest factor at which the artwork fits a cup at one angle, at its best shift.

    None where none does, where something forbids to say "fits" at all, or where any does.
    """
    limits = PressLimits() if limits is None else limits
    ink = limited_ink(artwork, limits)
    is_known = all(math.isfinite(r.outline.uncertainty_mm) for r in ink.readings)
    if unconditional_blocks(artwork) or not is_known:
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


def _newton(ink: LimitedInk, basis: c.Cuts, turn_rad: c.Values, scale: float) -> float:
    """Where the line through the present bound, falling with the scale, meets zero."""
    weight = np.maximum(c.inverse_of(basis)[2, 0], 0.0)
    cut = basis[:, 0]
    cos, sin = math.cos(float(turn_rad[0])), math.sin(float(turn_rad[0]))
    x = cos * cut[c.PX] + sin * cut[c.PY]
    y = cos * cut[c.PY] - sin * cut[c.PX]
    reached = (cut[c.NX] * x + cut[c.NY] * y) / scale
    is_ink = cut[c.PART] >= 0
    uncertain = np.array(
        [
            ink.readings[int(g)].outline.uncertainty_mm if tangent else 0.0
            for g, tangent in zip(cut[c.GROUP], is_ink, strict=True)
        ]
    )
    # The uncertainty counts as at scale 1 below it, and grows with the scale above.
    grown = uncertain if scale > 1.0 else np.zeros(3)
    slope = float((weight * (reached + grown)).sum())
    # A bend at scale 1, where the line gets less steep, only makes the step too short.
    value = float((weight * cut[c.BETA]).sum())
    return scale + value / slope if slope > 0 else 0.0
