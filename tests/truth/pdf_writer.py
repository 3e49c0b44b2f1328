"""Writes a drawing of known extent as a small PDF, by hand."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np

from .shapes import Array, Contour, Drawing, Pair, Shape, op_matrix

CAPS = {"butt": 0, "round": 1, "square": 2}
JOINS = {"miter": 0, "round": 1, "bevel": 2}


@dataclass(frozen=True)
class PdfPage:
    """The page's boxes in its own units, and how it is turned."""

    media: tuple[float, float, float, float]
    crop: tuple[float, float, float, float] | None
    rotate: int
    user_unit: float
    to_user: Array
    """Page millimetres (as seen, y down) to the page's own units."""


def _n(value: float) -> str:
    """A number as PDF wants it: no exponent."""
    text = f"{value:.9f}".rstrip("0").rstrip(".")
    return text if text not in ("", "-0") else "0"


def page_for(drawing: Drawing) -> PdfPage:
    """A random arrangement of boxes, rotation and user unit that shows the page as drawn."""
    rng = random.Random(drawing.seed + 13)
    unit = rng.choice((1.0, 1.0, 2.0, 0.5, round(rng.uniform(0.3, 4), 3)))
    rotate = rng.choice((0, 90, 180, 270))
    mm_per_unit = unit * 25.4 / 72
    shown: Pair = drawing.page_mm[0] / mm_per_unit, drawing.page_mm[1] / mm_per_unit
    width, height = shown if rotate % 180 == 0 else shown[::-1]
    x, y = (rng.uniform(-200, 200), rng.uniform(-200, 200)) if rng.random() < 0.6 else (0.0, 0.0)
    box = (x, y, x + width, y + height)
    crop = None
    media = box
    if rng.random() < 0.5:
        crop = box
        grown = [rng.uniform(0, 60) for _ in range(4)]
        media = (x - grown[0], y - grown[1], box[2] + grown[2], box[3] + grown[3])
    return PdfPage(media, crop, rotate, unit, _to_user(box, rotate, mm_per_unit))


def _to_user(box: tuple[float, float, float, float], rotate: int, mm_per_unit: float) -> Array:
    """Rotate turns the page clockwise: at 90 its bottom edge is seen at the left."""
    x0, y0, x1, y1 = box
    k = 1 / mm_per_unit
    rows = {
        0: [[k, 0, x0], [0, -k, y1]],
        90: [[0, k, x0], [k, 0, y0]],
        180: [[-k, 0, x1], [0, k, y0]],
        270: [[0, -k, x1], [-k, 0, y1]],
    }[rotate]
    return np.array([*rows, [0, 0, 1]], dtype=np.float64)


def _cm(matrix: Array) -> str:
    m = matrix
    values = (m[0, 0], m[1, 0], m[0, 1], m[1, 1], m[0, 2], m[1, 2])
    return " ".join(_n(float(v)) for v in values) + " cm"


def _path(contours: tuple[Contour, ...]) -> list[str]:
    lines = []
    for contour in contours:
        lines.append(f"{_n(contour.start[0])} {_n(contour.start[1])} m")
        for letter, points in contour.pieces:
            numbers = " ".join(f"{_n(x)} {_n(y)}" for x, y in points)
            lines.append(f"{numbers} {letter.lower()}")
        if contour.closed:
            lines.append("h")
    return lines


def _shape_lines(shape: Shape) -> list[str]:
    lines = ["q"]
    for ops in shape.groups:
        matrix = np.eye(3)
        for op in ops:
            matrix = matrix @ op_matrix(op)
        lines += ["q", _cm(matrix)]
    color = " ".join(_n(c / 255) for c in shape.color)
    if shape.stroke is None:
        lines += [f"{color} rg", *_path(shape.contours), "f*" if shape.even_odd else "f"]
    else:
        s = shape.stroke
        setup = f"{_n(s.width)} w {CAPS[s.cap]} J {JOINS[s.join]} j {_n(s.miter_limit)} M"
        lines += [f"{color} RG", setup, *_path(shape.contours), "S"]
    return lines + ["Q"] * (len(shape.groups) + 1)


def pdf_bytes(drawing: Drawing, page: PdfPage) -> bytes:
    """The whole file."""
    lines = ["q", _cm(page.to_user)]
    for shape in drawing.shapes:
        lines += _shape_lines(shape)
    content = "\n".join([*lines, "Q"])
    entries = [f"/MediaBox [{' '.join(_n(v) for v in page.media)}]"]
    if page.crop is not None:
        entries.append(f"/CropBox [{' '.join(_n(v) for v in page.crop)}]")
    if page.rotate:
        entries.append(f"/Rotate {page.rotate}")
    if page.user_unit != 1.0:
        entries.append(f"/UserUnit {_n(page.user_unit)}")
    return assemble(content, " ".join(entries))


def assemble(content: str, page_entries: str) -> bytes:
    """A one-page PDF 1.6 around a content stream."""
    stream = content.encode("ascii")
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /Contents 4 0 R /Resources << >> {page_entries} >>".encode(),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(stream), stream),
    ]
    out = bytearray(b"%PDF-1.6\n")
    offsets = []
    for number, body in enumerate(objects, start=1):
        offsets.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    out += b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (
        len(objects) + 1,
        table,
    )
    return bytes(out)
