"""Lengths as people write and read them; millimeters inside.

Parsing never guesses: a bare number is millimeters, both decimal signs are read,
and what could be read in two ways is refused. Rounding is always towards the
careful side, and the side is part of the function's name.
"""

from __future__ import annotations

import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal
from fractions import Fraction
from typing import Literal

from viewer.errors import UsageError

MM_PER_INCH = 25.4
MM_PER_POINT = 25.4 / 72.0
"""The point of PDF and CSS."""

ROUNDING_NOISE = 1e-9
"""Within this of a printable value a number counts as that value.

Floating point turns 0.1 + 0.2 into 0.30000000000000004, which must not be
printed as 0.31 by rounding up. A millionth of a micrometer is no length here.
"""

MINUS_SIGN = "\u2212"

_INCH = Fraction("25.4")
# Fractions, so that 36pt is 12.7 mm and 1 1/2 in is 38.1 mm to the last bit.
_UNITS_MM: dict[str, Fraction] = {
    "": Fraction(1),
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": _INCH,
    "inch": _INCH,
    "inches": _INCH,
    '"': _INCH,
    "\u2033": _INCH,
    "pt": _INCH / 72,
}

_DECIMAL = r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+"
_LENGTH = re.compile(
    r"(?P<sign>[+-]?)\s*"
    r"(?:(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)"
    rf"|(?P<decimal>{_DECIMAL}))"
    '\\s*(?P<unit>[a-z]+|["\u2033]|)'
)
_PERCENT = re.compile(rf"(?P<decimal>{_DECIMAL})\s*%")
# "1,234" is 1.234 to one reader and 1234 to the next; "0,125" is plain to both.
_TWO_WAYS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_LONGEST_TEXT = 60
# Wide enough for any float written out in full, so that quantize never overflows.
_CONTEXT = Context(prec=800)


def parse_length_mm(text: str, what: str = "length") -> float:
    """Read a length such as ``48mm``, ``12,5``, ``1 1/2 in`` or ``36pt``, in mm.

    A bare number is millimeters. A sign is allowed. ``what`` names the value in
    the one-line UsageError that anything unreadable raises.
    """
    return float(exact_length_mm(text, what))


def exact_length_mm(text: str, what: str = "length") -> Fraction:
    """As ``parse_length_mm``, to the last digit: ``1/3 in`` is 127/15 mm."""
    match = _LENGTH.fullmatch(_plain(text, what))
    if match is None:
        raise _unreadable(text, what)
    unit_mm = _UNITS_MM.get(match["unit"])
    if unit_mm is None:
        raise UsageError(
            f"{what} {_quoted(text)}: unknown unit {_quoted(match['unit'])}; use mm, cm, in or pt"
        )
    size_mm = _magnitude(match, text, what) * unit_mm
    return -size_mm if match["sign"] == "-" else size_mm


def parse_positive_mm(text: str, what: str = "length") -> float:
    """As ``parse_length_mm``, but zero and negative lengths are refused too."""
    size_mm = parse_length_mm(text, what)
    if size_mm <= 0.0:
        raise UsageError(f"{what} {_quoted(text)} must be greater than zero")
    return size_mm


def parse_percent_or_mm(text: str, what: str = "margin") -> tuple[Literal["%", "mm"], float]:
    """Read ``15%`` as ``("%", 0.15)`` and ``3mm`` as ``("mm", 3.0)``.

    Zero is allowed; negative values and 100 % or more are refused.
    """
    match = _PERCENT.fullmatch(_plain(text, what))
    if match is None:
        size_mm = parse_length_mm(text, what)
        if size_mm < 0.0:
            raise UsageError(f"{what} {_quoted(text)} must not be negative")
        return "mm", size_mm
    fraction = float(_number(match["decimal"], text, what) / 100)
    if fraction >= 1.0:
        raise UsageError(f"{what} {_quoted(text)} must be below 100 %")
    return "%", fraction


def format_down(value: float, decimals: int = 2) -> str:
    """``value`` rounded towards minus infinity: room that is surely there."""
    return _rounded(value, decimals, ROUND_FLOOR)


def format_up(value: float, decimals: int = 2) -> str:
    """``value`` rounded towards plus infinity: size that is surely enough."""
    return _rounded(value, decimals, ROUND_CEILING)


def format_clearance_mm(clearance_mm: float, true_minus: bool = False) -> str:
    """A signed clearance, two decimals, rounded down: ``+0.19`` or ``-3.64``.

    ``true_minus`` writes U+2212 in place of the hyphen, for print and screen.
    """
    text = format_down(clearance_mm, 2)
    if not text.startswith("-"):
        return "+" + text
    return text.replace("-", MINUS_SIGN) if true_minus else text


def format_size_up_mm(size_mm: float) -> str:
    """A size that is needed, two decimals, rounded up."""
    return format_up(size_mm, 2)


def _rounded(value: float, decimals: int, rounding: str) -> str:
    if not math.isfinite(value):
        raise ValueError(f"cannot write {value} as a number of millimetres")
    exact = Decimal(repr(float(value)))
    step = Decimal(1).scaleb(-decimals)
    shown = exact.quantize(step, context=_CONTEXT)
    if abs(shown - exact) > min(Decimal(repr(ROUNDING_NOISE)), step / 1000):
        shown = exact.quantize(step, rounding=rounding, context=_CONTEXT)
    # "-0.00" would say that something is missing where nothing is.
    return f"{abs(shown) if shown == 0 else shown:f}"


def _magnitude(match: re.Match[str], text: str, what: str) -> Fraction:
    if match["decimal"] is not None:
        return _number(match["decimal"], text, what)
    if int(match["bottom"]) == 0:
        raise UsageError(f"{what} {_quoted(text)} divides by zero")
    return int(match["whole"] or "0") + Fraction(int(match["top"]), int(match["bottom"]))


def _number(digits: str, text: str, what: str) -> Fraction:
    if _TWO_WAYS.fullmatch(digits):
        raise UsageError(
            f"{what} {_quoted(text)} can be read in two ways;"
            f" write {digits.replace(',', '.')} or {digits.replace(',', '')}"
        )
    return Fraction(digits.replace(",", "."))


def _plain(text: str, what: str) -> str:
    """Lower case, ordinary minus signs; the regular expressions know all spaces."""
    if len(text) > _LONGEST_TEXT:
        raise UsageError(f"{what} {_quoted(text)} is too long")
    return text.strip().lower().replace(MINUS_SIGN, "-")


def _unreadable(text: str, what: str) -> UsageError:
    if not text.strip():
        return UsageError(f"{what} is empty; write it like '48', '12,5 mm' or '1/2 in'")
    return UsageError(
        f"{what} {_quoted(text)} is not a length; write it like '48', '12,5 mm' or '1/2 in'"
    )


def _quoted(text: str) -> str:
    # Control characters are escaped, so that the message stays one line.
    short = text if len(text) <= _LONGEST_TEXT else text[: _LONGEST_TEXT - 3] + "..."
    return repr(short)
