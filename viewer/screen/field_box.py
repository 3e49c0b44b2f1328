"""A text field, wherever it stands."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing


def draw_field(
    surface: pygame.Surface,
    box: pygame.Rect,
    value: str,
    editing: Editing | None,
    layout: Layout,
    texts: Texts,
    align: str = "right",
    size: float = 14,
    is_dim: bool = False,
) -> None:
    """A text field; with the keyboard it has a bright edge and a caret.

    ``size``: of its letters in the 1600 x 1000 layout; smaller where the value is long.
    """
    px = layout.px
    big = px(size)
    edge = theme.FIELD_EDGE
    if editing is not None:
        edge = theme.VERDICT_TEXT["outside"] if editing.error else theme.SKY
    rounded(surface, box, px(4), theme.FIELD, edge, max(1, round(layout.ui)))
    inner = box.inflate(-2 * px(7), -px(4))
    if editing is None:
        big = texts.size_that_fits(value, inner.width, layout.ui, size, not is_dim)
        color = theme.TEXT_DIM if is_dim else theme.TEXT
        texts.draw(surface, value, inner, big, color, bold=not is_dim, align=align)
        return
    text = editing.text
    if texts.width(text, big, True) > inner.width - px(4):
        big = max(px(11), texts.size_that_fits(text, inner.width - px(4), layout.ui, size, True))
    # Of a text too long for its field the end is seen, where typing goes on.
    while text and texts.width(text, big, True) > inner.width - px(4):
        text = text[1:]
    if editing.is_untouched and text:
        wide = texts.width(text, big, True)
        x = inner.right - wide if align == "right" else inner.x
        surface.fill(theme.SELECTION, (x, inner.y, wide, inner.height))
    rect = texts.draw(surface, text, inner, big, theme.TEXT, bold=True, align=align)
    hidden = len(editing.text) - len(text)
    before = text[: max(0, editing.caret - hidden)]
    caret_x = rect.x + texts.width(before, big, True)
    surface.fill(theme.SKY, (caret_x, inner.y + px(2), max(1, px(1.5)), inner.height - px(4)))
