"""What the window approves is what the shell finds approved, and nothing else is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from viewer.artwork.model import LoadOptions
from viewer.cli import main
from viewer.cli.options import parse_arguments
from viewer.press.cups import Cup, Margin
from viewer.press.press import Press
from viewer.screen import model
from viewer.screen.desk import Desk
from viewer.screen.loader import FileOpener
from viewer.screen.signing_shown import NAME, REASON
from viewer.signoff import Record, scaled_load

FLOAT = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">'
    '<path fill="#17324d" d="M20 10 L60 14 L52 46 L24 40 Z"/></svg>'
)


@pytest.fixture
def club(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a float's artwork and no record yet."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BRIMCHECK_RECORD", str(tmp_path / "club.sqlite"))
    (tmp_path / "float.svg").write_text(FLOAT, encoding="utf-8")
    return tmp_path


@pytest.fixture
def desks() -> Iterator[list[Desk]]:
    made: list[Desk] = []
    yield made
    for desk in made:
        desk.close()


def opened(desks: list[Desk], *options: str, scale: float = 1.0, cup: str = "75") -> Desk:
    """The window as a call of the shell would open it, then scaled in the window."""
    settings = parse_arguments(["float.svg", *options])
    desk = Desk((1100, 700), settings.press, FileOpener())
    desks.append(desk)
    desk.filing.open_now("float.svg", settings.load)
    desk.change(lambda session: model.with_scale(session, scale))
    desk.fit_now()
    assert desk.session is not None
    names = [cup_fit.cup.name for cup_fit in desk.session.fit.cups]
    desk.change(lambda session: model.with_cup(session, names.index(cup)))
    desk.go_to_best()
    return desk


def approve(desk: Desk, reason: str = "") -> None:
    """Sign it off as a person would, by the names of fields and buttons."""
    signing = desk.signing
    signing.begin()
    signing.wait()
    signing.enter(NAME, "Bench two")
    signing.enter(REASON, reason)
    signing.press("approve")
    signing.wait()
    shown = signing.shown
    assert shown is not None and shown.refusal is None and shown.state == "done", shown
    signing.press("leave")


def verify(capsys: pytest.CaptureFixture[str], *options: str) -> tuple[int, str]:
    capsys.readouterr()
    status = main(["signoff", "verify", "float.svg", *options])
    return status, capsys.readouterr().out


PRESS_OPTIONS = ("--pad", "oval:84x72m2", "--etch", "90x70", "--hold", "across", "--datum", "page")
CALLS = {
    "plain": ((), 1.0, ()),
    "press": (PRESS_OPTIONS, 1.0, PRESS_OPTIONS),
    "scaled in the window": ((), 0.9, ("--scale", "90%")),
    "scaled twice": (("--scale", "50%"), 1.1, ("--scale", "55%")),
    "width": (("--width", "30mm"), 1.2, ("--width", "36mm")),
    "height": (("--height", "20mm"), 1.0, ("--height", "20mm")),
    "page width": (
        ("--page-width", "60mm"),
        0.7,
        ("--page-width", "60mm", "--scale", "70%"),
    ),
}


@pytest.mark.parametrize("name", CALLS)
def test_the_shell_finds_it_approved(
    club: Path, desks: list[Desk], capsys: pytest.CaptureFixture[str], name: str
) -> None:
    options, scale, same = CALLS[name]
    approve(opened(desks, *options, scale=scale))
    (window,) = Record(str(club / "club.sqlite")).rows()
    capsys.readouterr()
    call = ["signoff", "approve", "float.svg", "--cup", "75", "--by", "Bench two", *same]
    assert main(call) == 0
    _, shell = Record(str(club / "club.sqlite")).rows()
    one, other = (json.loads(row.entry.settings) for row in (window, shell))
    for part in ("load", "cup", "limits", "setup_tolerance_mm", "press", "excluded"):
        assert one[part] == other[part], part
    assert one["placement"]["center_mm"] == pytest.approx(
        other["placement"]["center_mm"], abs=0.005
    )
    assert one["placement"]["turn_deg"] == pytest.approx(other["placement"]["turn_deg"], abs=0.05)
    assert one["measured"]["page_mm"] == pytest.approx(other["measured"]["page_mm"], abs=0.02)
    assert window.entry.verdict == shell.entry.verdict
    assert window.entry.clearance_mm == pytest.approx(shell.entry.clearance_mm, abs=0.03)
    assert (window.entry.sha256, window.entry.cup) == (shell.entry.sha256, shell.entry.cup)


@pytest.mark.parametrize("name", CALLS)
def test_verify_agrees_with_the_same_options_alone(
    club: Path, desks: list[Desk], capsys: pytest.CaptureFixture[str], name: str
) -> None:
    options, scale, same = CALLS[name]
    approve(opened(desks, *options, scale=scale))
    # With no option at all any settings do; one that says nothing new makes it compare.
    asked = ("--cup", "75", "--setup", "0.5", *same)
    status, told = verify(capsys, *asked)
    assert status == 0 and "approved for the 75 cup" in told, told
    for other, words in (
        (("--margin", "10%"), "margin"),
        (("--ring", "2"), "ring width"),
        (("--angles", "none"), "angles"),
        (("--white", "paper"), "white"),
        (("--page", "2"), "page"),
    ):
        status, told = verify(capsys, *asked, *other)
        assert status == 1 and "not approved with these settings" in told and words in told, told
    status, told = verify(capsys, "--cup", "90", *asked[2:])
    assert status == 1 and "not approved for the 90 cup" in told
    rest = [word for word in same if word not in ("--scale", "--width", "--height")]
    if len(rest) == len(same):
        status, told = verify(capsys, *asked, "--scale", "99%")
    else:
        status, told = verify(capsys, "--cup", "75", "--setup", "0.5", "--scale", "33%")
    assert status == 1 and "not approved with these settings" in told


def test_the_placement_counts_as_well(
    club: Path, desks: list[Desk], capsys: pytest.CaptureFixture[str]
) -> None:
    desk = opened(desks)
    desk.change(lambda session: model.with_offset(session, 1.0, -2.0))
    assert desk.session is not None
    x, y = desk.session.placement.center_mm
    approve(desk)
    turn = ("--turn", f"{desk.session.placement.turn_deg}")
    at = ("--cup", "75", "--center", f"{x:.2f},{y:.2f}", *turn)
    assert verify(capsys, *at)[0] == 0
    at = ("--cup", "75", "--center", f"{x + 0.1:.2f},{y:.2f}", *turn)
    status, told = verify(capsys, *at)
    assert status == 1 and "placement" in told


def test_a_cup_changed_in_the_window_is_another_cup(
    club: Path, desks: list[Desk], capsys: pytest.CaptureFixture[str]
) -> None:
    press = Press(cups=(Cup("75", 75.0, margin=Margin(0.1, True)),))
    desk = Desk((1100, 700), press, FileOpener())
    desks.append(desk)
    desk.filing.open_now("float.svg", LoadOptions())
    desk.fit_now()
    approve(desk)
    assert verify(capsys, "--cup", "75", "--margin", "10%")[0] == 0
    assert verify(capsys, "--cup", "75", "--margin", "15%")[0] == 1


def test_what_does_not_fit_is_approved_with_its_reason_only(
    club: Path, desks: list[Desk], capsys: pytest.CaptureFixture[str]
) -> None:
    desk = opened(desks, scale=3.0)
    approve(desk, "a sample for the club")
    status, told = verify(capsys, "--cup", "75", "--scale", "300%")
    assert status == 1 and "although the verdict is outside: a sample for the club" in told
    main(["signoff", "list"])
    assert "a sample for the club" in capsys.readouterr().out


def test_a_file_changed_later_is_not_approved(
    club: Path, desks: list[Desk], capsys: pytest.CaptureFixture[str]
) -> None:
    approve(opened(desks))
    (club / "float.svg").write_text(FLOAT.replace("60 14", "60 15"), encoding="utf-8")
    status, told = verify(capsys, "--cup", "75", "--setup", "0.5")
    assert status == 1 and "other content of the same name" in told


def test_options_as_if_the_file_had_been_read_so() -> None:
    load = LoadOptions(scale=0.7, dpi=300.0, leave_out=((3.0, 4.0),))
    assert scaled_load(load, 1.0) is load
    # 0.7 x 1.1 is 0.7700000000000001 in binary fractions.
    assert scaled_load(load, 1.1) == replace(load, scale=0.77)
    sized = LoadOptions(width_mm=30.0, height_mm=20.0, leave_out=((3.0, 4.0),))
    expected = replace(sized, width_mm=60.0, height_mm=40.0, leave_out=((6.0, 8.0),))
    assert scaled_load(sized, 2.0) == expected
