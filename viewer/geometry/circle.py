"""Smallest enclosing circle, exact."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from viewer.geometry.hull import exact_hull
from viewer.geometry.measures import greatest_distance
from viewer.geometry.points import LocalFrame, as_points
from viewer.geometry.types import Circle, Points

_MOST_ROUNDS = 1000
"""A stop for the impossible; ten rounds are many in practice."""
_GROWTH = 1e-15
"""Relative step below which a radius has not grown but been rounded."""

Center = tuple[float, float]
Disc = tuple[float, Center, tuple[int, ...]]
"""Radius, center, and the positions of the points that decide it."""


def smallest_enclosing_circle(points: ArrayLike) -> Circle:
    """The smallest circle around all points, and the two or three that decide it.

    The radius is the greatest distance from the center, so no point is left out.
    Independent of the order of the points. One place gives radius 0 and a single
    support point; no points raise ValueError.
    """
    array = as_points(points, least=1)
    hull = exact_hull(array)
    local = LocalFrame.around(hull).to_local(hull)
    support = hull[list(_deciding_points(local))]
    center = _exact_center(support)
    return Circle(center, greatest_distance(hull, center)[0], support)


def _deciding_points(local: Points) -> tuple[int, ...]:
    """Take the farthest point in, again and again; the circle grows each time.

    A smallest circle is decided by at most three points, one of which must be
    the newcomer (Welzl, LNCS 555, 1991, 359-370), so each round looks at no more
    than four points.
    """
    disc: Disc = (0.0, (float(local[0, 0]), float(local[0, 1])), (0,))
    for _ in range(_MOST_ROUNDS):
        radius, center, members = disc
        distance_sq = (local[:, 0] - center[0]) ** 2 + (local[:, 1] - center[1]) ** 2
        newcomer = int(distance_sq.argmax())
        if newcomer in members:
            break
        larger = _with_newcomer(local, members, newcomer)
        if larger[0] <= radius * (1.0 + _GROWTH):
            break
        disc = larger
    return tuple(sorted(disc[2]))


def _with_newcomer(local: Points, members: tuple[int, ...], newcomer: int) -> Disc:
    """The smallest circle of three points or fewer and one that lies outside it.

    It is the largest of the smallest circles of its triples (Helly's theorem).
    """
    others = min(2, len(members))
    discs = (_smallest_of(local, (*some, newcomer)) for some in combinations(members, others))
    return max(discs, key=lambda disc: disc[0])


def _smallest_of(local: Points, chosen: tuple[int, ...]) -> Disc:
    """Smallest circle of two or three points of ``local``."""
    if len(chosen) == 2:
        return _on_diameter(local, chosen[0], chosen[1])
    for i in range(3):
        corner, first, second = chosen[i], chosen[i - 1], chosen[i - 2]
        # A corner of 90 degrees or more lies within the circle of the far side.
        if float((local[first] - local[corner]) @ (local[second] - local[corner])) <= 0.0:
            return _on_diameter(local, first, second)
    return _through_three(local, chosen)


def _on_diameter(local: Points, first: int, second: int) -> Disc:
    center = (local[first] + local[second]) / 2.0
    radius = float(np.hypot(*(local[first] - local[second]))) / 2.0
    return radius, (float(center[0]), float(center[1])), (first, second)


def _through_three(local: Points, chosen: tuple[int, ...]) -> Disc:
    a = local[chosen[0]]
    (bx, by), (cx, cy) = (local[chosen[1]] - a).tolist(), (local[chosen[2]] - a).tolist()
    twice_area = bx * cy - by * cx
    if twice_area == 0.0:
        return 0.0, (float(a[0]), float(a[1])), chosen
    b_sq, c_sq = bx * bx + by * by, cx * cx + cy * cy
    x = (cy * b_sq - by * c_sq) / (2.0 * twice_area)
    y = (bx * c_sq - cx * b_sq) / (2.0 * twice_area)
    return float(np.hypot(x, y)), (float(a[0]) + x, float(a[1]) + y), chosen


def _exact_center(support: Points) -> Center:
    """The center from the given coordinates, rounded once at the very end."""
    exact = [(Fraction(x), Fraction(y)) for x, y in support.tolist()]
    (ax, ay), (bx, by) = exact[0], exact[-1]
    if len(exact) < 3:
        return float((ax + bx) / 2), float((ay + by) / 2)
    cx, cy = exact[1]
    bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
    b_sq, c_sq, four_areas = bx * bx + by * by, cx * cx + cy * cy, 2 * (bx * cy - by * cx)
    if four_areas == 0:
        # Only subnormal numbers get here: three places on one line have no common circle.
        ends = sorted(exact)
        return float((ends[0][0] + ends[2][0]) / 2), float((ends[0][1] + ends[2][1]) / 2)
    x = (cy * b_sq - by * c_sq) / four_areas
    y = (bx * c_sq - cx * b_sq) / four_areas
    return float(ax + x), float(ay + y)
