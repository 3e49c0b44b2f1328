"""Pictures: every pixel is looked at, so the outline is exact to the pixel."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.connected import Mask, Runs, connected_runs
from viewer.artwork.leaving import all_left_out, left_out_warning, pieces_at, specks_warning
from viewer.artwork.model import (
    Artwork,
    ArtworkWarning,
    InkRule,
    LeftOut,
    LoadOptions,
    Outline,
    Points,
    Reading,
    Speck,
)
from viewer.artwork.paper import PaperChoice, choose_paper
from viewer.artwork.pool import CancelCheck, rule_json, unpack_masks
from viewer.artwork.scale import about_circle, ink_scale, own_scale
from viewer.artwork.source import OpenFile
from viewer.artwork.specks import CoarseSpeck, find_specks
from viewer.errors import ArtworkError, SizeUnknownError
from viewer.geometry import convex_hull, hull_excess, mask_extent_points

_MM_PER_INCH = 25.4
_COARSE_MM = 0.1
_FAINT_BLOCK_PX = 8
_FAINT_LEVELS = 4.0
"""A block of a lossy picture this much off the paper on average holds faint ink."""
_RINGING_PX = 24.0
"""How far from ink the compression itself may shade the paper."""
Pitch = tuple[float, float]
"""Millimetres per pixel, across and down."""


@dataclass(frozen=True)
class Blocks:
    """Blocks of ``block_px`` x ``block_px`` pixels of a picture, some of them marked."""

    mask: Mask
    block_px: int


def block_of(pitch: Pitch) -> int:
    """Pixels along the side of a block, which is the coarse pixel of a picture."""
    return min(255, max(1, round(_COARSE_MM / max(pitch))))


def load_image(opened: OpenFile, options: LoadOptions, cancelled: CancelCheck | None) -> Artwork:
    """Measure an opened picture."""
    return ImageMeasuring(opened, options, cancelled).run()


class ImageMeasuring:
    """One opened picture and how it is to be read."""

    def __init__(
        self, opened: OpenFile, options: LoadOptions, cancelled: CancelCheck | None
    ) -> None:
        self.opened, self.options, self.cancelled = opened, options, cancelled
        self.worker = opened.workers[0]
        self.facts = opened.facts["image"]
        self.warnings = list(opened.warnings)
        if options.px_per_inch is not None:
            text = "--px-per-inch has no effect on a picture: give --dpi"
            self.warnings.append(ArtworkWarning("option-unused", text))
        width, height = self.facts["size_px"]
        self.size_px = (int(width), int(height))

    def run(self) -> Artwork:
        """Measure it. Raises ArtworkError without ink, SizeUnknownError without a size."""
        paper = self.paper()
        pitch, source = self._pitch()
        hull_px, count = self._ink(paper.rule, None)
        if not len(hull_px):
            raise ArtworkError(
                "there is no ink in the picture: all of it is paper; choose another --paper",
                code="no-ink",
            )
        by_ink = pitch is None
        if pitch is None:
            pitch, source = self._pitch_from_ink(hull_px)
        said_pitch = pitch
        if not by_ink:
            said_pitch = (pitch[0] / self.options.scale, pitch[1] / self.options.scale)
        # One size of blocks to the end: what is left out is made of them.
        self.block_px = block_of(pitch)
        left, pieces = self._left_out(paper.rule, said_pitch)
        if left is not None:
            hull_px, count = self._ink(paper.rule, left)
            if not len(hull_px):
                raise all_left_out()
            if by_ink:
                pitch, source = self._pitch_from_ink(hull_px)
        specks = self._specks(paper.rule, pitch, left)
        if specks and self.options.ignore_specks:
            left = self._with_specks(specks, left)
            hull_px, count = self._ink(paper.rule, left)
        left_out = tuple(self._as_left_out(piece, pitch) for piece in pieces)
        if left_out:
            self.warnings.append(left_out_warning(left_out))
        scale = np.array(pitch)
        diagonal = math.hypot(*pitch)
        doubt = self._paper_doubt(paper.rule, hull_px, left, scale)
        outline = Outline(hull_px * scale, diagonal + doubt + self._size_doubt(hull_px, pitch))
        alternatives = self._alternatives(paper, outline, left, scale)
        return Artwork(
            path=self.opened.path,
            sha256=self.opened.sha256,
            format="image",
            page_mm=(self.size_px[0] * pitch[0], self.size_px[1] * pitch[1]),
            scale_source=source,
            paper=paper.name,
            outline=outline,
            ink_area_mm2=count * pitch[0] * pitch[1],
            ink_rule=paper.rule,
            alternatives=tuple(alternatives),
            warnings=tuple(self.warnings),
            specks=tuple(self._as_speck(s, pitch) for s in specks),
            page=self.options.page,
            pages=int(self.facts.get("pages", 1)),
            options=self.options,
            mm_per_file_unit=pitch,
            left_out=left_out,
            leave_out_scale=pitch[0] / said_pitch[0],
            drawn_by="image",
        )

    def paper(self) -> PaperChoice:
        """What is paper, as said or from the border."""
        _header, blob = self.worker.call("image_border", cancelled=self.cancelled)
        border = np.frombuffer(blob, np.uint8).reshape(-1, 4)
        lossy = bool(self.facts.get("lossy"))
        return choose_paper(border, self.options, kind="image", lossy=lossy)

    def _pitch(self) -> tuple[Pitch | None, str]:
        """Millimetres per pixel, or None when the ink's own size decides."""
        options = self.options
        if options.width_mm is not None or options.height_mm is not None:
            return None, ""
        dpi = self.facts.get("dpi")
        source = str(self.facts.get("scale_source", "resolution in the file"))
        if options.page_width_mm is not None:
            across = options.page_width_mm / self.size_px[0]
            ratio = dpi[0] / dpi[1] if dpi else 1.0
            return self._by_scale(across, across * ratio), "page width given"
        if options.dpi is not None:
            dpi, source = (options.dpi, options.dpi), f"{options.dpi:g} dpi given"
        if not dpi:
            raise SizeUnknownError(
                "the picture holds no resolution; give --dpi 600, --width 48mm (of the ink), "
                "--height or --page-width",
                code="size-unknown",
            )
        return self._by_scale(_MM_PER_INCH / dpi[0], _MM_PER_INCH / dpi[1]), source

    def _by_scale(self, x: float, y: float) -> Pitch:
        largest = max(x * self.size_px[0], y * self.size_px[1]) * self.options.scale
        if largest > 20_000.0:
            raise ArtworkError(
                f"the picture is {largest:.4g} mm long at its resolution: check --dpi",
                code="bad-size",
            )
        return x * self.options.scale, y * self.options.scale

    def _pitch_from_ink(self, hull_px: Points) -> tuple[Pitch, str]:
        dpi = self.facts.get("dpi")
        ratio = dpi[0] / dpi[1] if dpi else 1.0
        factor, source = ink_scale(hull_px * (1.0, ratio), self.options)
        return (factor, factor * ratio), source

    def _ink(self, rule: InkRule, left: Blocks | None) -> tuple[Points, int]:
        """Hull of the ink outside the blocks ``left``, in pixels, and how many pixels."""
        header, blob = self.worker.call(
            "image_ink",
            b"" if left is None else np.packbits(left.mask).tobytes(),
            rule=rule_json(rule),
            left_shape=None if left is None else list(left.mask.shape),
            block_px=None if left is None else left.block_px,
            cancelled=self.cancelled,
        )
        points = np.frombuffer(blob, np.float64).reshape(-1, 2)
        hull = convex_hull(points) if len(points) else np.empty((0, 2))
        return hull, int(header["ink_px"])

    def counts(self, rule: InkRule, block_px: int) -> NDArray[np.uint16]:
        """How many pixels of each block are ink."""
        header, blob = self.worker.call(
            "image_blocks",
            rule=rule_json(rule),
            block_px=block_px,
            counts=True,
            cancelled=self.cancelled,
        )
        return np.frombuffer(blob, np.uint16).reshape(header["shape"])

    # -- pieces and specks ----------------------------------------------------

    def _left_out(
        self, rule: InkRule, said_pitch: Pitch
    ) -> tuple[Blocks | None, list[tuple[Runs, int, int]]]:
        """Blocks of the pieces left out, and those pieces, each with its count of pixels.

        Every pixel of ink lies in a block of its own piece, so no other loses any.
        """
        options, block = self.options, self.block_px
        if not options.leave_out:
            return None, []
        counts = self.counts(rule, block)
        runs = connected_runs(counts > 0)
        said = options.leave_out
        points = [(x / (said_pitch[0] * block), y / (said_pitch[1] * block)) for x, y in said]
        found = pieces_at(runs, points, (said_pitch[0] * block, said_pitch[1] * block), said)
        pixels = runs.sums(counts)
        pieces = [(runs, piece, int(pixels[piece])) for piece in found]
        return Blocks(runs.mask_of(np.array(found)), block), pieces

    def _as_left_out(self, entry: tuple[Runs, int, int], pitch: Pitch) -> LeftOut:
        runs, piece, pixels = entry
        side = (self.block_px * pitch[0], self.block_px * pitch[1])
        x, y = runs.point_on(np.flatnonzero(runs.piece == piece))
        x0, y0, x1, y1 = (int(v) for v in runs.boxes()[piece])
        width, height = (n * p for n, p in zip(self.size_px, pitch, strict=True))
        return LeftOut(
            (min(x * side[0], width), min(y * side[1], height)),
            (x0 * side[0], y0 * side[1], min(x1 * side[0], width), min(y1 * side[1], height)),
            pixels * pitch[0] * pitch[1],
        )

    def _specks(self, rule: InkRule, pitch: Pitch, left: Blocks | None) -> list[CoarseSpeck]:
        header, blob = self.worker.call(
            "image_blocks", rule=rule_json(rule), block_px=self.block_px, cancelled=self.cancelled
        )
        height, width = header["shape"]
        mask = np.array(unpack_masks(blob, 1, (height, width))[0])
        if left is not None:
            mask &= ~left.mask
        specks = find_specks(mask, self.block_px * max(pitch))
        if specks:
            self.warnings.append(specks_warning([self._as_speck(s, pitch) for s in specks]))
        return specks

    def _with_specks(self, specks: list[CoarseSpeck], left: Blocks | None) -> Blocks:
        """The blocks left out and those of specks: not their boxes, which may hold more."""
        block = self.block_px
        width, height = self.size_px
        shape = -(-height // block), -(-width // block)
        mask = np.zeros(shape, np.bool_) if left is None else left.mask.copy()
        for speck in specks:
            mask[tuple(np.array(speck.pixels).T)] = True
        return Blocks(mask, block)

    def _as_speck(self, speck: CoarseSpeck, pitch: Pitch) -> Speck:
        x0, y0, x1, y1 = (v * self.block_px for v in speck.box)
        center = ((x0 + x1) / 2 * pitch[0], (y0 + y1) / 2 * pitch[1])
        size = max((x1 - x0) * pitch[0], (y1 - y0) * pitch[1])
        return Speck(center, size, self.options.ignore_specks)

    # -- doubts ---------------------------------------------------------------

    def _paper_doubt(
        self, rule: InkRule, hull_px: Points, left: Blocks | None, scale: Points
    ) -> float:
        """How far the outline moves when the paper's tolerance is set otherwise."""
        if rule.paper_rgb is None:
            return 0.0
        base = hull_px * scale
        stricter = replace(rule, tolerance=rule.tolerance * 3 // 4)
        looser = replace(rule, tolerance=rule.tolerance * 2)
        most = 0.0
        more, _count = self._ink(stricter, left)
        if len(more):
            most = max(most, float(hull_excess(more * scale, base)[0]))
        fewer, _count = self._ink(looser, left)
        if not len(fewer):
            return math.hypot(*np.ptp(base, axis=0))
        return max(most, float(hull_excess(base, fewer * scale)[0]))

    def _size_doubt(self, hull_px: Points, pitch: Pitch) -> float:
        """Ink sized by its width: a pixel more or less at each end scales all of it."""
        if self.options.width_mm is None and self.options.height_mm is None:
            return 0.0
        size = np.ptp(hull_px, axis=0)
        base = float(size[0] if self.options.width_mm is not None else size[1])
        return 2.0 / base * float(np.hypot(*(size * pitch))) / 2.0

    def _faint_ink(
        self, rule: InkRule, outline: Outline, left: Blocks | None, scale: Points
    ) -> list[Reading]:
        """Ink so light that the wide tolerance of a lossy picture takes it for paper."""
        if rule.paper_rgb is None or not self.facts.get("lossy"):
            return []
        block = _FAINT_BLOCK_PX
        header, blob = self.worker.call(
            "image_faint",
            block_px=block,
            paper_rgb=list(rule.paper_rgb),
            levels=_FAINT_LEVELS,
            cancelled=self.cancelled,
        )
        height, width = header["shape"]
        blocks = np.array(unpack_masks(blob, 1, (height, width))[0])
        if left is not None:
            runs, side = connected_runs(left.mask), left.block_px
            for y, x0, x1 in zip(runs.row * side, runs.start * side, runs.end * side, strict=True):
                rows = slice(max(0, y // block - 2), (y + side) // block + 3)
                blocks[rows, max(0, x0 // block - 2) : x1 // block + 3] = False
        corners = mask_extent_points(blocks)
        if not len(corners):
            return []
        hull = convex_hull(np.minimum(corners * block, self.size_px)) * scale
        if float(hull_excess(hull, outline.hull_mm)[0]) <= _RINGING_PX * float(scale.max()):
            return []
        text = (
            "further out there is something hardly darker than the paper: faint ink, or uneven "
            "paper? save the picture as PNG, or with the paper cleaned to white"
        )
        self.warnings.append(ArtworkWarning("faint-ink", text, True))
        both = convex_hull(np.concatenate([hull, outline.hull_mm]))
        return [Reading("faint-ink", "with the faint ink", Outline(both, outline.uncertainty_mm))]

    def _alternatives(
        self, paper: PaperChoice, outline: Outline, left: Blocks | None, scale: Points
    ) -> list[Reading]:
        if paper.other is not None:
            rule, code, label = paper.other, "paper-unclear", "with the border colour as paper"
            text = (
                "the picture has a coloured border: coloured paper, or a picture that fills it? "
                "say --paper border or --paper transparent"
            )
        elif paper.rule.paper_rgb is None and self.options.white is None:
            rule, code, label = (
                replace(paper.rule, white_is_ink=False), "white-unclear", "with white as paper",
            )  # fmt: skip
            text = (
                "white is painted beside other ink, further out: "
                "say --white ink (it is printed) or --white paper (it is not)"
            )
        else:
            return self._faint_ink(paper.rule, outline, left, scale)
        hull_px, _count = self._ink(rule, left)
        if not len(hull_px):
            if code == "white-unclear":
                self.warnings.append(
                    ArtworkWarning("only-white", "all of the ink is white; it is measured as ink")
                )
            return []
        hull = hull_px * scale
        if float(hull_excess(outline.hull_mm, hull)[0]) <= 0.0:
            return []
        self.warnings.append(ArtworkWarning(code, text, True))
        larger = own_scale(outline.hull_mm, hull, 1.0, self.options)
        reading = Reading(code, label, Outline(hull * larger, outline.uncertainty_mm * larger))
        return [about_circle(reading, outline, larger)]
