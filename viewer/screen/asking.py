"""Questions over the bench: which one is asked, and what keys and mouse do to it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pygame

from viewer.errors import BrimcheckError
from viewer.screen import entry
from viewer.screen.commands import command_for
from viewer.screen.dialog import PREVIEW, Dialog
from viewer.screen.dialog_box import CLOSE, dialog_boxes
from viewer.screen.viewstate import Editing

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

_KEYS = (pygame.KEYDOWN, pygame.KEYUP, pygame.TEXTINPUT)
_MOUSE = (
    pygame.MOUSEBUTTONDOWN,
    pygame.MOUSEBUTTONUP,
    pygame.MOUSEMOTION,
    pygame.MOUSEWHEEL,
)


class Question:
    """What is asked, and what answers do. ``texts``: what stands in its fields.

    ``passed_on``: names of commands that work all the same.
    """

    passed_on: tuple[str, ...] = ("quit", "help")

    def __init__(self, texts: dict[str, str] | None = None) -> None:
        self.texts: dict[str, str] = dict(texts or {})

    def dialog(self) -> Dialog:
        """The question as it stands; the keyboard and the texts are put in elsewhere."""
        raise NotImplementedError

    def press(self, name: str) -> None:
        """A button or a row was chosen. A BrimcheckError is told in the question."""

    def enter(self, field: str) -> None:
        """Enter in a field. A BrimcheckError is told there."""

    def change(self, field: str) -> None:
        """A field's text has changed."""

    def complete(self, field: str) -> bool:
        """Tab in a field: complete what was typed; False where there is nothing to add."""
        return False

    def leave(self) -> None:
        """It was closed without an answer."""

    def preview_key(self, key: int, mod: int) -> bool:
        """A key for the picture."""
        return False

    def preview_press(self, at: tuple[int, int], box: pygame.Rect) -> None:
        """A click on the picture; ``at`` counts from its corner."""

    def preview_wheel(self, at: tuple[int, int], steps: float) -> None:
        """The wheel over the picture."""

    def poll(self) -> None:
        """Fetch what threads have brought."""

    def close(self) -> None:
        """Let go of what it holds; called once it is not asked any more."""


class Asking:
    """The question being asked, if there is one. It takes all keys and clicks."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self.question: Question | None = None
        self.focus = ""
        self._at = (0, 0)
        self._is_key_new = False

    def ask(self, question: Question, focus: str = "") -> None:
        """Ask; takes the place of what was asked before."""
        self.close()
        desk = self._desk
        desk.pointer.end_drag()
        desk.keyboard.leave_panel_field()
        desk.notice = None
        desk.is_help_open = False
        self.question = question
        stops = question.dialog().stops
        self.go_to(focus or (stops[0] if stops else ""))

    def close(self) -> None:
        """Ask nothing any more."""
        question, self.question = self.question, None
        if question is not None:
            question.close()
            self._desk.editing = None
            self.focus = ""

    def dialog(self) -> Dialog | None:
        """The question as it is shown."""
        if self.question is None:
            return None
        shown = self.question.dialog()
        texts = tuple(self.question.texts.items())
        return replace(shown, focus=self.focus, texts=texts)

    def go_to(self, name: str) -> None:
        """Give a field, row, button or the picture the keyboard."""
        question, desk = self.question, self._desk
        if question is None:
            return
        self.focus = name
        desk.editing = None
        found = next((f for f in question.dialog().fields if f.name == name), None)
        if found is not None:
            text = question.texts.get(name, "")
            # A path or a note is gone on with; the first digit of a size replaces it.
            desk.editing = Editing(name, text, len(text), is_untouched=not found.is_wide)

    def put_text(self, field: str, text: str) -> None:
        """Have a field hold a text, as if it had been typed."""
        if self.question is None:
            return
        self.question.texts[field] = text
        if self.focus == field:
            self._desk.editing = Editing(field, text, len(text), is_untouched=False)
        self.question.change(field)

    def poll(self) -> None:
        """Fetch what threads have brought."""
        if self.question is not None:
            self.question.poll()

    # --- events --------------------------------------------------------------

    def take(self, event: pygame.event.Event) -> bool:
        """Take an event; False when it is nothing to a question."""
        if self.question is None or self._desk.is_help_open or self._desk.looks.look.is_over:
            if event.type in (pygame.KEYDOWN, pygame.KEYUP):
                self._is_key_new = False
            # The letter of the very key that has closed a question is for nobody.
            return event.type == pygame.TEXTINPUT and self._is_key_new
        if event.type in _KEYS:
            return self._take_key(event)
        if event.type in _MOUSE:
            return self._take_mouse(event)
        return False

    def _take_key(self, event: pygame.event.Event) -> bool:
        if event.type == pygame.KEYUP:
            self._is_key_new = False
            return False
        if event.type == pygame.TEXTINPUT:
            if not self._is_key_new:
                self._typed(event.text)
            return True
        asked = self.question
        self._is_key_new = False
        command = command_for(event.key, event.mod)
        passed_on = asked.passed_on if asked is not None else ()
        if command is not None and command.name in passed_on and not self._is_letter(event):
            command.run(self._desk)
        else:
            self._down(event.key, event.mod)
        # The letter that the key brings along is not for what it has opened.
        self._is_key_new = self._is_key_new or self.question is not asked
        return True

    def _is_letter(self, event: pygame.event.Event) -> bool:
        """Whether a key is a letter for the field, and no command."""
        has_mods = event.mod & (pygame.KMOD_CTRL | pygame.KMOD_META)
        # Keys that are no letter in any layout have numbers beyond those of letters.
        return self._desk.editing is not None and event.key < 1 << 30 and not has_mods

    def _typed(self, letters: str) -> None:
        editing = self._desk.editing
        if editing is not None:
            self._put(entry.typed(editing, letters))

    def _put(self, editing: Editing) -> None:
        self._desk.editing = editing
        question = self.question
        if question is not None and question.texts.get(editing.name, "") != editing.text:
            question.texts[editing.name] = editing.text
            question.change(editing.name)

    def _down(self, key: int, mod: int) -> None:
        question, editing = self.question, self._desk.editing
        assert question is not None
        back = bool(mod & pygame.KMOD_SHIFT)
        if key == pygame.K_ESCAPE:
            self._leave()
        elif self.focus == PREVIEW and question.preview_key(key, mod):
            return
        elif key == pygame.K_TAB:
            if editing is None or back or not question.complete(editing.name):
                self._step(-1 if back else 1)
        elif key in (pygame.K_UP, pygame.K_DOWN):
            self._step(-1 if key == pygame.K_UP else 1)
        elif key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self._confirm()
        elif editing is not None:
            self._edit(editing, key, mod)
        elif key in (pygame.K_LEFT, pygame.K_RIGHT):
            self._step(-1 if key == pygame.K_LEFT else 1)
        elif key == pygame.K_SPACE:
            self._confirm()
        else:
            self._press_by_letter(key, mod)

    def _edit(self, editing: Editing, key: int, mod: int) -> None:
        changed = entry.keyed(editing, key, mod)
        if changed is not None:
            self._put(changed)

    def _press_by_letter(self, key: int, mod: int) -> None:
        question = self.question
        assert question is not None
        if mod & (pygame.KMOD_CTRL | pygame.KMOD_META | pygame.KMOD_ALT):
            return
        for button in question.dialog().buttons:
            if len(button.key) == 1 and key == ord(button.key.lower()):
                self._press(button.name)
                return

    def _step(self, step: int) -> None:
        question = self.question
        assert question is not None
        stops = question.dialog().stops
        if stops:
            index = stops.index(self.focus) if self.focus in stops else (-1 if step > 0 else 0)
            self.go_to(stops[(index + step) % len(stops)])

    def _confirm(self) -> None:
        question, editing = self.question, self._desk.editing
        assert question is not None
        if editing is None:
            if self.focus and self.focus != PREVIEW:
                self._press(self.focus)
            return
        self._try(lambda: question.enter(editing.name))

    def _press(self, name: str) -> None:
        question = self.question
        assert question is not None
        self._try(lambda: question.press(name))

    def _try(self, action: object) -> None:
        asked = self.question
        assert callable(action)
        try:
            action()
        except BrimcheckError as error:
            if self.question is asked:
                self.tell(error.message)

    def tell(self, problem: str) -> None:
        """Say at the field that has the keyboard, or else at the first, what is wrong."""
        question = self.question
        if question is None:
            return
        if self._desk.editing is None:
            fields = question.dialog().fields
            if fields:
                self.go_to(fields[0].name)
        if self._desk.editing is not None:
            self._desk.editing = replace(self._desk.editing, error=problem)

    def _leave(self) -> None:
        question = self.question
        self.close()
        if question is not None:
            question.leave()

    # --- mouse -----------------------------------------------------------------

    def _take_mouse(self, event: pygame.event.Event) -> bool:
        dialog, desk, question = self.dialog(), self._desk, self.question
        assert dialog is not None
        assert question is not None
        if event.type == pygame.MOUSEWHEEL:
            name, box = self._thing_at(self._at)
            if name == PREVIEW and box is not None:
                at = (self._at[0] - box.x, self._at[1] - box.y)
                question.preview_wheel(at, getattr(event, "precise_y", float(event.y)))
            return True
        self._at = event.pos
        if event.type != pygame.MOUSEBUTTONDOWN or event.button != 1:
            # A drag begun before the question came must still come to its end.
            return desk.pointer.drag is None
        name, box = self._thing_at(event.pos)
        if name == CLOSE:
            self._leave()
        elif dialog.has_field(name):
            if self.focus != name:
                self.go_to(name)
        elif name == PREVIEW and box is not None:
            self.go_to(PREVIEW)
            question.preview_press((event.pos[0] - box.x, event.pos[1] - box.y), box)
        elif name:
            if name in dialog.stops:
                self.go_to(name)
            self._press(name)
        return True

    def _thing_at(self, pos: tuple[int, int]) -> tuple[str, pygame.Rect | None]:
        dialog, desk = self.dialog(), self._desk
        assert dialog is not None
        error = desk.editing.error if desk.editing is not None else ""
        boxes = dialog_boxes(dialog, desk.layout, desk.painter.texts, error)
        grow = 8
        if boxes.hits[CLOSE].inflate(grow, grow).collidepoint(pos):
            return CLOSE, boxes.hits[CLOSE]
        for name, box in boxes.hits.items():
            if box.collidepoint(pos):
                return name, box
        return "", None
