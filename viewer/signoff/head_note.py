"""The head note: a small file beside the record that says how far the record reached.

A chain of hashes cannot show that its last rows are gone. The note can: after a row is in
the record, ``FILE.head`` is written with the number of rows and the hash of the last. It
may lag behind (a crash in between), it never leads: when it names a row that the record
does not hold, rows are missing.

What it cannot show: an older copy of *both* files put back, or a note taken away together
with the last rows. Only what lies elsewhere shows that: a printed sheet or an export with
the number and hash of a row that the record no longer holds.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import time
from dataclasses import dataclass

from viewer.signoff.chain import GENESIS

_SUFFIX = ".head"
_LARGEST_BYTES = 4096
_PATIENCE_S = 0.2
_STALE_S = 10.0


@dataclass(frozen=True)
class Head:
    """How many rows there are, and the hash of the last (64 zeros for none)."""

    count: int = 0
    hash: str = GENESIS


def note_path(record: str) -> str:
    """Where the note of a record lies."""
    return record + _SUFFIX


def read_note(record: str) -> Head | None:
    """The note, or None where there is none. An unreadable one raises ValueError."""
    try:
        with open(note_path(record), "rb") as stream:
            held = json.loads(stream.read(_LARGEST_BYTES))
        count, last = held["rows"], held["hash"]
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise ValueError(f"{note_path(record)} cannot be read ({error})") from None
    if type(count) is not int or count < 0 or not re.fullmatch(r"[0-9a-f]{64}", str(last)):
        raise ValueError(f"{note_path(record)} cannot be read (not a number of rows and a hash)")
    return Head(count, str(last))


def write_note(record: str, head: Head) -> None:
    """Let the note say ``head``, unless it says more already. Never raises for the disk.

    The row itself is in the record by now, so a note that cannot be written must not look
    like a failure: it lags, and `verify` says so.
    """
    temporary = f"{note_path(record)}.tmp"
    with contextlib.suppress(OSError):
        descriptor = _alone(temporary)
        if descriptor is None:
            return
        try:
            with os.fdopen(descriptor, "wb") as stream:
                if not _is_behind(record, head):
                    return
                stream.write(json.dumps({"rows": head.count, "hash": head.hash}).encode())
                stream.write(b"\n")
                stream.flush()
                os.fsync(stream.fileno())
            os.replace(temporary, note_path(record))
        finally:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(temporary)


def _is_behind(record: str, head: Head) -> bool:
    try:
        note = read_note(record)
    except ValueError:
        return True
    return note is None or note.count < head.count


def _alone(temporary: str) -> int | None:
    """The temporary file, ours alone: one writer at a time. None where another stays long."""
    until_s = time.monotonic() + _PATIENCE_S
    while True:
        try:
            return os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        except FileExistsError:
            with contextlib.suppress(FileNotFoundError):
                # Left behind by a program that was killed.
                if time.time() - os.stat(temporary).st_mtime > _STALE_S:
                    os.unlink(temporary)
                    continue
            if time.monotonic() > until_s:
                return None
            time.sleep(0.005)
