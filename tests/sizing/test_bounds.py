"""Bounds of the smallest circle: published values, and searches for shapes that break them."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import differential_evolution

from tests.sizing.judges import (
    Point,
    box_mm,
    diagonal_mm,
    smallest_circle_mm,
    triangle_circle_mm,
    witnesses,
)
from viewer.sizing import Measure, Shape, SizeQuery, circle_range, exact_measure
from viewer.sizing.three_lobes import has_room_for_jung, widest_lobes

SLACK_MM = 1e-9
"""What floats may lose in the judges."""


def query(
    width: float | str | None = None,
    height: float | str | None = None,
    diagonal: float | str | None = None,
    shape: Shape | str = "unknown",
) -> SizeQuery:
    def measure(size: float | str | None) -> Measure | None:
        return None if size is None else Measure(Fraction(size))

    kind = shape if isinstance(shape, Shape) else Shape(shape)  # type: ignore[arg-type]
    return SizeQuery(measure(width), measure(height), measure(diagonal), kind)


def bounds(*sizes: float | str | None, shape: Shape | str = "unknown") -> tuple[float, float]:
    found = circle_range(query(*sizes, shape=shape))
    return float(found.low), float(found.high)


def rounded(radius: str) -> Shape:
    return Shape("rounded", exact_measure(radius))


# --- published and hand-worked values --------------------------------------------------


@pytest.mark.parametrize(
    ("width", "height", "circle"),
    [
        ("66", "88", 110.0),  # 22 x (3, 4, 5)
        ("20", "21", 29.0),
        ("30", "40", 50.0),
        ("54", "80", 96.5194),
        ("12", "5.875", 13.3610),  # Machinery's Handbook, 31st ed., p. 75
        ("15", "15", 21.2132),
        ("297", "420", 514.4016),  # ISO 216: A3, A6, A8, B8
        ("105", "148", 181.4635),
        ("52", "74", 90.4434),
        ("62", "88", 107.6476),
        ("85.60", "53.98", 101.1988),  # ISO/IEC 7810 ID-1 with sharp corners
        ("105", "74", 128.4562),
    ],
)
def test_rectangles(width: str, height: str, circle: float) -> None:
    assert bounds(width, height, shape="rectangle") == pytest.approx((circle, circle), abs=5e-5)
    low, high = bounds(width, height)
    assert low == max(float(width), float(height))
    assert high == pytest.approx(circle, abs=5e-5)


@pytest.mark.parametrize(
    ("radius", "circle"), [("2.88", 99.0316), ("3.18", 98.8081), ("3.48", 98.5849)]
)
def test_a_card_with_rounded_corners(radius: str, circle: float) -> None:
    found = bounds("85.60", "53.98", shape=rounded(radius))
    assert found == pytest.approx((circle, circle), abs=5e-5)


def test_a_radius_of_half_the_shorter_side_is_a_stadium() -> None:
    assert bounds("80", "30", shape=rounded("15")) == (80.0, 80.0)
    assert bounds("30", "30", shape=rounded("15")) == (30.0, 30.0)


def test_jung() -> None:
    low, high = bounds(None, None, "60")
    assert low == 60.0
    assert high == pytest.approx(69.2820, abs=5e-5)  # equilateral triangle and Reuleaux, w = 60


def test_a_reuleaux_triangle_has_the_jung_circle_also_with_its_box() -> None:
    # A Reuleaux triangle of width 60 is 60 wide every way: W = H = D = 60.
    low, high = bounds("60", "60", "60")
    assert (low, high) == pytest.approx((60.0, 69.28203), abs=1e-5)


def test_half_a_turn_makes_the_diagonal_the_circle() -> None:
    for shape in ("rectangle", "ellipse", rounded("5")):
        assert bounds(None, None, "80", shape=shape) == (80.0, 80.0)


@pytest.mark.parametrize(
    ("base", "height", "low"),
    [
        ("60", "30", 60.0),  # right angle at the top: Thales
        ("60", "20", 60.0),
        ("14", "24", 14 * 14 / 96 + 24),  # 7-24-25: circumdiameter 25 * 25 / 24
        ("6", "4", 6.25),  # 5-5-6: abc / 2K = 150 / 24
    ],
)
def test_triangles(base: str, height: str, low: float) -> None:
    found = bounds(base, height, shape="triangle")
    assert found[0] == pytest.approx(low, abs=1e-12)
    assert found[1] == pytest.approx(math.hypot(float(base), float(height)))


def test_13_14_15_is_between_the_triangles_of_its_base_and_height() -> None:
    low, high = bounds("14", "12", shape="triangle")
    assert low < 16.25 < high  # (0,0) (14,0) (5,12): r = 8.125


# --- shapes at random --------------------------------------------------------------------

coordinate = st.floats(-50, 50, allow_nan=False).map(lambda x: round(x, 3))
clouds = st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=7)


@settings(max_examples=300, deadline=None)
@given(clouds)
def test_no_shape_breaks_the_bounds(points: list[Point]) -> None:
    (width, height), circle = box_mm(points), smallest_circle_mm(points)
    assume(width > 0.01 and height > 0.01)
    diagonal = diagonal_mm(points)
    # The true diagonal is a root; its float may contradict the exact box by a hair.
    known = min(Fraction(diagonal), Fraction(math.hypot(width, height)) * (1 - Fraction(1, 10**15)))
    known = max(known, Fraction(width), Fraction(height))
    for found in (
        bounds(width, height),
        bounds(None, None, diagonal),
        _bounds_of(width, height, known),
    ):
        assert found[0] - 1e-9 <= circle <= found[1] + 1e-7 * circle


def _bounds_of(width: float, height: float, diagonal: Fraction) -> tuple[float, float]:
    found = widest_lobes(Fraction(width), Fraction(height), diagonal)
    return float(diagonal), float(found.up)


@settings(max_examples=200, deadline=None)
@given(st.floats(1, 100), st.floats(1, 100), st.floats(0, 1))
def test_no_triangle_breaks_its_bounds(base: float, height: float, part: float) -> None:
    circle = triangle_circle_mm((0, 0), (base, 0), (part * base, height))
    low, high = bounds(base, height, shape="triangle")
    assert low - 1e-7 * circle <= circle <= high + 1e-7 * circle


sides = st.integers(1000, 10000).map(lambda n: Fraction(n, 100))
parts = st.integers(0, 1000).map(lambda n: Fraction(n, 1000))


def box_and_diagonal(width: Fraction, height: Fraction, part: Fraction) -> Fraction:
    """A diagonal that the box can have, from its longer side to its own diagonal."""
    longer = max(width, height)
    most = Fraction(math.hypot(width, height)).limit_denominator(10**6) - Fraction(1, 10**5)
    return max(longer, longer + part * (most - longer))


@settings(max_examples=200, deadline=None)
@given(sides, sides, parts)
def test_box_and_diagonal_narrow_what_either_says(
    width: Fraction, height: Fraction, part: Fraction
) -> None:
    diagonal = box_and_diagonal(width, height, part)
    found = widest_lobes(width, height, diagonal)
    high = float(found.up)
    assert high <= 2 * float(diagonal) / math.sqrt(3) + SLACK_MM
    assert high <= math.hypot(width, height) + SLACK_MM
    assert high >= float(diagonal) - SLACK_MM
    assert found.up.up() - found.down.down() < Fraction(1, 10**25)


@settings(max_examples=200, deadline=None)
@given(sides, sides, parts)
def test_the_bound_of_box_and_diagonal_is_reached(
    width: Fraction, height: Fraction, part: Fraction
) -> None:
    diagonal = box_and_diagonal(width, height, part)
    best = max(smallest_circle_mm(w) for w in witnesses(*map(float, (width, height, diagonal))))
    found = widest_lobes(width, height, diagonal)
    high = float(found.up)
    assert best <= high * (1 + 1e-7)
    # Near the end of Jung's case the witnesses turn in steps of 0.01 degree.
    assert best >= high * (1 - 1e-4)


@settings(max_examples=200, deadline=None)
@given(sides, sides, parts, st.sampled_from((0, 1, 2)), sides)
def test_more_room_never_makes_it_less(
    width: Fraction, height: Fraction, part: Fraction, which: int, more: Fraction
) -> None:
    numbers = [width, height, box_and_diagonal(width, height, part)]
    before = widest_lobes(*numbers)
    numbers[which] += more / 10
    after = widest_lobes(*numbers)
    assert float(after.up) >= float(before.up) * (1 - 1e-12)


def test_the_diagonal_as_lower_bound_is_reached() -> None:
    # The part of the box within D/2 of its middle: as wide and high as the box.
    width, height, diagonal = 66.0, 88.0, 95.0
    angles = np.linspace(0, 2 * math.pi, 2000, endpoint=False)
    circle = np.column_stack((np.cos(angles), np.sin(angles))) * diagonal / 2
    kept = circle[(abs(circle[:, 0]) <= width / 2) & (abs(circle[:, 1]) <= height / 2)]
    assert np.ptp(kept[:, 0]) == pytest.approx(width, abs=0.2)
    assert np.ptp(kept[:, 1]) == pytest.approx(height, abs=0.2)
    assert bounds(width, height, diagonal)[0] == diagonal


def test_jung_needs_room_to_turn() -> None:
    # Side 10: lying its box is 10 x 8.66, turned by 15 degrees 9.66 x 9.66.
    def room(width: str, height: str) -> bool:
        return has_room_for_jung(Fraction(width), Fraction(height), Fraction(10))

    assert room("10", "8.6603") and not room("10", "8.6602")
    assert room("9.6593", "9.6593") and not room("9.6592", "9.6592")
    assert room("8.6603", "10") and not room("8.6602", "10")


@pytest.mark.parametrize(
    ("width", "height", "diagonal"),
    [(66, 88, 95), (66, 66, 72), (100, 100, 105), (60, 40, 62), (90, 30, 92), (80, 79, 81)],
)
def test_a_search_over_triangles_finds_no_greater_circle(
    width: int, height: int, diagonal: int
) -> None:
    high = float(widest_lobes(Fraction(width), Fraction(height), Fraction(diagonal)).up)

    def shrunk(v: np.ndarray) -> float:
        points = [(v[i] * width, v[i + 1] * height) for i in (0, 2, 4)]
        longest = diagonal_mm(points)
        return -smallest_circle_mm(points) * min(1.0, diagonal / max(longest, 1e-9))

    best = -differential_evolution(shrunk, [(0, 1)] * 6, seed=1, maxiter=80, tol=1e-10).fun
    assert best <= high * (1 + 1e-9)
    assert best >= high * 0.98


def test_exact_numbers_stay_exact() -> None:
    # W = 40, D = 41: y = 9 = H / 2, where cases b and c meet; d = D D / W exactly.
    found = widest_lobes(Fraction(40), Fraction(18), Fraction(41))
    assert found.up == found.down
    assert found.up.whole == Fraction(41 * 41, 40)
