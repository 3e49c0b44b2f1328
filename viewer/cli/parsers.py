"""The options that each command knows, and how a call is cut into them."""

from __future__ import annotations

import argparse
import re
from collections import Counter
from collections.abc import Callable, Container, Sequence
from typing import NoReturn

from viewer import __version__
from viewer.cli import values
from viewer.cli.sheet_parsers import (
    SHEET_EPILOG,
    TEMPLATE_EPILOG,
    add_output_options,
    add_template_options,
    sheet_paper,
)
from viewer.errors import UsageError
from viewer.press import EXAMPLE_CUPS, parse_angles, parse_datum, parse_hold

_EXAMPLE_CUPS_TEXT = ",".join(cup.name for cup in EXAMPLE_CUPS)

_PROMISE = (
    "The outline is exact to 0.01 mm for vector ink at least 0.02 mm wide; ink narrower than"
    " 0.02 mm is outside the promise. 'fits' is geometry, not permission to run: trial print"
    " first; the press manual and local codes decide."
)
_VIEWER_EPILOG = (
    "brimcheck check FILE... judges files without a window, brimcheck place FILE writes the"
    " artwork as placed on a plate, brimcheck sheet and brimcheck template write true-scale"
    " sheets to print, brimcheck signoff keeps approvals, brimcheck size answers"
    " numbers without a file, brimcheck lesson teaches; each of them explains itself with"
    " --help. " + _PROMISE
)
_CHECK_EPILOG = (
    "Exit status: 0 every file fits some cup offered; 1 some do not, or it is too close to call;"
    " 2 something could not be read, or the call was wrong. " + _PROMISE
)
_PLACE_EPILOG = (
    "Exit status: 0 written, and it fits; 1 written with --anyway, and it does not surely fit;"
    " 2 nothing was written. " + _PROMISE
)
_SIGNOFF_EPILOG = (
    "Exit status: 0 done, sound, or approved; 1 not sound, not approved, or approved although it"
    " does not fit; 2 nothing could be done. " + _PROMISE
)
_SIZE_EPILOG = (
    "Plain numbers are exact. '~66' is off by up to half of its last digit (quote it: some shells"
    " read ~); 66+-0.5 says by how"
    " much. Inches: 2 5/8in x 3in. Exit status: 0 some cup surely fits; 1 none surely does;"
    " 2 the call was wrong. 'fits' is geometry, not permission to run: trial print first; the"
    " press manual and local codes decide."
)
SIGNOFF_ACTIONS = {
    "list": "print the rows of the approval record",
    "show": "print one row with everything in it",
    "export": "write the rows as CSV or JSON",
    "verify": "look for altered, missing or moved rows; with FILE, say whether it was approved",
    "approve": "measure FILE and record that somebody approves it",
    "reject": "measure FILE and record that somebody rejects it",
}
_REPEATED = ("--leave-out",)
"""Options that may be given several times: each adds to the others."""


class Parser(argparse.ArgumentParser):
    """An argparse parser that raises instead of printing its usage and leaving."""

    def error(self, message: str) -> NoReturn:
        """Raise UsageError with a hint on where to look."""
        hint = ""
        if "unrecognized arguments" in message:
            hint = f"; see {self.prog} --help"
            if "--json" in message or "--curve" in message:
                hint = "; --json and --curve belong to: brimcheck check FILE..."
        raise UsageError(f"{message}{hint}")

    def read(self, words: Sequence[str]) -> argparse.Namespace:
        """Read a call. An option given twice is refused: neither may win silently."""
        takes_value = {
            name: action.option_strings[-1]
            for action in self._actions
            if action.nargs is None and action.option_strings
            for name in action.option_strings
        }
        joined = _join_negative_values(words, takes_value)
        options = joined[: joined.index("--")] if "--" in joined else joined
        counts = Counter(takes_value.get(word.partition("=")[0]) for word in options)
        for name, count in counts.items():
            if name is not None and name not in _REPEATED and count > 1:
                raise UsageError(f"{name} is given twice: give it once")
        return self.parse_args(joined)


def _join_negative_values(words: Sequence[str], takes_value: Container[str]) -> list[str]:
    """``--datum -5,3`` as ``--datum=-5,3``, so that the value reaches its own reader."""
    joined: list[str] = []
    for word in words:
        before = joined[-1] if joined else ""
        if before in takes_value and re.match(r"-[\d.,]|-(nan|inf)", word):
            joined[-1] = f"{before}={word}" if before.startswith("--") else f"{before}{word}"
        else:
            joined.append(word)
    return joined


# --- commands -----------------------------------------------------------------------


def viewer_parser() -> Parser:
    """``brimcheck [FILE]``."""
    parser = Parser(
        prog="brimcheck",
        allow_abbrev=False,
        description="Does this artwork print from that ink cup? Opens the viewer on FILE.",
        epilog=_VIEWER_EPILOG,
    )
    parser.add_argument(
        "files", nargs="*", metavar="FILE", help="artwork: SVG, PDF or picture; or a job file"
    )
    parser.add_argument("--version", action="version", version=f"brimcheck {__version__}")
    add_window_options(parser)
    _add_record_option(parser)
    add_shared_options(parser)
    return parser


def add_window_options(group: argparse._ActionsContainer) -> None:
    """A picture instead of a window, and its size."""
    group.add_argument(
        "--snapshot", metavar="OUT.png", help="write a picture of the window, open none"
    )
    group.add_argument(
        "--size",
        metavar="WxH",
        type=values.window_size,
        help="size of the window in pixels, such as 1600x1000 (else as it was last)",
    )


def check_parser() -> Parser:
    """``brimcheck check FILE...``."""
    parser = Parser(
        prog="brimcheck check",
        allow_abbrev=False,
        description="Judge artwork against ink cups and the press, and print the result.",
        epilog=_CHECK_EPILOG,
    )
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="artwork, a folder (the artwork in it), or a job file",
    )
    parser.add_argument("--json", action="store_true", help="machine-readable, unrounded")
    parser.add_argument(
        "--curve", action="store_true", help="with --json: best clearance over the angle"
    )
    add_shared_options(parser)
    return parser


def place_parser() -> Parser:
    """``brimcheck place FILE -o OUT``."""
    parser = Parser(
        prog="brimcheck place",
        allow_abbrev=False,
        description="Write the artwork, untouched inside, as it is placed under a cup: at true"
        " scale, turned and shifted, on a page of the plate's size.",
        epilog=_PLACE_EPILOG,
    )
    parser.add_argument("files", nargs=1, metavar="FILE", help="artwork: SVG, PDF or picture")
    group = parser.add_argument_group("placement")
    group.add_argument(
        "-o", "--output", metavar="OUT", required=True, help="the file to write: .svg or .pdf"
    )
    group.add_argument("--cup", metavar="NAME", help="which cup (the smallest that fits)")
    _add_place_options(group)
    group.add_argument(
        "--plate",
        metavar="AxB",
        type=values.size("--plate"),
        help="size of the plate, across x along (the press file's)",
    )
    group.add_argument("--rings", action="store_true", help="draw the cup's ring lines as well")
    group.add_argument(
        "--anyway", action="store_true", help="write it even where it does not surely fit"
    )
    add_shared_options(parser)
    return parser


def template_parser() -> Parser:
    """``brimcheck template -o OUT.pdf``."""
    parser = Parser(
        prog="brimcheck template",
        allow_abbrev=False,
        description="Write the rings of cups at true scale, to be printed and held over a drawing.",
        epilog=TEMPLATE_EPILOG,
    )
    add_template_options(parser.add_argument_group("sheet"))
    _add_cup_options(parser.add_argument_group("cups"))
    _add_press_options(parser.add_argument_group("press"))
    return parser


def sheet_parser() -> Parser:
    """``brimcheck sheet FILE -o OUT.pdf``."""
    parser = Parser(
        prog="brimcheck sheet",
        allow_abbrev=False,
        description="Write a fit sheet: the artwork at true scale under a cup, with the verdict,"
        " how to set it, and room to approve it.",
        epilog=f"{SHEET_EPILOG} {_PROMISE}",
    )
    parser.add_argument("files", nargs=1, metavar="FILE", help="artwork: SVG, PDF or picture")
    group = parser.add_argument_group("sheet")
    add_output_options(group)
    _add_record_option(group)
    group = parser.add_argument_group("placement")
    group.add_argument(
        "--cup", metavar="NAME", help="which cup (the smallest that fits, else the roomiest)"
    )
    _add_place_options(group)
    add_shared_options(parser, sheet_paper, ", or a size of the sheet's paper")
    return parser


def size_parser() -> Parser:
    """``brimcheck size WxH``."""
    parser = Parser(
        prog="brimcheck size",
        allow_abbrev=False,
        description="Which cup takes an image of which only numbers are known, without a file.",
        epilog=_SIZE_EPILOG,
    )
    parser.add_argument("words", nargs="*", metavar="WxH", help="width x height: 66x88, ~66x~88")
    parser.add_argument(
        "--diagonal", metavar="LENGTH", help="longest diagonal: two points farthest apart"
    )
    parser.add_argument(
        "--shape",
        metavar="SHAPE",
        help="rectangle, ellipse, triangle (standing on the width, its third corner anywhere over"
        " that base), rounded:R (R: corner radius) or unknown (unknown)",
    )
    parser.add_argument("--json", action="store_true", help="machine-readable, unrounded")
    _add_cup_options(parser.add_argument_group("cups"))
    _add_press_options(parser.add_argument_group("press"))
    return parser


def signoff_parser(action: str | None) -> Parser:
    """``brimcheck signoff ACTION``. Without a known action: one that says what there is."""
    if action not in SIGNOFF_ACTIONS:
        told = "; ".join(f"{name}: {what}" for name, what in SIGNOFF_ACTIONS.items())
        parser = Parser(
            prog="brimcheck signoff", allow_abbrev=False, description=told, epilog=_SIGNOFF_EPILOG
        )
        parser.add_argument("action", choices=tuple(SIGNOFF_ACTIONS))
        return parser
    parser = Parser(
        prog=f"brimcheck signoff {action}",
        allow_abbrev=False,
        description=SIGNOFF_ACTIONS[action].capitalize() + ".",
        epilog=_SIGNOFF_EPILOG,
    )
    _add_record_option(parser)
    if action == "show":
        parser.add_argument("row", metavar="N", type=values.row_number, help="number of the row")
    elif action == "export":
        form = parser.add_mutually_exclusive_group(required=True)
        form.add_argument("--csv", action="store_true", help="for a spreadsheet")
        form.add_argument("--json", action="store_true", help="everything, exactly")
        parser.add_argument("-o", "--output", metavar="OUT", help="the file (the terminal)")
    elif action != "list":
        _add_signoff_options(parser, action)
    return parser


def _add_signoff_options(parser: Parser, action: str) -> None:
    decides = action != "verify"
    parser.add_argument(
        "files", nargs=1 if decides else "*", metavar="FILE", help="artwork: SVG, PDF or picture"
    )
    parser.add_argument("--cup", metavar="NAME", required=decides, help="which cup")
    parser.add_argument(
        "--stage",
        choices=("plate", "press"),
        help="before the plate is made, or at the press" + (" (plate)" if decides else ""),
    )
    if decides:
        parser.add_argument("--by", metavar="NAME", required=True, help="who decides")
        parser.add_argument("--note", metavar="TEXT", default="", help="kept with the row")
    if action == "approve":
        parser.add_argument(
            "--reason",
            metavar="TEXT",
            default="",
            help="why it is approved although it does not fit; printed on every copy",
        )
    _add_place_options(parser.add_argument_group("placement"))
    add_shared_options(parser)


def _add_record_option(group: argparse._ActionsContainer) -> None:
    group.add_argument(
        "--record",
        metavar="FILE",
        help="the approval record (BRIMCHECK_RECORD, else one in your data folder)",
    )


def _add_place_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--center",
        metavar="x,y",
        type=values.point("--center"),
        help="page point under the cup's centre, mm from the page's left and top"
        " (the best placement)",
    )
    group.add_argument(
        "--turn",
        metavar="DEG",
        type=values.degrees("--turn"),
        help="with --center: how far the artwork is turned, counter-clockwise (0)",
    )


# --- options of every command -------------------------------------------------------


def add_shared_options(
    parser: argparse.ArgumentParser,
    paper: Callable[[str], str] = values.paper,
    paper_help: str = "",
) -> None:
    """Cups, press, size and ink; ``paper`` reads what is paper in the artwork."""
    _add_cup_options(parser.add_argument_group("cups"))
    _add_press_options(parser.add_argument_group("press"))
    _add_size_options(parser.add_argument_group("true size"))
    _add_ink_options(parser.add_argument_group("ink and paper"), paper, paper_help)


def _add_cup_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--cups",
        metavar="LIST",
        help=f"diameters in mm, as in 60,75,82.5 (an example set: {_EXAMPLE_CUPS_TEXT})",
    )
    group.add_argument(
        "--margin",
        metavar="15%|3mm",
        type=values.margin,
        help="kept free: percent of the named diameter, both sides and the ring together;"
        " or mm on each side, inside the ring (15 %%)",
    )
    group.add_argument(
        "--ring",
        metavar="LENGTH",
        type=values.length("--ring"),
        help="width of the doctoring ring (3mm; measure yours with a caliper: it is sharp)",
    )
    group.add_argument(
        "--named-by",
        choices=("outside", "inside"),
        help="which edge of the ring a cup's diameter names (outside)",
    )
    group.add_argument(
        "--setup",
        metavar="LENGTH",
        type=values.length("--setup"),
        help="how far set-up may shift the artwork; less clearance is called tight (0.5mm)",
    )


def _add_press_options(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--press",
        metavar="FILE",
        help="a press described in TOML; options given here come before what it says",
    )
    group.add_argument(
        "--pad",
        metavar="SHAPE",
        help="printing area of the pad: round:80, oval:100x60, rect:100x60r8 (r: corner radius);"
        " then, where wanted, m2 (mm kept free inside its edge), @dx,dy (mm right and front of"
        " the cup's centre), ^angle (counter-clockwise); or a pad's name in the press file;"
        " or none",
    )
    group.add_argument(
        "--etch",
        metavar="AxB",
        help="what of the plate may be etched, across x along: 90x72; then m2 and @dx,dy as for"
        " a pad; or none",
    )
    group.add_argument(
        "--hold",
        metavar="KIND",
        type=values.named(parse_hold, "--hold"),
        help="how the artwork may be shifted from the datum: free, across, along or fixed; with"
        " a limit each way, as in across:3mm (free)",
    )
    group.add_argument(
        "--datum",
        metavar="POINT",
        type=values.named(parse_datum, "--datum"),
        help="what stands under the cup's centre when nothing is shifted: page or ink (their"
        " middle), or x,y in mm from the page's left and top (ink)",
    )
    group.add_argument(
        "--angles",
        metavar="WHICH",
        type=values.named(parse_angles, "--angles"),
        help="turns that the press allows: any, none, +-10, step:90 (any)",
    )


def _add_size_options(group: argparse._ArgumentGroup) -> None:
    for name, what in (
        ("--width", "width of the ink"),
        ("--height", "height of the ink"),
        ("--page-width", "width of the page"),
    ):
        group.add_argument(name, metavar="LENGTH", type=values.positive_length(name), help=what)
    group.add_argument(
        "--dpi",
        metavar="N",
        type=values.positive_number("--dpi"),
        help="pixels per inch of a picture",
    )
    group.add_argument(
        "--px-per-inch",
        metavar="N",
        type=values.positive_number("--px-per-inch"),
        help="what a bare px in an SVG is worth (96; some programs mean 72)",
    )
    group.add_argument(
        "--scale",
        metavar="50%",
        type=values.scale,
        default=1.0,
        help="scale the artwork (100 %%)",
    )


def _add_ink_options(
    group: argparse._ArgumentGroup, paper: Callable[[str], str], paper_help: str
) -> None:
    group.add_argument(
        "--page", metavar="N", type=values.page, default=1, help="page of the file (1)"
    )
    group.add_argument(
        "--paper",
        metavar="COLOUR",
        type=paper,
        help=f"what is paper: transparent, border (the border's colour) or #rrggbb{paper_help}",
    )
    group.add_argument("--white", choices=("ink", "paper"), help="what painted white is")
    group.add_argument(
        "--ignore-specks", action="store_true", help="leave out specks that decide the size"
    )
    group.add_argument(
        "--leave-out",
        metavar="x,y",
        type=values.point("--leave-out"),
        action="append",
        default=[],
        help="do not measure the piece of ink at this point (a frame, a crop mark), in mm from the"
        " page's left and top before --scale; may be given several times",
    )
    group.add_argument(
        "--trust", choices=("resvg", "cairo"), help="where two renderers differ, and you looked"
    )
