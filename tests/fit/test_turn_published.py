"""Angle and shift against published results and closed forms; the source beside each number.

The cup is so large that only pad or etch area count, except where a disc is meant.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.fit.artworks import Points, artwork, box, ring
from tests.fit.judges import turning
from viewer.fit import CupFit, Verdict, fit_artwork
from viewer.press import Angles, Cup, EtchArea, Hold, Margin, Pad, PressLimits

HUGE = Cup("2000", 2000.0, 0.0, Margin(0.0, False))
THREE_FOUR_FIVE_DEG = math.degrees(math.atan2(3.0, 4.0))
"""36.8699 degrees."""


def solve(hull_mm: Points, limits: PressLimits, cup: Cup = HUGE) -> CupFit:
    found = fit_artwork(artwork(hull_mm), [cup], limits=limits).cups[0]
    assert 0.0 <= found.best.gap_mm <= 0.005
    return found


def in_window(p: float, q: float, a: float, b: float) -> CupFit:
    """A rectangle p x q in a window a x b."""
    return solve(box(p, q, 20.0, 30.0), PressLimits(etch=EtchArea(a, b)))


# --- rectangle in a rectangle ---------------------------------------------------------


def carver_fits(p: float, q: float, a: float, b: float) -> bool:
    """Whether p x q (p >= q) goes into a x b (a >= b).

    Carver, Amer. Math. Monthly 64 (1957) 114-116, as given by Wetzel, Math. Mag. 73 (2000)
    204-211; quoted without ``q <= b`` it lets 10 x 10 into 8 x 8.
    """
    if p <= a:
        return q <= b
    root = math.sqrt(p * p + q * q - a * a)
    return q <= b and b >= (2 * p * q * a + (p * p - q * q) * root) / (p * p + q * q)


def carver_cases() -> list[tuple[float, float, float, float]]:
    rng = np.random.default_rng(1957)
    cases = []
    while len(cases) < 80:
        a, b = sorted(rng.uniform(20.0, 100.0, 2))[::-1]
        p, q = rng.uniform(0.9, 1.25) * a, rng.uniform(0.02, 1.05) * b
        if p < q:
            continue
        cases.append((float(p), float(q), float(a), float(b)))
    return cases


def test_carvers_condition_has_the_sign_of_the_clearance() -> None:
    answers = set()
    for p, q, a, b in carver_cases():
        found = in_window(p, q, a, b)
        # A touch either way would be decided by rounding.
        clear = carver_fits(p, q, a - 0.011, b - 0.011)
        if clear == carver_fits(p, q, a + 0.011, b + 0.011):
            assert (found.clearance_mm >= 0) is clear, (p, q, a, b)
            assert (found.verdict is Verdict.FITS) is clear, (p, q, a, b)
            answers.add(clear)
    assert answers == {True, False}


def test_nine_by_four_does_not_go_into_eight_by_six() -> None:
    """Area, diagonal, perimeter and thickness all say yes (Wetzel, p. 204)."""
    found = in_window(9.0, 4.0, 8.0, 6.0)
    assert found.clearance_mm < -0.01
    assert found.verdict is Verdict.OUTSIDE
    # Carver's condition asks for b = (2 9 4 8 + 65 sqrt 33)/97 = 9.7876, not 6.
    assert (576.0 + 65.0 * math.sqrt(33.0)) / 97.0 == pytest.approx(9.7876, abs=1e-4)


def test_ten_square_does_not_go_into_eight_square() -> None:
    """The trap of the condition without q <= b. Best upright: 1 over on each side."""
    assert in_window(10.0, 10.0, 8.0, 8.0).clearance_mm == pytest.approx(-1.0, abs=1e-9)


@pytest.mark.parametrize(("q", "a", "b"), [(10.0, 86.0, 68.0), (20.0, 92.0, 76.0)])
def test_exactly_touching_at_a_3_4_5_angle(q: float, a: float, b: float) -> None:
    """100 x q turned by atan(3/4) covers 80 + 0.6 q by 60 + 0.8 q exactly."""
    found = in_window(100.0, q, a, b)
    assert found.clearance_mm == pytest.approx(0.0, abs=1e-6)
    assert abs(found.best.turn_deg) == pytest.approx(36.8699, abs=1e-3)
    assert in_window(100.0, q, a + 0.02, b + 0.02).verdict is Verdict.FITS
    assert in_window(100.0, q, a - 0.02, b - 0.02).verdict is not Verdict.FITS


def test_widest_strip_in_a_square() -> None:
    """100 x q goes into 80 x 80 up to q = 80 sqrt 2 - 100 = 13.137085, along the diagonal."""
    limit = 80.0 * math.sqrt(2.0) - 100.0
    assert limit == pytest.approx(13.137085, abs=1e-6)
    assert in_window(100.0, 13.0, 80.0, 80.0).verdict is Verdict.FITS
    assert in_window(100.0, 13.2, 80.0, 80.0).verdict is Verdict.OUTSIDE
    # Turned by 45 degrees it stands (p + q)/(2 sqrt 2) out to every side.
    found = in_window(100.0, 13.0, 80.0, 80.0)
    assert found.best.turn_deg == pytest.approx(45.0, abs=1e-6)
    assert found.clearance_mm == pytest.approx(40.0 - 113.0 / math.sqrt(8.0), abs=1e-9)


@pytest.mark.parametrize(
    ("sizes", "clearance_mm", "unturned_mm"),
    [((100.0, 10.0, 90.0, 72.0), 2.0, -5.0), ((70.0, 10.0, 72.0, 60.0), 5.0, 1.0)],
)
def test_best_even_clearance(
    sizes: tuple[float, float, float, float], clearance_mm: float, unturned_mm: float
) -> None:
    """At atan(3/4): (90 - 86)/2 = (72 - 68)/2 = 2; (72 - 62)/2 = (60 - 50)/2 = 5."""
    found = in_window(*sizes)
    assert found.clearance_mm == pytest.approx(clearance_mm, abs=1e-6)
    assert abs(found.best.turn_deg) == pytest.approx(THREE_FOUR_FIVE_DEG, abs=1e-4)
    assert found.best.turn_deg > 0
    assert found.unturned_clearance_mm == pytest.approx(unturned_mm, abs=1e-6)
    assert found.turn_helps


def test_turning_must_not_win_where_it_does_not_help() -> None:
    """40 x 10 in 50 x 30: 5.0 on both ends, however it is turned no more."""
    found = in_window(40.0, 10.0, 50.0, 30.0)
    assert found.best.turn_deg == 0.0
    assert found.clearance_mm == pytest.approx(5.0, abs=1e-9)
    assert not found.turn_helps
    # Of all places along the window the middle one: the least shift.
    assert found.best.center_mm == pytest.approx((40.0, 35.0), abs=1e-6)


def test_a_square_in_a_square_stays_upright() -> None:
    found = in_window(40.0, 40.0, 60.0, 60.0)
    assert (found.best.turn_deg, found.clearance_mm) == (0.0, pytest.approx(10.0, abs=1e-9))


def test_sufficient_condition_on_the_half_perimeter() -> None:
    """q <= b and p + q <= the window's diagonal suffice (Wetzel)."""
    rng = np.random.default_rng(2000)
    for _ in range(30):
        a, b = sorted(rng.uniform(20.0, 100.0, 2))[::-1]
        q = rng.uniform(0.05, 1.0) * b
        p = math.hypot(a, b) - q - 0.02
        if p >= q and q <= b:
            assert in_window(p, q, a, b).clearance_mm >= 0, (p, q, a, b)


# --- in an ellipse, a disc, a strip ---------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b", "area"), [(60.0, 40.0, 4800.0), (4.0, 3.0, 24.0), (10.0, 8.0, 160.0)]
)
def test_largest_rectangle_and_square_in_an_ellipse(a: float, b: float, area: float) -> None:
    """Half-axes a, b: a sqrt 2 x b sqrt 2, area 2ab; square 2ab/hypot(a, b) (calculus texts)."""
    limits = PressLimits(pad=Pad("oval", 2 * a, 2 * b))
    p, q = a * math.sqrt(2.0), b * math.sqrt(2.0)
    assert p * q == pytest.approx(area)
    rectangle = solve(box(p, q), limits)
    assert rectangle.clearance_mm == pytest.approx(0.0, abs=1e-4)
    assert rectangle.largest_scale == pytest.approx(1.0, abs=1e-4)
    square = solve(box(30.0, 30.0), limits)
    side = 2 * a * b / math.hypot(a, b)
    assert square.largest_scale == pytest.approx(side / 30.0, rel=1e-4)
    if a == 60.0:
        assert side == pytest.approx(66.5640, abs=1e-4)


def test_a_rectangle_put_in_askew_is_turned_back() -> None:
    """Aligned with the ellipse is always best."""
    upright = box(84.0, 56.0) - np.array([42.0, 28.0])
    for turn_deg in (17.0, -80.0):
        found = solve(upright @ turning(turn_deg).T, PressLimits(pad=Pad("oval", 120, 80)))
        total = (found.best.turn_deg + turn_deg) % 180.0
        assert min(total, 180.0 - total) < 0.2
        assert found.verdict is Verdict.FITS


def test_hexagon_in_a_square() -> None:
    """A hexagon of side s goes into a square of 2 s cos 15 = 1.931852 s, turned by 15 degrees.

    Its width at angle t is 2 s times the greatest |cos| of its corners' directions, so
    across and along cannot both be less (closed form).
    """
    corners = ring(30.0, count=6)
    found = solve(corners, PressLimits(etch=EtchArea(60.0, 60.0)))
    assert found.clearance_mm == pytest.approx(30.0 - 30.0 * math.cos(math.radians(15.0)), abs=1e-6)
    assert abs(found.best.turn_deg) == pytest.approx(15.0, abs=1e-4)


@pytest.mark.parametrize(
    ("corners", "radius"),
    [
        ([(0, 0), (3, 0), (0, 4)], 2.5),  # right-angled: half the hypotenuse (Thales)
        ([(0, 0), (14, 0), (5, 12)], 8.125),  # acute 13-14-15: abc/4K
        ([(10, 10), (20, 20), (10, 20), (15, 19)], 7.0710678),  # a published example with spares
        ([(10, 10), (20, 20), (30, 30)], 14.1421356),
    ],
)
def test_polygon_in_a_disc_is_its_smallest_circle(
    corners: list[tuple[float, float]], radius: float
) -> None:
    """Also where the disc is a pad rather than the cup, out of the middle and turned."""
    pad = Pad("round", 40, 40, offset_mm=(7.0, -3.0), turn_deg=50.0, margin_mm=1.0)
    for limits in (PressLimits(pad=pad), PressLimits(pad=Pad("rect", 38, 38, 19))):
        found = solve(np.array(corners, dtype=float), limits)
        assert found.clearance_mm == pytest.approx(19.0 - radius, abs=2e-5)
        assert not found.turn_helps


def test_polygon_in_a_strip_needs_its_least_width() -> None:
    """13-14-15: least width 2K/15 = 168/15 = 11.2, across the side of 15 (Freeman & Shapira)."""
    triangle = np.array([(0.0, 0.0), (14.0, 0.0), (5.0, 12.0)])
    strip = PressLimits(etch=EtchArea(1000.0, 20.0))
    found = solve(triangle, strip)
    assert found.clearance_mm == pytest.approx((20.0 - 11.2) / 2.0, abs=2e-6)
    # The side from (14, 0) to (5, 12) must come to lie along the strip.
    side = np.array([[-9.0, 12.0]]) @ turning(found.best.turn_deg).T
    assert side[0, 1] == pytest.approx(0.0, abs=1e-4)
    across = PressLimits(etch=EtchArea(20.0, 1000.0), angles=Angles("within", 20.0))
    # atan2(12, 9) = 53.13: the side stands 36.87 off the upright, out of reach by 16.87.
    assert solve(triangle, across).clearance_mm < (20.0 - 11.2) / 2.0 - 0.1


def test_equilateral_and_square_in_a_strip() -> None:
    """Height of an equilateral triangle: s sqrt 3/2; a square is narrowest upright."""
    strip = PressLimits(etch=EtchArea(1000.0, 60.0))
    equilateral = ring(60.0 / math.sqrt(3.0), count=3)
    assert solve(equilateral, strip).clearance_mm == pytest.approx(30 - 60 * math.sqrt(3) / 4)
    square = box(30.0, 30.0) @ turning(31.0).T
    assert solve(square, strip).clearance_mm == pytest.approx(15.0, abs=1e-6)


# --- centers ---------------------------------------------------------------------------


def test_chebyshev_center_of_the_area_for_a_dot() -> None:
    """One dot: the deepest point. 40 x 30 beside a pad 40 x 40 shifted by 20: 20 x 30 is left,
    its depth 10 (half of the shorter side)."""
    limits = PressLimits(pad=Pad("rect", 40, 40, offset_mm=(20.0, 0.0)), etch=EtchArea(40.0, 30.0))
    found = solve(np.array([[5.0, 6.0]]), limits)
    assert found.clearance_mm == pytest.approx(10.0, abs=1e-6)
    assert found.best.turn_deg == 0.0


def test_chebyshev_center_of_crossed_squares() -> None:
    """A square of half-side h and the same turned by 45 degrees: an octagon with inradius h."""
    limits = PressLimits(pad=Pad("rect", 40, 40, turn_deg=45.0), etch=EtchArea(40.0, 40.0))
    assert solve(np.array([[0.0, 0.0]]), limits).clearance_mm == pytest.approx(20.0, abs=1e-6)


def test_incircle_of_a_corner_cut_by_the_cup() -> None:
    """Two sides at right angles through points 3 and 4 away and a slanted pad: 3-4-5, r = 1.

    A triangle (0,0)(4,0)(0,3) as the corner of a large etch area and the edge of a large
    turned pad; its incircle has radius (3 + 4 - 5)/2 = 1, center (1, 1) (Euclid IV.4).
    """
    etch = EtchArea(400.0, 400.0, offset_mm=(200.0, 200.0))
    # The pad's edge runs through (4, 0) and (0, 3): normal (3, 4)/5, 12/5 from the origin.
    normal = np.array([0.6, 0.8])
    center = normal * (12.0 / 5.0 - 200.0)
    turn_deg = -math.degrees(math.atan2(0.8, 0.6))
    pad = Pad(
        "rect", 400.0, 1000.0, offset_mm=(float(center[0]), float(center[1])), turn_deg=turn_deg
    )
    found = solve(np.array([[0.0, 0.0]]), PressLimits(pad=pad, etch=etch))
    assert found.clearance_mm == pytest.approx(1.0, abs=1e-6)
    assert found.best.center_mm == pytest.approx((-1.0, -1.0), abs=1e-5)
    assert {limit.part for limit in found.limits} == {"pad", "etch"}


def test_fixed_and_limited_travel_by_hand() -> None:
    """40 x 10, its middle the datum, in 60 x 30 that stands 5 to the right: 10 - 5 = 5 at the
    left when fixed; shifted 2 to the right 7; shifted enough, 10 at all sides but the ends."""
    etch = EtchArea(60.0, 30.0, offset_mm=(5.0, 0.0))
    none = Angles("none")
    expected = {Hold("fixed"): 5.0, Hold("across", 2.0): 7.0, Hold("along"): 5.0, Hold(): 10.0}
    for hold, clearance_mm in expected.items():
        found = solve(box(40.0, 10.0), PressLimits(etch=etch, hold=hold, angles=none))
        assert found.clearance_mm == pytest.approx(clearance_mm, abs=1e-9), hold
    at = solve(box(40.0, 10.0), PressLimits(etch=etch, hold=Hold("across", 2.0), angles=none))
    # Shifted 2 to the right: the page point under the cup's center is 2 left of the datum.
    assert at.best.center_mm == pytest.approx((18.0, 5.0), abs=1e-9)
