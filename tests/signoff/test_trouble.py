"""Two programs at once, kill -9, full disks, locks, and files that are no records."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.signoff.entries import entry
from viewer.signoff import Record, RecordError, database, head_note

ROOT = Path(__file__).resolve().parents[2]
IS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0


def refused(record: Record) -> str:
    """The one line that an append ends with."""
    with pytest.raises(RecordError) as caught:
        record.append(entry())
    message = caught.value.message
    assert "\n" not in message and "nothing was recorded" in message
    return message


def start(path: Path, name: str, *more: str) -> subprocess.Popen[str]:
    """An appender in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.signoff.appender", str(path), name, *more],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )


def line_of(process: subprocess.Popen[str]) -> str:
    """The next thing that an appender says."""
    assert process.stdout is not None
    return process.stdout.readline()


def acknowledged(text: str) -> dict[int, str]:
    """Rows that an appender was told are recorded; a last line torn by the kill is none."""
    lines = [line.split() for line in text.splitlines(keepends=True) if line.endswith("\n")]
    return {int(words[0]): words[1] for words in lines if words and words[0] != "ready"}


# --- two programs, and kill -9 --------------------------------------------------------------


def test_two_programs_at_once_lose_nothing(tmp_path: Path) -> None:
    """Both begin on a record that is not there yet."""
    path = tmp_path / "r.sqlite"
    running = [start(path, name, "60") for name in ("one", "two", "three")]
    told = [acknowledged(process.communicate(timeout=120)[0]) for process in running]
    assert [process.returncode for process in running] == [0, 0, 0]
    assert [len(rows) for rows in told] == [60, 60, 60]
    together = {number: own for rows in told for number, own in rows.items()}
    found = Record(str(path)).verify()
    assert found.ok and {row.number: row.hash for row in found.sound} == together
    assert sorted(together) == list(range(1, 181))


def test_reading_while_others_write_never_sees_a_gap(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    running = [start(path, name, "80") for name in ("one", "two")]
    counts = []
    while any(process.poll() is None for process in running):
        found = Record(str(path)).verify()
        assert found.ok, found.problems
        counts.append(found.count)
    for process in running:
        process.communicate()
    assert counts == sorted(counts) and len(set(counts)) > 3
    assert Record(str(path)).verify().count == 160


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of POSIX")
def test_kill_at_any_moment_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    """Twenty times two programs are killed at moments of chance, and all goes on after."""
    path = tmp_path / "r.sqlite"
    chance = random.Random(11)
    known: dict[int, str] = {}
    for turn in range(20):
        running = [start(path, f"{turn}-{name}") for name in ("one", "two")]
        for process in running:
            assert line_of(process) == "ready\n"
        if turn % 2:  # else the first rows may be the ones that are hit
            known |= acknowledged(line_of(running[0]))
        for process in running:
            time.sleep(chance.random() * 0.1)
            process.kill()
        for process in running:
            assert process.stdout is not None
            known |= acknowledged(process.stdout.read())
            process.stdout.close()
            assert process.wait(timeout=30) != 0
        found = Record(str(path)).verify()
        assert found.ok, found.problems
        held = {row.number: row.hash for row in found.sound}
        assert known.items() <= held.items()
        assert list(held) == list(range(1, len(held) + 1))
    assert len(known) >= 10
    assert Record(str(path)).append(entry()).number == len(held) + 1
    assert Record(str(path)).verify().ok


def test_a_kill_between_row_and_note_is_a_remark(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = Record(str(tmp_path / "r"))
    record.append(entry())
    with monkeypatch.context() as patch:
        patch.setattr("viewer.signoff.record.write_note", lambda path, head: None)
        record.append(entry())
    found = record.verify()
    assert found.ok and found.remarks[0].startswith("the head note is 1 row behind")
    record.append(entry())
    assert record.verify().remarks == ()


def test_a_kill_before_the_commit_leaves_no_row(tmp_path: Path) -> None:
    path = str(tmp_path / "r")
    record = Record(path)
    record.append(entry())
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("BEGIN IMMEDIATE")
    last = record.row(1).hash
    db.execute("INSERT INTO sign_offs VALUES (2, 'half', ?, 'written')", (last,))
    db.close()
    assert record.verify().ok and record.append(entry()).number == 2


def test_what_a_killed_note_writer_left_is_cleared(tmp_path: Path) -> None:
    record = Record(str(tmp_path / "r"))
    left = tmp_path / "r.head.tmp"
    left.write_text("{", encoding="utf-8")
    row = record.append(entry())  # fresh, so perhaps another's: the note waits
    assert row.number == 1 and left.exists() and record.verify().ok
    os.utime(left, (time.time() - 60, time.time() - 60))
    record.append(entry())
    assert not left.exists() and record.verify().remarks == ()


def test_a_note_never_goes_back(tmp_path: Path) -> None:
    path = str(tmp_path / "r")
    head_note.write_note(path, head_note.Head(7, "a" * 64))
    head_note.write_note(path, head_note.Head(6, "b" * 64))
    assert head_note.read_note(path) == head_note.Head(7, "a" * 64)


def test_a_note_that_cannot_be_written_is_no_failure(tmp_path: Path) -> None:
    """The row is in the record by then: to say otherwise would be a lie."""
    (tmp_path / "r.head").mkdir()
    record = Record(str(tmp_path / "r"))
    assert record.append(entry()).number == 1
    found = record.verify()
    assert found.ok and "head note is of no use" in found.remarks[0]


# --- locks -----------------------------------------------------------------------------------


def test_a_record_that_another_program_holds(tmp_path: Path) -> None:
    path = str(tmp_path / "r")
    record = Record(path, busy_s=0.2)
    record.append(entry())
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    began_s = time.monotonic()
    message = refused(record)
    assert time.monotonic() - began_s < 5.0
    assert "another program holds this approval record (waited 0.2 s); try again" in message
    assert record.verify().count == 1  # reading goes on meanwhile
    other.execute("ROLLBACK")
    other.close()
    assert record.append(entry()).number == 2


def test_a_record_that_is_locked_altogether(tmp_path: Path) -> None:
    path = str(tmp_path / "r")
    record = Record(path, busy_s=0.1)
    record.append(entry())
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("PRAGMA locking_mode=EXCLUSIVE")
    other.execute("BEGIN EXCLUSIVE")
    other.execute("UPDATE head SET count = count WHERE 0")
    assert "another program holds" in refused(record)
    other.close()


def test_waiting_for_another_writer_is_enough(tmp_path: Path) -> None:
    path = str(tmp_path / "r")
    record = Record(path, busy_s=10.0)
    record.append(entry())
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    timer = threading.Timer(0.3, lambda: other.execute("ROLLBACK"))
    timer.start()
    assert record.append(entry()).number == 2
    timer.join()
    other.close()


# --- full disks ------------------------------------------------------------------------------


def fill(record: Record) -> tuple[int, str]:
    """Append until the disk is full: how many rows went in, and the line at the end."""
    for count in range(100_000):
        try:
            record.append(entry(f"float {count}", note="x" * 1500))
        except RecordError as error:
            assert "\n" not in error.message and "nothing was recorded" in error.message
            return count, error.message
    raise AssertionError("it never became full")


def test_a_record_that_may_not_grow(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite itself says "full" here, as it does on a full disk."""
    prepare = database._prepare
    record = Record(str(tmp_path / "r"))
    record.append(entry())

    def limited(db: sqlite3.Connection, busy_s: float) -> None:
        prepare(db, busy_s)
        db.execute("PRAGMA max_page_count = 20")

    with monkeypatch.context() as patch:
        patch.setattr(database, "_prepare", limited)
        count, message = fill(record)
        assert count > 5 and "the disk is full; make room" in message
        found = record.verify()
        assert found.ok and found.count == count + 1
    assert record.append(entry()).number == count + 2
    assert record.verify().ok


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 256 kB, where the tests may mount one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if not (IS_ROOT and shutil.which("mount") and sys.platform.startswith("linux")):
        pytest.skip("no rights to mount a small file system")
    mount = ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("a small file system cannot be mounted here")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_disk_that_is_really_full(small_disk: Path) -> None:
    record = Record(str(small_disk / "r.sqlite"))
    count, message = fill(record)
    assert count > 5 and "full" in message
    for _ in range(3):
        refused(record)
    found = record.verify()
    assert found.ok and found.count == count


@pytest.mark.parametrize("free_bytes", [0, 1000, 4096, 9000, 20_000, 50_000])
def test_a_disk_that_was_full_already(small_disk: Path, free_bytes: int) -> None:
    record = Record(str(small_disk / "r.sqlite"))
    record.append(entry())
    ballast = small_disk / "ballast"
    free = shutil.disk_usage(small_disk).free
    ballast.write_bytes(b"x" * max(free - free_bytes, 0))
    count, _ = fill(record)
    found = record.verify()
    assert found.ok and found.count == count + 1
    ballast.unlink()
    assert record.append(entry()).number == count + 2
    assert record.verify().ok


def test_a_record_that_begins_on_a_full_disk(small_disk: Path) -> None:
    (small_disk / "ballast").write_bytes(b"x" * shutil.disk_usage(small_disk).free)
    record = Record(str(small_disk / "r.sqlite"))
    refused(record)
    (small_disk / "ballast").unlink()
    assert record.append(entry()).number == 1 and record.verify().ok


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (sqlite3.OperationalError("database or disk is full"), "the disk is full"),
        (sqlite3.OperationalError("database is locked"), "another program holds"),
        (sqlite3.OperationalError("something new"), "cannot be opened for writing (something new)"),
        (OSError(5, "Input/output error"), "Input/output error"),
    ],
)
def test_failures_without_a_code_are_told_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception, told: str
) -> None:
    record = Record(str(tmp_path / "r"))
    record.append(entry())

    def fail(*_: object) -> None:
        raise error

    with monkeypatch.context() as patch:
        patch.setattr(database, "_prepare", fail)
        assert told in refused(record)
    assert record.verify().count == 1


# --- places that cannot be written, and files that are no records ---------------------------


@pytest.fixture
def read_only(tmp_path: Path) -> Iterator[Path]:
    """A folder with a record of three rows in it that nobody can write to."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    mounted = False
    if IS_ROOT:  # rights mean nothing to root: the file system has to refuse
        mount = ["mount", "-t", "tmpfs", "tmpfs", str(folder)]
        if not sys.platform.startswith("linux") or subprocess.run(mount, check=False).returncode:
            pytest.skip("nothing is read-only to root here")
        mounted = True
    record = Record(str(folder / "r.sqlite"))
    for _ in range(2):
        record.append(entry())
    # Rows that are in the log alone, as after a kill: copied while another reads.
    holder = sqlite3.connect(record.path)
    holder.execute("SELECT count(*) FROM sign_offs").fetchone()
    record.append(entry())
    for suffix in ("", "-wal", ".head"):
        shutil.copy(f"{record.path}{suffix}", folder / f"log.sqlite{suffix}")
    holder.close()
    Record(record.path).append(entry())
    if mounted:
        subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    else:
        folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
    yield folder
    if mounted:
        subprocess.run(["umount", "-l", str(folder)], check=True)
    else:
        folder.chmod(stat.S_IRWXU)


def test_a_read_only_folder_is_read(read_only: Path) -> None:
    for name, count in (("r.sqlite", 4), ("log.sqlite", 3)):
        record = Record(str(read_only / name))
        found = record.verify()
        assert found.ok and found.count == count
        assert "cannot be opened for writing" in refused(record)
    with pytest.raises(RecordError, match="cannot be opened for writing"):
        Record(str(read_only / "new.sqlite")).append(entry())


@pytest.mark.skipif(IS_ROOT or os.name == "nt", reason="rights mean nothing to root")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "r"
    Record(str(path)).append(entry())
    path.chmod(0)
    with pytest.raises(RecordError, match="may not be read"):
        Record(str(path)).verify()


@pytest.mark.parametrize("action", ["append", "verify"])
def test_what_is_no_record(tmp_path: Path, action: str) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    text = tmp_path / "notes.txt"
    text.write_text("floats: 200, whistles: 150\n" * 50, encoding="utf-8")
    other = tmp_path / "other.sqlite"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE sign_offs (number, body, prev_hash, hash)")
    db.commit()
    db.close()
    wrong = {
        folder: "is a folder",
        text: "not an approval record",
        other: "not an approval record",
        text / "r": "r: ",
    }
    if sys.platform.startswith("linux"):
        wrong[Path("/dev/null")] = "no ordinary file"
    if action == "append":
        wrong[tmp_path / "gone" / "r"] = "there is no folder"
    for path, problem in wrong.items():
        before = path.read_bytes() if path.is_file() else None
        record = Record(str(path))
        with pytest.raises(RecordError) as caught:
            record.append(entry()) if action == "append" else record.verify()
        assert problem in caught.value.message and "\n" not in caught.value.message
        assert before is None or path.read_bytes() == before
