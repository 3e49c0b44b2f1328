"""Job files: TOML that a person can read, written in one step and read back exactly.

Top level: ``schema``, ``cup``, ``scale``, ``notes``. Then ``[artwork]`` (``path``,
``sha256``), ``[placement]``, ``[load]`` (how the file is read), ``[press]`` with the keys
of a press file, and ``[typed]`` where a pad or an etch area was typed in place of its own.
"""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import replace
from typing import Any, Literal

import tomli_w

from viewer.errors import UsageError
from viewer.fit.model import Placement
from viewer.job.atomic import write_atomically
from viewer.job.job import Job
from viewer.job.load_table import LOAD_KEYS, load_from_table, load_to_table
from viewer.job.press_tables import (
    TYPED_KEYS,
    plain_press,
    press_to_table,
    typed_to_table,
    with_typed,
)
from viewer.press.press_file import PRESS_KEYS, press_of
from viewer.press.toml_table import Table, shown
from viewer.press.toml_text import parse_toml, read_text

JOB_ENDING = ".brim.toml"
"""What a job file's name should end in; any other is read as well."""

SCHEMA = 1
LARGEST_FILE_BYTES = 1024 * 1024

ArtworkState = Literal["same", "changed", "missing"]

_HEADER = """\
# A brimcheck job: which artwork, on which press, placed how.
# Lengths in mm, angles in degrees counter-clockwise; center_mm is the page point under the
# cup's centre. A path that does not begin at the root begins at this file's folder.

"""
_TOP_KEYS = (
    "schema",
    "cup",
    "scale",
    "notes",
    "artwork",
    "placement",
    "load",
    "press",
    "typed",
)
_PAIR = re.compile(r"\[\n +([-+.e0-9]+),\n +([-+.e0-9]+),\n *\]")
_ARTWORK_KEYS = ("path", "sha256")
_PLACEMENT_KEYS = ("center_mm", "turn_deg")


def write_job(job: Job, path: str) -> None:
    """Write a job file, in one step; a file that was there is replaced.

    Raises UsageError of one line, and then writes nothing: also where the job holds
    something that a job file cannot.
    """
    folder = os.path.dirname(os.path.abspath(path))
    text = job_to_text(job, folder)
    check_text(text, job, path, folder)
    write_atomically(path, text.encode())


def read_job(path: str) -> Job:
    """Read a job file. Its artwork's path comes out absolute; whether there is such a file
    is for ``artwork_state`` to say. Raises UsageError: which file, which key, what is wrong.
    """
    text = read_text(path, "job file", LARGEST_FILE_BYTES)
    values = parse_toml(text, path, "job file")
    return job_of(values, path, os.path.dirname(os.path.abspath(path)))


def artwork_state(job: Job, job_path: str) -> ArtworkState:
    """Whether the artwork still has the content that the job is about.

    ``"missing"``: there is no such file. One that cannot be read raises UsageError.
    """
    path = os.path.join(os.path.dirname(os.path.abspath(job_path)), job.artwork_path)
    if not os.path.isfile(path):
        return "missing"
    try:
        with open(path, "rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return "missing"
    except OSError as error:
        raise UsageError(f"{path}: the artwork cannot be read ({error.strerror})") from error
    return "same" if found == job.sha256 else "changed"


# --- a job as text --------------------------------------------------------------------


def job_to_text(job: Job, folder: str, more: dict[str, Any] | None = None) -> str:
    """The text of a job file that lies in ``folder``. ``more``: further top-level tables."""
    top: dict[str, Any] = {"schema": SCHEMA, "cup": job.cup_name, "scale": float(job.scale)}
    if job.notes:
        top["notes"] = job.notes
    center_mm = [float(value) for value in job.placement.center_mm]
    tables: dict[str, Any] = {
        "artwork": {"path": _path_from(job.artwork_path, folder), "sha256": job.sha256},
        "placement": {"center_mm": center_mm, "turn_deg": float(job.placement.turn_deg)},
        "load": load_to_table(job.load),
        "press": press_to_table(job.press),
    }
    typed = typed_to_table(job.press)
    if typed:
        tables["typed"] = typed
    tables.update(more or {})
    # Notes over several lines are easier to read, but lose the line ends of other systems.
    head = tomli_w.dumps(top, multiline_strings="\r" not in job.notes)
    # Below, no text has a line end in it, so what looks like a pair of numbers is one.
    return f"{_HEADER}{head}\n{_PAIR.sub(_on_one_line, tomli_w.dumps(tables))}"


def _on_one_line(pair: re.Match[str]) -> str:
    return f"[{pair[1]}, {pair[2]}]"


def job_of(values: dict[str, Any], source: str, folder: str) -> Job:
    """A job from the tables of a file ``source``, whose paths begin at ``folder``."""
    _check_schema(values, source)
    top = Table(source, values, _TOP_KEYS)
    artwork = _needed(top, "artwork", source, _ARTWORK_KEYS)
    placement = _needed(top, "placement", source, _PLACEMENT_KEYS)
    press_table = _needed(top, "press", source, PRESS_KEYS)
    press = with_typed(
        press_of(press_table, source, as_saved=True),
        top.table("typed", source, TYPED_KEYS),
        source,
    )
    path = _path_in(artwork, folder)
    sha256 = artwork.text("sha256")
    load = load_from_table(top.table("load", source, LOAD_KEYS))
    cup_name, scale = top.text("cup"), top.finite("scale")
    notes = top.text("notes") if "notes" in top else ""
    placed = _placement(placement)
    with top.about():
        return Job(path, sha256, load, press, cup_name, placed, scale, notes)


def _check_schema(values: dict[str, Any], source: str) -> None:
    """Before anything else: a later program may have other keys."""
    if "schema" not in values:
        raise UsageError(f"{source}: schema is missing, so it is no job file")
    schema = values["schema"]
    if isinstance(schema, bool) or not isinstance(schema, int) or schema < 1:
        raise UsageError(f"{source}: schema must be {SCHEMA}, not {shown(schema)}")
    if schema > SCHEMA:
        raise UsageError(
            f"{source}: written by a later version (schema {shown(schema)}); this one reads"
            f" schema {SCHEMA}: open it with that version"
        )


def _needed(top: Table, key: str, source: str, allowed: tuple[str, ...]) -> Table:
    table = top.table(key, source, allowed)
    if table is None:
        raise UsageError(f"{source}: the table [{key}] is missing")
    return table


def _placement(table: Table) -> Placement:
    points = table.point("center_mm", "[x, y] in mm from the page's left and top")
    return Placement(points, table.finite("turn_deg"))


def _path_in(artwork: Table, folder: str) -> str:
    path = artwork.text("path")
    if not path or "\0" in path:
        artwork.fail("path", f"is not the name of a file: {shown(path)}")
    return os.path.normpath(os.path.join(folder, path))


def _path_from(path: str, folder: str) -> str:
    """Relative where the file lies beside or below, so that both can be moved together."""
    whole = os.path.abspath(path)
    try:
        is_below = os.path.commonpath([whole, folder]) == os.path.normpath(folder)
    except ValueError:
        is_below = False  # another drive
    # With "/" in it every system reads it.
    return os.path.relpath(whole, folder).replace(os.sep, "/") if is_below else whole


def check_text(
    text: str, job: Job, path: str, folder: str, leave_out: tuple[str, ...] = ()
) -> None:
    """Read back what is about to be written; work must not be lost to a file of no use.

    ``leave_out``: top-level tables that are no part of a job. UsageError where the job would
    not come back.
    """
    try:
        content = text.encode()
    except UnicodeEncodeError:
        what = "the notes hold" if _is_text(job.artwork_path) else "the artwork's name holds"
        raise UsageError(f"{path}: cannot be written: {what} bytes that are no text") from None
    if len(content) > LARGEST_FILE_BYTES:
        raise UsageError(
            f"{path}: cannot be written: the job is larger than {LARGEST_FILE_BYTES // 1024} kB"
        )
    values = parse_toml(text, path, "job file")
    kept = {key: value for key, value in values.items() if key not in leave_out}
    if job_of(kept, path, folder) != plain_job(job):
        raise UsageError(f"{path}: cannot be written: it would not be read back as the same job")


def plain_job(job: Job) -> Job:
    """The job as it is read back: an absolute path, no numbers that mean nothing."""
    return replace(
        job, artwork_path=os.path.abspath(job.artwork_path), press=plain_press(job.press)
    )


def _is_text(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True
