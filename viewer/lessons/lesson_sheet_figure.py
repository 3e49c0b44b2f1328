"""The drawings of a lesson's sheet side by side, with what their lines mean below. Mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from viewer.geometry import Bounds
from viewer.lessons.lesson_sheet_drawing import INK, INK_GRAY, Panel, panel_items
from viewer.lessons.texts import Words
from viewer.sheets.cup_drawing import Key, area_keys, keys_of
from viewer.sheets.draw_list import Item, Text, box, line
from viewer.sheets.text_flow import Measure, shortened, wrapped

CAPTION_MM = 2.7
_CAPTION_STEP_MM = 3.7
_KEY_MM = 2.4
_KEY_STEP_MM = 3.5
_SAMPLE_MM = 10.0
_LEAST_WIDTH_MM = 64.0


@dataclass(frozen=True)
class PlacedPanel:
    """A panel, its top left corner in the figure, and what stands under it."""

    panel: Panel
    x: float
    y: float
    captions: tuple[str, ...]


@dataclass(frozen=True)
class Figure:
    """All panels at one scale. ``keys``: what the lines mean; None for the gray of the ink."""

    placed: tuple[PlacedPanel, ...]
    keys: tuple[tuple[Key, ...], ...]
    """In columns."""
    scale: Fraction
    width: float
    panels_height: float

    @property
    def height(self) -> float:
        """Of panels and keys together."""
        rows = max((len(column) for column in self.keys), default=0)
        return self.panels_height + 2.0 + rows * _KEY_STEP_MM


def figure_of(
    panels: Sequence[Panel], scale: Fraction, most_mm: float, words: Words, measure: Measure
) -> Figure:
    """Panels in rows no wider than ``most_mm``, one alone excepted."""
    placed: list[PlacedPanel] = []
    x = y = row_height = width = 0.0
    names = {panel.name for panel in panels}
    for panel in panels:
        across, tall = panel.size_mm(float(scale))
        name = panel.name if len(names) > 1 else ""
        captions = wrapped(name, across, CAPTION_MM, True, measure)
        if x and x + across > most_mm + 1e-9:
            x, y, row_height = 0.0, y + row_height + 1.0, 0.0
        placed.append(PlacedPanel(panel, x, y, captions))
        x += across
        width = max(width, x)
        row_height = max(row_height, tall + len(captions) * _CAPTION_STEP_MM)
    keys = _keys(panels, scale, words)
    width = max(width, min(_LEAST_WIDTH_MM, most_mm))
    columns = _columns(keys, width, measure)
    return Figure(tuple(placed), columns, scale, width, y + row_height)


def figure_items(figure: Figure, x: float, y: float, measure: Measure) -> Iterator[Item]:
    """The figure with its top left corner there."""
    scale = float(figure.scale)
    for placed in figure.placed:
        across, tall = placed.panel.size_mm(scale)
        yield panel_items(placed.panel, (x + placed.x, y + placed.y), scale, measure)
        for index, caption in enumerate(placed.captions):
            base = y + placed.y + tall + 2.8 + index * _CAPTION_STEP_MM
            yield Text(
                x + placed.x + across / 2.0, base, caption, CAPTION_MM, bold=True, anchor="middle"
            )
    column_mm = figure.width / max(1, len(figure.keys))
    for index, column in enumerate(figure.keys):
        left, base = x + index * column_mm, y + figure.panels_height + 4.0
        for key in column:
            yield from _key_items(key, left, base, column_mm, measure)
            base += _KEY_STEP_MM


def _key_items(
    key: Key, x: float, base: float, width_mm: float, measure: Measure
) -> Iterator[Item]:
    middle = base - _KEY_MM * 0.34
    if key.stroke is INK:
        yield box(Bounds(x, middle - 1.1, x + 8.0, middle + 1.1), INK, INK_GRAY)
    elif key.stroke is not None:
        yield line(x, middle, x + 8.0, middle, key.stroke)
    aside = 0.0 if key.stroke is None else _SAMPLE_MM
    words = shortened(key.words, width_mm - aside - 2.0, _KEY_MM, False, measure)
    yield Text(x + aside, base, words, _KEY_MM)


def _keys(panels: Sequence[Panel], scale: Fraction, words: Words) -> tuple[Key, ...]:
    """Scale and ink, then what the lines of all scenes mean, each once."""
    scenes = [panel.scene for panel in panels if panel.scene is not None]
    ink = words.say("ink" if all(scene.parts for scene in scenes) else "outermost")
    keys = {"": Key(None, words.say("scale", scale=ratio(scale))), ink: Key(INK, ink)}
    for scene in scenes:
        for key in (*keys_of(scene.cup_fit.cup), *area_keys(scene.press.limits)):
            keys.setdefault(key.words, key)
    if any(panel.steps for panel in panels):
        keys["numbers"] = Key(None, words.say("numbers"))
    return tuple(keys.values())


def _columns(keys: Sequence[Key], width_mm: float, measure: Measure) -> tuple[tuple[Key, ...], ...]:
    """As many columns as the longest words allow, filled one after the other."""
    longest = max(measure(key.words, _KEY_MM, False) for key in keys) + _SAMPLE_MM + 3.0
    count = max(1, min(3, int(width_mm / longest)))
    rows = -(-len(keys) // count)
    return tuple(tuple(keys[at : at + rows]) for at in range(0, len(keys), rows))


def ratio(scale: Fraction) -> str:
    """``1:1``, ``2:3``."""
    return f"{scale.numerator}:{scale.denominator}"
