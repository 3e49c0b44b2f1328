"""A question over the bench as one value: words, fields, a list, buttons, a picture."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.screen.artwork_layer import Levels
from viewer.screen.camera import Camera

PREVIEW = "preview"
"""The name of the picture, as a thing that can have the keyboard."""


@dataclass(frozen=True)
class Field:
    """A line to type in. ``is_wide``: it takes a path and the whole width."""

    name: str
    label: str
    hint: str = ""
    is_wide: bool = False


@dataclass(frozen=True)
class Row:
    """One line of a list that can be chosen."""

    name: str
    label: str
    note: str = ""


@dataclass(frozen=True)
class Button:
    """``key``: the letter that presses it while no field has the keyboard."""

    name: str
    label: str
    key: str = ""
    is_main: bool = False


@dataclass(frozen=True, eq=False)
class Preview:
    """A picture without a scale, to click two points on. mm are of an assumed scale."""

    levels: Levels | None
    camera: Camera | None
    points_mm: tuple[tuple[float, float], ...] = ()
    cursor_mm: tuple[float, float] | None = None
    note: str = ""


@dataclass(frozen=True)
class Dialog:
    """What is asked. ``texts``: what stands in the fields without the keyboard.

    ``focus`` names the field, row or button that has the keyboard.
    """

    title: str
    lines: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    texts: tuple[tuple[str, str], ...] = ()
    rows_title: str = ""
    rows: tuple[Row, ...] = ()
    buttons: tuple[Button, ...] = ()
    focus: str = ""
    is_error: bool = False
    preview: Preview | None = None

    @property
    def stops(self) -> tuple[str, ...]:
        """Everything that can have the keyboard, in the order of Tab."""
        names = [field.name for field in self.fields]
        names += [row.name for row in self.rows]
        names += [PREVIEW] if self.preview is not None and self.preview.levels else []
        return tuple(names + [button.name for button in self.buttons])

    def has_field(self, name: str) -> bool:
        """Whether a name is that of a line to type in."""
        return any(field.name == name for field in self.fields)


@dataclass(frozen=True)
class Listed:
    """A small list on the bench: files dropped together, or files opened lately.

    ``is_middle``: it stands in the middle of the empty bench, below what that says.
    """

    title: str
    rows: tuple[Row, ...]
    chosen: int = -1
    is_middle: bool = False


@dataclass(frozen=True)
class Filed:
    """What the card of the file says about its job, its pages and its notes."""

    kept: str = ""
    is_unsaved: bool = False
    notes: str = ""
    page: int = 1
    pages: int = 1
