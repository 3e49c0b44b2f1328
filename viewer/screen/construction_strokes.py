"""Smooth lines and circles at places that need not be whole pixels.

Px of a view: a pixel (i, j) has its middle at (i + 1/2, j + 1/2). Only the pixels near a
line are worked on, so that a construction costs as little as its lines are long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Point = tuple[float, float]
_SMALL_PX = 16.0


@dataclass(frozen=True)
class Path:
    """A straight line from ``a`` to ``b``, or with a radius a circle about ``a``, px."""

    a: Point
    b: Point
    radius_px: float | None = None
    is_dashed: bool = False


@dataclass(frozen=True, eq=False)
class Stroke:
    """Pixels near a path: how far their middles are from it, and how far along it. Px."""

    x: Ints
    y: Ints
    away: Floats
    along: Floats

    def cover(self, half_px: float, dash_px: tuple[float, float] | None = None) -> Floats:
        """How much of each pixel a line covers. ``dash_px``: period, and length of a dash."""
        cover = np.clip(half_px + 0.5 - self.away, 0.0, 1.0)
        if dash_px is not None:
            period, on = dash_px
            phase = np.abs((self.along + on / 2) % period - on / 2)
            cover = cover * np.clip(on / 2 + 0.5 - phase, 0.0, 1.0)
        return cover


@lru_cache(maxsize=256)
def stroke(path: Path, reach_px: float, size: tuple[int, int]) -> Stroke:
    """The pixels of a view within reach of a path."""
    if path.radius_px is None:
        return _straight(path.a, path.b, reach_px, size)
    return _round(path.a, path.radius_px, reach_px, size)


def _straight(a: Point, b: Point, reach: float, size: tuple[int, int]) -> Stroke:
    dx, dy = b[0] - a[0], b[1] - a[1]
    is_flat = abs(dx) >= abs(dy)
    # Along the longer way there is one column for each pixel, and no pixel comes twice.
    lead, side = (0, 1) if is_flat else (1, 0)
    run = (dx, dy)[lead]
    slope = (dx, dy)[side] / run if run else 0.0
    columns = _range(min(a[lead], b[lead]) - reach, max(a[lead], b[lead]) + reach, size[lead])
    middle = a[side] + (columns + 0.5 - a[lead]) * slope
    spread = math.ceil(reach * math.hypot(1.0, slope)) + 1
    offsets = np.arange(-spread, spread + 1)
    across = np.floor(middle).astype(np.int64)[:, None] + offsets[None, :]
    first = np.broadcast_to(columns[:, None], across.shape).ravel()
    second = across.ravel()
    x, y = (first, second) if is_flat else (second, first)
    px, py = x + 0.5 - a[0], y + 0.5 - a[1]
    length = math.hypot(dx, dy)
    along = np.zeros(len(x))
    if length:
        along = np.clip((px * dx + py * dy) / length, 0.0, length)
        px, py = px - along * dx / length, py - along * dy / length
    return _kept(x, y, np.hypot(px, py), along, reach, size)


def _round(center: Point, radius: float, reach: float, size: tuple[int, int]) -> Stroke:
    x, y = (
        _box(center, radius, reach, size)
        if radius < _SMALL_PX
        else _rim(center, radius, reach, size)
    )
    px, py = x + 0.5 - center[0], y + 0.5 - center[1]
    away = np.abs(np.hypot(px, py) - radius)
    along = np.arctan2(py, px) * radius
    return _kept(x, y, away, along, reach, size)


def _box(center: Point, radius: float, reach: float, size: tuple[int, int]) -> tuple[Ints, Ints]:
    far = radius + reach
    columns = _range(center[0] - far, center[0] + far, size[0])
    rows = _range(center[1] - far, center[1] + far, size[1])
    x, y = np.meshgrid(columns, rows)
    return x.ravel(), y.ravel()


def _rim(center: Point, radius: float, reach: float, size: tuple[int, int]) -> tuple[Ints, Ints]:
    """Column by column where the circle is flat, row by row where it is steep."""
    # Where a diagonal meets the outermost pixels the circle is furthest off in its column.
    wide = (radius + reach) / math.sqrt(2.0)
    spread = math.ceil(wide - math.sqrt(max(0.0, radius * radius - wide * wide))) + 2
    offsets = np.arange(-spread, spread + 1)
    found = []
    for lead in (0, 1):
        side = 1 - lead
        lines = _range(center[lead] - wide, center[lead] + wide, size[lead])
        run = lines + 0.5 - center[lead]
        rise = np.sqrt(np.maximum(radius * radius - run * run, 0.0))
        for sign in (-1.0, 1.0):
            middle = np.floor(center[side] + sign * rise).astype(np.int64)
            across = middle[:, None] + offsets[None, :]
            first = np.broadcast_to(lines[:, None], across.shape).ravel()
            second = across.ravel()
            flat, steep = np.abs(first + 0.5 - center[lead]), second + 0.5 - center[side]
            # Each pixel belongs to one of the four quarters between the diagonals.
            keep = (sign * steep >= flat) if lead == 0 else (sign * steep > flat)
            x, y = (first, second) if lead == 0 else (second, first)
            found.append((x[keep], y[keep]))
    return np.concatenate([x for x, _ in found]), np.concatenate([y for _, y in found])


def _range(low: float, high: float, limit: int) -> Ints:
    return np.arange(max(0, math.floor(low)), min(limit, math.ceil(high) + 1), dtype=np.int64)


def _kept(
    x: Ints, y: Ints, away: Floats, along: Floats, reach: float, size: tuple[int, int]
) -> Stroke:
    keep = (away <= reach) & (x >= 0) & (x < size[0]) & (y >= 0) & (y < size[1])
    return Stroke(x[keep], y[keep], away[keep], along[keep])


def blend(
    pixels: NDArray[np.uint8], drawn: Stroke, cover: Floats, color: tuple[int, int, int]
) -> None:
    """Lay a color over pixels of shape (width, height, 3), as much as each is covered."""
    share = cover[:, None]
    mixed = pixels[drawn.x, drawn.y] * (1.0 - share) + np.array(color, float) * share
    pixels[drawn.x, drawn.y] = np.rint(mixed).astype(np.uint8)
