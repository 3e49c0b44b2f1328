"""What the artist's tools show, as one immutable value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from viewer.fit import WaysOut
from viewer.screen.theme import Rgb

Point = tuple[float, float]
MEASURE, PIECES, PAPER, WAYS = "measure", "pieces", "paper", "ways"


class PieceLike(Protocol):
    """A separate piece of ink of the artwork as loaded; lengths in mm of its page."""

    @property
    def number(self) -> int:
        """Counted from 1, the largest first."""

    @property
    def center_mm(self) -> Point:
        """A point on the piece."""

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""

    @property
    def area_mm2(self) -> float:
        """How much ink it has."""

    @property
    def outline_mm(self) -> NDArray[np.float64]:
        """Its convex hull, shape (n, 2)."""

    @property
    def leave_out_mm(self) -> Point:
        """The point that leaves it out, for the options of reading."""

    @property
    def named_by(self) -> tuple[Point, ...]:
        """Those points of the options that leave it out."""

    @property
    def left_out(self) -> bool:
        """Whether it does not count."""

    @property
    def touches(self) -> bool:
        """Whether it decides the smallest circle."""


@dataclass(frozen=True)
class WayRow:
    """One way out: what to do, more about it, and what is so then."""

    words: str
    more: tuple[str, ...]
    clearance: str
    verdict: str
    word: str


@dataclass(frozen=True)
class Sign:
    """A small sign that a drag has snapped. ``at_mm``: the page point, none for an angle."""

    label: str
    at_mm: Point | None = None


class WayActions(Protocol):
    """What commands may do with the ways out."""

    def choose(self) -> None:
        """Let the arrow keys go through them."""

    def take(self, number: int) -> None:
        """Do what a way says, counted from 1."""


class ArtistActions(Protocol):
    """What commands may do with the tools."""

    def toggle_measure(self) -> None:
        """Begin to measure, or leave off."""

    def toggle_sizes(self) -> None:
        """Draw the ink's sizes on it, or not."""

    def toggle_snapping(self) -> None:
        """Snap, or not."""

    def toggle_pieces(self) -> None:
        """Show the pieces of ink, or no longer."""

    def pick_paper(self) -> None:
        """Let a point of the artwork say which color is paper."""

    def next_white(self) -> None:
        """White as found, as ink, as paper."""

    def leave_out(self) -> None:
        """Leave the piece chosen out."""

    def take_in(self) -> None:
        """Take the piece chosen in again."""

    def zoom_to_tightest(self) -> None:
        """Show the tightest place from near."""

    @property
    def ways(self) -> WayActions:
        """The ways out."""


@dataclass(frozen=True)
class Tools:
    """``mode``: "", "measure", "pieces", "paper" or "ways" (these have the arrow keys).

    Page points count in mm of the artwork as it is scaled; pieces as it was loaded.
    ``hover``: what is under the pointer: "cup", "turn", "pan", "curve", "cup:2" on the
    bench, "panel:NAME" in the panel.
    """

    mode: str = ""
    is_snapping: bool = True
    shows_sizes: bool = False
    ends_mm: tuple[Point, ...] = ()
    cross_mm: Point | None = None
    cross_word: str = ""
    sign: Sign | None = None
    hover: str = ""
    ways: WaysOut | None = None
    rows: tuple[WayRow, ...] = ()
    notes: tuple[str, ...] = ()
    """The ways in words, and what stands under them where the cup is."""
    notes_anywhere: tuple[str, ...] = ()
    """What stands there wherever the cup is, of the fit and cup of ``found_for``."""
    found_for: tuple[int, int] = (0, 0)
    are_ways_old: bool = True
    way: int = -1
    """Which way is shown as a preview, counted from 0; -1: none."""
    pieces: tuple[PieceLike, ...] | None = None
    are_pieces_wanted: bool = False
    pieces_error: str = ""
    piece: int = 0
    """The number of the piece chosen or pointed at; 0: none."""
    under_rgb: Rgb | None = None
    """The color under the cross, in the paper mode."""

    @property
    def left_out(self) -> tuple[PieceLike, ...]:
        """The pieces that do not count."""
        return tuple(piece for piece in self.pieces or () if piece.left_out)

    def bench_part(self) -> tuple[object, ...]:
        """What of it the bench shows; big values count by identity."""
        hover = "" if self.hover.startswith("panel:") else self.hover
        if hover == "curve":
            hover = ""
        return (
            self.mode,
            self.is_snapping,
            self.shows_sizes,
            self.ends_mm,
            self.cross_mm,
            self.cross_word,
            self.sign,
            hover,
            id(self.ways) if self.way >= 0 else 0,
            self.way if not self.are_ways_old else -1,
            id(self.pieces),
            self.piece,
            self.under_rgb,
        )
