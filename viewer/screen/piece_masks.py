"""Which pixels of the shown artwork belong to a piece: for pointing at it and greying it."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Iterable
from typing import cast

import numpy as np
import pygame
import pygame.surfarray

from viewer.screen import theme
from viewer.screen.artwork_layer import Level, Levels
from viewer.screen.camera import Camera
from viewer.screen.pixels import PREMULTIPLIED, alpha_surface
from viewer.screen.tools import PieceLike, Point

MOST_PIXELS = 3_000_000
MOST_SEEN_PIXELS = 30_000_000
_NEAR_PX = 3
_RIM_PX = 2


_MADE: list[PieceMasks] = []


def masks_for(levels: Levels) -> PieceMasks:
    """The masks of one artwork's pictures, made once; the last few are kept."""
    for masks in _MADE:
        if masks.levels is levels:
            return masks
    _MADE.insert(0, PieceMasks(levels))
    del _MADE[2:]
    return _MADE[0]


class PieceMasks:
    """Pieces of ink at the resolution of one kept picture; pieces count in mm as loaded."""

    def __init__(self, levels: Levels) -> None:
        self._levels = levels
        self._level: Level = next(
            (
                level
                for level in levels.levels
                if level.codes.get_width() * level.codes.get_height() <= MOST_PIXELS
            ),
            levels.levels[-1],
        )
        self._ink: pygame.Mask | None = None
        self._kept: OrderedDict[Point, pygame.Mask | None] = OrderedDict()
        self._drawn: OrderedDict[tuple[object, ...], tuple[pygame.Surface, Point] | None] = (
            OrderedDict()
        )

    @property
    def levels(self) -> Levels:
        """The pictures that these were made from."""
        return self._levels

    def of(self, point_mm: Point) -> pygame.Mask | None:
        """The ink that hangs together with a point; None where there is none near it."""
        if point_mm not in self._kept:
            self._kept[point_mm] = self._component(point_mm)
            while len(self._kept) > 400:
                self._kept.popitem(last=False)
        return self._kept[point_mm]

    def piece_under(self, point_mm: Point, pieces: tuple[PieceLike, ...]) -> PieceLike | None:
        """The piece that a point of the page as loaded is on, or next to."""
        at = self._near_ink(self._px(point_mm))
        if at is None:
            return None
        for piece in sorted(pieces, key=lambda one: _box_area(one.box_mm)):
            if not _in_box(point_mm, piece.box_mm, 4 * _NEAR_PX / self._level.px_per_mm):
                continue
            mask = self.of(piece.center_mm)
            if mask is not None and mask.get_at(at):
                return piece
        return None

    def rgb_under(self, point_mm: Point) -> tuple[int, int, int] | None:
        """The color at a point as it is drawn; None where nothing is, or not solidly."""
        level = self._levels.levels[0]
        x = math.floor((point_mm[0] - self._levels.x0_mm) * level.px_per_mm)
        y = math.floor((point_mm[1] - self._levels.y0_mm) * level.px_per_mm)
        if not level.picture.get_rect().collidepoint(x, y):
            return None
        color = level.picture.get_at((x, y))
        return (color.r, color.g, color.b) if color.a == 255 else None

    def cleared(
        self,
        codes: pygame.Surface,
        camera: Camera,
        scale: float,
        pieces: Iterable[PieceLike],
    ) -> pygame.Surface:
        """Ink codes of a view without those of some pieces; a copy."""
        size = codes.get_size()
        gone = pygame.Mask(size)
        for piece in pieces:
            found = self._scaled(piece.center_mm, camera.px_per_mm * scale)
            if found is None:
                continue
            part, corner = found
            x, y = camera.snapped(corner[0] * scale, corner[1] * scale)
            # A little wider: both are drawn by their own rounding.
            for dx in range(-_RIM_PX, _RIM_PX + 1):
                for dy in range(-_RIM_PX, _RIM_PX + 1):
                    gone.draw(part, (x + dx, y + dy))
        changed = codes.copy()
        values = pygame.surfarray.pixels2d(changed)
        values[_mask_array(gone)] = 0
        del values
        return changed

    def draw(
        self,
        surface: pygame.Surface,
        view: pygame.Rect,
        camera: Camera,
        scale: float,
        piece: PieceLike,
        style: str,
        period_px: int,
    ) -> None:
        """Draw a piece over the view: "out" veiled and hatched, "marked" with a bright veil."""
        key = (piece.center_mm, camera.px_per_mm, scale, style, period_px, theme.SKY)
        if key not in self._drawn:
            self._drawn[key] = self._picture(piece, camera.px_per_mm * scale, style, period_px)
            while len(self._drawn) > 64:
                self._drawn.popitem(last=False)
        found = self._drawn[key]
        if found is None:
            return
        image, corner = found
        x, y = camera.snapped(corner[0] * scale, corner[1] * scale)
        surface.blit(image, (view.x + x, view.y + y), special_flags=PREMULTIPLIED)

    def _picture(
        self, piece: PieceLike, px_per_mm: float, style: str, period_px: int
    ) -> tuple[pygame.Surface, Point] | None:
        found = self._scaled(piece.center_mm, px_per_mm)
        if found is None:
            return None
        part, corner = found
        size = part.get_size()
        image = alpha_surface(*size)
        inside = _mask_array(part)
        rgba = np.zeros((*size, 4), np.uint8)
        if style == "out":
            x, y = np.indices(size)
            stripe = (x + y) % period_px < max(1, period_px // 4)
            rgba[..., :3] = np.where(stripe[..., None], 0x70, np.array(theme.PAGE))
            rgba[..., 3] = np.where(stripe, 235, 205)
        else:
            rgba[..., :3] = theme.SKY
            rgba[..., 3] = 110
        rgba[..., 3][~inside] = 0
        edge = inside & ~_eroded(inside)
        rgba[edge] = (*(theme.INK_LINE if style == "out" else theme.SKY), 255)
        _put(image, rgba)
        return image, corner

    def _scaled(self, point_mm: Point, px_per_mm: float) -> tuple[pygame.Mask, Point] | None:
        """A piece as large as it is seen, and the page point of its corner, as loaded."""
        mask = self.of(point_mm)
        if mask is None:
            return None
        boxes = cast(list[pygame.Rect], mask.get_bounding_rects())
        box = boxes[0].unionall(boxes[1:])
        factor = px_per_mm / self._level.px_per_mm
        size = (max(1, round(box.width * factor)), max(1, round(box.height * factor)))
        if size[0] * size[1] > MOST_SEEN_PIXELS:
            return None  # so near that little of it would be seen
        part = pygame.Mask(box.size)
        part.draw(mask, (-box.x, -box.y))
        corner = (
            self._levels.x0_mm + box.x / self._level.px_per_mm,
            self._levels.y0_mm + box.y / self._level.px_per_mm,
        )
        return part.scale(size), corner

    def _px(self, point_mm: Point) -> tuple[int, int]:
        level = self._level
        return (
            math.floor((point_mm[0] - self._levels.x0_mm) * level.px_per_mm),
            math.floor((point_mm[1] - self._levels.y0_mm) * level.px_per_mm),
        )

    def _near_ink(self, at: tuple[int, int]) -> tuple[int, int] | None:
        ink = self._all_ink()
        width, height = ink.get_size()
        spots = [
            (dx * dx + dy * dy, at[0] + dx, at[1] + dy)
            for dx in range(-_NEAR_PX, _NEAR_PX + 1)
            for dy in range(-_NEAR_PX, _NEAR_PX + 1)
        ]
        for _, x, y in sorted(spots):
            if 0 <= x < width and 0 <= y < height and ink.get_at((x, y)):
                return x, y
        return None

    def _component(self, point_mm: Point) -> pygame.Mask | None:
        at = self._near_ink(self._px(point_mm))
        return None if at is None else self._all_ink().connected_component(at)

    def _all_ink(self) -> pygame.Mask:
        if self._ink is None:
            codes = pygame.surfarray.pixels2d(self._level.codes)
            image = pygame.Surface(codes.shape, pygame.SRCALPHA, 32)
            alpha = pygame.surfarray.pixels_alpha(image)
            alpha[...] = np.where(codes > 0, 255, 0)
            del alpha, codes
            self._ink = pygame.mask.from_surface(image, 127)
        return self._ink


def _mask_array(mask: pygame.Mask) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    image = mask.to_surface(setcolor=(255, 255, 255, 255), unsetcolor=(0, 0, 0, 255))
    found = pygame.surfarray.array3d(image)[..., 0] > 127
    return np.asarray(found)


def _eroded(
    inside: np.ndarray[tuple[int, int], np.dtype[np.bool_]],
) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Without the pixels that have a side at the outside."""
    wide = np.pad(inside, 1)
    found = wide[:-2, 1:-1] & wide[2:, 1:-1] & wide[1:-1, :-2] & wide[1:-1, 2:] & inside
    return np.asarray(found)


def _put(image: pygame.Surface, rgba: np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]) -> None:
    alpha = rgba[..., 3:].astype(np.uint16)
    colors = pygame.surfarray.pixels3d(image)
    colors[...] = (rgba[..., :3].astype(np.uint16) * alpha // 255).astype(np.uint8)
    del colors
    alphas = pygame.surfarray.pixels_alpha(image)
    alphas[...] = rgba[..., 3]
    del alphas


def _in_box(point: Point, box: tuple[float, float, float, float], slack_mm: float) -> bool:
    return (
        box[0] - slack_mm <= point[0] <= box[2] + slack_mm
        and box[1] - slack_mm <= point[1] <= box[3] + slack_mm
    )


def _box_area(box: tuple[float, float, float, float]) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])
