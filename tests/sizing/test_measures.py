"""Numbers as they are said on the telephone, with what they may be off by."""

from __future__ import annotations

from fractions import Fraction

import pytest

from viewer.errors import UsageError
from viewer.sizing import SizeQuery, parse_measure, parse_shape, parse_sides


@pytest.mark.parametrize(
    ("text", "nominal", "tolerance"),
    [
        ("66", "66", "0"),
        ("66.0", "66", "0"),
        ("66,5 mm", "66.5", "0"),
        ("~48", "48", "0.5"),
        ("~480", "480", "0.5"),
        ("~48.0", "48", "0.05"),
        ("~ 48,25mm", "48.25", "0.005"),
        ("~4.8cm", "48", "0.5"),
        ("\u224848", "48", "0.5"),
        ("66+-0.5", "66", "0.5"),
        ("66 +- 1", "66", "1"),
        ("66\u00b11,5", "66", "1.5"),
        ("66+/-0.5mm", "66", "0.5"),
        ("2 5/8in", "66.675", "0"),
        ("~2 5/8in", "66.675", "1.5875"),  # a sixteenth of an inch
        ("2 5/8+-1/16in", "66.675", "1.5875"),
        ("2in+-0.5mm", "50.8", "0.5"),
        ('3"', "76.2", "0"),
        ("~2.5 in", "63.5", "1.27"),
    ],
)
def test_numbers(text: str, nominal: str, tolerance: str) -> None:
    found = parse_measure(text)
    assert (found.nominal_mm, found.tolerance_mm) == (Fraction(nominal), Fraction(tolerance))
    assert found.low_mm + found.high_mm == 2 * found.nominal_mm


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("0", "greater than zero"),
        ("-5", "greater than zero"),
        ("nan", "not a length"),
        ("inf", "not a length"),
        ("1e3", "not a length"),
        ("5 furlongs", "unknown unit"),
        ("1,234", "two ways"),
        ("66+-70", "zero or less"),
        ("66+--1", "no sign"),
        ("66+-1+-2", "one tolerance"),
        ("~66+-1", "either ~ or"),
        ("2in+-0.5", "behind the tolerance"),
        ("1/0in", "divides by zero"),
        ("100001", "100000"),
        ("9" * 200, "too long"),
        ("~", "empty"),
    ],
)
def test_bad_numbers(text: str, told: str) -> None:
    with pytest.raises(UsageError, match=told) as caught:
        parse_measure(text, "width")
    assert "\n" not in caught.value.message


@pytest.mark.parametrize("text", ["66x88", "66 x 88", "66X88", "66\u00d788", "66*88", "66 by 88"])
def test_sides(text: str) -> None:
    width, height = parse_sides(text)
    assert (width.nominal_mm, height.nominal_mm) == (66, 88)


def test_each_side_has_its_own_tolerance() -> None:
    width, height = parse_sides("~66x88+-1")
    assert (width.tolerance_mm, height.tolerance_mm) == (Fraction(1, 2), 1)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("66", "width x height"),
        ("66x88x5", "width x height"),
        ("x88", "width x height"),
        ("66x", "width x height"),
        ("66x3in", "no unit"),
        ("2 5/8 x 3in", "no unit"),
        ("66pxx88px", "pixels"),
        ("-66x88", "greater than zero"),
        ("66x0", "greater than zero"),
    ],
)
def test_bad_sides(text: str, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        parse_sides(text)


def test_bare_numbers_beside_millimeters_are_millimeters() -> None:
    assert [side.nominal_mm for side in parse_sides("66x88mm")] == [66, 88]


def asked(sides: str | None = None, diagonal: str | None = None, shape: str = "unknown") -> None:
    width, height = parse_sides(sides) if sides else (None, None)
    SizeQuery(width, height, parse_measure(diagonal) if diagonal else None, parse_shape(shape))


@pytest.mark.parametrize(
    ("sides", "diagonal", "shape", "told"),
    [
        (None, None, "unknown", "give width x height"),
        ("66x88", "80", "unknown", "less than the longer side"),
        ("66x88", "110.01", "unknown", "more than 66 x 88 mm has room for"),
        ("66x88", "95", "rectangle", "longest diagonal of 110 mm, not 95"),
        ("66x88", "95", "ellipse", "longest diagonal of 88 mm"),
        ("60x60", "61", "triangle", "longest diagonal from 67.082"),
        ("66x88", None, "rounded:33.1", "too large"),
        (None, "60", "rounded:31", "too large"),
        ("2in x 3in", None, "rounded:3", "no unit"),
        ("2in x 3in", "80", "unknown", "no unit"),
        ("54x80", "96.52", "unknown", "written ~96.52"),
    ],
)
def test_contradictions(sides: str | None, diagonal: str | None, shape: str, told: str) -> None:
    with pytest.raises(UsageError, match=told) as caught:
        asked(sides, diagonal, shape)
    assert "\n" not in caught.value.message


@pytest.mark.parametrize(
    ("sides", "diagonal", "shape"),
    [
        ("66x88", "110", "rectangle"),
        ("66x88", "110", "unknown"),
        ("66x88", "88", "ellipse"),
        ("54x80", "~96.52", "rectangle"),
        ("~66x~88", "~111", "rectangle"),
        ("66x88", None, "rounded:33"),
        ("60x60", "67.1", "triangle"),
    ],
)
def test_numbers_that_agree(sides: str, diagonal: str | None, shape: str) -> None:
    asked(sides, diagonal, shape)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("hexagon", "not known"),
        ("", "not known"),
        ("rounded", "corner radius"),
        ("rounded:", "corner radius"),
        ("rounded:0", "rectangle"),
        ("rounded:-2", "greater than zero"),
        ("rounded:x", "unknown unit|not a length"),
        ("ellipse:3", "only rounded"),
    ],
)
def test_bad_shapes(text: str, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        parse_shape(text)
