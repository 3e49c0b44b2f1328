"""The window's state and what events do to it. Draws nothing, opens no window."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace

import pygame

from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError, Cancelled
from viewer.press.limits import PressLimits
from viewer.press.press import Press
from viewer.screen import model, panel_fields
from viewer.screen.answers import answered, offers
from viewer.screen.artist import Artist
from viewer.screen.artwork_layer import Levels, PictureLike, Sharp
from viewer.screen.asking import Asking
from viewer.screen.camera import Camera, fit_camera
from viewer.screen.commands import BY_NAME
from viewer.screen.cup_fields import cups_of
from viewer.screen.file_dialog import FileChooser
from viewer.screen.filing import Filing
from viewer.screen.fitting import Fitting
from viewer.screen.guest import Guest
from viewer.screen.history import History
from viewer.screen.kept_files import MOST_READ_AGAIN, KeptFiles
from viewer.screen.keyboard import Keyboard, is_panel_field
from viewer.screen.layout import Layout, layout_for
from viewer.screen.loader import FileOpener, LoadJob, Opened, Opener
from viewer.screen.looks import Looks
from viewer.screen.model import Session
from viewer.screen.numbers import Numbers
from viewer.screen.overlay import bounds_to_show
from viewer.screen.painter import Painter
from viewer.screen.pointer import Pointer, Pos
from viewer.screen.sharpness import Sharpness
from viewer.screen.signing import Signing
from viewer.screen.store import Store
from viewer.screen.viewstate import Editing, Frame, Loading, Notice

_INPUT = (
    pygame.KEYDOWN,
    pygame.MOUSEBUTTONDOWN,
    pygame.MOUSEWHEEL,
    pygame.DROPFILE,
    pygame.DROPCOMPLETE,
    pygame.VIDEORESIZE,
    pygame.QUIT,
)
"""What a person does. A mouse that only moves, or a key let go, is not counted; nor is the
letter that a key brings along, as its own press has come before."""


class Desk:
    """Takes events; gives frames."""

    def __init__(
        self,
        size: tuple[int, int],
        press: Press,
        opener: Opener | None = None,
        wake: Callable[[], None] = lambda: None,
        clock: Callable[[], float] | None = None,
        store: Store | None = None,
        chooser: FileChooser | None = None,
        record: str | None = None,
    ) -> None:
        """``clock`` tells seconds; without one the cup jumps to its best at once.

        ``store`` keeps settings and unsaved work; without one nothing is kept or watched.
        ``record``: the approval record, else the one that is known without being named.
        """
        self.size = layout_for(size).size
        self.painter = Painter()
        self.session: Session | None = None
        self.camera: Camera | None = None
        self.history = History()
        self.editing: Editing | None = None
        self.notice: Notice | None = None
        self.is_help_open = False
        self.is_warnings_open = False
        self.is_closed = False
        self.sharp: Sharp | None = None
        self.levels: Levels | None = None
        self.job: LoadJob | None = None
        self.picture: PictureLike | None = None
        self._is_reading_again = False
        self._press = press
        self._fitting = Fitting(self, wake, clock)
        self._opener: Opener = opener if opener is not None else FileOpener()
        self._wake = wake
        self.looks = Looks(self, clock)
        self.sharpness = Sharpness(self, wake)
        self._files = KeptFiles(self.sharpness.close_picture)
        self.pointer = Pointer(self)
        self.artist = Artist(self, wake)
        self.keyboard = Keyboard(self)
        self.asking = Asking(self)
        self.filing = Filing(self, self._opener, wake, store, chooser)
        self.signing = Signing(self, wake, record)
        self.numbers = Numbers(self, wake)
        self.guests: tuple[Guest, ...] = (self.signing, self.numbers)
        self.wants_lessons = False
        self.is_camera_ours = True
        self._scroll_px = 0

    # --- frames --------------------------------------------------------------

    @property
    def layout(self) -> Layout:
        """Where things are at the present size."""
        return layout_for(self.size, self.looks.ui_factor)

    def frame(self) -> Frame:
        """What the window shows now."""
        session, loading = self.session, None
        if self.job is not None:
            step, fraction = self.job.progress
            loading = Loading(os.path.basename(self.job.path), step, fraction)
        curve = self._fitting.curve()
        return Frame(
            size=self.size,
            session=session,
            curve=curve if curve is not None else self._fitting.last_curve,
            is_curve_old=curve is None,
            is_working=self._fitting.is_busy,
            is_gliding=self._fitting.is_gliding,
            hover_deg=self.pointer.hover_deg if session is not None else None,
            placed=session.placed() if session is not None else (),
            camera=self.camera,
            levels=self.levels,
            sharp=self.sharp,
            editing=self.editing,
            notice=self.notice,
            loading=loading,
            dialog=self.asking.dialog(),
            listed=self.filing.listed(),
            filed=self.filing.filed(),
            tools=self.artist.tools,
            look=self.looks.look,
            signing=self.signing.shown,
            numbers=self.numbers.shown,
            is_help_open=self.is_help_open,
            is_warnings_open=self.is_warnings_open,
            panel_scroll_px=self._scroll_px,
            can_undo=self.history.can_undo or self._is_reading_again,
            can_redo=self.history.can_redo,
        )

    # --- files -----------------------------------------------------------------

    def open_file(
        self,
        path: str,
        options: LoadOptions,
        press: Press | None = None,
        *,
        is_quiet: bool = False,
    ) -> None:
        """Begin to read a file; what is shown stays until it has been read.

        ``press`` None: the present one. ``is_quiet``: a field being typed in stays as it is.
        """
        self.escape_job()
        if not is_quiet:
            self.notice = None
            self.editing = None
        self.filing.reading(path)
        if press is not None:
            pass
        elif self.session is None:
            press = self._press
        else:
            # What was chosen in the window holds for the next file as well.
            cups = cups_of(self.session)
            press = replace(self._press, limits=self.session.limits, cups=cups)
        self.job = LoadJob(self._opener, path, options, press, self._wake)
        self.job.start()

    def open_dropped(self, path: str) -> None:
        """Open another file as it says itself: sizes given for the last one do not hold."""
        self.filing.open(path)

    @property
    def known_press(self) -> Press:
        """The cups and limits that there are to choose from."""
        return self._press

    def use_press(self, press: Press) -> None:
        """Choose from the cups and limits of another press from now on."""
        self._press = press

    def poll(self) -> None:
        """Fetch what the threads have brought."""
        job = self.job
        if job is not None and job.is_done:
            self.job = None
            if job.opened is not None:
                # The press as it was given still says what there is to choose from.
                # The cups are those of the list, as they were changed in the window.
                known = replace(self._press, cups=job.opened.session.press.cups)
                session = replace(job.opened.session, press=known)
                opened = replace(job.opened, session=session)
                if self.filing.take(job, opened):
                    pass
                elif self._is_reading_again:
                    self.show_again(opened)
                else:
                    self.show(opened)
            elif job.error is not None:
                self._refuse(job, job.error)
            self._is_reading_again = False
        self.sharpness.poll()
        self._fitting.tick()
        self._fitting.keep_up()
        self.artist.keep_up()
        self.looks.tick()
        for guest in self.guests:
            guest.poll()
        self.filing.poll()
        self.filing.tick()
        self._let_go()

    def show(self, opened: Opened) -> None:
        """Show a file that has been read."""
        self.history.clear()
        self._fitting.start_anew()
        self._files.add(opened)
        self._use(opened, opened.session)
        self.is_warnings_open = False
        self.editing = None
        self.notice = None
        self.pointer.forget()
        self._scroll_px = 0
        self.fit_window()
        self._fitting.keep_up()
        self.artist.keep_up()
        self.filing.shown(opened.session)

    def _use(self, opened: Opened, session: Session) -> None:
        """Show a session together with what its file was read as."""
        self.session = session
        self.picture = opened.picture
        self.levels = opened.levels
        self.sharpness.begin()
        self._forget_files()

    def _forget_files(self) -> None:
        now = () if self.session is None else (self.session,)
        self._files.keep_only((*now, *self.history.sessions))

    def settle(self) -> None:
        """Bring a drag or a glide to its end."""
        self._fitting.end_glide()
        self.pointer.end_drag()

    def show_changed(
        self,
        opened: Opened,
        session: Session,
        rebased: Callable[[Session], Session | None],
    ) -> None:
        """Show a file that has got another content; every step of before is taken along."""
        before = self.session
        self.history.change_all(rebased)
        self._files.add(opened)
        self._use(opened, session)
        if before is not None:
            self._follow_page(before)
        self._fitting.keep_up()

    def show_again(self, opened: Opened, session: Session | None = None) -> None:
        """Show the same file, read otherwise, where the last reading stood, or ``session``."""
        self.settle()
        before = self.session
        if before is None:
            self.show(opened)
            return
        self.history.remember(before)
        self.history.limit_files(MOST_READ_AGAIN)
        self._files.add(opened)
        if session is None:
            session = model.read_again(before, opened.session)
        self._use(opened, session)
        self._follow_page(before)

    def answer(self, number: int) -> None:
        """Read the file again with what a warning's button says, counted from 1."""
        if self.session is None:
            return
        offer = next((o for o in offers(self.session.fit) if o.number == number), None)
        if offer is not None:
            self.read_again_with(lambda options: answered(options, offer))

    def read_again_with(self, change: Callable[[LoadOptions], LoadOptions]) -> None:
        """Read the same file with other options; that can be undone."""
        if self.session is None:
            return
        loaded = self.session.loaded
        # Answers given while the file is being read again count together.
        options = loaded.options
        if self._is_reading_again and self.job is not None:
            options = self.job.options
        self.open_file(loaded.path, change(options))
        self._is_reading_again = True

    @property
    def opener(self) -> Opener:
        """What reads files."""
        return self._opener

    def toggle_warnings(self) -> None:
        """Show all words of the warnings, or one line each."""
        self.is_warnings_open = not self.is_warnings_open

    def _refuse(self, job: LoadJob, error: BrimcheckError) -> None:
        if not (isinstance(error, Cancelled) or self.filing.refused(job, error)):
            self.notice = Notice(error.message)

    def escape_job(self) -> None:
        """Cancel the reading of a file, if one is being read."""
        if self.job is not None:
            self.job.cancel()
            self.job = None
        self._is_reading_again = False

    def close(self) -> None:
        """Let go of everything."""
        self.filing.stop()
        self.escape_job()
        self.picture = None
        self._files.keep_only(())
        self._fitting.stop()
        self.artist.stop()
        for guest in self.guests:
            guest.stop()
        self.sharpness.stop()

    # --- fitting -------------------------------------------------------------

    def fit_now(self) -> None:
        """Work out fit, curve and ways out before returning."""
        self._fitting.now()
        self.artist.now()

    def wait_for_fit(self, timeout_s: float) -> bool:
        """Let the thread finish; False when it takes longer."""
        done = self._fitting.wait(timeout_s)
        self.poll()
        done = self.artist.wait(timeout_s) and done
        self.poll()
        return done

    def go_to_best(self) -> None:
        """Put the cup where its clearance is best; as soon as that is known."""
        self._fitting.go_to_best()

    @property
    def is_gliding(self) -> bool:
        """Whether the cup is on its way to its best place."""
        return self._fitting.is_gliding

    # --- actions -------------------------------------------------------------

    def change(self, change: Callable[[Session], Session]) -> None:
        """Change the session, so that it can be undone."""
        if self.session is None:
            return
        before, changed = self.session, change(self.session)
        same = (
            changed.cup_index == before.cup_index
            and changed.placement == before.placement
            and changed.scale == before.scale
            and changed.limits == before.limits
            and cups_of(changed) == cups_of(before)
        )
        if not same:
            self.session = changed
            self.remember(before)
            self._fitting.keep_up()

    def set_limits(self, limits: PressLimits) -> None:
        """Let the press limit the image otherwise. Raises UsageError for what cannot be."""
        self.change(lambda session: model.with_limits(session, limits))

    def remember(self, before: Session) -> None:
        """Keep the session as it was before a change, for undo."""
        self.history.remember(before)
        self._forget_files()

    def choose_next(self, step: int) -> None:
        """Choose another cup, counted from the present one, round and round."""
        if self.session is not None:
            count = len(self.session.fit.cups)
            index = (self.session.cup_index + step) % count
            self.change(lambda session: model.with_cup(session, index))

    def undo(self) -> None:
        """Take the last change back."""
        if self._is_reading_again:
            self.escape_job()
        elif self.session is not None:
            self._go_to(self.history.undo(self.session))

    def redo(self) -> None:
        """Do it again."""
        if self.session is not None and not self._is_reading_again:
            self._go_to(self.history.redo(self.session))

    def _go_to(self, session: Session) -> None:
        if self.session is None or session.loaded is self.session.loaded:
            self.session = session
            return
        before = self.session
        self._use(self._files.of(session), session)
        self._follow_page(before)

    def _follow_page(self, before: Session) -> None:
        """Keep the view, so that two readings can be compared, unless the page changed."""
        same = self.session is None or self.session.artwork.page_mm == before.artwork.page_mm
        if self.is_camera_ours and not same:
            self.fit_window()

    def scroll_by(self, by_px: int) -> None:
        """Scroll the panel as far as it goes."""
        greatest = self.painter.panel.greatest_scroll_px()
        self._scroll_px = max(0, min(greatest, self._scroll_px + by_px))

    def show_card(self, name: str) -> None:
        """Scroll the panel, brought up to date, until a thing of it is seen."""
        self.painter.panel.update(self.frame(), self.layout)
        self.scroll_to(name)

    def scroll_to(self, name: str) -> None:
        """Scroll the panel until a thing of it is seen."""
        box = self.painter.panel.place_of(name)
        if box is not None:
            gap = self.layout.px(44)
            self.scroll_by(max(0, box.bottom + gap - self.size[1]) or min(0, box.top - gap))

    def zoom_at(self, pos: Pos, factor: float) -> None:
        """Magnify about a point of the window."""
        if self.camera is None or self.pointer.drag is not None:
            return
        view = self.layout.view
        self.camera = self.camera.zoomed_at(pos[0] - view.x, pos[1] - view.y, factor)
        self.is_camera_ours = False

    def zoom(self, factor: float) -> None:
        """Magnify about the view's middle."""
        view = self.layout.view
        self.zoom_at((view.centerx, view.centery), factor)

    def fit_window(self) -> None:
        """Show the page (unless it is far larger than the cup), the ink and the cup."""
        if self.session is None:
            return
        view = self.layout.view
        self.camera = fit_camera(bounds_to_show(self.session), view.width, view.height)
        self.is_camera_ours = True

    def toggle_help(self) -> None:
        """Show or hide the keys."""
        self.is_help_open = not self.is_help_open

    def ask_for_path(self) -> None:
        """Ask for the file to open."""
        self.filing.ask_to_open()

    def edit_field(self, name: str) -> None:
        """Give a field the keyboard, if it is there."""
        if not self.has_field(name):
            return
        text, owner = "", self.owner_of(name)
        if owner is not None:
            text = owner.field_text(name)
            self.scroll_to(f"field:{name}")
        elif is_panel_field(name):
            text = self.field_text(name)
            self.scroll_to(f"field:{name}")
        self.editing = Editing(name, text, len(text))

    def owner_of(self, field: str) -> Guest | None:
        """The guest that shows a field; None for a field of the bench's own cards."""
        return next((guest for guest in self.guests if field in guest.fields), None)

    def has_field(self, name: str) -> bool:
        """Whether a field is in the window now."""
        return panel_fields.has_field(self, name)

    def _let_go(self) -> None:
        """A field that is not there any more has no keyboard."""
        if self.editing is not None and not self.has_field(self.editing.name):
            self.editing = None

    def show_lessons(self) -> None:
        """Go over to the lessons; the work stays as it is."""
        self.wants_lessons = True

    def field_text(self, name: str) -> str:
        """What stands in a field of the artwork's cards."""
        return panel_fields.text_of(self, name)

    def escape(self) -> None:
        """Leave what is open: help, a reading, a field, a notice."""
        if self.is_help_open:
            self.is_help_open = False
        elif self.job is not None:
            self.escape_job()
        elif self.editing is not None and self.owner_of(self.editing.name) is not None:
            self.editing = None
        elif self.editing is not None and is_panel_field(self.editing.name):
            self.keyboard.take_steps_back()
            self.editing = None
        elif self.notice is not None:
            self.notice = None
            self.editing = None
        elif not any(guest.escape() for guest in self.guests):
            self.artist.escape()

    def quit(self) -> None:
        """Close the window; what is unsaved is asked about first."""
        self.filing.quit()

    # --- events --------------------------------------------------------------

    def handle(self, event: pygame.event.Event) -> None:
        """Take one event. Only what the event itself carries is used."""
        if event.type in _INPUT:
            self._fitting.end_glide()
        if not (
            self.asking.take(event)
            or self.looks.take(event)
            or any(guest.take(event) for guest in self.guests)
            or self.filing.take_event(event)
        ):
            self._take(event)
        self._let_go()
        self.looks.after()
        self._fitting.keep_up()
        self.artist.keep_up()
        self.filing.tick()

    def _take(self, event: pygame.event.Event) -> None:
        kind = event.type
        if kind == pygame.QUIT:
            self.quit()
        elif kind == pygame.VIDEORESIZE:
            self.resize((event.w, event.h))
        elif kind == pygame.KEYDOWN:
            self.keyboard.down(event.key, event.mod)
        elif kind == pygame.KEYUP:
            self.keyboard.up(event.key)
        elif kind == pygame.TEXTINPUT:
            self.keyboard.typed(event.text)
        elif kind == pygame.MOUSEBUTTONDOWN:
            self.pointer.down(event.pos, event.button)
        elif kind == pygame.MOUSEBUTTONUP:
            self.pointer.up(event.pos, event.button)
        elif kind == pygame.MOUSEMOTION:
            self.pointer.motion(event.pos)
        elif kind == pygame.MOUSEWHEEL:
            self.pointer.wheel(getattr(event, "precise_y", float(event.y)))
        elif kind == pygame.WINDOWLEAVE:
            self.pointer.leave()

    def press(self, name: str) -> None:
        """What a click on a thing of the panel does."""
        kind, _, what = name.partition(":")
        guest = next((guest for guest in self.guests if guest.name == kind), None)
        if guest is not None:
            guest.press(what)
        elif kind == "cup":
            self.change(lambda session: model.with_cup(session, int(what)))
        elif kind == "field":
            self.edit_field(what)
        elif kind in ("way", "piece", "tool"):
            self.artist.press(kind, what)
        else:
            BY_NAME[what].run(self)

    def resize(self, size: tuple[int, int]) -> None:
        """Another window size: the view's middle stays, or the whole stays shown."""
        before = self.layout.view
        self.size = layout_for(size).size
        self.looks.keep_view(before)
