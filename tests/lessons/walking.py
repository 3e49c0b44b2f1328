"""A person's way through any lesson, for the tests: settles scenes, types right and wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from viewer.artwork.model import Artwork, ArtworkWarning
from viewer.fit import Placement, Verdict, place
from viewer.lessons.answers import Answer, ChoiceAnswer
from viewer.lessons.lesson import Given, Lesson, Scene
from viewer.lessons.marks import Area, Dot, Mark, RightAngle, Ring, Segment
from viewer.lessons.scenes import artwork_of, rectangle, turned
from viewer.lessons.texts import load_texts
from viewer.lessons.view import Stage
from viewer.lessons.walk import ANSWER, BACK, CANNOT, GO_ON, NEXT, Walk, begin
from viewer.press import Press


def pennant() -> Artwork:
    """Artwork as a person may have it open: it goes into some of the example cups."""
    parts = [turned(rectangle(44.0, 21.0), 12.0), rectangle(6.0, 6.0, (80.0, 90.0))]
    return artwork_of("pennant.svg", parts)


def blocked() -> Artwork:
    """Artwork of which nobody can say that it fits."""
    warning = ArtworkWarning("text", "the file holds text", True)
    return replace(pennant(), warnings=(warning,))


def given_for(lesson: Lesson, artwork: Artwork | None = None) -> Given:
    """What a lesson needs to begin."""
    if not lesson.needs_artwork:
        return Given()
    return Given(artwork or pennant(), Press())


def started(lesson: Lesson, seed: int = 5, artwork: Artwork | None = None) -> Walk:
    """A lesson just begun."""
    return begin(lesson, load_texts(), given_for(lesson, artwork), seed)


def names(walk: Walk) -> list[str]:
    """The buttons shown."""
    return [choice.name for choice in walk.view().choices]


def tones(walk: Walk) -> list[str]:
    """How each line is meant."""
    return [line.tone for line in walk.view().lines]


def judged(scene: Scene, placement: Placement):  # type: ignore[no-untyped-def]
    """How a placement of a scene stands."""
    press = scene.press
    return place(scene.artwork, press.cups[0], placement, press.setup_tolerance_mm, press.limits)


def settled(walk: Walk) -> Walk:
    """All scenes settled, the fitting ones by placing the cup; the prediction is next."""
    for _ in walk.course.scenes:
        scene = walk.shown_scene
        if scene.can_fit:
            found = judged(scene, scene.cup_fit.best.settable.placement)
            assert found.verdict is Verdict.FITS
            walk = walk.seen(found)
        else:
            walk = walk.press(CANNOT)
        assert walk.settled[walk.scene]
        walk = walk.press(GO_ON)
    assert walk.stage is Stage.PREDICT
    return walk


def to_the_question(walk: Walk, guess: str) -> Walk:
    """From the prediction through all steps."""
    walk = walk.enter(guess)
    while NEXT in names(walk):
        walk = walk.press(NEXT)
    assert BACK in names(walk) or len(walk.course.steps) == 1
    return walk.press(GO_ON)


def right(answer: Answer) -> str:
    """What to type or choose to be right."""
    return str(answer.right) if isinstance(answer, ChoiceAnswer) else answer.shown()


def wrong(answer: Answer) -> str:
    """What to type or choose to be wrong."""
    if isinstance(answer, ChoiceAnswer):
        return str((answer.right + 1) % len(answer.options))
    off = answer.exact.up() + 2 * answer.within
    return f"{'-' if answer.is_negative else ''}{float(off):.3f}"


def answered(walk: Walk, text: str) -> Walk:
    """An answer given as the window gives it: a choice by its button, a number typed."""
    asked = walk.course.prediction if walk.stage is Stage.PREDICT else walk.ask
    if isinstance(asked.answer, ChoiceAnswer):
        return walk.press(f"{ANSWER}:{text}")
    return walk.enter(text)


def near(answer: Answer) -> tuple[Fraction, ...]:
    """Numbers of one decimal next to a right answer: below and above."""
    assert not isinstance(answer, ChoiceAnswer)
    tenths = answer.exact.down() * 10
    low = Fraction(tenths.numerator // tenths.denominator, 10)
    return (low, low + Fraction(1, 10))


def labels(marks: tuple[Mark, ...]) -> Iterator[str]:
    """The words of marks, without the empty ones."""
    for mark in marks:
        if not isinstance(mark, RightAngle) and mark.label:
            yield mark.label


def reach(mark: Mark) -> list[tuple[float, float]]:
    """Points that hold the whole mark between them."""
    if isinstance(mark, Segment):
        return [mark.a, mark.b]
    if isinstance(mark, Ring):
        (x, y), r = mark.center, mark.radius_mm
        return [(x - r, y - r), (x + r, y + r)]
    if isinstance(mark, Area):
        return list(mark.corners)
    if isinstance(mark, Dot):
        return [mark.at]
    return [mark.corner]
