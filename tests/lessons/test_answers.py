"""Answers: what counts as right, compared with decimals of sixty digits; how they are written."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal, getcontext, localcontext
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from viewer.errors import UsageError
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer, Rounding, exactly, typed_number
from viewer.sizing.roots import Root, length_of, root_of

SQUARES = st.fractions(min_value=0, max_value=40000, max_denominator=50)
WITHIN = st.sampled_from([Fraction(1, 10), Fraction(1, 2), Fraction(1), Fraction(1, 100)])
NO_NUMBERS = ["", "   ", "mm", ".", ",", "-", "twelve", "1.2.3", "1,234.5", "1e5", "nan", "inf"]
NO_NUMBERS += ["4 5", "5 cm", "5 mm mm", "--3", "0x10", "1/2"]
UNITS = st.sampled_from(["mm", "deg", "%", ""])


def decimal_of(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


@pytest.fixture(autouse=True)
def _sixty_digits() -> object:
    with localcontext() as context:
        context.prec = 60
        yield


def written(value: Fraction, decimals: int) -> str:
    getcontext().prec = 60
    return f"{decimal_of(value).quantize(Decimal(1).scaleb(-decimals)):f}"


# --- right or wrong ---------------------------------------------------------------


@given(
    square=SQUARES,
    off=st.fractions(min_value=-3, max_value=3, max_denominator=1000),
    within=WITHIN,
    negative=st.booleans(),
)
def test_right_is_what_is_less_than_within_away(
    square: Fraction, off: Fraction, within: Fraction, negative: bool
) -> None:
    getcontext().prec = 60
    truth = decimal_of(square).sqrt() * (-1 if negative else 1)
    text = f"{(truth + decimal_of(off)).quantize(Decimal('0.001')):f}"
    away = abs(Decimal(text) - truth)
    assume(abs(away - decimal_of(within)) > Decimal("1e-40"))
    answer = NumberAnswer(root_of(square), within=within, is_negative=negative)
    assert answer.is_right(text) == (away < decimal_of(within))


@given(square=SQUARES)
def test_one_decimal_rounded_up_down_and_to_the_nearest_all_count_and_no_other(
    square: Fraction,
) -> None:
    getcontext().prec = 60
    truth = decimal_of(square).sqrt()
    answer = NumberAnswer(root_of(square))
    tenth = Decimal("0.1")
    low, high = (truth.quantize(tenth, rounding=way) for way in (ROUND_FLOOR, ROUND_CEILING))
    nearest = truth.quantize(tenth, rounding=ROUND_HALF_UP)
    assert all(answer.is_right(f"{value:f}") for value in (low, high, nearest))
    assert not answer.is_right(f"{low - tenth:f}")
    assert not answer.is_right(f"{high + tenth:f}")


@pytest.mark.parametrize(
    ("typed", "is_right"),
    [("42.4", True), ("42.5", True), ("42,4", True), ("42.3", False), ("42.6", False)],
)
def test_the_square_in_a_circle_of_60(typed: str, is_right: bool) -> None:
    # 60 / root 2 = 42.4264 (check values, section 2).
    assert NumberAnswer(root_of(Fraction(1800))).is_right(typed) is is_right


def test_exactly_within_away_is_wrong() -> None:
    answer = NumberAnswer(length_of(25))
    assert [answer.is_right(text) for text in ("24.9", "24.91", "25", "25.09", "25.1")] == [
        False,
        True,
        True,
        True,
        False,
    ]


def test_nothing_at_all_may_be_asked_for() -> None:
    exact = NumberAnswer(length_of(7), within=Fraction(0))
    assert exact.is_right("7") and exact.is_right("7,00") and not exact.is_right("7.001")
    zero = NumberAnswer(length_of(0))
    assert zero.is_right("0") and zero.is_right("-0.09") and not zero.is_right("0.1")


def test_the_sign_counts() -> None:
    answer = NumberAnswer(exactly("2.4"), is_negative=True)
    for text in ("-2.4", "\u22122.4", "\u20132.4", "- 2,4 mm"):
        assert answer.is_right(text)
    assert not answer.is_right("2.4")
    assert not NumberAnswer(exactly("2.4")).is_right("-2.4")


@given(st.decimals(min_value=-9999, max_value=9999, places=3), UNITS)
def test_comma_unit_and_minus_are_read(value: Decimal, unit: str) -> None:
    text = f"{value:f}"
    names = {"mm": " mm", "deg": "\u00b0", "%": " %", "": ""}
    for form in (
        text,
        text.replace(".", ","),
        f" {text}{names[unit]} ",
        text + names[unit].upper(),
    ):
        assert typed_number(form, unit) == Fraction(value)
    assert typed_number(text.replace("-", "\u2212"), unit) == Fraction(value)


@pytest.mark.parametrize("text", ["45", "45\u00b0", "45 deg", "45 Degrees", "45 degree"])
def test_degrees_may_be_named(text: str) -> None:
    assert typed_number(text, "deg") == 45


@pytest.mark.parametrize(
    "text",
    [*NO_NUMBERS, "9" * 25, "\u0663", "60\x00", "6\n0"],
)
def test_what_is_no_number_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(UsageError) as caught:
        typed_number(text, "mm")
    assert "\n" not in caught.value.message
    assert len(caught.value.message) < 100


@given(st.text(max_size=60), UNITS)
def test_any_text_is_a_number_or_refused(text: str, unit: str) -> None:
    try:
        assert isinstance(typed_number(text, unit), Fraction)
    except UsageError as error:
        assert "\n" not in error.message


# --- the safe side ---------------------------------------------------------------


@given(
    square=SQUARES,
    off=st.fractions(min_value=-1, max_value=1, max_denominator=1000),
    rounding=st.sampled_from(["nearest", "up", "down"]),
    negative=st.booleans(),
)
def test_safe_is_not_below_what_is_needed_nor_above_the_largest(
    square: Fraction, off: Fraction, rounding: Rounding, negative: bool
) -> None:
    getcontext().prec = 60
    truth = decimal_of(square).sqrt() * (-1 if negative else 1)
    text = f"{(truth + decimal_of(off)).quantize(Decimal('0.001')):f}"
    assume(abs(Decimal(text) - truth) > Decimal("1e-40"))
    expected = {"nearest": True, "up": Decimal(text) > truth, "down": Decimal(text) < truth}
    answer = NumberAnswer(root_of(square), is_negative=negative, rounding=rounding)
    assert answer.is_safe(text) is expected[rounding]
    assert answer.is_safe(answer.shown())


@pytest.mark.parametrize(
    ("exact", "rounding", "safe", "unsafe"),
    [
        # The largest square in 60: 42.4264 (check values, section 2).
        (root_of(Fraction(1800)), "down", ["42.4", "42.42", "0"], ["42.43", "42.5"]),
        (root_of(Fraction(7200)), "up", ["84.9", "84.86"], ["84.85", "84.8"]),
        # To the last digit: 20 x 21 needs 29 and not a hair more.
        (root_of(Fraction(841)), "up", ["29", "29.0"], ["28.99999999999999999999"]),
        (root_of(Fraction(841)), "down", ["29", "28.9"], ["29.00000000000000000001"]),
        # Root 2 is 1.41421356237309504880168...
        (root_of(Fraction(2)), "up", ["1.41421356237309504881"], ["1.41421356237309504880"]),
        (root_of(Fraction(2)), "down", ["1.41421356237309504880"], ["1.41421356237309504881"]),
        (root_of(Fraction(1800)), "nearest", ["42.4", "42.5"], []),
    ],
)
def test_both_sides_to_the_last_digit(
    exact: Root, rounding: Rounding, safe: list[str], unsafe: list[str]
) -> None:
    answer = NumberAnswer(exact, rounding=rounding)
    assert [answer.is_safe(text) for text in safe] == [True] * len(safe)
    assert [answer.is_safe(text) for text in unsafe] == [False] * len(unsafe)


def test_safe_with_a_sign_is_towards_plus_or_minus_infinity() -> None:
    up = NumberAnswer(exactly("2.4"), is_negative=True, rounding="up")
    down = NumberAnswer(exactly("2.4"), is_negative=True, rounding="down")
    assert [up.is_safe(text) for text in ("-2.3", "-2.4", "-2.5", "2.4")] == [
        True,
        True,
        False,
        True,
    ]
    assert [down.is_safe(text) for text in ("-2.3", "-2.4", "-2.5")] == [False, True, True]


def test_nonsense_is_on_no_side() -> None:
    for rounding in ("nearest", "up", "down"):
        with pytest.raises(UsageError):
            NumberAnswer(length_of(2), rounding=rounding).is_safe("two")


# --- how it is written ---------------------------------------------------------------


@given(SQUARES, st.sampled_from(["nearest", "up", "down"]), st.booleans())
def test_rounded_as_asked_with_its_sign(
    square: Fraction, rounding: Rounding, negative: bool
) -> None:
    getcontext().prec = 60
    answer = NumberAnswer(root_of(square), is_negative=negative, rounding=rounding)
    shown = Decimal(answer.number().replace("\u2212", "-"))
    truth = decimal_of(square).sqrt() * (-1 if negative else 1)
    if answer.is_whole_shown:
        assert shown == truth
    elif rounding == "up":
        assert Decimal(0) < shown - truth < Decimal("0.01")
    elif rounding == "down":
        assert Decimal(0) < truth - shown < Decimal("0.01")
    else:
        assert abs(shown - truth) <= Decimal("0.005")
    assert answer.number() not in ("\u22120", "\u22120.00")


@given(SQUARES, st.sampled_from(["nearest", "up", "down"]), st.booleans(), UNITS)
def test_what_is_shown_is_a_right_answer(
    square: Fraction, rounding: Rounding, negative: bool, unit: str
) -> None:
    answer = NumberAnswer(root_of(square), unit, is_negative=negative, rounding=rounding)
    assert answer.is_right(answer.shown())


@pytest.mark.parametrize(
    ("exact", "rounding", "shown"),
    [
        (root_of(Fraction(12100)), "up", "110\u00a0mm"),
        (exactly("63.75"), "up", "63.75\u00a0mm"),
        (exactly("76.5"), "down", "76.5\u00a0mm"),
        (root_of(Fraction(7200)), "up", "84.86\u00a0mm"),
        (root_of(Fraction(7200)), "nearest", "84.85\u00a0mm"),
        (root_of(Fraction(1800)), "down", "42.42\u00a0mm"),
        (root_of(Fraction(1800)), "nearest", "42.43\u00a0mm"),
        (exactly(Fraction(1, 3)), "up", "0.34\u00a0mm"),
        (Root(Fraction(6), Fraction(2)), "down", "7.41\u00a0mm"),
        (exactly("0.001"), "down", "0.00\u00a0mm"),
    ],
)
def test_written_as_worked(exact: Root, rounding: Rounding, shown: str) -> None:
    assert NumberAnswer(exact, rounding=rounding).shown() == shown


def test_other_units_are_written_as_people_do() -> None:
    assert NumberAnswer(length_of(45), "deg").shown() == "45\u00b0"
    assert NumberAnswer(exactly("36.8699"), "deg").shown() == "36.9\u00b0"
    assert NumberAnswer(length_of(45), "deg", is_negative=True).shown() == "\u221245\u00b0"
    assert NumberAnswer(exactly("91.3"), "%").shown() == "91.3\u00a0%"
    assert NumberAnswer(length_of(3), "").shown() == "3"


def test_decimals_are_taken_as_they_are_written() -> None:
    assert exactly(63.75) == exactly("63.75") == length_of(Fraction(255, 4))
    assert exactly(0.1) == length_of(Fraction(1, 10))


# --- choices -----------------------------------------------------------------------


def test_a_choice_is_right_or_wrong_or_none() -> None:
    answer = ChoiceAnswer(("fits", "cannot"), 1)
    assert answer.is_right("1") and answer.is_right(" 1 ") and not answer.is_right("0")
    assert answer.shown() == "cannot"
    for text in ("2", "-1", "", "cannot", "1.0", "01", "\u0661"):
        with pytest.raises(UsageError, match="none of the answers"):
            answer.is_right(text)


@pytest.mark.parametrize("right", [-1, 2])
def test_the_right_option_must_be_there(right: int) -> None:
    with pytest.raises(ValueError, match="no option"):
        ChoiceAnswer(("fits", "cannot"), right)
