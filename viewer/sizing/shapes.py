"""What is known about a piece of artwork of which nobody has the file: shape and numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from viewer.errors import UsageError
from viewer.sizing.measures import Measure, check_units, parse_measure
from viewer.sizing.roots import Root, decimal_down, length_of, plain, root_of

ShapeKind = Literal["rectangle", "ellipse", "triangle", "rounded", "unknown"]

SHAPE_NOTATION = "rectangle, ellipse, triangle, rounded:R (R: corner radius) or unknown"

_KINDS: dict[str, ShapeKind] = {
    "rectangle": "rectangle",
    "ellipse": "ellipse",
    "triangle": "triangle",
    "rounded": "rounded",
    "unknown": "unknown",
}
_QUOTED_LENGTH = 60


@dataclass(frozen=True)
class Shape:
    """The kind of outline. Width and height run along its own axes.

    ``rectangle``, ``ellipse``: filling width x height. ``rounded``: a rectangle with corners
    of ``radius``. ``triangle``: standing on the width, its third corner at the height,
    anywhere over that base. ``unknown``: anything that reaches all four sides.
    """

    kind: ShapeKind = "unknown"
    radius: Measure | None = None

    def __post_init__(self) -> None:
        if (self.kind == "rounded") != (self.radius is not None):
            raise UsageError("a corner radius belongs to rounded:R, as in rounded:8")

    @property
    def is_symmetrical(self) -> bool:
        """Whether half a turn leaves it as it is: then its circle is its longest diagonal.

        Any point p has its opposite -p at the distance 2|p| <= D, so all lie within D/2
        of the middle.
        """
        return self.kind in ("rectangle", "ellipse", "rounded")

    def __str__(self) -> str:
        if self.radius is not None:
            return f"rectangle with corners of {self.radius} mm"
        return "unknown shape" if self.kind == "unknown" else self.kind


def parse_shape(text: str, what: str = "shape") -> Shape:
    """Read ``rectangle``, ``ellipse``, ``triangle``, ``rounded:R`` or ``unknown``."""
    kind, colon, radius = (part.strip() for part in text.partition(":"))
    quoted = repr(text if len(text) <= _QUOTED_LENGTH else text[: _QUOTED_LENGTH - 3] + "...")
    if kind.lower() not in _KINDS:
        raise UsageError(f"{what} {quoted} is not known: give {SHAPE_NOTATION}")
    found = _KINDS[kind.lower()]
    if found == "rounded":
        if not radius:
            raise UsageError(f"{what} {quoted}: give the corner radius, as in rounded:8")
        if re.fullmatch(r"[0.,]+(mm|cm|m|in)?", radius):
            raise UsageError(f"{what} {quoted}: corners of radius zero are a rectangle")
        return Shape(found, parse_measure(radius, "corner radius"))
    if colon:
        raise UsageError(f"{what} {quoted}: only rounded takes a number, the corner radius")
    return Shape(found)


@dataclass(frozen=True)
class SizeQuery:
    """The numbers given: width and height, or the longest diagonal, or all three.

    Numbers that contradict each other over their whole ranges raise UsageError.
    """

    width: Measure | None = None
    height: Measure | None = None
    diagonal: Measure | None = None
    shape: Shape = Shape()

    def __post_init__(self) -> None:
        if (self.width is None) != (self.height is None):
            raise UsageError("width and height belong together, as in 66x88")
        if self.width is None and self.diagonal is None:
            raise UsageError("give width x height, as in 66x88, or --diagonal 80, or both")
        check_units(self.width, self.height, self.diagonal, self.shape.radius)
        _check_radius(self)
        _check_diagonal(self)

    @property
    def has_sides(self) -> bool:
        """Whether width and height are known."""
        return self.width is not None

    @property
    def is_exact(self) -> bool:
        """Whether no number has a tolerance."""
        return all(measure.is_exact for _, measure in self.measures)

    @property
    def measures(self) -> tuple[tuple[str, Measure], ...]:
        """Every number given, with its name."""
        named = (
            ("width", self.width),
            ("height", self.height),
            ("longest diagonal", self.diagonal),
            ("corner radius", self.shape.radius),
        )
        return tuple((name, measure) for name, measure in named if measure is not None)

    @property
    def sides(self) -> tuple[Measure, Measure]:
        """Width and height. Without them ValueError."""
        if self.width is None or self.height is None:
            raise ValueError("width and height are not known")
        return self.width, self.height


def _check_radius(query: SizeQuery) -> None:
    radius = query.shape.radius
    if radius is None:
        return
    known = query.sides if query.has_sides else (query.diagonal,)
    least = min((m for m in known if m is not None), key=lambda m: m.high_mm)
    if 2 * radius.low_mm > least.high_mm:
        what = "the shorter side" if query.has_sides else "the longest diagonal"
        raise UsageError(
            f"corner radius {plain(radius.nominal_mm)} mm is too large: at most half of {what},"
            f" {decimal_down(least.high_mm / 2)} mm"
        )


def _check_diagonal(query: SizeQuery) -> None:
    """The longest diagonal is never less than a side, nor more than the box's diagonal."""
    if query.diagonal is None or not query.has_sides:
        return
    diagonal = query.diagonal
    width, height = query.sides
    longer = max(query.sides, key=lambda side: side.low_mm)
    if diagonal.high_mm < longer.low_mm:
        raise UsageError(
            f"longest diagonal {diagonal} mm is less than the longer side, {longer} mm:"
            " one of the numbers is wrong"
        )
    box = root_of(width.high_mm**2 + height.high_mm**2)
    if box.is_below(diagonal.low_mm):
        raise UsageError(
            f"longest diagonal {diagonal} mm is more than {width} x {height} mm has room for,"
            f" {plain(box.up())} mm: one of the numbers is wrong{_rounded_hint(diagonal, box)}"
        )
    least, most = longest_diagonal_range(query.shape, width, height)
    if most.is_below(diagonal.low_mm) or not least.is_at_most(diagonal.high_mm):
        has = f"of {plain(most.up())} mm"
        if least != most:
            has = f"from {plain(least.down(), up=False)} to {plain(most.up())} mm"
        raise UsageError(
            f"{_article(query.shape)} {query.shape} of {width} x {height} mm has a longest diagonal"
            f" {has}, not {diagonal} mm: say --shape unknown, or one of the numbers is wrong"
            f"{_rounded_hint(diagonal, most)}"
        )


def _article(shape: Shape) -> str:
    return "an" if shape.kind in ("ellipse", "unknown") else "a"


def _rounded_hint(measure: Measure, other: Root) -> str:
    """A number that was rounded for the telephone contradicts the others by a hair."""
    if not measure.is_exact or abs(measure.nominal_mm - other.down()) > Fraction(1, 2):
        return ""
    return f" (a rounded number is written ~{plain(measure.nominal_mm)})"


def longest_diagonal_range(shape: Shape, width: Measure, height: Measure) -> tuple[Root, Root]:
    """From the least to the greatest longest diagonal that a shape of these sides can have."""
    return (
        _diagonal(shape, width.low_mm, height.low_mm, is_least=True),
        _diagonal(shape, width.high_mm, height.high_mm, is_least=False),
    )


def _diagonal(shape: Shape, width: Fraction, height: Fraction, *, is_least: bool) -> Root:
    longer = max(width, height)
    box = root_of(width * width + height * height)
    if shape.kind == "rectangle":
        return box
    if shape.kind == "ellipse":
        return length_of(longer)
    if shape.radius is not None:
        radius = shape.radius.high_mm if is_least else shape.radius.low_mm
        return rounded_circle(width, height, radius)
    if not is_least:
        return box
    # A triangle's slanting sides are least where its third corner stands in the middle.
    slant = height * height + width * width / 4
    is_slanting = shape.kind == "triangle" and slant > longer * longer
    return root_of(slant) if is_slanting else length_of(longer)


def rounded_circle(width: Fraction, height: Fraction, radius: Fraction) -> Root:
    """Diameter of the smallest circle around a rectangle with rounded corners, also its
    longest diagonal: the diagonal between the centers of opposite corners and two radii.
    A radius beyond half the shorter side counts as that half.
    """
    radius = min(radius, width / 2, height / 2)
    a, b = width - 2 * radius, height - 2 * radius
    return Root(2 * radius, a * a + b * b)
