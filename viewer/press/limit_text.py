"""Pads, etch areas, holds, data and angles as short text, read and written.

The same notation serves the command line, the press file and the window's fields:
``rect:100x60r8m2@-1.5,2^30``. Lengths are read as everywhere (mm unless they name a
unit); whatever is wrong raises a UsageError of one line that quotes the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal

from viewer.errors import UsageError
from viewer.press.limits import Angles, AnglesKind, Datum, DatumKind, EtchArea, Hold, HoldKind, Pad
from viewer.units import MINUS_SIGN, parse_length_mm, parse_positive_mm

PAD_NOTATION = "round:80, oval:100x60 or rect:100x60r8, then m2, @dx,dy and ^angle where wanted"
ETCH_NOTATION = "90x72, then m2 and @dx,dy where wanted"
HOLD_NOTATION = "free, across, along or fixed; all but fixed take a limit, as in across:3mm"
DATUM_NOTATION = "page, ink, or a point in mm from the page's left and top, as in 40,25"
ANGLES_NOTATION = "any, none, a limit each way such as +-10, or a step such as step:90"

_LONGEST_TEXT = 120
_QUOTED_LENGTH = 60
_PAD_SHAPES = re.compile(r"(round|oval|rect)\s*:(.*)", re.DOTALL)
_DEGREES = re.compile(r"[+-]?\s*(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*(?:\u00b0|deg)?")
# A unit is taken whole, so that the margin of "60mmm2" begins at its third m.
_PIECES = re.compile(r"mm|cm|inches|inch|in|pt|.", re.DOTALL)
_MARKS = {"r": "corner radius", "m": "margin", "@": "offset", "^": "angle"}


# --- text to values -----------------------------------------------------------------


def parse_pad(text: str, what: str = "pad", name: str = "") -> Pad | None:
    """Read ``round:80``, ``oval:100x60`` or ``rect:100x60r8``; ``none`` gives None.

    ``m2`` (a margin in mm), ``@dx,dy`` (mm to the right and front) and ``^angle``
    (degrees counter-clockwise) may follow the size in any order.
    """
    with _quoting(what, text):
        plain = _plain(text)
        if plain == "none":
            return None
        match = _PAD_SHAPES.fullmatch(plain)
        if match is None:
            raise UsageError(f"a pad is none, {PAD_NOTATION}")
        shape = match[1]
        allowed = "rm@^" if shape == "rect" else "m@^"
        size, parts = _cut(
            match[2], allowed, "an oval pad" if shape == "oval" else f"a {shape} pad"
        )
        if shape == "round":
            if re.search("(?<!p)[x\u00d7]", size):
                raise UsageError("a round pad has one diameter; for two sizes write oval:AxB")
            width_mm = height_mm = parse_positive_mm(size, "diameter")
        else:
            width_mm, height_mm = parse_size_mm(size, "size")
        return Pad(
            shape,  # type: ignore[arg-type]  # the expression knows these three only
            width_mm,
            height_mm,
            corner_radius_mm=_length(parts, "r"),
            offset_mm=_offset(parts),
            turn_deg=parse_degrees(parts["^"], "angle") if "^" in parts else 0.0,
            margin_mm=_length(parts, "m"),
            name=name,
        )


def is_pad_notation(text: str) -> bool:
    """Whether a text is meant as a pad's shape (or as no pad), and so cannot be a name."""
    plain = text.strip().lower()
    return plain == "none" or re.match(r"(round|oval|rect)\s*(:|$)", plain) is not None


def parse_etch(text: str, what: str = "etch area") -> EtchArea | None:
    """Read ``90x72``, across x along, with ``m2`` and ``@dx,dy`` as for a pad; ``none``: None."""
    with _quoting(what, text):
        plain = _plain(text)
        if plain == "none":
            return None
        if ":" in plain or not re.search("[x\u00d7]", plain):
            raise UsageError(f"an etch area is none, or {ETCH_NOTATION}")
        size, parts = _cut(plain, "m@", "an etch area")
        width_mm, height_mm = parse_size_mm(size, "size")
        return EtchArea(width_mm, height_mm, _offset(parts), _length(parts, "m"))


def parse_hold(text: str, what: str = "hold") -> Hold:
    """Read ``free``, ``across``, ``along`` or ``fixed``, with ``:LIMIT`` (mm) where wanted."""
    with _quoting(what, text):
        kind, colon, limit = (part.strip() for part in _plain(text).partition(":"))
        kinds: dict[str, HoldKind] = {
            "free": "free",
            "across": "across",
            "along": "along",
            "fixed": "fixed",
        }
        if kind not in kinds:
            raise UsageError(f"a hold is {HOLD_NOTATION}")
        if not colon:
            return Hold(kinds[kind])
        return Hold(kinds[kind], parse_length_mm(limit, "limit"))


def parse_datum(text: str, what: str = "datum") -> Datum:
    """Read ``page``, ``ink`` or ``x,y``, mm from the page's left and top."""
    with _quoting(what, text):
        plain = _plain(text)
        words: dict[str, DatumKind] = {"page": "page", "ink": "ink"}
        if plain in words:
            return Datum(words[plain])
        if not re.search("[0-9,;]", plain):
            raise UsageError(f"a datum is {DATUM_NOTATION}")
        return Datum("point", parse_pair_mm(plain, "point"))


def parse_angles(text: str, what: str = "angles") -> Angles:
    """Read ``any``, ``none``, ``+-10`` (or with the one sign for both) or ``step:90``."""
    with _quoting(what, text):
        plain = _plain(text).replace("\u00b1", "+-")
        words: dict[str, AnglesKind] = {"any": "any", "none": "none"}
        if plain in words:
            return Angles(words[plain])
        if plain.startswith("+-"):
            return Angles("within", _unsigned_degrees(plain[2:], "limit"))
        head, colon, step = plain.partition(":")
        if head.strip() == "step" and colon:
            return Angles("step", _unsigned_degrees(step, "step"))
        hint = f"; for a limit each way write +-{plain}" if re.fullmatch(_DEGREES, plain) else ""
        raise UsageError(f"angles are {ANGLES_NOTATION}{hint}")


def parse_pair_mm(text: str, what: str = "point") -> tuple[float, float]:
    """Read ``x,y`` as two lengths in mm, signs allowed; with a semicolon between, decimal
    commas are read as well: ``1,5;-2,25``.
    """
    separator = ";" if ";" in text else ","
    parts = text.split(separator)
    if len(parts) != 2:
        raise UsageError(
            f"{what} {_shortened(text)} must be two numbers, as in 40,25"
            " (with decimal commas put a semicolon between: 40,5;25)"
        )
    first, second = (parse_length_mm(part, what) for part in parts)
    return first, second


def parse_size_mm(text: str, what: str = "size") -> tuple[float, float]:
    """Read ``AxB``, across x along, as two lengths in mm that are more than zero."""
    parts = re.split("[xX\u00d7]", text)
    if len(parts) != 2:
        raise UsageError(
            f"{what} {_shortened(text)} must be two lengths, across x along, as in 90x72"
        )
    across, along = (parse_positive_mm(part, what) for part in parts)
    return across, along


def parse_degrees(text: str, what: str = "angle") -> float:
    """Read an angle in degrees, from -360 to 360, decimal point or comma."""
    plain = text.strip().lower().replace(MINUS_SIGN, "-")
    value = None
    if len(plain) <= _LONGEST_TEXT and _DEGREES.fullmatch(plain):
        value = float(re.sub(r"\s|\u00b0|deg", "", plain).replace(",", "."))
    if value is None or not -360.0 <= value <= 360.0:
        raise UsageError(
            f"{what} {_shortened(text)} must be a number of degrees from -360 to 360, as in 22.5"
        )
    return value


# --- values to text -----------------------------------------------------------------


def pad_text(pad: Pad | None) -> str:
    """The notation that ``parse_pad`` reads back as the same pad (its name apart)."""
    if pad is None:
        return "none"
    size = _number(pad.width_mm)
    if pad.shape != "round":
        size += f"x{_number(pad.height_mm)}"
    corners = f"r{_number(pad.corner_radius_mm)}" if pad.corner_radius_mm else ""
    turn = f"^{_number(pad.turn_deg)}" if pad.turn_deg else ""
    return f"{pad.shape}:{size}{corners}{_tail(pad.margin_mm, pad.offset_mm)}{turn}"


def etch_text(etch: EtchArea | None) -> str:
    """The notation that ``parse_etch`` reads back as the same area."""
    if etch is None:
        return "none"
    size = f"{_number(etch.width_mm)}x{_number(etch.height_mm)}"
    return size + _tail(etch.margin_mm, etch.offset_mm)


def hold_text(hold: Hold) -> str:
    """The notation that ``parse_hold`` reads back as the same hold."""
    return hold.kind if hold.limit_mm is None else f"{hold.kind}:{_number(hold.limit_mm)}"


def datum_text(datum: Datum) -> str:
    """The notation that ``parse_datum`` reads back as the same datum."""
    if datum.kind != "point":
        return datum.kind
    return f"{_number(datum.point_mm[0])},{_number(datum.point_mm[1])}"


def angles_text(angles: Angles) -> str:
    """The notation that ``parse_angles`` reads back as the same angles."""
    if angles.kind == "within":
        return f"+-{_number(angles.value_deg)}"
    return f"step:{_number(angles.value_deg)}" if angles.kind == "step" else angles.kind


# --- helpers ------------------------------------------------------------------------


@contextmanager
def _quoting(what: str, text: str) -> Iterator[None]:
    """Put the option or field, and the whole text, before what is wrong inside it."""
    try:
        yield
    except UsageError as error:
        raise UsageError(f"{what} {_shortened(text)}: {error.message}") from error


def _plain(text: str) -> str:
    if len(text) > _LONGEST_TEXT:
        raise UsageError("that is too long")
    return text.strip().lower().replace(MINUS_SIGN, "-")


def _cut(text: str, allowed: str, owner: str) -> tuple[str, dict[str, str]]:
    """The size, and what follows each mark behind it."""
    marks: list[str] = [""]
    pieces: list[str] = [""]
    for piece in _PIECES.findall(text):
        if piece in _MARKS:
            marks.append(piece)
            pieces.append("")
        else:
            pieces[-1] += piece
    for index, mark in enumerate(marks[1:], 1):
        if mark not in allowed:
            raise UsageError(f"{owner} takes no {_MARKS[mark]} ({mark})")
        if mark in marks[1:index]:
            raise UsageError(f"the {_MARKS[mark]} ({mark}) is given twice")
        if not pieces[index].strip():
            raise UsageError(f"after {mark} comes the {_MARKS[mark]}")
    found = {mark: piece.strip() for mark, piece in zip(marks[1:], pieces[1:], strict=True)}
    return pieces[0].strip(), found


def _length(parts: dict[str, str], mark: str) -> float:
    return parse_length_mm(parts[mark], _MARKS[mark]) if mark in parts else 0.0


def _offset(parts: dict[str, str]) -> tuple[float, float]:
    return parse_pair_mm(parts["@"], "offset") if "@" in parts else (0.0, 0.0)


def _unsigned_degrees(text: str, what: str) -> float:
    if text.strip()[:1] in ("+", "-"):
        raise UsageError(f"{what} {_shortened(text)} takes no sign of its own")
    return parse_degrees(text, what)


def _tail(margin_mm: float, offset_mm: tuple[float, float]) -> str:
    margin = f"m{_number(margin_mm)}" if margin_mm else ""
    if not any(offset_mm):
        return margin
    return f"{margin}@{_number(offset_mm[0])},{_number(offset_mm[1])}"


def _number(value: float) -> str:
    """All digits of a number and no exponent, so that it is read back as the same."""
    text = f"{Decimal(repr(float(value))):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _shortened(text: str) -> str:
    # Control characters are escaped, so that the message stays one line.
    return repr(text if len(text) <= _QUOTED_LENGTH else text[: _QUOTED_LENGTH - 3] + "...")
