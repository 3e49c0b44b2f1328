"""Settings and unsaved work of the tests lie in a folder of their own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from viewer.job import forget_unsaved


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The folder for settings; it does not exist yet."""
    folder = tmp_path / "home"
    monkeypatch.setenv("BRIMCHECK_CONFIG", str(folder))
    yield folder
    forget_unsaved()
