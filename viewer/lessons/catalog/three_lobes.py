"""The longest diagonal is not the whole story: one diagonal, two circles."""

from __future__ import annotations

import math
import random
from fractions import Fraction

from viewer.fit import Placement
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Dot, Mark, Point, RightAngle, Ring, Segment
from viewer.lessons.scenes import (
    MIDDLE_MM,
    artwork_of,
    bare_cup,
    disc,
    disc_uncertainty_mm,
    three_lobes,
    three_lobes_corners,
    three_lobes_uncertainty_mm,
)
from viewer.lessons.sums import digits, needed, root_of_square, rounded_line, shown_up, squared
from viewer.lessons.texts import Words
from viewer.press import Press
from viewer.sizing import Grade, SizeQuery, circle_range, decimal_down, exact_measure, grade

WIDTH_MM = 60
CIRCLE_MM = 65
GRADES = (Grade.FITS, Grade.DEPENDS, Grade.CANNOT)
"""In the order of the answers to choose from."""
CLEAR_MM = 1
"""No question is asked whose numbers lie nearer than this to where the answer changes."""


class ThreeLobes(Lesson):
    """A round float and a rounded triangle, both 60 mm every way they are measured."""

    number = 5
    key = "three-lobes"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """The round one first: it goes in."""
        round_one = artwork_of(
            words.say("name-round"),
            [disc(WIDTH_MM)],
            uncertainty_mm=disc_uncertainty_mm(WIDTH_MM),
        )
        lobes = artwork_of(
            words.say("name-lobes"),
            [three_lobes(WIDTH_MM)],
            uncertainty_mm=three_lobes_uncertainty_mm(WIDTH_MM),
        )
        press = Press(cups=(bare_cup(CIRCLE_MM),))
        start = Placement((MIDDLE_MM[0] + 9.0, MIDDLE_MM[1] + 6.0), 0.0)
        return (
            Scene(round_one, press, start, round_one.path, (disc(WIDTH_MM),)),
            Scene(lobes, press, start, lobes.path, (three_lobes(WIDTH_MM),)),
        )

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Try both."""
        return words.say("task", width=WIDTH_MM, circle=CIRCLE_MM)

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The circle that the three-lobed one needs."""
        text = words.say("predict", width=WIDTH_MM)
        return Ask(text, _sure(WIDTH_MM), _sure_lines(words, WIDTH_MM))

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """60 every way; three corners; a circle through them; its size from right triangles."""
        half = WIDTH_MM // 2
        texts = words.lines(
            "steps",
            width=WIDTH_MM,
            half=half,
            half_square=half**2,
            radius_square=digits(Fraction(4 * half**2, 3)),
            whole_square=digits(Fraction(16 * half**2, 3)),
            circle=_sure(WIDTH_MM).shown(),
            factor=decimal_down(needed(Fraction(4, 3)).exact.down() + Fraction(1, 20000), 4),
        )
        size = words.say("mm", number=WIDTH_MM)
        marks = _Construction(words)
        x, y = MIDDLE_MM
        across = Segment((x - half, y), (x + half, y), size, "size")
        return (
            Step(texts[0], (across,), scene=0),
            Step(texts[1], marks.widths, scene=1),
            Step(texts[2], marks.triangle, scene=1, starts_over=True),
            Step(texts[3], marks.circle, scene=1),
            Step(texts[4], marks.sixth, scene=1),
            Step(texts[5], marks.right_triangle, scene=1),
            Step(texts[6], scene=1),
            Step(texts[7], marks.result, scene=1, starts_over=True),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """Now and then the circle that is surely enough; else what a cup and a diagonal say."""
        diagonal = rng.randrange(36, 91)
        if rng.random() < 0.4:
            text = words.say("question-sure", diagonal=diagonal)
            return Ask(text, _sure(diagonal), _sure_lines(words, diagonal))
        return _grade_question(words, diagonal, _clear_circle(rng, diagonal))


class _Construction:
    """What is drawn into the rounded triangle. Angles run clockwise as seen; y runs down."""

    def __init__(self, words: Words) -> None:
        answer = _sure(WIDTH_MM)
        radius_mm = float(answer.exact) / 2.0
        corners = three_lobes_corners(WIDTH_MM)
        top, right, left = corners
        x, y = MIDDLE_MM
        below = (x, y + radius_mm)
        foot = (x, y + radius_mm / 2.0)
        width, half = (words.say("mm", number=n) for n in (WIDTH_MM, WIDTH_MM // 2))
        r, half_r = words.say("label-r"), words.say("label-half-r")
        self.widths: tuple[Mark, ...] = tuple(
            Segment(corner, _across(corner), width if corner == top else "", "size")
            for corner in corners
        )
        self.triangle: tuple[Mark, ...] = (
            Area(corners),
            Segment(left, top, width),
            *(Dot(corner) for corner in corners),
        )
        self.circle: tuple[Mark, ...] = (Ring(MIDDLE_MM, radius_mm, style="dashed"), Dot(MIDDLE_MM))
        self.sixth: tuple[Mark, ...] = (
            Segment(MIDDLE_MM, right, r),
            Segment(right, below, r),
            Segment(MIDDLE_MM, below),
        )
        self.right_triangle: tuple[Mark, ...] = (
            Area((MIDDLE_MM, right, foot)),
            Segment(MIDDLE_MM, foot, half_r),
            Segment(foot, right, half),
            RightAngle(foot, MIDDLE_MM, right),
        )
        self.result: tuple[Mark, ...] = (
            Ring(MIDDLE_MM, radius_mm, style="dashed"),
            Segment((x - radius_mm, y), (x + radius_mm, y), answer.shown(), "size"),
            *(Dot(corner) for corner in corners),
        )


def _across(corner: Point) -> Point:
    """The middle of the arc across from a corner."""
    dx, dy = MIDDLE_MM[0] - corner[0], MIDDLE_MM[1] - corner[1]
    length = math.hypot(dx, dy)
    return (corner[0] + dx / length * WIDTH_MM, corner[1] + dy / length * WIDTH_MM)


def _sure(diagonal: int) -> NumberAnswer:
    """The circle that holds any shape of this longest diagonal: 2 / root 3 times it."""
    return needed(Fraction(4 * diagonal**2, 3))


def _sure_lines(words: Words, diagonal: int) -> tuple[str, ...]:
    square = diagonal**2
    enlarged = shown_up(Fraction(4 * square, 3))
    line = words.say("four-thirds", square=digits(square), enlarged=digits(enlarged))
    return (
        squared(words, diagonal),
        rounded_line(words, line, None if enlarged * 3 == 4 * square else "up"),
        root_of_square(words, enlarged, _sure(diagonal)),
    )


def _clear_circle(rng: random.Random, diagonal: int) -> int:
    """A cup's largest image with a clear answer, each answer as likely."""
    sure = _sure(diagonal).exact
    wanted = rng.choice(GRADES)
    while True:
        circle = rng.randrange(diagonal * 3 // 4, diagonal * 3 // 2)
        low, high = Fraction(circle - CLEAR_MM), Fraction(circle + CLEAR_MM)
        is_clear = sure.is_at_most(low) or (not sure.is_at_most(high) and low >= diagonal)
        if (is_clear or high <= diagonal) and _graded(diagonal, circle) is wanted:
            return circle


def _graded(diagonal: int, circle: int) -> Grade:
    """What the diagonal alone says, as `brimcheck size` would."""
    query = SizeQuery(diagonal=exact_measure(diagonal))
    return grade(circle_range(query), Fraction(circle))


def _grade_question(words: Words, diagonal: int, circle: int) -> Ask:
    found = _graded(diagonal, circle)
    options = tuple(words.say(f"option-{kind.value}") for kind in GRADES)
    values = {"diagonal": diagonal, "circle": circle, "sure": _sure(diagonal).shown()}
    worked = () if found is Grade.CANNOT else _sure_lines(words, diagonal)
    return Ask(
        words.say("question-grade", **values),
        ChoiceAnswer(options, GRADES.index(found)),
        (*worked, words.say(f"worked-{found.value}", **values)),
    )


LESSON = ThreeLobes()
