"""Paper, the frame of a sheet, and how a large drawing is cut into pages: sums only, in mm.

All lengths are as they lie on the finished print. A printer that draws everything a little
too small is made up for by ``printer_scale``: the sheet is laid out for the smaller piece
of paper that such a printer takes the page for, and the page is written larger.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from viewer.errors import UsageError
from viewer.geometry import Bounds

EDGE_MM = 10.0
"""Kept free all round: many printers leave up to 6 mm of the paper unprinted."""
SIDE_STRIP_MM = 13.0
"""At the left, for the bar along the page."""
FOOT_MM = 29.0
"""At the bottom, for the bar across the page, what to do with it, and the footer."""
OVERLAP_MM = 10.0
"""What two neighboring pages of a tiled drawing both show; they are joined in its middle."""
MOST_TILES = 60
_MOST_ASIDE_MM = 8.0
LEAST_SCALE, GREATEST_SCALE = 0.9, 1.1


@dataclass(frozen=True)
class Paper:
    """A size of paper, standing. Lengths in mm."""

    name: str
    width_mm: float
    height_mm: float


PAPERS = (
    Paper("A4", 210.0, 297.0),  # ISO 216
    Paper("A3", 297.0, 420.0),  # ISO 216
    Paper("Letter", 215.9, 279.4),  # 8.5 x 11 in
)


def paper_named(text: str, option: str = "--paper") -> Paper:
    """The paper of that name, in whatever case. UsageError for any other."""
    wanted = text.strip().casefold()
    for paper in PAPERS:
        if paper.name.casefold() == wanted:
            return paper
    names = ", ".join(paper.name for paper in PAPERS)
    raise UsageError(f"{option} {text[:40]!r}: there is no such paper; give one of {names}")


@dataclass(frozen=True)
class Format:
    """A piece of paper as it is printed on: standing or lying, by a printer that may be off.

    ``printer_scale`` is what lengths have to be multiplied by so that they come out true.
    UsageError where it is not from 0.9 to 1.1: such a printer fits to the page.
    """

    paper: Paper = PAPERS[0]
    is_landscape: bool = False
    printer_scale: float = 1.0

    def __post_init__(self) -> None:
        if not LEAST_SCALE - 1e-9 <= self.printer_scale <= GREATEST_SCALE + 1e-9:
            raise UsageError(
                f"the printer scale must be from 90 % to 110 %, not {self.printer_scale:.4%};"
                " a printer that is off by more fits to the page: switch that off"
            )

    @property
    def paper_mm(self) -> tuple[float, float]:
        """Width and height of the page in the file."""
        standing = (self.paper.width_mm, self.paper.height_mm)
        return (standing[1], standing[0]) if self.is_landscape else standing

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in true mm, as all of the sheet is laid out."""
        width, height = self.paper_mm
        return width / self.printer_scale, height / self.printer_scale

    @property
    def content(self) -> Bounds:
        """Where a sheet's own content goes."""
        width, height = self.size_mm
        return Bounds(EDGE_MM + SIDE_STRIP_MM, EDGE_MM, width - EDGE_MM, height - EDGE_MM - FOOT_MM)

    def turned(self, is_landscape: bool) -> Format:
        """The same paper, standing or lying."""
        return Format(self.paper, is_landscape, self.printer_scale)


def fitting_format(
    base: Format, size_mm: tuple[float, float], head_mm: float = 0.0
) -> Format | None:
    """Standing if a drawing of this size fits so below a head, else lying, else None."""
    for is_landscape in (False, True):
        format_ = base.turned(is_landscape)
        window = format_.content
        if size_mm[0] <= window.width + 1e-9 and size_mm[1] <= window.height - head_mm + 1e-9:
            return format_
    return None


@dataclass(frozen=True)
class Tiling:
    """A drawing cut into columns and rows along ``seams``, which include both ends.

    ``box`` is the drawing; each page shows its tile and, where it has a neighbor, half of
    the overlap beyond the seam. ``aside_mm`` moves the seams right and down, so that none
    runs along an axis in the drawing's middle.
    """

    box: Bounds
    columns: int
    rows: int
    aside_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def seams_x(self) -> tuple[float, ...]:
        """Left edge, seams, right edge."""
        return _cuts(self.box.x0, self.box.x1, self.columns, self.aside_mm[0])

    @property
    def seams_y(self) -> tuple[float, ...]:
        """Top edge, seams, bottom edge."""
        return _cuts(self.box.y0, self.box.y1, self.rows, self.aside_mm[1])

    def shown(self, column: int, row: int) -> Bounds:
        """What the page of this tile shows, in the drawing's own mm."""
        x, y, half = self.seams_x, self.seams_y, OVERLAP_MM / 2.0
        return Bounds(
            max(self.box.x0, x[column] - half),
            max(self.box.y0, y[row] - half),
            min(self.box.x1, x[column + 1] + half),
            min(self.box.y1, y[row + 1] + half),
        )

    def joins(self) -> tuple[tuple[str, float, float], ...]:
        """Points that two neighbors both show, each with its name: two on each piece of seam."""
        found: list[tuple[str, float, float]] = []
        for x in self.seams_x[1:-1]:
            for low, high in zip(self.seams_y, self.seams_y[1:], strict=False):
                found += [("", x, low + part * (high - low)) for part in (0.2, 0.8)]
        for y in self.seams_y[1:-1]:
            for low, high in zip(self.seams_x, self.seams_x[1:], strict=False):
                found += [("", low + part * (high - low), y) for part in (0.2, 0.8)]
        return tuple((_letters(number), x, y) for number, (_name, x, y) in enumerate(found))


def tile(box: Bounds, base: Format, head_mm: float = 0.0) -> tuple[Format, Tiling]:
    """The fewest pages that show all of ``box``, and how the paper lies for them.

    UsageError where that would be more than anybody would join.
    """
    best: tuple[Format, Tiling] | None = None
    for is_landscape in (False, True):
        format_ = base.turned(is_landscape)
        window = format_.content
        columns = _pieces(box.width, window.width)
        rows = _pieces(box.height, window.height - head_mm)
        aside = (
            _aside(box.width, window.width, columns),
            _aside(box.height, window.height - head_mm, rows),
        )
        tiling = Tiling(box, columns, rows, aside)
        if best is None or tiling.columns * tiling.rows < best[1].columns * best[1].rows:
            best = format_, tiling
    assert best is not None
    count = best[1].columns * best[1].rows
    if count > MOST_TILES:
        raise UsageError(
            f"a drawing of {box.width:.0f} x {box.height:.0f} mm would take {count} pages of"
            f" {base.paper.name} at true scale; at most {MOST_TILES} are written:"
            " choose a larger paper, or a smaller cup, pad or etch area"
        )
    return best


def _pieces(size_mm: float, window_mm: float) -> int:
    if size_mm <= window_mm + 1e-9:
        return 1
    return math.ceil(size_mm / (window_mm - OVERLAP_MM) - 1e-9)


def _aside(size_mm: float, window_mm: float, pieces: int) -> float:
    """As far as the first piece may grow, and no more than the seam's marks need."""
    return max(0.0, min(_MOST_ASIDE_MM, window_mm - OVERLAP_MM - size_mm / pieces))


def _cuts(start: float, end: float, pieces: int, aside_mm: float) -> tuple[float, ...]:
    inner = (start + (end - start) * n / pieces + aside_mm for n in range(1, pieces))
    return (start, *inner, end)


def _letters(number: int) -> str:
    """A, B, ... Z, A1, B1, ..."""
    turn, letter = divmod(number, 26)
    return chr(ord("A") + letter) + (str(turn) if turn else "")
