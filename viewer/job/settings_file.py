"""Settings on disk. Nothing that may be wrong with them stops the program; it is told."""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, cast

import tomli_w

from viewer.errors import UsageError
from viewer.job.atomic import write_atomically
from viewer.job.folders import config_folder, make_folder
from viewer.job.settings import MOST_RECENT_FILES, THEMES, Calibration, Settings, Theme
from viewer.press.toml_table import Table, shown
from viewer.press.toml_text import parse_toml, read_text

FILE_NAME = "settings.toml"
LARGEST_FILE_BYTES = 256 * 1024

_MOST_SET_ASIDE = 9
_one_at_a_time = threading.Lock()
_MOST_PX = 100_000
_CALIBRATION_KEYS = ("monitor", "size_px", "px_per_mm")
_KEYS = (
    "ui_scale",
    "theme",
    "snapping",
    "recent_files",
    "window_px",
    "last_folder",
    "calibration",
)


@dataclass(frozen=True)
class LoadedSettings:
    """Settings, and one line for the person where something was wrong, else ``""``.

    ``is_unread``: there is a file that could not be read just now, and may be well.
    """

    settings: Settings
    notice: str = ""
    is_unread: bool = False


def settings_path() -> str:
    """The settings file; it need not exist. UsageError where there is no home folder."""
    return os.path.join(config_folder(), FILE_NAME)


def load_settings() -> LoadedSettings:
    """The settings of this user. Never raises for what may be wrong with the file.

    A file with something wrong in it is set aside under another name, and replaced by what
    could be read of it; the rest takes its default.
    """
    try:
        path = settings_path()
    except UsageError as error:
        return LoadedSettings(Settings(), error.message)
    if not os.path.lexists(path):
        return LoadedSettings(Settings())
    try:
        text = read_text(path, "settings file", LARGEST_FILE_BYTES)
    except UsageError as error:
        if isinstance(error.__cause__, OSError):
            notice = f"{error.message}; settings are the usual ones"
            return LoadedSettings(Settings(), notice, is_unread=True)
        return _set_aside(path, Settings(), error.message)
    try:
        settings, problems = _settings_of(parse_toml(text, path, "settings file"), path)
    except UsageError as error:
        return _set_aside(path, Settings(), error.message)
    if problems:
        return _set_aside(path, settings, problems[0])
    return LoadedSettings(settings)


def save_settings(settings: Settings) -> str:
    """Keep settings, in one step. ``""``, or one line on why they could not be kept."""
    try:
        path = settings_path()
        make_folder(os.path.dirname(path))
        write_atomically(path, settings_to_text(settings).encode())
    except UsageError as error:
        return f"the settings are not kept: {error.message}"
    except (ValueError, TypeError) as error:
        # A file name that is no text, for one.
        return f"the settings are not kept: {' '.join(str(error).split())}"
    return ""


def change_settings(change: Callable[[Settings], Settings]) -> LoadedSettings:
    """Load, change and save: what another window has kept meanwhile stays.

    A file that cannot be read is not replaced by a few changed defaults.
    """
    with _one_at_a_time:
        loaded = load_settings()
        changed = change(loaded.settings)
        notice = loaded.notice
        if changed != loaded.settings and not loaded.is_unread:
            notice = save_settings(changed) or notice
    return LoadedSettings(changed, notice, loaded.is_unread)


def settings_to_text(settings: Settings) -> str:
    """The text of the settings file."""
    table: dict[str, Any] = {
        "ui_scale": float(settings.ui_scale),
        "theme": settings.theme,
        "snapping": settings.snapping,
        "recent_files": list(settings.recent_files),
        "last_folder": settings.last_folder,
    }
    if settings.window_px is not None:
        table["window_px"] = list(settings.window_px)
    known = {key: value for key, value in settings.unknown.items() if key not in _KEYS}
    calibrations = [
        {"monitor": c.monitor, "size_px": list(c.size_px), "px_per_mm": float(c.px_per_mm)}
        for c in settings.calibrations
    ]
    table.update(known)
    if calibrations:
        table["calibration"] = calibrations
    return tomli_w.dumps(table)


# --- reading --------------------------------------------------------------------------


def _settings_of(values: dict[str, Any], source: str) -> tuple[Settings, list[str]]:
    """What can be read, and a line for each key that cannot."""
    table = Table(source, {k: v for k, v in values.items() if k in _KEYS}, _KEYS)
    settings = Settings(unknown={k: v for k, v in values.items() if k not in _KEYS})
    problems: list[str] = []
    readers: tuple[tuple[str, Callable[[Settings], Settings]], ...] = (
        ("ui_scale", lambda s: replace(s, ui_scale=table.finite("ui_scale"))),
        ("theme", lambda s: replace(s, theme=cast(Theme, table.choice("theme", THEMES)))),
        ("snapping", lambda s: replace(s, snapping=table.flag("snapping"))),
        ("recent_files", lambda s: replace(s, recent_files=_texts(table, "recent_files"))),
        ("window_px", lambda s: replace(s, window_px=_size_px(table, "window_px"))),
        ("last_folder", lambda s: replace(s, last_folder=table.text("last_folder"))),
        ("calibration", lambda s: replace(s, calibrations=_calibrations(table, source))),
    )
    for key, read in readers:
        if key not in table:
            continue
        try:
            settings = read(settings)
        except UsageError as error:
            about = error.message
            problems.append(about if about.startswith(source) else f"{source}: {key}: {about}")
    return settings, problems


def _texts(table: Table, key: str) -> tuple[str, ...]:
    value = table.raw(key)
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        table.fail(key, f'must be texts, such as ["a.svg", "b.pdf"], not {shown(value)}')
    return tuple(value)[:MOST_RECENT_FILES]


def _size_px(table: Table, key: str) -> tuple[int, int]:
    value = table.raw(key)
    is_size = isinstance(value, list) and len(value) == 2
    if not is_size or not all(type(s) is int and 1 <= s <= _MOST_PX for s in value):
        table.fail(key, f"must be two whole numbers of pixels, [1600, 1000], not {shown(value)}")
    return value[0], value[1]


def _calibrations(table: Table, source: str) -> tuple[Calibration, ...]:
    found = []
    for one in table.tables("calibration", source, _CALIBRATION_KEYS):
        monitor, size_px = one.text("monitor"), _size_px(one, "size_px")
        px_per_mm = one.finite("px_per_mm")
        with one.about():
            found.append(Calibration(monitor, size_px, px_per_mm))
    return tuple(found)


# --- setting aside --------------------------------------------------------------------


def _set_aside(path: str, settings: Settings, problem: str) -> LoadedSettings:
    """Move a bad file out of the way and keep what could be read of it."""
    stem, ending = os.path.splitext(path)
    names = [f"{stem}-set-aside-{number}{ending}" for number in range(1, _MOST_SET_ASIDE + 1)]
    # When all are taken the last one goes; nobody wants the tenth bad file.
    aside = next((name for name in names if not os.path.lexists(name)), names[-1])
    try:
        os.replace(path, aside)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        return LoadedSettings(settings, f"{problem}; it could not be set aside ({reason})")
    with contextlib.suppress(UsageError, ValueError, TypeError):
        if settings != Settings():
            write_atomically(path, settings_to_text(settings).encode())
    return LoadedSettings(settings, f"{problem}; the file is set aside as {aside}")
