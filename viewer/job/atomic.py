"""Write a file in one step: whoever reads it finds the old content or the new one."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat

from viewer.errors import UsageError

TEMPORARY_PREFIX = ".brimcheck-"
TEMPORARY_ENDING = ".tmp"


def write_atomically(path: str, content: bytes) -> None:
    """Put ``content`` in place of the file ``path``, or leave that as it is.

    Written beside it and renamed; a link keeps pointing to where it did, and the file keeps
    its permissions. Raises UsageError of one line, for a write-protected file as well.
    """
    try:
        target = os.path.realpath(path)
        _refuse_unwritable(path, target)
        temporary = os.path.join(
            os.path.dirname(target),
            f"{TEMPORARY_PREFIX}{secrets.token_hex(6)}{TEMPORARY_ENDING}",
        )
        try:
            _write(temporary, content)
            _copy_permissions(target, temporary)
            os.replace(temporary, target)
        finally:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        raise UsageError(f"{path}: cannot be written ({reason or error})") from error


def _refuse_unwritable(path: str, target: str) -> None:
    if os.path.isdir(target):
        raise UsageError(f"{path}: is a folder; give the name of a file")
    folder = os.path.dirname(target)
    if not os.path.isdir(folder):
        raise UsageError(f"{path}: there is no folder {folder}; make it first")
    if os.path.exists(target) and not os.access(target, os.W_OK):
        # A rename would replace it all the same, against the wish of whoever protected it.
        raise UsageError(f"{path}: is write-protected; give another name")


def _write(temporary: str, content: bytes) -> None:
    with open(temporary, "xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _copy_permissions(target: str, temporary: str) -> None:
    with contextlib.suppress(OSError):
        os.chmod(temporary, stat.S_IMODE(os.stat(target).st_mode))
