"""An answer to numbers alone, as text to be read out and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from viewer.press import EXAMPLE_CUPS
from viewer.report.json_report import SCHEMA
from viewer.report.press_lines import grouped
from viewer.report.text_report import CAUTION, printable
from viewer.sizing import (
    PART_WORDS,
    CupAnswer,
    Grade,
    Measure,
    Root,
    SizeAnswer,
    SizeQuery,
    decimal_down,
    decimal_up,
    grade_words,
    plain,
)
from viewer.units import format_clearance_mm, format_down

SMALLEST_CUP = "smallest cup that surely fits"


def size_to_text(answer: SizeAnswer) -> str:
    """The whole answer. What fits is rounded down, what is needed up; mm."""
    lines = [_question(answer.query), _headline(answer), *_circle_lines(answer)]
    for worked in answer.sums:
        lines.append(f"  {worked.title}:")
        lines.extend(f"    {printable(line)}" for line in worked.lines)
    lines.append("")
    lines.extend(_table(answer))
    lines.extend(_closing_lines(answer))
    lines.append(f"\n{CAUTION}")
    return "\n".join(lines)


def size_to_dict(answer: SizeAnswer) -> dict[str, Any]:
    """The answer as plain values, lengths in mm and unrounded."""
    query = answer.query
    low, high = float(answer.circle.low), float(answer.circle.high)
    return {
        "schema": SCHEMA,
        "size": {
            "shape": query.shape.kind,
            "width_mm": _range(query.width),
            "height_mm": _range(query.height),
            "longest_diagonal_mm": _range(query.diagonal),
            "corner_radius_mm": _range(query.shape.radius),
        },
        "smallest_circle_mm": [low, max(low, high)],
        "sums": [{"title": s.title, "lines": list(s.lines)} for s in answer.sums],
        "cups": [_cup(answer, cup) for cup in answer.cups],
        "smallest_cup": None if answer.smallest_cup is None else answer.smallest_cup.name,
        "limits_note": answer.limits_note,
        "caution": CAUTION,
    }


# --- text ---------------------------------------------------------------------------


def _question(query: SizeQuery) -> str:
    parts = []
    if query.has_sides:
        width, height = query.sides
        parts.append(f"{width} wide x {height} high")
    if query.diagonal is not None:
        parts.append(f"longest diagonal {query.diagonal}")
    parts.append(str(query.shape))
    return f"{', '.join(parts)} (mm)"


def _headline(answer: SizeAnswer) -> str:
    """What one wants to know, before how it comes about."""
    cup, spare = smallest_cup_words(answer)
    return f"  {SMALLEST_CUP}: {cup}{f', {spare}' if spare else ''}"


def _circle_lines(answer: SizeAnswer) -> Iterator[str]:
    circle = answer.circle
    if circle.low == circle.high:
        size = length_words(circle.high, up=True)
        yield f"  the smallest circle around it is {size} mm across"
    else:
        low, high = length_words(circle.low, up=False), length_words(circle.high, up=True)
        yield f"  the smallest circle around it is from {low} to {high} mm across"


def length_words(length: Root, *, up: bool) -> str:
    """All digits where two decimals hold them, else rounded ``up`` or down to two."""
    if length.is_fraction and (length.whole * 100).denominator == 1:
        return plain(length.whole)
    return decimal_up(length.up()) if up else decimal_down(length.down())


def _table(answer: SizeAnswer) -> Iterator[str]:
    rows = [_headings(answer), *(_row(answer, cup) for cup in answer.cups)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        cells = (
            cell.ljust(width) if column in (0, 2) else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        yield ("  " + "  ".join(cells)).rstrip()
    yield "  (mm; max image is its diameter; square: side of the largest square; any shape:"
    yield "  the longest diagonal that is sure to fit; fits at: the scale that is sure to fit)"
    if answer.query.has_sides:
        yield "  (max width at this height, max height at this width: the greatest sure to fit)"
    yield f"  {_cups_line(answer)}"


def _headings(answer: SizeAnswer) -> list[str]:
    sides = ["max width", "max height"] if answer.query.has_sides else []
    return ["cup", "max image", "answer", *sides, "square", "any shape", "fits at"]


def _row(answer: SizeAnswer, found: CupAnswer) -> list[str]:
    cells = [
        printable(found.cup.name),
        decimal_down(found.max_image_mm),
        grade_words(found.grade, answer.query, found.tight),
    ]
    if answer.query.has_sides:
        cells += [side_words(found.greatest_width), side_words(found.greatest_height)]
    return [
        *cells,
        decimal_down(found.largest_square.down()),
        decimal_down(found.largest_diagonal.down()),
        f"{decimal_down(found.sure_scale * 100, 1)} %",
    ]


def side_words(length: Root | None) -> str:
    """A greatest side, rounded down; "none" where the other side alone is too much."""
    return "none" if length is None else decimal_down(length.down())


def _cups_line(answer: SizeAnswer) -> str:
    cups = tuple(found.cup for found in answer.cups)
    example = "an example set of cups" if cups == EXAMPLE_CUPS else "cups as given"
    told = [((f"named by the {c.named_by}; ring {c.ring_width_mm:g} mm, margin {c.margin}"
              f" {'of the named diameter' if c.margin.is_fraction else 'each side from the ring'}",
              ), printable(c.name)) for c in cups]  # fmt: skip
    groups = list(grouped(told))
    if len(groups) == 1:
        return f"({example}, {groups[0][0][0]})"
    return f"({example}; {'; '.join(f'{names}: {words[0]}' for words, names in groups)})"


def _closing_lines(answer: SizeAnswer) -> Iterator[str]:
    told = [((c.ask or c.why,), printable(c.cup.name)) for c in answer.cups if c.ask or c.why]
    for words, names in grouped(told):
        yield f"  {names}: {words[0]}"
    if answer.limits_note:
        yield f"  press: {answer.limits_note}"
        yield "  (widths, heights, squares, diagonals and scales in the table are the cup's alone)"
        yield from _press_lines(answer)


def smallest_cup_words(answer: SizeAnswer) -> tuple[str, str]:
    """(the smallest cup that surely fits, the room in it); "none of these" and nothing."""
    if answer.smallest_cup is None:
        return "none of these", ""
    found = next(c for c in answer.cups if c.cup == answer.smallest_cup)
    tight = " (tight)" if found.tight else ""
    alone = found.room is None
    spare_mm = decimal_down(found.spare_mm) if alone else format_down(found.clearance_mm)
    return f"{printable(found.cup.name)}{tight}", f"{spare_mm} mm to spare on each side"


def _press_lines(answer: SizeAnswer) -> Iterator[str]:
    for found in answer.cups:
        words = press_words(found)
        if words:
            yield f"  {printable(found.cup.name)} cup: {words}"


def press_words(found: CupAnswer) -> str:
    """How the image must stand on the press in a cup that it fits; empty for the cup alone."""
    room = found.room
    if room is None or found.grade is not Grade.FITS:
        return ""
    turned = f"turned {room.turn_deg:+.1f} degrees" if room.turn_deg else "not turned"
    parts = " and ".join(PART_WORDS[part] for part in room.parts)
    clearance = format_clearance_mm(room.clearance_mm)
    return f"{turned}, clearance {clearance} mm, decided by {parts}"


# --- JSON ---------------------------------------------------------------------------


def _cup(answer: SizeAnswer, found: CupAnswer) -> dict[str, Any]:
    room = found.room
    return {
        "name": found.cup.name,
        "diameter_mm": found.cup.diameter_mm,
        "ring_inner_diameter_mm": float(found.ring_inner_mm),
        "max_image_diameter_mm": float(found.max_image_mm),
        "grade": found.grade.value,
        "tight": found.tight,
        "ask": found.ask,
        "why": found.why,
        "spare_mm": float(found.spare_mm),
        "greatest_width_mm": _length(found.greatest_width),
        "greatest_height_mm": _length(found.greatest_height),
        "largest_square_mm": float(found.largest_square),
        "largest_circle_mm": float(found.max_image_mm),
        "longest_diagonal_any_shape_mm": float(found.largest_diagonal),
        "sure_scale": float(found.sure_scale),
        "press": None
        if room is None
        else {
            "room": room.room.value,
            "clearance_mm": room.clearance_mm,
            "turn_deg": room.turn_deg,
            "parts": list(room.parts),
            "is_exact": room.is_exact,
        },
    }


def _length(length: Root | None) -> float | None:
    return None if length is None else float(length)


def _range(measure: Measure | None) -> list[float] | None:
    return None if measure is None else [float(measure.low_mm), float(measure.high_mm)]
