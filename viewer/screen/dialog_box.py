"""Where the parts of a question stand, and how they are drawn."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from viewer.screen import theme
from viewer.screen.artwork_layer import blit_picture
from viewer.screen.dialog import PREVIEW, Dialog, Preview
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.shapes import line, rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing

WIDE_PX, PREVIEW_PX = 760, 440
LEAST_PREVIEW_PX = 60
MOST_LINES = 5
CLOSE = "close"


@dataclass(frozen=True)
class DialogBoxes:
    """Rectangles in the window. ``hits``: what can be clicked, by name."""

    box: pygame.Rect
    titles: tuple[tuple[str, pygame.Rect], ...]
    lines: tuple[tuple[str, pygame.Rect], ...]
    labels: dict[str, pygame.Rect]
    hints: dict[str, pygame.Rect]
    errors: tuple[tuple[str, pygame.Rect], ...]
    rows_title: pygame.Rect | None
    note: pygame.Rect | None
    hits: dict[str, pygame.Rect]


def dialog_boxes(dialog: Dialog, layout: Layout, texts: Texts, error: str = "") -> DialogBoxes:
    """Lay a question out from top to bottom, at the top of the view."""
    return _Laying(dialog, layout, texts).boxes(error)


class _Laying:
    def __init__(self, dialog: Dialog, layout: Layout, texts: Texts) -> None:
        self._dialog, self._px, self._texts = dialog, layout.px, texts
        view = layout.view
        width = min(view.width - 2 * self._px(16), self._px(WIDE_PX))
        self._view = view
        self._box = pygame.Rect(view.centerx - width // 2, view.y + self._px(14), width, 0)
        self._left = self._box.x + self._px(38)
        self._width = width - self._px(38) - self._px(20)
        self._y = self._box.y + self._px(12)
        self._hits: dict[str, pygame.Rect] = {}
        self._labels: dict[str, pygame.Rect] = {}
        self._hints: dict[str, pygame.Rect] = {}

    def _line(self, height: float) -> pygame.Rect:
        rect = pygame.Rect(self._left, self._y, self._width, self._px(height))
        self._y = rect.bottom
        return rect

    def boxes(self, error: str) -> DialogBoxes:
        px, dialog = self._px, self._dialog
        titles = self._wrapped(dialog.title, 22, 14.5, px(30), is_bold=True)
        lines = [part for text in dialog.lines for part in self._wrapped(text, 19, 13)]
        self._fields()
        told = self._wrapped(error, 18, 12) if error else []
        rows_title = self._line(24) if dialog.rows and dialog.rows_title else None
        self._rows()
        note = self._preview()
        self._buttons()
        box = self._box
        box.height = self._y + px(12) - box.y
        side = px(22)
        self._hits[CLOSE] = pygame.Rect(box.right - px(32), box.y + px(9), side, side)
        return DialogBoxes(
            box,
            tuple(titles),
            tuple(lines),
            self._labels,
            self._hints,
            tuple(told),
            rows_title,
            note,
            self._hits,
        )

    def _wrapped(
        self, text: str, height: float, size: float, less_px: int = 0, is_bold: bool = False
    ) -> list[tuple[str, pygame.Rect]]:
        width = self._width - less_px
        found = []
        for part in self._texts.wrap(text, width, self._px(size), is_bold)[:MOST_LINES]:
            rect = self._line(height)
            rect.width = width
            found.append((part, rect))
        return found

    def _fields(self) -> None:
        px, fields = self._px, self._dialog.fields
        if not fields:
            return
        self._y += px(6)
        label = max(self._texts.width(f.label, px(12.5)) for f in fields) + px(12)
        for field in fields:
            row = self._line(31)
            self._labels[field.name] = pygame.Rect(row.x, row.y, label, px(27))
            wide = row.width - label if field.is_wide else px(120)
            self._hits[field.name] = pygame.Rect(row.x + label, row.y, wide, px(27))
            left = row.x + label + wide + px(10)
            if not field.is_wide:
                self._hints[field.name] = pygame.Rect(left, row.y, row.right - left, px(27))

    def _rows(self) -> None:
        rows, px = self._dialog.rows, self._px
        if not rows:
            return
        self._y += 0 if self._dialog.rows_title else px(4)
        # On a low window the buttons must stay in sight, and the row with the keyboard.
        room = self._view.bottom - px(4) - px(12) - self._buttons_height() - self._y
        count = max(1, min(len(rows), room // px(24)))
        names = [row.name for row in rows]
        chosen = names.index(self._dialog.focus) if self._dialog.focus in names else 0
        first = max(0, min(chosen - count + 1, len(rows) - count))
        for row in rows[first : first + count]:
            self._hits[row.name] = self._line(24)

    def _buttons_height(self) -> int:
        before, hits = self._y, dict(self._hits)
        self._buttons()
        height, self._y, self._hits = self._y - before, before, hits
        return height

    def _preview(self) -> pygame.Rect | None:
        preview, px = self._dialog.preview, self._px
        if preview is None:
            return None
        # On a low window the buttons must stay in sight; on a very low one that is all.
        below = self._buttons_height() + px(20)
        room = self._view.bottom - below - self._y - px(26)
        if room < px(LEAST_PREVIEW_PX):
            return None
        self._y += px(6)
        note = self._line(20)
        height = min(px(PREVIEW_PX), room)
        rect = pygame.Rect(self._left, self._y + px(2), self._width, height)
        self._hits[PREVIEW] = rect
        self._y = rect.bottom
        return note

    def _buttons(self) -> None:
        px, buttons = self._px, self._dialog.buttons
        if not buttons:
            return
        self._y += px(10)
        x = self._left
        for button in buttons:
            wide = self._texts.width(button_words(button.label, button.key), px(12.5), True) + px(
                26
            )
            if x > self._left and x + wide > self._left + self._width:
                x = self._left
                self._y += px(35)
            self._hits[button.name] = pygame.Rect(x, self._y, wide, px(29))
            x += wide + px(8)
        self._y += px(29)


def button_words(label: str, key: str) -> str:
    """A button's label with the key that presses it."""
    return f"{label}  {key}" if key else label


def draw_dialog(
    surface: pygame.Surface, dialog: Dialog, editing: Editing | None, layout: Layout, texts: Texts
) -> None:
    """Draw a question over the bench."""
    error = editing.error if editing is not None and dialog.has_field(editing.name) else ""
    boxes = dialog_boxes(dialog, layout, texts, error)
    _Drawing(surface, dialog, boxes, editing, layout, texts).draw()


class _Drawing:
    def __init__(
        self,
        surface: pygame.Surface,
        dialog: Dialog,
        boxes: DialogBoxes,
        editing: Editing | None,
        layout: Layout,
        texts: Texts,
    ) -> None:
        self._surface, self._dialog, self._boxes = surface, dialog, boxes
        self._editing, self._layout, self._texts = editing, layout, texts
        self._px = layout.px

    def draw(self) -> None:
        px, boxes, dialog = self._px, self._boxes, self._dialog
        edge = theme.ORANGE if dialog.is_error else theme.SKY
        rounded(self._surface, boxes.box, px(7), theme.CARD, edge, max(1, round(self._layout.ui)))
        sign = "in-margin" if dialog.is_error else "too-close"
        color = theme.VERDICT_TEXT["in-margin" if dialog.is_error else "fits"]
        at = (boxes.box.x + px(13), boxes.box.y + px(15))
        self._surface.blit(verdict_sign(sign, px(16), color), at)
        cross = boxes.hits[CLOSE].move(px(6), px(6))
        self._surface.blit(verdict_sign("outside", px(10), theme.TEXT_SOFT), cross)
        self._texts.where = "dialog"
        for text, rect in boxes.titles:
            self._say(text, rect, 14.5, theme.TEXT, bold=True)
        for text, rect in boxes.lines:
            self._say(text, rect, 13, theme.TEXT_SOFT)
        self._fields()
        for text, rect in boxes.errors:
            self._say(text, rect, 12, theme.VERDICT_TEXT["outside"])
        if boxes.rows_title is not None:
            self._say(dialog.rows_title, boxes.rows_title, 12, theme.TEXT_SOFT)
        self._rows()
        if dialog.preview is not None and boxes.note is not None:
            self._say(dialog.preview.note, boxes.note, 12.5, theme.TEXT_SOFT)
            self._preview(dialog.preview)
        self._buttons()

    def _say(
        self, text: str, rect: pygame.Rect, size: float, color: theme.Rgb, bold: bool = False
    ) -> None:
        self._texts.draw(self._surface, text, rect, self._px(size), color, bold=bold)

    def _fields(self) -> None:
        texts = dict(self._dialog.texts)
        for field in self._dialog.fields:
            self._say(field.label, self._boxes.labels[field.name], 13, theme.TEXT_SOFT)
            mine = self._editing
            if mine is not None and mine.name != field.name:
                mine = None
            box = self._boxes.hits[field.name]
            value = "" if mine is not None else texts.get(field.name, "")
            draw_field(
                self._surface,
                box,
                self._end_of(value, box.width - self._px(16)),
                mine,
                self._layout,
                self._texts,
                align="left",
            )
            room = self._boxes.hints.get(field.name)
            # In a narrow window a hint is left out rather than cut.
            if room is not None and self._texts.width(field.hint, self._px(12.5)) <= room.width:
                self._say(field.hint, room, 12, theme.TEXT_SOFT)

    def _end_of(self, text: str, width: int) -> str:
        """Of a path too long for its field the end is seen."""
        size = self._px(9.5)
        if self._texts.width(text, size, True) <= width:
            return text
        while text and self._texts.width("\u2026" + text, size, True) > width:
            text = text[1:]
        return "\u2026" + text

    def _rows(self) -> None:
        px, size = self._px, self._px(12.5)
        for row in self._dialog.rows:
            box = self._boxes.hits.get(row.name)
            if box is None:
                continue
            if row.name == self._dialog.focus:
                rounded(self._surface, box, px(4), theme.CARD_ROW, theme.SKY)
            inner = box.inflate(-2 * px(8), 0)
            wide = min(self._texts.width(row.label, size, True), inner.width * 2 // 3)
            label = pygame.Rect(inner.x, inner.y, wide, inner.height)
            # Cut on purpose: names of files have no greatest length.
            shown = self._texts.cut(row.label, wide, size, True)
            self._texts.draw(self._surface, shown, label, size, theme.TEXT, bold=True)
            note = pygame.Rect(label.right + px(10), inner.y, 0, inner.height)
            note.width = max(0, inner.right - note.x)
            text = shortened(self._texts, row.note, note.width, px(11.5))
            if text:
                self._texts.draw(self._surface, text, note, px(11), theme.TEXT_SOFT, align="right")

    def _buttons(self) -> None:
        px = self._px
        for button in self._dialog.buttons:
            box = self._boxes.hits[button.name]
            fill = theme.BUTTON_MAIN if button.is_main else theme.BUTTON
            edge = theme.SKY if button.name == self._dialog.focus else fill
            rounded(self._surface, box, px(5), fill, edge, max(2, px(2)))
            words = button_words(button.label, button.key)
            color = getattr(theme, "BUTTON_MAIN_TEXT", theme.TEXT) if button.is_main else theme.TEXT
            inner = box.inflate(-px(6), 0)
            self._texts.draw(
                self._surface, words, inner, px(12.5), color, bold=True, align="center"
            )

    def _preview(self, preview: Preview) -> None:
        box, px = self._boxes.hits[PREVIEW], self._px
        clip = self._surface.get_clip()
        self._surface.set_clip(box.clip(clip))
        self._surface.fill(theme.PAGE, box)
        if preview.levels is not None and preview.camera is not None:
            self._picture(preview, box)
        self._surface.set_clip(clip)
        edge = theme.SKY if self._dialog.focus == PREVIEW else theme.FIELD_EDGE
        pygame.draw.rect(self._surface, edge, box, max(1, px(1.5)))

    def _picture(self, preview: Preview, box: pygame.Rect) -> None:
        assert preview.levels is not None
        camera = preview.camera
        assert camera is not None
        seen = box.clip(self._surface.get_rect())
        if seen != box:
            return  # a window too low to show it
        blit_picture(self._surface.subsurface(box), preview.levels, camera, 1.0, None)
        at = [_window_px(camera, box, point) for point in preview.points_mm]
        width = max(1.5, 1.6 * self._layout.ui)
        if len(at) == 2:
            line(self._surface, at[0], at[1], width, theme.SKY)
        for point in at:
            self._cross(point, theme.INK_LINE, width + 2)
            self._cross(point, theme.SKY, width)
        if preview.cursor_mm is not None and self._dialog.focus == PREVIEW:
            self._cross(_window_px(camera, box, preview.cursor_mm), theme.VERMILION, width)

    def _cross(self, at: tuple[int, int], color: theme.Rgb, width: float) -> None:
        arm = self._px(9)
        for dx, dy in ((arm, 0), (0, arm)):
            start, end = (at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)
            line(self._surface, start, end, width, color)


def _window_px(camera: object, box: pygame.Rect, point_mm: tuple[float, float]) -> tuple[int, int]:
    x, y = camera.snapped(*point_mm)  # type: ignore[attr-defined]
    return box.x + x, box.y + y


def shortened(texts: Texts, path: str, width_px: int, size_px: int) -> str:
    """A path with its middle left out where it is too wide."""
    if texts.width(path, size_px) <= width_px:
        return path
    half = len(path) // 2
    head, tail = path[:half], path[half:]
    while head or tail:
        if len(head) > len(tail) // 2:
            head = head[:-1]
        else:
            tail = tail[1:]
        if texts.width(f"{head}\u2026{tail}", size_px) <= width_px:
            return f"{head}\u2026{tail}"
    return ""
