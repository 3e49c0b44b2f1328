"""What threads find out for the artist's tools: the ways out, and the pieces of ink."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import cast

from viewer.artwork.model import Artwork
from viewer.errors import BrimcheckError
from viewer.fit import WayOut, WaysOut, ways_out
from viewer.screen import model
from viewer.screen.background import Background, Work
from viewer.screen.loader import Opener
from viewer.screen.model import Session
from viewer.screen.tools import PieceLike

Wish = tuple[Hashable, Work, object]
Pieces = tuple[PieceLike, ...]


class Findings:
    """Asks for them, and gives what has been found so far."""

    def __init__(self, opener: Callable[[], Opener], wake: Callable[[], None]) -> None:
        self._opener = opener
        self._ways = Background("ways-out", wake)
        self._pieces = Background("find-pieces", wake, 6)

    def ways(self, session: Session) -> WaysOut | BrimcheckError | None:
        """The ways out of a session; None while they are worked out."""
        wish = _ways_wish(session)
        found = self._ways.get(wish[0])
        if found is None:
            self._ways.want(*wish)
        return cast(WaysOut | BrimcheckError | None, found)

    def no_ways(self) -> None:
        """Leave off working ways out, as while the cup moves."""
        self._ways.want_nothing()

    def pieces(self, session: Session) -> Pieces | BrimcheckError | None:
        """The pieces of a session's file; None while they are looked for."""
        wish = self._pieces_wish(session.loaded)
        found = self._pieces.get(wish[0])
        if found is None:
            self._pieces.want(*wish)
        return cast(Pieces | BrimcheckError | None, found)

    def now(self, session: Session, with_pieces: bool) -> None:
        """Find all of it before returning."""
        self._ways.now(*_ways_wish(session))
        if with_pieces:
            self._pieces.now(*self._pieces_wish(session.loaded))

    def wait(self, timeout_s: float) -> bool:
        """Wait for the threads; False when it takes longer."""
        return self._ways.wait(timeout_s) and self._pieces.wait(timeout_s)

    def stop(self) -> None:
        """End the threads."""
        self._ways.stop()
        self._pieces.stop()

    def _pieces_wish(self, loaded: Artwork) -> Wish:
        opener = self._opener()
        return id(loaded), lambda cancelled: opener.pieces(loaded, cancelled), loaded


def _ways_wish(session: Session) -> Wish:
    def work(cancelled: Callable[[], bool]) -> object:
        def resize(factor: float) -> Artwork:
            return model.scaled_artwork(session.loaded, session.scale * factor)

        return ways_out(
            session.fit, session.cup_fit, session.placement, resize, session.scale, cancelled
        )

    return (id(session.fit), session.cup_index, session.placement), work, session.fit


def taken(session: Session, way: WayOut) -> Session:
    """The session with a way taken: scaled, another cup, the cup placed."""
    if way.factor != 1.0:
        session = model.with_scale(session, round(session.scale * way.factor, 9))
    index = next((i for i, c in enumerate(session.fit.cups) if c.cup == way.cup), session.cup_index)
    return model.replaced(model.with_cup(session, index), way.placement)
