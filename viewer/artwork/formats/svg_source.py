"""Bytes of an SVG -> a safe document that can be nested in any new root.

Pure: no file is opened and no reference is followed.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass

from viewer.artwork.formats.placed_marks import (
    MARKS_CHANGED,
    MARKS_LEFT_OUT,
    WithoutMarks,
    acts_on_marks,
    split_marks,
)
from viewer.artwork.formats.placed_picture import PictureRule, read_picture_sheet
from viewer.artwork.formats.svg_clean import SVG_NS, XLINK_NS, CleanSvg, clean_svg, escape
from viewer.artwork.formats.svg_css import ROOT_CLASS, RootStyle, resolve_styles
from viewer.artwork.formats.svg_root import (
    PageSize,
    ViewBox,
    font_size_px,
    page_size,
    parse_aspect,
    parse_view_box,
    root_transform,
)
from viewer.artwork.model import ArtworkWarning
from viewer.errors import ArtworkError

MAX_INFLATED_BYTES = 64 * 1024 * 1024

REPLACED_ATTRIBUTES = frozenset(
    [
        "width",
        "height",
        "x",
        "y",
        "viewBox",
        "preserveAspectRatio",
        "transform",
        "transform-origin",
        "overflow",
        "version",
        "baseProfile",
        "zoomAndPan",
        "style",
    ]
)


@dataclass(frozen=True)
class SvgSource:
    """A cleaned SVG whose page lies with its top-left corner at (0, 0), in CSS px.

    ``inner`` is to be placed in an outer ``<svg>`` in page px. ``page_mm`` None: the
    file holds no physical size. ``units_per_px`` is user units per page px, and
    ``max_abs_coordinate_px`` the largest absolute coordinate found, both for what
    the renderers' float32 may lose.
    """

    inner: str
    page_px: tuple[float, float]
    page_mm: tuple[float, float] | None
    scale_source: str
    bare_px: bool
    viewbox: ViewBox | None
    units_per_px: float
    max_abs_coordinate_px: float
    warnings: tuple[ArtworkWarning, ...]
    element_count: int
    root: RootParts
    plain: bytes = b""
    """The file's own bytes, inflated and without the layer of marks."""
    picture: PictureRule | None = None
    """On a sheet of ours with one picture: how that was measured."""


@dataclass(frozen=True)
class RootParts:
    """What the old root becomes when it is nested (see `SvgSource.inner`)."""

    attributes: dict[str, str]
    transform: str | None
    sheets: tuple[str, ...]
    """Style sheets as they are in ``inner``."""
    is_styled: bool
    """Whether CSS sizes, moves or clips the root: then its sheets cannot stay as they are."""


def read_svg(data: bytes, px_per_inch: float | None) -> SvgSource:
    """Clean ``data`` (SVG or SVGZ); ``px_per_inch`` None: bare px are 96 per inch.

    A layer of marks on a placed sheet is left out if it is exactly as it was written.
    ArtworkError with a code for whatever cannot be read or would never end.
    """
    whole = plain_bytes(data)
    split = split_marks(whole)
    clean = clean_svg(split.data)
    sheets = tuple(clean.parts[index] for index in clean.styles)
    if split.layer_id and acts_on_marks(split.layer_id, "".join(clean.parts), sheets):
        split = WithoutMarks(whole, is_changed=True)
        clean = clean_svg(whole)
    picture = read_picture_sheet(split.data)
    root = clean.root
    css = _styles(clean)
    clean.scan.combinations()
    view_box = parse_view_box(root.get("viewBox"))
    font_px = font_size_px(css.values.get("font-size", root.get("font-size")))
    page = page_size(
        _root_value("width", css, root),
        _root_value("height", css, root),
        view_box,
        px_per_inch,
        font_px,
        clean.scan,
    )
    transform = root_transform(
        _root_value("transform", css, root), _root_value("transform-origin", css, root), page.px
    )
    if transform:
        clean.scan.warn("root-transform")
    aspect = parse_aspect(root.get("preserveAspectRatio"))
    units_per_px = _units_per_px(view_box, aspect, page.px)
    attributes = _root_attributes(clean, css, page, view_box, aspect)
    return SvgSource(
        inner=_inner(clean, attributes, transform),
        page_px=page.px,
        page_mm=page.mm,
        scale_source=page.source,
        bare_px=page.is_bare,
        viewbox=view_box,
        units_per_px=units_per_px,
        max_abs_coordinate_px=_max_abs_px(view_box, page.px, units_per_px, clean.scan.largest),
        warnings=(*clean.scan.warnings, *_placed_warnings(split, picture)),
        element_count=clean.element_count,
        root=RootParts(attributes, transform, tuple(css.sheets), bool(css.values)),
        plain=split.data,
        picture=picture,
    )


def _placed_warnings(
    split: WithoutMarks, picture: PictureRule | None
) -> tuple[ArtworkWarning, ...]:
    own = () if picture is None else picture.warnings()
    if split.is_changed:
        return (MARKS_CHANGED, *own)
    return (MARKS_LEFT_OUT, *own) if split.layer_id else own


def plain_bytes(data: bytes) -> bytes:
    """``data`` inflated if it is gzip; leading blanks, which XML forbids, removed."""
    if data[:2] == b"\x1f\x8b":
        inflater = zlib.decompressobj(31)
        try:
            data = inflater.decompress(data, MAX_INFLATED_BYTES + 1)
        except zlib.error as error:
            raise ArtworkError(
                f"the compressed file is damaged: {error}", code="not-readable"
            ) from None
        if len(data) > MAX_INFLATED_BYTES:
            raise ArtworkError("the compressed file grows beyond 64 MB", code="too-large")
        if not inflater.eof:
            raise ArtworkError("the compressed file is cut short", code="not-readable")
    if not data.strip():
        raise ArtworkError("the file is empty", code="not-readable")
    if data[:1] in b" \t\r\n" and data[1:2] != b"\x00":
        data = data.lstrip()
    return data


def _styles(clean: CleanSvg) -> RootStyle:
    if not clean.styles and not clean.root.get("style"):
        return RootStyle({}, "", [])
    css = resolve_styles(
        [clean.parts[index] for index in clean.styles],
        clean.root,
        clean.classes,
        clean.scan,
        has_nested_svg=clean.has_nested_svg,
    )
    for index, sheet in zip(clean.styles, css.sheets, strict=True):
        clean.parts[index] = escape(sheet)
    return css


def _root_value(name: str, css: RootStyle, root: dict[str, str]) -> str | None:
    """CSS wins over the attribute, as presentation attributes have no specificity."""
    return css.values.get(name, root.get(name))


def _root_attributes(
    clean: CleanSvg,
    css: RootStyle,
    page: PageSize,
    view_box: ViewBox | None,
    aspect: str | None,
) -> dict[str, str]:
    attributes = {
        "x": "0",
        "y": "0",
        "width": f"{page.px[0]!r}px",
        "height": f"{page.px[1]!r}px",
        "overflow": "visible",
    }
    if view_box:
        attributes["viewBox"] = " ".join(map(repr, view_box))
        if aspect:
            attributes["preserveAspectRatio"] = aspect
    attributes |= {k: v for k, v in clean.root.items() if k not in REPLACED_ATTRIBUTES}
    if css.style:
        attributes["style"] = css.style
    if any(ROOT_CLASS in sheet for sheet in css.sheets):
        attributes["class"] = f"{attributes.get('class', '')} {ROOT_CLASS}".strip()
    return attributes


def _inner(clean: CleanSvg, attributes: dict[str, str], transform: str | None) -> str:
    written = "".join(f' {name}="{escape(value)}"' for name, value in attributes.items())
    body = "".join(clean.parts)
    spaces = f'xmlns="{SVG_NS}" xmlns:xlink="{XLINK_NS}"'
    nested = f"<svg {spaces}{written}>{body}</svg>"
    return f'<g xmlns="{SVG_NS}" transform="{transform}">{nested}</g>' if transform else nested


def _units_per_px(
    view_box: ViewBox | None, aspect: str | None, page_px: tuple[float, float]
) -> float:
    """User units per page px along the side where they are largest (finest detail)."""
    if view_box is None:
        return 1.0
    across, down = view_box[2] / page_px[0], view_box[3] / page_px[1]
    return min(across, down) if aspect and aspect.endswith(("slice", "none")) else max(across, down)


def _max_abs_px(
    view_box: ViewBox | None, page_px: tuple[float, float], units_per_px: float, largest: float
) -> float:
    """Largest absolute coordinate in px before the viewBox moves it to the page."""
    extent = max(page_px)
    if view_box:
        x, y, width, height = view_box
        extent = max(abs(x), abs(y), abs(x + width), abs(y + height)) / units_per_px
    return max(extent, largest / units_per_px)
