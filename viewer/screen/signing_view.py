"""Draws a sign-off over the whole window: verdict, artwork under its ring, what is asked."""

from __future__ import annotations

from dataclasses import replace

import pygame

from viewer.geometry import bounds_of
from viewer.geometry.types import Bounds
from viewer.press.outlines import on_page_mm
from viewer.screen import theme
from viewer.screen.area_lines import outlines_of
from viewer.screen.bench import BenchPainter
from viewer.screen.camera import Camera, fit_camera
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.model import Session
from viewer.screen.outlines import shown_shift_mm
from viewer.screen.overlay import OverlayPainter, OverlayPlace
from viewer.screen.patterns import fill_pattern
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.signing_boxes import (
    BoardLayout,
    SigningBoxes,
    Words,
    board_layout,
    signing_boxes,
)
from viewer.screen.signing_shown import APPROVE, RECORDING, SigningShown
from viewer.screen.signing_words import (
    STAGE_LABELS,
    TITLE,
    button_labels,
    clearance_words,
    headword,
)
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing, Frame
from viewer.screen.wording import CAUTIONS, PRESS_CAUTIONS
from viewer.signoff import Stage

RING_AIR = 1.2
"""What is shown reaches so far round the cup: room for the travel arrow beside it."""


def board_camera(session: Session, board: BoardLayout) -> Camera:
    """Ring, ink, pad and etch area, as large as there is room."""
    return fit_camera(_bounds(session), board.view.width, board.view.height, 0.03)


def _bounds(session: Session) -> Bounds:
    x, y = session.placement.center_mm
    reach = session.cup.ring_outer_diameter_mm / 2 * RING_AIR
    boxes = [Bounds(x - reach, y - reach, x + reach, y + reach), session.fit.ink_bounds]
    for _, outline in outlines_of(session.limits):
        boxes.append(bounds_of(on_page_mm(outline, (x, y), session.placement.turn_deg)))
    for other in session.others:
        dx, dy = shown_shift_mm(other, (x, y))
        box = bounds_of(other.hull_mm)
        boxes.append(Bounds(box.x0 + dx, box.y0 + dy, box.x1 + dx, box.y1 + dy))
    return Bounds(
        min(box.x0 for box in boxes),
        min(box.y0 for box in boxes),
        max(box.x1 for box in boxes),
        max(box.y1 for box in boxes),
    )


class _SignedOverlay(OverlayPainter):
    """The overlay of something that is looked at, not moved: without its knob."""

    def _knob(self, surface: pygame.Surface, layout: Layout, place: OverlayPlace) -> None:
        return


class SigningPainter:
    """Draws sign-offs; keeps the resting picture of the artwork."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._bench = BenchPainter(texts)
        self._overlay = _SignedOverlay(texts)

    def draw(self, surface: pygame.Surface, frame: Frame, layout: Layout) -> None:
        """Fill the window with the sign-off of a frame."""
        shown = frame.signing
        if shown is None:
            return
        boxes = signing_boxes(shown, layout, self._texts)
        surface.fill(theme.CARD)
        self._board(surface.subsurface(boxes.board), frame, shown, board_layout(boxes, layout))
        self._head(surface, boxes, shown, layout)
        for words in boxes.words:
            self._say(surface, words, layout)
        self._stages(surface, boxes, shown, layout)
        self._fields(surface, boxes, shown, frame.editing, layout)
        self._buttons(surface, boxes, shown, layout)
        self._texts.where = "signing caution"
        size = layout.px(12.5)
        cautions = PRESS_CAUTIONS if shown.stage is Stage.PRESS else CAUTIONS
        caution = self._texts.first_that_fits(cautions, boxes.caution.width, size)
        self._texts.draw(surface, caution, boxes.caution, size, theme.TEXT_SOFT)

    # --- the artwork --------------------------------------------------------------------

    def _board(
        self, surface: pygame.Surface, frame: Frame, shown: SigningShown, board: BoardLayout
    ) -> None:
        """The chosen cup alone, over the artwork, hatched where it does not fit."""
        session = _alone(shown.session)
        camera = board_camera(shown.session, board)
        seen = Frame(
            size=board.size,
            session=session,
            camera=camera,
            levels=shown.levels,
            sharp=shown.sharp,
            tools=frame.tools,
            look=frame.look,
        )
        surface.blit(self._bench.picture(seen, board), (0, 0))
        hatch = self._bench.highlight() if shown.placed.clearance_mm < 0 else None
        self._overlay.draw(surface, board, session, shown.placed, camera, hatch)

    # --- the verdict --------------------------------------------------------------------

    def _head(
        self, surface: pygame.Surface, boxes: SigningBoxes, shown: SigningShown, layout: Layout
    ) -> None:
        verdict, word = headword(shown)
        px, head = layout.px, boxes.head
        surface.fill(theme.WINDOW, head)
        band = pygame.Rect(0, head.y, px(26), head.height)
        bar = theme.VERDICT_BAR[verdict]
        fill_pattern(surface, band, verdict, bar, theme.WINDOW, max(6, px(12)))
        line = pygame.Rect(0, head.bottom - max(1, px(2)), head.width, max(1, px(2)))
        surface.fill(bar, line)
        self._texts.where = "signing head"
        inner = pygame.Rect(band.right + px(16), head.y, 0, head.height - px(4))
        inner.width = boxes.column.x - px(12) - inner.x
        size = self._largest(word, inner.width * 100 // 120, inner.height * 88 // 100)
        side = round(size * 0.8)
        color = theme.VERDICT_TEXT[verdict]
        surface.blit(verdict_sign(verdict, side, color), (inner.x, inner.centery - side // 2))
        left = inner.x + side + size // 4
        place = pygame.Rect(left, inner.y, inner.right - left, inner.height)
        self._texts.draw(surface, word, place, size, color, bold=True)
        self._clearance(surface, boxes, shown, layout)

    def _clearance(
        self, surface: pygame.Surface, boxes: SigningBoxes, shown: SigningShown, layout: Layout
    ) -> None:
        px, head = layout.px, boxes.head
        column = pygame.Rect(
            boxes.column.x, head.y + px(4), boxes.column.width, head.height - px(10)
        )
        share = column.height * 34 // 100
        upper = pygame.Rect(column.x, column.y, column.width, share)
        lower = pygame.Rect(column.x, upper.bottom, column.width, column.height - share)
        size = px(12.5)
        self._texts.draw(surface, TITLE, upper, size, theme.TEXT_SOFT, bold=True, align="right")
        free = upper.width - self._texts.width(TITLE, size, True) - px(10)
        cup = f"{shown.session.cup.name} cup, clearance"
        named = self._texts.first_that_fits((cup, "clearance"), free, size)
        self._texts.draw(surface, named, upper, size, theme.TEXT_SOFT)
        told = clearance_words(shown)
        big = self._largest(told, lower.width, lower.height * 90 // 100)
        self._texts.draw(surface, told, lower, big, theme.TEXT, bold=True)

    def _largest(self, text: str, width: int, height: int) -> int:
        """The greatest size at which a bold line goes into a width and a height."""
        low, high = 8, max(9, height)
        while low < high:
            size = (low + high + 1) // 2
            fits = self._texts.width(text, size, True) <= width
            if fits and self._texts.height(size) <= height:
                low = size
            else:
                high = size - 1
        return low

    # --- the column ---------------------------------------------------------------------

    def _say(self, surface: pygame.Surface, words: Words, layout: Layout) -> None:
        colors = {
            "soft": theme.TEXT_SOFT,
            "warn": theme.VERDICT_TEXT["in-margin"],
            "bad": theme.VERDICT_TEXT["outside"],
        }
        self._texts.where = "signing"
        self._texts.draw(
            surface,
            words.text,
            words.box,
            layout.px(words.size),
            colors.get(words.tone, theme.TEXT),
            bold=words.tone == "title",
        )

    def _stages(
        self, surface: pygame.Surface, boxes: SigningBoxes, shown: SigningShown, layout: Layout
    ) -> None:
        px = layout.px
        for name, label in STAGE_LABELS.items():
            box = boxes.hits.get(f"stage:{name}")
            if box is None:
                continue
            is_chosen = shown.stage.value == name
            has_keys = shown.focus == "stage" and is_chosen
            fill = theme.SELECTION if is_chosen else theme.BUTTON
            edge = theme.FOCUS if has_keys else (theme.SKY if is_chosen else theme.FIELD_EDGE)
            rounded(surface, box, px(5), fill, edge, px(2) if has_keys else px(1))
            dot = pygame.Rect(box.x + px(9), box.centery - px(6), px(12), px(12))
            rounded(surface, dot, px(6), theme.FIELD, theme.TEXT_SOFT, max(1, px(1.5)))
            if is_chosen:
                rounded(surface, dot.inflate(-px(6), -px(6)), px(3), theme.TEXT)
            room = pygame.Rect(dot.right + px(7), box.y, 0, box.height)
            room.width = box.right - px(4) - room.x
            self._texts.where = "signing stage"
            size = px(boxes.stage_size)
            self._texts.draw(surface, label, room, size, theme.TEXT, bold=is_chosen)

    def _fields(
        self,
        surface: pygame.Surface,
        boxes: SigningBoxes,
        shown: SigningShown,
        editing: Editing | None,
        layout: Layout,
    ) -> None:
        for name in shown.fields:
            box = boxes.hits[name]
            mine = editing if editing is not None and editing.name == name else None
            value = shown.texts.get(name, "")
            # Cut on purpose where it is too long: all of it stands below then.
            room = box.width - layout.px(16)
            value = self._texts.cut(value, room, layout.px(boxes.letters), True)
            self._texts.where = "signing field"
            draw_field(
                surface, box, value, mine, layout, self._texts, align="left", size=boxes.letters
            )
            if shown.focus == name:
                pygame.draw.rect(surface, theme.FOCUS, box, layout.px(2), layout.px(4))

    def _buttons(
        self, surface: pygame.Surface, boxes: SigningBoxes, shown: SigningShown, layout: Layout
    ) -> None:
        px = layout.px
        for name, label in button_labels(shown).items():
            box = boxes.hits[name]
            is_off = shown.state == RECORDING and name != "leave"
            is_main = name == APPROVE and shown.fits and not is_off
            fill = theme.BUTTON_MAIN if is_main else theme.BUTTON
            edge = theme.FOCUS if shown.focus == name else fill
            rounded(surface, box, px(5), fill, edge, px(2))
            color = theme.TEXT_OFF if is_off else theme.TEXT_ON_MAIN if is_main else theme.TEXT
            self._texts.where = "signing buttons"
            self._texts.draw(surface, label, box, px(14), color, bold=True, align="center")


def _alone(session: Session) -> Session:
    """The session with its own cup only: the others are nothing to what is signed."""
    fit = replace(session.fit, cups=(session.cup_fit,))
    return replace(session, fit=fit, cup_index=0)
