"""One round cup and nothing else: no search, the smallest circle is the answer.

The angle cannot matter, and the best center is that of the smallest enclosing circle; for
several readings at once it is the center that leaves the worst of them most.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from viewer.artwork.model import Artwork
from viewer.fit.area import ImageArea, Part
from viewer.fit.model import BestPlacement, CupFit, Limit, Settable
from viewer.fit.readings import (
    ReadOutline,
    Room,
    disputed_codes,
    judge_readings,
    readings_of,
    unconditional_blocks,
)
from viewer.fit.settable import STEPS_PER_MM
from viewer.fit.shift import InkGroup, best_shifts, shift_problem
from viewer.fit.verdict import Verdict
from viewer.geometry import Circle, smallest_enclosing_circle
from viewer.press import Cup

_NUDGE = 1.0 - 2.0**-50
_JOINT_MM = 1e-12


@dataclass(frozen=True)
class Candidate:
    """A center worth trying, and how far from it the ink of each reading reaches (mm)."""

    center_mm: tuple[float, float]
    reaches_mm: tuple[float, ...]


@dataclass(frozen=True)
class PreparedInk:
    """What does not depend on the cup. ``radii_mm``: each reading on its own."""

    artwork: Artwork
    readings: tuple[ReadOutline, ...]
    radii_mm: tuple[float, ...]
    candidates: tuple[Candidate, ...]
    circle: Circle

    @property
    def uncertainties_mm(self) -> tuple[float, ...]:
        """How far each reading's outline may be off."""
        return tuple(reading.outline.uncertainty_mm for reading in self.readings)


def prepare_ink(artwork: Artwork) -> PreparedInk:
    """Circles and candidates of an artwork. Raises ArtworkError for one without ink."""
    readings = readings_of(artwork)
    circles = [smallest_enclosing_circle(reading.outline.hull_mm) for reading in readings]
    # Whole numbers beside the exact center may be on the better side of the last digits:
    # what fits there must not be refused.
    rounded = min(readings[0].reach_mm(center)[0] for center in _settable_around(circles[0].center))
    radii_mm = (
        min(circles[0].radius, rounded),
        *(circle.radius for circle in circles[1:]),
    )
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
        candidates.append(Candidate(center_mm, tuple(reaches)))
    if len(readings) > 1:
        candidates.append(_joint_candidate(readings))
    return PreparedInk(artwork, readings, radii_mm, tuple(candidates), circles[0])


def _joint_candidate(readings: Sequence[ReadOutline]) -> Candidate:
    """The center that leaves the worst reading most, each grown by its uncertainty."""
    known = [r for r in readings if math.isfinite(r.outline.uncertainty_mm)] or list(readings)
    main = known[0].outline.hull_mm
    origin = (main.min(axis=0) + main.max(axis=0)) / 2.0
    groups = [
        InkGroup(
            r.outline.hull_mm - origin * r.ratio,
            r.ratio,
            r.outline.uncertainty_mm if math.isfinite(r.outline.uncertainty_mm) else 0.0,
        )
        for r in known
    ]
    # Any radius will do: the same center is best for every cup.
    area = ImageArea((Part("cup", (0.0, 0.0), 1000.0),))
    problem = shift_problem(groups, area, (math.inf, math.inf))
    found = best_shifts(problem, np.zeros(1), _JOINT_MM)
    x, y = origin - found.shift_mm[0]
    center_mm = (float(x), float(y))
    return Candidate(center_mm, tuple(reading.reach_mm(center_mm)[0] for reading in readings))


def fit_round_cup(prepared: PreparedInk, cup: Cup, setup_tolerance_mm: float) -> CupFit:
    """Judge artwork against a cup where nothing else limits it."""
    verdict, causes = judge_at_scale(prepared, cup, 1.0)
    clearance_mm = cup.max_image_diameter_mm / 2.0 - prepared.radii_mm[0]
    largest = _largest_scale(prepared, cup)
    return CupFit(
        cup=cup,
        verdict=verdict,
        tight=verdict is Verdict.FITS and clearance_mm < setup_tolerance_mm,
        clearance_mm=clearance_mm,
        hard_clearance_mm=cup.ring_inner_diameter_mm / 2.0 - prepared.radii_mm[0],
        largest_scale=largest,
        best=_best_placement(prepared, cup, verdict, clearance_mm),
        limits=tuple(Limit((float(x), float(y))) for x, y in prepared.circle.support),
        unturned_clearance_mm=clearance_mm,
        largest_scale_unturned=largest,
        causes=causes,
        disputed=_disputed(prepared, cup),
    )


def _disputed(prepared: PreparedInk, cup: Cup) -> frozenset[str]:
    rooms = tuple(round_room(cup, radius) for radius in prepared.radii_mm)
    together = any(spare_mm(prepared, c, cup, 1.0) >= 0 for c in prepared.candidates)
    return disputed_codes(prepared.artwork, prepared.readings, rooms, together)


def judge_at_scale(
    prepared: PreparedInk, cup: Cup, scale: float
) -> tuple[Verdict, tuple[str, ...]]:
    """Verdict and causes for the artwork scaled by a factor."""
    readings = prepared.readings
    if scale != 1.0:
        readings = tuple(_scaled(reading, scale) for reading in readings)
    rooms = tuple(round_room(cup, radius * scale) for radius in prepared.radii_mm)
    together = any(spare_mm(prepared, c, cup, scale) >= 0 for c in prepared.candidates)
    return judge_readings(prepared.artwork, readings, rooms, together)


def round_room(cup: Cup, reach_mm: float) -> Room:
    """What a reach from the cup's center leaves."""
    return Room(
        cup.max_image_diameter_mm / 2.0 - reach_mm, cup.ring_inner_diameter_mm / 2.0 - reach_mm
    )


def _scaled(reading: ReadOutline, scale: float) -> ReadOutline:
    """The same reading with the uncertainty of a scaled copy.

    Enlarging enlarges the uncertainty; shrinking is not trusted to lessen it.
    """
    uncertainty_mm = reading.outline.uncertainty_mm * max(scale, 1.0)
    return replace(reading, outline=replace(reading.outline, uncertainty_mm=uncertainty_mm))


def spare_mm(prepared: PreparedInk, candidate: Candidate, cup: Cup, scale: float) -> float:
    """What is left at a center after the uncertainty, for the worst reading."""
    growth = max(scale, 1.0)
    return min(
        cup.max_image_diameter_mm / 2.0 - reach_mm * scale - uncertainty_mm * growth
        for reach_mm, uncertainty_mm in zip(
            candidate.reaches_mm, prepared.uncertainties_mm, strict=True
        )
    )


def _largest_scale(prepared: PreparedInk, cup: Cup) -> float | None:
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
        if judge_at_scale(prepared, cup, scale)[0] is Verdict.FITS:
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
    prepared: PreparedInk, cup: Cup, verdict: Verdict, clearance_mm: float
) -> BestPlacement:
    """The main reading's best center, unless only another one suits every reading."""
    candidate = prepared.candidates[0]
    if verdict is Verdict.FITS and spare_mm(prepared, candidate, cup, 1.0) < 0:
        candidate = max(prepared.candidates, key=lambda c: spare_mm(prepared, c, cup, 1.0))
    radius_mm = cup.max_image_diameter_mm / 2.0
    exact_mm = radius_mm - candidate.reaches_mm[0]
    center_mm = _rounded_center(prepared, candidate.center_mm, cup)
    settable_mm = radius_mm - prepared.readings[0].reach_mm(center_mm)[0]
    if verdict is Verdict.FITS and _spare_at(prepared, center_mm, cup) < 0:
        # Rounding to what can be set would lose a fit by less than a step: keep it exact.
        center_mm, settable_mm = candidate.center_mm, exact_mm
    return BestPlacement(
        candidate.center_mm,
        0.0,
        exact_mm,
        max(0.0, clearance_mm - exact_mm),
        Settable(center_mm, 0.0, settable_mm),
    )


def _rounded_center(
    prepared: PreparedInk, center_mm: tuple[float, float], cup: Cup
) -> tuple[float, float]:
    """The best of the settable centers around an exact one."""
    around = _settable_around(center_mm)
    return max(around, key=lambda point: _spare_at(prepared, point, cup))


def _settable_around(center_mm: tuple[float, float]) -> list[tuple[float, float]]:
    steps = [(math.floor(v * STEPS_PER_MM), math.ceil(v * STEPS_PER_MM)) for v in center_mm]
    return [(x / STEPS_PER_MM, y / STEPS_PER_MM) for x, y in product(steps[0], steps[1])]


def _spare_at(prepared: PreparedInk, center_mm: tuple[float, float], cup: Cup) -> float:
    reaches_mm = tuple(reading.reach_mm(center_mm)[0] for reading in prepared.readings)
    return spare_mm(prepared, Candidate(center_mm, reaches_mm), cup, 1.0)
