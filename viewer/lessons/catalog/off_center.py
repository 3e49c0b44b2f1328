"""Off-centre by 3 mm: what a shift costs, and that its direction matters."""

from __future__ import annotations

import math
import random
from fractions import Fraction

from viewer.artwork.model import Points
from viewer.fit import Placement
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Dot, Mark, Point, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, disc, disc_uncertainty_mm, rectangle
from viewer.lessons.texts import Words
from viewer.press import Angles, Cup, Datum, Hold, Press, PressLimits
from viewer.press.limits import HoldKind
from viewer.sizing import max_image_mm, plain
from viewer.sizing.roots import length_of
from viewer.units import format_down, format_up

CUP = Cup("90", 90.0)
ROUND_MM = 70
BAR_MM = (70, 20)
OFF_MM = 3
LARGEST_MM = ("51", "76.5", "85", "93.5", "110.5")
"""Largest images of cups with the usual margin."""

_SLIDES: tuple[HoldKind, ...] = ("across", "along")
_AWAY_MM = 12.0
"""How far from its best place the ring stands at first."""


class OffCenter(Lesson):
    """A plate that is 3 mm off: a round image, then a bar that is off either way."""

    number = 7
    key = "off-center"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """The ring slides in one direction only, on a line 3 mm beside the middle."""
        badge, bar = disc(ROUND_MM), rectangle(*BAR_MM)
        unsure = disc_uncertainty_mm(ROUND_MM)
        return (
            _scene(words.say("scene-round"), badge, "across", unsure),
            _scene(words.say("scene-across"), bar, "across"),
            _scene(words.say("scene-along"), bar, "along"),
        )

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Get it in although it is off."""
        return words.say("task", **_values())

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """What is left of the round image's clearance."""
        left = _spare() - OFF_MM
        worked = words.lines("worked-predict", **_values())
        return Ask(
            words.say("predict", **_values()),
            NumberAnswer(length_of(left), rounding="down"),
            worked,
        )

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """In the middle, off, why a round image pays in full, and the bar both ways."""
        texts = words.lines("steps", **_values())
        label = words.lines("labels", **_values())
        x, y = MIDDLE_MM
        r, image = ROUND_MM / 2.0, _radius_mm()
        off = _ring_at("across")
        middle = (
            Ring(MIDDLE_MM, image, label[0], "dashed"),
            Segment((x, y - image), (x, y - r), label[1], "size"),
            Segment((x, y + r), (x, y + image), label[1], "size"),
        )
        shifted = (
            Ring(off, image, label[0], "dashed"),
            Segment(MIDDLE_MM, off, label[2], "arrow"),
            Segment((x, off[1] - image), (x, y - r), label[3], "size"),
            Segment((x, y + r), (x, off[1] + image), label[4], "size"),
        )
        return (
            Step(texts[0], middle),
            Step(texts[1], shifted, starts_over=True),
            Step(texts[2]),
            Step(texts[3], _bar_marks("across", words), scene=1),
            Step(texts[4], _bar_marks("along", words), scene=2),
            Step(texts[5], scene=2),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """How far off another round image may be."""
        largest = Fraction(rng.choice(LARGEST_MM))
        size = math.floor(largest) - rng.randint(2, 14)
        room = largest - size
        values = {
            "largest": plain(largest),
            "size": size,
            "room": plain(room),
            "half": plain(room / 2),
        }
        answer = NumberAnswer(length_of(room / 2), rounding="down")
        return Ask(words.say("question", **values), answer, words.lines("worked", **values))


def _scene(name: str, part: Points, slides: HoldKind, uncertainty_mm: float = 0.0) -> Scene:
    """One shape whose datum is 3 mm from its middle; the ring slides ``slides`` only."""
    at = _ring_at(slides)
    limits = PressLimits(hold=Hold(slides), datum=Datum("point", at), angles=Angles("none"))
    away = (_AWAY_MM, 0.0) if slides == "across" else (0.0, _AWAY_MM)
    start = Placement((at[0] + away[0], at[1] + away[1]), 0.0)
    artwork = artwork_of(name, [part], uncertainty_mm=uncertainty_mm)
    return Scene(artwork, Press(cups=(CUP,), limits=limits), start, name, (part,))


def _ring_at(slides: HoldKind) -> Point:
    """Where the ring's middle comes nearest to the middle of the artwork."""
    x, y = MIDDLE_MM
    return (x, y + OFF_MM) if slides == "across" else (x + OFF_MM, y)


def _radius_mm() -> float:
    return float(max_image_mm(CUP)) / 2.0


def _spare() -> Fraction:
    """Clearance of the round image in the middle."""
    return (max_image_mm(CUP) - ROUND_MM) / 2


def _bar_left_mm(slides: HoldKind | None) -> float:
    """Clearance of the bar: in the middle, or 3 mm off beside the line of sliding."""
    at = MIDDLE_MM if slides is None else _ring_at(slides)
    return _radius_mm() - max(math.dist(at, corner) for corner in rectangle(*BAR_MM))


def _bar_marks(slides: HoldKind, words: Words) -> tuple[Mark, ...]:
    """The ring, the shift, and the two corners that are now the farthest."""
    label = words.lines("labels", **_values())
    at = _ring_at(slides)
    corners = [(float(x), float(y)) for x, y in rectangle(*BAR_MM)]
    far = sorted(corners, key=lambda corner: -math.dist(at, corner))[:2]
    reach = label[5] if slides == "across" else label[6]
    return (
        Ring(at, _radius_mm(), label[0], "dashed"),
        Segment(MIDDLE_MM, at, label[2], "arrow"),
        Segment(at, far[0], reach, "size"),
        *(Dot(corner) for corner in far),
    )


def _values() -> dict[str, str]:
    largest, spare = max_image_mm(CUP), _spare()
    left = {kind: _bar_left_mm(kind) for kind in _SLIDES}
    reach = {kind: _radius_mm() - left[kind] for kind in _SLIDES}
    spare_mm = format_down(_bar_left_mm(None), 2)
    # Of the numbers that are shown, so that a learner who recalculates gets the same.
    cost = {kind: Fraction(spare_mm) - Fraction(format_down(left[kind], 2)) for kind in _SLIDES}
    return {
        "cup": CUP.name,
        "largest": plain(largest),
        "size": str(ROUND_MM),
        "off": str(OFF_MM),
        "room": plain(largest - ROUND_MM),
        "spare": plain(spare),
        "left": plain(spare - OFF_MM),
        "far": plain(spare + OFF_MM),
        "bar": f"{BAR_MM[0]} x {BAR_MM[1]}",
        "radius": plain(largest / 2),
        "bar_spare": spare_mm,
        "bar_left": format_down(left["across"], 2),
        "bar_short": format_up(-left["along"], 2),
        "cost_across": plain(cost["across"]),
        "cost_along": plain(cost["along"]),
        "reach_across": format_up(reach["across"], 2),
        "reach_along": format_up(reach["along"], 2),
    }


LESSON = OffCenter()
