"""One frame of the window, drawing anew only what shows something else."""

from __future__ import annotations

import math
from dataclasses import replace

import pygame

from viewer.screen import theme
from viewer.screen.bench import BenchPainter
from viewer.screen.bench_list import draw_list
from viewer.screen.big_verdict import draw_big
from viewer.screen.construction_layer import ConstructionPainter
from viewer.screen.curve_strip import CurveStrip, StripContent, plot_box, strip_content
from viewer.screen.dialog_box import draw_dialog
from viewer.screen.focus import CURVE
from viewer.screen.help_overlay import draw_help
from viewer.screen.layout import Layout
from viewer.screen.lesson_layout import layout_of
from viewer.screen.lesson_shown import bench_part
from viewer.screen.lesson_words import hints
from viewer.screen.life_size import draw_calibrating, draw_scale
from viewer.screen.look import Look
from viewer.screen.notices import draw_empty, draw_loading, draw_notice
from viewer.screen.numbers_bench import NumbersBench
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.overlay import OverlayPainter
from viewer.screen.panel import Panel
from viewer.screen.signing_view import SigningPainter
from viewer.screen.text import Texts
from viewer.screen.tip_box import draw_focus, draw_tip
from viewer.screen.tool_layer import ToolPainter
from viewer.screen.viewstate import Frame
from viewer.screen.wording import CAUTIONS, HINTS, numbers_hints


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
        self._numbers = NumbersBench(self.texts)
        self._tools = ToolPainter(self.texts)
        self._construction = ConstructionPainter(self.texts)
        self._signing = SigningPainter(self.texts)
        self._shown: Frame | None = None
        self._surface: pygame.Surface | None = None
        self._layout: Layout | None = None

    def forget(self) -> None:
        """Draw everything anew the next time: something else has drawn on the surface."""
        self._shown = self._surface = None

    def draw(self, surface: pygame.Surface, frame: Frame) -> list[pygame.Rect]:
        """Bring the surface up to the frame; returns the parts that changed."""
        look = frame.look
        theme.use(look.theme)
        layout = layout_of(frame.size, look.ui_factor, frame.lesson)
        if self._shown is not None and self._shown.look.theme != look.theme:
            self._begin()
        before = self._shown
        is_new = (
            before is None
            or surface is not self._surface
            or layout != self._layout
            or hints(before.lesson) != hints(frame.lesson)
            or before.is_help_open
            or frame.is_help_open
            or before.look != look
            or look.is_over
            or (before.numbers is None) != (frame.numbers is None)
            or before.signing is not None
        )
        self._surface = surface
        self._shown, self._layout = frame, layout
        if frame.signing is not None and frame.dialog is None:
            self._signing.draw(surface, frame, layout)
            return [surface.get_rect()]
        if is_new:
            surface.fill(theme.WINDOW)
        dirty: list[pygame.Rect] = []
        panel_changed = self.panel.update(frame, layout)
        if is_new or panel_changed:
            self.panel.draw(surface)
            dirty.append(layout.panel)
        is_page = frame.lesson is not None and frame.lesson.page is not None
        is_bench_new = is_new or before is None or _bench_of(before) != _bench_of(frame)
        if is_bench_new and not is_page:  # the list of lessons stands alone in the window
            self._draw_bench(surface, frame, layout)
            dirty.append(layout.bench)
        numbers = _numbers_of(frame)
        is_strip_new = is_new or before is None or _strip_of(before) != _strip_of(frame)
        if is_strip_new and layout.strip.y < layout.size[1]:
            if numbers is not None:
                self._numbers.draw_strip(surface, numbers, layout)
            else:
                self._strip.draw(surface, _curve_of(frame), layout)
            dirty.append(layout.strip)
        if is_new:
            self._draw_status(surface, layout, frame)
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
        session, camera, numbers = frame.session, frame.camera, _numbers_of(frame)
        if numbers is None:
            surface.blit(self._bench.picture(frame, layout), layout.bench)
        if numbers is not None:
            self._numbers.draw(surface, numbers, layout)
        elif session is not None and camera is not None:
            placed = frame.placed[session.cup_index]
            # Nothing to hatch where all ink is clear.
            highlight = self._bench.highlight() if placed.clearance_mm < 0 else None
            self._tools.draw_pieces(surface, layout, frame)
            self._overlay.lesson = frame.lesson
            self._overlay.draw(surface, layout, session, placed, camera, highlight)
            self._tools.draw(surface, layout, frame)
            if frame.lesson is not None:
                keep_off = [self._overlay.knob_box(session, camera, layout)]
                marks = frame.lesson.marks
                self._construction.draw(surface, layout, camera, marks, keep_off)
            surface.set_clip(layout.view)
            draw_scale(surface, layout, frame.look, camera.px_per_mm, self.texts)
        elif frame.loading is None:
            draw_empty(surface, layout, self.texts)
        surface.set_clip(layout.view)
        if frame.listed is not None and numbers is None:
            draw_list(surface, frame.listed, layout, self.texts)
        if frame.notice is not None and frame.dialog is None:
            draw_notice(surface, frame.notice, frame.editing, layout, self.texts)
        if frame.loading is not None:
            draw_loading(surface, frame.loading, layout, self.texts)
        if frame.dialog is not None:
            draw_dialog(surface, frame.dialog, frame.editing, layout, self.texts)
        surface.set_clip(None)

    def _draw_status(self, surface: pygame.Surface, layout: Layout, frame: Frame) -> None:
        px, status, look = layout.px, layout.status, frame.look
        begin = HINTS if frame.numbers is None else numbers_hints(frame.session is not None)
        words = _status_words(look, layout, hints(frame.lesson) or begin)
        size = px(12.5)
        surface.fill(theme.WINDOW, status)
        free = layout.bench.right - layout.ruler_px
        gap = px(24)
        self.texts.where = "status"
        # The caution matters more: its longest wording that leaves room for one hint.
        least = self.texts.width(words[-1], size) + gap
        # What was just switched is told for a moment, and the caution then comes back.
        cautions = (*CAUTIONS, "") if look.message or layout.limited_to else CAUTIONS
        caution = self.texts.first_that_fits(cautions, free - least, size)
        width = min(self.texts.width(caution, size), free)
        box = pygame.Rect(layout.bench.right - width, status.y, width, status.height)
        self.texts.draw(surface, caution, box, size, theme.TEXT_SOFT, align="right")
        rest = max(0, free - width - gap)
        left = pygame.Rect(layout.ruler_px, status.y, rest, status.height)
        hint = self.texts.first_that_fits((*words, ""), left.width, size)
        self.texts.draw(surface, hint, left, size, theme.TEXT_SOFT)


def _numbers_of(frame: Frame) -> NumbersShown | None:
    """The numbers, where they have the bench and the strip."""
    numbers = frame.numbers
    return numbers if numbers is not None and numbers.covers_bench else None


def _strip_of(frame: Frame) -> object:
    """What the strip under the bench shows."""
    return _numbers_of(frame) or _curve_of(frame)


def _curve_of(frame: Frame) -> StripContent | None:
    """What the curve says; in a lesson nothing of the best angle before the reveal."""
    content = strip_content(frame)
    if content is None or frame.lesson is None or not frame.lesson.is_answer_hidden:
        return content
    return replace(content, best=None, fitting_deg=())


def _status_words(look: Look, layout: Layout, begin: tuple[str, ...]) -> tuple[str, ...]:
    """What was just switched, else that the letters are too large, else how to begin."""
    if layout.limited_to is not None:
        wished, shown = round(100 * look.ui_factor), math.floor(100 * layout.limited_to)
        return (
            f"letters at {wished} % need a larger window \u00b7 shown at {shown} %",
            f"window too small for {wished} %: {shown} % shown",
            f"{shown} % of {wished} %: small window",
        )
    return (look.message,) if look.message else begin


def _bench_of(frame: Frame) -> tuple[object, ...]:
    """What the bench shows. Big values count by identity: they are never changed."""
    is_over = frame.notice is not None or frame.dialog is not None
    in_notice = frame.editing if is_over else None
    return (
        _numbers_of(frame),
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
        bench_part(frame.lesson),
    )
