"""Plane geometry on numpy arrays of shape (n, 2). No I/O, no trade words."""

from __future__ import annotations

from viewer.geometry.affine import Affine
from viewer.geometry.circle import smallest_enclosing_circle
from viewer.geometry.hull import convex_hull
from viewer.geometry.measures import (
    bounds_of,
    distances_outside,
    greatest_distance,
    hull_excess,
    longest_diagonal,
    polygon_area,
    support_values,
)
from viewer.geometry.raster_extents import mask_extent_points
from viewer.geometry.types import Bounds, Circle, Points, Segment

__all__ = [
    "Affine",
    "Bounds",
    "Circle",
    "Points",
    "Segment",
    "bounds_of",
    "convex_hull",
    "distances_outside",
    "greatest_distance",
    "hull_excess",
    "longest_diagonal",
    "mask_extent_points",
    "polygon_area",
    "smallest_enclosing_circle",
    "support_values",
]
