"""Lines of the text report on the press: what limits the image, turning, and setting up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from viewer.fit import CupFit, Fit
from viewer.press import EtchArea, Pad, PressLimits
from viewer.units import format_clearance_mm, format_down

PART_WORDS = {"cup": "cup", "pad": "pad edge", "etch": "etch area edge"}
"""What the parts of the image area are called where they decide."""


def limit_lines(fit: Fit) -> Iterator[str]:
    """What the ink must lie in, how it may be shifted, and how it may be turned."""
    limits = fit.limits
    parts = ["the cup's largest-image circle"]
    if limits.pad is not None:
        parts.append(_pad_words(limits.pad))
    if limits.etch is not None:
        parts.append(_etch_words(limits.etch))
    yield f"  area    {'; '.join(parts)}"
    yield f"  hold    {_position_words(fit)}"
    yield f"  angle   {_angle_words(limits)}"


def deciding_parts(cup_fit: CupFit) -> str:
    """The parts of the image area that the deciding ink points touch, each once."""
    parts = {limit.part for limit in cup_fit.limits}
    return ", ".join(words for part, words in PART_WORDS.items() if part in parts)


def turning_lines(fit: Fit) -> Iterator[str]:
    """Whether turning helps, and what it gains (rounded down), for every cup whose advice
    does not speak of turning already.
    """
    untold = [c for c in fit.cups if not any("turn" in line for line in c.advice)]
    told = [((_turning_words(fit.limits, c),), c.cup.name) for c in untold]
    for words, names in grouped(told):
        yield f"  {names}: {words[0]}"


def setting_line(fit: Fit) -> str | None:
    """The placement of the smallest cup that works, in the operator's words; None for none."""
    cup_fit = next((c for c in fit.cups if c.cup == fit.smallest_cup), None)
    if cup_fit is None:
        return None
    settable = cup_fit.best.settable
    right_mm, front_mm = _shift_mm(fit.datum_mm, settable.center_mm, settable.turn_deg)
    shift = _shift_words(f"{right_mm:+.2f}", f"{front_mm:+.2f}")
    return (
        f"  as the operator sets it: {cup_fit.cup.name} cup, artwork"
        f" {_turned_words(settable.turn_deg)}, datum ({fit.limits.datum}) {shift} the cup's centre;"
        f" clearance {format_clearance_mm(settable.clearance_mm)} mm"
    )


def grouped(
    pairs: Iterable[tuple[tuple[str, ...], str]],
) -> Iterator[tuple[tuple[str, ...], str]]:
    """Join the cup names that share one text, in the order of first telling."""
    names: dict[tuple[str, ...], list[str]] = {}
    for text, name in pairs:
        names.setdefault(text, []).append(name)
    for text, sharing in names.items():
        yield text, f"cup {sharing[0]}" if len(sharing) == 1 else f"cups {', '.join(sharing)}"


# --- words --------------------------------------------------------------------------


def _pad_words(pad: Pad) -> str:
    name = f' "{pad.name}"' if pad.name else ""
    turn = f", turned {pad.turn_deg:g} degrees" if pad.turn_deg else ""
    return f"pad{name} {pad}{_tail_words(pad.margin_mm, pad.offset_mm)}{turn}"


def _etch_words(etch: EtchArea) -> str:
    return f"etch area {etch}{_tail_words(etch.margin_mm, etch.offset_mm)}"


def _tail_words(margin_mm: float, offset_mm: tuple[float, float]) -> str:
    words = f", {margin_mm:g} mm kept free inside its edge" if margin_mm else ""
    if not any(offset_mm):
        return words
    right_mm, front_mm = offset_mm
    return f"{words}, its centre {_shift_words(f'{right_mm:+g}', f'{front_mm:+g}')} the cup's"


def _position_words(fit: Fit) -> str:
    hold = fit.limits.hold
    if hold.is_free:
        return "free"
    x_mm, y_mm = fit.datum_mm
    ways = {
        "free": "free",
        "across": "across (left and right) only",
        "along": "along (front and back) only",
        "fixed": "fixed",
    }[hold.kind]
    limit = "" if hold.limit_mm is None else f", at most {hold.limit_mm:g} mm each way"
    joint = "on" if hold.kind == "fixed" else "from"
    at = "" if fit.limits.datum.kind == "point" else f" at {x_mm:.2f}, {y_mm:.2f} mm"
    return f"{ways}{limit}, {joint} the datum: {fit.limits.datum}{at}"


def _angle_words(limits: PressLimits) -> str:
    angles = limits.angles
    if angles.kind == "within":
        return f"at most {angles.value_deg:g} degrees each way"
    if angles.kind == "step":
        return f"in steps of {angles.value_deg:g} degrees"
    return "not to be turned" if angles.kind == "none" else "any"


def _turning_words(limits: PressLimits, cup_fit: CupFit) -> str:
    best = cup_fit.best.settable
    if cup_fit.turn_helps and best.turn_deg:
        gain = format_down(max(best.clearance_mm - cup_fit.unturned_clearance_mm, 0.0), 2)
        gains = "less than 0.01" if gain == "0.00" else gain
        return f"turning by {best.turn_deg:.1f} degrees gains {gains} mm"
    if limits.is_cup_alone:
        return "turning cannot help: the cup is round, and nothing else limits the image"
    if limits.angles.kind == "none":
        return "turning cannot help: the press does not allow it"
    allowed = "no angle" if limits.angles.kind == "any" else "no angle that the press allows"
    return f"turning cannot help: {allowed} leaves more room than none"


def _turned_words(turn_deg: float) -> str:
    if not turn_deg:
        return "not turned"
    sense = "counter-clockwise" if turn_deg > 0 else "clockwise"
    return f"turned {abs(turn_deg):.1f} degrees {sense}"


def _shift_words(right: str, front: str) -> str:
    """Where something lies from the cup's center, from two signed numbers of mm as text."""
    words = [
        f"{amount[1:]} mm {negative if amount.startswith('-') else positive}"
        for amount, positive, negative in (
            (right, "right", "left"),
            (front, "to the front", "to the back"),
        )
        if float(amount)
    ]
    return f"{' and '.join(words)} of" if words else "under"


def _shift_mm(
    datum_mm: tuple[float, float], center_mm: tuple[float, float], turn_deg: float
) -> tuple[float, float]:
    """Where the datum lies from the cup's center, right and front, once all is set."""
    x_mm, y_mm = datum_mm[0] - center_mm[0], datum_mm[1] - center_mm[1]
    turn = math.radians(turn_deg)
    return (
        math.cos(turn) * x_mm + math.sin(turn) * y_mm,
        math.cos(turn) * y_mm - math.sin(turn) * x_mm,
    )
