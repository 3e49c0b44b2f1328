"""Distances drawn on the artwork: the measured one, and the ink's own sizes."""

from __future__ import annotations

import math

import numpy as np
import pygame

from viewer.screen.camera import Camera
from viewer.screen.layout import Layout
from viewer.screen.model import Session
from viewer.screen.tags import draw_tag, lifted_line
from viewer.screen.text import Texts
from viewer.screen.tools import Point, Tools
from viewer.screen.wording import up

Pixel = tuple[int, int]


def at_px(layout: Layout, camera: Camera, point: Point) -> Pixel:
    """Where a page point is in the window."""
    x, y = camera.snapped(*point)
    return layout.view.x + x, layout.view.y + y


def corners_mm(session: Session, tools: Tools) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Ink corners that a measurement snaps to: of the whole outline and of every piece."""
    found = [session.artwork.outline.hull_mm]
    for piece in tools.pieces or ():
        if not piece.left_out and len(piece.outline_mm):
            found.append(piece.outline_mm * session.scale)
    return np.vstack(found)


def marked_points(session: Session) -> list[Point]:
    """Points worth going to one by one: those that decide the sizes, clockwise."""
    fit = session.fit
    hull = session.artwork.outline.hull_mm
    wanted = [tuple(map(float, p)) for p in fit.smallest_circle.support]
    diagonal = fit.longest_diagonal
    wanted += [tuple(map(float, p)) for p in (diagonal.start, diagonal.end)]
    for index in (0, 1):
        wanted.append(tuple(map(float, hull[int(hull[:, index].argmin())])))
        wanted.append(tuple(map(float, hull[int(hull[:, index].argmax())])))
    kept: list[Point] = []
    for x, y in wanted:
        if all(math.dist((x, y), other) > 0.01 for other in kept):
            kept.append((x, y))
    cx, cy = fit.smallest_circle.center
    return sorted(kept, key=lambda p: math.atan2(p[0] - cx, cy - p[1]) % (2 * math.pi))


def nearest_corner(session: Session, tools: Tools, point: Point, reach_mm: float) -> Point | None:
    """The ink corner nearest to a page point, if one is within reach."""
    corners = corners_mm(session, tools)
    away = np.hypot(corners[:, 0] - point[0], corners[:, 1] - point[1])
    index = int(away.argmin())
    if away[index] > reach_mm:
        return None
    return float(corners[index, 0]), float(corners[index, 1])


def distance_words(start: Point, end: Point) -> str:
    """A measured distance, and how far it goes across and along."""
    dx, dy = abs(end[0] - start[0]), abs(end[1] - start[1])
    words = f"{math.hypot(dx, dy):.2f} mm"
    if min(dx, dy) >= 0.005:
        words += f"   {dx:.2f} \u2194   {dy:.2f} \u2195"
    return words


def draw_distance(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    start: Pixel,
    end: Pixel,
    words: str,
    taken: list[pygame.Rect],
    share: float = 0.5,
) -> None:
    """A line with a stop at each end, and its words on it, at a share of its length.

    Where the line is too short for them the words stand beside its middle.
    """
    lifted_line(surface, start, end, layout)
    length = math.dist(start, end)
    nx, ny = (0.0, -1.0)
    if length > 0:
        nx, ny = (end[1] - start[1]) / length, -(end[0] - start[0]) / length
        arm = layout.px(7)
        for x, y in (start, end):
            lifted_line(surface, (x - nx * arm, y - ny * arm), (x + nx * arm, y + ny * arm), layout)
    if ny > 0:
        nx, ny = -nx, -ny
    gap = layout.px(20)
    wide = texts.width(words, layout.px(12.5), True) / 2 + layout.px(12)
    # As much of the line as the words hide, and a piece to be seen at both ends.
    hidden = min(2 * wide / max(abs(ny), 1e-9), 2 * gap / max(abs(nx), 1e-9))
    away = gap if abs(ny) > 0.5 else wide
    if length > hidden + 4 * layout.px(14):
        away = 0.0
    else:
        share = 0.5
    along = start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
    at = (round(along[0] + nx * away), round(along[1] + ny * away))
    draw_tag(surface, texts, layout, words, at, taken)


def draw_sizes(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    session: Session,
    camera: Camera,
    taken: list[pygame.Rect],
) -> None:
    """Width, height, longest diagonal and smallest circle, as a ruler would show them."""
    fit, box = session.fit, session.fit.ink_bounds
    left, top = at_px(layout, camera, (box.x0, box.y0))
    right, bottom = at_px(layout, camera, (box.x1, box.y1))
    view = layout.view
    beside = layout.px(26)
    y = min(bottom + beside, view.bottom - layout.px(30))
    x = min(right + beside, view.right - layout.px(60))
    for at in (left, right):
        lifted_line(surface, (at, min(bottom, y)), (at, y + layout.px(5)), layout, 0.8)
    for at in (top, bottom):
        lifted_line(surface, (min(right, x), at), (x + layout.px(5), at), layout, 0.8)
    words = f"width {up(fit.width_mm, 2)} mm"
    draw_distance(surface, texts, layout, (left, y), (right, y), words, taken)
    words = f"height {up(fit.height_mm, 2)} mm"
    draw_distance(surface, texts, layout, (x, top), (x, bottom), words, taken)
    diagonal = fit.longest_diagonal
    ends = [
        at_px(layout, camera, (float(p[0]), float(p[1]))) for p in (diagonal.start, diagonal.end)
    ]
    words = f"longest diagonal {up(diagonal.length, 2)} mm"
    draw_distance(surface, texts, layout, ends[0], ends[1], words, taken, 0.22)
    circle = fit.smallest_circle
    cx, cy = float(circle.center[0]), float(circle.center[1])
    # Square to the diagonal, so that the two lines are told apart.
    dx, dy = ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]
    length = math.hypot(dx, dy) or 1.0
    ux, uy = (-dy / length, dx / length) if dx * dx + dy * dy else (0.0, 1.0)
    reach = circle.radius
    start = at_px(layout, camera, (cx - ux * reach, cy - uy * reach))
    end = at_px(layout, camera, (cx + ux * reach, cy + uy * reach))
    words = f"smallest circle \u00d8 {up(circle.diameter, 2)} mm"
    draw_distance(surface, texts, layout, start, end, words, taken, 0.78)
