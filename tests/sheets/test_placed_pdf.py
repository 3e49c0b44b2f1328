"""PDF pages on a sheet: boxes, rotation and units, layers, and content that stays as it is."""

from __future__ import annotations

import io
import random
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from viewer.artwork.load import load_artwork
from viewer.errors import ArtworkError, UsageError
from viewer.sheets.placed import write_placed

from .shapes import (
    CORNERS_MM,
    CUP,
    PLACEMENTS,
    assert_same_clearance,
    clearance_mm,
    draw_with_pdfium,
    few,
    place_and_read,
    placed_corners,
    reach_in,
    write,
)

PT = 72.0 / 25.4


def page_pdf(
    *,
    rotate: int = 0,
    unit: float = 1.0,
    crop_mm: float = 0.0,
    origin: tuple[float, float] = (0.0, 0.0),
    content: str | None = None,
) -> bytes:
    """A page of 60 x 40 mm as seen that shows the pennant; ``crop_mm`` is cut off all round.

    ISO 32000-1, 7.7.3.3: Rotate turns the page clockwise, UserUnit is in 1/72 in.
    """
    k = PT / unit
    w, h = (60.0, 40.0) if rotate % 180 == 0 else (40.0, 60.0)
    x, y = CORNERS_MM.T
    user = {
        0: (x, h - y),
        90: (y, x),
        180: (w - x, y),
        270: (w - y, h - x),
    }[rotate]
    corners = np.stack(user, axis=1) * k + np.asarray(origin)
    x0, y0 = origin
    box = [x0, y0, x0 + w * k, y0 + h * k]
    path = " ".join(f"{cx:.6f} {cy:.6f} {'l' if i else 'm'}" for i, (cx, cy) in enumerate(corners))
    pdf = pikepdf.new()
    page = pdf.add_blank_page(page_size=(w * k, h * k))
    page.obj["/MediaBox"] = pikepdf.Array(
        [f - crop_mm * k for f in box[:2]] + [f + crop_mm * k for f in box[2:]]
    )
    if crop_mm:
        page.obj["/CropBox"] = pikepdf.Array(box)
        page.obj["/TrimBox"] = pikepdf.Array([box[0] + 9 * k, box[1] + 9 * k, box[2], box[3]])
    if rotate:
        page.obj["/Rotate"] = rotate
    if unit != 1.0:
        page.obj["/UserUnit"] = unit
    page.obj["/Contents"] = pdf.make_stream((content or f"0.09 0.2 0.31 rg {path} h f").encode())
    stream = io.BytesIO()
    pdf.save(stream)
    return stream.getvalue()


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
@pytest.mark.parametrize(
    ("unit", "crop_mm", "origin"), [(1.0, 0.0, (0.0, 0.0)), (2.5, 12.0, (-31.5, 144.25))]
)
def test_every_page_keeps_its_clearance(
    rotate: int, unit: float, crop_mm: float, origin: tuple[float, float], tmp_path: Path
) -> None:
    data = page_pdf(rotate=rotate, unit=unit, crop_mm=crop_mm, origin=origin)
    placement = random.Random(rotate).choice(PLACEMENTS[1:4])
    path, target = write(tmp_path / "plate.pdf", data), tmp_path / "sheet.pdf"
    artwork = load_artwork(path)
    for with_rings in few((False, True), 1, rotate // 90):
        artwork, back, placed = place_and_read(
            path, placement, target, artwork=artwork, with_rings=with_rings
        )
        assert artwork.page_mm == pytest.approx((60.0, 40.0), abs=1e-6)
        assert_same_clearance(artwork, back, placed, placement, clearance_mm(placement))
    plate = (120.0, 90.0)
    write_placed(artwork, CUP, placement, str(target), plate_mm=plate)
    rays = np.radians(np.arange(0, 360, 20))
    expected = (placed_corners(placement) @ np.array([np.cos(rays), np.sin(rays)])).max(axis=0)
    seen = reach_in(draw_with_pdfium(target, 40.0, plate), plate, np.degrees(rays))
    assert seen == pytest.approx(expected, abs=0.08)


def test_content_and_layers_go_along_untouched(tmp_path: Path) -> None:
    with pikepdf.open(io.BytesIO(page_pdf())) as pdf:
        group = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name="varnish"))
        off = pikepdf.Dictionary(OFF=pikepdf.Array([group]))
        pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=pikepdf.Array([group]), D=off)
        page = pdf.pages[0]
        page.obj.Resources = pikepdf.Dictionary(Properties=pikepdf.Dictionary(V=group))
        content = page.Contents.read_bytes() + b"\n/OC /V BDC 0 0 170 5 re f EMC % kept"
        page.Contents = pdf.make_stream(content)
        pdf.save(tmp_path / "plate.pdf")
    path = str(tmp_path / "plate.pdf")
    artwork, back, placed = place_and_read(path, PLACEMENTS[1], tmp_path / "sheet.pdf")
    assert_same_clearance(artwork, back, placed, PLACEMENTS[1], clearance_mm(PLACEMENTS[1]))
    assert "hidden-layers" in {w.code for w in back.warnings}
    with pikepdf.open(tmp_path / "sheet.pdf") as pdf:
        form = pdf.pages[0].Resources.XObject["/BrimcheckArtwork"]
        assert form.read_bytes().strip() == content
        names = [str(layer.Name) for layer in pdf.Root.OCProperties.OCGs]
        assert names == ["varnish", "brimcheck marks"]
        assert [str(layer.Name) for layer in pdf.Root.OCProperties.D.OFF] == ["varnish"]


def test_ink_beyond_the_page_goes_along(tmp_path: Path) -> None:
    content = "0 g -20 20 40 40 re f 60 60 20 20 re f"
    path = write(tmp_path / "plate.pdf", page_pdf(content=content))
    artwork, back, placed = place_and_read(path, PLACEMENTS[1], tmp_path / "sheet.pdf")
    corners = np.array([(-20, 20), (20, 20), (-20, 60), (20, 60), (80, 60), (60, 80), (80, 80)])
    as_seen = np.stack((corners[:, 0] / PT, 40.0 - corners[:, 1] / PT), axis=1)
    expected = clearance_mm(PLACEMENTS[1], as_seen)
    assert_same_clearance(artwork, back, placed, PLACEMENTS[1], expected)


def test_the_marks_are_a_layer(tmp_path: Path) -> None:
    target = tmp_path / "sheet.pdf"
    path = write(tmp_path / "plate.pdf", page_pdf())
    _artwork, _back, placed = place_and_read(path, PLACEMENTS[0], target, with_rings=True)
    with pikepdf.open(target) as pdf:
        (layer,) = pdf.Root.OCProperties.OCGs
        assert str(layer.Name) == "brimcheck marks"
        assert str(pdf.docinfo["/Creator"]) == "brimcheck"
        assert "/CreationDate" not in pdf.docinfo
        box = [float(side) for side in pdf.pages[0].MediaBox]
    # Page sized by the ring: 75 mm and 5 mm of air each side.
    assert box[2:] == pytest.approx([85.0 * PT, 85.0 * PT], abs=1e-4)
    assert placed.page_mm == (85.0, 85.0)
    picture = np.asarray(draw_with_pdfium(target, 40.0, placed.page_mm).convert("L"))
    row = picture[round(42.5 * 40.0) + 20]
    dark = np.flatnonzero(row < 215) / 40.0 - 42.5
    outer = float(np.sqrt(37.5**2 - 0.5**2))
    assert dark.max() == pytest.approx(outer + 0.05, abs=0.06)
    assert dark.min() == pytest.approx(-outer - 0.05, abs=0.06)


def test_a_pdf_does_not_go_into_an_svg(tmp_path: Path) -> None:
    artwork = load_artwork(write(tmp_path / "plate.pdf", page_pdf()))
    with pytest.raises(UsageError, match=r"sheet\.svg: a PDF cannot .* give a name in \.pdf"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.svg"))


def test_a_changed_file_is_not_placed(tmp_path: Path) -> None:
    path = write(tmp_path / "plate.pdf", page_pdf())
    artwork = load_artwork(path)
    write(tmp_path / "plate.pdf", page_pdf(rotate=90))
    with pytest.raises(ArtworkError, match="has changed since it was measured"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.pdf"))
