"""Importing the core loads no window, picture, PDF or rasterizer library."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
HEAVY = {
    "pygame",
    "PIL",
    "cairosvg",
    "cairocffi",
    "resvg_py",
    "pypdfium2",
    "pikepdf",
    "reportlab",
    "segno",
    "scipy",
}


def loaded_by(statement: str) -> set[str]:
    """Top-level modules that a fresh interpreter holds after a statement."""
    script = f"import sys\n{statement}\nprint(*{{name.split('.')[0] for name in sys.modules}})"
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


@pytest.mark.parametrize(
    "module",
    [
        "viewer.geometry",
        "viewer.press",
        "viewer.artwork",
        "viewer.artwork.load",
        "viewer.artwork.picture",
        "viewer.fit",
        "viewer.sizing",
        "viewer.report",
        "viewer.job",
        "viewer.sheets.write",
        "viewer.signoff",
        "viewer.cli",
    ],
)
def test_import_stays_light(module: str) -> None:
    assert loaded_by(f"import {module}") & HEAVY == set()


def test_the_check_sees_a_heavy_import() -> None:
    assert "PIL" in loaded_by("import PIL.Image")
