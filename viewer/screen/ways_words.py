"""The ways out in words, as their card says them. No drawing."""

from __future__ import annotations

from viewer.fit import PlacedFit, Verdict, WayKind, WayOut, WaysOut, WaysState, wrapped_deg
from viewer.screen import model
from viewer.screen.model import Session
from viewer.screen.theme import MINUS
from viewer.screen.tools import PieceLike, WayRow
from viewer.screen.wording import (
    clearance,
    down,
    limiting_lines,
    move_words,
    short_cause,
    signed,
    turning_line,
    up,
    verdict_word,
)

_NEAR_MM = 0.3
MOST_MOVES = 3
TIGHT = " \u00b7 tight"


def way_row(session: Session, way: WayOut, pieces: tuple[PieceLike, ...] | None) -> WayRow:
    """A way as its button says it."""
    more: tuple[str, ...] = ()
    if way.kind is WayKind.MOVE_IN:
        more = move_lines(session, way, pieces)
    placed = way.placed
    tight = TIGHT if placed.tight and not way.moves else ""
    return WayRow(
        way_words(session, way) + tight,
        more,
        clearance(placed.clearance_mm),
        str(placed.verdict),
        verdict_word(placed),
    )


def way_words(session: Session, way: WayOut) -> str:
    """What a way asks for, in one short line."""
    if way.kind is WayKind.SHIFT:
        return f"move {_moved(session, way)}"
    if way.kind is WayKind.TURN:
        return f"turn to {_angle(way)} where it is"
    if way.kind is WayKind.BEST:
        return _best_words(session, way)
    if way.kind is WayKind.SCALE_HERE:
        return f"scale to {_percent(session, way)} here"
    if way.kind is WayKind.SCALE:
        turns = abs(way.placement.turn_deg - session.placement.turn_deg) >= 0.05
        at = f", turned to {_angle(way)}" if turns else ""
        return f"scale to {_percent(session, way)} at its best place{at}"
    if way.kind is WayKind.CUP:
        stays = way.placement == session.placement
        return f"take the {way.cup.name} cup{'' if stays else ' at its best place'}"
    most = up(way.moves[0].by_mm, 2)
    count = len(way.moves)
    if count == 1:
        return f"draw 1 place further in by {most} mm"
    return f"draw {count} places further in by up to {most} mm"


def move_lines(
    session: Session, way: WayOut, pieces: tuple[PieceLike, ...] | None
) -> tuple[str, ...]:
    """Where the ink is that must move, and by how much."""
    lines = []
    for move in way.moves[:MOST_MOVES]:
        x, y = move.point_mm
        whose = piece_at(session, (x, y), pieces)
        place = f"{x:.2f}, {y:.2f}".replace("-", MINUS)
        name = f"piece {whose}, " if whose else ""
        lines.append(f"{name}at {place} of the page: {up(move.by_mm, 2)} mm")
    if len(way.moves) > MOST_MOVES:
        lines.append(f"and {len(way.moves) - MOST_MOVES} more, shown on the artwork")
    return tuple(lines)


def piece_at(
    session: Session, point_mm: tuple[float, float], pieces: tuple[PieceLike, ...] | None
) -> int:
    """The number of the piece whose outline has a vertex at a point of the scaled page."""
    best, found = _NEAR_MM, 0
    for piece in pieces or ():
        outline = piece.outline_mm
        if piece.left_out or len(outline) == 0:
            continue
        dx = outline[:, 0] * session.scale - point_mm[0]
        dy = outline[:, 1] * session.scale - point_mm[1]
        near = float((dx * dx + dy * dy).min()) ** 0.5
        if near < best:
            best, found = near, piece.number
    return found


def notes_here(session: Session, ways: WaysOut, placed: PlacedFit) -> tuple[str, ...]:
    """What stands under the ways and holds for the present placement only."""
    lines: list[str] = []
    if ways.state is WaysState.BLOCKED:
        lines += [f"cannot be sure: {short_cause(session, cause)}" for cause in ways.blocks]
        lines.append("settle this first: until then no change makes it sure")
    elif ways.state is WaysState.CANNOT:
        lines.append("cannot: no move, turn, scale or cup of these makes it fit")
    elif not ways.ways:
        best = session.cup_fit.best.settable
        lines.append(f"it is at its best: {clearance(best.clearance_mm)}\u00a0mm")
    if ways.state is not WaysState.BLOCKED:
        lines += [f"cannot be sure: {short_cause(session, c)}" for c in placed.causes]
    return tuple(lines)


def notes_anywhere(session: Session, ways: WaysOut) -> tuple[str, ...]:
    """What stands under the ways and holds for the cup wherever it is."""
    return (*limiting_lines(session), turning_line(session), *_scale_and_cup(session, ways))


def _scale_and_cup(session: Session, ways: WaysOut) -> list[str]:
    """What no way says: how large it may get, and that no cup of the list takes it."""
    told = {way.kind for way in ways.ways}
    cup_fit = session.cup_fit
    lines = []
    if cup_fit.largest_scale is not None and WayKind.SCALE not in told:
        percent = down(100 * cup_fit.largest_scale * session.scale, 1)
        words = f"largest scale that fits: {percent}\u00a0%"
        unturned = cup_fit.largest_scale_unturned
        if cup_fit.turn_helps and unturned is not None and unturned < cup_fit.largest_scale:
            words += f", unturned {down(100 * unturned * session.scale, 1)}\u00a0%"
        lines.append(words)
    if cup_fit.verdict is not Verdict.FITS and session.fit.smallest_cup is None:
        lines.append("as it is, none of these cups takes it")
    return lines


def _moved(session: Session, way: WayOut) -> str:
    there = model.replaced(session, way.placement)
    right, back = there.offset_mm
    now_right, now_back = session.offset_mm
    return move_words(right - now_right, now_back - back) or "by less than 0.01"


def _best_words(session: Session, way: WayOut) -> str:
    there = model.replaced(session, way.placement)
    right, back = there.offset_mm
    if abs(wrapped_deg(way.placement.turn_deg - session.placement.turn_deg)) >= 0.05:
        where = move_words(right, -back) or "the datum"
        return f"best: turn to {_angle(way)}, cup to {where}"
    return f"best: move {_moved(session, way)}"


def _angle(way: WayOut) -> str:
    return f"{signed(way.placement.turn_deg, 1)}\u00b0"


def _percent(session: Session, way: WayOut) -> str:
    return f"{down(100 * session.scale * way.factor, 1)} %"
