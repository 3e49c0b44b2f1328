"""Presses as data: cups, rings and margins."""

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

__all__ = [
    "DEFAULT_MARGIN",
    "DEFAULT_RING_WIDTH_MM",
    "EXAMPLE_CUPS",
    "Cup",
    "Margin",
    "NamedBy",
    "parse_cups",
    "sort_cups",
]
