"""What the artist's tools draw over the bench."""

from __future__ import annotations

import pygame

from viewer.screen import theme
from viewer.screen.bench import page_px
from viewer.screen.camera import Camera
from viewer.screen.ghost import draw_ghost, draw_ghost_words, way_shown
from viewer.screen.layout import Layout
from viewer.screen.model import Session
from viewer.screen.overlay import knob_px, overlay_place
from viewer.screen.piece_masks import masks_for
from viewer.screen.shapes import rounded
from viewer.screen.sizes_layer import at_px, distance_words, draw_distance, draw_sizes
from viewer.screen.tags import draw_tag, lifted_line
from viewer.screen.text import Texts
from viewer.screen.tools import MEASURE, PAPER, PIECES, WAYS, Tools
from viewer.screen.viewstate import Frame

HATCH_PX = 8
HINTS = {
    MEASURE: (
        "Measure: click two points, or move the cross with the arrow keys and set it with Enter"
        " \u00b7 Tab: next corner \u00b7 Esc",
        "Measure: click two points \u00b7 arrows and Enter \u00b7 Tab: next corner \u00b7 Esc",
        "Measure: click two points \u00b7 Esc ends",
        "Measure",
    ),
    PIECES: (
        "Pieces: click one to leave it out or take it in \u00b7 \u2191 \u2193 choose, Enter"
        " switches \u00b7 Esc",
        "Pieces: click one to leave it out or take it in \u00b7 Esc",
        "Pieces: click one \u00b7 Esc",
        "Pieces",
    ),
    PAPER: (
        "Paper: click the colour that is paper, or move the cross with the arrow keys and press"
        " Enter \u00b7 Esc",
        "Paper: click the colour that is paper \u00b7 arrows and Enter \u00b7 Esc",
        "Paper: click its colour \u00b7 Esc",
        "Paper",
    ),
    WAYS: (
        "Ways out: \u2191 \u2193 show one, Enter takes it, Ctrl+Z takes it back \u00b7 Esc",
        "Ways out: \u2191 \u2193 show, Enter takes \u00b7 Esc",
        "Ways out \u00b7 Esc",
    ),
}


class ToolPainter:
    """Draws over the view."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts

    def draw_pieces(self, surface: pygame.Surface, layout: Layout, frame: Frame) -> None:
        """What is left out, veiled and hatched; the piece pointed at, brightly."""
        session, camera, levels = frame.session, frame.camera, frame.levels
        tools = frame.tools
        if session is None or camera is None or levels is None or not tools.pieces:
            return
        masks, view = masks_for(levels), layout.view
        surface.set_clip(view)
        period = layout.px(HATCH_PX)
        for piece in tools.pieces:
            if piece.left_out:
                masks.draw(surface, view, camera, session.scale, piece, "out", period)
            if tools.mode == PIECES and piece.number == tools.piece:
                masks.draw(surface, view, camera, session.scale, piece, "marked", period)
        surface.set_clip(None)

    def draw(self, surface: pygame.Surface, layout: Layout, frame: Frame) -> None:
        """Everything else, over the cup."""
        session, camera, tools = frame.session, frame.camera, frame.tools
        if session is None or camera is None:
            return
        surface.set_clip(layout.view)
        taken: list[pygame.Rect] = []
        texts = self._texts
        self._hovered(surface, layout, session, camera, tools)
        way = way_shown(tools)
        if way is not None:
            draw_ghost(surface, layout, session, camera, way)
        if tools.mode:
            self._hint(surface, layout, tools, taken)
        if way is not None:
            draw_ghost_words(surface, texts, layout, camera, tools, way, taken)
        if tools.shows_sizes:
            draw_sizes(surface, texts, layout, session, camera, taken)
        if tools.mode == PIECES:
            self._piece_number(surface, layout, session, camera, tools, taken)
        if tools.mode == MEASURE:
            self._measured(surface, layout, camera, tools, taken)
        if tools.mode in (MEASURE, PAPER):
            self._cross(surface, layout, camera, tools, taken)
        self._sign(surface, layout, session, camera, tools, taken)
        surface.set_clip(None)

    def _hovered(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        camera: Camera,
        tools: Tools,
    ) -> None:
        """Light up what a press would take hold of."""
        if tools.mode in (MEASURE, PAPER, PIECES):
            return
        place = overlay_place(session, camera, layout)
        width = max(2, round(2.5 * layout.ui))
        if tools.hover == "cup" and place.ring.outer_px < 8000:
            for reach in (place.ring.outer_px + 1, place.ring.inner_px):
                _ring_line(surface, place.center, reach, width)
        elif tools.hover == "turn":
            knob = knob_px(place, layout)
            for radius, color in ((layout.px(13), theme.SKY), (layout.px(8), theme.LIFT)):
                pygame.draw.circle(surface, color, knob, radius)
            pygame.draw.circle(surface, theme.RING_EDGE, knob, layout.px(8), width)
        elif tools.hover == "pan":
            page = page_px(camera, session.artwork.page_mm).move(layout.view.topleft)
            edge = max(1, round(layout.ui))
            seen = page.inflate(2 * edge, 2 * edge).clip(layout.view.inflate(40, 40))
            pygame.draw.rect(surface, theme.SKY, seen, edge)
        elif tools.hover.startswith("cup:"):
            index = int(tools.hover[4:])
            if index < len(session.fit.cups):
                cup = session.fit.cups[index].cup
                radius_px = cup.ring_outer_diameter_mm / 2 * place.px_per_mm
                if radius_px < 8000:
                    _ring_line(surface, place.center, radius_px, width)

    def _hint(
        self, surface: pygame.Surface, layout: Layout, tools: Tools, taken: list[pygame.Rect]
    ) -> None:
        view, px = layout.view, layout.px
        room = view.width - px(60)
        words = self._texts.first_that_fits(HINTS[tools.mode], room, px(12.5), True)
        draw_tag(surface, self._texts, layout, words, (view.centerx, view.y + px(20)), taken)

    def _piece_number(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        camera: Camera,
        tools: Tools,
        taken: list[pygame.Rect],
    ) -> None:
        piece = next((p for p in tools.pieces or () if p.number == tools.piece), None)
        if piece is None:
            return
        x0, y0, x1, _ = (value * session.scale for value in piece.box_mm)
        left, top = at_px(layout, camera, (x0, y0))
        right, _ = at_px(layout, camera, (x1, y0))
        said = "left out" if piece.left_out else "counts"
        at = ((left + right) // 2, top - layout.px(18))
        draw_tag(surface, self._texts, layout, f"piece {piece.number}: {said}", at, taken)

    def _measured(
        self,
        surface: pygame.Surface,
        layout: Layout,
        camera: Camera,
        tools: Tools,
        taken: list[pygame.Rect],
    ) -> None:
        ends = list(tools.ends_mm)
        if len(ends) == 1 and tools.cross_mm is not None:
            ends.append(tools.cross_mm)
        if len(ends) < 2:
            return
        start, end = (at_px(layout, camera, point) for point in ends)
        words = distance_words(ends[0], ends[1])
        draw_distance(surface, self._texts, layout, start, end, words, taken)

    def _cross(
        self,
        surface: pygame.Surface,
        layout: Layout,
        camera: Camera,
        tools: Tools,
        taken: list[pygame.Rect],
    ) -> None:
        if tools.cross_mm is None:
            return
        px = layout.px
        x, y = at_px(layout, camera, tools.cross_mm)
        gap, arm = px(4), px(14)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            start, end = (x + dx * gap, y + dy * gap), (x + dx * arm, y + dy * arm)
            lifted_line(surface, start, end, layout, 1.2)
        if tools.cross_word:
            # A square says: exactly on a corner.
            side = px(6)
            for width, color in ((px(4), theme.LIFT), (max(1, px(1.6)), theme.INK_LINE)):
                box = (x - side, y - side, 2 * side + 1, 2 * side + 1)
                pygame.draw.rect(surface, color, box, width)
        if tools.mode == PAPER:
            self._swatch(surface, layout, tools, (x, y), taken)

    def _swatch(
        self,
        surface: pygame.Surface,
        layout: Layout,
        tools: Tools,
        at: tuple[int, int],
        taken: list[pygame.Rect],
    ) -> None:
        px, rgb = layout.px, tools.under_rgb
        words = "nothing here: paper is what is transparent"
        if rgb is not None:
            words = "#{:02x}{:02x}{:02x}".format(*rgb)
        box = draw_tag(surface, self._texts, layout, words, (at[0] + px(70), at[1] + px(34)), taken)
        if rgb is not None:
            square = pygame.Rect(box.right + px(3), box.y, box.height, box.height)
            rounded(surface, square, px(4), rgb, theme.FIELD_EDGE)

    def _sign(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        camera: Camera,
        tools: Tools,
        taken: list[pygame.Rect],
    ) -> None:
        """The small sign that a drag has snapped."""
        sign = tools.sign
        if sign is None:
            return
        px = layout.px
        if sign.at_mm is None:
            place = overlay_place(session, camera, layout)
            x, y = knob_px(place, layout)
        else:
            x, y = at_px(layout, camera, sign.at_mm)
            for radius, color in ((px(12), theme.LIFT), (px(11), theme.INK_LINE)):
                pygame.draw.circle(surface, color, (x, y), radius, max(2, px(2)))
        at = (x, y - px(30))
        draw_tag(surface, self._texts, layout, sign.label, at, taken)


def _ring_line(
    surface: pygame.Surface, center: tuple[int, int], radius_px: float, width: int
) -> None:
    pygame.draw.circle(surface, theme.SKY, center, round(radius_px), width)
