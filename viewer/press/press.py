"""A press as a value: what a description in a file, or the options of a call, amount to."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from viewer.errors import UsageError
from viewer.press.cups import EXAMPLE_CUPS, Cup
from viewer.press.limits import LARGEST_MM, EtchArea, Pad, PressLimits

Travel = Literal["front-back", "left-right"]

DEFAULT_SETUP_TOLERANCE_MM = 0.5
"""How far a set-up may shift the artwork; from memory, a shop should put in its own."""


@dataclass(frozen=True)
class Press:
    """Everything about a press that decides whether an image fits.

    ``limits`` holds what applies until something else is chosen; ``pads`` what there is
    to choose from. ``plate_mm``: the plate's size, across x along. ``travel``: which way
    cup or plate slides, as the operator sees it.
    """

    name: str = ""
    cups: tuple[Cup, ...] = EXAMPLE_CUPS
    pads: tuple[Pad, ...] = ()
    etch: EtchArea | None = None
    plate_mm: tuple[float, float] | None = None
    travel: Travel = "front-back"
    limits: PressLimits = field(default_factory=PressLimits)
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM

    def __post_init__(self) -> None:
        if not self.cups:
            raise UsageError("a press needs at least one cup")
        if self.travel not in ("front-back", "left-right"):
            raise UsageError(f"travel is front-back or left-right, not {self.travel!r}")
        tolerance_mm = self.setup_tolerance_mm
        if not math.isfinite(tolerance_mm) or tolerance_mm < 0:
            raise UsageError(f"the set-up tolerance must be zero or more, not {tolerance_mm:g} mm")
        for size_mm in self.plate_mm or ():
            if not 0 < size_mm <= LARGEST_MM:
                raise UsageError(
                    f"plate: a size must be more than zero and at most {LARGEST_MM:.0f} mm,"
                    f" not {size_mm:g} mm"
                )
