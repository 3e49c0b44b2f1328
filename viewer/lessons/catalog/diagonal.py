"""The diagonal by hand: a right angle, two squares, their sum, its root."""

from __future__ import annotations

import math
import random
from fractions import Fraction

from viewer.fit import Placement
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Mark, Point, RightAngle, Ring, Segment
from viewer.lessons.scenes import artwork_of, bare_cup, rectangle
from viewer.lessons.sums import diagonal_lines, digits, needed
from viewer.lessons.texts import Words
from viewer.press import Press

SIZES_MM = ((40, 30), (50, 30))
"""Width and height; the first has a whole number as its diagonal."""
CIRCLE_MM = 55
PAGE_MM = (130.0, 150.0)
CORNER_MM = (40.0, 90.0)
"""Lower left corner of both, with room for the squares on all three sides."""
WHOLE_MM = ((40, 9), (42, 40), (45, 28), (48, 20), (48, 36), (60, 32), (63, 16), (70, 24), (88, 66))
"""Sides whose diagonal is a whole number."""


class Diagonal(Lesson):
    """The longest way through a rectangle, worked out with paper and pencil."""

    number = 4
    key = "diagonal"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """Two rectangles of one height: one goes into the circle, the other does not."""
        return tuple(_scene(words, width, height) for width, height in SIZES_MM)

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Try both."""
        one, other = (scene.name for scene in scenes)
        return words.say("task", circle=CIRCLE_MM, one=one, other=other)

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The diagonal of the first."""
        return _ask(words, "predict", *SIZES_MM[0])

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """The triangle, squares on its sides, the root; a root that is not whole; both again."""
        values: dict[str, str] = {}
        for name, (width, height) in zip(("one", "other"), SIZES_MM, strict=True):
            values |= _values(name, width, height)
        texts = words.lines("steps", **values, circle=CIRCLE_MM)
        first, second = (_Construction(words, *size) for size in SIZES_MM)
        return (
            Step(texts[0], first.triangle),
            Step(texts[1], first.small_squares),
            Step(texts[2], first.large_square),
            Step(texts[3], first.root),
            Step(texts[4], first.ring, starts_over=True),
            Step(texts[5], second.triangle + second.small_squares + second.large_square, scene=1),
            Step(texts[6], scene=1),
            Step(texts[7], second.ring, scene=1, starts_over=True),
            # Back to the one that was asked about: its sum is told here.
            Step(texts[8], first.ring, starts_over=True),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """Other sides."""
        if rng.random() < 0.4:
            return _ask(words, "question", *rng.choice(WHOLE_MM))
        return _ask(words, "question", rng.randrange(20, 100), rng.randrange(12, 61))


class _Construction:
    """The right triangle under the diagonal, and a square on each of its sides."""

    def __init__(self, words: Words, width: int, height: int) -> None:
        x, y = CORNER_MM
        up, right = (x, y - height), (x + width, y)
        diagonal = needed(width**2 + height**2)
        wide, high = (words.say("mm", number=number) for number in (width, height))
        self.triangle: tuple[Mark, ...] = (
            Segment(CORNER_MM, right, wide),
            Segment(CORNER_MM, up, high),
            Segment(up, right),
            RightAngle(CORNER_MM, right, up),
        )
        self.small_squares: tuple[Mark, ...] = (
            Area(_square(CORNER_MM, right), digits(width**2)),
            Area(_square(up, CORNER_MM), digits(height**2)),
        )
        self.large_square: tuple[Mark, ...] = (
            Area(_square(right, up), digits(width**2 + height**2)),
        )
        middle = (x + width / 2.0, y - height / 2.0)
        radius_mm = float(diagonal.exact) / 2.0
        across = words.say("mm", number=digits(_tenths_up(width**2 + height**2)))
        self.root: tuple[Mark, ...] = (Segment(up, right, across),)
        # The middle of the large square lies on the ring: never both at once.
        self.ring: tuple[Mark, ...] = (
            *self.triangle,
            *self.root,
            Ring(middle, radius_mm, style="dashed"),
        )


def _square(a: Point, b: Point) -> tuple[Point, ...]:
    """The square on the side from a to b, to the right of that way as seen."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return (a, b, (b[0] - dy, b[1] + dx), (a[0] - dy, a[1] + dx))


def _scene(words: Words, width: int, height: int) -> Scene:
    name = words.say("size", width=width, height=height)
    middle = (CORNER_MM[0] + width / 2.0, CORNER_MM[1] - height / 2.0)
    part = rectangle(width, height, middle)
    press = Press(cups=(bare_cup(CIRCLE_MM),))
    start = Placement((middle[0] + 9.0, middle[1] + 8.0), 0.0)
    return Scene(artwork_of(name, [part], PAGE_MM), press, start, name=name, parts=(part,))


def _values(name: str, width: int, height: int) -> dict[str, str]:
    """All numbers that the texts use of one of the two, and the trials for its root."""
    a, b = width**2, height**2
    whole, tenths = Fraction(math.isqrt(a + b)), _tenths_up(a + b)
    trials = {
        "whole": whole,
        "next": whole + 1,
        "tenth": tenths - Fraction(1, 10),
        "next_tenth": tenths,
    }
    found = {
        "width": digits(width),
        "height": digits(height),
        "width_square": digits(a),
        "height_square": digits(b),
        "total": digits(a + b),
        "diagonal": needed(a + b).shown(),
    }
    for key, number in trials.items():
        found[key] = digits(number)
        found[f"{key}_square"] = digits(number**2)
    return {f"{name}_{key}": value for key, value in found.items()}


def _tenths_up(square: int) -> Fraction:
    """The root to one decimal, rounded up; the root itself where it is a whole number."""
    return Fraction(math.ceil(needed(square).exact.up() * 10), 10)


def _ask(words: Words, key: str, width: int, height: int) -> Ask:
    text = words.say(key, width=width, height=height)
    corner = (20.0, 100.0)
    right, up = (corner[0] + width, corner[1]), (corner[0], corner[1] - height)
    marks = (
        Segment(corner, right, words.say("mm", number=width)),
        Segment(corner, up, words.say("mm", number=height)),
        Segment(up, right),
        RightAngle(corner, right, up),
    )
    return Ask(text, needed(width**2 + height**2), diagonal_lines(words, width, height), marks)


LESSON = Diagonal()
