"""The artwork that is open in the window, as a lesson."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from viewer.artwork.model import Artwork, Outline
from viewer.errors import UsageError
from viewer.fit import Fit, Placement, Verdict, fit_artwork, settled, verdict_words
from viewer.geometry import smallest_enclosing_circle
from viewer.lessons.answers import TENTH, ChoiceAnswer, NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Dot, Mark, Ring, Segment
from viewer.lessons.sums import digits, rounded_line
from viewer.lessons.texts import Words
from viewer.press import Cup
from viewer.sizing import max_image_mm, plain
from viewer.sizing.roots import length_of
from viewer.units import ROUNDING_NOISE, format_down, format_up

CLEAR_MM = 0.3
"""At a percentage that is asked about no cup is nearer to its limit, in diameter, than this."""

_MOST_OPTIONS = 5
_TRIES = 12
_LEAST_PERCENT, _MOST_PERCENT = 5, 5000


class OwnArtwork(Lesson):
    """Longest diagonal, deciding points, smallest circle and cup of a person's own file."""

    number = 10
    key = "own-artwork"
    needs_artwork = True

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """The file as it is measured, on the press as it is set."""
        if given.artwork is None:
            raise UsageError(words.say("no-artwork"))
        artwork, press = given.artwork, given.press
        fit = fit_artwork(artwork, press.cups, press.setup_tolerance_mm, press.limits)
        cup = fit.smallest_cup or fit.cups[-1].cup
        others = tuple(other for other in press.cups if other != cup)
        x, y = fit.datum_mm
        away = fit.smallest_circle.radius / 4.0
        start = settled(artwork, Placement((x + away, y - away), 0.0), press.limits)
        return (Scene(artwork, replace(press, cups=(cup, *others)), start),)

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Place it, or say that it cannot be done."""
        key = "task" if scenes[0].press.limits.is_cup_alone else "task-limits"
        return words.say(key, **_values(scenes[0]))

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The smallest circle, as exactly as the file is known."""
        values = _values(scenes[0])
        found = scenes[0].fit
        answer = _about(found, Fraction(found.smallest_circle.diameter))
        known = answer.within == TENTH
        text = words.say("predict" if known else "predict-unsure", **values)
        return Ask(text, answer, words.lines("worked-predict", **values))

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """Longest diagonal, deciding points, circle, and what the cup takes."""
        scene, values = scenes[0], _values(scenes[0])
        texts = words.lines("steps", **values)
        label = words.lines("labels", **values)
        line, circle = scene.fit.longest_diagonal, scene.fit.smallest_circle
        dots = tuple(
            Dot((float(x), float(y)), str(number))
            for number, (x, y) in enumerate(circle.support, start=1)
        )
        named = Ring(circle.center, circle.radius, label[1], "dashed")
        again: tuple[Mark, ...] = (*dots, replace(named, label=""), _cup_ring(scene, label[2]))
        is_longer = circle.diameter - line.length > 0.01
        return (
            Step(texts[0], (Segment(line.start, line.end, label[0], "size"),)),
            Step(texts[1], dots),
            Step(words.say("circle-longer" if is_longer else "circle-same", **values), (named,)),
            # Two circles of nearly one size: only one of them has room for its label.
            Step(_verdict_text(words, scene, values), again, starts_over=True),
            Step(texts[2]),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """Scaled, with nothing but the cup in the way: which cup takes it still?"""
        fit = _cups_alone(scenes[0])
        found = _random_scaling(rng, fit)
        if found is None:
            return _circle_at(words, fit, rng.randrange(50, 201, 5))
        values = {**_values(scenes[0]), "percent": str(found.percent)}
        options = tuple(
            words.say("option-cup", cup=cup.name, largest=plain(max_image_mm(cup), up=False))
            for cup in found.cups
        )
        answer = ChoiceAnswer((*options, words.say("option-none")), found.right)
        worked = (_scaled_line(words, fit, found.percent), words.say("worked-cup"))
        return Ask(words.say("question", **values), answer, worked)


# --- words --------------------------------------------------------------------------


def _values(scene: Scene) -> dict[str, str]:
    fit, found = scene.fit, scene.cup_fit
    line, circle = fit.longest_diagonal.length, fit.smallest_circle.diameter
    within = _about(fit, Fraction(circle)).within
    return {
        "width": format_up(fit.width_mm, 1),
        "height": format_up(fit.height_mm, 1),
        "cup": found.cup.name,
        "largest": plain(max_image_mm(found.cup), up=False),
        "diagonal": format_up(line, 2),
        "circle": format_up(circle, 2),
        "more": digits(Fraction(format_up(circle, 2)) - Fraction(format_up(line, 2))),
        "contacts": str(len(fit.smallest_circle.support)),
        "within": plain(within, decimals=2),
        "spare": format_down(found.clearance_mm, 2),
        "said": verdict_words(found.verdict, causes=found.causes),
    }


def _verdict_text(words: Words, scene: Scene, values: dict[str, str]) -> str:
    """What the whole press says of it, in the words of the verdict."""
    if scene.is_open:
        return words.say("verdict-open", **values)
    if not scene.can_fit:
        return words.say("verdict-cannot", **values)
    if scene.artwork.alternatives:
        return words.say("verdict-fits-readings", **values)
    key = "verdict-fits" if scene.press.limits.is_cup_alone else "verdict-fits-limits"
    return words.say(key, **values)


def _cup_ring(scene: Scene, label: str) -> Ring:
    """The largest image of the cup: where it fits best, else about the smallest circle."""
    found = scene.cup_fit
    center = found.best.center_mm if scene.can_fit else scene.fit.smallest_circle.center
    return Ring(center, found.cup.max_image_diameter_mm / 2.0, label)


def _about(fit: Fit, diameter: Fraction) -> NumberAnswer:
    """A diameter of which no more is known than the uncertainty of the file allows."""
    unsure_mm = fit.artwork.outline.uncertainty_mm
    if not math.isfinite(unsure_mm):
        unsure_mm = float(diameter) / 2.0
    within = TENTH
    if 2.0 * unsure_mm > float(TENTH) / 4.0:
        within += Fraction(math.ceil(200.0 * unsure_mm), 100)
    # 65.00000000000001 is 65: nobody who types that is to hear that it is too small.
    whole = Fraction(round(diameter * 10**6), 10**6)
    if abs(diameter - whole) <= ROUNDING_NOISE:
        diameter = whole
    return NumberAnswer(length_of(diameter), within=within, rounding="up")


def _circle_at(words: Words, fit: Fit, percent: int) -> Ask:
    """Where no cup can be named: how large the circle gets. Geometry, and no verdict."""
    scaled = _circle_shown(fit) * percent / 100
    answer = _about(fit, scaled)
    answer = replace(answer, within=max(answer.within, answer.within * percent / 100))
    text = words.say("question-circle", percent=str(percent))
    return Ask(text, answer, (_scaled_line(words, fit, percent),))


def _circle_shown(fit: Fit) -> Fraction:
    """The circle as sums with it write it: fine enough to be scaled."""
    return Fraction(format_up(fit.smallest_circle.diameter, 4))


def _scaled_line(words: Words, fit: Fit, percent: int) -> str:
    """Scaled as it is written, so that a learner who recalculates gets the same."""
    circle = _circle_shown(fit)
    answer = NumberAnswer(length_of(circle * percent / 100), rounding="up")
    values = {"circle": digits(circle), "percent": str(percent), "scaled": answer.number()}
    line = words.say("worked-scaled", **values)
    return rounded_line(words, line, None if answer.is_whole_shown else "up")


# --- scaled -------------------------------------------------------------------------


@dataclass(frozen=True)
class Scaling:
    """A percentage, the cups to choose from, and which is right (their number: none is)."""

    percent: int
    cups: tuple[Cup, ...]
    right: int


def _cups_alone(scene: Scene) -> Fit:
    """The fit with the press's cups and nothing else in the way, as at scale 100 %."""
    return fit_artwork(scene.artwork, scene.press.cups, scene.press.setup_tolerance_mm)


def _random_scaling(rng: random.Random, fit: Fit) -> Scaling | None:
    """A percentage that every cup settles clearly; None where there is none, as where
    something forbids to say that any size fits.
    """
    scales = [found.largest_scale for found in fit.cups]
    if any(scale is None for scale in scales):
        return None
    limits = [0.0, *(100.0 * scale for scale in scales if scale is not None)]
    limits[0], last = limits[1] * 0.6, limits[-1] * 1.5
    bands = list(zip(limits, [*limits[1:], last], strict=True))
    rng.shuffle(bands)
    for low, high in bands:
        found = _scaling_between(rng, fit, low, high)
        if found is not None:
            return found
    return None


def _scaling_between(rng: random.Random, fit: Fit, low: float, high: float) -> Scaling | None:
    first = max(_LEAST_PERCENT, math.ceil(low))
    last = min(_MOST_PERCENT, math.floor(high))
    if first > last:
        return None
    percents = rng.sample(range(first, last + 1), min(_TRIES, last + 1 - first))
    return next(filter(None, (scaling_at(fit, percent) for percent in percents)), None)


def scaling_at(fit: Fit, percent: int) -> Scaling | None:
    """What the cups say at a percentage; None where one of them is too near to its limit."""
    artwork = _scaled(fit.artwork, percent / 100)
    cups = [other.cup for other in fit.cups]
    if not _is_clear(artwork, cups):
        return None
    found = fit_artwork(artwork, cups, fit.setup_tolerance_mm)
    if any(other.verdict is Verdict.TOO_CLOSE for other in found.cups):
        return None
    takers = [other.cup for other in found.cups if other.verdict is Verdict.FITS]
    if takers and min(cup.diameter_mm for cup in takers) != takers[0].diameter_mm:
        # One with a wide margin takes less than a smaller one: which is "smallest"?
        return None
    right = cups.index(takers[0]) if takers else len(cups)
    first = max(0, min(right - _MOST_OPTIONS // 2, len(cups) - _MOST_OPTIONS))
    offered = tuple(cups[first : first + _MOST_OPTIONS])
    return Scaling(percent, offered, min(right - first, len(offered)))


def _is_clear(artwork: Artwork, cups: Sequence[Cup]) -> bool:
    """Whether no cup is near to its limit, and every reading says the same of it."""
    sizes_mm = [
        (smallest_enclosing_circle(outline.hull_mm).radius, outline.uncertainty_mm)
        for outline in _outlines(artwork)
    ]
    for cup in cups:
        limit_mm = cup.max_image_diameter_mm / 2.0
        if any(abs(limit_mm - r) < CLEAR_MM / 2.0 + 2.0 * unsure for r, unsure in sizes_mm):
            return False
        if len({r < limit_mm for r, _ in sizes_mm}) > 1:
            return False
    return True


def _outlines(artwork: Artwork) -> list[Outline]:
    readings = [reading.outline for reading in artwork.alternatives]
    return [artwork.outline, *(outline for outline in readings if outline.hull_mm.size)]


def _scaled(artwork: Artwork, factor: float) -> Artwork:
    """The artwork's outlines at another size: all that the cup alone has to know.

    Shrinking is not trusted to lessen the uncertainty, just as in the fit.
    """

    def larger(outline: Outline) -> Outline:
        return Outline(outline.hull_mm * factor, outline.uncertainty_mm * max(1.0, factor))

    return replace(
        artwork,
        outline=larger(artwork.outline),
        alternatives=tuple(
            replace(reading, outline=larger(reading.outline)) for reading in artwork.alternatives
        ),
        specks=(),
    )


LESSON = OwnArtwork()
