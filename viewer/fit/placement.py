"""The placement on screen: judged as it stands, quickly enough for every motion event."""

from __future__ import annotations

import math

from viewer.artwork.model import Artwork
from viewer.errors import UsageError
from viewer.fit.area import image_area
from viewer.fit.model import Limit, PlacedFit, Placement
from viewer.fit.problems import LimitedInk, limited_ink
from viewer.fit.readings import Room, judge_readings, readings_of
from viewer.fit.round_cup import round_room
from viewer.fit.settable import is_allowed
from viewer.fit.shift import group_clearance
from viewer.fit.verdict import Verdict
from viewer.press import DEFAULT_SETUP_TOLERANCE_MM, Cup, PressLimits

NOT_ALLOWED = "the press cannot take this placement: hold, datum or angles forbid it"


def place(
    artwork: Artwork,
    cup: Cup,
    placement: Placement,
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM,
    limits: PressLimits | None = None,
) -> PlacedFit:
    """Judge ``artwork`` as placed. Every reading must fit at this same placement.

    A placement that hold, datum or angles forbid is never said to fit. Raises
    ArtworkError for artwork without ink, UsageError for a placement that is not a place.
    """
    limits = PressLimits() if limits is None else limits
    if not all(math.isfinite(value) for value in (*placement.center_mm, placement.turn_deg)):
        raise UsageError("the placement must be given in plain numbers")
    if limits.is_cup_alone:
        readings = readings_of(artwork)
        reached = [reading.reach_mm(placement.center_mm) for reading in readings]
        rooms = tuple(round_room(cup, reach_mm) for reach_mm, _ in reached)
        tightest = Limit(reached[0][1])
        ink = LimitedInk(artwork, readings, limits, placement.center_mm)
    else:
        ink = limited_ink(artwork, limits)
        readings = ink.readings
        rooms, tightest = _rooms(ink, cup, placement)
    verdict, causes = judge_readings(artwork, readings, rooms)
    allowed = is_allowed(ink, placement)
    if verdict is Verdict.FITS and not allowed:
        verdict, causes = Verdict.TOO_CLOSE, (NOT_ALLOWED,)
    return PlacedFit(
        verdict=verdict,
        tight=verdict is Verdict.FITS and rooms[0].clearance_mm < setup_tolerance_mm,
        clearance_mm=rooms[0].clearance_mm,
        hard_clearance_mm=rooms[0].hard_clearance_mm,
        tightest=tightest,
        causes=causes,
        is_allowed=allowed,
    )


def _rooms(ink: LimitedInk, cup: Cup, placement: Placement) -> tuple[tuple[Room, ...], Limit]:
    """What each reading has at a placement, and where the main one is tightest."""
    turn_rad = math.radians(placement.turn_deg)
    shift = ink.shift_of(placement.center_mm, placement.turn_deg)
    area, hard_area = (image_area(cup, ink.limits, hard=hard) for hard in (False, True))
    rooms, limits = [], []
    for number, reading in enumerate(ink.readings):
        # As when all readings are placed together: the same page point under the center.
        at = (shift[0] * reading.ratio, shift[1] * reading.ratio)
        group = ink.group(number)
        clearance_mm, part, point = group_clearance(group, area, turn_rad, at)
        hard_mm = group_clearance(group, hard_area, turn_rad, at)[0]
        rooms.append(Room(clearance_mm, hard_mm))
        x, y = reading.outline.hull_mm[point]
        limits.append(Limit((float(x), float(y)), area.parts[part].name))
    return tuple(rooms), limits[0]
