"""Reads and writes the approval record in threads: a lock on it may last for seconds."""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass

from viewer.errors import ArtworkError, BrimcheckError
from viewer.signoff import Entry, Record, RecordError, Row, Verification, file_sha256

Outcome = Row | Verification | BrimcheckError


@dataclass(frozen=True)
class Found:
    """What a thread has brought. ``number``: that of the wish, as it was given."""

    number: int
    outcome: Outcome


class RecordThread:
    """One record. Rows are written by threads that the program waits for when it ends."""

    def __init__(self, record: Record, wake: Callable[[], None]) -> None:
        self._record = record
        self._wake = wake
        self._found: queue.SimpleQueue[Found] = queue.SimpleQueue()
        self._writers: list[threading.Thread] = []
        self._readers: list[threading.Thread] = []
        self._count = 0

    @property
    def path(self) -> str:
        """The record's file."""
        return self._record.path

    def read(self) -> int:
        """Begin to read the record; the number of this wish."""
        thread = self._start("read-record", self._record.verify, is_writer=False)
        self._readers = [*(t for t in self._readers if t.is_alive()), thread]
        return self._count

    def append(self, entry: Entry, path: str) -> int:
        """Begin to record a decision about the file at ``path``; the number of this wish."""
        thread = self._start("write-record", lambda: self._append(entry, path), is_writer=True)
        self._writers = [*(t for t in self._writers if t.is_alive()), thread]
        return self._count

    def take(self) -> Found | None:
        """What has been brought, one after the other."""
        try:
            return self._found.get_nowait()
        except queue.Empty:
            return None

    def wait(self) -> None:
        """Wait until everything begun has come to its end."""
        for thread in (*self._writers, *self._readers):
            thread.join()

    def stop(self) -> None:
        """Let what is being written come to its end; what is being read is of no use."""
        for thread in self._writers:
            thread.join()

    def _append(self, entry: Entry, path: str) -> Row:
        if file_sha256(path) != entry.sha256:
            # Another content was seen than would be signed.
            name = os.path.basename(path)
            raise ArtworkError(
                f"{name}: changed since it was measured; Ctrl+R reads it again", code="changed"
            )
        return self._record.append(entry)

    def _start(
        self, name: str, work: Callable[[], Row | Verification], *, is_writer: bool
    ) -> threading.Thread:
        self._count += 1
        number = self._count

        def run() -> None:
            self._found.put(Found(number, _outcome(work)))
            self._wake()

        thread = threading.Thread(target=run, name=name, daemon=not is_writer)
        thread.start()
        return thread


def _outcome(work: Callable[[], Row | Verification]) -> Outcome:
    try:
        return work()
    except BrimcheckError as error:
        return error
    except Exception as error:  # a window must not wait for ever for a fault in a thread
        return RecordError(f"nothing was recorded ({type(error).__name__}: {error})")
