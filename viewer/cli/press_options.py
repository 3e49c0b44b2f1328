"""The press of a call: what a press file says, with the options of the shell before it.

Key by key: an option that is given replaces what the file says about that, and leaves
the rest. ``--cups`` replaces all cups of the file, with their rings and margins.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

from viewer.errors import UsageError
from viewer.press import (
    DEFAULT_MARGIN,
    DEFAULT_RING_WIDTH_MM,
    Cup,
    EtchArea,
    Pad,
    Press,
    is_pad_notation,
    load_press,
    parse_cups,
    parse_etch,
    parse_pad,
    sort_cups,
)


def press_from(found: argparse.Namespace) -> Press:
    """The press that a call is about. Raises UsageError for whatever is wrong with it."""
    base = Press() if found.press is None else _load(found.press)
    pad, pads = _pad(found.pad, base)
    etch, shown_etch = _etch(found.etch, base)
    limits = replace(
        base.limits,
        pad=pad,
        etch=etch,
        hold=_given(found.hold, base.limits.hold),
        datum=_given(found.datum, base.limits.datum),
        angles=_given(found.angles, base.limits.angles),
    )
    return replace(
        base,
        cups=_cups(found, base.cups),
        pads=pads,
        etch=shown_etch,
        plate_mm=_given(getattr(found, "plate", None), base.plate_mm),
        limits=limits,
        setup_tolerance_mm=_given(found.setup, base.setup_tolerance_mm),
    )


def _load(path: str) -> Press:
    if not path:
        raise UsageError("--press needs the name of a press file")
    return load_press(path)


def _given(option: Any, otherwise: Any) -> Any:
    return otherwise if option is None else option


def _cups(found: argparse.Namespace, cups: tuple[Cup, ...]) -> tuple[Cup, ...]:
    if found.cups is not None:
        return parse_cups(
            found.cups,
            _given(found.ring, DEFAULT_RING_WIDTH_MM),
            _given(found.margin, DEFAULT_MARGIN),
            _given(found.named_by, "outside"),
        )
    return sort_cups(
        replace(
            cup,
            ring_width_mm=_given(found.ring, cup.ring_width_mm),
            margin=_given(found.margin, cup.margin),
            named_by=_given(found.named_by, cup.named_by),
        )
        for cup in cups
    )


def _pad(text: str | None, base: Press) -> tuple[Pad | None, tuple[Pad, ...]]:
    """The pad that limits the image, and those that there are to choose from."""
    if text is None:
        return base.limits.pad, base.pads
    wanted = text.strip()
    named = next((pad for pad in base.pads if pad.name.casefold() == wanted.casefold()), None)
    if named is not None:
        return named, base.pads
    if base.pads and not is_pad_notation(text):
        names = ", ".join(repr(pad.name) for pad in base.pads)
        raise UsageError(
            f"--pad {text[:60]!r} is neither a pad of the press file ({names}) nor a shape"
            " such as round:80, nor none"
        )
    pad = parse_pad(text, "--pad")
    return pad, base.pads if pad is None else (*base.pads, pad)


def _etch(text: str | None, base: Press) -> tuple[EtchArea | None, EtchArea | None]:
    """The etch area that limits the image, and the one that can be chosen."""
    if text is None:
        return base.limits.etch, base.etch
    etch = parse_etch(text, "--etch")
    return etch, base.etch if etch is None else etch
