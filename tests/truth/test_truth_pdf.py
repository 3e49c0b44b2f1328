"""PDF files of known extent: boxes, rotation, user units, nested matrices, random shapes."""

from __future__ import annotations

from pathlib import Path

import pytest

from viewer.artwork.model import Artwork, LoadOptions

from .checks import (
    COUNT,
    Verdicts,
    all_faults,
    judge_near_limit,
    measure,
    place_faults,
    size_faults,
)
from .pdf_writer import page_for, pdf_bytes
from .shapes import Drawing, hairline, needle, random_drawing


def _measured(drawing: Drawing, folder: Path) -> Artwork:
    data = pdf_bytes(drawing, page_for(drawing))
    return measure(folder / f"{drawing.seed}.pdf", data, LoadOptions())


def test_random_drawings(tmp_path: Path) -> None:
    faults: list[str] = []
    tally = Verdicts()
    for seed in range(COUNT):
        drawing = random_drawing(seed)
        artwork = _measured(drawing, tmp_path)
        faults += [f"{artwork.path}: {fault}" for fault in all_faults(drawing, artwork, False)]
        judge_near_limit(drawing, artwork, tally)
    assert faults == []
    assert tally.wrong == []
    assert tally.decided >= 0.99 * tally.due, tally.undecided
    assert tally.due >= COUNT / 3


def test_page_size_is_as_seen(tmp_path: Path) -> None:
    wrong = []
    for seed in range(12):
        drawing = random_drawing(seed)
        page = _measured(drawing, tmp_path).page_mm
        if page != pytest.approx(drawing.page_mm, abs=1e-3):
            wrong.append((seed, page, drawing.page_mm))
    assert wrong == []


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("kind", [needle, hairline])
def test_thin_ink_is_right_or_warned_of(kind, seed: int, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    drawing = kind(seed)
    artwork = _measured(drawing, tmp_path)
    faults = size_faults(drawing, artwork) + place_faults(drawing, artwork)
    assert not faults or artwork.warnings
