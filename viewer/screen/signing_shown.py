"""What the window shows of a sign-off, as one immutable value."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.fit import PlacedFit, Verdict
from viewer.screen.artwork_layer import Levels, Sharp
from viewer.screen.model import Session
from viewer.signoff import Stage

NAME, NOTE, REASON = "signing-name", "signing-note", "signing-reason"
"""Fields, by the names that the whole window knows them by."""
STAGES = {"plate": Stage.PLATE, "press": Stage.PRESS}
APPROVE, REJECT, LEAVE, SHEET = "approve", "reject", "leave", "sheet"
ASKING, RECORDING, DONE = "asking", "recording", "done"


@dataclass(frozen=True)
class Refusal:
    """Why nothing was recorded. ``field``: where that is to be mended; empty: nowhere here."""

    message: str
    field: str = ""


@dataclass(frozen=True, eq=False)
class SigningShown:
    """One sign-off. ``focus``: what has the keyboard; ``texts``: what stands in the fields.

    ``known``: what the record says already; ``trouble``: why it would take nothing, or is
    not to be believed. ``done``: what was recorded and what comes next, once it was.
    """

    session: Session
    placed: PlacedFit
    levels: Levels | None
    sharp: Sharp | None
    stage: Stage
    texts: dict[str, str]
    focus: str
    state: str = ASKING
    refusal: Refusal | None = None
    known: tuple[str, ...] = ()
    trouble: str = ""
    done: tuple[str, ...] = ()

    @property
    def fits(self) -> bool:
        """Whether the placement shown fits, which is known."""
        return self.session.is_fit_current and self.placed.verdict is Verdict.FITS

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields there are: a reason is asked for only where it does not fit."""
        if self.state == DONE:
            return ()
        return (NAME, NOTE) if self.fits else (NAME, NOTE, REASON)

    @property
    def stops(self) -> tuple[str, ...]:
        """Everything that can have the keyboard, in the order of the Tab key."""
        if self.state == DONE:
            return (LEAVE, SHEET)
        return ("stage", *self.fields, APPROVE, REJECT, LEAVE)
