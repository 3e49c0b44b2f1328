"""Steps and exercises of a lesson's sheet, broken into lines of known height. Mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from viewer.geometry import Bounds
from viewer.lessons.answers import ChoiceAnswer
from viewer.lessons.lesson import Ask
from viewer.lessons.texts import Words
from viewer.sheets.draw_list import Item, Stroke, Text, box, circle, line
from viewer.sheets.text_flow import Measure, wrapped

LEADING = 1.36
STEP_INDENT_MM = 6.4
_NUMBER_MM = 7.0
_TO_WRITE_MM = 8.5
_BETWEEN_MM = 3.0
_STEP_GAP_MM = 1.6
_BOX_MM = 3.4
_BOX_INDENT_MM = 6.0
_MANY_OPTIONS = 4
"""So many stand in two columns where they are short."""
_WRITTEN = Stroke(0.2, 0.2)


@dataclass(frozen=True)
class StepBlock:
    """One step of the construction in words."""

    number: int
    rows: tuple[str, ...]
    size_mm: float

    @property
    def height(self) -> float:
        """With the gap to the next one."""
        return len(self.rows) * self.size_mm * LEADING + _STEP_GAP_MM


def step_blocks(
    texts: Sequence[str], width_mm: float, size_mm: float, measure: Measure
) -> tuple[StepBlock, ...]:
    """All steps for a column of this width."""
    room = width_mm - STEP_INDENT_MM
    return tuple(
        StepBlock(number, wrapped(text, room, size_mm, False, measure), size_mm)
        for number, text in enumerate(texts, 1)
    )


def step_items(blocks: Sequence[StepBlock], x: float, y: float) -> Iterator[Item]:
    """Steps one under another, each with its number in a disc as in the drawing."""
    for block in blocks:
        middle = y + block.size_mm * 0.75
        yield circle((x + 2.1, middle), 3.9, Stroke(0.2))
        yield Text(x + 2.1, middle + 0.9, str(block.number), 2.4, bold=True, anchor="middle")
        yield from _rows(block.rows, x + STEP_INDENT_MM, y, block.size_mm)
        y += block.height


def in_two(blocks: Sequence[StepBlock]) -> tuple[tuple[StepBlock, ...], tuple[StepBlock, ...]]:
    """Two columns of the same blocks, in order, as even as they can be."""

    def tallest(cut: int) -> float:
        return max(sum(block.height for block in part) for part in (blocks[:cut], blocks[cut:]))

    cut = min(range(len(blocks) + 1), key=lambda cut: (tallest(cut), -cut))
    return tuple(blocks[:cut]), tuple(blocks[cut:])


# --- exercises --------------------------------------------------------------------------


@dataclass(frozen=True)
class Exercise:
    """A question with room to answer it. ``options``: the lines of each, for a choice.

    ``across``: how many of them stand side by side.
    """

    number: int
    rows: tuple[str, ...]
    options: tuple[tuple[str, ...], ...]
    unit: str
    width_mm: float
    size_mm: float
    across: int = 1

    @property
    def height(self) -> float:
        """At the least."""
        rows = len(self.rows) * self.size_mm * LEADING
        if not self.options:
            return rows + _TO_WRITE_MM + _BETWEEN_MM
        return rows + 1.4 + sum(self.option_heights) + _BETWEEN_MM

    @property
    def option_heights(self) -> tuple[float, ...]:
        """Of each row of options."""
        deep = -(-len(self.options) // self.across)
        # Where several stand side by side each has one line.
        lines = [len(self.options[row]) if self.across == 1 else 1 for row in range(deep)]
        return tuple(count * self.size_mm * LEADING + 1.0 for count in lines)


@dataclass(frozen=True)
class ExerciseRow:
    """One or two exercises side by side."""

    exercises: tuple[Exercise, ...]

    @property
    def height(self) -> float:
        """That of the taller one."""
        return max(exercise.height for exercise in self.exercises)


def exercise_of(
    number: int, ask: Ask, width_mm: float, size_mm: float, measure: Measure
) -> Exercise:
    """A question for a column of this width, without its answer."""
    room = width_mm - _NUMBER_MM
    rows = wrapped(ask.text, room, size_mm, False, measure)
    answer = ask.answer
    if isinstance(answer, ChoiceAnswer):
        options = tuple(
            wrapped(option, room - _BOX_INDENT_MM, size_mm, False, measure)
            for option in answer.options
        )
        longest = max(measure(option, size_mm, False) for option in answer.options)
        is_short = longest <= room / 2.0 - _BOX_INDENT_MM - 2.0
        across = 2 if is_short and len(options) >= _MANY_OPTIONS else 1
        return Exercise(number, rows, options, "", width_mm, size_mm, across)
    unit = "\u00b0" if answer.unit == "deg" else answer.unit
    return Exercise(number, rows, (), unit, width_mm, size_mm)


def paired(exercises: Sequence[Exercise]) -> tuple[ExerciseRow, ...]:
    """Two to a row, in reading order."""
    return tuple(ExerciseRow(tuple(exercises[at : at + 2])) for at in range(0, len(exercises), 2))


def exercise_items(
    exercise: Exercise, x: float, y: float, height: float, words: Words, measure: Measure
) -> Iterator[Item]:
    """An exercise in a box of that height; what is left of it is room to work in."""
    size = exercise.size_mm
    yield Text(x, y + size, f"{exercise.number}", size, bold=True)
    left = x + _NUMBER_MM
    yield from _rows(exercise.rows, left, y, size)
    if exercise.options:
        yield from _options(exercise, left, y + len(exercise.rows) * size * LEADING + 1.4)
        return
    base = y + height - _BETWEEN_MM - 1.0
    label = words.say("answer")
    yield Text(left, base, label, size, gray=0.25)
    start = left + measure(label, size, False) + 2.0
    unit = measure(exercise.unit, size, False)
    end = min(x + exercise.width_mm - unit - 2.0, start + 42.0)
    yield line(start, base + 0.8, end, base + 0.8, _WRITTEN)
    if exercise.unit:
        yield Text(end + 1.5, base, exercise.unit, size)


def _options(exercise: Exercise, x: float, y: float) -> Iterator[Item]:
    size, deep = exercise.size_mm, len(exercise.option_heights)
    apart = (exercise.width_mm - _NUMBER_MM) / 2.0
    for index, option in enumerate(exercise.options):
        column, row = divmod(index, deep)
        left, upper = x + column * apart, y + sum(exercise.option_heights[:row])
        top = upper + (size * LEADING - _BOX_MM) / 2.0
        yield box(Bounds(left, top, left + _BOX_MM, top + _BOX_MM), _WRITTEN)
        yield from _rows(option, left + _BOX_INDENT_MM, upper + 0.35, size)


def _rows(rows: Sequence[str], x: float, y: float, size_mm: float) -> Iterator[Text]:
    for index, row in enumerate(rows):
        yield Text(x, y + size_mm + index * size_mm * LEADING, row, size_mm)
