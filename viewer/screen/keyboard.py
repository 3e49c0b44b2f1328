"""What keys do: commands, and the field that has the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pygame

from viewer.errors import BrimcheckError
from viewer.screen import cup_fields, entry, limit_fields, stepping
from viewer.screen.commands import command_for, mods_of
from viewer.screen.model import Session
from viewer.screen.viewstate import Editing

if TYPE_CHECKING:
    from viewer.screen.desk import Desk


class Keyboard:
    """Turns key events into what the desk does."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._opening_key: int | None = None
        self._stepped_from: tuple[str, Session] | None = None
        """The field whose value the arrows have stepped, and the session before."""

    def down(self, key: int, mod: int) -> None:
        """A key is pressed."""
        desk = self._desk
        if key != self._opening_key:
            self._opening_key = None
        if self._stepped_from is not None and desk.editing is None:
            self.keep_steps()
        if key == pygame.K_SPACE and desk.editing is None and not desk.looks.look.focus:
            desk.pointer.is_space_down = True
            return
        command = command_for(key, mod)
        if desk.pointer.drag is not None:
            # A key that changed the session now would be undone by the next motion.
            if key == pygame.K_ESCAPE:
                desk.pointer.abandon_drag()
            return
        if desk.is_help_open:
            if command is not None and command.name in ("help", "escape", "quit"):
                command.run(desk)
            return
        if desk.editing is not None and self._edit_key(desk.editing, key, mod):
            return
        if desk.numbers.shown is None and desk.artist.key(key, mod):
            return
        if desk.looks.focus_key(key, mod):
            return
        if command is not None:
            had_none = desk.editing is None
            command.run(desk)
            if had_none and desk.editing is not None:
                self._opening_key = key

    def up(self, key: int) -> None:
        """A key is let go."""
        self._opening_key = None
        if key == pygame.K_SPACE:
            self._desk.pointer.is_space_down = False

    def typed(self, letters: str) -> None:
        """Letters for the field that has the keyboard."""
        if self._opening_key is not None:
            return  # the letter of the very key that has opened the field
        if self._desk.editing is not None and not self._desk.is_help_open:
            self._desk.editing = entry.typed(self._desk.editing, letters)

    def choose(self, index: int) -> None:
        """Take a choice of the field's list."""
        desk = self._desk
        editing, session = desk.editing, desk.session
        owner = desk.owner_of(editing.name) if editing is not None else None
        if editing is not None and owner is not None:
            text = owner.choices(editing.name)[index]
            self._try(editing, lambda: owner.enter(editing.name, text))
            return
        if editing is None or session is None:
            return
        offered = limit_fields.choices(session, editing.name)
        if index < len(offered):
            limits = offered[index].limits
            self._try(editing, lambda: desk.set_limits(limits))

    def leave_panel_field(self) -> None:
        """Take what was typed into a field of the panel, or drop what makes no sense."""
        editing = self._desk.editing
        if editing is not None and not self._apply_in_panel(editing):
            self._desk.editing = None
        self.keep_steps()

    def _apply_in_panel(self, editing: Editing) -> bool:
        is_ours = is_panel_field(editing.name) or self._desk.owner_of(editing.name) is not None
        return self._apply() if is_ours else True

    def keep_steps(self) -> None:
        """What the arrows have stepped holds now; it is undone as one step."""
        stepped, self._stepped_from = self._stepped_from, None
        session = self._desk.session
        if stepped is None or session is None or session.loaded is not stepped[1].loaded:
            return
        self._desk.remember(stepped[1])

    def take_steps_back(self) -> None:
        """What the arrows have stepped is as before, as when Escape leaves the field."""
        stepped, self._stepped_from = self._stepped_from, None
        session = self._desk.session
        if stepped is not None and session is not None and session.loaded is stepped[1].loaded:
            self._desk.session = stepped[1]

    def _edit_key(self, editing: Editing, key: int, mod: int) -> bool:
        """A key for the field that has the keyboard; False when it is a command after all."""
        if key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self._apply()
        elif key == pygame.K_TAB:
            self._tab(editing, -1 if mod & pygame.KMOD_SHIFT else 1)
        elif (
            key in (pygame.K_UP, pygame.K_DOWN)
            and editing.name != stepping.REACH
            and self._offered(editing.name)
        ):
            self._step_choice(editing, -1 if key == pygame.K_UP else 1)
        elif key in (pygame.K_UP, pygame.K_DOWN) and editing.name in stepping.NAMES:
            self._step_value(editing, 1 if key == pygame.K_UP else -1, mods_of(mod))
        elif (changed := entry.keyed(editing, key, mod)) is not None:
            self._desk.editing = changed
        else:
            named = (pygame.K_ESCAPE, pygame.K_F1)
            is_command = key in named or bool(mod & (pygame.KMOD_CTRL | pygame.KMOD_META))
            if is_command and key != pygame.K_ESCAPE:
                self.keep_steps()
            return not is_command
        return True

    def _tab(self, editing: Editing, step: int) -> None:
        """On to the next field. Nonsense is told first; a second Tab lets go of it."""
        if not self._apply():
            if not editing.error:
                return
            self._desk.editing = None
        # What was typed may show or hide a field.
        following = self._field_after(editing.name, step)
        if following:
            self._desk.edit_field(following)

    def _field_after(self, name: str, step: int) -> str:
        """The field that Tab goes on to; empty where there is none."""
        owner = self._desk.owner_of(name)
        if owner is None:
            return entry.field_after(name, step)
        return owner.field_after(name, step)

    def _offered(self, name: str) -> tuple[str, ...]:
        """What the list of a field offers, if it has one."""
        owner, session = self._desk.owner_of(name), self._desk.session
        if owner is not None:
            return owner.choices(name)
        offered = limit_fields.choices(session, name) if session is not None else ()
        return tuple(choice.label for choice in offered)

    def _step_value(self, editing: Editing, way: int, mods: int) -> None:
        """The value goes up or down at once; Escape brings back what was before."""
        desk, session = self._desk, self._desk.session
        if session is None:
            return
        name = editing.name
        try:
            changed = stepping.stepped(session, name, editing.text, way, mods)
        except BrimcheckError as error:
            desk.editing = replace(editing, error=error.message)
            return
        if self._stepped_from is None or self._stepped_from[0] != name:
            self.keep_steps()
            self._stepped_from = (name, session)
        desk.session = changed
        text = desk.field_text(name)
        desk.editing = Editing(name, text, len(text))

    def _step_choice(self, editing: Editing, step: int) -> None:
        offered = self._offered(editing.name)
        start = editing.choice if editing.choice >= 0 else (-1 if step > 0 else len(offered))
        index = (start + step) % len(offered)
        label = offered[index]
        self._desk.editing = Editing(editing.name, label, len(label), choice=index)

    def _apply(self) -> bool:
        """Take what was typed; on nonsense the field says why and keeps the keyboard."""
        desk, editing = self._desk, self._desk.editing
        if editing is None:
            return True
        owner = desk.owner_of(editing.name)
        if owner is not None:
            return self._try(editing, lambda: owner.enter(editing.name, editing.text))
        session = desk.session
        self.keep_steps()
        is_as_before = not editing.is_changed and editing.choice < 0
        if session is None or is_as_before or not desk.has_field(editing.name):
            desk.editing = None
            return True
        if editing.name in limit_fields.NAMES:
            return self._try(
                editing,
                lambda: desk.set_limits(
                    limit_fields.typed_limits(session, editing.name, editing.text, editing.choice)
                ),
            )
        return self._try(
            editing,
            lambda: desk.change(lambda s: entry.apply_field(s, editing.name, editing.text)),
        )

    def _try(self, editing: Editing, action: Callable[[], None], closes: bool = True) -> bool:
        try:
            action()
        except BrimcheckError as error:
            self._desk.editing = replace(editing, error=error.message)
            return False
        if closes:
            self._desk.editing = None
        return True


def is_panel_field(name: str) -> bool:
    """Whether a field stands in the panel, and not in a notice."""
    return name in entry.FIELD_ORDER or name in limit_fields.NAMES or name in cup_fields.NAMES
