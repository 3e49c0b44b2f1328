"""Distance of points to an ellipse, with the sign and the direction of the nearest edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_NEWTON_STEPS = 40
_ON_AXIS_RELATIVE = 1e-13
_SETTLED_RELATIVE = 1e-15

Values = NDArray[np.float64]


def ellipse_clearance(x: Values, y: Values, a: float, b: float) -> tuple[Values, Values, Values]:
    """Signed distance of points to the ellipse with half-axes ``a`` along x and ``b`` along y.

    Positive inside, negative outside, all in one unit. Returns (clearance, nx, ny): the
    outward unit normal of the tangent that is nearest, so that the clearance is that
    tangent's distance, ``hypot(a nx, b ny) - nx x - ny y``. A point as near to two
    tangents gets one of them.

    The nearest point is found from the one root ``t`` of
    ``(a x / (t + a^2))^2 + (b y / (t + b^2))^2 = 1`` right of ``-b^2`` (b the shorter);
    the left side is convex and falling there, so Newton's steps from the left never
    overshoot (D. Eberly, "Distance from a Point to an Ellipse", from memory).
    """
    if a < b:
        clearance, ny, nx = ellipse_clearance(y, x, b, a)
        return clearance, nx, ny
    big_x = np.abs(x)
    big_y = np.maximum(np.abs(y), _ON_AXIS_RELATIVE * b)
    t = np.maximum(b * big_y - b * b, a * big_x - a * a)
    for _ in range(_NEWTON_STEPS):
        along, across = t + a * a, t + b * b
        u = (a * big_x / along) ** 2
        v = (b * big_y / across) ** 2
        step = (u + v - 1.0) / (2.0 * (u / along + v / across))
        t = t + step
        if not bool((np.abs(step) > _SETTLED_RELATIVE * (a * a + np.abs(t))).any()):
            break
    nx = big_x / (t + a * a)
    ny = big_y / (t + b * b)
    length = np.hypot(nx, ny)
    nx, ny = nx / length, ny / length
    clearance = np.hypot(a * nx, b * ny) - nx * big_x - ny * big_y
    return clearance, np.copysign(nx, x), np.copysign(ny, y)
