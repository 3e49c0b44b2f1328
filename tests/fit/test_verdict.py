"""The one function and its table. u: uncertainty, g: what the search left open."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.fit import Verdict, combine, judge, verdict_words

FITS, MARGIN, OUT, CLOSE = (
    Verdict.FITS,
    Verdict.IN_MARGIN,
    Verdict.OUTSIDE,
    Verdict.TOO_CLOSE,
)

LEAST = math.ulp(0.0)

TABLE = [
    # m, h, u, g, blocked, verdict
    (1.0, 4.0, 0.01, 0.0, False, FITS),
    (0.25, 0.5, 0.25, 0.0, False, FITS),
    (0.0, 3.0, 0.0, 0.0, False, FITS),
    (-LEAST, 3.0, 0.0, 0.0, False, MARGIN),
    (0.25, 3.0, 0.25 + 2**-50, 0.0, False, CLOSE),
    (-0.25, 3.0, 0.25, 0.0, False, CLOSE),
    (-0.25 - 2**-50, 3.0, 0.25, 0.0, False, MARGIN),
    (-0.5, 3.0, 0.25, 0.25, False, CLOSE),
    (-0.5 - 2**-50, 3.0, 0.25, 0.25, False, MARGIN),
    (-1.0, 0.25, 0.25, 0.0, False, MARGIN),
    (-1.0, 0.25 - 2**-50, 0.25, 0.0, False, CLOSE),
    (-1.0, 0.0, 0.0, 0.0, False, MARGIN),
    (-1.0, -LEAST, 0.0, 0.0, False, OUT),
    (-1.0, -0.25, 0.25, 0.0, False, CLOSE),
    (-1.0, -0.25 - 2**-50, 0.25, 0.0, False, OUT),
    (-1.0, -0.5, 0.25, 0.25, False, CLOSE),
    (-1.0, -0.5 - 2**-50, 0.25, 0.25, False, OUT),
    # What the search left open cannot spoil a fit already found.
    (1.0, 4.0, 0.01, 9.0, False, FITS),
    # A blocking warning takes away "fits" and nothing else.
    (1.0, 4.0, 0.01, 0.0, True, CLOSE),
    (-1.0, 3.0, 0.01, 0.0, True, MARGIN),
    (-9.0, -6.0, 0.01, 0.0, True, OUT),
    (1.0, 4.0, math.inf, 0.0, False, CLOSE),
]


@pytest.mark.parametrize(("m", "h", "u", "g", "blocked", "expected"), TABLE)
def test_the_table(
    m: float, h: float, u: float, g: float, blocked: bool, expected: Verdict
) -> None:
    assert judge(m, h, u, g, blocked) is expected


@pytest.mark.parametrize(
    ("m", "h", "u", "g"),
    [
        (1.0, 4.0, -0.01, 0.0),
        (1.0, 4.0, 0.01, -0.01),
        (math.nan, 4.0, 0.01, 0.0),
        (1.0, math.nan, 0.01, 0.0),
        (1.0, 4.0, math.nan, 0.0),
        (1.0, 4.0, 0.01, math.nan),
    ],
)
def test_impossible_numbers_raise(m: float, h: float, u: float, g: float) -> None:
    with pytest.raises(ValueError, match=r"negative|not a number"):
        judge(m, h, u, g, False)


some_mm = st.floats(-50.0, 50.0)
small_mm = st.floats(0.0, 10.0)


@given(some_mm, small_mm, small_mm, small_mm, small_mm)
def test_more_uncertainty_never_makes_a_verdict_surer(
    m: float, hard_extra: float, u: float, more: float, g: float
) -> None:
    """Whatever was not said with less uncertainty is not said with more; nor does it flip."""
    before = judge(m, m + hard_extra, u, g)
    after = judge(m, m + hard_extra, u + more, g)
    assert after in (before, Verdict.TOO_CLOSE)


@given(some_mm, small_mm, small_mm, small_mm, st.booleans())
def test_fits_is_said_only_where_the_worst_true_ink_fits(
    m: float, hard_extra: float, u: float, g: float, blocked: bool
) -> None:
    said = judge(m, m + hard_extra, u, g, blocked)
    assert (said is Verdict.FITS) == (m - u >= 0 and not blocked)


@given(st.lists(st.sampled_from(list(Verdict)), min_size=1), st.sampled_from(list(Verdict)))
def test_one_more_reading_never_makes_it_fit(readings: list[Verdict], more: Verdict) -> None:
    if combine(readings) is not Verdict.FITS:
        assert combine([*readings, more]) is not Verdict.FITS


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        ([FITS], FITS),
        ([FITS, FITS], FITS),
        ([FITS, MARGIN], CLOSE),
        ([OUT, FITS], CLOSE),
        ([MARGIN, OUT], OUT),
        ([OUT, MARGIN], OUT),
        ([MARGIN, MARGIN], MARGIN),
        ([CLOSE, FITS], CLOSE),
        ([MARGIN, CLOSE], CLOSE),
    ],
)
def test_readings_together(readings: list[Verdict], expected: Verdict) -> None:
    assert combine(readings) is expected


def test_no_reading_is_no_verdict() -> None:
    with pytest.raises(ValueError, match="no reading"):
        combine([])


@pytest.mark.parametrize(
    ("verdict", "tight", "causes", "words"),
    [
        (FITS, False, (), "fits"),
        (FITS, True, (), "fits, tight"),
        (MARGIN, False, (), "in the margin"),
        (OUT, False, (), "outside"),
        (CLOSE, False, (), "too close to call"),
        (CLOSE, False, ("text needs a font",), "cannot be sure: text needs a font"),
    ],
)
def test_words(verdict: Verdict, tight: bool, causes: tuple[str, ...], words: str) -> None:
    assert verdict_words(verdict, tight, causes) == words
