"""Distance to an ellipse, against bisection, scipy's minimizer and fine polygons."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from shapely import Point, Polygon

from tests.fit.judges import Values, ellipse_distance
from viewer.geometry.ellipse import ellipse_clearance

HALF_AXES = [(50.0, 30.0), (30.0, 50.0), (50.0, 49.999), (40.0, 40.0), (50.0, 5.0), (80.0, 0.5)]


def clearance(x: float, y: float, a: float, b: float) -> float:
    return float(ellipse_clearance(np.array([x]), np.array([y]), a, b)[0][0])


def scattered(a: float, b: float, count: int, seed: int) -> Values:
    """Points inside, outside, near the edge and near both axes."""
    rng = np.random.default_rng(seed)
    angles = rng.uniform(0.0, 2.0 * math.pi, count)
    reach = rng.choice([0.3, 0.999999, 1.0, 1.000001, 1.6], count) * rng.uniform(0.0, 1.0, count)
    points = np.stack([a * reach * np.cos(angles), b * reach * np.sin(angles)], axis=1)
    points[::5, 0] *= 1e-9
    points[1::5, 1] *= 1e-9
    return points


@pytest.mark.parametrize(("a", "b"), HALF_AXES)
def test_distance_is_that_of_bisection(a: float, b: float) -> None:
    points = scattered(a, b, 2000, seed=1)
    found, nx, ny = ellipse_clearance(points[:, 0], points[:, 1], a, b)
    assert np.allclose(found, ellipse_distance(points, a, b), rtol=0, atol=1e-9)
    # The tangent given is the one whose distance is the clearance.
    tangent = np.hypot(a * nx, b * ny) - nx * points[:, 0] - ny * points[:, 1]
    assert np.allclose(found, tangent, rtol=0, atol=1e-9)
    assert np.allclose(np.hypot(nx, ny), 1.0)


@pytest.mark.parametrize(("a", "b"), HALF_AXES)
def test_no_point_of_the_edge_is_nearer_and_one_is_as_near(a: float, b: float) -> None:
    """The distance minimized over the edge's own parameter, by scipy."""
    for x, y in scattered(a, b, 25, seed=2):
        turns = np.arange(0.0, 6.5, 0.001)
        reach = np.hypot(a * np.cos(turns) - x, b * np.sin(turns) - y)
        about = float(turns[reach.argmin()])
        least = minimize_scalar(
            lambda t, x=x, y=y: math.hypot(a * math.cos(t) - x, b * math.sin(t) - y),
            bounds=(about - 0.002, about + 0.002),
            method="bounded",
            options={"xatol": 1e-12},
        ).fun
        assert abs(clearance(x, y, a, b)) == pytest.approx(least, abs=1e-6)


@pytest.mark.parametrize(("a", "b"), [(50.0, 30.0), (50.0, 45.0), (60.0, 12.0)])
def test_distance_to_a_fine_polygon(a: float, b: float) -> None:
    angles = np.linspace(0.0, 2.0 * math.pi, 40_000, endpoint=False)
    shape = Polygon(np.stack([a * np.cos(angles), b * np.sin(angles)], axis=1))
    for x, y in scattered(a, b, 60, seed=3):
        sign = 1.0 if shape.contains(Point(x, y)) else -1.0
        expected = sign * shape.exterior.distance(Point(x, y))
        assert clearance(x, y, a, b) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("a", "b"), [(50.0, 30.0), (25.0, 15.0), (50.0, 5.0), (50.0, 0.5)])
def test_on_the_long_axis(a: float, b: float) -> None:
    """Beyond the center of curvature c = (a^2 - b^2)/a the end of the axis is nearest;
    before it the two points over x a^2/(a^2 - b^2), at b sqrt(1 - x^2/(a^2 - b^2)).

    From the ellipse's normal by hand; at c itself the two agree, a - c = b^2/a.
    """
    extra = a * a - b * b
    bend = extra / a
    for share in (0.0, 1e-12, 0.25, 0.5, 0.9, 0.999, 1.0 - 1e-9, 1.0, 1.0 + 1e-9):
        x = bend * share
        expected = a - x if share >= 1 else b * math.sqrt(1.0 - x * x / extra)
        for sign, y in ((1.0, 0.0), (-1.0, -0.0), (1.0, 1e-15), (-1.0, 1e-13)):
            assert clearance(sign * x, y, a, b) == pytest.approx(expected, abs=1e-9 * a)
            assert clearance(y, sign * x, b, a) == pytest.approx(expected, abs=1e-9 * a)


def test_alone_or_in_a_crowd_a_point_has_the_same_distance() -> None:
    """Points settle after differently many steps; one may not stop before its time."""
    a, b = 50.0, 5.0
    points = scattered(a, b, 400, seed=4)
    together = ellipse_clearance(points[:, 0], points[:, 1], a, b)[0]
    alone = [clearance(x, y, a, b) for x, y in points]
    assert np.allclose(together, alone, rtol=0, atol=1e-9)


def test_center_circle_and_edge() -> None:
    assert clearance(0.0, 0.0, 50.0, 30.0) == pytest.approx(30.0, abs=1e-10)
    assert clearance(0.0, 0.0, 30.0, 50.0) == pytest.approx(30.0, abs=1e-10)
    assert clearance(3.0, 4.0, 40.0, 40.0) == pytest.approx(35.0, abs=1e-12)
    assert clearance(0.0, 0.0, 40.0, 40.0) == pytest.approx(40.0, abs=1e-10)
    assert clearance(50.0, 0.0, 50.0, 30.0) == pytest.approx(0.0, abs=1e-12)
    assert clearance(0.0, -30.0, 50.0, 30.0) == pytest.approx(0.0, abs=1e-12)
    assert clearance(53.0, 0.0, 50.0, 30.0) == pytest.approx(-3.0, abs=1e-12)
    # A nearly round one differs from the circle between its axes by less than they differ.
    assert clearance(3.0, 4.0, 40.0, 40.0 - 1e-9) == pytest.approx(35.0, abs=2e-9)


@given(
    a=st.floats(0.01, 1e4),
    share=st.floats(1e-3, 1.0),
    turn_rad=st.floats(0.0, 6.3),
    depth=st.floats(0.0, 1.0),
)
def test_depth_along_the_normal_is_the_distance(
    a: float, share: float, turn_rad: float, depth: float
) -> None:
    """Inward along the normal by less than the least radius of curvature, or outward by any."""
    b = a * share
    c, s = math.cos(turn_rad), math.sin(turn_rad)
    length = math.hypot(b * c, a * s)
    nx, ny = b * c / length, a * s / length
    for distance in (0.99 * depth * b * b / a, -depth * a):
        x, y = a * c - distance * nx, b * s - distance * ny
        assert clearance(x, y, a, b) == pytest.approx(distance, abs=1e-9 * a)


def test_the_check_against_the_long_axis_can_fail() -> None:
    """The judge tells a tangent a little aside from the right one."""
    point = np.array([[16.0, 0.0]])
    assert ellipse_distance(point, 25.0, 15.0)[0] == pytest.approx(9.0, abs=1e-12)
    assert ellipse_distance(point + 1e-6, 25.0, 15.0)[0] != pytest.approx(9.0, abs=1e-9)
