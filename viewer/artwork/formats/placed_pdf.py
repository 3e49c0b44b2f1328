"""A placed sheet as PDF: what is written, and how it is known when it is read back.

As in `placed_marks`, nothing is believed because of a name. The page's two content
streams must be, byte by byte, what this program writes (the second one draws the marks
and nothing else), and the form that holds the marks must be what this program draws from
the numbers in it. Anything else on the page, or a byte that differs, and the marks are
ink. The same holds for the rule by which a placed picture is measured.
"""

from __future__ import annotations

import hashlib
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from viewer.artwork.formats.placed_marks import (
    COLOR_RGB,
    LINE_MM,
    MARKS_CHANGED,
    MARKS_LEFT_OUT,
    Marks,
    cross_lines,
    matrix_numbers,
    number,
    parse_marks,
)
from viewer.artwork.formats.placed_picture import PictureRule, doubt_warnings, parse_picture_rule
from viewer.artwork.model import ArtworkWarning

PT_PER_MM = 72.0 / 25.4
LAYER_TITLE = "brimcheck marks"
ART, MARKS, LAYER = "/BrimcheckArtwork", "/BrimcheckMarks", "/BrimcheckLayer"
MARKS_KEY, PICTURE_KEY = "/BrimcheckMarks", "/BrimcheckPicture"
DOUBTS_KEY = "/BrimcheckDoubts"
"""Codes of what a drawing was doubted for, where a PDF of it no longer shows why."""
MARKS_CONTENT = f"/OC {LAYER} BDC q {MARKS} Do Q EMC\n".encode()

_ARCS = 8
_CODES = re.compile(r"[a-z0-9-]+")
_REAL = r"-?\d+(?:\.\d+)?"
_ART_CONTENT = re.compile(
    rf"(?:q {_REAL} {_REAL} {_REAL} rg 0 0 {_REAL} {_REAL} re f Q\n)?"
    rf"q {_REAL} {_REAL} {_REAL} {_REAL} {_REAL} {_REAL} cm {ART} Do Q\n"
)
Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class PlacedPdf:
    """What is ours in a PDF page. ``data`` is the file without the marks, where they count."""

    data: bytes | None = None
    warnings: tuple[ArtworkWarning, ...] = ()
    picture: PictureRule | None = None


def art_content(
    page_pt: tuple[float, float], matrix: Matrix, paper_rgb: tuple[int, int, int] | None
) -> bytes:
    """The first content stream: paper, if any, and the artwork under ``matrix``."""
    paper = ""
    if paper_rgb is not None:
        color = " ".join(number(channel / 255.0, 6) for channel in paper_rgb)
        paper = f"q {color} rg 0 0 {number(page_pt[0], 6)} {number(page_pt[1], 6)} re f Q\n"
    return f"{paper}q {matrix_numbers(matrix)} cm {ART} Do Q\n".encode()


def marks_content(marks: Marks, page_mm: tuple[float, float]) -> bytes:
    """The content of the form that draws the marks on a page of this size."""
    k = PT_PER_MM
    lines = [
        f"{number(k, 9)} 0 0 {number(-k, 9)} 0 {number(page_mm[1] * k, 6)} cm",
        " ".join(number(channel / 255.0) for channel in COLOR_RGB) + " RG",
        f"{number(LINE_MM)} w 0 J 0 j [] 0 d",
    ]
    for line in cross_lines(marks):
        x0, y0, x1, y1 = map(number, line)
        lines.append(f"{x0} {y0} m {x1} {y1} l S")
    for diameter in marks.diameters_mm:
        lines.append(" ".join(_circle(*marks.center_mm, diameter / 2.0)) + " s")
    return ("\n".join(lines) + "\n").encode()


def _circle(x: float, y: float, radius: float) -> Iterator[str]:
    step = 2.0 * math.pi / _ARCS
    reach = 4.0 / 3.0 * math.tan(step / 4.0)

    def at(angle: float, along: float) -> str:
        cos, sin = math.cos(angle), math.sin(angle)
        px, py = x + radius * (cos - along * sin), y + radius * (sin + along * cos)
        return f"{number(px, 6)} {number(py, 6)}"

    yield f"{at(0.0, 0.0)} m"
    for arc in range(_ARCS):
        start, end = arc * step, (arc + 1) * step
        yield f"{at(start, reach)} {at(end, -reach)} {at(end, 0.0)} c"


def marks_form(pdf: Any, marks: Marks, page_mm: tuple[float, float]) -> Any:
    """The form XObject of the marks, made in ``pdf``."""
    import pikepdf

    form = pdf.make_stream(marks_content(marks, page_mm))
    form["/Type"], form["/Subtype"] = pikepdf.Name("/XObject"), pikepdf.Name("/Form")
    form["/BBox"] = pikepdf.Array([0, 0, *(_pt(side) for side in page_mm)])
    form["/Resources"] = pikepdf.Dictionary()
    form[MARKS_KEY] = pikepdf.String(str(marks))
    return form


def _pt(length_mm: float) -> Any:
    from decimal import Decimal

    return Decimal(number(length_mm * PT_PER_MM, 6))


def read_placed_pdf(source: str | io.BytesIO, page: int) -> PlacedPdf:
    """What is ours on this page. An unreadable file is nobody's business here."""
    import pikepdf

    try:
        with pikepdf.open(source) as pdf:
            return _read(pdf, pdf.pages[page - 1].obj)
    except (pikepdf.PdfError, pikepdf.PasswordError, pikepdf.DependencyError):
        return PlacedPdf()
    except (RuntimeError, ValueError, TypeError, LookupError, AttributeError, OSError):
        return PlacedPdf()


def _read(pdf: Any, page: Any) -> PlacedPdf:
    objects = page.get("/Resources", {}).get("/XObject", {})
    doubts = doubt_warnings(_CODES.findall(str(page.get(DOUBTS_KEY, ""))))
    if MARKS not in objects and PICTURE_KEY not in page:
        return PlacedPdf(None, doubts)
    contents = page.get("/Contents")
    streams = list(contents) if contents._type_name == "array" else [contents]
    has_marks = len(streams) == 2 and _is_marks(streams[1], objects, page)
    is_ours = _is_art(streams[0], objects) and (has_marks or len(streams) == 1)
    picture = _picture_rule(page, objects) if is_ours else None
    own = doubts if picture is None else (*doubts, *picture.warnings())
    if MARKS not in objects:
        return PlacedPdf(None, own, picture)
    if not (is_ours and has_marks):
        return PlacedPdf(None, (MARKS_CHANGED, *own), picture)
    page["/Contents"] = streams[0]
    del objects[MARKS]
    stream = io.BytesIO()
    pdf.save(stream)
    return PlacedPdf(stream.getvalue(), (MARKS_LEFT_OUT, *own), picture)


def _is_art(stream: Any, objects: Any) -> bool:
    if ART not in objects or not _is_plain(stream):
        return False
    return _ART_CONTENT.fullmatch(stream.read_bytes().decode("latin-1")) is not None


def _is_plain(stream: Any) -> bool:
    """Whether every program decodes it to the same bytes."""
    plain = str(stream.get("/Filter", "/FlateDecode")) == "/FlateDecode"
    return plain and "/DecodeParms" not in stream and "/F" not in stream


def _is_marks(stream: Any, objects: Any, page: Any) -> bool:
    """Whether this stream draws our marks and nothing else."""
    form = objects.get(MARKS)
    if form is None or not (_is_plain(stream) and _is_plain(form)):
        return False
    if stream.read_bytes() != MARKS_CONTENT:
        return False
    marks = parse_marks(str(form.get(MARKS_KEY, "")))
    if marks is None or form.get("/Subtype") != "/Form" or "/Matrix" in form:
        return False
    box = [float(side) for side in page["/MediaBox"]]
    page_mm = box[2] / PT_PER_MM, box[3] / PT_PER_MM
    return bool(form.read_bytes() == marks_content(marks, page_mm))


def _picture_rule(page: Any, objects: Any) -> PictureRule | None:
    """The rule on the page, if it was made for the very picture that is drawn."""
    rule = parse_picture_rule(str(page.get(PICTURE_KEY, "")))
    image = objects.get(ART)
    if rule is None or image is None or image.get("/Subtype") != "/Image":
        return None
    return rule if rule.sha256 == image_digest(image) else None


def image_digest(image: Any) -> str:
    """SHA-256 of an image XObject with all that decides how it looks."""
    digest = hashlib.sha256()
    for part in (image, image.get("/SMask")):
        if part is None:
            continue
        keys = sorted(key for key in part.keys() if key not in ("/Length", "/SMask"))  # noqa: SIM118
        digest.update("".join(f"{key} {part[key]!r} " for key in keys).encode())
        digest.update(part.read_raw_bytes())
    return digest.hexdigest()
