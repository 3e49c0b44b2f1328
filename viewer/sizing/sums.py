"""The sum as one would write it by hand, to be read out: squares, root, comparison.

Numbers are written in full where six decimals hold them. Where they are rounded, it is up
for the largest circle and down for the smallest; the comparison itself is of the exact
squares, never of the rounded root.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from viewer.press import Cup
from viewer.sizing.bounds import Corner, bounds_at, circle_range, corners
from viewer.sizing.cup_limits import cup_sum
from viewer.sizing.grades import Grade, grade
from viewer.sizing.lobe_sums import lobe_lines
from viewer.sizing.roots import Root, decimal_down, decimal_up, length_of, plain, root_of
from viewer.sizing.shapes import SizeQuery

_INCHES = ("in", "inch", "inches", '"', "\u2033")


@dataclass(frozen=True)
class Worked:
    """One sum: what it is of, and its lines."""

    title: str
    lines: tuple[str, ...]


def worked_sums(query: SizeQuery, cups: Sequence[Cup]) -> tuple[Worked, ...]:
    """The sums behind an answer, in the order in which one would do them."""
    least, most = corners(query)
    low, high = bounds_at(least)[0], bounds_at(most)[1]
    found = [Worked("the numbers", tuple(_number_lines(query)))]
    if low == high and query.is_exact:
        found.append(Worked("the smallest circle", tuple(_high_lines(most, high))))
    else:
        found.append(Worked("at most", tuple(_high_lines(most, high))))
        found.append(Worked("at least", tuple(_low_lines(least, low))))
    lines = [line for cup in cups for line in _cup_lines(query, low, high, cup)]
    found.append(Worked("against the cups", tuple(lines)))
    return tuple(sum_ for sum_ in found if sum_.lines)


def _number_lines(query: SizeQuery) -> Iterator[str]:
    """Conversions and ranges; nothing for plain millimeters."""
    for name, measure in query.measures:
        if measure.unit not in ("", "mm"):
            size = f"{plain(measure.nominal_mm)} mm"
            inch = " (an inch is 25.4 mm)" if measure.unit in _INCHES else ""
            yield f"{name} {measure.text} = {size}{inch}"
        if not measure.is_exact:
            low, high = plain(measure.low_mm, up=False), plain(measure.high_mm)
            yield f"{name} from {low} to {high} mm"


# --- the largest circle ---------------------------------------------------------------


def _high_lines(corner: Corner, high: Root) -> Iterator[str]:
    if corner.width is None or corner.height is None:
        yield from _diagonal_alone(corner, high)
        return
    kind = corner.shape.kind
    if corner.diagonal is not None:
        yield from _high_with_diagonal(corner, corner.width, corner.height, high)
    elif kind == "ellipse":
        yield f"an ellipse: its longer side, {plain(high.up())}"
    elif corner.radius is not None:
        yield from _rounded_lines(corner.width, corner.height, corner.radius, up=True)
    else:
        yield from _box_lines(corner.width, corner.height)
        if kind == "triangle":
            yield "that much where the third corner stands over an end of the base"
        elif kind == "unknown":
            yield "that much if the image fills the corners of its box"


def _diagonal_alone(corner: Corner, high: Root) -> Iterator[str]:
    diagonal = corner.diagonal
    assert diagonal is not None
    if corner.shape.is_symmetrical:
        yield (
            f"half a turn leaves {_named(corner)} as it is: its circle is its longest"
            f" diagonal, {plain(diagonal)}"
        )
        return
    square = diagonal * diagonal
    yield f"{_squared(diagonal)} (the longest diagonal)"
    yield f"{plain(square)} x 4 / 3 = {plain(high.square or high.whole**2)}"
    yield root_line(high.square or high.whole**2, up=True)
    yield "that much if the image is as wide every way, like a triangle of three equal sides"


def _high_with_diagonal(
    corner: Corner, width: Fraction, height: Fraction, high: Root
) -> Iterator[str]:
    assert corner.diagonal is not None
    if corner.shape.is_symmetrical:
        yield (
            f"half a turn leaves {_named(corner)} as it is: its circle is its longest"
            f" diagonal, {plain(high.up())}"
        )
        return
    yield from lobe_lines(width, height, corner.diagonal)


def _box_lines(width: Fraction, height: Fraction, up: bool = True) -> Iterator[str]:
    a, b = width * width, height * height
    yield _squared(width)
    yield _squared(height)
    yield f"{plain(a, up=up)} + {plain(b, up=up)} = {plain(a + b, up=up)}"
    yield root_line(a + b, up=up)


def _rounded_lines(
    width: Fraction, height: Fraction, radius: Fraction, *, up: bool
) -> Iterator[str]:
    radius = min(radius, width / 2, height / 2)
    a, b, r2 = width - 2 * radius, height - 2 * radius, 2 * radius
    yield f"two corner radii are {plain(r2)}"
    yield f"{plain(width)} - {plain(r2)} = {plain(a)}; {plain(height)} - {plain(r2)} = {plain(b)}"
    yield from _box_lines(a, b, up)
    total = Root(r2, a * a + b * b)
    root = root_of(a * a + b * b)
    yield f"{_shown(root, up=up)} + {plain(r2)} = {_shown(total, up=up)}"


# --- the smallest circle ----------------------------------------------------------------


def _low_lines(corner: Corner, low: Root) -> Iterator[str]:
    if corner.width is None or corner.height is None:
        yield f"never less than the longest diagonal, {_shown(low, up=False)}"
        return
    width, height = corner.width, corner.height
    kind = corner.shape.kind
    if corner.diagonal is not None and low == length_of(corner.diagonal):
        yield f"never less than the longest diagonal, {_shown(low, up=False)}"
    elif kind == "rectangle":
        yield from _box_lines(width, height, up=False)
    elif corner.radius is not None:
        yield from _rounded_lines(width, height, corner.radius, up=False)
    elif kind == "triangle":
        yield from _least_triangle_lines(width, height, low)
    elif kind == "ellipse":
        yield f"an ellipse: its longer side, {_shown(low, up=False)}"
    else:
        yield f"never less than the longer side, {_shown(low, up=False)}"


def _least_triangle_lines(base: Fraction, height: Fraction, low: Root) -> Iterator[str]:
    if 2 * height <= base:
        yield f"a triangle flatter than half its base: its base, {_shown(low, up=False)}"
        return
    part = base * base / (4 * height)
    yield f"{_squared(base)} (the third corner over the middle of the base)"
    yield f"{plain(base * base)} / (4 x {plain(height)}) = {plain(part, up=False)}"
    yield f"{plain(height)} + {plain(part, up=False)} = {_shown(low, up=False)}"


# --- against the cups -------------------------------------------------------------------


def _cup_lines(query: SizeQuery, low: Root, high: Root, cup: Cup) -> Iterator[str]:
    """How the cup comes to its largest image, and the comparison that settles it."""
    limit, margin_alone, inner = cup_sum(cup)
    yield f"{cup.name} cup: {_image_words(cup, limit, margin_alone, inner)}"
    found = grade(circle_range(query), limit)
    if found is Grade.CANNOT:
        yield f"    {compared(low, limit, '' if low == high else 'at least ')}: cannot fit"
        return
    words = "fits" if found is Grade.FITS else "not sure to fit"
    yield f"    {compared(high, limit, '' if low == high else 'at most ')}: {words}"
    if found is not Grade.FITS and low != high:
        yield f"    {compared(low, limit, 'at least ')}: not sure to be too much"


def _image_words(cup: Cup, limit: Fraction, margin_alone: Fraction, inner: Fraction) -> str:
    """``130 - 15 % = 110.5``, or what stands in its way."""
    if cup.margin.is_fraction:
        size = plain(Fraction(repr(cup.diameter_mm)))
        sum_ = f"{size} - {cup.margin} = {plain(margin_alone, up=False)}"
    else:
        # A margin in mm is counted from the ring on each side.
        sum_ = f"{plain(inner, up=False)} inside the ring - 2 x {cup.margin.value:g}"
        sum_ += f" = {plain(margin_alone, up=False)}"
    if limit < margin_alone:
        return f"{sum_}, but the ring leaves {plain(inner, up=False)}"
    return sum_


def compared(length: Root, limit: Fraction, kind: str = "") -> str:
    """Whether a length is more than a limit, by the exact squares where it is a root."""
    is_more = not length.is_at_most(limit)
    if length.is_fraction:
        words = "is more than" if is_more else "is not more than"
        return f"{kind}{_shown(length, up=is_more)} {words} {plain(limit, up=False)}"
    rest = limit - length.whole
    if rest < 0:
        return f"{kind}{plain(length.whole)} alone is more than {plain(limit, up=False)}"
    left = f"({plain(limit)} - {plain(length.whole)}) squared" if length.whole else _squared(limit)
    if length.whole:
        left += f" = {plain(rest * rest, up=False)}"
    words = "is more" if is_more else "is not more"
    return f"{left}; {kind}{plain(length.square, up=not is_more)} {words}"


# --- words ------------------------------------------------------------------------------


def root_line(square: Fraction, *, up: bool) -> str:
    """``root of 12100 = 110 exactly``, or the rounded root with the trial beside it."""
    root = root_of(square)
    if root.is_fraction:
        return f"root of {plain(square)} = {_shown(root, up=up)}, exactly"
    shown = _shown(root, up=up)
    step = Fraction(1, 100)
    other = Fraction(shown) - step if up else Fraction(shown) + step
    side = "too little" if up else "too much"
    trial = f"{plain(other)} x {plain(other)} = {plain(other * other)}, {side}"
    rounded = "up" if up else "down"
    return f"root of {plain(square, up=up)} = {shown}, rounded {rounded} ({trial})"


def _shown(length: Root, *, up: bool) -> str:
    """All digits of a fraction; of a root two decimals, rounded."""
    if length.is_fraction:
        return plain(length.whole, up=up)
    return decimal_up(length.up()) if up else decimal_down(length.down())


def _squared(length: Fraction) -> str:
    return f"{plain(length)} x {plain(length)} = {plain(length * length)}"


def _named(corner: Corner) -> str:
    kind = corner.shape.kind
    return {"ellipse": "an ellipse", "rectangle": "a rectangle"}.get(kind, "a rounded rectangle")
