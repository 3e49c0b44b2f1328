"""All the ways one file may be read, prepared for judging against cups."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from viewer.artwork.model import Artwork, ArtworkWarning, Outline, Points
from viewer.errors import ArtworkError
from viewer.fit.verdict import Verdict, combine, judge

_SAME_SHAPE_RELATIVE = 1e-9
"""Two outlines are one shape at two scales when they agree to this part of their size."""


@dataclass(frozen=True)
class ReadOutline:
    """One reading. ``ratio`` is its page scale relative to the main reading.

    A file whose unit is in doubt has a reading that is the whole page at another
    scale: the page point under the cup's center is then at another place in mm,
    though it is the same point of the artwork.
    """

    code: str | None
    label: str
    outline: Outline
    ratio: float

    def reach_mm(self, center_mm: tuple[float, float]) -> tuple[float, tuple[float, float]]:
        """Greatest distance of ink from a center given in the main page frame, and where."""
        hull = self.outline.hull_mm
        offsets = hull - np.asarray(center_mm) * self.ratio
        squares = np.einsum("ij,ij->i", offsets, offsets)
        index = int(np.argmax(squares))
        reach = math.hypot(float(offsets[index, 0]), float(offsets[index, 1]))
        return reach, (float(hull[index, 0]), float(hull[index, 1]))


def check_outline(path: str, outline: Outline) -> None:
    """Raise ArtworkError for an outline that nothing can be said about."""
    hull = outline.hull_mm
    if hull.size == 0:
        raise ArtworkError(f"{path}: no ink was found", code="no-ink")
    if hull.ndim != 2 or hull.shape[1] != 2 or not bool(np.isfinite(hull).all()):
        raise ArtworkError(f"{path}: the outline holds impossible numbers")
    if not outline.uncertainty_mm >= 0:
        raise ArtworkError(f"{path}: the uncertainty {outline.uncertainty_mm} mm is impossible")


def readings_of(artwork: Artwork) -> tuple[ReadOutline, ...]:
    """The main reading first, then every alternative that has ink.

    Raises ArtworkError when the main reading has none. An alternative without
    ink restricts nothing, so it is left out.
    """
    main = artwork.outline
    check_outline(artwork.path, main)
    found = [ReadOutline(None, "", main, 1.0)]
    for reading in artwork.alternatives:
        if reading.outline.hull_mm.size == 0:
            continue
        check_outline(artwork.path, reading.outline)
        ratio = _page_ratio(main.hull_mm, reading.outline.hull_mm)
        found.append(ReadOutline(reading.code, reading.label, reading.outline, ratio))
    return tuple(found)


def _page_ratio(main: Points, other: Points) -> float:
    """Scale about the page origin that turns ``main`` into ``other``, else 1."""
    if main.shape != other.shape:
        return 1.0
    size = float(np.vdot(main, main))
    if size <= 0:
        return 1.0
    ratio = float(np.vdot(main, other)) / size
    limit = _SAME_SHAPE_RELATIVE * float(np.abs(other).max())
    if ratio <= 0 or float(np.abs(main * ratio - other).max()) > limit:
        return 1.0
    return ratio


def unconditional_blocks(artwork: Artwork) -> tuple[ArtworkWarning, ...]:
    """Blocking warnings that no reading answers: nothing may be called "fits"."""
    answered = {reading.code for reading in artwork.alternatives if reading.outline.hull_mm.size}
    return tuple(w for w in artwork.warnings if w.blocks_fits and w.code not in answered)


@dataclass(frozen=True)
class Room:
    """What one reading has: least clearance to the image area with its margins, to the
    hard edges, and what the searches for the two could not exclude. mm."""

    clearance_mm: float
    hard_clearance_mm: float
    gap_mm: float = 0.0


def judge_readings(
    artwork: Artwork,
    readings: tuple[ReadOutline, ...],
    rooms: tuple[Room, ...],
    placed_together: bool = True,
) -> tuple[Verdict, tuple[str, ...]]:
    """Verdict and, where it is not for geometry alone, the sentences that say why.

    ``placed_together``: one placement exists at which every reading fits.
    """
    verdicts = tuple(
        judge(
            room.clearance_mm,
            room.hard_clearance_mm,
            reading.outline.uncertainty_mm,
            room.gap_mm,
            blocked=False,
        )
        for reading, room in zip(readings, rooms, strict=True)
    )
    verdict = combine(verdicts)
    if verdict is Verdict.FITS:
        blocks = unconditional_blocks(artwork)
        if blocks:
            return Verdict.TOO_CLOSE, tuple(warning.message for warning in blocks)
        if not placed_together:
            return Verdict.TOO_CLOSE, tuple(_causes(artwork, readings[1:]))
        return verdict, ()
    if verdict is Verdict.TOO_CLOSE and verdicts[0] is not Verdict.TOO_CLOSE:
        differing = tuple(
            reading
            for reading, found in zip(readings, verdicts, strict=True)
            if found is not verdicts[0]
        )
        return verdict, tuple(_causes(artwork, differing))
    return verdict, ()


def disputed_codes(
    artwork: Artwork,
    readings: tuple[ReadOutline, ...],
    rooms: tuple[Room, ...],
    placed_together: bool,
) -> frozenset[str]:
    """Codes of readings that differ from the main one in fitting, or fit only elsewhere."""
    bare = replace(artwork, warnings=())
    fits = [
        judge_readings(bare, (reading,), (room,))[0] is Verdict.FITS
        for reading, room in zip(readings, rooms, strict=True)
    ]
    found = set()
    for code in {reading.code for reading in readings[1:] if reading.code is not None}:
        answers = {
            does_fit
            for reading, does_fit in zip(readings, fits, strict=True)
            if reading.code in (None, code)
        }
        if len(answers) > 1 or (answers == {True} and not placed_together):
            found.add(code)
    return frozenset(found)


def _causes(artwork: Artwork, readings: tuple[ReadOutline, ...]) -> Iterator[str]:
    told: set[str] = set()
    for reading in readings:
        for sentence in _sentences(artwork, reading):
            if sentence not in told:
                told.add(sentence)
                yield sentence


def _sentences(artwork: Artwork, reading: ReadOutline) -> tuple[str, ...]:
    found = tuple(w.message for w in artwork.warnings if w.code == reading.code)
    return found or (reading.label or f"the file can be read in two ways ({reading.code})",)
