"""How the window looks just now, apart from what it is about: theme, size, focus, tips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

CARD_MM = (85.60, 53.98)
"""Width and height of a card of ISO/IEC 7810 size ID-1: bank cards, many identity cards."""
CARD_CORNER_MM = 3.18
"""Radius of its corners; the standard allows 2.88 to 3.48."""


@dataclass(frozen=True)
class Tip:
    """What a thing is for. ``box``: the thing, in window px: x, y, width, height."""

    words: str
    keys: str
    box: tuple[int, int, int, int]


@dataclass(frozen=True)
class CardOutline:
    """The outline that is fitted to a card laid on the screen, in window px."""

    center_px: tuple[float, float]
    width_px: float

    @property
    def px_per_mm(self) -> float:
        """What the outline says about this screen."""
        return self.width_px / CARD_MM[0]

    @property
    def height_px(self) -> float:
        """Height of the outline, by the card's own proportions."""
        return self.width_px * CARD_MM[1] / CARD_MM[0]


@dataclass(frozen=True)
class Look:
    """``theme``: "dark" or "light". ``ui_factor``: 0.8 to 2.0."""

    theme: str = "dark"
    ui_factor: float = 1.0
    focus: str = ""
    """What the Tab key has come to: the name of a thing in the panel, "curve", or nothing."""
    tip: Tip | None = None
    message: str = ""
    """One line about what was just switched."""
    is_big: bool = False
    """The verdict fills the window, to be read across the room."""
    help_scroll_px: int = 0
    calibrating: CardOutline | None = None
    screen_px_per_mm: float | None = None
    """True size of this screen's pixels; None: not calibrated."""
    is_life_size: bool = False

    @property
    def is_over(self) -> bool:
        """Whether something stands over the rest, so that all of it is drawn anew."""
        return bool(self.focus or self.tip or self.is_big or self.calibrating)


class LookActions(Protocol):
    """What commands may do to the look."""

    def toggle_theme(self) -> None:
        """Light where it is dark, dark where it is light."""

    def follow_system(self) -> None:
        """Light or dark as the system is."""

    def step_ui(self, step: int) -> None:
        """Larger or smaller letters and cards; 0: as large as usual."""

    def toggle_big(self) -> None:
        """Let the verdict fill the window."""

    def toggle_life_size(self) -> None:
        """Show everything in true size; calibrate the screen first, where it is not."""

    def calibrate(self) -> None:
        """Fit an outline to a card laid on the screen."""

    def move_focus(self, step: int) -> None:
        """Go to the next thing that can be used, or the one before."""

    def scroll_cards(self, step: int) -> None:
        """Scroll the cards by most of their height."""
