"""What the window is about, as one immutable value, and its history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from viewer.artwork.model import Artwork, Outline, Points
from viewer.fit import CupFit, Fit, PlacedFit, Placement, Verdict, fit_artwork, place
from viewer.fit.readings import readings_of
from viewer.geometry import hull_excess, smallest_enclosing_circle
from viewer.geometry.types import Bounds
from viewer.press.cups import Cup

MIN_SCALE = 0.01
MAX_SCALE = 100.0
STEPS_PER_MM = 100


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
    """A measured file, the cup chosen and the placement tried.

    ``loaded`` is the artwork as the file was read; ``artwork`` the same times
    ``scale``. The placement's center is a page point of ``artwork``.
    """

    loaded: Artwork
    scale: float
    artwork: Artwork
    fit: Fit
    cup_index: int
    placement: Placement
    others: tuple[Other, ...] = ()

    @property
    def cup_fit(self) -> CupFit:
        """What was found for the chosen cup."""
        return self.fit.cups[self.cup_index]

    @property
    def cup(self) -> Cup:
        """The chosen cup."""
        return self.cup_fit.cup

    @property
    def datum_mm(self) -> tuple[float, float]:
        """The ink's middle: the center of its width and height, on a settable step."""
        return settable(middle_of(self.fit.ink_bounds))

    @property
    def offset_mm(self) -> tuple[float, float]:
        """The cup's center from the datum: (right positive, back positive)."""
        datum, center = self.datum_mm, self.placement.center_mm
        return center[0] - datum[0], datum[1] - center[1]

    def placed(self) -> tuple[PlacedFit, ...]:
        """The clearance of every cup at the present placement."""
        return tuple(
            not_surer_than(
                place(self.artwork, c.cup, self.placement, self.fit.setup_tolerance_mm), c
            )
            for c in self.fit.cups
        )


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


def middle_of(bounds: Bounds) -> tuple[float, float]:
    """Center of a box."""
    return (bounds.x0 + bounds.x1) / 2, (bounds.y0 + bounds.y1) / 2


def settable(point_mm: tuple[float, float]) -> tuple[float, float]:
    """The nearest point that can be set: steps of 0.01 mm.

    What is judged is then what the window shows, and not a hair beside it.
    """
    x, y = (round(v * STEPS_PER_MM) / STEPS_PER_MM for v in point_mm)
    return x, y


def start_session(artwork: Artwork, cups: Sequence[Cup], setup_tolerance_mm: float) -> Session:
    """The first session of a file: the cup where its clearance is best.

    The cup chosen is the smallest that fits, or else the largest. What the window says
    first is then what the table says, and every drag shows what it costs.
    """
    fit = fit_artwork(artwork, cups, setup_tolerance_mm)
    index = len(fit.cups) - 1
    for number, cup_fit in enumerate(fit.cups):
        if fit.smallest_cup is not None and cup_fit.cup == fit.smallest_cup:
            index = number
    best = fit.cups[index].best
    placement = Placement(best.center_mm, wrapped_deg(best.turn_deg))
    return Session(artwork, 1.0, artwork, fit, index, placement, others_of(artwork))


def with_cup(session: Session, index: int) -> Session:
    """Choose a cup; an index out of range changes nothing."""
    if not 0 <= index < len(session.fit.cups):
        return session
    return replace(session, cup_index=index)


def with_center(session: Session, center_mm: tuple[float, float]) -> Session:
    """Put the cup's center on the settable point nearest to a page point."""
    turn = session.placement.turn_deg
    return replace(session, placement=Placement(settable(center_mm), turn))


def with_offset(session: Session, right_mm: float, back_mm: float) -> Session:
    """Put the cup's center at a distance from the datum."""
    datum = session.datum_mm
    return with_center(session, (datum[0] + right_mm, datum[1] - back_mm))


def moved(session: Session, right_mm: float, back_mm: float) -> Session:
    """Move the cup from where it is."""
    x, y = session.placement.center_mm
    return with_center(session, (x + right_mm, y - back_mm))


def with_turn(session: Session, turn_deg: float) -> Session:
    """Set how far the artwork is turned counter-clockwise, any number of degrees."""
    center = session.placement.center_mm
    return replace(session, placement=Placement(center, wrapped_deg(turn_deg)))


def overlay_turned(session: Session, by_deg: float) -> Session:
    """Turn the cup counter-clockwise; the artwork's turn changes by the opposite."""
    return with_turn(session, session.placement.turn_deg - by_deg)


def wrapped_deg(angle_deg: float) -> float:
    """The same direction in (-180, 180]."""
    wrapped = -((-angle_deg + 180.0) % 360.0 - 180.0)
    return wrapped if wrapped != 0 else 0.0


def at_best(session: Session) -> Session:
    """Put the cup where its clearance is greatest."""
    best = session.cup_fit.best
    return replace(session, placement=Placement(best.center_mm, wrapped_deg(best.turn_deg)))


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
    fit = fit_artwork(artwork, cups, session.fit.setup_tolerance_mm)
    right, back = session.offset_mm
    scaled = replace(session, scale=factor, artwork=artwork, fit=fit, others=others_of(artwork))
    return with_offset(scaled, right, back)


def read_again(before: Session, fresh: Session) -> Session:
    """The session of a file read anew, with cup, placement and scale as they were.

    The same point of the page stays under the cup's center, also where the page
    has another size now.
    """
    scaled = with_cup(with_scale(fresh, before.scale), before.cup_index)
    x, y = before.placement.center_mm
    old, new = before.artwork.page_mm, scaled.artwork.page_mm
    placed = with_center(scaled, (x * new[0] / old[0], y * new[1] / old[1]))
    return with_turn(placed, before.placement.turn_deg)


def reset(session: Session) -> Session:
    """Back to how the file was opened; the cup chosen stays."""
    session = with_scale(session, 1.0)
    return with_turn(at_datum(session), 0.0)


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
    )


def _scaled_outline(outline: Outline, factor: float) -> Outline:
    # Shrinking is not trusted to lessen the uncertainty, just as in the fit.
    return Outline(outline.hull_mm * factor, outline.uncertainty_mm * max(1.0, factor))


class History:
    """Sessions that can be gone back to. One step of a drag counts once."""

    def __init__(self, limit: int = 200) -> None:
        self._past: list[Session] = []
        self._future: list[Session] = []
        self._limit = limit

    @property
    def sessions(self) -> tuple[Session, ...]:
        """All that can be gone back or forward to."""
        return (*self._past, *self._future)

    def limit_files(self, most: int) -> None:
        """Forget the oldest steps until they need no more than so many readings."""
        while len({id(session.loaded) for session in self._past}) > most:
            del self._past[0]

    @property
    def can_undo(self) -> bool:
        """Whether there is something to go back to."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether something undone can be done again."""
        return bool(self._future)

    def remember(self, before: Session) -> None:
        """Call with the session as it was before a change."""
        self._past.append(before)
        del self._past[: -self._limit]
        self._future.clear()

    def undo(self, now: Session) -> Session:
        """The session before the last change; ``now`` where there is none."""
        if not self._past:
            return now
        self._future.append(now)
        return self._past.pop()

    def redo(self, now: Session) -> Session:
        """The session that was undone last; ``now`` where there is none."""
        if not self._future:
            return now
        self._past.append(now)
        return self._future.pop()

    def clear(self) -> None:
        """Forget everything, as when another file is opened."""
        self._past.clear()
        self._future.clear()
