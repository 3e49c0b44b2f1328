"""Locks on files, which the system lets go of when a process ends, in whatever way."""

from __future__ import annotations

import errno
import sys
from typing import IO

BUSY = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
"""Numbers of the OSError where another process has the lock; any other: there are no locks."""

if sys.platform == "win32":
    import msvcrt

    def lock(file: IO[bytes], wait: bool) -> None:
        """Take a lock that lasts until the file is closed. OSError where it is not to be had."""
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def lock(file: IO[bytes], wait: bool) -> None:
        """Take a lock that lasts until the file is closed. OSError where it is not to be had."""
        # Of the two kinds of lock the one that a child process does not inherit.
        fcntl.lockf(file, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
