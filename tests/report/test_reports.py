"""Results as JSON (fixed keys, unrounded, never NaN) and as text."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.fit.artworks import artwork, box, reading
from viewer.artwork.model import ArtworkWarning, LeftOut
from viewer.errors import ArtworkError
from viewer.fit import Fit, fit_artwork
from viewer.press import EXAMPLE_CUPS, Cup
from viewer.report import (
    error_to_dict,
    error_to_text,
    fit_to_dict,
    fit_to_text,
    printable,
    to_json,
)

FIXED_KEYS: dict[str, set[str]] = {
    "": {
        "schema",
        "file",
        "sha256",
        "artwork",
        "warnings",
        "image_area",
        "cups",
        "smallest_cup",
    },
    "artwork": {
        "format",
        "page_mm",
        "scale_source",
        "paper",
        "ink_bounds_mm",
        "width_mm",
        "height_mm",
        "ink_area_mm2",
        "longest_diagonal",
        "smallest_circle",
        "uncertainty_mm",
        "hull_mm",
    },
    "cup": {
        "name",
        "diameter_mm",
        "ring_inner_diameter_mm",
        "max_image_diameter_mm",
        "verdict",
        "tight",
        "clearance_mm",
        "hard_clearance_mm",
        "largest_scale",
        "best",
        "limits",
    },
}


@pytest.fixture
def mug_fit() -> Fit:
    """66 x 88 mm, which the largest example cup takes with 0.25 mm to spare."""
    return fit_artwork(artwork(box(66, 88, 10, 10), 0.01, path="mug.svg"), EXAMPLE_CUPS)


def parsed(fit: Fit, **options: bool) -> dict[str, Any]:
    found = json.loads(to_json(fit_to_dict(fit, **options)))
    assert isinstance(found, dict)
    return found


def test_the_fixed_keys_are_there(mug_fit: Fit) -> None:
    found = parsed(mug_fit)
    assert FIXED_KEYS[""] <= set(found)
    assert FIXED_KEYS["artwork"] <= set(found["artwork"])
    assert set(found["artwork"]["longest_diagonal"]) == {"length_mm", "from_mm", "to_mm"}
    assert set(found["artwork"]["smallest_circle"]) == {
        "center_mm",
        "diameter_mm",
        "contacts_mm",
    }
    for cup in found["cups"]:
        assert FIXED_KEYS["cup"] <= set(cup)
        assert "curve" not in cup
        assert {"center_mm", "turn_deg", "clearance_mm", "gap_mm"} <= set(cup["best"])
        assert set(cup["best"]["settable"]) == {"center_mm", "turn_deg", "clearance_mm"}
        assert all(set(limit) == {"point_mm", "part"} for limit in cup["limits"])


def test_the_values_are_unrounded(mug_fit: Fit) -> None:
    found = parsed(mug_fit)
    last = found["cups"][-1]
    assert found["schema"] == 1
    assert found["artwork"]["ink_bounds_mm"] == [10.0, 10.0, 76.0, 98.0]
    assert found["artwork"]["hull_mm"] == box(66, 88, 10, 10).tolist()
    assert found["artwork"]["longest_diagonal"]["length_mm"] == 110.0
    assert (last["name"], last["verdict"], last["tight"]) == ("130", "fits", True)
    assert last["clearance_mm"] == mug_fit.cups[-1].clearance_mm
    assert last["largest_scale"] == pytest.approx(55.25 / 55.01, rel=1e-12)
    assert found["smallest_cup"] == "130"


def test_nothing_fits_is_null(mug_fit: Fit) -> None:
    found = parsed(fit_artwork(mug_fit.artwork, [Cup("60", 60.0)]))
    assert found["smallest_cup"] is None
    assert found["cups"][0]["verdict"] == "outside"


def test_a_number_that_json_cannot_hold_becomes_null() -> None:
    found = parsed(fit_artwork(artwork(box(1, 1), math.inf), EXAMPLE_CUPS))
    assert found["artwork"]["uncertainty_mm"] is None
    assert found["cups"][0]["verdict"] == "too-close"


def test_warnings_are_the_settled_ones() -> None:
    white = ArtworkWarning("white", "white may be paper or ink", True)
    drawn = artwork(box(20, 20), alternatives=[reading(box(21, 21))], warnings=[white])
    assert parsed(fit_artwork(drawn, EXAMPLE_CUPS))["warnings"] == [
        {"code": "white", "message": white.message, "blocks_fits": False}
    ]


def test_the_curve_of_a_round_cup_is_flat(mug_fit: Fit) -> None:
    curve = parsed(mug_fit, with_curve=True)["cups"][0]["curve"]
    angles = [angle for angle, _ in curve]
    assert angles == np.linspace(-179.5, 180.0, 720).tolist()
    assert {clearance for _, clearance in curve} == {mug_fit.cups[0].clearance_mm}


def test_an_error_object() -> None:
    error = ArtworkError("cap.svg: no size", code="size-unknown")
    assert error_to_dict("cap.svg", error) == {
        "file": "cap.svg",
        "error": {"code": "size-unknown", "message": "cap.svg: no size"},
    }


def test_the_text_says_what_matters(mug_fit: Fit) -> None:
    text = fit_to_text(mug_fit)
    rows = {line.split()[0]: line for line in text.splitlines() if line[:3] == "  " + line[2:3]}
    assert text.splitlines()[0] == "mug.svg"
    assert "66.00 x 88.00 mm, longest diagonal 110.00 mm" in text
    assert "+-0.010 mm" in text
    assert "fits, tight" in rows["130"] and "+0.25" in rows["130"] and "+7.00" in rows["130"]
    assert "43.00, 54.00" in rows["130"] and "100.4 %" in rows["130"]
    assert "outside" in rows["110"] and "-8.25" in rows["110"]
    assert "smallest cup that works: 130 (fits, tight)" in text
    assert "(10.00, 10.00) and (76.00, 98.00)" in text
    assert "scale to 84.9 %" in text


def test_the_text_rounds_to_the_careful_side() -> None:
    fit = fit_artwork(artwork(box(30.001, 40.001), 0.0101), [Cup("75", 75.0)])
    text = fit_to_text(fit)
    assert "30.01 x 40.01 mm" in text
    assert "+-0.011 mm" in text
    assert f"+{math.floor(fit.cups[0].clearance_mm * 100) / 100:.2f}" in text


def test_the_text_says_why_it_cannot_be_sure() -> None:
    text_warning = ArtworkWarning("text", "text needs a font", True)
    drawn = artwork(box(20, 20), 0.01, warnings=[text_warning])
    text = fit_to_text(fit_artwork(drawn, [Cup("60", 60.0)]))
    assert "cup 60: cannot be sure: text needs a font" in text
    assert "warning, blocks 'fits': text needs a font" in text
    assert "smallest cup that works: none of these" in text


def test_the_text_survives_an_unknown_uncertainty() -> None:
    assert "no limit" in fit_to_text(fit_artwork(artwork(box(1, 1), math.inf), EXAMPLE_CUPS))


def test_names_cannot_write_to_the_terminal() -> None:
    assert printable("a\x1b[2J\nb.svg") == "a\\x1b[2J\\nb.svg"
    assert printable("Möwe.svg") == "Möwe.svg"
    assert "\n" not in error_to_text("a\nb.svg", ArtworkError("a b.svg: gone"))


def test_what_is_left_out_is_told() -> None:
    pieces = tuple(LeftOut((10.0 + i, 2.0), (1.0 + i, 2.0, 91.256, 72.0), 30.5) for i in range(6))
    mark = replace(artwork(box(20, 30), 0.01), left_out=pieces)
    fit = fit_artwork(mark, EXAMPLE_CUPS)
    told = fit_to_dict(fit)["artwork"]["left_out"]
    assert told[0] == {
        "point_mm": [10.0, 2.0],
        "box_mm": [1.0, 2.0, 91.256, 72.0],
        "area_mm2": 30.5,
    }
    assert len(told) == 6
    (line,) = [row for row in fit_to_text(fit).splitlines() if "left out" in row]
    assert "90.26 x 70.00 at (1.0, 2.0)" in line and line.endswith("and 2 more")
    assert "left out" not in fit_to_text(fit_artwork(artwork(box(20, 30), 0.01), EXAMPLE_CUPS))
