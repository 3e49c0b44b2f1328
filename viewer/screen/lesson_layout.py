"""Where the parts of the window are in a lesson, and for the list of lessons."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import pygame

from viewer.screen.layout import Layout, layout_for
from viewer.screen.lesson_shown import LessonShown

PAGE_PX = 700
_FAR_PX = 1000
"""What is not there is put so far beyond the window that no pointer comes to it."""


class NoCurveLayout(Layout):
    """The bench goes down to the line at the bottom: there is no curve."""

    @cached_property
    def strip(self) -> pygame.Rect:
        """Beyond the window."""
        return pygame.Rect(0, self.size[1] + self.px(_FAR_PX), self.panel.x, self.px(126))

    @cached_property
    def bench(self) -> pygame.Rect:
        """Rulers and view together."""
        return pygame.Rect(0, 0, self.panel.x - self.px(8), self.status.y)


class PageLayout(Layout):
    """One column of cards in the middle, and the line at the bottom."""

    @cached_property
    def panel(self) -> pygame.Rect:
        """The column."""
        width = min(self.px(PAGE_PX), self.size[0] - 2 * self.px(16))
        return pygame.Rect((self.size[0] - width) // 2, 0, width, self.status.y)

    @cached_property
    def status(self) -> pygame.Rect:
        """The line at the bottom."""
        height = self.px(32)
        return pygame.Rect(0, self.size[1] - height, self.size[0], height)

    @cached_property
    def strip(self) -> pygame.Rect:
        """Beyond the window."""
        return pygame.Rect(0, self.size[1] + self.px(_FAR_PX), self.size[0], self.px(126))

    @cached_property
    def bench(self) -> pygame.Rect:
        """All of the window: nothing is drawn on it."""
        return pygame.Rect(0, 0, self.size[0] - self.ruler_px, self.status.y)


@dataclass(frozen=True)
class _Wish:
    size: tuple[int, int]
    ui_factor: float
    kind: type[Layout]


@lru_cache(maxsize=8)
def _made(wish: _Wish) -> Layout:
    plain = layout_for(wish.size, wish.ui_factor)
    return wish.kind(plain.size, plain.ui, plain.limited_to)


def lesson_layout(
    size: tuple[int, int], ui_factor: float, is_page: bool, has_curve: bool
) -> Layout:
    """The layout of a window that shows the list of lessons, or a lesson."""
    if is_page:
        return _made(_Wish(size, ui_factor, PageLayout))
    if has_curve:
        return layout_for(size, ui_factor)
    return _made(_Wish(size, ui_factor, NoCurveLayout))


def layout_of(size: tuple[int, int], ui_factor: float, lesson: LessonShown | None) -> Layout:
    """The layout of a window, in lessons or not."""
    if lesson is None:
        return layout_for(size, ui_factor)
    return lesson_layout(size, ui_factor, lesson.page is not None, lesson.has_curve)
