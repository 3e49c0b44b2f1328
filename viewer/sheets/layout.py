"""Where the artwork and the marks stand on a sheet: sums only, in mm of the page."""

from __future__ import annotations

import math
from dataclasses import dataclass

from viewer.artwork.formats.placed_marks import Marks
from viewer.artwork.model import Artwork
from viewer.errors import UsageError
from viewer.fit import Placement
from viewer.geometry import Affine
from viewer.press import Cup, PressLimits

AIR_MM = 5.0
"""Kept free round the ring and the etch area on a page sized by them."""
LARGEST_PLATE_MM = 5000.0
"""A PDF page can be 14400 points, which is 5080 mm."""


@dataclass(frozen=True)
class SheetLayout:
    """A page with the cup's center in its middle; ``to_page`` maps artwork mm to page mm."""

    page_mm: tuple[float, float]
    to_page: Affine
    marks: Marks
    title: str

    @property
    def cup_center_mm(self) -> tuple[float, float]:
        """The cup's center on the page."""
        return self.marks.center_mm


def lay_out(
    artwork: Artwork,
    cup: Cup,
    placement: Placement,
    plate_mm: tuple[float, float] | None,
    limits: PressLimits,
    with_rings: bool,
) -> SheetLayout:
    """The sheet of one placement. UsageError for a plate or placement that is none."""
    if not all(math.isfinite(v) for v in (*placement.center_mm, placement.turn_deg)):
        raise UsageError("the placement must be given in plain numbers")
    page_mm = _rounded(plate_mm) if plate_mm is not None else page_for(cup, limits)
    middle = (page_mm[0] / 2.0, page_mm[1] / 2.0)
    marks = Marks(
        (round(middle[0], 4), round(middle[1], 4)), ring_diameters_mm(cup) if with_rings else ()
    )
    x, y = placement.center_mm
    to_page = (
        Affine.translate(-x, -y)
        .then(Affine.rotate_deg(placement.turn_deg))
        .then(Affine.translate(*marks.center_mm))
    )
    return SheetLayout(page_mm, to_page, marks, _title(artwork, cup))


def page_for(cup: Cup, limits: PressLimits) -> tuple[float, float]:
    """Whole mm that hold the ring's outer circle and the etch area, with some air."""
    radius = cup.ring_outer_diameter_mm / 2.0
    halves = [radius, radius]
    if limits.etch is not None:
        size = (limits.etch.width_mm, limits.etch.height_mm)
        for axis in (0, 1):
            halves[axis] = max(halves[axis], abs(limits.etch.offset_mm[axis]) + size[axis] / 2.0)
    width, height = (math.ceil(2.0 * (half + AIR_MM) - 1e-9) for half in halves)
    return _rounded((float(width), float(height)))


def ring_diameters_mm(cup: Cup) -> tuple[float, ...]:
    """Image circle, inner and outer edge of the ring; equal ones once, smallest first."""
    circles = (cup.max_image_diameter_mm, cup.ring_inner_diameter_mm, cup.ring_outer_diameter_mm)
    return tuple(sorted({round(diameter, 4) for diameter in circles}))


def _rounded(size_mm: tuple[float, float]) -> tuple[float, float]:
    for side in size_mm:
        if not math.isfinite(side) or side <= 0:
            raise UsageError(f"plate: a size must be more than zero, not {side:g} mm")
        if side > LARGEST_PLATE_MM:
            raise UsageError(f"plate: at most {LARGEST_PLATE_MM:g} mm a side, not {side:g} mm")
        if side < 1.0:
            raise UsageError(f"plate: at least 1 mm a side, not {side:g} mm")
    return round(size_mm[0], 4), round(size_mm[1], 4)


def _title(artwork: Artwork, cup: Cup) -> str:
    """A plain line for the file's title, without what XML would have to escape."""
    name = artwork.path.replace("\\", "/").rpartition("/")[2]
    return f"{_plain(name)} placed for cup {_plain(cup.name)}"


def _plain(text: str) -> str:
    return "".join(c if c.isascii() and (c.isalnum() or c in " .,-_") else "_" for c in text)[:80]
