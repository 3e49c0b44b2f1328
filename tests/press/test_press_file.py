"""Press files: what is read, and one line for everything that may be wrong in one."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.errors import UsageError
from viewer.press import (
    EXAMPLE_CUPS,
    Angles,
    Cup,
    Datum,
    EtchArea,
    Hold,
    Margin,
    Pad,
    Press,
    PressLimits,
    load_press,
)
from viewer.press.press_file import LARGEST_FILE_BYTES, parse_press

EXAMPLE = Path(__file__).resolve().parents[2] / "assets_demo" / "harbour_press.toml"

MUG = '[[pad]]\nname = "mug"\nshape = "round"\nsize_mm = 80\n'
BAR = '[[pad]]\nname = "bar"\nshape = "rect"\nsize_mm = [120, 40]\n'


def test_an_empty_file_is_the_press_without_a_file() -> None:
    assert parse_press("", "x.toml") == Press()
    assert parse_press("[position]\n[angle]\n", "x.toml") == Press()


def test_everything_arrives() -> None:
    text = """
        name = "Slipway press"
        travel = "left-right"
        setup_tolerance_mm = 0.3
        use_pad = "bar"
        [[cup]]
        diameter_mm = 90
        margin = "4 mm"
        [[cup]]
        name = "small"
        diameter_mm = 60.5
        ring_width_mm = 2
        margin = "12,5%"
        named_by = "inside"
        [[pad]]
        name = "bar"
        shape = "rect"
        size_mm = [120, 40]
        corner_radius_mm = 8
        offset_mm = [-1.5, 2]
        turn_deg = -30
        margin_mm = 1
        [[pad]]
        name = "mug"
        shape = "round"
        size_mm = 80
        [etch]
        size_mm = [90, 72]
        offset_mm = [0, -3]
        margin_mm = 2
        [plate]
        size_mm = [100, 200]
        [position]
        hold = "across"
        limit_mm = 3
        datum = [40, 25.5]
        [angle]
        allowed = "step:90"
    """
    bar = Pad("rect", 120.0, 40.0, 8.0, (-1.5, 2.0), -30.0, 1.0, "bar")
    etch = EtchArea(90.0, 72.0, (0.0, -3.0), 2.0)
    assert parse_press(text, "x.toml") == Press(
        name="Slipway press",
        cups=(
            Cup("small", 60.5, 2.0, Margin(0.125, True), "inside"),
            Cup("90", 90.0, 3.0, Margin(4.0, False)),
        ),
        pads=(bar, Pad("round", 80.0, 80.0, name="mug")),
        etch=etch,
        plate_mm=(100.0, 200.0),
        travel="left-right",
        limits=PressLimits(
            bar, etch, Hold("across", 3.0), Datum("point", (40.0, 25.5)), Angles("step", 90.0)
        ),
        setup_tolerance_mm=0.3,
    )


def test_one_pad_is_the_pad_and_none_leaves_it_out() -> None:
    assert parse_press(MUG, "x.toml").limits.pad == Pad("round", 80.0, 80.0, name="mug")
    without = parse_press('use_pad = "none"\n' + MUG, "x.toml")
    assert without.limits.pad is None and len(without.pads) == 1


def test_words_and_points_for_the_datum() -> None:
    for written, datum in (
        ('"page"', Datum("page")),
        ('"ink"', Datum("ink")),
        ('"40;25,5"', Datum("point", (40.0, 25.5))),
        ("[-4, 2.5]", Datum("point", (-4.0, 2.5))),
    ):
        assert parse_press(f"[position]\ndatum = {written}", "x.toml").limits.datum == datum


def test_the_example_is_read_and_says_that_it_is_one() -> None:
    press = load_press(str(EXAMPLE))
    assert "EXAMPLE" in EXAMPLE.read_text(encoding="utf-8") and "example" in press.name
    assert [cup.name for cup in press.cups] == ["60", "90", "130 wide ring"]
    assert [pad.shape for pad in press.pads] == ["round", "oval", "rect"]
    assert press.limits.pad is not None and press.limits.pad.name == "mug oval"
    assert press.limits.etch is not None and press.plate_mm is not None


BAD_TEXTS = [
    ("name = ", "line 1"),
    ('name = "a"\nname = "b"', "line 2"),
    ("[[cup]\n", "line 1"),
    ("a = " + "[" * 5000, "too deep"),
    ("setup_tolerance_mm = " + "9" * 5000, "too long"),
    ('colour = "red"', "unknown key 'colour'; allowed are name, travel"),
    ('nam = "a"', "did you mean name?"),
    ("name = 5", "name must be text in quotes, not 5"),
    ('name = ""', "name must be 1 to 60 printable characters"),
    ('name = "a\\nb"', "printable"),
    (f'name = "{"x" * 61}"', "1 to 60"),
    ('travel = "up"', 'travel must be one of "front-back", "left-right", not \'up\''),
    ("travel = 1", "travel must be one of"),
    ("setup_tolerance_mm = -0.1", "setup_tolerance_mm must be zero or more, not -0.1"),
    ("setup_tolerance_mm = true", "must be a number such as 90 or 2.5, not true"),
    ('setup_tolerance_mm = "0.5"', "without quotes, not '0.5'"),
    ("setup_tolerance_mm = nan", "plain number"),
    ("setup_tolerance_mm = inf", "plain number"),
    ("setup_tolerance_mm = 1e9", "at most 100000"),
    ("setup_tolerance_mm = " + "9" * 400, "at most 100000"),
    ("setup_tolerance_mm = 2020-01-01", "must be a number"),
    ("cup = 90", "write [[cup]] in double brackets"),
    ("cup = []", "write [[cup]] in double brackets"),
    ("cup = [90]", "write [[cup]] in double brackets"),
    ("[cup]\ndiameter_mm = 90", "write [[cup]] in double brackets"),
    ("[[cup]]", "[[cup]] number 1: diameter_mm is missing"),
    ("[[cup]]\ndiameter_mm = 90\n[[cup]]\nname = 'a'", "[[cup]] number 2: diameter_mm is missing"),
    (
        "[[cup]]\ndiameter = 90",
        "[[cup]] number 1: unknown key 'diameter'; did you mean diameter_mm",
    ),
    ("[[cup]]\ndiameter_mm = 0", "diameter_mm must be more than zero, not 0"),
    ("[[cup]]\ndiameter_mm = -90", "diameter_mm must be more than zero, not -90"),
    ("[[cup]]\ndiameter_mm = false", "diameter_mm must be a number such as 90 or 2.5, not false"),
    ("[[cup]]\ndiameter_mm = [90]", "diameter_mm must be a number such as 90 or 2.5, not [90]"),
    ("[[cup]]\ndiameter_mm = 90\nname = 90", "[[cup]] number 1: name must be text in quotes"),
    (
        "[[cup]]\ndiameter_mm = 90\nring_width_mm = -3",
        "[[cup]] number 1 (90): ring_width_mm must be zero or more",
    ),
    ("[[cup]]\ndiameter_mm = 90\nring_width_mm = 45", "leave no image area"),
    ("[[cup]]\ndiameter_mm = 90\nmargin = 15", 'margin must be text such as "15%" or "3mm"'),
    ('[[cup]]\ndiameter_mm = 90\nmargin = "100%"', "below 100 %"),
    ('[[cup]]\ndiameter_mm = 90\nmargin = "-3mm"', "must not be negative"),
    ('[[cup]]\ndiameter_mm = 90\nmargin = "wide"', "not a length"),
    ('[[cup]]\ndiameter_mm = 90\nmargin = "50mm"', "leave no image area"),
    ('[[cup]]\ndiameter_mm = 90\nnamed_by = "middle"', 'one of "outside", "inside"'),
    ("[[cup]]\ndiameter_mm = 90\n" * 2, "[[cup]] number 2: there is a cup named '90' already"),
    (MUG + MUG, "[[pad]] number 2: there is a pad named 'mug' already"),
    (MUG + MUG.replace("mug", "MUG"), "there is a pad named 'MUG' already"),
    (MUG + BAR, "use_pad is missing: say which of the pads is mounted ('mug', 'bar'), or \"none\""),
    ('use_pad = "bar"', "use_pad names no pad: 'bar'; the file has no [[pad]]"),
    ('use_pad = "oar"\n' + MUG, "use_pad names no pad: 'oar'; there are 'mug'"),
    ("use_pad = 1\n" + MUG, "use_pad must be text in quotes, not 1"),
    ('[[pad]]\nshape = "round"\nsize_mm = 80', "[[pad]] number 1: name is missing"),
    ('[[pad]]\nname = "mug"\nsize_mm = 80', "[[pad]] number 1 (mug): shape is missing"),
    ('[[pad]]\nname = "mug"\nshape = "round"', "[[pad]] number 1 (mug): size_mm is missing"),
    (MUG.replace('"round"', '"square"'), 'shape must be one of "round", "oval", "rect"'),
    (MUG.replace('"mug"', '"round:80"'), "name must not look like a shape"),
    (MUG.replace('"mug"', '"None"'), "name must not look like a shape"),
    (MUG.replace("80", "[80, 80]"), "size_mm of a round pad is one diameter"),
    (MUG.replace("80", "0"), "size_mm must be more than zero, not 0"),
    (MUG.replace("80", '"80"'), "size_mm must be a number such as 90 or 2.5, without quotes"),
    (BAR.replace("[120, 40]", "120"), "size_mm must be two numbers, [across, along]"),
    (BAR.replace("[120, 40]", "[120]"), "size_mm must be two numbers"),
    (BAR.replace("[120, 40]", "[120, 40, 3]"), "size_mm must be two numbers"),
    (BAR.replace("[120, 40]", "[120, -40]"), "size_mm must be more than zero, not -40"),
    (BAR.replace("[120, 40]", "[120, true]"), "must be a number such as 90 or 2.5, not true"),
    (BAR + "corner_radius_mm = 21", "[[pad]] number 1 (bar): pad corner radius 21 mm is more than"),
    (BAR + "corner_radius_mm = -1", "corner_radius_mm must be zero or more"),
    (MUG + "corner_radius_mm = 4", "only a rect pad has a corner radius"),
    (BAR + "offset_mm = 3", "offset_mm must be two numbers, [right, front] in mm"),
    (BAR + "offset_mm = [1e6, 0]", "offset_mm must be at most 100000"),
    (BAR + "turn_deg = 400", "from -360 to 360"),
    (BAR + 'turn_deg = "30"', "turn_deg must be a number"),
    (BAR + "margin_mm = 20", "leaves nothing"),
    (BAR + "margin_mm = -1", "margin_mm must be zero or more"),
    (BAR + "height_mm = 4", "[[pad]] number 1: unknown key 'height_mm'"),
    ("[[etch]]\nsize_mm = [90, 72]", "write [etch] in single brackets"),
    ("etch = 5", "write [etch] in single brackets"),
    ("[etch]", "[etch]: size_mm is missing"),
    ("[etch]\nsize_mm = 90", "[etch]: size_mm must be two numbers"),
    ("[etch]\nsize_mm = [90, 72]\nmargin_mm = 36", "[etch]: etch area: a margin of 36 mm"),
    ("[etch]\nsize_mm = [90, 72]\nturn_deg = 5", "[etch]: unknown key 'turn_deg'"),
    ("[plate]", "[plate]: size_mm is missing"),
    ("[plate]\nsize_mm = [0, 100]", "[plate]: size_mm must be more than zero"),
    ("[plate]\nsize_mm = [80, 100]\n[etch]\nsize_mm = [90, 72]", "is larger than [plate]"),
    ('[position]\nhold = "sideways"', '[position]: hold must be one of "free", "across"'),
    ('[position]\nhold = "across:3"', "[position]: hold must be one of"),
    ("[position]\nlimit_mm = -3", "[position]: limit_mm must be zero or more"),
    ('[position]\nhold = "fixed"\nlimit_mm = 3', "[position]: limit_mm: fixed takes no limit"),
    ('[position]\ndatum = "middle"', "[position]: datum 'middle': a datum is page, ink"),
    ("[position]\ndatum = 5", '[position]: datum must be "page", "ink" or [x, y]'),
    ("[position]\ndatum = [1, 2, 3]", "[position]: datum must be two numbers"),
    ('[position]\ndatum = ["1", 2]', "[position]: datum must be a number"),
    ("[position]\nunder = 5", "[position]: unknown key 'under'"),
    ("[angle]\nallowed = 10", "[angle]: allowed must be text in quotes, not 10: any, none"),
    ('[angle]\nallowed = "10"', "write +-10"),
    ('[angle]\nallowed = "step:7"', "does not divide a whole turn"),
    ('[angle]\nstep = "90"', "[angle]: unknown key 'step'; allowed are allowed"),
]


@pytest.mark.parametrize(
    ("text", "problem"),
    BAD_TEXTS,
    ids=[f"{i} {ascii(t)[:30]}" for i, (t, _) in enumerate(BAD_TEXTS)],
)
def test_a_bad_file_is_one_line_that_says_where(text: str, problem: str) -> None:
    with pytest.raises(UsageError) as caught:
        parse_press(text, "my press.toml")
    message = caught.value.message
    assert message.startswith("my press.toml: ") and problem in message
    assert message.isprintable() and len(message) < 400


# --- reading the file -------------------------------------------------------------------


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"gone\.toml: the press file cannot be read \(No such"):
        load_press(str(tmp_path / "gone.toml"))
    with pytest.raises(UsageError, match="cannot be read"):
        load_press(str(tmp_path))
    with pytest.raises(UsageError, match="cannot be read"):
        load_press("a\0b.toml")


def test_text_that_is_not_utf8_names_its_line(tmp_path: Path) -> None:
    path = tmp_path / "press.toml"
    path.write_bytes('# one\nname = "Möwe"\n'.encode("latin-1"))
    with pytest.raises(UsageError, match=r"press\.toml: line 2 is not UTF-8"):
        load_press(str(path))


def test_a_mark_before_the_text_and_other_line_ends_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "press.toml"
    path.write_bytes(b"\xef\xbb\xbf" + 'name = "Möwe"\r\n'.encode())
    assert load_press(str(path)).name == "Möwe"


def test_a_file_that_is_too_large(tmp_path: Path) -> None:
    path = tmp_path / "press.toml"
    path.write_text("#" * LARGEST_FILE_BYTES, encoding="utf-8")
    assert load_press(str(path)) == Press()
    path.write_text("#" * (LARGEST_FILE_BYTES + 1), encoding="utf-8")
    with pytest.raises(UsageError, match="larger than 256 kB"):
        load_press(str(path))


def test_without_cups_the_example_set_is_offered() -> None:
    assert parse_press(MUG, "x.toml").cups == EXAMPLE_CUPS


toml_values = st.recursive(
    st.booleans() | st.integers() | st.floats() | st.text("ab 1%:x+-", max_size=6),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=4,
)


@given(
    st.dictionaries(
        st.sampled_from(
            ["name", "travel", "use_pad", "cup", "pad", "etch", "plate", "position", "angle"]
        ),
        toml_values
        | st.dictionaries(
            st.sampled_from(["size_mm", "hold", "limit_mm", "datum", "allowed", "margin_mm"]),
            toml_values,
            max_size=3,
        ),
        max_size=4,
    )
)
def test_any_values_are_read_or_refused_in_one_line(values: dict[str, object]) -> None:
    try:
        parse_press(_as_toml(values), "x.toml")
    except UsageError as error:
        assert "\n" not in error.message


def _as_toml(values: dict[str, object]) -> str:
    text = "\n".join(f"{key} = {_written(value)}" for key, value in values.items())
    tomllib.loads(text)
    return text


def _written(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {_written(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_written(item) for item in value) + "]"
    return f'"{value}"' if isinstance(value, str) else repr(value)
