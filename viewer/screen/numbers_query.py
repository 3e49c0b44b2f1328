"""The fields of sizing by numbers: what may stand in them, and the question they make."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from viewer.errors import UsageError
from viewer.sizing import (
    Measure,
    Shape,
    SizeQuery,
    is_pair,
    parse_measure,
    parse_shape,
    parse_sides,
)
from viewer.sizing.shapes import ShapeKind

WIDTH, HEIGHT, DIAGONAL = "numbers:width", "numbers:height", "numbers:diagonal"
SHAPE, RADIUS = "numbers:shape", "numbers:radius"
LABELS = {
    WIDTH: "width",
    HEIGHT: "height",
    DIAGONAL: "longest diagonal",
    SHAPE: "shape",
    RADIUS: "corner radius",
}
KINDS: tuple[tuple[ShapeKind, str], ...] = (
    ("unknown", "any outline"),
    ("rectangle", "full corners"),
    ("ellipse", "or a circle"),
    ("rounded", "round corners"),
    ("triangle", "on its width"),
)
"""The shapes to choose from, and a word on each."""

_FOR_THE_WINDOW = (
    (" the longest diagonal alone is given with --diagonal 80", " the diagonal has its own field"),
    ("; the longest diagonal is given with --diagonal", "; the diagonal has its own field"),
    ("say --shape unknown", "choose the shape unknown"),
    (", or --diagonal 80, or both", ", or the longest diagonal, or both"),
)


@dataclass(frozen=True)
class Typed:
    """What stands in the fields, as it was typed. All empty at the start."""

    width: str = ""
    height: str = ""
    diagonal: str = ""
    kind: ShapeKind = "unknown"
    radius: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether no number is there."""
        return not (self.width or self.height or self.diagonal)

    @property
    def is_new(self) -> bool:
        """Whether there is nothing to clear."""
        return self == Typed()

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields shown, in the order of the Tab key."""
        every = (WIDTH, HEIGHT, DIAGONAL, SHAPE)
        return (*every, RADIUS) if self.kind == "rounded" else every

    def text(self, field: str) -> str:
        """What stands in a field."""
        return self.kind if field == SHAPE else str(getattr(self, field.partition(":")[2]))


def entered(typed: Typed, field: str, text: str) -> Typed:
    """The fields with one set to a text; UsageError says what is wrong with that text.

    ``66x88`` in the width fills both sides.
    """
    text = text.strip()
    if field == SHAPE:
        return _with_shape(typed, text)
    if field == WIDTH and is_pair(text):
        width, height = parse_sides(text)
        return replace(typed, width=width.text, height=height.text)
    if text and field == RADIUS:
        parse_shape(f"rounded:{text}")
    elif text:
        parse_measure(text, LABELS[field])
    if field == WIDTH:
        return replace(typed, width=text)
    if field == HEIGHT:
        return replace(typed, height=text)
    return replace(typed, diagonal=text) if field == DIAGONAL else replace(typed, radius=text)


def _with_shape(typed: Typed, text: str) -> Typed:
    """A shape by its name, or as much of it as tells it from the others."""
    begun, colon, radius = (part.strip().lower() for part in (text or "unknown").partition(":"))
    found = [kind for kind, _ in KINDS if kind.startswith(begun)]
    if len(found) != 1 or (colon and found[0] != "rounded"):
        names = ", ".join(kind for kind, _ in KINDS)
        raise UsageError(f"shape {text[:40]!r}: choose one of {names}")
    changed = replace(typed, kind=found[0])
    return entered(changed, RADIUS, radius) if radius else changed


def missing(typed: Typed) -> str:
    """What has still to be asked for before there is an answer; empty where there is one."""
    if typed.is_empty:
        return "type width and height, or the longest diagonal"
    if bool(typed.width) != bool(typed.height):
        other = "height" if typed.width else "width"
        return f"the {other} is missing"
    if typed.kind == "rounded" and not typed.radius:
        return "the corner radius is missing"
    return ""


def query_of(typed: Typed) -> SizeQuery:
    """The question; nothing may be ``missing``. UsageError: the numbers contradict each other."""
    rounded = typed.kind == "rounded"
    shape = parse_shape(f"rounded:{typed.radius}") if rounded else Shape(typed.kind)
    width = _measure(typed.width, WIDTH)
    return SizeQuery(
        width, _measure(typed.height, HEIGHT), _measure(typed.diagonal, DIAGONAL), shape
    )


def _measure(text: str, field: str) -> Measure | None:
    return parse_measure(text, LABELS[field]) if text else None


def window_words(message: str) -> str:
    """An error without the words that only the command line needs."""
    for said, better in _FOR_THE_WINDOW:
        message = message.replace(said, better)
    return re.sub(r"\+-", "\u00b1", message)
