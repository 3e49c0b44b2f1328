"""Scale traps: pixels are no size until somebody says how many make an inch."""

from __future__ import annotations

import random
from fractions import Fraction

from viewer.artwork.model import Points
from viewer.fit import Placement
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.marks import Area, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, rectangle
from viewer.lessons.sums import rounded_line
from viewer.lessons.texts import Words
from viewer.press import Cup, Press
from viewer.sizing import max_image_mm, plain
from viewer.sizing.roots import length_of

CUP = Cup("90", 90.0)
INCH_MM = Fraction(254, 10)
"""Exactly, by definition."""
STANDARD, OTHER = 96, 72
"""Pixels per inch: by the standard (CSS Values, section 5.2), and as some programs mean it."""
FLAG_PX = (216, 162)
DIAGONAL_PX = 270
STRIPES = 3
PREDICT_PX = 300
CARD_MM = Fraction(856, 10)
"""Width of a card of bank-card size (ISO/IEC 7810, ID-1)."""

DPIS = (150, 200, 300, 400, 600)
CHOICES = ("known", "unknown")
KINDS = ("standard", "other", "scan", "card", *CHOICES)


class ScaleTraps(Lesson):
    """One flag, drawn in pixels, read in two ways."""

    number = 9
    key = "scale-traps"

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """At 96 and at 72 px per inch."""
        return tuple(_scene(words, per_inch) for per_inch in (STANDARD, OTHER))

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """Get both in, if that can be done."""
        return words.say("task", **_values())

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """The width of a drawing of 300 px at 72 per inch."""
        text = words.say("predict", px=PREDICT_PX, per_inch=OTHER)
        return _width(words, text, PREDICT_PX, OTHER)

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """The standard, the other reading, what that does to the fit, and what to ask."""
        texts = words.lines("steps", **_values())
        label = words.lines("labels", **_values())
        largest = float(max_image_mm(CUP)) / 2.0
        small, large = (_flag_size(per_inch) for per_inch in (STANDARD, OTHER))
        corners = rectangle(*large)
        within = tuple((float(x), float(y)) for x, y in rectangle(*small))
        return (
            Step(texts[0], (_width_mark(small, label[0]),)),
            Step(texts[1], (_width_mark(large, label[1]), Area(within)), scene=1),
            Step(
                texts[2],
                (
                    Segment(_point(corners[0]), _point(corners[2]), label[2], "size"),
                    Ring(MIDDLE_MM, largest, label[3], "dashed"),
                ),
                scene=1,
            ),
            Step(texts[3], scene=1),
            Step(texts[4], scene=1),
        )

    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """A drawing or a scan, now and then one of which nothing can be known."""
        kind = rng.choice(KINDS)
        if kind in CHOICES:
            return _choice(words, rng, is_known=kind == "known")
        if kind == "card":
            return _beside_card(words, rng)
        per_inch = {"standard": STANDARD, "other": OTHER}.get(kind) or rng.choice(DPIS)
        px = rng.randrange(120, 601, 6) if per_inch < 100 else rng.randrange(300, 1801, 10)
        return _width(words, words.say(f"question-{kind}", px=px, per_inch=per_inch), px, per_inch)


def mm_of_px(px: int, per_inch: int) -> Fraction:
    """So many pixels in mm, exactly."""
    return px * INCH_MM / per_inch


def _width(words: Words, text: str, px: int, per_inch: int) -> Ask:
    width = mm_of_px(px, per_inch)
    return Ask(text, NumberAnswer(length_of(width)), (_width_line(words, px, per_inch),))


def _width_line(words: Words, px: int, per_inch: int) -> str:
    width = mm_of_px(px, per_inch)
    line = words.say("worked", px=px, per_inch=per_inch, width=_shown(width))
    return _with_rounding(words, line, width)


def _with_rounding(words: Words, line: str, width: Fraction) -> str:
    is_exact = NumberAnswer(length_of(width)).is_whole_shown
    return rounded_line(words, line, None if is_exact else "nearest")


def _beside_card(words: Words, rng: random.Random) -> Ask:
    """A scan that shows something of known size as well."""
    card_px = rng.randrange(400, 1601, 10)
    px = card_px * rng.randint(30, 150) // 100
    width = px * CARD_MM / card_px
    values = {"card_px": card_px, "px": px, "card": plain(CARD_MM), "width": _shown(width)}
    line = _with_rounding(words, words.say("worked-card", **values), width)
    worked = (words.say("worked-card-px", **values), line)
    return Ask(words.say("question-card", **values), NumberAnswer(length_of(width)), worked)


def _choice(words: Words, rng: random.Random, *, is_known: bool) -> Ask:
    """How wide is it? Three sizes, and that it cannot be known."""
    px, per_inch = rng.randrange(300, 1801, 10), rng.choice(DPIS)
    others = rng.sample([dpi for dpi in DPIS if dpi != per_inch], 2)
    widths = sorted(mm_of_px(px, dpi) for dpi in (per_inch, *others))
    sizes = [words.say("option-size", width=_shown(width)) for width in widths]
    right = widths.index(mm_of_px(px, per_inch)) if is_known else len(sizes)
    kind = "known" if is_known else "unknown"
    values = {"px": px, "per_inch": per_inch}
    worked = words.lines("worked-unknown", **values)
    if is_known:
        worked = (_width_line(words, px, per_inch),)
    options = (*sizes, words.say("option-unknown"))
    return Ask(words.say(f"question-{kind}", **values), ChoiceAnswer(options, right), worked)


def _shown(width: Fraction) -> str:
    """A width as it is written in an answer."""
    return NumberAnswer(length_of(width)).number()


# --- the flag -------------------------------------------------------------------------


def _flag_size(per_inch: int) -> tuple[float, float]:
    width, height = (float(mm_of_px(px, per_inch)) for px in FLAG_PX)
    return width, height


def _flag(size: tuple[float, float]) -> tuple[Points, ...]:
    """Upright stripes, as wide as the gaps between them; together as large as the box."""
    stripe = size[0] / (2 * STRIPES - 1)
    left = MIDDLE_MM[0] - (size[0] - stripe) / 2.0
    return tuple(
        rectangle(stripe, size[1], (left + 2 * number * stripe, MIDDLE_MM[1]))
        for number in range(STRIPES)
    )


def _scene(words: Words, per_inch: int) -> Scene:
    parts = _flag(_flag_size(per_inch))
    name = words.say("scene", per_inch=per_inch)
    start = Placement((MIDDLE_MM[0] - 10.0, MIDDLE_MM[1] - 4.0), 0.0)
    return Scene(artwork_of(name, parts), Press(cups=(CUP,)), start, name, parts)


def _width_mark(size: tuple[float, float], label: str) -> Segment:
    x, y = MIDDLE_MM
    below = y + size[1] / 2.0 + 4.0
    return Segment((x - size[0] / 2.0, below), (x + size[0] / 2.0, below), label, "size")


def _point(point: Points) -> tuple[float, float]:
    return (float(point[0]), float(point[1]))


def _values() -> dict[str, str]:
    return {
        "cup": CUP.name,
        "px": str(FLAG_PX[0]),
        "flag": "{} x {}".format(*FLAG_PX),
        "standard": str(STANDARD),
        "other": str(OTHER),
        "small": _shown(mm_of_px(FLAG_PX[0], STANDARD)),
        "large": _shown(mm_of_px(FLAG_PX[0], OTHER)),
        "small_diagonal": _shown(mm_of_px(DIAGONAL_PX, STANDARD)),
        "large_diagonal": _shown(mm_of_px(DIAGONAL_PX, OTHER)),
        "largest": plain(max_image_mm(CUP)),
        "card": plain(CARD_MM),
    }


LESSON = ScaleTraps()
