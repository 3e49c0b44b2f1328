"""The picture of the artwork: kept at several sizes, drawn sharper when at rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import pygame
from numpy.typing import NDArray

from viewer.artwork.ink import ink_mask
from viewer.artwork.model import Artwork, InkRule
from viewer.geometry.types import Bounds
from viewer.screen import theme
from viewer.screen.camera import Camera
from viewer.screen.pixels import (
    PREMULTIPLIED,
    copy_indexed,
    empty_indexed,
    indexed_surface,
    premultiplied,
)

BASE_PX_PER_MM = 600 / 25.4
BASE_PIXELS = 12_000_000
NO_INK, LIGHT_INK, DARK_INK = 0, 1, 2
_WHOLE_PX = 1e-3
_GRAYS = ((0, 0, 0), (1, 1, 1), (2, 2, 2))


class PictureLike(Protocol):
    """What the screen needs of an opened picture; mm are of the artwork as loaded."""

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        """Straight-alpha RGBA, shape (height, width, 4)."""

    def close(self) -> None:
        """Let go of it."""


@dataclass(frozen=True)
class Level:
    """The whole artwork at one size."""

    px_per_mm: float
    picture: pygame.Surface
    """Premultiplied."""
    codes: pygame.Surface
    """8 bit: no ink, light ink, dark ink."""


@dataclass(frozen=True)
class Levels:
    """Sizes of one artwork, the largest first, and the page point of their corner."""

    x0_mm: float
    y0_mm: float
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class Sharp:
    """The artwork drawn for exactly one view."""

    camera: Camera
    scale: float
    picture: pygame.Surface
    codes: pygame.Surface


def picture_bounds(artwork: Artwork) -> Bounds:
    """Page and ink together, mm: what a picture of the artwork must show."""
    hull = artwork.outline.hull_mm
    pad = 0.2
    low, high = hull.min(axis=0), hull.max(axis=0)
    return Bounds(
        min(0.0, float(low[0]) - pad if low[0] < 0 else 0.0),
        min(0.0, float(low[1]) - pad if low[1] < 0 else 0.0),
        max(artwork.page_mm[0], float(high[0]) + pad if high[0] > artwork.page_mm[0] else 0.0),
        max(artwork.page_mm[1], float(high[1]) + pad if high[1] > artwork.page_mm[1] else 0.0),
    )


def base_px_per_mm(bounds: Bounds) -> float:
    """600 per inch, or less for a page so large that it would take too much memory."""
    area = max(bounds.width * bounds.height, 1e-9)
    longest = max(bounds.width, bounds.height, 1e-9)
    return min(BASE_PX_PER_MM, math.sqrt(BASE_PIXELS / area), 16000 / longest)


def ink_codes(rgba: NDArray[np.uint8], rule: InkRule) -> NDArray[np.uint8]:
    """Which pixels are ink, and whether it is dark as seen on the page."""
    ink = ink_mask(rgba, rule)
    alpha = rgba[..., 3].astype(np.uint16)
    # Green alone would call red ink light; these weights add up to 256.
    gray = (rgba[..., 0] * np.uint16(54) + rgba[..., 1] * np.uint16(183)) >> 8
    gray += rgba[..., 2].astype(np.uint16) * np.uint16(19) >> 8
    paper = np.uint16(sum(theme.PAGE) // 3)
    seen = (gray * alpha + paper * (255 - alpha)) // 255
    codes = np.where(seen < 140, np.uint8(DARK_INK), np.uint8(LIGHT_INK))
    return np.where(ink, codes, np.uint8(NO_INK))


def build_levels(rgba: NDArray[np.uint8], artwork: Artwork, bounds: Bounds, scale: float) -> Levels:
    """Halve a picture again and again until it is small. ``scale``: its px per mm."""
    picture = premultiplied(rgba)
    codes = ink_codes(rgba, artwork.ink_rule)
    levels = [Level(scale, picture, indexed_surface(codes, _GRAYS))]
    while min(picture.get_size()) >= 128:
        picture = _half_picture(picture)
        codes = _half_codes(codes)
        scale /= 2
        levels.append(Level(scale, picture, indexed_surface(codes, _GRAYS)))
    return Levels(bounds.x0, bounds.y0, tuple(levels))


def _half_picture(picture: pygame.Surface) -> pygame.Surface:
    # An odd last row or column is dropped with its half pixel, so that a level's
    # pixels are exactly four of the one above.
    width, height = picture.get_width() // 2 * 2, picture.get_height() // 2 * 2
    even = picture.subsurface((0, 0, width, height))
    return pygame.transform.smoothscale(even, (width // 2, height // 2))


def _half_codes(codes: NDArray[np.uint8]) -> NDArray[np.uint8]:
    height, width = codes.shape[0] // 2 * 2, codes.shape[1] // 2 * 2
    rows = np.maximum(codes[0:height:2, :width], codes[1:height:2, :width])
    return np.maximum(rows[:, 0::2], rows[:, 1::2])


def draw_levels(picture: PictureLike, artwork: Artwork, most_px_per_mm: float = math.inf) -> Levels:
    """Draw the artwork as loaded once and build its sizes; slow, for a thread."""
    bounds = picture_bounds(artwork)
    scale = min(most_px_per_mm, base_px_per_mm(bounds))
    width = max(1, math.ceil(bounds.width * scale))
    height = max(1, math.ceil(bounds.height * scale))
    rgba = picture.draw(bounds.x0, bounds.y0, scale, width, height)
    return build_levels(rgba, artwork, bounds, scale)


def draw_sharp(
    picture: PictureLike,
    artwork: Artwork,
    camera: Camera,
    scale: float,
    size: tuple[int, int],
) -> Sharp:
    """Draw one view of the artwork, ``scale`` times as large as loaded; for a thread."""
    rgba = picture.draw(
        camera.left_mm / scale, camera.top_mm / scale, camera.px_per_mm * scale, *size
    )
    codes = ink_codes(rgba, artwork.ink_rule)
    return Sharp(camera, scale, premultiplied(rgba), indexed_surface(codes, _GRAYS))


def sharp_shift_px(sharp: Sharp | None, camera: Camera, scale: float) -> tuple[int, int] | None:
    """How far a sharp drawing has to be moved to show another view; None where it cannot.

    A pan moves it by whole pixels: what was sharp stays so, and need not be scaled again.
    """
    if sharp is None or sharp.scale != scale or sharp.camera.px_per_mm != camera.px_per_mm:
        return None
    x = (sharp.camera.left_mm - camera.left_mm) * camera.px_per_mm
    y = (sharp.camera.top_mm - camera.top_mm) * camera.px_per_mm
    shift = round(x), round(y)
    width, height = sharp.picture.get_size()
    if abs(x - shift[0]) > _WHOLE_PX or abs(y - shift[1]) > _WHOLE_PX:
        return None
    # Where less than a half is left of it, a level costs no more.
    if abs(shift[0]) > width // 2 or abs(shift[1]) > height // 2:
        return None
    return shift


def _beside(kept: pygame.Rect, view: pygame.Rect) -> list[pygame.Rect]:
    """The parts of a view that a rectangle within it leaves free."""
    boxes = [
        pygame.Rect(0, 0, view.width, kept.top),
        pygame.Rect(0, kept.bottom, view.width, view.height - kept.bottom),
        pygame.Rect(0, kept.top, kept.left, kept.height),
        pygame.Rect(kept.right, kept.top, view.width - kept.right, kept.height),
    ]
    return [box for box in boxes if box.width > 0 and box.height > 0]


def _camera_of(camera: Camera, box: pygame.Rect) -> Camera:
    """The camera of a part of its view."""
    left, top = camera.to_mm(box.x, box.y)
    return Camera(camera.px_per_mm, left, top)


def blit_picture(
    target: pygame.Surface, levels: Levels, camera: Camera, scale: float, sharp: Sharp | None
) -> None:
    """Draw the artwork on a view: the sharp one where it shows this view, else a level."""
    shift = sharp_shift_px(sharp, camera, scale)
    if sharp is not None and shift is not None:
        kept = sharp.picture.get_rect(topleft=shift).clip(target.get_rect())
        target.blit(sharp.picture, shift, special_flags=PREMULTIPLIED)
        for box in _beside(kept, target.get_rect()):
            blit_picture(target.subsurface(box), levels, _camera_of(camera, box), scale, None)
        return
    level = _level_for(levels, camera.px_per_mm * scale)
    cut = _cut(levels, level, camera, scale, target.get_size())
    if cut is None:
        return
    source, dest = cut
    part = level.picture.subsurface(source)
    if source.size != dest.size:
        part = pygame.transform.smoothscale(part, dest.size)
    target.blit(part, dest, special_flags=PREMULTIPLIED)


def view_codes(
    size: tuple[int, int], levels: Levels, camera: Camera, scale: float, sharp: Sharp | None
) -> pygame.Surface:
    """Ink codes of a view, 8 bit, of the view's size."""
    shift = sharp_shift_px(sharp, camera, scale)
    if sharp is not None and shift == (0, 0) and sharp.codes.get_size() == size:
        return sharp.codes
    view = empty_indexed(*size, _GRAYS)
    if sharp is not None and shift is not None:
        copy_indexed(view, sharp.codes, shift)
        kept = sharp.codes.get_rect(topleft=shift).clip(view.get_rect())
        for box in _beside(kept, view.get_rect()):
            codes = view_codes(box.size, levels, _camera_of(camera, box), scale, None)
            copy_indexed(view, codes, box.topleft)
        return view
    level = _level_for(levels, camera.px_per_mm * scale)
    cut = _cut(levels, level, camera, scale, size)
    if cut is not None:
        source, dest = cut
        part = pygame.transform.scale(level.codes.subsurface(source), dest.size)
        copy_indexed(view, part, dest.topleft)
    return view


def _level_for(levels: Levels, px_per_mm: float) -> Level:
    """The one nearest in size, rather a little too coarse: while moving, quick wins."""
    for level in levels.levels:
        if level.px_per_mm <= px_per_mm * 1.25:
            return level
    return levels.levels[-1]


def _cut(
    levels: Levels, level: Level, camera: Camera, scale: float, size: tuple[int, int]
) -> tuple[pygame.Rect, pygame.Rect] | None:
    """The part of a level that a view shows, and where it goes; whole px of both."""
    px_per_mm = level.px_per_mm / scale
    x = _cut_axis(
        levels.x0_mm * scale,
        px_per_mm,
        level.picture.get_width(),
        camera.left_mm,
        camera.px_per_mm,
        size[0],
    )
    y = _cut_axis(
        levels.y0_mm * scale,
        px_per_mm,
        level.picture.get_height(),
        camera.top_mm,
        camera.px_per_mm,
        size[1],
    )
    if x is None or y is None:
        return None
    return (
        pygame.Rect(x[0], y[0], x[1], y[1]),
        pygame.Rect(x[2], y[2], x[3], y[3]),
    )


def _cut_axis(
    origin_mm: float, level_scale: float, length: int, start_mm: float, scale: float, seen: int
) -> tuple[int, int, int, int] | None:
    first = max(0, math.floor((start_mm - origin_mm) * level_scale))
    last = min(length, math.ceil((start_mm + seen / scale - origin_mm) * level_scale))
    if last <= first:
        return None
    low = math.floor((origin_mm + first / level_scale - start_mm) * scale + 0.5)
    high = math.floor((origin_mm + last / level_scale - start_mm) * scale + 0.5)
    return first, last - first, low, max(1, high - low)
