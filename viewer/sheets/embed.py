"""The bytes of a picture as a sheet can hold them. Runs in a child process only.

PNG and JPEG go in as they are; everything else is written anew without loss. Whatever a
file says about its orientation is taken out of the bytes and put into ``orientation``,
because programs differ on whether an embedded picture is turned by it.
"""

from __future__ import annotations

import io
import zlib
from typing import Any

import numpy as np

from viewer.artwork.formats.image_file import FORMATS, MAX_PIXELS
from viewer.artwork.formats.image_pixels import RgbaSource, rgba_source, turned
from viewer.errors import ArtworkError

_ORIENTATION_TAG = 274
_PLAIN_PNG_MODES = ("1", "L", "LA", "P", "RGB", "RGBA")


def embeddable(path: str, page: int, target: str) -> tuple[dict[str, Any], bytes]:
    """What to embed in a ``target`` ("svg" or "pdf"), and how it lies.

    Header: ``mime``, stored ``size_px`` and ``orientation`` (EXIF, 1 to 8: how the stored
    picture is to be turned). For PDF other than JPEG: ``channels`` and ``color_bytes``,
    the blob being deflated colors followed by deflated alpha, if any.
    """
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    with open(path, "rb") as file:
        data = file.read()
    with Image.open(io.BytesIO(data), formats=FORMATS) as image:
        frames = int(getattr(image, "n_frames", 1))
        if page > 1:
            image.seek(page - 1)
        orientation = int(image.getexif().get(_ORIENTATION_TAG, 1) or 1)
        orientation = orientation if 1 <= orientation <= 8 else 1
        size = [int(side) for side in image.size]
        if image.format == "JPEG" and frames == 1 and image.mode in ("L", "RGB"):
            plain = _without_exif(data) if orientation != 1 else data
            channels = 1 if image.mode == "L" else 3
            facts = {"mime": "image/jpeg", "size_px": size, "channels": channels}
            return facts | {"orientation": orientation}, plain
        is_plain_png = image.format == "PNG" and frames == 1 and image.mode in _PLAIN_PNG_MODES
        if target == "svg" and is_plain_png and orientation == 1:
            return {"mime": "image/png", "size_px": size, "orientation": 1}, data
        is_tiff = image.format == "TIFF"
        image.load()
        source, note = rgba_source(image)
        if not is_tiff:
            source = turned(source, orientation)
        return _written_anew(source, note.transparent, target)


def _written_anew(
    source: Any, transparent: tuple[int, ...] | None, target: str
) -> tuple[dict[str, Any], bytes]:
    from PIL import Image

    pixels = RgbaSource(source, transparent)
    width, height = pixels.size_px
    rgba = pixels.rows(0, height)
    has_alpha = pixels.has_alpha and bool((rgba[..., 3] < 255).any())
    is_gray = bool((np.ptp(rgba[..., :3], axis=2) == 0).all())
    channels = 1 if is_gray else 3
    facts: dict[str, Any] = {"size_px": [width, height], "orientation": 1, "channels": channels}
    if target == "pdf":
        color = zlib.compress(np.ascontiguousarray(rgba[..., :channels]).tobytes(), 6)
        alpha = zlib.compress(np.ascontiguousarray(rgba[..., 3]).tobytes(), 6)
        facts |= {"mime": "raw", "color_bytes": len(color)}
        return facts, color + (alpha if has_alpha else b"")
    kept = {(1, False): [0], (1, True): [0, 3], (3, False): [0, 1, 2], (3, True): [0, 1, 2, 3]}
    chosen = np.ascontiguousarray(rgba[..., kept[channels, has_alpha]])
    stream = io.BytesIO()
    Image.fromarray(chosen[..., 0] if chosen.shape[2] == 1 else chosen).save(stream, "PNG")
    return facts | {"mime": "image/png"}, stream.getvalue()


def _without_exif(data: bytes) -> bytes:
    """A JPEG without its APP1 segments; the coded picture stays as it is."""
    out = bytearray(data[:2])
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != 0xDA:
        if data[at + 1] == 0xFF:  # fill byte
            at += 1
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big") + 2
        if data[at + 1] != 0xE1:
            out += data[at : at + length]
        at += length
    if at >= len(data):
        raise ArtworkError("the picture is damaged: its JPEG segments do not end", code="damaged")
    return bytes(out + data[at:])
