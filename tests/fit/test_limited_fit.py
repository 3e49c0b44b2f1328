"""Whole fits within limits: verdicts under doubt, several readings, settable places, scale."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fit.artworks import Points, artwork, box, reading, ring
from tests.fit.judges import Bracket, Edge, edges_of, room_at, turning
from tests.fit.limit_samples import CUP, Sample, allowed_turns, random_hull, samples
from viewer.artwork.model import Artwork, Reading
from viewer.errors import UsageError
from viewer.fit import (
    CupFit,
    Placement,
    Verdict,
    angle_curve,
    datum_point,
    fit_artwork,
    is_turn_allowed,
    largest_scale_at,
    place,
    settled,
)
from viewer.press import Angles, Cup, Datum, EtchArea, Hold, Margin, Pad, PressLimits

HUGE = Cup("500", 500.0, 0.0, Margin(0.0, False))
FITS = Verdict.FITS


def solve(art: Artwork, limits: PressLimits, cup: Cup = CUP) -> CupFit:
    return fit_artwork(art, [cup], limits=limits).cups[0]


def medium(sample: Sample, share: float) -> Points:
    """The sample's hull about the page's middle, larger or smaller."""
    middle = np.array([105.0, 148.5])
    result: Points = (sample.hull_mm - middle) * share + middle
    return result


# --- what is proposed can be set and holds ---------------------------------------------


def check_settable(art: Artwork, limits: PressLimits, found: CupFit, cup: Cup = CUP) -> None:
    settable = found.best.settable
    placed = place(art, cup, settable.placement, limits=limits)
    assert placed.is_allowed
    assert placed.clearance_mm == pytest.approx(settable.clearance_mm, abs=1e-9)
    assert (placed.verdict is FITS) is (found.verdict is FITS), (found, placed)
    assert settable.clearance_mm <= found.clearance_mm + found.best.gap_mm + 1e-9
    again = settled(art, settable.placement, limits)
    assert again.turn_deg == pytest.approx(settable.turn_deg, abs=1e-9)


@pytest.mark.parametrize("uncertainty_mm", [0.0, 0.01, 0.5])
def test_the_settable_place_has_the_verdict_of_the_fit(uncertainty_mm: float) -> None:
    verdicts = set()
    for number, sample in enumerate(samples(400, 12, angles=True)):
        art = artwork(medium(sample, (0.6, 1.0, 1.3)[number % 3]), uncertainty_mm)
        found = solve(art, sample.limits)
        check_settable(art, sample.limits, found)
        verdicts.add(found.verdict)
    assert len(verdicts) > 1


@pytest.mark.parametrize(
    ("limits", "hull"),
    [
        (PressLimits(etch=EtchArea(60.0, 40.0)), box(60.0, 40.0, 33.3, 12.345)),
        (PressLimits(pad=Pad("rect", 60, 40, turn_deg=90.0)), box(40.0, 60.0, 7.77, 1.2345)),
        (PressLimits(pad=Pad("round", 50, 50)), box(30.0, 40.0, 0.123, 0.456)),
        (PressLimits(etch=EtchArea(60.0, 40.0), hold=Hold("fixed")), box(60.0, 40.0, 5.0, 5.0)),
        (PressLimits(pad=Pad("rect", 60, 40, 5)), box(60.0, 30.0, 1 / 3, 2 / 7)),
        (PressLimits(pad=Pad("rect", 60, 40, 5)), box(60.0, 29.0)),
        (PressLimits(etch=EtchArea(60.0, 40.0, (0.0, 3.0))), box(60.0, 30.0)),
        (PressLimits(etch=EtchArea(86.0, 68.0)), box(100.0, 10.0, 3.0, 4.0)),
        (PressLimits(pad=Pad("round", 20, 20)), np.array([(0.0, 0.0), (20.0, 0.0)])),
        (PressLimits(pad=Pad("oval", 80, 50)), np.array([(0.0, 0.0), (80.0, 0.0)])),
    ],
)
def test_exactly_as_large_as_allowed(limits: PressLimits, hull: Points) -> None:
    """Rounding to what can be set must not lose a fit that was promised."""
    art = artwork(hull)
    found = solve(art, limits, HUGE)
    assert found.clearance_mm == pytest.approx(0.0, abs=2e-6)
    # Where no last digit of the corners is against it, touching is fitting; and never is
    # the fit refused while its own proposal fits.
    assert found.verdict is FITS or hull[0, 0] not in (0.0, 5.0)
    check_settable(art, limits, found, HUGE)


def test_settable_steps() -> None:
    """Shifts from the datum in 0.01 mm, unless the hold ends between two steps; turns in 0.1."""
    for sample in samples(430, 8):
        art = artwork(medium(sample, 0.6))
        found = solve(art, sample.limits)
        if found.verdict is not FITS or found.clearance_mm < 0.2:
            continue
        settable = found.best.settable
        assert settable.turn_deg * 10.0 == pytest.approx(round(settable.turn_deg * 10.0), abs=1e-6)
        assert settable.clearance_mm >= found.clearance_mm - 0.2
        datum = np.array(datum_point(art, sample.limits))
        shift = (datum - np.array(settable.center_mm)) @ turning(settable.turn_deg).T
        reach = np.array(sample.limits.hold.reach_mm)
        assert (np.abs(shift) <= reach + 1e-6).all()
        stepped = shift[np.abs(shift) < reach - 1e-6] * 100.0
        assert stepped == pytest.approx(np.round(stepped), abs=1e-5)


# --- placements against the fit ----------------------------------------------------------


@settings(
    max_examples=15, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
@given(seed=st.integers(0, 2**32 - 1), uncertainty_mm=st.sampled_from([0.0, 0.05, 1.0]))
def test_no_placement_fits_where_the_fit_says_no(seed: int, uncertainty_mm: float) -> None:
    """Random allowed placements about the best, and random ones that may be forbidden."""
    rng = np.random.default_rng(seed)
    sample = samples(seed % 1000, 1 + seed % 5, angles=True)[-1]
    art = artwork(medium(sample, float(rng.uniform(0.6, 1.3))), uncertainty_mm)
    found = solve(art, sample.limits)
    best = found.best
    for spread in (0.01, 0.5, 20.0):
        for _ in range(10):
            x, y = np.array(best.center_mm) + rng.normal(size=2) * spread
            wish = Placement((float(x), float(y)), best.turn_deg + float(rng.normal() * spread))
            for placement in (wish, settled(art, wish, sample.limits)):
                placed = place(art, CUP, placement, limits=sample.limits)
                if placed.is_allowed:
                    assert placed.clearance_mm <= best.clearance_mm + best.gap_mm + 1e-7
                if placed.verdict is FITS:
                    assert placed.is_allowed
                    assert found.clearance_mm + best.gap_mm >= uncertainty_mm - 1e-9
            assert placed.is_allowed, (placement, sample.limits)


@settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
@given(seed=st.integers(0, 2**32 - 1))
def test_several_readings_with_their_own_doubt(seed: int) -> None:
    """A page at another scale, another outline, unequal uncertainty: "fits" only where one
    settable placement has every reading inside, each with its own doubt, by the judge."""
    rng = np.random.default_rng(seed)
    sample = samples(seed % 1000, 1 + seed % 5, angles=True)[-1]
    hull = medium(sample, float(rng.uniform(0.5, 0.9)))
    ratio = float(rng.uniform(0.9, 1.15))
    others: list[Reading] = [reading(hull * ratio, float(rng.uniform(0, 0.6)), "unit")]
    if rng.random() < 0.6:
        others.append(reading(random_hull(rng, 40.0), float(rng.uniform(0, 0.6)), "white"))
    art = artwork(hull, float(rng.uniform(0, 0.3)), alternatives=others)
    found = solve(art, sample.limits)
    settable = found.best.settable
    placed = place(art, CUP, settable.placement, limits=sample.limits)
    assert placed.is_allowed
    if found.verdict is FITS:
        assert placed.verdict is FITS
        datum = np.array(datum_point(art, sample.limits))
        shift = (datum - np.array(settable.center_mm)) @ turning(settable.turn_deg).T
        edges = edges_of(CUP, sample.limits)
        scales = [1.0, ratio, 1.0]
        outlines = [art.outline, *(other.outline for other in others)]
        for scale, outline in zip(scales, outlines, strict=False):
            points = outline.hull_mm - datum * scale
            room = room_at(edges, points, settable.turn_deg, shift * scale)
            assert room >= outline.uncertainty_mm - 1e-9
    for _ in range(10):
        x, y = np.array(settable.center_mm) + rng.normal(size=2)
        at = settled(art, Placement((float(x), float(y)), settable.turn_deg), sample.limits)
        if place(art, CUP, at, limits=sample.limits).verdict is FITS:
            # Then no reading's own best may be said to fail.
            assert found.verdict in (FITS, Verdict.TOO_CLOSE)


def test_two_readings_far_apart_cannot_be_placed_together() -> None:
    """Each alone fits a 40 mm window with 20 mm; they stand 60 mm apart on the page."""
    one, two = box(20.0, 20.0, 50.0, 50.0), box(20.0, 20.0, 110.0, 50.0)
    two = two[:3]
    limits = PressLimits(etch=EtchArea(40.0, 40.0))
    found = solve(artwork(one, alternatives=[reading(two)]), limits)
    assert found.verdict is Verdict.TOO_CLOSE
    assert solve(artwork(one), limits).verdict is FITS
    assert solve(artwork(two), limits).verdict is FITS


@pytest.mark.parametrize("seed", range(3))
def test_doubt_is_never_a_wrong_fits(seed: int) -> None:
    """The true outline may lie anywhere within the uncertainty: where it is said to fit, every
    such outline fits at the very same placement; where it is said to fail, none does."""
    rng = np.random.default_rng(seed)
    told = set()
    for number, sample in enumerate(samples(500 + seed, 7, angles=True)):
        uncertainty_mm = float(rng.uniform(0.05, 0.8))
        art = artwork(medium(sample, (0.5, 0.8, 1.1)[number % 3]), uncertainty_mm)
        found = solve(art, sample.limits)
        told.add(found.verdict)
        settable, datum = found.best.settable, np.array(datum_point(art, sample.limits))
        shift = (datum - np.array(settable.center_mm)) @ turning(settable.turn_deg).T
        edges = edges_of(CUP, sample.limits)
        bracket = Bracket(edges, sample.limits.hold, 720)
        for _ in range(4):
            angles = rng.uniform(0.0, 2.0 * math.pi, len(art.outline.hull_mm))
            push = np.stack([np.cos(angles), np.sin(angles)], axis=1)
            points = art.outline.hull_mm + uncertainty_mm * push - datum
            if found.verdict is FITS:
                assert room_at(edges, points, settable.turn_deg, shift) >= -1e-9
            elif found.verdict is not Verdict.TOO_CLOSE:
                for turn in allowed_turns(sample.limits.angles, 5):
                    assert bracket.at(points, turn)[0] < 0
    assert FITS in told and len(told) > 1


def test_hard_clearance_and_the_margins() -> None:
    """Between margin and edge: in the margin; beyond the edge: outside (by hand, 40 x 20)."""
    limits = PressLimits(etch=EtchArea(50.0, 30.0, margin_mm=4.0), angles=Angles("none"))
    for width, verdict in (
        (41.9, FITS),
        (42.1, Verdict.IN_MARGIN),
        (49.9, Verdict.IN_MARGIN),
        (50.1, Verdict.OUTSIDE),
    ):
        found = solve(artwork(box(width, 20.0)), limits)
        assert found.verdict is verdict, width
        expected = (21.0 - width / 2.0, 25.0 - width / 2.0)
        assert found.clearance_mm == pytest.approx(min(expected[0], 1.0), abs=1e-9)
        assert found.hard_clearance_mm == pytest.approx(min(expected[1], 5.0), abs=1e-9)


# --- scale ----------------------------------------------------------------------------------


def scaled(hull: Points, datum: tuple[float, float], scale: float, doubt_mm: float) -> Artwork:
    """As the program sees a scale: about the datum; doubt grows with it but does not shrink."""
    about = np.array(datum)
    return artwork((hull - about) * scale + about, doubt_mm * max(scale, 1.0))


@pytest.mark.parametrize("doubt_mm", [0.0, 0.3])
def test_the_largest_scale_is_just_not_too_large(doubt_mm: float) -> None:
    for number, sample in enumerate(samples(600, 6, angles=True)):
        hull = medium(sample, (0.1, 0.6, 1.5)[number % 3])
        art = artwork(hull, doubt_mm)
        datum = datum_point(art, sample.limits)
        limits = replace(sample.limits, datum=Datum("point", datum))
        found = solve(art, limits)
        scale = found.largest_scale
        assert scale is not None, sample
        turn = found.largest_scale_turn_deg
        assert is_turn_allowed(turn, limits.angles)
        assert largest_scale_at(art, CUP, turn, limits) == pytest.approx(scale, rel=1e-9)
        below = scaled(hull, datum, scale * (1.0 - 1e-6), doubt_mm)
        fitting = replace(limits, angles=Angles("none"))
        if turn != 0:
            turned = (below.outline.hull_mm - np.array(datum)) @ turning(turn).T + np.array(datum)
            below = artwork(turned, below.outline.uncertainty_mm)
        assert solve(below, fitting).verdict is FITS, sample
        above = solve(scaled(hull, datum, scale * (1.0 + 1e-3), doubt_mm), limits)
        assert above.verdict is not FITS, sample
        if abs(scale - 1.0) > 1e-3:
            assert (found.verdict is FITS) is (scale > 1.0), sample
        unturned = found.largest_scale_unturned
        if unturned is not None:
            assert unturned <= scale * (1.0 + 1e-9)
            up = replace(limits, angles=Angles("none"))
            low, high = (
                solve(scaled(hull, datum, unturned * factor, doubt_mm), up).verdict
                for factor in (1.0 - 1e-6, 1.0 + 1e-3)
            )
            assert low is FITS and high is not FITS, sample


@pytest.mark.parametrize(
    "hold", [Hold("fixed"), Hold("free", 0.0), Hold("across", 0.2), Hold("along")]
)
def test_scale_with_travel_limited_by_hand(hold: Hold) -> None:
    """A ring about (50, 60), held near (52, 60) in a plain disc: it grows about that point.

    The shift d takes off what it can of the 2 mm: k 20 + |2k - d| = 55.25.
    """
    limits = PressLimits(hold=hold, datum=Datum("point", (52.0, 60.0)))
    found = solve(artwork(ring(20.0, (50.0, 60.0), count=720)), limits)
    across = hold.reach_mm[0] if hold.kind != "along" else 55.0
    # Along the other way a turn by 90 degrees brings the offset into the free direction.
    free = hold.kind == "along"
    expected = 55.25 / 20.0 if free else (55.25 + across) / 22.0
    assert found.largest_scale == pytest.approx(expected, rel=1e-4)


def test_scale_by_hand() -> None:
    limits = PressLimits(etch=EtchArea(80.0, 80.0))
    found = solve(artwork(box(50.0, 5.0)), limits, HUGE)
    assert found.largest_scale == pytest.approx(80.0 * math.sqrt(2.0) / 55.0, rel=1e-6)
    assert found.largest_scale_unturned == pytest.approx(1.6, rel=1e-9)
    assert abs(math.remainder(found.largest_scale_turn_deg, 90.0)) == pytest.approx(45.0, abs=1e-3)
    assert largest_scale_at(artwork(box(50.0, 5.0)), HUGE, 0.0, limits) == pytest.approx(1.6)
    assert largest_scale_at(artwork(box(50.0, 5.0)), HUGE, 90.0, limits) == pytest.approx(1.6)


@pytest.mark.parametrize(
    ("hold", "etch", "pad", "hull"),
    [
        (
            Hold("across", 3.9),
            EtchArea(15.3, 30.2, (17.1, -12.3)),
            None,
            [(-5.44, -22.69), (-1.76, -34.9), (-3.77, -30.6), (12.56, -35.67)],
        ),
        (
            Hold("along", 3.0),
            EtchArea(20.5, 40.0, (-13.2, -0.9)),
            None,
            [(34.51, 12.14), (39.89, 20.99), (66.25, 2.59), (31.71, 46.26)],
        ),
        (
            Hold("along", 3.0),
            EtchArea(37.65, 17.14, (-6.2, -29.65)),
            Pad("rect", 80, 50),
            [(-7.11, -31.34), (-14.55, -29.6), (-10.07, -26.54), (-7.03, -27.66)],
        ),
    ],
)
def test_no_larger_scale_is_missed_where_the_datum_lies_outside(
    hold: Hold, etch: EtchArea, pad: Pad | None, hull: list[tuple[float, float]]
) -> None:
    """Shrunk, the ink comes to the datum: not every angle is alike then, and one that is
    best for the whole may be hopeless for the smaller. What fits at a scale bounds it."""
    limits = PressLimits(pad, etch, hold, Datum("point", (0.0, 0.0)))
    points = np.array(hull)
    found = solve(artwork(points), limits).largest_scale
    fitting = [
        scale
        for scale in np.geomspace(0.3, 1.0, 8)
        if solve(artwork(points * scale), limits).verdict is FITS
    ]
    assert (found is None) == (not fitting)
    if found is not None:
        assert found >= max(fitting) * (1.0 - 1e-6)


def test_small_artwork_has_its_scale_as_exactly() -> None:
    """1 mm of art in an 80 mm window: the factor is large, its share of error must not be."""
    found = solve(artwork(box(1.0, 0.1)), PressLimits(etch=EtchArea(80.0, 80.0)), HUGE)
    assert found.largest_scale == pytest.approx(80.0 * math.sqrt(2.0) / 1.1, rel=1e-4)


# --- degenerate -----------------------------------------------------------------------------

DOTS = {
    "one point": np.array([[50.0, 60.0]]),
    "one point thrice": np.array([[50.0, 60.0]] * 3),
    "two points": np.array([[50.0, 60.0], [70.0, 60.0]]),
    "in a line": np.array([[50.0, 60.0], [55.0, 65.0], [60.0, 70.0], [65.0, 75.0]]),
    "speck": box(1e-3, 1e-3, 50.0, 60.0),
    "hair": box(30.0, 1e-6, 50.0, 60.0),
    "duplicates": np.vstack([box(20.0, 10.0), box(20.0, 10.0)]),
}


@pytest.mark.parametrize("name", DOTS)
@pytest.mark.parametrize(
    "pad",
    [
        Pad("round", 60, 60),
        Pad("oval", 60, 40, turn_deg=30.0),
        Pad("oval", 60, 4),
        Pad("rect", 60, 40),
        Pad("rect", 60, 40, 8, offset_mm=(2.0, 1.0)),
        Pad("rect", 60, 40, 20),
    ],
)
def test_degenerate_ink(name: str, pad: Pad) -> None:
    hull = DOTS[name]
    for hold in (Hold(), Hold("fixed"), Hold("across", 0.0)):
        limits = PressLimits(pad=pad, hold=hold)
        art = artwork(hull)
        found = solve(art, limits)
        check_settable(art, limits, found)
        assert 0.0 <= found.best.gap_mm <= 0.005
        assert found.limits
        points = hull - np.array(datum_point(art, limits))
        bracket = Bracket(edges_of(CUP, limits), hold, 720)
        for turn in (0.0, 30.0, 75.0):
            low = bracket.at(points, turn)[0]
            assert low <= found.clearance_mm + found.best.gap_mm + 1e-9
        curve = angle_curve(art, CUP, limits)
        assert curve.gap_mm <= 0.005
        assert curve.clearances_mm.max() <= found.clearance_mm + found.best.gap_mm + 1e-9


@pytest.mark.parametrize(
    "limits",
    [
        PressLimits(pad=Pad("round", 20, 20, offset_mm=(100.0, 0.0))),
        PressLimits(pad=Pad("oval", 20, 30, offset_mm=(0.0, 72.0))),
        PressLimits(etch=EtchArea(20.0, 20.0, offset_mm=(-80.0, 0.0))),
        PressLimits(pad=Pad("rect", 20, 20, offset_mm=(20.0, 0.0)), etch=EtchArea(19.0, 19.0)),
        PressLimits(
            pad=Pad("round", 40, 40, offset_mm=(30.0, 0.0), margin_mm=15.0),
            etch=EtchArea(49.0, 49.0),
        ),
    ],
)
def test_nothing_in_common_is_a_plain_error(limits: PressLimits) -> None:
    with pytest.raises(UsageError) as caught:
        solve(artwork(box(5.0, 5.0)), limits)
    assert "\n" not in str(caught.value) and "common" in str(caught.value)


def test_common_area_is_the_judges() -> None:
    """Areas that just meet, and just do not: 0.1 mm decides."""
    for gap_mm, is_refused in ((0.1, True), (-0.1, False)):
        pad = Pad("round", 40, 40, offset_mm=(40.0 + gap_mm, 0.0))
        limits = PressLimits(pad=pad, etch=EtchArea(40.0, 40.0))
        if is_refused:
            with pytest.raises(UsageError):
                solve(artwork(box(1.0, 1.0)), limits)
        else:
            assert solve(artwork(box(1.0, 1.0)), limits).verdict is not FITS


def test_which_part_limits() -> None:
    """Each part in turn is the one that is short."""
    plain = box(40.0, 20.0, 30.0, 30.0)
    for limits, name in (
        (PressLimits(etch=EtchArea(44.0, 24.0), pad=Pad("rect", 90, 90)), "etch"),
        (PressLimits(etch=EtchArea(90.0, 90.0), pad=Pad("rect", 44, 24)), "pad"),
        (PressLimits(etch=EtchArea(90.0, 90.0), pad=Pad("oval", 50, 28)), "pad"),
        (PressLimits(etch=EtchArea(300.0, 300.0), pad=Pad("rect", 300, 300)), "cup"),
    ):
        found = solve(artwork(plain), limits)
        assert {limit.part for limit in found.limits} == {name}
        settable = found.best.settable.placement
        assert place(artwork(plain), CUP, settable, limits=limits).tightest.part == name
        shift_edges: list[Edge] = edges_of(CUP, limits)
        datum = np.array(datum_point(artwork(plain), limits))
        shift = (datum - np.array(found.best.center_mm)) @ turning(found.best.turn_deg).T
        for limit in found.limits:
            point = np.array([limit.point_mm]) - datum
            room = room_at(shift_edges, point, found.best.turn_deg, shift)
            assert room == pytest.approx(found.best.clearance_mm, abs=1e-4)
