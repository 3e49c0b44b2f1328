"""Slow work in threads: reading a file, and drawing it sharper when at rest.

pygame's window belongs to the main thread; a thread only makes values and then
calls ``wake``, which posts an event.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from viewer.artwork.model import Artwork, LoadOptions, Progress
from viewer.errors import BrimcheckError, Cancelled, stop_if
from viewer.press.press import Press
from viewer.screen.artwork_layer import Levels, PictureLike, Sharp, draw_levels, draw_sharp
from viewer.screen.camera import Camera
from viewer.screen.model import Session, start_session
from viewer.screen.tools import PieceLike

Wake = Callable[[], None]


class Opener(Protocol):
    """Reads files. The window uses ``FileOpener``; tests use their own."""

    def load(
        self,
        path: str,
        options: LoadOptions,
        progress: Progress | None,
        cancelled: Callable[[], bool] | None,
    ) -> Artwork:
        """Measure a file."""

    def picture(self, artwork: Artwork) -> PictureLike:
        """Open it for drawing."""

    def pieces(
        self, artwork: Artwork, cancelled: Callable[[], bool] | None
    ) -> tuple[PieceLike, ...]:
        """Find its separate pieces of ink."""


class FileOpener:
    """Reads real files; the renderers are imported when first needed."""

    def load(
        self,
        path: str,
        options: LoadOptions,
        progress: Progress | None,
        cancelled: Callable[[], bool] | None,
    ) -> Artwork:
        """Measure a file."""
        from viewer.artwork.load import load_artwork

        return load_artwork(path, options, progress, cancelled)

    def picture(self, artwork: Artwork) -> PictureLike:
        """Open it for drawing."""
        from viewer.artwork.picture import open_picture

        return open_picture(artwork)

    def pieces(
        self, artwork: Artwork, cancelled: Callable[[], bool] | None
    ) -> tuple[PieceLike, ...]:
        """Find its separate pieces of ink."""
        from viewer.artwork.pieces import find_pieces

        return find_pieces(artwork, cancelled)


@dataclass(frozen=True, eq=False)
class Opened:
    """A file read and drawn once."""

    session: Session
    picture: PictureLike
    levels: Levels


def open_now(
    opener: Opener,
    path: str,
    options: LoadOptions,
    press: Press,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Opened:
    """Read a file, judge it and draw it once. Raises BrimcheckError."""
    artwork = opener.load(path, options, progress, cancelled)
    if progress is not None:
        progress("finding the best placement", 0.9)
    session = start_session(artwork, press, cancelled)
    stop_if(cancelled, "reading")
    if progress is not None:
        progress("drawing", 0.95)
    picture = opener.picture(artwork)
    try:
        levels = draw_levels(picture, artwork)
    except BaseException:
        picture.close()
        raise
    return Opened(session, picture, levels)


class LoadJob:
    """The reading of one file in its own thread."""

    def __init__(
        self,
        opener: Opener,
        path: str,
        options: LoadOptions,
        press: Press,
        wake: Wake,
    ) -> None:
        self.path = path
        self.options = options
        self.progress: tuple[str, float] = ("opening", 0.0)
        self.opened: Opened | None = None
        self.error: BrimcheckError | None = None
        self._press = press
        self._opener = opener
        self._wake = wake
        self._cancelled = threading.Event()
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._run, name="read-artwork", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    @property
    def is_done(self) -> bool:
        """Whether there is a result or an error to fetch."""
        return self.opened is not None or self.error is not None

    def cancel(self) -> None:
        """Ask the reading to stop; what it still brings is closed and dropped."""
        with self._lock:
            self._cancelled.set()
            if self.opened is not None:
                self.opened.picture.close()

    def wait(self, timeout_s: float) -> bool:
        """Wait for the end; False when it takes longer."""
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def _report(self, what: str, fraction: float) -> None:
        if self._cancelled.is_set():
            raise Cancelled("reading was cancelled")
        self.progress = (what, fraction)
        self._wake()

    def _run(self) -> None:
        try:
            opened = open_now(
                self._opener,
                self.path,
                self.options,
                self._press,
                self._report,
                self._cancelled.is_set,
            )
        except BrimcheckError as error:
            self.error = error
        except Exception as error:  # a window must not freeze on a fault in a thread
            message = f"{self.path}: could not be read ({type(error).__name__}: {error})"
            self.error = BrimcheckError(message)
        else:
            with self._lock:
                if self._cancelled.is_set():
                    opened.picture.close()
                    self.error = Cancelled("reading was cancelled")
                else:
                    self.opened = opened
        self._wake()


@dataclass(frozen=True)
class _Wish:
    picture: PictureLike
    artwork: Artwork
    camera: Camera
    scale: float
    size: tuple[int, int]


class Sharpener:
    """Draws views sharply in one thread; only the latest wish counts."""

    def __init__(self, wake: Wake) -> None:
        self._wake = wake
        self._condition = threading.Condition()
        self._wish: _Wish | None = None
        self._to_close: list[PictureLike] = []
        self._result: Sharp | None = None
        self._is_stopped = False
        self._thread: threading.Thread | None = None

    def ask(
        self,
        picture: PictureLike,
        artwork: Artwork,
        camera: Camera,
        scale: float,
        size: tuple[int, int],
    ) -> None:
        """Wish for a view; forgets the wish before."""
        with self._condition:
            self._wish = _Wish(picture, artwork, camera, scale, size)
            self._start()
            self._condition.notify()

    def close_picture(self, picture: PictureLike) -> None:
        """Close a picture once nothing draws from it any more."""
        with self._condition:
            if self._wish is not None and self._wish.picture is picture:
                self._wish = None
            self._to_close.append(picture)
            self._start()
            self._condition.notify()

    def take(self) -> Sharp | None:
        """The last view drawn, once."""
        with self._condition:
            result, self._result = self._result, None
            return result

    def stop(self, timeout_s: float = 2.0) -> None:
        """End the thread after what it is doing."""
        with self._condition:
            self._is_stopped = True
            self._condition.notify()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _start(self) -> None:
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="draw-sharp", daemon=True)
            self._thread.start()

    def _run(self) -> None:
        while True:
            with self._condition:
                while not (self._wish or self._to_close or self._is_stopped):
                    self._condition.wait()
                closing, self._to_close = self._to_close, []
                wish, self._wish = self._wish, None
                stopped = self._is_stopped
            for picture in closing:
                picture.close()
            if stopped:
                return
            if wish is not None:
                self._draw(wish)

    def _draw(self, wish: _Wish) -> None:
        try:
            sharp = draw_sharp(wish.picture, wish.artwork, wish.camera, wish.scale, wish.size)
        except Exception:  # the coarser picture stays; measuring never depends on this one
            return
        with self._condition:
            self._result = sharp
        self._wake()
