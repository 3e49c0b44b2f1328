"""Every lesson walked to its end, with right answers and with wrong ones."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from tests.lessons.walking import (
    answered,
    blocked,
    judged,
    names,
    near,
    reach,
    right,
    settled,
    started,
    to_the_question,
    tones,
    wrong,
)
from viewer.errors import UsageError
from viewer.fit import Placement, Verdict
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Ask, Lesson, Scene, Step
from viewer.lessons.scenes import MIDDLE_MM, ScenePicture, artwork_of, bare_cup, rectangle
from viewer.lessons.texts import Texts, Words, load_texts
from viewer.lessons.view import Stage
from viewer.lessons.walk import AGAIN, ANOTHER, ANSWER, BACK, CANNOT, GO_ON, NEXT, Walk, begin
from viewer.press import Press
from viewer.sizing.roots import length_of

LESSONS = pytest.mark.parametrize("lesson", all_lessons(), ids=lambda lesson: lesson.key)
SEEDS = range(50)


def test_there_are_lessons_in_order() -> None:
    numbers = [lesson.number for lesson in all_lessons()]
    assert numbers == sorted(numbers) and {1, 2, 3, 4, 5} <= set(numbers)


# --- to the end -----------------------------------------------------------------------


@LESSONS
def test_right_all_the_way(lesson: Lesson) -> None:
    walk = started(lesson)
    assert walk.view().stage is Stage.TRY and walk.view().title
    assert walk.view().lines[0].text == walk.course.task and not walk.marks
    for number, scene in enumerate(walk.course.scenes):
        walk = try_one(walk, number, scene)
    assert walk.stage is Stage.PREDICT
    assert walk.view().lines[0].text == walk.course.prediction.text
    walk = answered(walk, right(walk.course.prediction.answer))
    walk = through_the_steps(walk)
    assert "good" in tones(walk) and "bad" not in tones(walk)
    assert_worked(walk, walk.course.prediction)
    walk = walk.press(GO_ON)
    assert walk.stage is Stage.CHECK and tones(walk) == ["task"]
    walk = answered(walk, right(walk.ask.answer))
    assert walk.stage is Stage.DONE and "good" in tones(walk) and walk.wrong == 0
    assert_worked(walk, walk.ask)
    assert names(walk) == [ANOTHER, AGAIN] and walk.view().field is None
    again = walk.press(AGAIN)
    assert again.stage is Stage.TRY and not any(again.settled) and not again.marks
    assert again.ask.text != walk.ask.text


@LESSONS
def test_wrong_all_the_way_and_right_in_the_end(lesson: Lesson) -> None:
    walk = settled(started(lesson, seed=8))
    walk = answered(walk, wrong(walk.course.prediction.answer))
    walk = through_the_steps(walk)
    assert "bad" in tones(walk)
    assert any(walk.course.prediction.answer.shown() in line.text for line in walk.view().lines)
    walk = walk.press(GO_ON)
    for count in (1, 2):
        first = walk.ask
        walk = answered(walk, wrong(first.answer))
        assert walk.stage is Stage.CHECK and walk.wrong == count
        told = next(line.text for line in walk.view().lines if line.tone == "bad")
        assert first.answer.shown() in told
        assert_worked(walk, first)
        assert names(walk) == [ANOTHER] and walk.view().field is None
        assert walk.enter(right(first.answer)) is walk  # no second answer to the same numbers
        walk = walk.press(ANOTHER)
        assert walk.ask.text != first.text and walk.given == "" and tones(walk) == ["task"]
    walk = answered(walk, right(walk.ask.answer))
    assert walk.stage is Stage.DONE and walk.wrong == 2


def try_one(walk: Walk, number: int, scene: Scene) -> Walk:
    """Settle one scene, with what does not settle it first."""
    assert walk.scene == number and walk.shown_scene is scene
    away = judged(scene, Placement((-500.0, 0.0), 0.0))
    assert away.verdict is not Verdict.FITS
    assert walk.seen(away) is walk
    if scene.can_fit:
        refused = walk.press(CANNOT)
        assert refused.settled[number] == "" and "bad" in tones(refused)
        walk = refused.seen(judged(scene, scene.cup_fit.best.settable.placement))
        assert walk.settled[number] == "fits"
    else:
        walk = walk.press(CANNOT)
        assert walk.settled[number] == "cannot"
    assert "good" in tones(walk) and names(walk) == [GO_ON]
    return walk.press(GO_ON)


def through_the_steps(walk: Walk) -> Walk:
    """All steps, forth, once back, and forth again."""
    steps = walk.course.steps
    assert walk.stage is Stage.REVEAL and walk.step == 1
    for number, step in enumerate(steps, start=1):
        assert walk.view().step == (number, len(steps)) and walk.scene == step.scene
        assert walk.view().lines[0].text == step.text
        assert set(step.marks) <= set(walk.marks)
        if number > 1 and not step.starts_over and step.scene == steps[number - 2].scene:
            back = walk.press(BACK)
            assert set(back.marks) | set(step.marks) == set(walk.marks)
            assert back.press(NEXT).marks == walk.marks
        if number < len(steps):
            walk = walk.press(NEXT)
    assert walk.marks and NEXT not in names(walk)
    return walk


def assert_worked(walk: Walk, ask: Ask) -> None:
    told = [line.text for line in walk.view().lines if line.tone == "sum"]
    assert told == list(ask.worked) and ask.worked


# --- scenes ---------------------------------------------------------------------------


@LESSONS
def test_scenes_are_settled_and_begin_unsettled(lesson: Lesson) -> None:
    walk = started(lesson)
    for scene in walk.course.scenes:
        assert not scene.is_open
        assert judged(scene, scene.start).verdict is not Verdict.FITS
        assert abs(scene.cup_fit.clearance_mm) > 0.2  # nobody can drag onto a knife's edge


@LESSONS
def test_parts_are_the_artwork(lesson: Lesson) -> None:
    for scene in started(lesson).course.scenes:
        if not scene.parts:
            assert lesson.needs_artwork
            continue
        width, height = scene.artwork.page_mm
        drawn = ScenePicture(scene.parts).draw(0, 0, 6.0, round(width * 6), round(height * 6))
        area_mm2 = drawn[..., 3].sum() / 255.0 / 36.0
        assert area_mm2 == pytest.approx(scene.artwork.ink_area_mm2, rel=3e-3)


@LESSONS
def test_marks_lie_on_the_page(lesson: Lesson) -> None:
    course = started(lesson).course
    for step in course.steps:
        width, height = course.scenes[step.scene].artwork.page_mm
        for mark in step.marks:
            for x, y in reach(mark):
                assert -1.0 <= x <= width + 1.0 and -1.0 <= y <= height + 1.0, mark
    assert course.steps and any(step.marks for step in course.steps)


def test_scenes_can_be_changed_while_trying_only() -> None:
    lesson = next(lesson for lesson in all_lessons() if lesson.key == "two-heights")
    walk = started(lesson)
    assert walk.view().scene_names == tuple(scene.name for scene in walk.course.scenes)
    assert walk.press("scene:1").scene == 1
    for name in ("scene:2", "scene:-1", "scene:", "scene:x", "scene:1:1"):
        assert walk.press(name).scene == 0
    walk = walk.press("scene:1").press(CANNOT)
    assert walk.press(GO_ON).scene == 0  # the one that is left
    walk = settled(started(lesson)).enter("25")
    assert walk.press("scene:1") is walk


def test_what_nobody_can_say_is_not_agreed_to() -> None:
    lesson = next(lesson for lesson in all_lessons() if lesson.needs_artwork)
    walk = started(lesson, artwork=blocked())
    assert walk.shown_scene.is_open
    walk = walk.press(CANNOT)
    assert walk.settled == ("open",) and tones(walk) == ["task", "plain"]
    assert load_texts().of("engine").say("nobody-knows") == walk.view().lines[-1].text
    assert walk.press(GO_ON).stage is Stage.PREDICT


def test_a_construction_belongs_to_its_scene_and_may_start_over() -> None:
    lesson = next(lesson for lesson in all_lessons() if lesson.key == "two-heights")
    walk = answered(settled(started(lesson)), "25")
    low, high, ring, sides, height = walk.course.steps
    assert walk.marks == low.marks
    walk = walk.press(NEXT)
    assert walk.scene == 1 and walk.marks == high.marks  # nothing of the other scene
    walk = walk.press(NEXT)
    assert ring.starts_over and walk.marks == ring.marks  # nothing of the step before
    walk = walk.press(NEXT).press(NEXT)
    assert walk.marks == (*ring.marks, *sides.marks, *height.marks)
    assert walk.press(GO_ON).marks == walk.marks  # it stays for the question


# --- the safe side --------------------------------------------------------------------


def of(key: str) -> Lesson:
    return next(lesson for lesson in all_lessons() if lesson.key == key)


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        # A square in 60: 42.4264 at most; a square of 60 needs 84.8528.
        ("square", "42.4", "You said: 42.4. That is right."),
        ("square", "42.42", "You said: 42.42. That is right."),
        (
            "square",
            "42.5",
            "You said: 42.5. Right to one decimal, but the safe side is the smaller one: 42.42 mm.",
        ),
        ("square", "42.6", "You said: 42.6. Right is: 42.42 mm."),
        ("turning", "84.9", "You said: 84.9. That is right."),
        (
            "turning",
            "84.8",
            "You said: 84.8. Right to one decimal, but the safe side is the larger one: 84.86 mm.",
        ),
        # 50 exactly, and of a width of pixels neither side is safe.
        ("diagonal", "50", "You said: 50. That is right."),
        ("scale-traps", "105.8", "You said: 105.8. That is right."),
        ("scale-traps", "105.9", "You said: 105.9. That is right."),
    ],
)
def test_a_guess_on_the_unsafe_side_is_right_but_told(key: str, text: str, told: str) -> None:
    walk = settled(started(of(key))).enter(text)
    while NEXT in names(walk):
        walk = walk.press(NEXT)
    line = walk.view().lines[1]
    assert line.text.replace("\u00a0", " ") == told
    assert line.tone == ("bad" if "Right is" in told else "good")


@pytest.mark.parametrize(("key", "word"), [("square", "smaller"), ("turning", "larger")])
def test_an_answer_on_the_unsafe_side_is_right_but_told(key: str, word: str) -> None:
    course = started(of(key)).course
    number = next(n for n in range(99) if not course.question(n).answer.is_whole_shown)  # type: ignore[union-attr]
    ask = course.question(number)
    walk = settled(started(of(key)))
    walk = replace(to_the_question(walk, "1"), ask=ask)
    assert isinstance(ask.answer, NumberAnswer)
    tenth = Fraction(int(ask.answer.exact.down() * 10), 10)
    low, high = f"{float(tenth):.1f}", f"{float(tenth) + 0.1:.1f}"
    safe, unsafe = (low, high) if word == "smaller" else (high, low)
    done = walk.enter(safe)
    assert done.stage is Stage.DONE and done.told is not None and done.told.text == "Right."
    done = walk.enter(unsafe)
    assert done.stage is Stage.DONE and done.wrong == 0 and done.told is not None
    assert done.told.tone == "good"
    assert f"the safe side is the {word} one: {ask.answer.shown()}." in done.told.text


def test_of_a_file_not_known_exactly_no_decimal_is_promised() -> None:
    answer = NumberAnswer(length_of(65), within=Fraction(1, 2), rounding="up")
    walk = settled(started(of("square")))
    walk = replace(to_the_question(walk, "1"), ask=Ask("?", answer, ("65",)))
    told = walk.enter("64.6").told
    assert told is not None and told.tone == "good"
    assert told.text == "Near enough, but the safe side is the larger one: 65\u00a0mm."
    told = walk.enter("65").told
    assert told is not None and told.text == "Right."


# --- nonsense -------------------------------------------------------------------------


@LESSONS
@pytest.mark.parametrize("text", ["", "twelve", "4 5", "9,9,9", "99"])
def test_nonsense_is_refused_and_changes_nothing(lesson: Lesson, text: str) -> None:
    walk = settled(started(lesson))
    for _ in range(2):
        asked = walk.course.prediction if walk.stage is Stage.PREDICT else walk.ask
        if isinstance(asked.answer, ChoiceAnswer) or text != "99":
            with pytest.raises(UsageError):
                walk.enter(text)
        if walk.stage is Stage.PREDICT:
            walk = to_the_question(walk, right(asked.answer))
    assert walk.stage is Stage.CHECK and walk.wrong == 0 and not walk.given


@LESSONS
def test_buttons_that_are_not_shown_do_nothing(lesson: Lesson) -> None:
    walk = started(lesson)
    every = [CANNOT, GO_ON, BACK, NEXT, ANOTHER, AGAIN, f"{ANSWER}:0", f"{ANSWER}:99", "", "x:y"]
    seen = [walk, settled(walk)]
    seen.append(seen[-1].enter(right(walk.course.prediction.answer)))
    seen.append(to_the_question(seen[1], right(walk.course.prediction.answer)))
    seen.append(seen[-1].enter(right(seen[-1].ask.answer)))
    assert [one.stage for one in seen] == list(Stage)
    for one in seen:
        for name in set(every) - set(names(one)):
            assert one.press(name) is one
    for one in (seen[0], seen[2], seen[4]):
        assert one.enter("12") is one


@LESSONS
def test_any_presses_at_all_leave_it_whole(lesson: Lesson) -> None:
    rng = random.Random(3)
    walk = started(lesson)
    fit = {
        n: judged(s, s.cup_fit.best.settable.placement) for n, s in enumerate(walk.course.scenes)
    }
    for _ in range(150):
        kind = rng.random()
        if kind < 0.7 and names(walk):
            walk = walk.press(rng.choice(names(walk)))
        elif kind < 0.85:
            walk = walk.seen(fit[walk.scene])
        else:
            text = rng.choice(["12", "0", "1", "60.1"])
            try:
                walk = walk.enter(text)
            except UsageError:
                assert names(walk)[0].startswith(ANSWER)
        view = walk.view()
        assert view.lines and (view.choices or view.field)
        assert 0 <= view.scene < len(walk.course.scenes)
        assert len(view.stages) == len(Stage)


# --- questions ------------------------------------------------------------------------


@LESSONS
def test_fifty_questions_can_be_answered(lesson: Lesson) -> None:
    course = started(lesson).course
    for seed in SEEDS:
        ask = replace(course, seed=seed, _drawn=[]).question(0)
        answer = ask.answer
        assert answer.is_right(right(answer)) and not answer.is_right(wrong(answer)), ask.text
        assert ask.text and ask.worked
        if isinstance(answer, NumberAnswer):
            assert any(answer.number() in line for line in ask.worked), ask
        if isinstance(answer, NumberAnswer) and answer.within == Fraction(1, 10):
            sign = "-" if answer.is_negative else ""
            low, high = near(answer)
            assert answer.is_right(f"{sign}{float(low)}")
            assert answer.is_right(f"{sign}{float(high)}") == (answer.exact.up() != low)


@LESSONS
def test_the_prediction_is_worked_with_the_number_that_is_told(lesson: Lesson) -> None:
    asked = started(lesson).course.prediction
    if isinstance(asked.answer, NumberAnswer):
        assert any(asked.answer.number() in line for line in asked.worked), asked


@LESSONS
def test_the_same_seed_asks_the_same_and_another_time_other_numbers(lesson: Lesson) -> None:
    first, same, other = (started(lesson, seed).course for seed in (11, 11, 12))
    asked = [first.question(n) for n in range(9)]
    assert [(a.text, a.answer, a.worked) for a in asked] == [
        (a.text, a.answer, a.worked) for a in reversed([same.question(n) for n in range(8, -1, -1)])
    ]
    for number in range(1, 9):
        assert asked[number].text != asked[number - 1].text
    assert len({a.text for a in asked}) > 5
    assert [a.text for a in asked[:4]] != [other.question(n).text for n in range(4)]


class Stubborn(Lesson):
    """A lesson that has two questions only, and knows nothing of any other module."""

    number = 99
    key = "stubborn"

    def scenes(self, words: Words, given: object) -> tuple[Scene, ...]:
        part = rectangle(20, 10)
        press = Press(cups=(bare_cup(30),))
        start = Placement((MIDDLE_MM[0] + 30, MIDDLE_MM[1]))
        return (Scene(artwork_of("bar", [part]), press, start, parts=(part,)),)

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        return words.say("task")

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        return Ask("?", ChoiceAnswer(("yes", "no"), 1), ("no",))

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        return (Step("so"),)

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        number = rng.choice((1, 2))
        return Ask(f"how many: {number}?", NumberAnswer(length_of(number), ""), (str(number),))


def test_a_lesson_needs_its_class_and_its_words_alone() -> None:
    sections = dict(load_texts().sections)
    sections["stubborn"] = {"title": "Stubborn", "task": "Get it in."}
    walk = begin(Stubborn(), Texts(sections), None, 1)  # type: ignore[arg-type]
    walk = settled(walk).press(f"{ANSWER}:0")
    assert walk.view().lines[1].text == "You said: yes. Right is: no."
    assert names(walk) == [GO_ON]
    walk = walk.press(GO_ON)
    with pytest.raises(UsageError):
        walk.enter("many")
    walk = walk.enter(right(walk.ask.answer))
    assert walk.stage is Stage.DONE
    # Two questions only: still a new one each time as far as that goes.
    walk = walk.press(ANOTHER)
    assert walk.stage is Stage.CHECK and walk.given == ""
