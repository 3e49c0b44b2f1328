"""Fit one artwork against the cups offered, and against whatever else limits the image."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from viewer.artwork.model import Artwork, ArtworkWarning, Progress
from viewer.errors import UsageError, stop_if
from viewer.fit.advice import advise, tight_line
from viewer.fit.limited_cup import fit_limited_cup
from viewer.fit.model import CupFit, Fit, Limit
from viewer.fit.problems import check_areas, limited_ink
from viewer.fit.readings import unconditional_blocks
from viewer.fit.round_cup import fit_round_cup, prepare_ink
from viewer.fit.verdict import Verdict
from viewer.geometry import bounds_of, longest_diagonal, smallest_enclosing_circle
from viewer.press import DEFAULT_SETUP_TOLERANCE_MM, Cup, PressLimits, sort_cups


def fit_artwork(
    artwork: Artwork,
    cups: Iterable[Cup],
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM,
    limits: PressLimits | None = None,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Fit:
    """Judge ``artwork`` against every cup, within ``limits`` (by default none but the cup).

    Raises ArtworkError for artwork without ink; UsageError without cups, with an
    impossible tolerance, or where the limits leave no cup any image area; Cancelled.
    """
    limits = PressLimits() if limits is None else limits
    offered = sort_cups(cups)
    if not offered:
        raise UsageError("no cup was offered")
    if not math.isfinite(setup_tolerance_mm) or setup_tolerance_mm < 0:
        raise UsageError(f"the set-up tolerance must be zero or more, not {setup_tolerance_mm} mm")
    check_areas(offered, limits)
    prepared = prepare_ink(artwork) if limits.is_cup_alone else None
    ink = limited_ink(artwork, limits)
    found = []
    for number, cup in enumerate(offered):
        stop_if(cancelled)
        if progress is not None:
            progress(f"trying the {cup.name} cup", number / len(offered))
        if prepared is not None:
            found.append(fit_round_cup(prepared, cup, setup_tolerance_mm))
        else:
            found.append(fit_limited_cup(ink, cup, setup_tolerance_mm, cancelled))
    hull = artwork.outline.hull_mm
    bounds = bounds_of(hull)
    fit = Fit(
        artwork=artwork,
        width_mm=bounds.width,
        height_mm=bounds.height,
        ink_bounds=bounds,
        longest_diagonal=longest_diagonal(hull),
        smallest_circle=smallest_enclosing_circle(hull),
        cups=tuple(found),
        smallest_cup=next((c.cup for c in found if c.verdict is Verdict.FITS), None),
        warnings=_final_warnings(artwork, {r.code for r in ink.readings[1:]}, found),
        setup_tolerance_mm=setup_tolerance_mm,
        limits=limits,
        datum_mm=ink.datum_mm,
    )
    return replace(fit, cups=tuple(_with_advice(fit, cup_fit) for cup_fit in found))


# --- warnings and advice -----------------------------------------------------


def _final_warnings(
    artwork: Artwork, codes: set[str | None], cups: Sequence[CupFit]
) -> tuple[ArtworkWarning, ...]:
    """Warnings with ``blocks_fits`` settled where it depends on the cups offered."""
    disputed = {code for cup_fit in cups for code in cup_fit.disputed}
    return tuple(
        replace(warning, blocks_fits=warning.code in disputed) if warning.code in codes else warning
        for warning in artwork.warnings
    )


def _with_advice(fit: Fit, cup_fit: CupFit) -> CupFit:
    if cup_fit.verdict is Verdict.FITS and not cup_fit.tight:
        return cup_fit
    # Another cup helps only where it leaves more room than this one does.
    others = [
        other
        for other in fit.cups
        if other.verdict is Verdict.FITS and other.clearance_mm > cup_fit.clearance_mm
    ]
    roomy = next((o for o in others if not o.tight), None)
    helper = (roomy if cup_fit.tight else None) or next(iter(others), None)
    lines = () if not cup_fit.tight else (tight_line(fit.setup_tolerance_mm),)
    return replace(cup_fit, advice=lines + _advice_lines(fit, cup_fit, helper))


def _advice_lines(fit: Fit, cup_fit: CupFit, helper: CupFit | None) -> tuple[str, ...]:
    blocks = tuple(w.message for w in unconditional_blocks(fit.artwork))
    return advise(
        helper_name=None if helper is None else helper.cup.name,
        limits=fit.limits,
        cup_fit=cup_fit,
        helper_clearance_mm=0.0 if helper is None else helper.clearance_mm,
        helper_tight=helper is not None and helper.tight,
        none_scales=all(other.largest_scale is None for other in fit.cups),
        blocks=blocks,
        specks=tuple(
            speck
            for speck in fit.artwork.specks
            if not speck.ignored and _decides(speck.center_mm, speck.size_mm, cup_fit.limits)
        ),
    )


def _decides(center_mm: tuple[float, float], size_mm: float, limits: tuple[Limit, ...]) -> bool:
    """Whether a speck holds one of the points that touch the smallest circle."""
    return any(math.dist(center_mm, limit.point_mm) <= size_mm for limit in limits)
