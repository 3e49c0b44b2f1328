"""Writes a drawing of known extent as SVG, with the roots that drawing programs write."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from xml.sax.saxutils import quoteattr

import numpy as np

from .shapes import Array, Contour, Drawing, Op, Pair, Shape

SVG_NS = "http://www.w3.org/2000/svg"
XLINK_NS = "http://www.w3.org/1999/xlink"
MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96}
DOCTYPE = f"""<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN"
 "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [
 <!ENTITY ns_svg "{SVG_NS}">
 <!ENTITY ns_xlink "{XLINK_NS}">
]>
"""


@dataclass(frozen=True)
class Root:
    """The opening of a file, and the matrix from page millimetres to its user units."""

    attributes: dict[str, str]
    to_user: Array
    style: str = ""
    doctype: bool = False
    needs_px: bool = False
    moves: bool = False
    """The page position is not part of the promise; only sizes are."""
    prefix: dict[str, str] = field(default_factory=dict)


def _n(value: float) -> str:
    return f"{value:.12g}"


def _size(page: Pair, unit: str) -> dict[str, str]:
    return {
        "width": _n(page[0] / MM_PER[unit]) + unit,
        "height": _n(page[1] / MM_PER[unit]) + unit,
    }


def _scale(x: float, y: float, dx: float = 0.0, dy: float = 0.0) -> Array:
    return np.array([[x, 0, dx], [0, y, dy], [0, 0, 1]], dtype=np.float64)


def _view_box(rng: random.Random, page: Pair, offset: bool) -> tuple[dict[str, str], Array]:
    """A viewBox of the page's own aspect."""
    k = rng.choice((1.0, 10.0, rng.uniform(0.2, 20), 72 / 25.4, 96 / 25.4))
    x, y = (rng.uniform(-900, 900), rng.uniform(-900, 900)) if offset else (0.0, 0.0)
    box = " ".join(_n(v) for v in (x, y, page[0] * k, page[1] * k))
    return {"viewBox": box}, _scale(k, k, x, y)


def _units(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, False)
    return Root(_size(page, rng.choice(("mm", "cm", "in", "pt", "pc"))) | box, matrix)


def _offset(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, True)
    return Root(_size(page, rng.choice(("mm", "in"))) | box, matrix)


def _aspect(rng: random.Random, page: Pair) -> Root:
    """A viewBox whose aspect is not the page's, and every way to deal with it."""
    w, h = rng.uniform(30, 300), rng.uniform(30, 300)
    x, y = rng.uniform(-50, 50), rng.uniform(-50, 50)
    how = rng.choice(("meet", "meet", "slice", "none"))
    sx, sy = page[0] / w, page[1] / h
    places = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    px, py = rng.choice(list(places)), rng.choice(list(places))
    align = f"x{px}Y{py} {how}"
    if how == "none":
        align = "none"
    else:
        sx = sy = min(sx, sy) if how == "meet" else max(sx, sy)
    left = (page[0] - w * sx) * places[px]
    top = (page[1] - h * sy) * places[py]
    if how == "none":
        left = top = 0.0
    box = {"viewBox": " ".join(_n(v) for v in (x, y, w, h)), "preserveAspectRatio": align}
    if align == "xMidYMid meet" and rng.random() < 0.5:
        del box["preserveAspectRatio"]
    matrix = _scale(1 / sx, 1 / sy, x - left / sx, y - top / sy)
    return Root(_size(page, "mm") | box, matrix)


def _no_view_box(rng: random.Random, page: Pair) -> Root:
    return Root(_size(page, rng.choice(("mm", "in"))), _scale(96 / 25.4, 96 / 25.4))


def _pixels(rng: random.Random, page: Pair) -> Root:
    size = _size(page, "px")
    if rng.random() < 0.5:
        size = {name: text.removesuffix("px") for name, text in size.items()}
    return Root(size, _scale(96 / 25.4, 96 / 25.4), needs_px=True)


def _css_attribute(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, False)
    size = _size(page, rng.choice(("mm", "cm")))
    return Root({"style": f"width:{size['width']};height:{size['height']}"} | box, matrix)


def _css_sheet(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, False)
    size = _size(page, rng.choice(("mm", "in")))
    return Root(box, matrix, style=f"svg{{width:{size['width']};height:{size['height']}}}")


def _doctype(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, False)
    return Root(_size(page, "mm") | box, matrix, doctype=True)


def _root_transform(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, False)
    turn = rng.choice((f"rotate({_n(rng.uniform(-180, 180))})", "translate(3 4)"))
    return Root(_size(page, "mm") | box | {"transform": turn}, matrix, moves=True)


def _root_xy(rng: random.Random, page: Pair) -> Root:
    box, matrix = _view_box(rng, page, False)
    shift = {"x": _n(rng.uniform(-40, 40)), "y": f"{_n(rng.uniform(-40, 40))}mm"}
    return Root(_size(page, "mm") | box | shift, matrix)


ROOTS: dict[str, Callable[[random.Random, Pair], Root]] = {
    "units": _units,
    "offset": _offset,
    "aspect": _aspect,
    "no-viewbox": _no_view_box,
    "pixels": _pixels,
    "css-attribute": _css_attribute,
    "css-sheet": _css_sheet,
    "doctype": _doctype,
    "root-transform": _root_transform,
    "root-xy": _root_xy,
}


def root_for(drawing: Drawing, name: str | None = None) -> tuple[str, Root]:
    """The root variant of a drawing: the named one, or each in turn by seed."""
    names = list(ROOTS)
    chosen = name or names[drawing.seed % len(names)]
    return chosen, ROOTS[chosen](random.Random(drawing.seed + 7), drawing.page_mm)


def path_data(contours: tuple[Contour, ...]) -> str:
    """The ``d`` of a path."""
    words = []
    for contour in contours:
        words.append(f"M{_n(contour.start[0])} {_n(contour.start[1])}")
        for letter, points in contour.pieces:
            words.append(letter + " ".join(f"{_n(x)},{_n(y)}" for x, y in points))
        if contour.closed:
            words.append("Z")
    return "".join(words)


def transform_text(ops: tuple[Op, ...]) -> str:
    """A transform list."""
    return " ".join(f"{name}({','.join(_n(v) for v in values)})" for name, values in ops)


def _paint(shape: Shape, rng: random.Random) -> dict[str, str]:
    color = "#{:02x}{:02x}{:02x}".format(*shape.color)
    if shape.stroke is None:
        paint = {"fill": color}
        if shape.even_odd:
            paint["fill-rule"] = "evenodd"
    else:
        paint = {
            "fill": "none",
            "stroke": color,
            "stroke-width": _n(shape.stroke.width),
            "stroke-linecap": shape.stroke.cap,
            "stroke-linejoin": shape.stroke.join,
            "stroke-miterlimit": _n(shape.stroke.miter_limit),
        }
    if rng.random() < 0.5:
        return {"style": ";".join(f"{k}:{v}" for k, v in paint.items())}
    return paint


def _tag(name: str, attributes: dict[str, str], inner: str = "") -> str:
    text = "".join(f" {k}={quoteattr(v)}" for k, v in attributes.items())
    return f"<{name}{text}>{inner}</{name}>" if inner else f"<{name}{text}/>"


def _shape_text(shape: Shape, rng: random.Random, number: int) -> str:
    if shape.native is not None and rng.random() < 0.8:
        name, attributes = shape.native
    else:
        name, attributes = "path", {"d": path_data(shape.contours)}
    own = dict(attributes) | _paint(shape, rng)
    groups = list(shape.groups)
    if rng.random() < 0.5:
        own["transform"] = transform_text(groups.pop()) or "translate(0)"
    text = _tag(name, own)
    if rng.random() < 0.3:
        text = _through_use(text, rng, number)
    for ops in reversed(groups):
        text = _tag("g", {"transform": transform_text(ops)} if ops else {}, text)
    return text


def _through_use(text: str, rng: random.Random, number: int) -> str:
    """The same picture by way of <defs> and <use>, whose x and y a group takes back."""
    x, y = round(rng.uniform(-9, 9), 2), round(rng.uniform(-9, 9), 2)
    link = rng.choice(("href", "xlink:href"))
    kept = _tag("defs", {}, _tag("g", {"id": f"s{number}"}, text))
    used = _tag("use", {link: f"#s{number}", "x": _n(x), "y": _n(y)})
    return kept + _tag("g", {"transform": f"translate({_n(-x)},{_n(-y)})"}, used)


def svg_text(drawing: Drawing, root: Root) -> str:
    """The whole file."""
    rng = random.Random(drawing.seed + 11)
    m = root.to_user
    outer = [m[0, 0], m[1, 0], m[0, 1], m[1, 1], m[0, 2], m[1, 2]]
    inner = "\n".join(_shape_text(s, rng, i) for i, s in enumerate(drawing.shapes))
    body = _tag("g", {"transform": f"matrix({','.join(_n(v) for v in outer)})"}, inner)
    style = f"<style>{root.style}</style>" if root.style else ""
    spaces = {"xmlns": SVG_NS, "xmlns:xlink": XLINK_NS}
    if root.doctype:
        spaces = {"xmlns": "&ns_svg;", "xmlns:xlink": "&ns_xlink;"}
    opening = "".join(f' {k}="{v}"' for k, v in (spaces | root.attributes).items())
    head = '<?xml version="1.0" encoding="UTF-8"?>\n' + (DOCTYPE if root.doctype else "")
    return f"{head}<svg{opening}>{style}{body}</svg>\n"
