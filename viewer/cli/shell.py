"""The shell: ``brimcheck [FILE]`` opens the viewer, ``brimcheck check FILE...`` prints,
``brimcheck place FILE`` writes, ``brimcheck sheet FILE`` and ``brimcheck template`` write
sheets to print, ``brimcheck signoff`` keeps approvals, ``brimcheck lesson`` teaches,
``brimcheck size`` answers numbers without a file.

Every expected failure is one line on stderr and exit status 2.
"""

from __future__ import annotations

import os
import shlex
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from viewer.cli.job_check import is_job_name, refuse_own_options
from viewer.cli.measuring import Checked, check_file, expected
from viewer.cli.options import Settings, parse_arguments
from viewer.errors import ArtworkError, BrimcheckError, UsageError
from viewer.report import (
    CAUTION,
    error_to_dict,
    error_to_text,
    fit_to_dict,
    fit_to_text,
    printable,
    to_json,
)

EXIT_FITS = 0
EXIT_DOES_NOT_FIT = 1
EXIT_ERROR = 2
EXIT_INTERRUPTED = 130
EXIT_BROKEN_PIPE = 141
"""What a shell reports for a program ended by a closed pipe."""

_LARGEST_NAME_NUMBER = 9999


def main(argv: Sequence[str] | None = None) -> int:
    """Run one call and return its exit status. Never shows a traceback."""
    try:
        _forgive_narrow_terminals()
        status = _run(sys.argv[1:] if argv is None else argv)
        sys.stdout.flush()
        return status
    except BrimcheckError as error:
        return _complain(error)
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        _silence_stdout()
        return EXIT_BROKEN_PIPE
    except OSError as error:
        return _complain(BrimcheckError(f"cannot write the result: {error.strerror or error}"))


def _run(argv: Sequence[str]) -> int:
    try:
        settings = parse_arguments(argv)
    except SystemExit as leaving:  # argparse has printed --help or --version
        return leaving.code if isinstance(leaving.code, int) else EXIT_FITS
    if settings.command == "check":
        return check(settings)
    if settings.command == "place":
        from viewer.cli.place import place_file

        return place_file(settings)
    if settings.command == "sheet":
        from viewer.cli.sheet import write_sheet_file

        return write_sheet_file(settings)
    if settings.command == "template":
        from viewer.cli.template import write_template_file

        return write_template_file(settings)
    if settings.command == "lesson":
        from viewer.cli.lesson import lesson

        return lesson(settings)
    if settings.command == "signoff":
        from viewer.cli.signoff import sign_off

        return sign_off(settings)
    if settings.query is not None:
        from viewer.cli.size import size

        return size(settings.query, settings.press, as_json=settings.as_json)
    return view(settings)


# --- brimcheck check ------------------------------------------------------------------


def check(settings: Settings) -> int:
    """Judge every file and print the results; a bad file never stops the others."""
    _start_renderers(settings.files[0])
    status = EXIT_FITS
    documents: list[dict[str, Any]] = []
    any_fit = False
    counts: Counter[int] = Counter()
    for index, checked in enumerate(_check_all(settings)):
        status = max(status, _status_of(checked))
        any_fit = any_fit or checked.fit is not None
        counts[_status_of(checked)] += 1
        if settings.as_json:
            documents.append(_to_dict(checked, settings))
            status = max(status, EXIT_ERROR if "error" in documents[-1] else EXIT_FITS)
        else:
            _print_text(checked, is_first=index == 0)
    if settings.as_json:
        print(to_json(documents if _wants_array(settings.files) else documents[0]))
        return status
    if counts.total() > 1:
        print(f"\n{_summary(counts)}")
    if any_fit:
        print(f"\n{CAUTION}")
    return status


def _summary(counts: Counter[int]) -> str:
    """How many files came to what, for a call with several."""
    told = [f"{counts[EXIT_FITS]} fit a cup", f"{counts[EXIT_DOES_NOT_FIT]} do not surely fit"]
    if counts[EXIT_ERROR]:
        told.append(f"{counts[EXIT_ERROR]} could not be read")
    return f"{counts.total()} files: {', '.join(told)}"


def _check_all(settings: Settings) -> Iterator[Checked]:
    for name in settings.files:
        if not os.path.isdir(name):
            yield check_file(name, settings)
            continue
        try:
            paths = _artwork_files(name)
        except Exception as error:
            yield Checked(name, error=expected(name, error))
            continue
        for path in paths:
            yield check_file(path, settings)


def _start_renderers(first: str) -> None:
    """An SVG needs two processes that take a moment to start: begin before the rest."""
    if first.lower().endswith((".svg", ".svgz")) and os.path.isfile(first):
        from viewer.artwork.pool import start_early

        start_early(("cairo", "resvg"))


def _artwork_files(folder: str) -> list[str]:
    from viewer.artwork.load import find_artwork_files

    paths = find_artwork_files(folder)
    if not paths:
        raise ArtworkError(f"{folder}: there is no artwork in this folder", code="no-artwork")
    return paths


def _status_of(checked: Checked) -> int:
    if checked.fit is None:
        return EXIT_ERROR
    if checked.job is not None:
        return EXIT_FITS if checked.job.fits else EXIT_DOES_NOT_FIT
    return EXIT_DOES_NOT_FIT if checked.fit.smallest_cup is None else EXIT_FITS


def _wants_array(files: Sequence[str]) -> bool:
    return len(files) > 1 or os.path.isdir(files[0])


def _to_dict(checked: Checked, settings: Settings) -> dict[str, Any]:
    if checked.fit is None:
        assert checked.error is not None
        return error_to_dict(checked.path, checked.error)
    try:
        found = fit_to_dict(checked.fit, with_curve=settings.with_curve)
        return found if checked.job is None else {**found, "job": checked.job.to_dict()}
    except Exception as error:  # the curve is worked out here, and a batch must go on
        return error_to_dict(checked.path, expected(checked.path, error))


def _print_text(checked: Checked, *, is_first: bool) -> None:
    if not is_first:
        print()
    if checked.fit is not None:
        print(fit_to_text(checked.fit), flush=True)
        if checked.job is not None:
            print(printable(checked.job.to_text()), flush=True)
        return
    assert checked.error is not None
    sys.stdout.flush()
    print(f"brimcheck: {error_to_text(checked.path, checked.error)}", file=sys.stderr, flush=True)


# --- brimcheck [FILE] -------------------------------------------------------------------


def view(settings: Settings) -> int:
    """Open the viewer; without a display print the table and write a picture instead."""
    path = settings.files[0] if settings.files else None
    if path is not None and os.path.isdir(path):
        raise UsageError(
            f"{path} is a folder: open one file, or run brimcheck check {shlex.quote(path)}"
        )
    if path is not None and is_job_name(path):
        refuse_own_options(path, settings.load, settings.press)
    if settings.snapshot is not None:
        refuse_bad_picture_name(settings.snapshot, path)
        return _open_viewer(settings, path, settings.snapshot)
    if has_display(os.environ, sys.platform):
        return _open_viewer(settings, path, None)
    if path is None:
        raise UsageError("no display is available: give a FILE, or use brimcheck check FILE...")
    return _view_without_display(settings, path)


def refuse_bad_picture_name(snapshot: str, path: str | None) -> None:
    """A picture must never take the place of artwork, nor hide under another ending."""
    if not snapshot.lower().endswith(".png"):
        raise UsageError(f"--snapshot {snapshot!r}: the picture is a PNG; give a name in .png")
    same = path is not None and os.path.exists(snapshot) and os.path.exists(path)
    if same and os.path.samefile(snapshot, str(path)):
        raise UsageError(f"--snapshot {snapshot}: that is the artwork itself; give another name")


def has_display(environ: Mapping[str, str], platform: str) -> bool:
    """Whether a window can be opened. On Linux a display server or a real SDL driver says so."""
    if environ.get("SDL_VIDEODRIVER") in ("dummy", "offscreen"):
        return False
    if not platform.startswith("linux"):
        return True
    names = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")
    return any(environ.get(name) for name in names)


def _view_without_display(settings: Settings, path: str) -> int:
    checked = check_file(path, settings)
    if checked.error is not None:
        raise checked.error
    picture = free_picture_name(path, Path.cwd())
    print("no display is available: here is the table, and a picture follows")
    _print_text(checked, is_first=False)
    print(f"\n{CAUTION}", flush=True)
    shown = _open_viewer(settings, path, picture)
    print(f"the picture is in {printable(picture)}")
    return max(shown, _status_of(checked))


def free_picture_name(path: str, folder: Path) -> str:
    """``<name>-brimcheck.png``, numbered where that exists: nothing is overwritten."""
    stem = f"{Path(path).stem}-brimcheck"
    for number in range(1, _LARGEST_NAME_NUMBER):
        name = f"{stem}.png" if number == 1 else f"{stem}-{number}.png"
        if not os.path.lexists(folder / name):
            return name
    raise BrimcheckError(f"no free name for {stem}.png in {folder}")


def _open_viewer(settings: Settings, path: str | None, snapshot: str | None) -> int:
    try:
        from viewer.screen.app import run
    except ImportError as error:
        raise BrimcheckError(f"the viewer cannot start ({error}): install pygame") from error
    status = run(
        path,
        settings.load,
        settings.press,
        snapshot=snapshot,
        size=settings.size_px,
        record=settings.record,
    )
    return int(status or 0)


# --- the terminal -------------------------------------------------------------------------


def _complain(error: BrimcheckError) -> int:
    print(f"brimcheck: {printable(error.message)}", file=sys.stderr)
    return EXIT_ERROR


def _forgive_narrow_terminals() -> None:
    """A file name that the terminal cannot show must not end the run."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _silence_stdout() -> None:
    """After a broken pipe, keep the interpreter from complaining again at its end."""
    try:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, sys.stdout.fileno())
        os.close(null)
    except (OSError, ValueError):
        pass
