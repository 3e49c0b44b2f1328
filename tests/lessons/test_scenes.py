"""Scenes: shapes against closed forms, and their picture against shapely, pixel by pixel."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from viewer.artwork.model import Points
from viewer.fit import fit_artwork
from viewer.lessons.scenes import (
    MIDDLE_MM,
    PAGE_MM,
    ScenePicture,
    artwork_of,
    bare_cup,
    disc,
    disc_uncertainty_mm,
    points_of,
    rectangle,
    three_lobes,
    three_lobes_corners,
    three_lobes_uncertainty_mm,
    turned,
)

STAR = np.array(
    [(80 + r * math.cos(a), 60 + r * math.sin(a)) for r, a in
     zip(itertools.cycle((30.0, 11.0)), np.arange(14) * math.pi / 7, strict=False)]
)  # fmt: skip


def alpha(parts: list[Points], px_per_mm: float, at: tuple[float, float] = (0.0, 0.0)) -> Points:
    """Coverage of the whole page from ``at`` on, 0 to 1."""
    width, height = (math.ceil(size * px_per_mm) for size in PAGE_MM)
    drawn = ScenePicture(parts).draw(*at, px_per_mm, width, height)
    assert drawn.shape == (height, width, 4) and drawn.dtype == np.uint8
    return drawn[..., 3] / 255.0


def extent(found: Points, px_per_mm: float) -> tuple[float, float, float, float]:
    """Where the drawn ink ends, in px, counting the coverage of the outermost pixels."""
    across, down = found.max(axis=0), found.max(axis=1)
    ends = []
    for line in (across, down):
        (inked,) = np.nonzero(line)
        first, last = int(inked[0]), int(inked[-1])
        ends.append((first + 1 - line[first], last + line[last]))
    return (ends[0][0], ends[1][0], ends[0][1], ends[1][1])


# --- the picture ----------------------------------------------------------------------


def test_a_square_covers_its_own_pixels_and_no_other() -> None:
    found = alpha([rectangle(60, 60)], 10.0)
    assert np.array_equal(np.unique(found), [0.0, 1.0])
    assert [int(i) for i in np.nonzero(found.any(axis=0))[0][[0, -1]]] == [500, 1099]
    assert [int(i) for i in np.nonzero(found.any(axis=1))[0][[0, -1]]] == [300, 899]


@settings(max_examples=60, deadline=None)
@given(
    size=st.tuples(st.floats(2, 70), st.floats(2, 70)),
    angle=st.floats(-90, 90),
    px_per_mm=st.floats(2.0, 12.0),
)
def test_extent_within_a_quarter_pixel_and_area_of_any_turned_rectangle(
    size: tuple[float, float], angle: float, px_per_mm: float
) -> None:
    part = turned(rectangle(*size), angle)
    found = alpha([part], px_per_mm)
    assert found.sum() / px_per_mm**2 == pytest.approx(size[0] * size[1], rel=0.01, abs=0.02)
    low, high = part.min(axis=0) * px_per_mm, part.max(axis=0) * px_per_mm
    x0, y0, x1, y1 = extent(found, px_per_mm)
    # A slanted corner fills little of its pixel: the drawing may end up to a pixel inside
    # there, but never outside.
    assert x0 >= low[0] - 0.25 and y0 >= low[1] - 0.25
    assert x1 <= high[0] + 0.25 and y1 <= high[1] + 0.25
    assert x0 <= low[0] + 1.25 and y0 <= low[1] + 1.25
    assert x1 >= high[0] - 1.25 and y1 >= high[1] - 1.25


@pytest.mark.parametrize("px_per_mm", [3.7, 10.0, 12.5])
@pytest.mark.parametrize("off", [(0.0, 0.0), (0.013, 0.037), (0.05, 0.05)])
def test_extent_of_an_upright_square_is_within_a_quarter_pixel(
    px_per_mm: float, off: tuple[float, float]
) -> None:
    middle = (MIDDLE_MM[0] + off[0], MIDDLE_MM[1] + off[1])
    found = alpha([rectangle(60, 40, middle)], px_per_mm)
    wanted = [
        v * px_per_mm for v in (middle[0] - 30, middle[1] - 20, middle[0] + 30, middle[1] + 20)
    ]
    assert np.allclose(extent(found, px_per_mm), wanted, atol=0.25)
    assert found.sum() / px_per_mm**2 == pytest.approx(2400.0, rel=1e-3)


@pytest.mark.parametrize(
    "part",
    [disc(60), three_lobes(60), STAR, turned(rectangle(80, 3), 31.0)],
    ids=["disc", "lobes", "star", "slanted bar"],
)
def test_coverage_pixel_by_pixel(part: Points) -> None:
    px_per_mm = 2.0
    found = alpha([part], px_per_mm)
    polygon = shapely.Polygon(part * px_per_mm)
    assert found.sum() == pytest.approx(polygon.area, rel=1e-3)
    rng = np.random.default_rng(4)
    inked = np.argwhere((found > 0) & (found < 1))
    for row, column in rng.choice(inked, 60):
        pixel = shapely.box(column, row, column + 1, row + 1)
        truth = polygon.intersection(pixel).area
        assert found[row, column] == pytest.approx(truth, abs=0.04)


def test_a_hole_is_paper_and_ink_within_it_is_ink() -> None:
    parts = [rectangle(60, 60), turned(rectangle(30, 30), 17.0), disc(9)]
    found = alpha(parts, 10.0)
    truth = 3600.0 - 900.0 + shapely.Polygon(parts[2]).area
    assert found.sum() / 100.0 == pytest.approx(truth, rel=1e-3)
    assert artwork_of("holes", parts).ink_area_mm2 == pytest.approx(truth, rel=1e-9)
    assert found[600, 800] == 1.0 and found[500, 800] == 0.0 and found[350, 800] == 1.0


def test_a_window_shows_its_part_of_the_page() -> None:
    parts = [STAR]
    whole = alpha(parts, 8.0)
    part = ScenePicture(parts).draw(60.0, 45.0, 8.0, 130, 77)[..., 3] / 255.0
    assert np.array_equal(part, whole[360:437, 480:610])


@pytest.mark.parametrize(
    ("at", "level"),
    [((75.0, 55.0), 255), ((-500.0, 0.0), 0), ((0.0, 900.0), 0), ((300.0, 50.0), 0)],
)
def test_windows_within_and_beyond_the_ink(at: tuple[float, float], level: int) -> None:
    drawn = ScenePicture([rectangle(60, 60)]).draw(*at, 5.0, 20, 20)
    assert np.unique(drawn[..., 3]).tolist() == [level]
    assert level or not drawn.any()


def test_no_parts_draw_nothing() -> None:
    assert not ScenePicture([]).draw(0.0, 0.0, 5.0, 40, 30).any()


# --- shapes ---------------------------------------------------------------------------


def test_turned_is_counter_clockwise_as_seen() -> None:
    # The page's y runs down: (1, 0) turned by +90 degrees is (0, -1).
    about = (2.0, 3.0)
    assert turned(np.array([(3.0, 3.0)]), 90.0, about) == pytest.approx(np.array([(2.0, 2.0)]))


def test_a_disc_is_known_to_its_uncertainty() -> None:
    part = disc(60)
    reach = np.hypot(*(part - MIDDLE_MM).T)
    assert reach == pytest.approx(30.0, abs=1e-12)
    circle = shapely.Point(MIDDLE_MM).buffer(30.0, quad_segs=4000)
    gap = circle.hausdorff_distance(shapely.Polygon(part))
    assert gap <= disc_uncertainty_mm(60) + 1e-9
    assert disc_uncertainty_mm(60) == pytest.approx(gap, rel=0.01)
    assert disc_uncertainty_mm(60) < 0.001


def test_three_lobes_are_the_published_reuleaux_triangle() -> None:
    # Width 60: circle 69.2820, incircle's radius 25.3590, area 2537.1753, perimeter
    # 188.4956 (P. Bourke's notes on the Reuleaux triangle; check values, section 1).
    polygon = shapely.Polygon(three_lobes(60))
    # The polygon lies inside: two thirds of a sagitta along the whole perimeter are missing.
    missing = three_lobes_uncertainty_mm(60) * 188.4956 * 2 / 3
    assert polygon.area == pytest.approx(2537.1753 - missing, abs=1e-3)
    assert polygon.length == pytest.approx(188.4956, abs=0.001)
    inner = polygon.exterior.distance(shapely.Point(MIDDLE_MM))
    assert inner == pytest.approx(25.3590, abs=0.001)
    fit = fit_artwork(artwork_of("lobes", [three_lobes(60)]), [bare_cup(65)])
    assert fit.smallest_circle.diameter == pytest.approx(69.2820, abs=1e-4)
    assert fit.longest_diagonal.length == pytest.approx(60.0, abs=1e-9)


@given(st.floats(0, 180))
def test_three_lobes_are_as_wide_every_way(angle: float) -> None:
    part = turned(three_lobes(60), angle)
    width = float(np.ptp(part[:, 0]))
    assert 60.0 - 2 * three_lobes_uncertainty_mm(60) <= width <= 60.0 + 1e-9


def test_three_lobes_begin_at_their_corners() -> None:
    polygon = shapely.Polygon(three_lobes(60))
    corners = three_lobes_corners(60)
    assert corners[0] == pytest.approx((80.0, 60.0 - 60.0 / math.sqrt(3.0)))
    for corner in corners:
        assert polygon.exterior.distance(shapely.Point(corner)) < 1e-9
    for one, other in itertools.combinations(corners, 2):
        assert math.dist(one, other) == pytest.approx(60.0, abs=1e-9)


def test_artwork_is_known_by_its_shape() -> None:
    one = artwork_of("one", [rectangle(20, 10)])
    assert one.page_mm == PAGE_MM and one.outline.uncertainty_mm == 0.0
    assert one.ink_area_mm2 == pytest.approx(200.0)
    assert one.sha256 != artwork_of("one", [rectangle(20, 11)]).sha256
    assert one.sha256 != artwork_of("other", [rectangle(20, 10)]).sha256
    with pytest.raises(ValueError, match="needs ink"):
        artwork_of("none", [])


def test_a_bare_cup_takes_its_own_size() -> None:
    cup = bare_cup(60)
    assert cup.max_image_diameter_mm == cup.ring_inner_diameter_mm == 60.0


def test_corners_for_marks_are_plain_numbers() -> None:
    assert points_of(rectangle(2, 4, (0.0, 0.0))) == ((-1, -2), (1, -2), (1, 2), (-1, 2))
    assert all(type(v) is float for corner in points_of(rectangle(2, 4)) for v in corner)
