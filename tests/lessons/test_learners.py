"""Progress per learner: counted, kept apart, and never lost, whatever is on the disk."""

from __future__ import annotations

import datetime
import os
import signal
import stat
import subprocess
import sys
import threading
import time
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from viewer.errors import UsageError
from viewer.lessons import learners
from viewer.lessons.learners import (
    LONGEST_NAME,
    LessonProgress,
    known_learners,
    learners_folder,
    load_progress,
    plain_name,
    record_answer,
)

ROOT = Path(__file__).resolve().parents[2]
DAY = datetime.date(2025, 6, 30)
LATER = datetime.date(2025, 7, 4)


def files() -> list[Path]:
    folder = Path(learners_folder())
    if not folder.exists():
        return []
    return sorted(path for path in folder.iterdir() if path.name != learners._LOCK)


def the_file() -> Path:
    (path,) = files()
    return path


# --- counting -------------------------------------------------------------------------


def test_a_new_learner_has_done_nothing_and_leaves_nothing_behind() -> None:
    progress = load_progress("Mika")
    assert (progress.learner, progress.done_count, progress.notice) == ("Mika", 0, "")
    assert progress.of("square") == LessonProgress() and not progress.is_done("square")
    assert known_learners() == () and not Path(learners_folder()).exists()


def test_answers_are_counted_and_kept() -> None:
    record_answer("Mika", "square", False, False, DAY)
    record_answer("Mika", "square", True, True, DAY)
    told = record_answer("Mika", "square", True, True, LATER)
    record_answer("Mika", "margin", False, False, LATER)
    progress = load_progress("Mika")
    assert progress.of("square") == LessonProgress(DAY, right=2, wrong=1, finished=2)
    assert told.of("square") == progress.of("square")
    assert progress.of("margin") == LessonProgress(None, right=0, wrong=1, finished=0)
    assert progress.is_done("square") and not progress.is_done("margin")
    assert progress.done_count == 1 and progress.notice == ""
    assert known_learners() == ("Mika",)


def test_a_lesson_may_be_called_anything() -> None:
    for key in ("with.dot", "with blank", "\u00fcber", '"quoted"', ""):
        record_answer("Mika", key, True, True, DAY)
    assert load_progress("Mika").done_count == 5


# --- names ----------------------------------------------------------------------------

NAMES = (
    "Mika",
    "Mik\u00e4",
    "M ika",
    "a/b",
    "a\\b",
    "a_b",
    "a-b",
    "..",
    ".",
    "...",
    "con",
    "NUL.txt",
    "COM1",
    "\u00c4\u00d6\u00dc \u00df",
    "\u041b\u0435\u043d\u0430",
    "\u6771",
    "\u6771\u897f",
    "~",
    "*?<>|:",
    "-o",
    "$HOME",
    "x" * 200,
    "x" * 199 + "y",
    "\u00e9" * 200,
    "name.toml",
    "a.set-aside-1",
)


def test_names_are_told_apart_and_safe() -> None:
    for index, name in enumerate(NAMES):
        record_answer(name, f"lesson {index}", True, True, DAY)
    for index, name in enumerate(NAMES):
        progress = load_progress(name)
        assert progress.learner == name and set(progress.lessons) == {f"lesson {index}"}
    assert sorted(known_learners()) == sorted(NAMES)
    assert len(files()) == len(NAMES)
    for path in files():
        stem = path.name.removesuffix(".toml")
        assert path.parent == Path(learners_folder())
        assert stem.isascii() and stem.replace("-", "").isalnum() and not stem.startswith("-")
        assert len(path.name) <= 60 and "." not in stem


def test_the_same_name_typed_otherwise_is_the_same_learner() -> None:
    record_answer("J\u00fcrgen  Ohm ", "square", True, True, DAY)
    for typed in ("j\u00fcrgen ohm", " J\u00dcRGEN\tOHM", "Ju\u0308rgen Ohm"):
        assert load_progress(typed).is_done("square")
        assert load_progress(typed).learner == "J\u00fcrgen Ohm"
    assert known_learners() == ("J\u00fcrgen Ohm",)


@pytest.mark.parametrize("name", ["", "   ", "\t\n", "\u200b", "\u200b \u2060"])
def test_an_empty_name_is_one_clear_line(name: str) -> None:
    for call in (
        lambda: load_progress(name),
        lambda: record_answer(name, "square", True, True, DAY),
    ):
        with pytest.raises(UsageError, match="needs a name"):
            call()
    assert files() == []


def test_names_that_cannot_be_kept() -> None:
    with pytest.raises(UsageError, match=f"201 characters; at most {LONGEST_NAME}"):
        load_progress("x" * 201)
    for name in ("a\x00b", "a\x1b[2J", "\udcff"):
        with pytest.raises(UsageError, match="cannot be written down"):
            record_answer("M" + name, "square", True, True, DAY)
    assert files() == []


@hypothesis_settings(deadline=None, max_examples=60)
@given(st.text(min_size=1, max_size=30), st.text(min_size=1, max_size=30))
def test_any_two_names(one: str, other: str) -> None:
    try:
        a, b = plain_name(one), plain_name(other)
    except UsageError:
        return
    assert plain_name(a) == a
    is_same = learners._path_of(a) == learners._path_of(b)
    assert is_same == (learners_key(a) == learners_key(b))


def learners_key(name: str) -> str:
    import unicodedata

    return unicodedata.normalize("NFC", name.casefold())


# --- two at once ----------------------------------------------------------------------

RECORDER = """
import datetime, sys
from viewer.lessons.learners import record_answer
for n in range(int(sys.argv[1])):
    told = record_answer("Mika", sys.argv[2], n % 3 > 0, True, datetime.date(2025, 6, 30))
    assert told.notice == "", told.notice
    print(n, flush=True)
"""


def recorder(count: int, key: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", RECORDER, str(count), key]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)


def test_two_processes_lose_nothing_of_each_other() -> None:
    running = [recorder(24, key) for key in ("square", "square", "margin")]
    for process in running:
        process.communicate(timeout=60)
        assert process.returncode == 0
    progress = load_progress("Mika")
    assert progress.of("square") == LessonProgress(DAY, right=32, wrong=16, finished=48)
    assert progress.of("margin") == LessonProgress(DAY, right=16, wrong=8, finished=24)


def test_without_the_lock_they_would(monkeypatch: pytest.MonkeyPatch) -> None:
    """The test before can fail: two that read before either writes lose an answer."""
    both_have_read = threading.Barrier(2, timeout=10)
    read = learners._read

    def slow(path: str, learner: str) -> object:
        found = read(path, learner)
        both_have_read.wait()
        return found

    monkeypatch.setattr(learners, "_read", slow)
    os.makedirs(learners_folder())
    work = [
        threading.Thread(target=learners._record, args=("Mika", "square", True, True, DAY))
        for _ in range(2)
    ]
    for thread in work:
        thread.start()
    for thread in work:
        thread.join()
    monkeypatch.setattr(learners, "_read", read)
    assert load_progress("Mika").of("square").right == 1


def test_threads_of_one_window_lose_nothing() -> None:
    def work() -> None:
        for _ in range(8):
            record_answer("Mika", "square", True, False, DAY)

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert load_progress("Mika").of("square").right == 32


def test_a_window_that_does_not_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """One that hangs while it records stops no lesson in another."""
    record_answer("Mika", "square", True, True, DAY)
    monkeypatch.setattr(learners, "_PATIENCE_S", 0.2)
    hold = (
        "import sys, os; from viewer.lessons import learners as l\n"
        "with l._alone(l.learners_folder()): print('held', flush=True); sys.stdin.read()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", hold], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert process.stdout is not None and process.stdout.readline().strip() == b"held"
    told = record_answer("Mika", "square", True, True, DAY)
    assert told.of("square").finished == 2 and "another window" in told.notice
    process.communicate(b"", timeout=30)
    assert load_progress("Mika").of("square").finished == 1
    assert record_answer("Mika", "square", True, True, DAY).notice == ""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_killed_in_the_middle_nothing_is_torn() -> None:
    told = 0
    for delay_s in (0.0, 0.004, 0.011, 0.017, 0.023):
        process = recorder(100_000, "square")
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(delay_s)
        process.kill()
        rest = process.stdout.read()
        process.wait(timeout=30)
        told += 1 + len(rest.splitlines())
        progress = load_progress("Mika")
        done = progress.of("square")
        # Everything that was told is there; at most one more had been written each time.
        assert progress.notice == "" and told <= done.finished <= told + 1
        told = done.finished
    assert record_answer("Mika", "square", True, True, DAY).of("square").finished == told + 1


# --- bad files ------------------------------------------------------------------------

GOOD = "[lessons.margin]\nfirst_finished = 2025-06-30\nright = 2\nwrong = 1\nfinished = 1\n"
HEAD = 'version = 1\nlearner = "Mika"\n'


@pytest.mark.parametrize(
    ("content", "kept"),
    [
        (b"\x00\xff\xfe nonsense", 0),
        (b"", 0),
        (b'version = 1\nlearner = "Somebody else"\n', 0),
        (b"version = 0\n", 0),
        (b'version = "1"\nlearner = "Mika"\n', 0),
        (b"version = true\n", 0),
        (b"a = [" * 5000, 0),
        (b"#" * 300_000, 0),
        (f"{HEAD}lessons = 3\n".encode(), 0),
        (f"{HEAD}{GOOD}[lessons.square]\nright = -1\nwrong = 0\nfinished = 0\n".encode(), 1),
        (f"{HEAD}{GOOD}[lessons.square]\nright = 1.5\nwrong = 0\nfinished = 0\n".encode(), 1),
        (f"{HEAD}{GOOD}[lessons.square]\nright = 1\n".encode(), 1),
        (
            f"{HEAD}{GOOD}[lessons.square]\nfirst_finished = 2025-06-30T10:00:00\nright = 1\n"
            "wrong = 0\nfinished = 1\n".encode(),
            1,
        ),
        (f"{HEAD}{GOOD}[lessons.square]\nright = 1\nwrong = 0\nfinished = 1\n".encode(), 1),
    ],
)
def test_a_corrupt_file_is_kept_aside_and_the_rest_counts(content: bytes, kept: int) -> None:
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    path.write_bytes(content)
    before = load_progress("Mika")
    assert before.notice.startswith(str(path)) and "\n" not in before.notice
    assert before.done_count == kept
    assert path.read_bytes() == content and files() == [path]  # reading changes nothing
    told = record_answer("Mika", "square", True, True, LATER)
    aside = path.with_name(path.name.replace(".toml", ".set-aside-1.toml"))
    assert aside.read_bytes() == content and f"set aside as {aside}" in told.notice
    after = load_progress("Mika")
    assert after.notice == "" and after.done_count == 1 + kept
    assert after.of("square") == LessonProgress(LATER, right=1, wrong=0, finished=1)
    assert known_learners() == ("Mika",)


def test_files_set_aside_never_replace_each_other() -> None:
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    for number in range(12):
        path.write_bytes(b"bad %d" % number)
        record_answer("Mika", "square", True, True, DAY)
    kept = {p.read_bytes() for p in files() if "set-aside" in p.name}
    assert kept == {b"bad %d" % number for number in range(12)}


def test_a_newer_file_is_left_as_it_is() -> None:
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    newer = b'version = 2\nlearner = "Mika"\nlessons = "all of them"\n'
    path.write_bytes(newer)
    for progress in (
        load_progress("Mika"),
        record_answer("Mika", "square", True, True, DAY),
    ):
        assert "newer brimcheck" in progress.notice and "left as it is" in progress.notice
    assert progress.is_done("square")  # the lesson goes on, and counts in this window
    assert path.read_bytes() == newer and files() == [path]
    assert known_learners() == ("Mika",)


def test_keys_of_others_survive() -> None:
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    path.write_text('note = "kept"\n' + path.read_text("utf-8"), "utf-8")
    record_answer("Mika", "square", True, True, DAY)
    assert tomllib.loads(path.read_text("utf-8"))["note"] == "kept"
    assert load_progress("Mika").of("square").finished == 2


def test_a_copy_under_another_name_is_nobody() -> None:
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    path.with_name("copy.toml").write_bytes(path.read_bytes())
    path.with_name("broken.toml").write_bytes(b"\xff")
    path.with_name("folder.toml").mkdir()
    assert known_learners() == ("Mika",)


def test_a_disk_that_takes_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A file where the folder should be: the lesson goes on, one line tells why."""
    (tmp_path / "blocked").write_text("a file", "utf-8")
    monkeypatch.setenv("BRIMCHECK_CONFIG", str(tmp_path / "blocked"))
    told = record_answer("Mika", "square", True, True, DAY)
    assert told.is_done("square") and told.notice.startswith("progress is not kept: ")
    assert "\n" not in told.notice and known_learners() == ()
    monkeypatch.setenv("BRIMCHECK_CONFIG", "not/whole")
    told = record_answer("Mika", "square", True, True, DAY)
    assert told.is_done("square") and "name a whole path" in told.notice
    assert "name a whole path" in load_progress("Mika").notice


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may do all")
def test_a_protected_file_is_not_replaced() -> None:
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    content = path.read_bytes()
    for mode in (stat.S_IRUSR, 0):
        path.chmod(mode)
        told = record_answer("Mika", "margin", True, True, DAY)
        assert told.is_done("margin") and "progress is not kept" in told.notice
        path.chmod(stat.S_IRUSR | stat.S_IWUSR)
        assert path.read_bytes() == content


def test_a_file_out_of_reach_is_left_alone() -> None:
    """A link to nowhere: perhaps a disk that is not there just now."""
    record_answer("Mika", "square", True, True, DAY)
    path = the_file()
    path.unlink()
    path.symlink_to(path.parent / "elsewhere" / "gone.toml")
    told = record_answer("Mika", "square", True, True, DAY)
    assert told.is_done("square") and "progress is not kept" in told.notice
    assert path.is_symlink() and files() == [path]


def test_where_it_is_kept_usually(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("BRIMCHECK_CONFIG")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    folder = learners_folder()
    assert os.path.isabs(folder) and folder.endswith(os.path.join("brimcheck", "learners"))
    if sys.platform.startswith("linux"):
        assert folder == str(tmp_path / "data" / "brimcheck" / "learners")
        record_answer("Mika", "square", True, True, DAY)
        assert stat.S_IMODE(os.stat(folder).st_mode) == 0o700
