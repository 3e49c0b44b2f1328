"""Physical resolution of a picture, read from the file's own tags.

Imaging libraries invent numbers (72 for a JPEG without resolution, 1 for a TIFF
without): here a missing tag stays missing.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import BinaryIO

from viewer.errors import ArtworkError

MM_PER_INCH = 25.4
INCHES_PER_METER = 1000.0 / MM_PER_INCH
CM_PER_INCH = 2.54
MAX_IFDS = 10_000
MAX_SEGMENT_BYTES = 16 * 1024 * 1024

_TYPE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 16: 8}
_TAG_X, _TAG_Y, _TAG_UNIT, _TAG_ORIENTATION = 282, 283, 296, 274
_SWAPPING_ORIENTATIONS = (5, 6, 7, 8)

Dpi = tuple[float, float]


@dataclass(frozen=True)
class Resolution:
    """Pixels per inch as the file says, and the sentence that says where it says so."""

    stored_dpi: Dpi | None
    """Along the stored rows and columns, before any orientation tag; None: unknown."""
    source: str
    orientation: int = 1
    """EXIF/TIFF orientation, 1..8."""
    conflict: str | None = None
    """A sentence, where two tags in the file disagree by more than 1 %."""

    @property
    def dpi(self) -> Dpi | None:
        """(x, y) of the picture as it is meant to be seen; None: unknown."""
        return oriented_dpi(self.stored_dpi, self.orientation)


def oriented_dpi(dpi: Dpi | None, orientation: int) -> Dpi | None:
    """Swap x and y where the orientation turns the picture by a quarter."""
    if dpi is None or orientation not in _SWAPPING_ORIENTATIONS:
        return dpi
    return dpi[1], dpi[0]


def read_resolution(path: str, frame: int = 0) -> Resolution:
    """Resolution of one frame (counted from 0; only TIFF frames have their own)."""
    try:
        with open(path, "rb") as file:
            return resolution_of(file, frame)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise ArtworkError(f"{path}: cannot be read: {reason}") from error


def resolution_of(file: BinaryIO, frame: int = 0) -> Resolution:
    """As ``read_resolution``, of a file that is open at its beginning."""
    try:
        return _read(file, frame)
    except (struct.error, IndexError, OverflowError):
        return Resolution(None, "the resolution tags are damaged")


def _read(file: BinaryIO, frame: int) -> Resolution:
    head = file.read(32)
    file.seek(0)
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return _read_png(file)
    if head.startswith(b"\xff\xd8"):
        return _read_jpeg(file)
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return _from_tags(_read_ifd(file, frame), "TIFF")
    if head.startswith(b"BM"):
        return _read_bmp(file)
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return _read_webp(file)
    if head.startswith(b"GIF"):
        return Resolution(None, "GIF cannot hold a physical size")
    return Resolution(None, "no resolution tags are known for this kind of file")


def _known(x: float, y: float) -> Dpi | None:
    usable = all(math.isfinite(value) and value > 0.0 for value in (x, y))
    return (x, y) if usable else None


# PNG: https://www.w3.org/TR/png-3/#11pHYs


def _read_png(file: BinaryIO) -> Resolution:
    dpi: Dpi | None = None
    source = "PNG without pHYs: no physical size"
    orientation = 1
    file.seek(8)
    while len(header := file.read(8)) == 8:
        length, kind = struct.unpack(">I4s", header)
        if kind == b"IEND":
            break
        if kind not in (b"pHYs", b"eXIf") or length > MAX_SEGMENT_BYTES:
            file.seek(length + 4, 1)
            continue
        body = file.read(length)
        file.seek(4, 1)
        if kind == b"pHYs":
            dpi, source = _png_density(body)
        else:
            orientation = _orientation(_exif_tags(body))
    return Resolution(dpi, source, orientation)


def _png_density(body: bytes) -> tuple[Dpi | None, str]:
    x, y, unit = struct.unpack(">IIB", body[:9])
    if unit != 1:
        return None, "PNG pHYs gives an aspect ratio only: no physical size"
    dpi = _known(x / INCHES_PER_METER, y / INCHES_PER_METER)
    if dpi is None:
        return None, "PNG pHYs is zero: no physical size"
    return dpi, f"PNG pHYs: {x} x {y} pixels per metre"


# JPEG: JFIF 1.02 (ITU-T T.871) and Exif 2.32


def _read_jpeg(file: BinaryIO) -> Resolution:
    jfif: bytes | None = None
    tags: dict[int, float] = {}
    file.seek(2)
    for marker, body in _jpeg_segments(file):
        if marker == 0xE0 and body.startswith(b"JFIF\0") and jfif is None:
            jfif = body
        elif marker == 0xE1 and body.startswith(b"Exif\0") and not tags:
            tags = _exif_tags(body[6:])
    exif = _from_tags(tags, "EXIF") if tags else None
    orientation = exif.orientation if exif else 1
    dpi, source = _jfif_density(jfif)
    if dpi is not None:
        return Resolution(dpi, source, orientation, _conflict(dpi, exif))
    if exif is not None and exif.stored_dpi is not None:
        return exif
    return Resolution(None, source, orientation)


def _jpeg_segments(file: BinaryIO) -> list[tuple[int, bytes]]:
    segments: list[tuple[int, bytes]] = []
    while True:
        byte = file.read(1)
        if byte != b"\xff":
            return segments
        while byte == b"\xff":
            byte = file.read(1)
        if not byte or byte[0] in (0xDA, 0xD9):
            return segments
        if byte[0] == 0x01 or 0xD0 <= byte[0] <= 0xD7:
            continue
        size = file.read(2)
        if len(size) < 2:
            return segments
        segments.append((byte[0], file.read(max(0, struct.unpack(">H", size)[0] - 2))))


def _jfif_density(body: bytes | None) -> tuple[Dpi | None, str]:
    if body is None:
        return None, "JPEG without density: no physical size"
    unit, x, y = struct.unpack(">BHH", body[7:12])
    per_inch = {1: 1.0, 2: CM_PER_INCH}.get(unit)
    dpi = None if per_inch is None else _known(x * per_inch, y * per_inch)
    if dpi is None:
        return None, "JPEG density without a unit: no physical size"
    return dpi, f"JPEG density: {x} x {y} pixels per {'inch' if unit == 1 else 'centimetre'}"


def _conflict(dpi: Dpi, exif: Resolution | None) -> str | None:
    if exif is None or exif.stored_dpi is None:
        return None
    if all(abs(a / b - 1.0) <= 0.01 for a, b in zip(dpi, exif.stored_dpi, strict=True)):
        return None
    return (
        f"The file states two resolutions, {dpi[0]:.6g} per inch in its JFIF tag and "
        f"{exif.stored_dpi[0]:.6g} in EXIF; the first is used."
    )


# BMP and WebP


def _read_bmp(file: BinaryIO) -> Resolution:
    head = file.read(54)
    if len(head) < 46 or struct.unpack_from("<I", head, 14)[0] < 40:
        return Resolution(None, "this old kind of BMP cannot hold a physical size")
    x, y = struct.unpack_from("<ii", head, 38)
    dpi = _known(x / INCHES_PER_METER, y / INCHES_PER_METER)
    if dpi is None:
        return Resolution(None, "BMP with no pixels per metre: no physical size")
    return Resolution(dpi, f"BMP header: {x} x {y} pixels per metre")


def _read_webp(file: BinaryIO) -> Resolution:
    file.seek(12)
    while len(header := file.read(8)) == 8:
        kind, length = struct.unpack("<4sI", header)
        if kind == b"EXIF" and length <= MAX_SEGMENT_BYTES:
            body = file.read(length)
            return _from_tags(_exif_tags(body.removeprefix(b"Exif\0\0")), "EXIF")
        file.seek(length + (length & 1), 1)
    return Resolution(None, "WebP without EXIF: no physical size")


# TIFF 6.0 p. 18 and 38; EXIF uses the same structure


def _from_tags(tags: dict[int, float], name: str) -> Resolution:
    orientation = _orientation(tags)
    if _TAG_X not in tags:
        return Resolution(None, f"{name} without resolution: no physical size", orientation)
    x = tags[_TAG_X]
    y = tags.get(_TAG_Y, x)
    unit = int(tags.get(_TAG_UNIT, 2))
    per_inch = {2: 1.0, 3: CM_PER_INCH}.get(unit)
    if per_inch is None:
        return Resolution(None, f"{name} resolution has no unit: no physical size", orientation)
    dpi = _known(x * per_inch, y * per_inch)
    if dpi is None:
        return Resolution(None, f"{name} resolution is not usable: no physical size", orientation)
    unit_name = "inch" if unit == 2 else "centimetre"
    source = f"{name} resolution: {x:.6g} x {y:.6g} pixels per {unit_name}"
    return Resolution(dpi, source, orientation)


def _orientation(tags: dict[int, float]) -> int:
    value = int(tags.get(_TAG_ORIENTATION, 1))
    return value if 1 <= value <= 8 else 1


def _exif_tags(body: bytes) -> dict[int, float]:
    import io

    try:
        return _read_ifd(io.BytesIO(body), 0)
    except (struct.error, IndexError, OverflowError):
        return {}


def _read_ifd(file: BinaryIO, frame: int) -> dict[int, float]:
    """The four tags of interest of the IFD of one frame; {} when there is none."""
    head = file.read(16)
    order = {b"II": "<", b"MM": ">"}.get(head[:2])
    if order is None or len(head) < 8:
        return {}
    big = struct.unpack_from(order + "H", head, 2)[0] == 43
    offset = struct.unpack_from(order + ("Q" if big else "I"), head, 8 if big else 4)[0]
    seen: set[int] = set()
    for _ in range(min(frame, MAX_IFDS)):
        seen.add(offset)
        offset = _next_offset(file, offset, order, big)
        if offset == 0 or offset in seen:
            return {}
    return _ifd_tags(file, offset, order, big)


def _entry_count(file: BinaryIO, offset: int, order: str, big: bool) -> int:
    file.seek(offset)
    size, code = (8, "Q") if big else (2, "H")
    count: int = struct.unpack(order + code, file.read(size))[0]
    return min(count, 65_535)


def _next_offset(file: BinaryIO, offset: int, order: str, big: bool) -> int:
    count = _entry_count(file, offset, order, big)
    file.seek(count * (20 if big else 12), 1)
    size, code = (8, "Q") if big else (4, "I")
    following: int = struct.unpack(order + code, file.read(size))[0]
    return following


def _ifd_tags(file: BinaryIO, offset: int, order: str, big: bool) -> dict[int, float]:
    count = _entry_count(file, offset, order, big)
    size = 20 if big else 12
    block = file.read(count * size)
    tags: dict[int, float] = {}
    for start in range(0, len(block) - size + 1, size):
        tag, kind = struct.unpack_from(order + "HH", block, start)
        if tag in (_TAG_X, _TAG_Y, _TAG_UNIT, _TAG_ORIENTATION):
            field = block[start + (12 if big else 8) : start + size]
            tags[tag] = _first_value(file, kind, field, order, big)
    return tags


def _first_value(file: BinaryIO, kind: int, field: bytes, order: str, big: bool) -> float:
    size = _TYPE_BYTES.get(kind, 0)
    if size > len(field):
        file.seek(struct.unpack(order + ("Q" if big else "I"), field)[0])
        field = file.read(size)
    if kind in (5, 10):
        top, bottom = struct.unpack_from(order + ("II" if kind == 5 else "ii"), field)
        return top / bottom if bottom else math.nan
    code = {1: "B", 3: "H", 4: "I", 8: "h", 9: "i", 11: "f", 12: "d", 16: "Q"}.get(kind)
    return float(struct.unpack_from(order + code, field)[0]) if code else math.nan
