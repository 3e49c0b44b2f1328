"""The busiest demo drawing: a harbor badge of about 300 paths."""

from __future__ import annotations

import math

from svg_art import NAVY, RED, SAND, TEAL, document, line, num, path, polygon, wave

CENTER = (45.0, 32.5)


def _on_ellipse(rx: float, ry: float, angle: float) -> tuple[float, float]:
    return CENTER[0] + rx * math.cos(angle), CENTER[1] + ry * math.sin(angle)


def _rope(strands: int) -> list[str]:
    """Slanted strands between two ellipses."""
    parts = []
    step = 2 * math.pi / strands
    for index in range(strands):
        a = index * step
        corners = [
            _on_ellipse(35.1, 25.1, a),
            _on_ellipse(35.1, 25.1, a + 0.55 * step),
            _on_ellipse(32.9, 22.9, a + 1.35 * step),
            _on_ellipse(32.9, 22.9, a + 0.80 * step),
        ]
        parts.append(path(polygon(corners), SAND if index % 2 else NAVY))
    return parts


def _house(x: float, width: float, top: float, fill: str) -> list[str]:
    base, roof = 37.0, top - width * 0.45
    outline = [(x, base), (x, top), (x + width / 2, roof), (x + width, top), (x + width, base)]
    parts = [path(polygon(outline), fill)]
    columns = max(1, round(width / 2.2))
    for row in range(int((base - top - 0.6) // 2.4)):
        for column in range(columns):
            left = x + (column + 0.5) * width / columns - 0.45
            low = top + 0.7 + 2.4 * row
            box = [(left, low), (left + 0.9, low), (left + 0.9, low + 1.3), (left, low + 1.3)]
            parts.append(path(polygon(box), SAND))
    return parts


def _boat(x: float, scale: float, fill: str) -> list[str]:
    def at(dx: float, dy: float) -> tuple[float, float]:
        return x + dx * scale, 43.2 + dy * scale

    return [
        path(polygon([at(-3, 0), at(3.4, 0), at(2.2, 1.7), at(-2.2, 1.7)]), NAVY),
        path(polygon([at(-0.25, -0.5), at(-0.25, -7), at(-2.8, -0.5)]), fill),
        path(polygon([at(0.25, -0.5), at(0.25, -6), at(2.6, -0.5)]), TEAL),
    ]


def _gull(x: float, y: float, size: float) -> str:
    return line(
        f"M{num(x - size)} {num(y)}Q{num(x - size / 2)} {num(y - size * 0.7)} {num(x)} {num(y)}"
        f"Q{num(x + size / 2)} {num(y - size * 0.7)} {num(x + size)} {num(y)}",
        NAVY,
        0.45,
    )


def _sun() -> list[str]:
    parts = []
    middle = (45.0, 24.0)
    for index in range(25):
        a = math.pi + math.pi * index / 24
        tip, wide = (7.8 if index % 2 else 9.6), 0.035
        corners = [
            (middle[0] + 5.2 * math.cos(a - wide), middle[1] + 5.2 * math.sin(a - wide)),
            (middle[0] + tip * math.cos(a), middle[1] + tip * math.sin(a)),
            (middle[0] + 5.2 * math.cos(a + wide), middle[1] + 5.2 * math.sin(a + wide)),
        ]
        parts.append(path(polygon(corners), SAND))
    parts.append(path("M40.6 24A4.4 4.4 0 0 1 49.4 24Z", SAND))
    return parts


def harbour_badge() -> str:
    """An oval badge; the ring around it, 2 mm wide, is 76 mm long outside."""
    rx, ry, band = 37.0, 27.0, 2.0
    ring = (
        f"M{num(CENTER[0] - rx)} {num(CENTER[1])}"
        f"A{num(rx)} {num(ry)} 0 1 1 {num(CENTER[0] + rx)} {num(CENTER[1])}"
        f"A{num(rx)} {num(ry)} 0 1 1 {num(CENTER[0] - rx)} {num(CENTER[1])}Z"
    )
    parts = [line(ring, NAVY, band), *_rope(188), *_sun()]
    houses = [(19.5, 5.4, 28.5, NAVY), (25.5, 4.2, 31.0, TEAL), (30.3, 6.4, 27.0, RED)]
    houses += [(53.2, 6.2, 28.0, TEAL), (60.0, 4.4, 30.5, RED), (65.0, 5.2, 28.5, NAVY)]
    for x, width, top, fill in houses:
        parts += _house(x, width, top, fill)
    light = [(43.6, 37), (44.1, 25.6), (45.9, 25.6), (46.4, 37)]
    parts += [path(polygon(light), RED), path(polygon([(43.5, 25), (46.5, 25), (45, 22.4)]), NAVY)]
    for x, scale, fill in (
        (28.0, 0.62, RED),
        (38.5, 0.5, SAND),
        (52.0, 0.66, RED),
        (62.5, 0.55, SAND),
    ):
        parts += _boat(x, scale, fill)
    for row in range(4):
        y, half = 46.6 + 2.1 * row, (24.0, 21.0, 17.0, 11.5)[row]
        pieces = (7, 6, 5, 3)[row]
        width = 2 * half / pieces
        for piece in range(pieces):
            x = CENTER[0] - half + piece * width
            parts.append(line(wave(x + 0.6, x + width - 0.6, y, 2.9, 1.3), TEAL, 0.6))
    for x, y, size in (
        (30, 18.5, 2),
        (35, 15, 1.4),
        (56, 14.5, 1.6),
        (60.5, 18.5, 2.1),
        (66, 22.5, 1.3),
    ):
        parts.append(_gull(x, y, size))
    parts.append(line("M18.5 37.6L71.5 37.6", NAVY, 1.0, "butt"))
    return document(90, 65, "Harbour badge", parts)
