"""Pieces of ink: found, left out, taken back; circles by hand.

A page of 100 x 80 mm: a frame 1 mm wide, a mark of 40 x 30 mm, and a speck of 0.4 mm.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.truth.pdf_writer import assemble
from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.artwork.pieces import MOST_PIECES, Piece, find_pieces, with_piece, without_piece
from viewer.errors import ArtworkError, UsageError
from viewer.geometry import convex_hull, hull_excess, smallest_enclosing_circle

Box = tuple[float, float, float, float]
Point = tuple[float, float]

PAGE_MM = (100.0, 80.0)
BARS: list[Box] = [
    (2.5, 2.5, 97.5, 3.5),
    (2.5, 76.5, 97.5, 77.5),
    (2.5, 2.5, 3.5, 77.5),
    (96.5, 2.5, 97.5, 77.5),
]
MARK: Box = (30.0, 25.0, 70.0, 55.0)
SPECK: Box = (80.0, 60.0, 80.4, 60.4)
ALL = [*BARS, MARK, SPECK]
ON_FRAME, ON_MARK, ON_SPECK = (50.0, 3.0), (50.0, 40.0), (80.2, 60.2)

R_FRAME = math.hypot(95.0, 75.0) / 2.0
R_MARK = 25.0
R_SPECK = math.hypot(0.4, 0.4) / 2.0
# On the mark's corner (30, 25) and the speck's (80.4, 60.4); the others lie inside.
R_MARK_SPECK = math.hypot(50.4, 35.4) / 2.0

A_FRAME, A_MARK, A_SPECK = 2 * 95.0 + 2 * 73.0, 1200.0, 0.16
KINDS = ["svg", "pdf", "png"]
PNG_PX_PER_MM = 10


def write(folder: Path, kind: str, boxes: list[Box], page: Point = PAGE_MM) -> str:
    """The boxes as a file of a kind; a picture has 254 dpi."""
    path = folder / f"sail.{kind}"
    if kind == "svg":
        rects = "".join(
            f'<rect x="{x0!r}" y="{y0!r}" width="{x1 - x0!r}" height="{y1 - y0!r}"/>'
            for x0, y0, x1, y1 in boxes
        )
        w, h = page
        path.write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
            f'viewBox="0 0 {w} {h}"><g fill="#17324d">{rects}</g></svg>',
            encoding="utf-8",
        )
    elif kind == "pdf":
        k = 72.0 / 25.4
        rects = " ".join(
            f"{x0 * k:.7f} {(page[1] - y1) * k:.7f} {(x1 - x0) * k:.7f} {(y1 - y0) * k:.7f} re f"
            for x0, y0, x1, y1 in boxes
        )
        media = f"/MediaBox [0 0 {page[0] * k:.7f} {page[1] * k:.7f}]"
        path.write_bytes(assemble(f"0 0 0.4 rg {rects}", media))
    else:
        k = PNG_PX_PER_MM
        pixels = np.zeros((round(page[1] * k), round(page[0] * k), 4), np.uint8)
        for box in boxes:
            x0, y0, x1, y1 = (round(v * k) for v in box)
            pixels[y0:y1, x0:x1] = (23, 50, 77, 255)
        Image.fromarray(pixels).save(path, dpi=(254, 254))
    return str(path)


def load(path: str, *points: Point, **options: object) -> Artwork:
    return load_artwork(path, LoadOptions(leave_out=points, **options))  # type: ignore[arg-type]


def radius(artwork: Artwork) -> float:
    return smallest_enclosing_circle(artwork.outline.hull_mm).radius


def slack(artwork: Artwork) -> float:
    """The uncertainty, and what a PNG's rounded resolution does to a page."""
    return artwork.outline.uncertainty_mm + 2e-3


def codes(artwork: Artwork) -> set[str]:
    return {w.code for w in artwork.warnings}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("points", "expected", "area", "is_speck"),
    [
        ((), R_FRAME, A_FRAME + A_MARK + A_SPECK, False),
        ((ON_FRAME,), R_MARK_SPECK, A_MARK + A_SPECK, True),
        ((ON_FRAME, ON_SPECK), R_MARK, A_MARK, False),
        ((ON_MARK,), R_FRAME, A_FRAME + A_SPECK, False),
        ((ON_SPECK, ON_MARK, (70.0, 76.9)), None, 0.0, False),
        ((ON_FRAME, ON_MARK, (3.0, 40.0)), R_SPECK, A_SPECK, False),
    ],
)
def test_each_left_out(
    tmp_path: Path,
    kind: str,
    points: tuple[Point, ...],
    expected: float | None,
    area: float,
    is_speck: bool,
) -> None:
    path = write(tmp_path, kind, ALL)
    if expected is None:
        with pytest.raises(ArtworkError, match="every piece of ink is left out") as caught:
            load(path, *points)
        assert caught.value.code == "no-ink" and "sail" in caught.value.message
        return
    artwork = load(path, *points)
    assert radius(artwork) == pytest.approx(expected, abs=slack(artwork))
    assert artwork.ink_area_mm2 == pytest.approx(area, rel=2e-3, abs=0.03)
    assert ("speck" in codes(artwork)) is is_speck
    told = [w for w in artwork.warnings if w.code == "left-out"]
    assert len(told) == bool(points) and not any(w.blocks_fits for w in artwork.warnings)
    # Two points on the frame are one piece.
    pieces = {ON_FRAME: "f", ON_MARK: "m", ON_SPECK: "s", (3.0, 40.0): "f"}
    assert len(artwork.left_out) == len({pieces[p] for p in points})
    if told:
        assert told[0].message.startswith(f"{len(artwork.left_out)} piece")


@pytest.mark.parametrize("kind", KINDS)
def test_what_was_left_out_is_told_with_its_box_and_area(tmp_path: Path, kind: str) -> None:
    artwork = load(write(tmp_path, kind, ALL), ON_MARK)
    (left,) = artwork.left_out
    assert left.box_mm == pytest.approx(MARK, abs=0.21)
    assert left.area_mm2 == pytest.approx(A_MARK, rel=2e-3)
    assert MARK[0] < left.point_mm[0] < MARK[2] and MARK[1] < left.point_mm[1] < MARK[3]


@pytest.mark.parametrize("kind", KINDS)
def test_pieces_are_listed_largest_first(tmp_path: Path, kind: str) -> None:
    artwork = load(write(tmp_path, kind, ALL))
    mark, frame, speck = pieces = find_pieces(artwork)
    assert pieces.total == 3 and [p.number for p in pieces] == [1, 2, 3]
    assert [p.touches for p in pieces] == [False, True, False]
    assert not any(p.left_out or p.ignored for p in pieces)
    for piece, boxes, area in (
        (mark, [MARK], A_MARK),
        (frame, BARS, A_FRAME),
        (speck, [SPECK], A_SPECK),
    ):
        x, y = piece.center_mm
        assert any(x0 - 0.1 < x < x1 + 0.1 and y0 - 0.1 < y < y1 + 0.1 for x0, y0, x1, y1 in boxes)
        outer = np.array(boxes)
        whole = (*outer[:, :2].min(axis=0), *outer[:, 2:].max(axis=0))
        assert piece.box_mm == pytest.approx(whole, abs=0.21)
        assert piece.area_mm2 == pytest.approx(area, rel=2e-3, abs=0.03)
        excess, _at = hull_excess(convex_hull(_corners(boxes)), piece.outline_mm)
        assert excess <= 0.01
        assert piece.leave_out_mm == pytest.approx(piece.center_mm)


@pytest.mark.parametrize("kind", KINDS)
def test_a_piece_is_left_out_by_its_own_point_and_taken_back(tmp_path: Path, kind: str) -> None:
    path = write(tmp_path, kind, ALL)
    artwork = load(path, scale=0.5)
    frame = find_pieces(artwork)[1]
    assert frame.center_mm == pytest.approx([v / 2 for v in frame.leave_out_mm])
    artwork = load_artwork(path, without_piece(artwork, frame))
    assert radius(artwork) == pytest.approx(R_MARK_SPECK / 2, abs=slack(artwork))
    pieces = find_pieces(artwork)
    assert [p.left_out for p in pieces] == [False, True, False]
    assert [p.touches for p in pieces] == [True, False, True]
    # Another scale later still names the same piece.
    again = load(path, *artwork.options.leave_out, scale=1.5)
    assert radius(again) == pytest.approx(R_MARK_SPECK * 1.5, abs=slack(again))
    back = load_artwork(path, with_piece(artwork, pieces[1]))
    assert back.options.leave_out == ()
    assert radius(back) == pytest.approx(R_FRAME / 2, abs=slack(back))


@pytest.mark.parametrize("kind", KINDS)
def test_the_width_is_of_the_ink_that_is_left(tmp_path: Path, kind: str) -> None:
    """Points count in the size of the page with all of its ink; the width, of what is left."""
    path = write(tmp_path, kind, ALL)
    whole = load(path, width_mm=47.5)
    assert radius(whole) == pytest.approx(R_FRAME / 2, abs=slack(whole))
    frame, speck = (p for p in find_pieces(whole) if p.number in (2, 3))
    assert frame.leave_out_mm == pytest.approx(frame.center_mm)
    artwork = load(path, frame.leave_out_mm, speck.leave_out_mm, width_mm=47.5)
    ratio = 47.5 / 40.0
    assert radius(artwork) == pytest.approx(R_MARK * ratio, abs=slack(artwork))
    assert artwork.leave_out_scale == pytest.approx(ratio / 0.5, rel=0.01)
    for piece in find_pieces(artwork):
        assert piece.left_out == (piece.number > 1)


@pytest.mark.parametrize("kind", KINDS)
def test_specks_are_looked_for_in_what_is_left(tmp_path: Path, kind: str) -> None:
    artwork = load(write(tmp_path, kind, ALL), ON_FRAME, ignore_specks=True)
    assert radius(artwork) == pytest.approx(R_MARK, abs=slack(artwork))
    assert {"specks-ignored", "left-out"} <= codes(artwork)
    speck = find_pieces(artwork)[2]
    assert (speck.ignored, speck.left_out, speck.touches) == (True, False, False)


@pytest.mark.parametrize("kind", KINDS)
def test_the_nearest_piece_within_a_millimeter(tmp_path: Path, kind: str) -> None:
    path = write(tmp_path, kind, ALL)
    artwork = load(path, (71.0 - 0.05, 40.0), (50.0, 78.4))
    assert radius(artwork) == pytest.approx(R_SPECK, abs=slack(artwork))
    with pytest.raises(ArtworkError, match=r"--leave-out 71\.25,40: there is no ink") as caught:
        load(path, (71.25, 40.0))
    assert caught.value.code == "no-piece"
    with pytest.raises(UsageError, match="plain numbers"):
        load(path, (math.nan, 40.0))


@pytest.mark.parametrize("kind", KINDS)
def test_what_touches_by_a_corner_is_one_piece(tmp_path: Path, kind: str) -> None:
    path = write(tmp_path, kind, [(10, 10, 20, 20), (20, 20, 24, 24), (50, 50, 60, 60)])
    artwork = load(path, (22.0, 22.0))
    assert radius(artwork) == pytest.approx(math.hypot(10, 10) / 2, abs=slack(artwork))
    assert len(find_pieces(artwork)) == 2


def _corners(boxes: list[Box]) -> np.ndarray:  # type: ignore[type-arg]
    return np.array([(x, y) for a, b, c, d in boxes for x in (a, c) for y in (b, d)], float)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(4))
def test_no_kept_ink_is_lost_beside_what_is_left_out(tmp_path: Path, kind: str, seed: int) -> None:
    """Tiles a quarter to a third of a millimeter apart, at odd places; half of them left out."""
    rng = np.random.default_rng(seed)
    step = PNG_PX_PER_MM if kind == "png" else 1000
    boxes: list[Box] = []
    for row in range(7):
        x = 20.0 + rng.uniform(0.0, 1.0)
        for _ in range(8):
            w, h = rng.uniform(0.2, 0.9), rng.uniform(0.4, 0.7)
            y = 20.0 + row + rng.uniform(0.0, 0.7 - h)
            box = np.round(np.array([x, y, x + w, y + h]) * step) / step
            boxes.append((float(box[0]), float(box[1]), float(box[2]), float(box[3])))
            x = boxes[-1][2] + rng.uniform(0.26, 0.32)
    out = set(rng.permutation(len(boxes))[: len(boxes) // 2].tolist())
    points = [((a + c) / 2, (b + d) / 2) for i, (a, b, c, d) in enumerate(boxes) if i in out]
    artwork = load(write(tmp_path, kind, boxes), *points)
    assert len(artwork.left_out) == len(out)
    truth = convex_hull(_corners([b for i, b in enumerate(boxes) if i not in out]))
    hull = artwork.outline.hull_mm
    assert hull_excess(truth, hull)[0] <= slack(artwork)
    assert hull_excess(hull, truth)[0] <= slack(artwork)
    if kind == "pdf":
        return  # its renderer draws so small rectangles larger than they are
    kept = sum((c - a) * (d - b) for i, (a, b, c, d) in enumerate(boxes) if i not in out)
    assert artwork.ink_area_mm2 == pytest.approx(kept, rel=0.02, abs=0.05)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("beyond_mm", [0.03, 0.05, 0.08])
def test_the_very_edge_is_kept_beside_what_is_left_out(
    tmp_path: Path, kind: str, beyond_mm: float
) -> None:
    """On all sides a strip, with one empty coarse pixel (10 to 10.1 mm and so on) between."""
    e = 0.1 if kind == "png" else beyond_mm
    low, high = 20.0 - e, 30.0 + e
    far, near = 0.1 + (0.1 if kind == "png" else 0.12), 0.6
    strips: list[Box] = [
        (30.0 + far, low, 30.0 + near, high),
        (20.0 - near, low, 20.0 - far, high),
        (low, 30.0 + far, high, 30.0 + near),
        (low, 20.0 - near, high, 20.0 - far),
    ]
    points = [(30.4, 25.0), (19.6, 25.0), (25.0, 30.4), (25.0, 19.6)]
    artwork = load(write(tmp_path, kind, [(low, low, high, high), *strips]), *points)
    assert len(artwork.left_out) == 4
    found = artwork.outline.hull_mm
    assert found.min(axis=0) == pytest.approx((low, low), abs=slack(artwork))
    assert found.max(axis=0) == pytest.approx((high, high), abs=slack(artwork))


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_many_pieces_are_counted_and_the_important_ones_listed(tmp_path: Path, kind: str) -> None:
    dots: list[Box] = [
        (10 + 0.8 * i, 10 + 0.8 * j, 10.4 + 0.8 * i, 10.4 + 0.8 * j)
        for i in range(30)
        for j in range(30)
    ]
    small: list[Box] = [(60.0, 60.0, 60.3, 60.3), (1.0, 1.0, 1.3, 1.3)]
    path = write(tmp_path, kind, [*dots, *small])
    pieces = find_pieces(load(path, (60.1, 60.1)))
    assert pieces.total == 902 and len(pieces) == MOST_PIECES
    assert [p.center_mm for p in pieces if p.left_out] == [pytest.approx((60.15, 60.15), abs=0.11)]
    touching = [p for p in pieces if p.touches]
    assert any(p.box_mm[0] < 2 for p in touching)
    assert pieces[-1].number == 902


def test_both_renderers_leave_it_out_where_they_differ(tmp_path: Path) -> None:
    """CairoSVG draws no blur; neither reading may keep what is left out."""
    path = tmp_path / "blur.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" '
        'viewBox="0 0 100 80"><filter id="f"><feGaussianBlur stdDeviation="0.5"/></filter>'
        '<rect x="2.5" y="2.5" width="95" height="75" fill="none" stroke="#123"/>'
        '<rect x="30" y="25" width="40" height="30" filter="url(#f)"/></svg>',
        encoding="utf-8",
    )
    artwork = load(str(path), ON_FRAME)
    for outline in (artwork.outline, *(a.outline for a in artwork.alternatives)):
        assert smallest_enclosing_circle(outline.hull_mm).radius < 29.0


def test_a_large_frame_on_a_large_page(tmp_path: Path) -> None:
    page = (600.0, 400.0)
    solid: list[Box] = [(5, 5, 595, 150), (5, 250, 595, 395), (5, 5, 250, 395), (350, 5, 595, 395)]
    mark = (280.0, 180.0, 320.0, 210.0)
    artwork = load(write(tmp_path, "svg", [*solid, mark], page), (100.0, 100.0))
    assert radius(artwork) == pytest.approx(25.0, abs=slack(artwork))
    # resvg alone, where libcairo is absent or hidden, promises 0.05.
    alone = any(warning.code == "no-cairo" for warning in artwork.warnings)
    assert artwork.outline.uncertainty_mm <= (0.05 if alone else 0.01)


def test_a_file_that_has_changed_is_not_listed(tmp_path: Path) -> None:
    path = write(tmp_path, "svg", ALL)
    artwork = load(path)
    write(tmp_path, "svg", [MARK])
    with pytest.raises(ArtworkError, match="has changed"):
        find_pieces(artwork)


def test_a_piece_is_a_value() -> None:
    piece = Piece(1, (1.0, 2.0), (0.0, 0.0, 2.0, 4.0), 8.0, np.empty((0, 2)), (1.0, 2.0), False)
    assert not piece.left_out
