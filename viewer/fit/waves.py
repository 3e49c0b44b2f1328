"""Upper bounds over angle: one wave per solved angle, and what two of them leave possible.

The three cuts that settle an angle hold, with the same tangents against the same ink
points, at every other angle as well. Weighted so that the shift drops out they say:
clearance(t) <= K + A cos t + B sin t, touching the curve at their own angle. Far sharper
than a Lipschitz bound: the error grows with the square of the distance, not with it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.fit import cuts as c
from viewer.fit.shift import Shifts

Values = NDArray[np.float64]

_ROUNDING_MM = 1e-10
"""Added to every bound for the last digits of the sums."""


@dataclass(frozen=True, eq=False)
class Waves:
    """``base + cosine cos(t) + sine sin(t)``, mm, t in radians; one wave per entry."""

    base: Values
    cosine: Values
    sine: Values

    def at(self, turns_rad: Values) -> Values:
        """The value of each wave at its own angle."""
        result: Values = self.base + self.cosine * np.cos(turns_rad) + self.sine * np.sin(turns_rad)
        return result

    @property
    def crest_rad(self) -> Values:
        """Where each wave is highest."""
        return np.arctan2(self.sine, self.cosine)

    def __getitem__(self, which: slice | NDArray[np.intp]) -> Waves:
        return Waves(self.base[which], self.cosine[which], self.sine[which])

    def joined(self, other: Waves) -> Waves:
        """These and then those."""
        return Waves(
            np.concatenate([self.base, other.base]),
            np.concatenate([self.cosine, other.cosine]),
            np.concatenate([self.sine, other.sine]),
        )


def waves_of(shifts: Shifts) -> Waves:
    """The bound that each angle's basis gives for all angles."""
    basis = shifts.basis
    weight = np.maximum(c.inverse_of(basis)[2], 0.0)
    total = (weight * basis[c.SIGMA]).sum(axis=1)
    weight = weight / np.where(total > 0, total, 1.0)[:, None]
    nx, ny, px, py = basis[c.NX], basis[c.NY], basis[c.PX], basis[c.PY]
    return Waves(
        base=(weight * basis[c.REACH]).sum(axis=1) + _ROUNDING_MM,
        cosine=-(weight * (nx * px + ny * py)).sum(axis=1),
        sine=-(weight * (nx * py - ny * px)).sum(axis=1),
    )


def highest_between(
    left_rad: Values, right_rad: Values, left: Waves, right: Waves
) -> tuple[Values, Values]:
    """Per interval: the greatest value that both bounds allow, and the angle of it.

    The lower of two waves is highest at an end, at a crest, or where the two cross.
    """
    width = right_rad - left_rad
    candidates = [left_rad, right_rad]
    for crest in (left.crest_rad, right.crest_rad):
        candidates.append(_within(crest, left_rad, width))
    cosine, sine = left.cosine - right.cosine, left.sine - right.sine
    size = np.hypot(cosine, sine)
    share = np.divide(right.base - left.base, size, out=np.full_like(size, 2.0), where=size > 0)
    is_crossing = np.abs(share) <= 1.0
    spread = np.arccos(np.clip(share, -1.0, 1.0))
    middle = np.arctan2(sine, cosine)
    for sign in (1.0, -1.0):
        crossing = np.where(is_crossing, middle + sign * spread, left_rad)
        candidates.append(_within(crossing, left_rad, width))
    turns = np.stack(candidates)
    values = np.minimum(left.at(turns), right.at(turns))
    best = values.argmax(axis=0)
    column = np.arange(len(width))
    return values[best, column], turns[best, column]


def _within(turn_rad: Values, left_rad: Values, width: Values) -> Values:
    """The same direction within the interval; its left end where it is not in it."""
    ahead = np.mod(turn_rad - left_rad, 2.0 * np.pi)
    result: Values = left_rad + np.where(ahead <= width, ahead, 0.0)
    return result
