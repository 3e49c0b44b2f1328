"""All keys, from the same table that the keyboard uses."""

from __future__ import annotations

import pygame

from viewer.screen.commands import COMMANDS, Command
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts
from viewer.screen.theme import CARD, FIELD_EDGE, TEXT, TEXT_SOFT

TITLE = "Keys and mouse"
CLOSING = "Esc or F1 closes this"
CAUTION = (
    "\u201cfits\u201d is geometry, not permission to run: trial print first. The ring is sharp."
    " Never hold a cup against a screen: use a printed template."
)


def help_groups() -> list[tuple[str, list[Command]]]:
    """Commands that the help lists, in the order of the table, by group."""
    groups: dict[str, list[Command]] = {}
    for command in COMMANDS:
        if command.help_keys:
            groups.setdefault(command.group, []).append(command)
    return list(groups.items())


def draw_help(surface: pygame.Surface, layout: Layout, texts: Texts) -> None:
    """Dim the window and list every key."""
    px = layout.px
    width, height = surface.get_size()
    veil = pygame.Surface((width, height))
    veil.fill((0x10, 0x12, 0x16))
    veil.set_alpha(150)
    surface.blit(veil, (0, 0))
    groups = help_groups()
    size = px(13)
    keys_width = max(texts.width(c.help_keys, size, True) for _, cs in groups for c in cs) + px(22)
    words_width = max(texts.width(c.label, size) for _, cs in groups for c in cs) + px(6)
    caution = texts.wrap(CAUTION, keys_width + words_width, px(12))
    rows = sum(len(commands) for _, commands in groups)
    card_height = px(58) + len(groups) * px(30) + rows * px(23) + px(17) * len(caution) + px(24)
    box = pygame.Rect(0, 0, keys_width + words_width + px(56), card_height)
    box.center = (width // 2, height // 2)
    rounded(surface, box, px(9), CARD, FIELD_EDGE)
    texts.where = "help"
    x, y = box.x + px(28), box.y + px(18)
    inner = box.width - px(56)
    texts.draw(surface, TITLE, pygame.Rect(x, y, inner // 2, px(24)), px(17), TEXT, bold=True)
    closing = pygame.Rect(x + inner // 2, y, inner - inner // 2, px(24))
    texts.draw(surface, CLOSING, closing, px(12), TEXT_SOFT, align="right")
    y += px(32)
    for title, commands in groups:
        y += px(6)
        texts.draw(surface, title, pygame.Rect(x, y, inner, px(22)), px(12), TEXT_SOFT)
        y += px(24)
        for command in commands:
            keys = pygame.Rect(x, y, keys_width - px(8), px(22))
            texts.draw(surface, command.help_keys, keys, size, TEXT, bold=True)
            words = pygame.Rect(x + keys_width, y, words_width, px(22))
            texts.draw(surface, command.label, words, size, TEXT)
            y += px(23)
    y += px(10)
    for text in caution:
        texts.draw(surface, text, pygame.Rect(x, y, inner, px(17)), px(12), TEXT_SOFT)
        y += px(17)
