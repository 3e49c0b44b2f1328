"""Every function on every awkward input: defined answers, no warnings, no surprises."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from tests.geometry.samples import DEGENERATE, size_of, slack_of
from viewer.geometry import (
    Affine,
    Points,
    bounds_of,
    convex_hull,
    distances_outside,
    greatest_distance,
    hull_excess,
    longest_diagonal,
    mask_extent_points,
    polygon_area,
    smallest_enclosing_circle,
    support_values,
)

pytestmark = pytest.mark.filterwarnings("error")

each_sample = pytest.mark.parametrize("points", DEGENERATE.values(), ids=DEGENERATE.keys())

OF_POINTS: dict[str, Callable[[Points], object]] = {
    "convex_hull": convex_hull,
    "smallest_enclosing_circle": smallest_enclosing_circle,
    "longest_diagonal": longest_diagonal,
    "bounds_of": bounds_of,
    "support_values": lambda p: support_values(p, [(1.0, 0.0)]),
    "hull_excess": lambda p: hull_excess(p, p),
    "distances_outside": lambda p: distances_outside([(0.0, 0.0)], p),
    "greatest_distance": lambda p: greatest_distance(p, (0.0, 0.0)),
    "polygon_area": polygon_area,
    "Affine.map_points": Affine().map_points,
}
WITHOUT_POINTS_DEFINED = {"convex_hull", "polygon_area", "Affine.map_points"}

each_function = pytest.mark.parametrize("function", OF_POINTS.values(), ids=OF_POINTS.keys())


@each_sample
def test_hull_vertices_are_input_points_and_none_is_repeated(points: Points) -> None:
    hull = convex_hull(points)
    given = {tuple(p) for p in points.tolist()}
    vertices = [tuple(p) for p in hull.tolist()]
    assert set(vertices) <= given
    assert len(set(vertices)) == len(vertices) >= 1


@each_sample
def test_hull_contains_everything(points: Points) -> None:
    assert distances_outside(points, convex_hull(points)).max() <= slack_of(points)


@each_sample
def test_hull_of_the_hull_is_the_hull(points: Points) -> None:
    hull = convex_hull(points)
    np.testing.assert_array_equal(convex_hull(hull), hull)


@each_sample
def test_circle_holds_everything_and_rests_on_its_support(points: Points) -> None:
    circle = smallest_enclosing_circle(points)
    slack = slack_of(points)
    assert greatest_distance(points, circle.center)[0] <= circle.radius + slack
    assert 1 <= len(circle.support) <= 3
    assert {tuple(p) for p in circle.support.tolist()} <= {tuple(p) for p in points.tolist()}
    reach = np.hypot(*(circle.support - circle.center).T)
    np.testing.assert_allclose(reach, circle.radius, rtol=0.0, atol=slack)


@each_sample
def test_jung_bounds_hold(points: Points) -> None:
    diagonal = longest_diagonal(points).length
    diameter = smallest_enclosing_circle(points).diameter
    slack = slack_of(points)
    assert diagonal - slack <= diameter <= 2.0 / math.sqrt(3.0) * diagonal + slack


@each_sample
def test_longest_diagonal_is_the_longest_of_all_pairs(points: Points) -> None:
    x, y = points.T
    longest = np.hypot(x[:, None] - x, y[:, None] - y).max()
    segment = longest_diagonal(points)
    assert segment.length == pytest.approx(longest, rel=1e-12, abs=slack_of(points))
    assert {segment.start, segment.end} <= {tuple(p) for p in points.tolist()}
    assert segment.start <= segment.end


@each_sample
def test_bounds_support_and_hull_agree(points: Points) -> None:
    bounds, hull = bounds_of(points), convex_hull(points)
    reach = support_values(hull, [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])
    expected = [bounds.x1, bounds.y1, -bounds.x0, -bounds.y0]
    np.testing.assert_allclose(reach, expected, rtol=0.0, atol=slack_of(points))
    assert max(bounds.width, bounds.height) == pytest.approx(size_of(points))


@each_sample
def test_nothing_reaches_beyond_itself(points: Points) -> None:
    hull = convex_hull(points)
    distance, where = hull_excess(hull, hull)
    assert distance <= slack_of(points)
    assert where in {tuple(p) for p in hull.tolist()}


@each_sample
def test_area_lies_between_nothing_and_the_bounds(points: Points) -> None:
    bounds = bounds_of(points)
    area = polygon_area(convex_hull(points))
    assert 0.0 <= area <= bounds.width * bounds.height * (1.0 + 1e-9)


@each_sample
def test_order_and_repetition_of_points_do_not_matter(points: Points) -> None:
    shuffled = np.random.default_rng(5).permutation(np.concatenate((points, points)))
    np.testing.assert_array_equal(convex_hull(shuffled), convex_hull(points))
    first, again = smallest_enclosing_circle(points), smallest_enclosing_circle(shuffled)
    assert (first.center, first.radius) == (again.center, again.radius)
    np.testing.assert_array_equal(first.support, again.support)
    assert longest_diagonal(shuffled) == longest_diagonal(points)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1e200])
@each_function
def test_what_is_no_place_is_refused(function: Callable[[Points], object], bad: float) -> None:
    for column in (0, 1):
        points = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
        points[1, column] = bad
        with pytest.raises(ValueError, match="finite"):
            function(points)


@each_function
def test_wrong_shapes_are_refused(function: Callable[[Points], object]) -> None:
    for shape in ((4,), (2, 3), (2, 2, 2)):
        with pytest.raises(ValueError, match="shape"):
            function(np.ones(shape))


@pytest.mark.parametrize("name", OF_POINTS)
def test_no_points(name: str) -> None:
    nothing = np.empty((0, 2))
    if name in WITHOUT_POINTS_DEFINED:
        answer = OF_POINTS[name](nothing)
        assert answer == 0.0 if name == "polygon_area" else np.shape(answer) == (0, 2)
    else:
        with pytest.raises(ValueError, match="at least 1 point"):
            OF_POINTS[name](nothing)


def test_no_points_but_a_hull_is_an_empty_answer() -> None:
    assert distances_outside([], [(0.0, 0.0)]).shape == (0,)
    assert support_values([(0.0, 0.0)], []).shape == (0,)


@pytest.mark.parametrize("shape", [(0, 0), (0, 5), (5, 0), (4, 7)])
def test_a_mask_without_ink_has_no_points(shape: tuple[int, int]) -> None:
    assert mask_extent_points(np.zeros(shape, dtype=np.bool_)).shape == (0, 2)


@pytest.mark.parametrize("mask", [np.ones((3, 3)), np.ones(5, np.bool_), np.ones((2, 2), np.uint8)])
def test_what_is_no_mask_is_refused(mask: Points) -> None:
    with pytest.raises(ValueError, match="bool array"):
        mask_extent_points(mask)  # type: ignore[arg-type]
