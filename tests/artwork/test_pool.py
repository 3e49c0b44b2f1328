"""Renderer processes from outside: they die, hang and talk nonsense; the program does not."""

from __future__ import annotations

import io
import os
import struct
import sys
import time
from collections.abc import Iterator

import numpy as np
import psutil
import pytest

from viewer.artwork.pool import (
    DEFAULT_TIMEOUT_S,
    Worker,
    call_timeout_s,
    give_back,
    shutdown_workers,
    split_tiles,
    take_worker,
    unpack_masks,
)
from viewer.artwork.wire import read_message, write_message
from viewer.errors import ArtworkError, Cancelled, RenderError

PAGE_PX = [96.0, 96.0]
SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" x="0" y="0" width="96px" height="96px">'
    '<rect x="24" y="24" width="48" height="48"/></svg>'
)
WINDOW = (0.0, 0.0, 4.0, 102, 102)
KIND = "resvg"
"""Present on every system, unlike cairo."""


@pytest.fixture(autouse=True)
def fresh_pool() -> Iterator[None]:
    """No process of another test is reused, none is left behind."""
    shutdown_workers()
    yield
    shutdown_workers()


def pid_of(worker: Worker) -> int:
    return int(worker._process.pid)


def inked_px(worker: Worker) -> int:
    """Open the square and count its ink at 4 px per mm."""
    worker.call("open", SQUARE.encode(), page_px=PAGE_PX, fonts=False)
    header, blob = worker.call("draw", window=WINDOW)
    rgba = np.frombuffer(blob, np.uint8).reshape(header["shape"])
    return int(np.count_nonzero(rgba[..., 3] > 127))


def faulty(monkeypatch: pytest.MonkeyPatch, fault: str) -> Worker:
    """An opened process that will fail in this way when asked to draw."""
    monkeypatch.setenv("BRIMCHECK_FAULT", f"{KIND}:{fault}")
    worker = Worker(KIND)
    monkeypatch.delenv("BRIMCHECK_FAULT")
    worker.call("open", SQUARE.encode(), page_px=PAGE_PX, fonts=False)
    return worker


def test_a_worker_draws_what_it_is_given() -> None:
    worker = take_worker(KIND)
    # 48 px = 12.7 mm = 50.8 pixels; a pixel more or less on each side.
    assert 49**2 <= inked_px(worker) <= 52**2
    give_back(worker)


def test_a_healthy_worker_is_reused() -> None:
    worker = take_worker(KIND)
    inked_px(worker)
    give_back(worker)
    assert take_worker(KIND) is worker
    give_back(worker)


def test_kinds_are_not_mixed_up() -> None:
    give_back(take_worker(KIND))
    image = take_worker("image")
    assert image.kind == "image"
    give_back(image)


def test_at_most_two_idle_workers_are_kept() -> None:
    workers = [take_worker(KIND) for _ in range(3)]
    for worker in workers:
        give_back(worker)
    assert [w.alive for w in workers] == [True, True, False]


def test_a_worker_with_an_open_question_is_ended_not_reused() -> None:
    worker = take_worker(KIND)
    worker.send("open", SQUARE.encode(), page_px=PAGE_PX, fonts=False)
    assert not worker.idle
    give_back(worker)
    assert not worker.alive
    other = take_worker(KIND)
    assert other is not worker
    give_back(other)


def test_a_killed_worker_is_a_render_error_and_the_pool_recovers() -> None:
    worker = take_worker(KIND)
    inked_px(worker)
    psutil.Process(pid_of(worker)).kill()
    with pytest.raises(RenderError, match="died"):
        worker.call("draw", window=WINDOW)
    assert not worker.alive
    give_back(worker)
    other = take_worker(KIND)
    assert other is not worker
    assert inked_px(other) > 0
    give_back(other)


def test_a_worker_killed_while_idle_is_not_handed_out() -> None:
    worker = take_worker(KIND)
    give_back(worker)
    psutil.Process(pid_of(worker)).kill()
    worker._process.wait()
    other = take_worker(KIND)
    assert other is not worker and other.alive
    give_back(other)


def test_death_while_drawing_is_a_render_error(monkeypatch: pytest.MonkeyPatch) -> None:
    worker = faulty(monkeypatch, "die")
    with pytest.raises(RenderError, match=f"the {KIND} renderer died"):
        worker.call("draw", window=WINDOW)
    assert not worker.alive


def test_a_hang_ends_at_the_time_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    worker = faulty(monkeypatch, "hang")
    monkeypatch.setenv("BRIMCHECK_TIMEOUT_S", "0.4")
    start = time.monotonic()
    with pytest.raises(RenderError, match="too long"):
        worker.call("draw", window=WINDOW)
    assert 0.3 < time.monotonic() - start < 5.0
    assert not worker.alive


def test_a_hang_ends_when_the_person_stops_it(monkeypatch: pytest.MonkeyPatch) -> None:
    worker = faulty(monkeypatch, "hang")
    start = time.monotonic()
    with pytest.raises(Cancelled):
        worker.call("draw", window=WINDOW, cancelled=lambda: True)
    assert time.monotonic() - start < 5.0
    assert not worker.alive


@pytest.mark.parametrize(("text", "limit_s"), [("7.5", 7.5), ("soon", DEFAULT_TIMEOUT_S)])
def test_time_limit_from_the_environment(
    monkeypatch: pytest.MonkeyPatch, text: str, limit_s: float
) -> None:
    monkeypatch.setenv("BRIMCHECK_TIMEOUT_S", text)
    assert call_timeout_s() == limit_s


def test_an_unknown_question_is_a_render_error_and_does_no_harm() -> None:
    worker = take_worker(KIND)
    with pytest.raises(RenderError):
        worker.call("paint_the_harbour")
    assert worker.alive and inked_px(worker) > 0
    give_back(worker)


def test_nonsense_for_a_drawing_is_an_error_and_the_next_drawing_works() -> None:
    worker = take_worker(KIND)
    with pytest.raises(ArtworkError):
        worker.call("open", b"\xff\xfe not a drawing", page_px=PAGE_PX, fonts=False)
        worker.call("draw", window=WINDOW)
    assert worker.alive and inked_px(worker) > 0
    give_back(worker)


@pytest.mark.parametrize(
    "reply",
    [
        b"this is no message at all, and long enough for a head",
        struct.pack("<II", 4, 0) + b"[12]",
        struct.pack("<II", 9, 0) + b"{not json",
        struct.pack("<II", 2**31, 0),
        struct.pack("<II", 2, 100) + b"{}short",
        b"",
    ],
)
def test_garbage_from_a_worker_is_a_render_error(
    monkeypatch: pytest.MonkeyPatch, reply: bytes
) -> None:
    """A process that answers anything with these bytes and ends."""
    from viewer.artwork import pool

    real = pool.subprocess.Popen
    program = f"import sys; sys.stdout.buffer.write({reply!r}); sys.stdout.flush()"

    def imposter(_command: list[str], **options: object) -> object:
        return real([sys.executable, "-c", program], **options)

    monkeypatch.setattr(pool.subprocess, "Popen", imposter)
    worker = Worker(KIND)
    start = time.monotonic()
    with pytest.raises(RenderError):
        worker.call("draw", window=WINDOW)
    assert time.monotonic() - start < 10.0
    assert not worker.alive


def test_questions_are_answered_in_order() -> None:
    worker = take_worker(KIND)
    worker.send("open", SQUARE.encode(), page_px=PAGE_PX, fonts=False)
    for size in (10, 20, 30):
        worker.send("draw", window=(0.0, 0.0, 1.0, size, 5))
    worker.receive()
    assert [worker.receive()[0]["shape"] for _ in range(3)] == [[5, s, 4] for s in (10, 20, 30)]
    assert worker.idle
    give_back(worker)


def test_shutdown_ends_the_idle_processes() -> None:
    workers = [take_worker(KIND), take_worker("image")]
    pids = [pid_of(w) for w in workers]
    for worker in workers:
        give_back(worker)
    shutdown_workers()
    assert not any(w.alive for w in workers)
    assert not any(psutil.pid_exists(pid) for pid in pids)


def test_a_worker_ends_by_itself_when_the_program_is_gone() -> None:
    worker = Worker(KIND)
    inked_px(worker)
    stream = worker._process.stdin
    assert stream is not None
    stream.close()  # what the system does when the program ends
    assert worker._process.wait(timeout=10) == 0


def test_messages_survive_the_wire() -> None:
    stream = io.BytesIO()
    write_message(stream, {"op": "draw", "name": "Möwe"}, b"\x00\xff")
    write_message(stream, {}, b"")
    stream.seek(0)
    assert read_message(stream) == ({"op": "draw", "name": "Möwe"}, b"\x00\xff")
    assert read_message(stream) == ({}, b"")
    assert read_message(stream) is None


def test_masks_and_tiles_of_the_wrong_length_are_render_errors() -> None:
    mask = np.zeros((3, 5), np.bool_)
    mask[1, 2] = True
    (back,) = unpack_masks(np.packbits(mask).tobytes(), 1, (3, 5))
    assert (back == mask).all()
    with pytest.raises(RenderError):
        unpack_masks(b"\x00", 1, (3, 5))
    with pytest.raises(RenderError):
        split_tiles(bytes(100), [(2, 3)])


def test_a_worker_ignores_modules_of_the_current_folder(
    tmp_path: os.PathLike[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = os.fspath(tmp_path)
    with open(os.path.join(folder, "numpy.py"), "w", encoding="utf-8") as stream:
        stream.write("raise SystemExit(3)\n")
    monkeypatch.chdir(folder)
    worker = Worker(KIND)
    assert inked_px(worker) > 0
    worker.kill()
