"""The root of an SVG: its page size, its viewBox and its own transform."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from viewer.artwork.formats.svg_scan import Scan
from viewer.errors import ArtworkError

MM_PER_INCH = 25.4
PX_PER_INCH = 96.0
MAX_PAGE_MM = 1e6
MIN_PAGE_MM = 1e-3
DEFAULT_PAGE_PX = (300.0, 150.0)
DEFAULT_FONT_PX = 16.0

_PX_PER_UNIT = {
    "in": PX_PER_INCH,
    "cm": PX_PER_INCH / 2.54,
    "mm": PX_PER_INCH / MM_PER_INCH,
    "q": PX_PER_INCH / MM_PER_INCH / 4,
    "pt": PX_PER_INCH / 72,
    "pc": PX_PER_INCH / 6,
}
_FONT_UNITS = {"em": 1.0, "rem": 1.0, "ex": 0.5, "ch": 0.5}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"({_NUMBER})\s*([a-zA-Z%]*)")
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*")
_ASPECT = re.compile(
    r"(?:defer\s+)?(none|x(?:Min|Mid|Max)Y(?:Min|Mid|Max))(?:\s+(meet|slice))?", re.ASCII
)
_DEGREES = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_ARGUMENTS: dict[str, tuple[int, ...]] = {
    "matrix": (6,),
    "translate": (1, 2),
    "translatex": (1,),
    "translatey": (1,),
    "scale": (1, 2),
    "scalex": (1,),
    "scaley": (1,),
    "rotate": (1, 3),
    "rotatez": (1,),
    "skewx": (1,),
    "skewy": (1,),
}

ViewBox = tuple[float, float, float, float]


@dataclass(frozen=True)
class PageSize:
    """Page of the root. ``mm`` None: the file holds no physical size."""

    px: tuple[float, float]
    mm: tuple[float, float] | None
    source: str
    is_bare: bool


@dataclass(frozen=True)
class _Axis:
    """One side: CSS px at 96 per inch and the unit it was written in ("" bare)."""

    px: float
    unit: str

    @property
    def is_bare(self) -> bool:
        return self.unit in ("", "px", "em", "rem", "ex", "ch")


def parse_view_box(text: str | None) -> ViewBox | None:
    """The four numbers; None if absent or malformed (SVG: ignored). Zero size raises."""
    if text is None:
        return None
    parts = re.split(r"\s*,\s*|\s+", text.strip())
    if len(parts) != 4 or not all(re.fullmatch(_NUMBER, part) for part in parts):
        return None
    x, y, width, height = map(float, parts)
    if not all(map(math.isfinite, (x, y, width, height))) or width < 0 or height < 0:
        return None
    if width == 0 or height == 0:
        raise _bad_size(f'viewBox "{text.strip()}" has no extent, so nothing is drawn')
    return x, y, width, height


def parse_aspect(text: str | None) -> str | None:
    """preserveAspectRatio if it is valid, else None (the default applies)."""
    match = _ASPECT.fullmatch(" ".join(text.split())) if text else None
    return " ".join(filter(None, match.groups())) if match else None


def page_size(
    width: str | None,
    height: str | None,
    view_box: ViewBox | None,
    px_per_inch: float | None,
    font_px: float,
    scan: Scan,
) -> PageSize:
    """Page of a root with these CSS or attribute lengths (None: not given)."""
    if px_per_inch is not None and not (math.isfinite(px_per_inch) and px_per_inch > 0):
        raise ArtworkError(f"pixels per inch must be above zero, not {px_per_inch}", code="usage")
    across = _axis(width, "width", font_px, scan)
    down = _axis(height, "height", font_px, scan)
    if across is None and down is None:
        px = (view_box[2], view_box[3]) if view_box else DEFAULT_PAGE_PX
        source = "no physical size (only a viewBox)" if view_box else "no size in the file"
        return PageSize(px, None, source, False)
    source = _source(across, down, px_per_inch)
    across, down = _both(across, down, view_box, scan)
    bare = across.is_bare or down.is_bare
    mm_per_bare = MM_PER_INCH / (px_per_inch or PX_PER_INCH)
    mm = tuple(
        axis.px * (mm_per_bare if axis.is_bare else MM_PER_INCH / PX_PER_INCH)
        for axis in (across, down)
    )
    for name, value in zip(("width", "height"), mm, strict=True):
        if not MIN_PAGE_MM <= value <= MAX_PAGE_MM:
            raise _bad_size(f"a {name} of {value:g} mm cannot be measured")
    both_bare = across.is_bare and down.is_bare
    # Mixed units: one px must be worth the same along both sides.
    px_per_mm = PX_PER_INCH / MM_PER_INCH
    px = (across.px, down.px) if both_bare else (mm[0] * px_per_mm, mm[1] * px_per_mm)
    return PageSize(px, (mm[0], mm[1]), source, bare and px_per_inch is None)


def _both(
    across: _Axis | None, down: _Axis | None, view_box: ViewBox | None, scan: Scan
) -> tuple[_Axis, _Axis]:
    """The missing side follows the viewBox, or else the CSS default."""
    if across is not None and down is not None:
        return across, down
    known = across or down
    assert known is not None
    if view_box:
        ratio = view_box[3] / view_box[2]
        other = known.px * ratio if across else known.px / ratio
    else:
        scan.warn("page-size-guessed")
        other = DEFAULT_PAGE_PX[1 if across else 0]
    if not math.isfinite(other):
        raise _bad_size("the viewBox makes the page endless")
    missing = _Axis(other, known.unit)
    return (known, missing) if across else (missing, known)


def _axis(text: str | None, name: str, font_px: float, scan: Scan) -> _Axis | None:
    """One side; None where it has no size of its own (absent, auto, %, unknown unit)."""
    if text is None:
        return None
    text = text.strip()
    if text.lower().lstrip("+-") in ("nan", "inf", "infinity"):
        raise _bad_size(f'{name} "{text}" is not a size')
    match = _LENGTH.fullmatch(text)
    if not match:
        if "(" in text:
            scan.warn("unusual-unit", f"{name} {text}")
        return None
    value, unit = float(match.group(1)), match.group(2).lower()
    if not math.isfinite(value) or value <= 0:
        raise _bad_size(f'{name} "{text}" is not a size')
    if unit in ("", "px"):
        return _Axis(value, unit)
    if unit in _FONT_UNITS:
        if unit in ("ex", "ch"):
            scan.warn("unusual-unit", f"{name} {text}")
        return _Axis(value * font_px * _FONT_UNITS[unit], unit)
    if unit in _PX_PER_UNIT:
        return _Axis(value * _PX_PER_UNIT[unit], unit)
    if unit != "%":
        scan.warn("unusual-unit", f"{name} {text}")
    return None


def _source(across: _Axis | None, down: _Axis | None, px_per_inch: float | None) -> str:
    bare = f"bare px at {px_per_inch or PX_PER_INCH:g} per inch"
    if across is None or down is None:
        known, name = (across, "width") if across else (down, "height")
        assert known is not None
        return f"{name} in {bare if known.is_bare else _unit_name(known)}"
    if across.is_bare and down.is_bare:
        return bare
    if across.unit == down.unit:
        return f"width and height in {_unit_name(across)}"
    parts = [
        f"{name} in {bare if axis.is_bare else _unit_name(axis)}"
        for name, axis in (("width", across), ("height", down))
    ]
    return ", ".join(parts)


def _unit_name(axis: _Axis) -> str:
    return "Q" if axis.unit == "q" else axis.unit


def font_size_px(text: str | None) -> float:
    """Root font size in px, for em; the usual 16 where it is not a plain length."""
    match = _LENGTH.fullmatch(text.strip()) if text else None
    if not match:
        return DEFAULT_FONT_PX
    value, unit = float(match.group(1)), match.group(2).lower()
    if unit in ("", "px"):
        return value
    if unit == "%":
        return value / 100 * DEFAULT_FONT_PX
    if unit in _FONT_UNITS:
        return value * _FONT_UNITS[unit] * DEFAULT_FONT_PX
    return value * _PX_PER_UNIT.get(unit, 0.0) or DEFAULT_FONT_PX


def root_transform(
    transform: str | None, origin: str | None, page_px: tuple[float, float]
) -> str | None:
    """SVG transform about the origin (default: the page's center); None for none."""
    if transform is None or transform.strip().lower() in ("", "none"):
        return None
    text, at, functions = transform.strip(), 0, []
    while at < len(text):
        match = _FUNCTION.match(text, at)
        if not match:
            raise _bad_transform(transform)
        functions.append(_svg_function(match.group(1).lower(), match.group(2), page_px, transform))
        at = match.end()
    x, y = _origin(origin, page_px)
    return f"translate({x!r},{y!r}) {' '.join(functions)} translate({-x!r},{-y!r})"


def _svg_function(name: str, text: str, page_px: tuple[float, float], whole: str) -> str:
    parts = [part for part in re.split(r"\s*,\s*|\s+", text.strip()) if part]
    if len(parts) not in _ARGUMENTS.get(name, ()):
        raise _bad_transform(whole)
    if name in ("rotate", "rotatez", "skewx", "skewy"):
        values = [_angle_deg(parts[0], whole), *(_px(p, 0.0, whole) for p in parts[1:])]
    elif name.startswith("translate"):
        sides = page_px[::-1] if name == "translatey" else page_px
        values = [_px(part, side, whole) for part, side in zip(parts, sides, strict=False)]
    else:
        values = [_px(part, 1.0, whole) for part in parts]
    if name.endswith(("ex", "ey", "tez")) and not name.startswith("skew"):
        name, axis = name[:-1], name[-1]
        if axis == "y":
            values = [0.0 if name == "translate" else 1.0, *values]
        elif name == "scale":
            values = [*values, 1.0]
    name = {"skewx": "skewX", "skewy": "skewY"}.get(name, name)
    return f"{name}({','.join(map(repr, values))})"


def _angle_deg(text: str, whole: str) -> float:
    match = _LENGTH.fullmatch(text)
    factor = _DEGREES.get(match.group(2).lower()) if match else None
    if match is None or factor is None:
        raise _bad_transform(whole)
    return float(match.group(1)) * factor


def _px(text: str, whole_px: float, whole: str) -> float:
    """A number or length in px; % is of ``whole_px``."""
    match = _LENGTH.fullmatch(text)
    if not match:
        raise _bad_transform(whole)
    unit = match.group(2).lower()
    factor = {"": 1.0, "px": 1.0, "%": whole_px / 100, **_PX_PER_UNIT}.get(unit)
    value = float(match.group(1)) * factor if factor is not None else math.nan
    if not math.isfinite(value):
        raise _bad_transform(whole)
    return value


def _origin(text: str | None, page_px: tuple[float, float]) -> tuple[float, float]:
    width, height = page_px
    words = text.lower().split()[:2] if text and text.strip() else []
    if not words:
        return width / 2, height / 2
    if len(words) == 1:
        words.append("center")
        if words[0] in ("top", "bottom"):
            words.reverse()
    elif words[0] in ("top", "bottom") or words[1] in ("left", "right"):
        words.reverse()
    places = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
    x, y = (places.get(word, word) for word in words)
    shown = f"transform-origin {text}"
    return _px(x, width, shown), _px(y, height, shown)


def _bad_size(reason: str) -> ArtworkError:
    return ArtworkError(f"the page size is not usable: {reason}", code="bad-size")


def _bad_transform(text: str) -> ArtworkError:
    return ArtworkError(
        f'the transform of the whole drawing, "{text.strip()[:80]}", cannot be resolved',
        code="not-readable",
    )
