"""PDF pages: marks at known places must come out at those places, however the page is boxed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest

from viewer.artwork.formats.pdf_file import PdfFile
from viewer.artwork.formats.pdf_scan import means_white, used_names
from viewer.errors import ArtworkError

MM = 25.4 / 72.0
Fill = Callable[[pikepdf.Pdf, Any], None]


def write_pdf(
    path: Path,
    content: str,
    media: tuple[float, ...] = (0, 0, 200, 100),
    fill: Fill | None = None,
    **entries: Any,
) -> str:
    """A one-page file; ``entries`` go into the page dictionary as they are."""
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(100, 100))
    page: Any = pdf.pages[0].obj
    page.MediaBox = pikepdf.Array(list(media))
    page.Contents = pdf.make_stream(content.encode("latin-1"))
    page.Resources = pikepdf.Dictionary()
    for key, value in entries.items():
        page["/" + key] = pikepdf.Array(list(value)) if isinstance(value, tuple) else value
    if fill is not None:
        fill(pdf, page)
    pdf.save(path)
    return str(path)


def ink_box_mm(pdf: PdfFile, x0: float, y0: float, ppm: float, w: int, h: int) -> list[float]:
    alpha = pdf.draw(x0, y0, ppm, w, h)[..., 3]
    ys, xs = np.nonzero(alpha)
    assert len(xs), "nothing was drawn"
    return [
        x0 + xs.min() / ppm,
        y0 + ys.min() / ppm,
        x0 + (xs.max() + 1) / ppm,
        y0 + (ys.max() + 1) / ppm,
    ]


def seen_box(
    box: tuple[float, ...], visible: tuple[float, ...], rotate: int, k: float
) -> list[float]:
    """Where a user-space box is seen: turn the page clockwise about its corner by hand."""
    width, height = visible[2] - visible[0], visible[3] - visible[1]
    points = [(x - visible[0], visible[3] - y) for x in box[::2] for y in box[1::2]]
    for _ in range(rotate // 90):
        points = [(height - y, x) for x, y in points]
        width, height = height, width
    xs, ys = [k * p[0] for p in points], [k * p[1] for p in points]
    return [min(xs), min(ys), max(xs), max(ys)]


CASES = [
    ((0, 0, 200, 100), None, 1.0),
    ((0, 0, 200, 100), (50, 20, 150, 90), 1.0),
    ((-30, 17.5, 210.25, 120), (10.3, 30.7, 180, 110), 1.0),
    ((10, 20, 210, 120), (30, 30, 180, 110), 2.0),
    ((0, 0, 200, 100), (-50, -50, 90, 300), 1.0),
]


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
@pytest.mark.parametrize(("media", "crop", "unit"), CASES)
@pytest.mark.parametrize("mark", [(60.3, 50.1, 61.1, 50.8), (5.25, -7.5, 5.5, -7.25)])
def test_mark_is_drawn_where_it_is(
    tmp_path: Path,
    rotate: int,
    media: tuple[float, ...],
    crop: tuple[float, ...] | None,
    unit: float,
    mark: tuple[float, float, float, float],
) -> None:
    """The second mark lies beyond every page box: it must be drawn as well."""
    x0, y0, x1, y1 = mark
    middle = (x0 + x1) / 2
    content = f"0 0 1 rg {x0} {y0} m {x1} {y0} l {middle} {y1} l f"
    entries: dict[str, Any] = {"Rotate": rotate, "UserUnit": unit}
    if crop:
        entries["CropBox"] = crop
    pdf = PdfFile(write_pdf(tmp_path / "mark.pdf", content, media, **entries))
    visible = media
    if crop:
        visible = tuple(
            (max, max, min, min)[i](a, b) for i, (a, b) in enumerate(zip(media, crop, strict=True))
        )
    expected = seen_box(mark, visible, rotate, MM * unit)
    page = seen_box(visible, visible, rotate, MM * unit)
    info = pdf.info()
    assert info["page_mm"] == pytest.approx([page[2], page[3]])
    content_mm = info["content_mm"]
    assert content_mm[0] <= expected[0] and content_mm[2] >= expected[2]
    assert np.abs(np.array(content_mm) - expected).max() < 0.05
    ppm = 200.0
    found = ink_box_mm(pdf, expected[0] - 0.503, expected[1] - 0.2517, ppm, 420, 320)
    assert np.abs(np.array(found) - expected).max() <= 1.0 / ppm
    pdf.close()


@pytest.mark.parametrize("shift", [0.0, 0.013, 0.021, 0.037, 0.049, 0.061])
def test_rectangle_is_never_snapped_short(tmp_path: Path, shift: float) -> None:
    """pdfium left to itself rounds such edges, up to half a pixel inwards."""
    x0, y0 = 20.37 + shift, 30.21 + shift
    # Just under a whole number of pixels, where rounding the start leaves an edge short.
    width, height = 73.95 / 20.0 / MM, 37.95 / 20.0 / MM
    path = write_pdf(tmp_path / "Möwe.pdf", f"0 g {x0:.5f} {y0:.5f} {width:.5f} {height:.5f} re f")
    expected = [x0 * MM, (100 - y0 - height) * MM, (x0 + width) * MM, (100 - y0) * MM]
    found = ink_box_mm(PdfFile(path), 7.0, 22.0, 20.0, 90, 90)
    outward_px = (np.array(found) - expected) * 20.0 * (-1, -1, 1, 1)
    assert outward_px.min() >= -0.05
    assert outward_px.max() <= 1.0


def test_alpha_is_straight(tmp_path: Path) -> None:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        state = pikepdf.Dictionary(H=pikepdf.Dictionary(ca=0.5))
        page.Resources = pikepdf.Dictionary(ExtGState=state)

    path = write_pdf(tmp_path / "a.pdf", "/H gs 1 0.5 0 rg 0 0 200 100 re f", fill=fill)
    pixel = PdfFile(path).draw(10.0, 10.0, 1.0, 4, 4)[1, 1]
    assert np.abs(pixel.astype(int) - (255, 128, 0, 128)).max() <= 1


def test_published_sizes(tmp_path: Path) -> None:
    """UserUnit: ISO 32000-1 table 30. A4 in points: 595.2756 x 841.8898."""
    double = PdfFile(write_pdf(tmp_path / "u.pdf", "", (0, 0, 100, 100), UserUnit=2))
    assert double.info()["page_mm"] == pytest.approx([70.5556, 70.5556], abs=1e-4)
    a4 = PdfFile(write_pdf(tmp_path / "a4.pdf", "", (0, 0, 595.2756, 841.8898)))
    assert a4.info()["page_mm"] == pytest.approx([210.0, 297.0], abs=1e-4)
    whole = PdfFile(write_pdf(tmp_path / "w.pdf", "", (0, 0, 595, 842)))
    assert whole.info()["page_mm"] == pytest.approx([209.9028, 297.0389], abs=1e-4)
    assert whole.info()["content_mm"] is None


def test_box_corners_in_any_order(tmp_path: Path) -> None:
    path = write_pdf(tmp_path / "o.pdf", "", (200, 100, 0, 0))
    assert PdfFile(path).info()["page_mm"] == pytest.approx([200 * MM, 100 * MM])


def test_content_bounds_know_clips_and_forms(tmp_path: Path) -> None:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        form = pdf.make_stream(b"0 0 10 10 re f")
        form.Type, form.Subtype = pikepdf.Name.XObject, pikepdf.Name.Form
        form.BBox = pikepdf.Array([0, 0, 10, 10])
        form.Matrix = pikepdf.Array([2, 0, 0, 2, 100, 50])
        page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=form))

    content = "q 10 10 20 20 re W n -5000 -5000 9000 9000 re f Q q 1 0 0 1 -300 0 cm /F Do Q"
    box = PdfFile(write_pdf(tmp_path / "f.pdf", content, fill=fill)).info()["content_mm"]
    expected = [-200 * MM, (100 - 70) * MM, 30 * MM, 90 * MM]
    assert np.abs(np.array(box) - expected).max() < 0.02


def test_stroke_counts_for_bounds(tmp_path: Path) -> None:
    path = write_pdf(tmp_path / "s.pdf", "8 w 50 50 m 100 50 l S")
    box = PdfFile(path).info()["content_mm"]
    assert box[1] <= 46 * MM and box[3] >= 54 * MM


# Bad files


def _code(path: str, page: int = 1) -> str:
    with pytest.raises(ArtworkError) as caught:
        PdfFile(path, page)
    assert "\n" not in caught.value.message
    return caught.value.code


def test_encrypted(tmp_path: Path) -> None:
    plain = write_pdf(tmp_path / "p.pdf", "0 0 10 10 re f")
    for user, name in [("secret", "locked.pdf"), ("", "open.pdf")]:
        with pikepdf.open(plain) as pdf:
            pdf.save(tmp_path / name, encryption=pikepdf.Encryption(owner="own", user=user))
    assert _code(str(tmp_path / "locked.pdf")) == "encrypted-pdf"
    assert PdfFile(str(tmp_path / "open.pdf")).draw(0, 0, 1, 70, 36)[..., 3].any()


def test_page_range_says_how_many(tmp_path: Path) -> None:
    path = write_pdf(tmp_path / "p.pdf", "")
    assert _code(path, 2) == "page-range"
    assert _code(path, 0) == "page-range"
    with pytest.raises(ArtworkError, match="1 page"):
        PdfFile(path, 7)


def test_second_page(tmp_path: Path) -> None:
    path = write_pdf(tmp_path / "a.pdf", "", (0, 0, 72, 72))
    with pikepdf.open(path) as pdf:
        pdf.add_blank_page(page_size=(144, 72))
        pdf.save(tmp_path / "b.pdf")
    info = PdfFile(str(tmp_path / "b.pdf"), 2).info()
    assert (info["pages"], info["page_mm"]) == (2, pytest.approx([50.8, 25.4]))


def test_no_pages(tmp_path: Path) -> None:
    pikepdf.new().save(tmp_path / "n.pdf")
    assert _code(str(tmp_path / "n.pdf")) == "no-pages"


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_truncated(tmp_path: Path, share: float) -> None:
    path = Path(write_pdf(tmp_path / "p.pdf", "0 0 10 10 re f\n" * 200))
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    assert _code(str(path)) == "damaged"


@pytest.mark.parametrize("data", [b"%PDF-1.7\n", b"%PDF-1.7\n" + bytes(range(256)) * 40])
def test_rubbish(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "x.pdf").write_bytes(data)
    assert _code(str(tmp_path / "x.pdf")) == "damaged"


def test_missing_file(tmp_path: Path) -> None:
    assert _code(str(tmp_path / "none.pdf")) == "no-such-file"


# The scan


def _codes(tmp_path: Path, content: str, fill: Fill | None = None) -> dict[str, bool]:
    path = write_pdf(tmp_path / "scan.pdf", content, fill=fill)
    return {w["code"]: w["blocks_fits"] for w in PdfFile(path).info()["warnings"]}


def _resources(**categories: Any) -> Fill:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        page.Resources = pikepdf.Dictionary(
            {"/" + kind: pikepdf.Dictionary(items) for kind, items in categories.items()}
        )

    return fill


OVERPRINT = _resources(ExtGState={"/G0": pikepdf.Dictionary(OP=True)})


def test_plain_page_warns_of_nothing(tmp_path: Path) -> None:
    assert _codes(tmp_path, "0 g 0 0 10 10 re f") == {}


def test_overprint_only_where_used(tmp_path: Path) -> None:
    assert _codes(tmp_path, "/G0 gs 0 0 1 1 re f", OVERPRINT) == {"overprint": True}
    assert _codes(tmp_path, "/G#30 gs 0 0 1 1 re f", OVERPRINT) == {"overprint": True}
    assert _codes(tmp_path, "0 0 1 1 re f", OVERPRINT) == {}


def test_overprint_in_a_form_that_holds_itself(tmp_path: Path) -> None:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        form = pdf.make_indirect(pdf.make_stream(b"/G0 gs /F Do 0 0 1 1 re f"))
        form.Type, form.Subtype = pikepdf.Name.XObject, pikepdf.Name.Form
        form.BBox = pikepdf.Array([0, 0, 10, 10])
        state = pikepdf.Dictionary(G0=pikepdf.Dictionary(op=True))
        own = pikepdf.Dictionary(F=form)
        form.Resources = pikepdf.Dictionary(XObject=own, ExtGState=state)
        page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=form))

    assert _codes(tmp_path, "/F Do", fill) == {"overprint": True}


@pytest.mark.parametrize("family", ["/Separation", "/DeviceN"])
def test_spot_white(tmp_path: Path, family: str) -> None:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        name = pikepdf.Name("/Opaque White")
        colorants = name if family == "/Separation" else pikepdf.Array([name])
        tint = pikepdf.Dictionary(
            FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0, 0, 0], N=1
        )
        space = pikepdf.Array([pikepdf.Name(family), colorants, pikepdf.Name.DeviceCMYK, tint])
        page.Resources = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(C0=space))

    assert _codes(tmp_path, "/C0 cs 1 scn 0 0 9 9 re f", fill) == {"spot-white": True}


@pytest.mark.parametrize(
    "name", ["White", "SpotWhite1", "weiß", "WEISS", "Blanc", "bianco 2", "wit", "Underbase"]
)
def test_names_that_mean_white(name: str) -> None:
    assert means_white(name)


@pytest.mark.parametrize("name", ["Harbor Blue", "with varnish", "Kit 4", "Black", "All"])
def test_names_that_do_not(name: str) -> None:
    assert not means_white(name)


def test_text_without_font_program(tmp_path: Path) -> None:
    font = pikepdf.Dictionary(
        Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
    )
    content = "BT /F1 20 Tf 10 10 Td (Mug) Tj ET"
    assert _codes(tmp_path, content, _resources(Font={"/F1": font})) == {"text-not-embedded": True}


def test_embedded_font_is_fine(tmp_path: Path) -> None:
    import reportlab
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    vera = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
    pdfmetrics.registerFont(TTFont("Vera", str(vera)))
    canvas = Canvas(str(tmp_path / "t.pdf"), pagesize=(200, 100))
    canvas.setFont("Vera", 30)
    canvas.drawString(10, 40, "Lure")
    canvas.save()
    pdf = PdfFile(str(tmp_path / "t.pdf"))
    info = pdf.info()
    assert [w["code"] for w in info["warnings"]] == []
    found = ink_box_mm(pdf, 0.0, 0.0, 10.0, 706, 353)
    box = info["content_mm"]
    assert box[0] <= found[0] and box[1] <= found[1] and box[2] >= found[2] and box[3] >= found[3]


def test_hidden_layers(tmp_path: Path) -> None:
    def hide(key: str, usage: bool) -> Fill:
        def fill(pdf: pikepdf.Pdf, page: Any) -> None:
            group = pdf.make_indirect(
                pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("guides"))
            )
            if usage:
                state = pikepdf.Dictionary(PrintState=pikepdf.Name.OFF)
                group.Usage = pikepdf.Dictionary(Print=state)
            default = pikepdf.Dictionary({key: pikepdf.Array([group])})
            layers = pikepdf.Dictionary(OCGs=pikepdf.Array([group]), D=default)
            pdf.Root.OCProperties = layers

        return fill

    assert _codes(tmp_path, "", hide("/OFF", False)) == {"hidden-layers": True}
    assert _codes(tmp_path, "", hide("/ON", True)) == {"hidden-layers": True}
    assert _codes(tmp_path, "", hide("/ON", False)) == {}


def test_annotations_and_scripts(tmp_path: Path) -> None:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        look = pdf.make_stream(b"0 0 10 10 re f")
        note = pikepdf.Dictionary(
            Type=pikepdf.Name.Annot,
            Subtype=pikepdf.Name.Stamp,
            Rect=[0, 0, 10, 10],
            AP=pikepdf.Dictionary(N=look),
        )
        page.Annots = pikepdf.Array([note])
        script = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("1"))
        pdf.Root.OpenAction = script

    assert _codes(tmp_path, "", fill) == {"annotations": True, "javascript": False}


def test_damaged_stream_is_not_silent(tmp_path: Path) -> None:
    def fill(pdf: pikepdf.Pdf, page: Any) -> None:
        page.Contents = pdf.make_stream(b"not flate at all", Filter=pikepdf.Name.FlateDecode)

    assert _codes(tmp_path, "", fill).get("damaged-content") is True


def test_used_names() -> None:
    assert used_names(b"/A gs/B#20c Do [/D]") == {"/A", "/B c", "/D"}
