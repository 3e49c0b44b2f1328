"""The words of the lessons, all from one file, so that they can be translated."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from viewer.errors import UsageError

ENGLISH = Path(__file__).parent / "words" / "en.toml"
ENGINE = "engine"
"""The section with the words around all lessons: stages, buttons, right and wrong."""
SHARED = "shared"
"""The section with the words that any lesson may use besides its own."""


@dataclass(frozen=True, eq=False)
class Words:
    """One section: the words of one lesson, or those that all share.

    A word that is missing, or that asks for a value nobody gave, raises KeyError: a test
    goes through all of them.
    """

    section: str
    entries: Mapping[str, Any]

    def say(self, key: str, **values: object) -> str:
        """A text, its ``{names}`` replaced by values."""
        return self._filled(key, self._entry(key, str), values)

    def lines(self, key: str, **values: object) -> tuple[str, ...]:
        """A list of texts, as those of the steps."""
        return tuple(self._filled(key, line, values) for line in self._entry(key, list))

    def has(self, key: str) -> bool:
        """Whether there is such a text."""
        return key in self.entries

    def on_paper(self) -> Words:
        """The same words as they read on paper: ``x-paper``, where there is one, stands for x."""
        entries = self.entries
        found = {key: entries.get(f"{key}-paper", entry) for key, entry in entries.items()}
        return Words(self.section, found)

    def _entry(self, key: str, kind: type) -> Any:
        found = self.entries.get(key)
        if not isinstance(found, kind):
            raise KeyError(f"[{self.section}] has no {key}")
        return found

    def _filled(self, key: str, text: str, values: Mapping[str, object]) -> str:
        if not isinstance(text, str):
            raise KeyError(f"[{self.section}] {key} holds {text!r}, which is no text")
        try:
            return text.format_map(values)
        except KeyError as error:
            raise KeyError(f"[{self.section}] {key} asks for {error}") from None
        except (ValueError, IndexError, AttributeError) as error:
            raise KeyError(f"[{self.section}] {key}: {error}") from None


@dataclass(frozen=True, eq=False)
class Texts:
    """All words of one language."""

    sections: Mapping[str, Mapping[str, Any]]

    def of(self, section: str) -> Words:
        """The words of a lesson, or of the engine."""
        if section not in self.sections:
            raise KeyError(f"there is no section [{section}]")
        return Words(section, {**self.sections.get(SHARED, {}), **self.sections[section]})


@cache
def load_texts(path: Path = ENGLISH) -> Texts:
    """Read the words of a language. UsageError where there is no such file, or it is broken."""
    try:
        sections = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{path}: cannot be read: {error.strerror or error}") from None
    except ValueError as error:  # not UTF-8, or not TOML
        raise UsageError(f"{path}: not a file of words: {error}; mend it there") from None
    loose = [name for name, entries in sections.items() if not isinstance(entries, dict)]
    if loose:
        raise UsageError(f"{path}: {loose[0]!r} stands in no section; put it under one in [ ]")
    return Texts(sections)
