"""The answer to numbers alone, as values: the shell prints it, a card in the window shows it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from viewer.press import Cup, Press, PressLimits, sort_cups
from viewer.sizing.bounds import CircleRange, circle_range
from viewer.sizing.cup_limits import (
    greatest_height,
    greatest_width,
    largest_diagonal,
    largest_square,
    max_image_mm,
    ring_inner_mm,
    sure_scale,
)
from viewer.sizing.grades import Grade, ask, grade
from viewer.sizing.press_room import PressRoom, Room, press_rooms
from viewer.sizing.roots import Root, decimal_up
from viewer.sizing.shapes import SizeQuery
from viewer.sizing.sums import Worked, worked_sums

PART_WORDS = {"cup": "the cup", "pad": "the pad", "etch": "the etch area"}


@dataclass(frozen=True)
class CupAnswer:
    """What holds for one cup. Lengths in mm, exact.

    ``grade`` counts pad, etch area and hold in where they were judged (``room``).
    ``ask``: what to ask for next, empty where nothing is left; ``why``: a few words on the
    grade. ``spare_mm``: the least room on each side, negative where it may be missing.
    ``greatest_width``, ``greatest_height``: at the other side as given; None where that
    alone is too much, or is not known.
    """

    cup: Cup
    max_image_mm: Fraction
    ring_inner_mm: Fraction
    grade: Grade
    tight: bool
    ask: str
    why: str
    spare_mm: Fraction
    greatest_width: Root | None
    greatest_height: Root | None
    largest_square: Root
    largest_diagonal: Root
    sure_scale: Fraction
    room: PressRoom | None = None

    @property
    def clearance_mm(self) -> float:
        """The least room on each side, with pad, etch area and hold where they were judged."""
        if self.room is None:
            return float(self.spare_mm)
        return min(float(self.spare_mm), self.room.clearance_mm)


@dataclass(frozen=True)
class SizeAnswer:
    """The whole answer. ``circle``: the smallest circle that the numbers allow, and the largest.

    ``smallest_cup`` is the smallest that surely fits, None for none. ``limits_note`` says
    what of the press was judged besides the cups, or was not; empty where nothing was asked.
    """

    query: SizeQuery
    circle: CircleRange
    cups: tuple[CupAnswer, ...]
    smallest_cup: Cup | None
    sums: tuple[Worked, ...]
    limits: PressLimits
    limits_note: str


def answer_size(
    query: SizeQuery, press: Press, cancelled: Callable[[], bool] | None = None
) -> SizeAnswer:
    """Judge numbers against every cup of a press, and against what else limits the image.

    ``cancelled`` is asked now and then; where it says so, Cancelled is raised.
    """
    circle = circle_range(query)
    cups = sort_cups(press.cups)
    rooms = None
    if not press.limits.is_cup_alone:
        wanted = [c for c in cups if _may_fit(grade(circle, max_image_mm(c)))]
        rooms = press_rooms(query, wanted, press.limits, cancelled)
    found = tuple(_cup_answer(query, circle, cup, press, rooms) for cup in cups)
    return SizeAnswer(
        query=query,
        circle=circle,
        cups=found,
        smallest_cup=next((c.cup for c in found if c.grade is Grade.FITS), None),
        sums=worked_sums(query, cups),
        limits=press.limits,
        limits_note=_limits_note(query, press.limits),
    )


def _may_fit(found: Grade) -> bool:
    return found in (Grade.FITS, Grade.TOO_CLOSE)


def _cup_answer(
    query: SizeQuery,
    circle: CircleRange,
    cup: Cup,
    press: Press,
    rooms: dict[Cup, PressRoom] | None,
) -> CupAnswer:
    limit = max_image_mm(cup)
    inner = ring_inner_mm(cup)
    alone = grade(circle, limit)
    room = None if rooms is None else rooms.get(cup)
    found, question, why = alone, ask(alone, query, limit), _why(circle, alone, limit, inner)
    if not press.limits.is_cup_alone and _may_fit(alone):
        found, question, why = _with_press(query, alone, room, question, why)
    elif not press.limits.is_cup_alone and question:
        # What it says of fitting is true of the cup, which is not all that limits the image.
        question += f"; that is the cup alone: for {_limit_names(press.limits)} ask for the file"
    answer = CupAnswer(
        cup=cup,
        max_image_mm=limit,
        ring_inner_mm=inner,
        grade=found,
        tight=False,
        ask=question,
        why=why,
        spare_mm=(limit - circle.high.up()) / 2,
        greatest_width=greatest_width(query, limit) if query.has_sides else None,
        greatest_height=greatest_height(query, limit) if query.has_sides else None,
        largest_square=largest_square(limit),
        largest_diagonal=largest_diagonal(limit),
        sure_scale=sure_scale(query, limit),
        room=room,
    )
    is_tight = found is Grade.FITS and answer.clearance_mm < press.setup_tolerance_mm
    return replace(answer, tight=is_tight)


def _why(circle: CircleRange, found: Grade, limit: Fraction, inner: Fraction) -> str:
    if found is not Grade.CANNOT:
        return ""
    needs = f"needs at least {decimal_up(circle.low.up())} mm"
    if circle.high.is_at_most(inner):
        return f"{needs}; inside the ring, but not clear of the margin"
    return needs


def _with_press(
    query: SizeQuery, alone: Grade, room: PressRoom | None, question: str, why: str
) -> tuple[Grade, str, str]:
    """The cup's own grade together with what the rest of the press says.

    "fits" only where the press surely leaves room; "cannot" only for the artwork's own
    outline.
    """
    if room is None:
        return Grade.DEPENDS, "ask for the file: the hold of the press decides as well", why
    if room.room is Room.ENOUGH:
        return alone, question, why
    parts = " and ".join(PART_WORDS[part] for part in room.parts if part in PART_WORDS)
    if room.room is Room.NONE:
        return Grade.CANNOT, "", f"no shift and angle clears {parts or 'the press'}"
    if room.is_exact:
        more = "ask for width and height more exactly: "
        return Grade.TOO_CLOSE, question or f"{more}so near to {parts or 'the press'}", why
    return Grade.DEPENDS, f"ask for the file: {parts or 'the press'} may decide", why


def _limit_names(limits: PressLimits) -> str:
    """What limits the image besides the cup."""
    asked = [
        name
        for name, is_there in (
            ("pad", limits.pad is not None),
            ("etch area", limits.etch is not None),
            ("hold", not limits.hold.is_free),
        )
        if is_there
    ]
    return asked[0] if len(asked) == 1 else f"{', '.join(asked[:-1])} and {asked[-1]}"


def _limits_note(query: SizeQuery, limits: PressLimits) -> str:
    if limits.is_cup_alone:
        return ""
    names = _limit_names(limits)
    if not query.has_sides and not limits.hold.is_free:
        return f"only the cup is judged, not {names}: for those the file is needed"
    counted = "" if limits.hold.is_free else ", shifts counted from the middle of the image"
    if query.shape.kind == "rectangle":
        return f"{names} judged for the whole rectangle, at its best shift and angle{counted}"
    return (
        f"{names} judged for an outline that surely holds the image{counted};"
        " where that does not fit, only the file can tell"
    )
