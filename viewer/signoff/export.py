"""Rows for other programs: CSV to look at, JSON to check."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence

from viewer.report import printable
from viewer.signoff.chain import Row

SCHEMA = 1
_FORMULA_SIGNS = frozenset("=+-@\uff1d\uff0b\uff0d\uff20")
"""What a spreadsheet takes for the start of a formula; the last four are the wide forms."""

COLUMNS = (
    "row",
    "when_utc",
    "decision",
    "stage",
    "by",
    "file_name",
    "sha256",
    "cup",
    "verdict",
    "clearance_mm",
    "note",
    "reason",
    "tool_version",
    "settings",
    "prev_hash",
    "hash",
)


def rows_to_csv(rows: Sequence[Row]) -> str:
    """CSV by RFC 4180 with a line of headings.

    Made to be opened in a spreadsheet: control characters are written out, and text that a
    spreadsheet would take for a formula has an apostrophe in front. So it is not what
    hashes are checked on: that is the JSON.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        entry = row.entry
        clearance = "" if entry.clearance_mm is None else repr(entry.clearance_mm)
        before = (row.when_utc, entry.decision.value, entry.stage.value, entry.by)
        about = (entry.file_name, entry.sha256, entry.cup, entry.verdict.value)
        after = (entry.note, entry.reason, entry.tool_version, entry.settings)
        cells = [_safe(text) for text in (*before, *about)]
        # A bare number is no formula, though it may begin with a minus sign.
        cells += [clearance, *(_safe(text) for text in after), row.prev_hash, row.hash]
        writer.writerow([str(row.number), *cells])
    return stream.getvalue()


def rows_to_json(rows: Sequence[Row]) -> str:
    """JSON with everything, exactly. ``body`` is the text that the hash was taken of."""
    held = [
        {
            **json.loads(row.body),
            "prev_hash": row.prev_hash,
            "hash": row.hash,
            "body": row.body,
        }
        for row in rows
    ]
    return json.dumps({"schema": SCHEMA, "rows": held}, indent=2, allow_nan=False) + "\n"


def _safe(text: str) -> str:
    shown = printable(text)
    return f"'{shown}" if shown.lstrip()[:1] in _FORMULA_SIGNS else shown
