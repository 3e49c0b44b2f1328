"""The cup template, printed by two programs and measured there."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest

from viewer.cli import main
from viewer.press import Cup, EtchArea, Pad, Press, PressLimits
from viewer.sheets.draw_list import Group, Text, walk
from viewer.sheets.page import PAPERS, Format
from viewer.sheets.pdf_writer import FACES, measure_text, pdf_bytes, shown
from viewer.sheets.template import cup_template

from .renderers import (
    RENDERERS,
    Render,
    circle_mm,
    dark_pieces_mm,
    rings_mm,
    text_by_poppler,
    text_of,
    with_pdfium,
)

ROOT = Path(__file__).resolve().parents[2]
PX_PER_MM = 12.0
DATE = "2025-06-30"


def written(path: Path, press: Press, base: Format | None = None, **more: bool) -> Path:
    document = cup_template(press, base or Format(), DATE, measure_text, **more)
    path.write_bytes(pdf_bytes(document))
    return path


def one_cup(tmp_path: Path, scale: float = 1.0) -> Path:
    return written(
        tmp_path / "one.pdf", Press(cups=(Cup("90", 90.0),)), Format(printer_scale=scale)
    )


@pytest.mark.parametrize("render", RENDERERS)
def test_rings_come_out_at_their_size(render: Render, tmp_path: Path) -> None:
    """A 90 cup: 90 outside, 84 inside a ring of 3 mm, 76.5 by the usual 15 %."""
    rgb = render(one_cup(tmp_path), 0, PX_PER_MM)
    ((x, y, outer),) = rings_mm(rgb, PX_PER_MM)
    assert outer == pytest.approx(90.0, abs=0.05)
    for diameter in (84.0, 76.5):
        seen = circle_mm(rgb, PX_PER_MM, (x, y, diameter))
        assert seen == pytest.approx(diameter, abs=0.05)
    # The comparison can fail: a circle that is looked for elsewhere is not found there.
    with pytest.raises((AssertionError, ValueError, np.linalg.LinAlgError)):
        assert circle_mm(rgb, PX_PER_MM, (x, y, 80.0)) == pytest.approx(80.0, abs=0.05)


@pytest.mark.parametrize("render", RENDERERS)
@pytest.mark.parametrize("scale", [1.0, 100.0 / 97.0])
def test_both_bars_are_100_mm_of_that_printer(render: Render, scale: float, tmp_path: Path) -> None:
    pieces = dark_pieces_mm(render(one_cup(tmp_path, scale), 0, PX_PER_MM), PX_PER_MM)
    # A bar is 100 long between its end ticks, whose lines are 0.2 mm wide.
    long = 100.2 * scale
    across = [p for p in pieces if abs(p[2] - long) < 0.06 and p[3] < 4.0]
    along = [p for p in pieces if abs(p[3] - long) < 0.06 and p[2] < 4.0]
    assert len(across) == 1 and len(along) == 1


@pytest.mark.parametrize("render", RENDERERS)
def test_a_printer_that_is_off_is_made_up_for(render: Render, tmp_path: Path) -> None:
    scale = 100.0 / 97.0
    rgb = render(one_cup(tmp_path, scale), 0, PX_PER_MM)
    ((_x, _y, outer),) = rings_mm(rgb, PX_PER_MM)
    assert outer == pytest.approx(90.0 / 0.97, abs=0.05)
    words = text_of(one_cup(tmp_path, scale))
    assert "97 mm of 100" in words and "N = 97 x measured / 100" in words


@pytest.mark.parametrize("lies", [False, True])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_page_boxes(paper, lies: bool, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """ISO 216: A4 is 210 x 297 mm, A3 297 x 420; Letter is 8.5 x 11 in, at 72 points an inch."""
    points = {"A4": (595.2756, 841.8898), "A3": (841.8898, 1190.5512), "Letter": (612.0, 792.0)}
    standing = points[paper.name]
    wide = Press(
        cups=(Cup("60", 60.0),),
        limits=PressLimits(etch=EtchArea(paper.height_mm - 50.0, 70.0)) if lies else PressLimits(),
    )
    path = written(tmp_path / "t.pdf", wide, Format(paper))
    with pikepdf.open(path) as pdf:
        box = [float(v) for v in pdf.pages[0].MediaBox]
        expected = standing[::-1] if lies else standing
        assert box == pytest.approx([0.0, 0.0, *expected], abs=1e-3)
        assert "/UserUnit" not in pdf.pages[0]
        assert pdf.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")


def test_what_the_file_says_about_itself(tmp_path: Path) -> None:
    with pikepdf.open(written(tmp_path / "t.pdf", Press())) as pdf:
        assert pdf.check_pdf_syntax() == [] if hasattr(pdf, "check_pdf_syntax") else True
        assert str(pdf.docinfo["/Title"]) == "Cup template at true scale"
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20250630")
        assert str(pdf.Root.Lang) == "en"
        with pdf.open_metadata() as metadata:
            assert metadata["dc:title"] == "Cup template at true scale"
        faces = set()
        for page in pdf.pages:
            for font in page.Resources.Font.values():
                assert "/FontFile2" in font.FontDescriptor, "a face is not embedded"
                faces.add(str(font.BaseFont).partition("+")[2])
        assert faces == set(FACES)


def test_all_that_has_to_be_said(tmp_path: Path) -> None:
    path = written(tmp_path / "t.pdf", Press())
    for words in (text_of(path), text_by_poppler(path)):
        for needed in (
            "an example set of cups",
            "ring outside Ø 90.00 mm",
            "inner edge Ø 84.00 mm",
            "max image Ø 76.50 mm",
            "100 mm across",
            "along",
            "measured",
            "--printer-scale 100/M",
            "never fitted to the page",
            "never hold a cup against a drawing or a screen",
            "page 3 of 3",
        ):
            assert needed in words


def test_axes_have_a_tick_every_millimeter(tmp_path: Path) -> None:
    """Along both axes of a 60 cup: 30 ticks each way."""
    rgb = with_pdfium(written(tmp_path / "t.pdf", Press(cups=(Cup("60", 60.0),))), 0, PX_PER_MM)
    ((x, y, _outer),) = rings_mm(rgb, PX_PER_MM)
    for line, middle in (
        (rgb[round((y - 0.45) * PX_PER_MM), :, 0], x),
        (rgb[:, round((x - 0.45) * PX_PER_MM), 0], y),
    ):
        for at in (n for n in range(-24, 25) if n):
            center = (middle + at) * PX_PER_MM
            near = line[int(center) - 2 : int(center) + 3]
            assert near.min() < 190, f"no tick at {at} mm"
        between = int((middle + 7.5) * PX_PER_MM)
        assert line[between - 1 : between + 2].min() > 220


@pytest.mark.parametrize("render", RENDERERS)
def test_several_on_a_sheet(render: Render, tmp_path: Path) -> None:
    path = written(tmp_path / "t.pdf", Press())
    found: list[float] = []
    with pikepdf.open(path) as pdf:
        pages = len(pdf.pages)
    for page in range(pages):
        rings = rings_mm(render(path, page, 10.0), 10.0)
        found += [ring[2] for ring in rings]
    assert pages < 5  # five cups
    assert sorted(found) == pytest.approx([60.0, 75.0, 90.0, 110.0, 130.0], abs=0.1)


def test_nested_rings_share_a_center(tmp_path: Path) -> None:
    rgb = with_pdfium(written(tmp_path / "t.pdf", Press(), nested=True), 0, PX_PER_MM)
    ((x, y, outer),) = rings_mm(rgb, PX_PER_MM)
    assert outer == pytest.approx(130.0, abs=0.05)
    for diameter in (60.0, 75.0, 90.0, 54.0, 124.0):
        assert circle_mm(rgb, PX_PER_MM, (x, y, diameter)) == pytest.approx(diameter, abs=0.05)


def test_pad_and_etch_area_are_there_where_the_press_has_them(tmp_path: Path) -> None:
    limits = PressLimits(
        pad=Pad("round", 80.0, 80.0, margin_mm=2.0, offset_mm=(0.0, 0.0)),
        etch=EtchArea(120.0, 100.0, (0.0, 0.0)),
    )
    press = Press(cups=(Cup("60", 60.0),), limits=limits)
    path = written(tmp_path / "t.pdf", press)
    rgb = with_pdfium(path, 0, PX_PER_MM)
    ring = rings_mm(rgb, PX_PER_MM)[-1]
    for diameter in (80.0, 76.0):  # its edge, and 2 mm inside of it
        seen = circle_mm(rgb, PX_PER_MM, (ring[0], ring[1], diameter))
        assert seen == pytest.approx(diameter, abs=0.05)
    gray = rgb.min(axis=2)
    for at in (ring[0] - 60.0, ring[0] + 60.0):
        assert _darkness(gray, at, ring[1]) > 0.6
    for at in (ring[1] - 50.0, ring[1] + 50.0):
        assert _darkness(gray.T, at, ring[0]) > 0.6
    assert _darkness(gray, ring[0] - 61.0, ring[1]) == 0.0
    assert "pad round 80 mm, 2 mm kept free" in text_of(path)


def _darkness(gray: np.ndarray, x: float, y: float) -> float:
    """How much of 60 mm along y is dark within 0.2 mm of x: a dashed line is so for the most."""
    k = PX_PER_MM
    band = gray[int((y - 30) * k) : int((y + 30) * k), int((x - 0.2) * k) : int((x + 0.2) * k) + 1]
    return float((band.min(axis=1) < 160).mean())


@pytest.mark.parametrize("render", RENDERERS)
def test_pieces_of_a_large_ring_meet(render: Render, tmp_path: Path) -> None:
    """What two neighbors both show is the same, in the same place against their marks."""
    path = written(tmp_path / "t.pdf", Press(cups=(Cup("300", 300.0),)))
    with pikepdf.open(path) as pdf:
        count = len(pdf.pages)
    assert count == 4
    k = 10.0
    pages = [render(path, page, k).min(axis=2) for page in range(count)]
    # Two columns, two rows: a piece has two marks on each of its two seams.
    marks = [_join_marks(page, k, 4) for page in pages]
    for a, b in ((0, 1), (2, 3), (0, 2), (1, 3)):
        shared = _same_marks(marks[a], marks[b], vertical=(a, b) in ((0, 1), (2, 3)))
        assert len(shared) == 2
        (xa, ya), (xb, yb) = shared[0]
        (xa2, ya2), (xb2, yb2) = shared[1]
        # The same two marks, equally far apart on both pages: laid on each other they meet.
        apart = (xa2 - xa, ya2 - ya)
        assert (xb2 - xb, yb2 - yb) == pytest.approx(apart, abs=0.15)
        half = 4.0  # within the overlap all round the mark
        for (x1, y1), (x2, y2) in shared:
            one = _window(pages[a], x1, y1, half, k)
            likeness = [
                np.abs(one - _window(pages[b], x2 + off, y2, half, k)).mean() for off in (0.0, 1.0)
            ]
            assert likeness[0] < 0.5 * likeness[1]  # the comparison can fail
    assert "piece 4 of 4" in text_of(path)


def _join_marks(gray: np.ndarray, k: float, count: int) -> list[tuple[float, float]]:
    """Middles of crosses in circles, found as by eye: a template of one, matched."""
    size = round(8.0 * k)
    sample = np.full((size, size), 255, np.uint8)
    middle, shift = size / 2.0, 4
    at = (int(middle * 2**shift), int(middle * 2**shift))
    cv2.circle(sample, at, int(2.0 * k * 2**shift), 0, 2, cv2.LINE_AA, shift)
    for dx, dy in ((3.5, 0.0), (0.0, 3.5)):
        ends = [
            (int((middle + s * dx * k) * 2**shift), int((middle + s * dy * k) * 2**shift))
            for s in (-1, 1)
        ]
        cv2.line(sample, *ends, 0, 2, cv2.LINE_AA, shift)
    # Blurred, as thin lines are drawn differently; the place stays the same.
    likeness = cv2.matchTemplate(
        cv2.GaussianBlur(gray, (0, 0), 2.0), cv2.GaussianBlur(sample, (0, 0), 2.0),
        cv2.TM_CCOEFF_NORMED,
    )  # fmt: skip
    found: list[tuple[float, float]] = []
    while len(found) < count:
        _low, best, _at, (x, y) = cv2.minMaxLoc(likeness)
        assert best > 0.4
        if _has_circle(gray, x + middle, y + middle, 2.0 * k):
            found.append(((x + middle) / k, (y + middle) / k))
        likeness[max(0, y - size) : y + size, max(0, x - size) : x + size] = -1.0
    return found


def _has_circle(gray: np.ndarray, x: float, y: float, radius: float) -> bool:
    """Whether all round, the arms of the cross left out, it is dark: no cross of axes."""
    for angle in np.radians([25, 35, 45, 55, 65, 115, 125, 145, 155, 205, 225, 245, 295, 315, 335]):
        px, py = int(x + radius * np.cos(angle)), int(y + radius * np.sin(angle))
        if gray[py - 3 : py + 4, px - 3 : px + 4].min() > 200:
            return False
    return True


def _same_marks(
    one: list[tuple[float, float]], two: list[tuple[float, float]], *, vertical: bool
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The marks of the seam between two pages: rightmost with leftmost, lowest with highest."""
    axis = 0 if vertical else 1
    last = sorted(sorted(one, key=lambda p: p[axis])[-2:], key=lambda p: p[1 - axis])
    first = sorted(sorted(two, key=lambda p: p[axis])[:2], key=lambda p: p[1 - axis])
    return list(zip(last, first, strict=True))


def _window(gray: np.ndarray, x: float, y: float, half: float, k: float) -> np.ndarray:
    left, top, side = round((x - half) * k), round((y - half) * k), round(2 * half * k)
    return cv2.GaussianBlur(gray[top : top + side, left : left + side].astype(float), (0, 0), 3.0)


TIGHT = Press(
    name="Harbour press with a name that goes on and on, " * 4,
    cups=(Cup("a very long name of a cup " * 8, 61.5), Cup("杯", 20.0), Cup("300", 300.0)),
    limits=PressLimits(
        pad=Pad("rect", 120.25, 61.5, 8.125, (-12.5, 3.75), 12.5, 1.25, name="x" * 200),
        etch=EtchArea(90.0, 70.0, (3.0, -2.0), 1.5),
    ),
)


@pytest.mark.parametrize("nested", [False, True])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_no_text_leaves_the_page(paper, nested: bool) -> None:  # type: ignore[no-untyped-def]
    document = cup_template(TIGHT, Format(paper), DATE, measure_text, nested=nested)
    for page in document.pages:
        assert_text_inside(page)


def assert_text_inside(page) -> None:  # type: ignore[no-untyped-def]
    """Every line of text, but those that a piece clips, ends within the printable part."""
    width, height = (side / page.scale for side in page.paper_mm)
    loose = [i for i in page.items if not (isinstance(i, Group) and i.clip is not None)]
    for item, frame in walk(loose):
        if not isinstance(item, Text):
            continue
        long = measure_text(item.text, item.size_mm, item.bold)
        left = item.x + frame.e - {"start": 0.0, "middle": long / 2.0, "end": long}[item.anchor]
        assert left >= 9.0, item.text
        assert left + long <= width - 9.0, item.text
        assert 10.0 <= item.y + frame.f <= height - 9.0, item.text


def test_signs_that_the_face_lacks_are_written_out() -> None:
    assert shown("杯 90") == "\\u676f 90"
    assert shown("Ø − ± …") == "Ø − ± …"


def test_the_same_template_twice_is_the_same_file(tmp_path: Path) -> None:
    one, two = tmp_path / "1.pdf", tmp_path / "2.pdf"
    assert main(["template", "-o", str(one), "--date", DATE]) == 0
    subprocess.run(
        [sys.executable, "-m", "viewer", "template", "-o", str(two), "--date", DATE],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        check=True,
    )
    assert one.read_bytes() == two.read_bytes()
    assert main(["template", "-o", str(two), "--date", "2025-07-01"]) == 0
    assert one.read_bytes() != two.read_bytes()


@pytest.mark.parametrize(
    ("call", "problem"),
    [
        (["-o", "t.pdf", "--paper", "A5"], "no such paper; give one of A4, A3, Letter"),
        (["-o", "t.svg"], "give a name that ends in .pdf"),
        (["-o", "nowhere/t.pdf"], "there is no folder"),
        (["-o", "folder.pdf"], "is a folder"),
        (["-o", "press.pdf", "--press", "press.pdf"], "the press file itself"),
        (["-o", "t.pdf", "--printer-scale", "100/50"], "from 90 % to 110 %"),
        (["-o", "t.pdf", "--printer-scale", "89%"], "from 90 % to 110 %"),
        (["-o", "t.pdf", "--printer-scale", "100/0"], "from 90 % to 110 %"),
        (["-o", "t.pdf", "--printer-scale", "nan"], "write 100/97"),
        (["-o", "t.pdf", "--date", "2025-13-01"], "is not a date"),
        (["-o", "t.pdf", "--date", "30.6.2025"], "is not a date"),
        (["-o", "t.pdf", "--cup", "61"], "there are 60, 75, 90, 110, 130"),
        (["-o", "t.pdf", "--cups", "5000"], "pages of A4"),
        (["-o", "t.pdf", "--cups", "x"], "x"),
        ([], "-o"),
        (["pennant.svg", "-o", "t.pdf"], "unrecognized"),
    ],
)
def test_bad_calls_are_one_line(
    call: list[str],
    problem: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.pdf").mkdir()
    (tmp_path / "press.pdf").write_text('name = "harbour"\n')
    before = sorted(p.name for p in tmp_path.iterdir())
    assert main(["template", *call]) == 2
    told = capsys.readouterr()
    assert told.out == "" and told.err.startswith("brimcheck: ") and told.err.count("\n") == 1
    assert problem in told.err
    assert sorted(p.name for p in tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("text", "factor"), [("100/97", 100 / 97), ("103,5%", 1.035), ("1.02", 1.02), ("1", 1.0)]
)
def test_printer_scales(text: str, factor: float) -> None:
    from viewer.cli.sheet_parsers import printer_scale

    assert printer_scale(text) == pytest.approx(factor, rel=1e-12)


def test_one_cup_of_a_press_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    press = str(ROOT / "assets_demo" / "harbour_press.toml")
    target = tmp_path / "t.pdf"
    call = ["template", "-o", str(target), "--press", press, "--cup", "130 WIDE ring"]
    assert main(call) == 0
    assert "1 page; cups 130 wide ring" in capsys.readouterr().out
    words = text_of(target)
    assert "ring outside Ø 130.00 mm" in words and "inner edge Ø 122.00 mm" in words
    assert "pad oval 110 x 72 mm" in words and "etch area" in words
