"""One thread for work that may be out of date before it is done: the newest wish wins."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable

from viewer.errors import BrimcheckError, Cancelled

Work = Callable[[Callable[[], bool]], object]
"""Called with a function that tells whether nobody wants the outcome any more."""


class Background:
    """Works in one thread; keeps the last outcomes by their keys.

    A key may count values by identity; ``kept_alive`` then holds these as long as the
    outcome is kept.
    """

    def __init__(self, name: str, wake: Callable[[], None], most: int = 24) -> None:
        self._name, self._wake, self._most = name, wake, most
        self._condition = threading.Condition()
        self._wish: tuple[Hashable, Work, object] | None = None
        self._found: OrderedDict[Hashable, tuple[object, object]] = OrderedDict()
        self._is_stopped = False
        self._thread: threading.Thread | None = None
        self.count = 0
        """How many outcomes the thread has brought."""

    def want(self, key: Hashable, work: Work, kept_alive: object = None) -> None:
        """Work on this and on nothing else, unless it is known already."""
        with self._condition:
            if key in self._found:
                self._wish = None
                return
            if self._wish is not None and self._wish[0] == key:
                return
            self._wish = (key, work, kept_alive)
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name=self._name, daemon=True)
                self._thread.start()
            self._condition.notify_all()

    def want_nothing(self) -> None:
        """Leave off what is being worked on."""
        if self._wish is not None:
            with self._condition:
                self._wish = None

    def get(self, key: Hashable) -> object | None:
        """What came of it, or a BrimcheckError; None while that is not known."""
        with self._condition:
            entry = self._found.get(key)
            return None if entry is None else entry[0]

    def now(self, key: Hashable, work: Work, kept_alive: object = None) -> None:
        """Do it before returning."""
        if self.get(key) is None:
            self._put(key, _outcome(work, lambda: False), kept_alive)

    def wait(self, timeout_s: float) -> bool:
        """Wait until what is wanted is there; False when it takes longer."""
        with self._condition:
            return self._condition.wait_for(lambda: self._wish is None, timeout_s)

    def stop(self, timeout_s: float = 2.0) -> None:
        """End the thread."""
        with self._condition:
            self._is_stopped = True
            self._wish = None
            self._condition.notify_all()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _put(self, key: Hashable, found: object, kept_alive: object) -> None:
        with self._condition:
            self._found[key] = (found, kept_alive)
            while len(self._found) > self._most:
                self._found.popitem(last=False)
            if self._wish is not None and self._wish[0] == key:
                self._wish = None
            self._condition.notify_all()

    def _run(self) -> None:
        while True:
            with self._condition:
                self._condition.wait_for(lambda: self._wish is not None or self._is_stopped)
                if self._is_stopped or self._wish is None:
                    return
                key, work, kept_alive = self._wish

            def is_dropped(key: Hashable = key) -> bool:
                wish = self._wish
                return wish is None or wish[0] != key

            found = _outcome(work, is_dropped)
            if isinstance(found, Cancelled):
                with self._condition:
                    # Dropped and wished for again meanwhile: begun anew.
                    continue
            self._put(key, found, kept_alive)
            self.count += 1
            self._wake()


def _outcome(work: Work, cancelled: Callable[[], bool]) -> object:
    try:
        return work(cancelled)
    except BrimcheckError as error:
        return error
    except Exception as error:  # a window must not freeze on a fault in a thread
        return BrimcheckError(f"this failed ({type(error).__name__}: {error})")
