"""Affine maps: the direction of turning, the order of products, the way back."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import affinity

from tests.geometry.samples import point_sets
from viewer.geometry import Affine, Points

_ENTRY = st.floats(-20.0, 20.0)
_MAPS = st.builds(Affine, _ENTRY, _ENTRY, _ENTRY, _ENTRY, _ENTRY, _ENTRY)


def test_positive_turns_go_counter_clockwise_with_y_down() -> None:
    # The design's own convention: (1, 0) at +90 becomes (0, -1).
    assert Affine.rotate_deg(90.0).map_points([(1.0, 0.0)]).tolist() == [[0.0, -1.0]]


@pytest.mark.parametrize("turn_deg", [-450.0, -180.0, -90.0, 0.0, 90.0, 180.0, 270.0, 3600.0])
def test_quarter_turns_are_exact(turn_deg: float) -> None:
    turn = Affine.rotate_deg(turn_deg)
    assert {abs(turn.a), abs(turn.b)} == {0.0, 1.0}
    assert turn.determinant == 1.0


@given(st.floats(-720.0, 720.0), st.tuples(_ENTRY, _ENTRY), point_sets())
def test_turns_agree_with_shapely(
    turn_deg: float, center: tuple[float, float], points: Points
) -> None:
    # Shapely turns counter-clockwise with y up, which is clockwise with y down.
    theirs = affinity.rotate(shapely.multipoints(points), -turn_deg, origin=center)
    ours = Affine.rotate_deg(turn_deg, center).map_points(points)
    np.testing.assert_allclose(ours, shapely.get_coordinates(theirs), atol=1e-9)


@given(_MAPS, point_sets())
def test_six_numbers_mean_what_they_mean_in_svg(m: Affine, points: Points) -> None:
    matrix = [m.a, m.c, m.b, m.d, m.e, m.f]
    theirs = affinity.affine_transform(shapely.multipoints(points), matrix)
    np.testing.assert_allclose(m.map_points(points), shapely.get_coordinates(theirs), atol=1e-9)


@given(_MAPS, _MAPS, point_sets())
def test_then_and_matmul_are_opposite_orders(first: Affine, second: Affine, p: Points) -> None:
    expected = second.map_points(first.map_points(p))
    np.testing.assert_allclose(first.then(second).map_points(p), expected, rtol=1e-9, atol=1e-6)
    assert second @ first == first.then(second)


@given(_MAPS, point_sets())
def test_inverse_leads_back(m: Affine, points: Points) -> None:
    assume(abs(m.determinant) > 1e-3)
    back = m.inverse().map_points(m.map_points(points))
    np.testing.assert_allclose(back, points, atol=1e-5)


def test_a_small_scale_is_not_singular() -> None:
    assert Affine.scale(1e-8).inverse().a == pytest.approx(1e8, rel=1e-15)


@pytest.mark.parametrize(
    "flat", [Affine(0, 0, 0, 0), Affine(1, 2, 2, 4), Affine.scale(1.0, 0.0), Affine(a=math.nan)]
)
def test_what_flattens_has_no_inverse(flat: Affine) -> None:
    with pytest.raises(ValueError, match="no inverse"):
        flat.inverse()


def test_shift_moves_points_but_not_vectors() -> None:
    shift = Affine.translate(3.0, 4.0)
    assert shift.map_points([(1.0, 1.0)]).tolist() == [[4.0, 5.0]]
    assert shift.map_vectors([(1.0, 1.0)]).tolist() == [[1.0, 1.0]]
    assert Affine.identity().map_points([(1.0, 2.0)]).tolist() == [[1.0, 2.0]]
    assert Affine.scale(2.0, 3.0).map_points([(1.0, 1.0)]).tolist() == [[2.0, 3.0]]
