"""Writing in one step: the old file or the new one, and nothing left lying about."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from tests.job.values import example_job
from viewer.errors import UsageError
from viewer.job import read_job, write_job
from viewer.job.atomic import TEMPORARY_PREFIX, write_atomically

ROOT = Path(__file__).resolve().parents[2]


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_new_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    for content in (b"one", b"", b"two" * 100_000):
        write_atomically(str(path), content)
        assert path.read_bytes() == content
    assert names(tmp_path) == ["a.toml"]


def test_failing_between_write_and_rename_keeps_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mug.brim.toml"
    before = example_job(str(tmp_path / "crest.svg"))
    write_job(before, str(path))
    written: list[bytes] = []

    def fail(source: str, target: str) -> None:
        written.append(Path(source).read_bytes())
        assert Path(source).parent == path.parent and target == str(path)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    after = example_job(str(tmp_path / "crest.svg"), scale=2.0)
    with pytest.raises(UsageError, match=r"mug\.brim\.toml: cannot be written \(No space left"):
        write_job(after, str(path))
    assert b"scale = 2.0" in written[0]
    assert read_job(str(path)) == before
    assert names(tmp_path) == ["mug.brim.toml"]


@pytest.mark.parametrize("error", [KeyboardInterrupt, SystemExit, MemoryError])
def test_nothing_is_left_behind_when_the_program_is_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: type[BaseException]
) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"before")

    def stop(*_: object) -> None:
        raise error

    monkeypatch.setattr(os, "replace", stop)
    with pytest.raises(error):
        write_atomically(str(path), b"after")
    assert path.read_bytes() == b"before" and names(tmp_path) == ["a.toml"]


def test_killed_between_write_and_rename(tmp_path: Path) -> None:
    """A process that is really killed there; what it leaves is a file of its own name."""
    path = tmp_path / "a.toml"
    path.write_bytes(b"before")
    script = (
        "import os, signal, sys\n"
        "from viewer.job.atomic import write_atomically\n"
        "os.replace = lambda *_: os._exit(9)\n"
        "write_atomically(sys.argv[1], b'after')\n"
    )
    done = subprocess.run([sys.executable, "-c", script, str(path)], cwd=ROOT, check=False)
    assert done.returncode == 9
    assert path.read_bytes() == b"before"
    left = [name for name in names(tmp_path) if name != "a.toml"]
    assert len(left) == 1 and left[0].startswith(TEMPORARY_PREFIX)


def test_a_reader_never_sees_half_a_file(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    write_atomically(str(path), b"0" * 50_000)
    script = (
        "import sys\n"
        "from viewer.job.atomic import write_atomically\n"
        "for n in range(200):\n"
        "    write_atomically(sys.argv[1], bytes([48 + n % 10]) * 50_000)\n"
    )
    with subprocess.Popen([sys.executable, "-c", script, str(path)], cwd=ROOT) as writer:
        while writer.poll() is None:
            content = path.read_bytes()
            assert len(content) == 50_000 and len(set(content)) == 1
    assert writer.returncode == 0


def test_permissions_and_links_stay(tmp_path: Path) -> None:
    path, link = tmp_path / "real" / "a.toml", tmp_path / "link.toml"
    path.parent.mkdir()
    path.write_bytes(b"before")
    path.chmod(0o640)
    link.symlink_to(path)
    write_atomically(str(link), b"after")
    assert link.is_symlink() and path.read_bytes() == b"after"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_where_nothing_can_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_bytes(b"x")
    for path, problem in (
        (str(tmp_path), "is a folder; give the name of a file"),
        (str(tmp_path / "no" / "a.toml"), "there is no folder"),
        (str(tmp_path / "file" / "a.toml"), "there is no folder"),
        (str(tmp_path / ("x" * 300)), "cannot be written (File name too long)"),
        ("a\0b", "cannot be written ("),
    ):
        with pytest.raises(UsageError) as caught:
            write_atomically(path, b"x")
        assert problem in caught.value.message
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(UsageError, match="is write-protected; give another name"):
        write_atomically(str(tmp_path / "file"), b"y")
    assert names(tmp_path) == ["file"] and (tmp_path / "file").read_bytes() == b"x"
