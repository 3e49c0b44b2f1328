"""Sentences and numbers as the window shows them. No drawing."""

from __future__ import annotations

import re
from dataclasses import dataclass

from viewer.fit import PlacedFit, Verdict, verdict_words
from viewer.press.cups import Cup
from viewer.screen.answers import QUESTIONS
from viewer.screen.model import Session
from viewer.screen.theme import MINUS
from viewer.units import format_clearance_mm, format_down, format_up

CAUTIONS = (
    "\u201cfits\u201d is geometry, not permission to run: trial print first."
    " Never hold a cup against the screen.",
    "\u201cfits\u201d is geometry: trial print first; never hold a cup against the screen",
    "fits = geometry: trial print first; no cup on the screen",
)
HINTS = (
    "drag the ring to move it \u00b7 drag its knob to turn it \u00b7 wheel zooms"
    " \u00b7 arrow keys nudge 0.1 mm \u00b7 F1 shows every key",
    "drag the ring or its knob \u00b7 wheel zooms \u00b7 arrow keys nudge"
    " \u00b7 F1 shows every key",
    "drag the ring \u00b7 wheel zooms \u00b7 F1 shows every key",
    "F1 shows every key",
)


_FOR_THE_SHELL = re.compile(
    r"[:;,]? *(look which is right, then |remove it, or )?say --.*$", re.DOTALL
)


def signed(value: float, decimals: int) -> str:
    """With its sign, and the sign drawn as wide as a plus: "+0.20", "-3.64", "0.00"."""
    text = f"{value:+.{decimals}f}"
    if float(text) == 0:
        return f"{0:.{decimals}f}"
    return text.replace("-", MINUS)


def clearance(value_mm: float) -> str:
    """A clearance for people, rounded down to 0.01 mm."""
    return format_clearance_mm(value_mm, true_minus=True)


def down(value: float, decimals: int) -> str:
    """Without a plus, rounded down."""
    return format_down(value, decimals).replace("-", MINUS)


def up(value: float, decimals: int) -> str:
    """Without a plus, rounded up: for sizes that something else must hold."""
    return format_up(value, decimals).replace("-", MINUS)


def verdict_word(placed: PlacedFit) -> str:
    """A short word for a row of the list; the cause is told elsewhere."""
    if placed.verdict is Verdict.TOO_CLOSE and placed.causes:
        return "cannot be sure"
    return verdict_words(placed.verdict, placed.tight)


@dataclass(frozen=True)
class Callout:
    """The two lines at the tightest place."""

    title: str
    note: str


def callout_for(session: Session, placed: PlacedFit, number: int | None) -> Callout:
    """What the tightest place says; ``number`` is that of a contact point, if it is one."""
    point = f"point {number} \u00b7 " if number is not None else ""
    hard = placed.hard_clearance_mm
    if placed.verdict is Verdict.TOO_CLOSE and placed.causes:
        return Callout("cannot be sure", f"{point}clearance {clearance(placed.clearance_mm)} mm")
    if placed.verdict is Verdict.TOO_CLOSE:
        sure = up(session.artwork.outline.uncertainty_mm, 3)
        title = f"{clearance(placed.clearance_mm)} mm: too close to call"
        return Callout(title, f"{point}measured to within {sure} mm")
    if hard < 0:
        past = f"{point}{up(-placed.clearance_mm, 2)} mm past the largest image"
        return Callout(f"{up(-hard, 2)} mm outside the ring\u2019s edge", past)
    if placed.clearance_mm < 0:
        title = f"{up(-placed.clearance_mm, 2)} mm into the margin"
        return Callout(title, f"{point}{down(hard, 2)} mm from the ring")
    note = f"{point}{down(hard, 2)} mm from the ring"
    if placed.tight:
        note = f"{point}tight: set-up may shift {session.fit.setup_tolerance_mm:g} mm"
    return Callout(f"{down(placed.clearance_mm, 2)} mm clear", note)


def move_words(dx_mm: float, dy_mm: float) -> str:
    """ "1.00 right, 6.06 back" for a page vector in mm; empty for none."""
    parts = []
    if abs(dx_mm) >= 0.005:
        parts.append(f"{abs(dx_mm):.2f} {'right' if dx_mm > 0 else 'left'}")
    if abs(dy_mm) >= 0.005:
        parts.append(f"{abs(dy_mm):.2f} {'forward' if dy_mm > 0 else 'back'}")
    return ", ".join(parts)


def advice_lines(session: Session, placed: PlacedFit) -> list[str]:
    """The ways out for the chosen cup, from where it is now."""
    cup_fit, best = session.cup_fit, session.cup_fit.best
    x, y = session.placement.center_mm
    move = move_words(best.center_mm[0] - x, best.center_mm[1] - y)
    best_text = clearance(best.clearance_mm)
    if move:
        lines = [f"move {move}: {best_text}\u00a0mm"]
    else:
        lines = [f"the cup is at its best: {best_text}\u00a0mm"]
    lines.append("the angle cannot help a round cup")
    if cup_fit.verdict is Verdict.TOO_CLOSE and cup_fit.causes:
        lines.extend(f"cannot be sure: {short_cause(session, c)}" for c in cup_fit.causes)
        if cup_fit.largest_scale is not None:
            sure = down(100 * cup_fit.largest_scale * session.scale, 1)
            lines.append(f"sure to fit up to {sure} %")
        return lines
    if placed.clearance_mm < 0:
        here = scale_here(session, placed)
        lines.append(f"here: scale to {down(100 * here * session.scale, 1)} %")
    largest = cup_fit.largest_scale
    if largest is not None:
        lines.append(f"largest scale that fits: {down(100 * largest * session.scale, 1)} %")
    if cup_fit.verdict is not Verdict.FITS:
        smallest = session.fit.smallest_cup
        if smallest is not None:
            lines.append(f"as it is, the {smallest.name} cup takes it")
        else:
            lines.append("as it is, none of these cups takes it")
    return lines


def short_cause(session: Session, message: str) -> str:
    """A cause in few words: the warning itself stands in its own card."""
    for warning in session.fit.warnings:
        if warning.message == message and warning.code in QUESTIONS:
            return QUESTIONS[warning.code].words
    return plain_words(message)


def plain_words(message: str) -> str:
    """A warning without the words that only the command line needs."""
    return _FOR_THE_SHELL.sub("", message)


def scale_here(session: Session, placed: PlacedFit) -> float:
    """The factor about the cup's center at which the ink clears the margin here."""
    radius = session.cup.max_image_diameter_mm / 2
    reach = radius - placed.clearance_mm + session.artwork.outline.uncertainty_mm
    return radius / reach if reach > 0 else 1.0


def limits_lines(session: Session) -> list[str]:
    """What the verdicts rest on."""
    cup = session.cup
    margin = cup.margin
    kept = f"{margin} of the named \u00d8" if margin.is_fraction else f"{margin} each side"
    return [
        f"margin {kept} \u00b7 ring {cup.ring_width_mm:g} mm",
        "pad: none \u00b7 etch area: none",
        f"position: free \u00b7 set-up \u00b1{session.fit.setup_tolerance_mm:g} mm",
    ]


def cup_limit_words(cup: Cup) -> str:
    """How large an image a cup takes."""
    return f"max image \u00d8 {down(cup.max_image_diameter_mm, 1)}"
