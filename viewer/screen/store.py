"""Settings and unsaved work, read and written in one thread: no frame waits for a disk."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from viewer.job import (
    Job,
    LoadedSettings,
    Settings,
    Unsaved,
    change_settings,
    forget_unsaved,
    keep_unsaved,
    load_settings,
    unsaved_jobs,
)

REST_S = 2.0
"""So long the work must rest before it is kept."""


@dataclass(frozen=True)
class _Wish:
    job: Job
    job_path: str
    due_s: float


class Store:
    """What is kept for the next start. ``wake`` is called when something is there to take."""

    def __init__(self, wake: Callable[[], None] = lambda: None, rest_s: float = REST_S) -> None:
        self._wake = wake
        self._rest_s = rest_s
        self._loaded: LoadedSettings = load_settings()
        self._condition = threading.Condition()
        self._work: deque[Callable[[], None]] = deque()
        self._wish: _Wish | None = None
        self._found: tuple[Unsaved, ...] = ()
        self._notices: list[str] = [self._loaded.notice] if self._loaded.notice else []
        self._is_stopped = False
        self._is_idle = True
        self._thread: threading.Thread | None = None

    @property
    def settings(self) -> Settings:
        """The settings as they were last read or written."""
        return self._loaded.settings

    def change(self, change: Callable[[Settings], Settings]) -> None:
        """Change the settings; what cannot be kept still holds for this window."""
        self._loaded = LoadedSettings(change(self._loaded.settings), "", self._loaded.is_unread)

        def write() -> None:
            self._tell(change_settings(change).notice)

        self._do(write)

    def keep(self, job: Job, job_path: str) -> None:
        """Keep unsaved work, once nothing has been wished for a while."""
        with self._condition:
            self._wish = _Wish(job, job_path, time.monotonic() + self._rest_s)
            self._start()
            self._condition.notify_all()

    def forget(self) -> None:
        """Nothing is unsaved any more."""
        with self._condition:
            self._wish = None
        self._do(forget_unsaved)

    def take_over(self, unsaved: Unsaved, job: Job, job_path: str) -> None:
        """Keep work of a process that is gone as one's own, then remove what it left."""

        def write() -> None:
            problem = keep_unsaved(job, job_path)
            self._tell(problem)
            if not problem:
                forget_unsaved(unsaved)

        self._do(write)

    def throw_away(self, unsaved: Unsaved) -> None:
        """Remove what a process that is gone has left."""
        self._do(lambda: forget_unsaved(unsaved))

    def look_for_unsaved(self) -> None:
        """Find what processes that are gone have left; ``take_unsaved`` brings it."""

        def look() -> None:
            found = unsaved_jobs()
            with self._condition:
                self._found = found
            if found:
                self._wake()

        self._do(look)

    def take_unsaved(self) -> tuple[Unsaved, ...]:
        """What was found, once."""
        with self._condition:
            found, self._found = self._found, ()
            return found

    def take_notice(self) -> str:
        """The next line on what could not be kept, each once; ``""`` where there is none."""
        with self._condition:
            return self._notices.pop(0) if self._notices else ""

    def wait(self, timeout_s: float) -> bool:
        """Wait until all is written that has been asked for; False when it takes longer."""
        with self._condition:
            return self._condition.wait_for(
                lambda: not self._work and self._wish is None and self._is_idle, timeout_s
            )

    def close(self, timeout_s: float = 2.0) -> None:
        """Write what is left to write, and end the thread."""
        with self._condition:
            if self._wish is not None:
                self._wish = _Wish(self._wish.job, self._wish.job_path, 0.0)
            self._is_stopped = True
            self._condition.notify_all()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _tell(self, notice: str) -> None:
        if not notice:
            return
        with self._condition:
            if notice not in self._notices:
                self._notices.append(notice)
        self._wake()

    def _do(self, work: Callable[[], None]) -> None:
        with self._condition:
            self._work.append(work)
            self._start()
            self._condition.notify_all()

    def _start(self) -> None:
        if self._thread is None and not self._is_stopped:
            self._thread = threading.Thread(target=self._run, name="keep", daemon=True)
            self._thread.start()

    def _run(self) -> None:
        while True:
            work = self._next()
            if work is None:
                return
            try:
                work()
            except Exception as error:  # keeping must never end the window
                self._tell(f"something could not be kept ({type(error).__name__}: {error})")

    def _next(self) -> Callable[[], None] | None:
        """The next thing to do; None at the end."""
        with self._condition:
            self._is_idle = True
            self._condition.notify_all()
            while True:
                if self._work:
                    self._is_idle = False
                    return self._work.popleft()
                wish = self._wish
                left_s = None if wish is None else wish.due_s - time.monotonic()
                if wish is not None and left_s is not None and left_s <= 0:
                    self._wish = None
                    self._is_idle = False
                    return lambda: self._tell(keep_unsaved(wish.job, wish.job_path))
                if self._is_stopped and wish is None:
                    return None
                self._condition.wait(left_s)
