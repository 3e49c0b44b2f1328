"""What a person likes about the window, as a value. Nothing here changes a verdict."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from viewer.errors import UsageError

Theme = Literal["light", "dark", "system"]

THEMES: tuple[Theme, ...] = ("light", "dark", "system")
LEAST_UI_SCALE = 0.8
GREATEST_UI_SCALE = 2.0
MOST_RECENT_FILES = 12
_LARGEST_PX = 100_000


@dataclass(frozen=True)
class Calibration:
    """How many pixels a millimeter is on one monitor in one resolution.

    ``monitor`` is the name the system gives it; ``size_px`` its width and height.
    """

    monitor: str
    size_px: tuple[int, int]
    px_per_mm: float

    def __post_init__(self) -> None:
        _check_size("the size of a monitor", self.size_px)
        # From a wall of light to a magnifying glass; anything else is no screen.
        if not 0.1 <= self.px_per_mm <= 1000.0:
            raise UsageError(f"pixels per mm must be from 0.1 to 1000, not {self.px_per_mm:g}")


@dataclass(frozen=True)
class Settings:
    """All settings. ``recent_files``: newest first, whole paths. ``window_px`` None: not yet
    known. ``unknown``: keys of another version of the program, kept as they are.
    """

    ui_scale: float = 1.0
    theme: Theme = "system"
    snapping: bool = True
    recent_files: tuple[str, ...] = ()
    calibrations: tuple[Calibration, ...] = ()
    window_px: tuple[int, int] | None = None
    last_folder: str = ""
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if not LEAST_UI_SCALE <= self.ui_scale <= GREATEST_UI_SCALE:
            raise UsageError(
                f"the UI scale must be from {LEAST_UI_SCALE:g} to {GREATEST_UI_SCALE:g},"
                f" not {self.ui_scale:g}"
            )
        if self.theme not in THEMES:
            raise UsageError(f"a theme is light, dark or system, not {self.theme!r}")
        if self.window_px is not None:
            _check_size("the window's size", self.window_px)

    def with_recent(self, path: str) -> Settings:
        """A file opened just now comes first; the oldest are dropped."""
        others = tuple(known for known in self.recent_files if known != path)
        return replace(self, recent_files=(path, *others)[:MOST_RECENT_FILES])

    def without_recent(self, path: str) -> Settings:
        """A file that is gone leaves the list."""
        return replace(self, recent_files=tuple(p for p in self.recent_files if p != path))

    def with_calibration(self, calibration: Calibration) -> Settings:
        """In place of what was known about the same monitor in the same resolution."""
        others = tuple(known for known in self.calibrations if not _is_same(known, calibration))
        return replace(self, calibrations=(*others, calibration))

    def px_per_mm(self, monitor: str, size_px: tuple[int, int]) -> float | None:
        """Pixels per mm of a monitor as it is now; None: not calibrated."""
        for known in self.calibrations:
            if (known.monitor, known.size_px) == (monitor, size_px):
                return known.px_per_mm
        return None


def _is_same(one: Calibration, other: Calibration) -> bool:
    return (one.monitor, one.size_px) == (other.monitor, other.size_px)


def _check_size(what: str, size_px: tuple[int, int]) -> None:
    if not all(math.isfinite(side) and 1 <= side <= _LARGEST_PX for side in size_px):
        raise UsageError(f"{what} must be from 1 to {_LARGEST_PX} px, not {size_px}")
