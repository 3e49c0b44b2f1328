"""The cards of sizing by numbers: fields, cups with their grades, greatest sizes."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.press.cups import EXAMPLE_CUPS
from viewer.screen import numbers_words, theme
from viewer.screen.card_base import Card, blank_card, card_title, card_width
from viewer.screen.cup_names import NameLines, extra_px, name_lines
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.limits_card import ChoicesContent
from viewer.screen.numbers_query import DIAGONAL, HEIGHT, KINDS, LABELS, SHAPE, WIDTH
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.numbers_signs import VERDICT_OF, grade_sign
from viewer.screen.patterns import fill_pattern
from viewer.screen.shapes import polygon, rounded
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing
from viewer.sizing import CupAnswer, Grade, grade_words

ROW_PX, LABEL_PX, FIELD_PX = 27, 114, 90
ROW_BASE_PX = 53
HINTS = {
    WIDTH: "66 or 66x88",
    HEIGHT: "about 48, 2 1/2 in",
    DIAGONAL: "farthest apart",
}
"""What an empty field says of itself."""


@dataclass(frozen=True)
class FieldLine:
    """A field: its name, what stands in it, and the same in mm where that differs."""

    name: str
    value: str
    note: str


@dataclass(frozen=True)
class NumbersContent:
    """The fields. ``error``: what is wrong, told under the field ``error_at``."""

    lines: tuple[FieldLine, ...]
    editing: Editing | None
    error: str
    error_at: str
    can_clear: bool
    has_file: bool


@dataclass(frozen=True)
class GradeRow:
    """One cup. ``grade`` None: no answer. Ends of the bar and its tick: 0..1 of its length."""

    name: str
    limit: str
    grade: Grade | None
    word: str
    note: str
    bar: tuple[float, float] | None
    tick: float
    is_chosen: bool


@dataclass(frozen=True)
class GradesContent:
    """All cups, and what limits the image besides them."""

    is_example: bool
    rows: tuple[GradeRow, ...]
    press_note: str


@dataclass(frozen=True)
class SizesContent:
    """The table of greatest sizes: (cup, cells) each."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    chosen: int


NumbersCard = NumbersContent | GradesContent | SizesContent


def numbers_cards(shown: NumbersShown, editing: Editing | None) -> list[NumbersCard]:
    """What the panel says, from top to bottom."""
    found: list[NumbersCard] = [_fields_content(shown, editing)]
    if shown.is_typing or not shown.typed.is_empty:
        found.append(_grades_content(shown))
    found.append(_sizes_content(shown))
    return found


def _fields_content(shown: NumbersShown, editing: Editing | None) -> NumbersContent:
    typed = shown.typed
    mine = editing if editing is not None and editing.name in typed.fields else None
    lines = tuple(
        FieldLine(name, typed.text(name), numbers_words.in_mm(shown, name)) for name in typed.fields
    )
    error, error_at = shown.problem, shown.problem_field
    if mine is not None and mine.error:
        error, error_at = mine.error, mine.name
    return NumbersContent(lines, mine, error, error_at, not typed.is_new, shown.has_file)


def _grades_content(shown: NumbersShown) -> GradesContent:
    reach = max(cup.ring_outer_diameter_mm for cup in shown.cups)
    if shown.circle is not None:
        # One far too large ends at the edge: how far beyond says nothing.
        reach = max(reach, min(float(shown.circle.high), 1.6 * reach))
    answers: tuple[CupAnswer | None, ...] = (None,) * len(shown.cups)
    if shown.answer is not None:
        answers = shown.answer.cups
    rows = tuple(
        _grade_row(shown, index, found, 1.04 * reach) for index, found in enumerate(answers)
    )
    note = shown.answer.limits_note if shown.answer is not None else ""
    return GradesContent(shown.cups == EXAMPLE_CUPS, rows, note)


def _grade_row(
    shown: NumbersShown, index: int, found: CupAnswer | None, reach_mm: float
) -> GradeRow:
    cup = shown.cups[index]
    limit_mm = cup.max_image_diameter_mm
    limit = f"max image \u00d8 {numbers_words.max_image(cup)}"
    tick = limit_mm / reach_mm
    is_chosen = index == shown.chosen and shown.query is not None
    if found is None or shown.circle is None or shown.query is None:
        word = numbers_words.WORKING if shown.is_working else "\u2026"
        return GradeRow(cup.name, limit, None, word, "", None, tick, is_chosen)
    note = numbers_words.cup_note(found)
    if not is_chosen:
        note = numbers_words.short_ask(note) if found.grade is not Grade.FITS else ""
    bar = (
        min(1.0, float(shown.circle.low) / reach_mm),
        min(1.0, float(shown.circle.high) / reach_mm),
    )
    word = grade_words(found.grade, shown.query, found.tight)
    return GradeRow(cup.name, limit, found.grade, word, note, bar, tick, is_chosen)


def _sizes_content(shown: NumbersShown) -> SizesContent:
    answer, title = shown.answer, numbers_words.sizes_title(shown)
    if answer is None or not answer.query.has_sides:
        rows = tuple((cup.name, numbers_words.cup_cells(cup)) for cup in shown.cups)
        chosen = -1 if answer is None else shown.chosen
        return SizesContent(title, numbers_words.OTHER_HEADINGS, rows, chosen)
    rows = tuple((found.cup.name, numbers_words.side_cells(found)) for found in answer.cups)
    return SizesContent(title, numbers_words.SIDE_HEADINGS, rows, shown.chosen)


def shape_choices(shown: NumbersShown | None, editing: Editing | None) -> ChoicesContent | None:
    """The list of shapes, while its field has the keyboard and nothing is wrong there."""
    if shown is None or editing is None or editing.error or editing.name != SHAPE:
        return None
    kinds = [kind for kind, _ in KINDS]
    marked = editing.choice
    return ChoicesContent(SHAPE, KINDS, kinds.index(shown.typed.kind), marked, "")


def draw_numbers_card(content: NumbersCard, layout: Layout, texts: Texts) -> Card:
    """Draw a card from what it says."""
    match content:
        case NumbersContent():
            return _draw_fields(content, layout, texts)
        case GradesContent():
            return _draw_grades(content, layout, texts)
        case SizesContent():
            return _draw_sizes(content, layout, texts)


# --- fields ---------------------------------------------------------------------------


def _draw_fields(content: NumbersContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    width = card_width(layout) - px(28)
    errors = texts.wrap(content.error, width, px(12.5)) if content.error else []
    height = px(36) + px(ROW_PX) * len(content.lines) + px(17) * len(errors) + px(49)
    card = blank_card(layout, height)
    texts.where = "card:numbers"
    card_title(card.surface, layout, texts, "Size by numbers", "mm, or with its unit")
    y = px(36)
    for line in content.lines:
        _draw_line(card, line, content, y, layout, texts)
        y += px(ROW_PX)
        if line.name == content.error_at:
            for text in errors:
                place = pygame.Rect(px(14), y - px(3), width, px(17))
                texts.draw(card.surface, text, place, px(12.5), theme.VERDICT_TEXT["outside"])
                y += px(17)
    _draw_buttons(card, content, y + px(6), layout, texts)
    return card


def _draw_line(
    card: Card, line: FieldLine, content: NumbersContent, y: int, layout: Layout, texts: Texts
) -> None:
    px, surface = layout.px, card.surface
    width = card_width(layout) - px(28)
    label = pygame.Rect(px(14), y, px(LABEL_PX) - px(4), px(24))
    size = texts.size_that_fits(LABELS[line.name], label.width, layout.ui, 12.5)
    texts.draw(surface, LABELS[line.name], label, size, theme.TEXT_SOFT)
    box = pygame.Rect(px(14) + px(LABEL_PX), y, width - px(LABEL_PX), px(24))
    # A long number needs the room of its note; the sum says the same.
    room = px(FIELD_PX) - 2 * px(7)
    if line.note and texts.width(line.value, px(11), True) <= room:
        box.width = px(FIELD_PX)
        note = pygame.Rect(box.right + px(6), y, px(14) + width - box.right - px(6), px(24))
        size = texts.size_that_fits(line.note, note.width, layout.ui, 12.5)
        texts.draw(surface, line.note, note, size, theme.TEXT_SOFT)
    editing = content.editing if content.editing and content.editing.name == line.name else None
    is_hint = editing is None and not line.value
    value = HINTS.get(line.name, "") if is_hint else line.value
    letters = 11 if is_hint else 14
    draw_field(surface, box, value, editing, layout, texts, "left", letters, is_dim=is_hint)
    if line.name == SHAPE and editing is None:
        x, middle = box.right - px(13), box.centery - px(1)
        corners = [(x - px(4), middle - px(2)), (x + px(4), middle - px(2)), (x, middle + px(3))]
        polygon(surface, corners, theme.TEXT_DIM)
    card.hits.append((f"field:{line.name}", box))


def _draw_buttons(
    card: Card, content: NumbersContent, y: int, layout: Layout, texts: Texts
) -> None:
    px = layout.px
    buttons = [("numbers:clear", "Clear all", content.can_clear)]
    if content.has_file:
        buttons.append(("numbers:back", "Back to the artwork", True))
    left, gap = px(14), px(8)
    width = card_width(layout) - px(28)
    wides = [texts.width(label, px(12.5), True) + px(24) for _, label, _ in buttons]
    wides[-1] = width - sum(wides[:-1]) - gap * (len(buttons) - 1)
    for (name, label, is_on), wide in zip(buttons, wides, strict=True):
        box = pygame.Rect(left, y, wide, px(29))
        rounded(card.surface, box, px(5), theme.BUTTON)
        color = theme.TEXT if is_on else theme.TEXT_OFF
        inner = box.inflate(-px(8), 0)
        size = texts.size_that_fits(label, inner.width, layout.ui, 12.5, is_on)
        texts.draw(card.surface, label, inner, size, color, bold=is_on, align="center")
        card.hits.append((name, box))
        left = box.right + gap


# --- cups -----------------------------------------------------------------------------


def _draw_grades(content: GradesContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    wide = card_width(layout) - px(28)
    names = [name_lines(row.name, wide, layout, texts) for row in content.rows]
    notes = [
        _note_lines(row, name, layout, texts) for row, name in zip(content.rows, names, strict=True)
    ]
    heights = [
        px(ROW_BASE_PX) + px(15) * len(lines) + extra_px(name, layout)
        for name, lines in zip(names, notes, strict=True)
    ]
    press = texts.wrap(content.press_note, wide, px(11)) if content.press_note else []
    high = px(36) + sum(heights) + px(6) + (px(15) * len(press) + px(6) if press else 0)
    card = blank_card(layout, high)
    texts.where = "card:grades"
    title = "Cups, an example set" if content.is_example else "Cups"
    card_title(card.surface, layout, texts, title, "tick: max image")
    y = px(34)
    for index, row in enumerate(content.rows):
        box = pygame.Rect(px(6), y, card.surface.get_width() - px(12), heights[index] - px(1))
        _draw_grade_row(card.surface, row, names[index], notes[index], box, layout, texts)
        card.hits.append((f"numbers:cup:{index}", box))
        y += heights[index]
    y += px(6)
    for text in press:
        place = pygame.Rect(px(14), y, wide, px(15))
        texts.draw(card.surface, text, place, px(11), theme.TEXT_SOFT)
        y += px(15)
    return card


def _left(name: NameLines, layout: Layout) -> int:
    return layout.px(8) if name.is_above else layout.px(58)


def _note_lines(row: GradeRow, name: NameLines, layout: Layout, texts: Texts) -> list[str]:
    free = card_width(layout) - layout.px(12) - _left(name, layout) - layout.px(8)
    return texts.wrap(row.note, free, layout.px(11)) if row.note else []


def _draw_grade_row(
    surface: pygame.Surface,
    row: GradeRow,
    name: NameLines,
    notes: list[str],
    box: pygame.Rect,
    layout: Layout,
    texts: Texts,
) -> None:
    px = layout.px
    if row.is_chosen:
        rounded(surface, box, px(5), theme.CARD_ROW)
    line = pygame.Rect(box.x + px(8), box.y + px(3), px(46), px(34))
    if name.is_above or len(name.lines) > 1:
        line.height = px(17)
    if name.is_above:
        line.width = box.width - px(16)
    for text in name.lines:
        texts.draw(surface, text, line, name.size_px, theme.TEXT, bold=True)
        line.y += line.height
    dim = theme.TEXT_SOFT if row.is_chosen else theme.TEXT_DIM
    left, y = box.x + _left(name, layout), box.y + px(4) + extra_px(name, layout)
    right = box.right - px(8)
    color = theme.TEXT_SOFT
    word_left = left
    if row.grade is not None:
        color = theme.VERDICT_TEXT[VERDICT_OF[row.grade]]
        surface.blit(grade_sign(row.grade, px(12), color), (left, y + px(2)))
        word_left = left + px(17)
    word = pygame.Rect(word_left, y, right - word_left, px(17))
    size = texts.size_that_fits(row.word, word.width, layout.ui, 12.5, True)
    texts.draw(surface, row.word, word, size, color, bold=True)
    limit = pygame.Rect(left, y + px(17), right - left, px(16))
    texts.draw(surface, row.limit, limit, px(11), dim)
    y += px(34)
    for text in notes:
        texts.draw(
            surface, text, pygame.Rect(left, y, right - left, px(15)), px(11), theme.TEXT_SOFT
        )
        y += px(15)
    track = pygame.Rect(box.x + px(8), box.bottom - px(10), box.width - px(16), px(6))
    _draw_range(surface, row, track, layout)


def _draw_range(surface: pygame.Surface, row: GradeRow, track: pygame.Rect, layout: Layout) -> None:
    """From the smallest circle to the largest, against the largest image."""
    px = layout.px
    rounded(surface, track, track.height // 2, theme.BAR_TRACK)
    if row.bar is not None and row.grade is not None:
        first, last = (track.x + round(end * track.width) for end in row.bar)
        wide = max(px(5), last - first)
        bar = pygame.Rect(max(track.x, last - wide), track.y, wide, track.height)
        verdict = VERDICT_OF[row.grade]
        fill_pattern(surface, bar, verdict, theme.VERDICT_BAR[verdict], theme.BAR_TRACK, px(9))
    tick = track.x + round(row.tick * track.width)
    line = max(1, round(1.6 * layout.ui))
    surface.fill(theme.TEXT, (tick, track.y - px(3), line, track.height + px(6)))


# --- sizes ----------------------------------------------------------------------------


def _draw_sizes(content: SizesContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    wide = card_width(layout) - px(28)
    has_sides = content.headings == numbers_words.SIDE_HEADINGS
    said = numbers_words.SIDES_NOTE if has_sides else numbers_words.OTHER_NOTE
    notes = texts.wrap(said, wide, px(11))
    row_px = px(21)
    high = px(36) + row_px * (1 + len(content.rows)) + px(15) * len(notes) + px(12)
    card = blank_card(layout, high)
    texts.where = "card:sizes"
    card_title(card.surface, layout, texts, content.title, "mm")
    y = px(33)
    _draw_cells(card.surface, ("cup", *content.headings), y, False, layout, texts)
    y += row_px
    for index, (name, cells) in enumerate(content.rows):
        if index == content.chosen:
            box = pygame.Rect(px(6), y, card.surface.get_width() - px(12), row_px)
            rounded(card.surface, box, px(4), theme.CARD_ROW)
        _draw_cells(card.surface, (name, *cells), y, True, layout, texts)
        y += row_px
    y += px(5)
    for text in notes:
        place = pygame.Rect(px(14), y, wide, px(15))
        texts.draw(card.surface, text, place, px(11), theme.TEXT_SOFT)
        y += px(15)
    return card


def _draw_cells(
    surface: pygame.Surface,
    cells: tuple[str, ...],
    y: int,
    is_row: bool,
    layout: Layout,
    texts: Texts,
) -> None:
    px = layout.px
    wide = card_width(layout) - px(28)
    first = px(44)
    other = (wide - first) // (len(cells) - 1)
    for column, cell in enumerate(cells):
        left = px(14) + (first + other * (column - 1) if column else 0)
        box = pygame.Rect(left, y, first if column == 0 else other, px(21))
        is_bold = is_row and column == 0
        size = texts.size_that_fits(
            cell, box.width - px(4), layout.ui, 12.5 if is_row else 11, is_bold
        )
        shown = texts.cut(cell, box.width, size, is_bold)
        color = theme.TEXT if is_row and cell != "none" else theme.TEXT_SOFT
        align = "left" if column == 0 else "right"
        texts.draw(surface, shown, box, size, color, bold=is_bold, align=align)
