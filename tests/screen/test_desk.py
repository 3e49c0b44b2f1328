"""What events do to the desk: every command, mouse, fields, files."""

from __future__ import annotations

import math
import threading
from typing import TYPE_CHECKING

import pygame
import pytest

from viewer.artwork.model import LoadOptions
from viewer.errors import Cancelled
from viewer.press.press import Press
from viewer.screen.commands import BY_KEY, COMMANDS
from viewer.screen.desk import Desk
from viewer.screen.loader import open_now
from viewer.screen.overlay import knob_px, overlay_place

if TYPE_CHECKING:
    from tests.screen.conftest import FakeOpener, Hand

CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
STEP_MM = 0.005 + 1e-9
"""Half of the 0.01 mm that can be set."""


def session(desk: Desk):  # type: ignore[no-untyped-def]
    assert desk.session is not None
    return desk.session


def center_px(desk: Desk) -> tuple[int, int]:
    return overlay_place(session(desk), desk.camera, desk.layout).center  # type: ignore[arg-type]


# --- start --------------------------------------------------------------------


def test_a_file_opens_where_the_cup_has_most_room(opener: FakeOpener) -> None:
    opened = open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press())
    now = opened.session
    assert now.placement.center_mm == now.cup_fit.best.center_mm == (58.0, 20.0)
    assert now.datum_mm == (58.0, 33.0)
    placed = now.placed()[now.cup_index]
    assert placed.clearance_mm == now.cup_fit.best.clearance_mm


def test_starts_with_the_smallest_cup_that_fits(desk: Desk) -> None:
    assert session(desk).cup.name == "90"


# --- commands -----------------------------------------------------------------


def test_every_key_means_one_thing() -> None:
    bindings = [binding for command in COMMANDS for binding in command.bindings]
    assert len(bindings) == len(set(bindings)) == len(BY_KEY)


def test_b_puts_the_cup_where_clearance_is_best(hand: Hand) -> None:
    hand.key(pygame.K_b)
    now = session(hand.desk)
    placed = now.placed()[now.cup_index]
    assert placed.clearance_mm == pytest.approx(now.cup_fit.best.clearance_mm, abs=1e-12)
    # 38.25 is half of the 90 cup's largest image; 38 half of the triangle's long side.
    assert placed.clearance_mm == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("key", "mod", "right", "back"),
    [
        (pygame.K_LEFT, 0, -0.1, 0),
        (pygame.K_RIGHT, 0, 0.1, 0),
        (pygame.K_UP, 0, 0, 0.1),
        (pygame.K_DOWN, 0, 0, -0.1),
        (pygame.K_RIGHT, SHIFT, 1.0, 0),
        (pygame.K_UP, pygame.KMOD_RSHIFT | pygame.KMOD_NUM, 0, 1.0),
        (pygame.K_LEFT, CTRL, -0.01, 0),
        (pygame.K_DOWN, CTRL, 0, -0.01),
    ],
)
def test_arrows_nudge(hand: Hand, key: int, mod: int, right: float, back: float) -> None:
    hand.key(key, mod)
    assert session(hand.desk).offset_mm == pytest.approx((right, back), abs=1e-9)


def test_back_is_up_on_the_page(hand: Hand) -> None:
    hand.key(pygame.K_UP, SHIFT)
    assert session(hand.desk).placement.center_mm == pytest.approx((58.0, 32.0))


@pytest.mark.parametrize(
    ("key", "mod", "turn"),
    [
        (pygame.K_q, 0, -1.0),
        (pygame.K_e, 0, 1.0),
        (pygame.K_LEFTBRACKET, SHIFT, -15.0),
        (pygame.K_RIGHTBRACKET, CTRL, 0.1),
    ],
)
def test_turning_the_cup_left_turns_the_artwork_right(
    hand: Hand, key: int, mod: int, turn: float
) -> None:
    hand.key(key, mod)
    assert session(hand.desk).placement.turn_deg == pytest.approx(turn)


def test_turning_changes_no_clearance_of_a_round_cup(hand: Hand) -> None:
    before = [p.clearance_mm for p in session(hand.desk).placed()]
    hand.key(pygame.K_e, SHIFT)
    assert [p.clearance_mm for p in session(hand.desk).placed()] == before


def test_centre_and_reset(hand: Hand) -> None:
    for key in (pygame.K_UP, pygame.K_RIGHT, pygame.K_e):
        hand.key(key)
    hand.key(pygame.K_c)
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))
    assert session(hand.desk).placement.turn_deg == 1.0
    hand.key(pygame.K_r)
    assert session(hand.desk).placement.turn_deg == 0.0


def test_cups_by_number_and_one_after_another(hand: Hand) -> None:
    hand.key(pygame.K_1)
    assert session(hand.desk).cup.name == "60"
    hand.key(pygame.K_PERIOD)
    assert session(hand.desk).cup.name == "75"
    hand.key(pygame.K_COMMA)
    hand.key(pygame.K_COMMA)
    assert session(hand.desk).cup.name == "130"
    hand.key(pygame.K_9)
    assert session(hand.desk).cup.name == "130"


def test_undo_and_redo_go_through_everything_that_changes_the_fit(hand: Hand) -> None:
    states = [session(hand.desk)]
    for key in (pygame.K_b, pygame.K_UP, pygame.K_e, pygame.K_2):
        hand.key(key)
        states.append(session(hand.desk))
    for wanted in reversed(states[:-1]):
        hand.key(pygame.K_z, CTRL)
        assert session(hand.desk) is wanted
    hand.key(pygame.K_z, CTRL)
    assert session(hand.desk) is states[0]
    for wanted in states[1:]:
        hand.key(pygame.K_y, CTRL)
        assert session(hand.desk) is wanted


def test_a_new_change_ends_what_could_be_redone(hand: Hand) -> None:
    hand.key(pygame.K_b)
    hand.key(pygame.K_z, CTRL)
    hand.key(pygame.K_UP)
    after = session(hand.desk)
    hand.key(pygame.K_y, CTRL)
    assert session(hand.desk) is after


def test_a_command_without_effect_is_not_remembered(hand: Hand) -> None:
    hand.key(pygame.K_c)
    assert not hand.desk.history.can_undo


def test_help_opens_closes_and_blocks_the_rest(hand: Hand) -> None:
    hand.key(pygame.K_F1)
    assert hand.desk.is_help_open
    hand.key(pygame.K_b)
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))
    hand.key(pygame.K_ESCAPE)
    assert not hand.desk.is_help_open


def test_quit(hand: Hand) -> None:
    hand.key(pygame.K_q, CTRL)
    assert hand.desk.is_closed


# --- mouse --------------------------------------------------------------------


def test_a_drag_moves_by_what_pixels_and_zoom_say(hand: Hand) -> None:
    start = center_px(hand.desk)
    scale = hand.desk.camera.px_per_mm  # type: ignore[union-attr]
    hand.drag((start[0] + 50, start[1] + 20), (start[0] + 50 + 31, start[1] + 20 - 17))
    right, back = session(hand.desk).offset_mm
    assert right == pytest.approx(31 / scale, abs=STEP_MM)
    assert back == pytest.approx(17 / scale, abs=STEP_MM)
    hand.key(pygame.K_z, CTRL)
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))


def test_a_drag_after_zooming_in(hand: Hand) -> None:
    hand.wheel(center_px(hand.desk), 6)
    scale = hand.desk.camera.px_per_mm  # type: ignore[union-attr]
    start = center_px(hand.desk)
    hand.drag(start, (start[0] - 40, start[1]))
    assert session(hand.desk).offset_mm[0] == pytest.approx(-40 / scale, abs=STEP_MM)


def test_the_knob_turns_the_cup_and_the_artwork_the_other_way(hand: Hand) -> None:
    place = overlay_place(session(hand.desk), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    knob = knob_px(place, hand.desk.layout)
    reach = place.center[1] - knob[1]
    angle = math.radians(90 + 30)  # 30 degrees counter-clockwise from the top
    end = (
        round(place.center[0] + reach * math.cos(angle)),
        round(place.center[1] - reach * math.sin(angle)),
    )
    hand.drag(knob, end)
    assert session(hand.desk).placement.turn_deg == pytest.approx(-30, abs=0.2)
    place = overlay_place(session(hand.desk), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    assert math.dist(knob_px(place, hand.desk.layout), end) <= 2
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))


def test_escape_puts_a_drag_back_and_other_keys_wait(hand: Hand) -> None:
    start = center_px(hand.desk)
    hand.press(start)
    hand.move((start[0] + 30, start[1]))
    assert session(hand.desk).offset_mm[0] > 1
    hand.key(pygame.K_b)
    assert session(hand.desk).offset_mm[1] == pytest.approx(0)
    hand.key(pygame.K_ESCAPE)
    hand.release((start[0] + 30, start[1]))
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))
    assert not hand.desk.history.can_undo


@pytest.mark.parametrize("way", ["bench", "middle", "space"])
def test_three_ways_to_pan(hand: Hand, way: str) -> None:
    before = hand.desk.camera
    assert before is not None
    view = hand.desk.layout.view
    start = (view.x + 15, view.bottom - 15) if way == "bench" else center_px(hand.desk)
    end = (start[0] + 40, start[1] - 25)
    if way == "space":
        hand.send(pygame.KEYDOWN, key=pygame.K_SPACE, mod=0, unicode=" ")
    hand.drag(start, end, button=2 if way == "middle" else 1)
    after = hand.desk.camera
    assert after is not None
    assert (before.left_mm - after.left_mm) * before.px_per_mm == pytest.approx(40)
    assert (before.top_mm - after.top_mm) * before.px_per_mm == pytest.approx(-25)
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))


def test_the_wheel_keeps_the_point_under_the_pointer(hand: Hand) -> None:
    view = hand.desk.layout.view
    pointer = (view.x + 301, view.y + 222)
    before = hand.desk.camera
    assert before is not None
    point = before.to_mm(301, 222)
    hand.wheel(pointer, 3)
    after = hand.desk.camera
    assert after is not None
    assert after.px_per_mm == pytest.approx(before.px_per_mm * 1.2**3)
    assert after.to_mm(301, 222) == pytest.approx(point)
    hand.key(pygame.K_f)
    assert hand.desk.camera == before


def test_a_click_on_a_row_or_a_name_chooses_a_cup(hand: Hand) -> None:
    box = hand.desk.painter.panel.place_of("cup:3")
    assert box is not None
    hand.click(box.center)
    assert session(hand.desk).cup.name == "110"


def test_a_click_on_a_dotted_circle_chooses_its_cup(hand: Hand) -> None:
    x, y = center_px(hand.desk)
    scale = hand.desk.camera.px_per_mm  # type: ignore[union-attr]
    hand.click((round(x + 55 * scale * math.cos(0.2)), round(y + 55 * scale * math.sin(0.2))))
    assert session(hand.desk).cup.name == "110"


@pytest.mark.parametrize("name", ["best", "centre", "undo"])
def test_buttons_do_as_their_keys(hand: Hand, name: str) -> None:
    hand.key(pygame.K_RIGHT)
    box = hand.desk.painter.panel.place_of(f"command:{name}")
    assert box is not None
    hand.click(box.center)
    wanted = {"best": (0.0, 13.0), "centre": (0.0, 0.0), "undo": (0.0, 0.0)}[name]
    assert session(hand.desk).offset_mm == pytest.approx(wanted)


# --- fields -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "text", "check"),
    [
        ("right", "2,5", lambda s: s.offset_mm[0] == pytest.approx(2.5)),
        ("right", "1/2 in", lambda s: s.offset_mm[0] == pytest.approx(12.7)),
        ("back", "-3 mm", lambda s: s.offset_mm[1] == pytest.approx(-3)),
        ("angle", "450\u00b0", lambda s: s.placement.turn_deg == pytest.approx(90)),
        ("scale", "50 %", lambda s: s.fit.width_mm == pytest.approx(38)),
    ],
)
def test_fields_take_what_people_write(hand: Hand, field: str, text: str, check: object) -> None:
    box = hand.desk.painter.panel.place_of(f"field:{field}")
    assert box is not None
    hand.click(box.center)
    hand.type(text)
    hand.key(pygame.K_RETURN)
    assert hand.desk.editing is None
    assert callable(check)
    assert check(session(hand.desk))
    hand.key(pygame.K_z, CTRL)
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))
    assert session(hand.desk).fit.width_mm == pytest.approx(76)


def test_nonsense_is_told_at_the_field_and_changes_nothing(hand: Hand) -> None:
    before = session(hand.desk)
    hand.key(pygame.K_RETURN)
    hand.type("two")
    hand.key(pygame.K_RETURN)
    assert hand.desk.editing is not None
    assert "two" in hand.desk.editing.error
    assert session(hand.desk) is before
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.editing is None


def test_letters_in_a_field_are_no_commands(hand: Hand) -> None:
    hand.key(pygame.K_RETURN)
    hand.key(pygame.K_b)
    hand.type("1")
    hand.key(pygame.K_1)
    assert session(hand.desk).offset_mm == pytest.approx((0, 0))
    assert session(hand.desk).cup.name == "90"
    hand.key(pygame.K_TAB)
    assert session(hand.desk).offset_mm[0] == pytest.approx(1)
    assert hand.desk.editing is not None
    assert hand.desk.editing.name == "back"


def test_scaling_keeps_the_cup_at_its_distance_from_the_datum(hand: Hand) -> None:
    hand.key(pygame.K_RIGHT, SHIFT)
    box = hand.desk.painter.panel.place_of("field:scale")
    assert box is not None
    hand.click(box.center)
    hand.type("50")
    hand.key(pygame.K_RETURN)
    assert session(hand.desk).offset_mm == pytest.approx((1.0, 0.0))
    assert session(hand.desk).artwork.page_mm == (60.0, 40.0)


# --- files --------------------------------------------------------------------


def finish(hand: Hand) -> None:
    assert hand.desk.job is not None
    assert hand.desk.job.wait(10)
    hand.desk.poll()
    hand.show()


def test_a_dropped_file_opens_without_the_sizes_of_the_last(hand: Hand, opener: FakeOpener) -> None:
    hand.key(pygame.K_UP)
    hand.send(pygame.DROPFILE, file="/jobs/float.pdf")
    hand.key(pygame.K_l)  # leave the nudge unsaved
    finish(hand)
    assert session(hand.desk).artwork.path == "/jobs/float.pdf"
    assert opener.asked[-1] == ("/jobs/float.pdf", LoadOptions())
    assert not hand.desk.history.can_undo


def test_an_unreadable_file_is_told_and_the_old_artwork_stays(hand: Hand) -> None:
    before = session(hand.desk)
    hand.send(pygame.DROPFILE, file="/jobs/broken.svg")
    finish(hand)
    assert session(hand.desk) is before
    assert hand.desk.notice is not None
    assert (
        hand.desk.notice.text == "/jobs/broken.svg: is not a picture; save it again as SVG or PDF"
    )
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.notice is None


def test_an_unknown_size_is_asked_for(hand: Hand, opener: FakeOpener) -> None:
    hand.send(pygame.DROPFILE, file="/jobs/nosize.png")
    finish(hand)
    assert hand.desk.editing is not None
    hand.type("-3")
    hand.key(pygame.K_RETURN)
    assert "greater than zero" in hand.desk.editing.error
    for _ in range(2):
        hand.key(pygame.K_BACKSPACE)
    hand.type("12,5 mm")
    hand.key(pygame.K_RETURN)
    finish(hand)
    assert opener.asked[-1][1].width_mm == 12.5
    assert session(hand.desk).artwork.path == "/jobs/nosize.png"
    assert hand.desk.notice is None


def test_a_path_can_be_typed(hand: Hand) -> None:
    hand.key(pygame.K_o, CTRL)
    hand.type("/jobs/lure.svg")
    hand.key(pygame.K_RETURN)
    finish(hand)
    assert session(hand.desk).artwork.path == "/jobs/lure.svg"


def test_escape_cancels_reading_and_what_comes_late_is_dropped() -> None:
    from tests.screen.conftest import FakeOpener

    started, may_end = threading.Event(), threading.Event()
    seen: list[bool] = []

    def slow(cancelled: object) -> None:
        started.set()
        may_end.wait(10)
        assert callable(cancelled)
        seen.append(cancelled())

    opener = FakeOpener(slow)
    desk = Desk((1600, 1000), Press(), opener)
    desk.open_file("/jobs/slow.svg", LoadOptions())
    job = desk.job
    assert job is not None
    assert started.wait(10)
    assert desk.frame().loading is not None
    desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_ESCAPE, mod=0, unicode=""))
    assert desk.job is None
    may_end.set()
    assert job.wait(10)
    desk.poll()
    assert seen == [True]
    assert isinstance(job.error, Cancelled)
    assert desk.session is None
    assert desk.notice is None
    assert all(picture.is_closed for picture in opener.pictures)
    desk.close()


def test_the_old_picture_is_closed_when_another_file_is_shown(
    hand: Hand, opener: FakeOpener
) -> None:
    hand.send(pygame.DROPFILE, file="/jobs/float.pdf")
    finish(hand)
    hand.desk.close()
    assert [picture.is_closed for picture in opener.pictures] == [True, True]


def test_a_sharper_picture_comes_from_a_thread(hand: Hand) -> None:
    assert hand.desk.sharpness.is_wanted
    woken = threading.Event()
    hand.desk.sharpness._sharpener._wake = woken.set
    hand.desk.sharpness.ask()
    assert woken.wait(10)
    hand.desk.poll()
    assert hand.desk.sharp is not None
    assert hand.desk.sharp.camera == hand.desk.camera
    assert not hand.desk.sharpness.is_wanted
