"""The answer to numbers as the window says it: headline, sum, what to ask for. No drawing."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.press import Cup
from viewer.report.size_report import (
    SMALLEST_CUP,
    length_words,
    press_words,
    side_words,
    smallest_cup_words,
)
from viewer.screen.numbers_query import LABELS
from viewer.screen.numbers_shown import NumbersShown
from viewer.screen.theme import MINUS
from viewer.sizing import (
    CircleRange,
    CupAnswer,
    Grade,
    SizeAnswer,
    SizeQuery,
    Worked,
    decimal_down,
    grade,
    grade_words,
    max_image_mm,
    plain,
    worked_sums,
)
from viewer.sizing.cup_limits import largest_diagonal, largest_square

TYPING = "typing \u2026"
WORKING = "working \u2026"
_UNSURE = (Grade.DEPENDS, Grade.TOO_CLOSE)


@dataclass(frozen=True)
class Headline:
    """``grade`` None: no answer yet. ``notes``: what comes after the first line."""

    grade: Grade | None
    title: str
    notes: tuple[str, ...] = ()


def spelled(text: str) -> str:
    """Signs as the window draws them."""
    text = text.replace(" x ", " \u00d7 ").replace("+-", "\u00b1")
    return text.replace(" - ", f" {MINUS} ").replace("'s ", "\u2019s ")


def subject(answer: SizeAnswer) -> CupAnswer:
    """The cup that the answer is about: the smallest that fits, else the best hope."""
    for wanted in ((Grade.FITS,), _UNSURE):
        found = [cup for cup in answer.cups if cup.grade in wanted]
        if found:
            return found[0] if wanted == (Grade.FITS,) else found[-1]
    return answer.cups[-1]


def headline(shown: NumbersShown) -> Headline:
    """What is to be seen first."""
    if shown.problem:
        return Headline(None, "no answer yet", (spelled(shown.problem),))
    if shown.answer is None:
        return Headline(None, WORKING if shown.is_working else shown.prompt)
    answer, about = shown.answer, subject(shown.answer)
    if about.grade is Grade.FITS:
        cup, spare = smallest_cup_words(answer)
        notes = [f"{spelled(spare)}{_standing(about)}", *_smaller(answer, about)]
        return Headline(Grade.FITS, f"{SMALLEST_CUP}: {cup}", tuple(notes))
    words = grade_words(about.grade, answer.query)
    if about.grade is Grade.CANNOT:
        title = "cannot fit any of these cups"
        return Headline(Grade.CANNOT, title, (f"{about.cup.name} cup: {spelled(about.why)}",))
    # How exactly a number is known now belongs to what is asked for.
    is_close = about.grade is Grade.TOO_CLOSE
    ask = spelled(about.ask if is_close else short_ask(about.ask))
    notes = [] if ask == spelled(about.ask) else [spelled(about.ask)]
    notes.append(f"{SMALLEST_CUP}: {smallest_cup_words(answer)[0]}")
    return Headline(about.grade, f"{about.cup.name} cup: {words}: {ask}", tuple(notes))


def _standing(about: CupAnswer) -> str:
    words = press_words(about)
    return f" \u00b7 {spelled(words)}" if words else ""


def _smaller(answer: SizeAnswer, about: CupAnswer) -> list[str]:
    """The next smaller cup, where a further number could bring the image into it."""
    index = answer.cups.index(about)
    if index == 0 or answer.cups[index - 1].grade not in _UNSURE:
        return []
    smaller = answer.cups[index - 1]
    words = grade_words(smaller.grade, answer.query)
    return [f"{smaller.cup.name} cup: {words}: {spelled(smaller.ask)}"]


def short_ask(ask: str) -> str:
    """The first thing to ask for, without the reasons."""
    for end in (" (", ";", ", or "):
        ask = ask.partition(end)[0]
    return ask


def cup_note(found: CupAnswer) -> str:
    """What to ask for, or why not; empty where there is no more to say."""
    return spelled(found.ask or found.why or press_words(found))


# --- the sum --------------------------------------------------------------------------


def sums_for(query: SizeQuery, circle: CircleRange, cup: Cup) -> tuple[Worked, ...]:
    """The sums that decide about one cup: the largest circle for a cup that surely fits,
    the smallest for one that cannot, both where neither is so.
    """
    alone = grade(circle, max_image_mm(cup))
    unneeded = {Grade.FITS: "at least", Grade.CANNOT: "at most"}.get(alone)
    return tuple(found for found in worked_sums(query, (cup,)) if found.title != unneeded)


def sum_title(shown: NumbersShown, title: str) -> str:
    """What a sum is of."""
    if title == "against the cups":
        alone = shown.answer is None or shown.answer.limits.is_cup_alone
        return f"against the {shown.cup.name} cup{'' if alone else ' alone'}"
    return {"at most": "the circle, at most", "at least": "the circle, at least"}.get(title, title)


# --- sizes ----------------------------------------------------------------------------


def circle_ends(circle: CircleRange) -> tuple[str, str]:
    """The least and the most that the smallest circle may be across, mm."""
    return length_words(circle.low, up=False), length_words(circle.high, up=True)


def diagonal_words(query: SizeQuery, circle: CircleRange) -> str:
    """The line across the drawing: the longest diagonal, or only that of the box."""
    if query.diagonal is not None:
        return f"longest diagonal {spelled(str(query.diagonal))} mm"
    most = circle_ends(circle)[1]
    if query.shape.kind == "triangle":
        return f"its longest side, at most {most} mm"
    if query.shape.kind == "unknown":
        return f"diagonal of the box, {most} mm"
    at_most = "" if query.is_exact else "at most "
    return f"longest diagonal, {at_most}{most} mm"


def side_cells(found: CupAnswer) -> tuple[str, ...]:
    """A row of the table: greatest width and height, largest square and circle, mm."""
    sides = (side_words(found.greatest_width), side_words(found.greatest_height))
    return (*sides, *cup_cells(found.cup)[:2])


def cup_cells(cup: Cup) -> tuple[str, ...]:
    """What needs no numbers: largest square and circle, and diagonal of any shape, mm."""
    limit_mm = max_image_mm(cup)
    ends = (largest_square(limit_mm), largest_diagonal(limit_mm))
    square, any_shape = (decimal_down(length.down()) for length in ends)
    return square, decimal_down(limit_mm), any_shape


def max_image(cup: Cup) -> str:
    """The largest image of a cup in mm, rounded down."""
    return decimal_down(max_image_mm(cup))


SIDES_NOTE = "width: greatest at this height \u00b7 height: greatest at this width"
OTHER_NOTE = "any shape: the longest diagonal that is sure to fit"
SIDE_HEADINGS = ("width", "height", "square", "circle")
OTHER_HEADINGS = ("square", "circle", "any shape")


def sizes_title(shown: NumbersShown) -> str:
    """What the table holds; pad, etch area and hold are not in it."""
    return "Largest for each cup alone" if _has_press(shown) else "Largest that surely fits"


def cup_sizes_title(shown: NumbersShown) -> str:
    """What ``cup_sizes`` are."""
    name = f"the {shown.cup.name} cup"
    if _has_press(shown):
        return f"What goes into {name} alone"
    return f"What surely fits {name}"


def _has_press(shown: NumbersShown) -> bool:
    return shown.answer is not None and not shown.answer.limits.is_cup_alone


def cup_sizes(shown: NumbersShown) -> tuple[str, ...]:
    """The sizes that the chosen cup takes, to be read out."""
    found, query = shown.found, shown.query
    if found is None or query is None:
        return ()
    lines = []
    if query.has_sides:
        width, height = (plain(side.high_mm) for side in query.sides)
        lines = [
            _side_line(f"{height} mm high", "wide", side_words(found.greatest_width)),
            _side_line(f"{width} mm wide", "high", side_words(found.greatest_height)),
        ]
    square, circle, any_shape = cup_cells(found.cup)
    lines.append(f"largest square {square} mm \u00b7 largest circle \u00d8 {circle} mm")
    scale = decimal_down(found.sure_scale * 100, 1)
    lines.append(f"any shape up to {any_shape} mm across \u00b7 this one at {scale} %")
    return tuple(lines)


def _side_line(given: str, way: str, most: str) -> str:
    if most == "none":
        return f"{given}: that alone is too much"
    return f"{given}: up to {most} mm {way}"


def in_mm(shown: NumbersShown, field: str) -> str:
    """A number that was typed in another unit, in mm; empty for plain mm."""
    if shown.query is None:
        return ""
    name = LABELS[field]
    measure = dict(shown.query.measures).get(name)
    if measure is None or (measure.is_exact and measure.unit in ("", "mm")):
        return ""
    if measure.unit in ("", "mm"):
        return f"\u00b1{plain(measure.tolerance_mm)} mm"
    return f"= {plain(measure.nominal_mm)}"


def press_verdict(shown: NumbersShown) -> tuple[str, ...]:
    """What pad, etch area and hold make of the chosen cup; nothing for a cup alone."""
    if shown.is_working:
        return (WORKING,)
    found, answer = shown.found, shown.answer
    if found is None or answer is None or answer.limits.is_cup_alone:
        return ()
    words = grade_words(found.grade, answer.query, found.tight)
    note = cup_note(found)
    lines = [f"{found.cup.name} cup: {words}{f': {note}' if note else ''}"]
    if answer.limits_note:
        lines.append(spelled(answer.limits_note))
    return tuple(lines)
