"""Clearance of each part of the image area, against shapely and the tests' own judge."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from tests.fit.judges import Edge, Values, disc, etch_edge, pad_edge, turning
from viewer.fit.area import Part, etch_part, image_area, pad_part
from viewer.press import Cup, EtchArea, Margin, Pad, PressLimits

CUP = Cup("90", 90.0, 3.0, Margin(0.15, True))

PADS = [
    Pad("round", 60, 60),
    Pad("round", 60, 60, offset_mm=(4.0, -7.0), turn_deg=33.0, margin_mm=2.0),
    Pad("oval", 80, 50),
    Pad("oval", 50, 80, offset_mm=(-3.0, 5.0), turn_deg=-20.0, margin_mm=1.5),
    Pad("oval", 60, 60, margin_mm=1.0),
    Pad("oval", 60, 59.999),
    Pad("oval", 90, 9, turn_deg=200.0),
    Pad("rect", 80, 50),
    Pad("rect", 80, 50, offset_mm=(5.0, 2.0), turn_deg=17.0, margin_mm=3.0),
    Pad("rect", 80, 50, 8, offset_mm=(5.0, 2.0), turn_deg=-117.0, margin_mm=9.0),
    Pad("rect", 80, 50, 25, turn_deg=90.0),
    Pad("rect", 50, 50, 25),
    Pad("rect", 50, 50, 5, turn_deg=-90.0),
]
ETCHES = [EtchArea(80, 60), EtchArea(70, 90, offset_mm=(-6.0, 3.0), margin_mm=4.0)]

PARTS = [
    *((pad_part(pad), pad_edge(pad)) for pad in PADS),
    *((etch_part(etch), etch_edge(etch)) for etch in ETCHES),
    (Part("cup", (0.0, 0.0), 38.25), disc(76.5)),
]


def scattered(count: int, seed: int) -> Values:
    """Points all over, and many on the axes, where branches meet."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(-70.0, 70.0, (count, 2))
    points[::7, 0] = 0.0
    points[1::7, 1] = 0.0
    return points


def clearance(part: Part, points: Values) -> Values:
    return part.clearance_mm(points[:, 0], points[:, 1])


@pytest.mark.parametrize(("part", "edge"), PARTS)
def test_clearance_is_the_judges(part: Part, edge: Edge) -> None:
    points = scattered(1500, seed=1)
    assert np.allclose(clearance(part, points), edge.distance(points), rtol=0, atol=1e-9)


@pytest.mark.parametrize(("part", "edge"), PARTS)
def test_clearance_is_shapelys_signed_distance(part: Part, edge: Edge) -> None:
    """Inside, the distance to a fine polygon's edge; outside too, where the edge is round."""
    points = scattered(300, seed=2)
    shape = edge.polygon()
    spots = shapely.points(points)
    inside = shapely.contains(shape, spots)
    distance = shapely.distance(shape.exterior, spots)
    found = clearance(part, points) + edge.margin
    assert np.allclose(found[inside], distance[inside], rtol=0, atol=1e-4)
    assert (found[~inside] <= 1e-4).all()
    if part.is_round_somewhere:
        assert np.allclose(found[~inside], -distance[~inside], rtol=0, atol=1e-4)
    else:
        # Beyond a sharp corner it is only the distance beyond the nearer side's line.
        assert (found[~inside] >= -distance[~inside] - 1e-9).all()


def test_outside_a_sharp_corner_the_farther_side_counts() -> None:
    part = etch_part(EtchArea(80, 60))
    assert clearance(part, np.array([[43.0, 34.0]]))[0] == pytest.approx(-4.0)
    assert clearance(part, np.array([[44.0, 31.0]]))[0] == pytest.approx(-4.0)
    rounded = pad_part(Pad("rect", 80, 60, 10))
    # Corner's center (30, 20): 5 right and 12 down of the center of a 10 mm round is 3 out.
    assert clearance(rounded, np.array([[35.0, 32.0]]))[0] == pytest.approx(-3.0)


def test_an_offset_and_a_turn_stand_in_the_press_frame() -> None:
    """A pad 60 x 20 turned by +90: 20 across, 60 along. Turned by +30 (counter-clockwise as
    seen, y down) its long axis runs up to the right, through (cos 30, -sin 30)."""
    quarter = pad_part(Pad("rect", 60, 20, turn_deg=90.0))
    assert clearance(quarter, np.array([[10.0, 0.0], [0.0, 30.0]])) == pytest.approx([0.0, 0.0])
    turned = pad_part(Pad("oval", 60, 20, offset_mm=(1.0, 2.0), turn_deg=30.0))
    end = np.array([[1.0 + 30.0 * math.cos(math.pi / 6), 2.0 - 30.0 * math.sin(math.pi / 6)]])
    assert clearance(turned, end)[0] == pytest.approx(0.0, abs=1e-9)
    assert np.allclose(end - [1.0, 2.0], np.array([[30.0, 0.0]]) @ turning(30.0).T)


@pytest.mark.parametrize(("part", "edge"), PARTS)
def test_sides_are_tangents(part: Part, edge: Edge) -> None:
    """Every side has one of the judge's tangents; nothing rounder than a box has any."""
    if part.is_ellipse or part.is_disc:
        assert part.sides() == ()
        return
    normals, reach = edge.tangents(360)
    for nx, ny, far in part.sides():
        nearest = np.hypot(*(normals - np.array([nx, ny])).T).argmin()
        assert (normals[nearest] == pytest.approx((nx, ny), abs=1e-9)) and reach[
            nearest
        ] == pytest.approx(far, abs=1e-9)


def test_the_area_is_the_least_of_its_parts() -> None:
    limits = PressLimits(pad=PADS[3], etch=ETCHES[1])
    points = scattered(500, seed=3)
    edges = [disc(76.5), pad_edge(PADS[3]), etch_edge(ETCHES[1])]
    each = np.stack([edge.distance(points) for edge in edges])
    found, number = image_area(CUP, limits).clearance_mm(points[:, 0], points[:, 1])
    assert np.allclose(found, each.min(axis=0), rtol=0, atol=1e-9)
    assert [part.name for part in image_area(CUP, limits).parts] == ["cup", "pad", "etch"]
    assert np.allclose(each[number, np.arange(len(points))], found, rtol=0, atol=1e-9)


def test_the_hard_area_leaves_the_margins_out() -> None:
    limits = PressLimits(pad=PADS[8], etch=ETCHES[1])
    points = scattered(500, seed=4)
    bare = [disc(84.0)]
    for edge in (pad_edge(PADS[8]), etch_edge(ETCHES[1])):
        bare.append(Edge(edge.kind, edge.a, edge.b, edge.radius, edge.center, edge.turn_deg, 0.0))
    expected = np.stack([edge.distance(points) for edge in bare]).min(axis=0)
    found = image_area(CUP, limits, hard=True).clearance_mm(points[:, 0], points[:, 1])[0]
    assert np.allclose(found, expected, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("one", "two"),
    [
        (Pad("rect", 50, 50, 25), Pad("round", 50, 50)),
        (Pad("oval", 50, 50, turn_deg=12.0), Pad("round", 50, 50)),
    ],
)
def test_different_words_for_one_shape(one: Pad, two: Pad) -> None:
    points = scattered(300, seed=5)
    assert np.allclose(clearance(pad_part(one), points), clearance(pad_part(two), points))


def test_an_oval_comes_near_to_round_without_a_step() -> None:
    points = scattered(300, seed=6)
    disc_part = pad_part(Pad("round", 60, 60))
    for less in (1e-3, 1e-6, 1e-9, 1e-12):
        oval = pad_part(Pad("oval", 60, 60 - less))
        apart = np.abs(clearance(oval, points) - clearance(disc_part, points)).max()
        assert apart <= less + 1e-9
