"""What a cup takes, exactly: its largest image, and the greatest sides in it."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import ROUND_CEILING, ROUND_FLOOR, Context
from fractions import Fraction

from viewer.press import Cup
from viewer.sizing.bounds import bounds_at, corners
from viewer.sizing.roots import Root, length_of, root_of
from viewer.sizing.shapes import SizeQuery
from viewer.sizing.three_lobes import widest_lobes

GRID_MM = Fraction(1, 100)
"""Limits that have no formula are found on this grid, rounded down."""

_KEPT_DIGITS = 15
"""A decimal number of so many digits survives being a float."""


def max_image_mm(cup: Cup) -> Fraction:
    """The largest image of a cup, as ``Cup.max_image_diameter_mm`` but exact.

    The cup's numbers are read as the decimals that they were written as: 82.5, 15 %.
    """
    return cup_sum(cup)[0]


def cup_sum(cup: Cup) -> tuple[Fraction, Fraction, Fraction]:
    """Largest image; the named diameter less the margin alone; the ring's inner edge."""
    diameter = _decimal(cup.diameter_mm, ROUND_FLOOR)
    margin = _decimal(cup.margin.value, ROUND_CEILING)
    ring = _decimal(cup.ring_width_mm, ROUND_CEILING)
    inner = diameter if cup.named_by == "inside" else diameter - 2 * ring
    margin_alone = diameter * (1 - margin) if cup.margin.is_fraction else inner - 2 * margin
    return min(margin_alone, inner), margin_alone, inner


def ring_inner_mm(cup: Cup) -> Fraction:
    """The ring's inner edge, exactly."""
    return cup_sum(cup)[2]


def _decimal(value: float, rounding: str) -> Fraction:
    """The decimal number behind a float. One with more digits than a float keeps, such as a
    third of an inch, is rounded to where it leaves less room.
    """
    return Fraction(Context(prec=_KEPT_DIGITS, rounding=rounding).create_decimal(repr(value)))


# --- greatest sides ------------------------------------------------------------------


def greatest_width(query: SizeQuery, limit_mm: Fraction) -> Root | None:
    """The greatest width that surely fits at this height; None where the height is too much.

    The height is taken at the most that it may be. Of a triangle the width is its base.
    """
    return _greatest_side(query, query.sides[1].high_mm, limit_mm)


def greatest_height(query: SizeQuery, limit_mm: Fraction) -> Root | None:
    """The greatest height that surely fits at this width."""
    return _greatest_side(query, query.sides[0].high_mm, limit_mm)


def _greatest_side(query: SizeQuery, other: Fraction, limit: Fraction) -> Root | None:
    shape = query.shape
    if shape.kind == "ellipse":
        return length_of(limit) if other <= limit else None
    radius = Fraction(0) if shape.radius is None else shape.radius.low_mm
    straight, room = other - 2 * radius, limit - 2 * radius
    if room < straight:
        return None
    # Where nothing is left between the corners, a rounded one is still two radii wide.
    found = Root(2 * radius, room * room - straight * straight)
    return found if found.up() > 0 else None


def largest_square(limit_mm: Fraction) -> Root:
    """The side of the largest square in a circle: its diameter / root 2."""
    return root_of(limit_mm * limit_mm / 2)


def largest_diagonal(limit_mm: Fraction) -> Root:
    """The longest diagonal with which any shape whatever fits: D root 3 / 2 (Jung)."""
    return root_of(limit_mm * limit_mm * 3 / 4)


def surely_fitting_diagonal(query: SizeQuery, limit_mm: Fraction) -> Fraction | None:
    """Up to which longest diagonal any shape of this width and height fits, on ``GRID_MM``.

    None where no diagonal is short enough to be sure.
    """
    width, height = query.sides[0].high_mm, query.sides[1].high_mm

    def fits(steps: int) -> bool:
        return widest_lobes(width, height, steps * GRID_MM).up.is_at_most(limit_mm)

    return _greatest_on_grid(max(width, height), limit_mm, fits)


def third_corner_room(query: SizeQuery, limit_mm: Fraction) -> Fraction | None:
    """How far from the base's middle the third corner of a triangle may stand, on ``GRID_MM``.

    With u from the middle: d d = W W + k k, k = (u u - W W / 4 + H H) / H where that is
    positive. None where even the middle is too far, or the base is longer than the circle.
    """
    width, height = query.sides[0].high_mm, query.sides[1].high_mm
    room = limit_mm * limit_mm - width * width
    if room < 0:
        return None

    def fits(steps: int) -> bool:
        u = steps * GRID_MM
        k = (u * u - width * width / 4 + height * height) / height
        return k <= 0 or k * k <= room

    return _greatest_on_grid(Fraction(0), width / 2, fits)


def _greatest_on_grid(
    least: Fraction, most: Fraction, fits: Callable[[int], bool]
) -> Fraction | None:
    """The last grid step from ``least`` to ``most`` that fits, where all before it do."""
    first, last = math.ceil(least / GRID_MM), math.floor(most / GRID_MM)
    if first > last or not fits(first):
        return None
    while first < last:
        middle = (first + last + 1) // 2
        first, last = (middle, last) if fits(middle) else (first, middle - 1)
    return first * GRID_MM


def sure_scale(query: SizeQuery, limit_mm: Fraction) -> Fraction:
    """The scale at which the artwork surely fits, whatever of its numbers and shape is so."""
    high = bounds_at(corners(query)[1])[1]
    return limit_mm / high.up()
