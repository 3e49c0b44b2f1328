"""Fit one artwork against the cups offered: position free, any angle, round image area.

With a round cup alone the angle cannot matter, and the best center is that of the
smallest enclosing circle. So nothing is left to a search: its gap is zero.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from viewer.artwork.model import Artwork, ArtworkWarning
from viewer.errors import UsageError
from viewer.fit.advice import advise, tight_line
from viewer.fit.placement import DEFAULT_SETUP_TOLERANCE_MM, Limit
from viewer.fit.readings import (
    ReadOutline,
    judge_readings,
    readings_of,
    unconditional_blocks,
)
from viewer.fit.verdict import Verdict
from viewer.geometry import (
    Bounds,
    Circle,
    Segment,
    bounds_of,
    longest_diagonal,
    smallest_enclosing_circle,
)
from viewer.press import Cup, sort_cups

STEPS_PER_MM = 100
"""A center is settable to 0.01 mm."""

_NUDGE = 1.0 - 2.0**-50


@dataclass(frozen=True)
class BestPlacement:
    """The placement proposed, already rounded to what can be set.

    ``gap_mm``: what no other placement can exceed ``clearance_mm`` by.
    """

    center_mm: tuple[float, float]
    turn_deg: float
    clearance_mm: float
    gap_mm: float


@dataclass(frozen=True)
class CupFit:
    """What holds for one cup. Lengths in mm, clearances positive inside.

    ``clearance_mm`` and ``hard_clearance_mm`` are of the main reading at its
    exact best center; ``largest_scale`` (a factor) holds for every reading.
    """

    cup: Cup
    verdict: Verdict
    tight: bool
    clearance_mm: float
    hard_clearance_mm: float
    largest_scale: float | None
    best: BestPlacement
    limits: tuple[Limit, ...]
    causes: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fit:
    """An artwork, its sizes in mm, and what holds for every cup offered."""

    artwork: Artwork
    width_mm: float
    height_mm: float
    ink_bounds: Bounds
    longest_diagonal: Segment
    smallest_circle: Circle
    cups: tuple[CupFit, ...]
    smallest_cup: Cup | None
    warnings: tuple[ArtworkWarning, ...]
    setup_tolerance_mm: float


@dataclass(frozen=True)
class _Candidate:
    """A center worth trying, and how far from it the ink of each reading reaches (mm)."""

    center_mm: tuple[float, float]
    reaches_mm: tuple[float, ...]


@dataclass(frozen=True)
class _Prepared:
    """What does not depend on the cup. ``radii_mm``: each reading on its own."""

    artwork: Artwork
    readings: tuple[ReadOutline, ...]
    radii_mm: tuple[float, ...]
    candidates: tuple[_Candidate, ...]
    circle: Circle

    @property
    def uncertainties_mm(self) -> tuple[float, ...]:
        return tuple(reading.outline.uncertainty_mm for reading in self.readings)


def fit_artwork(
    artwork: Artwork,
    cups: Iterable[Cup],
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM,
) -> Fit:
    """Judge ``artwork`` against every cup.

    Raises ArtworkError for artwork without ink, UsageError without cups or with
    an impossible tolerance.
    """
    offered = sort_cups(cups)
    if not offered:
        raise UsageError("no cup was offered")
    if not math.isfinite(setup_tolerance_mm) or setup_tolerance_mm < 0:
        raise UsageError(f"the set-up tolerance must be zero or more, not {setup_tolerance_mm} mm")
    prepared = _prepare(artwork)
    found = tuple(_fit_cup(prepared, cup, setup_tolerance_mm) for cup in offered)
    hull = artwork.outline.hull_mm
    bounds = bounds_of(hull)
    fit = Fit(
        artwork=artwork,
        width_mm=bounds.width,
        height_mm=bounds.height,
        ink_bounds=bounds,
        longest_diagonal=longest_diagonal(hull),
        smallest_circle=prepared.circle,
        cups=found,
        smallest_cup=next((c.cup for c in found if c.verdict is Verdict.FITS), None),
        warnings=_final_warnings(prepared, offered),
        setup_tolerance_mm=setup_tolerance_mm,
    )
    return replace(fit, cups=tuple(_with_advice(fit, cup_fit) for cup_fit in found))


# --- preparing -------------------------------------------------------------


def _prepare(artwork: Artwork) -> _Prepared:
    readings = readings_of(artwork)
    circles = [smallest_enclosing_circle(reading.outline.hull_mm) for reading in readings]
    radii_mm = tuple(circle.radius for circle in circles)
    own = [
        (circle.center[0] / reading.ratio, circle.center[1] / reading.ratio)
        for reading, circle in zip(readings, circles, strict=True)
    ]
    candidates = []
    for index, center_mm in enumerate(own):
        reaches = [reading.reach_mm(center_mm)[0] for reading in readings]
        # The circle's own radius, not a distance measured again: a last-digit
        # difference between the two must not decide an exact fit.
        reaches[index] = radii_mm[index]
        candidates.append(_Candidate(center_mm, tuple(reaches)))
    if len(readings) > 1:
        candidates.append(_union_candidate(readings))
    return _Prepared(artwork, readings, radii_mm, tuple(candidates), circles[0])


def _union_candidate(readings: Sequence[ReadOutline]) -> _Candidate:
    """The center of the smallest circle around all readings at once."""
    every = np.vstack([reading.outline.hull_mm / reading.ratio for reading in readings])
    center_mm = smallest_enclosing_circle(every).center
    return _Candidate(center_mm, tuple(reading.reach_mm(center_mm)[0] for reading in readings))


# --- one cup ---------------------------------------------------------------


def _fit_cup(prepared: _Prepared, cup: Cup, setup_tolerance_mm: float) -> CupFit:
    verdict, causes = _judge_at_scale(prepared, cup, 1.0)
    clearance_mm = cup.max_image_diameter_mm / 2.0 - prepared.radii_mm[0]
    support = prepared.circle.support
    return CupFit(
        cup=cup,
        verdict=verdict,
        tight=verdict is Verdict.FITS and clearance_mm < setup_tolerance_mm,
        clearance_mm=clearance_mm,
        hard_clearance_mm=cup.ring_inner_diameter_mm / 2.0 - prepared.radii_mm[0],
        largest_scale=_largest_scale(prepared, cup),
        best=_best_placement(prepared, cup, verdict, clearance_mm),
        limits=tuple(Limit((float(x), float(y))) for x, y in support),
        causes=causes,
    )


def _judge_at_scale(prepared: _Prepared, cup: Cup, scale: float) -> tuple[Verdict, tuple[str, ...]]:
    readings = prepared.readings
    if scale != 1.0:
        readings = tuple(_scaled(reading, scale) for reading in readings)
    reaches_mm = tuple(radius * scale for radius in prepared.radii_mm)
    together = any(_spare_mm(prepared, c, cup, scale) >= 0 for c in prepared.candidates)
    return judge_readings(prepared.artwork, readings, reaches_mm, cup, together)


def _scaled(reading: ReadOutline, scale: float) -> ReadOutline:
    """The same reading with the uncertainty of a scaled copy.

    Enlarging enlarges the uncertainty; shrinking is not trusted to lessen it.
    """
    uncertainty_mm = reading.outline.uncertainty_mm * max(scale, 1.0)
    return replace(reading, outline=replace(reading.outline, uncertainty_mm=uncertainty_mm))


def _spare_mm(prepared: _Prepared, candidate: _Candidate, cup: Cup, scale: float) -> float:
    """What is left at a center after the uncertainty, for the worst reading."""
    growth = max(scale, 1.0)
    return min(
        cup.max_image_diameter_mm / 2.0 - reach_mm * scale - uncertainty_mm * growth
        for reach_mm, uncertainty_mm in zip(
            candidate.reaches_mm, prepared.uncertainties_mm, strict=True
        )
    )


def _largest_scale(prepared: _Prepared, cup: Cup) -> float | None:
    """Largest factor at which the verdict is "fits"; None where there is none."""
    if unconditional_blocks(prepared.artwork):
        return None
    scale = max(
        min(
            _scale_for(cup.max_image_diameter_mm / 2.0, reach_mm, uncertainty_mm)
            for reach_mm, uncertainty_mm in zip(
                candidate.reaches_mm, prepared.uncertainties_mm, strict=True
            )
        )
        for candidate in prepared.candidates
    )
    for _ in range(64):
        if not math.isfinite(scale) or scale <= 0:
            return None
        if _judge_at_scale(prepared, cup, scale)[0] is Verdict.FITS:
            return scale
        scale *= _NUDGE
    return None


def _scale_for(radius_mm: float, reach_mm: float, uncertainty_mm: float) -> float:
    """Solve ``radius = reach * s + uncertainty * max(s, 1)`` for s; 0 where none is."""
    if not math.isfinite(uncertainty_mm):
        return 0.0
    needed_mm = reach_mm + uncertainty_mm
    if needed_mm <= radius_mm:
        return radius_mm / needed_mm if needed_mm > 0 else math.inf
    return max(0.0, (radius_mm - uncertainty_mm) / reach_mm) if reach_mm > 0 else 0.0


def _best_placement(
    prepared: _Prepared, cup: Cup, verdict: Verdict, clearance_mm: float
) -> BestPlacement:
    """The main reading's best center, unless only another one suits every reading."""
    candidate = prepared.candidates[0]
    if verdict is Verdict.FITS and _spare_mm(prepared, candidate, cup, 1.0) < 0:
        candidate = max(prepared.candidates, key=lambda c: _spare_mm(prepared, c, cup, 1.0))
    center_mm = _rounded_center(prepared, candidate.center_mm, cup)
    best_mm = cup.max_image_diameter_mm / 2.0 - prepared.readings[0].reach_mm(center_mm)[0]
    if verdict is Verdict.FITS and _spare_at(prepared, center_mm, cup) < 0:
        # Rounding to what can be set would lose a fit by less than a step: keep it exact.
        center_mm = candidate.center_mm
        best_mm = cup.max_image_diameter_mm / 2.0 - candidate.reaches_mm[0]
    return BestPlacement(center_mm, 0.0, best_mm, max(0.0, clearance_mm - best_mm))


def _rounded_center(
    prepared: _Prepared, center_mm: tuple[float, float], cup: Cup
) -> tuple[float, float]:
    """The best of the settable centers around an exact one."""
    steps = [(math.floor(v * STEPS_PER_MM), math.ceil(v * STEPS_PER_MM)) for v in center_mm]
    around = [(x / STEPS_PER_MM, y / STEPS_PER_MM) for x, y in product(steps[0], steps[1])]
    return max(around, key=lambda point: _spare_at(prepared, point, cup))


def _spare_at(prepared: _Prepared, center_mm: tuple[float, float], cup: Cup) -> float:
    reaches_mm = tuple(reading.reach_mm(center_mm)[0] for reading in prepared.readings)
    return _spare_mm(prepared, _Candidate(center_mm, reaches_mm), cup, 1.0)


# --- warnings and advice -----------------------------------------------------


def _final_warnings(prepared: _Prepared, cups: tuple[Cup, ...]) -> tuple[ArtworkWarning, ...]:
    """Warnings with ``blocks_fits`` settled where it depends on the cups offered."""
    codes = {reading.code for reading in prepared.readings[1:]}
    blocking = {code for code in codes if any(_disagrees(prepared, code, cup) for cup in cups)}
    return tuple(
        replace(warning, blocks_fits=warning.code in blocking) if warning.code in codes else warning
        for warning in prepared.artwork.warnings
    )


def _disagrees(prepared: _Prepared, code: str | None, cup: Cup) -> bool:
    """Whether the readings of one code and the main one differ in fitting a cup."""
    bare = replace(prepared.artwork, warnings=())
    answers = {
        judge_readings(bare, (reading,), (radius_mm,), cup)[0] is Verdict.FITS
        for reading, radius_mm in zip(prepared.readings, prepared.radii_mm, strict=True)
        if reading.code in (None, code)
    }
    if answers != {True}:
        return len(answers) > 1
    return not any(_spare_mm(prepared, c, cup, 1.0) >= 0 for c in prepared.candidates)


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
        fits=cup_fit.verdict is Verdict.FITS,
        largest_scale=cup_fit.largest_scale,
        helper_name=None if helper is None else helper.cup.name,
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
