"""Grades: never "fits" or "cannot" wrongly, and questions whose answers settle it."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sizing.judges import triangle_circle_mm
from viewer.press import Cup, Margin, Press
from viewer.sizing import (
    CupAnswer,
    Grade,
    Measure,
    Shape,
    SizeQuery,
    answer_size,
    circle_range,
    exact_measure,
    grade,
    max_image_mm,
    parse_measure,
    parse_shape,
    parse_sides,
)

BARE = Margin(0.0, False)


def bare_cup(diameter_mm: float) -> Cup:
    """A cup that prints all of its named diameter."""
    return Cup(f"{diameter_mm:g}", diameter_mm, 0.0, BARE)


def asked(
    sides: str | None = None, diagonal: str | None = None, shape: str = "unknown"
) -> SizeQuery:
    width, height = parse_sides(sides) if sides else (None, None)
    return SizeQuery(
        width, height, parse_measure(diagonal) if diagonal else None, parse_shape(shape)
    )


def answer(query: SizeQuery, cup: Cup) -> CupAnswer:
    return answer_size(query, Press(cups=(cup,))).cups[0]


def grade_in(query: SizeQuery, diameter_mm: float) -> Grade:
    return answer(query, bare_cup(diameter_mm)).grade


# --- exactness -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cup", "expected"),
    [
        (Cup("90", 90.0), "76.5"),
        (Cup("60", 60.0), "51"),
        (Cup("82.5", 82.5), "70.125"),
        (Cup("130", 130.0), "110.5"),
        (Cup("90", 90.0, 8.0), "74"),  # a ring so wide that it decides
        (Cup("90", 90.0, 3.0, Margin(4.0, False)), "76"),
        (Cup("90", 90.0, 3.0, Margin(0.15, True), "inside"), "76.5"),
        (Cup("90", 90.0, 3.0, Margin(0.1, True)), "81"),
    ],
)
def test_the_largest_image_is_exact(cup: Cup, expected: str) -> None:
    assert max_image_mm(cup) == Fraction(expected)
    assert cup.max_image_diameter_mm == pytest.approx(float(expected))


def test_a_third_of_an_inch_leaves_less_room_never_more() -> None:
    cup = Cup("third", float(Fraction(127, 15)), 0.0, BARE)
    assert max_image_mm(cup) <= Fraction(127, 15)


def test_20_x_21_fits_29_with_nothing_to_spare() -> None:
    query = asked("20x21", shape="rectangle")
    found = answer(query, bare_cup(29.0))
    assert (found.grade, found.tight, found.spare_mm) == (Grade.FITS, True, 0)
    assert grade_in(query, 28.999999999) is Grade.CANNOT
    assert grade_in(asked("20x21.000000001", shape="rectangle"), 29.0) is Grade.CANNOT


@pytest.mark.parametrize(("a", "b", "c"), [(3, 4, 5), (5, 12, 13), (8, 15, 17), (65, 72, 97)])
def test_pythagorean_triples_touch(a: int, b: int, c: int) -> None:
    assert grade_in(asked(f"{a / 10}x{b / 10}", shape="rectangle"), c / 10) is Grade.FITS


def test_jung_is_compared_by_squares() -> None:
    # 4 D D <= 3 c c: D = 66.25 gives 5852.0833 <= 76.5 x 76.5 = 5852.25, D = 66.26 does not.
    cup = Cup("90", 90.0)
    assert answer(asked(diagonal="66.25"), cup).grade is Grade.FITS
    assert answer(asked(diagonal="66.26"), cup).grade is Grade.DEPENDS
    assert answer(asked(diagonal="76.5"), cup).grade is Grade.DEPENDS
    assert answer(asked(diagonal="76.51"), cup).grade is Grade.CANNOT


def test_what_every_beginner_believes() -> None:
    assert answer(asked("90x90", shape="rectangle"), Cup("90", 90.0)).grade is Grade.CANNOT
    assert answer(asked("90x1"), Cup("90", 90.0)).grade is Grade.CANNOT
    assert answer(asked("66x88", shape="rectangle"), Cup("130", 130.0)).grade is Grade.FITS


@pytest.mark.parametrize(
    ("shape", "found"),
    [("unknown", "depends"), ("rectangle", "cannot"), ("ellipse", "fits"), ("rounded:33", "fits")],
)
def test_the_shape_decides(shape: str, found: str) -> None:
    assert grade_in(asked("66x88", shape=shape), 90.0) == found


# --- over whole ranges -----------------------------------------------------------------

hundredths = st.integers(2000, 9000).map(lambda n: Fraction(n, 100))
tolerances = st.integers(0, 150).map(lambda n: Fraction(n, 100))
anywhere = st.integers(-10, 10).map(lambda n: Fraction(n, 10))
kinds = st.sampled_from(("rectangle", "ellipse", "triangle", "unknown", "rounded"))


@settings(max_examples=300, deadline=None)
@given(hundredths, hundredths, tolerances, tolerances, kinds, hundredths, anywhere, anywhere)
def test_the_grade_holds_over_the_whole_range(
    width: Fraction,
    height: Fraction,
    loose: Fraction,
    loose_too: Fraction,
    kind: str,
    limit: Fraction,
    at: Fraction,
    at_too: Fraction,
) -> None:
    shape = Shape("rounded", exact_measure(4)) if kind == "rounded" else Shape(kind)  # type: ignore[arg-type]
    query = SizeQuery(Measure(width, loose), Measure(height, loose_too), None, shape)
    found = grade(circle_range(query), limit * 2)
    true = SizeQuery(Measure(width + at * loose), Measure(height + at_too * loose_too), None, shape)
    truth = grade(circle_range(true), limit * 2)
    assert found in (truth, Grade.TOO_CLOSE)
    assert truth is not Grade.TOO_CLOSE


@settings(max_examples=150, deadline=None)
@given(hundredths, hundredths, st.integers(0, 100), tolerances, hundredths, anywhere)
def test_the_grade_holds_with_a_loose_diagonal_too(
    width: Fraction, height: Fraction, part: int, loose: Fraction, limit: Fraction, at: Fraction
) -> None:
    longer = max(width, height)
    room = Fraction(int(math.hypot(width, height) * 1000), 1000) - longer
    true = longer + max(room, Fraction(0)) * part / 100
    said = Measure(true - at * loose, loose)
    query = SizeQuery(Measure(width), Measure(height), said)
    truth = grade(circle_range(SizeQuery(Measure(width), Measure(height), Measure(true))), limit)
    assert grade(circle_range(query), limit) in (truth, Grade.TOO_CLOSE)


def test_about_66_x_about_88_is_too_close_to_call_in_110_5() -> None:
    found = answer(asked("~66x~88", shape="rectangle"), Cup("130", 130.0))
    assert found.grade is Grade.TOO_CLOSE
    # 66.5 x 88.2: 12201.49 <= 110.5 x 110.5 = 12210.25, so 0.2 is enough for the height alone.
    assert found.ask == "ask for the height to +-0.2 mm (now +-0.5)"


def test_a_number_asked_for_as_exactly_as_said_settles_it() -> None:
    found = answer(asked("66x~88", shape="rectangle"), Cup("130", 130.0))
    assert found.grade is Grade.FITS  # 88.5: 12188.25
    loose = asked("66+-2x88+-2", shape="rectangle")
    told = answer(loose, Cup("130", 130.0)).ask
    exactly = re.fullmatch(r"ask for the width and height to \+-([0-9.]+) mm each", told)
    assert exactly is not None
    sharp = asked(f"66+-{exactly[1]}x88+-{exactly[1]}", shape="rectangle")
    assert answer(sharp, Cup("130", 130.0)).grade is Grade.FITS


def test_numbers_at_the_limit_itself_cannot_be_asked_more_exactly() -> None:
    found = answer(asked("~20x~21", shape="rectangle"), bare_cup(29.0))
    assert found.grade is Grade.TOO_CLOSE
    assert "at the limit" in found.ask


# --- what to ask for ----------------------------------------------------------------------


def test_the_diagonal_asked_for_settles_it() -> None:
    cup = Cup("90", 90.0)
    told = answer(asked("54x60"), cup).ask
    found = re.search(r"up to ([0-9.]+) mm it fits, above ([0-9.]+) mm it cannot", told)
    assert found is not None
    sure, limit = Fraction(found[1]), Fraction(found[2])
    step = Fraction(1, 100)
    assert answer(asked("54x60", str(float(sure))), cup).grade is Grade.FITS
    assert answer(asked("54x60", str(float(sure + step))), cup).grade is Grade.DEPENDS
    assert answer(asked("54x60", str(float(limit + step))), cup).grade is Grade.CANNOT


def test_the_half_turn_asked_for_settles_it() -> None:
    cup = Cup("90", 90.0)
    assert "half a turn" in answer(asked(diagonal="70"), cup).ask
    assert answer(asked(diagonal="70", shape="ellipse"), cup).grade is Grade.FITS


def test_where_the_third_corner_may_stand() -> None:
    told = answer(asked("60x52", shape="triangle"), Cup("90", 90.0)).ask
    found = re.search(r"within ([0-9.]+) mm of the base's middle", told)
    assert found is not None
    room = float(found[1])
    assert triangle_circle_mm((0, 0), (60, 0), (30 + room, 52)) <= 76.5
    assert triangle_circle_mm((0, 0), (60, 0), (30 + room + 0.01, 52)) > 76.5


def test_nothing_is_asked_where_all_is_said() -> None:
    for query, cup in ((asked("20x30"), Cup("60", 60.0)), (asked("90x90"), Cup("90", 90.0))):
        assert answer(query, cup).ask == ""


# --- greatest sizes -------------------------------------------------------------------------


@pytest.mark.parametrize("shape", ["rectangle", "unknown", "ellipse", "rounded:5", "triangle"])
@pytest.mark.parametrize("sides", ["40x50", "50x40", "60x30"])
def test_the_greatest_sides_fit_and_a_hair_more_does_not(shape: str, sides: str) -> None:
    cup = Cup("90", 90.0)
    found = answer(asked(sides, shape=shape), cup)
    hair = Fraction(1, 10**6)
    width, height = asked(sides).sides
    for more, expected in ((-hair, True), (hair, False)):
        assert found.greatest_width is not None and found.greatest_height is not None
        for a, b in (
            (found.greatest_width.down() + more, height.nominal_mm),
            (width.nominal_mm, found.greatest_height.down() + more),
        ):
            query = SizeQuery(Measure(a), Measure(b), None, parse_shape(shape))
            assert (answer(query, cup).grade is Grade.FITS) is expected


@pytest.mark.parametrize(
    ("diameter_mm", "square_mm"),
    [(60, 42.4264), (70, 49.4975), (80, 56.5685), (90, 63.6396), (100, 70.7107), (130, 91.9239)],
)
def test_the_largest_square(diameter_mm: float, square_mm: float) -> None:
    found = answer(asked("20x20"), bare_cup(diameter_mm))
    assert float(found.largest_square) == pytest.approx(square_mm, abs=5e-5)


def test_too_high_leaves_no_width() -> None:
    found = answer(asked("66x88", shape="rectangle"), Cup("90", 90.0))
    assert found.greatest_width is None
    assert float(found.greatest_height or 0) == pytest.approx(math.sqrt(76.5**2 - 66**2))


def test_the_scale_that_is_sure_to_fit_fits() -> None:
    found = answer(asked("66x88"), Cup("90", 90.0))
    scale = found.sure_scale
    query = SizeQuery(Measure(66 * scale), Measure(88 * scale), None, Shape("rectangle"))
    assert answer(query, Cup("90", 90.0)).grade is Grade.FITS
    assert float(scale) == pytest.approx(76.5 / 110)
