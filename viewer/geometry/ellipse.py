"""Distance of points to an ellipse, with the sign and the direction of the nearest edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_NEWTON_STEPS = 60
_ON_AXIS_RELATIVE = 1e-13
_SETTLED_RELATIVE = 1e-8
"""The error of a step of Newton's is about the square of it."""

Values = NDArray[np.float64]


def ellipse_clearance(x: Values, y: Values, a: float, b: float) -> tuple[Values, Values, Values]:
    """Signed distance of points to the ellipse with half-axes ``a`` along x and ``b`` along y.

    Positive inside, negative outside, all in one unit. Returns (clearance, nx, ny): the
    outward unit normal of the tangent that is nearest, so that the clearance is that
    tangent's distance, ``hypot(a nx, b ny) - nx x - ny y``. A point as near to two
    tangents gets one of them.

    The nearest point is found from the one positive root ``s`` of
    ``(a x / (s + a^2 - b^2))^2 + (b y / s)^2 = 1`` (b the shorter); the left side is convex
    and falling there, so Newton's steps from the left never overshoot (D. Eberly, "Distance
    from a Point to an Ellipse", with t = s - b^2, from memory). Counted from the pole at
    zero, the root keeps its digits on the long axis, where it comes close to it.
    """
    if a < b:
        clearance, ny, nx = ellipse_clearance(y, x, b, a)
        return clearance, nx, ny
    extra = (a - b) * (a + b)
    big_x = np.abs(x)
    big_y = np.maximum(np.abs(y), _ON_AXIS_RELATIVE * b)
    s = np.maximum(b * big_y, a * big_x - extra)
    for _ in range(_NEWTON_STEPS):
        along = s + extra
        u = (a * big_x / along) ** 2
        v = (b * big_y / s) ** 2
        step = (u + v - 1.0) / (2.0 * (u / along + v / s))
        s = s + step
        if not bool((np.abs(step) > _SETTLED_RELATIVE * s).any()):
            break
    nx = big_x / (s + extra)
    ny = big_y / s
    length = np.hypot(nx, ny)
    nx, ny = nx / length, ny / length
    # With the point itself: on the axis the least bit would tell a touch from a miss.
    clearance = np.hypot(a * nx, b * ny) - nx * big_x - ny * np.abs(y)
    return clearance, np.copysign(nx, x), np.copysign(ny, y)
