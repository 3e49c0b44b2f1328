"""All keys, from the same table that the keyboard uses."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import theme
from viewer.screen.commands import COMMANDS, Command
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts

TITLE = "Keys and mouse"
CLOSING = "Esc or F1 closes this"
MORE = "\u2191 \u2193 or the wheel shows more"
SIZE = 12.5
ROW_PX = 22
GAP_PX = 36
LEAST_WORDS_PX = 290
"""Narrower words than this, and one column is better."""
CAUTION = (
    "\u201cfits\u201d is geometry, not permission to run: trial print first. The ring is sharp."
    " Never hold a cup against a screen: use a printed template."
)


def help_groups() -> list[tuple[str, list[Command]]]:
    """Commands that the help lists, in the order of the table, by group."""
    groups: dict[str, list[Command]] = {}
    for command in COMMANDS:
        if command.help_keys:
            groups.setdefault(command.group, []).append(command)
    return list(groups.items())


@dataclass(frozen=True)
class _Row:
    """A line of the list: a group's title, or keys and the words beside them."""

    keys: str
    words: str
    is_title: bool = False


def _columns(
    layout: Layout, texts: Texts, room_px: int
) -> tuple[list[list[_Row]], tuple[int, int]]:
    """The rows in one or two columns, and how wide keys and words are."""
    px, size = layout.px, layout.px(SIZE)
    groups = help_groups()
    commands = [command for _, group in groups for command in group]
    keys = max(texts.width(c.help_keys, size, True) for c in commands) + px(16)
    count = 2 if room_px >= 2 * (keys + px(LEAST_WORDS_PX)) + px(GAP_PX) else 1
    each = (room_px - (count - 1) * px(GAP_PX)) // count
    longest = max(texts.width(c.label, size) for c in commands) + px(4)
    words = min(longest, each - keys)
    blocks: list[list[_Row]] = []
    for title, group in groups:
        rows = [_Row("", title, True)]
        for command in group:
            for number, line in enumerate(texts.wrap(command.label, words, size)):
                rows.append(_Row("" if number else command.help_keys, line))
        blocks.append(rows)
    if count == 1:
        return [[row for block in blocks for row in block]], (keys, words)
    # The break between two groups that leaves the columns most alike.
    totals = [sum(len(b) for b in blocks[:cut]) for cut in range(len(blocks) + 1)]
    cut = min(range(1, len(blocks)), key=lambda n: max(totals[n], totals[-1] - totals[n]))
    left = [row for block in blocks[:cut] for row in block]
    right = [row for block in blocks[cut:] for row in block]
    return [left, right], (keys, words)


def draw_help(surface: pygame.Surface, layout: Layout, texts: Texts, scroll_px: int = 0) -> int:
    """Dim the window and list every key; returns how far the list can be scrolled, in px."""
    px = layout.px
    width, height = surface.get_size()
    veil = pygame.Surface((width, height))
    veil.fill((0x10, 0x12, 0x16))
    veil.set_alpha(150)
    surface.blit(veil, (0, 0))
    pad, row_px = px(28), px(ROW_PX)
    room = width - 2 * px(16) - 2 * pad
    columns, (keys, words) = _columns(layout, texts, room)
    inner = len(columns) * (keys + words) + (len(columns) - 1) * px(GAP_PX)
    caution = texts.wrap(CAUTION, inner, px(SIZE))
    list_px = max(len(rows) for rows in columns) * row_px
    fixed = px(56) + px(18) * len(caution) + px(26)
    seen = min(list_px, height - 2 * px(12) - fixed)
    box = pygame.Rect(0, 0, inner + 2 * pad, seen + fixed)
    box.center = (width // 2, height // 2)
    rounded(surface, box, px(9), theme.CARD, theme.FIELD_EDGE)
    texts.where = "help"
    x, y = box.x + pad, box.y + px(16)
    overflow = max(0, list_px - seen)
    scroll_px = max(0, min(overflow, scroll_px))
    closing = f"{MORE} \u00b7 {CLOSING}" if overflow else CLOSING
    wide = texts.width(closing, px(SIZE))
    title = pygame.Rect(x, y, inner - wide - px(10), px(24))
    texts.draw(surface, TITLE, title, px(16), theme.TEXT, bold=True)
    place = pygame.Rect(x + inner - wide, y, wide, px(24))
    texts.draw(surface, closing, place, px(SIZE), theme.TEXT_SOFT, align="right")
    view = pygame.Rect(x, box.y + px(48), inner, seen)
    surface.set_clip(view)
    for number, rows in enumerate(columns):
        left = x + number * (keys + words + px(GAP_PX))
        _draw_rows(surface, layout, texts, rows, (left, view.y - scroll_px), (keys, words), view)
    surface.set_clip(None)
    if overflow:
        _draw_bar(surface, layout, view, list_px, scroll_px)
    y = view.bottom + px(14)
    for text in caution:
        line = pygame.Rect(x, y, inner, px(18))
        texts.draw(surface, text, line, px(SIZE), theme.TEXT_SOFT)
        y += px(18)
    return overflow


def _draw_rows(
    surface: pygame.Surface,
    layout: Layout,
    texts: Texts,
    rows: list[_Row],
    start: tuple[int, int],
    widths: tuple[int, int],
    view: pygame.Rect,
) -> None:
    size, row_px = layout.px(SIZE), layout.px(ROW_PX)
    x, y = start
    for row in rows:
        if y + row_px > view.top and y < view.bottom:
            words = pygame.Rect(x + widths[0], y, widths[1], row_px)
            if row.is_title:
                whole = pygame.Rect(x, y, sum(widths), row_px)
                texts.draw(surface, row.words, whole, size, theme.TEXT_SOFT)
                line = pygame.Rect(x, y + row_px - 1, sum(widths), 1)
                surface.fill(theme.TRACK, line)
            else:
                keys = pygame.Rect(x, y, widths[0], row_px)
                texts.draw(surface, row.keys, keys, size, theme.TEXT, bold=True)
                texts.draw(surface, row.words, words, size, theme.TEXT)
        y += row_px


def _draw_bar(
    surface: pygame.Surface, layout: Layout, view: pygame.Rect, list_px: int, scroll_px: int
) -> None:
    length = view.height * view.height // list_px
    y = view.y + (view.height - length) * scroll_px // max(1, list_px - view.height)
    bar = pygame.Rect(view.right + layout.px(10), y, layout.px(5), length)
    rounded(surface, bar, bar.width // 2, theme.SCROLL)
