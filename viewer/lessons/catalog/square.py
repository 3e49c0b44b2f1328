"""A square in a circle of the same size: the corners decide."""

from __future__ import annotations

import random
from fractions import Fraction

from viewer.fit import Placement
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Dot, Mark, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, bare_cup, points_of, rectangle
from viewer.lessons.sums import digits, largest, needed, root_of_square, squared
from viewer.lessons.texts import Words
from viewer.press import Press

SIDE_MM = 60
SIZES_MM = range(40, 111, 5)


class Square(Lesson):
    """Why a 60 mm square does not go into a 60 mm circle."""

    number = 1
    key = "square"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """One square, the ring a little off."""
        part = rectangle(SIDE_MM, SIDE_MM)
        artwork = artwork_of(words.say("title"), [part])
        start = Placement((MIDDLE_MM[0] + 9.0, MIDDLE_MM[1] - 6.0), 0.0)
        return (Scene(artwork, Press(cups=(bare_cup(SIDE_MM),)), start, parts=(part,)),)

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Get it in, or say that it cannot be done."""
        return words.say("task", side=SIDE_MM)

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The largest square of the same circle."""
        return _largest_square(words, words.say("predict", side=SIDE_MM), SIDE_MM)

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """Where it touches, the diagonal, the circle it needs, the square that goes in."""
        diagonal, inner = needed(2 * SIDE_MM**2), _largest(SIDE_MM)
        said = {"diagonal": diagonal.shown(), "largest": inner.shown()}
        texts = words.lines("steps", side=SIDE_MM, **said)
        corners = points_of(scenes[0].parts[0])
        (x0, y0), (x1, y1) = corners[0], corners[2]
        x, y = MIDDLE_MM
        touching = tuple(Dot(at) for at in ((x, y0), (x1, y), (x, y1), (x0, y)))
        side = words.say("mm", number=SIDE_MM)
        return (
            Step(texts[0], (Ring(MIDDLE_MM, SIDE_MM / 2.0), *touching)),
            Step(texts[1], (Segment((x0, y1 + 6.0), (x1, y1 + 6.0), side, "size"),)),
            Step(texts[2], (Segment((x0, y0), (x1, y1), diagonal.shown(), "size"),)),
            Step(texts[3], (Ring(MIDDLE_MM, float(diagonal.exact) / 2.0, style="dashed"),)),
            Step(texts[4], _inner_marks(inner), starts_over=True),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """The same for another circle."""
        side = rng.choice(SIZES_MM)
        return _largest_square(words, words.say("question", side=side), side)


def _inner_marks(inner: NumberAnswer) -> tuple[Mark, ...]:
    """The largest square that goes in, with the circle through its corners."""
    corners = points_of(rectangle(float(inner.exact), float(inner.exact)))
    below = Segment(corners[3], corners[2], inner.shown(), "size")
    return (Ring(MIDDLE_MM, SIDE_MM / 2.0), Area(corners), below)


def _largest(side: int) -> NumberAnswer:
    return largest(Fraction(side * side, 2))


def _largest_square(words: Words, text: str, side: int) -> Ask:
    half = Fraction(side * side, 2)
    answer = _largest(side)
    worked = (
        squared(words, side),
        words.say("halved", square=digits(side * side), half=digits(half)),
        root_of_square(words, half, answer),
    )
    across = Segment((80.0 - side / 2.0, 60.0), (80.0 + side / 2.0, 60.0), "", "size")
    corners = points_of(rectangle(float(answer.exact), float(answer.exact)))
    return Ask(text, answer, worked, (Ring(MIDDLE_MM, side / 2.0), across, Area(corners)))


LESSON = Square()
