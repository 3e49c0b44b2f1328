"""What a construction is drawn from, in mm of the page: lines, circles, areas, points.

The window draws them over the bench, and a sheet prints them. No color is known here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
LineStyle = Literal["line", "dashed", "arrow", "size"]
"""``size`` has a tick at both ends, as a dimension line has."""


@dataclass(frozen=True)
class Segment:
    """A straight line from ``a`` to ``b``; its label stands beside its middle."""

    a: Point
    b: Point
    label: str = ""
    style: LineStyle = "line"


@dataclass(frozen=True)
class Ring:
    """A circle line; its label stands at the upper right, outside."""

    center: Point
    radius_mm: float
    label: str = ""
    style: Literal["line", "dashed"] = "line"


@dataclass(frozen=True)
class Area:
    """A closed polygon, lightly filled; its label stands in its middle."""

    corners: tuple[Point, ...]
    label: str = ""


@dataclass(frozen=True)
class RightAngle:
    """The sign of a right angle at ``corner``, between the ways to two other points."""

    corner: Point
    one: Point
    other: Point


@dataclass(frozen=True)
class Dot:
    """A point; its label stands at the upper right."""

    at: Point
    label: str = ""


Mark = Segment | Ring | Area | RightAngle | Dot
