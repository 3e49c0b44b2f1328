"""The window: opens at once, waits for events when idle, draws what changed."""

from __future__ import annotations

import contextlib
import importlib.metadata
import os
import sys
import time

import pygame

from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError
from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.snapshot import write_snapshot
from viewer.screen.wording import clearance, verdict_word

TITLE = "brimcheck"
REST_MS = 160
LOADING_MS = 80
GLIDE_MS = 8
SWITCH_S = 0.001
"""How long a thread that computes may keep the window waiting for the interpreter."""
WAKE = pygame.USEREVENT + 1


def run(
    path: str | None,
    options: LoadOptions,
    press: Press,
    snapshot: str | None = None,
    size: tuple[int, int] = (1600, 1000),
) -> int:
    """Open the viewer, or write a picture of it to ``snapshot``; 0 when all went well.

    A file that cannot be read is told in the window; for a snapshot it raises
    BrimcheckError, and so does a system that cannot open a window.
    """
    _tell_double_pygame()
    if snapshot is not None:
        os.environ["SDL_VIDEODRIVER"] = "dummy"
        write_snapshot(snapshot, path, options, press, size)
        return 0
    if sys.platform.startswith("linux"):
        # Software surfaces are shown ten times sooner without SDL's texture in between.
        os.environ.setdefault("SDL_FRAMEBUFFER_ACCELERATION", "0")
    try:
        return _run_window(path, options, press, size)
    finally:
        pygame.quit()


def double_pygame() -> bool:
    """Whether both pygame and pygame-ce are installed; one then shadows the other."""
    found = 0
    for name in ("pygame", "pygame-ce"):
        try:
            importlib.metadata.version(name)
        except importlib.metadata.PackageNotFoundError:
            continue
        found += 1
    return found == 2


def _tell_double_pygame() -> None:
    if double_pygame():
        print(
            "note: both pygame and pygame-ce are installed and share one folder;"
            " uninstall both, then install pygame alone",
            file=sys.stderr,
        )


def _post_wake() -> None:
    # It fails when the window is gone, or when the queue is full and will be read anyway.
    with contextlib.suppress(pygame.error):
        pygame.event.post(pygame.event.Event(WAKE))


def _run_window(
    path: str | None,
    options: LoadOptions,
    press: Press,
    size: tuple[int, int],
) -> int:
    try:
        pygame.display.init()
        pygame.font.init()
        pygame.display.set_caption(TITLE)
        surface = pygame.display.set_mode(size, pygame.RESIZABLE)
    except pygame.error as error:
        raise BrimcheckError(
            f"no window can be opened here ({error}); --snapshot writes a picture instead"
        ) from error
    pygame.key.set_repeat(350, 40)
    sys.setswitchinterval(SWITCH_S)
    desk = Desk(surface.get_size(), press, wake=_post_wake, clock=time.monotonic)
    if path is not None:
        desk.open_file(path, options)
    try:
        _loop(desk)
    finally:
        desk.close()
    return 0


def _loop(desk: Desk) -> None:
    caption = TITLE
    small: pygame.Surface | None = None
    while not desk.is_closed:
        surface = pygame.display.get_surface()
        if surface.get_size() == desk.size:
            small = None
            pygame.display.update(desk.painter.draw(surface, desk.frame()))
        else:
            # Smaller than the least layout, or between two sizes: its corner is shown.
            if small is None or small.get_size() != desk.size:
                small = pygame.Surface(desk.size)
            desk.painter.draw(small, desk.frame())
            surface.blit(small, (0, 0))
            pygame.display.flip()
        wanted = _caption(desk)
        if wanted != caption:
            caption = wanted
            pygame.display.set_caption(caption)
        _wait(desk)
        desk.poll()


def _caption(desk: Desk) -> str:
    if desk.session is None:
        return TITLE
    session = desk.session
    placed = session.placed()[session.cup_index]
    told = f"{session.cup.name} cup {verdict_word(placed)} {clearance(placed.clearance_mm)} mm"
    return f"{os.path.basename(session.artwork.path)} \u00b7 {told} \u2013 {TITLE}"


def _wait(desk: Desk) -> None:
    """Sleep until something happens, then take all that has happened."""
    if desk.is_gliding:
        first = pygame.event.wait(GLIDE_MS)
    elif desk.job is not None:
        first = pygame.event.wait(LOADING_MS)
    elif desk.wants_sharp:
        first = pygame.event.wait(REST_MS)
        if first.type == pygame.NOEVENT:
            desk.ask_sharp()
    else:
        first = pygame.event.wait()
    for event in coalesced([first, *pygame.event.get()]):
        desk.handle(event)


def coalesced(events: list[pygame.event.Event]) -> list[pygame.event.Event]:
    """Events with each run of mouse motions reduced to its last one."""
    kept: list[pygame.event.Event] = []
    for event in events:
        motion = event.type == pygame.MOUSEMOTION
        if motion and kept and kept[-1].type == pygame.MOUSEMOTION:
            kept[-1] = event
        else:
            kept.append(event)
    return kept
