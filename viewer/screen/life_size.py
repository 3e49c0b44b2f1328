"""Life-size: the outline of a card fitted to a card, and what the screen says of it.

No system tells the true size of a screen reliably, so a person lays a card of ISO/IEC
7810 size ID-1 on the glass and fits an outline to it; two sides have to agree.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import pygame

from viewer.screen import theme
from viewer.screen.commands import CTRL, SHIFT, mods_of
from viewer.screen.layout import Layout
from viewer.screen.look import CARD_CORNER_MM, CARD_MM, CardOutline, Look
from viewer.screen.shapes import rounded
from viewer.screen.text import Texts

Pos = tuple[int, int]
USUAL_PX_PER_MM = 96 / 25.4
LEAST_WIDTH_PX = 40.0
_STEPS_PX = {0: 1.0, SHIFT: 10.0, CTRL: 0.25}
_KEYS = {pygame.K_RIGHT: 1, pygame.K_UP: 1, pygame.K_LEFT: -1, pygame.K_DOWN: -1}

TITLE = "Calibrate this screen"
STEPS = (
    "Lay a bank card, or any card of 85.60 \u00d7 53.98 mm (ISO/IEC 7810 ID-1), flat on the"
    " screen.",
    "Fit the outline to it: arrow keys 1 px, Shift 10 px, Ctrl a quarter; the wheel; or drag an"
    " edge. Its middle moves it.",
    "All four sides must fit. If width and height cannot both fit, choose the screen\u2019s own"
    " resolution in the system first.",
)
CLOSING = "Enter keeps it for this monitor \u00b7 Esc leaves"
HOLD = (
    "Life-size. Hold a printed part or the printed template against the glass. Never a cup:"
    " its ring is sharp and inky, and it may hold a strong magnet.",
    "Life-size: hold a part or the template to the glass. Never a cup: sharp inky ring, magnet.",
    "Life-size. Never hold a cup to the glass.",
)
NOT_CALIBRATED = "screen not calibrated \u00b7 Y"


@dataclass(frozen=True)
class Hold:
    """What the mouse has taken hold of: an edge of the outline, or its middle."""

    outline: CardOutline
    start: Pos
    edge: str


def first_outline(layout: Layout, px_per_mm: float | None) -> CardOutline:
    """Where the outline begins: below the words, as large as is known or usual."""
    center = (layout.size[0] / 2, layout.size[1] * 0.55)
    width = (px_per_mm or USUAL_PX_PER_MM) * CARD_MM[0]
    return _kept(CardOutline(center, float(round(width))), layout.size)


def keyed(outline: CardOutline, key: int, mod: int, size: tuple[int, int]) -> CardOutline:
    """The outline after a key: right and up make it larger."""
    step = _STEPS_PX.get(mods_of(mod))
    if key not in _KEYS or step is None:
        return outline
    return grown(outline, _KEYS[key] * step, size)


def grown(outline: CardOutline, by_px: float, size: tuple[int, int]) -> CardOutline:
    """Wider by so many px, about its middle."""
    return _kept(replace(outline, width_px=outline.width_px + by_px), size)


def held(outline: CardOutline, pos: Pos, layout: Layout) -> Hold:
    """What a press takes hold of."""
    box, reach = outline_box(outline), layout.px(14)
    dx, dy = pos[0] - outline.center_px[0], pos[1] - outline.center_px[1]
    if abs(abs(dx) - box.width / 2) <= reach and abs(dy) <= box.height / 2 + reach:
        return Hold(outline, pos, "right" if dx > 0 else "left")
    if abs(abs(dy) - box.height / 2) <= reach and abs(dx) <= box.width / 2 + reach:
        return Hold(outline, pos, "bottom" if dy > 0 else "top")
    return Hold(outline, pos, "middle")


def dragged(hold: Hold, pos: Pos, size: tuple[int, int]) -> CardOutline:
    """The outline while the mouse is at ``pos``; the edge across stays where it was."""
    outline = hold.outline
    dx, dy = pos[0] - hold.start[0], pos[1] - hold.start[1]
    x, y = outline.center_px
    if hold.edge == "middle":
        return _kept(replace(outline, center_px=(x + dx, y + dy)), size)
    if hold.edge in ("left", "right"):
        by = dx if hold.edge == "right" else -dx
        return _kept(CardOutline((x + dx / 2, y), outline.width_px + by), size)
    taller = dy if hold.edge == "bottom" else -dy
    wider = taller * CARD_MM[0] / CARD_MM[1]
    return _kept(CardOutline((x, y + dy / 2), outline.width_px + wider), size)


def _kept(outline: CardOutline, size: tuple[int, int]) -> CardOutline:
    """Not smaller than can be seen, and not out of the window."""
    most = min(size[0] - 16.0, (size[1] - 16.0) * CARD_MM[0] / CARD_MM[1])
    width = max(LEAST_WIDTH_PX, min(most, outline.width_px))
    x, y = (max(0.0, min(float(s), v)) for s, v in zip(size, outline.center_px, strict=True))
    return CardOutline((x, y), width)


def outline_box(outline: CardOutline) -> pygame.Rect:
    """The outline in whole px of the window: its inner edge is the card's edge."""
    width, height = round(outline.width_px), round(outline.height_px)
    x, y = outline.center_px
    return pygame.Rect(round(x - width / 2), round(y - height / 2), width, height)


def draw_calibrating(
    surface: pygame.Surface, layout: Layout, outline: CardOutline, texts: Texts
) -> None:
    """The outline on a plain ground, and what to do."""
    px = layout.px
    surface.fill(theme.WINDOW)
    texts.where = "calibrating"
    wide = min(layout.size[0] - 2 * px(40), px(760))
    left = (layout.size[0] - wide) // 2
    y = px(20)
    line = pygame.Rect(left, y, wide, px(30))
    texts.draw(surface, TITLE, line, px(20), theme.TEXT, bold=True)
    y += px(36)
    for number, step in enumerate(STEPS, start=1):
        size = px(12.5)
        digit = pygame.Rect(left, y, px(20), px(20))
        texts.draw(surface, str(number), digit, size, theme.TEXT_SOFT, bold=True)
        for text in texts.wrap(step, wide - px(24), size):
            line = pygame.Rect(left + px(24), y, wide - px(24), px(20))
            texts.draw(surface, text, line, size, theme.TEXT)
            y += px(20)
        y += px(3)
    box = outline_box(outline)
    wide_px = max(2, round(2 * layout.ui))
    frame = box.inflate(2 * wide_px, 2 * wide_px)
    corner = max(2, round(CARD_CORNER_MM * outline.px_per_mm))
    rounded(surface, frame, corner + wide_px, theme.FOCUS)
    rounded(surface, box, corner, theme.CARD)
    # Beside the outline, as the card lies on all that is inside of it.
    told = f"{outline.px_per_mm:.3f} px per mm \u00b7 {25.4 * outline.px_per_mm:.1f} per inch"
    line = pygame.Rect(left, frame.bottom + px(12), wide, px(22))
    if line.bottom + px(34) > layout.size[1]:
        line.bottom = max(y + px(22), frame.top - px(40))
    texts.draw(surface, told, line, px(14), theme.TEXT, bold=True, align="center")
    line = line.move(0, px(24))
    texts.draw(surface, CLOSING, line, px(12.5), theme.TEXT_SOFT, align="center")


def scale_words(look: Look, px_per_mm: float) -> str:
    """How large the view is against the real thing."""
    if look.screen_px_per_mm is None:
        return NOT_CALIBRATED
    return f"{px_per_mm / look.screen_px_per_mm:.2f} \u00d7 life-size \u00b7 Y"


def draw_scale(
    surface: pygame.Surface, layout: Layout, look: Look, px_per_mm: float, texts: Texts
) -> None:
    """At the view's lower left: life-size and its caution, or how large the view is."""
    px, view = layout.px, layout.view
    size = px(11)
    texts.where = "scale"
    if not look.is_life_size:
        words = scale_words(look, px_per_mm)
        box = pygame.Rect(0, 0, texts.width(words, size) + 2 * px(9), px(20))
        box.bottomleft = (view.x + px(10), view.bottom - px(10))
        rounded(surface, box, box.height // 2, theme.PILL)
        texts.draw(surface, words, box.inflate(-2 * px(7), 0), size, theme.TEXT, align="center")
        return
    size = px(14)
    most = view.width - 2 * px(10)
    words = texts.first_that_fits(HOLD, most - 2 * px(16), size, True)
    box = pygame.Rect(0, 0, min(most, texts.width(words, size, True) + 2 * px(16)), px(36))
    box.midbottom = (view.centerx, view.bottom - px(10))
    edge = max(1, round(1.5 * layout.ui))
    rounded(surface, box, px(6), theme.CALLOUT, theme.VERDICT_TEXT["in-margin"], edge)
    inner = box.inflate(-2 * px(14), 0)
    texts.draw(surface, words, inner, size, theme.TEXT, bold=True, align="center")
