"""The artwork drawn at the sign-off's own resolution, in a thread of its own."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.model import Artwork
from viewer.screen.artwork_layer import PictureLike, Sharp
from viewer.screen.camera import Camera
from viewer.screen.loader import Opener, Sharpener
from viewer.screen.model import Session


class LatePicture:
    """A picture of a file that is opened when it is drawn first, by the thread that draws."""

    def __init__(self, opener: Opener, artwork: Artwork) -> None:
        self._opener, self._artwork = opener, artwork
        self._opened: PictureLike | None = None

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        """Straight-alpha RGBA, shape (height, width, 4). ArtworkError where it has changed."""
        if self._opened is None:
            self._opened = self._opener.picture(self._artwork)
        return self._opened.draw(x0_mm, y0_mm, px_per_mm, width_px, height_px)

    def close(self) -> None:
        """Let go of it."""
        opened, self._opened = self._opened, None
        if opened is not None:
            opened.close()


class SharpView:
    """Draws what a sign-off shows; nothing where the file cannot be drawn any more."""

    def __init__(self, opener: Opener, session: Session, wake: Callable[[], None]) -> None:
        self._session = session
        self._picture = LatePicture(opener, session.loaded)
        self._sharpener = Sharpener(wake)
        self._asked: tuple[Camera, tuple[int, int]] | None = None
        self.sharp: Sharp | None = None

    def want(self, camera: Camera, size: tuple[int, int]) -> None:
        """Have a view drawn, once; take what has been drawn."""
        if self._asked != (camera, size):
            self._asked = (camera, size)
            session = self._session
            self._sharpener.ask(self._picture, session.loaded, camera, session.scale, size)
        self.sharp = self._sharpener.take() or self.sharp

    def close(self, *, is_last: bool = False) -> None:
        """Let go of the picture. ``is_last``: wait for the thread as well."""
        self._sharpener.close_picture(self._picture)
        self._sharpener.stop(2.0 if is_last else 0.0)
