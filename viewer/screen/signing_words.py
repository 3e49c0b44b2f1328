"""What a sign-off says: facts about what is signed, what the record knows, what comes next."""

from __future__ import annotations

import os

from viewer.fit import PlacedFit, Verdict
from viewer.report.placement_words import shift_words
from viewer.screen.model import Session
from viewer.screen.signing_entry import wanted_of
from viewer.screen.signing_shown import SHEET, SigningShown
from viewer.screen.wording import (
    clearance,
    cup_limit_words,
    datum_words,
    short_cause,
    up,
    verdict_word,
)
from viewer.signoff import Decision, Row, Stage, Verification, row_summary, standing_of
from viewer.signoff.words import DECISION_WORDS, STAGE_WORDS, when_words

WORKING = "being worked out"
READING = "looking into the approval record \u2026"
RECORDING_NOW = "recording \u2026"
NOTHING_YET = "nothing is recorded yet for this content"
ARTWORK = "artwork"
"""The label of the line that says how it is shifted."""
LABELS = {"signing-name": "name", "signing-note": "note", "signing-reason": "reason"}
KEYS = "Tab goes on \u00b7 Enter presses \u00b7 Esc leaves"
REASON_NOTE = "why it is approved: printed on every copy"
STAGE_LABELS = {"plate": "before the plate", "press": "at the press"}
TITLE = "Sign-off"
NEXT_AT_PRESS = "next: a trial print. The ring is sharp, magnets are strong; guards stay on."
SHA_LENGTH = 12


def headword(shown: SigningShown) -> tuple[str, str]:
    """(verdict whose sign and colors are used, the word)."""
    if not shown.session.is_fit_current:
        return "too-close", WORKING
    return str(shown.placed.verdict), verdict_word(shown.placed)


def clearance_words(shown: SigningShown) -> str:
    """The clearance, or that it is not known yet."""
    if not shown.session.is_fit_current:
        return "\u2026"
    return f"{clearance(shown.placed.clearance_mm)} mm"


def button_labels(shown: SigningShown) -> dict[str, str]:
    """What the buttons say, in order."""
    if shown.done:
        return {"leave": "Back to the bench", SHEET: "Write the fit sheet"}
    return {
        "approve": "Approve" if shown.fits else "Approve anyway",
        "reject": "Reject",
        "leave": "Leave",
    }


def facts(session: Session, is_short: bool) -> list[tuple[str, str]]:
    """Label and value of what is signed. ``is_short``: only what must not be missing."""
    circle = up(2 * session.fit.smallest_circle.radius, 2)
    right, back = session.offset_mm
    rows = {
        "file": os.path.basename(session.loaded.path),
        "SHA-256": f"{session.loaded.sha256[:SHA_LENGTH]}\u2026",
        "ink": f"{up(session.fit.width_mm, 2)} \u00d7 {up(session.fit.height_mm, 2)} mm",
        "circle": f"\u00d8 {circle} mm round the ink",
        "scale": f"{100 * session.scale:.6g} % of the file as read",
        "cup": f"{session.cup.name}, {cup_limit_words(session.cup)} mm",
        "datum": datum_words(session),
        "cup left\u2013right": _side(right, "right", "left"),
        "cup front\u2013back": _side(back, "back", "front"),
        "angle": _turned(session.placement.turn_deg),
        ARTWORK: _shifted(session),
    }
    left_out = {"scale"} if session.scale == 1.0 else set()
    if is_short:
        left_out |= {"circle", "datum", ARTWORK}
    return [(label, value) for label, value in rows.items() if label not in left_out]


def _side(value_mm: float, positive: str, negative: str) -> str:
    """A distance with its side in words: somebody may set what is read here."""
    amount = f"{abs(value_mm):.2f}"
    side = positive if value_mm > 0 else negative
    return f"{amount} mm {side}" if float(amount) else f"{amount} mm"


def _turned(turn_deg: float) -> str:
    amount = f"{abs(turn_deg):.1f}"
    if not float(amount):
        return "not turned"
    return f"{amount}\u00b0 {'counter-clockwise' if turn_deg > 0 else 'clockwise'}"


def _shifted(session: Session) -> str:
    """What the operator does, as on the sheet: the artwork goes, where the cup stays."""
    words = shift_words(session.datum_mm, session.placement)
    return f"shift it {words}" if words else "do not shift it"


def doubts(session: Session, placed: PlacedFit, most: int) -> list[str]:
    """What stands against "fits", then other warnings, in few words; at most ``most`` lines."""
    found = []
    if not placed.is_allowed:
        found.append("the press does not allow this angle or shift")
    if placed.verdict is Verdict.TOO_CLOSE:
        found += [short_cause(session, cause) for cause in placed.causes]
    ordered = sorted(session.fit.warnings, key=lambda warning: not warning.blocks_fits)
    found += [short_cause(session, warning.message) for warning in ordered]
    lines = list(dict.fromkeys(found))
    if len(lines) > most:
        more = len(lines) - most + 1
        lines = [*lines[: most - 1], f"and {more} more: the bench tells them"]
    return lines


def known_words(session: Session, found: Verification) -> tuple[str, ...]:
    """What the record says about this content, and about exactly this."""
    sha256, name = session.loaded.sha256, os.path.basename(session.loaded.path)
    standing = standing_of(found.sound, sha256, name, wanted_of(session))
    about = [row for row in found.sound if row.entry.sha256 == sha256]
    if not about and standing.row is None:
        return (NOTHING_YET,)
    told = [standing.message]
    if about and standing.row is not None and about[-1].number != standing.row.number:
        told.append(f"last: {row_summary(about[-1])}")
    return tuple(told)


def trouble_words(path: str, found: Verification) -> str:
    """Why the record takes no rows; empty where it does."""
    return "" if found.read_only is None else f"{path}: {found.read_only}"


def done_words(row: Row, path: str) -> tuple[str, ...]:
    """What was recorded, where, and what comes next."""
    entry = row.entry
    approves = entry.decision is Decision.APPROVE
    decided = f"{DECISION_WORDS[entry.decision]} {STAGE_WORDS[entry.stage]}"
    return (
        f"{decided[:1].upper()}{decided[1:]}",
        f"by {entry.by}, {when_words(row)}",
        f"row {row.number}, seal {row.seal}",
        f"kept in {path}",
        *(("the reason is printed on every copy of the fit sheet",) if entry.reason else ()),
        _next_step(approves, entry.stage),
    )


def _next_step(approves: bool, stage: Stage) -> str:
    if not approves:
        return "next: change the artwork or how it is set, and sign off anew"
    if stage is Stage.PLATE:
        return "next: the plate; then sign off again at the press"
    return NEXT_AT_PRESS
