"""What is drawn in lessons: incremental against fresh, and every text in its place."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import pygame
import pytest

from tests.screen.conftest import FakeOpener
from tests.screen.lessons_hand import CTRL, NAME, SHIFT, LessonHand, lessons_over
from tests.screen.test_frames import pixels
from tests.screen.test_layout_fits import placed_texts, problems
from viewer.artwork.model import LoadOptions
from viewer.lessons.catalog import all_lessons
from viewer.lessons.view import Stage
from viewer.press.press import Press
from viewer.screen.camera import fit_camera
from viewer.screen.construction_layer import marks_bounds
from viewer.screen.desk import Desk
from viewer.screen.lesson_layout import layout_of
from viewer.screen.lesson_list import LEARNER
from viewer.screen.lesson_shown import ListShown
from viewer.screen.loader import open_now
from viewer.screen.overlay import bounds_to_show, overlay_place
from viewer.screen.painter import Painter
from viewer.screen.text import PlacedText
from viewer.screen.viewstate import Editing, Frame

WINDOWS = ((640, 400), (1100, 700), (1600, 1000))
UI_FACTORS = (0.8, 1.0, 1.5, 2.0)
SEVERAL = ("square", "diagonal", "three-lobes", "margin", "turning-helps", "own-artwork")


# --- incremental drawing --------------------------------------------------------------


KEYS = (
    (pygame.K_RETURN, 0), (pygame.K_RETURN, 0), (pygame.K_RETURN, 0), (pygame.K_1, 0),
    (pygame.K_2, 0), (pygame.K_3, 0), (pygame.K_b, 0), (pygame.K_ESCAPE, 0), (pygame.K_f, 0),
    (pygame.K_t, 0), (pygame.K_F11, 0), (pygame.K_F1, 0), (pygame.K_TAB, 0),
    (pygame.K_TAB, SHIFT), (pygame.K_z, CTRL), (pygame.K_y, CTRL), (pygame.K_y, 0),
    (pygame.K_EQUALS, CTRL), (pygame.K_MINUS, CTRL), (pygame.K_0, CTRL), (pygame.K_q, 0),
    (pygame.K_e, SHIFT), (pygame.K_UP, 0), (pygame.K_DOWN, SHIFT), (pygame.K_s, CTRL),
    (pygame.K_SPACE, 0), (pygame.K_n, 0), (pygame.K_PAGEDOWN, SHIFT), (pygame.K_BACKSPACE, 0),
    (pygame.K_g, 0), (pygame.K_l, CTRL),
)  # fmt: skip


def _random_event(hand: LessonHand, rng: random.Random) -> None:
    desk = hand.lessons

    def spot() -> tuple[int, int]:
        return rng.randrange(desk.size[0]), rng.randrange(desk.size[1])

    kind = rng.randrange(9)
    if kind == 0 and desk.session is not None and desk.camera is not None:
        center = overlay_place(desk.session, desk.camera, desk.layout).center
        hand.drag(center, spot())
    elif kind == 1:
        hand.drag(spot(), spot(), rng.choice((1, 2)))
    elif kind == 2:
        hand.wheel(spot(), rng.choice((-2, -1, 1, 2)))
    elif kind == 3:
        hand.click(spot())
    elif kind == 4:
        hand.type(rng.choice(("42", "x", "7,5 mm", "Zoe")))
    elif kind == 5:
        names = desk.painter.panel.names()
        if names:
            box = desk.painter.panel.place_of(rng.choice(names))
            assert box is not None
            hand.click(box.center)
    else:
        hand.key(*rng.choice(KEYS))


@pytest.mark.parametrize("seed", range(3))
def test_incremental_frames_are_the_same_as_fresh_ones(opener: FakeOpener, seed: int) -> None:
    rng = random.Random(seed)
    work = Desk((1100, 700), Press(), opener)
    work.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press()))
    stages = set()
    with lessons_over(work) as front:
        hand = LessonHand(front)
        hand.give_name()
        for number in range(45):
            if number % 15 == 14:
                hand.key(pygame.K_ESCAPE)
                hand.key(pygame.K_ESCAPE)
            else:
                _random_event(hand, rng)
            if hand.lessons.is_left:
                hand.lessons.come(work)
            if rng.random() < 0.1:
                hand.lessons.sharpness.now()
            hand.lessons.poll()
            running = hand.lessons.lesson.running
            stages.add("list" if running is None else running.walk.stage)
            hand.show()
            fresh = pygame.Surface(hand.lessons.size)
            Painter().draw(fresh, hand.lessons.frame())
            assert (pixels(hand.surface) == pixels(fresh)).all(), (seed, number)
    work.close()
    assert {"list", Stage.TRY} <= stages


@pytest.mark.parametrize("key", SEVERAL)
def test_going_through_a_lesson_draws_the_same_as_fresh(desk: Desk, key: str) -> None:
    with lessons_over(desk, (1100, 700)) as front:
        hand = LessonHand(front)
        hand.give_name()

        def look() -> None:
            hand.show()
            fresh = pygame.Surface(hand.lessons.size)
            Painter().draw(fresh, hand.lessons.frame())
            assert (pixels(hand.surface) == pixels(fresh)).all(), hand.walk.stage

        for _ in _stages_of(hand, key):
            look()


def _stages_of(hand: LessonHand, key: str) -> Iterator[str]:
    """Stop after everything that changes what a lesson shows."""
    hand.open(key)
    yield "try"
    while hand.walk.stage is Stage.TRY:
        hand.try_scene()
        yield f"settled {hand.walk.scene}"
        hand.enter()
    yield "predict"
    hand.answer(hand.walk.course.prediction, is_right=False)
    while hand.walk.stage is Stage.REVEAL:
        yield f"step {hand.walk.step}"
        hand.enter()
    yield "check"
    hand.answer(hand.walk.ask, is_right=False)
    yield "wrong"
    hand.enter()
    hand.answer(hand.walk.ask, is_right=True)
    yield "done"


# --- layout --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def frames(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Frame]:
    """The list in several states, and every stage of several lessons."""
    with pytest.MonkeyPatch.context() as patch:
        # Made before any test has a home of its own.
        patch.setenv("BRIMCHECK_CONFIG", str(tmp_path_factory.mktemp("learners")))
        return _made_frames()


def _made_frames() -> dict[str, Frame]:
    opener = FakeOpener()
    work = Desk((1100, 700), Press(), opener)
    work.show(open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press()))
    found: dict[str, Frame] = {}
    with lessons_over(work) as front:
        hand = LessonHand(front)
        found["list, nobody"] = hand.lessons.frame()
        hand.give_name()
        found["list"] = hand.lessons.frame()
        for key in SEVERAL:
            for what in _stages_of(hand, key):
                found[f"{key}: {what}"] = hand.lessons.frame()
            hand.key(pygame.K_ESCAPE)
        found["list, some done"] = hand.lessons.frame()
    work.close()
    names = ("Ada", "A learner with a rather long name", "Zoe", "Ben", "Kim", "Ole")
    page = found["list"].lesson.page  # type: ignore[union-attr]
    assert page is not None
    notice = "progress is not kept: /home/somebody/.local/share/brimcheck: no space left"
    full = replace(page, names=names, learner=names[1], notice=notice)
    found["list, many names"] = _with_page(found["list"], full)
    error = Editing(LEARNER, "\t", 1, "the learner needs a name: type one, such as Mika", False)
    found["list, no name"] = replace(found["list"], editing=error)
    asked = next(f for n, f in found.items() if n == "square: predict")
    said = "'four hundred and something' is not a number; write it like 63.6"
    found["square: error"] = replace(asked, editing=Editing("answer", "fou", 3, said, False))
    return found


def _with_page(frame: Frame, page: ListShown) -> Frame:
    assert frame.lesson is not None
    return replace(frame, lesson=replace(frame.lesson, page=page))


def frame_at(base: Frame, size: tuple[int, int], factor: float, theme: str) -> Frame:
    """The same in another window, with other letters."""
    look = replace(base.look, ui_factor=factor, theme=theme, message="")
    frame = replace(base, size=size, look=look, sharp=None)
    if frame.session is None:
        return frame
    view = layout_of(size, factor, frame.lesson).view
    bounds = bounds_to_show(frame.session)
    old, new = frame.lesson.marks  # type: ignore[union-attr]
    found = marks_bounds((*old, *new))
    if found is not None:
        x0, y0 = min(bounds.x0, found.x0), min(bounds.y0, found.y0)
        bounds = replace(bounds, x0=x0, y0=y0)
        x1, y1 = max(bounds.x1, found.x1), max(bounds.y1, found.y1)
        bounds = replace(bounds, x1=x1, y1=y1)
    return replace(frame, camera=fit_camera(bounds, *view.size))


def _letters(one: PlacedText) -> pygame.Rect:
    return one.rect.inflate(0, -one.rect.height * 4 // 10)


@pytest.mark.parametrize("theme", ["dark", "light"])
@pytest.mark.parametrize("factor", UI_FACTORS)
@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
def test_every_stage_at_every_size(
    frames: dict[str, Frame], size: tuple[int, int], factor: float, theme: str
) -> None:
    found = []
    painter, surface = Painter(), pygame.Surface(size)
    for number, (name, base) in enumerate(frames.items()):
        if (number + (theme == "light")) % 2 and size != (1100, 700):
            continue  # each state in one theme at least, in every window
        frame = frame_at(base, size, factor, theme)
        log = placed_texts(frame, painter, surface)
        # Names of learners have no greatest length, and are cut where they must be.
        log = [one for one in log if not (one.is_cut and "rather long" in one.text)]
        found += [f"{name}: {problem}" for problem in problems(log, size)]
        bench = [one for one in log if one.where in ("construction", "callout", "scale")]
        found += [
            f"{name}: {one.text!r} and {other.text!r} meet"
            for one, other in combinations(bench, 2)
            if _letters(one).colliderect(_letters(other))
        ]
    assert not found, "\n".join(found)


def test_the_list_goes_into_the_smallest_window(frames: dict[str, Frame]) -> None:
    for size in WINDOWS:
        for factor in UI_FACTORS:
            painter = Painter()
            frame = frame_at(frames["list"], size, factor, "dark")
            painter.draw(pygame.Surface(size), frame)
            assert len(painter.panel.card_boxes()) == 2
            rows = [painter.panel.place_of(f"lesson:open:{n}") for n in range(len(all_lessons()))]
            status = layout_of(size, factor, frame.lesson).status
            assert all(row is not None and row.bottom <= status.top for row in rows), (size, factor)


def test_all_cards_can_be_reached_by_scrolling(desk: Desk) -> None:
    with lessons_over(desk, (640, 400)) as front:
        hand = LessonHand(front)
        hand.give_name()
        for what in _stages_of(hand, "turning-helps"):
            panel, pos = hand.lessons.painter.panel, hand.lessons.layout.panel.center
            hand.wheel(pos, 99)
            assert panel.card_boxes()[0].top >= 0, what
            hand.wheel(pos, -99)
            assert panel.card_boxes()[-1].bottom <= 400, what


@pytest.mark.parametrize("key", SEVERAL)
def test_all_of_the_construction_is_in_sight(desk: Desk, key: str) -> None:
    with lessons_over(desk, (1100, 700)) as front:
        hand = LessonHand(front)
        hand.give_name()
        for what in _stages_of(hand, key):
            view = hand.walk.view()
            bounds = marks_bounds(view.marks)
            camera = hand.lessons.camera
            if bounds is None or camera is None:
                continue
            (x0, y0), (x1, y1) = (
                camera.to_px(bounds.x0, bounds.y0),
                camera.to_px(bounds.x1, bounds.y1),
            )
            width, height = hand.lessons.layout.view.size
            assert x0 >= 0, what
            assert y0 >= 0, what
            assert x1 <= width, what
            assert y1 <= height, what


def test_the_present_stage_is_told_by_more_than_color(frames: dict[str, Frame]) -> None:
    for name, frame in frames.items():
        if frame.lesson is None or frame.lesson.view is None:
            continue
        texts = Painter().texts
        log = placed_texts(frame)
        words = [one for one in log if one.where == "card:lesson-head"][-5:]
        assert tuple(one.text for one in words) == frame.lesson.view.stages
        now = list(Stage).index(frame.lesson.view.stage)
        for number, one in enumerate(words):
            is_bold = one.rect.width == texts.width(one.text, one.size_px, True)
            assert is_bold is (number == now), (name, one.text)


def test_a_state_in_the_list_is_told_by_a_word(frames: dict[str, Frame]) -> None:
    said = [one.text for one in placed_texts(frames["list, some done"])]
    assert said.count("done") == len(SEVERAL)
    assert said.count("not yet") == len(all_lessons()) - len(SEVERAL)
    assert NAME in said
