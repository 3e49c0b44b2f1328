"""The renderer process: draws windows of one drawing and reports where ink is.

Started as ``python -m viewer.artwork.worker KIND``; speaks `wire` on its standard
streams. It may die or hang at any time: whoever started it copes with that.
"""

from __future__ import annotations

import contextlib
import os
import sys
import time
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.canvas import CairoCanvas, PdfCanvas, ResvgCanvas
from viewer.artwork.ink import ink_mask
from viewer.artwork.model import InkRule
from viewer.artwork.wire import failure_answer, read_message, write_message
from viewer.geometry import convex_hull, mask_extent_points

_STRIP_PX = 2_000_000
MEMORY_LIMIT_BYTES = 3 * 1024**3


class _Faulty:
    """Stands between worker and canvas to rehearse failures (see BRIMCHECK_FAULT)."""

    def __init__(self, canvas: Any, fault: str) -> None:
        self._canvas = canvas
        self._fault = fault

    def info(self) -> Any:
        return self._canvas.info()

    def draw(self, *window: Any) -> Any:
        return self._spoil(self._canvas.draw, window)

    def alpha(self, *window: Any) -> Any:
        return self._spoil(self._canvas.alpha, window)

    def _spoil(self, call: Any, window: Any) -> Any:
        if self._fault == "die":
            os._exit(9)
        if self._fault == "hang":
            time.sleep(3600)
        picture = np.array(call(*window))
        if self._fault == "empty":
            picture[...] = 0
        if self._fault == "miss":
            picture[:, picture.shape[1] // 2 :] = 0
        return picture


class OpenDrawing:
    """One open drawing and the questions that can be asked about it."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.canvas: Any = None
        fault = os.environ.get("BRIMCHECK_FAULT", "")
        self._fault = fault.partition(":")[2] if fault.startswith(kind + ":") else ""

    def open(self, header: dict[str, Any], blob: bytes) -> tuple[dict[str, Any], bytes]:
        """Open a drawing; answers what is known of it."""
        self.canvas = None
        self.canvas = self._make_canvas(header, blob)
        if self._fault:
            self.canvas = _Faulty(self.canvas, self._fault)
        return dict(self.canvas.info()), b""

    def _make_canvas(self, header: dict[str, Any], blob: bytes) -> Any:
        if self.kind in ("cairo", "resvg"):
            width, height = header["page_px"]
            if self.kind == "cairo":
                return CairoCanvas(blob.decode(), (width, height))
            return ResvgCanvas(blob.decode(), (width, height), bool(header.get("fonts")))
        if self.kind == "pdf":
            return PdfCanvas(header["path"], int(header["page"]))
        from viewer.artwork.formats.image_file import ImageFile

        return ImageFile(header["path"], int(header["page"]))

    def draw(self, header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """One picture, for the screen or for the paper colour."""
        rgba = np.ascontiguousarray(self.canvas.draw(*_window(header)))
        return {"shape": list(rgba.shape)}, rgba.tobytes()

    def masks(self, header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """The ink of one window under each rule, as packed bits one after the other.

        With ``cover`` the coverage of the first rule's ink follows, one byte a pixel.
        """
        rules = [_rule(r) for r in header["rules"]]
        window = _window(header)
        rgba = self.canvas.draw(*window)
        masks = [ink_mask(rgba, rule) for rule in rules]
        # Coverage, not a count of pixels, gives the area without the half-inked edges.
        plain = rules[0].paper_rgb is None
        cover = float(rgba[..., 3][masks[0]].sum(dtype=np.float64) / 255.0)
        area_px = cover if plain else float(np.count_nonzero(masks[0]))
        answer = b"".join(np.packbits(m).tobytes() for m in masks)
        if header.get("cover"):
            strength = rgba[..., 3] if plain else np.uint8(255)
            answer += np.where(masks[0], strength, np.uint8(0)).tobytes()
        return {"area_px": area_px}, answer

    def tiles(self, header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """Row extents and inked border of many small windows under one rule.

        Per tile, int16: first and last ink pixel of each row (-1: none), then one
        byte per pixel of the top, bottom, left and right border.
        """
        rule = _rule(header["rule"])
        parts: list[bytes] = []
        for window, holes in zip(header["windows"], header["holes"], strict=True):
            mask = self._masks(tuple(window), [rule])[0]
            _clear(mask, holes)
            parts.append(_extents(mask))
        return {"count": len(parts)}, b"".join(parts)

    def tips(self, header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """How much ink, in whole pixels of full coverage, each small window holds."""
        rule = _rule(header["rule"])
        sums = []
        for window, holes in zip(header["windows"], header["holes"], strict=True):
            strength = np.array(self._strength(tuple(window), rule))
            _clear(strength, holes)
            top = float(strength.max())
            sums.append(float(strength.sum(dtype=np.float64)) / top if top else 0.0)
        return {"sums": sums}, b""

    def _strength(self, window: tuple[Any, ...], rule: InkRule) -> NDArray[Any]:
        if rule.paper_rgb is None and rule.white_is_ink:
            return np.asarray(self.canvas.alpha(*window))
        rgba = self.canvas.draw(*window)
        paper = np.array(rule.paper_rgb or (255, 255, 255), np.int32)
        contrast = np.abs(rgba[..., :3].astype(np.int32) - paper).max(axis=-1)
        if rule.paper_rgb is not None:
            contrast = contrast * rgba[..., 3] // 255
        else:
            contrast = rgba[..., 3].astype(np.int32)
        return np.where(ink_mask(rgba, rule), contrast, 0)

    def _masks(self, window: tuple[Any, ...], rules: list[InkRule]) -> list[NDArray[np.bool_]]:
        if len(rules) == 1 and rules[0].paper_rgb is None and rules[0].white_is_ink:
            return [self.canvas.alpha(*window) > 0]
        rgba = self.canvas.draw(*window)
        return [ink_mask(rgba, rule) for rule in rules]

    # Pictures answer for the whole file at once, pixel by pixel.

    def image_ink(self, header: dict[str, Any], blob: bytes) -> tuple[dict[str, Any], bytes]:
        """Outer corners of the ink of a picture, in pixels, and how many pixels.

        ``blob``, where there is one, is a packed mask of ``left_shape`` blocks of
        ``block_px``, which are not looked at.
        """
        rule = _rule(header["rule"])
        width, height = self.canvas.size_px
        left: NDArray[np.bool_] | None = None
        if blob:
            rows, columns = header["left_shape"]
            bits = np.unpackbits(np.frombuffer(blob, np.uint8), count=rows * columns)
            left = bits.reshape(rows, columns).view(np.bool_)
            block = int(header["block_px"])
            across = np.arange(width) // block
        step = max(1, _STRIP_PX // width)
        parts: list[NDArray[np.float64]] = []
        count = 0
        for top in range(0, height, step):
            bottom = min(height, top + step)
            mask = ink_mask(self.canvas.rgba_rows(top, bottom), rule)
            if left is not None:
                mask &= ~left[np.arange(top, bottom) // block][:, across]
            count += int(np.count_nonzero(mask))
            corners = mask_extent_points(mask)
            if len(corners):
                parts.append(convex_hull(corners) + np.array([0.0, float(top)]))
        points = np.concatenate(parts) if parts else np.empty((0, 2))
        return {"ink_px": count}, points.tobytes()

    def image_blocks(self, header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """Coarse ink of a picture: a packed mask, True where a block holds ink.

        With ``counts`` instead how many pixels of each block are ink, as uint16.
        """
        rule, block = _rule(header["rule"]), int(header["block_px"])
        if header.get("counts"):
            counts = self.canvas.coarse_counts(rule, block)
            return {"shape": list(counts.shape)}, counts.tobytes()
        blocks = self.canvas.coarse_ink(rule, block)
        return {"shape": list(blocks.shape)}, np.packbits(blocks).tobytes()

    def image_faint(self, header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """Blocks whose average differs from the paper: noise evens out, faint ink does not."""
        block, width = int(header["block_px"]), self.canvas.size_px[0]
        paper = np.array(header["paper_rgb"], np.float32)
        columns = np.arange(0, width, block)
        across = np.diff(np.append(columns, width))
        step = max(1, _STRIP_PX // width // block) * block
        rows: list[NDArray[np.bool_]] = []
        for top in range(0, self.canvas.size_px[1], step):
            rgb = self.canvas.rgba_rows(top, min(self.canvas.size_px[1], top + step))[..., :3]
            starts = np.arange(0, len(rgb), block)
            down = np.diff(np.append(starts, len(rgb)))
            sums = np.add.reduceat(rgb, starts, axis=0, dtype=np.float32)
            sums = np.add.reduceat(sums, columns, axis=1)
            means = sums / (down[:, None] * across)[..., None]
            rows.append((np.abs(means - paper) > float(header["levels"])).any(axis=-1))
        blocks = np.concatenate(rows)
        return {"shape": list(blocks.shape)}, np.packbits(blocks).tobytes()

    def image_border(self, _header: dict[str, Any], _blob: bytes) -> tuple[dict[str, Any], bytes]:
        """All border pixels, (k, 4)."""
        border = np.ascontiguousarray(self.canvas.border_rgba())
        return {"count": len(border)}, border.tobytes()


def _clear(picture: NDArray[Any], boxes: list[Any]) -> None:
    """Take everything out of boxes (x0, y0, x1, y1) that may reach beyond the picture."""
    for x0, y0, x1, y1 in boxes:
        picture[max(y0, 0) : max(y1, 0), max(x0, 0) : max(x1, 0)] = 0


def _window(header: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(header["window"])


def _rule(data: dict[str, Any]) -> InkRule:
    paper = data["paper_rgb"]
    return InkRule(
        paper_rgb=None if paper is None else (int(paper[0]), int(paper[1]), int(paper[2])),
        tolerance=int(data["tolerance"]),
        white_is_ink=bool(data["white_is_ink"]),
    )


def _extents(mask: NDArray[np.bool_]) -> bytes:
    height, width = mask.shape
    any_ink = mask.any(axis=1)
    ends = np.empty((height, 2), np.int16)
    ends[:, 0] = np.where(any_ink, mask.argmax(axis=1), -1)
    ends[:, 1] = np.where(any_ink, width - 1 - mask[:, ::-1].argmax(axis=1), -1)
    border = np.concatenate([mask[0], mask[-1], mask[:, 0], mask[:, -1]])
    return ends.tobytes() + border.astype(np.uint8).tobytes()


def limit_memory() -> None:
    """Let this process take no more than its share, where the system can be told so."""
    try:
        import resource
    except ImportError:  # not on this system; the parent's pixel limits remain
        return
    _soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    limit = MEMORY_LIMIT_BYTES if hard < 0 else min(MEMORY_LIMIT_BYTES, hard)
    resource.setrlimit(resource.RLIMIT_AS, (limit, hard))


def _load_early(kind: str) -> None:
    """Import the renderer while the file is still being read; a failure shows at `open`."""
    if kind == "cairo" and os.environ.get("BRIMCHECK_HIDE_CAIRO") != "1":
        with contextlib.suppress(OSError, ImportError):
            import cairosvg  # noqa: F401
    elif kind == "resvg":
        with contextlib.suppress(ImportError):
            import PIL.PngImagePlugin  # noqa: F401
            import resvg_py  # noqa: F401


def main() -> int:
    """Answer questions until the stream ends."""
    limit_memory()
    # What a library prints must not end up between two messages.
    stream_out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    stream_in = sys.stdin.buffer
    _load_early(sys.argv[1])
    drawing = OpenDrawing(sys.argv[1])
    while (message := read_message(stream_in)) is not None:
        header, blob = message
        try:
            answer, payload = getattr(drawing, header["op"])(header, blob)
            answer["ok"] = True
        except Exception as error:
            answer, payload = failure_answer(error), b""
        write_message(stream_out, answer, payload)
    return 0


if __name__ == "__main__":
    sys.exit(main())
