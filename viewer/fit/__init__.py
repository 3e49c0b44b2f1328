"""Does it fit? Pure functions on values: clearances, verdicts, placements, advice."""

from __future__ import annotations

from viewer.fit.advice import scale_percent, verdict_words
from viewer.fit.fit import BestPlacement, CupFit, Fit, fit_artwork
from viewer.fit.placement import (
    DEFAULT_SETUP_TOLERANCE_MM,
    Limit,
    PlacedFit,
    Placement,
    place,
)
from viewer.fit.verdict import Verdict, combine, judge

__all__ = [
    "DEFAULT_SETUP_TOLERANCE_MM",
    "BestPlacement",
    "CupFit",
    "Fit",
    "Limit",
    "PlacedFit",
    "Placement",
    "Verdict",
    "combine",
    "fit_artwork",
    "judge",
    "place",
    "scale_percent",
    "verdict_words",
]
