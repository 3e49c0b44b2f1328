"""What a person decides about artwork: an entry, before the record makes a row of it."""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from enum import StrEnum

from viewer import __version__
from viewer.errors import UsageError
from viewer.fit import Verdict

LONGEST_NAME = 100
LONGEST_TEXT = 2000
"""Characters. What people type; not a place for documents."""


_BLANK_LETTERS = "\u115f\u1160\u3164\uffa0"
"""Letters by the standard (Unicode, Default_Ignorable_Code_Point), of which nothing is seen."""


class Decision(StrEnum):
    """What was decided."""

    APPROVE = "approve"
    REJECT = "reject"


class Stage(StrEnum):
    """When it was decided: before the plate is made, or at the press."""

    PLATE = "plate"
    PRESS = "press"


@dataclass(frozen=True)
class Entry:
    """One decision. Building one that must not be recorded raises UsageError.

    ``sha256``: of the file's bytes, 64 small hex digits. ``settings``: canonical JSON
    of exactly what was measured and where it was placed (`settings_of`). ``verdict`` and
    ``clearance_mm`` (positive inside, None where there is none) hold at that placement.

    An approval needs a ``reason`` while the verdict is not "fits", and takes none
    otherwise: the reason is printed on every copy.
    """

    sha256: str
    file_name: str
    settings: str
    cup: str
    verdict: Verdict
    clearance_mm: float | None
    decision: Decision
    by: str
    stage: Stage = Stage.PLATE
    note: str = ""
    reason: str = ""
    tool_version: str = __version__

    def __post_init__(self) -> None:
        for name in ("file_name", "cup", "by", "note", "reason", "tool_version"):
            object.__setattr__(self, name, _storable(getattr(self, name)))
        if self.clearance_mm is not None and not math.isfinite(self.clearance_mm):
            object.__setattr__(self, "clearance_mm", None)
        if not re.fullmatch(r"[0-9a-f]{64}", self.sha256):
            raise UsageError(f"a SHA-256 is 64 hex digits, not {self.sha256[:80]!r}")
        _check_settings(self.settings)
        _check_text("the name of who decides", self.by, LONGEST_NAME)
        _check_text("the name of the cup", self.cup, LONGEST_NAME)
        for what, text in (("the note", self.note), ("the reason", self.reason)):
            if text:
                _check_text(what, text, LONGEST_TEXT)
        self._check_reason()

    def _check_reason(self) -> None:
        approves = self.decision is Decision.APPROVE
        if approves and self.verdict is not Verdict.FITS and not self.reason:
            raise UsageError(
                f"{self.file_name}: not approved, as the verdict for the {self.cup} cup is"
                f" {self.verdict.value}, not fits; to approve it all the same give a reason,"
                " which is printed on every copy",
                code="reason-needed",
            )
        if self.reason and not approves:
            raise UsageError("a rejection takes no reason: say why in the note")
        if self.reason and self.verdict is Verdict.FITS:
            raise UsageError("a reason is for artwork that does not fit; use the note instead")


def _storable(text: str) -> str:
    """Without space around it, and without bytes that are not text (from a file's name)."""
    return text.strip().encode("utf-8", "backslashreplace").decode("utf-8")


def _check_text(what: str, text: str, longest: int) -> None:
    """Something that a person can read: invisible or bare signs explain nothing."""
    if not any(char.isalnum() and char not in _BLANK_LETTERS for char in text):
        raise UsageError(f"{what} must hold letters or digits, not {text[:40]!r}")
    if len(text) > longest:
        raise UsageError(f"{what} has {len(text)} characters; at most {longest} are kept")


def _check_settings(text: str) -> None:
    try:
        held = json.loads(text)
        json.dumps(held, allow_nan=False)
        is_object = isinstance(held, dict)
    except (ValueError, RecursionError):
        is_object = False
    if not is_object:
        raise UsageError(f"settings must be a JSON object, not {text[:40]!r}")
