"""The construction over the bench: where marks and their words are drawn."""

from __future__ import annotations

import math
import random
from itertools import combinations

import numpy as np
import pygame
import pytest
from numpy.typing import NDArray

from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Given, Lesson
from viewer.lessons.marks import Area, Dot, Mark, RightAngle, Ring, Segment
from viewer.lessons.texts import load_texts
from viewer.lessons.walk import begin
from viewer.screen import theme
from viewer.screen.camera import Camera, fit_camera
from viewer.screen.construction_layer import (
    DASH_ON_PX,
    DASH_PX,
    EDGE_PX,
    NEW_PX,
    OLD_PX,
    ConstructionPainter,
    marks_bounds,
)
from viewer.screen.construction_strokes import Path, stroke
from viewer.screen.layout import layout_for
from viewer.screen.text import PlacedText, Texts

SIZE = (1600, 1000)
LAYOUT = layout_for(SIZE)
VIEW = LAYOUT.view
CAMERA = Camera(7.3, -11.7, -4.2)
GROUND = (12, 200, 40)
"""A color that is in no theme."""

Pixels = NDArray[np.uint8]


def drawn(
    marks: tuple[Mark, ...], camera: Camera = CAMERA, *, is_new: bool = True
) -> tuple[Pixels, list[PlacedText]]:
    """The view with the marks on it, and the words."""
    theme.use("dark")
    surface = pygame.Surface(SIZE)
    surface.fill(GROUND)
    texts = Texts()
    texts.log = []
    pair: tuple[tuple[Mark, ...], tuple[Mark, ...]] = ((), marks) if is_new else (marks, ())
    ConstructionPainter(texts).draw(surface, LAYOUT, camera, pair)
    return pygame.surfarray.array3d(surface.subsurface(VIEW)), texts.log


def places_of(pixels: Pixels, color: tuple[int, int, int]) -> NDArray[np.float64]:
    """Middles of all pixels of exactly a color, px of the view."""
    found = np.argwhere((pixels == color).all(axis=2))
    return found + 0.5


def is_on_line(pixels: Pixels, point: NDArray[np.float64], color: tuple[int, int, int]) -> bool:
    """Whether a pixel at a point, or beside it, is for the most part of a line's color."""
    x, y = int(point[0]), int(point[1])
    near = pixels[max(0, x - 1) : x + 2, max(0, y - 1) : y + 2].reshape(-1, 3).astype(float)
    light, full = np.array(theme.LIFT, float), np.array(color, float)
    share = ((light - near) @ (light - full)) / ((light - full) @ (light - full))
    is_between = np.abs(near - (light + share[:, None] * (full - light))).max(axis=1) < 2.0
    return bool((is_between & (share > 0.5)).any())


def changed(pixels: Pixels) -> NDArray[np.float64]:
    return np.argwhere((pixels != GROUND).any(axis=2)) + 0.5


def px(point: tuple[float, float]) -> NDArray[np.float64]:
    return np.array(CAMERA.to_px(*point))


def away_from_line(
    at: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64]
) -> NDArray[np.float64]:
    share = np.clip(((at - a) @ (b - a)) / max(float((b - a) @ (b - a)), 1e-12), 0.0, 1.0)
    return np.hypot(*(at - (a + share[:, None] * (b - a))).T)


ENDS = [
    ((10.0, 20.0), (90.0, 20.0)),
    ((50.0, 5.0), (50.0, 90.0)),
    ((10.0, 10.0), (90.0, 70.0)),
    ((90.0, 15.0), (30.0, 88.3)),
    ((20.0, 30.0), (20.7, 95.0)),
    ((5.0, 60.0), (120.0, 61.2)),
]


@pytest.mark.parametrize("is_new", [True, False])
@pytest.mark.parametrize(("a", "b"), ENDS)
def test_a_line_lies_where_the_camera_puts_it(
    a: tuple[float, float], b: tuple[float, float], is_new: bool
) -> None:
    pixels, _ = drawn((Segment(a, b),), is_new=is_new)
    color, width = (theme.OTHER, NEW_PX) if is_new else (theme.INK_LINE, OLD_PX)
    line = places_of(pixels, color)
    assert not len(line) or away_from_line(line, px(a), px(b)).max() <= width / 2 + 0.5
    # All along the line there is a pixel of it within one pixel, and the ends are reached.
    for share in np.linspace(0.0, 1.0, 200):
        assert is_on_line(pixels, px(a) * (1 - share) + px(b) * share, color)
    everything = away_from_line(changed(pixels), px(a), px(b))
    assert everything.max() <= width / 2 + EDGE_PX + 1.0
    # The light edge is on both sides, and outside of the line.
    near_light = (pixels.astype(int) - np.array(theme.LIFT) > -110).all(axis=2)
    edge = away_from_line(np.argwhere(near_light) + 0.5, px(a), px(b))
    assert len(edge) > np.hypot(*(px(b) - px(a)))
    assert edge.min() >= width / 2 - 0.5


def test_the_middle_of_a_line_is_exact() -> None:
    """Weighed by its color, a line's middle is within a tenth of a pixel, between pixels too."""
    for y_mm in np.linspace(20.0, 20.3, 7):
        pixels, _ = drawn((Segment((10.0, y_mm), (90.0, y_mm)),))
        column = pixels[400].astype(float)
        # On the green ground, how far red is from it tells how much of the pixel is taken.
        share = np.abs(column[:, 0] - GROUND[0])
        middle = (share * (np.arange(len(share)) + 0.5)).sum() / share.sum()
        assert middle == pytest.approx(CAMERA.to_px(0.0, float(y_mm))[1], abs=0.1)


@pytest.mark.parametrize("radius_mm", [0.5, 1.7, 12.0, 42.4264, 49.0])
def test_a_circle_lies_where_the_camera_puts_it(radius_mm: float) -> None:
    center = (62.3, 58.1)
    pixels, _ = drawn((Ring(center, radius_mm),))
    middle, radius = px(center), radius_mm * CAMERA.px_per_mm
    line = places_of(pixels, theme.OTHER)
    away = np.hypot(*(line - middle).T) - radius
    assert np.abs(away).max() <= NEW_PX / 2 + 0.5
    assert np.abs(np.hypot(*(changed(pixels) - middle).T) - radius).max() <= (
        NEW_PX / 2 + EDGE_PX + 1.0
    )
    for angle in np.linspace(0.0, 2 * math.pi, 360):
        point = middle + radius * np.array([math.cos(angle), math.sin(angle)])
        assert is_on_line(pixels, point, theme.OTHER)
    every = changed(pixels)
    assert (every.min(axis=0) + every.max(axis=0)) / 2 == pytest.approx(middle, abs=0.6)


def test_dashes() -> None:
    for mark in (Segment((10, 20), (110, 20), style="dashed"), Ring((60, 60), 40, style="dashed")):
        dashed, _ = drawn((mark,))
        whole, _ = drawn((type(mark)(*_plain(mark)),))
        share = len(places_of(dashed, theme.OTHER)) / len(places_of(whole, theme.OTHER))
        assert share == pytest.approx(DASH_ON_PX / DASH_PX, abs=0.08)


def _plain(mark: Segment | Ring) -> tuple[object, ...]:
    if isinstance(mark, Segment):
        return (mark.a, mark.b)
    return (mark.center, mark.radius_mm)


@pytest.mark.parametrize(("a", "b"), ENDS)
def test_ticks_stand_across_the_ends_of_a_size(
    a: tuple[float, float], b: tuple[float, float]
) -> None:
    pixels, _ = drawn((Segment(a, b, style="size"),))
    line = places_of(pixels, theme.OTHER)
    along = (px(b) - px(a)) / np.hypot(*(px(b) - px(a)))
    across = np.array([-along[1], along[0]])
    for end in (px(a), px(b)):
        near = line - end
        tick = near[(np.abs(near @ along) < 1.0) & (np.abs(near @ across) < 12.0)] @ across
        assert tick.min() < -4.5
        assert tick.max() > 4.5


def test_an_arrow_points_to_its_end() -> None:
    for a, b in ENDS:
        pixels, _ = drawn((Segment(a, b, style="arrow"),))
        line = places_of(pixels, theme.OTHER)
        along = (px(b) - px(a)) / np.hypot(*(px(b) - px(a)))
        across = np.array([-along[1], along[0]])
        for end, wide in ((px(a), NEW_PX), (px(b), 9.0)):
            near = line[np.hypot(*(line - end).T) < 15.0]
            spread = np.ptp((near - end) @ across)
            assert spread >= wide if end is not px(a) and wide > NEW_PX else spread < 6.0
        assert ((line - px(b)) @ along).max() < NEW_PX / 2 + 0.8


def test_a_point_and_a_right_angle() -> None:
    pixels, _ = drawn((Dot((40.0, 50.0)),))
    assert places_of(pixels, theme.OTHER).mean(axis=0) == pytest.approx(px((40, 50)), abs=0.3)
    pixels, _ = drawn((RightAngle((40.0, 50.0), (80.0, 50.0), (40.0, 10.0)),))
    found = places_of(pixels, theme.OTHER)
    low, high = found.min(axis=0), found.max(axis=0)
    corner = px((40.0, 50.0))
    assert low[0] == pytest.approx(corner[0], abs=2.0)
    assert high[1] == pytest.approx(corner[1], abs=2.0)
    assert high[0] == pytest.approx(corner[0] + 13.0, abs=2.5)
    assert low[1] == pytest.approx(corner[1] - 13.0, abs=2.5)


def test_an_area_is_veiled_inside_alone() -> None:
    corners = ((20.0, 20.0), (90.0, 35.0), (70.0, 80.0), (25.0, 60.0))
    pixels, _ = drawn((Area(corners),))
    from shapely import contains_xy
    from shapely.geometry import Polygon

    polygon = Polygon([CAMERA.to_px(*corner) for corner in corners])
    x, y = np.meshgrid(np.arange(VIEW.width) + 0.5, np.arange(VIEW.height) + 0.5, indexing="ij")
    reach = NEW_PX / 2 + EDGE_PX + 1.5
    inside = contains_xy(polygon.buffer(-reach), x, y)
    outside = ~contains_xy(polygon.buffer(reach), x, y)
    is_ground = (pixels == GROUND).all(axis=2)
    assert not is_ground[inside].any()
    assert is_ground[outside].all()
    assert len(np.unique(pixels[inside], axis=0)) == 1, "one light veil"


@pytest.mark.parametrize("zoom", [0.05, 1.0, 40.0, 4000.0])
def test_any_magnification_draws_what_is_in_sight(zoom: float) -> None:
    """Near by, a circle is all but straight, and its far parts cost nothing."""
    mark = Ring((60.0, 60.0), 30.0, "60 mm")
    rim = (60.0 + 30.0 / math.sqrt(2), 60.0 - 30.0 / math.sqrt(2))
    scale = 7.0 * zoom
    camera = Camera(scale, rim[0] - VIEW.width / 2 / scale, rim[1] - VIEW.height / 2 / scale)
    marks = (mark, Segment((0.0, 0.0), rim, "to the rim"), Area(((0, 0), (90, 0), (60, 99)), "a"))
    pixels, log = drawn(marks, camera)
    at = (VIEW.width // 2, VIEW.height // 2)
    near = pixels[at[0] - 1 : at[0] + 2, at[1] - 1 : at[1] + 2].reshape(-1, 3)
    assert (near == theme.OTHER).all(axis=1).any()
    assert all(VIEW.contains(one.rect.inflate(0, -6)) for one in log)


def test_no_pixel_comes_twice() -> None:
    """A pixel blended twice would be too dark, and a seam would be seen."""
    rng = random.Random(3)
    for _ in range(200):
        a = (rng.uniform(-50, 350), rng.uniform(-50, 250))
        b = (rng.uniform(-50, 350), rng.uniform(-50, 250))
        radius = rng.choice((None, rng.uniform(0.2, 15), rng.uniform(15, 400)))
        path = Path(a, a if radius is not None else b, radius)
        found = stroke(path, rng.uniform(1.5, 9.0), (300, 200))
        keys = found.x * 1000 + found.y
        assert len(np.unique(keys)) == len(keys), path


def test_a_stroke_has_every_pixel_near_it() -> None:
    rng = random.Random(4)
    x, y = np.meshgrid(np.arange(300), np.arange(200), indexing="ij")
    at = np.stack([x.ravel() + 0.5, y.ravel() + 0.5], axis=1)
    for _ in range(60):
        a = np.array([rng.uniform(-50, 350), rng.uniform(-50, 250)])
        b = np.array([rng.uniform(-50, 350), rng.uniform(-50, 250)])
        radius = rng.choice((None, rng.uniform(0.2, 15), rng.uniform(15, 400)))
        reach = rng.uniform(1.5, 9.0)
        if radius is None:
            away = away_from_line(at, a, b)
        else:
            away = np.abs(np.hypot(*(at - a).T) - radius)
        end = a if radius is not None else b
        path = Path((float(a[0]), float(a[1])), (float(end[0]), float(end[1])), radius)
        found = stroke(path, reach, (300, 200))
        assert len(found.x) == (away <= reach).sum(), path
        assert np.allclose(found.away, away[found.x * 200 + found.y], atol=1e-6)


# --- words ------------------------------------------------------------------------------


@pytest.mark.parametrize("zoom", [1.0, 2.5, 8.0])
@pytest.mark.parametrize(
    "lesson", [one for one in all_lessons() if not one.needs_artwork], ids=lambda one: one.key
)
def test_words_stand_in_sight_and_off_each_other(lesson: Lesson, zoom: float) -> None:
    walk = begin(lesson, load_texts(), Given(), 7)
    for index in range(len(walk.course.steps)):
        shown = [step for step in walk.course.steps[: index + 1]]
        scene = shown[-1].scene
        marks: list[Mark] = []
        for step in shown:
            marks = [] if step.starts_over else marks
            marks += step.marks if step.scene == scene else ()
        bounds = marks_bounds(marks)
        if bounds is None:
            continue
        camera = fit_camera(bounds, *VIEW.size, margin=0.15)
        camera = camera.zoomed_at(VIEW.width / 2, VIEW.height / 2, zoom)
        _, log = drawn(tuple(marks), camera)
        if zoom == 1.0:
            wanted = [m.label for m in marks if not isinstance(m, RightAngle) and m.label]
            assert sorted(one.text for one in log) == sorted(wanted)
        for one in log:
            assert not one.is_cut
            assert VIEW.contains(one.box)
        for one, other in combinations(log, 2):
            assert not one.box.colliderect(other.box), (index, one.text, other.text)


def test_words_keep_off_the_lines_where_they_can() -> None:
    mark = Segment((10.0, 40.0), (100.0, 40.0), "90 mm")
    _, log = drawn((mark,))
    y = CAMERA.to_px(0.0, 40.0)[1] + VIEW.y
    assert log[0].box.bottom < y or log[0].box.top > y
    ring = Ring((60.0, 60.0), 30.0, "60 mm")
    _, log = drawn((ring,))
    box = log[0].box.move(-VIEW.x, -VIEW.y)
    middle = px(ring.center)
    corners = np.array([box.topleft, box.topright, box.bottomleft, box.bottomright], float)
    assert np.hypot(*(corners - middle).T).min() > 30.0 * CAMERA.px_per_mm
    assert box.centerx > middle[0], "at the upper right"
    assert box.centery < middle[1]


def test_what_is_out_of_sight_has_no_word() -> None:
    far = Camera(7.3, 500.0, 500.0)
    pixels, log = drawn(
        (Ring((60, 60), 20, "a"), Dot((0, 0), "b"), Segment((0, 0), (9, 9), "c")), far
    )
    assert log == []
    assert (pixels == GROUND).all()


def test_lines_are_told_from_what_is_behind_them() -> None:
    """Each line against its light edge; the edge against ink, the line against paper."""
    for name in (theme.DARK, theme.LIGHT):
        theme.use(name)
        for color in (theme.OTHER, theme.INK_LINE):
            assert theme.contrast(color, theme.LIFT) >= 3
            assert theme.contrast(color, theme.PAGE) >= 3
        assert theme.contrast(theme.LIFT, (24, 52, 82)) >= 3
    theme.use("dark")
    assert NEW_PX > 1.5 * OLD_PX, "the newest step stands out by weight too"
