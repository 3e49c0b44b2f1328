"""A job file at the shell: its artwork, on its press, placed as it says."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import Any

from viewer.artwork.model import Artwork, ArtworkWarning, LoadOptions
from viewer.errors import ArtworkError, UsageError
from viewer.fit import Fit, PlacedFit, Verdict, fit_artwork, verdict_words
from viewer.press import Press
from viewer.units import format_clearance_mm


@dataclass(frozen=True)
class JobResult:
    """A job judged. ``fit``: all its cups, each at its best; ``placed``: its own cup, as it
    is placed. ``center_mm`` and ``turn_deg`` are that placement.
    """

    path: str
    cup_name: str
    center_mm: tuple[float, float]
    turn_deg: float
    fit: Fit
    placed: PlacedFit

    @property
    def fits(self) -> bool:
        """Whether the job fits as it is placed."""
        return self.placed.verdict is Verdict.FITS

    def to_text(self) -> str:
        """One line for a person."""
        x, y = self.center_mm
        words = verdict_words(self.placed.verdict, self.placed.tight)
        causes = "".join(f"; cannot be sure: {cause}" for cause in self.placed.causes)
        return (
            f"  the job places it on the {self.cup_name} cup, page point ({x:.2f}, {y:.2f}) mm"
            f" under the cup's centre, turned {self.turn_deg:.1f} deg: {words},"
            f" clearance {format_clearance_mm(self.placed.clearance_mm)} mm{causes}"
        )

    def to_dict(self) -> dict[str, Any]:
        """The same for the JSON result, unrounded."""
        return {
            "file": self.path,
            "cup": self.cup_name,
            "center_mm": list(self.center_mm),
            "turn_deg": self.turn_deg,
            "verdict": str(self.placed.verdict),
            "tight": self.placed.tight,
            "clearance_mm": self.placed.clearance_mm,
            "causes": list(self.placed.causes),
        }


def is_job_name(path: str) -> bool:
    """Whether a file is a job file, by its name."""
    return path.lower().endswith(".toml")


def refuse_own_options(path: str, load: LoadOptions, press: Press) -> None:
    """A job file says all of it itself; what the call says besides must not win silently."""
    if load != LoadOptions() or press != Press():
        raise UsageError(
            f"{path} is a job file, which says itself how to read its artwork and on which"
            " press: leave the options out, or name the artwork instead"
        )


def check_job(path: str) -> JobResult:
    """Measure and judge the artwork of a job file. Every failure is a BrimcheckError that
    is no UsageError, so that it does not end a batch.
    """
    from viewer.job import read_job
    from viewer.screen.job_session import restored
    from viewer.screen.model import start_session, with_fit

    try:
        job = read_job(path)
    except UsageError as error:
        raise ArtworkError(error.message, code="bad-job") from error
    if not os.path.isfile(job.artwork_path):
        raise ArtworkError(f"{path}: its artwork {job.artwork_path} is missing", code="no-artwork")
    artwork = _loaded(job.artwork_path, job.load, job.sha256)
    session = restored(start_session(artwork, job.press), job)
    if not session.is_fit_current:
        cups = [cup_fit.cup for cup_fit in session.fit.cups]
        tolerance_mm = job.press.setup_tolerance_mm
        found = fit_artwork(session.artwork, cups, tolerance_mm, session.limits)
        session = with_fit(session, found)
    placement = job.placement
    return JobResult(
        path=path,
        cup_name=session.cup.name,
        center_mm=placement.center_mm,
        turn_deg=placement.turn_deg,
        fit=session.fit,
        placed=session.placed()[session.cup_index],
    )


def _loaded(path: str, options: LoadOptions, sha256: str) -> Artwork:
    from viewer.artwork.load import load_artwork

    artwork = load_artwork(path, options)
    if artwork.sha256 == sha256:
        return artwork
    changed = ArtworkWarning(
        "changed-since-job", "the artwork has changed since this job was saved"
    )
    return replace(artwork, warnings=(*artwork.warnings, changed))
