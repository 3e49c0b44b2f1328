"""From renderers to readings: which outlines a vector file can have.

One renderer draws fine; where two exist, both draw coarse and must agree. Whatever
the file leaves open (white, paper, the page's edge, a renderer) becomes a second
reading that `fits` has to survive as well.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from viewer.artwork.connected import Mask, connected_runs, grown
from viewer.artwork.fine import RESVG_FINE, FineDrawing
from viewer.artwork.leaving import all_left_out, cells_left, pieces_at, specks_warning
from viewer.artwork.model import ArtworkWarning, InkRule, LeftOut, Outline, Reading, Speck
from viewer.artwork.outline import (
    CoarseDrawing,
    Grid,
    Measured,
    Precision,
    Rect,
    coarse_drawings,
    coarse_hull,
)
from viewer.artwork.paper import PaperChoice
from viewer.artwork.pool import Worker
from viewer.artwork.specks import CoarseSpeck, find_specks
from viewer.artwork.survey import VectorJob, coarse_grid, find_paper, rules_of
from viewer.errors import ArtworkError, RenderError
from viewer.geometry import hull_excess

Drawn = tuple[Worker, CoarseDrawing]


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
    left_out: list[LeftOut] = field(default_factory=list)


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


def look_coarsely(job: VectorJob) -> tuple[Grid, list[Drawn]]:
    """All ink of a page in coarse pixels, with its coverage, as each renderer draws it.

    Nothing is left out. Raises ArtworkError without ink.
    """
    _paper, _rules, grid, drawn = _Measuring(job).look(with_cover=True)
    return grid, drawn


class _Measuring:
    def __init__(self, job: VectorJob) -> None:
        self.job = job
        self.warnings: list[ArtworkWarning] = []
        self.alternatives: list[tuple[ArtworkWarning, str, Measured]] = []
        self.specks: list[Speck] = []
        self.left_out: list[LeftOut] = []
        self._first_fine: tuple[Worker, Measured] | None = None
        self._doubt_mm = job.picture.uncertainty_mm / job.scale if job.picture else 0.0

    def _resvg_step(self, worker: Worker) -> Precision | None:
        """As fine as cairo where both exist and differ; coarser where resvg is alone."""
        both = len(self.job.workers) > 1 and worker.kind == "resvg"
        return RESVG_FINE if both else None

    def run(self) -> Findings:
        paper, rules, grid, drawn = self.look(bool(self.job.leave_out))
        drawn, left = self._without_pieces(drawn, grid)
        self.fine = FineDrawing(self.job, grid, left, self._tell)
        drawn = self._without_empty(drawn)
        worker, drawing = self._decide(drawn, grid, rules)
        masks = drawing.masks
        mask, speck_cells = self._treat_specks(masks[0], grid)
        rule = rules[0]
        kept = self._first_fine
        if kept is not None and kept[0] is worker and mask is masks[0]:
            main = kept[1]
        else:
            step = self._resvg_step(worker)
            main = self.fine.outline(worker, mask, rule, left=speck_cells, wanted=step)
        main = replace(main, uncertainty_mm=max(main.uncertainty_mm, self._doubt_mm))
        if len(rules) > 1:
            self._second_rule(main, worker, masks[1] & mask, grid, rules[1], paper, speck_cells)
        self._beyond_page(main, worker, mask, grid, rules[0], speck_cells)
        self._note_thin(main)
        return Findings(
            main,
            paper,
            rule,
            drawing.area_px * grid.pixel_mm**2,
            self.alternatives,
            self.warnings,
            self.specks,
            self.left_out,
        )

    def look(self, with_cover: bool) -> tuple[PaperChoice, list[InkRule], Grid, list[Drawn]]:
        """The coarse pictures of all renderers that could draw. ArtworkError without ink."""
        job = self.job
        paper = find_paper(job)
        rules = rules_of(paper, job.options)
        grid, warnings = coarse_grid(job)
        for warning in warnings:
            self._tell(warning)
        raw = coarse_drawings(
            job.workers,
            grid,
            rules,
            lambda f: job.tick("drawing", 0.1 + 0.5 * f),
            job.cancelled,
            with_cover=with_cover,
            in_one=job.filters,
        )
        drawn = self._survivors(raw)
        if not any(d.masks[0].any() for _w, d in drawn):
            raise ArtworkError(
                "there is no ink on the page: everything is paper or transparent; "
                "if white is the ink, say --white ink --paper transparent",
                code="no-ink",
            )
        return paper, rules, grid, drawn

    def _without_pieces(self, drawn: list[Drawn], grid: Grid) -> tuple[list[Drawn], Mask | None]:
        """The pictures without the pieces that a person leaves out, and where those are.

        A piece is what any of the renderers joins, so that none loses ink of another.
        """
        job = self.job
        if not job.leave_out:
            return drawn, None
        runs = connected_runs(np.logical_or.reduce([d.masks[0] for _w, d in drawn]))
        said = [(x * job.said_per_mm, y * job.said_per_mm) for x, y in job.leave_out]
        pixel = grid.pixel_mm * job.said_per_mm
        pieces = pieces_at(runs, grid.to_px(job.leave_out), (pixel, pixel), said)
        covers = {w.kind: runs.sums(d.cover) / 255.0 for w, d in drawn if d.cover is not None}
        shown = max(covers.values(), key=lambda sums: float(sums[pieces].sum()))
        boxes = runs.boxes()
        for piece in pieces:
            (x, y), low, high = grid.to_mm(
                np.array(
                    [
                        runs.point_on(np.flatnonzero(runs.piece == piece)),
                        boxes[piece, :2],
                        boxes[piece, 2:],
                    ]
                )
            ).tolist()
            area_mm2 = float(shown[piece]) * grid.pixel_mm**2
            self.left_out.append(LeftOut((x, y), (low[0], low[1], high[0], high[1]), area_mm2))
        own = runs.mask_of(np.array(pieces))
        without: list[Drawn] = []
        for worker, drawing in drawn:
            masks = [mask & ~own for mask in drawing.masks]
            area = drawing.area_px - float(covers[worker.kind][pieces].sum())
            without.append((worker, CoarseDrawing(masks, max(0.0, area))))
        if not any(d.masks[0].any() for _w, d in without):
            raise all_left_out()
        return without, cells_left(runs, pieces)

    # -- do the renderers agree? ----------------------------------------------

    def _survivors(self, raw: Sequence[CoarseDrawing | RenderError]) -> list[Drawn]:
        drawn: list[Drawn] = []
        failures: list[RenderError] = []
        for worker, result in zip(self.job.workers, raw, strict=True):
            if isinstance(result, RenderError):
                failures.append(result)
            else:
                drawn.append((worker, result))
        if not drawn:
            raise failures[0]
        for failure in failures:
            self._warn("renderer-failed", f"{failure.message}; nothing confirms the other", True)
        return drawn

    def _without_empty(self, drawn: list[Drawn]) -> list[Drawn]:
        full = [entry for entry in drawn if entry[1].masks[0].any()]
        for worker, _drawing in drawn:
            if all(worker is not entry[0] for entry in full):
                self._warn(
                    "renderer-empty", f"the {worker.kind} renderer drew nothing at all", True
                )
        return full

    def _decide(self, drawn: list[Drawn], grid: Grid, rules: list[InkRule]) -> Drawn:
        """The renderer to measure with; a disagreement becomes further readings."""
        if len(drawn) == 1:
            return drawn[0]
        trusted = [d for d in drawn if d[0].kind == self.job.options.trust]
        worst, where = 0.0, (0.0, 0.0)
        for number in range(len(rules)):
            hulls = [coarse_hull(d[1].masks[number], grid) for d in drawn]
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
            fine = self._compare_finer(drawn, rules[0])
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
                measured = self.fine.outline(other[0], other[1].masks[0], rules[0])
                self.alternatives.append((warning, f"as {other[0].kind} draws it", measured))
        return chosen

    def _compare_finer(
        self, drawn: list[Drawn], rule: InkRule
    ) -> tuple[float, tuple[float, float]] | None:
        """How far the first two differ beyond what their pixels explain, and where; or None."""
        if self.job.filters:
            return None  # drawn in parts a filter shows other ink, so that would prove nothing
        one, other = ((worker, drawing.masks[0]) for worker, drawing in drawn[:2])
        main, apart = self.fine.compared(one, other, rule)
        self._first_fine = None if main is None else (one[0], main)
        return apart

    # -- specks, white, paper, the page's edge --------------------------------

    def _treat_specks(self, mask: Mask, grid: Grid) -> tuple[Mask, Mask | None]:
        """The mask and, where specks are ignored, without them; and the specks' cells."""
        specks = find_specks(mask, grid.pixel_mm * self.job.scale)
        if not specks:
            return mask, None
        ignored = self.job.options.ignore_specks
        self.specks = [self._speck(s, grid, ignored) for s in specks]
        self._tell(specks_warning(self.specks))
        if not ignored:
            return mask, None
        own = np.zeros_like(mask)
        for speck in specks:
            own[tuple(np.array(speck.pixels).T)] = True
        kept = mask & ~own
        return kept, grown(own) & ~kept

    def _speck(self, speck: CoarseSpeck, grid: Grid, ignored: bool) -> Speck:
        x0, y0, x1, y1 = speck.box
        center = grid.to_mm(np.array([[(x0 + x1) / 2, (y0 + y1) / 2]]))[0] * self.job.scale
        size = max(x1 - x0, y1 - y0) * grid.pixel_mm * self.job.scale
        return Speck((float(center[0]), float(center[1])), size, ignored)

    def _second_rule(
        self,
        main: Measured,
        worker: Worker,
        mask: Mask,
        grid: Grid,
        rule: InkRule,
        paper: PaperChoice,
        speck_cells: Mask | None,
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
                f"the page has a border of {color}: coloured paper, or a picture that fills it? "
                "say --paper border or --paper transparent",
                True,
            )
            label = "with the border colour as paper"
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
        measured = self.fine.outline(worker, mask, rule, left=speck_cells)
        excess, _at = hull_excess(main.hull_mm, measured.hull_mm)
        if excess <= main.uncertainty_mm + measured.uncertainty_mm:
            return
        self.warnings.append(warning)
        self.alternatives.append((warning, label, measured))

    def _beyond_page(
        self,
        main: Measured,
        worker: Worker,
        mask: Mask,
        grid: Grid,
        rule: InkRule,
        speck_cells: Mask | None,
    ) -> None:
        width, height = self.job.page_mm
        low, high = main.hull_mm.min(axis=0), main.hull_mm.max(axis=0)
        over = float(max(0.0, -low[0], -low[1], high[0] - width, high[1] - height))
        if over <= main.uncertainty_mm:
            return
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
        beyond: list[Rect] = [
            (-math.inf, -math.inf, math.inf, 0.0),
            (-math.inf, height, math.inf, math.inf),
            (-math.inf, -math.inf, 0.0, math.inf),
            (width, -math.inf, math.inf, math.inf),
        ]
        measured = self.fine.outline(worker, inside, rule, left=speck_cells, beyond=beyond)
        self.alternatives.append((warning, "only what lies on the page", measured))

    def _note_thin(self, main: Measured) -> None:
        if main.thin_at_mm is None:
            return
        x, y = (v * self.job.scale for v in main.thin_at_mm)
        self._warn(
            "fine-ink",
            f"ink finer than 0.02 mm decides the outline near ({x:.2f}, {y:.2f}) mm; "
            "its last bit may be missing here; ask whether your plate can hold it",
        )

    def _warn(self, code: str, message: str, blocks: bool = False) -> None:
        self._tell(ArtworkWarning(code, message, blocks))

    def _tell(self, warning: ArtworkWarning) -> None:
        if warning not in self.warnings:
            self.warnings.append(warning)


def deadline_after(seconds: float) -> float:
    """A moment on the clock the measuring watches."""
    return time.monotonic() + seconds
