"""Between page millimeters and pixels of the view."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from viewer.geometry.types import Bounds

MIN_PX_PER_MM = 0.2
MAX_PX_PER_MM = 400.0


@dataclass(frozen=True)
class Camera:
    """The page point at the view's top-left corner, and the magnification."""

    px_per_mm: float
    left_mm: float
    top_mm: float

    def to_px(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Page point -> px from the view's top-left corner."""
        return (x_mm - self.left_mm) * self.px_per_mm, (y_mm - self.top_mm) * self.px_per_mm

    def to_mm(self, x_px: float, y_px: float) -> tuple[float, float]:
        """Px from the view's top-left corner -> page point."""
        return self.left_mm + x_px / self.px_per_mm, self.top_mm + y_px / self.px_per_mm

    def snapped(self, x_mm: float, y_mm: float) -> tuple[int, int]:
        """The whole pixel nearest to a page point; everything laid over it uses the same one."""
        x, y = self.to_px(x_mm, y_mm)
        return math.floor(x + 0.5), math.floor(y + 0.5)

    def panned(self, dx_px: float, dy_px: float) -> Camera:
        """The page follows a drag of (dx, dy) px."""
        return replace(
            self,
            left_mm=self.left_mm - dx_px / self.px_per_mm,
            top_mm=self.top_mm - dy_px / self.px_per_mm,
        )

    def zoomed_at(self, x_px: float, y_px: float, factor: float) -> Camera:
        """Magnify by ``factor``; the page point under (x, y) px stays where it is."""
        x_mm, y_mm = self.to_mm(x_px, y_px)
        scale = min(MAX_PX_PER_MM, max(MIN_PX_PER_MM, self.px_per_mm * factor))
        return Camera(scale, x_mm - x_px / scale, y_mm - y_px / scale)


def fit_camera(bounds: Bounds, width_px: int, height_px: int, margin: float = 0.06) -> Camera:
    """Show all of ``bounds`` in the middle, with a share of the view left free around it.

    Bounds without extent show 10 mm around the point.
    """
    free = 1.0 - 2.0 * margin
    width_mm = max(bounds.width, 1e-6)
    height_mm = max(bounds.height, 1e-6)
    if bounds.width <= 0 and bounds.height <= 0:
        width_mm = height_mm = 10.0
    scale = min(width_px * free / width_mm, height_px * free / height_mm)
    scale = min(MAX_PX_PER_MM, max(MIN_PX_PER_MM, scale))
    center_x = (bounds.x0 + bounds.x1) / 2
    center_y = (bounds.y0 + bounds.y1) / 2
    return Camera(scale, center_x - width_px / 2 / scale, center_y - height_px / 2 / scale)
