"""A row in words, the same on every copy: in the shell, on a sheet, in the window."""

from __future__ import annotations

import json

from viewer.fit import verdict_words
from viewer.report import printable
from viewer.signoff.chain import Row
from viewer.signoff.entry import Decision, Stage
from viewer.units import format_clearance_mm

STAGE_WORDS = {Stage.PLATE: "before the plate is made", Stage.PRESS: "at the press"}
DECISION_WORDS = {Decision.APPROVE: "approved", Decision.REJECT: "rejected"}


def when_words(row: Row) -> str:
    """When a row was recorded, to the minute, as ``2031-05-06 07:08 UTC``."""
    return f"{row.when_utc[:10]} {row.when_utc[11:16]} UTC"


def row_summary(row: Row) -> str:
    """One line: what was decided, for which cup, by whom, when; the reason always with it."""
    entry = row.entry
    words = (
        f"{DECISION_WORDS[entry.decision]} for the {entry.cup} cup {STAGE_WORDS[entry.stage]}"
        f" by {entry.by}, {when_words(row)} (row {row.number})"
    )
    if entry.reason:
        words += f", although the verdict is {verdict_words(entry.verdict)}: {entry.reason}"
    return printable(words)


def row_lines(row: Row) -> tuple[tuple[str, str], ...]:
    """Label and value of everything in a row, without control characters."""
    entry = row.entry
    pairs = [
        ("row", str(row.number)),
        ("when (UTC)", row.when_utc),
        ("decision", DECISION_WORDS[entry.decision]),
        ("stage", STAGE_WORDS[entry.stage]),
        ("by", entry.by),
        ("file", entry.file_name),
        ("SHA-256", entry.sha256),
        ("cup", entry.cup),
        ("verdict", verdict_words(entry.verdict)),
        ("clearance", clearance_words(entry.clearance_mm)),
        ("placement", placement_words(entry.settings)),
        ("reason", entry.reason),
        ("note", entry.note),
        ("tool version", entry.tool_version),
        ("settings", entry.settings),
        ("hash before", row.prev_hash),
        ("hash", row.hash),
        ("seal", row.seal),
    ]
    return tuple((label, printable(value)) for label, value in pairs if value)


def clearance_words(clearance_mm: float | None) -> str:
    """Rounded down, in mm."""
    return "unknown" if clearance_mm is None else f"{format_clearance_mm(clearance_mm)} mm"


def placement_words(settings: str) -> str:
    """Where the cup stood; empty where the settings do not say."""
    try:
        placement = json.loads(settings)["placement"]
        x_mm, y_mm = (float(value) for value in placement["center_mm"])
        turn_deg = float(placement["turn_deg"])
    except (KeyError, TypeError, ValueError):
        return ""
    return f"cup's centre at {x_mm:.2f}, {y_mm:.2f} mm, artwork turned {turn_deg:.1f} degrees"
