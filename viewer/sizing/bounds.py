"""From the numbers to the smallest circle: the least and the greatest that it can be.

Write W, H for width and height, D for the longest diagonal, d for the diameter of the
smallest circle around the artwork. What is proved for each case, exactly:

- Any shape with W and H: ``max(W, H) <= d <= root(W W + H H)``. Less is impossible, since
  the circle is as wide and as high as what is in it; the ellipse W x H has it. More is
  impossible, since the box W x H itself lies in its own circle; the rectangle has it.
- Rectangle: ``d = root(W W + H H)``. Ellipse: ``d = max(W, H)``. Rounded by r:
  ``d = 2 r + root((W - 2 r)^2 + (H - 2 r)^2)``, which falls as r grows.
- Triangle on the base W, third corner at (u, H) with 0 <= u <= W: neither angle at the base
  is obtuse. With the third angle obtuse or right, d = W; else it is the circle through the
  corners, whose center stands at k = (u u - W u + H H) / (2 H) over the base's middle, and
  d d = W W + 4 k k. k is least for u = W/2, where d = H + W W / (4 H) if 2 H >= W (else
  d = W), and greatest for u = 0 or W, a right angle, where d = root(W W + H H).
- D alone: ``D <= d <= 2 D / root 3`` (Jung 1901). The equilateral triangle has the greatest.
- A shape that half a turn leaves as it is (rectangle, ellipse, rounded): ``d = D``.
- Any shape with W, H and D: ``D <= d``, which the middle part of the box within D/2 of its
  center has; and d <= what ``three_lobes`` derives.

Each bound grows, or stays, as W, H or D grows, and r falls. So over ranges of the numbers
the least lies at one end of all of them and the greatest at the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from viewer.sizing.measures import Measure
from viewer.sizing.roots import Root, length_of, root_of
from viewer.sizing.shapes import Shape, SizeQuery, rounded_circle
from viewer.sizing.three_lobes import jung_bound, widest_lobes


@dataclass(frozen=True)
class CircleRange:
    """The diameter of the smallest circle over the ranges of the numbers and all shapes.

    ``low``, ``high``: nothing that was said allows less, or more. ``low_most``: the greatest
    that the lower bound is anywhere in the ranges; ``high_least``: the least that the upper
    one is. With exact numbers these are ``low`` and ``high`` again.
    """

    low: Root
    low_most: Root
    high_least: Root
    high: Root


@dataclass(frozen=True)
class Corner:
    """One end of all the ranges. Lengths that are not known are None."""

    shape: Shape
    width: Fraction | None
    height: Fraction | None
    diagonal: Fraction | None
    radius: Fraction | None


def circle_range(query: SizeQuery) -> CircleRange:
    """The smallest circle that the numbers allow, and the largest."""
    least, most = corners(query)
    low, _, high_least = bounds_at(least)
    low_most, high, _ = bounds_at(most)
    return CircleRange(low, low_most, high_least, high)


def corners(query: SizeQuery) -> tuple[Corner, Corner]:
    """Where the circle is least and where it is greatest: a radius counts the other way."""
    shape = query.shape
    return (
        Corner(
            shape,
            _low(query.width),
            _low(query.height),
            _least_diagonal(query),
            _high(shape.radius),
        ),
        Corner(
            shape,
            _high(query.width),
            _high(query.height),
            _high(query.diagonal),
            _low(shape.radius),
        ),
    )


def bounds_at(corner: Corner) -> tuple[Root, Root, Root]:
    """Lower bound, upper bound, and a length not above that upper bound.

    The last two are the same wherever the upper bound is a single root.
    """
    if corner.width is None or corner.height is None:
        if corner.diagonal is None:
            raise ValueError("no number at all")
        known = length_of(corner.diagonal)
        if corner.shape.is_symmetrical:
            return known, known, known
        jung = jung_bound(corner.diagonal)
        return known, jung, jung
    low, high = side_bounds(corner, corner.width, corner.height)
    if corner.diagonal is None:
        return low, high, high
    return _with_diagonal(corner, corner.width, corner.height, corner.diagonal, low, high)


def side_bounds(corner: Corner, width: Fraction, height: Fraction) -> tuple[Root, Root]:
    """What width and height alone say."""
    box = root_of(width * width + height * height)
    longer = length_of(max(width, height))
    kind = corner.shape.kind
    if kind == "rectangle":
        return box, box
    if kind == "ellipse":
        return longer, longer
    if corner.radius is not None:
        rounded = rounded_circle(width, height, corner.radius)
        return rounded, rounded
    if kind == "triangle":
        return length_of(least_triangle(width, height)), box
    return longer, box


def least_triangle(base: Fraction, height: Fraction) -> Fraction:
    """The least smallest-circle diameter of a triangle with its third corner over the base."""
    if 2 * height <= base:
        return base
    return height + base * base / (4 * height)


def _with_diagonal(
    corner: Corner, width: Fraction, height: Fraction, diagonal: Fraction, low: Root, high: Root
) -> tuple[Root, Root, Root]:
    """The diagonal may only narrow what width and height say."""
    known = length_of(diagonal)
    narrowed_low = known if low.is_at_most(diagonal) else low
    if corner.shape.is_symmetrical:
        narrowed_high = high if high.is_at_most(diagonal) else known
        return narrowed_low, narrowed_high, narrowed_high
    lobes = widest_lobes(width, height, diagonal)
    return narrowed_low, lobes.up, lobes.down


def _least_diagonal(query: SizeQuery) -> Fraction | None:
    """A diagonal that may be less than the sides is not: it is at least the longer one."""
    if query.diagonal is None or not query.has_sides:
        return _low(query.diagonal)
    width, height = query.sides
    return max(query.diagonal.low_mm, width.low_mm, height.low_mm)


def _low(measure: Measure | None) -> Fraction | None:
    return None if measure is None else measure.low_mm


def _high(measure: Measure | None) -> Fraction | None:
    return None if measure is None else measure.high_mm
