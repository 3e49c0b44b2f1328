"""One frame of the window, drawing anew only what shows something else."""

from __future__ import annotations

import pygame

from viewer.screen.bench import BenchPainter
from viewer.screen.curve_strip import CurveStrip, strip_content
from viewer.screen.help_overlay import draw_help
from viewer.screen.layout import Layout, layout_for
from viewer.screen.notices import draw_empty, draw_loading, draw_notice
from viewer.screen.overlay import OverlayPainter
from viewer.screen.panel import Panel
from viewer.screen.text import Texts
from viewer.screen.theme import TEXT_SOFT, WINDOW
from viewer.screen.viewstate import Frame
from viewer.screen.wording import CAUTIONS, HINTS


class Painter:
    """Draws frames on one surface and remembers what stands there."""

    def __init__(self, texts: Texts | None = None) -> None:
        self.texts = texts if texts is not None else Texts()
        self.panel = Panel(self.texts)
        self._bench = BenchPainter(self.texts)
        self._overlay = OverlayPainter(self.texts)
        self._strip = CurveStrip(self.texts)
        self._shown: Frame | None = None
        self._surface: pygame.Surface | None = None

    def draw(self, surface: pygame.Surface, frame: Frame) -> list[pygame.Rect]:
        """Bring the surface up to the frame; returns the parts that changed."""
        layout = layout_for(frame.size)
        before = self._shown
        is_new = (
            before is None
            or surface is not self._surface
            or before.size != frame.size
            or before.is_help_open
            or frame.is_help_open
        )
        self._surface = surface
        self._shown = frame
        if is_new:
            surface.fill(WINDOW)
        dirty: list[pygame.Rect] = []
        panel_changed = self.panel.update(frame, layout)
        if is_new or panel_changed:
            self.panel.draw(surface)
            dirty.append(layout.panel)
        if is_new or before is None or _bench_of(before) != _bench_of(frame):
            self._draw_bench(surface, frame, layout)
            dirty.append(layout.bench)
        if is_new or before is None or strip_content(before) != strip_content(frame):
            self._strip.draw(surface, strip_content(frame), layout)
            dirty.append(layout.strip)
        if is_new:
            self._draw_status(surface, layout)
        if frame.is_help_open:
            draw_help(surface, layout, self.texts)
        return [surface.get_rect()] if is_new else dirty

    def _draw_bench(self, surface: pygame.Surface, frame: Frame, layout: Layout) -> None:
        surface.blit(self._bench.picture(frame, layout), layout.bench)
        session, camera = frame.session, frame.camera
        if session is not None and camera is not None:
            placed = frame.placed[session.cup_index]
            # Nothing to hatch where all ink is clear.
            highlight = self._bench.highlight() if placed.clearance_mm < 0 else None
            self._overlay.draw(surface, layout, session, placed, camera, highlight)
        elif frame.loading is None:
            draw_empty(surface, layout, self.texts)
        surface.set_clip(layout.view)
        if frame.notice is not None:
            draw_notice(surface, frame.notice, frame.editing, layout, self.texts)
        if frame.loading is not None:
            draw_loading(surface, frame.loading, layout, self.texts)
        surface.set_clip(None)

    def _draw_status(self, surface: pygame.Surface, layout: Layout) -> None:
        px, status = layout.px, layout.status
        size = px(12)
        surface.fill(WINDOW, status)
        free = layout.bench.right - layout.ruler_px
        gap = px(24)
        self.texts.where = "status"
        # The caution matters more: its longest wording that leaves room for one hint.
        least = self.texts.width(HINTS[-1], size) + gap
        caution = self.texts.first_that_fits(CAUTIONS, free - least, size)
        width = min(self.texts.width(caution, size), free)
        box = pygame.Rect(layout.bench.right - width, status.y, width, status.height)
        self.texts.draw(surface, caution, box, size, TEXT_SOFT, align="right")
        left = pygame.Rect(layout.ruler_px, status.y, free - width - gap, status.height)
        hint = self.texts.first_that_fits(HINTS, left.width, size)
        self.texts.draw(surface, hint, left, size, TEXT_SOFT)


def _bench_of(frame: Frame) -> tuple[object, ...]:
    """What the bench shows. Big values count by identity: they are never changed."""
    in_notice = frame.editing if frame.notice is not None else None
    return (
        id(frame.session),
        frame.camera,
        id(frame.levels),
        id(frame.sharp),
        frame.notice,
        frame.loading,
        in_notice,
    )
