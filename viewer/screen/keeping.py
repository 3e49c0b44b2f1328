"""What is kept of the work at a desk: its job file, its notes, whether it is unsaved."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from viewer.errors import BrimcheckError, UsageError
from viewer.job import JOB_ENDING, Job, write_job
from viewer.screen.dialog import Filed
from viewer.screen.job_session import job_of
from viewer.screen.model import Session
from viewer.screen.questions import ClosingQuestion, NotesQuestion, SaveQuestion
from viewer.screen.store import Store
from viewer.screen.viewstate import Notice

if TYPE_CHECKING:
    from viewer.screen.asking import Asking
    from viewer.screen.desk import Desk

LONGEST_EDITED = 4000


class Keeping:
    """The work as a job. ``store`` None: nothing is kept on disk by itself."""

    def __init__(self, desk: Desk, store: Store | None) -> None:
        self._desk, self._store = desk, store
        self.job_path = ""
        """Where the job was saved, or opened from; ``""`` for none."""
        self._notes = ""
        self._clean: tuple[Job, ...] = ()
        """What would not be lost: as opened, on any page, or as saved."""
        self._now: tuple[Session | None, str, Job | None] = (None, "", None)
        self._told: Job | None = None
        """What the store was told last."""
        self._passing: Notice | None = None

    @property
    def asking(self) -> Asking:
        """Where questions are asked."""
        return self._desk.asking

    @property
    def recent(self) -> tuple[str, ...]:
        """Files opened lately, the newest first."""
        return self._store.settings.recent_files if self._store is not None else ()

    @property
    def name(self) -> str:
        """What the work is called: its job file, or else its artwork."""
        session = self._desk.session
        if self.job_path:
            return os.path.basename(self.job_path)
        return os.path.basename(session.loaded.path) if session is not None else ""

    @property
    def is_unsaved(self) -> bool:
        """Whether something would be lost if the window closed now."""
        now = self._job_now()
        return now is not None and now not in self._clean

    def title(self) -> str:
        """How the window's title begins: job, artwork, and whether it is unsaved."""
        session = self._desk.session
        if session is None:
            return ""
        artwork = os.path.basename(session.loaded.path)
        told = f"{self.name} ({artwork})" if self.job_path else artwork
        return f"{told} \u2013 unsaved changes" if self.is_unsaved else told

    def filed(self) -> Filed | None:
        """What the card of the file says."""
        session = self._desk.session
        if session is None:
            return None
        kept = os.path.basename(self.job_path) if self.job_path else ""
        loaded = session.loaded
        return Filed(kept, self.is_unsaved, self._notes, loaded.options.page, loaded.pages)

    def _set_clean(self) -> None:
        """The work as it is now would not be lost."""
        now = self._job_now()
        self._clean = () if now is None else (now,)

    # --- saving --------------------------------------------------------------------------

    def _job_now(self) -> Job | None:
        """The work as a job; None where there is none, or none that can be kept."""
        session = self._desk.session
        if session is None:
            return None
        if self._now[0] is not session or self._now[1] != self._notes:
            try:
                job: Job | None = job_of(session, self._notes)
            except BrimcheckError:
                job = None
            self._now = (session, self._notes, job)
        return self._now[2]

    def save(self, then: Callable[[], None] | None = None) -> None:
        """Save the job; the first time it asks where. ``then`` goes on after that."""
        if self._desk.session is None:
            return
        if not self.job_path:
            self.save_as(then)
            return
        try:
            self.write(self.job_path)
        except BrimcheckError as error:
            self.save_as(then)
            self.asking.tell(error.message)
            return
        self.asking.close()
        if then is not None:
            then()

    def save_as(self, then: Callable[[], None] | None = None) -> None:
        """Ask where to save the job."""
        session = self._desk.session
        if session is not None:
            stem = os.path.splitext(os.path.abspath(session.loaded.path))[0]
            self.asking.ask(SaveQuestion(self, self.job_path or stem + JOB_ENDING, then))

    def write(self, path: str) -> None:
        """Write the job. Raises BrimcheckError of one line, and then nothing is written."""
        session = self._desk.session
        if session is None:
            raise UsageError("there is no work to save")
        job = job_of(session, self._notes)
        write_job(job, path)
        self.job_path = path
        self._set_clean()
        if self._store is not None:
            self._store.forget()
        self._remember(path)
        self.say(f"saved {clock_time()}: {path}")

    def ask_for_notes(self) -> None:
        """Ask for notes on the job."""
        if self._desk.session is None:
            return
        if len(self._notes) > LONGEST_EDITED:
            self.say("these notes are too long for this field: edit them in the job file")
        else:
            self.asking.ask(NotesQuestion(self, self._notes))

    def set_notes(self, notes: str) -> None:
        """Keep notes with the job; they change no fit, so undo leaves them alone."""
        self._notes = notes

    def quit(self) -> None:
        """Close the window; asks first where work would be lost."""
        if not isinstance(self.asking.question, ClosingQuestion):
            self._guard(self._close, "Close")

    def _close(self) -> None:
        if self._store is not None:
            self._store.forget()
        self._desk.is_closed = True

    def _guard(self, then: Callable[[], None], what: str) -> None:
        if self.is_unsaved:
            self.asking.ask(ClosingQuestion(self, then, what))
        else:
            then()

    # --- what rests and what passes -----------------------------------------------------

    def tick(self) -> None:
        """Have the work kept as it is now, unless it is just being moved."""
        desk = self._desk
        if self._store is None or desk.pointer.drag is not None or desk.is_gliding:
            return
        now = self._job_now()
        if now is self._told:
            return
        self._told = now
        if now is not None and now not in self._clean:
            self._store.keep(now, self.job_path)
        else:
            self._store.forget()

    def say(self, text: str) -> None:
        """Tell something that is no fault; the next key or click takes it away."""
        self._passing = Notice(text, False)
        self._desk.notice = self._passing

    def _pass(self) -> None:
        if self._passing is not None and self._desk.notice is self._passing:
            self._desk.notice = None
        self._passing = None

    # --- settings -------------------------------------------------------------------------

    def _remember(self, path: str) -> None:
        if self._store is not None:
            whole = os.path.abspath(path)
            folder = os.path.dirname(whole)
            self._store.change(lambda s: replace(s.with_recent(whole), last_folder=folder))

    def _forget_recent(self, path: str) -> None:
        if self._store is not None and path in self.recent:
            self._store.change(lambda s: s.without_recent(path))

    def keep_window_size(self, size_px: tuple[int, int]) -> None:
        """The next window opens as large."""
        if self._store is not None:
            self._store.change(lambda s: replace(s, window_px=size_px))


def clock_time() -> str:
    """The time of day, as it is told."""
    return time.strftime("%H:%M")
