"""Judges from outside for printed sheets: two programs that draw a PDF, and what is measured.

Nothing here asks the sheet's own code where anything is: rings and bars are found as
connected dark pixels, the artwork by its color.
"""

from __future__ import annotations

import io
import os
import shutil
import subprocess
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[np.uint8]
Render = Callable[..., Pixels]
Box = tuple[float, float, float, float]

PT = 72.0 / 25.4


def with_pdfium(path: Path, page: int, px_per_mm: float, crop: Box | None = None) -> Pixels:
    """RGB of a page (from 0), or of a box of it in mm from its top left, by pdfium."""
    return _drawn("pdfium", path.read_bytes(), page, px_per_mm, crop)


def with_poppler(path: Path, page: int, px_per_mm: float, crop: Box | None = None) -> Pixels:
    """The same by poppler. What it complains of fails the test."""
    need_poppler()
    return _drawn("poppler", path.read_bytes(), page, px_per_mm, crop)


@lru_cache(maxsize=4)
def _drawn(program: str, data: bytes, page: int, px_per_mm: float, crop: Box | None) -> Pixels:
    draw = _by_pdfium if program == "pdfium" else _by_poppler
    pixels = draw(data, page, px_per_mm, crop)
    pixels.setflags(write=False)  # several tests look at the same ones
    return pixels


def _by_pdfium(data: bytes, page: int, px_per_mm: float, crop: Box | None) -> Pixels:
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    try:
        sheet = document[page]
        cut = (0.0, 0.0, 0.0, 0.0)
        if crop is not None:
            x0, y0, x1, y1 = (v * PT for v in crop)
            cut = (x0, sheet.get_height() - y1, sheet.get_width() - x1, y0)
        return np.array(sheet.render(scale=px_per_mm / PT, crop=cut).to_pil().convert("RGB"))
    finally:
        document.close()


def _by_poppler(data: bytes, page: int, px_per_mm: float, crop: Box | None) -> Pixels:
    command = ["pdftoppm", "-r", str(px_per_mm * 25.4), "-f", str(page + 1), "-l", str(page + 1)]
    if crop is not None:
        x0, y0, x1, y1 = (str(round(v * px_per_mm)) for v in crop)
        size = (str(int(x1) - int(x0)), str(int(y1) - int(y0)))
        command += ["-x", x0, "-y", y0, "-W", size[0], "-H", size[1]]
    done = subprocess.run([*command, "-"], input=data, capture_output=True, check=True)
    assert done.stderr == b""
    return np.array(Image.open(io.BytesIO(done.stdout)).convert("RGB"))


RENDERERS = [pytest.param(with_pdfium, id="pdfium"), pytest.param(with_poppler, id="poppler")]


def need_poppler() -> None:
    """Poppler's programs have to be there where everything is checked; elsewhere: a skip."""
    if shutil.which("pdftoppm") and shutil.which("pdftotext"):
        return
    if os.environ.get("BRIMCHECK_NEEDS_POPPLER") == "1":
        pytest.fail("poppler-utils is missing (Debian, Ubuntu: apt install poppler-utils)")
    pytest.skip("poppler-utils is not installed")


def text_of(path: Path) -> str:
    """All text by pdfium, line breaks as blanks."""
    import pypdfium2

    document = pypdfium2.PdfDocument(str(path))
    try:
        return " ".join(" ".join(p.get_textpage().get_text_range().split()) for p in document)
    finally:
        document.close()


def text_by_poppler(path: Path) -> str:
    """The same by poppler."""
    need_poppler()
    done = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    return " ".join(done.stdout.split())


def dark_pieces_mm(rgb: Pixels, px_per_mm: float) -> list[tuple[float, float, float, float]]:
    """x, y, width, height of every connected dark piece, edges to a fraction of a pixel."""
    gray = rgb.min(axis=2)
    _n, _labels, stats, _c = cv2.connectedComponentsWithStats((gray < 128).astype(np.uint8))
    return [
        tuple(float(v) / px_per_mm for v in row[:4])  # type: ignore[misc]
        for row in stats[1:]
        if row[cv2.CC_STAT_AREA] > 20
    ]


def rings_mm(rgb: Pixels, px_per_mm: float) -> list[tuple[float, float, float]]:
    """Center and diameter of the outermost line of every ring, largest first.

    The ring is found as a connected dark piece as wide as it is high; its diameter is that
    of the middle of its line.
    """
    found: list[tuple[float, float, float]] = []
    pieces = dark_pieces_mm(rgb, px_per_mm)
    for x, y, width, height in sorted(pieces, key=lambda piece: -piece[2]):
        center = (x + width / 2.0, y + height / 2.0)
        is_ring = width > 40.0 and abs(width - height) < 0.3
        if is_ring and all(np.hypot(center[0] - a, center[1] - b) > 1.0 for a, b, _d in found):
            guess = (*center, (width + height) / 2.0 - 0.35)
            found.append((*center, circle_mm(rgb, px_per_mm, guess)))
    return found


def circle_mm(rgb: Pixels, px_per_mm: float, near: tuple[float, float, float]) -> float:
    """Diameter of the middle of a line, whole or dashed, that is near a circle.

    The circle of least squares (Kasa) round its pixels, each as heavy as it is dark.
    """
    x, y, diameter = near
    reach = diameter / 2.0 + 1.0
    x0, y0 = max(0, int((x - reach) * px_per_mm)), max(0, int((y - reach) * px_per_mm))
    size = int(2.0 * reach * px_per_mm) + 2
    gray = rgb[y0 : y0 + size, x0 : x0 + size].max(axis=2)
    rows, columns = np.nonzero(gray < 200)
    weight = 255.0 - gray[rows, columns]
    px, py = (columns + x0 + 0.5) / px_per_mm - x, (rows + y0 + 0.5) / px_per_mm - y
    on = np.abs(np.hypot(px, py) - diameter / 2.0) < 0.4
    # Not where an axis with its ticks and numbers runs.
    on &= (np.abs(px) > 6.0) & (np.abs(py) > 6.0)
    px, py, root = px[on], py[on], np.sqrt(weight[on])
    matrix = np.stack([2.0 * px, 2.0 * py, np.ones(len(px))], axis=1) * root[:, None]
    solved = np.linalg.lstsq(matrix, (px**2 + py**2) * root, rcond=None)[0]
    return 2.0 * float(np.sqrt(solved[2] + solved[0] ** 2 + solved[1] ** 2))


def colored(rgb: Pixels) -> NDArray[np.bool_]:
    """Pixels of which ink covers half: the artwork, as everything else on a sheet is gray."""
    spread = np.ptp(rgb.astype(np.int16), axis=2)
    mask: NDArray[np.bool_] = spread > spread.max() / 2.0
    return mask


def colored_box_mm(rgb: Pixels, px_per_mm: float, air_mm: float = 1.0) -> Box:
    """Where the colored pixels lie, with some air, to the next whole mm."""
    mask = colored(rgb)
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    low = [np.floor(v[0] / px_per_mm - air_mm) for v in (columns, rows)]
    high = [np.ceil(v[-1] / px_per_mm + air_mm) for v in (columns, rows)]
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def colored_circle_mm(rgb: Pixels, px_per_mm: float) -> float:
    """Diameter of the smallest circle round all colored pixels, by OpenCV.

    Pixels that ink covers by half have their middles inside it, the outermost at its edge.
    """
    mask = colored(rgb)
    edge = mask & ~cv2.erode(mask.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    points = np.argwhere(edge)[:, ::-1].astype(np.float32)
    _center, radius = cv2.minEnclosingCircle(points)
    return float(2.0 * radius / px_per_mm)


def cut_out(rgb: Pixels, px_per_mm: float, target: Path) -> str:
    """The colored part of a page as a PNG of its own, with its resolution."""
    mask = colored(rgb)
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    box = np.s_[rows[0] - 8 : rows[-1] + 9, columns[0] - 8 : columns[-1] + 9]
    picture = np.where(mask[box][..., None], rgb[box], np.uint8(255))
    dpi = px_per_mm * 25.4
    Image.fromarray(picture).save(target, dpi=(dpi, dpi))
    return str(target)
