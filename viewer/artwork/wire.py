"""Messages between the program and its renderer processes.

A message is one JSON object and an optional block of bytes. JSON, not pickle: a
renderer that a hostile file has taken over must not be able to run code in here.
"""

from __future__ import annotations

import json
import struct
from typing import IO, Any

from viewer.errors import BrimcheckError

_HEAD = struct.Struct("<II")
MAX_BLOB_BYTES = 256 * 1024 * 1024


def write_message(stream: IO[bytes], header: dict[str, Any], blob: bytes = b"") -> None:
    """Write one message and flush it."""
    text = json.dumps(header).encode()
    stream.write(_HEAD.pack(len(text), len(blob)))
    stream.write(text)
    if blob:
        stream.write(blob)
    stream.flush()


def read_message(stream: IO[bytes]) -> tuple[dict[str, Any], bytes] | None:
    """Read one message; None at the end of the stream or on a broken message."""
    head = _read_exactly(stream, _HEAD.size)
    if head is None:
        return None
    text_length, blob_length = _HEAD.unpack(head)
    if text_length > MAX_BLOB_BYTES or blob_length > MAX_BLOB_BYTES:
        return None
    text = _read_exactly(stream, text_length)
    blob = _read_exactly(stream, blob_length)
    if text is None or blob is None:
        return None
    try:
        header = json.loads(text)
    except ValueError:
        return None
    return (header, blob) if isinstance(header, dict) else None


def _read_exactly(stream: IO[bytes], count: int) -> bytes | None:
    parts: list[bytes] = []
    while count > 0:
        part = stream.read(count)
        if not part:
            return None
        parts.append(part)
        count -= len(part)
    return b"".join(parts)


def failure_answer(error: Exception) -> dict[str, Any]:
    """What a child process answers in the place of a result, whatever has failed."""
    if isinstance(error, BrimcheckError):
        return {"ok": False, "code": error.code, "message": error.message}
    if isinstance(error, MemoryError):
        return {"ok": False, "code": "memory", "message": "out of memory"}
    # Any failure of a foreign library, named to the parent.
    text = f"{type(error).__name__}: {error}"[:300]
    return {"ok": False, "code": "render-failed", "message": text}
