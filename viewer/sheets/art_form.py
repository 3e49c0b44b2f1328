"""The measured artwork as a form that can be drawn on any page of a PDF.

The original vectors where they come out as they were measured; else a fine picture of the
same ink. Either is compared with the measured outline before it is used.
"""

from __future__ import annotations

import io
import math
import os
import tempfile
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.formats.placed_pdf import PT_PER_MM
from viewer.artwork.ink import ink_mask
from viewer.artwork.model import Artwork
from viewer.artwork.picture import open_picture
from viewer.errors import ArtworkError, BrimcheckError, UsageError
from viewer.fit import Placement
from viewer.geometry import Affine, bounds_of, convex_hull, hull_excess, mask_extent_points
from viewer.press import Cup, PressLimits
from viewer.sheets.layout import LARGEST_PLATE_MM, SheetLayout, lay_out
from viewer.sheets.placed import checked_sheet
from viewer.sheets.placed_pdf import art_matrix, drawn_picture_sheet

FINEST_PX_PER_MM = 600.0 / 25.4
MOST_PIXELS = 24_000_000
_AIR_MM = 5.0
_PICTURE_AIR_MM = 0.5


@dataclass(frozen=True)
class ArtForm:
    """A one-page PDF that holds the artwork, and the map from its units to the press frame.

    ``told`` says how the artwork is drawn.
    """

    data: bytes
    to_press: Affine
    told: str


def art_form(artwork: Artwork, cup: Cup, placement: Placement) -> ArtForm:
    """The artwork as placed. ArtworkError when the file has changed since it was measured,
    or when neither vectors nor picture come out as it was measured.
    """
    layout = lay_out(artwork, cup, placement, _plate(artwork, placement), PressLimits(), False)
    try:
        data = _vector_sheet(artwork, layout)
        told = "as in the file" if artwork.format == "image" else "with the file's own vectors"
    except UsageError:
        raise
    except BrimcheckError as error:
        if error.code in ("changed", "cancelled"):
            raise
        data, per_inch = _picture_sheet(artwork, layout)
        told = f"as a picture of {per_inch:.0f} pixels per inch"
    return ArtForm(data, _to_press(data, layout), told)


def _plate(artwork: Artwork, placement: Placement) -> tuple[float, float]:
    """A page that holds all ink, however it is turned."""
    away = artwork.outline.hull_mm - np.asarray(placement.center_mm)
    reach = float(np.hypot(away[:, 0], away[:, 1]).max())
    side = min(math.ceil(2.0 * (reach + _AIR_MM)), LARGEST_PLATE_MM)
    return float(side), float(side)


def _vector_sheet(artwork: Artwork, layout: SheetLayout) -> bytes:
    with tempfile.TemporaryDirectory(prefix="brimcheck-") as folder:
        return checked_sheet(artwork, layout, os.path.join(folder, "sheet.pdf"))


def _picture_sheet(artwork: Artwork, layout: SheetLayout) -> tuple[bytes, float]:
    """The ink as the renderer that measured it draws it, and its pixels per inch."""
    box = bounds_of(artwork.outline.hull_mm)
    width, height = box.width + 2 * _PICTURE_AIR_MM, box.height + 2 * _PICTURE_AIR_MM
    px_per_mm = min(FINEST_PX_PER_MM, math.sqrt(MOST_PIXELS / (width * height)))
    origin = (box.x0 - _PICTURE_AIR_MM, box.y0 - _PICTURE_AIR_MM)
    size = math.ceil(width * px_per_mm), math.ceil(height * px_per_mm)
    with open_picture(artwork) as picture:
        rgba = picture.draw(*origin, px_per_mm, *size)
    _compare(artwork, rgba, origin, px_per_mm)
    return drawn_picture_sheet(rgba, origin, px_per_mm, artwork, layout), px_per_mm * 25.4


def _compare(
    artwork: Artwork, rgba: NDArray[np.uint8], origin: tuple[float, float], px_per_mm: float
) -> None:
    """ArtworkError where the picture's ink is not the measured one."""
    mask = ink_mask(rgba, artwork.ink_rule)
    for piece in artwork.left_out:
        x0, y0, x1, y1 = ((v - origin[i % 2]) * px_per_mm for i, v in enumerate(piece.box_mm))
        mask[max(0, int(y0)) : max(0, int(y1) + 2), max(0, int(x0)) : max(0, int(x1) + 2)] = False
    name = os.path.basename(artwork.path)
    if not mask.any():
        raise ArtworkError(f"{name}: cannot be drawn on a sheet", code="not-placed")
    ink = convex_hull(mask_extent_points(mask) / px_per_mm + np.asarray(origin))
    allowed = 2.0 / px_per_mm + artwork.outline.uncertainty_mm
    for speck in artwork.specks:
        if speck.ignored:  # drawn, though it is no part of the outline
            return
    measured = artwork.outline.hull_mm
    over = max(hull_excess(ink, measured)[0], hull_excess(measured, ink)[0])
    if over > allowed:
        raise ArtworkError(
            f"{name}: cannot be drawn on a sheet as it was measured ({over:.2f} mm different)",
            code="not-placed",
        )


def _to_press(data: bytes, layout: SheetLayout) -> Affine:
    """From units of the form to mm from the cup's center."""
    height_pt = layout.page_mm[1] * PT_PER_MM
    to_mm = Affine(1.0 / PT_PER_MM, 0.0, 0.0, -1.0 / PT_PER_MM, 0.0, height_pt / PT_PER_MM)
    x, y = layout.cup_center_mm
    matrix = art_matrix(io.BytesIO(data))
    return matrix.then(to_mm).then(Affine.translate(-x, -y))
