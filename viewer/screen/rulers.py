"""Millimeter rulers on two sides of the view, counted from the datum."""

from __future__ import annotations

import math

import pygame

from viewer.screen import theme
from viewer.screen.camera import Camera
from viewer.screen.layout import Layout
from viewer.screen.text import Texts
from viewer.screen.theme import MINUS


def ruler_steps_mm(px_per_mm: float, label_px: float) -> tuple[float, float]:
    """(distance of labels, distance of ticks) in mm; labels at least ``label_px`` apart.

    Both are 1, 2 or 5 times a power of ten, so that people can count along.
    """
    wanted = label_px / px_per_mm
    power = 10.0 ** math.floor(math.log10(wanted))
    for factor, parts in ((1.0, 10), (2.0, 10), (5.0, 5), (10.0, 10)):
        if factor * power >= wanted * (1 - 1e-9):
            return factor * power, factor * power / parts
    raise AssertionError("a power of ten is always reached")


def label_text(value_mm: float, step_mm: float) -> str:
    """As many decimals as the step needs."""
    decimals = max(0, -math.floor(math.log10(step_mm) + 1e-9))
    text = f"{value_mm:.{decimals}f}"
    return text.replace("-", MINUS) if float(text) != 0 else f"{0:.{decimals}f}"


def draw_rulers(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    camera: Camera,
    datum_mm: tuple[float, float],
) -> None:
    """Draw both rulers on the bench (window px). Right and back count positive."""
    bench, view, thick = layout.bench, layout.view, layout.ruler_px
    texts.where = "rulers"
    surface.fill(theme.RULER, (bench.x, bench.y, bench.width, thick))
    surface.fill(theme.RULER, (bench.x, bench.y, thick, bench.height))
    step, tick = ruler_steps_mm(camera.px_per_mm, 58 * layout.ui)
    size = layout.px(11)
    per_label = round(step / tick)
    for axis, sign in ((0, 1.0), (1, -1.0)):
        start = (camera.left_mm, camera.top_mm)[axis] - datum_mm[axis]
        length = (view.width, view.height)[axis]
        first = math.ceil(start / tick - 1e-9)
        last = math.floor((start + length / camera.px_per_mm) / tick + 1e-9)
        for number in range(first, last + 1):
            place = math.floor((number * tick - start) * camera.px_per_mm + 0.5)
            if 0 <= place < length:
                _tick(surface, layout, axis, place, number, per_label)
                if number % per_label == 0:
                    text = label_text(sign * number * tick, step)
                    _label(surface, texts, layout, axis, place, text, size)
    surface.fill(theme.RULER, (bench.x, bench.y, thick, thick))
    texts.draw(
        surface,
        "mm",
        pygame.Rect(0, 0, thick, thick),
        layout.px(9.5),
        theme.TEXT_SOFT,
        align="center",
    )


def _tick(
    surface: pygame.Surface, layout: Layout, axis: int, place: int, number: int, per_label: int
) -> None:
    view, thick = layout.view, layout.ruler_px
    long, middle, short = layout.px(8), layout.px(6), layout.px(4)
    half = per_label % 2 == 0 and number % (per_label // 2) == 0
    length = long if number % per_label == 0 else middle if half else short
    width = max(1, round(layout.ui * 0.8))
    if axis == 0:
        surface.fill(theme.RULER_TICK, (view.x + place, thick - length, width, length))
    else:
        surface.fill(theme.RULER_TICK, (thick - length, view.y + place, length, width))


def _label(
    surface: pygame.Surface,
    texts: Texts,
    layout: Layout,
    axis: int,
    place: int,
    text: str,
    size: int,
) -> None:
    view, thick = layout.view, layout.ruler_px
    free = thick - layout.px(7)
    width = texts.width(text, size)
    if axis == 0:
        box = pygame.Rect(view.x + place - width // 2, 0, width, free)
        if box.left >= thick and box.right <= layout.bench.right:
            texts.draw(surface, text, box, size, theme.TEXT_SOFT, align="center")
        return
    image = pygame.transform.rotate(texts.render(text, size, False, theme.TEXT_SOFT), 90)
    y = view.y + place - image.get_height() // 2
    if y >= thick and y + image.get_height() <= layout.bench.bottom:
        surface.blit(image, ((free - image.get_width()) // 2, y))
