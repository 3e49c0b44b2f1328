"""A watch tells once for each new content, when whoever writes it has finished."""

from __future__ import annotations

import os
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from viewer.job import FileWatch, look_at


class Desk:
    """One file and a clock, both set by hand."""

    def __init__(self) -> None:
        self.now_s = 100.0
        self.file: SimpleNamespace | None = self.made(1, 50, 10)

    @staticmethod
    def made(inode: int, size: int, mtime: int) -> SimpleNamespace:
        return SimpleNamespace(st_dev=1, st_ino=inode, st_size=size, st_mtime_ns=mtime)

    def stat(self, path: str) -> Any:
        assert path == "crest.svg"
        if self.file is None:
            raise FileNotFoundError(2, "No such file or directory")
        return self.file

    def watch(self, **more: Any) -> FileWatch:
        return FileWatch("crest.svg", clock=lambda: self.now_s, stat=self.stat, **more)

    def run(self, watch: FileWatch, seconds: float) -> list[float]:
        """Poll every 0.05 s; the times, from now on, at which it told of a change."""
        told = []
        for tick in range(round(seconds / 0.05)):
            if watch.poll():
                told.append(round(tick * 0.05, 2))
            self.now_s += 0.05
        return told


@pytest.fixture
def desk() -> Desk:
    return Desk()


def test_a_file_that_stays_is_never_told(desk: Desk) -> None:
    assert desk.run(desk.watch(), 20.0) == []


def test_a_new_content_is_told_once_after_it_has_been_still(desk: Desk) -> None:
    watch = desk.watch()
    desk.file = desk.made(1, 60, 20)
    (told,) = desk.run(watch, 10.0)
    assert told == pytest.approx(0.3, abs=0.06)
    desk.file = desk.made(1, 60, 21)
    assert len(desk.run(watch, 10.0)) == 1


@pytest.mark.parametrize("changed", [(2, 50, 10), (1, 51, 10), (1, 50, 11), (1, 50, 9)])
def test_any_sign_of_a_change_counts(desk: Desk, changed: tuple[int, int, int]) -> None:
    watch = desk.watch()
    desk.file = desk.made(*changed)
    assert len(desk.run(watch, 2.0)) == 1


def test_written_in_two_halves(desk: Desk) -> None:
    watch = desk.watch()
    desk.file = desk.made(1, 20, 20)
    assert desk.run(watch, 0.25) == []
    desk.file = desk.made(1, 40, 21)
    (told,) = desk.run(watch, 5.0)
    assert told == pytest.approx(0.3, abs=0.06), "counted from the second half"


def test_written_bit_by_bit_for_long(desk: Desk) -> None:
    watch = desk.watch()
    for step in range(100):
        desk.file = desk.made(1, 60 + step, 20 + step)
        assert desk.run(watch, 0.2) == []
    assert len(desk.run(watch, 5.0)) == 1


def test_emptied_and_then_written(desk: Desk) -> None:
    watch = desk.watch()
    desk.file = desk.made(1, 0, 20)
    assert desk.run(watch, 1.5) == []
    desk.file = desk.made(1, 70, 21)
    assert len(desk.run(watch, 5.0)) == 1


def test_a_file_that_stays_empty_is_told_in_the_end(desk: Desk) -> None:
    watch = desk.watch()
    desk.file = desk.made(1, 0, 20)
    (told,) = desk.run(watch, 10.0)
    assert told == pytest.approx(2.0, abs=0.06)


def test_replaced_by_a_rename(desk: Desk) -> None:
    watch = desk.watch()
    desk.file = None
    assert desk.run(watch, 0.1) == [] and watch.is_missing
    desk.file = desk.made(2, 50, 10)
    assert len(desk.run(watch, 5.0)) == 1 and not watch.is_missing


def test_gone_and_back(desk: Desk) -> None:
    watch = desk.watch()
    before, desk.file = desk.file, None
    assert desk.run(watch, 60.0) == [] and watch.is_missing
    desk.file = before
    assert desk.run(watch, 5.0) == [] and not watch.is_missing, "the same as before"
    desk.file = None
    desk.run(watch, 5.0)
    desk.file = desk.made(3, 80, 90)
    assert len(desk.run(watch, 5.0)) == 1


def test_gone_in_the_middle_of_being_still(desk: Desk) -> None:
    watch = desk.watch()
    desk.file = changed = desk.made(2, 60, 20)
    assert desk.run(watch, 0.25) == []
    desk.file = None
    assert desk.run(watch, 0.1) == []
    desk.file = changed
    (told,) = desk.run(watch, 5.0)
    assert told == pytest.approx(0.3, abs=0.06)


def test_put_back_as_it_was(desk: Desk) -> None:
    watch = desk.watch()
    before, desk.file = desk.file, desk.made(1, 60, 20)
    assert desk.run(watch, 0.2) == []
    desk.file = before
    assert desk.run(watch, 5.0) == []


def test_missing_from_the_start(desk: Desk) -> None:
    desk.file = None
    watch = desk.watch()
    assert watch.is_missing and desk.run(watch, 5.0) == []
    desk.file = desk.made(1, 50, 10)
    assert len(desk.run(watch, 5.0)) == 1


def test_a_change_between_reading_and_watching(desk: Desk) -> None:
    seen = look_at("crest.svg", desk.stat)
    desk.file = desk.made(1, 60, 20)
    watch = desk.watch(seen=seen)
    assert len(desk.run(watch, 5.0)) == 1


def test_seldom_polled(desk: Desk) -> None:
    """The first look at a change starts the wait, however long ago it was made."""
    watch = desk.watch()
    desk.file = desk.made(1, 60, 20)
    desk.now_s += 1000.0
    assert not watch.poll()
    desk.now_s += 1000.0
    assert watch.poll() and not watch.poll()


def test_another_time_to_be_still(desk: Desk) -> None:
    watch = desk.watch(still_s=1.0)
    desk.file = desk.made(1, 60, 20)
    assert desk.run(watch, 5.0) == [pytest.approx(1.0, abs=0.06)]


@pytest.mark.parametrize("error", [PermissionError(13, "no"), OSError(116, "stale"), ValueError()])
def test_what_cannot_be_looked_at_is_missing(error: Exception) -> None:
    def fail(_: str) -> os.stat_result:
        raise error

    watch = FileWatch("crest.svg", stat=fail)
    assert watch.is_missing and not watch.poll()


def test_on_a_real_disk(tmp_path: Path) -> None:
    path = tmp_path / "crest.svg"
    path.write_bytes(b"one")
    watch = FileWatch(str(path), still_s=0.02)
    assert not watch.poll()
    other = tmp_path / "new"
    other.write_bytes(b"two")
    os.replace(other, path)
    deadline = time.monotonic() + 10.0
    while not watch.poll():
        assert time.monotonic() < deadline
        time.sleep(0.005)
    assert not watch.poll()
