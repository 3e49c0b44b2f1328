"""Looks at the shown file now and then, in a thread: a slow disk holds no frame up."""

from __future__ import annotations

import threading
from collections.abc import Callable

from viewer.job import FileWatch
from viewer.job.watch import Look

EVERY_S = 0.1
CHANGED, MISSING = "changed", "missing"


class FileWatcher:
    """Tells when the file named last has another content, or is gone."""

    def __init__(self, wake: Callable[[], None], every_s: float = EVERY_S) -> None:
        self._wake = wake
        self._every_s = every_s
        self._condition = threading.Condition()
        self._wanted: tuple[str, Look | None] | None = None
        self._is_new = False
        self._found = ""
        self._is_stopped = False
        self._thread: threading.Thread | None = None

    def watch(self, path: str, seen: Look | None) -> None:
        """Watch a file from how it looked before it was read; forgets the one before."""
        with self._condition:
            self._wanted, self._is_new, self._found = (path, seen), True, ""
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="watch-file", daemon=True)
                self._thread.start()
            self._condition.notify_all()

    def take(self) -> str:
        """``"changed"``, ``"missing"`` or ``""``, each once."""
        with self._condition:
            found, self._found = self._found, ""
            return found

    def stop(self, timeout_s: float = 1.0) -> None:
        """End the thread."""
        with self._condition:
            self._is_stopped = True
            self._condition.notify_all()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _run(self) -> None:
        watch: FileWatch | None = None
        was_missing = False
        while True:
            with self._condition:
                if not self._is_new:
                    self._condition.wait(self._every_s)
                if self._is_stopped:
                    return
                wanted, is_new, self._is_new = self._wanted, self._is_new, False
            if is_new and wanted is not None:
                watch, was_missing = FileWatch(wanted[0], wanted[1]), False
            if watch is None:
                continue
            has_changed = watch.poll()
            found = CHANGED if has_changed else ""
            if watch.is_missing and not was_missing:
                found = MISSING
            was_missing = watch.is_missing
            if found:
                self._tell(found)

    def _tell(self, found: str) -> None:
        with self._condition:
            if self._is_new or self._is_stopped:
                return
            self._found = found
        self._wake()
