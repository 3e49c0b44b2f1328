"""Lessons 1 to 5: numbers against published ones and outside judges, drawings against geometry."""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import cv2
import numpy as np
import pytest
import shapely

from tests.lessons.walking import started
from viewer.fit import Verdict, fit_artwork, place
from viewer.fit.model import Placement
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Ask, Lesson, Step
from viewer.lessons.marks import Area, Mark, RightAngle, Ring, Segment
from viewer.lessons.scenes import (
    MIDDLE_MM,
    artwork_of,
    bare_cup,
    disc,
    disc_uncertainty_mm,
    rectangle,
    three_lobes,
    three_lobes_uncertainty_mm,
    turned,
)
from viewer.lessons.sums import digits, largest, needed, shown_up
from viewer.lessons.walk import Course

EARLY = tuple(lesson for lesson in all_lessons() if lesson.number <= 5)
EACH = pytest.mark.parametrize("lesson", EARLY, ids=lambda lesson: lesson.key)
SEEDS = range(50)
CV_MM = 1e-3
"""OpenCV's circle is of 32-bit floats, and a ten thousandth too large."""


def lesson_of(key: str) -> Lesson:
    return next(lesson for lesson in EARLY if lesson.key == key)


def asked(key: str) -> Iterator[tuple[Ask, list[float]]]:
    """Questions of many seeds, with the numbers that stand in them."""
    for seed in SEEDS:
        course = started(lesson_of(key), seed).course
        for number in (0, 1):
            ask = course.question(number)
            yield ask, [float(n) for n in re.findall(r"\d+(?:\.\d+)?", ask.text)]


def exact(ask: Ask) -> float:
    assert isinstance(ask.answer, NumberAnswer)
    return float(ask.answer.exact)


def circle_by_opencv(points: np.ndarray) -> float:
    (_, radius) = cv2.minEnclosingCircle(points.astype(np.float32))
    return 2.0 * radius


# --- published values -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("circle", "side"),
    # Square in a circle, d / root 2 (textbook; check values, section 2).
    [(60, 42.4264), (70, 49.4975), (80, 56.5685), (90, 63.6396), (100, 70.7107), (130, 91.9239)],
)
def test_largest_square(circle: int, side: float) -> None:
    answer = largest(Fraction(circle**2, 2))
    assert float(answer.exact) == pytest.approx(side, abs=5e-5)
    assert answer.number() == f"{math.floor(side * 100) / 100:.2f}"


@pytest.mark.parametrize(
    ("width", "height", "diagonal"),
    [
        # Machinery's Handbook, 31st ed., p. 75, as printed.
        (12, Fraction("5.875"), 13.361),
        (15, 15, 21.21),
        # Pythagorean triples.
        (20, 21, 29),
        (30, 40, 50),
        (66, 88, 110),
        (33, 44, 55),
        (39, 80, 89),
        # ISO/IEC 7810 ID-1, ID-2, ID-3.
        (Fraction("85.60"), Fraction("53.98"), 101.1988),
        (105, 74, 128.4562),
        (125, 88, 152.8692),
        # ISO 216: A3 to A8, B5 to B8.
        (297, 420, 514.4016),
        (210, 297, 363.7430),
        (148, 210, 256.9124),
        (105, 148, 181.4635),
        (74, 105, 128.4562),
        (52, 74, 90.4434),
        (176, 250, 305.7385),
        (125, 176, 215.8726),
        (88, 125, 152.8692),
        (62, 88, 107.6476),
        # Pythagoras (check values, section 2).
        (54, 80, 96.5194),
    ],
)
def test_diagonals(width: Fraction | int, height: Fraction | int, diagonal: float) -> None:
    answer = needed(width**2 + height**2)
    printed = 5e-3 if diagonal == 21.21 else 5e-4
    assert float(answer.exact) == pytest.approx(diagonal, abs=printed)
    assert answer.is_right(f"{diagonal:.1f}")
    assert Fraction(answer.number()) >= answer.exact.down()


@pytest.mark.parametrize(
    ("diagonal", "circle"),
    # Jung, J. reine angew. Math. 123 (1901) 241-257: 2 / root 3 times, 1.154701.
    [(60, 69.2820), (100, 115.4701), (1, 1.154701)],
)
def test_jung(diagonal: int, circle: float) -> None:
    answer = needed(Fraction(4 * diagonal**2, 3))
    assert float(answer.exact) == pytest.approx(circle, abs=5e-5)


# --- predictions and what is told of the scenes ---------------------------------------------


@pytest.mark.parametrize(
    ("key", "shown"),
    [
        ("square", "42.42\u00a0mm"),
        ("turning", "84.86\u00a0mm"),
        ("two-heights", "25\u00a0mm"),
        ("diagonal", "50\u00a0mm"),
        ("three-lobes", "69.29\u00a0mm"),
    ],
)
def test_predictions(key: str, shown: str) -> None:
    assert started(lesson_of(key)).course.prediction.answer.shown() == shown


@pytest.mark.parametrize(
    ("key", "verdicts", "circles"),
    [
        ("square", ["outside"], [84.8528]),
        ("turning", ["outside"], [84.8528]),
        ("two-heights", ["fits", "outside"], [61.8466, 78.1025]),
        ("diagonal", ["fits", "outside"], [50.0, 58.3095]),
        ("three-lobes", ["fits", "outside"], [60.0, 69.2820]),
    ],
)
def test_scenes(key: str, verdicts: list[str], circles: list[float]) -> None:
    scenes = started(lesson_of(key)).course.scenes
    assert [scene.cup_fit.verdict.value for scene in scenes] == verdicts
    found = [circle_by_opencv(scene.parts[0]) for scene in scenes]
    assert found == pytest.approx(circles, abs=CV_MM)
    assert [s.fit.smallest_circle.diameter for s in scenes] == pytest.approx(circles, abs=1e-4)


def test_the_largest_square_is_the_scene_scaled() -> None:
    course = started(lesson_of("square")).course
    scale = course.scenes[0].cup_fit.largest_scale
    assert scale is not None
    assert 60.0 * scale == pytest.approx(exact(course.prediction), abs=1e-9)


def test_turning_is_told_as_it_is_measured() -> None:
    course = started(lesson_of("turning")).course
    scene = course.scenes[0]
    # 60 / root 2 - 40 = 2.4264, rounded up, at each of the angles.
    told = [re.findall(r"(\d+\.\d+) mm(?: again| stick out)", s.text) for s in course.steps]
    assert told == [["2.43"], [], ["2.43"], ["2.43"]]
    at_best = Placement(MIDDLE_MM, 0.0)
    for angle in range(0, 360, 7):
        there = Placement(at_best.center_mm, angle)
        placed = place(scene.artwork, scene.press.cups[0], there)
        assert placed.clearance_mm == pytest.approx(40 - 60 / math.sqrt(2), abs=1e-9)


def test_heights_are_told_as_they_are_measured() -> None:
    course = started(lesson_of("two-heights")).course
    low, high = (scene.fit.smallest_circle.diameter * 100 for scene in course.scenes)
    # What is said to go in needs no more, what is refused needs no less.
    assert f"corner {math.ceil(low - 1e-6) / 100:.2f}\u00a0mm" in course.steps[0].text
    assert f"more than {math.floor(high + 1e-6) / 100:.2f}\u00a0mm" in course.steps[1].text


def test_just_as_high_as_told_fits_and_a_little_more_does_not() -> None:
    course = started(lesson_of("two-heights")).course
    height = exact(course.prediction)
    for more, verdict in ((-1e-6, Verdict.FITS), (1e-6, Verdict.OUTSIDE)):
        artwork = artwork_of("bar", [rectangle(60, height + more)])
        assert fit_artwork(artwork, [bare_cup(65)]).cups[0].verdict is verdict


def test_the_trials_for_the_root_are_right() -> None:
    course = started(lesson_of("diagonal")).course
    trials = 0
    for step in course.steps:
        for a, b, product in re.findall(r"([\d.]+) x ([\d.]+) = ([\d.]+\d)", step.text):
            assert Fraction(a) * Fraction(b) == Fraction(product)
        for a, product, what in re.findall(r"x ([\d.]+) = ([\d.]+) is (too \w+|enough)", step.text):
            assert (Fraction(product) < 3400) == (what == "too little"), a
            trials += 1
    assert trials == 4


def test_both_floats_are_60_mm_across_and_need_different_circles() -> None:
    scenes = started(lesson_of("three-lobes")).course.scenes
    for scene in scenes:
        assert scene.fit.longest_diagonal.length == pytest.approx(60.0, abs=1e-9)
        assert scene.artwork.outline.uncertainty_mm < 0.001
    round_one, lobes = (scene.fit.smallest_circle.diameter for scene in scenes)
    assert round_one == pytest.approx(60.0, abs=1e-9)
    assert lobes == pytest.approx(60.0 * 1.154701, abs=1e-4)


# --- questions, recomputed -------------------------------------------------------------------


def test_square_questions() -> None:
    for ask, (circle, *_) in asked("square"):
        side = exact(ask)
        assert side == pytest.approx(circle / math.sqrt(2), abs=1e-9)
        assert circle_by_opencv(rectangle(side, side)) == pytest.approx(circle, abs=CV_MM)


def test_turning_questions() -> None:
    for ask, (width, height, angle) in asked("turning"):
        part = turned(rectangle(width, height), angle)
        assert circle_by_opencv(part) == pytest.approx(exact(ask), abs=CV_MM)
        box = shapely.Polygon(part).minimum_rotated_rectangle
        assert box.area == pytest.approx(width * height)


def test_height_questions() -> None:
    for ask, (width, circle) in asked("two-heights"):
        height = exact(ask)
        assert height > 5.0
        assert circle_by_opencv(rectangle(width, height)) == pytest.approx(circle, abs=CV_MM)


def test_diagonal_questions() -> None:
    whole = 0
    for ask, (width, height) in asked("diagonal"):
        assert exact(ask) == pytest.approx(math.dist((0, 0), (width, height)), abs=1e-9)
        whole += exact(ask).is_integer()
    assert 10 < whole < 90  # some are triples, most are not


def test_sure_circle_questions() -> None:
    found = 0
    for ask, (diagonal, *_) in asked("three-lobes"):
        if isinstance(ask.answer, NumberAnswer):
            found += 1
            part = three_lobes(diagonal)
            assert circle_by_opencv(part) == pytest.approx(exact(ask), abs=2 * CV_MM)
            assert ask.answer.rounding == "up"
    assert found > 10


def fits(part: np.ndarray, uncertainty_mm: float, circle: float) -> bool:
    artwork = artwork_of("a", [part], uncertainty_mm=uncertainty_mm)
    return fit_artwork(artwork, [bare_cup(circle)]).cups[0].verdict is Verdict.FITS


def test_choices_are_true_of_shapes_that_are_measured() -> None:
    counts: Counter[int] = Counter()
    for ask, numbers in asked("three-lobes"):
        if not isinstance(ask.answer, ChoiceAnswer):
            continue
        diagonal, circle = numbers
        # The least and the most that a shape with this diagonal can need.
        easy = fits(disc(diagonal), disc_uncertainty_mm(diagonal), circle)
        hard = fits(three_lobes(diagonal), three_lobes_uncertainty_mm(diagonal), circle)
        assert ask.answer.right == (0 if easy and hard else 1 if easy else 2)
        counts[ask.answer.right] += 1
        for edge in (diagonal, diagonal * 2 / math.sqrt(3)):
            assert abs(circle - edge) >= 1.0
    assert all(counts[kind] >= 8 for kind in range(3)), counts


@EACH
def test_a_sum_ends_in_its_answer(lesson: Lesson) -> None:
    for seed in SEEDS:
        course = started(lesson, seed).course
        for ask in (course.prediction, course.question(0)):
            lines = [line for line in ask.worked if "=" in line]
            if isinstance(ask.answer, NumberAnswer):
                said = "" if ask.answer.is_whole_shown else f", rounded {ask.answer.rounding}"
                assert lines[-1].endswith(f" = {ask.answer.number()}{said}")


# --- drawings ---------------------------------------------------------------------------------


def drawn(lesson: Lesson) -> Iterator[tuple[Step, Mark]]:
    for step in started(lesson).course.steps:
        for mark in step.marks:
            yield step, mark


def number_in(label: str) -> float | None:
    found = re.fullmatch(r"([\d.]+)\smm", label)
    return float(found[1]) if found else None


@EACH
def test_lengths_are_as_their_labels_say(lesson: Lesson) -> None:
    checked = 0
    for _, mark in drawn(lesson):
        label = getattr(mark, "label", "")
        number = number_in(label)
        if isinstance(mark, Area) and label:
            area = shapely.Polygon(mark.corners).area
            assert area == pytest.approx(float(label), abs=1e-6)
        elif number is not None and isinstance(mark, Segment):
            assert math.dist(mark.a, mark.b) == pytest.approx(number, abs=0.1)
            checked += 1
        elif number is not None and isinstance(mark, Ring):
            assert 2.0 * mark.radius_mm == pytest.approx(number, abs=0.01)
            checked += 1
        else:
            assert label in ("", "r", "half r")
    assert checked


@EACH
def test_right_angles_are_right(lesson: Lesson) -> None:
    marks = [mark for _, mark in drawn(lesson)]
    for mark in marks:
        if isinstance(mark, RightAngle):
            one = np.subtract(mark.one, mark.corner)
            other = np.subtract(mark.other, mark.corner)
            assert float(one @ other) == pytest.approx(0.0, abs=1e-9)
            assert min(np.hypot(*one), np.hypot(*other)) > 5.0


@EACH
def test_dashed_rings_run_through_the_corners_that_decide(lesson: Lesson) -> None:
    course = started(lesson).course
    checked = 0
    for step in course.steps:
        for mark in step.marks:
            if isinstance(mark, Ring) and mark.style == "dashed":
                checked += 1
                assert_around(mark, step, course)
    assert checked


def assert_around(ring: Ring, step: Step, course: Course) -> None:
    """The ring is the scene's smallest circle, or that of the highest image of its width."""
    if course.lesson.key == "two-heights":
        area = next(mark for mark in step.marks if isinstance(mark, Area))
        distances = [math.dist(ring.center, corner) for corner in area.corners]
        assert distances == pytest.approx([ring.radius_mm] * 4, abs=1e-9)
        return
    circle = course.scenes[step.scene].fit.smallest_circle
    assert ring.center == pytest.approx(circle.center, abs=1e-6)
    assert ring.radius_mm == pytest.approx(circle.radius, abs=1e-6)


def test_the_turned_squares_have_their_corners_on_the_ring() -> None:
    course = started(lesson_of("turning")).course
    ring = next(m for s in course.steps for m in s.marks if isinstance(m, Ring))
    squares = [m for s in course.steps for m in s.marks if isinstance(m, Area)]
    assert len(squares) == 2 and squares[0] != squares[1]
    for square in squares:
        for corner in square.corners:
            assert math.dist(ring.center, corner) == pytest.approx(ring.radius_mm, abs=1e-9)
        assert shapely.Polygon(square.corners).area == pytest.approx(3600.0)


def test_the_inner_square_just_fits_the_circle() -> None:
    last = started(lesson_of("square")).course.steps[-1]
    ring = next(m for m in last.marks if isinstance(m, Ring))
    square = next(m for m in last.marks if isinstance(m, Area))
    assert ring.radius_mm == 30.0
    for corner in square.corners:
        assert math.dist(ring.center, corner) == pytest.approx(30.0, abs=1e-9)


@pytest.mark.parametrize(("scene", "count"), [(0, 3), (1, 3)])
def test_squares_stand_outside_on_the_sides_of_the_triangle(scene: int, count: int) -> None:
    course = started(lesson_of("diagonal")).course
    marks = [m for s in course.steps if s.scene == scene for m in s.marks]
    squares = [shapely.Polygon(m.corners) for m in marks if isinstance(m, Area)]
    angle = next(m for m in marks if isinstance(m, RightAngle))
    triangle = shapely.Polygon((angle.corner, angle.one, angle.other))
    assert len(squares) == count
    small, other, large = sorted(squares, key=lambda square: square.area)
    assert small.area + other.area == pytest.approx(large.area)
    for one, another in itertools.combinations([*squares, triangle], 2):
        assert one.intersection(another).area == pytest.approx(0.0, abs=1e-9)
    for square in squares:
        shared = square.intersection(triangle.exterior.buffer(1e-9)).area / 1e-9
        assert shared == pytest.approx(math.sqrt(square.area), rel=0.01)


def test_the_slice_of_the_three_lobes() -> None:
    steps = started(lesson_of("three-lobes")).course.steps
    sides = [m for m in steps[4].marks if isinstance(m, Segment)]
    radius = 60.0 / math.sqrt(3.0)
    assert [math.dist(m.a, m.b) for m in sides] == pytest.approx([radius] * 3, abs=1e-9)
    half_r, half = (m for m in steps[5].marks if isinstance(m, Segment))
    assert math.dist(half_r.a, half_r.b) == pytest.approx(radius / 2.0)
    assert math.dist(half.a, half.b) == pytest.approx(30.0)
    widths = [m for m in steps[1].marks if isinstance(m, Segment)]
    assert [math.dist(m.a, m.b) for m in widths] == pytest.approx([60.0] * 3, abs=1e-9)
    outline = shapely.Polygon(three_lobes(60)).exterior
    for mark in widths:
        for end in (mark.a, mark.b):
            assert outline.distance(shapely.Point(end)) < 1e-3


def test_question_drawings_lie_on_the_page_and_are_right() -> None:
    for key in ("square", "turning", "two-heights"):
        for ask, _ in asked(key):
            ring = next(m for m in ask.marks if isinstance(m, Ring))
            area = next(m for m in ask.marks if isinstance(m, Area))
            for corner in area.corners:
                assert math.dist(ring.center, corner) == pytest.approx(ring.radius_mm, abs=1e-9)
            assert ring.radius_mm <= 60.0
            shown = ask.answer.shown()
            assert all(getattr(mark, "label", "") != shown for mark in ask.marks)


def test_digits_are_written_in_full() -> None:
    assert digits(Fraction(3025, 2)) == "1512.5" and digits(900) == "900"
    with pytest.raises(ValueError, match="in full"):
        digits(Fraction(7744, 3))
    assert shown_up(Fraction(7744, 3)) == Fraction("2581.3334") and shown_up(900) == 900


def test_refused_is_what_needs_more_than_the_lower_number() -> None:
    said = started(lesson_of("diagonal")).course.steps[8].text
    refused = re.search(r"50 x 30 mm needs more than ([\d.]+) mm and does not go in", said)
    assert refused is not None
    assert Fraction(refused[1]) > 55 and Fraction(refused[1]) ** 2 < 50**2 + 30**2


def test_factors_are_near() -> None:
    """2 / root 3 = 1.154701 (Jung 1901), root 2 = 1.414214."""
    lobes = started(lesson_of("three-lobes")).course.steps[7].text
    square = [step.text for step in started(lesson_of("square")).course.steps]
    assert "times about 1.1547 (2 / root 3)" in lobes
    assert "about 1.4142 (root 2)" in square[2] and "about 1.4142 (root 2)" in square[4]
