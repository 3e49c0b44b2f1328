"""What is known of an image by numbers, drawn at scale in the chosen cup."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pygame

from viewer.screen import numbers_words, theme
from viewer.screen.dashes import dashed_circle
from viewer.screen.layout import Layout
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.ring import DottedCircles, RingPainter, RingSize
from viewer.screen.shapes import line, polygon, rounded
from viewer.screen.text import Texts
from viewer.sizing import SizeQuery
from viewer.sizing.bounds import CircleRange

TINT = 0.86
"""How much of the paper's color the image has: circles and words stay to be seen on it."""
Mm = tuple[float, float]


@dataclass(frozen=True)
class Figure:
    """Outlines in mm, y down, from the middle of the drawing.

    ``filled``: what the image may be at least like; ``box``: corners of width x height, none
    where the shape itself is drawn; ``diagonal``: its ends; ``low_center``: of the smallest
    circle.
    """

    filled: tuple[Mm, ...]
    box: tuple[Mm, ...]
    diagonal: tuple[Mm, Mm]
    low_center: Mm = (0.0, 0.0)
    reach: float = 0.0
    """Half of the drawing's least size."""


def figure(query: SizeQuery, circle: CircleRange) -> Figure:
    """What to draw for the numbers, each at its nominal size."""
    high = float(circle.high)
    if not query.has_sides:
        assert query.diagonal is not None
        half = float(query.diagonal.nominal_mm) / 2
        return Figure((), (), ((-half, 0.0), (half, 0.0)), reach=max(half, high / 2))
    width, height = (float(side.nominal_mm) for side in query.sides)
    x, y = width / 2, height / 2
    box: tuple[Mm, ...] = ((-x, -y), (x, -y), (x, y), (-x, y))
    filled, low_center = _filled(query, width, height)
    length = math.hypot(width, height)
    across = length if query.diagonal is None else float(query.diagonal.nominal_mm)
    if query.diagonal is None and query.shape.kind in ("ellipse", "rounded"):
        across = high
    share = across / length / 2
    diagonal = ((-width * share, height * share), (width * share, -height * share))
    if query.shape.kind == "ellipse":
        diagonal = ((-x, 0.0), (x, 0.0)) if width >= height else ((0.0, y), (0.0, -y))
    if query.shape.kind == "triangle":
        # The largest circle belongs to a right angle over one end of the base.
        diagonal, box = ((-x, y), (x, -y)), ((-x, y), (x, y), (x, -y))
    shows_box = query.shape.kind in ("unknown", "triangle")
    return Figure(filled, box if shows_box else (), diagonal, low_center, max(length, high) / 2)


def _filled(query: SizeQuery, width: float, height: float) -> tuple[tuple[Mm, ...], Mm]:
    """The shape as far as it is known, and the middle of its smallest circle."""
    x, y = width / 2, height / 2
    kind = query.shape.kind
    if kind == "rectangle":
        return ((-x, -y), (x, -y), (x, y), (-x, y)), (0.0, 0.0)
    if kind == "ellipse":
        return _arcs(((0.0, 0.0),), x, y), (0.0, 0.0)
    if query.shape.radius is not None:
        r = min(float(query.shape.radius.nominal_mm), x, y)
        corners = ((x - r, y - r), (r - x, y - r), (r - x, r - y), (x - r, r - y))
        return _arcs(corners, r, r), (0.0, 0.0)
    if kind == "triangle":
        # With its third corner over the middle: the least circle stands over the base.
        over = max(0.0, (height * height - x * x) / (2 * height))
        return ((-x, y), (x, y), (0.0, -y)), (0.0, y - over)
    return (), (0.0, 0.0)


def _arcs(centers: tuple[Mm, ...], rx: float, ry: float) -> tuple[Mm, ...]:
    """Points of a round outline: an equal part of a turn about each center in turn."""
    count = 96 // len(centers)
    found = []
    for number, (cx, cy) in enumerate(centers):
        for step in range(count + (len(centers) > 1)):
            angle = 2 * math.pi * (number + step / count) / len(centers)
            found.append((cx + rx * math.cos(angle), cy + ry * math.sin(angle)))
    return tuple(found)


@dataclass(frozen=True)
class _Key:
    """One line of the legend: how a thing is drawn, and what it is."""

    style: str
    words: str


def legend(shown: NumbersShown) -> list[_Key]:
    """What is drawn, in words."""
    query, circle = shown.query, shown.circle
    assert query is not None
    assert circle is not None
    found = []
    if query.has_sides:
        width, height = (numbers_words.spelled(str(side)) for side in query.sides)
        shape = {"unknown": "the box", "rounded": "rounded"}.get(query.shape.kind, query.shape.kind)
        style = "box" if query.shape.kind == "unknown" else "filled"
        found.append(_Key(style, f"{shape} {width} \u00d7 {height} mm"))
    found.append(_Key("diagonal", numbers_words.diagonal_words(query, circle)))
    words = numbers_words.circle_ends(circle)
    if circle.low == circle.high:
        found.append(_Key("dashed", f"its smallest circle \u00d8 {words[1]} mm"))
    else:
        found.append(_Key("dashed", f"its circle, at most \u00d8 {words[1]} mm"))
        found.append(_Key("dotted", f"its circle, at least \u00d8 {words[0]} mm"))
    limit = numbers_words.max_image(shown.cup)
    found.append(_Key("limit", f"max image \u00d8 {limit} mm of the {shown.cup.name} cup"))
    found.append(_Key("ring", f"ring of the {shown.cup.name} cup, and its margin"))
    return found


class NumbersDrawing:
    """Draws the figure in its ring, on paper."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._rings = RingPainter()
        self._dots = DottedCircles()
        self._paper: tuple[tuple[object, ...], pygame.Surface] | None = None

    def draw(
        self, surface: pygame.Surface, shown: NumbersShown, box: pygame.Rect, layout: Layout
    ) -> None:
        """Draw paper and legend into a box of the window."""
        px = layout.px
        keys = legend(shown)
        columns = 2 if box.width >= px(560) else 1
        row, rows = px(21), math.ceil(len(keys) / columns)
        paper = pygame.Rect(box.x, box.y, box.width, box.height - row * rows - px(8))
        if paper.height < px(90):
            return
        surface.blit(self._picture(shown, paper.size, layout), paper)
        self._texts.where = "legend"
        wide = box.width // columns
        for number, key in enumerate(keys):
            place = pygame.Rect(
                box.x + wide * (number // rows),
                paper.bottom + px(8) + row * (number % rows),
                wide,
                row,
            )
            self._key(surface, key, place, layout)

    def _key(self, surface: pygame.Surface, key: _Key, place: pygame.Rect, layout: Layout) -> None:
        px = layout.px
        swatch = pygame.Rect(place.x, place.y + px(2), px(34), px(16))
        rounded(surface, swatch, px(3), theme.PAGE)
        middle, left, right = swatch.centery, swatch.x + px(4), swatch.right - px(4)
        if key.style == "box":
            corners = swatch.inflate(-px(10), -px(5))
            ends = (corners.topleft, corners.topright, corners.bottomright, corners.bottomleft)
            _dashed(surface, [(float(x), float(y)) for x, y in ends], 0.5 * layout.ui)
        elif key.style in ("dashed", "dotted"):
            color = theme.MARK if key.style == "dotted" else theme.INK_LINE
            length = px(2) if key.style == "dotted" else px(6)
            for x in range(left, right, length + px(3)):
                surface.fill(color, (x, middle - 1, min(length, right - x), max(2, px(1.6))))
        elif key.style == "filled":
            inner = swatch.inflate(-px(10), -px(5))
            surface.fill(tint(), inner)
            pygame.draw.rect(surface, theme.INK_LINE, inner, max(1, round(layout.ui)))
        elif key.style == "ring":
            surface.fill(theme.RING, (left, middle - px(4), right - left, px(8)))
        else:
            color = theme.LIMIT if key.style == "limit" else theme.INK_LINE
            surface.fill(color, (left, middle - 1, right - left, max(2, px(1.6))))
        words = pygame.Rect(swatch.right + px(8), place.y, 0, place.height)
        words.width = place.right - px(2) - words.x
        size = self._texts.size_that_fits(key.words, words.width, layout.ui, 12.5)
        self._texts.draw(surface, key.words, words, size, theme.TEXT)

    def _picture(
        self, shown: NumbersShown, size: tuple[int, int], layout: Layout
    ) -> pygame.Surface:
        key = (shown.query, shown.cup, size, layout, theme.LIMIT)
        if self._paper is None or self._paper[0] != key:
            self._paper = (key, self._draw_paper(shown, size, layout))
        return self._paper[1]

    def _draw_paper(
        self, shown: NumbersShown, size: tuple[int, int], layout: Layout
    ) -> pygame.Surface:
        query, circle, cup = shown.query, shown.circle, shown.cup
        assert query is not None
        assert circle is not None
        surface = pygame.Surface(size)
        surface.fill(theme.PAGE)
        drawn = figure(query, circle)
        reach_mm = max(drawn.reach, cup.ring_outer_diameter_mm / 2)
        per_mm = (min(size) / 2 - layout.px(12)) / reach_mm
        center = (size[0] // 2, size[1] // 2)

        def at(point: Mm) -> Mm:
            return center[0] + point[0] * per_mm, center[1] + point[1] * per_mm

        if drawn.filled:
            corners = [at(point) for point in drawn.filled]
            polygon(surface, corners, tint())
            _outline(surface, corners, layout)
        ring = RingSize(
            cup.max_image_diameter_mm / 2 * per_mm,
            cup.ring_inner_diameter_mm / 2 * per_mm,
            cup.ring_outer_diameter_mm / 2 * per_mm,
            max(1.5, 2.0 * layout.ui),
        )
        self._rings.draw(surface, center, ring)
        if drawn.box:
            _dashed(surface, [at(point) for point in drawn.box], layout.ui)
        line(surface, at(drawn.diagonal[0]), at(drawn.diagonal[1]), 1.8 * layout.ui, theme.INK_LINE)
        page = surface.get_rect()
        high_px = float(circle.high) / 2 * per_mm
        ink = theme.INK_LINE
        dashed_circle(surface, center, high_px, page, ink, ink, layout.ui)
        if circle.low != circle.high:
            low = at(drawn.low_center)
            middle = (round(low[0]), round(low[1]))
            dot = max(1.0, 1.2 * layout.ui)
            radius = float(circle.low) / 2 * per_mm
            self._dots.draw(surface, middle, radius, theme.MARK, dot_px=dot, step_px=6 * layout.ui)
        self._side_words(surface, query, center, per_mm, layout)
        return surface

    def _side_words(
        self,
        surface: pygame.Surface,
        query: SizeQuery,
        center: tuple[int, int],
        per_mm: float,
        layout: Layout,
    ) -> None:
        """Width and height on the box's lower and left side, where it is large enough."""
        if not query.has_sides:
            return
        px, texts = layout.px, self._texts
        width, height = (float(side.nominal_mm) * per_mm for side in query.sides)
        if min(width, height) < px(100):
            return
        places = ((0.0, height / 2), (-width / 2, 0.0))
        texts.where = "drawing"
        for side, (dx, dy) in zip(query.sides, places, strict=True):
            words = numbers_words.spelled(str(side))
            box = pygame.Rect(0, 0, texts.width(words, px(14), True) + px(16), px(22))
            box.center = (round(center[0] + dx), round(center[1] + dy))
            box.clamp_ip(surface.get_rect())
            rounded(surface, box, px(5), theme.CALLOUT, theme.FIELD_EDGE)
            texts.draw(surface, words, box, px(14), theme.TEXT, bold=True, align="center")


def tint() -> theme.Rgb:
    """The color of the image: a little ink on paper."""
    mixed = [
        round(TINT * paper + (1 - TINT) * ink)
        for paper, ink in zip(theme.PAGE, theme.INK_LINE, strict=True)
    ]
    return mixed[0], mixed[1], mixed[2]


def _outline(surface: pygame.Surface, corners: list[Mm], layout: Layout) -> None:
    for index, end in enumerate(corners):
        line(surface, corners[index - 1], end, 1.4 * layout.ui, theme.INK_LINE)


def _dashed(surface: pygame.Surface, corners: list[Mm], ui: float) -> None:
    """A closed line of dashes, as long as they come out evenly on each side."""
    for index, end in enumerate(corners):
        start = corners[index - 1]
        length = math.dist(start, end)
        count = max(1, round(length / (11 * ui)))
        for step in range(count):
            ends = [
                (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
                for share in (step / count, (step + 0.6) / count)
            ]
            line(surface, ends[0], ends[1], 1.6 * ui, theme.INK_LINE)
