"""The layer of marks: left out when it is ours to the byte, ink in every other case."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from viewer.artwork.formats.placed_marks import Marks, marks_svg, parse_marks, split_marks
from viewer.artwork.formats.svg_scope import may_reach_outside, scoped
from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork

from .shapes import CUP, PLACEMENTS, clearance_mm, pennant, place_and_read, write
from .test_placed_pdf import page_pdf

RING_MM = 37.5
"""Outer radius of the 75 cup's ring: what the ink reaches to once the layer is ink."""


def reach_mm(artwork: Artwork) -> float:
    """Farthest ink from the middle of the page."""
    return float(np.hypot(*(artwork.outline.hull_mm - np.asarray(artwork.page_mm) / 2.0).T).max())


def codes(artwork: Artwork) -> dict[str, bool]:
    return {w.code: w.blocks_fits for w in artwork.warnings if w.code != "no-cairo"}


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Text of an SVG sheet with rings."""
    folder = tmp_path_factory.mktemp("marks")
    path = write(folder / "pennant.svg", pennant())
    place_and_read(path, PLACEMENTS[1], folder / "sheet.svg", with_rings=True)
    return (folder / "sheet.svg").read_text()


def test_ours_is_left_out_and_said_so(sheet: str, tmp_path: Path) -> None:
    back = load_artwork(write(tmp_path / "sheet.svg", sheet.encode()))
    assert codes(back) == {"marks-left-out": False}
    expected = CUP.max_image_diameter_mm / 2.0 - clearance_mm(PLACEMENTS[1])
    assert reach_mm(back) == pytest.approx(expected, abs=0.02)


BLOT = '<circle cx="42.5" cy="42.5" r="37.5"/>'
TAMPERED: dict[str, Callable[[str], str]] = {
    "wider line": lambda s: s.replace("stroke-width:0.1", "stroke-width:0.2", 1),
    "ink added": lambda s: s.replace("</g>\n</svg>", f"{BLOT}</g>\n</svg>"),
    "filled": lambda s: s.replace("fill:none", "fill:red", 1),
    "a circle dropped": lambda s: re.sub(r"<circle[^>]*>\n", "", s, count=1),
    "another number": lambda s: re.sub(r'(data-brimcheck-marks="[\d.]+ )', r"\g<1>9", s),
    "moved by a group": lambda s: s.replace(
        '<g id="brimcheck-marks"', '<g><g id="brimcheck-marks"'
    ).replace("</g>\n</svg>", "</g></g>\n</svg>"),
    "not the last": lambda s: s.replace("</g>\n</svg>", "</g>\n<g/></svg>"),
    "blank added": lambda s: s.replace("</g>\n</svg>", "</g> \n</svg>"),
    "used elsewhere": lambda s: s.replace(
        "<title>", '<use xlink:href="#brimcheck-marks" x="1"/><title>', 1
    ),
    "used in a roundabout way": lambda s: s.replace(
        "<title>", '<use xlink:href="#&#98;rimcheck-marks" x="1"/><title>', 1
    ),
    "restyled": lambda s: s.replace(
        "<title>", "<style>path{stroke-width:5!important}</style><title>", 1
    ),
    "restyled by its id": lambda s: s.replace(
        "<title>", "<style>#brimcheck-marks{opacity:.5}</style><title>", 1
    ),
    "doctype": lambda s: s.replace(
        "<svg", '<!DOCTYPE svg [<!ATTLIST circle stroke-width CDATA "9">]>\n<svg', 1
    ),
}


@pytest.mark.parametrize("how", TAMPERED)
def test_a_changed_layer_is_ink(how: str, sheet: str, tmp_path: Path) -> None:
    changed = TAMPERED[how](sheet)
    assert changed != sheet
    back = load_artwork(write(tmp_path / "changed.svg", changed.encode()))
    assert "marks-left-out" not in codes(back)
    assert codes(back)["marks-changed"] is True
    assert reach_mm(back) > RING_MM - 1.0


def test_a_forged_layer_can_hide_nothing_but_marks(tmp_path: Path) -> None:
    """Whoever knows how the layer is made can make it leave out thin lines, no more."""
    marks = Marks((20.0, 20.0), (30.0,))
    forged = marks_svg(marks).replace("</g>", f"{BLOT}</g>")
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="85mm" height="85mm" viewBox="0 0 85 85">'
    ink = '<rect x="30" y="30" width="9" height="9"/>'
    fine = load_artwork(write(tmp_path / "a.svg", f"{head}{ink}{marks_svg(marks)}</svg>".encode()))
    assert codes(fine) == {"marks-left-out": False}
    assert fine.outline.hull_mm.max() == pytest.approx(39.0, abs=0.02)
    back = load_artwork(write(tmp_path / "b.svg", f"{head}{ink}{forged}</svg>".encode()))
    assert codes(back)["marks-changed"] is True
    assert back.outline.hull_mm.max() == pytest.approx(80.0, abs=0.02)


def test_a_commented_layer_is_no_layer() -> None:
    text = f"<svg >{'<!--'}{marks_svg(Marks((5.0, 5.0)))}</svg>"
    split = split_marks(f"{text}-->\n</svg>\n".encode())
    assert split.layer_id is None and split.is_changed


@pytest.mark.parametrize(
    "text", ["", "1", "1 2 x", "1 2 nan", "1 2 1e3", "01 2", "1.50 2", "1  2", "1 2 -0"]
)
def test_numbers_that_are_not_as_written(text: str) -> None:
    assert parse_marks(text) is None


def test_numbers_come_back_as_they_were() -> None:
    marks = Marks((42.5, 0.0001), (63.7499, 75.0))
    assert parse_marks(str(marks)) == marks


# PDF


@pytest.fixture(scope="module")
def pdf_sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A PDF sheet with rings, for reading only."""
    folder = tmp_path_factory.mktemp("marks")
    path = write(folder / "plate.pdf", page_pdf())
    place_and_read(path, PLACEMENTS[1], folder / "sheet.pdf", with_rings=True)
    return folder / "sheet.pdf"


def _form(pdf: pikepdf.Pdf) -> pikepdf.Object:
    return pdf.pages[0].Resources.XObject["/BrimcheckMarks"]


def _ink_in_the_layer(pdf: pikepdf.Pdf) -> None:
    _form(pdf).write(_form(pdf).read_bytes() + b"5 5 75 75 re f\n")


def _wider(pdf: pikepdf.Pdf) -> None:
    _form(pdf).write(_form(pdf).read_bytes().replace(b"0.1 w", b"0.9 w"))


def _matrix(pdf: pikepdf.Pdf) -> None:
    _form(pdf)["/Matrix"] = pikepdf.Array([1, 0, 0, 1, 0.5, 0])


def _numbers(pdf: pikepdf.Pdf) -> None:
    _form(pdf)["/BrimcheckMarks"] = pikepdf.String("42.5 42.5 10")


def _more_after_it(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Contents.append(pdf.make_stream(b"0 0 1 1 re f"))


def _in_its_stream(pdf: pikepdf.Pdf) -> None:
    marks = pdf.pages[0].Contents[1]
    marks.write(b"5 5 75 75 re f " + marks.read_bytes())


def _moved(pdf: pikepdf.Pdf) -> None:
    art = pdf.pages[0].Contents[0]
    art.write(b"1 0 0 1 3 0 cm\n" + art.read_bytes())


def _another_page_size(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].MediaBox = pikepdf.Array([0, 0, 300, 300])


@pytest.mark.parametrize(
    "change",
    [
        _ink_in_the_layer,
        _wider,
        _matrix,
        _numbers,
        _more_after_it,
        _in_its_stream,
        _moved,
        _another_page_size,
    ],
)
def test_a_changed_pdf_layer_is_ink(
    change: Callable[[pikepdf.Pdf], None], pdf_sheet: Path, tmp_path: Path
) -> None:
    with pikepdf.open(pdf_sheet) as pdf:
        change(pdf)
        pdf.save(tmp_path / "changed.pdf")
    back = load_artwork(str(tmp_path / "changed.pdf"))
    assert "marks-left-out" not in codes(back)
    assert codes(back)["marks-changed"] is True
    center = np.array([42.5, back.page_mm[1] - 42.5])
    assert np.hypot(*(back.outline.hull_mm - center).T).max() > RING_MM - 1.5


def test_ours_is_left_out_of_a_pdf(pdf_sheet: Path) -> None:
    assert codes(load_artwork(str(pdf_sheet))) == {"marks-left-out": False}


def test_saving_it_again_does_not_change_the_layer(pdf_sheet: Path, tmp_path: Path) -> None:
    with pikepdf.open(pdf_sheet) as pdf:
        pdf.save(
            tmp_path / "again.pdf",
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            recompress_flate=True,
        )
    assert codes(load_artwork(str(tmp_path / "again.pdf"))) == {"marks-left-out": False}


# Which rules reach beyond the drawing


@pytest.mark.parametrize(
    ("rule", "reaches"),
    [
        (".st0{fill:red}", False),
        ("#a > .b, g .c{fill:red}", False),
        ("path.st0:hover{fill:red}", False),
        ("@font-face{font-family:x}", False),
        ("@media print{.a{fill:red}}", False),
        (".brimcheck-artwork path{fill:red}", False),
        (".brimcheck-artwork g > path{fill:red}", False),
        ("path{fill:red}", True),
        (".a path{fill:red}", True),
        ("*{fill:red}", True),
        (":root{fill:red}", True),
        ("[d]{fill:red}", True),
        (":not(.a){fill:red}", True),
        (".a, g{fill:red}", True),
        ("@media print{path{fill:red}}", True),
        ("#brimcheck-marks{fill:red}", True),
        (".brimcheck-artwork{fill:red}", True),
        (".brimcheck-artwork ~ g{fill:red}", True),
        (".brimcheck-artwork + g path{fill:red}", True),
        (".a{b{fill:red}}", True),
    ],
)
def test_reach_of_rules(rule: str, reaches: bool) -> None:
    assert may_reach_outside(rule) is reaches
    if reaches and "brimcheck" not in rule and "{b{" not in rule:
        assert not may_reach_outside(scoped(rule))


def test_the_sheet_is_centered_on_the_cup(sheet: str, tmp_path: Path) -> None:
    assert 'data-brimcheck-marks="42.5 42.5 63.75 69 75"' in sheet
    back = load_artwork(write(tmp_path / "sheet.svg", sheet.encode()))
    assert back.page_mm == pytest.approx((85.0, 85.0), abs=1e-9)
