"""The one table of commands: keys, words for the help, and what each does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pygame

from viewer.screen import model
from viewer.screen.actions import Actions
from viewer.screen.answers import MOST_ANSWERS
from viewer.screen.model import Session

SHIFT = 1
CTRL = 2


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


def _look_commands() -> list[Command]:
    plus = (pygame.K_PLUS, pygame.K_EQUALS, pygame.K_KP_PLUS)
    larger = tuple((key, mods) for key in plus for mods in (CTRL, CTRL | SHIFT))
    smaller = ((pygame.K_MINUS, CTRL), (pygame.K_KP_MINUS, CTRL))
    usual = ((pygame.K_0, CTRL), (pygame.K_KP0, CTRL))
    return [
        Command(
            "life-size",
            ((pygame.K_y, 0),),
            lambda a: a.looks.toggle_life_size(),
            "Y",
            "life-size, to hold a printed part against it \u00b7 Shift: calibrate the screen",
            LOOK,
        ),
        Command("calibrate", ((pygame.K_y, SHIFT),), lambda a: a.looks.calibrate()),
        Command(
            "big-verdict",
            ((pygame.K_F11, 0),),
            lambda a: a.looks.toggle_big(),
            "F11",
            "the verdict as large as the window \u00b7 any key leaves",
            LOOK,
        ),
        Command(
            "theme",
            ((pygame.K_t, 0),),
            lambda a: a.looks.toggle_theme(),
            "T",
            "light or dark \u00b7 Shift: as the system",
            LOOK,
        ),
        Command("theme-system", ((pygame.K_t, SHIFT),), lambda a: a.looks.follow_system()),
        Command(
            "ui-larger",
            larger,
            lambda a: a.looks.step_ui(1),
            "Ctrl +  \u2212  0",
            "larger, smaller, usual letters and cards",
            LOOK,
        ),
        Command("ui-smaller", smaller, lambda a: a.looks.step_ui(-1)),
        Command("ui-usual", usual, lambda a: a.looks.step_ui(0)),
        Command(
            "cards-down",
            ((pygame.K_PAGEDOWN, SHIFT),),
            lambda a: a.looks.scroll_cards(1),
            "Shift+Page",
            "scroll the cards, as the wheel does over them",
            LOOK,
        ),
        Command("cards-up", ((pygame.K_PAGEUP, SHIFT),), lambda a: a.looks.scroll_cards(-1)),
    ]


def _file_commands() -> list[Command]:
    return [
        Command(
            "open",
            ((pygame.K_o, CTRL),),
            lambda a: a.ask_for_path(),
            "Ctrl+O",
            "open artwork or a job \u00b7 or drop it on the window",
            FILE,
        ),
        Command(
            "recent",
            (),
            lambda actions: None,
            "Ctrl+1 \u2026 9",
            "without a file: one of those opened lately",
            FILE,
        ),
        Command(
            "save",
            ((pygame.K_s, CTRL),),
            lambda a: a.filing.save(),
            "Ctrl+S",
            "save the work as a job file \u00b7 Shift: under another name",
            FILE,
        ),
        Command("save-as", ((pygame.K_s, CTRL | SHIFT),), lambda a: a.filing.save_as()),
        Command(
            "notes",
            ((pygame.K_n, CTRL),),
            lambda a: a.filing.ask_for_notes(),
            "Ctrl+N",
            "notes, saved with the job",
            FILE,
        ),
        Command(
            "next-file",
            ((pygame.K_PAGEDOWN, 0),),
            lambda a: a.filing.next_file(1),
            "PageUp, PageDown",
            "the file before, the next one \u00b7 Ctrl: pages of this file",
            FILE,
        ),
        Command("previous-file", ((pygame.K_PAGEUP, 0),), lambda a: a.filing.next_file(-1)),
        Command("next-page", ((pygame.K_PAGEDOWN, CTRL),), lambda a: a.filing.next_page(1)),
        Command("previous-page", ((pygame.K_PAGEUP, CTRL),), lambda a: a.filing.next_page(-1)),
        Command(
            "read-again",
            ((pygame.K_r, CTRL),),
            lambda a: a.filing.read_again(),
            "Ctrl+R",
            "read the file again \u00b7 it happens by itself when the file is saved",
            FILE,
        ),
        Command(
            "sign-off",
            ((pygame.K_RETURN, CTRL), (pygame.K_KP_ENTER, CTRL)),
            lambda a: a.signing.begin(),
            "Ctrl+Enter",
            "sign off what is shown: approve or reject it, with name and note",
            FILE,
        ),
        Command(
            "sheet",
            ((pygame.K_p, CTRL),),
            lambda a: a.signing.ask_for_sheet(),
            "Ctrl+P",
            "write the fit sheet, a PDF at true scale to print",
            FILE,
        ),
        Command(
            "numbers",
            ((pygame.K_s, 0),),
            lambda a: a.numbers.toggle(),
            "S",
            "size by numbers alone, without a file \u00b7 Esc: back to the artwork",
            FILE,
        ),
        Command(
            "lessons",
            ((pygame.K_l, CTRL),),
            lambda a: a.show_lessons(),
            "Ctrl+L",
            "lessons for apprentices \u00b7 the work stays as it is",
            FILE,
        ),
    ]


def _way_takers() -> list[Command]:
    return [
        Command(f"way-{number}", ((getattr(pygame, f"K_{number}"), CTRL),), _way_taker(number))
        for number in range(1, 10)
    ]


def _way_taker(number: int) -> Callable[[Actions], None]:
    return lambda actions: actions.artist.ways.take(number)


def _tool_commands() -> list[Command]:
    return [
        Command(
            "ways",
            ((pygame.K_a, 0),),
            lambda a: a.artist.ways.choose(),
            "A  or  Ctrl+1 \u2026 9",
            "ways out: look at each with \u2191 \u2193 \u00b7 take it with Enter, or at once",
            PLACE,
        ),
        *_way_takers(),
        Command(
            "snapping",
            ((pygame.K_n, 0),),
            lambda a: a.artist.toggle_snapping(),
            "N",
            "snapping on or off: circle, page, datum, 15\u00b0, ink corners",
            PLACE,
        ),
        Command(
            "measure",
            ((pygame.K_m, 0),),
            lambda a: a.artist.toggle_measure(),
            "M",
            "measure between two points \u00b7 arrows, Tab and Enter do it too",
            ARTWORK,
        ),
        Command(
            "sizes",
            ((pygame.K_k, 0),),
            lambda a: a.artist.toggle_sizes(),
            "K",
            "draw width, height, diagonal and circle with their numbers",
            ARTWORK,
        ),
        Command(
            "pieces",
            ((pygame.K_p, 0),),
            lambda a: a.artist.toggle_pieces(),
            "P",
            "pieces of ink \u00b7 \u2191 \u2193 choose, Delete leaves out, Insert takes in",
            ARTWORK,
        ),
        Command("leave-out", ((pygame.K_DELETE, 0),), lambda a: a.artist.leave_out()),
        Command("take-in", ((pygame.K_INSERT, 0),), lambda a: a.artist.take_in()),
        Command(
            "paper",
            ((pygame.K_i, 0),),
            lambda a: a.artist.pick_paper(),
            "I",
            "pick the colour that is paper",
            ARTWORK,
        ),
        Command(
            "white",
            ((pygame.K_u, 0),),
            lambda a: a.artist.next_white(),
            "U",
            "white: as found, ink, paper",
            ARTWORK,
        ),
        Command(
            "tightest",
            ((pygame.K_g, 0),),
            lambda a: a.artist.zoom_to_tightest(),
            "G",
            "go near to the tightest place",
            LOOK,
        ),
    ]


ARTWORK = "The artwork"
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
        ((pygame.K_PERIOD, 0),),
        lambda a: a.choose_next(1),
        ",  .",
        "the cup before \u00b7 the next cup",
        PLACE,
    ),
    Command("previous-cup", ((pygame.K_COMMA, 0),), lambda a: a.choose_next(-1)),
    Command(
        "focus-next",
        ((pygame.K_TAB, 0),),
        lambda a: a.looks.move_focus(1),
        "Tab",
        "go through all that can be used, Shift back \u00b7 Enter uses it",
        PLACE,
    ),
    Command("focus-previous", ((pygame.K_TAB, SHIFT),), lambda a: a.looks.move_focus(-1)),
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
        "pad, etch area, hold, datum, angles \u00b7 \u2191 \u2193 choose",
        PLACE,
    ),
    Command("curve", (), lambda actions: None, "drag the curve", "turn the cup", PLACE),
    Command("undo", ((pygame.K_z, CTRL),), lambda a: a.undo(), "Ctrl+Z", "undo", PLACE),
    Command(
        "redo",
        ((pygame.K_y, CTRL), (pygame.K_z, CTRL | SHIFT)),
        lambda a: a.redo(),
        "Ctrl+Y",
        "redo \u00b7 also Ctrl+Shift+Z",
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
    *_look_commands(),
    *_tool_commands(),
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
    *_file_commands(),
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
