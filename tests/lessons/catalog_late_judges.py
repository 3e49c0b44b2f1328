"""Outside judges for lessons 6 to 10, and a person who walks through a lesson."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterator
from functools import cache

import cv2
import numpy as np

from viewer.artwork.model import Points
from viewer.fit import place
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson
from viewer.lessons.texts import load_texts
from viewer.lessons.view import Stage
from viewer.lessons.walk import Walk, begin

TEXTS = load_texts()
SEEDS = 100

INCH_MM = 25.4
"""By definition; W3C CSS Values 3, section 5.2: 1 in = 96 px = 2.54 cm."""
CARD_MM = 85.60
"""ISO/IEC 7810, ID-1: 85.60 x 53.98 mm."""


@cache
def walk_of(lesson: Lesson, given: Given | None = None) -> Walk:
    """The lesson at its beginning; worked out once, since a walk never changes."""
    return begin(lesson, TEXTS, Given() if given is None else given, 5)


def walk_to_the_end(walk: Walk, *, right: bool) -> Iterator[Walk]:
    """Every state on the way, with right or with wrong answers; a wrong one is mended."""
    yield walk
    for number in range(len(walk.course.scenes)):
        walk = _settled(walk.press(f"scene:{number}") if number != walk.scene else walk)
        yield walk
    walk = walk.press("on")
    assert walk.stage is Stage.PREDICT
    yield walk
    walk = walk.enter(answer_text(walk.course.prediction, right=right))
    while walk.stage is Stage.REVEAL:
        yield walk
        is_last = walk.step == len(walk.course.steps)
        walk = walk.press("on" if is_last else "next")
    yield walk
    walk = walk.enter(answer_text(walk.ask, right=right))
    yield walk
    if not right:
        assert walk.wrong == 1 and walk.stage is Stage.CHECK
        walk = walk.press("another")
        walk = walk.enter(answer_text(walk.ask, right=True))
        yield walk


def _settled(walk: Walk) -> Walk:
    """Put the ring where it fits best, or say that it cannot be done."""
    scene = walk.shown_scene
    best = scene.cup_fit.best.settable.placement
    press = scene.press
    placed = place(scene.artwork, press.cups[0], best, press.setup_tolerance_mm, press.limits)
    walk = walk.seen(placed)
    return walk if walk.settled[walk.scene] else walk.press("cannot")


def answer_text(ask: Ask, *, right: bool) -> str:
    """What a person types or chooses."""
    answer = ask.answer
    if isinstance(answer, ChoiceAnswer):
        return str(answer.right if right else (answer.right + 1) % len(answer.options))
    assert isinstance(answer, NumberAnswer)
    value = float(answer.exact) * (-1 if answer.is_negative else 1)
    return f"{value if right else value + 5 + 2 * float(answer.within):.4f}"


@cache
def questions(walk: Walk) -> tuple[Ask, ...]:
    """Questions for so many seeds, each drawn for itself."""
    course = walk.course
    return tuple(
        course.lesson.question(course.words, random.Random(seed), course.scenes)
        for seed in range(SEEDS)
    )


def numbers_in(text: str) -> list[float]:
    """All numbers of a text, in order."""
    return [float(found) for found in re.findall(r"\d+(?:\.\d+)?", text)]


def circle_mm(points: Points) -> float:
    """Diameter of the smallest circle, as OpenCV finds it; float32, so to about 0.001."""
    return 2.0 * float(cv2.minEnclosingCircle(np.asarray(points, dtype=np.float32))[1])


def carver_fits(p: float, q: float, a: float, b: float) -> bool:
    """Whether p x q (p >= q) goes into a x b (a >= b) at some angle.

    Carver, Amer. Math. Monthly 64 (1957) 114-116, as given by Wetzel, Math. Mag. 73 (2000)
    204-211, with ``q <= b``.
    """
    if p <= a:
        return q <= b
    root = math.sqrt(p * p + q * q - a * a)
    return q <= b and b >= (2 * p * q * a + (p * p - q * q) * root) / (p * p + q * q)


def room_at(turn_deg: float, p: float, q: float, a: float, b: float) -> float:
    """Even clearance of p x q in a x b at an angle, the middles coinciding."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return min(a - (p * c + q * s), b - (p * s + q * c)) / 2.0


def best_turn(p: float, q: float, a: float, b: float) -> tuple[float, float]:
    """Best even clearance of p x q in a x b, and its angle, from 0.01 degree to the next.

    The middles coincide: both shapes look the same turned by half a turn.
    """
    angles = np.radians(np.arange(0.0, 90.005, 0.01))
    c, s = np.cos(angles), np.sin(angles)
    room = np.minimum(a - (p * c + q * s), b - (p * s + q * c)) / 2.0
    best = int(np.argmax(room))
    return float(room[best]), float(np.degrees(angles[best]))
