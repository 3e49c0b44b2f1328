"""The entry that a sign-off puts into the approval record, made from what is shown."""

from __future__ import annotations

import os
from dataclasses import replace

from viewer.errors import UsageError
from viewer.fit import Verdict
from viewer.screen.model import Session
from viewer.screen.signing_shown import NAME, NOTE, REASON, Refusal
from viewer.signoff import Decision, Entry, Stage, Wanted, scaled_load, settings_of, settings_text

WAITING = "the fit is still being worked out; wait a moment"
NO_NAME = "type the name of who decides"
NO_REASON = "it does not surely fit: say why it is approved all the same"
NO_REASON_TO_REJECT = "a rejection takes no reason: say why in the note, and empty this"

_FIELDS = (
    ("the name of who", NAME),
    ("the note", NOTE),
    ("the reason", REASON),
    ("a reason", REASON),
    ("a rejection", REASON),
)


def refusal_of(session: Session, decision: Decision, texts: dict[str, str]) -> Refusal | None:
    """What keeps a decision from being recorded, as far as the window can tell."""
    if not session.is_fit_current:
        return Refusal(WAITING)
    if not texts.get(NAME, "").strip():
        return Refusal(NO_NAME, NAME)
    if session.placed()[session.cup_index].verdict is Verdict.FITS:
        return None
    has_reason = bool(texts.get(REASON, "").strip())
    if decision is Decision.APPROVE and not has_reason:
        return Refusal(NO_REASON, REASON)
    if decision is Decision.REJECT and has_reason:
        return Refusal(NO_REASON_TO_REJECT, REASON)
    return None


def entry_of(
    session: Session, decision: Decision, stage: Stage, texts: dict[str, str]
) -> Entry | Refusal:
    """The decision about the placement shown, with exactly the settings it was judged by."""
    refusal = refusal_of(session, decision, texts)
    if refusal is not None:
        return refusal
    placed = session.placed()[session.cup_index]
    fits = placed.verdict is Verdict.FITS
    try:
        return Entry(
            sha256=session.loaded.sha256,
            file_name=os.path.basename(session.loaded.path),
            settings=recorded_settings(session),
            cup=session.cup.name,
            verdict=placed.verdict,
            clearance_mm=placed.clearance_mm,
            decision=decision,
            by=texts.get(NAME, ""),
            stage=stage,
            note=texts.get(NOTE, ""),
            reason="" if fits else texts.get(REASON, ""),
        )
    except UsageError as error:
        field = next((name for start, name in _FIELDS if error.message.startswith(start)), "")
        return Refusal(error.message, field)


def recorded_settings(session: Session) -> str:
    """The settings of a session as those of its file, read with what the window did to it."""
    load = scaled_load(session.loaded.options, session.scale)
    return settings_of(
        replace(session.artwork, options=load),
        session.cup,
        session.limits,
        session.placement,
        session.press.setup_tolerance_mm,
        session.press.name,
    )


def wanted_of(session: Session) -> Wanted:
    """What the record is asked: whether exactly this was decided before."""
    load = scaled_load(session.loaded.options, session.scale)
    tolerance_mm = session.press.setup_tolerance_mm
    text = settings_text(load, session.cup, session.limits, session.placement, tolerance_mm)
    return Wanted(session.cup.name, text)
