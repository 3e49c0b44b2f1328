"""The ink points that decide, in the one order that gives them their numbers everywhere."""

from __future__ import annotations

import math

import numpy as np

from viewer.fit.model import CupFit, Fit, Limit, Placement

_SAME_DEG = 1e-6
"""An angle this little before the top counts as the top."""


def is_best_placement(cup_fit: CupFit, placement: Placement) -> bool:
    """Whether a placement is the best one of a cup, exactly or in steps that can be set."""
    best = cup_fit.best
    return placement in (best.settable.placement, Placement(best.center_mm, best.turn_deg))


def deciding_points(fit: Fit, cup_fit: CupFit, placement: Placement) -> tuple[Limit, ...]:
    """What touches at the best placement, else the points of the smallest circle.

    Clockwise from the top of the artwork's own page, about the middle of that circle: so a
    point keeps its number however the artwork is turned.
    """
    if is_best_placement(cup_fit, placement) and cup_fit.limits:
        return clockwise(fit, cup_fit.limits)
    return circle_points(fit)


def circle_points(fit: Fit) -> tuple[Limit, ...]:
    """The points that the smallest circle stands on, in that order; of no part."""
    support = np.asarray(fit.smallest_circle.support)
    return clockwise(fit, tuple(Limit((float(x), float(y)), "") for x, y in support))


def clockwise(fit: Fit, limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    """Points in the order of their numbers, counted from 1."""
    center_x, center_y = fit.smallest_circle.center

    def key(limit: Limit) -> tuple[float, str]:
        x, y = limit.point_mm
        # Page y runs down: the top is at 0, the right at 90.
        angle_deg = math.degrees(math.atan2(x - center_x, center_y - y))
        return (angle_deg + _SAME_DEG) % 360.0, limit.part

    return tuple(sorted(limits, key=key))
