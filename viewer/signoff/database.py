"""The SQLite file of the approval record: its tables, and how it is opened."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import stat
import struct
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from viewer.signoff.chain import GENESIS
from viewer.signoff.errors import RecordError, is_code, told_of

APPLICATION_ID = 0x42524D43
"""Marks the SQLite file as an approval record."""
SCHEMA_VERSION = 1
BUSY_S = 5.0
"""How long to wait for another program that is writing."""

SCHEMA: dict[str, str] = {
    "sign_offs": (
        "CREATE TABLE sign_offs (number INTEGER PRIMARY KEY, body TEXT NOT NULL,"
        " prev_hash TEXT NOT NULL, hash TEXT NOT NULL)"
    ),
    "head": (
        "CREATE TABLE head (id INTEGER PRIMARY KEY CHECK (id = 1),"
        " count INTEGER NOT NULL, hash TEXT NOT NULL)"
    ),
    "sign_offs_follow": (
        "CREATE TRIGGER sign_offs_follow BEFORE INSERT ON sign_offs"
        " WHEN NOT EXISTS (SELECT 1 FROM head"
        " WHERE NEW.number = count + 1 AND NEW.prev_hash = hash)"
        " BEGIN SELECT RAISE(ABORT, 'a row must follow the last one'); END"
    ),
    "sign_offs_counted": (
        "CREATE TRIGGER sign_offs_counted AFTER INSERT ON sign_offs"
        " BEGIN UPDATE head SET count = NEW.number, hash = NEW.hash; END"
    ),
    "sign_offs_stay": (
        "CREATE TRIGGER sign_offs_stay BEFORE UPDATE ON sign_offs"
        " BEGIN SELECT RAISE(ABORT, 'rows are never altered'); END"
    ),
    "sign_offs_remain": (
        "CREATE TRIGGER sign_offs_remain BEFORE DELETE ON sign_offs"
        " BEGIN SELECT RAISE(ABORT, 'rows are never removed'); END"
    ),
    "head_grows": (
        "CREATE TRIGGER head_grows BEFORE UPDATE ON head"
        " WHEN NEW.id <> 1 OR NOT EXISTS (SELECT 1 FROM sign_offs"
        " WHERE number = NEW.count AND hash = NEW.hash) OR NEW.count <> OLD.count + 1"
        " BEGIN SELECT RAISE(ABORT, 'the head only follows the rows'); END"
    ),
    "head_alone": (
        "CREATE TRIGGER head_alone BEFORE INSERT ON head"
        " WHEN EXISTS (SELECT 1 FROM head)"
        " BEGIN SELECT RAISE(ABORT, 'there is one head'); END"
    ),
    "head_remains": (
        "CREATE TRIGGER head_remains BEFORE DELETE ON head"
        " BEGIN SELECT RAISE(ABORT, 'the head is never removed'); END"
    ),
}
"""Every table and trigger, by name, exactly as SQLite keeps its text."""

_RETRY_S = 0.02
_HEADER_BYTES = 100
_LARGEST_FILLED_BYTES = 1 << 30


def refuse_what_is_no_file(path: str) -> None:
    """RecordError for a folder, a device, or a file that may not be read."""
    try:
        mode = os.stat(path).st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise RecordError(f"{path}: {error.strerror or error}; check the folder") from None
    if stat.S_ISDIR(mode):
        raise RecordError(f"{path}: is a folder; give the approval record a file's name")
    if not stat.S_ISREG(mode):
        raise RecordError(f"{path}: is no ordinary file; give the approval record another name")
    if not os.access(path, os.R_OK):
        raise RecordError(f"{path}: may not be read; check its rights")


def version_of(db: sqlite3.Connection, path: str) -> int:
    """The record's version; 0 for a file without anything in it. RecordError if foreign."""
    tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    mark = db.execute("PRAGMA application_id").fetchone()[0]
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    if mark == 0 and version == 0 and tables == 0:
        return 0
    if mark != APPLICATION_ID or version < 1:
        raise RecordError(
            f"{path}: is a database, but not an approval record; give another file with --record"
        )
    return version


# --- for writing ----------------------------------------------------------------------


@contextlib.contextmanager
def open_for_writing(path: str, busy_s: float = BUSY_S) -> Iterator[sqlite3.Connection]:
    """A connection to a record, made if there is none. Every failure is a RecordError.

    What is not committed when the block ends is undone.
    """
    refuse_what_is_no_file(path)
    told = told_of(path, busy_s, writing=True)
    with told, contextlib.closing(_connect(path, "rwc", busy_s)) as db:
        if version_of(db, path) <= SCHEMA_VERSION:
            _prepare(db, busy_s)
            if version_of(db, path) == 0:
                _create(db, path)
        yield db


def _connect(path: str, mode: str, busy_s: float, more: str = "") -> sqlite3.Connection:
    uri = f"{Path(os.path.abspath(path)).as_uri()}?mode={mode}{more}"
    db = sqlite3.connect(uri, uri=True, timeout=busy_s, isolation_level=None)
    db.text_factory = lambda data: data.decode("utf-8", "surrogateescape")
    # A file may come from anywhere: nothing in it may run, and its pages are looked at.
    db.execute("PRAGMA trusted_schema=OFF")
    db.execute("PRAGMA cell_size_check=ON")
    return db


def _prepare(db: sqlite3.Connection, busy_s: float) -> None:
    """Write-ahead log, and every commit on the disk before it counts as done."""
    until_s = time.monotonic() + busy_s
    while True:
        try:
            db.execute("PRAGMA journal_mode=WAL")
            break
        except sqlite3.OperationalError as error:
            # The change of journal does not wait for other programs by itself.
            if not is_code(error, sqlite3.SQLITE_BUSY) or time.monotonic() > until_s:
                raise
            time.sleep(_RETRY_S)
    db.execute("PRAGMA synchronous=FULL")
    db.execute("PRAGMA fullfsync=ON")


def _create(db: sqlite3.Connection, path: str) -> None:
    db.execute("BEGIN IMMEDIATE")
    if version_of(db, path) == 0:  # else another program was quicker
        for statement in SCHEMA.values():
            db.execute(statement)
        db.execute("INSERT INTO head VALUES (1, 0, ?)", (GENESIS,))
        db.execute(f"PRAGMA application_id={APPLICATION_ID}")
        db.execute(f"PRAGMA user_version={SCHEMA_VERSION}")
    db.execute("COMMIT")


# --- for reading ----------------------------------------------------------------------


@contextlib.contextmanager
def open_for_reading(path: str, busy_s: float = BUSY_S) -> Iterator[sqlite3.Connection]:
    """A connection that cannot write, in one transaction: all reads see the same rows.

    Where SQLite cannot read in place (a folder that takes no lock files, a file cut short),
    a copy is read.
    """
    refuse_what_is_no_file(path)
    with told_of(path, busy_s), contextlib.ExitStack() as stack:
        db = _readable(path, busy_s, stack)
        db.execute("BEGIN")
        yield db


def bytes_cut_off(path: str) -> int:
    """How much shorter a record file is than its own header says; 0 where nothing is missing.

    Nor where another program may just be lengthening it, which takes a log.
    """
    cut = [0 if _has_log(path) else _cut(path) for _ in range(2)]
    return 0 if _has_log(path) else min(cut)


def _has_log(path: str) -> bool:
    try:
        return os.stat(f"{path}-wal").st_size > 0
    except OSError:
        return False


def _cut(path: str) -> int:
    try:
        with open(path, "rb") as stream:
            start = stream.read(_HEADER_BYTES)
        size = os.stat(path).st_size
    except OSError:
        return 0
    if len(start) < _HEADER_BYTES or not start.startswith(b"SQLite format 3\x00"):
        return 0
    # https://www.sqlite.org/fileformat2.html#the_database_header
    page, change, pages, valid_for = struct.unpack(">16xH6xII60xI4x", start)
    page = 65536 if page == 1 else page
    return max(page * pages - size, 0) if change == valid_for else 0


def _readable(path: str, busy_s: float, stack: contextlib.ExitStack) -> sqlite3.Connection:
    in_the_way: sqlite3.Error
    try:
        return _tried(path, busy_s, stack)
    except sqlite3.DatabaseError as error:
        lock = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM)
        is_cut = is_code(error, sqlite3.SQLITE_CORRUPT) and bytes_cut_off(path) > 0
        if not is_cut and not is_code(error, *lock, sqlite3.SQLITE_IOERR):
            raise
        in_the_way = error
    if not os.path.exists(path):
        raise in_the_way
    folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="brimcheck-"))
    copy = os.path.join(folder, "record.sqlite")
    # The log first: it only ever says what the record does not hold yet.
    for suffix in ("-wal", ""):
        with contextlib.suppress(FileNotFoundError):
            shutil.copyfile(path + suffix, copy + suffix)
    # SQLite reads nothing at all of a file that was cut short; filled up, it reads the rest.
    os.truncate(copy, os.stat(copy).st_size + min(bytes_cut_off(copy), _LARGEST_FILLED_BYTES))
    return _tried(copy, busy_s, stack)


def _tried(path: str, busy_s: float, stack: contextlib.ExitStack) -> sqlite3.Connection:
    db = _connect(path, "ro", busy_s)
    try:
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        db.close()
        raise
    stack.enter_context(contextlib.closing(db))
    return db
