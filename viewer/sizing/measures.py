"""The numbers that somebody gives on the telephone: exact, or known to a tolerance.

``66`` is exact. ``~66`` (about 66) is off by up to half of the last digit given:
65.5 to 66.5, and ``~66.0`` is 65.95 to 66.05; for a fraction by half of its step, so that
``~2 5/8 in`` is 2 9/16 to 2 11/16 in. ``66+-1`` says the tolerance itself. The word
``about`` is read as ``~``, and in front of a whole size, ``about 66 x 88``, counts for both.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from viewer.errors import UsageError
from viewer.press.limits import LARGEST_MM
from viewer.sizing.roots import plain
from viewer.units import exact_length_mm

SIZE_NOTATION = "66x88, ~66x~88, 66+-0.5x88+-1 or 2 5/8in x 3in"

_LONGEST_TEXT = 120
_QUOTED_LENGTH = 60
_ABOUT = re.compile(r"\s*(?:[~\u2248]|about\b)\s*", re.IGNORECASE)
_ABOUT_ALL = re.compile(r"\s*about\b", re.IGNORECASE)
_GIVE_OR_TAKE = re.compile(r"\+\s*/?\s*[-\u2212]|\u00b1")
_UNIT = re.compile(r"(?<![a-z])([a-z]+|[\"\u2033])\s*$", re.IGNORECASE)
_BETWEEN_SIDES = re.compile(r"[xX\u00d7*]|\bby\b")


@dataclass(frozen=True)
class Measure:
    """A length in mm, exactly as a fraction, and how far it may be off each way.

    ``text`` is what was given, ``unit`` the unit written there ("" for none). All of the
    range must be more than zero.
    """

    nominal_mm: Fraction
    tolerance_mm: Fraction = Fraction(0)
    text: str = ""
    unit: str = ""

    @property
    def low_mm(self) -> Fraction:
        """The least that it may be."""
        return self.nominal_mm - self.tolerance_mm

    @property
    def high_mm(self) -> Fraction:
        """The most that it may be."""
        return self.nominal_mm + self.tolerance_mm

    @property
    def is_exact(self) -> bool:
        """Whether it has no tolerance."""
        return self.tolerance_mm == 0

    def known_to(self, tolerance_mm: Fraction) -> Measure:
        """The same number with another tolerance."""
        return replace(self, tolerance_mm=tolerance_mm)

    def __str__(self) -> str:
        size = plain(self.nominal_mm)
        return size if self.is_exact else f"{size} +-{plain(self.tolerance_mm)}"


def exact_measure(size_mm: Fraction | int | str) -> Measure:
    """A number in mm without tolerance; text is read as a decimal number."""
    return Measure(Fraction(size_mm))


def parse_measure(text: str, what: str = "length") -> Measure:
    """Read one number with its tolerance. Whatever is wrong raises UsageError."""
    if len(text) > _LONGEST_TEXT:
        raise UsageError(f"{what} {_quoted(text)} is too long")
    about = _ABOUT.match(text)
    body = text[about.end() :] if about else text
    parts = _GIVE_OR_TAKE.split(body)
    if len(parts) > 2:
        raise UsageError(f"{what} {_quoted(text)}: give one tolerance, as in 66+-0.5")
    if len(parts) == 2:
        if about:
            raise UsageError(f"{what} {_quoted(text)}: either ~ or a tolerance, as in 66+-0.5")
        measure = _with_tolerance(parts[0], parts[1], text, what)
    else:
        nominal_mm = _exact(body, what)
        step_mm = _last_step_mm(body, what) / 2 if about else Fraction(0)
        measure = Measure(nominal_mm, step_mm, text.strip(), _unit_of(body))
    _check_range(measure, text, what)
    return measure


def is_pair(text: str) -> bool:
    """Whether a text gives, or begins to give, two sides rather than one length."""
    return _BETWEEN_SIDES.search(text) is not None


def parse_sides(text: str) -> tuple[Measure, Measure]:
    """Read ``66x88``: width, then height."""
    if not text.strip():
        raise UsageError(f"the size is empty; write width x height, as in {SIZE_NOTATION}")
    if re.search(r"[0-9]\s*px", text, re.IGNORECASE):
        raise UsageError(
            f"size {_quoted(text)}: pixels have no size of their own; give mm or inches"
        )
    parts = _BETWEEN_SIDES.split(text)
    if len(parts) == 1:
        raise UsageError(
            f"size {_quoted(text)}: give width x height, as in {SIZE_NOTATION};"
            " the longest diagonal alone is given with --diagonal 80"
        )
    if len(parts) != 2 or not all(part.strip() for part in parts):
        raise UsageError(
            f"size {_quoted(text)} must be width x height, as in {SIZE_NOTATION};"
            " the longest diagonal is given with --diagonal"
        )
    if _ABOUT_ALL.match(parts[0]) and not _has_tolerance(parts[1]):
        parts[1] = f"about {parts[1].strip()}"
    width, height = (
        parse_measure(part, what) for part, what in zip(parts, ("width", "height"), strict=True)
    )
    check_units(width, height)
    return width, height


def check_units(*measures: Measure | None) -> None:
    """Refuse a bare number beside one with a unit other than mm: it could mean either."""
    given = [measure for measure in measures if measure is not None and measure.text]
    other = next((m for m in given if m.unit not in ("", "mm")), None)
    bare = next((m for m in given if m.unit == ""), None)
    if other is not None and bare is not None:
        raise UsageError(
            f"{_quoted(bare.text)} has no unit and {_quoted(other.text)} has:"
            " write the unit behind each number"
        )


# --- helpers ------------------------------------------------------------------------


def _with_tolerance(size: str, tolerance: str, text: str, what: str) -> Measure:
    """A unit behind the tolerance alone counts for both, as in 2 5/8+-1/16in."""
    unit, tolerance_unit = _unit_of(size), _unit_of(tolerance)
    if unit and not tolerance_unit and unit != "mm":
        raise UsageError(f"{what} {_quoted(text)}: write the unit behind the tolerance as well")
    unit = unit or tolerance_unit
    nominal_mm = _exact(size if _unit_of(size) else size + unit, what)
    tolerance_mm = _exact(tolerance, f"tolerance of the {what}")
    if tolerance_mm < 0 or tolerance.strip()[:1] in ("+", "-", "\u2212"):
        raise UsageError(f"{what} {_quoted(text)}: the tolerance takes no sign of its own")
    return Measure(nominal_mm, tolerance_mm, text.strip(), unit)


def _has_tolerance(text: str) -> bool:
    return bool(_ABOUT.match(text) or _GIVE_OR_TAKE.search(text))


def _exact(text: str, what: str) -> Fraction:
    return exact_length_mm(text, what)


def _check_range(measure: Measure, text: str, what: str) -> None:
    if measure.nominal_mm <= 0:
        raise UsageError(f"{what} {_quoted(text)} must be greater than zero")
    if measure.low_mm <= 0:
        raise UsageError(
            f"{what} {_quoted(text)}: with its tolerance it could be zero or less;"
            " give it more exactly"
        )
    if measure.high_mm > Fraction(int(LARGEST_MM)):
        raise UsageError(f"{what} {_quoted(text)} is more than {LARGEST_MM:.0f} mm")


def _unit_of(text: str) -> str:
    found = _UNIT.search(text.strip())
    return found[1].lower() if found else ""


def _last_step_mm(text: str, what: str) -> Fraction:
    """What one unit of the last digit is worth, or one part of a fraction."""
    unit_mm = exact_length_mm(f"1{_unit_of(text)}", what)
    bottom = re.search(r"/\s*([0-9]+)", text)
    if bottom is not None:
        return unit_mm / int(bottom[1])
    decimals = re.search(r"[.,]([0-9]*)", text)
    places = len(decimals[1]) if decimals else 0
    return unit_mm / Fraction(10**places)


def _quoted(text: str) -> str:
    # Control characters are escaped, so that the message stays one line.
    return repr(text if len(text) <= _QUOTED_LENGTH else text[: _QUOTED_LENGTH - 3] + "...")
