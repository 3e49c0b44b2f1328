"""The list of lessons: who learns, and what there is to do."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import theme
from viewer.screen.card_base import Card, blank_card, card_width
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.lesson_shown import BEGUN, DONE, STATE_WORDS, ListRow
from viewer.screen.pixels import PREMULTIPLIED
from viewer.screen.ring import disc
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing, Frame

LEARNER = "learner"
"""The name of the field for the learner's name."""
MOST_NAMES = 5
TITLE = "Lessons"
HOW = (
    "Try it with your hands, say what you think, see why, then answer a question.",
    "Try it, say what you think, see why, answer a question.",
)


@dataclass(frozen=True)
class WhoContent:
    """Who learns. ``names``: others to choose from."""

    learner: str
    names: tuple[str, ...]
    editing: Editing | None
    told: str
    notice: str


@dataclass(frozen=True)
class RowsContent:
    """The lessons; ``chosen`` counts from 0."""

    rows: tuple[ListRow, ...]
    chosen: int


ListContent = WhoContent | RowsContent


def list_contents(frame: Frame) -> list[ListContent]:
    """What the page says, from top to bottom."""
    shown = frame.lesson
    if shown is None or shown.page is None:
        return []
    page, editing = shown.page, frame.editing
    editing = editing if editing is not None and editing.name == LEARNER else None
    others = tuple(name for name in page.names if name != page.learner)[:MOST_NAMES]
    told = f"{page.done_count} of {len(page.rows)} done"
    if not page.learner:
        told = "type your name \u00b7 without one nothing is kept"
    return [
        WhoContent(page.learner, others, editing, told, page.notice),
        RowsContent(page.rows, page.chosen),
    ]


def draw_list_card(content: ListContent, layout: Layout, texts: Texts) -> Card:
    """Draw a card of the page."""
    if isinstance(content, WhoContent):
        return _draw_who(content, layout, texts)
    return _draw_rows(content, layout, texts)


def _draw_who(content: WhoContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    width = card_width(layout) - px(36)
    error = content.editing.error if content.editing is not None else ""
    below = texts.wrap(error or content.notice, width, px(12.5)) if error or content.notice else []
    card = blank_card(layout, px(104) + px(17) * len(below))
    surface, x = card.surface, px(18)
    texts.where = "card:who"
    wide = texts.width(TITLE, px(20), True)
    texts.draw(surface, TITLE, pygame.Rect(x, px(8), wide, px(28)), px(20), theme.TEXT, bold=True)
    told = pygame.Rect(x + wide + px(12), px(8), width - wide - px(12), px(28))
    texts.draw(surface, content.told, told, px(12.5), theme.TEXT_SOFT, align="right")
    how = texts.first_that_fits(HOW, width, px(12.5))
    texts.draw(surface, how, pygame.Rect(x, px(36), width, px(20)), px(12.5), theme.TEXT_SOFT)
    split = texts.width("learner", px(12.5)) + px(10)
    row = pygame.Rect(x, px(64), width, px(30))
    place = pygame.Rect(row.x, row.y, split, row.height)
    texts.draw(surface, "learner", place, px(12.5), theme.TEXT_SOFT)
    field = pygame.Rect(row.x + split, row.y, min(px(180), width // 2), row.height)
    draw_field(surface, field, content.learner, content.editing, layout, texts, align="left")
    card.hits.append((f"field:{LEARNER}", field))
    free = pygame.Rect(field.right + px(8), row.y, 0, row.height)
    _draw_names(card, content, free, layout, texts)
    color = theme.VERDICT_TEXT["outside"] if error else theme.TEXT_SOFT
    for index, text in enumerate(below):
        place = pygame.Rect(x, px(97) + index * px(17), width, px(17))
        texts.draw(surface, text, place, px(12.5), color)
    return card


def _draw_names(
    card: Card, content: WhoContent, box: pygame.Rect, layout: Layout, texts: Texts
) -> None:
    """Others who were here, as far as there is room: a click takes one."""
    px, right = layout.px, card.surface.get_width() - layout.px(18)
    for name in content.names:
        # Cut on purpose: a name has no greatest length.
        said = texts.cut(name, px(110), px(12.5))
        box = pygame.Rect(box.x, box.y, texts.width(said, px(12.5)) + px(20), box.height)
        if box.right > right:
            return
        rounded(card.surface, box, box.height // 2, theme.BUTTON)
        inner = box.inflate(-px(16), 0)
        texts.draw(card.surface, said, inner, px(12.5), theme.TEXT, align="center")
        card.hits.append((f"lesson:name:{name}", box))
        box = pygame.Rect(box.right + px(6), box.y, 0, box.height)


def row_height(layout: Layout, count: int) -> int:
    """How high a row is, so that all of them go into the window where that can be."""
    free = layout.panel.height - layout.px(104 + 4 * 8 + 16)
    return max(layout.px(25), min(layout.px(68), free // max(1, count)))


def _draw_rows(content: RowsContent, layout: Layout, texts: Texts) -> Card:
    px, high = layout.px, row_height(layout, len(content.rows))
    card = blank_card(layout, high * len(content.rows) + px(12))
    texts.where = "card:lessons"
    width = card.surface.get_width()
    words = max(texts.width(word, px(12.5)) for word in STATE_WORDS.values())
    for index, row in enumerate(content.rows):
        box = pygame.Rect(px(6), px(6) + index * high, width - px(12), high - px(1))
        if index == content.chosen:
            rounded(card.surface, box, px(5), theme.CARD_ROW)
            card.surface.fill(theme.SKY, (box.x, box.y + px(5), px(4), box.height - px(10)))
        number = pygame.Rect(box.x + px(8), box.y, px(34), box.height)
        color = theme.TEXT_SOFT
        texts.draw(card.surface, str(row.number), number, px(16), color, bold=True, align="right")
        state = pygame.Rect(box.right - px(8) - words, box.y, words, box.height)
        _draw_state(card.surface, row.state, state, layout, texts)
        left = number.right + px(14)
        title = pygame.Rect(left, box.y, state.x - px(34) - left, box.height)
        size = texts.size_that_fits(row.title, title.width, layout.ui, 16, True)
        is_bold = index == content.chosen
        texts.draw(card.surface, row.title, title, size, theme.TEXT, bold=is_bold)
        card.hits.append((f"lesson:open:{index}", box))
    return card


def _draw_state(
    surface: pygame.Surface, state: str, box: pygame.Rect, layout: Layout, texts: Texts
) -> None:
    """A sign before a word: a check, a dot in a ring, an empty ring."""
    px = layout.px
    is_done = state == DONE
    color = theme.VERDICT_TEXT["fits"] if is_done else theme.TEXT_SOFT
    texts.draw(surface, STATE_WORDS[state], box, px(12.5), color, bold=is_done)
    at = (box.x - px(13), box.centery)
    if is_done:
        sign = verdict_sign("fits", px(13), color)
        surface.blit(sign, (at[0] - px(13) // 2, at[1] - px(13) // 2))
        return
    signs = [disc(px(5), theme.CARD, theme.TEXT_SOFT, max(1.2, 1.3 * layout.ui))]
    signs += [disc(px(2.5), theme.TEXT_SOFT)] if state == BEGUN else []
    for sign in signs:
        half = sign.get_width() // 2
        surface.blit(sign, (at[0] - half, at[1] - half), special_flags=PREMULTIPLIED)
