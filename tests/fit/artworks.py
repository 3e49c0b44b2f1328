"""Artwork values built straight from outlines; the scenario is a boat club's mugs and floats."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from viewer.artwork.model import (
    Artwork,
    ArtworkWarning,
    InkRule,
    Outline,
    Points,
    Reading,
    Speck,
)


def box(width_mm: float, height_mm: float, x_mm: float = 0.0, y_mm: float = 0.0) -> Points:
    """Corners of an upright rectangle."""
    right, bottom = x_mm + width_mm, y_mm + height_mm
    return np.array([(x_mm, y_mm), (right, y_mm), (right, bottom), (x_mm, bottom)], dtype=float)


def ring(radius_mm: float, center_mm: tuple[float, float] = (0.0, 0.0), count: int = 360) -> Points:
    """Points on a circle."""
    angles = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
    return np.asarray(center_mm) + radius_mm * np.column_stack((np.cos(angles), np.sin(angles)))


def artwork(
    hull_mm: Points,
    uncertainty_mm: float = 0.0,
    *,
    alternatives: Sequence[Reading] = (),
    warnings: Sequence[ArtworkWarning] = (),
    specks: Sequence[Speck] = (),
    path: str = "float.svg",
) -> Artwork:
    """An SVG that has been measured."""
    return Artwork(
        path=path,
        sha256="0" * 64,
        format="svg",
        page_mm=(210.0, 297.0),
        scale_source="width and height in mm",
        paper="transparent",
        outline=Outline(np.asarray(hull_mm, dtype=float), uncertainty_mm),
        ink_area_mm2=100.0,
        ink_rule=InkRule(),
        alternatives=tuple(alternatives),
        warnings=tuple(warnings),
        specks=tuple(specks),
    )


def reading(hull_mm: Points, uncertainty_mm: float = 0.0, code: str = "white") -> Reading:
    """Another way to read the same file."""
    return Reading(code, f"{code} read another way", Outline(hull_mm, uncertainty_mm))
