"""The answer to numbers on the bench: headline, worked sum, drawing, sizes of the cup."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import numbers_words, theme
from viewer.screen.curve_strip import strip_box
from viewer.screen.layout import Layout
from viewer.screen.numbers_drawing import NumbersDrawing
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.numbers_signs import VERDICT_OF, grade_sign
from viewer.screen.numbers_words import Headline
from viewer.screen.patterns import fill_pattern
from viewer.screen.shapes import rounded
from viewer.screen.text import SIZES, Texts
from viewer.sizing import Grade

WIDE_PX = 620
"""From this width, in px of the 1600 x 1000 layout, sum and drawing stand side by side."""
DRAWING_PX = 150
"""A drawing less high than this shows nothing."""
SMALL_PX = 350
"""A bench less high than this has no room for everything."""
EARLIER = "\u2026 earlier lines need a larger window"


@dataclass(frozen=True)
class _Line:
    """One line of the sum. ``indent`` in px of the 1600 x 1000 layout."""

    text: str
    is_title: bool = False
    is_end: bool = False
    indent: int = 0
    is_given: bool = False


class NumbersBench:
    """Draws the answer; keeps the picture until it changes."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._drawing = NumbersDrawing(texts)

    def draw(self, surface: pygame.Surface, shown: NumbersShown, layout: Layout) -> None:
        """Draw over the whole bench, and no further."""
        px, bench = layout.px, layout.bench
        surface.fill(theme.BENCH, bench)
        free = bench.inflate(-2 * px(16), -2 * px(14))
        bottom = self._headline(surface, numbers_words.headline(shown), free, layout)
        body = pygame.Rect(free.x, bottom + px(12), free.width, free.bottom - bottom - px(12))
        if shown.query is None:
            return
        lines = sum_lines(shown)
        if body.width >= px(WIDE_PX) and body.height >= px(DRAWING_PX):
            gap = px(14)
            left = pygame.Rect(body.x, body.y, (body.width - gap) * 48 // 100, body.height)
            right = pygame.Rect(left.right + gap, body.y, 0, body.height)
            right.width = body.right - right.x
            self._sum(surface, lines, left, layout)
            self._drawing.draw(surface, shown, right, layout)
            return
        bottom = self._sum(surface, lines, body, layout)
        rest = pygame.Rect(body.x, bottom + px(10), body.width, body.bottom - bottom - px(10))
        if rest.height >= px(DRAWING_PX):
            self._drawing.draw(surface, shown, rest, layout)

    def draw_strip(self, surface: pygame.Surface, shown: NumbersShown, layout: Layout) -> None:
        """The sizes that the chosen cup takes, in place of the curve."""
        px, box = layout.px, strip_box(layout)
        surface.fill(theme.WINDOW, layout.strip)
        surface.fill(theme.STRIP, box)
        self._texts.where = "strip"
        inner = box.inflate(-2 * px(14), 0)
        lines = numbers_words.cup_sizes(shown)
        title = numbers_words.cup_sizes_title(shown) if lines else ""
        place = pygame.Rect(inner.x, box.y + px(5), inner.width, px(18))
        size = self._texts.size_that_fits(title, inner.width, layout.ui, 12.5)
        self._texts.draw(surface, title, place, size, theme.TEXT_SOFT)
        y, high = place.bottom + px(3), px(21)
        for line in lines:
            size = self._texts.size_that_fits(line, inner.width, layout.ui, 16)
            row = pygame.Rect(inner.x, y, inner.width, high)
            self._texts.draw(surface, line, row, size, theme.TEXT)
            y += high

    # --- headline ----------------------------------------------------------------

    def _headline(
        self, surface: pygame.Surface, said: Headline, free: pygame.Rect, layout: Layout
    ) -> int:
        """Draw it; returns where it ends."""
        px, texts = layout.px, self._texts
        band = px(14)
        left = band + px(14) + (px(34) if said.grade is not None else 0)
        width = free.width - left - px(14)
        big = px(20) if texts.width(said.title, px(20), True) <= 2 * width else px(16)
        titles = texts.wrap(said.title, width, big, True)
        # The sum needs the room of a small window.
        told = said.notes if free.height >= px(SMALL_PX) else said.notes[:1]
        notes = [line for note in told for line in texts.wrap(note, width, px(14))]
        most = max(1, (free.height // 2 - px(30) * len(titles) - px(20)) // px(20))
        small = px(14)
        if len(notes) > most:
            small = px(11)
            notes = [line for note in told for line in texts.wrap(note, width, small)]
        step = px(20) if small == px(14) else px(15)
        high = px(20) + px(28) * len(titles) + step * len(notes)
        box = pygame.Rect(free.x, free.y, free.width, high)
        rounded(surface, box, px(7), theme.CARD)
        edge = pygame.Rect(box.x + px(6), box.y + px(6), band - px(6), box.height - 2 * px(6))
        color = _headline_color(surface, said.grade, edge, layout)
        if said.grade is not None:
            sign = grade_sign(said.grade, px(24), color)
            surface.blit(sign, (box.x + band + px(12), box.y + px(11)))
        texts.where = "headline"
        y = box.y + px(9)
        for text in titles:
            place = pygame.Rect(box.x + left, y, width, px(28))
            texts.draw(surface, text, place, big, color, bold=True)
            y += px(28)
        for text in notes:
            texts.draw(surface, text, pygame.Rect(box.x + left, y, width, step), small, theme.TEXT)
            y += step
        return box.bottom

    # --- sum ---------------------------------------------------------------------

    def _sum(
        self, surface: pygame.Surface, lines: list[_Line], free: pygame.Rect, layout: Layout
    ) -> int:
        """Draw it in the largest letters that all of it goes in with; returns where it ends."""
        px, texts = layout.px, self._texts
        inner = free.inflate(-2 * px(16), -2 * px(12))
        size, shown = SIZES[0], list[_Line]()
        # Ranges and inches stand at the fields as well: they go before anything else.
        for tried in (lines, [line for line in lines if not line.is_given]):
            for size in reversed(SIZES):
                shown = self._wrapped(tried, inner.width, size, layout)
                if _height(shown, size, layout) <= inner.height:
                    break
            if _height(shown, size, layout) <= inner.height:
                break
        if _height(shown, size, layout) > inner.height:
            while len(shown) > 1 and _height([_Line(EARLIER), *shown], size, layout) > inner.height:
                shown = shown[1:]
            shown = [_Line(EARLIER), *shown]
        box = pygame.Rect(free.x, free.y, free.width, _height(shown, size, layout) + 2 * px(12))
        rounded(surface, box, px(7), theme.CARD)
        texts.where = "sum"
        y = inner.y
        for number, line in enumerate(shown):
            high = _line_px(line, size, layout, number)
            gap = high - _line_px(line, size, layout, 0)
            left = inner.x + px(line.indent)
            row = pygame.Rect(left, y + gap, inner.right - left, high - gap)
            letters = px(_title_size(size) if line.is_title else size)
            color = theme.TEXT_SOFT if line.is_title else theme.TEXT
            texts.draw(surface, line.text, row, letters, color, bold=line.is_end)
            y += high
        return box.bottom

    def _wrapped(self, lines: list[_Line], width: int, size: float, layout: Layout) -> list[_Line]:
        px, found = layout.px, list[_Line]()
        for line in lines:
            letters = px(_title_size(size) if line.is_title else size)
            first = True
            hang = px(line.indent + 14)
            for text in self._texts.wrap(line.text, width - hang, letters, line.is_end):
                indent = line.indent if first or line.is_title else line.indent + 14
                found.append(_Line(text, line.is_title and first, line.is_end, indent))
                first = False
        return found


def _title_size(size: float) -> float:
    return min(size, 12.5)


def _line_px(line: _Line, size: float, layout: Layout, number: int) -> int:
    """Height of a line; a title stands apart from what is above it."""
    pitch = 1.5 if size > SIZES[0] else 1.3
    high = layout.px(pitch * (_title_size(size) if line.is_title else size))
    return high + (layout.px(0.5 * size) if line.is_title and number else 0)


def _height(lines: list[_Line], size: float, layout: Layout) -> int:
    return sum(_line_px(line, size, layout, number) for number, line in enumerate(lines))


def sum_lines(shown: NumbersShown) -> list[_Line]:
    """The worked sum of the chosen cup, line by line."""
    found: list[_Line] = []
    verdict = numbers_words.press_verdict(shown)
    for worked in shown.sums:
        given = worked.title == "the numbers"
        title = numbers_words.sum_title(shown, worked.title)
        found.append(_Line(title, is_title=True, is_given=given))
        for text in worked.lines:
            # Where more than the cup decides, what the cup says is not the end.
            is_end = text.startswith(" ") and not verdict
            found.append(_Line(numbers_words.spelled(text.strip()), False, is_end, 0, given))
    if verdict:
        found.append(_Line("with all that limits the image", is_title=True))
        found.append(_Line(verdict[0], is_end=True))
        found.extend(_Line(text) for text in verdict[1:])
    return found


def _headline_color(
    surface: pygame.Surface, found: Grade | None, edge: pygame.Rect, layout: Layout
) -> theme.Rgb:
    """Fill the band at the left in the grade's pattern; returns the color of its words."""
    if found is None:
        surface.fill(theme.TRACK, edge)
        return theme.TEXT
    verdict = VERDICT_OF[found]
    fill_pattern(surface, edge, verdict, theme.VERDICT_BAR[verdict], theme.CARD, layout.px(9))
    return theme.VERDICT_TEXT[verdict]
