"""The sum as it is read out: every step recomputed from its own words."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from tests.sizing.test_grades import asked
from viewer.press import EXAMPLE_CUPS, Cup
from viewer.sizing import SizeQuery, decimal_down, decimal_up, plain, worked_sums


def lines(query: SizeQuery, *cups: Cup) -> list[str]:
    return [line.strip() for sum_ in worked_sums(query, cups) for line in sum_.lines]


def test_the_sum_by_hand() -> None:
    assert lines(asked("66x88", shape="rectangle"), Cup("130", 130.0)) == [
        "66 x 66 = 4356",
        "88 x 88 = 7744",
        "4356 + 7744 = 12100",
        "root of 12100 = 110, exactly",
        "130 cup: 130 - 15 % = 110.5",
        "110 is not more than 110.5: fits",
    ]


def test_a_root_comes_with_the_trial_beside_it() -> None:
    told = lines(asked("54x80", shape="rectangle"), Cup("90", 90.0))
    assert "root of 9316 = 96.52, rounded up (96.51 x 96.51 = 9314.1801, too little)" in told
    assert "76.5 x 76.5 = 5852.25; 9316 is more: cannot fit" in told


def test_jung_by_hand() -> None:
    told = lines(asked(diagonal="60"), Cup("90", 90.0))
    assert "60 x 60 = 3600 (the longest diagonal)" in told
    assert "3600 x 4 / 3 = 4800" in told
    assert any(line.startswith("root of 4800 = 69.29, rounded up") for line in told)
    assert "76.5 x 76.5 = 5852.25; at most 4800 is not more: fits" in told


def test_a_wide_ring_and_a_margin_in_mm_are_said() -> None:
    told = lines(asked("20x30"), Cup("90", 90.0, 8.0))
    assert "90 cup: 90 - 15 % = 76.5, but the ring leaves 74" in told


def test_inches_are_converted_first() -> None:
    told = lines(asked("2 5/8in x 3in"), Cup("130", 130.0))
    assert told[0] == "width 2 5/8in = 66.675 mm (an inch is 25.4 mm)"


def test_ranges_are_worked_at_both_ends() -> None:
    told = lines(asked("~66x~88", shape="rectangle"), Cup("130", 130.0))
    assert "width from 65.5 to 66.5 mm" in told
    assert "66.5 x 66.5 = 4422.25" in told and "65.5 x 65.5 = 4290.25" in told
    assert "110.5 x 110.5 = 12210.25; at most 12254.5 is more: not sure to fit" in told


QUERIES = [
    ("66x88", None, "unknown"),
    ("66x88", None, "ellipse"),
    ("66x88", None, "triangle"),
    ("88x20", None, "triangle"),
    ("66x88", None, "rounded:7.5"),
    ("66.66x88.88", "95.5", "unknown"),
    ("66x66", "72", "unknown"),
    ("66x88", "110", "unknown"),
    ("66x88", "110", "rectangle"),
    ("60x60", "60", "unknown"),
    ("~66x88+-0.25", "~95", "triangle"),
    (None, "80", "unknown"),
    (None, "~80", "ellipse"),
    ("1/3in x 3in", None, "rectangle"),
]


@pytest.mark.parametrize(("sides", "diagonal", "shape"), QUERIES)
def test_every_product_is_right(sides: str | None, diagonal: str | None, shape: str) -> None:
    found = 0
    for line in lines(asked(sides, diagonal, shape), *EXAMPLE_CUPS):
        for a, b, product in re.findall(r"(?<![-\d.] )\b([\d.]+) x ([\d.]+) = ([\d.]+)", line):
            # A third of an inch is read out with four decimals.
            assert float(a) * float(b) == pytest.approx(float(product), abs=0.02)
            found += 1
        for a, b, total in re.findall(r"^([\d.]+) \+ ([\d.]+) = ([\d.]+)$", line):
            assert float(a) + float(b) == pytest.approx(float(total), abs=0.02)
    # A shape that half a turn leaves as it is needs no product.
    assert found or shape in ("ellipse", "rectangle")


@pytest.mark.parametrize(
    ("value", "down", "up", "whole"),
    [
        (Fraction(1, 3), "0.33", "0.34", "0.3334"),
        (Fraction(-1, 3), "-0.34", "-0.33", "-0.3333"),
        (Fraction(110), "110.00", "110.00", "110"),
        (Fraction("12210.25"), "12210.25", "12210.25", "12210.25"),
        (Fraction("0.000001"), "0.00", "0.01", "0.000001"),
        (Fraction(100), "100.00", "100.00", "100"),
        (Fraction(0), "0.00", "0.00", "0"),
    ],
)
def test_decimals(value: Fraction, down: str, up: str, whole: str) -> None:
    assert (decimal_down(value), decimal_up(value), plain(value)) == (down, up, whole)
