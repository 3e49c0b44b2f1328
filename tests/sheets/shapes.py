"""A club mark of known corners, written in every way a file can hold it.

Expected values are worked out from the corners alone. The sheet is judged from outside
as well: a renderer draws it whole, and the ink's reach is read from the picture.
"""

from __future__ import annotations

import hashlib
import io
import math
import os
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.fit import Placement, place
from viewer.press import Cup
from viewer.sheets import placed as placed_module
from viewer.sheets.placed import Placed, write_placed

Array = NDArray[np.float64]

PAGE_MM = (60.0, 40.0)
CORNERS_MM = np.array([(12.0, 9.0), (41.0, 6.0), (52.0, 24.0), (30.0, 35.0), (9.0, 28.0)])
"""Of a pennant with five corners, in mm of its page."""

CUP = Cup("75", 75.0)
PLACEMENTS = [
    Placement((30.0, 20.0), 0.0),
    Placement((33.71, 17.3), -33.7),
    Placement((27.2, 22.9), 121.3),
    Placement((31.0, 19.0), 90.0),
    Placement((-4.0, 55.0), 179.9),
]


SAMPLES = max(1, int(os.environ.get("BRIMCHECK_SHEETS_N", "1")))
"""How many combinations of each kind of check are tried: 1 is quick, 4 or more tries all."""

T = TypeVar("T")


def few(items: Iterable[T], count: int, start: int = 0) -> list[T]:
    """``count`` times SAMPLES of the items, from the ``start``-th on and round to the first."""
    everything = list(items)
    turned = [everything[(start + n) % len(everything)] for n in range(len(everything))]
    return turned[: count * SAMPLES]


def placed_corners(placement: Placement, corners: Array = CORNERS_MM) -> Array:
    """Corners in the press frame, by the definition of a placement (y down, turn ccw)."""
    turn = math.radians(placement.turn_deg)
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return np.asarray((corners - np.asarray(placement.center_mm)) @ matrix.T)


def clearance_mm(placement: Placement, corners: Array = CORNERS_MM, cup: Cup = CUP) -> float:
    """Closed form: the farthest corner decides."""
    reach = np.hypot(*placed_corners(placement, corners).T).max()
    return cup.max_image_diameter_mm / 2.0 - float(reach)


def points(corners: Array, scale: float = 1.0) -> str:
    """For a polygon's ``points``."""
    return " ".join(f"{x * scale:.9g},{y * scale:.9g}" for x, y in corners)


def svg(root: str, body: str, prolog: str = "") -> bytes:
    """A file with the usual namespaces."""
    spaces = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"{prolog}<svg {spaces} {root}>{body}</svg>".encode()


def pennant(root: str = 'width="60mm" height="40mm" viewBox="0 0 60 40"', more: str = "") -> bytes:
    """The mark in millimeters."""
    return svg(root, f'<polygon points="{points(CORNERS_MM)}" fill="#16324f"/>{more}')


def write(path: Path, data: bytes) -> str:
    """The file's name as text."""
    path.write_bytes(data)
    return str(path)


def place_and_read(
    path: str,
    placement: Placement,
    target: Path,
    options: LoadOptions | None = None,
    artwork: Artwork | None = None,
    **more: object,
) -> tuple[Artwork, Artwork, Placed]:
    """The artwork, what is read back from its sheet, and the sheet."""
    if path.endswith(".svg") and target.suffix == ".pdf":
        need_cairo()
    artwork = artwork or load_artwork(path, options)
    read: list[Artwork] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(placed_module, "load_artwork", _noting(read))
        placed = write_placed(artwork, CUP, placement, str(target), **more)  # type: ignore[arg-type]
    (back,) = read
    is_plain = replace(back.options, time_budget_s=0.0) == LoadOptions(time_budget_s=0.0)
    if SAMPLES == 1 and is_plain:
        # It was read back already, the very same bytes: that need not be done once more.
        assert back.sha256 == hashlib.sha256(target.read_bytes()).hexdigest()
        return artwork, replace(back, path=str(target)), placed
    return artwork, load_artwork(str(target)), placed


def _noting(read: list[Artwork]) -> Callable[..., Artwork]:
    def load(path: str, options: LoadOptions | None = None) -> Artwork:
        read.append(load_artwork(path, options))
        return read[-1]

    return load


def assert_same_clearance(
    artwork: Artwork,
    back: Artwork,
    placed: Placed,
    placement: Placement,
    closed_form_mm: float,
    slack_mm: float = 0.02,
) -> None:
    """The clearance on the sheet is the one of the placement, and that of the closed form."""
    before = place(artwork, CUP, placement)
    after = place(back, CUP, Placement(placed.cup_center_mm, 0.0))
    both = artwork.outline.uncertainty_mm + back.outline.uncertainty_mm
    assert abs(after.clearance_mm - before.clearance_mm) <= both
    assert abs(after.clearance_mm - closed_form_mm) <= slack_mm
    assert back.page_mm == tuple(map(_near, placed.page_mm))


def need_cairo() -> None:
    """Skip the test where libcairo is missing: an SVG then goes into no PDF."""
    if os.environ.get("BRIMCHECK_HIDE_CAIRO") == "1":
        pytest.skip("libcairo is hidden")
    try:
        import cairosvg  # noqa: F401
    except (ImportError, OSError):
        pytest.skip("libcairo is not installed")


def _near(value: float) -> object:
    return pytest.approx(value, abs=1e-3)


# Outside judges: a whole page, drawn at once, by somebody else


def reach_in(
    picture: Image.Image, page_mm: tuple[float, float], directions: Iterable[float]
) -> Array:
    """Farthest dark ink from the page's middle, in mm, along each direction (deg, y down)."""
    gray = np.asarray(picture.convert("L"), dtype=np.float64)
    ys, xs = np.nonzero(gray < 200)
    k = page_mm[0] / gray.shape[1], page_mm[1] / gray.shape[0]
    x, y = (xs + 0.5) * k[0] - page_mm[0] / 2.0, (ys + 0.5) * k[1] - page_mm[1] / 2.0
    rays = [math.radians(d) for d in directions]
    return np.array([(x * math.cos(r) + y * math.sin(r)).max() for r in rays])


def draw_with_resvg(path: Path, px_per_mm: float, page_mm: tuple[float, float]) -> Image.Image:
    """The sheet on white."""
    import resvg_py

    png = resvg_py.svg_to_bytes(
        svg_string=path.read_text(encoding="utf-8"), dpi=96.0, width=round(page_mm[0] * px_per_mm)
    )
    return _on_white(Image.open(io.BytesIO(bytes(png))))


def draw_with_cairo(path: Path, px_per_mm: float, page_mm: tuple[float, float]) -> Image.Image:
    """The sheet on white."""
    need_cairo()
    import cairosvg

    png = cairosvg.svg2png(bytestring=path.read_bytes(), output_width=round(page_mm[0] * px_per_mm))
    return _on_white(Image.open(io.BytesIO(png)))


def draw_with_pdfium(path: Path, px_per_mm: float, _page_mm: tuple[float, float]) -> Image.Image:
    """The sheet on white."""
    import pypdfium2

    document = pypdfium2.PdfDocument(str(path))
    try:
        return document[0].render(scale=px_per_mm * 25.4 / 72.0).to_pil()
    finally:
        document.close()


def _on_white(picture: Image.Image) -> Image.Image:
    rgba = picture.convert("RGBA")
    white = Image.new("RGBA", rgba.size, "white")
    white.alpha_composite(rgba)
    return white
