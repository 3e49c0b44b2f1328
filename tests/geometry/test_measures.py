"""Distances, reach and excess of hulls against shapely and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from tests.geometry.samples import point_sets, ring, slack_of
from viewer.geometry import (
    Bounds,
    Points,
    Segment,
    bounds_of,
    convex_hull,
    distances_outside,
    greatest_distance,
    hull_excess,
    longest_diagonal,
    polygon_area,
    support_values,
)

SQUARE = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])


@given(point_sets(), point_sets())
def test_distances_outside_agree_with_shapely(points: Points, others: Points) -> None:
    ring_of_others = convex_hull(others)
    judge = shapely.convex_hull(shapely.multipoints(others))
    theirs = shapely.distance(shapely.points(points), judge)
    ours = distances_outside(points, ring_of_others)
    slack = slack_of(np.concatenate((points, others)))
    np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=slack)


@given(point_sets(), point_sets())
def test_hull_excess_agrees_with_shapely(a: Points, b: Points) -> None:
    hull_a, hull_b = convex_hull(a), convex_hull(b)
    distance, where = hull_excess(hull_a, hull_b)
    judge = shapely.convex_hull(shapely.multipoints(b))
    theirs = shapely.distance(shapely.points(a), judge).max()
    slack = slack_of(np.concatenate((a, b)))
    assert distance == pytest.approx(theirs, rel=1e-9, abs=slack)
    assert shapely.distance(shapely.Point(where), judge) == pytest.approx(distance, abs=slack)


@given(point_sets(), st.floats(-4.0, 4.0))
def test_support_is_the_same_for_points_and_hull(points: Points, angle: float) -> None:
    ways = [(math.cos(angle), math.sin(angle)), (-3.0, 0.5)]
    on_hull = support_values(convex_hull(points), ways)
    np.testing.assert_allclose(on_hull, support_values(points, ways), atol=4 * slack_of(points))


def test_support_by_hand_scales_with_the_direction() -> None:
    assert support_values(SQUARE, [(1.0, 0.0), (2.0, 0.0), (-1.0, -1.0), (0.0, 0.0)]).tolist() == [
        10.0,
        20.0,
        0.0,
        0.0,
    ]


def test_many_directions_and_many_vertices_in_parts() -> None:
    circle, ways = ring(3000, 40.0), ring(1500)
    np.testing.assert_allclose(support_values(circle, ways), 40.0, rtol=1e-12)
    np.testing.assert_allclose(distances_outside(ring(700, 50.0), circle), 10.0, atol=1e-4)


def test_distances_by_hand() -> None:
    points = [(5.0, 5.0), (10.0, 5.0), (13.0, 14.0), (5.0, -2.0), (0.0, 0.0)]
    assert distances_outside(points, SQUARE).tolist() == [0.0, 0.0, 5.0, 2.0, 0.0]
    assert distances_outside(points, [(5.0, 5.0)])[2] == pytest.approx(math.hypot(8.0, 9.0))
    assert distances_outside(points, [(0.0, 0.0), (10.0, 0.0)])[3] == 2.0


def test_excess_by_hand() -> None:
    beyond = SQUARE + np.array((3.0, 0.0))
    assert hull_excess(beyond, SQUARE) == (3.0, (13.0, 0.0))
    assert hull_excess(SQUARE * 0.5 + 1.0, SQUARE)[0] == 0.0


def test_area_has_the_sign_of_the_turning() -> None:
    assert polygon_area(SQUARE) == 100.0
    assert polygon_area(SQUARE[::-1]) == -100.0
    # Far from zero the products alone would lose all digits.
    assert polygon_area(SQUARE + 1e9) == 100.0


def test_greatest_distance_by_hand() -> None:
    assert greatest_distance(SQUARE, (0.0, 0.0)) == (math.hypot(10.0, 10.0), (10.0, 10.0))


def test_bounds_and_segment_by_hand() -> None:
    assert bounds_of([(3.0, -1.0), (-2.0, 5.0)]) == Bounds(-2.0, -1.0, 3.0, 5.0)
    assert longest_diagonal([(4.0, 6.0), (1.0, 2.0)]) == Segment((1.0, 2.0), (4.0, 6.0))
    assert longest_diagonal([(4.0, 6.0), (1.0, 2.0)]).length == 5.0
