"""Sizes a person gives, checked, and the scale that follows from the ink's size."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from viewer.artwork.model import LoadOptions, Outline, Points, Reading
from viewer.errors import ArtworkError, UsageError
from viewer.geometry import smallest_enclosing_circle

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
    for x, y in options.leave_out:
        if not (math.isfinite(x) and math.isfinite(y)):
            raise UsageError(f"--leave-out {x:g},{y:g}: must be two plain numbers of mm")
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


def own_scale(main: Points, other: Points, scale: float, options: LoadOptions) -> float:
    """The scale of a second reading: a size given for the ink holds for it as well.

    Never less than the main reading's: what is left out may be what makes it smaller.
    """
    factors = [scale]
    for axis, length in enumerate((options.width_mm, options.height_mm)):
        size, own = (float(np.ptp(hull[:, axis])) for hull in (main, other))
        if length is not None and own > 0:
            factors.append(scale * size / own)
    return max(factors)


def about_circle(reading: Reading, main: Outline, larger: float) -> Reading:
    """A reading of another scale, moved so that the main circle's center stays in place."""
    if larger == 1.0:
        return reading
    center = np.asarray(smallest_enclosing_circle(main.hull_mm).center)
    hull = reading.outline.hull_mm - center * (larger - 1.0)
    return replace(reading, outline=replace(reading.outline, hull_mm=hull))
