"""The bytes of a sheet as PDF, put together with pikepdf."""

from __future__ import annotations

import io
import zlib
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.formats.placed_marks import matrix_numbers, number
from viewer.artwork.formats.placed_pdf import (
    ART,
    DOUBTS_KEY,
    LAYER,
    LAYER_TITLE,
    MARKS,
    MARKS_CONTENT,
    PICTURE_KEY,
    PT_PER_MM,
    art_content,
    image_digest,
    marks_form,
    read_placed_pdf,
)
from viewer.artwork.formats.svg_source import SvgSource
from viewer.artwork.model import Artwork
from viewer.artwork.source import PX_PER_MM
from viewer.errors import ArtworkError
from viewer.geometry import Affine
from viewer.sheets.child import ask_child
from viewer.sheets.layout import SheetLayout
from viewer.sheets.placed_svg import (
    NAMESPACES,
    numbers,
    picture_rule,
    px_to_page,
    stored_picture,
)

_ENLARGE = 8.0
"""Cairo keeps coordinates in 1/256 of a unit: at 8 units per point that is 0.0002 mm."""
_AIR_MM = 2.0
_LOST_FROM_PDF = frozenset({"annotations", "damaged-pdf", "dynamic-form"})
_SETTLED_BY_SHEET = frozenset({"bare-px", "beyond-page", "white-unclear", "paper-unclear"})
"""The sheet has its size in mm and its own page; white and paper are looked at again."""
_LEAST_VERSION = "1.5"
"""The first with layers."""
_MM_PER_PT = 25.4 / 72.0


def pdf_sheet(artwork: Artwork, layout: SheetLayout) -> bytes:
    """A sheet with a PDF page, its content untouched in a form."""
    import pikepdf

    from viewer.artwork.formats.pdf_file import read_frame

    placed = read_placed_pdf(artwork.path, artwork.page)
    if placed.picture is not None:
        raise sheet_of_a_picture()
    original: Any = artwork.path if placed.data is None else io.BytesIO(placed.data)
    try:
        with pikepdf.open(original) as source:
            page = source.pages[artwork.page - 1]
            frame = read_frame(page.obj)
            form = page.as_form_xobject(handle_transformations=False)
            to_file_mm = Affine(*frame.matrix())
            form["/BBox"] = _numbers(_form_box(artwork, frame.media, to_file_mm))
            scale = Affine.scale(artwork.mm_per_file_unit[0])
            pdf = pikepdf.new()
            _keep_layers(source, pdf, without_ours=placed.data is not None)
            art = pdf.copy_foreign(form)
            to_page = to_file_mm.then(scale).then(layout.to_page)
            version = max(_LEAST_VERSION, str(source.pdf_version))
            return _finished(pdf, art, to_page, artwork, layout, version=version)
    except (pikepdf.PdfError, pikepdf.DependencyError, RuntimeError, ValueError) as error:
        raise ArtworkError(f"its page cannot be placed: {error}", code="not-placed") from None


def drawing_pdf_sheet(artwork: Artwork, source: SvgSource, layout: SheetLayout) -> bytes:
    """A sheet with an SVG, drawn as PDF paths by CairoSVG."""
    import pikepdf

    hull = layout.to_page.map_points(artwork.outline.hull_mm)
    low = [min(0.0, float(v) - _AIR_MM) for v in hull.min(axis=0)]
    high = [
        max(side, float(v) + _AIR_MM)
        for side, v in zip(layout.page_mm, hull.max(axis=0), strict=True)
    ]
    k = PX_PER_MM * _ENLARGE
    width, height = ((b - a) * k for a, b in zip(low, high, strict=True))
    matrix = px_to_page(artwork, layout).then(Affine.translate(-low[0], -low[1]))
    matrix = matrix.then(Affine.scale(k))
    text = (
        f'<svg {NAMESPACES} width="{width!r}px" height="{height!r}px" overflow="visible">'
        f'<g transform="matrix({matrix_numbers(numbers(matrix))})">{source.inner}</g></svg>'
    )
    _told, data = ask_child("svg-to-pdf", text.encode())
    with pikepdf.open(io.BytesIO(data)) as drawn:
        page = drawn.pages[0]
        box = [float(v) for v in page.mediabox]
        form = page.as_form_xobject(handle_transformations=False)
        pdf = pikepdf.new()
        art = pdf.copy_foreign(form)
        # The page counts from its bottom left; its height is what cairo made of it.
        back = _MM_PER_PT / _ENLARGE
        to_page = Affine(back, 0.0, 0.0, -back, low[0], low[1] + box[3] * back)
        return _finished(pdf, art, to_page, artwork, layout)


def picture_pdf_sheet(artwork: Artwork, layout: SheetLayout) -> bytes:
    """A sheet with a picture as an image object: a JPEG as it is, else its exact pixels."""
    import pikepdf

    facts, data = ask_child("picture", path=artwork.path, page=artwork.page, target="pdf")
    pdf = pikepdf.new()
    split = int(facts.get("color_bytes", len(data)))
    space = "/DeviceGray" if facts["channels"] == 1 else "/DeviceRGB"
    image = _image(pdf, data[:split], facts["size_px"], space)
    is_jpeg = facts["mime"] == "image/jpeg"
    image["/Filter"] = pikepdf.Name("/DCTDecode" if is_jpeg else "/FlateDecode")
    if data[split:]:
        mask = _image(pdf, data[split:], facts["size_px"], "/DeviceGray")
        mask["/Filter"] = pikepdf.Name("/FlateDecode")
        image["/SMask"] = mask
    (w, h), to_seen = stored_picture(artwork, int(facts["orientation"]))
    # A PDF image fills the unit square, its top row at y = 1.
    to_page = Affine(w, 0.0, 0.0, -h, 0.0, h).then(to_seen).then(layout.to_page)
    rule = picture_rule(artwork, image_digest(image))
    return _finished(pdf, image, to_page, artwork, layout, rule.text())


def drawn_picture_sheet(
    rgba: NDArray[np.uint8],
    origin_mm: tuple[float, float],
    px_per_mm: float,
    artwork: Artwork,
    layout: SheetLayout,
) -> bytes:
    """A sheet with a picture that was drawn of the artwork; ``origin_mm``: its top left."""
    import pikepdf

    pdf = pikepdf.new()
    height, width = rgba.shape[:2]
    image = _image(pdf, zlib.compress(rgba[..., :3].tobytes(), 6), [width, height], "/DeviceRGB")
    mask = _image(pdf, zlib.compress(rgba[..., 3].tobytes(), 6), [width, height], "/DeviceGray")
    image["/Filter"] = mask["/Filter"] = pikepdf.Name("/FlateDecode")
    image["/SMask"] = mask
    w, h = width / px_per_mm, height / px_per_mm
    to_page = Affine(w, 0.0, 0.0, -h, origin_mm[0], origin_mm[1] + h).then(layout.to_page)
    return _finished(pdf, image, to_page, artwork, layout)


def art_matrix(sheet: Any) -> Affine:
    """The map from units of the artwork's form to points of its page, in a sheet of ours."""
    import pikepdf

    with pikepdf.open(sheet) as pdf:
        content = pdf.pages[0].obj["/Contents"][0].read_bytes().decode("latin-1")
    words = content.rpartition(" cm ")[0].split()[-6:]
    return Affine(*map(float, words))


def _image(pdf: Any, data: bytes, size_px: list[int], space: str) -> Any:
    import pikepdf

    image = pdf.make_stream(data)
    image["/Type"], image["/Subtype"] = pikepdf.Name("/XObject"), pikepdf.Name("/Image")
    image["/Width"], image["/Height"] = int(size_px[0]), int(size_px[1])
    image["/ColorSpace"], image["/BitsPerComponent"] = pikepdf.Name(space), 8
    return image


def _form_box(
    artwork: Artwork, media: tuple[float, float, float, float], to_file_mm: Affine
) -> tuple[float, float, float, float]:
    """All of the page and of the ink: what lies beyond the page was measured as well."""
    back = to_file_mm.inverse()
    ink = back.map_points(artwork.outline.hull_mm / artwork.mm_per_file_unit[0])
    air = _AIR_MM / _scale_of(to_file_mm)
    low, high = ink.min(axis=0) - air, ink.max(axis=0) + air
    return (
        min(media[0], float(low[0])),
        min(media[1], float(low[1])),
        max(media[2], float(high[0])),
        max(media[3], float(high[1])),
    )


def _scale_of(affine: Affine) -> float:
    """Millimeters per unit of a map that only scales evenly and turns."""
    return float(abs(affine.determinant) ** 0.5)


def _keep_layers(source: Any, pdf: Any, *, without_ours: bool) -> None:
    """Which of the original's layers are shown goes with them."""
    properties = source.Root.get("/OCProperties")
    if properties is None or properties._type_name != "dictionary":
        return
    if without_ours:  # its marks are not placed again, so their layer would be empty
        default = properties.get("/D", {})
        for holder, key in ((properties, "/OCGs"), (default, "/Order"), (default, "/ON")):
            if key in holder:
                for index in reversed(range(len(holder[key]))):
                    if _is_our_layer(holder[key][index]):
                        del holder[key][index]
    pdf.Root["/OCProperties"] = pdf.copy_foreign(source.make_indirect(properties))


def keep_layers(sheet: Any, pdf: Any) -> None:
    """The artwork's layers of a sheet of ours go along into ``pdf``, the marks' does not."""
    _keep_layers(sheet, pdf, without_ours=True)


def _is_our_layer(group: Any) -> bool:
    is_group = getattr(group, "_type_name", "") == "dictionary"
    return is_group and str(group.get("/Name", "")) == LAYER_TITLE


def sheet_of_a_picture() -> ArtworkError:
    """For a sheet of ours that holds a picture and its rule, which is good for one sheet."""
    return ArtworkError(
        "is a sheet with a placed picture already: place the picture itself", code="not-placed"
    )


def _finished(
    pdf: Any,
    art: Any,
    to_page: Affine,
    artwork: Artwork,
    layout: SheetLayout,
    rule: str | None = None,
    version: str = _LEAST_VERSION,
) -> bytes:
    import pikepdf

    width, height = (side * PT_PER_MM for side in layout.page_mm)
    to_pt = to_page.then(Affine(PT_PER_MM, 0.0, 0.0, -PT_PER_MM, 0.0, height))
    is_picture = rule is not None
    paper = None if is_picture else artwork.ink_rule.paper_rgb
    page = pdf.add_blank_page(page_size=(width, height)).obj
    page["/MediaBox"] = _numbers((0.0, 0.0, width, height))
    layer = _add_layer(pdf)
    page["/Resources"] = pikepdf.Dictionary(
        {
            "/XObject": pikepdf.Dictionary(
                {ART: art, MARKS: marks_form(pdf, layout.marks, layout.page_mm)}
            ),
            "/Properties": pikepdf.Dictionary({LAYER: layer}),
        }
    )
    content = art_content((width, height), numbers(to_pt), paper)
    page["/Contents"] = pikepdf.Array([pdf.make_stream(content), pdf.make_stream(MARKS_CONTENT)])
    if rule is not None:
        page[PICTURE_KEY] = pikepdf.String(rule)
    elif doubts := _lost_doubts(artwork):
        page[DOUBTS_KEY] = pikepdf.String(" ".join(doubts))
    pdf.docinfo["/Title"] = pikepdf.String(layout.title)
    pdf.docinfo["/Creator"] = pikepdf.String("brimcheck")
    stream = io.BytesIO()
    pdf.save(stream, min_version=version, deterministic_id=True)
    return stream.getvalue()


def _lost_doubts(artwork: Artwork) -> list[str]:
    """Codes that forbid a plain "fits" and that nothing on the sheet would bring up again."""
    codes = {warning.code for warning in artwork.warnings if warning.blocks_fits}
    kept = codes & _LOST_FROM_PDF if artwork.format == "pdf" else codes - _SETTLED_BY_SHEET
    return sorted(kept)


def _add_layer(pdf: Any) -> Any:
    import pikepdf

    group = pdf.make_indirect(
        pikepdf.Dictionary({"/Type": pikepdf.Name("/OCG"), "/Name": pikepdf.String(LAYER_TITLE)})
    )
    known = pdf.Root.get("/OCProperties")
    if known is None:
        pdf.Root["/OCProperties"] = pikepdf.Dictionary(
            {
                "/OCGs": pikepdf.Array([group]),
                "/D": pikepdf.Dictionary(
                    {"/Order": pikepdf.Array([group]), "/ON": pikepdf.Array([group])}
                ),
            }
        )
        return group
    known.get("/OCGs").append(group)
    default = known.get("/D")
    for key in ("/Order", "/ON"):
        if key in default:
            default[key].append(group)
        else:
            default[key] = pikepdf.Array([group])
    return group


def _numbers(values: tuple[float, ...]) -> Any:
    import pikepdf

    return pikepdf.Array([Decimal(number(value, 6)) for value in values])
