"""One table of a press file, read key by key with messages that an operator understands.

Every message names the file, the table and the key, says what is wrong there and what
is allowed instead.
"""

from __future__ import annotations

import difflib
import math
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, NoReturn

from viewer.errors import UsageError
from viewer.press.limits import LARGEST_MM

_LONGEST_NAME = 60
_LONGEST_QUOTE = 40


class Table:
    """The values of one TOML table; ``place`` says where it stands, for messages.

    ``prefix`` is what a table in it has before its own name (``press.``); the tables of a
    file's top level have nothing there. Keys not in ``allowed`` raise UsageError at once.
    """

    def __init__(
        self, place: str, values: Mapping[str, Any], allowed: Sequence[str], prefix: str = ""
    ) -> None:
        self.place = place
        self._values = values
        self._prefix = prefix
        for key in values:
            if key not in allowed:
                close = difflib.get_close_matches(key, allowed, 1)
                hint = f"did you mean {close[0]}? " if close else ""
                raise UsageError(
                    f"{place}: unknown key {shown(key)}; {hint}allowed are {', '.join(allowed)}"
                )

    def __contains__(self, key: str) -> bool:
        return key in self._values

    def called(self, name: str) -> Table:
        """The same table with the name that it was found to have in its messages."""
        return Table(f"{self.place} ({name})", self._values, tuple(self._values), self._prefix)

    def fail(self, key: str, problem: str) -> NoReturn:
        """Raise UsageError about one key."""
        raise UsageError(f"{self.place}: {key} {problem}")

    @contextmanager
    def about(self, key: str = "") -> Iterator[None]:
        """Put this table, and a key of it, before what a value says is wrong with it."""
        try:
            yield
        except UsageError as error:
            where = f"{self.place}: {key}" if key else self.place
            raise UsageError(f"{where}: {error.message}") from error

    # --- values -------------------------------------------------------------------

    def name(self, key: str, default: str | None = None) -> str:
        """A name of one line; without a default the key must be there."""
        if key not in self._values and default is not None:
            return default
        text = self.text(key).strip()
        if not text or len(text) > _LONGEST_NAME or not text.isprintable():
            self.fail(key, f"must be 1 to {_LONGEST_NAME} printable characters, not {shown(text)}")
        return text

    def text(self, key: str) -> str:
        """Text in quotes, which must be there."""
        value = self._present(key)
        if not isinstance(value, str):
            self.fail(key, f"must be text in quotes, not {shown(value)}")
        return value

    def choice(self, key: str, choices: Sequence[str], default: str | None = None) -> str:
        """One of a few words; without a default the key must be there."""
        if key not in self._values and default is not None:
            return default
        value = self._present(key)
        if not isinstance(value, str) or value not in choices:
            words = ", ".join(f'"{choice}"' for choice in choices)
            self.fail(key, f"must be one of {words}, not {shown(value)}")
        return value

    def number(self, key: str, default: float) -> float:
        """A number in mm or degrees, of either sign."""
        return self._number(key, self._values[key]) if key in self._values else default

    def finite(self, key: str) -> float:
        """Any number but infinity and NaN, however great, which must be there."""
        return self._finite(key, self._present(key))

    def point(self, key: str, form: str) -> tuple[float, float]:
        """Two numbers in brackets, however great, which must be there."""
        value = self._present(key)
        if not isinstance(value, list) or len(value) != 2:
            self.fail(key, f"must be two numbers, {form}, not {shown(value)}")
        return self._finite(key, value[0]), self._finite(key, value[1])

    def flag(self, key: str) -> bool:
        """true or false, which must be there."""
        value = self._present(key)
        if not isinstance(value, bool):
            self.fail(key, f"must be true or false, not {shown(value)}")
        return value

    def whole(self, key: str, least: int, most: int) -> int:
        """A whole number within bounds, which must be there."""
        value = self._present(key)
        is_whole = isinstance(value, int) and not isinstance(value, bool)
        if not is_whole or not least <= value <= most:
            self.fail(key, f"must be a whole number from {least} to {most}, not {shown(value)}")
        return int(value)

    def points(self, key: str) -> tuple[tuple[float, float], ...]:
        """Pairs of numbers in a row, ``[[1, 2], [3.5, 4]]``, which must be there."""
        value = self._present(key)
        is_pairs = isinstance(value, list) and all(
            isinstance(pair, list) and len(pair) == 2 for pair in value
        )
        if not is_pairs:
            self.fail(key, f"must be points, such as [[40, 25], [12.5, 8]], not {shown(value)}")
        return tuple((self._finite(key, x), self._finite(key, y)) for x, y in value)

    def length_mm(self, key: str, default: float | None = None) -> float:
        """A length in mm, zero or more; without a default the key must be there."""
        if key not in self._values and default is not None:
            return default
        value_mm = self._number(key, self._present(key))
        if value_mm < 0:
            self.fail(key, f"must be zero or more, not {shown(value_mm)}")
        return value_mm

    def size_mm(self, key: str) -> float:
        """A length in mm that is more than zero and must be there."""
        return self._positive(key, self._number(key, self._present(key)))

    def sizes_mm(self, key: str) -> tuple[float, float]:
        """Two lengths in mm, across and along, that must be there."""
        across, along = self.pair(key, "[across, along] in mm, such as [100, 60]")
        return self._positive(key, across), self._positive(key, along)

    def pair(
        self, key: str, form: str, default: tuple[float, float] | None = None
    ) -> tuple[float, float]:
        """Two numbers in brackets; without a default they must be there."""
        if key not in self._values and default is not None:
            return default
        value = self._present(key)
        if not isinstance(value, list) or len(value) != 2:
            self.fail(key, f"must be two numbers, {form}, not {shown(value)}")
        return self._number(key, value[0]), self._number(key, value[1])

    def raw(self, key: str) -> Any:
        """The value as TOML gives it, or None."""
        return self._values.get(key)

    # --- tables in it ---------------------------------------------------------------

    def key_name(self, key: str) -> str:
        """What a table in this one is called in the file: ``cup``, or ``press.cup``."""
        return self._prefix + key

    def table(self, key: str, source: str, allowed: Sequence[str]) -> Table | None:
        """The table ``[key]``, or None where there is none."""
        value = self._values.get(key)
        if value is None:
            return None
        name = self.key_name(key)
        if not isinstance(value, dict):
            self.fail(key, f"must be a table: write [{name}] in single brackets, once")
        return Table(f"{source}: [{name}]", value, allowed, f"{name}.")

    def tables(self, key: str, source: str, allowed: Sequence[str]) -> tuple[Table, ...]:
        """The tables ``[[key]]`` in the order of the file."""
        value = self._values.get(key, [])
        name = self.key_name(key)
        is_list = isinstance(value, list) and all(isinstance(item, dict) for item in value)
        if not is_list or (key in self._values and not value):
            self.fail(key, f"must be tables: write [[{name}]] in double brackets above each")
        return tuple(
            Table(f"{source}: [[{name}]] number {index}", item, allowed, f"{name}.")
            for index, item in enumerate(value, 1)
        )

    def inner(self, key: str, allowed: Sequence[str]) -> Table:
        """A value that is a table itself, as ``key = { mm = 3 }``; it must be there."""
        return Table(f"{self.place}: {key}", self._present(key), allowed)

    def only_key(self) -> str:
        """The one key of a table that must have just one."""
        if len(self._values) != 1:
            raise UsageError(f"{self.place}: must hold one value, not {len(self._values)}")
        return next(iter(self._values))

    # --- helpers --------------------------------------------------------------------

    def _present(self, key: str) -> Any:
        if key not in self._values:
            raise UsageError(f"{self.place}: {key} is missing")
        return self._values[key]

    def _number(self, key: str, value: Any) -> float:
        _refuse_no_number(self, key, value)
        if abs(value) > LARGEST_MM:
            self.fail(key, f"must be at most {LARGEST_MM:.0f}, not {shown(value)}")
        return float(value)

    def _finite(self, key: str, value: Any) -> float:
        _refuse_no_number(self, key, value)
        # Compared as it is: a whole number of 400 digits cannot become a float.
        if abs(value) > sys.float_info.max:
            self.fail(key, f"is too great a number: {shown(value)}")
        return float(value)

    def _positive(self, key: str, value_mm: float) -> float:
        if value_mm <= 0:
            self.fail(key, f"must be more than zero, not {shown(value_mm)}")
        return value_mm


def _refuse_no_number(table: Table, key: str, value: Any) -> None:
    # To Python a bool is a number; to a person it is none.
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        hint = ", without quotes" if isinstance(value, str) else ""
        table.fail(key, f"must be a number such as 90 or 2.5{hint}, not {shown(value)}")
    if isinstance(value, float) and not math.isfinite(value):
        table.fail(key, f"must be a plain number, not {shown(value)}")


def shown(value: Any) -> str:
    """A value for a message: as TOML writes it, on one line, not too long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, int):
        # An endless row of digits cannot even be written out.
        return str(value) if abs(value) < 10**_LONGEST_QUOTE else "a number of too many digits"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return _short(f"[{', '.join(shown(item) for item in value[:_LONGEST_QUOTE])}]")
    return _short(repr(value)) if isinstance(value, str) else _short(str(value))


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_QUOTE else text[: _LONGEST_QUOTE - 3] + "..."
