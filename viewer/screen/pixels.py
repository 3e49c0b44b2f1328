"""Between numpy arrays and pygame surfaces. Rows first, as numpy has them."""

from __future__ import annotations

import numpy as np
import pygame
import pygame.surfarray
from numpy.typing import NDArray

from viewer.screen.theme import Rgb

PREMULTIPLIED = pygame.BLEND_PREMULTIPLIED


def alpha_surface(width: int, height: int) -> pygame.Surface:
    """An empty surface with 8 bits each of red, green, blue and alpha."""
    return pygame.Surface((width, height), pygame.SRCALPHA, 32)


def pack(
    surface: pygame.Surface,
    color: NDArray[np.float64],
    alpha: NDArray[np.float64],
) -> NDArray[np.uint32]:
    """Premultiplied color (n, 3) in 0..255 and alpha (n,) in 0..1 -> pixel values."""
    red, green, blue, opacity = surface.get_shifts()
    bytes_ = np.clip(np.rint(color), 0, 255).astype(np.uint32)
    alpha_ = np.clip(np.rint(alpha * 255), 0, 255).astype(np.uint32)
    packed: NDArray[np.uint32] = (
        (bytes_[:, 0] << np.uint32(red))
        | (bytes_[:, 1] << np.uint32(green))
        | (bytes_[:, 2] << np.uint32(blue))
        | (alpha_ << np.uint32(opacity))
    )
    return packed


def write_pixels(surface: pygame.Surface, packed: NDArray[np.uint32]) -> None:
    """Put pixel values of shape (height, width) on a 32-bit surface of that size."""
    view = pygame.surfarray.pixels2d(surface)
    view.T[...] = packed
    del view


def premultiplied(rgba: NDArray[np.uint8]) -> pygame.Surface:
    """A straight-alpha picture (h, w, 4) as a surface for premultiplied drawing."""
    height, width = rgba.shape[:2]
    # The byte order of the window: any other is drawn twenty times slower.
    data = rgba[..., (2, 1, 0, 3)].tobytes()
    return pygame.image.frombuffer(data, (width, height), "BGRA").premul_alpha()


def indexed_surface(codes: NDArray[np.uint8], palette: tuple[Rgb, ...]) -> pygame.Surface:
    """An 8-bit surface of codes (h, w); code 0 is see-through."""
    height, width = codes.shape
    surface = empty_indexed(width, height, palette)
    view = pygame.surfarray.pixels2d(surface)
    view.T[...] = codes
    del view
    return surface


def empty_indexed(width: int, height: int, palette: tuple[Rgb, ...]) -> pygame.Surface:
    """An 8-bit surface of zeros whose code 0 is see-through."""
    surface = pygame.Surface((max(1, width), max(1, height)), 0, 8)
    colors = list(palette) + [(0, 0, 0)] * (256 - len(palette))
    surface.set_palette(colors)
    surface.set_colorkey(0)
    surface.fill(0)
    return surface


def copy_indexed(target: pygame.Surface, source: pygame.Surface, at: tuple[int, int]) -> None:
    """Copy one 8-bit surface onto another, code by code, cut to the target."""
    box = source.get_rect(topleft=at).clip(target.get_rect())
    if box.width <= 0 or box.height <= 0:
        return
    to = pygame.surfarray.pixels2d(target)
    of = pygame.surfarray.pixels2d(source)
    x, y = box.x - at[0], box.y - at[1]
    # Transposed, whole rows lie together in memory.
    part = of.T[y : y + box.height, x : x + box.width]
    to.T[box.top : box.bottom, box.left : box.right] = part
    del to, of, part
