"""The command line: exit codes, one-line errors, options that reach the core."""

from __future__ import annotations

import json
import sys
import types
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.fit.artworks import artwork, box
from viewer.artwork.model import Artwork, LoadOptions
from viewer.cli import main, measuring, shell
from viewer.cli.options import Settings, parse_arguments
from viewer.errors import ArtworkError, UsageError
from viewer.press import Margin, Press

SIZES = {"whistle.svg": (20, 30), "mug.svg": (66, 88), "banner.svg": (300, 40)}


@pytest.fixture
def loads(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, LoadOptions]]:
    """Files by name instead of by content; what was asked for is recorded."""
    asked: list[tuple[str, LoadOptions]] = []

    def load(path: str, options: LoadOptions, progress: object = None) -> Artwork:
        asked.append((path, options))
        name = Path(path).name
        if name == "bug.svg":
            raise ZeroDivisionError("deep\ninside")
        if name == "stop.svg":
            raise KeyboardInterrupt
        if name == "empty.svg":
            return artwork(np.empty((0, 2)), path=path)
        if name not in SIZES:
            raise ArtworkError(f"{path}: no such file", code="not-found")
        return artwork(box(*SIZES[name]), 0.01, path=path)

    monkeypatch.setattr(measuring, "load_artwork", load)
    return asked


@pytest.fixture
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with two files of which one cannot be read."""
    folder = tmp_path / "fleet"
    folder.mkdir()
    paths = [str(folder / name) for name in ("mug.svg", "torn.svg")]
    monkeypatch.setattr(shell, "_artwork_files", lambda name: paths)
    return folder


def read_json(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(capsys.readouterr().out)


# --- check -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("files", "status"),
    [
        (["whistle.svg"], 0),
        (["whistle.svg", "mug.svg"], 0),
        (["banner.svg"], 1),
        (["whistle.svg", "banner.svg"], 1),
        (["torn.svg"], 2),
        (["banner.svg", "torn.svg", "whistle.svg"], 2),
        (["empty.svg"], 2),
        (["bug.svg"], 2),
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_exit_codes(
    loads: list[Any],
    capsys: pytest.CaptureFixture[str],
    files: list[str],
    status: int,
    as_json: bool,
) -> None:
    assert main(["check", *files, *(["--json"] if as_json else [])]) == status
    assert len(loads) == len(files)
    told = capsys.readouterr()
    assert "Traceback" not in told.out + told.err
    if as_json:
        assert told.err == ""


def test_one_file_is_an_object_and_more_are_an_array(
    loads: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", "mug.svg", "--json"])
    assert read_json(capsys)["file"] == "mug.svg"
    main(["check", "mug.svg", "torn.svg", "--json"])
    mug, torn = read_json(capsys)
    assert mug["smallest_cup"] == "130"
    assert torn == {
        "file": "torn.svg",
        "error": {"code": "not-found", "message": "torn.svg: no such file"},
    }


def test_a_folder_is_an_array_and_a_bad_file_stays_in_its_place(
    loads: list[Any], fleet: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(fleet), "--json"]) == 2
    found = read_json(capsys)
    assert [("error" in entry) for entry in found] == [False, True]


def test_a_folder_without_artwork_is_an_error_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    loader = types.ModuleType("viewer.artwork.load")
    loader.find_artwork_files = lambda folder: []  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "viewer.artwork.load", loader)
    assert main(["check", str(tmp_path)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "no artwork" in told.err and told.err.count("\n") == 1
    assert main(["check", str(tmp_path), "--json"]) == 2
    (entry,) = read_json(capsys)
    assert (entry["file"], entry["error"]["code"]) == (str(tmp_path), "no-artwork")


def test_a_fault_of_ours_is_one_line_and_the_rest_is_done(
    loads: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", "bug.svg", "whistle.svg"]) == 2
    told = capsys.readouterr()
    assert told.err.count("\n") == 1
    assert "ZeroDivisionError: deep inside" in told.err
    assert "whistle.svg" in told.out and "trial print first" in told.out


def test_an_interrupt_is_quiet(loads: list[Any], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "stop.svg"]) == 130
    assert capsys.readouterr().err == ""


def test_a_closed_pipe_is_quiet(
    loads: list[Any], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("builtins.print", broken)
    monkeypatch.setattr(shell, "_silence_stdout", lambda: None)
    assert main(["check", "mug.svg"]) == 141
    assert capsys.readouterr().err == ""


def test_cups_and_margin_reach_the_verdict(
    loads: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["check", "mug.svg", "--json", "--cups", "110,117", "--margin", "0mm", "--ring", "3"]
    assert main(call) == 0
    found = read_json(capsys)
    assert [cup["verdict"] for cup in found["cups"]] == ["outside", "fits"]
    assert found["cups"][1]["max_image_diameter_mm"] == 111.0
    assert main([*call, "--named-by", "inside"]) == 0
    assert read_json(capsys)["cups"][0]["verdict"] == "too-close"


# --- options -----------------------------------------------------------------------


def test_load_options_arrive() -> None:
    found = parse_arguments(
        [
            "check",
            "a.pdf",
            "--page",
            "3",
            "--scale",
            "50%",
            "--paper",
            "#ffeecc",
            "--white",
            "paper",
            "--trust",
            "cairo",
            "--dpi",
            "300",
            "--px-per-inch",
            "72",
            "--ignore-specks",
            "--leave-out",
            "12,8.5",
            "--leave-out=-1,5;2,25",
            "--leave-out",
            "-3,4",
        ]
    )
    assert found.load == LoadOptions(
        page=3,
        scale=0.5,
        paper="#ffeecc",
        white="paper",
        trust="cairo",
        dpi=300.0,
        px_per_inch=72.0,
        ignore_specks=True,
        leave_out=((12.0, 8.5), (-1.5, 2.25), (-3.0, 4.0)),
    )


def test_lengths_take_units() -> None:
    found = parse_arguments(["check", "a.svg", "--width", "4.8cm", "--height", "1 1/2 in"])
    assert (found.load.width_mm, found.load.height_mm) == pytest.approx((48.0, 38.1))
    assert parse_arguments(["a.svg", "--page-width", "12,5"]).load.page_width_mm == 12.5


@pytest.mark.parametrize(
    ("text", "scale"), [("50%", 0.5), ("0.5", 0.5), ("2", 2.0), ("91,3 %", 0.913)]
)
def test_scale(text: str, scale: float) -> None:
    assert parse_arguments(["a.svg", "--scale", text]).load.scale == pytest.approx(scale)


def test_the_defaults() -> None:
    found = parse_arguments([])
    assert (found.command, found.files, found.load) == ("view", (), LoadOptions())
    assert found.press == Press()
    assert [cup.name for cup in found.press.cups] == ["60", "75", "90", "110", "130"]
    assert found.press.cups[0].margin == Margin(0.15, True)
    assert found.press.setup_tolerance_mm == 0.5
    assert found.press.limits.is_cup_alone


BAD_CALLS = [
    ["check"],
    ["check", ""],
    ["check", "a.svg", "--width", "0"],
    ["check", "a.svg", "--width", "-5mm"],
    ["check", "a.svg", "--width", "nan"],
    ["check", "a.svg", "--height", "inf"],
    ["check", "a.svg", "--page-width", "wide"],
    ["check", "a.svg", "--width"],
    ["check", "a.svg", "--dpi", "0"],
    ["check", "a.svg", "--dpi", "-300"],
    ["check", "a.svg", "--dpi", "NaN"],
    ["check", "a.svg", "--px-per-inch", "1e999"],
    ["check", "a.svg", "--scale", "0%"],
    ["check", "a.svg", "--scale", "50"],
    ["check", "a.svg", "--scale", "-50%"],
    ["check", "a.svg", "--scale", "1e-400%"],
    ["check", "a.svg", "--cups", ""],
    ["check", "a.svg", "--cups", "0"],
    ["check", "a.svg", "--cups", "-60"],
    ["check", "a.svg", "--cups", "60,big"],
    ["check", "a.svg", "--margin", "100%"],
    ["check", "a.svg", "--margin", "-3mm"],
    ["check", "a.svg", "--margin", "40mm"],
    ["check", "a.svg", "--ring", "-1"],
    ["check", "a.svg", "--ring", "30"],
    ["check", "a.svg", "--setup", "nan"],
    ["check", "a.svg", "--setup", "-0.5"],
    ["check", "a.svg", "--page", "0"],
    ["check", "a.svg", "--page", "1.5"],
    ["check", "a.svg", "--page", "²"],
    ["check", "a.svg", "--paper", "white"],
    ["check", "a.svg", "--white", "maybe"],
    ["check", "a.svg", "--trust", "me"],
    ["check", "a.svg", "--named-by", "middle"],
    ["check", "a.svg", "--snapshot", "x.png"],
    ["check", "a.svg", "--curve"],
    ["check", "a.svg", "--width", "48", "--scale", "50%"],
    ["check", "a.svg", "--width", "48", "--page-width", "90"],
    ["check", "a.svg", "--height", "48", "--dpi", "300"],
    ["check", "a.svg", "--page-width", "48", "--dpi", "300"],
    ["check", "a.svg", "--angles", "none", "--angles", "none"],
    ["check", "a.svg", "--angles=none", "--angles", "any"],
    ["check", "a.svg", "--pad", "round:0"],
    ["check", "a.svg", "--pad", "mug"],
    ["check", "a.svg", "--pad", ""],
    ["check", "a.svg", "--pad", "-80"],
    ["check", "a.svg", "--etch", "90"],
    ["check", "a.svg", "--hold", "fixed:3"],
    ["check", "a.svg", "--hold", "across:-3"],
    ["check", "a.svg", "--datum", "-5"],
    ["check", "a.svg", "--datum", "nan,1"],
    ["check", "a.svg", "--angles", "10"],
    ["check", "a.svg", "--angles", "-10"],
    ["check", "a.svg", "--angles", "step:7"],
    ["check", "a.svg", "--press", ""],
    ["check", "a.svg", "--press", "gone.toml"],
    ["check", "a.svg", "--pad", "round:10@200,0"],
    ["check", "a.svg", "--pad", "round:40@30,0", "--etch", "40x40@-60,0"],
    ["a.svg", "--pad", "round:10@200,0"],
    ["place"],
    ["place", "mug.svg"],
    ["place", "mug.svg", "whistle.svg", "-o", "out.svg"],
    ["place", "", "-o", "out.svg"],
    ["place", "mug.svg", "-o"],
    ["place", "mug.svg", "-o", "out.png"],
    ["place", "mug.svg", "-o", "out"],
    ["place", "mug.svg", "-o", "a.svg", "--output", "b.svg"],
    ["place", "mug.svg", "-o", "out.svg", "--turn", "30"],
    ["place", "mug.svg", "-o", "out.svg", "--turn", "400", "--center", "1,2"],
    ["place", "mug.svg", "-o", "out.svg", "--center", "1"],
    ["place", "mug.svg", "-o", "out.svg", "--plate", "100"],
    ["place", "mug.svg", "-o", "out.svg", "--plate", "100x0"],
    ["place", "mug.svg", "-o", "out.svg", "--json"],
    ["a.svg", "b.svg"],
    ["a.svg", "place", "-o", "out.svg"],
    ["--cups", "60", "check", "a.svg"],
    ["a.svg", "--json"],
    ["a.svg", "--size", "big"],
    ["a.svg", "--size", "0x100"],
    ["a.svg", "--nonsense"],
]


@pytest.mark.parametrize("call", BAD_CALLS, ids=" ".join)
def test_a_wrong_call_is_one_line(
    loads: list[Any], capsys: pytest.CaptureFixture[str], call: list[str]
) -> None:
    assert main(call) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("brimcheck: ") and told.err.count("\n") == 1
    assert loads == []


@pytest.mark.parametrize("call", [["--help"], ["check", "--help"], ["place", "--help"]])
def test_help_tells_the_limit_of_the_promise(
    capsys: pytest.CaptureFixture[str], call: list[str]
) -> None:
    assert main(call) == 0
    words = " ".join(capsys.readouterr().out.split())
    assert "narrower than 0.02 mm is outside the promise" in words
    assert "trial print first" in words


# --- view --------------------------------------------------------------------------


@pytest.fixture
def runs(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """Calls of the viewer, which is not opened."""
    calls: list[tuple[Any, ...]] = []

    def run(
        path: str | None,
        options: LoadOptions,
        press: Press,
        *,
        snapshot: str | None,
        size: tuple[int, int],
        record: str | None,
    ) -> int:
        calls.append((path, snapshot, size, press.setup_tolerance_mm))
        return 0

    app = types.ModuleType("viewer.screen.app")
    app.run = run  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "viewer.screen.app", app)
    return calls


def with_display(monkeypatch: pytest.MonkeyPatch, present: bool) -> None:
    monkeypatch.setattr(shell, "has_display", lambda environ, platform: present)


def test_the_viewer_opens(monkeypatch: pytest.MonkeyPatch, runs: list[Any]) -> None:
    with_display(monkeypatch, True)
    assert main([]) == 0
    assert main(["mug.svg", "--setup", "0.3"]) == 0
    assert runs == [(None, None, None, 0.5), ("mug.svg", None, None, 0.3)]


def test_a_snapshot_needs_no_display(monkeypatch: pytest.MonkeyPatch, runs: list[Any]) -> None:
    with_display(monkeypatch, False)
    assert main(["mug.svg", "--snapshot", "out.png", "--size", "800x600"]) == 0
    assert runs == [("mug.svg", "out.png", (800, 600), 0.5)]


def test_without_a_display_there_are_a_table_and_a_picture(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    runs: list[Any],
    loads: list[Any],
    capsys: pytest.CaptureFixture[str],
) -> None:
    with_display(monkeypatch, False)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "banner-brimcheck.png").write_bytes(b"mine")
    assert main(["art/banner.svg"]) == 1
    first, *rest, last = capsys.readouterr().out.splitlines()
    assert "no display" in first and ".png" not in first
    assert any("outside" in line for line in rest)
    assert "banner-brimcheck-2.png" in last, "told once it has been written"
    assert [call[1] for call in runs] == ["banner-brimcheck-2.png"]
    assert (tmp_path / "banner-brimcheck.png").read_bytes() == b"mine"


def test_without_a_display_and_a_file_it_is_one_line(
    monkeypatch: pytest.MonkeyPatch, runs: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    with_display(monkeypatch, False)
    assert main([]) == 2
    assert "no display" in capsys.readouterr().err
    assert runs == []


def test_a_folder_is_not_opened(
    tmp_path: Path, runs: list[Any], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([str(tmp_path)]) == 2
    assert "is a folder" in capsys.readouterr().err


def test_the_viewer_cannot_be_imported(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with_display(monkeypatch, True)
    monkeypatch.setitem(sys.modules, "viewer.screen.app", None)
    assert main(["mug.svg"]) == 2
    assert "the viewer cannot start" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("environ", "platform", "expected"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({"DISPLAY": ""}, "linux", False),
        ({"SDL_VIDEODRIVER": "kmsdrm"}, "linux", True),
        ({"SDL_VIDEODRIVER": "dummy", "DISPLAY": ":0"}, "linux", False),
        ({}, "win32", True),
        ({}, "darwin", True),
    ],
)
def test_has_display(environ: dict[str, str], platform: str, expected: bool) -> None:
    assert shell.has_display(environ, platform) is expected


def test_settings_are_values() -> None:
    assert parse_arguments(["a.svg"]) == parse_arguments(["a.svg"])
    assert isinstance(parse_arguments(["check", "a.svg"]), Settings)
    with pytest.raises(UsageError):
        parse_arguments(["check", "a.svg", "--sca", "50%"])
