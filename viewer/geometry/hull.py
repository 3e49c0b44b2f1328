"""Convex hull with exact turning decisions, quick for a million points.

Points that cannot matter are dropped in bulk with numpy, wherever floating point
is certain; what remains is decided exactly, so that the result is truly convex.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viewer.geometry.points import LocalFrame, as_points
from viewer.geometry.types import Points

Indices = NDArray[np.intp]

_EPS = float(np.finfo(np.float64).eps)
_FILTER_ABOVE = 20_000
"""Fewer points are sorted at once; more are first sieved through a 32-gon."""
_SIEVE_DIRECTIONS = 16
_TURN_ERROR = 8.0 * _EPS
"""Rounding error of a turn relative to the sum of its two products (Shewchuk: 3.3 eps)."""
_SPLITTER = 134217729.0
_BULK_PASSES = 24
_FEW = 20
"""Below one in this many, doubtful turns are worth deciding one by one."""
_NOISE_ULPS = 4.0
_LARGEST_NOISE = 1e-11
"""Vertices this near to their neighbors' chord, relative to the size, may be dropped."""


def convex_hull(points: ArrayLike) -> Points:
    """Vertices of the convex hull, shape (m, 2), with positive shoelace area.

    The vertices are input points, unchanged, starting at the least x (then least
    y); none is repeated or lies on the line of its neighbors (up to the rounding
    of the coordinates themselves, at most 1e-9 of the size in all). Collinear
    input gives its two ends, a single place one point, no input none.
    """
    return _without_noise(exact_hull(points))


def exact_hull(points: ArrayLike) -> Points:
    """As ``convex_hull``, but keeping vertices that stand out by rounding only."""
    array = as_points(points)
    if len(array) <= 1:
        return array.copy()
    frame = LocalFrame.around(array)
    local = frame.to_local(array)
    if len(local) > _FILTER_ABOVE:
        kept = _sieve(local)
        array, local = array[kept], local[kept]
    return array[_hull_indices(array, local, _on_coarse_grid(array, frame))]


def _on_coarse_grid(points: Points, frame: LocalFrame) -> bool:
    """Whether all differences, and products of differences, are free of rounding.

    So it is with pixel corners: 25 binary digits squared still fit into a float.
    """
    scaled = np.ldexp(points, 24 - frame.exponent)
    return bool((scaled == np.rint(scaled)).all())


def _hull_indices(points: Points, local: Points, exact: bool) -> Indices:
    order = np.lexsort((points[:, 1], points[:, 0]))
    x = points[order, 0]
    new_column = x[1:] != x[:-1]
    lowest = order[np.concatenate(([True], new_column))]
    highest = order[np.concatenate((new_column, [True]))]
    lower = lowest[_lower_chain(points[lowest], local[lowest], exact)]
    # Turned by half a turn the upper side is a lower side, read right to left.
    highest = highest[::-1]
    upper = highest[_lower_chain(-points[highest], -local[highest], exact)]
    return _joined(points, lower, upper)


def _joined(points: Points, lower: Indices, upper: Indices) -> Indices:
    """Both sides as one ring; they share an end where a side is no vertical edge."""
    if np.array_equal(points[lower[-1]], points[upper[0]]):
        upper = upper[1:]
    if len(upper) and np.array_equal(points[lower[0]], points[upper[-1]]):
        upper = upper[:-1]
    return np.concatenate((lower, upper))


def _lower_chain(points: Points, local: Points, exact: bool) -> Indices:
    """Positions of the hull's lower side; x strictly ascending.

    A point on or above the chord of any two others left and right of it is no
    vertex, so many may be dropped at once without regard to each other. What is
    convex at every vertex is convex as a whole.
    """
    kept: Indices = np.arange(len(points))
    for _ in range(_BULK_PASSES):
        if len(kept) < 3:
            return kept
        turns, error = _turns(local[kept])
        if exact:
            error[:] = 0.0
        drop = turns <= -error
        doubtful = np.flatnonzero(np.abs(turns) < error)
        if len(doubtful) * _FEW > len(kept):
            if not drop.any():
                break
        else:
            corners = points[kept]
            drop[
                [i for i in doubtful if _turn_sign(*corners[i : i + 3].ravel().tolist()) <= 0.0]
            ] = True
            if not drop.any():
                return kept
        kept = kept[np.concatenate(([True], ~drop, [True]))]
    return _scan(points, kept)


def _turns(p: Points) -> tuple[Points, Points]:
    """Twice the area of each corner (positive: left turn) and its largest error."""
    step = np.diff(p, axis=0)
    left = step[:-1, 0] * step[1:, 1]
    right = step[:-1, 1] * step[1:, 0]
    # The local frame itself may have rounded each coordinate by half an ulp of 1.
    frame = 4.0 * _EPS * (np.abs(step[:-1]).sum(axis=1) + np.abs(step[1:]).sum(axis=1))
    return left - right, _TURN_ERROR * (np.abs(left) + np.abs(right)) + frame


def _scan(points: Points, kept: Indices) -> Indices:
    """Monotone chain with an exact turn for each point."""
    xs, ys = points[kept, 0].tolist(), points[kept, 1].tolist()
    stack: list[int] = []
    for i in range(len(xs)):
        while len(stack) > 1:
            a, b = stack[-2], stack[-1]
            if _turn_sign(xs[a], ys[a], xs[b], ys[b], xs[i], ys[i]) > 0.0:
                break
            stack.pop()
        stack.append(i)
    return kept[np.array(stack, dtype=np.intp)]


def _turn_sign(ax: float, ay: float, bx: float, by: float, cx: float, cy: float) -> float:
    """A number with the exact sign of the turn a, b, c (positive: left)."""
    left = (bx - ax) * (cy - ay)
    right = (by - ay) * (cx - ax)
    turn = left - right
    if abs(turn) > _TURN_ERROR * (abs(left) + abs(right)):
        return turn
    terms: list[float] = []
    for p, q in ((bx, cy), (-bx, ay), (-ax, cy), (-by, cx), (by, ax), (ay, cx)):
        p_high, p_low = _halves(p)
        q_high, q_low = _halves(q)
        terms += (p_high * q_high, p_high * q_low, p_low * q_high, p_low * q_low)
    # Products of half-length numbers are exact, and fsum rounds only once.
    return math.fsum(terms)


def _halves(x: float) -> tuple[float, float]:
    """``x`` as the exact sum of two numbers of at most 26 bits (Dekker 1971)."""
    carry = _SPLITTER * x
    high = carry - (carry - x)
    return high, x - high


def _sieve(local: Points) -> NDArray[np.bool_]:
    """False for points surely inside the polygon of the farthest ones.

    After Akl and Toussaint (Information Processing Letters 7, 1978, 219), with
    more directions than their four.
    """
    x, y = np.ascontiguousarray(local[:, 0]), np.ascontiguousarray(local[:, 1])
    farthest: set[int] = set()
    for k in range(_SIEVE_DIRECTIONS):
        angle_rad = math.pi * k / _SIEVE_DIRECTIONS
        reach = x * math.cos(angle_rad) + y * math.sin(angle_rad)
        farthest.update((int(reach.argmin()), int(reach.argmax())))
    corners = local[sorted(farthest)]
    ring = corners[_hull_indices(corners, corners, exact=False)]
    right = int(np.lexsort((ring[:, 1], ring[:, 0]))[-1])
    floor, roof = _sides(ring, right)
    slack = 64.0 * _EPS
    inside = y > np.interp(x, floor[:, 0], floor[:, 1]) + slack
    inside &= y < np.interp(x, roof[:, 0], roof[:, 1]) - slack
    return ~inside


def _sides(ring: Points, right: int) -> tuple[Points, Points]:
    """Lower and upper side of a hull ring as functions of ascending x."""
    lower, upper = ring[: right + 1], np.concatenate((ring[right:], ring[:1]))[::-1]
    # A vertical edge belongs to neither side.
    lower = lower[np.concatenate((np.diff(lower[:, 0]) > 0.0, [True]))] if right else lower
    upper = upper[np.concatenate(([True], np.diff(upper[:, 0]) > 0.0))]
    return lower, upper


def _without_noise(hull: Points) -> Points:
    """``hull`` less the vertices that stand out by the rounding of coordinates only.

    Each pass moves the boundary by one tolerance at most: neighbors are never
    dropped together.
    """
    if len(hull) < 3:
        return hull
    size = float(np.ptp(hull, axis=0).max())
    tolerance = min(_NOISE_ULPS * _EPS * float(np.abs(hull).max()), _LARGEST_NOISE * size)
    for _ in range(_BULK_PASSES):
        doubtful = _chord_distances(hull) <= tolerance
        doubtful[0] = False
        drop = doubtful & ~_odd_in_run(doubtful)
        if not drop.any() or len(hull) < 3:
            break
        hull = hull[~drop]
    return hull


def _odd_in_run(flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """True for the second, fourth, ... of each run of True; the first flag is False."""
    position = np.arange(len(flags))
    last_clear = np.maximum.accumulate(np.where(flags, -1, position))
    odd: NDArray[np.bool_] = (position - last_clear) % 2 == 0
    return odd & flags


def _chord_distances(ring: Points) -> Points:
    """Distance of each vertex from the segment between its two neighbors."""
    before = np.roll(ring, 1, axis=0)
    chord = np.roll(ring, -1, axis=0) - before
    offset = ring - before
    length_sq = np.maximum((chord**2).sum(axis=1), np.finfo(np.float64).tiny)
    along = np.clip((offset * chord).sum(axis=1) / length_sq, 0.0, 1.0)
    rest = offset - along[:, None] * chord
    distance: Points = np.hypot(rest[:, 0], rest[:, 1])
    return distance
