"""Sizing by numbers alone: fields in the panel, the sum on the bench."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pygame

from viewer.errors import BrimcheckError, UsageError
from viewer.press import Cup, Press, sort_cups
from viewer.screen import numbers_words
from viewer.screen.commands import Command, command_for, mods_of
from viewer.screen.cup_fields import cups_of
from viewer.screen.focus import begins_typing
from viewer.screen.guest import Guest
from viewer.screen.notices import notice_boxes
from viewer.screen.numbers_query import (
    DIAGONAL,
    KINDS,
    SHAPE,
    WIDTH,
    Typed,
    entered,
    missing,
    query_of,
    window_words,
)
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.numbers_worker import NumbersWorker
from viewer.sizing import SizeAnswer, SizeQuery, circle_range, is_pair

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

_DIGITS = {
    **{getattr(pygame, f"K_{n}"): n for n in range(10)},
    **{getattr(pygame, f"K_KP{n}"): n for n in range(10)},
}
_FIRST_LETTERS = (pygame.K_a, pygame.K_BACKQUOTE)
"""With these "about 48" and "~48" begin; they do nothing else without a file."""
_CUP_STEPS = {"next-cup": 1, "previous-cup": -1, "nudge-front": 1, "nudge-back": -1}
_LET_THROUGH = (
    "focus-next", "focus-previous", "theme", "theme-system", "ui-larger", "ui-smaller",
    "ui-usual", "cards-down", "cards-up", "open", "save", "save-as", "notes", "next-file",
    "previous-file", "next-page", "previous-page", "read-again", "numbers", "lessons", "help",
    "escape", "quit",
)  # fmt: skip
"""Commands that do the artwork nothing while it cannot be seen."""


@dataclass(frozen=True)
class _Question:
    """What is to be shown, and what the answer depends on."""

    typed: Typed | None
    press: Press
    chosen: Cup | None
    path: str
    is_typing: bool
    answers: int
    error: str
    """What is wrong with the text of a field."""


class Numbers(Guest):
    """The numbers of one desk. They stay when a file is opened."""

    name = "numbers"

    def __init__(self, desk: Desk, wake: Callable[[], None] = lambda: None) -> None:
        self._desk = desk
        self._worker = NumbersWorker(wake)
        self._typed = Typed()
        self._last_field = WIDTH
        self._filled_both = False
        self._chosen: Cup | None = None
        self._chosen_alone: Cup | None = None
        """The cup that the answer itself has put forward last."""
        self._shown_over: str | None = None
        """Path of the artwork in whose place the card stands."""
        self._pos = (0, 0)
        self._kept: tuple[_Question, NumbersShown] | None = None

    # --- what is shown -----------------------------------------------------------

    @property
    def is_there(self) -> bool:
        """Whether the card is in the panel: without a file always."""
        session = self._desk.session
        return session is None or self._shown_over == session.loaded.path

    @property
    def covers_bench(self) -> bool:
        """Whether nothing of the artwork is seen, and nothing of it may be changed."""
        shown = self.shown
        return shown is not None and shown.covers_bench

    @property
    def shown(self) -> NumbersShown | None:
        """What a frame shows of it."""
        if not self.is_there:
            return None
        session = self._desk.session
        typed = self._typed_now()
        question = _Question(
            typed,
            self._press(),
            self._chosen,
            "" if session is None else session.loaded.path,
            typed != self._typed,
            self._worker.count,
            self._told(),
        )
        if self._kept is None or self._kept[0] != question:
            self._kept = (question, self._show(question))
        return self._kept[1]

    def _told(self) -> str:
        """What the field that has the keyboard says is wrong."""
        editing = self._desk.editing
        is_ours = editing is not None and editing.name in self._typed.fields
        return editing.error if editing is not None and is_ours else ""

    def _press(self) -> Press:
        desk, session = self._desk, self._desk.session
        if session is None:
            return desk.known_press
        return replace(desk.known_press, cups=cups_of(session), limits=session.limits)

    def _typed_now(self) -> Typed | None:
        """The fields with what is just being typed; None while that makes no sense yet."""
        editing = self._desk.editing
        if editing is None or editing.name not in self._typed.fields:
            return self._typed
        if not editing.is_changed and editing.choice < 0:
            return self._typed
        try:
            return entered(self._typed, editing.name, editing.text)
        except UsageError:
            return None

    def _show(self, question: _Question) -> NumbersShown:
        cups = sort_cups(question.press.cups)
        shown = NumbersShown(
            typed=question.typed or self._typed,
            cups=cups,
            chosen=self._index(cups, None),
            has_file=bool(question.path),
            is_typing=question.is_typing,
        )
        if question.error:
            return self._wrong(shown, question.error)
        if question.typed is None:
            return self._without(shown, numbers_words.TYPING)
        prompt = missing(question.typed)
        if prompt:
            return self._without(shown, prompt)
        try:
            query = query_of(question.typed)
        except UsageError as error:
            # A number half typed may contradict the others: nothing is wrong yet.
            if question.is_typing:
                return self._without(shown, numbers_words.TYPING)
            return self._wrong(shown, window_words(error.message))
        return self._answered(shown, query, question.press)

    def _without(self, shown: NumbersShown, prompt: str) -> NumbersShown:
        self._worker.forget()
        return replace(shown, prompt=prompt)

    def _wrong(self, shown: NumbersShown, problem: str) -> NumbersShown:
        self._worker.forget()
        fields = shown.typed.fields
        field = self._last_field if self._last_field in fields else WIDTH
        return replace(shown, problem=problem, problem_field=field)

    def _answered(self, shown: NumbersShown, query: SizeQuery, press: Press) -> NumbersShown:
        found = self._worker.ask(query, press)
        if isinstance(found, BrimcheckError):
            return self._wrong(shown, window_words(found.message))
        chosen = self._index(shown.cups, found)
        circle = circle_range(query) if found is None else found.circle
        return replace(
            shown,
            query=query,
            circle=circle,
            answer=found,
            chosen=chosen,
            sums=numbers_words.sums_for(query, circle, shown.cups[chosen]),
            is_working=found is None,
        )

    def _index(self, cups: tuple[Cup, ...], answer: SizeAnswer | None) -> int:
        """The cup that a person has chosen, else the one that the answer is about."""
        if self._chosen in cups:
            return cups.index(self._chosen)
        if answer is not None:
            self._chosen_alone = numbers_words.subject(answer).cup
        return cups.index(self._chosen_alone) if self._chosen_alone in cups else 0

    def wait(self, timeout_s: float) -> bool:
        """Let the thread finish; False when it takes longer."""
        return self._worker.wait(timeout_s)

    # --- fields ------------------------------------------------------------------

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields it shows now; none while it is not there."""
        return self._typed.fields if self.is_there else ()

    def field_text(self, field: str) -> str:
        """What stands in a field before anything is typed."""
        return self._typed.text(field)

    def field_after(self, field: str, step: int) -> str:
        """The field that Tab goes on to; past the height that came with the width."""
        fields = self.fields
        if field == WIDTH and step > 0 and self._filled_both:
            return DIAGONAL
        if field not in fields:
            return WIDTH
        return fields[(fields.index(field) + step) % len(fields)]

    def choices(self, field: str) -> tuple[str, ...]:
        """What the list of a field offers."""
        return tuple(kind for kind, _ in KINDS) if field == SHAPE else ()

    def enter(self, field: str, text: str) -> None:
        """What was typed holds now. A text that is no length raises UsageError."""
        try:
            self._typed = entered(self._typed, field, text)
        except UsageError as error:
            raise UsageError(window_words(error.message)) from error
        self._last_field = field
        self._filled_both = field == WIDTH and is_pair(text)

    # --- what a person does ----------------------------------------------------------

    def toggle(self) -> None:
        """Show the card in place of the artwork's, or no longer. Without a file: begin to type."""
        desk, session = self._desk, self._desk.session
        if session is None:
            desk.edit_field(WIDTH)
            return
        desk.editing = None
        self._shown_over = None if self.is_there else session.loaded.path
        desk.looks.leave_focus()
        desk.pointer.leave()
        desk.scroll_by(-desk.painter.panel.greatest_scroll_px())
        if self.is_there and self._typed.is_empty:
            desk.edit_field(WIDTH)

    def clear(self) -> None:
        """Forget all numbers and be ready for the next ones."""
        self._typed, self._chosen, self._chosen_alone = Typed(), None, None
        self._filled_both = False
        self._desk.edit_field(WIDTH)

    def choose(self, index: int) -> None:
        """Take a cup for the sum and the drawing."""
        shown = self.shown
        if shown is not None and 0 <= index < len(shown.cups):
            self._chosen = shown.cups[index]

    def press(self, what: str) -> None:
        """A thing of it was clicked, or used with the keyboard."""
        kind, _, rest = what.partition(":")
        if kind == "cup":
            self.choose(int(rest))
        elif kind == "clear":
            self.clear()
        else:
            self.toggle()

    def escape(self) -> bool:
        """Go back to the artwork; False where there is none to go back to."""
        if self._desk.session is None or not self.is_there:
            return False
        self.toggle()
        return True

    def stop(self) -> None:
        """End the thread."""
        self._worker.stop()

    # --- events ------------------------------------------------------------------

    def take(self, event: pygame.event.Event) -> bool:
        """Take what would do something to artwork that cannot be seen, and keys of its own."""
        if not self.is_there:
            return False
        kind = event.type
        if kind == pygame.DROPFILE:
            self._desk.keyboard.leave_panel_field()
            return False
        if kind == pygame.KEYDOWN:
            return self._key(event.key, event.mod)
        if kind in (pygame.MOUSEMOTION, pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
            self._pos = event.pos
        elif kind != pygame.MOUSEWHEEL:
            return False
        desk = self._desk
        is_free = desk.is_help_open or not self.covers_bench or self._is_over_notice()
        if is_free or desk.layout.panel.collidepoint(self._pos):
            return False
        if kind == pygame.MOUSEBUTTONDOWN:
            desk.keyboard.leave_panel_field()
        desk.pointer.leave()
        return True

    def _is_over_notice(self) -> bool:
        desk = self._desk
        if desk.notice is None:
            return False
        error = desk.editing.error if desk.editing is not None else ""
        boxes = notice_boxes(desk.notice, desk.layout, desk.painter.texts, error)
        return bool(boxes[0].collidepoint(self._pos))

    def _key(self, key: int, mod: int) -> bool:
        """A key while no field has the keyboard; in a field nearly all keys are the field's."""
        desk = self._desk
        command = command_for(key, mod)
        if desk.is_help_open:
            return False
        if desk.editing is not None:
            if command is not None and command.name in ("open", "next-file", "previous-file"):
                desk.keyboard.leave_panel_field()
            return self._is_second_s(command) and self.escape()
        focus = desk.looks.look.focus
        if begins_typing(desk, focus, key, mod):
            return False
        if mods_of(mod) == 0 and key in _DIGITS:
            return self._digit(_DIGITS[key])
        if desk.session is None and not focus and key in _FIRST_LETTERS:
            return self._begin_width()
        if command is None:
            return False
        if command.name in _CUP_STEPS:
            self._step_cup(_CUP_STEPS[command.name])
        elif command.name == "edit" and not focus:
            desk.edit_field(WIDTH)
        elif command.name == "leave-out":
            self.clear()
        elif command.name == "escape":
            return self._escape_key()
        else:
            is_harmless = command.name in (*_LET_THROUGH, "edit")
            return desk.session is not None and not is_harmless
        return True

    def _escape_key(self) -> bool:
        """Life-size, left alone here, would take the key for itself."""
        desk = self._desk
        others = desk.looks.look.focus or desk.notice is not None or desk.job is not None
        return False if others else self.escape()

    def _digit(self, number: int) -> bool:
        """A cup beside a file, once there are numbers; else the first digit of the width."""
        if self._desk.session is None or self._typed.is_empty:
            return self._begin_width()
        self.choose(number - 1)
        return True

    def _begin_width(self) -> bool:
        # The letter itself comes as text, into the field that is open by then.
        self._desk.edit_field(WIDTH)
        return False

    def _is_second_s(self, command: Command | None) -> bool:
        """Whether the key that has shown the empty card comes again: no number begins so."""
        editing = self._desk.editing
        is_blank = editing is not None and editing.name == WIDTH and not editing.text
        is_same = command is not None and command.name == "numbers"
        return is_same and is_blank and self._typed.is_empty

    def _step_cup(self, step: int) -> None:
        shown = self.shown
        if shown is not None:
            self.choose((shown.chosen + step) % len(shown.cups))
