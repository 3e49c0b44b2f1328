"""Cuts, and bases of three of them, for many angles at once.

A cut is one tangent of one part held against one ink point: whatever the shift d, the
clearance s obeys ``g.d + sigma s <= beta``, with g the tangent's outward normal n (times
the point's own scale), sigma 1, and beta the room between the tangent and the turned
point. A limit of the shift itself is a cut with sigma 0. Three cuts with multipliers
that are not negative and sum up to nothing in d bound the clearance from above.

All cuts of a batch stand in one array of shape (FIELDS, angles, ...): numpy then moves
whole cuts around with one index.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Cuts = NDArray[np.float64]
"""Shape (FIELDS, angles) for one cut per angle, (FIELDS, angles, 3) for a basis."""

GX, GY, SIGMA, BETA, NX, NY, REACH, PX, PY, PART, GROUP = range(11)
FIELDS = 11
"""``REACH``: the tangent's distance from the origin, less what is kept free. ``PX, PY``:
the ink point in the artwork's own frame. ``PART``: number of the part, -1 for a limit of
the shift. ``GROUP``: number of the group of points."""

_TINY = 1e-13


def reached(
    nx: Values, ny: Values, px: Values, py: Values, cos: Values | float, sin: Values | float
) -> Values:
    """How far ink points, turned, reach along normals: ``n . R p``."""
    result: Values = nx * (cos * px + sin * py) + ny * (cos * py - sin * px)
    return result


def tangent_cut(
    nx: Values,
    ny: Values,
    reach: Values,
    px: Values,
    py: Values,
    cos: Values,
    sin: Values,
    *,
    ratio: float = 1.0,
    part: int = 0,
    group: int = 0,
) -> Cuts:
    """One cut per angle. ``cos`` and ``sin`` are those of the artwork's turn."""
    cut = np.empty((FIELDS, *nx.shape))
    cut[GX], cut[GY], cut[SIGMA] = nx * ratio, ny * ratio, 1.0
    cut[BETA] = reach - reached(nx, ny, px, py, cos, sin)
    cut[NX], cut[NY], cut[REACH], cut[PX], cut[PY] = nx, ny, reach, px, py
    cut[PART], cut[GROUP] = part, group
    return cut


def shift_cut(gx: float, gy: float, limit_mm: float, count: int) -> Cuts:
    """``g.d <= limit``, the same for every angle."""
    cut = np.zeros((FIELDS, count))
    cut[GX], cut[GY], cut[BETA], cut[REACH], cut[PART] = gx, gy, limit_mm, limit_mm, -1.0
    return cut


def inverse_of(basis: Cuts) -> Values:
    """The inverse of each basis, shape (3, angles, 3); its last row holds the multipliers."""
    rows = basis[:3]
    one, two = rows[:, :, (1, 2, 0)], rows[:, :, (2, 0, 1)]
    cross = np.empty_like(one)
    cross[0] = one[1] * two[2] - one[2] * two[1]
    cross[1] = one[2] * two[0] - one[0] * two[2]
    cross[2] = one[0] * two[1] - one[1] * two[0]
    determinant = (cross[:, :, 0] * rows[:, :, 0]).sum(axis=0)
    determinant = np.where(determinant == 0, _TINY, determinant)
    result: Values = cross / determinant[None, :, None]
    return result


def corner_of(basis: Cuts, inverse: Values) -> Values:
    """Where the three cuts meet: (dx, dy, s) per angle, shape (3, angles)."""
    result: Values = (inverse * basis[BETA]).sum(axis=2)
    return result


def exchange(basis: Cuts, inverse: Values, entering: Cuts, where: NDArray[np.intp]) -> None:
    """Take ``entering`` into the bases at ``where``, in place of the cut that must leave.

    The ratio test keeps every multiplier from becoming negative, so that the basis
    goes on bounding the clearance (the dual simplex step).
    """
    multipliers = np.maximum(inverse[2, where], 0.0)
    change = np.einsum("cak,ca->ak", inverse[:, where], entering[:3, where])
    is_falling = change > 1e-12
    ratio = np.where(is_falling, multipliers / np.where(is_falling, change, 1.0), np.inf)
    # Of equal ratios the greatest change leaves: it keeps the new basis well conditioned.
    least = ratio.min(axis=1, keepdims=True)
    close = ratio <= least + 1e-14
    leaving = np.where(close, change, -np.inf).argmax(axis=1)
    usable = np.isfinite(least[:, 0])
    rows = where[usable]
    basis[:, rows, leaving[usable]] = entering[:, rows]
