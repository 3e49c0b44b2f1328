"""Scenes built from shapes: artwork of exactly known size, and how it is drawn.

Page frame: mm, x right, y down. A page is as large as its lesson needs.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import Artwork, InkRule, Outline, Points
from viewer.geometry import convex_hull
from viewer.geometry.measures import polygon_area
from viewer.lessons.marks import Point
from viewer.press import Cup, Margin

PAGE_MM = (160.0, 120.0)
MIDDLE_MM = (80.0, 60.0)
_INK = (24, 52, 82, 255)
_ROUND_STEPS = 720
_ARC_STEPS = 240
_LINES_PER_PX = 16
"""Scan lines in a row of pixels; across, coverage is exact."""


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


def three_lobes(width_mm: float, middle: Point = MIDDLE_MM) -> Points:
    """The rounded triangle that is as wide every way, as a polygon inside it, point up.

    Each side is an arc around the corner across from it. `three_lobes_corners` are its
    corners; `three_lobes_uncertainty_mm` says how far the polygon falls short.
    """
    arcs = []
    for number, (x, y) in enumerate(three_lobes_corners(width_mm, middle)):
        # Seen from a corner the arc across from it takes 60 degrees.
        first = math.radians(60.0 + 120.0 * number)
        angles = first + np.arange(_ARC_STEPS) * (math.pi / 3.0 / _ARC_STEPS)
        arcs.append(np.stack([np.cos(angles), np.sin(angles)], axis=1) * width_mm + (x, y))
    return np.concatenate(arcs)


def three_lobes_corners(width_mm: float, middle: Point = MIDDLE_MM) -> tuple[Point, ...]:
    """The corners: top, lower right, lower left."""
    radius_mm = width_mm / math.sqrt(3.0)
    angles = (math.radians(-90.0 + 120.0 * number) for number in range(3))
    return tuple(
        (middle[0] + radius_mm * math.cos(angle), middle[1] + radius_mm * math.sin(angle))
        for angle in angles
    )


def three_lobes_uncertainty_mm(width_mm: float) -> float:
    """Sagitta of a side of `three_lobes`."""
    return width_mm * (1.0 - math.cos(math.pi / 6.0 / _ARC_STEPS))


def points_of(points: Points) -> tuple[Point, ...]:
    """A polygon as the corners that marks are drawn from."""
    return tuple((float(x), float(y)) for x, y in points)


def artwork_of(
    name: str,
    parts: Sequence[Points],
    page_mm: tuple[float, float] = PAGE_MM,
    uncertainty_mm: float = 0.0,
) -> Artwork:
    """Polygons of ink as measured artwork. ``uncertainty_mm``: 0 where they are exact.

    A part that lies within another is a hole in it, and a third within that is ink again.
    Parts must not cross each other. ValueError where there is no ink.
    """
    if not parts:
        raise ValueError("a scene needs ink")
    digest = hashlib.sha256(name.encode())
    for part in parts:
        digest.update(np.ascontiguousarray(part, dtype=np.float64).tobytes())
    return Artwork(
        path=name,
        sha256=digest.hexdigest(),
        format="svg",
        page_mm=page_mm,
        scale_source="drawn for this lesson",
        paper="transparent",
        outline=Outline(convex_hull(np.concatenate(parts)), uncertainty_mm),
        ink_area_mm2=_area_mm2(parts),
        ink_rule=InkRule(),
    )


def _area_mm2(parts: Sequence[Points]) -> float:
    """The ink of parts, of which some may be holes in others."""
    total = 0.0
    for part in parts:
        around = sum(_is_within(part[0], other) for other in parts if other is not part)
        total += abs(polygon_area(part)) * (-1.0 if around % 2 else 1.0)
    return total


def _is_within(point: Points, polygon: Points) -> bool:
    """Whether a ray from the point to the right crosses the polygon an odd number of times."""
    (x, y), ends = point, np.roll(polygon, -1, axis=0)
    is_crossed = (polygon[:, 1] > y) != (ends[:, 1] > y)
    a, b = polygon[is_crossed], ends[is_crossed]
    at = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool((at > x).sum() % 2)


# --- the picture ----------------------------------------------------------------------


class ScenePicture:
    """Draws the parts of a scene; where they lie within each other, every second is a hole."""

    def __init__(self, parts: Sequence[Points]) -> None:
        self._parts = tuple(parts)

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        """Straight-alpha RGBA, shape (height, width, 4); the window's top left is (x0, y0)."""
        edges = [((part - (x0_mm, y0_mm)) * px_per_mm) for part in self._parts]
        alpha = _coverage(edges, width_px, height_px)
        rgba = np.empty((height_px, width_px, 4), np.uint8)
        is_ink = alpha > 0
        for channel in range(3):
            np.multiply(is_ink, np.uint8(_INK[channel]), out=rgba[..., channel])
        rgba[..., 3] = alpha
        return rgba

    def close(self) -> None:
        """Nothing is held."""


def _coverage(parts: Sequence[Points], width_px: int, height_px: int) -> NDArray[np.uint8]:
    """How much of each pixel is ink, 0 to 255. Even-odd; polygons in px, shape (n, 2)."""
    line, at = _crossings(parts, height_px * _LINES_PER_PX)
    # Along a line every second crossing ends the ink that the one before began.
    step = np.where(np.arange(len(at)) % 2, -1.0, 1.0) / _LINES_PER_PX
    at = np.clip(at, 0.0, width_px)
    column = np.minimum(at.astype(np.int64), width_px)
    part_of_px = at - column
    place = line // _LINES_PER_PX * (width_px + 2) + column
    size = height_px * (width_px + 2)
    change = np.bincount(place, step * (1.0 - part_of_px), size)
    change += np.bincount(place + 1, step * part_of_px, size)
    covered = change.reshape(height_px, width_px + 2).cumsum(axis=1, dtype=np.float32)
    covered = covered[:, :width_px] * np.float32(255.0)
    return np.clip(covered + np.float32(0.5), 0.0, 255.0).astype(np.uint8)


def _crossings(
    parts: Sequence[Points], lines: int
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Where scan lines cross the sides: number of the line, and x; sorted by both."""
    a = np.concatenate([*parts, np.empty((0, 2))])
    b = np.concatenate([*(np.roll(part, -1, axis=0) for part in parts), np.empty((0, 2))])
    # Line k runs through the middle of its strip, at y = (k + 1/2) / lines per pixel. A side
    # has its upper end and not its lower one, so that a corner is never counted twice.
    ends = np.ceil(np.stack([a[:, 1], b[:, 1]]) * _LINES_PER_PX - 0.5)
    first, last = np.clip(np.sort(ends, axis=0), 0, lines).astype(np.int64)
    counts = last - first
    side = np.repeat(np.arange(len(a)), counts)
    begun = np.repeat(counts.cumsum() - counts, counts)
    line = first[side] + np.arange(len(side)) - begun
    y = (line + 0.5) / _LINES_PER_PX
    slope = (b[side, 0] - a[side, 0]) / (b[side, 1] - a[side, 1])
    at = a[side, 0] + (y - a[side, 1]) * slope
    order = np.lexsort((at, line))
    return line[order], at[order]
