"""The fit sheet from the window: the very sheet of the shell, and nothing written over unasked."""

from __future__ import annotations

import datetime
import os
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pygame
import pypdfium2
import pytest

from tests.screen.conftest import FakeOpener, Hand
from tests.screen.test_layout_fits import UI_FACTORS, problems
from viewer.artwork.model import LoadOptions
from viewer.cli import main
from viewer.cli.options import parse_arguments
from viewer.errors import ArtworkError
from viewer.press.limits import PressLimits
from viewer.press.press import Press
from viewer.screen import model, sheet_question, sheet_writing
from viewer.screen.asking import Question
from viewer.screen.commands import BY_NAME, CTRL
from viewer.screen.desk import Desk
from viewer.screen.dialog import Dialog
from viewer.screen.dialog_box import dialog_boxes
from viewer.screen.loader import FileOpener
from viewer.screen.painter import Painter
from viewer.screen.questions import PATH
from viewer.screen.sheet_question import NEEDS_FILE, REPLACES, STILL_READING, SheetQuestion
from viewer.screen.signing_entry import WAITING
from viewer.screen.signing_shown import NAME, REASON, SHEET
from viewer.sheets import write as sheets_write

CONTROL = pygame.KMOD_LCTRL
FLOAT = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">'
    '<path fill="#17324d" d="M20 10 L60 14 L52 46 L24 40 Z"/></svg>'
)
TODAY = datetime.date.today().isoformat


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a float's artwork and no record yet."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BRIMCHECK_RECORD", str(tmp_path / "club.sqlite"))
    (tmp_path / "float.svg").write_text(FLOAT, encoding="utf-8")
    return tmp_path


@pytest.fixture
def desks() -> Iterator[list[Desk]]:
    made: list[Desk] = []
    yield made
    for desk in made:
        desk.close()


def opened(desks: list[Desk], *options: str, scale: float = 1.0, cup: str = "75") -> Hand:
    """The window as a call of the shell would open it, then scaled in the window."""
    settings = parse_arguments(["float.svg", *options])
    desk = Desk((1100, 700), settings.press, FileOpener())
    desks.append(desk)
    desk.filing.open_now("float.svg", settings.load)
    desk.change(lambda session: model.with_scale(session, scale))
    desk.fit_now()
    assert desk.session is not None
    names = [cup_fit.cup.name for cup_fit in desk.session.fit.cups]
    desk.change(lambda session: model.with_cup(session, names.index(cup)))
    desk.go_to_best()
    return Hand(desk)


def ask(hand: Hand) -> SheetQuestion:
    hand.key(pygame.K_p, CONTROL)
    return asked(hand)


def asked(hand: Hand) -> SheetQuestion:
    question = hand.desk.asking.question
    assert isinstance(question, SheetQuestion)
    return question


def retype(hand: Hand, path: str) -> None:
    hand.desk.asking.put_text(PATH, path)


def enter(hand: Hand) -> None:
    hand.key(pygame.K_RETURN)
    hand.desk.signing.sheets.wait()
    hand.show()


def click(hand: Hand, name: str) -> None:
    desk = hand.desk
    dialog = shown(hand)
    error = desk.editing.error if desk.editing is not None else ""
    hand.click(dialog_boxes(dialog, desk.layout, desk.painter.texts, error).hits[name].center)


def shown(hand: Hand) -> Dialog:
    dialog = hand.desk.asking.dialog()
    assert dialog is not None
    return dialog


def error(hand: Hand) -> str:
    assert hand.desk.editing is not None
    return hand.desk.editing.error


def notice(hand: Hand) -> str:
    return hand.desk.notice.text if hand.desk.notice is not None else ""


def shell(hand: Hand, target: str, *options: str) -> int:
    """The same placement, said to the shell."""
    session = hand.desk.session
    assert session is not None
    x, y = session.placement.center_mm
    turn = repr(session.placement.turn_deg)
    where = ("--cup", session.cup.name, "--center", f"{x!r},{y!r}", "--turn", turn)
    call = ["sheet", "float.svg", "-o", target, *where, "--date", TODAY(), *options]
    return main(call)


def text_of(path: Path) -> str:
    with pypdfium2.PdfDocument(path) as pdf:
        texts = [page.get_textpage().get_text_bounded() for page in pdf]
    return " ".join(" ".join(texts).split())


# --- the same sheet ----------------------------------------------------------------------


PRESS_OPTIONS = ("--pad", "oval:84x72m2", "--etch", "90x70", "--hold", "across", "--datum", "page")
CALLS = {
    "plain": ((), 0.0),
    "turned": ((), 7.0),
    "press": (PRESS_OPTIONS, 0.0),
    "half as large": (("--scale", "50%"), 0.0),
    "too large": (("--scale", "300%"), 0.0),
}


@pytest.mark.parametrize("name", CALLS)
def test_it_is_the_sheet_of_the_shell(club: Path, desks: list[Desk], name: str) -> None:
    options, turn_deg = CALLS[name]
    hand = opened(desks, *options)
    if turn_deg:
        hand.desk.change(lambda session: model.with_turn(session, turn_deg))
        hand.desk.change(lambda session: model.moved(session, 0.37, -0.21))
    ask(hand)
    enter(hand)
    assert hand.desk.asking.question is None
    status = shell(hand, "shell.pdf", *options)
    assert status == (1 if name == "too large" else 0)
    assert (club / "float-fit.pdf").read_bytes() == (club / "shell.pdf").read_bytes()


def test_what_was_scaled_in_the_window_is_said_as_the_shell_says_it(
    club: Path, desks: list[Desk]
) -> None:
    hand = opened(desks, scale=0.5)
    ask(hand)
    enter(hand)
    assert shell(hand, "shell.pdf", "--scale", "50%") == 0
    window, other = text_of(club / "float-fit.pdf"), text_of(club / "shell.pdf")
    assert "scaled to 50 %" in window
    # How surely the outline is known is worked out otherwise there: never told as better.
    told = [text.partition("The outline is known to") for text in (window, other)]
    assert told[0][0].partition("smallest circle")[0] == told[1][0].partition("smallest circle")[0]


@pytest.mark.parametrize("reason", ["", "a sample for the club: the corners are trimmed off"])
def test_the_record_is_told_with_its_reason(club: Path, desks: list[Desk], reason: str) -> None:
    options = ("--scale", "300%") if reason else ()
    hand = opened(desks, *options)
    signing = hand.desk.signing
    signing.begin()
    signing.wait()
    signing.enter(NAME, "Bench two")
    signing.enter(REASON, reason)
    signing.press("approve")
    signing.wait()
    assert signing.shown is not None and signing.shown.stops == ("leave", SHEET)
    hand.key(pygame.K_TAB)
    hand.key(pygame.K_RETURN)
    assert signing.shown is None
    asked(hand)
    enter(hand)
    assert shell(hand, "shell.pdf", *options) == (1 if reason else 0)
    assert (club / "float-fit.pdf").read_bytes() == (club / "shell.pdf").read_bytes()
    told = text_of(club / "float-fit.pdf")
    assert "approved before the plate is made by Bench two" in told and reason in told
    large = "Approved although it does not fit" if reason else "Approved before the plate is made"
    assert large in told


def test_the_paper_is_chosen_and_remembered(club: Path, desks: list[Desk]) -> None:
    hand = opened(desks)
    ask(hand)
    for name in ("Letter", "A3"):
        click(hand, f"paper:{name}")
        marked = [button.label for button in shown(hand).buttons if "\u25cf" in button.label]
        assert marked == [f"\u25cf {name}"]
    click(hand, "write")
    hand.desk.signing.sheets.wait()
    with pypdfium2.PdfDocument(club / "float-fit.pdf") as pdf:
        # ISO 216: A3 is 297 x 420 mm.
        assert [side * 25.4 / 72 for side in pdf[0].get_size()] == pytest.approx(
            [297, 420], abs=0.1
        )
    shell(hand, "shell.pdf", "--paper-size", "A3")
    assert (club / "float-fit.pdf").read_bytes() == (club / "shell.pdf").read_bytes()
    ask(hand)
    assert "\u25cf A3" in [button.label for button in shown(hand).buttons]


def test_where_it_went_and_how_to_print_it_is_told(club: Path, desks: list[Desk]) -> None:
    hand = opened(desks)
    ask(hand)
    enter(hand)
    with pypdfium2.PdfDocument(club / "float-fit.pdf") as pdf:
        pages = f"{len(pdf)} page{'' if len(pdf) == 1 else 's'}"
    for words in (str(club / "float-fit.pdf"), f"{pages};", "100 %"):
        assert words in notice(hand)


# --- what is refused ----------------------------------------------------------------------


def test_without_a_file_nothing_is_asked() -> None:
    desk = Desk((1600, 1000), Press(), FakeOpener())
    BY_NAME["sheet"].run(desk)
    assert desk.asking.question is None and desk.looks.look.message == NEEDS_FILE
    desk.close()


def test_while_a_file_is_being_read_nothing_is_asked(club: Path, desks: list[Desk]) -> None:
    hand = opened(desks)
    hand.desk.open_file("float.svg", LoadOptions())
    hand.key(pygame.K_p, CONTROL)
    assert hand.desk.asking.question is None
    assert hand.desk.looks.look.message == STILL_READING


def test_while_the_fit_is_not_known_nothing_is_written(club: Path, desks: list[Desk]) -> None:
    hand = opened(desks)
    known = hand.desk.session
    assert known is not None
    other = PressLimits(etch=parse_arguments(["float.svg", "--etch", "90x70"]).press.limits.etch)
    hand.desk.session = replace(known, limits=other)
    hand.desk.signing.ask_for_sheet()
    assert hand.desk.asking.question is None and hand.desk.looks.look.message == WAITING
    hand.desk.session = known
    question = ask(hand)
    hand.desk.session = replace(known, limits=other)
    with pytest.raises(Exception, match=WAITING):
        question.enter(PATH)
    assert not (club / "float-fit.pdf").exists()
    hand.desk.session = known


def test_a_file_that_is_there_goes_only_when_that_was_said_twice(
    club: Path, desks: list[Desk]
) -> None:
    target = club / "float-fit.pdf"
    target.write_text("the club's own notes", encoding="utf-8")
    hand = opened(desks)
    ask(hand)
    assert shown(hand).buttons[0].label == "Write it"
    enter(hand)
    assert error(hand) == REPLACES and target.read_text(encoding="utf-8") == "the club's own notes"
    assert shown(hand).buttons[0].label == "Replace it"
    # Another name was typed meanwhile: the yes was not for that.
    (club / "other.pdf").write_text("kept", encoding="utf-8")
    retype(hand, str(club / "other"))
    assert shown(hand).buttons[0].label == "Write it"
    enter(hand)
    assert error(hand) == REPLACES and (club / "other.pdf").read_text(encoding="utf-8") == "kept"
    retype(hand, str(target))
    enter(hand)
    enter(hand)
    assert hand.desk.asking.question is None and target.read_bytes().startswith(b"%PDF")
    assert (club / "other.pdf").read_text(encoding="utf-8") == "kept"


def test_names_that_cannot_be(club: Path, desks: list[Desk]) -> None:
    (club / "plain.pdf").symlink_to(club / "float.svg")
    (club / "record.pdf").symlink_to(club / "club.sqlite")
    hand = opened(desks)
    ask(hand)
    for path, said in (
        ("", "type the path"),
        (str(club), "is a folder"),
        ("plain.pdf", "that is the artwork itself"),
        ("record.pdf", "that is the approval record itself"),
        (str(club / "none" / "sheet.pdf"), "there is no folder"),
    ):
        retype(hand, path)
        enter(hand)
        assert said in error(hand) and not error(hand).startswith("-o"), path
    assert (club / "float.svg").read_text(encoding="utf-8") == FLOAT
    assert sorted(os.listdir(club)) == ["float.svg", "plain.pdf", "record.pdf"]


def test_an_ending_is_added_and_folders_and_sheets_are_offered(
    club: Path, desks: list[Desk]
) -> None:
    (club / "sheets").mkdir()
    (club / "old.pdf").write_text("x", encoding="utf-8")
    hand = opened(desks)
    ask(hand)
    retype(hand, f"{club}{os.sep}")
    assert [row.label for row in shown(hand).rows] == ["old.pdf", f"sheets{os.sep}"]
    retype(hand, str(club / "mine"))
    enter(hand)
    assert (club / "mine.pdf").read_bytes().startswith(b"%PDF")


def test_where_the_artwork_may_not_be_written_beside_it_is_the_working_folder(
    club: Path, desks: list[Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    hand = opened(desks)
    session = hand.desk.session
    assert session is not None
    far = replace(session, loaded=replace(session.loaded, path="/jobs/float.svg"))
    assert sheet_writing.usual_path(session) == str(club / "float-fit.pdf")
    monkeypatch.setattr(sheet_writing.os, "access", lambda path, mode: path != "/jobs")
    assert sheet_writing.usual_path(far) == str(club / "float-fit.pdf")


def test_a_file_that_has_changed_is_told_in_the_question(club: Path, desks: list[Desk]) -> None:
    hand = opened(desks)
    ask(hand)
    (club / "float.svg").write_text(FLOAT.replace("60 14", "70 14"), encoding="utf-8")
    enter(hand)
    assert "changed" in error(hand) and not (club / "float-fit.pdf").exists()
    assert shown(hand).fields[0].name == PATH


# --- while it is written ---------------------------------------------------------------------


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """Sheets are written only once this is set."""
    event, write = threading.Event(), sheets_write.write_fit_sheet

    def waiting(*args: object, **more: object) -> int:
        event.wait(20)
        return write(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(sheets_write, "write_fit_sheet", waiting)
    yield event
    event.set()


def test_it_says_that_it_is_writing_and_takes_no_second_call(
    club: Path, desks: list[Desk], held: threading.Event
) -> None:
    hand = opened(desks)
    ask(hand)
    hand.key(pygame.K_RETURN)
    assert shown(hand).lines == ("writing float-fit.pdf \u2026",) and not shown(hand).stops
    hand.type("x")
    hand.key(pygame.K_RETURN)
    hand.key(pygame.K_TAB)
    assert asked(hand).texts[PATH] == str(club / "float-fit.pdf")
    held.set()
    hand.desk.signing.sheets.wait()
    assert hand.desk.asking.question is None and "written" in notice(hand)


def test_left_meanwhile_it_is_written_and_told_all_the_same(
    club: Path, desks: list[Desk], held: threading.Event
) -> None:
    hand = opened(desks)
    ask(hand)
    hand.key(pygame.K_RETURN)
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.asking.question is None
    hand.key(pygame.K_p, CONTROL)
    assert hand.desk.looks.look.message == sheet_question.STILL_WRITING
    held.set()
    hand.desk.signing.sheets.wait()
    assert "float-fit.pdf" in notice(hand) and (club / "float-fit.pdf").exists()


def test_a_failure_after_it_was_left_is_told(
    club: Path, desks: list[Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*args: object) -> int:
        raise ArtworkError("float.svg: cannot be drawn")

    monkeypatch.setattr(sheets_write, "write_fit_sheet", failing)
    hand = opened(desks)
    ask(hand)
    hand.key(pygame.K_RETURN)
    hand.desk.asking.close()
    hand.desk.signing.sheets.wait()
    assert notice(hand) == "no fit sheet was written: float.svg: cannot be drawn"


def test_closing_the_window_waits_for_the_sheet(
    club: Path, desks: list[Desk], held: threading.Event
) -> None:
    hand = opened(desks)
    ask(hand)
    hand.key(pygame.K_RETURN)
    threading.Timer(0.2, held.set).start()
    hand.desk.close()
    assert (club / "float-fit.pdf").read_bytes().startswith(b"%PDF")


# --- how it looks ------------------------------------------------------------------------------


def test_it_has_a_key_and_words_in_the_help() -> None:
    command = BY_NAME["sheet"]
    assert (pygame.K_p, CTRL) in command.bindings
    assert command.label == "write the fit sheet, a PDF at true scale to print"
    assert isinstance(SheetQuestion.passed_on, tuple) and issubclass(SheetQuestion, Question)


@pytest.mark.parametrize("size", [(640, 400), (1100, 700), (1600, 1000)], ids=str)
@pytest.mark.parametrize("factor", UI_FACTORS)
def test_nothing_of_it_is_cut(
    club: Path, desks: list[Desk], size: tuple[int, int], factor: float, held: threading.Event
) -> None:
    (club / "float-fit.pdf").write_text("x", encoding="utf-8")
    hand = opened(desks)
    desk, found = hand.desk, []
    painter, surface = Painter(), pygame.Surface(size)
    ask(hand)
    for state in ("asked", "warned", "writing"):
        painter.texts.log = log = []
        frame = desk.frame()
        theme = "light" if factor in (0.8, 1.5) else "dark"
        look = replace(frame.look, ui_factor=factor, theme=theme)
        painter.draw(surface, replace(frame, size=size, look=look))
        words = [text for text in log if text.where == "dialog"]
        found += [f"{state}: {problem}" for problem in problems(words, size)]
        assert words, state
        hand.key(pygame.K_RETURN)
    held.set()
    desk.signing.sheets.wait()
    assert not found, "\n".join(found)
