"""The desk of the lessons: a bench of its own, so that the work stays as it is."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

import pygame

from viewer.errors import BrimcheckError
from viewer.geometry.types import Bounds
from viewer.lessons.lesson import Given, Scene
from viewer.lessons.scenes import ScenePicture
from viewer.press.press import Press
from viewer.screen import model
from viewer.screen.artwork_layer import (
    Levels,
    PictureLike,
    draw_levels,
)
from viewer.screen.camera import fit_camera
from viewer.screen.construction_layer import marks_bounds
from viewer.screen.desk import Desk
from viewer.screen.layout import Layout
from viewer.screen.lesson_guest import SETTLE_FIRST, Teaching, fresh_seed
from viewer.screen.lesson_layout import lesson_layout
from viewer.screen.lesson_progress import utc_today
from viewer.screen.loader import Opened, Opener
from viewer.screen.model import Session, others_of
from viewer.screen.overlay import bounds_to_show
from viewer.screen.viewstate import Frame

_SCENE_PX_PER_MM = 12.0
"""So finely is a scene drawn while it moves; at rest it is drawn for the view itself."""
_MOST_LEVELS = 6


class LessonDesk(Desk):
    """Takes events in lessons. Nothing of it is kept as work, watched, or asked about."""

    def __init__(
        self,
        size: tuple[int, int],
        opener: Opener | None = None,
        wake: Callable[[], None] = lambda: None,
        clock: Callable[[], float] | None = None,
        seed: Callable[[], int] = fresh_seed,
        today: Callable[[], datetime.date] = utc_today,
    ) -> None:
        """``seed``: for the numbers of a lesson begun. ``today``: the date that is recorded."""
        super().__init__(size, Press(), opener, wake, clock)
        self.lesson = Teaching(self, seed, today)
        self.guests = (self.lesson,)
        self.artist.use_snapping(False)
        self.is_left = False
        """Whether the work is to come to the front again."""
        self.wants_quit = False
        self._given_from: Session | None = None
        self._given_levels: Levels | None = None
        self._levels: dict[int, tuple[Scene, Levels]] = {}

    # --- coming and going --------------------------------------------------------

    def come(self, work: Desk) -> None:
        """The lessons come to the front; the artwork of the work may be what one is about."""
        self.is_left = self.wants_quit = self.wants_lessons = False
        self.artist.use_snapping(False)  # it would find the middle for them
        session = work.session
        self._given_from, self._given_levels = session, work.levels
        if session is None:
            self.lesson.enter_room(Given())
            return
        others = [c.cup for c in session.fit.cups if c.cup != session.cup]
        press = replace(session.press, cups=(session.cup, *others), limits=session.limits)
        self.lesson.enter_room(Given(session.artwork, press))

    def leave(self) -> None:
        """Back to the work."""
        self.settle()
        self.is_left = True

    def show_lessons(self) -> None:
        """The command that has brought them to the front takes them away again."""
        self.leave()

    def quit(self) -> None:
        """Close the window, once the work has been asked about."""
        self.leave()
        self.wants_quit = True

    # --- frames ------------------------------------------------------------------

    @property
    def layout(self) -> Layout:
        """Where things are: a column in the middle for the list, else the bench."""
        lesson = self.lesson
        is_page = lesson.running is None
        return lesson_layout(self.size, self.looks.ui_factor, is_page, lesson.has_curve)

    def frame(self) -> Frame:
        """What the window shows now."""
        shown, frame = self.lesson.shown, super().frame()
        return replace(frame, lesson=shown, filed=None, listed=None, numbers=None, signing=None)

    def close(self) -> None:
        """Let go of everything."""
        super().close()
        for guest in (self.signing, self.numbers):
            guest.stop()

    # --- scenes --------------------------------------------------------------------

    def show_scene(self, scene: Scene, session: Session | None) -> None:
        """Put a scene on the bench, the cup at its start, or where it was left."""
        picture, levels = self._picture_of(scene)
        used = session if session is not None else self._session_of(scene)
        self.show(Opened(used, picture, levels))

    def show_nothing(self) -> None:
        """Clear the bench."""
        self.settle()
        self.editing = None
        self.session = self.camera = self.levels = self.picture = None
        self.history.clear()
        self.sharpness.begin()
        self._forget_files()
        self._scroll_px = 0

    def _session_of(self, scene: Scene) -> Session:
        """The lesson's cup alone, over the scene's artwork."""
        press = replace(scene.press, cups=scene.press.cups[:1])
        fit = replace(scene.fit, cups=(scene.cup_fit,))
        loaded, scale = scene.artwork, 1.0
        work = self._given_from
        if work is not None and scene.artwork is work.artwork:
            loaded, scale = work.loaded, work.scale
        others = others_of(scene.artwork)
        start, limits = scene.start, scene.press.limits
        return Session(loaded, scale, scene.artwork, fit, 0, start, others, press, limits)

    def _picture_of(self, scene: Scene) -> tuple[PictureLike, Levels]:
        if not scene.parts:
            return self._picture_of_file(scene)
        picture = ScenePicture(scene.parts)
        known = self._levels.get(id(scene))
        if known is None or known[0] is not scene:
            # At once, so that nobody waits for a lesson.
            known = (scene, draw_levels(picture, scene.artwork, _SCENE_PX_PER_MM))
            if len(self._levels) >= _MOST_LEVELS:
                self._levels.clear()
            self._levels[id(scene)] = known
        return picture, known[1]

    def _picture_of_file(self, scene: Scene) -> tuple[PictureLike, Levels]:
        """The file's own picture, as the work shows it."""
        work, artwork = self._given_from, scene.artwork
        if work is not None and artwork is work.artwork:
            artwork = work.loaded
        levels = self._given_levels if work is not None else None
        try:
            picture = self.opener.picture(artwork)
        except BrimcheckError as error:
            if levels is None:
                raise
            # The file is gone from its folder: what was drawn of it is still there.
            self.looks.say(error.message)
            return ScenePicture(()), levels
        return picture, levels if levels is not None else draw_levels(picture, artwork)

    # --- what is otherwise in a lesson -----------------------------------------------

    def go_to_best(self) -> None:
        """Put the cup where its clearance is best, once that tells nothing any more."""
        if self.lesson.may_be_told:
            super().go_to_best()
        else:
            self.looks.say(SETTLE_FIRST)

    def fit_window(self) -> None:
        """Show page, ink and cup, and from the reveal on all of the construction."""
        if self.session is None:
            return
        # A cup on its way to its best place is shown where it will be.
        session = model.at_best(self.session) if self.is_gliding else self.session
        view, bounds = self.layout.view, bounds_to_show(session)
        running = self.lesson.running
        if running is not None and not self.lesson.shown.is_answer_hidden:
            walk = running.walk
            steps = [s.marks for s in walk.course.steps if s.scene == walk.scene]
            found = marks_bounds(mark for marks in steps for mark in marks)
            if found is not None:
                bounds = _joined(bounds, found)
        self.camera = fit_camera(bounds, view.width, view.height)
        self.is_camera_ours = True

    def top_of_cards(self) -> None:
        """What is said now is read from its beginning."""
        self._scroll_px = 0

    def handle(self, event: pygame.event.Event) -> None:
        """Take one event, and see how the cup stands after it."""
        super().handle(event)
        self.lesson.see()

    def poll(self) -> None:
        """Fetch what the threads have brought."""
        super().poll()
        self.lesson.see()


def _joined(one: Bounds, other: Bounds) -> Bounds:
    return Bounds(
        min(one.x0, other.x0),
        min(one.y0, other.y0),
        max(one.x1, other.x1),
        max(one.y1, other.y1),
    )
