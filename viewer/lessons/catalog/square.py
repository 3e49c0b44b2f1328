"""A square in a circle of the same size: the corners decide."""

from __future__ import annotations

import random
from fractions import Fraction

from viewer.fit import Placement
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, bare_cup, rectangle
from viewer.lessons.texts import Words
from viewer.press import Press
from viewer.sizing.roots import Root, decimal_down, decimal_up, root_of

SIDE_MM = 60
SIZES_MM = (50, 60, 70, 75, 80, 90, 100, 110, 120, 130)


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
        """Side, diagonal, the circle it needs, the square that goes in."""
        corners = scenes[0].parts[0]
        diagonal = float(_diagonal(SIDE_MM))
        largest = float(_largest(SIDE_MM))
        values = {
            "side": SIDE_MM,
            "diagonal": decimal_up(_diagonal(SIDE_MM).up()),
            "largest": decimal_down(_largest(SIDE_MM).down()),
        }
        texts = words.lines("steps", **values)
        (x0, y0), (x1, y1) = corners[0], corners[2]
        inner = tuple((float(x), float(y)) for x, y in rectangle(largest, largest))
        side = Segment((x0, y1 + 4), (x1, y1 + 4), words.say("label-side", **values), "size")
        across = Segment((x0, y0), (x1, y1), words.say("label-diagonal", **values), "size")
        return (
            Step(texts[0], (side,)),
            Step(texts[1], (across,)),
            Step(texts[2], (Ring(MIDDLE_MM, diagonal / 2.0, style="dashed"),)),
            Step(texts[3], (Area(inner, words.say("label-largest", **values)),)),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """The same for another circle."""
        side = rng.choice(SIZES_MM)
        return _largest_square(words, words.say("question", side=side), side)


def _diagonal(side: int) -> Root:
    return root_of(Fraction(2 * side * side))


def _largest(side: int) -> Root:
    return root_of(Fraction(side * side, 2))


def _largest_square(words: Words, text: str, side: int) -> Ask:
    square = side * side
    half = Fraction(square, 2)
    worked = words.lines(
        "worked",
        side=side,
        square=square,
        half=f"{float(half):g}",
        largest=decimal_down(_largest(side).down()),
    )
    return Ask(text, NumberAnswer(_largest(side)), worked)


LESSON = Square()
