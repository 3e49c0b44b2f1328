"""A placement in words that an operator can set, one step after the other."""

from __future__ import annotations

import math

from viewer.fit import Fit, Placement


def placement_steps(fit: Fit, placement: Placement) -> tuple[str, str]:
    """Where to start, and what to do from there.

    The turn comes before the shift, about the datum while that stands under the cup's
    center; shifts are right and front as the operator sees the plate. Amounts in settable
    steps (0.01 mm, 0.1 degree) where the placement is in such, finer otherwise.
    """
    x_mm, y_mm = fit.datum_mm
    at = "" if fit.limits.datum.kind == "point" else f" ({x_mm:.2f}, {y_mm:.2f} mm on its page)"
    start = f"Start with the artwork's {fit.limits.datum}{at} under the cup's centre, not turned."
    turn = _turn_words(placement.turn_deg)
    shift = shift_words(fit.datum_mm, placement)
    if turn and shift:
        return start, f"Turn the artwork {turn}, then shift it {shift}."
    if turn:
        return start, f"Turn the artwork {turn}; do not shift it."
    if shift:
        return start, f"Do not turn the artwork; shift it {shift}."
    return start, "Neither turn nor shift it."


def shift_words(datum_mm: tuple[float, float], placement: Placement) -> str:
    """How far to shift the artwork, as ``2.91 mm right and 5.28 mm to the front``; or ``""``."""
    return _shift_words(*datum_shift_mm(datum_mm, placement))


def datum_shift_mm(datum_mm: tuple[float, float], placement: Placement) -> tuple[float, float]:
    """Where the datum lies from the cup's center (right, front) once all is set."""
    x = datum_mm[0] - placement.center_mm[0]
    y = datum_mm[1] - placement.center_mm[1]
    turn = math.radians(placement.turn_deg)
    return math.cos(turn) * x + math.sin(turn) * y, math.cos(turn) * y - math.sin(turn) * x


def _turn_words(turn_deg: float) -> str:
    amount = _amount(turn_deg, 1, 3)
    if not float(amount):
        return ""
    return f"{amount} degrees {'counter-clockwise' if turn_deg > 0 else 'clockwise'}"


def _shift_words(right_mm: float, front_mm: float) -> str:
    words = []
    for value, positive, negative in (
        (right_mm, "right", "left"),
        (front_mm, "to the front", "to the back"),
    ):
        amount = _amount(value, 2, 3)
        if float(amount):
            words.append(f"{amount} mm {positive if value > 0 else negative}")
    return " and ".join(words)


def _amount(value: float, coarse: int, fine: int) -> str:
    """Without its sign, as coarse as it may be told without changing it."""
    told = f"{abs(value):.{coarse}f}"
    exact = abs(float(told) - abs(value)) < 0.5 * 10.0 ** -(fine + 1)
    return told if exact else f"{abs(value):.{fine}f}"
