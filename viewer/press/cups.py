"""Round ink cups: what they are called, their ring, and how large an image they take."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from viewer.errors import UsageError
from viewer.units import parse_positive_mm

NamedBy = Literal["outside", "inside"]

DEFAULT_RING_WIDTH_MM = 3.0
"""From memory; a shop should measure its own."""


@dataclass(frozen=True)
class Margin:
    """What is kept free inside a cup.

    As a fraction it is of the named diameter, both sides together, and includes
    the ring. In mm it is counted on each side from the ring's inner edge.
    """

    value: float
    is_fraction: bool

    def __post_init__(self) -> None:
        if not math.isfinite(self.value) or self.value < 0:
            raise UsageError(f"the margin must be zero or more, not {self}")
        if self.is_fraction and self.value >= 1:
            raise UsageError(f"the margin must be less than 100 %, not {self}")

    def __str__(self) -> str:
        if self.is_fraction:
            return f"{self.value * 100:.6g} %"
        return f"{self.value:.6g} mm"


_SMALLEST_CUP_MM = 20.0

DEFAULT_MARGIN = Margin(0.15, True)
"""Common practice: about 15 % of the named diameter."""


@dataclass(frozen=True)
class Cup:
    """A cup, its doctoring ring and the margin kept inside it. Lengths in mm.

    Impossible numbers (no positive image area is left) raise UsageError.
    """

    name: str
    diameter_mm: float
    ring_width_mm: float = DEFAULT_RING_WIDTH_MM
    margin: Margin = DEFAULT_MARGIN
    named_by: NamedBy = "outside"

    def __post_init__(self) -> None:
        if not math.isfinite(self.diameter_mm) or self.diameter_mm <= 0:
            raise UsageError(
                f"cup {self.name}: the diameter must be more than zero, not {self.diameter_mm:g} mm"
            )
        if not math.isfinite(self.ring_width_mm) or self.ring_width_mm < 0:
            raise UsageError(
                f"cup {self.name}: the ring width must be zero or more,"
                f" not {self.ring_width_mm:g} mm"
            )
        if self.named_by not in ("outside", "inside"):
            raise UsageError(
                f"cup {self.name}: a cup is named by its outside or inside, not {self.named_by!r}"
            )
        if self.max_image_diameter_mm <= 0:
            # So small a cup is the second half of a number with a decimal comma.
            small = self.diameter_mm < _SMALLEST_CUP_MM
            hint = " (with a decimal comma, put semicolons between cups: 60;82,5)" if small else ""
            raise UsageError(
                f"cup {self.name}: a ring of {self.ring_width_mm:g} mm and a margin of"
                f" {self.margin} leave no image area{hint}"
            )

    @property
    def ring_inner_diameter_mm(self) -> float:
        """Diameter of the ring's inner edge, the hard limit for ink."""
        if self.named_by == "inside":
            return self.diameter_mm
        return self.diameter_mm - 2.0 * self.ring_width_mm

    @property
    def ring_outer_diameter_mm(self) -> float:
        """Diameter of the ring's outer edge."""
        if self.named_by == "inside":
            return self.diameter_mm + 2.0 * self.ring_width_mm
        return self.diameter_mm

    @property
    def max_image_diameter_mm(self) -> float:
        """Diameter of the circle in which all ink must lie; never beyond the ring."""
        inner_mm = self.ring_inner_diameter_mm
        if self.margin.is_fraction:
            return min(self.diameter_mm * (1.0 - self.margin.value), inner_mm)
        return inner_mm - 2.0 * self.margin.value


def sort_cups(cups: Iterable[Cup]) -> tuple[Cup, ...]:
    """Smallest image first."""
    return tuple(sorted(cups, key=lambda cup: (cup.max_image_diameter_mm, cup.diameter_mm)))


def parse_cups(
    text: str,
    ring_width_mm: float = DEFAULT_RING_WIDTH_MM,
    margin: Margin = DEFAULT_MARGIN,
    named_by: NamedBy = "outside",
) -> tuple[Cup, ...]:
    """Read ``"60,75,82.5"`` into cups, smallest image first.

    Units are allowed ("3.5 in"). With a semicolon between the cups a comma is
    a decimal comma ("60; 82,5"). A cup given twice counts once.
    """
    parts = [part.strip() for part in text.split(";" if ";" in text else ",")]
    if not any(parts):
        raise UsageError(f"no cup in {text!r}: give diameters such as 60,75,82.5")
    if not all(parts):
        raise UsageError(f"an empty place between the cups in {text!r}")
    diameters_mm = dict.fromkeys(parse_positive_mm(part, "cup diameter") for part in parts)
    return sort_cups(
        Cup(cup_name(diameter_mm), diameter_mm, ring_width_mm, margin, named_by)
        for diameter_mm in diameters_mm
    )


def cup_name(diameter_mm: float) -> str:
    """What a cup is called after its diameter in mm: ``90``, ``82.5``."""
    return f"{diameter_mm:.4f}".rstrip("0").rstrip(".") or "0"


EXAMPLE_CUPS: tuple[Cup, ...] = tuple(
    Cup(str(size), float(size)) for size in (60, 75, 90, 110, 130)
)
"""An example set, labelled so wherever it is shown."""
