"""What each learner has done so far, one small file for a name.

Two windows may record at once: whoever writes reads the file again first, under a lock.
Nothing that is wrong with a file stops a lesson; it is told in one line, and the file is
never lost.
"""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import os
import re
import threading
import time
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import IO, Any

import tomli_w

from viewer.errors import UsageError
from viewer.job.atomic import write_atomically
from viewer.job.folders import CONFIG_VARIABLE, config_folder, make_folder
from viewer.job.locks import BUSY, lock
from viewer.press.toml_table import Table, shown
from viewer.press.toml_text import parse_toml, read_text

ENDING = ".toml"
LONGEST_NAME = 200
LARGEST_FILE_BYTES = 256 * 1024
VERSION = 1

_FOLDER = "learners"
_LOCK = ".recording"
_ASIDE = ".set-aside-"
_MOST_SET_ASIDE = 999
_MOST = 1_000_000_000
_WHAT = "progress file"
_KEYS = ("version", "learner", "lessons")
_LESSON_KEYS = ("first_finished", "right", "wrong", "finished")
_VISIBLE = ("L", "N", "P", "S")
_PATIENCE_S = 5.0
_NEXT_TRY_S = 0.005
_one_at_a_time = threading.Lock()


@dataclass(frozen=True)
class LessonProgress:
    """One lesson. ``first_finished``: the UTC date; None where it was never finished.

    ``right`` and ``wrong`` count answers, ``finished`` how many times it was gone through.
    """

    first_finished: datetime.date | None = None
    right: int = 0
    wrong: int = 0
    finished: int = 0


@dataclass(frozen=True)
class Progress:
    """What a learner has done, by the keys of the lessons.

    ``notice``: one line for the person where something was wrong on disk, else ``""``.
    """

    learner: str
    lessons: Mapping[str, LessonProgress] = field(default_factory=dict)
    notice: str = ""

    def of(self, key: str) -> LessonProgress:
        """What was done of one lesson."""
        return self.lessons.get(key, LessonProgress())

    def is_done(self, key: str) -> bool:
        """Whether a lesson was finished at least once."""
        return self.of(key).finished > 0

    @property
    def done_count(self) -> int:
        """How many lessons were finished at least once."""
        return sum(self.is_done(key) for key in self.lessons)


def load_progress(name: str) -> Progress:
    """The progress of a learner; nothing for a new one. UsageError for a name that is none.

    Capitals do not tell two learners apart. Nothing on disk is changed.
    """
    learner = plain_name(name)
    try:
        return _read(_path_of(learner), learner).progress
    except UsageError as error:
        return Progress(learner, notice=_not_kept(error.message))


def record_answer(
    name: str, lesson_key: str, is_right: bool, finished: bool, today: datetime.date
) -> Progress:
    """Count an answer, and with ``finished`` the lesson; what has become of it.

    ``today``: the UTC date. UsageError for a name that is none; whatever is wrong with the
    disk is in the notice, and the answer counts in what is returned all the same.
    """
    learner = plain_name(name)
    try:
        folder = learners_folder()
        make_folder(folder)
        with _alone(folder):
            return _record(learner, lesson_key, is_right, finished, today)
    except UsageError as error:
        notice = _not_kept(error.message)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        notice = _not_kept(" ".join(str(reason or error).split()))
    before = load_progress(learner)
    return replace(_counted(before, lesson_key, is_right, finished, today), notice=notice)


def known_learners() -> tuple[str, ...]:
    """The names that there is progress of, in the order of the alphabet. Never raises."""
    try:
        folder = learners_folder()
        files = sorted(os.listdir(folder))
    except (OSError, UsageError):
        return ()
    found = set()
    for file in files:
        path = os.path.join(folder, file)
        # A copy under another name would be offered, and then not be found again.
        with contextlib.suppress(UsageError):
            if file.endswith(ENDING) and _ASIDE not in file:
                learner = plain_name(str(_values_of(path).get("learner", "")))
                found |= {learner} if _path_of(learner) == path else set()
    return tuple(sorted(found, key=lambda name: (name.casefold(), name)))


# --- names and places -----------------------------------------------------------------


def plain_name(name: str) -> str:
    """A name as it is kept and shown: one line, single blanks. UsageError where it is none."""
    plain = " ".join(unicodedata.normalize("NFC", name).split())
    kinds = [unicodedata.category(sign) for sign in plain]
    if not any(kind[0] in _VISIBLE for kind in kinds):
        raise UsageError("the learner needs a name: type one, such as Mika")
    if len(plain) > LONGEST_NAME:
        raise UsageError(
            f"the learner's name has {len(plain)} characters; at most {LONGEST_NAME} are kept"
        )
    if any(kind in ("Cc", "Cs") for kind in kinds):
        raise UsageError(
            "the learner's name holds a character that cannot be written down: type it anew"
        )
    return plain


def learners_folder() -> str:
    """Where progress is kept; it need not exist. UsageError where there is no home folder."""
    if os.environ.get(CONFIG_VARIABLE):
        return os.path.join(config_folder(), _FOLDER)
    from platformdirs import user_data_dir

    base = user_data_dir("brimcheck", appauthor=False)
    if not os.path.isabs(base):
        raise UsageError(f"there is no home folder: name a whole path in {CONFIG_VARIABLE}")
    return os.path.join(base, _FOLDER)


def _path_of(learner: str) -> str:
    """A file name that any disk takes: a few letters to find it by, and a sum of the name."""
    same = unicodedata.normalize("NFC", learner.casefold())
    letters = unicodedata.normalize("NFKD", same).encode("ascii", "ignore").decode()
    start = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:24] or "learner"
    digest = hashlib.sha256(same.encode()).hexdigest()[:20]
    return os.path.join(learners_folder(), f"{start}-{digest}{ENDING}")


@contextlib.contextmanager
def _alone(folder: str) -> Iterator[None]:
    """No other thread and no other process records meanwhile.

    The lock is on a file that is never removed: two windows could each hold one of the same
    name otherwise. UsageError where another does not let go of it.
    """
    with _one_at_a_time, open(os.path.join(folder, _LOCK), "ab") as file:
        give_up_s = time.monotonic() + _PATIENCE_S
        while not _is_locked(file):
            if time.monotonic() > give_up_s:
                raise UsageError("another window does not let go of it; close that")
            time.sleep(_NEXT_TRY_S)
        yield  # to close the file gives up its lock


def _is_locked(file: IO[bytes]) -> bool:
    """Take the lock; on a disk without locks there is none to wait for."""
    try:
        lock(file, wait=False)
    except OSError as error:
        return error.errno not in BUSY
    return True


def _not_kept(why: str) -> str:
    return f"progress is not kept: {why}"


# --- recording ------------------------------------------------------------------------


def _record(
    learner: str, key: str, is_right: bool, finished: bool, today: datetime.date
) -> Progress:
    path = _path_of(learner)
    found = _read(path, learner)
    changed = _counted(found.progress, key, is_right, finished, today)
    if found.state == "kept":
        return changed
    notice = ""
    if found.state == "broken":
        aside = _set_aside(path)
        notice = f"{found.problem}; the file is set aside as {aside}"
    write_atomically(path, _text_of(changed, found.extra).encode())
    return replace(changed, notice=notice)


def _counted(
    before: Progress, key: str, is_right: bool, finished: bool, today: datetime.date
) -> Progress:
    old = before.of(key)
    new = LessonProgress(
        (old.first_finished or today) if finished else old.first_finished,
        min(old.right + is_right, _MOST),
        min(old.wrong + (not is_right), _MOST),
        min(old.finished + finished, _MOST),
    )
    return replace(before, lessons={**before.lessons, key: new})


def _text_of(progress: Progress, extra: Mapping[str, Any]) -> str:
    lessons: dict[str, Any] = {}
    for key, one in progress.lessons.items():
        counts = {"right": one.right, "wrong": one.wrong, "finished": one.finished}
        first = {} if one.first_finished is None else {"first_finished": one.first_finished}
        lessons[key] = {**first, **counts}
    return tomli_w.dumps(
        {"version": VERSION, "learner": progress.learner, **extra, "lessons": lessons}
    )


def _set_aside(path: str) -> str:
    """Move a bad file out of the way, onto no other. UsageError where that cannot be."""
    stem = path.removesuffix(ENDING)
    for number in range(1, _MOST_SET_ASIDE + 1):
        aside = f"{stem}{_ASIDE}{number}{ENDING}"
        if os.path.lexists(aside):
            continue
        try:
            os.rename(path, aside)
        except OSError as error:
            reason = error.strerror or type(error).__name__
            raise UsageError(f"{path}: it could not be set aside ({reason})") from error
        return aside
    raise UsageError(f"{path}: too many files are set aside already; tidy up there")


# --- reading --------------------------------------------------------------------------


@dataclass(frozen=True)
class _Found:
    """What a file says. ``state``: "good", "broken" (to be set aside), "kept" (left alone)."""

    progress: Progress
    state: str = "good"
    problem: str = ""
    extra: Mapping[str, Any] = field(default_factory=dict)


def _read(path: str, learner: str) -> _Found:
    if not os.path.lexists(path):
        return _Found(Progress(learner))
    try:
        values = _values_of(path)
        version = values.get("version")
        if type(version) is int and version > VERSION:
            why = f"{path}: a newer brimcheck has written it, and it is left as it is"
            return _Found(Progress(learner, notice=_not_kept(why)), "kept", why)
        table = Table(path, {key: values.get(key) for key in _KEYS if key in values}, _KEYS)
        table.whole("version", 1, VERSION)
        shown_name = plain_name(table.text("learner"))
        if _path_of(shown_name) != path:
            table.fail("learner", f"is {shown(shown_name)}, whose file has another name")
    except UsageError as error:
        if isinstance(error.__cause__, OSError):
            # It may be well, and only out of reach just now.
            return _Found(Progress(learner, notice=_not_kept(error.message)), "kept")
        notice = f"{error.message}; progress begins anew, that file is kept"
        return _Found(Progress(learner, notice=notice), "broken", error.message)
    lessons, problems = _lessons_of(values.get("lessons", {}), path)
    extra = {key: value for key, value in values.items() if key not in _KEYS}
    progress = Progress(shown_name, lessons)
    if problems:
        notice = f"{problems[0]}; the rest counts, that file is kept"
        return _Found(replace(progress, notice=notice), "broken", problems[0], extra)
    return _Found(progress, extra=extra)


def _values_of(path: str) -> dict[str, Any]:
    if not os.path.isfile(path) and os.path.exists(path):
        raise UsageError(f"{path}: is no file, so it is no {_WHAT}")
    return parse_toml(read_text(path, _WHAT, LARGEST_FILE_BYTES), path, _WHAT)


def _lessons_of(values: Any, path: str) -> tuple[dict[str, LessonProgress], list[str]]:
    """What can be read, and a line for each lesson that cannot."""
    if not isinstance(values, dict):
        return {}, [f"{path}: lessons must be tables, not {shown(values)}"]
    lessons, problems = {}, []
    for key, value in values.items():
        try:
            lessons[key] = _lesson_of(value, f"{path}: lessons.{key[:40]}")
        except UsageError as error:
            problems.append(error.message)
    return lessons, problems


def _lesson_of(value: Any, place: str) -> LessonProgress:
    if not isinstance(value, dict):
        raise UsageError(f"{place} must be a table, not {shown(value)}")
    table = Table(place, value, _LESSON_KEYS)
    right, wrong, finished = (table.whole(key, 0, _MOST) for key in _LESSON_KEYS[1:])
    first = table.raw("first_finished")
    # A date with a time of day is a kind of date to Python.
    if first is not None and type(first) is not datetime.date:
        table.fail("first_finished", f"must be a date such as 2025-06-30, not {shown(first)}")
    if (first is None) != (finished == 0):
        table.fail("first_finished", "goes with finished: both, or neither")
    return LessonProgress(first, right, wrong, finished)
