"""Where a renderer cannot draw a part alone, or contradicts itself: coarse, and never `fits`."""

from __future__ import annotations

import math
from pathlib import Path
from typing import cast

import numpy as np
import pytest

from viewer.artwork.fine import FineDrawing
from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, ArtworkWarning, InkRule, LoadOptions
from viewer.artwork.outline import Grid, LostInkError, Measured, Refiner
from viewer.artwork.pool import Worker
from viewer.artwork.survey import VectorJob
from viewer.fit import Verdict, fit_artwork
from viewer.geometry import convex_hull, hull_excess
from viewer.press.cups import EXAMPLE_CUPS

TURNS_RAD = np.linspace(0.0, 2.0 * math.pi, 400)


def _filtered(tmp_path: Path, filter_body: str, shape: str) -> Artwork:
    path = tmp_path / "fog.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        f'<filter id="f" x="-50%" y="-50%" width="200%" height="200%">{filter_body}</filter>'
        f'<g filter="url(#f)" fill="#123">{shape}</g></svg>',
        encoding="utf-8",
    )
    return load_artwork(str(path))


def _circle(x: float, y: float, r: float) -> np.ndarray:  # type: ignore[type-arg]
    return convex_hull(np.stack([x + r * np.cos(TURNS_RAD), y + r * np.sin(TURNS_RAD)], axis=1))


def _assert_never_fits(artwork: Artwork) -> None:
    assert {w.code for w in artwork.warnings if w.blocks_fits} >= {"filter", "coarse-only"}
    verdicts = {c.verdict for c in fit_artwork(artwork, EXAMPLE_CUPS).cups}
    assert Verdict.FITS not in verdicts


def test_ink_that_a_filter_moves(tmp_path: Path) -> None:
    """Over a part of the page alone the renderer shows nothing: its ink comes from outside."""
    artwork = _filtered(tmp_path, '<feOffset dx="8" dy="-6"/>', '<circle cx="25" cy="30" r="10"/>')
    truth = _circle(33.0, 24.0, 10.0)
    hull, u = artwork.outline.hull_mm, artwork.outline.uncertainty_mm
    assert hull_excess(truth, hull)[0] <= u
    assert hull_excess(hull, truth)[0] <= u
    assert u < 0.4
    _assert_never_fits(artwork)


def test_a_blur_is_measured_with_all_that_it_spreads_to(tmp_path: Path) -> None:
    artwork = _filtered(
        tmp_path,
        '<feGaussianBlur stdDeviation="2"/>',
        '<rect x="20" y="20" width="20" height="20"/>',
    )
    # Three boxes stand for the bell curve, each 3 / 4 sqrt(2 pi) deviations wide: their sum
    # is faint ink up to 2.82 deviations away.
    low, high = artwork.outline.hull_mm.min(axis=0), artwork.outline.hull_mm.max(axis=0)
    assert np.all(low < 16.5) and np.all(low > 20 - 2.82 * 2 - 0.4)
    assert np.all(high > 43.5) and np.all(high < 40 + 2.82 * 2 + 0.4)
    _assert_never_fits(artwork)


# --- a renderer that contradicts itself ------------------------------------------------------


class _OfAKind:
    kind = "cairo"


def _outline(monkeypatch: pytest.MonkeyPatch, error: LostInkError) -> tuple[Measured, list[str]]:
    def run(_refiner: Refiner) -> Measured:
        raise error

    monkeypatch.setattr(Refiner, "run", run)
    worker = cast(Worker, _OfAKind())
    job = VectorJob((20.0, 20.0), (worker,), None, LoadOptions(), 1.0)
    told: list[ArtworkWarning] = []
    drawing = FineDrawing(job, Grid(0.0, 0.0, 10.0, 200, 200), None, told.append)
    mask = np.ones((200, 200), np.bool_)
    with pytest.raises(LostInkError):
        drawing.strictly(worker, mask, InkRule())
    measured = drawing.outline(worker, mask, InkRule())
    assert all(w.blocks_fits for w in told)
    return measured, [w.code for w in told]


def test_ink_lost_in_the_fine_picture_stays_in_the_outline(monkeypatch: pytest.MonkeyPatch) -> None:
    coarse, fine = _circle(10.0, 10.0, 8.0), _circle(11.0, 10.0, 8.0)
    measured, codes = _outline(monkeypatch, LostInkError("lost", coarse, fine, 1.0))
    for hull in (coarse, fine):
        assert hull_excess(hull, measured.hull_mm)[0] <= 1e-9
        # Whichever is true, no vertex is further off than the uncertainty.
        assert hull_excess(measured.hull_mm, hull)[0] <= measured.uncertainty_mm
    assert codes == ["coarse-only"] and not measured.complete


def test_all_ink_lost_in_the_fine_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    coarse = _circle(10.0, 10.0, 8.0)
    error = LostInkError("lost", coarse, np.empty((0, 2)), 0.0)
    measured, codes = _outline(monkeypatch, error)
    assert hull_excess(coarse, measured.hull_mm)[0] <= 1e-9
    assert measured.uncertainty_mm >= 0.1 and codes == ["coarse-only"]
