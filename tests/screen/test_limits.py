"""What the press forbids cannot be set; the card of limits, by mouse and keys; the thread."""

from __future__ import annotations

import math
import threading
import time
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import pygame
import pytest

from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError, UsageError
from viewer.fit import PlacedFit, Verdict
from viewer.press.limits import Angles, Datum, EtchArea, Hold, Pad, PressLimits
from viewer.press.press import Press
from viewer.screen import fitter, limit_fields, model
from viewer.screen.cards import contents
from viewer.screen.commands import BY_KEY
from viewer.screen.desk import Desk
from viewer.screen.help_overlay import help_groups
from viewer.screen.limit_fields import choices, limit_value, typed_limits
from viewer.screen.loader import Opened, open_now
from viewer.screen.overlay import knob_px, overlay_place
from viewer.screen.painter import Painter
from viewer.screen.text import PlacedText
from viewer.screen.wording import callout_for, limiting_lines, turning_line

if TYPE_CHECKING:
    from tests.screen.conftest import FakeOpener, Hand

CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT
PADS = (
    Pad("round", 80, 80, name="soft round"),
    Pad("oval", 110, 70, margin_mm=2.0, name="harbour oval"),
)
WIDE = PressLimits(pad=Pad("oval", 110, 90), etch=EtchArea(120, 100))


@pytest.fixture
def shop(opener: FakeOpener):  # type: ignore[no-untyped-def]
    """A desk of a shop with pads of its own; the cup over the datum, the 110 one."""
    press = Press(pads=PADS, etch=EtchArea(100, 80))
    desk = Desk((1600, 1000), press, opener)
    opened = open_now(opener, "/jobs/pennant.svg", LoadOptions(), press)
    session = model.with_cup(model.at_datum(opened.session), 3)
    desk.show(replace(opened, session=session))
    yield desk
    desk.close()


@pytest.fixture
def hand(shop: Desk) -> Hand:
    from tests.screen.conftest import Hand

    return Hand(shop)


def session(desk: Desk) -> model.Session:
    assert desk.session is not None
    return desk.session


def set_limits(hand: Hand, **changes: object) -> None:
    hand.desk.set_limits(replace(session(hand.desk).limits, **changes))  # type: ignore[arg-type]
    assert hand.desk.wait_for_fit(30)
    hand.show()


def center_px(desk: Desk) -> tuple[int, int]:
    return overlay_place(session(desk), desk.camera, desk.layout).center  # type: ignore[arg-type]


def offset(hand: Hand) -> tuple[float, float]:
    return session(hand.desk).offset_mm


def click_on(hand: Hand, name: str) -> None:
    box = hand.desk.painter.panel.place_of(name)
    assert box is not None, name
    hand.click(box.center)


# --- what the hold allows -------------------------------------------------------


def test_across_moves_left_and_right_alone(hand: Hand) -> None:
    set_limits(hand, hold=Hold("across"))
    x, y = center_px(hand.desk)
    scale = hand.desk.camera.px_per_mm  # type: ignore[union-attr]
    hand.drag((x, y), (x + 61, y + 47))
    assert offset(hand) == pytest.approx((61 / scale, 0), abs=0.006)
    hand.key(pygame.K_UP, SHIFT)
    assert offset(hand)[1] == pytest.approx(0)


def test_across_runs_with_the_overlay_when_it_is_turned(hand: Hand) -> None:
    set_limits(hand, hold=Hold("across"))
    hand.desk.change(lambda s: model.with_turn(s, 30.0))
    x, y = center_px(hand.desk)
    hand.drag((x, y), (x + 100, y))
    now = session(hand.desk)
    dx, dy = (now.placement.center_mm[i] - now.datum_mm[i] for i in (0, 1))
    # Artwork turned by +30 is an overlay turned by -30: its right end points down.
    assert math.degrees(math.atan2(dy, dx)) == pytest.approx(30.0, abs=0.1)
    scale = hand.desk.camera.px_per_mm  # type: ignore[union-attr]
    assert math.hypot(dx, dy) == pytest.approx(100 * math.cos(math.radians(30)) / scale, abs=0.01)
    assert offset(hand)[1] == pytest.approx(0, abs=1e-6)


def test_a_limit_stops_the_ring(hand: Hand) -> None:
    set_limits(hand, hold=Hold("free", 4.0))
    x, y = center_px(hand.desk)
    hand.drag((x, y), (x - 300, y - 5))
    assert offset(hand)[0] == pytest.approx(-4.0)
    hand.drag(center_px(hand.desk), (x + 300, y - 400))
    assert offset(hand) == pytest.approx((4.0, 4.0))
    hand.key(pygame.K_RIGHT)
    assert offset(hand)[0] == pytest.approx(4.0)


def test_fixed_does_not_move_and_is_no_step_for_undo(hand: Hand) -> None:
    hand.key(pygame.K_RIGHT, SHIFT)
    set_limits(hand, hold=Hold("fixed"))
    assert offset(hand) == pytest.approx((0, 0))
    before = session(hand.desk)
    x, y = center_px(hand.desk)
    hand.drag((x, y), (x + 80, y + 30))
    hand.key(pygame.K_LEFT)
    assert session(hand.desk).placement == before.placement
    hand.key(pygame.K_z, CTRL)
    assert offset(hand) == pytest.approx((1.0, 0.0))


def test_nudges_go_along_what_is_free(hand: Hand) -> None:
    set_limits(hand, hold=Hold("along"))
    hand.desk.change(lambda s: model.with_turn(s, 90.0))
    # The overlay is turned clockwise by a quarter: its front-back runs right-left here.
    hand.key(pygame.K_RIGHT, SHIFT)
    assert offset(hand) == pytest.approx((0.0, 1.0), abs=1e-6)
    hand.key(pygame.K_UP, SHIFT)
    assert offset(hand) == pytest.approx((0.0, 1.0), abs=1e-6)


@pytest.mark.parametrize(
    ("hold", "field", "text", "wanted"),
    [
        (Hold("across"), "back", "1", "held at the datum"),
        (Hold("free", 3.0), "right", "3.5", "within \u00b13 mm"),
        (Hold("fixed"), "right", "-0.5", "held at the datum"),
    ],
)
def test_a_typed_distance_that_is_not_allowed_is_told_at_the_field(
    hand: Hand, hold: Hold, field: str, text: str, wanted: str
) -> None:
    set_limits(hand, hold=hold)
    before = session(hand.desk)
    click_on(hand, f"field:{field}")
    hand.type(text)
    hand.key(pygame.K_RETURN)
    assert hand.desk.editing is not None
    assert wanted in hand.desk.editing.error
    assert session(hand.desk) is before
    assert hand.desk.editing.error in repr(contents(hand.desk.frame()))


def test_typed_distances_count_in_the_press_frame(hand: Hand) -> None:
    hand.desk.change(lambda s: model.with_turn(s, 90.0))
    click_on(hand, "field:right")
    hand.type("3,25")
    hand.key(pygame.K_RETURN)
    now = session(hand.desk)
    assert now.offset_mm == pytest.approx((3.25, 0.0))
    # R(90) of (0, 3.25) is (3.25, 0): on the page the cup went to the front.
    assert now.placement.center_mm == pytest.approx((now.datum_mm[0], now.datum_mm[1] + 3.25))


# --- which angles are allowed ---------------------------------------------------


def turn_knob_to(hand: Hand, overlay_deg: float) -> None:
    place = overlay_place(session(hand.desk), hand.desk.camera, hand.desk.layout)  # type: ignore[arg-type]
    knob = knob_px(place, hand.desk.layout)
    reach = math.dist(knob, place.center)
    angle = math.radians(90 + overlay_deg)
    x, y = place.center
    hand.drag(knob, (round(x + reach * math.cos(angle)), round(y - reach * math.sin(angle))))


def test_the_knob_stops_at_the_limit(hand: Hand) -> None:
    set_limits(hand, angles=Angles("within", 10.0))
    turn_knob_to(hand, 35.0)
    assert session(hand.desk).placement.turn_deg == -10.0
    hand.key(pygame.K_e, SHIFT)
    assert session(hand.desk).placement.turn_deg == 5.0
    hand.key(pygame.K_e, SHIFT)
    assert session(hand.desk).placement.turn_deg == 10.0


def test_the_knob_snaps_to_steps_and_keys_take_one(hand: Hand) -> None:
    set_limits(hand, angles=Angles("step", 45.0))
    turn_knob_to(hand, 80.0)
    assert session(hand.desk).placement.turn_deg == -90.0
    hand.key(pygame.K_e)
    assert session(hand.desk).placement.turn_deg == -45.0
    hand.key(pygame.K_q, SHIFT)
    assert session(hand.desk).placement.turn_deg == -90.0


@pytest.mark.parametrize(
    ("angles", "text", "wanted"),
    [
        (Angles("within", 10.0), "10.1", "within \u00b110\u00b0"),
        (Angles("step", 90.0), "45", "steps of 90\u00b0"),
        (Angles("none"), "1", "no turning"),
    ],
)
def test_a_typed_angle_that_is_not_allowed(
    hand: Hand, angles: Angles, text: str, wanted: str
) -> None:
    set_limits(hand, angles=angles)
    click_on(hand, "field:angle")
    hand.type(text)
    hand.key(pygame.K_RETURN)
    assert hand.desk.editing is not None
    assert wanted in hand.desk.editing.error
    assert session(hand.desk).placement.turn_deg == 0


def test_an_allowed_angle_given_with_whole_turns(hand: Hand) -> None:
    set_limits(hand, angles=Angles("step", 90.0))
    click_on(hand, "field:angle")
    hand.type("450")
    hand.key(pygame.K_RETURN)
    assert session(hand.desk).placement.turn_deg == 90.0


# --- the datum ------------------------------------------------------------------


def test_distances_count_from_the_datum_and_centre_goes_there(hand: Hand) -> None:
    set_limits(hand, datum=Datum("page"))
    now = session(hand.desk)
    # The page's middle is (60, 40), the ink's (58, 33), where the cup still is.
    assert now.datum_mm == (60.0, 40.0)
    assert now.offset_mm == pytest.approx((-2.0, 7.0))
    assert "from the page centre" in repr(contents(hand.desk.frame()))
    hand.key(pygame.K_c)
    assert session(hand.desk).placement.center_mm == (60.0, 40.0)
    set_limits(hand, datum=Datum("point", (12.5, 30.0)))
    assert offset(hand) == pytest.approx((47.5, -10.0))
    assert "from the point 12.5, 30 mm" in repr(contents(hand.desk.frame()))


# --- the card -------------------------------------------------------------------


def test_l_opens_the_first_field_and_its_own_letter_is_not_typed(hand: Hand) -> None:
    assert BY_KEY[(pygame.K_l, 0)].name == "limits"
    hand.send(pygame.KEYDOWN, key=pygame.K_l, mod=0, unicode="l")
    hand.send(pygame.TEXTINPUT, text="l")
    assert hand.desk.editing is not None
    assert (hand.desk.editing.name, hand.desk.editing.text) == ("limit:pad", "none")
    hand.send(pygame.KEYUP, key=pygame.K_l, mod=0)
    hand.type("round:70")
    hand.key(pygame.K_RETURN)
    assert session(hand.desk).limits.pad == Pad("round", 70, 70)
    words = " ".join(c.label for _, commands in help_groups() for c in commands)
    for wanted in ("pad", "etch area", "hold", "datum", "angles"):
        assert wanted in words


def test_arrows_choose_and_tab_goes_on(hand: Hand) -> None:
    hand.key(pygame.K_l)
    hand.key(pygame.K_DOWN)
    hand.key(pygame.K_DOWN)
    assert hand.desk.editing is not None
    assert hand.desk.editing.text == "soft round"
    hand.key(pygame.K_TAB)
    assert session(hand.desk).limits.pad == PADS[0]
    assert hand.desk.editing.name == "limit:etch"
    hand.type("100 x 80")
    hand.key(pygame.K_TAB)
    assert session(hand.desk).limits.etch == EtchArea(100, 80)
    hand.key(pygame.K_UP)
    hand.key(pygame.K_TAB)
    assert session(hand.desk).limits.hold == Hold("fixed")
    hand.key(pygame.K_TAB, SHIFT)
    assert hand.desk.editing.name == "limit:hold"
    hand.type("along")
    hand.key(pygame.K_TAB)
    hand.type("2,5")
    hand.key(pygame.K_TAB)
    assert session(hand.desk).limits.hold == Hold("along", 2.5)
    hand.type("60,41.5")
    hand.key(pygame.K_TAB)
    hand.type("+-12")
    hand.key(pygame.K_RETURN)
    limits = session(hand.desk).limits
    assert limits.datum == Datum("point", (60.0, 41.5))
    assert limits.angles == Angles("within", 12.0)
    assert hand.desk.editing is None
    for _ in range(7):
        hand.key(pygame.K_z, CTRL)
    assert session(hand.desk).limits == PressLimits()


def test_a_click_opens_the_list_and_another_takes_from_it(hand: Hand) -> None:
    click_on(hand, "field:limit:pad")
    assert hand.desk.painter.panel.place_of("choice:2") is not None
    click_on(hand, "choice:2")
    assert session(hand.desk).limits.pad == PADS[1]
    assert hand.desk.editing is None
    assert hand.desk.painter.panel.place_of("choice:2") is None
    click_on(hand, "field:limit:etch")
    click_on(hand, "choice:1")
    assert session(hand.desk).limits.etch == EtchArea(100, 80)
    click_on(hand, "field:limit:pad")
    click_on(hand, "choice:0")
    assert session(hand.desk).limits.pad is None


def test_what_is_set_is_always_among_what_can_be_chosen() -> None:
    limits = PressLimits(
        Pad("rect", 90, 50), EtchArea(70, 60), Hold("along", 2.0), Datum("point", (1.0, 2.0)),
        Angles("step", 60.0),
    )  # fmt: skip
    from tests.screen.conftest import make_artwork

    now = model.start_session(make_artwork(), Press(limits=limits))
    for name in limit_fields.NAMES:
        offered = choices(now, name)
        if name != "limit:reach":
            assert limits in [choice.limits for choice in offered], name
            assert len({choice.label for choice in offered}) == len(offered)
        assert typed_limits(now, name, limit_value(now, name)) == limits, name


@pytest.mark.parametrize(
    ("field", "text", "wanted"),
    [
        ("pad", "square:80", "round"),
        ("pad", "round:-80", "zero"),
        ("pad", "rect:60x40r30", "radius"),
        ("etch", "90", "90x72"),
        ("etch", "0x72", "zero"),
        ("hold", "loose", "fixed"),
        ("reach", "-2", "zero or more"),
        ("reach", "soon", "not a length"),
        ("datum", "middle", "page, ink"),
        ("angles", "step:7", "whole turn"),
        ("angles", "+-200", "180"),
        ("pad", "round:40@200,0", "in common"),
    ],
)
def test_nonsense_is_told_in_one_line_at_its_field(
    hand: Hand, field: str, text: str, wanted: str
) -> None:
    before = session(hand.desk)
    click_on(hand, f"field:limit:{field}")
    hand.type(text)
    hand.key(pygame.K_RETURN)
    editing = hand.desk.editing
    assert editing is not None
    assert editing.name == f"limit:{field}"
    assert wanted in editing.error
    assert "\n" not in editing.error
    assert session(hand.desk) is before
    # The error stands where the list was.
    assert hand.desk.painter.panel.place_of("choice:0") is None
    hand.key(pygame.K_ESCAPE)
    assert hand.desk.editing is None


def test_a_limit_on_fixed_is_told(hand: Hand) -> None:
    set_limits(hand, hold=Hold("fixed"))
    click_on(hand, "field:limit:reach")
    hand.type("3")
    hand.key(pygame.K_RETURN)
    assert hand.desk.editing is not None
    assert "fixed takes no limit" in hand.desk.editing.error


def test_the_limits_hold_for_the_next_file_too(hand: Hand) -> None:
    set_limits(hand, pad=PADS[1], angles=Angles("within", 8.0))
    hand.send(pygame.DROPFILE, file="/jobs/float.pdf")
    hand.key(pygame.K_l)  # leave what was chosen unsaved
    assert hand.desk.job is not None
    assert hand.desk.job.wait(30)
    hand.desk.poll()
    now = session(hand.desk)
    assert now.artwork.path == "/jobs/float.pdf"
    assert now.limits == PressLimits(pad=PADS[1], angles=Angles("within", 8.0))
    assert now.press.limits == PressLimits()
    assert now.is_fit_current


SIZES = [(1100, 700), (1600, 1000), (3840, 2160)]
LONG = PressLimits(
    Pad("rect", 100.25, 60.75, 8.5, (-1.5, 2.25), 30.5, 2.5),
    EtchArea(110.5, 90.25, (1.5, -3.0), 2.0),
    Hold("across", 12.25), Datum("point", (60.25, 40.75)), Angles("within", 22.5),
)  # fmt: skip


@lru_cache(maxsize=1)
def opened_long() -> Opened:
    """Fitted once: what is drawn is asked for here, and not what is worked out."""
    from tests.screen.conftest import FakeOpener

    press = Press(pads=PADS, limits=LONG)
    return open_now(FakeOpener(), "/jobs/pennant.svg", LoadOptions(), press)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("field", ["", *limit_fields.NAMES])
@pytest.mark.parametrize("error", ["", "pad 'x' is none, round:80, oval:100x60 or rect:100x60r8"])
def test_no_text_of_card_list_or_curve_is_cut(
    size: tuple[int, int], field: str, error: str
) -> None:
    from viewer.screen.viewstate import Editing

    opened = opened_long()
    desk = Desk(size, opened.session.press)
    desk.show(opened)
    desk.fit_now()
    frame = replace(desk.frame(), hover_deg=-171.3)
    if field:
        frame = replace(frame, editing=Editing(field, "x", 1, error, False))
    painter = Painter()
    log: list[PlacedText] = []
    painter.texts.log = log
    painter.draw(pygame.Surface(size), frame)
    mine = [t for t in log if t.where in ("card:limits", "choices", "strip", "callout", "areas")]
    assert len(mine) > 20
    for placed in mine:
        assert not placed.is_cut, placed
        assert placed.box.left <= placed.rect.left, placed
        assert placed.rect.right <= placed.box.right, placed
    for where in ("card:limits", "choices"):
        texts = [t for t in mine if t.where == where]
        for index, one in enumerate(texts):
            for other in texts[index + 1 :]:
                meets = one.rect.inflate(0, -6).colliderect(other.rect.inflate(0, -6))
                assert not meets, (one, other)
    desk._fitting.stop()  # closing the desk would close the picture that all share


@pytest.mark.parametrize("limits", [PressLimits(), LONG, replace(LONG, angles=Angles("step", 45))])
def test_the_panel_fits_the_window_of_1600_by_1000(opener: FakeOpener, limits: PressLimits) -> None:
    press = Press(pads=PADS, limits=limits)
    desk = Desk((1600, 1000), press, opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), press))
    surface = pygame.Surface(desk.size)
    for index in range(5):
        desk.change(lambda s, index=index: model.with_turn(model.with_cup(s, index), 20.0))
        desk.change(lambda s: model.with_offset(s, 8.0, 3.0))
        desk.painter.draw(surface, desk.frame())
        assert desk.painter.panel.greatest_scroll_px() == 0
    desk.close()


def test_the_card_comes_into_sight_when_it_is_asked_for(opener: FakeOpener) -> None:
    from tests.screen.conftest import Hand

    desk = Desk((1100, 640), Press(), opener)
    desk.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press()))
    hand = Hand(desk)
    before = desk.painter.panel.place_of("field:limit:pad")
    assert before is not None
    assert before.bottom > desk.size[1]
    hand.key(pygame.K_l)
    after = desk.painter.panel.place_of("field:limit:pad")
    assert after is not None
    assert after.bottom < desk.size[1]
    desk.close()


# --- words ----------------------------------------------------------------------


def words_of(hand: Hand) -> tuple[str, PlacedFit]:
    now = session(hand.desk)
    placed = now.placed()[now.cup_index]
    callout = callout_for(now, placed, None)
    return f"{callout.title} / {callout.note}", placed


def test_the_callout_names_the_part(hand: Hand) -> None:
    # The triangle reaches 38 mm to both sides of the datum.
    set_limits(hand, etch=EtchArea(78, 200))
    assert words_of(hand)[0].startswith("1.00 mm to the etch area edge")
    set_limits(hand, etch=EtchArea(78, 200, margin_mm=0.75))
    assert words_of(hand)[0].startswith("0.25 mm to the etch area margin")
    set_limits(hand, etch=EtchArea(78, 200, margin_mm=3.0))
    text, placed = words_of(hand)
    assert placed.verdict is Verdict.IN_MARGIN
    assert text == "2.00 mm into the etch area margin / 1.00 mm from the etch area edge"
    set_limits(hand, etch=None, pad=Pad("rect", 74, 100, name="narrow"))
    text, placed = words_of(hand)
    assert placed.verdict is Verdict.OUTSIDE
    assert text == "1.00 mm beyond the pad edge / narrow"
    set_limits(hand, pad=Pad("rect", 74, 100, margin_mm=2.0))
    assert words_of(hand)[0] == "1.00 mm beyond the pad edge / 3.00 mm past its margin"


def test_the_card_names_every_part_that_the_callout_may_name(hand: Hand) -> None:
    """The ink is 76 mm wide and 26 high: both areas leave 7 mm at its ends, or one does."""
    hand.desk.change(lambda session_then: model.with_cup(session_then, 4))
    set_limits(hand, hold=Hold("fixed"), angles=Angles("none"))
    for pad_mm, etch_mm, words in (
        (90.0, 90.0, "the pad and the etch area"),
        (90.0, 90.01, "the pad and the etch area"),
        (90.01, 90.0, "the pad and the etch area"),
        (90.0, 90.1, "the pad"),
        (90.1, 90.0, "the etch area"),
    ):
        pad, etch = Pad("rect", pad_mm, 200), EtchArea(etch_mm, 200)
        set_limits(hand, pad=pad, etch=etch)
        hand.desk.change(model.at_best)
        now = session(hand.desk)
        (line,) = limiting_lines(now)
        named = line.removeprefix("limited there by ").split(" and ")
        assert sorted(named) == sorted(words.split(" and "))
        title = callout_for(now, now.placed()[now.cup_index], None).title
        assert title.startswith("7.00 mm to the ")
        assert title.removeprefix("7.00 mm to ").removesuffix(" edge") in words


def test_the_way_out_tells_whether_turning_helps(hand: Hand) -> None:
    # 76 mm wide ink on a plate 60 mm across and 90 along: a quarter turn gives 7 mm a side.
    set_limits(hand, etch=EtchArea(60, 90))
    now = session(hand.desk)
    assert now.cup_fit.turn_helps
    assert limiting_lines(now)[0].startswith("limited there by the etch area")
    assert turning_line(now).startswith("without turning: \u22128.00")
    set_limits(hand, angles=Angles("none"))
    now = session(hand.desk)
    assert turning_line(now) == "turning cannot help: the press allows none"
    set_limits(hand, etch=None, angles=Angles("any"))
    now = session(hand.desk)
    assert turning_line(now) == "the angle cannot help a round cup"


# --- the thread -----------------------------------------------------------------


class Slow:
    """Holds every fit back until told; counts them."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.go = threading.Event()
        self.started = threading.Event()
        self.cancelled = 0
        real = fitter.fit_artwork

        def fit(*args: object, cancelled=None, **more: object):  # type: ignore[no-untyped-def]
            self.started.set()
            while not self.go.wait(0.002):
                if cancelled is not None and cancelled():
                    self.cancelled += 1
                    break
            return real(*args, cancelled=cancelled, **more)  # type: ignore[arg-type]

        monkeypatch.setattr(fitter, "fit_artwork", fit)


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Slow:
    return Slow(monkeypatch)


def test_the_window_goes_on_while_a_fit_is_worked_out(hand: Hand, slow: Slow) -> None:
    hand.desk.set_limits(WIDE)
    hand.desk.poll()
    frame = hand.desk.frame()
    assert frame.is_working
    told = repr(contents(frame))
    assert "best \u2026" in told
    assert "working out" in told
    x, y = center_px(hand.desk)
    # The fit is held back until told to go on: a drag that waited for it would never end.
    hand.drag((x, y), (x + 40, y))
    assert not slow.go.is_set()
    scale = hand.desk.camera.px_per_mm  # type: ignore[union-attr]
    assert offset(hand)[0] == pytest.approx(40 / scale, abs=0.006)
    assert not session(hand.desk).is_fit_current
    slow.go.set()
    assert hand.desk.wait_for_fit(30)
    now = session(hand.desk)
    assert now.is_fit_current
    assert now.fit.limits == WIDE
    # The fit came into the session that the drag had made, as no step of its own.
    assert now.offset_mm[0] == pytest.approx(40 / scale, abs=0.006)
    hand.key(pygame.K_z, CTRL)
    hand.key(pygame.K_z, CTRL)
    assert session(hand.desk).limits == PressLimits()


def test_the_verdict_is_exact_meanwhile_and_never_surer(hand: Hand, slow: Slow) -> None:
    hand.desk.set_limits(PressLimits(etch=EtchArea(75, 200)))
    now = session(hand.desk)
    assert not now.is_fit_current
    placed = now.placed()[now.cup_index]
    assert placed.clearance_mm == pytest.approx(-0.5)
    assert all(p.verdict is not Verdict.FITS for p in now.placed())
    slow.go.set()


def test_the_newest_wish_wins(hand: Hand, slow: Slow) -> None:
    hand.desk.set_limits(WIDE)
    hand.desk.poll()
    assert slow.started.wait(10)
    hand.desk.set_limits(replace(WIDE, hold=Hold("across")))
    hand.desk.poll()
    deadline = time.monotonic() + 10
    while slow.cancelled == 0 and time.monotonic() < deadline:
        time.sleep(0.005)
    assert slow.cancelled == 1
    slow.go.set()
    assert hand.desk.wait_for_fit(30)
    assert session(hand.desk).fit.limits == replace(WIDE, hold=Hold("across"))


def test_fit_and_curve_are_kept_for_undo(hand: Hand, monkeypatch: pytest.MonkeyPatch) -> None:
    set_limits(hand, pad=PADS[0])
    set_limits(hand, etch=EtchArea(100, 80))

    def fail(*args: object, **more: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr(fitter, "fit_artwork", fail)
    monkeypatch.setattr(fitter, "angle_curve", fail)
    hand.key(pygame.K_z, CTRL)
    assert session(hand.desk).is_fit_current
    assert not hand.desk.frame().is_curve_old
    hand.key(pygame.K_y, CTRL)
    assert session(hand.desk).is_fit_current
    assert not hand.desk.frame().is_working


def test_a_fault_in_the_thread_is_told_and_ends_nothing(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object, **more: object) -> None:
        raise UsageError("cup 60: no place is left")

    monkeypatch.setattr(fitter, "fit_artwork", fail)
    hand.desk.set_limits(WIDE)
    assert hand.desk.wait_for_fit(30)
    hand.show()
    assert hand.desk.notice is not None
    assert hand.desk.notice.text == "cup 60: no place is left"
    assert not hand.desk.frame().is_working
    hand.key(pygame.K_RIGHT)
    assert offset(hand)[0] == pytest.approx(0.1)


def test_scaling_with_limits_is_worked_out_in_the_thread(hand: Hand) -> None:
    set_limits(hand, pad=PADS[1])
    click_on(hand, "field:scale")
    hand.type("90")
    hand.key(pygame.K_RETURN)
    now = session(hand.desk)
    assert now.fit.width_mm == pytest.approx(76 * 0.9)
    assert hand.desk.wait_for_fit(30)
    now = session(hand.desk)
    assert now.is_fit_current
    assert now.fit.limits.pad == PADS[1]


def test_closing_ends_the_thread(hand: Hand, slow: Slow) -> None:
    hand.desk.set_limits(WIDE)
    hand.desk.poll()
    assert slow.started.wait(10)
    hand.desk.close()
    thread = hand.desk._fitting._fitter._thread
    assert thread is not None
    thread.join(5)
    assert not thread.is_alive()


def test_limits_that_leave_nothing_are_told_on_opening(opener: FakeOpener) -> None:
    desk = Desk(
        (1600, 1000), Press(limits=PressLimits(pad=Pad("round", 20, 20, 0, (99.0, 0.0)))), opener
    )
    desk.open_file("/jobs/pennant.svg", LoadOptions())
    assert desk.job is not None
    assert desk.job.wait(30)
    assert isinstance(desk.job.error, BrimcheckError)
    desk.poll()
    assert desk.notice is not None
    assert "in common" in desk.notice.text
    desk.close()
