"""What the mouse does: drags, clicks and the wheel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from viewer.screen import model
from viewer.screen.camera import Camera
from viewer.screen.curve_strip import is_in_plot, turn_at
from viewer.screen.model import Session
from viewer.screen.notices import notice_boxes
from viewer.screen.overlay import overlay_place, thing_at

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

Pos = tuple[int, int]
ZOOM_STEP = 1.2
SNAP_PX = 4
"""So near to the best angle, or to none, a click in the curve means exactly that one."""


@dataclass(frozen=True)
class Drag:
    """What the pressed mouse button is doing, and from where."""

    kind: str
    """``"cup"``, ``"turn"``, ``"curve"`` or ``"pan"``."""
    start: Pos
    session: Session
    camera: Camera
    button: int


class Pointer:
    """Turns mouse events into what the desk does."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._at: Pos = (desk.size[0] // 2, desk.size[1] // 2)
        self.drag: Drag | None = None
        self.is_space_down = False
        self.hover_deg: float | None = None

    def down(self, pos: Pos, button: int) -> None:
        """A button is pressed."""
        desk = self._desk
        self._at = pos
        if button > 3:
            return  # old-fashioned wheel events; MOUSEWHEEL tells the same
        if desk.is_help_open:
            desk.is_help_open = False
            return
        if self._press_notice(pos):
            return
        name = desk.painter.panel.hit(pos)
        if name is not None and name.startswith("choice:"):
            if button == 1:
                desk.keyboard.choose(int(name[7:]))
            return
        desk.keyboard.leave_panel_field()
        # What was typed may have changed the cards.
        name = desk.painter.panel.hit(pos)
        if name is not None:
            if button == 1:
                desk.press(name)
        elif self.drag is None and not desk.artist.down(pos, button):
            self._begin(pos, button)

    def up(self, pos: Pos, button: int) -> None:
        """A button is let go."""
        self._at = pos
        if self.drag is not None and self.drag.button == button:
            self._drag_to(pos)
            self.end_drag()
        elif button == 1:
            self._desk.artist.up(pos)
        self._hover(pos)

    def motion(self, pos: Pos) -> None:
        """The mouse has moved."""
        self._at = pos
        self._drag_to(pos)
        self._hover(pos)

    def leave(self) -> None:
        """The mouse has left the window."""
        self.hover_deg = None
        self._desk.artist.leave()

    def end_drag(self) -> None:
        """Take what the drag has done as one step."""
        drag, self.drag = self.drag, None
        self._desk.artist.end_drag()
        session = self._desk.session
        if drag is not None and session is not None and session.placement != drag.session.placement:
            self._desk.remember(drag.session)

    def abandon_drag(self) -> None:
        """Put everything back to where it was when the button went down."""
        drag, self.drag = self.drag, None
        self._desk.artist.end_drag()
        if drag is not None:
            self._desk.session = drag.session
            self._desk.camera = drag.camera

    def forget(self) -> None:
        """Let go of a drag, as when another file is shown."""
        self.drag = None

    def wheel(self, steps: float) -> None:
        """Scroll the panel or magnify the bench, wherever the pointer is."""
        desk = self._desk
        if desk.is_help_open:
            return
        if desk.layout.panel.collidepoint(self._at):
            desk.scroll_by(-round(steps * desk.layout.px(40)))
        elif desk.layout.bench.collidepoint(self._at):
            desk.zoom_at(self._at, ZOOM_STEP**steps)

    def _press_notice(self, pos: Pos) -> bool:
        desk = self._desk
        if desk.notice is None:
            return False
        error = desk.editing.error if desk.editing is not None else ""
        box, field, close = notice_boxes(desk.notice, desk.layout, desk.painter.texts, error)
        if not box.collidepoint(pos):
            return False
        if close.inflate(8, 8).collidepoint(pos):
            desk.notice = None
            desk.editing = None
        elif (
            field is not None
            and field.collidepoint(pos)
            and (desk.editing is None or desk.editing.name != desk.notice.field)
        ):
            desk.edit_field(desk.notice.field)
        return True

    def _begin(self, pos: Pos, button: int) -> None:
        desk = self._desk
        session, camera, layout = desk.session, desk.camera, desk.layout
        if session is None or camera is None:
            return
        if is_in_plot(layout, pos):
            if button == 1:
                self.drag = Drag("curve", pos, session, camera, button)
                self._drag_to(pos)
            return
        if not layout.view.collidepoint(pos):
            return
        kind = "pan"
        if button == 1 and not self.is_space_down:
            kind = thing_at(pos, desk.painter.texts, layout, session, camera)
        if kind.startswith("cup:"):
            index = int(kind[4:])
            desk.change(lambda s: model.with_cup(s, index))
            return
        self.drag = Drag(kind, pos, session, camera, button)

    def _drag_to(self, pos: Pos) -> None:
        drag, desk = self.drag, self._desk
        if drag is None:
            return
        dx, dy = pos[0] - drag.start[0], pos[1] - drag.start[1]
        if drag.kind == "pan":
            desk.camera = drag.camera.panned(dx, dy)
            desk.is_camera_ours = desk.is_camera_ours and (dx, dy) == (0, 0)
        elif drag.kind == "cup":
            scale = drag.camera.px_per_mm
            # A press without a motion is no wish to put the cup on a settable step.
            moved = model.moved(drag.session, dx / scale, -dy / scale)
            moved = moved if (dx, dy) != (0, 0) else drag.session
            desk.session = desk.artist.snapped(drag.session, moved)
        elif drag.kind == "curve":
            desk.session = model.with_turn(drag.session, self._curve_turn(drag.session, pos))
        else:
            desk.session = self._turned(drag, pos)

    def _curve_turn(self, session: Session, pos: Pos) -> float:
        """The angle that a point of the curve stands for."""
        layout = self._desk.layout
        turn = turn_at(layout, pos[0])
        marks = [0.0]
        if session.is_fit_current and not session.limits.is_cup_alone:
            marks.insert(0, session.cup_fit.best.settable.turn_deg)
        per_px = turn_at(layout, pos[0] + 1) - turn_at(layout, pos[0] - 1)
        for mark in marks:
            if abs(turn - mark) <= SNAP_PX * max(per_px, 0.01) / 2:
                return mark
        return round(turn, 1)

    def _turned(self, drag: Drag, pos: Pos) -> Session:
        place = overlay_place(drag.session, drag.camera, self._desk.layout)
        angles = [
            math.degrees(math.atan2(place.center[1] - y, x - place.center[0]))
            for x, y in (drag.start, pos)
        ]
        by_deg = round(angles[1] - angles[0], 1)
        if by_deg == 0:
            return drag.session
        turn = round(drag.session.placement.turn_deg - by_deg, 1)
        return model.with_turn(drag.session, self._desk.artist.snapped_turn(drag.session, turn))

    def _hover(self, pos: Pos) -> None:
        layout = self._desk.layout
        inside = self.drag is None and is_in_plot(layout, pos)
        self.hover_deg = turn_at(layout, pos[0]) if inside else None
        self._desk.artist.motion(pos)
