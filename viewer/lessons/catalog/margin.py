"""The margin: the ring is not the limit for ink, the largest image is."""

from __future__ import annotations

import random
from fractions import Fraction

from viewer.fit import Placement
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, disc, disc_uncertainty_mm
from viewer.lessons.texts import Words
from viewer.press import Cup, Margin, Press
from viewer.sizing import max_image_mm, plain
from viewer.sizing.cup_limits import cup_sum
from viewer.sizing.roots import length_of

CUP = Cup("90", 90.0)
LARGE_MM, SMALL_MM = 80, 74
SIZES_MM = (60, 75, 82.5, 90, 100, 110, 130)
RINGS_MM = (2.0, 2.5, 3.0, 4.0)
PERCENTS = (8, 10, 12, 15, 18, 20)
MARGINS_MM = (1.5, 2.0, 3.0, 3.5, 4.0, 5.0)


class MarginLesson(Lesson):
    """Two round images in a 90 cup: both inside the ring, one of them in the margin."""

    number = 6
    key = "margin"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """80 mm, which is too much, and 74 mm."""
        return tuple(_scene(words, size) for size in (LARGE_MM, SMALL_MM))

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Get each of them clear of the margin."""
        return words.say("task", **_values())

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The largest image of this cup."""
        return _largest_image(words, words.say("predict", **_values()), CUP)

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """Named circle, ring, margin, why, the same in mm, and the image that fits."""
        texts = words.lines("steps", **_values())
        label = words.lines("labels", **_values())
        x, y = MIDDLE_MM
        outer, inner, image = (float(size) / 2.0 for size in _circles())
        large, small = LARGE_MM / 2.0, SMALL_MM / 2.0
        image_ring = Ring(MIDDLE_MM, image, style="dashed")
        across = Segment((x - image, y), (x + image, y), label[3], "size")
        above = y - outer - 6.0
        below = Segment((x, y + image), (x, y + outer), label[4], "size")
        return (
            Step(
                texts[0],
                (
                    Ring(MIDDLE_MM, outer),
                    Segment(
                        (x - outer, y + outer + 8), (x + outer, y + outer + 8), label[0], "size"
                    ),
                ),
            ),
            Step(
                texts[1],
                (
                    Ring(MIDDLE_MM, inner),
                    Segment((x - inner, above), (x + inner, above), label[1], "size"),
                    Segment((x, y - outer), (x, y - inner), label[2], "size"),
                ),
            ),
            Step(texts[2], (image_ring, across, below)),
            Step(texts[3]),
            Step(texts[4], (Segment((x - large, y + 8), (x + large, y + 8), label[5], "size"),)),
            Step(
                texts[5],
                (
                    Ring(MIDDLE_MM, inner, label[1]),
                    image_ring,
                    across,
                    Segment((x, y + image), (x, y + inner), label[6], "size"),
                    Segment((x, y - inner), (x, y - image), label[6], "size"),
                ),
                starts_over=True,
            ),
            Step(
                texts[6],
                (image_ring, across, Segment((x, y - image), (x, y - small), label[7], "size")),
                scene=1,
            ),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """Another cup, its margin in percent or in mm."""
        size, ring = rng.choice(SIZES_MM), rng.choice(RINGS_MM)
        if rng.random() < 0.5:
            margin = Margin(rng.choice(PERCENTS) / 100, True)
        else:
            margin = Margin(rng.choice(MARGINS_MM), False)
        cup = Cup(f"{size:g}", float(size), ring, margin)
        key = "question-percent" if margin.is_fraction else "question-mm"
        return _largest_image(words, words.say(key, **_sums(cup)), cup)


def _scene(words: Words, size: int) -> Scene:
    part = disc(size)
    name = words.say("scene", size=size)
    artwork = artwork_of(name, [part], uncertainty_mm=disc_uncertainty_mm(size))
    start = Placement((MIDDLE_MM[0] - 11.0, MIDDLE_MM[1] + 5.0), 0.0)
    return Scene(artwork, Press(cups=(CUP,)), start, name, (part,))


def _circles() -> tuple[Fraction, Fraction, Fraction]:
    """Diameters of the lesson's cup: outside, the ring's inner edge, largest image."""
    image, _, inner = cup_sum(CUP)
    return Fraction(str(CUP.diameter_mm)), inner, image


def _values() -> dict[str, str]:
    outer, inner, image = _circles()
    return {
        **_sums(CUP),
        "large": str(LARGE_MM),
        "small": str(SMALL_MM),
        "each": plain((outer - image) / 2),
        "inside": plain((inner - image) / 2),
        "over": plain((LARGE_MM - image) / 2),
        "spare": plain((image - SMALL_MM) / 2),
    }


def _sums(cup: Cup) -> dict[str, str]:
    """The numbers of a cup's sum. ``margin``: percent or mm, as it is given."""
    image, alone, inner = cup_sum(cup)
    diameter = Fraction(str(cup.diameter_mm))
    value = Fraction(str(cup.margin.value))
    return {
        "cup": plain(diameter),
        "ring": f"{cup.ring_width_mm:g}",
        "margin": plain(value * 100 if cup.margin.is_fraction else value),
        "inner": plain(inner),
        "kept": plain(diameter - alone),
        "alone": plain(alone),
        "largest": plain(image),
    }


def _largest_image(words: Words, text: str, cup: Cup) -> Ask:
    key = "worked-percent" if cup.margin.is_fraction else "worked-mm"
    answer = NumberAnswer(length_of(max_image_mm(cup)), rounding="down")
    return Ask(text, answer, words.lines(key, **_sums(cup)))


LESSON = MarginLesson()
