"""A file's bytes, read once: what is measured is what the SHA-256 is of.

A file may be saved anew, or a link be set to another one, at any moment. Whoever reads it
twice may measure the one content and sign the other.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from viewer.errors import ArtworkError

MAX_FILE_BYTES = 512 * 1024 * 1024


@dataclass(frozen=True)
class Content:
    """All of a file as it was at one reading."""

    data: bytes

    @cached_property
    def sha256(self) -> str:
        """64 digits."""
        return hashlib.sha256(self.data).hexdigest()

    def stream(self) -> io.BytesIO:
        """The bytes to be read like a file; they are not copied."""
        return io.BytesIO(self.data)


@contextlib.contextmanager
def opened(path: str) -> Iterator[io.BufferedReader]:
    """An ordinary file, open for reading. ArtworkError in one line where that cannot be."""
    if os.path.isdir(path):
        raise ArtworkError(f"{path}: is a folder; give a file", code="is-folder")
    try:
        # A pipe that nobody writes to would else be waited for at once, and for ever.
        if not stat.S_ISREG(os.stat(path).st_mode):
            raise ArtworkError(f"{path}: is no ordinary file; save it as one", code="unreadable")
        with open(path, "rb") as stream:
            yield stream
    except FileNotFoundError:
        raise ArtworkError(f"{path}: no such file; check the name", code="no-such-file") from None
    except PermissionError:
        raise ArtworkError(f"{path}: may not be read; check its rights", code="no-access") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be read"
        raise ArtworkError(f"{path}: {reason}", code="unreadable") from None


def read_content(path: str, most: int | None = None) -> Content:
    """Read a file, or its first ``most`` bytes. ArtworkError in one line where it cannot be."""
    with opened(path) as stream:
        data = stream.read(MAX_FILE_BYTES + 1 if most is None else most)
    if len(data) > MAX_FILE_BYTES:
        name = os.path.basename(path) or path
        raise ArtworkError(f"{name}: larger than 512 MB", code="too-large")
    return Content(data)
