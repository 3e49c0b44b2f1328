"""How quickly a picture becomes a circle, against the usual way with OpenCV.

Not part of the ordinary run: ``pytest tests/bench -s``.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from viewer.geometry import (
    Circle,
    convex_hull,
    longest_diagonal,
    mask_extent_points,
    smallest_enclosing_circle,
)

Mask = NDArray[np.bool_]

DPI = 1200
WIDTH_PX, HEIGHT_PX = round(90 / 25.4 * DPI), round(65 / 25.4 * DPI)
ROUNDS = 5


@pytest.fixture(scope="module")
def mask() -> Mask:
    """A buoy-like badge of 90 x 65 mm at 1200 dpi: lobed edge, hole, waves cut out."""
    drawn = np.zeros((HEIGHT_PX, WIDTH_PX), dtype=np.uint8)
    turn_rad = np.linspace(0.0, 2.0 * np.pi, 4000)
    reach = 1.0 + 0.04 * np.cos(5.0 * turn_rad)
    edge = np.stack((0.475 * WIDTH_PX * np.cos(turn_rad), 0.475 * HEIGHT_PX * np.sin(turn_rad)), 1)
    middle = (WIDTH_PX / 2.0, HEIGHT_PX / 2.0)
    cv2.fillPoly(drawn, [np.rint(edge * reach[:, None] + middle).astype(np.int32)], 1)
    cv2.circle(drawn, (WIDTH_PX // 2, HEIGHT_PX // 3), HEIGHT_PX // 9, 0, -1)
    x = np.arange(WIDTH_PX // 5, WIDTH_PX * 4 // 5)
    y = HEIGHT_PX * 0.65 + 90.0 * np.sin(x / 180.0)
    wave = np.stack((x, np.rint(y)), axis=1).astype(np.int32)
    cv2.polylines(drawn, [wave], False, 0, 60)
    return drawn.view(np.bool_)


def ours(mask: Mask) -> Circle:
    """mask -> outline -> circle."""
    return smallest_enclosing_circle(convex_hull(mask_extent_points(mask)))


def usual(mask: Mask) -> tuple[Any, float]:
    """Every ink pixel into OpenCV's circle."""
    return cv2.minEnclosingCircle(cv2.findNonZero(mask.view(np.uint8)))


def best_s(call: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return min(times)


def test_mask_to_circle_against_opencv(mask: Mask, capsys: pytest.CaptureFixture[str]) -> None:
    circle, (_, radius) = ours(mask), usual(mask)
    # OpenCV sees pixel centers, half a pixel diagonal further in at most.
    assert -0.01 <= circle.radius - radius <= 0.75
    ours_s, usual_s = best_s(lambda: ours(mask)), best_s(lambda: usual(mask))
    ratio = usual_s / ours_s
    with capsys.disabled():
        print(
            f"\n{mask.shape[1]} x {mask.shape[0]} px, {mask.mean():.0%} ink:"
            f" {ours_s * 1e3:.2f} ms, OpenCV {usual_s * 1e3:.1f} ms, ratio {ratio:.0f} x"
        )
    assert ratio >= 1.0


def test_bench_mask_to_circle(benchmark: Any, mask: Mask) -> None:
    assert benchmark(ours, mask).radius > 0.0


def test_bench_mask_extents(benchmark: Any, mask: Mask) -> None:
    assert len(benchmark(mask_extent_points, mask)) > 0


@pytest.mark.parametrize("kind", ["cloud", "square", "circle"])
def test_bench_hull_of_a_million_points(benchmark: Any, kind: str) -> None:
    rng = np.random.default_rng(2)
    if kind == "circle":
        turn_rad = rng.uniform(0.0, 2.0 * np.pi, 1_000_000)
        points = np.stack((np.cos(turn_rad), np.sin(turn_rad)), axis=1)
    else:
        points = rng.normal(size=(1_000_000, 2)) if kind == "cloud" else rng.random((1_000_000, 2))
    assert len(benchmark.pedantic(convex_hull, (points,), rounds=3)) >= 3


def test_bench_diagonal_of_a_thousand_vertices(benchmark: Any) -> None:
    turn_rad = 2.0 * np.pi * np.arange(1000) / 1000
    outline = np.stack((40.0 * np.cos(turn_rad), 25.0 * np.sin(turn_rad)), axis=1)
    assert benchmark(longest_diagonal, outline).length == pytest.approx(80.0)
