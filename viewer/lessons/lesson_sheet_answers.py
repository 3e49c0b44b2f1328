"""The answers to a lesson's exercises, with the worked sums, on pages of their own. Mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from viewer.geometry import Bounds
from viewer.lessons.lesson import Ask
from viewer.lessons.lesson_sheet_drawing import Panel, panel_items, sketch_of
from viewer.lessons.texts import Words
from viewer.report import CAUTION
from viewer.sheets.draw_list import Item, Page, Stroke, Text, line
from viewer.sheets.frame import SMALL_MM
from viewer.sheets.page import Format
from viewer.sheets.text_flow import Measure, wrapped

_EDGE_MM = 18.0
_TITLE_MM = 5.2
_TEXT_MM = 3.0
_ANSWER_MM = 3.4
_LEADING = 1.38
_INDENT_MM = 8.0
_GAP_MM = 10.0
_BETWEEN_MM = 6.0
_FOOT_MM = 12.0
_SKETCHES_MM = ((46.0, 40.0), (40.0, 32.0), (34.0, 25.0), (30.0, 22.0))
"""Room for a sketch; smaller ones where that saves a page."""


@dataclass(frozen=True)
class _Block:
    """One exercise answered; it is never cut."""

    number: int
    answer: tuple[str, ...]
    question: tuple[str, ...]
    worked: tuple[str, ...]
    sketch: Panel | None
    room_mm: tuple[float, float]

    @property
    def height(self) -> float:
        """Without what is kept free below."""
        rows = len(self.question) + len(self.worked)
        told = len(self.answer) * _ANSWER_MM * _LEADING + rows * _TEXT_MM * _LEADING + 2.0
        return told + (self.sketch_size[1] if self.sketch is not None else 0.0)

    @property
    def sketch_scale(self) -> float:
        """So that it goes into its room; a sketch is not to scale."""
        assert self.sketch is not None
        air = self.sketch.size_mm(0.0)
        sides = zip(self.room_mm, air, (self.sketch.box.width, self.sketch.box.height), strict=True)
        return min((room - around) / max(side, 1.0) for room, around, side in sides)

    @property
    def sketch_size(self) -> tuple[float, float]:
        """Width and height."""
        assert self.sketch is not None
        return self.sketch.size_mm(self.sketch_scale)


def answer_pages(
    asks: Sequence[Ask], words: Words, about: tuple[str, str], foot: str, base: Format,
    measure: Measure,
) -> tuple[Page, ...]:  # fmt: skip
    """As many pages as it takes; mostly one. ``about``: the title, and which exercises."""
    format_ = base.turned(False)
    width, height = format_.size_mm
    window = Bounds(_EDGE_MM, _EDGE_MM, width - _EDGE_MM, height - _EDGE_MM - _FOOT_MM)
    head = tuple(_head(window, words, about, measure))
    for room_mm in _SKETCHES_MM:
        drafts = _drafts(asks, window, head, room_mm, measure)
        if len(drafts) == 1:
            break
    return tuple(
        Page(
            format_.paper_mm,
            (*items, *_foot_items(window, foot, number, len(drafts))),
            format_.printer_scale,
        )
        for number, items in enumerate(drafts, 1)
    )


def _drafts(
    asks: Sequence[Ask],
    window: Bounds,
    head: tuple[Text, ...],
    room_mm: tuple[float, float],
    measure: Measure,
) -> list[tuple[Item, ...]]:
    """Pages without their feet."""
    column_mm = (window.width - _GAP_MM) / 2.0
    numbered = enumerate(asks, 1)
    rest = [_block(number, ask, column_mm, room_mm, measure) for number, ask in numbered]
    drafts: list[tuple[Item, ...]] = []
    top = max(item.y for item in head) + 7.0
    while rest:
        body = Bounds(window.x0, top, window.x1, window.y1)
        columns = _columns(rest, body.height)
        rest = rest[sum(len(column) for column in columns) :]
        items = _set(columns, body, column_mm, measure)
        drafts.append((*(head if not drafts else ()), *items))
        top = window.y0
    return drafts


def _block(
    number: int, ask: Ask, width_mm: float, room_mm: tuple[float, float], measure: Measure
) -> _Block:
    room = width_mm - _INDENT_MM
    worked = [row for text in ask.worked for row in wrapped(text, room, _TEXT_MM, False, measure)]
    return _Block(
        number,
        wrapped(ask.answer.shown(), room, _ANSWER_MM, True, measure),
        wrapped(ask.text, room, _TEXT_MM, False, measure),
        tuple(worked),
        sketch_of(ask.marks) if ask.marks else None,
        room_mm,
    )


def _columns(blocks: Sequence[_Block], height_mm: float) -> tuple[tuple[_Block, ...], ...]:
    """Two columns of whole blocks in order, as even as they can be; the rest is left over."""
    best: tuple[int, float, int] | None = None
    for cut in range(1, len(blocks) + 1):
        if cut > 1 and _height(blocks[:cut]) > height_mm:
            break
        end = cut
        while end < len(blocks) and _height(blocks[cut : end + 1]) <= height_mm:
            end += 1
        uneven = max(_height(blocks[:cut]), _height(blocks[cut:end]))
        if best is None or (-end, uneven) < (-best[0], best[1]):
            best = end, uneven, cut
    assert best is not None
    end, _uneven, cut = best
    return tuple(blocks[:cut]), tuple(blocks[cut:end])


def _height(blocks: Sequence[_Block]) -> float:
    return sum(block.height for block in blocks) + _BETWEEN_MM * max(0, len(blocks) - 1)


def _set(
    columns: Sequence[Sequence[_Block]], body: Bounds, column_mm: float, measure: Measure
) -> Iterator[Item]:
    for index, column in enumerate(columns):
        x, y = body.x0 + index * (column_mm + _GAP_MM), body.y0
        for block in column:
            yield from _block_items(block, x, y, measure)
            y += block.height + _BETWEEN_MM


def _block_items(block: _Block, x: float, y: float, measure: Measure) -> Iterator[Item]:
    left = x + _INDENT_MM
    yield Text(x, y + _ANSWER_MM, str(block.number), _ANSWER_MM, bold=True)
    for row in block.answer:
        yield Text(left, y + _ANSWER_MM, row, _ANSWER_MM, bold=True)
        y += _ANSWER_MM * _LEADING
    for rows, gray in ((block.question, 0.4), (block.worked, 0.0)):
        y += 1.0
        for row in rows:
            yield Text(left, y + _TEXT_MM, row, _TEXT_MM, gray=gray)
            y += _TEXT_MM * _LEADING
    if block.sketch is not None:
        yield panel_items(block.sketch, (left, y), block.sketch_scale, measure)


def _head(window: Bounds, words: Words, about: tuple[str, str], measure: Measure) -> Iterator[Text]:
    y = window.y0
    for row in wrapped(about[0], window.width, _TITLE_MM, True, measure):
        yield Text(window.x0, y + _TITLE_MM * 0.86, row, _TITLE_MM, bold=True)
        y += _TITLE_MM * 1.25
    y += 1.5
    for sentence in (about[1], words.say("keep-apart")):
        for row in wrapped(sentence, window.width, _TEXT_MM, False, measure):
            y += _TEXT_MM * _LEADING
            yield Text(window.x0, y, row, _TEXT_MM, gray=0.2)


def _foot_items(window: Bounds, foot: str, page: int, pages: int) -> Iterator[Item]:
    y = window.y1 + _FOOT_MM
    # The first letter stands behind a quotation mark.
    yield Text(window.x0, y - 5.2, CAUTION[0] + CAUTION[1].upper() + CAUTION[2:], SMALL_MM)
    yield line(window.x0, y - 3.4, window.x1, y - 3.4, Stroke(0.15, 0.55))
    yield Text(window.x0, y, foot, SMALL_MM)
    yield Text(window.x1, y, f"page {page} of {pages}", SMALL_MM, anchor="end")
