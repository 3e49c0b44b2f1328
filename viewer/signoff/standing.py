"""What the record says about one file: approved or not, and how it differs.

An approval is for one content, one cup and its own settings. A rejection withdraws every
earlier approval of that content with that cup, whatever the settings and the stage. When
no cup is named, the latest decision about the content tells which cup is meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from viewer.signoff.chain import Row
from viewer.signoff.entry import Decision, Stage
from viewer.signoff.settings import differences
from viewer.signoff.words import STAGE_WORDS, row_summary

_SHORT = 12


@dataclass(frozen=True)
class Wanted:
    """What is asked about. None: whichever. ``settings``: from `settings_text`."""

    cup: str | None = None
    settings: str | None = None
    stage: Stage | None = None


@dataclass(frozen=True)
class Standing:
    """The answer: one line, and the row that decides (None where nothing is recorded)."""

    is_approved: bool
    message: str
    row: Row | None = None


def standing_of(
    rows: Sequence[Row], sha256: str, file_name: str, wanted: Wanted | None = None
) -> Standing:
    """What ``rows`` (all of a sound record, in order) say about a file's content."""
    answer = _standing(rows, sha256, file_name, wanted or Wanted())
    row = answer.row
    if row is None or row.entry.sha256 != sha256 or row.entry.file_name == file_name:
        return answer
    return replace(answer, message=f"{answer.message}; it was named {row.entry.file_name} then")


def _standing(rows: Sequence[Row], sha256: str, file_name: str, wanted: Wanted) -> Standing:
    about = [row for row in rows if row.entry.sha256 == sha256]
    if not about:
        return _unknown(rows, sha256, file_name)
    if wanted.cup is not None:
        named = [row for row in about if _is_cup(row, wanted.cup)]
        if not named:
            cups = ", ".join(dict.fromkeys(row.entry.cup for row in about))
            message = f"not approved for the {wanted.cup} cup: the record speaks of {cups}"
            return Standing(False, message, about[-1])
        return _for_cup(named, wanted)
    last = about[-1]
    answer = _for_cup([row for row in about if _is_cup(row, last.entry.cup)], wanted)
    others = [cup for cup in _approved_cups(about, wanted) if not _is_cup(last, cup)]
    if answer.is_approved or not others:
        return answer
    message = f"{answer.message}; approved for {', '.join(others)}: name it with --cup"
    return Standing(False, message, answer.row)


def _unknown(rows: Sequence[Row], sha256: str, file_name: str) -> Standing:
    named = [row for row in rows if row.entry.file_name == file_name]
    if not named:
        return Standing(False, "not approved: the record does not know this content")
    last = named[-1]
    message = (
        f"not approved: other content of the same name was {row_summary(last)}; that has"
        f" SHA-256 {last.entry.sha256[:_SHORT]}..., this has {sha256[:_SHORT]}..."
    )
    return Standing(False, message, last)


def _for_cup(about: Sequence[Row], wanted: Wanted) -> Standing:
    """``about``: the rows of one content and one cup, at least one."""
    approvals: list[Row] = []
    rejection: Row | None = None
    for row in about:
        if row.entry.decision is Decision.REJECT:
            approvals, rejection = [], row
        else:
            approvals.append(row)
    if not approvals:
        assert rejection is not None
        return Standing(False, f"not approved: {row_summary(rejection)}", rejection)
    last = approvals[-1]
    at_stage = [row for row in approvals if wanted.stage in (None, row.entry.stage)]
    if not at_stage:
        assert wanted.stage is not None
        message = f"not approved {STAGE_WORDS[wanted.stage]}: {row_summary(last)}"
        return Standing(False, message, last)
    if wanted.settings is None:
        return Standing(True, row_summary(at_stage[-1]), at_stage[-1])
    unlike: tuple[str, ...] = ()
    for row in reversed(at_stage):
        found = differences(row.entry.settings, wanted.settings)
        if not found:
            return Standing(True, row_summary(row), row)
        unlike = unlike or found
    message = f"not approved with these settings: {row_summary(at_stage[-1])}; {'; '.join(unlike)}"
    return Standing(False, message, at_stage[-1])


def _approved_cups(about: Sequence[Row], wanted: Wanted) -> list[str]:
    cups = dict.fromkeys(row.entry.cup for row in about)
    return [
        cup
        for cup in cups
        if _for_cup([row for row in about if _is_cup(row, cup)], wanted).is_approved
    ]


def _is_cup(row: Row, cup: str) -> bool:
    return row.entry.cup.casefold() == cup.strip().casefold()
