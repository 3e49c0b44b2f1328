"""Outlines of pad and etch area as fine polygons, in mm of the press frame."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from viewer.press.limits import EtchArea, Pad

Points = NDArray[np.float64]
ROUND_POINTS = 720
"""Of a circle or an ellipse: with so many, a chord is 1e-5 of the radius off the edge."""


@lru_cache(maxsize=32)
def pad_outline_mm(pad: Pad, inset_mm: float = 0.0) -> Points:
    """A pad's edge, or the line ``inset_mm`` inside of it: rows of (right, front)."""
    half = (pad.width_mm / 2, pad.height_mm / 2)
    if pad.shape == "rect":
        points = _rounded_box(half, pad.corner_radius_mm, inset_mm)
    elif half[0] == half[1]:
        points = _ellipse((half[0] - inset_mm, half[1] - inset_mm))
    else:
        points = _inset_ellipse(half, inset_mm)
    return _placed(points, pad.offset_mm, pad.turn_deg)


@lru_cache(maxsize=32)
def etch_outline_mm(etch: EtchArea, inset_mm: float = 0.0) -> Points:
    """An etch area's edge, or the line ``inset_mm`` inside of it: rows of (right, front)."""
    half = (etch.width_mm / 2, etch.height_mm / 2)
    return _placed(_rounded_box(half, 0.0, inset_mm), etch.offset_mm, 0.0)


def on_page_mm(points_mm: Points, center_mm: tuple[float, float], turn_deg: float) -> Points:
    """Points of the press frame on the page, for artwork placed so."""
    page: Points = turned(points_mm, -turn_deg) + np.array(center_mm)
    return page


def turned(points: Points, turn_deg: float) -> Points:
    """Points turned counter-clockwise as seen about the origin (y down)."""
    angle = math.radians(turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    return np.stack([c * points[:, 0] + s * points[:, 1], c * points[:, 1] - s * points[:, 0]], 1)


def _placed(points: Points, offset_mm: tuple[float, float], turn_deg: float) -> Points:
    placed: Points = turned(points, turn_deg) + np.array(offset_mm)
    placed.setflags(write=False)
    return placed


def _ellipse(half: tuple[float, float]) -> Points:
    angle = np.arange(ROUND_POINTS) * (2 * math.pi / ROUND_POINTS)
    return np.stack([half[0] * np.cos(angle), half[1] * np.sin(angle)], axis=1)


def _inset_ellipse(half: tuple[float, float], inset: float) -> Points:
    """The curve that keeps its distance from an ellipse's inside.

    Where the inset is more than the least radius of curvature, b^2/a, that curve crosses
    itself: what is nearer to some tangent than the inset is left out.
    """
    edge = _ellipse(half)
    if inset == 0:
        return edge
    a, b = half
    # Steps of equal angle of the normal, so that the ends are as fine as the sides.
    angle = np.arange(ROUND_POINTS) * (2 * math.pi / ROUND_POINTS)
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    reach = np.hypot(a * normal[:, 0], b * normal[:, 1])
    touching = normal * np.array([a * a, b * b]) / reach[:, None]
    inner = touching - inset * normal
    spare = (reach[None, :] - inner @ normal.T).min(axis=1) - inset
    kept: Points = inner[spare > -1e-6 * max(half)]
    return kept


def _rounded_box(half: tuple[float, float], radius: float, inset: float) -> Points:
    x, y = half[0] - inset, half[1] - inset
    r = max(0.0, radius - inset)
    if r == 0:
        return np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
    quarter = np.linspace(0.0, math.pi / 2, 46)
    corners = []
    for number, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        angle = quarter + number * math.pi / 2
        arc = np.stack([r * np.cos(angle), r * np.sin(angle)], axis=1)
        corners.append(arc + np.array([sx * (x - r), sy * (y - r)]))
    return np.vstack(corners)
