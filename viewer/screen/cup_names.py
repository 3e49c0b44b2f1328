"""How a cup's name is written in its row: never cut, however long."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.screen.layout import Layout
from viewer.screen.text import Texts

COLUMN_PX = 46
USUAL_PX, SMALL_PX, TWO_LINES_PX, ABOVE_PX = 20, 14, 12.5, 12.5
LINE_PX = 17


@dataclass(frozen=True)
class NameLines:
    """``is_above``: it has lines of its own over the row, as wide as the row."""

    lines: tuple[str, ...]
    size_px: int
    is_above: bool


def name_lines(name: str, wide_px: int, layout: Layout, texts: Texts) -> NameLines:
    """A name in its column in one line or two, else above the row. ``wide_px``: the row's."""
    px = layout.px
    column = px(COLUMN_PX)
    size = max(px(SMALL_PX), texts.size_that_fits(name, column, layout.ui, USUAL_PX, True))
    if texts.width(name, size, True) <= column:
        return NameLines((name,), size, False)
    size = px(TWO_LINES_PX)
    lines = _broken(name, column, size, texts)
    if len(lines) <= 2 and " ".join(lines) == name:
        return NameLines(lines, size, False)
    size = px(ABOVE_PX)
    return NameLines(_broken(name, wide_px, size, texts), size, True)


def _broken(name: str, wide_px: int, size_px: int, texts: Texts) -> tuple[str, ...]:
    """Lines no wider than there is room, broken at spaces, a word too long within itself."""
    lines: list[str] = []
    for word in name.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and texts.width(longer, size_px, True) <= wide_px:
            lines[-1] = longer
            continue
        part = word
        while texts.width(part, size_px, True) > wide_px and len(part) > 1:
            count = len(part) - 1
            while count > 1 and texts.width(part[:count], size_px, True) > wide_px:
                count -= 1
            lines.append(part[:count])
            part = part[count:]
        lines.append(part)
    return tuple(lines)


def extra_px(name: NameLines, layout: Layout) -> int:
    """How much higher a row is for a name above it."""
    return layout.px(LINE_PX) * len(name.lines) if name.is_above else 0
