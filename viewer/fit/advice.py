"""Words for a verdict, and the way out: plain short lines, every number computed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from viewer.artwork.model import Speck
from viewer.fit.model import CupFit
from viewer.fit.verdict import Verdict
from viewer.press import PressLimits
from viewer.units import format_clearance_mm, format_down, format_up

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


def turn_line(cup_fit: CupFit, limits: PressLimits) -> str:
    """Whether turning helps a cup, and by how much; with the reason where it cannot."""
    if limits.is_cup_alone:
        return "turning cannot help, as the cup is round"
    if cup_fit.turn_helps:
        turn_deg = cup_fit.best.settable.turn_deg
        best = format_clearance_mm(cup_fit.best.settable.clearance_mm)
        unturned = format_clearance_mm(cup_fit.unturned_clearance_mm)
        return f"turned by {turn_deg:+.1f} degrees it has {best} mm, unturned {unturned} mm"
    if limits.angles.kind == "none":
        return "turning is not tried: the angle is held"
    allowed = "" if limits.angles.kind == "any" else " of those that the press allows"
    return f"turning cannot help: no angle{allowed} is better than none"


def advise(
    *,
    cup_fit: CupFit,
    limits: PressLimits,
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
    if cup_fit.verdict is Verdict.FITS:
        return tuple(lines)
    lines.extend(_ways_out(cup_fit, none_scales, blocks))
    lines.extend(_speck_lines(specks))
    if not blocks:
        lines.append(turn_line(cup_fit, limits))
    return tuple(lines)


def _ways_out(cup_fit: CupFit, none_scales: bool, blocks: Sequence[str]) -> Iterator[str]:
    largest, unturned = cup_fit.largest_scale, cup_fit.largest_scale_unturned
    if blocks:
        yield "settle this first, no size can be called safe before: " + "; ".join(blocks)
    elif largest is not None and largest >= _SMALLEST_SCALE:
        at = cup_fit.largest_scale_turn_deg
        turned = f" and turn by {at:+.1f} degrees" if abs(at) >= 0.05 else ""
        yield f"scale to {scale_percent(largest)} %{turned}"
        if turned and unturned is not None and unturned >= _SMALLEST_SCALE:
            yield f"unturned, scale to {scale_percent(unturned)} %"
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
