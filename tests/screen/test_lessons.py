"""Every lesson walked through by posted events, and what lessons leave alone."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pygame
import pytest

from tests.screen.conftest import FakeOpener, Hand
from tests.screen.lessons_hand import CTRL, NAME, SHIFT, LessonHand, lessons_over
from viewer.artwork.model import LoadOptions
from viewer.errors import UsageError
from viewer.lessons.answers import NumberAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.learners import load_progress
from viewer.lessons.lesson import Lesson
from viewer.lessons.view import Stage
from viewer.press.press import Press
from viewer.screen import lesson_guest
from viewer.screen.app import run_lessons
from viewer.screen.cards import contents
from viewer.screen.desk import Desk
from viewer.screen.lesson_cards import LiveContent
from viewer.screen.lesson_desk import LessonDesk
from viewer.screen.lesson_front import Front
from viewer.screen.lesson_keys import NOT_HERE
from viewer.screen.lesson_picture import write_lesson_picture
from viewer.screen.lesson_shown import BEGUN, DONE, NO_FILE
from viewer.screen.model import at_best
from viewer.screen.overlay import overlay_place
from viewer.screen.painter import Painter
from viewer.screen.store import Store

LESSONS = all_lessons()


# --- every lesson to its end -------------------------------------------------------


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda one: one.key)
def test_a_lesson_is_walked_through_to_its_end(desk: Desk, lesson: Lesson) -> None:
    with lessons_over(desk, (1100, 700)) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open(lesson.key)
        assert hand.walk.stage is Stage.TRY
        hand.try_all()
        assert hand.walk.stage is Stage.PREDICT
        hand.answer(hand.walk.course.prediction, is_right=False)
        assert hand.walk.stage is Stage.REVEAL
        hand.see_why()
        hand.answer(hand.walk.ask, is_right=False)
        assert hand.walk.stage is Stage.CHECK
        assert hand.walk.wrong == 1
        before = hand.walk.ask.text
        hand.enter()  # other numbers
        assert hand.walk.ask.text != before or hand.walk.asked == 1
        assert not load_progress(NAME).is_done(lesson.key)
        hand.answer(hand.walk.ask, is_right=True)
        assert hand.walk.stage is Stage.DONE
        progress = load_progress(NAME)
        assert progress.is_done(lesson.key)
        assert (progress.of(lesson.key).right, progress.of(lesson.key).wrong) == (1, 1)
        hand.key(pygame.K_ESCAPE)
        page = front.desk.frame().lesson.page  # type: ignore[union-attr]
        assert page is not None
        assert page.rows[LESSONS.index(lesson)].state == DONE
        assert page.done_count == 1


def test_a_right_prediction_and_a_right_answer_at_once(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        hand.try_all()
        hand.answer(hand.walk.course.prediction, is_right=True)
        hand.see_why()
        hand.answer(hand.walk.ask, is_right=True)
        assert hand.walk.stage is Stage.DONE
        hand.digit(1)  # one more
        assert hand.walk.stage is Stage.CHECK
        assert hand.lessons.editing is not None
        assert hand.lessons.editing.text == "", "the key that asked for it is no answer"
        hand.answer(hand.walk.ask, is_right=True)
        hand.digit(2)  # from the start
        assert hand.walk.stage is Stage.TRY
        assert hand.lessons.session is not None
        assert hand.lessons.session.placement == hand.walk.shown_scene.start
        assert load_progress(NAME).of("square").right == 2


def test_it_fits_while_it_is_still_being_dragged(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("diagonal")
        session, camera = hand.lessons.session, hand.lessons.camera
        assert session is not None
        assert camera is not None
        assert hand.walk.shown_scene.can_fit
        center = overlay_place(session, camera, hand.lessons.layout).center
        x, y = camera.snapped(*at_best(session).placement.center_mm)
        view = hand.lessons.layout.view
        hand.press(center)
        assert not hand.walk.settled[0]
        hand.move((view.x + x, view.y + y))
        assert hand.walk.settled[0] == "fits"
        assert "It fits here." in repr(contents(hand.lessons.frame()))


def test_saying_cannot_where_it_can_be_done(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("diagonal")
        assert hand.walk.shown_scene.can_fit
        hand.digit(1)
        assert not hand.walk.settled[0]
        assert hand.walk.told is not None
        assert hand.walk.told.tone == "bad"


def test_buttons_and_tabs_by_the_mouse(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        panel = hand.lessons.painter.panel
        index = [one.key for one in LESSONS].index("diagonal")
        hand.click(_box(panel.place_of(f"lesson:open:{index}")).center)
        assert hand.walk.scene == 0
        hand.click(_box(panel.place_of("lesson:scene:1")).center)
        assert hand.walk.scene == 1
        hand.click(_box(panel.place_of("lesson:press:cannot")).center)
        assert hand.walk.settled[1] == "cannot"
        hand.click(_box(panel.place_of("lesson:press:on")).center)
        assert hand.walk.scene == 0
        hand.try_scene()
        hand.enter()
        assert hand.walk.stage is Stage.PREDICT
        hand.type("50")
        hand.click(_box(panel.place_of("lesson:enter")).center)
        assert hand.walk.stage is Stage.REVEAL
        hand.enter()
        hand.click(_box(panel.place_of("lesson:press:back")).center)
        assert hand.walk.step == 1


def test_a_click_elsewhere_gives_no_answer_away(desk: Desk) -> None:
    """What is half typed stays a draft; it is not taken for the answer."""
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        hand.try_all()
        hand.type("4")
        hand.click(hand.lessons.layout.view.center)
        assert hand.walk.stage is Stage.PREDICT
        assert hand.lessons.editing is None
        hand.enter()
        assert hand.lessons.editing is not None
        assert hand.lessons.editing.text == "4"


@pytest.mark.parametrize("text", ["", "abc", "4 2", "1e3", "--3", "mm"])
def test_nonsense_is_told_at_the_field(desk: Desk, text: str) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        hand.try_all()
        hand.type(text)
        hand.enter()
        assert hand.walk.stage is Stage.PREDICT
        editing = hand.lessons.editing
        assert editing is not None
        assert editing.error
        assert editing.error in repr(contents(hand.lessons.frame()))
        hand.click(_box(hand.lessons.painter.panel.place_of("lesson:enter")).center)
        assert hand.walk.stage is Stage.PREDICT
        assert hand.lessons.editing is not None
        assert hand.lessons.editing.error == editing.error


def test_a_digit_begins_the_answer(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        hand.try_all()
        hand.key(pygame.K_ESCAPE)
        assert hand.lessons.editing is None
        hand.digit(7)
        assert hand.lessons.editing is not None
        assert hand.lessons.editing.text == "7"


# --- where the ring stands in the reveal ----------------------------------------------


def _go_to_step(hand: LessonHand, number: int) -> None:
    """Forth with Enter or back with 1, as a person would."""
    while hand.walk.step != number:
        before = hand.walk.step
        if before < number:
            hand.enter()
        else:
            hand.digit(1)
        assert abs(hand.walk.step - before) == 1
        hand.lessons.settle()


def test_the_ring_stands_as_the_step_says(desk: Desk) -> None:
    """Straight where the step says straight, else at its best place; back again as well."""
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("turning-helps")
        hand.try_all()
        hand.answer(hand.walk.course.prediction, is_right=True)
        for number in (1, 2, 3, 4, 2, 1, 3, 6, 7, 8, 7, 8):
            _go_to_step(hand, number)
            session, step = hand.lessons.session, hand.walk.course.steps[number - 1]
            assert session is not None
            wanted = step.placement or at_best(session).placement
            assert session.placement == wanted, number
        assert at_best(session).placement.turn_deg == pytest.approx(90.0)


def test_a_ring_that_was_moved_stays_while_the_step_does(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("turning-helps")
        hand.try_all()
        hand.answer(hand.walk.course.prediction, is_right=True)
        straight = hand.walk.course.steps[0].placement
        assert hand.lessons.session is not None
        assert hand.lessons.session.placement == straight
        hand.key(pygame.K_RIGHT, SHIFT)
        moved = hand.lessons.session.placement
        assert moved != straight
        hand.show()
        assert hand.lessons.session.placement == moved
        hand.key(pygame.K_z, CTRL)
        assert hand.lessons.session.placement == straight


# --- what would give the answer away -------------------------------------------------


def test_nothing_tells_the_answer_before_the_reveal(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        for lesson in LESSONS:
            hand.open(lesson.key)
            fit = hand.lessons.session.fit  # type: ignore[union-attr]
            frame = hand.lessons.frame()
            assert frame.lesson is not None
            assert frame.lesson.is_answer_hidden
            said = repr([card for card in contents(frame) if isinstance(card, LiveContent)])
            best = f"{fit.cups[0].best.settable.clearance_mm:+.2f} mm"
            assert best not in said.replace("\N{MINUS SIGN}", "-")
            for word in ("circle", "best", "largest"):
                assert word not in said, lesson.key
            before = hand.lessons.session
            hand.key(pygame.K_b)
            assert hand.lessons.session is before
            assert frame.lesson.view is not None
            assert hand.lessons.looks.look.message == lesson_guest.SETTLE_FIRST
            hand.key(pygame.K_ESCAPE)


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda one: one.key)
def test_the_bench_shows_nothing_of_the_answer(desk: Desk, lesson: Lesson) -> None:
    """Another smallest circle and another best place change no pixel before the reveal."""
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open(lesson.key)
        hand.lessons.wait_for_fit(60)
        frame = hand.lessons.frame()
        session = frame.session
        assert session is not None
        fit, found = session.fit, session.cup_fit
        circle = replace(fit.smallest_circle, radius=7.0, support=((50.0, 50.0), (64.0, 50.0)))
        settable = replace(found.best.settable, center_mm=(40.0, 40.0), turn_deg=77.0)
        best = replace(found.best, settable=settable)
        other_fit = replace(fit, smallest_circle=circle, cups=(replace(found, best=best),))
        other = replace(frame, session=replace(session, fit=other_fit))
        assert other.session is not None
        assert other.session.is_fit_current
        pictures = []
        for shown in (frame, other):
            surface = pygame.Surface(frame.size)
            Painter().draw(surface, shown)
            pictures.append(pygame.image.tobytes(surface, "RGB"))
        assert pictures[0] == pictures[1]


def test_the_best_place_once_a_scene_is_settled(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        hand.digit(1)
        hand.key(pygame.K_b)
        session = hand.lessons.session
        assert session is not None
        assert session.placement == at_best(session).placement


def test_the_curve_is_there_where_turning_counts_alone(desk: Desk) -> None:
    from viewer.screen.curve_strip import is_in_plot, plot_box

    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        counts = {}
        for lesson in LESSONS:
            hand.open(lesson.key)
            layout = hand.lessons.layout
            seen = layout.strip.y < layout.size[1]
            counts[seen] = counts.get(seen, 0) + 1
            assert seen is not hand.walk.shown_scene.press.limits.is_cup_alone
            assert ("curve" in _stops(hand)) is seen
            everywhere = [(x, y) for x in range(0, 1600, 50) for y in range(0, 1000, 7)]
            assert any(is_in_plot(layout, pos) for pos in everywhere) is seen
            if seen:
                assert layout.status.y > plot_box(layout).bottom
            hand.key(pygame.K_ESCAPE)
        assert counts[True]
        assert counts[False]


def _stops(hand: LessonHand) -> tuple[str, ...]:
    from viewer.screen import focus

    return focus.stops(hand.lessons)


# --- what does not belong here ---------------------------------------------------------


NOT_ALLOWED = (
    (pygame.K_o, CTRL), (pygame.K_s, CTRL), (pygame.K_n, CTRL), (pygame.K_PAGEDOWN, 0),
    (pygame.K_r, CTRL), (pygame.K_RETURN, CTRL), (pygame.K_s, 0), (pygame.K_l, 0),
    (pygame.K_r, 0), (pygame.K_c, 0), (pygame.K_k, 0), (pygame.K_p, 0), (pygame.K_w, 0),
    (pygame.K_F3, 0), (pygame.K_n, 0), (pygame.K_m, 0), (pygame.K_a, 0), (pygame.K_1, CTRL),
)  # fmt: skip


@pytest.mark.parametrize(("key", "mod"), NOT_ALLOWED)
def test_what_belongs_to_the_work_says_so(desk: Desk, key: int, mod: int) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        before = hand.lessons.session
        hand.key(key, mod)
        assert hand.lessons.looks.look.message == NOT_HERE
        assert hand.lessons.session is before
        frame = hand.lessons.frame()
        assert (frame.dialog, frame.signing, frame.numbers, frame.editing) == (None,) * 4
        assert hand.lessons.artist.tools.mode == ""


def test_a_file_dropped_in_a_lesson_is_not_opened(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        for _ in range(2):
            hand.send(pygame.DROPBEGIN)
            hand.send(pygame.DROPFILE, file="/jobs/other.svg")
            hand.send(pygame.DROPCOMPLETE)
            assert front.desk.job is None
            assert hand.lessons.looks.look.message == NOT_HERE
            hand.open("square")
        assert desk.job is None


def test_the_work_stays_as_it_is(desk: Desk, hand: Hand) -> None:
    hand.key(pygame.K_RIGHT)
    hand.key(pygame.K_UP)
    hand.key(pygame.K_z, CTRL)
    desk.filing.set_notes("two colours")
    # All threads have come to their end: none may change the frame meanwhile.
    assert desk.wait_for_fit(30)
    frame = desk.frame()
    session, steps = desk.session, desk.history.sessions
    unsaved, job = desk.filing.is_unsaved, desk.filing._job_now()
    with lessons_over(desk) as front:
        lessons = LessonHand(front)
        lessons.give_name()
        lessons.open("own-artwork")
        lessons.try_all()
        lessons.answer(lessons.walk.course.prediction, is_right=False)
        lessons.key(pygame.K_z, CTRL)
        lessons.key(pygame.K_ESCAPE)
        lessons.key(pygame.K_ESCAPE)
        assert front.turn()
        assert front.desk is desk
    assert desk.session is session
    assert desk.history.sessions == steps
    assert (desk.filing.is_unsaved, desk.filing._job_now()) == (unsaved, job)
    assert desk.frame() == frame
    assert not desk.wants_lessons
    assert desk.artist.tools.is_snapping


def test_closing_the_window_asks_about_the_work_alone(desk: Desk, hand: Hand) -> None:
    hand.key(pygame.K_RIGHT)
    assert desk.filing.is_unsaved
    with lessons_over(desk) as front:
        lessons = LessonHand(front)
        lessons.give_name()
        lessons.open("square")
        lessons.send(pygame.QUIT)
        assert lessons.lessons.asking.question is None
        assert front.turn()
        assert front.desk is desk
        assert desk.asking.question is not None
        assert not front.is_closed


def test_closing_the_window_with_nothing_unsaved(opener: FakeOpener) -> None:
    work = Desk((1100, 700), Press(), opener)
    with lessons_over(work) as front:
        lessons = LessonHand(front)
        lessons.key(pygame.K_ESCAPE)
        lessons.key(pygame.K_q, CTRL)
        assert front.turn()
        assert front.is_closed
    work.close()


# --- going over and back -----------------------------------------------------------------


def test_ctrl_l_leaves_and_comes_back_to_the_same_place(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("square")
        hand.digit(1)
        walk = hand.walk
        hand.key(pygame.K_l, CTRL)
        assert front.turn()
        assert front.desk is desk
        assert not front.turn()
        desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_l, mod=CTRL, unicode=""))
        assert front.turn()
        assert hand.walk is walk


def test_a_lesson_left_is_gone_on_with(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.open("diagonal")
        hand.try_scene()
        session = hand.lessons.session
        hand.key(pygame.K_ESCAPE)
        page = front.desk.frame().lesson.page  # type: ignore[union-attr]
        assert page is not None
        assert BEGUN in {row.state for row in page.rows}
        hand.open("diagonal")
        assert hand.walk.settled[0] == "fits"
        assert hand.lessons.session is not None
        assert session is not None
        assert hand.lessons.session.placement == session.placement


def test_the_window_may_change_its_size_meanwhile(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        hand.send(pygame.VIDEORESIZE, w=1100, h=700, size=(1100, 700))
        hand.open("square")
        hand.send(pygame.VIDEORESIZE, w=1300, h=900, size=(1300, 900))
        hand.key(pygame.K_l, CTRL)
        front.turn()
        assert desk.size == (1300, 900)
        surface = pygame.Surface(desk.size)
        surface.fill((255, 0, 255))
        assert desk.painter.draw(surface, desk.frame()) == [surface.get_rect()]
        assert tuple(surface.get_at((1299, 899)))[:3] != (255, 0, 255)


def test_the_theme_chosen_in_lessons_holds_for_the_work(opener: FakeOpener) -> None:
    store = Store()
    work = Desk((1100, 700), Press(), opener, store=store)
    work.looks.use_settings(store.settings, store.change, lambda: "dark")
    front = Front(work, lambda size: LessonDesk(size, opener), store)
    work.show_lessons()
    front.turn()
    front.desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_ESCAPE, mod=0, unicode=""))
    front.desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_t, mod=0, unicode=""))
    assert front.desk.looks.look.theme == "light"
    front.desk.handle(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_ESCAPE, mod=0, unicode=""))
    front.turn()
    assert front.desk is work
    assert work.looks.look.theme == "light"
    front.close()


def test_the_lesson_about_ones_own_artwork_needs_a_file(opener: FakeOpener) -> None:
    work = Desk((1100, 700), Press(), opener)
    with lessons_over(work) as front:
        hand = LessonHand(front)
        hand.give_name()
        page = front.desk.frame().lesson.page  # type: ignore[union-attr]
        assert page is not None
        assert page.rows[-1].state == NO_FILE
        hand.digit(0)
        assert hand.lessons.lesson.running is None
        assert "open a file first" in hand.lessons.looks.look.message
    work.close()


# --- learners ------------------------------------------------------------------------------


def test_the_last_learner_is_offered_first(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name("Ada")
        hand.key(pygame.K_n)
        hand.type("Zoe")
        hand.enter()
    with lessons_over(desk) as front:
        # Nothing is known of who only gave a name; an answer makes a file.
        hand = LessonHand(front)
        hand.give_name("Ada")
        _finish_square(hand)
        hand.key(pygame.K_ESCAPE)
        hand.key(pygame.K_n)
        hand.type("Zoe")
        hand.enter()
        _finish_square(hand)
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        assert hand.lessons.lesson.learner.name == "Zoe"
        assert hand.lessons.editing is None
        box = _box(hand.lessons.painter.panel.place_of("lesson:name:Ada"))
        hand.click(box.center)
        assert hand.lessons.lesson.learner.name == "Ada"
        hand.key(pygame.K_n)
        hand.key(pygame.K_DOWN)
        hand.enter()
        assert hand.lessons.lesson.learner.name == "Zoe"


def test_a_name_that_is_none_is_refused_at_the_field(desk: Desk) -> None:
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.type("   ")
        hand.enter()
        assert hand.lessons.editing is not None
        assert hand.lessons.editing.error
        hand.key(pygame.K_ESCAPE)
        assert hand.lessons.lesson.learner.name == ""
        _finish_square(hand)
        assert "not kept" in hand.lessons.looks.look.message


def test_progress_that_cannot_be_written_is_told_and_the_lesson_goes_on(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    with lessons_over(desk) as front:
        hand = LessonHand(front)
        hand.give_name()
        monkeypatch.setenv("BRIMCHECK_CONFIG", str(blocked / "deeper"))
        _finish_square(hand)
        assert hand.walk.stage is Stage.DONE
        assert "progress is not kept" in hand.lessons.looks.look.message
        hand.key(pygame.K_ESCAPE)
        shown = hand.lessons.frame().lesson
        assert shown is not None
        assert shown.page is not None
        assert "progress is not kept" in shown.page.notice
        assert shown.page.done_count == 1


def _finish_square(hand: LessonHand) -> None:
    hand.open("square")
    hand.try_all()
    hand.answer(hand.walk.course.prediction, is_right=False)
    hand.see_why()
    assert isinstance(hand.walk.ask.answer, NumberAnswer)
    hand.answer(hand.walk.ask, is_right=True)


def _box(box: pygame.Rect | None) -> pygame.Rect:
    assert box is not None
    return box


# --- from the command line ---------------------------------------------------------------------


def test_a_picture_of_a_lesson_and_of_the_list(tmp_path: Path) -> None:
    size = (1100, 700)
    pictures = []
    for key in ("square", "1", None):
        target = str(tmp_path / f"{key}.png")
        done = run_lessons(key, NAME, None, LoadOptions(), Press(), target, size)
        assert done == 0
        picture = pygame.image.load(target)
        assert picture.get_size() == size
        pictures.append(pygame.image.tobytes(picture, "RGB"))
    assert not os.path.exists(os.environ["BRIMCHECK_CONFIG"]), "a picture keeps nothing"
    assert pictures[0] == pictures[1]
    assert pictures[0] != pictures[2]
    assert sorted(os.listdir(tmp_path)) == ["1.png", "None.png", "square.png"]


def test_a_picture_of_the_lesson_about_ones_own_artwork(tmp_path: Path) -> None:
    index = [one.key for one in LESSONS].index("own-artwork")
    target = str(tmp_path / "own.png")
    args = (LoadOptions(), Press(), (1100, 700), FakeOpener())
    write_lesson_picture(target, index, NAME, "/jobs/pennant.svg", *args)
    own = pygame.image.load(target)
    write_lesson_picture(target, None, NAME, "/jobs/pennant.svg", *args)
    assert pygame.image.tobytes(own, "RGB") != pygame.image.tobytes(
        pygame.image.load(target), "RGB"
    )


def test_a_lesson_that_there_is_not(tmp_path: Path) -> None:
    for key in ("11", "sqare", ""):
        with pytest.raises(UsageError, match="there is no lesson"):
            run_lessons(key, "", None, LoadOptions(), Press(), str(tmp_path / "a.png"))
    with pytest.raises(UsageError, match="name"):
        run_lessons(None, "\t", None, LoadOptions(), Press(), str(tmp_path / "a.png"))
    assert os.listdir(tmp_path) == []


def test_the_lessons_wait_for_the_file_and_not_for_a_bad_one(opener: FakeOpener) -> None:
    for path, comes in (("/jobs/pennant.svg", True), ("/jobs/broken.svg", False)):
        work = Desk((1100, 700), Press(), opener)
        front = Front(work, lambda size: LessonDesk(size, opener))
        work.filing.open(path, LoadOptions())
        front.begin_with(None, "")
        assert not front.turn()
        assert work.job is not None
        work.job.wait(20)
        work.poll()
        assert front.turn() is comes
        assert not front.turn()
        front.close()
