"""The text after an option, read into a plain value. Wrong text raises UsageError."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import TypeVar

from viewer.errors import UsageError
from viewer.press import Margin, parse_degrees, parse_pair_mm, parse_size_mm
from viewer.units import parse_length_mm, parse_percent_or_mm, parse_positive_mm

_LARGEST_WINDOW_PX = 16384
_MARGINS_NO_PERCENT_MM = 5.0
_SCALES_NO_PERCENT = 10.0

_T = TypeVar("_T")


def length(option: str) -> Callable[[str], float]:
    """A length in mm, zero or more."""

    def parse(text: str) -> float:
        value_mm = parse_length_mm(text, option)
        if not math.isfinite(value_mm) or value_mm < 0:
            raise UsageError(f"{option} must be zero or more, not {text!r}")
        return value_mm

    return parse


def positive_length(option: str) -> Callable[[str], float]:
    """A length in mm, more than zero."""
    return lambda text: parse_positive_mm(text, option)


def positive_number(option: str) -> Callable[[str], float]:
    """A number without a unit, more than zero."""

    def parse(text: str) -> float:
        value = _plain_number(text)
        if value is None or value <= 0:
            raise UsageError(f"{option} must be a number more than zero, not {text!r}")
        return value

    return parse


def named(parse: Callable[[str, str], _T], option: str) -> Callable[[str], _T]:
    """A reader of the core, whose messages begin with the option's name."""
    return lambda text: parse(text, option)


def degrees(option: str) -> Callable[[str], float]:
    """An angle in degrees, counter-clockwise."""
    return named(parse_degrees, option)


def point(option: str) -> Callable[[str], tuple[float, float]]:
    """``x,y`` in mm."""
    return named(parse_pair_mm, option)


def size(option: str) -> Callable[[str], tuple[float, float]]:
    """``AxB`` in mm, across x along."""
    return named(parse_size_mm, option)


def scale(text: str) -> float:
    """``50%`` or a factor such as 0.5; a bare number above 10 is surely a percent sign short."""
    bare = text.strip().removesuffix("%")
    is_percent = text.strip().endswith("%")
    value = _plain_number(bare)
    if value is None or value <= 0:
        raise UsageError(f"--scale must be more than zero, as in 50% or 0.5, not {text!r}")
    if is_percent:
        value /= 100.0
    elif value > _SCALES_NO_PERCENT:
        raise UsageError(f"--scale {text}: write {text}% if percent is meant")
    if value <= 0:
        raise UsageError(f"--scale must be more than zero, as in 50% or 0.5, not {text!r}")
    return value


def margin(text: str) -> Margin:
    """``15%`` or ``3mm``. A plain number is mm, as long as nobody can have meant percent."""
    kind, value = parse_percent_or_mm(text)
    if kind == "mm" and value > _MARGINS_NO_PERCENT_MM and text.strip()[-1:].isdigit():
        plain = text.strip()
        raise UsageError(f"--margin {plain}: write {plain}% or {plain}mm, whichever is meant")
    return Margin(value, kind == "%")


def page(text: str) -> int:
    """The number of a page, from 1."""
    if not text.isascii() or not text.isdigit() or len(text) > 9 or int(text) < 1:
        raise UsageError(f"--page must be a whole number from 1, not {text!r}")
    return int(text)


def row_number(text: str) -> int:
    """The number of a row of the approval record, from 1."""
    if not text.isascii() or not text.isdigit() or len(text) > 9 or int(text) < 1:
        raise UsageError(f"a row is a whole number from 1, not {text!r}")
    return int(text)


def paper(text: str) -> str:
    """``transparent``, ``border`` or ``#rrggbb``."""
    if text in ("transparent", "border") or re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        return text
    raise UsageError(f"--paper must be transparent, border or #rrggbb, not {text!r}")


def window_size(text: str) -> tuple[int, int]:
    """``WxH`` in pixels."""
    match = re.fullmatch(r"(\d{1,5})[xX](\d{1,5})", text.strip(), re.ASCII)
    sides = (int(match[1]), int(match[2])) if match else (0, 0)
    if not all(1 <= side <= _LARGEST_WINDOW_PX for side in sides):
        raise UsageError(f"--size must be width x height in pixels, as in 1600x1000, not {text!r}")
    return sides


def _plain_number(text: str) -> float | None:
    """A decimal number, comma or point; None for anything else, NaN and infinity too."""
    if not re.fullmatch(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?", text.strip()):
        return None
    value = float(text.strip().replace(",", "."))
    return value if math.isfinite(value) else None
