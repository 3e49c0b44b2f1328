"""A row of the approval record, and the rule that chains each row to the one before.

The rule, so that anyone can check it without this program. The table ``sign_offs`` of the
SQLite file holds, for each row, ``number`` (1, 2, 3, ...), ``body``, ``prev_hash`` and
``hash``:

- ``body`` is one JSON object with the keys by, clearance_mm, cup, decision, file_name,
  note, number, reason, settings, sha256, stage, tool_version, verdict and when_utc. It is
  canonical: keys sorted, no space between signs, everything beyond ASCII as ``\\uXXXX``,
  numbers as the shortest decimal text that reads back as the same double.
- ``prev_hash`` is the ``hash`` of the row before; 64 zeros for row 1.
- ``hash`` is the SHA-256, in small hex digits, of ``prev_hash``, one line feed (byte 10),
  and ``body``, in UTF-8.
- ``number`` in the body equals ``number`` of the row.

With nothing but common tools, for row 7 (the last two lines must be the same):

    sqlite3 FILE "SELECT prev_hash || char(10) || body FROM sign_offs WHERE number=7" \\
        | head -c -1 | sha256sum
    sqlite3 FILE "SELECT hash FROM sign_offs WHERE number=7"

What the chain shows: a row that was altered, removed from within, put in or moved. What it
cannot show on its own: that the *last* rows are gone, or that everything from some row on
was written anew with fresh hashes. See `viewer.signoff.head_note` for what helps there.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Any

from viewer.fit import Verdict
from viewer.signoff.entry import Decision, Entry, Stage

GENESIS = "0" * 64
"""What row 1 has in the place of the hash of the row before."""


@dataclass(frozen=True)
class Row:
    """An entry as it stands in the record. ``when_utc``: ISO 8601, UTC, milliseconds."""

    number: int
    when_utc: str
    entry: Entry
    body: str
    prev_hash: str
    hash: str

    @property
    def seal(self) -> str:
        """Number and first half of the hash: printed on a sheet, it pins this very row."""
        return f"{self.number}/{self.hash[:32]}"


def canonical(value: Any) -> str:
    """The one JSON text of a value. NaN and infinity raise ValueError."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False
    )


def row_hash(prev_hash: str, body: str) -> str:
    """The hash of a row: see the rule above."""
    text = f"{prev_hash}\n{body}"
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()


def new_row(number: int, when_utc: str, entry: Entry, prev_hash: str) -> Row:
    """The row that ``entry`` becomes behind the row with ``prev_hash``."""
    body = canonical(
        {
            "number": number,
            "when_utc": when_utc,
            "sha256": entry.sha256,
            "file_name": entry.file_name,
            "settings": json.loads(entry.settings),
            "cup": entry.cup,
            "verdict": entry.verdict.value,
            "clearance_mm": entry.clearance_mm,
            "decision": entry.decision.value,
            "by": entry.by,
            "stage": entry.stage.value,
            "note": entry.note,
            "reason": entry.reason,
            "tool_version": entry.tool_version,
        }
    )
    return Row(number, when_utc, entry, body, prev_hash, row_hash(prev_hash, body))


def read_row(number: int, body: str, prev_hash: str, own_hash: str) -> Row:
    """A row out of the record. A body that no row can have raises ValueError.

    Keys that a newer version has added are passed over. Hashes are not looked at here.
    """
    try:
        held = json.loads(body)
        if not isinstance(held, dict) or canonical(held) != body:
            raise ValueError("not canonical JSON")
        if type(held["number"]) is not int or held["number"] != number:
            raise ValueError(f"it says that it is row {held['number']!r}")
        texts = {name: _text(held, name) for name in _TEXTS}
        clearance_mm = held["clearance_mm"]
        entry = Entry(
            sha256=texts["sha256"],
            file_name=texts["file_name"],
            settings=canonical(held["settings"]),
            cup=texts["cup"],
            verdict=Verdict(texts["verdict"]),
            clearance_mm=None if clearance_mm is None else float(clearance_mm),
            decision=Decision(texts["decision"]),
            by=texts["by"],
            stage=Stage(texts["stage"]),
            note=texts["note"],
            reason=texts["reason"],
            tool_version=texts["tool_version"],
        )
        return Row(number, texts["when_utc"], entry, body, prev_hash, own_hash)
    except KeyError as error:
        raise ValueError(f"{error} is missing") from None
    except Exception as error:  # whatever a foreign hand has put there
        raise ValueError(str(error) or type(error).__name__) from None


_TEXTS = (
    "sha256",
    "file_name",
    "cup",
    "verdict",
    "decision",
    "by",
    "stage",
    "note",
    "reason",
    "tool_version",
    "when_utc",
)


def _text(held: dict[str, Any], name: str) -> str:
    if not isinstance(held[name], str):
        raise ValueError(f"{name} is not text")
    return str(held[name])
