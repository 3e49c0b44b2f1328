"""The system's dialog for files, in a child process, so that the window never waits for it."""

from __future__ import annotations

import contextlib
import importlib.util
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence

from viewer.artwork.formats.sniff import ARTWORK_EXTENSIONS

_CHILD = """
import sys
import tkinter
from tkinter import filedialog
root = tkinter.Tk()
root.withdraw()
root.attributes("-topmost", True)
# tk's own dialog lists hidden folders unless told otherwise; other systems have none to tell.
root.tk.eval("catch {tk_getOpenFile -none}; set ::tk::dialog::file::showHiddenVar 0")
kinds = [("artwork and jobs", sys.argv[2].split()), ("all files", "*")]
found = filedialog.askopenfilenames(
    parent=root, title=sys.argv[3], initialdir=sys.argv[1] or None, filetypes=kinds
)
sys.stdout.buffer.write("\\0".join(found).encode("utf-8", "surrogateescape"))
"""
TITLE = "Open artwork or a job"
_ENDINGS = (*sorted(ARTWORK_EXTENSIONS), ".toml")
PATTERNS = " ".join(f"*{ending} *{ending.upper()}" for ending in _ENDINGS)


def can_ask(environ: Mapping[str, str], platform: str) -> bool:
    """Whether the dialog can be shown: tkinter is there, and a display that it knows."""
    if environ.get("SDL_VIDEODRIVER") in ("dummy", "offscreen"):
        return False
    if platform.startswith("linux") and not environ.get("DISPLAY"):
        return False
    return all(importlib.util.find_spec(name) is not None for name in ("tkinter", "_tkinter"))


class FileChooser:
    """Asks for files with the system's dialog. ``command``: how the child is called."""

    def __init__(self, wake: Callable[[], None], command: Sequence[str] | None = None) -> None:
        self._wake = wake
        self._command = command
        self._lock = threading.Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._found: tuple[str, ...] = ()

    @property
    def is_available(self) -> bool:
        """Whether there is such a dialog here."""
        return self._command is not None or can_ask(os.environ, sys.platform)

    @property
    def is_open(self) -> bool:
        """Whether it is shown now."""
        return self._child is not None

    def ask(self, folder: str) -> bool:
        """Show it; False where that is not possible. It stays the only one."""
        if self._child is not None:
            return True
        command = self._command
        if command is None:
            # Isolated: nothing in the folder that the program was started in counts.
            command = [sys.executable, "-I", "-c", _CHILD]
        try:
            child = subprocess.Popen(
                [*command, folder, PATTERNS, TITLE],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
        except OSError:
            return False
        self._child = child
        threading.Thread(target=self._wait, args=(child,), name="ask-file", daemon=True).start()
        return True

    def take(self) -> tuple[str, ...]:
        """The files chosen, once; none where nothing was."""
        with self._lock:
            found, self._found = self._found, ()
            return found

    def cancel(self) -> None:
        """Close the dialog."""
        with self._lock:
            child, self._child = self._child, None
            self._found = ()
        if child is not None:
            with contextlib.suppress(OSError):
                child.terminate()

    def _wait(self, child: subprocess.Popen[bytes]) -> None:
        output, _ = child.communicate()
        names = tuple(os.fsdecode(name) for name in output.split(b"\0") if name)
        with self._lock:
            if self._child is not child:
                return
            self._child = None
            self._found = names if child.returncode == 0 else ()
        self._wake()
