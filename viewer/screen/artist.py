"""The artist's tools: measuring, pieces, paper, ways out, snapping, what is under the pointer.

Keeps one immutable value, ``tools``, that a frame shows; does what commands, keys, clicks
and drags mean for it. Slow sums are done in threads.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pygame

from viewer.artwork.model import Artwork
from viewer.errors import BrimcheckError
from viewer.screen import picking
from viewer.screen.commands import CTRL, SHIFT, mods_of
from viewer.screen.findings import Findings
from viewer.screen.hover import under
from viewer.screen.model import Session
from viewer.screen.piece_masks import PieceMasks, masks_for
from viewer.screen.sizes_layer import marked_points, nearest_corner
from viewer.screen.snapping import SNAP_PX, snapped_center, snapped_turn
from viewer.screen.tools import (
    MEASURE,
    PAPER,
    PIECES,
    WAYS,
    PieceLike,
    Point,
    Tools,
)
from viewer.screen.ways_tool import WaysTool

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

Pos = tuple[int, int]
CORNER_PX = 11
DRAGGED_PX = 9
CLOSE_UP_MM = 6.0
_STEPS_MM = {0: 1.0, SHIFT: 10.0, CTRL: 0.1}
_ARROWS = {
    pygame.K_LEFT: (-1, 0),
    pygame.K_RIGHT: (1, 0),
    pygame.K_UP: (0, -1),
    pygame.K_DOWN: (0, 1),
}
_ENTER = (pygame.K_RETURN, pygame.K_KP_ENTER)


class Artist:
    """The tools of one desk."""

    def __init__(self, desk: Desk, wake: Callable[[], None]) -> None:
        self._desk = desk
        self.tools = Tools()
        self.findings = Findings(lambda: desk.opener, wake)
        self._loaded: Artwork | None = None
        self.ways = WaysTool(desk, self)
        self._pressed: Pos | None = None

    # --- threads ---------------------------------------------------------------

    def keep_up(self) -> None:
        """Have worked out what is shown, and take what has been."""
        session = self._desk.session
        if session is None:
            return
        if session.loaded is not self._loaded:
            self._begin_file(session)
        self._keep_pieces(session)
        self.ways.keep(session)
        self.ways.show_preview()

    def now(self) -> None:
        """Work out all that is shown before returning."""
        session = self._desk.session
        if session is not None and session.is_fit_current:
            self.findings.now(session, self._wants_pieces(session))
            self.keep_up()

    def wait(self, timeout_s: float) -> bool:
        """Wait for the threads; False when it takes longer."""
        return self.findings.wait(timeout_s)

    def stop(self) -> None:
        """End the threads."""
        self.findings.stop()

    def _begin_file(self, session: Session) -> None:
        """Another file, or the same one read anew: what was found in it before is gone."""
        is_same = self._loaded is not None and self._loaded.path == session.loaded.path
        mode = self.tools.mode if is_same else ""
        self._loaded = session.loaded
        self.tools = replace(
            self.tools,
            mode=mode if mode != PAPER else PIECES,
            ends_mm=(),
            cross_mm=None,
            cross_word="",
            under_rgb=None,
            sign=None,
            ways=None,
            rows=(),
            notes=(),
            notes_anywhere=(),
            are_ways_old=True,
            way=-1,
            pieces=None,
            pieces_error="",
            piece=self.tools.piece if is_same else 0,
        )

    def _wants_pieces(self, session: Session) -> bool:
        return bool(
            self.tools.are_pieces_wanted
            or self.tools.mode in (PIECES, PAPER)
            or session.loaded.options.leave_out
        )

    def _keep_pieces(self, session: Session) -> None:
        if self.tools.pieces is not None or self.tools.pieces_error:
            return
        if not self._wants_pieces(session):
            return
        found = self.findings.pieces(session)
        if isinstance(found, BrimcheckError):
            self.tools = replace(self.tools, pieces_error=found.message)
        elif found is not None:
            self.tools = replace(self.tools, pieces=found)
            if self.tools.mode == PIECES and not self._piece():
                self._choose_piece(0)

    # --- commands ----------------------------------------------------------------

    def toggle_measure(self) -> None:
        """Begin to measure, or leave off."""
        session = self._desk.session
        if session is None or self.tools.mode == MEASURE:
            self.leave_mode()
            return
        self.enter(MEASURE)
        self._move_cross(marked_points(session)[0], "corner")

    def toggle_sizes(self) -> None:
        """Draw width, height, diagonal and circle with their numbers, or not."""
        self.tools = replace(self.tools, shows_sizes=not self.tools.shows_sizes)

    def toggle_snapping(self) -> None:
        """Let drags and measurements snap, or not."""
        self.use_snapping(not self.tools.is_snapping)
        self._desk.looks.say(f"snapping is {'on' if self.tools.is_snapping else 'off'}")
        self._desk.looks.keep_snapping(self.tools.is_snapping)

    def use_snapping(self, is_on: bool) -> None:
        """Snap from now on, or not."""
        self.tools = replace(self.tools, is_snapping=is_on, sign=None)

    def toggle_pieces(self) -> None:
        """Show the pieces of ink, or no longer."""
        if self._desk.session is None or self.tools.mode in (PIECES, PAPER):
            self.leave_mode()
            return
        self.enter(PIECES)
        self.tools = replace(self.tools, are_pieces_wanted=True)
        self.keep_up()
        if self.tools.pieces and not self._piece():
            self._choose_piece(0)
        self._desk.show_card("tool:pieces")

    def pick_paper(self) -> None:
        """Let a point of the artwork say which color is paper."""
        session = self._desk.session
        if session is None:
            return
        if self.tools.mode == PAPER:
            self.enter(PIECES)
            return
        self.enter(PAPER)
        width, height = session.artwork.page_mm
        self._move_cross((min(1.0, width / 2), min(1.0, height / 2)), "")

    def next_white(self) -> None:
        """White as found, as ink, as paper."""
        picking.read_with(self._desk, picking.next_white)

    def leave_out(self) -> None:
        """Leave the piece chosen out."""
        piece = self._piece()
        if self.tools.mode == PIECES and piece is not None and not piece.left_out:
            self.switch_piece(piece)

    def take_in(self) -> None:
        """Take the piece chosen in again."""
        piece = self._piece()
        if self.tools.mode == PIECES and piece is not None and piece.left_out:
            self.switch_piece(piece)

    def switch_piece(self, piece: PieceLike) -> None:
        """Leave a piece out, or take it in again; the file is read anew."""
        session = self._desk.session
        if session is None:
            return
        refusal = picking.refusal(piece, self.tools.pieces or ())
        if refusal:
            self._desk.looks.say(refusal)
            return
        picking.read_with(self._desk, lambda options: picking.switched(options, piece))

    def zoom_to_tightest(self) -> None:
        """Show the tightest place from near."""
        session = self._desk.session
        if session is None:
            return
        point = session.placed()[session.cup_index].tightest.point_mm
        self.look_at(point, session)

    def look_at(self, point_mm: Point, session: Session) -> None:
        """Show a point of the page from near."""
        desk, camera = self._desk, self._desk.camera
        if camera is None:
            return
        view = desk.layout.view
        room = abs(session.placed()[session.cup_index].clearance_mm)
        wished = min(view.size) / max(CLOSE_UP_MM, 5.0 * room)
        near = camera.zoomed_at(0, 0, wished / camera.px_per_mm)
        x, y = near.to_px(*point_mm)
        desk.camera = near.panned(view.width / 2 - x, view.height / 2 - y)
        desk.is_camera_ours = False

    # --- modes -------------------------------------------------------------------

    def enter(self, mode: str) -> None:
        """Begin a mode; the one before ends."""
        self.leave_mode()
        self._desk.editing = None
        self._desk.looks.leave_focus()
        self.tools = replace(self.tools, mode=mode)

    def leave_mode(self) -> None:
        """End the mode that is on."""
        self.tools = replace(
            self.tools, mode="", ends_mm=(), cross_mm=None, cross_word="", under_rgb=None, way=-1
        )

    def escape(self) -> bool:
        """Leave a mode, or the first point of a measurement; False where there is none."""
        tools = self.tools
        if tools.mode == "" and not tools.shows_sizes:
            return False
        if tools.mode == "":
            self.tools = replace(tools, shows_sizes=False)
        elif tools.mode == MEASURE and tools.ends_mm:
            self.tools = replace(tools, ends_mm=())
        elif tools.mode == PAPER:
            self.enter(PIECES)
        else:
            self.leave_mode()
        return True

    def key(self, key: int, mod: int) -> bool:
        """A key for the mode that is on; False when it is a command after all."""
        mode, mods = self.tools.mode, mods_of(mod)
        if not mode or self._desk.session is None:
            return False
        if mode in (PIECES, WAYS):
            return self._list_key(key, mods)
        if key in _ARROWS and mods in _STEPS_MM:
            x, y = self._cross()
            dx, dy = _ARROWS[key]
            step = _STEPS_MM[mods]
            self._move_cross((round(x + dx * step, 6), round(y + dy * step, 6)), "")
            return True
        if key in _ENTER and mods == 0:
            self._set_cross()
            return True
        if key == pygame.K_TAB and mode == MEASURE and mods in (0, SHIFT):
            self._next_corner(-1 if mods else 1)
            return True
        return False

    def _list_key(self, key: int, mods: int) -> bool:
        if self._desk.looks.look.focus:
            return False  # the Tab key has gone on to something else
        step = {pygame.K_UP: -1, pygame.K_DOWN: 1}.get(key)
        if mods == 0 and step is not None:
            if self.tools.mode == WAYS:
                count = max(1, len(self.tools.rows))
                self.tools = replace(self.tools, way=(self.tools.way + step) % count)
                self._desk.show_card(f"way:{self.tools.way}")
            else:
                self._choose_piece(step)
            return True
        if mods == 0 and key in _ENTER:
            if self.tools.mode == WAYS:
                self.ways.take(self.tools.way + 1)
            elif (piece := self._piece()) is not None:
                self.switch_piece(piece)
            return True
        return False

    # --- cross -------------------------------------------------------------------

    def _cross(self) -> Point:
        if self.tools.cross_mm is not None:
            return self.tools.cross_mm
        session = self._desk.session
        return session.placement.center_mm if session is not None else (0.0, 0.0)

    def _move_cross(self, point: Point, word: str) -> None:
        rgb = None
        if self.tools.mode == PAPER:
            rgb = self._rgb_under(point)
        self.tools = replace(self.tools, cross_mm=point, cross_word=word, under_rgb=rgb)

    def _next_corner(self, step: int) -> None:
        session = self._desk.session
        if session is None:
            return
        points = marked_points(session)
        here = self._cross()
        away = [math.dist(point, here) for point in points]
        at = away.index(min(away))
        if min(away) > 0.001:
            step = 0
        self._move_cross(points[(at + step) % len(points)], "corner")

    def _set_cross(self) -> None:
        if self.tools.mode == PAPER:
            self._pick_here()
            return
        ends = self.tools.ends_mm if len(self.tools.ends_mm) < 2 else ()
        self.tools = replace(self.tools, ends_mm=(*ends, self._cross()))

    def _pick_here(self) -> None:
        rgb = self.tools.under_rgb
        session = self._desk.session
        if session is None:
            return
        paper = "transparent" if rgb is None else "#{:02x}{:02x}{:02x}".format(*rgb)
        self.enter(PIECES)
        picking.read_with(self._desk, lambda options: replace(options, paper=paper))

    # --- pieces ------------------------------------------------------------------

    def _piece(self) -> PieceLike | None:
        number = self.tools.piece
        return next((p for p in self.tools.pieces or () if p.number == number), None)

    def _choose_piece(self, step: int) -> None:
        numbers = [piece.number for piece in self.tools.pieces or ()]
        if not numbers:
            return
        now = self.tools.piece
        if now not in numbers:
            number = numbers[0]
        else:
            number = numbers[(numbers.index(now) + step) % len(numbers)]
        self.tools = replace(self.tools, piece=number)
        self._desk.show_card(f"piece:{number}")

    def masks(self) -> PieceMasks | None:
        """The pieces of ink as they are drawn now."""
        levels = self._desk.levels
        return None if levels is None else masks_for(levels)

    def _as_loaded(self, point: Point) -> Point:
        session = self._desk.session
        scale = session.scale if session is not None else 1.0
        return point[0] / scale, point[1] / scale

    def _rgb_under(self, point: Point) -> tuple[int, int, int] | None:
        masks = self.masks()
        return masks.rgb_under(self._as_loaded(point)) if masks is not None else None

    def _piece_under(self, pos: Pos) -> PieceLike | None:
        masks, point = self.masks(), self._page_point(pos)
        if masks is None or point is None:
            return None
        return masks.piece_under(self._as_loaded(point), self.tools.pieces or ())

    # --- mouse -------------------------------------------------------------------

    def down(self, pos: Pos, button: int) -> bool:
        """A press on the bench; True when a tool has taken it."""
        desk, mode = self._desk, self.tools.mode
        if button != 1 or mode in ("", WAYS) or desk.pointer.is_space_down:
            return False
        if not desk.layout.view.collidepoint(pos):
            return False
        if mode == PIECES:
            piece = self._piece_under(pos)
            if piece is None:
                return False
            self.tools = replace(self.tools, piece=piece.number)
            self.switch_piece(piece)
            return True
        self._pressed = pos
        self._cross_to(pos)
        self._set_cross()
        return True

    def up(self, pos: Pos) -> None:
        """A button is let go: one may also drag from the one point to the other."""
        pressed, self._pressed = self._pressed, None
        if pressed is None or self.tools.mode != MEASURE or len(self.tools.ends_mm) != 1:
            return
        if math.dist(pos, pressed) > self._desk.layout.px(DRAGGED_PX):
            self._cross_to(pos)
            self._set_cross()

    def motion(self, pos: Pos) -> None:
        """The pointer has moved, or what is under it may have changed."""
        desk, tools = self._desk, self.tools
        hover = under(desk, pos)
        if hover != tools.hover:
            self.tools = replace(tools, hover=hover)
        if desk.pointer.drag is not None or desk.is_help_open or hover.startswith("panel"):
            return
        if tools.mode in (MEASURE, PAPER) and desk.layout.view.collidepoint(pos):
            self._cross_to(pos)
        elif tools.mode == PIECES and desk.layout.view.collidepoint(pos):
            piece = self._piece_under(pos)
            if piece is not None and piece.number != tools.piece:
                self.tools = replace(self.tools, piece=piece.number)

    def leave(self) -> None:
        """The pointer has left the window."""
        if self.tools.hover:
            self.tools = replace(self.tools, hover="")

    def press(self, kind: str, what: str) -> None:
        """A click on one of the tools' things in the panel."""
        if kind == "way":
            self.ways.take(int(what) + 1)
        elif kind == "piece":
            self.tools = replace(self.tools, piece=int(what))
            piece = self._piece()
            if piece is not None:
                self.switch_piece(piece)
        else:
            {
                "paper": self.pick_paper,
                "white": self.next_white,
                "restore": lambda: picking.read_with(self._desk, picking.all_in),
                "pieces": self.toggle_pieces,
            }[what]()

    def _page_point(self, pos: Pos) -> Point | None:
        camera, view = self._desk.camera, self._desk.layout.view
        if camera is None:
            return None
        return camera.to_mm(pos[0] - view.x + 0.5, pos[1] - view.y + 0.5)

    def _cross_to(self, pos: Pos) -> None:
        session, camera = self._desk.session, self._desk.camera
        point = self._page_point(pos)
        if session is None or camera is None or point is None:
            return
        word = ""
        if self.tools.mode == MEASURE and self.tools.is_snapping:
            reach = self._desk.layout.px(CORNER_PX) / camera.px_per_mm
            corner = nearest_corner(session, self.tools, point, reach)
            if corner is not None:
                point, word = corner, "corner"
        self._move_cross(point, word)

    # --- snapping ----------------------------------------------------------------

    def snapped(self, before: Session, moved: Session) -> Session:
        """A drag of the cup, snapped where it is near something."""
        sign = None
        camera = self._desk.camera
        if self.tools.is_snapping and camera is not None and moved is not before:
            reach = self._desk.layout.px(SNAP_PX) / camera.px_per_mm
            moved, sign = snapped_center(moved, reach)
        self._sign(sign)
        return moved

    def snapped_turn(self, session: Session, turn_deg: float) -> float:
        """A drag of the knob, snapped where it is near a whole angle."""
        sign = None
        if self.tools.is_snapping:
            turn_deg, sign = snapped_turn(session, turn_deg)
        self._sign(sign)
        return turn_deg

    def end_drag(self) -> None:
        """Take the sign away with the drag."""
        self._sign(None)

    def _sign(self, sign: object) -> None:
        if sign != self.tools.sign:
            self.tools = replace(self.tools, sign=sign)  # type: ignore[arg-type]
