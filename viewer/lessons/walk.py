"""A person's way through a lesson: try, predict, see it drawn, answer a question.

One immutable value; what a person does makes another one. Knows nothing of any one lesson.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace

from viewer.fit import PlacedFit, Verdict
from viewer.lessons.answers import TENTH, Answer, ChoiceAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Mark
from viewer.lessons.texts import ENGINE, Texts, Words
from viewer.lessons.view import Choice, Field, LessonView, Line, Stage

CANNOT, GO_ON, BACK, NEXT, ANOTHER, AGAIN = "cannot", "on", "back", "next", "another", "again"
ANSWER, SCENE = "answer", "scene"
"""The first word of ``answer:N`` and ``scene:N``, counted from 0."""
_DRAWS = 40
_UNLIKE = 3
"""A question is drawn again, so often at most, while it is one of so many before it."""


@dataclass(frozen=True, eq=False)
class Course:
    """A lesson made ready: its scenes and all that it says about them."""

    lesson: Lesson
    words: Words
    engine: Words
    scenes: tuple[Scene, ...]
    task: str
    prediction: Ask
    steps: tuple[Step, ...]
    seed: int
    _drawn: list[Ask] = field(default_factory=list, repr=False)
    """The questions so far: what was drawn once is not worked out again."""

    def question(self, number: int) -> Ask:
        """The question asked for the ``number``-th time; other numbers each time."""
        while len(self._drawn) <= number:
            self._drawn.append(self._draw(len(self._drawn)))
        return self._drawn[number]

    def _draw(self, number: int) -> Ask:
        rng = random.Random(f"{self.seed}:{self.lesson.key}:{number}")
        before = {ask.text for ask in self._drawn[-_UNLIKE:]}
        for _ in range(_DRAWS):
            ask = self.lesson.question(self.words, rng, self.scenes)
            if ask.text not in before:
                break
        return ask


def begin(lesson: Lesson, texts: Texts, given: Given, seed: int) -> Walk:
    """Begin a lesson; the same ``seed`` asks the same questions."""
    words = texts.of(lesson.key)
    scenes = lesson.scenes(words, given)
    course = Course(
        lesson,
        words,
        texts.of(ENGINE),
        scenes,
        lesson.task(words, scenes),
        lesson.prediction(words, scenes),
        lesson.steps(words, scenes),
        seed,
    )
    return Walk(course, settled=tuple("" for _ in scenes), ask=course.question(0))


@dataclass(frozen=True, eq=False)
class Walk:
    """``settled``: for each scene "" (not yet), "fits" or "cannot", as a person found out;
    "open" where nobody can say.

    ``guess`` and ``given``: what was typed or chosen as prediction and as answer.
    ``wrong``: how many answers were wrong so far.
    """

    course: Course
    settled: tuple[str, ...]
    ask: Ask
    stage: Stage = Stage.TRY
    scene: int = 0
    step: int = 0
    guess: str = ""
    asked: int = 0
    given: str = ""
    wrong: int = 0
    told: Line | None = None

    # --- what a person does ----------------------------------------------------

    def seen(self, placed: PlacedFit) -> Walk:
        """The cup was moved or turned, and this is how it stands now."""
        if self.stage is not Stage.TRY or self.settled[self.scene]:
            return self
        if placed.verdict is not Verdict.FITS:
            return self
        return self._settle("fits", Line(self._engine("found"), "good"))

    def press(self, name: str) -> Walk:
        """A button of the view. One that is not shown changes nothing."""
        if name not in {choice.name for choice in self._choices()}:
            kind, _, number = name.partition(":")
            is_scene = kind == SCENE and number.isdecimal() and self._can_change_scene
            return self._go_to(int(number)) if is_scene else self
        kind, _, number = name.partition(":")
        if kind == ANSWER:
            return self.enter(number)
        actions = {
            CANNOT: self._say_cannot,
            GO_ON: self._go_on,
            BACK: lambda: self._reveal(self.step - 1),
            NEXT: lambda: self._reveal(self.step + 1),
            ANOTHER: self._another,
            AGAIN: self._again,
        }
        return actions[name]()

    def enter(self, text: str) -> Walk:
        """A prediction or an answer. UsageError where it is no number."""
        if self.stage is Stage.PREDICT:
            answer = self.course.prediction.answer
            answer.is_right(text)  # nonsense is refused before anything is shown
            return replace(self, guess=text.strip(), told=None)._reveal(1)
        if self.stage is not Stage.CHECK or self.given:
            return self
        is_right = self.ask.answer.is_right(text)
        if is_right:
            said = self._unsafe(self.ask.answer, text) or self._engine("right")
            told = Line(said, "good")
            return replace(self, given=text.strip(), stage=Stage.DONE, told=told)
        said = self._engine("wrong", right=self.ask.answer.shown())
        told = Line(said, "bad")
        return replace(self, given=text.strip(), wrong=self.wrong + 1, told=told)

    # --- inside ----------------------------------------------------------------

    def _engine(self, key: str, **values: object) -> str:
        return self.course.engine.say(key, **values)

    def _unsafe(self, answer: Answer, text: str) -> str:
        """What is told of a right answer that was rounded to the unsafe side, else ``""``."""
        if isinstance(answer, ChoiceAnswer) or answer.is_safe(text):
            return ""
        # Of a file that is not known exactly more than a tenth counts as right.
        is_tenth = answer.within <= TENTH
        key = f"unsafe-{answer.rounding}" if is_tenth else f"near-{answer.rounding}"
        return self._engine(key, right=answer.shown())

    def _settle(self, how: str, told: Line) -> Walk:
        settled = list(self.settled)
        settled[self.scene] = how
        return replace(self, settled=tuple(settled), told=told)

    def _say_cannot(self) -> Walk:
        found = self.course.scenes[self.scene]
        if found.can_fit:
            return replace(self, told=Line(self._engine("it-can"), "bad"))
        if found.is_open:
            return self._settle("open", Line(self._engine("nobody-knows")))
        return self._settle("cannot", Line(self._engine("agreed"), "good"))

    @property
    def _is_tried(self) -> bool:
        return all(self.settled)

    @property
    def _can_change_scene(self) -> bool:
        return len(self.course.scenes) > 1 and self.stage is Stage.TRY

    def _go_to(self, scene: int) -> Walk:
        if scene >= len(self.course.scenes):
            return self
        return replace(self, scene=scene, told=None)

    def _go_on(self) -> Walk:
        if self.stage is Stage.TRY and self._is_tried:
            return replace(self, stage=Stage.PREDICT, told=None)
        if self.stage is Stage.TRY:
            return self._go_to(self.settled.index(""))
        return replace(self, stage=Stage.CHECK, given="", told=None)

    def _reveal(self, step: int) -> Walk:
        steps = self.course.steps
        step = max(1, min(len(steps), step))
        return replace(self, stage=Stage.REVEAL, step=step, scene=steps[step - 1].scene, told=None)

    def _another(self) -> Walk:
        number = self.asked + 1
        ask = self.course.question(number)
        return replace(self, asked=number, ask=ask, given="", stage=Stage.CHECK, told=None)

    def _again(self) -> Walk:
        fresh = Walk(self.course, tuple("" for _ in self.settled), self.ask, asked=self.asked)
        return fresh._fresh_question()

    def _fresh_question(self) -> Walk:
        number = self.asked + 1
        return replace(self, asked=number, ask=self.course.question(number))

    # --- what is shown -----------------------------------------------------------

    @property
    def shown_scene(self) -> Scene:
        """The scene that is on the bench."""
        return self.course.scenes[self.scene]

    @property
    def marks(self) -> tuple[Mark, ...]:
        """The construction as far as it has been drawn."""
        if self.stage not in (Stage.REVEAL, Stage.CHECK, Stage.DONE):
            return ()
        found: list[Mark] = []
        for step in self.course.steps[: self.step]:
            if step.starts_over:
                found = []
            if step.scene == self.scene:
                found += step.marks
        return tuple(found)

    def view(self) -> LessonView:
        """All that is shown now."""
        course = self.course
        stages = tuple(course.engine.say(f"stage-{stage.value}") for stage in Stage)
        names = tuple(scene.name for scene in course.scenes) if len(course.scenes) > 1 else ()
        return LessonView(
            key=course.lesson.key,
            number=course.lesson.number,
            title=course.words.say("title"),
            stage=self.stage,
            stages=stages,
            lines=tuple(self._lines()),
            field=self._field(),
            choices=self._choices(),
            scene=self.scene,
            scene_names=names,
            marks=self.marks,
            step=(self.step, len(course.steps)),
        )

    def _lines(self) -> list[Line]:
        course = self.course
        if self.stage is Stage.TRY:
            lines = [Line(course.task, "task")]
        elif self.stage is Stage.PREDICT:
            lines = [Line(course.prediction.text, "task"), Line(self._engine("guess"))]
        elif self.stage is Stage.REVEAL:
            lines = self._reveal_lines()
        else:
            lines = [Line(self.ask.text, "task")]
        if self.told is not None:
            lines.append(self.told)
        if self.given:
            lines += [Line(text, "sum") for text in self.ask.worked]
        if self.stage is Stage.DONE:
            lines.append(Line(self._engine("finished")))
        return lines

    def _reveal_lines(self) -> list[Line]:
        """The step that is shown, and at the end what the guess was worth."""
        course = self.course
        lines = [Line(course.steps[self.step - 1].text)]
        if self.step == len(course.steps):
            answer = course.prediction.answer
            is_right = answer.is_right(self.guess)
            guess = self.guess
            if isinstance(answer, ChoiceAnswer):
                guess = answer.options[answer.chosen(guess)]
            key = "guess-right" if is_right else "guess-wrong"
            said = self._engine(key, guess=guess, right=answer.shown())
            unsafe = self._unsafe(answer, self.guess) if is_right else ""
            if unsafe:
                said = self._engine("guess-unsafe", guess=guess, told=unsafe)
            lines.append(Line(said, "good" if is_right else "bad"))
            lines += [Line(text, "sum") for text in course.prediction.worked]
        return lines

    def _current_ask(self) -> Ask | None:
        if self.stage is Stage.PREDICT:
            return self.course.prediction
        if self.stage is Stage.CHECK and not self.given:
            return self.ask
        return None

    def _field(self) -> Field | None:
        asked = self._current_ask()
        if asked is None or isinstance(asked.answer, ChoiceAnswer):
            return None
        unit = asked.answer.unit
        return Field(self._engine("your-answer"), "\u00b0" if unit == "deg" else unit)

    def _choices(self) -> tuple[Choice, ...]:
        asked = self._current_ask()
        if asked is not None and isinstance(asked.answer, ChoiceAnswer):
            options = asked.answer.options
            return tuple(Choice(f"{ANSWER}:{n}", label) for n, label in enumerate(options))
        say = self._engine
        if self.stage is Stage.TRY:
            if self.settled[self.scene]:
                key = "go-on" if self._is_tried else "other-scene"
                return (Choice(GO_ON, say(key), is_main=True),)
            return (Choice(CANNOT, say("cannot")),)
        if self.stage is Stage.REVEAL:
            back = (Choice(BACK, say("step-back")),) if self.step > 1 else ()
            if self.step < len(self.course.steps):
                return (*back, Choice(NEXT, say("step-next"), is_main=True))
            return (*back, Choice(GO_ON, say("to-question"), is_main=True))
        if self.stage is Stage.CHECK and self.given:
            return (Choice(ANOTHER, say("another"), is_main=True),)
        if self.stage is Stage.DONE:
            return (Choice(ANOTHER, say("one-more")), Choice(AGAIN, say("from-start")))
        return ()
