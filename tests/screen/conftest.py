"""A made-up artwork, a picture of it, and a desk that needs no window."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

os.environ["SDL_VIDEODRIVER"] = "dummy"

import numpy as np
import pygame
import pytest
from numpy.typing import NDArray

from tests.screen.fit_cache import use_cache
from viewer.artwork.model import (
    Artwork,
    ArtworkWarning,
    InkRule,
    LoadOptions,
    Outline,
    Progress,
    Reading,
)
from viewer.errors import ArtworkError, SizeUnknownError
from viewer.press.press import Press
from viewer.screen.desk import Desk
from viewer.screen.loader import open_now
from viewer.screen.model import at_datum

use_cache()

PAGE_MM = (120.0, 80.0)
# A right triangle: the smallest circle stands on its longest side, 76 mm long,
# and its middle is not the middle of the width and height.
TRIANGLE_MM = np.array([[20.0, 20.0], [96.0, 20.0], [58.0, 46.0]])
NAVY = (23, 50, 77, 255)


class FakePicture:
    """Draws the triangle; the edge functions of its three sides decide."""

    def __init__(self) -> None:
        self.is_closed = False

    def draw(
        self, x0_mm: float, y0_mm: float, px_per_mm: float, width_px: int, height_px: int
    ) -> NDArray[np.uint8]:
        assert not self.is_closed
        x = x0_mm + (np.arange(width_px)[None, :] + 0.5) / px_per_mm
        y = y0_mm + (np.arange(height_px)[:, None] + 0.5) / px_per_mm
        inside = np.ones((height_px, width_px), dtype=bool)
        for index in range(3):
            (ax, ay), (bx, by) = TRIANGLE_MM[index], TRIANGLE_MM[(index + 1) % 3]
            inside &= (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0
        rgba = np.zeros((height_px, width_px, 4), np.uint8)
        rgba[inside] = NAVY
        return rgba

    def close(self) -> None:
        self.is_closed = True


def make_artwork(
    path: str = "/jobs/pennant.svg",
    warnings: tuple[ArtworkWarning, ...] = (),
    options: LoadOptions | None = None,
) -> Artwork:
    return Artwork(
        path=path,
        sha256="0" * 64,
        format="svg",
        page_mm=PAGE_MM,
        scale_source="width and height in mm",
        paper="transparent",
        outline=Outline(TRIANGLE_MM, 0.005),
        ink_area_mm2=988.0,
        ink_rule=InkRule(),
        warnings=warnings,
        options=options or LoadOptions(),
    )


def make_doubtful(path: str, options: LoadOptions) -> Artwork:
    """A file in bare px with white beside other ink, as far as nobody has settled it."""
    factor = 96 / (options.px_per_inch or 96.0)
    plain = make_artwork(path, options=options)
    warnings, readings = [], []
    # Without its white the triangle is half as large, about its first corner.
    small = TRIANGLE_MM[0] + (TRIANGLE_MM - TRIANGLE_MM[0]) / 2
    hull = (small if options.white == "paper" else TRIANGLE_MM) * factor
    if options.white is None:
        warnings.append(
            ArtworkWarning(
                "white-unclear",
                "white is painted beside other ink, further out: say --white ink"
                " (it is printed) or --white paper (it is not)",
                True,
            )
        )
        outline = Outline(small * factor, 0.005)
        readings.append(Reading("white-unclear", "with white as paper", outline))
    if options.px_per_inch is None:
        warnings.append(
            ArtworkWarning("bare-px", "sized in bare px: say --px-per-inch 96 or 72", True)
        )
        outline = Outline(hull * 96 / 72, 0.005 * 96 / 72)
        readings.append(Reading("bare-px", "with px at 72 per inch", outline))
    return replace(
        plain,
        page_mm=(PAGE_MM[0] * factor, PAGE_MM[1] * factor),
        outline=Outline(hull, 0.005),
        warnings=tuple(warnings),
        alternatives=tuple(readings),
    )


@dataclass(frozen=True)
class FakePiece:
    """A piece of ink as the window needs it."""

    number: int
    center_mm: tuple[float, float]
    box_mm: tuple[float, float, float, float]
    area_mm2: float
    outline_mm: NDArray[np.float64]
    leave_out_mm: tuple[float, float]
    touches: bool
    named_by: tuple[tuple[float, float], ...] = ()

    @property
    def left_out(self) -> bool:
        return bool(self.named_by)


SPECK_MM = (58.0, 30.0)


def make_pieces(artwork: Artwork) -> tuple[FakePiece, ...]:
    """The triangle, and a made-up speck that stands on it."""
    found = []
    for number, center, box, area, outline in (
        (1, (58.0, 25.0), (20.0, 20.0, 96.0, 46.0), 988.0, TRIANGLE_MM),
        (2, SPECK_MM, (57.0, 29.0, 59.0, 31.0), 4.0, np.array([SPECK_MM])),
    ):
        named = tuple(p for p in artwork.options.leave_out if p == center)
        found.append(FakePiece(number, center, box, area, outline, center, number == 1, named))
    return tuple(found)


class FakeOpener:
    """Reads "files" by their names: ``broken*`` and ``nosize*`` fail as real ones do.

    ``doubt*`` leaves white and px open.
    """

    def __init__(self, before: Callable[[Callable[[], bool]], None] | None = None) -> None:
        self.before = before
        self.pictures: list[FakePicture] = []
        self.asked: list[tuple[str, LoadOptions]] = []

    def load(
        self,
        path: str,
        options: LoadOptions,
        progress: Progress | None,
        cancelled: Callable[[], bool] | None,
    ) -> Artwork:
        self.asked.append((path, options))
        if progress is not None:
            progress("measuring", 0.4)
        if self.before is not None and cancelled is not None:
            self.before(cancelled)
        name = os.path.basename(path)
        if name.startswith("broken"):
            raise ArtworkError(f"{path}: is not a picture; save it again as SVG or PDF")
        if name.startswith("nosize") and options.width_mm is None:
            raise SizeUnknownError(f"{path}: holds no size; give --width or --dpi")
        if name.startswith("doubt"):
            return make_doubtful(path, options)
        return make_artwork(path, options=options)

    def pieces(
        self, artwork: Artwork, cancelled: Callable[[], bool] | None
    ) -> tuple[FakePiece, ...]:
        return make_pieces(artwork)

    def picture(self, artwork: Artwork) -> FakePicture:
        self.pictures.append(FakePicture())
        return self.pictures[-1]


@pytest.fixture
def opener() -> FakeOpener:
    return FakeOpener()


@pytest.fixture
def desk(opener: FakeOpener) -> Iterator[Desk]:
    desk = Desk((1600, 1000), Press(), opener)
    opened = open_now(opener, "/jobs/pennant.svg", LoadOptions(), Press())
    # Over the datum, not where it fits best: distances then count from zero, and there
    # is something to better.
    desk.show(replace(opened, session=at_datum(opened.session)))
    yield desk
    desk.close()


@pytest.fixture
def doubtful(opener: FakeOpener) -> Iterator[Desk]:
    desk = Desk((1600, 1000), Press(), opener)
    desk.show(open_now(opener, "/jobs/doubt.svg", LoadOptions(), Press()))
    yield desk
    desk.close()


class Hand:
    """Posts events as a person makes them, with all that real events carry."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.surface = pygame.Surface(desk.size)
        self.show()

    def show(self) -> None:
        if self.surface.get_size() != self.desk.size:
            self.surface = pygame.Surface(self.desk.size)
        self.desk.painter.draw(self.surface, self.desk.frame())

    def send(self, kind: int, **values: object) -> None:
        self.desk.handle(pygame.event.Event(kind, values))

    def key(self, key: int, mod: int = 0) -> None:
        self.send(pygame.KEYDOWN, key=key, mod=mod, unicode="")
        self.send(pygame.KEYUP, key=key, mod=mod)
        self.show()

    def type(self, text: str) -> None:
        self.send(pygame.TEXTINPUT, text=text)
        self.show()

    def press(self, pos: tuple[int, int], button: int = 1) -> None:
        self.send(pygame.MOUSEBUTTONDOWN, pos=pos, button=button)

    def move(self, pos: tuple[int, int]) -> None:
        self.send(pygame.MOUSEMOTION, pos=pos, rel=(0, 0), buttons=(0, 0, 0))

    def release(self, pos: tuple[int, int], button: int = 1) -> None:
        self.send(pygame.MOUSEBUTTONUP, pos=pos, button=button)

    def click(self, pos: tuple[int, int], button: int = 1) -> None:
        self.press(pos, button)
        self.release(pos, button)
        self.show()

    def drag(self, start: tuple[int, int], end: tuple[int, int], button: int = 1) -> None:
        self.press(start, button)
        self.move(((start[0] + end[0]) // 2, (start[1] + end[1]) // 2))
        self.move(end)
        self.release(end, button)
        self.show()

    def wheel(self, pos: tuple[int, int], steps: float) -> None:
        self.move(pos)
        self.send(pygame.MOUSEWHEEL, x=0, y=int(steps), precise_y=float(steps))
        self.show()


@pytest.fixture
def hand(desk: Desk) -> Hand:
    return Hand(desk)
