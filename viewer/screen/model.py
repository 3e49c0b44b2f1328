"""What the window is about, as one immutable value, and its history."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from viewer.artwork.leaving import scaled_left_out
from viewer.artwork.model import Artwork, Outline, Points
from viewer.errors import UsageError
from viewer.fit import (
    CupFit,
    Fit,
    PlacedFit,
    Placement,
    Verdict,
    datum_point,
    fit_artwork,
    is_turn_allowed,
    place,
    settled,
    wrapped_deg,
)
from viewer.fit.problems import check_areas
from viewer.fit.readings import readings_of
from viewer.geometry import hull_excess, smallest_enclosing_circle
from viewer.press.cups import Cup
from viewer.press.limits import PressLimits
from viewer.press.press import Press

MIN_SCALE = 0.01
MAX_SCALE = 100.0
FARTHEST_MM = 20_000.0
"""No press is larger; a larger number is a slip of the hand."""
TYPED_SLACK_MM = 0.0075
"""A typed distance may be rounded to what can be set, not moved by more than that."""
NOT_ALLOWED = "the press does not allow this placement"


@dataclass(frozen=True, eq=False)
class Other:
    """Another reading of the file, as it is drawn. ``label_at``: the vertex to name it at.

    ``ratio``: its page scale relative to the main reading.
    """

    code: str
    label: str
    hull_mm: Points
    ratio: float
    diameter_mm: float
    label_at: int


@dataclass(frozen=True)
class Session:
    """A measured file, the press, the cup chosen and the placement tried.

    ``loaded`` is the artwork as the file was read; ``artwork`` the same times
    ``scale``. The placement's center is a page point of ``artwork``. ``limits`` holds
    what limits the image now; ``press`` what there is to choose from.

    ``fit`` is that of other limits or another scale until a thread has worked out the
    new one; then only its sizes of the ink and its list of cups may be used.
    """

    loaded: Artwork
    scale: float
    artwork: Artwork
    fit: Fit
    cup_index: int
    placement: Placement
    others: tuple[Other, ...]
    press: Press
    limits: PressLimits

    @property
    def is_fit_current(self) -> bool:
        """Whether ``fit`` holds for the artwork and limits as they are."""
        return self.fit.artwork is self.artwork and self.fit.limits == self.limits

    @property
    def cup_fit(self) -> CupFit:
        """What was found for the chosen cup."""
        return self.fit.cups[self.cup_index]

    @property
    def cup(self) -> Cup:
        """The chosen cup."""
        return self.cup_fit.cup

    @cached_property
    def datum_mm(self) -> tuple[float, float]:
        """The page point that distances are counted from."""
        return datum_point(self.artwork, self.limits)

    @property
    def offset_mm(self) -> tuple[float, float]:
        """The cup's center from the datum as the press has it: (right, back positive)."""
        datum, center = self.datum_mm, self.placement.center_mm
        right, front = to_press(self.placement.turn_deg, center[0] - datum[0], center[1] - datum[1])
        return right + 0.0, -front + 0.0

    def placed(self) -> tuple[PlacedFit, ...]:
        """The clearance of every cup at the present placement."""
        return self._all_placed

    @cached_property
    def _all_placed(self) -> tuple[PlacedFit, ...]:
        return tuple(self._placed(cup_fit) for cup_fit in self.fit.cups)

    def _placed(self, cup_fit: CupFit) -> PlacedFit:
        tolerance_mm = self.press.setup_tolerance_mm
        placed = place(self.artwork, cup_fit.cup, self.placement, tolerance_mm, self.limits)
        if not placed.is_allowed and placed.verdict is Verdict.FITS:
            return replace(placed, verdict=Verdict.TOO_CLOSE, tight=False, causes=(NOT_ALLOWED,))
        return not_surer_than(placed, cup_fit) if self.is_fit_current else placed


def not_surer_than(placed: PlacedFit, cup_fit: CupFit) -> PlacedFit:
    """What is shown while dragging never says "fits" where the file's own fit does not.

    The two are judged apart; should they differ in a last digit, the careful one counts.
    """
    if placed.verdict is not Verdict.FITS or cup_fit.verdict is Verdict.FITS:
        return placed
    return replace(placed, verdict=Verdict.TOO_CLOSE, tight=False, causes=cup_fit.causes)


def others_of(artwork: Artwork) -> tuple[Other, ...]:
    """The other readings that have ink, as they are drawn."""
    found = []
    main = artwork.outline.hull_mm
    for reading in readings_of(artwork)[1:]:
        hull = reading.outline.hull_mm
        found.append(
            Other(
                reading.code or "",
                reading.label,
                hull,
                reading.ratio,
                2 * smallest_enclosing_circle(hull).radius,
                _most_different(main, hull),
            )
        )
    return tuple(found)


def _most_different(main: Points, hull: Points) -> int:
    """The vertex of an outline where it differs most from the main one."""
    beyond, point = hull_excess(hull, main)
    if beyond <= 0:
        _, point = hull_excess(main, hull)
    return int(np.argmin(np.hypot(*(hull - np.array(point)).T)))


def to_press(turn_deg: float, x_mm: float, y_mm: float) -> tuple[float, float]:
    """A page vector in the press frame, for artwork turned counter-clockwise by so much."""
    angle = math.radians(turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    return c * x_mm + s * y_mm, c * y_mm - s * x_mm


def to_page(turn_deg: float, x_mm: float, y_mm: float) -> tuple[float, float]:
    """A vector of the press frame on the page: the opposite of ``to_press``."""
    return to_press(-turn_deg, x_mm, y_mm)


def start_session(
    artwork: Artwork, press: Press, cancelled: Callable[[], bool] | None = None
) -> Session:
    """The first session of a file: the cup where its clearance is best.

    The cup chosen is the smallest that fits, or else the largest. What the window says
    first is then what the table says, and every drag shows what it costs. Raises
    UsageError for limits that leave no place, Cancelled.
    """
    limits = press.limits
    tolerance_mm = press.setup_tolerance_mm
    fit = fit_artwork(artwork, press.cups, tolerance_mm, limits, cancelled=cancelled)
    index = len(fit.cups) - 1
    for number, cup_fit in enumerate(fit.cups):
        if fit.smallest_cup is not None and cup_fit.cup == fit.smallest_cup:
            index = number
    placement = best_placement(fit.cups[index])
    return Session(artwork, 1.0, artwork, fit, index, placement, others_of(artwork), press, limits)


def best_placement(cup_fit: CupFit) -> Placement:
    """The best placement that can be set."""
    best = cup_fit.best.settable
    return Placement(best.center_mm, wrapped_deg(best.turn_deg))


def with_cup(session: Session, index: int) -> Session:
    """Choose a cup; an index out of range changes nothing."""
    if not 0 <= index < len(session.fit.cups):
        return session
    return replace(session, cup_index=index)


def with_placement(session: Session, center_mm: tuple[float, float], turn_deg: float) -> Session:
    """Put the cup as near to a page point and a turn as the press allows."""
    wanted = Placement(center_mm, wrapped_deg(turn_deg))
    return replace(session, placement=settled(session.artwork, wanted, session.limits))


def replaced(session: Session, placement: Placement) -> Session:
    """The session with the cup at a placement that is known to be allowed."""
    return replace(session, placement=placement)


def with_center(session: Session, center_mm: tuple[float, float]) -> Session:
    """Put the cup's center as near to a page point as the hold allows."""
    return with_placement(session, center_mm, session.placement.turn_deg)


def with_offset(session: Session, right_mm: float, back_mm: float) -> Session:
    """Put the cup's center at a distance from the datum, as far as the hold allows."""
    datum = session.datum_mm
    dx, dy = to_page(session.placement.turn_deg, right_mm, -back_mm)
    return with_center(session, (datum[0] + dx, datum[1] + dy))


def at_offset(session: Session, right_mm: float, back_mm: float) -> Session:
    """As ``with_offset``, but raises UsageError where the hold does not allow it.

    Nothing farther than ``FARTHEST_MM`` from the datum is taken for a position.
    """
    for what, value_mm in (("left\u2013right", right_mm), ("front\u2013back", back_mm)):
        if not abs(value_mm) <= FARTHEST_MM:
            raise UsageError(f"cup {what} must be within \u00b1{FARTHEST_MM:g} mm of the datum")
    moved_there = with_offset(session, right_mm, back_mm)
    placement = moved_there.placement
    if session.limits.hold.is_free and placement.turn_deg != 0:
        # A page step is askew to the press here: the numbers typed count, as they are.
        datum = session.datum_mm
        dx, dy = to_page(placement.turn_deg, right_mm, -back_mm)
        center = (round(datum[0] + dx, 9), round(datum[1] + dy, 9))
        return replace(session, placement=Placement(center, placement.turn_deg))
    found = moved_there.offset_mm
    if math.dist(found, (right_mm, back_mm)) <= TYPED_SLACK_MM:
        return moved_there
    across_mm, along_mm = session.limits.hold.reach_mm
    sides = (("left\u2013right", right_mm, across_mm), ("front\u2013back", back_mm, along_mm))
    for what, value_mm, reach_mm in sides:
        if abs(value_mm) > reach_mm + TYPED_SLACK_MM:
            if reach_mm == 0:
                raise UsageError(f"cup {what} is held at the datum; only 0 can be set")
            raise UsageError(f"cup {what} is held within \u00b1{reach_mm:g} mm of the datum")
    raise UsageError(f"the hold ({session.limits.hold}) does not allow this")


def moved(session: Session, right_mm: float, up_mm: float) -> Session:
    """Move the cup over the page from where it is, as far as the hold allows."""
    x, y = session.placement.center_mm
    return with_center(session, (x + right_mm, y - up_mm))


def nudged(session: Session, right_mm: float, up_mm: float) -> Session:
    """Move the cup by a step, seen on the page.

    Where the hold leaves one direction only, the whole step goes along it, provided that
    it runs more with the step than against it.
    """
    across_mm, along_mm = session.limits.hold.reach_mm
    if (across_mm > 0) == (along_mm > 0):
        return moved(session, right_mm, up_mm)
    way = (1.0, 0.0) if across_mm > 0 else (0.0, 1.0)
    ux, uy = to_page(session.placement.turn_deg, *way)
    along = right_mm * ux - up_mm * uy
    step = math.hypot(right_mm, up_mm)
    if abs(along) < 0.5 * step:
        return session
    step = math.copysign(step, along)
    return moved(session, step * ux, -step * uy)


def with_turn(session: Session, turn_deg: float) -> Session:
    """Turn the artwork counter-clockwise to the nearest angle that the press allows."""
    return with_placement(session, session.placement.center_mm, turn_deg)


def at_turn(session: Session, turn_deg: float) -> Session:
    """As ``with_turn``, but raises UsageError where the press does not allow the angle."""
    angles = session.limits.angles
    if not is_turn_allowed(wrapped_deg(turn_deg), angles):
        said = {
            "none": "the press allows no turning; only 0 can be set",
            "within": f"the press turns within \u00b1{angles.value_deg:g}\u00b0",
            "step": f"the press turns in steps of {angles.value_deg:g}\u00b0",
        }
        shown = f"{turn_deg:g}".replace("-", "\u2212")
        raise UsageError(said.get(angles.kind, f"the press does not turn to {shown}\u00b0"))
    return with_turn(session, turn_deg)


def overlay_turned(session: Session, by_deg: float) -> Session:
    """Turn the cup counter-clockwise; the artwork's turn changes by the opposite.

    Where the press turns in steps, by at least one of them.
    """
    angles = session.limits.angles
    if angles.kind == "step" and by_deg:
        by_deg = math.copysign(max(abs(by_deg), angles.value_deg), by_deg)
    turn_deg = session.placement.turn_deg - by_deg
    if angles.kind == "within":
        # Not wrapped first: beyond the limit is the limit, not the other end.
        turn_deg = max(-angles.value_deg, min(angles.value_deg, turn_deg))
    return with_turn(session, turn_deg)


def at_best(session: Session) -> Session:
    """Put the cup where its clearance is greatest; unchanged while that is worked out."""
    if not session.is_fit_current:
        return session
    return replace(session, placement=best_placement(session.cup_fit))


def at_datum(session: Session) -> Session:
    """Put the cup over the datum, the angle as it is."""
    return with_center(session, session.datum_mm)


def with_scale(session: Session, scale: float) -> Session:
    """Scale the artwork as loaded by a factor; the cup keeps its distance from the datum."""
    factor = max(MIN_SCALE, min(MAX_SCALE, scale))
    if factor == session.scale:
        return session
    artwork = scaled_artwork(session.loaded, factor)
    cups = [c.cup for c in session.fit.cups]
    # The sizes are wanted at once; what pad and plate mean is left to a thread.
    limits = session.limits if session.limits.is_cup_alone else PressLimits()
    fit = fit_artwork(artwork, cups, session.press.setup_tolerance_mm, limits)
    right, back = session.offset_mm
    scaled = replace(session, scale=factor, artwork=artwork, fit=fit, others=others_of(artwork))
    return with_offset(scaled, right, back)


def with_limits(session: Session, limits: PressLimits) -> Session:
    """Let the press limit the image otherwise; the cup goes to the nearest place allowed.

    Raises UsageError where the parts leave no cup any place inside of them all.
    """
    if limits == session.limits:
        return session
    changed = replace(session, limits=limits)
    placement = session.placement
    check_areas([c.cup for c in session.fit.cups], limits)
    return with_placement(changed, placement.center_mm, placement.turn_deg)


def with_fit(session: Session, fit: Fit) -> Session:
    """The same with a fit that was worked out for it meanwhile."""
    return replace(session, fit=fit)


def read_again(before: Session, fresh: Session) -> Session:
    """The session of a file read anew, with cup, placement and scale as they were.

    The same point of the page stays under the cup's center, also where the page
    has another size now.
    """
    scaled = with_cup(with_scale(fresh, before.scale), before.cup_index)
    x, y = before.placement.center_mm
    old, new = before.artwork.page_mm, scaled.artwork.page_mm
    center = (x * new[0] / old[0], y * new[1] / old[1])
    return with_placement(scaled, center, before.placement.turn_deg)


def reset(session: Session) -> Session:
    """Back to how the file was opened; the cup chosen and the limits stay."""
    session = with_scale(session, 1.0)
    return at_datum(with_turn(session, 0.0))


def scaled_artwork(artwork: Artwork, factor: float) -> Artwork:
    """The artwork as if its file had been drawn ``factor`` times as large."""
    if factor == 1.0:
        return artwork
    return replace(
        artwork,
        page_mm=(artwork.page_mm[0] * factor, artwork.page_mm[1] * factor),
        outline=_scaled_outline(artwork.outline, factor),
        ink_area_mm2=artwork.ink_area_mm2 * factor**2,
        alternatives=tuple(
            replace(reading, outline=_scaled_outline(reading.outline, factor))
            for reading in artwork.alternatives
        ),
        specks=tuple(
            replace(
                speck,
                center_mm=(speck.center_mm[0] * factor, speck.center_mm[1] * factor),
                size_mm=speck.size_mm * factor,
            )
            for speck in artwork.specks
        ),
        left_out=tuple(scaled_left_out(piece, factor) for piece in artwork.left_out),
        leave_out_scale=artwork.leave_out_scale * factor,
        mm_per_file_unit=(
            artwork.mm_per_file_unit[0] * factor,
            artwork.mm_per_file_unit[1] * factor,
        ),
    )


def _scaled_outline(outline: Outline, factor: float) -> Outline:
    # Shrinking is not trusted to lessen the uncertainty, just as in the fit.
    return Outline(outline.hull_mm * factor, outline.uncertainty_mm * max(1.0, factor))
