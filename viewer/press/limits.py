"""What else limits an image besides the cup: pad, etch area, travel and angle, as values.

Press frame: origin at the cup's center, x to the right, y towards the front, as the
operator sees the plate (so x and y run as on the page when nothing is turned).
Sizes are across x along, in mm; turns are counter-clockwise as seen, in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from viewer.errors import UsageError

PadShape = Literal["round", "oval", "rect"]
HoldKind = Literal["free", "across", "along", "fixed"]
DatumKind = Literal["page", "ink", "point"]
AnglesKind = Literal["any", "none", "within", "step"]

LARGEST_MM = 100_000.0
"""No size, offset or limit of a press is greater; a larger number is a slip of the hand."""

_WHOLE_TURN_SLACK = 1e-9


@dataclass(frozen=True)
class Pad:
    """The printing area of a pad, where it comes down on the plate to pick the ink up.

    ``offset_mm``: its center from the cup's (right, front). ``margin_mm`` is kept free
    inside its edge. A round pad has one size, given twice.
    """

    shape: PadShape
    width_mm: float
    height_mm: float
    corner_radius_mm: float = 0.0
    offset_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    margin_mm: float = 0.0
    name: str = ""

    def __post_init__(self) -> None:
        if self.shape not in ("round", "oval", "rect"):
            raise UsageError(f"a pad is round, oval or rect, not {self.shape!r}")
        _check_sizes("pad", self.width_mm, self.height_mm)
        if self.shape == "round" and self.width_mm != self.height_mm:
            raise UsageError("a round pad has one diameter; for two sizes say oval")
        _check_turn("pad turn", self.turn_deg)
        _check_place("pad offset", *self.offset_mm)
        _check_not_negative("pad corner radius", self.corner_radius_mm)
        if self.corner_radius_mm and self.shape != "rect":
            raise UsageError(f"only a rect pad has a corner radius, not a {self.shape} one")
        if 2.0 * self.corner_radius_mm > min(self.width_mm, self.height_mm):
            raise UsageError(
                f"pad corner radius {self.corner_radius_mm:g} mm is more than half of the"
                f" shorter side, {min(self.width_mm, self.height_mm):g} mm"
            )
        _check_margin("pad", self.margin_mm, self.width_mm, self.height_mm)

    def __str__(self) -> str:
        if self.shape == "round":
            words = f"round {self.width_mm:g} mm"
        else:
            words = f"{self.shape} {self.width_mm:g} x {self.height_mm:g} mm"
        if self.corner_radius_mm:
            words += f", corners {self.corner_radius_mm:g} mm"
        return words


@dataclass(frozen=True)
class EtchArea:
    """The rectangle of the plate that may be etched. ``offset_mm``: as for a pad."""

    width_mm: float
    height_mm: float
    offset_mm: tuple[float, float] = (0.0, 0.0)
    margin_mm: float = 0.0

    def __post_init__(self) -> None:
        _check_sizes("etch area", self.width_mm, self.height_mm)
        _check_place("etch area offset", *self.offset_mm)
        _check_margin("etch area", self.margin_mm, self.width_mm, self.height_mm)

    def __str__(self) -> str:
        return f"{self.width_mm:g} x {self.height_mm:g} mm"


@dataclass(frozen=True)
class Hold:
    """How the artwork may be shifted from the datum, in the press frame.

    ``limit_mm``: at most so far each way in every direction that is free; None: any
    distance. ``fixed`` takes no limit.
    """

    kind: HoldKind = "free"
    limit_mm: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in ("free", "across", "along", "fixed"):
            raise UsageError(f"a hold is free, across, along or fixed, not {self.kind!r}")
        if self.limit_mm is None:
            return
        if self.kind == "fixed":
            raise UsageError("fixed takes no limit: it does not shift at all")
        _check_not_negative("the limit of a hold", self.limit_mm)

    @property
    def reach_mm(self) -> tuple[float, float]:
        """Greatest shift across and along; infinite where nothing limits it."""
        limit = math.inf if self.limit_mm is None else self.limit_mm
        return (
            limit if self.kind in ("free", "across") else 0.0,
            limit if self.kind in ("free", "along") else 0.0,
        )

    @property
    def is_free(self) -> bool:
        """Whether nothing limits the position."""
        return self.kind == "free" and self.limit_mm is None

    def __str__(self) -> str:
        if self.limit_mm is None:
            return self.kind
        return f"{self.kind}, at most {self.limit_mm:g} mm each way"


@dataclass(frozen=True)
class Datum:
    """The point of the artwork that stands under the cup's center when nothing is shifted.

    ``page``: the page's middle. ``ink``: the middle of the ink's width and height.
    ``point``: a page point, mm from the page's left and top.
    """

    kind: DatumKind = "ink"
    point_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if self.kind not in ("page", "ink", "point"):
            raise UsageError(f"a datum is page, ink or a point x,y, not {self.kind!r}")
        _check_place("datum", *self.point_mm)

    def __str__(self) -> str:
        if self.kind == "point":
            return f"point {self.point_mm[0]:g}, {self.point_mm[1]:g} mm"
        return "page centre" if self.kind == "page" else "ink centre"


@dataclass(frozen=True)
class Angles:
    """Which turns of the artwork the press allows.

    ``within``: up to ``value_deg`` each way. ``step``: the multiples of ``value_deg``,
    which must divide a whole turn, as a fixture that indexes does.
    """

    kind: AnglesKind = "any"
    value_deg: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in ("any", "none", "within", "step"):
            raise UsageError(f"angles are any, none, +-LIMIT or step:DEGREES, not {self.kind!r}")
        _check_turn("the angle", self.value_deg)
        if self.kind == "within" and not 0.0 <= self.value_deg <= 180.0:
            raise UsageError(f"an angle limit is from 0 to 180 degrees, not {self.value_deg:g}")
        if self.kind == "step":
            if not 0.1 <= self.value_deg <= 360.0:
                raise UsageError(
                    f"a step of angle is from 0.1 to 360 degrees, not {self.value_deg:g}"
                )
            turns = 360.0 / self.value_deg
            if abs(turns - round(turns)) > _WHOLE_TURN_SLACK * turns:
                raise UsageError(
                    f"a step of {self.value_deg:g} degrees does not divide a whole turn;"
                    " give one such as 90, 45 or 22.5"
                )

    def __str__(self) -> str:
        if self.kind == "within":
            return f"within \u00b1{self.value_deg:g}\u00b0"
        if self.kind == "step":
            return f"in steps of {self.value_deg:g}\u00b0"
        return self.kind


@dataclass(frozen=True)
class PressLimits:
    """All that limits an image besides the cup. By default nothing does."""

    pad: Pad | None = None
    etch: EtchArea | None = None
    hold: Hold = field(default_factory=Hold)
    datum: Datum = field(default_factory=Datum)
    angles: Angles = field(default_factory=Angles)

    @property
    def is_cup_alone(self) -> bool:
        """Whether only the round cup limits the image, so that no turn can matter."""
        return self.pad is None and self.etch is None and self.hold.is_free


def _check_sizes(what: str, *sizes_mm: float) -> None:
    for size_mm in sizes_mm:
        if not math.isfinite(size_mm) or size_mm <= 0:
            raise UsageError(f"{what}: a size must be more than zero, not {size_mm:g} mm")
        _check_place(f"{what}: a size", size_mm)


def _check_turn(what: str, turn_deg: float) -> None:
    if not abs(turn_deg) <= 360.0:
        raise UsageError(f"{what} must be from -360 to 360 degrees, not {turn_deg:g}")


def _check_place(what: str, *values_mm: float) -> None:
    for value_mm in values_mm:
        if not abs(value_mm) <= LARGEST_MM:
            raise UsageError(
                f"{what} must be a plain number of mm, at most {LARGEST_MM:.0f} each way,"
                f" not {value_mm:g}"
            )


def _check_not_negative(what: str, value_mm: float) -> None:
    if not math.isfinite(value_mm) or value_mm < 0:
        raise UsageError(f"{what} must be zero or more, not {value_mm:g} mm")
    _check_place(what, value_mm)


def _check_margin(what: str, margin_mm: float, *sizes_mm: float) -> None:
    _check_not_negative(f"{what} margin", margin_mm)
    if 2.0 * margin_mm >= min(sizes_mm):
        raise UsageError(
            f"{what}: a margin of {margin_mm:g} mm on each side leaves nothing of"
            f" {min(sizes_mm):g} mm"
        )
