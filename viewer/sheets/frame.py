"""What every sheet has around its content: the bars of 100 mm, what to do with them, the foot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from viewer.geometry import Bounds
from viewer.report import CAUTION
from viewer.sheets.draw_list import Item, Stroke, Text, box, circle, line, lines
from viewer.sheets.page import EDGE_MM, FOOT_MM, Format, Tiling

BAR_MM = 100.0
SMALL_MM = 2.3
"""Size of the smallest text: 6.5 points."""
FINE = Stroke(0.15)
BAR_LINE = Stroke(0.2)
_JOIN_ARM_MM = 3.5


@dataclass(frozen=True)
class Foot:
    """The line at the bottom of every page."""

    left: str
    page: int
    pages: int


def frame_items(format_: Format, foot: Foot) -> Iterator[Item]:
    """Bars, box to write in, cautions and foot of one page."""
    width, height = format_.size_mm
    left, content = EDGE_MM + 13.0, format_.content
    top = height - EDGE_MM - FOOT_MM + 4.0
    yield from _bar_across(left, top + 3.0)
    yield from _bar_along(EDGE_MM + 4.0, (content.y0 + content.y1 - BAR_MM) / 2.0)
    yield from _written_in(left + BAR_MM + 5.0, top - 1.0)
    for index, words in enumerate(_what_to_do(format_.printer_scale)):
        yield Text(left, top + 12.0 + 3.2 * index, words, SMALL_MM)
    yield Text(left, top + 19.4, _sentence(CAUTION), SMALL_MM)
    yield line(left, top + 21.2, width - EDGE_MM, top + 21.2, Stroke(0.15, 0.55))
    yield Text(left, top + 24.6, foot.left, SMALL_MM)
    page = f"page {foot.page} of {foot.pages}"
    yield Text(width - EDGE_MM, top + 24.6, page, SMALL_MM, anchor="end")


def _sentence(text: str) -> str:
    start = 1 if text[:1] == "'" else 0
    return text[:start] + text[start : start + 1].upper() + text[start + 1 :]


def _bar_across(x: float, y: float) -> Iterator[Item]:
    yield line(x, y, x + BAR_MM, y, BAR_LINE)
    yield lines(
        ((x + at, y - (2.5 if at in (0, 50, 100) else 1.2), x + at, y) for at in range(0, 101, 10)),
        BAR_LINE,
    )
    yield Text(x + BAR_MM / 2.0, y + 3.2, "100 mm across", SMALL_MM, anchor="middle")


def _bar_along(x: float, y: float) -> Iterator[Item]:
    yield line(x, y, x, y + BAR_MM, BAR_LINE)
    yield lines(
        ((x, y + at, x + (2.5 if at in (0, 50, 100) else 1.2), y + at) for at in range(0, 101, 10)),
        BAR_LINE,
    )
    yield Text(x - 3.5, y - 2.0, "100 mm", SMALL_MM)
    yield Text(x - 3.5, y + BAR_MM + 4.0, "along", SMALL_MM)


def _written_in(x: float, y: float) -> Iterator[Item]:
    """Two boxes to write what was measured into."""
    yield Text(x, y + 4.4, "measured", SMALL_MM)
    for index, words in enumerate(("across", "along")):
        left = x + 13.0 + 21.0 * index
        yield box(Bounds(left, y, left + 18.0, y + 6.6), FINE)
        yield Text(left + 17.2, y + 5.8, "mm", SMALL_MM - 0.3, anchor="end", gray=0.35)
        yield Text(left + 9.0, y + 9.4, words, SMALL_MM, anchor="middle")


def _what_to_do(printer_scale: float) -> tuple[str, str]:
    first = (
        "Measure both bars with a rule. Not 100.0 mm? Print again at 100 %"
        " (actual size), never fitted to the page."
    )
    if abs(printer_scale - 1.0) < 1e-9:
        return first, (
            "Still not? Write the sheet again with --printer-scale 100/M, M being what was"
            " measured. Two bars that differ: use another printer."
        )
    off_mm = BAR_MM / printer_scale
    return first, (
        f"Written for a printer that makes {off_mm:.4g} mm of 100. Still not?"
        f" --printer-scale 100/N, N = {off_mm:.4g} x measured / 100."
    )


# --- tiles ----------------------------------------------------------------------------


def join_marks(tiling: Tiling) -> Iterator[Item]:
    """Seams and the marks on them, in the drawing's own frame; every tile clips its own."""
    seam = Stroke(0.12, 0.4, (2.0, 1.5))
    area = tiling.box
    for x in tiling.seams_x[1:-1]:
        yield line(x, area.y0, x, area.y1, seam)
    for y in tiling.seams_y[1:-1]:
        yield line(area.x0, y, area.x1, y, seam)
    arm = _JOIN_ARM_MM
    for name, x, y in tiling.joins():
        cross = ((x - arm, y, x + arm, y), (x, y - arm, x, y + arm))
        for stroke in (Stroke(0.6, 1.0), FINE):  # a white border, so that it shows on dark ink
            yield lines(cross, stroke)
            yield circle((x, y), 4.0, stroke)
        yield box(Bounds(x + 0.5, y - 4.6, x + 3.2, y - 2.2), None, 1.0)
        yield Text(x + 0.7, y - 2.4, name, SMALL_MM, bold=True)


def tile_words(tiling: Tiling, column: int, row: int) -> str:
    """Which piece this is, and how it is joined."""
    return (
        f"piece {row * tiling.columns + column + 1} of {tiling.columns * tiling.rows}"
        f" (column {column + 1} of {tiling.columns}, row {row + 1} of {tiling.rows}):"
        " cut along the dashed line, lay the crosses of the same letter on each other"
    )
