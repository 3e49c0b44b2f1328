"""Theme, UI scale, big verdict, life-size, focus, tips, help: by events, as a person does."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pygame
import pytest

from viewer.artwork.model import LoadOptions
from viewer.job.settings import Settings
from viewer.press.press import Press
from viewer.screen import life_size, model, theme
from viewer.screen.big_verdict import draw_big
from viewer.screen.commands import COMMANDS
from viewer.screen.curve_strip import plot_box
from viewer.screen.desk import Desk
from viewer.screen.help_overlay import help_groups
from viewer.screen.layout import layout_for
from viewer.screen.life_size import outline_box
from viewer.screen.loader import open_now
from viewer.screen.look import CARD_MM, CardOutline
from viewer.screen.monitor import Monitor, present_monitor, system_theme
from viewer.screen.overlay import knob_px, overlay_place
from viewer.screen.painter import Painter
from viewer.screen.patterns import pattern_of
from viewer.screen.text import PlacedText
from viewer.screen.tips import REST_S, TIPS, words_for
from viewer.screen.wording import clearance

if TYPE_CHECKING:
    from tests.screen.conftest import FakeOpener, Hand

CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
SCREEN = Path(__file__).parents[2] / "viewer" / "screen"
MONITOR = Monitor("display 1", (1920, 1080))


class Clock:
    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock(hand: Hand) -> Clock:
    clock = Clock()
    hand.desk.looks.clock = clock
    hand.desk.looks.monitor = lambda: MONITOR
    return clock


def rest(hand: Hand, clock: Clock, seconds: float) -> None:
    clock.now_s += seconds
    hand.desk.poll()
    hand.show()


def texts_shown(hand: Hand) -> list[PlacedText]:
    painter = Painter()
    painter.texts.log = []
    painter.draw(pygame.Surface(hand.desk.size), hand.desk.frame())
    return painter.texts.log


def words_at(hand: Hand, where: str) -> str:
    return " ".join(one.text for one in texts_shown(hand) if one.where == where)


# --- theme ------------------------------------------------------------------------


def test_t_changes_the_theme_and_the_choice_is_kept(hand: Hand, clock: Clock) -> None:
    kept = [Settings(theme="system")]

    def keep(change: Callable[[Settings], Settings]) -> None:
        kept.append(change(kept[-1]))

    hand.desk.looks.use_settings(kept[0], keep, lambda: "light")
    for mod, choice, shown in (
        (0, "dark", "dark"),
        (0, "light", "light"),
        (0, "dark", "dark"),
        (SHIFT, "system", "light"),
    ):
        hand.key(pygame.K_t, mod)
        assert kept[-1].theme == choice
        assert hand.desk.frame().look.theme == shown
        corner = hand.surface.get_at((hand.desk.size[0] - 2, 2))[:3]
        assert corner == theme.PALETTES[shown]["WINDOW"]
    assert "system" in words_at(hand, "status")
    rest(hand, clock, 5)
    assert "F1" in words_at(hand, "status")


def test_a_change_of_theme_leaves_nothing_of_the_other(hand: Hand, clock: Clock) -> None:
    hand.key(pygame.K_t)
    frame = hand.desk.frame()
    fresh = pygame.Surface(hand.desk.size)
    Painter().draw(fresh, frame)
    shown = pygame.surfarray.array3d(hand.surface)
    assert (pygame.surfarray.array3d(fresh) == shown).all()
    for name in ("CARD", "WINDOW", "BENCH", "STRIP", "FIELD"):
        other = np.array(theme.PALETTES["dark"][name])
        assert not (shown == other).all(axis=2).any(), name


def test_both_themes_have_the_same_names() -> None:
    assert set(theme.PALETTES["light"]) == set(theme.PALETTES["dark"])
    for values in theme.PALETTES.values():
        assert set(values["VERDICT_TEXT"]) == set(theme.VERDICT_WORD)
        assert set(values["VERDICT_BAR"]) == set(theme.VERDICT_WORD)


def test_no_module_keeps_a_color_of_the_theme_it_was_imported_with() -> None:
    """A color imported by its name, or read while importing, would not follow the theme."""
    changing = set(theme.PALETTES["light"])
    found = []
    for path in sorted(SCREEN.glob("*.py")):
        if path.name == "theme.py":
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module == "viewer.screen.theme":
                found += [f"{path.name}: {a.name}" for a in node.names if a.name in changing]
        for node in _run_at_import(tree):
            if isinstance(node, ast.Attribute) and node.attr in changing:
                found.append(f"{path.name}:{node.lineno}: theme.{node.attr}")
    assert found == []


def _run_at_import(tree: ast.AST) -> list[ast.AST]:
    """All nodes outside of functions' bodies; default values count as run."""
    found: list[ast.AST] = []
    for child in ast.iter_child_nodes(tree):
        if isinstance(child, (ast.FunctionDef, ast.Lambda)):
            found += [n for d in child.args.defaults for n in ast.walk(d)]
            continue
        found += [child, *_run_at_import(child)]
    return found


TEXT_ON: dict[str, tuple[str, ...]] = {
    "TEXT": (
        "CARD", "CARD_ROW", "STRIP", "WINDOW", "PILL", "RULER", "CALLOUT", "FIELD", "BENCH",
        "BUTTON", "BUTTON_MAIN", "SELECTION",
    ),
    "TEXT_SOFT": (
        "CARD", "CARD_ROW", "STRIP", "WINDOW", "PILL", "RULER", "CALLOUT", "FIELD", "BENCH",
    ),
    "TEXT_DIM": ("CARD", "WINDOW", "FIELD", "STRIP"),
    "TEXT_OFF": ("BUTTON",),
    "TEXT_ON_MAIN": ("BUTTON_MAIN",),
    "PAD_TEXT": ("PILL",),
    "ETCH_TEXT": ("PILL",),
    "OTHER_TEXT": ("PILL", "CARD"),
}  # fmt: skip
MARKS_ON: dict[str, tuple[str, ...]] = {
    "MARK": ("PAGE", "BENCH"),
    "LIMIT": ("PAGE", "BENCH"),
    "OTHER": ("PAGE", "BENCH"),
    "PAD": ("PAGE", "BENCH"),
    "ETCH": ("PAGE", "BENCH"),
    "DASH_ON_BENCH": ("BENCH",),
    "INK_LINE": ("PAGE", "LIFT"),
    "RING_EDGE": ("PAGE", "RING", "LIFT"),
    "RULER_TICK": ("RULER",),
    "CURVE": ("STRIP",),
    "FIELD_EDGE": ("CARD", "FIELD"),
    "SCROLL": ("WINDOW",),
    "SKY": ("CARD", "FIELD", "STRIP"),
    "ORANGE": ("BENCH", "CARD"),
    "FOCUS": ("CARD", "CARD_ROW", "WINDOW", "STRIP", "BUTTON", "FIELD"),
    "AMBER": ("INK_LINE",),
    "VERMILION": ("PAGE",),
}


@pytest.mark.parametrize("name", sorted(theme.PALETTES))
def test_contrast_of_text_and_marks(name: str) -> None:
    """WCAG 2.2, 1.4.3 and 1.4.11: 4.5:1 for text, 3:1 for marks."""
    theme.use(name)
    try:
        pairs = [(a, g, 4.5) for a, grounds in TEXT_ON.items() for g in grounds]
        pairs += [(a, g, 3.0) for a, grounds in MARKS_ON.items() for g in grounds]
        for one, ground, least in pairs:
            found = theme.contrast(getattr(theme, one), getattr(theme, ground))
            assert found >= least, (one, ground, found)
        for verdict, color in theme.VERDICT_TEXT.items():
            for ground in ("CARD", "CARD_ROW", "FIELD", "CALLOUT"):
                assert theme.contrast(color, getattr(theme, ground)) >= 4.5, (verdict, ground)
        for verdict, color in theme.VERDICT_BAR.items():
            for ground in ("BAR_TRACK", "CARD", "CARD_ROW", "STRIP"):
                assert theme.contrast(color, getattr(theme, ground)) >= 3.0, (verdict, ground)
    finally:
        theme.use("dark")


def test_contrast_of_black_and_white_and_of_a_published_pair() -> None:
    assert theme.contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    # WCAG's own technique G18 gives #777777 on white as 4.48, just too little.
    assert theme.contrast((0x77, 0x77, 0x77), (255, 255, 255)) == pytest.approx(4.48, abs=0.005)


def test_every_verdict_has_a_pattern_of_its_own() -> None:
    patterns = [pattern_of(verdict, 40, 24, 9) for verdict in theme.VERDICT_WORD]
    for index, one in enumerate(patterns):
        for other in patterns[index + 1 :]:
            assert (one != other).mean() > 0.1
    assert not pattern_of("fits", 40, 24, 9).any()
    assert all(p.mean() < 0.7 for p in patterns)


def test_the_system_is_asked_without_harm() -> None:
    assert system_theme() in ("dark", "light")
    found = present_monitor()
    assert found is None or min(found.size_px) > 0


# --- UI scale ------------------------------------------------------------------------


def test_letters_grow_and_shrink_live(hand: Hand, clock: Clock) -> None:
    usual = hand.desk.layout
    hand.key(pygame.K_EQUALS, CTRL)
    hand.key(pygame.K_PLUS, CTRL | SHIFT)
    assert hand.desk.layout.ui == pytest.approx(1.25 * usual.ui)
    assert hand.desk.painter.panel.place_of("cup:0").width > usual.panel.width  # type: ignore[union-attr]
    hand.key(pygame.K_0, CTRL)
    assert hand.desk.layout == usual
    for _ in range(9):
        hand.key(pygame.K_MINUS, CTRL)
    assert hand.desk.layout.ui == pytest.approx(0.8 * usual.ui)
    assert "80 %" in words_at(hand, "status")
    for _ in range(12):
        hand.key(pygame.K_KP_PLUS, CTRL)
    assert hand.desk.layout.ui == pytest.approx(2.0 * usual.ui)


def test_the_whole_stays_shown_when_letters_grow(hand: Hand, clock: Clock) -> None:
    for _ in range(4):
        hand.key(pygame.K_EQUALS, CTRL)
    desk, view = hand.desk, hand.desk.layout.view
    assert desk.session is not None
    assert desk.camera is not None
    for corner in ((0.0, 0.0), desk.session.artwork.page_mm):
        x, y = desk.camera.to_px(*corner)
        assert 0 <= x <= view.width
        assert 0 <= y <= view.height


# --- big verdict ------------------------------------------------------------------------


@pytest.mark.parametrize("leave", [pygame.K_F11, pygame.K_SPACE, pygame.K_b, pygame.K_ESCAPE])
def test_the_big_verdict_says_all_of_it_and_any_key_leaves(
    hand: Hand, clock: Clock, leave: int
) -> None:
    before = hand.desk.session
    hand.key(pygame.K_F11)
    assert hand.desk.frame().look.is_big
    words = words_at(hand, "big")
    session, placed = before, before.placed()[before.cup_index]  # type: ignore[union-attr]
    assert f"{session.cup.name} cup" in words  # type: ignore[union-attr]
    assert f"{clearance(placed.clearance_mm)} mm" in words
    assert "trial print" in words
    sizes = [one.rect for one in texts_shown(hand) if one.where == "big"]
    assert max(rect.width for rect in sizes) > hand.desk.size[0] / 2
    assert max(rect.height for rect in sizes) > hand.desk.size[1] / 8
    hand.key(leave)
    assert not hand.desk.frame().look.is_big
    assert hand.desk.session is before


def test_each_verdict_looks_its_own_without_color(hand: Hand, clock: Clock) -> None:
    frame, layout = hand.desk.frame(), layout_for((1100, 700))
    grays = []
    for index in (0, 4):
        assert frame.session is not None
        session = model.with_cup(frame.session, index)
        surface = pygame.Surface((1100, 700))
        shown = replace(frame, session=session, placed=session.placed())
        draw_big(surface, shown, layout, hand.desk.painter.texts)
        grays.append(pygame.surfarray.array3d(surface).mean(axis=2) > 100)
    # The bands at the top and bottom carry the pattern: solid against crossed.
    assert (grays[0][:, :40] != grays[1][:, :40]).mean() > 0.15


def test_the_big_verdict_needs_a_file(opener: FakeOpener) -> None:
    desk = Desk((1100, 700), Press(), opener)
    desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_F11, mod=0, unicode=""))
    assert not desk.frame().look.is_big
    assert "file" in desk.frame().look.message
    desk.close()


# --- life-size ------------------------------------------------------------------------


def test_calibrating_with_a_card(hand: Hand, clock: Clock) -> None:
    kept: list[Settings] = []
    hand.desk.looks.use_settings(
        Settings(theme="dark"), lambda change: kept.append(change(Settings())), lambda: "dark"
    )
    assert "not calibrated" in words_at(hand, "scale")
    hand.key(pygame.K_y)
    outline = hand.desk.frame().look.calibrating
    assert outline is not None
    # A monitor of 110 px per inch: a card of 85.60 mm is 370.71 px wide.
    for key, mod in ((pygame.K_RIGHT, SHIFT), (pygame.K_UP, 0), (pygame.K_LEFT, CTRL)):
        hand.key(key, mod)
    assert hand.desk.frame().look.calibrating.width_px == outline.width_px + 10 + 1 - 0.25  # type: ignore[union-attr]
    wanted = 370.75
    while (now := hand.desk.frame().look.calibrating) is not None and now.width_px < wanted:
        hand.key(pygame.K_RIGHT, CTRL)
    assert "px per mm" in words_at(hand, "calibrating")
    hand.key(pygame.K_RETURN)
    assert hand.desk.frame().look.calibrating is None
    calibration = kept[-1].calibrations[-1]
    assert (calibration.monitor, calibration.size_px) == (MONITOR.name, MONITOR.size_px)
    assert calibration.px_per_mm == pytest.approx(110 / 25.4, rel=2e-3)


def test_life_size_shows_millimeters_as_long_as_they_are(hand: Hand, clock: Clock) -> None:
    _calibrate(hand, 4.0)
    look, camera = hand.desk.frame().look, hand.desk.camera
    assert look.is_life_size
    assert camera is not None
    assert camera.px_per_mm == pytest.approx(4.0)
    words = words_at(hand, "scale").lower()
    assert "never a cup" in words
    assert "magnet" in words
    # The ring's outside of the 90 cup is 90 mm, so 360 px.
    place = overlay_place(hand.desk.session, camera, hand.desk.layout)  # type: ignore[arg-type]
    assert 2 * place.ring.outer_px == pytest.approx(360.0)


def test_zooming_leaves_life_size_and_says_so(hand: Hand, clock: Clock) -> None:
    _calibrate(hand, 4.0)
    hand.drag((500, 600), (520, 640), 2)
    assert hand.desk.frame().look.is_life_size  # a pan keeps the size
    hand.wheel(hand.desk.layout.view.center, 1)
    assert not hand.desk.frame().look.is_life_size
    assert "no longer life-size" in words_at(hand, "status")
    assert "\u00d7 life-size" in words_at(hand, "scale")
    hand.key(pygame.K_y)
    assert hand.desk.frame().look.is_life_size
    hand.key(pygame.K_f)
    assert not hand.desk.frame().look.is_life_size
    hand.key(pygame.K_y)
    hand.key(pygame.K_ESCAPE)
    assert not hand.desk.frame().look.is_life_size


def test_another_file_leaves_life_size(hand: Hand, clock: Clock) -> None:
    _calibrate(hand, 4.0)
    hand.desk.open_file("/jobs/burgee.svg", LoadOptions())
    assert hand.desk.job is not None
    hand.desk.job.wait(10)
    hand.desk.poll()
    camera = hand.desk.camera
    assert camera is not None
    assert camera.px_per_mm != pytest.approx(4.0)
    assert not hand.desk.frame().look.is_life_size


def test_another_monitor_is_not_calibrated(hand: Hand, clock: Clock) -> None:
    _calibrate(hand, 4.0)
    hand.desk.looks.monitor = lambda: Monitor("display 2", (3840, 2160))
    hand.send(pygame.WINDOWMOVED, x=5, y=5)
    assert not hand.desk.frame().look.is_life_size
    assert "not calibrated" in words_at(hand, "scale")
    hand.desk.looks.monitor = lambda: MONITOR
    hand.send(pygame.WINDOWMOVED, x=0, y=0)
    assert hand.desk.frame().look.screen_px_per_mm == pytest.approx(4.0)


def test_without_a_monitor_nothing_is_calibrated(hand: Hand, clock: Clock) -> None:
    hand.desk.looks.monitor = lambda: None
    hand.key(pygame.K_y)
    assert hand.desk.frame().look.calibrating is None
    assert "monitor" in words_at(hand, "status")


def test_the_outline_by_mouse(hand: Hand, clock: Clock) -> None:
    hand.key(pygame.K_y)
    first = hand.desk.frame().look.calibrating
    assert first is not None
    box = outline_box(first)
    hand.drag((box.right, box.centery), (box.right + 30, box.centery))
    wider = hand.desk.frame().look.calibrating
    assert wider is not None
    assert wider.width_px == pytest.approx(first.width_px + 30)
    assert outline_box(wider).left == pytest.approx(box.left, abs=1)
    box = outline_box(wider)
    hand.drag((box.centerx, box.bottom), (box.centerx, box.bottom - 20))
    lower = hand.desk.frame().look.calibrating
    assert lower is not None
    assert lower.height_px == pytest.approx(wider.height_px - 20)
    assert lower.width_px / lower.height_px == pytest.approx(CARD_MM[0] / CARD_MM[1])
    hand.drag(outline_box(lower).center, (700, 500))
    moved = hand.desk.frame().look.calibrating
    assert moved is not None
    assert moved.center_px == pytest.approx((700, 500), abs=1.5)
    hand.wheel((10, 10), -3)
    assert hand.desk.frame().look.calibrating.width_px == moved.width_px - 3  # type: ignore[union-attr]
    hand.key(pygame.K_b)  # no command while calibrating
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.frame().look.calibrating is None
    assert hand.desk.frame().look.screen_px_per_mm is None


def test_the_outline_stays_in_sight() -> None:
    tiny = life_size.grown(CardOutline((500, 400), 60), -5000, (1100, 700))
    assert tiny.width_px == life_size.LEAST_WIDTH_PX
    huge = life_size.grown(CardOutline((500, 400), 60), 5000, (1100, 700))
    assert huge.height_px <= 700
    assert huge.width_px <= 1100


def _calibrate(hand: Hand, px_per_mm: float) -> None:
    hand.key(pygame.K_y)
    outline = hand.desk.frame().look.calibrating
    assert outline is not None
    by_px = px_per_mm * CARD_MM[0] - outline.width_px
    hand.send(pygame.MOUSEWHEEL, x=0, y=0, precise_y=by_px)
    hand.key(pygame.K_RETURN)


# --- keyboard alone ------------------------------------------------------------------------


def test_tab_reaches_everything_that_can_be_clicked_and_shows_where_it_is(hand: Hand) -> None:
    hand.desk.fit_now()
    hand.show()
    names = hand.desk.painter.panel.names()
    before = pygame.surfarray.array3d(hand.surface)
    seen = []
    for _ in range(len(names) + 1):
        hand.key(pygame.K_TAB)
        seen.append(hand.desk.frame().look.focus)
        now = pygame.surfarray.array3d(hand.surface)
        assert (now != before).any(), seen[-1]
        before = now
    assert seen == [*names, "curve"]
    hand.key(pygame.K_TAB)
    hand.key(pygame.K_TAB, SHIFT)
    assert hand.desk.frame().look.focus == "curve"
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.frame().look.focus == ""


def focus_on(hand: Hand, name: str) -> None:
    for _ in range(60):
        if hand.desk.frame().look.focus == name:
            return
        hand.key(pygame.K_TAB)
    raise AssertionError(f"{name} is not reached")


def test_enter_uses_what_has_the_focus(hand: Hand) -> None:
    focus_on(hand, "cup:4")
    hand.key(pygame.K_RETURN)
    assert hand.desk.session.cup.name == "130"  # type: ignore[union-attr]
    hand.key(pygame.K_UP)
    assert hand.desk.session.cup.name == "110"  # type: ignore[union-attr]
    assert hand.desk.frame().look.focus == "cup:3"
    focus_on(hand, "command:undo")
    hand.key(pygame.K_SPACE)
    assert hand.desk.session.cup.name == "130"  # type: ignore[union-attr]
    focus_on(hand, "command:best")
    hand.key(pygame.K_RETURN)
    placed = hand.desk.session.placed()[4]  # type: ignore[union-attr]
    best = hand.desk.session.cup_fit.best.settable  # type: ignore[union-attr]
    assert placed.clearance_mm == pytest.approx(best.clearance_mm)


def test_a_digit_goes_into_the_field_with_the_focus_and_not_to_a_cup(hand: Hand) -> None:
    focus_on(hand, "field:scale")
    chosen = hand.desk.session.cup.name  # type: ignore[union-attr]
    hand.key(pygame.K_9)
    hand.type("9")
    hand.type("0")
    hand.key(pygame.K_RETURN)
    assert hand.desk.session.scale == pytest.approx(0.9)  # type: ignore[union-attr]
    assert hand.desk.session.cup.name == chosen  # type: ignore[union-attr]
    assert hand.desk.frame().look.focus == "field:scale"


def test_arrows_turn_when_the_curve_has_the_focus_and_nudge_when_nothing_has(hand: Hand) -> None:
    hand.key(pygame.K_TAB, SHIFT)
    assert hand.desk.frame().look.focus == "curve"
    hand.key(pygame.K_RIGHT)
    hand.key(pygame.K_RIGHT, SHIFT)
    hand.key(pygame.K_LEFT, CTRL)
    assert hand.desk.session.placement.turn_deg == pytest.approx(15.9)  # type: ignore[union-attr]
    hand.click(hand.desk.layout.view.midbottom)
    assert hand.desk.frame().look.focus == ""
    before = hand.desk.session.placement.center_mm  # type: ignore[union-attr]
    hand.key(pygame.K_RIGHT)
    assert hand.desk.session.placement.center_mm[0] == pytest.approx(before[0] + 0.1)  # type: ignore[union-attr]


def test_the_focus_is_scrolled_into_sight(opener: FakeOpener) -> None:
    from tests.screen.conftest import Hand

    desk = Desk((1100, 700), Press(), opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press()))
    hand = Hand(desk)
    for _ in desk.painter.panel.names():
        hand.key(pygame.K_TAB)
        box = desk.painter.panel.place_of(desk.frame().look.focus)
        assert box is not None
        assert box.top >= 0
        assert box.bottom <= 700
    desk.close()


def test_cards_below_the_fold_are_told_and_scrolled_by_keys(opener: FakeOpener) -> None:
    from tests.screen.conftest import Hand

    desk = Desk((1100, 700), Press(), opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press()))
    hand = Hand(desk)
    panel = desk.painter.panel
    assert set(panel.hint_boxes()) == {"cards-down"}
    assert words_at(hand, "more") == "more"
    hand.key(pygame.K_PAGEDOWN, SHIFT)
    assert "cards-up" in panel.hint_boxes()
    for _ in range(6):
        hand.key(pygame.K_PAGEDOWN, SHIFT)
    assert set(panel.hint_boxes()) == {"cards-up"}
    assert panel.card_boxes()[-1].bottom <= 700
    hand.click(panel.hint_boxes()["cards-up"].center)
    assert "cards-down" in panel.hint_boxes()
    desk.close()


def test_nothing_is_told_below_the_fold_where_all_is_seen(opener: FakeOpener) -> None:
    desk = Desk((3840, 2160), Press(), opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press()))
    desk.painter.panel.update(desk.frame(), desk.layout)
    if desk.painter.panel.greatest_scroll_px() == 0:
        assert desk.painter.panel.hint_boxes() == {}
    desk.close()


# --- help ------------------------------------------------------------------------


ALSO_CALLED = {
    "=": "+", "-": "\u2212", "return": "Enter", "enter": "Enter", "escape": "Esc",
    "left": "arrows", "right": "arrows", "up": "arrows", "down": "arrows", "/": "F1", "?": "F1",
    "page up": "Page", "page down": "Page",
}  # fmt: skip
RANGES = {"1 \u2026": "123456789", "F2 \u2026 F10": tuple(f"f{n}" for n in range(2, 11))}


def _is_told(key: int, mods: int, entries: list[str]) -> bool:
    """Whether an entry of the help names a key, and its Shift or Ctrl."""
    name = pygame.key.name(key).strip("[]")
    names = [ALSO_CALLED.get(name, name.capitalize())]
    names += [span for span, members in RANGES.items() if name in members]
    # Shift makes the plus of many keyboards.
    shift = mods & 1 and name not in ("=", "+", "/", "?")
    needed = ["Shift"] if shift else []
    needed += ["Ctrl"] if mods & 2 else []
    return any(
        any(name in entry for name in names) and all(mod in entry for mod in needed)
        for entry in entries
    )


def test_the_help_names_every_key_that_is_bound() -> None:
    entries = [
        f"{c.help_keys} {c.label}".replace("\u2191 \u2193", "arrows")
        for _, commands in help_groups()
        for c in commands
    ]
    for command in COMMANDS:
        if command.help_keys:
            assert command.label
            assert command.group
        untold = [
            (pygame.key.name(key), mods)
            for key, mods in command.bindings
            if not _is_told(key, mods, entries)
        ]
        assert untold == [], command.name
    assert not _is_told(pygame.K_F12, 0, entries)


def test_no_key_is_bound_twice() -> None:
    bound = [binding for command in COMMANDS for binding in command.bindings]
    assert len(bound) == len(set(bound))


def test_the_help_scrolls_where_it_is_long(hand: Hand) -> None:
    hand.send(pygame.VIDEORESIZE, w=1100, h=700, size=(1100, 700))
    for _ in range(9):
        hand.key(pygame.K_EQUALS, CTRL)
    hand.key(pygame.K_F1)
    overflow = hand.desk.painter.help_overflow_px
    assert overflow > 0
    first = {one.text for one in texts_shown(hand) if one.where == "help"}
    hand.key(pygame.K_END)
    last = {one.text for one in texts_shown(hand) if one.where == "help"}
    assert hand.desk.frame().look.help_scroll_px == overflow
    every = first | last
    for key in [pygame.K_HOME, *[pygame.K_DOWN] * 40]:
        hand.key(key)
        every |= {one.text for one in texts_shown(hand) if one.where == "help"}
    for _, commands in help_groups():
        for command in commands:
            assert command.help_keys in every, command.name
    hand.send(pygame.MOUSEWHEEL, x=0, y=1, precise_y=2.0)
    assert hand.desk.frame().look.help_scroll_px < overflow
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.frame().look.help_scroll_px == 0


# --- tips ------------------------------------------------------------------------


def test_a_tip_comes_after_a_rest_and_goes_with_anything(hand: Hand, clock: Clock) -> None:
    box = hand.desk.painter.panel.place_of("command:best")
    assert box is not None
    hand.move(box.center)
    rest(hand, clock, REST_S - 0.05)
    assert hand.desk.frame().look.tip is None
    assert 0 < hand.desk.looks.wait_ms <= 60
    rest(hand, clock, 0.06)
    tip = hand.desk.frame().look.tip
    assert tip is not None
    assert (tip.words, tip.keys) == TIPS["command:best"]
    assert tip.words.split()[0] in words_at(hand, "tip")
    assert hand.desk.looks.wait_ms == 0
    hand.move((box.centerx + 1, box.centery))
    assert hand.desk.frame().look.tip is None
    rest(hand, clock, 1)
    assert hand.desk.frame().look.tip is not None
    hand.key(pygame.K_UP)
    assert hand.desk.frame().look.tip is None
    rest(hand, clock, 5)
    assert hand.desk.frame().look.tip is None


def test_tips_on_the_bench(hand: Hand, clock: Clock) -> None:
    desk = hand.desk
    assert desk.session is not None
    assert desk.camera is not None
    place = overlay_place(desk.session, desk.camera, desk.layout)
    on_ring = place.toward(-30, (place.ring.inner_px + place.ring.outer_px) / 2)
    places = {
        "turn": knob_px(place, desk.layout),
        "ring": (round(on_ring[0]), round(on_ring[1])),
        "curve": plot_box(desk.layout).center,
        "ruler": (300, 5),
    }
    for name, pos in places.items():
        hand.move(pos)
        rest(hand, clock, 1)
        tip = desk.frame().look.tip
        assert tip is not None, name
        assert tip.words == TIPS[name][0], name
    hand.move(place.center)
    rest(hand, clock, 1)
    assert desk.frame().look.tip is None  # the artwork itself stays in peace


def test_a_tip_for_what_has_the_focus(hand: Hand, clock: Clock) -> None:
    focus_on(hand, "field:limit:pad")
    rest(hand, clock, 0.7)
    tip = hand.desk.frame().look.tip
    assert tip is not None
    assert tip.words == TIPS["field:limit:pad"][0]
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.frame().look.tip is None


def test_everything_that_can_be_used_has_a_tip(hand: Hand) -> None:
    without = [name for name in hand.desk.painter.panel.names() if not words_for(name)[0]]
    assert without == []


def test_importing_the_look_needs_no_display() -> None:
    code = "import viewer.screen.looks, pygame; assert not pygame.display.get_init()"
    subprocess.run([sys.executable, "-c", code], check=True, cwd=SCREEN.parents[1], timeout=60)
