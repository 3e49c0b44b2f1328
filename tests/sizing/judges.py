"""Outside judges: smallest circles by trying every pair and triple, boxes, diagonals, witnesses."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

Point = tuple[float, float]


def smallest_circle_mm(points: Sequence[Point]) -> float:
    """Diameter of the smallest circle around a few points, by trying everything."""
    found = max((math.dist(p, q) for p, q in itertools.combinations(points, 2)), default=0.0)
    for a, b, c in itertools.combinations(points, 3):
        found = max(found, triangle_circle_mm(a, b, c))
    return found


def triangle_circle_mm(a: Point, b: Point, c: Point) -> float:
    """Smallest circle around a triangle: its longest side, or abc / 2K where none is obtuse."""
    sides = sorted((math.dist(a, b), math.dist(b, c), math.dist(c, a)))
    if sides[2] ** 2 >= sides[0] ** 2 + sides[1] ** 2:
        return sides[2]
    area = abs((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])) / 2
    return sides[0] * sides[1] * sides[2] / (2 * area)


def box_mm(points: Sequence[Point]) -> tuple[float, float]:
    """Width and height."""
    xs, ys = zip(*points, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def diagonal_mm(points: Sequence[Point]) -> float:
    """The greatest distance between two points."""
    return max((math.dist(p, q) for p, q in itertools.combinations(points, 2)), default=0.0)


def witnesses(width: float, height: float, diagonal: float) -> list[list[Point]]:
    """Triangles in a W x H box with sides <= D that one would try by hand, wide ones first."""
    found: list[list[Point]] = []
    for w, h, is_exchanged in ((width, height, False), (height, width, True)):
        y = math.sqrt(max(diagonal**2 - w**2, 0.0))
        x = w - math.sqrt(max(diagonal**2 - (h - y) ** 2, 0.0))
        for third in ((x, h), (0.0, h)):
            points = [(0.0, 0.0), (w, y), third]
            found.append([(q, p) for p, q in points] if is_exchanged else points)
    for degrees in range(0, 3001):
        turn = math.radians(degrees / 100)
        corners = [
            (0.0, 0.0),
            (diagonal * math.cos(turn), diagonal * math.sin(turn)),
            (
                diagonal * math.cos(turn + math.pi / 3),
                diagonal * math.sin(turn + math.pi / 3),
            ),
        ]
        left = min(x for x, _ in corners)
        found.append([(x - left, y) for x, y in corners])
    slack = 1e-9 * diagonal
    return [
        points
        for points in found
        if diagonal_mm(points) <= diagonal + slack
        and box_mm(points)[0] <= width + slack
        and box_mm(points)[1] <= height + slack
        and all(x >= -slack and y >= -slack for x, y in points)
    ]
