"""Drawings and pictures made to look smaller than they are."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.fit import Verdict, fit_artwork
from viewer.press import EXAMPLE_CUPS

SQUARE = '<rect x="40" y="40" width="20" height="20"/>'
WHITE = '<rect width="100" height="100" fill="#fff"/>'
OVERFLOWING = (
    '<marker id="m" overflow="visible" markerUnits="userSpaceOnUse" markerWidth="3"'
    ' markerHeight="3"><rect x="60" y="-10" width="20" height="20"/></marker>'
    '<path marker-end="url(#m)" d="M50 50h5" stroke="#000"/>'
)
PX_PER_MM = 10
ALONE = os.environ.get("BRIMCHECK_HIDE_CAIRO") == "1"
needs_both = pytest.mark.skipif(ALONE, reason="libcairo is hidden on purpose in this run")
LEAST_MM = 0.05 if ALONE else 0.02
"""The narrowest ink that the promise covers."""


def _svg(
    folder: Path,
    body: str,
    options: LoadOptions | None = None,
    root: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"',
) -> Artwork:
    path = folder / "attack.svg"
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    path.write_text(f"<svg {space} {root}>{body}</svg>", encoding="utf-8")
    return load_artwork(str(path), options)


def _blocking(artwork: Artwork) -> set[str]:
    return {warning.code for warning in artwork.warnings if warning.blocks_fits}


def _fitting(artwork: Artwork) -> set[str]:
    cups = fit_artwork(artwork, EXAMPLE_CUPS).cups
    return {found.cup.name for found in cups if found.verdict is Verdict.FITS}


def _picture(folder: Path, pixels: np.ndarray, name: str, options: LoadOptions) -> Artwork:
    path = folder / name
    dpi = 25.4 * PX_PER_MM
    Image.fromarray(pixels).save(path, dpi=(dpi, dpi), quality=90)
    return load_artwork(str(path), options)


@pytest.mark.parametrize(
    ("code", "body"),
    [
        (
            "path-length",
            '<path d="M10 50H90" pathLength="1" stroke-dasharray="1 9" stroke="#000"/>',
        ),
        (
            "path-length",
            '<style>path{stroke-dasharray:1 9}</style><path pathLength="1" d="M10 50H90"/>',
        ),
        (
            "non-scaling-stroke",
            '<path vector-effect="non-scaling-stroke" d="M5 1V9" stroke="#000"/>',
        ),
        ("css-geometry", '<rect style="transform:translateX(-45px)" width="5" height="5"/>'),
        (
            "css-geometry",
            "<style>rect{transform:rotate(45deg);transform-origin:50px 50px}</style>"
            '<rect x="20" y="20" width="60" height="60"/>',
        ),
    ],
)
def test_what_both_renderers_ignore_blocks(tmp_path: Path, code: str, body: str) -> None:
    artwork = _svg(tmp_path, SQUARE + body)
    assert code in _blocking(artwork)
    assert not _fitting(artwork)


@pytest.mark.parametrize("x", [5.001, 5.055, 5.06, 5.07])
@pytest.mark.parametrize(
    "how",
    [
        'shape-rendering="crispEdges"',
        'style="shape-rendering:crispEdges"',
        'class="a"',
    ],
)
def test_unsmoothed_fine_line_is_seen(tmp_path: Path, x: float, how: str) -> None:
    line = f'<rect x="{x}" y="50" width="0.03" height="5" {how}/>'
    artwork = _svg(tmp_path, f"<style>.a{{shape-rendering:crispEdges}}</style>{SQUARE}{line}")
    outline = artwork.outline
    assert outline.hull_mm[:, 0].min() == pytest.approx(x, abs=outline.uncertainty_mm)


@needs_both
@pytest.mark.parametrize(
    "body",
    [OVERFLOWING, '<path d="M120 50z" stroke="#000" stroke-width="9" stroke-linecap="round"/>'],
)
def test_ink_beyond_the_page_that_one_renderer_leaves_out(tmp_path: Path, body: str) -> None:
    artwork = _svg(tmp_path, SQUARE + body)
    assert {"renderers-differ", "beyond-page"} <= _blocking(artwork)
    assert artwork.outline.hull_mm[:, 0].max() > 124.0
    assert "90" not in _fitting(artwork)


@pytest.mark.parametrize("color", ["#000", "#888"])
@pytest.mark.parametrize("at", [10.03, 10.09])
def test_tiny_dot_on_white_paper_is_seen(tmp_path: Path, color: str, at: float) -> None:
    dot = f'<rect x="{at}" y="{at}" width="{LEAST_MM}" height="{LEAST_MM}" fill="{color}"/>'
    artwork = _svg(tmp_path, WHITE + SQUARE + dot)
    found = artwork.outline.hull_mm[:, 0].min() < at + LEAST_MM / 2
    assert found or "renderers-differ" in _blocking(artwork)
    assert "60" not in _fitting(artwork)


def test_half_white_over_white_paper_is_paper(tmp_path: Path) -> None:
    veils = "".join(
        f'<circle cx="50" cy="50" r="{45 - 2 * i}" fill="#fff" opacity="{0.07 + 0.11 * i}"/>'
        for i in range(8)
    )
    artwork = _svg(tmp_path, WHITE + SQUARE + veils)
    assert np.ptp(artwork.outline.hull_mm[:, 0]) < 20.1


def test_width_holds_for_each_reading(tmp_path: Path) -> None:
    """White may be paper: then the black alone is 70 mm wide, and 196 mm high."""
    bar = '<rect width="100" height="5" fill="#fff"/><rect x="40" width="25" height="70"/>'
    artwork = _svg(tmp_path, bar, LoadOptions(width_mm=70.0))
    assert np.ptp(artwork.alternatives[0].outline.hull_mm[:, 1]) == pytest.approx(196.0, abs=0.2)
    assert not _fitting(artwork)


def test_width_holds_for_each_reading_of_a_picture(tmp_path: Path) -> None:
    pixels = np.zeros((1000, 1000, 4), np.uint8)
    pixels[0:50] = 255
    pixels[0:700, 400:650] = (0, 0, 0, 255)
    artwork = _picture(tmp_path, pixels, "white.png", LoadOptions(width_mm=70.0))
    assert np.ptp(artwork.alternatives[0].outline.hull_mm[:, 1]) == pytest.approx(196.0, abs=0.5)
    assert not _fitting(artwork)


def test_bare_px_doubt_holds_for_the_other_renderer_too(tmp_path: Path) -> None:
    body = (
        "<style>.b:is(.b,.c){stroke:#000;stroke-width:5}</style>"
        '<path class="b" d="M0 2.5H240" fill="none"/><rect x="100" width="25" height="70"/>'
    )
    artwork = _svg(tmp_path, body, root='width="240" height="240"')
    codes = [reading.code for reading in artwork.alternatives]
    assert codes.count("bare-px") == 1 + codes.count("renderers-differ")


def test_ignored_speck_does_not_hide_a_needle_within_its_box(tmp_path: Path) -> None:
    body = (
        '<rect x="30" y="40" width="30" height="20"/><path d="M20 49.5h1v.1h-.9v.9h-.1z"/>'
        '<path d="M30 49.7 L20.35 49.97 L20.35 50.03 L30 50.3z"/>'
    )
    artwork = _svg(tmp_path, body, LoadOptions(ignore_specks=True))
    assert artwork.specks
    assert artwork.outline.hull_mm[:, 0].min() == pytest.approx(20.35, abs=0.01)


def test_ignored_speck_of_a_picture_hides_nothing_else(tmp_path: Path) -> None:
    pixels = np.full((1000, 1000), 255, np.uint8)
    pixels[400:600, 300:600] = 0
    pixels[495, 200:208] = pixels[495:503, 200] = 0
    pixels[500, 204:300] = 0
    artwork = _picture(tmp_path, pixels, "speck.png", LoadOptions(ignore_specks=True))
    assert artwork.specks
    assert artwork.outline.hull_mm[:, 0].min() == pytest.approx(20.4, abs=1e-6)


@pytest.mark.parametrize("level", [230, 242])
def test_faint_ink_in_a_lossy_picture_blocks(tmp_path: Path, level: int) -> None:
    pixels = np.full((1000, 1000), 255, np.uint8)
    pixels[400:600, 400:600] = 0
    pixels[50:950, 50:60] = level
    artwork = _picture(tmp_path, pixels, "faint.jpg", LoadOptions())
    assert "faint-ink" in _blocking(artwork)
    assert "90" not in _fitting(artwork)


def test_noisy_paper_of_a_lossy_picture_is_paper(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).normal(245.0, 4.0, (1000, 1000))
    pixels = np.clip(noise, 0, 255).astype(np.uint8)
    pixels[400:600, 400:600] = 0
    artwork = _picture(tmp_path, pixels, "scan.jpg", LoadOptions())
    assert not _blocking(artwork)
    assert "60" in _fitting(artwork)
