"""A hand that goes through lessons by events alone, as a person at the window does."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction

import pygame

from tests.screen.conftest import FakeOpener, Hand
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Ask
from viewer.lessons.view import Stage
from viewer.lessons.walk import Walk
from viewer.screen.desk import Desk
from viewer.screen.lesson_desk import LessonDesk
from viewer.screen.lesson_front import Front
from viewer.screen.model import best_placement
from viewer.screen.overlay import knob_px, overlay_place

NAME = "Mika"
CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
_WAYS = {
    (1, 0): pygame.K_RIGHT,
    (-1, 0): pygame.K_LEFT,
    (0, 1): pygame.K_DOWN,
    (0, -1): pygame.K_UP,
}
_STEPS = ((1.0, SHIFT), (0.1, 0), (0.01, CTRL))
_TURNS = ((15.0, SHIFT), (1.0, 0), (0.1, CTRL))


@contextmanager
def lessons_over(work: Desk, size: tuple[int, int] | None = None) -> Iterator[Front]:
    """A window whose work is on ``work``, gone over to the lessons by Ctrl+L."""
    opener = FakeOpener()
    front = Front(work, lambda size: LessonDesk(size, opener, seed=lambda: 11))
    if size is not None:
        work.resize(size)
    work.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_l, mod=CTRL, unicode=""))
    assert front.turn()
    try:
        yield front
    finally:
        if isinstance(front.desk, LessonDesk):
            front.desk.close()
        else:
            assert front._lessons is not None
            front._lessons.close()


class LessonHand(Hand):
    """Works on the desk of the lessons."""

    def __init__(self, front: Front) -> None:
        assert isinstance(front.desk, LessonDesk)
        self.lessons: LessonDesk = front.desk
        super().__init__(front.desk)

    @property
    def walk(self) -> Walk:
        assert self.lessons.lesson.running is not None
        return self.lessons.lesson.running.walk

    def give_name(self, name: str = NAME) -> None:
        """The name's field has the keyboard where nobody was here before."""
        assert self.lessons.editing is not None
        self.type(name)
        self.key(pygame.K_RETURN)
        assert self.lessons.lesson.learner.name == name

    def open(self, key: str) -> None:
        """Begin a lesson by its number."""
        number = next(one.number for one in all_lessons() if one.key == key)
        self.digit(number % 10)
        assert self.walk.course.lesson.key == key

    def digit(self, number: int) -> None:
        """A digit's key, with the letter that comes along."""
        key = pygame.K_0 + number
        self.send(pygame.KEYDOWN, key=key, mod=0, unicode=str(number))
        self.send(pygame.TEXTINPUT, text=str(number))
        self.send(pygame.KEYUP, key=key, mod=0)
        self.show()

    def enter(self) -> None:
        self.key(pygame.K_RETURN)

    # --- trying ----------------------------------------------------------------

    def try_scene(self) -> None:
        """Drag and turn the ring to where it fits, or say that it cannot be done."""
        walk = self.walk
        if not walk.shown_scene.can_fit:
            self.digit(1)
        else:
            self._turn_to_best()
            self._drag_to_best()
            self._nudge_to_best()
        assert self.walk.settled[walk.scene], (walk.course.lesson.key, walk.scene)

    def _turn_to_best(self) -> None:
        desk = self.lessons
        assert desk.session is not None
        assert desk.camera is not None
        wanted = best_placement(desk.session.cup_fit).turn_deg
        place = overlay_place(desk.session, desk.camera, desk.layout)
        start = knob_px(place, desk.layout)
        by_deg = desk.session.placement.turn_deg - wanted
        if by_deg:
            angle = math.atan2(place.center[1] - start[1], start[0] - place.center[0])
            angle += math.radians(by_deg)
            reach = math.dist(start, place.center)
            end = (
                round(place.center[0] + reach * math.cos(angle)),
                round(place.center[1] - reach * math.sin(angle)),
            )
            self.drag(start, end)
        for step, mod in _TURNS:
            for _ in range(30):
                left = (desk.session.placement.turn_deg - wanted + 180) % 360 - 180
                if abs(left) < step - 1e-6:
                    break
                key = pygame.K_LEFTBRACKET if left > 0 else pygame.K_RIGHTBRACKET
                self.key(key, mod)

    def _drag_to_best(self) -> None:
        desk = self.lessons
        assert desk.session is not None
        assert desk.camera is not None
        center = overlay_place(desk.session, desk.camera, desk.layout).center
        wanted = best_placement(desk.session.cup_fit).center_mm
        x, y = desk.camera.snapped(*wanted)
        view = desk.layout.view
        self.drag(center, (view.x + x, view.y + y))

    def _nudge_to_best(self) -> None:
        desk = self.lessons
        for step, mod in _STEPS:
            for _ in range(60):
                if self.walk.settled[self.walk.scene] or desk.session is None:
                    return
                at = desk.session.placement.center_mm
                wanted = best_placement(desk.session.cup_fit).center_mm
                away = (wanted[0] - at[0], wanted[1] - at[1])
                axis = 0 if abs(away[0]) >= abs(away[1]) else 1
                if abs(away[axis]) < 0.7 * step:
                    break
                sign = 1 if away[axis] > 0 else -1
                self.key(_WAYS[(sign, 0) if axis == 0 else (0, sign)], mod)

    def try_all(self) -> None:
        """All scenes, until the lesson asks for a prediction."""
        for _ in range(12):
            if self.walk.stage is not Stage.TRY:
                return
            self.try_scene()
            self.enter()

    # --- answering ---------------------------------------------------------------

    def answer(self, ask: Ask, is_right: bool) -> None:
        """Type a number, or press the digit of an option."""
        answer = ask.answer
        if isinstance(answer, ChoiceAnswer):
            option = answer.right if is_right else (answer.right + 1) % len(answer.options)
            self.digit(option + 1)
            return
        text = answer.shown().replace("\N{NO-BREAK SPACE}", " ") if is_right else wrong(answer)
        self.type(text)
        self.enter()

    def see_why(self) -> None:
        """Step by step through the construction, to the question."""
        steps = len(self.walk.course.steps)
        for number in range(1, steps + 1):
            assert self.walk.stage is Stage.REVEAL
            assert self.walk.step == number
            self.enter()
        assert self.walk.stage is Stage.CHECK


def wrong(answer: NumberAnswer) -> str:
    """A number that is not the right one."""
    return str(int(Fraction(answer.exact.up())) + 5)
