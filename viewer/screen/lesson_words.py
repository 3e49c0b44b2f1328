"""What the line at the bottom says in lessons."""

from __future__ import annotations

from viewer.lessons.view import Stage
from viewer.screen.lesson_shown import LessonShown

LIST_HINTS = (
    "\u2191 \u2193 choose \u00b7 Enter or a number begins \u00b7 N changes the name"
    " \u00b7 Esc goes back to the work \u00b7 F1 shows every key",
    "\u2191 \u2193 choose \u00b7 Enter begins \u00b7 N: name \u00b7 Esc: back to the work",
    "Enter begins \u00b7 Esc: back",
    "Esc: back",
)
TRY_HINTS = (
    "drag the ring to move it \u00b7 drag its knob to turn it \u00b7 wheel zooms"
    " \u00b7 Ctrl+Z undoes \u00b7 Esc: all lessons",
    "drag the ring or its knob \u00b7 wheel zooms \u00b7 Esc: all lessons",
    "drag the ring \u00b7 Esc: all lessons",
    "Esc: all lessons",
    "Esc: list",
)
LATER_HINTS = (
    "wheel zooms \u00b7 drag the bench to look around \u00b7 F shows all \u00b7 B: best place"
    " \u00b7 Esc: all lessons",
    "wheel zooms \u00b7 F shows all \u00b7 B: best place \u00b7 Esc: all lessons",
    "F shows all \u00b7 Esc: all lessons",
    "Esc: all lessons",
    "Esc: list",
)


def hints(lesson: LessonShown | None) -> tuple[str, ...]:
    """How to go on, the longest wording first; nothing outside of lessons."""
    if lesson is None:
        return ()
    if lesson.view is None:
        return LIST_HINTS
    return TRY_HINTS if lesson.view.stage is Stage.TRY else LATER_HINTS


def lesson_title(lesson: LessonShown) -> str:
    """How the window's title begins in lessons."""
    view = lesson.view
    return "Lessons" if view is None else f"Lesson {view.number}: {view.title}"
