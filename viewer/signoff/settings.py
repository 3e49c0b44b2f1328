"""Exactly what was measured, against what, and where it was placed, as canonical JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import asdict, replace
from typing import Any

from viewer.artwork.model import Artwork, LoadOptions
from viewer.fit import Placement
from viewer.press import DEFAULT_SETUP_TOLERANCE_MM, Cup, PressLimits
from viewer.signoff.chain import canonical

_COMPARED = ("load", "cup", "limits", "setup_tolerance_mm", "placement")
_NOT_COMPARED = frozenset({"limits.pad.name", "cup.name"})
"""What a thing is called changes nothing about where ink may lie."""


def settings_of(
    artwork: Artwork,
    cup: Cup,
    limits: PressLimits,
    placement: Placement,
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM,
    press_name: str = "",
) -> str:
    """Settings of artwork that was measured and placed; lengths in mm, angles in degrees.

    Besides what decides (how the file was read, cup, limits of the press, placement) they
    hold what came of it: the true scale, where it is from, and the pieces left out.
    """
    uncertainty_mm = artwork.outline.uncertainty_mm
    known = _chosen(artwork.options, cup, limits, placement, setup_tolerance_mm)
    known["measured"] = {
        "page": artwork.page,
        "page_mm": list(artwork.page_mm),
        "mm_per_file_unit": list(artwork.mm_per_file_unit),
        "scale_source": artwork.scale_source,
        "paper": artwork.paper,
        "uncertainty_mm": uncertainty_mm if math.isfinite(uncertainty_mm) else None,
        "warnings": [warning.code for warning in artwork.warnings],
    }
    known["excluded"] = [
        {"center_mm": list(speck.center_mm), "size_mm": speck.size_mm}
        for speck in artwork.specks
        if speck.ignored
    ]
    if artwork.left_out:
        known["left_out"] = [asdict(piece) for piece in artwork.left_out]
    known["press"] = press_name
    return canonical(known)


def settings_text(
    load: LoadOptions,
    cup: Cup,
    limits: PressLimits,
    placement: Placement | None = None,
    setup_tolerance_mm: float = DEFAULT_SETUP_TOLERANCE_MM,
) -> str:
    """Settings that a person asks about, to be compared. No placement: any will do."""
    return canonical(_chosen(load, cup, limits, placement, setup_tolerance_mm))


def scaled_load(load: LoadOptions, factor: float) -> LoadOptions:
    """The options that read a file as artwork is once it was scaled by ``factor`` besides.

    A size given for the ink is scaled itself, as it takes no other scale beside it; points
    to be left out are in mm of that size then, and in mm of the unscaled page otherwise.
    """
    if factor == 1.0:
        return load
    if load.width_mm is None and load.height_mm is None:
        return replace(load, scale=_times(load.scale, factor))
    return replace(
        load,
        width_mm=None if load.width_mm is None else _times(load.width_mm, factor),
        height_mm=None if load.height_mm is None else _times(load.height_mm, factor),
        leave_out=tuple((_times(x, factor), _times(y, factor)) for x, y in load.leave_out),
    )


def _times(value: float, factor: float) -> float:
    """Multiplied, without what binary fractions add in the last digits."""
    return float(f"{value * factor:.12g}")


def differences(recorded: str, wanted: str) -> tuple[str, ...]:
    """How two settings differ in what decides, a phrase each; nothing when they agree.

    What only ``recorded`` holds is not compared. A setting that a version did not know yet
    counts as left alone.
    """
    one, other = (_completed(json.loads(text)) for text in (recorded, wanted))
    parts = tuple(_parts_apart(one["limits"], other["limits"]))
    one, other = _flat(one), _flat(other)
    asked = set(json.loads(wanted))
    names = sorted({*one, *other} - _NOT_COMPARED)
    return parts + tuple(
        f"{_words(name)} was {_value(one.get(name))}, not {_value(other.get(name))}"
        for name in names
        if name.split(".")[0] in asked and not _agree(name, one.get(name), other.get(name))
    )


def _chosen(
    load: LoadOptions,
    cup: Cup,
    limits: PressLimits,
    placement: Placement | None,
    setup_tolerance_mm: float,
) -> dict[str, Any]:
    """Every field of the values as they are, so that a field added later is in as well."""
    chosen: dict[str, Any] = {
        "load": asdict(load),
        "cup": asdict(cup),
        "limits": asdict(limits),
        "setup_tolerance_mm": setup_tolerance_mm,
    }
    # How long measuring may take is no part of what was approved.
    del chosen["load"]["time_budget_s"]
    if placement is not None:
        chosen["placement"] = asdict(placement)
    plain = json.loads(json.dumps(chosen))
    assert isinstance(plain, dict)
    return plain


def _completed(settings: dict[str, Any]) -> dict[str, Any]:
    """With the defaults of what the version that wrote it did not know."""
    load = settings.get("load")
    limits = settings.get("limits")
    defaults = json.loads(json.dumps({"load": asdict(LoadOptions()), "limits": asdict(_FREE)}))
    del defaults["load"]["time_budget_s"]
    return {
        **{name: settings[name] for name in _COMPARED if name in settings},
        "load": {**defaults["load"], **(load if isinstance(load, dict) else {})},
        "limits": {**defaults["limits"], **(limits if isinstance(limits, dict) else {})},
    }


def _parts_apart(one: dict[str, Any], other: dict[str, Any]) -> Iterator[str]:
    """A pad or etch area that only one side has is told, and left out, as a whole."""
    for name, words in (("pad", "pad"), ("etch", "etch area")):
        was, asked = one.get(name), other.get(name)
        if (was is None) != (asked is None):
            yield f"{words} was {_part_words(was)}, not {_part_words(asked)}"
            one[name] = other[name] = None


def _part_words(part: Any) -> str:
    if not isinstance(part, dict):
        return "none"
    shape, *sides = (part.get(name, "") for name in ("shape", "width_mm", "height_mm"))
    return f"{shape} {' x '.join(_value(side) for side in sides)} mm".strip()


_FREE = PressLimits()
_HALF_STEP = (0.005 + 1e-9, 0.05 + 1e-9)
"""Of a position in mm, of a turn in degrees."""


def _flat(value: Any, name: str = "") -> dict[str, Any]:
    """Nested objects as one, with names such as ``limits.hold.kind``."""
    return dict(_leaves(value, name))


def _leaves(value: Any, name: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict) and value:
        for key, inner in value.items():
            yield from _leaves(inner, f"{name}.{key}" if name else str(key))
    elif isinstance(value, list) and name.endswith("_mm"):
        for key, inner in zip("xy", value, strict=False):
            yield from _leaves(inner, f"{name}.{key}")
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield name, float(value)
    elif value is not None:
        yield name, value


def _agree(name: str, one: Any, other: Any) -> bool:
    """Equal; placements to half of a step that can be set, which is how they are read off."""
    if name.startswith("placement.") and isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= _HALF_STEP[name.endswith("_deg")]
    return bool(one == other)


def _words(name: str) -> str:
    return name.replace("_", " ").replace(".", ": ", 1).replace(".", " ")


def _value(value: Any) -> str:
    if value is None:
        return "not given"
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return f"{value:.10g}"
    return str(value) if isinstance(value, str) else canonical(value)
