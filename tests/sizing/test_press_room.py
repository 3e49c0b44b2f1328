"""Numbers against pad, etch area and hold: judged where that is sound, else said plainly."""

from __future__ import annotations

import numpy as np
import pytest

from tests.sizing.test_grades import asked
from viewer.geometry import convex_hull
from viewer.press import Cup, EtchArea, Hold, Pad, Press, PressLimits
from viewer.sizing import CupAnswer, Grade, SizeQuery, answer_size
from viewer.sizing.press_room import outer_outline

CUP = Cup("130", 130.0)


def answer(query: SizeQuery, **limits: object) -> CupAnswer:
    press = Press(cups=(CUP,), limits=PressLimits(**limits))  # type: ignore[arg-type]
    return answer_size(query, press).cups[0]


@pytest.mark.parametrize(
    ("sides", "found"),
    [
        ("100x19.9", Grade.FITS),
        ("100x20.2", Grade.CANNOT),
        ("100x20", Grade.TOO_CLOSE),  # touches at 36.87 degrees: Wetzel, Math. Mag. 73 (2000)
        ("100+-0.2x19.9+-0.2", Grade.TOO_CLOSE),
        ("85x60", Grade.FITS),
    ],
)
def test_a_rectangle_is_judged_as_it_is(sides: str, found: Grade) -> None:
    got = answer(asked(sides, shape="rectangle"), etch=EtchArea(92.0, 76.0))
    assert got.grade is found
    if sides == "100x19.9":
        assert got.room is not None and abs(got.room.turn_deg) == pytest.approx(36.9, abs=0.3)


def test_a_rectangle_that_the_etch_area_refuses_says_why() -> None:
    got = answer(asked("100x40", shape="rectangle"), etch=EtchArea(92.0, 76.0))
    assert got.grade is Grade.CANNOT
    assert "etch area" in got.why and got.ask == ""


def test_anything_else_only_fits_where_its_outline_surely_does() -> None:
    etch = EtchArea(92.0, 76.0)
    assert answer(asked("60x40"), etch=etch).grade is Grade.FITS
    # Turned: 91 + 20 is less than the diagonal, 117.8 (Wetzel).
    assert answer(asked("91x20"), etch=EtchArea(90.0, 76.0)).grade is Grade.FITS
    got = answer(asked("95x50"), etch=EtchArea(90.0, 60.0))
    assert got.grade is Grade.DEPENDS and "file" in got.ask


def test_an_ellipse_is_held_by_an_outline_around_it() -> None:
    oval = Pad("oval", 80.0, 70.0)
    assert answer(asked("78x68", shape="ellipse"), pad=oval).grade is Grade.FITS
    assert answer(asked("80x70", shape="ellipse"), pad=oval).grade is Grade.DEPENDS


def test_a_diagonal_alone_says_nothing_of_a_hold() -> None:
    assert answer(asked(diagonal="60"), hold=Hold("fixed")).grade is Grade.DEPENDS
    assert answer(asked(diagonal="60"), pad=Pad("round", 80.0, 80.0)).grade is Grade.FITS
    assert answer(asked(diagonal="60"), pad=Pad("round", 69.0, 69.0)).grade is Grade.DEPENDS


def test_a_question_about_the_cup_does_not_promise_the_press() -> None:
    got = answer(asked(diagonal="100"), pad=Pad("round", 60.0, 60.0))
    assert got.grade is Grade.DEPENDS
    assert "the cup alone: for pad ask" in got.ask


def test_the_note_says_what_was_judged() -> None:
    def note(query: SizeQuery, limits: PressLimits) -> str:
        return answer_size(query, Press(cups=(CUP,), limits=limits)).limits_note

    etch = PressLimits(etch=EtchArea(92.0, 76.0))
    assert note(asked("60x40"), PressLimits()) == ""
    assert "whole rectangle" in note(asked("60x40", shape="rectangle"), etch)
    assert "surely holds" in note(asked("60x40"), etch)
    assert "only the cup" in note(asked(diagonal="60"), PressLimits(hold=Hold("across")))


@pytest.mark.parametrize(
    ("sides", "shape"), [("60x40", "ellipse"), ("60x40", "rounded:12"), ("60x40", "rounded:20")]
)
def test_round_outlines_are_held_and_hardly_larger(sides: str, shape: str) -> None:
    outline = outer_outline(asked(sides, shape=shape))
    hull = convex_hull(outline)
    turns = np.linspace(0, 2 * np.pi, 721)
    normals = np.column_stack((np.cos(turns), np.sin(turns)))
    reach = (hull @ normals.T).max(axis=0)
    if shape == "ellipse":
        truth = np.hypot(30 * normals[:, 0], 20 * normals[:, 1])
    else:
        radius = float(shape.partition(":")[2])
        straight = np.array((30 - radius, 20 - radius))
        truth = abs(normals) @ straight + radius
    assert (reach >= truth - 1e-12).all()
    assert (reach <= truth + 0.003).all()
