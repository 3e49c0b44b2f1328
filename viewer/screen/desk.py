"""The window's state and what events do to it. Draws nothing, opens no window."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import pygame

from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError, Cancelled, SizeUnknownError
from viewer.press.cups import Cup
from viewer.screen import entry, model
from viewer.screen.answers import answered, offers
from viewer.screen.artwork_layer import Levels, PictureLike, Sharp, draw_sharp
from viewer.screen.camera import Camera, fit_camera
from viewer.screen.cards import field_values
from viewer.screen.commands import BY_NAME, command_for
from viewer.screen.kept_files import MOST_READ_AGAIN, KeptFiles
from viewer.screen.layout import Layout, layout_for
from viewer.screen.loader import FileOpener, LoadJob, Opened, Opener, Sharpener
from viewer.screen.model import History, Session
from viewer.screen.notices import notice_boxes
from viewer.screen.overlay import bounds_to_show, overlay_place, thing_at
from viewer.screen.painter import Painter
from viewer.screen.viewstate import Editing, Frame, Loading, Notice
from viewer.units import parse_positive_mm

Pos = tuple[int, int]
ZOOM_STEP = 1.2


@dataclass(frozen=True)
class Drag:
    """What the pressed mouse button is doing, and from where."""

    kind: str
    """``"cup"``, ``"turn"`` or ``"pan"``."""
    start: Pos
    session: Session | None
    camera: Camera
    button: int


class Desk:
    """Takes events; gives frames."""

    def __init__(
        self,
        size: tuple[int, int],
        cups: Sequence[Cup],
        setup_tolerance_mm: float,
        opener: Opener | None = None,
        wake: Callable[[], None] = lambda: None,
    ) -> None:
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
        self._picture: PictureLike | None = None
        self._is_reading_again = False
        self._cups = tuple(cups)
        self._tolerance_mm = setup_tolerance_mm
        self._opener: Opener = opener if opener is not None else FileOpener()
        self._wake = wake
        self._sharpener = Sharpener(wake)
        self._files = KeptFiles(self._sharpener.close_picture)
        self._drag: Drag | None = None
        self._pointer: Pos = (self.size[0] // 2, self.size[1] // 2)
        self._is_space_down = False
        self._is_camera_ours = True
        self._scroll_px = 0
        self._asked: tuple[object, ...] | None = None
        self._refused: tuple[str, LoadOptions] | None = None

    # --- frames --------------------------------------------------------------

    @property
    def layout(self) -> Layout:
        """Where things are at the present size."""
        return layout_for(self.size)

    def frame(self) -> Frame:
        """What the window shows now."""
        session, loading = self.session, None
        if self.job is not None:
            step, fraction = self.job.progress
            loading = Loading(os.path.basename(self.job.path), step, fraction)
        return Frame(
            size=self.size,
            session=session,
            placed=session.placed() if session is not None else (),
            camera=self.camera,
            levels=self.levels,
            sharp=self.sharp,
            editing=self.editing,
            notice=self.notice,
            loading=loading,
            is_help_open=self.is_help_open,
            is_warnings_open=self.is_warnings_open,
            panel_scroll_px=self._scroll_px,
            can_undo=self.history.can_undo or self._is_reading_again,
            can_redo=self.history.can_redo,
        )

    # --- files -----------------------------------------------------------------

    def open_file(self, path: str, options: LoadOptions) -> None:
        """Begin to read a file; what is shown stays until it has been read."""
        self.escape_job()
        self.notice = None
        self.editing = None
        self.job = LoadJob(self._opener, path, options, self._cups, self._tolerance_mm, self._wake)
        self.job.start()

    def open_dropped(self, path: str) -> None:
        """Open another file as it says itself: sizes given for the last one do not hold."""
        self.open_file(path, LoadOptions())

    def poll(self) -> None:
        """Fetch what the threads have brought."""
        job = self.job
        if job is not None and job.is_done:
            self.job = None
            if job.opened is not None and self._is_reading_again:
                self._show_again(job.opened)
            elif job.opened is not None:
                self.show(job.opened)
            elif job.error is not None:
                self._refuse(job, job.error)
            self._is_reading_again = False
        sharp = self._sharpener.take()
        if sharp is not None:
            self.sharp = sharp

    def show(self, opened: Opened) -> None:
        """Show a file that has been read."""
        self.history.clear()
        self._files.add(opened)
        self._use(opened, opened.session)
        self.is_warnings_open = False
        self.editing = None
        self.notice = None
        self._drag = None
        self._scroll_px = 0
        self.fit_window()

    def _use(self, opened: Opened, session: Session) -> None:
        """Show a session together with what its file was read as."""
        self.session = session
        self._picture = opened.picture
        self.levels = opened.levels
        self.sharp = None
        self._asked = None
        self._forget_files()

    def _forget_files(self) -> None:
        now = () if self.session is None else (self.session,)
        self._files.keep_only((*now, *self.history.sessions))

    def _show_again(self, opened: Opened) -> None:
        """Show the same file, read with an answer, where the last reading stood."""
        self._end_drag()
        before = self.session
        if before is None:
            self.show(opened)
            return
        self.history.remember(before)
        self.history.limit_files(MOST_READ_AGAIN)
        self._files.add(opened)
        self._use(opened, model.read_again(before, opened.session))
        self._follow_page(before)

    def answer(self, number: int) -> None:
        """Read the file again with what a warning's button says, counted from 1."""
        if self.session is None:
            return
        offer = next((o for o in offers(self.session.fit) if o.number == number), None)
        if offer is None:
            return
        loaded = self.session.loaded
        # Answers given while the file is being read again count together.
        options = loaded.options
        if self._is_reading_again and self.job is not None:
            options = self.job.options
        self.open_file(loaded.path, answered(options, offer))
        self._is_reading_again = True

    def toggle_warnings(self) -> None:
        """Show all words of the warnings, or one line each."""
        self.is_warnings_open = not self.is_warnings_open

    def _refuse(self, job: LoadJob, error: BrimcheckError) -> None:
        if isinstance(error, Cancelled):
            return
        if isinstance(error, SizeUnknownError):
            self._refused = (job.path, job.options)
            self.notice = Notice(error.message, True, "width", "width of the ink")
            self.editing = Editing("width", "", 0)
            return
        self.notice = Notice(error.message)

    def escape_job(self) -> None:
        """Cancel the reading of a file, if one is being read."""
        if self.job is not None:
            self.job.cancel()
            self.job = None
        self._is_reading_again = False

    def close(self) -> None:
        """Let go of everything."""
        self.escape_job()
        self._picture = None
        self._files.keep_only(())
        self._sharpener.stop()

    # --- sharpness -----------------------------------------------------------

    def _sharp_key(self) -> tuple[object, ...] | None:
        if self.session is None or self.camera is None or self._picture is None:
            return None
        return (self.camera, self.session.scale, self.layout.view.size, id(self._picture))

    @property
    def wants_sharp(self) -> bool:
        """Whether a sharper drawing of the present view should be asked for."""
        key = self._sharp_key()
        return key is not None and key != self._asked and self._drag is None

    def ask_sharp(self) -> None:
        """Have the present view drawn sharply in the background."""
        if self.session is None or self.camera is None or self._picture is None:
            return
        self._asked = self._sharp_key()
        self._sharpener.ask(
            self._picture,
            self.session.loaded,
            self.camera,
            self.session.scale,
            self.layout.view.size,
        )

    def sharpen_now(self) -> None:
        """Draw the present view sharply before returning."""
        if self.session is None or self.camera is None or self._picture is None:
            return
        self._asked = self._sharp_key()
        self.sharp = draw_sharp(
            self._picture,
            self.session.loaded,
            self.camera,
            self.session.scale,
            self.layout.view.size,
        )

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
        )
        if not same:
            self.session = changed
            self._remember(before)

    def _remember(self, before: Session) -> None:
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
        if self._is_camera_ours and not same:
            self.fit_window()

    def zoom(self, factor: float) -> None:
        """Magnify about the view's middle."""
        view = self.layout.view
        self._zoom_at((view.centerx, view.centery), factor)

    def fit_window(self) -> None:
        """Show the page (unless it is far larger than the cup), the ink and the cup."""
        if self.session is None:
            return
        view = self.layout.view
        self.camera = fit_camera(bounds_to_show(self.session), view.width, view.height)
        self._is_camera_ours = True

    def toggle_help(self) -> None:
        """Show or hide the keys."""
        self.is_help_open = not self.is_help_open

    def ask_for_path(self) -> None:
        """Offer a field for the path of a file."""
        self.notice = Notice("Open an SVG, PDF, PNG, JPEG or TIFF file.", False, "path", "path")
        self.editing = Editing("path", "", 0)

    def edit_field(self, name: str) -> None:
        """Give a field the keyboard."""
        if name in entry.FIELD_ORDER:
            if self.session is None:
                return
            text = {row.name: row.value for row in field_values(self.frame())}[name]
            self.editing = Editing(name, text, len(text))
        else:
            self.editing = Editing(name, "", 0)

    def escape(self) -> None:
        """Leave what is open: help, a reading, a field, a notice."""
        if self.is_help_open:
            self.is_help_open = False
        elif self.job is not None:
            self.escape_job()
        elif self.editing is not None and self.editing.name in entry.FIELD_ORDER:
            self.editing = None
        elif self.notice is not None:
            self.notice = None
            self.editing = None

    def quit(self) -> None:
        """Close the window."""
        self.is_closed = True

    # --- events --------------------------------------------------------------

    def handle(self, event: pygame.event.Event) -> None:
        """Take one event. Only what the event itself carries is used."""
        kind = event.type
        if kind == pygame.QUIT:
            self.quit()
        elif kind == pygame.VIDEORESIZE:
            self.resize((event.w, event.h))
        elif kind == pygame.DROPFILE:
            self.open_dropped(event.file)
        elif kind == pygame.KEYDOWN:
            self._key_down(event.key, event.mod)
        elif kind == pygame.KEYUP and event.key == pygame.K_SPACE:
            self._is_space_down = False
        elif kind == pygame.TEXTINPUT and self.editing is not None and not self.is_help_open:
            self.editing = entry.typed(self.editing, event.text)
        elif kind == pygame.MOUSEBUTTONDOWN:
            self._pointer = event.pos
            self._button_down(event.pos, event.button)
        elif kind == pygame.MOUSEBUTTONUP:
            self._pointer = event.pos
            if self._drag is not None and self._drag.button == event.button:
                self._drag_to(event.pos)
                self._end_drag()
        elif kind == pygame.MOUSEMOTION:
            self._pointer = event.pos
            self._drag_to(event.pos)
        elif kind == pygame.MOUSEWHEEL:
            self._wheel(getattr(event, "precise_y", float(event.y)))

    def resize(self, size: tuple[int, int]) -> None:
        """Another window size: the view's middle stays, or the whole stays shown."""
        before = self.layout.view
        self.size = layout_for(size).size
        view = self.layout.view
        if self.camera is not None:
            if self._is_camera_ours:
                self.fit_window()
            else:
                dx, dy = (view.width - before.width) / 2, (view.height - before.height) / 2
                self.camera = self.camera.panned(dx, dy)

    def _key_down(self, key: int, mod: int) -> None:
        if key == pygame.K_SPACE and self.editing is None:
            self._is_space_down = True
            return
        command = command_for(key, mod)
        if self._drag is not None:
            # A key that changed the session now would be undone by the next motion.
            if key == pygame.K_ESCAPE:
                self._abandon_drag()
            return
        if self.is_help_open:
            if command is not None and command.name in ("help", "escape", "quit"):
                command.run(self)
            return
        if self.editing is not None and self._edit_key(key, mod):
            return
        if command is not None:
            command.run(self)

    def _edit_key(self, key: int, mod: int) -> bool:
        """A key for the field that has the keyboard; False when it is a command after all."""
        assert self.editing is not None
        if key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self._apply_editing()
        elif key == pygame.K_TAB:
            name = self.editing.name
            if self._apply_editing() and name in entry.FIELD_ORDER:
                step = -1 if mod & pygame.KMOD_SHIFT else 1
                index = (entry.FIELD_ORDER.index(name) + step) % len(entry.FIELD_ORDER)
                self.edit_field(entry.FIELD_ORDER[index])
        elif key in entry.EDIT_KEYS:
            self.editing = entry.edited(self.editing, entry.EDIT_KEYS[key])
        else:
            named = (pygame.K_ESCAPE, pygame.K_F1)
            return not (key in named or mod & (pygame.KMOD_CTRL | pygame.KMOD_META))
        return True

    def _apply_editing(self) -> bool:
        """Take what was typed; on nonsense the field says why and keeps the keyboard."""
        editing = self.editing
        if editing is None:
            return True
        try:
            if editing.name == "path":
                self._open_typed_path(editing.text)
            elif editing.name == "width":
                self._reload_with_width(editing.text)
            elif editing.is_untouched:
                self.editing = None
            else:
                self.change(lambda s: entry.apply_field(s, editing.name, editing.text))
                self.editing = None
        except BrimcheckError as error:
            self.editing = replace(editing, error=error.message)
            return False
        return True

    def _open_typed_path(self, text: str) -> None:
        path = os.path.expanduser(text.strip().strip("\"'"))
        if path:
            self.open_dropped(path)

    def _reload_with_width(self, text: str) -> None:
        width_mm = parse_positive_mm(text, "width")
        if self._refused is not None:
            path, options = self._refused
            self.open_file(path, replace(options, width_mm=width_mm))

    # --- mouse ---------------------------------------------------------------

    def _button_down(self, pos: Pos, button: int) -> None:
        if button > 3:
            return  # old-fashioned wheel events; MOUSEWHEEL tells the same
        if self.is_help_open:
            self.is_help_open = False
            return
        if self._press_notice(pos):
            return
        in_panel = self.editing is not None and self.editing.name in entry.FIELD_ORDER
        if in_panel and not self._apply_editing():
            self.editing = None
        name = self.painter.panel.hit(pos)
        if name is not None:
            if button == 1:
                self._press(name)
            return
        if self.layout.view.collidepoint(pos) and self._drag is None:
            self._begin_drag(pos, button)

    def _press_notice(self, pos: Pos) -> bool:
        if self.notice is None:
            return False
        error = self.editing.error if self.editing is not None else ""
        box, field, close = notice_boxes(self.notice, self.layout, self.painter.texts, error)
        if not box.collidepoint(pos):
            return False
        if close.inflate(8, 8).collidepoint(pos):
            self.notice = None
            self.editing = None
        elif (
            field is not None
            and field.collidepoint(pos)
            and (self.editing is None or self.editing.name != self.notice.field)
        ):
            self.edit_field(self.notice.field)
        return True

    def _press(self, name: str) -> None:
        kind, _, what = name.partition(":")
        if kind == "cup":
            self.change(lambda session: model.with_cup(session, int(what)))
        elif kind == "field":
            self.edit_field(what)
        else:
            BY_NAME[what].run(self)

    def _begin_drag(self, pos: Pos, button: int) -> None:
        session, camera = self.session, self.camera
        if session is None or camera is None:
            return
        kind = "pan"
        if button == 1 and not self._is_space_down:
            kind = thing_at(pos, self.painter.texts, self.layout, session, camera)
        if kind.startswith("cup:"):
            index = int(kind[4:])
            self.change(lambda s: model.with_cup(s, index))
            return
        self._drag = Drag(kind, pos, session, camera, button)

    def _drag_to(self, pos: Pos) -> None:
        drag = self._drag
        if drag is None or drag.session is None:
            return
        dx, dy = pos[0] - drag.start[0], pos[1] - drag.start[1]
        if drag.kind == "pan":
            self.camera = drag.camera.panned(dx, dy)
            self._is_camera_ours = self._is_camera_ours and (dx, dy) == (0, 0)
        elif drag.kind == "cup":
            scale = drag.camera.px_per_mm
            self.session = model.moved(drag.session, dx / scale, -dy / scale)
        else:
            self.session = self._turned(drag, pos)

    def _turned(self, drag: Drag, pos: Pos) -> Session:
        assert drag.session is not None
        place = overlay_place(drag.session, drag.camera, self.layout)
        angles = [
            math.degrees(math.atan2(place.center[1] - y, x - place.center[0]))
            for x, y in (drag.start, pos)
        ]
        by_deg = round(angles[1] - angles[0], 1)
        turned = model.overlay_turned(drag.session, by_deg)
        return model.with_turn(turned, round(turned.placement.turn_deg, 1))

    def _end_drag(self) -> None:
        drag, self._drag = self._drag, None
        if drag is None or drag.session is None or self.session is None:
            return
        if self.session.placement != drag.session.placement:
            self._remember(drag.session)

    def _abandon_drag(self) -> None:
        """Put everything back to where it was when the button went down."""
        drag, self._drag = self._drag, None
        if drag is not None:
            self.session = drag.session
            self.camera = drag.camera

    # --- wheel ---------------------------------------------------------------

    def _wheel(self, steps: float) -> None:
        if self.is_help_open:
            return
        if self.layout.panel.collidepoint(self._pointer):
            greatest = self.painter.panel.greatest_scroll_px()
            wanted = self._scroll_px - round(steps * self.layout.px(40))
            self._scroll_px = max(0, min(greatest, wanted))
        elif self.layout.bench.collidepoint(self._pointer):
            self._zoom_at(self._pointer, ZOOM_STEP**steps)

    def _zoom_at(self, pos: Pos, factor: float) -> None:
        if self.camera is None or (self._drag is not None):
            return
        view = self.layout.view
        self.camera = self.camera.zoomed_at(pos[0] - view.x, pos[1] - view.y, factor)
        self._is_camera_ours = False
