"""Point sets that break careless geometry, used by every test of this folder."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st

from viewer.geometry import Points


def _array(*points: tuple[float, float]) -> Points:
    return np.array(points, dtype=np.float64).reshape(-1, 2)


def ring(n: int, radius: float = 1.0, center: tuple[float, float] = (0.0, 0.0)) -> Points:
    """Corners of a regular n-gon."""
    angle_rad = 2.0 * math.pi * np.arange(n) / n
    return np.stack((np.cos(angle_rad), np.sin(angle_rad)), axis=1) * radius + center


def turned(points: Points, angle_rad: float) -> Points:
    """The points turned about the origin."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return points @ np.array([[cos, sin], [-sin, cos]])


_LINE = np.linspace(-30.0, 30.0, 200)
_SQUARE_EDGES = np.concatenate(
    [np.stack((_LINE, np.full(200, s)), 1) for s in (-30.0, 30.0)]
    + [np.stack((np.full(200, s), _LINE), 1) for s in (-30.0, 30.0)]
)

DEGENERATE: dict[str, Points] = {
    "one point": _array((3.0, 4.0)),
    "one point, three times": _array((3.0, 4.0), (3.0, 4.0), (3.0, 4.0)),
    "minus zero and zero": _array((0.0, 0.0), (-0.0, 0.0), (0.0, -0.0)),
    "two points": _array((1.0, 2.0), (4.0, 6.0)),
    "two points, repeated": _array((1.0, 2.0), (4.0, 6.0), (1.0, 2.0), (4.0, 6.0)),
    "neighboring floats": _array((1.0, 1.0), (math.nextafter(1.0, 2.0), 1.0)),
    "collinear, level": _array((0.0, 5.0), (1.0, 5.0), (2.0, 5.0), (7.0, 5.0)),
    "collinear, upright": _array((5.0, 3.0), (5.0, -1.0), (5.0, 2.0), (5.0, 9.0)),
    "collinear, sloping": _array((10.0, 10.0), (20.0, 20.0), (30.0, 30.0)),
    "collinear, tenths": _array((0.1, 0.3), (0.2, 0.6), (0.3, 0.9), (0.7, 2.1)),
    "collinear, turned": turned(np.stack((_LINE, np.zeros(200)), 1), 0.7),
    "collinear, all but one": _array((0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (1.0, 1e-7)),
    "right triangle": _array((0.0, 0.0), (3.0, 0.0), (0.0, 4.0)),
    "needle": _array((0.0, 0.0), (100.0, 1e-9), (100.0, -1e-9)),
    "nearly right": _array((0.0, 0.0), (3.0, 1e-12), (1e-12, 4.0)),
    "square and center": _array((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.5, 0.5)),
    "square with all its edge": _SQUARE_EDGES,
    "square with all its edge, turned": turned(_SQUARE_EDGES, 0.3),
    "on one circle": ring(360, 40.0),
    "on one circle, far away": ring(97, 40.0, (1e7, -3e7)),
    "small and far": ring(5, 1e-3, (1e6, 1e6)),
    "tiny": ring(7, 1e-140),
    "huge": ring(7, 1e140),
    "tiny beside large": np.concatenate((ring(9, 1e-12), _array((50.0, 0.0), (0.0, 50.0)))),
    "grid": np.stack(np.meshgrid(np.arange(12.0), np.arange(9.0)), axis=-1).reshape(-1, 2),
}
"""Name -> at least one point."""


def size_of(points: Points) -> float:
    """The longer side of the bounds."""
    return float(np.ptp(points, axis=0).max())


def slack_of(points: Points) -> float:
    """What a length may be off by: 1e-9 of the size, or what the coordinates can hold."""
    return max(1e-9 * size_of(points), 8.0 * float(np.spacing(np.abs(points).max())))


_ARTWORK_MM = st.floats(-500.0, 500.0, allow_nan=False).map(lambda x: round(x, 6))
_COARSE = st.integers(-6, 6).map(float)


def point_sets(least: int = 1, most: int = 60) -> st.SearchStrategy[Points]:
    """Artwork-like clouds, and coarse grids full of ties, duplicates and lines."""
    return st.one_of(
        st.lists(st.tuples(c, c), min_size=least, max_size=most).map(lambda p: np.array(p))
        for c in (_ARTWORK_MM, _COARSE)
    )
