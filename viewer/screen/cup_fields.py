"""The chosen cup as three fields: its diameter, its ring and its margin."""

from __future__ import annotations

from dataclasses import replace

from viewer.errors import UsageError
from viewer.fit import fit_artwork
from viewer.press.cups import Cup, Margin, cup_name, sort_cups
from viewer.press.limits import PressLimits
from viewer.screen.model import Session
from viewer.units import parse_length_mm, parse_percent_or_mm, parse_positive_mm

NAMES = ("cup:diameter", "cup:ring", "cup:margin")
LABELS = {"cup:diameter": "cup \u00d8", "cup:ring": "ring", "cup:margin": "margin"}
SAID = {"cup:diameter": "cup diameter", "cup:ring": "ring width", "cup:margin": "margin"}


def cup_value(cup: Cup, name: str) -> str:
    """What a field shows."""
    if name == "cup:diameter":
        return cup_name(cup.diameter_mm)
    if name == "cup:ring":
        return cup_name(cup.ring_width_mm)
    return str(cup.margin)


def typed_cup(cup: Cup, name: str, text: str) -> Cup:
    """The cup with a field set to what was typed; UsageError says what is wrong."""
    said = SAID[name]
    if name == "cup:diameter":
        diameter_mm = parse_positive_mm(text, said)
        # A cup is called by its diameter, so that another diameter is another name.
        name_of = cup.name if diameter_mm == cup.diameter_mm else cup_name(diameter_mm)
        return _checked(replace(cup, name=name_of, diameter_mm=diameter_mm))
    if name == "cup:ring":
        width_mm = parse_length_mm(text, said)
        if width_mm < 0:
            raise UsageError(f"{said} {text.strip()!r} must be zero or more")
        return _checked(replace(cup, ring_width_mm=width_mm))
    return _checked(replace(cup, margin=_typed_margin(cup, text)))


def _typed_margin(cup: Cup, text: str) -> Margin:
    unit, value = parse_percent_or_mm(with_unit(cup, text), "margin")
    return Margin(value, unit == "%")


def with_unit(cup: Cup, text: str) -> str:
    """A margin as typed; a bare number has the unit that stands in the field."""
    plain = text.strip()
    is_bare = plain != "" and plain[-1] in "0123456789.,"
    return f"{plain} %" if is_bare and cup.margin.is_fraction else plain


def _checked(cup: Cup) -> Cup:
    if cup.ring_inner_diameter_mm <= 0:
        raise UsageError(f"a ring of {cup.ring_width_mm:g} mm leaves no room in this cup")
    return cup


def cups_of(session: Session) -> tuple[Cup, ...]:
    """All cups of the list, as they are now."""
    return tuple(cup_fit.cup for cup_fit in session.fit.cups)


def with_cup_values(session: Session, cup: Cup) -> Session:
    """The session with the chosen cup replaced by another one.

    Sizes and verdicts of a cup alone are there at once; what pad and plate mean is left
    to a thread. Raises UsageError for a cup that the list holds already.
    """
    cups = list(cups_of(session))
    if cup == session.cup:
        return session
    others = cups[: session.cup_index] + cups[session.cup_index + 1 :]
    if any(_same(cup, other) for other in others):
        raise UsageError(f"the list holds such a cup already: {cup.name}")
    changed = sort_cups([*others, cup])
    limits = session.limits if session.limits.is_cup_alone else PressLimits()
    fit = fit_artwork(session.artwork, changed, session.press.setup_tolerance_mm, limits)
    index = next(i for i, cup_fit in enumerate(fit.cups) if cup_fit.cup is cup)
    press = replace(session.press, cups=changed)
    return replace(session, fit=fit, cup_index=index, press=press)


def _same(one: Cup, two: Cup) -> bool:
    return replace(one, name="") == replace(two, name="")


def apply_cup_field(session: Session, name: str, text: str) -> Session:
    """The session with a field of its cup set to what was typed."""
    return with_cup_values(session, typed_cup(session.cup, name, text))
