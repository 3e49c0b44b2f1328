"""SVG files of known extent: every root that drawing programs write, random shapes."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely  # type: ignore[import-untyped]

from viewer.artwork.model import LoadOptions

from .checks import (
    COUNT,
    Verdicts,
    all_faults,
    contradicts,
    judge_near_limit,
    measure,
    place_faults,
    size_faults,
)
from .shapes import Drawing, hairline, needle, random_drawing
from .svg_writer import ROOTS, root_for, svg_text


def _measured(drawing: Drawing, name: str | None, folder: Path):  # type: ignore[no-untyped-def]
    label, root = root_for(drawing, name)
    options = LoadOptions(px_per_inch=96.0) if root.needs_px else LoadOptions()
    path = folder / f"{drawing.seed}-{label}.svg"
    return root, measure(path, svg_text(drawing, root).encode(), options)


def test_truth_agrees_with_an_outside_judge() -> None:
    for seed in range(6):
        drawing = random_drawing(seed)
        points = drawing.hull_mm[::50]
        few = Drawing(seed, drawing.page_mm, (), points)
        outside = shapely.minimum_bounding_radius(shapely.MultiPoint(points))
        assert few.radius_mm == pytest.approx(outside, abs=1e-8)


def test_contradiction_is_recognized() -> None:
    assert contradicts("fits", -0.01, 1.0)
    assert contradicts("in-margin", 0.01, 1.0)
    assert contradicts("in-margin", -1.0, -0.01)
    assert contradicts("outside", -1.0, 0.01)
    assert not contradicts("too-close", -1.0, 1.0)
    assert not contradicts("fits", 0.01, 1.0)


@pytest.mark.parametrize("name", list(ROOTS))
def test_each_root_is_measured_at_true_scale(name: str, tmp_path: Path) -> None:
    drawing = random_drawing(900)
    root, artwork = _measured(drawing, name, tmp_path)
    assert all_faults(drawing, artwork, root.moves) == []


def test_random_drawings(tmp_path: Path) -> None:
    faults: list[str] = []
    tally = Verdicts()
    for seed in range(COUNT):
        drawing = random_drawing(seed)
        root, artwork = _measured(drawing, None, tmp_path)
        found = all_faults(drawing, artwork, root.moves)
        faults += [f"{artwork.path}: {fault}" for fault in found]
        if not root.moves:
            judge_near_limit(drawing, artwork, tally)
    assert faults == []
    assert tally.wrong == []
    assert tally.decided >= 0.99 * tally.due, tally.undecided
    assert tally.due >= COUNT / 3


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("kind", [needle, hairline])
def test_thin_ink_is_right_or_warned_of(kind, seed: int, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    drawing = kind(seed)
    _, artwork = _measured(drawing, "units", tmp_path)
    faults = size_faults(drawing, artwork) + place_faults(drawing, artwork)
    assert not faults or artwork.warnings
