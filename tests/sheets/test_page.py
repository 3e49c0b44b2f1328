"""Paper, frames and pieces: sums, tested without any library that writes or draws."""

from __future__ import annotations

import math

import pytest

from viewer.errors import UsageError
from viewer.geometry import Bounds
from viewer.sheets.draw_list import circle
from viewer.sheets.page import (
    OVERLAP_MM,
    PAPERS,
    Format,
    Tiling,
    fitting_format,
    paper_named,
    tile,
)
from viewer.sheets.text_flow import Block, height_of, rows_of, set_in_columns, shortened, wrapped

SIZES = {
    "A4": (210.0, 297.0),  # ISO 216:2007, table 1
    "A3": (297.0, 420.0),  # ISO 216:2007, table 1
    "Letter": (8.5 * 25.4, 11.0 * 25.4),  # ANSI/ASME Y14.1, size A
}


def test_papers() -> None:
    assert [p.name for p in PAPERS] == list(SIZES)
    for paper in PAPERS:
        assert (paper.width_mm, paper.height_mm) == pytest.approx(SIZES[paper.name])
    # ISO 216: the sides of an A size are as 1 to the root of 2, and A3 is two of A4.
    assert SIZES["A4"][1] / SIZES["A4"][0] == pytest.approx(math.sqrt(2.0), abs=1e-3)
    assert SIZES["A3"] == (SIZES["A4"][1], 2.0 * SIZES["A4"][0])


@pytest.mark.parametrize("text", ["a4", " A4 ", "LETTER", "letter", "A3"])
def test_paper_by_name(text: str) -> None:
    assert paper_named(text).name.casefold() == text.strip().casefold()


@pytest.mark.parametrize("text", ["", "A5", "A 4", "297x210", "a" * 500])
def test_unknown_paper_is_one_line(text: str) -> None:
    with pytest.raises(UsageError, match="A4, A3, Letter") as caught:
        paper_named(text)
    assert len(caught.value.message) < 160


@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
@pytest.mark.parametrize("lies", [False, True])
@pytest.mark.parametrize("scale", [0.9, 1.0, 100 / 97, 1.1])
def test_frame_is_inside_the_paper(paper, lies: bool, scale: float) -> None:  # type: ignore[no-untyped-def]
    format_ = Format(paper, lies, scale)
    width, height = format_.paper_mm
    assert (width > height) is lies
    assert format_.size_mm == pytest.approx((width / scale, height / scale))
    content = format_.content
    assert content.x0 >= 10.0 and content.y0 >= 10.0
    assert content.x1 * scale <= width - 8.9 and content.y1 * scale <= height - 8.9
    assert content.height > 110.0 and content.width > 150.0


@pytest.mark.parametrize("scale", [0.0, -1.0, 0.899, 1.101, 97.0])
def test_scales_of_no_printer(scale: float) -> None:
    with pytest.raises(UsageError, match="from 90 % to 110 %"):
        Format(printer_scale=scale)


def test_it_stands_if_it_can_and_lies_if_it_must() -> None:
    base = Format()
    standing, lying = base.content, base.turned(True).content
    for size, lies in (((100.0, 100.0), False), ((lying.width, lying.height), True)):
        found = fitting_format(base, size)
        assert found is not None and found.is_landscape is lies
    assert fitting_format(base, (standing.width + 1.0, lying.height + 1.0)) is None


BOXES = [
    Bounds(-70.0, -70.0, 70.0, 70.0),
    Bounds(-201.5, -201.5, 201.5, 201.5),
    Bounds(-20.0, -400.0, 500.0, 10.0),
    Bounds(-131.5, -96.5, 131.5, 96.5),
    Bounds(0.0, 0.0, 1000.0, 20.0),
]


@pytest.mark.parametrize("box", BOXES, ids=str)
@pytest.mark.parametrize("paper", PAPERS, ids=lambda p: p.name)
def test_pieces_cover_the_drawing_and_overlap(box: Bounds, paper) -> None:  # type: ignore[no-untyped-def]
    format_, tiling = tile(box, Format(paper), 14.0)
    window = format_.content
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            shown = tiling.shown(column, row)
            assert shown.width <= window.width + 1e-6
            assert shown.height <= window.height - 14.0 + 1e-6
            if column:
                assert tiling.shown(column - 1, row).x1 - shown.x0 == pytest.approx(OVERLAP_MM)
            if row:
                assert tiling.shown(column, row - 1).y1 - shown.y0 == pytest.approx(OVERLAP_MM)
    last = tiling.shown(tiling.columns - 1, tiling.rows - 1)
    assert (last.x1, last.y1) == (box.x1, box.y1)
    first = tiling.shown(0, 0)
    assert (first.x0, first.y0) == (box.x0, box.y0)


@pytest.mark.parametrize("box", BOXES, ids=str)
def test_every_join_is_on_exactly_two_neighbors(box: Bounds) -> None:
    _format, tiling = tile(box, Format())
    shown = {
        (column, row): tiling.shown(column, row)
        for column in range(tiling.columns)
        for row in range(tiling.rows)
    }
    joins = tiling.joins()
    seams = (tiling.columns - 1) * tiling.rows + (tiling.rows - 1) * tiling.columns
    assert len(joins) == 2 * seams
    assert len({name for name, _x, _y in joins}) == len(joins)
    for _name, x, y in joins:
        on = [at for at, b in shown.items() if b.x0 < x < b.x1 and b.y0 < y < b.y1]
        assert len(on) == 2
        assert abs(on[0][0] - on[1][0]) + abs(on[0][1] - on[1][1]) == 1


def test_a_seam_does_not_run_along_an_axis() -> None:
    _format, tiling = tile(Bounds(-150.0, -150.0, 150.0, 150.0), Format())
    assert all(abs(at) > 5.0 for at in (*tiling.seams_x, *tiling.seams_y))


def test_too_many_pieces_are_refused() -> None:
    with pytest.raises(UsageError, match=r"would take \d+ pages of A4"):
        tile(Bounds(0.0, 0.0, 5000.0, 5000.0), Format())


def test_one_piece_has_no_joins() -> None:
    assert Tiling(Bounds(0, 0, 10, 10), 1, 1).joins() == ()


def test_a_circle_is_one_to_a_hundred_thousandth() -> None:
    """The error of a cubic arc of 45 degrees is about 4.2e-6 of the radius."""
    steps = circle((3.0, -7.0), 200.0).steps
    at = (0.0, 0.0)
    for kind, values in steps:
        if kind == "C":
            p = [at, *zip(values[::2], values[1::2], strict=True)]
            for n in range(21):
                t = n / 20.0
                w = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                x, y = (sum(a * q[i] for a, q in zip(w, p, strict=True)) for i in (0, 1))
                assert math.hypot(x - 3.0, y + 7.0) == pytest.approx(100.0, rel=1e-5)
        if values:
            at = (values[-2], values[-1])


# --- text -----------------------------------------------------------------------------


def _measure(text: str, size_mm: float, bold: bool) -> float:
    return len(text) * size_mm * (0.6 if bold else 0.5)


def test_lines_are_no_wider_than_asked_and_lose_nothing() -> None:
    text = "Turn the artwork 12.0 degrees clockwise, " + "x" * 90 + " then 1.25 mm left"
    lines = wrapped(text, 30.0, 2.0, False, _measure)
    assert all(_measure(line, 2.0, False) <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_name_is_shortened_in_its_middle() -> None:
    short = shortened("a" * 30 + "_plate.svg", 20.0, 2.0, False, _measure)
    assert _measure(short, 2.0, False) <= 20.0 and short.endswith("plate.svg") and "…" in short
    assert shortened("plate.svg", 20.0, 2.0, False, _measure) == "plate.svg"


def test_columns_hold_all_rows_and_no_heading_stands_alone() -> None:
    blocks = [Block(f"title {n}", (f"some words about {n} " * 5,)) for n in range(9)]
    rows = rows_of(blocks, 40.0, 2.0, _measure)
    for height in (9.0, 12.0, 14.0, 25.0, 60.0):
        rest, told = rows, 0
        while rest:
            texts, rest = set_in_columns(
                rest, [Bounds(0, 0, 40, height), Bounds(50, 0, 90, height)]
            )
            assert texts
            told += len(texts)
            for x in (0, 50):
                column = [t for t in texts if t.x == x]
                assert all(t.y <= height for t in column)
                if len(column) > 1:
                    assert not column[-1].bold
        assert told == len(rows)
    assert height_of([]) == 0.0
