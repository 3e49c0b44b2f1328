"""What a measured file is: plain values, in millimetres, in the page frame.

Page frame: origin at the page's top-left corner, x right, y down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

Progress = Callable[[str, float], None]
"""Called as ``progress(what, fraction)`` with fraction in [0, 1]."""


@dataclass(frozen=True)
class ArtworkWarning:
    """Something a person must know about a file.

    ``blocks_fits`` turns a verdict ``fits`` into ``too-close``.
    """

    code: str
    message: str
    blocks_fits: bool = False


@dataclass(frozen=True)
class InkRule:
    """Which pixels of a picture of the artwork are ink.

    ``paper_rgb`` None means: what is transparent is paper and nothing else.
    ``tolerance`` is the largest difference (0..255, any channel) still paper.
    ``white_is_ink`` False drops painted white as well.
    """

    paper_rgb: tuple[int, int, int] | None = None
    tolerance: int = 0
    white_is_ink: bool = True


@dataclass(frozen=True)
class Outline:
    """Convex hull of the ink, shape (n, 2), mm, and how far it may be off.

    The true ink lies within the hull grown by ``uncertainty_mm`` and reaches
    to within it of every hull vertex.
    """

    hull_mm: Points
    uncertainty_mm: float


@dataclass(frozen=True)
class Reading:
    """Another way to read the same file; ``fits`` must hold for it as well.

    ``code`` is the code of the warning that explains it.
    """

    code: str
    label: str
    outline: Outline


@dataclass(frozen=True)
class Speck:
    """A tiny separate piece of ink that decides the smallest circle."""

    center_mm: tuple[float, float]
    size_mm: float
    ignored: bool = False


@dataclass(frozen=True)
class LeftOut:
    """A piece of ink that was not measured because a person said so. Page frame, mm."""

    point_mm: tuple[float, float]
    """A point on it."""
    box_mm: tuple[float, float, float, float]
    """x0, y0, x1, y1, to a coarse pixel (0.1 mm)."""
    area_mm2: float


@dataclass(frozen=True)
class LoadOptions:
    """How a file is to be read. None means: as the file says."""

    page: int = 1
    width_mm: float | None = None
    """Width of the ink."""
    height_mm: float | None = None
    """Height of the ink."""
    page_width_mm: float | None = None
    dpi: float | None = None
    """Pixels per inch of a picture."""
    px_per_inch: float | None = None
    """What a bare px in an SVG is worth; 96 by the standard."""
    scale: float = 1.0
    paper: str | None = None
    """``"transparent"``, ``"border"`` or ``"#rrggbb"``; None: found from the border."""
    white: str | None = None
    """``"ink"`` or ``"paper"``; None: both readings are measured."""
    trust: str | None = None
    """``"resvg"`` or ``"cairo"`` where a person has looked and decided."""
    ignore_specks: bool = False
    leave_out: tuple[tuple[float, float], ...] = ()
    """Points of the page, mm; the piece of ink at each (within 1 mm) is not measured.

    In the page's true size as it is with nothing left out and before ``scale``, so that
    they go on naming the same pieces when the scale is set otherwise or more is left out.
    """
    time_budget_s: float = 20.0


@dataclass(frozen=True)
class Artwork:
    """A file measured at true scale. Everything is after any scaling."""

    path: str
    sha256: str
    format: str
    """``"svg"``, ``"pdf"`` or ``"image"``."""
    page_mm: tuple[float, float]
    scale_source: str
    paper: str
    outline: Outline
    ink_area_mm2: float
    ink_rule: InkRule
    alternatives: tuple[Reading, ...] = ()
    warnings: tuple[ArtworkWarning, ...] = ()
    specks: tuple[Speck, ...] = ()
    page: int = 1
    pages: int = 1
    options: LoadOptions = field(default_factory=LoadOptions)
    mm_per_file_unit: tuple[float, float] = (1.0, 1.0)
    """x and y: true millimetres per millimetre (vector) or per pixel (picture) of the file."""
    left_out: tuple[LeftOut, ...] = ()
    """Pieces that are no part of ``outline``, ``ink_area_mm2``, ``alternatives``, ``specks``."""
    leave_out_scale: float = 1.0
    """Millimetres of this page per millimetre of ``options.leave_out``."""
    drawn_by: str = ""
    """The renderer whose ink is shown: ``cairo``, ``resvg``, ``pdf`` or ``image``."""
