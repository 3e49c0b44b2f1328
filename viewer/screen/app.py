"""The window: opens at once, waits for events when idle, draws what changed."""

from __future__ import annotations

import contextlib
import gc
import importlib.metadata
import os
import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import pygame

from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError
from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.hover import Cursor
from viewer.screen.lesson_words import lesson_title
from viewer.screen.monitor import system_theme
from viewer.screen.snapshot import write_snapshot
from viewer.screen.store import Store
from viewer.screen.wording import clearance, verdict_word

if TYPE_CHECKING:
    from viewer.screen.lesson_front import Front

TITLE = "brimcheck"
USUAL_PX, LEAST_PX = (1600, 1000), (640, 400)
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
    size: tuple[int, int] | None = None,
    record: str | None = None,
) -> int:
    """Open the viewer, or write a picture of it to ``snapshot``; 0 when all went well.

    ``path`` is artwork, or a job file. ``size`` None: the window's last size. ``record``:
    the approval record, where one was named.
    A file that cannot be read is told in the window; for a snapshot it raises
    BrimcheckError, and so does a system that cannot open a window.
    """
    _tell_double_pygame()
    if snapshot is not None:
        os.environ["SDL_VIDEODRIVER"] = "dummy"
        write_snapshot(snapshot, path, options, press, size or USUAL_PX)
        return 0
    return _in_window(lambda: _run_window(path, options, press, size, record))


def run_lessons(
    key: str | None,
    learner: str,
    path: str | None,
    options: LoadOptions,
    press: Press,
    snapshot: str | None = None,
    size: tuple[int, int] | None = None,
) -> int:
    """Open the window at a lesson, or write a picture of its beginning; 0 when all went well.

    ``key``: a lesson's key or number; None for the list. ``learner``: whose progress is kept;
    empty for the last one. ``path``: artwork, for the lesson about one's own. UsageError for
    a lesson that there is not; otherwise as ``run``.
    """
    from viewer.screen.lesson_front import lesson_index
    from viewer.screen.lesson_progress import checked_name

    _tell_double_pygame()
    index = None if key is None else lesson_index(key)
    name = checked_name(learner)
    if snapshot is not None:
        from viewer.screen.lesson_picture import write_lesson_picture

        os.environ["SDL_VIDEODRIVER"] = "dummy"
        write_lesson_picture(snapshot, index, name, path, options, press, size or USUAL_PX)
        return 0

    def begin(front: Front) -> None:
        front.begin_with(index, name)

    return _in_window(lambda: _run_window(path, options, press, size, None, begin))


def _in_window(show: Callable[[], int]) -> int:
    if sys.platform.startswith("linux"):
        # Software surfaces are shown ten times sooner without SDL's texture in between.
        os.environ.setdefault("SDL_FRAMEBUFFER_ACCELERATION", "0")
    try:
        return show()
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
    size: tuple[int, int] | None,
    record: str | None,
    begin: Callable[[Front], None] = lambda front: None,
) -> int:
    from viewer.screen.lesson_front import Front
    from viewer.screen.lesson_front import lesson_desk as make

    store = Store(_post_wake)
    try:
        pygame.display.init()
        pygame.font.init()
        pygame.display.set_caption(TITLE)
        wanted = size or _kept_size(store)
        surface = pygame.display.set_mode(wanted, pygame.RESIZABLE)
    except pygame.error as error:
        raise BrimcheckError(
            f"no window can be opened here ({error}); --snapshot writes a picture instead"
        ) from error
    pygame.key.set_repeat(350, 40)
    sys.setswitchinterval(SWITCH_S)
    settle_memory()
    desk = Desk(
        surface.get_size(),
        press,
        wake=_post_wake,
        clock=time.monotonic,
        store=store,
        record=record,
    )
    desk.looks.use_settings(store.settings, store.change, system_theme)
    if path is not None:
        desk.filing.open(path, options)
    desk.filing.look_for_unsaved()
    front = Front(desk, lambda size: make(size, _post_wake), store, system_theme)
    begin(front)
    try:
        _loop(front)
        desk.filing.keep_window_size(pygame.display.get_surface().get_size())
    finally:
        front.close()
    return 0


def settle_memory() -> None:
    """Leave what was imported out of later searches for garbage.

    Each of those would hold a frame up for 20 ms, and nothing of it ever becomes garbage.
    """
    gc.collect()
    gc.freeze()


def _kept_size(store: Store) -> tuple[int, int]:
    """The window's last size, as far as the present screen has room for it."""
    width, height = store.settings.window_px or USUAL_PX
    screens = pygame.display.get_desktop_sizes()
    if not screens:
        return width, height
    most = (max(w for w, _ in screens), max(h for _, h in screens))
    return max(LEAST_PX[0], min(width, most[0])), max(LEAST_PX[1], min(height, most[1]))


def _loop(front: Front) -> None:
    caption = TITLE
    small: pygame.Surface | None = None
    cursor = Cursor()
    while not front.is_closed:
        desk = front.desk
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
        cursor.show(desk)
        wanted = _caption(desk)
        if wanted != caption:
            caption = wanted
            pygame.display.set_caption(caption)
        _wait(desk)
        desk.poll()
        front.turn()


def _caption(desk: Desk) -> str:
    """The window's title; in lessons it tells no clearance, as it may be the answer."""
    lesson = desk.frame().lesson
    if lesson is not None:
        return f"{lesson_title(lesson)} \u2013 {TITLE}"
    if desk.session is None:
        return TITLE
    session = desk.session
    placed = session.placed()[session.cup_index]
    told = f"{session.cup.name} cup {verdict_word(placed)} {clearance(placed.clearance_mm)} mm"
    return f"{desk.filing.title()} \u00b7 {told} \u2013 {TITLE}"


def _wait(desk: Desk) -> None:
    """Sleep until something happens, then take all that has happened."""
    if desk.is_gliding:
        first = pygame.event.wait(GLIDE_MS)
    elif desk.job is not None:
        first = pygame.event.wait(LOADING_MS)
    elif desk.sharpness.is_wanted:
        first = pygame.event.wait(REST_MS)
        if first.type == pygame.NOEVENT:
            desk.sharpness.ask()
    else:
        # A tip or a message may have to come or go meanwhile.
        first = pygame.event.wait(desk.looks.wait_ms)
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
