"""The cards of a lesson: where one stands, what is asked, and how the cup stands now."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pygame

from viewer.lessons.view import Field, LessonView, Line, Stage
from viewer.screen import theme
from viewer.screen.card_base import Card, blank_card, card_width
from viewer.screen.field_box import draw_field
from viewer.screen.layout import Layout
from viewer.screen.lesson_keys import button_keys
from viewer.screen.shapes import rounded, verdict_sign
from viewer.screen.text import Texts
from viewer.screen.viewstate import Editing, Frame
from viewer.screen.wording import clearance, down, signed, verdict_word

ANSWER = "answer"
"""The name of the field that an answer is typed into."""
_UNIT = re.compile(r"(?<=\d) (?=(?:mm|%|px)\b|[%\u00d7])")
_TONE_SIGN = {"good": "fits", "bad": "outside"}
_BUTTON_PX, _TASK_PX, _LINE_PX, _SUM_PX = 34, 22, 20, 18


@dataclass(frozen=True)
class HeadContent:
    """Which lesson it is and how far one has come. ``now``: the stage, counted from 0."""

    note: str
    title: str
    stages: tuple[str, ...]
    now: int


@dataclass(frozen=True)
class ButtonRow:
    """A button. ``key``: the key that presses it."""

    name: str
    label: str
    key: str
    is_main: bool


@dataclass(frozen=True)
class BodyContent:
    """What is said and asked. ``steps``: (shown, of how many) while a reveal goes on."""

    scenes: tuple[str, ...]
    scene: int
    can_change: bool
    steps: tuple[int, int] | None
    lines: tuple[Line, ...]
    field: Field | None
    editing: Editing | None
    buttons: tuple[ButtonRow, ...]


@dataclass(frozen=True)
class LiveContent:
    """How the cup stands now."""

    verdict: str
    word: str
    clearance: str
    rows: tuple[tuple[str, str], ...]


LessonContent = HeadContent | BodyContent | LiveContent


def lesson_contents(frame: Frame) -> list[LessonContent]:
    """What the panel says in a lesson, from top to bottom."""
    shown = frame.lesson
    if shown is None or shown.view is None or frame.session is None:
        return []
    view = shown.view
    return [_head(view, shown.learner), _body(view, frame.editing), _live(frame)]


def _head(view: LessonView, learner: str) -> HeadContent:
    note = f"Lesson {view.number}" + (f" \u00b7 {learner}" if learner else "")
    return HeadContent(note, view.title, view.stages, list(Stage).index(view.stage))


def _body(view: LessonView, editing: Editing | None) -> BodyContent:
    keys = button_keys(view)
    buttons = [ButtonRow(c.name, c.label, keys[c.name], c.is_main) for c in view.choices]
    return BodyContent(
        scenes=view.scene_names,
        scene=view.scene,
        can_change=view.stage is Stage.TRY,
        steps=view.step if view.stage is Stage.REVEAL else None,
        lines=view.lines,
        field=view.field,
        editing=editing if editing is not None and editing.name == ANSWER else None,
        buttons=tuple(buttons),
    )


def _live(frame: Frame) -> LiveContent:
    session = frame.session
    assert session is not None
    placed, cup = frame.placed[session.cup_index], session.cup
    named = f"\u00d8 {cup.diameter_mm:g} mm" if cup.named_by == "inside" else cup.name
    rows = [("cup", named)]
    if cup.named_by != "inside":
        rows.append(("ring, each side", f"{cup.ring_width_mm:g} mm"))
    has_margin = cup.max_image_diameter_mm < cup.ring_inner_diameter_mm
    if has_margin and frame.lesson is not None and not frame.lesson.is_answer_hidden:
        rows.append(("largest image", f"\u00d8 {down(cup.max_image_diameter_mm, 2)} mm"))
    if session.limits.pad is not None:
        rows.append(("pad", str(session.limits.pad).replace(" x ", " \u00d7 ")))
    if session.limits.etch is not None:
        rows.append(("etch area", str(session.limits.etch).replace(" x ", " \u00d7 ")))
    rows.append(("angle", f"{signed(session.placement.turn_deg, 1)}\u00b0"))
    said = f"{clearance(placed.clearance_mm)} mm"
    return LiveContent(str(placed.verdict), verdict_word(placed), said, tuple(rows))


def held(text: str) -> str:
    """The text with every number held together with its unit, wherever its lines break."""
    return _UNIT.sub("\u00a0", text)


def draw_lesson(content: LessonContent, layout: Layout, texts: Texts) -> Card:
    """Draw a card of a lesson."""
    match content:
        case HeadContent():
            return _draw_head(content, layout, texts)
        case BodyContent():
            return _Body(content, layout, texts).draw()
        case LiveContent():
            return _draw_live(content, layout, texts)


# --- where one stands ---------------------------------------------------------------------


def _draw_head(content: HeadContent, layout: Layout, texts: Texts) -> Card:
    px = layout.px
    width = card_width(layout) - px(28)
    title = texts.wrap(content.title, width, px(16), True)
    card = blank_card(layout, px(30) + px(22) * len(title) + px(46))
    texts.where = "card:lesson-head"
    note = pygame.Rect(px(14), px(8), width, px(20))
    # A name has no greatest length: cut on purpose.
    said = texts.cut(content.note, width, px(12.5))
    texts.draw(card.surface, said, note, px(12.5), theme.TEXT_SOFT)
    y = px(29)
    for line in title:
        texts.draw(
            card.surface, line, pygame.Rect(px(14), y, width, px(22)), px(16), theme.TEXT, bold=True
        )
        y += px(22)
    box = pygame.Rect(px(14), y + px(8), width, px(30))
    _draw_stages(card.surface, content, box, layout, texts)
    return card


def _draw_stages(
    surface: pygame.Surface, content: HeadContent, box: pygame.Rect, layout: Layout, texts: Texts
) -> None:
    """A bar and a word for each stage: gone through, thick at the present one, still to come."""
    px, gap, count = layout.px, layout.px(7), len(content.stages)
    free = box.width - gap * (count - 1)
    size = texts.size_that_fits(" ".join(content.stages), free, layout.ui, 12.5, True)
    wides = [texts.width(word, size, True) for word in content.stages]
    # Long words get more room: what is left over is shared out.
    spare = max(0, free - sum(wides)) // count
    x = box.x
    for number, (word, least) in enumerate(zip(content.stages, wides, strict=True)):
        wide = least + spare
        column = pygame.Rect(x, box.y, wide, box.height)
        x += wide + gap
        is_now = number == content.now
        color = theme.SKY if number <= content.now else theme.TRACK
        high = px(6) if is_now else px(2.5)
        bar = pygame.Rect(column.x, column.y + (px(6) - high) // 2, wide, high)
        rounded(surface, bar, high // 2, color)
        ink = theme.TEXT if is_now else theme.TEXT_DIM
        place = pygame.Rect(column.x, column.y + px(9), wide, px(18))
        texts.draw(surface, word, place, size, ink, bold=is_now, align="center")


# --- what is said and asked ---------------------------------------------------------------


class _Body:
    """Draws the card from top to bottom, after it has been measured the same way."""

    def __init__(self, content: BodyContent, layout: Layout, texts: Texts) -> None:
        self._content, self._layout, self._texts = content, layout, texts
        self._width = card_width(layout) - layout.px(28)
        self._card = blank_card(layout, 1)
        self._is_drawing = False
        self._y = 0

    def draw(self) -> Card:
        """The card."""
        self._all()
        self._card, self._is_drawing = blank_card(self._layout, self._y), True
        self._texts.where = "card:lesson"
        self._all()
        return self._card

    def _all(self) -> None:
        px, content = self._layout.px, self._content
        self._y = px(12)
        self._scenes()
        if content.steps is not None:
            self._steps(content.steps)
        sums = [line for line in content.lines if line.tone == "sum"]
        for line in content.lines:
            if line.tone == "sum":
                if line is sums[0]:
                    self._sums(sums)
                continue
            self._line(line)
        if content.field is not None:
            self._field(content.field)
        for button in content.buttons:
            self._button(button)
        self._y += px(6)

    def _box(self, height: int, gap: int = 0) -> pygame.Rect:
        box = pygame.Rect(self._layout.px(14), self._y, self._width, height)
        self._y += height + gap
        return box

    def _write(
        self, text: str, box: pygame.Rect, size: float, color: theme.Rgb, bold: bool = False
    ) -> None:
        if self._is_drawing:
            big = self._layout.px(size)
            self._texts.draw(self._card.surface, text, box, big, color, bold=bold)

    def _scenes(self) -> None:
        """Which artwork is on the bench: the chosen one is bold and has a bar under it."""
        content, px = self._content, self._layout.px
        if not content.scenes:
            return
        gap, count, size = px(6), len(content.scenes), px(12.5)
        wide = (self._width - gap * (count - 1)) // count
        longest = max(self._texts.width(name, size, True) for name in content.scenes)
        # Side by side where the names are short enough, else one above the other.
        is_row = longest <= wide - px(10)
        step = 0 if is_row else px(31)
        row = self._box(px(28) + step * (count - 1), px(10))
        if not self._is_drawing:
            return
        surface = self._card.surface
        for number, name in enumerate(content.scenes):
            box = pygame.Rect(row.x, row.y + number * step, self._width, px(28))
            if is_row:
                box.x, box.width = row.x + number * (wide + gap), wide
            is_chosen = number == content.scene
            rounded(surface, box, px(5), theme.CARD_ROW if is_chosen else theme.CARD, theme.TRACK)
            if is_chosen:
                bar = (box.x + px(8), box.bottom - px(4), box.width - px(16), px(3))
                surface.fill(theme.SKY, bar)
            color = theme.TEXT if is_chosen or content.can_change else theme.TEXT_DIM
            inner = box.inflate(-px(8), 0)
            self._texts.draw(surface, name, inner, size, color, bold=is_chosen, align="center")
            if content.can_change:
                self._card.hits.append((f"lesson:scene:{number}", box))

    def _steps(self, steps: tuple[int, int]) -> None:
        """Step 2 of 4, with a dot for each."""
        px, row = self._layout.px, self._box(self._layout.px(20), self._layout.px(2))
        self._write(f"step {steps[0]} of {steps[1]}", row, 12.5, theme.TEXT_SOFT)
        if not self._is_drawing:
            return
        radius, apart = px(3.5), px(13)
        x = row.right - apart * (steps[1] - 1) - radius
        for number in range(1, steps[1] + 1):
            size = radius + (px(1.5) if number == steps[0] else 0)
            dot = pygame.Rect(0, 0, 2 * size, 2 * size)
            dot.center = (x + (number - 1) * apart, row.centery)
            rounded(self._card.surface, dot, size, theme.SKY if number <= steps[0] else theme.TRACK)

    def _line(self, line: Line) -> None:
        """A paragraph; an answer to the person has its sign before it."""
        px, sign = self._layout.px, _TONE_SIGN.get(line.tone)
        indent = px(22) if sign else 0
        is_bold = sign is not None
        color = theme.VERDICT_TEXT[sign] if sign else theme.TEXT
        if line.tone == "plain" and not sign:
            color = theme.TEXT if self._content.steps is not None else theme.TEXT_SOFT
        size = 16.0 if line.tone == "task" else 14.0
        rows = self._texts.wrap(held(line.text), self._width - indent, px(size), is_bold)
        for index, text in enumerate(rows):
            box = self._box(px(_LINE_PX if size < 16 else _TASK_PX))
            if sign and index == 0 and self._is_drawing:
                image = verdict_sign(sign, px(14), color)
                self._card.surface.blit(image, (box.x, box.y + (box.height - px(14)) // 2))
            box.x, box.width = box.x + indent, box.width - indent
            self._write(text, box, size, color, bold=is_bold)
        self._y += px(9)

    def _sums(self, lines: list[Line]) -> None:
        """The worked sum, in a block of its own."""
        px, pad = self._layout.px, self._layout.px(10)
        wide = self._width - 2 * pad
        rows = [row for one in lines for row in self._texts.wrap(held(one.text), wide, px(12.5))]
        block = self._box(px(_SUM_PX) * len(rows) + px(12), px(9))
        if not self._is_drawing:
            return
        rounded(self._card.surface, block, px(5), theme.CARD_ROW)
        for index, text in enumerate(rows):
            y = block.y + px(6) + index * px(_SUM_PX)
            box = pygame.Rect(block.x + pad, y, wide, px(_SUM_PX))
            self._write(text, box, 12.5, theme.TEXT)

    def _field(self, field: Field) -> None:
        px, content, texts = self._layout.px, self._content, self._texts
        self._write(field.label, self._box(px(19), px(1)), 12.5, theme.TEXT_SOFT)
        row = self._box(px(34), px(6))
        unit = texts.width(field.unit, px(14)) + px(8) if field.unit else px(2)
        word = texts.width("Enter", px(12.5), True) + px(24)
        box = pygame.Rect(row.x, row.y, row.width - unit - word - px(8), row.height)
        if self._is_drawing:
            surface, layout = self._card.surface, self._layout
            draw_field(surface, box, field.text, content.editing, layout, texts, size=16)
            place = pygame.Rect(box.right + px(8), row.y, unit, row.height)
            texts.draw(surface, field.unit, place, px(14), theme.TEXT_SOFT)
            enter = pygame.Rect(row.right - word, row.y, word, row.height)
            rounded(surface, enter, px(6), theme.BUTTON_MAIN)
            inner = enter.inflate(-px(8), 0)
            texts.draw(
                surface, "Enter", inner, px(12.5), theme.TEXT_ON_MAIN, bold=True, align="center"
            )
            self._card.hits += [(f"field:{ANSWER}", box), ("lesson:enter", enter)]
        error = content.editing.error if content.editing is not None else ""
        for text in texts.wrap(error, self._width, px(12.5)) if error else []:
            self._write(text, self._box(px(17)), 12.5, theme.VERDICT_TEXT["outside"])
        self._y += px(4)

    def _button(self, button: ButtonRow) -> None:
        """The label at the left, the key that presses it at the right."""
        px, texts = self._layout.px, self._texts
        cap = texts.width(button.key, px(11)) + px(14)
        room = self._width - cap - px(32)
        label = held(button.label)
        size = px(14 if texts.width(label, px(14), True) <= room else 12.5)
        rows = texts.wrap(label, room, size, True)
        box = self._box(px(_BUTTON_PX) + px(19) * (len(rows) - 1), px(7))
        if not self._is_drawing:
            return
        surface = self._card.surface
        is_main = button.is_main
        rounded(surface, box, px(6), theme.BUTTON_MAIN if is_main else theme.BUTTON)
        ink = theme.TEXT_ON_MAIN if is_main else theme.TEXT
        y = box.y + (box.height - px(19) * len(rows)) // 2
        for row in rows:
            place = pygame.Rect(box.x + px(12), y, room, px(19))
            texts.draw(surface, row, place, size, ink, bold=True)
            y += px(19)
        key = pygame.Rect(box.right - px(10) - cap, box.y, cap, px(20))
        key.centery = box.centery
        ground = theme.BUTTON_MAIN if is_main else theme.BUTTON
        rounded(surface, key, px(4), ground, ink, max(1, round(self._layout.ui)))
        inner = key.inflate(-px(4), 0)
        texts.draw(surface, button.key, inner, px(11), ink, align="center")
        self._card.hits.append((f"lesson:press:{button.name}", box))


# --- how the cup stands -------------------------------------------------------------------


def _draw_live(content: LiveContent, layout: Layout, texts: Texts) -> Card:
    """The clearance so large that it is seen beside the ring while it moves."""
    px = layout.px
    width = card_width(layout) - px(28)
    card = blank_card(layout, px(114) + px(20) * len(content.rows))
    surface = card.surface
    texts.where = "card:live"
    color = theme.VERDICT_TEXT[content.verdict]
    title = pygame.Rect(px(14), px(8), width, px(18))
    texts.draw(surface, "clearance here, now", title, px(12.5), theme.TEXT_SOFT)
    big = px(2 * 20)
    while big > px(20) and texts.width(content.clearance, big, True) > width:
        big -= 1
    number = pygame.Rect(px(14), px(26), width, px(46))
    texts.draw(surface, content.clearance, number, big, theme.TEXT, bold=True)
    surface.blit(verdict_sign(content.verdict, px(18), color), (px(14), px(78)))
    word = pygame.Rect(px(14) + px(25), px(75), width - px(25), px(24))
    texts.draw(surface, content.word, word, px(16), color, bold=True)
    y = px(105)
    for label, value in content.rows:
        split = texts.width(label, px(12.5)) + px(8)
        texts.draw(surface, label, pygame.Rect(px(14), y, split, px(19)), px(12.5), theme.TEXT_SOFT)
        place = pygame.Rect(px(14) + split, y, width - split, px(19))
        size = texts.size_that_fits(value, place.width, layout.ui, 12.5, True)
        texts.draw(surface, value, place, size, theme.TEXT, bold=True, align="right")
        y += px(20)
    return card
