"""Paragraphs in columns: none is broken that one column can hold, and no word is lost."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from viewer.geometry import Bounds
from viewer.sheets.draw_list import Text
from viewer.sheets.text_flow import Block, Row, height_of, rows_of, set_in_columns

SIZE_MM = 2.5
WIDTH_MM = 60.0


def measure(text: str, size_mm: float, bold: bool) -> float:
    return len(text) * size_mm * (0.55 if bold else 0.5)


def columns(heights: list[float]) -> list[Bounds]:
    return [Bounds(100.0 * n, 0.0, 100.0 * n + WIDTH_MM, high) for n, high in enumerate(heights)]


def column_of(text: Text) -> int:
    return int(text.x // 100.0)


def test_a_sentence_that_would_run_over_goes_to_the_next_column_as_a_whole() -> None:
    points = "Deciding ink from that centre: 1: 33.00 mm right, 44.00 mm to the back; 2: 12.00 mm"
    points += " right, 50.00 mm to the front; 3: 33.00 mm left, 44.00 mm to the front."
    rows = rows_of([Block("How to set it", ("Start so.", points))], WIDTH_MM, SIZE_MM, measure)
    high = height_of(rows[:4])
    assert len(rows) > 5, "two lines of the sentence would have had room"
    placed, rest = set_in_columns(rows, columns([high, 60.0]))
    assert rest == []
    assert [text.text for text in placed if column_of(text) == 0] == ["How to set it", "Start so."]
    told = " ".join(text.text for text in placed if column_of(text) == 1)
    assert told == points


WORDS = st.lists(st.sampled_from(("ring", "a", "clearance", "12.34", "mm", "front")), min_size=1)
BLOCKS = st.lists(
    st.lists(WORDS.map(" ".join), min_size=1, max_size=5).map(tuple), min_size=1, max_size=5
)


@given(BLOCKS, st.lists(st.floats(12.0, 60.0), min_size=1, max_size=4))
def test_only_what_no_column_holds_is_broken(
    blocks: list[tuple[str, ...]], heights: list[float]
) -> None:
    made = [Block(f"Block {n}", paragraphs) for n, paragraphs in enumerate(blocks)]
    rows = rows_of(made, WIDTH_MM, SIZE_MM, measure)
    # As many columns as it takes, the last ones of one height.
    placed, rest = set_in_columns(rows, columns([*heights, *([60.0] * 40)]))
    assert rest == [] and [text.text for text in placed] == [row.text for row in rows]
    at = 0
    for group in _groups(rows):
        texts = placed[at : at + len(group)]
        at += len(group)
        where = {column_of(text) for text in texts}
        if height_of(group) <= 12.0:
            assert len(where) == 1, [text.text for text in texts]


def _groups(rows: list[Row]) -> list[list[Row]]:
    """Rows that are to stay together: a heading with its first paragraph, and paragraphs."""
    groups: list[list[Row]] = [[]]
    for row in rows:
        groups[-1].append(row)
        if not row.keeps_with_next:
            groups.append([])
    return groups[:-1]
