"""The artist's tools by posted events: ways out, measuring, pieces, paper, snapping, hover."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pygame
import pytest

from tests.screen.conftest import SPECK_MM, TRIANGLE_MM, FakeOpener, Hand
from viewer.artwork.model import LoadOptions
from viewer.fit import Verdict, WayKind
from viewer.press.cups import EXAMPLE_CUPS, Cup
from viewer.press.limits import Angles, Hold, Pad, PressLimits
from viewer.press.press import Press
from viewer.screen import hover, model
from viewer.screen.cards import contents
from viewer.screen.desk import Desk
from viewer.screen.loader import open_now
from viewer.screen.model import Session
from viewer.screen.overlay import knob_px, overlay_place
from viewer.screen.painter import Painter
from viewer.screen.pieces_card import PiecesContent
from viewer.screen.sizes_layer import at_px, distance_words, marked_points
from viewer.screen.text import PlacedText
from viewer.screen.tools import Tools
from viewer.screen.ways_card import WaysContent

CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
# The circle of the triangle stands on its side of 76: center (58, 20).
CIRCLE = (58.0, 20.0)


def session(hand: Hand) -> Session:
    assert hand.desk.session is not None
    return hand.desk.session


def tools(hand: Hand) -> Tools:
    return hand.desk.artist.tools


def settle(hand: Hand) -> None:
    """Let threads and readings come to their end."""
    if hand.desk.job is not None:
        assert hand.desk.job.wait(10)
        hand.desk.poll()
    assert hand.desk.wait_for_fit(20)
    hand.show()


def key(hand: Hand, code: int, mod: int = 0) -> None:
    hand.key(code, mod)
    settle(hand)


def window_px(hand: Hand, point: tuple[float, float]) -> tuple[int, int]:
    assert hand.desk.camera is not None
    return at_px(hand.desk.layout, hand.desk.camera, point)


def card(hand: Hand) -> WaysContent:
    return next(c for c in contents(hand.desk.frame()) if isinstance(c, WaysContent))


def verdict(hand: Hand) -> Verdict:
    return session(hand).placed()[session(hand).cup_index].verdict


def shift_away(hand: Hand, by_mm: float = 12.0) -> None:
    """The cup where the artwork is out of it, though it fits elsewhere."""
    key(hand, pygame.K_4)
    hand.desk.change(lambda s: model.with_center(s, (CIRCLE[0] + by_mm, CIRCLE[1])))
    settle(hand)


# --- ways out -----------------------------------------------------------------


def test_a_way_is_taken_by_one_key_and_undone(hand: Hand) -> None:
    shift_away(hand, 14.0)
    before = session(hand)
    assert verdict(hand) is not Verdict.FITS
    ways = tools(hand).ways
    assert ways is not None
    assert [w.kind for w in ways.ways[:2]] == [WayKind.SHIFT, WayKind.BEST]
    # Radius 38 in one of 46.75: the centers may be 8.75 apart.
    assert card(hand).rows[0].words.startswith("move 5.2")
    key(hand, pygame.K_1, CTRL)
    assert verdict(hand) is Verdict.FITS
    assert session(hand).placement.center_mm[0] == pytest.approx(CIRCLE[0] + 8.75, abs=0.02)
    key(hand, pygame.K_z, CTRL)
    assert session(hand).placement == before.placement


def test_a_way_is_chosen_with_arrows_shown_and_taken_with_enter(hand: Hand) -> None:
    shift_away(hand, 14.0)
    key(hand, pygame.K_a)
    assert (tools(hand).mode, tools(hand).way) == ("ways", 0)
    picture = hand.surface.copy()
    key(hand, pygame.K_DOWN)
    assert tools(hand).way == 1
    assert (pygame.surfarray.array3d(picture) != pygame.surfarray.array3d(hand.surface)).any()
    assert card(hand).chosen == 1
    key(hand, pygame.K_RETURN)
    assert session(hand).placement.center_mm == CIRCLE
    assert tools(hand).mode == ""


def test_escape_leaves_the_ways_as_they_were(hand: Hand) -> None:
    shift_away(hand)
    placement = session(hand).placement
    key(hand, pygame.K_a)
    key(hand, pygame.K_ESCAPE)
    assert tools(hand).mode == ""
    assert tools(hand).way == -1
    assert session(hand).placement == placement


def test_a_way_is_shown_while_the_pointer_is_over_it_and_taken_by_a_click(hand: Hand) -> None:
    shift_away(hand)
    box = hand.desk.painter.panel.place_of("way:1")
    assert box is not None
    hand.move(box.center)
    hand.show()
    assert tools(hand).way == 1
    assert tools(hand).hover == "panel:way:1"
    hand.click(box.center)
    assert session(hand).placement.center_mm == CIRCLE
    hand.move((5, 400))
    assert tools(hand).way == -1


def test_scaling_and_another_cup_are_ways_and_leave_the_file_alone(hand: Hand) -> None:
    key(hand, pygame.K_2)
    found = {way.kind: n for n, way in enumerate(tools(hand).ways.ways, 1)}  # type: ignore[union-attr]
    loaded = session(hand).loaded
    key(hand, getattr(pygame, f"K_{found[WayKind.SCALE]}"), CTRL)
    # 63.75 of 76, less what is uncertain, in whole steps of 0.1 %.
    assert session(hand).scale == pytest.approx(0.838, abs=1e-9)
    assert session(hand).loaded is loaded
    assert verdict(hand) is Verdict.FITS
    key(hand, pygame.K_z, CTRL)
    assert session(hand).scale == 1.0
    found = {way.kind: n for n, way in enumerate(tools(hand).ways.ways, 1)}  # type: ignore[union-attr]
    key(hand, getattr(pygame, f"K_{found[WayKind.CUP]}"), CTRL)
    assert session(hand).cup.name == "90"
    assert verdict(hand) is Verdict.FITS


def test_ink_to_draw_further_in_is_shown_not_done(hand: Hand) -> None:
    key(hand, pygame.K_2)
    ways = tools(hand).ways
    assert ways is not None
    number = next(n for n, w in enumerate(ways.ways, 1) if w.kind is WayKind.MOVE_IN)
    before, camera = session(hand), hand.desk.camera
    moves = ways.ways[number - 1].moves
    assert [round(m.by_mm, 2) for m in moves] == [6.13, 6.13]  # 38 + 0.005 - 31.875
    key(hand, getattr(pygame, f"K_{number}"), CTRL)
    assert session(hand).placement == before.placement
    assert hand.desk.camera != camera


def test_while_dragging_the_ways_can_do_nothing(hand: Hand) -> None:
    shift_away(hand)
    place = overlay_place(session(hand), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    hand.press(place.center)
    hand.move((place.center[0] + 90, place.center[1]))
    hand.show()
    assert card(hand).are_old
    said = [one.text for one in placed_texts(hand.desk) if one.where == "card:To fit the 110 cup"]
    assert not [text for text in said if "mm" in text or "move" in text]
    assert "the angle cannot help a round cup" in said
    assert hand.desk.painter.panel.place_of("way:0") is None
    hand.release((place.center[0] + 90, place.center[1]))
    settle(hand)
    assert not card(hand).are_old


def test_a_file_that_is_unsure_offers_no_way(doubtful: Desk) -> None:
    hand = Hand(doubtful)
    settle(hand)
    key(hand, pygame.K_a)
    for way in tools(hand).ways.ways:  # type: ignore[union-attr]
        assert way.placed.verdict is Verdict.FITS


# --- measuring ----------------------------------------------------------------


def test_two_clicks_near_corners_measure_from_corner_to_corner(hand: Hand) -> None:
    key(hand, pygame.K_m)
    for point in (TRIANGLE_MM[0], TRIANGLE_MM[1]):
        x, y = window_px(hand, (float(point[0]), float(point[1])))
        hand.move((x + 4, y + 3))
        hand.click((x + 4, y + 3))
    assert tools(hand).ends_mm == ((20.0, 20.0), (96.0, 20.0))
    assert distance_words(*tools(hand).ends_mm) == "76.00 mm"
    key(hand, pygame.K_ESCAPE)
    assert tools(hand).ends_mm == ()
    assert tools(hand).mode == "measure"
    key(hand, pygame.K_ESCAPE)
    assert tools(hand).mode == ""


def test_a_drag_measures_too(hand: Hand) -> None:
    key(hand, pygame.K_m)
    hand.drag(window_px(hand, (20.0, 20.0)), window_px(hand, (58.0, 46.0)))
    assert tools(hand).ends_mm == ((20.0, 20.0), (58.0, 46.0))


def test_without_snapping_a_measurement_begins_where_it_is_clicked(hand: Hand) -> None:
    key(hand, pygame.K_n)
    key(hand, pygame.K_m)
    x, y = window_px(hand, (20.0, 20.0))
    hand.click((x + 4, y + 3))
    assert math.dist(tools(hand).ends_mm[0], (20.0, 20.0)) > 0.3


def test_measuring_by_keyboard(hand: Hand) -> None:
    key(hand, pygame.K_m)
    corners = marked_points(session(hand))
    assert tools(hand).cross_mm == corners[0]
    key(hand, pygame.K_RETURN)
    key(hand, pygame.K_TAB)
    assert tools(hand).cross_mm == corners[1]
    key(hand, pygame.K_TAB, SHIFT)
    key(hand, pygame.K_RIGHT)
    key(hand, pygame.K_DOWN, SHIFT)
    key(hand, pygame.K_LEFT, CTRL)
    key(hand, pygame.K_RETURN)
    (x0, y0), (x1, y1) = tools(hand).ends_mm
    assert (x1 - x0, y1 - y0) == (pytest.approx(0.9), pytest.approx(10.0))
    assert session(hand).placement.center_mm == model.at_datum(session(hand)).placement.center_mm


def test_words_of_a_distance() -> None:
    assert distance_words((0.0, 0.0), (30.0, 40.0)) == "50.00 mm   30.00 \u2194   40.00 \u2195"
    assert distance_words((1.0, 1.0), (1.0, 3.5)) == "2.50 mm"


def test_the_sizes_are_drawn_with_their_numbers(hand: Hand) -> None:
    key(hand, pygame.K_k)
    texts = [one.text for one in placed_texts(hand.desk) if one.where == "tags"]
    assert texts == [
        "width 76.00 mm",
        "height 26.00 mm",
        "longest diagonal 76.00 mm",
        "smallest circle \u00d8 76.00 mm",
    ]
    key(hand, pygame.K_k)
    assert not [one for one in placed_texts(hand.desk) if one.where == "tags"]


def test_escape_takes_the_sizes_away(hand: Hand) -> None:
    key(hand, pygame.K_k)
    key(hand, pygame.K_ESCAPE)
    assert not tools(hand).shows_sizes


# --- pieces and paper ------------------------------------------------------------


def pieces_card(hand: Hand) -> PiecesContent:
    return next(c for c in contents(hand.desk.frame()) if isinstance(c, PiecesContent))


def test_a_piece_is_left_out_by_keyboard_undone_and_taken_in(hand: Hand) -> None:
    key(hand, pygame.K_p)
    settle(hand)
    assert [row.number for row in pieces_card(hand).rows] == [1, 2]
    assert pieces_card(hand).rows[0].note == "decides the size"
    key(hand, pygame.K_DOWN)
    key(hand, pygame.K_DELETE)
    assert session(hand).artwork.options.leave_out == (SPECK_MM,)
    assert pieces_card(hand).rows[1].is_out
    assert "1 piece left out, as you said" in repr(contents(hand.desk.frame())[0])
    key(hand, pygame.K_DELETE)
    assert session(hand).artwork.options.leave_out == (SPECK_MM,)
    key(hand, pygame.K_z, CTRL)
    assert session(hand).artwork.options.leave_out == ()
    key(hand, pygame.K_y, CTRL)
    assert session(hand).artwork.options.leave_out == (SPECK_MM,)
    key(hand, pygame.K_INSERT)
    assert session(hand).artwork.options.leave_out == ()
    key(hand, pygame.K_RETURN)
    assert session(hand).artwork.options.leave_out == (SPECK_MM,)
    assert tools(hand).mode == "pieces"


def test_delete_does_nothing_where_no_pieces_are_shown(hand: Hand) -> None:
    key(hand, pygame.K_p)
    key(hand, pygame.K_DOWN)
    key(hand, pygame.K_p)
    key(hand, pygame.K_DELETE)
    assert hand.desk.job is None
    assert session(hand).artwork.options.leave_out == ()


def test_the_last_piece_cannot_be_left_out(hand: Hand) -> None:
    key(hand, pygame.K_p)
    settle(hand)
    key(hand, pygame.K_DOWN)
    key(hand, pygame.K_DELETE)
    key(hand, pygame.K_UP)
    key(hand, pygame.K_DELETE)
    assert session(hand).artwork.options.leave_out == (SPECK_MM,)
    assert "last piece" in hand.desk.looks.look.message


def test_a_piece_is_left_out_by_a_click_on_it_and_veiled(hand: Hand) -> None:
    key(hand, pygame.K_p)
    settle(hand)
    at = window_px(hand, SPECK_MM)
    hand.move(at)
    hand.show()
    assert tools(hand).piece == 2
    before = hand.surface.get_at(at)
    hand.click(at)
    settle(hand)
    assert session(hand).artwork.options.leave_out == (SPECK_MM,)
    key(hand, pygame.K_ESCAPE)
    assert tools(hand).left_out
    assert hand.surface.get_at(at) != before


def test_a_piece_and_all_of_them_by_the_card(hand: Hand) -> None:
    key(hand, pygame.K_p)
    settle(hand)
    for name, expected in (("piece:2", (SPECK_MM,)), ("tool:restore", ())):
        box = hand.desk.painter.panel.place_of(name)
        assert box is not None
        hand.click(box.center)
        settle(hand)
        assert session(hand).artwork.options.leave_out == expected
    box = hand.desk.painter.panel.place_of("tool:pieces")
    assert box is not None
    hand.click(box.center)
    assert tools(hand).mode == ""


def test_beside_all_pieces_a_press_still_pans(hand: Hand) -> None:
    key(hand, pygame.K_p)
    settle(hand)
    before = hand.desk.camera
    view = hand.desk.layout.view
    start = (view.left + 5, view.bottom - 5)
    hand.drag(start, (start[0] + 40, start[1] - 30))
    assert hand.desk.camera != before


def test_the_paper_is_picked_by_a_click_and_by_keyboard(hand: Hand) -> None:
    key(hand, pygame.K_i)
    hand.click(window_px(hand, (58.0, 25.0)))
    settle(hand)
    assert session(hand).artwork.options.paper == "#17324d"
    assert "#17324d read as paper" in repr(contents(hand.desk.frame())[0])
    key(hand, pygame.K_z, CTRL)
    assert session(hand).artwork.options.paper is None
    key(hand, pygame.K_i)
    key(hand, pygame.K_RIGHT, SHIFT)
    assert tools(hand).cross_mm == (11.0, 1.0)
    key(hand, pygame.K_RETURN)
    assert session(hand).artwork.options.paper == "transparent"


def test_white_goes_round(hand: Hand) -> None:
    for expected in ("ink", "paper", None):
        key(hand, pygame.K_u)
        assert session(hand).artwork.options.white == expected


# --- snapping -----------------------------------------------------------------


def drag_center_to(hand: Hand, point: tuple[float, float], off_px: int) -> None:
    place = overlay_place(session(hand), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    x, y = window_px(hand, point)
    hand.press(place.center)
    hand.move((x + off_px, y))
    hand.show()


def test_a_drag_snaps_to_the_circle_and_says_so(hand: Hand) -> None:
    hand.desk.change(lambda s: model.with_center(s, (70.0, 50.0)))
    drag_center_to(hand, CIRCLE, 4)
    assert session(hand).placement.center_mm == CIRCLE
    sign = tools(hand).sign
    assert sign is not None
    assert sign.label == "centre of the smallest circle"
    hand.release((0, 0))
    assert tools(hand).sign is None


@pytest.mark.parametrize(("point", "label"), [((60.0, 40.0), "page"), ((58.0, 33.0), "datum")])
def test_it_snaps_to_page_and_datum_too(hand: Hand, point: tuple[float, float], label: str) -> None:
    hand.desk.change(lambda s: model.with_center(s, (90.0, 60.0)))
    drag_center_to(hand, point, -3)
    assert session(hand).placement.center_mm == point
    assert label in tools(hand).sign.label  # type: ignore[union-attr]


def test_without_snapping_it_stays_where_it_is_dragged(hand: Hand) -> None:
    key(hand, pygame.K_n)
    assert not tools(hand).is_snapping
    hand.desk.change(lambda s: model.with_center(s, (70.0, 50.0)))
    drag_center_to(hand, CIRCLE, 4)
    assert session(hand).placement.center_mm != CIRCLE
    assert tools(hand).sign is None


def test_a_target_that_the_hold_forbids_is_no_target(hand: Hand) -> None:
    hand.desk.set_limits(PressLimits(hold=Hold("along", 30.0)))
    hand.desk.change(lambda s: model.with_offset(s, 0.0, 25.0))
    drag_center_to(hand, (60.0, 40.0), 0)
    assert session(hand).placement.center_mm[0] == 58.0


def test_the_knob_snaps_to_whole_angles(hand: Hand) -> None:
    place = overlay_place(session(hand), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    knob = knob_px(place, hand.desk.layout)
    reach = math.dist(knob, place.center)
    angle = math.radians(90 - 44.2)
    to = (
        round(place.center[0] + reach * math.cos(angle)),
        round(place.center[1] - reach * math.sin(angle)),
    )
    hand.press(knob)
    hand.move(to)
    assert session(hand).placement.turn_deg == 45.0
    assert tools(hand).sign is not None
    hand.release(to)
    hand.desk.set_limits(PressLimits(angles=Angles("step", 20.0)))
    turned = model.with_turn(session(hand), 40.0)
    assert hand.desk.artist.snapped_turn(turned, 44.6) == 44.6


# --- what is under the pointer ----------------------------------------------------


def test_hover_lights_up_what_a_press_would_take(hand: Hand) -> None:
    place = overlay_place(session(hand), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    layout = hand.desk.layout
    plain = pygame.surfarray.array3d(hand.surface)
    best = hand.desk.painter.panel.place_of("command:best")
    assert best is not None
    view = layout.view
    for pos, expected, cursor in (
        (place.center, "cup", pygame.SYSTEM_CURSOR_SIZEALL),
        (knob_px(place, layout), "turn", pygame.SYSTEM_CURSOR_HAND),
        ((view.left + 4, view.top + 4), "pan", pygame.SYSTEM_CURSOR_HAND),
        (layout.strip.center, "curve", pygame.SYSTEM_CURSOR_SIZEWE),
        (best.center, "panel:command:best", pygame.SYSTEM_CURSOR_HAND),
    ):
        hand.move(pos)
        hand.show()
        assert tools(hand).hover == expected
        assert hover.cursor_for(hand.desk) == cursor
        if expected != "curve":
            assert (pygame.surfarray.array3d(hand.surface) != plain).any(), expected
    hand.send(pygame.WINDOWLEAVE)
    assert tools(hand).hover == ""


def test_cursors_of_the_tools(hand: Hand) -> None:
    key(hand, pygame.K_m)
    hand.move(hand.desk.layout.view.center)
    assert hover.cursor_for(hand.desk) == pygame.SYSTEM_CURSOR_CROSSHAIR
    box = hand.desk.painter.panel.place_of("field:angle")
    assert box is not None
    hand.move(box.center)
    assert hover.cursor_for(hand.desk) == pygame.SYSTEM_CURSOR_IBEAM
    hover.Cursor().show(hand.desk)  # nothing under the dummy driver


def test_the_tightest_place_from_near(hand: Hand) -> None:
    key(hand, pygame.K_g)
    tight = session(hand).placed()[session(hand).cup_index].tightest.point_mm
    view, camera = hand.desk.layout.view, hand.desk.camera
    assert camera is not None
    assert math.dist(window_px(hand, tight), view.center) < 2
    assert camera.px_per_mm > 20


# --- fields -------------------------------------------------------------------


def enter(hand: Hand, name: str, text: str) -> None:
    hand.desk.edit_field(name)
    hand.type(text)
    key(hand, pygame.K_RETURN)


def test_the_cup_is_changed_in_its_fields(hand: Hand) -> None:
    key(hand, pygame.K_3)
    enter(hand, "cup:diameter", "3 1/2 in")
    assert session(hand).cup == Cup("88.9", 88.9)
    enter(hand, "cup:ring", "4,5 mm")
    assert session(hand).cup.ring_inner_diameter_mm == pytest.approx(79.9)
    enter(hand, "cup:margin", "10")
    assert session(hand).cup.margin.value == pytest.approx(0.1)
    enter(hand, "cup:margin", "2 mm")
    assert session(hand).cup.max_image_diameter_mm == pytest.approx(75.9)
    assert session(hand).press.cups[2] == session(hand).cup
    for _ in range(4):
        key(hand, pygame.K_z, CTRL)
    assert tuple(c.cup for c in session(hand).fit.cups) == EXAMPLE_CUPS


def test_the_list_stays_in_order_and_the_cup_chosen(hand: Hand) -> None:
    key(hand, pygame.K_1)
    enter(hand, "cup:diameter", "100")
    names = [c.cup.name for c in session(hand).fit.cups]
    assert names == ["75", "90", "100", "110", "130"]
    assert session(hand).cup.name == "100"


def test_with_a_pad_a_changed_cup_is_worked_out_anew(hand: Hand) -> None:
    hand.desk.set_limits(PressLimits(pad=Pad("round", 90, 90)))
    settle(hand)
    enter(hand, "cup:ring", "5")
    assert session(hand).is_fit_current
    assert session(hand).cup_fit.cup.ring_width_mm == 5.0
    key(hand, pygame.K_z, CTRL)
    assert session(hand).is_fit_current


def test_the_next_file_keeps_the_changed_cup(hand: Hand) -> None:
    enter(hand, "cup:diameter", "95")
    hand.desk.open_dropped("/jobs/float.svg")
    settle(hand)
    assert "95" in [c.cup.name for c in session(hand).fit.cups]
    assert "95" in [cup.name for cup in session(hand).press.cups]


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("cup:diameter", "0", "greater than zero"),
        ("cup:diameter", "75", "such a cup already"),
        ("cup:ring", "-1", "zero or more"),
        ("cup:ring", "60", "no image area"),
        ("cup:margin", "100 %", "below 100"),
        ("cup:margin", "x", "not a length"),
        ("right", "1,234", "two ways"),
    ],
)
def test_what_makes_no_sense_is_told_at_the_field(
    hand: Hand, name: str, text: str, told: str
) -> None:
    key(hand, pygame.K_3)
    before = session(hand)
    enter(hand, name, text)
    assert hand.desk.editing is not None
    assert told in hand.desk.editing.error
    assert (
        hand.desk.editing.error
        in " ".join(one.text for one in placed_texts(hand.desk) if one.where.startswith("card:"))
        or len(hand.desk.editing.error) > 40
    )
    key(hand, pygame.K_ESCAPE)
    assert hand.desk.editing is None
    assert session(hand).cup == before.cup


@pytest.mark.parametrize(
    ("name", "mod", "value"),
    [
        ("right", 0, "+0.10"),
        ("right", SHIFT, "+1.00"),
        ("back", CTRL, "+0.01"),
        ("angle", 0, "+1.0"),
        ("angle", SHIFT, "+15.0"),
        ("scale", 0, "101.0"),
        ("cup:diameter", 0, "91"),
        ("cup:ring", 0, "3.1"),
        ("cup:margin", 0, "16 %"),
        ("limit:reach", 0, "0.5"),
    ],
)
def test_arrows_step_the_value_and_escape_restores(
    hand: Hand, name: str, mod: int, value: str
) -> None:
    key(hand, pygame.K_3)
    before = session(hand)
    steps = len(hand.desk.history.sessions)
    hand.desk.edit_field(name)
    kept = hand.desk.field_text(name)
    hand.key(pygame.K_UP, mod)
    assert hand.desk.field_text(name) == value
    assert hand.desk.editing is not None
    assert hand.desk.editing.text == value
    hand.key(pygame.K_UP, mod)
    hand.key(pygame.K_DOWN, mod)
    assert hand.desk.field_text(name) == value
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.field_text(name) == kept
    assert session(hand).placement == before.placement
    assert len(hand.desk.history.sessions) == steps
    hand.desk.edit_field(name)
    hand.key(pygame.K_UP, mod)
    hand.key(pygame.K_UP, mod)
    hand.key(pygame.K_RETURN)
    assert hand.desk.editing is None
    assert len(hand.desk.history.sessions) == steps + 1
    key(hand, pygame.K_z, CTRL)
    assert hand.desk.field_text(name) == kept


def test_a_typed_number_is_stepped_from(hand: Hand) -> None:
    hand.desk.edit_field("right")
    hand.type("1/2 in")
    hand.key(pygame.K_DOWN)
    assert hand.desk.field_text("right") == "+12.60"
    hand.desk.edit_field("right")
    hand.type("x")
    hand.key(pygame.K_DOWN)
    assert "not a length" in hand.desk.editing.error  # type: ignore[union-attr]


def test_a_field_stays_in_its_place_while_cards_above_grow(hand: Hand) -> None:
    settle(hand)
    key(hand, pygame.K_l)
    hand.desk.edit_field("cup:diameter")
    settle(hand)
    before = hand.desk.painter.panel.place_of("field:cup:diameter")
    for _ in range(3):
        key(hand, pygame.K_DOWN, SHIFT)
        assert hand.desk.painter.panel.place_of("field:cup:diameter").x == before.x  # type: ignore[union-attr]
        box = hand.desk.painter.panel.place_of("field:cup:diameter")
        assert box is not None
        assert box.bottom <= hand.desk.size[1]


def test_a_click_elsewhere_keeps_what_was_stepped(hand: Hand) -> None:
    hand.desk.edit_field("angle")
    hand.key(pygame.K_UP)
    hand.click(hand.desk.layout.status.center)
    assert hand.desk.field_text("angle") == "+1.0"
    key(hand, pygame.K_z, CTRL)
    assert hand.desk.field_text("angle") == "0.0"


# --- layout -------------------------------------------------------------------


def placed_texts(desk: Desk) -> list[PlacedText]:
    painter = Painter()
    painter.texts.log = log = []
    painter.draw(pygame.Surface(desk.size), desk.frame())
    return log


LONG_NAMES = (
    Cup("130 wide ring", 130.0, 6.0),
    Cup("the old one with the dented ring", 75.0),
    Cup("Harbourmastersownspecialextrawidecup-without-any-space", 90.0),
    Cup("101.625", 101.625),
)


LOOKS = [
    ((1100, 700), 0),
    ((1100, 700), 5),
    ((1600, 1000), -2),
    ((1600, 1000), 5),
    ((3840, 2160), 0),
]
"""Window, and how often the letters are made larger."""


@pytest.fixture(params=LOOKS, ids=str)
def long_hand(request: pytest.FixtureRequest, opener: FakeOpener) -> Iterator[Hand]:
    size, steps = request.param
    press = Press(cups=LONG_NAMES)
    desk = Desk(size, press, opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), press))
    hand = Hand(desk)
    for _ in range(abs(steps)):
        hand.key(pygame.K_PLUS if steps > 0 else pygame.K_MINUS, CTRL)
    yield hand
    desk.close()


def test_nothing_the_tools_say_is_cut(long_hand: Hand) -> None:
    hand = long_hand
    key(hand, pygame.K_2)
    hand.desk.change(lambda s: model.with_turn(model.moved(s, 9.0, 3.0), 33.0))
    settle(hand)
    keys = [pygame.K_a, pygame.K_ESCAPE, pygame.K_m, pygame.K_RETURN, pygame.K_TAB]
    keys += [pygame.K_k, pygame.K_ESCAPE, pygame.K_ESCAPE, pygame.K_p, pygame.K_DOWN]
    keys += [pygame.K_DELETE, pygame.K_i, pygame.K_RIGHT, pygame.K_ESCAPE, pygame.K_ESCAPE]
    for code in keys:
        key(hand, code)
        view = hand.desk.layout.view
        for placed in placed_texts(hand.desk):
            if placed.where == "pills":
                continue
            assert not placed.is_cut, (pygame.key.name(code), placed)
            assert placed.box.left <= placed.rect.left, placed
            assert placed.rect.right <= placed.box.right, placed
            if placed.where == "tags":
                assert view.contains(placed.rect), placed
    for name in LONG_NAMES:
        told = "".join(p.text for p in placed_texts(hand.desk) if p.where == "card:cups")
        assert name.name.replace(" ", "") in told.replace(" ", "")


def test_tags_do_not_hide_each_other(hand: Hand) -> None:
    key(hand, pygame.K_k)
    tags = [one for one in placed_texts(hand.desk) if one.where == "tags"]
    for index, one in enumerate(tags):
        for other in tags[index + 1 :]:
            assert not one.rect.colliderect(other.rect), (one, other)


def test_every_state_of_the_tools_is_the_same_drawn_afresh(hand: Hand) -> None:
    shift_away(hand)
    for code in (pygame.K_a, pygame.K_DOWN, pygame.K_m, pygame.K_k, pygame.K_p, pygame.K_DOWN,
                 pygame.K_RETURN, pygame.K_i, pygame.K_ESCAPE, pygame.K_ESCAPE):  # fmt: skip
        key(hand, code)
        fresh = pygame.Surface(hand.desk.size)
        frame = replace(hand.desk.frame())
        hand.desk.painter.draw(hand.surface, frame)
        Painter().draw(fresh, frame)
        one, other = (pygame.surfarray.array3d(s) for s in (fresh, hand.surface))
        assert np.array_equal(one, other), pygame.key.name(code)
