"""Small value types of plane geometry. No units, no trade words."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""Shape (n, 2)."""


@dataclass(frozen=True)
class Circle:
    """A circle with the points (at most three) that decide it."""

    center: tuple[float, float]
    radius: float
    support: Points

    @property
    def diameter(self) -> float:
        """Twice the radius."""
        return 2.0 * self.radius


@dataclass(frozen=True)
class Segment:
    """A straight line between two points."""

    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length(self) -> float:
        """Distance between the two ends."""
        return math.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])


@dataclass(frozen=True)
class Bounds:
    """An axis-aligned box; ``x0 <= x1`` and ``y0 <= y1``."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Extent along x."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Extent along y."""
        return self.y1 - self.y0
