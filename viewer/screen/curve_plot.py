"""The curve of clearance against angle as a picture: scale, shades, line. No words."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pygame
import pygame.surfarray
from numpy.typing import NDArray

from viewer.fit import AngleCurve
from viewer.press.limits import Angles
from viewer.screen import theme
from viewer.screen.shapes import rounded
from viewer.screen.theme import Rgb

Values = NDArray[np.float64]

FAR_FACTOR = 3.0
"""Zero is left out of the scale where it is farther off than so many times the curve's span."""
LEAST_SPAN_MM = 0.5
SLIT_PX = 2.5
"""Half of the width that a single allowed angle is given."""
HATCH_PX = 6


@dataclass(frozen=True)
class Scale:
    """What the plot shows of clearances, in mm, and where the labels are."""

    low_mm: float
    high_mm: float
    ticks_mm: tuple[float, ...]
    decimals: int

    def y_px(self, value_mm: float, height_px: int) -> float:
        """Distance from the plot's top; values beyond the scale stay at its edge."""
        share = (self.high_mm - value_mm) / (self.high_mm - self.low_mm)
        return max(0.0, min(1.0, share)) * (height_px - 1)


def scale_for(least_mm: float, most_mm: float, height_px: int, label_px: int) -> Scale:
    """A scale that shows the curve large, with zero wherever that is not far off."""
    span = max(most_mm - least_mm, LEAST_SPAN_MM)
    low, high = least_mm, most_mm
    if least_mm <= FAR_FACTOR * span:
        low = min(low, 0.0)
    if most_mm >= -FAR_FACTOR * span:
        high = max(high, 0.0)
    room = max(high - low, LEAST_SPAN_MM)
    low, high = low - 0.09 * room, high + 0.14 * room
    step = _step_mm((high - low) * label_px / height_px)
    first, last = math.ceil(low / step), math.floor(high / step)
    ticks = tuple(number * step for number in range(first, last + 1))
    return Scale(low, high, ticks, max(0, -math.floor(math.log10(step) + 1e-9)))


def _step_mm(least_mm: float) -> float:
    """1, 2 or 5 times a power of ten, no less than ``least_mm``."""
    power = 10.0 ** math.floor(math.log10(least_mm))
    return next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= least_mm * (1 - 1e-9))


def curve_at(curve: AngleCurve, turns_deg: Values) -> Values:
    """The curve's clearance between its own angles, by straight lines; degrees may wrap."""
    found: Values = np.interp(turns_deg, curve.turns_deg, curve.clearances_mm, period=360.0)
    return found


def columns_deg(width_px: int) -> Values:
    """The angle at the middle of each column."""
    turns: Values = -180.0 + (np.arange(width_px, dtype=float) + 0.5) * (360.0 / width_px)
    return turns


def allowed_columns(angles: Angles, width_px: int) -> NDArray[np.bool_]:
    """Columns of angles that the press allows; a single angle is given a few columns."""
    turns = columns_deg(width_px)
    slit = SLIT_PX * 360.0 / width_px
    if angles.kind == "none":
        return np.asarray(np.abs(turns) <= slit)
    if angles.kind == "within":
        return np.asarray(np.abs(turns) <= max(slit, angles.value_deg))
    if angles.kind == "step" and angles.value_deg > 4.0 * slit:
        off = turns - np.round(turns / angles.value_deg) * angles.value_deg
        return np.asarray(np.abs(off) <= slit)
    return np.ones(width_px, dtype=bool)


def single_turns(angles: Angles, width_px: int) -> list[float]:
    """Allowed angles that stand alone, and far enough apart to be told apart."""
    if angles.kind == "none":
        return [0.0]
    if angles.kind != "step" or angles.value_deg <= 4.0 * SLIT_PX * 360.0 / width_px:
        return []
    reach = math.floor(180.0 / angles.value_deg + 1e-9)
    return [number * angles.value_deg for number in range(-reach, reach + 1)]


def fitting_columns(
    stretches_deg: tuple[tuple[float, float], ...], width_px: int
) -> NDArray[np.bool_]:
    """Columns of angles at which the image fits."""
    turns = columns_deg(width_px)
    slit = SLIT_PX * 360.0 / width_px
    found = np.zeros(width_px, dtype=bool)
    for first, last in stretches_deg:
        grown = max(0.0, slit - (last - first) / 2)
        found |= (turns >= first - grown) & (turns <= last + grown)
    return found


@dataclass(frozen=True)
class Look:
    """What a picture is drawn from. ``line``: the color of a curve that is flat.

    ``fitting_deg``: the stretches to mark as fitting.
    """

    size: tuple[int, int]
    scale: Scale
    angles: Angles
    line: Rgb
    is_flat: bool
    is_old: bool
    ui: float
    fitting_deg: tuple[tuple[float, float], ...] = ()


def plot_picture(curve: AngleCurve, look: Look) -> pygame.Surface:
    """Draw the plot; kept by the caller, as it takes some milliseconds."""
    width, height = look.size
    values = curve_at(curve, columns_deg(width))
    y = np.array([look.scale.y_px(v, height) for v in values.tolist()])
    allowed = allowed_columns(look.angles, width)
    fitting = fitting_columns(look.fitting_deg, width)
    picture = np.empty((width, height, 3))
    picture[:] = theme.STRIP
    row, column = np.arange(height)[None, :], np.arange(width)[:, None]
    period = max(4, round(HATCH_PX * look.ui))
    _mix(
        picture, np.where((row - column) % period < period / 3, 1.0, 0.0), theme.FORBIDDEN, ~allowed
    )
    zero_y = look.scale.y_px(0.0, height)
    line_px = max(1, round(look.ui))
    for tick in look.scale.ticks_mm:
        at = round(look.scale.y_px(tick, height))
        picture[:, at : at + line_px] = theme.TRACK if tick == 0 else theme.CURVE_GRID
    if not look.is_flat:
        between = (row >= y[:, None]) & (row <= zero_y) & (values[:, None] > 0)
        stripes = np.where((row + column) % period < period / 2, 0.3, 0.15)
        _mix(picture, np.where(between, stripes, 0.0), theme.SKY, fitting)
        thick = max(2, round(3 * look.ui))
        base = min(height - thick, round(zero_y))
        picture[fitting, base : base + thick] = theme.SKY
    _curve_line(picture, y, look, fitting, allowed)
    if look.is_old:
        picture = picture * 0.4 + np.array(theme.STRIP) * 0.6
    surface = pygame.Surface((width, height))
    pygame.surfarray.blit_array(surface, np.rint(picture).astype(np.uint8))
    if not look.is_old:
        for turn in single_turns(look.angles, width):
            at = min(width - 1, int((turn + 180.0) / 360.0 * width))
            side = 2 * round(3.5 * look.ui) + 1
            dot = pygame.Rect(0, 0, side, side)
            dot.center = (at, round(float(y[at])))
            rounded(surface, dot, side // 2, theme.SKY if fitting[at] else theme.CURVE, theme.STRIP)
    return surface


def _mix(picture: Values, cover: Values, color: Rgb, columns: NDArray[np.bool_]) -> None:
    part = np.broadcast_to(cover, picture.shape[:2])[columns][:, :, None]
    picture[columns] = picture[columns] * (1 - part) + np.array(color, float) * part


def _curve_line(
    picture: Values, y: Values, look: Look, fitting: NDArray[np.bool_], allowed: NDArray[np.bool_]
) -> None:
    """The line with smooth edges: a pixel is covered by how near it is to the line."""
    height = picture.shape[1]
    half = max(0.8, 1.1 * look.ui)
    rows = np.arange(height)[None, :]
    # Up and down to where the neighbors' lines begin, so that steep parts have no gaps.
    before, after = (np.roll(y, 1) + y) / 2, (np.roll(y, -1) + y) / 2
    before[0], after[-1] = y[0], y[-1]
    low = np.minimum(np.minimum(before, after), y)[:, None]
    high = np.maximum(np.maximum(before, after), y)[:, None]
    away = np.maximum(np.maximum(low - rows, rows - high), 0.0)
    slope = np.abs(np.gradient(y))[:, None] if len(y) > 1 else np.zeros((1, 1))
    near = away / np.sqrt(1 + slope * slope)
    cover = np.clip(0.5 + half - near, 0, 1)
    color = np.empty((len(y), 3))
    color[:] = look.line if look.is_flat else theme.CURVE
    if not look.is_flat:
        color[fitting] = theme.SKY
    faint = np.where(allowed, 1.0, 0.55)[:, None]
    part = (cover * faint)[:, :, None]
    picture[:] = picture * (1 - part) + color[:, None, :] * part
