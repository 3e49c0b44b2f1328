"""Which pixels of a picture are ink. Pure arithmetic on arrays, no I/O."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import InkRule

WHITE_FROM = 250
"""A painted pixel counts as white when every channel is at least this (0..255)."""

Rgba = NDArray[np.uint8]
Mask = NDArray[np.bool_]


def ink_mask(rgba: Rgba, rule: InkRule) -> Mask:
    """Ink of a straight-alpha picture, shape (..., 4) -> bool (...).

    Any coverage counts: alpha > 0. With a paper color, a pixel is ink when the
    color as seen over that paper differs from it by more than the tolerance in
    any channel. White is judged by the painted color, not by how it looks over
    the paper: a faint black edge must not pass for white. An empty array gives
    an empty mask.
    """
    mask: Mask = rgba[..., 3] > 0
    if rule.paper_rgb is not None:
        mask &= _differs_from_paper(rgba, rule.paper_rgb, rule.tolerance)
    if not rule.white_is_ink:
        mask &= ~_is_white(rgba)
    return mask


def _is_white(rgba: Rgba) -> Mask:
    red, green, blue = (rgba[..., channel] >= WHITE_FROM for channel in range(3))
    return np.asarray(red & green & blue, dtype=np.bool_)


def _differs_from_paper(rgba: Rgba, paper: tuple[int, int, int], tolerance: int) -> Mask:
    differs = _outside_band(rgba, paper, tolerance)
    veiled: Mask = (rgba[..., 3] < 255) & (rgba[..., 3] > 0)
    if veiled.any():
        differs[veiled] = _veiled_differs(rgba[veiled], paper, tolerance)
    return differs


def _outside_band(rgba: Rgba, paper: tuple[int, int, int], tolerance: int) -> Mask:
    outside: Mask = np.zeros(rgba.shape[:-1], dtype=np.bool_)
    for channel, value in enumerate(paper):
        low, high = value - tolerance, value + tolerance
        # Bounds beyond 0..255 cannot be left, and uint8 cannot hold them.
        if low > 0:
            outside |= rgba[..., channel] < low
        if high < 255:
            outside |= rgba[..., channel] > high
    return outside


def _veiled_differs(rgba: Rgba, paper: tuple[int, int, int], tolerance: int) -> Mask:
    """The same for partly transparent pixels, shape (n, 4), without rounding to 8 bits."""
    color = rgba[:, :3].astype(np.int32)
    alpha = rgba[:, 3:].astype(np.int32)
    # |alpha*c + (255-alpha)*p - 255*p| = alpha*|c-p|: exact in whole numbers.
    distance = alpha * np.abs(color - np.array(paper, dtype=np.int32))
    # A renderer's straight color is worked back from alpha * color, itself rounded.
    rounding = 128 + alpha // 2
    return np.asarray((distance > 255 * tolerance + rounding).any(axis=1), dtype=np.bool_)
