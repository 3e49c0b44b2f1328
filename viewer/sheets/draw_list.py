"""What is drawn on a sheet, as values: paths, text, the artwork, and groups of these.

Millimeters, y down, whatever the group's own frame is; a page's frame has its origin at the
top left. No library is known here, so that a sheet can be examined without one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from viewer.geometry import Affine, Bounds

Anchor = Literal["start", "middle", "end"]
Step = tuple[str, tuple[float, ...]]
"""``M x y``, ``L x y``, ``C x1 y1 x2 y2 x y`` or ``Z``."""

_ARCS = 8


@dataclass(frozen=True)
class Stroke:
    """A line: its width, how dark (0 black to 1 white), and its dashes, in mm."""

    width_mm: float = 0.2
    gray: float = 0.0
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Path:
    """Lines and curves, stroked, filled (a gray, 0 black to 1 white), or both."""

    steps: tuple[Step, ...]
    stroke: Stroke | None = None
    fill: float | None = None


@dataclass(frozen=True)
class Text:
    """One line of text; ``y`` is its baseline, ``size_mm`` that of the face."""

    x: float
    y: float
    text: str
    size_mm: float = 2.6
    bold: bool = False
    anchor: Anchor = "start"
    gray: float = 0.0


@dataclass(frozen=True)
class ArtworkMark:
    """The artwork, in the press frame."""


@dataclass(frozen=True)
class Group:
    """Items in a frame of their own; ``clip`` is in that frame."""

    items: tuple[Item, ...]
    to_outer: Affine = field(default_factory=Affine)
    clip: Bounds | None = None


Item = Path | Text | ArtworkMark | Group


@dataclass(frozen=True)
class Page:
    """One page: the paper in the file, and what lengths are multiplied by on it."""

    paper_mm: tuple[float, float]
    items: tuple[Item, ...]
    scale: float = 1.0


@dataclass(frozen=True)
class Document:
    """All pages, and what the file says about itself. ``date`` is YYYY-MM-DD."""

    pages: tuple[Page, ...]
    title: str
    subject: str
    date: str


# --- paths --------------------------------------------------------------------------


def line(x0: float, y0: float, x1: float, y1: float, stroke: Stroke) -> Path:
    """A straight line."""
    return Path((("M", (x0, y0)), ("L", (x1, y1))), stroke)


def lines(ends: Iterable[tuple[float, float, float, float]], stroke: Stroke) -> Path:
    """Many straight lines as one path."""
    steps: list[Step] = []
    for x0, y0, x1, y1 in ends:
        steps += [("M", (x0, y0)), ("L", (x1, y1))]
    return Path(tuple(steps), stroke)


def box(bounds: Bounds, stroke: Stroke | None = None, fill: float | None = None) -> Path:
    """A rectangle."""
    return Path(rectangle_steps(bounds.x0, bounds.y0, bounds.x1, bounds.y1), stroke, fill)


def rectangle_steps(x0: float, y0: float, x1: float, y1: float) -> tuple[Step, ...]:
    """A closed rectangle."""
    return ("M", (x0, y0)), ("L", (x1, y0)), ("L", (x1, y1)), ("L", (x0, y1)), ("Z", ())


def polygon(
    points: Iterable[Sequence[float]], stroke: Stroke | None = None, fill: float | None = None
) -> Path:
    """A closed line through points."""
    corners = [(float(p[0]), float(p[1])) for p in points]
    steps: list[Step] = [("L" if index else "M", corner) for index, corner in enumerate(corners)]
    return Path((*steps, ("Z", ())), stroke, fill)


def circle(
    center: tuple[float, float],
    diameter_mm: float,
    stroke: Stroke | None = None,
    fill: float | None = None,
) -> Path:
    """A circle of eight curves, which leave the true one by less than 1e-5 of the radius."""
    (x, y), radius = center, diameter_mm / 2.0
    step = 2.0 * math.pi / _ARCS
    reach = 4.0 / 3.0 * math.tan(step / 4.0)

    def at(angle: float, along: float) -> tuple[float, float]:
        cos, sin = math.cos(angle), math.sin(angle)
        return x + radius * (cos - along * sin), y + radius * (sin + along * cos)

    steps: list[Step] = [("M", at(0.0, 0.0))]
    for arc in range(_ARCS):
        start, end = arc * step, (arc + 1) * step
        steps.append(("C", (*at(start, reach), *at(end, -reach), *at(end, 0.0))))
    return Path((*steps, ("Z", ())), stroke, fill)


def shifted(items: Iterable[Item], x: float, y: float, clip: Bounds | None = None) -> Group:
    """Items moved, at their own scale."""
    return Group(tuple(items), Affine.translate(x, y), clip)


def walk(items: Iterable[Item], frame: Affine | None = None) -> Iterable[tuple[Item, Affine]]:
    """Every item that is no group, with the map from its frame to the page."""
    frame = Affine() if frame is None else frame
    for item in items:
        if isinstance(item, Group):
            yield from walk(item.items, item.to_outer.then(frame))
        else:
            yield item, frame
