"""The fit sheet: one artwork under one cup at true scale, with all that was found about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from viewer.geometry import Affine, Bounds
from viewer.sheets.cup_drawing import Key, area_keys, key_items, keys_of
from viewer.sheets.draw_list import (
    Document,
    Group,
    Item,
    Page,
    Path,
    Stroke,
    Text,
    box,
    circle,
    line,
    lines,
    shifted,
)
from viewer.sheets.fit_drawing import (
    CONTACT_CIRCLE,
    drawing_box,
    drawing_items,
    has_smallest_circle,
)
from viewer.sheets.fit_words import Judged, blocks_of, headline, plain_verdict
from viewer.sheets.frame import FINE, Foot, frame_items, join_marks, tile_words
from viewer.sheets.page import Format, tile
from viewer.sheets.qr import qr_path
from viewer.sheets.record_band import NOTHING_TOLD, RecordTold, record_band
from viewer.sheets.text_flow import Measure, Row, rows_of, set_in_columns, shortened, wrapped
from viewer.units import format_up

HEAD_MM = 31.0
QR_MM = 27.0
APPROVAL_MM = 27.0
TEXT_MM = 2.5
GAP_MM = 7.0
LEAST_TEXT_MM = 36.0
_TILE_HEAD_MM = 14.0
_SMALL_HEAD_MM = 12.0
"""Name and verdict on the other pages; below it stands what the record says."""
_KEY_MM = 2.3


@dataclass(frozen=True)
class FitSheetOrder:
    """What goes onto a fit sheet. ``drawn``: how the artwork is drawn; ``date``: YYYY-MM-DD.

    ``record`` is what an approval record says about this file; every page bears it.
    """

    judged: Judged
    base: Format
    date: str
    drawn: str
    record: RecordTold = NOTHING_TOLD


_Draft = tuple[Format, tuple[Item, ...]]


def fit_sheet(order: FitSheetOrder, measure: Measure) -> Document:
    """All pages. UsageError where a drawing at true scale would take too many."""
    composer = _Composer(order, measure)
    drafts = composer.drafts()
    judged = order.judged
    left = f"brimcheck fit sheet, {order.date}, {judged.file_name}"
    sha = judged.fit.artwork.sha256[:12]
    pages = []
    for number, (format_, items) in enumerate(drafts, 1):
        room = format_.content.width - 45.0
        words = shortened(left, room - 30.0, 2.3, False, measure)
        foot = Foot(f"{words}, SHA-256 {sha}\u2026", number, len(drafts))
        pages.append(
            Page(
                format_.paper_mm,
                (*items, *frame_items(format_, foot)),
                format_.printer_scale,
            )
        )
    title = f"Fit sheet: {judged.file_name}, {headline(judged)}"
    subject = f"SHA-256 {judged.fit.artwork.sha256}"
    return Document(tuple(pages), title, subject, order.date)


class _Composer:
    """Puts one sheet together; ``drafts`` is all it is for."""

    def __init__(self, order: FitSheetOrder, measure: Measure) -> None:
        self._order = order
        self._judged = order.judged
        self._measure = measure
        self._standing = order.base.turned(False)
        self._box = drawing_box(order.judged)
        self._keys = self._key_list()
        # As wide as the narrower of two ways that the paper can lie: one height for both.
        self._band = record_band(order.record, self._standing.content.width, measure)

    def drafts(self) -> list[_Draft]:
        """Pages with content, without their frames."""
        window = self._standing.content
        around_mm = HEAD_MM + self._band.height_mm + self._keys_height() + APPROVAL_MM
        room = window.height - around_mm - LEAST_TEXT_MM
        if self._box.width <= window.width and self._box.height <= room:
            first, rest = self._first_page(1.0)
            return [first, *self._more_pages(rest)]
        scale = min(window.width / self._box.width, room / self._box.height, 0.5)
        first, rest = self._first_page(scale)
        return [first, *self._true_pages(), *self._more_pages(rest)]

    # --- the first page -----------------------------------------------------------------

    def _first_page(self, scale: float) -> tuple[_Draft, list[Row]]:
        window = self._standing.content
        items = list(self._head(window))
        y = window.y0 + HEAD_MM
        items += self._band.items(window.x0, y)
        y += self._band.height_mm
        items += self._drawing(window, y, scale)
        y += self._box.height * scale + 3.5
        items += self._key_columns(window, y, scale)
        y += self._keys_height()
        foot_y = window.y1 - APPROVAL_MM
        columns = _two_columns(Bounds(window.x0, y, window.x1, foot_y - 4.0))
        rows = self._rows(columns[0].width)
        texts, rest = set_in_columns(rows, columns)
        items += texts
        if rest:
            words = "continues on another page"
            items.append(Text(window.x1, foot_y - 1.2, words, 2.3, True, "end"))
        items += approval_items(Bounds(window.x0, foot_y, window.x1, window.y1))
        return (self._standing, tuple(items)), rest

    def _rows(self, width_mm: float) -> list[Row]:
        return rows_of(blocks_of(self._judged, self._order.drawn), width_mm, TEXT_MM, self._measure)

    def _head(self, window: Bounds) -> Iterator[Item]:
        judged, measure = self._judged, self._measure
        room = window.width - QR_MM - 3.0
        name = shortened(judged.file_name, room, 4.4, True, measure)
        yield Text(window.x0, window.y0 + 4.0, name, 4.4, bold=True)
        yield from verdict_items(
            headline(judged),
            judged,
            Bounds(window.x0, window.y0 + 6.5, window.x0 + room, window.y0 + 16.5),
            measure,
        )
        sentence = wrapped(plain_verdict(judged), room, 2.8, not judged.is_sure, measure)
        told = sentence[:2] if len(sentence) < 3 else (sentence[0], f"{sentence[1]} \u2026")
        for index, words in enumerate(told):
            size = 2.8 if measure(words, 2.8, not judged.is_sure) <= room else 2.6
            yield Text(
                window.x0, window.y0 + 20.6 + 3.7 * index, words, size, bold=not judged.is_sure
            )
        sha = judged.fit.artwork.sha256
        yield Text(window.x0, window.y0 + 28.4, f"SHA-256 {sha}", 2.2)
        side = QR_MM
        yield qr_path(sha, window.x1 - side + 2.0, window.y0 - 2.0, side)
        yield Text(
            window.x1 - side / 2.0 + 2.0, window.y0 + side - 1.4, "SHA-256", 2.0, anchor="middle"
        )

    def _drawing(self, window: Bounds, y: float, scale: float) -> Iterator[Item]:
        center_x = (window.x0 + window.x1) / 2.0
        middle = (self._box.x0 + self._box.x1) / 2.0
        if scale == 1.0:
            side = window.width / 2.0
            reach = Bounds(middle - side, self._box.y0, middle + side, self._box.y1)
            items = drawing_items(self._judged, reach, self._measure)
            yield shifted(items, center_x - middle, y - self._box.y0)
            return
        items = drawing_items(self._judged, self._box, self._measure, with_labels=False)
        to_outer = Affine.scale(scale).then(
            Affine.translate(center_x - middle * scale, y - self._box.y0 * scale)
        )
        yield Group(items, to_outer, self._box)

    def _key_columns(self, window: Bounds, y: float, scale: float) -> Iterator[Item]:
        """What the lines mean, and at which scale the drawing above is."""
        if scale == 1.0:
            yield Text(window.x0, y + 2.0, "Drawn at true scale, 1:1", _KEY_MM, bold=True)
        else:
            words = (
                f"OVERVIEW, REDUCED to {scale * 100.0:.1f} %: not to be measured."
                " The drawing at true scale is on the next pages."
            )
            yield Text(window.x0, y + 2.0, words, _KEY_MM, bold=True)
        count = self._keys_in_column()
        columns = _two_columns(window)
        for part, column in ((self._keys[:count], columns[0]), (self._keys[count:], columns[1])):
            yield from key_items(part, column.x0, y + 6.0, _KEY_MM)

    def _keys_height(self) -> float:
        return 8.5 + self._keys_in_column() * _KEY_MM * 1.4

    def _keys_in_column(self) -> int:
        """Half of them, or all where one is too wide for half of the page."""
        room = _two_columns(self._standing.content)[0].width - 10.0
        is_wide = any(self._measure(key.words, _KEY_MM, False) > room for key in self._keys)
        return len(self._keys) if is_wide else (len(self._keys) + 1) // 2

    def _key_list(self) -> tuple[Key, ...]:
        judged = self._judged
        keys = [*keys_of(judged.cup_fit.cup), *area_keys(judged.fit.limits)]
        if has_smallest_circle(judged):
            diameter = format_up(judged.fit.smallest_circle.diameter, 2)
            words = f"smallest circle round the ink \u00d8 {diameter} mm"
            keys.append(Key(CONTACT_CIRCLE, words))
        room = self._standing.content.width - 10.0
        return tuple(
            Key(key.stroke, shortened(key.words, room, _KEY_MM, False, self._measure))
            for key in keys
        )

    # --- the other pages ----------------------------------------------------------------

    def _true_pages(self) -> Iterator[_Draft]:
        """The drawing at its own size, in pieces where it is larger than the paper."""
        head_mm = _TILE_HEAD_MM + self._band.height_mm
        format_, tiling = tile(self._box, self._order.base, head_mm)
        items = drawing_items(self._judged, self._box, self._measure)
        is_whole = tiling.columns * tiling.rows == 1
        for row in range(tiling.rows):
            for column in range(tiling.columns):
                shown = tiling.shown(column, row)
                window = format_.content
                words = "true scale, 1:1"
                if not is_whole:
                    words += f"; {tile_words(tiling, column, row)}"
                yield (
                    format_,
                    (
                        *self._small_head(window, words),
                        shifted(
                            (*items, *join_marks(tiling)),
                            window.x0 - shown.x0,
                            window.y0 + head_mm - shown.y0,
                            shown,
                        ),
                    ),
                )

    def _small_head(self, window: Bounds, words: str) -> Iterator[Item]:
        judged, measure = self._judged, self._measure
        title = f"{headline(judged)}. {judged.file_name}"
        room = window.width
        title = shortened(title, room, 3.4, True, measure)
        yield Text(window.x0, window.y0 + 3.4, title, 3.4, bold=True)
        for index, part in enumerate(wrapped(words, room, 2.3, False, measure)[:2]):
            yield Text(window.x0, window.y0 + 7.4 + 3.2 * index, part, 2.3)
        yield from self._band.items(window.x0, window.y0 + _SMALL_HEAD_MM)

    def _more_pages(self, rest: list[Row]) -> Iterator[_Draft]:
        while rest:
            window = self._standing.content
            head_mm = _SMALL_HEAD_MM + self._band.height_mm
            body = Bounds(window.x0, window.y0 + head_mm, window.x1, window.y1)
            texts, rest = set_in_columns(rest, _two_columns(body))
            yield self._standing, (*self._small_head(window, "continued"), *texts)


def _two_columns(bounds: Bounds) -> tuple[Bounds, Bounds]:
    width = (bounds.width - GAP_MM) / 2.0
    return (
        Bounds(bounds.x0, bounds.y0, bounds.x0 + width, bounds.y1),
        Bounds(bounds.x1 - width, bounds.y0, bounds.x1, bounds.y1),
    )


# --- verdict and approval -----------------------------------------------------------------


def verdict_items(words: str, judged: Judged, area: Bounds, measure: Measure) -> Iterator[Item]:
    """The verdict in large letters with its sign: framed where it fits, else white on black."""
    good = judged.is_sure
    yield box(area, Stroke(0.5), None if good else 0.0)
    ink = 0.0 if good else 1.0
    side = area.height
    yield from _sign(judged, (area.x0 + side / 2.0, (area.y0 + area.y1) / 2.0), ink)
    size = 6.0
    room = area.width - side - 3.0
    while size > 3.0 and measure(words, size, True) > room:
        size -= 0.25
    words = shortened(words, room, size, True, measure)
    yield Text(
        area.x0 + side + 0.5, area.y0 + side / 2.0 + size * 0.36, words, size, True, gray=ink
    )


def _sign(judged: Judged, at: tuple[float, float], gray: float) -> Iterator[Path]:
    """A check, a cross, an exclamation mark or a question mark."""
    (x, y), pen = at, Stroke(0.9, gray)
    verdict = judged.placed.verdict.value
    if verdict == "fits":
        yield lines(
            ((x - 2.4, y + 0.2, x - 0.6, y + 2.2), (x - 0.9, y + 2.4, x + 2.6, y - 2.2)), pen
        )
    elif verdict == "outside":
        yield lines(
            ((x - 2.2, y - 2.2, x + 2.2, y + 2.2), (x - 2.2, y + 2.2, x + 2.2, y - 2.2)), pen
        )
    elif verdict == "in-margin":
        yield line(x, y - 2.8, x, y + 0.8, pen)
        yield circle((x, y + 2.4), 1.1, None, gray)
    else:
        steps = (
            ("M", (x - 1.5, y - 1.3)),
            ("C", (x - 1.4, y - 3.4, x + 1.7, y - 3.4, x + 1.6, y - 1.3)),
            ("C", (x + 1.5, y + 0.1, x, y - 0.2, x, y + 1.2)),
        )
        yield Path(steps, pen)
        yield circle((x, y + 2.6), 1.1, None, gray)


def approval_items(area: Bounds) -> Iterator[Item]:
    """A box in which a person decides by hand."""
    yield box(area, Stroke(0.35))
    x, y, width = area.x0 + 3.0, area.y0, area.width - 6.0
    yield Text(x, y + 4.6, "Approval", 3.0, bold=True)
    yield Text(x + 20.0, y + 4.6, "a person decides, this sheet does not", 2.3)
    for index, words in enumerate(("approved", "rejected")):
        yield from _tick_box(x + 30.0 * index, y + 10.2, words)
    for index, words in enumerate(("before the plate is made", "at the press")):
        yield from _tick_box(x + width / 2.0 + 46.0 * index, y + 10.2, words)
    third = (width - 8.0) / 3.0
    for row, fields in enumerate(
        (("name", "signature", "date"), ("reason, note", "", "record row"))
    ):
        base = y + 17.6 + 7.4 * row
        for index, words in enumerate(fields):
            if not words:
                continue
            left = x + index * (third + 4.0)
            span = 2.0 * third + 4.0 if words == "reason, note" else third
            yield line(left, base, left + span, base, FINE)
            yield Text(left, base - 3.4, words, 1.9, gray=0.3)


def _tick_box(x: float, y: float, words: str) -> Iterator[Item]:
    yield box(Bounds(x, y - 2.8, x + 3.2, y + 0.4), FINE)
    yield Text(x + 4.8, y - 0.2, words, TEXT_MM)
