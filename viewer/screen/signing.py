"""The sign-off: artwork, ring and verdict over the whole window, and who decides what.

What is shown is what is signed: when the bench brings something else (the file was read
again), the sign-off is left.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pygame

from viewer.errors import BrimcheckError
from viewer.screen import entry
from viewer.screen.artwork_layer import Levels
from viewer.screen.commands import command_for
from viewer.screen.guest import Guest
from viewer.screen.model import Session
from viewer.screen.sheet_question import FitSheets
from viewer.screen.signing_boxes import board_layout, signing_boxes
from viewer.screen.signing_entry import entry_of
from viewer.screen.signing_sharp import SharpView
from viewer.screen.signing_shown import (
    APPROVE,
    ASKING,
    DONE,
    LEAVE,
    NAME,
    NOTE,
    REASON,
    RECORDING,
    REJECT,
    SHEET,
    STAGES,
    Refusal,
    SigningShown,
)
from viewer.screen.signing_thread import Found, RecordThread
from viewer.screen.signing_view import board_camera
from viewer.screen.signing_words import done_words, known_words, trouble_words
from viewer.screen.viewstate import Editing
from viewer.signoff import Decision, Entry, Record, Row, Stage, Verification, record_place

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

NEEDS_FILE = "the sign-off needs a file"
STILL_READING = "a file is still being read: sign off when it is shown"
HAS_CHANGED = "what was shown has changed: look again before you sign"
NOT_NOW = "leave the sign-off before you open a file"
_PASSED_ON = ("quit", "ui-larger", "ui-smaller", "ui-usual")
_ENTER = (pygame.K_RETURN, pygame.K_KP_ENTER)
_STEPS = {pygame.K_UP: -1, pygame.K_DOWN: 1}
_DROPS = (pygame.DROPFILE, pygame.DROPTEXT, pygame.DROPBEGIN, pygame.DROPCOMPLETE)
_MOUSE = (pygame.MOUSEBUTTONUP, pygame.MOUSEMOTION, pygame.MOUSEWHEEL)


class Signing(Guest):
    """The sign-off of one desk. ``record``: the file of the approval record, if one is given."""

    name = "signing"

    def __init__(self, desk: Desk, wake: Callable[[], None], record: str | None = None) -> None:
        self._desk = desk
        self._wake = wake
        self._given = record
        self.sheets = FitSheets(desk, wake, record)
        self._thread: RecordThread | None = None
        self._session: Session | None = None
        self._levels: Levels | None = None
        self._view: SharpView | None = None
        self._texts: dict[str, str] = {}
        self._stage = Stage.PLATE
        self._focus = NAME
        self._state = ASKING
        self._refusal: Refusal | None = None
        self._known: tuple[str, ...] = ()
        self._trouble = ""
        self._done: tuple[str, ...] = ()
        self._name = ""
        """Remembered for the next sign-off in this window, and no longer."""
        self._wishes: dict[int, Session] = {}
        """What is being read or written, and the session that it is about."""
        self._writing = 0
        """The number of what was written last."""
        self._held_down: set[int] = set()

    # --- what is shown -------------------------------------------------------------------

    @property
    def shown(self) -> SigningShown | None:
        """What a frame shows; None while there is no sign-off."""
        session = self._session
        if session is None:
            return None
        return SigningShown(
            session=session,
            placed=session.placed()[session.cup_index],
            levels=self._levels,
            sharp=self._view.sharp if self._view is not None else None,
            stage=self._stage,
            texts=dict(self._texts),
            focus=self._focus,
            state=self._state,
            refusal=self._refusal,
            known=self._known,
            trouble=self._trouble,
            done=self._done,
        )

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields it shows now; none while it is not there."""
        shown = self.shown
        return shown.fields if shown is not None else ()

    def field_text(self, field: str) -> str:
        """What was typed into a field so far."""
        return self._texts.get(field, "")

    def enter(self, field: str, text: str) -> None:
        """What was typed holds now."""
        self._texts[field] = text

    # --- coming and going ----------------------------------------------------------------

    def begin(self) -> None:
        """Ask for a decision on what is shown."""
        desk = self._desk
        if self._session is not None:
            return
        if desk.session is None:
            desk.looks.say(NEEDS_FILE)
            return
        if desk.job is not None:
            desk.looks.say(STILL_READING)
            return
        desk.settle()
        desk.keyboard.leave_panel_field()
        desk.artist.leave()
        desk.looks.tips.forget()
        try:
            thread = self._record_thread()
        except BrimcheckError as error:
            desk.looks.say(error.message)
            return
        self._session, self._levels = desk.session, desk.levels
        self._view = SharpView(desk.opener, desk.session, self._wake)
        self._texts = {NAME: self._name, NOTE: "", REASON: ""}
        self._state, self._refusal, self._done = ASKING, None, ()
        self._known, self._trouble = (), ""
        self._wishes[thread.read()] = desk.session
        self._go_to(NAME)
        self._want_sharp()

    def ask_for_sheet(self) -> None:
        """Ask where the fit sheet of what is shown goes."""
        if self._session is None:
            self.sheets.ask()

    def _record_thread(self) -> RecordThread:
        if self._thread is None:
            self._thread = RecordThread(Record(record_place(self._given)), self._wake)
        return self._thread

    def escape(self) -> bool:
        """Leave; False where there was nothing to leave. What is being recorded comes to its
        end first: nobody could tell otherwise whether it was."""
        if self._session is None:
            return False
        if self._state != RECORDING:
            self._leave()
        return True

    def _leave(self) -> None:
        self._session, self._levels = None, None
        self._desk.editing = None
        self._wishes.clear()
        if self._view is not None:
            self._view.close()
            self._view = None

    def stop(self) -> None:
        """End its threads; what is being written is written."""
        self.sheets.stop()
        if self._view is not None:
            self._view.close(is_last=True)
            self._view = None
        if self._thread is not None:
            self._thread.stop()

    def wait(self) -> None:
        """Wait until the record has answered, and take what it said."""
        if self._thread is not None:
            self._thread.wait()
        self.poll()

    # --- what threads and the bench bring ------------------------------------------------------

    def poll(self) -> None:
        """Fetch what threads have brought, and see whether the bench still shows the same."""
        self.sheets.poll()
        while self._thread is not None and (found := self._thread.take()) is not None:
            self._take_found(found)
        held, now = self._session, self._desk.session
        if held is None or held is now:
            self._want_sharp()
            return
        if now is not None and _is_same(held, now):
            self._session = now  # its fit has been worked out meanwhile
            self._read_again()
            self._want_sharp()
        elif self._state == ASKING:
            self._leave()
            self._desk.looks.say(HAS_CHANGED)

    def _read_again(self) -> None:
        if self._thread is not None and self._session is not None:
            self._wishes[self._thread.read()] = self._session

    def _take_found(self, found: Found) -> None:
        session = self._wishes.pop(found.number, None)
        if session is None or self._session is None or self._thread is None:
            return  # about a sign-off that was left
        outcome = found.outcome
        if isinstance(outcome, Row):
            self._name = self._texts.get(NAME, "").strip()
            self._state, self._done = DONE, done_words(outcome, self._thread.path)
            self._go_to(LEAVE)
        elif isinstance(outcome, Verification):
            self._trouble = trouble_words(self._thread.path, outcome)
            self._known = known_words(session, outcome)
        elif found.number == self._writing:
            self._state, self._refusal = ASKING, Refusal(outcome.message)
        else:
            self._trouble = outcome.message

    def _want_sharp(self) -> None:
        """Have the artwork drawn as large as it stands in the window now."""
        shown = self.shown
        if shown is None or self._view is None:
            return
        layout = self._desk.layout
        board = board_layout(signing_boxes(shown, layout, self._desk.painter.texts), layout)
        self._view.want(board_camera(shown.session, board), board.view.size)

    # --- events ---------------------------------------------------------------------------

    def take(self, event: pygame.event.Event) -> bool:
        """Take an event; the bench gets none of keys, mouse and files while this is shown."""
        is_repeat = self._is_repeat(event)
        if self._session is None:
            return False
        kind = event.type
        if kind == pygame.KEYDOWN:
            self._key(event.key, event.mod, is_repeat)
        elif kind == pygame.TEXTINPUT:
            if self._desk.editing is not None and self._state == ASKING:
                self._put(entry.typed(self._desk.editing, event.text))
        elif kind == pygame.MOUSEBUTTONDOWN:
            self._click(event.pos, event.button)
        elif kind in _DROPS:
            self._refusal = Refusal(NOT_NOW)
        elif kind == pygame.VIDEORESIZE:
            self._desk.resize((event.w, event.h))
            self._want_sharp()
        else:
            return kind in _MOUSE
        return True

    def _is_repeat(self, event: pygame.event.Event) -> bool:
        """Whether a key is only still held down: that decides nothing."""
        if event.type == pygame.KEYUP:
            self._held_down.discard(event.key)
        if event.type != pygame.KEYDOWN:
            return False
        was_down = event.key in self._held_down
        self._held_down.add(event.key)
        return was_down

    def _key(self, key: int, mod: int, is_repeat: bool) -> None:
        command, editing = command_for(key, mod), self._desk.editing
        if command is not None and command.name in _PASSED_ON:
            command.run(self._desk)
            self._want_sharp()
        elif key == pygame.K_ESCAPE:
            self.escape()
        elif self._state == RECORDING:
            return
        elif key == pygame.K_TAB:
            self._step(-1 if mod & pygame.KMOD_SHIFT else 1)
        elif key in _STEPS:
            self._step(_STEPS[key])
        elif key in _ENTER:
            if not is_repeat:
                self._confirm()
        elif editing is not None:
            changed = entry.keyed(editing, key, mod)
            if changed is not None:
                self._put(changed)
        elif self._focus == "stage" and key in (pygame.K_LEFT, pygame.K_RIGHT, pygame.K_SPACE):
            self._stage = Stage.PRESS if self._stage is Stage.PLATE else Stage.PLATE
        elif key == pygame.K_SPACE and not is_repeat:
            self._confirm()
        elif key in (pygame.K_LEFT, pygame.K_RIGHT):
            self._step(-1 if key == pygame.K_LEFT else 1)

    def _confirm(self) -> None:
        """Enter: on to what comes next from a field, and a button is pressed."""
        if self._focus in (APPROVE, REJECT, LEAVE, SHEET):
            self.press(self._focus)
        else:
            self._step(1)

    def _step(self, step: int) -> None:
        shown = self.shown
        if shown is None:
            return
        stops = shown.stops
        index = stops.index(self._focus) if self._focus in stops else 0
        self._go_to(stops[(index + step) % len(stops)])

    def _go_to(self, name: str) -> None:
        """Give a field or a button the keyboard."""
        self._focus = name
        self._desk.editing = None
        if name in self.fields:
            text = self._texts.get(name, "")
            # A note is gone on with; a name of before is replaced by the first letter.
            self._desk.editing = Editing(name, text, len(text), is_untouched=name == NAME)

    def _put(self, editing: Editing) -> None:
        self._desk.editing = editing
        self._texts[editing.name] = editing.text
        if self._refusal is not None and self._refusal.field in ("", editing.name):
            self._refusal = None

    def _click(self, pos: tuple[int, int], button: int) -> None:
        shown = self.shown
        if shown is None or button != 1 or self._state == RECORDING:
            return
        boxes = signing_boxes(shown, self._desk.layout, self._desk.painter.texts)
        name = next((name for name, box in boxes.hits.items() if box.collidepoint(pos)), "")
        if name in shown.fields:
            if name != self._focus or self._desk.editing is None:
                self._go_to(name)
        elif name:
            self.press(name)

    def press(self, what: str) -> None:
        """A button, or a stage, by its name."""
        kind, _, value = what.partition(":")
        if self._session is None or self._state == RECORDING:
            return
        if kind == LEAVE:
            self._leave()
        elif kind == SHEET and self._state == DONE:
            self._leave()
            self.ask_for_sheet()
        elif self._state != ASKING:
            return
        elif kind == "stage" and value in STAGES:
            self._stage = STAGES[value]
            self._go_to("stage")
        elif kind in (APPROVE, REJECT):
            self._decide(Decision(kind))

    def _decide(self, decision: Decision) -> None:
        """Have it recorded, once; or say at its field what is missing."""
        session, thread = self._session, self._thread
        assert session is not None
        assert thread is not None
        made = entry_of(session, decision, self._stage, self._texts)
        if isinstance(made, Entry):
            self._state, self._refusal = RECORDING, None
            self._go_to(APPROVE if decision is Decision.APPROVE else REJECT)
            # Only its own outcome ends it: a reading that fails meanwhile refuses nothing.
            self._writing = thread.append(made, session.loaded.path)
            self._wishes[self._writing] = session
            return
        self._refusal = made
        self._go_to(made.field or decision.value)


def _is_same(one: Session, other: Session) -> bool:
    """Whether two sessions differ in nothing but the fit, and whether it is known."""
    return (
        one.artwork is other.artwork
        and one.cup == other.cup
        and one.limits == other.limits
        and one.placement == other.placement
        and one.press == other.press
    )
