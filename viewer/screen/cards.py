"""The cards of the panel: what each says (plain values) and how it is drawn.

A card is drawn anew only when what it says has changed; so the content of each
is one value that can be compared.
"""

from __future__ import annotations

import os
from dataclasses import dataclass

import pygame

from viewer.press.cups import EXAMPLE_CUPS
from viewer.screen import theme
from viewer.screen.answers import said_words
from viewer.screen.card_base import Card, blank_card, card_title, card_width
from viewer.screen.cup_names import COLUMN_PX, LINE_PX, NameLines, extra_px, name_lines
from viewer.screen.dialog import Filed
from viewer.screen.field_box import draw_field
from viewer.screen.file_lines import draw_lines, draw_unsaved, lines_height
from viewer.screen.layout import Layout
from viewer.screen.lesson_cards import (
    BodyContent,
    HeadContent,
    LessonContent,
    LiveContent,
    draw_lesson,
    lesson_contents,
)
from viewer.screen.lesson_list import (
    ListContent,
    RowsContent,
    WhoContent,
    draw_list_card,
    list_contents,
)
from viewer.screen.limits_card import LimitsContent, draw_limits, limits_content
from viewer.screen.numbers_card import (
    GradesContent,
    NumbersContent,
    SizesContent,
    draw_numbers_card,
    numbers_cards,
)
from viewer.screen.patterns import fill_pattern
from viewer.screen.pieces_card import (
    PiecesContent,
    draw_pieces,
    has_pieces_card,
    pieces_content,
)
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing, Frame
from viewer.screen.warning_card import WarningContent, draw_warnings, warning_content
from viewer.screen.ways_card import WaysContent, draw_ways, ways_content
from viewer.screen.wording import (
    clearance,
    cup_limit_words,
    datum_words,
    down,
    signed,
    up,
    verdict_word,
)

CUP_ROW_PX = 52


@dataclass(frozen=True)
class FileContent:
    """The file and its sizes. ``said``: what a person has settled about it."""

    title: str
    source: str
    said: str
    rows: tuple[tuple[str, str], ...]
    filed: Filed | None = None


@dataclass(frozen=True)
class CupRow:
    """One cup: numbers as text; the bar's ends in -1..1 of its range."""

    name: str
    limit: str
    verdict: str
    word: str
    now: str
    best: str
    bar_now: float
    bar_best: float | None
    is_chosen: bool


@dataclass(frozen=True)
class CupsContent:
    """All cups. ``is_example``: they are the example set, not the shop's own."""

    is_example: bool
    rows: tuple[CupRow, ...]


@dataclass(frozen=True)
class FieldRow:
    """A number that can be typed."""

    name: str
    label: str
    value: str
    unit: str


@dataclass(frozen=True)
class PlacementContent:
    """Where the cup is."""

    fields: tuple[FieldRow, ...]
    editing: Editing | None
    can_undo: bool
    counted_from: str


Content = (
    FileContent
    | WarningContent
    | CupsContent
    | PiecesContent
    | PlacementContent
    | WaysContent
    | LimitsContent
    | NumbersContent
    | GradesContent
    | SizesContent
    | LessonContent
    | ListContent
)


def contents(frame: Frame) -> list[Content]:
    """What the panel says, from top to bottom; nothing without artwork or numbers."""
    session = frame.session
    if frame.lesson is not None:
        return [*list_contents(frame), *lesson_contents(frame)]
    if frame.numbers is not None:
        return [*numbers_cards(frame.numbers, frame.editing)]
    if session is None:
        return []
    found: list[Content] = [_file_content(frame)]
    found.append(_cups_content(frame))
    if has_pieces_card(frame):
        found.append(pieces_content(frame))
    if session.fit.warnings:
        found.append(
            warning_content(session, frame.placed[session.cup_index], frame.is_warnings_open)
        )
    found.append(_placement_content(frame))
    found.append(ways_content(frame))
    found.append(limits_content(session, frame.editing))
    return found


def _file_content(frame: Frame) -> FileContent:
    session = frame.session
    assert session is not None
    fit, artwork = session.fit, session.artwork
    page = f"page {artwork.page_mm[0]:.4g}\u00a0\u00d7\u00a0{artwork.page_mm[1]:.4g}"
    source = f"{artwork.scale_source} \u00b7 {page}"
    if session.scale != 1:
        source = f"scaled {100 * session.scale:.1f} % here \u00b7 {page}"
    doubt = up(2.0 * artwork.outline.uncertainty_mm, 2)  # of a diameter: one at each end
    rows = (
        ("width \u00d7 height", f"{up(fit.width_mm, 2)} \u00d7 {up(fit.height_mm, 2)} mm"),
        ("longest diagonal", f"{up(fit.longest_diagonal.length, 2)} mm"),
        ("smallest circle", f"\u00d8 {up(fit.smallest_circle.diameter, 2)} mm \u00b1 {doubt}"),
    )
    said = said_words(artwork.options)
    return FileContent(os.path.basename(artwork.path), source, said, rows, frame.filed)


def _cups_content(frame: Frame) -> CupsContent:
    session = frame.session
    assert session is not None
    # The range depends on the best clearances alone, so that bars do not jump in a drag.
    bests = [c.best.settable.clearance_mm for c in session.fit.cups]
    reach = max(8.0, 1.5 * max(abs(best) for best in bests))
    known = session.is_fit_current
    rows = []
    for index, (cup_fit, placed) in enumerate(zip(session.fit.cups, frame.placed, strict=True)):
        best_mm = bests[index]
        rows.append(
            CupRow(
                name=cup_fit.cup.name,
                limit=cup_limit_words(cup_fit.cup),
                verdict=str(placed.verdict),
                word=verdict_word(placed),
                now=f"{clearance(placed.clearance_mm)} mm",
                best=f"best {clearance(best_mm)}" if known else "best \u2026",
                bar_now=max(-1.0, min(1.0, placed.clearance_mm / reach)),
                bar_best=max(-1.0, min(1.0, best_mm / reach)) if known else None,
                is_chosen=index == session.cup_index,
            )
        )
    cups = tuple(c.cup for c in session.fit.cups)
    return CupsContent(cups == EXAMPLE_CUPS, tuple(rows))


def field_values(frame: Frame) -> tuple[FieldRow, ...]:
    """The numbers of the placement as text."""
    session = frame.session
    assert session is not None
    right, back = session.offset_mm
    return (
        FieldRow(
            "right", "cup left\u2013right", signed(right, 2), _side(right, "mm right", "mm left")
        ),
        FieldRow(
            "back", "cup front\u2013back", signed(back, 2), _side(back, "mm back", "mm front")
        ),
        FieldRow("angle", "angle", signed(session.placement.turn_deg, 1), "\u00b0"),
        FieldRow("scale", "scale", down(100 * session.scale, 1), "%"),
    )


def _side(value_mm: float, positive: str, negative: str) -> str:
    if float(f"{value_mm:.2f}") == 0:
        return "mm"
    return positive if value_mm > 0 else negative


def _placement_content(frame: Frame) -> PlacementContent:
    fields = field_values(frame)
    names = [f.name for f in fields]
    editing = frame.editing if frame.editing and frame.editing.name in names else None
    session = frame.session
    assert session is not None
    return PlacementContent(fields, editing, frame.can_undo, f"from the {datum_words(session)}")


def draw_card(content: Content, layout: Layout, texts: Texts) -> Card:
    """Draw a card from what it says."""
    match content:
        case FileContent():
            return _draw_file(content, layout, texts)
        case WarningContent():
            return draw_warnings(content, layout, texts)
        case CupsContent():
            return _draw_cups(content, layout, texts)
        case PlacementContent():
            return _draw_placement(content, layout, texts)
        case LimitsContent():
            return draw_limits(content, layout, texts)
        case WaysContent():
            return draw_ways(content, layout, texts)
        case PiecesContent():
            return draw_pieces(content, layout, texts)
        case NumbersContent() | GradesContent() | SizesContent():
            return draw_numbers_card(content, layout, texts)
        case WhoContent() | RowsContent():
            return draw_list_card(content, layout, texts)
        case HeadContent() | BodyContent() | LiveContent():
            return draw_lesson(content, layout, texts)


def _draw_file(content: FileContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    size = px(12.5)
    width = card_width(layout) - px(28)
    source = texts.wrap(content.source, width, size)[:2]
    said = texts.wrap(content.said, width, size)
    height = px(40) + px(18) * (len(source) + len(said)) + px(22) * len(content.rows) + px(4)
    card = blank_card(layout, height + lines_height(content.filed, layout, texts))
    texts.where = "card:file"
    box = pygame.Rect(px(14), px(8), width, px(24))
    draw_unsaved(card, content.filed, box, layout, texts)
    big = max(px(11), texts.size_that_fits(content.title, box.width, layout.ui, 16, True))
    # Cut on purpose where even that is too long; the window's title has all of it.
    title = texts.cut(content.title, box.width, big, True)
    texts.draw(card.surface, title, box, big, theme.TEXT, bold=True)
    y = px(34)
    for text in source:
        texts.draw(card.surface, text, pygame.Rect(px(14), y, width, px(18)), size, theme.TEXT_DIM)
        y += px(18)
    for text in said:
        texts.draw(card.surface, text, pygame.Rect(px(14), y, width, px(18)), size, theme.TEXT)
        y += px(18)
    y = draw_lines(card, content.filed, y, layout, texts)
    y += px(4)
    for label, value in content.rows:
        split = texts.width(label, px(12.5)) + px(8)
        texts.draw(
            card.surface, label, pygame.Rect(px(14), y, split, px(20)), px(12.5), theme.TEXT_SOFT
        )
        value_box = pygame.Rect(px(14) + split, y, width - split, px(20))
        texts.draw(card.surface, value, value_box, px(14), theme.TEXT, bold=True, align="right")
        y += px(22)
    return card


def _draw_cups(content: CupsContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    wide = card_width(layout) - px(28)
    names = [name_lines(row.name, wide, layout, texts) for row in content.rows]
    heights = [px(CUP_ROW_PX) + extra_px(name, layout) for name in names]
    card = blank_card(layout, px(36) + sum(heights) + px(6))
    texts.where = "card:cups"
    title = "Cups, an example set" if content.is_example else "Cups"
    card_title(card.surface, layout, texts, title, "bar: now \u00b7 tick: best")
    width = card.surface.get_width()
    y = px(34)
    for index, (row, name, height) in enumerate(zip(content.rows, names, heights, strict=True)):
        box = pygame.Rect(px(6), y, width - px(12), height - px(1))
        _draw_cup_row(card.surface, row, name, box, layout, texts)
        card.hits.append((f"cup:{index}", box))
        y += height
    return card


def _draw_cup_row(
    surface: pygame.Surface,
    row: CupRow,
    name: NameLines,
    box: pygame.Rect,
    layout: Layout,
    texts: Texts,
) -> None:
    px = layout.px
    if row.is_chosen:
        rounded(surface, box, px(5), theme.CARD_ROW)
    line = pygame.Rect(box.x + px(8), box.y + px(3), px(COLUMN_PX), px(34))
    if name.is_above or len(name.lines) > 1:
        line.height = px(LINE_PX)
    if name.is_above:
        line.width = box.width - px(16)
    for text in name.lines:
        texts.draw(surface, text, line, name.size_px, theme.TEXT, bold=True)
        line.y += line.height
    left = box.x + px(8) if name.is_above else line.right + px(4)
    box = pygame.Rect(box.x, box.y + extra_px(name, layout), box.width, px(CUP_ROW_PX) - px(1))
    right = box.right - px(8)
    now_width = max(texts.width(row.now, px(14), True), texts.width(row.best, px(12.5)))
    middle = right - now_width - px(6)
    dim = theme.TEXT_SOFT if row.is_chosen else theme.TEXT_DIM
    limit_box = pygame.Rect(left, box.y + px(4), middle - left, px(17))
    texts.draw(surface, row.limit, limit_box, px(11), dim)
    color = theme.VERDICT_TEXT[row.verdict]
    sign = verdict_sign(row.verdict, px(11), color)
    surface.blit(sign, (left, box.y + px(23)))
    word_box = pygame.Rect(left + px(15), box.y + px(20), middle - left - px(15), px(17))
    texts.draw(surface, row.word, word_box, px(12.5), color, bold=True)
    now_box = pygame.Rect(right - now_width, box.y + px(3), now_width, px(19))
    texts.draw(surface, row.now, now_box, px(14), theme.TEXT, bold=True, align="right")
    best_box = pygame.Rect(right - now_width, box.y + px(20), now_width, px(17))
    texts.draw(surface, row.best, best_box, px(12.5), dim, align="right")
    _draw_bar(
        surface,
        row,
        pygame.Rect(box.x + px(8), box.bottom - px(11), box.width - px(16), px(6)),
        layout,
    )


def _draw_bar(surface: pygame.Surface, row: CupRow, track: pygame.Rect, layout: Layout) -> None:
    px = layout.px
    rounded(surface, track, track.height // 2, theme.BAR_TRACK)
    zero = track.centerx
    half = track.width / 2 - px(4)
    now = zero + round(row.bar_now * half)
    bar = pygame.Rect(min(zero, now), track.y, abs(now - zero), track.height)
    color, period = theme.VERDICT_BAR[row.verdict], px(9)
    fill_pattern(surface, bar, row.verdict, color, theme.BAR_TRACK, period)
    line = max(1, round(layout.ui))
    surface.fill(theme.TEXT, (zero, track.y - px(2), line, track.height + px(4)))
    if row.bar_best is None:
        return
    tick = zero + round(row.bar_best * half)
    wide, high = px(5), px(6)
    tip = track.y + px(3)
    for step in range(high + 1):
        reach = wide * step // high
        surface.fill(theme.TEXT, (tick - reach, tip - step, 2 * reach + 1, 1))


def _draw_placement(content: PlacementContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    error = content.editing.error if content.editing else ""
    width = card_width(layout) - px(28)
    lines = texts.wrap(error, width, px(12.5))[:3] if error else []
    card = blank_card(layout, px(36) + px(27) * 4 + px(17) * len(lines) + px(49))
    surface = card.surface
    texts.where = "card:placement"
    card_title(surface, layout, texts, "Placement", content.counted_from)
    y = px(36)
    field_x = px(14) + px(112)
    for row in content.fields:
        label_box = pygame.Rect(px(14), y, px(110), px(26))
        texts.draw(surface, row.label, label_box, px(12.5), theme.TEXT_SOFT)
        box = pygame.Rect(field_x, y, px(92), px(24))
        editing = content.editing if content.editing and content.editing.name == row.name else None
        draw_field(surface, box, row.value, editing, layout, texts)
        unit_box = pygame.Rect(box.right + px(7), y, px(62), px(26))
        texts.draw(surface, row.unit, unit_box, px(12.5), theme.TEXT_DIM)
        card.hits.append((f"field:{row.name}", box))
        y += px(27)
        if editing is not None:
            for text in lines:
                error_box = pygame.Rect(px(14), y - px(3), width, px(17))
                texts.draw(surface, text, error_box, px(12.5), theme.VERDICT_TEXT["outside"])
                y += px(17)
    y += px(6)
    gap = px(8)
    button_width = (width - 2 * gap) // 3
    for index, (name, label) in enumerate(
        (("best", "Best fit"), ("centre", "Centre"), ("undo", "Undo"))
    ):
        box = pygame.Rect(px(14) + index * (button_width + gap), y, button_width, px(29))
        is_off = name == "undo" and not content.can_undo
        rounded(surface, box, px(5), theme.BUTTON_MAIN if name == "best" else theme.BUTTON)
        color = theme.TEXT_OFF if is_off else theme.TEXT
        inner = box.inflate(-px(8), 0)
        texts.draw(surface, label, inner, px(12.5), color, bold=not is_off, align="center")
        card.hits.append((f"command:{name}", box))
    return card
