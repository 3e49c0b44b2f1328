"""The fit sheet, printed by two programs: measured, read and decoded there."""

from __future__ import annotations

import hashlib
import os
import stat
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest

from tests.fit.artworks import artwork as plain_artwork
from tests.fit.artworks import box
from viewer.artwork.load import load_artwork
from viewer.artwork.model import ArtworkWarning, LeftOut, LoadOptions, Speck
from viewer.cli import main
from viewer.fit import Placement, fit_artwork, place
from viewer.press import Cup, Datum, EtchArea, Hold, Pad, Press, PressLimits
from viewer.report.placement_words import datum_shift_mm, placement_steps
from viewer.sheets.draw_list import ArtworkMark, walk
from viewer.sheets.fit_sheet import FitSheetOrder, fit_sheet
from viewer.sheets.fit_words import Judged, blocks_of, headline, plain_verdict
from viewer.sheets.page import PAPERS, Format
from viewer.sheets.pdf_writer import FACES, measure_text
from viewer.sheets.record_band import RecordTold

from .renderers import (
    RENDERERS,
    Render,
    colored_box_mm,
    colored_circle_mm,
    cut_out,
    rings_mm,
    text_by_poppler,
    text_of,
    with_pdfium,
)
from .shapes import SAMPLES, need_cairo, svg, write
from .test_template import assert_text_inside

ROOT = Path(__file__).resolve().parents[2]
DATE = "2025-06-30"
PX_PER_MM = 12.0
CIRCLE_MM = 48.0
BUOY = '<circle cx="40" cy="35" r="24" fill="#c0392b"/><path d="M30 20h20v30h-20z" fill="#1f8a70"/>'


def buoy(path: Path, more: str = "") -> str:
    """A red disc 48 mm across in the middle of a page of 80 x 70 mm."""
    return write(path, svg('width="80mm" height="70mm" viewBox="0 0 80 70"', BUOY + more))


def sheet_of(path: str, target: Path, *options: str) -> int:
    return main(["sheet", path, "-o", str(target), "--date", DATE, *options])


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The buoy under a 75 cup, which takes 63.75 mm: fits with 7.875 mm to spare."""
    need_cairo()
    folder = tmp_path_factory.mktemp("sheet")
    target = folder / "fit.pdf"
    assert sheet_of(buoy(folder / "buoy.svg"), target, "--cup", "75") == 0
    return target


@pytest.mark.parametrize("render", RENDERERS)
def test_ring_and_artwork_at_true_scale(render: Render, sheet: Path, tmp_path: Path) -> None:
    rgb = render(sheet, 0, PX_PER_MM)
    ((x, y, outer),) = rings_mm(rgb, PX_PER_MM)
    assert outer == pytest.approx(75.0, abs=0.05)
    # It stands in the middle of the ring.
    rows, columns = np.nonzero(np.ptp(rgb.astype(int), axis=2) > 30)
    middle = (columns.min() + columns.max() + 1) / 2.0, (rows.min() + rows.max() + 1) / 2.0
    assert np.array(middle) / PX_PER_MM == pytest.approx((x, y), abs=0.06)
    # Cut out of the print it is the same, by OpenCV and measured as any artwork is.
    fine = 40.0
    part = render(sheet, 0, fine, colored_box_mm(rgb, PX_PER_MM))
    assert colored_circle_mm(part, fine) == pytest.approx(CIRCLE_MM, abs=0.05)
    if render is not with_pdfium and SAMPLES == 1:
        return
    back = load_artwork(cut_out(part, fine, tmp_path / "cut.png"))
    fit = fit_artwork(back, [Cup("75", 75.0)])
    assert fit.smallest_circle.diameter == pytest.approx(CIRCLE_MM, abs=0.05)
    assert fit.cups[0].clearance_mm == pytest.approx(7.875, abs=0.05)


def test_the_code_is_the_hash(sheet: Path) -> None:
    rgb = with_pdfium(sheet, 0, 10.0)
    read, _points, _straight = cv2.QRCodeDetector().detectAndDecode(np.ascontiguousarray(rgb))
    sha = hashlib.sha256((sheet.parent / "buoy.svg").read_bytes()).hexdigest()
    assert read == sha
    for words in (text_of(sheet), text_by_poppler(sheet)):
        assert f"SHA-256 {sha}" in words


def test_all_that_has_to_be_said(sheet: Path) -> None:
    for words in (text_of(sheet), text_by_poppler(sheet)):
        for needed in (
            "buoy.svg",
            "75 cup: fits",
            "clearance of +7.8",
            "Ink 48.0",
            "Start with the artwork's ink centre (40.00, 35.00 mm on its page)",
            "Neither turn nor shift it.",
            "Tightest (arrow): +7.8",
            "an example set of cups",
            "margin 15 % of the named diameter",
            "The outline is known to ±0.0",
            "drawn here with the file's own vectors",
            "Drawn at true scale, 1:1",
            "Warnings None.",
            "'Fits' is geometry, not permission to run",
            "The ring is sharp",
            "Approval",
            "approved",
            "rejected",
            "before the plate is made",
            "100 mm across",
            DATE,
            "page 1 of 1",
        ):
            assert needed in words, needed


def test_the_file_is_clean_and_says_what_it_is(sheet: Path) -> None:
    with pikepdf.open(sheet) as pdf:
        (page,) = pdf.pages
        assert [float(v) for v in page.MediaBox[2:]] == pytest.approx(
            (595.2756, 841.8898), abs=1e-3
        )
        assert pdf.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")
        assert "buoy.svg, 75 cup: fits" in str(pdf.docinfo["/Title"])
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20250630")
        faces = set()
        for font in page.Resources.Font.values():
            assert "/FontFile2" in font.FontDescriptor
            faces.add(str(font.BaseFont).partition("+")[2])
        assert faces == set(FACES)
        form = page.Resources.XObject["/BrimcheckArtwork"]
        assert form.Subtype == "/Form", "vectors, not a picture"
        assert "/OCProperties" not in pdf.Root or len(pdf.Root.OCProperties.OCGs) == 0


def test_the_same_sheet_twice_is_the_same_file(tmp_path: Path) -> None:
    path = buoy(tmp_path / "buoy.svg")
    one, two = tmp_path / "1.pdf", tmp_path / "2.pdf"
    assert sheet_of(path, one) == 0
    subprocess.run(
        [sys.executable, "-m", "viewer", "sheet", path, "-o", str(two), "--date", DATE],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        check=True,
    )
    assert one.read_bytes() == two.read_bytes()


def test_a_printer_that_is_off_is_made_up_for(tmp_path: Path) -> None:
    target = tmp_path / "fit.pdf"
    assert sheet_of(buoy(tmp_path / "b.svg"), target, "--printer-scale", "100/97") == 0
    rgb = with_pdfium(target, 0, PX_PER_MM)
    assert colored_circle_mm(rgb, PX_PER_MM) == pytest.approx(CIRCLE_MM / 0.97, abs=0.05)


# --- verdicts ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "options", "status", "needed"),
    [
        ("", ("--cup", "60", "--setup", "2"), 0, ["60 cup: fits, tight", "less than the 2 mm"]),
        (
            "",
            ("--cups", "55", "--cup", "55"),
            1,
            ["55 cup: in the margin", "DOES NOT FIT as placed", "What would help"],
        ),
        (
            "",
            ("--cup", "60", "--center", "40,10"),
            1,
            ["60 cup: outside", "DOES NOT FIT as placed", "Not the best placement"],
        ),
        (
            '<rect x="5" y="5" width="70" height="60" fill="#fff"/>' + BUOY,
            ("--cup", "60"),
            1,
            ["60 cup: cannot be sure", "NOT PROVED TO FIT", "Blocks 'fits'", "white"],
        ),
    ],
)
def test_every_verdict_is_printed_as_such(
    more: str,
    options: tuple[str, ...],
    status: int,
    needed: list[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    need_cairo()
    target = tmp_path / "fit.pdf"
    assert sheet_of(buoy(tmp_path / "b.svg", more), target, *options) == status
    words = text_of(target)
    for words_needed in needed:
        assert words_needed in words
    if status:
        assert "Fits as placed" not in words
    assert needed[0].split(": ")[1] in capsys.readouterr().out


def judged(limits: PressLimits | None = None, at: Placement | None = None, **more) -> Judged:  # type: ignore[no-untyped-def]
    """A mug print 30 x 20 mm at (10, 10) under a 60 cup."""
    art = replace(plain_artwork(box(30.0, 20.0, 10.0, 10.0), 0.01, path="mug.svg"), **more)
    fit = fit_artwork(art, [Cup("60", 60.0)], limits=limits or PressLimits())
    (cup_fit,) = fit.cups
    placement = at or cup_fit.best.settable.placement
    placed = place(art, cup_fit.cup, placement, limits=fit.limits)
    return Judged(fit, cup_fit, placement, placed, Press(cups=(cup_fit.cup,)))


def test_a_placement_that_the_press_forbids_is_no_fit() -> None:
    fixed = judged(PressLimits(hold=Hold("fixed")), Placement((24.0, 20.0)))
    assert fixed.placed.clearance_mm > 0.0 and not fixed.is_sure
    assert headline(fixed) == "60 cup: cannot be sure"
    assert plain_verdict(fixed).startswith("NOT PROVED TO FIT")
    words = " ".join(line for block in blocks_of(fixed, "") for line in block.paragraphs)
    assert "The press does not allow this placement" in words


TURN, SHIFT, CCW, FRONT = "Turn the artwork ", "shift it ", "counter-clockwise", "to the front."


@pytest.mark.parametrize(
    ("center", "turn", "steps"),
    [
        # The ink's middle is (25, 20). R(t) = [[cos, sin], [-sin, cos]], y to the front.
        ((25.0, 20.0), 0.0, "Neither turn nor shift it."),
        ((25.0, 20.0), -12.0, f"{TURN}12.0 degrees clockwise; do not shift it."),
        ((23.75, 19.2), 0.0, f"Do not turn the artwork; {SHIFT}1.25 mm right and 0.80 mm {FRONT}"),
        ((25.0, 22.0), 90.0, f"{TURN}90.0 degrees {CCW}, then {SHIFT}2.00 mm left."),
        ((25.0, 20.4), 180.0, f"{TURN}180.0 degrees {CCW}, then {SHIFT}0.40 mm {FRONT}"),
        ((25.0, 20.0004), 0.0, "Neither turn nor shift it."),
        ((24.9956, 20.0), 0.05, f"{TURN}0.050 degrees {CCW}, then {SHIFT}0.004 mm right."),
    ],
)
def test_a_placement_as_steps(center: tuple[float, float], turn: float, steps: str) -> None:
    found = judged(at=Placement(center, turn))
    start, then = placement_steps(found.fit, found.placement)
    assert start.startswith("Start with the artwork's ink centre (25.00, 20.00 mm on its page)")
    assert then == steps


def test_steps_from_a_datum_of_ones_own_lead_to_the_placement() -> None:
    """Setting the steps by hand: turn about the datum under the center, then shift."""
    limits = PressLimits(datum=Datum("point", (3.0, 7.0)))
    found = judged(limits, Placement((24.0, 18.0), 30.0))
    start, _then = placement_steps(found.fit, found.placement)
    assert start == "Start with the artwork's point 3, 7 mm under the cup's centre, not turned."
    cos, sin = np.cos(np.radians(30.0)), np.sin(np.radians(30.0))
    shift = np.array(datum_shift_mm(found.fit.datum_mm, found.placement))
    for point in ((0.0, 0.0), (10.0, 30.0), (3.0, 7.0)):
        away = np.array(point) - (3.0, 7.0)
        by_hand = np.array((cos * away[0] + sin * away[1], cos * away[1] - sin * away[0])) + shift
        assert found.to_press(point) == pytest.approx(tuple(by_hand), abs=1e-12)


def test_what_is_left_out_is_told_and_crossed_out() -> None:
    piece = LeftOut((5.0, 5.0), (4.0, 4.0, 6.0, 7.0), 6.0)
    found = judged(left_out=(piece,), specks=(Speck((2.0, 3.0), 0.31, True),))
    told = {block.title: block.paragraphs for block in blocks_of(found, "")}
    lines = told["Left out, not measured"]
    assert lines[0].startswith("A piece 2.0 x 3.0 mm at 5.00, 5.00 mm on the page")
    assert lines[1].startswith("A speck of at most 0.31 mm at 2.00, 3.00 mm on the page")
    assert "Left out, not measured" not in {b.title for b in blocks_of(judged(), "")}


# --- layout -----------------------------------------------------------------------------

LONG = PressLimits(
    pad=Pad("rect", 220.25, 61.5, 8.125, (-12.5, 3.75), 12.5, 1.25, name="x" * 200),
    etch=EtchArea(190.0, 70.0, (3.0, -2.0), 1.5),
    hold=Hold("free", 30.0),
)
WARNINGS = tuple(
    ArtworkWarning(f"w{n}", f"warning number {n} that goes on and on " * 9, n % 2 == 0)
    for n in range(12)
)


@pytest.mark.parametrize("limits", [None, LONG], ids=["cup", "limits"])
@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
@pytest.mark.parametrize("scale", [1.0, 1.1])
def test_no_text_leaves_the_page_and_none_is_lost(paper, scale: float, limits) -> None:  # type: ignore[no-untyped-def]
    found = judged(limits, warnings=WARNINGS, path="/boat/" + "pennant_" * 40 + ".svg")
    order = FitSheetOrder(found, Format(paper, printer_scale=scale), DATE, "so")
    document = fit_sheet(order, measure_text)
    for page in document.pages:
        assert_text_inside(page)
    told = " ".join(
        item.text
        for page in document.pages
        for item, _frame in walk(page.items)
        if hasattr(item, "text")
    )
    for n in range(12):
        assert f"arning number {n} that" in told
    assert f"page {len(document.pages)} of {len(document.pages)}" in told
    first = [getattr(item, "text", "") for item, _f in walk(document.pages[0].items)]
    assert ("continues on another page" in first) is (len(document.pages) > 1)
    is_too_large = limits is not None and paper.name != "A3"
    assert ("OVERVIEW, REDUCED to" in told) is is_too_large


def test_a_drawing_larger_than_the_page(tmp_path: Path) -> None:
    """An etch area of 260 x 190 mm: a reduced overview that says so, then pieces at 1:1."""
    need_cairo()
    target = tmp_path / "fit.pdf"
    path = buoy(tmp_path / "b.svg")
    assert sheet_of(path, target, "--cup", "90", "--etch", "260x190") == 0
    words = text_of(target)
    assert "OVERVIEW, REDUCED to 50.0 %: not to be measured" in words
    assert "piece 1 of 2" in words and "piece 2 of 2" in words
    with pikepdf.open(target) as pdf:
        assert ["/BrimcheckArtwork" in page.Resources.get("/XObject", {}) for page in pdf.pages][
            :3
        ] == [True, True, True]
    overview = colored_circle_mm(with_pdfium(target, 0, PX_PER_MM), PX_PER_MM)
    assert overview == pytest.approx(CIRCLE_MM / 2.0, abs=0.05)
    # On A3 one piece is all of it, on its second page, and the disc has its size.
    assert sheet_of(path, target, "--cup", "90", "--etch", "260x190", "--paper", "A3") == 0
    assert "piece" not in text_of(target)
    with pikepdf.open(target) as pdf:
        shown = ["/BrimcheckArtwork" in page.Resources.get("/XObject", {}) for page in pdf.pages]
    true = colored_circle_mm(with_pdfium(target, shown.count(True) - 1, PX_PER_MM), PX_PER_MM)
    assert true == pytest.approx(CIRCLE_MM, abs=0.05)


def test_more_than_anybody_would_join_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "fit.pdf"
    assert sheet_of(buoy(tmp_path / "b.svg"), target, "--etch", "4000x4000") == 2
    told = capsys.readouterr().err
    assert "pages of A4" in told and told.count("\n") == 1
    assert not target.exists()


def test_the_artwork_is_on_the_first_page_once() -> None:
    document = fit_sheet(FitSheetOrder(judged(), Format(), DATE, ""), measure_text)
    marks = [item for item, _f in walk(document.pages[0].items) if isinstance(item, ArtworkMark)]
    assert len(marks) == 1


def test_lines_of_a_record_are_printed() -> None:
    line = "approved by bench two: regatta"
    order = FitSheetOrder(judged(), Format(), DATE, "", RecordTold("Approved", (line,)))
    document = fit_sheet(order, measure_text)
    texts = [getattr(i, "text", "") for page in document.pages for i, _f in walk(page.items)]
    assert line in texts and "Approved" in texts and "Approval record" in texts


# --- formats ----------------------------------------------------------------------------


def test_without_libcairo_a_fine_picture_is_drawn(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BRIMCHECK_HIDE_CAIRO", "1")
    target = tmp_path / "fit.pdf"
    path = buoy(tmp_path / "b.svg")
    subprocess.run(
        [sys.executable, "-m", "viewer", "sheet", path, "-o", str(target), "--date", DATE],
        cwd=ROOT,
        capture_output=True,
        check=True,
    )
    assert "as a picture of 600 pixels per inch" in text_of(target)
    assert colored_circle_mm(with_pdfium(target, 0, PX_PER_MM), PX_PER_MM) == pytest.approx(
        CIRCLE_MM, abs=0.08
    )


def test_a_turned_pdf(tmp_path: Path) -> None:
    """A lying oval disc turned by a right angle stands on the sheet."""
    pdf = pikepdf.new()
    page = pdf.add_blank_page(page_size=(170.0, 113.0))
    page.Contents = pdf.make_stream(b"0.75 0.2 0.15 rg 20 40 113.385827 28.346457 re f")
    pdf.save(tmp_path / "plate.pdf")
    target = tmp_path / "fit.pdf"
    # 113.39 x 28.35 points are 40 x 10 mm; its middle is 76.69, 54.17 points from the bottom.
    center = f"{76.692913 / 72 * 25.4};{(113 - 54.173228) / 72 * 25.4}"
    options = ("--cup", "60", "--center", center, "--turn", "90")
    assert sheet_of(str(tmp_path / "plate.pdf"), target, *options) == 0
    mask = np.ptp(with_pdfium(target, 0, PX_PER_MM).astype(int), axis=2) > 30
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    assert (rows[-1] - rows[0] + 1) / PX_PER_MM == pytest.approx(40.0, abs=0.1)
    assert (columns[-1] - columns[0] + 1) / PX_PER_MM == pytest.approx(10.0, abs=0.1)
    assert "Turn the artwork 90.0 degrees counter-clockwise" in text_of(target)


def test_a_picture_goes_in_as_it_is(tmp_path: Path) -> None:
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", (1920, 1680), "white")
    ImageDraw.Draw(picture).ellipse((384, 264, 1535, 1415), fill=(192, 57, 43))
    picture.save(tmp_path / "buoy.png", dpi=(609.6, 609.6))  # 24 pixels a mm: 1152 are 48 mm
    target = tmp_path / "fit.pdf"
    assert sheet_of(str(tmp_path / "buoy.png"), target) == 0
    assert "drawn here as in the file" in text_of(target)
    seen = colored_circle_mm(with_pdfium(target, 0, PX_PER_MM), PX_PER_MM)
    assert seen == pytest.approx(CIRCLE_MM, abs=0.09)  # two pixels of the file


def test_a_file_that_changed_meanwhile_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from viewer.cli import sheet as sheet_module

    path = buoy(tmp_path / "b.svg")
    real = sheet_module.fit_measured

    def later(*args):  # type: ignore[no-untyped-def]
        buoy(tmp_path / "b.svg", "<g/>")
        return real(*args)

    monkeypatch.setattr(sheet_module, "fit_measured", later)
    assert sheet_of(path, tmp_path / "fit.pdf") == 2
    assert "has changed since it was measured" in capsys.readouterr().err
    assert not (tmp_path / "fit.pdf").exists()


def test_a_job_is_printed_as_it_is_placed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from viewer.job import Job, write_job

    path = buoy(tmp_path / "buoy.svg")
    sha = load_artwork(path).sha256
    cup = Cup("harbour 75", 75.0)
    job = Job(
        artwork_path=path,
        sha256=sha,
        press=Press(name="Quay press", cups=(cup,)),
        cup_name="harbour 75",
        placement=Placement((20.5, 18.25), 10.0),
        load=LoadOptions(),
        scale=0.5,
    )
    name, target = str(tmp_path / "work.brim.toml"), tmp_path / "fit.pdf"
    write_job(job, name)
    assert sheet_of(name, target) == 0
    words = text_of(target)
    assert "harbour 75 cup: fits" in words and "Quay press" in words
    assert "Turn the artwork 10.0 degrees counter-clockwise" in words
    assert "scaled to 50 %" in words
    seen = colored_circle_mm(with_pdfium(target, 0, PX_PER_MM), PX_PER_MM)
    assert seen == pytest.approx(CIRCLE_MM / 2.0, abs=0.05)
    capsys.readouterr()
    assert sheet_of(name, target, "--cup", "75") == 2
    assert "leave --cup and --center out" in capsys.readouterr().err
    assert sheet_of(name, target, "--ring", "2") == 2
    assert "is a job file" in capsys.readouterr().err


# --- bad input --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "problem"),
    [
        (["b.svg", "-o", "b.svg"], "give a name that ends in .pdf"),
        (["b.pdf", "-o", "b.pdf"], "that is the artwork itself"),
        (["b.pdf", "-o", "link.pdf"], "that is the artwork itself"),
        (["b.svg", "-o", "nowhere/f.pdf"], "there is no folder"),
        (["b.svg", "-o", "folder.pdf"], "is a folder"),
        (["b.svg", "-o", "f.pdf", "--paper", "A5"], "give one of A4, A3, Letter for the sheet"),
        (["b.svg", "-o", "f.pdf", "--paper-size", "A5"], "give one of A4, A3, Letter"),
        (["b.svg", "-o", "f.pdf", "--paper", "A4", "--paper-size", "A3"], "give one of them"),
        (["b.svg", "-o", "f.pdf", "--date", "yesterday"], "is not a date"),
        (["b.svg", "-o", "f.pdf", "--date", "2025-02-30"], "is not a date"),
        (["b.svg", "-o", "f.pdf", "--printer-scale", "2"], "from 90 % to 110 %"),
        (["b.svg", "-o", "f.pdf", "--printer-scale", "100/"], "write 100/97"),
        (["b.svg", "-o", "f.pdf", "--turn", "5"], "--turn goes with --center"),
        (["b.svg", "-o", "f.pdf", "--cup", "61"], "there are 60, 75, 90, 110, 130"),
        (["gone.svg", "-o", "f.pdf"], "no such file"),
        ([".", "-o", "f.pdf"], "is a folder"),
        (["b.svg"], "-o"),
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
    buoy(tmp_path / "b.svg")
    (tmp_path / "b.pdf").write_bytes(b"%PDF-1.4\n")
    (tmp_path / "link.pdf").hardlink_to(tmp_path / "b.pdf")
    (tmp_path / "folder.pdf").mkdir()
    before = {p.name: p.stat().st_size for p in tmp_path.iterdir()}
    assert main(["sheet", *call]) == 2
    told = capsys.readouterr()
    assert told.out == "" and told.err.startswith("brimcheck: ") and told.err.count("\n") == 1
    assert problem in told.err
    assert {p.name: p.stat().st_size for p in tmp_path.iterdir()} == before


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may write anywhere")
def test_a_file_that_is_write_protected(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "fit.pdf"
    target.write_text("the old one")
    target.chmod(stat.S_IRUSR)
    assert sheet_of(buoy(tmp_path / "b.svg"), target) == 2
    assert "may not be written" in capsys.readouterr().err
    assert target.read_text() == "the old one"


def test_paper_of_the_artwork_and_of_the_printer(tmp_path: Path) -> None:
    from viewer.cli.options import parse_arguments

    call = ["sheet", "b.svg", "-o", "f.pdf"]
    both = parse_arguments([*call, "--paper", "#FFFFFF", "--paper-size", "letter"])
    assert both.load.paper == "#FFFFFF"
    assert both.sheet is not None and both.sheet.base.paper.name == "Letter"
    one = parse_arguments([*call, "--paper", "a3"])
    assert one.load == LoadOptions() and one.sheet is not None
    assert one.sheet.base.paper.name == "A3"
