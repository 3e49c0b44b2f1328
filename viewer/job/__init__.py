"""Work that is kept: job files, settings, unsaved work, and the files around an artwork."""

from __future__ import annotations

from viewer.job.job import LONGEST_NOTES, Job
from viewer.job.job_file import JOB_ENDING, ArtworkState, artwork_state, read_job, write_job
from viewer.job.neighbors import next_artwork
from viewer.job.recovery import Unsaved, forget_unsaved, keep_unsaved, unsaved_jobs
from viewer.job.settings import Calibration, Settings, Theme
from viewer.job.settings_file import (
    LoadedSettings,
    change_settings,
    load_settings,
    save_settings,
    settings_path,
)
from viewer.job.watch import FileWatch, look_at

__all__ = [
    "JOB_ENDING",
    "LONGEST_NOTES",
    "ArtworkState",
    "Calibration",
    "FileWatch",
    "Job",
    "LoadedSettings",
    "Settings",
    "Theme",
    "Unsaved",
    "artwork_state",
    "change_settings",
    "forget_unsaved",
    "keep_unsaved",
    "load_settings",
    "look_at",
    "next_artwork",
    "read_job",
    "save_settings",
    "settings_path",
    "unsaved_jobs",
    "write_job",
]
