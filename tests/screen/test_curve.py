"""The curve of clearance against angle: its picture, its marks, turning by it, and B."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pygame
import pygame.surfarray
import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.artwork.model import LoadOptions
from viewer.fit import AngleCurve, Verdict
from viewer.press.limits import Angles, EtchArea, Hold, Pad, PressLimits
from viewer.press.press import Press
from viewer.screen import model, theme
from viewer.screen.curve_plot import (
    Look,
    allowed_columns,
    columns_deg,
    curve_at,
    fitting_columns,
    plot_picture,
    scale_for,
)
from viewer.screen.curve_strip import plot_box, sentences, strip_content, turn_at, x_of
from viewer.screen.desk import Desk
from viewer.screen.glide import GLIDE_S
from viewer.screen.layout import layout_for
from viewer.screen.loader import open_now

if TYPE_CHECKING:
    from tests.screen.conftest import FakeOpener, Hand

CTRL = pygame.KMOD_LCTRL
# 76 mm wide ink, 60 mm of plate across and 90 along: a quarter turn is needed.
TALL = PressLimits(etch=EtchArea(60, 90))


@pytest.fixture
def hand(desk: Desk) -> Hand:
    from tests.screen.conftest import Hand

    desk.change(lambda s: model.with_cup(s, 3))
    desk.set_limits(TALL)
    assert desk.wait_for_fit(30)
    return Hand(desk)


def session(desk: Desk) -> model.Session:
    assert desk.session is not None
    return desk.session


def turn(hand: Hand) -> float:
    return session(hand.desk).placement.turn_deg


# --- scale and picture -----------------------------------------------------------


@given(st.floats(-200, 100), st.floats(0, 80))
def test_the_scale_shows_the_whole_curve_and_zero_where_it_is_near(low: float, span: float) -> None:
    scale = scale_for(low, low + span, 80, 21)
    assert scale.low_mm < low
    assert scale.high_mm > low + span
    assert 1 <= len(scale.ticks_mm) <= 6
    steps = np.diff(scale.ticks_mm)
    if len(steps):
        mantissa = steps[0] / 10 ** math.floor(math.log10(steps[0]) + 1e-9)
        assert min(abs(mantissa - m) for m in (1, 2, 5)) < 1e-6
    nearest = 0.0 if low <= 0 <= low + span else min(abs(low), abs(low + span))
    has_zero = scale.low_mm < 0 < scale.high_mm
    assert has_zero or nearest > 2 * span


@given(st.floats(-180, 180))
def test_an_angle_and_its_column(angle: float) -> None:
    layout = layout_for((1600, 1000))
    plot = plot_box(layout)
    x = x_of(layout, angle)
    assert plot.left <= x < plot.right
    assert abs(turn_at(layout, x) - angle) <= 360 / plot.width


def test_the_curve_goes_around() -> None:
    turns = np.arange(-359, 361) * 0.5
    curve = AngleCurve(turns, np.cos(np.radians(turns)), 0.0, (), False)
    assert curve_at(curve, np.array([-180.0, 180.0, 0.25])) == pytest.approx([-1, -1, 1], abs=1e-4)


def test_columns_of_allowed_angles() -> None:
    turns = columns_deg(720)
    assert allowed_columns(Angles(), 720).all()
    within = allowed_columns(Angles("within", 30.0), 720)
    assert turns[within].min() == pytest.approx(-29.75)
    assert turns[within].max() == pytest.approx(29.75)
    step = allowed_columns(Angles("step", 90.0), 720)
    assert {round(t / 90) * 90 for t in turns[step]} == {-180, -90, 0, 90, 180}
    assert np.abs(turns[step] - np.round(turns[step] / 90) * 90).max() < 1.5
    assert allowed_columns(Angles("step", 0.1), 720).all()
    assert 0 < allowed_columns(Angles("none"), 720).sum() < 8
    # A single angle that fits is given some width too.
    assert 0 < fitting_columns(((90.0, 90.0),), 720).sum() < 8
    assert turns[fitting_columns(((-20.0, 41.0),), 720)][[0, -1]] == pytest.approx([-19.75, 40.75])


def test_the_line_is_where_the_curve_is_and_what_is_forbidden_is_hatched() -> None:
    turns = np.arange(-359, 361) * 0.5
    curve = AngleCurve(turns, 2 * np.sin(np.radians(turns)), 0.0, ((10.0, 60.0),), False)
    size = (720, 80)
    scale = scale_for(-2, 2, 80, 21)
    look = Look(
        size, scale, Angles("within", 90.0), theme.CURVE, False, False, 1.0, curve.fitting_deg
    )
    picture = pygame.surfarray.array3d(plot_picture(curve, look)).astype(int)
    for column in range(5, 715, 13):
        angle = columns_deg(720)[column]
        want = scale.y_px(2 * math.sin(math.radians(angle)), 80)
        bright = picture[column].sum(axis=1)
        if abs(angle) <= 90 and not 8 < angle < 62:
            assert abs(int(bright.argmax()) - want) <= 1.0, angle
    sky = (np.abs(picture - np.array(theme.SKY)).max(axis=2) < 12).any(axis=1)
    blue = columns_deg(720)[sky]
    assert blue.min() == pytest.approx(10, abs=1)
    assert blue.max() == pytest.approx(60, abs=1)
    forbidden = (picture == np.array(theme.FORBIDDEN)).all(axis=2).any(axis=1)
    assert forbidden[np.abs(columns_deg(720)) > 91].all()
    assert not forbidden[np.abs(columns_deg(720)) < 89].any()
    # Looking old, it is paler but still there.
    old = pygame.surfarray.array3d(plot_picture(curve, replace(look, is_old=True))).astype(int)
    assert old.max() < 0.6 * picture.max()
    assert old.max() > max(theme.STRIP) + 40


# --- turning by the curve ---------------------------------------------------------


def press_at(hand: Hand, angle: float) -> tuple[int, int]:
    return x_of(hand.desk.layout, angle), plot_box(hand.desk.layout).centery


def test_a_click_in_the_curve_turns_the_overlay(hand: Hand) -> None:
    center = session(hand.desk).placement.center_mm
    hand.click(press_at(hand, 37.0))
    assert turn(hand) == pytest.approx(37.0, abs=0.3)
    assert session(hand.desk).placement.center_mm == center
    hand.key(pygame.K_z, CTRL)
    assert turn(hand) == 0.0


def test_a_drag_in_the_curve_is_one_step(hand: Hand) -> None:
    hand.press(press_at(hand, 20.0))
    for angle in (30.0, 44.0, -71.0):
        hand.move(press_at(hand, angle))
        assert turn(hand) == pytest.approx(angle, abs=0.3)
    # Beyond the end is the end.
    hand.move((plot_box(hand.desk.layout).right + 500, 5))
    assert turn(hand) == 180.0
    hand.release(press_at(hand, -71.0))
    assert turn(hand) == pytest.approx(-71.0, abs=0.3)
    hand.key(pygame.K_z, CTRL)
    assert turn(hand) == 0.0


def test_escape_puts_a_drag_in_the_curve_back(hand: Hand) -> None:
    hand.press(press_at(hand, 20.0))
    hand.key(pygame.K_ESCAPE)
    assert turn(hand) == 0.0


def test_near_the_best_angle_it_is_exactly_that(hand: Hand) -> None:
    best = session(hand.desk).cup_fit.best.settable.turn_deg
    x, y = press_at(hand, best)
    hand.click((x + 2, y))
    assert turn(hand) == best


def test_the_press_limits_what_the_curve_can_turn_to(hand: Hand) -> None:
    hand.desk.set_limits(replace(TALL, angles=Angles("step", 90.0)))
    assert hand.desk.wait_for_fit(30)
    hand.click(press_at(hand, 70.0))
    assert turn(hand) == 90.0
    hand.desk.set_limits(replace(TALL, angles=Angles("within", 15.0)))
    hand.click(press_at(hand, -100.0))
    assert turn(hand) == -15.0


def test_the_pointer_shows_the_clearance_there(hand: Hand) -> None:
    hand.move(press_at(hand, 90.0))
    hand.show()
    content = strip_content(hand.desk.frame())
    assert content is not None
    assert content.hover_deg == pytest.approx(90.0, abs=0.3)
    painter = hand.desk.painter
    painter.texts.log = []
    hand.desk.painter.draw(pygame.Surface(hand.desk.size), hand.desk.frame())
    told = [t.text for t in painter.texts.log if t.where == "strip" and t.text.startswith("at ")]
    # 26 mm of ink across 60: 17 mm a side; 76 along 90: 7 mm; the cup leaves 46.75 - 38.
    assert len(told) == 1
    assert told[0].startswith(f"at +{content.hover_deg:.1f}\u00b0 up to +")
    assert float(told[0].split("+")[-1]) == pytest.approx(7.0, abs=0.25)  # within 0.3 degrees
    painter.texts.log = None
    hand.send(pygame.WINDOWLEAVE)
    assert hand.desk.frame().hover_deg is None


def test_the_curve_is_closed_form_at_the_quarters(hand: Hand) -> None:
    content = strip_content(hand.desk.frame())
    assert content is not None
    values = curve_at(content.curve, np.array([0.0, 90.0]))
    assert values == pytest.approx([30 - 38, 45 - 38], abs=0.006)
    assert content.best is not None


def test_marks_name_the_best_and_the_present_angle(hand: Hand) -> None:
    painter = hand.desk.painter
    painter.texts.log = []
    painter.draw(pygame.Surface(hand.desk.size), hand.desk.frame())
    said = " | ".join(t.text for t in painter.texts.log if t.where == "strip")
    best = session(hand.desk).cup_fit.best.settable
    assert f"best {best.turn_deg:+.1f}\u00b0".replace("-", "\u2212") in said
    assert "angle 0.0\u00b0: \u22128.00" in said
    assert "fits in" in said or "fits from" in said


def test_a_round_cup_alone_and_a_flat_curve_say_so(hand: Hand) -> None:
    hand.desk.set_limits(PressLimits())
    content = strip_content(hand.desk.frame())
    assert content is not None
    assert "round cup" in sentences(content)[0]
    # A round pad on the cup's center turns nothing either.
    hand.desk.set_limits(PressLimits(pad=Pad("round", 90, 90)))
    assert hand.desk.wait_for_fit(30)
    content = strip_content(hand.desk.frame())
    assert content is not None
    assert content.curve.is_flat
    assert "turning changes nothing here" in sentences(content)[0]


@pytest.mark.parametrize(
    ("stretches", "wanted"),
    [
        ((), "fits at no angle"),
        (((-20.0, 41.0),), "fits from \u221220.0\u00b0 to +41.0\u00b0"),
        (((0.0, 0.0),), "fits at 0.0\u00b0 alone"),
        (((-90.0, -90.0), (90.0, 90.0)), "fits at \u221290.0\u00b0, +90.0\u00b0"),
        (((-180.0, 180.0),), "fits at every angle"),
        (((-20.04, 41.09),), "fits from \u221220.0\u00b0 to +41.0\u00b0"),
        (((25.304, 25.304), (25.32, 64.68)), "fits from +25.4\u00b0 to +64.6\u00b0"),
        (((12.34, 12.36),), "fits near +12.35\u00b0 alone"),
        (((-179.5, -150.0), (160.0, 180.0)), "fits from +160.0\u00b0 to \u2212150.0\u00b0"),
        (((-100.0, -80.0), (80.0, 100.0)), "fits in 2 stretches, 40.0\u00b0 together"),
    ],
)
def test_words_for_what_fits(
    hand: Hand, stretches: tuple[tuple[float, float], ...], wanted: str
) -> None:
    content = strip_content(hand.desk.frame())
    assert content is not None
    assert sentences(replace(content, fitting_deg=stretches))[0].startswith(wanted)


def test_nothing_is_marked_as_fitting_where_something_forbids_it(hand: Hand) -> None:
    now = session(hand.desk)
    frame = hand.desk.frame()
    content = strip_content(frame)
    assert content is not None
    assert content.fitting_deg == content.curve.fitting_deg != ()
    unsure = replace(now.cup_fit, verdict=Verdict.TOO_CLOSE, causes=("text",))
    cups = tuple(unsure if c is now.cup_fit else c for c in now.fit.cups)
    doubted = replace(now, fit=replace(now.fit, cups=cups))
    content = strip_content(replace(frame, session=doubted))
    assert content is not None
    assert content.fitting_deg == ()
    assert sentences(content)[0].startswith("cannot be sure")
    # And not before the fit is known.
    waiting = replace(now, limits=replace(now.limits, hold=Hold("along")))
    content = strip_content(replace(frame, session=waiting))
    assert content is not None
    assert content.fitting_deg == ()


def test_the_last_curve_stays_dimmed_until_the_next_is_there(hand: Hand) -> None:
    first = hand.desk.frame().curve
    hand.desk.set_limits(replace(TALL, hold=Hold("across")))
    frame = hand.desk.frame()
    assert frame.is_curve_old
    assert frame.curve is first
    hand.desk.poll()
    assert strip_content(hand.desk.frame()).is_working  # type: ignore[union-attr]
    assert hand.desk.wait_for_fit(30)
    frame = hand.desk.frame()
    assert not frame.is_curve_old
    assert frame.curve is not first
    # And each cup has its own.
    hand.key(pygame.K_5)
    assert hand.desk.wait_for_fit(30)
    assert hand.desk.frame().curve is not frame.curve


# --- B ----------------------------------------------------------------------------


class Clock:
    def __init__(self) -> None:
        self.now_s = 50.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gliding(opener: FakeOpener, clock: Clock):  # type: ignore[no-untyped-def]
    from tests.screen.conftest import Hand

    press = Press(limits=TALL)
    desk = Desk((1600, 1000), press, opener, clock=clock)
    opened = open_now(opener, "/jobs/pennant.svg", LoadOptions(), press)
    start = model.with_cup(model.with_turn(model.at_datum(opened.session), 0.0), 3)
    desk.show(replace(opened, session=start))
    yield Hand(desk)
    desk.close()


def test_b_glides_to_the_best_in_a_quarter_of_a_second(gliding: Hand, clock: Clock) -> None:
    desk = gliding.desk
    start = session(desk)
    best = start.cup_fit.best.settable
    gliding.key(pygame.K_b)
    assert desk.is_gliding
    seen = []
    for step in range(1, 5):
        clock.now_s = 50.0 + GLIDE_S * step / 5
        desk.poll()
        seen.append(abs(turn(gliding)))
        gliding.show()
    assert seen == sorted(seen)
    assert 0 < seen[0] < seen[-1] < abs(best.turn_deg)
    # Slow at both ends: less than a fifth of the way after a fifth of the time.
    assert seen[0] < abs(best.turn_deg) / 5
    clock.now_s = 50.0 + GLIDE_S
    desk.poll()
    assert not desk.is_gliding
    now = session(desk).placement
    assert (now.center_mm, now.turn_deg) == (best.center_mm, best.turn_deg)
    gliding.key(pygame.K_z, CTRL)
    assert session(desk).placement == start.placement
    assert not desk.history.can_undo


@pytest.mark.parametrize("way", ["key", "button", "wheel"])
def test_any_input_ends_the_glide_at_its_end(gliding: Hand, clock: Clock, way: str) -> None:
    desk = gliding.desk
    best = session(desk).cup_fit.best.settable
    gliding.key(pygame.K_b)
    clock.now_s += 0.1
    desk.poll()
    assert desk.is_gliding
    gliding.move((400, 400))  # a hand that shakes is no wish
    gliding.type("b")  # nor is the letter that the key itself brings
    assert desk.is_gliding
    if way == "key":
        gliding.key(pygame.K_f)
    elif way == "button":
        gliding.press((desk.layout.view.x + 5, desk.layout.view.bottom - 5), 2)
    else:
        gliding.wheel((400, 400), 1)
    assert not desk.is_gliding
    assert turn(gliding) == best.turn_deg


def test_without_a_clock_b_jumps(hand: Hand) -> None:
    best = session(hand.desk).cup_fit.best.settable
    hand.key(pygame.K_b)
    assert not hand.desk.is_gliding
    assert session(hand.desk).placement == best.placement


def test_b_while_the_fit_is_worked_out_goes_there_when_it_is_known(hand: Hand) -> None:
    hand.desk.set_limits(replace(TALL, hold=Hold("along")))
    hand.desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_b, mod=0, unicode="b"))
    hand.desk.handle(pygame.event.Event(pygame.TEXTINPUT, text="b"))
    assert hand.desk.wait_for_fit(30)
    now = session(hand.desk)
    assert now.is_fit_current
    assert now.placement == now.cup_fit.best.settable.placement


def test_what_a_glide_passes_over_is_never_called_a_fit_where_it_is_not_allowed(
    opener: FakeOpener, clock: Clock
) -> None:
    limits = PressLimits(pad=Pad("oval", 110, 90), angles=Angles("step", 90.0))
    from tests.screen.conftest import make_artwork

    start = model.start_session(make_artwork(), Press(limits=limits))
    askew = replace(start, placement=replace(start.placement, turn_deg=45.0))
    assert all(p.verdict is not Verdict.FITS for p in askew.placed())
    assert any(p.verdict is Verdict.FITS for p in start.placed())
