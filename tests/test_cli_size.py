"""``brimcheck size``: calls, exit codes, one-line errors, JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from viewer.cli import main


def read_json(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    main(["size", *words, "--json"])
    return json.loads(capsys.readouterr().out)


def grades(document: Any) -> list[str]:
    return [cup["grade"] for cup in document["cups"]]


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["66x88"], 0),
        (["66", "x", "88"], 0),
        (["2", "5/8in", "x", "3in"], 0),
        (["66x88", "--diagonal", "95"], 0),
        (["--diagonal", "80"], 0),
        (["66x88", "--cups", "90"], 1),
        (["54x60", "--cups", "90"], 1),
        (["~66x~88", "--shape", "rectangle"], 1),
        (["20x21", "--cups", "29", "--ring", "0", "--margin", "0", "--shape", "rectangle"], 0),
        (["66x88x5"], 2),
        ([], 2),
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_exit_codes(
    capsys: pytest.CaptureFixture[str], words: list[str], status: int, as_json: bool
) -> None:
    assert main(["size", *words, *(["--json"] if as_json else [])]) == status
    told = capsys.readouterr()
    assert "Traceback" not in told.out + told.err
    assert (told.err.count("\n"), bool(told.out)) == ((1, False) if status == 2 else (0, True))


@pytest.mark.parametrize(
    "words",
    [
        ["-5x3"],
        ["66x-3"],
        ["nanx5"],
        ["0x5"],
        ["66x88", "--diagonal", "-80"],
        ["66x88", "--diagonal", "nan"],
        ["66x88", "--diagonal", "80"],
        ["66x88", "--diagonal", "111"],
        ["66x88", "--shape", "hexagon"],
        ["66x88", "--shape", "rounded:34"],
        ["66x88", "--diagonal", ""],
        ["66x88", "--diagonal", "90", "--diagonal", "91"],
        ["66x88", "--cups", "0"],
        ["66x88", "--press", "no_such_press.toml"],
        ["66x88", "--frobnicate"],
        [""],
        ["66x88\nx5"],
    ],
)
def test_a_wrong_call_is_one_line(capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
    assert main(["size", *words]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("brimcheck: ") and told.err.count("\n") == 1


def test_json_has_what_is_promised(capsys: pytest.CaptureFixture[str]) -> None:
    found = read_json(capsys, "66x88", "--shape", "rectangle")
    assert found["schema"] == 1
    assert found["smallest_circle_mm"] == [110.0, 110.0]
    assert grades(found) == ["cannot"] * 4 + ["fits"]
    ninety = found["cups"][2]
    assert (ninety["name"], ninety["max_image_diameter_mm"]) == ("90", 76.5)
    assert ninety["ask"] == ""
    assert found["smallest_cup"] == "130"
    assert found["cups"][4]["tight"] is True


def test_all_four_grades(capsys: pytest.CaptureFixture[str]) -> None:
    found = read_json(capsys, "~70x~60", "--cups", "60,110,108.5,105,90")
    assert grades(found) == ["cannot", "depends", "depends", "too-close", "fits"]
    assert [bool(cup["ask"]) for cup in found["cups"]] == [False, True, True, True, False]
    assert found["smallest_circle_mm"] == pytest.approx([69.5, 92.90048])


def test_a_diagonal_alone_lies_between_itself_and_jung(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = read_json(capsys, "--diagonal", "80")
    assert found["smallest_circle_mm"] == pytest.approx([80.0, 160 / 3**0.5])
    assert found["cups"][0]["greatest_width_mm"] is None


def test_the_text_can_be_read_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["size", "66x88", "--diagonal", "95"]) == 0
    told = capsys.readouterr().out
    for words in (
        "66 wide x 88 high, longest diagonal 95",
        "from 95 to 100.45 mm",
        "66 x 66 = 4356",
        "fits whatever the shape",
        "smallest cup that surely fits: 130",
        "trial print first",
    ):
        assert words in told


def test_a_press_file_counts(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    press = tmp_path / "pier.toml"
    press.write_text("[[cup]]\ndiameter_mm = 130\n[etch]\nsize_mm = [92, 76]\n", encoding="utf-8")
    found = read_json(capsys, "100x19.9", "--shape", "rectangle", "--press", str(press))
    assert grades(found) == ["fits"]
    assert found["cups"][0]["press"]["room"] == "enough"
    found = read_json(capsys, "100x40", "--shape", "rectangle", "--press", str(press))
    assert grades(found) == ["cannot"]
    found = read_json(
        capsys, "100x40", "--shape", "rectangle", "--press", str(press), "--etch", "none"
    )
    assert grades(found) == ["fits"]


def test_help_and_a_misplaced_word(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["size", "--help"]) == 0
    assert "--diagonal" in capsys.readouterr().out
    assert main(["66x88", "size"]) == 2
    assert "put size first" in capsys.readouterr().err
