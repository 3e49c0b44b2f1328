"""Whether a record is sound: which rows were altered, are missing or were moved."""

from __future__ import annotations

import itertools
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from viewer.signoff.chain import GENESIS, Row, read_row, row_hash
from viewer.signoff.database import SCHEMA, SCHEMA_VERSION, bytes_cut_off, version_of
from viewer.signoff.head_note import Head, read_note
from viewer.signoff.table import Held, fetch, head_of, schema_of


@dataclass(frozen=True)
class Problem:
    """Something wrong. ``number``: the row it is about; None for the record as a whole."""

    number: int | None
    message: str

    def __str__(self) -> str:
        return self.message if self.number is None else f"row {self.number} {self.message}"


@dataclass(frozen=True)
class Verification:
    """What was found. ``sound``: the rows that nothing speaks against, in order.

    ``remarks`` are worth knowing and nothing wrong. ``count``: rows that are there.
    """

    problems: tuple[Problem, ...] = ()
    remarks: tuple[str, ...] = ()
    sound: tuple[Row, ...] = ()
    count: int = 0
    version: int = SCHEMA_VERSION

    @property
    def ok(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems

    @property
    def read_only(self) -> str | None:
        """Why nothing may be written to this record; None when it takes rows."""
        if self.version > SCHEMA_VERSION:
            return (
                f"was written by a newer version (record version {self.version}, this program"
                f" knows {SCHEMA_VERSION}), so it is opened read-only"
            )
        if self.problems:
            more = len(self.problems) - 1
            others = f" (and {more} more)" if more else ""
            return f"is not sound, so it is opened read-only: {self.problems[0]}{others}"
        return None


def note_before(path: str) -> Head | str | None:
    """The head note, or what is wrong with it.

    To be read before the rows are: a row that is added meanwhile must not look missing.
    """
    try:
        return read_note(path)
    except ValueError as error:
        return str(error)


def verify_nothing(note: Head | str | None) -> Verification:
    """What holds where no row is; a head note may say that there were some."""
    problems, remarks = _compare_note(note, ())
    return Verification(tuple(problems), tuple(remarks))


def verify_open(db: sqlite3.Connection, path: str, note: Head | str | None) -> Verification:
    """Look at everything in an open record. ``note``: from `note_before`."""
    version = version_of(db, path)
    if version == 0:
        return verify_nothing(note)
    problems = list(_file_problems(db, version))
    if cut := bytes_cut_off(path):
        problems.append(Problem(None, f"the file was cut short: {cut} bytes are missing"))
    head = head_of(db)
    noted = note.count if isinstance(note, Head) else 0
    held, lost = fetch(db, max(head.count if head else 0, noted))
    if lost is not None:
        problems.append(Problem(None, f"the table of rows is damaged ({lost})"))
    found, sound = examine(held)
    numbers = [row[0] for row in held if isinstance(row[0], int)]
    problems += [*found, *_gaps(numbers), *_compare_head(head, held)]
    noted_problems, remarks = _compare_note(note, held)
    problems += noted_problems
    problems.sort(key=lambda problem: (problem.number is None, problem.number or 0))
    remarks += list(_clock_remarks(sound))
    if version > SCHEMA_VERSION and problems:
        remarks.append("what seems wrong may be new: verify it with the version that wrote it")
    return Verification(tuple(problems), tuple(remarks), sound, len(held), version)


# --- rows ---------------------------------------------------------------------------------


def examine(held: Sequence[Held]) -> tuple[list[Problem], tuple[Row, ...]]:
    """Problems of rows in the order of their numbers, and the rows without any.

    A row is sound when its hash is that of its content and its neighbors' hashes agree
    with it. Where two that are good in themselves do not agree, one of them was replaced
    together with its hash, and neither counts as sound.
    """
    problems: list[Problem] = []
    good: dict[int, Row] = {}
    for lying in held:
        found = _examined(lying)
        if isinstance(found, Row):
            good[found.number] = found
        else:
            problems.append(found)
    suspects: set[int] = set()
    for number, row in good.items():
        if number == 1 and row.prev_hash != GENESIS:
            suspects.add(1)
            problems.append(Problem(1, "was replaced: it is not the first of a chain"))
        before = good.get(number - 1)
        if before is not None and row.prev_hash != before.hash:
            suspects |= {number - 1, number}
            problems.append(
                Problem(number, f"does not follow row {number - 1}: one of the two was replaced")
            )
    problems.sort(key=lambda problem: problem.number or 0)
    return problems, tuple(row for row in good.values() if row.number not in suspects)


def _examined(held: Held) -> Row | Problem:
    """A row that is good in itself, or what is wrong with it."""
    number, body, prev_hash, own_hash = held
    if type(number) is not int:
        return Problem(None, f"a row is numbered {str(number)[:20]!r}")
    if not (isinstance(body, str) and isinstance(prev_hash, str) and isinstance(own_hash, str)):
        return Problem(number, "was altered: it holds something other than text")
    if row_hash(prev_hash, body) != own_hash:
        return Problem(number, "was altered: its hash is not that of its content")
    try:
        return read_row(number, body, prev_hash, own_hash)
    except ValueError as error:
        return Problem(number, f"was put there by another hand ({error})")


def _gaps(numbers: Sequence[int]) -> Iterator[Problem]:
    before = 0
    for number in numbers:
        if number > before + 1:
            which = "is" if number == before + 2 else f"to row {number - 1} are"
            yield Problem(before + 1, f"{which} missing")
        before = max(before, number)
    if numbers and numbers[0] < 1:
        yield Problem(numbers[0], "was put in: rows are numbered from 1")


def _clock_remarks(rows: Sequence[Row]) -> Iterator[str]:
    for before, row in itertools.pairwise(rows):
        if row.when_utc < before.when_utc:
            yield (
                f"row {row.number} bears an earlier time than row {before.number}:"
                " a clock was set back"
            )


# --- what says how far the record reaches ---------------------------------------------------


def _compare_head(head: Head | None, held: Sequence[Held]) -> Iterator[Problem]:
    """The count inside the record, which is kept in step with every row."""
    if head is None:
        yield Problem(None, "the count of rows in the record cannot be read")
        return
    last = held[-1] if held else (0, "", "", GENESIS)
    if last[0] == head.count and last[3] == head.hash:
        return
    if isinstance(last[0], int) and head.count > last[0]:
        yield Problem(
            last[0] + 1, f"is missing, and all behind it: the record counts {head.count} rows"
        )
    else:
        yield Problem(None, f"the record counts {head.count} rows, but ends with another")


def _compare_note(note: Head | str | None, held: Sequence[Held]) -> tuple[list[Problem], list[str]]:
    """The note beside the record: it may lag behind the rows, but never lead."""
    last = held[-1][0] if held and isinstance(held[-1][0], int) else 0
    if note is None:
        told = "there is no head note beside the record, so rows missing at the end would not show"
        return [], [told] if held else []
    if isinstance(note, str):
        return [], [f"the head note is of no use: {note}"]
    if note.count > last:
        message = f"is missing, and all behind it: the head note beside it knows {note.count} rows"
        return [Problem(last + 1, message)], []
    seen = next((row for row in held if row[0] == note.count), None)
    if seen is not None and seen[3] != note.hash:
        message = "is not the one that the head note saw: rows were written anew"
        return [Problem(note.count, message)], []
    if note.count < last:
        lag = last - note.count
        return [], [
            f"the head note is {lag} row{'s' if lag > 1 else ''} behind, as after a crash;"
            " the next row puts it right"
        ]
    return [], []


def _file_problems(db: sqlite3.Connection, version: int) -> Iterator[Problem]:
    """Damage that SQLite itself finds, and triggers that somebody took away."""
    try:
        found = str(db.execute("PRAGMA quick_check(1)").fetchone()[0])
    except sqlite3.DatabaseError as error:
        found = str(error)
    if found != "ok":
        yield Problem(None, f"the file is damaged ({' '.join(found.split())})")
    if version == SCHEMA_VERSION:
        there = schema_of(db)
        for name in sorted({*SCHEMA, *there}):
            if name not in there:
                yield Problem(None, f"{name}, which guards the rows, was taken out")
            elif SCHEMA.get(name) != there[name]:
                yield Problem(None, f"{name[:40]} was changed or put in by another hand")
