"""Sessions that can be gone back and forward to."""

from __future__ import annotations

from collections.abc import Callable

from viewer.screen.model import Session


class History:
    """Sessions that can be gone back to. One step of a drag counts once."""

    def __init__(self, limit: int = 200) -> None:
        self._past: list[Session] = []
        self._future: list[Session] = []
        self._limit = limit

    @property
    def sessions(self) -> tuple[Session, ...]:
        """All that can be gone back or forward to."""
        return (*self._past, *self._future)

    def limit_files(self, most: int) -> None:
        """Forget the oldest steps until they need no more than so many readings."""
        while len({id(session.loaded) for session in self._past}) > most:
            del self._past[0]

    @property
    def can_undo(self) -> bool:
        """Whether there is something to go back to."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether something undone can be done again."""
        return bool(self._future)

    def remember(self, before: Session) -> None:
        """Call with the session as it was before a change."""
        self._past.append(before)
        del self._past[: -self._limit]
        self._future.clear()

    def undo(self, now: Session) -> Session:
        """The session before the last change; ``now`` where there is none."""
        if not self._past:
            return now
        self._future.append(now)
        return self._past.pop()

    def redo(self, now: Session) -> Session:
        """The session that was undone last; ``now`` where there is none."""
        if not self._future:
            return now
        self._past.append(now)
        return self._future.pop()

    def change_all(self, change: Callable[[Session], Session | None]) -> None:
        """Change every session kept, as when the file has another content; None drops it."""
        self._past = [new for old in self._past if (new := change(old)) is not None]
        self._future = [new for old in self._future if (new := change(old)) is not None]

    def clear(self) -> None:
        """Forget everything, as when another file is opened."""
        self._past.clear()
        self._future.clear()
