"""The whole curve, and the stretches of angle that fit, against judges at single angles."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.fit.artworks import artwork, box, reading, ring
from tests.fit.judges import Bracket, edges_of, room_at, turning
from tests.fit.limit_samples import CUP, Sample, samples
from viewer.errors import Cancelled
from viewer.fit import AngleCurve, angle_curve, datum_point, fit_artwork, is_turn_allowed
from viewer.fit.area import image_area
from viewer.fit.problems import limited_ink
from viewer.fit.shift import best_shifts
from viewer.press import Angles, Cup, Datum, EtchArea, Hold, Margin, Pad, PressLimits

HUGE = Cup("500", 500.0, 0.0, Margin(0.0, False))
GAP_MM = 0.005


def curve_of(sample: Sample, uncertainty_mm: float = 0.0) -> AngleCurve:
    return angle_curve(artwork(sample.hull_mm, uncertainty_mm), CUP, sample.limits)


def is_inside(turn_deg: float, curve: AngleCurve, slack_deg: float = 0.0) -> bool:
    return any(
        low - slack_deg <= turn_deg + whole <= high + slack_deg
        for low, high in curve.fitting_deg
        for whole in (-360.0, 0.0, 360.0)
    )


# --- the values -----------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_every_value_is_that_of_its_angle_alone(seed: int) -> None:
    """Solved finely, each on its own, without what its neighbors found."""
    for sample in samples(200 + seed, 5):
        curve = curve_of(sample)
        assert curve.gap_mm <= GAP_MM
        assert len(curve.turns_deg) == len(curve.clearances_mm) == 720
        assert curve.turns_deg[0] == -179.5 and curve.turns_deg[-1] == 180.0
        assert np.allclose(np.diff(curve.turns_deg), 0.5)
        ink = limited_ink(artwork(sample.hull_mm), sample.limits)
        problem = ink.alone(0, image_area(CUP, sample.limits))
        exact = best_shifts(problem, np.radians(curve.turns_deg), 1e-7)
        below = exact.clearance_mm - curve.clearances_mm
        assert below.max() <= curve.gap_mm + 1e-6 and below.min() >= -1e-6, sample


def test_values_against_the_judge() -> None:
    for sample in samples(230, 6):
        curve = curve_of(sample)
        points = sample.hull_mm - np.array(datum_point(artwork(sample.hull_mm), sample.limits))
        bracket = Bracket(edges_of(CUP, sample.limits), sample.limits.hold)
        for index in (0, 100, 359, 601, 719):
            low, high = bracket.at(points, float(curve.turns_deg[index]))
            assert low - curve.gap_mm - 1e-9 <= curve.clearances_mm[index] <= high + 1e-9, sample


def test_no_value_is_above_the_best_and_the_best_is_reached() -> None:
    for sample in samples(240, 6):
        curve = curve_of(sample)
        best = fit_artwork(artwork(sample.hull_mm), [CUP], limits=sample.limits).cups[0].best
        assert curve.clearances_mm.max() <= best.clearance_mm + best.gap_mm + 1e-9
        # Half a degree aside at most a quarter of a degree times the reach is lost.
        lost_mm = math.radians(0.25) * np.abs(sample.hull_mm - sample.hull_mm.mean(axis=0)).sum()
        assert curve.clearances_mm.max() >= best.clearance_mm - curve.gap_mm - lost_mm


def test_a_rectangle_in_a_window_by_hand() -> None:
    """p x q at angle t needs p cos + q sin by p sin + q cos; the curve is what is left."""
    p, q, a, b = 100.0, 10.0, 90.0, 72.0
    limits = PressLimits(etch=EtchArea(a, b), angles=Angles("none"))
    curve = angle_curve(artwork(box(p, q)), HUGE, limits)
    c, s = (np.abs(f(np.radians(curve.turns_deg))) for f in (np.cos, np.sin))
    expected = np.minimum(a - p * c - q * s, b - p * s - q * c) / 2.0
    assert np.abs(curve.clearances_mm - expected).max() <= curve.gap_mm + 1e-9
    assert not curve.is_flat
    # Turning is forbidden, and upright it does not fit.
    assert curve.fitting_deg == ()


def test_flat_only_where_turning_changes_nothing() -> None:
    star = ring(20.0, (30.0, 40.0), count=5)
    for limits in (
        PressLimits(),
        PressLimits(pad=Pad("round", 70, 70, offset_mm=(3.0, 3.0))),
        PressLimits(pad=Pad("rect", 70, 70, 35, turn_deg=10.0)),
    ):
        curve = angle_curve(artwork(star), CUP, limits)
        assert curve.is_flat and np.ptp(curve.clearances_mm) <= GAP_MM
        assert curve.fitting_deg == ((-180.0, 180.0),)
    assert not angle_curve(artwork(star), CUP, PressLimits(pad=Pad("oval", 90, 60))).is_flat


def test_a_fixed_datum_out_of_the_middle_is_a_plain_disc_still() -> None:
    """Held at a point beside its middle in a cup alone: R - greatest distance, at any turn."""
    star = ring(20.0, (30.0, 40.0), count=5)
    limits = PressLimits(hold=Hold("fixed"), datum=Datum("point", (33.0, 44.0)))
    curve = angle_curve(artwork(star), CUP, limits)
    reach = np.hypot(*(star - np.array([33.0, 44.0])).T).max()
    assert np.abs(curve.clearances_mm - (55.25 - reach)).max() <= curve.gap_mm + 1e-9
    assert curve.is_flat


# --- the stretches ----------------------------------------------------------------------------


def tightened(sample: Sample) -> tuple[Sample, float]:
    """An uncertainty with which some angles fit and some do not; 0 for a flat curve."""
    values = curve_of(sample).clearances_mm
    level = float(np.quantile(values, 0.6)) if np.ptp(values) > 0.05 else 0.0
    return sample, level


@pytest.mark.parametrize("seed", range(3))
def test_stretches_hold_what_fits_and_nothing_else(seed: int) -> None:
    """Sampled densely at angles between the half degrees, against a fine solution of its own."""
    told = 0
    for given in samples(260 + seed, 6):
        sample, uncertainty_mm = tightened(given)
        if uncertainty_mm <= 0.02:
            continue
        told += 1
        curve = curve_of(sample, uncertainty_mm)
        ink = limited_ink(artwork(sample.hull_mm), sample.limits)
        problem = ink.alone(0, image_area(CUP, sample.limits))
        turns = np.linspace(-180.0, 180.0, 1811)
        found = best_shifts(problem, np.radians(turns), 1e-7)
        for turn, low, high in zip(turns, found.clearance_mm, found.upper_mm, strict=True):
            if is_inside(float(turn), curve):
                assert high >= uncertainty_mm - 1e-6, (turn, sample)
            elif low > uncertainty_mm + 0.02:
                raise AssertionError(f"{turn} degrees fits but is in no stretch: {sample}")
        starts = [low for low, _ in curve.fitting_deg]
        assert starts == sorted(starts)
        assert all(-180.0 <= low <= high <= 180.0 for low, high in curve.fitting_deg)
    assert told


def test_stretches_against_the_judge() -> None:
    for given in samples(280, 4):
        sample, uncertainty_mm = tightened(given)
        if uncertainty_mm <= 0.02:
            continue
        curve = curve_of(sample, uncertainty_mm)
        points = sample.hull_mm - np.array(datum_point(artwork(sample.hull_mm), sample.limits))
        bracket = Bracket(edges_of(CUP, sample.limits), sample.limits.hold)
        for low, high in curve.fitting_deg[:3]:
            for turn in np.linspace(low, high, 7):
                assert bracket.at(points, float(turn))[1] >= uncertainty_mm - 1e-6, sample
        for turn in np.linspace(-179.0, 178.0, 12):
            if bracket.at(points, float(turn))[0] > uncertainty_mm + 0.02:
                assert is_inside(float(turn), curve), (turn, sample)


def test_a_narrow_stretch_between_half_degrees_is_found() -> None:
    """100 x 13.13 fits 80 x 80 only next to 45 degrees, from p cos t + q sin t = 80 to the
    mirror image of that. The file is turned by 0.24 so that no half degree hits."""
    p, q = 100.0, 13.13
    edge_deg = math.degrees(math.atan2(q, p) + math.acos(80.0 / math.hypot(p, q)))
    assert 44.9 < edge_deg < 45.0
    hull = box(p, q, -50.0, -q / 2.0) @ turning(0.24).T
    curve = angle_curve(artwork(hull), HUGE, PressLimits(etch=EtchArea(80.0, 80.0)))
    middles = sorted(0.5 * (low + high) for low, high in curve.fitting_deg)
    assert middles == pytest.approx([-135.24, -45.24, 44.76, 134.76], abs=0.01)
    for low, high in curve.fitting_deg:
        assert high - low <= 2.0 * (45.0 - edge_deg) + 1e-6


@pytest.mark.parametrize("slack_mm", [1e-2, 1e-3])
@pytest.mark.parametrize(
    "pad", [Pad("round", 80, 80), Pad("rect", 80, 80, 40), Pad("oval", 80, 80)]
)
def test_what_just_fits_at_every_angle_is_one_stretch(pad: Pad, slack_mm: float) -> None:
    """Artwork brought to its largest scale in a round pad, a hair smaller."""
    hull = ring(40.0 - slack_mm, (100.0, 100.0), count=48)
    curve = angle_curve(artwork(hull), CUP, PressLimits(pad=pad))
    assert len(curve.fitting_deg) <= 4
    assert sum(high - low for low, high in curve.fitting_deg) == pytest.approx(360.0, abs=0.1)


def test_stretch_ends_by_hand() -> None:
    """80 x 10 in a strip 30 wide: 80 sin t + 10 cos t <= 30."""
    limits = PressLimits(etch=EtchArea(400.0, 30.0), angles=Angles("within", 90.0))
    curve = angle_curve(artwork(box(80.0, 10.0)), HUGE, limits)
    end = math.degrees(math.asin(30.0 / math.hypot(80.0, 10.0)) - math.atan2(10.0, 80.0))
    assert len(curve.fitting_deg) == 1
    assert curve.fitting_deg[0] == pytest.approx((-end, end), abs=0.02)
    low, high = curve.fitting_deg[0]
    assert -end - 1e-6 <= low and high <= end + 1e-6


@pytest.mark.parametrize(
    "angles", [Angles("none"), Angles("within", 17.3), Angles("step", 22.5), Angles("step", 360.0)]
)
def test_only_allowed_angles_are_said_to_fit(angles: Angles) -> None:
    for sample in samples(300, 5):
        limited = Sample(sample.hull_mm, replace(sample.limits, angles=angles))
        for low, high in curve_of(limited).fitting_deg:
            assert is_turn_allowed(low, angles) and is_turn_allowed(high, angles)
            if angles.kind in ("none", "step"):
                assert low == high


def test_every_reading_counts_for_the_stretches() -> None:
    """White read as ink makes a second, larger outline: a stretch must fit both, at one place."""
    small, large = box(70.0, 10.0, 50.0, 50.0), box(80.0, 10.0, 45.0, 50.0)
    limits = PressLimits(etch=EtchArea(400.0, 30.0), angles=Angles("within", 90.0))
    both = angle_curve(artwork(small, alternatives=[reading(large)]), HUGE, limits)
    alone = angle_curve(artwork(large), HUGE, limits)
    assert np.allclose(both.fitting_deg, alone.fitting_deg, atol=0.02)


def test_stretches_are_verdicts() -> None:
    """There is one exactly where the best placement of all is said to fit (but for a hair)."""
    for sample in samples(320, 10, angles=True):
        art = artwork(sample.hull_mm)
        found = fit_artwork(art, [CUP], limits=sample.limits).cups[0]
        curve = angle_curve(art, CUP, sample.limits)
        if abs(found.clearance_mm) > 0.02:
            assert bool(curve.fitting_deg) is (found.clearance_mm > 0), sample
        if found.clearance_mm > 0.02:
            assert is_inside(found.best.turn_deg, curve, 1e-9), sample


def test_it_can_be_cancelled() -> None:
    sample = samples(1, 2)[1]
    with pytest.raises(Cancelled):
        angle_curve(artwork(sample.hull_mm), CUP, sample.limits, cancelled=lambda: True)


def test_the_judge_sees_a_wrong_shift() -> None:
    sample = samples(230, 1)[0]
    points = sample.hull_mm - np.array(datum_point(artwork(sample.hull_mm), sample.limits))
    edges = edges_of(CUP, sample.limits)
    low, high = Bracket(edges, Hold()).at(points, 30.0)
    assert room_at(edges, points, 30.0, np.array([9.0, 9.0])) < low <= high
