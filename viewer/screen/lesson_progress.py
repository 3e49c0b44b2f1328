"""What the window needs of the learners' files: who was here, what they have done."""

from __future__ import annotations

import contextlib
import datetime
import os
from dataclasses import dataclass, field

from viewer.errors import BrimcheckError
from viewer.job.atomic import write_atomically
from viewer.job.folders import make_folder
from viewer.lessons.learners import (
    LONGEST_NAME,
    Progress,
    known_learners,
    learners_folder,
    load_progress,
    plain_name,
    record_answer,
)

_LAST = "last-learner"
_NOBODY = Progress("")


def utc_today() -> datetime.date:
    """The date that is recorded."""
    return datetime.datetime.now(datetime.UTC).date()


@dataclass
class Learner:
    """The one who sits at the window. ``name`` empty: nobody yet, and nothing is kept.

    ``notice``: one line on what could not be read or kept; empty where all went well.
    """

    name: str = ""
    progress: Progress = field(default=_NOBODY)
    notice: str = ""
    is_remembered: bool = True
    """Whether the name is offered first the next time; not so for a picture."""

    def use(self, name: str) -> None:
        """Another learner. UsageError for what is no name."""
        self.name = plain_name(name)
        self.progress = load_progress(self.name)
        self.notice = self.progress.notice
        if self.is_remembered:
            _remember(self.name)

    def is_done(self, key: str) -> bool:
        """Whether a lesson was finished."""
        return bool(self.name) and self.progress.is_done(key)

    def record(self, key: str, is_right: bool, today: datetime.date) -> str:
        """Keep an answer; a right one finishes the lesson. What could not be kept, as a line."""
        if not self.name:
            return "no learner\u2019s name was given: this is not kept"
        self.progress = record_answer(self.name, key, is_right, is_right, today)
        self.notice = self.progress.notice
        return self.notice


def checked_name(name: str) -> str:
    """A name as it is kept; empty stays empty. UsageError for what is no name."""
    return plain_name(name) if name else ""


def names_lately() -> tuple[str, ...]:
    """All known learners, the one who was here last first."""
    names, last = list(known_learners()), _last()
    if last in names:
        names.remove(last)
        names.insert(0, last)
    return tuple(names)


def _remember(name: str) -> None:
    # Only a convenience: where it cannot be kept, the names stand in alphabetical order.
    with contextlib.suppress(BrimcheckError, OSError):
        folder = learners_folder()
        make_folder(folder)
        write_atomically(os.path.join(folder, _LAST), name.encode())


def _last() -> str:
    try:
        with open(os.path.join(learners_folder(), _LAST), "rb") as file:
            return file.read(4 * LONGEST_NAME).decode()
    except (BrimcheckError, OSError, UnicodeDecodeError):
        return ""
