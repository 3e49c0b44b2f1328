"""Random drawings of known extent, placed at random: the true ink is where it should be."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.truth import pdf_writer, svg_writer
from tests.truth.checks import NUMERIC_MM, place_faults
from tests.truth.shapes import Drawing, random_drawing
from viewer.artwork.load import load_artwork
from viewer.artwork.model import LoadOptions
from viewer.fit import Placement
from viewer.press import Cup
from viewer.sheets.placed import write_placed

from .shapes import SAMPLES, need_cairo

SEEDS = range(SAMPLES)
CUP = Cup("130", 130.0)


def _placed_truth(drawing: Drawing, placement: Placement, center: tuple[float, float]) -> Drawing:
    """The drawing's true outline on the sheet (definition of a placement, y down)."""
    t = math.radians(placement.turn_deg)
    matrix = np.array([[math.cos(t), math.sin(t)], [-math.sin(t), math.cos(t)]])
    hull = (drawing.hull_mm - np.asarray(placement.center_mm)) @ matrix.T + np.asarray(center)
    return replace(drawing, hull_mm=hull)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("way", ["svg-svg", "svg-pdf", "pdf-pdf"])
def test_true_ink_on_the_sheet(way: str, seed: int, tmp_path: Path) -> None:
    source, ending = way.split("-")
    if way == "svg-pdf":
        need_cairo()
    drawing = random_drawing(4000 + seed)
    rng = random.Random(seed)
    options = LoadOptions()
    if source == "pdf":
        data = pdf_writer.pdf_bytes(drawing, pdf_writer.page_for(drawing))
    else:
        names = [name for name in svg_writer.ROOTS if not _root(drawing, name).moves]
        root = _root(drawing, names[(seed * 5) % len(names)])
        options = LoadOptions(px_per_inch=96.0) if root.needs_px else options
        data = svg_writer.svg_text(drawing, root).encode()
    (tmp_path / f"art.{source}").write_bytes(data)
    artwork = load_artwork(str(tmp_path / f"art.{source}"), options)
    middle = (drawing.page_mm[0] / 2.0, drawing.page_mm[1] / 2.0)
    placement = Placement(
        (middle[0] + rng.uniform(-9, 9), middle[1] + rng.uniform(-9, 9)), rng.uniform(-180, 180)
    )
    target = str(tmp_path / f"sheet.{ending}")
    plate = (max(drawing.page_mm) * 2.0 + 20.0,) * 2
    placed = write_placed(
        artwork, CUP, placement, target, plate_mm=(plate[0], plate[1]), with_rings=bool(seed % 2)
    )
    back = load_artwork(target)
    truth = _placed_truth(drawing, placement, placed.cup_center_mm)
    assert place_faults(truth, back, NUMERIC_MM + 0.003) == []


def _root(drawing: Drawing, name: str) -> svg_writer.Root:
    return svg_writer.root_for(drawing, name)[1]
