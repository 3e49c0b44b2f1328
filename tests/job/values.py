"""Jobs and presses of every kind, for the tests of what is written and read back."""

from __future__ import annotations

from hypothesis import strategies as st

from viewer.artwork.model import LoadOptions
from viewer.fit.model import Placement
from viewer.job import Job
from viewer.press import (
    Angles,
    Cup,
    Datum,
    EtchArea,
    Hold,
    Margin,
    Pad,
    Press,
    PressLimits,
    is_pad_notation,
)

SUBNORMAL = 5e-324
HUGE = 1.7976931348623157e308

HASH = "0123456789abcdef" * 4
MUG = Pad("oval", 110.0, 72.0, 0.0, (0.0, -1.5), 12.5, 1.0, "mug oval")
BAR = Pad("rect", 120.0, 40.0, 8.0, (-1.5, 2.0), -30.0, 1.0, "lure bar")
ETCH = EtchArea(90.0, 72.0, (0.0, -3.0), 2.0)


def example_job(path: str = "/harbour/crest.svg", **changes: object) -> Job:
    """A plain job; ``changes`` to its fields."""
    press = Press(
        name="Slipway press",
        cups=(Cup("60", 60.0), Cup("90", 90.0, 3.0, Margin(4.0, False))),
        pads=(MUG, BAR),
        etch=ETCH,
        plate_mm=(100.0, 200.0),
        limits=PressLimits(MUG, ETCH, Hold("across", 3.0), Datum("page"), Angles("step", 90.0)),
    )
    values: dict[str, object] = {
        "artwork_path": path,
        "sha256": HASH,
        "load": LoadOptions(width_mm=48.0, white="ink"),
        "press": press,
        "cup_name": "90",
        "placement": Placement((40.25, 25.5), -12.5),
        "scale": 0.75,
        "notes": "Mug for the regatta.\nBlue, then white.",
    }
    return Job(**{**values, **changes})  # type: ignore[arg-type]


def _between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high) | st.sampled_from([v for v in (SUBNORMAL, low, high) if v >= low])


places = _between(-100_000.0, 100_000.0)
sizes = _between(SUBNORMAL, 100_000.0)
lengths = _between(0.0, 100_000.0)
turns = _between(-360.0, 360.0)
any_float = st.floats(allow_nan=False, allow_infinity=False)
positive = st.floats(SUBNORMAL, HUGE)
text_line = st.text(
    st.characters(exclude_categories=["C", "Z"]) | st.sampled_from(" \"'\\=[]#\u00b0"), max_size=20
)
names = text_line.map(str.strip).filter(lambda t: bool(t) and t.isprintable())
pad_names = names.filter(lambda t: not is_pad_notation(t))


@st.composite
def pads(draw: st.DrawFn, name: st.SearchStrategy[str] | None = None) -> Pad:
    """A pad of any shape, with numbers to the ends of what is allowed."""
    shape = draw(st.sampled_from(["round", "oval", "rect"]))
    width = draw(sizes)
    height = width if shape == "round" else draw(sizes)
    half = min(width, height) / 2.0
    corner = draw(_between(0.0, half)) if shape == "rect" and half > 0 else 0.0
    margin = draw(_between(0.0, half * 0.999))
    if 2.0 * margin >= min(width, height):
        margin = 0.0
    if 2.0 * corner > min(width, height):
        corner = 0.0
    offset = (draw(places), draw(places))
    called = draw(st.just("") if name is None else name)
    return Pad(shape, width, height, corner, offset, draw(turns), margin, called)  # type: ignore[arg-type]


@st.composite
def etch_areas(draw: st.DrawFn) -> EtchArea:
    """An etch area of any size."""
    width, height = draw(sizes), draw(sizes)
    margin = draw(_between(0.0, min(width, height) * 0.499))
    margin = margin if 2.0 * margin < min(width, height) else 0.0
    return EtchArea(width, height, (draw(places), draw(places)), margin)


@st.composite
def cups(draw: st.DrawFn, name: str) -> Cup:
    """A cup that leaves some image."""
    diameter = draw(st.floats(1.0, 100_000.0))
    ring = draw(_between(0.0, diameter * 0.2))
    if draw(st.booleans()):
        margin = Margin(draw(_between(0.0, 0.999)), True)
    else:
        margin = Margin(draw(_between(0.0, diameter * 0.25)), False)
    return Cup(name, diameter, ring, margin, draw(st.sampled_from(["outside", "inside"])))


holds = st.builds(
    Hold, st.sampled_from(["free", "across", "along"]), st.none() | lengths
) | st.just(Hold("fixed"))
data = st.sampled_from([Datum("page"), Datum("ink")]) | st.builds(
    Datum, st.just("point"), st.tuples(places, places)
)
angles = (
    st.sampled_from([Angles("any"), Angles("none"), Angles("step", 22.5), Angles("step", 0.1)])
    | st.integers(1, 3600).map(lambda n: Angles("step", 360.0 / n))
    | st.builds(Angles, st.just("within"), _between(0.0, 180.0))
)


def _unlike(name: str) -> str:
    return name.casefold()


@st.composite
def presses(draw: st.DrawFn) -> Press:
    """A press as a file, the options of a call, or the window may make it."""
    cup_names = draw(st.lists(names, min_size=1, max_size=4, unique_by=_unlike))
    named = draw(st.lists(pads(pad_names), max_size=3, unique_by=lambda p: _unlike(p.name)))
    own = (*named, *draw(st.lists(pads(), max_size=1)))
    etch = draw(st.none() | etch_areas())
    limits = PressLimits(
        draw(st.none() | st.sampled_from(own) | pads() if own else st.none() | pads()),
        draw(st.sampled_from([None, etch]) | etch_areas()),
        draw(holds),
        draw(data),
        draw(angles),
    )
    return Press(
        name=draw(st.just("") | names),
        cups=tuple(draw(cups(name)) for name in cup_names),
        pads=own,
        etch=etch,
        plate_mm=draw(st.none() | st.tuples(sizes, sizes)),
        travel=draw(st.sampled_from(["front-back", "left-right"])),
        limits=limits,
        setup_tolerance_mm=draw(lengths),
    )


loads = st.builds(
    LoadOptions,
    page=st.integers(1, 1_000_000),
    width_mm=st.none() | positive,
    height_mm=st.none() | positive,
    page_width_mm=st.none() | positive,
    dpi=st.none() | positive,
    px_per_inch=st.none() | positive,
    scale=positive,
    paper=st.sampled_from([None, "transparent", "border", "#f4f1e8", "#00FFaa"]),
    white=st.sampled_from([None, "ink", "paper"]),
    trust=st.sampled_from([None, "resvg", "cairo"]),
    ignore_specks=st.booleans(),
    leave_out=st.lists(st.tuples(any_float, any_float), max_size=4).map(tuple),
    time_budget_s=positive,
)
all_text = st.text(st.characters(exclude_categories=["Cs"]))
file_names = all_text.filter(
    lambda t: bool(t) and not set(t) & {"/", "\0"} and t not in (".", "..")
)


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """A job with anything that a job may hold."""
    press = draw(presses())
    return Job(
        artwork_path=draw(st.sampled_from(["/quay bench/", "/quay/art/"])) + draw(file_names),
        sha256=HASH,
        load=draw(loads),
        press=press,
        cup_name=draw(st.sampled_from([cup.name for cup in press.cups])),
        placement=Placement((draw(any_float), draw(any_float)), draw(any_float)),
        scale=draw(positive),
        notes=draw(all_text | st.lists(all_text).map("\n".join)),
    )
