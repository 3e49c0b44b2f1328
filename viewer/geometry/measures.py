"""Sizes and distances of point sets and convex hulls.

A ``hull`` here is what ``convex_hull`` returns: convex, positive shoelace area,
possibly only one point or two.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from viewer.geometry.hull import Indices, exact_hull
from viewer.geometry.points import as_points
from viewer.geometry.types import Bounds, Points, Segment

_CHUNK = 500_000
"""Most entries of a table of pairs held at one time."""


def bounds_of(points: ArrayLike) -> Bounds:
    """The smallest upright box around the points; ValueError without points."""
    array = as_points(points, least=1)
    (x0, y0), (x1, y1) = array.min(axis=0).tolist(), array.max(axis=0).tolist()
    return Bounds(x0, y0, x1, y1)


def longest_diagonal(points: ArrayLike) -> Segment:
    """The greatest distance between two of the points, and which two.

    Starts at the end with the lesser x (then y). One place gives length 0; no
    points raise ValueError.
    """
    hull = exact_hull(as_points(points, least=1))
    first, second = _opposite_pairs(hull)
    lengths = np.hypot(hull[first, 0] - hull[second, 0], hull[first, 1] - hull[second, 1])
    best = int(lengths.argmax())
    start, end = sorted((_pair(hull[first[best]]), _pair(hull[second[best]])))
    return Segment(start, end)


def support_values(hull: ArrayLike, directions: ArrayLike) -> Points:
    """How far the points reach in each direction (k, 2): the greatest dot product.

    Directions need not have length 1. ValueError without points.
    """
    array, ways = as_points(hull, least=1), as_points(directions)
    reach = np.empty(len(ways))
    rows = max(1, _CHUNK // len(array))
    for i in range(0, len(ways), rows):
        reach[i : i + rows] = (ways[i : i + rows] @ array.T).max(axis=1)
    return reach


def hull_excess(a: ArrayLike, b: ArrayLike) -> tuple[float, tuple[float, float]]:
    """How far hull ``a`` reaches beyond hull ``b`` at most, and the point of ``a``.

    0 if ``a`` lies inside ``b``. The greatest excess is always at a vertex,
    because the distance to a convex set is a convex function.
    """
    array = as_points(a, least=1)
    outside = distances_outside(array, b)
    worst = int(outside.argmax())
    return float(outside[worst]), _pair(array[worst])


def distances_outside(points: ArrayLike, hull: ArrayLike) -> Points:
    """Distance of each point from the hull's surface; 0 inside and on the edge.

    ValueError without a hull.
    """
    array, ring = as_points(points), as_points(hull, least=1)
    distances = np.zeros(len(array))
    rows = max(1, _CHUNK // len(ring))
    for i in range(0, len(array), rows):
        distances[i : i + rows] = _distances_outside(array[i : i + rows], ring)
    return distances


def polygon_area(hull: ArrayLike) -> float:
    """Shoelace area; positive for the orientation of ``convex_hull``, 0 below 3 points."""
    ring = as_points(hull)
    if len(ring) < 3:
        return 0.0
    x, y = (ring - ring[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


def greatest_distance(
    points: ArrayLike, center: tuple[float, float]
) -> tuple[float, tuple[float, float]]:
    """The greatest distance of a point from ``center``, and that point.

    ValueError without points.
    """
    array = as_points(points, least=1)
    distances = np.hypot(array[:, 0] - center[0], array[:, 1] - center[1])
    farthest = int(distances.argmax())
    return float(distances[farthest]), _pair(array[farthest])


def _pair(point: Points) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _opposite_pairs(hull: Points) -> tuple[Indices, Indices]:
    """Positions of all pairs that two parallel lines can hold between them.

    The farthest pair is one of these (Shamos 1978: rotating calipers); here all
    caliper stops are found by one search in the sorted edge directions.
    """
    n = len(hull)
    if n < 3:
        return np.array([0]), np.array([n - 1])
    turn = _edge_directions(hull)
    # From each edge, the vertex where the outline turns back against it.
    stop = np.searchsorted(np.concatenate((turn, turn + 2.0 * math.pi)), turn + math.pi)
    start = np.concatenate(([stop[-1] - n], stop[:-1]))
    # One more on each side pays for the rounding of the directions.
    low, count = start - 1, np.maximum(stop - start, 0) + 3
    first = np.repeat(np.arange(n), count)
    within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    return first, (np.repeat(low, count) + within) % n


def _edge_directions(hull: Points) -> Points:
    """Directions in radians, ascending from -pi/2 to 3 pi/2, as the hull starts leftmost."""
    dx, dy = (np.roll(hull, -1, axis=0) - hull).T
    back = (dx < 0.0) | ((dx == 0.0) & (dy < 0.0))
    sign = np.where(back, -1.0, 1.0)
    turn: Points = np.arctan2(sign * dy, sign * dx) + np.where(back, math.pi, 0.0)
    # Rounding may put nearly parallel edges out of order; the search must not see that.
    ascending: Points = np.maximum.accumulate(turn)
    return ascending


def _distances_outside(points: Points, ring: Points) -> Points:
    distances: Points
    if len(ring) < 3:
        distances = _edge_distances(points, ring).min(axis=1)
        return distances
    edges = np.roll(ring, -1, axis=0) - ring
    offset_x = points[:, 0, None] - ring[:, 0]
    offset_y = points[:, 1, None] - ring[:, 1]
    outside = (edges[:, 0] * offset_y < edges[:, 1] * offset_x).any(axis=1)
    distances = np.zeros(len(points))
    if outside.any():
        distances[outside] = _edge_distances(points[outside], ring).min(axis=1)
    return distances


def _edge_distances(points: Points, ring: Points) -> Points:
    """Distances (n, m) of points from the edges of a ring."""
    edges = np.roll(ring, -1, axis=0) - ring
    length_sq = np.maximum((edges**2).sum(axis=1), np.finfo(np.float64).tiny)
    offset_x = points[:, 0, None] - ring[:, 0]
    offset_y = points[:, 1, None] - ring[:, 1]
    along = np.clip((offset_x * edges[:, 0] + offset_y * edges[:, 1]) / length_sq, 0.0, 1.0)
    distances: Points = np.hypot(offset_x - along * edges[:, 0], offset_y - along * edges[:, 1])
    return distances
