"""A renderer that dies, hangs, draws nothing or half of it never leads to ``fits``."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from viewer.artwork.load import load_artwork
from viewer.artwork.pool import shutdown_workers
from viewer.errors import ArtworkError
from viewer.fit import Fit, fit_artwork
from viewer.press.cups import EXAMPLE_CUPS, Cup

from .checks import cairo_present
from .pdf_writer import assemble

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<circle cx="15" cy="20" r="9" fill="#123"/><rect x="30" y="10" width="20" height="20"/></svg>"""
PDF = assemble("20 20 40 40 re f 110 20 40 40 re f", "/MediaBox [0 0 170 113]")
SMALL = Cup("40", 40.0)
"""Takes 34 mm: half of the drawing fits it, the whole (about 45 mm) does not."""
CUPS = (SMALL, *EXAMPLE_CUPS)
SECONDS_PER_CALL = 1.5
SECONDS_AT_MOST = 20.0


@pytest.fixture(autouse=True)
def fresh_workers(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Workers take the environment at their start."""
    shutdown_workers()
    monkeypatch.setenv("BRIMCHECK_TIMEOUT_S", str(SECONDS_PER_CALL))
    yield
    shutdown_workers()


def _file(kind: str, folder: Path) -> Path:
    path = folder / ("art.pdf" if kind == "pdf" else "art.svg")
    path.write_bytes(PDF if kind == "pdf" else SVG)
    return path


def _verdicts(fit: Fit) -> dict[str, str]:
    return {entry.cup.name: str(entry.verdict.value) for entry in fit.cups}


@pytest.mark.parametrize("fault", ["die", "hang", "empty", "miss"])
@pytest.mark.parametrize("kind", ["cairo", "resvg", "pdf"])
def test_a_renderer_at_fault_never_fits(
    kind: str, fault: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if kind == "cairo" and not cairo_present():
        pytest.skip("the second renderer is absent")
    if (kind, fault) == ("pdf", "miss"):
        pytest.skip("a PDF has one renderer: nothing can tell that half is missing")
    monkeypatch.setenv("BRIMCHECK_FAULT", f"{kind}:{fault}")
    began = time.monotonic()
    try:
        fit = fit_artwork(load_artwork(str(_file(kind, tmp_path))), CUPS)
    except ArtworkError as error:
        assert "\n" not in error.message
    else:
        verdicts = _verdicts(fit)
        assert fit.warnings
        assert verdicts["40"] != "fits"
        # Half an outline leaves the other renderer's whole one, and `fits` is judged on both.
        if fault != "miss":
            assert "fits" not in verdicts.values()
            assert any(warning.blocks_fits for warning in fit.warnings)
    assert time.monotonic() - began < SECONDS_AT_MOST


@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_the_same_files_fit_without_a_fault(kind: str, tmp_path: Path) -> None:
    verdicts = _verdicts(fit_artwork(load_artwork(str(_file(kind, tmp_path))), CUPS))
    assert verdicts.pop("40") == "outside"
    assert set(verdicts.values()) == {"fits"}


def test_work_goes_on_after_a_death(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fault is gone from the environment: the next worker is healthy."""
    path = _file("resvg", tmp_path)
    monkeypatch.setenv("BRIMCHECK_FAULT", "resvg:die")
    with contextlib.suppress(ArtworkError):
        load_artwork(str(path))
    monkeypatch.delenv("BRIMCHECK_FAULT")
    shutdown_workers()
    fit = fit_artwork(load_artwork(str(path)), CUPS)
    assert not any(warning.blocks_fits for warning in fit.warnings)
