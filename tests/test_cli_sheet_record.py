"""What the approval record says is printed on every page of a fit sheet, above all a reason."""

from __future__ import annotations

import pathlib
import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import combinations
from typing import Any

import pypdfium2
import pytest

from tests.fit.artworks import artwork as plain_artwork
from tests.fit.artworks import box
from tests.sheets.test_template import assert_text_inside
from tests.signoff.entries import sha, ticking
from viewer.artwork.load import load_artwork
from viewer.artwork.model import LoadOptions
from viewer.cli import main
from viewer.cli.options import parse_arguments
from viewer.errors import UsageError
from viewer.fit import Placement, fit_artwork, place
from viewer.job import write_job
from viewer.press import Cup, EtchArea, Margin, Press, PressLimits
from viewer.screen import model
from viewer.screen.job_session import job_of
from viewer.sheets.draw_list import Group, Item, Path, Text, walk
from viewer.sheets.fit_sheet import FitSheetOrder, fit_sheet
from viewer.sheets.fit_words import Judged
from viewer.sheets.page import PAPERS, Format, Paper
from viewer.sheets.pdf_writer import measure_text
from viewer.sheets.record_band import (
    HIGH_MM,
    MORE,
    MOST_MM,
    NOTHING_TOLD,
    SIZES_MM,
    STATE_MM,
    TITLE,
    RecordTold,
    record_band,
)
from viewer.signoff import Decision, Entry, Record, Row, Stage, settings_of
from viewer.signoff.entry import LONGEST_TEXT
from viewer.signoff.on_sheet import record_told

Said = Callable[..., tuple[int, str, str]]
MUG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="110mm" height="110mm" viewBox="0 0 110 110">'
    '<path fill="none" stroke="#17324d" stroke-width="3" d="M12 12h86v86h-86z"/></svg>'
)
REASON = (
    "a sample for the club: the corners are trimmed off the mugs by hand before they are fired,"
    " and the skipper has seen the trial print and is content with it as it is"
)
APPROVE = ("signoff", "approve", "mug.svg", "--cup", "90", "--by", "Bench two")
SHEET = ("sheet", "mug.svg", "-o", "fit.pdf", "--cup", "90", "--date", "2031-05-06")


# --- the lines ------------------------------------------------------------------------------


def judged(side_mm: float = 90.0, cup: Cup | None = None, at: Placement | None = None) -> Judged:
    """A square mug print; with 90 mm a side it is outside of a 90 cup."""
    art = plain_artwork(box(side_mm, side_mm, 10.0, 10.0), 0.01, path="/boat/mug.svg")
    art = replace(art, sha256=sha(f"mug {side_mm}"))
    fit = fit_artwork(art, [cup or Cup("90", 90.0)])
    (cup_fit,) = fit.cups
    placement = at or cup_fit.best.settable.placement
    placed = place(art, cup_fit.cup, placement, limits=fit.limits)
    return Judged(fit, cup_fit, placement, placed, Press(cups=(cup_fit.cup,)))


@pytest.fixture
def record(tmp_path: pathlib.Path) -> Record:
    return Record(str(tmp_path / "club.sqlite"), clock=ticking())


def decide(record: Record, about: Judged, reason: str = "", **more: Any) -> Row:
    """Have a decision recorded about exactly what a sheet shows."""
    fit, cup = about.fit, about.cup_fit.cup
    plain = Entry(
        sha256=fit.artwork.sha256,
        file_name="mug.svg",
        settings=settings_of(fit.artwork, cup, fit.limits, about.placement),
        cup=cup.name,
        verdict=about.placed.verdict,
        clearance_mm=about.placed.clearance_mm,
        decision=Decision.REJECT if more.get("rejects") else Decision.APPROVE,
        by="Bench two",
        stage=more.get("stage", Stage.PLATE),
        reason=reason,
    )
    return record.append(plain)


def record_lines(about: Judged, path: str) -> tuple[str, ...]:
    return record_told(about, Record(path)).lines


def state(about: Judged, record: Record) -> tuple[str, bool]:
    """What is seen at arm's length, and whether it is white on black."""
    told = record_told(about, record)
    return told.state, told.is_bad


def test_nothing_is_said_of_what_was_never_decided(record: Record) -> None:
    assert record_lines(judged(), record.path) == ()
    decide(record, judged(20.0))
    other = replace(judged(), fit=replace(judged().fit, artwork=_renamed(judged())))
    assert record_lines(other, record.path) == ()


def _renamed(about: Judged) -> Any:
    return replace(about.fit.artwork, path="/boat/lure.svg")


def test_the_reason_comes_first_and_the_row_after_it(record: Record) -> None:
    row = decide(record, judged(), REASON)
    assert record_lines(judged(), record.path) == (
        f"APPROVED ALTHOUGH THE VERDICT WAS OUTSIDE. Reason: {REASON}"
        " (for exactly this cup, placement and press)",
        "Row 1, 2031-05-06 07:08 UTC: approved before the plate is made by Bench two,"
        # 90 mm square: its corner is 63.64 mm from the middle, the image circle 38.25 mm.
        f" 90 cup, these settings, outside, clearance -25.39 mm; seal {row.seal}",
    )
    assert state(judged(), record) == ("Approved although it does not fit", True)


def test_an_approval_of_what_fits_says_so(record: Record) -> None:
    decide(record, judged(20.0), stage=Stage.PRESS)
    first, second = record_lines(judged(20.0), record.path)
    assert first == "Approved for exactly this cup, placement and press."
    assert "approved at the press by Bench two, 90 cup, these settings, fits" in second
    assert state(judged(20.0), record) == ("Approved at the press", False)


def test_an_approval_for_other_settings_says_so_and_how(record: Record) -> None:
    decide(record, judged(), REASON)
    first, second = record_lines(judged(cup=Cup("90", 90.0, margin=Margin(0.1, True))), record.path)
    assert first.startswith(
        "Approved for OTHER SETTINGS than this sheet's: cup: margin value was 0.15, not 0.1."
    )
    assert first.endswith(f"It was APPROVED ALTHOUGH THE VERDICT WAS OUTSIDE. Reason: {REASON}")
    assert "other settings" in second
    (first, _) = record_lines(judged(at=Placement((50.0, 55.0), 3.0)), record.path)
    assert "placement: center mm x was 55, not 50; placement: turn deg was 0, not 3" in first
    assert state(judged(at=Placement((50.0, 55.0), 3.0)), record) == ("Not approved", True)


def test_a_rejection_withdraws_the_approval(record: Record) -> None:
    decide(record, judged(), REASON)
    decide(record, judged(), rejects=True)
    lines = record_lines(judged(), record.path)
    assert lines[0].startswith("Not approved: rejected for the 90 cup before the plate is made")
    # The reason stays to be read, with the row that it belongs to.
    assert f"Row 1 was APPROVED ALTHOUGH THE VERDICT WAS OUTSIDE. Reason: {REASON}" in lines
    assert state(judged(), record) == ("Rejected", True)
    decide(record, judged(), REASON)
    assert state(judged(), record)[0] == "Approved although it does not fit"


def test_rows_are_told_newest_first_also_where_an_older_one_decides(record: Record) -> None:
    """The first row is about exactly this sheet; four others about other placements."""
    decide(record, judged(20.0))
    moved = [judged(20.0, at=Placement((20.0 + number, 20.0))) for number in range(1, 5)]
    for about in moved[:2]:
        decide(record, about)
    assert _numbers(record_lines(judged(20.0), record.path)) == [3, 2, 1]
    for about in moved[2:]:
        decide(record, about)
    lines = record_lines(judged(20.0), record.path)
    assert lines[0] == "Approved for exactly this cup, placement and press."
    assert _numbers(lines) == [5, 4, 1] and "these settings" in lines[3]
    assert lines[-1] == "2 other rows about this content in the record."


def _numbers(lines: Iterable[str]) -> list[int]:
    return [int(line.split(",")[0].split()[1]) for line in lines if line.startswith("Row ")]


def test_an_approval_for_another_cup_is_none_for_this(record: Record) -> None:
    decide(record, judged(cup=Cup("110", 110.0)), REASON)
    lines = record_lines(judged(), record.path)
    assert lines[0] == "Not approved for the 90 cup: the record speaks of 110"
    assert "110 cup, other settings" in lines[1] and REASON in lines[2]


def test_other_content_of_the_same_name_is_told(record: Record) -> None:
    decide(record, judged(80.0), REASON)
    (only,) = record_lines(judged(), record.path)
    assert only.startswith("Not approved: other content of the same name was approved")


def test_many_rows_are_counted(record: Record) -> None:
    for number in range(5):
        decide(record, judged(), f"reason number {number}")
    lines = record_lines(judged(), record.path)
    assert "Reason: reason number 4" in lines[0]
    begun = ["Row 5,", "Row 4,", "Row 4 ", "Row 3,", "Row 3 ", "2 othe"]
    assert [line[:6] for line in lines[1:]] == begun


def test_a_record_that_is_not_sound_says_so_first(record: Record) -> None:
    decide(record, judged(), REASON)
    with sqlite3.connect(record.path) as db:
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
            db.execute(f"DROP TRIGGER {name}")
    db.close()
    first, second, _row = record_lines(judged(), record.path)
    assert first.startswith("THE APPROVAL RECORD IS NOT SOUND, so nothing of it is proved: ")
    assert REASON in second
    assert state(judged(), record) == ("Not proved", True)
    pathlib.Path(record.path).write_bytes(b"no record" * 200)
    (only,) = record_lines(judged(), record.path)
    assert only.startswith("THE APPROVAL RECORD CANNOT BE READ: ")
    assert state(judged(), record) == ("Not proved", True)


# --- the sheet ------------------------------------------------------------------------------


@pytest.fixture
def club(tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch) -> pathlib.Path:
    """A folder with a mug's artwork that is too large for the 90 cup, and no record yet."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BRIMCHECK_RECORD", str(tmp_path / "club.sqlite"))
    (tmp_path / "mug.svg").write_text(MUG, encoding="utf-8")
    return tmp_path


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Said:
    def run(*words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        status = main(list(words))
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        return status, told.out, told.err

    return run


def pages(path: pathlib.Path | str) -> list[str]:
    """The text of each page, its lines joined, as another program reads it."""
    with pypdfium2.PdfDocument(path) as pdf:
        texts = [page.get_textpage().get_text_bounded() for page in pdf]
    return [" ".join(text.split()) for text in texts]


def test_without_a_record_nothing_is_printed(club: pathlib.Path, said: Said) -> None:
    status, out, err = said(*SHEET, "--record", "none.sqlite")
    assert (status, err) == (1, "")
    assert "none.sqlite: there is no approval record yet" in out
    assert not any("Approval record" in text for text in pages("fit.pdf"))


def test_the_reason_is_on_every_page_of_a_large_drawing(club: pathlib.Path, said: Said) -> None:
    """A reason as long as they may be, on the overview, on pieces, and where it goes on."""
    words = " ".join(f"word{number}" for number in range(258))
    assert 1900 < len(words) <= 2000
    wide = ("--etch", "260x190", "--paper", "A4")
    said(*APPROVE, *wide[:2], "--reason", words)
    (row,) = Record(str(club / "club.sqlite")).rows()
    status, out, _ = said(*SHEET, *wide)
    assert status == 1 and f"Reason: {words}" in out
    found = pages("fit.pdf")
    assert len(found) >= 4 and any("piece 2 of" in text for text in found)
    assert "continued" in found[-1] and "OVERVIEW" in found[0]
    for text in found:
        assert f"APPROVED ALTHOUGH THE VERDICT WAS OUTSIDE. Reason: {words}" in text
        when = f"{row.when_utc[:10]} {row.when_utc[11:16]} UTC"
        assert f"Row 1, {when}: approved before the plate is made by" in text
        assert "Approved although it does not fit" in text
        assert not re.search(r"\dT\d\d:|\d\.\d{3}Z", text), "a time as computers write it"
        assert row.seal in text


def test_a_job_is_looked_up_by_its_artwork(club: pathlib.Path, said: Said) -> None:
    session = model.start_session(load_artwork("mug.svg", LoadOptions()), Press())
    session = model.with_scale(session, 0.5)
    names = [cup_fit.cup.name for cup_fit in session.fit.cups]
    session = model.with_cup(session, names.index("90"))
    session = replace(session, placement=model.best_placement(session.cup_fit))
    write_job(job_of(session, ""), "mug.toml")
    said(*APPROVE, "--scale", "50%")
    status, out, err = said("sheet", "mug.toml", "-o", "fit.pdf")
    assert (status, err) == (0, "") and "from the approval record: Approved for exactly" in out
    assert "Approved for exactly this cup, placement and press." in pages("fit.pdf")[0]


def test_the_record_itself_is_not_written_over(club: pathlib.Path, said: Said) -> None:
    status, _, err = said(*SHEET[:3], "club.pdf", *SHEET[4:], "--record", "club.pdf")
    assert status == 2 and "that is the approval record itself" in err
    assert not (club / "club.pdf").exists()


@pytest.mark.parametrize("call", [["mug.svg"], list(SHEET)], ids=["window", "sheet"])
def test_the_record_is_named_in_the_call(call: list[str]) -> None:
    assert parse_arguments(call).record is None
    assert parse_arguments([*call, "--record", "club.sqlite"]).record == "club.sqlite"
    with pytest.raises(UsageError, match="--record needs the name of a file"):
        parse_arguments([*call, "--record", " "])


# --- the frame ----------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_the_frame_holds_all_its_lines(paper: Paper) -> None:
    width = Format(paper).content.width
    for words in (("one line",), ("x" * 700,), ("much to say " * 60, "more " * 300, "end")):
        band = record_band(RecordTold("Not approved", words, True), width, measure_text)
        texts = [item for item, _f in walk(band.items(5.0, 7.0)) if isinstance(item, Text)]
        assert [text.text for text in texts[:2]] == ["Not approved", TITLE]
        joined = "".join("".join(text.text.split()) for text in texts[2:])
        assert joined == "".join("".join(words).split())
        for text in texts:
            wide = measure_text(text.text, text.size_mm, text.bold)
            left = text.x if text.anchor == "start" else text.x - wide
            assert left >= 5.0 and left + wide <= 5.0 + width
            # Above the baseline a letter stands 0.8 of its size at most, below it 0.25.
            assert text.y - 0.8 * text.size_mm >= 7.0
            assert text.y + 0.25 * text.size_mm <= 7.0 + band.frame_mm
        assert band.frame_mm <= HIGH_MM or band.size_mm == SIZES_MM[-1]
    assert record_band(NOTHING_TOLD, width, measure_text).height_mm == 0.0


STATES = (
    "Rejected",
    "Not approved",
    "Not proved",
    "Approved although it does not fit",
    "Approved before the plate is made",
)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_the_state_is_as_large_as_the_verdict(paper: Paper) -> None:
    width = Format(paper).content.width
    for words in STATES:
        is_bad = not words.startswith("Approved before")
        band = record_band(RecordTold(words, ("so it is",), is_bad), width, measure_text)
        items = list(band.items(0.0, 0.0))
        large, title = [item for item in items if isinstance(item, Text)][:2]
        assert (large.text, large.bold, large.size_mm) == (words, True, STATE_MM)
        assert large.gray == (1.0 if is_bad else 0.0)
        black = [item for item in items if isinstance(item, Path) and item.fill == 0.0]
        assert len(black) == is_bad, "white letters stand on black, and only they"
        end = large.x + measure_text(words, large.size_mm, True)
        assert end < title.x - measure_text(title.text, title.size_mm, True)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_however_much_is_said_the_artwork_keeps_its_place(paper: Paper) -> None:
    """The widest letters there are, as many as a reason may have; what decides stands whole."""
    width = Format(paper).content.width
    lines = tuple(f"{number} " + letter * LONGEST_TEXT for number, letter in enumerate("WMQW"))
    band = record_band(RecordTold("Rejected", lines, True), width, measure_text)
    # One such reason alone is a little higher than that; it is never cut.
    assert band.frame_mm <= 1.1 * MOST_MM
    words = "".join("".join(text.split()) for text, _bold in band.rows)
    assert words.startswith("".join(lines[0].split()))
    assert words.endswith("".join(MORE.split()))


LONG_LINES = (" ".join(f"word{number}" for number in range(258)), "Row 1, and so on")
WIDEST_LINES = tuple(f"{number} " + letter * LONGEST_TEXT for number, letter in enumerate("WMQ"))


@pytest.mark.parametrize(
    "lines", [("one line",), LONG_LINES, WIDEST_LINES], ids=["short", "long", "widest"]
)
@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
@pytest.mark.parametrize("etch", [None, EtchArea(260.0, 190.0)], ids=["one page", "pieces"])
def test_nothing_else_stands_in_the_frame(
    paper: Paper, etch: EtchArea | None, lines: tuple[str, ...]
) -> None:
    about = judged(40.0)
    fit = fit_artwork(about.fit.artwork, [about.cup_fit.cup], limits=PressLimits(etch=etch))
    about = replace(about, fit=fit, cup_fit=fit.cups[0])
    told = RecordTold("Not approved", lines, True)
    order = FitSheetOrder(about, Format(paper), "2031-05-06", "so", told)
    document = fit_sheet(order, measure_text)
    band = record_band(told, Format(paper).content.width, measure_text)
    for page in document.pages:
        assert_text_inside(page)
        frames = [item for item in band.items(0.0, 0.0) if isinstance(item, Path)]
        own = [t.text for t in band.items(0.0, 0.0) if isinstance(t, Text)]
        texts = [item for item in page.items if isinstance(item, Text)]
        (state,) = (text for text in texts if text.text == "Not approved")
        (own_state,) = (i for i in band.items(0.0, 0.0) if getattr(i, "text", "") == state.text)
        x0, y0 = state.x - own_state.x, state.y - own_state.y
        x1, y1 = x0 + band.width_mm, y0 + band.frame_mm
        assert len(frames) == 2 and [t.text for t in texts if t.x > x0 and y0 < t.y < y1] == own
        for one, other in combinations(texts, 2):
            assert not _meet(one, other), (one.text, other.text)
        for x, y in _drawn(page.items):
            assert not (x0 < x < x1 and y0 - 0.5 < y < y1 + 0.5), (x, y)


def _meet(one: Text, other: Text) -> bool:
    """Whether the letters of two lines overlap; both begin at their left."""
    if one.anchor != "start" or other.anchor != "start":
        return False
    ends = [text.x + measure_text(text.text, text.size_mm, text.bold) for text in (one, other)]
    across = min(ends) - max(one.x, other.x)
    tops = [text.y - 0.72 * text.size_mm for text in (one, other)]
    return across > 0 and min(one.y, other.y) > max(tops)


def _drawn(items: Iterable[Item]) -> Iterator[tuple[float, float]]:
    """Points of the lines of a page's drawings, where they are not clipped away."""
    for item in items:
        if not isinstance(item, Group):
            continue
        for inner, frame in walk(item.items):
            if not isinstance(inner, Path):
                continue
            for _name, values in inner.steps:
                for point in zip(values[::2], values[1::2], strict=True):
                    x, y = frame.map_points([point])[0]
                    clip = item.clip
                    if clip is None or (clip.x0 <= x <= clip.x1 and clip.y0 <= y <= clip.y1):
                        x, y = item.to_outer.map_points([(x, y)])[0]
                        yield float(x), float(y)
