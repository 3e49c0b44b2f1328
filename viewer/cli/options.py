"""A call of the command line as a plain value. Wrong calls raise UsageError."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, NoReturn

from viewer.artwork.model import LoadOptions
from viewer.cli.lesson_parser import LessonOrder, lesson_order, lesson_parser
from viewer.cli.parsers import (
    SIGNOFF_ACTIONS,
    check_parser,
    place_parser,
    sheet_parser,
    signoff_parser,
    size_parser,
    template_parser,
    viewer_parser,
)
from viewer.cli.press_options import press_from
from viewer.cli.sheet_parsers import SheetOrder, order_from
from viewer.cli.size import query_from, size_words
from viewer.errors import UsageError
from viewer.fit import Placement
from viewer.fit.problems import check_areas
from viewer.press import Press
from viewer.sizing import SizeQuery


@dataclass(frozen=True)
class PlaceOrder:
    """What ``brimcheck place`` is to write. ``placement`` None: the best there is."""

    target: str
    cup_name: str | None = None
    placement: Placement | None = None
    with_rings: bool = False
    anyway: bool = False


@dataclass(frozen=True)
class SignoffOrder:
    """What ``brimcheck signoff`` is to do; which fields count depends on ``action``.

    ``stage`` None: whichever. ``compares``: the call says how the file is to be read, or
    what limits the image, so that an approval with other settings does not do.
    """

    action: str
    record: str | None = None
    row: int = 0
    as_csv: bool = False
    target: str | None = None
    cup_name: str | None = None
    placement: Placement | None = None
    stage: str | None = None
    by: str = ""
    note: str = ""
    reason: str = ""
    compares: bool = False


@dataclass(frozen=True)
class Settings:
    """A whole call. ``order`` and ``signoff`` belong to the commands of that name alone."""

    command: Literal["check", "view", "lesson", "place", "sheet", "signoff", "size", "template"]
    files: tuple[str, ...]
    load: LoadOptions
    press: Press
    press_path: str | None = None
    as_json: bool = False
    with_curve: bool = False
    snapshot: str | None = None
    size_px: tuple[int, int] | None = None
    record: str | None = None
    """The approval record that a window or a sheet goes by, where one is named."""
    order: PlaceOrder | None = None
    signoff: SignoffOrder | None = None
    query: SizeQuery | None = None
    sheet: SheetOrder | None = None
    lesson: LessonOrder | None = None


_COMMANDS = (
    ("check", "check FILE..."),
    ("place", "place FILE -o OUT"),
    ("sheet", "sheet FILE -o OUT.pdf"),
    ("template", "template -o OUT.pdf"),
    ("signoff", "signoff ACTION"),
    ("size", "size 66x88"),
    ("lesson", "lesson [N]"),
)


def parse_arguments(argv: Sequence[str]) -> Settings:
    """Read a call (without the program's name). ``--help`` prints and raises SystemExit."""
    command = argv[0] if argv else ""
    if command == "check":
        return _check_settings(check_parser().read(argv[1:]))
    if command == "place":
        return _place_settings(place_parser().read(argv[1:]))
    if command == "sheet":
        return _sheet_settings(sheet_parser().read(argv[1:]))
    if command == "template":
        return _template_settings(template_parser().read(argv[1:]))
    if command == "lesson":
        return _lesson_settings(argv[1:])
    if command == "signoff":
        return _signoff_settings(argv[1:])
    if command == "size":
        return _size_settings(size_parser().read(size_words(argv[1:])))
    return _view_settings(viewer_parser().read(argv))


def _check_settings(found: argparse.Namespace) -> Settings:
    if found.curve and not found.json:
        raise UsageError("--curve goes with --json")
    return Settings(
        command="check", as_json=found.json, with_curve=found.curve, **_shared_settings(found)
    )


def _view_settings(found: argparse.Namespace) -> Settings:
    if len(found.files) > 1:
        _refuse_several(found.files)
    return Settings(
        command="view",
        snapshot=found.snapshot,
        size_px=found.size,
        record=_record(found),
        **_shared_settings(found),
    )


def _refuse_several(files: Sequence[str]) -> NoReturn:
    """The viewer opens one file; a command that stands elsewhere, or is misspelt, is told."""
    for command, form in _COMMANDS:
        if command in files:
            raise UsageError(f"put {command} first: brimcheck {form} [options]")
    first = files[0]
    if first.isalpha() and not os.path.lexists(first):
        names = ", ".join(command for command, _form in _COMMANDS)
        raise UsageError(f"there is no command and no file {first!r}; the commands are {names}")
    raise UsageError("the viewer opens one file; for several: brimcheck check FILE...")


def _place_settings(found: argparse.Namespace) -> Settings:
    order = PlaceOrder(
        target=found.output,
        cup_name=found.cup,
        placement=_placement(found),
        with_rings=found.rings,
        anyway=found.anyway,
    )
    return Settings(command="place", order=order, **_shared_settings(found))


def _sheet_settings(found: argparse.Namespace) -> Settings:
    order = order_from(found, _placement(found))
    return Settings(command="sheet", sheet=order, record=_record(found), **_shared_settings(found))


def _template_settings(found: argparse.Namespace) -> Settings:
    press = press_from(found)
    return Settings("template", (), LoadOptions(), press, found.press, sheet=order_from(found))


def _lesson_settings(words: Sequence[str]) -> Settings:
    found = lesson_parser().read(words)
    order = lesson_order(found)  # first: it takes a paper of the page from --paper
    shared = _shared_settings(found)
    if not found.files and (shared["load"] != LoadOptions() or shared["press"] != Press()):
        raise UsageError(
            "options about cups, press, size and ink are about a FILE of yours:"
            " brimcheck lesson N FILE"
        )
    size_px, snapshot = found.size, found.snapshot
    return Settings("lesson", snapshot=snapshot, size_px=size_px, lesson=order, **shared)


def _size_settings(found: argparse.Namespace) -> Settings:
    query = query_from(found)
    press = press_from(found)
    check_areas(press.cups, press.limits)
    return Settings("size", (), LoadOptions(), press, found.press, found.json, query=query)


def _record(found: argparse.Namespace) -> str | None:
    name: str | None = found.record
    if name is not None and not name.strip():
        raise UsageError("--record needs the name of a file")
    return name


def _placement(found: argparse.Namespace) -> Placement | None:
    if found.center is not None:
        return Placement(found.center, 0.0 if found.turn is None else found.turn)
    if found.turn is not None:
        raise UsageError("--turn goes with --center x,y; without both, the best placement is taken")
    return None


def _signoff_settings(words: Sequence[str]) -> Settings:
    action = words[0] if words else ""
    parser = signoff_parser(action)
    found = parser.read(words[1:] if action in SIGNOFF_ACTIONS else words)
    order = SignoffOrder(
        action=action,
        record=found.record,
        row=getattr(found, "row", 0),
        as_csv=getattr(found, "csv", False),
        target=getattr(found, "output", None),
    )
    if action not in ("verify", "approve", "reject"):
        return Settings("signoff", (), LoadOptions(), Press(), signoff=order)
    order = replace(
        order,
        cup_name=found.cup,
        placement=_placement(found),
        stage=found.stage,
        by=getattr(found, "by", ""),
        note=getattr(found, "note", ""),
        reason=getattr(found, "reason", ""),
        compares=_says_settings(words[1:], parser),
    )
    if action == "verify" and not found.files and (found.cup or found.stage or order.compares):
        raise UsageError("these options are about a file: brimcheck signoff verify FILE")
    if action == "verify" and order.cup_name is None and order.compares:
        raise UsageError("to compare settings, name the cup as well: --cup NAME")
    return Settings(command="signoff", signoff=order, **_shared_settings(found))


def _says_settings(words: Sequence[str], parser: argparse.ArgumentParser) -> bool:
    """Whether a call gives any option that belongs to the settings of an approval."""
    others = {"--record", "--cup", "--stage", "--by", "--note", "--reason"}
    names = {name for action in parser._actions for name in action.option_strings} - others
    return any(word.partition("=")[0] in names for word in words)


def _shared_settings(found: argparse.Namespace) -> dict[str, Any]:
    if not all(found.files):
        raise UsageError("an empty file name was given")
    _reject_contradictions(found)
    press = press_from(found)
    check_areas(press.cups, press.limits)
    return {
        "files": tuple(found.files),
        "load": _load_options(found),
        "press": press,
        "press_path": found.press,
    }


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
        leave_out=tuple(found.leave_out),
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
