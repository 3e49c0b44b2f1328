"""A way out shown before it is taken: where the cup would be, or which ink would move."""

from __future__ import annotations

import math

import pygame

from viewer.fit import PointMove, WayOut
from viewer.press.outlines import on_page_mm
from viewer.screen import theme
from viewer.screen.area_lines import outlines_of
from viewer.screen.camera import Camera
from viewer.screen.layout import Layout
from viewer.screen.model import Session
from viewer.screen.shapes import line, polygon
from viewer.screen.sizes_layer import at_px
from viewer.screen.tags import draw_tag, lifted_line
from viewer.screen.text import Texts
from viewer.screen.tools import Tools, WayRow
from viewer.screen.ways_words import TIGHT
from viewer.screen.wording import up

DASH_PX, GAP_PX = 9.0, 6.0


def way_shown(tools: Tools) -> WayOut | None:
    """The way whose preview is shown, if there is one."""
    ways = tools.ways
    if ways is None or tools.are_ways_old or not 0 <= tools.way < len(ways.ways):
        return None
    return ways.ways[tools.way]


def draw_ghost(
    surface: pygame.Surface,
    layout: Layout,
    session: Session,
    camera: Camera,
    way: WayOut,
) -> None:
    """Draw the lines of a way."""
    # The artwork on screen keeps its size: scaled, the cup is so much the larger to it.
    center = (way.placement.center_mm[0] / way.factor, way.placement.center_mm[1] / way.factor)
    middle = at_px(layout, camera, center)
    per_mm = camera.px_per_mm / way.factor
    radii = (way.cup.max_image_diameter_mm / 2, way.cup.ring_outer_diameter_mm / 2)
    for radius_mm in radii:
        dashed_ring(surface, middle, radius_mm * per_mm, layout)
    for style, outline in outlines_of(session.limits):
        if "margin" in style:
            continue
        points = on_page_mm(outline / way.factor, center, way.placement.turn_deg)
        _dashed_outline(surface, [at_px(layout, camera, (x, y)) for x, y in points], layout)
    _arrow(surface, at_px(layout, camera, session.placement.center_mm), middle, layout)
    for move in way.moves:
        _move_mark(surface, layout, camera, move)


def draw_ghost_words(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    camera: Camera,
    tools: Tools,
    way: WayOut,
    taken: list[pygame.Rect],
) -> None:
    """Draw what a way says, above the cup as it would be, and at ink to draw further in."""
    center = (way.placement.center_mm[0] / way.factor, way.placement.center_mm[1] / way.factor)
    middle = at_px(layout, camera, center)
    reach = way.cup.ring_outer_diameter_mm / 2 * camera.px_per_mm / way.factor
    words = f"{tools.way + 1}: {_then(way, tools.rows[tools.way])}"
    at = (middle[0], round(middle[1] - reach) - layout.px(18))
    draw_tag(surface, texts, layout, words, at, taken, 14)
    beyond = layout.px(34)
    for move in way.moves:
        x, y = at_px(layout, camera, move.point_mm)
        at = (round(x - move.toward[0] * beyond), round(y - move.toward[1] * beyond))
        draw_tag(surface, texts, layout, f"in by {up(move.by_mm, 2)} mm", at, taken)


def _then(way: WayOut, row: WayRow) -> str:
    then = f"{row.word}, {row.clearance} mm"
    if way.factor != 1.0:
        return f"{row.words.removesuffix(TIGHT)}: {then}"
    return f"then {then}" if not way.moves else f"drawn so: {then}"


def dashed_ring(
    surface: pygame.Surface, center: tuple[int, int], radius_px: float, layout: Layout
) -> None:
    """A dashed circle, blue with a light edge."""
    if not 2 < radius_px < 20000:
        return
    count = max(12, round(2 * math.pi * radius_px / ((DASH_PX + GAP_PX) * max(1.0, layout.ui))))
    share = DASH_PX / (DASH_PX + GAP_PX)
    near = layout.view.inflate(40, 40)
    for index in range(min(count, 2000)):
        angles = (2 * math.pi * index / count, 2 * math.pi * (index + share) / count)
        ends = [
            (center[0] + radius_px * math.cos(a), center[1] - radius_px * math.sin(a))
            for a in angles
        ]
        if near.collidepoint(ends[0]) or near.collidepoint(ends[1]):
            lifted_line(surface, ends[0], ends[1], layout, 2.4, theme.LIMIT)


def _dashed_outline(surface: pygame.Surface, points: list[tuple[int, int]], layout: Layout) -> None:
    step = max(1.0, layout.ui)
    gone = 0.0
    for start, end in zip(points, [*points[1:], points[0]], strict=True):
        length = math.dist(start, end)
        if length == 0 or length > 20000:
            continue
        ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
        period = (DASH_PX + GAP_PX) * step
        at = -(gone % period)
        while at < length:
            low, high = max(0.0, at), min(length, at + DASH_PX * step)
            if high > low:
                lifted_line(
                    surface,
                    (start[0] + ux * low, start[1] + uy * low),
                    (start[0] + ux * high, start[1] + uy * high),
                    layout,
                    2.4,
                    theme.LIMIT,
                )
            at += period
        gone += length


def _arrow(
    surface: pygame.Surface, start: tuple[int, int], end: tuple[int, int], layout: Layout
) -> None:
    """From where the cup's center is to where it would be."""
    length = math.dist(start, end)
    if length < layout.px(10):
        return
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    lifted_line(surface, start, end, layout, 2.4, theme.LIMIT)
    _head(surface, end, (ux, uy), layout)


def _head(
    surface: pygame.Surface, tip: tuple[float, float], way: tuple[float, float], layout: Layout
) -> None:
    long, wide = layout.px(11), layout.px(5)
    back = (tip[0] - way[0] * long, tip[1] - way[1] * long)
    corners = [
        tip,
        (back[0] - way[1] * wide, back[1] + way[0] * wide),
        (back[0] + way[1] * wide, back[1] - way[0] * wide),
    ]
    polygon(surface, corners, theme.INK_LINE)
    for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
        line(surface, start, end, 1.0, theme.LIFT)


def _move_mark(surface: pygame.Surface, layout: Layout, camera: Camera, move: PointMove) -> None:
    """An arrow inwards from the ink that is too far out, at least long enough to be seen."""
    x, y = at_px(layout, camera, move.point_mm)
    long = max(layout.px(26), move.by_mm * camera.px_per_mm)
    end = (x + move.toward[0] * long, y + move.toward[1] * long)
    lifted_line(surface, (x, y), end, layout, 2.2)
    _head(surface, end, move.toward, layout)
