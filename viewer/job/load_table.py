"""How a file is to be read, as a table of a job file: one key for each field there is."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields
from typing import Any, get_type_hints

from viewer.artwork.model import LoadOptions
from viewer.press.toml_table import Table, shown

LOAD_KEYS = tuple(field.name for field in fields(LoadOptions))

_MOST_PAGES = 1_000_000
_WORDS = {"white": ("ink", "paper"), "trust": ("resvg", "cairo")}


def load_to_table(load: LoadOptions) -> dict[str, Any]:
    """The table of some options. What is None (as the file says) is left out."""
    values = {name: getattr(load, name) for name in LOAD_KEYS}
    return {
        name: [list(point) for point in value] if isinstance(value, tuple) else value
        for name, value in values.items()
        if value is not None
    }


def load_from_table(table: Table | None) -> LoadOptions:
    """The options of a table; keys left out take their default. UsageError for anything else."""
    if table is None:
        return LoadOptions()
    hints = get_type_hints(LoadOptions)
    return LoadOptions(**{k: _read(table, k, hints[k]) for k in LOAD_KEYS if k in table})


def _read(table: Table, key: str, kind: Any) -> Any:
    if key == "paper":
        return _paper(table)
    if key in _WORDS:
        return table.choice(key, _WORDS[key])
    return _READERS[kind](table, key)


def _paper(table: Table) -> str:
    text = table.text("paper")
    if text not in ("transparent", "border") and not re.fullmatch("#[0-9a-fA-F]{6}", text):
        table.fail("paper", f'must be "transparent", "border" or "#rrggbb", not {shown(text)}')
    return text


def _page(table: Table, key: str) -> int:
    return table.whole(key, 1, _MOST_PAGES)


def _size(table: Table, key: str) -> float:
    value = table.finite(key)
    if value <= 0:
        table.fail(key, f"must be more than zero, not {shown(value)}")
    return value


# By the type that a field is declared with, so that a new field needs no line here.
_READERS: dict[Any, Callable[[Table, str], Any]] = {
    int: _page,
    float: _size,
    float | None: _size,
    bool: Table.flag,
    str | None: Table.text,
    tuple[tuple[float, float], ...]: Table.points,
}
