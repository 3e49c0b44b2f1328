"""Judges from outside for angle and shift: other ways to the same numbers, slow and plain.

Nothing here uses ``viewer.fit`` or ``viewer.geometry``: an image area is a list of outlines
read off the values in ``viewer.press``, its edge is followed by bisection, its optimum is
found by HiGHS (linear programs over dense tangents) and by SLSQP from random starts.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog, minimize
from shapely import LineString, Polygon

from viewer.press import Cup, EtchArea, Hold, Pad, PressLimits

Values = NDArray[np.float64]

TANGENTS = 2880
"""So many around a curved edge stand off by at most r (1 - cos(pi/2880)): 4e-5 mm for 65 mm."""


def turning(turn_deg: float) -> Values:
    """What turns a page vector counter-clockwise as seen, y down: columns go on the right."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return np.array([[c, s], [-s, c]])


def ellipse_distance(points: Values, a: float, b: float) -> Values:
    """Signed distance to an ellipse, positive inside, by bisection for the nearest point."""
    if a < b:
        return ellipse_distance(points[:, ::-1], b, a)
    if a == b:
        return np.asarray(a - np.hypot(*points.T))
    x, y = np.abs(points).T
    extra = a * a - b * b

    def excess(s: Values) -> Values:
        down = np.divide(b * y, s, out=np.zeros_like(s), where=y > 0)
        return np.asarray((a * x / (s + extra)) ** 2 + down**2 - 1.0)

    # s = t + b^2 > 0: where the nearest point has come to, (a^2 x / (s+extra), b^2 y / s).
    low = np.full(len(x), 1e-300)
    high = np.hypot(a * x, b * y) + 1.0
    for _ in range(200):
        middle = np.where(high > 2.0 * low, np.sqrt(low) * np.sqrt(high), 0.5 * (low + high))
        is_right = excess(middle) > 0
        low, high = np.where(is_right, middle, low), np.where(is_right, high, middle)
        if bool((high - low <= 2e-16 * high).all()):
            break
    edge_x = np.minimum(a * a * x / (high + extra), a)
    # On the long axis within the evolute two nearest points stand off it, both as near.
    edge_y = b * np.sqrt(np.maximum((1.0 - edge_x / a) * (1.0 + edge_x / a), 0.0))
    is_flat = edge_x > 0.9 * a
    edge_y = np.where(is_flat & (y > 0), b * b * y / high, edge_y)
    distance = np.hypot(edge_x - x, edge_y - y)
    return np.where((x / a) ** 2 + (y / b) ** 2 <= 1.0, distance, -distance)


@dataclass(frozen=True)
class Edge:
    """One outline: half sizes, corner radius, where it stands, what is kept free inside."""

    kind: str
    a: float
    b: float
    radius: float
    center: tuple[float, float]
    turn_deg: float
    margin: float

    def distance(self, points: Values) -> Values:
        """Signed distance of press points, positive inside, less the margin.

        Outside a straight side beyond a sharp corner: the distance beyond the side's line.
        """
        local = (points - np.array(self.center)) @ turning(-self.turn_deg).T
        if self.kind == "oval":
            return ellipse_distance(local, self.a, self.b) - self.margin
        beyond = np.abs(local) - (np.array([self.a, self.b]) - self.radius)
        is_corner = (beyond > 0).all(axis=1) & (self.radius > 0)
        far = np.where(is_corner, np.hypot(*beyond.T), beyond.max(axis=1))
        return np.asarray(self.radius - far - self.margin)

    def tangents(self, count: int = TANGENTS) -> tuple[Values, Values]:
        """Outward normals in the press frame, and how far off the origin each tangent is."""
        if self.kind == "box" and self.radius == 0:
            normals = np.array([[1.0, 0], [-1, 0], [0, 1], [0, -1]])
        else:
            angles = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
            normals = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        if self.kind == "oval":
            reach = np.hypot(self.a * normals[:, 0], self.b * normals[:, 1])
        else:
            inner = np.array([self.a, self.b]) - self.radius
            reach = np.abs(normals) @ inner + self.radius
        normals = normals @ turning(self.turn_deg).T
        return normals, reach - self.margin + normals @ np.array(self.center)

    def polygon(self, quarter: int = 2000) -> Polygon:
        """The outline without its margin, as a fine polygon in the press frame."""
        if self.kind == "oval":
            angles = np.linspace(0.0, 2.0 * math.pi, 4 * quarter, endpoint=False)
            points = np.stack([self.a * np.cos(angles), self.b * np.sin(angles)], axis=1)
            shape = Polygon(points)
        else:
            x, y = self.a - self.radius, self.b - self.radius
            inner = np.array([(-x, -y), (x, -y), (x, y), (-x, y)])
            shape = Polygon(inner) if min(x, y) > 0 else LineString([inner[0], inner[2]])
            if self.radius:
                shape = shape.buffer(self.radius, quad_segs=quarter)
        points = np.array(shape.exterior.coords) @ turning(self.turn_deg).T
        return Polygon(points + np.array(self.center))


def disc(diameter_mm: float) -> Edge:
    """A disc about the press frame's origin."""
    half = diameter_mm / 2.0
    return Edge("box", half, half, half, (0.0, 0.0), 0.0, 0.0)


def pad_edge(pad: Pad) -> Edge:
    """A pad's outline."""
    a, b = pad.width_mm / 2.0, pad.height_mm / 2.0
    if pad.shape == "rect":
        kind, radius = "box", pad.corner_radius_mm
    else:
        kind, radius = ("oval", 0.0) if a != b else ("box", a)
    return Edge(kind, a, b, radius, pad.offset_mm, pad.turn_deg, pad.margin_mm)


def etch_edge(etch: EtchArea) -> Edge:
    """An etch area's outline."""
    a, b = etch.width_mm / 2.0, etch.height_mm / 2.0
    return Edge("box", a, b, 0.0, etch.offset_mm, 0.0, etch.margin_mm)


def edges_of(cup: Cup, limits: PressLimits) -> list[Edge]:
    """The outlines that bound the image, the cup's first."""
    edges = [disc(cup.max_image_diameter_mm)]
    if limits.pad is not None:
        edges.append(pad_edge(limits.pad))
    if limits.etch is not None:
        edges.append(etch_edge(limits.etch))
    return edges


# --- placements ------------------------------------------------------------------------


def landed(points: Values, turn_deg: float, shift: Values) -> Values:
    """Where ink points, relative to the datum, come to lie in the press frame."""
    result: Values = points @ turning(turn_deg).T + shift
    return result


def room_at(edges: list[Edge], points: Values, turn_deg: float, shift: Values) -> float:
    """Least clearance of ink at one placement."""
    at = landed(points, turn_deg, shift)
    return min(float(edge.distance(at).min()) for edge in edges)


def shift_bounds(hold: Hold) -> list[tuple[float | None, float | None]]:
    """The hold as scipy wants it."""
    return [(None, None) if math.isinf(r) else (-r, r) for r in hold.reach_mm]


class Bracket:
    """The best shift at an angle, between two sure numbers: HiGHS over dense tangents may
    come out too high, the clearance where its answer puts the ink cannot."""

    def __init__(self, edges: list[Edge], hold: Hold, count: int = TANGENTS) -> None:
        self._edges, self._bounds = edges, [*shift_bounds(hold), (None, None)]
        pairs = [edge.tangents(count) for edge in edges]
        self._normals = np.concatenate([normals for normals, _ in pairs])
        self._reach = np.concatenate([reach for _, reach in pairs])
        self._table = np.column_stack([self._normals, np.ones(len(self._normals))])

    def at(self, points: Values, turn_deg: float) -> tuple[float, float]:
        """(low, high) around the best clearance of ink at one angle."""
        shift, high = self.solved(points, turn_deg)
        return room_at(self._edges, points, turn_deg, shift), high

    def solved(self, points: Values, turn_deg: float) -> tuple[Values, float]:
        """The shift that HiGHS finds best, and its clearance as far as the tangents tell."""
        turned = points @ turning(turn_deg).T
        room = self._reach - (turned @ self._normals.T).max(axis=0)
        found = linprog(
            [0.0, 0.0, -1.0], A_ub=self._table, b_ub=room, bounds=self._bounds, method="highs"
        )
        assert found.status == 0, found.message
        return np.asarray(found.x[:2]), -float(found.fun)


def attack(
    edges: list[Edge],
    points: Values,
    limits: PressLimits,
    starts: int,
    rng: np.random.Generator,
    turn_limit_deg: float = 180.0,
) -> tuple[float, float, Values]:
    """The best placement that optimisation from random starts comes to: (clearance, turn, shift).

    SLSQP over shift, turn and clearance with one smooth condition per point and outline,
    then Nelder-Mead over shift and turn. The clearance is that of a placement inside the
    bounds, so it is a sure bound from below.
    """
    bounds = shift_bounds(limits.hold)
    reach = np.array(limits.hold.reach_mm)
    size = float(np.abs(points).max()) + 1.0

    def rooms(at: Values) -> Values:
        q = landed(points, float(at[2]) * size_deg, at[:2])
        return np.concatenate([edge.distance(q) for edge in edges]) - at[3]

    size_deg = math.degrees(1.0 / size)  # a step of 1 in the turn moves ink by about 1 mm

    def tidy(at: Values) -> tuple[float, Values]:
        turn = max(-turn_limit_deg, min(turn_limit_deg, float(at[2]) * size_deg))
        return turn, np.clip(at[:2], -reach, reach)

    def worth(at: Values) -> float:
        turn, shift = tidy(at)
        return -room_at(edges, points, turn, shift)

    best: tuple[float, float, Values] = (-math.inf, 0.0, np.zeros(2))
    limit = turn_limit_deg / size_deg
    for _ in range(starts):
        shift = np.clip(rng.uniform(-0.3, 0.3, 2) * size, -reach, reach)
        start = np.array([*shift, rng.uniform(-limit, limit), 0.0])
        start[3] = float(rooms(start).min())
        found = minimize(
            lambda at: -at[3],
            start,
            jac=lambda at: np.array([0.0, 0.0, 0.0, -1.0]),
            method="SLSQP",
            bounds=[*bounds, (-limit, limit), (None, None)],
            constraints={"type": "ineq", "fun": rooms},
            options={"maxiter": 60, "ftol": 1e-10},
        )
        at = found.x[:3] if np.isfinite(found.x).all() else start[:3]
        turn, shift = tidy(at)
        value = room_at(edges, points, turn, shift)
        if value > best[0]:
            best = (value, turn, shift)
    at = np.array([*best[2], best[1] / size_deg])
    polished = minimize(
        worth, at, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-10, "maxiter": 400}
    )
    turn, shift = tidy(polished.x)
    value = room_at(edges, points, turn, shift)
    return (value, turn, shift) if value > best[0] else best


def highest(
    curve: Callable[[float], float], low: float, high: float, count: int, halvings: int = 40
) -> float:
    """The greatest value of a curve over an interval: dense, then finer around the best three."""
    turns = np.linspace(low, high, count)
    values = np.array([curve(float(turn)) for turn in turns])
    step = turns[1] - turns[0]
    best = float(values.max())
    for index in values.argsort()[-3:]:
        left, right = turns[index] - step, turns[index] + step
        for _ in range(halvings):
            a, b = left + (right - left) * 0.382, left + (right - left) * 0.618
            if curve(float(a)) < curve(float(b)):
                left = a
            else:
                right = b
        best = max(best, curve(float((left + right) / 2.0)))
    return best
