"""Which ink point is nearest to a curved edge, and by which tangent, for many angles at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viewer.fit.area import Part
from viewer.geometry.ellipse import ellipse_clearance

Values = NDArray[np.float64]
Numbers = NDArray[np.intp]

Flags = NDArray[np.bool_]

Worst = tuple[Numbers, Values, Values, Values, Values, Flags]
"""Per row: the point's number, nx, ny, reach of the tangent, clearance, and whether it is
sure that no point is nearer."""


class RoundLook:
    """The points of one group, turned into the axes of one part with a curved edge.

    ``x, y``: the turned points, shape (angles, points), in the press frame. A box's
    straight sides are cuts of their own and not looked at here.
    """

    def __init__(
        self, part: Part, number: int, group: int, ratio: float, x: Values, y: Values
    ) -> None:
        self.part, self.group = number, group
        self.is_ellipse = part.is_ellipse
        self._part, self._ratio = part, ratio
        self._xx, self._xy = part.to_press(1.0, 0.0)
        self._yx, self._yy = part.to_press(0.0, 1.0)
        # A disc looks the same from everywhere; an ellipse is scaled to a unit circle.
        self._is_plain = part.is_disc or part.turn_deg == 0
        self._scale = part.half_mm if part.is_ellipse else (1.0, 1.0)
        if not self._is_plain:
            x, y = x * self._xx + y * self._xy, x * self._yx + y * self._yy
        if part.is_ellipse:
            x, y = x / self._scale[0], y / self._scale[1]
        self._x, self._y = x, y

    def worst(
        self, rows: Numbers, dx: Values, dy: Values, others: Values, enough: Values | None
    ) -> Worst:
        """The point nearest to the edge after a shift.

        ``others``: what else limits anyway. Where less than ``enough`` is left in any case
        a point that is nearly the nearest will do.
        """
        cx, cy = self._part.center_mm
        sx, sy = dx * self._ratio - cx, dy * self._ratio - cy
        if not self._is_plain:
            sx, sy = sx * self._xx + sy * self._xy, sx * self._yx + sy * self._yy
        is_all = len(rows) == len(self._x)
        x = (self._x if is_all else self._x[rows]) + (sx / self._scale[0])[:, None]
        y = (self._y if is_all else self._y[rows]) + (sy / self._scale[1])[:, None]
        if self._part.is_ellipse:
            found = _worst_of_ellipse(self._part, x, y, others, enough)
        else:
            found = _worst_of_corners(self._part, x, y)
        at, ux, uy, reach, clearance, sure = found
        if self._is_plain:
            nx, ny = ux, uy
        else:
            nx, ny = ux * self._xx + uy * self._yx, ux * self._xy + uy * self._yy
        return at, nx, ny, reach + nx * cx + ny * cy, clearance, sure


def _worst_of_corners(part: Part, x: Values, y: Values) -> Worst:
    """The rounded corners of a box; a disc is all corner. Within the inner rectangle of a
    box only its sides count, and they are looked at elsewhere."""
    hx, hy = part.half_mm
    if part.is_disc:
        squares = x * x
        squares += y * y
    else:
        squares = np.maximum(np.abs(x) - hx, 0.0) ** 2 + np.maximum(np.abs(y) - hy, 0.0) ** 2
    at = squares.argmax(axis=1)
    row = np.arange(len(at))
    x, y = x[row, at], y[row, at]
    ex, ey = np.maximum(np.abs(x) - hx, 0.0), np.maximum(np.abs(y) - hy, 0.0)
    far = np.hypot(ex, ey)
    ux = np.copysign(np.divide(ex, far, out=np.ones_like(far), where=far > 0), x)
    uy = np.copysign(np.divide(ey, far, out=np.zeros_like(far), where=far > 0), y)
    radius = part.radius_mm - part.inset_mm
    clearance = radius - far if part.is_disc else np.where(far > 0, radius - far, np.inf)
    sure = np.ones(len(at), dtype=np.bool_)
    return at, ux, uy, np.abs(ux) * hx + np.abs(uy) * hy + radius, clearance, sure


def _worst_of_ellipse(
    part: Part, u: Values, v: Values, others: Values, enough: Values | None
) -> Worst:
    """``u, v``: points in units of the half-axes.

    The point that needs the largest similar ellipse is tried first. Whatever could still
    be nearer to the edge is then found by sure bounds, sorted by a rough measure (the
    tangent parallel to the one of its own similar ellipse), and measured exactly.

    The bounds: a point on a similar ellipse g times as large keeps (1 - g) h free, where h
    is the ellipse's own reach along the nearest normal. That is at least the shorter
    half-axis; and as the nearest point of the edge lies further out along both axes, at
    least ``1 / sqrt(1 / b^2 - u^2 (1 / b^2 - 1 / a^2))`` with u along the longer one.
    """
    a, b = part.half_mm
    squares = u * u
    squares += v * v
    at = squares.argmax(axis=1)
    row = np.arange(len(at))
    clearance, ux, uy = ellipse_clearance(u[row, at] * a, v[row, at] * b, a, b)
    others = others + part.inset_mm
    rows, points = _could_be_nearer(squares, np.minimum(clearance, others), min(a, b))
    if len(rows) > len(at):
        found = squares[rows, points]
        p, q = u[rows, points], v[rows, points]
        g = np.sqrt(found)
        sure = _sure_clearance(p, q, g, a, b)
        could = sure < np.minimum(clearance, others)[rows]
        rows, points, found, g = rows[could], points[could], found[could], g[could]
        p, q, sure = p[could], q[could], sure[could]
        steep = np.sqrt((p / a) ** 2 + (q / b) ** 2)
        rough = np.divide(g - found, steep, out=np.full_like(g, min(a, b)), where=steep > 0)
        if len(rows):
            first = _first_of_rows(rows, rough)
            _measure(part, u, v, rows[first], points[first], at, clearance, ux, uy)
            is_left = sure < np.minimum(clearance, others)[rows]
            rows, points = rows[is_left], points[is_left]
    is_sure = np.ones(len(at), dtype=np.bool_)
    if enough is not None and len(rows):
        is_hopeless = np.minimum(clearance, others) - part.inset_mm < enough
        is_sure[rows[is_hopeless[rows]]] = False
        is_left = is_sure[rows]
        rows, points = rows[is_left], points[is_left]
    if len(rows):
        _measure(part, u, v, rows, points, at, clearance, ux, uy)
    reach = np.hypot(a * ux, b * uy) - part.inset_mm
    return at, ux, uy, reach, clearance - part.inset_mm, is_sure


def _sure_clearance(u: Values, v: Values, g: Values, a: float, b: float) -> Values:
    """What points surely keep free; of points outside, less than they lack."""
    along, longer, shorter = (u, a, b) if a >= b else (v, b, a)
    squares = np.minimum(along * along, 1.0)
    reach = 1.0 / np.sqrt(1.0 / shorter**2 - squares * (1.0 / shorter**2 - 1.0 / longer**2))
    return np.where(g < 1.0, (1.0 - g) * reach, -np.inf)


def _threshold(limit: Values, shorter: float) -> Values:
    """Squares of g up to which a point surely keeps ``limit`` free; no point from 1 on does."""
    share = np.maximum(1.0 - limit / shorter, 0.0)
    return np.where(limit >= shorter, -1.0, np.minimum(share * share, 1.0 - 1e-12))


def _could_be_nearer(squares: Values, limit: Values, shorter: float) -> tuple[Numbers, Numbers]:
    rows, points = np.nonzero(squares > _threshold(limit, shorter)[:, None])
    return rows, points


def _first_of_rows(rows: Numbers, values: Values) -> Numbers:
    """Per row that occurs, the index of its least value. ``rows`` ascend."""
    starts = np.flatnonzero(np.diff(rows, prepend=-1))
    least = np.minimum.reduceat(values, starts)
    lengths = np.diff(starts, append=len(rows))
    hits = np.flatnonzero(values == np.repeat(least, lengths))
    return hits[np.flatnonzero(np.diff(rows[hits], prepend=-1))]


def _measure(
    part: Part,
    u: Values,
    v: Values,
    rows: Numbers,
    points: Numbers,
    at: Numbers,
    clearance: Values,
    ux: Values,
    uy: Values,
) -> None:
    """Measure points exactly, and write the nearest of each row where it is nearer."""
    a, b = part.half_mm
    exact, more_x, more_y = ellipse_clearance(u[rows, points] * a, v[rows, points] * b, a, b)
    first = _first_of_rows(rows, exact)
    nearer = first[exact[first] < clearance[rows[first]]]
    on = rows[nearer]
    at[on], clearance[on] = points[nearer], exact[nearer]
    ux[on], uy[on] = more_x[nearer], more_y[nearer]
