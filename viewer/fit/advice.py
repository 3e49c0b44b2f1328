"""Words for a verdict, and the way out: plain short lines, every number computed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from viewer.artwork.model import Speck
from viewer.fit.verdict import Verdict
from viewer.units import format_down, format_up

_SMALLEST_SCALE = 0.001
"""Below this, "scale to" would print as 0.0 %."""


def verdict_words(verdict: Verdict, tight: bool = False, causes: Sequence[str] = ()) -> str:
    """The verdict as a person says it; with causes, "cannot be sure: ..."."""
    if verdict is Verdict.FITS:
        return "fits, tight" if tight else "fits"
    if verdict is Verdict.IN_MARGIN:
        return "in the margin"
    if verdict is Verdict.OUTSIDE:
        return "outside"
    if causes:
        return f"cannot be sure: {'; '.join(causes)}"
    return "too close to call"


def scale_percent(scale: float) -> str:
    """A factor in percent with one decimal, rounded down: 0.9139 gives "91.3"."""
    return f"{math.floor(scale * 1000.0) / 10.0:.1f}"


def tight_line(setup_tolerance_mm: float) -> str:
    """Why a fit is called tight."""
    return f"the clearance is less than the {setup_tolerance_mm:g} mm that set-up may shift"


def advise(
    *,
    fits: bool,
    largest_scale: float | None,
    helper_name: str | None,
    helper_clearance_mm: float,
    helper_tight: bool,
    none_scales: bool,
    blocks: Sequence[str],
    specks: Sequence[Speck],
) -> tuple[str, ...]:
    """Lines for a cup that does not fit, or fits only tightly. Lengths in mm.

    ``helper_name``: another cup, that fits. ``none_scales``: no cup offered has
    any scale that fits. ``blocks``: what forbids "fits" whatever the size.
    """
    lines: list[str] = []
    if helper_name is not None:
        tight = " (tight)" if helper_tight else ""
        spare_mm = format_down(helper_clearance_mm, 2)
        lines.append(f"the {helper_name} cup fits{tight}, with {spare_mm} mm to spare")
    if fits:
        return tuple(lines)
    lines.extend(_ways_out(largest_scale, none_scales, blocks))
    lines.extend(_speck_lines(specks))
    if not blocks:
        lines.append("turning cannot help, as the cup is round")
    return tuple(lines)


def _ways_out(
    largest_scale: float | None, none_scales: bool, blocks: Sequence[str]
) -> Iterator[str]:
    if blocks:
        yield "settle this first, no size can be called safe before: " + "; ".join(blocks)
    elif largest_scale is not None and largest_scale >= _SMALLEST_SCALE:
        yield f"scale to {scale_percent(largest_scale)} %"
    elif none_scales:
        yield "cannot be made to fit these cups"
    else:
        yield "cannot be made to fit this cup"


def _speck_lines(specks: Sequence[Speck]) -> Iterator[str]:
    for speck in specks:
        x_mm, y_mm = speck.center_mm
        yield (
            f"a speck of at most {format_up(speck.size_mm, 1)} mm at ({x_mm:.2f}, {y_mm:.2f}) mm"
            " decides the size: leave it out if it is not meant to print"
        )
