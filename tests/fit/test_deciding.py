"""Deciding points have one number each: in the window, on the sheet, however it is turned."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fit.artworks import artwork, box
from viewer.fit import (
    Limit,
    Placement,
    circle_points,
    deciding_points,
    fit_artwork,
    is_best_placement,
)
from viewer.fit.deciding import clockwise
from viewer.press import Cup, Pad, Press, PressLimits
from viewer.screen import model
from viewer.screen.overlay import numbered_contacts
from viewer.screen.sheet_writing import judged_of
from viewer.sheets.fit_words import blocks_of, points_of

CUP = Cup("90", 90.0)
PAD = Pad("oval", 60.0, 40.0)


def points(limits: tuple[Limit, ...]) -> list[tuple[float, float]]:
    return [limit.point_mm for limit in limits]


def test_a_rectangle_is_counted_clockwise_from_its_top_right_corner() -> None:
    fit = fit_artwork(artwork(box(40.0, 30.0, 10.0, 20.0)), [CUP])
    # Page y runs down: (50, 20) is the corner at the top right.
    corners = [(50.0, 20.0), (50.0, 50.0), (10.0, 50.0), (10.0, 20.0)]
    found = points(circle_points(fit))
    assert found == [corner for corner in corners if corner in found] and len(found) >= 2
    limits = tuple(Limit(corner) for corner in reversed(corners))
    assert points(clockwise(fit, limits)) == corners


def test_a_point_at_the_very_top_is_the_first() -> None:
    fit = fit_artwork(
        artwork(np.array([(20.0, 0.0), (40.0, 20.0), (20.0, 40.0), (0.0, 20.0)])), [CUP]
    )
    x, y = fit.smallest_circle.center
    for away in (0.0, -1e-12, 1e-12):
        top = Limit((x + away, y - 20.0))
        assert clockwise(fit, (Limit((x + 20.0, y)), top))[0] is top


@given(
    st.lists(
        st.tuples(st.floats(-40.0, 40.0), st.floats(-40.0, 40.0)), min_size=3, max_size=9
    ).filter(lambda ps: min(abs(complex(*p)) for p in ps) > 1.0)
)
def test_the_order_is_that_of_compass_bearings(places: list[tuple[float, float]]) -> None:
    """Bearings by complex numbers, from the top, clockwise as seen."""
    fit = fit_artwork(artwork(box(40.0, 30.0)), [CUP])
    x, y = fit.smallest_circle.center
    ordered = clockwise(fit, tuple(Limit((x + dx, y + dy)) for dx, dy in places))
    bearings = []
    for limit in ordered:
        up = complex(y - limit.point_mm[1], limit.point_mm[0] - x)
        bearing = math.degrees(cmath.phase(up)) % 360.0
        bearings.append(0.0 if bearing > 360.0 - 1e-5 else bearing)
    assert all(one <= other + 1e-5 for one, other in pairwise(bearings))


@pytest.mark.parametrize("limits", [PressLimits(), PressLimits(pad=PAD)], ids=["cup", "pad"])
@pytest.mark.parametrize("turn_deg", [0.0, 15.0, -100.0])
def test_window_and_sheet_give_the_same_numbers(limits: PressLimits, turn_deg: float) -> None:
    hull = np.array([(12.0, 18.0), (40.0, 10.0), (58.0, 20.0), (52.0, 33.0), (20.0, 34.0)])
    press = Press(cups=(CUP,), limits=limits)
    session = model.start_session(artwork(hull, 0.01), press)
    assert is_best_placement(session.cup_fit, session.placement)
    if limits.pad is not None:
        assert set(numbered_contacts(session)) != set(points(circle_points(session.fit)))
    moved = model.with_turn(model.moved(session, 0.5, 0.0), turn_deg)
    for one in (session, moved):
        judged = judged_of(one)
        assert numbered_contacts(one) == points(points_of(judged)) != []
        (setting, *_) = blocks_of(judged, "so")
        (line,) = (line for line in setting.paragraphs if line.startswith("Deciding ink"))
        for number, point in enumerate(numbered_contacts(one), 1):
            right, front = judged.to_press(point)
            across = f"{abs(right):.2f} mm {'right' if right >= 0 else 'left'}"
            along = f"{abs(front):.2f} mm to the {'front' if front >= 0 else 'back'}"
            assert f"{number}: {across}, {along}" in line
    assert numbered_contacts(moved) == points(circle_points(moved.fit))


def test_what_touches_the_pad_is_numbered_at_the_best_place_only() -> None:
    fit = fit_artwork(artwork(box(40.0, 30.0), 0.01), [CUP], limits=PressLimits(pad=PAD))
    (cup_fit,) = fit.cups
    best = cup_fit.best
    exact = Placement(best.center_mm, best.turn_deg)
    for at in (exact, best.settable.placement):
        assert set(deciding_points(fit, cup_fit, at)) == set(cup_fit.limits)
        assert {limit.part for limit in deciding_points(fit, cup_fit, at)} == {"pad"}
    off = Placement((best.center_mm[0] + 1.0, best.center_mm[1]), best.turn_deg)
    assert deciding_points(fit, cup_fit, off) == circle_points(fit)


def test_while_the_fit_is_of_other_limits_the_circle_is_numbered() -> None:
    press = Press(cups=(CUP,), limits=PressLimits(pad=PAD))
    session = model.start_session(artwork(box(40.0, 30.0), 0.01), press)
    stale = replace(session, limits=PressLimits())
    assert not stale.is_fit_current
    assert numbered_contacts(stale) == points(circle_points(stale.fit))
