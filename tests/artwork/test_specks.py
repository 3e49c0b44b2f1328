"""Which tiny pieces of a mask are specks: those that alone make the circle larger."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from viewer.artwork.specks import SPECK_SIZE_MM, find_specks

Mask = NDArray[np.bool_]

PIXEL_MM = 0.1
MAIN = (60, 60, 100, 100)


def mask_with(*boxes: tuple[int, int, int, int]) -> Mask:
    """200 x 200 pixels, inked in boxes of x0, y0, x1, y1 (half open)."""
    mask = np.zeros((200, 200), np.bool_)
    for x0, y0, x1, y1 in boxes:
        mask[y0:y1, x0:x1] = True
    return mask


def found_boxes(mask: Mask) -> set[tuple[int, int, int, int]]:
    return {speck.box for speck in find_specks(mask, PIXEL_MM)}


def test_no_ink_has_no_specks() -> None:
    assert find_specks(mask_with(), PIXEL_MM) == []


def test_one_piece_has_no_specks() -> None:
    assert find_specks(mask_with(MAIN), PIXEL_MM) == []


def test_one_speck_is_found_with_its_box_and_pixels() -> None:
    (speck,) = find_specks(mask_with(MAIN, (180, 20, 183, 22)), PIXEL_MM)
    assert speck.box == (180, 20, 183, 22)
    assert set(speck.pixels) == {(y, x) for y in (20, 21) for x in (180, 181, 182)}


def test_several_specks_are_found_outermost_first() -> None:
    near, far = (130, 80, 132, 82), (195, 80, 197, 82)
    specks = find_specks(mask_with(MAIN, near, far), PIXEL_MM)
    assert [s.box for s in specks] == [far, near]


def test_two_specks_on_opposite_sides() -> None:
    left, right = (5, 80, 6, 81), (190, 80, 191, 81)
    assert found_boxes(mask_with(MAIN, left, right)) == {left, right}


def test_a_speck_at_the_very_corner_of_the_mask() -> None:
    corner = (199, 199, 200, 200)
    assert found_boxes(mask_with(MAIN, corner)) == {corner}


def test_nothing_but_specks_is_the_artwork() -> None:
    assert find_specks(mask_with((10, 10, 12, 12), (150, 150, 153, 152)), PIXEL_MM) == []


def test_more_than_forty_specks_are_the_artwork_too() -> None:
    turn_rad = 2.0 * np.pi * np.arange(60) / 60
    x, y = (np.rint(100 + 95 * f(turn_rad)).astype(int) for f in (np.cos, np.sin))
    dots = [(int(a), int(b), int(a) + 1, int(b) + 1) for a, b in zip(x, y, strict=True)]
    assert find_specks(mask_with((90, 90, 110, 110), *dots), PIXEL_MM) == []
    assert found_boxes(mask_with((90, 90, 110, 110), *dots[:4])) == set(dots[:4])


def test_a_speck_that_decides_nothing_is_left_alone() -> None:
    # Beside the square's edge, yet inside the circle through its corners.
    assert find_specks(mask_with(MAIN, (103, 79, 105, 81)), PIXEL_MM) == []


def test_a_speck_inside_a_ring_is_left_alone() -> None:
    ring = mask_with((20, 20, 180, 180))
    ring[40:160, 40:160] = False
    ring[100, 100] = True
    assert find_specks(ring, PIXEL_MM) == []


def test_a_piece_that_touches_by_a_corner_belongs_to_the_rest() -> None:
    # Pixel (100, 100) shares one corner with the square's last pixel (99, 99).
    touching = mask_with(MAIN, (100, 100, 103, 103))
    assert find_specks(touching, PIXEL_MM) == []
    apart = mask_with(MAIN, (102, 102, 105, 105))
    assert found_boxes(apart) == {(102, 102, 105, 105)}


@pytest.mark.parametrize(("side_mm", "is_speck"), [(0.9, True), (1.0, True), (1.6, False)])
def test_size_decides_what_is_a_speck(side_mm: float, is_speck: bool) -> None:
    assert SPECK_SIZE_MM == 1.0
    side_px = round(side_mm / PIXEL_MM)
    mask = mask_with(MAIN, (180, 80, 180 + side_px, 80 + side_px))
    assert bool(find_specks(mask, PIXEL_MM)) is is_speck


def test_a_long_thin_piece_is_no_speck() -> None:
    assert find_specks(mask_with(MAIN, (150, 80, 190, 81)), PIXEL_MM) == []


def test_the_mask_is_not_changed() -> None:
    mask = mask_with(MAIN, (180, 20, 183, 22))
    before = mask.copy()
    find_specks(mask, PIXEL_MM)
    assert (mask == before).all()
