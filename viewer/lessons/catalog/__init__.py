"""All lessons. A module here that holds a ``LESSON`` is one; nothing else lists them."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from viewer.errors import UsageError
from viewer.lessons.lesson import Lesson


@cache
def all_lessons() -> tuple[Lesson, ...]:
    """Every lesson, in the order of their numbers. ValueError for two of one number or key."""
    found: list[Lesson] = []
    for module in pkgutil.iter_modules(__path__, f"{__name__}."):
        lesson = getattr(importlib.import_module(module.name), "LESSON", None)
        if isinstance(lesson, Lesson):
            found.append(lesson)
    for what in ("number", "key"):
        values = [getattr(lesson, what) for lesson in found]
        if len(set(values)) < len(values):
            raise ValueError(f"two lessons have the same {what}: {sorted(values)}")
    return tuple(sorted(found, key=lambda lesson: lesson.number))


def lesson_named(text: str) -> Lesson:
    """The lesson of a number or key. UsageError where there is none."""
    wanted = text.strip().casefold()
    for lesson in all_lessons():
        if wanted in (str(lesson.number), lesson.key):
            return lesson
    names = ", ".join(f"{lesson.number} {lesson.key}" for lesson in all_lessons())
    raise UsageError(f"there is no lesson {text[:40]!r}; there are {names}")
