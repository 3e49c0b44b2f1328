"""Where the approval record lies."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass

from viewer.errors import UsageError

RECORD_VARIABLE = "BRIMCHECK_RECORD"
FILE_NAME = "sign-off.sqlite"


@dataclass(frozen=True)
class RecordPlace:
    """A record's path. ``is_usual``: in the user's data folder, which is made if needed."""

    path: str
    is_usual: bool = False


def record_place(given: str | None = None, environ: Mapping[str, str] | None = None) -> RecordPlace:
    """The record of a call: the one given, else BRIMCHECK_RECORD, else the user's own."""
    if given is not None:
        if not given.strip():
            raise UsageError("--record needs the name of a file")
        return RecordPlace(given)
    named = (os.environ if environ is None else environ).get(RECORD_VARIABLE, "")
    if named:
        return RecordPlace(named)
    from platformdirs import user_data_dir  # only here: most calls need no record

    return RecordPlace(os.path.join(user_data_dir("brimcheck", appauthor=False), FILE_NAME), True)
