"""Whole fits: published sizes, properties, readings that disagree, the largest scale."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.fit.artworks import artwork, box, reading, ring
from viewer.artwork.model import ArtworkWarning, Points, Speck
from viewer.errors import ArtworkError, UsageError
from viewer.fit import CupFit, Placement, Verdict, fit_artwork, place
from viewer.press import EXAMPLE_CUPS, Cup, Margin

BARE_29 = Cup("29", 29.0, 0.0, Margin(0.0, True))
CUP_90 = Cup("90", 90.0)


def fit_one(hull_mm: Points, cup: Cup, uncertainty_mm: float = 0.0) -> CupFit:
    return fit_artwork(artwork(hull_mm, uncertainty_mm), [cup]).cups[0]


# --- published and well-known values ---------------------------------------------


def test_66_by_88_fits_the_130_cup_tightly() -> None:
    """A 66 x 88 rectangle has a diagonal of 110 (Pythagoras); the cup takes 110.5."""
    found = fit_one(box(66, 88, 7, 11), Cup("130", 130.0), 0.01)
    assert (found.verdict, found.tight) == (Verdict.FITS, True)
    assert found.clearance_mm == pytest.approx(0.25, abs=1e-9)
    assert found.best.center_mm == (40.0, 55.0)


def test_20_by_21_fits_a_circle_of_29_exactly() -> None:
    found = fit_one(box(20, 21), BARE_29)
    assert (found.verdict, found.clearance_mm, found.largest_scale) == (Verdict.FITS, 0.0, 1.0)


def test_20_by_21_with_any_doubt_is_too_close_to_call() -> None:
    found = fit_one(box(20, 21), BARE_29, 1e-6)
    assert (found.verdict, found.causes) == (Verdict.TOO_CLOSE, ())
    assert fit_one(box(20.001, 21), BARE_29).verdict is Verdict.OUTSIDE


@pytest.mark.parametrize("height_mm", [90.0, 60.0, 0.5])
def test_a_strip_as_wide_as_the_cup_never_fits(height_mm: float) -> None:
    """A 90 x 90 square does not fit a 90 cup at any angle, nor does any 90 strip."""
    found = fit_one(box(90, height_mm), CUP_90, 0.01)
    assert found.verdict is Verdict.OUTSIDE
    assert any("turning cannot help" in line for line in found.advice)


def test_equal_widths_differ_by_height() -> None:
    assert fit_one(box(60, 20), CUP_90, 0.01).verdict is Verdict.FITS
    assert fit_one(box(60, 60), CUP_90, 0.01).verdict is Verdict.OUTSIDE
    assert fit_one(box(60, 52), CUP_90, 0.01).verdict is Verdict.IN_MARGIN


def test_the_diagonal_is_not_the_whole_story() -> None:
    """Equilateral, side 60: smallest circle 69.2820 (Jung, J. reine angew. Math. 123, 1901)."""
    triangle = np.array([(0.0, 0.0), (60.0, 0.0), (30.0, 60.0 * math.sqrt(3.0) / 2.0)])
    fit = fit_artwork(artwork(triangle), [Cup("75", 75.0)])
    assert fit.smallest_circle.diameter == pytest.approx(69.2820, abs=5e-5)
    assert fit.longest_diagonal.length == pytest.approx(60.0)
    assert fit.longest_diagonal.length < fit.cups[0].cup.max_image_diameter_mm
    assert fit.cups[0].verdict is Verdict.OUTSIDE
    assert len(fit.cups[0].limits) == 3


def test_sizes_and_smallest_cup() -> None:
    fit = fit_artwork(artwork(box(66, 30, 5, 6), 0.01), reversed(EXAMPLE_CUPS))
    assert (fit.width_mm, fit.height_mm) == (66.0, 30.0)
    assert (fit.ink_bounds.x0, fit.ink_bounds.y1) == (5.0, 36.0)
    assert [c.cup.name for c in fit.cups] == ["60", "75", "90", "110", "130"]
    assert fit.smallest_cup is not None and fit.smallest_cup.name == "90"


def test_a_single_point_fits_in_its_place() -> None:
    found = fit_one(np.array([(3.0, 4.0)]), CUP_90, 0.01)
    assert (found.verdict, found.clearance_mm) == (Verdict.FITS, 38.25)
    assert found.best.center_mm == (3.0, 4.0)


# --- bad input -----------------------------------------------------------------------


def test_no_ink_is_an_error() -> None:
    with pytest.raises(ArtworkError, match="no ink"):
        fit_artwork(artwork(np.empty((0, 2))), EXAMPLE_CUPS)
    with pytest.raises(ArtworkError, match="no ink"):
        place(artwork(np.empty((0, 2))), CUP_90, Placement((0.0, 0.0)))


@pytest.mark.parametrize("uncertainty_mm", [-0.01, math.nan])
def test_an_impossible_uncertainty_is_an_error(uncertainty_mm: float) -> None:
    with pytest.raises(ArtworkError, match="uncertainty"):
        fit_artwork(artwork(box(1, 1), uncertainty_mm), EXAMPLE_CUPS)


def test_an_outline_of_nans_is_an_error() -> None:
    with pytest.raises(ArtworkError, match="impossible"):
        fit_artwork(artwork(np.full((3, 2), math.nan)), EXAMPLE_CUPS)


def test_no_cups_and_bad_tolerances_are_errors() -> None:
    with pytest.raises(UsageError, match="no cup"):
        fit_artwork(artwork(box(1, 1)), [])
    for tolerance_mm in (-0.1, math.nan, math.inf):
        with pytest.raises(UsageError, match="tolerance"):
            fit_artwork(artwork(box(1, 1)), EXAMPLE_CUPS, tolerance_mm)


# --- properties -------------------------------------------------------------------------

coordinate_mm = st.floats(-80.0, 80.0)
hulls = st.lists(st.tuples(coordinate_mm, coordinate_mm), min_size=1, max_size=12).map(
    lambda points: np.array(points, dtype=float)
)
uncertainties = st.floats(0.0, 3.0)
diameters = st.floats(20.0, 250.0)
quick = settings(max_examples=60, deadline=None)


@quick
@given(hulls, diameters, uncertainties, uncertainties)
def test_more_uncertainty_never_makes_it_fit(
    hull_mm: Points, diameter_mm: float, u: float, more: float
) -> None:
    cup = Cup("x", diameter_mm)
    before = fit_one(hull_mm, cup, u).verdict
    assert fit_one(hull_mm, cup, u + more).verdict in (before, Verdict.TOO_CLOSE)


@quick
@given(hulls, hulls, diameters, uncertainties)
def test_another_reading_never_makes_it_fit(
    hull_mm: Points, other_mm: Points, diameter_mm: float, u: float
) -> None:
    cup = Cup("x", diameter_mm)
    alone = fit_one(hull_mm, cup, u)
    more = artwork(hull_mm, u, alternatives=[reading(other_mm, u)])
    both = fit_artwork(more, [cup]).cups[0]
    if alone.verdict is not Verdict.FITS:
        assert both.verdict is not Verdict.FITS
        assert (both.largest_scale or 0.0) <= (alone.largest_scale or 0.0) * (1 + 1e-12)


@quick
@given(hulls, diameters, st.floats(0.0, 50.0), uncertainties)
def test_a_larger_cup_is_never_worse(
    hull_mm: Points, diameter_mm: float, more_mm: float, u: float
) -> None:
    order = [Verdict.OUTSIDE, Verdict.IN_MARGIN, Verdict.FITS]
    small = fit_one(hull_mm, Cup("s", diameter_mm), u)
    large = fit_one(hull_mm, Cup("l", diameter_mm + more_mm), u)
    assert large.clearance_mm >= small.clearance_mm
    if Verdict.TOO_CLOSE not in (small.verdict, large.verdict):
        assert order.index(large.verdict) >= order.index(small.verdict)
    if small.verdict is Verdict.FITS:
        assert large.verdict is Verdict.FITS


@quick
@given(hulls, diameters, st.floats(0.0, 0.8), st.floats(0.0, 0.1), uncertainties)
def test_a_wider_margin_never_makes_it_fit(
    hull_mm: Points, diameter_mm: float, margin: float, more: float, u: float
) -> None:
    narrow = Cup("x", diameter_mm, 3.0, Margin(margin, True))
    wide = replace(narrow, margin=Margin(margin + more, True))
    if fit_one(hull_mm, narrow, u).verdict is not Verdict.FITS:
        assert fit_one(hull_mm, wide, u).verdict is not Verdict.FITS


@quick
@given(hulls, diameters, uncertainties)
def test_the_largest_scale_fits_and_nothing_larger_does(
    hull_mm: Points, diameter_mm: float, u: float
) -> None:
    cup = Cup("x", diameter_mm)
    scale = fit_one(hull_mm, cup, u).largest_scale
    radius_mm = cup.max_image_diameter_mm / 2.0
    if scale is None:
        # Not even a dot would do, or no scale is too large for one.
        assert u >= radius_mm or float(np.ptp(hull_mm, axis=0).max()) + u < 1e-300
        return
    # A dot takes any scale up to the largest numbers, which geometry refuses.
    assume(scale < 1e100)
    assert fit_one(hull_mm * 0.999999 * scale, cup, u * max(scale, 1.0)).verdict is Verdict.FITS
    if scale < 1000.0:
        larger = fit_one(hull_mm * 1.000001 * scale, cup, u * max(scale, 1.0) * 1.000001)
        assert larger.verdict is not Verdict.FITS


@quick
@given(hulls, diameters, uncertainties)
def test_the_proposed_placement_keeps_what_was_promised(
    hull_mm: Points, diameter_mm: float, u: float
) -> None:
    drawn = artwork(hull_mm, u)
    cup = Cup("x", diameter_mm)
    found = fit_artwork(drawn, [cup]).cups[0]
    exact = place(drawn, cup, Placement(found.best.center_mm, found.best.turn_deg))
    assert exact.clearance_mm == pytest.approx(found.best.clearance_mm, abs=1e-9)
    assert found.clearance_mm == found.best.clearance_mm
    assert found.best.gap_mm == 0.0
    settable = found.best.settable
    placed = place(drawn, cup, settable.placement)
    assert placed.clearance_mm == pytest.approx(settable.clearance_mm, abs=1e-9)
    assert found.clearance_mm <= settable.clearance_mm + 0.01
    # On the edge itself the last digit may differ; a micrometer away it must not.
    if found.verdict is Verdict.FITS and found.clearance_mm - u > 0.008:
        assert placed.verdict is Verdict.FITS
        steps = [value * 100 for value in settable.center_mm]
        assert steps == pytest.approx([round(step) for step in steps], abs=1e-6)


# --- readings and blocking warnings ---------------------------------------------------------

WHITE = ArtworkWarning("white", "white may be paper or ink", True)


def test_readings_that_disagree_block_and_say_why() -> None:
    drawn = artwork(box(40, 40), 0.01, alternatives=[reading(box(60, 60), 0.01)], warnings=[WHITE])
    fit = fit_artwork(drawn, [CUP_90, Cup("130", 130.0)])
    assert [c.verdict for c in fit.cups] == [Verdict.TOO_CLOSE, Verdict.FITS]
    assert fit.cups[0].causes == (WHITE.message,)
    assert fit.warnings[0].blocks_fits
    assert fit.smallest_cup is not None and fit.smallest_cup.name == "130"
    scale = fit.cups[0].largest_scale
    assert scale is not None and scale == pytest.approx((38.25 - 0.01) / (30 * math.sqrt(2)))


def test_readings_that_agree_do_not_block() -> None:
    drawn = artwork(box(40, 40), 0.01, alternatives=[reading(box(42, 42), 0.01)], warnings=[WHITE])
    fit = fit_artwork(drawn, [CUP_90])
    assert fit.cups[0].verdict is Verdict.FITS
    assert not fit.warnings[0].blocks_fits


@pytest.mark.parametrize(
    ("side_mm", "other_mm", "expected"),
    [
        (57.0, 58.0, Verdict.IN_MARGIN),
        (57.0, 90.0, Verdict.OUTSIDE),
        (90.0, 57.0, Verdict.OUTSIDE),
        (57.0, 40.0, Verdict.TOO_CLOSE),
    ],
)
def test_failing_needs_every_reading(side_mm: float, other_mm: float, expected: Verdict) -> None:
    other = reading(box(other_mm, other_mm), 0.01)
    drawn = artwork(box(side_mm, side_mm), 0.01, alternatives=[other])
    assert fit_artwork(drawn, [CUP_90]).cups[0].verdict is expected


def test_readings_must_fit_in_one_place() -> None:
    """Each fits alone, but no placement suits both: that is not a fit."""
    other = reading(ring(20.0, (60.0, 0.0)), 0.01)
    drawn = artwork(ring(20.0), 0.01, alternatives=[other], warnings=[WHITE])
    found = fit_artwork(drawn, [CUP_90])
    assert found.cups[0].verdict is Verdict.TOO_CLOSE
    assert found.cups[0].causes == (WHITE.message,)
    assert found.warnings[0].blocks_fits


def test_the_proposed_center_suits_every_reading() -> None:
    other = reading(ring(36.0, (5.0, 0.0)), 0.01)
    drawn = artwork(ring(30.0), 0.01, alternatives=[other])
    found = fit_artwork(drawn, [CUP_90]).cups[0]
    assert found.verdict is Verdict.FITS
    assert found.clearance_mm == pytest.approx(8.25, abs=1e-6)
    assert place(drawn, CUP_90, Placement(found.best.center_mm)).verdict is Verdict.FITS
    assert place(drawn, CUP_90, Placement((0.0, 0.0))).verdict is Verdict.TOO_CLOSE


def test_a_unit_in_doubt_moves_the_center_with_the_page() -> None:
    """px at 72 per inch instead of 96: the page point under the cup is at 4/3 of its mm."""
    hull = ring(20.0, (150.0, 100.0))
    other = reading(hull * 96.0 / 72.0, 0.01, "bare-px")
    drawn = artwork(hull, 0.01, alternatives=[other])
    assert fit_artwork(drawn, [CUP_90]).cups[0].verdict is Verdict.FITS
    assert place(drawn, CUP_90, Placement((150.0, 100.0))).verdict is Verdict.FITS


def test_an_unconditional_block_forbids_every_size() -> None:
    text = ArtworkWarning("text", "text was drawn with a font of this computer", True)
    fit = fit_artwork(artwork(box(10, 10), 0.01, warnings=[text]), EXAMPLE_CUPS)
    assert {c.verdict for c in fit.cups} == {Verdict.TOO_CLOSE}
    assert {c.largest_scale for c in fit.cups} == {None}
    assert fit.cups[0].causes == (text.message,)
    assert fit.smallest_cup is None
    assert text.message in fit.cups[0].advice[0]


def test_a_block_does_not_soften_a_failure() -> None:
    text = ArtworkWarning("text", "text was drawn with a font of this computer", True)
    drawn = artwork(box(90, 90), 0.01, warnings=[text])
    assert fit_artwork(drawn, [CUP_90]).cups[0].verdict is Verdict.OUTSIDE


# --- advice ------------------------------------------------------------------------------------


def test_advice_holds_when_taken() -> None:
    fit = fit_artwork(artwork(box(66, 66), 0.01), EXAMPLE_CUPS)
    advice = fit.cups[2].advice
    assert advice[0] == "the 110 cup fits (tight), with 0.08 mm to spare"
    percent = next(line for line in advice if line.startswith("scale to "))
    scale = float(percent.split()[2]) / 100.0
    assert scale <= (fit.cups[2].largest_scale or 0.0) < scale + 0.001
    assert fit_one(box(66 * scale, 66 * scale), CUP_90, 0.01).verdict is Verdict.FITS


def test_a_fit_with_room_needs_no_advice() -> None:
    assert fit_one(box(20, 20), CUP_90, 0.01).advice == ()


def test_what_cannot_be_saved_is_said() -> None:
    found = fit_one(box(10, 10), Cup("20", 20.0, 4.0), 7.0)
    assert (found.verdict, found.largest_scale) == (Verdict.TOO_CLOSE, None)
    assert "cannot be made to fit these cups" in found.advice


@pytest.mark.parametrize(("ignored", "told"), [(False, True), (True, False)])
def test_a_speck_that_decides_is_named(ignored: bool, told: bool) -> None:
    hull = np.vstack([box(40, 40), [(90.0, 20.0)]])
    speck = Speck((89.9, 20.0), 0.2, ignored)
    found = fit_artwork(artwork(hull, 0.01, specks=[speck]), [CUP_90]).cups[0]
    assert any("speck" in line and "(89.90, 20.00)" in line for line in found.advice) is told


# --- the placement on screen ----------------------------------------------------------------------


def test_place_measures_the_farthest_ink() -> None:
    placed = place(artwork(box(40, 30), 0.01), CUP_90, Placement((0.0, 0.0), 33.0))
    assert placed.clearance_mm == pytest.approx(38.25 - 50.0)
    assert placed.hard_clearance_mm == pytest.approx(42.0 - 50.0)
    assert placed.tightest.point_mm == (40.0, 30.0)
    assert placed.verdict is Verdict.OUTSIDE


@quick
@given(hulls, coordinate_mm, coordinate_mm, st.floats(-180.0, 180.0))
def test_no_placement_beats_the_best(
    hull_mm: Points, x_mm: float, y_mm: float, turn_deg: float
) -> None:
    drawn = artwork(hull_mm, 0.01)
    best = fit_artwork(drawn, [CUP_90]).cups[0]
    placed = place(drawn, CUP_90, Placement((x_mm, y_mm), turn_deg))
    assert placed.clearance_mm <= best.clearance_mm + 1e-9


def test_place_refuses_what_is_no_place() -> None:
    with pytest.raises(UsageError, match="plain numbers"):
        place(artwork(box(1, 1)), CUP_90, Placement((math.nan, 0.0)))
