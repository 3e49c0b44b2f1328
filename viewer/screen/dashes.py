"""A thin dashed circle with smooth edges, dark on the page and light beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pygame
import pygame.surfarray
from numpy.typing import NDArray

from viewer.screen.theme import Rgb

Floats = NDArray[np.float64]
KEPT_UP_TO_PX = 1500.0
_FAR = 1 << 24


@dataclass(frozen=True)
class _Pattern:
    """Pixels of the dashes, counted from the center, and how much each is covered."""

    x: NDArray[np.int64]
    y: NDArray[np.int64]
    cover: Floats


def dashed_circle(
    surface: pygame.Surface,
    center_px: tuple[int, int],
    radius_px: float,
    page: pygame.Rect,
    on_page: Rgb,
    beside: Rgb,
    ui: float,
) -> None:
    """Draw on a 32-bit surface around a corner of pixels."""
    width, height = surface.get_size()
    if radius_px <= KEPT_UP_TO_PX:
        pattern = _whole_pattern(radius_px, ui)
    else:
        seen = pygame.Rect(-center_px[0], -center_px[1], width, height)
        pattern = _pattern(radius_px, ui, seen)
    x, y = pattern.x + center_px[0], pattern.y + center_px[1]
    keep = (x >= 0) & (x < width) & (y >= 0) & (y < height)
    x, y, cover = x[keep], y[keep], pattern.cover[keep][:, None]
    if len(x) == 0:
        return
    inside = (x >= page.left) & (x < page.right) & (y >= page.top) & (y < page.bottom)
    color = np.where(inside[:, None], np.array(on_page, float), np.array(beside, float))
    pixels = pygame.surfarray.pixels3d(surface)
    mixed = pixels[x, y] * (1 - cover) + color * cover
    pixels[x, y] = np.rint(mixed).astype(np.uint8)
    del pixels


@lru_cache(maxsize=4)
def _whole_pattern(radius_px: float, ui: float) -> _Pattern:
    reach = math.ceil(radius_px + ui) + 3
    return _pattern(radius_px, ui, pygame.Rect(-reach, -reach, 2 * reach, 2 * reach))


def _pattern(radius_px: float, ui: float, seen: pygame.Rect) -> _Pattern:
    """Each pixel near the line within ``seen``, once."""
    reach = math.ceil(ui) + 1
    count = min(400_000, max(16, math.ceil(2 * math.pi * radius_px / 0.9)))
    angle = np.arange(count) * (2 * math.pi / count)
    along_x, along_y = radius_px * np.cos(angle), radius_px * np.sin(angle)
    near = (along_x > seen.left - reach) & (along_x < seen.right + reach)
    near &= (along_y > seen.top - reach) & (along_y < seen.bottom + reach)
    base_x = np.floor(along_x[near]).astype(np.int64)
    base_y = np.floor(along_y[near]).astype(np.int64)
    offset = np.arange(-reach, reach + 1)
    size = (len(base_x), len(offset), len(offset))
    x = np.broadcast_to(base_x[:, None, None] + offset[None, :, None], size).ravel()
    y = np.broadcast_to(base_y[:, None, None] + offset[None, None, :], size).ravel()
    # Sorted and compared with its neighbor: numpy's own unique takes four times as long.
    flat = np.sort((y + _FAR) * (2 * _FAR) + (x + _FAR))
    flat = flat[np.flatnonzero(np.diff(flat, prepend=-1))]
    x, y = flat % (2 * _FAR) - _FAR, flat // (2 * _FAR) - _FAR
    cover = _coverage(x, y, radius_px, ui)
    drawn = cover > 0
    return _Pattern(x[drawn], y[drawn], cover[drawn])


def _coverage(x: NDArray[np.int64], y: NDArray[np.int64], radius_px: float, ui: float) -> Floats:
    """How much of each pixel the dashes cover, 0..1."""
    dx, dy = x + 0.5, y + 0.5
    distance = np.abs(np.hypot(dx, dy) - radius_px)
    cover: Floats = np.clip(0.5 + 0.75 * ui - distance, 0, 1)
    count = max(8, round(2 * math.pi * radius_px / (13.0 * ui)))
    period = 2 * math.pi * radius_px / count
    along = (np.arctan2(dy, dx) * radius_px) % period
    dash = 0.62 * period
    # From the middle of the dash, so that both its ends are smooth.
    cover *= np.clip(0.5 + dash / 2 - np.abs(along - period / 2), 0, 1)
    return cover
