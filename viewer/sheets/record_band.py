"""What the approval record says, in a frame that every page of a sheet bears."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from viewer.geometry import Bounds
from viewer.sheets.draw_list import Item, Stroke, Text, box
from viewer.sheets.text_flow import Measure, wrapped

TITLE = "Approval record"
SIZES_MM = (2.5, 2.3, 2.1, 1.9)
"""Of its letters: smaller where much is to be said, down to what can still be read."""
HIGH_MM = 32.0
"""So high it may be before the letters become smaller."""
_LEADING = 1.36
_AIR_MM = 1.6
_GAP_MM = 3.0


@dataclass(frozen=True)
class RecordBand:
    """Lines broken for one width, title first; bold or not."""

    width_mm: float
    size_mm: float
    rows: tuple[tuple[str, bool], ...]

    @property
    def frame_mm(self) -> float:
        """Height of the frame."""
        return 2.0 * _AIR_MM + len(self.rows) * self.size_mm * _LEADING if self.rows else 0.0

    @property
    def height_mm(self) -> float:
        """What it takes of a page, with what is free below; nothing where nothing is said."""
        return self.frame_mm + _GAP_MM if self.rows else 0.0

    def items(self, x: float, y: float) -> Iterator[Item]:
        """The frame and its lines, from a page's point on."""
        if not self.rows:
            return
        yield box(Bounds(x, y, x + self.width_mm, y + self.frame_mm), Stroke(0.35))
        base = y + _AIR_MM + self.size_mm
        for words, bold in self.rows:
            yield Text(x + 2.0, base, words, self.size_mm, bold)
            base += self.size_mm * _LEADING


def record_band(lines: tuple[str, ...], width_mm: float, measure: Measure) -> RecordBand:
    """The lines in a frame of this width. The first of them is the one that counts most."""
    bands = [_band(lines, width_mm, size_mm, measure) for size_mm in SIZES_MM]
    return next((band for band in bands if band.frame_mm <= HIGH_MM), bands[-1])


def _band(lines: tuple[str, ...], width_mm: float, size_mm: float, measure: Measure) -> RecordBand:
    rows = [(TITLE, True)] if lines else []
    for index, text in enumerate(lines):
        bold = index == 0
        rows += [(part, bold) for part in wrapped(text, width_mm - 4.0, size_mm, bold, measure)]
    return RecordBand(width_mm, size_mm, tuple(rows))
