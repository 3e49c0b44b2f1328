"""``brimcheck template -o OUT.pdf``: rings at true scale, to be held over a drawing."""

from __future__ import annotations

from dataclasses import replace

from viewer.cli.options import Settings
from viewer.errors import UsageError
from viewer.press import Press
from viewer.report import printable
from viewer.sheets.target import refuse_bad_pdf_target

EXIT_WRITTEN = 0


def write_template_file(settings: Settings) -> int:
    """Write the template and say what was written. What stops it raises BrimcheckError."""
    order = settings.sheet
    if order is None:
        raise ValueError("a call of template without an order")
    refuse_bad_pdf_target(order.target, [(settings.press_path, "the press file")])
    press = settings.press
    if order.cup_name is not None:
        press = _with_one_cup(press, order.cup_name)

    from viewer.sheets.write import write_template

    pages = write_template(press, order.target, order.base, order.date, nested=order.nested)
    names = ", ".join(printable(cup.name) for cup in press.cups)
    print(f"{printable(order.target)}: written, {page_words(pages)}; cups {names}")
    print(PRINT_IT)
    return EXIT_WRITTEN


PRINT_IT = "Print it at 100 % (actual size), not fitted to the page, and measure the 100 mm bars."


def page_words(pages: int) -> str:
    """``1 page`` or ``3 pages``."""
    return f"{pages} page{'' if pages == 1 else 's'}"


def _with_one_cup(press: Press, name: str) -> Press:
    wanted = name.strip().casefold()
    found = tuple(cup for cup in press.cups if cup.name.casefold() == wanted)
    if not found:
        names = ", ".join(cup.name for cup in press.cups)
        raise UsageError(f"--cup {name!r}: there is no such cup; there are {names}")
    return replace(press, cups=found)
