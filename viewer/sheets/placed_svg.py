"""The text of a sheet as SVG."""

from __future__ import annotations

import hashlib

from viewer.artwork.formats.placed_marks import (
    marks_svg,
    matrix_numbers,
    number,
    unused_layer_id,
)
from viewer.artwork.formats.placed_picture import (
    CREATOR_SVG,
    PictureRule,
    PictureSheet,
    picture_svg,
)
from viewer.artwork.formats.svg_scope import SCOPE_CLASS
from viewer.artwork.formats.svg_source import SvgSource
from viewer.artwork.model import Artwork
from viewer.artwork.source import PX_PER_MM
from viewer.geometry import Affine
from viewer.sheets.child import ask_child
from viewer.sheets.layout import SheetLayout
from viewer.sheets.nested_svg import nested_original

NAMESPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def drawing_sheet(artwork: Artwork, source: SvgSource, layout: SheetLayout) -> bytes:
    """A sheet with an SVG, its own bytes nested as they are."""
    nested = nested_original(source)
    width, height = (number(side) for side in layout.page_mm)
    matrix = matrix_numbers(numbers(px_to_page(artwork, layout)))
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg {NAMESPACES} width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">\n'
        f"<title>{layout.title}</title>\n{CREATOR_SVG}",
        _paper(artwork, width, height),
        f'<g class="{SCOPE_CLASS}" transform="matrix({matrix})">\n{nested}\n</g>\n',
        marks_svg(layout.marks, unused_layer_id(nested)),
        "</svg>\n",
    ]
    return "".join(lines).encode()


def _paper(artwork: Artwork, width: str, height: str) -> str:
    """The paper that the drawing brings along goes on under all of the sheet.

    Else its edge would be found as ink in the middle of a transparent page.
    """
    rgb = artwork.ink_rule.paper_rgb
    if rgb is None:
        return ""
    color = "#{:02x}{:02x}{:02x}".format(*rgb)
    style = f"fill:{color};fill-opacity:1;stroke:none;opacity:1"
    return f'<rect width="{width}" height="{height}" style="{style}"/>\n'


def px_to_page(artwork: Artwork, layout: SheetLayout) -> Affine:
    """From px of the nested drawing to mm of the page."""
    return Affine.scale(artwork.mm_per_file_unit[0] / PX_PER_MM).then(layout.to_page)


def numbers(affine: Affine) -> tuple[float, float, float, float, float, float]:
    """The six numbers of a matrix in the order of SVG and PDF."""
    return affine.a, affine.b, affine.c, affine.d, affine.e, affine.f


def picture_sheet(artwork: Artwork, layout: SheetLayout) -> bytes:
    """A sheet with a picture, embedded."""
    facts, data = ask_child("picture", path=artwork.path, page=artwork.page, target="svg")
    size_mm, to_seen = stored_picture(artwork, int(facts["orientation"]))
    rule = picture_rule(artwork, hashlib.sha256(data).hexdigest())
    sheet = PictureSheet(
        layout.page_mm,
        layout.title,
        size_mm,
        numbers(to_seen.then(layout.to_page)),
        str(facts["mime"]),
        data,
        rule,
    )
    return picture_svg(sheet, marks_svg(layout.marks)).encode()


def stored_picture(artwork: Artwork, orientation: int) -> tuple[tuple[float, float], Affine]:
    """Size in mm of the picture as stored, and the map from it to the picture as seen.

    ``orientation`` as in EXIF 2.32: 5 to 8 exchange rows and columns.
    """
    width, height = artwork.page_mm
    w, h = (height, width) if orientation >= 5 else (width, height)
    maps = {
        1: Affine(),
        2: Affine(-1.0, 0.0, 0.0, 1.0, w, 0.0),
        3: Affine(-1.0, 0.0, 0.0, -1.0, w, h),
        4: Affine(1.0, 0.0, 0.0, -1.0, 0.0, h),
        5: Affine(0.0, 1.0, 1.0, 0.0, 0.0, 0.0),
        6: Affine(0.0, 1.0, -1.0, 0.0, h, 0.0),
        7: Affine(0.0, -1.0, -1.0, 0.0, h, w),
        8: Affine(0.0, -1.0, 1.0, 0.0, 0.0, w),
    }
    return (w, h), maps[orientation]


def picture_rule(artwork: Artwork, sha256: str) -> PictureRule:
    """How the picture was measured, for whoever reads the sheet back."""
    doubts = tuple(sorted({w.code for w in artwork.warnings if w.blocks_fits}))
    return PictureRule(artwork.ink_rule, artwork.outline.uncertainty_mm, doubts, sha256)
