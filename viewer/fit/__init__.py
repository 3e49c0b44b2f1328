"""Does it fit? Pure functions on values: clearances, verdicts, placements, angles, advice."""

from __future__ import annotations

from viewer.fit.advice import scale_percent, verdict_words
from viewer.fit.curve import AngleCurve, angle_curve
from viewer.fit.deciding import circle_points, deciding_points, is_best_placement
from viewer.fit.fit import fit_artwork
from viewer.fit.model import (
    BestPlacement,
    CupFit,
    Fit,
    Limit,
    PlacedFit,
    Placement,
    Settable,
)
from viewer.fit.moving_in import PointMove
from viewer.fit.placement import place
from viewer.fit.problems import datum_point
from viewer.fit.scaling import largest_scale_at
from viewer.fit.settable import nearest_turn, settled, wrapped_deg
from viewer.fit.turn import is_turn_allowed
from viewer.fit.verdict import Verdict, combine, judge
from viewer.fit.ways_out import WayKind, WayOut, WaysOut, WaysState, ways_out
from viewer.press import DEFAULT_SETUP_TOLERANCE_MM

__all__ = [
    "DEFAULT_SETUP_TOLERANCE_MM",
    "AngleCurve",
    "BestPlacement",
    "CupFit",
    "Fit",
    "Limit",
    "PlacedFit",
    "Placement",
    "PointMove",
    "Settable",
    "Verdict",
    "WayKind",
    "WayOut",
    "WaysOut",
    "WaysState",
    "angle_curve",
    "circle_points",
    "combine",
    "datum_point",
    "deciding_points",
    "fit_artwork",
    "is_best_placement",
    "is_turn_allowed",
    "judge",
    "largest_scale_at",
    "nearest_turn",
    "place",
    "scale_percent",
    "settled",
    "verdict_words",
    "ways_out",
    "wrapped_deg",
]
