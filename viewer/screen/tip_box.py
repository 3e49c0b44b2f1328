"""A tip beside the thing it is about, and the line around what has the focus."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.look import Tip
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts

WIDE_PX = 330


def tip_rect(tip: Tip, layout: Layout, texts: Texts) -> tuple[pygame.Rect, list[str]]:
    """Where a tip stands, clear of its thing where there is room, and its lines."""
    px = layout.px
    most = min(px(WIDE_PX), layout.size[0] - 2 * px(20)) - 2 * px(12)
    lines = texts.wrap(tip.words, most, px(12.5))
    wide = max(texts.width(line, px(12.5)) for line in lines)
    if tip.keys:
        wide = max(wide, texts.width(tip.keys, px(11), True))
    high = px(18) * len(lines) + (px(20) if tip.keys else 0) + 2 * px(8)
    box = pygame.Rect(0, 0, wide + 2 * px(12), high)
    window = pygame.Rect((0, 0), layout.size).inflate(-2 * px(6), -2 * px(6))
    thing, gap = pygame.Rect(tip.box), px(8)
    if thing.right > layout.panel.x:
        # Beside the cards, so that the neighbors of the thing stay readable.
        box.right, box.y = layout.panel.x - gap, thing.y
    else:
        box.x, box.y = thing.x, thing.bottom + gap
        if box.bottom > window.bottom:
            box.bottom = thing.y - gap
    return box.clamp(window), lines


def draw_tip(surface: pygame.Surface, tip: Tip, layout: Layout, texts: Texts) -> None:
    """Draw a tip over everything."""
    px = layout.px
    box, lines = tip_rect(tip, layout, texts)
    edge = max(1, round(layout.ui))
    rounded(surface, box, px(6), theme.CALLOUT, theme.FIELD_EDGE, edge)
    texts.where = "tip"
    y = box.y + px(8)
    for text in lines:
        line = pygame.Rect(box.x + px(12), y, box.width - 2 * px(12) + 1, px(18))
        texts.draw(surface, text, line, px(12.5), theme.TEXT)
        y += px(18)
    if tip.keys:
        line = pygame.Rect(box.x + px(12), y + px(2), box.width - 2 * px(12) + 1, px(18))
        texts.draw(surface, tip.keys, line, px(11), theme.TEXT_SOFT, bold=True)


def draw_focus(surface: pygame.Surface, box: pygame.Rect, layout: Layout) -> None:
    """A bright line around a thing, with a dark one inside of it for any ground."""
    wide = max(2, round(2 * layout.ui))
    outer = box.inflate(2 * wide, 2 * wide)
    radius = layout.px(6)
    pygame.draw.rect(surface, theme.FOCUS, outer, wide, border_radius=radius)
    pygame.draw.rect(surface, theme.WINDOW, box, 1, border_radius=radius)
