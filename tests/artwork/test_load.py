"""A file becomes an artwork: sizes, readings, warnings, pictures; truth in closed form.

The mark is one rectangle almost everywhere: 30 x 40 mm with its corner at (10, 20) mm
on a page of 80 x 100 mm, so every expected number can be checked by eye.
"""

from __future__ import annotations

import hashlib
import os
import threading
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from viewer.artwork.formats.image_file import ImageFile
from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.artwork.picture import open_picture
from viewer.errors import ArtworkError, BrimcheckError, Cancelled, SizeUnknownError, UsageError

SVG_NS = 'xmlns="http://www.w3.org/2000/svg"'
RECT = '<rect x="10" y="20" width="30" height="40" fill="#17324d"/>'
PAGE = 'width="80mm" height="100mm" viewBox="0 0 80 100"'
PNG_DPI = 254.0
ALONE = os.environ.get("BRIMCHECK_HIDE_CAIRO") == "1"
PNG_PX_PER_MM = 10


def svg(tmp_path: Path, body: str = RECT, root: str = PAGE, name: str = "float.svg") -> str:
    path = tmp_path / name
    path.write_text(f"<svg {SVG_NS} {root}>{body}</svg>", encoding="utf-8")
    return str(path)


def pdf(tmp_path: Path) -> str:
    """The same mark, written by hand: one page, one filled rectangle, y up, in points."""
    k = 72.0 / 25.4
    content = f"0.1 0.2 0.3 rg {10 * k:.6f} {40 * k:.6f} {30 * k:.6f} {40 * k:.6f} re f".encode()
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 {80 * k:.6f} {100 * k:.6f}]"
        "/Contents 4 0 R/Resources<<>>>>".encode(),
        b"<</Length %d>>stream\n%s\nendstream" % (len(content), content),
    ]
    data, places = b"%PDF-1.4\n", []
    for number, text in enumerate(objects, 1):
        places.append(len(data))
        data += b"%d 0 obj\n%s\nendobj\n" % (number, text)
    start = len(data)
    data += b"xref\n0 5\n0000000000 65535 f \n"
    data += b"".join(b"%010d 00000 n \n" % place for place in places)
    data += b"trailer<</Size 5/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % start
    path = tmp_path / "float.pdf"
    path.write_bytes(data)
    return str(path)


def png(tmp_path: Path, dpi: float | None = PNG_DPI, name: str = "float.png") -> str:
    pixels = np.zeros((1000, 800, 4), np.uint8)
    pixels[200:600, 100:400] = (23, 50, 77, 255)
    path = tmp_path / name
    Image.fromarray(pixels).save(path, **({} if dpi is None else {"dpi": (dpi, dpi)}))
    return str(path)


WRITERS = {"svg": svg, "pdf": pdf, "image": png}


@pytest.fixture(params=list(WRITERS))
def any_file(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The mark in each format."""
    return WRITERS[request.param](tmp_path)


def load(path: str, **options: object) -> Artwork:
    return load_artwork(path, LoadOptions(**options))  # type: ignore[arg-type]


def box_of(artwork: Artwork) -> tuple[float, float, float, float]:
    low, high = artwork.outline.hull_mm.min(axis=0), artwork.outline.hull_mm.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def assert_box(artwork: Artwork, box_mm: tuple[float, float, float, float]) -> None:
    """Each side where it should be, within the uncertainty and PNG's rounded resolution."""
    slack = artwork.outline.uncertainty_mm + 2e-3
    assert box_of(artwork) == pytest.approx(box_mm, abs=slack)


def codes(artwork: Artwork) -> set[str]:
    return {w.code for w in artwork.warnings}


def blocking(artwork: Artwork) -> set[str]:
    return {w.code for w in artwork.warnings if w.blocks_fits}


def reading(artwork: Artwork, code: str) -> tuple[float, float, float, float]:
    """Box of the one alternative with this code."""
    (found,) = [a for a in artwork.alternatives if a.code == code]
    low, high = found.outline.hull_mm.min(axis=0), found.outline.hull_mm.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


# --- true scale -------------------------------------------------------------------------


def test_size_as_the_file_says(any_file: str) -> None:
    artwork = load(any_file)
    assert_box(artwork, (10, 20, 40, 60))
    assert artwork.page_mm == pytest.approx((80, 100), rel=1e-4)
    assert artwork.ink_area_mm2 == pytest.approx(1200, rel=0.01)
    promised = 0.01 if artwork.format != "image" else 0.15
    assert 0 < artwork.outline.uncertainty_mm <= max(promised, 0.05)


@pytest.mark.parametrize(
    ("options", "factor"),
    [
        ({"scale": 0.5}, 0.5),
        ({"page_width_mm": 160.0}, 2.0),
        ({"page_width_mm": 160.0, "scale": 0.25}, 0.5),
        ({"width_mm": 45.0}, 1.5),
        ({"height_mm": 20.0}, 0.5),
        ({"width_mm": 60.0, "height_mm": 80.0}, 2.0),
    ],
)
def test_sizes_a_person_gives(any_file: str, options: dict[str, float], factor: float) -> None:
    artwork = load(any_file, **options)
    assert_box(artwork, tuple(factor * v for v in (10, 20, 40, 60)))  # type: ignore[arg-type]
    assert artwork.page_mm == pytest.approx((80 * factor, 100 * factor), rel=1e-3)
    # A picture's pixels grow with it; a drawing is drawn as finely as it will be large.
    limit_mm = {"image": 0.6 * factor, "svg": 0.05 if ALONE else 0.04}.get(artwork.format, 0.04)
    assert 0 < artwork.outline.uncertainty_mm < limit_mm


def test_ink_width_is_met_exactly(any_file: str) -> None:
    x0, _y0, x1, _y1 = box_of(load(any_file, width_mm=48.0))
    assert x1 - x0 == pytest.approx(48.0, abs=1e-6)


def test_width_and_height_that_disagree(any_file: str) -> None:
    with pytest.raises(UsageError, match=r"40\.0\d mm high|39\.9\d mm high"):
        load(any_file, width_mm=30.0, height_mm=41.0)


@pytest.mark.parametrize("name", ["width_mm", "height_mm", "page_width_mm", "dpi", "scale"])
@pytest.mark.parametrize("value", [0.0, -3.0, float("nan"), float("inf")])
def test_impossible_sizes(tmp_path: Path, name: str, value: float) -> None:
    with pytest.raises(UsageError):
        load(svg(tmp_path), **{name: value})


@pytest.mark.parametrize(("per_inch", "mm"), [(96.0, 25.4 / 96), (72.0, 25.4 / 72)])
def test_px_per_inch_settles_bare_px(tmp_path: Path, per_inch: float, mm: float) -> None:
    path = svg(tmp_path, root='width="80" height="100"')
    artwork = load(path, px_per_inch=per_inch)
    assert_box(artwork, (10 * mm, 20 * mm, 40 * mm, 60 * mm))
    assert "bare-px" not in codes(artwork)
    assert not artwork.alternatives


def test_dpi_overrides_the_file(tmp_path: Path) -> None:
    assert_box(load(png(tmp_path), dpi=508.0), (5, 10, 20, 30))
    assert_box(load(png(tmp_path, None), dpi=508.0), (5, 10, 20, 30))


def test_a_page_too_large_to_be_meant(any_file: str) -> None:
    with pytest.raises(ArtworkError) as caught:
        load(any_file, page_width_mm=50_000.0)
    assert caught.value.code == "bad-size"


@pytest.mark.parametrize("kind", ["svg", "image"])
def test_no_size_is_no_guess(tmp_path: Path, kind: str) -> None:
    path = svg(tmp_path, root='viewBox="0 0 80 100"') if kind == "svg" else png(tmp_path, None)
    with pytest.raises(SizeUnknownError) as caught:
        load(path)
    assert caught.value.code == "size-unknown"
    assert "--width" in caught.value.message
    x0, _y0, x1, _y1 = box_of(load(path, width_mm=30.0))
    assert x1 - x0 == pytest.approx(30.0, abs=1e-6)


# --- progress, stopping, errors ------------------------------------------------------------


def test_progress_never_goes_back(any_file: str) -> None:
    calls: list[tuple[str, float]] = []
    load_artwork(any_file, progress=lambda what, fraction: calls.append((what, fraction)))
    assert calls
    assert all(0.0 <= fraction <= 1.0 for _what, fraction in calls)
    for stage in {what for what, _fraction in calls}:
        fractions = [fraction for what, fraction in calls if what == stage]
        assert fractions == sorted(fractions), stage


def slow(tmp_path: Path) -> str:
    """Enough curves that every question to a renderer takes more than a poll."""
    rings = "".join(
        f'<circle cx="{40 + 0.01 * i}" cy="50" r="{30 - 0.002 * i}" fill="none" stroke="#123" '
        'stroke-width="0.3"/>'
        for i in range(900)
    )
    return svg(tmp_path, rings)


def test_stopped_at_once(tmp_path: Path) -> None:
    with pytest.raises(Cancelled):
        load_artwork(slow(tmp_path), cancelled=lambda: True)


def test_stopped_late(tmp_path: Path) -> None:
    stages: list[str] = []
    with pytest.raises(Cancelled):
        load_artwork(
            slow(tmp_path),
            progress=lambda what, _fraction: stages.append(what),
            cancelled=lambda: "measuring" in stages or len(stages) > 1,
        )
    assert len(stages) > 1
    # And the next file is measured as if nothing had happened.
    assert_box(load(svg(tmp_path, name="next.svg")), (10, 20, 40, 60))


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.svg", b""),
        ("notes.txt", b"the tide is out"),
        ("cut.png", b"\x89PNG\r\n\x1a\n\x00\x00"),
        ("cut.pdf", b"%PDF-1.4\n1 0 obj"),
        ("cut.svg", b"<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm'><g>"),
        ("blank.svg", b"<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm'/>"),
    ],
)
def test_errors_name_the_file_once(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(ArtworkError) as caught:
        load(str(path))
    assert caught.value.message.count(name) == 1
    assert "\n" not in caught.value.message


def test_missing_file_and_folder(tmp_path: Path) -> None:
    for path, code in ((tmp_path / "gone.svg", "no-such-file"), (tmp_path, "is-folder")):
        with pytest.raises(BrimcheckError) as caught:
            load(str(path))
        assert caught.value.code == code
        assert caught.value.message.count(path.name) == 1


# --- second readings ----------------------------------------------------------------------

WHITE = '<rect x="5" y="5" width="70" height="90" fill="#ffffff"/>'


def test_white_beyond_other_ink_is_read_both_ways(tmp_path: Path) -> None:
    artwork = load(svg(tmp_path, WHITE + RECT))
    assert_box(artwork, (5, 5, 75, 95))
    assert "white-unclear" in blocking(artwork)
    assert reading(artwork, "white-unclear") == pytest.approx((10, 20, 40, 60), abs=0.03)


def test_white_settled_by_a_person(tmp_path: Path) -> None:
    path = svg(tmp_path, WHITE + RECT)
    for white, box in (("ink", (5, 5, 75, 95)), ("paper", (10, 20, 40, 60))):
        artwork = load(path, white=white)
        assert box_of(artwork) == pytest.approx(box, abs=0.03)
        assert not artwork.alternatives and "white-unclear" not in codes(artwork)


def test_white_within_other_ink_matters_not(tmp_path: Path) -> None:
    inside = '<rect x="15" y="25" width="5" height="5" fill="#fff"/>'
    artwork = load(svg(tmp_path, RECT + inside))
    assert not artwork.alternatives and not blocking(artwork)


def test_only_white_is_ink(tmp_path: Path) -> None:
    artwork = load(svg(tmp_path, WHITE))
    assert_box(artwork, (5, 5, 75, 95))
    assert "only-white" in codes(artwork) and not blocking(artwork)


def test_a_colored_page_is_read_both_ways(tmp_path: Path) -> None:
    page = '<rect width="80" height="100" fill="#c02020"/>'
    path = svg(tmp_path, page + RECT)
    artwork = load(path)
    assert_box(artwork, (0, 0, 80, 100))
    assert "paper-unclear" in blocking(artwork)
    assert reading(artwork, "paper-unclear") == pytest.approx((10, 20, 40, 60), abs=0.03)
    settled = load(path, paper="border")
    assert box_of(settled) == pytest.approx((10, 20, 40, 60), abs=0.03)
    assert not settled.alternatives


def test_ink_beyond_the_page(tmp_path: Path) -> None:
    bar = '<rect x="70" y="30" width="25" height="10" fill="#123"/>'
    artwork = load(svg(tmp_path, RECT + bar))
    assert_box(artwork, (10, 20, 95, 60))
    (warning,) = [w for w in artwork.warnings if w.code == "beyond-page"]
    assert warning.blocks_fits and "15.0" in warning.message
    assert reading(artwork, "beyond-page") == pytest.approx((10, 20, 80, 60), abs=0.03)


def test_bare_px_are_read_both_ways(tmp_path: Path) -> None:
    mm = 25.4 / 96
    artwork = load(svg(tmp_path, root='width="80" height="100"'))
    assert_box(artwork, (10 * mm, 20 * mm, 40 * mm, 60 * mm))
    assert "bare-px" in blocking(artwork)
    larger = tuple(v * 25.4 / 72 for v in (10, 20, 40, 60))
    assert reading(artwork, "bare-px") == pytest.approx(larger, abs=0.03)


@pytest.mark.skipif(ALONE, reason="libcairo is hidden on purpose in this run")
def test_renderers_that_differ(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One renderer is made to lose the right half of every picture."""
    from viewer.artwork.pool import shutdown_workers

    body = '<rect x="10" y="20" width="60" height="40" fill="#123"/>'
    path = svg(tmp_path, body)
    shutdown_workers()
    monkeypatch.setenv("BRIMCHECK_FAULT", "cairo:miss")
    try:
        artwork = load(path)
        trusted = load(path, trust="resvg")
    finally:
        shutdown_workers()
    assert artwork.drawn_by == trusted.drawn_by == "resvg"
    assert box_of(artwork) == pytest.approx((10, 20, 70, 60), abs=0.03)
    assert {"renderers-differ", "renderer-failed"} & blocking(artwork)
    assert box_of(trusted) == pytest.approx((10, 20, 70, 60), abs=0.03)
    assert "renderers-differ" not in blocking(trusted)


# --- specks -------------------------------------------------------------------------------

SPECK = '<rect x="70" y="90" width="0.5" height="0.5" fill="#123"/>'


def with_speck(tmp_path: Path, kind: str) -> str:
    if kind == "svg":
        return svg(tmp_path, RECT + SPECK)
    path = png(tmp_path)
    pixels = np.array(Image.open(path))
    pixels[900:905, 700:705] = (23, 50, 77, 255)
    Image.fromarray(pixels).save(path, dpi=(PNG_DPI, PNG_DPI))
    return path


@pytest.mark.parametrize("kind", ["svg", "image"])
def test_a_speck_is_told_and_can_be_left_out(tmp_path: Path, kind: str) -> None:
    path = with_speck(tmp_path, kind)
    artwork = load(path)
    assert_box(artwork, (10, 20, 70.5, 90.5))
    assert "speck" in codes(artwork)
    (speck,) = artwork.specks
    assert speck.center_mm == pytest.approx((70.25, 90.25), abs=0.11)
    assert speck.size_mm == pytest.approx(0.5, abs=0.21) and not speck.ignored
    without = load(path, ignore_specks=True)
    assert_box(without, (10, 20, 40, 60))
    assert "specks-ignored" in codes(without) and "speck" not in codes(without)
    assert without.specks[0].ignored


def test_speck_sizes_are_told_after_scaling(tmp_path: Path) -> None:
    (speck,) = load(with_speck(tmp_path, "svg"), scale=1.5).specks
    assert speck.center_mm == pytest.approx((105.375, 135.375), abs=0.11)
    assert speck.size_mm == pytest.approx(0.75, abs=0.21)


# --- the picture --------------------------------------------------------------------------


@pytest.mark.parametrize("scale", [1.0, 0.5, 1.7])
def test_the_picture_has_the_mark_in_its_place(any_file: str, scale: float) -> None:
    artwork = load(any_file, scale=scale)
    k, x0, y0 = 6.0, 2.0, 5.0
    with open_picture(artwork) as picture:
        rgba = picture.draw(x0, y0, k, 420, 610)
    assert rgba.shape == (610, 420, 4)
    on_paper = 255.0 - (255.0 - rgba[..., :3].astype(float)) * rgba[..., 3:] / 255.0
    ys, xs = np.nonzero(on_paper.min(axis=-1) < 128)
    box = (xs.min(), ys.min(), xs.max() + 1, ys.max() + 1)
    ends = [(10 * scale - x0) * k, (20 * scale - y0) * k]
    ends += [min((40 * scale - x0) * k, 420), min((60 * scale - y0) * k, 610)]
    assert box == pytest.approx(ends, abs=1.0)


def test_a_picture_of_a_sized_mark(tmp_path: Path) -> None:
    with open_picture(load(svg(tmp_path), width_mm=60.0)) as picture:
        rgba = picture.draw(0.0, 0.0, 3.0, 300, 400)
    ys, xs = np.nonzero(rgba[..., 3] > 127)
    assert (xs.min(), ys.min()) == pytest.approx((60, 120), abs=1)
    assert (xs.max() + 1, ys.max() + 1) == pytest.approx((240, 360), abs=1)


def test_a_changed_file_is_not_shown(any_file: str) -> None:
    artwork = load(any_file)
    with open(any_file, "ab") as stream:
        stream.write(b"\n")
    with pytest.raises(ArtworkError) as caught:
        open_picture(artwork)
    assert caught.value.code == "changed"


# --- one reading ----------------------------------------------------------------------


def _two_contents(kind: str, tmp_path: Path) -> tuple[bytes, bytes]:
    """The mark 30 mm wide and, in the same format, one that is 60 mm wide."""
    narrow = WRITERS[kind](tmp_path)
    one = Path(narrow).read_bytes()
    if kind == "svg":
        return one, one.replace(b'width="30"', b'width="60"')
    if kind == "pdf":
        k = 72.0 / 25.4
        return one, one.replace(f"{30 * k:.6f}".encode(), f"{60 * k:.5f}".encode())
    pixels = np.zeros((1000, 800, 4), np.uint8)
    pixels[200:600, 100:700] = (23, 50, 77, 255)
    Image.fromarray(pixels).save(narrow, dpi=(PNG_DPI, PNG_DPI))
    return one, Path(narrow).read_bytes()


@pytest.mark.parametrize("kind", list(WRITERS))
def test_what_is_measured_is_what_the_hash_is_of(kind: str, tmp_path: Path) -> None:
    """However often a file becomes another one and back again while it is measured."""
    contents = _two_contents(kind, tmp_path)
    width_of = {hashlib.sha256(content).hexdigest(): 30.0 + 30.0 * index
                for index, content in enumerate(contents)}  # fmt: skip
    names = []
    for index, content in enumerate(contents):
        names.append(tmp_path / f"{index}.{kind}")
        names[-1].write_bytes(content)
    link, spare = tmp_path / "now", tmp_path / "next"
    link.symlink_to(names[0])
    is_over = threading.Event()

    def swap() -> None:
        turn = 0
        while not is_over.is_set():
            turn = 1 - turn
            spare.symlink_to(names[turn])
            os.replace(spare, link)

    thread = threading.Thread(target=swap)
    thread.start()
    seen = set()
    try:
        for _ in range(40):
            artwork = load(str(link))
            x0, _y0, x1, _y1 = box_of(artwork)
            assert x1 - x0 == pytest.approx(width_of[artwork.sha256], abs=0.2)
            seen.add(artwork.sha256)
            if len(seen) == 2:
                break
    finally:
        is_over.set()
        thread.join()


def test_a_picture_goes_on_with_what_it_has_read(tmp_path: Path) -> None:
    first, second = _two_contents("image", tmp_path)
    path = tmp_path / "float.png"
    path.write_bytes(first)
    file = ImageFile(str(path))
    path.write_bytes(second)
    assert file.info()["sha256"] == hashlib.sha256(first).hexdigest()
    assert not file.rgba_rows(300, 301)[0, 500, 3]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "float.svg")
    with pytest.raises(ArtworkError, match="no ordinary file"):
        load(str(tmp_path / "float.svg"))
