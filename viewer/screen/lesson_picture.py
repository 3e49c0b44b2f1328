"""A picture of a lesson at its beginning, drawn without a window."""

from __future__ import annotations

from viewer.artwork.model import LoadOptions
from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.lesson_desk import LessonDesk
from viewer.screen.lesson_front import Front
from viewer.screen.loader import FileOpener, Opener
from viewer.screen.snapshot import write_frame


def write_lesson_picture(
    target: str,
    index: int | None,
    learner: str,
    path: str | None,
    options: LoadOptions,
    press: Press,
    size: tuple[int, int],
    opener: Opener | None = None,
) -> None:
    """Draw the list (``index`` None) or a lesson's first view, sharp, as a PNG.

    Raises BrimcheckError for a file that cannot be read or written.
    """
    used = opener if opener is not None else FileOpener()
    work = Desk(size, press, used)

    def make(size: tuple[int, int]) -> LessonDesk:
        lessons = LessonDesk(size, used)
        lessons.lesson.learner.is_remembered = False
        return lessons

    front = Front(work, make)
    try:
        if path is not None:
            work.filing.open_now(path, options)
        front.begin_with(index, learner)
        front.turn()
        desk = front.desk
        desk.fit_now()
        desk.sharpness.now()
        write_frame(desk, target)
    finally:
        front.close()
