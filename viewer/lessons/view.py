"""What a lesson shows just now, as one value: the window only draws it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from viewer.lessons.marks import Mark


class Stage(StrEnum):
    """Where a lesson stands."""

    TRY = "try"
    PREDICT = "predict"
    REVEAL = "reveal"
    CHECK = "check"
    DONE = "done"


Tone = Literal["plain", "task", "good", "bad", "sum"]


@dataclass(frozen=True)
class Line:
    """A paragraph. ``good`` and ``bad`` answer a person; ``sum`` is a line of a worked sum."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Field:
    """A number to type."""

    label: str
    unit: str
    text: str = ""


@dataclass(frozen=True)
class Choice:
    """A button; ``is_main``: the one that Enter presses."""

    name: str
    label: str
    is_main: bool = False


@dataclass(frozen=True)
class LessonView:
    """``scene``: which of the scenes is shown; ``scene_names`` is empty where there is one."""

    key: str
    number: int
    title: str
    stage: Stage
    stages: tuple[str, ...]
    """The words for all stages, in order."""
    lines: tuple[Line, ...]
    field: Field | None
    choices: tuple[Choice, ...]
    scene: int
    scene_names: tuple[str, ...]
    marks: tuple[Mark, ...]
    step: tuple[int, int] = (0, 0)
    """Of the reveal: how many steps are shown, of how many."""
