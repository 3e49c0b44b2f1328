"""Tampering, row by row: whatever somebody does to the file, verify says which row."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from tests.signoff.entries import START, entry, ticking
from viewer.signoff import Record, RecordError, row_hash
from viewer.signoff.chain import new_row
from viewer.signoff.database import SCHEMA, SCHEMA_VERSION

ROWS = 6
LATER = START + timedelta(days=1)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record of six rows."""
    record = Record(str(tmp_path / "club.sqlite"), clock=ticking())
    for number in range(ROWS):
        record.append(entry(f"float {number}", note=f"batch {number}"))
    return tmp_path / "club.sqlite"


def tamper(path: Path, *statements: str | tuple[str, tuple[object, ...]]) -> None:
    """As somebody would who knows SQLite: take the guards off, change, put them back."""
    db = sqlite3.connect(path)
    guards = [name for name, sql in SCHEMA.items() if sql.startswith("CREATE TRIGGER")]
    for name in guards:
        db.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        db.execute(*((statement,) if isinstance(statement, str) else statement))
    for name in guards:
        db.execute(SCHEMA[name])
    db.commit()
    db.close()


def rewritten(path: Path, first: int, note: str) -> None:
    """Row ``first`` with another note, and every later row chained anew: a careful forger."""
    record = Record(str(path))
    rows = record.rows()
    before = rows[first - 1].prev_hash
    forged = []
    for row in rows[first - 1 :]:
        told = entry(row.entry.file_name[:-4], note=note if row.number == first else row.entry.note)
        made = new_row(row.number, row.when_utc, told, before)
        forged.append(made)
        before = made.hash
    change = "UPDATE sign_offs SET body = ?, prev_hash = ?, hash = ? WHERE number = ?"
    changes = [(change, (row.body, row.prev_hash, row.hash, row.number)) for row in forged]
    tamper(path, *changes, ("UPDATE head SET hash = ?", (before,)))


def told(path: Path) -> list[str]:
    return [str(problem) for problem in Record(str(path)).verify().problems]


def sound(path: Path) -> list[int]:
    return [row.number for row in Record(str(path)).rows()]


def test_taking_the_guards_off_and_on_again_changes_nothing(path: Path) -> None:
    tamper(path)
    assert told(path) == [] and sound(path) == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("number", range(1, ROWS + 1))
@pytest.mark.parametrize(
    "change",
    [
        "body = replace(body, 'batch', 'Batch')",
        "body = body || ' '",
        "body = ''",
        "body = 0",
        "body = x'00ff'",
        "body = CAST(body AS BLOB)",
        "hash = iif(hash LIKE 'f%', 'e', 'f') || substr(hash, 2)",
        "hash = upper(hash)",
        "prev_hash = iif(prev_hash LIKE 'f%', 'e', 'f') || substr(prev_hash, 2)",
        "prev_hash = 5",
    ],
)
def test_an_altered_row(path: Path, number: int, change: str) -> None:
    before = Record(str(path)).rows()
    db = sqlite3.connect(path)
    text = "SELECT typeof(body), body, prev_hash, hash FROM sign_offs WHERE number = ?"
    was = db.execute(text, (number,)).fetchone()
    db.close()
    tamper(path, f"UPDATE sign_offs SET {change} WHERE number = {number}")
    db = sqlite3.connect(path)
    now = db.execute(text, (number,)).fetchone()
    db.close()
    assert was != now
    found = Record(str(path)).verify()
    assert not found.ok
    assert {p.number for p in found.problems} - {None} == {number}
    assert found.sound == tuple(row for row in before if row.number != number)
    with pytest.raises(RecordError, match=f"row {number} was altered"):
        Record(str(path)).row(number)


@pytest.mark.parametrize("number", range(1, ROWS))
def test_a_missing_row(path: Path, number: int) -> None:
    tamper(path, f"DELETE FROM sign_offs WHERE number = {number}")
    assert told(path) == [f"row {number} is missing"]
    assert sound(path) == [n for n in range(1, ROWS + 1) if n != number]


def test_several_missing_rows(path: Path) -> None:
    tamper(path, "DELETE FROM sign_offs WHERE number IN (2, 3, 4)")
    assert told(path) == ["row 2 to row 4 are missing"]


def test_missing_last_rows_are_counted_in_the_record(path: Path) -> None:
    os.unlink(f"{path}.head")
    tamper(path, "DELETE FROM sign_offs WHERE number > 4")
    assert told(path) == ["row 5 is missing, and all behind it: the record counts 6 rows"]


def test_missing_last_rows_are_known_to_the_note(path: Path) -> None:
    """A forger who sets the count back as well."""
    last = Record(str(path)).row(4).hash
    tamper(
        path,
        "DELETE FROM sign_offs WHERE number > 4",
        ("UPDATE head SET count = 4, hash = ?", (last,)),
    )
    (line,) = told(path)
    assert line == "row 5 is missing, and all behind it: the head note beside it knows 6 rows"
    assert sound(path) == [1, 2, 3, 4]
    with pytest.raises(RecordError, match="row 5 is missing"):
        Record(str(path)).append(entry())


def test_an_older_copy_put_back(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    record = Record(str(path))
    record.append(entry())
    shutil.copy(path, tmp_path / "older")
    record.append(entry())
    os.replace(tmp_path / "older", path)
    assert told(path) == [
        "row 2 is missing, and all behind it: the head note beside it knows 2 rows"
    ]
    with pytest.raises(RecordError, match="nothing was recorded"):
        record.append(entry())


@pytest.mark.parametrize("way", ["removed", "emptied"])
def test_a_record_that_is_gone(path: Path, way: str) -> None:
    path.unlink() if way == "removed" else path.write_bytes(b"")
    assert told(path) == [
        "row 1 is missing, and all behind it: the head note beside it knows 6 rows"
    ]
    with pytest.raises(RecordError, match="row 1 is missing"):
        Record(str(path)).append(entry())


def test_what_cannot_be_told_is_said(path: Path) -> None:
    """No note, and the last rows cut off with care: only a remark is left."""
    os.unlink(f"{path}.head")
    found = Record(str(path)).verify()
    assert found.ok and "no head note" in found.remarks[0]
    Record(str(path), clock=ticking(LATER)).append(entry())
    assert Record(str(path)).verify().remarks == ()


@pytest.mark.parametrize("text", ["", "{}", "[]", "\x00", '{"rows": -1, "hash": "0"}', "{" * 4000])
def test_a_note_that_cannot_be_read_is_a_remark(path: Path, text: str) -> None:
    Path(f"{path}.head").write_text(text, encoding="utf-8")
    found = Record(str(path)).verify()
    assert found.ok and "head note is of no use" in found.remarks[0]
    Record(str(path), clock=ticking(LATER)).append(entry())
    assert Record(str(path)).verify().remarks == ()


def test_swapped_rows(path: Path) -> None:
    tamper(
        path,
        "UPDATE sign_offs SET number = 99 WHERE number = 3",
        "UPDATE sign_offs SET number = 3 WHERE number = 4",
        "UPDATE sign_offs SET number = 4 WHERE number = 99",
    )
    assert [line[:40] for line in told(path)] == [
        "row 3 was put there by another hand (it ",
        "row 4 was put there by another hand (it ",
    ]
    assert "it says that it is row 4" in told(path)[0]
    assert sound(path) == [1, 2, 5, 6]


def test_rows_moved_up_to_hide_a_gap(path: Path) -> None:
    tamper(
        path,
        "DELETE FROM sign_offs WHERE number = 3",
        "UPDATE sign_offs SET number = number - 1 WHERE number > 3",
        "UPDATE head SET count = 5",
    )
    numbers = {problem.number for problem in Record(str(path)).verify().problems}
    assert {3, 4, 5} <= numbers and sound(path) == [1, 2]


def test_a_row_replaced_together_with_its_hash(path: Path) -> None:
    old = Record(str(path)).row(3)
    new = new_row(3, old.when_utc, entry("other"), old.prev_hash)
    change = "UPDATE sign_offs SET body = ?, hash = ? WHERE number = 3"
    tamper(path, (change, (new.body, new.hash)))
    assert told(path) == ["row 4 does not follow row 3: one of the two was replaced"]
    assert sound(path) == [1, 2, 5, 6]


def test_everything_written_anew_shows_by_the_note(path: Path) -> None:
    rewritten(path, 2, "another batch")
    assert told(path) == ["row 6 is not the one that the head note saw: rows were written anew"]


def test_what_only_a_printed_seal_can_show(path: Path) -> None:
    """A forger who writes anew and takes the note away is caught by a seal on paper alone."""
    seal = Record(str(path)).row(4).seal
    rewritten(path, 2, "another batch")
    os.unlink(f"{path}.head")
    assert Record(str(path)).verify().ok
    assert Record(str(path)).row(4).seal != seal and seal.startswith("4/")


def test_rows_put_in(path: Path) -> None:
    last = Record(str(path)).row(6)
    extra = new_row(7, last.when_utc, entry("smuggled"), last.hash)
    insert = "INSERT INTO sign_offs VALUES (?, ?, ?, ?)"
    tamper(path, (insert, (7, extra.body, extra.prev_hash, extra.hash)))
    assert told(path) == ["the record counts 6 rows, but ends with another"]
    tamper(path, "DELETE FROM sign_offs WHERE number = 7")
    for number in (0, -3):
        tamper(path, (insert, (number, "{}", "0" * 64, row_hash("0" * 64, "{}"))))
        assert any(line.startswith(f"row {number} was put") for line in told(path))
        tamper(path, f"DELETE FROM sign_offs WHERE number = {number}")
    assert told(path) == []


def test_a_row_of_good_hash_that_the_program_would_never_write(path: Path) -> None:
    """An approval without a reason of what does not fit, put in with a proper hash."""
    last = Record(str(path)).row(5)
    row = Record(str(path)).row(6)
    for old, new in (
        ('"verdict":"fits"', '"verdict":"outside"'),
        ('"by":', '"by":"x","by":'),
        ('"stage":"plate"', '"stage":"moon"'),
        ('"number":6', '"number":6.0'),
        ('"note":"batch 5"', '"note":["batch"]'),
    ):
        body = row.body.replace(old, new)
        assert body != row.body
        own = row_hash(last.hash, body)
        tamper(
            path,
            ("UPDATE sign_offs SET body = ?, hash = ? WHERE number = 6", (body, own)),
            ("UPDATE head SET hash = ?", (own,)),
        )
        assert any("row 6 was put there by another hand" in line for line in told(path))
        assert sound(path) == [1, 2, 3, 4, 5]


@pytest.mark.parametrize("name", [name for name in SCHEMA if name not in ("head", "sign_offs")])
def test_guards_that_were_taken_away(path: Path, name: str) -> None:
    db = sqlite3.connect(path)
    db.execute(f"DROP TRIGGER {name}")
    db.commit()
    db.close()
    assert told(path) == [f"{name}, which guards the rows, was taken out"]
    with pytest.raises(RecordError, match="opened read-only"):
        Record(str(path)).append(entry())


def test_a_trigger_of_another_hand(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TRIGGER sly AFTER INSERT ON sign_offs BEGIN SELECT 1; END")
    db.commit()
    db.close()
    assert told(path) == ["sly was changed or put in by another hand"]


def test_a_clock_that_was_set_back_is_a_remark(tmp_path: Path) -> None:
    record = Record(str(tmp_path / "r"), clock=ticking(step_s=-60.0))
    record.append(entry())
    record.append(entry())
    found = record.verify()
    assert found.ok and found.remarks[0].startswith("row 2 bears an earlier time than row 1")


def test_an_unsound_record_takes_no_rows_and_keeps_the_others(path: Path) -> None:
    live = Record(str(path))
    live.append(entry())  # has looked at all rows once
    tamper(path, "UPDATE sign_offs SET body = body || ' ' WHERE number = 2")
    with pytest.raises(RecordError) as caught:
        Record(str(path)).append(entry())
    assert "row 2 was altered" in caught.value.message and "export" in caught.value.message
    assert Record(str(path)).verify().count == ROWS + 1


def test_changes_behind_a_live_record_are_seen(path: Path) -> None:
    """What was proven once is not read again, but its last row is, and all that is new."""
    live = Record(str(path))
    live.append(entry())
    tamper(path, "UPDATE sign_offs SET body = body || ' ' WHERE number = 7")
    with pytest.raises(RecordError, match="row 7 was altered"):
        live.append(entry())


# --- a newer version, and damage to the file --------------------------------------------------


def test_a_record_of_a_newer_version_is_read_only(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    db.execute("CREATE TABLE pictures (x)")
    db.commit()
    db.close()
    found = Record(str(path)).verify()
    assert found.ok and len(found.sound) == ROWS
    assert found.read_only is not None and "newer version (record version 2" in found.read_only
    with pytest.raises(RecordError, match="newer version") as caught:
        Record(str(path)).append(entry())
    assert "\n" not in caught.value.message
    assert Record(str(path)).verify().count == ROWS


def test_keys_of_a_newer_version_are_passed_over(path: Path) -> None:
    row = Record(str(path)).row(6)
    body = row.body.replace('"when_utc"', '"wetness":3,"when_utc"')
    own = row_hash(row.prev_hash, body)
    tamper(
        path,
        ("UPDATE sign_offs SET body = ?, hash = ? WHERE number = 6", (body, own)),
        ("UPDATE head SET hash = ?", (own,)),
    )
    os.unlink(f"{path}.head")
    assert Record(str(path)).row(6).entry == row.entry


@pytest.mark.parametrize("damage", [b"\x00" * 4096, b"\xff" * 4096])
def test_a_damaged_page_loses_its_own_rows_only(tmp_path: Path, damage: bytes) -> None:
    path = tmp_path / "r.sqlite"
    record = Record(str(path), clock=ticking())
    for number in range(40):
        record.append(entry(f"float {number}", note=f"mark{number:03d} " + "x" * 500))
    data = bytearray(path.read_bytes())
    start = data.index(b"mark020") // 4096 * 4096
    lost = {n for n in range(40) if f"mark{n:03d}".encode() in data[start : start + 4096]}
    data[start : start + 4096] = damage
    path.write_bytes(data)
    found = Record(str(path)).verify()
    assert not found.ok and any("damaged" in str(problem) for problem in found.problems)
    kept = {row.number - 1 for row in found.sound}
    assert 0 < len(lost) < 10 and kept == set(range(40)) - lost
    assert any(p.number in {n + 1 for n in lost} for p in found.problems)
    with pytest.raises(RecordError, match="nothing was recorded"):
        Record(str(path)).append(entry())


def test_a_record_cut_in_half(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    record = Record(str(path), clock=ticking())
    for number in range(40):
        record.append(entry(f"float {number}", note="x" * 500))
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    found = Record(str(path)).verify()
    assert not found.ok and 0 < len(found.sound) < 40
    assert [row.number for row in found.sound] == list(range(1, len(found.sound) + 1))


def test_random_damage_never_passes_and_never_crashes(tmp_path: Path) -> None:
    """A byte anywhere: found, or it was not part of any row."""
    path = tmp_path / "r.sqlite"
    record = Record(str(path), clock=ticking())
    for number in range(12):
        record.append(entry(f"float {number}"))
    rows, data = record.rows(), path.read_bytes()
    chance = random.Random(5)
    for _ in range(150):
        hurt = bytearray(data)
        hurt[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        path.write_bytes(hurt)
        try:
            found = Record(str(path)).verify()
        except RecordError as error:
            assert "\n" not in error.message
            continue
        assert set(found.sound) <= set(rows)
        assert not found.ok or found.sound == rows
