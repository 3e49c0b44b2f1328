"""Large pages in little memory: the program and its renderers together, seen from outside."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

ROOT = Path(__file__).resolve().parents[2]
LIMIT_MB = 300.0
SAMPLE_S = 0.02


def _wave_and_floats(width_mm: float, height_mm: float) -> str:
    """A filled wave across the page and a row of floats above it."""
    w, h = width_mm, height_mm
    floats = "".join(
        f'<circle cx="{w * (i + 1) / 9:.2f}" cy="{h * 0.2:.2f}" r="{h * 0.06:.2f}"/>'
        for i in range(8)
    )
    wave = (
        f'<path d="M{w * 0.05} {h * 0.6}C{w * 0.3} {h * 0.3} {w * 0.6} {h * 0.9} {w * 0.95} '
        f'{h * 0.55}V{h * 0.95}H{w * 0.05}z"/>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}"><g fill="#17324d">{floats}{wave}</g></svg>'
    )


def _resident(process: psutil.Process) -> int:
    try:
        return int(process.memory_info().rss)
    except psutil.Error:
        return 0


def _run_and_watch(path: Path) -> tuple[int, float, int]:
    """Exit status, largest sum of resident memory in MB, most processes seen at once."""
    command = [sys.executable, "-m", "viewer", "check", str(path)]
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    peak, most = 0, 0
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, env=env) as process:
        parent = psutil.Process(process.pid)
        while process.poll() is None:
            try:
                family = [parent, *parent.children(recursive=True)]
            except psutil.NoSuchProcess:
                break
            peak, most = max(peak, sum(map(_resident, family))), max(most, len(family))
            time.sleep(SAMPLE_S)
    return process.returncode, peak / 1e6, most


@pytest.mark.parametrize(
    "size_mm", [(90.0, 65.0), (420.0, 297.0), (2000.0, 1000.0)], ids=["badge", "A3", "banner"]
)
def test_large_pages_stay_small_in_memory(tmp_path: Path, size_mm: tuple[float, float]) -> None:
    path = tmp_path / "banner.svg"
    path.write_text(_wave_and_floats(*size_mm), encoding="utf-8")
    status, peak_mb, processes = _run_and_watch(path)
    assert status in (0, 1)  # measured: fits a cup or does not
    assert processes >= 2  # the renderers were counted too
    print(f"peak {peak_mb:.0f} MB in {processes} processes")
    assert peak_mb < LIMIT_MB
