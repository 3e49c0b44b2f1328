"""What a fit sheet says: the verdict, how to set it, sizes, press, warnings, cautions."""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from dataclasses import dataclass

from viewer.fit import (
    CupFit,
    Fit,
    Limit,
    PlacedFit,
    Placement,
    Verdict,
    deciding_points,
    is_best_placement,
    verdict_words,
)
from viewer.press import EXAMPLE_CUPS, Press, PressLimits
from viewer.report import printable
from viewer.report.placement_words import placement_steps
from viewer.report.press_lines import PART_WORDS, limit_lines
from viewer.sheets.text_flow import Block
from viewer.units import format_clearance_mm, format_down, format_up

CAUTIONS = (
    "'Fits' is geometry, not permission to run: make a trial print first.",
    "The ring is sharp. Never hold a cup against a screen or a drawing.",
    "Cup magnets are strong: mind implants, fingers, cards.",
    "Solvents and hardeners: ventilation, gloves, and the data sheet.",
    "Guards and two-hand control stay in use; isolate the press and bleed the air before"
    " changing pad, plate or cup.",
    "The press manual, local codes and licensed practice decide.",
)


@dataclass(frozen=True)
class Judged:
    """What a fit sheet is about: one cup and one placement, and what holds there."""

    fit: Fit
    cup_fit: CupFit
    placement: Placement
    placed: PlacedFit
    press: Press

    @property
    def is_sure(self) -> bool:
        """Whether it surely fits as placed, and the press allows that."""
        return self.placed.verdict is Verdict.FITS and self.placed.is_allowed

    @property
    def file_name(self) -> str:
        """The artwork's file, without its folder."""
        return printable(os.path.basename(self.fit.artwork.path.replace("\\", "/")))

    def to_press(self, point_mm: tuple[float, float]) -> tuple[float, float]:
        """Where a page point lands, right and front of the cup's center."""
        x, y = (p - c for p, c in zip(point_mm, self.placement.center_mm, strict=True))
        turn = math.radians(self.placement.turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        return cos * x + sin * y, cos * y - sin * x


def headline(judged: Judged) -> str:
    """Cup and verdict, in the words that are used everywhere."""
    placed = judged.placed
    words = verdict_words(placed.verdict, placed.tight)
    if placed.verdict is Verdict.TOO_CLOSE and placed.causes:
        words = "cannot be sure"
    return f"{printable(judged.cup_fit.cup.name)} cup: {words}"


def plain_verdict(judged: Judged) -> str:
    """The same in a sentence that cannot be taken for another."""
    placed = judged.placed
    room = _mm(placed.clearance_mm)
    if placed.verdict is Verdict.FITS and placed.tight:
        tolerance = judged.fit.setup_tolerance_mm
        return f"Fits as placed, clearance {room}: less than the {tolerance:g} mm set-up may shift."
    if placed.verdict is Verdict.FITS:
        return f"Fits as placed, with a clearance of {room} to the image area."
    if placed.verdict is Verdict.IN_MARGIN:
        return (
            f"DOES NOT FIT as placed: ink lies in the margin (clearance {room};"
            f" to the hard edge {_mm(placed.hard_clearance_mm)})."
        )
    if placed.verdict is Verdict.OUTSIDE:
        return (
            f"DOES NOT FIT as placed: ink reaches outside (clearance {room};"
            f" to the hard edge {_mm(placed.hard_clearance_mm)})."
        )
    if placed.causes:
        causes = printable("; ".join(placed.causes))
        return f"NOT PROVED TO FIT: cannot be sure: {causes} (clearance {room})."
    return f"NOT PROVED TO FIT: too close to call (clearance {room})."


def points_of(judged: Judged) -> tuple[Limit, ...]:
    """The ink that decides, in the order of its numbers: the same as in the window."""
    return deciding_points(judged.fit, judged.cup_fit, judged.placement)


def blocks_of(judged: Judged, drawn: str) -> tuple[Block, ...]:
    """All that is said besides the headline, the most needed first."""
    warnings = Block("Warnings", tuple(_warnings(judged.fit)))
    found = [
        Block("How to set it", tuple(_setting(judged))),
        Block("Cup and press", tuple(_press(judged))),
        Block("Sizes", tuple(_sizes(judged.fit))),
    ]
    # Where there are any, they must not slip onto a second page.
    found.insert(1 if judged.fit.warnings else len(found), warnings)
    left_out = tuple(_left_out(judged.fit))
    if left_out:
        found.append(Block("Left out, not measured", left_out))
    if judged.cup_fit.advice and not judged.is_sure:
        lines = tuple(_sentence(printable(line)) for line in judged.cup_fit.advice)
        found.append(Block("What would help", lines))
    found.append(Block("Measured", tuple(_measured(judged.fit, drawn))))
    found.append(Block("Cautions", CAUTIONS))
    return tuple(found)


# --- the blocks -------------------------------------------------------------------------


def _setting(judged: Judged) -> Iterator[str]:
    placed = judged.placed
    yield from placement_steps(judged.fit, judged.placement)
    if not placed.is_allowed:
        yield "The press does not allow this placement: hold, datum or angles forbid it."
    right, front = judged.to_press(placed.tightest.point_mm)
    part = PART_WORDS.get(placed.tightest.part, "cup")
    yield (
        f"Tightest (arrow): {_mm(placed.clearance_mm)}, against the {part},"
        f" at the ink {_from_center(right, front)} of the cup's centre."
    )
    alone = judged.fit.limits.is_cup_alone
    told = []
    for number, limit in enumerate(points_of(judged), 1):
        words = _from_center(*judged.to_press(limit.point_mm))
        if limit.part in PART_WORDS and not alone:
            words += f" ({PART_WORDS[limit.part]})"
        told.append(f"{number}: {words}")
    yield f"Deciding ink from that centre: {'; '.join(told)}."
    if not is_best_placement(judged.cup_fit, judged.placement):
        words = verdict_words(judged.cup_fit.verdict, judged.cup_fit.tight)
        yield f"Not the best placement: that one is {words}, {_mm(judged.cup_fit.clearance_mm)}."


def _press(judged: Judged) -> Iterator[str]:
    press, cup = judged.press, judged.cup_fit.cup
    named = f"Press: {printable(press.name)}. " if press.name else ""
    example = " (an example set of cups)" if press.cups == EXAMPLE_CUPS else ""
    margin = f"{cup.margin} of the named diameter" if cup.margin.is_fraction else (
        f"{cup.margin} each side, inside the ring"
    )  # fmt: skip
    yield (
        f"{named}Cup {printable(cup.name)}{example}, {cup.diameter_mm:g} mm by the"
        f" {cup.named_by} of a ring {cup.ring_width_mm:g} mm wide; margin {margin};"
        f" max image \u00d8 {format_down(cup.max_image_diameter_mm, 2)} mm."
    )
    for line in limit_lines(judged.fit) if judged.fit.limits != PressLimits() else ():
        kind, _gap, words = line.strip().partition(" ")
        yield f"{_sentence(kind)}: {printable(words.strip())}."
    way = {"front-back": "front to back", "left-right": "left to right"}[press.travel]
    yield f"Travel: {way}. Drawn from above, the front below."


def _sizes(fit: Fit) -> Iterator[str]:
    width, height = (format_up(side, 2) for side in (fit.width_mm, fit.height_mm))
    yield (
        f"Ink {width} x {height} mm; longest diagonal"
        f" {format_up(fit.longest_diagonal.length, 2)} mm; smallest circle"
        f" {format_up(fit.smallest_circle.diameter, 2)} mm."
    )
    artwork = fit.artwork
    scale = artwork.options.scale
    scaled = "" if scale == 1.0 else f", scaled to {scale * 100.0:.6g} %"
    yield (
        f"Page {artwork.page_mm[0]:.2f} x {artwork.page_mm[1]:.2f} mm{scaled}"
        f" (size from: {printable(artwork.scale_source)})."
    )


def _warnings(fit: Fit) -> Iterator[str]:
    if not fit.warnings:
        yield "None."
    for warning in fit.warnings:
        kind = "Blocks 'fits': " if warning.blocks_fits else ""
        yield f"{kind}{_sentence(printable(warning.message), not kind)}."


def _left_out(fit: Fit) -> Iterator[str]:
    for piece in fit.artwork.left_out:
        x0, y0, x1, y1 = piece.box_mm
        yield (
            f"A piece {x1 - x0:.1f} x {y1 - y0:.1f} mm at"
            f" {piece.point_mm[0]:.2f}, {piece.point_mm[1]:.2f} mm on the page (crossed out)."
        )
    for speck in fit.artwork.specks:
        if speck.ignored:
            x, y = speck.center_mm
            size = format_up(speck.size_mm, 2)
            yield f"A speck of at most {size} mm at {x:.2f}, {y:.2f} mm on the page (crossed out)."


def _measured(fit: Fit, drawn: str) -> Iterator[str]:
    artwork = fit.artwork
    uncertainty = artwork.outline.uncertainty_mm
    known = f"\u00b1{format_up(uncertainty, 3)} mm" if math.isfinite(uncertainty) else "no limit"
    yield f"The outline is known to {known}. The artwork is drawn here {drawn}."
    page = f", page {artwork.page} of {artwork.pages}" if artwork.pages > 1 else ""
    yield f"Format {artwork.format}{page}; paper: {printable(artwork.paper)}."


# --- words ------------------------------------------------------------------------------


def _from_center(right_mm: float, front_mm: float) -> str:
    """Where something lies, as ``12.30 mm right, 4.10 mm to the back``."""
    across = f"{abs(right_mm):.2f} mm {'right' if right_mm >= 0 else 'left'}"
    along = f"{abs(front_mm):.2f} mm to the {'front' if front_mm >= 0 else 'back'}"
    return f"{across}, {along}"


def _mm(clearance_mm: float) -> str:
    return f"{format_clearance_mm(clearance_mm, true_minus=True)} mm"


def _sentence(text: str, is_first: bool = True) -> str:
    """With a capital letter where it begins, and without a full stop at its end."""
    text = text.rstrip(".")
    return text[:1].upper() + text[1:] if is_first else text
