"""Cups: the usual sizes, margins in both ways of saying, and nonsense refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.errors import UsageError
from viewer.press import EXAMPLE_CUPS, Cup, Margin, parse_cups


@pytest.mark.parametrize(("diameter_mm", "largest_mm"), [(60, 51.0), (90, 76.5), (130, 110.5)])
def test_the_usual_margin_leaves_the_image_that_practice_names(
    diameter_mm: float, largest_mm: float
) -> None:
    """15 % of the named diameter, both sides together: a 90 cup takes about 75 (practice)."""
    assert Cup("x", diameter_mm).max_image_diameter_mm == pytest.approx(largest_mm, abs=1e-12)


def test_the_example_set_holds_the_usual_sizes() -> None:
    assert [cup.name for cup in EXAMPLE_CUPS] == ["60", "75", "90", "110", "130"]
    assert [cup.diameter_mm for cup in EXAMPLE_CUPS] == [60.0, 75.0, 90.0, 110.0, 130.0]


@pytest.mark.parametrize(
    ("cup", "inner_mm", "outer_mm", "largest_mm"),
    [
        (Cup("90", 90.0), 84.0, 90.0, 76.5),
        (Cup("90", 90.0, named_by="inside"), 90.0, 96.0, 76.5),
        (Cup("90", 90.0, 3.0, Margin(3.0, False)), 84.0, 90.0, 78.0),
        (Cup("90", 90.0, 3.0, Margin(3.0, False), "inside"), 90.0, 96.0, 84.0),
        (Cup("90", 90.0, 3.0, Margin(0.0, False)), 84.0, 90.0, 84.0),
        # The margin includes the ring, so a wide ring is what limits a small cup.
        (Cup("20", 20.0, 4.0), 12.0, 20.0, 12.0),
        (Cup("29", 29.0, 0.0, Margin(0.0, True)), 29.0, 29.0, 29.0),
    ],
)
def test_edges_and_image(cup: Cup, inner_mm: float, outer_mm: float, largest_mm: float) -> None:
    assert cup.ring_inner_diameter_mm == pytest.approx(inner_mm)
    assert cup.ring_outer_diameter_mm == pytest.approx(outer_mm)
    assert cup.max_image_diameter_mm == pytest.approx(largest_mm)


@given(
    st.floats(10.0, 500.0),
    st.floats(0.0, 4.9),
    st.floats(0.0, 0.9),
    st.sampled_from(["outside", "inside"]),
)
def test_the_image_never_reaches_beyond_the_ring(
    diameter_mm: float, ring_mm: float, margin: float, named_by: str
) -> None:
    cup = Cup("x", diameter_mm, ring_mm, Margin(margin, True), named_by)  # type: ignore[arg-type]
    assert 0 < cup.max_image_diameter_mm <= cup.ring_inner_diameter_mm <= cup.ring_outer_diameter_mm


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("60,75,82.5", ["60", "75", "82.5"]),
        ("90, 60", ["60", "90"]),
        ("60; 82,5", ["60", "82.5"]),
        ("90mm", ["90"]),
        ("9cm,3.5 in", ["88.9", "90"]),
        ("60,60.0", ["60"]),
    ],
)
def test_parse_cups(text: str, names: list[str]) -> None:
    assert [cup.name for cup in parse_cups(text)] == names


@pytest.mark.parametrize(
    "text", ["", " ", ",", "60,,75", "60,", "x", "0", "-60", "nan", "inf", "60;;75", "5", "90px"]
)
def test_parse_cups_refuses_nonsense_in_one_line(text: str) -> None:
    with pytest.raises(UsageError) as caught:
        parse_cups(text)
    assert "\n" not in caught.value.message


@pytest.mark.parametrize(
    ("ring_mm", "margin"), [(30.0, Margin(0.15, True)), (3.0, Margin(27.0, False))]
)
def test_no_image_area_left_is_refused(ring_mm: float, margin: Margin) -> None:
    with pytest.raises(UsageError, match="no image area"):
        parse_cups("60", ring_mm, margin)


@pytest.mark.parametrize(
    ("value", "is_fraction"), [(1.0, True), (-0.1, True), (-1.0, False), (float("nan"), False)]
)
def test_impossible_margins_are_refused(value: float, is_fraction: bool) -> None:
    with pytest.raises(UsageError, match="margin"):
        Margin(value, is_fraction)
