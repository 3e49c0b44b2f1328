"""The ways out of a cup that is too small: worked out in a thread, looked at, taken."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from viewer.errors import BrimcheckError
from viewer.fit import WayKind, WayOut, WaysOut
from viewer.screen.findings import taken
from viewer.screen.model import Session
from viewer.screen.tools import WAYS, WayRow
from viewer.screen.ways_words import notes_anywhere, notes_here, way_row

if TYPE_CHECKING:
    from viewer.screen.artist import Artist
    from viewer.screen.desk import Desk


class WaysTool:
    """The ways out of one desk; what is shown of them is part of the artist's tools."""

    def __init__(self, desk: Desk, artist: Artist) -> None:
        self._desk = desk
        self._artist = artist
        self._session: Session | None = None

    def keep(self, session: Session) -> None:
        """Have the ways of what is shown worked out, and take what has been."""
        desk = self._desk
        is_moving = desk.pointer.drag is not None or desk.is_gliding
        if session is self._session and not self._artist.tools.are_ways_old:
            return
        if is_moving or not session.is_fit_current:
            self._artist.findings.no_ways()
            self._age(session)
            return
        found = self._artist.findings.ways(session)
        if found is None:
            self._age(session)
            return
        self._session = session
        ways = found if isinstance(found, WaysOut) else None
        told: tuple[str, ...] = (found.message,) if isinstance(found, BrimcheckError) else ()
        anywhere: tuple[str, ...] = ()
        rows: tuple[WayRow, ...] = ()
        if ways is not None:
            placed = session.placed()[session.cup_index]
            rows = tuple(way_row(session, way, self._artist.tools.pieces) for way in ways.ways)
            told = notes_here(session, ways, placed)
            anywhere = notes_anywhere(session, ways)
        before = self._field_y()
        self._artist.tools = replace(
            self._artist.tools,
            ways=ways,
            rows=rows,
            notes=told,
            notes_anywhere=anywhere,
            found_for=(id(session.fit), session.cup_index),
            are_ways_old=False,
        )
        after = self._field_y()
        if before is not None and after is not None:
            # A field being typed in stays where it is, though the card above has grown.
            self._desk.scroll_by(after - before)

    def _field_y(self) -> int | None:
        """Where the field that has the keyboard is; None where none in the panel has it."""
        desk = self._desk
        if desk.editing is None:
            return None
        desk.painter.panel.update(desk.frame(), desk.layout)
        box = desk.painter.panel.place_of(f"field:{desk.editing.name}")
        return None if box is None else box.y

    def _age(self, session: Session) -> None:
        if session is not self._session and not self._artist.tools.are_ways_old:
            self._artist.tools = replace(self._artist.tools, are_ways_old=True)

    def show_preview(self) -> None:
        """The way pointed at, focused, or come to with the arrow keys."""
        tools = self._artist.tools
        way = tools.way if tools.mode == WAYS else -1
        count = len(tools.rows)
        for name in (self._desk.looks.look.focus, tools.hover.removeprefix("panel:")):
            kind, _, number = name.partition(":")
            if kind == "way" and number.isdigit():
                way = int(number)
        if way >= count:
            way = count - 1
        if way != tools.way:
            self._artist.tools = replace(tools, way=way)

    def choose(self) -> None:
        """Let the arrow keys go through the ways out, each with a preview."""
        if self._artist.tools.mode == WAYS or self._desk.session is None:
            self._artist.leave_mode()
            return
        self._artist.keep_up()
        if self._artist.tools.are_ways_old or not self._artist.tools.rows:
            self._desk.looks.say("there is no way to choose here; the card says why")
            return
        self._artist.enter(WAYS)
        self._artist.tools = replace(self._artist.tools, way=0)
        self._desk.show_card("way:0")

    def take(self, number: int) -> None:
        """Do what a way says, counted from 1."""
        self._artist.keep_up()
        tools, session = self._artist.tools, self._desk.session
        if session is None or tools.are_ways_old or tools.ways is None:
            return
        if 1 <= number <= len(tools.ways.ways):
            self._take(session, tools.ways.ways[number - 1])

    def _take(self, session: Session, way: WayOut) -> None:
        if self._artist.tools.mode == WAYS:
            self._artist.leave_mode()
        if way.kind is WayKind.MOVE_IN:
            # Nothing here can draw the artwork otherwise; the place is shown.
            self._artist.look_at(way.moves[0].point_mm, session)
            self._desk.looks.say("draw this place further in in the drawing program")
            return
        self._desk.change(lambda before: taken(before, way))
