"""Pad and etch area over the artwork: patterned outlines that turn with the overlay."""

from __future__ import annotations

import math
from collections import OrderedDict
from dataclasses import dataclass

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.press.limits import PressLimits
from viewer.press.outlines import etch_outline_mm, pad_outline_mm, turned
from viewer.screen import theme
from viewer.screen.layout import Layout
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts

Points = NDArray[np.float64]
Pattern = tuple[tuple[float, float], ...]

PIECE_PX = 6.0
"""A dash along a curve is drawn in pieces no longer than this."""
LABEL_PLACES = 16
_FAR_PX = 8000.0


@dataclass(frozen=True)
class Style:
    """``strokes``: from and to, in px of each ``period``; ``wide``: thickness in px."""

    part: str
    period: float
    strokes: Pattern
    wide: float


STYLES = {
    "pad": Style("pad", 26.0, ((0.0, 20.0),), 2.0),
    "pad margin": Style("pad", 11.0, ((0.0, 5.0),), 1.0),
    "etch": Style("etch", 34.0, ((0.0, 18.0), (23.0, 25.0), (29.0, 31.0)), 2.0),
    "etch margin": Style("etch", 11.0, ((0.0, 5.0),), 1.0),
}
"""Long dashes for the pad, a dash and two dots for the etch area, fine dashes for margins."""
LABELS = {"pad": "pad", "etch": "etch area"}


def outlines_of(limits: PressLimits) -> tuple[tuple[str, Points], ...]:
    """Every line there is to draw: (style, points in mm of the press frame)."""
    found = []
    pad, etch = limits.pad, limits.etch
    if etch is not None:
        if etch.margin_mm:
            found.append(("etch margin", etch_outline_mm(etch, etch.margin_mm)))
        found.append(("etch", etch_outline_mm(etch)))
    if pad is not None:
        if pad.margin_mm:
            found.append(("pad margin", pad_outline_mm(pad, pad.margin_mm)))
        found.append(("pad", pad_outline_mm(pad)))
    return tuple(found)


def dashes_along(points_px: Points, style: Style, ui: float) -> list[Points]:
    """The dashes of a closed outline, each as the points of its polyline, in px."""
    return [dash for group in _groups(points_px, style, ui) for dash in group]


def _groups(points_px: Points, style: Style, ui: float) -> list[Points]:
    """All dashes, those with as many points together: shape (dashes, points, 2)."""
    closed = np.vstack([points_px, points_px[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    total = float(along[-1])
    count = min(4000, math.floor(total / (style.period * ui)))
    if count < 1:
        return []
    period = total / count
    found = []
    for stroke in style.strokes:
        starts = np.arange(count, dtype=np.float64) * period
        start: Points = starts + stroke[0] / style.period * period
        end: Points = starts + stroke[1] / style.period * period
        if len(points_px) <= 4:
            found += _around_corners(start, end, along, closed)
            continue
        length = (stroke[1] - stroke[0]) / style.period * period
        pieces = 1 + max(1, math.ceil(length / (PIECE_PX * ui)))
        at = np.linspace(start, end, pieces, axis=1)
        found.append(_at(at, along, closed))
    return found


def _around_corners(start: Points, end: Points, along: Points, closed: Points) -> list[Points]:
    """Straight dashes, and those with the corners themselves that go around one."""
    first, last = np.searchsorted(along, start, "right"), np.searchsorted(along, end, "left")
    straight = last <= first
    found = [_at(np.stack([start[straight], end[straight]], axis=1), along, closed)]
    for number in np.flatnonzero(~straight).tolist():
        bends = along[first[number] : last[number]]
        at = np.concatenate([[start[number]], bends, [end[number]]])
        found.append(_at(at[None, :], along, closed))
    return found


def _at(at: Points, along: Points, closed: Points) -> Points:
    """The outline's points at distances along it; one more axis than those."""
    return np.stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)], axis=-1)


@dataclass(frozen=True)
class _Dashes:
    """All dashes of an outline in one array, their normals, and where each begins."""

    points: Points
    normals: Points
    starts: tuple[int, ...]


class AreaPainter:
    """Draws pad and etch area; keeps their dashes as long as the magnification stays."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._kept: OrderedDict[tuple[object, ...], tuple[Points, _Dashes]] = OrderedDict()

    def draw(
        self,
        surface: pygame.Surface,
        layout: Layout,
        limits: PressLimits,
        center_px: tuple[int, int],
        px_per_mm: float,
        overlay_turn_deg: float,
    ) -> None:
        """Draw the lines within the surface's clip, about the cup's center."""
        for name, outline in outlines_of(limits):
            dashes = self._dashes(name, outline, px_per_mm, layout.ui)
            _draw_dashes(surface, dashes, STYLES[name], layout.ui, center_px, overlay_turn_deg)

    def labels(
        self,
        surface: pygame.Surface,
        layout: Layout,
        limits: PressLimits,
        center_px: tuple[int, int],
        px_per_mm: float,
        overlay_turn_deg: float,
        taken: list[pygame.Rect],
    ) -> None:
        """Name each line at a place clear of ``taken``, which grows by what is drawn."""
        size = layout.px(11)
        for name, outline in outlines_of(limits):
            if name not in LABELS:
                continue
            label = LABELS[name]
            color = theme.PAD_TEXT if name == "pad" else theme.ETCH_TEXT
            width = self._texts.width(label, size) + 2 * layout.px(8)
            shown = turned(outline * px_per_mm, overlay_turn_deg) + np.array(center_px, float)
            box = _label_box((width, layout.px(18)), shown, layout, taken)
            if box is None:
                continue
            taken.append(box)
            rounded(surface, box, box.height // 2, theme.PILL)
            self._texts.where = "areas"
            inner = box.inflate(-2 * layout.px(5), 0)
            self._texts.draw(surface, label, inner, size, color, align="center")

    def _dashes(self, name: str, outline: Points, px_per_mm: float, ui: float) -> _Dashes:
        key = (name, id(outline), px_per_mm, ui)
        if key not in self._kept:
            groups = _groups(outline * px_per_mm, STYLES[name], ui)
            lengths = [g.shape[1] for g in groups for _ in range(len(g))]
            starts = np.cumsum([0, *lengths]).tolist()
            points = np.vstack([g.reshape(-1, 2) for g in groups]) if groups else np.zeros((0, 2))
            normals = np.vstack([_normals(g) for g in groups]) if groups else points
            # The outline is kept along: its id must not be given to anything else.
            self._kept[key] = (outline, _Dashes(points, normals, tuple(starts)))
            if len(self._kept) > 16:
                self._kept.popitem(last=False)
        return self._kept[key][1]


def _draw_dashes(
    surface: pygame.Surface,
    dashes: _Dashes,
    style: Style,
    ui: float,
    center_px: tuple[int, int],
    overlay_turn_deg: float,
) -> None:
    if len(dashes.points) == 0:
        return
    points = turned(dashes.points, overlay_turn_deg) + np.array(center_px, dtype=float)
    clip = surface.get_clip().inflate(80, 80)
    near = (points[:, 0] > clip.left) & (points[:, 0] < clip.right)
    near &= (points[:, 1] > clip.top) & (points[:, 1] < clip.bottom)
    starts = np.array(dashes.starts[:-1])
    seen = np.maximum.reduceat(near, starts)
    # Half a pixel back: pygame counts from pixel centers, we from corners.
    points -= 0.5
    normals = turned(dashes.normals, overlay_turn_deg)
    wide = max(1, round(style.wide * ui))
    layers = [points + (n - (wide - 1) / 2) * normals for n in range(wide)]
    color = theme.PAD if style.part == "pad" else theme.ETCH
    for number in np.flatnonzero(seen).tolist():
        first, last = dashes.starts[number], dashes.starts[number + 1]
        for layer in layers:
            pygame.draw.aalines(surface, color, False, layer[first:last].tolist())


def _normals(dashes: Points) -> Points:
    """A unit normal at each point of polylines (dashes, points, 2), in one list."""
    along = np.gradient(dashes, axis=1).reshape(-1, 2)
    length = np.hypot(along[:, 0], along[:, 1])
    length[length == 0] = 1.0
    return np.stack([-along[:, 1], along[:, 0]], axis=1) / length[:, None]


def _label_box(
    size: tuple[int, int], outline_px: Points, layout: Layout, taken: list[pygame.Rect]
) -> pygame.Rect | None:
    """A free place on the outline, spread along it; None where none is seen."""
    view = layout.view.inflate(-layout.px(12), -layout.px(12))
    closed = np.vstack([outline_px, outline_px[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    # From an eighth on, so that the middle of a side comes before its corners.
    at = ((np.arange(LABEL_PLACES) * 5 % LABEL_PLACES + 0.5) / LABEL_PLACES) * along[-1]
    for x, y in np.stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)], 1).tolist():
        if max(abs(x), abs(y)) > _FAR_PX:
            continue
        box = pygame.Rect(0, 0, *size)
        box.center = (round(x), round(y))
        if view.contains(box) and box.inflate(6, 6).collidelist(taken) < 0:
            return box
    return None
