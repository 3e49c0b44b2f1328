"""Fields and the keyboard: who has it, what a letter begins, what is let go of."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pygame
import pytest

from tests.screen.conftest import FakeOpener, Hand
from tests.screen.disk import DiskDesk
from tests.screen.lessons_hand import LessonHand, lessons_over
from viewer.lessons.view import Stage
from viewer.press import Press
from viewer.screen import clipboard, numbers_words
from viewer.screen.desk import Desk
from viewer.screen.numbers_query import HEIGHT, SHAPE, WIDTH
from viewer.screen.viewstate import Editing

TAB, ENTER, ESCAPE = pygame.K_TAB, pygame.K_RETURN, pygame.K_ESCAPE
CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT


@pytest.fixture
def bare() -> Iterator[Hand]:
    """A window without a file."""
    desk = Desk((1600, 1000), Press(), FakeOpener())
    yield Hand(desk)
    desk.close()


@pytest.fixture
def lessons(desk: Desk) -> Iterator[LessonHand]:
    with lessons_over(desk) as front:
        yield LessonHand(front)


def strokes(hand: Hand, text: str) -> None:
    """Press the key of each letter, as a real window tells it: key, letter, key let go."""
    for letter in text:
        hand.send(pygame.KEYDOWN, key=ord(letter), mod=0, unicode=letter)
        hand.send(pygame.TEXTINPUT, text=letter)
        hand.send(pygame.KEYUP, key=ord(letter), mod=0)
        hand.show()


def editing(hand: Hand) -> Editing:
    found = hand.desk.editing
    assert found is not None
    return found


def tab_to(hand: Hand, name: str) -> None:
    for _ in range(60):
        hand.key(TAB)
        if hand.desk.frame().look.focus == name:
            return
    raise AssertionError(f"Tab does not come to {name}")


# --- a field that is gone --------------------------------------------------------------


def test_a_lesson_goes_on_by_keyboard_after_its_answer(lessons: LessonHand) -> None:
    lessons.give_name()
    lessons.digit(1)
    for _ in range(2):  # it cannot be done; go on
        lessons.key(TAB)
        lessons.key(ENTER)
    assert editing(lessons).name == "answer"
    strokes(lessons, "25")
    lessons.key(ENTER)
    assert lessons.walk.stage is Stage.REVEAL
    assert lessons.desk.editing is None
    for step in (2, 3):
        lessons.key(ENTER)
        assert lessons.walk.step == step
        assert lessons.desk.editing is None


def test_keys_of_the_lesson_that_fell_over(lessons: LessonHand) -> None:
    lessons.give_name()
    lessons.digit(1)
    for text in ("\t\r\t\r", "25\r", "\r", "\r", "\r", "abc", "\r", "\b\b\b", "12,34", "\r"):
        strokes(lessons, text)
        names = lessons.desk.painter.panel.names()
        found = lessons.desk.editing
        assert found is None or f"field:{found.name}" in names
        focus = lessons.desk.frame().look.focus
        assert not focus or focus in names


def test_a_field_that_nobody_shows_gets_no_keyboard(hand: Hand, bare: Hand) -> None:
    for one, name in ((hand, "answer"), (hand, WIDTH), (bare, "right"), (bare, "answer")):
        one.desk.edit_field(name)
        assert one.desk.editing is None


@pytest.mark.parametrize("key", [TAB, ENTER, pygame.K_UP])
def test_a_field_that_is_gone_is_let_go_of_and_never_applied(hand: Hand, key: int) -> None:
    hand.desk.editing = Editing("answer", "12", 2, is_changed=True)
    before = hand.desk.session
    hand.key(key)
    assert hand.desk.editing is None
    assert hand.desk.session is before


def test_tab_leaves_the_answer_without_giving_it(lessons: LessonHand) -> None:
    lessons.give_name()
    lessons.digit(1)
    lessons.try_all()
    strokes(lessons, "25")
    lessons.key(TAB)
    assert lessons.walk.stage is Stage.PREDICT
    assert lessons.desk.editing is None
    focus = lessons.desk.frame().look.focus
    assert focus in lessons.desk.painter.panel.names()
    assert focus != "field:answer"
    lessons.key(TAB, SHIFT)
    lessons.key(ENTER)
    assert editing(lessons).text == "25"


# --- digits and recent files -----------------------------------------------------------


def test_a_size_is_typed_whole_where_files_are_offered(tmp_path: Path) -> None:
    disk = DiskDesk(tmp_path)
    path = disk.open("float.svg")
    assert disk.store.wait(10)
    disk.close()
    later = DiskDesk(tmp_path)
    listed = later.desk.filing.listed()
    assert listed is not None and "Ctrl" in listed.title
    strokes(later.hand, "110x50")
    assert later.desk.job is None
    assert (editing(later.hand).name, editing(later.hand).text) == (WIDTH, "110x50")
    later.hand.key(pygame.K_1, CTRL)  # the list is not seen any more
    assert later.desk.job is None
    later.hand.key(ENTER)
    shown = later.desk.frame().numbers
    assert shown is not None
    assert (shown.typed.width, shown.typed.height) == ("110", "50")
    later.desk.numbers.clear()
    later.hand.key(pygame.K_1, CTRL)
    later.finish()
    assert later.desk.session is not None and later.desk.session.artwork.path == path
    later.close()


def test_without_a_file_digits_begin_the_width_over_older_numbers_too(bare: Hand) -> None:
    strokes(bare, "66x88\r")
    strokes(bare, "110x50\r")
    shown = bare.desk.frame().numbers
    assert shown is not None
    assert (shown.typed.width, shown.typed.height) == ("110", "50")


# --- letters that begin to type --------------------------------------------------------


def test_s_gives_the_empty_width_the_keyboard_and_s_again_goes_back(hand: Hand) -> None:
    strokes(hand, "s")
    assert (editing(hand).name, editing(hand).text) == (WIDTH, "")
    strokes(hand, "s")
    assert hand.desk.editing is None
    assert hand.desk.frame().numbers is None
    strokes(hand, "sabout 48")
    assert (editing(hand).name, editing(hand).text) == (WIDTH, "about 48")


@pytest.mark.parametrize("text", ["about 48", "~66", "~66x~88"])
def test_about_a_number_begins_the_width_of_an_empty_window(bare: Hand, text: str) -> None:
    bare.send(pygame.KEYDOWN, key=pygame.K_LSHIFT, mod=SHIFT, unicode="")
    first = pygame.K_BACKQUOTE if text[0] == "~" else pygame.K_a
    bare.send(pygame.KEYDOWN, key=first, mod=SHIFT if text[0] == "~" else 0, unicode=text[0])
    bare.send(pygame.TEXTINPUT, text=text[0])
    strokes(bare, text[1:])
    assert (editing(bare).name, editing(bare).text) == (WIDTH, text)


@pytest.mark.parametrize("text", ["about 48", "abc", "tx", "s", ".5", "bq"])
@pytest.mark.parametrize("field", [WIDTH, HEIGHT])
def test_a_letter_types_into_the_field_with_the_focus(bare: Hand, field: str, text: str) -> None:
    theme = bare.desk.looks.look.theme
    tab_to(bare, f"field:{field}")
    strokes(bare, text)
    assert (editing(bare).name, editing(bare).text) == (field, text)
    assert bare.desk.looks.look.theme == theme
    bare.key(ENTER)
    if text in ("about 48", ".5"):
        assert bare.desk.editing is None
    else:
        assert text in editing(bare).error


def test_the_shape_takes_its_first_letters_from_the_focus(bare: Hand) -> None:
    tab_to(bare, f"field:{SHAPE}")
    strokes(bare, "tri\r")
    shown = bare.desk.frame().numbers
    assert shown is not None and shown.typed.kind == "triangle"


def test_letters_stay_commands_at_a_number_of_the_artwork(hand: Hand) -> None:
    tab_to(hand, "field:angle")
    strokes(hand, "t")
    assert hand.desk.editing is None
    assert hand.desk.looks.look.theme == "light"
    tab_to(hand, "field:limit:pad")
    strokes(hand, "round:80\r")
    assert hand.desk.session is not None and str(hand.desk.session.limits.pad) == "round 80 mm"


# --- what is wrong ---------------------------------------------------------------------


@pytest.mark.parametrize("key", [TAB, ENTER])
def test_nonsense_is_told_at_the_field_and_on_the_bench(bare: Hand, key: int) -> None:
    strokes(bare, "66\t88 mmm")
    bare.key(key)
    assert "unknown unit 'mmm'" in editing(bare).error
    shown = bare.desk.frame().numbers
    assert shown is not None
    said = numbers_words.headline(shown)
    assert said.title == "no answer yet"
    assert "mmm" in said.notes[0]
    bare.key(TAB)
    assert editing(bare).name == "numbers:diagonal"
    assert bare.desk.numbers.field_text(HEIGHT) == ""


# --- all of it, and pasting ------------------------------------------------------------


def check_all_and_paste(one: Hand, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clipboard, "clipboard_text", lambda: "6.5")
    strokes(one, "12")
    assert not editing(one).is_untouched
    one.key(pygame.K_a, CTRL)
    assert (editing(one).is_untouched, editing(one).text[-2:]) == (True, "12")
    strokes(one, "7")
    assert editing(one).text == "7"
    one.key(pygame.K_v, CTRL)
    assert editing(one).text == "76.5"
    one.key(pygame.K_a, CTRL)
    one.key(pygame.K_v, CTRL)
    assert editing(one).text == "6.5"


@pytest.mark.parametrize("name", ["right", "limit:pad", "cup:ring", WIDTH])
def test_all_is_selected_and_pasted_in_the_panel(
    hand: Hand, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if name == WIDTH:
        hand.key(pygame.K_s)
    hand.desk.edit_field(name)
    check_all_and_paste(hand, monkeypatch)


def test_all_is_selected_and_pasted_in_lessons(
    lessons: LessonHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert editing(lessons).name == "learner"
    check_all_and_paste(lessons, monkeypatch)


@pytest.mark.parametrize("key", [pygame.K_o, pygame.K_n, pygame.K_RETURN])
def test_all_is_selected_and_pasted_in_questions(
    hand: Hand, key: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The path to open, the notes, the name at the sign-off."""
    hand.key(key, CTRL)
    check_all_and_paste(hand, monkeypatch)


def test_what_was_typed_holds_though_all_of_it_is_selected(hand: Hand) -> None:
    hand.desk.edit_field("right")
    strokes(hand, "3.5")
    hand.key(pygame.K_a, CTRL)
    hand.key(ENTER)
    assert hand.desk.session is not None
    assert hand.desk.session.offset_mm[0] == pytest.approx(3.5)


def test_all_is_drawn_as_selected(hand: Hand) -> None:
    hand.desk.edit_field("right")
    strokes(hand, "3.5")
    before = pygame.image.tobytes(hand.surface, "RGB")
    hand.key(pygame.K_a, CTRL)
    assert pygame.image.tobytes(hand.surface, "RGB") != before
