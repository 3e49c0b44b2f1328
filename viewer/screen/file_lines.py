"""What the card of the file says about its pages, its job and its notes."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.card_base import Card, card_width
from viewer.screen.dialog import Filed
from viewer.screen.layout import Layout
from viewer.screen.shapes import polygon, rounded
from viewer.screen.text import Texts

MOST_NOTE_LINES = 2


def draw_unsaved(
    card: Card, filed: Filed | None, title: pygame.Rect, layout: Layout, texts: Texts
) -> None:
    """A word beside the card's title where something is unsaved; no other line moves."""
    if filed is None or not filed.is_unsaved:
        return
    size, px = layout.px(11), layout.px
    words = "unsaved"
    wide = texts.width(words, size) + px(14)
    box = pygame.Rect(title.right - wide, title.y + px(2), wide, px(20))
    rounded(card.surface, box, px(4), theme.BUTTON)
    inner = box.inflate(-px(6), 0)
    texts.draw(card.surface, words, inner, size, theme.TEXT, align="center")
    title.width -= wide + px(8)
    card.hits.append(("command:save", box))


def lines_height(filed: Filed | None, layout: Layout, texts: Texts) -> int:
    """How much room the lines need, px; 0 where there is nothing to say."""
    if filed is None:
        return 0
    height = layout.px(24) if filed.pages > 1 else 0
    height += layout.px(19) if filed.kept else 0
    return height + layout.px(17) * len(_note_lines(filed, layout, texts))


def _note_lines(filed: Filed, layout: Layout, texts: Texts) -> list[str]:
    width, size = card_width(layout) - layout.px(28), layout.px(12.5)
    notes = " / ".join(filed.notes.split("\n"))
    lines = texts.wrap(f"note: {notes}", width, size) if notes else []
    if len(lines) > MOST_NOTE_LINES:
        # Ends in dots on purpose: Ctrl+N shows the rest.
        rest = " ".join(lines[MOST_NOTE_LINES - 1 :])
        lines = [*lines[: MOST_NOTE_LINES - 1], texts.cut(rest, width, size)]
    return lines


def draw_lines(card: Card, filed: Filed | None, y: int, layout: Layout, texts: Texts) -> int:
    """Draw the lines below ``y`` of the card; gives where they end."""
    if filed is None:
        return y
    px, width = layout.px, card_width(layout) - layout.px(28)
    if filed.pages > 1:
        _pages(card, filed, y, layout, texts)
        y += px(24)
    if filed.kept:
        box = pygame.Rect(px(14), y, width, px(18))
        # Cut on purpose where a name is long; the window's title has all of it.
        shown = texts.cut(f"job {filed.kept}", box.width, px(12.5))
        texts.draw(card.surface, shown, box, px(12.5), theme.TEXT_SOFT)
        y += px(19)
    lines = _note_lines(filed, layout, texts)
    if lines:
        card.hits.append(("command:notes", pygame.Rect(px(14), y, width, px(17) * len(lines))))
    for text in lines:
        place = pygame.Rect(px(14), y, width, px(17))
        texts.draw(card.surface, text, place, px(12.5), theme.TEXT_SOFT)
        y += px(17)
    return y


def _pages(card: Card, filed: Filed, y: int, layout: Layout, texts: Texts) -> None:
    """The page, between two arrows."""
    px = layout.px
    side = px(20)
    words = f"page {filed.page} of {filed.pages}"
    wide = texts.width(words, px(12.5), True) + px(12)
    left = pygame.Rect(px(14), y, side, side)
    middle = pygame.Rect(left.right, y, wide, side)
    right = pygame.Rect(middle.right, y, side, side)
    texts.draw(card.surface, words, middle, px(12.5), theme.TEXT, bold=True, align="center")
    for name, box, way, is_end in (
        ("previous-page", left, -1, filed.page <= 1),
        ("next-page", right, 1, filed.page >= filed.pages),
    ):
        rounded(card.surface, box, px(4), theme.BUTTON)
        x, middle_y, half = box.centerx, box.centery, px(4)
        corners = [(x - way * half, middle_y - half), (x - way * half, middle_y + half)]
        color = theme.TEXT_DIM if is_end else theme.TEXT
        polygon(card.surface, [*corners, (x + way * half, middle_y)], color)
        card.hits.append((f"command:{name}", box))
    hint = pygame.Rect(right.right + px(8), y, 0, side)
    hint.width = max(0, card.surface.get_width() - px(14) - hint.x)
    told = "Ctrl+PageUp, PageDown"
    if texts.width(told, px(11)) <= hint.width:
        texts.draw(card.surface, told, hint, px(11), theme.TEXT_DIM, align="right")
