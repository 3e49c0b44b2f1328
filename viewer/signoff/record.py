"""The approval record: rows are added and read, never altered."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime

from viewer.errors import UsageError
from viewer.signoff.chain import Row, new_row
from viewer.signoff.database import (
    BUSY_S,
    SCHEMA_VERSION,
    open_for_reading,
    open_for_writing,
    refuse_what_is_no_file,
    version_of,
)
from viewer.signoff.entry import Entry
from viewer.signoff.errors import RecordError, told_of
from viewer.signoff.head_note import Head, note_path, write_note
from viewer.signoff.location import RecordPlace
from viewer.signoff.table import fetch_behind, fetch_one, head_of
from viewer.signoff.verification import (
    Problem,
    Verification,
    examine,
    note_before,
    verify_nothing,
    verify_open,
)

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The computer's clock."""
    return datetime.now(UTC)


class Record:
    """One record file. Opened for each call and closed again, so that nothing is held.

    ``place``: a path, or a place from `record_place`; the usual place's folder is made when
    the first row is written. Any number of programs may write to one record. It belongs on
    a disk of this computer: write-ahead logs do not work across a network.
    """

    def __init__(
        self, place: str | RecordPlace, *, clock: Clock = utc_now, busy_s: float = BUSY_S
    ) -> None:
        self._place = RecordPlace(place) if isinstance(place, str) else place
        if not self._place.path:
            raise UsageError("the approval record needs the name of a file")
        # Notes and logs lie beside the file itself, not beside a link to it.
        self._path = os.path.realpath(self._place.path)
        self._clock = clock
        self._busy_s = busy_s
        self._proven: Head | None = None

    @property
    def path(self) -> str:
        """The file, links followed."""
        return self._path

    @property
    def exists(self) -> bool:
        """Whether there is a file yet."""
        return os.path.lexists(self._path)

    def own_files(self) -> tuple[str, ...]:
        """Every file that belongs to the record, whether it is there or not."""
        logs = (f"{self._path}-wal", f"{self._path}-shm", f"{self._path}-journal")
        return (self._path, *logs, note_path(self._path))

    # --- writing ---------------------------------------------------------------------

    def append(self, entry: Entry) -> Row:
        """Add a row; when this returns, it is on the disk.

        Raises RecordError (nothing was recorded) when the record cannot be written, is not
        sound, or is of a newer version.
        """
        self._make_folder()
        with open_for_writing(self._path, self._busy_s) as db:
            if version_of(db, self._path) > SCHEMA_VERSION:
                self._refuse(verify_open(db, self._path, note_before(self._path)))
            db.execute("BEGIN IMMEDIATE")
            head = self._prove(db)
            row = new_row(head.count + 1, self._now(), entry, head.hash)
            db.execute(
                "INSERT INTO sign_offs VALUES (?, ?, ?, ?)",
                (row.number, row.body, row.prev_hash, row.hash),
            )
            db.execute("COMMIT")
        self._proven = Head(row.number, row.hash)
        write_note(self._path, self._proven)
        return row

    def _prove(self, db: sqlite3.Connection) -> Head:
        """The head of a record that is sound: all of it the first time, then what is new."""
        note = note_before(self._path)
        head = head_of(db)
        known = self._proven
        if head is not None and known is not None and not isinstance(note, str):
            last = fetch_one(db, known.count)
            behind = fetch_behind(db, known.count)
            problems, rows = examine([*([] if last is None else [last]), *behind])
            is_whole = len(rows) == len(behind) + 1 == head.count - known.count + 1
            same = is_whole and rows[0].hash == known.hash and rows[-1].hash == head.hash
            if not problems and same and (note is None or note.count <= head.count):
                return head
        found = verify_open(db, self._path, note)
        if found.read_only is not None:
            self._refuse(found)
        if head is None:
            raise RecordError(f"{self._path}: the count of rows cannot be read")
        return head

    def _refuse(self, found: Verification) -> None:
        ways = (
            "use that version, or another --record"
            if found.ok or found.version > SCHEMA_VERSION
            else "signoff verify says where, signoff export saves what is sound;"
            " then move it and its .head file away, or give another --record"
        )
        raise RecordError(f"{self._path}: nothing was recorded; it {found.read_only}; {ways}")

    def _make_folder(self) -> None:
        folder = os.path.dirname(self._path)
        if os.path.isdir(folder):
            return
        if not self._place.is_usual:
            raise RecordError(f"{self._path}: there is no folder {folder}; make it first")
        with told_of(self._path, self._busy_s, writing=True):
            os.makedirs(folder, exist_ok=True)

    def _now(self) -> str:
        now = self._clock()
        if now.tzinfo is None:
            raise ValueError("the clock of a record must know its time zone")
        text = now.astimezone(UTC).isoformat(timespec="milliseconds")
        return text.replace("+00:00", "Z")

    # --- reading ---------------------------------------------------------------------

    def verify(self) -> Verification:
        """Look at every row. RecordError when nothing in the file can be read at all."""
        note = note_before(self._path)
        refuse_what_is_no_file(self._path)
        if not self.exists:
            return verify_nothing(note)
        with open_for_reading(self._path, self._busy_s) as db:
            return verify_open(db, self._path, note)

    def rows(self) -> tuple[Row, ...]:
        """All rows that are sound, in order; none where there is no record yet."""
        return self.verify().sound

    def row(self, number: int) -> Row:
        """One row. RecordError when it is not there, or not sound."""
        return row_of(self.verify(), number, self._path)


def row_of(found: Verification, number: int, path: str) -> Row:
    """One row of what was found. RecordError when it is not there, or not sound."""
    for row in found.sound:
        if row.number == number:
            return row
    wrong: Problem | None = next((p for p in found.problems if p.number == number), None)
    if wrong is not None:
        raise RecordError(f"{path}: {wrong}", code="record-unsound")
    last = f"the last is row {found.sound[-1].number}" if found.sound else "it holds none"
    raise RecordError(f"{path}: there is no row {number}; {last}", code="no-such-row")
