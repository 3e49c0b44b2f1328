"""How quickly angles are searched and proved, against one linear program (HiGHS) per angle.

Not part of the ordinary run: ``pytest tests/bench/test_bench_turn.py -s``.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.fit.artworks import Points, artwork, box
from tests.fit.judges import Bracket, edges_of
from viewer.artwork.model import Artwork
from viewer.fit import angle_curve, datum_point, fit_artwork
from viewer.fit.area import image_area
from viewer.fit.problems import limited_ink
from viewer.fit.turn import best_turn
from viewer.press import Angles, Cup, EtchArea, Hold, Margin, Pad, PressLimits

Values = NDArray[np.float64]

VERTICES = 200
TANGENTS = 720
ROUNDS = 5
SAMPLED_ANGLES = 24
CUP = Cup("130", 130.0, 3.0, Margin(0.15, True))
GAP_MM = 0.005


def smooth(kind: str) -> Points:
    """A convex hull of exactly 200 vertices, on an A4 page."""
    turn = np.linspace(0.0, 2.0 * np.pi, VERTICES, endpoint=False)
    if kind == "oval":
        points = np.stack([36.0 * np.cos(turn), 20.0 * np.sin(turn)], axis=1)
    elif kind == "rounded":
        c, s = np.cos(turn), np.sin(turn)
        points = np.stack(
            [34.0 * np.sign(c) * np.abs(c) ** 0.4, 18.0 * np.sign(s) * np.abs(s) ** 0.4], 1
        )
    elif kind == "drop":
        points = np.stack(
            [30.0 * np.cos(turn) + 4.0 * np.cos(2 * turn), 20.0 * np.sin(turn)], axis=1
        )
    elif kind == "disc":
        points = 24.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    else:  # a bar with round ends
        side = np.sign(np.cos(turn)) * 22.0
        points = np.stack([side + 13.0 * np.cos(turn), 13.0 * np.sin(turn)], axis=1)
    points += np.array([105.0, 148.5])
    assert len(points) == VERTICES
    return points


def limits_of(kind: str) -> PressLimits:
    """Disc, rectangle and oval, as a press may have them."""
    etch = EtchArea(86.0, 62.0, offset_mm=(2.0, 1.0), margin_mm=1.0)
    if kind == "upright":
        return PressLimits(pad=Pad("oval", 95, 62), etch=etch)
    if kind == "turned":
        return PressLimits(
            pad=Pad("oval", 100, 60, offset_mm=(-3.0, 2.0), turn_deg=20.0), etch=etch
        )
    if kind == "held":
        return PressLimits(pad=Pad("oval", 95, 62), etch=etch, hold=Hold("across", 3.0))
    if kind == "nearly round":
        return PressLimits(pad=Pad("oval", 76, 75.5), etch=EtchArea(90.0, 90.0))
    raise ValueError(kind)


def best_s(call: Callable[[], object], rounds: int = ROUNDS) -> float:
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return min(times)


def highs_s(art: Artwork, limits: PressLimits) -> tuple[float, float]:
    """Seconds that HiGHS takes for 720 angles, scaled up from a sample; greatest difference, mm.

    Setting up the right-hand sides with numpy is counted in; it is a small part.
    """
    points = art.outline.hull_mm - np.array(datum_point(art, limits))
    bracket = Bracket(edges_of(CUP, limits), limits.hold, TANGENTS)
    curve = angle_curve(art, CUP, limits)
    chosen = np.linspace(0, 719, SAMPLED_ANGLES).astype(int)
    apart = 0.0
    start = time.perf_counter()
    for index in chosen:
        high = bracket.solved(points, float(curve.turns_deg[index]))[1]
        apart = max(apart, abs(high - curve.clearances_mm[index]))
    return (time.perf_counter() - start) / SAMPLED_ANGLES * 720, apart


@pytest.mark.parametrize("kind", ["oval", "rounded", "drop", "disc", "bar"])
@pytest.mark.parametrize("limits_kind", ["upright", "turned", "held"])
def test_curve_of_720_angles(kind: str, limits_kind: str) -> None:
    art, limits = artwork(smooth(kind)), limits_of(limits_kind)
    curve = angle_curve(art, CUP, limits)
    assert curve.gap_mm <= GAP_MM
    ours_s = best_s(lambda: angle_curve(art, CUP, limits))
    bare = PressLimits(limits.pad, limits.etch, limits.hold, limits.datum, Angles("none"))
    bare_s = best_s(lambda: angle_curve(art, CUP, bare))
    theirs_s, apart_mm = highs_s(art, limits)
    print(
        f"\n{kind:8} {limits_kind:8} curve {1e3 * bare_s:6.1f} ms, with stretches"
        f" {1e3 * ours_s:6.1f} ms; HiGHS {theirs_s:6.2f} s (from {SAMPLED_ANGLES} angles):"
        f" x {theirs_s / bare_s:5.0f}; gap {curve.gap_mm:.4f} mm, apart {apart_mm:.4f} mm"
    )
    assert apart_mm < 0.005


@pytest.mark.parametrize("limits_kind", ["upright", "turned", "held", "nearly round"])
@pytest.mark.parametrize("kind", ["oval", "rounded", "drop", "bar", "disc", "label"])
def test_certified_best_angle(kind: str, limits_kind: str) -> None:
    hull = box(60.0, 22.0, 70.0, 140.0) if kind == "label" else smooth(kind)
    limits = limits_of(limits_kind)
    ink = limited_ink(artwork(hull), limits)
    problem = ink.alone(0, image_area(CUP, limits))
    found = best_turn(problem, limits.angles)
    assert found.gap_mm <= GAP_MM
    one_s = best_s(lambda: best_turn(problem, limits.angles), 3)
    whole_s = best_s(lambda: fit_artwork(artwork(hull), [CUP], limits=limits), 2)
    print(
        f"\n{kind:8} {limits_kind:12} best angle {1e3 * one_s:7.1f} ms, gap {found.gap_mm:.4f} mm;"
        f" the whole fit (hard edges, scale) {1e3 * whole_s:7.1f} ms"
    )


@pytest.mark.parametrize("less_mm", [5.0, 1.0, 0.1, 0.01, 1e-4])
@pytest.mark.parametrize("kind", ["oval", "rounded", "disc"])
def test_nearly_round_ovals(kind: str, less_mm: float) -> None:
    """The worst case: every angle is nearly as good as every other."""
    limits = PressLimits(pad=Pad("oval", 80.0, 80.0 - less_mm), etch=EtchArea(79.0, 78.5))
    problem = limited_ink(artwork(smooth(kind)), limits).alone(0, image_area(CUP, limits))
    found = best_turn(problem, limits.angles)
    assert found.gap_mm <= GAP_MM
    seconds = best_s(lambda: best_turn(problem, limits.angles), 2)
    print(f"\n{kind:8} oval 80 x {80 - less_mm:g}: {1e3 * seconds:7.1f} ms, gap {found.gap_mm:.4f}")
