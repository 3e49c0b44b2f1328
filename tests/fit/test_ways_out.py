"""The ways out against closed forms; none may promise more than the judge confirms."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.fit.artworks import artwork, box, reading, ring
from viewer.artwork.model import ArtworkWarning
from viewer.errors import Cancelled
from viewer.fit import (
    Placement,
    Verdict,
    WayKind,
    WaysOut,
    WaysState,
    fit_artwork,
    place,
    ways_out,
)
from viewer.fit.ways_out import resized
from viewer.press import EXAMPLE_CUPS, Angles, Cup, Hold, Margin, Pad, PressLimits

NO_MARGIN = Margin(0.0, True)


def plain_cup(radius_mm: float) -> Cup:
    """A cup whose image circle has exactly this radius."""
    return Cup(f"{2 * radius_mm:g}", 2 * radius_mm, 0.0, NO_MARGIN)


def ways(
    art: object,
    cups: tuple[Cup, ...],
    placement: Placement,
    limits: PressLimits | None = None,
    index: int = 0,
) -> WaysOut:
    fit = fit_artwork(art, cups, limits=limits)  # type: ignore[arg-type]
    return ways_out(fit, fit.cups[index], placement)


def kinds(found: WaysOut) -> dict[str, object]:
    return {str(way.kind): way for way in found.ways}


def test_the_least_shift_of_a_disc_is_along_the_line_of_centers() -> None:
    # Ink of radius 20 in a circle of 30 fits as long as the centers are within 10.
    found = ways(artwork(ring(20.0, (50.0, 40.0))), (plain_cup(30.0),), Placement((65.0, 60.0)))
    assert found.state is WaysState.FIXABLE
    shift = next(w for w in found.ways if w.kind is WayKind.SHIFT)
    gone = math.dist(shift.placement.center_mm, (65.0, 60.0))
    assert gone == pytest.approx(25.0 - 10.0, abs=0.02)
    x, y = shift.placement.center_mm
    assert (x - 65.0) / (y - 60.0) == pytest.approx(15.0 / 20.0, abs=0.003)
    assert shift.placed.verdict is Verdict.FITS
    best = next(w for w in found.ways if w.kind is WayKind.BEST)
    assert best.placed.clearance_mm == pytest.approx(10.0, abs=0.01)


def test_the_least_shift_into_a_corner_of_two_arcs() -> None:
    # Two dots 48 apart in a circle of 25: the centers allowed are a lens with its corners
    # 7 above and below the middle; from far above the nearest is the corner itself.
    two = artwork(np.array([(26.0, 50.0), (74.0, 50.0)]))
    found = ways(two, (plain_cup(25.0),), Placement((50.0, 20.0)))
    shift = next(w for w in found.ways if w.kind is WayKind.SHIFT)
    assert shift.placement.center_mm[0] == pytest.approx(50.0, abs=0.02)
    assert shift.placement.center_mm[1] == pytest.approx(43.0, abs=0.05)
    assert shift.placement.center_mm[1] >= 43.0


def test_no_smaller_shift_in_any_direction_fits() -> None:
    rng = np.random.default_rng(4)
    for _ in range(6):
        art = artwork(np.array([50.0, 50.0]) + rng.uniform(-22, 22, (7, 2)), 0.003)
        cup = plain_cup(30.0)
        start = Placement((float(rng.uniform(62, 75)), float(rng.uniform(25, 40))))
        found = kinds(ways(art, (cup,), start))
        if "shift" not in found:
            continue
        gone = math.dist(found["shift"].placement.center_mm, start.center_mm)  # type: ignore[attr-defined]
        for angle in np.linspace(0, 2 * math.pi, 720, endpoint=False):
            reach = gone - 0.03
            at = (
                start.center_mm[0] + reach * math.cos(angle),
                start.center_mm[1] + reach * math.sin(angle),
            )
            assert place(art, cup, Placement(at)).verdict is not Verdict.FITS


def test_the_least_turn_of_a_bar_under_a_narrow_pad() -> None:
    # A bar of 60 x 10 under a pad of 80 x 40: turned by t it reaches 30 sin t + 5 cos t
    # up, which is 20 at t = 2 atan x with 25 x^2 - 60 x + 15 = 0, x = 0.28377.
    bar = artwork(box(60.0, 10.0, 20.0, 45.0))
    limits = PressLimits(pad=Pad("rect", 80.0, 40.0))
    found = kinds(ways(bar, (plain_cup(60.0),), Placement((50.0, 50.0), 60.0), limits))
    closed = 2 * math.degrees(math.atan((60 - math.sqrt(60**2 - 4 * 25 * 15)) / 50))
    turn = found["turn"].placement.turn_deg  # type: ignore[attr-defined]
    assert turn == pytest.approx(closed, abs=0.101)
    assert turn <= closed


def test_turning_is_no_way_out_of_a_round_cup_or_where_it_is_forbidden() -> None:
    bar = artwork(box(60.0, 10.0, 20.0, 45.0))
    alone = kinds(ways(bar, (plain_cup(32.0),), Placement((50.0, 60.0), 60.0)))
    assert "turn" not in alone
    assert "shift" in alone
    limits = PressLimits(pad=Pad("rect", 30.0, 80.0), angles=Angles("none"))
    held = ways(bar, (plain_cup(60.0),), Placement((50.0, 50.0)), limits)
    assert "turn" not in kinds(held)
    assert "best" not in kinds(held)


def test_an_angle_beyond_what_the_press_turns_is_not_offered() -> None:
    bar = artwork(box(60.0, 10.0, 20.0, 45.0))
    limits = PressLimits(pad=Pad("rect", 30.0, 80.0), angles=Angles("within", 30.0))
    assert "turn" not in kinds(ways(bar, (plain_cup(60.0),), Placement((50.0, 50.0)), limits))
    free = replace(limits, angles=Angles("step", 45.0))
    found = kinds(ways(bar, (plain_cup(60.0),), Placement((50.0, 50.0)), free))
    assert abs(found["turn"].placement.turn_deg) == 90.0  # type: ignore[attr-defined]


def test_scales_come_in_steps_and_round_down() -> None:
    # Radius 40 in a circle of 30: 75 %. About a center 10 beside: (40 + 10) k = 30.
    found = kinds(ways(artwork(ring(40.0, (50.0, 50.0))), (plain_cup(30.0),), Placement((60, 50))))
    assert found["scale"].factor in (0.75, 0.749)  # type: ignore[attr-defined]
    assert found["scale-here"].factor in (0.6, 0.599)  # type: ignore[attr-defined]
    fit = fit_artwork(artwork(ring(40.0, (50.0, 50.0))), (plain_cup(30.0),))
    at_90 = ways_out(fit, fit.cups[0], Placement((50.0, 50.0)), None, 0.9)
    whole = next(w for w in at_90.ways if w.kind is WayKind.SCALE).factor * 0.9
    assert round(whole * 1000) == pytest.approx(whole * 1000, abs=1e-9)
    assert whole <= 0.675


def test_at_the_best_place_one_scale_is_told_not_two() -> None:
    found = kinds(ways(artwork(ring(40.0, (50.0, 50.0))), (plain_cup(30.0),), Placement((50, 50))))
    assert "scale" in found
    assert "scale-here" not in found


def test_the_next_cup_stays_where_it_is_if_it_fits_there() -> None:
    square = artwork(box(60.0, 60.0, 20.0, 20.0))  # circle of 84.86: the 110 takes it
    fit = fit_artwork(square, EXAMPLE_CUPS)
    here = Placement((50.5, 50.0))
    found = kinds(ways_out(fit, fit.cups[1], here))
    cup_way = found["cup"]
    assert cup_way.cup.name == "110"  # type: ignore[attr-defined]
    assert cup_way.placement == here  # type: ignore[attr-defined]
    far = kinds(ways_out(fit, fit.cups[1], Placement((80.0, 50.0))))["cup"]
    assert far.placement.center_mm == (50.0, 50.0)  # type: ignore[attr-defined]


def test_the_corners_of_a_square_are_to_be_moved_in() -> None:
    half, radius = 30.0, 38.0
    found = ways(artwork(box(60.0, 60.0, 20.0, 20.0)), (plain_cup(radius),), Placement((50, 50)))
    way = next(w for w in found.ways if w.kind is WayKind.MOVE_IN)
    assert len(way.moves) == 4
    for move in way.moves:
        assert move.by_mm == pytest.approx(half * math.sqrt(2) - radius, abs=1e-3)
        x, y = move.point_mm
        assert (abs(x - 50), abs(y - 50)) == (30.0, 30.0)
        assert move.toward[0] * (x - 50) < 0
        assert math.hypot(*move.toward) == pytest.approx(1.0)
    assert way.placed.verdict is Verdict.FITS


def test_what_would_be_another_drawing_is_not_called_a_way_out() -> None:
    found = ways(artwork(ring(40.0, (50.0, 50.0))), (plain_cup(25.0),), Placement((50.0, 50.0)))
    assert "move-in" not in kinds(found)
    assert "scale" in kinds(found)


def test_a_hold_leaves_only_shifts_along_it() -> None:
    art = artwork(ring(20.0, (50.0, 40.0)))
    limits = PressLimits(hold=Hold("across", 15.0))
    found = kinds(ways(art, (plain_cup(30.0),), Placement((63.0, 40.0)), limits))
    assert found["shift"].placement.center_mm[0] == pytest.approx(60.0, abs=0.011)  # type: ignore[attr-defined]
    assert found["shift"].placement.center_mm[1] == 40.0  # type: ignore[attr-defined]


def test_where_it_fits_only_a_better_place_is_told() -> None:
    art = artwork(ring(20.0, (50.0, 40.0)))
    found = ways(art, (plain_cup(30.0),), Placement((55.0, 40.0)))
    assert found.state is WaysState.FITS
    assert list(kinds(found)) == ["best"]
    assert not ways(art, (plain_cup(30.0),), Placement((50.0, 40.0))).ways


def test_a_blocking_warning_leaves_nothing_but_itself() -> None:
    art = artwork(ring(20.0), warnings=(ArtworkWarning("text", "its text has no font", True),))
    found = ways(art, (plain_cup(30.0),), Placement((15.0, 0.0)))
    assert (found.state, found.ways) == (WaysState.BLOCKED, ())
    assert found.blocks == ("its text has no font",)


def test_every_reading_must_fit_after_the_change() -> None:
    art = artwork(
        ring(20.0, (50.0, 40.0)),
        0.005,
        alternatives=(reading(ring(24.0, (52.0, 40.0)), 0.005),),
        warnings=(ArtworkWarning("white", "white is unclear", True),),
    )
    found = ways(art, (plain_cup(30.0),), Placement((70.0, 40.0)))
    shift = next(w for w in found.ways if w.kind is WayKind.SHIFT)
    # The larger reading decides: centers within 6 of (52, 40).
    assert shift.placement.center_mm[0] == pytest.approx(58.0, abs=0.03)
    assert shift.placement.center_mm[0] <= 58.0


def test_nothing_promised_is_less_than_the_judge_says() -> None:
    rng = np.random.default_rng(11)
    pads = (None, Pad("oval", 80.0, 50.0, margin_mm=1.0), Pad("rect", 70.0, 44.0, turn_deg=20.0))
    for number in range(9):
        art = artwork(np.array([50.0, 50.0]) + rng.uniform(-30, 30, (9, 2)), 0.004)
        limits = PressLimits(pad=pads[number % 3])
        fit = fit_artwork(art, EXAMPLE_CUPS[1:4], limits=limits)
        start = Placement(tuple(rng.uniform(30, 70, 2)), float(rng.integers(-90, 90)))
        for cup_fit in fit.cups:
            for way in ways_out(fit, cup_fit, start).ways:
                assert way.placed.verdict is Verdict.FITS
                if way.moves:
                    continue
                again = place(resized(art, way.factor), way.cup, way.placement, limits=limits)
                assert again.verdict is Verdict.FITS, way


def test_it_can_be_cancelled() -> None:
    fit = fit_artwork(artwork(ring(40.0)), (plain_cup(30.0),))
    with pytest.raises(Cancelled):
        ways_out(fit, fit.cups[0], Placement((9.0, 9.0)), cancelled=lambda: True)
