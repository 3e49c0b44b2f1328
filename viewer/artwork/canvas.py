"""One drawing surface per foreign renderer. Runs in the renderer process only.

Every canvas draws a window of the page: top-left corner and pixels per millimetre,
in the file's own millimetres (before any scaling a person asked for).
"""

from __future__ import annotations

import io
import os
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from viewer.errors import ArtworkError

Rgba = NDArray[np.uint8]

PX_PER_MM = 96.0 / 25.4
_TOLERANCE_PX = 0.01
_SVG_NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


class Canvas(Protocol):
    """What the measuring asks of a renderer."""

    def info(self) -> dict[str, Any]:
        """JSON-able facts about the drawing."""

    def draw(self, x0: float, y0: float, px_per_mm: float, width: int, height: int) -> Rgba:
        """Straight-alpha RGBA, shape (height, width, 4)."""

    def alpha(
        self, x0: float, y0: float, px_per_mm: float, width: int, height: int
    ) -> NDArray[np.uint8]:
        """Coverage only, shape (height, width)."""


class CairoCanvas:
    """CairoSVG drawn once into a recording, which then replays any window."""

    # Cairo keeps paths in 1/256 of a unit: recording enlarged keeps that far below a
    # micrometer. Beyond some 2**16 units replaying a stroke fills the memory, so stay below.
    _ENLARGE = 64.0
    _MAX_UNITS = 2.0**15

    def __init__(self, inner: str, page_px: tuple[float, float]) -> None:
        if os.environ.get("BRIMCHECK_HIDE_CAIRO") == "1":
            raise ArtworkError("libcairo is hidden", code="no-cairo")
        try:
            import cairocffi
            from cairosvg.parser import Tree
            from cairosvg.surface import Surface
        except (OSError, ImportError) as error:
            raise ArtworkError(f"libcairo cannot be loaded: {error}", code="no-cairo") from None

        from viewer.artwork.cairosvg_fixes import apply_fixes

        apply_fixes()
        self._cairo = cairocffi
        largest = max(*page_px, 1.0)
        self._enlarge = min(self._ENLARGE, self._MAX_UNITS / largest)

        class Recorder(Surface):  # type: ignore[misc]
            device_units_per_user_units = 1  # px, as for pictures; the base class counts in pt

            def _create_surface(self, width: float, height: float) -> tuple[Any, float, float]:
                surface = cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR_ALPHA, None)
                return surface, width, height

            def draw(self, node: Any) -> None:
                # A tenth of a pixel, cairo's default, turns the end of a wide curved
                # stroke far enough to move its corners by two pixels.
                self.context.set_tolerance(_TOLERANCE_PX)
                super().draw(node)

        width, height = page_px
        text = (
            f'<svg {_SVG_NS} width="{width!r}px" height="{height!r}px" overflow="visible">'
            f"{inner}</svg>"
        )
        # Bytes, never a URL: in safe mode a file URL silently drops every `use`.
        tree = Tree(bytestring=text.encode(), unsafe=False)
        self._recorder = Recorder(tree, None, 96, scale=self._enlarge)
        self._record = self._recorder.cairo

    def info(self) -> dict[str, Any]:
        """Outer bounds of everything drawn, in page millimetres."""
        x, y, width, height = self._record.ink_extents()
        if width <= 0 or height <= 0:
            return {"extents_mm": None}
        k = 1.0 / (self._enlarge * PX_PER_MM)
        return {"extents_mm": [x * k, y * k, (x + width) * k, (y + height) * k]}

    def _bgra(self, x0: float, y0: float, px_per_mm: float, width: int, height: int) -> Rgba:
        surface = self._cairo.ImageSurface(self._cairo.FORMAT_ARGB32, width, height)
        context = self._cairo.Context(surface)
        context.translate(-x0 * px_per_mm, -y0 * px_per_mm)
        factor = px_per_mm / (PX_PER_MM * self._enlarge)
        # The vanishing skew matters: cairo carries paths through a pure scale with a
        # factor rounded to 1/256, which puts a mark at 90 mm off by up to 0.3 mm.
        context.transform(self._cairo.Matrix(factor, 1e-12 * factor, 0.0, factor, 0.0, 0.0))
        context.set_source_surface(self._record, 0, 0)
        context.paint()
        surface.flush()
        stride = surface.get_stride()
        view = np.frombuffer(surface.get_data(), np.uint8).reshape(height, stride // 4, 4)
        return view[:, :width].copy()  # the buffer dies with the surface

    def draw(self, x0: float, y0: float, px_per_mm: float, width: int, height: int) -> Rgba:
        """See `Canvas.draw`."""
        bgra = self._bgra(x0, y0, px_per_mm, width, height)
        alpha = bgra[..., 3].astype(np.uint16)
        if int(alpha.min()) == 255:
            return np.ascontiguousarray(bgra[..., [2, 1, 0, 3]])
        divisor = np.maximum(alpha, 1)[..., None]
        rgb = (bgra[..., 2::-1].astype(np.uint16) * 255 + divisor // 2) // divisor
        out = np.empty_like(bgra)
        out[..., :3] = np.minimum(rgb, 255)
        out[..., 3] = bgra[..., 3]
        return out

    def alpha(
        self, x0: float, y0: float, px_per_mm: float, width: int, height: int
    ) -> NDArray[np.uint8]:
        """See `Canvas.alpha`."""
        return self._bgra(x0, y0, px_per_mm, width, height)[..., 3]


class ResvgCanvas:
    """resvg: parses the drawing anew for each window, so few and small ones."""

    def __init__(self, inner: str, page_px: tuple[float, float], needs_fonts: bool) -> None:
        import resvg_py

        self._resvg = resvg_py
        self._inner = inner
        self._fonts = needs_fonts

    def info(self) -> dict[str, Any]:
        """Nothing is known before a window is drawn."""
        return {"extents_mm": None}

    def draw(self, x0: float, y0: float, px_per_mm: float, width: int, height: int) -> Rgba:
        """See `Canvas.draw`."""
        from PIL import Image

        k = PX_PER_MM
        box = f"{x0 * k!r} {y0 * k!r} {width / px_per_mm * k!r} {height / px_per_mm * k!r}"
        text = (
            f'<svg {_SVG_NS} width="{width}px" height="{height}px" viewBox="{box}" '
            f'preserveAspectRatio="none">{self._inner}</svg>'
        )
        # Without dpi=96 every length in mm, cm, in or pt silently becomes zero.
        png = self._resvg.svg_to_bytes(svg_string=text, dpi=96.0, skip_system_fonts=not self._fonts)
        with Image.open(io.BytesIO(bytes(png))) as image:
            rgba = np.asarray(image.convert("RGBA"))
        if rgba.shape[:2] != (height, width):
            raise ValueError("the renderer returned a picture of another size")
        return rgba

    def alpha(
        self, x0: float, y0: float, px_per_mm: float, width: int, height: int
    ) -> NDArray[np.uint8]:
        """See `Canvas.alpha`."""
        return self.draw(x0, y0, px_per_mm, width, height)[..., 3]


class PdfCanvas:
    """pdfium, by way of the PDF adapter."""

    def __init__(self, path: str, page: int) -> None:
        from viewer.artwork.formats.pdf_file import PdfFile

        self._file = PdfFile(path, page)

    def info(self) -> dict[str, Any]:
        """Facts of the PDF adapter, with the bounds of its objects as extents."""
        facts = dict(self._file.info())
        facts["extents_mm"] = facts.get("content_mm")
        return facts

    def draw(self, x0: float, y0: float, px_per_mm: float, width: int, height: int) -> Rgba:
        """See `Canvas.draw`."""
        return self._file.draw(x0, y0, px_per_mm, width, height)

    def alpha(
        self, x0: float, y0: float, px_per_mm: float, width: int, height: int
    ) -> NDArray[np.uint8]:
        """See `Canvas.alpha`."""
        return self._file.draw(x0, y0, px_per_mm, width, height)[..., 3]
