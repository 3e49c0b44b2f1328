"""The layer of marks on a placed sheet, and how it is told from ink when it is read back.

A placed sheet carries marks (the cup's center, ring lines) that nobody wants measured.
Leaving out "the layer with that name" would be a way to hide ink: a layer can be drawn
in, and a checksum in it can be worked out anew. So nothing in the layer is believed but
a few numbers. The reader draws the layer from those numbers itself and compares, byte by
byte; what it leaves out is therefore thin lines of its own making and nothing else. A
layer that differs in one byte, that has been moved, that other parts of the drawing
refer to, or that style rules may reach is measured as ink, with a blocking warning.

SVG is treated here; `placed_pdf` does the same for PDF.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape

from viewer.artwork.formats.svg_scope import may_reach_outside
from viewer.artwork.model import ArtworkWarning

MARKS_LEFT_OUT = ArtworkWarning(
    "marks-left-out",
    "the layer of marks that this program put on the sheet (cup centre, rings) is not measured",
)
MARKS_CHANGED = ArtworkWarning(
    "marks-changed",
    "the layer of brimcheck marks is not as it was written, so all of it is measured as ink: "
    "take the layer out, or write the sheet again",
    True,
)

CROSS_ARM_MM = 2.0
LINE_MM = 0.1
COLOR_RGB = (0, 114, 178)
_ATTRIBUTE = "data-brimcheck-marks"
_ID = "brimcheck-marks"
# Every property that could be inherited or set by a rule is spelled out.
_STYLE = (
    "fill:none;stroke:#0072b2;stroke-width:{width};stroke-opacity:1;stroke-dasharray:none;"
    "stroke-linecap:butt;stroke-linejoin:miter;opacity:1;marker:none;filter:none;"
    "clip-path:none;mask:none"
)
_NUMBER = r"-?\d+(?:\.\d{1,4})?"
_LAYER = re.compile(
    rf'<g id="({_ID}(?:-\d+)?)" {_ATTRIBUTE}="({_NUMBER}(?: {_NUMBER}){{1,8}})">[^&]*?</g>\n'
    r"(?=</svg>\s*\Z)".encode()
)
# With another beginning, a DOCTYPE could give the layer's elements attributes, or another
# encoding could give its bytes another meaning.
BEGINNINGS = (b'<?xml version="1.0" encoding="UTF-8"?>\n<svg ', b"<svg ")


@dataclass(frozen=True)
class Marks:
    """What is marked, in mm of the page: the cup's center and circles about it.

    Numbers are kept to 0.0001 mm, so that they can be written and read back exactly.
    """

    center_mm: tuple[float, float]
    diameters_mm: tuple[float, ...] = ()

    def __str__(self) -> str:
        return " ".join(number(v) for v in (*self.center_mm, *self.diameters_mm))


def parse_marks(text: str) -> Marks | None:
    """The marks of ``str(marks)``; None when it is anything else."""
    try:
        values = [float(part) for part in text.split(" ")]
    except ValueError:
        return None
    if len(values) < 2 or not all(math.isfinite(v) for v in values):
        return None
    marks = Marks((values[0], values[1]), tuple(values[2:]))
    return marks if str(marks) == text else None


def number(value: float, digits: int = 4) -> str:
    """A plain decimal without needless zeros, as SVG and PDF both read it."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def matrix_numbers(matrix: tuple[float, ...]) -> str:
    """The six numbers of a matrix, to a millionth of a millionth."""
    return " ".join(number(value, 12) for value in matrix)


def cross_lines(marks: Marks) -> Iterator[tuple[float, float, float, float]]:
    """The two lines of the center mark: x0, y0, x1, y1 in mm of the page."""
    x, y = marks.center_mm
    yield x - CROSS_ARM_MM, y, x + CROSS_ARM_MM, y
    yield x, y - CROSS_ARM_MM, x, y + CROSS_ARM_MM


def marks_svg(marks: Marks, layer_id: str = _ID) -> str:
    """The layer, to be the last child of a root whose user unit is a millimeter."""
    style = _STYLE.format(width=number(LINE_MM))
    x, y = (number(v) for v in marks.center_mm)
    path = "".join("M{} {}L{} {}".format(*map(number, line)) for line in cross_lines(marks))
    lines = [
        f'<g id="{layer_id}" {_ATTRIBUTE}="{marks}">',
        f'<path style="{style}" d="{path}"/>',
        *(
            f'<circle style="{style}" cx="{x}" cy="{y}" r="{number(diameter / 2.0, 5)}"/>'
            for diameter in marks.diameters_mm
        ),
        "</g>\n",
    ]
    return "\n".join(lines)


def unused_layer_id(document: str) -> str:
    """An id for the layer that occurs nowhere in ``document``."""
    name, count = _ID, 1
    while name in document:
        count += 1
        name = f"{_ID}-{count}"
        if count > 999:  # a document made to take them all: the layer is then measured as ink
            break
    return name


@dataclass(frozen=True)
class WithoutMarks:
    """An SVG without its layer of marks; ``layer_id`` None: there was none to leave out."""

    data: bytes
    layer_id: str | None = None
    is_changed: bool = False


def split_marks(data: bytes) -> WithoutMarks:
    """Cut the layer of marks out of ``data`` if it is, and stands, exactly as written.

    The layer must be the last thing in the root. At that place, and in well-formed XML
    without a DOCTYPE, these bytes can be nothing but elements: a comment or a CDATA
    section around them would have to end after them. Scripts and animations, which may do
    anything, are not run and forbid a plain "fits" anyway.
    """
    if _ATTRIBUTE.encode() not in data and f'"{_ID}'.encode() not in data:
        return WithoutMarks(data)
    match = _LAYER.search(data, max(0, data.rfind(b"<g id=")))
    if match is None or not data.startswith(BEGINNINGS):
        return WithoutMarks(data, is_changed=True)
    layer_id = match.group(1).decode()
    marks = parse_marks(match.group(2).decode())
    if marks is None or match.group().decode("latin-1") != marks_svg(marks, layer_id):
        return WithoutMarks(data, is_changed=True)
    rest = data[: match.start()] + data[match.end() :]
    if layer_id.encode() in rest or (
        b"&#" in rest and layer_id in unescape(rest.decode("latin-1"))
    ):
        return WithoutMarks(data, is_changed=True)
    return WithoutMarks(rest, layer_id)


def acts_on_marks(layer_id: str, cleaned: str, sheets: tuple[str, ...]) -> bool:
    """Whether what remains of the drawing could show the layer again, or restyle it.

    ``cleaned`` has its entities resolved, so an id written in a roundabout way is seen.
    """
    return layer_id in cleaned or any(may_reach_outside(sheet) for sheet in sheets)
