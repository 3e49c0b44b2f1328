"""What the Tab key goes through, and what keys do to the thing it has come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pygame

from viewer.screen import limit_fields, model
from viewer.screen.commands import CTRL, SHIFT, command_for, mods_of

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

CURVE = "curve"
_TURN_STEPS = {0: 1.0, SHIFT: 15.0, CTRL: 0.1}
_FIRST_LETTERS = "0123456789-+.,"
_NO_CHARACTER = 1 << 30
"""Keys from here on stand for no letter in any layout."""
_PAD_DIGITS = tuple(getattr(pygame, f"K_KP{n}") for n in range(10))


def stops(desk: Desk) -> tuple[str, ...]:
    """Everything that can be used, in order: the cards from top to bottom, the curve."""
    desk.painter.panel.update(desk.frame(), desk.layout)
    if desk.numbers.shown is not None:
        return tuple(desk.painter.panel.names())
    if desk.session is None:
        return ()
    curve = (CURVE,) if desk.layout.strip.top < desk.size[1] else ()
    return (*desk.painter.panel.names(), *curve)


def after(names: tuple[str, ...], now: str, step: int) -> str:
    """The next one, round and round; the first or last where there is none yet."""
    if not names:
        return ""
    if now not in names:
        return names[0] if step > 0 else names[-1]
    return names[(names.index(now) + step) % len(names)]


def still(desk: Desk, name: str) -> str:
    """What has the focus: the field with the keyboard, else ``name`` while it is there."""
    names = stops(desk)
    field = f"field:{desk.editing.name}" if desk.editing is not None else ""
    if field in names:
        return field
    return name if name in names else ""


def begins_typing(desk: Desk, name: str, key: int, mod: int) -> bool:
    """Whether a key is the first letter for a field that has the focus.

    A field for a number alone takes no letters: they stay commands.
    """
    kind, _, what = name.partition(":")
    mods = mods_of(mod)
    if kind != "field" or mods not in (0, SHIFT):
        return False
    if mods == 0 and (_is_first_letter(key) or key in _PAD_DIGITS):
        return True
    if what not in limit_fields.NAMES and desk.owner_of(what) is None:
        return False
    command = command_for(key, mod)
    is_letter = ord(" ") < key < _NO_CHARACTER and key != pygame.K_DELETE
    return is_letter and not (command is not None and command.name == "help")


def press_key(desk: Desk, name: str, key: int, mod: int) -> str | None:
    """What has the focus after a key; None: the key is not for this thing."""
    kind, _, what = name.partition(":")
    mods = mods_of(mod)
    if key in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE) and mods == 0:
        if name != CURVE:
            desk.press(name)
        return name
    if name == CURVE and key in (pygame.K_LEFT, pygame.K_RIGHT) and mods in _TURN_STEPS:
        by_deg = _TURN_STEPS[mods] * (1 if key == pygame.K_RIGHT else -1)
        desk.change(lambda s: model.with_turn(s, round(s.placement.turn_deg + by_deg, 1)))
        return name
    if kind == "cup" and key in (pygame.K_UP, pygame.K_DOWN) and mods == 0:
        return _next_cup(desk, 1 if key == pygame.K_DOWN else -1)
    if begins_typing(desk, name, key, mod):
        # The letter itself comes as text, into the field that is open by then.
        desk.edit_field(what)
        return name
    return None


def _is_first_letter(key: int) -> bool:
    return 0 < key < 128 and chr(key) in _FIRST_LETTERS


def _next_cup(desk: Desk, step: int) -> str:
    session = desk.session
    assert session is not None
    index = max(0, min(len(session.fit.cups) - 1, session.cup_index + step))
    desk.change(lambda s: model.with_cup(s, index))
    name = f"cup:{index}"
    desk.scroll_to(name)
    return name
