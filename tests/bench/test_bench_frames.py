"""Frame times of drag, pan and zoom, software rendering, 600 dpi artwork; time to open.

Printed are the time on the clock and, in brackets, the time that this thread worked. The
budget holds for the latter, and for the clock as well where the machine has nothing else
to do: other work on the same cores lengthens only the clock's time.
"""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pygame
import pytest
from numpy.typing import NDArray

from viewer.artwork.model import Artwork, InkRule, LoadOptions, Outline
from viewer.press.limits import EtchArea, Hold, Pad, PressLimits
from viewer.press.press import Press
from viewer.screen.app import SWITCH_S, settle_memory
from viewer.screen.curve_strip import plot_box
from viewer.screen.desk import Desk
from viewer.screen.layout import layout_for
from viewer.screen.loader import Opened, open_now
from viewer.screen.model import with_cup
from viewer.screen.overlay import knob_px, overlay_place

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

PAGE_MM = (150.0, 100.0)
BUDGET_MS = 16.7
FACTOR = float(os.environ.get("BENCH_FACTOR", "1"))
"""Above 1 on machines that share their cores with other work."""


CUP_ALONE = PressLimits()
PAD_AND_ETCH = PressLimits(
    pad=Pad("oval", 84, 72, offset_mm=(2.0, -1.0), turn_deg=12.0, margin_mm=2.0),
    etch=EtchArea(90, 70, margin_mm=1.0),
    hold=Hold("free", 25.0),
)
"""All that can be drawn and judged at once: five cups, an oval, a rectangle, both margins."""


class _Picture:
    """A disc of ink with a lobed edge, drawn as a page at any magnification."""

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        x = (np.arange(width_px, dtype=np.float32) + 0.5) / px_per_mm + x0_mm - 75
        y = (np.arange(height_px, dtype=np.float32) + 0.5) / px_per_mm + y0_mm - 50
        radius = np.hypot(x[None, :], y[:, None])
        angle = np.arctan2(y[:, None], x[None, :])
        ink = radius < 36 + 3 * np.sin(9 * angle)
        rgba = np.zeros((height_px, width_px, 4), np.uint8)
        rgba[ink] = (23, 50, 77, 255)
        return rgba

    def close(self) -> None:
        pass


class _Opener:
    def load(self, path: str, options: LoadOptions, progress: object, cancelled: object) -> Artwork:
        angle = np.linspace(0, 2 * np.pi, 1500, endpoint=False)
        hull = np.stack([75 + 38 * np.cos(angle), 50 - 38 * np.sin(angle)], axis=1)
        return Artwork(
            path, "0" * 64, "image", PAGE_MM, "600 per inch", "transparent",
            Outline(hull, 0.03), 4000.0, InkRule(),
        )  # fmt: skip

    def picture(self, artwork: Artwork) -> _Picture:
        return _Picture()


@pytest.fixture(scope="module")
def opened() -> Opened:
    settle_memory()  # as the window does when it opens
    return open_now(_Opener(), "lobes.png", LoadOptions(), Press())


HD, UHD = (1600, 1000), (3840, 2160)


@dataclass(frozen=True)
class Times:
    """Of each frame, in ms."""

    clock: list[float]
    worked: list[float]


def _desk(opened: Opened, limits: PressLimits, size: tuple[int, int] = HD) -> Desk:
    desk = Desk(size, Press(), _Opener())
    desk.show(opened)
    # A cup that is too small: the hatch has work to do in every frame.
    desk.change(lambda session: with_cup(session, 1))
    desk.set_limits(limits)
    desk.fit_now()
    desk.sharpness.now()
    return desk


def _times_ms(
    opened: Opened,
    events: Callable[[int], list[pygame.event.Event]],
    limits: PressLimits = CUP_ALONE,
    size: tuple[int, int] = HD,
    frames: int = 200,
) -> Times:
    pygame.display.init()
    surface = pygame.display.set_mode(size)
    desk = _desk(opened, limits, size)
    desk.painter.draw(surface, desk.frame())
    clock, worked = [], []
    for number in range(frames):
        start, work = time.perf_counter(), time.thread_time()
        for event in events(number):
            desk.handle(event)
        pygame.display.update(desk.painter.draw(surface, desk.frame()))
        clock.append(1000 * (time.perf_counter() - start))
        worked.append(1000 * (time.thread_time() - work))
    desk.close()
    return Times(clock[5:], worked[5:])


def _p99(times: list[float]) -> float:
    return sorted(times)[int(0.99 * len(times))]


def _report(name: str, times: Times) -> float:
    """The 99th percentile that the budget is for."""
    told = ", ".join(
        f"{what} {of(times.clock):.1f} ms ({of(times.worked):.1f})"
        for what, of in (("median", statistics.median), ("p99", _p99))
    )
    print(f"\n{name}: {told}")
    is_idle = hasattr(os, "getloadavg") and os.getloadavg()[0] < 0.6 * (os.cpu_count() or 1)
    return _p99(times.clock if is_idle else times.worked)


def _event(kind: int, **values: object) -> pygame.event.Event:
    return pygame.event.Event(kind, values)


def _drag(button: int, start: tuple[int, int]) -> Callable[[int], list[pygame.event.Event]]:
    def events(number: int) -> list[pygame.event.Event]:
        if number == 0:
            return [_event(pygame.MOUSEBUTTONDOWN, pos=start, button=button)]
        x = start[0] + round(90 * np.sin(number / 9))
        y = start[1] + round(60 * np.cos(number / 7)) - 60
        return [_event(pygame.MOUSEMOTION, pos=(x, y), rel=(1, 1), buttons=(1, 0, 0))]

    return events


def test_drag_frame(opened: Opened) -> None:
    assert _report("drag", _times_ms(opened, _drag(1, (640, 430)))) <= BUDGET_MS * FACTOR


def test_pan_frame(opened: Opened) -> None:
    assert _report("pan", _times_ms(opened, _drag(2, (640, 430)))) <= BUDGET_MS * FACTOR


def test_pan_frame_with_pad_and_etch_area(opened: Opened) -> None:
    times = _times_ms(opened, _drag(2, (640, 430)), PAD_AND_ETCH)
    assert _report("pan, pad and etch area", times) <= BUDGET_MS * FACTOR


def _wheel(at: tuple[int, int]) -> Callable[[int], list[pygame.event.Event]]:
    def events(number: int) -> list[pygame.event.Event]:
        if number == 0:
            return [_event(pygame.MOUSEMOTION, pos=at, rel=(0, 0), buttons=(0, 0, 0))]
        steps = 1 if number // 8 % 2 == 0 else -1
        return [_event(pygame.MOUSEWHEEL, x=0, y=steps, precise_y=float(steps))]

    return events


def test_zoom_frame(opened: Opened) -> None:
    times = _times_ms(opened, _wheel((700, 400)))
    assert _report("zoom", times) <= 3 * BUDGET_MS * FACTOR


def test_zoom_frame_with_pad_and_etch_area(opened: Opened) -> None:
    times = _times_ms(opened, _wheel((700, 400)), PAD_AND_ETCH)
    assert _report("zoom, pad and etch area", times) <= 3 * BUDGET_MS * FACTOR


@pytest.mark.parametrize("what", ["drag", "pan", "zoom"])
def test_frames_of_a_large_screen_are_reported(opened: Opened, what: str) -> None:
    """3840 x 2160 without a graphics card: told, not promised."""
    at = (1500, 1000)
    events = {"drag": _drag(1, at), "pan": _drag(2, at), "zoom": _wheel(at)}[what]
    times = _times_ms(opened, events, PAD_AND_ETCH, UHD, 80)
    assert _report(f"{what}, pad and etch area, 3840 x 2160", times) < 1000 * FACTOR


def test_start_to_first_frame() -> None:
    """From the start of the process to an empty bench on the screen."""
    code = (
        "import pygame; from viewer.screen.desk import Desk; from viewer.press.press import Press;"
        "pygame.display.init(); surface = pygame.display.set_mode((1600, 1000));"
        "desk = Desk((1600, 1000), Press());"
        "pygame.display.update(desk.painter.draw(surface, desk.frame())); desk.close()"
    )
    found = []
    for _ in range(5):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, timeout=60)
        found.append(time.perf_counter() - start)
    print(f"\nstart to first frame: median {statistics.median(found):.2f} s, best {min(found):.2f}")
    assert min(found) <= 1.5 * FACTOR


def test_drag_frame_with_pad_and_etch_area(opened: Opened) -> None:
    times = _times_ms(opened, _drag(1, (640, 430)), PAD_AND_ETCH)
    assert _report("drag, pad and etch area", times) <= BUDGET_MS * FACTOR


def test_turn_frame_with_pad_and_etch_area(opened: Opened) -> None:
    desk = _desk(opened, PAD_AND_ETCH)
    assert desk.session is not None
    assert desk.camera is not None
    place = overlay_place(desk.session, desk.camera, desk.layout)
    knob, center = knob_px(place, desk.layout), place.center
    desk.close()

    def events(number: int) -> list[pygame.event.Event]:
        if number == 0:
            return [_event(pygame.MOUSEBUTTONDOWN, pos=knob, button=1)]
        angle, reach = number / 9, math.dist(knob, center)
        x, y = center[0] + reach * math.sin(angle), center[1] - reach * math.cos(angle)
        return [_event(pygame.MOUSEMOTION, pos=(round(x), round(y)), rel=(1, 1), buttons=(1, 0, 0))]

    times = _times_ms(opened, events, PAD_AND_ETCH)
    assert _report("turn by the knob, pad and etch area", times) <= BUDGET_MS * FACTOR


def test_curve_drag_frame(opened: Opened) -> None:
    plot = plot_box(layout_for((1600, 1000)))

    def events(number: int) -> list[pygame.event.Event]:
        at = (plot.centerx + round(400 * math.sin(number / 11)), plot.centery)
        if number == 0:
            return [_event(pygame.MOUSEBUTTONDOWN, pos=at, button=1)]
        return [_event(pygame.MOUSEMOTION, pos=at, rel=(1, 1), buttons=(1, 0, 0))]

    times = _times_ms(opened, events, PAD_AND_ETCH)
    assert _report("drag in the curve", times) <= BUDGET_MS * FACTOR


def test_frames_go_on_while_a_thread_fits(opened: Opened) -> None:
    """A change of the limits during a drag: no frame waits for fit or curve."""
    pygame.display.init()
    surface = pygame.display.set_mode((1600, 1000))
    before = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_S)
    desk = _desk(opened, PAD_AND_ETCH)
    drag = _drag(1, (640, 430))
    clock, worked = [], []
    for number in range(150):
        start, work = time.perf_counter(), time.thread_time()
        if number % 50 == 5:
            limits = replace(PAD_AND_ETCH, etch=EtchArea(88.0 + number / 50, 70))
            desk.set_limits(limits)
        for event in drag(0 if number % 50 == 6 else number):
            desk.handle(event)
        if number % 50 == 4:
            desk.handle(_event(pygame.MOUSEBUTTONUP, pos=(640, 430), button=1))
        desk.poll()
        pygame.display.update(desk.painter.draw(surface, desk.frame()))
        clock.append(1000 * (time.perf_counter() - start))
        worked.append(1000 * (time.thread_time() - work))
    desk.close()
    sys.setswitchinterval(before)
    # The thread shares the interpreter: a frame may take a few times as long, no more.
    times = Times(clock[5:], worked[5:])
    assert _report("drag while fitting", times) <= 5 * BUDGET_MS * FACTOR
