"""Theme, UI scale, big verdict, life-size, focus and tips: what a person does to the look."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pygame

from viewer.errors import UsageError
from viewer.job.settings import Calibration, Settings, Theme
from viewer.screen import focus, life_size, theme
from viewer.screen.camera import Camera
from viewer.screen.look import Look
from viewer.screen.monitor import Monitor, present_monitor
from viewer.screen.tips import Tips

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

UI_STEPS = (0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0)
MESSAGE_S = 4.0
HELP_STEP_PX = 46
_MOVED = (
    pygame.VIDEORESIZE,
    getattr(pygame, "WINDOWMOVED", -1),
    getattr(pygame, "WINDOWDISPLAYCHANGED", -1),
)
Keep = Callable[[Callable[[Settings], Settings]], object]


class Looks:
    """Takes the events that are about the look; the desk has the rest."""

    def __init__(
        self,
        desk: Desk,
        clock: Callable[[], float] | None = None,
        monitor: Callable[[], Monitor | None] = present_monitor,
    ) -> None:
        """``clock`` tells seconds."""
        self._desk = desk
        self.clock = clock if clock is not None else time.monotonic
        self.monitor = monitor
        self.tips = Tips(self)
        self._settings = Settings(theme="dark")
        self._system_theme: Callable[[], str] = lambda: theme.DARK
        self._system: str | None = None
        self._keep: Keep = lambda change: None
        self._look = Look()
        self._message_end: float | None = None
        self._held: life_size.Hold | None = None

    # --- what is shown ---------------------------------------------------------

    @property
    def desk(self) -> Desk:
        """Whose look it is."""
        return self._desk

    @property
    def ui_factor(self) -> float:
        """The UI scale that a person has set."""
        return self._settings.ui_scale

    @property
    def look(self) -> Look:
        """What a frame shows of it."""
        desk, settings = self._desk, self._settings
        wished = settings.theme if settings.theme != "system" else self._of_system()
        at_focus = self._look.focus if desk.editing is None and not desk.is_help_open else ""
        return replace(
            self._look,
            theme=wished,
            ui_factor=settings.ui_scale,
            focus=at_focus,
            tip=self.tips.shown,
        )

    def use_settings(self, settings: Settings, keep: Keep, system_theme: Callable[[], str]) -> None:
        """Look as a person has set it; ``keep`` is told what they change.

        ``system_theme`` is asked once, and only where the theme is to be the system's.
        """
        before = self._desk.layout.view
        self._settings, self._keep, self._system_theme = settings, keep, system_theme
        self._desk.artist.use_snapping(settings.snapping)
        self.look_at_monitor()
        self.keep_view(before)

    def keep_view(self, before: pygame.Rect) -> None:
        """The view was ``before``: its middle stays, or the whole stays shown."""
        desk, view = self._desk, self._desk.layout.view
        if desk.camera is None:
            return
        if desk.is_camera_ours:
            desk.fit_window()
        else:
            dx, dy = (view.width - before.width) / 2, (view.height - before.height) / 2
            desk.camera = desk.camera.panned(dx, dy)

    def look_at_monitor(self) -> None:
        """Ask which monitor the window is on, and how large its pixels are."""
        place = self.monitor()
        known = self._settings.px_per_mm(place.name, place.size_px) if place is not None else None
        self._look = replace(self._look, screen_px_per_mm=known)

    def keep_snapping(self, is_on: bool) -> None:
        """Remember whether drags snap."""
        self._change(lambda settings: replace(settings, snapping=is_on))

    def leave_focus(self) -> None:
        """Let nothing have the focus."""
        self._look = replace(self._look, focus="")

    def say(self, message: str) -> None:
        """Tell in one line what was just switched."""
        self._look = replace(self._look, message=message)
        self._message_end = self.clock() + MESSAGE_S

    # --- commands ----------------------------------------------------------------

    def toggle_theme(self) -> None:
        """Light where it is dark, dark where it is light."""
        self._use_theme("light" if self.look.theme == theme.DARK else "dark")
        self.say(f"colours: {self.look.theme} \u00b7 Shift+T follows the system")

    def follow_system(self) -> None:
        """Light or dark as the system is."""
        self._use_theme("system")
        self.say(f"colours: as the system, {self.look.theme}")

    def _use_theme(self, chosen: Theme) -> None:
        self._change(lambda settings: replace(settings, theme=chosen))

    def step_ui(self, step: int) -> None:
        """Larger or smaller letters and cards; 0: as large as usual."""
        now = self.ui_factor
        if step > 0:
            wished = next((s for s in UI_STEPS if s > now + 1e-9), UI_STEPS[-1])
        elif step < 0:
            wished = next((s for s in reversed(UI_STEPS) if s < now - 1e-9), UI_STEPS[0])
        else:
            wished = 1.0
        before = self._desk.layout.view
        self._change(lambda settings: replace(settings, ui_scale=wished))
        self.keep_view(before)
        self.say(f"size of letters: {round(100 * wished)} %")

    def toggle_big(self) -> None:
        """Let the verdict fill the window."""
        if self._desk.session is None:
            self.say("the big verdict needs a file")
            return
        self._look = replace(self._look, is_big=True)

    def toggle_life_size(self) -> None:
        """Show everything in true size; calibrate the screen first, where it is not."""
        desk, px_per_mm = self._desk, self._look.screen_px_per_mm
        if px_per_mm is None:
            self.calibrate()
        elif self._look.is_life_size:
            self._look = replace(self._look, is_life_size=False)
            desk.fit_window()
        elif desk.session is None:
            self.say("life-size needs a file")
        else:
            self._show_life_size(px_per_mm)

    def _show_life_size(self, px_per_mm: float) -> None:
        desk = self._desk
        if desk.session is None:
            return
        x, y = desk.session.placement.center_mm
        width, height = desk.layout.view.size
        desk.camera = Camera(px_per_mm, x - width / 2 / px_per_mm, y - height / 2 / px_per_mm)
        desk.is_camera_ours = False
        self._look = replace(self._look, is_life_size=True)

    def calibrate(self) -> None:
        """Fit an outline to a card laid on the screen."""
        if self.monitor() is None:
            self.say("no monitor is known here to calibrate")
            return
        known = self._look.screen_px_per_mm
        outline = life_size.first_outline(self._desk.layout, known)
        self._look = replace(self._look, calibrating=outline, is_life_size=False)

    def move_focus(self, step: int, start: str = "") -> None:
        """Go to the next thing that can be used, or the one before: from where it is."""
        desk = self._desk
        name = focus.after(focus.stops(desk), start or self._look.focus, step)
        self._look = replace(self._look, focus=name)
        desk.scroll_to(name)
        self.tips.rest_at(name)

    def scroll_cards(self, step: int) -> None:
        """Scroll the cards by most of their height."""
        self._desk.scroll_by(step * self._desk.layout.panel.height * 2 // 3)

    # --- events ------------------------------------------------------------------

    def take(self, event: pygame.event.Event) -> bool:
        """Take an event that is for the look alone; False where the desk has it."""
        kind = event.type
        if kind in _MOVED:
            self._has_moved()
        self.tips.notice_event(event)
        if self._look.is_big and kind in (pygame.KEYDOWN, pygame.MOUSEBUTTONDOWN):
            self._look = replace(self._look, is_big=False)
            return True
        if self._look.is_big:
            return kind in (pygame.MOUSEMOTION, pygame.MOUSEBUTTONUP, pygame.MOUSEWHEEL)
        if self._look.calibrating is not None:
            return self._calibrating(event)
        if self._desk.is_help_open and self._help(event):
            return True
        if kind == pygame.MOUSEBUTTONDOWN:
            self._look = replace(self._look, focus="")
        return False

    def after(self) -> None:
        """See what an event has changed: zooming leaves life-size."""
        desk, look = self._desk, self._look
        if look.focus:
            self._look = replace(self._look, focus=focus.still(desk, look.focus))
        if not desk.is_help_open and look.help_scroll_px:
            self._look = replace(self._look, help_scroll_px=0)
        if not look.is_life_size:
            return
        camera, px_per_mm = desk.camera, look.screen_px_per_mm
        if camera is None or px_per_mm is None or abs(camera.px_per_mm - px_per_mm) > 1e-9:
            self._look = replace(self._look, is_life_size=False)
            self.say("no longer life-size \u00b7 Y goes back to it")

    def focus_key(self, key: int, mod: int) -> bool:
        """A key for the thing that the Tab key has come to; False where it has none."""
        if key == pygame.K_ESCAPE and (self._look.focus or self._look.is_life_size):
            if self._desk.notice is not None or self._desk.job is not None:
                return False
            if not self._look.focus:
                self.toggle_life_size()
            self._look = replace(self._look, focus="")
            return True
        if not self._look.focus:
            return False
        changed = focus.press_key(self._desk, self._look.focus, key, mod)
        if changed is None:
            return False
        self._look = replace(self._look, focus=changed)
        return True

    def tick(self) -> None:
        """See what time has brought: a tip after a rest, the end of a message, another file."""
        self.after()
        if self._message_end is not None and self.clock() >= self._message_end:
            self._message_end = None
            self._look = replace(self._look, message="")
        self.tips.tick()

    @property
    def wait_ms(self) -> int:
        """How long the window may sleep; 0: until something happens."""
        ends = [end for end in (self._message_end, self.tips.due) if end is not None]
        return max(1, round(1000 * (min(ends) - self.clock())) + 1) if ends else 0

    def _of_system(self) -> str:
        if self._system is None:
            self._system = self._system_theme()
        return self._system

    # --- inside ------------------------------------------------------------------

    def _change(self, change: Callable[[Settings], Settings]) -> None:
        self._settings = change(self._settings)
        self._keep(change)

    def _has_moved(self) -> None:
        before = self._look.screen_px_per_mm
        self.look_at_monitor()
        if self._look.is_life_size and self._look.screen_px_per_mm != before:
            self._look = replace(self._look, is_life_size=False)
            self.say("on another screen: no longer life-size")

    def _help(self, event: pygame.event.Event) -> bool:
        step, greatest = 0.0, self._desk.painter.help_overflow_px
        if event.type == pygame.MOUSEWHEEL:
            step = -getattr(event, "precise_y", float(event.y))
        elif event.type == pygame.KEYDOWN:
            page = 10
            steps = {
                pygame.K_UP: -1, pygame.K_DOWN: 1, pygame.K_PAGEUP: -page,
                pygame.K_PAGEDOWN: page, pygame.K_SPACE: page,
                pygame.K_HOME: -1000, pygame.K_END: 1000,
            }  # fmt: skip
            if event.key not in steps:
                return False
            step = steps[event.key]
        else:
            return False
        at = self._look.help_scroll_px + round(step * self._desk.layout.px(HELP_STEP_PX))
        self._look = replace(self._look, help_scroll_px=max(0, min(greatest, at)))
        return True

    def _calibrating(self, event: pygame.event.Event) -> bool:
        """Every key and the mouse are for the outline."""
        outline = self._look.calibrating
        assert outline is not None
        kind, size = event.type, self._desk.size
        if kind == pygame.KEYDOWN:
            if event.key in (pygame.K_ESCAPE, pygame.K_y):
                self._look = replace(self._look, calibrating=None)
            elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER):
                self._keep_calibration(outline.px_per_mm)
            else:
                outline = life_size.keyed(outline, event.key, event.mod, size)
        elif kind == pygame.MOUSEBUTTONDOWN and event.button == 1:
            self._held = life_size.held(outline, event.pos, self._desk.layout)
        elif kind == pygame.MOUSEMOTION and self._held is not None:
            outline = life_size.dragged(self._held, event.pos, size)
        elif kind == pygame.MOUSEBUTTONUP:
            self._held = None
        elif kind == pygame.MOUSEWHEEL:
            outline = life_size.grown(outline, getattr(event, "precise_y", float(event.y)), size)
        elif kind != pygame.KEYUP:
            return kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEMOTION, pygame.TEXTINPUT)
        if self._look.calibrating is not None:
            self._look = replace(self._look, calibrating=outline)
        return True

    def _keep_calibration(self, px_per_mm: float) -> None:
        place = self.monitor()
        self._look = replace(self._look, calibrating=None)
        if place is None:
            return
        try:
            calibration = Calibration(place.name, place.size_px, px_per_mm)
        except UsageError as error:
            self.say(error.message)
            return
        self._change(lambda settings: settings.with_calibration(calibration))
        self.look_at_monitor()
        if self._desk.session is not None:
            self._show_life_size(px_per_mm)
