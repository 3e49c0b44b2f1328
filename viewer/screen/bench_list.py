"""A small list on the bench: files dropped together, or files opened lately."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.dialog import Listed
from viewer.screen.dialog_box import shortened
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts

ROW_PX, WIDE_PX, LATELY_PX = 22, 250, 620
MOST_ROWS = 9


def shown_rows(listed: Listed, layout: Layout) -> range:
    """Which rows are shown: as many as there is room for, the chosen one among them."""
    room = layout.view.bottom - _top(listed, layout) - layout.px(44)
    most = max(1, min(MOST_ROWS, len(listed.rows), room // layout.px(ROW_PX)))
    first = max(0, min(len(listed.rows) - most, listed.chosen - most // 2))
    return range(first, first + most)


def _top(listed: Listed, layout: Layout) -> int:
    view = layout.view
    return view.centery + layout.px(44) if listed.is_middle else view.y + layout.px(10)


def list_boxes(listed: Listed, layout: Layout) -> dict[str, pygame.Rect]:
    """Where its rows stand in the window; ``""`` is the whole."""
    px, view = layout.px, layout.view
    rows = shown_rows(listed, layout)
    width = min(px(LATELY_PX if listed.is_middle else WIDE_PX), view.width - px(24))
    height = px(34) + px(ROW_PX) * len(rows) + px(6)
    box = pygame.Rect(view.x + px(10), _top(listed, layout), width, height)
    if listed.is_middle:
        box.centerx = view.centerx
    found = {"": box}
    y = box.y + px(32)
    for index in rows:
        name = listed.rows[index].name
        found[name] = pygame.Rect(box.x + px(6), y, box.width - px(12), px(ROW_PX))
        y += px(ROW_PX)
    return found


def hit_list(listed: Listed | None, layout: Layout, pos: tuple[int, int]) -> str | None:
    """The row at a window point; ``""`` for the list beside its rows, None for elsewhere."""
    if listed is None or not layout.view.collidepoint(pos):
        return None
    boxes = list_boxes(listed, layout)
    if not boxes[""].collidepoint(pos):
        return None
    return next((n for n, box in boxes.items() if n and box.collidepoint(pos)), "")


def draw_list(surface: pygame.Surface, listed: Listed, layout: Layout, texts: Texts) -> None:
    """Draw it."""
    px = layout.px
    boxes = list_boxes(listed, layout)
    box = boxes[""]
    rounded(surface, box, px(7), theme.CARD, theme.FIELD_EDGE)
    texts.where = "list"
    size = px(12.5)
    title = pygame.Rect(box.x + px(14), box.y + px(6), box.width - px(28), px(22))
    texts.draw(surface, listed.title, title, size, theme.TEXT_SOFT)
    for index in shown_rows(listed, layout):
        row = listed.rows[index]
        place = boxes[row.name]
        is_chosen = index == listed.chosen
        if is_chosen:
            rounded(surface, place, px(4), theme.CARD_ROW)
        inner = place.inflate(-2 * px(8), 0)
        limit = inner.width * 2 // 3 if row.note else inner.width
        wide = min(texts.width(row.label, size, is_chosen), limit)
        # Cut on purpose: names of files have no greatest length.
        label = texts.cut(row.label, wide, size, is_chosen)
        name = pygame.Rect(inner.x, inner.y, wide, inner.height)
        texts.draw(surface, label, name, size, theme.TEXT, bold=is_chosen)
        note = pygame.Rect(name.right + px(10), inner.y, 0, inner.height)
        note.width = max(0, inner.right - note.x)
        text = shortened(texts, row.note, note.width, px(11))
        if text:
            texts.draw(surface, text, note, px(11), theme.TEXT_SOFT, align="right")
