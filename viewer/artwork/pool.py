"""Renderer processes: started when needed, reused, killed when they fail."""

from __future__ import annotations

import atexit
import contextlib
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import InkRule
from viewer.artwork.wire import read_message, write_message
from viewer.errors import ArtworkError, Cancelled, RenderError

DEFAULT_TIMEOUT_S = 60.0
_POLL_S = 0.05

CancelCheck = Callable[[], bool]
Window = tuple[float, float, float, int, int]
"""x0_mm, y0_mm, px_per_mm, width_px, height_px."""


def call_timeout_s() -> float:
    """How long one question to a renderer may take."""
    try:
        return float(os.environ.get("BRIMCHECK_TIMEOUT_S", DEFAULT_TIMEOUT_S))
    except ValueError:
        return DEFAULT_TIMEOUT_S


class Worker:
    """One renderer process of a kind: ``cairo``, ``resvg``, ``pdf`` or ``image``."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        root = str(Path(__file__).resolve().parents[2])
        env = dict(os.environ)
        env["PYTHONPATH"] = os.pathsep.join([root, *filter(None, [env.get("PYTHONPATH")])])
        # One thread is enough here, and the BLAS pools would cost memory and start-up.
        env.setdefault("OPENBLAS_NUM_THREADS", "1")
        self._process = subprocess.Popen(
            # -P: the folder a person stands in must not supply modules.
            [sys.executable, "-P", "-m", "viewer.artwork.worker", kind],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=env,
        )
        self._answers: queue.Queue[tuple[dict[str, Any], bytes] | None] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()
        self._pending = 0

    def _read(self) -> None:
        stream = self._process.stdout
        assert stream is not None
        try:
            while (message := read_message(stream)) is not None:
                self._answers.put(message)
        except (OSError, ValueError):
            pass
        self._answers.put(None)

    @property
    def alive(self) -> bool:
        """Whether it can still be asked."""
        return self._process.poll() is None

    def send(self, op: str, blob: bytes = b"", **header: Any) -> None:
        """Ask without waiting; every question is answered in order by `receive`."""
        stream = self._process.stdin
        assert stream is not None
        self._pending += 1
        with contextlib.suppress(OSError, ValueError):  # its death shows at `receive`
            write_message(stream, {"op": op, **header}, blob)

    def receive(self, cancelled: CancelCheck | None = None) -> tuple[dict[str, Any], bytes]:
        """The answer to the oldest open question.

        Raises RenderError when the process died or took too long (it is then killed),
        ArtworkError with the renderer's own message when it refused.
        """
        if cancelled is not None and cancelled():
            self.kill()
            raise Cancelled("stopped at your request")
        end = time.monotonic() + call_timeout_s()
        while True:
            try:
                message = self._answers.get(timeout=_POLL_S)
                break
            except queue.Empty:
                if cancelled is not None and cancelled():
                    self.kill()
                    raise Cancelled("stopped at your request") from None
                if time.monotonic() > end:
                    self.kill()
                    raise RenderError(f"the {self.kind} renderer took too long") from None
        self._pending -= 1
        if message is None:
            self._answers.put(None)  # so that the next question is refused at once as well
            self.kill()
            raise RenderError(f"the {self.kind} renderer died while drawing")
        header, blob = message
        if not header.get("ok"):
            code = str(header.get("code", "render-failed"))
            text = str(header.get("message", "no reason given"))
            if code in ("render-failed", "memory"):
                raise RenderError(f"the {self.kind} renderer failed: {text}", code=code)
            raise ArtworkError(text, code=code)
        return header, blob

    def call(
        self, op: str, blob: bytes = b"", cancelled: CancelCheck | None = None, **header: Any
    ) -> tuple[dict[str, Any], bytes]:
        """Ask and wait."""
        self.send(op, blob, **header)
        return self.receive(cancelled)

    @property
    def idle(self) -> bool:
        """No question is open: it can be handed to the next file."""
        return self._pending == 0

    def kill(self) -> None:
        """End it at once."""
        with contextlib.suppress(OSError):
            self._process.kill()
        with contextlib.suppress(OSError, ValueError):
            if self._process.stdin is not None:
                self._process.stdin.close()
        self._process.wait()


_idle: dict[str, list[Worker]] = {}
_lock = threading.Lock()


def take_worker(kind: str) -> Worker:
    """A running process of this kind, a reused one where there is one."""
    with _lock:
        waiting = _idle.get(kind, [])
        while waiting:
            worker = waiting.pop()
            if worker.alive:
                return worker
    return Worker(kind)


def start_early(kinds: Sequence[str]) -> None:
    """Start processes that will be needed in a moment, while other things are loaded."""
    for kind in kinds:
        give_back(take_worker(kind))


def give_back(worker: Worker) -> None:
    """Keep a healthy process for the next file; end any other."""
    if worker.alive and worker.idle:
        with _lock:
            kept = _idle.setdefault(worker.kind, [])
            if len(kept) < 2:
                kept.append(worker)
                return
    worker.kill()


def shutdown_workers() -> None:
    """End all idle processes."""
    with _lock:
        workers = [w for kept in _idle.values() for w in kept]
        _idle.clear()
    for worker in workers:
        worker.kill()


atexit.register(shutdown_workers)


def rule_json(rule: InkRule) -> dict[str, Any]:
    """An ink rule as it goes over the wire."""
    return asdict(rule)


def unpack_masks(blob: bytes, count: int, shape: tuple[int, int]) -> list[NDArray[np.bool_]]:
    """Packed bits of ``count`` masks of one shape, back into boolean arrays."""
    size = (shape[0] * shape[1] + 7) // 8
    if len(blob) != count * size:
        raise RenderError("a renderer's answer was cut short")
    packed = np.frombuffer(blob, np.uint8).reshape(count, size)
    bits = [np.unpackbits(row, count=shape[0] * shape[1]) for row in packed]
    return [b.reshape(shape).view(np.bool_) for b in bits]


def split_tiles(
    blob: bytes, sizes: Sequence[tuple[int, int]]
) -> list[tuple[NDArray[np.int16], NDArray[np.bool_]]]:
    """Answers of ``tiles`` for windows of (width, height): row ends and border bits."""
    out: list[tuple[NDArray[np.int16], NDArray[np.bool_]]] = []
    at = 0
    for width, height in sizes:
        ends = np.frombuffer(blob, np.int16, height * 2, at).reshape(height, 2)
        at += height * 4
        border = np.frombuffer(blob, np.uint8, 2 * (width + height), at).astype(bool)
        at += 2 * (width + height)
        out.append((ends, border))
    if at != len(blob):
        raise RenderError("a renderer's answer was cut short")
    return out
