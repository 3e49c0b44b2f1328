"""One frame of the window, drawing anew only what shows something else."""

from __future__ import annotations

import math

import pygame

from viewer.screen import theme
from viewer.screen.bench import BenchPainter
from viewer.screen.bench_list import draw_list
from viewer.screen.big_verdict import draw_big
from viewer.screen.curve_strip import CurveStrip, plot_box, strip_content
from viewer.screen.dialog_box import draw_dialog
from viewer.screen.focus import CURVE
from viewer.screen.help_overlay import draw_help
from viewer.screen.layout import Layout, layout_for
from viewer.screen.life_size import draw_calibrating, draw_scale
from viewer.screen.look import Look
from viewer.screen.notices import draw_empty, draw_loading, draw_notice
from viewer.screen.overlay import OverlayPainter
from viewer.screen.panel import Panel
from viewer.screen.text import Texts
from viewer.screen.tip_box import draw_focus, draw_tip
from viewer.screen.tool_layer import ToolPainter
from viewer.screen.viewstate import Frame
from viewer.screen.wording import CAUTIONS, HINTS


class Painter:
    """Draws frames on one surface and remembers what stands there."""

    def __init__(self, texts: Texts | None = None) -> None:
        self.texts = texts if texts is not None else Texts()
        self.help_overflow_px = 0
        """How far the help can be scrolled, as it was drawn last."""
        self._begin()

    def _begin(self) -> None:
        """Keep nothing of what was drawn before."""
        self.panel = Panel(self.texts)
        self._bench = BenchPainter(self.texts)
        self._overlay = OverlayPainter(self.texts)
        self._strip = CurveStrip(self.texts)
        self._tools = ToolPainter(self.texts)
        self._shown: Frame | None = None
        self._surface: pygame.Surface | None = None

    def draw(self, surface: pygame.Surface, frame: Frame) -> list[pygame.Rect]:
        """Bring the surface up to the frame; returns the parts that changed."""
        look = frame.look
        theme.use(look.theme)
        layout = layout_for(frame.size, look.ui_factor)
        if self._shown is not None and self._shown.look.theme != look.theme:
            self._begin()
        before = self._shown
        is_new = (
            before is None
            or surface is not self._surface
            or before.size != frame.size
            or before.is_help_open
            or frame.is_help_open
            or before.look != look
            or look.is_over
        )
        self._surface = surface
        self._shown = frame
        if is_new:
            surface.fill(theme.WINDOW)
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
            self._draw_status(surface, layout, look)
        if frame.is_help_open:
            scroll_px = look.help_scroll_px
            self.help_overflow_px = draw_help(surface, layout, self.texts, scroll_px)
        self._draw_over(surface, frame, layout)
        return [surface.get_rect()] if is_new else dirty

    def _draw_over(self, surface: pygame.Surface, frame: Frame, layout: Layout) -> None:
        """What lies over everything else: focus, tip, the big verdict, calibrating."""
        look = frame.look
        if frame.dialog is not None:
            return  # what is asked comes before all of this
        if look.calibrating is not None:
            draw_calibrating(surface, layout, look.calibrating, self.texts)
        elif look.is_big:
            draw_big(surface, frame, layout, self.texts)
        else:
            box = plot_box(layout) if look.focus == CURVE else self.panel.place_of(look.focus)
            if look.focus and box is not None:
                surface.set_clip(None if look.focus == CURVE else layout.panel)
                draw_focus(surface, box, layout)
                surface.set_clip(None)
            if look.tip is not None:
                draw_tip(surface, look.tip, layout, self.texts)

    def _draw_bench(self, surface: pygame.Surface, frame: Frame, layout: Layout) -> None:
        surface.blit(self._bench.picture(frame, layout), layout.bench)
        session, camera = frame.session, frame.camera
        if session is not None and camera is not None:
            placed = frame.placed[session.cup_index]
            # Nothing to hatch where all ink is clear.
            highlight = self._bench.highlight() if placed.clearance_mm < 0 else None
            self._tools.draw_pieces(surface, layout, frame)
            self._overlay.draw(surface, layout, session, placed, camera, highlight)
            self._tools.draw(surface, layout, frame)
            surface.set_clip(layout.view)
            draw_scale(surface, layout, frame.look, camera.px_per_mm, self.texts)
        elif frame.loading is None:
            draw_empty(surface, layout, self.texts)
        surface.set_clip(layout.view)
        if frame.listed is not None:
            draw_list(surface, frame.listed, layout, self.texts)
        if frame.notice is not None and frame.dialog is None:
            draw_notice(surface, frame.notice, frame.editing, layout, self.texts)
        if frame.loading is not None:
            draw_loading(surface, frame.loading, layout, self.texts)
        if frame.dialog is not None:
            draw_dialog(surface, frame.dialog, frame.editing, layout, self.texts)
        surface.set_clip(None)

    def _draw_status(self, surface: pygame.Surface, layout: Layout, look: Look) -> None:
        px, status = layout.px, layout.status
        size = px(12.5)
        surface.fill(theme.WINDOW, status)
        free = layout.bench.right - layout.ruler_px
        gap = px(24)
        self.texts.where = "status"
        # The caution matters more: its longest wording that leaves room for one hint.
        least = self.texts.width(_status_words(look, layout)[-1], size) + gap
        # What was just switched is told for a moment, and the caution then comes back.
        cautions = (*CAUTIONS, "") if look.message or layout.limited_to else CAUTIONS
        caution = self.texts.first_that_fits(cautions, free - least, size)
        width = min(self.texts.width(caution, size), free)
        box = pygame.Rect(layout.bench.right - width, status.y, width, status.height)
        self.texts.draw(surface, caution, box, size, theme.TEXT_SOFT, align="right")
        left = pygame.Rect(layout.ruler_px, status.y, free - width - gap, status.height)
        hint = self.texts.first_that_fits(_status_words(look, layout), left.width, size)
        self.texts.draw(surface, hint, left, size, theme.TEXT_SOFT)


def _status_words(look: Look, layout: Layout) -> tuple[str, ...]:
    """What was just switched, else that the letters are too large, else how to begin."""
    if layout.limited_to is not None:
        wished, shown = round(100 * look.ui_factor), math.floor(100 * layout.limited_to)
        return (
            f"letters at {wished} % need a larger window \u00b7 shown at {shown} %",
            f"window too small for {wished} %: {shown} % shown",
            f"{shown} % of {wished} %: small window",
        )
    return (look.message,) if look.message else HINTS


def _bench_of(frame: Frame) -> tuple[object, ...]:
    """What the bench shows. Big values count by identity: they are never changed."""
    is_over = frame.notice is not None or frame.dialog is not None
    in_notice = frame.editing if is_over else None
    return (
        id(frame.session),
        frame.camera,
        id(frame.levels),
        id(frame.sharp),
        frame.notice,
        frame.dialog,
        frame.listed,
        frame.tools.bench_part(),
        frame.loading,
        in_notice,
    )
