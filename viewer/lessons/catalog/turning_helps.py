"""Where turning does help: an etch area, and a pad that is longer one way."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from viewer.artwork.model import Points
from viewer.fit import Placement, fit_artwork
from viewer.fit.model import CupFit
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Dot, Mark, Point, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, bare_cup, rectangle, turned
from viewer.lessons.texts import Words
from viewer.press import Cup, EtchArea, Pad, Press, PressLimits
from viewer.sizing import Root, decimal_down, decimal_up, plain
from viewer.sizing.roots import length_of, root_of
from viewer.units import format_down, format_up

CUP = Cup("130", 130.0)
BAR_MM, ETCH_MM = (100, 10), (90, 72)
CARD_MM, SMALL_ETCH_MM = (90, 40), (80, 60)
STRIP_MM, PAD_MM = (80, 20), (60, 100)

CLEAR_MM = 0.3
"""No question is nearer to its limit than this."""
UNTURNED, TURNED, NEVER = range(3)

_WIDE_CUP = bare_cup(400.0)
_MOST_TRIES = 400
_OVAL_SIDES = 120
_BESIDE_MM = 2.5


class TurningHelps(Lesson):
    """A bar that goes in on the slant, a card that never does, a strip on an oval pad."""

    number = 8
    key = "turning-helps"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """Two etch areas and a pad, in a cup that is large enough for all of them."""
        pad = Pad("oval", *PAD_MM)
        return (
            _scene(words.say("scene-bar"), BAR_MM, PressLimits(etch=EtchArea(*ETCH_MM))),
            _scene(words.say("scene-card"), CARD_MM, PressLimits(etch=EtchArea(*SMALL_ETCH_MM))),
            _scene(words.say("scene-strip"), STRIP_MM, PressLimits(pad=pad)),
        )

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Drag and turn."""
        return words.say("task", **_values(scenes))

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The best angle of the bar, as the search proves it."""
        values = _values(scenes)
        # The bar and the etch area look the same from the other side: one sign is enough.
        angle = abs(Fraction(scenes[0].cup_fit.best.turn_deg))
        answer = NumberAnswer(length_of(angle), "deg", Fraction(1))
        return Ask(words.say("predict", **values), answer, words.lines("worked-predict", **values))

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """Straight, the slant, turned, the round cup; then the card and the strip."""
        values = _values(scenes)
        texts = words.lines("steps", **values)
        label = words.lines("labels", **values)
        bar, card, strip = scenes
        etch, small = rectangle(*ETCH_MM), rectangle(*SMALL_ETCH_MM)
        pad = _area_marks(_oval(), PAD_MM, 0.0, label[6])
        straight = Placement(MIDDLE_MM, 0.0)
        circle = Ring(MIDDLE_MM, math.hypot(*BAR_MM) / 2.0, label[4], "dashed")
        return (
            Step(texts[0], _straight_marks(label), placement=straight),
            Step(texts[1], (_slant_mark(label),), placement=straight),
            Step(texts[2], _turned_marks(bar, etch, ETCH_MM, label[0]), starts_over=True),
            Step(texts[3]),
            Step(texts[4], (circle,)),
            Step(texts[5], _turned_marks(card, small, SMALL_ETCH_MM, label[5]), scene=1),
            Step(texts[6], pad, scene=2, placement=straight),
            Step(
                texts[7],
                _turned_marks(strip, _oval(), PAD_MM, label[6]),
                scene=2,
                starts_over=True,
            ),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """Another bar and another etch area: straight, turned, or never?"""
        tried = _random_trial(rng, rng.choice((UNTURNED, TURNED, NEVER)))
        options = words.lines("options")
        return Ask(
            words.say("question", **tried.values()),
            ChoiceAnswer(options, tried.outcome),
            (_worked(words, tried),),
        )


@dataclass(frozen=True)
class Trial:
    """A bar and an etch area, mm, and what the fit says about them in a wide cup."""

    bar: tuple[int, int]
    window: tuple[int, int]
    fit: CupFit

    @property
    def outcome(self) -> int:
        """Which of the options is right."""
        if self.fit.unturned_clearance_mm >= 0:
            return UNTURNED
        return TURNED if self.fit.clearance_mm >= 0 else NEVER

    @property
    def is_clear(self) -> bool:
        """Whether neither answer hangs on less than ``CLEAR_MM``."""
        found = (self.fit.unturned_clearance_mm, self.fit.clearance_mm)
        return all(abs(clearance) >= CLEAR_MM for clearance in found)

    def values(self) -> dict[str, str]:
        """What the texts ask for; what is left at an angle is left at the angle as written."""
        return {
            "bar": "{} x {}".format(*self.bar),
            "window": "{} x {}".format(*self.window),
            "straight": format_down(round(self.fit.unturned_clearance_mm, 6), 2),
            "turn": _degrees(self.fit.best.settable.turn_deg),
            "left": format_down(round(self.fit.best.settable.clearance_mm, 6), 2),
            "short": format_up(round(-self.fit.best.settable.clearance_mm, 6), 2),
        }


def _worked(words: Words, tried: Trial) -> str:
    values = tried.values()
    if tried.outcome == NEVER and values["turn"] == "0":
        return words.say("worked-straight", **values)
    return words.lines("worked", **values)[tried.outcome]


def _random_trial(rng: random.Random, wanted: int) -> Trial:
    """Numbers with the outcome wanted; any clear outcome where they do not turn up."""
    found = None
    for _ in range(_MOST_TRIES):
        a = rng.randint(60, 110)
        b = rng.randint(a // 2, a - 5)
        if wanted == UNTURNED:
            p, q = a - rng.randint(2, 12), b - rng.randint(2, 12)
        else:
            p = a + rng.randint(2, 14)
            q = rng.randint(5, 20) if wanted == TURNED else rng.randint(12, b - 2)
        if q < 4 or q > p:
            continue
        tried = trial((p, q), (a, b))
        if tried.is_clear:
            found = tried
            if tried.outcome == wanted:
                return tried
    assert found is not None
    return found


def trial(bar: tuple[int, int], window: tuple[int, int]) -> Trial:
    """Judge a bar in an etch area with nothing else in the way. Sizes in mm."""
    artwork = artwork_of("question", [rectangle(*bar)])
    limits = PressLimits(etch=EtchArea(*window))
    return Trial(bar, window, fit_artwork(artwork, (_WIDE_CUP,), limits=limits).cups[0])


# --- the scenes -----------------------------------------------------------------------


def _scene(name: str, size: tuple[int, int], limits: PressLimits) -> Scene:
    part = rectangle(*size)
    start = Placement((MIDDLE_MM[0] + 8.0, MIDDLE_MM[1] - 5.0), 0.0)
    return Scene(artwork_of(name, [part]), Press(cups=(CUP,), limits=limits), start, name, (part,))


def _values(scenes: tuple[Scene, ...]) -> dict[str, str]:
    bar, _, strip = (scene.cup_fit for scene in scenes)
    return {
        "bar": "{} x {}".format(*BAR_MM),
        "length": str(BAR_MM[0]),
        "etch": "{} x {}".format(*ETCH_MM),
        "width": str(ETCH_MM[0]),
        "out": plain(Fraction(BAR_MM[0] - ETCH_MM[0], 2)),
        "slant": decimal_down(_diagonal(ETCH_MM).down()),
        "turn": _degrees(bar.best.settable.turn_deg),
        "left": format_down(bar.best.settable.clearance_mm, 2),
        "circle": decimal_up(_diagonal(BAR_MM).up()),
        "card": "{} x {}".format(*CARD_MM),
        "card_diagonal": decimal_up(_diagonal(CARD_MM).up()),
        "small": "{} x {}".format(*SMALL_ETCH_MM),
        "small_diagonal": plain(_diagonal(SMALL_ETCH_MM).down(), up=False),
        "short": plain(Fraction(CARD_MM[0] - SMALL_ETCH_MM[0], 2)),
        "strip": "{} x {}".format(*STRIP_MM),
        "pad": "{} x {}".format(*PAD_MM),
        "strip_length": str(STRIP_MM[0]),
        "pad_width": str(PAD_MM[0]),
        "pad_turn": _degrees(strip.best.settable.turn_deg),
        "pad_left": format_down(strip.best.settable.clearance_mm, 2),
    }


def _degrees(turn_deg: float) -> str:
    """A settable angle, in tenths, to either side."""
    return f"{abs(turn_deg):.1f}".removesuffix(".0")


def _diagonal(size: tuple[int, int]) -> Root:
    return root_of(Fraction(size[0] ** 2 + size[1] ** 2))


# --- what is drawn ----------------------------------------------------------------------


def _straight_marks(label: tuple[str, ...]) -> tuple[Mark, ...]:
    """The etch area as it is at first, and the bar that sticks out of it."""
    x, y = MIDDLE_MM
    length, width = BAR_MM[0] / 2.0, ETCH_MM[0] / 2.0
    below = y + BAR_MM[1] / 2.0 + 5.0
    return (
        *_area_marks(rectangle(*ETCH_MM), ETCH_MM, 0.0, label[0]),
        Segment((x - length, below), (x + length, below), label[1], "size"),
        Segment((x + width, y), (x + length, y), label[2], "size"),
    )


def _slant_mark(label: tuple[str, ...]) -> Segment:
    corners = rectangle(*ETCH_MM)
    return Segment(_point(corners[3]), _point(corners[1]), label[3], "size")


def _turned_marks(
    scene: Scene, area: Points, size: tuple[int, int], label: str
) -> tuple[Mark, ...]:
    """The area as it stands over the artwork at the best placement, and the artwork's corners.

    The artwork keeps still on the page, so the area is turned the other way.
    """
    found = scene.cup_fit
    dots = tuple(Dot(_point(corner)) for corner in scene.parts[0])
    return (*_area_marks(area, size, found.best.turn_deg, label, found.best.center_mm), *dots)


def _area_marks(
    area: Points,
    size: tuple[int, int],
    turn_deg: float,
    label: str,
    center: Point = MIDDLE_MM,
) -> tuple[Mark, ...]:
    """An area under artwork turned by so much, and its longer side as a dimension beside it."""
    w, h = size[0] / 2.0, size[1] / 2.0
    side = [(-w, h + _BESIDE_MM), (w, h + _BESIDE_MM)]
    if h > w:
        side = [(w + _BESIDE_MM, h), (w + _BESIDE_MM, -h)]
    moved = turned(np.concatenate([area, np.add(side, MIDDLE_MM)]), -turn_deg)
    points = [_point(point) for point in moved + np.subtract(center, MIDDLE_MM)]
    return (Area(tuple(points[:-2])), Segment(points[-2], points[-1], label, "size"))


def _oval() -> Points:
    angles = np.arange(_OVAL_SIDES) * (2.0 * math.pi / _OVAL_SIDES)
    axes = np.array(PAD_MM) / 2.0
    found: Points = np.stack([np.cos(angles), np.sin(angles)], axis=1) * axes + MIDDLE_MM
    return found


def _point(point: Points) -> Point:
    return (float(point[0]), float(point[1]))


LESSON = TurningHelps()
