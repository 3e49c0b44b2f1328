"""Presses as data: cups, rings, margins, pads, etch areas, and what may be shifted or turned."""

from __future__ import annotations

from viewer.press.cups import (
    DEFAULT_MARGIN,
    DEFAULT_RING_WIDTH_MM,
    EXAMPLE_CUPS,
    Cup,
    Margin,
    NamedBy,
    parse_cups,
    sort_cups,
)
from viewer.press.limits import Angles, Datum, EtchArea, Hold, Pad, PressLimits
from viewer.press.press import DEFAULT_SETUP_TOLERANCE_MM, Press, Travel

__all__ = [
    "DEFAULT_MARGIN",
    "DEFAULT_RING_WIDTH_MM",
    "DEFAULT_SETUP_TOLERANCE_MM",
    "EXAMPLE_CUPS",
    "Angles",
    "Cup",
    "Datum",
    "EtchArea",
    "Hold",
    "Margin",
    "NamedBy",
    "Pad",
    "Press",
    "PressLimits",
    "Travel",
    "parse_cups",
    "sort_cups",
]
