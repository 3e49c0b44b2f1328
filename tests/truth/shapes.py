"""Random drawings whose convex hull is known in closed form.

Everything is in millimetres in the page frame (origin top left, y down). A shape
is described once in its own coordinates, with a chain of transforms to the page,
and is then written as SVG or as PDF by the two writers beside this module.
Curves are sampled so finely that no chord is off by more than about 1e-6 mm.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray
from scipy.spatial import ConvexHull  # type: ignore[import-untyped]
from shapely.geometry import MultiPoint, Point, Polygon  # type: ignore[import-untyped]

Array = NDArray[np.float64]
Pair = tuple[float, float]
Op = tuple[str, tuple[float, ...]]

FULL_TURN_SAMPLES = 20_000
ROUND_END_SAMPLES = 4_000
CUBIC_SAMPLES = 8_000
LEAST_WIDTH_MM = 0.1
LEAST_CORNER_DEG = 15.0


@dataclass(frozen=True)
class Contour:
    """A path of straight ("L") and cubic ("C") pieces."""

    start: Pair
    pieces: tuple[tuple[str, tuple[Pair, ...]], ...]
    closed: bool


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn; names as in SVG."""

    width: float
    cap: str = "butt"
    join: str = "miter"
    miter_limit: float = 4.0


@dataclass(frozen=True)
class Shape:
    """One painted thing: geometry, paint, transforms (outermost first) and true hull points."""

    kind: str
    contours: tuple[Contour, ...]
    local_points: Array
    stroke: Stroke | None = None
    even_odd: bool = False
    native: tuple[str, dict[str, str]] | None = None
    corners_deg: Callable[[Array], float] | None = None
    solid: Array | None = None
    thin: float = math.inf
    groups: tuple[tuple[Op, ...], ...] = ()
    color: tuple[int, int, int] = (0, 0, 0)

    def matrix(self) -> Array:
        """The 3x3 matrix from the shape's own coordinates to page millimetres."""
        total = np.eye(3)
        for ops in self.groups:
            for op in ops:
                total = total @ op_matrix(op)
        return total

    def points_mm(self) -> Array:
        """Points on the page whose hull is the hull of the painted ink."""
        return apply(self.matrix(), self.local_points)


@dataclass(frozen=True)
class Drawing:
    """A page with shapes, its true hull (mm) and true smallest circle."""

    seed: int
    page_mm: Pair
    shapes: tuple[Shape, ...]
    hull_mm: Array = field(repr=False)

    @property
    def radius_mm(self) -> float:
        """Radius of the true smallest enclosing circle."""
        return smallest_circle(self.hull_mm)[1]


# --- plane geometry, kept apart from viewer.geometry on purpose -----------------------


def apply(matrix: Array, points: Array) -> Array:
    """Map points (n, 2) by a 3x3 matrix."""
    result: Array = points @ matrix[:2, :2].T + matrix[:2, 2]
    return result


def op_matrix(op: Op) -> Array:
    """The 3x3 matrix of one SVG transform function."""
    name, v = op
    if name == "translate":
        rows = [[1, 0, v[0]], [0, 1, v[1]]]
    elif name == "scale":
        rows = [[v[0], 0, 0], [0, v[1], 0]]
    elif name == "skewX":
        rows = [[1, math.tan(math.radians(v[0])), 0], [0, 1, 0]]
    elif name == "skewY":
        rows = [[1, 0, 0], [math.tan(math.radians(v[0])), 1, 0]]
    elif name == "rotate":
        c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        x, y = v[1:] if len(v) == 3 else (0.0, 0.0)
        rows = [[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y]]
    else:
        rows = [[v[0], v[2], v[4]], [v[1], v[3], v[5]]]
    return np.array([*rows, [0, 0, 1]], dtype=np.float64)


def hull_of(points: Array) -> Array:
    """Corners of the convex hull (Qhull)."""
    corners: Array = points[ConvexHull(points).vertices]
    return corners


def _circle_of(points: Array) -> tuple[Array, float]:
    """Smallest circle of two to four points, by trying every pair and triple."""
    best: tuple[Array, float] | None = None
    for count in (2, 3):
        for chosen in combinations(points, count):
            center = _circumcenter(chosen)
            if center is None:
                continue
            radius = float(np.hypot(*(chosen[0] - center)))
            inside = np.hypot(*(points - center).T).max() <= radius + 1e-10
            if inside and (best is None or radius < best[1]):
                best = center, radius
    assert best is not None
    return best


def _circumcenter(points: Sequence[Array]) -> Array | None:
    if len(points) == 2:
        middle: Array = (points[0] + points[1]) / 2
        return middle
    a, b = points[1] - points[0], points[2] - points[0]
    twice = 2 * (a[0] * b[1] - a[1] * b[0])
    if abs(twice) < 1e-12:
        return None
    x = (b[1] * a @ a - a[1] * b @ b) / twice
    y = (a[0] * b @ b - b[0] * a @ a) / twice
    center: Array = points[0] + np.array([x, y])
    return center


def smallest_circle(points: Array) -> tuple[Array, float]:
    """Center and radius: add the farthest point to the deciding ones until none is outside."""
    active = points[[0, int(np.argmax(np.hypot(*(points - points[0]).T)))]]
    for _ in range(1000):
        center, radius = _circle_of(active)
        distances = np.hypot(*(points - center).T)
        far = int(np.argmax(distances))
        if distances[far] <= radius + 1e-9:
            return center, radius
        on_rim = np.abs(np.hypot(*(active - center).T) - radius) < 1e-8
        active = np.vstack([active[on_rim], points[far]])
    raise AssertionError("the smallest circle did not settle")


def reach_outside(points: Array, hull: Array) -> float:
    """How far the points reach outside a convex hull at most (mm, 0 if inside).

    The side seen from the middle in a point's direction gives an upper bound; the
    exact distance (shapely) is only taken for the points that can still be the worst.
    """
    shape = MultiPoint(hull).convex_hull
    bounds = _bounds_outside(points, np.array(shape.exterior.coords)[:-1])
    order = np.argsort(-bounds)
    worst = 0.0
    for first in range(0, len(order), 64):
        chunk = order[first : first + 64]
        if bounds[chunk[0]] <= worst:
            break
        worst = max(worst, float(shapely.distance(shapely.points(points[chunk]), shape).max()))
    return worst


def _bounds_outside(points: Array, ring: Array) -> Array:
    """For each point, its distance to the side that a ray from the middle crosses; 0 inside."""
    middle = ring.mean(axis=0)
    angles = np.arctan2(*(ring - middle).T[::-1])
    ring = ring[np.argsort(angles)]
    seen = np.searchsorted(np.sort(angles), np.arctan2(*(points - middle).T[::-1]))
    a, b = ring[(seen - 1) % len(ring)], ring[seen % len(ring)]
    side, away = b - a, points - a
    part = np.clip((side * away).sum(axis=1) / (side * side).sum(axis=1), 0, 1)
    distances: Array = np.hypot(*(away - part[:, None] * side).T)
    outward = away[:, 0] * side[:, 1] - away[:, 1] * side[:, 0]
    distances[outward <= 0] = 0.0
    return distances


# --- pieces of outlines ---------------------------------------------------------------


def ellipse_points(rx: float, ry: float, count: int = FULL_TURN_SAMPLES) -> Array:
    """Points on an ellipse about the origin."""
    t = np.linspace(0, 2 * math.pi, count, endpoint=False)
    return np.column_stack([rx * np.cos(t), ry * np.sin(t)])


def arc_contour(
    center: Pair, radii: Pair, start_deg: float, sweep_deg: float, closed: bool
) -> Contour:
    """An elliptic arc as cubics of at most 22.5 deg (off by 7e-8 of the radius)."""
    count = max(1, math.ceil(abs(sweep_deg) / 22.5))
    step = math.radians(sweep_deg) / count
    k = 4 / 3 * math.tan(step / 4)

    def at(c: float, s: float) -> Pair:
        return center[0] + radii[0] * c, center[1] + radii[1] * s

    pieces: list[tuple[str, tuple[Pair, ...]]] = []
    for i in range(count):
        a, b = (math.radians(start_deg) + step * j for j in (i, i + 1))
        ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        pieces.append(
            ("C", (at(ca - k * sa, sa + k * ca), at(cb + k * sb, sb - k * cb), at(cb, sb)))
        )
    first = math.radians(start_deg)
    return Contour(at(math.cos(first), math.sin(first)), tuple(pieces), closed)


def polygon_contour(points: Array, closed: bool = True) -> Contour:
    """Straight pieces through the points."""
    pairs = [(float(x), float(y)) for x, y in points]
    return Contour(pairs[0], tuple(("L", (p,)) for p in pairs[1:]), closed)


def cubic_samples(control: Array, count: int = CUBIC_SAMPLES) -> tuple[Array, Array]:
    """Points and unit normals along one cubic given by its four control points."""
    t = np.linspace(0, 1, count)[:, None]
    s = 1 - t
    c0, c1, c2, c3 = control
    points = s**3 * c0 + 3 * s * s * t * c1 + 3 * s * t * t * c2 + t**3 * c3
    slope = s * s * (c1 - c0) + 2 * s * t * (c2 - c1) + t * t * (c3 - c2)
    unit = slope / np.hypot(*slope.T)[:, None]
    return points, np.column_stack([-unit[:, 1], unit[:, 0]])


def corner_angles_deg(points: Array, closed: bool) -> Array:
    """Angle between the two sides that meet at each corner."""
    before, after = np.roll(points, 1, axis=0) - points, np.roll(points, -1, axis=0) - points
    cosine = (before * after).sum(axis=1) / (np.hypot(*before.T) * np.hypot(*after.T))
    angles: Array = np.degrees(np.arccos(np.clip(cosine, -1, 1)))
    return angles if closed else angles[1:-1]


def stroked_polyline_points(points: Array, stroke: Stroke, closed: bool) -> Array:
    """Points whose hull is that of a stroked polyline, by the rules of SVG and PDF alike."""
    half = stroke.width / 2
    ends = np.roll(points, -1, axis=0) if closed else points[1:]
    starts = points if closed else points[:-1]
    units = (ends - starts) / np.hypot(*(ends - starts).T)[:, None]
    parts = []
    for i, (a, b, u) in enumerate(zip(starts, ends, units, strict=True)):
        if stroke.cap == "square" and not closed:
            a = a - u * half if i == 0 else a
            b = b + u * half if i == len(starts) - 1 else b
        normal = np.array([-u[1], u[0]]) * half
        parts.append(np.array([a + normal, a - normal, b + normal, b - normal]))
    disc = ellipse_points(half, half, ROUND_END_SAMPLES)
    if stroke.cap == "round" and not closed:
        parts += [points[0] + disc, points[-1] + disc]
    inner = range(len(points)) if closed else range(1, len(points) - 1)
    for i in inner:
        parts.append(_join(points[i], units[i - 1], units[i], stroke, disc))
    return np.vstack(parts)


def _join(corner: Array, before: Array, after: Array, stroke: Stroke, disc: Array) -> Array:
    if stroke.join == "round":
        rounded: Array = corner + disc
        return rounded
    outward = before - after
    length = float(np.hypot(*outward))
    # 1/sin of half the angle between the sides is the ratio that the limit is about.
    ratio = 2 / math.sqrt(max(1e-12, 4 - length * length))
    if stroke.join == "bevel" or ratio > stroke.miter_limit:
        return corner[None, :]
    tip: Array = corner + outward / length * stroke.width / 2 * ratio
    return tip[None, :]


# --- the kinds of shape ---------------------------------------------------------------


def _numbers(**values: float) -> dict[str, str]:
    return {name: f"{value:.10g}" for name, value in values.items()}


def _circle(rng: random.Random) -> Shape:
    r = rng.uniform(3, 40)
    native = ("circle", _numbers(cx=0, cy=0, r=r))
    contour = arc_contour((0, 0), (r, r), 0, 360, True)
    return Shape("circle", (contour,), ellipse_points(r, r), native=native, thin=2 * r)


def _ellipse(rng: random.Random) -> Shape:
    rx, ry = rng.uniform(3, 40), rng.uniform(3, 40)
    native = ("ellipse", _numbers(cx=0, cy=0, rx=rx, ry=ry))
    contour = arc_contour((0, 0), (rx, ry), 0, 360, True)
    thin = 2 * min(rx, ry)
    return Shape("ellipse", (contour,), ellipse_points(rx, ry), native=native, thin=thin)


def _star(rng: random.Random, count: int) -> Array:
    turns = np.sort([(i + rng.uniform(-0.35, 0.35)) / count for i in range(count)]) * 2 * math.pi
    radii = np.array([rng.uniform(8, 30) for _ in range(count)])
    return np.column_stack([radii * np.cos(turns), radii * np.sin(turns)])


def _polygon(rng: random.Random) -> Shape:
    points = _star(rng, rng.randint(3, 9))
    listed = " ".join(f"{x:.10g},{y:.10g}" for x, y in points)

    def least_corner(matrix: Array) -> float:
        return float(corner_angles_deg(apply(matrix, points), True).min())

    contour = polygon_contour(points)
    native = ("polygon", {"points": listed})
    return Shape(
        "polygon", (contour,), points, native=native, corners_deg=least_corner, solid=points
    )


def _rounded_rect(rng: random.Random) -> Shape:
    w, h = rng.uniform(5, 40), rng.uniform(5, 40)
    rx, ry = rng.uniform(0.02, 0.5) * w, rng.uniform(0.02, 0.5) * h
    native = ("rect", _numbers(x=0, y=0, width=w, height=h, rx=rx, ry=ry))
    corner = ellipse_points(rx, ry)
    middles = [(rx, ry), (w - rx, ry), (w - rx, h - ry), (rx, h - ry)]
    points = np.vstack([corner + np.array(m) for m in middles])
    pieces: list[tuple[str, tuple[Pair, ...]]] = []
    for middle, start in zip(middles, (180, 270, 0, 90), strict=True):
        arc = arc_contour(middle, (rx, ry), start, 90, False)
        pieces += [("L", (arc.start,)), *arc.pieces]
    contour = Contour((0.0, ry), tuple(pieces), True)
    return Shape("rounded-rect", (contour,), hull_of(points), native=native, thin=min(w, h))


def _rect(rng: random.Random) -> Shape:
    w, h = rng.uniform(2, 40), rng.uniform(2, 40)
    points = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=np.float64)
    native = ("rect", _numbers(x=0, y=0, width=w, height=h))
    return Shape("rect", (polygon_contour(points),), points, native=native, thin=min(w, h))


def _stroke(rng: random.Random, widest: float) -> Stroke:
    return Stroke(
        rng.uniform(0.3, widest),
        rng.choice(("butt", "round", "square")),
        rng.choice(("miter", "miter", "round", "bevel")),
        rng.choice((1.5, 2.0, 4.0, 6.0, 10.0)),
    )


def _line(rng: random.Random) -> Shape:
    points = np.array([(0, 0), (rng.uniform(3, 40), rng.uniform(-20, 20))])
    stroke = _stroke(rng, 4)
    (x1, y1), (x2, y2) = points
    native = ("line", _numbers(x1=x1, y1=y1, x2=x2, y2=y2))
    truth = stroked_polyline_points(points, stroke, False)
    contour = polygon_contour(points, False)
    return Shape("line", (contour,), truth, stroke, native=native, thin=stroke.width)


def _stroked_chain(rng: random.Random, closed: bool) -> Shape:
    stroke = _stroke(rng, 3)
    for _ in range(200):
        points = _star(rng, rng.randint(3, 7))
        if not closed:
            points = points[rng.sample(range(len(points)), len(points))]
        angles = corner_angles_deg(points, closed)
        ratios = 1 / np.sin(np.radians(angles) / 2)
        unclear = np.abs(ratios / stroke.miter_limit - 1).min() < 0.03
        if angles.min() > LEAST_CORNER_DEG and angles.max() < 178 and not unclear:
            break
    tag = "polygon" if closed else "polyline"
    listed = " ".join(f"{x:.10g},{y:.10g}" for x, y in points)

    def least_corner(matrix: Array) -> float:
        return float(corner_angles_deg(apply(matrix, points), closed).min())

    truth = stroked_polyline_points(points, stroke, closed)
    contour = polygon_contour(points, closed)
    return Shape(
        f"stroked-{tag}",
        (contour,),
        truth,
        stroke,
        native=(tag, {"points": listed}),
        corners_deg=least_corner,
        thin=stroke.width,
    )


def _stroked_ellipse(rng: random.Random) -> Shape:
    rx = rng.uniform(4, 30)
    ry = rx if rng.random() < 0.5 else rng.uniform(4, 30)
    stroke = _stroke(rng, 3)
    t = np.linspace(0, 2 * math.pi, FULL_TURN_SAMPLES, endpoint=False)
    normal = np.column_stack([ry * np.cos(t), rx * np.sin(t)])
    normal /= np.hypot(*normal.T)[:, None]
    truth = ellipse_points(rx, ry) + normal * stroke.width / 2
    contour = arc_contour((0, 0), (rx, ry), 0, 360, True)
    native = ("ellipse", _numbers(cx=0, cy=0, rx=rx, ry=ry))
    return Shape("stroked-ellipse", (contour,), truth, stroke, native=native, thin=stroke.width)


def _thick_arc(rng: random.Random) -> Shape:
    r, start, sweep = rng.uniform(6, 30), rng.uniform(0, 360), rng.uniform(30, 330)
    stroke = replace(_stroke(rng, 4), cap=rng.choice(("butt", "round")))
    t = np.radians(np.linspace(start, start + sweep, FULL_TURN_SAMPLES))
    unit = np.column_stack([np.cos(t), np.sin(t)])
    parts = [unit * (r + stroke.width / 2), unit * (r - stroke.width / 2)]
    if stroke.cap == "round":
        disc = ellipse_points(stroke.width / 2, stroke.width / 2, ROUND_END_SAMPLES)
        parts += [unit[0] * r + disc, unit[-1] * r + disc]
    (x0, y0), (x1, y1) = unit[0] * r, unit[-1] * r
    data = f"M{x0:.10g} {y0:.10g}A{r:.10g} {r:.10g} 0 {int(sweep > 180)} 1 {x1:.10g} {y1:.10g}"
    contour = arc_contour((0, 0), (r, r), start, sweep, False)
    truth = hull_of(np.vstack(parts))
    native = ("path", {"d": data})
    return Shape("thick-arc", (contour,), truth, stroke, native=native, thin=stroke.width)


def _blob(rng: random.Random) -> Shape:
    through = _star(rng, rng.randint(4, 8))
    slope = (np.roll(through, -1, axis=0) - np.roll(through, 1, axis=0)) * rng.uniform(0.1, 0.25)
    pieces: list[tuple[str, tuple[Pair, ...]]] = []
    samples = []
    for i, start in enumerate(through):
        j = (i + 1) % len(through)
        control = np.array([start, start + slope[i], through[j] - slope[j], through[j]])
        samples.append(cubic_samples(control)[0])
        b, c, d = ((float(x), float(y)) for x, y in control[1:])
        pieces.append(("C", (b, c, d)))
    first = float(through[0][0]), float(through[0][1])
    outline = np.vstack(samples)
    contour = Contour(first, tuple(pieces), True)
    return Shape("blob", (contour,), hull_of(outline), solid=outline[::40])


def _stroked_cubic(rng: random.Random) -> Shape:
    control = np.array([(rng.uniform(-25, 25), rng.uniform(-25, 25)) for _ in range(4)])
    stroke = replace(_stroke(rng, 3), cap=rng.choice(("butt", "round")), join="round")
    points, normal = cubic_samples(control, FULL_TURN_SAMPLES)
    half = stroke.width / 2
    parts = [points + normal * half, points - normal * half]
    if stroke.cap == "round":
        disc = ellipse_points(half, half, ROUND_END_SAMPLES)
        parts += [points[0] + disc, points[-1] + disc]
    a, b, c, d = ((float(x), float(y)) for x, y in control)
    contour = Contour(a, (("C", (b, c, d)),), False)
    truth = hull_of(np.vstack(parts))
    return Shape("stroked-cubic", (contour,), truth, stroke, thin=stroke.width)


def _annulus(rng: random.Random) -> Shape:
    r = rng.uniform(5, 40)
    inner = r - rng.uniform(0.3, 3)
    contours = (
        arc_contour((0, 0), (r, r), 0, 360, True),
        arc_contour((0, 0), (inner, inner), 0, 360, True),
    )
    return Shape("annulus", contours, ellipse_points(r, r), even_odd=True, thin=r - inner)


KINDS: tuple[Callable[[random.Random], Shape], ...] = (
    _circle,
    _ellipse,
    _polygon,
    _rounded_rect,
    _rect,
    _line,
    lambda rng: _stroked_chain(rng, False),
    lambda rng: _stroked_chain(rng, True),
    _stroked_ellipse,
    _thick_arc,
    _blob,
    _stroked_cubic,
    _annulus,
)


# --- whole drawings -------------------------------------------------------------------


def _random_op(rng: random.Random) -> Op:
    name = rng.choice(("translate", "rotate", "scale", "skewX", "skewY", "matrix", "rotate-about"))
    if name == "translate":
        return name, (rng.uniform(-30, 30), rng.uniform(-30, 30))
    if name == "rotate":
        return name, (rng.uniform(-180, 180),)
    if name == "rotate-about":
        return "rotate", (rng.uniform(-180, 180), rng.uniform(-20, 20), rng.uniform(-20, 20))
    if name == "scale":
        sign = rng.choice((1, 1, -1))
        return name, (sign * rng.uniform(0.5, 2), rng.uniform(0.5, 2))
    if name in ("skewX", "skewY"):
        return name, (rng.uniform(-30, 30),)
    a, d = rng.uniform(0.5, 1.5), rng.uniform(0.5, 1.5)
    b, c = rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4)
    return name, (a, b, c, d, rng.uniform(-10, 10), rng.uniform(-10, 10))


def _within_promise(shape: Shape) -> bool:
    """Locally wide enough, and no corner too sharp, after all transforms."""
    matrix = shape.matrix()
    least = float(np.linalg.svd(matrix[:2, :2], compute_uv=False)[-1])
    if least * shape.thin < LEAST_WIDTH_MM:
        return False
    if shape.corners_deg is not None and shape.corners_deg(matrix) < LEAST_CORNER_DEG:
        return False
    return shape.solid is None or _is_wide(apply(matrix, shape.solid))


def _is_wide(outline: Array) -> bool:
    """Every outermost point of the polygon is near a place at least LEAST_WIDTH_MM wide."""
    polygon = Polygon(outline)
    if not polygon.is_valid:
        return False
    core = polygon.buffer(-LEAST_WIDTH_MM / 2)
    if core.geom_type != "Polygon" or core.is_empty:
        return False
    reach = LEAST_WIDTH_MM / 2 / math.sin(math.radians(LEAST_CORNER_DEG / 2)) + 0.01
    return all(core.distance(Point(*p)) <= reach for p in hull_of(outline))


def _place(rng: random.Random, shape: Shape, page: Pair) -> Shape:
    """Add the outermost transforms that bring the shape into a random box on the page."""
    groups = tuple(
        tuple(_random_op(rng) for _ in range(rng.randint(0, 2))) for _ in range(rng.randint(1, 3))
    )
    loose = replace(shape, groups=groups)
    points = loose.points_mm()
    low, high = points.min(axis=0), points.max(axis=0)
    room = np.array(page) - 1.0
    scale = rng.uniform(0.15, 0.98) * float((room / (high - low)).min())
    size = (high - low) * scale
    corner = 0.5 + np.array([rng.random(), rng.random()]) * (room - size)
    x, y = corner - low * scale
    outer: tuple[Op, ...]
    if rng.random() < 0.5:
        outer = (("translate", (x, y)), ("scale", (scale, scale)))
    else:
        outer = (("matrix", (scale, 0.0, 0.0, scale, x, y)),)
    color = (rng.randint(0, 90), rng.randint(0, 90), rng.randint(0, 90))
    return replace(shape, groups=(outer, *groups), color=color)


def _draw_one(rng: random.Random, page: Pair) -> Shape:
    kind = rng.choice(KINDS)
    while True:
        shape = _place(rng, kind(rng), page)
        if _within_promise(shape):
            return shape


def random_drawing(seed: int) -> Drawing:
    """A page of 20..150 mm with one to six shapes, the same for the same seed."""
    rng = random.Random(seed)
    page = round(rng.uniform(20, 150), 3), round(rng.uniform(20, 150), 3)
    shapes = tuple(_draw_one(rng, page) for _ in range(rng.randint(1, 6)))
    return drawing_of(seed, page, shapes)


def drawing_of(seed: int, page: Pair, shapes: Iterable[Shape]) -> Drawing:
    """A drawing with its true hull."""
    chosen = tuple(shapes)
    hull = hull_of(np.vstack([shape.points_mm() for shape in chosen]))
    return Drawing(seed, page, chosen, hull)


def needle(seed: int) -> Drawing:
    """A triangle with a tip of 1 to 5 deg: outside the promise on width."""
    rng = random.Random(seed)
    length, tip = rng.uniform(10, 60), math.radians(rng.uniform(1, 5))
    points = np.array(
        [(0, 0), (length, length * math.tan(tip) / 2), (length, -length * math.tan(tip) / 2)]
    )
    shape = Shape("needle", (polygon_contour(points),), points)
    return _on_large_page(seed, rng, shape)


def hairline(seed: int) -> Drawing:
    """A straight stroke of 0.001 to 0.01 mm."""
    rng = random.Random(seed)
    points = np.array([(0.0, 0.0), (rng.uniform(10, 60), 0.0)])
    stroke = Stroke(rng.uniform(0.001, 0.01), "butt", "miter")
    truth = stroked_polyline_points(points, stroke, False)
    shape = Shape("hairline", (polygon_contour(points, False),), truth, stroke)
    return _on_large_page(seed, rng, shape)


def _on_large_page(seed: int, rng: random.Random, shape: Shape) -> Drawing:
    outer: tuple[Op, ...] = (("translate", (75.0, 75.0)), ("rotate", (rng.uniform(-180, 180),)))
    base_points = np.array([(-3, -3), (3, -3), (3, 3), (-3, 3)], dtype=np.float64)
    base = Shape("rect", (polygon_contour(base_points),), base_points, groups=(outer,))
    return drawing_of(seed, (150.0, 150.0), (base, replace(shape, groups=(outer,))))
