"""The options of ``brimcheck lesson``, and the call as a value."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from viewer.cli.parsers import Parser, add_shared_options, add_window_options
from viewer.cli.sheet_parsers import add_printer_options, sheet_paper
from viewer.errors import UsageError
from viewer.sheets.page import PAPERS, Format, paper_named

LIST = "list"
_NAMES = ", ".join(paper.name for paper in PAPERS)
_LARGEST_SEED = 999_999_999
_OF_SHEET = ("answers", "seed", "exercises", "paper_size", "printer_scale", "date")
_EPILOG = (
    "Without -o and --snapshot the window opens: at the list of lessons, or at the one named."
    " Options about cups, press, size and ink are for the lesson about a file of your own."
    " Print a page at 100 % (actual size), never fitted to the page. Exit status: 0 done;"
    " 2 nothing was written or shown. A file that is called lesson: brimcheck ./lesson."
)


@dataclass(frozen=True)
class LessonOrder:
    """What ``brimcheck lesson`` is to do. ``which``: a number, a key, "list", or nothing.

    ``target``: the page to write; ``answers`` None: beside it. ``seed`` None: any.
    """

    which: str = ""
    learner: str = ""
    target: str | None = None
    answers: str | None = None
    seed: int | None = None
    exercises: int | None = None
    base: Format = field(default_factory=Format)
    date: str = ""


class _Parser(Parser):
    """One that takes N and FILE after options as well: ``lesson -o page.pdf 3``."""

    def parse_args(self, *words: Any, **more: Any) -> Any:
        """As the original does, whatever order the words come in."""
        found, rest = self.parse_known_args(*words, **more)
        if any(word.startswith("-") for word in rest):
            self.error(f"unrecognized arguments: {' '.join(rest)}")
        first = [] if found.which is None else [found.which]
        found.which, *found.files = [*first, *found.files, *rest] or [None]
        return found


def lesson_parser() -> Parser:
    """``brimcheck lesson [N] [FILE]``."""
    parser = _Parser(
        prog="brimcheck lesson",
        allow_abbrev=False,
        description="Lessons for apprentices: in the window, or on one page with exercises and,"
        " apart, their answers.",
        epilog=_EPILOG,
    )
    parser.add_argument(
        "which",
        nargs="?",
        metavar="N",
        help="number or name of a lesson; list prints them all",
    )
    parser.add_argument(
        "files", nargs="*", metavar="FILE", help="your own artwork, for the lesson about it"
    )
    parser.add_argument(
        "--learner", metavar="NAME", help="whose progress is kept or printed; written on the page"
    )
    add_window_options(parser.add_argument_group("window"))
    _add_page_options(parser.add_argument_group("page to print"))
    add_shared_options(parser, sheet_paper, ", or a size of the page's paper")
    return parser


def _add_page_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument("-o", "--output", metavar="OUT.pdf", help="file to write")
    group.add_argument(
        "--answers", metavar="OUT.pdf", help="file for the answers (OUT-answers.pdf beside it)"
    )
    group.add_argument(
        "--seed",
        metavar="N",
        type=_whole("--seed", 0, _LARGEST_SEED),
        help="the same seed asks the same again (another one each time)",
    )
    group.add_argument(
        "--exercises",
        metavar="N",
        type=_whole("--exercises", 1, 12),
        help="how many at most; as many are written as have room (6)",
    )
    group.add_argument(
        "--paper-size",
        dest="paper_size",
        metavar="NAME",
        help=f"paper of the printer: {_NAMES} (A4); --paper A4 will do as well",
    )
    add_printer_options(group, "page")


def _whole(option: str, least: int, most: int) -> Callable[[str], int]:
    """A reader of whole numbers within bounds."""

    def parse(text: str) -> int:
        plain = text.strip()
        is_whole = plain.isascii() and plain.isdigit() and len(plain) <= 12
        if not is_whole or not least <= int(plain) <= most:
            raise UsageError(
                f"{option} must be a whole number from {least} to {most}, not {text[:40]!r}"
            )
        return int(plain)

    return parse


def lesson_order(found: argparse.Namespace) -> LessonOrder:
    """The order of a call. UsageError for options that do not go together."""
    option = "--paper-size"
    if found.paper is not None and _is_sheet_paper(found.paper):
        if found.paper_size is not None:
            raise UsageError("--paper and --paper-size both name a size: give one of them")
        found.paper_size, found.paper, option = found.paper, None, "--paper"
    if len(found.files) > 1:
        raise UsageError("a lesson is about one file: give one FILE")
    if found.output is None:
        _refuse(found, _OF_SHEET, "goes with -o OUT.pdf, which writes a page")
    elif found.snapshot is not None or found.size is not None:
        raise UsageError("-o writes a page, --snapshot and --size are about the window")
    if found.which == LIST:
        _refuse(found, ("output", "snapshot", "size"), "is about a lesson, not about their list")
    paper = PAPERS[0] if found.paper_size is None else paper_named(found.paper_size, option)
    scale = 1.0 if found.printer_scale is None else found.printer_scale
    return LessonOrder(
        which=found.which or "",
        learner=_learner(found.learner),
        target=found.output,
        answers=found.answers,
        seed=found.seed,
        exercises=found.exercises,
        base=Format(paper, printer_scale=scale),
        date=datetime.date.today().isoformat() if found.date is None else found.date,
    )


def _learner(name: str | None) -> str:
    if name is not None and not name.strip():
        raise UsageError("--learner needs a name, such as Mika")
    return name or ""


def _is_sheet_paper(text: str) -> bool:
    return any(text.strip().casefold() == paper.name.casefold() for paper in PAPERS)


def _refuse(found: argparse.Namespace, names: Sequence[str], why: str) -> None:
    for name in names:
        if getattr(found, name) is not None:
            option = "-o" if name == "output" else f"--{name.replace('_', '-')}"
            raise UsageError(f"{option} {why}")
