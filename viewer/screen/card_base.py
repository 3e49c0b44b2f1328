"""What every card of the panel is made of."""

from __future__ import annotations

from dataclasses import dataclass, field

import pygame

from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts


@dataclass
class Card:
    """A drawn card, and what can be clicked on it (names and boxes in card px)."""

    surface: pygame.Surface
    hits: list[tuple[str, pygame.Rect]] = field(default_factory=list)


def card_width(layout: Layout) -> int:
    """Width of every card in px."""
    return layout.panel.width - 2 * layout.px(16)


def blank_card(layout: Layout, height: int) -> Card:
    """An empty card, ``height`` px high."""
    surface = pygame.Surface((card_width(layout), height))
    surface.fill(theme.WINDOW)
    rounded(surface, surface.get_rect(), layout.px(7), theme.CARD)
    return Card(surface)


def card_title(
    surface: pygame.Surface, layout: Layout, texts: Texts, title: str, note: str
) -> None:
    """The heading of a card, and a note at its right."""
    px = layout.px
    box = pygame.Rect(px(14), px(9), surface.get_width() - px(28), px(20))
    texts.draw(surface, title, box, px(12.5), theme.TEXT_SOFT)
    if note:
        left = box.x + texts.width(title, px(12.5)) + px(10)
        box = pygame.Rect(left, box.y, box.right - left, box.height)
        texts.draw(surface, note, box, px(11), theme.TEXT_DIM, align="right")
