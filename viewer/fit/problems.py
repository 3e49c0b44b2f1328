"""From artwork and limits to shift problems: which points, which area, how far it may shift."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.artwork.model import Artwork
from viewer.errors import UsageError
from viewer.fit.area import ImageArea, cos_sin, image_area
from viewer.fit.readings import ReadOutline, readings_of
from viewer.fit.shift import InkGroup, ShiftProblem, deepest_mm, shift_problem
from viewer.geometry import bounds_of
from viewer.press import Cup, PressLimits

DATUM_STEPS_PER_MM = 100
"""The ink's middle as a datum is taken to 0.01 mm, so that shifts from it are plain numbers."""


def datum_point(artwork: Artwork, limits: PressLimits) -> tuple[float, float]:
    """The page point, in mm, that stands under the cup's center when nothing is shifted.

    A datum given as a point is a point of the page as loaded and scaled.
    """
    datum = limits.datum
    if datum.kind == "point":
        return datum.point_mm
    if datum.kind == "page":
        return artwork.page_mm[0] / 2.0, artwork.page_mm[1] / 2.0
    box = bounds_of(artwork.outline.hull_mm)
    x, y = (box.x0 + box.x1) / 2.0, (box.y0 + box.y1) / 2.0
    steps = DATUM_STEPS_PER_MM
    return round(x * steps) / steps, round(y * steps) / steps


@dataclass(frozen=True, eq=False)
class LimitedInk:
    """All readings of an artwork relative to the datum, and what limits them."""

    artwork: Artwork
    readings: tuple[ReadOutline, ...]
    limits: PressLimits
    datum_mm: tuple[float, float]

    @property
    def is_known(self) -> bool:
        """Whether the uncertainty of every reading has a limit."""
        return all(math.isfinite(r.outline.uncertainty_mm) for r in self.readings)

    def group(
        self, number: int, scale: float = 1.0, *, joint: bool = False, grow: bool = False
    ) -> InkGroup:
        """One reading's ink. ``joint``: shifted together with the main reading's page.
        ``grow``: with its uncertainty."""
        reading = self.readings[number]
        points = reading.outline.hull_mm - np.array(self.datum_mm) * reading.ratio
        # Enlarging enlarges the uncertainty; shrinking is not trusted to lessen it.
        grow_mm = reading.outline.uncertainty_mm * max(scale, 1.0) if grow else 0.0
        return InkGroup(points * scale, reading.ratio if joint else 1.0, grow_mm)

    def alone(self, number: int, area: ImageArea) -> ShiftProblem:
        """One reading on its own, its outline taken as it is."""
        return shift_problem([self.group(number)], area, self.limits.hold.reach_mm)

    def together(self, area: ImageArea, scale: float = 1.0) -> ShiftProblem:
        """All readings at one placement, each grown by its uncertainty."""
        groups = [
            self.group(number, scale, joint=True, grow=True) for number in range(len(self.readings))
        ]
        return shift_problem(groups, area, self.limits.hold.reach_mm)

    def shift_of(self, center_mm: tuple[float, float], turn_deg: float) -> tuple[float, float]:
        """Where the datum lands in the press frame, for a placement."""
        x, y = self.datum_mm[0] - center_mm[0], self.datum_mm[1] - center_mm[1]
        cos, sin = cos_sin(turn_deg)
        return cos * x + sin * y, cos * y - sin * x

    def center_of(self, shift_mm: tuple[float, float], turn_deg: float) -> tuple[float, float]:
        """The page point under the cup's center, for a shift."""
        cos, sin = cos_sin(turn_deg)
        x, y = shift_mm
        return (
            self.datum_mm[0] - (cos * x - sin * y),
            self.datum_mm[1] - (cos * y + sin * x),
        )


def limited_ink(artwork: Artwork, limits: PressLimits) -> LimitedInk:
    """Prepare an artwork. Raises ArtworkError for artwork without ink."""
    readings = readings_of(artwork)
    return LimitedInk(artwork, readings, limits, datum_point(artwork, limits))


def check_areas(cups: Sequence[Cup], limits: PressLimits) -> None:
    """Raise UsageError where the limits leave no cup any image area at all."""
    if limits.pad is None and limits.etch is None:
        return
    if not any(deepest_mm(image_area(cup, limits)) > 0 for cup in cups):
        raise UsageError(_nothing_left(cups, limits))


def _nothing_left(cups: Sequence[Cup], limits: PressLimits) -> str:
    names = []
    if limits.pad is not None:
        names.append(f"the pad ({limits.pad})")
    if limits.etch is not None:
        names.append(f"the etch area ({limits.etch})")
    whose = f"the {cups[0].name} cup" if len(cups) == 1 else "none of these cups"
    common = "has no place in common with" if len(cups) == 1 else "has a place in common with"
    return f"{whose} {common} {' and '.join(names)}; check their sizes, margins and offsets"
