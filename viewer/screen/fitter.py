"""Fits and curves worked out in a thread, so that no frame waits for them.

Only what is wanted last is worked on; what was found is kept for undo and redo.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from viewer.artwork.model import Artwork
from viewer.errors import BrimcheckError, Cancelled
from viewer.fit import AngleCurve, Fit, angle_curve, fit_artwork
from viewer.press.cups import Cup
from viewer.press.limits import PressLimits
from viewer.screen.model import Session

Found = AngleCurve | Fit | BrimcheckError
KEPT = 48


@dataclass(frozen=True, eq=False)
class Task:
    """One thing to work out: the curve of ``cup``, or without one the fit of ``cups``."""

    artwork: Artwork
    limits: PressLimits
    cup: Cup | None
    cups: tuple[Cup, ...] = ()
    setup_tolerance_mm: float = 0.0

    @property
    def key(self) -> tuple[object, ...]:
        """Equal for equal tasks. The artwork counts by identity; it is kept with the result."""
        return (id(self.artwork), self.limits, self.cup, self.cups)

    def run(self, cancelled: Callable[[], bool]) -> Found:
        """Do it; slow."""
        if self.cup is not None:
            return angle_curve(self.artwork, self.cup, self.limits, cancelled=cancelled)
        return fit_artwork(
            self.artwork, self.cups, self.setup_tolerance_mm, self.limits, cancelled=cancelled
        )


def tasks_for(session: Session) -> tuple[Task, ...]:
    """What a session needs, the quickest first."""
    found = []
    if not session.limits.is_cup_alone:
        found.append(Task(session.artwork, session.limits, session.cup))
    if not session.is_fit_current:
        found.append(_fit_task(session))
    return tuple(found)


def _fit_task(session: Session) -> Task:
    cups = tuple(c.cup for c in session.fit.cups)
    tolerance_mm = session.press.setup_tolerance_mm
    return Task(session.artwork, session.limits, None, cups, tolerance_mm)


class Fitter:
    """Works in one thread; the newest wish wins."""

    def __init__(self, wake: Callable[[], None]) -> None:
        self._wake = wake
        self._condition = threading.Condition()
        self._tasks: tuple[Task, ...] = ()
        self._found: OrderedDict[tuple[object, ...], tuple[Task, Found]] = OrderedDict()
        self._is_stopped = False
        self._thread: threading.Thread | None = None
        self._wanted: Session | None = None

    def want(self, session: Session | None) -> None:
        """Work on what this session needs, and on nothing else."""
        if session is self._wanted:
            return
        self._wanted = session
        tasks = tasks_for(session) if session is not None else ()
        with self._condition:
            self._tasks = tuple(task for task in tasks if task.key not in self._found)
            if self._tasks and self._thread is None:
                self._thread = threading.Thread(target=self._run, name="fit-artwork", daemon=True)
                self._thread.start()
            if self._tasks:
                # Woken for nothing, the thread would only take time from the frame.
                self._condition.notify_all()

    @property
    def is_busy(self) -> bool:
        """Whether something wanted is not there yet."""
        return bool(self._tasks)

    def curve_of(self, session: Session) -> AngleCurve | None:
        """The curve of the chosen cup, if it has been worked out."""
        found = self._get(Task(session.artwork, session.limits, session.cup))
        return found if isinstance(found, AngleCurve) else None

    def fit_of(self, session: Session) -> Fit | BrimcheckError | None:
        """The fit of a session's artwork and limits, or why there is none."""
        found = self._get(_fit_task(session))
        return found if isinstance(found, Fit | BrimcheckError) else None

    def keep(self, session: Session) -> None:
        """Remember the fit that a session has brought along, for undo."""
        if session.is_fit_current:
            task = _fit_task(session)
            with self._condition:
                self._put(task, session.fit)

    def work_now(self, session: Session) -> None:
        """Work out all that a session needs before returning."""
        for task in tasks_for(session):
            if self._get(task) is None:
                found = _outcome(task, lambda: False)
                with self._condition:
                    self._put(task, found)

    def wait(self, timeout_s: float) -> bool:
        """Wait until all that is wanted is there; False when it takes longer."""
        with self._condition:
            return self._condition.wait_for(lambda: not self._tasks, timeout_s)

    def stop(self, timeout_s: float = 2.0) -> None:
        """End the thread."""
        with self._condition:
            self._is_stopped = True
            self._tasks = ()
            self._condition.notify_all()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _get(self, task: Task) -> Found | None:
        with self._condition:
            entry = self._found.get(task.key)
            if entry is None:
                return None
            self._found.move_to_end(task.key)
            return entry[1]

    def _put(self, task: Task, found: Found) -> None:
        self._found[task.key] = (task, found)
        while len(self._found) > KEPT:
            self._found.popitem(last=False)

    def _run(self) -> None:
        while True:
            with self._condition:
                self._condition.wait_for(lambda: bool(self._tasks) or self._is_stopped)
                if self._is_stopped:
                    return
                task = self._tasks[0]
            found = _outcome(task, lambda task=task: self._is_dropped(task))  # type: ignore[misc]
            with self._condition:
                if not isinstance(found, Cancelled):
                    self._put(task, found)
                    self._tasks = tuple(t for t in self._tasks if t.key != task.key)
                    self._condition.notify_all()
            self._wake()

    def _is_dropped(self, task: Task) -> bool:
        # Compared by key: another wish may want the very same thing again.
        return all(task.key != other.key for other in self._tasks)


def _outcome(task: Task, cancelled: Callable[[], bool]) -> Found:
    try:
        return task.run(cancelled)
    except BrimcheckError as error:
        return error
    except Exception as error:  # a window must not freeze on a fault in a thread
        return BrimcheckError(f"the fit failed ({type(error).__name__}: {error})")
