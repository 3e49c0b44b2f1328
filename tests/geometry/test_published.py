"""Values from print and from theory; the source stands beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.geometry.samples import ring, turned
from viewer.geometry import (
    Points,
    bounds_of,
    convex_hull,
    longest_diagonal,
    polygon_area,
    smallest_enclosing_circle,
    support_values,
)


def box(width: float, height: float) -> Points:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


def reuleaux(width: float, steps: int = 2000) -> Points:
    """Three arcs of radius ``width``, each about the corner opposite."""
    corners = ring(3, width / math.sqrt(3.0))
    arcs = []
    for k in range(3):
        middle_rad = 2.0 * math.pi * k / 3.0 + math.pi
        angle_rad = middle_rad + np.linspace(-math.pi / 6.0, math.pi / 6.0, steps + 1)
        arcs.append(corners[k] + width * np.stack((np.cos(angle_rad), np.sin(angle_rad)), 1))
    return np.concatenate(arcs)


def rounded_box(width: float, height: float, radius: float, steps: int = 4000) -> Points:
    """A box about the origin with its corners rounded."""
    angle_rad = np.linspace(0.0, math.pi / 2.0, steps + 1)
    x = width / 2.0 - radius + radius * np.cos(angle_rad)
    y = height / 2.0 - radius + radius * np.sin(angle_rad)
    return np.concatenate([np.stack((sx * x, sy * y), 1) for sx in (-1, 1) for sy in (-1, 1)])


# Machinery's Handbook, 31st ed. (2020), p. 82: R/S and R/r to four places (n = 11
# computed); D/S and 2R/D computed from R = S / (2 sin(pi/n)).
POLYGONS = [
    (3, 0.577350, 2.000000, 1.0, 1.154701),
    (4, 0.707107, 1.414214, 1.414214, 1.0),
    (5, 0.850651, 1.236068, 1.618034, 1.051462),
    (6, 1.0, 1.154701, 2.0, 1.0),
    (7, 1.152382, 1.109916, 2.246980, 1.025717),
    (8, 1.306563, 1.082392, 2.613126, 1.0),
    (9, 1.461902, 1.064178, 2.879385, 1.015427),
    (10, 1.618034, 1.051462, 3.236068, 1.0),
    (11, 1.774733, 1.042217, 3.513337, 1.010283),
    (12, 1.931852, 1.035276, 3.863703, 1.0),
]


@pytest.mark.parametrize(("n", "r_by_s", "r_by_inner", "d_by_s", "jung"), POLYGONS)
def test_regular_polygons(
    n: int, r_by_s: float, r_by_inner: float, d_by_s: float, jung: float
) -> None:
    corners = turned(ring(n, 25.0), 0.2) + np.array((70.0, 40.0))
    side = math.dist(corners[0], corners[1])
    circle, diagonal = smallest_enclosing_circle(corners), longest_diagonal(corners).length
    assert circle.radius / side == pytest.approx(r_by_s, abs=6e-7)
    assert diagonal / side == pytest.approx(d_by_s, abs=6e-7)
    assert circle.diameter / diagonal == pytest.approx(jung, abs=6e-7)
    # The inner radius is the reach from the center across the middle of a side.
    across = (corners[0] + corners[1]) / 2.0 - (70.0, 40.0)
    inner = support_values(corners - (70.0, 40.0), [across / np.hypot(*across)])[0]
    assert circle.radius / inner == pytest.approx(r_by_inner, abs=6e-7)
    assert polygon_area(convex_hull(corners)) == pytest.approx(n * side * inner / 2.0)


def test_equilateral_triangle_is_the_worst_case() -> None:
    # Jung, J. reine angew. Math. 123 (1901) 241-257: d = 2 D / sqrt 3 at the equilateral.
    corners = [(0.0, 0.0), (60.0, 0.0), (30.0, 30.0 * math.sqrt(3.0))]
    assert longest_diagonal(corners).length == pytest.approx(60.0, rel=1e-15)
    assert smallest_enclosing_circle(corners).diameter == pytest.approx(69.2820, abs=5e-5)
    assert len(smallest_enclosing_circle(corners).support) == 3


@pytest.mark.parametrize("angle", [0.0, 0.1, 0.5, 1.0])
def test_reuleaux_triangle(angle: float) -> None:
    # P. Bourke, notes on the Reuleaux triangle: area (pi - sqrt 3) w^2 / 2; R = w / sqrt 3,
    # perimeter pi w and width w in every direction follow from its arcs.
    outline = turned(reuleaux(60.0), angle)
    hull = convex_hull(outline)
    assert polygon_area(hull) == pytest.approx(2537.1753, abs=1e-3)
    assert np.hypot(*(np.roll(hull, -1, 0) - hull).T).sum() == pytest.approx(188.4956, abs=1e-4)
    assert smallest_enclosing_circle(outline).diameter == pytest.approx(69.2820, abs=5e-5)
    assert longest_diagonal(outline).length == pytest.approx(60.0, abs=1e-6)
    turn_rad = np.linspace(0.0, math.pi, 181)
    ways = np.stack((np.cos(turn_rad), np.sin(turn_rad)), axis=1)
    width = support_values(hull, ways) + support_values(hull, -ways)
    np.testing.assert_allclose(width, 60.0, atol=1e-5)


def test_thales() -> None:
    # Thales: the hypotenuse of a right triangle is a diameter.
    circle = smallest_enclosing_circle([(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)])
    assert (circle.center, circle.radius) == ((1.5, 2.0), 2.5)
    assert sorted(circle.support.tolist()) == [[0.0, 4.0], [3.0, 0.0]]


def test_acute_triangle_13_14_15() -> None:
    # R = abc / 4K = 13 x 14 x 15 / (4 x 84); computed by two methods.
    circle = smallest_enclosing_circle([(0.0, 0.0), (14.0, 0.0), (5.0, 12.0)])
    assert (circle.center, circle.radius) == ((7.0, 4.125), 8.125)
    assert len(circle.support) == 3
    assert polygon_area([(0.0, 0.0), (14.0, 0.0), (5.0, 12.0)]) == 84.0


def test_point_inside_and_repeated_points_change_nothing() -> None:
    # Thales: the right angle at (10, 20) and the inner point do not count; r = 5 sqrt 2.
    points = [(10.0, 10.0), (20.0, 20.0), (10.0, 20.0), (15.0, 19.0)]
    for repeated in (points, points * 3):
        circle = smallest_enclosing_circle(repeated)
        assert circle.center == (15.0, 15.0)
        assert circle.radius == pytest.approx(7.0710678, abs=5e-8)


def test_collinear() -> None:
    # Half the distance of the ends: 10 sqrt 2.
    circle = smallest_enclosing_circle([(10.0, 10.0), (20.0, 20.0), (30.0, 30.0)])
    assert circle.center == (20.0, 20.0)
    assert circle.radius == pytest.approx(14.1421356, abs=5e-8)
    assert len(circle.support) == 2


BOXES = [
    # Pythagoras, computed.
    (66.0, 88.0, 110.0, 0.0),
    (54.0, 80.0, 96.5194, 5e-5),
    # Machinery's Handbook, 31st ed., p. 75, printed as 13.361 and 21.21.
    (12.0, 5.875, 13.361, 5e-4),
    (15.0, 15.0, 21.21, 5e-3),
    # Pythagorean triples 20-21-29 and 3-4-5: exact, nothing to spare.
    (20.0, 21.0, 29.0, 0.0),
    (30.0, 40.0, 50.0, 0.0),
    # ISO 216:2007, A3 to A8 and B5 to B8; diagonals computed.
    (297.0, 420.0, 514.4016, 5e-5),
    (210.0, 297.0, 363.7430, 5e-5),
    (148.0, 210.0, 256.9124, 5e-5),
    (105.0, 148.0, 181.4635, 5e-5),
    (74.0, 105.0, 128.4562, 5e-5),
    (52.0, 74.0, 90.4434, 5e-5),
    (176.0, 250.0, 305.7385, 5e-5),
    (125.0, 176.0, 215.8726, 5e-5),
    (88.0, 125.0, 152.8692, 5e-5),
    (62.0, 88.0, 107.6476, 5e-5),
    # ISO/IEC 7810: ID-1, ID-2 and ID-3 cards with sharp corners; diagonals computed.
    (85.60, 53.98, 101.1988, 5e-5),
    (105.0, 74.0, 128.4562, 5e-5),
    (125.0, 88.0, 152.8692, 5e-5),
]


@pytest.mark.parametrize(("width", "height", "diagonal", "tolerance"), BOXES)
def test_box_in_a_circle(width: float, height: float, diagonal: float, tolerance: float) -> None:
    corners = box(width, height)
    assert longest_diagonal(corners).length == pytest.approx(diagonal, rel=0, abs=tolerance)
    circle = smallest_enclosing_circle(corners)
    assert circle.diameter == pytest.approx(diagonal, rel=0, abs=tolerance)
    assert circle.center == (width / 2.0, height / 2.0)
    assert (bounds_of(corners).width, bounds_of(corners).height) == (width, height)


@pytest.mark.parametrize(
    ("diameter", "side"),
    [
        (60.0, 42.4264),
        (70.0, 49.4975),
        (80.0, 56.5685),
        (90.0, 63.6396),
        (100.0, 70.7107),
        (130.0, 91.9239),
    ],
)
def test_largest_square_in_a_circle(diameter: float, side: float) -> None:
    # Textbook: side = d / sqrt 2. At four places the square is within 1e-4 of the circle.
    for angle in (0.0, 0.4, math.pi / 4.0):
        square = turned(box(side, side), angle)
        assert smallest_enclosing_circle(square).diameter == pytest.approx(diameter, abs=1e-4)


@pytest.mark.parametrize(
    ("radius", "diameter"), [(2.88, 99.0316), (3.18, 98.8081), (3.48, 98.5849)]
)
def test_card_with_rounded_corners(radius: float, diameter: float) -> None:
    # ISO/IEC 7810 ID-1, corner radius 2.88 to 3.48: d = 2 (hypot(42.8 - r, 26.99 - r) + r),
    # so the diagonal of the box (101.1988) is not the diagonal of the ink.
    card = rounded_box(85.60, 53.98, radius)
    assert smallest_enclosing_circle(card).diameter == pytest.approx(diameter, abs=1e-4)
    assert longest_diagonal(card).length == pytest.approx(diameter, abs=1e-4)
    assert bounds_of(card).width == pytest.approx(85.60)


def test_width_of_the_13_14_15_triangle() -> None:
    # Least width = 2 K / 15 = 11.2, across the longest side; computed.
    corners = np.array([(0.0, 0.0), (14.0, 0.0), (5.0, 12.0)])
    normal = np.array([(12.0, 9.0)]) / 15.0
    width = support_values(corners, normal) + support_values(corners, -normal)
    assert width[0] == pytest.approx(11.2, rel=1e-12)


def test_triangle_of_freeman_and_shapira() -> None:
    # Freeman & Shapira, CACM 18 (July 1975): box area 8000 = 2 K.
    assert polygon_area([(100.0, 100.0), (200.0, 200.0), (160.0, 240.0)]) == 4000.0
