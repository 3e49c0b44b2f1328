"""One width, two heights: the width alone does not say whether an image goes in."""

from __future__ import annotations

import random

from viewer.fit import Placement
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Mark, RightAngle, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, bare_cup, points_of, rectangle
from viewer.lessons.sums import digits, largest, needed, other_side_lines
from viewer.lessons.texts import Words
from viewer.press import Press

WIDTH_MM = 60
HEIGHTS_MM = (15, 50)
CIRCLE_MM = 65
"""With the width of 60 a whole number is left for the height: 25."""
WHOLE_MM = ((50, 40), (50, 48), (52, 48), (60, 48), (65, 56), (75, 72), (85, 77), (100, 96))
"""Circles and widths for which the height is a whole number."""


class TwoHeights(Lesson):
    """60 mm wide in a circle of 65 mm: low enough it fits, higher it cannot."""

    number = 3
    key = "two-heights"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """The same width, once low and once high."""
        return tuple(_scene(words, height) for height in HEIGHTS_MM)

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Try both."""
        low, high = HEIGHTS_MM
        return words.say("task", width=WIDTH_MM, low=low, high=high, circle=CIRCLE_MM)

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The greatest height at this width."""
        return _greatest_height(words, "predict", CIRCLE_MM, WIDTH_MM)

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """Both diagonals, then the height that just goes in."""
        low, high = (WIDTH_MM**2 + height**2 for height in HEIGHTS_MM)
        # What goes in needs so much at most, what does not go in needs more than that.
        diagonals = (needed(low), largest(high))
        texts = words.lines(
            "steps",
            width=WIDTH_MM,
            low=HEIGHTS_MM[0],
            high=HEIGHTS_MM[1],
            circle=CIRCLE_MM,
            low_diagonal=diagonals[0].shown(),
            high_diagonal=diagonals[1].shown(),
            left=CIRCLE_MM**2 - WIDTH_MM**2,
            greatest=_height(CIRCLE_MM, WIDTH_MM).shown(),
        )
        across = [
            Segment(corners[3], corners[1], diagonal.shown(), "size")
            for corners, diagonal in zip(
                (points_of(scene.parts[0]) for scene in scenes), diagonals, strict=True
            )
        ]
        ring, sides, height = _limit_marks(words)
        return (
            Step(texts[0], (across[0],), scene=0),
            Step(texts[1], (across[1],), scene=1),
            Step(texts[2], ring, scene=1, starts_over=True),
            Step(texts[3], sides, scene=1),
            Step(texts[4], height, scene=1),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """Another circle and another width."""
        if rng.random() < 0.4:
            circle, width = rng.choice(WHOLE_MM)
        else:
            circle = rng.randrange(50, 111)
            width = rng.randrange(circle // 2, circle * 19 // 20)
        return _greatest_height(words, "question", circle, width)


def _scene(words: Words, height: int) -> Scene:
    name = words.say("size", width=WIDTH_MM, height=height)
    part = rectangle(WIDTH_MM, height)
    start = Placement((MIDDLE_MM[0] + 10.0, MIDDLE_MM[1] + 7.0), 0.0)
    press = Press(cups=(bare_cup(CIRCLE_MM),))
    return Scene(artwork_of(name, [part]), press, start, name=name, parts=(part,))


def _height(circle: int, width: int) -> NumberAnswer:
    return largest(circle**2 - width**2)


def _limit_marks(words: Words) -> tuple[tuple[Mark, ...], tuple[Mark, ...], tuple[Mark, ...]]:
    """The highest image of this width with its circle; its right angle; its height."""
    answer = _height(CIRCLE_MM, WIDTH_MM)
    corners = points_of(rectangle(WIDTH_MM, float(answer.exact)))
    width, circle = (words.say("mm", number=digits(n)) for n in (WIDTH_MM, CIRCLE_MM))
    return (
        (Area(corners), Ring(MIDDLE_MM, CIRCLE_MM / 2.0, circle, "dashed")),
        (
            Segment(corners[3], corners[2], width),
            Segment(corners[3], corners[1], circle),
            RightAngle(corners[2], corners[3], corners[1]),
        ),
        (Segment(corners[2], corners[1], answer.shown()),),
    )


def _greatest_height(words: Words, key: str, circle: int, width: int) -> Ask:
    answer = _height(circle, width)
    text = words.say(key, circle=circle, width=width)
    corners = points_of(rectangle(width, float(answer.exact)))
    marks = (
        Ring(MIDDLE_MM, circle / 2.0),
        Area(corners),
        Segment(corners[3], corners[2], words.say("mm", number=width), "size"),
    )
    return Ask(text, answer, other_side_lines(words, circle, width), marks)


LESSON = TwoHeights()
