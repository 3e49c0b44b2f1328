"""No text leaves its box, is cut, or meets another: measured in every state and size."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations

import pygame
import pytest

from tests.screen.conftest import FakeOpener
from viewer.artwork.model import ArtworkWarning, LoadOptions
from viewer.press.cups import EXAMPLE_CUPS, Cup
from viewer.press.limits import EtchArea, Pad, PressLimits
from viewer.press.press import Press
from viewer.screen import model
from viewer.screen.camera import fit_camera
from viewer.screen.desk import Desk
from viewer.screen.layout import Layout, layout_for
from viewer.screen.life_size import first_outline
from viewer.screen.loader import open_now
from viewer.screen.look import Tip
from viewer.screen.overlay import bounds_to_show
from viewer.screen.painter import Painter
from viewer.screen.text import SIZES, PlacedText
from viewer.screen.theme import ui_scale
from viewer.screen.tips import TIPS
from viewer.screen.viewstate import Editing, Frame, Loading, Notice

WINDOWS = ((1100, 700), (1366, 768), (1600, 1000), (1920, 1080), (3840, 2160))
UI_FACTORS = (0.8, 1.0, 1.25, 1.5, 2.0)
CUPS = (*EXAMPLE_CUPS, Cup("82.5", 82.5), Cup("101.625", 101.625))
LIMITS = PressLimits(
    Pad("oval", 84, 72, offset_mm=(2.0, -1.0), turn_deg=12.0, margin_mm=2.0),
    EtchArea(90, 70, margin_mm=1.0),
)
WARNINGS = (
    ArtworkWarning("text", "text is drawn with a font of this computer", True),
    ArtworkWarning("speck", "a speck of 0.10 mm at (12.00, 40.00) mm decides the circle"),
)
LONG = "/jobs/harbour/a-rather-long-name-for-a-pennant.svg: holds no physical size; " * 2


def _help(frame: Frame) -> Frame:
    return replace(frame, is_help_open=True)


def _look(**values: object) -> Callable[[Frame], Frame]:
    return lambda frame: replace(frame, look=replace(frame.look, **values))  # type: ignore[arg-type]


def _tip(frame: Frame) -> Frame:
    words, keys = max(TIPS.values(), key=lambda tip: len(tip[0]))
    corner = (frame.size[0] - 60, frame.size[1] - 40, 40, 20)
    return replace(frame, look=replace(frame.look, tip=Tip(words, keys, corner)))


def _calibrating(frame: Frame) -> Frame:
    layout = layout_for(frame.size, frame.look.ui_factor)
    return replace(frame, look=replace(frame.look, calibrating=first_outline(layout, None)))


def _notice(frame: Frame) -> Frame:
    notice = Notice(LONG, True, "width", "width of the ink")
    editing = Editing("width", "12,x", 4, "width '12,x' is not a length", False)
    return replace(frame, notice=notice, editing=editing)


def _error(frame: Frame) -> Frame:
    error = (
        "cup left-right 'two and a bit' is not a length; write it like '48', '12,5 mm' or '1/2 in'"
    )
    return replace(frame, editing=Editing("right", "two and a bit", 13, error, False))


STATES: dict[str, Callable[[Frame], Frame]] = {
    "plain": lambda frame: frame,
    "empty": lambda frame: Frame(size=frame.size, look=frame.look),
    "loading": lambda f: replace(f, loading=Loading("pennant.svg", "comparing renderers", 0.4)),
    "notice": _notice,
    "error": _error,
    "limits open": lambda f: replace(f, editing=Editing("limit:pad", "oval:84x60", 10)),
    "angles open": lambda f: replace(f, editing=Editing("limit:angles", "", 0)),
    "warnings open": lambda f: replace(f, is_warnings_open=True),
    "help": _help,
    "big verdict": _look(is_big=True),
    "life-size": _look(is_life_size=True, screen_px_per_mm=3.8),
    "calibrating": _calibrating,
    "tip": _tip,
    "message": _look(message="no longer life-size \u00b7 Y goes back to it"),
    "focus": _look(focus="cup:1", screen_px_per_mm=5.0),
}


class _Warned:
    """The made-up artwork, with warnings."""

    def __init__(self, inner: FakeOpener) -> None:
        self._inner = inner

    def load(self, path: str, options: LoadOptions, progress: object, cancelled: object) -> object:
        return replace(self._inner.load(path, options, None, None), warnings=WARNINGS)

    def picture(self, artwork: object) -> object:
        return self._inner.picture(artwork)  # type: ignore[arg-type]

    def pieces(self, artwork: object, cancelled: object) -> object:
        return self._inner.pieces(artwork, None)  # type: ignore[arg-type]


TOOLS = {"pieces": pygame.K_p, "sizes": pygame.K_k, "ways": pygame.K_a, "measure": pygame.K_m}


@pytest.fixture(scope="module")
def tools(made: Desk) -> dict[str, Frame]:
    """The same work with a tool in hand."""
    frames = {}
    for name, key in TOOLS.items():
        _press(made, key)
        made.wait_for_fit(30)
        frames[name] = made.frame()
        _press(made, pygame.K_ESCAPE)
        if name == "sizes":
            _press(made, key)
    return frames


@pytest.fixture(scope="module")
def asked() -> dict[str, Frame]:
    """The dialogs: for a path, for the size of a file that holds none, for notes."""
    frames = {}
    for name, path, keys in (
        ("path", "", ((pygame.K_o, pygame.KMOD_LCTRL),)),
        ("no size", "/jobs/nosize-harbour.png", ()),
        ("notes", "/jobs/pennant.svg", ((pygame.K_n, pygame.KMOD_LCTRL),)),
    ):
        desk = Desk((1600, 1000), Press(), FakeOpener())
        if path:
            desk.open_file(path, LoadOptions())
            assert desk.job is not None
            desk.job.wait(10)
            desk.poll()
        for key, mod in keys:
            _press(desk, key, mod)
        frames[name] = desk.frame()
        desk.close()
    return frames


def _press(desk: Desk, key: int, mod: int = 0) -> None:
    desk.handle(pygame.event.Event(pygame.KEYDOWN, key=key, mod=mod, unicode=""))
    desk.handle(pygame.event.Event(pygame.KEYUP, key=key, mod=mod))


@pytest.fixture(scope="module")
def made() -> Iterator[Desk]:
    """A window with everything in it, computed once."""
    warned = _Warned(FakeOpener())
    press = Press(cups=CUPS, limits=LIMITS)
    desk = Desk((1600, 1000), press, warned)  # type: ignore[arg-type]
    path = "/jobs/harbour-pennant.svg"
    desk.show(open_now(warned, path, LoadOptions(), press))  # type: ignore[arg-type]
    desk.change(lambda session: model.with_offset(session, -23.45, 4.56))
    desk.fit_now()
    yield desk
    desk.close()


@pytest.fixture(scope="module")
def base(made: Desk) -> Frame:
    """What it shows."""
    return made.frame()


def frame_at(base: Frame, size: tuple[int, int], factor: float, theme: str = "dark") -> Frame:
    """The same work in another window."""
    view, camera = layout_for(size, factor).view, None
    if base.session is not None:
        camera = fit_camera(bounds_to_show(base.session), view.width, view.height)
    look = replace(base.look, theme=theme, ui_factor=factor)
    return replace(base, size=size, camera=camera, sharp=None, look=look)


def placed_texts(
    frame: Frame, painter: Painter | None = None, surface: pygame.Surface | None = None
) -> list[PlacedText]:
    """Every text that is drawn for a frame: of a painter that has drawn, only what is new."""
    painter = painter or Painter()
    painter.texts.log = []
    painter.draw(surface or pygame.Surface(frame.size), frame)
    return painter.texts.log


def problems(log: list[PlacedText], size: tuple[int, int]) -> list[str]:
    """What is wrong with where texts stand."""
    found = []
    window = pygame.Rect((0, 0), size)
    for one in log:
        if one.is_cut:
            found.append(f"cut: {one.where}: {one.text!r}")
        if one.rect.left < one.box.left or one.rect.right > one.box.right:
            found.append(f"leaves its box: {one.where}: {one.text!r}")
        # Half of what a font is higher than its letters may stick out of a tight line.
        is_own = one.where.startswith(("card:", "choices"))
        if not is_own and not window.contains(_letters(one)):
            found.append(f"leaves the window: {one.where}: {one.text!r}")
    for where in sorted({one.where for one in log}):
        mine = [one for one in log if one.where == where and one.text]
        for one, other in combinations(mine, 2):
            if _letters(one).colliderect(_letters(other)):
                found.append(f"meet: {where}: {one.text!r}, {other.text!r}")
    return found


def _letters(one: PlacedText) -> pygame.Rect:
    """From the top of capitals to a little below the line: what the eye sees of a line."""
    high = one.rect.height
    return pygame.Rect(one.rect.x, one.rect.y + high * 2 // 10, one.rect.width, high * 6 // 10)


@pytest.mark.parametrize("factor", UI_FACTORS)
@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
def test_every_state_at_every_size(base: Frame, size: tuple[int, int], factor: float) -> None:
    frame = frame_at(base, size, factor, "light" if factor in (0.8, 1.5) else "dark")
    found = []
    # One painter for all: what did not change since the last state has been looked at.
    painter, surface = Painter(), pygame.Surface(size)
    for name, change in STATES.items():
        log = placed_texts(change(frame), painter, surface)
        assert len(log) > 1, name
        found += [f"{name}: {problem}" for problem in problems(log, size)]
    assert not found, "\n" + "\n".join(found)


@pytest.mark.parametrize("factor", UI_FACTORS)
@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
def test_tools_and_dialogs_at_every_size(
    tools: dict[str, Frame], asked: dict[str, Frame], size: tuple[int, int], factor: float
) -> None:
    found = []
    for name, frame in {**tools, **asked}.items():
        log = placed_texts(frame_at(frame, size, factor))
        found += [f"{name}: {problem}" for problem in problems(log, size)]
    assert not found, "\n" + "\n".join(found)


def test_the_check_can_fail() -> None:
    def text(x: int, box: int, is_cut: bool = False) -> PlacedText:
        rect = pygame.Rect(x, 10, 40, 20)
        return PlacedText("status", f"at {x}", rect, pygame.Rect(x, 10, box, 20), is_cut)

    size = (200, 100)
    assert problems([text(10, 40), text(60, 40)], size) == []
    assert [p.split(":")[0] for p in problems([text(10, 40), text(40, 40)], size)] == ["meet"]
    assert [p.split(":")[0] for p in problems([text(10, 30)], size)] == ["leaves its box"]
    assert [p.split(":")[0] for p in problems([text(10, 40, True)], size)] == ["cut"]
    assert [p.split(":")[0] for p in problems([text(180, 40)], size)] == ["leaves the window"]


@pytest.mark.parametrize("factor", UI_FACTORS)
@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
def test_a_window_too_small_for_the_letters_says_so(
    base: Frame, size: tuple[int, int], factor: float
) -> None:
    layout = layout_for(size, factor)
    wished = ui_scale(*size) * factor
    # The bench never falls below a third of the window each way.
    assert layout.view.width >= size[0] / 3
    assert layout.view.height >= size[1] / 3
    if layout.limited_to is None:
        assert layout.ui == pytest.approx(wished)
        return
    assert layout.ui < wished
    log = placed_texts(frame_at(base, size, factor))
    told = " ".join(one.text for one in log if one.where == "status")
    assert f"{round(100 * factor)} %" in told
    assert f"{int(100 * layout.limited_to)} %" in told


def test_common_windows_are_large_enough_for_all_scales() -> None:
    for size in ((1600, 1000), (1920, 1080), (2560, 1440), (3840, 2160)):
        assert all(layout_for(size, factor).limited_to is None for factor in UI_FACTORS), size
    assert layout_for((1100, 700), 2.0).limited_to is not None


def test_letters_keep_to_one_scale(base: Frame) -> None:
    frame = frame_at(base, (1600, 1000), 1.0)
    layout: Layout = layout_for(frame.size)
    allowed = {layout.px(size) for size in SIZES}
    for name in ("plain", "empty", "loading", "notice", "limits open", "warnings open", "help"):
        log = placed_texts(STATES[name](frame))
        odd = {(one.where, one.text, one.size_px) for one in log if one.size_px not in allowed}
        assert not odd, name


def test_figures_are_tabular() -> None:
    texts = Painter().texts
    for bold in (False, True):
        for size in (10, 12, 14, 20, 31):
            widths = {texts.width(digit * 10, size, bold) for digit in "0123456789"}
            assert len(widths) == 1
            assert texts.width("+", size, bold) == texts.width("\u2212", size, bold)


SIGNS = ("pills", "travel", "areas", "outlines", "callout", "scale", "points")


@pytest.mark.parametrize("factor", (0.8, 1.0, 1.5))
@pytest.mark.parametrize("size", WINDOWS, ids=lambda s: f"{s[0]}x{s[1]}")
def test_signs_over_the_bench_do_not_hide_each_other(
    base: Frame, size: tuple[int, int], factor: float
) -> None:
    log = [one for one in placed_texts(frame_at(base, size, factor)) if one.where in SIGNS]
    assert {"pills", "travel", "callout", "scale"} <= {one.where for one in log}
    found = [
        f"{one.text!r} ({one.where}) and {other.text!r} ({other.where})"
        for one, other in combinations(log, 2)
        if _letters(one).colliderect(_letters(other))
    ]
    assert not found, "\n".join(found)
