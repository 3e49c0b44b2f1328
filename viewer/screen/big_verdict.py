"""The verdict as large as the window, to be read from across the room."""

from __future__ import annotations

import os

import pygame

from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.patterns import fill_pattern
from viewer.screen.shapes import verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Frame
from viewer.screen.wording import clearance, verdict_word

CAUTION = "geometry, not permission to run: trial print first \u00b7 any key leaves"
CAUTIONS = (CAUTION, "geometry only: trial print first \u00b7 any key leaves", "any key leaves")


def draw_big(surface: pygame.Surface, frame: Frame, layout: Layout, texts: Texts) -> None:
    """Cup, sign, word and clearance of the present placement over the whole window."""
    session = frame.session
    if session is None:
        return
    placed = frame.placed[session.cup_index]
    verdict = str(placed.verdict)
    width, height = layout.size
    bar = theme.VERDICT_BAR[verdict]
    surface.fill(theme.CARD)
    # The bands carry the verdict's pattern, large enough to be told from afar.
    thick = height // 12
    for top in (0, height - thick):
        band = pygame.Rect(0, top, width, thick)
        fill_pattern(surface, band, verdict, bar, theme.CARD, max(8, thick // 2))
    texts.where = "big"
    free = pygame.Rect(width // 24, thick, width - width // 12, height - 2 * thick)
    margin = height // 40
    rows = free.inflate(0, -2 * margin)
    name = pygame.Rect(rows.x, rows.y, rows.width, rows.height * 20 // 100)
    word = pygame.Rect(rows.x, name.bottom, rows.width, rows.height * 42 // 100)
    number = pygame.Rect(rows.x, word.bottom, rows.width, rows.height * 28 // 100)
    note = pygame.Rect(rows.x, number.bottom, rows.width, rows.bottom - number.bottom)
    _centered(surface, texts, f"{session.cup.name} cup", name, theme.TEXT_SOFT, 0.75)
    _word(surface, texts, verdict, verdict_word(placed), word)
    told = f"{clearance(placed.clearance_mm)} mm"
    _centered(surface, texts, told, number, theme.TEXT, 0.75)
    size = max(layout.px(14), height // 50)
    half = note.height // 2
    upper = pygame.Rect(note.x, note.y, note.width, half)
    file_name = texts.cut(os.path.basename(session.artwork.path), upper.width, size)
    texts.draw(surface, file_name, upper, size, theme.TEXT_SOFT, align="center")
    lower = pygame.Rect(note.x, note.y + half, note.width, note.height - half)
    words = texts.first_that_fits(CAUTIONS, lower.width, size)
    texts.draw(surface, words, lower, size, theme.TEXT_SOFT, align="center")


def _word(surface: pygame.Surface, texts: Texts, verdict: str, word: str, box: pygame.Rect) -> None:
    """The sign, then the word, as large as both go in."""
    color = theme.VERDICT_TEXT[verdict]
    size = _largest(texts, word, box.width * 100 // 122, box.height)
    wide = texts.width(word, size, True)
    side, gap = round(size * 0.8), size // 4
    left = box.centerx - (side + gap + wide) // 2
    sign = verdict_sign(verdict, side, color)
    surface.blit(sign, (left, box.centery - side // 2))
    place = pygame.Rect(left + side + gap, box.y, wide, box.height)
    texts.draw(surface, word, place, size, color, bold=True)


def _centered(
    surface: pygame.Surface,
    texts: Texts,
    text: str,
    box: pygame.Rect,
    color: theme.Rgb,
    share: float,
) -> None:
    size = _largest(texts, text, box.width, round(box.height * share))
    texts.draw(surface, text, box, size, color, bold=True, align="center")


def _largest(texts: Texts, text: str, width: int, height: int) -> int:
    """The greatest size at which a line goes into a width and a height."""
    low, high = 8, max(9, height)
    while low < high:
        size = (low + high + 1) // 2
        is_narrow = texts.width(text, size, True) + size <= width
        if is_narrow and texts.height(size) <= height:
            low = size
        else:
            high = size - 1
    return low
