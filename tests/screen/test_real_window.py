"""The real window on a virtual display, driven by real key presses and mouse moves.

What happened is read from the window's title, which names the file, the cup, the
verdict and the clearance.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PENNANT = ROOT / "assets_demo" / "pennant.svg"
MISSING = [name for name in ("Xvfb", "xdotool") if shutil.which(name) is None]
SIZE = "1200x760"


@pytest.fixture
def display() -> Iterator[str]:
    if MISSING:
        reason = f"{' and '.join(MISSING)} not found: apt-get install xvfb xdotool"
        if os.environ.get("CI"):
            pytest.fail(f"{reason} (this test must run where CI is set)")
        pytest.skip(reason)
    reading, writing = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1400x900x24", "-nolisten", "tcp"],
        pass_fds=(writing,),
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    try:
        with os.fdopen(reading) as answer:
            number = answer.readline().strip()
        assert number, "Xvfb found no free display"
        yield f":{number}"
    finally:
        server.terminate()
        server.wait(10)


class Window:
    """The program's window, as a person at the display has it."""

    def __init__(self, display: str) -> None:
        self._env = {k: v for k, v in os.environ.items() if k != "SDL_VIDEODRIVER"}
        self._env.update(DISPLAY=display, SDL_AUDIODRIVER="dummy")
        command = [sys.executable, "-m", "viewer", str(PENNANT), "--size", SIZE]
        self.program = subprocess.Popen(command, cwd=ROOT, env=self._env)
        self.id = ""

    def do(self, *words: object) -> str:
        assert self.program.poll() is None, "the program has ended"
        command = ["xdotool", *(str(word) for word in words)]
        done = subprocess.run(command, env=self._env, capture_output=True, text=True, timeout=10)
        return done.stdout.strip()

    def find(self) -> None:
        self.id = self.wait_for(
            lambda: self.do("search", "--pid", self.program.pid).split("\n")[-1]
        )
        self.do("windowfocus", self.id)

    def title(self) -> str:
        return self.do("getwindowname", self.id)

    def wait_for(self, seen: Callable[[], str], limit_s: float = 10.0) -> str:
        end = time.monotonic() + limit_s
        while True:
            found = seen()
            if found or time.monotonic() > end:
                assert found, f"not seen in {limit_s:g} s; the title is {self.title()!r}"
                return found
            time.sleep(0.03)

    def changed_title(self, before: str) -> str:
        """The new title once it stands still: a drag shows every place on its way."""
        found = self.wait_for(lambda: self.title() if self.title() != before else "")
        while True:
            time.sleep(0.3)
            if self.title() == found:
                return found
            found = self.title()

    def wait_for_title(self, wanted: str) -> None:
        self.wait_for(lambda: "yes" if self.title() == wanted else "")


@pytest.fixture
def window(display: str) -> Iterator[Window]:
    window = Window(display)
    try:
        yield window
    finally:
        if window.program.poll() is None:
            window.program.kill()
        window.program.wait(10)


def test_a_person_at_the_window(window: Window) -> None:
    window.find()
    window.wait_for(lambda: "yes" if "pennant.svg" in window.title() else "", 15)
    opened = window.title()
    assert " cup " in opened
    assert opened.endswith(" brimcheck")

    # Drag the ring: the pointer starts in the middle of the bench, so inside of it.
    window.do("mousemove", "--window", window.id, 430, 330, "mousedown", 1)
    for x in range(436, 500, 6):
        window.do("mousemove", "--window", window.id, x, 330)
    window.do("mouseup", 1)
    dragged = window.changed_title(opened)

    window.do("key", "shift+Left")
    nudged = window.changed_title(dragged)
    window.do("key", "ctrl+z")
    window.wait_for_title(dragged)
    window.do("key", "ctrl+z")
    window.wait_for_title(opened)

    # Type into a field: Enter goes to the first one.
    window.do("key", "Return")
    window.do("type", "--delay", 20, "7,5")
    window.do("key", "Return")
    typed = window.changed_title(opened)
    assert typed != nudged
    window.do("key", "ctrl+z")
    window.wait_for_title(opened)

    # With the help open, a cup's key does nothing.
    other = "1" if " 60 cup " not in opened else "5"
    window.do("key", "F1", "key", other)
    time.sleep(0.3)
    assert window.title() == opened
    window.do("key", "Escape", "key", other)
    chosen = window.changed_title(opened)

    window.do("windowsize", window.id, 1000, 640)
    geometry = window.wait_for(
        lambda: next(
            (g for g in [window.do("getwindowgeometry", window.id)] if "1000x640" in g), ""
        )
    )
    assert "1000x640" in geometry
    window.do("key", "Right")
    window.changed_title(chosen)

    window.do("key", "ctrl+q")
    assert window.program.wait(10) == 0


def test_limits_and_curve_at_the_window(window: Window) -> None:
    window.find()
    window.wait_for(lambda: "yes" if "pennant.svg" in window.title() else "", 15)
    opened = window.title()

    # The key that opens the card types no letter of its own into the field.
    window.do("key", "l")
    window.do("type", "--delay", 20, "oval:62x50")
    window.do("key", "Return")
    limited = window.changed_title(opened)
    assert " outside " in limited

    # A click in the curve turns the overlay, and the oval with it.
    window.do("mousemove", "--window", window.id, 330, 690)
    window.do("click", 1)
    turned = window.changed_title(limited)
    window.do("key", "ctrl+z")
    window.wait_for_title(limited)
    window.do("key", "ctrl+y")
    window.wait_for_title(turned)

    # B glides there, as soon as the thread knows where that is.
    window.do("key", "b")
    best = window.changed_title(turned)
    window.do("key", "b")
    time.sleep(0.5)
    assert window.title() == best
    window.do("key", "ctrl+z", "key", "ctrl+z", "key", "ctrl+z")
    window.wait_for_title(opened)

    window.do("key", "ctrl+q")
    assert window.program.wait(10) == 0
