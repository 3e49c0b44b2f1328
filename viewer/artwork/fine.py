"""How finely each renderer is asked, and what its fine outline is worth."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from viewer.artwork.connected import Mask
from viewer.artwork.model import ArtworkWarning, InkRule, Points
from viewer.artwork.outline import (
    Grid,
    LostInkError,
    Measured,
    Precision,
    Rect,
    Refiner,
    coarse_hull,
)
from viewer.artwork.pool import Worker
from viewer.artwork.survey import PDF_REACH_PX, VectorJob
from viewer.errors import RenderError
from viewer.geometry import convex_hull, hull_excess

PRECISIONS = {
    # edge_px: curves are flattened to 0.1 px and coverage is counted in 15 lines a pixel
    # (Cairo); resvg samples in quarters and may lose a corner's tip.
    "cairo": Precision(220.0, 0.5),
    # pdfium moves edges of upright boxes by up to a pixel and thickens hairlines.
    "pdf": Precision(240.0, 1.2, centers=True),
    "resvg": Precision(54.0, 1.1),
}
RESVG_FINE = Precision(330.0, 1.85)
"""Where resvg's numbers count against cairo's: as fine as cairo, at a price."""
_RESVG_STROKE_MM = 0.006
"""resvg's own step when it turns strokes into areas, seen up to 0.005 mm at any zoom."""
_PDF_CURVE_EDGE_PX = 3.5
"""pdfium turns the end of a stroked curve by its flattening: seen 3.4 px, at any zoom."""
_PDF_PICTURE_EDGE_PX = 2.2
"""pdfium moves a turned picture by up to two pixels, and smears a reduced one."""
_PDF_PICTURE_COARSE_PX = 5.0

Tell = Callable[[ArtworkWarning], None]


class FineDrawing:
    """Draws outlines of one page. ``tell`` takes what a person has to know."""

    def __init__(self, job: VectorJob, grid: Grid, left: Mask | None, tell: Tell) -> None:
        self.job, self.grid, self.left, self.tell = job, grid, left, tell

    def outline(
        self,
        worker: Worker,
        mask: Mask,
        rule: InkRule,
        *,
        left: Mask | None = None,
        beyond: Sequence[Rect] = (),
        wanted: Precision | None = None,
    ) -> Measured:
        """The fine outline of a coarse mask, or where the renderer contradicts itself or
        cannot draw a part alone, the coarse one: with a wide uncertainty and a blocking
        warning, for nothing then says which picture is right.

        ``left``: more coarse pixels that are not looked at. Raises RenderError.
        """
        if worker.kind == "resvg" and self.job.filters:
            self.tell(_coarsely("a filter effect can only be drawn as a whole"))
            # It moves and spreads ink by whole pixels.
            rounding_mm = math.sqrt(2.0) * self.grid.pixel_mm
            return self._coarse(coarse_hull(mask, self.grid), None, rounding_mm)
        try:
            return self.strictly(worker, mask, rule, left=left, beyond=beyond, wanted=wanted)
        except LostInkError as error:
            self.tell(_coarsely(str(error)))
            return self._coarse(error.coarse_mm, error.fine_mm, error.lost_mm)

    def _coarse(self, coarse_mm: Points, fine_mm: Points | None, lost_mm: float) -> Measured:
        hulls = [coarse_mm] if fine_mm is None else [coarse_mm, fine_mm]
        hull = convex_hull(np.concatenate(hulls))
        pixel = (math.sqrt(2.0) + 1.0) * self.grid.pixel_mm
        return Measured(hull, max(pixel, lost_mm + pixel), False)

    def strictly(
        self,
        worker: Worker,
        mask: Mask,
        rule: InkRule,
        *,
        left: Mask | None = None,
        beyond: Sequence[Rect] = (),
        wanted: Precision | None = None,
        quiet: bool = False,
    ) -> Measured:
        """The same, but LostInkError where the fine picture lacks ink of the coarse one."""
        job, grid = self.job, self.grid
        base = wanted or PRECISIONS[worker.kind]
        fine = base.px_per_mm * job.scale * job.finer
        if worker.kind == "pdf" and job.pictures:
            base = replace(base, edge_px=_PDF_PICTURE_EDGE_PX, coarse_px=_PDF_PICTURE_COARSE_PX)
        if worker.kind == "pdf" and job.stroked_curves:
            base = replace(base, edge_px=_PDF_CURVE_EDGE_PX)
            fine *= 1.8
        if worker.kind == "pdf" and not job.any_step:
            content_mm = max(grid.width, grid.height) / grid.px_per_mm
            fine = min(fine, _whole_ratio(PDF_REACH_PX / content_mm, grid))
        measured = Refiner(
            worker,
            mask,
            grid,
            rule,
            replace(base, px_per_mm=fine),
            beyond_mm=beyond,
            left_cells=_either(self.left, left),
            deadline=job.deadline,
            tick=(lambda _f: None) if quiet else lambda f: job.tick("measuring", 0.6 + 0.4 * f),
            cancelled=job.cancelled,
        ).run()
        if not measured.complete:
            self.tell(
                ArtworkWarning(
                    "time-budget",
                    "the drawing is so large or intricate that it was measured less finely",
                    True,
                )
            )
        more = self._float32_mm(worker.kind)
        if wanted is RESVG_FINE:
            more += _RESVG_STROKE_MM / job.scale
        return replace(measured, uncertainty_mm=measured.uncertainty_mm + more)

    def _float32_mm(self, kind: str) -> float:
        """Single-precision coordinates of resvg and pdfium, two roundings each."""
        if kind == "cairo":
            return 0.0
        return self.job.max_coordinate_mm * 2.0**-23 * 2.0

    def compared(
        self, first: tuple[Worker, Mask], checker: tuple[Worker, Mask], rule: InkRule
    ) -> tuple[Measured | None, tuple[float, tuple[float, float]] | None]:
        """The first renderer's outline, if it came out, and how far the two differ beyond
        what their pixels explain, and where; None if they do not.

        A coarse pixel hides what would matter at the ring, a wrongly mitered corner for
        one; so the second renderer draws the deciding places as well, at its own step.
        """
        with ThreadPoolExecutor(1) as pool:
            running = pool.submit(self.strictly, *first, rule)
            try:
                second = self.strictly(*checker, rule, quiet=True)
            except RenderError as error:
                text = f"{error.message}; nothing confirms the other"
                self.tell(ArtworkWarning("renderer-failed", text, True))
                return None, None
            try:
                main = running.result()
            except RenderError:
                return None, None  # said where the fine picture is used
        allowed = main.uncertainty_mm + second.uncertainty_mm
        worst, where = 0.0, (0.0, 0.0)
        for a, b in ((main, second), (second, main)):
            excess, at = hull_excess(a.hull_mm, b.hull_mm)
            if excess > max(worst, allowed):
                worst, where = excess, (float(at[0]), float(at[1]))
        return main, (worst, where) if worst > 0.0 else None


def _coarsely(why: str) -> ArtworkWarning:
    text = f"measured only to a coarse pixel of the drawing: {why}"
    return ArtworkWarning("coarse-only", text, True)


def _whole_ratio(px_per_mm: float, grid: Grid) -> float:
    """Rounded down to a whole multiple of the coarse picture's."""
    return max(1, math.floor(px_per_mm / grid.px_per_mm + 1e-9)) * grid.px_per_mm


def _either(one: Mask | None, other: Mask | None) -> Mask | None:
    if one is None or other is None:
        return one if other is None else other
    return one | other
