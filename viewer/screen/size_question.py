"""A file that does not say how large it is: a number, or two points and their distance."""

from __future__ import annotations

import math
import os
from dataclasses import replace
from typing import TYPE_CHECKING

import pygame

from viewer.artwork.formats.sniff import HEAD_BYTES, sniff_format
from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError, UsageError
from viewer.press.press import Press
from viewer.screen.artwork_layer import Levels, picture_bounds
from viewer.screen.asking import Question
from viewer.screen.camera import Camera, fit_camera
from viewer.screen.dialog import PREVIEW, Button, Dialog, Field, Preview
from viewer.screen.dialog_box import dialog_boxes
from viewer.screen.entry import parse_number
from viewer.screen.loader import LoadJob, Opener, Wake
from viewer.units import parse_positive_mm

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

ASSUMED_PER_INCH = 96.0
"""Pixels per inch of the picture that points are clicked on; any value would do."""
ZOOM_STEP = 1.2
CLICK_PX = 1.0
"""So far a click may be beside what was meant."""
Point = tuple[float, float]

_LENGTH_HINT = "such as 62.5 mm, 12,5 or 2 1/2 in"
WIDTH, HEIGHT, DISTANCE = "width", "height", "distance"
DPI, PX_PER_INCH = "dpi", "px per inch"


class SizeQuestion(Question):
    """Asks how large the artwork of a file is, and has it read with the answer."""

    passed_on = ("quit", "help", "open", "next-file", "previous-file")

    def __init__(
        self, desk: Desk, opener: Opener, path: str, options: LoadOptions, wake: Wake
    ) -> None:
        super().__init__()
        self._desk, self._path, self._options = desk, path, options
        self._unit = DPI if _is_picture(path) else PX_PER_INCH
        self._points: tuple[Point, ...] = ()
        self._cursor: Point | None = None
        self._camera: Camera | None = None
        self._view: tuple[int, int] = (0, 0)
        self._problem = ""
        assumed = replace(options, dpi=ASSUMED_PER_INCH, px_per_inch=ASSUMED_PER_INCH)
        self._job: LoadJob | None = LoadJob(opener, path, assumed, Press(), wake)
        self._opened = self._job
        self._job.start()
        self._shown: tuple[object, Preview] | None = None

    # --- what it says ----------------------------------------------------------

    def dialog(self) -> Dialog:
        """Width, height, pixels per inch; below, the picture."""
        name = os.path.basename(self._path)
        fields = [
            Field(WIDTH, "width of the ink", _LENGTH_HINT),
            Field(HEIGHT, "height of the ink", "one of the two is enough"),
            Field(self._unit, self._unit, "of the whole picture, such as 300 or 600")
            if self._unit == DPI
            else Field(self._unit, self._unit, "96 by the web standard; some programs mean 72"),
        ]
        if len(self._points) == 2:
            fields.append(Field(DISTANCE, "distance of the points", _LENGTH_HINT))
        blank = Dialog(
            f"{name} does not say how large it is",
            ("Type one size that you know, or click two points whose distance you know.",),
            tuple(fields),
            buttons=(Button("read", "Read it at this size", is_main=True),),
            preview=_NO_PICTURE,
        )
        return replace(blank, preview=self._preview(blank))

    def _preview(self, blank: Dialog) -> Preview:
        levels = self._levels()
        if levels is not None:
            self._place_camera(blank)
        key = (id(levels), self._camera, self._points, self._cursor, self._problem)
        if self._shown is None or self._shown[0] != key:
            preview = Preview(levels, self._camera, self._points, self._cursor, self._note())
            self._shown = (key, preview)
        return self._shown[1]

    def _levels(self) -> Levels | None:
        opened = self._opened.opened
        return opened.levels if opened is not None else None

    def _note(self) -> str:
        if self._problem:
            return self._problem
        if self._levels() is None:
            return "reading the picture \u2026"
        said = {0: "click the first point", 1: "click the second point"}
        done = "type their distance"
        return f"{said.get(len(self._points), done)} \u00b7 the wheel magnifies"

    def _place_camera(self, blank: Dialog) -> None:
        """Show all of the picture, where it is new or has another size now."""
        boxes = dialog_boxes(blank, self._desk.layout, self._desk.painter.texts)
        if PREVIEW not in boxes.hits:
            return  # the window is too low for it
        size = boxes.hits[PREVIEW].size
        if size == self._view:
            return
        opened = self._opened.opened
        assert opened is not None
        if self._camera is not None and self._view[0]:
            # A line more above it: what was in the middle stays there.
            by = (size[0] - self._view[0]) / 2, (size[1] - self._view[1]) / 2
            self._camera, self._view = self._camera.panned(*by), (size[0], size[1])
            return
        self._view = (size[0], size[1])
        self._camera = fit_camera(picture_bounds(opened.session.loaded), *size)

    # --- what it takes -----------------------------------------------------------

    def enter(self, field: str) -> None:
        """Read the file with what was typed."""
        if not any(text.strip() for text in self.texts.values()):
            raise UsageError(f"{field}: type a size that you know")
        self._desk.filing.read_with_size(self._path, self._answered(), self._told())

    def press(self, name: str) -> None:
        """The button does as Enter does."""
        if name == "read":
            self.enter("size")

    def _answered(self) -> LoadOptions:
        width = self._length(WIDTH, "width")
        height = self._length(HEIGHT, "height")
        per_inch = self._per_inch()
        if self.texts.get(DISTANCE, "").strip() and len(self._points) == 2:
            if per_inch is not None:
                raise UsageError(f"{self._unit} and the distance both set the size: clear one")
            per_inch = self._by_points()
        if per_inch is not None and (width is not None or height is not None):
            raise UsageError("the width or height of the ink already sets the size: clear one")
        options = replace(self._options, width_mm=width, height_mm=height)
        if per_inch is None:
            return options
        if self._unit == DPI:
            return replace(options, dpi=per_inch)
        return replace(options, px_per_inch=per_inch)

    def _length(self, field: str, what: str) -> float | None:
        text = self.texts.get(field, "")
        return parse_positive_mm(text, what) if text.strip() else None

    def _per_inch(self) -> float | None:
        text = self.texts.get(self._unit, "")
        if not text.strip():
            return None
        value = parse_number(text, self._unit, ("dpi", "ppi", "px per inch", "px/in"))
        if not 0.1 <= value <= 100_000:
            raise UsageError(f"{self._unit} {text.strip()[:40]!r} must be from 0.1 to 100000")
        return value

    def _by_points(self) -> float:
        """Pixels per inch at which the two points are as far apart as was typed."""
        true_mm = parse_positive_mm(self.texts[DISTANCE], "distance")
        # The shorter of what the clicks may mean makes the artwork larger: an error of the
        # hand must not make a misfit look like a fit.
        return ASSUMED_PER_INCH * self._measured_mm(-1) / true_mm

    def _measured_mm(self, sign: int = 0) -> float:
        assert self._camera is not None
        one, other = self._points
        apart = math.dist(one, other) + sign * 2 * CLICK_PX / self._camera.px_per_mm
        if apart <= 0:
            raise UsageError("the two points are too near to each other: click farther apart")
        return apart

    def _told(self) -> str:
        if not (self.texts.get(DISTANCE, "").strip() and len(self._points) == 2):
            return ""
        doubt = 100 * (self._measured_mm() / self._measured_mm(-1) - 1)
        return (
            f"sized by two points: up to {max(0.1, 2 * doubt):.1f} % too large, since a click"
            " may be a pixel off; magnify and click far apart to be nearer"
        )

    # --- the picture ---------------------------------------------------------------

    def poll(self) -> None:
        """Take the picture once it has been read."""
        job = self._job
        if job is None or not job.is_done:
            return
        self._job = None
        if job.opened is None:
            reason = job.error.message if job.error is not None else ""
            self._problem = f"no picture to click on: {reason}"

    def close(self) -> None:
        """Stop reading; let go of the picture."""
        self._opened.cancel()

    def preview_press(self, at: tuple[int, int], box: pygame.Rect) -> None:
        """Put a point where the picture was clicked."""
        if self._camera is not None:
            self._add(self._camera.to_mm(*at))

    def _add(self, point: Point) -> None:
        self._cursor = point
        before = self._points if len(self._points) < 2 else ()
        if before and math.dist(before[-1], point) == 0:
            return
        self._points = (*before, point)
        self.texts.pop(DISTANCE, None)
        if len(self._points) == 2:
            self._desk.asking.go_to(DISTANCE)

    def preview_wheel(self, at: tuple[int, int], steps: float) -> None:
        """Magnify about the pointer."""
        if self._camera is not None:
            self._camera = self._camera.zoomed_at(*at, ZOOM_STEP**steps)

    def preview_key(self, key: int, mod: int) -> bool:
        """Arrows move a cross, Enter puts a point there, + and - magnify."""
        camera = self._camera
        if camera is None:
            return False
        if self._cursor is None:
            self._cursor = camera.to_mm(self._view[0] / 2, self._view[1] / 2)
        step = (10 if mod & pygame.KMOD_SHIFT else 1) / camera.px_per_mm
        ways = {
            pygame.K_LEFT: (-step, 0.0),
            pygame.K_RIGHT: (step, 0.0),
            pygame.K_UP: (0.0, -step),
            pygame.K_DOWN: (0.0, step),
        }
        if key in ways:
            self._cursor = (self._cursor[0] + ways[key][0], self._cursor[1] + ways[key][1])
        elif key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self._add(self._cursor)
        elif key in (pygame.K_PLUS, pygame.K_EQUALS, pygame.K_KP_PLUS):
            self._camera = camera.zoomed_at(*camera.to_px(*self._cursor), ZOOM_STEP)
        elif key in (pygame.K_MINUS, pygame.K_KP_MINUS):
            self._camera = camera.zoomed_at(*camera.to_px(*self._cursor), 1 / ZOOM_STEP)
        else:
            return False
        return True

    def leave(self) -> None:
        """The file is left unread."""
        self._desk.escape_job()


_NO_PICTURE = Preview(None, None)


def _is_picture(path: str) -> bool:
    """Whether a file is made of pixels; by its name where it cannot be looked into."""
    try:
        with open(path, "rb") as file:
            kind = sniff_format(file.read(HEAD_BYTES))
    except (OSError, BrimcheckError):
        kind = None
    if kind is not None:
        return kind == "image"
    return not path.lower().endswith((".svg", ".svgz", ".pdf", ".ai"))
