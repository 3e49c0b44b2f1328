"""The words of a construction: each beside its mark, off the lines and off each other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.lessons.marks import Area, Mark, Ring, Segment
from viewer.screen import theme
from viewer.screen.camera import Camera
from viewer.screen.construction_strokes import Path, Point
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts

_HIGH_PX, _PAD_PX, _GAP_PX = 22, 8, 7
_RING_ANGLES_DEG = (45, 30, 60, 15, 75, 135, 120, 150, -30, -45, -60, -135, -120, 100, 180)
_SHARES = (0.5, 0.38, 0.62, 0.26, 0.74)
_APART_PX = 4.0


@dataclass(frozen=True)
class Label:
    """Words, the mark they belong to, and whether the newest step has brought them."""

    mark: Mark
    text: str
    is_new: bool


def draw_labels(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    camera: Camera,
    labels: Sequence[Label],
    paths: Sequence[Path],
    keep_off: Sequence[pygame.Rect],
) -> None:
    """Draw them; those that come first choose their places first."""
    points = _points_on(paths, layout)
    taken = list(keep_off)
    clip = surface.get_clip()
    surface.set_clip(layout.view)
    for label in labels:
        box = _place(label, texts, layout, camera, points, taken)
        if box is not None:
            taken.append(box.inflate(layout.px(4), layout.px(4)))
            _draw(surface, texts, layout, label, box)
    surface.set_clip(clip)


def _draw(
    surface: pygame.Surface, texts: Texts, layout: Layout, label: Label, box: pygame.Rect
) -> None:
    edge = theme.OTHER if label.is_new else theme.FIELD_EDGE
    width = layout.px(2) if label.is_new else max(1, round(layout.ui))
    rounded(surface, box, layout.px(6), theme.CALLOUT, edge, width)
    texts.where = "construction"
    inner = box.inflate(-2 * layout.px(_PAD_PX - 2), 0)
    color = theme.TEXT if label.is_new else theme.TEXT_SOFT
    size = layout.px(12.5)
    texts.draw(surface, label.text, inner, size, color, bold=label.is_new, align="center")


def _points_on(paths: Sequence[Path], layout: Layout) -> NDArray[np.float64]:
    """Points along all lines, window px: words keep off them where they can."""
    found = [np.empty((0, 2))]
    step, view = _APART_PX, layout.view
    for path in paths:
        if path.radius_px is None:
            count = min(600, 2 + int(math.dist(path.a, path.b) / step))
            share = np.linspace(0.0, 1.0, count)[:, None]
            found.append(np.array(path.a) * (1 - share) + np.array(path.b) * share)
        else:
            count = min(2000, 8 + int(2 * math.pi * path.radius_px / step))
            turn = np.linspace(0.0, 2 * math.pi, count)
            rim = np.stack([np.cos(turn), np.sin(turn)], axis=1) * path.radius_px
            found.append(rim + path.a)
    points: NDArray[np.float64] = np.concatenate(found) + np.array(view.topleft, float)
    return points


def _place(
    label: Label,
    texts: Texts,
    layout: Layout,
    camera: Camera,
    points: NDArray[np.float64],
    taken: list[pygame.Rect],
) -> pygame.Rect | None:
    """The best free place; None where the mark is out of sight, or nothing is free."""
    px, room = layout.px, layout.view.inflate(-2 * layout.px(6), -2 * layout.px(6))
    wide = texts.width(label.text, px(12.5), label.is_new) + 2 * px(_PAD_PX)
    box = pygame.Rect(0, 0, min(wide, room.width), px(_HIGH_PX))
    best, least = None, math.inf
    for number, wished in enumerate(_wished(label.mark, camera, layout, box)):
        tried = wished.clamp(room)
        if tried.collidelist(taken) >= 0:
            continue
        moved = math.dist(tried.center, wished.center) / px(10)
        cost = 2.0 * _covered(tried, points) + number + moved
        if cost < least:
            best, least = tried, cost
    first = next(_wished(label.mark, camera, layout, box), None)
    if best is not None or first is None:
        return best
    return _anywhere(first.clamp(room), room, taken)


def _covered(box: pygame.Rect, points: NDArray[np.float64]) -> int:
    x, y = points[:, 0], points[:, 1]
    inside = (x > box.left - 2) & (x < box.right + 2) & (y > box.top - 2) & (y < box.bottom + 2)
    return int(inside.sum())


def _anywhere(box: pygame.Rect, room: pygame.Rect, taken: list[pygame.Rect]) -> pygame.Rect | None:
    """The free place nearest to where words would stand."""
    places = []
    for y in range(room.top, room.bottom - box.height + 1, box.height + 4):
        for x in range(room.left, room.right - box.width + 1, 16):
            place = pygame.Rect(x, y, *box.size)
            if place.collidelist(taken) < 0:
                places.append(place)
    return min(places, key=lambda p: math.dist(p.center, box.center), default=None)


def _wished(mark: Mark, camera: Camera, layout: Layout, box: pygame.Rect) -> Iterator[pygame.Rect]:
    """Places for a box, the best first; none where the mark is out of sight."""
    view, gap = layout.view, layout.px(_GAP_PX)

    def at(point: Point) -> Point:
        x, y = camera.to_px(float(point[0]), float(point[1]))
        return x + view.x, y + view.y

    if isinstance(mark, Segment):
        yield from _beside(at(mark.a), at(mark.b), view, box, gap)
    elif isinstance(mark, Ring):
        center, radius = at(mark.center), mark.radius_mm * camera.px_per_mm
        for angle in _RING_ANGLES_DEG:
            ux, uy = math.cos(math.radians(angle)), -math.sin(math.radians(angle))
            rim = (center[0] + ux * radius, center[1] + uy * radius)
            if view.collidepoint(rim):
                yield _clear(rim, (ux, uy), box, gap)
    elif isinstance(mark, Area):
        corners = [at(corner) for corner in mark.corners]
        middle = (
            sum(x for x, _ in corners) / len(corners),
            sum(y for _, y in corners) / len(corners),
        )
        for down in (0, -1, 1, -2, 2, -3, 3):
            point = (middle[0], middle[1] + down * 1.2 * box.height)
            if view.collidepoint(point):
                yield _off(point, (0.0, 0.0), box, 0)
    else:
        point = at(mark.at if hasattr(mark, "at") else mark.corner)
        for right, low in ((1, -1), (1, 0), (1, 1), (-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1)):
            if view.collidepoint(point):
                yield _off(point, (float(right), float(low)), box, gap)


def _off(point: Point, way: Point, box: pygame.Rect, gap: float) -> pygame.Rect:
    """A box moved off a point along a way until it is clear of it."""
    found = box.copy()
    x = point[0] + way[0] * (box.width / 2 + gap)
    y = point[1] + way[1] * (box.height / 2 + gap)
    found.center = (round(x), round(y))
    return found


def _clear(point: Point, normal: Point, box: pygame.Rect, gap: float) -> pygame.Rect:
    """A box moved along a normal until no corner of it comes to the line at the point."""
    nx, ny = normal
    off = abs(nx) * box.width / 2 + abs(ny) * box.height / 2 + gap
    found = box.copy()
    found.center = (round(point[0] + nx * off), round(point[1] + ny * off))
    return found


def _beside(
    a: Point, b: Point, view: pygame.Rect, box: pygame.Rect, gap: float
) -> Iterator[pygame.Rect]:
    """Beside a line, on both sides, from its middle outwards; of the part that is seen."""
    seen = view.clipline(round(a[0]), round(a[1]), round(b[0]), round(b[1]))
    if not seen:
        return
    (ax, ay), (bx, by) = seen
    length = math.dist((ax, ay), (bx, by))
    nx, ny = ((by - ay) / length, (ax - bx) / length) if length else (0.0, -1.0)
    if ny > 0 or (ny == 0 and nx < 0):
        nx, ny = -nx, -ny
    for share in _SHARES:
        point = (ax + (bx - ax) * share, ay + (by - ay) * share)
        for side in (1.0, -1.0):
            yield _clear(point, (side * nx, side * ny), box, gap)
