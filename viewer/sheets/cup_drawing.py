"""A cup at true scale in the press frame: ring, image circle, pad, etch area, axes.

Told apart without color: the ring's outer edge is a thick line, its inner edge a medium one
with short strokes between the two; the image circle is dashed, the pad's edge dash-dotted,
the etch area's edge long-dashed; what is kept free inside these two is dotted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from viewer.geometry import Bounds
from viewer.press import Cup, EtchArea, Pad, PressLimits
from viewer.press.outlines import etch_outline_mm, pad_outline_mm
from viewer.report import printable
from viewer.sheets.draw_list import Item, Path, Stroke, Text, circle, line, lines, polygon
from viewer.units import format_down

OUTER = Stroke(0.35)
INNER = Stroke(0.2)
IMAGE = Stroke(0.2, 0.0, (1.6, 0.8))
PAD = Stroke(0.2, 0.0, (3.0, 0.7, 0.5, 0.7))
ETCH = Stroke(0.2, 0.0, (5.0, 1.2))
KEPT_FREE = Stroke(0.15, 0.0, (0.3, 0.7))
_AXIS = Stroke(0.1, 0.35)
_HATCH = Stroke(0.1, 0.45)
_HATCH_EVERY_MM = 2.2
_NUMBER_MM = 1.9
_AIR_MM = 1.5


@dataclass(frozen=True)
class Key:
    """What one kind of line means; without a line: words alone."""

    stroke: Stroke | None
    words: str


def ring_items(cup: Cup, *, with_hatch: bool = True) -> Iterator[Path]:
    """The ring's two edges and the image circle, about the origin; equal circles once."""
    outer, inner = cup.ring_outer_diameter_mm, cup.ring_inner_diameter_mm
    if with_hatch and outer - inner > 0.2:
        yield _hatch(inner / 2.0, outer / 2.0)
    yield circle((0.0, 0.0), outer, OUTER)
    if inner < outer:
        yield circle((0.0, 0.0), inner, INNER)
    if cup.max_image_diameter_mm < inner:
        yield circle((0.0, 0.0), cup.max_image_diameter_mm, IMAGE)


def _hatch(inner_mm: float, outer_mm: float) -> Path:
    count = max(12, round(2.0 * math.pi * outer_mm / _HATCH_EVERY_MM / 4.0) * 4)
    angles = [(n + 0.5) * 2.0 * math.pi / count for n in range(count)]
    return lines(
        (
            (inner_mm * math.cos(a), inner_mm * math.sin(a), outer_mm * math.cos(a),
             outer_mm * math.sin(a))
            for a in angles
        ),
        _HATCH,
    )  # fmt: skip


def area_items(limits: PressLimits) -> Iterator[Path]:
    """Edges of pad and etch area, and of what is kept free inside them."""
    if limits.pad is not None:
        yield polygon(pad_outline_mm(limits.pad), PAD)
        if limits.pad.margin_mm:
            yield polygon(pad_outline_mm(limits.pad, limits.pad.margin_mm), KEPT_FREE)
    if limits.etch is not None:
        yield polygon(etch_outline_mm(limits.etch), ETCH)
        if limits.etch.margin_mm:
            yield polygon(etch_outline_mm(limits.etch, limits.etch.margin_mm), KEPT_FREE)


def axis_items(cups: Sequence[Cup]) -> Iterator[Item]:
    """Both axes through the cups' center, a tick every mm, a number every 10 mm.

    A number that would lie on a circle is left out.
    """
    reach_mm = max(cup.ring_outer_diameter_mm for cup in cups) / 2.0
    radii = [diameter / 2.0 for cup in cups for diameter in _diameters(cup)]
    last = math.floor(reach_mm + 1e-9)
    ends = [(-reach_mm, 0.0, reach_mm, 0.0), (0.0, -reach_mm, 0.0, reach_mm)]
    for at in (sign * mm for mm in range(1, last + 1) for sign in (-1, 1)):
        half = 1.6 if at % 10 == 0 else 1.1 if at % 5 == 0 else 0.6
        ends += [(at, -half, at, half), (-half, at, half, at)]
    yield lines(ends, _AXIS)
    yield lines(((-3.0, 0.0, 3.0, 0.0), (0.0, -3.0, 0.0, 3.0)), Stroke(0.25))
    for at in (sign * mm for mm in range(10, last + 1, 10) for sign in (-1, 1)):
        if any(abs(abs(at) - radius) < _NUMBER_MM for radius in radii):
            continue
        yield Text(at, 3.7, str(abs(at)), _NUMBER_MM, anchor="middle", gray=0.2)
        yield Text(2.1, at + 0.7, str(abs(at)), _NUMBER_MM, gray=0.2)


def reach_of(cups: Iterable[Cup], limits: PressLimits) -> Bounds:
    """The box of all that is drawn about the cup's center, with a little air."""
    radius = max(cup.ring_outer_diameter_mm for cup in cups) / 2.0
    corners = [np.array([(-radius, -radius), (radius, radius)])]
    if limits.pad is not None:
        corners.append(pad_outline_mm(limits.pad))
    if limits.etch is not None:
        corners.append(etch_outline_mm(limits.etch))
    points = np.concatenate(corners)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return Bounds(x0 - _AIR_MM, y0 - _AIR_MM, x1 + _AIR_MM, y1 + _AIR_MM)


def _diameters(cup: Cup) -> tuple[float, float, float]:
    return cup.ring_outer_diameter_mm, cup.ring_inner_diameter_mm, cup.max_image_diameter_mm


def keys_of(cup: Cup) -> tuple[Key, ...]:
    """Diameters of one cup, each with its kind of line. What the image may fill rounds down."""
    outer, inner, image = _diameters(cup)
    keys = [Key(OUTER, f"ring outside {_diameter(outer)}")]
    if image < inner:
        keys.append(Key(INNER, f"inner edge {_diameter(inner)}"))
        keys.append(Key(IMAGE, f"max image {_diameter(image)}"))
    else:
        keys.append(Key(INNER, f"inner edge and max image {_diameter(inner)}"))
    return tuple(keys)


def nested_keys(cups: Iterable[Cup]) -> tuple[Key, ...]:
    """What the lines of several cups mean, then the diameters of each cup on one line."""
    kinds = (Key(OUTER, "ring outside"), Key(INNER, "inner edge"), Key(IMAGE, "max image"))
    rows = []
    for cup in cups:
        outer, inner, image = (_diameter(size) for size in _diameters(cup))
        words = f"outside {outer}, inner edge {inner}, max image {image}"
        rows.append(Key(None, f"{printable(cup.name)} cup: {words}"))
    return (*kinds, *rows)


def area_keys(limits: PressLimits) -> tuple[Key, ...]:
    """Pad and etch area, each with its kind of line."""
    keys: list[Key] = []
    if limits.pad is not None:
        keys.append(Key(PAD, f"pad {_area_words(limits.pad)}"))
    if limits.etch is not None:
        keys.append(Key(ETCH, f"etch area {_area_words(limits.etch)}"))
    areas = (limits.pad, limits.etch)
    if any(area is not None and area.margin_mm for area in areas):
        keys.append(Key(KEPT_FREE, "kept free inside that edge"))
    return tuple(keys)


def key_items(keys: Iterable[Key], x: float, y: float, size_mm: float) -> Iterator[Item]:
    """The keys one under another, from the first baseline ``y``."""
    for index, key in enumerate(keys):
        at = y + index * size_mm * 1.4
        if key.stroke is not None:
            yield line(x, at - size_mm * 0.32, x + 8.0, at - size_mm * 0.32, key.stroke)
        yield Text(x + (10.0 if key.stroke else 0.0), at, key.words, size_mm)


def _diameter(size_mm: float) -> str:
    return f"\u00d8 {format_down(size_mm, 2)} mm"


def _offset_words(right_mm: float, front_mm: float) -> str:
    across = f"{abs(right_mm):g} mm {'right' if right_mm > 0 else 'left'}" if right_mm else ""
    along = f"{abs(front_mm):g} mm to the {'front' if front_mm > 0 else 'back'}" if front_mm else ""
    return " and ".join(filter(None, (across, along)))


def _area_words(area: Pad | EtchArea) -> str:
    words = str(area)
    if area.margin_mm:
        words += f", {area.margin_mm:g} mm kept free"
    if any(area.offset_mm):
        words += f", centre {_offset_words(*area.offset_mm)}"
    turn_deg = getattr(area, "turn_deg", 0.0)
    return f"{words}, turned {turn_deg:g}\u00b0" if turn_deg else words
