"""Any keys in any order: nothing falls over, and the keyboard is at a thing that is shown."""

from __future__ import annotations

import random
from pathlib import Path

import pygame
import pytest

from tests.screen.conftest import Hand
from tests.screen.disk import DiskDesk
from tests.screen.lessons_hand import LessonHand, lessons_over
from viewer.lessons.catalog import all_lessons
from viewer.screen import focus
from viewer.screen.desk import Desk

CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
PLAIN = (
    pygame.K_RETURN, pygame.K_TAB, pygame.K_ESCAPE, pygame.K_BACKSPACE, pygame.K_DELETE,
    pygame.K_UP, pygame.K_DOWN, pygame.K_LEFT, pygame.K_RIGHT, pygame.K_HOME, pygame.K_END,
    pygame.K_SPACE, pygame.K_F1, pygame.K_F2, pygame.K_F11, pygame.K_PAGEDOWN, pygame.K_PAGEUP,
)  # fmt: skip
LETTERS = "abcdefghiklmnprtuwxyz0123456789.,~+-"
HELD = (pygame.K_a, pygame.K_v, pygame.K_z, pygame.K_y, pygame.K_RETURN, pygame.K_1, pygame.K_2)
TYPED = ("12,34", "abc", "66x88", "about 48", "88 mmm", "25", "round:80", "Mika", "-3", "/none")


def check(hand: Hand) -> None:
    """What has the keyboard or the focus is one of the things that are drawn."""
    desk, frame = hand.desk, hand.desk.frame()
    desk.painter.panel.update(frame, desk.layout)
    names = desk.painter.panel.names()
    editing = frame.editing
    if editing is not None:
        drawn = [name.removeprefix("field:") for name in names if name.startswith("field:")]
        if frame.dialog is not None:
            drawn = [field.name for field in frame.dialog.fields]
        elif frame.signing is not None:
            drawn = list(frame.signing.fields)
        assert editing.name in drawn, (editing, drawn)
    at = frame.look.focus
    assert not at or at in (*names, focus.CURVE), (at, names)


def stroke(hand: Hand, key: int, mod: int, letter: str) -> None:
    hand.send(pygame.KEYDOWN, key=key, mod=mod, unicode=letter)
    if letter:
        hand.send(pygame.TEXTINPUT, text=letter)
    hand.send(pygame.KEYUP, key=key, mod=mod)
    hand.desk.poll()
    check(hand)


def some_keys(hand: Hand, dice: random.Random) -> None:
    """One key, or a text typed with what gives it; now and then without a letter of its own."""
    kind = dice.random()
    if kind < 0.45:
        stroke(hand, dice.choice(PLAIN[:3]), dice.choice((0, 0, 0, SHIFT)), "")
    elif kind < 0.6:
        stroke(hand, dice.choice(PLAIN), dice.choice((0, 0, SHIFT, CTRL)), "")
    elif kind < 0.75:
        letter = dice.choice(LETTERS)
        stroke(hand, ord(letter), 0, letter)
    elif kind < 0.82:
        stroke(hand, dice.choice(HELD), CTRL, "")
    else:
        for letter in dice.choice(TYPED):
            stroke(hand, ord(letter), 0, letter)
        stroke(hand, dice.choice((pygame.K_RETURN, pygame.K_TAB, pygame.K_ESCAPE)), 0, "")


@pytest.mark.parametrize("seed", range(4))
def test_any_keys_at_the_work(tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    dice = random.Random(seed)
    disk = DiskDesk(tmp_path)
    try:
        if seed % 2:
            disk.open("float.svg")
        for round_ in range(150):
            some_keys(disk.hand, dice)
            if dice.random() < 0.05:
                stroke(disk.hand, pygame.K_RETURN, CTRL, "")
            if dice.random() < 0.05:
                stroke(disk.hand, pygame.K_s, 0, "s")
            if round_ == 75:
                disk.file("lure.svg", 1.3)
                disk.desk.asking.close()
                disk.desk.filing.open(str(tmp_path / "lure.svg"))
        assert {path.suffix for path in tmp_path.rglob("*.svg")} == {".svg"}
    finally:
        disk.close()


@pytest.mark.parametrize("seed", range(4))
def test_any_keys_in_lessons(desk: Desk, seed: int) -> None:
    dice = random.Random(100 + seed)
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        for _ in range(180):
            some_keys(hand, dice)
            teaching = hand.lessons.lesson
            if teaching.running is None and dice.random() < 0.4:
                hand.lessons.editing = None
                teaching.open(dice.randrange(len(all_lessons())))
                hand.lessons.poll()  # as the window does after whatever has happened
                check(hand)
