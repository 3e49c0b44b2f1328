"""The card of limits: pad, etch area, position, datum, angles; and a field's list."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import cup_fields, limit_fields, theme
from viewer.screen.card_base import Card, blank_card, card_title, card_width
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.model import Session
from viewer.screen.shapes import polygon, rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing
from viewer.screen.wording import limits_note

ROW_PX = 24
LABEL_PX = 76
REACH_PX = 62


@dataclass(frozen=True)
class LimitsContent:
    """``note``: what else the verdicts rest on. ``fields``: (name, value), in order."""

    note: str
    fields: tuple[tuple[str, str], ...]
    cup_fields: tuple[tuple[str, str], ...]
    takes_reach: bool
    editing: Editing | None


@dataclass(frozen=True)
class ChoicesContent:
    """The list of the field that has the keyboard: (label, note) each."""

    name: str
    rows: tuple[tuple[str, str], ...]
    present: int
    marked: int
    hint: str


def limits_content(session: Session, editing: Editing | None) -> LimitsContent:
    """What the card says about a session."""
    fields = tuple((name, limit_fields.limit_value(session, name)) for name in limit_fields.NAMES)
    cup = tuple((name, cup_fields.cup_value(session.cup, name)) for name in cup_fields.NAMES)
    names = (*limit_fields.NAMES, *cup_fields.NAMES)
    mine = editing if editing is not None and editing.name in names else None
    takes_reach = session.limits.hold.kind != "fixed"
    return LimitsContent(limits_note(session), fields, cup, takes_reach, mine)


def choices_content(session: Session | None, editing: Editing | None) -> ChoicesContent | None:
    """The list to show; none while an error is told, which stands in its place."""
    if session is None or editing is None or editing.error:
        return None
    if editing.name not in limit_fields.NAMES:
        return None
    offered = limit_fields.choices(session, editing.name)
    present = next((n for n, c in enumerate(offered) if c.limits == session.limits), -1)
    rows = tuple((choice.label, choice.note) for choice in offered)
    hint = limit_fields.HINTS[editing.name]
    return ChoicesContent(editing.name, rows, present, editing.choice, hint)


def draw_limits(content: LimitsContent, layout: Layout, texts: Texts) -> Card:
    """Draw the card."""
    px = layout.px
    width = card_width(layout) - px(28)
    error = content.editing.error if content.editing else ""
    lines = texts.wrap(error, width, px(12.5))[:4] if error else []
    # Position and its limit share a row; so do the cup's three fields.
    rows = len(content.fields)
    height = px(33) + px(ROW_PX) * rows + px(17) * len(lines) + px(7)
    card = blank_card(layout, height)
    texts.where = "card:limits"
    card_title(card.surface, layout, texts, "Limits", content.note)
    y = px(33)
    for name, value in content.fields:
        if name == "limit:reach":
            continue
        label = pygame.Rect(px(14), y, px(LABEL_PX), px(22))
        texts.draw(card.surface, limit_fields.LABELS[name], label, px(12.5), theme.TEXT_SOFT)
        box = pygame.Rect(px(14) + px(LABEL_PX), y, width - px(LABEL_PX), px(22))
        asked = {name}
        if name == "limit:hold":
            asked.add("limit:reach")
            box.width -= px(REACH_PX) + px(48)
            _draw_reach(card, content, box, layout, texts)
        _draw_choice_field(card, name, value, content, box, layout, texts)
        y += px(ROW_PX)
        if content.editing is not None and content.editing.name in asked:
            for text in lines:
                place = pygame.Rect(px(14), y - px(2), width, px(17))
                texts.draw(card.surface, text, place, px(12.5), theme.VERDICT_TEXT["outside"])
                y += px(17)
    _draw_cup_fields(card, content, y, layout, texts)
    y += px(ROW_PX)
    if content.editing is not None and content.editing.name in cup_fields.NAMES:
        for text in lines:
            place = pygame.Rect(px(14), y - px(2), width, px(17))
            texts.draw(card.surface, text, place, px(12.5), theme.VERDICT_TEXT["outside"])
            y += px(17)
    return card


CUP_LABELS = {"cup:diameter": (44, 52), "cup:ring": (31, 38), "cup:margin": (50, 56)}
"""Widths of label and field, in the 1600 x 1000 layout."""


def _draw_cup_fields(
    card: Card, content: LimitsContent, y: int, layout: Layout, texts: Texts
) -> None:
    px = layout.px
    x = px(14)
    for name, value in content.cup_fields:
        wide, field_wide = CUP_LABELS[name]
        label = pygame.Rect(x, y, px(wide), px(22))
        texts.draw(card.surface, cup_fields.LABELS[name], label, px(12.5), theme.TEXT_SOFT)
        box = pygame.Rect(label.right, y, px(field_wide), px(22))
        draw_field(
            card.surface, box, value, _mine(content, name), layout, texts, align="left", size=12.5
        )
        card.hits.append((f"field:{name}", box))
        x = box.right + px(5)


def _mine(content: LimitsContent, name: str) -> Editing | None:
    editing = content.editing
    return editing if editing is not None and editing.name == name else None


def _draw_choice_field(
    card: Card,
    name: str,
    value: str,
    content: LimitsContent,
    box: pygame.Rect,
    layout: Layout,
    texts: Texts,
) -> None:
    px, editing = layout.px, _mine(content, name)
    is_dim = value in ("none", "free", "any") and editing is None
    draw_field(card.surface, box, "", editing, layout, texts, align="left", size=12.5)
    if editing is None:
        inner = pygame.Rect(box.x, box.y, box.width - px(16), box.height)
        _value(card.surface, value, inner, layout, texts, is_dim)
        x, y = box.right - px(13), box.centery - px(1)
        corners = [(x - px(4), y - px(2)), (x + px(4), y - px(2)), (x, y + px(3))]
        polygon(card.surface, corners, theme.TEXT_DIM)
    card.hits.append((f"field:{name}", box))


def _value(
    surface: pygame.Surface,
    value: str,
    box: pygame.Rect,
    layout: Layout,
    texts: Texts,
    is_dim: bool,
) -> None:
    px = layout.px
    inner = box.inflate(-2 * px(7), 0)
    size = texts.size_that_fits(value, inner.width, layout.ui, 12.5, not is_dim)
    color = theme.TEXT_SOFT if is_dim else theme.TEXT
    # Ends in dots on purpose where it is long: with the keyboard on it, all is seen.
    shown = texts.cut(value, inner.width, size, not is_dim)
    texts.draw(surface, shown, inner, size, color, bold=not is_dim)


def _draw_reach(
    card: Card, content: LimitsContent, beside: pygame.Rect, layout: Layout, texts: Texts
) -> None:
    px = layout.px
    value = dict(content.fields)["limit:reach"]
    sign = pygame.Rect(beside.right + px(7), beside.y, px(12), beside.height)
    box = pygame.Rect(sign.right + px(2), beside.y, px(REACH_PX) - px(6), beside.height)
    unit = pygame.Rect(box.right + px(6), beside.y, px(28), beside.height)
    texts.draw(card.surface, "\u00b1", sign, px(12.5), theme.TEXT_SOFT)
    editing = _mine(content, "limit:reach")
    draw_field(card.surface, box, "", editing, layout, texts, align="left", size=12.5)
    if editing is None:
        shown = value or ("any" if content.takes_reach else "0")
        _value(card.surface, shown, box, layout, texts, is_dim=not value)
    texts.draw(card.surface, "mm", unit, px(12.5), theme.TEXT_DIM)
    card.hits.append(("field:limit:reach", box))


def draw_choices(content: ChoicesContent, layout: Layout, texts: Texts) -> Card:
    """Draw a field's list."""
    px = layout.px
    width = card_width(layout) - px(14) - px(LABEL_PX)
    row, pad = px(24), px(5)
    hints = texts.wrap(content.hint, width - 2 * px(12), px(11))
    height = 2 * pad + row * len(content.rows) + px(16) * len(hints)
    height += px(5) if content.rows and hints else 0
    surface = pygame.Surface((width, height))
    surface.fill(theme.WINDOW)
    rounded(surface, surface.get_rect(), px(6), theme.FIELD, theme.SKY, max(1, round(layout.ui)))
    card = Card(surface)
    texts.where = "choices"
    y = pad
    for index, (label, note) in enumerate(content.rows):
        box = pygame.Rect(px(4), y, width - 2 * px(4), row)
        if index == content.marked:
            rounded(surface, box, px(4), theme.CARD_ROW)
        if index == content.present:
            surface.blit(verdict_sign("fits", px(11), theme.TEXT), (box.x + px(5), y + px(7)))
        left = box.x + px(22)
        wide = texts.width(note, px(11)) if note else 0
        free = pygame.Rect(left, y, box.right - left - px(8) - (wide + px(8) if note else 0), row)
        bold = index == content.present
        size = texts.size_that_fits(label, free.width, layout.ui, 12.5, bold)
        shown = texts.cut(label, free.width, size, bold)
        texts.draw(surface, shown, free, size, theme.TEXT, bold=bold)
        if note:
            place = pygame.Rect(box.right - px(8) - wide, y, wide, row)
            texts.draw(surface, note, place, px(11), theme.TEXT_DIM)
        card.hits.append((f"choice:{index}", box))
        y += row
    if content.rows and hints:
        surface.fill(theme.FIELD_EDGE, (px(12), y + px(2), width - 2 * px(12), 1))
        y += px(5)
    for text in hints:
        place = pygame.Rect(px(12), y, width - 2 * px(12), px(16))
        texts.draw(surface, text, place, px(11), theme.TEXT_SOFT)
        y += px(16)
    return card
