"""Job files: read back exactly, and one line for everything that may be wrong with one."""

from __future__ import annotations

import dataclasses
import math
import os
import re
import tomllib
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from tests.job.values import BAR, ETCH, HASH, HUGE, MUG, SUBNORMAL, example_job, jobs, presses
from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError, UsageError
from viewer.fit.model import Placement
from viewer.job import (
    JOB_ENDING,
    LONGEST_NOTES,
    Job,
    artwork_state,
    load_table,
    read_job,
    write_job,
)
from viewer.job.job_file import LARGEST_FILE_BYTES, job_of, job_to_text
from viewer.job.press_tables import press_to_table
from viewer.press import (
    Angles,
    Cup,
    Datum,
    EtchArea,
    Hold,
    Margin,
    Pad,
    Press,
    PressLimits,
    load_press,
)
from viewer.press.press_file import PRESS_KEYS, parse_press, press_of
from viewer.press.toml_table import Table

EXAMPLE = Path(__file__).resolve().parents[2] / "assets_demo" / "harbour_press.toml"


def same_bits(one: object, other: object) -> bool:
    """Equal to the last bit: for floats the sign of zero as well."""
    if dataclasses.is_dataclass(one) and type(one) is type(other):
        return all(same_bits(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same_bits, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return one == other and math.copysign(1.0, one) == math.copysign(1.0, other)
    return type(one) is type(other) and one == other


def through_text(job: Job, folder: str = "/quay bench") -> Job:
    text = job_to_text(job, folder)
    return job_of(tomllib.loads(text), "x", folder)


# --- there and back ---------------------------------------------------------------------


@settings(max_examples=300, deadline=None)
@given(jobs())
def test_every_job_is_read_back_to_the_last_bit(job: Job) -> None:
    back = through_text(job)
    assert back == job
    # A page point of -0.0 is the same as one of 0.0, but nothing need be lost on the way.
    assert same_bits(back.placement, job.placement) and same_bits(back.load, job.load)
    assert same_bits(back.press.limits, job.press.limits)


def test_the_comparison_can_fail() -> None:
    assert not same_bits(Placement((0.0, 1.0)), Placement((-0.0, 1.0)))
    assert not same_bits((1.0,), (1.0, 2.0))


@pytest.mark.parametrize("number", [SUBNORMAL, 1e-300, 0.1 + 0.2, 1e16, 2.0**53 + 2.0, HUGE, -HUGE])
def test_numbers_at_the_ends(number: float) -> None:
    job = example_job(
        placement=Placement((number, -number), number),
        scale=abs(number),
        load=LoadOptions(dpi=abs(number)),
    )
    assert same_bits(through_text(job), job)


def test_a_whole_number_is_as_good_as_its_float() -> None:
    job = example_job(scale=2, placement=Placement((40, 25), 90))
    assert through_text(job) == job


@pytest.mark.parametrize(
    "limits",
    [
        PressLimits(),
        PressLimits(BAR, ETCH),
        PressLimits(Pad("round", 80.0, 80.0), EtchArea(50.0, 40.0)),
        PressLimits(replace(MUG, margin_mm=2.0), None),
        PressLimits(None, None, Hold("fixed"), Datum("point", (SUBNORMAL, -1e5))),
        PressLimits(angles=Angles("within", SUBNORMAL)),
    ],
)
def test_limits_that_are_not_those_of_the_press(limits: PressLimits) -> None:
    for pads in ((), (MUG, BAR), (Pad("round", 80.0, 80.0),)):
        for etch in (None, ETCH):
            press = replace(example_job().press, limits=limits, pads=pads, etch=etch)
            assert through_text(example_job(press=press)).press == press


@pytest.mark.parametrize("value", [0.15, 0.1 + 0.2, SUBNORMAL, 1e-80, 0.999999999999, 0.0])
def test_margins_are_text_where_text_can_hold_them(value: float) -> None:
    for is_fraction in (True, False):
        margin = Margin(value, is_fraction)
        press = Press(cups=(Cup("90", 90.0, 3.0, margin),))
        table = press_to_table(press)
        assert press_of(Table("x", table, PRESS_KEYS), "x", as_saved=True) == press
        assert isinstance(table["cup"][0]["margin"], str) == (value == 0.0 or value > 0.1)


def test_numbers_that_mean_nothing_are_dropped() -> None:
    limits = PressLimits(datum=Datum("ink", (3.0, 4.0)), angles=Angles("none", 5.0))
    job = example_job(press=Press(limits=limits))
    assert through_text(job).press.limits == PressLimits(angles=Angles("none"))


def test_the_press_section_is_read_by_a_press_file_too() -> None:
    press = load_press(str(EXAMPLE))
    table = press_to_table(press)
    assert press_of(Table("x", table, PRESS_KEYS), "x") == press


def test_a_press_file_can_be_put_into_a_job_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "hand.toml"
    press_text = EXAMPLE.read_text(encoding="utf-8")
    press_text = re.sub(r"(?m)^\[(\[?)(\w+)", r"[\1press.\2", press_text)
    path.write_text(
        'schema = 1\ncup = "90"\nscale = 1\n'
        f'[artwork]\npath = "crest.svg"\nsha256 = "{HASH}"\n'
        "[placement]\ncenter_mm = [40, 25.5]\nturn_deg = 0\n[press]\n" + press_text,
        encoding="utf-8",
    )
    job = read_job(str(path))
    assert job.press == load_press(str(EXAMPLE)) and job.load == LoadOptions()


@settings(max_examples=50, deadline=None)
@given(presses())
def test_no_press_is_read_otherwise_by_the_reader_of_press_files(press: Press) -> None:
    """It refuses what only the program may write, or gives the same press."""
    table = press_to_table(press)
    try:
        found = press_of(Table("x", table, PRESS_KEYS), "x")
    except UsageError:
        return
    assert set(found.cups) == set(press.cups) and found.pads == press.pads


# --- the options for reading --------------------------------------------------------------


def test_every_option_that_may_be_none_is_none_unless_it_is_given() -> None:
    for field in fields(LoadOptions):
        if "None" in str(field.type):
            assert field.default is None, f"{field.name}: None could not be written down"


@dataclass(frozen=True)
class MoreOptions:
    """Options with kinds of fields that there may be one day."""

    page: int = 1
    label: str | None = None
    is_odd: bool = False
    gap_mm: float = 2.0
    left_out: tuple[tuple[float, float], ...] = ()


def test_options_of_any_kind_are_written_and_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(load_table, "LoadOptions", MoreOptions)
    monkeypatch.setattr(load_table, "LOAD_KEYS", tuple(f.name for f in fields(MoreOptions)))
    for options in (
        MoreOptions(),
        MoreOptions(3, 'a "b"', True, SUBNORMAL, ((1.5, -2.25), (SUBNORMAL, HUGE))),
    ):
        values = load_table.load_to_table(options)  # type: ignore[arg-type]
        keys = load_table.LOAD_KEYS
        assert load_table.load_from_table(Table("x", values, keys)) == options  # type: ignore[comparison-overlap]
    for bad, problem in (
        ([[1.0]], "left_out must be points, such as"),
        ([1.0, 2.0], "must be points"),
        ("1,2", "must be points"),
        ([[1.0, True]], "must be a number"),
        ([[1.0, math.inf]], "plain number"),
    ):
        with pytest.raises(UsageError, match=problem):
            load_table.load_from_table(Table("x", {"left_out": bad}, keys))


# --- the file -----------------------------------------------------------------------------


def test_a_file_that_a_person_can_read(tmp_path: Path) -> None:
    path = tmp_path / f"mug{JOB_ENDING}"
    write_job(example_job(str(tmp_path / "art" / "crest.svg")), str(path))
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# A brimcheck job: ")
    for line in ('path = "art/crest.svg"', "center_mm = [40.25, 25.5]", "turn_deg = -12.5"):
        assert line in text.splitlines()
    assert '"""\nMug for the regatta.\nBlue, then white."""' in text
    assert text.isascii() and all(len(line) < 100 for line in text.splitlines())


def test_the_path_moves_with_the_folder(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    (here / "art").mkdir(parents=True)
    for name in ("crest.svg", "art/crest.svg", "..crest.svg"):
        write_job(example_job(str(here / name)), str(here / "mug.brim.toml"))
        here.rename(there)
        assert read_job(str(there / "mug.brim.toml")).artwork_path == str(there / name)
        there.rename(here)


def test_a_path_elsewhere_is_kept_whole(tmp_path: Path) -> None:
    job_path = tmp_path / "jobs" / "mug.brim.toml"
    job_path.parent.mkdir()
    for artwork in (tmp_path / "crest.svg", tmp_path / "jobs2" / "crest.svg"):
        write_job(example_job(str(artwork)), str(job_path))
        assert f'path = "{artwork}"' in job_path.read_text(encoding="utf-8")
        assert read_job(str(job_path)).artwork_path == str(artwork)


def test_names_relative_to_where_the_program_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write_job(example_job("crest.svg"), "mug.brim.toml")
    assert read_job("mug.brim.toml").artwork_path == str(tmp_path / "crest.svg")


def test_same_changed_missing(tmp_path: Path) -> None:
    artwork, job_path = tmp_path / "crest.svg", str(tmp_path / "mug.brim.toml")
    artwork.write_bytes(b"<svg/>")
    # By printf '<svg/>' | sha256sum
    sha256 = "d4dc56669143034f31aa309635d4113d9ad76a02b1739da22c965ed2049be9e6"
    job = example_job(str(artwork), sha256=sha256)
    write_job(job, job_path)
    assert artwork_state(read_job(job_path), job_path) == "same"
    assert artwork_state(replace(job, artwork_path="crest.svg"), job_path) == "same"
    artwork.write_bytes(b"<svg />")
    assert artwork_state(job, job_path) == "changed"
    artwork.unlink()
    assert artwork_state(job, job_path) == "missing"
    artwork.mkdir()
    assert artwork_state(job, job_path) == "missing"


def test_artwork_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    artwork = tmp_path / "crest.svg"
    artwork.write_bytes(b"x")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(UsageError, match=r"crest\.svg: the artwork cannot be read \(Permission"):
        artwork_state(example_job(str(artwork)), str(tmp_path / "mug.brim.toml"))


# --- what is wrong with a file --------------------------------------------------------------

GOOD = job_to_text(example_job("/harbour/crest.svg"), "/quay bench")


def swapped(old: str, new: str) -> str:
    assert GOOD.count(old) >= 1, old
    return GOOD.replace(old, new, 1)


BAD_TEXTS: list[tuple[str, str]] = [
    ("", "schema is missing, so it is no job file"),
    ("scale = ", "not TOML: "),
    ("a = " + "[" * 5000, "not a job file: a value is too long or too deep"),
    (swapped("schema = 1\n", ""), "schema is missing"),
    (swapped("schema = 1", "schema = 2"), "written by a later version (schema 2)"),
    (swapped("schema = 1", "schema = 2\ncolour = 5"), "written by a later version"),
    (swapped("schema = 1", "schema = " + "9" * 60), "a number of too many digits"),
    (swapped("schema = 1", "schema = 0"), "schema must be 1, not 0"),
    (swapped("schema = 1", "schema = true"), "schema must be 1, not true"),
    (swapped("schema = 1", 'schema = "1"'), "schema must be 1, not '1'"),
    (swapped("schema = 1", "schema = 1\nnote = 5"), "unknown key 'note'; did you mean notes?"),
    (swapped('cup = "90"\n', ""), "cup is missing"),
    (swapped('cup = "90"', "cup = 90"), "cup must be text in quotes, not 90"),
    (swapped('cup = "90"', 'cup = "91"'), "cup names no cup: '91'; there are '60', '90'"),
    (swapped("scale = 0.75\n", ""), "scale is missing"),
    (swapped("scale = 0.75", "scale = 0"), "scale must be more than zero, not 0"),
    (swapped("scale = 0.75", "scale = -1"), "scale must be more than zero, not -1"),
    (swapped("scale = 0.75", "scale = nan"), "scale must be a plain number, not nan"),
    (swapped("scale = 0.75", "scale = 1e999"), "scale must be a plain number, not inf"),
    (swapped("scale = 0.75", "scale = 1" + "0" * 400), "scale is too great a number"),
    (swapped("scale = 0.75", 'scale = "1"'), "scale must be a number such as 90 or 2.5, without"),
    (swapped('notes = """', 'notes = 5\nx = """'), "unknown key 'x'"),
    (swapped("[artwork]", "[art]"), "unknown key 'art'; did you mean artwork?"),
    (re.sub(r"\[artwork\]\n.*\n.*\n", "", GOOD), "the table [artwork] is missing"),
    (swapped("[artwork]", "[[artwork]]"), "write [artwork] in single brackets"),
    (swapped("path = ", "file = "), "[artwork]: unknown key 'file'; allowed are path, sha256"),
    (swapped('path = "/harbour/crest.svg"\n', ""), "[artwork]: path is missing"),
    (swapped('"/harbour/crest.svg"', "5"), "[artwork]: path must be text in quotes, not 5"),
    (swapped('"/harbour/crest.svg"', '""'), "[artwork]: path is not the name of a file: ''"),
    (swapped('"/harbour/crest.svg"', '"a\\u0000b"'), "path is not the name of a file"),
    (swapped(f'sha256 = "{HASH}"\n', ""), "[artwork]: sha256 is missing"),
    (swapped(HASH, "abc"), "sha256 must be 64 digits from 0 to 9 and a to f, not abc"),
    (swapped(HASH, HASH.upper()), "sha256 must be 64 digits"),
    (swapped(HASH, "g" * 64), "sha256 must be 64 digits"),
    (re.sub(r"\[placement\]\n.*\n.*\n", "", GOOD), "the table [placement] is missing"),
    (swapped("center_mm = [40.25, 25.5]\n", ""), "[placement]: center_mm is missing"),
    (swapped("[40.25, 25.5]", "40"), "[placement]: center_mm must be two numbers, [x, y] in mm"),
    (swapped("[40.25, 25.5]", "[1, 2, 3]"), "center_mm must be two numbers"),
    (swapped("[40.25, 25.5]", "[1, inf]"), "center_mm must be a plain number, not inf"),
    (swapped("[40.25, 25.5]", '["1", 2]'), "center_mm must be a number"),
    (swapped("turn_deg = -12.5\n", ""), "[placement]: turn_deg is missing"),
    (swapped("turn_deg = -12.5", "turn_deg = false"), "turn_deg must be a number"),
    (swapped("turn_deg = -12.5", "turn = 5"), "unknown key 'turn'; did you mean turn_deg?"),
    (swapped("[load]", "[load]\ncolour = 1"), "[load]: unknown key 'colour'; allowed are page,"),
    (swapped("page = 1", "page = 0"), "[load]: page must be a whole number from 1 to 1000000"),
    (swapped("page = 1", "page = 1.0"), "page must be a whole number"),
    (swapped("page = 1", "page = true"), "page must be a whole number from 1 to 1000000, not true"),
    (swapped("width_mm = 48.0", "width_mm = 0"), "width_mm must be more than zero, not 0"),
    (swapped("width_mm = 48.0", "width_mm = -4"), "width_mm must be more than zero, not -4"),
    (swapped("width_mm = 48.0", 'width_mm = "4"'), "width_mm must be a number"),
    (swapped('white = "ink"', 'white = "no"'), '[load]: white must be one of "ink", "paper"'),
    (swapped('white = "ink"', 'trust = "me"'), 'trust must be one of "resvg", "cairo"'),
    (swapped('white = "ink"', 'paper = "red"'), 'paper must be "transparent", "border" or'),
    (swapped('white = "ink"', "paper = 5"), "paper must be text in quotes, not 5"),
    (swapped("ignore_specks = false", "ignore_specks = 0"), "must be true or false, not 0"),
    (GOOD[: GOOD.index("[press]")], "the table [press] is missing"),
    (swapped("[press]", "[press]\ncolour = 5"), "[press]: unknown key 'colour'; allowed are name"),
    (swapped('travel = "front-back"', 'travel = "up"'), "[press]: travel must be one of"),
    (swapped('use_pad = "mug oval"', 'use_pad = "oar"'), "[press]: use_pad names no pad: 'oar'"),
    (
        swapped("diameter_mm = 60.0", 'diameter_mm = "60"'),
        "[[press.cup]] number 1: diameter_mm must be a number",
    ),
    (
        swapped('name = "60"', 'name = "90"'),
        "[[press.cup]] number 2: there is a cup named '90' already",
    ),
    (swapped('margin = "15%"', "margin = {}"), "margin: must hold one value, not 0"),
    (swapped('margin = "15%"', "margin = { mm = 1, fraction = 1 }"), "must hold one value, not 2"),
    (swapped('margin = "15%"', "margin = { cm = 1 }"), "margin: unknown key 'cm'; allowed are mm,"),
    (swapped('margin = "15%"', "margin = { fraction = 1 }"), "must be less than 100 %"),
    (swapped('margin = "15%"', "margin = { mm = -1 }"), "margin: mm must be zero or more, not -1"),
    (swapped('"step:90"', "{ within_deg = 200 }"), "an angle limit is from 0 to 180 degrees"),
    (swapped('"step:90"', "{ step = 90 }"), "allowed: unknown key 'step'"),
    (swapped('"step:90"', '"step:7"'), "does not divide a whole turn"),
    (swapped("[press.etch]", "[[press.etch]]"), "write [press.etch] in single brackets"),
    (GOOD + "\n[typed]\nhold = 5\n", "[typed]: unknown key 'hold'; allowed are pad, etch"),
    (GOOD + "\n[typed]\netch = 5\n", "write [typed.etch] in single brackets"),
    (GOOD + "\n[typed.etch]\nsize_mm = 5\n", "[typed.etch]: size_mm must be two numbers"),
    (GOOD + '\n[typed.pad]\nshape = "round"\n', "[typed.pad]: size_mm is missing"),
]


@pytest.mark.parametrize(("text", "problem"), BAD_TEXTS, ids=[p[:40] for _, p in BAD_TEXTS])
def test_a_bad_file_is_one_line_that_says_where(text: str, problem: str, tmp_path: Path) -> None:
    path = tmp_path / "mug.brim.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BrimcheckError) as caught:
        read_job(str(path))
    message = caught.value.message
    assert message.startswith(f"{path}: ") and problem in message
    assert message.count(str(path)) == 1
    assert message.isprintable() and len(message) < 400 + len(str(path))


def test_the_good_text_is_good(tmp_path: Path) -> None:
    path = tmp_path / "mug.brim.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert read_job(str(path)) == example_job("/harbour/crest.svg")
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_job(str(path)) == example_job("/harbour/crest.svg")


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    path = tmp_path / "mug.brim.toml"
    with pytest.raises(UsageError, match=r"mug\.brim\.toml: the job file cannot be read \(No such"):
        read_job(str(path))
    with pytest.raises(UsageError, match=r"the job file cannot be read \(Is a directory\)"):
        read_job(str(tmp_path))
    with pytest.raises(UsageError, match="the job file cannot be read"):
        read_job("a\0b")
    path.write_bytes(b"# one\n" + 'notes = "Möwe"'.encode("latin-1"))
    with pytest.raises(UsageError, match="line 2 is not UTF-8 text: save the job file as UTF-8"):
        read_job(str(path))
    path.write_bytes(b"#" * (LARGEST_FILE_BYTES + 1))
    with pytest.raises(UsageError, match="larger than 1024 kB, so it is no job file"):
        read_job(str(path))


def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "mug.brim.toml"
    path.write_text(GOOD, encoding="utf-8")
    path.chmod(0)
    if os.access(path, os.R_OK):
        pytest.skip("this user may read everything")
    with pytest.raises(UsageError, match=r"cannot be read \(Permission denied\)"):
        read_job(str(path))


def test_a_press_file_and_a_job_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="schema is missing, so it is no job file"):
        read_job(str(EXAMPLE))
    with pytest.raises(UsageError, match="unknown key 'schema'"):
        parse_press(GOOD, "mug.brim.toml")


# --- jobs that are none, or cannot be written -------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"artwork_path": ""}, "is not the name of a file"),
        ({"artwork_path": "a\0b"}, "is not the name of a file"),
        ({"sha256": ""}, "64 digits"),
        ({"cup_name": "91"}, "cup names no cup"),
        ({"placement": Placement((math.nan, 0.0))}, "plain numbers"),
        ({"placement": Placement((0.0, 0.0), math.inf)}, "plain numbers"),
        ({"scale": 0.0}, "more than zero"),
        ({"scale": math.nan}, "more than zero"),
        ({"scale": math.inf}, "more than zero"),
        ({"notes": "x" * (LONGEST_NOTES + 1)}, "at most 20000 characters"),
    ],
)
def test_a_job_that_cannot_be_one(changes: dict[str, Any], problem: str) -> None:
    with pytest.raises(UsageError, match=problem) as caught:
        example_job(**changes)
    assert caught.value.message.isprintable()


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"notes": "a\ud800b"}, "cannot be written: the notes hold bytes that are no text"),
        ({"artwork_path": "/a\udcff.svg"}, "the artwork's name holds bytes that are no text"),
        ({"press": Press(name="a\nb")}, "name must be 1 to 60 printable characters"),
        (
            {"press": Press(cups=(Cup("90", 90.0), Cup("90", 90.0, 4.0)))},
            "there is a cup named '90' already",
        ),
        ({"press": Press(cups=(Cup("90", 1e6),))}, "diameter_mm must be at most 100000"),
        ({"load": LoadOptions(scale=-1.0)}, "scale must be more than zero"),
        ({"load": LoadOptions(trust="me")}, "trust must be one of"),
    ],
)
def test_what_cannot_be_read_back_is_not_written(
    changes: dict[str, Any], problem: str, tmp_path: Path
) -> None:
    path = tmp_path / "mug.brim.toml"
    path.write_text("before", encoding="utf-8")
    with pytest.raises(UsageError) as caught:
        write_job(example_job(**changes), str(path))
    assert problem in caught.value.message
    assert path.read_text(encoding="utf-8") == "before"
    assert [p.name for p in tmp_path.iterdir()] == ["mug.brim.toml"]
