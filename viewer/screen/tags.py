"""Small words on the bench: on a dark pill, kept inside the view and off each other."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.shapes import line, rounded
from viewer.screen.text import Texts

Pixel = tuple[int, int]
SHIFTS = ((0, 0), (0, 1), (0, -1), (0, 2), (0, -2), (1, 0), (-1, 0), (1, 1), (-1, -1), (0, 3))


def draw_tag(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    text: str,
    at: Pixel,
    taken: list[pygame.Rect],
    size: float = 12.5,
) -> pygame.Rect:
    """A word with its middle at a window point, or as near to it as there is room.

    Its box is added to ``taken``.
    """
    px, view = layout.px, layout.view
    room = view.inflate(-2 * px(6), -2 * px(6))
    big = texts.size_that_fits(text, room.width - 2 * px(9), layout.ui, size, True)
    wide = min(texts.width(text, big, True) + 2 * px(9), room.width)
    first = pygame.Rect(0, 0, wide, px(22))
    first.center = at
    first = first.clamp(room)
    box = first
    for right, low in SHIFTS:
        tried = first.move(right * (wide + px(4)), low * px(25)).clamp(room)
        if tried.collidelist(taken) < 0:
            box = tried
            break
    taken.append(box)
    rounded(surface, box, px(5), theme.CALLOUT, theme.FIELD_EDGE)
    texts.where = "tags"
    inner = box.inflate(-2 * px(8), 0)
    texts.draw(surface, text, inner, big, theme.TEXT, bold=True, align="center")
    return box


def lifted_line(
    surface: pygame.Surface,
    start: tuple[float, float],
    end: tuple[float, float],
    layout: Layout,
    width: float = 1.6,
    color: theme.Rgb | None = None,
) -> None:
    """A dark line (or of a color) with a light edge, seen on paper, ink and bench."""
    line(surface, start, end, (width + 2.2) * max(1.0, layout.ui), theme.LIFT)
    line(surface, start, end, width * max(1.0, layout.ui), color or theme.INK_LINE)
