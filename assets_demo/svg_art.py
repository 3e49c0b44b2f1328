"""The demo drawings in SVG. Every outline that decides a size has a closed form.

The numbers that matter stand at the top of each function; ``tests/test_demo.py``
works out circles and verdicts from the same numbers, without reading the files.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

NAVY = "#16324f"
RED = "#c2432d"
TEAL = "#1f7a78"
SAND = "#d9a441"

Point = tuple[float, float]


def num(value: float) -> str:
    """A number with at most four decimals and no trailing zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def polygon(points: Iterable[Point]) -> str:
    """Path data of a closed polygon."""
    return "M" + "L".join(f"{num(x)} {num(y)}" for x, y in points) + "Z"


def polar(center: Point, radius: float, angle_deg: float) -> Point:
    """A point on a circle; the angle runs clockwise as seen from the right (y is down)."""
    angle = math.radians(angle_deg)
    return center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle)


def ring_sector(center: Point, outer: float, inner: float, start_deg: float, end_deg: float) -> str:
    """Path data of a piece of a ring, less than half a turn."""
    a, b = polar(center, outer, start_deg), polar(center, outer, end_deg)
    c, d = polar(center, inner, end_deg), polar(center, inner, start_deg)
    return (
        f"M{num(a[0])} {num(a[1])}A{num(outer)} {num(outer)} 0 0 1 {num(b[0])} {num(b[1])}"
        f"L{num(c[0])} {num(c[1])}A{num(inner)} {num(inner)} 0 0 0 {num(d[0])} {num(d[1])}Z"
    )


def wave(x0: float, x1: float, y: float, length: float, height: float) -> str:
    """Path data of a wavy line of quadratic curves, to be stroked."""
    halves = max(2, round((x1 - x0) / (length / 2)))
    step = (x1 - x0) / halves
    data = f"M{num(x0)} {num(y)}Q{num(x0 + step / 2)} {num(y - height)} {num(x0 + step)} {num(y)}"
    return data + "".join(f"T{num(x0 + step * (i + 1))} {num(y)}" for i in range(1, halves))


def path(data: str, fill: str, more: str = "") -> str:
    """A filled path element."""
    return f'<path d="{data}" fill="{fill}"{" " + more if more else ""}/>'


def line(data: str, stroke: str, width: float, cap: str = "round") -> str:
    """A stroked path element."""
    return (
        f'<path d="{data}" fill="none" stroke="{stroke}" stroke-width="{num(width)}" '
        f'stroke-linecap="{cap}" stroke-linejoin="round"/>'
    )


def disc(center: Point, radius: float, fill: str) -> str:
    """A filled circle element."""
    return f'<circle cx="{num(center[0])}" cy="{num(center[1])}" r="{num(radius)}" fill="{fill}"/>'


def hoop(center: Point, radius: float, stroke: str, width: float) -> str:
    """A stroked circle element; its outer radius is ``radius + width / 2``."""
    return (
        f'<circle cx="{num(center[0])}" cy="{num(center[1])}" r="{num(radius)}" fill="none" '
        f'stroke="{stroke}" stroke-width="{num(width)}"/>'
    )


def document(width_mm: float, height_mm: float, title: str, parts: Iterable[str]) -> str:
    """A page in millimeters, one unit of the drawing being one millimeter."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{num(width_mm)}mm" '
        f'height="{num(height_mm)}mm" viewBox="0 0 {num(width_mm)} {num(height_mm)}">\n'
        f"<title>{title}</title>\n" + "\n".join(parts) + "\n</svg>\n"
    )


def pennant() -> str:
    """A leaning spar buoy with a pennant.

    Three corners decide the circle; the longest diagonal runs from the tip to the
    round end, radius 0.9 mm, of the wave at the left.
    """
    finial, tip, keel = (48.13, 23.13), (110.71, 37.0), (68.4, 87.42)
    staff = [finial, (49.65, 25.6), (64.3, 72.0), (62.2, 72.7), (47.55, 26.3)]
    hoist = (
        "M51.4 27.4C57 22.8 63.5 22.6 69.8 26.2C68.6 33.4 69.8 40.6 72.6 47.2"
        "C67.4 44.4 62.6 45.2 58.4 49.6Z"
    )
    middle = (
        "M71.6 27.2C77.4 30.6 82.6 32.6 88 32.9C87.4 36.4 87.9 39.6 89.2 42.6"
        "C83.6 46.8 78.8 49.6 74.4 48.2C71.6 41.4 70.4 34.4 71.6 27.2Z"
    )
    fly = (
        f"M90 33C97.4 32.8 103.8 33.4 {num(tip[0])} {num(tip[1])}"
        "C103.4 36.6 97 38 91 41.4C89.8 38.6 89.4 35.8 90 33Z"
    )
    body = (
        f"M55.4 75.4L70.9 70.5C74.6 76.2 74.2 82.8 {num(keel[0])} {num(keel[1])}"
        "C61.4 85.4 56.4 81.4 55.4 75.4Z"
    )
    parts = [
        path(polygon(staff), NAVY),
        path(hoist, RED),
        path(middle, NAVY),
        path(fly, RED),
        path(body, NAVY),
        line(wave(78, 99, 70, 10.5, 4), TEAL, 1.8),
        line(wave(78, 92, 77, 9.3, 4), TEAL, 1.8),
        line(wave(46, 54.2, 70, 8.2, 4), TEAL, 1.8),
    ]
    return document(150, 100, "Club pennant", parts)


def compass_px() -> str:
    """A compass rose whose page is in bare px, so that its scale is an open question."""
    radius_px, center = 113.0, (130.0, 130.0)
    parts = [hoop(center, radius_px - 4, NAVY, 8), hoop(center, 88, NAVY, 2)]
    for index in range(32):
        a = polar(center, 93, index * 11.25)
        b = polar(center, 100 if index % 4 else 103, index * 11.25)
        parts.append(line(f"M{num(a[0])} {num(a[1])}L{num(b[0])} {num(b[1])}", NAVY, 2))
    for index in range(8):
        reach = 82 if index % 2 == 0 else 52
        turn = index * 45.0
        point = polar(center, reach, turn)
        for side, fill in ((-22.5, NAVY), (22.5, RED)):
            flank = polar(center, 20, turn + side)
            parts.append(path(polygon([center, point, flank]), fill))
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="260" height="260">\n'
        "<title>Compass rose</title>\n" + "\n".join(parts) + "\n</svg>\n"
    )


def life_ring_white() -> str:
    """A life ring on a white underbase that is wider than the colored ink."""
    center, white, outer, inner, white_inner = (50.0, 50.0), 39.0, 37.5, 21.0, 19.5
    parts = [hoop(center, (white + white_inner) / 2, "#ffffff", white - white_inner)]
    for index in range(4):
        middle = 45 + 90 * index
        parts.append(path(ring_sector(center, outer, inner, middle - 26, middle + 26), RED))
        a, b = middle + 30.0, middle + 60.0
        for radius in (outer - 0.6, inner + 0.6):
            p, q = polar(center, radius, a), polar(center, radius, b)
            parts.append(
                line(
                    f"M{num(p[0])} {num(p[1])}A{num(radius)} {num(radius)} 0 0 1 "
                    f"{num(q[0])} {num(q[1])}",
                    NAVY,
                    1.2,
                    "butt",
                )
            )
        knot = polar(center, 29.2, middle + 45)
        parts.append(disc(knot, 2.4, NAVY))
    return document(100, 100, "Life ring on white", parts)


def porthole_mask() -> str:
    """A porthole: the rim decides the size, the view is masked and clipped."""
    center, outer = (40.0, 40.0), 30.0
    bolts = [disc(polar(center, 26.6, 22.5 + 45 * i), 1.1, SAND) for i in range(8)]
    parts = [
        '<defs><clipPath id="glass"><circle cx="40" cy="40" r="21.5"/></clipPath>'
        '<mask id="haze" maskUnits="userSpaceOnUse" x="0" y="0" width="80" height="80">'
        '<path d="M0 0H80V27.4H0ZM0 28.6H80V30.6H0ZM0 31.8H80V33.4H0ZM0 34.6H80V40H0Z" '
        'fill="#ffffff"/></mask></defs>',
        hoop(center, outer - 3.4, NAVY, 6.8),
        *bolts,
        '<g clip-path="url(#glass)">',
        disc((49, 29.5), 5.5, SAND).replace("/>", ' mask="url(#haze)"/>'),
        line(wave(10, 70, 49, 11, 2.4), TEAL, 1.8),
        line(wave(7.25, 78, 53.2, 11, 2.4), TEAL, 1.8),
        line(wave(10, 70, 57.4, 11, 2.4), TEAL, 1.8),
        path("M27 42.5L46 42.5L43 46L30.5 46Z", NAVY),
        path("M35.6 41L35.6 22.5L25.5 41Z", RED),
        path("M37 41L37 26L45.5 41Z", NAVY),
        "</g>",
    ]
    return document(80, 80, "Porthole", parts)


def three_floats() -> str:
    """Three net floats: the longest diagonal is much less than the circle needs."""
    center, reach, radius = (50.0, 52.0), 28.0, 11.0
    parts = [hoop(center, 14.2, NAVY, 1.6), hoop(center, 12.2, NAVY, 0.6)]
    for index, fill in enumerate((RED, NAVY, TEAL)):
        middle = polar(center, reach, -90 + 120 * index)
        parts += [
            hoop(middle, radius - 0.75, NAVY, 1.5),
            disc(middle, radius - 2.7, fill),
        ]
    anchor = (
        "M50 44L50 60M46 48.2L54 48.2"
        "M43 54.5C43.6 58.6 46.4 60.4 50 60.8C53.6 60.4 56.4 58.6 57 54.5"
    )
    parts += [line(anchor, NAVY, 1.6), hoop((50, 42.2), 1.9, NAVY, 1.3)]
    return document(100, 100, "Three floats", parts)


def lure_side() -> str:
    """One side of a lure: its box is too big for the cup that its ink fits."""
    x0, x1, y, half = 11.0, 119.0, 15.0, 5.0
    outline = (
        f"M{num(x0)} {num(y)}Q65 {num(y - 2 * half)} {num(x1)} {num(y)}"
        f"Q65 {num(y + 2 * half)} {num(x0)} {num(y)}Z"
    )
    parts = [line(outline, NAVY, 2.0), hoop((26, 14.4), 1.3, RED, 0.8), disc((26, 14.4), 0.5, NAVY)]
    for index in range(14):
        x = 36 + 5.2 * index
        reach = 3.1 * (1 - ((x + 2 - 65) / 62) ** 2)
        parts.append(
            line(
                f"M{num(x)} {num(y - reach)}Q{num(x + 3.4)} {num(y)} {num(x)} {num(y + reach)}",
                TEAL,
                1.0,
            )
        )
    return document(130, 30, "Lure side", parts)


def mug_tile() -> str:
    """A square tile, 90 mm a side, with corners as sharp as its diagonal says."""
    x0, side, band = 10.0, 90.0, 3.0
    a, b = x0, x0 + side
    frame = (
        f"M{num(a)} {num(a)}H{num(b)}V{num(b)}H{num(a)}Z"
        f"M{num(a + band)} {num(a + band)}V{num(b - band)}H{num(b - band)}V{num(a + band)}Z"
    )
    middle = (55.0, 55.0)
    parts = [
        path(frame, NAVY),
        hoop(middle, 25, NAVY, 5),
        hoop(middle, 20, SAND, 1.2),
        disc(middle, 6, NAVY),
    ]
    for index in range(8):
        turn = 22.5 + 45 * index
        p, q = polar(middle, 7.5, turn), polar(middle, 35, turn)
        parts.append(line(f"M{num(p[0])} {num(p[1])}L{num(q[0])} {num(q[1])}", NAVY, 2.6))
        parts.append(disc(polar(middle, 35, turn), 2.6, RED))
    for x, y in ((20, 20), (90, 20), (90, 90), (20, 90)):
        parts.append(path(polygon([(x - 5, y), (x, y - 5), (x + 5, y), (x, y + 5)]), TEAL))
    return document(110, 110, "Mug tile", parts)


def anchor_speck() -> str:
    """A round anchor mark, and a speck of dust 0.3 mm wide that decides the circle."""
    center, outer, speck_at, speck = (32.0, 38.0), 24.0, (54.4, 21.2), 0.15
    parts = [
        hoop(center, outer - 1.25, NAVY, 2.5),
        hoop((32, 24.2), 2.6, RED, 1.8),
        line("M32 27.6L32 53.4M26 31.6L38 31.6", RED, 2.4),
        line("M19.5 42.5C20.5 50 25.5 53.6 32 54.2C38.5 53.6 43.5 50 44.5 42.5", RED, 2.4),
        path("M16.6 45.6L19.2 38.6L23.4 44.6Z", RED),
        path("M47.4 45.6L44.8 38.6L40.6 44.6Z", RED),
        disc(speck_at, speck, NAVY),
    ]
    return document(70, 70, "Anchor mark with a speck", parts)


def oars_over_edge() -> str:
    """Crossed bars and a burgee in a frame that runs over the right page edge."""
    x0, y0, width, height, band = 10.0, 20.0, 76.0, 20.0, 1.6
    x1, y1 = x0 + width, y0 + height
    frame = (
        f"M{num(x0)} {num(y0)}H{num(x1)}V{num(y1)}H{num(x0)}Z"
        f"M{num(x0 + band)} {num(y0 + band)}V{num(y1 - band)}H{num(x1 - band)}V{num(y0 + band)}Z"
    )
    parts = [
        path(frame, NAVY),
        path("M15 24.5L33 30L15 35.5L20 30Z", RED),
        line("M38 34.6L70 25.6", NAVY, 1.4),
        line("M38 25.4L70 34.4", NAVY, 1.4),
        path("M66 25.2L75.5 22.9C77.3 24.4 77.3 26 76 26.9L67.2 28.2Z", TEAL),
        path("M66 34.8L75.5 37.1C77.3 35.6 77.3 34 76 33.1L67.2 31.8Z", TEAL),
    ]
    return document(80, 60, "Crossed oars, over the edge", parts)
