"""Pads, etch areas, holds, data and angles as text: what is read, and what is refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.errors import UsageError
from viewer.press import (
    Angles,
    Datum,
    EtchArea,
    Hold,
    Pad,
    angles_text,
    datum_text,
    etch_text,
    hold_text,
    is_pad_notation,
    pad_text,
    parse_angles,
    parse_datum,
    parse_degrees,
    parse_etch,
    parse_hold,
    parse_pad,
    parse_pair_mm,
    parse_size_mm,
)

FULL_RECT = Pad("rect", 100.0, 60.0, 8.0, (-1.5, 2.0), 30.0, 2.0)

GOOD_PADS = [
    ("round:80", Pad("round", 80.0, 80.0)),
    ("oval:100x60", Pad("oval", 100.0, 60.0)),
    ("rect:100x60r8", Pad("rect", 100.0, 60.0, 8.0)),
    ("rect:100x60r8m2@-1.5,2^30", FULL_RECT),
    ("rect:100x60^30@-1,5;2m2r8", FULL_RECT),
    ("RECT : 100 X 60 r 8 m 2 @ -1.5 , 2 ^ 30", FULL_RECT),
    ("rect:100\u00d760r8m2@\u22121.5,2^30\u00b0", FULL_RECT),
    ("rect:10cmx60mmr8mmm2mm@-1.5mm,0.2cm^30deg", FULL_RECT),
    ("round:80mmm2", Pad("round", 80.0, 80.0, margin_mm=2.0)),
    ("round:80,5", Pad("round", 80.5, 80.5)),
    ("oval:100,5x60,25@0,5;-0,25", Pad("oval", 100.5, 60.25, offset_mm=(0.5, -0.25))),
    ("round:80@1,5", Pad("round", 80.0, 80.0, offset_mm=(1.0, 5.0))),
    ("oval:3 1/2 in x 2in m1/16in", Pad("oval", 88.9, 50.8, margin_mm=1.5875)),
    ("oval:100x60^-22,5", Pad("oval", 100.0, 60.0, turn_deg=-22.5)),
    ("rect:80x80r40", Pad("rect", 80.0, 80.0, 40.0)),
    ("round:100000", Pad("round", 1e5, 1e5)),
]


@pytest.mark.parametrize(("text", "pad"), GOOD_PADS, ids=[text for text, _ in GOOD_PADS])
def test_pads(text: str, pad: Pad) -> None:
    assert parse_pad(text) == pad


def test_none_is_no_pad_and_no_etch_area() -> None:
    assert parse_pad(" None ") is None and parse_etch("none") is None
    assert pad_text(None) == etch_text(None) == "none"


def test_a_pad_may_be_given_a_name() -> None:
    assert parse_pad("round:80", name="mug") == Pad("round", 80.0, 80.0, name="mug")


BAD_PADS = [
    ("", "a pad is none, round:80"),
    ("80", "a pad is none, round:80"),
    ("square:80", "a pad is none, round:80"),
    ("round", "a pad is none, round:80"),
    ("round:", "diameter is empty"),
    ("round:0", "greater than zero"),
    ("round:-80", "greater than zero"),
    ("round:nan", "not a length"),
    ("round:inf", "not a length"),
    ("round:1e400", "not a length"),
    ("round:100001", "at most 100000"),
    ("round:" + "9" * 50, "at most 100000"),
    ("round:" + "9" * 70, "too long"),
    ("round:" + "9" * 700, "too long"),
    ("round:80x60", "one diameter"),
    ("round:80r4", "takes no corner radius"),
    ("round:80px", "unknown unit"),
    ("oval:100", "two lengths"),
    ("oval:100x60x5", "two lengths"),
    ("oval:100x", "is empty"),
    ("oval:x60", "is empty"),
    ("oval:100x60r3", "takes no corner radius"),
    ("oval:100x-60", "greater than zero"),
    ("oval:1,234x60", "two ways"),
    ("rect:100x60r40", "more than half"),
    ("rect:100x60r-1", "zero or more"),
    ("rect:100x60r", "after r comes"),
    ("rect:100x60m", "after m comes"),
    ("rect:100x60mm2", "not a length"),
    ("rect:100x60m30", "leaves nothing"),
    ("rect:100x60m-1", "zero or more"),
    ("rect:100x60m2m2", "given twice"),
    ("rect:100x60@1,2@1,2", "given twice"),
    ("rect:100x60@1", "two numbers"),
    ("rect:100x60@1,5,2", "semicolon"),
    ("rect:100x60@1;2;3", "two numbers"),
    ("rect:100x60@1,", "is empty"),
    ("rect:100x60@200000,0", "at most 100000"),
    ("rect:100x60^", "after ^ comes"),
    ("rect:100x60^x", "number of degrees"),
    ("rect:100x60^361", "from -360 to 360"),
    ("rect:100x60^nan", "number of degrees"),
    ("rect:100x60^1e2", "number of degrees"),
    ("rect:100x60\x1b[2J", "not a length"),
]


@pytest.mark.parametrize(
    ("text", "problem"), BAD_PADS, ids=[ascii(text)[:24] for text, _ in BAD_PADS]
)
def test_bad_pads_are_one_line_that_quotes_the_text(text: str, problem: str) -> None:
    refused(lambda given: parse_pad(given, "--pad"), text, "--pad", problem)


GOOD_ETCHES = [
    ("90x72", EtchArea(90.0, 72.0)),
    ("90x72m2@-5,3", EtchArea(90.0, 72.0, (-5.0, 3.0), 2.0)),
    ("90 x 72 @ 0,5;-3 m 1,5", EtchArea(90.0, 72.0, (0.5, -3.0), 1.5)),
    ("9cmx72mmm2", EtchArea(90.0, 72.0, margin_mm=2.0)),
]


@pytest.mark.parametrize(("text", "etch"), GOOD_ETCHES)
def test_etch_areas(text: str, etch: EtchArea) -> None:
    assert parse_etch(text) == etch


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "an etch area is none, or 90x72"),
        ("90", "an etch area is none, or 90x72"),
        ("rect:90x72", "an etch area is none, or 90x72"),
        ("90x0", "greater than zero"),
        ("90x72r4", "takes no corner radius"),
        ("90x72^30", "takes no angle"),
        ("90x72m36", "leaves nothing"),
        ("90x72@", "after @ comes"),
        ("nanxnan", "not a length"),
        ("90x1000000", "at most 100000"),
    ],
)
def test_bad_etch_areas(text: str, problem: str) -> None:
    refused(lambda given: parse_etch(given, "--etch"), text, "--etch", problem)


@pytest.mark.parametrize(
    ("text", "hold"),
    [
        ("free", Hold()),
        ("Free:4", Hold("free", 4.0)),
        ("across", Hold("across")),
        ("across:3mm", Hold("across", 3.0)),
        ("along : 2,5", Hold("along", 2.5)),
        ("along:0", Hold("along", 0.0)),
        ("fixed", Hold("fixed")),
    ],
)
def test_holds(text: str, hold: Hold) -> None:
    assert parse_hold(text) == hold


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "a hold is free, across"),
        ("sideways", "a hold is free, across"),
        ("fixed:3", "fixed takes no limit"),
        ("fixed:0", "fixed takes no limit"),
        ("across:", "limit is empty"),
        ("across:-3", "zero or more"),
        ("across:\u22123", "zero or more"),
        ("across:nan", "not a length"),
        ("free:3:4", "not a length"),
        ("free:999999", "at most 100000"),
    ],
)
def test_bad_holds(text: str, problem: str) -> None:
    refused(lambda given: parse_hold(given, "--hold"), text, "--hold", problem)


@pytest.mark.parametrize(
    ("text", "datum"),
    [
        ("page", Datum("page")),
        (" INK ", Datum("ink")),
        ("40,25", Datum("point", (40.0, 25.0))),
        ("-5,3", Datum("point", (-5.0, 3.0))),
        ("\u22125 ; 3,5", Datum("point", (-5.0, 3.5))),
        ("1in, 2cm", Datum("point", (25.4, 20.0))),
    ],
)
def test_data(text: str, datum: Datum) -> None:
    assert parse_datum(text) == datum


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "a datum is page, ink"),
        ("middle", "a datum is page, ink"),
        ("nan", "a datum is page, ink"),
        ("40", "two numbers"),
        ("40,", "is empty"),
        ("40,25,3", "semicolon"),
        ("nan,1", "not a length"),
        ("1e3,1", "not a length"),
        ("100001,0", "at most 100000"),
    ],
)
def test_bad_data(text: str, problem: str) -> None:
    refused(lambda given: parse_datum(given, "--datum"), text, "--datum", problem)


@pytest.mark.parametrize(
    ("text", "angles"),
    [
        ("any", Angles("any")),
        ("NONE", Angles("none")),
        ("+-10", Angles("within", 10.0)),
        ("\u00b110", Angles("within", 10.0)),
        ("+\u221222,5\u00b0", Angles("within", 22.5)),
        ("+-0", Angles("within", 0.0)),
        ("step:90", Angles("step", 90.0)),
        ("step: 22.5 deg", Angles("step", 22.5)),
    ],
)
def test_angles(text: str, angles: Angles) -> None:
    assert parse_angles(text) == angles


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "angles are any, none"),
        ("10", "write +-10"),
        ("-10", "angles are any, none"),
        ("all", "angles are any, none"),
        ("+-", "number of degrees"),
        ("+--10", "no sign of its own"),
        ("+-181", "from 0 to 180"),
        ("+-nan", "number of degrees"),
        ("step", "angles are any, none"),
        ("step:", "number of degrees"),
        ("step:0", "from 0.1 to 360"),
        ("step:0.01", "from 0.1 to 360"),
        ("step:-90", "no sign of its own"),
        ("step:7", "does not divide"),
        ("step:1000", "from -360 to 360"),
    ],
)
def test_bad_angles(text: str, problem: str) -> None:
    refused(lambda given: parse_angles(given, "--angles"), text, "--angles", problem)


def test_plain_pairs_sizes_and_degrees() -> None:
    assert parse_pair_mm("-1,5;2") == (-1.5, 2.0)
    assert parse_size_mm("100 x 5cm") == (100.0, 50.0)
    assert parse_degrees("\u2212 22,5 \u00b0") == -22.5
    for parse in (parse_pair_mm, parse_size_mm, parse_degrees):
        with pytest.raises(UsageError, match="place 'u;v;w' must be"):
            parse("u;v;w", "place")


@pytest.mark.parametrize(
    ("name", "is_shape"),
    [
        ("round:80", True),
        ("Oval : 3", True),
        ("rect", True),
        ("none", True),
        ("mug oval", False),
        ("roundish", False),
        ("80", False),
    ],
)
def test_what_looks_like_a_shape(name: str, is_shape: bool) -> None:
    assert is_pad_notation(name) is is_shape


# --- round trips ----------------------------------------------------------------------

lengths = st.floats(0.001, 1000.0)
places = st.floats(-1000.0, 1000.0)
pairs = st.tuples(places, places)
turns = st.floats(-360.0, 360.0, allow_subnormal=False).filter(lambda t: t == 0 or abs(t) > 1e-30)
fractions = st.floats(0.0, 0.49)


@st.composite
def pads(draw: st.DrawFn) -> Pad:
    """Any pad that there may be."""
    shape = draw(st.sampled_from(["round", "oval", "rect"]))
    width_mm = draw(lengths)
    height_mm = width_mm if shape == "round" else draw(lengths)
    least_mm = min(width_mm, height_mm)
    radius_mm = _short(draw(fractions) * least_mm) if shape == "rect" else 0.0
    margin_mm = _short(draw(fractions) * least_mm)
    offset_mm = (_short(draw(places)), _short(draw(places)))
    return Pad(shape, width_mm, height_mm, radius_mm, offset_mm, _short(draw(turns)), margin_mm)


def _short(value: float) -> float:
    """A number that is written in a few digits, as people write them."""
    return round(value, 6)


@given(pads())
def test_a_pad_is_read_back_as_it_was(pad: Pad) -> None:
    assert parse_pad(pad_text(pad)) == pad


@given(lengths, lengths, pairs, fractions)
def test_an_etch_area_is_read_back(
    width_mm: float, height_mm: float, offset_mm: tuple[float, float], part: float
) -> None:
    offset_mm = (_short(offset_mm[0]), _short(offset_mm[1]))
    etch = EtchArea(width_mm, height_mm, offset_mm, _short(part * min(width_mm, height_mm)))
    assert parse_etch(etch_text(etch)) == etch


@given(st.sampled_from(["free", "across", "along"]), st.none() | lengths)
def test_a_hold_is_read_back(kind: str, limit_mm: float | None) -> None:
    hold = Hold(kind, limit_mm)  # type: ignore[arg-type]
    assert parse_hold(hold_text(hold)) == hold


@given(pairs)
def test_a_datum_is_read_back(point_mm: tuple[float, float]) -> None:
    datum = Datum("point", (_short(point_mm[0]), _short(point_mm[1])))
    assert parse_datum(datum_text(datum)) == datum
    assert parse_datum(datum_text(Datum("page"))) == Datum("page")


@given(st.floats(0.0, 180.0), st.integers(1, 3600))
def test_angles_are_read_back(limit_deg: float, parts: int) -> None:
    within = Angles("within", _short(limit_deg))
    assert parse_angles(angles_text(within)) == within
    step = Angles("step", 360.0 / parts)
    assert parse_angles(angles_text(step)) == step


def read_or_refused_in_one_line(text: str) -> None:
    """No reader does anything else with a text."""
    for parse in (parse_pad, parse_etch, parse_hold, parse_datum, parse_angles):
        try:
            parse(text)
        except UsageError as error:
            assert "\n" not in error.message


@given(
    st.text("0123456789.,;:xrm@^+- inp\u00b1\u2212\u00b0", max_size=24),
    st.sampled_from(["", "round:", "oval:", "rect:", "step:", "free:"]),
)
def test_what_is_nearly_right_is_read_or_refused_in_one_line(text: str, head: str) -> None:
    read_or_refused_in_one_line(head + text)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_in_one_line(text: str) -> None:
    read_or_refused_in_one_line(text)


def refused(parse: Callable[[str], object], text: str, option: str, problem: str) -> None:
    """The text raises one printable line, which begins with the option and the text."""
    with pytest.raises(UsageError) as caught:
        parse(text)
    message = caught.value.message
    assert message.startswith(f"{option} '") and problem in message
    assert message.isprintable() and len(message) < 400
