"""The demo pictures: what is ink is decided pixel by pixel, in whole numbers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

NAVY = (22, 50, 79)
RED = (194, 67, 45)
PAPER = (250, 248, 244)

Mask = NDArray[np.bool_]


def _grid(height: int, width: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    y, x = np.mgrid[0:height, 0:width]
    return x + 0.5, y + 0.5


def _disc(shape: tuple[int, int], x: float, y: float, radius: float) -> Mask:
    gx, gy = _grid(*shape)
    return np.asarray((gx - x) ** 2 + (gy - y) ** 2 <= radius**2)


def _capsule(
    shape: tuple[int, int], a: tuple[float, float], b: tuple[float, float], radius: float
) -> Mask:
    gx, gy = _grid(*shape)
    dx, dy = b[0] - a[0], b[1] - a[1]
    t = np.clip(((gx - a[0]) * dx + (gy - a[1]) * dy) / (dx * dx + dy * dy), 0, 1)
    return np.asarray((gx - a[0] - t * dx) ** 2 + (gy - a[1] - t * dy) ** 2 <= radius**2)


def whistle() -> Image.Image:
    """A whistle in a frame of 1110 x 680 pixels, on a transparent page of 1240 x 800."""
    shape = (800, 1240)
    left, top, width, height, band = 65, 60, 1110, 680, 26
    frame = np.zeros(shape, bool)
    frame[top : top + height, left : left + width] = True
    frame[top + band : top + height - band, left + band : left + width - band] = False
    body = _disc(shape, 430, 430, 205)
    body[225:400, 430:1040] = True
    body[225:300, 560:680] = False
    pea = _disc(shape, 430, 430, 92)
    body &= ~_disc(shape, 430, 430, 128)
    loop = _disc(shape, 205, 250, 62) & ~_disc(shape, 205, 250, 34)
    rgba = np.zeros((*shape, 4), np.uint8)
    for mask, color in ((frame | body, NAVY), (pea | (loop & ~body), RED)):
        rgba[mask] = (*color, 255)
    return Image.fromarray(rgba)


def race_flag() -> Image.Image:
    """A chequered flag on a staff of 36 x 1100 pixels; the flag spans x 60..1100, y 0..640."""
    page, at = (1240, 1260), (80, 70)
    ink = np.zeros(page, bool)
    ink[at[1] : at[1] + 1100, at[0] : at[0] + 36] = True
    flag = np.zeros((640, 1040), bool)
    rows, columns = np.mgrid[0:640, 0:1040]
    flag[:] = (rows // 80 + columns // 80) % 2 == 0
    flag[:10], flag[-10:], flag[:, :10], flag[:, -10:] = True, True, True, True
    ink[at[1] : at[1] + 640, at[0] + 60 : at[0] + 1100] = flag
    return Image.fromarray(np.where(ink, 0, 255).astype(np.uint8)).convert(
        "1", dither=Image.Dither.NONE
    )


def mark_without_size() -> Image.Image:
    """A buoy mark; a picture that says nothing about millimeters."""
    shape = (480, 420)
    rgb = np.full((*shape, 3), 255, np.uint8)
    gx, gy = _grid(*shape)
    cone = (gy > 70) & (gy < 300) & (np.abs(gx - 210) < 22 + (gy - 70) * 0.36)
    stripe = cone & (gy > 150) & (gy < 220)
    hull = _disc(shape, 210, 300, 130) & (gy > 312) & (gy < 400)
    lamp = _disc(shape, 210, 44, 20)
    rgb[cone | hull] = NAVY
    rgb[stripe | lamp] = RED
    return Image.fromarray(rgb)


def bobber_scan() -> Image.Image:
    """A fishing float, drawn by hand and scanned: paper off white, noise, soft edges.

    The antenna's end (radius 18 px) and the keel's end (radius 24 px) lie 625 px
    apart, which makes the float 667 px long; 300 pixels make an inch.
    """
    shape = (640, 800)
    top, keel = (632.0, 120.0), (132.0, 495.0)
    cover = np.zeros(shape)
    along = np.array([keel[0] - top[0], keel[1] - top[1]]) / 625.0

    def at(px: float) -> tuple[float, float]:
        return float(top[0] + along[0] * px), float(top[1] + along[1] * px)

    ink = _disc(shape, *top, 18) | _capsule(shape, top, keel, 7) | _disc(shape, *keel, 24)
    gx, gy = _grid(*shape)
    middle = at(370)
    u = (gx - middle[0]) * along[0] + (gy - middle[1]) * along[1]
    v = (gx - middle[0]) * along[1] - (gy - middle[1]) * along[0]
    body = (u / 190) ** 2 + (v / 92) ** 2 <= 1
    inner = (u / 180) ** 2 + (v / 82) ** 2 <= 1
    ink |= body & ~(inner & (u > -40) & (u < 50))
    ink |= body & (np.abs(u - 5) < 12)
    cover = ink.astype(float)
    weights = np.array([0.06, 0.24, 0.40, 0.24, 0.06])
    for axis in (0, 1):
        cover = sum(w * np.roll(cover, k - 2, axis) for k, w in enumerate(weights))
    # RandomState: its stream of numbers is frozen, so the file stays the same.
    noise = np.random.RandomState(20).randint(-2, 3, (*shape, 1))
    paper, dark = np.array(PAPER, float), np.array((38, 44, 56), float)
    rgb = paper + cover[..., None] * (dark - paper) + noise
    return Image.fromarray(np.clip(np.rint(rgb), 0, 255).astype(np.uint8))
