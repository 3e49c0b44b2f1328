"""The exchange of cuts comes to an end: its two bounds meet, whatever the parts and the ink.

No judge is needed for that: both bounds are sure on their own (see the judges' tests), so
what counts is that nothing is left between them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from viewer.fit.area import image_area
from viewer.fit.shift import InkGroup, ShiftProblem, best_shifts, shift_problem, solve_in_order
from viewer.geometry import convex_hull
from viewer.press import Cup, EtchArea, Pad, PressLimits

TOLERANCE_MM = 2e-5
REACHES = [(math.inf, math.inf), (3.0, 3.0), (math.inf, 0.0), (0.0, 5.0), (0.0, 0.0)]


def random_pad(rng: np.random.Generator) -> Pad | None:
    shape = rng.choice(["none", "round", "oval", "oval", "rect"])
    offset = (0.0, 0.0)
    if rng.random() < 0.6:
        offset = (float(rng.integers(-10, 11)), float(rng.integers(-10, 11)))
    width, height = (float(v) for v in rng.integers(15, 101, 2))
    turn = float(rng.choice([0.0, 30.0, 45.0, 90.0, rng.uniform(-180.0, 180.0)]))
    if shape == "round":
        return Pad("round", width, width, 0.0, offset, turn)
    if shape == "oval":
        height = height if rng.random() < 0.7 else width + 0.01
        return Pad("oval", width, height, 0.0, offset, turn)
    if shape == "rect":
        radius = float(rng.choice([0.0, 0.25, 0.5])) * min(width, height)
        return Pad("rect", width, height, radius, offset, turn)
    return None


def random_problem(rng: np.random.Generator) -> ShiftProblem:
    points = rng.normal(size=(int(rng.integers(1, 60)), 2)) * rng.uniform(1.0, 30.0, 2)
    points += rng.uniform(-20.0, 20.0, 2)
    hull = convex_hull(np.round(points) if rng.random() < 0.3 else points)
    etch = None
    if rng.random() < 0.6:
        across, along, right, front = (float(v) for v in rng.integers(15, 101, 4))
        etch = EtchArea(across, along, (right / 10.0 - 5.0, front / 10.0 - 5.0))
    diameter_mm = float(rng.choice([60.0, 90.0, 130.0]))
    area = image_area(Cup("x", diameter_mm), PressLimits(random_pad(rng), etch))
    groups = [InkGroup(hull)]
    if rng.random() < 0.3:
        groups.append(InkGroup(hull * 4.0 / 3.0, 4.0 / 3.0, 0.01))
    return shift_problem(groups, area, REACHES[int(rng.integers(len(REACHES)))])


@pytest.mark.parametrize("seed", range(4))
def test_the_bounds_meet_at_every_angle(seed: int) -> None:
    rng = np.random.default_rng(1000 + seed)
    turns = np.linspace(-math.pi, math.pi, 73)
    for _ in range(250):
        problem = random_problem(rng)
        assert best_shifts(problem, turns, TOLERANCE_MM).gap_mm <= TOLERANCE_MM * 1.001
        assert solve_in_order(problem, turns, TOLERANCE_MM).gap_mm <= TOLERANCE_MM * 1.001
