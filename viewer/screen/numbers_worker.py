"""Answers to numbers: at once for a cup alone, in a thread where pad or etch area count.

Only what is wanted last is worked on; what was found is kept for a while.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable

from viewer.errors import BrimcheckError, Cancelled
from viewer.press import Press
from viewer.sizing import SizeAnswer, SizeQuery, answer_size

Asked = tuple[SizeQuery, Press]
Found = SizeAnswer | BrimcheckError
KEPT = 32


class NumbersWorker:
    """Answers in one thread; the newest wish wins. ``wake`` is called after each answer."""

    def __init__(self, wake: Callable[[], None]) -> None:
        self._wake = wake
        self._condition = threading.Condition()
        self._wanted: Asked | None = None
        self._found: OrderedDict[Asked, Found] = OrderedDict()
        self._is_stopped = False
        self._thread: threading.Thread | None = None
        self.count = 0
        """How many answers have come from the thread."""

    def ask(self, query: SizeQuery, press: Press) -> Found | None:
        """The answer; None while it is worked on."""
        asked = (query, press)
        with self._condition:
            if asked in self._found:
                self._found.move_to_end(asked)
                self._wanted = None
                return self._found[asked]
            if not press.limits.is_cup_alone:
                self._want(asked)
                return None
        found = _outcome(asked, lambda: False)
        with self._condition:
            self._wanted = None
            self._keep(asked, found)
        return found

    def forget(self) -> None:
        """Nothing is wanted any more."""
        with self._condition:
            self._wanted = None
            self._condition.notify_all()

    def wait(self, timeout_s: float) -> bool:
        """Wait until what is wanted is there; False when it takes longer."""
        with self._condition:
            return self._condition.wait_for(lambda: self._wanted is None, timeout_s)

    def stop(self, timeout_s: float = 5.0) -> None:
        """End the thread."""
        with self._condition:
            self._is_stopped = True
            self._wanted = None
            self._condition.notify_all()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _want(self, asked: Asked) -> None:
        if asked == self._wanted:
            return
        self._wanted = asked
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="size-numbers", daemon=True)
            self._thread.start()
        self._condition.notify_all()

    def _keep(self, asked: Asked, found: Found) -> None:
        self._found[asked] = found
        while len(self._found) > KEPT:
            self._found.popitem(last=False)

    def _run(self) -> None:
        while True:
            with self._condition:
                self._condition.wait_for(lambda: self._wanted is not None or self._is_stopped)
                asked = self._wanted
            if self._is_stopped or asked is None:
                return
            found = _outcome(asked, lambda asked=asked: self._wanted != asked)  # type: ignore[misc]
            with self._condition:
                if isinstance(found, Cancelled):
                    continue  # wished for again meanwhile, it is begun anew
                self._keep(asked, found)
                self.count += 1
                if self._wanted == asked:
                    self._wanted = None
                self._condition.notify_all()
            self._wake()


def _outcome(asked: Asked, cancelled: Callable[[], bool]) -> Found:
    try:
        return answer_size(*asked, cancelled)
    except BrimcheckError as error:
        return error
    except Exception as error:  # a window must not freeze on a fault in a thread
        return BrimcheckError(f"the sum failed ({type(error).__name__}: {error})")
