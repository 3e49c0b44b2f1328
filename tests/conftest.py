"""Set-up shared by all tests: no real window or sound, benches only when asked for."""

from __future__ import annotations

import os
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

# Before any test imports pygame. A test that wants a real display sets its own.
os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

ROOT = Path(__file__).resolve().parents[1]
BENCH = ROOT / "tests" / "bench"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Skip ``tests/bench`` unless the command line names it."""
    if collection_path != BENCH:
        return None
    start = config.invocation_params.dir
    for argument in config.args:
        named = (start / argument.split("::")[0]).resolve()
        if named == BENCH or BENCH in named.parents:
            return None
    return True


@pytest.fixture(scope="session")
def _homes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def _own_home(_homes: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No test touches the settings, the unsaved work or the record of whoever runs it."""
    home = _homes / uuid.uuid4().hex
    monkeypatch.setenv("BRIMCHECK_CONFIG", str(home))
    monkeypatch.setenv("BRIMCHECK_RECORD", str(home / "record.sqlite"))
    yield
    # Only where a test has loaded it: what this process keeps must not reach the next test.
    recovery = sys.modules.get("viewer.job.recovery")
    if recovery is not None:
        recovery.forget_unsaved()


@pytest.fixture(scope="session")
def demo_folder() -> Path:
    """Where the demo artwork lies."""
    return ROOT / "assets_demo"
