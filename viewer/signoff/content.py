"""The content of a file as a SHA-256."""

from __future__ import annotations

import hashlib

from viewer.artwork.formats.content import opened


def file_sha256(path: str) -> str:
    """SHA-256 of a file's bytes, small hex digits. ArtworkError when it cannot be read."""
    with opened(path) as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
