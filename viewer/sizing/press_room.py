"""Whether pad, etch area and hold leave room for artwork of which only numbers are known.

A rectangle of known size is judged as it is. Of anything else an outline that surely holds
it is judged: what that fits, the artwork fits; where it does not, only the file can tell.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

import numpy as np

from viewer.artwork.model import Artwork, InkRule, Outline, Points
from viewer.fit import CupFit, Verdict, fit_artwork
from viewer.fit.verdict import FAILING
from viewer.press import Cup, Datum, PressLimits
from viewer.sizing.bounds import bounds_at, corners
from viewer.sizing.shapes import SizeQuery

ROUNDING_MM = 1e-6
"""Given to outlines as their uncertainty: far more than floats lose, far less than anybody sets."""

_SIDES_PER_TURN = 360
"""Round outlines are drawn around, as polygons of so many sides: 0.004 % too large."""


class Room(StrEnum):
    """What can be said about the whole press, not the cup alone."""

    ENOUGH = "enough"
    NONE = "none"
    UNSURE = "unsure"


@dataclass(frozen=True)
class PressRoom:
    """The answer for one cup.

    ``clearance_mm`` of the outline judged, at its best shift and angle; ``turn_deg`` that
    angle. ``parts``: what decides there. ``is_exact``: the outline is the artwork's own.
    """

    room: Room
    clearance_mm: float
    turn_deg: float
    parts: tuple[str, ...]
    is_exact: bool


def press_rooms(
    query: SizeQuery,
    cups: Sequence[Cup],
    limits: PressLimits,
    cancelled: Callable[[], bool] | None = None,
) -> dict[Cup, PressRoom] | None:
    """Judge numbers against all that limits them. None: numbers alone cannot be judged so.

    That is the case with a longest diagonal alone where the hold is not free: shifts are
    counted from the middle of the ink, and nobody knows where that is. For numbers the
    datum is always that middle, since they have no page. ``cancelled`` is asked now and then;
    where it says so, Cancelled is raised.
    """
    if not cups or (not query.has_sides and not limits.hold.is_free):
        return None
    limits = replace(limits, datum=Datum("ink"))
    outer = _fits(outer_outline(query), cups, limits, cancelled)
    is_exact = query.shape.kind == "rectangle" and query.has_sides
    least = outer
    if is_exact and not query.is_exact:
        smaller = _box(query.sides[0].low_mm, query.sides[1].low_mm)
        least = _fits(smaller, cups, limits, cancelled)
    return {
        cup: PressRoom(
            _room(outer[cup], least[cup], is_exact),
            outer[cup].best.clearance_mm,
            outer[cup].best.settable.turn_deg,
            tuple(dict.fromkeys(limit.part for limit in outer[cup].limits)),
            is_exact,
        )
        for cup in cups
    }


def _room(outer: CupFit, least: CupFit, is_exact: bool) -> Room:
    if outer.verdict is Verdict.FITS:
        return Room.ENOUGH
    return Room.NONE if is_exact and least.verdict in FAILING else Room.UNSURE


def _fits(
    hull_mm: Points,
    cups: Sequence[Cup],
    limits: PressLimits,
    cancelled: Callable[[], bool] | None,
) -> dict[Cup, CupFit]:
    fit = fit_artwork(_artwork(hull_mm), cups, limits=limits, cancelled=cancelled)
    return {found.cup: found for found in fit.cups}


# --- outlines that surely hold the artwork --------------------------------------------


def outer_outline(query: SizeQuery) -> Points:
    """Corners of a convex outline, middle at (0, 0), that the artwork lies in, mm.

    Numbers with a tolerance are taken at their most.
    """
    if not query.has_sides:
        return _around_disc(float(bounds_at(corners(query)[1])[1]))
    width, height = (side.high_mm for side in query.sides)
    if query.shape.kind == "ellipse":
        return _around_ellipse(float(width), float(height))
    if query.shape.radius is not None:
        return _around_rounded(float(width), float(height), float(query.shape.radius.low_mm))
    return _box(width, height)


def _box(width: Fraction, height: Fraction) -> Points:
    x, y = float(width) / 2, float(height) / 2
    return np.array([(-x, -y), (x, -y), (x, y), (-x, y)])


def _around_disc(diameter_mm: float) -> Points:
    return _around_ellipse(diameter_mm, diameter_mm)


def _around_ellipse(width_mm: float, height_mm: float) -> Points:
    """Every side touches the ellipse: a stretched polygon around a circle."""
    angles = np.linspace(0.0, 2 * math.pi, _SIDES_PER_TURN, endpoint=False)
    reach = 0.5 / math.cos(math.pi / _SIDES_PER_TURN)
    return np.column_stack((width_mm * reach * np.cos(angles), height_mm * reach * np.sin(angles)))


def _around_rounded(width_mm: float, height_mm: float, radius_mm: float) -> Points:
    """The centers of its corners, each with a polygon around the corner's circle."""
    radius_mm = min(radius_mm, width_mm / 2, height_mm / 2)
    x, y = width_mm / 2 - radius_mm, height_mm / 2 - radius_mm
    circle = _around_disc(2 * radius_mm)
    sign = np.where(circle >= 0, 1.0, -1.0)
    return np.asarray(circle + sign * np.array((x, y)), dtype=float)


def _artwork(hull_mm: Points) -> Artwork:
    """The outline as artwork, for ``viewer.fit``: no file, no page of its own."""
    size = hull_mm.max(axis=0) - hull_mm.min(axis=0)
    return Artwork(
        path="",
        sha256="",
        format="numbers",
        page_mm=(float(size[0]), float(size[1])),
        scale_source="numbers",
        paper="",
        outline=Outline(hull_mm, ROUNDING_MM),
        ink_area_mm2=0.0,
        ink_rule=InkRule(),
    )
