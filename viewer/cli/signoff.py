"""``brimcheck signoff``: approvals recorded, listed, exported, and proved again later."""

from __future__ import annotations

import contextlib
import os
import secrets
import sys

from viewer.artwork.model import Artwork
from viewer.cli.measuring import fit_measured, measure
from viewer.cli.options import PlaceOrder, Settings, SignoffOrder
from viewer.cli.place import chosen_cup, chosen_placement
from viewer.errors import ArtworkError, BrimcheckError, UsageError
from viewer.fit import Verdict, verdict_words
from viewer.press import Press
from viewer.report import CAUTION, error_to_text, printable
from viewer.signoff import (
    Decision,
    Entry,
    Record,
    RecordError,
    Row,
    Stage,
    Verification,
    Wanted,
    file_sha256,
    record_place,
    row_lines,
    row_summary,
    rows_to_csv,
    rows_to_json,
    settings_of,
    settings_text,
    standing_of,
)
from viewer.signoff.record import row_of
from viewer.signoff.words import DECISION_WORDS, clearance_words

EXIT_GOOD = 0
EXIT_NOT_APPROVED = 1
EXIT_ERROR = 2

_COLUMNS = (
    "row",
    "when (UTC)",
    "decision",
    "stage",
    "cup",
    "verdict",
    "clearance",
    "by",
    "file",
)


def sign_off(settings: Settings) -> int:
    """Run one call. Everything that stops it raises BrimcheckError."""
    order = settings.signoff
    if order is None:
        raise ValueError("a call of signoff without an order")
    place = record_place(order.record)
    record = Record(place)
    if order.action in ("approve", "reject"):
        return _decide(settings, order, record)
    if not record.exists and not place.is_usual:
        raise RecordError(f"{place.path}: there is no approval record; approve FILE begins one")
    found = record.verify()
    if order.action == "verify":
        return _verify(settings, order, record, found)
    if order.action == "show":
        return _show(order, record, found)
    return (_export if order.action == "export" else _list)(order, record, found)


# --- approve, reject ------------------------------------------------------------------


def _decide(settings: Settings, order: SignoffOrder, record: Record) -> int:
    path = settings.files[0]
    if os.path.isdir(path):
        raise UsageError(f"{path} is a folder: {order.action} takes one file")
    artwork = measure(path, settings)
    fit = fit_measured(artwork, settings)
    placing = PlaceOrder(target="", cup_name=order.cup_name, placement=order.placement)
    cup_fit = chosen_cup(fit, placing)
    placement, placed = chosen_placement(fit, cup_fit, placing)
    fits = placed.verdict is Verdict.FITS
    if order.action == "approve" and not fits and not order.reason.strip():
        words = verdict_words(placed.verdict, placed.tight, placed.causes)
        raise UsageError(
            f"{path}: not approved: {words} with the {cup_fit.cup.name} cup, clearance"
            f" {clearance_words(placed.clearance_mm)}; to approve it all the same say why with"
            " --reason, which is printed on every copy",
            code="reason-needed",
        )
    entry = Entry(
        sha256=artwork.sha256,
        file_name=os.path.basename(path),
        settings=settings_of(
            artwork,
            cup_fit.cup,
            fit.limits,
            placement,
            fit.setup_tolerance_mm,
            settings.press.name,
        ),
        cup=cup_fit.cup.name,
        verdict=placed.verdict,
        clearance_mm=placed.clearance_mm,
        decision=Decision(order.action),
        by=order.by,
        stage=Stage(order.stage or "plate"),
        note=order.note,
        reason=order.reason,
    )
    _refuse_changed(artwork, path)
    row = record.append(entry)
    print(f"{printable(path)}: {row_summary(row)}")
    print(f"recorded in {printable(record.path)}; seal {row.seal}")
    print(CAUTION)
    return EXIT_GOOD if fits or order.action == "reject" else EXIT_NOT_APPROVED


def _refuse_changed(artwork: Artwork, path: str) -> None:
    """What is signed must be what was measured."""
    if file_sha256(path) != artwork.sha256:
        raise ArtworkError(f"{path}: changed while it was measured; try again", code="changed")


# --- list, show, export ---------------------------------------------------------------


def _list(order: SignoffOrder, record: Record, found: Verification) -> int:
    if not found.sound:
        print(f"{printable(record.path)}: no sign-off recorded")
    else:
        print("\n".join(_table(found.sound)))
    return _told(record, found)


def _table(rows: tuple[Row, ...]) -> list[str]:
    cells: list[tuple[str, ...]] = [_COLUMNS]
    for row in rows:
        entry = row.entry
        decision = DECISION_WORDS[entry.decision]
        about = (entry.cup, entry.verdict.value, clearance_words(entry.clearance_mm))
        when = (str(row.number), row.when_utc, decision, entry.stage.value)
        cells.append(tuple(printable(c) for c in (*when, *about, entry.by, entry.file_name)))
    widths = [max(len(line[column]) for line in cells) for column in range(len(cells[0]))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in cells
    ]
    told = lines[:1]
    for row, line in zip(rows, lines[1:], strict=True):
        told.append(line)
        if row.entry.reason:
            told.append(f"     approved although it does not fit: {printable(row.entry.reason)}")
    return told


def _show(order: SignoffOrder, record: Record, found: Verification) -> int:
    pairs = row_lines(row_of(found, order.row, record.path))
    width = max(len(label) for label, _ in pairs)
    print("\n".join(f"{label.ljust(width)}  {value}" for label, value in pairs))
    return _told(record, found)


def _export(order: SignoffOrder, record: Record, found: Verification) -> int:
    text = (rows_to_csv if order.as_csv else rows_to_json)(found.sound)
    if order.target is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode("utf-8"))
        sys.stdout.buffer.flush()
    else:
        _write(order.target, text.encode("utf-8"), record)
        count = len(found.sound)
        print(f"{printable(order.target)}: written; {count} row{'' if count == 1 else 's'}")
    return _told(record, found)


def _write(target: str, data: bytes, record: Record) -> None:
    """Into a file beside the target, which then takes its name."""
    if not target or os.path.isdir(target):
        raise UsageError(f"-o {target!r}: give the name of a file")
    real = os.path.realpath(target)
    if real in record.own_files():
        raise UsageError(f"-o {target}: that is the approval record itself; give another name")
    temporary = f"{real}.{secrets.token_hex(4)}.tmp"
    try:
        with open(temporary, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(temporary, real)
    except OSError as error:
        reason = error.strerror or str(error)
        raise BrimcheckError(f"-o {target}: not written ({reason}); check the folder") from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def _told(record: Record, found: Verification) -> int:
    """One line where the record is not as it should be; the status that goes with it."""
    if found.read_only is not None:
        _complain(f"{record.path}: {found.read_only}; signoff verify tells more")
    return EXIT_GOOD if found.ok else EXIT_NOT_APPROVED


# --- verify -----------------------------------------------------------------------------


def _verify(settings: Settings, order: SignoffOrder, record: Record, found: Verification) -> int:
    if not settings.files:
        print("\n".join(printable(line) for line in _findings(record, found)))
        return EXIT_GOOD if found.ok else EXIT_NOT_APPROVED
    wanted = Wanted(
        cup=order.cup_name,
        settings=_wanted_settings(settings, order),
        stage=None if order.stage is None else Stage(order.stage),
    )
    statuses = [_told(record, found)]
    statuses += [_verify_file(path, wanted, found) for path in settings.files]
    return max(statuses)


def _findings(record: Record, found: Verification) -> list[str]:
    lines = []
    if not found.ok:
        lines.append(f"{record.path}: not sound; {len(found.sound)} of {found.count} rows are")
    elif not found.sound:
        lines.append(f"{record.path}: no sign-off recorded")
    else:
        last = found.sound[-1]
        count = "1 row" if found.count == 1 else f"{found.count} rows"
        lines.append(
            f"{record.path}: sound; {count}, the last of {last.when_utc}, seal {last.seal}"
        )
    if found.version > 1 and found.read_only is not None:
        lines.append(f"  {found.read_only}")
    lines += [f"  {problem}" for problem in found.problems]
    return [*lines, *(f"  note: {remark}" for remark in found.remarks)]


def _wanted_settings(settings: Settings, order: SignoffOrder) -> str | None:
    if not order.compares:
        return None
    press: Press = settings.press
    wanted = (order.cup_name or "").strip().casefold()
    cup = next((cup for cup in press.cups if cup.name.casefold() == wanted), None)
    if cup is None:
        names = ", ".join(cup.name for cup in press.cups)
        raise UsageError(f"--cup {order.cup_name!r}: there is no such cup; there are {names}")
    return settings_text(
        settings.load, cup, press.limits, order.placement, press.setup_tolerance_mm
    )


def _verify_file(path: str, wanted: Wanted, found: Verification) -> int:
    try:
        sha256 = file_sha256(path)
    except BrimcheckError as error:
        sys.stdout.flush()
        _complain(error_to_text(path, error))
        return EXIT_ERROR
    standing = standing_of(found.sound, sha256, os.path.basename(path), wanted)
    doubt = "" if found.ok else "not proved, as the record is not sound; it says: "
    print(f"{printable(path)}: {doubt}{printable(standing.message)}")
    # An approval of what does not fit is told as one, but nothing may run on by itself.
    fits = standing.row is not None and standing.row.entry.verdict is Verdict.FITS
    return EXIT_GOOD if found.ok and standing.is_approved and fits else EXIT_NOT_APPROVED


def _complain(line: str) -> None:
    print(f"brimcheck: {printable(line)}", file=sys.stderr, flush=True)
