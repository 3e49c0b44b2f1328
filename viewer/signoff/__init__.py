"""The sign-off: who approved or rejected which artwork, with which cup and settings, and when.

Kept in an append-only approval record; `viewer.signoff.chain` says how anyone can check it.
"""

from __future__ import annotations

from viewer.signoff.chain import GENESIS, Row, row_hash
from viewer.signoff.content import file_sha256
from viewer.signoff.entry import Decision, Entry, Stage
from viewer.signoff.errors import RecordError
from viewer.signoff.export import rows_to_csv, rows_to_json
from viewer.signoff.location import RecordPlace, record_place
from viewer.signoff.record import Record
from viewer.signoff.settings import differences, scaled_load, settings_of, settings_text
from viewer.signoff.standing import Standing, Wanted, standing_of
from viewer.signoff.verification import Problem, Verification
from viewer.signoff.words import row_lines, row_summary

__all__ = [
    "GENESIS",
    "Decision",
    "Entry",
    "Problem",
    "Record",
    "RecordError",
    "RecordPlace",
    "Row",
    "Stage",
    "Standing",
    "Verification",
    "Wanted",
    "differences",
    "file_sha256",
    "record_place",
    "row_hash",
    "row_lines",
    "row_summary",
    "rows_to_csv",
    "rows_to_json",
    "scaled_load",
    "settings_of",
    "settings_text",
    "standing_of",
]
