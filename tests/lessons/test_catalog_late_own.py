"""Lesson 10 on artwork of several kinds: it always goes on, and never says "fits" wrongly."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from tests.lessons.catalog_late_judges import (
    TEXTS,
    answer_text,
    circle_mm,
    numbers_in,
    questions,
    walk_of,
    walk_to_the_end,
)
from viewer.artwork.model import Artwork, ArtworkWarning, Outline, Points, Reading
from viewer.errors import UsageError
from viewer.fit import Verdict, is_turn_allowed, place
from viewer.geometry import convex_hull
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.catalog.own_artwork import LESSON, scaling_at
from viewer.lessons.lesson import Ask, Given
from viewer.lessons.marks import Dot, Ring, Segment
from viewer.lessons.scenes import artwork_of, rectangle
from viewer.lessons.view import Stage
from viewer.lessons.walk import Walk, begin
from viewer.press import Angles, Cup, Datum, EtchArea, Hold, Margin, Press, PressLimits

MUG = artwork_of("mug.svg", [rectangle(60.0, 25.0)])
TRIANGLE_MM = 60.0
FLOAT_HULL = np.array([(40.0, 80.0), (100.0, 80.0), (70.0, 80.0 - 30.0 * math.sqrt(3.0))])
EXAMPLE_MM = {"60": 51.0, "75": 63.75, "90": 76.5, "110": 93.5, "130": 110.5}
"""Largest images with the usual margin of 15 %: 0.85 of the named size."""


def lobed(side_mm: float = TRIANGLE_MM) -> Artwork:
    """A curve of constant width: three arcs about the corners of a triangle."""
    corners = FLOAT_HULL.mean(axis=0) + (FLOAT_HULL - FLOAT_HULL.mean(axis=0)) * side_mm / 60.0
    arcs = []
    for number, corner in enumerate(corners):
        a, b = corners[number - 1] - corner, corners[number - 2] - corner
        first, last = math.atan2(a[1], a[0]), math.atan2(b[1], b[0])
        turn = (last - first + math.pi) % (2.0 * math.pi) - math.pi
        angles = first + turn * np.linspace(0.0, 1.0, 60)
        arcs.append(corner + side_mm * np.stack([np.cos(angles), np.sin(angles)], axis=1))
    return artwork_of("float.svg", [convex_hull(np.concatenate([corners, *arcs]))])


def in_doubt() -> Artwork:
    """A file in bare px: 96 to the inch, or 72, a third larger."""
    hull = MUG.outline.hull_mm
    other = Reading("bare-px", "at 72 px per inch", Outline(hull * 4.0 / 3.0, 0.0))
    warning = ArtworkWarning("bare-px", "the file gives no unit", True)
    return replace(MUG, alternatives=(other,), warnings=(warning,))


def blocked() -> Artwork:
    """A file of which nobody may say that it fits."""
    return replace(MUG, warnings=(ArtworkWarning("animation", "the drawing moves", True),))


def unsure(uncertainty_mm: float) -> Artwork:
    """A picture of few pixels."""
    return replace(MUG, outline=Outline(MUG.outline.hull_mm, uncertainty_mm))


def huge() -> Artwork:
    """Larger than every cup."""
    return artwork_of("pennant.svg", [rectangle(140.0, 90.0)])


ARTWORKS = {
    "convex": MUG,
    "lobed": lobed(),
    "in-doubt": in_doubt(),
    "blocked": blocked(),
    "unsure": unsure(0.2),
    "unknown": unsure(math.inf),
    "huge": huge(),
    "tiny": artwork_of("whistle.svg", [rectangle(3.0, 1.0)]),
}

every_artwork = pytest.mark.parametrize("name", ARTWORKS)


def own(name: str) -> Walk:
    """The lesson about one of them."""
    return walk_of(LESSON, GIVEN[name])


GIVEN = {name: Given(artwork) for name, artwork in ARTWORKS.items()}


def said_in(walk: Walk) -> str:
    """Everything that the lesson says of the artwork, but for its questions."""
    course = walk.course
    texts = [course.task, course.prediction.text, *course.prediction.worked]
    return " ".join([*texts, *(step.text for step in course.steps)])


def number_of(ask: Ask) -> NumberAnswer:
    assert isinstance(ask.answer, NumberAnswer)
    return ask.answer


# --- always -----------------------------------------------------------------------------


def test_without_artwork_it_says_what_to_do() -> None:
    with pytest.raises(UsageError, match="open a file first") as caught:
        begin(LESSON, TEXTS, Given(), 1)
    assert "\n" not in str(caught.value)
    assert LESSON.needs_artwork


@every_artwork
@pytest.mark.parametrize("right", [True, False], ids=["right", "wrong"])
def test_a_person_gets_to_the_end(name: str, right: bool) -> None:
    walk = own(name)
    states = list(walk_to_the_end(walk, right=right))
    assert states[-1].stage is Stage.DONE
    settled = {"blocked": "open", "unknown": "open", "huge": "cannot"}
    assert states[-1].settled == (settled.get(name, "fits"),)


@every_artwork
def test_fits_is_said_where_it_surely_fits_and_nowhere_else(name: str) -> None:
    walk = own(name)
    scene = walk.course.scenes[0]
    assert bool(re.search(r"it fits", said_in(walk))) is scene.can_fit
    if not scene.can_fit:
        shown = " ".join(
            line.text for state in walk_to_the_end(walk, right=True) for line in state.view().lines
        )
        assert "fits" not in shown


@every_artwork
def test_the_cup_is_the_smallest_that_fits_or_else_the_largest(name: str) -> None:
    scene = own(name).course.scenes[0]
    artwork = ARTWORKS[name]
    outlines = [artwork.outline, *(reading.outline for reading in artwork.alternatives)]
    needed = max(circle_mm(outline.hull_mm) + 2 * outline.uncertainty_mm for outline in outlines)
    takers = [cup for cup, largest in EXAMPLE_MM.items() if largest >= needed]
    expected = "130" if name in ("blocked", "unknown") or not takers else takers[0]
    assert scene.press.cups[0].name == expected
    assert sorted(scene.press.cups, key=str) == sorted(Press().cups, key=str)


@every_artwork
def test_nothing_is_drawn_over_it_that_is_not_there(name: str) -> None:
    course = own(name).course
    hull = ARTWORKS[name].outline.hull_mm
    marks = [mark for step in course.steps for mark in step.marks]
    line = next(mark for mark in marks if isinstance(mark, Segment))
    gaps = np.linalg.norm(hull[:, None] - hull[None], axis=2)
    assert math.dist(line.a, line.b) == pytest.approx(gaps.max(), abs=1e-9)
    circle = next(mark for mark in marks if isinstance(mark, Ring))
    assert 2 * circle.radius_mm == pytest.approx(circle_mm(hull), abs=2e-3)
    for dot in (mark for mark in marks if isinstance(mark, Dot)):
        assert math.dist(dot.at, circle.center) == pytest.approx(circle.radius_mm, abs=1e-9)
        assert np.linalg.norm(hull - dot.at, axis=1).min() <= 1e-9
    cup = [mark for mark in marks if isinstance(mark, Ring)][-1]
    assert 2 * cup.radius_mm == pytest.approx(EXAMPLE_MM[course.scenes[0].press.cups[0].name])
    if course.scenes[0].can_fit and name != "in-doubt":
        assert math.dist(cup.center, circle.center) + circle.radius_mm <= cup.radius_mm


@every_artwork
def test_the_first_placement_is_one_that_does_not_give_it_away(name: str) -> None:
    scene = own(name).course.scenes[0]
    x, y = scene.start.center_mm
    assert math.dist((x, y), scene.fit.smallest_circle.center) > 0
    assert all(math.isfinite(value) for value in (x, y))


# --- published sizes ----------------------------------------------------------------------


def test_three_lobes_need_more_than_their_diagonal() -> None:
    walk = own("lobed")
    # Curve of constant width 60: circle 60 x 2 / root 3 = 69.2820 (Jung 1901), diagonal 60.
    answer = number_of(walk.course.prediction)
    assert float(answer.exact) == pytest.approx(69.2820, abs=1e-4)
    assert all(answer.is_right(text) for text in ("69.2", "69.3"))
    assert not any(answer.is_right(text) for text in ("60", "69.0", "70"))
    assert "60.00" in walk.course.steps[0].text
    assert numbers_in(walk.course.steps[2].text) == [69.29, 9.29]
    dots = [mark.label for mark in walk.course.steps[1].marks if isinstance(mark, Dot)]
    assert dots == ["1", "2", "3"]


def test_a_rectangle_needs_its_diagonal() -> None:
    walk = own("convex")
    assert number_of(walk.course.prediction).shown() == "65\u00a0mm"  # 60, 25, 65
    assert "longest diagonal decides" in walk.course.steps[2].text


# --- what is not known exactly ------------------------------------------------------------


def test_an_uncertain_file_widens_what_counts_and_says_so() -> None:
    walk = own("unsure")
    answer = number_of(walk.course.prediction)
    assert answer.within == Fraction(1, 10) + Fraction(4, 10)
    assert "within 0.5 mm" in walk.course.prediction.text
    assert answer.is_right("64.6") and answer.is_right("65.4") and not answer.is_right("64.5")
    assert "within" not in own("convex").course.prediction.text


@pytest.mark.parametrize("name", ["blocked", "unknown"])
def test_where_nothing_may_be_said_to_fit_geometry_is_asked(name: str) -> None:
    walk = own(name)
    assert walk.course.scenes[0].is_open
    for ask in questions(walk):
        percent = numbers_in(ask.text)[0]
        assert float(number_of(ask).exact) == pytest.approx(65.0 * percent / 100, abs=1e-9)
        assert "cup" not in ask.text and "fit" not in ask.text
    assert "cannot be sure" in walk.course.steps[3].text or name == "unknown"
    assert "Nobody can say" in walk.course.steps[3].text


# --- the question -------------------------------------------------------------------------


def needed_mm(outlines: Sequence[Points], percent: float) -> list[float]:
    return [circle_mm(hull) * percent / 100 for hull in outlines]


@pytest.mark.parametrize("name", ["convex", "lobed", "in-doubt", "unsure", "huge", "tiny"])
def test_questions_by_circles_from_outside(name: str) -> None:
    artwork = ARTWORKS[name]
    hulls = [artwork.outline.hull_mm, *(r.outline.hull_mm for r in artwork.alternatives)]
    given = set()
    for ask in questions(own(name)):
        assert isinstance(ask.answer, ChoiceAnswer)
        percent = numbers_in(ask.text)[0]
        sizes = needed_mm(hulls, percent)
        # No cup is nearer to its limit than 0.3 mm, for any way to read the file.
        for largest in EXAMPLE_MM.values():
            assert min(abs(largest - size) for size in sizes) >= 0.29
        taken = [largest for largest in EXAMPLE_MM.values() if largest >= max(sizes)]
        *options, none = ask.answer.options
        assert none == "None of them"
        said = dict(numbers_in(option) for option in options)
        assert said == {float(cup): largest for cup, largest in EXAMPLE_MM.items()}
        right = ask.answer.shown()
        given.add(right)
        if taken:
            assert numbers_in(right)[1] == min(taken)
        else:
            assert right == none
    assert len(given) >= (2 if name == "in-doubt" else 5)


def test_a_percentage_on_the_edge_is_never_asked() -> None:
    # 65 mm at 117.7 % is 76.5 mm; at 118 % it is 76.7.
    fit = own("convex").course.scenes[0].fit
    assert scaling_at(fit, 118) is None
    found = scaling_at(fit, 117)
    assert found is None or found.cups[found.right].name == "90"
    assert scaling_at(fit, 115) is not None


def test_of_many_cups_a_few_are_offered() -> None:
    cups = tuple(Cup(str(size), float(size)) for size in range(40, 140, 5))
    walk = begin(LESSON, TEXTS, Given(MUG, Press(cups=cups)), 3)
    for ask in questions(walk):
        assert isinstance(ask.answer, ChoiceAnswer)
        size = 65.0 * numbers_in(ask.text)[0] / 100
        *options, none = ask.answer.options
        assert len(options) == 5 and none == "None of them"
        taken = [cup.diameter_mm for cup in cups if 0.85 * cup.diameter_mm >= size]
        # The right one is the smallest of all, whether it was offered or not.
        named = numbers_in(ask.answer.shown())[:1]
        assert named == ([min(taken)] if taken else [])


def test_a_large_cup_that_takes_less_is_no_trap() -> None:
    wide = Cup("110", 110.0, 3.0, Margin(0.5, True))  # takes 55, the 75 cup 63.75
    press = Press(cups=(Cup("75", 75.0), wide, Cup("130", 130.0)))
    for ask in questions(begin(LESSON, TEXTS, Given(MUG, press), 3)):
        assert isinstance(ask.answer, ChoiceAnswer)
        size = 65.0 * numbers_in(ask.text)[0] / 100
        assert not size < 55.0


# --- the rest of the press ----------------------------------------------------------------


def test_with_an_etch_area_in_the_way_it_does_not_say_that_it_fits() -> None:
    limits = PressLimits(etch=EtchArea(50.0, 20.0))
    walk = begin(LESSON, TEXTS, Given(MUG, Press(limits=limits)), 3)
    scene = walk.course.scenes[0]
    assert scene.cup_fit.verdict is Verdict.OUTSIDE
    assert "it fits" not in said_in(walk)
    assert "etch area" in walk.course.task
    assert list(walk_to_the_end(walk, right=True))[-1].settled == ("cannot",)
    assert all("left aside" in ask.text for ask in questions(walk)[:10])


def test_with_an_etch_area_that_is_large_enough_it_does() -> None:
    limits = PressLimits(etch=EtchArea(64.0, 30.0, (5.0, 0.0)))
    walk = begin(LESSON, TEXTS, Given(MUG, Press(limits=limits)), 3)
    scene = walk.course.scenes[0]
    # Alone the 75 cup would do; 3 mm off, the far corners are hypot(33, 12.5) = 35.3 away.
    assert scene.press.cups[0].name == "90"
    assert scene.can_fit and "it fits" in said_in(walk)
    cup = next(mark for mark in walk.course.steps[3].marks[::-1] if isinstance(mark, Ring))
    reach = np.linalg.norm(MUG.outline.hull_mm - cup.center, axis=1).max()
    assert reach <= cup.radius_mm


def test_it_begins_where_the_press_may_stand() -> None:
    hold, angles = Hold("across", 3.0), Angles("none")
    limits = PressLimits(hold=hold, angles=angles, datum=Datum("ink"))
    press = Press(limits=limits)
    scene = begin(LESSON, TEXTS, Given(MUG, press), 3).course.scenes[0]
    placed = place(MUG, scene.press.cups[0], scene.start, 0.5, limits)
    assert placed.is_allowed and is_turn_allowed(scene.start.turn_deg, angles)


def test_numbers_on_the_way_are_answers() -> None:
    for name in ARTWORKS:
        for ask in questions(own(name))[:10]:
            assert ask.answer.is_right(answer_text(ask, right=True))
            assert ask.worked
