"""``brimcheck signoff``: what is recorded, printed and exported, and when it is refused."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.fit.artworks import artwork, box
from viewer.artwork.model import Artwork, LoadOptions
from viewer.cli import main, measuring
from viewer.cli import signoff as shell
from viewer.errors import ArtworkError
from viewer.signoff import Record

SIZES = {"whistle.svg": (20, 30), "mug.svg": (66, 88), "lure.svg": (70, 30)}
Said = Callable[..., tuple[int, str, str]]
APPROVE = ["signoff", "approve", "whistle.svg", "--cup", "90", "--by", "Bench two"]


@pytest.fixture
def art(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to be in, with files whose outlines go by their names, and a record."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BRIMCHECK_RECORD", str(tmp_path / "club.sqlite"))

    def load(path: str, options: LoadOptions, progress: object = None) -> Artwork:
        name = Path(path).name
        if name not in SIZES:
            raise ArtworkError(f"{path}: no such file", code="not-found")
        digest = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        made = artwork(box(*SIZES[name], 10, 10), 0.01, path=path)
        return replace(made, sha256=digest, options=options)

    monkeypatch.setattr(measuring, "load_artwork", load)
    for name in SIZES:
        (tmp_path / name).write_text(f"<svg>{name}</svg>", encoding="utf-8")
    return tmp_path


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Said:
    """Status, output and error output of a call."""

    def run(*words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        status = main(list(words))
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        return status, told.out, told.err

    return run


def rows(art: Path) -> tuple[Any, ...]:
    return Record(str(art / "club.sqlite")).rows()


# --- approve and reject ---------------------------------------------------------------------


def test_an_approval_is_recorded_with_all_that_was_said(art: Path, said: Said) -> None:
    status, out, err = said(
        *APPROVE, "--note", "for the regatta", "--stage", "press", "--ring", "2.5", "--pad",
        "round:80", "--scale", "50%",
    )  # fmt: skip
    assert (status, err) == (0, "")
    assert "whistle.svg: approved for the 90 cup at the press by Bench two" in out
    assert "club.sqlite; seal 1/" in out and "trial print first" in out
    (row,) = rows(art)
    entry = row.entry
    assert entry.sha256 == hashlib.sha256(b"<svg>whistle.svg</svg>").hexdigest()
    assert (entry.file_name, entry.cup, entry.note) == ("whistle.svg", "90", "for the regatta")
    assert (entry.verdict, entry.stage, entry.reason) == ("fits", "press", "")
    held = json.loads(entry.settings)
    assert held["cup"]["ring_width_mm"] == 2.5 and held["limits"]["pad"]["shape"] == "round"
    assert held["load"]["scale"] == 0.5
    # 20 x 30 mm at 10, 10: its middle.
    assert held["placement"] == {"center_mm": [20.0, 25.0], "turn_deg": 0.0}


def test_the_clearance_is_that_of_the_placement_asked_for(art: Path, said: Said) -> None:
    assert said(*APPROVE, "--center", "25,25", "--turn", "-30")[0] == 0
    (row,) = rows(art)
    # Image circle 76.5 / 2; the far corner is 15 mm across and 15 mm along from 25, 25.
    assert row.entry.clearance_mm == pytest.approx(38.25 - (15**2 + 15**2) ** 0.5, abs=1e-9)
    assert json.loads(row.entry.settings)["placement"]["turn_deg"] == -30.0


def test_what_does_not_fit_needs_a_reason(art: Path, said: Said) -> None:
    call = ["signoff", "approve", "mug.svg", "--cup", "90", "--by", "Bench two"]
    for more in ([], ["--reason", "  "], ["--reason", ""], ["--note", "please"]):
        status, out, err = said(*call, *more)
        assert (status, out) == (2, "") and err.count("\n") == 1
        assert "not approved: outside with the 90 cup" in err and "--reason" in err
    assert not (art / "club.sqlite").exists()
    assert said(*call, "--reason", "-")[0] == 2
    status, out, _ = said(*call, "--reason", "a sample for the club")
    assert status == 1 and "although the verdict is outside: a sample for the club" in out
    for words in (["list"], ["show", "1"], ["verify", "mug.svg"], ["export", "--csv"]):
        assert "a sample for the club" in said("signoff", *words)[1], words


def test_a_placement_that_the_press_does_not_allow_needs_a_reason(art: Path, said: Said) -> None:
    status, _, err = said(*APPROVE, "--angles", "none", "--center", "20,25", "--turn", "5")
    assert status == 2 and "the press cannot take this placement" in err


def test_a_reason_for_what_fits_is_refused(art: Path, said: Said) -> None:
    status, _, err = said(*APPROVE, "--reason", "why not")
    assert status == 2 and "use the note instead" in err and rows(art) == ()


def test_a_rejection_needs_no_reason(art: Path, said: Said) -> None:
    call = ["signoff", "reject", "mug.svg", "--cup", "90", "--by", "Bench two"]
    status, out, _ = said(*call, "--note", "too big")
    assert status == 0 and "rejected for the 90 cup" in out
    (row,) = rows(art)
    assert (row.entry.decision, row.entry.note) == ("reject", "too big")


def test_a_file_that_changes_meanwhile_is_not_signed(
    art: Path, said: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    fit = shell.fit_measured

    def meddle(artwork: Artwork, settings: Any) -> Any:
        (art / "whistle.svg").write_text("<svg>other</svg>", encoding="utf-8")
        return fit(artwork, settings)

    monkeypatch.setattr(shell, "fit_measured", meddle)
    status, _, err = said(*APPROVE)
    assert status == 2 and "changed while it was measured" in err and rows(art) == ()


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (["approve", "gone.svg", "--cup", "90", "--by", "x"], "no such file"),
        (["approve", ".", "--cup", "90", "--by", "x"], "is a folder"),
        (["approve", "whistle.svg", "--cup", "61", "--by", "x"], "there are 60, 75"),
        (["approve", "whistle.svg", "--cup", "90", "--by", ""], "name of who decides"),
        (["approve", "whistle.svg", "--cup", "90"], "--by"),
        (["approve", "whistle.svg", "--by", "x"], "--cup"),
        (["approve", "whistle.svg", "--cup", "90", "--by", "x", "--by", "y"], "given twice"),
        (["approve", "whistle.svg", "--cup", "90", "--by", "x", "--turn", "5"], "--center"),
        (["approve", "whistle.svg", "--cup", "90", "--by", "x", "--stage", "moon"], "--stage"),
        (["reject", "whistle.svg", "--cup", "90", "--by", "x", "--reason", "y"], "--reason"),
        (["approve", "whistle.svg", "--cup", "90", "--by", "x", "--record", ""], "--record"),
        (["approve", "whistle.svg", "--cup", "90", "--by", "x", "--record", "."], "is a folder"),
        (["approve", "whistle.svg", "--cup", "90", "--by", "x", "--record", "no/r"], "no folder"),
        (
            ["approve", "whistle.svg", "--cup", "90", "--by", "x", "--record", "whistle.svg"],
            "not an approval record",
        ),
        (["list", "--record", "gone.sqlite"], "there is no approval record"),
        (["list", "more"], "unrecognized"),
        (["show", "0"], "whole number from 1"),
        (["show"], "N"),
        (["export"], "--csv"),
        (["export", "--csv", "--json"], "not allowed"),
        (["verify", "--cup", "90"], "about a file"),
        (["verify", "whistle.svg", "--ring", "3"], "name the cup"),
        ([], "action"),
        (["sign"], "invalid choice"),
        (["signoff", "list"], "invalid choice"),
        (["--record", "x", "list"], "invalid choice"),
    ],
)
def test_wrong_calls_are_one_line(art: Path, said: Said, words: list[str], problem: str) -> None:
    before = (art / "whistle.svg").read_bytes()
    status, out, err = said("signoff", *words)
    assert (status, out) == (2, "") and problem in err
    assert err.startswith("brimcheck: ") and err.count("\n") == 1
    assert (art / "whistle.svg").read_bytes() == before
    assert not (art / "club.sqlite").exists()


@pytest.mark.parametrize("words", [["-h"], ["list", "-h"], ["approve", "--help"]])
def test_help(said: Said, words: list[str]) -> None:
    status, out, _ = said("signoff", *words)
    assert status == 0 and "brimcheck signoff" in out


# --- list, show, export ---------------------------------------------------------------------


@pytest.fixture
def signed(art: Path, said: Said) -> Path:
    """A whistle approved, a mug approved although it does not fit, the whistle rejected."""
    assert said(*APPROVE)[0] == 0
    mug = ["signoff", "approve", "mug.svg", "--cup", "90", "--by", "Bench\x1btwo"]
    assert said(*mug, "--reason", "=1+1")[0] == 1
    assert said("signoff", "reject", *APPROVE[2:], "--stage", "press")[0] == 0
    return art


def alter(art: Path, number: int) -> None:
    db = sqlite3.connect(art / "club.sqlite")
    db.execute("DROP TRIGGER sign_offs_stay")
    db.execute(f"UPDATE sign_offs SET body = replace(body, '90', '91') WHERE number = {number}")
    db.commit()
    db.close()


def test_the_list(signed: Path, said: Said) -> None:
    status, out, err = said("signoff", "list")
    lines = out.splitlines()
    assert (status, err, len(lines)) == (0, "", 5)
    assert [line[:1] for line in lines] == ["r", "1", "2", " ", "3"]
    assert "approved" in lines[1] and "rejected" in lines[4] and "outside" in lines[2]
    assert out.replace("\n", "").isprintable() and "Bench\\x1btwo" in out


def test_a_record_that_is_given_comes_before_the_usual(signed: Path, said: Said) -> None:
    shutil.copy(signed / "club.sqlite", signed / "copy.sqlite")
    assert said(*APPROVE, "--record", "copy.sqlite")[0] == 0
    assert len(said("signoff", "list", "--record", "copy.sqlite")[1].splitlines()) == 6
    assert len(said("signoff", "list")[1].splitlines()) == 5


def test_the_users_own_record_is_made_when_needed(
    art: Path, said: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("BRIMCHECK_RECORD")
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(art / "data" / "deep"))
    assert said("signoff", "list")[0] == 0 and not (art / "data").exists()
    assert said("signoff", "verify")[0] == 0
    assert said("signoff", "verify", "whistle.svg")[0] == 1
    assert json.loads(said("signoff", "export", "--json")[1])["rows"] == []
    assert said(*APPROVE)[0] == 0
    assert (art / "data" / "deep" / "sign-off.sqlite").is_file()
    assert said("signoff", "verify", "whistle.svg")[0] == 0


def test_one_row_with_everything_in_it(signed: Path, said: Said) -> None:
    status, out, _ = said("signoff", "show", "2")
    row = rows(signed)[1]
    assert status == 0 and row.hash in out and row.entry.sha256 in out
    assert "=1+1" in out and '"cup":{' in out
    status, out, err = said("signoff", "show", "4")
    assert (status, out) == (2, "") and "there is no row 4; the last is row 3" in err


@pytest.mark.parametrize("form", ["csv", "json"])
def test_exports(signed: Path, said: Said, form: str) -> None:
    status, out, err = said("signoff", "export", f"--{form}")
    assert (status, err) == (0, "")
    (signed / "out").write_text("old", encoding="utf-8")
    assert said("signoff", "export", f"--{form}", "-o", "out")[1] == "out: written; 3 rows\n"
    assert (signed / "out").read_bytes() == out.encode("utf-8")
    if form == "csv":
        lines = list(csv.DictReader(io.StringIO(out, newline="")))
        assert [line["decision"] for line in lines] == ["approve", "approve", "reject"]
        assert lines[1]["reason"] == "'=1+1"
    else:
        assert [row["number"] for row in json.loads(out)["rows"]] == [1, 2, 3]
        assert json.loads(out)["rows"][1]["reason"] == "=1+1"
    assert not list(signed.glob("*.tmp"))


@pytest.mark.parametrize(
    ("target", "problem"),
    [
        ("club.sqlite", "the approval record itself"),
        ("club.sqlite.head", "the approval record itself"),
        ("./club.sqlite-wal", "the approval record itself"),
        ("link", "the approval record itself"),
        (".", "the name of a file"),
        ("", "the name of a file"),
        ("gone/out.csv", "not written"),
    ],
)
def test_where_an_export_must_not_go(signed: Path, said: Said, target: str, problem: str) -> None:
    (signed / "link").symlink_to(signed / "club.sqlite")
    before = (signed / "club.sqlite").read_bytes()
    status, out, err = said("signoff", "export", "--csv", "-o", target)
    assert (status, out) == (2, "") and problem in err and err.count("\n") == 1
    assert (signed / "club.sqlite").read_bytes() == before and not list(signed.glob("*.tmp"))


def test_an_unsound_record_is_shown_as_far_as_it_is_sound(signed: Path, said: Said) -> None:
    alter(signed, 2)
    status, out, err = said("signoff", "list")
    assert status == 1 and [line[:1] for line in out.splitlines()] == ["r", "1", "3"]
    assert "opened read-only" in err and err.count("\n") == 1
    status, out, err = said("signoff", "export", "--json")
    assert status == 1 and [row["number"] for row in json.loads(out)["rows"]] == [1, 3]
    assert err.count("\n") == 1
    assert said("signoff", "show", "1")[0] == 1
    status, _, err = said("signoff", "show", "2")
    assert status == 2 and "row 2 was altered" in err
    status, out, err = said(*APPROVE)
    assert (status, out) == (2, "") and "nothing was recorded" in err and "verify" in err


def test_a_record_of_a_newer_version_is_said_in_one_line(signed: Path, said: Said) -> None:
    db = sqlite3.connect(signed / "club.sqlite")
    db.execute("PRAGMA user_version = 7")
    db.commit()
    db.close()
    status, out, err = said("signoff", "list")
    assert status == 0 and len(out.splitlines()) == 5
    assert err.count("\n") == 1 and "newer version (record version 7" in err
    status, _, err = said(*APPROVE)
    assert status == 2 and "newer version" in err and err.count("\n") == 1


# --- verify ---------------------------------------------------------------------------------


def test_verify_says_that_a_record_is_sound(signed: Path, said: Said) -> None:
    status, out, err = said("signoff", "verify")
    assert (status, err) == (0, "") and "sound; 3 rows" in out
    assert rows(signed)[2].seal in out


def test_verify_says_what_is_wrong(signed: Path, said: Said) -> None:
    alter(signed, 1)
    status, out, _ = said("signoff", "verify")
    assert status == 1 and "not sound; 2 of 3 rows are" in out
    assert "row 1 was altered" in out and "sign_offs_stay, which guards the rows" in out


@pytest.mark.parametrize(
    ("words", "status", "answer"),
    [
        (["whistle.svg"], 1, "not approved: rejected for the 90 cup at the press"),
        (["mug.svg"], 1, "although the verdict is"),
        (["mug.svg", "--cup", "75"], 1, "not approved for the 75 cup: the record speaks of 90"),
        (["lure.svg"], 1, "the record does not know this content"),
        (["mug.svg", "whistle.svg"], 1, "approved for the 90 cup"),
        (["mug.svg", "--cup", "90", "--stage", "press"], 1, "not approved at the press"),
        (["mug.svg", "--cup", "90", "--ring", "3"], 1, "approved for the 90 cup"),
        (["mug.svg", "--cup", "90", "--ring", "2"], 1, "cup: ring width mm was 3, not 2"),
        (["mug.svg", "--cup", "90", "--center", "43,54"], 1, "approved for the 90 cup"),
        (["mug.svg", "--cup", "90", "--center", "40,54"], 1, "center mm x was 43, not 40"),
        (["mug.svg", "--cup", "90", "--pad=round:60"], 1, "pad was none, not round 60 x 60 mm"),
    ],
)
def test_verify_a_file(
    signed: Path, said: Said, words: list[str], status: int, answer: str
) -> None:
    found, out, err = said("signoff", "verify", *words)
    assert (found, err) == (status, "") and answer in out
    assert len(out.splitlines()) == sum(word.endswith(".svg") for word in words)


def test_verify_tells_an_approval_of_what_does_not_fit_and_yet_returns_1(
    art: Path, said: Said
) -> None:
    """Whoever lets a script run on after status 0 must not run on with these."""
    assert said(*APPROVE)[0] == 0
    mug = ["signoff", "approve", "mug.svg", "--cup", "90", "--by", "Bench two"]
    assert said(*mug, "--reason", "a sample for the club")[0] == 1
    assert said("signoff", "verify", "whistle.svg")[0] == 0
    for more in ([], ["--cup", "90"], ["--cup", "90", "--center", "43,54"]):
        status, out, err = said("signoff", "verify", "mug.svg", *more)
        assert (status, err) == (1, "") and out.startswith("mug.svg: approved for the 90 cup")
        assert "although the verdict is outside: a sample for the club" in out
    assert said("signoff", "verify", "whistle.svg", "mug.svg")[0] == 1
    told = said("signoff", "verify", "--help")[1]
    assert "1 not sound, not approved, or approved although" in " ".join(told.split())


def test_verify_other_content_and_another_name(signed: Path, said: Said) -> None:
    (signed / "copy.svg").write_bytes((signed / "mug.svg").read_bytes())
    status, out, _ = said("signoff", "verify", "copy.svg")
    assert status == 1 and "it was named mug.svg then" in out
    (signed / "mug.svg").write_text("<svg>retouched</svg>", encoding="utf-8")
    status, out, _ = said("signoff", "verify", "mug.svg")
    assert status == 1 and "other content of the same name was approved" in out


def test_verify_goes_on_behind_a_file_that_cannot_be_read(signed: Path, said: Said) -> None:
    status, out, err = said("signoff", "verify", "gone.svg", "mug.svg")
    assert status == 2 and "mug.svg: approved" in out and "gone.svg: no such file" in err


def test_an_unsound_record_proves_nothing(signed: Path, said: Said) -> None:
    """The row that is gone may have been a rejection."""
    alter(signed, 1)
    status, out, err = said("signoff", "verify", "mug.svg")
    assert status == 1 and "not proved, as the record is not sound" in out
    assert "row 1 was altered" in err
