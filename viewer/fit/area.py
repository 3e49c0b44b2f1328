"""The image area in the press frame, as parts with exact clearance.

Every part is convex, so its clearance at a point q is the least, over the outward
normals n of its tangents, of ``reach(n) - n.q``: the distance inside, and minus the
distance to the nearest tangent's wrong side outside. A straight side is one tangent.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.geometry.ellipse import ellipse_clearance
from viewer.press import Cup, EtchArea, Pad, PressLimits

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Part:
    """One convex part: a box with rounded corners, or an ellipse.

    ``half_mm``: of a box, half of the inner rectangle that ``radius_mm`` is laid around
    (a disc has none, a sharp rectangle no radius); of an ellipse its half-axes.
    ``center_mm`` and ``turn_deg``: where it stands in the press frame. ``inset_mm`` is
    kept free inside its edge.
    """

    name: str
    half_mm: tuple[float, float]
    radius_mm: float = 0.0
    center_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    inset_mm: float = 0.0
    is_ellipse: bool = False

    @property
    def is_disc(self) -> bool:
        """Whether no direction differs from another."""
        return not self.is_ellipse and self.half_mm == (0.0, 0.0)

    @property
    def is_round_somewhere(self) -> bool:
        """Whether the tangent turns along its edge."""
        return self.is_ellipse or self.radius_mm > 0

    def sides(self) -> tuple[tuple[float, float, float], ...]:
        """Straight sides as (nx, ny, reach) in the press frame; none of a disc or ellipse."""
        if self.is_ellipse or self.is_disc:
            return ()
        found = []
        for ux, uy, half in (
            (1.0, 0.0, self.half_mm[0]),
            (-1.0, 0.0, self.half_mm[0]),
            (0.0, 1.0, self.half_mm[1]),
            (0.0, -1.0, self.half_mm[1]),
        ):
            nx, ny = self.to_press(ux, uy)
            at_center = nx * self.center_mm[0] + ny * self.center_mm[1]
            found.append((nx, ny, half + self.radius_mm - self.inset_mm + at_center))
        return tuple(found)

    def to_press(self, x: float, y: float) -> tuple[float, float]:
        """A direction of the part's own axes in the press frame (y down, turns ccw)."""
        c, s = cos_sin(self.turn_deg)
        return c * x + s * y, -s * x + c * y

    def local(self, qx: Values, qy: Values) -> tuple[Values, Values]:
        """Press points in the part's own axes about its center."""
        x, y = qx - self.center_mm[0], qy - self.center_mm[1]
        if self.turn_deg == 0:
            return x, y
        c, s = cos_sin(self.turn_deg)
        return c * x - s * y, s * x + c * y

    def clearance_mm(self, qx: Values, qy: Values) -> Values:
        """Signed distance of press points to the edge less the inset, positive inside."""
        x, y = self.local(qx, qy)
        if self.is_ellipse:
            return ellipse_clearance(x, y, *self.half_mm)[0] - self.inset_mm
        ex, ey = np.abs(x) - self.half_mm[0], np.abs(y) - self.half_mm[1]
        found = -np.maximum(ex, ey)
        if self.is_round_somewhere:
            found = np.where((ex >= 0) & (ey >= 0), -np.hypot(ex, ey), found)
        return found + (self.radius_mm - self.inset_mm)


@dataclass(frozen=True)
class ImageArea:
    """The intersection of its parts. The first is the cup's disc, about the origin."""

    parts: tuple[Part, ...]

    @property
    def disc_radius_mm(self) -> float:
        """Radius of the cup's disc, inset taken off."""
        return self.parts[0].radius_mm - self.parts[0].inset_mm

    def clearance_mm(self, qx: Values, qy: Values) -> tuple[Values, NDArray[np.intp]]:
        """Least clearance of each press point, and the number of the part it is against."""
        each = np.stack([part.clearance_mm(qx, qy) for part in self.parts])
        number = each.argmin(axis=0)
        return np.take_along_axis(each, number[None], axis=0)[0], number


def image_area(cup: Cup, limits: PressLimits, *, hard: bool = False) -> ImageArea:
    """Where the ink must lie; ``hard``: up to the edges themselves, without margins."""
    diameter_mm = cup.ring_inner_diameter_mm if hard else cup.max_image_diameter_mm
    parts = [Part("cup", (0.0, 0.0), diameter_mm / 2.0)]
    if limits.pad is not None:
        parts.append(pad_part(limits.pad, hard=hard))
    if limits.etch is not None:
        parts.append(etch_part(limits.etch, hard=hard))
    return ImageArea(tuple(parts))


def pad_part(pad: Pad, *, hard: bool = False) -> Part:
    """The pad's printing area."""
    inset_mm = 0.0 if hard else pad.margin_mm
    half = (pad.width_mm / 2.0, pad.height_mm / 2.0)
    center, turn = pad.offset_mm, pad.turn_deg
    if pad.shape == "round" or (pad.shape == "oval" and half[0] == half[1]):
        return Part("pad", (0.0, 0.0), half[0], center, turn, inset_mm)
    if pad.shape == "oval":
        return Part("pad", half, 0.0, center, turn, inset_mm, is_ellipse=True)
    radius = pad.corner_radius_mm
    inner = (half[0] - radius, half[1] - radius)
    return Part("pad", inner, radius, center, turn, inset_mm)


def etch_part(etch: EtchArea, *, hard: bool = False) -> Part:
    """The plate's etch area."""
    inset_mm = 0.0 if hard else etch.margin_mm
    half = (etch.width_mm / 2.0, etch.height_mm / 2.0)
    return Part("etch", half, 0.0, etch.offset_mm, 0.0, inset_mm)


def cos_sin(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at whole quarters, so that a pad turned by 90 stays a rectangle."""
    quarter = turn_deg / 90.0
    if quarter == round(quarter):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    angle = math.radians(turn_deg)
    return math.cos(angle), math.sin(angle)
