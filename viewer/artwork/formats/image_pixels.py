"""Every pixel mode of a picture as straight-alpha RGBA, without a full RGBA copy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.errors import ArtworkError

Rgba = NDArray[np.uint8]
PixelBox = tuple[int, int, int, int]

_PLAIN_MODES = ("1", "L", "LA", "P", "PA", "RGB", "RGBA")
_CONVERTED = {"CMYK": "RGB", "YCbCr": "RGB", "HSV": "RGB", "RGBX": "RGB", "RGBa": "RGBA"}
_DEEP_NOTE = "The picture has more than 16 bits per channel, so which value means paper is a guess."


@dataclass(frozen=True)
class PixelNote:
    """What has to be remembered beside the 8-bit picture."""

    transparent: tuple[int, ...] | None = None
    """The one color, one value per channel, that is transparent."""
    warning: str | None = None


class RgbaSource:
    """An 8-bit Pillow image that hands out RGBA pieces of itself."""

    def __init__(self, image: Any, transparent: tuple[int, ...] | None = None) -> None:
        self._image = image
        self._transparent = transparent
        palette_alpha = image.mode == "P" and "transparency" in image.info
        palette_alpha = palette_alpha or (
            image.mode == "P" and image.palette is not None and "A" in image.palette.mode
        )
        self.has_alpha: bool = (
            transparent is not None or palette_alpha or image.mode in ("LA", "PA", "RGBA")
        )

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height."""
        width, height = self._image.size
        return int(width), int(height)

    def rows(self, y0: int, y1: int) -> Rgba:
        """Whole rows y0 to y1, the last not included."""
        return self.block((0, y0, self.size_px[0], y1))

    def block(self, box: PixelBox) -> Rgba:
        """Pixels of a box (x0, y0, x1, y1) inside the picture, (h, w, 4)."""
        piece = self._image.crop(box)
        if self._transparent is None:
            return np.array(piece.convert("RGBA"), dtype=np.uint8)
        values = np.asarray(piece.convert("L") if piece.mode == "1" else piece)
        channels = values[..., None] if values.ndim == 2 else values
        rgba = np.empty((*channels.shape[:2], 4), dtype=np.uint8)
        rgba[..., :3] = channels
        hidden = (channels == np.array(self._transparent)).all(axis=2)
        rgba[..., 3] = np.where(hidden, 0, 255)
        return rgba


def rgba_source(image: Any) -> tuple[Any, PixelNote]:
    """An 8-bit picture (1, L, LA, P, RGB or RGBA) of a decoded Pillow image."""
    mode = str(image.mode)
    if mode in _PLAIN_MODES:
        return _plain(image)
    if mode in _CONVERTED:
        return image.convert(_CONVERTED[mode]), PixelNote()
    if mode == "La":
        return image.convert("LA"), PixelNote()
    if mode.startswith("I;16"):
        return _from_16_bit(image), _sixteen_bit_note(image)
    if mode in ("I", "F"):
        return _from_deep(image)
    raise ArtworkError(
        f"pictures of kind {mode} cannot be measured: save it as RGB", code="unsupported-mode"
    )


def turned(image: Any, orientation: int) -> Any:
    """The picture as it is meant to be seen; orientation as in EXIF 2.32, 1 to 8."""
    from PIL.Image import Transpose

    methods = {
        2: Transpose.FLIP_LEFT_RIGHT,
        3: Transpose.ROTATE_180,
        4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE,
        6: Transpose.ROTATE_270,
        7: Transpose.TRANSVERSE,
        8: Transpose.ROTATE_90,
    }
    return image.transpose(methods[orientation]) if orientation in methods else image


def _plain(image: Any) -> tuple[Any, PixelNote]:
    key = image.info.get("transparency")
    if image.mode not in ("1", "L", "RGB") or key is None:
        return image, PixelNote()
    values = tuple(int(v) for v in key) if isinstance(key, (tuple, list)) else (int(key),)
    if image.mode == "1":
        values = (255 if values[0] else 0,)
    elif max(values) > 255:
        # Pillow keeps the high byte of 16-bit channels, but the key at its full depth.
        values = tuple(v >> 8 for v in values)
    # Dropped, or Pillow's own convert() would apply it a second time.
    image.info.pop("transparency", None)
    return image, PixelNote(transparent=values)


def _from_16_bit(image: Any) -> Any:
    """0..65535 to 0..255 evenly; Pillow's own convert("L") cuts off at 255.

    Rounded down, so that only full white becomes 255 (ink is never lost to rounding up).
    """
    from PIL import Image

    steps = np.arange(65536, dtype=np.uint32)
    if image.format == "TIFF" and image.tag_v2.get(262) == 0:
        # WhiteIsZero is inverted by Pillow for 8 bits only.
        steps = steps[::-1]
    # A table keeps the memory at one 16-bit and one 8-bit copy.
    table = (steps * 255 // 65535).astype(np.uint8)
    return Image.fromarray(table[np.asarray(image).astype(np.uint16, copy=False)])


def _sixteen_bit_note(image: Any) -> PixelNote:
    key = image.info.get("transparency")
    return PixelNote() if key is None else PixelNote(transparent=(int(key) * 255 // 65535,))


def _from_deep(image: Any) -> tuple[Any, PixelNote]:
    from PIL import Image

    values = np.asarray(image)
    if not np.isfinite(values).all():
        raise ArtworkError("the picture has pixels that are not numbers", code="damaged")
    low, high = min(0.0, float(values.min())), float(values.max())
    usual = (full for full in (1.0, 255.0, 65535.0) if low == 0.0 and high <= full)
    span = next(usual, high - low) or 1.0
    levels = np.empty(values.shape, dtype=np.uint8)
    for y, row in enumerate(values):
        levels[y] = np.floor((row.astype(np.float64) - low) * (255.0 / span))
    return Image.fromarray(levels), PixelNote(warning=_DEEP_NOTE)
