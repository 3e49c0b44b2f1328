"""A lesson on one page, with exercises of fresh numbers, and their answers apart.

The drawing is at true scale where the page has room for it, else at a scale that is said;
the same lesson, seed, paper and date give the same pages. Lengths in mm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from viewer.errors import UsageError
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson
from viewer.lessons.lesson_sheet_answers import answer_pages
from viewer.lessons.lesson_sheet_blocks import (
    Exercise,
    StepBlock,
    exercise_items,
    exercise_of,
    in_two,
    paired,
    step_blocks,
    step_items,
)
from viewer.lessons.lesson_sheet_drawing import Panel, chief_panels, panels_of
from viewer.lessons.lesson_sheet_figure import Figure, figure_items, figure_of
from viewer.lessons.texts import Texts, Words, load_texts
from viewer.lessons.walk import Course, begin
from viewer.report import printable
from viewer.sheets.cup_drawing import keys_of
from viewer.sheets.draw_list import Document, Item, Page, Stroke, Text, line
from viewer.sheets.frame import SMALL_MM, Foot, frame_items
from viewer.sheets.page import Format
from viewer.sheets.text_flow import Measure, shortened, wrapped

SHEET_WORDS = "sheet"
USUAL_COUNT = 6
MOST_EXERCISES = 12
LEAST_TEXT_MM = 2.8
"""No word of the lesson itself is smaller: 8 points."""
SCALES = tuple(
    Fraction(*pair)
    for pair in ((1, 1), (3, 4), (2, 3), (3, 5), (1, 2), (2, 5), (1, 3), (1, 4), (1, 5), (1, 8))
)

_TEXT_SIZES_MM = (3.3, 3.0, LEAST_TEXT_MM)
_SMALL = Fraction(1, 2)
_ENOUGH_EXERCISES = 4
"""For so many the letters grow smaller, and then the drawing."""
_TITLE_MM = 5.2
_HEADING_MM = 3.6
_LEADING = 1.36
_GAP_MM = 6.0
_LEAST_STEPS_MM = 60.0
_MOST_ROOM_MM = 14.0
_TRIES = 60


@dataclass(frozen=True)
class LessonSheetOrder:
    """What is to be written. ``count``: how many exercises at most; ``date``: YYYY-MM-DD.

    ``learner`` is written where the name goes, if there is one.
    """

    lesson: Lesson
    seed: int
    base: Format
    date: str
    given: Given = field(default_factory=Given)
    count: int = USUAL_COUNT
    learner: str = ""
    texts: Texts = field(default_factory=load_texts)

    def __post_init__(self) -> None:
        if not 1 <= self.count <= MOST_EXERCISES:
            raise UsageError(f"exercises: from 1 to {MOST_EXERCISES}, not {self.count}")

    @property
    def about(self) -> str:
        """The name of the file that the lesson is about, or ``""``."""
        artwork = self.given.artwork
        if artwork is None or not self.lesson.needs_artwork:
            return ""
        return printable(artwork.path.replace("\\", "/").rpartition("/")[2])


@dataclass(frozen=True)
class LessonSheets:
    """The page, and the answers apart. ``asks``: the exercises that found room."""

    page: Document
    answers: Document
    asks: tuple[Ask, ...]
    scale: Fraction


def lesson_sheets(order: LessonSheetOrder, measure: Measure) -> LessonSheets:
    """Both documents. UsageError where a lesson is about artwork and none is given."""
    number = order.lesson.number
    if order.lesson.needs_artwork and order.given.artwork is None:
        raise UsageError(f"lesson {number} is about a file of yours: name one")
    course = begin(order.lesson, order.texts, order.given, order.seed).course
    words = order.texts.of(SHEET_WORDS)
    asks = fresh_questions(course, order.count)
    plan = _planned(_Composer(order, course, words, measure), asks)
    shown = asks[: len(plan.exercises)]
    about = f"{order.about}, " if order.about else ""
    foot = words.say("foot", number=number, date=order.date, about=about, seed=order.seed)
    format_ = order.base.turned(False)
    foot = shortened(foot, format_.content.width - 24.0, SMALL_MM, False, measure)
    frame = frame_items(format_, Foot(foot, 1, 1))
    page = Page(format_.paper_mm, (*plan.items(), *frame), format_.printer_scale)
    title = course.words.say("title")
    answers_title = words.say("answers", title=title)
    of = words.say("answers-of", number=number, seed=order.seed)
    answers = answer_pages(shown, words, (answers_title, of), foot, order.base, measure)
    subject = f"{words.say('lesson', number=number)}, seed {order.seed}"
    return LessonSheets(
        Document((page,), title, subject, order.date),
        Document(answers, answers_title, subject, order.date),
        shown,
        plan.scale,
    )


def fresh_questions(course: Course, count: int) -> tuple[Ask, ...]:
    """Questions that differ, and whose answers stand nowhere else on the page.

    Fewer where a lesson has no more of them.
    """
    found: dict[str, Ask] = {}
    page = _page_words(course)
    for number in range(_TRIES):
        if len(found) == count:
            break
        ask = course.question(number)
        chosen = tuple(found.values())
        others = " ".join(other.text for other in (*chosen, ask))
        is_open = not _is_told(ask, f"{page} {others}")
        if is_open and not any(_is_told(other, ask.text) for other in chosen):
            found.setdefault(ask.text, ask)
    return tuple(found.values()) or (course.question(0),)


def paper_task(course: Course) -> str:
    """The task without what can be done in the window alone."""
    return course.lesson.task(course.words.on_paper(), course.scenes)


def _page_words(course: Course) -> str:
    """All that the page says besides the exercises."""
    marks = [mark for step in course.steps for mark in step.marks]
    labels = [getattr(mark, "label", "") for mark in marks]
    cups = {scene.cup_fit.cup for scene in course.scenes}
    keys = [key.words for cup in cups for key in keys_of(cup)]
    steps = [step.text for step in course.steps]
    return " ".join([course.words.say("title"), paper_task(course), *steps, *labels, *keys])


def _is_told(ask: Ask, words: str) -> bool:
    """Whether the number asked for, as it would be written, stands among the words."""
    if not isinstance(ask.answer, NumberAnswer):
        return False
    number = ask.answer.number()
    zeros = "0*" if "." in number else "(?:[.]0+)?"
    pattern = rf"(?<![\d.,]){re.escape(number)}{zeros}(?!\d|[.,]\d)"
    return re.search(pattern, words) is not None


# --- the plan ---------------------------------------------------------------------------


@dataclass(frozen=True)
class _Plan:
    """A page that can be drawn. ``is_beside``: the steps stand beside the figure."""

    composer: _Composer
    figure: Figure
    steps: tuple[tuple[StepBlock, ...], ...]
    """In columns."""
    exercises: tuple[Exercise, ...]
    size_mm: float
    is_beside: bool

    @property
    def scale(self) -> Fraction:
        """Of the figure."""
        return self.figure.scale

    @property
    def middle_height(self) -> float:
        """Of figure and steps."""
        steps = _HEADING_MM + 2.4
        steps += max(sum(block.height for block in column) for column in self.steps)
        if self.is_beside:
            return max(self.figure.height, steps)
        return self.figure.height + 4.0 + steps

    def items(self) -> Iterator[Item]:
        """All of the page but its frame."""
        return self.composer.items(self)


def _planned(composer: _Composer, asks: Sequence[Ask]) -> _Plan:
    """The greatest scale, then the greatest letters, at which enough exercises have room.

    Where all drawings would be small, one of each scene is drawn, larger.
    """
    plan = _greatest(composer, composer.panels, asks)
    chief = chief_panels(composer.panels)
    if len(chief) < len(composer.panels) and (plan is None or plan.scale < _SMALL):
        other = _greatest(composer, chief, asks)
        if other is not None and (plan is None or other.scale > plan.scale):
            plan = other
    if plan is None:
        raise UsageError("this lesson does not go onto one page of that paper: take a larger one")
    return plan


def _greatest(composer: _Composer, panels: tuple[Panel, ...], asks: Sequence[Ask]) -> _Plan | None:
    enough = min(_ENOUGH_EXERCISES, len(asks))
    best: _Plan | None = None
    for scale in SCALES:
        for size_mm in _TEXT_SIZES_MM:
            for is_beside in (True, False):
                plan = composer.plan(panels, asks, scale, size_mm, is_beside)
                if plan is None:
                    continue
                if best is None or len(plan.exercises) > len(best.exercises):
                    best = plan
        if best is not None and len(best.exercises) >= enough:
            return best
    return best


class _Composer:
    """Puts one page together."""

    def __init__(
        self, order: LessonSheetOrder, course: Course, words: Words, measure: Measure
    ) -> None:
        self._course = course
        self._words = words
        self._measure = measure
        self._learner = printable(order.learner)
        self._window = order.base.turned(False).content
        self.panels = panels_of(course.scenes, course.steps)
        room = self._window.width - 28.0
        self._title = wrapped(course.words.say("title"), room, _TITLE_MM, True, measure)

    # --- sums ---------------------------------------------------------------------------

    def plan(
        self,
        panels: tuple[Panel, ...],
        asks: Sequence[Ask],
        scale: Fraction,
        size_mm: float,
        is_beside: bool,
    ) -> _Plan | None:
        """As many exercises as have room; None where figure and steps have none."""
        window, measure = self._window, self._measure
        figure = figure_of(panels, scale, window.width, self._words, measure)
        beside_mm = window.width - figure.width - _GAP_MM
        if figure.width > window.width + 1e-9 or (is_beside and beside_mm < _LEAST_STEPS_MM):
            return None
        half_mm = (window.width - _GAP_MM) / 2.0
        texts = [step.text for step in self._course.steps]
        blocks = step_blocks(texts, beside_mm if is_beside else half_mm, size_mm, measure)
        steps = (blocks,) if is_beside else in_two(blocks)
        exercises = tuple(
            exercise_of(number, ask, half_mm, size_mm, measure)
            for number, ask in enumerate(asks, 1)
        )
        room = window.height - self._exercises_y(_Plan(self, figure, steps, (), size_mm, is_beside))
        while exercises and sum(row.height for row in paired(exercises)) > room:
            exercises = exercises[:-1]
        return _Plan(self, figure, steps, exercises, size_mm, is_beside) if exercises else None

    def _task_rows(self, size_mm: float) -> tuple[str, ...]:
        return wrapped(paper_task(self._course), self._window.width, size_mm, False, self._measure)

    def _task_y(self) -> float:
        """From the top of the window, as the two below."""
        return len(self._title) * _TITLE_MM * 1.25 + 10.5

    def _figure_y(self, size_mm: float) -> float:
        return self._task_y() + len(self._task_rows(size_mm)) * size_mm * _LEADING + 2.5

    def _exercises_y(self, plan: _Plan) -> float:
        """Where the first exercise begins, below the heading."""
        return self._figure_y(plan.size_mm) + plan.middle_height + 4.0 + _HEADING_MM + 3.4

    # --- drawing --------------------------------------------------------------------------

    def items(self, plan: _Plan) -> Iterator[Item]:
        """All of a page but its frame."""
        yield from self._head()
        window, size = self._window, plan.size_mm
        y = window.y0 + self._task_y()
        for index, row in enumerate(self._task_rows(size)):
            yield Text(window.x0, y + size + index * size * _LEADING, row, size)
        y = window.y0 + self._figure_y(size)
        aside = 0.0 if plan.is_beside else (window.width - plan.figure.width) / 2.0
        yield from figure_items(plan.figure, window.x0 + aside, y, self._measure)
        yield from self._steps(plan, y)
        yield from self._exercises(plan, window.y0 + self._exercises_y(plan))

    def _head(self) -> Iterator[Item]:
        window, words = self._window, self._words
        y = window.y0 + _TITLE_MM * 0.86
        number = words.say("lesson", number=self._course.lesson.number)
        yield Text(window.x1, y, number, 3.4, anchor="end", gray=0.3)
        for row in self._title:
            yield Text(window.x0, y, row, _TITLE_MM, bold=True)
            y += _TITLE_MM * 1.25
        y += 2.2
        middle = window.x0 + window.width * 0.68
        yield from self._to_write("name", window.x0, middle - _GAP_MM, y, self._learner)
        yield from self._to_write("date", middle, window.x1, y, "")

    def _to_write(self, key: str, x0: float, x1: float, y: float, filled: str) -> Iterator[Item]:
        label = self._words.say(key)
        start = x0 + self._measure(label, LEAST_TEXT_MM, False) + 2.0
        yield Text(x0, y, label, LEAST_TEXT_MM, gray=0.25)
        yield line(start, y + 0.8, x1, y + 0.8, Stroke(0.2, 0.2))
        if filled:
            told = shortened(filled, x1 - start - 2.0, 3.3, False, self._measure)
            yield Text(start + 1.0, y, told, 3.3)

    def _steps(self, plan: _Plan, y: float) -> Iterator[Item]:
        window = self._window
        x, apart = window.x0, (window.width + _GAP_MM) / 2.0
        if plan.is_beside:
            x += plan.figure.width + _GAP_MM
        else:
            y += plan.figure.height + 4.0
        yield Text(x, y + _HEADING_MM, self._words.say("why"), _HEADING_MM, bold=True)
        for index, column in enumerate(plan.steps):
            yield from step_items(column, x + index * apart, y + _HEADING_MM + 2.4)

    def _exercises(self, plan: _Plan, y: float) -> Iterator[Item]:
        window, words = self._window, self._words
        base = y - 3.4
        rule = base - _HEADING_MM - 1.6
        yield line(window.x0, rule, window.x1, rule, Stroke(0.15, 0.55))
        yield Text(window.x0, base, words.say("exercises"), _HEADING_MM, bold=True)
        rows = paired(plan.exercises)
        spare = window.y1 - y - sum(row.height for row in rows)
        more = max(0.0, min(_MOST_ROOM_MM, spare / len(rows)))
        for row in rows:
            for index, exercise in enumerate(row.exercises):
                x = window.x0 + index * (window.width + _GAP_MM) / 2.0
                tall = row.height + more
                yield from exercise_items(exercise, x, y, tall, words, self._measure)
            y += row.height + more
