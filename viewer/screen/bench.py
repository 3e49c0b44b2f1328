"""The bench at rest: page, grid, artwork, smallest circle and rulers in one picture."""

from __future__ import annotations

import math

import pygame

from viewer.screen import theme
from viewer.screen.artwork_layer import blit_picture, sharp_shift_px, view_codes
from viewer.screen.camera import Camera
from viewer.screen.dashes import dashed_circle
from viewer.screen.highlight import Highlight
from viewer.screen.layout import Layout
from viewer.screen.piece_masks import masks_for
from viewer.screen.rulers import draw_rulers
from viewer.screen.text import Texts
from viewer.screen.viewstate import Frame

HATCH_PERIOD_PX = 6


class BenchPainter:
    """Keeps the resting picture until camera, artwork or window change."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._key: tuple[object, ...] | None = None
        self._picture: pygame.Surface | None = None
        self._highlight: Highlight | None = None
        self._shown: tuple[Frame, Layout] | None = None

    def highlight(self) -> Highlight | None:
        """The hatch of the view drawn last; made only when it is asked for."""
        if self._highlight is None and self._shown is not None:
            frame, layout = self._shown
            session, camera, levels = frame.session, frame.camera, frame.levels
            if session is None or camera is None or levels is None:
                return None
            size = layout.view.size
            codes = view_codes(size, levels, camera, session.scale, frame.sharp)
            out = frame.tools.left_out
            if out:
                # Ink that does not count is not hatched as if it did.
                codes = masks_for(levels).cleared(codes, camera, session.scale, out)
            period = max(4, layout.px(HATCH_PERIOD_PX))
            self._highlight = Highlight(codes, camera.snapped(0.0, 0.0), period)
        return self._highlight

    def picture(self, frame: Frame, layout: Layout) -> pygame.Surface:
        """The bench's picture, of the bench's size."""
        key = self._key_of(frame, layout)
        if self._picture is None or key != self._key:
            self._draw(frame, layout)
            self._key = key
            # The key counts big values by identity, so these must stay alive.
            self._shown = (frame, layout)
            self._highlight = None
        assert self._picture is not None
        return self._picture

    def _key_of(self, frame: Frame, layout: Layout) -> tuple[object, ...]:
        session = frame.session
        if session is None:
            return (layout, None)
        sharp, is_bare = frame.sharp, frame.lesson is not None
        if frame.camera is None or sharp_shift_px(sharp, frame.camera, session.scale) is None:
            sharp = None
        return (
            layout,
            frame.camera,
            id(session.artwork),
            session.scale,
            session.datum_mm,
            id(frame.levels),
            id(sharp),
            tuple(piece.center_mm for piece in frame.tools.left_out),
            is_bare,
        )

    def _draw(self, frame: Frame, layout: Layout) -> None:
        bench = layout.bench
        if self._picture is None or self._picture.get_size() != bench.size:
            self._picture = pygame.Surface(bench.size)
        surface = self._picture
        session, camera = frame.session, frame.camera
        if session is None or camera is None:
            surface.fill(theme.BENCH)
            surface.fill(theme.RULER, (0, 0, bench.width, layout.ruler_px))
            surface.fill(theme.RULER, (0, 0, layout.ruler_px, bench.height))
            return
        view = surface.subsurface(layout.view)
        view.fill(theme.BENCH)
        _draw_page(view, camera, session.artwork.page_mm, session.datum_mm, layout)
        if frame.levels is not None:
            blit_picture(view, frame.levels, camera, session.scale, frame.sharp)
        if frame.lesson is None:  # there it would be the answer
            circle = session.fit.smallest_circle
            center = camera.snapped(*circle.center)
            radius = circle.radius * camera.px_per_mm
            page = page_px(camera, session.artwork.page_mm)
            on_bench = theme.DASH_ON_BENCH
            dashed_circle(view, center, radius, page, theme.INK_LINE, on_bench, layout.ui)
        draw_rulers(surface, self._texts, layout, camera, session.datum_mm)


def page_px(camera: Camera, page_mm: tuple[float, float]) -> pygame.Rect:
    """Where the page is in the view."""
    left, top = camera.snapped(0.0, 0.0)
    right, bottom = camera.snapped(*page_mm)
    return pygame.Rect(left, top, max(1, right - left), max(1, bottom - top))


def _draw_page(
    view: pygame.Surface,
    camera: Camera,
    page_mm: tuple[float, float],
    datum_mm: tuple[float, float],
    layout: Layout,
) -> None:
    page = page_px(camera, page_mm)
    seen = page.clip(view.get_rect().inflate(40, 40))
    shadow = seen.move(layout.px(4), layout.px(4))
    view.fill(theme.PAGE_SHADOW, shadow)
    view.fill(theme.PAGE, seen)
    step = _grid_step_mm(camera.px_per_mm, layout.ui)
    size = (view.get_width(), view.get_height())
    start = (camera.left_mm, camera.top_mm)
    for axis in (0, 1):
        first = math.ceil((start[axis] - datum_mm[axis]) / step)
        last = math.floor((start[axis] + size[axis] / camera.px_per_mm - datum_mm[axis]) / step)
        for number in range(first, last + 1):
            at = datum_mm[axis] + number * step
            place = math.floor((at - start[axis]) * camera.px_per_mm + 0.5)
            if axis == 0 and seen.left < place < seen.right:
                view.fill(theme.GRID, (place, seen.y, 1, seen.height))
            elif axis == 1 and seen.top < place < seen.bottom:
                view.fill(theme.GRID, (seen.x, place, seen.width, 1))


def _grid_step_mm(px_per_mm: float, ui: float) -> float:
    """10 mm, or 1 or 100 mm where that is clearer."""
    for step in (1.0, 10.0, 100.0):
        if step * px_per_mm >= 28 * ui:
            return step
    return 1000.0
