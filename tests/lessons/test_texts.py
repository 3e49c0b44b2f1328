"""The words: all in one file, short and plain, and every one of them used and filled."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.lessons.walking import labels, started
from viewer.errors import UsageError
from viewer.lessons.answers import ChoiceAnswer
from viewer.lessons.catalog import all_lessons
from viewer.lessons.lesson import Lesson
from viewer.lessons.lesson_sheet import paper_task
from viewer.lessons.texts import ENGINE, ENGLISH, SHARED, Texts, Words, load_texts

LESSONS = pytest.mark.parametrize("lesson", all_lessons(), ids=lambda lesson: lesson.key)
LONGEST_TEXT = 220
LONGEST_LABEL = 24
SOURCES = Path(ENGLISH).parents[1]


def texts_in(section: str) -> list[str]:
    found: list[str] = []
    for entry in load_texts().sections[section].values():
        found += [entry] if isinstance(entry, str) else list(entry)
    return found


# --- the file -------------------------------------------------------------------------


def test_every_lesson_has_its_section() -> None:
    sections = load_texts().sections
    for lesson in all_lessons():
        assert lesson.key in sections
        assert load_texts().of(lesson.key).say("title")
    assert ENGINE in sections and SHARED in sections


def test_all_entries_are_texts_or_lists_of_texts() -> None:
    for section, entries in load_texts().sections.items():
        for key, entry in entries.items():
            lines = [entry] if isinstance(entry, str) else entry
            assert isinstance(lines, list), f"[{section}] {key}"
            assert all(isinstance(line, str) and line.strip() for line in lines), key


@pytest.mark.parametrize("section", sorted(load_texts().sections))
def test_every_word_is_used(section: str) -> None:
    """A word that nobody asks for would be translated for nothing."""
    source = "\n".join(p.read_text("utf-8") for p in SOURCES.parent.rglob("*.py"))
    # Names may be put together: option-{kind}, stage-{stage}, root-{rounding}.
    made = re.findall(r'f"([a-z-]+-)\{[^}]+\}"', source)
    made += [f"-{end}" for end in re.findall(r'f"\{[^}]+\}-([a-z-]+)"', source)]
    for key in load_texts().sections[section]:
        is_made = any(key.startswith(m) if m[-1] == "-" else key.endswith(m) for m in made)
        assert f'"{key}"' in source or is_made, f"[{section}] {key}"


@LESSONS
def test_texts_are_short_and_filled(lesson: Lesson) -> None:
    walk = started(lesson)
    course = walk.course
    asked = [course.prediction, *(course.question(n) for n in range(6))]
    said = [course.task, *(step.text for step in course.steps)]
    for ask in asked:
        said += [ask.text, *ask.worked, ask.answer.shown()]
    for text in said:
        assert len(text) <= LONGEST_TEXT, f"{len(text)}: {text}"
        assert text.strip() == text and "  " not in text
        assert not re.search(r"[{}]|\b(nan|inf|Fraction)\b|\bNone\b(?! of)|\de-\d", text), text
    for step in course.steps:
        for label in labels(step.marks):
            assert len(label) <= LONGEST_LABEL and "{" not in label, label


def all_said(lesson: Lesson, seeds: int = 6) -> list[str]:
    """Every text of a lesson: task, prediction, steps, labels, questions with their sums."""
    said: list[str] = []
    for seed in range(seeds):
        course = started(lesson, seed).course
        said += [course.task, paper_task(course), *(step.text for step in course.steps)]
        said += [label for step in course.steps for label in labels(step.marks)]
        for ask in (course.prediction, *(course.question(n) for n in range(3))):
            said += [ask.text, *ask.worked, ask.answer.shown()]
            if isinstance(ask.answer, ChoiceAnswer):
                said += ask.answer.options
    return said


@LESSONS
def test_a_minus_is_no_hyphen(lesson: Lesson) -> None:
    for text in all_said(lesson):
        assert not re.search(r"(?<!\w)-(?=\s|\d)", text), text


def test_the_file_has_no_hyphen_for_a_minus() -> None:
    for section in load_texts().sections:
        assert not [text for text in texts_in(section) if " - " in text]


@LESSONS
def test_on_paper_nothing_is_dragged(lesson: Lesson) -> None:
    course = started(lesson).course
    assert course.words.has("task-paper")
    said = paper_task(course)
    assert said != course.task and "{" not in said
    for word in ("Drag", "drag", "turn until", "Get ", "say that", "Say so", "Place it"):
        assert word not in said
    assert said.endswith("?")


def test_no_scan_of_what_can_pay() -> None:
    said = " ".join(texts_in("scale-traps"))
    assert "Never scan a card that can pay" in said and "a bank card" not in said


# --- reading it -----------------------------------------------------------------------


def words(**entries: object) -> Words:
    return Texts({"a": entries, SHARED: {"mm": "{number} mm", "b": "shared"}}).of("a")


def test_a_text_is_filled() -> None:
    assert words(t="from {a} to {b}").say("t", a=1, b="{c}") == "from 1 to {c}"
    assert words(t=["{a}", "b"]).lines("t", a=2) == ("2", "b")


def test_words_for_paper_stand_for_the_others() -> None:
    both = words(**{"t": "drag {a}", "t-paper": "draw {a}", "u": "as it is"})
    assert both.say("t", a=1) == "drag 1" and both.on_paper().say("t", a=1) == "draw 1"
    assert both.on_paper().say("u") == "as it is" and both.on_paper().say("mm", number=3) == "3 mm"


def test_shared_words_stand_behind_a_lessons_own() -> None:
    assert words().say("mm", number=3) == "3 mm"
    assert words(mm="{number} Millimeter").say("mm", number=3) == "3 Millimeter"
    assert words().has("b") and not words().has("c")


@pytest.mark.parametrize(
    ("entries", "key"),
    [
        ({}, "t"),
        ({"t": ["a"]}, "t"),
        ({"t": 3}, "t"),
        ({"t": "{number} {other}"}, "t"),
        ({"t": "{}"}, "t"),
        ({"t": "{number"}, "t"),
        ({"t": "{number.size}"}, "t"),
        ({"t": "{number:%%}"}, "t"),
    ],
)
def test_a_word_that_cannot_be_said_is_named(entries: dict[str, object], key: str) -> None:
    with pytest.raises(KeyError, match=r"\[a\].* t"):
        words(**entries).say(key, number=3)


def test_a_list_holds_texts_alone() -> None:
    with pytest.raises(KeyError, match="no text"):
        words(t=["a", 3]).lines("t")
    with pytest.raises(KeyError, match="has no t"):
        words(t="a").lines("t")


def test_a_section_that_is_missing_is_named() -> None:
    with pytest.raises(KeyError, match=r"\[b\]"):
        Texts({"a": {}}).of("b")


def test_another_language_needs_a_file_alone(tmp_path: Path) -> None:
    path = tmp_path / "de.toml"
    path.write_text('[square]\ntitle = "Ein Quadrat"\n', encoding="utf-8")
    assert load_texts(path).of("square").say("title") == "Ein Quadrat"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"[square\n", "not a file of words"),
        (b'title = "\xff"\n', "not a file of words"),
        (b'title = "no section"\n', "'title' stands in no section"),
    ],
)
def test_a_broken_file_is_told_in_one_line(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "broken.toml"
    path.write_bytes(content)
    with pytest.raises(UsageError, match=said) as caught:
        load_texts(path)
    assert str(path) in caught.value.message and "\n" not in caught.value.message


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="cannot be read"):
        load_texts(tmp_path / "none.toml")
