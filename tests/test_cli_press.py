"""Press options and press files on the command line: what arrives, and what comes first."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.fit.artworks import artwork, box
from viewer.artwork.model import Artwork, LoadOptions
from viewer.cli import main, measuring
from viewer.cli.options import parse_arguments
from viewer.errors import UsageError
from viewer.press import (
    Angles,
    Cup,
    Datum,
    EtchArea,
    Hold,
    Margin,
    Pad,
    Press,
    load_press,
)
from viewer.report import json_report

SIZES = {"whistle.svg": (20, 30), "mug.svg": (66, 88)}


@pytest.fixture
def loads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Files by name instead of by content; what was asked for is recorded."""
    asked: list[str] = []

    def load(path: str, options: LoadOptions, progress: object = None) -> Artwork:
        asked.append(path)
        return artwork(box(*SIZES[path]), 0.01, path=path)

    monkeypatch.setattr(measuring, "load_artwork", load)
    return asked


def read_json(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(capsys.readouterr().out)


def press_of(*words: str) -> Press:
    """The press that a call of check is about."""
    return parse_arguments(["check", "a.svg", *words]).press


def test_press_options_arrive() -> None:
    limits = press_of(
        *("--pad", "rect:100x60r8m2@-1.5,2^30", "--etch", "90x72@-5,0"),
        *("--hold", "across:3mm", "--datum", "-5,3", "--angles", "+-10"),
    ).limits
    assert limits.pad == Pad("rect", 100.0, 60.0, 8.0, (-1.5, 2.0), 30.0, 2.0)
    assert limits.etch == EtchArea(90.0, 72.0, (-5.0, 0.0))
    assert limits.hold == Hold("across", 3.0)
    assert limits.datum == Datum("point", (-5.0, 3.0))
    assert limits.angles == Angles("within", 10.0)


@pytest.mark.parametrize("value", ["-5,3", "-.5;3", "\u22125,3", "-5mm,3mm"])
def test_a_value_that_begins_with_a_minus_reaches_its_reader(value: str) -> None:
    assert press_of("--datum", value).limits.datum.kind == "point"
    call = ["place", "a.svg", "-o", "b.svg", "--center", value, "--turn", "-30"]
    order = parse_arguments(call).order
    assert order is not None and order.placement is not None
    assert order.placement.turn_deg == -30.0 and order.placement.center_mm[0] < 0


PRESS_TEXT = """
use_pad = "bar"
setup_tolerance_mm = 0.2
[[cup]]
diameter_mm = 80
ring_width_mm = 2
margin = "4mm"
[[cup]]
name = "big"
diameter_mm = 120
named_by = "inside"
[[pad]]
name = "bar"
shape = "rect"
size_mm = [100, 50]
[[pad]]
name = "Mug"
shape = "round"
size_mm = 70
[etch]
size_mm = [90, 72]
[position]
hold = "along"
limit_mm = 3
datum = "page"
[angle]
allowed = "none"
"""


@pytest.fixture
def press_file(tmp_path: Path) -> str:
    """A press with two cups and two pads."""
    path = tmp_path / "press.toml"
    path.write_text(PRESS_TEXT, encoding="utf-8")
    return str(path)


def test_a_press_file_is_taken_as_it_stands(press_file: str) -> None:
    assert press_of("--press", press_file) == load_press(press_file)
    assert parse_arguments(["a.svg", "--press", press_file]).press == load_press(press_file)


def test_options_come_before_the_press_file_key_by_key(press_file: str) -> None:
    base = load_press(press_file)
    found = press_of("--press", press_file, "--ring", "2.5", "--setup", "1")
    assert [cup.ring_width_mm for cup in found.cups] == [2.5, 2.5]
    assert [cup.name for cup in found.cups] == ["80", "big"]
    assert found.cups[0].margin == Margin(4.0, False) and found.cups[1].named_by == "inside"
    assert found.setup_tolerance_mm == 1.0 and found.limits == base.limits

    found = press_of("--press", press_file, "--angles", "any", "--hold", "free")
    assert found.limits.angles == Angles() and found.limits.hold == Hold()
    assert found.limits.datum == Datum("page") and found.limits.pad == base.limits.pad


def test_cups_of_the_shell_replace_those_of_the_file(press_file: str) -> None:
    assert press_of("--press", press_file, "--cups", "60,90").cups == (
        Cup("60", 60.0),
        Cup("90", 90.0),
    )


def test_a_pad_of_the_press_file_is_chosen_by_name(press_file: str) -> None:
    base = load_press(press_file)
    found = press_of("--press", press_file, "--pad", "mug")
    assert found.limits.pad == Pad("round", 70.0, 70.0, name="Mug") and found.pads == base.pads
    found = press_of("--press", press_file, "--pad", "oval:70x50")
    assert found.limits.pad == Pad("oval", 70.0, 50.0)
    assert found.pads == (*base.pads, Pad("oval", 70.0, 50.0))


def test_none_lifts_the_choice_of_the_press_file(press_file: str) -> None:
    found = press_of("--press", press_file, "--pad", "none", "--etch", "none")
    assert found.limits.pad is None and found.limits.etch is None
    # What the file describes can still be chosen in the window.
    assert len(found.pads) == 2 and found.etch == EtchArea(90.0, 72.0)


def test_a_pad_that_the_press_file_has_not_is_told_with_those_that_it_has(
    press_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", "a.svg", "--press", press_file, "--pad", "oar"]) == 2
    told = capsys.readouterr().err
    assert "'oar'" in told and "'bar', 'Mug'" in told and told.count("\n") == 1


def test_the_plate_of_the_shell_comes_before_that_of_the_file(press_file: str) -> None:
    call = ["place", "a.svg", "-o", "b.svg", "--press", press_file]
    assert parse_arguments(call).press.plate_mm is None
    assert parse_arguments([*call, "--plate", "100x250"]).press.plate_mm == (100.0, 250.0)


def test_a_bad_press_file_is_one_line(
    tmp_path: Path, loads: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "press.toml"
    path.write_text("[[cup]]\ndiameter_mm = true\n", encoding="utf-8")
    assert main(["check", "mug.svg", "whistle.svg", "--press", str(path)]) == 2
    told = capsys.readouterr()
    assert told.out == "" and told.err.count("\n") == 1 and loads == []
    assert "press.toml: [[cup]] number 1: diameter_mm must be a number" in told.err


def test_limits_that_leave_nothing_are_told_once_not_per_file(
    loads: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["check", "mug.svg", "whistle.svg", "--pad", "round:20@150,0"]
    for extra in ([], ["--json"]):
        assert main([*call, *extra]) == 2
        told = capsys.readouterr()
        assert told.out == "" and told.err.count("\n") == 1
        assert "place in common" in told.err


def test_a_fault_of_the_limits_found_later_is_told_once_as_well(
    loads: list[Any], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuses(*args: object, **kwargs: object) -> None:
        raise UsageError("the parts have no place in common")

    monkeypatch.setattr(measuring, "fit_artwork", refuses)
    assert main(["check", "mug.svg", "whistle.svg"]) == 2
    told = capsys.readouterr()
    assert told.out == "" and told.err == "brimcheck: the parts have no place in common\n"


def test_limits_reach_the_verdict(
    loads: list[Any], press_file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A whistle 20 x 30 mm in a pad 100 x 50 mm: 10 mm above and below, whatever the cup."""
    call = ["check", "whistle.svg", "--json", "--curve", "--press", press_file, "--hold", "free"]
    assert main(call) == 0
    found = read_json(capsys)
    assert found["image_area"]["parts"] == ["cup", "pad", "etch"]
    assert [cup["name"] for cup in found["cups"]] == ["80", "big"]
    assert found["cups"][1]["unturned_clearance_mm"] == pytest.approx(10.0, abs=1e-6)
    assert len(found["cups"][1]["curve"]) == 720
    assert main(["check", "mug.svg", "--pad", "rect:60x200"]) == 1
    assert "pad edge" in capsys.readouterr().out


def test_a_curve_that_fails_is_an_error_in_its_place(
    loads: list[Any], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*args: object, **kwargs: object) -> None:
        raise FloatingPointError("lost")

    monkeypatch.setattr(json_report, "angle_curve", fails)
    assert main(["check", "mug.svg", "whistle.svg", "--json", "--curve"]) == 2
    found = read_json(capsys)
    assert [entry["error"]["code"] for entry in found] == ["internal", "internal"]
