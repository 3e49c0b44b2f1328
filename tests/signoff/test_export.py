"""Rows as CSV and JSON, and in words."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from pathlib import Path

import pytest

from tests.signoff.entries import entry, sha, ticking
from viewer.fit import Verdict
from viewer.signoff import Record, Row, row_lines, row_summary, rows_to_csv, rows_to_json


def rows_of(tmp_path: Path, *notes: str) -> tuple[Row, ...]:
    record = Record(str(tmp_path / "r"), clock=ticking())
    return tuple(record.append(entry(note=note)) for note in notes)


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_csv_is_read_back(tmp_path: Path) -> None:
    rows = rows_of(tmp_path, 'a "quoted", note', "", "h\u00e4lt \u2713")
    text = rows_to_csv(rows)
    found = read(text)
    assert [line["note"] for line in found] == ['a "quoted", note', "", "h\u00e4lt \u2713"]
    first = found[0]
    assert (first["row"], first["when_utc"]) == ("1", "2031-05-06T07:08:09.123Z")
    assert (first["sha256"], first["cup"], first["verdict"]) == (sha("whistle"), "90", "fits")
    assert first["clearance_mm"] == "20.25" and first["hash"] == rows[0].hash
    assert text.count("\r\n") == text.count("\n") == 4


@pytest.mark.parametrize(
    "note",
    [
        "=1+1",
        "+1 boat",
        "-1 boat",
        "@SUM(A1)",
        "\t=1",
        "  =1",
        "\r=1",
        "\uff1d1",
        "\u00a0=HYPERLINK(1)",
        "=cmd|' /C calc'!A0",
    ],
)
def test_no_cell_is_a_formula(tmp_path: Path, note: str) -> None:
    """What a spreadsheet sees at the start of a cell, after any space, is never a sign."""
    record = Record(str(tmp_path / "r"))
    made = entry(note=note, by=note, file_name=note, cup=note, verdict=Verdict.OUTSIDE, reason=note)
    (line,) = read(rows_to_csv([record.append(made)]))
    for cell in line.values():
        start = cell.strip()[:1]
        assert start not in "=+-@\uff1d\t\r" or start == ""
    assert line["note"].startswith("'")


def test_a_negative_clearance_stays_a_number(tmp_path: Path) -> None:
    record = Record(str(tmp_path / "r"))
    row = record.append(entry(clearance_mm=-6.5, verdict=Verdict.OUTSIDE, reason="a trial"))
    assert read(rows_to_csv([row]))[0]["clearance_mm"] == "-6.5"


def test_control_characters_are_written_out(tmp_path: Path) -> None:
    rows = rows_of(tmp_path, "one\ntwo\x1b[31m\u202ethree")
    (line,) = read(rows_to_csv(rows))
    assert line["note"] == r"one\ntwo\x1b[31m\u202ethree"
    shown = " ".join([row_summary(rows[0]), *(value for _, value in row_lines(rows[0]))])
    assert shown.isprintable() and r"one\ntwo" in shown


def test_json_holds_all_that_a_check_needs(tmp_path: Path) -> None:
    rows = rows_of(tmp_path, "=1+1", "two\nlines")
    document = json.loads(rows_to_json(rows))
    assert document["schema"] == 1
    before = "0" * 64
    for row, note in zip(document["rows"], ("=1+1", "two\nlines"), strict=True):
        assert row["note"] == note and row["prev_hash"] == before
        text = f"{before}\n{row['body']}".encode()
        assert row["hash"] == hashlib.sha256(text).hexdigest()
        assert row["settings"]["cup"]["diameter_mm"] == 90.0
        before = row["hash"]


def test_nothing_exported_is_still_a_table() -> None:
    assert read(rows_to_csv([])) == [] and rows_to_csv([]).startswith('"row",')
    assert json.loads(rows_to_json([])) == {"schema": 1, "rows": []}


def test_a_row_in_words(tmp_path: Path) -> None:
    (row,) = rows_of(tmp_path, "")
    assert row_summary(row) == (
        "approved for the 90 cup before the plate is made by Printer at bench two,"
        " 2031-05-06 07:08 UTC (row 1)"
    )
    told = dict(row_lines(row))
    assert told["placement"] == "cup's centre at 10.00, 15.00 mm, artwork turned 0.0 degrees"
    assert told["clearance"] == "+20.25 mm" and "note" not in told and "reason" not in told
