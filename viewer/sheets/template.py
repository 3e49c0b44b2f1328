"""The cup template: rings at true scale, to be held over a drawing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from viewer.geometry import Bounds
from viewer.press import EXAMPLE_CUPS, Cup, Press
from viewer.report import printable
from viewer.sheets.cup_drawing import (
    Key,
    area_items,
    area_keys,
    axis_items,
    key_items,
    keys_of,
    nested_keys,
    reach_of,
    ring_items,
)
from viewer.sheets.draw_list import Document, Item, Page, Text, box, shifted
from viewer.sheets.frame import Foot, frame_items, join_marks, tile_words
from viewer.sheets.page import Format, Tiling, fitting_format, tile
from viewer.sheets.text_flow import Measure, shortened

HEAD_MM = 13.0
_KEY_MM = 2.5
_TITLE_MM = 3.4
_GAP_MM = 4.0
_TAG_MM = 2.6
_WIDEST_MM = 155.0
"""Of what is written under a drawing; with its line that goes onto every paper."""

HOLD_IT = (
    "Copy it onto clear film and lay that over the drawing. The ring is sharp: never hold a cup"
    " against a drawing or a screen."
)


@dataclass(frozen=True)
class _Figure:
    """One drawing with what is written under it. ``box`` is its own frame's."""

    title: str
    keys: tuple[Key, ...]
    items: tuple[Item, ...]
    box: Bounds
    label_width_mm: float

    @property
    def label_mm(self) -> float:
        """Height of what is written."""
        return 2.0 + _TITLE_MM + len(self.keys) * _KEY_MM * 1.4 + 1.5

    @property
    def size_mm(self) -> tuple[float, float]:
        """Of drawing and writing together."""
        width = max(self.box.width, self.label_width_mm)
        return width, self.box.height + self.label_mm


def cup_template(
    press: Press, base: Format, date: str, measure: Measure, *, nested: bool = False
) -> Document:
    """Sheets with the cups of a press, each for itself or all about one center.

    Every length is exact; what is too large for the paper is cut into pieces with marks to
    join them by. UsageError where that would be too many.
    """
    figures = [_nested_figure(press, measure)] if nested else _single_figures(press, measure)
    drafts: list[tuple[Format, tuple[Item, ...]]] = []
    shared: list[_Figure] = []
    for figure in figures:
        if fitting_format(base, figure.size_mm, HEAD_MM) is not None:
            shared.append(figure)
        else:
            drafts += _shelved(shared, base, press, measure)
            shared = []
            drafts += _tiled(figure, base, press, measure)
    drafts += _shelved(shared, base, press, measure)
    names = ", ".join(printable(cup.name) for cup in press.cups)
    left = f"brimcheck cup template, {date}, 1:1"
    pages = tuple(
        Page(
            format_.paper_mm,
            (*items, *frame_items(format_, Foot(left, number, len(drafts)))),
            format_.printer_scale,
        )
        for number, (format_, items) in enumerate(drafts, 1)
    )
    return Document(pages, "Cup template at true scale", f"cups {names}", date)


def _single_figures(press: Press, measure: Measure) -> list[_Figure]:
    """One figure for each cup, largest first: that leaves the smallest gaps."""
    return [
        _figure(
            f"{printable(cup.name)} cup",
            (*keys_of(cup), *area_keys(press.limits)),
            (
                *ring_items(cup),
                *area_items(press.limits),
                *axis_items([cup]),
            ),
            reach_of([cup], press.limits),
            measure,
        )
        for cup in reversed(press.cups)
    ]


def _nested_figure(press: Press, measure: Measure) -> _Figure:
    names = ", ".join(printable(cup.name) for cup in press.cups)
    items: list[Item] = []
    for cup in press.cups:
        items += ring_items(cup, with_hatch=False)
    items += area_items(press.limits)
    items += axis_items(press.cups)
    for index, cup in enumerate(press.cups):
        items += _tag(cup, index, measure)
    return _figure(
        f"cups {names} about one centre",
        (*nested_keys(press.cups), *area_keys(press.limits)),
        tuple(items),
        reach_of(press.cups, press.limits),
        measure,
    )


def _tag(cup: Cup, index: int, measure: Measure) -> Iterator[Item]:
    """The cup's name on the ring's outer edge, at a slant where no axis runs."""
    radius = cup.ring_outer_diameter_mm / 2.0 * 0.7071
    x, y = (radius if index % 2 == 0 else -radius), -radius
    name = printable(cup.name)
    half = measure(name, _TAG_MM, True) / 2.0 + 0.6
    yield box(Bounds(x - half, y - 1.7, x + half, y + 1.7), None, 1.0)
    yield Text(x, y + 0.95, name, _TAG_MM, bold=True, anchor="middle")


def _figure(
    title: str, keys: tuple[Key, ...], items: tuple[Item, ...], box: Bounds, measure: Measure
) -> _Figure:
    title = shortened(title, _WIDEST_MM, _TITLE_MM, True, measure)
    keys = tuple(
        Key(key.stroke, shortened(key.words, _WIDEST_MM, _KEY_MM, False, measure)) for key in keys
    )
    width = max(
        measure(title, _TITLE_MM, True),
        *(10.0 + measure(key.words, _KEY_MM, False) for key in keys),
    )
    return _Figure(title, keys, items, box, width)


def _shelved(
    figures: Sequence[_Figure], base: Format, press: Press, measure: Measure
) -> Iterator[tuple[Format, tuple[Item, ...]]]:
    """Pages of figures side by side, then below each other, as many as go on each."""
    rest = list(figures)
    while rest:
        format_ = fitting_format(base, rest[0].size_mm, HEAD_MM)
        assert format_ is not None  # the caller has looked
        window = format_.content
        items: list[Item] = list(_head(format_, press, measure))
        y = window.y0 + HEAD_MM
        while row := _row(rest, window, y):
            rest = [figure for figure in rest if figure not in row]
            room = window.width - sum(figure.size_mm[0] for figure in row)
            gap = room / (len(row) + 1)
            x = window.x0 + gap
            for figure in row:
                items += _placed(figure, x, y)
                x += figure.size_mm[0] + gap
            y += max(figure.size_mm[1] for figure in row) + _GAP_MM
        yield format_, tuple(items)


def _row(figures: Sequence[_Figure], window: Bounds, y: float) -> list[_Figure]:
    """Those that go side by side below ``y``, the first ones first."""
    row: list[_Figure] = []
    x = window.x0
    for figure in figures:
        width, tall = figure.size_mm
        if x + width <= window.x1 + 1e-9 and y + tall <= window.y1 + 1e-9:
            row.append(figure)
            x += width + _GAP_MM
    return row


def _placed(figure: _Figure, x: float, y: float) -> Iterator[Item]:
    yield shifted(figure.items, x - figure.box.x0, y - figure.box.y0)
    yield from _label(figure, x, y + figure.box.height + 2.0)


def _label(figure: _Figure, x: float, y: float) -> Iterator[Item]:
    yield Text(x, y + _TITLE_MM, figure.title, _TITLE_MM, bold=True)
    yield from key_items(figure.keys, x, y + _TITLE_MM + _KEY_MM * 1.6, _KEY_MM)


def _tiled(
    figure: _Figure, base: Format, press: Press, measure: Measure
) -> Iterator[tuple[Format, tuple[Item, ...]]]:
    """One figure over several pages; what is written goes onto the page of each piece."""
    head_mm = HEAD_MM + figure.label_mm + 5.0
    format_, tiling = tile(figure.box, base, head_mm)
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            yield (
                format_,
                tuple(_tile_items(figure, format_, tiling, (column, row), press, measure, head_mm)),
            )


def _tile_items(
    figure: _Figure,
    format_: Format,
    tiling: Tiling,
    at: tuple[int, int],
    press: Press,
    measure: Measure,
    head_mm: float,
) -> Iterator[Item]:
    window, shown = format_.content, tiling.shown(*at)
    yield from _head(format_, press, measure)
    yield from _label(figure, window.x0, window.y0 + HEAD_MM - 2.0)
    words = shortened(tile_words(tiling, *at), window.width, _KEY_MM, False, measure)
    yield Text(window.x0, window.y0 + head_mm - 2.0, words, _KEY_MM)
    yield shifted(
        (*figure.items, *join_marks(tiling)),
        window.x0 - shown.x0,
        window.y0 + head_mm - shown.y0,
        shown,
    )


def _head(format_: Format, press: Press, measure: Measure) -> Iterator[Item]:
    window = format_.content
    words = "an example set of cups" if press.cups == EXAMPLE_CUPS else "cups as given"
    if press.name:
        words = f"{words}, {printable(press.name)}"
    title = "Cup template 1:1"
    yield Text(window.x0, window.y0 + 4.2, title, 4.6, bold=True)
    at = window.x0 + measure(title, 4.6, True) + 3.0
    room = window.x1 - at
    yield Text(at, window.y0 + 4.2, shortened(words, room, 2.6, False, measure), 2.6)
    yield Text(window.x0, window.y0 + 8.6, HOLD_IT, 2.3)
