"""Text broken into lines and set in columns. The widths come from whoever knows the face."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from viewer.geometry import Bounds
from viewer.sheets.draw_list import Text

Measure = Callable[[str, float, bool], float]
"""Width in mm of a text, from its size in mm and whether it is bold."""

_LEADING = 1.38
_MEASURED_IN = 120
"""No line that is printed holds more signs; longer words are cut there at the latest."""


@dataclass(frozen=True)
class Block:
    """A heading and what stands under it, each paragraph broken where it must be."""

    title: str
    paragraphs: tuple[str, ...]


@dataclass(frozen=True)
class Row:
    """One line, ready to be set; ``advance_mm`` is from the line before."""

    text: str
    size_mm: float
    bold: bool
    advance_mm: float
    keeps_with_next: bool = False


def wrapped(
    text: str, width_mm: float, size_mm: float, bold: bool, measure: Measure
) -> tuple[str, ...]:
    """Lines no wider than ``width_mm``; a word that is wider alone is cut."""
    lines: list[str] = []
    current = ""
    for word in text.split():
        for piece in _pieces(word, width_mm, size_mm, bold, measure):
            joined = f"{current} {piece}" if current else piece
            if current and measure(joined, size_mm, bold) > width_mm:
                lines.append(current)
                current = piece
            else:
                current = joined
    return (*lines, current) if current else tuple(lines)


def _pieces(
    word: str, width_mm: float, size_mm: float, bold: bool, measure: Measure
) -> Iterator[str]:
    while len(word) > _MEASURED_IN or measure(word, size_mm, bold) > width_mm:
        count = min(len(word), _MEASURED_IN)
        while count > 1 and measure(word[:count], size_mm, bold) > width_mm:
            count -= 1
        yield word[:count]
        word = word[count:]
    if word:
        yield word


def shortened(text: str, width_mm: float, size_mm: float, bold: bool, measure: Measure) -> str:
    """The text, its middle left out where it is too wide for one line."""
    if measure(text, size_mm, bold) <= width_mm:
        return text
    for kept in range(min(len(text), 200) // 2, 0, -1):
        short = f"{text[:kept]}\u2026{text[-kept:]}"
        if measure(short, size_mm, bold) <= width_mm:
            return short
    return "\u2026"


def rows_of(
    blocks: Iterable[Block], width_mm: float, size_mm: float, measure: Measure
) -> list[Row]:
    """All lines of the blocks for a column of this width."""
    rows: list[Row] = []
    for block in blocks:
        gap = size_mm * 2.1
        for index, line in enumerate(wrapped(block.title, width_mm, size_mm, True, measure)):
            rows.append(Row(line, size_mm, True, size_mm * _LEADING if index else gap, True))
        for paragraph in block.paragraphs:
            broken = wrapped(paragraph, width_mm, size_mm, False, measure)
            for index, line in enumerate(broken):
                advance = size_mm * (_LEADING if index else _LEADING + 0.12)
                # A paragraph stays in one column: half a measure is read as all of it.
                goes_on = index < len(broken) - 1
                rows.append(Row(line, size_mm, False, advance, goes_on))
    return rows


def set_in_columns(
    rows: list[Row], columns: Iterable[Bounds]
) -> tuple[tuple[Text, ...], list[Row]]:
    """Text in the columns, one after the other, and the rows that found no place."""
    placed: list[Text] = []
    rest = list(rows)
    for column in columns:
        taken = _fitting(rest, column.height)
        y = column.y0
        for index, row in enumerate(rest[:taken]):
            y += row.size_mm if index == 0 else row.advance_mm
            placed.append(Text(column.x0, y, row.text, row.size_mm, row.bold))
        rest = rest[taken:]
    return tuple(placed), rest


def height_of(rows: list[Row]) -> float:
    """What the rows take in one column, down to the last baseline, with its descenders."""
    if not rows:
        return 0.0
    return rows[0].size_mm + sum(row.advance_mm for row in rows[1:]) + rows[-1].size_mm * 0.3


def _fitting(rows: list[Row], height_mm: float) -> int:
    """How many rows go into a column: no heading alone at its end, and whole paragraphs,
    but for one that is longer than a column.
    """
    taken = 0
    while taken < len(rows) and height_of(rows[: taken + 1]) <= height_mm + 1e-9:
        taken += 1
    if taken == len(rows):
        return taken
    kept = taken
    while kept and rows[kept - 1].keeps_with_next:
        kept -= 1
    return kept or taken
