"""Which desk is in front: that of the work, or that of the lessons."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from viewer.job.settings import Settings
from viewer.screen.desk import Desk
from viewer.screen.store import Store

if TYPE_CHECKING:
    from viewer.screen.lesson_desk import LessonDesk

SystemTheme = Callable[[], str]


class Front:
    """Goes over to the lessons and back; neither desk knows of the other's history."""

    def __init__(
        self,
        work: Desk,
        make: Callable[[tuple[int, int]], LessonDesk],
        store: Store | None = None,
        system_theme: SystemTheme = lambda: "dark",
    ) -> None:
        """``make`` makes the lessons' desk when they are wanted first."""
        self.work = work
        self._make = make
        self._store, self._system_theme = store, system_theme
        self._lessons: LessonDesk | None = None
        self._is_lessons = False
        self._before: Settings | None = None
        self._first: tuple[int | None, str] | None = None

    @property
    def desk(self) -> Desk:
        """The desk in front."""
        return self._lessons if self._is_lessons and self._lessons is not None else self.work

    @property
    def is_closed(self) -> bool:
        """Whether the window is to be closed."""
        return self.work.is_closed

    def begin_with(self, index: int | None, learner: str) -> None:
        """Go over to the lessons as soon as the work has read its file.

        ``index``: the lesson to begin, counted from 0; None for the list.
        """
        self._first = (index, learner)
        self.work.wants_lessons = True

    def turn(self) -> bool:
        """Change over where that is wished; True when another desk is in front now."""
        if not self._is_lessons:
            if not self.work.wants_lessons or self._is_waiting:
                return False
            self.work.wants_lessons = False
            if self._first is not None and self.work.notice is not None:
                self._first = None  # the file could not be read, and that must be seen
                return False
            self._go_over()
            return True
        lessons = self._lessons
        assert lessons is not None
        if not lessons.is_left:
            return False
        self._come_back(lessons)
        return True

    @property
    def _is_waiting(self) -> bool:
        """Whether a file is being read that a lesson may be about."""
        return self._first is not None and self.work.job is not None

    def _go_over(self) -> None:
        work = self.work
        work.settle()
        if self._lessons is None:
            self._lessons = self._make(work.size)
        lessons = self._lessons
        if lessons.size != work.size:
            lessons.resize(work.size)
        if self._store is not None:
            self._before = self._store.settings
            lessons.looks.use_settings(self._before, self._store.change, self._system_theme)
        first, self._first = self._first, None
        if first is not None and first[1]:
            lessons.lesson.use_learner(first[1])
        lessons.come(work)
        if first is not None and first[0] is not None:
            lessons.editing = None
            lessons.lesson.open(first[0])
        self._is_lessons = True
        lessons.painter.forget()

    def _come_back(self, lessons: LessonDesk) -> None:
        work, store = self.work, self._store
        self._is_lessons = False
        lessons.is_left = False
        if work.size != lessons.size:
            work.resize(lessons.size)
        if store is not None and store.settings != self._before:
            work.looks.use_settings(store.settings, store.change, self._system_theme)
        work.painter.forget()
        if lessons.wants_quit:
            lessons.wants_quit = False
            work.quit()

    def close(self) -> None:
        """Let go of both."""
        if self._lessons is not None:
            self._lessons.close()
        self.work.close()


def lesson_index(key: str) -> int:
    """Where in the list a lesson is, by its key or number. UsageError where there is none."""
    from viewer.lessons.catalog import all_lessons, lesson_named

    return all_lessons().index(lesson_named(key))


def lesson_desk(size: tuple[int, int], wake: Callable[[], None]) -> LessonDesk:
    """The lessons' desk of a real window; the lessons are loaded when first wanted."""
    from viewer.screen.lesson_desk import LessonDesk

    return LessonDesk(size, wake=wake, clock=time.monotonic)
