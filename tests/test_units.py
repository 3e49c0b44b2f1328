"""Lengths as people write them, and numbers rounded to the careful side."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer import units
from viewer.errors import UsageError

READABLE = [
    ("48mm", 48.0),
    ("48 mm", 48.0),
    ("48", 48.0),
    ("  48  ", 48.0),
    ("4.8cm", 48.0),
    ("0.048 m", 48.0),
    ("12,5", 12.5),
    ("12.5", 12.5),
    ("12,5 mm", 12.5),
    ("12,5\u00a0mm", 12.5),
    (".5", 0.5),
    (",5", 0.5),
    ("5.", 5.0),
    ("0,125", 0.125),
    ("0.1", 0.1),
    ("48MM", 48.0),
    ("1/2 in", 12.7),
    ("1/2in", 12.7),
    ("1 / 2 in", 12.7),
    ("1 1/2 in", 38.1),
    ("1-1/2 in", 38.1),
    ("2in", 50.8),
    ("2 inch", 50.8),
    ("2 inches", 50.8),
    ('2"', 50.8),
    ("2\u2033", 50.8),
    ("3/4", 0.75),
    ("36pt", 12.7),
    ("-3", -3.0),
    ("- 3 mm", -3.0),
    ("\u22123 mm", -3.0),
    ("+3", 3.0),
    ("-1 1/2 in", -38.1),
    ("1,50", 1.5),
    ("1234,567", 1234.567),
    ("1234.567", 1234.567),
    # W3C CSS Values and Units 3, section 6.2: 1 in = 2.54 cm = 72 pt.
    ("72pt", 25.4),
    ("283.4646pt", pytest.approx(100.0, abs=2e-5)),
    # USGA/R&A Rules of Golf, Appendix III: a ball is at least 1.680 in.
    ("1.680 in", 42.672),
    # ISO 216: A4 is 210 mm wide; in points computed.
    ("595.2756 pt", pytest.approx(210.0, abs=2e-5)),
]

UNREADABLE = [
    "",
    "   ",
    "mm",
    "abc",
    "4 8",
    "48 mm wide",
    "48mm48",
    "12..5",
    "12,5.3",
    "1.234,5",
    "1,234.5",
    "--3",
    "1/0 in",
    "1/2/3",
    "1 1 /2/ in",
    "nan",
    "inf",
    "-inf",
    "1e3",
    "48 px",
    "48 ft",
    "48'",
    "15%",
    "1,234",
    "12,500 mm",
    "\u0664\u0668",
    "48\nmm\x00",
    "9" * 400,
    "9" * 5000,
]


@pytest.mark.parametrize(("text", "expected_mm"), READABLE)
def test_readable_lengths(text: str, expected_mm: float) -> None:
    assert units.parse_length_mm(text) == expected_mm


@pytest.mark.parametrize("text", UNREADABLE)
def test_unreadable_lengths_are_told_in_one_line(text: str) -> None:
    with pytest.raises(UsageError) as caught:
        units.parse_length_mm(text, "ring width")
    message = caught.value.message
    assert message.startswith("ring width")
    assert "\n" not in message and len(message) < 200
    assert caught.value.code == "usage"


def test_the_message_quotes_what_was_typed() -> None:
    with pytest.raises(UsageError, match="cup diameter '48 px': unknown unit 'px'"):
        units.parse_length_mm("48 px", "cup diameter")
    with pytest.raises(UsageError, match=r"'1,234' can be read in two ways; write 1\.234 or 1234"):
        units.parse_length_mm("1,234")
    with pytest.raises(UsageError, match="divides by zero"):
        units.parse_length_mm("1/0 in")


@pytest.mark.parametrize("text", ["0", "0 mm", "0/5 in", "-1", "-0", "nan", "inf", "-inf", ""])
def test_positive_lengths_refuse_the_rest(text: str) -> None:
    with pytest.raises(UsageError, match="cup"):
        units.parse_positive_mm(text, "cup")


def test_positive_lengths_are_read() -> None:
    assert units.parse_positive_mm("82,5") == 82.5


@given(st.floats(0.0, 1e6).map(lambda x: round(x, 4)))
def test_what_is_written_out_is_read_back(size_mm: float) -> None:
    assert units.parse_length_mm(f"{size_mm:.4f} mm") == size_mm
    assert units.parse_length_mm(f"{size_mm:.4f}".replace(".", ",")) == size_mm


@given(st.text(max_size=80))
def test_any_text_is_a_finite_length_or_a_usage_error(text: str) -> None:
    try:
        size_mm = units.parse_length_mm(text)
    except UsageError as error:
        assert "\n" not in error.message
    else:
        assert math.isfinite(size_mm)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("15%", ("%", 0.15)),
        ("15 %", ("%", 0.15)),
        ("12,5%", ("%", 0.125)),
        ("0%", ("%", 0.0)),
        ("3", ("mm", 3.0)),
        ("3mm", ("mm", 3.0)),
        ("1/8 in", ("mm", 3.175)),
        ("0", ("mm", 0.0)),
    ],
)
def test_percent_or_mm(text: str, expected: tuple[str, float]) -> None:
    assert units.parse_percent_or_mm(text) == expected


@pytest.mark.parametrize("text", ["100%", "250%", "-5%", "-3", "%", "15%%", "nan%", "x", ""])
def test_percent_or_mm_refuses_nonsense(text: str) -> None:
    with pytest.raises(UsageError, match="margin"):
        units.parse_percent_or_mm(text)


@pytest.mark.parametrize(
    ("value", "down", "up"),
    [
        (0.199, "0.19", "0.20"),
        (-3.635, "-3.64", "-3.63"),
        (0.29, "0.29", "0.29"),
        (0.1 + 0.2, "0.30", "0.30"),
        (110.00000000000001, "110.00", "110.00"),
        (109.99999999999999, "110.00", "110.00"),
        (-0.0, "0.00", "0.00"),
        (-1e-12, "0.00", "0.00"),
        (-1e-6, "-0.01", "0.00"),
        (1e-6, "0.00", "0.01"),
        (75.0, "75.00", "75.00"),
        (1e21, "1000000000000000000000.00", "1000000000000000000000.00"),
    ],
)
def test_rounding_for_people(value: float, down: str, up: str) -> None:
    assert units.format_down(value, 2) == down
    assert units.format_up(value, 2) == up
    assert units.format_size_up_mm(value) == up


def test_other_numbers_of_decimals() -> None:
    assert units.format_down(1.29, 1) == "1.2"
    assert units.format_up(1.21, 0) == "2"
    assert units.format_down(0.98765, 4) == "0.9876"


@given(st.floats(-1e6, 1e6), st.integers(0, 5))
def test_rounding_never_promises_too_much(value: float, decimals: int) -> None:
    down, up = units.format_down(value, decimals), units.format_up(value, decimals)
    assert float(down) <= value + 2e-9
    assert float(up) >= value - 2e-9
    assert 0.0 <= float(up) - float(down) <= 1.0001 * 10.0**-decimals


@pytest.mark.parametrize(
    ("clearance_mm", "text"),
    [(0.199, "+0.19"), (-3.635, "-3.64"), (0.0, "+0.00"), (-0.0, "+0.00"), (-1e-12, "+0.00")],
)
def test_clearance_always_has_a_sign(clearance_mm: float, text: str) -> None:
    assert units.format_clearance_mm(clearance_mm) == text


def test_true_minus_on_request_only() -> None:
    assert units.format_clearance_mm(-3.635, true_minus=True) == "\u22123.64"
    assert units.format_clearance_mm(0.25, true_minus=True) == "+0.25"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_is_not_written_as_one(value: float) -> None:
    for write in (units.format_down, units.format_up, units.format_clearance_mm):
        with pytest.raises(ValueError, match="cannot write"):
            write(value)
