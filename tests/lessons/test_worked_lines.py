"""Every equals sign that a learner reads: exact by fractions, or it says how it was rounded."""

from __future__ import annotations

import random
import re
from fractions import Fraction

import pytest

from tests.lessons.walking import blocked, started
from viewer.artwork.model import Artwork
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Lesson
from viewer.lessons.scenes import artwork_of, rectangle

LESSONS = pytest.mark.parametrize("lesson", all_lessons(), ids=lambda lesson: lesson.key)
OWN = next(lesson for lesson in all_lessons() if lesson.needs_artwork)
SEEDS = 100

_SUM = r"[\d(][\d.x/+\u2212() ]*"
_CLAUSE = re.compile(
    rf"(?P<root>root of )?(?P<sums>{_SUM}(?:= {_SUM})+)(?:mm)?(?P<said>, rounded(?: up| down)?)?"
)
_LESS = re.compile(rf"({_SUM})less ({_SUM})(?:is|leaves) ([\d.]+)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def value_of(text: str) -> Fraction:
    """A sum with the usual order of operations: numbers, x, /, +, true minus, brackets."""
    plain = text.strip().rstrip(".")
    assert re.fullmatch(r"[\d.x/+\u2212() ]+", plain), text
    made = _NUMBER.sub(lambda found: f"Fraction('{found[0]}')", plain)
    found = eval(made.replace("x", "*").replace("\u2212", "-"), {"Fraction": Fraction})
    assert isinstance(found, Fraction)
    return found


def check(text: str, r_square: Fraction | None = None) -> int:
    """How many equals signs stand in a text; every one of them is true.

    ``r_square``: what r times r is, where a side is called r.
    """
    text = text.replace("\u00a0", " ")
    if r_square is not None:
        text = text.replace("2 r x 2 r", f"4 x {r_square}").replace("r x r", f"{r_square}")
    seen = 0
    for found in _CLAUSE.finditer(text):
        first, *others = found["sums"].split(" = ")
        seen += len(others)
        *between, last = others
        for other in between:
            assert not found["root"] and value_of(other) == value_of(first), text
        check_last(value_of(first), last, bool(found["root"]), found["said"] or "", text)
    assert seen == text.count("="), f"an equals sign that nobody has checked: {text}"
    for one, other, left in _LESS.findall(text):
        assert value_of(one) - value_of(other) == value_of(left), text
    return seen


def check_last(truth: Fraction, written: str, is_root: bool, said: str, text: str) -> None:
    """The result against the sum, or against the number that it is the root of."""
    shown = value_of(written)
    decimals = len(written.strip().rstrip(".").partition(".")[2])
    step = Fraction(1, 10**decimals)
    power = 2 if is_root else 1
    if not said:
        assert shown**power == truth, text
        return
    assert shown**power != truth, f"nothing was rounded: {text}"
    low = {", rounded up": shown - step, ", rounded down": shown, ", rounded": shown - step / 2}[
        said
    ]
    high = {", rounded up": shown, ", rounded down": shown + step, ", rounded": shown + step / 2}
    assert low**power <= truth <= high[said] ** power, text


def texts_of(lesson: Lesson, artwork: Artwork | None = None) -> list[str]:
    """Steps and worked lines, of a hundred seeds."""
    course = started(lesson, artwork=artwork).course
    asks = [course.prediction]
    for seed in range(SEEDS):
        asks.append(lesson.question(course.words, random.Random(seed), course.scenes))
    said = [course.task, *(step.text for step in course.steps)]
    return [*said, *(line for ask in asks for line in (ask.text, *ask.worked))]


@LESSONS
def test_every_equals_sign_is_exact_or_says_that_it_was_rounded(lesson: Lesson) -> None:
    # A triangle of 60 mm: its corners are 60 / root 3 from the middle.
    r_square = Fraction(60**2, 3) if lesson.key == "three-lobes" else None
    checked = sum(check(text, r_square) for text in texts_of(lesson))
    # A few scans have no size at all, and what turning does is told without sums.
    assert checked >= (0 if lesson.key == "turning-helps" else 80)


@pytest.mark.parametrize(
    "artwork",
    [
        blocked(),
        artwork_of("pennant.svg", [rectangle(140.0, 90.0)]),
        artwork_of("whistle.svg", [rectangle(3.0, 1.0)]),
        artwork_of("mug.svg", [rectangle(60.0, 25.0)]),
        artwork_of("lure.svg", [rectangle(10.0 / 3.0, 7.0 / 9.0)]),
    ],
    ids=["blocked", "large", "tiny", "whole", "thirds"],
)
def test_sums_about_own_artwork(artwork: Artwork) -> None:
    texts = texts_of(OWN, artwork)
    assert sum(check(text) for text in texts) >= SEEDS
    for seed in range(20):
        course = started(OWN, artwork=artwork).course
        ask = OWN.question(course.words, random.Random(seed), course.scenes)
        # What is written is the circle that is needed, or a hair more.
        circle, percent, _, scaled = (Fraction(n) for n in _NUMBER.findall(ask.worked[0]))
        truth = Fraction(course.scenes[0].fit.smallest_circle.diameter) * percent / 100
        assert -1e-6 <= scaled - truth <= Fraction("0.0101") + percent / 10**6
        assert -1e-9 <= circle - truth * 100 / percent <= 1.01e-4
        if isinstance(ask.answer, NumberAnswer):
            assert ask.answer.number() == _NUMBER.findall(ask.worked[0])[3]


@pytest.mark.parametrize(
    "line",
    [
        "1936 x 4 / 3 = 2581.3334",
        "1936 x 4 / 3 = 2581.3333, rounded up",
        "1936 x 4 / 3 = 2581.3335, rounded up",
        "30 x 30 = 900, rounded up",
        "900 + 1600 = 2501",
        "root of 2500 = 51",
        "root of 3400 = 58.31",
        "root of 3400 = 58.30, rounded up",
        "root of 3400 = 58.32, rounded up",
        "root of 3400 = 58.31, rounded down",
        "300 / 72 x 25.4 = 105.83",
        "300 / 72 x 25.4 = 105.84, rounded",
        "90 - 2 x 3 = 84",
        "px / dpi = inches",
        "90 less 13.5 is 76 mm",
        "4 x 900 = 3600 = 3601",
        "4 x 900 = 3601 = 3600",
    ],
)
def test_a_false_line_is_seen(line: str) -> None:
    with pytest.raises(AssertionError):
        check(line)


@pytest.mark.parametrize(
    ("line", "count"),
    [
        ("1936 x 4 / 3 = 2581.3334, rounded up", 1),
        ("30 x 30 = 900, and 40 x 40 = 1600.", 2),
        ("inside the ring: 90 \u2212 2 x 3 = 84", 1),
        ("root of 3400 = 58.31, rounded up", 1),
        ("root of 1800 = 42.42, rounded down", 1),
        ("300 / 72 x 25.4 = 105.83, rounded", 1),
        ("216 / 96 x 25.4 = 57.15 mm.", 1),
        ("6.5 / 2 = 3.25 on each side", 1),
        ("1200 = (1200) / 4 + 30 x 30. Then", 1),
        ("65 x 65 less 60 x 60 leaves 625 for the height", 0),
    ],
)
def test_a_true_line_is_let_pass(line: str, count: int) -> None:
    assert check(line) == count
