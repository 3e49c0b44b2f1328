"""Pictures on a sheet: embedded at their exact size, turned as the file says, nothing lost."""

from __future__ import annotations

import base64
import hashlib
import io
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from viewer.artwork.load import load_artwork
from viewer.artwork.model import LoadOptions
from viewer.errors import ArtworkError
from viewer.sheets.placed import write_placed

from .shapes import (
    CUP,
    PLACEMENTS,
    assert_same_clearance,
    clearance_mm,
    few,
    place_and_read,
    write,
)

ORIENTATION = 274
INK = [(40, 30, 200, 70), (300, 90, 430, 260), (90, 200, 180, 330)]
"""Boxes of whole pixels: left, top, right, bottom."""
SIZE = (480, 360)
DPI = (300.0, 400.0)


def drawn(
    mode: str = "RGB", paper: object = (255, 255, 255), ink: object = (20, 40, 70)
) -> Image.Image:
    """The boxes on paper."""
    picture = Image.new(mode, SIZE, paper)  # type: ignore[arg-type]
    for box in INK:
        picture.paste(ink, box)  # type: ignore[arg-type]
    return picture


def corners_mm(dpi: tuple[float, float] = DPI) -> np.ndarray:
    """Corners of the boxes in mm of the picture as seen."""
    px = [(x, y) for x0, y0, x1, y1 in INK for x in (x0, x1) for y in (y0, y1)]
    return np.array(px) * (25.4 / np.array(dpi))


def saved(picture: Image.Image, kind: str, **more: object) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, kind, dpi=DPI, **more)
    return stream.getvalue()


def stored_turned(picture: Image.Image, orientation: int) -> Image.Image:
    """What has to be stored so that the orientation tag shows ``picture`` (EXIF 2.32, 4.6.4)."""
    t = Image.Transpose
    inverse = {
        2: t.FLIP_LEFT_RIGHT, 3: t.ROTATE_180, 4: t.FLIP_TOP_BOTTOM, 5: t.TRANSPOSE,
        6: t.ROTATE_90, 7: t.TRANSVERSE, 8: t.ROTATE_270,
    }  # fmt: skip
    return picture.transpose(inverse[orientation]) if orientation in inverse else picture


def check(
    data: bytes,
    name: str,
    tmp_path: Path,
    *,
    dpi: tuple[float, float] = DPI,
    options: LoadOptions | None = None,
    endings: Sequence[str] = ("svg", "pdf"),
) -> None:
    """Clearance on both kinds of sheet, within a pixel of the closed form."""
    path = write(tmp_path / name, data)
    pixel = float(np.hypot(*(25.4 / np.array(dpi))))
    scale = options.scale if options else 1.0
    artwork = load_artwork(path, options)
    for index, ending in enumerate(endings):
        for placement in few(PLACEMENTS[1:3], 1, index):
            target = tmp_path / f"sheet.{ending}"
            artwork, back, placed = place_and_read(
                path, placement, target, artwork=artwork, with_rings=ending == "svg"
            )
            expected = clearance_mm(placement, corners_mm(dpi) * scale)
            assert_same_clearance(artwork, back, placed, placement, expected, pixel * scale)


def test_png_with_unequal_resolution(tmp_path: Path) -> None:
    data = saved(drawn(), "PNG")
    dpi = tuple(round(d / 0.0254) * 0.0254 for d in DPI)  # whole pixels per meter
    check(data, "badge.png", tmp_path, dpi=(dpi[0], dpi[1]))
    text = (tmp_path / "sheet.svg").read_text()
    assert base64.b64encode(data).decode() in text
    assert 'preserveAspectRatio="none"' in text


def test_within_a_fiftieth_where_the_pixels_are_fine(tmp_path: Path) -> None:
    """At 2400 per inch a pixel is 0.0106 mm, so the closed form holds to 0.02 mm."""
    picture = drawn("L", 255, 0).resize((SIZE[0] * 4, SIZE[1] * 4), Image.Resampling.NEAREST)
    stream = io.BytesIO()
    picture.save(stream, "TIFF", dpi=(2400.0, 2400.0))
    path = write(tmp_path / "badge.tif", stream.getvalue())
    corners = corners_mm((600.0, 600.0))
    artwork = load_artwork(path)
    for ending in ("svg", "pdf"):
        target = tmp_path / f"sheet.{ending}"
        artwork, back, placed = place_and_read(path, PLACEMENTS[1], target, artwork=artwork)
        expected = clearance_mm(PLACEMENTS[1], corners)
        assert_same_clearance(artwork, back, placed, PLACEMENTS[1], expected, 0.02)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_jpeg_with_every_orientation(orientation: int, tmp_path: Path) -> None:
    picture = stored_turned(drawn(), orientation)
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    dpi = DPI if orientation < 5 else DPI[::-1]
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=97, subsampling=0, dpi=dpi, exif=exif)
    # Either kind of sheet has four with rows and columns exchanged, or not, mirrored, or not.
    endings = few(("svg", "pdf"), 1, (orientation ^ orientation >> 2) & 1)
    check(stream.getvalue(), "badge.jpg", tmp_path, endings=endings)
    if "pdf" not in endings:
        return
    with pikepdf.open(tmp_path / "sheet.pdf") as pdf:
        image = pdf.pages[0].Resources.XObject["/BrimcheckArtwork"]
        assert image.Filter == pikepdf.Name.DCTDecode


def test_noisy_scan_on_tinted_paper(tmp_path: Path) -> None:
    """JPEG noise is paper on the sheet as well, as it was in the file."""
    rng = np.random.default_rng(5)
    noisy = np.asarray(drawn(paper=(248, 246, 240))).astype(int)
    noisy += rng.integers(-5, 6, noisy.shape)
    picture = Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8))
    data = saved(picture, "JPEG", quality=80)
    path = write(tmp_path / "scan.jpg", data)
    for ending in ("svg", "pdf"):
        target = tmp_path / f"sheet.{ending}"
        artwork, back, placed = place_and_read(path, PLACEMENTS[1], target, with_rings=True)
        expected = clearance_mm(PLACEMENTS[1], corners_mm())
        assert_same_clearance(artwork, back, placed, PLACEMENTS[1], expected, 0.3)
        assert back.outline.uncertainty_mm >= artwork.outline.uncertainty_mm - 1e-6
    assert base64.b64encode(data).decode() in (tmp_path / "sheet.svg").read_text()


OTHERS = {
    "alpha.png": (drawn("RGBA", (0, 0, 0, 0), (20, 40, 70, 255)), "PNG"),
    "gray-alpha.png": (drawn("LA", (0, 0), (30, 255)), "PNG"),
    "palette.png": (drawn().quantize(4), "PNG"),
    "one-bit.tif": (drawn("1", 1, 0), "TIFF"),
    "deep.png": (Image.fromarray(np.asarray(drawn("L", 255, 9)).astype(np.uint16) * 257), "PNG"),
    "print.tif": (drawn().convert("CMYK"), "TIFF"),
    "print.jpg": (drawn().convert("CMYK"), "JPEG"),
}


@pytest.mark.parametrize("name", OTHERS)
def test_every_kind_of_pixel(name: str, tmp_path: Path) -> None:
    picture, kind = OTHERS[name]
    data = saved(picture, kind, **({"quality": 97} if kind == "JPEG" else {}))
    dpi = tuple(round(d / 0.0254) * 0.0254 for d in DPI) if kind == "PNG" else DPI
    check(data, name, tmp_path, dpi=(dpi[0], dpi[1]), options=LoadOptions(scale=0.75))


def test_tiff_turned_and_on_its_second_page(tmp_path: Path) -> None:
    stream = io.BytesIO()
    turned = stored_turned(drawn(), 6)
    first = Image.new("RGB", (50, 50), "white")
    turned.encoderinfo = {"tiffinfo": {ORIENTATION: 6}}
    first.save(stream, "TIFF", save_all=True, append_images=[turned], dpi=DPI[::-1])
    options = LoadOptions(page=2)
    path = write(tmp_path / "pages.tif", stream.getvalue())
    if load_artwork(path, options).page_mm[0] < 30.5:
        pytest.skip("this Pillow does not write the orientation of later pages")
    check(stream.getvalue(), "pages.tif", tmp_path, options=options)


def test_the_pixels_are_all_there(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    array = rng.integers(0, 255, (*SIZE[::-1], 4)).astype(np.uint8)
    picture = Image.fromarray(array)
    path = write(tmp_path / "noise.tif", saved(picture, "TIFF"))
    place_and_read(path, PLACEMENTS[1], tmp_path / "sheet.svg")
    text = (tmp_path / "sheet.svg").read_text()
    match = re.search(r"base64,([^\"]+)", text)
    assert match is not None
    embedded = Image.open(io.BytesIO(base64.b64decode(match.group(1))))
    assert (np.asarray(embedded) == array).all()
    place_and_read(path, PLACEMENTS[1], tmp_path / "sheet.pdf")
    with pikepdf.open(tmp_path / "sheet.pdf") as pdf:
        image = pdf.pages[0].Resources.XObject["/BrimcheckArtwork"]
        assert image.read_bytes() == array[..., :3].tobytes()
        assert image.SMask.read_bytes() == array[..., 3].tobytes()


def test_the_rule_holds_for_this_picture_only(tmp_path: Path) -> None:
    """Another picture, or anything beside it, and the sheet is read like any drawing."""
    data = saved(drawn(paper=(246, 246, 246)), "JPEG", quality=90)
    path = write(tmp_path / "scan.jpg", data)
    target = tmp_path / "sheet.svg"
    _artwork, back, _placed = place_and_read(path, PLACEMENTS[0], target)
    assert back.paper == "as when the picture was placed"
    text = target.read_text()
    faint = '<rect x="1" y="1" width="80" height="80" fill="#eee"/>\n<image'
    edited = text.replace("<image", faint, 1)
    beside = load_artwork(write(tmp_path / "edited.svg", edited.encode()))
    assert beside.paper != back.paper
    # Ink so light that it would be paper by the picture's own rule.
    assert np.ptp(beside.outline.hull_mm[:, 0]) > 79.0
    other = saved(drawn(paper=(230, 230, 230)), "JPEG", quality=90)
    swapped = re.sub('base64,[^"]+', "base64," + base64.b64encode(other).decode(), text)
    assert load_artwork(write(tmp_path / "swapped.svg", swapped.encode())).paper != back.paper
    assert hashlib.sha256(data).hexdigest() in text
    place_and_read(path, PLACEMENTS[0], tmp_path / "sheet.pdf")
    with pikepdf.open(tmp_path / "sheet.pdf") as pdf:
        contents = pdf.pages[0].Contents
        more = contents[0].read_bytes() + b"0.93 g 5 5 9 9 re f\n"
        contents[0] = pdf.make_stream(more)
        pdf.save(tmp_path / "edited.pdf")
    assert load_artwork(str(tmp_path / "edited.pdf")).paper != back.paper


def test_a_sheet_with_a_picture_is_not_placed_again(tmp_path: Path) -> None:
    path = write(tmp_path / "badge.png", saved(drawn(), "PNG"))
    for ending in ("svg", "pdf"):
        _artwork, back, _placed = place_and_read(path, PLACEMENTS[0], tmp_path / f"one.{ending}")
        with pytest.raises(ArtworkError, match=rf"one\.{ending}: is a sheet .* picture itself"):
            write_placed(back, CUP, PLACEMENTS[0], str(tmp_path / f"two.{ending}"))


def test_doubts_about_the_picture_go_along(tmp_path: Path) -> None:
    frames = [drawn("L", 255, 0), drawn("L", 255, 80)]
    stream = io.BytesIO()
    frames[0].save(stream, "GIF", save_all=True, append_images=frames[1:])
    path = write(tmp_path / "badge.gif", stream.getvalue())
    for ending in ("svg", "pdf"):
        artwork, back, _placed = place_and_read(
            path, PLACEMENTS[0], tmp_path / f"sheet.{ending}", LoadOptions(dpi=300)
        )
        assert "animation" in {w.code for w in artwork.warnings if w.blocks_fits}
        doubt = next(w for w in back.warnings if w.code == "placed-in-doubt")
        assert doubt.blocks_fits and "animation" in doubt.message
