"""Presses as data: cups, rings, margins, pads, etch areas, and what may be shifted or turned."""

from __future__ import annotations

from viewer.press.cups import (
    DEFAULT_MARGIN,
    DEFAULT_RING_WIDTH_MM,
    EXAMPLE_CUPS,
    Cup,
    Margin,
    NamedBy,
    cup_name,
    parse_cups,
    sort_cups,
)
from viewer.press.limit_text import (
    angles_text,
    datum_text,
    etch_text,
    hold_text,
    is_pad_notation,
    pad_text,
    parse_angles,
    parse_datum,
    parse_degrees,
    parse_etch,
    parse_hold,
    parse_pad,
    parse_pair_mm,
    parse_size_mm,
)
from viewer.press.limits import Angles, Datum, EtchArea, Hold, Pad, PressLimits
from viewer.press.press import DEFAULT_SETUP_TOLERANCE_MM, Press, Travel
from viewer.press.press_file import load_press

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
    "angles_text",
    "cup_name",
    "datum_text",
    "etch_text",
    "hold_text",
    "is_pad_notation",
    "load_press",
    "pad_text",
    "parse_angles",
    "parse_cups",
    "parse_datum",
    "parse_degrees",
    "parse_etch",
    "parse_hold",
    "parse_pad",
    "parse_pair_mm",
    "parse_size_mm",
    "sort_cups",
]
