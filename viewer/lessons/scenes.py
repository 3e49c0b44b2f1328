"""Scenes built from shapes: artwork of exactly known size, and how it is drawn.

Page frame: mm, x right, y down. A page is as large as its lesson needs.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from viewer.artwork.model import Artwork, InkRule, Outline, Points
from viewer.geometry import convex_hull
from viewer.geometry.measures import polygon_area
from viewer.lessons.marks import Point
from viewer.press import Cup, Margin

PAGE_MM = (160.0, 120.0)
MIDDLE_MM = (80.0, 60.0)
_INK = (24, 52, 82, 255)
_ROUND_STEPS = 720
_FINE = 4


def bare_cup(diameter_mm: float, ring_width_mm: float = 3.0) -> Cup:
    """A cup named by the ring's inner edge, with no margin: a bare circle to put ink in."""
    name = f"{diameter_mm:g}"
    return Cup(name, diameter_mm, ring_width_mm, Margin(0.0, True), "inside")


def rectangle(width_mm: float, height_mm: float, middle: Point = MIDDLE_MM) -> Points:
    """Corners of an upright rectangle, clockwise as seen from the upper left."""
    x, y = middle
    w, h = width_mm / 2.0, height_mm / 2.0
    return np.array([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)])


def turned(points: Points, turn_deg: float, about: Point = MIDDLE_MM) -> Points:
    """Points turned counter-clockwise as seen."""
    angle = math.radians(turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    # Rows times the transpose of R = [[c, s], [-s, c]]: y runs down.
    found: Points = (points - about) @ np.array([[c, -s], [s, c]]) + about
    return found


def disc(diameter_mm: float, middle: Point = MIDDLE_MM) -> Points:
    """A round shape as a polygon inside it; `disc_uncertainty_mm` says how far it falls short."""
    angles = np.arange(_ROUND_STEPS) * (2.0 * math.pi / _ROUND_STEPS)
    return np.stack([np.cos(angles), np.sin(angles)], axis=1) * (diameter_mm / 2.0) + middle


def disc_uncertainty_mm(diameter_mm: float) -> float:
    """Sagitta of a side of `disc`: the round shape lies within the polygon grown by it."""
    return diameter_mm / 2.0 * (1.0 - math.cos(math.pi / _ROUND_STEPS))


def artwork_of(
    name: str,
    parts: Sequence[Points],
    page_mm: tuple[float, float] = PAGE_MM,
    uncertainty_mm: float = 0.0,
) -> Artwork:
    """Polygons of ink as measured artwork. ``uncertainty_mm``: 0 where they are exact.

    The parts must not overlap, or their common ink is counted twice in the area. ValueError
    where there is no ink.
    """
    if not parts:
        raise ValueError("a scene needs ink")
    digest = hashlib.sha256(name.encode())
    for part in parts:
        digest.update(np.ascontiguousarray(part, dtype=np.float64).tobytes())
    area = sum(abs(polygon_area(part)) for part in parts)
    return Artwork(
        path=name,
        sha256=digest.hexdigest(),
        format="svg",
        page_mm=page_mm,
        scale_source="drawn for this lesson",
        paper="transparent",
        outline=Outline(convex_hull(np.concatenate(parts)), uncertainty_mm),
        ink_area_mm2=area,
        ink_rule=InkRule(),
    )


class ScenePicture:
    """Draws the parts of a scene, four times finer than asked, then smoothed."""

    def __init__(self, parts: Sequence[Points]) -> None:
        self._parts = tuple(parts)

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        """Straight-alpha RGBA, shape (height, width, 4); the window's top left is (x0, y0)."""
        mask = Image.new("L", (width_px * _FINE, height_px * _FINE), 0)
        pen = ImageDraw.Draw(mask)
        for part in self._parts:
            # Pillow fills pixels by their middles, which lie half a pixel further on.
            at = (part - (x0_mm, y0_mm)) * px_per_mm * _FINE - 0.5
            pen.polygon([(float(x), float(y)) for x, y in at], fill=255)
        alpha = np.asarray(mask.reduce(_FINE))
        rgba = np.zeros((height_px, width_px, 4), np.uint8)
        rgba[..., :3] = _INK[:3]
        rgba[..., 3] = alpha
        rgba[alpha == 0] = 0
        return rgba

    def close(self) -> None:
        """Nothing is held."""
