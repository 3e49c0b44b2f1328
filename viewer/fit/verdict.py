"""The verdict: the only place where "fits" is decided."""

from __future__ import annotations

import math
from collections.abc import Iterable
from enum import StrEnum


class Verdict(StrEnum):
    """What can be said about artwork and a cup."""

    FITS = "fits"
    IN_MARGIN = "in-margin"
    OUTSIDE = "outside"
    TOO_CLOSE = "too-close"


FAILING = frozenset({Verdict.IN_MARGIN, Verdict.OUTSIDE})
"""Verdicts that say: it certainly does not fit."""


def judge(m: float, h: float, u: float, g: float = 0.0, blocked: bool = False) -> Verdict:
    """Judge clearances, all in mm, positive inside.

    ``m``: to the image area with its margins. ``h``: to the hard edges.
    ``u``: how far the outline may be off. ``g``: what the search for the best
    placement could not exclude. ``blocked``: something forbids a plain "fits".
    NaN anywhere, and a negative ``u`` or ``g``, raise ValueError.
    """
    if any(math.isnan(value) for value in (m, h, u, g)):
        raise ValueError(f"a clearance or an uncertainty is not a number: {m}, {h}, {u}, {g}")
    if u < 0 or g < 0:
        raise ValueError(f"an uncertainty cannot be negative: {u}, {g}")
    if m - u >= 0:
        return Verdict.TOO_CLOSE if blocked else Verdict.FITS
    if m + g + u < 0 and h - u >= 0:
        return Verdict.IN_MARGIN
    if h + g + u < 0:
        return Verdict.OUTSIDE
    return Verdict.TOO_CLOSE


def combine(readings: Iterable[Verdict]) -> Verdict:
    """One verdict for several readings of the same file, at least one.

    "fits" only if every reading fits. A certain failure only if every reading
    fails; then the worst is told. Otherwise too close to call.
    """
    found = set(readings)
    if not found:
        raise ValueError("no reading to judge")
    if found == {Verdict.FITS}:
        return Verdict.FITS
    if found <= FAILING:
        return Verdict.OUTSIDE if Verdict.OUTSIDE in found else Verdict.IN_MARGIN
    return Verdict.TOO_CLOSE
