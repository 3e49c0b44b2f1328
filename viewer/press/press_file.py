"""A press as described in a TOML file, as an operator writes and edits it.

Top level: ``name``, ``travel``, ``setup_tolerance_mm``, ``use_pad``. Then ``[[cup]]`` and
``[[pad]]``, as many as there are, and ``[etch]``, ``[plate]``, ``[position]``, ``[angle]``.
Whatever is left out takes the value that the program has without a file.
"""

from __future__ import annotations

from typing import cast

from viewer.errors import UsageError
from viewer.press.cups import (
    DEFAULT_MARGIN,
    DEFAULT_RING_WIDTH_MM,
    EXAMPLE_CUPS,
    Cup,
    Margin,
    NamedBy,
    cup_name,
    sort_cups,
)
from viewer.press.limit_text import ANGLES_NOTATION, is_pad_notation, parse_angles, parse_datum
from viewer.press.limits import Angles, Datum, EtchArea, Hold, HoldKind, Pad, PadShape, PressLimits
from viewer.press.press import DEFAULT_SETUP_TOLERANCE_MM, Press, Travel
from viewer.press.toml_table import Table, shown
from viewer.press.toml_text import parse_toml, read_text
from viewer.units import parse_percent_or_mm

LARGEST_FILE_BYTES = 256 * 1024
"""Some thousand cups; anything larger is not a press file."""

PRESS_KEYS = (
    "name",
    "travel",
    "setup_tolerance_mm",
    "use_pad",
    "cup",
    "pad",
    "etch",
    "plate",
    "position",
    "angle",
)
_CUP_KEYS = ("name", "diameter_mm", "ring_width_mm", "margin", "named_by")
PAD_KEYS = (
    "name",
    "shape",
    "size_mm",
    "corner_radius_mm",
    "offset_mm",
    "turn_deg",
    "margin_mm",
)
ETCH_KEYS = ("size_mm", "offset_mm", "margin_mm")
_PLATE_KEYS = ("size_mm",)
_POSITION_KEYS = ("hold", "limit_mm", "datum")
_ANGLE_KEYS = ("allowed",)

_OFFSET_FORM = "[right, front] in mm, such as [-1.5, 2]"
_DATUM_FORM = "[x, y] in mm from the page's left and top, such as [40, 25]"


def load_press(path: str) -> Press:
    """Read a press file. Whatever is wrong raises UsageError with one line about it."""
    return parse_press(read_text(path, "press file", LARGEST_FILE_BYTES), path)


def parse_press(text: str, source: str) -> Press:
    """A press from TOML text; ``source`` names the file in messages."""
    return press_of(Table(source, parse_toml(text, source, "press file"), PRESS_KEYS), source)


def press_of(top: Table, source: str, as_saved: bool = False) -> Press:
    """A press from a table with the keys of a press file.

    ``as_saved``: the program wrote it down from what was given to it, which need not be a
    file. Cups stay in their order, a pad may have no name, and an etch area is not held
    against the plate.
    """
    cups = tuple(_cup(table) for table in top.tables("cup", source, _CUP_KEYS))
    _refuse_twins(source, top.key_name("cup"), [cup.name for cup in cups])
    pads = tuple(pad_of(table, as_saved) for table in top.tables("pad", source, PAD_KEYS))
    _refuse_twins(source, top.key_name("pad"), [pad.name for pad in pads if pad.name])
    etch_table = top.table("etch", source, ETCH_KEYS)
    etch = None if etch_table is None else etch_of(etch_table)
    plate = top.table("plate", source, _PLATE_KEYS)
    plate_mm = None if plate is None else plate.sizes_mm("size_mm")
    if etch is not None and plate_mm is not None and not as_saved:
        _check_plate(source, etch, plate_mm)
    hold, datum = _position(top.table("position", source, _POSITION_KEYS))
    angles = _angles(top.table("angle", source, _ANGLE_KEYS))
    sorted_cups = cups if as_saved else sort_cups(cups)
    return Press(
        name=top.name("name", ""),
        cups=sorted_cups or EXAMPLE_CUPS,
        pads=pads,
        etch=etch,
        plate_mm=plate_mm,
        travel=cast(Travel, top.choice("travel", ("front-back", "left-right"), "front-back")),
        limits=PressLimits(_used_pad(top, pads), etch, hold, datum, angles),
        setup_tolerance_mm=top.length_mm("setup_tolerance_mm", DEFAULT_SETUP_TOLERANCE_MM),
    )


# --- its tables ---------------------------------------------------------------------


def _cup(table: Table) -> Cup:
    diameter_mm = table.size_mm("diameter_mm")
    name = table.name("name", cup_name(diameter_mm))
    table = table.called(name)
    ring_width_mm = table.length_mm("ring_width_mm", DEFAULT_RING_WIDTH_MM)
    margin = _margin(table)
    named_by = cast(NamedBy, table.choice("named_by", ("outside", "inside"), "outside"))
    with table.about():
        return Cup(name, diameter_mm, ring_width_mm, margin, named_by)


def _margin(table: Table) -> Margin:
    """Text, since a bare number could mean percent or mm.

    ``{ mm = .. }`` and ``{ fraction = .. }`` are what a program writes where the text of a
    number would be endless.
    """
    if "margin" not in table:
        return DEFAULT_MARGIN
    value = table.raw("margin")
    if isinstance(value, dict):
        parts = table.inner("margin", ("mm", "fraction"))
        unit = parts.only_key()
        amount = parts.length_mm(unit)
        with parts.about():
            return Margin(amount, unit == "fraction")
    if not isinstance(value, str):
        table.fail("margin", f'must be text such as "15%" or "3mm", not {shown(value)}')
    with table.about():
        kind, amount = parse_percent_or_mm(value)
        return Margin(amount, kind == "%")


def pad_of(table: Table, may_be_unnamed: bool = False) -> Pad:
    """A pad from its table."""
    name = table.name("name", "" if may_be_unnamed else None)
    if is_pad_notation(name):
        table.fail("name", f"must not look like a shape, or be none: {shown(name)}")
    table = table.called(name) if name else table
    shape = cast(PadShape, table.choice("shape", ("round", "oval", "rect")))
    if shape == "round":
        if isinstance(table.raw("size_mm"), list):
            table.fail("size_mm", "of a round pad is one diameter, such as 80; not two sizes")
        width_mm = height_mm = table.size_mm("size_mm")
    else:
        width_mm, height_mm = table.sizes_mm("size_mm")
    corner_radius_mm = table.length_mm("corner_radius_mm", 0.0)
    offset_mm = table.pair("offset_mm", _OFFSET_FORM, (0.0, 0.0))
    turn_deg = table.number("turn_deg", 0.0)
    margin_mm = table.length_mm("margin_mm", 0.0)
    with table.about():
        return Pad(
            shape, width_mm, height_mm, corner_radius_mm, offset_mm, turn_deg, margin_mm, name
        )


def _used_pad(top: Table, pads: tuple[Pad, ...]) -> Pad | None:
    """The pad that limits the image. Of several one must be named: none is left out silently."""
    names = ", ".join(shown(pad.name) for pad in pads)
    if "use_pad" not in top:
        if len(pads) > 1:
            raise UsageError(
                f"{top.place}: use_pad is missing: say which of the pads is mounted"
                f' ({names}), or "none"'
            )
        return pads[0] if pads else None
    wanted = top.name("use_pad")
    if wanted == "none":
        return None
    found = next((pad for pad in pads if pad.name == wanted), None)
    if found is None:
        known = f'; there are {names} and "none"' if pads else "; the file has no [[pad]]"
        top.fail("use_pad", f"names no pad: {shown(wanted)}{known}")
    return found


def etch_of(table: Table) -> EtchArea:
    """An etch area from its table."""
    width_mm, height_mm = table.sizes_mm("size_mm")
    offset_mm = table.pair("offset_mm", _OFFSET_FORM, (0.0, 0.0))
    margin_mm = table.length_mm("margin_mm", 0.0)
    with table.about():
        return EtchArea(width_mm, height_mm, offset_mm, margin_mm)


def _check_plate(source: str, etch: EtchArea, plate_mm: tuple[float, float]) -> None:
    if etch.width_mm > plate_mm[0] or etch.height_mm > plate_mm[1]:
        raise UsageError(
            f"{source}: [etch]: size_mm {etch} is larger than [plate] size_mm"
            f" {plate_mm[0]:g} x {plate_mm[1]:g} mm; the etch area lies on the plate"
        )


def _position(table: Table | None) -> tuple[Hold, Datum]:
    if table is None:
        return Hold(), Datum()
    kind = cast(HoldKind, table.choice("hold", ("free", "across", "along", "fixed"), "free"))
    limit_mm = table.length_mm("limit_mm") if "limit_mm" in table else None
    with table.about("limit_mm"):
        hold = Hold(kind, limit_mm)
    return hold, _datum(table)


def _datum(table: Table) -> Datum:
    value = table.raw("datum")
    if value is None:
        return Datum()
    if isinstance(value, list):
        return Datum("point", table.pair("datum", _DATUM_FORM))
    if not isinstance(value, str):
        table.fail("datum", f'must be "page", "ink" or {_DATUM_FORM}, not {shown(value)}')
    with table.about():
        return parse_datum(value)


def _angles(table: Table | None) -> Angles:
    if table is None or "allowed" not in table:
        return Angles()
    value = table.raw("allowed")
    if isinstance(value, dict):
        # As for a margin: a number that no text of sensible length could hold.
        parts = table.inner("allowed", ("within_deg",))
        limit_deg = parts.length_mm("within_deg")
        with parts.about():
            return Angles("within", limit_deg)
    if not isinstance(value, str):
        table.fail("allowed", f"must be text in quotes, not {shown(value)}: {ANGLES_NOTATION}")
    with table.about("allowed"):
        return parse_angles(value)


def _refuse_twins(source: str, kind: str, names: list[str]) -> None:
    seen: set[str] = set()
    for index, name in enumerate(names, 1):
        if name.casefold() in seen:
            raise UsageError(
                f"{source}: [[{kind}]] number {index}: there is a {kind.rpartition('.')[2]} named"
                f" {shown(name)} already; give each its own name"
            )
        seen.add(name.casefold())
