"""The next and the previous artwork in a folder."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from viewer.errors import ArtworkError
from viewer.job import next_artwork
from viewer.job.neighbors import natural_key

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>'


def fill(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).write_bytes(SVG)


def walk(folder: Path, start: str, step: int) -> list[str]:
    found, path = [], str(folder / start)
    while True:
        following = next_artwork(path, step)
        if following is None:
            return found
        path = following
        found.append(os.path.basename(path))
        assert len(found) < 100


def test_natural_order() -> None:
    names = ["mug 10.svg", "Mug 2.svg", "mug 1.svg", "mug.svg", "10.svg", "9.svg", "mug 2b.svg"]
    assert sorted(names, key=natural_key) == [
        "9.svg",
        "10.svg",
        "mug 1.svg",
        "Mug 2.svg",
        "mug 2b.svg",
        "mug 10.svg",
        "mug.svg",
    ]
    # Never text against a number, and never two names with one key.
    for names in (["", "1", "a", "a1", "1a", "01", "1", "\u0661", "\u00b2"],):
        keys = [natural_key(name) for name in names]
        assert sorted(keys) and len(set(keys)) == len(set(names))


def test_forwards_and_backwards(tmp_path: Path) -> None:
    fill(tmp_path, "mug 10.svg", "mug 2.svg", "Mug 1.svg", "lure.SVG")
    (tmp_path / "a folder.svg").mkdir()
    order = ["lure.SVG", "Mug 1.svg", "mug 2.svg", "mug 10.svg"]
    assert walk(tmp_path, order[0], 1) == order[1:]
    assert walk(tmp_path, order[-1], -1) == order[-2::-1]
    assert next_artwork(str(tmp_path / order[0]), 2) == str(tmp_path / order[2])
    assert next_artwork(str(tmp_path / order[0]), 9) is None
    assert next_artwork(str(tmp_path / order[0]), 0) is None


def test_what_is_no_artwork_is_passed_over(tmp_path: Path) -> None:
    fill(tmp_path, "a.svg", "f.svg", ".c.svg", "d.txt")
    (tmp_path / "b.svg").write_bytes(b"")
    (tmp_path / "c.pdf").write_bytes(b"no pdf at all")
    (tmp_path / "d.ai").write_bytes(b"%!PS-Adobe-3.0")
    (tmp_path / "e.png").symlink_to(tmp_path / "gone.png")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "e.svg")
    assert walk(tmp_path, "a.svg", 1) == ["f.svg"]
    assert walk(tmp_path, "f.svg", -1) == ["a.svg"]


def test_what_it_is_counts_and_not_what_it_is_called(tmp_path: Path) -> None:
    fill(tmp_path, "a.svg", "b.pdf")
    assert walk(tmp_path, "a.svg", 1) == ["b.pdf"]


def test_a_file_that_is_gone_still_has_neighbors(tmp_path: Path) -> None:
    fill(tmp_path, "a.svg", "c.svg")
    for name in ("b.svg", "b", "b.txt"):
        assert next_artwork(str(tmp_path / name), 1) == str(tmp_path / "c.svg")
        assert next_artwork(str(tmp_path / name), -1) == str(tmp_path / "a.svg")
    assert next_artwork(str(tmp_path / "z.svg"), 1) is None


def test_alone(tmp_path: Path) -> None:
    fill(tmp_path, "a.svg")
    assert next_artwork(str(tmp_path / "a.svg"), 1) is None
    assert next_artwork(str(tmp_path / "a.svg"), -1) is None


def test_a_name_without_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(tmp_path, "a.svg", "b.svg")
    monkeypatch.chdir(tmp_path)
    assert next_artwork("a.svg", 1) == "b.svg"


def test_a_system_where_case_does_not_matter(tmp_path: Path) -> None:
    fill(tmp_path, "a.svg", "b.svg")
    os.link(tmp_path / "a.svg", tmp_path / "A.svg")
    assert next_artwork(str(tmp_path / "A.svg"), 1) == str(tmp_path / "b.svg")
    assert next_artwork(str(tmp_path / "b.svg"), -1) == str(tmp_path / "a.svg")


def test_a_folder_that_cannot_be_listed(tmp_path: Path) -> None:
    with pytest.raises(ArtworkError, match="cannot list this folder"):
        next_artwork(str(tmp_path / "no" / "a.svg"), 1)
