"""A file -> Artwork: measured at true scale, with everything that was in doubt."""

from __future__ import annotations

import math
import os
from dataclasses import replace

import numpy as np

from viewer.artwork.formats.placed_picture import PictureRule, parse_picture_rule
from viewer.artwork.formats.sniff import find_artwork_files
from viewer.artwork.leaving import left_out_warning, scaled_left_out
from viewer.artwork.measure import (
    Findings,
    deadline_after,
    measure_vector,
    scaled_outline,
    scaled_reading,
)
from viewer.artwork.measure_image import load_image
from viewer.artwork.model import (
    Artwork,
    ArtworkWarning,
    LoadOptions,
    Outline,
    Points,
    Progress,
    Reading,
)
from viewer.artwork.pool import CancelCheck
from viewer.artwork.scale import about_circle, ink_scale, own_scale, require_positive
from viewer.artwork.source import PX_PER_MM, OpenFile, open_file
from viewer.artwork.survey import VectorJob
from viewer.errors import ArtworkError, BrimcheckError, SizeUnknownError

__all__ = ["find_artwork_files", "load_artwork"]

MAX_PAGE_MM = 20_000.0
_OTHER_PX_PER_INCH = 72.0
_FINER_FOR_INK_SIZE = 3.0


def load_artwork(
    path: str,
    options: LoadOptions | None = None,
    progress: Progress | None = None,
    cancelled: CancelCheck | None = None,
) -> Artwork:
    """Measure one file.

    Raises ArtworkError (one line, names the file) when it cannot be read or measured,
    SizeUnknownError when nothing says how large it is, Cancelled when ``cancelled()``
    becomes true. Never returns an artwork without ink.
    """
    options = options or LoadOptions()
    require_positive(options)
    try:
        if progress is not None:
            progress("opening", 0.0)
        with open_file(path, options, cancelled=cancelled) as opened:
            if opened.format == "image":
                return load_image(opened, options, cancelled)
            return _load_vector(opened, options, progress, cancelled)
    except BrimcheckError as error:
        raise _naming(error, path) from error.__cause__


def _naming(error: BrimcheckError, path: str) -> BrimcheckError:
    """The same error with the file's name in front, once."""
    name = os.path.basename(path) or path
    if name in error.message:
        return error
    named = type(error)(f"{name}: {error.message}", code=error.code)
    return named


def _load_vector(
    opened: OpenFile,
    options: LoadOptions,
    progress: Progress | None,
    cancelled: CancelCheck | None,
) -> Artwork:
    page_mm, scale, source = _vector_scale(opened, options)
    job = vector_job(opened, options, scale, progress, cancelled)
    if scale is not None:
        _check_page(page_mm, scale)
        said_per_mm = scale / options.scale
        findings = measure_vector(_leaving_out(job, said_per_mm))
        extra = 0.0
    else:
        findings, scale, said_per_mm, extra, source = _scale_by_ink(job, options)
        _check_page(page_mm, scale)
    artwork = _assemble(opened, options, page_mm, scale, source, findings, extra)
    return replace(artwork, leave_out_scale=scale / said_per_mm)


def vector_job(
    opened: OpenFile,
    options: LoadOptions,
    scale: float | None,
    progress: Progress | None,
    cancelled: CancelCheck | None,
) -> VectorJob:
    """An opened SVG or PDF ready to be measured, with nothing left out yet.

    ``scale``: true millimetres per millimetre of the file; None where it is not known.
    """
    page_mm, _own = _page_in_file(opened)
    extents = [f.get("extents_mm") for f in opened.facts.values()]
    known = next((e for e in extents if e), None)
    svg = opened.svg
    most = svg.max_abs_coordinate_px / PX_PER_MM if svg else max(page_mm)
    return VectorJob(
        page_mm=page_mm,
        workers=tuple(opened.workers),
        extents_mm=None if known is None else (known[0], known[1], known[2], known[3]),
        options=options,
        scale=1.0 if scale is None else scale,
        max_coordinate_mm=most,
        any_step=any(f.get("any_step", False) for f in opened.facts.values()),
        stroked_curves=any(f.get("stroked_curves", False) for f in opened.facts.values()),
        pictures=any(f.get("pictures", False) for f in opened.facts.values()),
        filters=any(w.code == "filter" for w in opened.warnings),
        picture=svg.picture if svg else _placed_picture(opened),
        progress=progress,
        cancelled=cancelled,
        deadline=deadline_after(options.time_budget_s),
    )


def _leaving_out(job: VectorJob, said_per_mm: float) -> VectorJob:
    """With the points of the options in file mm; ``said_per_mm`` as in VectorJob."""
    points = tuple((x / said_per_mm, y / said_per_mm) for x, y in job.options.leave_out)
    return replace(job, leave_out=points, said_per_mm=said_per_mm)


def _placed_picture(opened: OpenFile) -> PictureRule | None:
    """The rule of a PDF sheet of ours with one picture, as its renderer found it."""
    told = next(iter(opened.facts.values())).get("picture_rule")
    return parse_picture_rule(str(told)) if told else None


def _page_in_file(
    opened: OpenFile,
) -> tuple[tuple[float, float], tuple[float, float] | None]:
    """The page in file mm, and its true size by the file itself (None: it does not say)."""
    if opened.svg is not None:
        width, height = opened.svg.page_px
        return (width / PX_PER_MM, height / PX_PER_MM), opened.svg.page_mm
    width, height = next(iter(opened.facts.values()))["page_mm"]
    return (width, height), (width, height)


def _vector_scale(
    opened: OpenFile, options: LoadOptions
) -> tuple[tuple[float, float], float | None, str]:
    """Page in file mm, what to multiply by (None: by the ink's size), and who says so."""
    page, own = _page_in_file(opened)
    source = "PDF page size" if opened.svg is None else opened.svg.scale_source
    if options.width_mm is not None or options.height_mm is not None:
        return page, None, "ink size given"
    if options.page_width_mm is not None:
        scale = options.page_width_mm / page[0]
        source = f"page width given as {options.page_width_mm:g} mm"
    elif own is None:
        raise SizeUnknownError(
            "the file holds no physical size; give --width 48mm (of the ink), --height, "
            "--page-width or --px-per-inch 96",
            code="size-unknown",
        )
    else:
        scale = own[0] / page[0]
    if options.scale != 1.0:
        source += f", scaled to {options.scale * 100:g} %"
    return page, scale * options.scale, source


def _check_page(page_mm: tuple[float, float], scale: float) -> None:
    largest = max(page_mm) * scale
    if not math.isfinite(largest) or largest > MAX_PAGE_MM:
        raise ArtworkError(
            f"the page is {largest:.4g} mm long; at most {MAX_PAGE_MM:g} mm can be measured: "
            "check its units",
            code="bad-size",
        )


def _scale_by_ink(
    job: VectorJob, options: LoadOptions
) -> tuple[Findings, float, float, float, str]:
    """Measure once to learn the ink's size, then again as finely as the result needs.

    Points to leave out are said in the size that the page has with all of its ink, so
    where there are any, that comes first. Findings, scale, said per mm, extra, source.
    """
    first = measure_vector(job)
    scale, source = ink_scale(first.main.hull_mm, options)
    said_per_mm = scale
    if options.leave_out:
        _check_page(job.page_mm, scale)
        job = _leaving_out(replace(job, scale=scale), said_per_mm)
        scale, source = ink_scale(measure_vector(job).main.hull_mm, options)
    _check_page(job.page_mm, scale)
    job = replace(job, scale=scale, finer=_FINER_FOR_INK_SIZE)
    findings = measure_vector(job)
    scale, source = ink_scale(findings.main.hull_mm, options)
    extra = size_error_mm(findings.main.hull_mm, findings.main.uncertainty_mm, options) * scale
    return findings, scale, said_per_mm if options.leave_out else scale, extra, source


def size_error_mm(hull_mm: Points, uncertainty_mm: float, options: LoadOptions) -> float:
    """What an error of the measured width does to the farthest ink, before scaling."""
    low, high = hull_mm.min(axis=0), hull_mm.max(axis=0)
    size = high - low
    base = size[0] if options.width_mm is not None else size[1]
    reach = float(np.hypot(*size)) / 2.0
    return 2.0 * uncertainty_mm / max(float(base), 1e-9) * reach


def _assemble(
    opened: OpenFile,
    options: LoadOptions,
    page_mm: tuple[float, float],
    scale: float,
    source: str,
    findings: Findings,
    extra_mm: float,
) -> Artwork:
    outline = _wider(scaled_outline(findings.main, scale), extra_mm)
    factors = [
        own_scale(outline.hull_mm / scale, a[2].hull_mm, scale, options)
        for a in findings.alternatives
    ]
    readings = [
        about_circle(scaled_reading(a, own), outline, own / scale)
        for a, own in zip(findings.alternatives, factors, strict=True)
    ]
    alternatives = [replace(r, outline=_wider(r.outline, extra_mm)) for r in readings]
    warnings = [*opened.warnings, *findings.warnings]
    left_out = tuple(scaled_left_out(piece, scale) for piece in findings.left_out)
    if left_out:
        warnings.append(left_out_warning(left_out))
    unused = unused_size_option(opened, options)
    if unused is not None:
        warnings.append(ArtworkWarning("option-unused", unused))
    svg = opened.svg
    ink_given = options.width_mm or options.height_mm or options.page_width_mm
    if svg is not None and svg.bare_px and not ink_given:
        warning, larger = _bare_px([Reading("bare-px", "", outline), *alternatives])
        warnings.append(warning)
        alternatives += larger
    facts = next(iter(opened.facts.values()))
    return Artwork(
        path=opened.path,
        sha256=opened.sha256,
        format=opened.format,
        page_mm=(page_mm[0] * scale, page_mm[1] * scale),
        scale_source=source,
        paper=findings.paper.name,
        outline=outline,
        ink_area_mm2=findings.ink_area_mm2 * scale * scale,
        ink_rule=findings.rule,
        alternatives=tuple(alternatives),
        warnings=tuple(warnings),
        specks=tuple(findings.specks),
        page=options.page,
        pages=int(facts.get("pages", 1)),
        options=options,
        mm_per_file_unit=(scale, scale),
        left_out=left_out,
        drawn_by=_shown_renderer(opened, findings, options),
    )


def unused_size_option(opened: OpenFile, options: LoadOptions) -> str | None:
    """A sentence when a size option says nothing about this kind of file."""
    if options.dpi is not None:
        return f"--dpi has no effect on {opened.format.upper()}, which is not made of pixels"
    if options.px_per_inch is None:
        return None
    if opened.svg is None:
        return "--px-per-inch has no effect here: this file is not sized in px"
    if "px" not in opened.svg.scale_source:
        return "--px-per-inch has no effect here: this file gives its size in real units"
    return None


def _wider(outline: Outline, extra_mm: float) -> Outline:
    return replace(outline, uncertainty_mm=outline.uncertainty_mm + extra_mm)


def _shown_renderer(opened: OpenFile, findings: Findings, options: LoadOptions) -> str:
    kinds = [w.kind for w in opened.workers if w.alive]
    if options.trust in kinds:
        return str(options.trust)
    differ = any(w.code in ("renderers-differ", "renderer-empty") for w in findings.warnings)
    if differ and "resvg" in kinds:
        return "resvg"
    return kinds[0] if kinds else opened.format


def _bare_px(readings: list[Reading]) -> tuple[ArtworkWarning, list[Reading]]:
    """Each reading once more, larger: two doubts can hold at the same time."""
    factor = 96.0 / _OTHER_PX_PER_INCH
    warning = ArtworkWarning(
        "bare-px",
        "sized in bare px, read as 96 per inch; a drawing program that means 72 makes it a "
        "third larger: say --px-per-inch 96 or 72, or give --width",
        True,
    )
    larger = [
        Outline(r.outline.hull_mm * factor, r.outline.uncertainty_mm * factor) for r in readings
    ]
    return warning, [Reading("bare-px", "with px at 72 per inch", outline) for outline in larger]
