"""Colors and measures of the window.

The accent colors are Okabe and Ito's, which people with any kind of color
vision tell apart; where small text needs it they are lightened until the
contrast with a card is 4.5:1. No color carries meaning alone: a word, a sign or
a pattern always says the same.
"""

from __future__ import annotations

Rgb = tuple[int, int, int]

WINDOW: Rgb = (0x23, 0x26, 0x2E)
BENCH: Rgb = (0x34, 0x3A, 0x42)
PAGE: Rgb = (0xF7, 0xF5, 0xF0)
PAGE_SHADOW: Rgb = (0x22, 0x25, 0x2A)
GRID: Rgb = (0xE4, 0xDF, 0xD4)
RULER: Rgb = (0x1B, 0x1D, 0x21)
RULER_TICK: Rgb = (0x8D, 0x94, 0x9E)
STRIP: Rgb = (0x1B, 0x1D, 0x21)
CURVE: Rgb = (0xC2, 0xC8, 0xD0)
CURVE_GRID: Rgb = (0x2A, 0x2D, 0x34)
FORBIDDEN: Rgb = (0x3B, 0x40, 0x49)
"""Hatch over the angles that the press does not allow."""
CARD: Rgb = (0x2B, 0x2F, 0x37)
CARD_ROW: Rgb = (0x3A, 0x40, 0x4A)
TRACK: Rgb = (0x45, 0x4C, 0x57)
BAR_TRACK: Rgb = (0x1C, 0x1F, 0x25)
FIELD: Rgb = (0x1B, 0x1D, 0x21)
FIELD_EDGE: Rgb = (0x52, 0x59, 0x64)
BUTTON: Rgb = (0x42, 0x49, 0x53)
BUTTON_MAIN: Rgb = (0x24, 0x6B, 0xA3)

TEXT: Rgb = (0xF4, 0xF5, 0xF7)
TEXT_SOFT: Rgb = (0xC2, 0xC8, 0xD0)
TEXT_DIM: Rgb = (0xA6, 0xAD, 0xB7)

SKY: Rgb = (0x56, 0xB4, 0xE9)
ORANGE: Rgb = (0xE6, 0x9F, 0x00)
VERMILION: Rgb = (0xD5, 0x5E, 0x00)
DASH_ON_BENCH: Rgb = (0xB4, 0xBE, 0xCA)
OTHER: Rgb = (0xC0, 0x6C, 0x99)
"""Outlines of other readings: 3:1 on the page and on the bench."""
OTHER_TEXT: Rgb = (0xE3, 0xA0, 0xC8)
PAD: Rgb = (0x00, 0x9E, 0x73)
ETCH: Rgb = (0x7F, 0x7F, 0xE4)
"""Outlines of pad and etch area: 3:1 on the page and on the bench."""
PAD_TEXT: Rgb = (0x5F, 0xD0, 0xAC)
ETCH_TEXT: Rgb = (0xB4, 0xB4, 0xF4)
MARGIN_BAND: Rgb = (0xFF, 0xC4, 0x4D)
INK_LINE: Rgb = (0x1A, 0x2A, 0x3E)
RING: Rgb = (0xA9, 0xB3, 0xBE)
RING_EDGE: Rgb = (0x1F, 0x23, 0x29)
MARK: Rgb = (0x80, 0x8B, 0x9A)
"""Dotted circles and the travel arrow: 3:1 on the page and on the bench."""
PILL: Rgb = (0x2E, 0x33, 0x3B)
CALLOUT: Rgb = (0x20, 0x23, 0x2A)

VERDICT_TEXT: dict[str, Rgb] = {
    "fits": (0x7C, 0xC8, 0xF2),
    "in-margin": (0xF5, 0xB3, 0x1E),
    "outside": (0xFF, 0x92, 0x55),
    "too-close": (0xE9, 0xDF, 0x86),
}
VERDICT_BAR: dict[str, Rgb] = {
    "fits": SKY,
    "in-margin": ORANGE,
    "outside": (0xE8, 0x6C, 0x10),
    "too-close": (0xF0, 0xE4, 0x42),
}
VERDICT_WORD: dict[str, str] = {
    "fits": "fits",
    "in-margin": "in the margin",
    "outside": "outside",
    "too-close": "too close to call",
}

MINUS = "\u2212"


def ui_scale(width_px: int, height_px: int) -> float:
    """How large letters and cards are drawn; 1.0 at 1600 x 1000."""
    return max(0.9, min(3.0, width_px / 1600.0, height_px / 1000.0))


def contrast(a: Rgb, b: Rgb) -> float:
    """Contrast ratio of two colors by WCAG 2.2, from 1 to 21."""
    la, lb = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (la + 0.05) / (lb + 0.05)


def _luminance(color: Rgb) -> float:
    linear = []
    for value in color:
        c = value / 255.0
        linear.append(c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
