"""What is under the pointer, and the cursor that says what a press would do."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pygame

from viewer.screen.curve_strip import is_in_plot
from viewer.screen.overlay import thing_at
from viewer.screen.tools import MEASURE, PAPER, PIECES

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

_CURSORS = {
    "cup": pygame.SYSTEM_CURSOR_SIZEALL,
    "turn": pygame.SYSTEM_CURSOR_HAND,
    "curve": pygame.SYSTEM_CURSOR_SIZEWE,
}


def under(desk: Desk, pos: tuple[int, int]) -> str:
    """ "panel:NAME", "cup", "turn", "pan", "curve", "cup:2", or "" over nothing of use.

    While something is dragged: what is dragged.
    """
    drag = desk.pointer.drag
    if drag is not None:
        return drag.kind
    if desk.is_help_open:
        return ""
    name = desk.painter.panel.hit(pos)
    if name is not None:
        return f"panel:{name}"
    session, camera, layout = desk.session, desk.camera, desk.layout
    if session is None or camera is None:
        return ""
    if is_in_plot(layout, pos):
        return "curve"
    if not layout.view.collidepoint(pos):
        return ""
    return thing_at(pos, desk.painter.texts, layout, session, camera)


def cursor_for(desk: Desk) -> int:
    """The system's cursor for what is under the pointer."""
    tools = desk.artist.tools
    hover = tools.hover
    if hover.startswith("panel:"):
        is_field = hover.startswith("panel:field:")
        return pygame.SYSTEM_CURSOR_IBEAM if is_field else pygame.SYSTEM_CURSOR_HAND
    if desk.pointer.is_space_down and hover:
        return pygame.SYSTEM_CURSOR_SIZEALL
    if hover and hover != "curve" and desk.pointer.drag is None:
        if tools.mode in (MEASURE, PAPER):
            return pygame.SYSTEM_CURSOR_CROSSHAIR
        if tools.mode == PIECES:
            return pygame.SYSTEM_CURSOR_HAND
    if hover.startswith("cup:"):
        return pygame.SYSTEM_CURSOR_HAND
    if hover == "pan":
        dragged = desk.pointer.drag is not None
        return pygame.SYSTEM_CURSOR_SIZEALL if dragged else pygame.SYSTEM_CURSOR_HAND
    return _CURSORS.get(hover, pygame.SYSTEM_CURSOR_ARROW)


class Cursor:
    """Sets the system's cursor when it changes; a system without cursors is left alone."""

    def __init__(self) -> None:
        self._shown: int | None = None

    def show(self, desk: Desk) -> None:
        """Bring the cursor up to what is under the pointer."""
        wanted = cursor_for(desk)
        if wanted == self._shown:
            return
        if not pygame.display.get_init() or pygame.display.get_driver() == "dummy":
            return
        self._shown = wanted
        try:
            pygame.mouse.set_cursor(wanted)
        except pygame.error:
            return  # this system has no such cursor; its own will do
