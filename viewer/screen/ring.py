"""The cup as a ring: exact edges from distances, cached while the size stays.

``pygame.draw`` has no smooth circles of any width and ``gfxdraw`` is half a
pixel off, so the color of a pixel is looked up from its distance to the center.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.screen import theme
from viewer.screen.pixels import PREMULTIPLIED, alpha_surface, pack, write_pixels
from viewer.screen.theme import Rgb

STEPS_PER_PX = 8
WHOLE_RING_LIMIT_PX = 1000
"""Radius up to which a whole ring is kept; larger ones are drawn where they are seen."""


@dataclass(frozen=True)
class RingSize:
    """Radii in px: largest image, ring's inner edge, ring's outer edge; line width in px."""

    image_px: float
    inner_px: float
    outer_px: float
    line_px: float = 2.0


@dataclass(frozen=True)
class _Band:
    """A colored ring between two radii, and how opaque it is."""

    from_px: float
    to_px: float
    color: Rgb
    alpha: float


def _bands(size: RingSize) -> tuple[_Band, ...]:
    half = size.line_px / 2
    return (
        _Band(size.image_px, size.inner_px, theme.MARGIN_BAND, 0.19),
        _Band(size.inner_px, size.outer_px, theme.RING, 0.88),
        _line(size.image_px, half, theme.LIMIT),
        _line(size.inner_px, half * 0.8, theme.RING_EDGE),
        _line(size.outer_px, half * 0.8, theme.RING_EDGE),
    )


def _line(radius_px: float, half_px: float, color: Rgb) -> _Band:
    return _Band(radius_px - half_px, radius_px + half_px, color, 1.0)


class RingLookup:
    """Pixel values by distance from the center, in steps of 1/8 px."""

    def __init__(self, bands: tuple[_Band, ...], surface: pygame.Surface) -> None:
        self.first_px = max(0.0, min(b.from_px for b in bands) - 1.5)
        self.last_px = max(b.to_px for b in bands) + 1.5
        count = math.ceil((self.last_px - self.first_px) * STEPS_PER_PX) + 2
        distance = self.first_px + np.arange(count) / STEPS_PER_PX
        color = np.zeros((count, 3))
        alpha = np.zeros(count)
        for band in bands:
            inside = np.clip(distance - band.from_px + 0.5, 0, 1)
            inside *= np.clip(band.to_px - distance + 0.5, 0, 1)
            inside *= band.alpha
            color = color * (1 - inside)[:, None] + np.outer(inside, np.array(band.color, float))
            alpha = alpha * (1 - inside) + inside
        color[0] = color[-1] = 0
        alpha[0] = alpha[-1] = 0
        self.values = pack(surface, color, alpha)

    def of(self, dx: NDArray[np.float32], dy: NDArray[np.float32]) -> NDArray[np.uint32]:
        """Pixel values for offsets from the center: shape (len(dy), len(dx))."""
        distance = np.add.outer(dy * dy, dx * dx)
        np.sqrt(distance, out=distance)
        distance -= np.float32(self.first_px - 0.5 / STEPS_PER_PX)
        distance *= np.float32(STEPS_PER_PX)
        np.clip(distance, 0, len(self.values) - 1, out=distance)
        result: NDArray[np.uint32] = self.values.take(distance.astype(np.int32))
        return result


class RingPainter:
    """Draws rings; keeps the last few."""

    def __init__(self) -> None:
        self._whole: OrderedDict[RingSize, pygame.Surface] = OrderedDict()
        self._lookups: OrderedDict[RingSize, RingLookup] = OrderedDict()
        self._part: tuple[tuple[object, ...], pygame.Surface] | None = None

    def draw(self, surface: pygame.Surface, center_px: tuple[int, int], size: RingSize) -> None:
        """Draw the cup around a corner of pixels, within the surface's clip."""
        if size.outer_px > WHOLE_RING_LIMIT_PX:
            self._draw_part(surface, center_px, size)
            return
        ring = self._whole_ring(size)
        half = ring.get_width() // 2
        surface.blit(ring, (center_px[0] - half, center_px[1] - half), special_flags=PREMULTIPLIED)

    def _lookup(self, size: RingSize, surface: pygame.Surface) -> RingLookup:
        if size not in self._lookups:
            self._lookups[size] = RingLookup(_bands(size), surface)
            if len(self._lookups) > 8:
                self._lookups.popitem(last=False)
        return self._lookups[size]

    def _whole_ring(self, size: RingSize) -> pygame.Surface:
        found = self._whole.get(size)
        if found is not None:
            self._whole.move_to_end(size)
            return found
        half = math.ceil(size.outer_px + size.line_px) + 2
        ring = alpha_surface(2 * half, 2 * half)
        along = np.arange(half, dtype=np.float32) + np.float32(0.5)
        quarter = self._lookup(size, ring).of(along, along)
        pixels = pygame.surfarray.pixels2d(ring)
        pixels[half:, half:] = quarter
        pixels[:half, half:] = quarter[::-1]
        pixels[:, :half] = pixels[:, half:][:, ::-1]
        del pixels
        self._whole[size] = ring
        if len(self._whole) > 4:
            self._whole.popitem(last=False)
        return ring

    def _draw_part(
        self, surface: pygame.Surface, center_px: tuple[int, int], size: RingSize
    ) -> None:
        reach = int(size.outer_px + size.line_px) + 2
        box = pygame.Rect(center_px[0] - reach, center_px[1] - reach, 2 * reach, 2 * reach)
        box = box.clip(surface.get_clip())
        if box.width <= 0 or box.height <= 0:
            return
        key = (tuple(box), center_px, size)
        if self._part is None or self._part[0] != key:
            part = alpha_surface(box.width, box.height)
            dx = np.arange(box.width, dtype=np.float32) + np.float32(box.x - center_px[0] + 0.5)
            dy = np.arange(box.height, dtype=np.float32) + np.float32(box.y - center_px[1] + 0.5)
            write_pixels(part, self._lookup(size, part).of(dx, dy))
            self._part = (key, part)
        surface.blit(self._part[1], box, special_flags=PREMULTIPLIED)


def _stamps(dot: pygame.Surface, corners: list[list[int]]) -> Any:
    # pygame's own type for this argument leaves out that the area may be None.
    return [(dot, (x, y), None, PREMULTIPLIED) for x, y in corners]


def disc(
    radius_px: float, fill: Rgb, edge: Rgb | None = None, edge_px: float = 0
) -> pygame.Surface:
    """A small smooth disc, premultiplied; its center is the surface's middle corner."""
    half = math.ceil(radius_px) + 2
    surface = alpha_surface(2 * half, 2 * half)
    bands = [_Band(-2.0, radius_px, fill, 1.0)]
    if edge is not None:
        bands.append(_Band(radius_px - edge_px, radius_px, edge, 1.0))
    lookup = RingLookup(tuple(bands), surface)
    # The first entry is the center here, and not outside.
    lookup.values[0] = lookup.values[1]
    along = np.arange(-half, half, dtype=np.float32) + np.float32(0.5)
    write_pixels(surface, lookup.of(along, along))
    return surface


class DottedCircles:
    """Thin circles of dots, evenly spaced; keeps where the dots of a radius are."""

    def __init__(self) -> None:
        self._offsets: OrderedDict[tuple[float, float], NDArray[np.float64]] = OrderedDict()
        self._dots: dict[tuple[float, Rgb], pygame.Surface] = {}

    def draw(
        self,
        surface: pygame.Surface,
        center_px: tuple[int, int],
        radius_px: float,
        color: Rgb,
        *,
        dot_px: float = 1.0,
        step_px: float = 7.0,
    ) -> None:
        """Draw within the surface's clip."""
        if (dot_px, color) not in self._dots:
            self._dots[dot_px, color] = disc(dot_px, color)
        dot = self._dots[dot_px, color]
        half = dot.get_width() // 2
        places = self._places(radius_px, step_px) + np.array(center_px)
        clip = surface.get_clip()
        seen = (
            (places[:, 0] > clip.left - half)
            & (places[:, 0] < clip.right + half)
            & (places[:, 1] > clip.top - half)
            & (places[:, 1] < clip.bottom + half)
        )
        corners = np.floor(places[seen] - half + 0.5).astype(int).tolist()
        surface.blits(_stamps(dot, corners), False)

    def _places(self, radius_px: float, step_px: float) -> NDArray[np.float64]:
        key = (radius_px, step_px)
        if key not in self._offsets:
            count = min(6000, max(12, 4 * round(2 * math.pi * radius_px / step_px / 4)))
            angle = np.arange(count) * (2 * math.pi / count)
            self._offsets[key] = radius_px * np.stack([np.cos(angle), np.sin(angle)], axis=1)
            if len(self._offsets) > 64:
                self._offsets.popitem(last=False)
        return self._offsets[key]
