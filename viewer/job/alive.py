"""A mark on disk that lasts exactly as long as its process: a locked file.

The system lets go of a lock when its process ends, in whatever way; a number of a process
alone could be another's by then.
"""

from __future__ import annotations

import contextlib
import os
from typing import IO

from viewer.job.locks import BUSY, lock


class Mark:
    """A file that this process holds locked until ``release`` or its end.

    OSError where it cannot be made; on a disk without locks it is made all the same.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        self._file = _open_locked(path)

    @property
    def is_there(self) -> bool:
        """Whether the file is still this one; somebody may have tidied up."""
        return _is_file_at(self._file, self.path)

    def release(self) -> None:
        """Let go, and remove the file."""
        with contextlib.suppress(OSError):
            os.unlink(self.path)
        self._file.close()
        with contextlib.suppress(OSError):
            # Some systems remove no file that is open.
            os.unlink(self.path)


def is_alive(path: str, remove_dead: bool = False) -> bool:
    """Whether the process that made a mark is running. False where there is no such mark.

    ``remove_dead``: a mark of a process that is gone is removed.

    On a disk without locks nobody can tell: then every mark counts as alive, since to offer
    the work of a running window would be worse than to offer none. Never ask about a mark
    of this process.
    """
    try:
        with open(path, "r+b") as file:
            lock(file, wait=False)
            if remove_dead:
                # While it is locked, so that nobody can take it up in between.
                with contextlib.suppress(OSError):
                    os.unlink(path)
    except FileNotFoundError:
        return False
    except OSError:
        return True
    return False


def _open_locked(path: str) -> IO[bytes]:
    while True:
        file = open(path, "ab+")  # noqa: SIM115  # it stays open as long as the process
        try:
            lock(file, wait=True)
        except OSError as error:
            if error.errno in BUSY:
                file.close()
                raise
            return file
        # Whoever tidies up may have removed it between the two steps.
        if _is_file_at(file, path):
            return file
        file.close()


def _is_file_at(file: IO[bytes], path: str) -> bool:
    try:
        return os.path.samestat(os.fstat(file.fileno()), os.stat(path))
    except (OSError, ValueError):
        return False
