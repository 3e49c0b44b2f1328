"""Colors of the window, dark and light, chosen at run time; and the contrast of two.

Other modules say ``theme.TEXT`` when they draw and never import a color by its name:
a color imported by name would stay that of the theme the program began with.

The accent colors are Okabe and Ito's, which people with any kind of color
vision tell apart; they are lightened or darkened until the contrast with what is
behind them is 4.5:1 for letters and 3:1 for marks (WCAG 2.2, 1.4.3 and 1.4.11). No
color carries meaning alone: a word, a sign or a pattern always says the same.
"""

from __future__ import annotations

Rgb = tuple[int, int, int]

DARK, LIGHT = "dark", "light"

# The same in both: the page is paper, and what lies on it is seen on paper.
PAGE: Rgb = (0xF7, 0xF5, 0xF0)
GRID: Rgb = (0xE4, 0xDF, 0xD4)
MARGIN_BAND: Rgb = (0xFF, 0xC4, 0x4D)
INK_LINE: Rgb = (0x1A, 0x2A, 0x3E)
RING: Rgb = (0xA9, 0xB3, 0xBE)
RING_EDGE: Rgb = (0x1F, 0x23, 0x29)
AMBER: Rgb = (0xE6, 0x9F, 0x00)
VERMILION: Rgb = (0xD5, 0x5E, 0x00)
"""The hatch of ink in the margin, and of ink outside."""
LIFT: Rgb = (0xFF, 0xFF, 0xFF)
"""Fill of the knob, of points and of the cross's halo: light on any ink, edged dark."""

WINDOW: Rgb = (0x23, 0x26, 0x2E)
BENCH: Rgb = (0x34, 0x3A, 0x42)
PAGE_SHADOW: Rgb = (0x22, 0x25, 0x2A)
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
SCROLL: Rgb = (0x80, 0x89, 0x96)
BAR_TRACK: Rgb = (0x1C, 0x1F, 0x25)
FIELD: Rgb = (0x1B, 0x1D, 0x21)
FIELD_EDGE: Rgb = (0x78, 0x80, 0x8C)
SELECTION: Rgb = (0x1F, 0x4F, 0x78)
BUTTON: Rgb = (0x42, 0x49, 0x53)
BUTTON_MAIN: Rgb = (0x24, 0x6B, 0xA3)

TEXT: Rgb = (0xF4, 0xF5, 0xF7)
TEXT_SOFT: Rgb = (0xC2, 0xC8, 0xD0)
TEXT_DIM: Rgb = (0xA6, 0xAD, 0xB7)
TEXT_ON_MAIN: Rgb = (0xF4, 0xF5, 0xF7)
TEXT_OFF: Rgb = (0xB9, 0xBF, 0xC7)
"""On a button that can do nothing now."""

SKY: Rgb = (0x56, 0xB4, 0xE9)
ORANGE: Rgb = (0xE6, 0x9F, 0x00)
FOCUS: Rgb = (0xF0, 0xE4, 0x42)
LIMIT: Rgb = (0x33, 0x8A, 0xC8)
"""The circle of the largest image: 3:1 on the page and on the bench."""
DASH_ON_BENCH: Rgb = (0xB4, 0xBE, 0xCA)
OTHER: Rgb = (0xC0, 0x6C, 0x99)
"""Outlines of other readings: 3:1 on the page and on the bench."""
OTHER_TEXT: Rgb = (0xE3, 0xA0, 0xC8)
PAD: Rgb = (0x00, 0x9E, 0x73)
ETCH: Rgb = (0x7F, 0x7F, 0xE4)
"""Outlines of pad and etch area: 3:1 on the page and on the bench."""
PAD_TEXT: Rgb = (0x5F, 0xD0, 0xAC)
ETCH_TEXT: Rgb = (0xB4, 0xB4, 0xF4)
MARK: Rgb = (0x80, 0x8B, 0x9A)
"""Dotted circles and the travel arrow: 3:1 on the page and on the bench."""
PILL: Rgb = (0x2E, 0x33, 0x3B)
CALLOUT: Rgb = (0x20, 0x23, 0x2A)
CALLOUT_EDGE: Rgb = (0x20, 0x23, 0x2A)

VERDICT_TEXT: dict[str, Rgb] = {
    "fits": (0x7C, 0xC8, 0xF2),
    "in-margin": (0xF5, 0xB3, 0x1E),
    "outside": (0xFF, 0x92, 0x55),
    "too-close": (0xE9, 0xDF, 0x86),
}
VERDICT_BAR: dict[str, Rgb] = {
    "fits": (0x56, 0xB4, 0xE9),
    "in-margin": (0xE6, 0x9F, 0x00),
    "outside": (0xE8, 0x6C, 0x10),
    "too-close": (0xF0, 0xE4, 0x42),
}

_LIGHT: dict[str, Rgb | dict[str, Rgb]] = {
    "WINDOW": (0xE2, 0xE5, 0xE9),
    "BENCH": (0xC8, 0xCE, 0xD5),
    "PAGE_SHADOW": (0xA9, 0xB1, 0xBA),
    "RULER": (0xEE, 0xF0, 0xF3),
    "RULER_TICK": (0x6A, 0x73, 0x80),
    "STRIP": (0xF4, 0xF6, 0xF8),
    "CURVE": (0x4A, 0x54, 0x62),
    "CURVE_GRID": (0xDF, 0xE3, 0xE8),
    "FORBIDDEN": (0xC6, 0xCC, 0xD4),
    "CARD": (0xF7, 0xF8, 0xFA),
    "CARD_ROW": (0xDD, 0xE7, 0xF1),
    "TRACK": (0xC3, 0xC9, 0xD1),
    "SCROLL": (0x74, 0x7D, 0x8A),
    "BAR_TRACK": (0xD9, 0xDE, 0xE4),
    "FIELD": (0xFF, 0xFF, 0xFF),
    "FIELD_EDGE": (0x80, 0x88, 0x94),
    "SELECTION": (0xB5, 0xD7, 0xF2),
    "BUTTON": (0xDC, 0xE1, 0xE7),
    "BUTTON_MAIN": (0x93, 0xC7, 0xEF),
    "TEXT": (0x1A, 0x1E, 0x25),
    "TEXT_SOFT": (0x3D, 0x45, 0x50),
    "TEXT_DIM": (0x51, 0x5A, 0x66),
    "TEXT_ON_MAIN": (0x1A, 0x1E, 0x25),
    "TEXT_OFF": (0x56, 0x5F, 0x6B),
    "SKY": (0x16, 0x72, 0xB0),
    "ORANGE": (0x9A, 0x62, 0x00),
    "FOCUS": (0x0B, 0x3D, 0x91),
    "LIMIT": (0x17, 0x69, 0xA8),
    "DASH_ON_BENCH": (0x46, 0x52, 0x60),
    "OTHER": (0x9A, 0x3C, 0x70),
    "OTHER_TEXT": (0x86, 0x2C, 0x60),
    "PAD": (0x00, 0x6E, 0x50),
    "ETCH": (0x55, 0x55, 0xC4),
    "PAD_TEXT": (0x00, 0x5C, 0x43),
    "ETCH_TEXT": (0x40, 0x40, 0xB0),
    "MARK": (0x5C, 0x67, 0x76),
    "PILL": (0xDA, 0xE0, 0xE7),
    "CALLOUT": (0xFB, 0xFC, 0xFD),
    "CALLOUT_EDGE": (0x5C, 0x67, 0x76),
    "VERDICT_TEXT": {
        "fits": (0x00, 0x56, 0x8F),
        "in-margin": (0x7A, 0x4E, 0x00),
        "outside": (0xA8, 0x38, 0x00),
        "too-close": (0x66, 0x58, 0x00),
    },
    "VERDICT_BAR": {
        "fits": (0x16, 0x72, 0xB0),
        "in-margin": (0x9A, 0x64, 0x00),
        "outside": (0xB8, 0x45, 0x00),
        "too-close": (0x7A, 0x6B, 0x00),
    },
}
_DARK: dict[str, Rgb | dict[str, Rgb]] = {name: globals()[name] for name in _LIGHT}
PALETTES = {DARK: _DARK, LIGHT: _LIGHT}
"""What each theme changes, by the names above."""

VERDICT_WORD: dict[str, str] = {
    "fits": "fits",
    "in-margin": "in the margin",
    "outside": "outside",
    "too-close": "too close to call",
}

MINUS = "\u2212"


def use(name: str) -> None:
    """Draw with the colors of a theme from now on: ``"dark"`` or ``"light"``.

    One thread draws, and it says this at the beginning of every frame.
    """
    globals().update(PALETTES[name])


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
