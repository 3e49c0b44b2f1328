"""What the record says about one file, and how settings differ."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from tests.fit.artworks import artwork, box
from tests.signoff.entries import entry, rejection, settings, sha, ticking
from viewer.artwork.model import LoadOptions, Speck
from viewer.fit import Placement, Verdict
from viewer.press import Angles, Cup, EtchArea, Hold, Margin, Pad, PressLimits
from viewer.signoff import (
    Entry,
    Record,
    Row,
    Stage,
    Standing,
    Wanted,
    differences,
    settings_of,
    settings_text,
    standing_of,
)

PRESS = Stage.PRESS
FREE = PressLimits()


def recorded(tmp_path: Path, *entries: Entry) -> tuple[Row, ...]:
    record = Record(str(tmp_path / "r"), clock=ticking())
    return tuple(record.append(one) for one in entries)


def asked(rows: tuple[Row, ...], content: str = "whistle", **wanted: object) -> Standing:
    return standing_of(rows, sha(content), f"{content}.svg", Wanted(**wanted))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("decisions", "wanted", "approved", "row"),
    [
        ([], {}, False, None),
        (["approve 90"], {}, True, 1),
        (["approve 90"], {"cup": "90"}, True, 1),
        (["approve 90"], {"cup": " 90 "}, True, 1),
        (["approve 90"], {"cup": "75"}, False, 1),
        (["reject 90"], {}, False, 1),
        (["approve 90", "reject 90"], {}, False, 2),
        (["approve 90", "reject 90"], {"cup": "90"}, False, 2),
        (["reject 90", "approve 90"], {}, True, 2),
        (["approve 90", "reject 90", "approve 90"], {}, True, 3),
        # A rejection is for its own cup, but it is the latest word when no cup is named.
        (["approve 90", "reject 75"], {"cup": "90"}, True, 1),
        (["approve 90", "reject 75"], {"cup": "75"}, False, 2),
        (["approve 90", "reject 75"], {}, False, 2),
        (["reject 75", "approve 90"], {}, True, 2),
        # The stages.
        (["approve 90"], {"stage": PRESS}, False, 1),
        (["approve 90", "approve 90 press"], {"stage": PRESS}, True, 2),
        (["approve 90", "approve 90 press"], {"stage": Stage.PLATE}, True, 1),
        (["approve 90", "reject 90 press"], {"stage": Stage.PLATE}, False, 2),
        (["approve 90 press", "reject 90"], {"stage": PRESS}, False, 2),
    ],
)
def test_the_latest_decision_counts(
    tmp_path: Path,
    decisions: list[str],
    wanted: dict[str, object],
    approved: bool,
    row: int | None,
) -> None:
    made = []
    for words in decisions:
        decision, cup, *stage = words.split()
        make = entry if decision == "approve" else rejection
        made.append(make(cup=cup, stage=PRESS if stage else Stage.PLATE))
    # Another file's decisions change nothing.
    rows = recorded(tmp_path, *made)
    others = recorded(tmp_path, rejection("mug"), entry("mug"))
    answer = asked((*rows, *others), **wanted)
    assert answer.is_approved is approved
    assert (answer.row and answer.row.number) == row
    assert answer.message.startswith("approved") is approved


def test_other_content_of_the_same_name(tmp_path: Path) -> None:
    rows = recorded(tmp_path, entry("old drawing", file_name="whistle.svg"))
    answer = asked(rows)
    assert (
        not answer.is_approved and "other content of the same name was approved" in answer.message
    )
    assert sha("old drawing")[:12] in answer.message and sha("whistle")[:12] in answer.message


def test_the_same_content_under_another_name(tmp_path: Path) -> None:
    rows = recorded(tmp_path, entry(file_name="final_final.svg"))
    answer = asked(rows)
    assert answer.is_approved and answer.message.endswith("it was named final_final.svg then")


def test_the_reason_is_on_every_copy(tmp_path: Path) -> None:
    rows = recorded(tmp_path, entry(verdict=Verdict.OUTSIDE, reason="a sample for the club"))
    assert "although the verdict is outside: a sample for the club" in asked(rows).message


def test_another_cup_that_stands_approved_is_named(tmp_path: Path) -> None:
    rows = recorded(tmp_path, entry(cup="90"), entry(cup="110"), rejection(cup="75"))
    assert "approved for 90, 110: name it with --cup" in asked(rows).message


def test_an_approval_is_for_its_own_settings(tmp_path: Path) -> None:
    def text(margin: float) -> str:
        return settings_text(LoadOptions(), Cup("90", 90.0, margin=Margin(margin, True)), FREE)

    rows = recorded(
        tmp_path,
        entry(settings=settings(Cup("90", 90.0, margin=Margin(0.15, True)))),
        entry(settings=settings(Cup("90", 90.0, margin=Margin(0.10, True)))),
    )
    # Neither approval takes the other back.
    assert asked(rows, cup="90", settings=text(0.15)).row == rows[0]
    assert asked(rows, cup="90", settings=text(0.10)).row == rows[1]
    other = asked(rows, cup="90", settings=text(0.05))
    assert not other.is_approved and "cup: margin value was 0.1, not 0.05" in other.message
    # But a rejection takes back both.
    more = (*rows, *recorded(tmp_path, rejection()))
    assert not asked(more, cup="90", settings=text(0.15)).is_approved


# --- settings --------------------------------------------------------------------------

CUP = Cup("90", 90.0)
LIMITS = PressLimits(
    pad=Pad("oval", 100.0, 60.0, offset_mm=(1.0, -2.0), turn_deg=30.0, margin_mm=2.0, name="soft"),
    etch=EtchArea(90.0, 72.0),
    hold=Hold("across", 3.0),
    angles=Angles("within", 10.0),
)


def test_settings_hold_everything_and_are_canonical() -> None:
    whistle = replace(
        artwork(box(20, 30), 0.01, specks=[Speck((5.0, 6.0), 0.3, True), Speck((1.0, 1.0), 0.2)]),
        options=LoadOptions(scale=0.5, ignore_specks=True, white="ink"),
    )
    text = settings_of(whistle, CUP, LIMITS, Placement((10.0, 15.0), 90.0), 0.4, "Harbour press")
    held = json.loads(text)
    assert text == json.dumps(held, sort_keys=True, separators=(",", ":"))
    assert held["cup"]["diameter_mm"] == 90.0 and held["cup"]["margin"]["value"] == 0.15
    assert held["limits"]["pad"]["offset_mm"] == [1.0, -2.0]
    assert held["load"]["scale"] == 0.5 and held["load"]["white"] == "ink"
    assert held["placement"] == {"center_mm": [10.0, 15.0], "turn_deg": 90.0}
    assert held["setup_tolerance_mm"] == 0.4 and held["press"] == "Harbour press"
    assert held["excluded"] == [{"center_mm": [5.0, 6.0], "size_mm": 0.3}]
    assert "time_budget_s" not in held["load"]
    unknown = settings_of(artwork(box(20, 30), math.inf), CUP, FREE, Placement((10.0, 15.0)))
    assert json.loads(unknown)["measured"]["uncertainty_mm"] is None


@pytest.mark.parametrize(
    ("load", "cup", "limits", "placement", "told"),
    [
        (LoadOptions(), CUP, FREE, None, []),
        (LoadOptions(time_budget_s=3.0), CUP, FREE, None, []),
        (LoadOptions(), Cup("ninety", 90.0), FREE, None, []),
        (LoadOptions(), CUP, FREE, Placement((10.0, 15.0)), []),
        (LoadOptions(), CUP, FREE, Placement((10.004, 14.996), 0.04), []),
        (
            LoadOptions(),
            CUP,
            FREE,
            Placement((10.02, 15.0), 0.2),
            [
                "placement: center mm x was 10, not 10.02",
                "placement: turn deg was 0, not 0.2",
            ],
        ),
        (LoadOptions(scale=0.5), CUP, FREE, None, ["load: scale was 1, not 0.5"]),
        (LoadOptions(white="paper"), CUP, FREE, None, ["load: white was not given, not paper"]),
        (
            LoadOptions(ignore_specks=True),
            CUP,
            FREE,
            None,
            ["load: ignore specks was false, not true"],
        ),
        (
            LoadOptions(),
            Cup("90", 90.0, ring_width_mm=2.5),
            PressLimits(pad=Pad("round", 80.0, 80.0), etch=EtchArea(90.0, 72.5)),
            None,
            [
                "pad was none, not round 80 x 80 mm",
                "etch area was none, not 90 x 72.5 mm",
                "cup: ring width mm was 3, not 2.5",
            ],
        ),
        (
            LoadOptions(),
            CUP,
            PressLimits(hold=Hold("across", 3.0)),
            None,
            [
                "limits: hold kind was free, not across",
                "limits: hold limit mm was not given, not 3",
            ],
        ),
    ],
)
def test_how_settings_differ(
    load: LoadOptions, cup: Cup, limits: PressLimits, placement: Placement | None, told: list[str]
) -> None:
    assert differences(settings(), settings_text(load, cup, limits, placement)) == tuple(told)


def test_a_pad_that_was_and_a_pad_that_is_now() -> None:
    bigger = replace(LIMITS, pad=replace(LIMITS.pad, height_mm=70.0, name="hard"))  # type: ignore[type-var]
    text = settings_text(LoadOptions(), CUP, bigger)
    assert differences(settings(CUP, LIMITS), text) == ("limits: pad height mm was 60, not 70",)
    assert differences(settings(CUP, LIMITS), settings_text(LoadOptions(), CUP, LIMITS)) == ()


def test_a_setting_that_an_older_version_did_not_know_was_left_alone() -> None:
    older = json.loads(settings())
    del older["load"]["ignore_specks"], older["limits"]["angles"]
    text = json.dumps(older)
    assert differences(text, settings_text(LoadOptions(), CUP, FREE)) == ()
    now = settings_text(LoadOptions(ignore_specks=True), CUP, FREE)
    assert differences(text, now) == ("load: ignore specks was false, not true",)


@pytest.mark.parametrize("text", ["{}", '{"load": 3, "limits": [1], "cup": null}'])
def test_settings_of_another_make_are_compared_as_far_as_they_go(text: str) -> None:
    assert differences(text, settings()) != ()
