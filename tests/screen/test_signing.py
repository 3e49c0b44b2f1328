"""The sign-off in the window: what it asks for, what it refuses, and that it records once."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pygame
import pytest

from tests.screen.conftest import FakeOpener, Hand
from viewer.artwork.model import LoadOptions
from viewer.fit import Verdict
from viewer.press.press import Press
from viewer.screen import model, signing
from viewer.screen.commands import BY_NAME
from viewer.screen.desk import Desk
from viewer.screen.loader import open_now
from viewer.screen.signing_boxes import signing_boxes
from viewer.screen.signing_entry import (
    NO_NAME,
    NO_REASON,
    NO_REASON_TO_REJECT,
    WAITING,
    entry_of,
)
from viewer.screen.signing_shown import DONE, NAME, NOTE, REASON, RECORDING, SigningShown
from viewer.screen.signing_words import NOTHING_YET
from viewer.signoff import Decision, Entry, Record, RecordError, Row, Stage
from viewer.signoff import file_sha256 as sha256_of
from viewer.signoff.words import when_words

CTRL = pygame.KMOD_LCTRL
FITS, OUTSIDE = 2, 0
"""The 90 cup takes the triangle at its best place; the 60 cup does not."""


@dataclass
class Case:
    """A desk on a file that is there, its record, and a hand."""

    desk: Desk
    hand: Hand
    file: Path
    record: Path

    def rows(self) -> tuple[Row, ...]:
        return Record(str(self.record)).rows()

    def shown(self) -> SigningShown:
        shown = self.desk.signing.shown
        assert shown is not None
        return shown

    def begin(self) -> None:
        self.hand.key(pygame.K_RETURN, CTRL)
        self.desk.signing.wait()

    def click(self, name: str) -> None:
        boxes = signing_boxes(self.shown(), self.desk.layout, self.desk.painter.texts)
        self.hand.click(boxes.hits[name].center)

    def press(self, name: str) -> None:
        self.click(name)
        self.desk.signing.wait()

    def refusal(self) -> tuple[str, str]:
        refusal = self.shown().refusal
        assert refusal is not None
        return refusal.message, refusal.field


@pytest.fixture
def case(tmp_path: Path, opener: FakeOpener) -> Iterator[Case]:
    """At the best place of the 90 cup, which fits."""
    file = tmp_path / "pennant.svg"
    file.write_text("<svg>the triangle</svg>", encoding="utf-8")
    record = tmp_path / "club.sqlite"
    desk = Desk((1600, 1000), Press(), opener, record=str(record))
    opened = open_now(opener, str(file), LoadOptions(), Press())
    measured = replace(opened.session.loaded, sha256=sha256_of(str(file)))
    session = model.start_session(measured, Press())
    desk.show(replace(opened, session=session))
    desk.fit_now()
    yield Case(desk, Hand(desk), file, record)
    desk.close()


def use_cup(case: Case, index: int) -> None:
    case.desk.change(lambda session: model.with_cup(session, index))
    case.desk.fit_now()
    assert case.desk.session is not None
    case.desk.go_to_best()


# --- coming and going ------------------------------------------------------------------


def test_without_a_file_nothing_is_asked(opener: FakeOpener) -> None:
    desk = Desk((1600, 1000), Press(), opener)
    BY_NAME["sign-off"].run(desk)
    assert desk.signing.shown is None
    assert desk.looks.look.message == "the sign-off needs a file"
    desk.close()


def test_while_a_file_is_being_read_nothing_is_asked(case: Case) -> None:
    held = threading.Event()
    opener = case.desk.opener
    assert isinstance(opener, FakeOpener)
    opener.before = lambda cancelled: held.wait(10) and None
    case.desk.open_file(str(case.file), LoadOptions())
    case.hand.key(pygame.K_RETURN, CTRL)
    assert case.desk.signing.shown is None
    held.set()


def test_it_opens_with_the_name_and_escape_leaves(case: Case) -> None:
    case.begin()
    assert case.shown().fields == (NAME, NOTE)
    assert case.shown().known == (NOTHING_YET,)
    assert case.desk.owner_of(NAME) is case.desk.signing
    assert case.desk.editing is not None and case.desk.editing.name == NAME
    case.hand.key(pygame.K_ESCAPE)
    assert case.desk.signing.shown is None and case.desk.editing is None
    assert not case.record.exists()


def test_the_bench_gets_nothing_while_it_is_shown(case: Case) -> None:
    before, camera = case.desk.session, case.desk.camera
    case.begin()
    for key in (pygame.K_b, pygame.K_c, pygame.K_1, pygame.K_UP, pygame.K_q, pygame.K_p):
        case.hand.key(key)
    case.hand.drag((400, 500), (600, 300))
    case.hand.wheel((400, 500), 3)
    case.hand.key(pygame.K_z, CTRL)
    case.hand.key(pygame.K_o, CTRL)
    case.hand.send(pygame.DROPFILE, file="/jobs/float.svg")
    assert case.desk.session is before and case.desk.camera == camera
    assert case.desk.filing.asking.question is None and case.desk.job is None
    assert case.refusal()[0] == signing.NOT_NOW


def test_the_window_can_still_be_closed(case: Case) -> None:
    case.begin()
    case.hand.key(pygame.K_q, CTRL)
    assert case.desk.is_closed or case.desk.filing.asking.question is not None


def test_the_window_is_drawn_whole_while_it_is_shown_and_after(case: Case) -> None:
    surface = case.hand.surface
    plain = pygame.image.tobytes(surface, "RGB")
    case.begin()
    signed = pygame.image.tobytes(surface, "RGB")
    assert signed != plain
    case.hand.type("B")
    case.hand.key(pygame.K_BACKSPACE)
    case.hand.key(pygame.K_ESCAPE)
    assert pygame.image.tobytes(surface, "RGB") == plain


def test_the_artwork_is_drawn_at_its_own_resolution(case: Case) -> None:
    case.begin()
    for _ in range(200):
        case.desk.poll()
        if case.shown().sharp is not None:
            break
        pygame.time.wait(10)
    sharp = case.shown().sharp
    assert sharp is not None
    boxes = signing_boxes(case.shown(), case.desk.layout, case.desk.painter.texts)
    ruler = case.desk.layout.ruler_px
    assert sharp.picture.get_size() == (boxes.board.width - ruler, boxes.board.height - ruler)
    opener = case.desk.opener
    assert isinstance(opener, FakeOpener)
    case.hand.key(pygame.K_ESCAPE)
    for _ in range(200):
        if opener.pictures[-1].is_closed:
            break
        pygame.time.wait(10)
    assert opener.pictures[-1].is_closed and not opener.pictures[0].is_closed


# --- approving what fits -----------------------------------------------------------------


def test_approved_with_the_keyboard_alone(case: Case) -> None:
    case.begin()
    case.hand.type("Bench two")
    case.hand.key(pygame.K_TAB)
    case.hand.type("for the regatta")
    case.hand.key(pygame.K_RETURN)
    assert case.shown().focus == "approve" and case.rows() == ()
    case.hand.key(pygame.K_RETURN)
    case.desk.signing.wait()
    (row,) = case.rows()
    entry, session = row.entry, case.desk.session
    assert session is not None
    assert (entry.by, entry.note, entry.reason) == ("Bench two", "for the regatta", "")
    assert (entry.decision, entry.stage) == (Decision.APPROVE, Stage.PLATE)
    assert (entry.verdict, entry.cup) == (Verdict.FITS, "90")
    # The triangle's circle is 76 mm, the cup takes 76.5 mm, and set-up is to 0.1 mm.
    assert entry.clearance_mm == pytest.approx(0.25, abs=0.06)
    assert entry.sha256 == sha256_of(str(case.file)) and entry.file_name == "pennant.svg"
    assert case.shown().state == DONE
    told = " ".join(case.shown().done)
    assert f"Approved before the plate is made by Bench two, {when_words(row)}" in told
    assert f"row 1, seal {row.seal}" in told and "sign off again" in told
    case.hand.key(pygame.K_RETURN)
    assert case.desk.signing.shown is None


def test_the_stage_is_chosen_with_keys_and_with_the_mouse(case: Case) -> None:
    case.begin()
    case.hand.key(pygame.K_TAB, pygame.KMOD_LSHIFT)
    assert case.shown().focus == "stage"
    case.hand.key(pygame.K_RIGHT)
    assert case.shown().stage is Stage.PRESS
    case.hand.key(pygame.K_SPACE)
    assert case.shown().stage is Stage.PLATE
    case.click("stage:press")
    case.click(NAME)
    case.hand.type("Bench two")
    case.press("approve")
    assert [row.entry.stage for row in case.rows()] == [Stage.PRESS]
    assert "trial print" in case.shown().done[-1]


def test_every_stop_is_reached_with_tab_and_arrows(case: Case) -> None:
    use_cup(case, OUTSIDE)
    case.begin()
    stops = case.shown().stops
    assert stops == ("stage", NAME, NOTE, REASON, "approve", "reject", "leave")
    seen = []
    for _ in stops:
        seen.append(case.shown().focus)
        case.hand.key(pygame.K_TAB)
    assert set(seen) == set(stops)
    for _ in stops:
        case.hand.key(pygame.K_UP)
        seen.append(case.shown().focus)
    assert set(seen[len(stops) :]) == set(stops)


def test_one_row_however_often_the_button_is_pressed(case: Case) -> None:
    case.begin()
    case.hand.type("Bench two")
    boxes = signing_boxes(case.shown(), case.desk.layout, case.desk.painter.texts)
    at = boxes.hits["approve"].center
    for _ in range(4):
        case.hand.click(at)
    case.desk.signing.wait()
    for _ in range(4):
        case.hand.click(at)
    case.desk.signing.wait()
    assert len(case.rows()) == 1


def test_a_key_held_down_decides_nothing(case: Case) -> None:
    """Enter held from the very command on: fields and buttons are not run through."""
    down = {"key": pygame.K_RETURN, "unicode": ""}
    case.hand.send(pygame.KEYDOWN, mod=CTRL, **down)
    for _ in range(40):
        case.hand.send(pygame.KEYDOWN, mod=CTRL, **down)
    case.hand.send(pygame.KEYUP, mod=0, key=pygame.K_RETURN)
    case.hand.type("Bench two")
    for _ in range(40):
        case.hand.send(pygame.KEYDOWN, mod=0, **down)
    assert case.shown().focus == NOTE
    case.hand.send(pygame.KEYUP, mod=0, key=pygame.K_RETURN)
    case.hand.key(pygame.K_RETURN)
    for _ in range(40):
        case.hand.send(pygame.KEYDOWN, mod=0, **down)
    case.desk.signing.wait()
    for _ in range(40):
        case.hand.send(pygame.KEYDOWN, mod=0, **down)
    case.desk.signing.wait()
    assert len(case.rows()) == 1 and case.shown().state == DONE


def test_the_name_is_remembered_and_the_note_is_not(case: Case) -> None:
    for number in (1, 2):
        case.begin()
        if number == 1:
            case.hand.type("Bench two")
            case.hand.key(pygame.K_TAB)
            case.hand.type("for the regatta")
        case.press("reject")
        case.hand.key(pygame.K_ESCAPE)
    assert [(row.entry.by, row.entry.note) for row in case.rows()] == [
        ("Bench two", "for the regatta"),
        ("Bench two", ""),
    ]


def test_what_was_decided_before_is_told(case: Case) -> None:
    case.begin()
    case.hand.type("Bench two")
    case.press("approve")
    case.hand.key(pygame.K_ESCAPE)
    case.begin()
    (told,) = case.shown().known
    assert told.startswith("approved for the 90 cup before the plate is made by Bench two")
    case.hand.key(pygame.K_ESCAPE)
    case.desk.change(lambda session: model.with_offset(session, 1.0, 2.0))
    case.begin()
    assert case.shown().known[0].startswith("not approved with these settings")
    assert "placement" in case.shown().known[0]


# --- what is refused -----------------------------------------------------------------------


def test_nobody_signs_without_a_name(case: Case) -> None:
    case.begin()
    case.hand.type("   ")
    for button in ("approve", "reject"):
        case.press(button)
        assert case.refusal() == (NO_NAME, NAME)
        assert case.shown().focus == NAME
    case.hand.type("...")
    case.press("approve")
    assert case.refusal()[1] == NAME and "letters or digits" in case.refusal()[0]
    case.hand.type("x" * 101)
    case.press("approve")
    assert case.refusal()[1] == NAME and "at most 100" in case.refusal()[0]
    assert case.rows() == ()


def test_what_does_not_fit_needs_a_reason(case: Case) -> None:
    use_cup(case, OUTSIDE)
    case.begin()
    assert case.shown().placed.verdict is not Verdict.FITS
    case.hand.type("Bench two")
    case.press("approve")
    assert case.refusal() == (NO_REASON, REASON) and case.shown().focus == REASON
    case.hand.type("-")
    case.press("approve")
    assert case.refusal()[1] == REASON and case.rows() == ()
    case.hand.key(pygame.K_BACKSPACE)
    case.hand.type("a sample for the club")
    case.press("approve")
    (row,) = case.rows()
    assert row.entry.reason == "a sample for the club"
    assert row.entry.verdict is not Verdict.FITS
    assert row.entry.clearance_mm is not None and row.entry.clearance_mm < 0
    assert "printed on every copy" in " ".join(case.shown().done)


def test_a_rejection_takes_no_reason(case: Case) -> None:
    use_cup(case, OUTSIDE)
    case.begin()
    case.hand.type("Bench two")
    case.click(REASON)
    case.hand.type("too large")
    case.press("reject")
    assert case.refusal() == (NO_REASON_TO_REJECT, REASON)
    for _ in "too large":
        case.hand.key(pygame.K_BACKSPACE)
    case.press("reject")
    assert [row.entry.decision for row in case.rows()] == [Decision.REJECT]


def test_a_placement_that_does_not_fit_is_no_fit_though_the_cup_could(case: Case) -> None:
    case.desk.change(lambda session: model.with_offset(session, 10.0, 0.0))
    assert case.desk.session is not None
    assert case.desk.session.cup_fit.verdict is Verdict.FITS
    case.begin()
    case.hand.type("Bench two")
    case.press("approve")
    assert case.refusal() == (NO_REASON, REASON) and case.rows() == ()
    case.hand.type("a sample for the club")
    case.press("approve")
    assert [row.entry.verdict for row in case.rows()] == [case.shown().placed.verdict]
    assert case.shown().placed.verdict is not Verdict.FITS


def test_a_fit_that_is_not_known_yet_is_waited_for(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    case.begin()
    case.hand.type("Bench two")
    monkeypatch.setattr(model.Session, "is_fit_current", property(lambda self: False))
    case.press("approve")
    assert case.refusal() == (WAITING, "") and case.rows() == ()
    assert case.shown().fits is False
    monkeypatch.undo()
    case.press("approve")
    assert len(case.rows()) == 1


def test_a_file_that_has_changed_on_disk_is_not_signed(case: Case) -> None:
    case.begin()
    case.hand.type("Bench two")
    case.file.write_text("<svg>another one</svg>", encoding="utf-8")
    case.press("approve")
    assert "changed since it was measured; Ctrl+R reads it again" in case.refusal()[0]
    case.file.unlink()
    case.press("approve")
    assert "no such file" in case.refusal()[0] and case.rows() == ()


def test_what_was_shown_is_what_is_signed(case: Case) -> None:
    """Another reading that arrives behind the sign-off ends it."""
    case.begin()
    case.hand.type("Bench two")
    case.desk.read_again_with(lambda options: replace(options, white="ink"))
    assert case.desk.job is not None and case.desk.job.wait(10)
    case.desk.poll()
    assert case.desk.signing.shown is None
    assert case.desk.looks.look.message == signing.HAS_CHANGED


def test_the_fit_that_arrives_meanwhile_is_taken(case: Case) -> None:
    case.begin()
    session = case.desk.session
    assert session is not None
    case.desk.session = model.with_fit(session, replace(session.fit))
    case.desk.poll()
    assert case.shown().session is case.desk.session


# --- the record ------------------------------------------------------------------------------


def test_the_window_stays_alive_while_the_record_is_held(case: Case) -> None:
    Record(str(case.record)).append(_entry_of(case))
    other = sqlite3.connect(case.record, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    case.begin()
    case.hand.type("Bench two")
    case.click("approve")
    assert case.shown().state == RECORDING
    case.hand.key(pygame.K_ESCAPE)
    case.hand.key(pygame.K_RETURN)
    for name in (NAME, "stage:press", "leave", "reject"):
        case.click(name)
    case.desk.press("signing:leave")
    assert case.shown().state == RECORDING and case.shown().focus == "approve"
    assert case.shown().stage is Stage.PLATE
    other.execute("ROLLBACK")
    other.close()
    case.desk.signing.wait()
    assert case.shown().state == DONE and len(case.rows()) == 2


def _entry_of(case: Case) -> Entry:
    assert case.desk.session is not None
    made = entry_of(case.desk.session, Decision.REJECT, Stage.PLATE, {NAME: "Bench one"})
    assert isinstance(made, Entry)
    return made


def test_closing_the_window_waits_for_what_is_being_written(case: Case) -> None:
    Record(str(case.record)).append(_entry_of(case))
    other = sqlite3.connect(case.record, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    case.begin()
    case.hand.type("Bench two")
    case.click("approve")
    closing = threading.Thread(target=case.desk.signing.stop)
    closing.start()
    closing.join(0.2)
    assert closing.is_alive()
    other.execute("ROLLBACK")
    other.close()
    closing.join(10)
    assert not closing.is_alive() and len(case.rows()) == 2


def test_a_reading_that_fails_meanwhile_refuses_nothing(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else the person would decide a second time, or go away believing nothing was recorded."""
    go, append = threading.Event(), Record.append

    def slowly(record: Record, entry: Entry) -> Row:
        assert go.wait(30)
        return append(record, entry)

    def held(_record: Record) -> None:
        raise RecordError("another program holds this approval record (waited 5 s); try again")

    case.begin()
    monkeypatch.setattr(Record, "append", slowly)
    monkeypatch.setattr(Record, "verify", held)
    case.hand.type("Bench two")
    case.click("approve")
    signing_ = case.desk.signing
    signing_._read_again()
    assert signing_._thread is not None
    signing_._thread._readers[-1].join(30)
    case.desk.poll()
    assert case.shown().state == RECORDING and case.shown().refusal is None
    assert "holds this approval record" in case.shown().trouble
    monkeypatch.undo()
    go.set()
    signing_.wait()
    assert case.shown().state == DONE and len(case.rows()) == 1


def test_a_record_that_is_none_is_told_at_once_and_takes_nothing(case: Case) -> None:
    case.record.write_bytes(b"no record at all" * 100)
    case.begin()
    assert "not an approval record" in case.shown().trouble
    case.hand.type("Bench two")
    case.press("approve")
    assert "not an approval record" in case.refusal()[0]
    assert case.record.read_bytes() == b"no record at all" * 100


def test_an_altered_record_is_told_at_once_and_takes_nothing(case: Case) -> None:
    Record(str(case.record)).append(_entry_of(case))
    with sqlite3.connect(case.record) as db:
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE sign_offs SET body = replace(body, 'Bench one', 'Bench six')")
    case.begin()
    assert "not sound" in case.shown().trouble
    case.hand.type("Bench two")
    case.press("approve")
    assert "nothing was recorded" in case.refusal()[0]
    case.press("approve")
    assert "nothing was recorded" in case.refusal()[0]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path, case: Case) -> None:
    case.desk.signing._thread = None
    case.desk.signing._given = str(tmp_path / "nowhere" / "club.sqlite")
    case.begin()
    case.hand.type("Bench two")
    case.press("approve")
    assert "there is no folder" in case.refusal()[0]
