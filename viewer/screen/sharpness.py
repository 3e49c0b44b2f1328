"""When the view is drawn sharply: in a thread while it rests, or at once for a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.screen.artwork_layer import PictureLike, draw_sharp
from viewer.screen.loader import Sharpener, Wake

if TYPE_CHECKING:
    from viewer.screen.desk import Desk


class Sharpness:
    """Has the view of one desk drawn again at its own resolution."""

    def __init__(self, desk: Desk, wake: Wake) -> None:
        self._desk = desk
        self._sharpener = Sharpener(wake)
        self._asked: tuple[object, ...] | None = None

    def begin(self) -> None:
        """Another picture is shown: nothing of it is sharp yet."""
        self._desk.sharp = None
        self._asked = None

    def _key(self) -> tuple[object, ...] | None:
        desk = self._desk
        if desk.session is None or desk.camera is None or desk.picture is None:
            return None
        return (desk.camera, desk.session.scale, desk.layout.view.size, id(desk.picture))

    @property
    def is_wanted(self) -> bool:
        """Whether a sharper drawing of the present view should be asked for."""
        key = self._key()
        return key is not None and key != self._asked and self._desk.pointer.drag is None

    def ask(self) -> None:
        """Have the present view drawn sharply in the background."""
        desk = self._desk
        if desk.session is None or desk.camera is None or desk.picture is None:
            return
        self._asked = self._key()
        size = desk.layout.view.size
        session = desk.session
        self._sharpener.ask(desk.picture, session.loaded, desk.camera, session.scale, size)

    def now(self) -> None:
        """Draw the present view sharply before returning."""
        desk = self._desk
        if desk.session is None or desk.camera is None or desk.picture is None:
            return
        self._asked = self._key()
        size = desk.layout.view.size
        session = desk.session
        desk.sharp = draw_sharp(desk.picture, session.loaded, desk.camera, session.scale, size)

    def poll(self) -> None:
        """Take what the thread has drawn."""
        sharp = self._sharpener.take()
        if sharp is not None:
            self._desk.sharp = sharp

    def close_picture(self, picture: PictureLike) -> None:
        """Close a picture once nothing draws from it any more."""
        self._sharpener.close_picture(picture)

    def stop(self) -> None:
        """End the thread."""
        self._sharpener.stop()
