"""The shell: ``brimcheck [FILE]`` opens the viewer, ``brimcheck check FILE...`` prints.

Every expected failure is one line on stderr and exit status 2.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from viewer.artwork.model import Artwork, LoadOptions, Progress
from viewer.cli.options import Settings, parse_arguments
from viewer.errors import ArtworkError, BrimcheckError, UsageError
from viewer.fit import Fit, fit_artwork
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

_QUIET_SECONDS = 1.0
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
    return check(settings) if settings.command == "check" else view(settings)


# --- brimcheck check ------------------------------------------------------------------


@dataclass(frozen=True)
class Checked:
    """One file's outcome: a fit, or why there is none."""

    path: str
    fit: Fit | None = None
    error: BrimcheckError | None = None


def check(settings: Settings) -> int:
    """Judge every file and print the results; a bad file never stops the others."""
    _start_renderers(settings.files[0])
    status = EXIT_FITS
    documents: list[dict[str, Any]] = []
    any_fit = False
    for index, checked in enumerate(_check_all(settings)):
        status = max(status, _status_of(checked))
        any_fit = any_fit or checked.fit is not None
        if settings.as_json:
            documents.append(_to_dict(checked, settings))
        else:
            _print_text(checked, is_first=index == 0)
    if settings.as_json:
        print(to_json(documents if _wants_array(settings.files) else documents[0]))
    elif any_fit:
        print(f"\n{CAUTION}")
    return status


def _check_all(settings: Settings) -> Iterator[Checked]:
    for name in settings.files:
        if not os.path.isdir(name):
            yield check_file(name, settings)
            continue
        try:
            paths = _artwork_files(name)
        except Exception as error:
            yield Checked(name, error=_expected(name, error))
            continue
        for path in paths:
            yield check_file(path, settings)


def check_file(path: str, settings: Settings) -> Checked:
    """Measure and judge one file. Only an interrupt gets out of here."""
    progress = _Ticker(path)
    try:
        artwork = load_artwork(path, settings.load, progress=progress.tick)
        return Checked(path, fit=fit_artwork(artwork, settings.cups, settings.setup_tolerance_mm))
    except Exception as error:
        return Checked(path, error=_expected(path, error))
    finally:
        progress.clear()


def _start_renderers(first: str) -> None:
    """An SVG needs two processes that take a moment to start: begin before the rest."""
    if first.lower().endswith((".svg", ".svgz")) and os.path.isfile(first):
        from viewer.artwork.pool import start_early

        start_early(("cairo", "resvg"))


def load_artwork(path: str, options: LoadOptions, progress: Progress | None = None) -> Artwork:
    """Load a file; the loader is imported only here, so that ``--help`` stays quick."""
    from viewer.artwork.load import load_artwork as load

    return load(path, options, progress=progress)


def _artwork_files(folder: str) -> list[str]:
    from viewer.artwork.load import find_artwork_files

    paths = find_artwork_files(folder)
    if not paths:
        raise ArtworkError(f"{folder}: there is no artwork in this folder", code="no-artwork")
    return paths


def _expected(path: str, error: Exception) -> BrimcheckError:
    """Any failure as one that a person may read; a batch must not end half-way."""
    if isinstance(error, BrimcheckError):
        return error
    if isinstance(error, OSError):
        return ArtworkError(f"{path}: {error.strerror or error}")
    kind = type(error).__name__
    detail = f"{kind}: {error}" if str(error) else kind
    return ArtworkError(f"{path}: could not be measured ({detail})", code="internal")


def _status_of(checked: Checked) -> int:
    if checked.fit is None:
        return EXIT_ERROR
    return EXIT_DOES_NOT_FIT if checked.fit.smallest_cup is None else EXIT_FITS


def _wants_array(files: Sequence[str]) -> bool:
    return len(files) > 1 or os.path.isdir(files[0])


def _to_dict(checked: Checked, settings: Settings) -> dict[str, Any]:
    if checked.fit is not None:
        return fit_to_dict(checked.fit, with_curve=settings.with_curve)
    assert checked.error is not None
    return error_to_dict(checked.path, checked.error)


def _print_text(checked: Checked, *, is_first: bool) -> None:
    if not is_first:
        print()
    if checked.fit is not None:
        print(fit_to_text(checked.fit), flush=True)
        return
    assert checked.error is not None
    sys.stdout.flush()
    print(f"brimcheck: {error_to_text(checked.path, checked.error)}", file=sys.stderr, flush=True)


# --- brimcheck [FILE] -------------------------------------------------------------------


def view(settings: Settings) -> int:
    """Open the viewer; without a display print the table and write a picture instead."""
    path = settings.files[0] if settings.files else None
    if path is not None and os.path.isdir(path):
        raise UsageError(f"{path} is a folder: open one file, or run brimcheck check {path}")
    if settings.snapshot is not None:
        _refuse_bad_picture_name(settings.snapshot, path)
        return _open_viewer(settings, path, settings.snapshot)
    if has_display(os.environ, sys.platform):
        return _open_viewer(settings, path, None)
    if path is None:
        raise UsageError("no display is available: give a FILE, or use brimcheck check FILE...")
    return _view_without_display(settings, path)


def _refuse_bad_picture_name(snapshot: str, path: str | None) -> None:
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
    print(f"no display is available: here is the table, and the picture is in {printable(picture)}")
    _print_text(checked, is_first=False)
    print(f"\n{CAUTION}", flush=True)
    shown = _open_viewer(settings, path, picture)
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
        settings.cups,
        settings.setup_tolerance_mm,
        snapshot=snapshot,
        size=settings.size_px,
    )
    return int(status or 0)


# --- the terminal -------------------------------------------------------------------------


class _Ticker:
    """Progress on a terminal's stderr, once a file has taken a second."""

    def __init__(self, path: str) -> None:
        self._name = printable(os.path.basename(path))[:40]
        self._started_s = time.monotonic()
        self._shown_width = 0

    def tick(self, what: str, fraction: float) -> None:
        """Show how far it is; quiet at first, and where nobody watches."""
        if time.monotonic() - self._started_s < _QUIET_SECONDS or not sys.stderr.isatty():
            return
        line = f"{self._name}: {printable(what)[:30]} {min(max(fraction, 0.0), 1.0):.0%}"
        sys.stderr.write("\r" + line.ljust(self._shown_width))
        sys.stderr.flush()
        self._shown_width = len(line)

    def clear(self) -> None:
        """Leave the line empty again."""
        if self._shown_width:
            sys.stderr.write("\r" + " " * self._shown_width + "\r")
            sys.stderr.flush()


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
