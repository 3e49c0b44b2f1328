"""Answers as a person types or chooses them, against what is exactly right."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from viewer.errors import UsageError
from viewer.sizing.roots import Root, length_of

_NUMBER = re.compile(r"([+-]?)\s*(\d*)(?:[.,](\d*))?")
_UNITS = {"mm": ("mm",), "deg": ("\u00b0", "deg"), "%": ("%", "percent"), "": ()}


@dataclass(frozen=True)
class NumberAnswer:
    """A number, kept exactly. ``exact`` is signed by ``is_negative``.

    Right is what is less than ``within`` from it: with one decimal asked for, the value
    rounded up, down or to the nearest tenth, and nothing else of one decimal.
    """

    exact: Root
    unit: str = "mm"
    within: Fraction = Fraction(1, 10)
    is_negative: bool = False

    def is_right(self, text: str) -> bool:
        """Whether what was typed is right. UsageError where it is no number."""
        value = typed_number(text, self.unit)
        if self.is_negative:
            value = -value
        # value - within < exact < value + within, or exactly equal, without taking a root.
        if value == 0 and self.exact == length_of(0):
            return True
        above = value + self.within
        below = value - self.within
        is_below = above > 0 and self.exact.is_below(above)
        return is_below and (below < 0 or not self.exact.is_at_most(below))

    def shown(self) -> str:
        """The right value: all of it where two decimals are enough, else rounded to them."""
        value = Fraction(self.exact.down())
        cents = value * 100
        sign = "\u2212" if self.is_negative and value else ""
        unit = {"deg": "\u00b0", "": ""}.get(self.unit, f"\u00a0{self.unit}")
        if self.exact.is_fraction and cents.denominator == 1:
            return f"{sign}{float(value):.10g}{unit}"
        return f"{sign}{round(float(value), 2):.2f}{unit}"


@dataclass(frozen=True)
class ChoiceAnswer:
    """One of several answers; ``right`` counts from 0."""

    options: tuple[str, ...]
    right: int

    def __post_init__(self) -> None:
        if not 0 <= self.right < len(self.options):
            raise ValueError(f"no option {self.right} of {len(self.options)}")

    def is_right(self, text: str) -> bool:
        """Whether the option chosen is right; ``text`` is its number from 0."""
        return text == str(self.right)

    def shown(self) -> str:
        """The right option."""
        return self.options[self.right]


Answer = NumberAnswer | ChoiceAnswer


def exactly(value: float | int | str | Fraction) -> Root:
    """A decimal number as an exact length: 63.75 is 255/4, and not its nearest binary."""
    fraction = value if isinstance(value, Fraction) else Fraction(str(value))
    return length_of(fraction)


def typed_number(text: str, unit: str) -> Fraction:
    """A decimal number, comma or point, with or without its unit. UsageError otherwise."""
    plain = text.strip().lower().replace("\u2212", "-")
    for name in _UNITS.get(unit, (unit,)):
        plain = plain.removesuffix(name).rstrip()
    match = _NUMBER.fullmatch(plain)
    if match is None or not (match[2] or match[3]) or len(plain) > 24:
        shown = text.strip()[:40]
        raise UsageError(f"{shown!r} is not a number; write it like 63.6")
    value = Fraction(f"{match[2] or '0'}.{match[3] or '0'}")
    return -value if match[1] == "-" else value
