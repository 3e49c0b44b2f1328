"""Unsaved work is offered when its process is gone, and only then."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from tests.job.values import example_job
from viewer.job import Job, Unsaved, forget_unsaved, keep_unsaved, read_job, unsaved_jobs, write_job
from viewer.job.job_file import job_to_text

ROOT = Path(__file__).resolve().parents[2]
OTHER = """
import sys
from dataclasses import replace
from viewer.job import forget_unsaved, keep_unsaved, read_job, unsaved_jobs
job = read_job(sys.argv[1])
for line in sys.stdin:
    word, _, value = line.strip().partition(" ")
    if word == "keep":
        print(repr(keep_unsaved(replace(job, notes=value))), flush=True)
    elif word == "list":
        print([found.job.notes for found in unsaved_jobs()], flush=True)
    elif word == "forget":
        print(forget_unsaved(), flush=True)
"""


class Process:
    """Another window at work."""

    def __init__(self, job_path: Path) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", OTHER, str(job_path)],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def ask(self, line: str) -> str:
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(line + "\n")
        self._process.stdin.flush()
        return self._process.stdout.readline().strip()

    def end(self, kill: bool = True) -> None:
        if kill:
            self._process.kill()
        elif self._process.stdin is not None:
            self._process.stdin.close()
        self._process.wait(timeout=30)
        for stream in (self._process.stdin, self._process.stdout):
            if stream is not None and not stream.closed:
                stream.close()


@contextmanager
def other_process(folder: Path) -> Iterator[Process]:
    path = folder / "base.brim.toml"
    write_job(example_job("/harbour/crest.svg"), str(path))
    process = Process(path)
    try:
        yield process
    finally:
        process.end()


def kept(home: Path) -> list[str]:
    return sorted(path.name for path in (home / "unsaved").iterdir())


def notes(found: tuple[Unsaved, ...]) -> list[str]:
    return [unsaved.job.notes for unsaved in found if unsaved.job is not None]


def orphan(home: Path, name: str, job: Job, job_path: str = "") -> Path:
    """Work as a process leaves it that ended long ago."""
    folder = home / "unsaved"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.brim.toml"
    text = job_to_text(job, str(folder), {"unsaved": {"job_path": job_path}})
    path.write_text(text, encoding="utf-8")
    return path


def test_nothing_kept_is_nothing_offered(home: Path) -> None:
    assert unsaved_jobs() == ()
    forget_unsaved()
    assert not home.exists()


def test_own_work_is_kept_in_one_file_and_not_offered(home: Path) -> None:
    for scale in (1.0, 2.0):
        assert keep_unsaved(example_job(scale=scale)) == ""
    names = kept(home)
    assert len(names) == 2 and all(name.startswith(f"{os.getpid()}-") for name in names)
    assert unsaved_jobs() == ()
    forget_unsaved()
    assert kept(home) == []
    assert keep_unsaved(example_job()) == "" and len(kept(home)) == 2


def test_offered_only_when_its_process_is_gone(home: Path, tmp_path: Path) -> None:
    with other_process(tmp_path) as other:
        assert other.ask("keep theirs") == "''"
        assert unsaved_jobs() == ()
        other.end(kill=True)
        (found,) = unsaved_jobs()
        assert found.job == example_job("/harbour/crest.svg", notes="theirs")
        assert found.problem == "" and found.job_path == ""
        assert abs(found.kept_at_s - time.time()) < 60.0
        assert unsaved_jobs() == (found,), "looking takes nothing away"
        forget_unsaved(found)
        assert unsaved_jobs() == () and kept(home) == []
        forget_unsaved(found)


def test_two_processes_at_once(home: Path, tmp_path: Path) -> None:
    with other_process(tmp_path) as one, other_process(tmp_path) as two:
        assert one.ask("keep first") == two.ask("keep second") == "''"
        assert keep_unsaved(example_job(notes="ours")) == ""
        assert one.ask("list") == two.ask("list") == "[]"
        assert unsaved_jobs() == ()
        assert len(kept(home)) == 6
        one.end(kill=True)
        assert two.ask("list") == "['first']" and notes(unsaved_jobs()) == ["first"]
        assert two.ask("keep second again") == "''"
        two.end(kill=True)
        assert notes(unsaved_jobs()) == ["second again", "first"], "newest first"


def test_a_process_that_ends_well_leaves_nothing(home: Path, tmp_path: Path) -> None:
    with other_process(tmp_path) as other:
        other.ask("keep theirs")
        assert other.ask("forget") == "None"
        other.end(kill=False)
    assert unsaved_jobs() == () and kept(home) == []


def test_a_process_that_just_stops_leaves_its_work(home: Path, tmp_path: Path) -> None:
    with other_process(tmp_path) as other:
        other.ask("keep theirs")
        other.end(kill=False)
    assert notes(unsaved_jobs()) == ["theirs"]


def test_a_child_does_not_hold_its_parents_mark(home: Path, tmp_path: Path) -> None:
    if not hasattr(os, "fork"):
        pytest.skip("no fork here")
    path = tmp_path / "base.brim.toml"
    write_job(example_job("/harbour/crest.svg"), str(path))
    script = (
        "import os, sys, time\n"
        "from viewer.job import keep_unsaved, read_job\n"
        "assert keep_unsaved(read_job(sys.argv[1])) == ''\n"
        "child = os.fork()\n"
        "if child == 0:\n"
        "    time.sleep(60)\n"
        "print(child, flush=True)\n"
        "os._exit(0)\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        child = int(process.stdout.readline())
        try:
            process.wait(timeout=30)
            assert len(unsaved_jobs()) == 1
        finally:
            os.kill(child, 9)


def test_what_it_was_saved_as_comes_along(home: Path, tmp_path: Path) -> None:
    odd = str(tmp_path / 'mug "blue"\r\n.brim.toml')
    assert keep_unsaved(example_job(notes="two\nlines"), odd) == ""
    (path,) = (home / "unsaved").glob("*.brim.toml")
    path.rename(path.with_name("1-1.brim.toml"))
    (found,) = unsaved_jobs()
    assert found.job_path == odd and notes((found,)) == ["two\nlines"]


def test_a_job_file_whose_name_is_no_text(home: Path) -> None:
    assert keep_unsaved(example_job(), "/quay/m\udcff.brim.toml") == ""
    (path,) = (home / "unsaved").glob("*.brim.toml")
    path.rename(path.with_name("1-1.brim.toml"))
    assert [found.job_path for found in unsaved_jobs()] == [""]


def test_taking_work_up_again(home: Path) -> None:
    orphan(home, "1-1", example_job(notes="theirs"), "/quay/mug.brim.toml")
    (found,) = unsaved_jobs()
    assert found.job is not None
    assert keep_unsaved(found.job, found.job_path) == ""
    forget_unsaved(found)
    assert unsaved_jobs() == () and len(kept(home)) == 2


def test_a_file_that_cannot_be_read_is_told_and_stays(home: Path) -> None:
    good = orphan(home, "1-1", example_job(notes="good"))
    for name, content in (("2-2", b"cut ="), ("3-3", b"\xff"), ("4-4", b"unsaved = 5")):
        (home / "unsaved" / f"{name}.brim.toml").write_bytes(content)
    os.utime(good, (1.0, 1.0))
    found = unsaved_jobs()
    assert len(found) == 4 and found[-1].job is not None
    for unsaved in found[:-1]:
        assert unsaved.job is None and unsaved.problem.startswith(f"{unsaved.path}: ")
        assert unsaved.problem.isprintable() and os.path.exists(unsaved.path)


def test_failing_while_keeping_leaves_the_state_before(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert keep_unsaved(example_job(notes="before")) == ""

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", fail)
        notice = keep_unsaved(example_job(notes="after"))
    assert notice.startswith("unsaved work is not kept: ") and "No space left" in notice
    names = kept(home)
    assert len(names) == 2
    path = next(p for p in (home / "unsaved").iterdir() if p.name.endswith(".brim.toml"))
    assert 'notes = "before"' in path.read_text(encoding="utf-8")


def test_places_that_cannot_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_bytes(b"")
    for place in (str(tmp_path / "file" / "home"), "nowhere"):
        monkeypatch.setenv("BRIMCHECK_CONFIG", place)
        assert keep_unsaved(example_job()).startswith("unsaved work is not kept: ")
        assert unsaved_jobs() == ()


def test_work_that_no_file_can_hold(home: Path) -> None:
    notice = keep_unsaved(example_job(notes="\ud800"))
    assert "the notes hold bytes that are no text" in notice and notice.isprintable()


def test_tidying_up(home: Path, tmp_path: Path) -> None:
    folder = home / "unsaved"
    folder.mkdir(parents=True)
    (folder / "1-1.running").write_bytes(b"")
    old, new = folder / ".brimcheck-old.tmp", folder / ".brimcheck-new.tmp"
    for path in (old, new):
        path.write_bytes(b"half")
    os.utime(old, (1.0, 1.0))
    (folder / "somebody else's").write_bytes(b"")
    with other_process(tmp_path) as other:
        other.ask("keep theirs")
        (mark,) = (p for p in folder.glob("*.running") if p.name != "1-1.running")
        # Its work has been removed by hand; the process goes on all the same.
        mark.with_name(mark.name.replace(".running", ".brim.toml")).unlink()
        assert unsaved_jobs() == ()
        assert kept(home) == [new.name, mark.name, "somebody else's"]
        # And even without its mark it gets one again with the next change.
        mark.unlink()
        assert other.ask("keep more") == "''"
        assert mark.exists() and unsaved_jobs() == ()


def test_a_disk_without_locks_offers_nothing_of_others(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(37, "No locks available")

    monkeypatch.setattr("viewer.job.alive.lock", refuse)
    orphan(home, "1-1", example_job())
    (home / "unsaved" / "1-1.running").write_bytes(b"")
    assert unsaved_jobs() == ()
    assert keep_unsaved(example_job()) == "" and len(kept(home)) == 4


def test_an_unsaved_file_is_no_secret(home: Path) -> None:
    """Once its own table is taken out it is a job file like any other."""
    path = orphan(home, "1-1", example_job())
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[unsaved]")], encoding="utf-8")
    assert read_job(str(path)) == replace(example_job())
