"""Where the words of a construction go, so that none lies on another or off the drawing.

Lengths in mm of the paper. Each label tries a few places and takes the clearest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from viewer.artwork.model import Points
from viewer.geometry import Bounds
from viewer.sheets.draw_list import Item, Stroke, Text, box, circle
from viewer.sheets.text_flow import Measure

LABEL_MM = 2.6
DISC_MM = 3.9
_HALF_HEIGHT_MM = 1.7
_AWAY_MM = 0.9
_BETWEEN_MM = 0.8
_ON_A_LABEL = 1000.0
_OFF_THE_DRAWING = 4000.0
_LATER = 0.7
"""What a place is worse than the one before it in the list, in points of lines hidden."""

Place = tuple[float, float, float, float]
"""A point, and the way from it to the label's middle, of length 1, or 0 to lie on it."""


@dataclass(frozen=True)
class Label:
    """What is written; ``number``: of the step, in a disc before it, 0 for none.

    ``places``: where it may stand, the best first.
    """

    text: str
    number: int
    places: tuple[Place, ...]

    def width_mm(self, measure: Measure) -> float:
        """Of disc and words together."""
        disc = DISC_MM if self.number else 0.0
        words = measure(self.text, LABEL_MM, False) if self.text else 0.0
        return disc + words + (_BETWEEN_MM if disc and words else 0.0)


def label_items(
    labels: Sequence[Label], lines: Points, edge: Bounds, measure: Measure
) -> Iterator[Item]:
    """The labels. ``lines``: points on all that should stay visible, shape (n, 2)."""
    taken: list[Bounds] = []
    for label in labels:
        area = _clearest(label, lines, edge, taken, measure)
        taken.append(area)
        yield from _written(label, area, _hidden(lines, area) > 0, measure)


def _clearest(
    label: Label, lines: Points, edge: Bounds, taken: Sequence[Bounds], measure: Measure
) -> Bounds:
    half = (label.width_mm(measure) / 2.0 + 0.4, _HALF_HEIGHT_MM + (0.35 if label.number else 0.0))
    best: tuple[float, Bounds] | None = None
    for index, (x, y, ux, uy) in enumerate(label.places):
        middle = (x + ux * (half[0] + _AWAY_MM), y + uy * (half[1] + _AWAY_MM))
        area, moved = _kept_within(middle, half, edge)
        cost = _LATER * index + _hidden(lines, area) + _OFF_THE_DRAWING * (moved > 6.0)
        cost += _ON_A_LABEL * sum(_overlap(area, other) for other in taken) + moved
        if best is None or cost < best[0]:
            best = cost, area
    assert best is not None, "a label without a place"
    return best[1]


def _kept_within(
    middle: tuple[float, float], half: tuple[float, float], edge: Bounds
) -> tuple[Bounds, float]:
    x = min(max(middle[0], edge.x0 + half[0]), max(edge.x1 - half[0], edge.x0 + half[0]))
    y = min(max(middle[1], edge.y0 + half[1]), max(edge.y1 - half[1], edge.y0 + half[1]))
    area = Bounds(x - half[0], y - half[1], x + half[0], y + half[1])
    return area, math.hypot(x - middle[0], y - middle[1])


def _hidden(lines: Points, area: Bounds) -> int:
    x, y = lines[:, 0], lines[:, 1]
    return int(np.count_nonzero((x > area.x0) & (x < area.x1) & (y > area.y0) & (y < area.y1)))


def _overlap(one: Bounds, other: Bounds) -> bool:
    return (
        one.x0 < other.x1 and other.x0 < one.x1 and one.y0 < other.y1 and other.y0 < one.y1
    )  # fmt: skip


def _written(label: Label, area: Bounds, is_on_lines: bool, measure: Measure) -> Iterator[Item]:
    if is_on_lines:
        yield box(area, None, 1.0)
    x, y = area.x0 + 0.4, (area.y0 + area.y1) / 2.0
    if label.number:
        yield circle((x + DISC_MM / 2.0, y), DISC_MM, Stroke(0.2), 1.0)
        number = str(label.number)
        yield Text(x + DISC_MM / 2.0, y + 0.9, number, 2.4, bold=True, anchor="middle")
        x += DISC_MM + _BETWEEN_MM
    if label.text:
        yield Text(x, y + LABEL_MM * 0.36, label.text, LABEL_MM)


# --- places ---------------------------------------------------------------------------


def beside_segment(a: tuple[float, float], b: tuple[float, float]) -> tuple[Place, ...]:
    """Beside its middle on either side, then farther along."""
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    ux, uy = ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length > 1e-9 else (1.0, 0.0)
    # First the upper side, or the right one.
    sx, sy = (uy, -ux) if -ux < -1e-9 or (abs(ux) <= 1e-9 and uy > 0) else (-uy, ux)
    found = []
    for part in (0.5, 0.38, 0.62, 0.26, 0.74, 0.14, 0.86):
        x, y = a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])
        found += [(x, y, sx, sy), (x, y, -sx, -sy)]
    return (*found, (*b, ux, uy), (*a, -ux, -uy))


def round_circle(center: tuple[float, float], radius: float) -> tuple[Place, ...]:
    """Outside at the upper right, then all round, at last inside."""
    found = []
    for degrees in (45, 35, 55, 25, 65, 135, 145, 125, -45, -35, -55, -135, 90, 0, 180, -90):
        ux, uy = math.cos(math.radians(degrees)), -math.sin(math.radians(degrees))
        found.append((center[0] + radius * ux, center[1] + radius * uy, ux, uy))
    return (*found, *((x, y, -ux, -uy) for x, y, ux, uy in found))


def about_point(at: tuple[float, float]) -> tuple[Place, ...]:
    """At the upper right, then all round, near before far."""
    found = []
    for degrees in (45, 135, -45, -135, 0, 180, 90, -90):
        ux, uy = math.cos(math.radians(degrees)), -math.sin(math.radians(degrees))
        found.append((*at, ux, uy))
    far = [(x + 3.0 * ux, y + 3.0 * uy, ux, uy) for x, y, ux, uy in found]
    return (*found, *far)


def inside(corners: Points) -> tuple[Place, ...]:
    """In the middle, then near it."""
    x, y = (float(v) for v in corners.mean(axis=0))
    size = 0.25 * float(np.ptp(corners, axis=0).min())
    offsets = [(0.0, 0.0)]
    for far in (0.5, 1.0, 1.4):
        steps = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (-1, -1), (1, -1), (-1, 1))
        offsets += [(far * size * dx, far * size * dy) for dx, dy in steps]
    return tuple((x + dx, y + dy, 0.0, 0.0) for dx, dy in offsets)
