"""What the approval record says about a sheet's artwork, for the frame on every page of it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence

from viewer.errors import BrimcheckError, UsageError
from viewer.fit import verdict_words
from viewer.report import printable
from viewer.sheets.fit_words import Judged
from viewer.sheets.record_band import NOTHING_TOLD, RecordTold
from viewer.signoff.chain import Row
from viewer.signoff.entry import Decision
from viewer.signoff.record import Record
from viewer.signoff.settings import differences, settings_text
from viewer.signoff.standing import Standing, Wanted, standing_of
from viewer.signoff.verification import Verification
from viewer.signoff.words import DECISION_WORDS, STAGE_WORDS, clearance_words, when_words

MOST_ROWS = 3
_MOST_DIFFERENCES = 3


def record_told(judged: Judged, record: Record) -> RecordTold:
    """State and lines to print, the weightiest first; none where nothing is recorded.

    A record that is not sound is told in the first line, and what it says counts as not
    proved.
    """
    try:
        found = record.verify()
    except BrimcheckError as error:
        line = printable(f"THE APPROVAL RECORD CANNOT BE READ: {error.message}")
        return RecordTold("Not proved", (line,), True)
    wanted = _wanted(judged)
    artwork = judged.fit.artwork
    standing = standing_of(found.sound, artwork.sha256, os.path.basename(artwork.path), wanted)
    told = (printable(line) for line in _lines(found, standing, artwork.sha256, wanted))
    unsound = _unsound(found)
    lines = (*unsound, *told)
    if not lines:
        return NOTHING_TOLD
    state = _state(found, standing, artwork.sha256)
    return RecordTold(state, lines, not _is_good(found, standing), 1 + len(unsound))


def refuse_record(target: str, record: Record, option: str = "-o ") -> None:
    """UsageError where the sheet would be written over the record itself."""
    if os.path.realpath(target) in record.own_files():
        raise UsageError(f"{option}{target}: that is the approval record itself; give another name")


def _wanted(judged: Judged) -> Wanted:
    """Exactly what the sheet shows."""
    fit, cup = judged.fit, judged.cup_fit.cup
    options = fit.artwork.options
    text = settings_text(options, cup, fit.limits, judged.placement, fit.setup_tolerance_mm)
    return Wanted(cup.name, text)


def _is_good(found: Verification, standing: Standing) -> bool:
    """Whether exactly this is approved, it fitted then, and the record is sound."""
    row = standing.row
    return found.ok and standing.is_approved and row is not None and not row.entry.reason


def _state(found: Verification, standing: Standing, sha256: str) -> str:
    """What is to be seen of it at arm's length."""
    row = standing.row
    if not found.ok:
        return "Not proved"
    if row is not None and standing.is_approved:
        if row.entry.reason:
            return "Approved although it does not fit"
        return f"Approved {STAGE_WORDS[row.entry.stage]}"
    if row is not None and row.entry.sha256 == sha256 and row.entry.decision is Decision.REJECT:
        return "Rejected"
    return "Not approved"


def _unsound(found: Verification) -> tuple[str, ...]:
    if found.ok:
        return ()
    told = f"THE APPROVAL RECORD IS NOT SOUND, so nothing of it is proved: {found.problems[0]}"
    more = len(found.problems) - 1
    return (printable(f"{told} (and {more} more)" if more else told),)


def _lines(found: Verification, standing: Standing, sha256: str, wanted: Wanted) -> Iterator[str]:
    if standing.row is None:
        return
    headline = _headline(standing, sha256, wanted)
    yield headline
    about = [row for row in found.sound if row.entry.sha256 == sha256]
    shown = _newest_with(about, standing.row)
    for row in shown:
        yield _row_line(row, wanted)
        if row.entry.reason and _although(row) not in headline:
            yield f"Row {row.number} was {_although(row)}"
    if len(about) > len(shown):
        rest = len(about) - len(shown)
        yield f"{rest} other row{'s' if rest > 1 else ''} about this content in the record."


def _newest_with(about: Sequence[Row], deciding: Row) -> list[Row]:
    """The newest rows and the one that decides, newest first; none of other content."""
    newest = list(reversed(about))
    shown = newest[:MOST_ROWS]
    if deciding in newest and deciding not in shown:
        shown = [*shown[:-1], deciding]
    return shown


def _although(row: Row) -> str:
    verdict = verdict_words(row.entry.verdict)
    return f"APPROVED ALTHOUGH THE VERDICT WAS {verdict.upper()}. Reason: {row.entry.reason}"


def _headline(standing: Standing, sha256: str, wanted: Wanted) -> str:
    """Whether exactly this is approved; the reason, where there had to be one."""
    row = standing.row
    assert row is not None
    if standing.is_approved and row.entry.reason:
        return f"{_although(row)} (for exactly this cup, placement and press)"
    if standing.is_approved:
        return "Approved for exactly this cup, placement and press."
    same_cup = row.entry.cup.casefold() == (wanted.cup or "").strip().casefold()
    is_approval = row.entry.decision is Decision.APPROVE and row.entry.sha256 == sha256
    if same_cup and is_approval:
        told = f"Approved for OTHER SETTINGS than this sheet's: {_brief(_unlike(row, wanted))}."
        return f"{told} It was {_although(row)}" if row.entry.reason else told
    return f"{standing.message[:1].upper()}{standing.message[1:]}"


def _unlike(row: Row, wanted: Wanted) -> tuple[str, ...]:
    return differences(row.entry.settings, wanted.settings or "{}")


def _brief(unlike: Sequence[str]) -> str:
    told = "; ".join(unlike[:_MOST_DIFFERENCES])
    more = len(unlike) - _MOST_DIFFERENCES
    return f"{told}; and {more} more" if more > 0 else told


def _row_line(row: Row, wanted: Wanted) -> str:
    """Who decided what and when, and whether that was about what the sheet shows."""
    entry = row.entry
    holds = "other settings" if _unlike(row, wanted) else "these settings"
    return (
        f"Row {row.number}, {when_words(row)}: {DECISION_WORDS[entry.decision]}"
        f" {STAGE_WORDS[entry.stage]} by {entry.by}, {entry.cup} cup, {holds},"
        f" {verdict_words(entry.verdict)}, clearance {clearance_words(entry.clearance_mm)};"
        f" seal {row.seal}"
    )
