"""The way out: the smallest changes that make artwork fit a cup, each judged before it is told.

Every way is a value that says what would be changed and what would then be so. None is
offered whose outcome, judged as it would stand, is not a plain "fits".
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from viewer.artwork.model import Artwork, Outline
from viewer.errors import Cancelled
from viewer.fit.area import image_area
from viewer.fit.fit import fit_artwork
from viewer.fit.least_shift import nearest_shift
from viewer.fit.model import CupFit, Fit, PlacedFit, Placement
from viewer.fit.moving_in import PointMove, moves_in
from viewer.fit.placement import place
from viewer.fit.problems import LimitedInk, limited_ink
from viewer.fit.readings import unconditional_blocks
from viewer.fit.settable import STEPS_PER_DEG, STEPS_PER_MM, nearest_turn, settled, wrapped_deg
from viewer.fit.shift import ShiftProblem, clearance_at
from viewer.fit.verdict import Verdict
from viewer.press import Cup

Resize = Callable[[float], Artwork]
SCALE_STEPS = 1000
"""A scale is settable to 0.1 %."""
_SAME_MM = 0.005
_SAME_DEG = 0.05
_SAME_SCALE = 0.0015
_SAME_ANGLE_DEG = 1e-6
_LEVELS_MM = (0.0, 0.01, 0.03)
_MOST_STEPS_DOWN = 12


class WayKind(StrEnum):
    """What a way out changes."""

    SHIFT = "shift"
    TURN = "turn"
    BEST = "best"
    SCALE = "scale"
    SCALE_HERE = "scale-here"
    CUP = "cup"
    MOVE_IN = "move-in"


@dataclass(frozen=True)
class WayOut:
    """One change, and what is so after it.

    ``placement``: where the cup then is, on the page of the artwork as scaled by
    ``factor`` (counted from how it is now). ``moves``: ink to draw further in; what is
    then so is worked out for the outline so changed.
    """

    kind: WayKind
    cup: Cup
    placement: Placement
    placed: PlacedFit
    factor: float = 1.0
    moves: tuple[PointMove, ...] = ()


class WaysState(StrEnum):
    """How it stands with a cup at the present placement."""

    FITS = "fits"
    FIXABLE = "fixable"
    BLOCKED = "blocked"
    """A warning forbids to say "fits" whatever is changed."""
    CANNOT = "cannot"


@dataclass(frozen=True)
class WaysOut:
    """All ways for one cup, the least change first. ``blocks``: what must be settled before."""

    state: WaysState
    ways: tuple[WayOut, ...]
    blocks: tuple[str, ...] = ()


def ways_out(
    fit: Fit,
    cup_fit: CupFit,
    placement: Placement,
    resize: Resize | None = None,
    total_scale: float = 1.0,
    cancelled: Callable[[], bool] = lambda: False,
) -> WaysOut:
    """The ways out for one cup of a fit from where the cup is now.

    ``resize(factor)`` gives the artwork at another size; by default its outline times the
    factor. ``total_scale``: what the artwork has been scaled by already, so that scales
    come out in whole steps of 0.1 %. Where it fits already only a better place is told.
    Raises Cancelled.
    """
    blocks = tuple(w.message for w in unconditional_blocks(fit.artwork))
    if blocks:
        return WaysOut(WaysState.BLOCKED, (), blocks)
    if not math.isfinite(fit.artwork.outline.uncertainty_mm):
        return WaysOut(WaysState.CANNOT, ())
    finder = _Finder(fit, cup_fit, placement, resize, total_scale, cancelled)
    found = tuple(finder.all())
    if finder.now.verdict is Verdict.FITS:
        return WaysOut(WaysState.FITS, found)
    helps = any(way.kind is not WayKind.MOVE_IN for way in found)
    return WaysOut(WaysState.FIXABLE if helps else WaysState.CANNOT, found)


def resized(artwork: Artwork, factor: float) -> Artwork:
    """An artwork's outlines at another size; enlarging enlarges what is uncertain."""

    def sized(outline: Outline) -> Outline:
        return Outline(outline.hull_mm * factor, outline.uncertainty_mm * max(1.0, factor))

    return replace(
        artwork,
        page_mm=(artwork.page_mm[0] * factor, artwork.page_mm[1] * factor),
        outline=sized(artwork.outline),
        alternatives=tuple(replace(r, outline=sized(r.outline)) for r in artwork.alternatives),
    )


class _Finder:
    """Works out the ways of one cup at one placement."""

    def __init__(
        self,
        fit: Fit,
        cup_fit: CupFit,
        placement: Placement,
        resize: Resize | None,
        total_scale: float,
        cancelled: Callable[[], bool],
    ) -> None:
        self.fit, self.cup_fit, self.placement = fit, cup_fit, placement
        self.cup, self.limits, self.artwork = cup_fit.cup, fit.limits, fit.artwork
        self.resize: Resize = resize or (lambda factor: resized(fit.artwork, factor))
        self.total_scale = total_scale
        self._cancelled = cancelled
        self.ink: LimitedInk = limited_ink(self.artwork, self.limits)
        self.problem: ShiftProblem = self.ink.together(image_area(self.cup, self.limits))
        self.now = self._placed(self.artwork, self.cup, placement)

    def all(self) -> Iterator[WayOut]:
        """Every way there is, the least change first."""
        fits_now = self.now.verdict is Verdict.FITS
        steps = [self._shift, self._turn] if not fits_now else []
        steps.append(self._best)
        if self.cup_fit.verdict is not Verdict.FITS:
            steps += [self._scale, self._scale_here, self._larger_cup, self._move_in]
        elif not fits_now:
            steps.append(self._scale_here)
        if self.cup_fit.verdict is Verdict.FITS and self.cup_fit.tight:
            steps.append(self._larger_cup)
        anywhere: float | None = None
        for step in steps:
            self._check()
            way = step()
            if way is None:
                continue
            if way.kind is WayKind.SCALE:
                anywhere = way.factor
            is_same = anywhere is not None and abs(anywhere - way.factor) < _SAME_SCALE
            if way.kind is WayKind.SCALE_HERE and is_same:
                continue  # the cup is at its best place already
            yield way

    def _check(self) -> None:
        if self._cancelled():
            raise Cancelled("the search was cancelled")

    def _placed(self, artwork: Artwork, cup: Cup, placement: Placement) -> PlacedFit:
        return place(artwork, cup, placement, self.fit.setup_tolerance_mm, self.limits)

    def _way(self, kind: WayKind, placement: Placement) -> WayOut | None:
        """A way of the present size and cup, if it ends in a plain "fits"."""
        placed = self._placed(self.artwork, self.cup, placement)
        if placed.verdict is not Verdict.FITS:
            return None
        return WayOut(kind, self.cup, placement, placed)

    # --- shift ---

    def _shift(self) -> WayOut | None:
        """The least shift at the present angle, in settable steps."""
        if self.cup_fit.verdict is not Verdict.FITS:
            return None
        turn_deg = self.placement.turn_deg
        if abs(nearest_turn(turn_deg, self.limits.angles) - turn_deg) > _SAME_ANGLE_DEG:
            return None
        start = self.ink.shift_of(self.placement.center_mm, turn_deg)
        for level_mm in _LEVELS_MM:
            shift = nearest_shift(self.problem, math.radians(turn_deg), start, level_mm)
            if shift is None:
                return None
            way = self._stepped_shift(self.ink.center_of(shift, turn_deg))
            if way is not None:
                return way
        return None

    def _stepped_shift(self, center_mm: tuple[float, float]) -> WayOut | None:
        turn_deg, step = self.placement.turn_deg, 1.0 / STEPS_PER_MM
        tried = {}
        for dx in (-step, 0.0, step):
            for dy in (-step, 0.0, step):
                wished = Placement((center_mm[0] + dx, center_mm[1] + dy), turn_deg)
                found = settled(self.artwork, wished, self.limits)
                tried[found.center_mm] = math.dist(found.center_mm, self.placement.center_mm)
        for center in sorted(tried, key=tried.__getitem__):
            way = self._way(WayKind.SHIFT, Placement(center, turn_deg))
            if way is not None:
                return way
        return None

    # --- turn ---

    def _turn(self) -> WayOut | None:
        """The least turn about the cup's center, the same page point staying under it."""
        if self.limits.is_cup_alone or self.limits.angles.kind == "none":
            return None
        found = [way for sign in (1, -1) if (way := self._turn_towards(sign)) is not None]
        start = self.placement.turn_deg
        return min(
            found, key=lambda w: abs(wrapped_deg(w.placement.turn_deg - start)), default=None
        )

    def _turn_towards(self, sign: int) -> WayOut | None:
        """Goes on by angles that can certainly not fit, until one does."""
        angles, start = self.limits.angles, self.placement.turn_deg
        step_deg = angles.value_deg if angles.kind == "step" else 1.0 / STEPS_PER_DEG
        reach_mm = self._reach_mm()
        gone_deg = 0.0
        for _ in range(round(180.0 / step_deg) + 1):
            self._check()
            turn = wrapped_deg(round((start + sign * gone_deg) / step_deg) * step_deg)
            turn = round(turn, 6)
            if abs(nearest_turn(turn, angles) - turn) > _SAME_ANGLE_DEG:
                return None  # beyond what the press turns
            shift = self.ink.shift_of(self.placement.center_mm, turn)
            room_mm = clearance_at(self.problem, math.radians(turn), shift)[0]
            if room_mm >= 0:
                way = self._way(WayKind.TURN, Placement(self.placement.center_mm, turn))
                if way is not None:
                    return way
            hopeless = math.degrees(max(0.0, -room_mm) / reach_mm) if reach_mm > 0 else 180.0
            gone_deg += max(1, math.floor(hopeless / step_deg)) * step_deg
            if gone_deg > 180.0:
                return None
        return None

    def _reach_mm(self) -> float:
        """No clearance about the cup's center changes faster than this per radian."""
        x, y = self.ink.datum_mm
        cx, cy = self.placement.center_mm
        at = (cx - x, cy - y)
        return max(
            math.hypot(float(px) - at[0] * group.ratio, float(py) - at[1] * group.ratio)
            for group in self.problem.groups
            for px, py in group.points_mm
        )

    # --- best, scale, cup ---

    def _best(self) -> WayOut | None:
        """Where the clearance is greatest, unless the cup is there."""
        best = self.cup_fit.best.settable
        here = self.placement
        is_there = math.dist(best.center_mm, here.center_mm) < _SAME_MM and (
            self.limits.is_cup_alone or abs(wrapped_deg(best.turn_deg - here.turn_deg)) < _SAME_DEG
        )
        if is_there or best.clearance_mm < self.now.clearance_mm + _SAME_MM:
            return None
        return self._way(WayKind.BEST, best.placement)

    def _steps_down(self, factor: float) -> Iterator[float]:
        """Factors that make the whole scale a settable one, the greatest first."""
        steps = math.floor(factor * self.total_scale * SCALE_STEPS + 1e-9)
        for number in range(steps, max(0, steps - _MOST_STEPS_DOWN), -1):
            yield number / SCALE_STEPS / self.total_scale

    def _scale(self) -> WayOut | None:
        """The greatest scale that fits anywhere, with the best place for it."""
        largest = self.cup_fit.largest_scale
        if largest is None:
            return None
        for factor in self._steps_down(largest):
            self._check()
            artwork = self.resize(factor)
            fit = fit_artwork(artwork, [self.cup], self.fit.setup_tolerance_mm, self.limits)
            best = fit.cups[0].best.settable.placement
            placed = self._placed(artwork, self.cup, best)
            if placed.verdict is Verdict.FITS:
                return WayOut(WayKind.SCALE, self.cup, best, placed, factor)
        return None

    def _scale_here(self) -> WayOut | None:
        """The greatest scale about the cup's center, which stays where it is."""
        low, high = 0.0, 1.0
        if not self._fits_here(1e-3):
            return None
        for _ in range(22):
            self._check()
            middle = (low + high) / 2
            low, high = (middle, high) if self._fits_here(middle) else (low, middle)
        for factor in self._steps_down(low):
            artwork = self.resize(factor)
            center = (
                self.placement.center_mm[0] * factor,
                self.placement.center_mm[1] * factor,
            )
            at = settled(artwork, Placement(center, self.placement.turn_deg), self.limits)
            placed = self._placed(artwork, self.cup, at)
            if placed.verdict is Verdict.FITS:
                return WayOut(WayKind.SCALE_HERE, self.cup, at, placed, factor)
        return None

    def _fits_here(self, factor: float) -> bool:
        problem = self.ink.together(self.problem.area, factor)
        x, y = self.ink.shift_of(self.placement.center_mm, self.placement.turn_deg)
        turn_rad = math.radians(self.placement.turn_deg)
        return clearance_at(problem, turn_rad, (x * factor, y * factor))[0] >= 0

    def _larger_cup(self) -> WayOut | None:
        """The next cup that fits: where this one is, or else at its own best place."""
        cups = list(self.fit.cups)
        after = cups.index(self.cup_fit) + 1
        roomier = [c for c in cups[after:] + cups[:after] if c.verdict is Verdict.FITS]
        roomier = [c for c in roomier if c is not self.cup_fit]
        if self.cup_fit.verdict is Verdict.FITS:
            # It fits tightly already: another tight fit would be no way out.
            roomier = [c for c in roomier if not c.tight]
        for other in roomier:
            for placement in (self.placement, other.best.settable.placement):
                placed = self._placed(self.artwork, other.cup, placement)
                if placed.verdict is Verdict.FITS:
                    return WayOut(WayKind.CUP, other.cup, placement, placed)
        return None

    def _move_in(self) -> WayOut | None:
        """The ink to draw further in, at the place where the most of it is least."""
        best = self.cup_fit.best.settable.placement
        moves, changed = moves_in(self.ink, self.problem.area, best)
        if not moves or changed is None:
            return None
        placed = self._placed(changed, self.cup, best)
        if placed.verdict is not Verdict.FITS:
            return None
        return WayOut(WayKind.MOVE_IN, self.cup, best, placed, 1.0, moves)
