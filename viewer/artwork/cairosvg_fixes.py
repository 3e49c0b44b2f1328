"""Shapes that CairoSVG draws a little wrong, drawn right. Renderer process only.

CairoSVG 2.9 swaps the control points of a rounded rectangle's corners, which takes up
to 7 % of the radius off each corner: less than a coarse pixel on small corners, so the
comparison with the other renderer would not always see it.
"""

from __future__ import annotations

import math
from typing import Any


def apply_fixes() -> None:
    """Replace the faulty functions in CairoSVG's table of elements."""
    from cairosvg import surface

    surface.TAGS["rect"] = _rounded_rect


def _rounded_rect(surface: Any, node: Any) -> None:
    from cairosvg.helpers import size

    x, y = size(surface, node.get("x"), "x"), size(surface, node.get("y"), "y")
    width = size(surface, node.get("width"), "x")
    height = size(surface, node.get("height"), "y")
    raw_x, raw_y = _radius(node.get("rx")), _radius(node.get("ry"))
    rx = size(surface, raw_x if raw_x is not None else raw_y, "x")
    ry = size(surface, raw_y if raw_y is not None else raw_x, "y")
    if width <= 0 or height <= 0:
        return
    rx, ry = min(rx, width / 2.0), min(ry, height / 2.0)
    context = surface.context
    if rx <= 0 or ry <= 0:
        context.rectangle(x, y, width, height)
        return
    context.new_path()
    corners = (
        (x + width - rx, y + ry, -0.5),
        (x + width - rx, y + height - ry, 0.0),
        (x + rx, y + height - ry, 0.5),
        (x + rx, y + ry, 1.0),
    )
    for center_x, center_y, start in corners:
        context.save()
        context.translate(center_x, center_y)
        context.scale(rx, ry)
        context.arc(0.0, 0.0, 1.0, start * math.pi, (start + 0.5) * math.pi)
        context.restore()
    context.close_path()


def _radius(value: str | None) -> str | None:
    return None if value in (None, "", "auto") else value
