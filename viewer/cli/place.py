"""``brimcheck place FILE -o OUT``: the artwork as placed, written onto a page of the plate."""

from __future__ import annotations

import os

from viewer.cli.measuring import fit_measured, measure
from viewer.cli.options import PlaceOrder, Settings
from viewer.errors import BrimcheckError, UsageError
from viewer.fit import CupFit, Fit, PlacedFit, Placement, Verdict, place, verdict_words
from viewer.report import CAUTION, printable
from viewer.units import format_clearance_mm

EXIT_WRITTEN = 0
EXIT_WRITTEN_ANYWAY = 1

_ENDINGS = (".svg", ".pdf")


def place_file(settings: Settings) -> int:
    """Write the placed artwork and say what was written.

    Nothing is written where it does not surely fit, unless the call says so; then the
    status is 1. Everything that stops it raises BrimcheckError.
    """
    order = settings.order
    if order is None:
        raise ValueError("a call of place without an order")
    path = settings.files[0]
    _refuse_bad_target(order.target, path, settings.press_path)
    if os.path.isdir(path):
        raise UsageError(f"{path} is a folder: place takes one file")
    artwork = measure(path, settings)
    fit = fit_measured(artwork, settings)
    cup_fit = chosen_cup(fit, order)
    placement, placed = chosen_placement(fit, cup_fit, order)
    if not _is_sure(placed) and not order.anyway:
        raise BrimcheckError(
            f"{path}: not written, as it does not surely fit the {cup_fit.cup.name} cup"
            f" there ({_why(placed)}); --anyway writes it all the same"
        )

    from viewer.sheets.placed import write_placed

    write_placed(
        artwork,
        cup_fit.cup,
        placement,
        order.target,
        plate_mm=settings.press.plate_mm,
        limits=fit.limits,
        with_rings=order.with_rings,
    )
    print(_told(order, cup_fit, placement, placed))
    if artwork.left_out:
        print(
            f"{printable(order.target)}: the ink left out when measuring is in the file all the"
            " same: take it out in the drawing program, or it will be etched"
        )
    print(CAUTION)
    return EXIT_WRITTEN if _is_sure(placed) else EXIT_WRITTEN_ANYWAY


def _refuse_bad_target(target: str, path: str, press_path: str | None) -> None:
    if not target.lower().endswith(_ENDINGS):
        raise UsageError(f"-o {target!r}: give a name that ends in .svg or .pdf")
    for other, what in ((path, "the artwork"), (press_path, "the press file")):
        if other is None or not os.path.exists(other) or not os.path.exists(target):
            continue
        if os.path.samefile(target, other):
            raise UsageError(f"-o {target}: that is {what} itself; give another name")


def chosen_cup(fit: Fit, order: PlaceOrder) -> CupFit:
    """The cup that was named, else the smallest that fits."""
    names = ", ".join(cup_fit.cup.name for cup_fit in fit.cups)
    if order.cup_name is None:
        found = next((c for c in fit.cups if c.cup == fit.smallest_cup), None)
        if found is None:
            raise BrimcheckError(
                f"{fit.artwork.path}: surely fits none of the cups {names}; to write it all"
                " the same name one, as in --cup NAME --anyway"
            )
        return found
    wanted = order.cup_name.strip().casefold()
    found = next((c for c in fit.cups if c.cup.name.casefold() == wanted), None)
    if found is None:
        raise UsageError(f"--cup {order.cup_name!r}: there is no such cup; there are {names}")
    return found


def chosen_placement(fit: Fit, cup_fit: CupFit, order: PlaceOrder) -> tuple[Placement, PlacedFit]:
    """The placement that is written, and what holds for it."""

    def judged(placement: Placement) -> PlacedFit:
        return place(
            fit.artwork,
            cup_fit.cup,
            placement,
            setup_tolerance_mm=fit.setup_tolerance_mm,
            limits=fit.limits,
        )

    if order.placement is not None:
        return order.placement, judged(order.placement)
    best = cup_fit.best
    settable = Placement(best.settable.center_mm, best.settable.turn_deg)
    placed = judged(settable)
    if cup_fit.verdict is Verdict.FITS and not _is_sure(placed):
        # Rounding to what can be set lost a fit by less than a step: write it exactly.
        exact = Placement(best.center_mm, best.turn_deg)
        at_exact = judged(exact)
        if _is_sure(at_exact):
            return exact, at_exact
    return settable, placed


def _is_sure(placed: PlacedFit) -> bool:
    return placed.verdict is Verdict.FITS and placed.is_allowed


def _why(placed: PlacedFit) -> str:
    words = verdict_words(placed.verdict, placed.tight, placed.causes)
    clearance = f"{words}, clearance {format_clearance_mm(placed.clearance_mm)} mm"
    if placed.is_allowed:
        return clearance
    return f"the press does not allow that shift or angle; {clearance}"


def _told(order: PlaceOrder, cup_fit: CupFit, placement: Placement, placed: PlacedFit) -> str:
    x_mm, y_mm = placement.center_mm
    return (
        f"{printable(order.target)}: written; {printable(cup_fit.cup.name)} cup, its centre at"
        f" {x_mm:.2f}, {y_mm:.2f} mm on the artwork's page, turned {placement.turn_deg:.1f}"
        f" degrees; {printable(_why(placed))}"
    )
