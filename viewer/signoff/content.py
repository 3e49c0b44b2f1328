"""The content of a file as a SHA-256."""

from __future__ import annotations

import hashlib
import os
import stat

from viewer.errors import ArtworkError


def file_sha256(path: str) -> str:
    """SHA-256 of a file's bytes, small hex digits. ArtworkError when it cannot be read."""
    if os.path.isdir(path):
        raise ArtworkError(f"{path}: is a folder; give a file", code="is-folder")
    digest = hashlib.sha256()
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            # A pipe that nobody writes to would be waited for, for ever.
            raise ArtworkError(f"{path}: is no ordinary file", code="unreadable")
        with open(path, "rb") as stream:
            while block := stream.read(1 << 20):
                digest.update(block)
    except FileNotFoundError:
        raise ArtworkError(f"{path}: no such file; check the name", code="no-such-file") from None
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise ArtworkError(f"{path}: {reason}; check its rights", code="unreadable") from None
    return digest.hexdigest()
