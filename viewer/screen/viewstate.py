"""Everything that one frame of the window shows, as one immutable value."""

from __future__ import annotations

from dataclasses import dataclass, field

from viewer.fit import AngleCurve, PlacedFit
from viewer.screen.artwork_layer import Levels, Sharp
from viewer.screen.camera import Camera
from viewer.screen.dialog import Dialog, Filed, Listed
from viewer.screen.lesson_shown import LessonShown
from viewer.screen.look import Look
from viewer.screen.model import Session
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.signing_shown import SigningShown
from viewer.screen.tools import Tools


@dataclass(frozen=True)
class Editing:
    """A text field that has the keyboard. ``error``: why its text was refused."""

    name: str
    text: str
    caret: int
    error: str = ""
    is_untouched: bool = True
    """The first letter typed replaces what stood there."""
    choice: int = -1
    """Which line of the field's list the arrows have come to; -1: none."""
    is_changed: bool = False
    """Whether its text was changed since it got the keyboard."""


@dataclass(frozen=True)
class Notice:
    """One clear line over the bench: what is wrong and what to do.

    ``field`` names a text field offered in it, if there is one.
    """

    text: str
    is_error: bool = True
    field: str = ""
    label: str = ""


@dataclass(frozen=True)
class Loading:
    """A file being read."""

    file_name: str
    step: str
    fraction: float


@dataclass(frozen=True)
class Frame:
    """The window's content. Without a session the bench is empty."""

    size: tuple[int, int]
    session: Session | None = None
    placed: tuple[PlacedFit, ...] = ()
    camera: Camera | None = None
    levels: Levels | None = None
    sharp: Sharp | None = None
    editing: Editing | None = None
    notice: Notice | None = None
    loading: Loading | None = None
    dialog: Dialog | None = None
    """What is asked over the bench; it takes all keys and clicks."""
    listed: Listed | None = None
    filed: Filed | None = None
    tools: Tools = field(default_factory=Tools)
    """What the artist's tools show."""
    look: Look = field(default_factory=Look)
    """Theme, UI scale, and what lies over everything else."""
    signing: SigningShown | None = None
    """The sign-off, which fills the window."""
    numbers: NumbersShown | None = None
    """Sizing by numbers alone, in place of the artwork's cards."""
    lesson: LessonShown | None = None
    """The list of lessons, or the lesson that is on."""
    is_help_open: bool = False
    is_warnings_open: bool = False
    panel_scroll_px: int = 0
    can_undo: bool = False
    can_redo: bool = False
    curve: AngleCurve | None = None
    """Clearance against angle for the chosen cup; that of before while ``is_curve_old``."""
    is_curve_old: bool = False
    is_working: bool = False
    """Whether a thread is still working out the fit or the curve."""
    is_gliding: bool = False
    hover_deg: float | None = None
    """The angle under the pointer, in the curve."""
