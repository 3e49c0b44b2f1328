"""What is paper: found from the border of the page unless a person says it."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.ink import WHITE_FROM
from viewer.artwork.model import InkRule, LoadOptions
from viewer.errors import UsageError

NEAR_WHITE_FROM = 235
"""A border this light in every channel is taken for white paper."""
_VECTOR_TOLERANCE = 0
"""A drawn paper is one exact color; a dot of 0.02 mm may change a coarse pixel by 1."""
_LOSSLESS_TOLERANCE = 6
_LOSSY_TOLERANCE = 40
_OPAQUE_SHARE = 0.5


@dataclass(frozen=True)
class PaperChoice:
    """The rule to measure by, its name, and what else it could have been.

    ``other`` is the rule of the second reading when the border alone cannot tell
    colored paper from a full-bleed picture.
    """

    rule: InkRule
    name: str
    other: InkRule | None = None


def choose_paper(
    border: NDArray[np.uint8], options: LoadOptions, *, kind: str, lossy: bool = False
) -> PaperChoice:
    """``border`` is (k, 4) straight RGBA along the page's edge."""
    tolerance = _VECTOR_TOLERANCE if kind == "vector" else _LOSSLESS_TOLERANCE
    if lossy:
        tolerance = _LOSSY_TOLERANCE
    white_is_ink = options.white != "paper"
    asked = options.paper
    if asked == "transparent":
        return PaperChoice(InkRule(None, 0, white_is_ink), "transparent")
    if asked not in (None, "border"):
        color = parse_color(str(asked))
        return PaperChoice(InkRule(color, tolerance, white_is_ink), _hex(color))
    opaque = border[border[:, 3] >= 250] if len(border) else border
    if len(border) == 0 or len(opaque) < _OPAQUE_SHARE * len(border):
        if asked == "border":
            raise UsageError("--paper border: the page's border is transparent; leave it out")
        return PaperChoice(InkRule(None, 0, white_is_ink), "transparent")
    color = _commonest(opaque[:, :3])
    if kind != "vector" and min(color) >= WHITE_FROM:
        color = 255, 255, 255
    paper = InkRule(color, tolerance, white_is_ink)
    if asked == "border" or min(color) >= NEAR_WHITE_FROM:
        return PaperChoice(paper, _hex(color))
    return PaperChoice(InkRule(None, 0, True), "none: a coloured page border counts as ink", paper)


def parse_color(text: str) -> tuple[int, int, int]:
    """``#rrggbb`` to numbers. Raises UsageError."""
    match = re.fullmatch(r"#?([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})", text.strip())
    if not match:
        raise UsageError(f"--paper {text!r}: give transparent, border, or a colour like #f4f1e8")
    r, g, b = (int(part, 16) for part in match.groups())
    return r, g, b


def _commonest(rgb: NDArray[np.uint8]) -> tuple[int, int, int]:
    """Median color of the largest group of alike border pixels."""
    keys = (rgb >> 4).astype(np.int32) @ np.array([256, 16, 1])
    values, counts = np.unique(keys, return_counts=True)
    group = rgb[keys == values[np.argmax(counts)]]
    near = rgb[(np.abs(rgb.astype(int) - np.median(group, axis=0)) <= 24).all(axis=1)]
    r, g, b = (int(v) for v in np.median(near, axis=0))
    return r, g, b


def _hex(color: tuple[int, int, int]) -> str:
    name = "#{:02x}{:02x}{:02x}".format(*color)
    return f"white ({name})" if min(color) >= NEAR_WHITE_FROM else name
