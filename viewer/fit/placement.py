"""The placement on screen: judged as it stands, quickly enough for every motion event."""

from __future__ import annotations

import math
from dataclasses import dataclass

from viewer.artwork.model import Artwork
from viewer.errors import UsageError
from viewer.fit.readings import judge_readings, readings_of
from viewer.fit.verdict import Verdict
from viewer.press import Cup

DEFAULT_SETUP_TOLERANCE_MM = 0.5
"""How far a set-up may shift the artwork; from memory, a shop should put in its own."""


@dataclass(frozen=True)
class Placement:
    """The page point under the cup's center, and the artwork's turn against the press.

    Degrees, counter-clockwise as seen. With a round cup alone the turn changes nothing.
    """

    center_mm: tuple[float, float]
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Limit:
    """An ink point that decides, and the part of the image area that it decides against."""

    point_mm: tuple[float, float]
    part: str = "cup"


@dataclass(frozen=True)
class PlacedFit:
    """What holds for one placement. Clearances in mm, positive inside, of the main reading."""

    verdict: Verdict
    tight: bool
    clearance_mm: float
    hard_clearance_mm: float
    tightest: Limit
    causes: tuple[str, ...] = ()


def place(
    artwork: Artwork,
    cup: Cup,
    placement: Placement,
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM,
) -> PlacedFit:
    """Judge ``artwork`` as placed. Every reading must fit at this same placement.

    Raises ArtworkError for artwork without ink, UsageError for a placement that
    is not a place.
    """
    if not all(math.isfinite(value) for value in (*placement.center_mm, placement.turn_deg)):
        raise UsageError("the placement must be given in plain numbers")
    readings = readings_of(artwork)
    reached = [reading.reach_mm(placement.center_mm) for reading in readings]
    verdict, causes = judge_readings(
        artwork, readings, tuple(reach_mm for reach_mm, _ in reached), cup
    )
    reach_mm, point_mm = reached[0]
    clearance_mm = cup.max_image_diameter_mm / 2.0 - reach_mm
    return PlacedFit(
        verdict=verdict,
        tight=verdict is Verdict.FITS and clearance_mm < setup_tolerance_mm,
        clearance_mm=clearance_mm,
        hard_clearance_mm=cup.ring_inner_diameter_mm / 2.0 - reach_mm,
        tightest=Limit(point_mm),
        causes=causes,
    )
