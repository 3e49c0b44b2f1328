"""Drops files on a window as a file manager does: the source's side of XDND 5, by libX11.

``python xdnd.py WINDOW FILE...`` drops at the window's middle; exit 0 once the files have
been taken. https://www.freedesktop.org/wiki/Specifications/XDND/
"""

from __future__ import annotations

import ctypes
import ctypes.util
import sys
import time
from pathlib import Path

CLIENT_MESSAGE, SELECTION_REQUEST, SELECTION_NOTIFY = 33, 30, 31
LIMIT_S = 20.0
XA_ATOM = 4


class ClientMessage(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_int),
        ("serial", ctypes.c_ulong),
        ("send_event", ctypes.c_int),
        ("display", ctypes.c_void_p),
        ("window", ctypes.c_ulong),
        ("message_type", ctypes.c_ulong),
        ("format", ctypes.c_int),
        ("data", ctypes.c_long * 5),
    )


class SelectionRequest(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_int),
        ("serial", ctypes.c_ulong),
        ("send_event", ctypes.c_int),
        ("display", ctypes.c_void_p),
        ("owner", ctypes.c_ulong),
        ("requestor", ctypes.c_ulong),
        ("selection", ctypes.c_ulong),
        ("target", ctypes.c_ulong),
        ("property", ctypes.c_ulong),
        ("time", ctypes.c_ulong),
    )


class SelectionNotify(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_int),
        ("serial", ctypes.c_ulong),
        ("send_event", ctypes.c_int),
        ("display", ctypes.c_void_p),
        ("requestor", ctypes.c_ulong),
        ("selection", ctypes.c_ulong),
        ("target", ctypes.c_ulong),
        ("property", ctypes.c_ulong),
        ("time", ctypes.c_ulong),
    )


class Event(ctypes.Union):
    _fields_ = (
        ("type", ctypes.c_int),
        ("client", ClientMessage),
        ("request", SelectionRequest),
        ("notify", SelectionNotify),
        ("pad", ctypes.c_long * 24),
    )


def library() -> ctypes.CDLL | None:
    """libX11, if this machine has it."""
    name = ctypes.util.find_library("X11")
    return ctypes.CDLL(name) if name else None


class Source:
    """A window of ours that offers files."""

    def __init__(self, x11: ctypes.CDLL, target: int, files: list[str]) -> None:
        self._x, self._target = x11, target
        self._content = "".join(f"{Path(f).as_uri()}\r\n" for f in files).encode()
        x11.XOpenDisplay.restype = ctypes.c_void_p
        x11.XDefaultRootWindow.restype = ctypes.c_ulong
        x11.XCreateSimpleWindow.restype = ctypes.c_ulong
        x11.XInternAtom.restype = ctypes.c_ulong
        display = x11.XOpenDisplay(None)
        assert display, "no display"
        self._display = ctypes.c_void_p(display)
        root = ctypes.c_ulong(x11.XDefaultRootWindow(self._display))
        self._window = x11.XCreateSimpleWindow(self._display, root, 0, 0, 1, 1, 0, 0, 0)
        self._uris = self._atom("text/uri-list")
        own = ctypes.c_ulong(self._window)
        selection = ctypes.c_ulong(self._atom("XdndSelection"))
        x11.XSetSelectionOwner(self._display, selection, own, ctypes.c_ulong(0))

    def _atom(self, name: str) -> int:
        return int(self._x.XInternAtom(self._display, name.encode(), 0))

    def _send(self, name: str, *data: int) -> None:
        event = Event()
        event.client.type = CLIENT_MESSAGE
        event.client.window = self._target
        event.client.message_type = self._atom(name)
        event.client.format = 32
        event.client.data[:] = (self._window, *data, *(0,) * (4 - len(data)))
        target = ctypes.c_ulong(self._target)
        self._x.XSendEvent(self._display, target, 0, ctypes.c_long(0), ctypes.byref(event))
        self._x.XFlush(self._display)

    def drop(self) -> bool:
        """Offer, point, let go; True once the files have been taken."""
        self._send("XdndEnter", 5 << 24, self._uris, 0, 0)
        self._send("XdndPosition", 0, 400 << 16 | 300, 0, self._atom("XdndActionCopy"))
        end = time.monotonic() + LIMIT_S
        while time.monotonic() < end:
            if not self._x.XPending(self._display):
                time.sleep(0.01)
                continue
            event = Event()
            self._x.XNextEvent(self._display, ctypes.byref(event))
            if event.type == SELECTION_REQUEST:
                self._answer(event.request)
            elif event.type == CLIENT_MESSAGE:
                kind = event.client.message_type
                if kind == self._atom("XdndStatus"):
                    assert event.client.data[1] & 1, "the window takes no files"
                    self._send("XdndDrop", 0, 0)
                elif kind == self._atom("XdndFinished"):
                    return True
        return False

    def _answer(self, request: SelectionRequest) -> None:
        to, prop = ctypes.c_ulong(request.requestor), ctypes.c_ulong(request.property)
        kind = ctypes.c_ulong(self._uris)
        size = len(self._content)
        self._x.XChangeProperty(self._display, to, prop, kind, 8, 0, self._content, size)
        event = Event()
        event.notify.type = SELECTION_NOTIFY
        event.notify.requestor = request.requestor
        event.notify.selection = request.selection
        event.notify.target = request.target
        event.notify.property = request.property
        event.notify.time = request.time
        self._x.XSendEvent(self._display, to, 0, ctypes.c_long(0), ctypes.byref(event))
        self._x.XFlush(self._display)


def main() -> int:
    x11 = library()
    if x11 is None:
        return 3
    return 0 if Source(x11, int(sys.argv[1]), sys.argv[2:]).drop() else 1


if __name__ == "__main__":
    sys.exit(main())
