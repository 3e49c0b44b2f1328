"""``brimcheck place``: which placement is written, and when nothing is."""

from __future__ import annotations

import sys
import types
from pathlib import Path
from typing import Any

import pytest

from tests.fit.artworks import artwork, box
from viewer.artwork.model import Artwork, LoadOptions
from viewer.cli import main, measuring
from viewer.errors import ArtworkError
from viewer.fit import Placement

SIZES = {
    "whistle.svg": (20, 30),
    "mug.svg": (66, 88),
    "banner.svg": (300, 40),
    "lure.svg": (70, 30),
}


@pytest.fixture
def art(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to be in, with files whose outlines go by their names."""
    monkeypatch.chdir(tmp_path)

    def load(path: str, options: LoadOptions, progress: object = None) -> Artwork:
        if path not in SIZES:
            raise ArtworkError(f"{path}: no such file", code="not-found")
        return artwork(box(*SIZES[path], 10, 10), 0.01, path=path)

    monkeypatch.setattr(measuring, "load_artwork", load)
    for name in SIZES:
        (tmp_path / name).write_text("<svg/>", encoding="utf-8")
    return tmp_path


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What was asked of the writer, which writes nothing."""
    calls: list[dict[str, Any]] = []

    def write_placed(
        artwork: Artwork, cup: Any, placement: Placement, target: str, **options: Any
    ) -> None:
        calls.append({"cup": cup.name, "at": placement, "target": target, **options})

    placed = types.ModuleType("viewer.sheets.placed")
    placed.write_placed = write_placed  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "viewer.sheets.placed", placed)
    return calls


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    told = capsys.readouterr()
    assert told.out == "" and told.err.startswith("brimcheck: ") and told.err.count("\n") == 1
    return told.err


def test_the_best_placement_in_the_smallest_cup_that_fits(
    art: Path, written: list[dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["place", "whistle.svg", "-o", "out.svg"]) == 0
    (call,) = written
    # 20 x 30 mm at 10, 10: the middle of the rectangle, in the smallest example cup.
    assert (call["cup"], call["at"]) == ("60", Placement((20.0, 25.0), 0.0))
    assert (call["target"], call["plate_mm"], call["with_rings"]) == ("out.svg", None, False)
    told = capsys.readouterr()
    assert "out.svg: written; 60 cup" in told.out and "20.00, 25.00" in told.out
    assert "trial print first" in told.out and told.err == ""


def test_cup_plate_rings_and_limits_arrive(art: Path, written: list[dict[str, Any]]) -> None:
    call = ["place", "whistle.svg", "-o", "out.pdf", "--cup", "110", "--rings"]
    assert main([*call, "--plate", "120x200", "--pad", "round:80"]) == 0
    (asked,) = written
    assert (asked["cup"], asked["plate_mm"], asked["with_rings"]) == ("110", (120.0, 200.0), True)
    assert asked["limits"].pad is not None


def test_the_best_placement_is_turned_where_the_pad_wants_it(
    art: Path, written: list[dict[str, Any]]
) -> None:
    """A lure 70 x 30 mm under a pad 40 x 80 mm has to be turned by a right angle."""
    assert main(["place", "lure.svg", "-o", "out.svg", "--cups", "110", "--pad", "rect:40x80"]) == 0
    assert abs(written[0]["at"].turn_deg) == 90.0


def test_a_placement_of_ones_own(art: Path, written: list[dict[str, Any]]) -> None:
    call = ["place", "whistle.svg", "-o", "out.svg", "--center", "21;24,5", "--turn", "-30"]
    assert main(call) == 0
    assert written[0]["at"] == Placement((21.0, 24.5), -30.0)


def test_where_it_does_not_fit_nothing_is_written_unless_told_to(
    art: Path, written: list[dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["place", "whistle.svg", "-o", "out.svg", "--cup", "60", "--center", "-40,0"]
    assert main(call) == 2
    assert "--anyway" in one_line(capsys) and written == []
    assert main([*call, "--anyway"]) == 1
    assert len(written) == 1 and "outside" in capsys.readouterr().out


def test_a_placement_that_the_press_does_not_allow_is_not_written(
    art: Path, written: list[dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["place", "whistle.svg", "-o", "out.svg", "--angles", "none", "--hold", "fixed"]
    assert main([*call, "--center", "21,25"]) == 2
    assert "does not allow" in one_line(capsys)
    assert main([*call, "--center", "20,25", "--turn", "5"]) == 2
    assert "does not allow" in one_line(capsys)
    assert main([*call, "--center", "20,25"]) == 0


def test_where_no_cup_fits_one_has_to_be_named(
    art: Path, written: list[dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["place", "banner.svg", "-o", "out.svg", "--anyway"]) == 2
    assert "none of the cups 60, 75, 90, 110, 130" in one_line(capsys)
    assert main(["place", "banner.svg", "-o", "out.svg", "--cup", "130"]) == 2
    assert "--anyway" in one_line(capsys)
    assert main(["place", "banner.svg", "-o", "out.svg", "--cup", "130", "--anyway"]) == 1
    assert len(written) == 1


@pytest.mark.parametrize(
    ("call", "problem"),
    [
        (["whistle.svg", "-o", "whistle.svg"], "that is the artwork itself"),
        (["whistle.svg", "-o", "./whistle.svg"], "that is the artwork itself"),
        (["whistle.svg", "-o", "link.svg"], "that is the artwork itself"),
        (["whistle.svg", "-o", "press.svg", "--press", "press.svg"], "the press file itself"),
        (["whistle.svg", "-o", "out.svg", "--cup", "61"], "there are 60, 75, 90, 110, 130"),
        (["gone.svg", "-o", "out.svg"], "no such file"),
        ([".", "-o", "out.svg"], "is a folder"),
    ],
)
def test_what_cannot_be_placed_is_one_line(
    art: Path,
    written: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
    call: list[str],
    problem: str,
) -> None:
    (art / "link.svg").hardlink_to(art / "whistle.svg")
    (art / "press.svg").write_text("", encoding="utf-8")
    assert main(["place", *call]) == 2
    assert problem in one_line(capsys) and written == []
