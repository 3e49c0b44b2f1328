"""No word of a sign-off is cut, leaves the window or meets another, whatever its size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import pygame
import pytest

from tests.screen.conftest import FakeOpener
from tests.screen.test_layout_fits import LIMITS, UI_FACTORS, WARNINGS, problems
from viewer.artwork.model import LoadOptions
from viewer.press.press import Press
from viewer.screen import model
from viewer.screen.desk import Desk
from viewer.screen.layout import layout_for
from viewer.screen.loader import open_now
from viewer.screen.painter import Painter
from viewer.screen.signing_boxes import signing_boxes
from viewer.screen.signing_entry import NO_REASON
from viewer.screen.signing_shown import DONE, NAME, NOTE, REASON, RECORDING, Refusal, SigningShown
from viewer.screen.signing_words import NEXT_AT_PRESS
from viewer.screen.text import SIZES
from viewer.screen.viewstate import Editing, Frame
from viewer.signoff import Stage

WINDOWS = ((640, 400), (1100, 700), (1600, 1000))
LONG = (
    "a sample for the club, trimmed by hand afterwards, as the skipper has seen and wants it; " * 4
)
RECORD_ERROR = "/home/harbour/records/club/sign-off.sqlite: another program holds this record " * 2
KNOWN = (
    "not approved with these settings: approved for the 90 cup before the plate is made by"
    f" Bench two, 2031-05-06T07:08:09.123Z (row 41), although the verdict is outside: {LONG}",
    "last: rejected for the 110 cup at the press by Bench one, 2031-05-06T07:08:09.123Z (row 42)",
)
TEXTS = {NAME: "Bench two " * 9, NOTE: LONG, REASON: LONG}
DONE_WORDS = (
    "Approved before the plate is made, by Bench two with a rather long name",
    "row 12345, 2031-05-06T07:08:09.123Z",
    "seal 12345/6893e393299a0de9eaf017b3b4cefaf8",
    "kept in /home/harbour/.local/share/brimcheck/the-record-of-the-club/sign-off.sqlite",
    "the reason is printed on every copy of the fit sheet",
    "next: the plate; then sign off again at the press",
)


@pytest.fixture(scope="module")
def base() -> Iterator[Frame]:
    """Artwork with warnings, a pad and an etch area, off its best place: it does not fit."""
    press = Press(limits=LIMITS)
    opener = FakeOpener()
    desk = Desk((1600, 1000), press, opener)
    path = "/jobs/harbour/a-rather-long-name-for-a-pennant-of-the-boat-club-2031-final.svg"
    opened = open_now(opener, path, LoadOptions(), press)
    loaded = replace(opened.session.loaded, warnings=WARNINGS)
    desk.show(replace(opened, session=model.start_session(loaded, press)))
    desk.change(lambda session: model.with_offset(session, -23.45, 4.56))
    desk.fit_now()
    yield desk.frame()
    desk.close()


def shown(frame: Frame, **more: object) -> SigningShown:
    session = frame.session
    assert session is not None
    plain = SigningShown(
        session, frame.placed[session.cup_index], frame.levels, None, Stage.PLATE, {}, NAME
    )
    return replace(plain, **more)  # type: ignore[arg-type]


def fitting(frame: Frame) -> SigningShown:
    """The same with a verdict that fits."""
    one = shown(frame)
    verdict = type(one.placed.verdict).FITS
    return replace(one, placed=replace(one.placed, verdict=verdict, tight=True))


STATES = {
    "plain": lambda f: shown(f),
    "fits": fitting,
    "reading": lambda f: shown(f, focus="stage", stage=Stage.PRESS),
    "known": lambda f: shown(f, known=KNOWN, focus="approve"),
    "unsound": lambda f: shown(f, known=KNOWN[:1], trouble=RECORD_ERROR),
    "typed": lambda f: shown(f, texts=TEXTS, focus=REASON, known=("nothing is recorded yet",)),
    "refused": lambda f: shown(f, refusal=Refusal(NO_REASON, REASON), focus=REASON, known=KNOWN),
    "trouble": lambda f: shown(f, refusal=Refusal(RECORD_ERROR), texts=TEXTS, focus="approve"),
    "all of it": lambda f: shown(
        f, refusal=Refusal(NO_REASON, REASON), texts=TEXTS, known=KNOWN, trouble=RECORD_ERROR
    ),
    "recording": lambda f: shown(f, state=RECORDING, texts=TEXTS, focus="approve"),
    "done": lambda f: shown(f, state=DONE, done=DONE_WORDS, focus="leave"),
    "done at the press": lambda f: shown(
        f, state=DONE, done=(*DONE_WORDS[:-1], NEXT_AT_PRESS), focus="leave", stage=Stage.PRESS
    ),
}


CASES = [*((size, factor) for size in WINDOWS for factor in UI_FACTORS), ((3840, 2160), 1.0)]


@pytest.mark.parametrize(("size", "factor"), CASES, ids=str)
def test_every_state_at_every_size(base: Frame, size: tuple[int, int], factor: float) -> None:
    theme = "light" if factor in (0.8, 1.5) else "dark"
    frame = replace(base, size=size, look=replace(base.look, theme=theme, ui_factor=factor))
    layout = layout_for(size, factor)
    allowed = {layout.px(one) for one in SIZES}
    painter, surface = Painter(), pygame.Surface(size)
    found = []
    for name, make in STATES.items():
        one = make(frame)
        editing = Editing(REASON, LONG, len(LONG), is_untouched=False) if name == "typed" else None
        painter.texts.log = log = []
        painter.draw(surface, replace(frame, signing=one, editing=editing))
        # What is typed is cut in its field on purpose, and stands below it as a whole.
        plain = [text for text in log if not (text.where == "signing field" and text.is_cut)]
        found += [f"{name}: {problem}" for problem in problems(plain, size)]
        odd = {t.text for t in log if t.where == "signing" and t.size_px not in allowed}
        found += [f"{name}: {text!r} has letters of its own" for text in odd]
        boxes = signing_boxes(one, layout, painter.texts)
        parts = [*boxes.hits.values(), boxes.caution, boxes.board, boxes.head]
        found += [
            f"{name}: {a} and {b} overlap" for a, b in combinations(parts, 2) if a.colliderect(b)
        ]
        words = [text.rect for text in log if text.where == "signing"]
        for hit_name, box in boxes.hits.items():
            if not pygame.Rect((0, 0), size).contains(box):
                found.append(f"{name}: {hit_name} leaves the window")
            found += [f"{name}: {hit_name} on a word" for rect in words if _core(rect, box)]
    assert not found, "\n" + "\n".join(found)


@pytest.mark.parametrize(("size", "factor"), CASES, ids=str)
def test_the_way_to_the_press_is_told_whole_with_its_dangers(
    base: Frame, size: tuple[int, int], factor: float
) -> None:
    frame = replace(base, size=size, look=replace(base.look, ui_factor=factor))
    painter, surface = Painter(), pygame.Surface(size)
    for name, make in STATES.items():
        one = make(frame)
        painter.texts.log = log = []
        painter.draw(surface, replace(frame, signing=one))
        (caution,) = (text for text in log if text.where == "signing caution")
        is_at_press = one.stage is Stage.PRESS
        assert ("magnets" in caution.text) is is_at_press, name
        assert ("guards" in caution.text) is is_at_press, name
        assert not caution.is_cut, name
        if NEXT_AT_PRESS in one.done:
            told = " ".join(text.text for text in log if text.where == "signing")
            assert NEXT_AT_PRESS in told


def _core(words: pygame.Rect, box: pygame.Rect) -> bool:
    """Whether letters, without what their font is higher, stand on a button or a field."""
    high = words.height
    letters = pygame.Rect(words.x, words.y + high * 2 // 10, words.width, high * 6 // 10)
    return bool(letters.colliderect(box))


@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
def test_what_must_not_be_missing_is_never_missing(base: Frame, size: tuple[int, int]) -> None:
    painter, surface = Painter(), pygame.Surface(size)
    frame = replace(base, size=size)
    painter.texts.log = log = []
    one = shown(frame, texts={NAME: "Bench two"}, known=KNOWN)
    painter.draw(surface, replace(frame, signing=one))
    told = " | ".join(text.text for text in log)
    session = frame.session
    assert session is not None
    for words in (
        "outside",
        f"{session.cup.name} cup",
        f"{session.loaded.sha256[:12]}\u2026",
        "76.00 \u00d7 26.00 mm",
        f"{session.cup.name}, max image",
        "cup left\u2013right | 23.45 mm left",
        "cup front\u2013back | 4.56 mm back",
        "before the plate",
        "at the press",
        "Bench two",
        "printed on every copy",
        "Approve anyway",
        "Reject",
        "Leave",
        "geometry",
        "! ",
    ):
        assert words in told, words


def test_the_verdict_is_the_largest_word(base: Frame) -> None:
    for size in WINDOWS:
        painter, surface = Painter(), pygame.Surface(size)
        painter.texts.log = log = []
        frame = replace(base, size=size)
        painter.draw(surface, replace(frame, signing=shown(frame, texts=TEXTS, known=KNOWN)))
        sizes = sorted(((text.size_px, text.text) for text in log), reverse=True)
        assert sizes[0][1] == "outside"
        assert sizes[0][0] >= 2 * layout_for(size).px(16)
