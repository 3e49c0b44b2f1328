"""Where settings and unsaved work are kept, by the customs of the platform."""

from __future__ import annotations

import os

import platformdirs

from viewer.errors import UsageError

CONFIG_VARIABLE = "BRIMCHECK_CONFIG"
"""Environment variable that names another folder for settings and unsaved work."""

_NAME = "brimcheck"
_UNSAVED = "unsaved"


def config_folder() -> str:
    """The folder of the settings; it need not exist. UsageError where there is no home."""
    chosen = os.environ.get(CONFIG_VARIABLE)
    return _absolute(chosen or platformdirs.user_config_dir(_NAME, appauthor=False))


def unsaved_folder() -> str:
    """The folder of unsaved work; it need not exist. UsageError where there is no home."""
    chosen = os.environ.get(CONFIG_VARIABLE)
    base = chosen or platformdirs.user_state_dir(_NAME, appauthor=False)
    return os.path.join(_absolute(base), _UNSAVED)


def make_folder(folder: str) -> None:
    """Make a folder for this user alone, with those above it. UsageError where it cannot be."""
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        raise UsageError(f"{folder}: this folder cannot be made ({reason or error})") from error


def _absolute(folder: str) -> str:
    # Without a home the name would begin at whatever folder the program was started in.
    if not os.path.isabs(folder):
        raise UsageError(
            f"{folder}: is no place to keep settings in: name a whole path in {CONFIG_VARIABLE}"
        )
    return folder
