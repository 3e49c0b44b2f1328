"""Camera, rulers, wording, model: values without drawing."""

from __future__ import annotations

import math
from dataclasses import replace

import pygame
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.screen.conftest import FakeOpener, make_artwork
from viewer.artwork.model import LoadOptions
from viewer.errors import UsageError
from viewer.fit import Placement, wrapped_deg
from viewer.geometry.types import Bounds
from viewer.press.press import Press
from viewer.screen.camera import Camera, fit_camera
from viewer.screen.desk import Desk
from viewer.screen.entry import parse_number
from viewer.screen.help_overlay import help_groups
from viewer.screen.model import at_offset, start_session
from viewer.screen.rulers import label_text, ruler_steps_mm
from viewer.screen.wording import move_words, signed

finite = st.floats(-500, 500)


@given(st.floats(0.5, 300), finite, finite, finite, finite)
def test_camera_and_back(scale: float, left: float, top: float, x: float, y: float) -> None:
    camera = Camera(scale, left, top)
    assert camera.to_mm(*camera.to_px(x, y)) == pytest.approx((x, y), abs=1e-6)


@given(st.floats(1, 50), st.floats(0.3, 3), st.floats(0, 1200), st.floats(0, 800))
def test_zoom_keeps_the_point(scale: float, factor: float, x: float, y: float) -> None:
    camera = Camera(scale, -20.0, 35.0)
    assert camera.zoomed_at(x, y, factor).to_mm(x, y) == pytest.approx(camera.to_mm(x, y), abs=1e-6)


def test_fit_shows_all_of_it_in_the_middle() -> None:
    camera = fit_camera(Bounds(10, 20, 110, 60), 1000, 700, margin=0.05)
    assert camera.px_per_mm == pytest.approx(9.0)
    assert camera.to_px(60, 40) == pytest.approx((500, 350))


def test_fit_of_a_point() -> None:
    camera = fit_camera(Bounds(5, 5, 5, 5), 1000, 700)
    assert camera.to_px(5, 5) == pytest.approx((500, 350))


@given(st.floats(0.2, 400))
def test_ruler_steps_can_be_counted(px_per_mm: float) -> None:
    label, tick = ruler_steps_mm(px_per_mm, 58)
    assert 58 * (1 - 1e-6) <= label * px_per_mm <= 58 * 2.5 * (1 + 1e-6)
    mantissa = label / 10 ** math.floor(math.log10(label) + 1e-9)
    assert min(abs(mantissa - m) for m in (1, 2, 5)) < 1e-6
    assert tick * px_per_mm >= 5


def test_ruler_labels() -> None:
    assert label_text(-20.0, 10.0) == "\u221220"
    assert label_text(0.30000000000000004, 0.1) == "0.3"
    assert label_text(-0.0, 0.1) == "0.0"


@given(st.floats(-5000, 5000))
def test_angles_are_wrapped(angle: float) -> None:
    wrapped = wrapped_deg(angle)
    assert -180 < wrapped <= 180
    turns = (angle - wrapped) / 360
    assert turns == pytest.approx(round(turns), abs=1e-6)


def test_half_a_turn_is_positive() -> None:
    assert wrapped_deg(-180) == wrapped_deg(180) == 180


def test_words_for_a_move() -> None:
    assert move_words(1.0, -6.06) == "1.00 right, 6.06 back"
    assert move_words(-0.5, 0.25) == "0.50 left, 0.25 forward"
    assert move_words(0.001, -0.004) == ""


def test_signs() -> None:
    assert signed(2, 2) == "+2.00"
    assert signed(-1.2, 2) == "\u22121.20"
    assert signed(-0.001, 2) == "0.00"


@pytest.mark.parametrize("text", ["12,5", "12.5 %", " 12.5%"])
def test_numbers(text: str) -> None:
    assert parse_number(text, "scale", ("%",)) == 12.5


@pytest.mark.parametrize("text", ["", "nan", "inf", "1_0", "ten"])
def test_no_numbers(text: str) -> None:
    with pytest.raises(UsageError):
        parse_number(text, "scale", ("%",))


def test_help_lists_what_a_person_needs() -> None:
    keys = " ".join(c.help_keys for _, commands in help_groups() for c in commands)
    for wanted in ("B", "C", "R", "arrows", "Ctrl+Z", "Ctrl+Y", "F1", "Tab", "Esc", "Ctrl+O"):
        assert wanted in keys.split() or wanted in keys


@pytest.mark.parametrize("offset", [(2e4 + 1, 0.0), (0.0, -1e9), (float("inf"), 0.0)])
def test_a_position_beyond_any_press_is_refused(offset: tuple[float, float]) -> None:
    session = start_session(make_artwork(), Press())
    with pytest.raises(UsageError, match="20000 mm"):
        at_offset(session, *offset)


def test_a_cup_that_is_very_far_away_is_drawn() -> None:
    """As a job file may have it that somebody has written by hand."""
    desk = Desk((1100, 700), Press(), FakeOpener())
    desk.filing.open_now("/jobs/pennant.svg", LoadOptions())
    assert desk.session is not None
    desk.session = replace(desk.session, placement=Placement((1e9, -3e9), 12.0))
    desk.fit_window()
    surface = pygame.Surface(desk.size)
    desk.painter.draw(surface, desk.frame())
    desk.handle(pygame.event.Event(pygame.MOUSEMOTION, pos=(300, 300)))
    desk.painter.draw(surface, desk.frame())
    desk.close()
