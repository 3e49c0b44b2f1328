"""Where the parts of a sign-off stand: the same for drawing and for the mouse."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import pygame

from viewer.screen.layout import Layout
from viewer.screen.signing_shown import DONE, REASON, RECORDING, SigningShown
from viewer.screen.signing_words import (
    ARTWORK,
    KEYS,
    LABELS,
    READING,
    REASON_NOTE,
    RECORDING_NOW,
    STAGE_LABELS,
    button_labels,
    doubts,
    facts,
)
from viewer.screen.text import SIZES, Texts


@dataclass(frozen=True)
class Style:
    """How much is said, and how roomily. Measures in px of the 1600 x 1000 layout."""

    letters: float
    line: float
    """Height of a fact, as a share of its letters."""
    gap: float
    """What is free between groups."""
    field: float
    doubts: int
    """Most warnings told."""
    lines: int
    """Most lines of any one of them."""
    is_short: bool = False
    is_last: bool = False
    """Nothing is told twice then, and the record only where nothing else is wrong."""


STYLES = (
    Style(16.0, 1.7, 22.0, 38.0, 6, 4),
    Style(14.0, 1.55, 16.0, 33.0, 6, 4),
    Style(12.5, 1.45, 9.0, 27.0, 5, 4),
    Style(12.5, 1.4, 6.0, 26.0, 3, 2),
    Style(12.5, 1.25, 4.0, 24.0, 2, 2),
    Style(12.5, 1.25, 4.0, 24.0, 1, 2, True),
    Style(11.0, 1.25, 2.5, 23.0, 1, 1, True),
    Style(11.0, 1.25, 2.0, 22.0, 1, 1, True, True),
)
"""From the roomiest to what must not be missing."""


@dataclass(frozen=True)
class BoardLayout(Layout):
    """The part of the window in which artwork and ring are drawn, as a bench of its own."""

    @cached_property
    def bench(self) -> pygame.Rect:
        """All of it."""
        return pygame.Rect((0, 0), self.size)

    @cached_property
    def view(self) -> pygame.Rect:
        """Without its rulers."""
        ruler = self.ruler_px
        return pygame.Rect(ruler, ruler, self.size[0] - ruler, self.size[1] - ruler)


@dataclass(frozen=True)
class Words:
    """One line of text. ``tone``: "plain", "soft", "warn", "bad" or "title"."""

    text: str
    box: pygame.Rect
    size: float
    tone: str


@dataclass
class SigningBoxes:
    """Rectangles in the window. ``hits``: what can be clicked, by name."""

    head: pygame.Rect
    board: pygame.Rect
    column: pygame.Rect
    caution: pygame.Rect
    words: list[Words] = field(default_factory=list)
    hits: dict[str, pygame.Rect] = field(default_factory=dict)
    bottom: int = 0
    """How far down the column is filled."""
    letters: float = 12.5
    stage_size: float = 12.5
    """Of the letters, and of those on the two stages, in px of the 1600 x 1000 layout."""


def board_layout(boxes: SigningBoxes, layout: Layout) -> BoardLayout:
    """The layout of the artwork's part, with letters as large as everywhere."""
    return BoardLayout(boxes.board.size, layout.ui)


def signing_boxes(shown: SigningShown, layout: Layout, texts: Texts) -> SigningBoxes:
    """Lay a sign-off out, with as many words as there is room for."""
    for style in STYLES:
        boxes = _Laying(shown, layout, texts, style).boxes()
        if boxes.bottom <= boxes.column.bottom:
            break
    return boxes


def _frame(layout: Layout) -> SigningBoxes:
    """The large parts: head, artwork, column, caution."""
    px, (width, height) = layout.px, layout.size
    high = max(px(62), min(px(150), height * 15 // 100))
    foot = px(26)
    wide = max(px(316), min(px(480), width * 34 // 100))
    head = pygame.Rect(0, 0, width, high)
    body = height - high - foot
    column = pygame.Rect(width - wide + px(16), high + px(8), wide - px(28), body - px(8))
    return SigningBoxes(
        head,
        pygame.Rect(0, high, width - wide, body),
        column,
        pygame.Rect(px(14), height - foot, width - px(28), foot),
    )


class _Laying:
    def __init__(self, shown: SigningShown, layout: Layout, texts: Texts, style: Style) -> None:
        self._shown, self._px, self._texts, self._style = shown, layout.px, texts, style
        self._size = style.letters
        self._boxes = _frame(layout)
        self._column = self._boxes.column
        self._y = self._column.y

    def boxes(self) -> SigningBoxes:
        """From top to bottom: facts, doubts, record, then what a person does."""
        self._gap(0.5)
        self._facts()
        self._doubts()
        if self._shown.state == DONE:
            self._done()
        else:
            self._known()
            self._stages()
            self._fields()
            self._refusal("")
        self._buttons()
        self._boxes.bottom, self._boxes.letters = self._y, self._size
        return self._boxes

    # --- what is said ------------------------------------------------------------------

    def _facts(self) -> None:
        pairs = facts(self._shown.session, self._style.is_short)
        label = max(self._wide(name) for name, _ in pairs) + self._px(12)
        for name, value in pairs:
            row = self._row(self._size * self._style.line)
            self._say(name, pygame.Rect(row.x, row.y, label, row.height), "soft")
            room = pygame.Rect(row.x + label, row.y, row.width - label, row.height)
            # Of a name both ends count; how far to shift is read as a whole.
            if name != ARTWORK:
                self._say(self._middle_out(value, room.width), room, "plain")
                continue
            first, *others = self._shift_lines(value, room.width)
            self._say(first, room, "plain")
            for part in others:
                row = self._row(self._size * self._style.line)
                self._say(part, pygame.Rect(room.x, row.y, room.width, row.height), "plain")

    def _shift_lines(self, text: str, width: int) -> list[str]:
        """On one line, or one way on each: a number is not parted from its unit first."""
        if self._wide(text) <= width:
            return [text]
        parts = text.replace(" and ", "\nand ").split("\n")
        size = self._px(self._size)
        return [line for part in parts for line in self._texts.wrap(part, width, size)]

    def _doubts(self) -> None:
        lines = doubts(self._shown.session, self._shown.placed, self._style.doubts)
        self._gap(0.6 if lines else 0.0)
        for line in lines:
            self._paragraph(f"! {line}", "warn", min(2, self._style.lines))

    def _known(self) -> None:
        shown, most = self._shown, self._style.lines
        self._gap(0.8)
        if shown.trouble:
            self._paragraph(shown.trouble, "bad", most if self._style.is_last else most + 1)
        if self._style.is_last and (shown.trouble or shown.refusal is not None):
            return
        for line in shown.known or ((READING,) if not shown.trouble else ()):
            self._paragraph(line, "soft", most)

    def _done(self) -> None:
        self._gap(1.0)
        last = len(self._shown.done) - 1
        for number, line in enumerate(self._shown.done):
            # What comes next may be a caution, which is never cut.
            self._paragraph(line, "plain" if number else "title", 4 if number == last else 2)

    # --- what is asked -------------------------------------------------------------------

    def _stages(self) -> None:
        px = self._px
        self._gap(1.0)
        row = self._row(self._style.field)
        half = (row.width - px(6)) // 2
        for number, name in enumerate(STAGE_LABELS):
            box = pygame.Rect(row.x + number * (half + px(6)), row.y, half, row.height)
            self._boxes.hits[f"stage:{name}"] = box
        room = half - px(36)
        fitting = [s for s in SIZES if s <= self._size and self._stage_wide(s) <= room]
        self._boxes.stage_size = max(fitting, default=SIZES[0])

    def _stage_wide(self, size: float) -> int:
        return max(
            self._texts.width(label, self._px(size), True) for label in STAGE_LABELS.values()
        )

    def _fields(self) -> None:
        shown = self._shown
        label = max(self._wide(word) for word in LABELS.values()) + self._px(12)
        for name in shown.fields:
            self._gap(0.7)
            if name == REASON:
                self._paragraph(REASON_NOTE, "warn", 2)
            row = self._row(self._style.field)
            self._say(LABELS[name], pygame.Rect(row.x, row.y, label, row.height), "soft")
            box = pygame.Rect(row.x + label, row.y, row.width - label, row.height)
            self._boxes.hits[name] = box
            self._whole(name, box.width)
            self._refusal(name)

    def _whole(self, name: str, room: int) -> None:
        """All of what was typed, where its field is too small to show it."""
        text = self._shown.texts.get(name, "").strip()
        if self._style.is_last and name != REASON:
            return
        if self._wide(text, True) > room - self._px(24):
            self._gap(0.2)
            self._paragraph(f"\u201c{text}\u201d", "soft", self._style.lines)

    def _refusal(self, field: str) -> None:
        shown = self._shown
        if shown.state == RECORDING and not field:
            self._gap(0.6)
            self._paragraph(RECORDING_NOW, "title", 1)
        elif shown.refusal is not None and shown.refusal.field == field:
            self._gap(0.3)
            self._paragraph(shown.refusal.message, "bad", 1 + self._style.lines)

    def _buttons(self) -> None:
        px, labels = self._px, button_labels(self._shown)
        self._gap(1.2)
        row = self._row(self._style.field + 5.0)
        words = {name: self._texts.width(label, px(14), True) for name, label in labels.items()}
        free = row.width - sum(words.values()) - (len(words) - 1) * px(8)
        is_stacked = free < len(words) * px(10)
        air = px(20) if is_stacked else min(px(30), free // len(words))
        x = row.x
        for name, wide in words.items():
            if is_stacked and x > row.x:
                self._gap(0.4)
                x, row = row.x, self._row(self._style.field + 5.0)
            self._boxes.hits[name] = pygame.Rect(x, row.y, wide + air, row.height)
            x += wide + air + px(8)
        if not self._style.is_short:
            self._gap(0.6)
            self._paragraph(KEYS, "soft", 1)

    # --- lines --------------------------------------------------------------------------

    def _wide(self, text: str, bold: bool = False) -> int:
        return self._texts.width(text, self._px(self._size), bold)

    def _gap(self, share: float) -> None:
        # Nothing where nothing is wanted: a measure is one px at least.
        self._y += self._px(share * self._style.gap) if share else 0

    def _row(self, height: float) -> pygame.Rect:
        rect = pygame.Rect(self._column.x, self._y, self._column.width, self._px(height))
        self._y = rect.bottom
        return rect

    def _say(self, text: str, box: pygame.Rect, tone: str) -> None:
        self._boxes.words.append(Words(text, box, self._size, tone))

    def _paragraph(self, text: str, tone: str, most: int) -> None:
        """A text in lines; where there are too many the last one says that it goes on."""
        width, px, bold = self._column.width, self._px(self._size), tone == "title"
        whole = " ".join(self._middle_out(word, width) for word in text.split(" "))
        lines = self._texts.wrap(whole, width, px, bold)
        if len(lines) > most:
            rest = self._texts.cut(" ".join(lines[most - 1 :]), width, px, bold)
            lines = [*lines[: most - 1], rest]
        for line in lines:
            self._say(line, self._row(self._size * 1.4), tone)

    def _middle_out(self, text: str, width: int) -> str:
        """The text, its middle left out where it is too wide: both ends of a name count."""
        if self._wide(text, True) <= width:
            return text
        for kept in range(min(len(text) // 2, 200), 0, -1):
            short = f"{text[:kept]}\u2026{text[-kept:]}"
            if self._wide(short, True) <= width:
                return short
        return ""
