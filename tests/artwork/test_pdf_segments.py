"""A PDF page cut into short segments looks the same, and can be drawn at any step."""

from __future__ import annotations

import io
import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest

from viewer.artwork.formats.pdf_compare import Draw, Rgba, show_the_same
from viewer.artwork.formats.pdf_file import PdfFile
from viewer.artwork.formats.pdf_segments import with_short_segments
from viewer.artwork.load import load_artwork
from viewer.geometry import convex_hull, hull_excess, smallest_enclosing_circle

MM_PER_PT = 25.4 / 72.0
A3_PT = (841.89, 1190.55)
EVERYTHING = b"""
q 0.9 0.1 -0.2 1.1 30 40 cm 0.2 0.2 0.6 rg 100 100 300 500 re f Q
1 0 0 RG 20 w 1 J 2 j 60 900 m 500 1100 l 700 700 l S
0 0.5 0 RG 9 w 60 60 m 900 300 -300 700 700 1000 c S
0 0 0 rg 400 300 m 500 700 700 400 v 300 200 400 300 y h f*
q 500 500 200 200 re 520 520 100 100 re W* n 0.7 g 0 0 841 1190 re f Q
q 1.5 0.2 0 1.2 0 0 cm /Fm Do Q
"""


def _pdf(folder: Path, content: bytes, size_pt: tuple[float, float] = A3_PT) -> str:
    pdf = pikepdf.new()
    page = pdf.add_blank_page(page_size=size_pt)
    form = pdf.make_stream(
        b"0.4 w 0 0 m 300 10 l 20 300 l s",
        Type=pikepdf.Name.XObject,
        Subtype=pikepdf.Name.Form,
        BBox=[-1, -1, 400, 400],
        Matrix=[1, 0, 0, 1, 20, 30],
    )
    page.obj["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Fm=form))
    page.obj["/Contents"] = pdf.make_stream(content)
    path = folder / "sail.pdf"
    pdf.save(path)
    return str(path)


def _drawn(data: bytes | str) -> np.ndarray:  # type: ignore[type-arg]
    source = data if isinstance(data, str) else io.BytesIO(data)
    return np.asarray(pypdfium2.PdfDocument(source)[0].render(scale=1.5).to_pil()).astype(int)


def test_the_cut_page_looks_the_same(tmp_path: Path) -> None:
    path = _pdf(tmp_path, EVERYTHING)
    cut = with_short_segments(path, 1, MM_PER_PT)
    assert cut is not None
    before, after = _drawn(path), _drawn(cut)
    assert (before < 250).any()
    assert np.abs(before - after).max() <= 64  # a quarter of coverage at edges of flattened curves
    assert (np.abs(before - after) > 8).mean() < 1e-3


def test_the_comparison_can_fail(tmp_path: Path) -> None:
    before = _drawn(_pdf(tmp_path, EVERYTHING))
    after = _drawn(_pdf(tmp_path, EVERYTHING.replace(b"900 300 -300", b"900 320 -300")))
    assert np.abs(before - after).max() > 64


def test_no_segment_is_long(tmp_path: Path) -> None:
    cut = with_short_segments(_pdf(tmp_path, b"10 10 m 800 1100 l S"), 1, MM_PER_PT)
    assert cut is not None
    with pikepdf.open(io.BytesIO(cut)) as pdf:
        points = [
            tuple(float(v) for v in instruction.operands)
            for instruction in pikepdf.parse_content_stream(pdf.pages[0])
            if str(instruction.operator) in ("m", "l")
        ]
    steps = [math.dist(a, b) * MM_PER_PT for a, b in pairwise(points)]
    assert max(steps) <= 15.0
    assert points[0] == (10, 10)
    assert points[-1] == (800, 1100)


@pytest.mark.parametrize("content", [b"[9 4] 0 d 10 10 m 800 900 l S", b"10 10 m nonsense ("])
def test_what_cannot_be_cut_is_left(tmp_path: Path, content: bytes) -> None:
    path = _pdf(tmp_path, content)
    if content.startswith(b"["):
        assert with_short_segments(path, 1, MM_PER_PT) is None
        assert PdfFile(path, 1).info()["any_step"] is False
    else:
        with_short_segments(path, 1, MM_PER_PT)  # no exception


@pytest.mark.parametrize("side_mm", [250.0, 1000.0])
def test_a_large_page_is_known_as_closely_as_a_small_one(tmp_path: Path, side_mm: float) -> None:
    k = 1.0 / MM_PER_PT
    w, h = 0.8 * side_mm, 0.6 * side_mm
    content = f"{20 * k:.6f} {30 * k:.6f} {w * k:.6f} {h * k:.6f} re f".encode()
    size = (side_mm * k, side_mm * k)
    artwork = load_artwork(_pdf(tmp_path, content, size))
    outline = artwork.outline
    assert outline.uncertainty_mm <= 0.01
    radius = smallest_enclosing_circle(outline.hull_mm).radius
    assert abs(radius - math.hypot(w, h) / 2) <= outline.uncertainty_mm


@pytest.mark.parametrize(
    "paint", ["f", "f*", "h f", "s", "b", "b*", "S", "B", "W n 0 0 3000 3000 re f"]
)
def test_a_side_that_is_closed_unsaid_is_true_as_well(tmp_path: Path, paint: str) -> None:
    """Triangles on a page of 1 m whose last side nobody draws; two in one path."""
    k = 1.0 / MM_PER_PT
    corners = [(100.0, 110.0), (905.0, 173.0), (337.0, 880.0)]
    flat = [f"{v * k:.6f}" for pair in corners for v in pair]
    triangle = f"{flat[0]} {flat[1]} m {flat[2]} {flat[3]} l {flat[4]} {flat[5]} l "
    small = "1000 1000 m 1200 1000 l 1200 1200 l "
    content = f"0 w {small}{triangle}{paint}".encode()
    artwork = load_artwork(_pdf(tmp_path, content, (1000 * k, 1000 * k)))
    hull, u = artwork.outline.hull_mm, artwork.outline.uncertainty_mm
    seen = np.array([(a, 1000.0 - b) for a, b in corners])
    truth = convex_hull(seen)
    slack = 0.2 if paint in ("s", "b", "b*", "S", "B") else 1e-3  # the thinnest stroke
    assert hull_excess(truth, hull)[0] <= u + 1e-3
    assert hull_excess(hull, truth)[0] <= u + slack


# --- a copy is believed only when it looks like the page ------------------------------------

WRONG_COPIES = {
    "a stroke moved": (b"60 60 m", b"64 60 m"),
    "a stroke wider": (b"\n0 0.5 0 RG 9 w", b"\n0 0.5 0 RG 13 w"),
    "a corner moved": (b"500 1100 l", b"500 1106 l"),
    "a shape lost": (b"300 200 400 300 y h f*", b"300 200 400 300 y h n"),
    "another color on top": (b"0.7 g", b"1 g"),
    "a form turned": (b"q 1.5 0.2 0", b"q 1.5 0.22 0"),
}


@pytest.mark.parametrize("what", WRONG_COPIES)
def test_a_wrong_copy_is_not_used(
    tmp_path: Path, what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = WRONG_COPIES[what]
    assert EVERYTHING.count(old) == 1
    (tmp_path / "wrong").mkdir()
    path, wrong = _pdf(tmp_path, EVERYTHING), _pdf(tmp_path / "wrong", EVERYTHING.replace(old, new))
    before = PdfFile(path, 1)
    assert before.info()["any_step"] is True
    monkeypatch.setattr(
        "viewer.artwork.formats.pdf_file.with_short_segments",
        lambda _source, page, unit: with_short_segments(wrong, page, unit),
    )
    file = PdfFile(path, 1)
    assert file.info()["any_step"] is False
    # The page itself is drawn, as before.
    window = (0.0, 0.0, 1.5, 446, 630)
    apart = np.abs(file.draw(*window).astype(int) - before.draw(*window)).max(axis=-1)
    assert (apart > 128).sum() == 0
    file.close()


@pytest.mark.parametrize("bad", [b"", b"no PDF at all"])
def test_a_copy_that_cannot_be_opened_is_not_used(
    tmp_path: Path, bad: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _pdf(tmp_path, EVERYTHING)
    monkeypatch.setattr("viewer.artwork.formats.pdf_file.with_short_segments", lambda *_call: bad)
    file = PdfFile(path, 1)
    assert file.info()["any_step"] is False
    assert file.draw(0.0, 0.0, 1.0, 297, 420)[..., 3].any()


def _drawing(pixels: np.ndarray) -> Draw:  # type: ignore[type-arg]
    """A page of 1 pixel per mm that shows these pixels, and nothing about them."""

    def draw(x0_mm: float, y0_mm: float, px_per_mm: float, width: int, height: int) -> Rgba:
        columns = np.floor(x0_mm + (np.arange(width) + 0.5) / px_per_mm).astype(int)
        rows = np.floor(y0_mm + (np.arange(height) + 0.5) / px_per_mm).astype(int)
        window = np.zeros((height, width, 4), np.uint8)
        there = np.ix_(
            (rows >= 0) & (rows < len(pixels)), (columns >= 0) & (columns < pixels.shape[1])
        )
        window[there] = pixels[np.ix_(rows[there[0].ravel()], columns[there[1].ravel()])]
        return window

    return draw


@pytest.mark.parametrize(
    ("color", "is_same"),
    [((0, 0, 0, 255), False), ((255, 255, 255, 255), False), ((0, 0, 0, 1), False), (None, True)],
)
def test_any_ink_that_only_one_shows_is_seen(
    color: tuple[int, int, int, int] | None, is_same: bool
) -> None:
    page = np.zeros((900, 700, 4), np.uint8)
    page[200:400, 100:300] = (10, 20, 30, 255)
    other = page.copy()
    if color is not None:
        other[777, 555] = color
    whole = (0.0, 0.0, 700.0, 900.0)
    assert show_the_same(_drawing(page), _drawing(other), whole) is is_same
    assert show_the_same(_drawing(other), _drawing(page), whole) is is_same


def test_ink_on_painted_paper_is_seen() -> None:
    page = np.full((90, 70, 4), 255, np.uint8)
    other = page.copy()
    other[50:53, 30:33] = (0, 0, 0, 255)
    assert not show_the_same(_drawing(page), _drawing(other), (0.0, 0.0, 70.0, 90.0))
