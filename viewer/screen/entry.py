"""What is typed into the fields, turned into a change of the session."""

from __future__ import annotations

import math
from dataclasses import replace

import pygame

from viewer.errors import UsageError
from viewer.screen import clipboard, cup_fields, limit_fields, model
from viewer.screen.model import Session
from viewer.screen.viewstate import Editing
from viewer.units import parse_length_mm

FIELD_ORDER = ("right", "back", "angle", "scale")
EDIT_KEYS = {
    pygame.K_BACKSPACE: "backspace",
    pygame.K_DELETE: "delete",
    pygame.K_LEFT: "left",
    pygame.K_RIGHT: "right",
    pygame.K_HOME: "home",
    pygame.K_END: "end",
}
LABELS = {
    "right": "cup left\u2013right",
    "back": "cup front\u2013back",
    "angle": "angle",
    "scale": "scale",
}


def field_after(name: str, step: int) -> str:
    """The field that Tab goes on to within its card; empty where there is none."""
    for order in (FIELD_ORDER, (*limit_fields.NAMES, *cup_fields.NAMES)):
        if name in order:
            return order[(order.index(name) + step) % len(order)]
    return ""


def apply_field(session: Session, name: str, text: str) -> Session:
    """The session with a field set to what was typed; UsageError says what is wrong."""
    if name in cup_fields.NAMES:
        return cup_fields.apply_cup_field(session, name, text)
    right, back = session.offset_mm
    if name == "right":
        return model.at_offset(session, field_number(name, text), back)
    if name == "back":
        return model.at_offset(session, right, field_number(name, text))
    if name == "angle":
        return model.at_turn(session, field_number(name, text))
    percent = field_number(name, text)
    low, high = 100 * model.MIN_SCALE, 100 * model.MAX_SCALE
    if not low <= percent <= high:
        raise UsageError(f"scale {text.strip()!r} must be from {low:g} to {high:g} %")
    return model.with_scale(session, percent / 100)


def field_number(name: str, text: str) -> float:
    """What was typed into a field as a number of its unit: mm, degrees or percent."""
    if name == "angle":
        return parse_number(text, "angle", ("\u00b0", "deg"))
    if name == "scale":
        return parse_number(text, "scale", ("%",))
    return parse_length_mm(text, LABELS.get(name) or cup_fields.SAID[name])


def parse_number(text: str, what: str, units: tuple[str, ...]) -> float:
    """A plain number, decimal point or comma, with or without one of the units."""
    plain = text.strip().lower().replace("\u2212", "-")
    for unit in units:
        plain = plain.removesuffix(unit).rstrip()
    try:
        value = float(plain.replace(",", ".")) if "_" not in plain else math.nan
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise UsageError(f"{what} {text.strip()[:40]!r} is not a number; write it like 12.5")
    return value


def typed(editing: Editing, letters: str) -> Editing:
    """Letters put in at the caret; the first ones replace what stood there."""
    letters = "".join(c for c in letters if c.isprintable())
    if not letters:
        return editing
    text, caret = ("", 0) if editing.is_untouched else (editing.text, editing.caret)
    joined = (text[:caret] + letters + text[caret:])[:4096]
    return replace(
        editing,
        text=joined,
        caret=min(len(joined), caret + len(letters)),
        error="",
        is_untouched=False,
        choice=-1,
        is_changed=True,
    )


def keyed(editing: Editing, key: int, mod: int) -> Editing | None:
    """The field after a key that edits text: the caret's, Ctrl+A, Ctrl+V; None for another."""
    if key in EDIT_KEYS:
        return edited(editing, EDIT_KEYS[key])
    if mod & pygame.KMOD_ALT or not mod & (pygame.KMOD_CTRL | pygame.KMOD_META):
        return None
    if key == pygame.K_a:
        return replace(editing, caret=len(editing.text), is_untouched=True)
    return typed(editing, clipboard.clipboard_text()) if key == pygame.K_v else None


def edited(editing: Editing, key: str) -> Editing:
    """The field after ``backspace``, ``delete``, ``left``, ``right``, ``home`` or ``end``."""
    text, caret = editing.text, editing.caret
    if editing.is_untouched and key in ("backspace", "delete"):
        text, caret = "", 0
    elif key == "backspace" and caret > 0:
        text, caret = text[: caret - 1] + text[caret:], caret - 1
    elif key == "delete":
        text = text[:caret] + text[caret + 1 :]
    elif key == "left":
        caret = max(0, caret - 1)
    elif key == "right":
        caret = min(len(text), caret + 1)
    elif key == "home":
        caret = 0
    elif key == "end":
        caret = len(text)
    return replace(
        editing,
        text=text,
        caret=caret,
        error="",
        is_untouched=False,
        choice=-1,
        is_changed=editing.is_changed or text != editing.text,
    )
