"""The fit sheet of what is on screen, written by a thread: the same as the shell writes."""

from __future__ import annotations

import datetime
import os
import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace

from viewer.errors import BrimcheckError
from viewer.screen.cup_fields import cups_of
from viewer.screen.model import Session
from viewer.sheets.fit_words import Judged
from viewer.sheets.page import Format, Paper
from viewer.signoff import Record, scaled_load
from viewer.signoff.on_sheet import record_told

ENDING = "-fit.pdf"


@dataclass(frozen=True)
class Written:
    """A sheet that is on the disk now."""

    path: str
    pages: int

    @property
    def words(self) -> str:
        """Where it is, how long, and how to print it."""
        pages = "1 page" if self.pages == 1 else f"{self.pages} pages"
        return f"fit sheet written, {pages}; print it at 100 % (actual size): {self.path}"


Outcome = Written | BrimcheckError


def judged_of(session: Session) -> Judged:
    """What the sheet is about: as if its file had been read at the scale of the window."""
    load = scaled_load(session.loaded.options, session.scale)
    fit = replace(session.fit, artwork=replace(session.fit.artwork, options=load))
    press = replace(session.press, limits=session.limits, cups=cups_of(session))
    placed = session.placed()[session.cup_index]
    return Judged(fit, session.cup_fit, session.placement, placed, press)


def usual_path(session: Session) -> str:
    """Beside the artwork, or in the working folder where that may not be written."""
    folder, name = os.path.split(os.path.abspath(session.loaded.path))
    if not os.access(folder, os.W_OK | os.X_OK):
        folder = os.getcwd()
    return os.path.join(folder, os.path.splitext(name)[0] + ENDING)


class SheetThread:
    """Writes one sheet at a time; the program waits for it when it ends."""

    def __init__(self, wake: Callable[[], None]) -> None:
        self._wake = wake
        self._found: queue.SimpleQueue[Outcome] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None

    @property
    def is_busy(self) -> bool:
        """Whether a sheet is being written, or its outcome has not been taken."""
        return self._thread is not None

    def start(self, session: Session, target: str, paper: Paper, record: Record) -> None:
        """Begin to write the sheet of a session whose fit is known."""
        date = datetime.date.today().isoformat()

        def work() -> Outcome:
            return _outcome(session, target, paper, record, date)

        self._thread = threading.Thread(target=lambda: self._run(work), name="write-sheet")
        self._thread.start()

    def _run(self, work: Callable[[], Outcome]) -> None:
        self._found.put(work())
        self._wake()

    def take(self) -> Outcome | None:
        """What came of it, once."""
        try:
            found = self._found.get_nowait()
        except queue.Empty:
            return None
        self._thread = None
        return found

    def wait(self) -> None:
        """Wait until it has come to its end."""
        if self._thread is not None:
            self._thread.join()


def _outcome(session: Session, target: str, paper: Paper, record: Record, date: str) -> Outcome:
    from viewer.sheets.write import write_fit_sheet

    try:
        judged = judged_of(session)
        told = record_told(judged, record)
        pages = write_fit_sheet(judged, target, Format(paper), date, told)
    except BrimcheckError as error:
        return error
    except Exception as error:  # a window must not wait for ever for a fault in a thread
        return BrimcheckError(f"the sheet was not written ({type(error).__name__}: {error})")
    return Written(target, pages)
