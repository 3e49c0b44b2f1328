"""The options of ``brimcheck template`` and ``brimcheck sheet``, and the call as a value."""

from __future__ import annotations

import argparse
import datetime
import math
import re
from dataclasses import dataclass

from viewer.cli import values
from viewer.errors import UsageError
from viewer.fit import Placement
from viewer.sheets.page import PAPERS, Format, paper_named

_NAMES = ", ".join(paper.name for paper in PAPERS)
TEMPLATE_EPILOG = (
    "Exit status: 0 written; 2 nothing was written. Print it at 100 % (actual size), never"
    " fitted to the page, and measure the 100 mm bars before you trust a ring."
)
SHEET_EPILOG = (
    "Exit status: 0 written, and it fits; 1 written, and it does not surely fit (the sheet says"
    " so plainly); 2 nothing was written. Print it at 100 % (actual size), never fitted to the"
    " page, and measure the 100 mm bars."
)


@dataclass(frozen=True)
class SheetOrder:
    """What ``template`` or ``sheet`` is to write; ``placement`` None: the best there is."""

    target: str
    base: Format
    date: str
    cup_name: str | None = None
    placement: Placement | None = None
    nested: bool = False


def add_output_options(group: argparse._ArgumentGroup, *paper_options: str) -> None:
    """The file, the paper, and the printer."""
    group.add_argument("-o", "--output", metavar="OUT.pdf", required=True, help="file to write")
    group.add_argument(
        *paper_options,
        "--paper-size",
        dest="paper_size",
        metavar="NAME",
        help=f"paper of the printer: {_NAMES} (A4)",
    )
    add_printer_options(group, "sheet")


def add_printer_options(group: argparse._ArgumentGroup, what: str) -> None:
    """What a printer does to a length, and the date; ``what`` is printed."""
    group.add_argument(
        "--printer-scale",
        metavar="100/97",
        type=printer_scale,
        help="what was asked for over what was printed, if the 100 mm bar comes out as 97",
    )
    group.add_argument(
        "--date", metavar="YYYY-MM-DD", type=date, help=f"date on the {what} (today)"
    )


def add_template_options(group: argparse._ArgumentGroup) -> None:
    """What ``brimcheck template`` alone knows."""
    add_output_options(group, "--paper")
    group.add_argument("--cup", metavar="NAME", help="only this cup (all of them)")
    group.add_argument(
        "--nested", action="store_true", help="all rings about one centre, on one drawing"
    )


def sheet_paper(text: str) -> str:
    """The artwork's paper; a printer's paper is taken for that, see `order_from`."""
    if any(text.strip().casefold() == paper.name.casefold() for paper in PAPERS):
        return text
    try:
        return values.paper(text)
    except UsageError:
        raise UsageError(
            f"--paper {text[:40]!r}: there is no such paper; give one of {_NAMES} for the sheet,"
            " or transparent, border or #rrggbb for what is paper in the artwork"
        ) from None


def order_from(found: argparse.Namespace, placement: Placement | None = None) -> SheetOrder:
    """The order of a call. ``--paper A4`` of a fit sheet is moved to where it belongs."""
    option = "--paper-size"
    of_artwork = getattr(found, "paper", None)
    if of_artwork is not None and of_artwork.strip().casefold() in _known():
        if found.paper_size is not None:
            raise UsageError("--paper and --paper-size both name a size: give one of them")
        found.paper_size, found.paper, option = of_artwork, None, "--paper"
    elif not hasattr(found, "paper"):
        option = "--paper"
    paper = PAPERS[0] if found.paper_size is None else paper_named(found.paper_size, option)
    scale = 1.0 if found.printer_scale is None else found.printer_scale
    return SheetOrder(
        target=found.output,
        base=Format(paper, printer_scale=scale),
        date=datetime.date.today().isoformat() if found.date is None else found.date,
        cup_name=found.cup,
        placement=placement,
        nested=getattr(found, "nested", False),
    )


def _known() -> set[str]:
    return {paper.name.casefold() for paper in PAPERS}


def printer_scale(text: str) -> float:
    """``100/97``, ``1.031`` or ``103.1%``, from 0.9 to 1.1."""
    wrong = UsageError(
        f"--printer-scale {text[:40]!r}: write 100/97 where 97 mm were measured of 100;"
        " from 90 % to 110 %"
    )
    number = r"(\d{1,9}(?:[.,]\d{1,9})?)"
    match = re.fullmatch(rf"\s*{number}\s*(?:/\s*{number}|(%))?\s*", text, re.ASCII)
    if match is None:
        raise wrong
    value = float(match[1].replace(",", "."))
    if match[2] is not None:
        below = float(match[2].replace(",", "."))
        value = value / below if below else math.inf
    elif match[3] is not None:
        value /= 100.0
    if not 0.9 - 1e-9 <= value <= 1.1 + 1e-9:
        raise wrong
    return value


def date(text: str) -> str:
    """A date as YYYY-MM-DD."""
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
            raise ValueError
        datetime.date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"--date {text[:40]!r} is not a date; write it like 2025-06-30") from None
    return text
