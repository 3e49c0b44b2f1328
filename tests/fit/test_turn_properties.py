"""What must hold whatever the artwork and the limits are: turning, adding, forbidding, scaling."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fit.artworks import Points, artwork, ring
from tests.fit.judges import turning
from tests.fit.limit_samples import (
    CUP,
    PAGE_MIDDLE,
    random_etch,
    random_hold,
    random_hull,
    random_pad,
    samples,
)
from viewer.fit import CupFit, angle_curve, datum_point, fit_artwork
from viewer.fit.area import image_area
from viewer.fit.problems import limited_ink
from viewer.fit.turn import Turned, best_turn
from viewer.press import Angles, Cup, Datum, EtchArea, Hold, Margin, Pad, PressLimits

GAP_MM = 0.005
seeds = st.integers(0, 2**32 - 1)
shapes = st.sampled_from(["round", "oval", "rect"])
quick = settings(
    max_examples=8, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
heavy = settings(quick, max_examples=6)


def solve(hull_mm: Points, limits: PressLimits, cup: Cup = CUP) -> CupFit:
    return fit_artwork(artwork(hull_mm), [cup], limits=limits).cups[0]


def search(hull_mm: Points, limits: PressLimits) -> Turned:
    """The best placement alone, without hard edges and scale."""
    problem = limited_ink(artwork(hull_mm), limits).alone(0, image_area(CUP, limits))
    return best_turn(problem, limits.angles)


def about(point: Points, hull_mm: Points, turn_deg: float) -> Points:
    """The hull turned counter-clockwise as seen, about a page point."""
    result: Points = (hull_mm - point) @ turning(turn_deg).T + point
    return result


# --- turning ------------------------------------------------------------------------------


@quick
@given(seed=seeds, shape=shapes, turn_deg=st.floats(-180.0, 180.0))
def test_turning_the_file_leaves_the_best_clearance(seed: int, shape: str, turn_deg: float) -> None:
    """About the datum, so that the hold takes hold of the same point."""
    rng = np.random.default_rng(seed)
    datum = PAGE_MIDDLE + rng.uniform(-10.0, 10.0, 2)
    limits = PressLimits(
        random_pad(rng, shape),
        random_etch(rng),
        random_hold(rng),
        Datum("point", (float(datum[0]), float(datum[1]))),
    )
    hull = random_hull(rng)
    one, two = solve(hull, limits), solve(about(datum, hull, turn_deg), limits)
    assert one.clearance_mm <= two.clearance_mm + two.best.gap_mm + 1e-9
    assert two.clearance_mm <= one.clearance_mm + one.best.gap_mm + 1e-9
    if one.largest_scale is not None and two.largest_scale is not None:
        assert one.largest_scale == pytest.approx(two.largest_scale, rel=2e-3)


@pytest.mark.parametrize("steps", [1, 77, -300])
def test_turning_the_file_shifts_the_curve(steps: int) -> None:
    """Half a degree a step: the file turned by +a has at turn t what it had at t + a."""
    for number, sample in enumerate(samples(6, 3)):
        datum = datum_point(artwork(sample.hull_mm), sample.limits)
        limits = replace(sample.limits, datum=Datum("point", datum))
        turned = about(np.array(datum), sample.hull_mm, steps * 0.5)
        one = angle_curve(artwork(sample.hull_mm), CUP, limits)
        two = angle_curve(artwork(turned), CUP, limits)
        slack = max(one.gap_mm, two.gap_mm) + 1e-9
        expected = np.roll(one.clearances_mm, -steps)
        assert np.abs(two.clearances_mm - expected).max() <= slack, number


@quick
@given(seed=seeds, shape=shapes)
def test_a_half_turn_of_a_symmetric_area_changes_nothing(seed: int, shape: str) -> None:
    rng = np.random.default_rng(seed)
    pad = replace(random_pad(rng, shape), offset_mm=(0.0, 0.0))
    etch = replace(random_etch(rng), offset_mm=(0.0, 0.0))
    curve = angle_curve(artwork(random_hull(rng)), CUP, PressLimits(pad, etch, random_hold(rng)))
    half = np.roll(curve.clearances_mm, 360)
    assert np.abs(curve.clearances_mm - half).max() <= curve.gap_mm + 1e-9


# --- more limits, less room ---------------------------------------------------------------


def no_better(less: Turned, more: Turned) -> bool:
    assert less.gap_mm <= GAP_MM and more.gap_mm <= GAP_MM
    return less.clearance_mm <= more.clearance_mm + more.gap_mm + 1e-9


@heavy
@given(seed=seeds, shape=shapes)
def test_another_part_or_margin_never_gives_room(seed: int, shape: str) -> None:
    rng = np.random.default_rng(seed)
    pad, etch, hull = random_pad(rng, shape), random_etch(rng), random_hull(rng)
    bare = PressLimits(hold=random_hold(rng))
    with_pad, with_etch = replace(bare, pad=pad), replace(bare, etch=etch)
    both = search(hull, replace(with_pad, etch=etch))
    for part in (with_pad, with_etch):
        found = search(hull, part)
        assert no_better(both, found)
        assert no_better(found, search(hull, bare))
    wider = replace(with_pad, pad=replace(pad, margin_mm=pad.margin_mm + 1.0))
    found, less = search(hull, with_pad), search(hull, wider)
    assert no_better(less, found)
    # Everything but the pad aside, a margin takes off no more than itself.
    assert less.clearance_mm >= found.clearance_mm - 1.0 - less.gap_mm - 1e-9


@heavy
@given(seed=seeds, shape=shapes, limit_mm=st.floats(0.0, 20.0))
def test_a_smaller_freedom_never_gives_room(seed: int, shape: str, limit_mm: float) -> None:
    rng = np.random.default_rng(seed)
    hull = random_hull(rng)
    limits = PressLimits(random_pad(rng, shape), random_etch(rng), datum=Datum("page"))
    chains = (
        [Hold(), Hold("free", limit_mm), Hold("across", limit_mm), Hold("fixed")],
        [
            Hold(),
            Hold("along"),
            Hold("along", limit_mm),
            Hold("along", limit_mm / 2),
            Hold("fixed"),
        ],
        [Hold("free", limit_mm), Hold("free", limit_mm / 3), Hold("free", 0.0)],
    )
    for chain in chains:
        found = [search(hull, replace(limits, hold=hold)) for hold in chain]
        for more, less in pairwise(found):
            assert no_better(less, more)
    fixed = search(hull, replace(limits, hold=Hold("fixed")))
    for same in (Hold("free", 0.0), Hold("across", 0.0), Hold("along", 0.0)):
        found_same = search(hull, replace(limits, hold=same))
        assert abs(found_same.clearance_mm - fixed.clearance_mm) <= GAP_MM


@heavy
@given(seed=seeds, shape=shapes, limit_deg=st.floats(0.0, 180.0))
def test_fewer_angles_never_give_room(seed: int, shape: str, limit_deg: float) -> None:
    rng = np.random.default_rng(seed)
    hull = random_hull(rng)
    limits = PressLimits(random_pad(rng, shape), random_etch(rng), random_hold(rng))
    chains = (
        [Angles(), Angles("within", limit_deg), Angles("within", limit_deg / 2), Angles("none")],
        [Angles(), Angles("step", 15.0), Angles("step", 45.0), Angles("step", 360.0)],
    )
    for chain in chains:
        found = [search(hull, replace(limits, angles=angles)) for angles in chain]
        for more, less in pairwise(found):
            assert no_better(less, more)
    none, one_step = (
        search(hull, replace(limits, angles=angles)).clearance_mm
        for angles in (Angles("none"), Angles("step", 360.0))
    )
    assert none == pytest.approx(one_step, abs=1e-9)
    assert none == pytest.approx(
        search(hull, replace(limits, angles=Angles("within", 0.0))).clearance_mm, abs=1e-9
    )


@heavy
@given(seed=seeds, shape=shapes)
def test_more_ink_never_gives_room(seed: int, shape: str) -> None:
    rng = np.random.default_rng(seed)
    hull = random_hull(rng)
    limits = PressLimits(random_pad(rng, shape), random_etch(rng), random_hold(rng), Datum("page"))
    more = np.vstack([hull, random_hull(rng)[:2]])
    assert no_better(search(more, limits), search(hull, limits))
    # A point within the hull, or one twice, changes nothing.
    again = np.vstack([hull, hull[:1], hull.mean(axis=0)])
    assert abs(search(again, limits).clearance_mm - search(hull, limits).clearance_mm) <= GAP_MM


# --- moving and scaling -------------------------------------------------------------------


@quick
@given(seed=seeds, shape=shapes, dx=st.floats(-300.0, 300.0), dy=st.floats(-300.0, 300.0))
def test_where_the_ink_is_on_the_page_does_not_matter(
    seed: int, shape: str, dx: float, dy: float
) -> None:
    rng = np.random.default_rng(seed)
    hull, datum = random_hull(rng), PAGE_MIDDLE + rng.uniform(-5.0, 5.0, 2)
    limits = PressLimits(random_pad(rng, shape), random_etch(rng), random_hold(rng))
    away = datum + np.array((dx, dy))
    one = solve(hull, replace(limits, datum=Datum("point", (float(datum[0]), float(datum[1])))))
    two = solve(
        hull + np.array((dx, dy)),
        replace(limits, datum=Datum("point", (float(away[0]), float(away[1])))),
    )
    assert one.clearance_mm == pytest.approx(two.clearance_mm, abs=GAP_MM)
    assert one.unturned_clearance_mm == pytest.approx(two.unturned_clearance_mm, abs=1e-4)


def enlarged(limits: PressLimits, scale: float) -> PressLimits:
    pad, etch, hold = limits.pad, limits.etch, limits.hold
    assert pad is not None and etch is not None
    return replace(
        limits,
        pad=replace(
            pad,
            width_mm=pad.width_mm * scale,
            height_mm=pad.height_mm * scale,
            corner_radius_mm=pad.corner_radius_mm * scale * (1.0 - 1e-12),
            offset_mm=(pad.offset_mm[0] * scale, pad.offset_mm[1] * scale),
            margin_mm=pad.margin_mm * scale,
        ),
        etch=EtchArea(
            etch.width_mm * scale,
            etch.height_mm * scale,
            (etch.offset_mm[0] * scale, etch.offset_mm[1] * scale),
            etch.margin_mm * scale,
        ),
        hold=hold if hold.limit_mm is None else Hold(hold.kind, hold.limit_mm * scale),
    )


@heavy
@given(seed=seeds, shape=shapes, scale=st.floats(0.01, 20.0))
def test_everything_larger_is_larger_by_the_same(seed: int, shape: str, scale: float) -> None:
    rng = np.random.default_rng(seed)
    hull = random_hull(rng) - PAGE_MIDDLE
    limits = PressLimits(
        random_pad(rng, shape), random_etch(rng), random_hold(rng), Datum("point", (1.0, 2.0))
    )
    large = replace(enlarged(limits, scale), datum=Datum("point", (scale, 2.0 * scale)))
    cup = Cup("plain", 110.0, 0.0, Margin(0.0, False))
    large_cup = Cup("plain", 110.0 * scale, 0.0, Margin(0.0, False))
    one, two = solve(hull, limits, cup), solve(hull * scale, large, large_cup)
    slack = GAP_MM * max(scale, 1.0) + 1e-9
    assert two.clearance_mm == pytest.approx(one.clearance_mm * scale, abs=slack)
    if one.largest_scale and two.largest_scale and scale > 0.2:
        assert one.largest_scale == pytest.approx(two.largest_scale, rel=2e-3)


# --- ties -----------------------------------------------------------------------------------


def test_of_two_mirrored_turns_the_positive_one() -> None:
    """A strip in a square window: 45 and -45 are equal, so are 135 and -135."""
    strip = np.array([(0, 0), (100, 0), (100, 13), (0, 13)], dtype=float)
    huge = Cup("500", 500.0, 0.0, Margin(0.0, False))
    for angles in (Angles(), Angles("within", 60.0), Angles("within", 45.0), Angles("step", 45.0)):
        found = solve(strip, PressLimits(etch=EtchArea(80, 80), angles=angles), huge)
        assert found.best.turn_deg == pytest.approx(45.0, abs=1e-3), angles
    # Standing on end it is as good at -45 and 45; never the far ones.
    upright = solve(strip[:, ::-1], PressLimits(etch=EtchArea(80, 80)), huge)
    assert upright.best.turn_deg == pytest.approx(45.0, abs=1e-3)


def test_where_no_turn_helps_there_is_none() -> None:
    for pad in (Pad("round", 60, 60), Pad("rect", 60, 60, 30), Pad("oval", 60, 60)):
        found = solve(ring(20.0, (50.0, 60.0), count=7), PressLimits(pad=pad))
        assert found.best.turn_deg == 0.0 and not found.turn_helps
        assert found.best.settable.turn_deg == 0.0
        assert found.clearance_mm == pytest.approx(10.0, abs=GAP_MM)


def test_of_equal_shifts_the_least_is_also_the_one_that_can_be_set() -> None:
    """A label in a long area may lie anywhere along it: it stays where it is."""
    label = np.array([(100.0, 140.0), (105.0, 140.0), (105.0, 143.0), (100.0, 143.0)])
    for pad in (Pad("rect", 60, 40), Pad("rect", 60, 40, 2)):
        found = solve(label, PressLimits(pad=pad))
        assert found.best.center_mm == pytest.approx((102.5, 141.5), abs=1e-3)
        assert found.best.settable.center_mm == pytest.approx((102.5, 141.5), abs=0.011)


def test_the_answer_is_the_same_every_time() -> None:
    for sample in samples(8, 4, angles=True):
        one, two = solve(sample.hull_mm, sample.limits), solve(sample.hull_mm, sample.limits)
        assert (one.best, one.limits, one.largest_scale) == (
            two.best,
            two.limits,
            two.largest_scale,
        )
        assert not math.isnan(one.clearance_mm)
