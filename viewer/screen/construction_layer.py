"""The construction of a lesson, over the bench: lines, circles, areas, points, their words.

What the newest step adds is thick and of a color; what was there before is thin and dark.
Everything has a light edge, so that it is seen on paper, on ink and on the bench.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import pygame
import pygame.surfarray

from viewer.geometry.types import Bounds
from viewer.lessons.marks import Area, Dot, Mark, RightAngle, Ring, Segment
from viewer.screen import theme
from viewer.screen.camera import Camera
from viewer.screen.construction_labels import Label, draw_labels
from viewer.screen.construction_strokes import Path, Point, blend, stroke
from viewer.screen.layout import Layout
from viewer.screen.text import Texts

OLD_PX, NEW_PX, EDGE_PX = 1.7, 3.2, 1.5
"""Widths of lines before the newest step, of it, and of the light edge on each side."""
DASH_PX, DASH_ON_PX = 13.0, 8.0
_HEAD_PX, _TICK_PX, _CORNER_PX, _DOT_PX = 13.0, 6.0, 13.0, 9.0
_OLD_FILL, _NEW_FILL = 34, 70


class ConstructionPainter:
    """Draws the marks of a lesson."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts

    def draw(
        self,
        surface: pygame.Surface,
        layout: Layout,
        camera: Camera,
        marks: tuple[tuple[Mark, ...], tuple[Mark, ...]],
        keep_off: Sequence[pygame.Rect] = (),
    ) -> None:
        """Draw over the view. ``marks``: those of before, and those of the newest step.

        No word stands on what is in ``keep_off``.
        """
        old, new = marks
        if not old and not new:
            return
        view = surface.subsurface(layout.view)
        ui = layout.ui
        self._fill(view, camera, old, _OLD_FILL)
        self._fill(view, camera, new, _NEW_FILL)
        groups = (
            (list(_paths(old, camera, ui)), OLD_PX, theme.INK_LINE),
            (list(_paths(new, camera, ui)), NEW_PX, theme.OTHER),
        )
        size = view.get_size()
        pixels = pygame.surfarray.pixels3d(view)
        for is_edge in (True, False):
            for paths, width, color in groups:
                for path, width_px in paths:
                    half = (width_px if width_px is not None else width) * ui / 2
                    edge = EDGE_PX * max(1.0, ui)
                    near = stroke(path, half + edge + 1.0, size)
                    dash = (DASH_PX * ui, DASH_ON_PX * ui) if path.is_dashed else None
                    if is_edge:
                        if dash is not None:
                            dash = (dash[0], dash[1] + 2 * edge)
                        blend(pixels, near, near.cover(half + edge, dash), theme.LIFT)
                    else:
                        blend(pixels, near, near.cover(half, dash), color)
        del pixels
        self._words(surface, layout, camera, marks, groups, keep_off)

    def _fill(
        self, view: pygame.Surface, camera: Camera, marks: Iterable[Mark], alpha: int
    ) -> None:
        """A light veil over every area."""
        for mark in marks:
            if not isinstance(mark, Area):
                continue
            corners = [camera.to_px(*corner) for corner in mark.corners]
            xs, ys = [x for x, _ in corners], [y for _, y in corners]
            box = pygame.Rect(
                math.floor(min(xs)),
                math.floor(min(ys)),
                math.ceil(max(xs)) - math.floor(min(xs)) + 1,
                math.ceil(max(ys)) - math.floor(min(ys)) + 1,
            ).clip(view.get_rect())
            if box.width <= 0 or box.height <= 0:
                continue
            veil = pygame.Surface(box.size, pygame.SRCALPHA, 32)
            shifted = [(round(x - box.x), round(y - box.y)) for x, y in corners]
            pygame.draw.polygon(veil, (*theme.OTHER, alpha), shifted)
            view.blit(veil, box)

    def _words(
        self,
        surface: pygame.Surface,
        layout: Layout,
        camera: Camera,
        marks: tuple[tuple[Mark, ...], tuple[Mark, ...]],
        groups: Sequence[tuple[list[tuple[Path, float | None]], float, theme.Rgb]],
        keep_off: Sequence[pygame.Rect],
    ) -> None:
        old, new = marks
        # The newest words choose their places first.
        labels = [Label(mark, word, True) for mark in new if (word := _word(mark))]
        labels += [Label(mark, word, False) for mark in old if (word := _word(mark))]
        paths = [path for found, _, _ in groups for path, _ in found]
        draw_labels(surface, self._texts, layout, camera, labels, paths, keep_off)


def _word(mark: Mark) -> str:
    return "" if isinstance(mark, RightAngle) else mark.label


def _paths(marks: Iterable[Mark], camera: Camera, ui: float) -> Iterable[tuple[Path, float | None]]:
    """What to draw, in px of the view; a width of its own where it has one."""
    for mark in marks:
        if isinstance(mark, Segment):
            for path in _segment(mark, camera, ui):
                yield path, None
        elif isinstance(mark, Ring):
            center = _px(camera, mark.center)
            is_dashed = mark.style == "dashed"
            yield Path(center, center, mark.radius_mm * camera.px_per_mm, is_dashed), None
        elif isinstance(mark, Area):
            corners = [_px(camera, corner) for corner in mark.corners]
            for index, corner in enumerate(corners):
                yield Path(corner, corners[(index + 1) % len(corners)]), None
        elif isinstance(mark, RightAngle):
            for path in _right_angle(mark, camera, ui):
                yield path, None
        else:
            at = _px(camera, mark.at)
            yield Path(at, at), _DOT_PX


def _px(camera: Camera, point: Point) -> Point:
    x, y = camera.to_px(float(point[0]), float(point[1]))
    return float(x), float(y)


def _segment(mark: Segment, camera: Camera, ui: float) -> Iterable[Path]:
    a, b = _px(camera, mark.a), _px(camera, mark.b)
    yield Path(a, b, None, mark.style == "dashed")
    length = math.dist(a, b)
    if length == 0 or mark.style not in ("arrow", "size"):
        return
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    if mark.style == "size":
        arm = _TICK_PX * ui
        for x, y in (a, b):
            yield Path((x - uy * arm, y + ux * arm), (x + uy * arm, y - ux * arm))
        return
    back, wide = _HEAD_PX * ui, _HEAD_PX * ui * 0.45
    foot = (b[0] - ux * back, b[1] - uy * back)
    for side in (-1.0, 1.0):
        yield Path(b, (foot[0] - side * uy * wide, foot[1] + side * ux * wide))


def _right_angle(mark: RightAngle, camera: Camera, ui: float) -> Iterable[Path]:
    corner = _px(camera, mark.corner)
    arms = []
    for end in (mark.one, mark.other):
        x, y = _px(camera, end)
        length = math.dist(corner, (x, y))
        if length == 0:
            return
        # Never longer than a third of the sides it stands between.
        reach = min(_CORNER_PX * ui, length / 3) / length
        arms.append(((x - corner[0]) * reach, (y - corner[1]) * reach))
    one, other = arms
    tip = (corner[0] + one[0] + other[0], corner[1] + one[1] + other[1])
    yield Path((corner[0] + one[0], corner[1] + one[1]), tip)
    yield Path(tip, (corner[0] + other[0], corner[1] + other[1]))


def marks_bounds(marks: Iterable[Mark]) -> Bounds | None:
    """What a view must show to show them all, mm; None where there are none."""
    xs: list[float] = []
    ys: list[float] = []
    for mark in marks:
        points: tuple[Point, ...]
        if isinstance(mark, Segment):
            points = (mark.a, mark.b)
        elif isinstance(mark, Ring):
            (x, y), r = mark.center, mark.radius_mm
            points = ((x - r, y - r), (x + r, y + r))
        elif isinstance(mark, Area):
            points = mark.corners
        elif isinstance(mark, Dot):
            points = (mark.at,)
        else:
            points = (mark.corner,)
        xs += [float(x) for x, _ in points]
        ys += [float(y) for _, y in points]
    return Bounds(min(xs), min(ys), max(xs), max(ys)) if xs else None
