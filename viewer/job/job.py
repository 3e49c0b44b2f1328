"""A job as a value: which artwork, read how, on which press, placed how."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from viewer.artwork.model import LoadOptions
from viewer.errors import UsageError
from viewer.fit.model import Placement
from viewer.press import Press

LONGEST_NOTES = 20_000
"""Characters; some pages of text."""


@dataclass(frozen=True)
class Job:
    """All that a person has decided about one file of artwork.

    ``sha256`` is that of the file's bytes when it was measured. ``load`` says how to read
    it, ``scale`` what it is multiplied by after that. The limits of ``press`` are those
    chosen for this job; ``cup_name`` names one of its cups. ``placement`` is in mm of the
    artwork's page after scaling. A job that cannot be one raises UsageError.
    """

    artwork_path: str
    sha256: str
    load: LoadOptions
    press: Press
    cup_name: str
    placement: Placement
    scale: float
    notes: str = ""

    def __post_init__(self) -> None:
        if not self.artwork_path or "\0" in self.artwork_path:
            raise UsageError(f"artwork path {self.artwork_path!r} is not the name of a file")
        if not re.fullmatch("[0-9a-f]{64}", self.sha256):
            raise UsageError(
                f"sha256 must be 64 digits from 0 to 9 and a to f, not {_short(self.sha256)}"
            )
        names = [cup.name for cup in self.press.cups]
        if self.cup_name not in names:
            known = _short(", ".join(repr(name) for name in names), 200)
            raise UsageError(f"cup names no cup: {_short(repr(self.cup_name))}; there are {known}")
        if not all(math.isfinite(v) for v in (*self.placement.center_mm, self.placement.turn_deg)):
            raise UsageError("the placement must be given in plain numbers")
        if not (math.isfinite(self.scale) and self.scale > 0):
            raise UsageError(f"scale must be more than zero, not {self.scale:g}")
        if len(self.notes) > LONGEST_NOTES:
            raise UsageError(
                f"notes must be at most {LONGEST_NOTES} characters long, not {len(self.notes)}"
            )


def _short(text: str, length: int = 60) -> str:
    return text if len(text) <= length else text[: length - 3] + "..."
