"""The card of ways out: one button each, with what is so after it."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import theme
from viewer.screen.card_base import Card, blank_card, card_title, card_width
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.text import ELLIPSIS, Texts
from viewer.screen.tools import WAYS, WayRow
from viewer.screen.viewstate import Frame


@dataclass(frozen=True)
class WaysContent:
    """``chosen``: the row shown as a preview, -1 for none. ``are_old``: the cup has moved on."""

    title: str
    rows: tuple[WayRow, ...]
    notes: tuple[str, ...]
    chosen: int
    has_keys: bool
    are_old: bool


def ways_content(frame: Frame) -> WaysContent:
    """What the card says. The words are those of the session they were worked out for.

    While the cup moves the card keeps its height, and its rows can do nothing.
    """
    session, tools = frame.session, frame.tools
    assert session is not None
    title = f"To fit the {session.cup.name} cup"
    if not (session.is_fit_current or frame.is_working):
        lines = ("where it fits best could not be worked out",)
        return WaysContent(title, (), lines, -1, False, True)
    if not session.is_fit_current:
        lines = ("working out where it fits best \u2026",)
        return WaysContent(title, tools.rows, lines, -1, False, True)
    told = (*tools.notes, *tools.notes_anywhere) or ("working out the ways \u2026",)
    if not tools.are_ways_old:
        return WaysContent(title, tools.rows, told, tools.way, tools.mode == WAYS, False)
    # Nothing is said that no longer holds, but the card keeps its height.
    if tools.found_for == (id(session.fit), session.cup_index):
        told = (*(ELLIPSIS for _ in tools.notes), *tools.notes_anywhere)
    else:
        told = tuple(ELLIPSIS for _ in told)
    return WaysContent(title, tools.rows, told, -1, False, True)


def draw_ways(content: WaysContent, layout: Layout, texts: Texts) -> Card:
    """Draw the card."""
    px = layout.px
    width = card_width(layout) - px(28)
    size = px(11)
    title_lines = texts.wrap(content.title, width - px(80), px(12.5))
    rows = [_row_lines(row, width, layout, texts) for row in content.rows]
    wrapped = [texts.wrap(line, width, size) for line in content.notes]
    height = px(33) + px(17) * (len(title_lines) - 1) + sum(h + px(4) for _, h in rows)
    height += px(17) * sum(len(lines) for lines in wrapped) + px(8)
    card = blank_card(layout, height)
    texts.where = f"card:{content.title}"
    note = "\u2191 \u2193 Enter" if content.has_keys else "key A" if content.rows else ""
    card_title(card.surface, layout, texts, title_lines[0], note)
    y = px(32)
    for line in title_lines[1:]:
        box = pygame.Rect(px(14), y - px(3), width, px(17))
        texts.draw(card.surface, line, box, px(12.5), theme.TEXT_SOFT)
        y += px(17)
    for index, (row, (lines, high)) in enumerate(zip(content.rows, rows, strict=True)):
        box = pygame.Rect(px(8), y, card_width(layout) - px(16), high)
        _draw_row(card.surface, row, lines, box, content, index, layout, texts)
        if not content.are_old:
            card.hits.append((f"way:{index}", box))
        y += high + px(4)
    for lines in wrapped:
        for text in lines:
            place = pygame.Rect(px(14), y, width, px(17))
            texts.draw(card.surface, text, place, size, _dim(content, theme.TEXT_SOFT))
            y += px(17)
    return card


def _dim(content: WaysContent, color: theme.Rgb) -> theme.Rgb:
    return theme.TEXT_DIM if content.are_old else color


def _result_width(row: WayRow, layout: Layout, texts: Texts) -> int:
    px = layout.px
    return px(15) + texts.width(f"{row.clearance} mm", px(12.5), True)


def _row_lines(row: WayRow, width: int, layout: Layout, texts: Texts) -> tuple[list[str], int]:
    px = layout.px
    free = width - px(20) - _result_width(row, layout, texts) - px(4)
    lines = texts.wrap(row.words, free, px(12.5))
    more = [part for text in row.more for part in texts.wrap(text, width - px(20), px(11))]
    high = max(1, len(lines)) * px(17) + len(more) * px(15) + px(7)
    return [*lines, *more], high


def _draw_row(
    surface: pygame.Surface,
    row: WayRow,
    lines: list[str],
    box: pygame.Rect,
    content: WaysContent,
    index: int,
    layout: Layout,
    texts: Texts,
) -> None:
    px = layout.px
    is_chosen = index == content.chosen
    if not content.are_old:
        edge = theme.SKY if is_chosen else None
        ground = theme.BUTTON
        rounded(surface, box, px(5), ground, edge, max(1, round(1.5 * layout.ui)))
    number = pygame.Rect(box.x + px(6), box.y + px(3), px(14), px(17))
    soft = _dim(content, theme.TEXT_SOFT)
    texts.draw(surface, str(index + 1), number, px(11), soft)
    left = number.right
    wide = _result_width(row, layout, texts)
    free = box.right - px(6) - wide - left
    more = sum(len(texts.wrap(text, box.right - px(6) - left, px(11))) for text in row.more)
    y = box.y + px(3)
    for number_of, text in enumerate(lines):
        is_more = number_of >= len(lines) - more
        size, high = (px(11), px(15)) if is_more else (px(12.5), px(17))
        if content.are_old:
            if number_of:
                continue
            text = ELLIPSIS
        line = pygame.Rect(left, y, box.right - px(6) - left if is_more else free, high)
        color = soft if is_more else _dim(content, theme.TEXT)
        texts.draw(surface, text, line, size, color)
        y += high
    if content.are_old:
        return
    sign_color = theme.VERDICT_TEXT[row.verdict]
    sign = verdict_sign(row.verdict, px(11), sign_color)
    surface.blit(sign, (box.right - px(6) - wide, box.y + px(6)))
    result = pygame.Rect(box.right - px(6) - wide + px(15), box.y + px(3), wide - px(15), px(17))
    texts.draw(
        surface, f"{row.clearance} mm", result, px(12.5), sign_color, bold=True, align="right"
    )
