"""Random hulls and random limits, the same for every run: material for the judges."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull

from tests.fit.artworks import Points, box, ring
from tests.fit.judges import turning
from viewer.press import Angles, Cup, Datum, EtchArea, Hold, Margin, Pad, PressLimits

CUP = Cup("130", 130.0, 3.0, Margin(0.15, True))
"""An image disc of 110.5 mm."""

PAGE_MIDDLE = np.array([105.0, 148.5])


@dataclass(frozen=True, eq=False)
class Sample:
    """A hull on an A4 page and what limits it."""

    hull_mm: Points
    limits: PressLimits


def random_pad(rng: np.random.Generator, shape: str) -> Pad:
    """A pad of 25 to 105 mm; offset, turn, margin and corners as often as not."""
    width, height = rng.uniform(0.3, 1.3, 2) * 80.0
    if shape == "round":
        height = width
    radius = 0.0
    if shape == "rect":
        radius = float(rng.choice([0.0, 0.5, rng.uniform(0.0, 0.5)])) * min(width, height)
    offset = rng.uniform(-12.0, 12.0, 2) * (rng.random() < 0.6)
    turn = float(rng.choice([0.0, 90.0, -45.0, rng.uniform(-360.0, 360.0)]))
    margin = float(rng.uniform(0.0, 0.15) * min(width, height) * (rng.random() < 0.5))
    return Pad(
        shape,  # type: ignore[arg-type]
        float(width),
        float(height),
        radius,
        (float(offset[0]), float(offset[1])),
        turn,
        margin,
    )


def random_etch(rng: np.random.Generator) -> EtchArea:
    """An etch area of 35 to 105 mm, off the middle as often as not."""
    width, height = rng.uniform(0.45, 1.3, 2) * 80.0
    offset = rng.uniform(-12.0, 12.0, 2) * (rng.random() < 0.6)
    margin = float(rng.uniform(0.0, 5.0) * (rng.random() < 0.5))
    return EtchArea(float(width), float(height), (float(offset[0]), float(offset[1])), margin)


def random_hold(rng: np.random.Generator) -> Hold:
    """Every kind, with and without a limit."""
    kind = str(rng.choice(["free", "free", "across", "along", "fixed"]))
    if kind == "fixed":
        return Hold("fixed")
    limits = [None, None, 0.0, float(rng.uniform(0.0, 1.0)), float(rng.uniform(0.0, 10.0))]
    return Hold(kind, limits[rng.integers(5)])  # type: ignore[arg-type]


def random_datum(rng: np.random.Generator) -> Datum:
    """The ink's middle, the page's or a point beside it."""
    x, y = PAGE_MIDDLE + rng.uniform(-15.0, 15.0, 2)
    return [Datum("ink"), Datum("page"), Datum("point", (float(x), float(y)))][rng.integers(3)]


def random_hull(rng: np.random.Generator, size_mm: float = 60.0) -> Points:
    """A rectangle, a few points, a cloud, or a flattened ring; turned, near the page's middle."""
    kind = rng.integers(4)
    if kind == 0:
        points = box(*rng.uniform(0.05, 1.0, 2))
    elif kind == 1:
        points = rng.normal(size=(rng.integers(2, 5), 2)) / 4.0
    elif kind == 2:
        points = rng.normal(size=(rng.integers(5, 40), 2)) / 5.0
        points[:, 1] *= rng.uniform(0.1, 1.0)
    else:
        points = ring(0.4, count=int(rng.integers(3, 24)))
        points[:, 1] *= rng.uniform(0.05, 1.0)
    if len(points) > 3:
        points = points[ConvexHull(points).vertices]
    turned = size_mm * (points - points.mean(axis=0)) @ turning(rng.uniform(-180.0, 180.0)).T
    away = rng.uniform(-10.0, 10.0, 2) * (rng.random() < 0.5)
    result: Points = turned + PAGE_MIDDLE + away
    return result


def random_angles(rng: np.random.Generator) -> Angles:
    """Mostly any."""
    within = Angles("within", float(rng.uniform(1.0, 60.0)))
    return [Angles(), Angles(), within, Angles("step", 45.0)][rng.integers(4)]


def samples(seed: int, count: int, *, angles: bool = False) -> list[Sample]:
    """``count`` samples; every pad shape in turn, with and without an etch area."""
    rng = np.random.default_rng(seed)
    found = []
    for number in range(count):
        shape = ("round", "oval", "rect", "oval", None)[number % 5]
        pad = None if shape is None else random_pad(rng, shape)
        etch = random_etch(rng) if pad is None or rng.random() < 0.7 else None
        hold, datum = random_hold(rng), random_datum(rng)
        allowed = random_angles(rng) if angles else Angles()
        hull = random_hull(rng)
        found.append(Sample(hull, PressLimits(pad, etch, hold, datum, allowed)))
    return found


def allowed_turns(angles: Angles, count: int) -> list[float]:
    """A choice of the turns that are allowed, both ends among them."""
    if angles.kind == "none":
        return [0.0]
    if angles.kind == "step":
        number = round(360.0 / angles.value_deg)
        return [math.remainder(k * angles.value_deg, 360.0) for k in range(number)]
    limit = 180.0 if angles.kind == "any" else angles.value_deg
    return [float(turn) for turn in np.linspace(-limit, limit, count)]
