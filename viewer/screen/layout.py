"""Where the parts of the window are, for any size of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import pygame

from viewer.screen.theme import ui_scale

LEAST_WIDTH_PX, LEAST_HEIGHT_PX = 768, 480
"""The window, in px of the 1600 x 1000 layout, that letters must leave room for."""


@dataclass(frozen=True)
class Layout:
    """Rectangles in window px. ``view`` is the bench without its rulers."""

    size: tuple[int, int]
    ui: float
    limited_to: float | None = None
    """The UI scale that is shown where the wished one needs a larger window."""

    def px(self, value: float) -> int:
        """A measure of the 1600 x 1000 layout at the present size."""
        return max(1, round(value * self.ui))

    @cached_property
    def ruler_px(self) -> int:
        """Thickness of both rulers."""
        return self.px(24)

    @cached_property
    def panel(self) -> pygame.Rect:
        """The column of cards at the right."""
        width = self.px(332)
        return pygame.Rect(self.size[0] - width, 0, width, self.size[1])

    @cached_property
    def status(self) -> pygame.Rect:
        """The line at the bottom."""
        height = self.px(32)
        return pygame.Rect(0, self.size[1] - height, self.panel.x, height)

    @cached_property
    def strip(self) -> pygame.Rect:
        """The curve of clearance against angle."""
        height = self.px(126)
        return pygame.Rect(0, self.status.y - height, self.panel.x, height)

    @cached_property
    def bench(self) -> pygame.Rect:
        """Rulers and view together."""
        return pygame.Rect(0, 0, self.panel.x - self.px(8), self.strip.y)

    @cached_property
    def view(self) -> pygame.Rect:
        """Where page and cups are seen."""
        bench, ruler = self.bench, self.ruler_px
        return pygame.Rect(ruler, ruler, bench.width - ruler, bench.height - ruler)


@lru_cache(maxsize=8)
def layout_for(size: tuple[int, int], ui_factor: float = 1.0) -> Layout:
    """The layout of a window; sizes below 640 x 400 are laid out as that.

    ``ui_factor``: the UI scale that a person has set, 0.8 to 2.0. Letters and cards never
    grow until nothing is left of the bench: ``limited_to`` then says what is shown.
    """
    width, height = max(640, size[0]), max(400, size[1])
    usual = ui_scale(width, height)
    most = max(usual, min(width / LEAST_WIDTH_PX, height / LEAST_HEIGHT_PX))
    ui = min(usual * ui_factor, most)
    limited = ui / usual if ui < usual * ui_factor * (1 - 1e-9) else None
    return Layout((width, height), ui, limited)
