"""Fits, depends, cannot, or too close: the only place where that is decided for numbers."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from fractions import Fraction

from viewer.errors import UsageError
from viewer.sizing.bounds import CircleRange, circle_range
from viewer.sizing.cup_limits import surely_fitting_diagonal, third_corner_room
from viewer.sizing.measures import Measure
from viewer.sizing.roots import decimal_down, plain
from viewer.sizing.shapes import SizeQuery


class Grade(StrEnum):
    """What numbers alone can say about a cup."""

    FITS = "fits"
    """Whatever the shape may be, over the whole range of the numbers."""
    DEPENDS = "depends"
    """Over the whole range: one shape fits, another does not."""
    CANNOT = "cannot"
    """Whatever the shape may be, over the whole range."""
    TOO_CLOSE = "too-close"
    """The tolerances of the numbers decide."""


GRADE_WORDS = {
    Grade.FITS: "fits whatever the shape",
    Grade.DEPENDS: "depends on the shape",
    Grade.CANNOT: "cannot fit",
    Grade.TOO_CLOSE: "too close to call",
}

_TOLERANCES_MM = tuple(
    Fraction(thousandths, 1000)
    for thousandths in (5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 5, 2, 1)
)
"""What a person can be asked for, the coarsest first."""


def grade(circle: CircleRange, limit_mm: Fraction) -> Grade:
    """Grade the range of smallest circles against a largest image, exactly."""
    if circle.high.is_at_most(limit_mm):
        return Grade.FITS
    if not circle.low.is_at_most(limit_mm):
        return Grade.CANNOT
    if not circle.high_least.is_at_most(limit_mm) and circle.low_most.is_at_most(limit_mm):
        return Grade.DEPENDS
    return Grade.TOO_CLOSE


def grade_words(found: Grade, query: SizeQuery, tight: bool = False) -> str:
    """The grade for people. ``tight``: less room than the set-up may shift."""
    if found is not Grade.FITS:
        return GRADE_WORDS[found]
    words = "fits" if query.shape.kind != "unknown" else GRADE_WORDS[found]
    return f"{words}, tight" if tight else words


def ask(found: Grade, query: SizeQuery, limit_mm: Fraction) -> str:
    """What to ask for next; empty where nothing is left to ask."""
    if found is Grade.TOO_CLOSE:
        return _ask_more_exactly(query, limit_mm)
    if found is not Grade.DEPENDS:
        return ""
    if query.shape.kind == "triangle":
        return _ask_triangle(query, limit_mm)
    if query.diagonal is not None:
        further = "for the file" if query.has_sides else "for width and height, or the file"
        return (
            "ask whether half a turn leaves the image as it is (then it fits);"
            f" if not, ask {further}"
        )
    return _ask_shape(query, limit_mm)


def _ask_shape(query: SizeQuery, limit_mm: Fraction) -> str:
    sure = surely_fitting_diagonal(query, limit_mm)
    limit = decimal_down(limit_mm)
    fits = (
        f"up to {decimal_down(sure)} mm it fits, above {limit} mm it cannot"
        if sure is not None
        else f"above {limit} mm it cannot fit, below that the file decides"
    )
    return (
        f"ask for the longest diagonal ({fits}), or for the shape (a full rectangle cannot fit,"
        " an ellipse does)"
    )


def _ask_triangle(query: SizeQuery, limit_mm: Fraction) -> str:
    if not query.has_sides:
        return "ask for the base and the height"
    room = third_corner_room(query, limit_mm)
    if room is None:
        return "ask where the third corner stands over the base, or for the file"
    return (
        "ask where the third corner stands over the base: it fits within"
        f" {decimal_down(room)} mm of the base's middle"
    )


# --- more exact numbers --------------------------------------------------------------


def _ask_more_exactly(query: SizeQuery, limit_mm: Fraction) -> str:
    """One number where one is enough, else all that have a tolerance; how exactly."""
    loose = [(name, measure) for name, measure in query.measures if not measure.is_exact]
    loose.sort(key=lambda item: -item[1].tolerance_mm)
    found: list[tuple[Fraction, str]] = []
    for name, measure in loose:
        tolerance = _enough(query, limit_mm, (name,))
        if tolerance is not None:
            found.append((tolerance, f"ask for the {name} to {_give_or_take(tolerance, measure)}"))
    if found:
        return max(found, key=lambda item: item[0])[1]
    names = tuple(name for name, _ in loose)
    tolerance = _enough(query, limit_mm, names)
    if tolerance is None:
        return (
            f"the numbers lie at the limit of {decimal_down(limit_mm)} mm itself:"
            " ask for the file, or take a larger cup"
        )
    each = " each" if len(names) > 1 else ""
    return f"ask for the {_joined(names)} to +-{plain(tolerance)} mm{each}"


def _give_or_take(tolerance: Fraction, measure: Measure) -> str:
    return f"+-{plain(tolerance)} mm (now +-{plain(measure.tolerance_mm)})"


def _enough(query: SizeQuery, limit_mm: Fraction, names: tuple[str, ...]) -> Fraction | None:
    """The coarsest tolerance of these numbers that would settle it, if what was given is
    their middle."""
    given = dict(query.measures)
    for tolerance in _TOLERANCES_MM:
        if not any(tolerance < given[name].tolerance_mm for name in names):
            continue
        try:
            sharper = _known_to(query, names, tolerance)
        except UsageError:  # sharper numbers that contradict each other settle nothing
            continue
        if grade(circle_range(sharper), limit_mm) is not Grade.TOO_CLOSE:
            return tolerance
    return None


def _known_to(query: SizeQuery, names: tuple[str, ...], tolerance: Fraction) -> SizeQuery:
    def sharper(name: str, measure: Measure | None) -> Measure | None:
        if measure is None or name not in names:
            return measure
        return measure.known_to(min(tolerance, measure.tolerance_mm))

    return SizeQuery(
        sharper("width", query.width),
        sharper("height", query.height),
        sharper("longest diagonal", query.diagonal),
        replace(query.shape, radius=sharper("corner radius", query.shape.radius)),
    )


def _joined(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
