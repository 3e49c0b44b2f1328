"""SVG artwork on a sheet, as SVG and as PDF: the same clearance, the same bytes inside."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pikepdf
import pytest

from viewer.artwork.load import load_artwork
from viewer.artwork.model import LoadOptions
from viewer.errors import ArtworkError
from viewer.fit import Placement
from viewer.sheets import placed as placed_module
from viewer.sheets.placed import write_placed

from .shapes import (
    CORNERS_MM,
    CUP,
    PLACEMENTS,
    SAMPLES,
    assert_same_clearance,
    clearance_mm,
    draw_with_cairo,
    draw_with_pdfium,
    draw_with_resvg,
    few,
    need_cairo,
    pennant,
    place_and_read,
    placed_corners,
    points,
    reach_in,
    svg,
    write,
)

BOX = 'viewBox="0 0 60 40"'
SIZE = f'width="60mm" height="40mm" {BOX}'
PX = 96.0 / 25.4
STYLED = "polygon{fill:#16324f}"
DOCTYPE = (
    '<?xml version="1.0" encoding="ISO-8859-1"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN"'
    ' "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [\n'
    ' <!ENTITY ns_club "http://harbour.example/club/">\n <!ENTITY ink "#16324f">\n'
    f" <!ENTITY mark \"<polygon points='{points(CORNERS_MM)}' fill='&#38;ink;'/>\">\n]>\n"
)


def _polygon(scale: float = 1.0, extra: str = "") -> str:
    return f'<polygon points="{points(CORNERS_MM, scale)}" fill="#16324f" {extra}/>'


ROOTS: dict[str, tuple[bytes, LoadOptions | None]] = {
    "mm": (pennant(), None),
    "in": (svg(f'width="{60 / 25.4}in" height="{40 / 25.4}in" {BOX}', _polygon()), None),
    "offset": (
        svg(
            'width="60mm" height="40mm" viewBox="-500 300 600 400"',
            f'<g transform="translate(-500 300)">{_polygon(10.0)}</g>',
        ),
        None,
    ),
    "no-viewbox": (svg('width="60mm" height="40mm"', _polygon(PX)), None),
    "px": (
        svg(f'width="{60 * PX}" height="{40 * PX}"', _polygon(PX)),
        LoadOptions(px_per_inch=96.0),
    ),
    "px-72": (
        svg(f'width="{60 * 72 / 25.4}px" height="{40 * 72 / 25.4}px"', _polygon(72 / 25.4)),
        LoadOptions(px_per_inch=72.0),
    ),
    "viewbox-only": (
        svg('viewBox="0 0 6000 4000"', _polygon(100.0)),
        LoadOptions(page_width_mm=60.0),
    ),
    "ink-width": (svg('viewBox="0 0 600 400"', _polygon(10.0)), LoadOptions(width_mm=43.0)),
    "half-scale": (
        svg('width="120mm" height="80mm" viewBox="0 0 60 40"', _polygon()),
        LoadOptions(scale=0.5),
    ),
    "aspect": (
        svg(
            'width="60mm" height="40mm" viewBox="0 0 60 400" preserveAspectRatio="xMidYMax slice"',
            f'<g transform="translate(0 360)">{_polygon()}</g>',
        ),
        None,
    ),
    "root-transform": (
        svg(
            'width="60mm" height="40mm" viewBox="0 0 60 40" transform="rotate(180)"',
            f'<g transform="rotate(180 30 20)">{_polygon()}</g>',
        ),
        None,
    ),
    "css-size": (
        svg(
            'viewBox="0 0 60 40" id="club"',
            f"<style>svg{{width:60mm;height:40mm}} {STYLED}</style>"
            f'<polygon points="{points(CORNERS_MM)}"/>',
        ),
        None,
    ),
    "css-root": (
        svg(
            'viewBox="0 0 60 40" class="w"',
            "<style>:root{fill:#16324f} .w{width:60mm;height:40mm}</style>"
            f'<polygon points="{points(CORNERS_MM)}"/>',
        ),
        None,
    ),
    "css-transform": (
        svg(
            SIZE,
            f'<style>g{{stroke:none}} path,circle,*{{fill:#16324f}}</style><g>{_polygon()}</g>',
        ),
        None,
    ),
    "doctype": (
        svg(
            'xmlns:c="&ns_club;" width="60mm" height="40mm" viewBox="0 0 60 40"',
            "<!-- &mark; stays --><c:note>\u00e9</c:note>&mark;",
            DOCTYPE,
        ).decode().encode("latin-1"),
        None,
    ),
    "prefixed": (
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg" width="60mm" height="40mm"'
        b' viewBox="0 0 60 40"><s:polygon points="' + points(CORNERS_MM).encode() + b'"/></s:svg>',
        None,
    ),
    "utf-16": (
        ('<?xml version="1.0" encoding="UTF-16"?>' + pennant().decode()).encode("utf-16"),
        None,
    ),
    "taken-ids": (
        pennant(more='<g id="brimcheck-marks"/><g id="brimcheck-marks-2" class="e"/>'),
        None,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ROOTS)
def test_every_root_keeps_its_clearance(name: str, tmp_path: Path) -> None:
    data, options = ROOTS[name]
    placement = PLACEMENTS[1]
    path = write(tmp_path / "pennant.svg", data)
    artwork = load_artwork(path, options)
    # As PDF a root is told by its scale and place alone, so that every fifth does.
    as_pdf = list(ROOTS).index(name) % max(1, 6 - SAMPLES) == 0 or SAMPLES >= 4
    for ending in ("svg", "pdf") if as_pdf else ("svg",):
        artwork, back, placed = place_and_read(
            path, placement, tmp_path / f"sheet.{ending}", artwork=artwork, with_rings=True
        )
        assert_same_clearance(artwork, back, placed, placement, clearance_mm(placement))
        assert "marks-left-out" in {w.code for w in back.warnings}


@pytest.mark.parametrize("placement", few(PLACEMENTS, 2, 1), ids=lambda p: f"{p.turn_deg:g}")
@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_every_placement_with_and_without_rings(
    placement: Placement, ending: str, tmp_path: Path
) -> None:
    path = write(tmp_path / "pennant.svg", pennant())
    artwork = load_artwork(path)
    for with_rings in few((False, True), 1, PLACEMENTS.index(placement)):
        artwork, back, placed = place_and_read(
            path,
            placement,
            tmp_path / f"sheet.{ending}",
            artwork=artwork,
            with_rings=with_rings,
        )
        assert_same_clearance(artwork, back, placed, placement, clearance_mm(placement))


@pytest.mark.parametrize(
    ("draw", "ending"),
    [(draw_with_resvg, "svg"), (draw_with_cairo, "svg"), (draw_with_pdfium, "pdf")],
)
def test_other_programs_see_it_in_the_same_place(draw, ending: str, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    placement, plate = PLACEMENTS[2], (120.0, 90.0)
    artwork = load_artwork(write(tmp_path / "pennant.svg", pennant()))
    target = tmp_path / f"sheet.{ending}"
    if ending == "pdf":
        need_cairo()
    write_placed(artwork, CUP, placement, str(target), plate_mm=plate)
    directions = range(0, 360, 15)
    seen = reach_in(draw(target, 40.0, plate), plate, directions)
    corners = placed_corners(placement)
    rays = np.radians(list(directions))
    expected = (corners @ np.array([np.cos(rays), np.sin(rays)])).max(axis=0)
    assert seen == pytest.approx(expected, abs=0.08)
    with pytest.raises(AssertionError):  # the comparison can fail
        assert seen == pytest.approx(np.roll(expected, 1), abs=0.08)


def test_the_drawing_is_there_byte_for_byte(tmp_path: Path) -> None:
    body = (
        "<!-- drawn for the regatta -->\n<style>.st0{fill:#16324f}  /* navy */</style>\r\n"
        f"<g  id='a'\tdata-note='5 &gt; 3'>\n {_polygon()}<title>P\u00e9nnant</title></g>\n"
        "<metadata><x:y xmlns:x='urn:club'>kept</x:y></metadata>"
    )
    path = write(tmp_path / "pennant.svg", svg(SIZE, body))
    _artwork, _back, _placed = place_and_read(path, PLACEMENTS[1], tmp_path / "sheet.svg")
    assert body.encode() in (tmp_path / "sheet.svg").read_bytes()


def test_rules_of_the_drawing_do_not_reach_the_marks(tmp_path: Path) -> None:
    rules = "path,circle{stroke-width:9!important} g{display:inline} .st0{fill:#16324f}"
    data = svg(SIZE, f"<style>{rules}</style>{_polygon()}")
    path = write(tmp_path / "pennant.svg", data)
    target = tmp_path / "sheet.svg"
    _artwork, back, placed = place_and_read(path, PLACEMENTS[0], target, with_rings=True)
    assert "marks-left-out" in {w.code for w in back.warnings}
    dark = np.asarray(draw_with_resvg(target, 10.0, placed.page_mm).convert("L")) < 250
    # Beside the ink there are thin lines only: between the rings the paper is bare.
    x = round((placed.cup_center_mm[0] + 36.0) * 10.0)
    assert not dark[round(placed.cup_center_mm[1] * 10.0) - 2, x]


def test_a_sheet_can_be_placed_again(tmp_path: Path) -> None:
    first = PLACEMENTS[1]
    for ending in ("svg", "pdf"):
        _artwork, back, placed = place_and_read(
            write(tmp_path / "pennant.svg", pennant()),
            first,
            tmp_path / f"one.{ending}",
            with_rings=True,
        )
        again = Placement((placed.cup_center_mm[0] + 2.5, placed.cup_center_mm[1]), 40.0)
        twice = tmp_path / f"two.{ending}"
        artwork, back, placed = place_and_read(back.path, again, twice, with_rings=True)
        corners = placed_corners(first)
        expected = CUP.max_image_diameter_mm / 2 - np.hypot(*(corners - (2.5, 0.0)).T).max()
        assert_same_clearance(artwork, back, placed, again, float(expected))
    with pikepdf.open(tmp_path / "two.pdf") as pdf:
        assert [str(layer.Name) for layer in pdf.Root.OCProperties.OCGs] == ["brimcheck marks"]


def test_white_paper_that_the_drawing_brings_along_stays_paper(tmp_path: Path) -> None:
    sheet = '<rect x="-5" y="-5" width="70" height="50" fill="#fff"/>'
    data = svg(SIZE, sheet + _polygon())
    path = write(tmp_path / "pennant.svg", data)
    for ending in ("svg", "pdf"):
        artwork, back, placed = place_and_read(path, PLACEMENTS[1], tmp_path / f"s.{ending}")
        assert_same_clearance(artwork, back, placed, PLACEMENTS[1], clearance_mm(PLACEMENTS[1]))


def test_doctype_with_attributes_is_refused(tmp_path: Path) -> None:
    prolog = '<!DOCTYPE svg [<!ATTLIST polygon fill CDATA "red">]>'
    path = write(
        tmp_path / "pennant.svg",
        svg(SIZE, _polygon(), prolog),
    )
    with pytest.raises(ArtworkError, match=r"pennant\.svg: its DOCTYPE gives <polygon>"):
        place_and_read(path, PLACEMENTS[0], tmp_path / "sheet.svg")
    assert not (tmp_path / "sheet.svg").exists()


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_a_sheet_that_is_not_the_artwork_is_never_delivered(
    ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    need_cairo()
    artwork = load_artwork(write(tmp_path / "pennant.svg", pennant()))
    longer = CORNERS_MM.copy()
    longer[2, 0] += 0.1
    other = load_artwork(
        write(
            tmp_path / "other.svg",
            svg(SIZE, f'<polygon points="{points(longer)}"/>'),
        )
    )  # fmt: skip
    real = placed_module._sheet_bytes
    wrong = (tmp_path / "other.svg").read_bytes()
    monkeypatch.setattr(
        placed_module, "_sheet_bytes", lambda _a, _d, layout, end: real(other, wrong, layout, end)
    )
    target = tmp_path / f"sheet.{ending}"
    target.write_text("the old one")
    with pytest.raises(ArtworkError, match="nothing was written") as caught:
        write_placed(artwork, CUP, PLACEMENTS[1], str(target))
    assert ("give a name in .svg" in caught.value.message) == (ending == "pdf")
    assert target.read_text() == "the old one"
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(
        ["pennant.svg", "other.svg", target.name]
    )


def test_what_cairo_cannot_draw_is_refused_as_pdf(tmp_path: Path) -> None:
    """CairoSVG leaves out an ellipse with one radius only (SVG 2: the other is the same)."""
    path = write(
        tmp_path / "pennant.svg", svg(SIZE, '<ellipse cx="30" cy="20" rx="19"/>' + _polygon())
    )
    need_cairo()
    artwork = load_artwork(path)
    assert artwork.drawn_by == "resvg"
    with pytest.raises(ArtworkError, match=r"nothing was written.*; give a name in \.svg"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.pdf"))
    write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.svg"))
    assert not (tmp_path / "sheet.pdf").exists()


def test_no_libcairo_no_pdf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    need_cairo()
    artwork = load_artwork(write(tmp_path / "pennant.svg", pennant()))
    monkeypatch.setenv("BRIMCHECK_HIDE_CAIRO", "1")
    with pytest.raises(ArtworkError, match=r"pennant\.svg: libcairo is missing.*in \.svg"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.pdf"))
    monkeypatch.delenv("BRIMCHECK_HIDE_CAIRO")
    monkeypatch.setenv("BRIMCHECK_TIMEOUT_S", "0.001")
    with pytest.raises(ArtworkError, match=r"took too long\); give a name in \.svg"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.pdf"))
    assert [p.name for p in tmp_path.iterdir()] == ["pennant.svg"]


def test_media_rules_and_fonts_stay_with_the_drawing(tmp_path: Path) -> None:
    rules = "@font-face{font-family:x} @media print{path{stroke-width:90}} polygon{fill:#16324f}"
    path = write(tmp_path / "pennant.svg", svg(SIZE, f"<style>{rules}</style>{_polygon()}"))
    _artwork, back, _placed = place_and_read(path, PLACEMENTS[1], tmp_path / "sheet.svg")
    text = (tmp_path / "sheet.svg").read_text()
    assert "@media print{.brimcheck-artwork path{stroke-width:90}}" in text
    assert "@font-face" in text
    assert {"marks-left-out", "media-query"} <= {w.code for w in back.warnings}


def test_doubts_that_a_pdf_no_longer_shows_go_along(tmp_path: Path) -> None:
    body = _polygon() + '<image xlink:href="flag.png" width="9" height="9"/>'
    path = write(tmp_path / "pennant.svg", svg(SIZE, body))
    for ending, code in (("svg", "external-reference"), ("pdf", "placed-in-doubt")):
        _artwork, back, _placed = place_and_read(path, PLACEMENTS[1], tmp_path / f"s.{ending}")
        assert code in {w.code for w in back.warnings if w.blocks_fits}
