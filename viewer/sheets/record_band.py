"""What the approval record says, in a frame that every page of a sheet bears."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from viewer.geometry import Bounds
from viewer.sheets.draw_list import Item, Stroke, Text, box
from viewer.sheets.text_flow import Measure, wrapped

TITLE = "Approval record"
SIZES_MM = (2.5, 2.3, 2.1, 1.9)
"""Of its letters: smaller where much is to be said, down to what can still be read."""
STATE_MM = 6.0
"""Of the letters of the state: as large as those of the verdict at most."""
HIGH_MM = 36.0
"""So high it may be before the letters become smaller."""
MOST_MM = 80.0
"""Higher than that it is not: what is left out is said to be in the record."""
MORE = "More is in the approval record: brimcheck signoff list."
TITLE_MM = 2.5
_BAR_MM = 8.5
_LEADING = 1.36
_AIR_MM = 1.6
_GAP_MM = 3.0


@dataclass(frozen=True)
class RecordTold:
    """``state`` in a word or two; ``lines``, the weightiest first; none: nothing is printed.

    ``is_bad``: whoever takes the sheet must see at arm's length that it is no plain approval.
    ``needed``: so many lines stand there in full, however long they are.
    """

    state: str
    lines: tuple[str, ...]
    is_bad: bool = False
    needed: int = 1


NOTHING_TOLD = RecordTold("", ())


@dataclass(frozen=True)
class RecordBand:
    """Lines broken for one width, bold or not. Above them stands the state, and the title."""

    width_mm: float
    size_mm: float
    rows: tuple[tuple[str, bool], ...]
    state: str = ""
    state_mm: float = STATE_MM
    is_bad: bool = False

    @property
    def frame_mm(self) -> float:
        """Height of the frame."""
        if not self.rows:
            return 0.0
        return _BAR_MM + 2.0 * _AIR_MM + len(self.rows) * self.size_mm * _LEADING

    @property
    def height_mm(self) -> float:
        """What it takes of a page, with what is free below; nothing where nothing is said."""
        return self.frame_mm + _GAP_MM if self.rows else 0.0

    def items(self, x: float, y: float) -> Iterator[Item]:
        """The frame, its state and its lines, from a page's point on."""
        if not self.rows:
            return
        yield box(Bounds(x, y, x + self.width_mm, y + self.frame_mm), Stroke(0.35))
        bar = Bounds(x, y, x + self.width_mm, y + _BAR_MM)
        # White on black, as a verdict that is none: paper and ink must not be taken for both.
        yield box(bar, Stroke(0.35), 0.0 if self.is_bad else None)
        middle = y + _BAR_MM / 2.0 + self.state_mm * 0.36
        gray = 1.0 if self.is_bad else 0.0
        yield Text(x + 2.0, middle, self.state, self.state_mm, True, gray=gray)
        right = x + self.width_mm - 2.0
        yield Text(right, middle, TITLE, TITLE_MM, True, "end", gray)
        base = y + _BAR_MM + _AIR_MM + self.size_mm
        for words, bold in self.rows:
            yield Text(x + 2.0, base, words, self.size_mm, bold)
            base += self.size_mm * _LEADING


def record_band(told: RecordTold, width_mm: float, measure: Measure) -> RecordBand:
    """State and lines in a frame of this width."""
    bands = [_band(told, width_mm, size_mm, measure) for size_mm in SIZES_MM]
    band = next((band for band in bands if band.frame_mm <= HIGH_MM), bands[-1])
    count = len(told.lines)
    while band.frame_mm > MOST_MM and count > told.needed:
        # The artwork needs its place as well. What decides comes first, and is never cut.
        count -= 1
        shorter = replace(told, lines=(*told.lines[:count], MORE))
        band = _band(shorter, width_mm, SIZES_MM[-1], measure)
    return band


def _band(told: RecordTold, width_mm: float, size_mm: float, measure: Measure) -> RecordBand:
    rows: list[tuple[str, bool]] = []
    for index, text in enumerate(told.lines):
        bold = index == 0
        rows += [(part, bold) for part in wrapped(text, width_mm - 4.0, size_mm, bold, measure)]
    state_mm = STATE_MM
    room = width_mm - 8.0 - measure(TITLE, TITLE_MM, True)
    while state_mm > 3.0 and measure(told.state, state_mm, True) > room:
        state_mm -= 0.25
    return RecordBand(width_mm, size_mm, tuple(rows), told.state, state_mm, told.is_bad)
