"""The little sign at the tightest place."""

from __future__ import annotations

import math

import pygame

from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.shapes import polygon, rounded
from viewer.screen.text import Texts
from viewer.screen.wording import Callout

Pixel = tuple[int, int]


def callout_box(
    texts: Texts, layout: Layout, callout: Callout, point: Pixel, center: Pixel
) -> pygame.Rect:
    """Where the sign stands: outwards from the cup's center, all of it in the view."""
    title = texts.width(callout.title, layout.px(14), True)
    note = texts.width(callout.note, layout.px(12.5))
    width = max(title, note) + 2 * layout.px(12)
    height = layout.px(47)
    view = layout.view.inflate(-2 * layout.px(8), -2 * layout.px(8))
    dx, dy = point[0] - center[0], point[1] - center[1]
    length = math.hypot(dx, dy)
    ux, uy = (dx / length, dy / length) if length else (1.0, 0.0)
    gap = layout.px(34)
    box = pygame.Rect(0, 0, width, height)
    box.left = point[0] + gap if ux >= 0 else point[0] - gap - width
    box.centery = point[1] + round(uy * gap * 1.4)
    inside = box.clamp(view)
    keep_off = pygame.Rect(0, 0, layout.px(30), layout.px(30))
    keep_off.center = point
    if inside.colliderect(keep_off):
        # Pushed back over its own point by the window's edge: stand above or below it.
        below = inside.copy()
        below.top = keep_off.bottom + layout.px(10)
        inside.bottom = keep_off.top - layout.px(10)
        if inside.top < view.top or (uy > 0 and below.bottom <= view.bottom):
            inside = below
    return inside.clamp(view)


def draw_callout(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    callout: Callout,
    point: Pixel,
    box: pygame.Rect,
) -> None:
    """Draw the sign with a pointer towards its point."""
    view = layout.view
    tip_x = min(max(point[0], view.left), view.right - 1)
    tip_y = min(max(point[1], view.top), view.bottom - 1)
    _pointer(surface, layout, (tip_x, tip_y), box)
    edge_px = max(1, round(layout.ui))
    rounded(surface, box, layout.px(6), theme.CALLOUT, theme.CALLOUT_EDGE, edge_px)
    texts.where = "callout"
    pad = layout.px(12)
    line = pygame.Rect(box.x + pad, box.y + layout.px(4), box.width - 2 * pad, layout.px(22))
    texts.draw(surface, callout.title, line, layout.px(14), theme.TEXT, bold=True)
    line = line.move(0, layout.px(20))
    texts.draw(surface, callout.note, line, layout.px(12.5), theme.TEXT_SOFT)


def _pointer(surface: pygame.Surface, layout: Layout, tip: Pixel, box: pygame.Rect) -> None:
    if box.collidepoint(tip):
        return
    dx, dy = tip[0] - box.centerx, tip[1] - box.centery
    length = math.hypot(dx, dy)
    # Ends short of the point itself, which carries its own number.
    free = min(layout.px(11), length / 3)
    tip_x, tip_y = tip[0] - dx / length * free, tip[1] - dy / length * free
    half = layout.px(9)
    margin = layout.px(16)
    if abs(dx) * box.height > abs(dy) * box.width:
        x = box.right - 2 if dx > 0 else box.left + 1
        y = min(max(tip[1], box.top + margin), box.bottom - margin)
        base = [(x, y - half), (x, y + half)]
    else:
        y = box.bottom - 2 if dy > 0 else box.top + 1
        x = min(max(tip[0], box.left + margin), box.right - margin)
        base = [(x - half, y), (x + half, y)]
    polygon(surface, [base[0], (tip_x, tip_y), base[1]], theme.CALLOUT_EDGE)
