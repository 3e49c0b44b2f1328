"""Turning the square: its corners run along the same circle, so no angle helps."""

from __future__ import annotations

import random

from viewer.fit import Placement, fit_artwork
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Dot, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, bare_cup, points_of, rectangle, turned
from viewer.lessons.sums import diagonal_lines, needed
from viewer.lessons.texts import Words
from viewer.press import Press
from viewer.units import format_up

SIDE_MM = 60
CIRCLE_MM = 80
ANGLES_DEG = (20, 45)
"""The angles that are drawn; the second one is asked for."""
WHOLE_MM = ((24, 7), (36, 15), (40, 30), (48, 14), (56, 33), (60, 25), (60, 45), (72, 30), (80, 39))
"""Sides whose diagonal is a whole number."""


class Turning(Lesson):
    """The square of the first lesson, a circle that nearly takes it, and all angles."""

    number = 2
    key = "turning"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """One square; the ring leaves much room at the sides and none at the corners."""
        part = rectangle(SIDE_MM, SIDE_MM)
        artwork = artwork_of(words.say("title"), [part])
        start = Placement((MIDDLE_MM[0] - 8.0, MIDDLE_MM[1] + 5.0), 0.0)
        return (Scene(artwork, Press(cups=(bare_cup(CIRCLE_MM),)), start, parts=(part,)),)

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Drag and turn it in, or say that it cannot be done."""
        return words.say("task", side=SIDE_MM, circle=CIRCLE_MM)

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The circle that it needs when turned."""
        answer = needed(2 * SIDE_MM**2)
        text = words.say("predict", side=SIDE_MM, angle=ANGLES_DEG[1], needed=answer.shown())
        return Ask(text, answer, _same_lines(words, SIDE_MM, SIDE_MM))

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """A corner's way from the middle, its circle, and the square turned twice."""
        scene = scenes[0]
        diagonal, half = needed(2 * SIDE_MM**2), needed(2 * (SIDE_MM // 2) ** 2)
        first, second = ANGLES_DEG
        texts = words.lines(
            "steps",
            half=half.shown(),
            diagonal=diagonal.shown(),
            first=first,
            second=second,
            unturned_mm=_missing(scene, 0),
            first_mm=_missing(scene, first),
            second_mm=_missing(scene, second),
        )
        corner = points_of(scene.parts[0])[1]
        ring = Ring(MIDDLE_MM, float(half.exact), diagonal.shown(), "dashed")
        return (
            Step(texts[0], (Dot(MIDDLE_MM), Segment(MIDDLE_MM, corner, half.shown()))),
            Step(texts[1], (ring,)),
            Step(texts[2], (Area(points_of(turned(scene.parts[0], first))),)),
            Step(texts[3], (Area(points_of(turned(scene.parts[0], second))),)),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """A rectangle at any angle: the angle plays no part."""
        angle = rng.randrange(5, 86)
        if rng.random() < 0.4:
            width, height = rng.choice(WHOLE_MM)
        else:
            width, height = rng.randrange(30, 91), rng.randrange(12, 61)
        answer = needed(width**2 + height**2)
        text = words.say("question", width=width, height=height, angle=angle)
        corners = points_of(turned(rectangle(width, height), angle))
        marks = (Area(corners), Ring(MIDDLE_MM, float(answer.exact) / 2.0, style="dashed"))
        return Ask(text, answer, _same_lines(words, width, height), marks)


def _missing(scene: Scene, angle_deg: int) -> str:
    """How far the corners stand out at the best place, turned by an angle. Measured anew."""
    artwork = artwork_of("turned", [turned(part, angle_deg) for part in scene.parts])
    found = fit_artwork(artwork, scene.press.cups).cups[0]
    return format_up(-found.clearance_mm)


def _same_lines(words: Words, width: int, height: int) -> tuple[str, ...]:
    return (words.say("no-angle"), *diagonal_lines(words, width, height))


LESSON = Turning()
