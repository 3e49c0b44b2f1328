"""Where a dragged cup or knob snaps to: sums only."""

from __future__ import annotations

import math

from viewer.fit import Placement, wrapped_deg
from viewer.screen import model
from viewer.screen.model import Session
from viewer.screen.tools import Sign

SNAP_PX = 7
SNAP_DEG = 1.5
ANGLE_STEP_DEG = 15
_SAME_MM = 0.011
_SAME_DEG = 0.05


def targets(session: Session) -> tuple[Sign, ...]:
    """Page points that a cup's center snaps to, each with its name."""
    circle = session.fit.smallest_circle.center
    width, height = session.artwork.page_mm
    found = [
        Sign("centre of the smallest circle", (float(circle[0]), float(circle[1]))),
        Sign("datum", session.datum_mm),
        Sign("centre of the page", (width / 2, height / 2)),
    ]
    return tuple(found)


def snapped_center(session: Session, reach_mm: float) -> tuple[Session, Sign | None]:
    """A session whose cup is near a target with the cup on it, and the sign for it.

    ``reach_mm``: how near is near. Where the hold does not let the cup onto a target that
    one is none.
    """
    center = session.placement.center_mm
    near = []
    for sign in targets(session):
        assert sign.at_mm is not None
        gone = math.dist(center, sign.at_mm)
        if gone <= reach_mm:
            near.append((gone, sign))
    for _, sign in sorted(near, key=lambda one: one[0]):
        assert sign.at_mm is not None
        there = model.with_center(session, sign.at_mm)
        if math.dist(there.placement.center_mm, sign.at_mm) <= _SAME_MM:
            return there, sign
    return session, None


def snapped_turn(session: Session, turn_deg: float) -> tuple[float, Sign | None]:
    """The angle snapped to the nearest multiple of 15 degrees, where the press turns so far."""
    nearest = wrapped_deg(round(turn_deg / ANGLE_STEP_DEG) * ANGLE_STEP_DEG)
    if abs(wrapped_deg(turn_deg - nearest)) > SNAP_DEG:
        return turn_deg, None
    there = model.with_placement(session, session.placement.center_mm, nearest)
    if abs(wrapped_deg(there.placement.turn_deg - nearest)) > _SAME_DEG:
        return turn_deg, None
    return nearest, Sign(f"{nearest:g}\u00b0".replace("-", "\u2212"))


def is_same_place(one: Placement, two: Placement) -> bool:
    """Whether two placements are the same as far as they can be set."""
    return (
        math.dist(one.center_mm, two.center_mm) <= _SAME_MM
        and abs(wrapped_deg(one.turn_deg - two.turn_deg)) <= _SAME_DEG
    )
