"""Reports on pad, etch area, hold and angle. Expected numbers are sums on rectangles.

The lure is 70 x 30 mm, its middle at (45, 25) on the page. Under a pad of 40 x 80 mm it
has 5 mm on every side once turned by a right angle, and lacks 15 mm unturned.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from tests.fit.artworks import artwork, box
from viewer.fit import Fit, fit_artwork
from viewer.press import Angles, Cup, Datum, EtchArea, Hold, Margin, Pad, PressLimits
from viewer.report import fit_to_dict, fit_to_text, to_json

UNCERTAINTY_MM = 0.01
LURE = artwork(box(70, 30, 10, 10), UNCERTAINTY_MM, path="lure.svg")
PAD = Pad("rect", 40.0, 80.0, offset_mm=(3.0, -4.0), name="bar")
CUPS = (Cup("120", 120.0), Cup("130", 130.0))


def fit_in(limits: PressLimits) -> Fit:
    return fit_artwork(LURE, CUPS, limits=limits)


@pytest.fixture(scope="module")
def pad_fit() -> Fit:
    """The lure under the pad, nothing else limited."""
    return fit_in(PressLimits(pad=PAD))


def parsed(fit: Fit, **options: bool) -> dict[str, Any]:
    found = json.loads(to_json(fit_to_dict(fit, **options)))
    assert isinstance(found, dict)
    return found


def line_with(fit: Fit, words: str) -> str:
    """The only line of the text that holds some words."""
    (line,) = (line for line in fit_to_text(fit).splitlines() if words in line)
    return line


# --- JSON ---------------------------------------------------------------------------


def test_the_image_area_of_a_cup_alone() -> None:
    assert parsed(fit_in(PressLimits()))["image_area"] == {
        "parts": ["cup"],
        "pad": None,
        "etch": None,
        "position": {"hold": "free", "limit_mm": None, "datum": "ink"},
        "angle": {"allowed": "any", "value_deg": None},
        "datum_mm": [45.0, 25.0],
    }


def test_the_image_area_with_everything() -> None:
    limits = PressLimits(
        pad=replace(PAD, corner_radius_mm=2.0, turn_deg=1.0, margin_mm=0.5),
        etch=EtchArea(90.0, 100.0, (1.0, 2.0), 3.0),
        hold=Hold("across", 4.0),
        datum=Datum("point", (44.0, 25.0)),
        angles=Angles("step", 90.0),
    )
    assert parsed(fit_in(limits))["image_area"] == {
        "parts": ["cup", "pad", "etch"],
        "pad": {
            "name": "bar",
            "shape": "rect",
            "size_mm": [40.0, 80.0],
            "corner_radius_mm": 2.0,
            "offset_mm": [3.0, -4.0],
            "turn_deg": 1.0,
            "margin_mm": 0.5,
        },
        "etch": {"size_mm": [90.0, 100.0], "offset_mm": [1.0, 2.0], "margin_mm": 3.0},
        "position": {"hold": "across", "limit_mm": 4.0, "datum": "point"},
        "angle": {"allowed": "step", "value_deg": 90.0},
        "datum_mm": [44.0, 25.0],
    }


def test_best_placement_and_what_turning_gains(pad_fit: Fit) -> None:
    for cup in parsed(pad_fit)["cups"]:
        assert cup["verdict"] == "fits"
        assert cup["clearance_mm"] == pytest.approx(5.0, abs=1e-6)
        assert cup["unturned_clearance_mm"] == pytest.approx(-15.0, abs=1e-6)
        assert cup["turn_helps"] is True
        best = cup["best"]
        assert abs(best["turn_deg"]) == pytest.approx(90.0, abs=1e-3)
        assert best["gap_mm"] <= 0.005
        assert abs(best["settable"]["turn_deg"]) == 90.0
        assert best["settable"]["clearance_mm"] == pytest.approx(5.0, abs=1e-9)
        assert {limit["part"] for limit in cup["limits"]} == {"pad"}
        # Scaled s times it needs 70 s + 2 u along and 30 s + 2 u across; s > 1 grows u too.
        assert cup["largest_scale"] == pytest.approx(80.0 / 70.02, abs=1e-4)
        assert cup["largest_scale_unturned"] == pytest.approx((40.0 - 0.02) / 70.0, abs=1e-4)


def test_the_curve_and_the_angles_that_fit(pad_fit: Fit) -> None:
    cup = parsed(pad_fit, with_curve=True)["cups"][1]
    curve = dict(cup["curve"])
    assert len(cup["curve"]) == 720
    assert list(curve) == [-180.0 + step / 2.0 for step in range(1, 721)]
    for turn_deg, clearance_mm in ((90.0, 5.0), (-90.0, 5.0), (0.0, -15.0), (180.0, -15.0)):
        assert curve[turn_deg] == pytest.approx(clearance_mm, abs=cup["curve_gap_mm"] + 1e-9)
    # Off the right angle by d the lure is 30 cos d + 70 sin d across, and may be 40 less 2 u.
    across = (40.0 - 2 * UNCERTAINTY_MM) / math.hypot(30.0, 70.0)
    off_deg = math.degrees(math.atan2(70.0, 30.0) - math.acos(across))
    expected = [(-90.0 - off_deg, -90.0 + off_deg), (90.0 - off_deg, 90.0 + off_deg)]
    for found, stretch in zip(cup["fits_at_deg"], expected, strict=True):
        assert found == pytest.approx(stretch, abs=0.02)
        assert found[0] >= stretch[0] and found[1] <= stretch[1]


def test_no_curve_unless_it_is_asked_for(pad_fit: Fit) -> None:
    assert not {"curve", "fits_at_deg"} & set(parsed(pad_fit)["cups"][0])


# --- text ---------------------------------------------------------------------------


def test_a_row_shows_the_angle_and_the_part(pad_fit: Fit) -> None:
    text = fit_to_text(pad_fit)
    heading = line_with(pad_fit, "cup  max image")
    for words in ("to hard edge", "best centre", "turn", "limited by", "unturned"):
        assert words in heading
    (row,) = (line for line in text.splitlines() if line.startswith("  130 "))
    assert "+5.00" in row and "90.0" in row and "pad edge" in row
    assert "114.2 %" in row and "57.1 %" in row
    assert "turn in degrees, counter-clockwise" in text


def test_a_cup_alone_has_neither(pad_fit: Fit) -> None:
    fit = fit_in(PressLimits())
    text = fit_to_text(fit)
    assert "limited by" not in text and "unturned" not in text and "  area " not in text
    assert "to the ring" in text and "the largest-image circle;" in text
    assert line_with(fit, "turning").endswith(
        "turning cannot help: the cup is round, and nothing else limits the image"
    )


def test_what_limits_the_image_is_told() -> None:
    limits = PressLimits(
        pad=replace(PAD, corner_radius_mm=2.0, turn_deg=1.0, margin_mm=0.5),
        etch=EtchArea(90.0, 100.0, (0.0, 2.25)),
        hold=Hold("across", 4.0),
        datum=Datum("page"),
        angles=Angles("within", 10.0),
    )
    fit = fit_in(limits)
    assert line_with(fit, "  area ") == (
        "  area    the cup's largest-image circle;"
        ' pad "bar" rect 40 x 80 mm, corners 2 mm, 0.5 mm kept free inside its edge,'
        " its centre 3 mm right and 4 mm to the back of the cup's, turned 1 degrees;"
        " etch area 90 x 100 mm, its centre 2.25 mm to the front of the cup's"
    )
    assert line_with(fit, "  hold ") == (
        "  hold    across (left and right) only, at most 4 mm each way, from the datum:"
        " page centre at 105.00, 148.50 mm"
    )
    assert line_with(fit, "  angle ") == "  angle   at most 10 degrees each way"


@pytest.mark.parametrize(
    ("hold", "words"),
    [
        (
            Hold("free", 4.0),
            "free, at most 4 mm each way, from the datum: ink centre at 45.00, 25.00 mm",
        ),
        (Hold("along"), "along (front and back) only, from the datum: ink centre"),
        (Hold("fixed"), "fixed, on the datum: ink centre"),
    ],
)
def test_holds_in_words(hold: Hold, words: str) -> None:
    assert words in line_with(fit_in(PressLimits(hold=hold)), "  hold ")


@pytest.mark.parametrize(
    ("angles", "words"),
    [
        (Angles("none"), "not to be turned"),
        (Angles("step", 22.5), "in steps of 22.5 degrees"),
    ],
)
def test_angles_in_words(angles: Angles, words: str) -> None:
    assert words in line_with(fit_in(PressLimits(angles=angles)), "  angle ")


def test_the_gain_of_turning_is_told(pad_fit: Fit) -> None:
    gained = line_with(pad_fit, "gains")
    assert gained.startswith("  cups 120, 130: turning by ")
    assert gained.endswith("90.0 degrees gains 20.00 mm")


@pytest.mark.parametrize(
    ("limits", "reason"),
    [
        (PressLimits(pad=Pad("round", 100.0, 100.0)), "no angle leaves more room than none"),
        (
            PressLimits(pad=Pad("rect", 84.0, 44.0), angles=Angles("within", 10.0)),
            "no angle that the press allows leaves more room than none",
        ),
        (
            PressLimits(pad=Pad("rect", 80.0, 60.0), angles=Angles("none")),
            "the press does not allow it",
        ),
    ],
)
def test_why_turning_cannot_help(limits: PressLimits, reason: str) -> None:
    """A round pad; a lure with 7 mm on every side; a press that does not turn."""
    found = line_with(fit_in(limits), "turning cannot help")
    assert found.endswith(f"turning cannot help: {reason}")


def test_the_placement_in_the_operators_words(pad_fit: Fit) -> None:
    """Room on all sides is the same only where the lure's middle is the pad's."""
    told = line_with(pad_fit, "as the operator sets it")
    assert told.startswith("  as the operator sets it: 120 cup, artwork turned 90.0 degrees ")
    assert told.endswith(
        "datum (ink centre) 3.00 mm right and 4.00 mm to the back of the cup's centre;"
        " clearance +5.00 mm"
    )


def test_the_shift_is_counted_from_the_datum() -> None:
    """The datum is 5 mm left of the lure's middle, which the pad wants at (3, -4)."""
    limits = PressLimits(
        pad=replace(PAD, width_mm=80.0, height_mm=40.0),
        datum=Datum("point", (40.0, 25.0)),
        angles=Angles("none"),
    )
    told = line_with(fit_in(limits), "as the operator sets it")
    assert "not turned, datum (point 40, 25 mm) 2.00 mm left and 4.00 mm to the back of the" in told


def test_nothing_to_set_where_nothing_fits() -> None:
    fit = fit_in(PressLimits(pad=Pad("round", 50.0, 50.0)))
    assert "as the operator sets it" not in fit_to_text(fit)


def test_cups_that_differ_are_told_apart() -> None:
    cups = (Cup("60", 60.0, 2.5), Cup("90", 90.0, 2.5), Cup("wide", 130.0, 4.0, Margin(5.0, False)))
    text = fit_to_text(fit_artwork(LURE, cups))
    assert (
        "(cups as given; cups 60, 90: named by the outside; ring 2.5 mm, margin 15 % of the named"
        " diameter; cup wide: named by the outside; ring 4 mm, margin 5 mm each side from the ring)"
    ) in text


def test_every_line_can_be_printed(pad_fit: Fit) -> None:
    assert all(line.isprintable() for line in fit_to_text(pad_fit).split("\n"))
