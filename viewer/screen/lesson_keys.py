"""Keys in lessons: which commands of the bench hold there, and which key presses a button."""

from __future__ import annotations

import pygame

from viewer.lessons.view import LessonView

ENTER = (pygame.K_RETURN, pygame.K_KP_ENTER)
_SHARED = frozenset(
    (
        "big-verdict", "theme", "theme-system", "ui-larger", "ui-smaller", "ui-usual",
        "cards-down", "cards-up", "focus-next", "focus-previous", "lessons", "help", "escape",
        "quit",
    )
)  # fmt: skip
_ON_BENCH = frozenset(
    (
        "best", "undo", "redo", "zoom-in", "zoom-out", "fit-window", "life-size", "calibrate",
        "tightest",
    )
)  # fmt: skip
_ON_BENCH_KINDS = ("nudge", "turn")
_DIGITS = {getattr(pygame, f"K_{kind}{n}"): n for kind in ("", "KP") for n in range(10)}
NOT_HERE = "not in a lesson \u00b7 Esc leaves"


def is_allowed(command: str, is_list: bool) -> bool:
    """Whether a command of the bench holds in the list, or in a lesson."""
    if command in _SHARED:
        return True
    return not is_list and (command in _ON_BENCH or command.startswith(_ON_BENCH_KINDS))


def digit_of(key: int) -> int | None:
    """The digit that a key stands for; None for another key."""
    return _DIGITS.get(key)


def button_keys(view: LessonView) -> dict[str, str]:
    """The key that stands on each button: Enter on the main one, digits on the others."""
    keys, number = {}, 0
    for choice in view.choices:
        if choice.is_main:
            keys[choice.name] = "Enter"
        else:
            number += 1
            keys[choice.name] = str(number)
    return keys
