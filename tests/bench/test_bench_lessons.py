"""How quickly the ink of a lesson is drawn, against Pillow's polygons at the same fineness.

Not part of the ordinary run: ``pytest tests/bench/test_bench_lessons.py -s``.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from PIL import Image, ImageDraw

from viewer.lessons.scenes import ScenePicture, disc, rectangle, turned

SIZE_PX = (2500, 1600)
PX_PER_MM = 15.0
CORNER_MM = (10.0, 5.0)
PARTS = (disc(60), turned(rectangle(20, 20), 33))
FINENESS = 4
ROUNDS = 5


def _pillow() -> np.ndarray:  # type: ignore[type-arg]
    """The same parts by Pillow, four times as fine, then averaged; holes are not cut."""
    width, height = SIZE_PX
    mask = Image.new("L", (width * FINENESS, height * FINENESS), 0)
    pen = ImageDraw.Draw(mask)
    for part in PARTS:
        at = (part - CORNER_MM) * PX_PER_MM * FINENESS - 0.5
        pen.polygon([(float(x), float(y)) for x, y in at], fill=255)
    return np.asarray(mask.reduce(FINENESS))


def _best_s(call: Callable[[], object]) -> float:
    best = float("inf")
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - begun)
    return best


def test_drawing_four_megapixels() -> None:
    picture = ScenePicture(PARTS)
    ours = _best_s(lambda: picture.draw(*CORNER_MM, PX_PER_MM, *SIZE_PX))
    theirs = _best_s(_pillow)
    print(
        f"\n4 Mpx of ink: ours {1e3 * ours:.0f} ms, Pillow polygons {1e3 * theirs:.0f} ms,"
        f" ratio {ours / theirs:.2f}"
    )
