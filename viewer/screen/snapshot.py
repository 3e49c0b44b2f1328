"""The very same screen, drawn without a window and written as a PNG."""

from __future__ import annotations

import os
import tempfile

import pygame

from viewer.artwork.model import LoadOptions
from viewer.errors import UsageError
from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.loader import FileOpener, Opener


def write_snapshot(
    target: str,
    path: str | None,
    options: LoadOptions,
    press: Press,
    size: tuple[int, int],
    opener: Opener | None = None,
) -> None:
    """Draw the window at rest, fully loaded and sharp, and write it to ``target``.

    Raises BrimcheckError for a file that cannot be read or written.
    """
    used = opener if opener is not None else FileOpener()
    desk = Desk(size, press, used)
    try:
        if path is not None:
            desk.filing.open_now(path, options)
            desk.fit_now()
            desk.sharpness.now()
        write_frame(desk, target)
    finally:
        desk.close()


def write_frame(desk: Desk, target: str) -> None:
    """Write what a desk shows now. UsageError where that cannot be."""
    surface = pygame.Surface(desk.size)
    desk.painter.draw(surface, desk.frame())
    save_png(surface, target)


def save_png(surface: pygame.Surface, target: str) -> None:
    """Write beside the target and rename, so that nobody ever sees half a picture."""
    folder = os.path.dirname(os.path.abspath(target))
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(suffix=".png", prefix=".snapshot-", dir=folder)
        os.close(handle)
        pygame.image.save(surface, temporary)
        os.chmod(temporary, 0o666 & ~_umask())
        os.replace(temporary, target)
    except (OSError, pygame.error) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
        raise UsageError(
            f"{target}: the picture cannot be written ({reason}); choose another place"
        ) from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
