"""``brimcheck lesson``: the list, the page and its answers, the window, one-line errors."""

from __future__ import annotations

import datetime
import os
import stat
from pathlib import Path
from typing import Any

import pytest

from tests.fit.artworks import artwork, box
from tests.sheets.renderers import text_of
from viewer.artwork.model import Artwork, LoadOptions
from viewer.cli import main, measuring
from viewer.lessons.catalog import all_lessons
from viewer.lessons.learners import record_answer
from viewer.press import Press
from viewer.screen import app

DAY = datetime.date(2025, 6, 30)
OWN = next(lesson for lesson in all_lessons() if lesson.needs_artwork)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to be in, with a pennant 66 x 41 mm."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")

    def load(path: str, options: LoadOptions, progress: object = None) -> Artwork:
        return artwork(box(66, 41, 10, 10), 0.01, path=path)

    monkeypatch.setattr(measuring, "load_artwork", load)
    (tmp_path / "pennant.svg").write_text("<svg/>", "utf-8")
    return tmp_path


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What was asked of the window, which does not open."""
    calls: list[dict[str, Any]] = []

    def run_lessons(
        key: str | None,
        learner: str,
        path: str | None,
        options: LoadOptions,
        press: Press,
        snapshot: str | None,
        size: tuple[int, int] | None,
    ) -> int:
        calls.append({**locals()})
        calls[-1].pop("calls", None)
        return 0

    monkeypatch.setattr(app, "run_lessons", run_lessons, raising=False)
    return calls


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    told = capsys.readouterr()
    assert told.out == "" and told.err.startswith("brimcheck: ") and told.err.count("\n") == 1
    return told.err


# --- list -----------------------------------------------------------------------------


def test_the_list_names_every_lesson(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    assert main(["lesson", "list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["lesson", "title"]
    assert len(lines) == 1 + len(all_lessons())
    for lesson, line in zip(all_lessons(), lines[1:], strict=True):
        assert line.split()[:2] == [str(lesson.number), lesson.key]
    assert "A square in a cup of its own size" in lines[1]


def test_the_list_with_a_learner(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    record_answer("J\u00fcrgen", "square", False, False, DAY)
    record_answer("J\u00fcrgen", "square", True, True, DAY)
    record_answer("J\u00fcrgen", "margin", False, False, DAY)
    record_answer("J\u00fcrgen", "gone since", True, True, DAY)
    assert main(["lesson", "list", "--learner", "j\u00fcrgen"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].endswith("J\u00fcrgen")
    told = {line.split()[1]: line for line in lines[1:-1]}
    assert told["square"].endswith("done 2025-06-30; 1 right, 1 wrong")
    assert told["margin"].endswith("begun; 0 right, 1 wrong")
    assert told["turning"].endswith("not yet")
    assert lines[-1] == f"1 of {len(all_lessons())} done"


def test_the_list_says_what_is_wrong_with_a_file(
    capsys: pytest.CaptureFixture[str], here: Path
) -> None:
    record_answer("Mika", "square", True, True, DAY)
    folder = Path(os.environ["BRIMCHECK_CONFIG"]) / "learners"
    (path,) = folder.glob("*.toml")
    path.write_bytes(b"\xff")
    assert main(["lesson", "list", "--learner", "Mika"]) == 0
    told = capsys.readouterr()
    assert told.err.startswith(f"brimcheck: {path}") and told.err.count("\n") == 1
    assert f"0 of {len(all_lessons())} done" in told.out


# --- page and answers -----------------------------------------------------------------


def test_a_page_and_its_answers_beside_it(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    call = ["lesson", "square", "-o", "page.pdf", "--seed", "7", "--date", "2025-06-30"]
    assert main([*call, "--learner", "Mika"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("page.pdf: written, 1 page; 6 exercises, seed 7\npage-answers.pdf: ")
    assert "100 %" in out and "permission to run" in out
    page, answers = text_of(here / "page.pdf"), text_of(here / "page-answers.pdf")
    assert "seed 7" in page and "2025-06-30" in page and "Mika" in page
    assert "Answers" in answers and "Answers" not in page
    first = (here / "page.pdf").read_bytes(), (here / "page-answers.pdf").read_bytes()
    assert main([*call, "--learner", "Mika"]) == 0  # the same again
    assert first == ((here / "page.pdf").read_bytes(), (here / "page-answers.pdf").read_bytes())


def test_number_key_capitals_and_any_order(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    written = set()
    for words in (["1", "-o", "p.pdf"], ["-o", "p.pdf", "1"], ["SQUARE", "-o", "p.pdf"]):
        assert main(["lesson", *words, "--seed", "3", "--date", "2025-06-30"]) == 0
        written.add((here / "p.pdf").read_bytes())
    assert len(written) == 1


def test_where_the_answers_go_and_how_many(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    call = ["lesson", "1", "-o", "p.pdf", "--answers", "kept/a.pdf", "--exercises", "2"]
    (here / "kept").mkdir()
    assert main([*call, "--paper", "letter"]) == 0
    assert "2 exercises, seed " in capsys.readouterr().out
    assert sorted(path.name for path in here.rglob("*.pdf")) == ["a.pdf", "p.pdf"]
    assert main(["lesson", "1", "-o", "p.pdf", "--exercises", "12"]) == 0
    assert "(no more than " in capsys.readouterr().out


def test_a_seed_that_is_told_makes_the_same_again(
    capsys: pytest.CaptureFixture[str], here: Path
) -> None:
    assert main(["lesson", "1", "-o", "p.pdf"]) == 0
    seed = capsys.readouterr().out.splitlines()[0].rpartition("seed ")[2]
    assert main(["lesson", "1", "-o", "q.pdf", "--seed", seed]) == 0
    assert (here / "p.pdf").read_bytes() == (here / "q.pdf").read_bytes()


def test_a_page_about_own_artwork(capsys: pytest.CaptureFixture[str], here: Path) -> None:
    for words in (["pennant.svg", "-o", "p.pdf"], ["-o", "p.pdf", "pennant.svg"]):
        call = ["lesson", OWN.key, *words, "--seed", "7", "--cups", "60,75,90,110"]
        assert main(call) == 0
        assert "pennant.svg" in text_of(here / "p.pdf")


# --- window ---------------------------------------------------------------------------


def test_the_window_opens_at_the_list_or_a_lesson(
    windows: list[dict[str, Any]], here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SDL_VIDEODRIVER", "x11")
    assert main(["lesson"]) == 0
    assert main(["lesson", "3", "--learner", "Mika", "--size", "800x600"]) == 0
    assert main(["lesson", str(OWN.number), "pennant.svg", "--cups", "90"]) == 0
    nothing = {"path": None, "options": LoadOptions(), "snapshot": None}
    assert windows[0] == {**nothing, "key": None, "learner": "", "press": Press(), "size": None}
    third = all_lessons()[2].key
    assert windows[1]["key"] == third and windows[1]["learner"] == "Mika"
    assert windows[1]["size"] == (800, 600)
    assert windows[2]["path"] == "pennant.svg" and windows[2]["key"] == OWN.key
    assert [cup.name for cup in windows[2]["press"].cups] == ["90"]


def test_a_picture_needs_no_display(windows: list[dict[str, Any]], here: Path) -> None:
    assert main(["lesson", "1", "--snapshot", "p.png"]) == 0
    assert windows[0]["snapshot"] == "p.png"


def test_a_file_called_lesson_can_still_be_opened(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = []
    monkeypatch.setenv("SDL_VIDEODRIVER", "x11")
    monkeypatch.setattr(app, "run", lambda path, *_a, **_k: opened.append(path))
    (here / "lesson").write_bytes(b"a picture")
    for words in (["./lesson"], ["--", "lesson"]):
        assert main(words) == 0
    assert opened == ["./lesson", "lesson"]


# --- what cannot be -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "problem"),
    [
        (["99"], "there is no lesson '99'; there are 1 square, 2 "),
        (["sqare", "-o", "p.pdf"], "there is no lesson 'sqare'"),
        (["pennant.svg"], "FILE comes behind N"),
        ([str(OWN.number)], f"brimcheck lesson {OWN.number} FILE"),
        ([OWN.key, "-o", "p.pdf"], "is about artwork of your own"),
        ([OWN.key, "gone.svg"], "gone.svg: there is no such file"),
        ([OWN.key, "gone.svg", "-o", "p.pdf"], "gone.svg: there is no such file"),
        ([OWN.key, "folder.pdf"], "is a folder"),
        ([OWN.key, ""], "an empty file name"),
        ([OWN.key, "a.svg", "b.svg"], "give one FILE"),
        (["1", "pennant.svg"], "brings its own shapes"),
        (["1", "-o", "p.pdf", "--paper", "A5"], "there is no such paper; give one of A4, A3"),
        (["1", "-o", "p.pdf", "--paper-size", "A5"], "there is no such paper"),
        (["1", "-o", "p.pdf", "--paper", "A4", "--paper-size", "A4"], "give one of them"),
        (["1", "-o", "nowhere/p.pdf"], "there is no folder"),
        (["1", "-o", "p.pdf", "--answers", "nowhere/a.pdf"], "--answers nowhere/a.pdf: there is"),
        (["1", "-o", "p.svg"], "ends in .pdf"),
        (["1", "-o", "p.pdf", "--answers", "a.txt"], "--answers 'a.txt'"),
        (["1", "-o", "p.pdf", "--answers", "./p.pdf"], "that is the page itself"),
        (["1", "-o", "folder.pdf"], "is a folder"),
        (["1", "-o", ""], "ends in .pdf"),
        ([OWN.key, "art.pdf", "-o", "art.pdf"], "that is the artwork itself"),
        ([OWN.key, "art.pdf", "-o", "p.pdf", "--answers", "art.pdf"], "the artwork itself"),
        (["-o", "p.pdf"], "brimcheck lesson 3 -o page.pdf"),
        (["1", "-o", "p.pdf", "--seed", "-1"], "--seed must be a whole number"),
        (["1", "-o", "p.pdf", "--seed", "x"], "--seed must be a whole number"),
        (["1", "-o", "p.pdf", "--exercises", "0"], "--exercises must be a whole number"),
        (["1", "-o", "p.pdf", "--exercises", "13"], "from 1 to 12"),
        (["1", "-o", "p.pdf", "--date", "30.6."], "is not a date"),
        (["1", "-o", "p.pdf", "--snapshot", "p.png"], "about the window"),
        (["1", "--seed", "7"], "--seed goes with -o"),
        (["1", "--answers", "a.pdf"], "--answers goes with -o"),
        (["1", "--paper", "A4"], "--paper-size goes with -o"),
        (["1", "-o", "p.pdf", "--cups", "60"], "are about a FILE"),
        (["1", "--width", "60"], "are about a FILE"),
        (["list", "-o", "p.pdf"], "not about their list"),
        (["list", "pennant.svg"], "takes no FILE"),
        (["list", "--learner", " "], "--learner needs a name"),
        (["list", "--learner", "x" * 201], "at most 200"),
        (["1", "--snapshot", "p.jpg"], "give a name in .png"),
        (["1", "--frob"], "unrecognized arguments: --frob; see brimcheck lesson --help"),
        (["1", "--seed", "1", "--seed", "2", "-o", "p.pdf"], "given twice"),
        ([], "no display is available"),
        (["1"], "no display is available"),
    ],
)
def test_bad_calls_are_one_line(
    call: list[str],
    problem: str,
    here: Path,
    windows: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    (here / "folder.pdf").mkdir()
    (here / "art.pdf").write_bytes(b"art")
    before = sorted(path.name for path in here.iterdir())
    assert main(["lesson", *call]) == 2
    assert problem in one_line(capsys)
    assert windows == []
    assert sorted(path.name for path in here.iterdir()) == before
    assert (here / "art.pdf").read_bytes() == b"art"


def test_a_name_that_is_none_opens_no_window(
    here: Path,
    windows: list[dict[str, Any]],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("SDL_VIDEODRIVER", "x11")
    assert main(["lesson", "1", "--learner", "x" * 201]) == 2
    assert "at most 200" in one_line(capsys) and windows == []


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may do all")
def test_a_folder_that_may_not_be_written(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "locked").mkdir()
    (here / "locked").chmod(stat.S_IRUSR | stat.S_IXUSR)
    assert main(["lesson", "1", "-o", "locked/p.pdf"]) == 2
    assert "may not be written" in one_line(capsys)


def test_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lesson", "--help"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    for needed in ("--learner NAME", "--seed N", "--answers OUT.pdf", "Exit status: 0 done"):
        assert needed in told
    assert main(["--help"]) == 0
    assert "brimcheck lesson" in " ".join(capsys.readouterr().out.split())


def test_the_word_comes_first(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pennant.svg", "lesson"]) == 2
    assert "put lesson first: brimcheck lesson [N]" in one_line(capsys)
