"""What the up and down arrows do to the number in a field: sums only."""

from __future__ import annotations

from viewer.fit import wrapped_deg
from viewer.screen import cup_fields, entry, limit_fields, model
from viewer.screen.commands import CTRL, SHIFT
from viewer.screen.model import Session
from viewer.units import parse_length_mm, parse_percent_or_mm

REACH = "limit:reach"
NAMES = (*entry.FIELD_ORDER, *cup_fields.NAMES, REACH)
_STEPS: dict[str, dict[int, float]] = {
    "right": {0: 0.1, SHIFT: 1.0, CTRL: 0.01},
    "back": {0: 0.1, SHIFT: 1.0, CTRL: 0.01},
    "angle": {0: 1.0, SHIFT: 15.0, CTRL: 0.1},
    "scale": {0: 1.0, SHIFT: 10.0, CTRL: 0.1},
    "cup:diameter": {0: 1.0, SHIFT: 10.0, CTRL: 0.1},
    "cup:ring": {0: 0.1, SHIFT: 1.0, CTRL: 0.01},
    REACH: {0: 0.5, SHIFT: 5.0, CTRL: 0.1},
}
_PERCENT_STEPS = {0: 1.0, SHIFT: 5.0, CTRL: 0.1}
_MARGIN_MM_STEPS = {0: 0.1, SHIFT: 1.0, CTRL: 0.01}


def stepped(session: Session, name: str, text: str, way: int, mods: int) -> Session:
    """The session with what stands in a field gone up (1) or down (-1) by a step.

    Raises UsageError where the text is no number, or where the value cannot go there.
    """
    if name == "cup:margin":
        return entry.apply_field(session, name, _stepped_margin(session, text, way, mods))
    step = way * _STEPS[name].get(mods, _STEPS[name][0])
    if name == REACH:
        value = parse_length_mm(text, "limit") if text.strip() else 0.0
        changed = f"{max(0.0, round(value + step, 3)):g}"
        return model.with_limits(session, limit_fields.typed_limits(session, name, changed))
    value = entry.field_number(name, text) + step
    if name == "angle":
        value = wrapped_deg(value)
    if name in ("scale", "cup:diameter", "cup:ring"):
        value = max(0.0, value)
    return entry.apply_field(session, name, f"{round(value, 4):.10g}")


def _stepped_margin(session: Session, text: str, way: int, mods: int) -> str:
    unit, value = parse_percent_or_mm(cup_fields.with_unit(session.cup, text), "margin")
    if unit == "%":
        percent = max(0.0, 100 * value + way * _PERCENT_STEPS.get(mods, 1.0))
        return f"{round(percent, 4):.10g} %"
    mm = max(0.0, value + way * _MARGIN_MM_STEPS.get(mods, 0.1))
    return f"{round(mm, 4):.10g} mm"
