"""Pieces of a mask, against an outside judge that labels them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from viewer.artwork.connected import connected_runs, grown

WITH_CORNERS = np.ones((3, 3))


@pytest.mark.parametrize("share", [0.0, 0.1, 0.35, 0.5, 0.7, 0.95, 1.0])
def test_pieces_are_those_of_the_judge(share: float) -> None:
    rng = np.random.default_rng(round(100 * share))
    for _ in range(40):
        mask = rng.random(rng.integers(1, 30, 2)) < share
        values = rng.integers(0, 256, mask.shape).astype(np.uint8)
        labels, count = ndimage.label(mask, WITH_CORNERS)
        runs = connected_runs(mask)
        assert runs.count == count
        boxes, sums = runs.boxes(), runs.sums(values)
        for piece in range(count):
            own = runs.mask_of(np.array([piece]))
            ys, xs = np.nonzero(own)
            assert np.array_equal(own, labels == labels[ys[0], xs[0]])
            assert boxes[piece].tolist() == [xs.min(), ys.min(), xs.max() + 1, ys.max() + 1]
            assert sums[piece] == values[own].sum()
            x, y = runs.point_on(np.flatnonzero(runs.piece == piece))
            assert own[int(y), int(x)]
        assert np.array_equal(runs.mask_of(np.arange(count)), mask)


def test_a_snake_through_all_rows_is_one_piece() -> None:
    mask = np.zeros((401, 50), np.bool_)
    mask[::2] = True
    mask[1::4, -1] = mask[3::4, 0] = True
    assert connected_runs(mask).count == 1
    mask[201, :] = False
    assert connected_runs(mask).count == 2


def test_rows_do_not_run_on_into_each_other() -> None:
    mask = np.array([[False, True], [False, False], [True, False]])
    assert connected_runs(mask).count == 2
    assert connected_runs(np.array([[True, False], [False, True]])).count == 1


def test_distances_are_to_the_pixels_not_their_centers() -> None:
    runs = connected_runs(np.array([[False, False], [False, True]]))
    assert runs.distances((1.5, 1.2)).tolist() == [0.0]
    assert runs.distances((0.0, 0.0)) == pytest.approx(np.sqrt(2.0))
    assert runs.distances((4.0, 2.0), (0.5, 3.0)) == pytest.approx(1.0)
    assert runs.distances((1.5, 4.0), (0.5, 3.0)) == pytest.approx(6.0)


def test_grown_by_sides_and_corners() -> None:
    rng = np.random.default_rng(4)
    for share in (0.0, 0.05, 0.4):
        mask = rng.random((17, 23)) < share
        assert np.array_equal(grown(mask), ndimage.binary_dilation(mask, WITH_CORNERS))
