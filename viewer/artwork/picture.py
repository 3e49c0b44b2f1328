"""The picture shown on screen: coarser than what was measured, and apart from it."""

from __future__ import annotations

import contextlib
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import Artwork
from viewer.artwork.source import OpenFile, open_file
from viewer.errors import ArtworkError


class Picture:
    """Draws windows of a measured file; holds one renderer process until closed."""

    def __init__(self, artwork: Artwork) -> None:
        self._artwork = artwork
        self._stack = contextlib.ExitStack()
        kinds = (artwork.drawn_by,) if artwork.drawn_by else None
        self._file: OpenFile = self._stack.enter_context(
            open_file(artwork.path, artwork.options, kinds)
        )
        if self._file.sha256 != artwork.sha256:
            self.close()
            raise ArtworkError(
                f"{artwork.path}: has changed since it was measured; open it again",
                code="changed",
            )

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        """Straight-alpha RGBA, (height_px, width_px, 4), of a window of the page frame."""
        kx, ky = self._artwork.mm_per_file_unit
        worker = self._file.workers[0]
        window = (x0_mm / kx, y0_mm / ky, px_per_mm * kx, width_px, height_px)
        if abs(kx - ky) < 1e-9 * kx:
            header, blob = worker.call("draw", window=window)
            return np.frombuffer(blob, np.uint8).reshape(header["shape"])
        # Unequal resolutions: drawn with square file pixels, then stretched in y.
        rows = max(1, round(height_px * kx / ky))
        header, blob = worker.call("draw", window=(*window[:3], width_px, rows))
        tall = np.frombuffer(blob, np.uint8).reshape(header["shape"])
        return tall[np.minimum(np.arange(height_px) * rows // height_px, rows - 1)]

    def close(self) -> None:
        """Give the renderer back."""
        self._stack.close()

    def __enter__(self) -> Picture:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def open_picture(artwork: Artwork) -> Picture:
    """Open the file once more, for drawing. Raises ArtworkError when it has changed."""
    return Picture(artwork)
