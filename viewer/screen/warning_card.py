"""The card of warnings: one line each, with buttons that answer; or all the words."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.fit import PlacedFit, Verdict
from viewer.fit.placement import NOT_ALLOWED
from viewer.screen import theme
from viewer.screen.answers import QUESTIONS, Offer, offers, ordered_warnings
from viewer.screen.card_base import Card, blank_card, card_width
from viewer.screen.layout import Layout
from viewer.screen.model import Session
from viewer.screen.shapes import line, rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.wording import plain_words, up

SEEN_WHEN_SMALL = 2
LINES_WHEN_SMALL = 2
UNSURE = "cannot be sure"


@dataclass(frozen=True)
class WarningRow:
    """One warning. ``note``: the size of the other outline that it brought."""

    blocks: bool
    short: str
    message: str
    note: str
    offers: tuple[Offer, ...]


@dataclass(frozen=True)
class WarningContent:
    """All warnings; ``others``: the outlines drawn in dashes, (label, size).

    ``notes``: what follows from them for the chosen cup, from the longest wording down.
    """

    rows: tuple[WarningRow, ...]
    others: tuple[tuple[str, str], ...]
    is_open: bool
    notes: tuple[str, ...] = ()

    @property
    def is_unsure(self) -> bool:
        """Whether one of them keeps the chosen cup from a plain verdict."""
        return UNSURE in self.notes


def warning_content(session: Session, placed: PlacedFit, is_open: bool) -> WarningContent:
    """What the card says about a session, its chosen cup being placed so."""
    rows: list[WarningRow] = []
    told: set[str] = set()
    open_offers = offers(session.fit)
    for warning in ordered_warnings(session.fit):
        code, words = warning.code, plain_words(warning.message)
        mine = tuple(o for o in open_offers if o.code == code and code not in told)
        # The outlines of one code belong together: their size is told once.
        is_first = code not in told
        told.add(code)
        sizes = [o.diameter_mm for o in session.others if o.code == code and is_first]
        note = f"dashed \u00d8 {up(max(sizes), 2)}" if sizes else ""
        short = QUESTIONS[code].words if code in QUESTIONS else words
        rows.append(WarningRow(warning.blocks_fits, short, words, note, mine))
    others = tuple((o.label, f"\u00d8 {up(o.diameter_mm, 2)}") for o in session.others)
    return WarningContent(tuple(rows), others, is_open, _notes(session, placed))


def _notes(session: Session, placed: PlacedFit) -> tuple[str, ...]:
    """What the warnings that forbid a plain "fits" come to: they need not decide anything."""
    codes = {warning.code for warning in session.fit.warnings if warning.blocks_fits}
    if placed.verdict is Verdict.TOO_CLOSE and set(placed.causes) - {NOT_ALLOWED}:
        return (UNSURE,) if codes else ()
    # With no other outline there was nothing else to judge.
    if not codes or not codes <= {other.code for other in session.others}:
        return ()
    count = "both" if len(session.others) == 1 else "all"
    return (f"{count} readings judged", f"{count} judged")


def draw_warnings(content: WarningContent, layout: Layout, texts: Texts) -> Card:
    """Draw the card, small or with all it has to say."""
    return _Drawing(content, layout, texts).draw()


class _Drawing:
    def __init__(self, content: WarningContent, layout: Layout, texts: Texts) -> None:
        self._content, self._layout, self._texts = content, layout, texts
        self._px = layout.px
        self._left = layout.px(34)
        self._width = card_width(layout) - self._left - layout.px(14)
        self._size = layout.px(12.5)

    def _lines(self, row: WarningRow) -> list[str]:
        if self._content.is_open:
            return self._texts.wrap(row.message, self._width, self._size)
        lines = self._texts.wrap(row.short, self._text_width(row), self._size)
        if len(lines) <= LINES_WHEN_SMALL:
            return lines
        # Ends in dots on purpose: W shows the rest.
        last = " ".join(lines[LINES_WHEN_SMALL - 1 :])
        kept = lines[: LINES_WHEN_SMALL - 1]
        return [*kept, self._texts.cut(last, self._text_width(row), self._size)]

    def _text_width(self, row: WarningRow) -> int:
        note = self._texts.width(row.note, self._size) + self._px(8) if row.note else 0
        return self._width - note

    def _rows(self) -> tuple[WarningRow, ...]:
        content = self._content
        return content.rows if content.is_open else content.rows[:SEEN_WHEN_SMALL]

    def _hides_some(self) -> bool:
        rows = self._content.rows
        return (
            len(rows) > SEEN_WHEN_SMALL
            or bool(self._content.others)
            or any(" ".join(self._lines(row)) != row.message for row in rows)
        )

    def draw(self) -> Card:
        px, content = self._px, self._content
        rows = [(row, self._lines(row)) for row in self._rows()]
        height = px(33) + px(6)
        for row, lines in rows:
            height += px(17) * len(lines) + px(3) + (px(28) if row.offers else 0)
        others = content.others if content.is_open else ()
        height += px(19) * len(others) + (px(4) if others else 0)
        card = blank_card(self._layout, height)
        if content.is_unsure:
            edge = pygame.Rect(0, px(8), px(4), height - 2 * px(8))
            card.surface.fill(theme.VERDICT_BAR["too-close"], edge)
        self._texts.where = "card:warnings"
        self._heading(card)
        y = px(33)
        for row, lines in rows:
            y = self._row(card, row, lines, y)
        y += px(4)
        for label, size in others:
            self._other(card, label, size, y)
            y += px(19)
        return card

    def _heading(self, card: Card) -> None:
        px, count = self._px, len(self._content.rows)
        title = "1 warning" if count == 1 else f"{count} warnings"
        titles = (*(f"{title} \u00b7 {note}" for note in self._content.notes), title)
        has_button = self._content.is_open or self._hides_some()
        label = "less  W" if self._content.is_open else "more  W"
        wide = self._texts.width(label, px(11)) + px(14)
        free = card.surface.get_width() - px(28) - (wide + px(6) if has_button else 0)
        box = pygame.Rect(px(14), px(8), free, px(20))
        is_unsure = self._content.is_unsure
        color = theme.VERDICT_TEXT["too-close"] if is_unsure else theme.TEXT_SOFT
        told = titles[0]
        if not is_unsure:
            told = self._texts.first_that_fits(titles, free, px(12.5))
        self._texts.draw(card.surface, told, box, px(12.5), color, bold=is_unsure)
        if not has_button:
            return
        button = pygame.Rect(card.surface.get_width() - px(14) - wide, px(8), wide, px(20))
        rounded(card.surface, button, px(4), theme.BUTTON)
        inner = button.inflate(-px(6), 0)
        self._texts.draw(card.surface, label, inner, px(11), theme.TEXT, align="center")
        card.hits.append(("command:warnings", button))

    def _row(self, card: Card, row: WarningRow, lines: list[str], y: int) -> int:
        px = self._px
        verdict = "too-close" if row.blocks else "in-margin"
        color = theme.VERDICT_TEXT["too-close"] if row.blocks else theme.TEXT_DIM
        card.surface.blit(verdict_sign(verdict, px(12), color), (px(14), y + px(2)))
        for number, text in enumerate(lines):
            wide = self._width if self._content.is_open else self._text_width(row)
            box = pygame.Rect(self._left, y, wide, px(17))
            self._texts.draw(
                card.surface, text, box, self._size, theme.TEXT if row.blocks else theme.TEXT_SOFT
            )
            if row.note and number == 0 and not self._content.is_open:
                wide = self._texts.width(row.note, self._size)
                note = pygame.Rect(self._left + self._width - wide, y, wide, px(17))
                self._texts.draw(card.surface, row.note, note, self._size, theme.OTHER_TEXT)
            y += px(17)
        y += px(3)
        if row.offers:
            self._buttons(card, row.offers, y)
            y += px(28)
        return y

    def _buttons(self, card: Card, shown: tuple[Offer, ...], y: int) -> None:
        px, gap = self._px, self._px(8)
        left = px(14)
        count = max(1, len(shown))
        wide = (card.surface.get_width() - 2 * left - gap * (count - 1)) // count
        for index, offer in enumerate(shown):
            box = pygame.Rect(left + index * (wide + gap), y, wide, px(23))
            rounded(card.surface, box, px(4), theme.BUTTON)
            inner = box.inflate(-2 * px(6), 0)
            key = self._texts.width(offer.key_name, px(11)) + px(3)
            label = pygame.Rect(inner.x, inner.y, inner.width - key, inner.height)
            self._texts.draw(card.surface, offer.answer.label, label, px(11), theme.TEXT, bold=True)
            self._texts.draw(
                card.surface,
                offer.key_name,
                pygame.Rect(inner.right - key, inner.y, key, inner.height),
                px(11),
                theme.TEXT,
                align="right",
            )
            card.hits.append((f"command:answer-{offer.number}", box))

    def _other(self, card: Card, label: str, size: str, y: int) -> None:
        px = self._px
        middle = y + px(9)
        for start, end in ((0, 8), (11, 13)):
            line(
                card.surface,
                (px(14) + start * self._layout.ui, middle),
                (px(14) + end * self._layout.ui, middle),
                max(1.5, 1.6 * self._layout.ui),
                theme.OTHER_TEXT,
            )
        wide = self._texts.width(size, self._size)
        name = pygame.Rect(self._left, y, self._width - wide - px(8), px(18))
        self._texts.draw(card.surface, label, name, px(11), theme.TEXT_SOFT)
        box = pygame.Rect(self._left + self._width - wide, y, wide, px(18))
        self._texts.draw(card.surface, size, box, self._size, theme.OTHER_TEXT)
