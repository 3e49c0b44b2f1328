"""The outlines of other readings, in thin dashes and dots over the artwork.

What another renderer draws, or what is left when white is paper: a person has to
see both before saying which is right.
"""

from __future__ import annotations

import math
from collections import OrderedDict

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.screen import theme
from viewer.screen.camera import Camera
from viewer.screen.layout import Layout
from viewer.screen.model import Other, Session
from viewer.screen.shapes import line, rounded
from viewer.screen.text import Texts

PERIOD_PX = 20.0
STROKES_PX = ((0.0, 11.0), (15.0, 17.0))
"""A dash and a dot in each period: unlike the smallest circle's even dashes."""
LABEL_PLACES = 8
_FAR_PX = 20000.0

Strokes = NDArray[np.float64]


def strokes_along(points_px: NDArray[np.float64], ui: float) -> Strokes:
    """Dashes along a closed outline: rows of (x0, y0, x1, y1) in px.

    A dash that reaches around a corner is cut off there straight, by less than its
    own length. An outline without length gives none.
    """
    closed = np.vstack([points_px, points_px[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    total = float(along[-1])
    count = min(20000, math.floor(total / (PERIOD_PX * ui)))
    if count < 1:
        return np.zeros((0, 4))
    period = total / count
    starts = np.arange(count) * period
    found = []
    for first, last in STROKES_PX:
        ends = [starts + v / PERIOD_PX * period for v in (first, last)]
        columns = [np.interp(end, along, closed[:, axis]) for end in ends for axis in (0, 1)]
        found.append(np.stack(columns, axis=1))
    return np.vstack(found)


def shown_shift_mm(other: Other, center_mm: tuple[float, float]) -> tuple[float, float]:
    """How far an outline stands from its own page place.

    A reading at another scale is judged with the same point of the artwork under
    the cup's center, so it is drawn around that.
    """
    return center_mm[0] * (1 - other.ratio), center_mm[1] * (1 - other.ratio)


class OutlinePainter:
    """Draws the other outlines of a session; keeps their dashes."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._kept: OrderedDict[tuple[int, float, float], tuple[Other, Strokes]] = OrderedDict()

    def draw(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        camera: Camera,
        keep_off: list[pygame.Rect],
    ) -> None:
        """Draw within the surface's clip; names stand clear of ``keep_off`` where they can."""
        placed = []
        for other in session.others:
            x, y = camera.snapped(*shown_shift_mm(other, session.placement.center_mm))
            corner = (layout.view.x + x, layout.view.y + y)
            self._strokes(surface, layout, other, camera.px_per_mm, corner)
            placed.append((other, corner))
        taken = list(keep_off)
        for other, corner in placed:
            self._label(surface, layout, other, camera.px_per_mm, corner, taken)

    def _strokes(
        self,
        surface: pygame.Surface,
        layout: Layout,
        other: Other,
        px_per_mm: float,
        corner: tuple[int, int],
    ) -> None:
        key = (id(other), px_per_mm, layout.ui)
        if key not in self._kept:
            # The other is kept along: its id must not be given to anything else.
            self._kept[key] = (other, strokes_along(other.hull_mm * px_per_mm, layout.ui))
            if len(self._kept) > 8:
                self._kept.popitem(last=False)
        strokes = self._kept[key][1] + np.array([*corner, *corner], dtype=float)
        clip = surface.get_clip().inflate(40, 40)
        x, y = strokes[:, 0::2], strokes[:, 1::2]
        seen = (x.max(axis=1) > clip.left) & (x.min(axis=1) < clip.right)
        seen &= (y.max(axis=1) > clip.top) & (y.min(axis=1) < clip.bottom)
        seen &= np.abs(strokes).max(axis=1) < _FAR_PX
        for x0, y0, x1, y1 in strokes[seen].tolist():
            _stroke(surface, (x0, y0), (x1, y1), layout.ui)

    def _label(
        self,
        surface: pygame.Surface,
        layout: Layout,
        other: Other,
        px_per_mm: float,
        corner: tuple[int, int],
        taken: list[pygame.Rect],
    ) -> None:
        size = layout.px(11)
        width = self._texts.width(other.label, size) + 2 * layout.px(8)
        hull_px = other.hull_mm * px_per_mm + np.array(corner, dtype=float)
        box = _label_box((width, layout.px(18)), hull_px, other.label_at, layout, taken)
        taken.append(box)
        rounded(surface, box, box.height // 2, theme.PILL)
        self._texts.where = "outlines"
        inner = box.inflate(-2 * layout.px(5), 0)
        self._texts.draw(surface, other.label, inner, size, theme.OTHER_TEXT, align="center")


def _stroke(
    surface: pygame.Surface, start: tuple[float, float], end: tuple[float, float], ui: float
) -> None:
    if ui >= 1.5:
        line(surface, start, end, 1.6 * ui, theme.OTHER)
        return
    # Two smooth lines side by side, so that the middle has the full color: a polygon's
    # corners are whole pixels, which makes upright and level strokes unequal.
    is_level = abs(end[0] - start[0]) >= abs(end[1] - start[1])
    dx, dy = (0, 1) if is_level else (1, 0)
    pygame.draw.aaline(surface, theme.OTHER, start, end)
    pygame.draw.aaline(
        surface, theme.OTHER, (start[0] + dx, start[1] + dy), (end[0] + dx, end[1] + dy)
    )


def _label_box(
    size: tuple[int, int],
    hull_px: NDArray[np.float64],
    first: int,
    layout: Layout,
    taken: list[pygame.Rect],
) -> pygame.Rect:
    """A free place beside a vertex, towards the outline's middle if need be.

    The vertex ``first`` is tried before the others.
    """
    view = layout.view.inflate(-layout.px(12), -layout.px(12))
    middle_x, middle_y = ((hull_px.min(axis=0) + hull_px.max(axis=0)) / 2).tolist()
    step = max(1, len(hull_px) // LABEL_PLACES)
    boxes = []
    for outwards in (1, -1):
        for number in range(0, len(hull_px), step):
            x, y = hull_px[(first + number) % len(hull_px)].tolist()
            dx, dy = (x - middle_x) * outwards, (y - middle_y) * outwards
            length = math.hypot(dx, dy) or 1.0
            reach = layout.px(14) + size[0] / 2 * abs(dx) / length
            box = pygame.Rect(0, 0, *size)
            box.center = (round(x + dx / length * reach), round(y + dy / length * reach))
            boxes.append(box)
            if view.contains(box) and box.inflate(4, 4).collidelist(taken) < 0:
                return box
    return boxes[0].clamp(view)
