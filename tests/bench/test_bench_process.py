"""File to verdict table as a whole process, against the usual script.

The script renders the page with CairoSVG at 1200 dpi, loads the PNG and asks OpenCV for
the circle; it says nothing of cups and asks no second renderer. Both run in turn, the
median counts; memory is sampled in runs of its own, because sampling takes time.

Not part of the ordinary run: ``pytest tests/bench/test_bench_process.py -s``.
"""

from __future__ import annotations

import json
import math
import os
import random
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import psutil
import pytest

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 5
DPI = 1200
PIXEL_MM = 25.4 / DPI
SAMPLE_S = 0.005
PAGE_MM = (90.0, 65.0)
A3_MM = (420.0, 297.0)

SCRIPT = f"""
import sys
import cairosvg
import cv2
import numpy as np

cairosvg.svg2png(url=sys.argv[1], write_to=sys.argv[2], dpi=96, scale={DPI} / 96)
rgba = cv2.imread(sys.argv[2], cv2.IMREAD_UNCHANGED)
ink = (rgba[..., 3] > 0).astype(np.uint8)
_center, radius = cv2.minEnclosingCircle(cv2.findNonZero(ink))
print(2 * radius * 25.4 / {DPI})
"""


# --- artwork ----------------------------------------------------------------------------


def _page(size_mm: tuple[float, float], body: Sequence[str]) -> str:
    width, height = size_mm
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">' + "\n".join(body) + "</svg>\n"
    )


def rope_net(count: int, size_mm: tuple[float, float], seed: int = 3) -> str:
    """A net of short stroked curves within an ellipse, as a rope drawn by hand."""
    rng = random.Random(seed)
    width, height = size_mm
    body = []
    for _ in range(count):
        turn, reach = rng.uniform(0.0, 2.0 * math.pi), 0.42 * math.sqrt(rng.random())
        x, y = width * (0.5 + reach * math.cos(turn)), height * (0.5 + reach * math.sin(turn))
        bends = [rng.uniform(-0.04, 0.04) * height for _ in range(6)]
        body.append(
            f'<path d="M{x:.3f} {y:.3f}c' + " ".join(f"{b:.3f}" for b in bends) + '" fill="none" '
            f'stroke="#17324d" stroke-width="{0.004 * height:.3f}" stroke-linecap="round"/>'
        )
    return _page(size_mm, body)


def fish_scales(count: int, size_mm: tuple[float, float]) -> str:
    """Filled scales in rows, with a hole each, as on a lure."""
    width, height = size_mm
    columns = max(1, round(math.sqrt(count * width / height)))
    rows = math.ceil(count / columns)
    radius = 0.42 * min(width / (columns + 1), height / (rows + 1))
    body = []
    for number in range(count):
        row, column = divmod(number, columns)
        x = width * (column + 1) / (columns + 1)
        y = height * (row + 1) / (rows + 1)
        body.append(
            f'<path fill="#0b5563" fill-rule="evenodd" d="'
            f"M{x - radius:.3f} {y:.3f}a{radius:.3f} {radius:.3f} 0 1 1 {2 * radius:.3f} 0"
            f"q{-radius:.3f} {1.4 * radius:.3f} {-2 * radius:.3f} 0z"
            f'M{x - radius / 3:.3f} {y:.3f}h{radius / 2:.3f}v{radius / 4:.3f}z"/>'
        )
    return _page(size_mm, body)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Path:
    """All files of the benches, and the script."""
    made = tmp_path_factory.mktemp("process")
    badge = (demo_folder / "harbour_badge.svg").read_text(encoding="utf-8")
    files = {
        "harbour_badge.svg": badge,
        "rope_net.svg": rope_net(300, PAGE_MM),
        "fish_scales.svg": fish_scales(150, PAGE_MM),
        "rope_net_2000.svg": rope_net(2000, PAGE_MM, 4),
        "fish_scales_20x15mm.svg": fish_scales(150, (20.0, 15.0)),
        "rope_net_a3.svg": rope_net(300, A3_MM, 5),
        "usual.py": SCRIPT,
    }
    for name, text in files.items():
        (made / name).write_text(text, encoding="utf-8")
    return made


# --- processes --------------------------------------------------------------------------


@dataclass(frozen=True)
class Run:
    """One side of a comparison: how long it takes, how much memory, what it answers."""

    median_s: float
    peak_mb: float
    diameter_mm: float


def _ours(path: Path, *options: str) -> list[str]:
    return [sys.executable, "-m", "viewer", "check", str(path), *options]


def _usual(path: Path) -> list[str]:
    return [sys.executable, str(path.parent / "usual.py"), str(path), str(path) + ".png"]


def _environment() -> dict[str, str]:
    return os.environ | {"PYTHONPATH": str(ROOT)}


def _run(command: list[str], good: Sequence[int]) -> str:
    done = subprocess.run(
        command, capture_output=True, text=True, env=_environment(), timeout=300, check=False
    )
    assert done.returncode in good, done.stderr
    return done.stdout


def _seconds(command: list[str], good: Sequence[int]) -> float:
    start = time.perf_counter()
    _run(command, good)
    return time.perf_counter() - start


def _rss(process: psutil.Process) -> int:
    try:
        return int(process.memory_info().rss)
    except psutil.Error:
        return 0


def _peak_mb(command: list[str]) -> float:
    """Largest sum of resident memory of a process and its children, in 1e6 bytes."""
    peak = 0
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=_environment()
    ) as process:
        parent = psutil.Process(process.pid)
        while process.poll() is None:
            try:
                family = [parent, *parent.children(recursive=True)]
            except psutil.Error:
                break
            peak = max(peak, sum(_rss(p) for p in family))
            time.sleep(SAMPLE_S)
    return peak / 1e6


def _our_diameter_mm(path: Path) -> float:
    document = json.loads(_run(_ours(path, "--json"), (0, 1)))
    return float(document["artwork"]["smallest_circle"]["diameter_mm"])


def _compare(path: Path) -> tuple[Run, Run]:
    """Ours and the usual script, in turn so that a busy machine is busy for both."""
    ours, usual = _ours(path), _usual(path)
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(ROUNDS):
        times[0].append(_seconds(ours, (0, 1)))
        times[1].append(_seconds(usual, (0,)))
    return (
        Run(statistics.median(times[0]), _peak_mb(ours), _our_diameter_mm(path)),
        Run(statistics.median(times[1]), _peak_mb(usual), float(_run(usual, (0,)))),
    )


# --- benches ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["harbour_badge.svg", "rope_net.svg", "fish_scales.svg"])
def test_against_the_usual_script(
    folder: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ours, usual = _compare(folder / name)
    with capsys.disabled():
        print(
            f"\n{name}: {ours.median_s:.2f} s against {usual.median_s:.2f} s, "
            f"ratio {usual.median_s / ours.median_s:.2f} x; peak {ours.peak_mb:.0f} MB against "
            f"{usual.peak_mb:.0f} MB, ratio {usual.peak_mb / ours.peak_mb:.2f} x"
        )
    # OpenCV sees pixel centers; cairo's own flattening adds less than a pixel.
    assert ours.diameter_mm == pytest.approx(usual.diameter_mm, abs=4.0 * PIXEL_MM)
    assert ours.median_s < usual.median_s
    assert ours.peak_mb < usual.peak_mb


@pytest.mark.parametrize(
    "name", ["rope_net_2000.svg", "fish_scales_20x15mm.svg", "rope_net_a3.svg"]
)
def test_reported_alone(folder: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """No target; only that the answer is there and true to its page."""
    command = _ours(folder / name)
    median_s = statistics.median(_seconds(command, (0, 1)) for _ in range(ROUNDS))
    peak_mb = _peak_mb(command)
    with capsys.disabled():
        print(f"\n{name}: {median_s:.2f} s, peak {peak_mb:.0f} MB")
    page_mm = {"rope_net_a3.svg": A3_MM, "fish_scales_20x15mm.svg": (20.0, 15.0)}
    diagonal_mm = math.hypot(*page_mm.get(name, PAGE_MM))
    assert 0.5 * diagonal_mm < _our_diameter_mm(folder / name) < diagonal_mm
