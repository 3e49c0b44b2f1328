"""The approval record: rows are added, chained, and never altered."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import threading
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from tests.signoff.entries import entry, rejection, ticking
from viewer.errors import UsageError
from viewer.fit import Verdict
from viewer.signoff import Record, RecordError, RecordPlace, Stage, record_place


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(str(tmp_path / "club.sqlite"), clock=ticking())


def test_a_row_holds_what_was_decided_and_when(record: Record) -> None:
    asked = entry(note="for the regatta", stage=Stage.PRESS)
    row = record.append(asked)
    assert (row.number, row.when_utc, row.entry) == (1, "2031-05-06T07:08:09.123Z", asked)
    assert record.append(rejection()).number == 2
    again = Record(record.path)
    assert [r.entry for r in again.rows()] == [asked, rejection()]
    assert again.row(1) == row
    with pytest.raises(RecordError, match="there is no row 3; the last is row 2"):
        again.row(3)


def test_times_are_utc_whatever_the_clock_shows(tmp_path: Path) -> None:
    east = datetime(2031, 1, 1, 1, 30, tzinfo=timezone(timedelta(hours=3)))
    row = Record(str(tmp_path / "r"), clock=lambda: east).append(entry())
    assert row.when_utc == "2030-12-31T22:30:00.000Z"
    with pytest.raises(ValueError, match="time zone"):
        Record(str(tmp_path / "s"), clock=lambda: datetime(2031, 1, 1)).append(entry())


def test_the_chain_is_as_the_rule_says(record: Record) -> None:
    """Worked out here from the rule in words, with hashlib and sqlite3 alone."""
    for number in range(3):
        record.append(entry(f"float {number}", note='h\u00e4lt \u2713\n"x"'))
    db = sqlite3.connect(record.path)
    rows = db.execute(
        "SELECT number, body, prev_hash, hash FROM sign_offs ORDER BY number"
    ).fetchall()
    db.close()
    before = "0" * 64
    for position, (number, body, prev_hash, own_hash) in enumerate(rows, 1):
        assert number == position == json.loads(body)["number"]
        assert prev_hash == before
        assert own_hash == hashlib.sha256(f"{before}\n{body}".encode()).hexdigest()
        assert body.isascii() and list(json.loads(body)) == sorted(json.loads(body))
        assert ", " not in body.replace("\\", "") and '": ' not in body
        before = own_hash
    assert sorted(json.loads(rows[0][1])) == [
        "by",
        "clearance_mm",
        "cup",
        "decision",
        "file_name",
        "note",
        "number",
        "reason",
        "settings",
        "sha256",
        "stage",
        "tool_version",
        "verdict",
        "when_utc",
    ]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE sign_offs SET body = 'x' WHERE number = 1",
        "UPDATE OR REPLACE sign_offs SET number = 2 WHERE number = 1",
        "DELETE FROM sign_offs",
        "DELETE FROM sign_offs WHERE number = 2",
        "INSERT INTO sign_offs VALUES (9, 'a', 'b', 'c')",
        "INSERT OR REPLACE INTO sign_offs VALUES (2, 'a', 'b', 'c')",
        "INSERT OR REPLACE INTO sign_offs VALUES (3, 'a', 'b', 'c')",
        "UPDATE head SET count = 1",
        "UPDATE head SET count = 3",
        "DELETE FROM head",
        "INSERT OR REPLACE INTO head VALUES (1, 0, '')",
        "INSERT INTO head VALUES (2, 0, '')",
    ],
)
def test_the_file_itself_refuses_changes(record: Record, statement: str) -> None:
    record.append(entry())
    record.append(entry())
    db = sqlite3.connect(record.path)
    with pytest.raises(sqlite3.DatabaseError):
        db.execute(statement)
    db.close()
    assert record.verify().ok and record.verify().count == 2


def test_what_does_not_fit_is_approved_with_a_reason_only(record: Record) -> None:
    for verdict in (Verdict.IN_MARGIN, Verdict.OUTSIDE, Verdict.TOO_CLOSE):
        for reason in ("", "  ", "\u200b", "-", "\n", "\u3164\u115f", "\uffa0 \u1160"):
            with pytest.raises(UsageError) as caught:
                record.append(entry(verdict=verdict, reason=reason))
            assert "\n" not in caught.value.message
        row = record.append(entry(verdict=verdict, reason=" the margin is ours to use "))
        assert row.entry.reason == "the margin is ours to use"
    record.append(rejection(verdict=Verdict.OUTSIDE))
    assert record.verify().count == 4


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"by": ""}, "name of who decides"),
        ({"by": " \u2060 "}, "name of who decides"),
        ({"by": "x" * 101}, "at most 100"),
        ({"note": "x" * 2001}, "at most 2000"),
        ({"note": "--"}, "the note"),
        ({"cup": ""}, "name of the cup"),
        ({"sha256": "AB" * 32}, "64 hex digits"),
        ({"settings": "[1]"}, "JSON object"),
        ({"settings": "{"}, "JSON object"),
        ({"settings": '{"a":NaN}'}, "JSON object"),
        ({"settings": '{"a":1e999}'}, "JSON object"),
        ({"reason": "it fits anyway"}, "use the note"),
    ],
)
def test_entries_that_must_not_be_recorded(change: dict[str, Any], problem: str) -> None:
    with pytest.raises(UsageError, match=problem):
        entry(**change)


def test_a_rejection_says_why_in_its_note() -> None:
    with pytest.raises(UsageError, match="in the note"):
        rejection(verdict=Verdict.OUTSIDE, reason="too big")


@pytest.mark.parametrize(
    "text",
    ["Zo\u00eb \u6c34\U0001f6a4", "nul \x00 in it", "torn \udc80 byte", "a\r\n\tb", "'; DROP --"],
)
def test_any_text_survives(record: Record, text: str) -> None:
    row = record.append(entry(by=text, note=text, file_name=text))
    found = record.verify()
    assert found.ok and found.sound == (row,)


@pytest.mark.parametrize("clearance_mm", [0.1 + 0.2, -0.0, 5e-324, 1e308, -6.13265744943233])
def test_clearances_come_back_exactly(record: Record, clearance_mm: float) -> None:
    record.append(entry(clearance_mm=clearance_mm))
    (row,) = record.rows()
    assert row.entry.clearance_mm == clearance_mm and record.verify().ok


@pytest.mark.parametrize("clearance_mm", [float("nan"), float("inf"), None])
def test_a_clearance_that_is_no_number_is_none(record: Record, clearance_mm: float | None) -> None:
    assert record.append(entry(clearance_mm=clearance_mm)).entry.clearance_mm is None
    assert record.verify().ok


def test_one_record_for_several_threads(record: Record) -> None:
    def work(name: int) -> None:
        for number in range(10):
            record.append(entry(f"{name}-{number}"))

    threads = [threading.Thread(target=work, args=(name,)) for name in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = record.verify()
    assert found.ok and found.count == 40 == len({row.entry.sha256 for row in found.sound})


def test_a_record_seen_through_a_link_is_the_same_one(record: Record, tmp_path: Path) -> None:
    record.append(entry())
    other = tmp_path / "elsewhere"
    other.mkdir()
    (other / "link").symlink_to(record.path)
    assert Record(str(other / "link")).append(entry()).number == 2
    assert [path.name for path in other.iterdir()] == ["link"]
    assert record.verify() == Record(str(other / "link")).verify()


@pytest.mark.parametrize(
    "name", ["what? 100% #1.sqlite", "m\u00f6ve.sqlite", "a;b&mode=memory", " x"]
)
def test_any_file_name_will_do(tmp_path: Path, name: str) -> None:
    Record(str(tmp_path / name)).append(entry())
    assert (tmp_path / name).is_file() and Record(str(tmp_path / name)).verify().count == 1


def test_reading_makes_no_record(record: Record, tmp_path: Path) -> None:
    assert record.rows() == () and record.verify().ok
    assert list(tmp_path.iterdir()) == []


def test_where_the_record_lies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert record_place("mine.sqlite", {"BRIMCHECK_RECORD": "other"}) == RecordPlace("mine.sqlite")
    assert record_place(None, {"BRIMCHECK_RECORD": "other"}) == RecordPlace("other")
    usual = record_place(None, {"BRIMCHECK_RECORD": ""})
    assert usual.is_usual and "brimcheck" in usual.path
    with pytest.raises(UsageError):
        record_place(" ")
    new = RecordPlace(str(tmp_path / "a" / "b" / "r.sqlite"), is_usual=True)
    assert Record(new).append(entry()).number == 1
    with pytest.raises(RecordError, match=r"there is no folder .*make it first"):
        Record(str(tmp_path / "c" / "r.sqlite")).append(entry())
    with pytest.raises(UsageError):
        Record("")


def test_an_empty_file_becomes_a_record(tmp_path: Path) -> None:
    (tmp_path / "r").touch()
    assert Record(str(tmp_path / "r")).verify().ok
    assert Record(str(tmp_path / "r")).append(entry()).number == 1
