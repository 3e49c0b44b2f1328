"""What a half-typed path may become: folders, artwork and job files that begin like it."""

from __future__ import annotations

import os
from dataclasses import dataclass

from viewer.artwork.formats.sniff import ARTWORK_EXTENSIONS
from viewer.job import JOB_ENDING

ENDINGS = (*sorted(ARTWORK_EXTENSIONS), JOB_ENDING)
"""What is offered; any other file can be typed all the same."""
MOST_OFFERED = 8
_MOST_LOOKED_AT = 5000


@dataclass(frozen=True)
class Hint:
    """``common``: the text as far as it is certain. ``offered``: whole texts, in order."""

    common: str
    offered: tuple[str, ...]
    is_more: bool = False


def plain_path(text: str) -> str:
    """A path as typed or pasted, without quotes around it and with its home folder."""
    return os.path.expanduser(text.strip().strip("\"'"))


def path_hint(text: str) -> Hint:
    """How a typed path may go on. Nothing for a folder that cannot be listed."""
    folder, begun = os.path.split(text)
    found = sorted(_entries(plain_path(folder) or os.curdir, begun), key=str.casefold)
    whole = [os.path.join(folder, name) if folder else name for name in found]
    if not whole:
        return Hint(text, ())
    common = _common(whole)
    if len(common) < len(text):
        common = text  # they differ in large and small letters only
    return Hint(common, tuple(whole[:MOST_OFFERED]), len(whole) > MOST_OFFERED)


def _common(texts: list[str]) -> str:
    """How all of them begin, letter by letter."""
    first, last = min(texts), max(texts)
    for index, letter in enumerate(first):
        if index >= len(last) or last[index] != letter:
            return first[:index]
    return first


def _entries(folder: str, begun: str) -> list[str]:
    names = []
    wanted = begun.casefold()
    try:
        with os.scandir(folder) as entries:
            for count, entry in enumerate(entries):
                if count >= _MOST_LOOKED_AT:
                    break
                name = entry.name
                if not name.casefold().startswith(wanted):
                    continue
                if name.startswith(".") and not begun.startswith("."):
                    continue
                if entry.is_dir():
                    names.append(name + os.sep)
                elif name.casefold().endswith(ENDINGS):
                    names.append(name)
    except (OSError, ValueError):
        return []
    return names
