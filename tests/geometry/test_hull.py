"""Convex hull: exact on hard cases, equal to outside judges, quick on many points."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from tests.geometry.samples import point_sets, ring, slack_of, turned
from viewer.geometry import Points, convex_hull, distances_outside, polygon_area
from viewer.geometry.hull import exact_hull


def exact_turns(hull: Points) -> list[Fraction]:
    """Twice the area of each corner in rational arithmetic."""
    p = [(Fraction(x), Fraction(y)) for x, y in hull.tolist()]
    corners = zip(p, p[1:] + p[:1], p[2:] + p[:2], strict=True)
    return [(b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) for a, b, c in corners]


@given(point_sets())
def test_area_and_extent_agree_with_shapely(points: Points) -> None:
    theirs = shapely.convex_hull(shapely.multipoints(points))
    ours = convex_hull(points)
    assert polygon_area(ours) == pytest.approx(theirs.area, rel=1e-9, abs=1e-9)
    assert distances_outside(shapely.get_coordinates(theirs), ours).max() <= slack_of(points)


@given(st.integers(0, 2**32 - 1), st.integers(3, 3000))
def test_vertices_agree_with_scipy(seed: int, count: int) -> None:
    points = np.random.default_rng(seed).normal(size=(count, 2))
    theirs = points[ConvexHull(points).vertices]
    ours = convex_hull(points)
    assert {tuple(p) for p in ours.tolist()} == {tuple(p) for p in theirs.tolist()}


@given(point_sets())
def test_every_corner_turns_left_in_exact_arithmetic(points: Points) -> None:
    hull = exact_hull(points)
    if len(hull) >= 3:
        assert min(exact_turns(hull)) > 0


@given(point_sets(), st.floats(-3.2, 3.2), st.floats(-1e4, 1e4))
def test_corners_are_exact_among_rounded_lines(points: Points, angle: float, far: float) -> None:
    moved = turned(points, angle) + far
    hull = exact_hull(moved)
    if len(hull) >= 3:
        assert min(exact_turns(hull)) > 0
    assert distances_outside(moved, hull).max() <= 8.0 * np.spacing(np.abs(moved).max())


@given(point_sets())
def test_starts_at_the_leftmost_lowest_vertex(points: Points) -> None:
    assert tuple(convex_hull(points)[0]) == min(tuple(p) for p in points.tolist())


def test_starts_leftmost_even_where_that_stands_out_by_rounding_only() -> None:
    hull = convex_hull([(0.0, 0.0), (60.0, 30.0), (0.0, 60.0), (-1e-15, 30.0)])
    assert hull[0].tolist() == [-1e-15, 30.0]


def test_a_turn_too_small_for_floats_is_still_decided() -> None:
    # The middle point lies one rounding step off the line of the others, either way.
    below = [(0.5, np.nextafter(0.5, 0.0)), (12.0, 12.0), (24.0, 24.0)]
    above = [(0.5, np.nextafter(0.5, 1.0)), (12.0, 12.0), (24.0, 24.0)]
    on = [(0.5, 0.5), (12.0, 12.0), (24.0, 24.0)]
    assert [len(exact_hull(p)) for p in (below, above, on)] == [3, 3, 2]


def test_edges_full_of_points_become_four_corners_at_any_angle() -> None:
    line = np.linspace(-30.0, 30.0, 1001)
    edge = np.full_like(line, 30.0)
    square = np.concatenate(
        [np.stack(p, 1) for p in ((line, edge), (line, -edge), (edge, line), (-edge, line))]
    )
    for angle in np.linspace(0.0, 1.5, 7):
        hull = convex_hull(turned(square, angle) + 12.3)
        assert len(hull) == 4
        assert polygon_area(hull) == pytest.approx(3600.0, rel=1e-12)


def test_vertices_of_a_fine_circle_are_kept() -> None:
    # 3000 corners stand out by 2e-5 of a radius of 40: real, however small.
    assert len(convex_hull(ring(3000, 40.0, (100.0, 100.0)))) == 3000


MANY = {
    "cloud": lambda rng: rng.normal(size=(1_000_000, 2)) * 20.0,
    "square": lambda rng: rng.random((1_000_000, 2)) * 60.0,
    "pixels": lambda rng: rng.integers(0, 900, (1_000_000, 2)).astype(float),
    "far square": lambda rng: rng.random((1_000_000, 2)) * 60.0 + 1e7,
    "all on a circle": lambda rng: ring(1_000_000, 40.0),
}


@pytest.mark.parametrize("kind", MANY)
def test_a_million_points_agree_with_shapely(kind: str) -> None:
    points = MANY[kind](np.random.default_rng(11))
    theirs = shapely.convex_hull(shapely.multipoints(points))
    ours = convex_hull(points)
    local_theirs = shapely.get_coordinates(theirs)[:-1] - points[0]
    assert abs(polygon_area(ours)) == pytest.approx(abs(polygon_area(local_theirs)), rel=1e-9)
    sample = points[:: 1 + len(points) * len(ours) // 5_000_000]
    assert distances_outside(sample, ours).max() <= slack_of(points)
