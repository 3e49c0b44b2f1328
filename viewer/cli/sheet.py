"""``brimcheck sheet FILE -o OUT.pdf``: the fit sheet, whatever the verdict is."""

from __future__ import annotations

import os
from dataclasses import replace

from viewer.artwork.model import Artwork
from viewer.cli.job_check import check_job, is_job_name, refuse_own_options
from viewer.cli.measuring import fit_measured, measure
from viewer.cli.options import PlaceOrder, Settings
from viewer.cli.place import chosen_cup, chosen_placement
from viewer.cli.sheet_parsers import SheetOrder
from viewer.cli.template import PRINT_IT, page_words
from viewer.errors import UsageError
from viewer.fit import CupFit, Fit, Placement, verdict_words
from viewer.job import read_job
from viewer.report import CAUTION, printable
from viewer.sheets.fit_words import Judged
from viewer.sheets.target import refuse_bad_pdf_target
from viewer.signoff import Record, record_place, scaled_load
from viewer.signoff.on_sheet import record_told, refuse_record
from viewer.units import format_clearance_mm

EXIT_FITS = 0
EXIT_DOES_NOT_FIT = 1


def write_sheet_file(settings: Settings) -> int:
    """Write the fit sheet and say what it says; 1 where it does not surely fit as placed.

    The cup is the one named, else the smallest that fits, else the one with most room.
    """
    order = settings.sheet
    if order is None:
        raise ValueError("a call of sheet without an order")
    path = settings.files[0]
    if os.path.isdir(path):
        raise UsageError(f"{path} is a folder: sheet takes one file")
    what = "the job file" if is_job_name(path) else "the artwork"
    others = [(path, what), (settings.press_path, "the press file")]
    refuse_bad_pdf_target(order.target, others)
    judge = _judge_job if is_job_name(path) else _judge_artwork
    judged = judge(path, settings, order)
    refuse_bad_pdf_target(order.target, [(judged.fit.artwork.path, "the artwork")])

    record = Record(record_place(settings.record))
    refuse_record(order.target, record)

    from viewer.sheets.write import write_fit_sheet

    told = record_told(judged, record)
    pages = write_fit_sheet(judged, order.target, order.base, order.date, told)
    placed, cup = judged.placed, judged.cup_fit.cup
    words = verdict_words(placed.verdict, placed.tight, placed.causes)
    print(
        f"{printable(order.target)}: written, {page_words(pages)};"
        f" {printable(cup.name)} cup: {printable(words)},"
        f" clearance {format_clearance_mm(placed.clearance_mm)} mm"
    )
    if told.lines:
        print(f"on every page, from the approval record: {told.lines[0]}")
    elif settings.record is not None and not record.exists:
        print(f"{printable(settings.record)}: there is no approval record yet; none is told")
    print(PRINT_IT)
    print(CAUTION)
    return EXIT_FITS if judged.is_sure else EXIT_DOES_NOT_FIT


def _judge_artwork(path: str, settings: Settings, order: SheetOrder) -> Judged:
    fit = fit_measured(measure(path, settings), settings)
    wanted = PlaceOrder(order.target, order.cup_name, order.placement)
    cup_fit = _cup(fit, wanted)
    placement, placed = chosen_placement(fit, cup_fit, wanted)
    return Judged(fit, cup_fit, placement, placed, settings.press)


def _judge_job(path: str, settings: Settings, order: SheetOrder) -> Judged:
    """A job says all of it itself: cup and placement too."""
    refuse_own_options(path, settings.load, settings.press)
    if order.cup_name is not None or order.placement is not None:
        raise UsageError(
            f"{path} is a job file, which says itself which cup and where: leave --cup and"
            " --center out, or name the artwork instead"
        )
    result, job = check_job(path), read_job(path)
    cup_fit = next(c for c in result.fit.cups if c.cup.name == result.cup_name)
    placement = Placement(result.center_mm, result.turn_deg)
    fit = replace(result.fit, artwork=_scaled_file(result.fit.artwork, job.scale))
    return Judged(fit, cup_fit, placement, result.placed, job.press)


def _scaled_file(artwork: Artwork, factor: float) -> Artwork:
    """A job's artwork, measured and then scaled, with options as if it had been read so."""
    return replace(artwork, options=scaled_load(artwork.options, factor))


def _cup(fit: Fit, order: PlaceOrder) -> CupFit:
    if order.cup_name is None and fit.smallest_cup is None:
        return max(fit.cups, key=lambda cup_fit: cup_fit.clearance_mm)
    return chosen_cup(fit, order)
