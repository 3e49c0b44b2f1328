"""The lessons of a window: which one is on, what was done in it, and what events mean."""

from __future__ import annotations

import datetime
import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import pygame

from viewer.errors import BrimcheckError
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Given, Lesson
from viewer.lessons.texts import load_texts
from viewer.lessons.view import LessonView, Stage
from viewer.lessons.walk import Walk, begin
from viewer.screen.commands import SHIFT, command_for, mods_of
from viewer.screen.focus import begins_typing
from viewer.screen.guest import Guest
from viewer.screen.lesson_cards import ANSWER
from viewer.screen.lesson_keys import ENTER, NOT_HERE, button_keys, digit_of, is_allowed
from viewer.screen.lesson_list import LEARNER
from viewer.screen.lesson_progress import Learner, names_lately, utc_today
from viewer.screen.lesson_shown import (
    BEGUN,
    DONE,
    NO_FILE,
    NOT_YET,
    LessonShown,
    ListRow,
    ListShown,
)
from viewer.screen.model import Session, with_placement
from viewer.screen.viewstate import Editing

if TYPE_CHECKING:
    from viewer.screen.lesson_desk import LessonDesk

_DROPS = (pygame.DROPBEGIN, pygame.DROPFILE, pygame.DROPTEXT, pygame.DROPCOMPLETE)
SETTLE_FIRST = "B would tell you: settle this one by hand first"
OPEN_FIRST = "this lesson is about the artwork you have open: open a file first"


def fresh_seed() -> int:
    """Other numbers every time."""
    return random.SystemRandom().randrange(1 << 31)


@dataclass
class Running:
    """A lesson on its way. ``sessions``: where the cup was left, by scene.

    ``bettered``: the scenes in which the reveal has put the cup to its best place.
    """

    walk: Walk
    sessions: dict[int, Session] = field(default_factory=dict)
    bettered: set[int] = field(default_factory=set)
    draft: str = ""
    """What was typed and not given yet."""


class Teaching(Guest):
    """Takes keys and clicks before the bench does."""

    name = "lesson"

    def __init__(
        self,
        desk: LessonDesk,
        seed: Callable[[], int] = fresh_seed,
        today: Callable[[], datetime.date] = utc_today,
    ) -> None:
        self._desk = desk
        self._seed, self._today = seed, today
        self.given = Given()
        self.learner = Learner()
        self._names: tuple[str, ...] = ()
        self.running: Running | None = None
        self._left: dict[str, Running] = {}
        self._chosen = 0
        self._is_letter_ours = False
        """Whether the next letter comes from a key that has been used already."""

    # --- what is shown ---------------------------------------------------------

    @property
    def view(self) -> LessonView | None:
        """The lesson as it stands; None while the list is shown."""
        running = self.running
        if running is None:
            return None
        view = running.walk.view()
        if view.field is not None and running.draft:
            view = replace(view, field=replace(view.field, text=running.draft))
        return view

    @property
    def shown(self) -> LessonShown:
        """What a frame shows of the lessons."""
        view = self.view
        if self.running is None or view is None:
            return LessonShown(page=self._page())
        walk = self.running.walk
        newest = 0
        if walk.stage is Stage.REVEAL:
            step = walk.course.steps[walk.step - 1]
            newest = len(step.marks) if step.scene == walk.scene else 0
        return LessonShown(None, view, self.learner.name, newest, self.has_curve)

    @property
    def has_curve(self) -> bool:
        """Whether something besides the cup limits in the scene that is shown."""
        running = self.running
        return running is not None and not running.walk.shown_scene.press.limits.is_cup_alone

    def _page(self) -> ListShown:
        words = load_texts()
        rows = tuple(
            ListRow(one.number, words.of(one.key).say("title"), self._state(one))
            for one in all_lessons()
        )
        return ListShown(self.learner.name, self._names, rows, self._chosen, self.learner.notice)

    def _state(self, lesson: Lesson) -> str:
        if self.learner.is_done(lesson.key):
            return DONE
        if lesson.needs_artwork and self.given.artwork is None:
            return NO_FILE
        return BEGUN if lesson.key in self._left else NOT_YET

    # --- the list ----------------------------------------------------------------

    def enter_room(self, given: Given) -> None:
        """The lessons come to the front, about this artwork."""
        is_other = given.artwork is not self.given.artwork
        self.given = given
        self._names = names_lately()
        about = [one.key for one in all_lessons() if one.needs_artwork]
        if is_other:
            for key in about:
                self._left.pop(key, None)
        if not self.learner.name and self._names:
            self._use_learner(self._names[0])
        if self.running is not None:
            if is_other and self.running.walk.course.lesson.key in about:
                self._to_list(keep=False)
            return
        if not self.learner.name:
            self._desk.edit_field(LEARNER)

    def use_learner(self, name: str) -> None:
        """Another learner; UsageError for what is no name. What was begun is not theirs."""
        self._use_learner(name)
        self._names = names_lately()

    def _use_learner(self, name: str) -> None:
        before = self.learner.name
        self.learner.use(name)
        if before and before != self.learner.name:
            self._left.clear()

    def open(self, index: int) -> None:
        """Begin a lesson of the list, or go on with it."""
        lessons = all_lessons()
        if not 0 <= index < len(lessons):
            return
        self._chosen, lesson = index, lessons[index]
        if lesson.needs_artwork and self.given.artwork is None:
            self._desk.looks.say(OPEN_FIRST)
            return
        running = self._left.pop(lesson.key, None)
        if running is None:
            try:
                running = Running(begin(lesson, load_texts(), self.given, self._seed()))
            except BrimcheckError as error:
                self._desk.looks.say(error.message)
                return
        self.running = running
        self._show_scene()
        self._offer_field()

    def _to_list(self, keep: bool = True) -> None:
        running, self.running = self.running, None
        if running is not None and keep and running.walk.stage is not Stage.DONE:
            self._keep_session(running)
            self._left[running.walk.course.lesson.key] = running
        self._desk.show_nothing()

    # --- the lesson --------------------------------------------------------------

    def _keep_session(self, running: Running) -> None:
        if self._desk.session is not None:
            self._desk.settle()
            running.sessions[running.walk.scene] = self._desk.session

    def _show_scene(self) -> None:
        running = self.running
        assert running is not None
        index = running.walk.scene
        self._desk.show_scene(running.walk.shown_scene, running.sessions.get(index))

    def see(self) -> None:
        """How the cup stands after an event, or after time has passed."""
        running, session = self.running, self._desk.session
        if running is not None and session is not None:
            running.walk = running.walk.seen(session.placed()[session.cup_index])

    @property
    def may_be_told(self) -> bool:
        """Whether the best place may be shown: what is on the bench has been settled."""
        running = self.running
        if running is None:
            return False
        walk = running.walk
        return walk.stage is not Stage.TRY or bool(walk.settled[walk.scene])

    def press_button(self, name: str) -> None:
        """A button of the lesson, or ``scene:N``."""
        running = self.running
        if running is not None:
            before = running.walk
            self._go_on(running, before.press(name))

    def enter(self, field: str, text: str) -> None:
        """What was typed holds now. A BrimcheckError is told at the field."""
        if field == LEARNER:
            self.use_learner(text)
        elif self.running is not None:
            walk = self.running.walk.enter(text)
            self.running.draft = ""
            self._go_on(self.running, walk)

    def _go_on(self, running: Running, walk: Walk) -> None:
        before = running.walk
        if walk is before:
            return
        if walk.scene != before.scene or walk.stage is Stage.TRY is not before.stage:
            self._keep_session(running)
        running.walk = walk
        is_again = walk.stage is Stage.TRY and before.stage is not Stage.TRY
        if is_again:
            running.sessions.clear()
            running.bettered.clear()
        if is_again or walk.scene != before.scene:
            self._show_scene()
        if walk.given and not before.given:
            self._record(walk)
        if walk.stage is Stage.REVEAL:
            self._reveal(running, before)
        self._desk.top_of_cards()
        self._offer_field()

    def _reveal(self, running: Running, before: Walk) -> None:
        """The construction is about the cup at its best place, or where the step says.

        All of it is in sight.
        """
        walk, desk = running.walk, self._desk
        scene = walk.scene
        is_new = before.stage is not Stage.REVEAL or scene != before.scene
        wanted = walk.course.steps[walk.step - 1].placement
        if wanted is not None:
            # The next step without a place of its own is about the best one again.
            running.bettered.discard(scene)
            desk.settle()
            desk.change(lambda one: with_placement(one, wanted.center_mm, wanted.turn_deg))
        elif scene not in running.bettered:
            running.bettered.add(scene)
            desk.go_to_best()
        if is_new:
            self._desk.fit_window()

    def _record(self, walk: Walk) -> None:
        is_right = walk.stage is Stage.DONE
        problem = self.learner.record(walk.course.lesson.key, is_right, self._today())
        if problem:
            self._desk.looks.say(problem)

    def _offer_field(self) -> None:
        """A field has the keyboard as soon as it is there, and no longer."""
        desk, view = self._desk, self.view
        if view is not None and view.field is not None:
            desk.edit_field(ANSWER)
        elif desk.editing is not None and desk.editing.name == ANSWER:
            desk.editing = None

    # --- events --------------------------------------------------------------------

    @property
    def fields(self) -> tuple[str, ...]:
        """The name in the list; the answer in a lesson that asks for a number."""
        view = self.view
        if view is None:
            return (LEARNER,)
        return (ANSWER,) if view.field is not None else ()

    def field_text(self, field: str) -> str:
        """What stands in a field before anything is typed."""
        if field == LEARNER:
            return self.learner.name
        return self.running.draft if self.running is not None else ""

    def press(self, what: str) -> None:
        """A thing of the cards was clicked, or used with the keyboard."""
        kind, _, name = what.partition(":")
        if kind == "open":
            self.open(int(name))
        elif kind == "name":
            self.use_learner(name)
        elif kind == "press":
            self.press_button(name)
        elif kind == "scene":
            self.press_button(what)
        elif kind == "enter":
            self._give()

    def escape(self) -> bool:
        """From a lesson to the list, from there back to the work."""
        if self.running is not None:
            self._to_list()
        else:
            self._desk.leave()
        return True

    def take(self, event: pygame.event.Event) -> bool:
        """Take an event that is not for the bench."""
        kind = event.type
        if kind in _DROPS:
            self._desk.looks.say(NOT_HERE)
            return True
        if kind in (pygame.KEYDOWN, pygame.KEYUP):
            self._is_letter_ours = False
        if kind == pygame.TEXTINPUT:
            return self._is_letter_ours
        if kind == pygame.MOUSEBUTTONDOWN:
            return self._mouse_down(event.pos, event.button)
        return kind == pygame.KEYDOWN and self._key(event.key, event.mod)

    def _mouse_down(self, pos: tuple[int, int], button: int) -> bool:
        """What was typed is given with Enter alone, and not by a click somewhere else."""
        desk, editing = self._desk, self._desk.editing
        if desk.is_help_open or button != 1 or editing is None or editing.name != ANSWER:
            return False
        name = desk.painter.panel.hit(pos)
        if name == "lesson:enter":
            self._give()
            return True
        if name == f"field:{ANSWER}":
            return True
        self._keep_draft(editing)
        return False

    def _keep_draft(self, editing: Editing) -> None:
        if self.running is not None:
            self.running.draft = editing.text
        self._desk.editing = None

    def _give(self) -> None:
        """Take what stands in the field, as Enter does."""
        desk, running = self._desk, self.running
        if running is None or self.view is None or self.view.field is None:
            return
        editing = desk.editing
        text = editing.text if editing is not None else running.draft
        try:
            self.enter(ANSWER, text)
        except BrimcheckError as error:
            desk.editing = Editing(ANSWER, text, len(text), error.message, is_untouched=False)

    def _key(self, key: int, mod: int) -> bool:
        desk, mods = self._desk, mods_of(mod)
        if desk.is_help_open or desk.pointer.drag is not None:
            return False
        command = command_for(key, mod)
        if desk.editing is not None and key == pygame.K_TAB and mods in (0, SHIFT):
            return self._tab(desk.editing, -1 if mods else 1)
        if desk.editing is not None and not mods:
            return desk.editing.name == LEARNER and self._name_key(key)
        if desk.editing is None and begins_typing(desk, desk.looks.look.focus, key, mod):
            return False
        if mods == 0 and not mod & pygame.KMOD_ALT:
            if desk.looks.look.focus and key in (*ENTER, pygame.K_SPACE):
                return False
            taken = self._list_key(key) if self.running is None else self._lesson_key(key)
            if taken:
                self._is_letter_ours = digit_of(key) is not None or key == pygame.K_n
                return True
        if command is not None and not is_allowed(command.name, self.running is None):
            desk.looks.say(NOT_HERE)
            return True
        return False

    def _tab(self, editing: Editing, step: int) -> bool:
        """On from the only field there is; an answer is not given by that."""
        if editing.name == ANSWER:
            self._keep_draft(editing)
        else:
            self._desk.keyboard.leave_panel_field()
        self._desk.looks.move_focus(step, f"field:{editing.name}")
        return True

    def _name_key(self, key: int) -> bool:
        """Up and down go through the names that are known."""
        step = {pygame.K_UP: -1, pygame.K_DOWN: 1}.get(key)
        editing = self._desk.editing
        if step is None or not self._names or editing is None:
            return False
        known = self._names
        at = known.index(editing.text) if editing.text in known else (-1 if step > 0 else 0)
        name = known[(at + step) % len(known)]
        self._desk.editing = Editing(LEARNER, name, len(name))
        return True

    def _list_key(self, key: int) -> bool:
        count = len(all_lessons())
        step = {pygame.K_UP: -1, pygame.K_DOWN: 1}.get(key)
        if step is not None:
            self._choose((self._chosen + step) % count)
        elif key in (pygame.K_HOME, pygame.K_END):
            self._choose(0 if key == pygame.K_HOME else count - 1)
        elif key in ENTER:
            self.open(self._chosen)
        elif key == pygame.K_n:
            self._desk.edit_field(LEARNER)
        else:
            digit = digit_of(key)
            numbers = [lesson.number for lesson in all_lessons()]
            wanted = 10 if digit == 0 else digit
            if wanted not in numbers:
                return digit is not None
            self.open(numbers.index(wanted))
        return True

    def _choose(self, index: int) -> None:
        self._chosen = index
        self._desk.looks.leave_focus()
        self._desk.show_card(f"lesson:open:{index}")

    def _lesson_key(self, key: int) -> bool:
        """Enter on the main button, digits on the others; a digit begins to answer."""
        view, digit = self.view, digit_of(key)
        assert view is not None
        if view.field is not None:
            if digit is not None or key in ENTER:
                self._desk.edit_field(ANSWER)
            # The digit itself comes as a letter, into the field that is open by then.
            return key in ENTER
        wanted = "Enter" if key in ENTER else str(digit) if digit is not None else ""
        for name, on_it in button_keys(view).items():
            if on_it == wanted:
                self.press_button(name)
                return True
        return bool(wanted)
