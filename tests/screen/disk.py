"""Small files on disk that say how large their triangle is, and a desk that keeps things."""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from tests.screen.conftest import TRIANGLE_MM, FakeOpener, Hand, make_artwork
from viewer.artwork.model import Artwork, LoadOptions, Outline, Progress
from viewer.errors import ArtworkError, SizeUnknownError
from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.file_dialog import FileChooser
from viewer.screen.store import Store

REST_S = 0.05


class DiskOpener(FakeOpener):
    """A file's text is the factor of its triangle; ``pages`` in its name: it has three.

    ``nosize`` in its name: it does not say how large it is.
    """

    def load(
        self,
        path: str,
        options: LoadOptions,
        progress: Progress | None,
        cancelled: Callable[[], bool] | None,
    ) -> Artwork:
        self.asked.append((path, options))
        try:
            content = Path(path).read_bytes()
            factor = float(content)
        except (OSError, ValueError) as error:
            raise ArtworkError(f"{os.path.basename(path)}: cannot be read") from error
        name = os.path.basename(path)
        if "nosize" in name:
            if options.width_mm is not None:
                factor *= options.width_mm / 76.0
            elif options.dpi is not None:
                factor *= 96.0 / options.dpi
            else:
                raise SizeUnknownError(f"{name}: holds no size")
        plain = make_artwork(path, options=options)
        return replace(
            plain,
            sha256=hashlib.sha256(content).hexdigest(),
            outline=Outline(TRIANGLE_MM * factor / options.page, 0.005),
            pages=3 if "pages" in name else 1,
            page=options.page,
        )


class DiskDesk:
    """A desk with a store, files in a folder of its own, and a hand at it."""

    def __init__(self, folder: Path, chooser: FileChooser | None = None) -> None:
        self.folder = folder
        self.opener = DiskOpener()
        self.store = Store(rest_s=REST_S)
        self.desk = Desk((1600, 1000), Press(), self.opener, store=self.store, chooser=chooser)
        self.hand = Hand(self.desk)

    def file(self, name: str, factor: float = 1.0) -> str:
        path = self.folder / name
        path.write_text(f"{factor}")
        return str(path)

    def open(self, name: str, factor: float = 1.0) -> str:
        path = self.file(name, factor)
        self.desk.filing.open(path)
        self.finish()
        return path

    def finish(self) -> None:
        """Until the file being read is shown or refused."""
        job = self.desk.job
        assert job is not None
        assert job.wait(10)
        self.desk.poll()
        self.hand.show()

    def until(self, seen: Callable[[], object], limit_s: float = 10.0) -> None:
        end = time.monotonic() + limit_s
        while not seen():
            assert time.monotonic() < end, "not seen in time"
            time.sleep(0.01)
            self.desk.poll()
        self.hand.show()

    def close(self) -> None:
        self.desk.close()
