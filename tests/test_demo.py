"""The demo artwork comes out as its construction says it must.

Every expected number is worked out here from the numbers the drawings were
made with (radii, distances, whole pixels), never from a result of the tool.
"""

from __future__ import annotations

import importlib.util
import io
import math
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from PIL import Image

from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.errors import SizeUnknownError
from viewer.fit import Fit, fit_artwork
from viewer.geometry import smallest_enclosing_circle
from viewer.press.cups import EXAMPLE_CUPS

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "assets_demo"
NAMED_MM = (60, 75, 90, 110, 130)
RING_MM, MARGIN, SET_UP_MM = 3.0, 0.15, 0.5

PNG_MM_PER_PX = 1000 / 23622  # 600 per inch as a PNG can say it: whole pixels per meter
TIFF_MM_PER_PX = 25.4 / 600
SCAN_MM_PER_PX = 25.4 / 300
CSS_MM_PER_PX = 25.4 / 96


@dataclass(frozen=True)
class Truth:
    """Diameters and lengths in mm. ``other_mm``: the circle of the file's other reading."""

    circle_mm: float
    diagonal_mm: float
    other_mm: float | None = None
    slack_mm: float = 0.0


def circle_through(a: complex, b: complex, c: complex) -> float:
    """Diameter of the circle through three points: abc / 2K."""
    doubled_area = abs((b - a).real * (c - a).imag - (b - a).imag * (c - a).real)
    return abs(a - b) * abs(b - c) * abs(c - a) / doubled_area


FINIAL, TIP, KEEL = 48.13 + 23.13j, 110.71 + 37.0j, 68.4 + 87.42j
FLOAT_REACH, FLOAT_RADIUS = 28.0, 11.0
SPECK_CIRCLE = 24.0 + math.hypot(54.4 - 32.0, 21.2 - 38.0) + 0.15

TRUTH = {
    # Three corners of an acute triangle; the wave's round end, then the tip.
    "pennant.svg": Truth(circle_through(FINIAL, TIP, KEEL), abs(TIP - (46 + 70j)) + 0.9),
    # A disc of 226 px, at 96 or at 72 per inch.
    "compass_px.svg": Truth(226 * CSS_MM_PER_PX, 226 * CSS_MM_PER_PX, 226 * 25.4 / 72),
    # A white disc of radius 39 under colors that reach 37.5.
    "life_ring_white.svg": Truth(78.0, 78.0, 75.0),
    "porthole_mask.svg": Truth(60.0, 60.0),
    # Discs at the corners of an equilateral triangle: 2(a + r), and a * sqrt(3) + 2r.
    "three_floats.svg": Truth(
        2 * (FLOAT_REACH + FLOAT_RADIUS), FLOAT_REACH * math.sqrt(3) + 2 * FLOAT_RADIUS
    ),
    # Two round ends of radius 1, their centers 108 apart.
    "lure_side.svg": Truth(110.0, 110.0),
    "mug_tile.svg": Truth(90 * math.sqrt(2), 90 * math.sqrt(2)),
    # The circle around a disc of radius 24 and a speck of radius 0.15.
    "anchor_speck.svg": Truth(SPECK_CIRCLE, SPECK_CIRCLE),
    # 76 x 20, of which the page shows 70 x 20.
    "oars_over_edge.svg": Truth(math.hypot(76, 20), math.hypot(76, 20), math.hypot(70, 20)),
    # An ellipse of semi-axis 37 stroked 2 wide.
    "harbour_badge.svg": Truth(76.0, 76.0),
    "start_plate.pdf": Truth(math.hypot(66, 88), math.hypot(66, 88)),
    "whistle_600dpi.png": Truth(*[math.hypot(1110, 680) * PNG_MM_PER_PX] * 2),
    # From the staff's foot to the flag's far corner, a right angle at the staff's top.
    "race_flag_600dpi.tif": Truth(*[math.hypot(1100, 1100) * TIFF_MM_PER_PX] * 2),
    # Ends of radius 18 and 24 px, 625 px apart; the scanner smears ink by 2 px at each end.
    "bobber_scan.jpg": Truth(*[(625 + 18 + 24) * SCAN_MM_PER_PX] * 2, slack_mm=4 * SCAN_MM_PER_PX),
}
DECIDED_BY_READING = {
    ("compass_px.svg", "75"),
    ("compass_px.svg", "90"),
    ("life_ring_white.svg", "90"),
    ("oars_over_edge.svg", "90"),
}
TIGHT = {("pennant.svg", "90"), ("harbour_badge.svg", "90")} | {
    ("lure_side.svg", "130"),
    ("start_plate.pdf", "130"),
}


def plain_verdict(circle_mm: float, named_mm: float) -> str:
    """Verdict of one circle in one cup, by the trade's rule."""
    inner_mm = named_mm - 2 * RING_MM
    if circle_mm <= min(named_mm * (1 - MARGIN), inner_mm):
        return "fits"
    return "in-margin" if circle_mm <= inner_mm else "outside"


def expected_verdict(truth: Truth, named_mm: float) -> str:
    """Too close to call exactly where the file's readings disagree about fitting."""
    first = plain_verdict(truth.circle_mm, named_mm)
    if truth.other_mm is None:
        return first
    second = plain_verdict(truth.other_mm, named_mm)
    if (first == "fits") != (second == "fits"):
        return "too-close"
    return max(first, second, key=("fits", "in-margin", "outside").index)


@cache
def loaded(name: str) -> Artwork:
    """A demo file as the tool reads it, read once for all tests."""
    return load_artwork(str(DEMO / name))


@cache
def fitted(name: str) -> Fit:
    """A demo file fitted to the example cups."""
    return fit_artwork(loaded(name), EXAMPLE_CUPS)


@cache
def maker() -> ModuleType:
    """The script that draws the demo files."""
    spec = importlib.util.spec_from_file_location("make_demo", DEMO / "make_demo.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    before = list(sys.path)
    try:
        spec.loader.exec_module(module)
    finally:
        sys.path[:] = before
    return module


def test_expectations_are_the_ones_the_demo_is_for() -> None:
    """The sum above, done by hand: which readings disagree, and what the floats show."""
    too_close = {
        (name, str(named))
        for name, truth in TRUTH.items()
        for named in NAMED_MM
        if expected_verdict(truth, named) == "too-close"
    }
    assert too_close == DECIDED_BY_READING
    floats = TRUTH["three_floats.svg"]
    assert floats.diagonal_mm <= 76.5 < floats.circle_mm <= 84.0
    assert math.hypot(110, 12) > 110.5 > TRUTH["lure_side.svg"].circle_mm


@pytest.mark.parametrize("name", TRUTH)
def test_circle_and_diagonal_are_true(name: str) -> None:
    truth, fit = TRUTH[name], fitted(name)
    allowed_mm = 2 * loaded(name).outline.uncertainty_mm + truth.slack_mm
    assert abs(fit.smallest_circle.diameter - truth.circle_mm) <= allowed_mm
    assert abs(fit.longest_diagonal.length - truth.diagonal_mm) <= allowed_mm


@pytest.mark.parametrize("name", [name for name in TRUTH if name.endswith((".svg", ".pdf"))])
def test_vector_ink_is_measured_finely(name: str) -> None:
    assert loaded(name).outline.uncertainty_mm <= 0.05


@pytest.mark.parametrize("name", TRUTH)
def test_verdicts_are_true(name: str) -> None:
    found = {cup.cup.name: str(cup.verdict.value) for cup in fitted(name).cups}
    assert found == {str(named): expected_verdict(TRUTH[name], named) for named in NAMED_MM}


@pytest.mark.parametrize("name", TRUTH)
def test_smallest_cup_and_tight_fits(name: str) -> None:
    fit, truth = fitted(name), TRUTH[name]
    fits = [str(named) for named in NAMED_MM if expected_verdict(truth, named) == "fits"]
    assert (fit.smallest_cup.name if fit.smallest_cup else None) == (fits[0] if fits else None)
    assert {cup.cup.name for cup in fit.cups if cup.tight} == {
        cup for file, cup in TIGHT if file == name
    }


@pytest.mark.parametrize("name", [name for name, truth in TRUTH.items() if truth.other_mm])
def test_other_reading_is_measured_too(name: str) -> None:
    artwork, other_mm = loaded(name), TRUTH[name].other_mm
    assert other_mm is not None
    gaps_mm = [
        abs(smallest_enclosing_circle(reading.outline.hull_mm).diameter - other_mm)
        - 2 * reading.outline.uncertainty_mm
        for reading in artwork.alternatives
    ]
    assert gaps_mm and min(gaps_mm) <= 0


def test_px_per_inch_settles_a_bare_px_file() -> None:
    options = LoadOptions(px_per_inch=72)
    artwork = load_artwork(str(DEMO / "compass_px.svg"), options)
    fit = fit_artwork(artwork, EXAMPLE_CUPS)
    allowed_mm = 2 * artwork.outline.uncertainty_mm
    assert abs(fit.smallest_circle.diameter - 226 * 25.4 / 72) <= allowed_mm
    verdicts = {cup.cup.name: cup.verdict.value for cup in fit.cups}
    assert (verdicts["75"], verdicts["90"], verdicts["110"]) == ("outside", "in-margin", "fits")


def test_speck_is_reported_and_can_be_left_out() -> None:
    artwork = loaded("anchor_speck.svg")
    (speck,) = artwork.specks
    assert math.dist(speck.center_mm, (54.4, 21.2)) <= 0.1
    # Its size is told from the coarse picture: never too small, two pixels too large at most.
    assert 0.29 <= speck.size_mm <= 0.5
    without = load_artwork(str(DEMO / "anchor_speck.svg"), LoadOptions(ignore_specks=True))
    fit = fit_artwork(without, EXAMPLE_CUPS)
    assert abs(fit.smallest_circle.diameter - 48.0) <= 2 * without.outline.uncertainty_mm
    assert fit.smallest_cup is not None and fit.smallest_cup.name == "60"
    assert without.specks and all(speck.ignored for speck in without.specks)


def test_cropped_page_sets_the_frame() -> None:
    """Crop box 20..130 x 40..160 from below; ink 42..108 x 57..145 from below."""
    artwork, fit = loaded("start_plate.pdf"), fitted("start_plate.pdf")
    assert artwork.page_mm == pytest.approx((110, 120), abs=1e-3)
    box = fit.ink_bounds
    allowed_mm = artwork.outline.uncertainty_mm + 1e-3
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((22, 15, 88, 103), abs=allowed_mm)


def test_picture_without_a_size_is_refused() -> None:
    with pytest.raises(SizeUnknownError):
        load_artwork(str(DEMO / "mark_without_size.png"))


def test_picture_without_a_size_takes_one() -> None:
    """The mark's ink is 376 px high: from y = 24 to y = 400."""
    options = LoadOptions(height_mm=37.6)
    fit = fit_artwork(load_artwork(str(DEMO / "mark_without_size.png"), options), EXAMPLE_CUPS)
    assert fit.ink_bounds.height == pytest.approx(37.6, abs=1e-6)


def test_every_file_of_the_folder_is_drawn_by_the_script() -> None:
    art = {path.name for path in DEMO.iterdir() if path.suffix not in ("", ".py", ".toml")}
    assert art == set(maker().FILES) == set(TRUTH) | {"mark_without_size.png"}


@pytest.mark.parametrize("name", sorted({*TRUTH, "mark_without_size.png"}))
def test_files_are_the_ones_the_script_draws(name: str) -> None:
    kept, fresh = (DEMO / name).read_bytes(), maker().FILES[name]()
    if name.endswith((".svg", ".pdf")):
        # A checkout may have changed the line ends of text.
        assert kept.replace(b"\r\n", b"\n") == fresh
        return
    with Image.open(io.BytesIO(kept)) as a, Image.open(io.BytesIO(fresh)) as b:
        assert (a.size, a.mode, a.info.get("dpi")) == (b.size, b.mode, b.info.get("dpi"))
        difference = np.abs(np.asarray(a).astype(int) - np.asarray(b).astype(int))
    # Other JPEG encoders may round otherwise; the rest is lossless.
    assert difference.mean() <= (2.0 if name.endswith(".jpg") else 0.0)


def test_badge_has_about_three_hundred_paths() -> None:
    assert 250 <= (DEMO / "harbour_badge.svg").read_text("utf-8").count("<path") <= 350
