"""The card of ink pieces: what counts, what is left out, and what is paper."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import theme
from viewer.screen.card_base import Card, blank_card, card_title, card_width
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.tools import PAPER, PIECES
from viewer.screen.viewstate import Frame
from viewer.screen.wording import up

MOST_ROWS = 40
WHITE_WORDS = {None: "white: as found", "ink": "white: ink", "paper": "white: paper"}


@dataclass(frozen=True)
class PieceRow:
    """One piece as its row says it."""

    number: int
    size: str
    note: str
    is_out: bool


@dataclass(frozen=True)
class PiecesContent:
    """``chosen``: number of the piece pointed at. ``said``: instead of rows."""

    rows: tuple[PieceRow, ...]
    said: str
    more: str
    chosen: int
    paper: str
    white: str
    is_picking: bool
    can_restore: bool


def has_pieces_card(frame: Frame) -> bool:
    """Whether the card is shown: in its own mode, and where one picks the paper from it."""
    return frame.session is not None and frame.tools.mode in (PIECES, PAPER)


def pieces_content(frame: Frame) -> PiecesContent:
    """What the card says."""
    session, tools = frame.session, frame.tools
    assert session is not None
    options, scale = session.artwork.options, session.scale
    rows = []
    for piece in (tools.pieces or ())[:MOST_ROWS]:
        x0, y0, x1, y1 = (value * scale for value in piece.box_mm)
        note = "left out" if piece.left_out else "decides the size" if piece.touches else ""
        size = f"{up(x1 - x0, 1)} \u00d7 {up(y1 - y0, 1)} mm"
        rows.append(PieceRow(piece.number, size, note, piece.left_out))
    beyond = len(tools.pieces or ()) - MOST_ROWS
    more = f"and {beyond} smaller ones: click them on the artwork" if beyond > 0 else ""
    said = ""
    if tools.pieces is None:
        said = tools.pieces_error or "looking for pieces \u2026"
    return PiecesContent(
        tuple(rows),
        said,
        more,
        tools.piece,
        f"paper: {options.paper or 'as found'}",
        WHITE_WORDS.get(options.white, "white: as found"),
        tools.mode == PAPER,
        bool(options.leave_out),
    )


def draw_pieces(content: PiecesContent, layout: Layout, texts: Texts) -> Card:
    """Draw the card."""
    px = layout.px
    width = card_width(layout) - px(28)
    row_px = px(24)
    lines = [*texts.wrap(content.said, width, px(12.5)), *texts.wrap(content.more, width, px(12.5))]
    height = px(33) + row_px * len(content.rows) + px(17) * len(lines) + 2 * px(34) + px(5)
    card = blank_card(layout, height)
    texts.where = "card:pieces"
    note = "Enter: out or in"
    card_title(card.surface, layout, texts, "Pieces of ink", note)
    y = px(33)
    for row in content.rows:
        box = pygame.Rect(px(8), y, card_width(layout) - px(16), row_px - px(1))
        _draw_row(card, row, box, row.number == content.chosen, layout, texts)
        y += row_px
    for text in lines:
        texts.draw(
            card.surface, text, pygame.Rect(px(14), y, width, px(17)), px(12.5), theme.TEXT_SOFT
        )
        y += px(17)
    y += px(5)
    gap = px(6)
    half = (width - gap) // 2
    buttons = (
        ("tool:paper", "pick it \u2026" if content.is_picking else content.paper, True),
        ("tool:white", content.white, True),
        ("tool:restore", "take all in again", content.can_restore),
        ("tool:pieces", "done", True),
    )
    for index, (name, label, is_on) in enumerate(buttons):
        box = pygame.Rect(px(14) + (index % 2) * (half + gap), y, half, px(28))
        picked = name == "tool:paper" and content.is_picking
        rounded(card.surface, box, px(5), theme.BUTTON_MAIN if picked else theme.BUTTON)
        color = theme.TEXT if is_on else theme.TEXT_OFF
        size = texts.size_that_fits(label, box.width - px(8), layout.ui, 12.5, is_on)
        inner = box.inflate(-px(6), 0)
        texts.draw(card.surface, label, inner, size, color, bold=is_on, align="center")
        if is_on:
            card.hits.append((name, box))
        y += px(34) if index % 2 else 0
    return card


def _draw_row(
    card: Card, row: PieceRow, box: pygame.Rect, is_chosen: bool, layout: Layout, texts: Texts
) -> None:
    px = layout.px
    if is_chosen:
        rounded(card.surface, box, px(4), theme.CARD_ROW)
    square = pygame.Rect(box.x + px(6), 0, px(14), px(14))
    square.centery = box.centery
    rounded(card.surface, square, px(3), theme.FIELD, theme.FIELD_EDGE)
    if not row.is_out:
        sign = verdict_sign("fits", px(10), theme.TEXT)
        card.surface.blit(sign, (square.x + px(2), square.y + px(2)))
    color = theme.TEXT_SOFT if row.is_out else theme.TEXT
    number = pygame.Rect(square.right + px(6), box.y, px(30), box.height)
    texts.draw(card.surface, str(row.number), number, px(12.5), color, bold=True)
    size = pygame.Rect(number.right, box.y, px(118), box.height)
    letters = texts.size_that_fits(row.size, size.width, layout.ui, 12.5)
    texts.draw(card.surface, row.size, size, letters, color)
    note = pygame.Rect(
        size.right + px(2), box.y, box.right - px(6) - size.right - px(2), box.height
    )
    dim = theme.TEXT_SOFT if is_chosen else theme.TEXT_DIM
    texts.draw(card.surface, row.note, note, px(11), dim, align="right")
    card.hits.append((f"piece:{row.number}", box))
