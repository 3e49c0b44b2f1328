"""Failures of the approval record, each one line that a person can act on."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator

from viewer.errors import BrimcheckError

_PRIMARY_CODE = 0xFF
"""SQLite's extended result codes carry the plain one in their lowest byte."""


class RecordError(BrimcheckError):
    """The approval record cannot be read, or cannot take a row. Nothing was recorded."""

    code = "record"


@contextlib.contextmanager
def told_of(path: str, waited_s: float, *, writing: bool = False) -> Iterator[None]:
    """Every failure of SQLite or of the disk as a RecordError that names the record."""
    lost = "; nothing was recorded" if writing else ""
    try:
        yield
    except sqlite3.Error as error:
        told = _what(error, waited_s, "opened for writing" if writing else "read")
        raise RecordError(f"{path}: {told}{lost}") from error
    except OSError as error:
        raise RecordError(
            f"{path}: {error.strerror or error}; check the folder and its rights{lost}"
        ) from error


def is_code(error: sqlite3.Error, *codes: int) -> bool:
    """Whether an error of SQLite has one of these plain result codes."""
    found = getattr(error, "sqlite_errorcode", None)
    return found is not None and found & _PRIMARY_CODE in codes


def _what(error: sqlite3.Error, waited_s: float, doing: str) -> str:
    text = str(error)
    if is_code(error, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) or "locked" in text:
        return f"another program holds this approval record (waited {waited_s:g} s); try again"
    if is_code(error, sqlite3.SQLITE_FULL) or "is full" in text:
        return "the disk is full; make room and try again"
    if is_code(error, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return f"cannot be {doing}; check the rights of the file and of its folder"
    if is_code(error, sqlite3.SQLITE_IOERR):
        return f"the disk gave an error (full, or failing); check it and try again ({text})"
    if is_code(error, sqlite3.SQLITE_NOTADB):
        return "this is not an approval record, or its start is damaged; give another --record"
    if is_code(error, sqlite3.SQLITE_CORRUPT):
        return "the record is damaged at its start and cannot be read; put back a copy of it"
    return f"the approval record cannot be {doing} ({text})"
