"""Exact lengths of the form ``whole + root of square``, and roots enclosed by fractions.

All that a sum with numbers alone needs: a diagonal is the root of a fraction, and the
circle around a rounded rectangle is a root and two radii. Comparing never takes a root:
both sides are squared, so that 20 x 21 fits a circle of 29 with nothing to spare.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

_GRID = 10**40
"""Roots that no fraction equals are enclosed to one part of this."""


def root_down(square: Fraction) -> Fraction:
    """The greatest multiple of 1e-40 not above the root; the root itself where it is a fraction.

    A negative ``square`` raises ValueError.
    """
    exact = exact_root(square)
    if exact is not None:
        return exact
    return Fraction(_floor_root(square, _GRID), _GRID)


def root_up(square: Fraction) -> Fraction:
    """As ``root_down``, not below the root."""
    exact = exact_root(square)
    if exact is not None:
        return exact
    return Fraction(_floor_root(square, _GRID) + 1, _GRID)


def exact_root(square: Fraction) -> Fraction | None:
    """The root where it is a fraction, else None. A negative ``square`` raises ValueError."""
    if square < 0:
        raise ValueError(f"no root of {square}")
    top, bottom = math.isqrt(square.numerator), math.isqrt(square.denominator)
    if top * top == square.numerator and bottom * bottom == square.denominator:
        return Fraction(top, bottom)
    return None


def _floor_root(square: Fraction, grid: int) -> int:
    """floor(root of square * grid)."""
    return math.isqrt(square.numerator * grid * grid // square.denominator)


@dataclass(frozen=True)
class Root:
    """The length ``whole + root of square`` in mm, neither part negative."""

    whole: Fraction = Fraction(0)
    square: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if self.whole < 0 or self.square < 0:
            raise ValueError(f"a negative part: {self.whole}, {self.square}")
        exact = exact_root(self.square)
        if exact is not None and self.square:
            # One form for one length: what is a fraction is kept as a fraction.
            object.__setattr__(self, "whole", self.whole + exact)
            object.__setattr__(self, "square", Fraction(0))

    def is_at_most(self, length: Fraction) -> bool:
        """Exactly whether this length is no greater than a fraction."""
        rest = length - self.whole
        return rest >= 0 and self.square <= rest * rest

    def is_below(self, length: Fraction) -> bool:
        """Exactly whether this length is less than a fraction."""
        rest = length - self.whole
        return rest > 0 and self.square < rest * rest

    @property
    def is_fraction(self) -> bool:
        """Whether the length is a fraction, with no root left."""
        return self.square == 0

    def down(self) -> Fraction:
        """A fraction not above it, off by 1e-40 at most."""
        return self.whole + root_down(self.square)

    def up(self) -> Fraction:
        """A fraction not below it, off by 1e-40 at most."""
        return self.whole + root_up(self.square)

    def __float__(self) -> float:
        return float(self.down())


def root_of(square: Fraction) -> Root:
    """The root of a fraction."""
    return Root(square=square)


def length_of(whole: Fraction | int) -> Root:
    """A fraction as a length."""
    return Root(whole=Fraction(whole))


@dataclass(frozen=True)
class Between:
    """A number known to lie from ``low`` to ``high``; the two are equal where it is exact."""

    low: Fraction
    high: Fraction

    @classmethod
    def root(cls, square: Between | Fraction) -> Between:
        """The root of a number. What reaches below zero counts as zero there."""
        if isinstance(square, Fraction):
            return cls(root_down(square), root_up(square))
        return cls(root_down(max(square.low, Fraction(0))), root_up(max(square.high, Fraction(0))))

    @classmethod
    def of(cls, value: Fraction) -> Between:
        """A number known exactly."""
        return cls(value, value)

    def __add__(self, other: Between | Fraction) -> Between:
        other = other if isinstance(other, Between) else Between.of(other)
        return Between(self.low + other.low, self.high + other.high)

    def __sub__(self, other: Between) -> Between:
        return Between(self.low - other.high, self.high - other.low)

    def times(self, factor: Fraction) -> Between:
        """Multiplied by a fraction of either sign."""
        ends = (self.low * factor, self.high * factor)
        return Between(min(ends), max(ends))

    def squared(self) -> Between:
        """Its square."""
        ends = (self.low * self.low, self.high * self.high)
        least = Fraction(0) if self.low <= 0 <= self.high else min(ends)
        return Between(least, max(ends))

    def dividing(self, top: Fraction) -> Between:
        """``top`` (not negative) divided by it. It must be more than zero throughout."""
        if self.low <= 0 or top < 0:
            raise ValueError(f"cannot divide {top} by what lies from {self.low} to {self.high}")
        return Between(top / self.high, top / self.low)


# --- decimals -----------------------------------------------------------------------


def decimal_down(value: Fraction, decimals: int = 2) -> str:
    """A fraction as a decimal number, rounded towards minus infinity; zeros are kept."""
    return _decimal(math.floor(value * 10**decimals), decimals)


def decimal_up(value: Fraction, decimals: int = 2) -> str:
    """A fraction as a decimal number, rounded towards plus infinity; zeros are kept."""
    return _decimal(math.ceil(value * 10**decimals), decimals)


def plain(value: Fraction, *, up: bool = True, decimals: int = 6) -> str:
    """All digits where six decimals hold them, else four of them rounded ``up`` or down."""
    if (value * 10**decimals).denominator != 1:
        text = decimal_up(value, 4) if up else decimal_down(value, 4)
    else:
        text = decimal_up(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _decimal(steps: int, decimals: int) -> str:
    digits = f"{abs(steps):0{decimals + 1}d}"
    text = f"{digits[:-decimals]}.{digits[-decimals:]}" if decimals else digits
    return f"-{text}" if steps < 0 else text
