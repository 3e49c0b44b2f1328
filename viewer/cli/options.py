"""The options of the command line, read into plain values. Wrong ones raise UsageError."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NoReturn

from viewer import __version__
from viewer.artwork.model import LoadOptions
from viewer.errors import UsageError
from viewer.fit import DEFAULT_SETUP_TOLERANCE_MM
from viewer.press import (
    DEFAULT_MARGIN,
    DEFAULT_RING_WIDTH_MM,
    EXAMPLE_CUPS,
    Cup,
    Margin,
    parse_cups,
)
from viewer.units import parse_length_mm, parse_percent_or_mm, parse_positive_mm

DEFAULT_WINDOW_PX = (1600, 1000)
_LARGEST_WINDOW_PX = 16384
_SCALES_NO_PERCENT = 10.0

_EXAMPLE_CUPS_TEXT = ",".join(cup.name for cup in EXAMPLE_CUPS)

_PROMISE = (
    "The outline is exact to 0.01 mm for vector ink at least 0.02 mm wide; ink narrower than"
    " 0.02 mm is outside the promise. 'fits' is geometry, not permission to run: trial print"
    " first; the press manual and local codes decide."
)
_VIEWER_EPILOG = (
    "brimcheck check FILE... judges files without a window; see brimcheck check --help. " + _PROMISE
)
_CHECK_EPILOG = (
    "Exit status: 0 every file fits some cup offered; 1 some do not, or it is too close to call;"
    " 2 something could not be read, or the call was wrong. " + _PROMISE
)


@dataclass(frozen=True)
class Settings:
    """A whole call."""

    command: Literal["check", "view"]
    files: tuple[str, ...]
    load: LoadOptions
    cups: tuple[Cup, ...]
    setup_tolerance_mm: float
    as_json: bool = False
    with_curve: bool = False
    snapshot: str | None = None
    size_px: tuple[int, int] = DEFAULT_WINDOW_PX


def parse_arguments(argv: Sequence[str]) -> Settings:
    """Read a call (without the program's name). ``--help`` prints and raises SystemExit."""
    is_check = bool(argv) and argv[0] == "check"
    parser = _check_parser() if is_check else _viewer_parser()
    words = _join_negative_values(argv[1:] if is_check else argv, parser)
    found = parser.parse_args(words)
    return _check_settings(found) if is_check else _view_settings(found)


# --- parsers --------------------------------------------------------------------


class _Parser(argparse.ArgumentParser):
    """An argparse parser that raises instead of printing its usage and leaving."""

    def error(self, message: str) -> NoReturn:
        hint = ""
        if "unrecognized arguments" in message:
            hint = f"; see {self.prog} --help"
            if "--json" in message or "--curve" in message:
                hint = "; --json and --curve belong to: brimcheck check FILE..."
        raise UsageError(f"{message}{hint}")


def _viewer_parser() -> _Parser:
    parser = _Parser(
        prog="brimcheck",
        allow_abbrev=False,
        description="Does this artwork print from that ink cup? Opens the viewer on FILE.",
        epilog=_VIEWER_EPILOG,
    )
    parser.add_argument("files", nargs="*", metavar="FILE", help="artwork: SVG, PDF or picture")
    parser.add_argument("--version", action="version", version=f"brimcheck {__version__}")
    parser.add_argument(
        "--snapshot", metavar="OUT.png", help="write a picture of the window, open none"
    )
    parser.add_argument(
        "--size", metavar="WxH", type=_window_size, help="size of the window in pixels, 1600x1000"
    )
    _add_shared_options(parser)
    return parser


def _check_parser() -> _Parser:
    parser = _Parser(
        prog="brimcheck check",
        allow_abbrev=False,
        description="Judge artwork against ink cups and print the result.",
        epilog=_CHECK_EPILOG,
    )
    parser.add_argument(
        "files", nargs="+", metavar="FILE", help="artwork, or a folder: the artwork in it"
    )
    parser.add_argument("--json", action="store_true", help="machine-readable, unrounded")
    parser.add_argument(
        "--curve", action="store_true", help="with --json: best clearance over the angle"
    )
    _add_shared_options(parser)
    return parser


def _add_shared_options(parser: argparse.ArgumentParser) -> None:
    cups = parser.add_argument_group("cups")
    cups.add_argument(
        "--cups",
        metavar="LIST",
        help=f"diameters in mm, as in 60,75,82.5 (an example set: {_EXAMPLE_CUPS_TEXT})",
    )
    cups.add_argument(
        "--margin",
        metavar="15%|3mm",
        type=_margin,
        default=DEFAULT_MARGIN,
        help="kept free: percent of the named diameter, both sides and the ring together;"
        " or mm on each side, inside the ring (15 %%)",
    )
    cups.add_argument(
        "--ring",
        metavar="LENGTH",
        type=_length("--ring"),
        default=DEFAULT_RING_WIDTH_MM,
        help="width of the doctoring ring (3mm; measure yours)",
    )
    cups.add_argument(
        "--named-by",
        choices=("outside", "inside"),
        default="outside",
        help="which edge of the ring a cup's diameter names (outside)",
    )
    cups.add_argument(
        "--setup",
        metavar="LENGTH",
        type=_length("--setup"),
        default=DEFAULT_SETUP_TOLERANCE_MM,
        help="how far set-up may shift the artwork; less clearance is called tight (0.5mm)",
    )
    _add_size_options(parser.add_argument_group("true size"))
    _add_ink_options(parser.add_argument_group("ink and paper"))


def _add_size_options(group: argparse._ArgumentGroup) -> None:
    for name, what in (
        ("--width", "width of the ink"),
        ("--height", "height of the ink"),
        ("--page-width", "width of the page"),
    ):
        group.add_argument(name, metavar="LENGTH", type=_positive_length(name), help=what)
    group.add_argument(
        "--dpi", metavar="N", type=_positive_number("--dpi"), help="pixels per inch of a picture"
    )
    group.add_argument(
        "--px-per-inch",
        metavar="N",
        type=_positive_number("--px-per-inch"),
        help="what a bare px in an SVG is worth (96; some programs mean 72)",
    )
    group.add_argument(
        "--scale", metavar="50%", type=_scale, default=1.0, help="scale the artwork (100 %%)"
    )


def _add_ink_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--page", metavar="N", type=_page, default=1, help="page of the file (1)")
    group.add_argument(
        "--paper",
        metavar="COLOR",
        type=_paper,
        help="what is paper: transparent, border (the border's color) or #rrggbb",
    )
    group.add_argument("--white", choices=("ink", "paper"), help="what painted white is")
    group.add_argument(
        "--ignore-specks", action="store_true", help="leave out specks that decide the size"
    )
    group.add_argument(
        "--trust", choices=("resvg", "cairo"), help="where two renderers differ, and you looked"
    )


# --- values -----------------------------------------------------------------------


def _length(option: str) -> Callable[[str], float]:
    def parse(text: str) -> float:
        value_mm = parse_length_mm(text, option)
        if not math.isfinite(value_mm) or value_mm < 0:
            raise UsageError(f"{option} must be zero or more, not {text!r}")
        return value_mm

    return parse


def _positive_length(option: str) -> Callable[[str], float]:
    return lambda text: parse_positive_mm(text, option)


def _positive_number(option: str) -> Callable[[str], float]:
    def parse(text: str) -> float:
        value = _plain_number(text)
        if value is None or value <= 0:
            raise UsageError(f"{option} must be a number more than zero, not {text!r}")
        return value

    return parse


def _plain_number(text: str) -> float | None:
    """A decimal number, comma or point; None for anything else, NaN and infinity too."""
    if not re.fullmatch(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?", text.strip()):
        return None
    value = float(text.strip().replace(",", "."))
    return value if math.isfinite(value) else None


def _scale(text: str) -> float:
    """``50%`` or a factor such as 0.5; a bare number above 10 is surely a percent sign short."""
    bare = text.strip().removesuffix("%")
    is_percent = text.strip().endswith("%")
    value = _plain_number(bare)
    if value is None or value <= 0:
        raise UsageError(f"--scale must be more than zero, as in 50% or 0.5, not {text!r}")
    if is_percent:
        value /= 100.0
    elif value > _SCALES_NO_PERCENT:
        raise UsageError(f"--scale {text}: write {text}% if percent is meant")
    if value <= 0:
        raise UsageError(f"--scale must be more than zero, as in 50% or 0.5, not {text!r}")
    return value


def _margin(text: str) -> Margin:
    kind, value = parse_percent_or_mm(text)
    return Margin(value, kind == "%")


def _page(text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9 or int(text) < 1:
        raise UsageError(f"--page must be a whole number from 1, not {text!r}")
    return int(text)


def _paper(text: str) -> str:
    if text in ("transparent", "border") or re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        return text
    raise UsageError(f"--paper must be transparent, border or #rrggbb, not {text!r}")


def _window_size(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,5})[xX](\d{1,5})", text.strip(), re.ASCII)
    size = (int(match[1]), int(match[2])) if match else (0, 0)
    if not all(1 <= side <= _LARGEST_WINDOW_PX for side in size):
        raise UsageError(f"--size must be width x height in pixels, as in 1600x1000, not {text!r}")
    return size


def _join_negative_values(words: Sequence[str], parser: argparse.ArgumentParser) -> list[str]:
    """``--width -5mm`` as ``--width=-5mm``, so that the value itself is complained about."""
    takes_value = {
        name
        for action in parser._actions
        if action.nargs is None and action.option_strings
        for name in action.option_strings
    }
    joined: list[str] = []
    for word in words:
        if joined and joined[-1] in takes_value and re.match(r"-[\d.,]|-(nan|inf)", word):
            joined[-1] = f"{joined[-1]}={word}"
        else:
            joined.append(word)
    return joined


# --- a whole call --------------------------------------------------------------------


def _check_settings(found: argparse.Namespace) -> Settings:
    if found.curve and not found.json:
        raise UsageError("--curve goes with --json")
    return Settings(
        command="check", as_json=found.json, with_curve=found.curve, **_shared_settings(found)
    )


def _view_settings(found: argparse.Namespace) -> Settings:
    if len(found.files) > 1:
        if "check" in found.files:
            raise UsageError("put check first: brimcheck check FILE... [options]")
        raise UsageError("the viewer opens one file; for several: brimcheck check FILE...")
    size_px = DEFAULT_WINDOW_PX if found.size is None else found.size
    return Settings(
        command="view", snapshot=found.snapshot, size_px=size_px, **_shared_settings(found)
    )


def _shared_settings(found: argparse.Namespace) -> dict[str, Any]:
    if not all(found.files):
        raise UsageError("an empty file name was given")
    _reject_contradictions(found)
    return {
        "files": tuple(found.files),
        "load": _load_options(found),
        "cups": _cups(found),
        "setup_tolerance_mm": found.setup,
    }


def _cups(found: argparse.Namespace) -> tuple[Cup, ...]:
    text = _EXAMPLE_CUPS_TEXT if found.cups is None else found.cups
    return parse_cups(text, found.ring, found.margin, found.named_by)


def _load_options(found: argparse.Namespace) -> LoadOptions:
    return LoadOptions(
        page=found.page,
        width_mm=found.width,
        height_mm=found.height,
        page_width_mm=found.page_width,
        dpi=found.dpi,
        px_per_inch=found.px_per_inch,
        scale=found.scale,
        paper=found.paper,
        white=found.white,
        trust=found.trust,
        ignore_specks=found.ignore_specks,
    )


def _reject_contradictions(found: argparse.Namespace) -> None:
    """Each way to settle the size excludes the others: none may win silently.

    ``--scale`` goes with ``--page-width``, ``--dpi`` and ``--px-per-inch`` (they say
    what the file is, it says what becomes of it), not with the final size of the ink.
    """
    ink = [name for name in ("width", "height") if getattr(found, name) is not None]
    others = [n for n in ("page_width", "dpi", "px_per_inch") if getattr(found, n) is not None]
    if found.scale != 1.0:
        others.append("scale")
    if ink and others:
        _contradict(ink[0], others[0], "the size of the ink is already settled")
    if found.page_width is not None and (found.dpi is not None or found.px_per_inch is not None):
        _contradict("page_width", "dpi" if found.dpi is not None else "px_per_inch", "both scale")


def _contradict(first: str, second: str, why: str) -> NoReturn:
    a, b = (f"--{name.replace('_', '-')}" for name in (first, second))
    raise UsageError(f"{a} and {b} contradict each other ({why}): give one of them")
