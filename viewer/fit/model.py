"""What a fit is: plain values. Lengths in mm, clearances positive inside, turns in degrees."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.artwork.model import Artwork, ArtworkWarning
from viewer.fit.verdict import Verdict
from viewer.geometry import Bounds, Circle, Segment
from viewer.press import Cup, PressLimits


@dataclass(frozen=True)
class Placement:
    """The page point under the cup's center, and the artwork's turn against the press.

    Degrees, counter-clockwise as seen. With a round cup alone the turn changes nothing.
    """

    center_mm: tuple[float, float]
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Limit:
    """An ink point that decides, and the part of the image area that it decides against.

    ``part``: ``"cup"``, ``"pad"`` or ``"etch"``.
    """

    point_mm: tuple[float, float]
    part: str = "cup"


@dataclass(frozen=True)
class Settable:
    """A placement in steps that can be set (0.01 mm, 0.1 degree), and its clearance."""

    center_mm: tuple[float, float]
    turn_deg: float
    clearance_mm: float

    @property
    def placement(self) -> Placement:
        """The placement alone."""
        return Placement(self.center_mm, self.turn_deg)


@dataclass(frozen=True)
class BestPlacement:
    """The best placement, exactly, and ``settable``: what is proposed for it.

    ``gap_mm``: what no allowed placement at all can exceed ``clearance_mm`` by.
    """

    center_mm: tuple[float, float]
    turn_deg: float
    clearance_mm: float
    gap_mm: float
    settable: Settable


@dataclass(frozen=True)
class CupFit:
    """What holds for one cup.

    ``clearance_mm`` and ``hard_clearance_mm`` are of the main reading at its own best
    placement each; ``largest_scale`` (a factor) holds for every reading, at
    ``largest_scale_turn_deg``. ``unturned_clearance_mm`` is the best at turn 0.
    """

    cup: Cup
    verdict: Verdict
    tight: bool
    clearance_mm: float
    hard_clearance_mm: float
    largest_scale: float | None
    best: BestPlacement
    limits: tuple[Limit, ...]
    unturned_clearance_mm: float
    turn_helps: bool = False
    largest_scale_unturned: float | None = None
    largest_scale_turn_deg: float = 0.0
    causes: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    disputed: frozenset[str] = frozenset()
    """Codes of readings that answer otherwise than the main one."""


@dataclass(frozen=True)
class Fit:
    """An artwork, its sizes, and what holds for every cup offered.

    ``datum_mm``: the page point that shifts are counted from.
    """

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
    limits: PressLimits
    datum_mm: tuple[float, float]


@dataclass(frozen=True)
class PlacedFit:
    """What holds for one placement. Clearances of the main reading.

    ``is_allowed``: whether hold and angles let the press take this placement.
    """

    verdict: Verdict
    tight: bool
    clearance_mm: float
    hard_clearance_mm: float
    tightest: Limit
    causes: tuple[str, ...] = ()
    is_allowed: bool = True
