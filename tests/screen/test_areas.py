"""Pad and etch area on screen: outlines against closed forms, lines in pixels, the hatch."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pygame
import pygame.surfarray
import pytest
from numpy.typing import NDArray

from viewer.press.limits import EtchArea, Pad, PressLimits
from viewer.press.outlines import etch_outline_mm, on_page_mm, pad_outline_mm
from viewer.press.press import Press
from viewer.screen import model, theme
from viewer.screen.area_lines import STYLES, AreaPainter, outlines_of
from viewer.screen.desk import Desk
from viewer.screen.highlight import PALETTE, Highlight, Inside, polygon_spans
from viewer.screen.layout import layout_for
from viewer.screen.overlay import allowed_px, overlay_place, travel_middle
from viewer.screen.painter import Painter
from viewer.screen.pixels import indexed_surface
from viewer.screen.text import Texts

if TYPE_CHECKING:
    from tests.screen.conftest import Hand


def press_of(page: NDArray[np.float64], center: tuple[float, float], turn_deg: float):  # type: ignore[no-untyped-def]
    """q = R(turn)(p - center), written out anew."""
    t = math.radians(turn_deg)
    x, y = page[:, 0] - center[0], page[:, 1] - center[1]
    return np.stack([math.cos(t) * x + math.sin(t) * y, -math.sin(t) * x + math.cos(t) * y], 1)


# --- outlines -------------------------------------------------------------------


def test_an_oval_lies_on_its_ellipse() -> None:
    points = pad_outline_mm(Pad("oval", 100, 60))
    x, y = points[:, 0] / 50, points[:, 1] / 30
    assert np.abs(x * x + y * y - 1).max() < 1e-12


def test_a_pad_turned_a_quarter_swaps_its_sides() -> None:
    points = pad_outline_mm(Pad("oval", 100, 60, turn_deg=90.0))
    x, y = points[:, 0] / 30, points[:, 1] / 50
    assert np.abs(x * x + y * y - 1).max() < 1e-12


def test_a_pad_turned_counter_clockwise_raises_its_right_end() -> None:
    # Front is down on screen, so up is negative.
    points = pad_outline_mm(Pad("rect", 100, 20, turn_deg=30.0))
    right = points[points[:, 0].argmax()]
    assert right[1] < 0
    want = 50 * math.cos(math.radians(30)) + 10 * math.sin(math.radians(30))
    assert right[0] == pytest.approx(want)


def test_a_rounded_box_keeps_its_sides_and_corners() -> None:
    points = pad_outline_mm(Pad("rect", 100, 60, 8.0, (3.0, -2.0))) - np.array([3.0, -2.0])
    beyond = np.maximum(np.abs(points) - np.array([42.0, 22.0]), 0)
    assert np.hypot(*beyond.T) == pytest.approx(8.0)
    inset = pad_outline_mm(Pad("rect", 100, 60, 8.0), 10.0)
    assert np.abs(inset).max(axis=0) == pytest.approx((40.0, 20.0))
    assert len(inset) == 4  # nothing is left of the corners' radius


def test_a_round_pad_inside_its_margin() -> None:
    assert np.hypot(*pad_outline_mm(Pad("round", 80, 80), 3.0).T) == pytest.approx(37.0)


@pytest.mark.parametrize("inset", [2.0, 17.0, 26.0])
def test_an_oval_inside_its_margin_keeps_its_distance(inset: float) -> None:
    # The least radius of curvature is 30^2/50 = 18: beyond it the parallel curve crosses itself.
    inner = pad_outline_mm(Pad("oval", 100, 60), inset)
    angle = np.linspace(0, 2 * math.pi, 20001)
    edge = np.stack([50 * np.cos(angle), 30 * np.sin(angle)], axis=1)
    away = np.array([np.hypot(*(edge - point).T).min() for point in inner])
    assert away == pytest.approx(inset, abs=2e-3)
    one = np.roll(inner, -1, 0) - inner
    two = np.roll(one, -1, 0)
    assert (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] > -1e-9).all()  # convex


def test_an_etch_area_is_a_rectangle() -> None:
    points = etch_outline_mm(EtchArea(90, 72, (0.0, 5.0)), 1.0)
    assert sorted(map(tuple, points.tolist())) == [(-44, -30), (-44, 40), (44, -30), (44, 40)]


def test_the_press_frame_comes_back() -> None:
    points = pad_outline_mm(Pad("rect", 70, 30, 5.0, (4.0, -6.0), 12.0))
    page = on_page_mm(points, (58.0, 33.0), 37.0)
    assert press_of(page, (58.0, 33.0), 37.0) == pytest.approx(points, abs=1e-12)


# --- pixels ---------------------------------------------------------------------


LIMITS = PressLimits(pad=Pad("oval", 84, 56, margin_mm=3.0), etch=EtchArea(96, 70, (0.0, 4.0)))


CENTER = (423, 411)
PX_PER_MM = 7.3


def drawn(limits: PressLimits, overlay_turn_deg: float) -> NDArray[np.int64]:
    """How far each pixel is from the page's color, with nothing but the lines on it."""
    surface = pygame.Surface((850, 830))
    surface.fill(theme.PAGE)
    painter = AreaPainter(Texts())
    painter.draw(surface, layout_for((1600, 1000)), limits, CENTER, PX_PER_MM, overlay_turn_deg)
    away = np.abs(pygame.surfarray.array3d(surface).astype(int) - np.array(theme.PAGE))
    return away.max(axis=2)


@pytest.mark.parametrize("turn", [0.0, 33.0, -120.0, 90.0])
@pytest.mark.parametrize("part", ["pad", "etch"])
def test_drawn_lines_lie_on_the_closed_form_and_go_all_around(turn: float, part: str) -> None:
    pad, etch = Pad("oval", 84, 56), EtchArea(96, 70, (0.0, 4.0))
    limits = PressLimits(pad=pad) if part == "pad" else PressLimits(etch=etch)
    at = np.argwhere(drawn(limits, -turn) > 40) + 0.5 - np.array(CENTER)
    q = press_of(at / PX_PER_MM, (0.0, 0.0), turn)
    if part == "pad":
        angle = np.arctan2(q[:, 1] / 28, q[:, 0] / 42)
        # First-order distance to the ellipse; exact on it.
        f = (q[:, 0] / 42) ** 2 + (q[:, 1] / 28) ** 2 - 1
        away = np.abs(f) / (2 * np.hypot(q[:, 0] / 42**2, q[:, 1] / 28**2))
    else:
        q = q - np.array([0.0, 4.0])
        angle = np.arctan2(q[:, 1] / 35, q[:, 0] / 48)
        beyond = np.maximum(np.abs(q) - np.array([48, 35]), 0)
        inside = np.minimum(48 - np.abs(q[:, 0]), 35 - np.abs(q[:, 1]))
        away = np.where(inside > 0, inside, np.hypot(*beyond.T))
    assert len(away) > 2000
    assert (away * PX_PER_MM).max() < 2.3
    assert (away * PX_PER_MM).mean() < 0.8
    around = np.histogram(angle, bins=36, range=(-math.pi, math.pi))[0]
    assert (around > 0).all()


def model_session(desk: Desk) -> model.Session:
    assert desk.session is not None
    return desk.session


def test_patterns_differ_and_margins_are_drawn() -> None:
    assert [name for name, _ in outlines_of(LIMITS)] == ["etch", "pad margin", "pad"]
    edge = PressLimits(pad=Pad("oval", 84, 56))
    both = PressLimits(pad=Pad("oval", 84, 56, margin_mm=3.0))
    assert (drawn(edge, 0.0) > 40).sum() * 1.2 < (drawn(both, 0.0) > 40).sum()
    shares = []
    for style in (STYLES["pad"], STYLES["etch"]):
        shares.append((len(style.strokes), sum(b - a for a, b in style.strokes) / style.period))
    assert shares[0] != shares[1]


def test_lines_leave_the_rest_of_the_window_alone(desk: Desk) -> None:
    desk.set_limits(replace(LIMITS, pad=Pad("rect", 400, 300)))
    surface = pygame.Surface(desk.size)
    surface.fill((1, 2, 3))
    view = desk.layout.view
    surface.set_clip(view)
    now = model_session(desk)
    place = overlay_place(now, desk.camera, desk.layout)  # type: ignore[arg-type]
    painter = AreaPainter(Texts())
    painter.draw(surface, desk.layout, now.limits, place.center, place.px_per_mm, 12.0)
    surface.set_clip(None)
    seen = (pygame.surfarray.array3d(surface) != (1, 2, 3)).any(axis=2)
    assert seen.any()
    seen[view.left : view.right, view.top : view.bottom] = False
    assert not seen.any()


@pytest.mark.parametrize("size", [(1100, 700), (1600, 1000), (3840, 2160)])
def test_lines_are_named(hand: Hand, size: tuple[int, int]) -> None:
    hand.send(pygame.VIDEORESIZE, w=size[0], h=size[1], size=size)
    hand.desk.set_limits(LIMITS)
    painter = Painter()
    painter.texts.log = []
    painter.draw(pygame.Surface(size), hand.desk.frame())
    names = [t for t in painter.texts.log if t.where == "areas"]
    assert sorted(t.text for t in names) == ["etch area", "pad"]
    assert all(hand.desk.layout.view.contains(t.rect) and not t.is_cut for t in names)
    assert not names[0].rect.colliderect(names[1].rect)


def test_colors_of_the_lines_are_seen() -> None:
    for color in (theme.PAD, theme.ETCH):
        for ground in (theme.PAGE, theme.BENCH):
            assert theme.contrast(color, ground) >= 3, (color, ground)
    for color in (theme.PAD_TEXT, theme.ETCH_TEXT):
        assert theme.contrast(color, theme.PILL) >= 4.5


@pytest.mark.parametrize(("travel", "turn", "way"), [
    ("front-back", 0.0, (-1, 0)),
    ("left-right", 0.0, (0, 1)),
    # Artwork turned by +90 means an overlay turned by -90: its left is seen above.
    ("front-back", 90.0, (0, -1)),
])  # fmt: skip
def test_the_travel_arrow_stands_beside_the_travel(
    desk: Desk, travel: str, turn: float, way: tuple[int, int]
) -> None:
    now = replace(model_session(desk), press=Press(travel=travel))  # type: ignore[arg-type]
    now = model.with_turn(now, turn)
    place = overlay_place(now, desk.camera, desk.layout)  # type: ignore[arg-type]
    x, y = travel_middle(desk.layout, now, place)
    off = np.array([x - place.center[0], y - place.center[1]])
    assert off / np.hypot(*off) == pytest.approx(way, abs=1e-9)


# --- hatch ----------------------------------------------------------------------


def test_spans_of_a_turned_box_are_those_of_its_sides() -> None:
    box = np.array([[0.0, -50.0], [50.0, 0.0], [0.0, 50.0], [-50.0, 0.0]])
    at = np.array([-60.0, -30.0, 0.25, 49.0])
    left, right = polygon_spans(box, at)
    assert left[0] > right[0]
    assert right[1:] == pytest.approx([20.0, 49.75, 1.0])
    assert left[1:] == pytest.approx([-20.0, -49.75, -1.0])


def test_the_hatch_is_exactly_the_ink_beyond_the_intersection() -> None:
    rng = np.random.default_rng(8)
    codes = (rng.random((180, 240)) < 0.5).astype(np.uint8) * 2
    ellipse = pad_outline_mm(Pad("oval", 150, 90, turn_deg=25.0))
    inner = pad_outline_mm(Pad("oval", 130, 76, turn_deg=25.0))
    box = etch_outline_mm(EtchArea(140.0, 100.0, (6.0, -3.0)))
    target = pygame.Surface((240, 180))
    target.fill((9, 9, 9))
    Highlight(indexed_surface(codes, PALETTE), (0, 0), 6).draw(
        target, (0, 0), (115, 92), Inside(60.0, (inner, box)), Inside(70.0, (ellipse, box))
    )
    seen = pygame.surfarray.array3d(target).transpose(1, 0, 2)
    y, x = np.mgrid[0:180, 0:240]
    q = np.stack([x + 0.5 - 115, y + 0.5 - 92], axis=-1)
    t = math.radians(-25)
    own = np.stack(
        [
            math.cos(t) * q[..., 0] + math.sin(t) * q[..., 1],
            -math.sin(t) * q[..., 0] + math.cos(t) * q[..., 1],
        ],
        axis=-1,
    )

    def within(a: float, b: float, radius: float):  # type: ignore[no-untyped-def]
        oval = (own[..., 0] / a) ** 2 + (own[..., 1] / b) ** 2 < 1
        inside = (np.abs(q[..., 0] - 6) < 70) & (np.abs(q[..., 1] + 3) < 50)
        return oval & inside & (np.hypot(*np.moveaxis(q, -1, 0)) < radius)

    image, hard = within(65, 38, 60), within(75, 45, 70)
    drawn = (seen != 9).any(axis=2)
    wrong = drawn != ((codes > 0) & ~image)
    assert wrong.sum() <= 2  # a pixel center on the very edge of the 720-gon
    amber = (seen == theme.ORANGE).all(axis=2)
    vermilion = (seen == theme.VERMILION).all(axis=2)
    assert amber.any()
    assert vermilion.any()
    assert (amber & ~(hard & ~image)).sum() <= 2
    assert (vermilion & hard).sum() <= 2


def test_what_is_hatched_turns_with_the_overlay(desk: Desk) -> None:
    desk.set_limits(replace(LIMITS, etch=None))
    now = model.with_turn(model_session(desk), 90.0)
    place = overlay_place(now, desk.camera, layout_for(desk.size))  # type: ignore[arg-type]
    soft, hard = allowed_px(now, place)
    assert np.abs(hard.polygons[0]).max(axis=0) == pytest.approx(
        np.array([28.0, 42.0]) * place.px_per_mm
    )
    assert np.abs(soft.polygons[0]).max(axis=0) == pytest.approx(
        np.array([25.0, 39.0]) * place.px_per_mm, rel=1e-4
    )
