"""What lies in the tables of a record, whatever state they are in."""

from __future__ import annotations

import re
import sqlite3

from viewer.signoff.head_note import Head

Held = tuple[object, object, object, object]
"""A row as it lies there, whatever it holds: number, body, prev_hash, hash."""

_ALL = "SELECT number, body, prev_hash, hash FROM sign_offs ORDER BY number"
_BEHIND = "SELECT number, body, prev_hash, hash FROM sign_offs WHERE number > ? ORDER BY number"
_ONE = "SELECT number, body, prev_hash, hash FROM sign_offs WHERE number = ?"
_MOST_SOUGHT = 1_000_000


def fetch(db: sqlite3.Connection, expected: int) -> tuple[list[Held], str | None]:
    """All rows that can be read, by number; and what SQLite said where some could not.

    ``expected``: how many there should be. Behind a damaged page they are sought one by one.
    """
    held: list[Held] = []
    try:
        for row in db.execute(_ALL):
            held.append(row)
        return held, None
    except sqlite3.DatabaseError as error:
        told = " ".join(str(error).split())
    last = held[-1][0] if held and isinstance(held[-1][0], int) else 0
    for number in range(last + 1, min(expected, _MOST_SOUGHT) + 1):
        try:
            row = db.execute(_ONE, (number,)).fetchone()
        except sqlite3.DatabaseError:
            continue
        if row is not None:
            held.append(row)
    return held, told


def fetch_behind(db: sqlite3.Connection, number: int) -> list[Held]:
    """The rows with a greater number."""
    return list(db.execute(_BEHIND, (number,)))


def fetch_one(db: sqlite3.Connection, number: int) -> Held | None:
    """The row with a number."""
    row: Held | None = db.execute(_ONE, (number,)).fetchone()
    return row


def head_of(db: sqlite3.Connection) -> Head | None:
    """The count of rows that the record keeps, or None where it cannot be read."""
    try:
        count, last = db.execute("SELECT count, hash FROM head").fetchone()
    except (sqlite3.DatabaseError, TypeError):
        return None
    if type(count) is not int or count < 0 or not re.fullmatch(r"[0-9a-f]{64}", str(last)):
        return None
    return Head(count, str(last))


def schema_of(db: sqlite3.Connection) -> dict[str, str]:
    """The text of every table and trigger by name; SQLite's own left out."""
    try:
        rows = db.execute("SELECT name, sql FROM sqlite_master").fetchall()
    except sqlite3.DatabaseError:
        return {}
    return {str(name): str(sql) for name, sql in rows if not str(name).startswith("sqlite_")}
