"""Affine maps of the plane, written like the six numbers of an SVG matrix."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from viewer.geometry.points import as_points
from viewer.geometry.types import Points


@dataclass(frozen=True)
class Affine:
    """The map x' = a x + c y + e, y' = b x + d y + f.

    ::

        [a c e]
        [b d f]
        [0 0 1]
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def identity(cls) -> Affine:
        """The map that changes nothing."""
        return cls()

    @classmethod
    def translate(cls, x: float, y: float) -> Affine:
        """Shift by (x, y)."""
        return cls(e=x, f=y)

    @classmethod
    def scale(cls, x: float, y: float | None = None) -> Affine:
        """Scale about the origin; one factor for both axes unless ``y`` is given."""
        return cls(a=x, d=x if y is None else y)

    @classmethod
    def rotate_deg(cls, turn_deg: float, center: tuple[float, float] = (0.0, 0.0)) -> Affine:
        """Turn about ``center``, positive counter-clockwise as seen with y down.

        So (1, 0) turned by +90 becomes (0, -1). Quarter turns are exact.
        """
        cos, sin = _cos_sin(turn_deg)
        x, y = center
        return cls(cos, -sin, sin, cos, x - cos * x - sin * y, y + sin * x - cos * y)

    @property
    def determinant(self) -> float:
        """Area factor; negative when the map mirrors."""
        return self.a * self.d - self.b * self.c

    def map_points(self, points: ArrayLike) -> Points:
        """Places (n, 2) under the map."""
        mapped: Points = self.map_vectors(points) + np.array((self.e, self.f))
        return mapped

    def map_vectors(self, vectors: ArrayLike) -> Points:
        """Differences between places (n, 2) under the map: the shift has no part in it."""
        array = as_points(vectors)
        x, y = array[:, 0], array[:, 1]
        return np.stack((self.a * x + self.c * y, self.b * x + self.d * y), axis=1)

    def then(self, after: Affine) -> Affine:
        """This map first, ``after`` second."""
        return Affine(
            after.a * self.a + after.c * self.b,
            after.b * self.a + after.d * self.b,
            after.a * self.c + after.c * self.d,
            after.b * self.c + after.d * self.d,
            after.a * self.e + after.c * self.f + after.e,
            after.b * self.e + after.d * self.f + after.f,
        )

    def __matmul__(self, before: Affine) -> Affine:
        """``(self @ before)`` maps by ``before`` first, as a product of matrices does."""
        return before.then(self)

    def inverse(self) -> Affine:
        """The map back; ValueError if the map flattens the plane."""
        det = self.determinant
        # Relative to the entries: a scale of 1e-8 is small, but not singular.
        size = abs(self.a * self.d) + abs(self.b * self.c)
        if not math.isfinite(det) or abs(det) <= 1e-14 * size:
            raise ValueError(f"{self} has no inverse")
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))


def _cos_sin(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine; exact at quarter turns, where math.cos leaves 6e-17."""
    quarter, rest_deg = divmod(turn_deg, 90.0)
    cos, sin = math.cos(math.radians(rest_deg)), math.sin(math.radians(rest_deg))
    return ((cos, sin), (-sin, cos), (-cos, -sin), (sin, -cos))[int(quarter) % 4]
