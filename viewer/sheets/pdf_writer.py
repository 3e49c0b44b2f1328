"""Sheets as PDF: the only module that knows reportlab, and pikepdf for what that cannot do.

Deterministic: the same document gives the same bytes. Fonts are embedded as subsets.
"""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any

from viewer import __version__
from viewer.artwork.formats.placed_marks import matrix_numbers
from viewer.artwork.formats.placed_pdf import ART
from viewer.geometry import Affine
from viewer.sheets.art_form import ArtForm
from viewer.sheets.draw_list import (
    ArtworkMark,
    Document,
    Group,
    Item,
    Path,
    Text,
    rectangle_steps,
)
from viewer.sheets.placed_pdf import keep_layers

PT_PER_MM = 72.0 / 25.4
FACES = ("DejaVuSans", "DejaVuSans-Bold")
_FOLDER = FilePath(__file__).resolve().parents[1] / "fonts"
_LEAST_VERSION = "1.6"
"""The first with /PrintScaling."""


def measure_text(text: str, size_mm: float, bold: bool) -> float:
    """Width in mm of a line of text."""
    return float(_face(bold).stringWidth(shown(text), size_mm))


def shown(text: str) -> str:
    """The text with signs that the face lacks written out, so that nothing vanishes."""
    known = _face(False).face.charToGlyph
    return "".join(c if ord(c) in known else f"\\u{ord(c):04x}" for c in text)


@lru_cache(maxsize=2)
def _face(bold: bool) -> Any:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    face = TTFont(FACES[bold], str(_FOLDER / f"{FACES[bold]}.ttf"))
    pdfmetrics.registerFont(face)
    return face


def pdf_bytes(document: Document, art: ArtForm | None = None) -> bytes:
    """The document as PDF, never to be scaled by the program that prints it."""
    from reportlab.pdfgen.canvas import Canvas

    _face(False), _face(True)
    stream = io.BytesIO()
    canvas = Canvas(
        stream, pageCompression=1, invariant=1, initialFontName=FACES[0], pdfVersion=(1, 6)
    )
    for page in document.pages:
        width, height = (side * PT_PER_MM for side in page.paper_mm)
        canvas.setPageSize((width, height))
        k = page.scale * PT_PER_MM
        _Pen(canvas, art).draw(page.items, Affine(k, 0.0, 0.0, -k, 0.0, height))
        canvas.showPage()
    canvas.save()
    return _finished(stream.getvalue(), document, art)


class _Pen:
    """Draws items of one page, the artwork by the name that its form gets afterwards."""

    def __init__(self, canvas: Any, art: ArtForm | None) -> None:
        self._canvas = canvas
        self._art = art

    def draw(self, items: tuple[Item, ...], frame: Affine) -> None:
        """Draw items whose frame maps to points by ``frame``."""
        for item in items:
            if isinstance(item, Group):
                self._group(item, frame)
            elif isinstance(item, Path):
                self._path(item, frame)
            elif isinstance(item, Text):
                self._text(item, frame)
            elif isinstance(item, ArtworkMark) and self._art is not None:
                matrix = self._art.to_press.then(frame)
                values = (matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f)
                self._canvas.addLiteral(f"q {matrix_numbers(values)} cm {ART} Do Q")

    def _group(self, group: Group, frame: Affine) -> None:
        inner = group.to_outer.then(frame)
        if group.clip is None:
            self.draw(group.items, inner)
            return
        self._canvas.saveState()
        edge = rectangle_steps(group.clip.x0, group.clip.y0, group.clip.x1, group.clip.y1)
        self._canvas.clipPath(self._outline(edge, inner), stroke=0, fill=0)
        self.draw(group.items, inner)
        self._canvas.restoreState()

    def _outline(self, steps: Any, frame: Affine) -> Any:
        outline = self._canvas.beginPath()
        for kind, values in steps:
            if kind == "Z":
                outline.close()
                continue
            pairs = [
                (frame.a * x + frame.c * y + frame.e, frame.b * x + frame.d * y + frame.f)
                for x, y in zip(values[::2], values[1::2], strict=True)
            ]
            flat = [value for pair in pairs for value in pair]
            {"M": outline.moveTo, "L": outline.lineTo, "C": outline.curveTo}[kind](*flat)
        return outline

    def _path(self, path: Path, frame: Affine) -> None:
        canvas = self._canvas
        scale = abs(frame.determinant) ** 0.5
        if path.stroke is not None:
            canvas.setLineWidth(path.stroke.width_mm * scale)
            canvas.setStrokeGray(path.stroke.gray)
            canvas.setDash([dash * scale for dash in path.stroke.dash_mm])
        if path.fill is not None:
            canvas.setFillGray(path.fill)
        canvas.drawPath(
            self._outline(path.steps, frame),
            stroke=int(path.stroke is not None),
            fill=int(path.fill is not None),
        )

    def _text(self, text: Text, frame: Affine) -> None:
        canvas = self._canvas
        words = shown(text.text)
        canvas.setFillGray(text.gray)
        canvas.setFont(FACES[text.bold], text.size_mm * abs(frame.determinant) ** 0.5)
        x = frame.a * text.x + frame.c * text.y + frame.e
        y = frame.b * text.x + frame.d * text.y + frame.f
        draw = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }[text.anchor]
        draw(x, y, words)


def _finished(data: bytes, document: Document, art: ArtForm | None) -> bytes:
    import pikepdf

    with pikepdf.open(io.BytesIO(data)) as pdf:
        if art is not None:
            _give_artwork(pdf, art)
        pdf.Root["/ViewerPreferences"] = pikepdf.Dictionary(
            {"/PrintScaling": pikepdf.Name("/None"), "/DisplayDocTitle": True}
        )
        pdf.Root["/Lang"] = pikepdf.String("en")
        _describe(pdf, document)
        stream = io.BytesIO()
        pdf.save(stream, min_version=_LEAST_VERSION, deterministic_id=True)
        return stream.getvalue()


def _describe(pdf: Any, document: Document) -> None:
    """Title and the like, both in the old place and as XMP."""
    import pikepdf

    made = f"D:{document.date.replace('-', '')}000000Z"
    maker = f"brimcheck {__version__}"
    del pdf.docinfo
    with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as metadata:
        metadata["dc:title"] = document.title
        metadata["dc:description"] = document.subject
        metadata["xmp:CreatorTool"] = maker
        metadata["xmp:CreateDate"] = f"{document.date}T00:00:00Z"
    for key, value in (
        ("/Title", document.title),
        ("/Subject", document.subject),
        ("/Creator", maker),
        ("/Producer", maker),
        ("/CreationDate", made),
    ):
        pdf.docinfo[key] = pikepdf.String(value)


def _give_artwork(pdf: Any, art: ArtForm) -> None:
    """The artwork's own form, with its layers, for every page that draws it."""
    import pikepdf

    name = f"{ART} Do".encode()
    with pikepdf.open(io.BytesIO(art.data)) as source:
        placed = source.pages[0].obj
        form = pdf.copy_foreign(placed["/Resources"]["/XObject"][ART])
        keep_layers(source, pdf)
        for page in pdf.pages:
            if name not in page.Contents.read_bytes():
                continue
            resources = page.obj["/Resources"]
            if "/XObject" not in resources:
                resources["/XObject"] = pikepdf.Dictionary()
            resources["/XObject"][ART] = form
