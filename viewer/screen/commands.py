"""The one table of commands: keys, words for the help, and what each does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import pygame

from viewer.screen import model
from viewer.screen.answers import MOST_ANSWERS
from viewer.screen.model import Session

SHIFT = 1
CTRL = 2


class Actions(Protocol):
    """What a command may do to the window."""

    def change(self, change: Callable[[Session], Session]) -> None:
        """Change the session, so that it can be undone."""

    def go_to_best(self) -> None:
        """Put the cup where its clearance is best."""

    def choose_next(self, step: int) -> None:
        """Choose another cup, counted from the present one."""

    def undo(self) -> None:
        """Take the last change back."""

    def redo(self) -> None:
        """Do it again."""

    def answer(self, number: int) -> None:
        """Read the file again with what a warning's button says, counted from 1."""

    def toggle_warnings(self) -> None:
        """Show all words of the warnings, or one line each."""

    def zoom(self, factor: float) -> None:
        """Magnify about the view's middle."""

    def fit_window(self) -> None:
        """Show the whole page and cup."""

    def toggle_help(self) -> None:
        """Show or hide the keys."""

    def ask_for_path(self) -> None:
        """Offer a field for the path of a file."""

    def edit_field(self, name: str) -> None:
        """Give a field the keyboard."""

    def escape(self) -> None:
        """Leave what is open, or cancel the reading of a file."""

    def quit(self) -> None:
        """Close the window."""


@dataclass(frozen=True)
class Command:
    """``bindings``: (key, modifiers). ``help_keys`` empty: not listed in the help."""

    name: str
    bindings: tuple[tuple[int, int], ...]
    run: Callable[[Actions], None]
    help_keys: str = ""
    label: str = ""
    group: str = ""


def _changing(change: Callable[[Session], Session]) -> Callable[[Actions], None]:
    return lambda actions: actions.change(change)


def _nudges() -> list[Command]:
    arrows = (
        ("left", pygame.K_LEFT, -1, 0),
        ("right", pygame.K_RIGHT, 1, 0),
        ("back", pygame.K_UP, 0, 1),
        ("front", pygame.K_DOWN, 0, -1),
    )
    steps = (("", 0, 0.1), ("-far", SHIFT, 1.0), ("-fine", CTRL, 0.01))
    found = []
    for name, key, right, back in arrows:
        for suffix, mods, step in steps:
            found.append(
                Command(f"nudge-{name}{suffix}", ((key, mods),), _nudge(right * step, back * step))
            )
    return found


def _nudge(right_mm: float, back_mm: float) -> Callable[[Actions], None]:
    return _changing(lambda session: model.nudged(session, right_mm, back_mm))


def _turns() -> list[Command]:
    found = []
    steps = (("", 0, 1.0), ("-far", SHIFT, 15.0), ("-fine", CTRL, 0.1))
    for name, keys, sign in (
        ("left", (pygame.K_q, pygame.K_LEFTBRACKET), 1),
        ("right", (pygame.K_e, pygame.K_RIGHTBRACKET), -1),
    ):
        for suffix, mods, step in steps:
            # Ctrl+Q closes the window; the bracket alone turns finely.
            bound = tuple((k, mods) for k in keys if (k, mods) != (pygame.K_q, CTRL))
            found.append(Command(f"turn-{name}{suffix}", bound, _turn(sign * step)))
    return found


def _turn(by_deg: float) -> Callable[[Actions], None]:
    return _changing(lambda session: model.overlay_turned(session, by_deg))


def _cup_choices() -> list[Command]:
    keys = [getattr(pygame, f"K_{n}") for n in range(1, 10)]
    pads = [getattr(pygame, f"K_KP{n}") for n in range(1, 10)]
    return [
        Command(f"cup-{i + 1}", ((key, 0), (pad, 0)), _changing(_chooser(i)))
        for i, (key, pad) in enumerate(zip(keys, pads, strict=True))
    ]


def _chooser(index: int) -> Callable[[Session], Session]:
    return lambda session: model.with_cup(session, index)


def _answers() -> list[Command]:
    keys = [getattr(pygame, f"K_F{n}") for n in range(2, 2 + MOST_ANSWERS)]
    return [
        Command(f"answer-{number}", ((key, 0),), _answer(number))
        for number, key in enumerate(keys, start=1)
    ]


def _answer(number: int) -> Callable[[Actions], None]:
    return lambda actions: actions.answer(number)


PLACE, LOOK, FILE = "Place the cup", "Look", "File and window"

COMMANDS: tuple[Command, ...] = (
    Command(
        "best",
        ((pygame.K_b, 0),),
        lambda a: a.go_to_best(),
        "B",
        "put the cup where the clearance is best",
        PLACE,
    ),
    Command(
        "centre",
        ((pygame.K_c, 0),),
        _changing(model.at_datum),
        "C",
        "put the cup over the datum",
        PLACE,
    ),
    Command(
        "reset",
        ((pygame.K_r, 0),),
        _changing(model.reset),
        "R",
        "reset position, angle and scale",
        PLACE,
    ),
    Command(
        "nudge",
        (),
        lambda actions: None,
        "arrows",
        "nudge 0.1 mm \u00b7 Shift 1 mm \u00b7 Ctrl 0.01 mm",
        PLACE,
    ),
    *_nudges(),
    Command(
        "turn",
        (),
        lambda actions: None,
        "Q  E  or  [  ]",
        "turn 1\u00b0 \u00b7 Shift 15\u00b0 \u00b7 Ctrl 0.1\u00b0 (brackets)",
        PLACE,
    ),
    *_turns(),
    Command("cups", (), lambda actions: None, "1 \u2026 9", "choose a cup", PLACE),
    *_cup_choices(),
    Command(
        "next-cup",
        ((pygame.K_TAB, 0),),
        lambda a: a.choose_next(1),
        "Tab",
        "next cup \u00b7 Shift: the one before",
        PLACE,
    ),
    Command("previous-cup", ((pygame.K_TAB, SHIFT),), lambda a: a.choose_next(-1)),
    Command(
        "edit",
        ((pygame.K_RETURN, 0), (pygame.K_KP_ENTER, 0)),
        lambda a: a.edit_field("right"),
        "Enter",
        "type numbers \u00b7 Tab goes on",
        PLACE,
    ),
    Command(
        "limits",
        ((pygame.K_l, 0),),
        lambda a: a.edit_field("limit:pad"),
        "L",
        "pad, etch area, position, datum, angles \u00b7 \u2191 \u2193 choose",
        PLACE,
    ),
    Command("curve", (), lambda actions: None, "drag the curve", "turn the cup", PLACE),
    Command("undo", ((pygame.K_z, CTRL),), lambda a: a.undo(), "Ctrl+Z", "undo", PLACE),
    Command(
        "redo",
        ((pygame.K_y, CTRL), (pygame.K_z, CTRL | SHIFT)),
        lambda a: a.redo(),
        "Ctrl+Y",
        "redo",
        PLACE,
    ),
    Command(
        "zoom-in",
        (
            (pygame.K_PLUS, 0),
            (pygame.K_EQUALS, 0),
            (pygame.K_PLUS, SHIFT),
            (pygame.K_EQUALS, SHIFT),
            (pygame.K_KP_PLUS, 0),
        ),
        lambda a: a.zoom(1.25),
        "+  \u2212  or wheel",
        "zoom, the wheel at the pointer",
        LOOK,
    ),
    Command("zoom-out", ((pygame.K_MINUS, 0), (pygame.K_KP_MINUS, 0)), lambda a: a.zoom(1 / 1.25)),
    Command(
        "fit-window",
        ((pygame.K_f, 0), (pygame.K_HOME, 0)),
        lambda a: a.fit_window(),
        "F  or  Home",
        "show the whole page and cup",
        LOOK,
    ),
    Command(
        "pan",
        (),
        lambda actions: None,
        "drag the bench",
        "pan \u00b7 also middle button, or Space and drag",
        LOOK,
    ),
    Command(
        "warnings",
        ((pygame.K_w, 0),),
        lambda a: a.toggle_warnings(),
        "W",
        "warnings: all their words, or a line each",
        FILE,
    ),
    Command(
        "answers",
        (),
        lambda actions: None,
        "F2 \u2026 F10",
        "answer a warning, as its button says",
        FILE,
    ),
    *_answers(),
    Command(
        "open",
        ((pygame.K_o, CTRL),),
        lambda a: a.ask_for_path(),
        "Ctrl+O",
        "open a file by its path, or drop it here",
        FILE,
    ),
    Command(
        "help",
        (
            (pygame.K_F1, 0),
            (pygame.K_SLASH, SHIFT),
            (pygame.K_QUESTION, 0),
            (pygame.K_QUESTION, SHIFT),
        ),
        lambda a: a.toggle_help(),
        "F1",
        "show or hide these keys",
        FILE,
    ),
    Command(
        "escape",
        ((pygame.K_ESCAPE, 0),),
        lambda a: a.escape(),
        "Esc",
        "leave a field, message or drag \u00b7 cancel reading",
        FILE,
    ),
    Command("quit", ((pygame.K_q, CTRL),), lambda a: a.quit(), "Ctrl+Q", "close the window", FILE),
)

BY_NAME: dict[str, Command] = {command.name: command for command in COMMANDS}
BY_KEY: dict[tuple[int, int], Command] = {
    binding: command for command in COMMANDS for binding in command.bindings
}


def mods_of(event_mod: int) -> int:
    """Shift and Ctrl (or Cmd) out of an event's modifiers; the rest is nothing to us."""
    mods = SHIFT if event_mod & pygame.KMOD_SHIFT else 0
    return mods | (CTRL if event_mod & (pygame.KMOD_CTRL | pygame.KMOD_META) else 0)


def command_for(key: int, event_mod: int) -> Command | None:
    """The command of a key event, if it has one."""
    return BY_KEY.get((key, mods_of(event_mod)))
