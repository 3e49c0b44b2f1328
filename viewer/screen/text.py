"""Letters: one font family, cached renderings, and text that stays in its box."""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pygame

from viewer.screen.theme import Rgb

ELLIPSIS = "\u2026"
_BREAKS = re.compile(r"[ \t\r\n]+")


@dataclass(frozen=True)
class PlacedText:
    """What was drawn where; tests measure that nothing leaves its box."""

    where: str
    text: str
    rect: pygame.Rect
    box: pygame.Rect
    is_cut: bool
    size_px: int = 0


SIZES = (9.5, 11.0, 12.5, 14.0, 16.0, 20.0)
"""The one scale of letters, in px of the 1600 x 1000 layout: each an eighth above the one
before, or near it. Fine print, notes, words, figures, headings, names."""

FONT_FOLDER = Path(__file__).parents[1] / "fonts"
FONTS = (FONT_FOLDER / "DejaVuSans.ttf", FONT_FOLDER / "DejaVuSans-Bold.ttf")
"""Regular and bold. Only these are used, so that the window is the same everywhere."""


class Texts:
    """Renders and measures text; keeps what it rendered last."""

    def __init__(self, capacity: int = 1500) -> None:
        if not pygame.font.get_init():
            pygame.font.init()
        self._fonts: dict[tuple[int, bool], pygame.font.Font] = {}
        self._cache: OrderedDict[tuple[str, int, bool, Rgb], pygame.Surface] = OrderedDict()
        self._capacity = capacity
        self.where = ""
        self.log: list[PlacedText] | None = None

    def font(self, size_px: int, bold: bool = False) -> pygame.font.Font:
        """The face at a size, at least 6 px."""
        key = (max(6, size_px), bold)
        if key not in self._fonts:
            self._fonts[key] = pygame.font.Font(str(FONTS[bold]), key[0])
        return self._fonts[key]

    def width(self, text: str, size_px: int, bold: bool = False) -> int:
        """Width in px of one line."""
        return self.font(size_px, bold).size(text)[0]

    def height(self, size_px: int) -> int:
        """Height in px of one line."""
        return self.font(size_px).get_height()

    def render(self, text: str, size_px: int, bold: bool, color: Rgb) -> pygame.Surface:
        """A surface holding one line; do not draw on it."""
        key = (text, size_px, bold, color)
        found = self._cache.get(key)
        if found is not None:
            self._cache.move_to_end(key)
            return found
        surface = self.font(size_px, bold).render(text, True, color)
        self._cache[key] = surface
        if len(self._cache) > self._capacity:
            self._cache.popitem(last=False)
        return surface

    def cut(self, text: str, width_px: int, size_px: int, bold: bool = False) -> str:
        """The text, shortened with an ellipsis where it is too wide."""
        if self.width(text, size_px, bold) <= width_px:
            return text
        low, high = 0, len(text)
        while low < high:
            middle = (low + high + 1) // 2
            if self.width(text[:middle].rstrip() + ELLIPSIS, size_px, bold) <= width_px:
                low = middle
            else:
                high = middle - 1
        return text[:low].rstrip() + ELLIPSIS if low else ""

    def first_that_fits(
        self, texts: Sequence[str], width_px: int, size_px: int, bold: bool = False
    ) -> str:
        """The first of several wordings that is narrow enough, else the last one."""
        for text in texts:
            if self.width(text, size_px, bold) <= width_px:
                return text
        return texts[-1]

    def size_that_fits(
        self, text: str, width_px: int, ui: float, largest: float, bold: bool = False
    ) -> int:
        """The largest size of the scale, no more than ``largest``, at which a line is narrow
        enough; the smallest one where none is."""
        sizes = [max(1, round(size * ui)) for size in reversed(SIZES) if size <= largest]
        return next((s for s in sizes if self.width(text, s, bold) <= width_px), sizes[-1])

    def wrap(self, text: str, width_px: int, size_px: int, bold: bool = False) -> list[str]:
        """Lines no wider than ``width_px``, broken at spaces (a long word is cut).

        A no-break space holds a number and its unit together.
        """
        lines: list[str] = []
        line = ""
        for word in _BREAKS.split(text.strip()):
            longer = f"{line} {word}" if line else word
            if line and self.width(longer, size_px, bold) > width_px:
                lines.append(line)
                line = word
            else:
                line = longer
        if line:
            lines.append(line)
        return [self.cut(part, width_px, size_px, bold) for part in lines]

    def draw(
        self,
        surface: pygame.Surface,
        text: str,
        box: pygame.Rect,
        size_px: int,
        color: Rgb,
        *,
        bold: bool = False,
        align: str = "left",
    ) -> pygame.Rect:
        """Draw one line in a box, centered in height; returns where it stands."""
        shown = self.cut(text, box.width, size_px, bold)
        image = self.render(shown, size_px, bold, color)
        y = box.y + (box.height - image.get_height()) // 2
        if align == "right":
            x = box.right - image.get_width()
        elif align == "center":
            x = box.x + (box.width - image.get_width()) // 2
        else:
            x = box.x
        rect = pygame.Rect(x, y, image.get_width(), image.get_height())
        surface.blit(image, rect)
        if self.log is not None:
            self.log.append(PlacedText(self.where, text, rect, box.copy(), shown != text, size_px))
        return rect
