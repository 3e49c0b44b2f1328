"""A press as the tables that ``viewer.press.press_file`` reads, and limits typed beside it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from viewer.errors import UsageError
from viewer.press import (
    Angles,
    Cup,
    Datum,
    EtchArea,
    Margin,
    Pad,
    Press,
    PressLimits,
    angles_text,
    parse_angles,
)
from viewer.press.press_file import ETCH_KEYS, PAD_KEYS, etch_of, pad_of
from viewer.press.toml_table import Table
from viewer.units import parse_percent_or_mm

TYPED_KEYS = ("pad", "etch")


def plain_press(press: Press) -> Press:
    """The same press without numbers that mean nothing: the point of a datum that is none."""
    limits = press.limits
    if limits.datum.kind != "point":
        limits = replace(limits, datum=Datum(limits.datum.kind))
    if limits.angles.kind in ("any", "none"):
        limits = replace(limits, angles=Angles(limits.angles.kind))
    return replace(press, limits=limits)


def press_to_table(press: Press) -> dict[str, Any]:
    """The table of a press; ``press_of(.., as_saved=True)`` reads it back.

    What limits a job and is not among the press's own is left to ``typed_to_table``.
    """
    table: dict[str, Any] = {"name": press.name} if press.name else {}
    table["travel"] = press.travel
    table["setup_tolerance_mm"] = float(press.setup_tolerance_mm)
    if press.pads:
        pad = press.limits.pad
        table["use_pad"] = pad.name if pad is not None and _is_own_pad(press) else "none"
    table["cup"] = [_cup_to_table(cup) for cup in press.cups]
    if press.pads:
        table["pad"] = [_pad_to_table(pad) for pad in press.pads]
    if press.etch is not None:
        table["etch"] = _etch_to_table(press.etch)
    if press.plate_mm is not None:
        table["plate"] = {"size_mm": _pair(press.plate_mm)}
    table["position"] = _position_to_table(press.limits)
    table["angle"] = {"allowed": _angles_value(press.limits.angles)}
    return table


def typed_to_table(press: Press) -> dict[str, Any]:
    """Pad and etch area that limit the job and were typed in place of the press's own."""
    table: dict[str, Any] = {}
    limits = press.limits
    if limits.pad is not None and not _is_own_pad(press):
        table["pad"] = _pad_to_table(limits.pad)
    if limits.etch is None and press.etch is not None:
        table["etch"] = "none"
    elif limits.etch is not None and limits.etch != press.etch:
        table["etch"] = _etch_to_table(limits.etch)
    return table


def with_typed(press: Press, table: Table | None, source: str) -> Press:
    """The press limited by what was typed, where something was."""
    if table is None:
        return press
    limits = press.limits
    pad = table.table("pad", source, PAD_KEYS)
    if pad is not None:
        limits = replace(limits, pad=pad_of(pad, may_be_unnamed=True))
    if table.raw("etch") == "none":
        return replace(press, limits=replace(limits, etch=None))
    etch = table.table("etch", source, ETCH_KEYS)
    if etch is not None:
        limits = replace(limits, etch=etch_of(etch))
    return replace(press, limits=limits)


def _is_own_pad(press: Press) -> bool:
    """Whether the pad that limits the image can be told by its name."""
    pad = press.limits.pad
    return pad is not None and bool(pad.name) and pad in press.pads


def _cup_to_table(cup: Cup) -> dict[str, Any]:
    return {
        "name": cup.name,
        "diameter_mm": float(cup.diameter_mm),
        "ring_width_mm": float(cup.ring_width_mm),
        "margin": _margin_value(cup.margin),
        "named_by": cup.named_by,
    }


def _pad_to_table(pad: Pad) -> dict[str, Any]:
    table: dict[str, Any] = {"name": pad.name} if pad.name else {}
    table["shape"] = pad.shape
    sizes_mm = (pad.width_mm, pad.height_mm)
    table["size_mm"] = float(pad.width_mm) if pad.shape == "round" else _pair(sizes_mm)
    if pad.corner_radius_mm:
        table["corner_radius_mm"] = float(pad.corner_radius_mm)
    table["offset_mm"] = _pair(pad.offset_mm)
    table["turn_deg"] = float(pad.turn_deg)
    table["margin_mm"] = float(pad.margin_mm)
    return table


def _etch_to_table(etch: EtchArea) -> dict[str, Any]:
    return {
        "size_mm": _pair((etch.width_mm, etch.height_mm)),
        "offset_mm": _pair(etch.offset_mm),
        "margin_mm": float(etch.margin_mm),
    }


def _position_to_table(limits: PressLimits) -> dict[str, Any]:
    table: dict[str, Any] = {"hold": limits.hold.kind}
    if limits.hold.limit_mm is not None:
        table["limit_mm"] = float(limits.hold.limit_mm)
    datum = limits.datum
    table["datum"] = _pair(datum.point_mm) if datum.kind == "point" else datum.kind
    return table


def _margin_value(margin: Margin) -> str | dict[str, float]:
    """``15%`` or ``3mm``; a table where the text would not be read as the same number."""
    digits = Decimal(repr(float(margin.value)))
    text = f"{_digits(digits.scaleb(2))}%" if margin.is_fraction else f"{_digits(digits)}mm"
    try:
        if parse_percent_or_mm(text) == ("%" if margin.is_fraction else "mm", margin.value):
            return text
    except UsageError:
        pass  # too small a number to be written without an exponent
    return {"fraction" if margin.is_fraction else "mm": float(margin.value)}


def _angles_value(angles: Angles) -> str | dict[str, float]:
    text = angles_text(angles)
    if angles.kind != "within":
        return text
    try:
        if parse_angles(text) == angles:
            return text
    except UsageError:
        pass  # as for a margin
    return {"within_deg": float(angles.value_deg)}


def _digits(number: Decimal) -> str:
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _pair(pair: tuple[float, float]) -> list[float]:
    return [float(pair[0]), float(pair[1])]
