"""The result as text that a person can read aloud on the telephone."""

from __future__ import annotations

import math
from collections.abc import Iterator

from viewer.artwork.model import LeftOut
from viewer.errors import BrimcheckError
from viewer.fit import CupFit, Fit, Verdict, scale_percent, verdict_words
from viewer.press import EXAMPLE_CUPS, Cup, PressLimits
from viewer.report.press_lines import (
    deciding_parts,
    grouped,
    limit_lines,
    setting_line,
    turning_lines,
)
from viewer.units import format_clearance_mm, format_down, format_up

CAUTION = (
    "'fits' is geometry, not permission to run: trial print first;"
    " the press manual and local codes decide."
)
_MOST_LEFT_OUT = 4


def fit_to_text(fit: Fit) -> str:
    """One file's result. Clearances and scales are rounded down, sizes up; mm."""
    lines = [printable(fit.artwork.path), f"  smallest cup that works: {_smallest(fit)}"]
    lines.extend(_size_lines(fit))
    if _has_limits(fit):
        lines.extend(limit_lines(fit))
    lines.extend(_table(fit))
    lines.extend(_closing_lines(fit))
    return "\n".join(lines)


def error_to_text(path: str, error: BrimcheckError) -> str:
    """What stands in the place of a file that could not be read."""
    name = printable(path)
    message = printable(error.message)
    base = name.replace("\\", "/").rpartition("/")[2]
    if message.startswith(name):
        return message
    if base and message.startswith(f"{base}: "):
        return f"{name}: {message[len(base) + 2 :]}"
    return f"{name}: {message}"


def printable(text: str) -> str:
    """One line without control characters, whatever a file is called."""
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape", "replace").decode("ascii")
        for char in text
    )


# --- the parts ----------------------------------------------------------------


def _size_lines(fit: Fit) -> Iterator[str]:
    artwork = fit.artwork
    page_w, page_h = artwork.page_mm
    page = f"page {artwork.page} of {artwork.pages}, " if artwork.pages > 1 else ""
    yield (
        f"  page    {page}{page_w:.2f} x {page_h:.2f} mm"
        f" (size from: {printable(artwork.scale_source)})"
    )
    yield (
        f"  ink     {_up(fit.width_mm)} x {_up(fit.height_mm)} mm,"
        f" longest diagonal {_up(fit.longest_diagonal.length)} mm"
    )
    if artwork.left_out:
        yield _left_out_line(artwork.left_out)
    uncertainty_mm = artwork.outline.uncertainty_mm
    known = f"+-{format_up(uncertainty_mm, 3)} mm" if math.isfinite(uncertainty_mm) else "no limit"
    yield (
        f"  circle  {_up(fit.smallest_circle.diameter)} mm across is the smallest around the ink;"
        f" the outline is known to {known}"
    )


def _left_out_line(pieces: tuple[LeftOut, ...]) -> str:
    """Each piece by the box it lies in, the first few of them."""
    told = [
        f"{_up(x1 - x0)} x {_up(y1 - y0)} at ({x0:.1f}, {y0:.1f})"
        for x0, y0, x1, y1 in (piece.box_mm for piece in pieces[:_MOST_LEFT_OUT])
    ]
    more = len(pieces) - len(told)
    rest = f" and {more} more" if more > 0 else ""
    return f"  without left out as you said, mm: {'; '.join(told)}{rest}"


def _has_limits(fit: Fit) -> bool:
    """Whether anything about the press was said, so that it is worth repeating."""
    return fit.limits != PressLimits()


def _table(fit: Fit) -> Iterator[str]:
    columns = _columns(fit)
    rows = [tuple(columns), *(_row(fit, cup_fit) for cup_fit in fit.cups)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(columns))]
    to_left = [heading in ("cup", "verdict", "limited by") for heading in columns]
    yield ""
    for row in rows:
        cells = (
            cell.ljust(width) if left else cell.rjust(width)
            for cell, width, left in zip(row, widths, to_left, strict=True)
        )
        yield ("  " + "  ".join(cells)).rstrip()
    area = "largest-image circle" if fit.limits.is_cup_alone else "image area"
    turn = "" if fit.limits.is_cup_alone else "; turn in degrees, counter-clockwise"
    yield f"  (mm; max image is its diameter; clearance to the {area};"
    yield f"  best centre from the page's left and top{turn})"
    yield f"  {_cups_line(fit)}"
    yield ""


def _columns(fit: Fit) -> list[str]:
    """Headings. Angle and parts are left out where the cup alone limits the image."""
    alone = fit.limits.is_cup_alone
    edge = "to the ring" if fit.limits.pad is None and fit.limits.etch is None else "to hard edge"
    best = ["best centre"] if alone else ["best centre", "turn", "limited by"]
    scale = ["largest scale"] if alone else ["largest scale", "unturned"]
    return ["cup", "max image", "verdict", "clearance", edge, *best, *scale]


def _row(fit: Fit, cup_fit: CupFit) -> tuple[str, ...]:
    cup = cup_fit.cup
    best = cup_fit.best.settable
    unsure = cup_fit.verdict is Verdict.TOO_CLOSE and bool(cup_fit.causes)
    cells = [
        printable(cup.name),
        format_down(cup.max_image_diameter_mm, 2),
        "cannot be sure" if unsure else verdict_words(cup_fit.verdict, cup_fit.tight),
        format_clearance_mm(cup_fit.clearance_mm),
        format_clearance_mm(cup_fit.hard_clearance_mm),
        f"{best.center_mm[0]:.2f}, {best.center_mm[1]:.2f}",
    ]
    if not fit.limits.is_cup_alone:
        cells += [f"{best.turn_deg:+.1f}" if best.turn_deg else "0.0", deciding_parts(cup_fit)]
    cells.append(_scale_words(cup_fit.largest_scale))
    if not fit.limits.is_cup_alone:
        cells.append(_scale_words(cup_fit.largest_scale_unturned))
    return tuple(cells)


def _scale_words(scale: float | None) -> str:
    return "none" if scale is None else f"{scale_percent(scale)} %"


def _cups_line(fit: Fit) -> str:
    """What was taken for granted of the cups."""
    cups = [c.cup for c in fit.cups]
    example = "an example set of cups" if tuple(cups) == EXAMPLE_CUPS else "cups as given"
    told = [((_cup_words(cup),), printable(cup.name)) for cup in cups]
    groups = list(grouped(told))
    limited = [
        printable(c.name) for c in cups if c.max_image_diameter_mm >= c.ring_inner_diameter_mm
    ]
    held = f"; at the ring itself: {', '.join(limited)}" if limited else ""
    if len(groups) == 1:
        return f"({example}, {groups[0][0][0]}{held})"
    return f"({example}; {'; '.join(f'{names}: {words[0]}' for words, names in groups)}{held})"


def _cup_words(cup: Cup) -> str:
    margin = f"{cup.margin} of the named diameter" if cup.margin.is_fraction else (
        f"{cup.margin} each side from the ring"
    )  # fmt: skip
    return f"named by the {cup.named_by}; ring {cup.ring_width_mm:g} mm, margin {margin}"


def _closing_lines(fit: Fit) -> Iterator[str]:
    points = " and ".join(f"({x:.2f}, {y:.2f})" for x, y in fit.smallest_circle.support)
    decided = "decided" if fit.limits.is_cup_alone else "the smallest circle is decided"
    yield f"  {decided} by the ink at {points} mm from the page's left and top"
    setting = setting_line(fit)
    if setting is not None:
        yield printable(setting)
    yield from (printable(line) for line in turning_lines(fit))
    yield from _cause_lines(fit)
    yield from _advice_lines(fit)
    for warning in fit.warnings:
        kind = "warning, blocks 'fits'" if warning.blocks_fits else "warning"
        yield f"  {kind}: {printable(warning.message)}"


def _smallest(fit: Fit) -> str:
    if fit.smallest_cup is None:
        return "none of these"
    found = next(c for c in fit.cups if c.cup == fit.smallest_cup)
    return f"{found.cup.name} ({verdict_words(found.verdict, found.tight)})"


def _cause_lines(fit: Fit) -> Iterator[str]:
    for causes, names in grouped((c.causes, c.cup.name) for c in fit.cups if c.causes):
        words = printable(verdict_words(Verdict.TOO_CLOSE, causes=causes))
        yield f"  {names}: {words}"


def _advice_lines(fit: Fit) -> Iterator[str]:
    """What would help, cup by cup; a line that several cups share is said once."""
    told = [(line, c.cup.name) for c in fit.cups for line in c.advice]
    if not told:
        return
    yield "  what would help:"
    for line, names in grouped(((line,), name) for line, name in told):
        yield f"    {names}: {printable(line[0])}"


def _up(value_mm: float) -> str:
    return format_up(value_mm, 2)
