"""SVG bytes -> safe nested document: sizes, root variants, references, bad input.

Scale and place are judged from outside: both renderers draw a tile of the result and
the mark must fall where the specification puts it.
"""

from __future__ import annotations

import base64
import gzip
import io
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image

from viewer.artwork.formats.svg_scan import NOT_BLOCKING
from viewer.artwork.formats.svg_source import SvgSource, read_svg
from viewer.errors import ArtworkError

Box = tuple[float, float, float, float]
SVG = 'xmlns="http://www.w3.org/2000/svg"'
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
MARK = '<rect x="10" y="20" width="30" height="40"/>'
TILE_PX_PER_PX = 4


def svg(root: str = "", body: str = MARK, prolog: str = "") -> bytes:
    return f"{prolog}<svg {SVG} {XLINK} {root}>{body}</svg>".encode()


def read(root: str = "", body: str = MARK, prolog: str = "") -> SvgSource:
    return read_svg(svg(root, body, prolog), None)


def codes(source: SvgSource) -> set[str]:
    return {warning.code for warning in source.warnings}


def _with_resvg(document: str) -> bytes:
    resvg_py = pytest.importorskip("resvg_py")
    return bytes(resvg_py.svg_to_bytes(svg_string=document, dpi=96, skip_system_fonts=True))


def _with_cairo(document: str) -> bytes:
    try:
        import cairosvg
    except (ImportError, OSError):
        pytest.skip("libcairo is not installed")
    png = cairosvg.svg2png(bytestring=document.encode())
    assert isinstance(png, bytes)
    return png


RENDERERS = [pytest.param(_with_resvg, id="resvg"), pytest.param(_with_cairo, id="cairo")]
Renderer = Callable[[str], bytes]


def ink_box(source: SvgSource, renderer: Renderer, tile: Box) -> Box | None:
    """Extent of the ink in page px, seen through a tile (x, y, w, h in page px)."""
    width, height = round(tile[2] * TILE_PX_PER_PX), round(tile[3] * TILE_PX_PER_PX)
    view = " ".join(map(str, tile))
    document = (
        f'<svg {SVG} width="{width}px" height="{height}px" viewBox="{view}">{source.inner}</svg>'
    )
    alpha = np.asarray(Image.open(io.BytesIO(renderer(document))).convert("RGBA"))[..., 3]
    assert alpha.shape == (height, width)
    ys, xs = np.nonzero(alpha > 127)
    if len(xs) == 0:
        return None
    left, right = xs.min() / TILE_PX_PER_PX, (xs.max() + 1) / TILE_PX_PER_PX
    top, bottom = ys.min() / TILE_PX_PER_PX, (ys.max() + 1) / TILE_PX_PER_PX
    return tile[0] + left, tile[1] + top, tile[0] + right, tile[1] + bottom


def assert_ink(source: SvgSource, renderer: Renderer, expected: Box, tile: Box) -> None:
    found = ink_box(source, renderer, tile)
    assert found is not None, "no ink at all"
    assert found == pytest.approx(expected, abs=1.01 / TILE_PX_PER_PX)


TILE = (-20.0, -20.0, 240.0, 160.0)


def test_the_comparison_can_fail() -> None:
    source = read('width="100px" height="100px"')
    with pytest.raises(AssertionError):
        assert_ink(source, _with_resvg, (11, 20, 41, 60), TILE)


# -- sizes ---------------------------------------------------------------------

# 1in = 96px = 25.4mm = 72pt = 6pc: W3C CSS Values 3, section 6.2.
UNITS = [
    ("254mm", 254.0),
    ("25.4cm", 254.0),
    ("10in", 254.0),
    ("720pt", 254.0),
    ("60pc", 254.0),
    ("1016Q", 254.0),
    ("960px", 254.0),
    ("960", 254.0),
    ("60em", 254.0),
    ("+2.54e2mm", 254.0),
    (" 254 mm ", 254.0),
    ("254MM", 254.0),
]


@pytest.mark.parametrize(("text", "mm"), UNITS)
def test_units(text: str, mm: float) -> None:
    source = read(f'width="{text}" height="{text}" viewBox="0 0 10 10"')
    assert source.page_mm == pytest.approx((mm, mm), rel=1e-12)
    assert source.page_px == pytest.approx((960, 960), rel=1e-12)


def test_published_scale_of_px_and_pt() -> None:
    # check values, section 4: 1 px is 0.2645833 mm, 1 pt is 0.3527778 mm.
    source = read('width="1px" height="1pt"')
    assert source.page_mm == pytest.approx((0.2645833, 0.3527778), abs=5e-8)


def test_bare_px_are_flagged_and_settled_by_px_per_inch() -> None:
    data = svg('width="72" height="144px"')
    open_ = read_svg(data, None)
    settled = read_svg(data, 72)
    assert open_.bare_px and open_.scale_source == "bare px at 96 per inch"
    assert open_.page_mm == pytest.approx((19.05, 38.1))
    assert not settled.bare_px and settled.scale_source == "bare px at 72 per inch"
    assert settled.page_mm == pytest.approx((25.4, 50.8))
    assert settled.page_px == open_.page_px == (72, 144)


def test_mixed_units_keep_one_scale() -> None:
    source = read_svg(svg('width="100mm" height="72" viewBox="0 0 2 1"'), 72)
    assert source.page_mm == pytest.approx((100, 25.4))
    assert source.page_mm is not None
    across = source.page_mm[0] / source.page_px[0]
    assert across == pytest.approx(source.page_mm[1] / source.page_px[1], rel=1e-12)
    assert read('width="100mm" height="72"').bare_px


@pytest.mark.parametrize("size", ['width="100%" height="100%"', "", 'width="auto"', 'width="9vw"'])
def test_no_physical_size(size: str) -> None:
    source = read(f'{size} viewBox="5 5 40 30"')
    assert source.page_mm is None
    assert source.page_px == (40, 30)
    assert not source.bare_px


def test_nothing_at_all_is_the_css_default() -> None:
    source = read()
    assert (source.page_px, source.page_mm) == ((300, 150), None)


@pytest.mark.parametrize("other", ["", 'height="auto"', 'height="100%"'])
def test_one_side_follows_the_view_box(other: str) -> None:
    assert read(f'width="80mm" {other} viewBox="0 0 40 10"').page_mm == pytest.approx((80, 20))


@pytest.mark.parametrize(
    "size",
    [
        'width="0" height="10mm"',
        'width="-5mm" height="10mm"',
        'width="NaN" height="10mm"',
        'width="1e999mm" height="10mm"',
        'width="1e9mm" height="10mm"',
        'width="10mm" height="1000001mm"',
        'width="1e-9mm" height="1mm"',
        'width="10mm" viewBox="0 0 1e-300 1e300"',
        'width="10mm" height="10mm" viewBox="0 0 0 10"',
        'style="width:0" height="10mm"',
    ],
)
def test_bad_sizes(size: str) -> None:
    with pytest.raises(ArtworkError) as caught:
        read(size)
    assert caught.value.code == "bad-size"


def test_view_box_far_away_is_reported() -> None:
    source = read('width="100mm" height="100mm" viewBox="1e6 0 100 100"')
    assert source.max_abs_coordinate_px == pytest.approx(1000100 * 96 / 25.4)
    # design, section 4: such a file is off by 0.045 mm at 1 mm per unit... in float32 steps.
    assert source.units_per_px == pytest.approx(25.4 / 96)


def test_large_path_coordinates_are_reported() -> None:
    source = read('width="10px" height="10px"', '<path d="M-250000 0 L 3 4"/>')
    assert source.max_abs_coordinate_px == 250000


# -- place and scale, drawn ----------------------------------------------------

ASPECTS = [
    ("", (25, 0, 75, 50)),  # check values, section 4: drawn from x 25 to 75
    ("xMidYMid meet", (25, 0, 75, 50)),
    ("xMinYMid", (0, 0, 50, 50)),
    ("xMaxYMax meet", (50, 0, 100, 50)),
    ("defer xMinYMin", (0, 0, 50, 50)),
    ("none", (0, 0, 100, 50)),
    ("xMidYMid slice", (0, -25, 100, 75)),
    ("xMinYMin slice", (0, 0, 100, 100)),
    ("xMaxYMax slice", (0, -50, 100, 50)),
    ("nonsense", (25, 0, 75, 50)),
]


@pytest.mark.parametrize("renderer", RENDERERS)
@pytest.mark.parametrize(("aspect", "expected"), ASPECTS)
def test_aspect(aspect: str, expected: Box, renderer: Renderer) -> None:
    given = f'preserveAspectRatio="{aspect}"' if aspect else ""
    full = '<rect x="-7" y="3" width="100" height="100"/>'
    source = read(f'width="100" height="50" viewBox="-7 3 100 100" {given}', full)
    assert_ink(source, renderer, expected, (-20, -60, 140, 180))


# check values, section 4: 100 x 50 mm, viewBox 200 x 200 gives these mm per unit.
@pytest.mark.parametrize("renderer", RENDERERS)
@pytest.mark.parametrize(
    ("aspect", "across", "down"),
    [("xMinYMin meet", 0.25, 0.25), ("xMinYMin slice", 0.5, 0.5), ("none", 0.5, 0.25)],
)
def test_mm_per_unit(aspect: str, across: float, down: float, renderer: Renderer) -> None:
    root = 'width="100mm" height="50mm" viewBox="0 0 200 200"'
    source = read(f'{root} preserveAspectRatio="{aspect}"')
    px = 96 / 25.4
    expected = (10 * across * px, 20 * down * px, 40 * across * px, 60 * down * px)
    assert_ink(source, renderer, expected, (0, 0, 100, 130))


CSS_SIZE = "<style>{}</style>" + MARK
ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd"'
    ' [<!ENTITY ns_svg "http://www.w3.org/2000/svg"><!ENTITY w "100">]>'
)
BOXED = 'viewBox="0 0 200 200"'
ROOTS: dict[str, tuple[bytes, Box]] = {
    "plain": (svg('width="100px" height="100px"'), (10, 20, 40, 60)),
    "view box": (svg(f'width="100" height="100" {BOXED}'), (5, 10, 20, 30)),
    "no size": (svg('viewBox="0 0 100 100"'), (10, 20, 40, 60)),
    "percent": (svg('width="50%" height="50%" viewBox="0 0 100 100"'), (10, 20, 40, 60)),
    "x and y": (svg('x="30" y="30" width="100" height="100"'), (10, 20, 40, 60)),
    "css attribute": (svg(f'style="width:100px; height:100px" {BOXED}'), (5, 10, 20, 30)),
    "css wins": (
        svg(f'width="7" height="9" style="width:100px;height:100px" {BOXED}'),
        (5, 10, 20, 30),
    ),
    "css rule": (
        svg(BOXED, CSS_SIZE.format("svg{width:100px;height:100px;fill:red}")),
        (5, 10, 20, 30),
    ),
    "css root rule": (
        svg(BOXED, CSS_SIZE.format(":root{width:100px;height:100px}")),
        (5, 10, 20, 30),
    ),
    "css specificity": (
        svg(
            f'id="a" class="b" {BOXED}',
            CSS_SIZE.format(
                "svg#a{width:100px;height:100px} .b{width:1px;height:1px} svg{width:2px}"
            ),
        ),
        (5, 10, 20, 30),
    ),
    "css important": (
        svg(
            f'class="b" style="width:3px;height:100px" {BOXED}',
            CSS_SIZE.format("/* why */ svg.b, text { width: 100px !important }"),
        ),
        (5, 10, 20, 30),
    ),
    "entities": (
        (
            ENTITIES + f'<svg xmlns="&ns_svg;" width="&w;" height="100" {BOXED}>{MARK}</svg>'
        ).encode(),
        (5, 10, 20, 30),
    ),
    "entity with elements": (
        (
            f'<!DOCTYPE svg [<!ENTITY m \'{MARK}\'>]><svg {SVG} width="100" height="100">&m;</svg>'
        ).encode(),
        (10, 20, 40, 60),
    ),
    "prefix": (
        (
            b'<svg:svg xmlns:svg="http://www.w3.org/2000/svg" width="100" height="100">'
            b'<svg:g><svg:rect x="10" y="20" width="30" height="40"/></svg:g></svg:svg>'
        ),
        (10, 20, 40, 60),
    ),
    "no namespace": (f'<svg width="100" height="100">{MARK}</svg>'.encode(), (10, 20, 40, 60)),
    "bom": (b"\xef\xbb\xbf" + svg('width="100" height="100"'), (10, 20, 40, 60)),
    "utf-16": (
        svg('width="100" height="100"', prolog='<?xml version="1.0" encoding="utf-16"?>')
        .decode()
        .encode("utf-16"),
        (10, 20, 40, 60),
    ),
    "latin-1": (
        svg(
            'width="100" height="100"',
            f'<g id="\xe9">{MARK}</g>',
            '<?xml version="1.0" encoding="iso-8859-1"?>',
        )
        .decode()
        .encode("latin-1"),
        (10, 20, 40, 60),
    ),
    "leading blanks": (b"\n  " + svg('width="100" height="100"'), (10, 20, 40, 60)),
    "gzip": (gzip.compress(svg('width="100" height="100"')), (10, 20, 40, 60)),
    "ink beyond the page": (
        svg('width="20" height="30" style="overflow:hidden"'),
        (10, 20, 40, 60),
    ),
    # Rotating by 180 degrees about the center of the 100 px page.
    "transform": (svg('width="100" height="100" transform="rotate(180)"'), (60, 40, 90, 80)),
    "transform with view box": (
        svg(f'width="100" height="100" transform="translate(10 -5) scale(2)" {BOXED}'),
        (-30, -35, 0, 5),
    ),
    "transform origin": (
        svg('width="100" height="100" transform="scale(2)" transform-origin="0 0"'),
        (20, 40, 80, 120),
    ),
    "css transform": (
        svg(
            'width="100" height="100" style="transform: rotate(.5turn) translateX(10px)'
            ' scaleY(1); transform-origin: left top"'
        ),
        (-50, -60, -20, -20),
    ),
    "root clip in a rule": (
        svg(
            'width="100" height="100"',
            '<style>svg{clip-path:url(#c)}</style><clipPath id="c"><rect x="10" y="20"'
            f' width="20" height="20"/></clipPath>{MARK}',
        ),
        (10, 20, 30, 40),
    ),
    "root selector": (
        svg(
            'width="100" height="100"',
            "<style>:root>rect.hidden{display:none}</style>"
            + MARK
            + '<rect class="hidden" width="99" height="99"/>',
        ),
        (10, 20, 40, 60),
    ),
    "rule for root and others": (
        svg(
            f'class="b" {BOXED}',
            "<style>svg, .c{width:100px;opacity:.9} svg{height:100px}</style>" + MARK,
        ),
        (5, 10, 20, 30),
    ),
    "percent inside": (
        svg(f'width="100" height="100" {BOXED}', '<rect x="10%" width="20%" height="30%"/>'),
        (10, 0, 30, 30),
    ),
    "foreign drawing data": (
        svg(
            'width="100" height="100" xmlns:z="urn:z" z:page="9"',
            f'<z:view><rect width="99" height="99"/></z:view><metadata>{MARK}</metadata>{MARK}',
        ),
        (10, 20, 40, 60),
    ),
    "sole child of a switch": (
        svg(
            'width="100" height="100"',
            '<switch><foreignObject requiredExtensions="urn:z"/><g>' + MARK + "</g></switch>",
        ),
        (10, 20, 40, 60),
    ),
    "both hrefs": (
        svg(
            'width="100" height="100"',
            f'<defs><g id="a">{MARK}</g><g id="b"/></defs><use xlink:href="#b" href="#a"/>',
        ),
        (10, 20, 40, 60),
    ),
}


@pytest.mark.parametrize("renderer", RENDERERS)
@pytest.mark.parametrize("name", ROOTS)
def test_root_variant_lands_where_it_must(name: str, renderer: Renderer) -> None:
    data, expected = ROOTS[name]
    source = read_svg(data, None)
    assert_ink(source, renderer, expected, (-60, -70, 260, 220))
    assert not [w for w in source.warnings if w.blocks_fits], source.warnings


@pytest.mark.parametrize("renderer", RENDERERS)
@pytest.mark.parametrize("how", ['display="none"', 'style="display:none"'])
def test_hidden_root_draws_nothing(how: str, renderer: Renderer) -> None:
    assert ink_box(read(f'width="90" height="90" {how}'), renderer, TILE) is None


@pytest.mark.parametrize("renderer", RENDERERS)
@pytest.mark.parametrize("how", ['opacity=".2"', 'style="opacity:.2"'])
def test_root_opacity_counts_once(how: str, renderer: Renderer) -> None:
    source = read(f'width="50" height="70" {how}')
    document = f'<svg {SVG} width="50px" height="70px" viewBox="0 0 50 70">{source.inner}</svg>'
    alpha = np.asarray(Image.open(io.BytesIO(renderer(document))).convert("RGBA"))[..., 3]
    assert abs(int(alpha.max()) - 51) <= 1


@pytest.mark.parametrize("transform", ["spin(3)", "rotate(1,2)", "rotateX(9deg)", "scale(", "x"])
def test_root_transform_that_cannot_be_resolved(transform: str) -> None:
    with pytest.raises(ArtworkError, match="transform"):
        read(f'width="9" height="9" transform="{transform}"')


def test_root_transform_is_mentioned() -> None:
    (warning,) = read('width="9mm" height="9mm" transform="scale(2)"').warnings
    assert (warning.code, warning.blocks_fits) == ("root-transform", False)


# -- what a look at the text tells -----------------------------------------------

PIXEL = "data:image/png;base64,iVBORw0KGgo="
INNER_SVG = base64.b64encode(b"<svg/>").decode()
FOUND = [
    ('<image href="http://a.example/b.png" width="9" height="9"/>', "external-reference"),
    ('<image xlink:href="b.png" width="9" height="9"/>', "external-reference"),
    ('<use xlink:href="other.svg#a"/>', "external-reference"),
    ('<rect fill="url(other.svg#a)"/>', "external-reference"),
    ("<rect style=\"fill:URL( 'http://a.example/' )\"/>", "external-reference"),
    (r'<rect style="fill:u\72l(http://a.example/)"/>', "external-reference"),
    ("<style>@import 'a.css';</style>", "external-reference"),
    ("<style>rect{fill:url(a.svg#b)}</style>", "external-reference"),
    ('<image href="data:image/svg+xml,%3Csvg/%3E"/>', "nested-svg-image"),
    (f'<image href="data:;base64,{INNER_SVG}"/>', "nested-svg-image"),
    ("<rect><animate/></rect>", "animation"),
    ("<g><set/></g>", "animation"),
    ("<style>@keyframes a{to{x:1}}</style>", "animation"),
    ("<style>rect{animation: a 2s}</style>", "animation"),
    ('<rect style="transition:all 1s"/>', "animation"),
    ("<text>a</text>", "text"),
    ('<text><tspan x="1">a</tspan></text>', "text"),
    ('<rect filter="url(#a)"/>', "filter"),
    ('<rect style="filter:blur(2px)"/>', "filter"),
    ("<style>svg{filter:blur(1px)}</style>", "filter"),
    ("<switch><g/><g/></switch>", "conditional"),
    ('<g systemLanguage="de"/>', "conditional"),
    ('<switch><g requiredFeatures="a"/></switch>', "conditional"),
    ('<foreignObject width="9" height="9"/>', "foreign-object"),
    ("<script>alert(1)</script>", "script"),
    ("<style>@media print{rect{fill:red}}</style>", "media-query"),
    ('<style media="print">rect{fill:red}</style>', "media-query"),
    ('<rect style="transform-box:fill-box"/>', "css-geometry"),
    ("<style>path{d:path('M0 0')}</style>", "css-geometry"),
    ("<meshgradient/>", "unsupported-element"),
    ("<style>*{width:9px}</style>", "root-css"),
    ('<pattern id="a"><rect fill="url(#a)"/></pattern>', "endless-reference"),
    ('<mask id="a" mask="url(#b)"/><mask id="b" mask="url(#a)"/>', "endless-reference"),
    ('<linearGradient id="a" href="#a"/>', "endless-reference"),
    *[
        (f'<rect width="2{unit}"/>', "unusual-unit")
        for unit in "vw vh vi vb ch ic lh rlh ex q Q rem".split()  # noqa: SIM905
    ],
    ('<rect style="stroke-width:calc(1px + 2px)"/>', "unusual-unit"),
]


@pytest.mark.parametrize(("body", "code"), FOUND)
def test_warning(body: str, code: str) -> None:
    source = read('width="9mm" height="9mm"', body + MARK)
    assert codes(source) == {code}
    (warning,) = source.warnings
    assert warning.blocks_fits and "\n" not in warning.message
    for outside in ("http://", "a.css", "other.svg", "b.png", "alert", "<animate"):
        assert outside not in source.inner.replace("http://www.w3.org/", "")


QUIET = [
    "<text> </text>",
    f'<image width="2em" height="3" href="{PIXEL}"/>',
    '<a href="http://a.example/"><rect/></a>',
    '<rect filter="none" onclick="go()" style="fill:red;filter:none"/>',
    '<rect id="a"/><use href="#a"/><use href="#missing"/>',
    '<g fill="url(#p)"><pattern id="p"><rect/></pattern></g>',
    "<!-- <text>a</text> --><?hint a?>",
    '<style>.a{fill:#123} rect[x="1"]:hover, g > .b{stroke-width:1.5px}</style>',
    '<path d="M1 2q3 4 5 6"/>',
]


@pytest.mark.parametrize("body", QUIET)
def test_no_warning(body: str) -> None:
    source = read('width="9mm" height="9mm"', body)
    assert source.warnings == ()
    assert "onclick" not in source.inner and "a.example" not in source.inner


def test_stylesheet_instruction_is_not_followed() -> None:
    source = read(prolog='<?xml-stylesheet href="a.css" type="text/css"?>')
    assert codes(source) == {"external-reference"} and "a.css" not in source.inner


def test_only_harmless_codes_do_not_block() -> None:
    assert {"no-namespace", "page-size-guessed", "root-transform"} == NOT_BLOCKING


def test_values_are_escaped() -> None:
    from xml.etree import ElementTree

    body = '<text id="&lt;a&gt;&quot;&amp;&#10;x">a &lt;b&gt; &amp; c</text>'
    first = read('width="9" height="9"', body)
    text = ElementTree.fromstring(first.inner)[0]
    assert text.get("id") == '<a>"&\nx'
    assert text.text == "a <b> & c"
    again = read_svg(first.inner.encode(), None)
    assert again.inner == first.inner


# -- bad input -------------------------------------------------------------------

LAUGHS = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10}">' for i in range(1, 10))
BOMB = f'<!DOCTYPE svg [<!ENTITY l0 "ha">{LAUGHS}]><svg {SVG}><text>&l9;</text></svg>'
QUADRATIC = (
    f'<!DOCTYPE svg [<!ENTITY a "{"x" * 100_000}">]><svg {SVG}><text>{"&a;" * 100}</text></svg>'
)
SELF = f'<!DOCTYPE svg [<!ENTITY a "&b;"><!ENTITY b "&a;">]><svg {SVG}>&a;</svg>'
DOUBLING = "".join(
    f'<g id="d{i}"><use href="#d{i - 1}"/><use href="#d{i - 1}"/></g>' for i in range(1, 25)
)
BAD: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "not-readable"),
    "blanks": (b" \n", "not-readable"),
    "not xml": (b"hello", "not-readable"),
    "cut short": (svg()[:-9], "not-readable"),
    "bad byte": (svg(body="<g>\xff</g>").decode().encode("latin-1"), "not-readable"),
    "unknown encoding": (b'<?xml version="1.0" encoding="zz"?><svg/>', "not-readable"),
    "html": (b"<html><svg/></html>", "not-readable"),
    "undeclared prefix": (f'<svg {SVG}><use xlink:href="#a"/></svg>'.encode(), "not-readable"),
    "undefined entity": (svg(body="<g>&nope;</g>"), "not-readable"),
    "undefined, outside dtd": (
        f'<!DOCTYPE svg SYSTEM "a.dtd"><svg {SVG}><g>&nope;</g></svg>'.encode(),
        "not-readable",
    ),
    "undefined in attribute": (
        f'<!DOCTYPE svg SYSTEM "a.dtd"><svg {SVG} width="&nope;"/>'.encode(),
        "not-readable",
    ),
    "laughs": (BOMB.encode(), "entity-expansion"),
    "laughs in an attribute": (
        BOMB.replace("<text>&l9;</text>", '<g id="&l9;"/>').encode(),
        "entity-expansion",
    ),
    "quadratic": (QUADRATIC.encode(), "entity-expansion"),
    "endless entity": (SELF.encode(), "entity-expansion"),
    "deep": (svg(body="<g>" * 100_000 + "</g>" * 100_000), "too-deep"),
    "deep and hidden": (svg(body="<metadata>" * 300 + "</metadata>" * 300), "too-deep"),
    "gzip cut short": (gzip.compress(svg())[:-12], "not-readable"),
    "gzip damaged": (b"\x1f\x8b\x08\x00 nonsense nonsense", "not-readable"),
    "gzip bomb": (gzip.compress(b" " * (65 * 1024 * 1024), 1), "too-large"),
    "use itself": (svg(body='<use id="a" href="#a"/>'), "endless-use"),
    "use ancestor": (svg(body='<g id="a"><g><use href="#a"/></g></g>'), "endless-use"),
    "use root": (svg('id="a"', '<use href="#a"/>'), "endless-use"),
    "use in turn": (
        svg(body='<g id="a"><use href="#b"/></g><g id="b"><use xlink:href="#a"/></g>'),
        "endless-use",
    ),
    "use doubling": (svg(body=f'<g id="d0">{MARK}</g>{DOUBLING}'), "too-large"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_quick_clear_error(name: str) -> None:
    data, code = BAD[name]
    start = time.perf_counter()
    with pytest.raises(ArtworkError) as caught:
        read_svg(data, None)
    assert time.perf_counter() - start < 2
    assert caught.value.code == code
    assert "\n" not in caught.value.message


def test_errors_name_the_line() -> None:
    with pytest.raises(ArtworkError, match="line 3:"):
        read_svg(f"<svg {SVG}>\n<g>\n</svg>".encode(), None)


def test_outside_entities_are_not_read() -> None:
    data = f'<!DOCTYPE svg [<!ENTITY a SYSTEM "/etc/hostname">]><svg {SVG}><text>&a;</text></svg>'
    source = read_svg(data.encode(), None)
    assert codes(source) == {"external-reference"}
    assert "<text></text>" in source.inner


def test_two_hundred_levels_are_read() -> None:
    assert read(body="<g>" * 199 + "</g>" * 199).element_count == 200


def use_chain(length: int) -> str:
    return "".join(f'<g id="c{i}"><use href="#c{i + 1}"/></g>' for i in range(length))


def test_a_long_chain_of_uses_is_no_recursion() -> None:
    with pytest.raises(ArtworkError) as caught:
        read(body=use_chain(5000))
    assert caught.value.code == "too-deep"
    assert read(body=use_chain(150)).element_count == 301


def test_definitions_are_counted_only_where_drawn() -> None:
    dots, uses = "<circle/>" * 900, "<use href='#a'/>" * 1200
    body = f'<defs id="d"><g id="a">{dots}</g>{uses}</defs><use href="#a"/>'
    assert read(body=body).element_count == 2104
    with pytest.raises(ArtworkError, match="million"):
        read(body=body.replace("defs", "g"))


def test_reading_is_quick_and_light() -> None:
    path = '<path d="M10 10L20 20C1 2 3 4 5 6z" fill="#ff0" stroke-width="1.5"/>'
    data = svg('width="9mm" height="9mm"', path * 2000)
    took = []
    for _ in range(3):
        start = time.perf_counter()
        read_svg(data, None)
        took.append(time.perf_counter() - start)
    assert min(took) < 0.06


def test_import_loads_no_css_parser() -> None:
    check = (
        "import sys; from viewer.artwork.formats.svg_source import read_svg;"
        f"read_svg({svg()!r}, None);"
        "print([m for m in ('tinycss2', 'cairosvg', 'resvg_py', 'PIL') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
