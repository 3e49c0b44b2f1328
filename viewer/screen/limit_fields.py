"""The limits as fields: what each shows, what there is to choose, what may be typed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from viewer.errors import UsageError
from viewer.press.limit_text import (
    angles_text,
    datum_text,
    etch_text,
    pad_text,
    parse_angles,
    parse_datum,
    parse_etch,
    parse_hold,
    parse_pad,
)
from viewer.press.limits import Angles, Datum, Hold, Pad, PressLimits
from viewer.screen.model import Session
from viewer.units import parse_length_mm

T = TypeVar("T")

NAMES = (
    "limit:pad",
    "limit:etch",
    "limit:hold",
    "limit:reach",
    "limit:datum",
    "limit:angles",
)
LABELS = {
    "limit:pad": "pad",
    "limit:etch": "etch area",
    "limit:hold": "hold",
    "limit:reach": "\u00b1",
    "limit:datum": "datum",
    "limit:angles": "angles",
}
HINTS = {
    "limit:pad": "or type round:80, oval:100x60, rect:100x60r8",
    "limit:etch": "or type its size across x along: 90x72",
    "limit:hold": "which way the artwork may be shifted",
    "limit:reach": "most shift each way, in mm; empty: any",
    "limit:datum": "or type a point of the page: 60,40",
    "limit:angles": "or type +-10 or step:45",
}


@dataclass(frozen=True)
class Choice:
    """One line of a field's list, and the limits it stands for. ``note``: more about it."""

    label: str
    note: str
    limits: PressLimits


def limit_value(session: Session, name: str) -> str:
    """What a field shows."""
    limits = session.limits
    if name == "limit:pad":
        return pad_label(limits.pad)
    if name == "limit:etch":
        return etch_text(limits.etch)
    if name == "limit:hold":
        return limits.hold.kind
    if name == "limit:reach":
        return "" if limits.hold.limit_mm is None else f"{limits.hold.limit_mm:g}"
    if name == "limit:datum":
        return datum_label(limits.datum)
    return angles_label(limits.angles)


def choices(session: Session, name: str) -> tuple[Choice, ...]:
    """What a field's list offers; what is set now is always among it."""
    limits, press = session.limits, session.press
    if name == "limit:pad":
        pads = _with_present((None, *press.pads, press.limits.pad), limits.pad)
        return tuple(
            Choice(pad_label(p), pad_text(p) if p and p.name else "", replace(limits, pad=p))
            for p in pads
        )
    if name == "limit:etch":
        areas = _with_present((None, press.etch, press.limits.etch), limits.etch)
        return tuple(Choice(etch_text(a), "", replace(limits, etch=a)) for a in areas)
    if name == "limit:hold":
        kept = limits.hold.limit_mm
        return (
            Choice("free", "", replace(limits, hold=Hold("free", kept))),
            Choice("across", "left\u2013right only", replace(limits, hold=Hold("across", kept))),
            Choice("along", "front\u2013back only", replace(limits, hold=Hold("along", kept))),
            Choice("fixed", "on the datum", replace(limits, hold=Hold("fixed"))),
        )
    if name == "limit:datum":
        data = _with_present((Datum("ink"), Datum("page"), press.limits.datum), limits.datum)
        return tuple(Choice(datum_label(d), "", replace(limits, datum=d)) for d in data)
    if name == "limit:angles":
        known = (Angles("any"), Angles("none"), Angles("within", 5.0), Angles("step", 90.0))
        kinds = _with_present((*known, press.limits.angles), limits.angles)
        return tuple(Choice(angles_label(a), "", replace(limits, angles=a)) for a in kinds)
    return ()


def _with_present(offered: tuple[T, ...], present: T) -> tuple[T, ...]:
    """Each once, nothing twice; only ``None`` in the first place means none."""
    found = [offered[0]]
    for one in (*offered[1:], present):
        if one is not None and one not in found:
            found.append(one)
    return tuple(found)


def typed_limits(session: Session, name: str, text: str, choice: int = -1) -> PressLimits:
    """The limits with a field set to a choice or to what was typed; UsageError says why not."""
    offered = choices(session, name)
    if 0 <= choice < len(offered):
        return offered[choice].limits
    plain = text.strip()
    for one in offered:
        if one.label.lower() == plain.lower():
            return one.limits
    limits = session.limits
    if name == "limit:pad":
        return replace(limits, pad=parse_pad(plain or "none"))
    if name == "limit:etch":
        return replace(limits, etch=parse_etch(plain or "none"))
    if name == "limit:hold":
        return replace(limits, hold=_typed_hold(plain, limits.hold))
    if name == "limit:reach":
        return replace(limits, hold=_typed_reach(plain, limits.hold))
    if name == "limit:datum":
        return replace(limits, datum=parse_datum(plain))
    spec = plain.replace("\u00b1", "+-").removesuffix("\u00b0")
    return replace(limits, angles=parse_angles(spec))


def _typed_hold(text: str, before: Hold) -> Hold:
    hold = parse_hold(text)
    if ":" not in text and hold.kind != "fixed":
        return Hold(hold.kind, before.limit_mm)
    return hold


def _typed_reach(text: str, hold: Hold) -> Hold:
    if text.lower() in ("", "any", "none"):
        return Hold(hold.kind)
    limit_mm = parse_length_mm(text.removeprefix("\u00b1").removeprefix("+-"), "limit")
    if limit_mm < 0:
        raise UsageError(f"limit {text!r} must be zero or more")
    return Hold(hold.kind, limit_mm)


def pad_label(pad: Pad | None) -> str:
    """A pad's name, or how it would be typed."""
    return pad.name if pad is not None and pad.name else pad_text(pad)


def datum_label(datum: Datum) -> str:
    """A datum in words, or as it is typed."""
    return datum_text(datum) if datum.kind == "point" else str(datum)


def angles_label(angles: Angles) -> str:
    """Angles in few words, or as they are typed."""
    return f"\u00b1{angles.value_deg:g}\u00b0" if angles.kind == "within" else angles_text(angles)
