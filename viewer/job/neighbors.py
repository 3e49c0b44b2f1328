"""The next and the previous artwork in a folder, in the order that a person would list them."""

from __future__ import annotations

import os
import re

from viewer.artwork.formats.sniff import HEAD_BYTES, sniff_format
from viewer.artwork.load import find_artwork_files
from viewer.errors import ArtworkError

_Key = tuple[tuple[str | int, ...], str]


def next_artwork(path: str, step: int = 1) -> str | None:
    """The artwork ``step`` files after ``path`` in its folder (before it, when negative).

    Files are in natural order (mug 2 before mug 10). One whose content is no artwork is
    passed over. None where there is no such file; ``path`` itself need not exist any more.
    A folder that cannot be listed raises ArtworkError.
    """
    folder, name = os.path.split(path)
    here = natural_key(name)
    names = [os.path.basename(p) for p in find_artwork_files(folder or os.curdir)]
    names = sorted((n for n in names if not _is_same(folder, n, name)), key=natural_key)
    if step >= 0:
        ahead = [n for n in names if natural_key(n) > here]
    else:
        ahead = [n for n in reversed(names) if natural_key(n) < here]
    left = abs(step)
    for candidate in (os.path.join(folder, n) for n in ahead):
        left -= _is_artwork(candidate)
        if left <= 0:
            return candidate if step else None
    return None


def natural_key(name: str) -> _Key:
    """A key to sort names by: digits as numbers, case aside, then by the name itself."""
    pieces = re.split("([0-9]+)", name.casefold())
    # Text and numbers take turns, so that like is compared with like.
    return tuple(int(p) if i % 2 else p for i, p in enumerate(pieces)), name


def _is_same(folder: str, name: str, other: str) -> bool:
    """Whether two names are one file: on some systems A.svg and a.svg are."""
    if name == other:
        return True
    if name.casefold() != other.casefold():
        return False
    try:
        return os.path.samefile(os.path.join(folder, name), os.path.join(folder, other))
    except OSError:
        return False


def _is_artwork(path: str) -> bool:
    # Opening a pipe would wait for whoever writes to it.
    if not os.path.isfile(path):
        return False
    try:
        with open(path, "rb") as file:
            return sniff_format(file.read(HEAD_BYTES)) is not None
    except (OSError, ArtworkError):
        return False
