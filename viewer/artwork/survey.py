"""What to draw of a vector page: its paper, the rules of ink, and the coarse raster."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from viewer.artwork.formats.placed_picture import PictureRule
from viewer.artwork.model import ArtworkWarning, InkRule, LoadOptions, Progress
from viewer.artwork.outline import Grid, Rect, coarse_drawings, coarse_hull, grid_over
from viewer.artwork.paper import PaperChoice, choose_paper
from viewer.artwork.pool import CancelCheck, Worker
from viewer.errors import RenderError

PDF_REACH_PX = 31_800.0
"""pdfium bends paths that reach further than 32,000 pixels from the window."""
_COARSE_PX_PER_MM = 10.0
_COARSE_TOTAL_PX = 16_000_000
"""A3 at 10 pixels per mm; larger pages are looked over more coarsely, to bound memory."""

FAR_INK = ArtworkWarning(
    "far-ink",
    "something is drawn far beyond the page, where it is not measured: "
    "remove it in the drawing program",
    True,
)


@dataclass(frozen=True)
class VectorJob:
    """A vector page ready to be measured, in file millimetres."""

    page_mm: tuple[float, float]
    workers: tuple[Worker, ...]
    """The first draws the fine picture when all agree."""
    extents_mm: Rect | None
    options: LoadOptions
    scale: float
    """What file millimetres will be multiplied by; the fine pixel follows it."""
    finer: float = 1.0
    """How much finer than usual, where a later sum enlarges the error."""
    max_coordinate_mm: float = 0.0
    stroked_curves: bool = False
    pictures: bool = False
    any_step: bool = False
    filters: bool = False
    """A filter works on what the window shows, so no window may be a part of the page."""
    picture: PictureRule | None = None
    """Of a sheet with one placed picture: how that picture was measured."""
    leave_out: tuple[tuple[float, float], ...] = ()
    """Points (file mm) on the pieces of ink that are not measured."""
    said_per_mm: float = 1.0
    """What those points' file mm are multiplied by to be as a person gave them."""
    progress: Progress | None = None
    cancelled: CancelCheck | None = None
    deadline: float = math.inf

    def tick(self, what: str, fraction: float) -> None:
        """Tell how far it has come."""
        if self.progress is not None:
            self.progress(what, fraction)


def find_paper(job: VectorJob) -> PaperChoice:
    """Paper as said, or from the border of a small picture. Raises RenderError."""
    picture, options = job.picture, job.options
    if picture is not None and options.paper is None and options.white is None:
        return PaperChoice(picture.rule, "as when the picture was placed")
    width, height = job.page_mm
    k = 240.0 / max(width, height)
    size = max(4, round(width * k)), max(4, round(height * k))
    error: RenderError | None = None
    for worker in job.workers:
        if not worker.alive:
            continue
        try:
            header, blob = worker.call("draw", window=(0.0, 0.0, k, *size), cancelled=job.cancelled)
        except RenderError as caught:
            error = caught
            continue
        rgba = np.frombuffer(blob, np.uint8).reshape(header["shape"])[1:-1, 1:-1]
        border = np.concatenate([rgba[0], rgba[-1], rgba[:, 0], rgba[:, -1]])
        return choose_paper(border, job.options, kind="vector")
    raise error or RenderError("no renderer is left to draw this file")


def rules_of(paper: PaperChoice, options: LoadOptions) -> list[InkRule]:
    """The rule of the main reading first, then the rules of second readings.

    What is ink by a later rule is ink by the first one too.
    """
    rules = [paper.rule]
    if paper.other is not None:
        rules.append(paper.other)
    elif paper.rule.paper_rgb is None and options.white is None:
        rules.append(replace(paper.rule, white_is_ink=False))
    return rules


def coarse_grid(job: VectorJob) -> tuple[Grid, list[ArtworkWarning]]:
    """The raster over the page and all ink near it, and what is to be told of ink further out."""
    width, height = job.page_mm
    reach = max(width, height)
    rect: Rect = (0.0, 0.0, width, height)
    warnings: list[ArtworkWarning] = []
    seen = _seen(job, reach)
    if seen is not None:
        near = (-reach, -reach, width + reach, height + reach)
        if seen[0] < near[0] or seen[1] < near[1] or seen[2] > near[2] or seen[3] > near[3]:
            warnings.append(FAR_INK)
        rect = (
            min(0.0, max(seen[0], near[0])),
            min(0.0, max(seen[1], near[1])),
            max(width, min(seen[2], near[2])),
            max(height, min(seen[3], near[3])),
        )
    area = (rect[2] - rect[0]) * (rect[3] - rect[1])
    alone = len(job.workers) == 1 and job.workers[0].kind == "resvg"
    # resvg looks at four places a pixel: alone, it must be asked twice as finely.
    step = _COARSE_PX_PER_MM * (2.0 if alone else 1.0)
    k = min(step * job.scale, math.sqrt(_COARSE_TOTAL_PX / area))
    if job.workers[0].kind == "pdf" and not job.any_step:
        # A coarse pixel that is a whole number of the finest ones pdfium can be asked for.
        longest = max(rect[2] - rect[0], rect[3] - rect[1]) + 4.0 / k
        finest = PDF_REACH_PX / longest
        k = finest / math.ceil(finest / k)
    return grid_over(rect, max(k, 0.02 * job.scale)), warnings


def _seen(job: VectorJob, reach: float) -> Rect | None:
    """Bounds of what any renderer draws; one may draw what the other leaves out."""
    told = job.extents_mm
    others = [w for w in job.workers if w.kind == "resvg"] if told else job.workers
    looked = _look_around(job, reach, others) if others else None
    if told is None or looked is None:
        return told or looked
    low, high = np.minimum(told, looked), np.maximum(told, looked)
    return float(low[0]), float(low[1]), float(high[2]), float(high[3])


def _look_around(job: VectorJob, reach: float, workers: Sequence[Worker]) -> Rect | None:
    """Bounds of ink on and around the page, from one very coarse picture."""
    width, height = job.page_mm
    rect = (-2 * reach, -2 * reach, width + 2 * reach, height + 2 * reach)
    grid = grid_over(rect, 600.0 / (rect[2] - rect[0]))
    results = coarse_drawings(workers, grid, [InkRule()], lambda _f: None, job.cancelled)
    drawn = [r.masks[0] for r in results if not isinstance(r, RenderError) and r.masks[0].any()]
    if not drawn:
        return None
    hull = np.concatenate([coarse_hull(mask, grid) for mask in drawn])
    low, high = hull.min(axis=0), hull.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
