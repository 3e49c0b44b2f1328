"""A small TOML file, from its bytes to its tables, with one line about whatever is wrong."""

from __future__ import annotations

import tomllib
from typing import Any

from viewer.errors import UsageError


def read_text(path: str, what: str, largest_bytes: int) -> str:
    """The text of a file. ``what`` names its kind in the UsageError that anything raises."""
    try:
        with open(path, "rb") as file:
            content = file.read(largest_bytes + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        raise UsageError(f"{path}: the {what} cannot be read ({reason or error})") from error
    if len(content) > largest_bytes:
        raise UsageError(f"{path}: larger than {largest_bytes // 1024} kB, so it is no {what}")
    try:
        # Some editors put a mark before the text that TOML does not know.
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise UsageError(
            f"{path}: line {line} is not UTF-8 text: save the {what} as UTF-8"
        ) from error


def parse_toml(text: str, source: str, what: str) -> dict[str, Any]:
    """The tables of a text; ``source`` names the file in the UsageError that is raised."""
    try:
        # The line end lets the reader name a line where it would say "end of document".
        return tomllib.loads(text + "\n")
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{source}: not TOML: {error}") from error
    except (ValueError, RecursionError) as error:
        # Endless digits, endless brackets: the reader gives up without naming a line.
        raise UsageError(f"{source}: not a {what}: a value is too long or too deep") from error
