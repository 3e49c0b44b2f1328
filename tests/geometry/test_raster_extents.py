"""Ends of the ink in a mask: same hull as all pixels, for any layout in memory."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from viewer.geometry import convex_hull, mask_extent_points

Mask = NDArray[np.bool_]


def all_corners(mask: Mask) -> NDArray[np.float64]:
    """All four corners of every ink pixel."""
    y, x = np.nonzero(mask)
    corners = [np.stack((x + i, y + j), axis=1) for i in (0, 1) for j in (0, 1)]
    return np.concatenate(corners).astype(np.float64)


@given(hnp.arrays(np.bool_, hnp.array_shapes(min_dims=2, max_dims=2, max_side=12)))
def test_hull_is_that_of_every_ink_pixel(mask: Mask) -> None:
    np.testing.assert_array_equal(
        convex_hull(mask_extent_points(mask)), convex_hull(all_corners(mask))
    )


@given(st.integers(0, 2**32 - 1), st.sampled_from([1, 127, 128, 129, 256, 300, 1000]))
def test_sparse_wide_masks(seed: int, width: int) -> None:
    # Widths about the search window's, where an end can be missed.
    rng = np.random.default_rng(seed)
    mask = rng.random((9, width)) < rng.choice([0.5, 0.01, 2.0 / width])
    np.testing.assert_array_equal(
        convex_hull(mask_extent_points(mask)), convex_hull(all_corners(mask))
    )


def test_every_column_can_be_the_last() -> None:
    points = mask_extent_points(np.eye(300, dtype=np.bool_))
    corners = {(float(x), float(y)) for i in range(300) for x in (i, i + 1) for y in (i, i + 1)}
    assert {tuple(p) for p in points.tolist()} == corners


def test_by_hand() -> None:
    mask = np.zeros((4, 6), dtype=np.bool_)
    mask[1, 2] = mask[3, [1, 4]] = True
    points = mask_extent_points(mask)
    assert {tuple(p) for p in points.tolist()} == {
        *((x, y) for x in (2.0, 3.0) for y in (1.0, 2.0)),
        *((x, y) for x in (1.0, 5.0) for y in (3.0, 4.0)),
    }


@pytest.mark.parametrize(
    "view",
    [lambda m: m[::2, ::3], lambda m: m[::-1, ::-1], lambda m: m.T, np.asfortranarray],
    ids=["strided", "reversed", "transposed", "column order"],
)
def test_any_layout_in_memory(view: object) -> None:
    mask = np.random.default_rng(8).random((60, 400)) < 0.02
    seen: Mask = view(mask)  # type: ignore[operator]
    np.testing.assert_array_equal(
        convex_hull(mask_extent_points(seen)), convex_hull(all_corners(seen))
    )


def test_true_may_be_any_byte() -> None:
    # A picture's alpha seen as bool holds 255 where numpy itself would write 1.
    alpha = np.zeros((5, 300), dtype=np.uint8)
    alpha[2, 7], alpha[3, 290] = 255, 3
    points = mask_extent_points(alpha.view(np.bool_))
    assert points.min(axis=0).tolist() == [7.0, 2.0]
    assert points.max(axis=0).tolist() == [291.0, 4.0]


def test_hull_agrees_with_opencv() -> None:
    drawn = np.zeros((200, 300), dtype=np.uint8)
    cv2.ellipse(drawn, (140, 90), (110, 60), 20.0, 0.0, 360.0, 1, -1)
    theirs = cv2.convexHull(all_corners(drawn.astype(np.bool_)).astype(np.int32))[:, 0, :]
    ours = convex_hull(mask_extent_points(drawn.astype(np.bool_)))
    assert {tuple(p) for p in ours.tolist()} == {tuple(p) for p in theirs.tolist()}
