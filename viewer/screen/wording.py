"""Sentences and numbers as the window shows them. No drawing."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from viewer.fit import PlacedFit, Verdict, verdict_words
from viewer.fit.area import image_area
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
PRESS_CAUTIONS = (
    "\u201cfits\u201d is geometry, not permission to run: trial print first."
    " The ring is sharp, magnets are strong; guards stay on.",
    "geometry only: trial print first; the ring is sharp, magnets are strong; guards stay on",
    "trial print first; sharp ring, strong magnets; guards stay on",
    "geometry; trial print; sharp ring, magnets; guards on",
)
"""Where a person goes to the machine next."""
HINTS = (
    "drag the ring to move it \u00b7 drag its knob to turn it \u00b7 wheel zooms"
    " \u00b7 arrow keys nudge 0.1 mm \u00b7 F1 shows every key",
    "drag the ring or its knob \u00b7 wheel zooms \u00b7 arrow keys nudge"
    " \u00b7 F1 shows every key",
    "drag the ring \u00b7 wheel zooms \u00b7 F1 shows every key",
    "F1 shows every key",
    "F1: keys",
)


PART_NAMES = {"cup": "cup", "pad": "pad", "etch": "etch area"}
SAME_EDGE_MM = 1e-6
SHOWN_ALIKE_MM = 0.01
"""What differs by less may be told as the same number."""

_SIGN = re.compile(r"(?<![\w.,)-])-(?=\d)")
_FOR_THE_SHELL = re.compile(
    r"[:;,]? *(look which is right, then |remove it, or )?say --.*$", re.DOTALL
)


def numbers_hints(has_file: bool) -> tuple[str, ...]:
    """How to begin where sizing by numbers is shown."""
    cup = "1 \u2026 9" if has_file else "\u2191 \u2193"
    begin = "Enter" if has_file else "a digit"
    keys = f"Delete clears them \u00b7 {cup} choose a cup"
    back = " \u00b7 Esc goes back" if has_file else ""
    return (
        f"{begin} begins to type \u00b7 Tab goes on \u00b7 {keys}{back} \u00b7 F1 shows every key",
        f"{begin} begins to type \u00b7 {keys}{back}",
        f"{begin} begins \u00b7 Delete clears \u00b7 {cup}: cup{back}",
        f"{begin} begins \u00b7 Delete clears{back}",
        "F1 shows every key",
        "F1: keys",
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
    if not placed.is_allowed:
        return Callout("on its way", "the press does not allow this angle or shift")
    if placed.verdict is Verdict.TOO_CLOSE and placed.causes:
        return Callout("cannot be sure", f"{point}clearance {clearance(placed.clearance_mm)} mm")
    if placed.verdict is Verdict.TOO_CLOSE:
        sure = up(session.artwork.outline.uncertainty_mm, 3)
        title = f"{clearance(placed.clearance_mm)} mm: too close to call"
        return Callout(title, f"{point}measured to within {sure} mm")
    if placed.tightest.part == "cup":
        return _cup_callout(session, placed, point)
    return _part_callout(session, placed, point)


def _cup_callout(session: Session, placed: PlacedFit, point: str) -> Callout:
    hard = placed.hard_clearance_mm
    margin_mm = (session.cup.ring_inner_diameter_mm - session.cup.max_image_diameter_mm) / 2
    # The hard edge that is nearest need not be the ring's.
    is_ring = abs(placed.clearance_mm + margin_mm - hard) < SAME_EDGE_MM
    if hard < 0 and is_ring:
        past = f"{point}{up(-placed.clearance_mm, 2)} mm past the largest image"
        return Callout(f"{up(-hard, 2)} mm outside the ring\u2019s edge", past)
    note = f"{point}{_edge_note(session, hard, is_ring)}"
    if placed.clearance_mm < 0:
        return Callout(f"{up(-placed.clearance_mm, 2)} mm into the margin", note)
    if placed.tight:
        note = f"{point}tight: set-up may shift {session.press.setup_tolerance_mm:g} mm"
    return Callout(f"{down(placed.clearance_mm, 2)} mm clear", note)


def _part_callout(session: Session, placed: PlacedFit, point: str) -> Callout:
    """The tightest place is at the pad or the etch area."""
    soft, hard, part = placed.clearance_mm, placed.hard_clearance_mm, placed.tightest.part
    name, margin_mm, size = _part_words(session, part)
    beyond_mm = -(soft + margin_mm)
    if beyond_mm > 0:
        told = f"{up(-soft, 2)} mm past its margin" if margin_mm else size
        return Callout(f"{up(beyond_mm, 2)} mm beyond the {name} edge", f"{point}{told}")
    is_own = abs(-beyond_mm - hard) < SAME_EDGE_MM
    from_edge = f"{down(hard, 2)} mm from the {name} edge"
    if soft < 0:
        note = from_edge if is_own else _edge_note(session, hard, False)
        return Callout(f"{up(-soft, 2)} mm into the {name} margin", f"{point}{note}")
    if placed.tight:
        note = f"tight: set-up may shift {session.press.setup_tolerance_mm:g} mm"
    else:
        note = from_edge if margin_mm and is_own else size
    line = "margin" if margin_mm else "edge"
    return Callout(f"{down(soft, 2)} mm to the {name} {line}", f"{point}{note}")


def _part_words(session: Session, part: str) -> tuple[str, float, str]:
    """(what a part is called, its margin in mm, its size in words)."""
    pad, etch = session.limits.pad, session.limits.etch
    if part == "pad" and pad is not None:
        return "pad", pad.margin_mm, pad.name or str(pad).replace(" x ", " \u00d7 ")
    if part == "etch" and etch is not None:
        return "etch area", etch.margin_mm, str(etch).replace(" x ", " \u00d7 ")
    return "ring", 0.0, ""


def _edge_note(session: Session, hard_mm: float, is_ring: bool) -> str:
    limits = session.limits
    edge = "ring" if is_ring or (limits.pad is None and limits.etch is None) else "nearest edge"
    if hard_mm < 0:
        return f"{up(-hard_mm, 2)} mm beyond an edge"
    return f"{down(hard_mm, 2)} mm from the {edge}"


def move_words(dx_mm: float, dy_mm: float) -> str:
    """ "1.00 right, 6.06 back" for a page vector in mm; empty for none."""
    parts = []
    if abs(dx_mm) >= 0.005:
        parts.append(f"{abs(dx_mm):.2f} {'right' if dx_mm > 0 else 'left'}")
    if abs(dy_mm) >= 0.005:
        parts.append(f"{abs(dy_mm):.2f} {'forward' if dy_mm > 0 else 'back'}")
    return ", ".join(parts)


def limiting_lines(session: Session) -> list[str]:
    """Which parts of the image area hold the best placement back."""
    if session.limits.pad is None and session.limits.etch is None:
        return []
    beside = tightest_parts(session)
    parts = (
        *(limit.part for limit in session.cup_fit.limits),
        *(p for p in PART_NAMES if p in beside),
    )
    names = [f"the {PART_NAMES[part]}" for part in dict.fromkeys(parts)]
    last = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
    return [f"limited there by {last}"] if names else []


def tightest_parts(session: Session) -> set[str]:
    """The parts whose clearance at the proposed placement is the least, or shown like it.

    To 0.1 degree and 0.01 mm it need not be those that decide the exact one.
    """
    there = session.cup_fit.best.settable
    turn_rad, away = math.radians(there.turn_deg), session.artwork.outline.hull_mm - there.center_mm
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    across, front = cos * away[:, 0] + sin * away[:, 1], cos * away[:, 1] - sin * away[:, 0]
    rooms = {
        part.name: float(part.clearance_mm(across, front).min())
        for part in image_area(session.cup, session.limits).parts
    }
    least = min(rooms.values())
    return {name for name, room in rooms.items() if room - least < SHOWN_ALIKE_MM}


def turning_line(session: Session) -> str:
    """Whether turning helps, and why not."""
    cup_fit, limits = session.cup_fit, session.limits
    if limits.is_cup_alone:
        return "the angle cannot help a round cup"
    if cup_fit.turn_helps:
        return f"without turning: {clearance(cup_fit.unturned_clearance_mm)}\u00a0mm at best"
    if limits.angles.kind == "none":
        return "turning cannot help: the press allows none"
    if limits.angles.kind == "any":
        return "turning cannot help: no angle is better"
    if limits.angles.kind == "step":
        return f"turning cannot help: no step of {limits.angles.value_deg:g}\u00b0 is better"
    return f"turning within \u00b1{limits.angles.value_deg:g}\u00b0 cannot help"


def datum_words(session: Session) -> str:
    """What distances are counted from."""
    return str(session.limits.datum).replace("-", MINUS)


def short_cause(session: Session, message: str) -> str:
    """A cause in few words: the warning itself stands in its own card."""
    for warning in session.fit.warnings:
        if warning.message == message and warning.code in QUESTIONS:
            return QUESTIONS[warning.code].words
    return plain_words(message)


def plain_words(message: str) -> str:
    """A warning without the words that only the command line needs."""
    return _SIGN.sub(MINUS, _FOR_THE_SHELL.sub("", message))


def limits_note(session: Session) -> str:
    """What else the verdicts rest on, in one short line."""
    cup, tolerance_mm = session.cup, session.press.setup_tolerance_mm
    named = "cup \u00d8 inside \u00b7 " if cup.named_by == "inside" else ""
    return f"{named}set-up \u00b1{tolerance_mm:g} mm"


def cup_limit_words(cup: Cup) -> str:
    """How large an image a cup takes."""
    return f"max image \u00d8 {down(cup.max_image_diameter_mm, 1)}"
