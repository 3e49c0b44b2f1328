"""Sizes a person gives, checked, and the scale that follows from the ink's size."""

from __future__ import annotations

import math

from viewer.artwork.model import LoadOptions, Points
from viewer.errors import ArtworkError, UsageError

_ROUNDING_MM = 0.06
"""Width and height given to 0.1 mm may each be off by half a digit."""


def require_positive(options: LoadOptions) -> None:
    """Raise UsageError for sizes that are zero, negative, infinite or not numbers."""
    named = {
        "--width": options.width_mm,
        "--height": options.height_mm,
        "--page-width": options.page_width_mm,
        "--dpi": options.dpi,
        "--px-per-inch": options.px_per_inch,
        "--scale": options.scale,
    }
    for name, value in named.items():
        if value is not None and not (math.isfinite(value) and value > 0):
            raise UsageError(f"{name} {value:g}: must be a number above zero")
    if options.page < 1:
        raise UsageError(f"--page {options.page}: pages are counted from 1")


def ink_scale(hull: Points, options: LoadOptions) -> tuple[float, str]:
    """Factor that gives the ink the width and height asked for, and a sentence.

    Both given: their ratio must be the artwork's own, to the rounding of the numbers.
    """
    size = hull.max(axis=0) - hull.min(axis=0)
    factors = []
    for length, own, name in (
        (options.width_mm, float(size[0]), "width"),
        (options.height_mm, float(size[1]), "height"),
    ):
        if length is None:
            continue
        if own <= 0:
            raise ArtworkError(f"the ink has no {name} to scale by", code="bad-size")
        factors.append((length / own, f"ink {name} given as {length:g} mm"))
    if len(factors) == 2:
        other = factors[0][0] * float(size[1])
        assert options.height_mm is not None
        slack = _ROUNDING_MM * (1.0 + float(size[1] / size[0]))
        if abs(other - options.height_mm) > slack:
            raise UsageError(
                f"--width and --height disagree: at that width the ink is {other:.2f} mm high, "
                f"not {options.height_mm:g}; give one of them"
            )
    factor, text = max(factors)  # the larger one cannot make a misfit look like a fit
    return factor, text
