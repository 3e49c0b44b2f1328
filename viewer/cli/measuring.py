"""A file measured and judged, with its progress on the terminal."""

from __future__ import annotations

import os
import sys
import time
from dataclasses import dataclass

from viewer.artwork.model import Artwork, LoadOptions, Progress
from viewer.cli.job_check import JobResult, check_job, is_job_name, refuse_own_options
from viewer.cli.options import Settings
from viewer.errors import ArtworkError, BrimcheckError, UsageError
from viewer.fit import Fit, fit_artwork
from viewer.report import printable

_QUIET_SECONDS = 1.0


@dataclass(frozen=True)
class Checked:
    """One file's outcome: a fit, or why there is none."""

    path: str
    fit: Fit | None = None
    error: BrimcheckError | None = None
    job: JobResult | None = None
    """What a job file says besides, where ``path`` is one."""


def check_file(path: str, settings: Settings) -> Checked:
    """Measure and judge one file, artwork or a job. An interrupt gets out of here, and a
    UsageError about the press: that is the call's fault, and the same for every file.
    """
    if is_job_name(path):
        return _check_job(path, settings)
    try:
        artwork = measure(path, settings)
    except BrimcheckError as error:
        return Checked(path, error=error)
    try:
        return Checked(path, fit=fit_measured(artwork, settings))
    except UsageError:
        raise
    except Exception as error:
        return Checked(path, error=expected(path, error))


def _check_job(path: str, settings: Settings) -> Checked:
    refuse_own_options(path, settings.load, settings.press)
    try:
        result = check_job(path)
    except Exception as error:
        return Checked(path, error=expected(path, error))
    return Checked(path, fit=result.fit, job=result)


def measure(path: str, settings: Settings) -> Artwork:
    """Load one file at true scale. Every failure is a BrimcheckError."""
    progress = _Ticker(path)
    try:
        return load_artwork(path, settings.load, progress=progress.tick)
    except Exception as error:
        raise expected(path, error) from error
    finally:
        progress.clear()


def fit_measured(artwork: Artwork, settings: Settings) -> Fit:
    """Judge artwork as the call says. Limits that leave no image area raise UsageError."""
    press = settings.press
    return fit_artwork(
        artwork,
        press.cups,
        setup_tolerance_mm=press.setup_tolerance_mm,
        limits=press.limits,
    )


def load_artwork(path: str, options: LoadOptions, progress: Progress | None = None) -> Artwork:
    """Load a file; the loader is imported only here, so that ``--help`` stays quick."""
    from viewer.artwork.load import load_artwork as load

    return load(path, options, progress=progress)


def expected(path: str, error: Exception) -> BrimcheckError:
    """Any failure as one that a person may read; a batch must not end half-way."""
    if isinstance(error, BrimcheckError):
        return error
    if isinstance(error, OSError):
        return ArtworkError(f"{path}: {error.strerror or error}")
    kind = type(error).__name__
    detail = f"{kind}: {error}" if str(error) else kind
    return ArtworkError(f"{path}: could not be measured ({detail})", code="internal")


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
