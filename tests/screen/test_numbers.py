"""Sizing by numbers in the window: what is typed, what is shown, and what stays untouched."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pygame
import pygame.surfarray
import pytest

from tests.screen.conftest import FakeOpener, Hand
from tests.screen.test_layout_fits import problems
from viewer.artwork.model import LoadOptions
from viewer.cli import main
from viewer.press import EtchArea, Margin, Pad, Press, PressLimits, parse_cups
from viewer.report.size_report import size_to_dict
from viewer.screen import focus, numbers_words, theme
from viewer.screen.app import run
from viewer.screen.cards import contents
from viewer.screen.desk import Desk
from viewer.screen.layout import layout_for
from viewer.screen.loader import open_now
from viewer.screen.numbers_card import GradesContent, NumbersContent, SizesContent
from viewer.screen.numbers_drawing import NumbersDrawing, figure
from viewer.screen.numbers_query import DIAGONAL, HEIGHT, RADIUS, SHAPE, WIDTH, Typed, entered
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.numbers_signs import VERDICT_OF
from viewer.screen.painter import Painter
from viewer.screen.text import SIZES, PlacedText
from viewer.screen.tips import words_for
from viewer.sizing import Grade, exact_measure

TAB, ENTER, ESCAPE, DELETE = pygame.K_TAB, pygame.K_RETURN, pygame.K_ESCAPE, pygame.K_DELETE
LIMITS = PressLimits(Pad("oval", 90, 60, margin_mm=2.0), EtchArea(80, 70))


@pytest.fixture
def bare() -> Iterator[Hand]:
    """A window without a file."""
    desk = Desk((1600, 1000), Press(), FakeOpener())
    yield Hand(desk)
    desk.close()


def shown_of(hand: Hand) -> NumbersShown:
    shown = hand.desk.frame().numbers
    assert shown is not None
    return shown


def fill(
    hand: Hand, width: str = "", height: str = "", diagonal: str = "", shape: str = ""
) -> None:
    """Type into the fields as a person does, from the width on."""
    hand.desk.edit_field(WIDTH)
    for field, text in ((WIDTH, width), (HEIGHT, height), (DIAGONAL, diagonal), (SHAPE, shape)):
        if text:
            hand.desk.edit_field(field)
            hand.type(text)
            hand.key(TAB)
    if hand.desk.editing is not None:
        hand.key(ENTER)


def telling(desk: Desk) -> str:
    return repr([content for content in contents(desk.frame()) if content is not None])


# --- the same as the command line ------------------------------------------------------

CASES = [
    (["66x88"], ("66x88", "", "", "")),
    (["66x88"], ("66", "88", "", "")),
    (["66", "by", "88"], ("66 by 88", "", "", "")),
    (["~66x~88"], ("about 66x88", "", "", "")),
    (["~66x88"], ("about 66", "88", "", "")),
    (["~66x~88", "--diagonal", "95"], ("~66x~88", "", "95", "")),
    (["66+-0.2x88+-1"], ("66+-0.2", "88\u00b11", "", "")),
    (["2 1/2in x 3in"], ("2 1/2in", "3in", "", "")),
    (["~2 5/8in x 3in"], ("~2 5/8in x 3in", "", "", "")),
    (["62,5x48"], ("62,5", "48", "", "")),
    (["60x50", "--shape", "triangle"], ("60x50", "", "", "triangle")),
    (["60x50", "--shape", "triangle", "--diagonal", "70"], ("60x50", "", "70", "t")),
    (["66x88", "--shape", "rectangle"], ("66x88", "", "", "rect")),
    (["66x88", "--shape", "ellipse"], ("66x88", "", "", "ellipse")),
    (["66x88", "--shape", "rounded:8"], ("66x88", "", "", "rounded:8")),
    (["85.60x53.98", "--shape", "rounded:3.18"], ("85.60x53.98", "", "", "rounded:3.18")),
    (["--diagonal", "80"], ("", "", "80", "")),
    (["--diagonal", "~80", "--shape", "rectangle"], ("", "", "about 80", "rect")),
    (["66x88", "--diagonal", "95"], ("66x88", "", "95", "")),
    (["~70x~60"], ("~70", "~60", "", "")),
    (["300x400"], ("300x400", "", "", "")),
]


@pytest.mark.parametrize(("words", "typed"), CASES)
@pytest.mark.parametrize("cups", ["", "60,110,108.5,105,90"])
def test_the_card_says_what_the_command_says(
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    typed: tuple[str, str, str, str],
    cups: str,
) -> None:
    main(["size", *words, *(["--cups", cups] if cups else []), "--json"])
    told = json.loads(capsys.readouterr().out)
    press = Press(cups=parse_cups(cups)) if cups else Press()
    desk = Desk((1600, 1000), press, FakeOpener())
    hand = Hand(desk)
    fill(hand, *typed)
    assert desk.editing is None
    shown = shown_of(hand)
    assert shown.answer is not None
    mine = size_to_dict(shown.answer)
    for key in ("size", "smallest_circle_mm", "cups", "smallest_cup"):
        assert mine[key] == told[key], key
    _check_cards(desk, told)
    _check_sum(shown, told)
    desk.close()


def _check_cards(desk: Desk, told: dict[str, object]) -> None:
    """Grades, what to ask for, and greatest sizes, as the panel says them."""
    cups = told["cups"]
    assert isinstance(cups, list)
    cards = contents(desk.frame())
    rows = next(card for card in cards if isinstance(card, GradesContent)).rows
    assert [row.name for row in rows] == [cup["name"] for cup in cups]
    assert [str(row.grade) for row in rows] == [cup["grade"] for cup in cups]
    assert [row.word.endswith(", tight") for row in rows] == [cup["tight"] for cup in cups]
    chosen = next(i for i, row in enumerate(rows) if row.is_chosen)
    said = cups[chosen]["ask"] or cups[chosen]["why"]
    assert rows[chosen].note == numbers_words.spelled(said)
    for row, cup in zip(rows, cups, strict=True):
        assert f"{np.floor(100 * cup['max_image_diameter_mm'] + 1e-7) / 100:.2f}" in row.limit
        if cup["ask"]:
            assert row.note and numbers_words.spelled(cup["ask"]).startswith(row.note.rstrip("."))
    table = next(card for card in cards if isinstance(card, SizesContent))
    for (_, cells), cup in zip(table.rows, cups, strict=True):
        by_name = dict(zip(table.headings, cells, strict=True))
        assert float(by_name["square"]) == pytest.approx(cup["largest_square_mm"], abs=0.0101)
        assert float(by_name["circle"]) == pytest.approx(cup["largest_circle_mm"], abs=0.0101)
        for side in ("width", "height"):
            most = cup[f"greatest_{side}_mm"]
            if side in by_name:
                assert (by_name[side] == "none") == (most is None)
                assert most is None or 0 <= most - float(by_name[side]) < 0.0101


def _check_sum(shown: NumbersShown, told: dict[str, object]) -> None:
    """Every line of the sum is one of the command's, and the deciding ones are there."""
    sums = told["sums"]
    assert isinstance(sums, list)
    every = [line for worked in sums for line in worked["lines"]]
    mine = [line for worked in shown.sums for line in worked.lines]
    assert mine
    assert set(mine) <= set(every)
    assert any(line.startswith(f"{shown.cup.name} cup: ") for line in mine)
    found = shown.found
    assert found is not None
    ends = {Grade.FITS: ": fits", Grade.CANNOT: ": cannot fit"}
    assert any(line.endswith(ends.get(found.grade, ": not sure to fit")) for line in mine)
    titles = {worked.title for worked in shown.sums}
    if found.grade not in (Grade.FITS, Grade.CANNOT):
        assert {"at most", "at least"} <= titles or "the smallest circle" in titles


def test_published_values(bare: Hand) -> None:
    # Pythagoras' triple 66, 88, 110; ISO/IEC 7810 ID-1; ISO 216 A6 (105 x 148).
    for text, diameter in (("66x88", 110.0), ("85.60x53.98", 101.1988), ("105x148", 181.4635)):
        bare.desk.numbers.clear()
        fill(bare, text, shape="rectangle")
        circle = shown_of(bare).circle
        assert circle is not None
        assert circle.low == circle.high
        assert float(circle.high) == pytest.approx(diameter, abs=5e-5)
    fill(bare, "66x88")
    assert "root of 12100 = 110, exactly" in {
        line for worked in shown_of(bare).sums for line in worked.lines
    }


def test_nothing_to_spare_still_fits() -> None:
    # 20, 21, 29 is a Pythagorean triple: a bare circle of 29 is filled exactly.
    cups = parse_cups("29", 0.0, Margin(0.0, False))
    desk = Desk((1600, 1000), Press(cups=cups), FakeOpener())
    hand = Hand(desk)
    fill(hand, "20x21", shape="rectangle")
    found = shown_of(hand).found
    assert found is not None
    assert (found.grade, found.spare_mm, found.max_image_mm) == (Grade.FITS, 0, 29)
    fill(hand, "20.001")
    found = shown_of(hand).found
    assert found is not None
    assert found.grade is Grade.CANNOT
    desk.close()


# --- typing ----------------------------------------------------------------------------


def test_the_answer_follows_while_one_types(bare: Hand) -> None:
    bare.key(pygame.K_s)
    assert bare.desk.editing is not None
    assert bare.desk.editing.name == WIDTH
    assert bare.desk.editing.text == ""
    for letter in "66x":
        bare.type(letter)
        assert shown_of(bare).answer is None
        assert bare.desk.editing is not None
        assert bare.desk.editing.error == ""
    assert numbers_words.headline(shown_of(bare)).title == numbers_words.TYPING
    bare.type("8")
    first = shown_of(bare).answer
    assert first is not None
    bare.type("8")
    shown = shown_of(bare)
    assert shown.answer is not None
    assert shown.answer is not first
    assert float(shown.answer.circle.high) == 110.0
    bare.key(TAB)
    # The height came along: Tab goes past it.
    assert bare.desk.editing is not None
    assert bare.desk.editing.name == DIAGONAL
    assert shown_of(bare).typed == Typed(width="66", height="88")


def test_half_a_number_never_leaves_an_old_grade(bare: Hand) -> None:
    fill(bare, "66x88")
    bare.desk.edit_field(WIDTH)
    for text in ("2", " 1", "/"):
        bare.type(text)
    assert shown_of(bare).answer is None
    rows = next(c for c in contents(bare.desk.frame()) if isinstance(c, GradesContent)).rows
    assert {row.grade for row in rows} == {None}
    bare.key(ESCAPE)
    assert shown_of(bare).answer is not None
    assert shown_of(bare).typed.width == "66"


@pytest.mark.parametrize(
    ("field", "text", "told"),
    [
        (WIDTH, "two", "not a length"),
        (WIDTH, "66x", "width x height"),
        (WIDTH, "66px x 88", "pixels"),
        (HEIGHT, "-5", "greater than zero"),
        (DIAGONAL, "0.4+-0.5", "zero"),
        (SHAPE, "hexagon", "choose one of"),
        (SHAPE, "r", "choose one of"),
    ],
)
def test_what_makes_no_sense_is_told_at_the_field(
    bare: Hand, field: str, text: str, told: str
) -> None:
    bare.desk.edit_field(field)
    bare.type(text)
    assert bare.desk.editing is not None
    assert bare.desk.editing.error == ""
    bare.key(ENTER)
    assert bare.desk.editing is not None
    assert bare.desk.editing.name == field
    assert told in bare.desk.editing.error
    assert "\n" not in bare.desk.editing.error
    assert "--" not in bare.desk.editing.error
    card = next(c for c in contents(bare.desk.frame()) if isinstance(c, NumbersContent))
    assert (card.error_at, card.error) == (field, bare.desk.editing.error)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (("66x88", "", "80", ""), "less than the longer side"),
        (("66x88", "", "111", ""), "more than"),
        (("66x88", "", "95", "rect"), "choose the shape unknown"),
        (("66", "3in", "", ""), "has no unit"),
        (("66x88", "", "", "rounded:40"), "corner radius 40 mm is too large"),
    ],
)
def test_numbers_that_contradict_each_other(
    bare: Hand, typed: tuple[str, str, str, str], told: str
) -> None:
    fill(bare, *typed)
    shown = shown_of(bare)
    assert shown.answer is None
    assert told in shown.problem
    assert "--" not in shown.problem
    card = next(c for c in contents(bare.desk.frame()) if isinstance(c, NumbersContent))
    assert card.error == shown.problem
    # While the wrong one is mended, no error stands there.
    bare.desk.edit_field(shown.problem_field)
    bare.type("9")
    assert shown_of(bare).problem == ""


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (Typed(), "width and height"),
        (Typed(width="66"), "the height is missing"),
        (Typed(height="66"), "the width is missing"),
        (Typed(height="66", diagonal="80"), "the width is missing"),
        (Typed(width="66", height="88", kind="rounded"), "the corner radius is missing"),
    ],
)
def test_what_is_still_missing(bare: Hand, typed: Typed, told: str) -> None:
    for field in typed.fields:
        bare.desk.numbers.enter(field, typed.text(field))
    assert told in numbers_words.headline(shown_of(bare)).title


def test_the_corner_radius_has_a_field_for_rounded_alone(bare: Hand) -> None:
    fill(bare, "66x88")
    assert RADIUS not in bare.desk.numbers.fields
    bare.desk.edit_field(SHAPE)
    bare.type("rounded")
    bare.key(TAB)
    assert bare.desk.editing is not None
    assert bare.desk.editing.name == RADIUS
    bare.type("8")
    query = shown_of(bare).query
    assert query is not None
    assert query.shape.radius == replace(exact_measure(8), text="8")
    bare.key(TAB)
    assert bare.desk.editing is not None
    assert bare.desk.editing.name == WIDTH


def test_the_shape_is_chosen_with_the_arrows_or_a_click(bare: Hand) -> None:
    fill(bare, "66x88")
    bare.desk.edit_field(SHAPE)
    bare.key(pygame.K_DOWN)
    bare.key(pygame.K_DOWN)
    # The answer follows the list.
    assert shown_of(bare).typed.kind == "rectangle"
    bare.key(pygame.K_DOWN)
    bare.key(ENTER)
    assert bare.desk.editing is None
    assert shown_of(bare).typed.kind == "ellipse"
    box = bare.desk.painter.panel.place_of(f"field:{SHAPE}")
    assert box is not None
    bare.click(box.center)
    box = bare.desk.painter.panel.place_of("choice:4")
    assert box is not None
    bare.click(box.center)
    assert shown_of(bare).typed.kind == "triangle"
    assert bare.desk.editing is None


def test_the_first_letters_of_a_shape_are_enough() -> None:
    for letters, kind in (
        ("e", "ellipse"),
        ("rec", "rectangle"),
        ("T", "triangle"),
        ("", "unknown"),
    ):
        assert entered(Typed(), SHAPE, letters).kind == kind


def test_about_in_front_of_a_whole_size_counts_for_both() -> None:
    assert entered(Typed(), WIDTH, "about 66 x 88") == Typed(width="about 66", height="about 88")
    assert entered(Typed(), WIDTH, "about 66 x 88+-2") == Typed(width="about 66", height="88+-2")
    assert entered(Typed(), WIDTH, "66 x about 88") == Typed(width="66", height="about 88")


def test_clear_all_is_ready_for_the_next_call(bare: Hand) -> None:
    fill(bare, "66x88", diagonal="95", shape="triangle")
    bare.key(pygame.K_COMMA)
    assert shown_of(bare).chosen != 0
    bare.key(DELETE)
    assert shown_of(bare).typed == Typed()
    assert bare.desk.editing is not None
    assert bare.desk.editing.name == WIDTH
    bare.type("40x30")
    bare.key(ENTER)
    assert shown_of(bare).cup.name == "60"
    box = bare.desk.painter.panel.place_of("numbers:clear")
    assert box is not None
    bare.click(box.center)
    assert shown_of(bare).typed.is_new


# --- keys ------------------------------------------------------------------------------


def test_the_first_digit_begins_the_width(bare: Hand) -> None:
    bare.key(pygame.K_6)
    bare.type("6")
    assert bare.desk.editing is not None
    assert (bare.desk.editing.name, bare.desk.editing.text) == (WIDTH, "6")


def test_digits_choose_cups_beside_a_file_alone(hand: Hand) -> None:
    hand.key(pygame.K_s)
    hand.type("66x88")
    hand.key(ENTER)
    for key, name in ((pygame.K_3, "90"), (pygame.K_PERIOD, "110"), (pygame.K_9, "110")):
        hand.key(key)
        assert shown_of(hand).cup.name == name
    assert hand.desk.editing is None


def test_cups_are_chosen_by_step_and_click(bare: Hand) -> None:
    fill(bare, "66x88")
    assert shown_of(bare).cup.name == "130"
    for key, name in (
        (pygame.K_COMMA, "110"), (pygame.K_UP, "90"),
        (pygame.K_DOWN, "110"), (pygame.K_COMMA, "90"),
    ):  # fmt: skip
        bare.key(key)
        assert shown_of(bare).cup.name == name
    box = bare.desk.painter.panel.place_of("numbers:cup:3")
    assert box is not None
    bare.click(box.center)
    shown = shown_of(bare)
    assert shown.cup.name == "110"
    assert any(line.startswith("110 cup:") for worked in shown.sums for line in worked.lines)
    # What is to be seen first is still said of the cup that surely fits.
    assert numbers_words.headline(shown).title == "smallest cup that surely fits: 130 (tight)"


def test_tab_goes_through_everything_without_a_file(bare: Hand) -> None:
    fill(bare, "66x88")
    names = focus.stops(bare.desk)
    assert names[:5] == (
        f"field:{WIDTH}", f"field:{HEIGHT}", f"field:{DIAGONAL}", f"field:{SHAPE}",
        "numbers:clear",
    )  # fmt: skip
    assert names[5:] == tuple(f"numbers:cup:{index}" for index in range(5))
    seen = []
    for _ in names:
        bare.key(TAB)
        seen.append(bare.desk.looks.look.focus)
    assert tuple(seen) == names
    bare.key(ENTER)
    assert shown_of(bare).chosen == 4
    for name in (*names, "numbers:back", f"field:{RADIUS}"):
        assert words_for(name)[0], name


# --- with a file -----------------------------------------------------------------------


def test_s_shows_the_numbers_and_goes_back(hand: Hand) -> None:
    hand.desk.fit_now()
    hand.show()
    before = hand.desk.session
    assert hand.desk.frame().numbers is None
    artwork_cards = contents(hand.desk.frame())
    picture = pygame.surfarray.array3d(hand.surface)
    hand.key(pygame.K_s)
    assert shown_of(hand).has_file
    fill(hand, "66x88")
    for key, mod in (
        (pygame.K_UP, 0), (pygame.K_LEFT, 0), (pygame.K_b, 0), (pygame.K_q, 0), (pygame.K_1, 0),
        (pygame.K_z, pygame.KMOD_LCTRL), (pygame.K_r, 0), (pygame.K_l, 0), (pygame.K_p, 0),
        (pygame.K_m, 0), (pygame.K_PERIOD, 0), (pygame.K_F2, 0), (pygame.K_a, 0),
        (pygame.K_RETURN, pygame.KMOD_LCTRL), (pygame.K_y, 0), (pygame.K_PLUS, 0),
    ):  # fmt: skip
        hand.key(key, mod)
    hand.drag((500, 400), (600, 450))
    hand.wheel((500, 400), 2)
    assert hand.desk.session is before
    assert not hand.desk.history.can_undo
    hand.key(ESCAPE)
    assert hand.desk.frame().numbers is None
    assert contents(hand.desk.frame()) == artwork_cards
    assert (pygame.surfarray.array3d(hand.surface) == picture).all()
    hand.key(pygame.K_s)
    assert shown_of(hand).typed == Typed(width="66", height="88")
    hand.key(pygame.K_s)
    assert hand.desk.frame().numbers is None
    assert hand.desk.session is before


def test_numbers_stay_when_a_file_is_opened(bare: Hand) -> None:
    fill(bare, "66x88")
    bare.desk.edit_field(DIAGONAL)
    bare.type("95")
    # Dropped while a number is still in its field.
    bare.send(pygame.DROPFILE, file="/jobs/pennant.svg")
    assert bare.desk.job is not None
    bare.desk.job.wait(10)
    bare.desk.poll()
    assert bare.desk.session is not None
    assert bare.desk.frame().numbers is None
    bare.show()
    bare.key(pygame.K_s)
    assert shown_of(bare).typed == Typed(width="66", height="88", diagonal="95")
    box = bare.desk.painter.panel.place_of("numbers:back")
    assert box is not None
    bare.click(box.center)
    assert bare.desk.frame().numbers is None


def test_cups_and_limits_are_those_of_the_work(hand: Hand) -> None:
    hand.desk.change(lambda s: s)
    hand.desk.edit_field("cup:diameter")
    hand.type("100")
    hand.key(ENTER)
    hand.desk.set_limits(LIMITS)
    hand.key(pygame.K_s)
    fill(hand, "50x40", shape="rectangle")
    assert shown_of(hand).is_working
    assert hand.desk.numbers.wait(30)
    answer = shown_of(hand).answer
    assert answer is not None
    assert answer.limits == LIMITS
    assert "100" in [cup.cup.name for cup in answer.cups]


def test_pad_and_etch_area_are_judged_in_a_thread() -> None:
    woken: list[bool] = []
    press = Press(limits=LIMITS)
    desk = Desk((1600, 1000), press, FakeOpener(), lambda: woken.append(True))
    hand = Hand(desk)
    fill(hand, "50x40", shape="rectangle")
    shown = shown_of(hand)
    assert (shown.answer, shown.is_working) == (None, True)
    assert numbers_words.headline(shown).title == numbers_words.WORKING
    rows = next(c for c in contents(desk.frame()) if isinstance(c, GradesContent)).rows
    assert {(row.grade, row.word) for row in rows} == {(None, numbers_words.WORKING)}
    assert desk.numbers.wait(60)
    first = shown_of(hand).answer
    assert first is not None
    assert woken
    # Another number: the grades of before are gone at once.
    fill(hand, "95")
    assert shown_of(hand).answer is None
    assert desk.numbers.wait(60)
    second = shown_of(hand).answer
    assert second is not None
    assert [c.grade for c in second.cups] != [c.grade for c in first.cups]
    assert "pad" in second.limits_note
    # The table is of the cup alone then, and says so.
    assert "alone" in numbers_words.cup_sizes_title(shown_of(hand))
    desk.close()


# --- what is seen ----------------------------------------------------------------------


def test_no_grade_is_told_by_color_alone() -> None:
    assert len(set(VERDICT_OF.values())) == len(Grade)


def test_headlines(bare: Hand) -> None:
    for typed, title in (
        (("66x88", "", "", ""), "smallest cup that surely fits: 130 (tight)"),
        (("", "", "80", ""), "smallest cup that surely fits: 110"),
        (("300x400", "", "", ""), "cannot fit any of these cups"),
        (("90x90", "", "", ""), "130 cup: depends on the shape: ask for the longest diagonal"),
    ):
        bare.desk.numbers.clear()
        fill(bare, *typed)
        assert numbers_words.headline(shown_of(bare)).title == title
    bare.desk.numbers.clear()
    fill(bare, "about 66x88", shape="rect")
    found = numbers_words.headline(shown_of(bare))
    assert found.title.startswith("130 cup: too close to call: ask for the ")
    assert "\u00b1" in found.title


STATES: dict[str, tuple[tuple[str, ...], Press]] = {
    "empty": (("", "", "", ""), Press()),
    "fits": (("66x88", "", "", ""), Press()),
    "about": (("about 66x88", "", "95", ""), Press()),
    "too close": (("about 66x88", "", "", "rect"), Press()),
    "inches": (("2 5/8+-1/16in", "3in", "", "rounded:1/8in"), Press()),
    "triangle": (("60x50", "", "", "triangle"), Press()),
    "ellipse": (("20x90", "", "", "ellipse"), Press()),
    "diagonal": (("", "", "about 80", ""), Press()),
    "wrong": (("66x88", "", "95", "rect"), Press()),
    "missing": (("66", "", "", ""), Press()),
    "cannot": (("300.123456x400", "", "", ""), Press()),
    "all grades": (("~70x~60", "", "", ""), Press(cups=parse_cups("60,110,108.5,105,90,82.5"))),
}
WINDOWS = ((640, 400), (1100, 700), (1600, 1000))


@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("state", STATES)
def test_nothing_is_cut_or_meets_at_any_size(state: str, size: tuple[int, int]) -> None:
    typed, press = STATES[state]
    desk = Desk(size, press, FakeOpener())
    fill(Hand(desk), *typed)
    frame, found = desk.frame(), []
    for factor in (0.8, 1.0, 1.5, 2.0):
        look = replace(frame.look, ui_factor=factor, theme="light" if factor > 1 else "dark")
        log = texts_of(replace(frame, look=look))
        found += [f"{factor}: {problem}" for problem in problems(log, size)]
        allowed = {layout_for(size, factor).px(letters) for letters in SIZES}
        found += [f"{factor}: size: {one.text}" for one in log if one.size_px not in allowed]
        if state == "fits":
            told = [one.text for one in log if one.where == "sum"]
            assert "66 \u00d7 66 = 4356" in told
            assert told[-1].endswith("fits")
    assert not found, "\n" + "\n".join(found)
    desk.close()


def texts_of(frame: object) -> list[PlacedText]:
    painter = Painter()
    painter.texts.log = []
    painter.draw(pygame.Surface(frame.size), frame)  # type: ignore[attr-defined, arg-type]
    return painter.texts.log


@pytest.mark.parametrize("size", [(640, 400), (1100, 700), (1600, 1000)])
def test_choices_errors_and_press_at_any_size(size: tuple[int, int]) -> None:
    desk = Desk(size, Press(limits=LIMITS), FakeOpener())
    hand = Hand(desk)
    fill(hand, "95x40", shape="rect")
    frames = [desk.frame()]
    assert desk.numbers.wait(60)
    frames.append(desk.frame())
    desk.edit_field(SHAPE)
    frames.append(desk.frame())
    desk.edit_field(WIDTH)
    hand.type("66x88x")
    hand.key(ENTER)
    frames.append(desk.frame())
    for frame in frames:
        assert not problems(texts_of(frame), size)
    desk.close()


def test_everything_is_drawn_to_one_scale(bare: Hand) -> None:
    """Ring and largest image measured along the middle row; the rectangle by its corners."""
    fill(bare, "66x88", shape="rectangle")
    shown = shown_of(bare)
    assert shown.query is not None
    assert shown.circle is not None
    surface = pygame.Surface((800, 900))
    box = pygame.Rect(0, 0, 800, 900)
    NumbersDrawing(bare.desk.painter.texts).draw(surface, shown, box, layout_for((1600, 1000)))
    row = pygame.surfarray.array3d(surface).astype(int)[:, 410:415].mean(axis=1)
    first = np.flatnonzero(np.abs(row - theme.PAGE).sum(axis=1) > 200)[0]
    blue = np.flatnonzero(np.abs(row - theme.LIMIT).sum(axis=1) < 60)[0]
    assert (400 - blue) / (400 - first) == pytest.approx(110.5 / 130, abs=0.01)
    drawn = figure(shown.query, shown.circle)
    assert [np.hypot(*point) for point in drawn.filled] == pytest.approx([55.0] * 4)
    assert 2 * np.hypot(*drawn.diagonal[0]) == pytest.approx(110.0)


def test_the_least_circle_of_a_triangle_stands_on_its_corners(bare: Hand) -> None:
    for text in ("60x50", "60x20", "30x70"):
        bare.desk.numbers.clear()
        fill(bare, text, shape="triangle")
        shown = shown_of(bare)
        assert shown.query is not None
        assert shown.circle is not None
        drawn = figure(shown.query, shown.circle)
        far = [np.hypot(x - drawn.low_center[0], y - drawn.low_center[1]) for x, y in drawn.filled]
        assert max(far) == pytest.approx(float(shown.circle.low) / 2, rel=1e-9)


def test_the_snapshot_without_a_file_shows_the_card(tmp_path: Path) -> None:
    target = tmp_path / "bare.png"
    assert run(None, LoadOptions(), Press(), snapshot=str(target), size=(1100, 700)) == 0
    desk = Desk((1100, 700), Press(), FakeOpener())
    frame = desk.frame()
    assert isinstance(contents(frame)[0], NumbersContent)
    surface = pygame.Surface(desk.size)
    Painter().draw(surface, frame)
    saved = pygame.surfarray.array3d(pygame.image.load(str(target)))
    assert (saved == pygame.surfarray.array3d(surface)).all()
    said = {one.text for one in texts_of(frame)}
    assert {"Drop a file here", "Size by numbers", "longest diagonal"} <= said
    desk.close()


# --- drawn anew ------------------------------------------------------------------------

TYPED = ("66x88", "about 48", "2 1/2 in", "3", "95", "x", "~70x~60", "r", "rounded:5", "t", "80")


def _random_event(hand: Hand, rng: random.Random) -> None:
    ctrl = pygame.KMOD_LCTRL
    keys = [
        (pygame.K_s, 0), (ENTER, 0), (TAB, 0), (TAB, pygame.KMOD_LSHIFT), (ESCAPE, 0),
        (DELETE, 0), (pygame.K_2, 0), (pygame.K_5, 0), (pygame.K_PERIOD, 0), (pygame.K_DOWN, 0),
        (pygame.K_UP, 0), (pygame.K_t, 0), (pygame.K_F1, 0), (pygame.K_BACKSPACE, 0),
        (pygame.K_EQUALS, ctrl), (pygame.K_0, ctrl), (pygame.K_b, 0), (pygame.K_q, 0),
        (pygame.K_PAGEDOWN, pygame.KMOD_LSHIFT), (pygame.K_F11, 0),
    ]  # fmt: skip
    spot = (rng.randrange(hand.desk.size[0]), rng.randrange(hand.desk.size[1]))
    kind = rng.randrange(8)
    if kind == 0:
        hand.click(spot)
    elif kind == 1:
        hand.wheel(spot, rng.choice((-2, 1)))
    elif kind == 2:
        hand.drag(spot, (spot[0] // 2, spot[1] // 2))
    elif kind in (3, 4):
        fields = hand.desk.numbers.fields
        if fields:
            hand.desk.edit_field(rng.choice(fields))
            hand.type(rng.choice(TYPED))
            hand.key(rng.choice((ENTER, TAB, ESCAPE, pygame.K_DOWN)))
    elif kind == 5:
        names = hand.desk.painter.panel.names()
        box = hand.desk.painter.panel.place_of(rng.choice(names)) if names else None
        if box is not None:
            hand.move(box.center)
            hand.show()
            hand.click(box.center)
    elif kind == 6 and rng.random() < 0.3:
        width, height = rng.choice(((1600, 1000), (1100, 700), (900, 640)))
        hand.send(pygame.VIDEORESIZE, w=width, h=height, size=(width, height))
        hand.show()
    else:
        hand.key(*rng.choice(keys))


@pytest.mark.parametrize("seed", range(6))
def test_after_any_events_the_frame_equals_a_fresh_one(opener: FakeOpener, seed: int) -> None:
    press = Press(limits=LIMITS) if seed == 5 else Press()
    desk = Desk((1600, 1000), press, opener)
    if seed % 2:
        desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), press))
    hand, rng, seen = Hand(desk), random.Random(seed), 0
    hand.key(pygame.K_s)
    for number in range(60):
        _random_event(hand, rng)
        if desk.frame().numbers is None and rng.random() < 0.3:
            hand.key(pygame.K_s)
        seen += desk.frame().numbers is not None
        if number % 6 == 5:
            frame = desk.frame()
            desk.painter.draw(hand.surface, frame)
            fresh = pygame.Surface(desk.size)
            Painter().draw(fresh, frame)
            new, old = (pygame.surfarray.array3d(one) for one in (fresh, hand.surface))
            different = np.argwhere((new != old).any(axis=2))
            assert len(different) == 0, f"after {number} events, first at {different[0]}"
    assert seen > 5
    desk.close()


def test_no_two_states_look_alike(bare: Hand) -> None:
    pictures = []
    for text in ("66x88", "66x89", "60x50", "about 66x88"):
        fill(bare, text)
        pictures.append(pygame.surfarray.array3d(bare.surface))
    for one, other in combinations(pictures, 2):
        assert (one != other).any()
