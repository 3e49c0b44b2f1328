"""From the moment a drawing program has saved to the new verdict in the window's state."""

from __future__ import annotations

import os
import statistics
import threading
import time
from pathlib import Path

import pytest

from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.store import Store

ROUNDS = 7
STILL_S = 0.3
"""A file must stand still for so long before it counts as written (viewer/job/watch.py)."""
LIMIT_S = 30.0


@pytest.mark.parametrize("name", ["pennant.svg", "start_plate.pdf", "whistle_600dpi.png"])
def test_from_saved_to_verdict(
    name: str, demo_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    content = (demo_folder / name).read_bytes()
    path.write_bytes(content)
    woken = threading.Event()
    desk = Desk((1600, 1000), Press(), wake=woken.set, store=Store())
    try:
        desk.filing.open(str(path))
        _until_new(desk, woken, None)
        taken_s = []
        for number in range(ROUNDS):
            before = desk.session
            beside = tmp_path / f"{name}.part"
            # The same drawing with other bytes at its end, which no reader minds.
            beside.write_bytes(content + b"\n" * (number + 1))
            start_s = time.perf_counter()
            os.replace(beside, path)
            _until_new(desk, woken, before)
            taken_s.append(time.perf_counter() - start_s)
    finally:
        desk.close()
    median_s, most_s = statistics.median(taken_s), max(taken_s)
    with capsys.disabled():
        print(
            f"\n{name}: saved to new verdict: median {median_s:.2f} s, at most {most_s:.2f} s"
            f" (of these {STILL_S:g} s until it counts as written)"
        )
    assert median_s < LIMIT_S


def _until_new(desk: Desk, woken: threading.Event, before: object) -> None:
    """As the window's loop does: sleep until woken, then take what is there."""
    end_s = time.monotonic() + LIMIT_S
    while desk.session is before or desk.session is None:
        assert time.monotonic() < end_s, desk.notice
        woken.wait(1.0)
        woken.clear()
        desk.poll()
        desk.frame()
