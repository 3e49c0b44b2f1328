"""Tells when a file has got another content and whoever writes it has finished."""

from __future__ import annotations

import os
import time
from collections.abc import Callable

STILL_S = 0.3
"""So long nothing may change before a file counts as written."""
EMPTY_STILL_S = 2.0
"""An empty file is mostly one that is being written; so long it is given."""

Look = tuple[int, int, int, int]
"""Device, inode, size in bytes, time of the last change in ns."""
Stat = Callable[[str], os.stat_result]


def look_at(path: str, stat: Stat = os.stat) -> Look | None:
    """What tells one content of a file from the next; None where there is no file to see."""
    try:
        found = stat(path)
    except (OSError, ValueError):
        return None
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns


class FileWatch:
    """Watches one file by looking at it whenever ``poll`` is called.

    ``seen`` is how the file looked before it was read (``look_at``), so that a change while
    reading is not missed; without it the file counts as read now. A file that vanishes is
    not reported (see ``is_missing``); one that comes back different is.
    """

    def __init__(
        self,
        path: str,
        seen: Look | None = None,
        *,
        still_s: float = STILL_S,
        clock: Callable[[], float] = time.monotonic,
        stat: Stat = os.stat,
    ) -> None:
        self.path = path
        self._still_s = still_s
        self._clock = clock
        self._stat = stat
        now = look_at(path, stat)
        self._known = now if seen is None else seen
        self._pending: tuple[Look, float] | None = None
        self.is_missing = now is None
        """Whether the file was gone when last looked at."""

    def poll(self) -> bool:
        """Whether the file is another one than before, whole and still: true once for each."""
        now = look_at(self.path, self._stat)
        self.is_missing = now is None
        if now is None or now == self._known:
            self._pending = None
            return False
        time_s = self._clock()
        if self._pending is None or self._pending[0] != now:
            self._pending = (now, time_s)
            return False
        size = now[2]
        needed_s = self._still_s if size else max(self._still_s, EMPTY_STILL_S)
        if time_s - self._pending[1] < needed_s:
            return False
        self._known, self._pending = now, None
        return True
