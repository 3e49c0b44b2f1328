"""Clearance against angle, under the bench. Flat for a round cup, and it says so."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen.layout import Layout
from viewer.screen.text import Texts
from viewer.screen.theme import STRIP, TEXT, TEXT_SOFT, TRACK, VERDICT_BAR, WINDOW
from viewer.screen.viewstate import Frame
from viewer.screen.wording import clearance, signed

LABELS_DEG = (-180, -135, -90, -45, 0, 45, 90, 135, 180)


@dataclass(frozen=True)
class StripContent:
    """What the strip says."""

    turn_deg: float
    best_mm: float
    verdict: str


def strip_content(frame: Frame) -> StripContent | None:
    """What to draw; nothing without artwork."""
    if frame.session is None:
        return None
    cup_fit = frame.session.cup_fit
    return StripContent(
        frame.session.placement.turn_deg, cup_fit.best.clearance_mm, str(cup_fit.verdict)
    )


def draw_strip(
    surface: pygame.Surface, content: StripContent | None, layout: Layout, texts: Texts
) -> None:
    """Draw the strip in its place in the window."""
    px, strip = layout.px, layout.strip
    surface.fill(WINDOW, strip)
    inner = pygame.Rect(
        layout.ruler_px, strip.y + px(10), layout.bench.right - layout.ruler_px, px(100)
    )
    surface.fill(STRIP, inner)
    if content is None:
        return
    texts.where = "strip"
    left, right = inner.x + px(14), inner.right - px(14)
    zero_y = inner.y + px(62)
    curve_y = zero_y - _height_px(content.best_mm, layout)
    thick = max(1, px(1.6))
    surface.fill(TRACK, (left, zero_y, right - left, max(1, round(layout.ui))))
    surface.fill(VERDICT_BAR[content.verdict], (left, curve_y, right - left, thick))
    _labels(surface, layout, texts, inner, left, right)
    x = left + round((content.turn_deg + 180) / 360 * (right - left))
    surface.fill(TEXT, (x, inner.y + px(26), thick, px(50)))
    _sentences(surface, content, layout, texts, inner, x, zero_y)


def _height_px(best_mm: float, layout: Layout) -> int:
    """5 mm and more are as high as there is room; little clearances stay visible."""
    share = max(-0.55, min(1.0, best_mm / 5.0))
    height = round(share * layout.px(24))
    least = layout.px(6)
    if abs(height) < least and best_mm != 0:
        height = least if best_mm > 0 else -least
    return height


def _labels(
    surface: pygame.Surface,
    layout: Layout,
    texts: Texts,
    inner: pygame.Rect,
    left: int,
    right: int,
) -> None:
    px = layout.px
    for angle in LABELS_DEG:
        text = f"{angle}\u00b0".replace("-", "\u2212")
        width = texts.width(text, px(11))
        x = left + round((angle + 180) / 360 * (right - left)) - width // 2
        box = pygame.Rect(x, inner.bottom - px(19), width, px(16))
        box.clamp_ip(inner.inflate(-px(8), 0))
        texts.draw(surface, text, box, px(11), TEXT_SOFT)


def _sentences(
    surface: pygame.Surface,
    content: StripContent,
    layout: Layout,
    texts: Texts,
    inner: pygame.Rect,
    marker_x: int,
    zero_y: int,
) -> None:
    px = layout.px
    size = px(12)
    title_box = pygame.Rect(inner.x + px(14), inner.y + px(4), px(170), px(18))
    texts.draw(surface, "Clearance against angle", title_box, px(12.5), TEXT_SOFT)
    best = clearance(content.best_mm)
    wordings = (
        f"a round cup alone: turning changes nothing \u00b7 best {best} mm at every angle",
        f"round cup: turning changes nothing \u00b7 best {best} mm",
    )
    free = inner.right - px(14) - title_box.right - px(10)
    text = texts.first_that_fits(wordings, free, size)
    box = pygame.Rect(title_box.right + px(10), title_box.y, free, px(18))
    texts.draw(surface, text, box, size, TEXT, align="right")
    angle = f"angle {signed(content.turn_deg, 1)}\u00b0"
    width = texts.width(angle, size)
    # On the side of the zero line where the curve is not.
    beside_y = zero_y + px(1) if content.best_mm >= 0 else zero_y - px(18)
    angle_box = pygame.Rect(marker_x + px(7), beside_y, width, px(16))
    if angle_box.right > inner.right - px(60):
        angle_box.right = marker_x - px(6)
    texts.draw(surface, angle, angle_box, size, TEXT)
    zero_box = pygame.Rect(inner.right - px(54), beside_y, px(40), px(16))
    texts.draw(surface, "0 mm", zero_box, px(11), TEXT_SOFT, align="right")
