"""Files read, kept as long as undo or redo can go back to them."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from viewer.screen.artwork_layer import PictureLike
from viewer.screen.loader import Opened
from viewer.screen.model import Session

MOST_READ_AGAIN = 3
"""Each keeps a picture and a renderer; older ones cannot be undone to."""


class KeptFiles:
    """Readings of one file after another; the loaded artwork tells which is which."""

    def __init__(self, close: Callable[[PictureLike], None]) -> None:
        self._close = close
        self._all: list[Opened] = []

    def add(self, opened: Opened) -> None:
        """Keep one more."""
        self._all.append(opened)

    def of(self, session: Session) -> Opened:
        """What a session was read as; it must have been kept."""
        return next(o for o in self._all if o.session.loaded is session.loaded)

    def keep_only(self, sessions: Iterable[Session]) -> None:
        """Let go of all that no session needs any more."""
        needed = {id(session.loaded) for session in sessions}
        for opened in self._all:
            if id(opened.session.loaded) not in needed:
                self._close(opened.picture)
        self._all = [o for o in self._all if id(o.session.loaded) in needed]
