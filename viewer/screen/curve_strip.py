"""Clearance against angle, under the bench: what each degree costs, live."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import pygame

from viewer.fit import AngleCurve, Verdict, wrapped_deg
from viewer.press.limits import Angles
from viewer.screen import theme
from viewer.screen.curve_plot import Look, Scale, curve_at, plot_picture, scale_for
from viewer.screen.layout import Layout
from viewer.screen.shapes import polygon, rounded
from viewer.screen.text import Texts
from viewer.screen.theme import MINUS
from viewer.screen.viewstate import Frame
from viewer.screen.wording import clearance, signed

TITLES = (
    "Best clearance in mm at each angle of the artwork",
    "Best clearance in mm at each angle",
    "Clearance by angle",
)
LABELS_DEG = (-180, -135, -90, -45, 0, 45, 90, 135, 180)
SEAM_DEG = 0.5
"""The curve's angles are so far apart; its first one is that far past -180."""
CRUMB_DEG = 0.1
Pos = tuple[int, int]


@dataclass(frozen=True)
class StripContent:
    """What the strip shows. ``best``: (angle, clearance), once it is known.

    ``fitting_deg`` is empty until the fit is known, and where anything forbids "fits".
    """

    turn_deg: float
    now_mm: float
    curve_id: int
    curve: AngleCurve = field(compare=False, repr=False)
    angles: Angles
    verdict: str
    is_unsure: bool
    fitting_deg: tuple[tuple[float, float], ...]
    best: tuple[float, float] | None
    is_cup_alone: bool
    is_old: bool
    is_working: bool
    hover_deg: float | None


def strip_content(frame: Frame) -> StripContent | None:
    """What to draw; nothing without artwork."""
    session = frame.session
    if session is None:
        return None
    is_alone = session.limits.is_cup_alone
    known = session.is_fit_current
    fits = session.cup_fit.verdict is Verdict.FITS
    best = session.cup_fit.best.settable
    curve = _flat(best.clearance_mm) if is_alone or frame.curve is None else frame.curve
    return StripContent(
        turn_deg=session.placement.turn_deg,
        now_mm=frame.placed[session.cup_index].clearance_mm,
        # A flat curve is made anew each time; its height tells all there is to it.
        curve_id=hash(best.clearance_mm) if is_alone or frame.curve is None else id(frame.curve),
        curve=curve,
        angles=session.limits.angles,
        verdict=str(session.cup_fit.verdict),
        is_unsure=bool(session.cup_fit.causes),
        fitting_deg=curve.fitting_deg if known and fits else (),
        best=(best.turn_deg, best.clearance_mm) if known else None,
        is_cup_alone=is_alone,
        is_old=not is_alone and frame.is_curve_old,
        is_working=frame.is_working,
        hover_deg=frame.hover_deg,
    )


def _flat(value_mm: float) -> AngleCurve:
    turns, values = np.array([-90.0, 90.0]), np.full(2, value_mm)
    return AngleCurve(turns, values, 0.0, (), True)


def strip_box(layout: Layout) -> pygame.Rect:
    """The dark ground of the strip in the window."""
    strip, left = layout.strip, layout.ruler_px
    top = strip.y + layout.px(10)
    return pygame.Rect(left, top, layout.bench.right - left, strip.bottom - top - layout.px(2))


def plot_box(layout: Layout) -> pygame.Rect:
    """Where the curve is in the window."""
    px, box = layout.px, strip_box(layout)
    left, right = box.x + px(46), box.right - px(16)
    top, bottom = box.y + px(25), box.bottom - px(20)
    return pygame.Rect(left, top, max(1, right - left), max(1, bottom - top))


def is_in_plot(layout: Layout, pos: Pos) -> bool:
    """Whether a press there takes hold of the curve: its ends are easy to reach."""
    reach = layout.px(8)
    return plot_box(layout).inflate(2 * reach, reach).collidepoint(pos)


def turn_at(layout: Layout, x_px: int) -> float:
    """The angle at a place of the window, kept in [-180, 180]."""
    plot = plot_box(layout)
    share = (x_px + 0.5 - plot.x) / plot.width
    return 360.0 * max(0.0, min(1.0, share)) - 180.0


def x_of(layout: Layout, turn_deg: float) -> int:
    """The column of an angle in the window."""
    plot = plot_box(layout)
    return plot.x + min(plot.width - 1, int((turn_deg + 180.0) / 360.0 * plot.width))


class CurveStrip:
    """Draws the strip; keeps the picture of the curve until something of it changes."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._key: tuple[object, ...] | None = None
        self._kept: tuple[AngleCurve, pygame.Surface, Scale] | None = None

    def draw(self, surface: pygame.Surface, content: StripContent | None, layout: Layout) -> None:
        """Draw the strip in its place in the window."""
        surface.fill(theme.WINDOW, layout.strip)
        box = strip_box(layout)
        surface.fill(theme.STRIP, box)
        if content is None:
            return
        picture, scale = self._picture(content, layout)
        plot = plot_box(layout)
        surface.blit(picture, plot)
        self._texts.where = "strip"
        self._angle_labels(surface, layout, box)
        self._value_labels(surface, layout, scale, plot)
        title_right = self._title(surface, layout, box)
        self._sentence(surface, content, layout, box, title_right)
        self._marks(surface, content, layout, scale)

    def _picture(self, content: StripContent, layout: Layout) -> tuple[pygame.Surface, Scale]:
        is_flat = content.is_cup_alone or content.curve.is_flat
        key = (
            content.curve_id,
            content.angles,
            content.verdict,
            content.best is None,
            content.fitting_deg,
            is_flat,
            content.is_old,
            layout,
        )
        if self._kept is None or key != self._key:
            size = plot_box(layout).size
            values = content.curve.clearances_mm
            low, high = float(values.min()), float(values.max())
            if is_flat:
                low, high = min(low, 0.0), max(high, 0.0)
            scale = scale_for(low, high, size[1], layout.px(21))
            angles = Angles() if content.is_cup_alone else content.angles
            color = theme.VERDICT_BAR[content.verdict] if content.best is not None else theme.CURVE
            stretches = content.fitting_deg
            look = Look(size, scale, angles, color, is_flat, content.is_old, layout.ui, stretches)
            # The curve is kept along: its id must not be given to another one.
            self._kept = (content.curve, plot_picture(content.curve, look), scale)
            self._key = key
        return self._kept[1], self._kept[2]

    def _angle_labels(self, surface: pygame.Surface, layout: Layout, box: pygame.Rect) -> None:
        px = layout.px
        for angle in LABELS_DEG:
            text = f"{angle}\u00b0".replace("-", MINUS)
            width = self._texts.width(text, px(11))
            place = pygame.Rect(0, box.bottom - px(18), width, px(16))
            place.centerx = x_of(layout, angle)
            place.clamp_ip(box.inflate(-px(4), 0))
            self._texts.draw(surface, text, place, px(11), theme.TEXT_SOFT)

    def _value_labels(
        self, surface: pygame.Surface, layout: Layout, scale: Scale, plot: pygame.Rect
    ) -> None:
        px = layout.px
        for tick in scale.ticks_mm:
            text = signed(tick, scale.decimals)
            place = pygame.Rect(plot.x - px(46), 0, px(41), px(14))
            place.centery = plot.y + round(scale.y_px(tick, plot.height))
            size = self._texts.size_that_fits(text, place.width, layout.ui, 11)
            self._texts.draw(surface, text, place, size, theme.TEXT_SOFT, align="right")

    def _title(self, surface: pygame.Surface, layout: Layout, box: pygame.Rect) -> int:
        px = layout.px
        # The sentence says what is so here: some room is left for it.
        room = box.width - px(28) - px(190)
        title = self._texts.first_that_fits(TITLES, room, px(12.5))
        width = min(self._texts.width(title, px(12.5)), box.width - px(28))
        place = pygame.Rect(box.x + px(14), box.y + px(3), width, px(18))
        self._texts.draw(surface, title, place, px(12.5), theme.TEXT_SOFT)
        return place.right

    def _sentence(
        self,
        surface: pygame.Surface,
        content: StripContent,
        layout: Layout,
        box: pygame.Rect,
        title_right: int,
    ) -> None:
        px = layout.px
        left = title_right + px(14)
        place = pygame.Rect(left, box.y + px(3), box.right - px(14) - left, px(18))
        text = self._texts.first_that_fits(sentences(content), place.width, px(12.5))
        self._texts.draw(surface, text, place, px(12.5), theme.TEXT, align="right")

    def _marks(
        self, surface: pygame.Surface, content: StripContent, layout: Layout, scale: Scale
    ) -> None:
        """Best, present and pointed-at angle, each with its number."""
        px, plot = layout.px, plot_box(layout)
        taken: list[pygame.Rect] = []
        x = x_of(layout, content.turn_deg)
        wide = max(1, round(1.6 * layout.ui))
        surface.fill(theme.TEXT, (x - wide // 2, plot.y - px(2), wide, plot.height + px(4)))
        y = plot.y + round(scale.y_px(content.now_mm, plot.height))
        taken.append(_square(x, y, px(12)))
        if content.now_mm < scale.low_mm:
            # Below the scale: an arrow, so that nobody reads a number there.
            half, low = px(5), plot.bottom + px(3)
            polygon(
                surface, [(x - half, low - px(8)), (x + half, low - px(8)), (x, low)], theme.TEXT
            )
        else:
            rounded(surface, _square(x, y, px(9)), px(4), theme.TEXT, theme.RING_EDGE)
        is_flat = content.is_cup_alone or content.curve.is_flat
        if content.best is not None and not is_flat and not content.is_old:
            turn, best_mm = content.best
            best_x = x_of(layout, turn)
            best_y = plot.y + round(scale.y_px(best_mm, plot.height))
            tip, half = best_y - px(3), px(5)
            corners = [(best_x, tip), (best_x - half, tip - px(8)), (best_x + half, tip - px(8))]
            polygon(surface, corners, theme.TEXT)
            taken.append(_square(best_x, tip - px(4), px(12)))
            if not is_at_best(content):
                words = f"best {signed(turn, 1)}\u00b0: {clearance(best_mm)}"
                self._flag(surface, layout, words, (best_x, best_y), taken)
        word = "best" if not is_flat and is_at_best(content) else "angle"
        now = f"{word} {signed(content.turn_deg, 1)}\u00b0: {clearance(content.now_mm)}"
        self._flag(surface, layout, now, (x, y), taken)
        if content.hover_deg is not None:
            self._hover(surface, content, layout, scale, taken)

    def _hover(
        self,
        surface: pygame.Surface,
        content: StripContent,
        layout: Layout,
        scale: Scale,
        taken: list[pygame.Rect],
    ) -> None:
        assert content.hover_deg is not None
        px, plot = layout.px, plot_box(layout)
        x = x_of(layout, content.hover_deg)
        for y in range(plot.y, plot.bottom, px(5)):
            surface.fill(theme.TEXT_SOFT, (x, y, max(1, round(layout.ui)), px(2)))
        if content.is_old:
            return
        value = float(curve_at(content.curve, np.array([content.hover_deg]))[0])
        y = plot.y + round(scale.y_px(value, plot.height))
        rounded(surface, _square(x, y, px(7)), px(3), theme.CURVE, theme.RING_EDGE)
        words = f"at {signed(content.hover_deg, 1)}\u00b0 up to {clearance(value)}"
        self._flag(surface, layout, words, (x, y), taken)

    def _flag(
        self,
        surface: pygame.Surface,
        layout: Layout,
        words: str,
        at: Pos,
        taken: list[pygame.Rect],
    ) -> None:
        """Words beside a point of the plot, clear of what is ``taken``."""
        px, plot = layout.px, plot_box(layout)
        size = px(11)
        box = pygame.Rect(0, 0, self._texts.width(words, size) + px(10), px(17))
        room = plot.inflate(0, px(6))
        wished: list[tuple[bool, pygame.Rect]] = []
        for dy in (-20, 20, 0, -38, 38):
            for side in (1, -1):
                place = box.copy()
                place.centery = at[1] + round(dy * layout.ui)
                if side > 0:
                    place.left = at[0] + px(9)
                else:
                    place.right = at[0] - px(9)
                place.top = max(room.top, min(place.top, room.bottom - place.height))
                # Pushed back onto its own point: only where nothing else is free.
                is_near = dy != 0 and abs(place.centery - at[1]) < px(14)
                wished.append((is_near, place))
        places = [place for _, place in sorted(wished, key=lambda one: one[0])]
        inside = [p for p in places if p.left >= plot.left and p.right <= plot.right]
        free = [p for p in inside if p.inflate(4, 0).collidelist(taken) < 0]
        place = (free or inside or places)[0]
        place.clamp_ip(plot.inflate(px(8), px(6)))
        taken.append(place)
        rounded(surface, place, px(4), theme.CALLOUT, theme.CALLOUT_EDGE)
        inner = place.inflate(-px(8), 0)
        self._texts.draw(surface, words, inner, size, theme.TEXT, align="center")


def is_at_best(content: StripContent) -> bool:
    """Whether the cup stands at its best placement."""
    if content.best is None or content.is_old:
        return False
    turn, best_mm = content.best
    return abs(turn - content.turn_deg) < 0.05 and content.now_mm >= best_mm - 0.005


def _square(x: int, y: int, side: int) -> pygame.Rect:
    box = pygame.Rect(0, 0, side, side)
    box.center = (x, y)
    return box


def sentences(content: StripContent) -> tuple[str, ...]:
    """What the strip says in words, the longest wording first."""
    if content.is_working:
        return ("working \u2026",)
    if content.best is None:
        return ("",)
    best = clearance(content.best[1])
    if content.is_cup_alone:
        return (
            f"a round cup alone: turning changes nothing \u00b7 best {best} mm at every angle",
            f"round cup: turning changes nothing \u00b7 best {best} mm",
            f"turning changes nothing \u00b7 best {best}",
            f"best {best} mm",
        )
    if content.curve.is_flat:
        return (
            f"turning changes nothing here \u00b7 best {best} mm at every angle",
            f"turning changes nothing \u00b7 best {best}",
            f"best {best} mm",
        )
    if content.verdict == "too-close":
        why = "cannot be sure" if content.is_unsure else "too close to call"
        return (f"{why} \u00b7 best {best} mm", f"{why} \u00b7 {best}", why)
    return _fitting_words(content.fitting_deg)


def joined(stretches_deg: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """The same stretches, with one that goes on past 180 degrees told as one.

    Its end is then counted beyond 180.
    """
    if len(stretches_deg) < 2:
        return stretches_deg
    first, last = stretches_deg[0], stretches_deg[-1]
    if first[0] > -180.0 + SEAM_DEG or last[1] < 180.0 - 1e-9:
        return stretches_deg
    return (*stretches_deg[1:-1], (last[0], first[1] + 360.0))


def without_crumbs(
    stretches_deg: tuple[tuple[float, float], ...],
) -> tuple[tuple[float, float], ...]:
    """Without the tiny stretches beside a long one, where a proof only just fails."""
    long = [s for s in stretches_deg if s[1] - s[0] >= CRUMB_DEG]
    return tuple(
        one
        for one in stretches_deg
        if one in long or all(one[0] - s[1] > CRUMB_DEG or s[0] - one[1] > CRUMB_DEG for s in long)
    )


def _fitting_words(stretches_deg: tuple[tuple[float, float], ...]) -> tuple[str, ...]:
    stretches_deg = without_crumbs(joined(stretches_deg))
    if not stretches_deg:
        return ("fits at no angle that the press allows", "fits at no allowed angle")
    total = sum(last - first for first, last in stretches_deg)
    if len(stretches_deg) == 1:
        first, last = stretches_deg[0]
        if last - first >= 360.0 - SEAM_DEG:
            return ("fits at every angle",)
        # Rounded towards each other: the ends told fit as well.
        low, high = math.ceil(10 * first - 1e-6) / 10, math.floor(10 * last + 1e-6) / 10
        if low > high:
            return (f"fits near {signed((first + last) / 2, 2)}\u00b0 alone",)
        if low == high:
            return (f"fits at {signed(low, 1)}\u00b0 alone",)
        return (f"fits from {signed(low, 1)}\u00b0 to {signed(wrapped_deg(high), 1)}\u00b0",)
    if total < 0.05 * len(stretches_deg):
        each = ", ".join(f"{signed(first, 1)}\u00b0" for first, _ in stretches_deg)
        return (f"fits at {each}", f"fits at {len(stretches_deg)} angles")
    count = len(stretches_deg)
    return (f"fits in {count} stretches, {total:.1f}\u00b0 together", f"fits in {count} stretches")
