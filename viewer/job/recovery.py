"""Unsaved work, kept as the person works, and offered again when its process is gone.

Each running process has one file of its own, named by its number and its start, and beside
it a mark that says whether it is running (see ``alive``).
"""

from __future__ import annotations

import contextlib
import os
import threading
import time
from dataclasses import dataclass

from viewer.errors import UsageError
from viewer.job.alive import Mark, is_alive
from viewer.job.atomic import TEMPORARY_ENDING, TEMPORARY_PREFIX, write_atomically
from viewer.job.folders import make_folder, unsaved_folder
from viewer.job.job import Job
from viewer.job.job_file import JOB_ENDING, LARGEST_FILE_BYTES, check_text, job_of, job_to_text
from viewer.press.toml_table import Table
from viewer.press.toml_text import parse_toml, read_text

MARK_ENDING = ".running"
_STALE_TEMPORARY_S = 24 * 3600.0
_UNSAVED_KEYS = ("job_path",)


@dataclass(frozen=True)
class Unsaved:
    """Work of a process that is gone.

    ``job`` is None where the file cannot be read; ``problem`` says why in one line, and the
    file stays where it is. ``job_path``: where the job had been saved before, or ``""``.
    ``kept_at_s``: seconds since 1970.
    """

    path: str
    job: Job | None
    job_path: str = ""
    kept_at_s: float = 0.0
    problem: str = ""


def keep_unsaved(job: Job, job_path: str = "") -> str:
    """Keep the present state of the work, in one step, in place of what was kept before.

    ``job_path``: the job file that it belongs to, if there is one. Gives ``""``, or one
    line on why it could not be kept; never raises for that. It waits for the disk, so a
    window calls it seldom or from a thread.
    """
    try:
        with _one_at_a_time:
            _keep(job, _whole(job_path) if job_path else "")
    except UsageError as error:
        return f"unsaved work is not kept: {error.message}"
    except OSError as error:
        return f"unsaved work is not kept: {error.strerror or type(error).__name__}"
    return ""


def unsaved_jobs() -> tuple[Unsaved, ...]:
    """What processes that are gone have left, newest first. Never raises for bad files.

    To take one up: ``keep_unsaved`` it as one's own, then ``forget_unsaved`` the old one.
    """
    try:
        folder = unsaved_folder()
        names = sorted(os.listdir(folder))
    except (OSError, UsageError):
        return ()
    own = None if _own is None else os.path.basename(_own.path)
    found = []
    for name in names:
        path = os.path.join(folder, name)
        if name.endswith(MARK_ENDING) and name != own:
            _tidy_mark(path)
        elif name.startswith(TEMPORARY_PREFIX) and name.endswith(TEMPORARY_ENDING):
            _tidy_temporary(path)
        elif name.endswith(JOB_ENDING):
            mark = _mark_of(path)
            if os.path.basename(mark) != own and not is_alive(mark):
                found.append(_read(path))
    return tuple(sorted(found, key=lambda unsaved: (-unsaved.kept_at_s, unsaved.path)))


def forget_unsaved(unsaved: Unsaved | None = None) -> None:
    """Remove what was kept: of this process (its work is saved, or given up), or another's.

    What is gone already, or cannot be removed, does no harm.
    """
    if unsaved is None:
        with _one_at_a_time:
            _forget_own()
        return
    for path in (unsaved.path, _mark_of(unsaved.path)):
        with contextlib.suppress(OSError):
            os.unlink(path)


# --- this process ---------------------------------------------------------------------

_own: Mark | None = None
_own_pid = 0
_one_at_a_time = threading.Lock()


def _whole(job_path: str) -> str:
    """The whole path; one that is no text cannot be kept, and the work matters more."""
    path = os.path.abspath(job_path)
    return path if path.encode("utf-8", "ignore").decode() == path else ""


def _keep(job: Job, job_path: str) -> None:
    path = _own_path()
    folder = os.path.dirname(path)
    text = job_to_text(job, folder, {"unsaved": {"job_path": job_path}})
    check_text(text, job, path, folder, ("unsaved",))
    write_atomically(path, text.encode())


def _forget_own() -> None:
    global _own
    if _own is None or _own_pid != os.getpid():
        return
    with contextlib.suppress(OSError):
        os.unlink(_job_of_mark(_own.path))
    _own.release()
    _own = None


def _own_path() -> str:
    """This process's file, with its mark set."""
    global _own, _own_pid
    folder = unsaved_folder()
    make_folder(folder)
    if _own is None or _own_pid != os.getpid() or os.path.dirname(_own.path) != folder:
        name = f"{os.getpid()}-{time.time_ns()}{MARK_ENDING}"
        _own, _own_pid = Mark(os.path.join(folder, name)), os.getpid()
    elif not _own.is_there:
        _own = Mark(_own.path)
    return _job_of_mark(_own.path)


def _mark_of(path: str) -> str:
    return path.removesuffix(JOB_ENDING) + MARK_ENDING


def _job_of_mark(path: str) -> str:
    return path.removesuffix(MARK_ENDING) + JOB_ENDING


# --- others ---------------------------------------------------------------------------


def _read(path: str) -> Unsaved:
    kept_at_s = 0.0
    with contextlib.suppress(OSError):
        kept_at_s = os.stat(path).st_mtime
    try:
        values = parse_toml(read_text(path, "job file", LARGEST_FILE_BYTES), path, "job file")
        table = Table(path, {"unsaved": values.pop("unsaved", {})}, ("unsaved",))
        more = table.table("unsaved", path, _UNSAVED_KEYS)
        job_path = more.text("job_path") if more is not None and "job_path" in more else ""
        return Unsaved(path, job_of(values, path, os.path.dirname(path)), job_path, kept_at_s)
    except UsageError as error:
        return Unsaved(path, None, "", kept_at_s, error.message)


def _tidy_mark(path: str) -> None:
    """A mark alone, of a process that is gone, is of no use."""
    if not os.path.lexists(_job_of_mark(path)):
        is_alive(path, remove_dead=True)


def _tidy_temporary(path: str) -> None:
    """What a process was writing when it was ended."""
    with contextlib.suppress(OSError):
        if time.time() - os.stat(path).st_mtime > _STALE_TEMPORARY_S:
            os.unlink(path)
