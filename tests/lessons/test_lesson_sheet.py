"""A lesson's page and its answers: all on it, nothing given away, lengths as they should be."""

from __future__ import annotations

import hashlib
import re
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest

from tests.fit.artworks import artwork, box
from tests.sheets.renderers import circle_mm, need_poppler, text_by_poppler, with_pdfium
from viewer.errors import UsageError
from viewer.fit import Placement
from viewer.geometry import Bounds
from viewer.lessons import lesson_sheet as sheet_module
from viewer.lessons.answers import ChoiceAnswer, NumberAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Ask, Given, Lesson, Scene, Step
from viewer.lessons.lesson_sheet import (
    LEAST_TEXT_MM,
    SCALES,
    LessonSheetOrder,
    LessonSheets,
    lesson_sheets,
    paper_task,
)
from viewer.lessons.lesson_sheet_drawing import Panel, chief_panels, panel_items, panels_of
from viewer.lessons.lesson_sheet_figure import ratio
from viewer.lessons.marks import Area, Dot, Mark, RightAngle, Ring, Segment
from viewer.lessons.scenes import MIDDLE_MM, artwork_of, bare_cup, rectangle
from viewer.lessons.texts import Texts, Words, load_texts
from viewer.lessons.walk import Course, begin
from viewer.press import Press
from viewer.report import CAUTION
from viewer.sheets.draw_list import Document, Group, Page, Text, walk
from viewer.sheets.frame import SMALL_MM
from viewer.sheets.page import PAPERS, Format
from viewer.sheets.pdf_writer import FACES, measure_text, pdf_bytes

DATE = "2025-06-30"
PX_PER_MM = 12.0
PAPER = {paper.name: paper for paper in PAPERS}
LESSONS = all_lessons()
by_key = {lesson.key: lesson for lesson in LESSONS}
every_lesson = pytest.mark.parametrize("key", [lesson.key for lesson in LESSONS])
PENNANT = artwork(box(66, 41, 10, 10), 0.01, path="harbour/pennant.svg")


@lru_cache(maxsize=64)
def sheets(key: str, seed: int = 7, paper: str = "A4", count: int = 6) -> LessonSheets:
    lesson = by_key[key]
    given = Given(PENNANT) if lesson.needs_artwork else Given()
    order = LessonSheetOrder(lesson, seed, Format(PAPER[paper]), DATE, given, count)
    return lesson_sheets(order, measure_text)


@lru_cache(maxsize=16)
def course_of(key: str) -> Course:
    return begin(by_key[key], load_texts(), Given(PENNANT), 7).course


def plain(text: str) -> str:
    """Words without line breaks; what a face draws as one sign apart is written out."""
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("\u2212", "-"))


def pdfium_text(document: Document) -> list[str]:
    pdf = pypdfium2.PdfDocument(pdf_bytes(document))
    try:
        return [plain(page.get_textpage().get_text_range()) for page in pdf]
    finally:
        pdf.close()


def texts_on(page: Page) -> list[tuple[Text, Bounds]]:
    """Every line of text with the box that its letters take, in mm of the page."""
    found = []
    for item, frame in walk(page.items):
        if not isinstance(item, Text):
            continue
        assert (frame.a, frame.d) == (1.0, 1.0), "a text that is turned or scaled"
        long = measure_text(item.text, item.size_mm, item.bold)
        left = item.x + frame.e - {"start": 0.0, "middle": long / 2.0, "end": long}[item.anchor]
        base = item.y + frame.f
        top, bottom = base - 0.74 * item.size_mm, base + 0.2 * item.size_mm
        found.append((item, Bounds(left, top, left + long, bottom)))
    return found


# --- every lesson ---------------------------------------------------------------------


@every_lesson
@pytest.mark.parametrize(("paper", "seed"), [("A4", 7), ("Letter", 7), ("Letter", 905)])
def test_one_page_with_all_that_belongs_on_it(key: str, paper: str, seed: int) -> None:
    found = sheets(key, seed, paper)
    (words,) = pdfium_text(found.page)
    lesson = by_key[key]
    course = course_of(key)
    for needed in (
        course.words.say("title"),
        paper_task(course),
        f"Lesson {lesson.number}",
        f"drawn at {ratio(found.scale)}",
        f"seed {seed}",
        DATE,
        CAUTION[1:],
        "page 1 of 1",
        "name",
        "date",
        "100 mm across",
    ):
        assert plain(needed).lower() in words.lower(), needed
    assert len(found.asks) >= 4
    for number, ask in enumerate(found.asks, 1):
        asked = [row for row in _rows(found.page.pages[0]) if row == str(number)]
        assert asked, number
        for part in _wrapped_parts(ask.text):
            assert plain(part) in words


@every_lesson
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_caution_stands_on_the_exercises_and_on_the_answers(key: str, paper: str) -> None:
    """As pdfium reads it from the rendered files, on every page."""
    found = sheets(key, 7, paper)
    for document in (found.page, found.answers):
        for words in pdfium_text(document):
            assert plain(CAUTION[2:]) in words


def _rows(page: Page) -> list[str]:
    return [item.text for item, _box in texts_on(page)]


def _wrapped_parts(text: str) -> list[str]:
    """Two columns mix the lines of what stands side by side, so words are looked for."""
    return text.split()


@every_lesson
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_questions_and_steps_stand_there_word_for_word(key: str, paper: str) -> None:
    """In the order that they were set: lines joined again give the whole text."""
    found = sheets(key, 7, paper)
    set_text = " ".join(_rows(found.page.pages[0]))
    course = course_of(key)
    for text in (*(step.text for step in course.steps), *(ask.text for ask in found.asks)):
        assert " ".join(text.split()) in set_text
    for ask in found.asks:
        if isinstance(ask.answer, ChoiceAnswer):
            assert all(" ".join(option.split()) in set_text for option in ask.answer.options)


@every_lesson
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("seed", [7, 905])
def test_no_answer_stands_on_the_page(key: str, paper: str, seed: int) -> None:
    found = sheets(key, seed, paper)
    (words,) = pdfium_text(found.page)
    answers = " ".join(pdfium_text(found.answers))
    assert "Answers:" in answers and "Answers:" not in words
    for ask in found.asks:
        assert all(plain(line) in answers for line in ask.worked if len(line) < 40)
        # What leads to the result may stand in the steps as well; the result may not.
        assert all(plain(line) not in words for line in ask.worked[-1:])
        if isinstance(ask.answer, NumberAnswer):
            shown = plain(ask.answer.shown())
            assert shown in answers
            # Neither among the steps nor anywhere else, as a number of its own.
            assert not re.search(rf"(?<![\d.]){re.escape(shown)}(?!\w)", words), shown
        else:
            # Every option has the same empty box: none is marked.
            assert plain(ask.answer.shown()) in answers
    blob = pdf_bytes(found.page)
    with pikepdf.open(__import__("io").BytesIO(blob)) as pdf:
        assert "/Annots" not in pdf.pages[0] and "/AcroForm" not in pdf.Root
        assert list(pdf.attachments) == []


@every_lesson
def test_answers_are_those_of_the_page(key: str) -> None:
    found = sheets(key, 7)
    rows = [row for page in found.answers.pages for row in _rows(page)]
    set_text = " ".join(rows)
    at = 0
    for number, ask in enumerate(found.asks, 1):
        whole = " ".join(f"{number} {ask.answer.shown()} {ask.text}".split())
        at = " ".join(set_text.split()).index(whole, at)


MANY = [(key, "A4", 12) for key in ("square", "margin", "scale-traps")]


@pytest.mark.parametrize(
    ("key", "paper", "count"),
    [*((key, paper, 6) for key in by_key for paper in ("A4", "Letter")), *MANY],
)
def test_nothing_overlaps_or_leaves_the_paper(key: str, paper: str, count: int) -> None:
    found = sheets(key, 7, paper, count)
    for page in (*found.page.pages, *found.answers.pages):
        width, height = page.paper_mm
        boxes = texts_on(page)
        for item, area in boxes:
            assert area.x0 >= 9.0 and area.x1 <= width - 9.0, item.text
            assert area.y0 >= 8.0 and area.y1 <= height - 8.0, item.text
        for index, (one, a) in enumerate(boxes):
            for other, b in boxes[index + 1 :]:
                apart = a.x1 <= b.x0 or b.x1 <= a.x0 or a.y1 <= b.y0 or b.y1 <= a.y0
                assert apart, f"{one.text!r} lies on {other.text!r}"


@every_lesson
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_letters_can_be_read(key: str, paper: str) -> None:
    found = sheets(key, 7, paper)
    sizes = {item.text: item.size_mm for item, _area in texts_on(found.page.pages[0])}
    assert min(sizes.values()) >= SMALL_MM - 0.31  # the frame of every sheet, as it was
    asks = " ".join(ask.text for ask in found.asks)
    of_lesson = [size for text, size in sizes.items() if len(text) > 12 and text in asks]
    assert of_lesson and min(of_lesson) >= LEAST_TEXT_MM


@every_lesson
def test_the_answers_take_one_page(key: str) -> None:
    assert len(sheets(key, 7).answers.pages) == 1
    assert len(sheets(key, 7, "Letter").answers.pages) == 1


# --- numbers --------------------------------------------------------------------------


@every_lesson
def test_seeds_make_other_exercises_and_the_same_again(key: str) -> None:
    one, other = sheets(key, 7), sheets(key, 8)
    assert [ask.text for ask in one.asks] != [ask.text for ask in other.asks]
    assert len({ask.text for ask in one.asks}) == len(one.asks)
    lesson = by_key[key]
    given = Given(PENNANT) if lesson.needs_artwork else Given()
    again = lesson_sheets(LessonSheetOrder(lesson, 7, Format(), DATE, given), measure_text)
    assert one is not again
    for name in ("page", "answers"):
        digests = {
            hashlib.sha256(pdf_bytes(getattr(found, name))).hexdigest() for found in (one, again)
        }
        assert len(digests) == 1


def test_another_date_makes_another_file() -> None:
    order = LessonSheetOrder(by_key["square"], 7, Format(), "2025-07-01")
    assert pdf_bytes(lesson_sheets(order, measure_text).page) != pdf_bytes(sheets("square").page)


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_no_more_exercises_than_wanted(count: int) -> None:
    assert len(sheets("square", 7, "A4", count).asks) == count
    assert sheets("square", 7, "A4", count).asks == sheets("square", 7, "A4", 6).asks[:count]


def test_a_number_of_exercises_that_is_none() -> None:
    for count in (0, -1, 13):
        with pytest.raises(UsageError, match="from 1 to 12"):
            LessonSheetOrder(by_key["square"], 7, Format(), DATE, count=count)


def test_own_artwork_has_to_be_given() -> None:
    (lesson,) = [one for one in LESSONS if one.needs_artwork]
    with pytest.raises(UsageError, match="is about a file of yours"):
        lesson_sheets(LessonSheetOrder(lesson, 7, Format(), DATE), measure_text)
    words = " ".join(_rows(sheets(lesson.key).page.pages[0]))
    assert "pennant.svg" in words and "harbour/" not in words
    assert "the line round the outermost ink" in words


def test_a_name_goes_onto_its_line() -> None:
    for name in ("J\u00fcrgen", "x" * 200, "\u6771\u897f"):
        order = LessonSheetOrder(by_key["square"], 7, Format(), DATE, learner=name)
        page = lesson_sheets(order, measure_text).page.pages[0]
        (row,) = [t for t, _a in texts_on(page) if t.size_mm == 3.3 and t.y < 30.0 and t.x > 30.0]
        assert row.text == name or ("\u2026" in row.text and row.text[:5] == name[:5])
        _title, area = next(both for both in texts_on(page) if both[0] is row)
        assert area.x1 < 140.0


# --- lengths --------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_circles_at_true_scale(paper: str, tmp_path: Path) -> None:
    """The circle of lesson 1 is 60 mm across, the one that the square needs 60 times root 2."""
    found = sheets("square", 7, paper)
    assert found.scale == 1
    path = tmp_path / "s.pdf"
    path.write_bytes(pdf_bytes(found.page))
    rgb = with_pdfium(path, 0, PX_PER_MM)
    x, y = _first_ring_center(found.page.pages[0])
    for diameter in (60.0, 66.0, 60.0 * 2.0**0.5):
        seen = circle_mm(rgb, PX_PER_MM, (x, y, diameter))
        assert seen == pytest.approx(diameter, abs=0.05)
    # The comparison can fail: what is 0.2 mm off is seen to be.
    assert abs(circle_mm(rgb, PX_PER_MM, (x, y, 66.2)) - 66.2) > 0.1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_square_is_60_mm_wide_and_in_its_place(paper: str, tmp_path: Path) -> None:
    path = tmp_path / "s.pdf"
    path.write_bytes(pdf_bytes(sheets("square", 7, paper).page))
    x, y = _first_ring_center(sheets("square", 7, paper).page.pages[0])
    k = 40.0
    # Where the dashed circle is farther out than the square's edge.
    band = with_pdfium(path, 0, k, (x - 31.0, y + 27.4, x + 31.0, y + 28.4)).min(axis=2)
    dark = np.flatnonzero((band < 170).mean(axis=0) > 0.9) / k - 31.0
    left, right = dark[dark < -29.0].mean(), dark[dark > 29.0].mean()
    assert (left, right) == pytest.approx((-30.0, 30.0), abs=0.05)


def _first_ring_center(page: Page) -> tuple[float, float]:
    """Where the ring's group has its origin."""
    for item in page.items:
        for inner in item.items if isinstance(item, Group) else ():
            if isinstance(inner, Group):
                return (
                    item.to_outer.e + inner.to_outer.e,
                    item.to_outer.f + inner.to_outer.f,
                )
    raise AssertionError("no ring is drawn")


def test_a_printer_that_is_off_is_made_up_for(tmp_path: Path) -> None:
    base = Format(printer_scale=100.0 / 97.0)
    order = LessonSheetOrder(by_key["turning"], 7, base, DATE)
    found = lesson_sheets(order, measure_text)
    assert found.scale == 1
    path = tmp_path / "s.pdf"
    path.write_bytes(pdf_bytes(found.page))
    x, y = (v / 0.97 for v in _first_ring_center(found.page.pages[0]))
    rgb = with_pdfium(path, 0, PX_PER_MM)
    seen = circle_mm(rgb, PX_PER_MM, (x, y, 80.0 / 0.97))
    assert seen == pytest.approx(80.0 / 0.97, abs=0.05)


@every_lesson
def test_the_scale_that_is_said_is_that_of_the_drawing(key: str) -> None:
    """The ring's group is drawn from the cup: its greatest extent against the cup's size."""
    found = sheets(key)
    assert found.scale in SCALES
    scenes = course_of(key).scenes
    sizes = {float(s.cup_fit.cup.ring_outer_diameter_mm * found.scale) for s in scenes}
    drawn = []
    for item in found.page.pages[0].items:
        if isinstance(item, Group):
            rings = [inner for inner in item.items if isinstance(inner, Group)]
            for ring in rings:
                xs = [v for p in ring.items for _k, values in p.steps for v in values]  # type: ignore[union-attr]
                drawn.append(2.0 * max(xs))
    assert drawn
    for size in drawn:
        # Its curves' handles reach a little farther than the circle: 1.03 for eight arcs.
        assert any(size == pytest.approx(wanted, rel=0.04) for wanted in sizes)


@pytest.mark.parametrize(
    ("paper", "points"), [("A4", (595.2756, 841.8898)), ("Letter", (612.0, 792.0))]
)
def test_page_boxes_and_what_the_file_says(
    paper: str, points: tuple[float, float], tmp_path: Path
) -> None:
    """ISO 216: A4 is 210 x 297 mm; Letter is 8.5 x 11 in; 72 points an inch."""
    found = sheets("square", 7, paper)
    for name, document in (("p", found.page), ("a", found.answers)):
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(pdf_bytes(document))
        with pikepdf.open(path) as pdf:
            box = [float(v) for v in pdf.pages[0].MediaBox]
            assert box == pytest.approx([0.0, 0.0, *points], abs=1e-3)
            assert pdf.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")
            assert str(pdf.docinfo["/Subject"]) == "Lesson 1, seed 7"
            assert str(pdf.docinfo["/CreationDate"]).startswith("D:20250630")
            title = "A square in a cup of its own size"
            assert str(pdf.docinfo["/Title"]) == (title if name == "p" else f"Answers: {title}")
            for font in pdf.pages[0].Resources.Font.values():
                assert "/FontFile2" in font.FontDescriptor
                assert str(font.BaseFont).partition("+")[2] in FACES
        need_poppler()
        assert "square" in text_by_poppler(path)  # it complains of nothing


# --- drawings -------------------------------------------------------------------------


class Made(Lesson):
    """A lesson for these tests, with whatever it is given."""

    number, key = 99, "made"

    def __init__(self, steps: tuple[Step, ...], width_mm: float = 60.0, scenes: int = 1) -> None:
        self._steps, self._width, self._count = steps, width_mm, scenes

    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        outer, hole = rectangle(self._width, 40.0), rectangle(20.0, 10.0)
        made = artwork_of("made", [outer, hole])
        press = Press(cups=(bare_cup(self._width * 1.4),))
        return tuple(
            Scene(made, press, Placement(MIDDLE_MM), f"scene {n}", (outer, hole))
            for n in range(self._count)
        )

    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        return "task " * 30

    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        return Ask("guess", NumberAnswer(_root(5)))

    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        return self._steps

    def question(self, words: Words, rng, scenes: tuple[Scene, ...]) -> Ask:  # type: ignore[no-untyped-def]
        number = rng.choice((5, 6, 7))
        name = {5: "five", 6: "six", 7: "seven"}[number]
        return Ask(f"Write {name} in figures.", NumberAnswer(_root(number)), (f"{name}: {number}",))


def _root(number: int):  # type: ignore[no-untyped-def]
    from viewer.sizing.roots import length_of

    return length_of(number)


def made_sheets(steps: tuple[Step, ...], **more: object) -> LessonSheets:
    texts = Texts({**load_texts().sections, "made": {"title": "Made"}})
    lesson = Made(steps, **more)  # type: ignore[arg-type]
    return lesson_sheets(LessonSheetOrder(lesson, 7, Format(), DATE, texts=texts), measure_text)


MARKS: tuple[Mark, ...] = (
    Segment((50.0, 40.0), (110.0, 80.0), "72.11 mm"),
    Segment((50.0, 40.0), (50.0, 80.0), "40 mm", "dashed"),
    Segment((50.0, 80.0), (110.0, 80.0), "60 mm", "size"),
    Segment(MIDDLE_MM, (110.0, 60.0), "out", "arrow"),
    Ring(MIDDLE_MM, 36.06, "ring", "dashed"),
    Area(((60.0, 50.0), (100.0, 50.0), (80.0, 75.0)), "area"),
    RightAngle((50.0, 80.0), (50.0, 40.0), (110.0, 80.0)),
    Dot((110.0, 80.0), "corner"),
    Dot((50.0, 40.0)),
    Segment((70.0, 60.0), (70.0, 60.0), "no length"),
)


def test_every_kind_of_mark_is_drawn_and_named() -> None:
    found = made_sheets((Step("All of them.", MARKS),))
    rows = _rows(found.page.pages[0])
    for mark in MARKS:
        assert getattr(mark, "label", "") in ("", *rows)
    _assert_apart(found.page.pages[0])


def _assert_apart(page: Page) -> None:
    boxes = texts_on(page)
    for index, (one, a) in enumerate(boxes):
        for other, b in boxes[index + 1 :]:
            apart = a.x1 <= b.x0 or b.x1 <= a.x0 or a.y1 <= b.y0 or b.y1 <= a.y0
            assert apart, f"{one.text!r} lies on {other.text!r}"


def test_a_part_within_another_is_a_hole(tmp_path: Path) -> None:
    """Drawn by pdfium: gray in the ink, white in the hole and outside."""
    found = made_sheets((Step("Nothing is drawn."),))
    assert found.scale == 1
    path = tmp_path / "m.pdf"
    path.write_bytes(pdf_bytes(found.page))
    x, y = _first_ring_center(found.page.pages[0])
    rgb = with_pdfium(path, 0, PX_PER_MM)

    def shade(dx: float, dy: float) -> int:
        return int(rgb[round((y + dy) * PX_PER_MM), round((x + dx) * PX_PER_MM), 0])

    assert shade(0.0, 0.0) == 255 and shade(9.0, 4.0) == 255
    assert 200 < shade(15.0, 0.0) < 235 and 200 < shade(29.0, 19.0) < 235
    assert shade(31.0, 0.0) == 255


def test_a_construction_that_starts_over_gets_another_drawing() -> None:
    a, b, c = (Dot((70.0 + n, 60.0), name) for n, name in enumerate("abc"))
    steps = (
        Step("1", (a,)),
        Step("2", (b,), scene=1),
        Step("3"),
        Step("4", (c,), scene=1, starts_over=True),
    )
    scenes = Made((), scenes=3).scenes(load_texts().of("square"), Given())
    panels = panels_of(scenes, steps)
    drawn = [(panel.name, [number for number, _m in panel.steps]) for panel in panels]
    assert drawn == [("scene 2", []), ("scene 0", [1]), ("scene 1", [2]), ("scene 1", [4])]
    chief = [(panel.name, panel.marks) for panel in chief_panels(panels)]
    assert chief == [("scene 2", ()), ("scene 0", (a,)), ("scene 1", (c,))]


def test_large_artwork_is_drawn_smaller_and_says_so() -> None:
    found = made_sheets((Step("All."),), width_mm=400.0)
    assert found.scale < Fraction(1, 2)
    assert f"drawn at {ratio(found.scale)}" in _rows(found.page.pages[0])


def test_what_no_page_can_hold_is_one_line() -> None:
    with pytest.raises(UsageError, match="does not go onto one page"):
        made_sheets(tuple(Step("word " * 200) for _ in range(9)))


def test_exercises_do_not_repeat_and_are_not_given_away() -> None:
    """Of 5, 6 and 7 there are three questions, and the page itself answers 5."""
    asks = made_sheets((Step("Here 5 is told, and 16, 70 and 6.5 are."),)).asks
    written = ["Write seven in figures.", "Write six in figures."]
    assert sorted(ask.text for ask in asks) == written
    asks = made_sheets((Step("No number", (Dot(MIDDLE_MM, "7 mm"),)),)).asks
    assert sorted(ask.text for ask in asks) == ["Write five in figures.", written[1]]


def test_many_answers_go_onto_more_pages_whole() -> None:
    from viewer.lessons.lesson_sheet_answers import answer_pages

    words = load_texts().of("sheet")
    asks = [
        Ask(f"question {n} " * 8, NumberAnswer(_root(n)), tuple(f"line {n} {k}" for k in range(9)))
        for n in range(1, 19)
    ]
    pages = answer_pages(asks, words, ("Answers", "all"), "foot", Format(), measure_text)
    assert len(pages) > 1
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in _rows(page)
        _assert_apart(page)
    for n in range(1, 19):
        on = [index for index, page in enumerate(pages) if f"line {n} 0" in _rows(page)]
        (there,) = on
        assert all(f"line {n} {k}" in _rows(pages[there]) for k in range(9))


def test_the_check_for_overlaps_can_fail() -> None:
    page = Page((210.0, 297.0), (Text(20.0, 20.0, "one"), Text(22.0, 20.5, "two")))
    with pytest.raises(AssertionError, match="lies on"):
        _assert_apart(page)


def test_labels_stay_within_their_panel() -> None:
    long = "a label that is longer than its drawing is wide, by far, as it goes on and on"
    scenes = Made(()).scenes(load_texts().of("square"), Given())
    (panel,) = panels_of(scenes, (Step("x", (Dot(MIDDLE_MM, long), Dot((50.0, 40.0), "b"))),))
    assert isinstance(panel, Panel)
    group = panel_items(panel, (40.0, 60.0), 0.2, measure_text)
    rows = [item for item, _f in walk((group,)) if isinstance(item, Text)]
    assert {row.text for row in rows} == {long, "1", "b"}


def test_the_module_names_no_lesson() -> None:
    """A lesson more needs no change here."""
    folder = Path(sheet_module.__file__).parent
    for path in folder.glob("lesson_sheet*.py"):
        source = path.read_text("utf-8")
        assert not [key for key in by_key if f'"{key}"' in source]
