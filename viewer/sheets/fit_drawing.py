"""The drawing of a fit sheet, in the press frame: artwork, ring, areas, and what decides."""

from __future__ import annotations

import math
from collections.abc import Iterator

from viewer.geometry import Bounds
from viewer.sheets.cup_drawing import area_items, reach_of, ring_items
from viewer.sheets.draw_list import (
    ArtworkMark,
    Item,
    Stroke,
    Text,
    box,
    circle,
    line,
    lines,
    polygon,
)
from viewer.sheets.fit_words import Judged, points_of
from viewer.sheets.text_flow import Measure
from viewer.units import format_clearance_mm

CONTACT_CIRCLE = Stroke(0.15, 0.0, (0.4, 0.5))
_FINE = Stroke(0.15)
_LABEL_MM = 2.4
_DISC_MM = 3.4
_AWAY_MM = 3.8
_SLANT = (0.6, 0.8)
_CLEAR_MM = 0.05
"""Between what is drawn about the ink and the ink."""
_INK_AIR_MM = 6.0


def drawing_box(judged: Judged) -> Bounds:
    """All that is drawn, in mm from the cup's center: also ink far outside the cup."""
    cup = reach_of([judged.cup_fit.cup], judged.fit.limits)
    ink = [judged.to_press((float(x), float(y))) for x, y in judged.fit.artwork.outline.hull_mm]
    low = [min(values) - _INK_AIR_MM for values in zip(*ink, strict=True)]
    high = [max(values) + _INK_AIR_MM for values in zip(*ink, strict=True)]
    if has_smallest_circle(judged):
        found = judged.fit.smallest_circle
        for axis, at in enumerate(judged.to_press(found.center)):
            low[axis] = min(low[axis], at - found.radius - 1.0)
            high[axis] = max(high[axis], at + found.radius + 1.0)
    return Bounds(
        min(cup.x0, low[0]),
        min(cup.y0, low[1]),
        max(cup.x1, high[0]),
        max(cup.y1 + 4.0, high[1]),
    )


def has_smallest_circle(judged: Judged) -> bool:
    """Whether the smallest circle is drawn: it decides only where the cup alone limits."""
    return judged.fit.limits.is_cup_alone


def drawing_items(
    judged: Judged, reach: Bounds, measure: Measure, *, with_labels: bool = True
) -> tuple[Item, ...]:
    """Everything at true scale; labels are kept within ``reach``."""
    items: list[Item] = [ArtworkMark()]
    items += ring_items(judged.cup_fit.cup)
    items += area_items(judged.fit.limits)
    items += _center_mark(judged, with_labels)
    if has_smallest_circle(judged):
        found = judged.fit.smallest_circle
        # Round the ink, not over it: the line's inner edge leaves the outermost ink free.
        wide = found.diameter + CONTACT_CIRCLE.width_mm + 2.0 * _CLEAR_MM
        items.append(circle(judged.to_press(found.center), wide, CONTACT_CIRCLE))
    items += _struck_out(judged)
    if with_labels:
        items += _contacts(judged)
    items += _tightest(judged, reach, measure, with_labels)
    return tuple(items)


def _center_mark(judged: Judged, with_labels: bool) -> Iterator[Item]:
    """The cup's center as a cross, the datum as a small diamond, and where the front is."""
    halo = Stroke(0.9, 1.0)
    arms = ((-4.0, 0.0, 4.0, 0.0), (0.0, -4.0, 0.0, 4.0))
    yield lines(arms, halo)
    yield lines(arms, Stroke(0.25))
    x, y = judged.to_press(judged.fit.datum_mm)
    yield polygon(((x - 1.1, y), (x, y - 1.1), (x + 1.1, y), (x, y + 1.1)), _FINE, 1.0)
    if with_labels:
        below = reach_of([judged.cup_fit.cup], judged.fit.limits).y1
        yield Text(0.0, below + 2.4, "front", _LABEL_MM, anchor="middle")


def _contacts(judged: Judged) -> Iterator[Item]:
    """Numbered points, each number outside the smallest circle, so that it covers no ink."""
    middle = judged.to_press(judged.fit.smallest_circle.center)
    for number, limit in enumerate(points_of(judged), 1):
        x, y = judged.to_press(limit.point_mm)
        ux, uy = _outward(x - middle[0], y - middle[1])
        # Aslant, so that the tightest place can be shown straight behind the point.
        dx, dy = ux * _SLANT[0] - uy * _SLANT[1], uy * _SLANT[0] + ux * _SLANT[1]
        at = (x + _AWAY_MM * dx, y + _AWAY_MM * dy)
        yield line(x + _CLEAR_MM * dx, y + _CLEAR_MM * dy, *at, _FINE)
        yield circle(at, _DISC_MM, _FINE, 1.0)
        yield Text(at[0], at[1] + 0.85, str(number), _LABEL_MM, bold=True, anchor="middle")


def _tightest(judged: Judged, reach: Bounds, measure: Measure, with_label: bool) -> Iterator[Item]:
    """A black arrow whose tip is at the tightest ink, and the clearance behind it."""
    x, y = judged.to_press(judged.placed.tightest.point_mm)
    ux, uy = _outward(x, y)
    if not with_label:
        ux, uy = -ux, -uy
    base = (x + 5.5 * ux, y + 5.5 * uy)
    side = (-uy * 1.1, ux * 1.1)
    corners = (
        (x, y),
        (base[0] + side[0], base[1] + side[1]),
        (base[0] - side[0], base[1] - side[1]),
    )
    yield polygon(corners, None, 0.0)
    if not with_label:
        return
    words = f"{format_clearance_mm(judged.placed.clearance_mm, true_minus=True)} mm"
    width = measure(words, _LABEL_MM, True) + 2.0
    height = 4.0
    left = base[0] + ux * (width / 2.0 + 0.6) - width / 2.0
    top = base[1] + uy * (height / 2.0 + 0.6) - height / 2.0
    left = min(max(left, reach.x0 + 0.2), reach.x1 - width - 0.2)
    top = min(max(top, reach.y0 + 0.2), reach.y1 - height - 0.2)
    yield box(Bounds(left, top, left + width, top + height), _FINE, 1.0)
    yield Text(left + width / 2.0, top + 2.85, words, _LABEL_MM, bold=True, anchor="middle")


def _struck_out(judged: Judged) -> Iterator[Item]:
    """What is drawn but was not measured, crossed out."""
    cross = Stroke(0.25)
    artwork = judged.fit.artwork
    boxes = [piece.box_mm for piece in artwork.left_out]
    for speck in artwork.specks:
        if speck.ignored:
            x, y = speck.center_mm
            half = speck.size_mm / 2.0 + 0.6
            boxes.append((x - half, y - half, x + half, y + half))
    for x0, y0, x1, y1 in boxes:
        corners = [judged.to_press(corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        yield polygon(corners, Stroke(0.8, 1.0))
        yield polygon(corners, cross)
        yield lines(((*corners[0], *corners[2]), (*corners[1], *corners[3])), Stroke(0.7, 1.0))
        yield lines(((*corners[0], *corners[2]), (*corners[1], *corners[3])), cross)


def _outward(x: float, y: float) -> tuple[float, float]:
    length = math.hypot(x, y)
    return (x / length, y / length) if length > 1e-6 else (0.0, -1.0)
