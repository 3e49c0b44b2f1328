"""What is drawn: incremental against fresh, text in its boxes, hatch, ring, snapshot."""

from __future__ import annotations

import itertools
import os
import random
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pygame
import pygame.surfarray
import pytest
from numpy.typing import NDArray

from viewer.artwork.model import Artwork, ArtworkWarning, LoadOptions, Progress
from viewer.errors import BrimcheckError
from viewer.press.cups import EXAMPLE_CUPS, Cup
from viewer.press.limits import EtchArea, Pad, PressLimits
from viewer.press.press import Press
from viewer.screen import cup_fields, limit_fields, model, theme
from viewer.screen.app import coalesced, run
from viewer.screen.artwork_layer import (
    blit_picture,
    ink_codes,
    sharp_shift_px,
    view_codes,
)
from viewer.screen.cards import contents
from viewer.screen.curve_strip import plot_box
from viewer.screen.desk import Desk
from viewer.screen.highlight import PALETTE, Highlight, Inside
from viewer.screen.loader import open_now
from viewer.screen.monitor import Monitor
from viewer.screen.overlay import overlay_place
from viewer.screen.painter import Painter
from viewer.screen.pixels import indexed_surface
from viewer.screen.ring import RingPainter, RingSize
from viewer.screen.snapshot import write_snapshot
from viewer.screen.text import PlacedText
from viewer.screen.viewstate import Editing, Loading, Notice

if TYPE_CHECKING:
    from tests.screen.conftest import FakeOpener, Hand

SIZES = [(1100, 700), (1600, 1000), (3840, 2160)]


def pixels(surface: pygame.Surface) -> NDArray[np.uint8]:
    return pygame.surfarray.array3d(surface)


# --- incremental drawing --------------------------------------------------------


TYPED = (
    "oval:84x60m2", "rect:70x90r8^20", "round:90@3,-2", "90x72", "80x100m1@0,4", "across:6",
    "along", "fixed", "3", "page", "50,30", "ink", "+-20", "step:45", "none", "any", "x",
)  # fmt: skip


def _random_event(hand: Hand, rng: random.Random) -> None:
    def spot() -> tuple[int, int]:
        return rng.randrange(hand.desk.size[0]), rng.randrange(hand.desk.size[1])

    def near_center() -> tuple[int, int]:
        session, camera = hand.desk.session, hand.desk.camera
        assert session is not None
        assert camera is not None
        x, y = overlay_place(session, camera, hand.desk.layout).center
        return x + rng.randint(-60, 60), y + rng.randint(-60, 60)

    ctrl, shift = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
    keys = [
        (pygame.K_b, 0), (pygame.K_c, 0), (pygame.K_r, 0), (pygame.K_UP, shift),
        (pygame.K_RIGHT, 0), (pygame.K_q, 0), (pygame.K_e, shift), (pygame.K_TAB, 0),
        (pygame.K_1, 0), (pygame.K_5, 0), (pygame.K_z, ctrl), (pygame.K_y, ctrl),
        (pygame.K_f, 0), (pygame.K_F1, 0), (pygame.K_ESCAPE, 0), (pygame.K_RETURN, 0),
        (pygame.K_MINUS, 0), (pygame.K_o, ctrl), (pygame.K_BACKSPACE, 0),
        (pygame.K_w, 0), (pygame.K_F3, 0), (pygame.K_F5, 0), (pygame.K_l, 0), (pygame.K_DOWN, 0),
        (pygame.K_m, 0), (pygame.K_k, 0), (pygame.K_n, 0), (pygame.K_p, 0), (pygame.K_i, 0),
        (pygame.K_u, 0), (pygame.K_a, 0), (pygame.K_g, 0), (pygame.K_DELETE, 0),
        (pygame.K_INSERT, 0), (pygame.K_1, ctrl), (pygame.K_2, ctrl), (pygame.K_RETURN, 0),
        (pygame.K_t, 0), (pygame.K_F11, 0), (pygame.K_y, 0), (pygame.K_EQUALS, ctrl),
        (pygame.K_MINUS, ctrl), (pygame.K_0, ctrl), (pygame.K_TAB, shift), (pygame.K_TAB, 0),
        (pygame.K_PAGEDOWN, shift), (pygame.K_END, 0), (pygame.K_SPACE, 0),
    ]  # fmt: skip
    kind = rng.randrange(13)
    if kind == 0:
        hand.drag(near_center(), spot())
    elif kind == 1:
        hand.drag(spot(), spot(), rng.choice((1, 2)))
    elif kind == 2:
        hand.wheel(spot(), rng.choice((-2, -1, 1, 2)))
    elif kind == 3:
        hand.click(spot())
    elif kind == 8:
        plot = plot_box(hand.desk.layout)
        xs = [rng.randrange(plot.left, plot.right) for _ in range(3)]
        hand.move((xs[0], plot.centery))
        hand.show()
        hand.drag((xs[1], plot.centery), (xs[2], plot.centery))
    elif kind == 9:
        box = hand.desk.painter.panel.place_of(f"field:{rng.choice(limit_fields.NAMES)}")
        choice = hand.desk.painter.panel.place_of(f"choice:{rng.randrange(4)}")
        if choice is not None and rng.random() < 0.7:
            hand.click(choice.center)
        elif box is not None:
            hand.click(box.center)
    elif kind == 10:
        hand.key(pygame.K_ESCAPE)
        hand.key(pygame.K_l)
        for _ in range(rng.randrange(5)):
            hand.key(pygame.K_TAB)
        hand.type(rng.choice(TYPED))
        hand.key(rng.choice((pygame.K_RETURN, pygame.K_TAB, pygame.K_UP)))
    elif kind == 11:
        panel = hand.desk.painter.panel
        names = [n for n in panel.names() if n.partition(":")[0] in ("way", "piece", "tool")]
        box = panel.place_of(rng.choice(names)) if names else None
        if box is not None:
            hand.move(box.center)
            hand.show()
            if rng.random() < 0.5:
                hand.click(box.center)
    elif kind == 12:
        hand.key(pygame.K_ESCAPE)
        hand.desk.edit_field(rng.choice(("right", "angle", *cup_fields.NAMES)))
        for _ in range(rng.randrange(4)):
            hand.key(rng.choice((pygame.K_UP, pygame.K_DOWN)), rng.choice((0, shift, ctrl)))
        hand.key(rng.choice((pygame.K_RETURN, pygame.K_TAB, pygame.K_ESCAPE, pygame.K_m)))
    elif kind == 4:
        hand.type(rng.choice(("1", "2,5", "x", "-")))
    elif kind == 5 and rng.random() < 0.2:
        width, height = rng.choice(((1600, 1000), (1280, 800), (1000, 640)))
        hand.send(pygame.VIDEORESIZE, w=width, h=height, size=(width, height))
        hand.show()
    else:
        hand.key(*rng.choice(keys))


@pytest.mark.parametrize("seed", range(8))
def test_after_any_events_the_frame_equals_a_fresh_one(
    desk: Desk, doubtful: Desk, seed: int
) -> None:
    from tests.screen.conftest import Hand

    hand = Hand(doubtful if seed % 2 else desk)
    hand.desk.looks.monitor = lambda: Monitor("display 1", (1920, 1080))
    # Time goes on by itself, so that tips come and messages go.
    hand.desk.looks.clock = itertools.count(0.0, 0.2).__next__
    rng = random.Random(seed)
    if seed >= 4:
        hand.desk.set_limits(PressLimits(Pad("oval", 90, 60, margin_mm=2.0), EtchArea(80, 70)))
        hand.show()
    # With a pad every change has its fit worked out: fewer of them take as long.
    for number in range(60 if seed < 4 else 36):
        _random_event(hand, rng)
        if rng.random() < 0.12:
            hand.desk.wait_for_fit(30)
        if hand.desk.job is not None and rng.random() < 0.5:
            hand.desk.job.wait(10)
            hand.desk.poll()
        if number % 12 == 11:
            # One frame for both: a file being read reports progress at any moment.
            frame = hand.desk.frame()
            hand.desk.painter.draw(hand.surface, frame)
            fresh = pygame.Surface(hand.desk.size)
            Painter().draw(fresh, frame)
            different = np.argwhere((pixels(fresh) != pixels(hand.surface)).any(axis=2))
            assert len(different) == 0, f"after {number} events, first at {different[0]}"


def test_the_comparison_can_fail(hand: Hand) -> None:
    fresh = pygame.Surface(hand.desk.size)
    Painter().draw(fresh, hand.desk.frame())
    hand.key(pygame.K_RIGHT, pygame.KMOD_LSHIFT)
    assert (pixels(fresh) != pixels(hand.surface)).any()


def test_a_drag_draws_only_what_changed(hand: Hand) -> None:
    hand.key(pygame.K_UP)
    frame = hand.desk.frame()
    assert hand.desk.painter.draw(hand.surface, frame) == []
    hand.desk.change(lambda s: model.moved(s, 1, 0))
    changed = hand.desk.painter.draw(hand.surface, hand.desk.frame())
    layout = hand.desk.layout
    assert changed == [layout.panel, layout.bench, layout.strip]


# --- text -----------------------------------------------------------------------


class _WarningOpener:
    def __init__(self, inner: FakeOpener) -> None:
        self._inner = inner

    def load(
        self, path: str, options: LoadOptions, progress: Progress | None, cancelled: object
    ) -> Artwork:
        from dataclasses import replace

        artwork = self._inner.load(path, options, progress, None)
        warnings = (
            ArtworkWarning("text", "text is drawn with a font of this computer", True),
            ArtworkWarning("speck", "a speck of 0.10 mm at (12.00, 40.00) mm decides the circle"),
        )
        return replace(artwork, warnings=warnings)

    def picture(self, artwork: Artwork) -> object:
        return self._inner.picture(artwork)


MANY_CUPS = (*EXAMPLE_CUPS, Cup("82.5", 82.5), Cup("101.625", 101.625))


def _texts_of(desk: Desk, variant: str) -> list[PlacedText]:
    from dataclasses import replace

    frame = desk.frame()
    if variant == "help":
        frame = replace(frame, is_help_open=True)
    elif variant == "notice":
        long = "/jobs/harbour/a-rather-long-name-for-a-pennant.svg: holds no physical size;" * 2
        frame = replace(
            frame,
            notice=Notice(long, True, "width", "width of the ink"),
            editing=Editing("width", "12,x", 4, "width '12,x' is not a length", False),
        )
    elif variant == "loading":
        frame = replace(frame, loading=Loading("pennant.svg", "comparing both renderers", 0.4))
    elif variant == "error":
        error = "cup left-right 'two and a bit' is not a length"
        error += "; write it like '48', '12,5 mm' or '1/2 in'"
        frame = replace(frame, editing=Editing("right", "two and a bit", 13, error, False))
    painter = Painter()
    log: list[PlacedText] = []
    painter.texts.log = log
    painter.draw(pygame.Surface(desk.size), frame)
    return log


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("variant", ["plain", "help", "notice", "loading", "error", "outside"])
def test_no_text_is_cut_or_leaves_its_box_or_meets_another(
    opener: FakeOpener, size: tuple[int, int], variant: str
) -> None:
    with_warnings = _WarningOpener(opener)
    desk = Desk(size, Press(cups=MANY_CUPS), with_warnings)  # type: ignore[arg-type]
    path = "/jobs/harbour-pennant.svg"
    desk.show(open_now(with_warnings, path, LoadOptions(), Press(cups=MANY_CUPS)))  # type: ignore[arg-type]
    if variant == "outside":
        desk.change(lambda s: model.with_offset(s, -123.45, -234.56))
    log = _texts_of(desk, variant)
    assert len(log) > 60
    for placed in log:
        assert not placed.is_cut, placed
        # The letters' own box; its height may exceed a tight line by the font's leading.
        assert placed.box.left <= placed.rect.left, placed
        assert placed.rect.right <= placed.box.right, placed
    for where in {p.where for p in log if p.where.startswith("card:")}:
        mine = [p for p in log if p.where == where]
        for index, one in enumerate(mine):
            for other in mine[index + 1 :]:
                meets = one.rect.inflate(0, -6).colliderect(other.rect.inflate(0, -6))
                assert not meets, (one, other)
    desk.close()


@pytest.mark.parametrize("size", SIZES)
def test_every_card_can_be_reached_by_scrolling(opener: FakeOpener, size: tuple[int, int]) -> None:
    desk = Desk(size, Press(cups=MANY_CUPS), opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press(cups=MANY_CUPS)))
    assert desk.wait_for_fit(20)
    surface = pygame.Surface(size)
    desk.painter.draw(surface, desk.frame())
    assert desk.painter.panel.card_boxes()[0].top >= 0
    pointer = (desk.layout.panel.centerx, desk.layout.panel.centery)
    desk.handle(pygame.event.Event(pygame.MOUSEMOTION, pos=pointer, rel=(0, 0), buttons=(0, 0, 0)))
    desk.handle(pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=-99, precise_y=-99.0))
    desk.painter.draw(surface, desk.frame())
    assert desk.painter.panel.card_boxes()[-1].bottom <= size[1]
    desk.close()


def test_text_contrast() -> None:
    for color in (theme.TEXT, theme.TEXT_SOFT):
        for ground in (theme.CARD, theme.CARD_ROW, theme.STRIP, theme.WINDOW, theme.PILL):
            assert theme.contrast(color, ground) >= 4.5, (color, ground)
    assert theme.contrast(theme.TEXT_DIM, theme.CARD) >= 4.5
    assert theme.contrast(theme.TEXT, theme.BUTTON_MAIN) >= 4.5
    assert theme.contrast(theme.TEXT, theme.BUTTON) >= 4.5
    for color in theme.VERDICT_TEXT.values():
        assert theme.contrast(color, theme.CARD_ROW) >= 4.5, color
    for color in theme.VERDICT_BAR.values():
        assert theme.contrast(color, theme.BAR_TRACK) >= 3, color
    for ground in (theme.PAGE, theme.BENCH):
        assert theme.contrast(theme.MARK, ground) >= 3, ground


def test_published_contrast_values() -> None:
    # WCAG 2.2 SC 1.4.3: #767676 on white just passes.
    assert theme.contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.5422, abs=1e-4)


def test_every_verdict_is_told_by_word_and_not_by_color_alone() -> None:
    assert set(theme.VERDICT_TEXT) == set(theme.VERDICT_BAR)
    assert len(set(theme.VERDICT_TEXT.values())) == 4


def test_the_panel_names_the_example_set_and_a_blocking_warning_first(
    opener: FakeOpener,
) -> None:
    with_warnings = _WarningOpener(opener)
    desk = Desk((1600, 1000), Press(), opener)
    desk.show(open_now(with_warnings, "/jobs/p.svg", LoadOptions(), Press()))  # type: ignore[arg-type]
    texts = repr(contents(desk.frame()))
    assert "is_example=True" in texts
    assert texts.index("text is drawn") < texts.index("a speck of")
    assert "cannot be sure" in texts
    desk.close()


def test_a_pan_keeps_what_was_drawn_sharply(desk: Desk) -> None:
    """Moved by whole pixels it is what would be drawn there; only the rest comes coarser."""
    desk.sharpness.now()
    session, camera, sharp = desk.session, desk.camera, desk.sharp
    assert session is not None
    assert camera is not None
    assert sharp is not None
    assert desk.levels is not None
    size = desk.layout.view.size
    moved = camera.panned(37, -90)
    assert sharp_shift_px(sharp, moved, session.scale) == (37, -90)
    shown = pygame.Surface(size)
    shown.fill((250, 250, 250))
    blit_picture(shown, desk.levels, moved, session.scale, sharp)
    desk.camera = moved
    desk.sharpness.now()
    assert desk.sharp is not None
    fresh = pygame.Surface(size)
    fresh.fill((250, 250, 250))
    blit_picture(fresh, desk.levels, moved, session.scale, desk.sharp)
    kept = (slice(37, None), slice(None, size[1] - 90))
    assert (pixels(shown)[kept] == pixels(fresh)[kept]).all()
    codes = pygame.surfarray.array2d(view_codes(size, desk.levels, moved, session.scale, sharp))
    exact = pygame.surfarray.array2d(desk.sharp.codes)
    assert (codes[kept] == exact[kept]).all()
    assert (codes == exact).mean() > 0.98
    for other in (camera.panned(0.4, 0), camera.zoomed_at(9, 9, 1.1), camera.panned(9000, 0)):
        assert sharp_shift_px(sharp, other, session.scale) is None


# --- hatch and ring ---------------------------------------------------------------


def test_hatch_is_exactly_the_ink_beyond_each_circle() -> None:
    rng = np.random.default_rng(5)
    codes = (rng.random((180, 240)) < 0.4).astype(np.uint8) * 2
    target = pygame.Surface((240, 180))
    target.fill((9, 9, 9))
    Highlight(indexed_surface(codes, PALETTE), (0, 0), 6).draw(
        target, (0, 0), (110, 95), Inside(50.0), Inside(70.0)
    )
    drawn = (pixels(target).transpose(1, 0, 2) != 9).any(axis=2)
    y, x = np.mgrid[0:180, 0:240]
    distance = np.hypot(x + 0.5 - 110, y + 0.5 - 95)
    assert (drawn == ((codes > 0) & (distance > 50))).all()
    amber = (pixels(target).transpose(1, 0, 2) == theme.ORANGE).all(axis=2)
    vermilion = (pixels(target).transpose(1, 0, 2) == theme.VERMILION).all(axis=2)
    assert amber.any()
    assert vermilion.any()
    assert distance[amber].max() < 70 < distance[vermilion].min()
    white = (pixels(target).transpose(1, 0, 2) == 255).all(axis=2)
    assert white.any()  # on dark ink the hatch alternates with white


@pytest.mark.parametrize("outer", [90.0, 1300.0])
def test_ring_edges_are_where_they_should_be(outer: float) -> None:
    surface = pygame.Surface((400, 60))
    surface.fill(theme.PAGE)
    size = RingSize(outer - 40, outer - 20, outer)
    center = (200 - round(outer), 30)
    RingPainter().draw(surface, center, size)
    row = pixels(surface)[:, 30].astype(int)
    x = np.arange(400)
    offset = np.hypot(x + 0.5 - center[0], 0.5)
    outside = offset > outer + 2
    assert (row[outside] == theme.PAGE).all()
    dark = np.flatnonzero(row.sum(axis=1) < 250)
    # The dark line of the outer edge has its middle on the radius.
    last = dark[dark > 190]
    assert offset[last].mean() == pytest.approx(outer, abs=0.6)


def test_ink_codes_tell_dark_from_light() -> None:
    rgba = np.array([[[0, 0, 0, 0], [20, 40, 70, 255], [250, 240, 60, 255]]], np.uint8)
    from viewer.artwork.model import InkRule

    assert ink_codes(rgba, InkRule()).tolist() == [[0, 2, 1]]


# --- events and snapshot ------------------------------------------------------------


def test_runs_of_motion_count_once() -> None:
    def motion(x: int) -> pygame.event.Event:
        return pygame.event.Event(pygame.MOUSEMOTION, pos=(x, 0), rel=(1, 0), buttons=(1, 0, 0))

    up = pygame.event.Event(pygame.MOUSEBUTTONUP, pos=(3, 0), button=1)
    kept = coalesced([motion(1), motion(2), motion(3), up, motion(4), motion(5)])
    assert [getattr(e, "pos", None) for e in kept] == [(3, 0), (3, 0), (5, 0)]


def test_snapshot_is_the_very_same_screen(opener: FakeOpener, desk: Desk, tmp_path: Path) -> None:
    target = tmp_path / "out.png"
    args = ("/jobs/pennant.svg", LoadOptions(), Press(), (1600, 1000))
    write_snapshot(str(target), *args, opener)
    desk.show(open_now(opener, *args[:3]))
    desk.fit_now()
    desk.sharpness.now()
    surface = pygame.Surface(desk.size)
    Painter().draw(surface, desk.frame())
    assert (pixels(pygame.image.load(str(target))) == pixels(surface)).all()
    assert os.listdir(tmp_path) == ["out.png"]


def test_snapshot_that_cannot_be_written(opener: FakeOpener, tmp_path: Path) -> None:
    target = str(tmp_path / "nowhere" / "out.png")
    args = ("/jobs/pennant.svg", LoadOptions(), Press(), (1600, 1000))
    with pytest.raises(BrimcheckError) as caught:
        write_snapshot(target, *args, opener)
    assert target in caught.value.message
    assert "\n" not in caught.value.message


def test_snapshot_of_an_empty_bench(tmp_path: Path) -> None:
    target = tmp_path / "empty.png"
    assert run(None, LoadOptions(), Press(), snapshot=str(target), size=(1100, 700)) == 0
    assert pygame.image.load(str(target)).get_size() == (1100, 700)
