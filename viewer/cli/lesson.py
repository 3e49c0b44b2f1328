"""``brimcheck lesson``: lessons in the window, their list, and a page of one to print."""

from __future__ import annotations

import os
import secrets
import sys
from dataclasses import replace
from typing import TYPE_CHECKING

from viewer.cli.lesson_parser import LIST, LessonOrder
from viewer.cli.measuring import measure
from viewer.cli.options import Settings
from viewer.cli.template import PRINT_IT, page_words
from viewer.errors import BrimcheckError, UsageError
from viewer.report import CAUTION, printable
from viewer.sheets.target import refuse_bad_pdf_target

if TYPE_CHECKING:
    from viewer.lessons.lesson import Lesson
    from viewer.lessons.lesson_sheet import LessonSheets

EXIT_DONE = 0
_SEEDS = 10_000


def lesson(settings: Settings) -> int:
    """Run one call. What stops it raises BrimcheckError."""
    order = settings.lesson
    if order is None:
        raise ValueError("a call of lesson without an order")
    if order.which == LIST:
        if settings.files:
            raise UsageError("lesson list takes no FILE")
        return _list(order)
    chosen = _chosen(order, settings)
    path = settings.files[0] if settings.files else None
    if order.target is not None:
        if chosen is None:
            raise UsageError("-o writes a page of one lesson: brimcheck lesson 3 -o page.pdf")
        return _write(settings, order, chosen, path)
    return _open(settings, order, chosen, path)


def _chosen(order: LessonOrder, settings: Settings) -> Lesson | None:
    """The lesson that is named, with a file if and only if it is about one."""
    from viewer.lessons.catalog import lesson_named

    if not order.which:
        return None
    try:
        found = lesson_named(order.which)
    except UsageError as error:
        hint = "; FILE comes behind N" if os.path.exists(order.which) else ""
        raise UsageError(f"{error.message}{hint}") from None
    form = f"brimcheck lesson {found.number} FILE"
    if found.needs_artwork and not settings.files:
        raise UsageError(f"lesson {found.number} is about artwork of your own: {form}")
    if settings.files and not found.needs_artwork:
        raise UsageError(f"lesson {found.number} brings its own shapes: leave FILE out")
    if settings.files and os.path.isdir(settings.files[0]):
        raise UsageError(f"{settings.files[0]} is a folder: a lesson is about one file")
    if settings.files and not os.path.exists(settings.files[0]):
        raise UsageError(f"{settings.files[0]}: there is no such file")
    return found


# --- brimcheck lesson list ----------------------------------------------------------------


def _list(order: LessonOrder) -> int:
    """Number, key, title, and what the learner has done of each."""
    from viewer.lessons.catalog import all_lessons
    from viewer.lessons.learners import load_progress
    from viewer.lessons.texts import load_texts

    texts, lessons = load_texts(), all_lessons()
    progress = load_progress(order.learner) if order.learner else None
    rows = [("", "lesson", "title", "")]
    for one in lessons:
        title = texts.of(one.key).say("title")
        done = "" if progress is None else _done_words(progress.of(one.key))
        rows.append((str(one.number), one.key, title, done))
    if progress is not None:
        rows[0] = ("", "lesson", "title", progress.learner)
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    for row in rows:
        cells = [row[0].rjust(widths[0]), row[1].ljust(widths[1]), row[2].ljust(widths[2]), row[3]]
        print(printable("  ".join(cells).rstrip()))
    if progress is not None:
        count = sum(progress.is_done(one.key) for one in lessons)
        print(f"{count} of {len(lessons)} done")
        if progress.notice:
            sys.stdout.flush()
            print(f"brimcheck: {printable(progress.notice)}", file=sys.stderr)
    return EXIT_DONE


def _done_words(done: object) -> str:
    from viewer.lessons.learners import LessonProgress

    assert isinstance(done, LessonProgress)
    answers = f"{done.right} right, {done.wrong} wrong"
    if done.first_finished is not None:
        return f"done {done.first_finished.isoformat()}; {answers}"
    return f"begun; {answers}" if done.right or done.wrong else "not yet"


# --- brimcheck lesson N -o page.pdf -------------------------------------------------------


def _write(settings: Settings, order: LessonOrder, chosen: Lesson, path: str | None) -> int:
    """The page, and the answers beside it or where they are wanted; neither, or both."""
    target = order.target or ""
    answers = _answers_target(order, target, path, settings.press_path)
    seed = secrets.randbelow(_SEEDS) if order.seed is None else order.seed
    sheets = _composed(settings, replace(order, seed=seed), chosen, path)

    from viewer.job.atomic import write_atomically
    from viewer.sheets.pdf_writer import pdf_bytes

    for name, document in ((answers, sheets.answers), (target, sheets.page)):
        write_atomically(name, pdf_bytes(document))
    count = len(sheets.asks)
    wanted = order.exercises
    short = f" (no more than {count} have room, or differ)" if wanted and count < wanted else ""
    exercises = f"{count} exercise{'' if count == 1 else 's'}"
    print(f"{printable(target)}: written, 1 page; {exercises}{short}, seed {seed}")
    print(f"{printable(answers)}: the answers, {page_words(len(sheets.answers.pages))}")
    print(PRINT_IT)
    print(CAUTION)
    return EXIT_DONE


def _composed(
    settings: Settings, order: LessonOrder, chosen: Lesson, path: str | None
) -> LessonSheets:
    from viewer.lessons.lesson import Given
    from viewer.lessons.lesson_sheet import USUAL_COUNT, LessonSheetOrder, lesson_sheets
    from viewer.sheets.pdf_writer import measure_text

    given = Given() if path is None else Given(measure(path, settings), settings.press)
    sheet_order = LessonSheetOrder(
        chosen,
        order.seed or 0,
        order.base,
        order.date,
        given,
        order.exercises or USUAL_COUNT,
        order.learner,
    )
    return lesson_sheets(sheet_order, measure_text)


def _answers_target(
    order: LessonOrder, target: str, path: str | None, press_path: str | None
) -> str:
    """Where the answers go. UsageError where either file may not be written."""
    others = [(path, "the artwork"), (press_path, "the press file")]
    refuse_bad_pdf_target(target, others)
    stem, ending = os.path.splitext(target)
    answers = order.answers if order.answers is not None else f"{stem}-answers{ending}"
    try:
        refuse_bad_pdf_target(answers, others)
    except UsageError as error:
        raise UsageError(f"--answers{error.message.removeprefix('-o')}") from error
    if os.path.realpath(answers) == os.path.realpath(target):
        raise UsageError(f"--answers {answers}: that is the page itself; give another name")
    return answers


# --- brimcheck lesson ---------------------------------------------------------------------


def _open(settings: Settings, order: LessonOrder, chosen: Lesson | None, path: str | None) -> int:
    """Open the window, or write a picture of it."""
    from viewer.cli.shell import has_display, refuse_bad_picture_name

    if settings.snapshot is not None:
        refuse_bad_picture_name(settings.snapshot, path)
    elif not has_display(os.environ, sys.platform):
        raise UsageError(
            "no display is available: brimcheck lesson 3 -o page.pdf writes a page,"
            " brimcheck lesson list prints them all"
        )
    if order.learner:
        from viewer.lessons.learners import plain_name

        plain_name(order.learner)  # a name that is none is refused before a window opens
    try:
        from viewer.screen.app import run_lessons
    except ImportError as error:
        raise BrimcheckError(f"the viewer cannot start ({error}): install pygame") from error
    status = run_lessons(
        None if chosen is None else chosen.key,
        order.learner,
        path,
        settings.load,
        settings.press,
        settings.snapshot,
        settings.size_px,
    )
    return int(status or 0)
