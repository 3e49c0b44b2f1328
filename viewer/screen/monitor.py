"""Which monitor the window is on, and what the system's theme is, as far as can be told."""

from __future__ import annotations

import contextlib
import shutil
import subprocess
import sys
from dataclasses import dataclass

import pygame

from viewer.screen.theme import DARK, LIGHT

ASK_S = 0.5
"""So long a question to the system may take; the window must not wait for it."""


_KEPT: list[object] = []
"""One small thing for each time the window was moved to another place."""


@dataclass(frozen=True)
class Monitor:
    """``name`` tells monitors of one computer apart; ``size_px``: its resolution."""

    name: str
    size_px: tuple[int, int]


def present_monitor() -> Monitor | None:
    """The monitor that the window is on; None where there is none.

    No system call tells a monitor's true size reliably, and pygame tells no names: the
    number of the display and its resolution have to do.
    """
    if not pygame.display.get_init():
        return None
    sizes = pygame.display.get_desktop_sizes()
    if not sizes:
        return None
    index = min(_window_display(), len(sizes) - 1)
    width, height = sizes[index]
    if width < 1 or height < 1:
        return None
    return Monitor(f"display {index + 1}", (int(width), int(height)))


def _window_display() -> int:
    """Which display the window is on, counted from 0."""
    # Not public in pygame, so it may go; then there is one display as far as we know.
    with contextlib.suppress(Exception):
        from pygame._sdl2 import video

        window = video.Window.from_display_module()
        # SDL's window keeps pointing at it, and every event of the window looks there: were
        # it let go of, the next event would end the program with a segmentation fault.
        _KEPT.append(window)
        return max(0, int(window.display_index))
    return 0


def system_theme() -> str:
    """What the system prefers, ``"dark"`` or ``"light"``; dark where it does not say."""
    with contextlib.suppress(Exception):
        if sys.platform == "win32":
            return _windows_theme()
        if sys.platform == "darwin":
            told = _told("defaults", "read", "-g", "AppleInterfaceStyle")
            return DARK if "dark" in told.lower() else LIGHT
        told = _told("gsettings", "get", "org.gnome.desktop.interface", "color-scheme")
        return LIGHT if "light" in told else DARK
    return DARK


def _told(*command: str) -> str:
    if shutil.which(command[0]) is None:
        return ""
    done = subprocess.run(command, capture_output=True, text=True, timeout=ASK_S, check=False)
    return done.stdout


def _windows_theme() -> str:
    import winreg

    place = r"Software\Microsoft\Windows\CurrentVersion\Themes\Personalize"
    with winreg.OpenKey(winreg.HKEY_CURRENT_USER, place) as key:  # type: ignore[attr-defined,unused-ignore]
        is_light, _ = winreg.QueryValueEx(key, "AppsUseLightTheme")  # type: ignore[attr-defined,unused-ignore]
    return LIGHT if is_light else DARK
