"""The demo drawing in PDF, written by hand: a start plate on a bigger, cropped page."""

from __future__ import annotations

PT_PER_MM = 72 / 25.4


def _pt(mm: float) -> str:
    return f"{mm * PT_PER_MM:.5f}"


def _polygon(points: list[tuple[float, float]]) -> str:
    head, *rest = [f"{_pt(x)} {_pt(y)}" for x, y in points]
    return f"{head} m " + " ".join(f"{point} l" for point in rest) + " h"


def _rect(x: float, y: float, width: float, height: float) -> str:
    return f"{_pt(x)} {_pt(y)} {_pt(width)} {_pt(height)} re"


def _content() -> str:
    """Ink from (42, 57) to (108, 145) mm, measured from the media box's lower left corner."""
    x, y, width, height, band = 42.0, 57.0, 66.0, 88.0, 3.0
    navy, red, teal = "0.086 0.196 0.310 rg", "0.761 0.263 0.176 rg", "0.122 0.471 0.463 rg"
    seven = [(57, 131), (95, 131), (95, 123), (76, 85), (66, 85), (84, 122), (57, 122)]
    parts = [
        navy,
        _rect(x, y, width, height),
        _rect(x + band, y + band, width - 2 * band, height - 2 * band) + " f*",
        red,
        _polygon([(float(a), float(b)) for a, b in seven]) + " f",
        teal,
    ]
    for row in range(3):
        low = 64.0 + 5.5 * row
        for piece in range(6):
            left = 49.0 + 9.0 * piece
            lift = [(left, low), (left + 3.4, low + 2.8), (left + 6.8, low)]
            parts.append(
                _polygon(
                    [*lift, (left + 6.8, low + 1.6), (left + 3.4, low + 4.4), (left, low + 1.6)]
                )
                + " f"
            )
    parts.append(navy)
    for hole in (52.0, 98.0):
        parts.append(_rect(hole - 2.5, 136, 5, 2.4) + " f")
    return "\n".join(parts) + "\n"


def start_plate() -> bytes:
    """One page: media box 160 x 200 mm, crop box 20..130 x 40..160 mm of it."""
    content = _content().encode("ascii")
    crop = " ".join(_pt(mm) for mm in (20.0, 40.0, 130.0, 160.0))
    page = (
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {_pt(160)} {_pt(200)}] "
        f"/CropBox [{crop}] /Resources << >> /Contents 4 0 R >>"
    )
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        page.encode("ascii"),
        b"<< /Length %d >>\nstream\n%sendstream" % (len(content), content),
    ]
    out = bytearray(b"%PDF-1.4\n")
    offsets = []
    for index, body in enumerate(bodies, start=1):
        offsets.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (index, body)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1)
    for offset in offsets:
        out += b"%010d 00000 n \n" % offset
    out += b"trailer\n<< /Size %d /Root 1 0 R >>\n" % (len(bodies) + 1)
    out += b"startxref\n%d\n%%%%EOF\n" % start
    return bytes(out)
