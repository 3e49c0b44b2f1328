"""Checking of point sets at the door, and a local frame for accurate sums."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from viewer.geometry.types import Points

LARGEST_COORDINATE = 1e150
"""Beyond it squares overflow; nothing real is so large."""


def as_points(points: ArrayLike, least: int = 0) -> Points:
    """``points`` as a float array of shape (n, 2).

    ValueError for another shape, for NaN or infinity, for coordinates beyond
    ``LARGEST_COORDINATE``, and for fewer than ``least`` points.
    """
    array = np.asarray(points, dtype=np.float64)
    if array.size == 0:
        array = array.reshape(0, 2)
    if array.ndim != 2 or array.shape[1] != 2:
        raise ValueError(f"points must have shape (n, 2), not {array.shape}")
    if len(array) < least:
        raise ValueError(f"at least {least} point(s) needed, got {len(array)}")
    # The two extremes carry every NaN and infinity along, at half the cost of isfinite.
    if len(array) and not (
        array.max() <= LARGEST_COORDINATE and array.min() >= -LARGEST_COORDINATE
    ):
        raise ValueError("points must be finite numbers of reasonable size")
    return array


@dataclass(frozen=True)
class LocalFrame:
    """A shift and a power-of-two scale that bring a point set into [-1, 1].

    Coordinates far from zero lose digits in products; differences taken first
    do not. A power of two scales without any rounding.
    """

    origin: Points
    exponent: int

    @classmethod
    def around(cls, points: Points) -> LocalFrame:
        """The frame about the middle of the bounds of at least one point."""
        low, high = points.min(axis=0), points.max(axis=0)
        origin = low + (high - low) / 2.0
        return cls(origin, int(np.frexp((high - low).max())[1]))

    def to_local(self, points: Points) -> Points:
        """``points`` in the frame, each coordinate in about [-1, 1]."""
        local: Points = np.ldexp(points - self.origin, -self.exponent)
        return local
