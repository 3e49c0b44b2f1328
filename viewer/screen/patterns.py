"""One pattern for each verdict, so that no color has to be told from another."""

from __future__ import annotations

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.screen.theme import Rgb


def pattern_of(verdict: str, width: int, height: int, period: int) -> NDArray[np.bool_]:
    """Where the ground shows through, shape (width, height).

    "fits" is solid, "in-margin" is striped, "outside" crossed, "too-close" dotted.
    """
    x, y = np.arange(width)[:, None], np.arange(height)[None, :]
    gap = max(1, period // 4)
    if verdict == "in-margin":
        return np.asarray((x + y) % period < gap)
    if verdict == "outside":
        return np.asarray(((x + y) % period < gap) | ((x - y) % period < gap))
    if verdict == "too-close":
        return np.asarray((x % period < gap) | (y % period < gap))
    return np.zeros((width, height), dtype=bool)


def fill_pattern(
    surface: pygame.Surface, box: pygame.Rect, verdict: str, color: Rgb, ground: Rgb, period: int
) -> None:
    """Fill a box in a verdict's color and pattern."""
    box = box.clip(surface.get_rect())
    if box.width < 1 or box.height < 1:
        return
    surface.fill(color, box)
    holes = pattern_of(verdict, box.width, box.height, max(3, period))
    if not holes.any():
        return
    pixels = pygame.surfarray.pixels3d(surface)
    pixels[box.left : box.right, box.top : box.bottom][holes] = ground
    del pixels
