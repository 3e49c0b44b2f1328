"""A session as a job that can be kept, and back. Pure functions on values."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace

from viewer.fit import Fit, Placement, fit_artwork
from viewer.job import Job
from viewer.press.cups import Cup
from viewer.press.limits import PressLimits
from viewer.screen.cup_fields import cups_of
from viewer.screen.model import MAX_SCALE, MIN_SCALE, Session, with_cup, with_scale


def job_of(session: Session, notes: str) -> Job:
    """All that a person has decided in a session. BrimcheckError where it cannot be kept."""
    loaded = session.loaded
    return Job(
        artwork_path=os.path.abspath(loaded.path),
        sha256=loaded.sha256,
        load=loaded.options,
        press=replace(session.press, limits=session.limits, cups=cups_of(session)),
        cup_name=session.cup.name,
        placement=session.placement,
        scale=session.scale,
        notes=notes,
    )


def restored(fresh: Session, job: Job) -> Session:
    """The session of a job's artwork, read just now, exactly as it was kept.

    The placement is not moved to where the press allows it: a changed artwork may have its
    datum elsewhere, and then the window says so. A scale out of the window's range is taken
    to its nearest end.
    """
    names = [cup_fit.cup.name for cup_fit in fresh.fit.cups]
    session = with_cup(fresh, names.index(job.cup_name))
    session = with_scale(session, job.scale)
    return replace(session, placement=Placement(*_placed(job)))


def _placed(job: Job) -> tuple[tuple[float, float], float]:
    return job.placement.center_mm, job.placement.turn_deg


def is_scale_kept(job: Job) -> bool:
    """Whether the window can show the job's scale as it is."""
    return MIN_SCALE <= job.scale <= MAX_SCALE


def rebaser(fresh: Session) -> Callable[[Session], Session | None]:
    """Takes a session of the same file's earlier content to its new content.

    Cups, placement (in mm of the page), scale and limits stay as they were. None for a
    session that was read with other options: nobody knows what it would be now.
    """
    scaled: dict[float, Session] = {1.0: fresh}
    fits: dict[tuple[float, tuple[Cup, ...]], Fit] = {(1.0, cups_of(fresh)): fresh.fit}

    def rebased(before: Session) -> Session | None:
        if before.loaded.options != fresh.loaded.options:
            return None
        scale, cups = before.scale, cups_of(before)
        if scale not in scaled:
            scaled[scale] = with_scale(fresh, scale)
        now = scaled[scale]
        if (scale, cups) not in fits:
            # What pad and plate mean is left to a thread.
            limits = before.limits if before.limits.is_cup_alone else PressLimits()
            tolerance_mm = before.press.setup_tolerance_mm
            fits[scale, cups] = fit_artwork(now.artwork, cups, tolerance_mm, limits)
        fit = fits[scale, cups]
        return replace(before, loaded=now.loaded, artwork=now.artwork, fit=fit, others=now.others)

    return rebased
