"""One frame of a picture file: size, resolution, strips of pixels, windows for the screen.

Pillow is imported only when a file is opened. Runs in a child process.
"""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.formats.content import Content, read_content
from viewer.artwork.formats.image_pixels import RgbaSource, rgba_source, turned
from viewer.artwork.formats.image_scale import oriented_dpi, resolution_of
from viewer.artwork.ink import ink_mask
from viewer.artwork.model import InkRule
from viewer.errors import ArtworkError, BrimcheckError, RenderError

MAX_PIXELS = 150_000_000
STRIP_PIXELS = 2_000_000
LARGEST_WINDOW_PX = 64_000_000
FORMATS = ("PNG", "TIFF", "JPEG", "BMP", "WEBP", "GIF")
_ANIMATED_FORMATS = ("GIF", "WEBP", "PNG")
_REDUCTIONS = (64, 16, 4)
_ORIENTATION_TAG = 274

Rgba = NDArray[np.uint8]


class ImageFile:
    """A frame of a file, counted from 1. Raises ArtworkError when it cannot be used."""

    def __init__(self, path: str, page: int = 1) -> None:
        self._name = os.path.basename(path)
        self._levels: dict[int, Any] = {}
        self._warnings: list[dict[str, Any]] = []
        # Not by name: Pillow then maps raw TIFF strips into memory and garbles those that
        # an orientation tag turns by a quarter (13.0); and a file that changes meanwhile
        # must not be measured half and half.
        content = read_content(path)
        self.sha256 = content.sha256
        self._file = content.stream()
        try:
            self._load(content, page)
        except BaseException:
            self._file.close()
            raise

    def _load(self, content: Content, page: int) -> None:
        image = self._open()
        try:
            self._pages = self._count_frames(image, page)
            self._read(image, content, page)
        except BrimcheckError:
            raise
        except MemoryError as error:
            raise self._too_large(image.size) from error
        except Exception as error:  # Pillow's plugins raise many unrelated kinds
            raise self._damaged(error) from error

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height as seen."""
        return self._source.size_px

    def close(self) -> None:
        """Drop the pixels and give the file back. May be called more than once."""
        self._levels.clear()
        self._file.close()

    def info(self) -> dict[str, Any]:
        """What is known about the frame, JSON-able; ``dpi`` None: the file does not say."""
        return {
            "sha256": self.sha256,
            "size_px": list(self.size_px),
            "dpi": list(self._dpi) if self._dpi is not None else None,
            "scale_source": self._scale_source,
            "pages": self._pages,
            "mode": self._mode,
            "lossy": self._lossy,
            "has_alpha": self._source.has_alpha,
            "has_transparency": self._has_transparency(),
            "warnings": [dict(warning) for warning in self._warnings],
        }

    def rgba_rows(self, y0: int, y1: int) -> Rgba:
        """Rows y0 to y1 (not included), shape (y1 - y0, width, 4), straight alpha."""
        return self._source.rows(y0, y1)

    def border_rgba(self) -> Rgba:
        """All pixels of the outermost rows and columns, shape (k, 4)."""
        width, height = self.size_px
        left = self._source.block((0, 0, 1, height)).reshape(-1, 4)
        right = self._source.block((width - 1, 0, width, height)).reshape(-1, 4)
        top = self.rgba_rows(0, 1).reshape(-1, 4)
        bottom = self.rgba_rows(height - 1, height).reshape(-1, 4)
        return np.concatenate((top, bottom, left, right))

    def coarse_ink(self, rule: InkRule, block_px: int) -> NDArray[np.bool_]:
        """Whether each block of block_px x block_px pixels has any ink, row by row.

        The last row and column of blocks may be narrower than the others.
        """
        return np.asarray(self._by_blocks(rule, block_px, np.logical_or, np.bool_), np.bool_)

    def coarse_counts(self, rule: InkRule, block_px: int) -> NDArray[np.uint16]:
        """How many pixels of each such block are ink. ``block_px`` is at most 255."""
        return np.asarray(self._by_blocks(rule, block_px, np.add, np.uint16), np.uint16)

    def _by_blocks(self, rule: InkRule, block_px: int, join: np.ufunc, kind: type) -> Any:
        if block_px < 1:
            raise ValueError(f"block_px must be at least 1, not {block_px}")
        width, _ = self.size_px
        columns = np.arange(0, width, block_px)
        rows: list[NDArray[Any]] = []
        for _, rgba in self._strips(block_px):
            mask = ink_mask(rgba, rule)
            starts = np.arange(0, len(mask), block_px)
            by_row = join.reduceat(mask, starts, axis=0, dtype=kind)
            rows.append(join.reduceat(by_row, columns, axis=1, dtype=kind))
        return np.concatenate(rows)

    def draw(self, x0_px: float, y0_px: float, px_per_px: float, w: int, h: int) -> Rgba:
        """A window for the screen, (h, w, 4); outside the picture it is transparent.

        ``px_per_px`` is screen pixels per picture pixel. Shrinking averages, enlarging
        shows square pixels.
        """
        if w <= 0 or h <= 0 or not px_per_px > 0.0:
            raise RenderError("the window to draw is empty")
        if w * h > LARGEST_WINDOW_PX:
            raise RenderError(f"the window to draw is too large: {w} x {h} px")
        result = np.zeros((h, w, 4), dtype=np.uint8)
        width, height = self.size_px
        columns = _overlap(x0_px, px_per_px, w, width)
        rows = _overlap(y0_px, px_per_px, h, height)
        if columns[0] < columns[1] and rows[0] < rows[1]:
            box = (
                x0_px + columns[0] / px_per_px,
                y0_px + rows[0] / px_per_px,
                x0_px + columns[1] / px_per_px,
                y0_px + rows[1] / px_per_px,
            )
            size = (columns[1] - columns[0], rows[1] - rows[0])
            piece = self._scaled(box, size, px_per_px)
            result[rows[0] : rows[1], columns[0] : columns[1]] = piece
        return result

    # Reading

    def _open(self) -> Any:
        from PIL import Image, UnidentifiedImageError

        Image.MAX_IMAGE_PIXELS = MAX_PIXELS
        try:
            with warnings.catch_warnings():
                # Our own limit is checked below, before anything is decoded.
                warnings.simplefilter("ignore")
                image = Image.open(self._file, formats=FORMATS)
        except Image.DecompressionBombError as error:
            raise self._too_large(None) from error
        except UnidentifiedImageError as error:
            raise ArtworkError(
                f"{self._name}: the picture is damaged or of an unknown kind", code="damaged"
            ) from error
        except Exception as error:  # Pillow's plugins raise many unrelated kinds
            raise self._damaged(error) from error
        return image

    def _count_frames(self, image: Any, page: int) -> int:
        self._check_size(image.size)
        count = int(getattr(image, "n_frames", 1))
        if not 1 <= page <= count:
            has = "1 page" if count == 1 else f"{count} pages"
            raise ArtworkError(
                f"{self._name}: there is no page {page}: the file has {has}", code="page-range"
            )
        if count > 1 and image.format in _ANIMATED_FORMATS:
            self._warn("animation", f"The picture is an animation of {count} frames.", True)
        return count

    def _read(self, image: Any, content: Content, page: int) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if page > 1:
                image.seek(page - 1)
                self._check_size(image.size)
            self._mode = str(image.mode)
            self._lossy = _is_lossy(image, content)
            # Asked before decoding: TIFF frames are turned, and the tag dropped, on load.
            orientation = int(image.getexif().get(_ORIENTATION_TAG, 1) or 1)
            image.load()
            source, note = rgba_source(image)
            if image.format != "TIFF":
                source = turned(source, orientation)
            self._source = RgbaSource(source, note.transparent)
        if note.warning:
            self._warn("unusual-depth", note.warning, True)
        frame = page - 1 if image.format == "TIFF" else 0
        resolution = resolution_of(content.stream(), frame)
        self._dpi = oriented_dpi(resolution.stored_dpi, orientation)
        self._scale_source = resolution.source
        if resolution.conflict:
            self._warn("scale-conflict", resolution.conflict, True)

    def _check_size(self, size: tuple[int, int]) -> None:
        if size[0] * size[1] > MAX_PIXELS:
            raise self._too_large(size)
        if size[0] < 1 or size[1] < 1:
            raise ArtworkError(f"{self._name}: the picture has no pixels", code="damaged")

    def _too_large(self, size: tuple[int, int] | None) -> ArtworkError:
        what = "the picture" if size is None else f"the picture of {size[0]} x {size[1]} px"
        limit = MAX_PIXELS // 1_000_000
        return ArtworkError(
            f"{self._name}: {what} is too large: the limit is {limit} million pixels",
            code="too-large",
        )

    def _damaged(self, error: Exception) -> ArtworkError:
        reason = str(error) or type(error).__name__
        return ArtworkError(f"{self._name}: the picture is damaged: {reason}", code="damaged")

    def _warn(self, code: str, message: str, blocks_fits: bool) -> None:
        self._warnings.append({"code": code, "message": message, "blocks_fits": blocks_fits})

    # Pixels

    def _strips(self, multiple: int = 1) -> Iterator[tuple[int, Rgba]]:
        width, height = self.size_px
        rows = max(1, STRIP_PIXELS // width // multiple) * multiple
        for y0 in range(0, height, rows):
            yield y0, self.rgba_rows(y0, min(height, y0 + rows))

    def _has_transparency(self) -> bool:
        if not self._source.has_alpha:
            return False
        return any(bool((rgba[..., 3] < 255).any()) for _, rgba in self._strips())

    def _scaled(
        self, box: tuple[float, float, float, float], size: tuple[int, int], px_per_px: float
    ) -> Rgba:
        from PIL import Image

        factor = next((step for step in _REDUCTIONS if px_per_px * step <= 1.0), 1)
        x0, y0, x1, y1 = (value / factor for value in box)
        whole = (int(np.floor(x0)), int(np.floor(y0)), int(np.ceil(x1)), int(np.ceil(y1)))
        piece = self._level(factor).crop(whole) if factor > 1 else self._padded(whole)
        inner = (x0 - whole[0], y0 - whole[1], x1 - whole[0], y1 - whole[1])
        kind = Image.Resampling.BOX if px_per_px < 1.0 else Image.Resampling.NEAREST
        return np.asarray(piece.resize(size, kind, box=inner))

    def _padded(self, box: tuple[int, int, int, int]) -> Any:
        """An RGBA piece of the picture, transparent where the box reaches outside."""
        from PIL import Image

        width, height = self.size_px
        inside = (max(0, box[0]), max(0, box[1]), min(width, box[2]), min(height, box[3]))
        piece = np.zeros((box[3] - box[1], box[2] - box[0], 4), dtype=np.uint8)
        rows = slice(inside[1] - box[1], inside[3] - box[1])
        columns = slice(inside[0] - box[0], inside[2] - box[0])
        piece[rows, columns] = self._source.block(inside)
        return Image.fromarray(piece)

    def _level(self, factor: int) -> Any:
        """The whole picture averaged over factor x factor pixels, kept for the next window."""
        from PIL import Image

        if factor not in self._levels:
            width, height = self.size_px
            columns = -(-width // factor)
            level = Image.new("RGBA", (columns, -(-height // factor)))
            rows = max(1, STRIP_PIXELS // width // factor) * factor
            for y0 in range(0, height, rows):
                bottom = -(-min(height, y0 + rows) // factor) * factor
                strip = self._padded((0, y0, columns * factor, bottom))
                level.paste(strip.reduce(factor), (0, y0 // factor))
            self._levels[factor] = level
        return self._levels[factor]


def _overlap(start: float, scale: float, count: int, length: int) -> tuple[int, int]:
    """Which of ``count`` window pixels the picture touches along one axis."""
    first = np.floor((0.0 - start) * scale)
    last = np.ceil((length - start) * scale)
    return int(min(max(first, 0), count)), int(min(max(last, 0), count))


def _is_lossy(image: Any, content: Content) -> bool:
    if image.format in ("JPEG", "MPO"):
        return True
    if image.format == "TIFF":
        return str(image.info.get("compression", "")) in ("jpeg", "tiff_jpeg", "webp")
    if image.format == "WEBP":
        return b"VP8 " in content.data[:65_536]
    return False
