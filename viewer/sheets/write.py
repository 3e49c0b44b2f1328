"""Sheets written to files, in one step each: the template and the fit sheet."""

from __future__ import annotations

from viewer.job.atomic import write_atomically
from viewer.press import Press
from viewer.sheets.art_form import art_form
from viewer.sheets.fit_sheet import FitSheetOrder, fit_sheet
from viewer.sheets.fit_words import Judged
from viewer.sheets.page import Format
from viewer.sheets.pdf_writer import measure_text, pdf_bytes
from viewer.sheets.record_band import NOTHING_TOLD, RecordTold
from viewer.sheets.template import cup_template


def write_template(
    press: Press, target: str, base: Format, date: str, *, nested: bool = False
) -> int:
    """Write the cup template of a press; the number of its pages.

    UsageError where the target cannot be written, or the drawing takes too many pages.
    """
    document = cup_template(press, base, date, measure_text, nested=nested)
    write_atomically(target, pdf_bytes(document))
    return len(document.pages)


def write_fit_sheet(
    judged: Judged, target: str, base: Format, date: str, record: RecordTold = NOTHING_TOLD
) -> int:
    """Write the fit sheet of one cup and one placement; the number of its pages.

    ``record``: what an approval record says about this file; it is printed on every page.
    ArtworkError where the file has changed since it was measured, or cannot be drawn as
    it was; UsageError as of `write_template`. Nothing is written then.
    """
    art = art_form(judged.fit.artwork, judged.cup_fit.cup, judged.placement)
    document = fit_sheet(FitSheetOrder(judged, base, date, art.told, record), measure_text)
    write_atomically(target, pdf_bytes(document, art))
    return len(document.pages)
