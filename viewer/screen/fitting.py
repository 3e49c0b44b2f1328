"""Keeps a desk's session supplied with its fit and curve, and takes the cup to its best."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from viewer.errors import BrimcheckError
from viewer.fit import AngleCurve, Fit
from viewer.screen import model
from viewer.screen.fitter import Fitter
from viewer.screen.glide import Glide
from viewer.screen.viewstate import Notice

if TYPE_CHECKING:
    from viewer.screen.desk import Desk


class Fitting:
    """What the thread works out, as the desk needs it. ``clock`` tells seconds."""

    def __init__(
        self, desk: Desk, wake: Callable[[], None], clock: Callable[[], float] | None
    ) -> None:
        self._desk = desk
        self._clock = clock
        self._fitter = Fitter(wake)
        self._glide: Glide | None = None
        self._wants_best = False
        self._told_error: BrimcheckError | None = None
        self.last_curve: AngleCurve | None = None
        """The curve shown last, for as long as the next one is worked out."""

    @property
    def is_busy(self) -> bool:
        """Whether something is still being worked out."""
        return self._fitter.is_busy

    @property
    def is_gliding(self) -> bool:
        """Whether the cup is on its way to its best place."""
        return self._glide is not None

    def curve(self) -> AngleCurve | None:
        """The curve of the session as it is, once it is known; none for a cup alone."""
        session = self._desk.session
        if session is None or session.limits.is_cup_alone:
            self.last_curve = None
            return None
        curve = self._fitter.curve_of(session)
        if curve is not None:
            self.last_curve = curve
        return curve

    def keep_up(self) -> None:
        """Have worked out what the session needs, and take what has been."""
        desk, session = self._desk, self._desk.session
        self._fitter.want(session)
        if session is None:
            return
        if session.is_fit_current:
            self._fitter.keep(session)
            return
        found = self._fitter.fit_of(session)
        if isinstance(found, Fit):
            desk.session = model.with_fit(session, found)
            if self._wants_best:
                self.go_to_best()
        elif found is not None and found is not self._told_error:
            self._told_error = found
            desk.notice = Notice(found.message)

    def now(self) -> None:
        """Work out all that is needed before returning."""
        if self._desk.session is not None:
            self._fitter.work_now(self._desk.session)
            self.keep_up()

    def wait(self, timeout_s: float) -> bool:
        """Wait for the thread; False when it takes longer."""
        return self._fitter.wait(timeout_s)

    def go_to_best(self) -> None:
        """Put the cup where its clearance is best; as soon as that is known."""
        session = self._desk.session
        if session is None:
            return
        self._wants_best = not session.is_fit_current
        best = model.at_best(session)
        if best.placement == session.placement:
            return
        self._desk.remember(session)
        if self._clock is None:
            self._desk.session = best
            return
        self._glide = Glide(session, best, self._clock())
        self._desk.session = self._glide.at(self._glide.start_s)

    def tick(self) -> None:
        """Bring a cup on its way to where it is by now."""
        if self._glide is None or self._clock is None:
            return
        session = self._glide.at(self._clock())
        if session is None:
            self.end_glide()
        else:
            self._desk.session = session

    def end_glide(self) -> None:
        """Put a cup on its way to its end at once, and wish for nothing more."""
        self._wants_best = False
        if self._glide is not None:
            self._desk.session = self._glide.end
            self._glide = None

    def start_anew(self) -> None:
        """Forget what belongs to the file shown before."""
        self.end_glide()
        self.last_curve = None

    def stop(self) -> None:
        """End the thread."""
        self._fitter.stop()
