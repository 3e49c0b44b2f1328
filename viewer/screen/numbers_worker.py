"""Answers to numbers: at once for a cup alone, in a thread where pad or etch area count."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from viewer.errors import BrimcheckError
from viewer.press import Press
from viewer.screen.background import Background
from viewer.sizing import SizeAnswer, SizeQuery, answer_size

Found = SizeAnswer | BrimcheckError
KEPT = 32


class NumbersWorker:
    """Answers; the newest wish wins. ``wake`` is called after each one from the thread."""

    def __init__(self, wake: Callable[[], None]) -> None:
        self._background = Background("size-numbers", wake, KEPT)

    @property
    def count(self) -> int:
        """How many answers have come from the thread."""
        return self._background.count

    def ask(self, query: SizeQuery, press: Press) -> Found | None:
        """The answer; None while it is worked on."""
        asked = (query, press)

        def work(cancelled: Callable[[], bool]) -> SizeAnswer:
            return answer_size(query, press, cancelled)

        if press.limits.is_cup_alone:
            self.forget()
            self._background.now(asked, work)
        else:
            self._background.want(asked, work)
        return cast(Found | None, self._background.get(asked))

    def forget(self) -> None:
        """Nothing is wanted any more."""
        self._background.want_nothing()

    def wait(self, timeout_s: float) -> bool:
        """Wait until what is wanted is there; False when it takes longer."""
        return self._background.wait(timeout_s)

    def stop(self) -> None:
        """End the thread."""
        self._background.stop()
