"""What every measured drawing of known extent must satisfy, whatever its format."""

from __future__ import annotations

import os
import random
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.fit import fit_artwork
from viewer.press.cups import Cup

from .shapes import Drawing, reach_outside, smallest_circle

COUNT = int(os.environ.get("BRIMCHECK_TRUTH_N", "60"))
NUMERIC_MM = 2e-6
"""Sampling of curves in the truth itself."""
RING_MM = 3.0


def cairo_present() -> bool:
    """Whether the second SVG renderer takes part in this run."""
    if os.environ.get("BRIMCHECK_HIDE_CAIRO"):
        return False
    try:
        import cairosvg  # noqa: F401
    except (ImportError, OSError):
        return False
    return True


def promised_mm(file_format: str) -> float:
    """The uncertainty promised for ink that is locally wide enough."""
    return 0.05 if file_format == "svg" and not cairo_present() else 0.01


def clear_mm(file_format: str) -> float:
    """Beyond this true clearance a verdict has to be given."""
    return 3 * promised_mm(file_format)


def measure(path: Path, data: bytes, options: LoadOptions) -> Artwork:
    """Write the bytes and measure the file."""
    path.write_bytes(data)
    return load_artwork(str(path), options)


def size_faults(drawing: Drawing, artwork: Artwork, numeric_mm: float = NUMERIC_MM) -> list[str]:
    """Complaints about the diameter: none when it is right within the uncertainty."""
    u = artwork.outline.uncertainty_mm
    off = smallest_circle(artwork.outline.hull_mm)[1] - drawing.radius_mm
    if abs(off) > u + numeric_mm:
        return [f"radius off by {off:+.5f}, uncertainty {u:.5f}"]
    return []


def place_faults(drawing: Drawing, artwork: Artwork, numeric_mm: float = NUMERIC_MM) -> list[str]:
    """Complaints about where the outline lies: both promises of ``Outline``."""
    u = artwork.outline.uncertainty_mm
    hull = artwork.outline.hull_mm
    missed = reach_outside(drawing.hull_mm, hull)
    invented = reach_outside(hull, drawing.hull_mm)
    faults = []
    if missed > u + numeric_mm:
        faults.append(f"true ink {missed:.5f} outside the outline, uncertainty {u:.5f}")
    if invented > u + numeric_mm:
        faults.append(f"outline {invented:.5f} beyond the true ink, uncertainty {u:.5f}")
    return faults


def precision_faults(artwork: Artwork) -> list[str]:
    """Complaints about an uncertainty above the promise."""
    u, promised = artwork.outline.uncertainty_mm, promised_mm(artwork.format)
    if {w.code for w in artwork.warnings} & {"renderers-differ", "fine-ink"}:
        return []  # outside the promise, and said so
    return [f"uncertainty {u:.5f} above {promised}"] if u > promised else []


def cup_for(image_diameter_mm: float, name: str = "test") -> Cup:
    """A cup whose largest image has this diameter."""
    named = max(image_diameter_mm / 0.85, image_diameter_mm + 2 * RING_MM)
    return Cup(name, named, RING_MM)


@dataclass
class Verdicts:
    """How many verdicts near the limit were due, and how many were given."""

    due: int = 0
    decided: int = 0
    wrong: list[str] = field(default_factory=list)
    undecided: list[str] = field(default_factory=list)


def judge_near_limit(drawing: Drawing, artwork: Artwork, tally: Verdicts) -> None:
    """Ask for three cups whose true clearance is within 0.5 mm, and book the answers."""
    rng = random.Random(drawing.seed + 17)
    clear = clear_mm(artwork.format)
    diameter = 2 * drawing.radius_mm
    clearances = [rng.uniform(-0.5, 0.5), rng.uniform(-0.1, 0.1), rng.uniform(-0.04, 0.04)]
    cups = [cup_for(diameter + 2 * c, f"c{i}") for i, c in enumerate(clearances)]
    fit = fit_artwork(artwork, tuple(cups))
    by_name = {entry.cup.name: str(entry.verdict.value) for entry in fit.cups}
    for cup in cups:
        m = cup.max_image_diameter_mm / 2 - drawing.radius_mm
        h = cup.ring_inner_diameter_mm / 2 - drawing.radius_mm
        verdict = by_name[cup.name]
        label = f"seed {drawing.seed}: m {m:+.5f} h {h:+.5f} -> {verdict}"
        if contradicts(verdict, m, h):
            tally.wrong.append(label)
        if abs(m) > clear and (m > 0 or abs(h) > clear):
            tally.due += 1
            tally.decided += verdict != "too-close"
            if verdict == "too-close":
                tally.undecided.append(label)


def contradicts(verdict: str, m: float, h: float) -> bool:
    """Whether a verdict is false for these true clearances (mm)."""
    slack = 1e-6
    if verdict == "fits":
        return m < -slack
    if verdict == "in-margin":
        return m > slack or h < -slack
    if verdict == "outside":
        return h > slack
    return False


def all_faults(drawing: Drawing, artwork: Artwork, moves: bool) -> list[str]:
    """Everything that is wrong with one measurement inside the promise."""
    faults = size_faults(drawing, artwork) + precision_faults(artwork)
    return faults if moves else faults + place_faults(drawing, artwork)


def is_finite(artwork: Artwork) -> bool:
    """No NaN or infinity in the outline."""
    return bool(np.isfinite(artwork.outline.hull_mm).all())
