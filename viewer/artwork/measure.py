"""From renderers to readings: which outlines a vector file can have.

One renderer draws fine; where two exist, both draw coarse and must agree. Whatever
the file leaves open (white, paper, the page's edge, a renderer) becomes a second
reading that `fits` has to survive as well.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.formats.placed_picture import PictureRule
from viewer.artwork.model import (
    ArtworkWarning,
    InkRule,
    LoadOptions,
    Outline,
    Progress,
    Reading,
    Speck,
)
from viewer.artwork.outline import (
    Grid,
    Measured,
    Precision,
    Rect,
    Refiner,
    coarse_hull,
    coarse_masks,
    grid_over,
)
from viewer.artwork.paper import PaperChoice, choose_paper
from viewer.artwork.pool import CancelCheck, Worker
from viewer.artwork.specks import CoarseSpeck, find_specks, speck_runs
from viewer.errors import ArtworkError, RenderError
from viewer.geometry import hull_excess

Mask = NDArray[np.bool_]

PRECISIONS = {
    # edge_px: curves are flattened to 0.1 px and coverage is counted in 15 lines a pixel
    # (Cairo); resvg samples in quarters and may lose a corner's tip.
    "cairo": Precision(220.0, 0.5),
    # pdfium moves edges of upright boxes by up to a pixel and thickens hairlines.
    "pdf": Precision(240.0, 1.2, centers=True),
    "resvg": Precision(54.0, 1.1),
}
_RESVG_FINE = Precision(330.0, 1.85)
"""Where resvg's numbers count against cairo's: as fine as cairo, at a price."""
_RESVG_STROKE_MM = 0.006
"""resvg's own step when it turns strokes into areas, seen up to 0.005 mm at any zoom."""
_PDF_CURVE_EDGE_PX = 3.5
"""pdfium turns the end of a stroked curve by its flattening: seen 3.4 px, at any zoom."""
_PDF_PICTURE_EDGE_PX = 2.2
"""pdfium moves a turned picture by up to two pixels, and smears a reduced one."""
_PDF_PICTURE_COARSE_PX = 5.0
_PDF_REACH_PX = 31_800.0
_COARSE_PX_PER_MM = 10.0
_COARSE_TOTAL_PX = 16_000_000
"""A3 at 10 pixels per mm; larger pages are looked over more coarsely, to bound memory."""


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
    picture: PictureRule | None = None
    """Of a sheet with one placed picture: how that picture was measured."""
    progress: Progress | None = None
    cancelled: CancelCheck | None = None
    deadline: float = math.inf


@dataclass
class Findings:
    """What measuring a page brought to light, in file millimetres."""

    main: Measured
    paper: PaperChoice
    rule: InkRule
    ink_area_mm2: float
    alternatives: list[tuple[ArtworkWarning, str, Measured]] = field(default_factory=list)
    warnings: list[ArtworkWarning] = field(default_factory=list)
    specks: list[Speck] = field(default_factory=list)


def scaled_outline(measured: Measured, scale: float) -> Outline:
    """The outline after scaling."""
    return Outline(measured.hull_mm * scale, measured.uncertainty_mm * scale)


def scaled_reading(entry: tuple[ArtworkWarning, str, Measured], scale: float) -> Reading:
    """The reading after scaling."""
    warning, label, measured = entry
    return Reading(warning.code, label, scaled_outline(measured, scale))


def measure_vector(job: VectorJob) -> Findings:
    """Measure one page. Raises ArtworkError when there is nothing to measure by."""
    return _Measuring(job).run()


class _Measuring:
    def __init__(self, job: VectorJob) -> None:
        self.job = job
        self.warnings: list[ArtworkWarning] = []
        self.alternatives: list[tuple[ArtworkWarning, str, Measured]] = []
        self.specks: list[Speck] = []
        self._first_fine: tuple[Worker, Measured] | None = None
        self._doubt_mm = job.picture.uncertainty_mm / job.scale if job.picture else 0.0

    def _resvg_step(self, worker: Worker) -> Precision | None:
        """As fine as cairo where both exist and differ; coarser where resvg is alone."""
        both = len(self.job.workers) > 1 and worker.kind == "resvg"
        return _RESVG_FINE if both else None

    def run(self) -> Findings:
        job = self.job
        paper = self._find_paper()
        rules = self._rules(paper)
        grid = self._grid()
        raw = coarse_masks(
            job.workers, grid, rules, lambda f: self._tick("drawing", 0.1 + 0.5 * f), job.cancelled
        )
        drawn = self._survivors(raw)
        if not any(m[0].any() for _w, m, _a in drawn):
            raise ArtworkError(
                "there is no ink on the page: everything is paper or transparent; "
                "if white is the ink, say --white ink --paper transparent",
                code="no-ink",
            )
        drawn = self._without_empty(drawn)
        worker, masks, area = self._decide(drawn, grid, rules)
        mask, holes = self._treat_specks(masks[0], grid)
        rule = rules[0]
        kept = self._first_fine
        if kept is not None and kept[0] is worker and mask is masks[0]:
            main = kept[1]
        else:
            main = self._fine(worker, mask, grid, rule, holes, self._resvg_step(worker))
        main = replace(main, uncertainty_mm=max(main.uncertainty_mm, self._doubt_mm))
        self._second_readings(main, worker, masks, mask, grid, rules, paper, holes)
        self._note_thin(main)
        return Findings(
            main,
            paper,
            rule,
            area * grid.pixel_mm**2,
            self.alternatives,
            self.warnings,
            self.specks,
        )

    # -- what to draw ---------------------------------------------------------

    def _tick(self, what: str, fraction: float) -> None:
        if self.job.progress is not None:
            self.job.progress(what, fraction)

    def _find_paper(self) -> PaperChoice:
        picture, options = self.job.picture, self.job.options
        if picture is not None and options.paper is None and options.white is None:
            return PaperChoice(picture.rule, "as when the picture was placed")
        width, height = self.job.page_mm
        k = 240.0 / max(width, height)
        size = max(4, round(width * k)), max(4, round(height * k))
        error: RenderError | None = None
        for worker in self.job.workers:
            if not worker.alive:
                continue
            try:
                header, blob = worker.call(
                    "draw", window=(0.0, 0.0, k, *size), cancelled=self.job.cancelled
                )
            except RenderError as caught:
                error = caught
                continue
            rgba = np.frombuffer(blob, np.uint8).reshape(header["shape"])[1:-1, 1:-1]
            border = np.concatenate([rgba[0], rgba[-1], rgba[:, 0], rgba[:, -1]])
            return choose_paper(border, self.job.options, kind="vector")
        raise error or RenderError("no renderer is left to draw this file")

    def _rules(self, paper: PaperChoice) -> list[InkRule]:
        """The rule of the main reading first, then the rules of second readings."""
        rules = [paper.rule]
        if paper.other is not None:
            rules.append(paper.other)
        elif paper.rule.paper_rgb is None and self.job.options.white is None:
            rules.append(replace(paper.rule, white_is_ink=False))
        return rules

    def _grid(self) -> Grid:
        job = self.job
        width, height = job.page_mm
        reach = max(width, height)
        rect: Rect = (0.0, 0.0, width, height)
        seen = self._seen(reach)
        if seen is not None:
            near = (-reach, -reach, width + reach, height + reach)
            if seen[0] < near[0] or seen[1] < near[1] or seen[2] > near[2] or seen[3] > near[3]:
                self._warn(
                    "far-ink",
                    "something is drawn far beyond the page, where it is not measured: "
                    "remove it in the drawing program",
                    blocks=True,
                )
            rect = (
                min(0.0, max(seen[0], near[0])),
                min(0.0, max(seen[1], near[1])),
                max(width, min(seen[2], near[2])),
                max(height, min(seen[3], near[3])),
            )
        area = (rect[2] - rect[0]) * (rect[3] - rect[1])
        total = _COARSE_TOTAL_PX
        alone = len(job.workers) == 1 and job.workers[0].kind == "resvg"
        # resvg looks at four places a pixel: alone, it must be asked twice as finely.
        step = _COARSE_PX_PER_MM * (2.0 if alone else 1.0)
        k = min(step * job.scale, math.sqrt(total / area))
        if job.workers[0].kind == "pdf" and not job.any_step:
            # A coarse pixel that is a whole number of the finest ones pdfium can be asked for.
            longest = max(rect[2] - rect[0], rect[3] - rect[1]) + 4.0 / k
            finest = _PDF_REACH_PX / longest
            k = finest / math.ceil(finest / k)
        return grid_over(rect, max(k, 0.02 * job.scale))

    def _seen(self, reach: float) -> Rect | None:
        """Bounds of what any renderer draws; one may draw what the other leaves out."""
        told = self.job.extents_mm
        others = [w for w in self.job.workers if w.kind == "resvg"] if told else self.job.workers
        looked = self._look_around(reach, others) if others else None
        if told is None or looked is None:
            return told or looked
        low, high = np.minimum(told, looked), np.maximum(told, looked)
        return float(low[0]), float(low[1]), float(high[2]), float(high[3])

    def _look_around(self, reach: float, workers: Sequence[Worker]) -> Rect | None:
        """Bounds of ink on and around the page, from one very coarse picture."""
        width, height = self.job.page_mm
        rect = (-2 * reach, -2 * reach, width + 2 * reach, height + 2 * reach)
        grid = grid_over(rect, 600.0 / (rect[2] - rect[0]))
        results = coarse_masks(workers, grid, [InkRule()], lambda _f: None, self.job.cancelled)
        drawn = [r[0][0] for r in results if not isinstance(r, RenderError) and r[0][0].any()]
        if not drawn:
            return None
        hull = np.concatenate([coarse_hull(mask, grid) for mask in drawn])
        low, high = hull.min(axis=0), hull.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    # -- do the renderers agree? ----------------------------------------------

    def _survivors(
        self, raw: Sequence[tuple[list[Mask], float] | RenderError]
    ) -> list[tuple[Worker, list[Mask], float]]:
        drawn: list[tuple[Worker, list[Mask], float]] = []
        failures: list[RenderError] = []
        for worker, result in zip(self.job.workers, raw, strict=True):
            if isinstance(result, RenderError):
                failures.append(result)
            else:
                drawn.append((worker, result[0], result[1]))
        if not drawn:
            raise failures[0]
        for failure in failures:
            self._warn("renderer-failed", f"{failure.message}; nothing confirms the other", True)
        return drawn

    def _without_empty(
        self, drawn: list[tuple[Worker, list[Mask], float]]
    ) -> list[tuple[Worker, list[Mask], float]]:
        full = [entry for entry in drawn if entry[1][0].any()]
        for worker, _masks, _area in drawn:
            if all(worker is not entry[0] for entry in full):
                self._warn(
                    "renderer-empty", f"the {worker.kind} renderer drew nothing at all", True
                )
        return full

    def _decide(
        self, drawn: list[tuple[Worker, list[Mask], float]], grid: Grid, rules: list[InkRule]
    ) -> tuple[Worker, list[Mask], float]:
        """The renderer to measure with; a disagreement becomes further readings."""
        if len(drawn) == 1:
            return drawn[0]
        trusted = [d for d in drawn if d[0].kind == self.job.options.trust]
        worst, where = 0.0, (0.0, 0.0)
        for number in range(len(rules)):
            hulls = [coarse_hull(d[1][number], grid) for d in drawn]
            if any(len(h) == 0 for h in hulls):
                if any(len(h) for h in hulls):
                    worst = math.inf
                continue
            for a, b in ((hulls[0], hulls[1]), (hulls[1], hulls[0])):
                excess, at = hull_excess(a, b)
                if excess > worst:
                    worst, where = excess, (float(at[0]), float(at[1]))
        if worst <= math.sqrt(2.0) * grid.pixel_mm * 1.001:
            if trusted:
                return trusted[0]
            fine = self._compare_finer(drawn, grid, rules[0])
            if fine is None:
                return drawn[0]
            worst, where = fine
            # Nearly agreed: either may be right, so that is the doubt.
            self._doubt_mm = max(self._doubt_mm, worst)
        place = f"near ({where[0]:.1f}, {where[1]:.1f}) mm" if where != (0.0, 0.0) else "in places"
        size = f"by {worst * self.job.scale:.2f} mm " if math.isfinite(worst) else ""
        text = f"two renderers draw different ink, {size}{place}"
        if trusted:
            self._warn("renderers-differ", f"{text}; {trusted[0][0].kind} is trusted as you said")
            return trusted[0]
        warning = ArtworkWarning(
            "renderers-differ",
            f"{text}: look which is right, then say --trust resvg or --trust cairo",
            True,
        )
        self.warnings.append(warning)
        by_kind = {d[0].kind: d for d in drawn}
        chosen = by_kind.get("resvg", drawn[0])
        for other in drawn:
            if other[0] is not chosen[0]:
                measured = self._fine(other[0], other[1][0], grid, rules[0], [])
                self.alternatives.append((warning, f"as {other[0].kind} draws it", measured))
        return chosen

    def _compare_finer(
        self, drawn: list[tuple[Worker, list[Mask], float]], grid: Grid, rule: InkRule
    ) -> tuple[float, tuple[float, float]] | None:
        """How far the renderers differ beyond what their pixels explain, and where; or None.

        A coarse pixel hides what would matter at the ring, a wrongly mitered corner for
        one; so the second renderer draws the deciding places as well, at its own step.
        """
        checker = drawn[1]
        with ThreadPoolExecutor(1) as pool:
            first = pool.submit(self._fine, drawn[0][0], drawn[0][1][0], grid, rule, [])
            try:
                second = self._fine(checker[0], checker[1][0], grid, rule, [], quiet=True)
            except RenderError as error:
                self._warn("renderer-failed", f"{error.message}; nothing confirms the other", True)
                return None
            finally:
                self._first_fine = None
            try:
                self._first_fine = (drawn[0][0], first.result())
            except RenderError:
                return None  # said where the fine picture is used
        hulls = self._first_fine[1], second
        allowed = hulls[0].uncertainty_mm + hulls[1].uncertainty_mm
        worst, where = 0.0, (0.0, 0.0)
        for a, b in (hulls, hulls[::-1]):
            excess, at = hull_excess(a.hull_mm, b.hull_mm)
            if excess > max(worst, allowed):
                worst, where = excess, (float(at[0]), float(at[1]))
        return (worst, where) if worst > 0.0 else None

    # -- specks, white, paper, the page's edge --------------------------------

    def _treat_specks(self, mask: Mask, grid: Grid) -> tuple[Mask, list[Rect]]:
        specks = find_specks(mask, grid.pixel_mm * self.job.scale)
        if not specks:
            return mask, []
        ignored = self.job.options.ignore_specks
        self.specks = [self._speck(s, grid, ignored) for s in specks]
        first = self.specks[0]
        place = f"({first.center_mm[0]:.1f}, {first.center_mm[1]:.1f}) mm"
        count = f"{len(specks)} specks" if len(specks) > 1 else "a speck"
        if not ignored:
            self._warn(
                "speck",
                f"{count} of at most {first.size_mm:.1f} mm at {place} decides the circle: "
                "remove it, or say --ignore-specks if it will not be etched",
            )
            return mask, []
        self._warn("specks-ignored", f"{count} left out as you said, the first at {place}")
        kept = mask.copy()
        holes: list[Rect] = []
        for speck in specks:
            for y, x in speck.pixels:
                kept[y, x] = False
        for speck in specks:
            for x0, y0, x1, y1 in speck_runs(speck, kept, around=1):
                (a, b), (c, d) = grid.to_mm(np.array([[x0, y0], [x1, y1]], float))
                holes.append((float(a), float(b), float(c), float(d)))
        return kept, holes

    def _speck(self, speck: CoarseSpeck, grid: Grid, ignored: bool) -> Speck:
        x0, y0, x1, y1 = speck.box
        center = grid.to_mm(np.array([[(x0 + x1) / 2, (y0 + y1) / 2]]))[0] * self.job.scale
        size = max(x1 - x0, y1 - y0) * grid.pixel_mm * self.job.scale
        return Speck((float(center[0]), float(center[1])), size, ignored)

    def _second_readings(
        self,
        main: Measured,
        worker: Worker,
        masks: list[Mask],
        mask: Mask,
        grid: Grid,
        rules: list[InkRule],
        paper: PaperChoice,
        holes: list[Rect],
    ) -> None:
        if len(rules) > 1:
            self._second_rule(main, worker, masks[1] & mask, grid, rules[1], paper, holes)
        width, height = self.job.page_mm
        over = max(
            0.0,
            -float(main.hull_mm[:, 0].min()),
            -float(main.hull_mm[:, 1].min()),
            float(main.hull_mm[:, 0].max()) - width,
            float(main.hull_mm[:, 1].max()) - height,
        )
        if over > main.uncertainty_mm:
            self._beyond_page(over, worker, mask, grid, rules[0], holes)

    def _second_rule(
        self,
        main: Measured,
        worker: Worker,
        mask: Mask,
        grid: Grid,
        rule: InkRule,
        paper: PaperChoice,
        holes: list[Rect],
    ) -> None:
        if paper.other is None and not mask.any():
            self._warn("only-white", "all of the ink is white; it is measured as ink")
            return
        if not mask.any():
            return
        if paper.other is not None:
            color = "#{:02x}{:02x}{:02x}".format(*(rule.paper_rgb or (0, 0, 0)))
            warning = ArtworkWarning(
                "paper-unclear",
                f"the page has a border of {color}: colored paper, or a picture that fills it? "
                "say --paper border or --paper transparent",
                True,
            )
            label = "with the border color as paper"
        else:
            excess, _at = hull_excess(main.hull_mm, coarse_hull(mask, grid))
            if excess <= main.uncertainty_mm:
                return  # the white lies within the rest
            warning = ArtworkWarning(
                "white-unclear",
                "white is painted beside other ink, further out: "
                "say --white ink (it is printed) or --white paper (it is not)",
                True,
            )
            label = "with white as paper"
        measured = self._fine(worker, mask, grid, rule, holes)
        excess, _at = hull_excess(main.hull_mm, measured.hull_mm)
        if excess <= main.uncertainty_mm + measured.uncertainty_mm:
            return
        self.warnings.append(warning)
        self.alternatives.append((warning, label, measured))

    def _beyond_page(
        self, over: float, worker: Worker, mask: Mask, grid: Grid, rule: InkRule, holes: list[Rect]
    ) -> None:
        width, height = self.job.page_mm
        warning = ArtworkWarning(
            "beyond-page",
            f"ink reaches {over * self.job.scale:.2f} mm beyond the page: "
            "if it is meant, enlarge the page; if not, cut it off",
            True,
        )
        inside = mask.copy()
        k = grid.px_per_mm
        x0, y0 = math.floor(-grid.x0_mm * k + 1e-9), math.floor(-grid.y0_mm * k + 1e-9)
        x1, y1 = math.ceil((width - grid.x0_mm) * k), math.ceil((height - grid.y0_mm) * k)
        inside[: max(y0, 0)] = False
        inside[max(y1, 0) :] = False
        inside[:, : max(x0, 0)] = False
        inside[:, max(x1, 0) :] = False
        self.warnings.append(warning)
        if not inside.any():
            return
        beyond = [
            (-math.inf, -math.inf, math.inf, 0.0),
            (-math.inf, height, math.inf, math.inf),
            (-math.inf, -math.inf, 0.0, math.inf),
            (width, -math.inf, math.inf, math.inf),
        ]
        measured = self._fine(worker, inside, grid, rule, [*holes, *beyond])
        self.alternatives.append((warning, "only what lies on the page", measured))

    # -- fine -------------------------------------------------------------------

    def _fine(
        self,
        worker: Worker,
        mask: Mask,
        grid: Grid,
        rule: InkRule,
        holes: list[Rect],
        wanted: Precision | None = None,
        *,
        quiet: bool = False,
    ) -> Measured:
        base = wanted or PRECISIONS[worker.kind]
        fine = base.px_per_mm * self.job.scale * self.job.finer
        if worker.kind == "pdf" and self.job.pictures:
            base = replace(base, edge_px=_PDF_PICTURE_EDGE_PX, coarse_px=_PDF_PICTURE_COARSE_PX)
        if worker.kind == "pdf" and self.job.stroked_curves:
            base = replace(base, edge_px=_PDF_CURVE_EDGE_PX)
            fine *= 1.8
        if worker.kind == "pdf" and not self.job.any_step:
            # pdfium bends paths that reach further than 32,000 pixels from the window.
            fine = min(fine, self._whole_ratio(_PDF_REACH_PX / self._content_mm(grid), grid))
        precision = replace(base, px_per_mm=fine)
        measured = Refiner(
            worker,
            mask,
            grid,
            rule,
            precision,
            holes_mm=holes,
            deadline=self.job.deadline,
            tick=(lambda _f: None) if quiet else lambda f: self._tick("measuring", 0.6 + 0.4 * f),
            cancelled=self.job.cancelled,
        ).run()
        if not measured.complete:
            self._warn(
                "time-budget",
                "the drawing is so large or intricate that it was measured less finely",
                blocks=True,
            )
        more = self._float32_mm(worker.kind)
        if wanted is _RESVG_FINE:
            more += _RESVG_STROKE_MM / self.job.scale
        return replace(measured, uncertainty_mm=measured.uncertainty_mm + more)

    def _content_mm(self, grid: Grid) -> float:
        return max(grid.width, grid.height) / grid.px_per_mm

    @staticmethod
    def _whole_ratio(px_per_mm: float, grid: Grid) -> float:
        """Rounded down to a whole multiple of the coarse picture's."""
        return max(1, math.floor(px_per_mm / grid.px_per_mm + 1e-9)) * grid.px_per_mm

    def _float32_mm(self, kind: str) -> float:
        """Single-precision coordinates of resvg and pdfium, two roundings each."""
        if kind == "cairo":
            return 0.0
        return self.job.max_coordinate_mm * 2.0**-23 * 2.0

    def _note_thin(self, main: Measured) -> None:
        if main.thin_at_mm is None:
            return
        x, y = (v * self.job.scale for v in main.thin_at_mm)
        self._warn(
            "fine-ink",
            f"ink finer than 0.02 mm decides the outline near ({x:.2f}, {y:.2f}) mm; "
            "its last bit may be missing here, and will hardly be etched",
        )

    def _warn(self, code: str, message: str, blocks: bool = False) -> None:
        warning = ArtworkWarning(code, message, blocks)
        if warning not in self.warnings:
            self.warnings.append(warning)


def deadline_after(seconds: float) -> float:
    """A moment on the clock the measuring watches."""
    return time.monotonic() + seconds
