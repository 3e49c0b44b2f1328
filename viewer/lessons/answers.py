"""Answers as a person types or chooses them, against what is exactly right."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from viewer.errors import UsageError
from viewer.sizing.roots import Root, decimal_down, decimal_up, length_of, plain
from viewer.units import MINUS_SIGN

Rounding = Literal["nearest", "up", "down"]

_NUMBER = re.compile(r"([+-]?)\s*([0-9]*)(?:[.,]([0-9]*))?")
_UNITS = {
    "mm": ("mm",),
    "deg": ("\u00b0", "degrees", "degree", "deg"),
    "%": ("%", "percent"),
    "": (),
}
TENTH = Fraction(1, 10)
_LONGEST_TEXT = 24
_QUOTED_LENGTH = 40


@dataclass(frozen=True)
class NumberAnswer:
    """A number, kept exactly. ``exact`` is signed by ``is_negative``.

    Right is what is less than ``within`` from it: with one decimal asked for, the value
    rounded up, down or to the nearest tenth, and nothing else of one decimal.

    ``rounding`` is how it is written where two decimals (of an angle one) do not hold it, as
    everywhere in this program: "up" for a size that is needed, "down" for the largest that
    fits. A lesson writes the same number in its sums and labels by taking it from
    ``number()``.
    """

    exact: Root
    unit: str = "mm"
    within: Fraction = TENTH
    is_negative: bool = False
    rounding: Rounding = "nearest"

    def is_right(self, text: str) -> bool:
        """Whether what was typed is right. UsageError where it is no number."""
        value = typed_number(text, self.unit)
        if self.is_negative:
            value = -value
        # value - within < exact < value + within, without taking a root.
        below, above = value - self.within, value + self.within
        is_near = self.exact.is_below(above) and not self.exact.is_at_most(below)
        return is_near or (value >= 0 and self.exact == length_of(value))

    def is_safe(self, text: str) -> bool:
        """Whether what was typed lies on the safe side, exactly: not below a size that is
        needed, not above the largest that fits. Any side is where it is rounded to the
        nearest. UsageError where it is no number.
        """
        value = typed_number(text, self.unit)
        if self.rounding == "nearest":
            return True
        if (self.rounding == "up") != self.is_negative:
            return self.exact.is_at_most(-value if self.is_negative else value)
        return not self.exact.is_below(-value if self.is_negative else value)

    @property
    def is_whole_shown(self) -> bool:
        """Whether the decimals that are written hold all of it, so that nothing is rounded."""
        return self.exact.is_fraction and (self.exact.whole * 10**self._decimals).denominator == 1

    def number(self) -> str:
        """The value without its unit: all of it, or rounded as ``rounding`` says."""
        value = -self.exact.down() if self.is_negative else self.exact.down()
        if self.is_whole_shown:
            text = plain(value)
        else:
            text = _rounded(self.exact, self._decimals, self.rounding, self.is_negative)
        return text.replace("-", MINUS_SIGN)

    @property
    def _decimals(self) -> int:
        # Angles are set in tenths of a degree.
        return 1 if self.unit == "deg" else 2

    def shown(self) -> str:
        """The right value with its unit."""
        unit = {"deg": "\u00b0", "": ""}.get(self.unit, f"\u00a0{self.unit}")
        return f"{self.number()}{unit}"


@dataclass(frozen=True)
class ChoiceAnswer:
    """One of several answers; ``right`` counts from 0."""

    options: tuple[str, ...]
    right: int

    def __post_init__(self) -> None:
        if not 0 <= self.right < len(self.options):
            raise ValueError(f"no option {self.right} of {len(self.options)}")

    def is_right(self, text: str) -> bool:
        """Whether the option chosen is right; ``text`` is its number from 0.

        UsageError where there is no such option.
        """
        return self.chosen(text) == self.right

    def chosen(self, text: str) -> int:
        """The number of the option chosen. UsageError where there is none such."""
        plain_text = text.strip()
        for number in range(len(self.options)):
            if plain_text == str(number):
                return number
        most = len(self.options) - 1
        raise UsageError(
            f"{_quoted(plain_text)} is none of the answers; choose one, numbered 0 to {most}"
        )

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
    plain_text = text.strip().lower().replace(MINUS_SIGN, "-").replace("\u2013", "-")
    if not plain_text:
        raise UsageError("type a number first, like 63.6")
    for name in _UNITS.get(unit, (unit,)):
        if plain_text.endswith(name):
            plain_text = plain_text.removesuffix(name).rstrip()
            break
    match = _NUMBER.fullmatch(plain_text)
    if match is None or not (match[2] or match[3]) or len(plain_text) > _LONGEST_TEXT:
        raise UsageError(f"{_quoted(text.strip())} is not a number; write it like 63.6")
    value = Fraction(f"{match[2] or '0'}.{match[3] or '0'}")
    return -value if match[1] == "-" else value


def _rounded(exact: Root, decimals: int, rounding: Rounding, is_negative: bool) -> str:
    """A decimal number, rounded with its sign: down is towards minus infinity."""
    # Nearest: half a step further and then down. Both ends of the root lie within 1e-40.
    half = Fraction(1, 2 * 10**decimals)
    if rounding == "nearest":
        text = decimal_down(exact.down() + half, decimals)
    elif (rounding == "up") != is_negative:
        text = decimal_up(exact.up(), decimals)
    else:
        text = decimal_down(exact.down(), decimals)
    # "-0.00" would say that it is less than nothing.
    return f"-{text}" if is_negative and Fraction(text) else text


def _quoted(text: str) -> str:
    # Control characters are escaped, so that the message stays one line.
    short = text if len(text) <= _QUOTED_LENGTH else text[: _QUOTED_LENGTH - 3] + "..."
    return repr(short)
