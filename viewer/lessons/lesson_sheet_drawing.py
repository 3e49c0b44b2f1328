"""The drawings of a lesson's sheet: artwork in gray, ring and margin, and the construction.

A panel is one scene with the steps that are drawn on it; a construction that starts over
gets another one. What is drawn lies in the page frame of the artwork, and comes onto the
paper at one scale, lines and letters as they are. Mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from viewer.artwork.model import Points
from viewer.geometry import Affine, Bounds
from viewer.geometry.measures import polygon_area
from viewer.lessons.lesson import Scene, Step
from viewer.lessons.lesson_sheet_labels import (
    Label,
    Place,
    about_point,
    beside_segment,
    inside,
    label_items,
    round_circle,
)
from viewer.lessons.marks import Area, Dot, Mark, RightAngle, Ring, Segment
from viewer.press import Margin
from viewer.press.outlines import etch_outline_mm, on_page_mm, pad_outline_mm
from viewer.sheets.cup_drawing import ETCH, KEPT_FREE, PAD, ring_items
from viewer.sheets.draw_list import Group, Item, Path, Stroke, circle, line, lines, polygon
from viewer.sheets.text_flow import Measure

AIR_MM = 5.5
"""Round a drawing, on the paper, for words."""
INK_GRAY = 0.86
INK = Stroke(0.15, 0.45)
_AREA_GRAY = 0.72
_AREA_LINE = Stroke(0.25)
_LINE = Stroke(0.35)
_DASHED = Stroke(0.3, 0.0, (2.4, 1.0))
_SIZE = Stroke(0.25)
_TICK_MM = 1.5
_ARROW_MM = 2.4
_CORNER_MM = 2.6
_DOT_MM = 1.5
_SEEN_EVERY_MM = 0.6
_CIRCLE_STEPS = 180


@dataclass(frozen=True)
class Panel:
    """``steps``: numbers of steps from 1, each with what it draws; 0 without a number.

    ``scene`` None: the construction alone. ``box``: of all of it.
    """

    scene: Scene | None
    steps: tuple[tuple[int, tuple[Mark, ...]], ...]
    box: Bounds

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All that the steps draw."""
        return tuple(mark for _number, marks in self.steps for mark in marks)

    def size_mm(self, scale: float) -> tuple[float, float]:
        """On the paper, with the air for words."""
        return self.box.width * scale + 2.0 * AIR_MM, self.box.height * scale + 2.0 * AIR_MM

    @property
    def name(self) -> str:
        """What the scene is called where there are several."""
        return "" if self.scene is None else self.scene.name


_Steps = tuple[tuple[int, tuple[Mark, ...]], ...]


def panels_of(scenes: Sequence[Scene], steps: Sequence[Step]) -> tuple[Panel, ...]:
    """The drawings that show all scenes and all of the construction, in its order."""
    runs: list[dict[int, list[tuple[int, tuple[Mark, ...]]]]] = [{}]
    for number, step in enumerate(steps, 1):
        if step.starts_over:
            runs.append({})
        if step.marks:
            runs[-1].setdefault(step.scene, []).append((number, step.marks))
    found = [(scene, tuple(drawn)) for run in runs for scene, drawn in run.items()]
    seen = {scene for scene, _drawn in found}
    bare: list[tuple[int, _Steps]] = [(n, ()) for n in range(len(scenes)) if n not in seen]
    # Bare scenes first: they are what the others begin from.
    return tuple(_panel(scenes[scene], drawn) for scene, drawn in (*bare, *found))


def chief_panels(panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """One of each scene: that with most steps, the later one of two."""
    best: dict[int, Panel] = {}
    for panel in panels:
        other = best.get(id(panel.scene))
        if other is None or len(panel.steps) >= len(other.steps):
            best[id(panel.scene)] = panel
    return tuple(panel for panel in panels if panel is best[id(panel.scene)])


def sketch_of(marks: tuple[Mark, ...]) -> Panel:
    """A construction without artwork and cup."""
    return _panel(None, ((0, marks),))


def _panel(scene: Scene | None, steps: _Steps) -> Panel:
    points = [_points_of(mark) for _number, drawn in steps for mark in drawn]
    if scene is not None:
        points += [_ring_points(*_ring_of(scene)), *_ink_of(scene)]
        points += [outline for outline, _stroke in _press_outlines(scene)]
    every = np.concatenate(points)
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    return Panel(scene, steps, Bounds(float(x0), float(y0), float(x1), float(y1)))


def panel_items(panel: Panel, at: tuple[float, float], scale: float, measure: Measure) -> Group:
    """A panel with its top left corner there, air included."""
    box = panel.box
    to_paper = Affine.translate(-box.x0, -box.y0).then(Affine.scale(scale))
    to_paper = to_paper.then(Affine.translate(AIR_MM, AIR_MM))
    width, height = panel.size_mm(scale)
    items: list[Item] = []
    items += _filled(panel, to_paper)
    if panel.scene is not None:
        items += _press(panel.scene, to_paper, scale)
    for mark in panel.marks:
        items += _drawn(mark, to_paper, scale)
    edge = Bounds(0.3, 0.3, width - 0.3, height - 0.3)
    labels = tuple(_labels(panel, to_paper, scale))
    items += label_items(labels, _seen(panel, to_paper), edge, measure)
    return Group(tuple(items), Affine.translate(*at))


# --- the scene --------------------------------------------------------------------------


def _ink_of(scene: Scene) -> tuple[Points, ...]:
    """The parts, or of a file the line round its outermost ink."""
    return scene.parts or (scene.artwork.outline.hull_mm,)


def _ring_of(scene: Scene) -> tuple[tuple[float, float], float]:
    """Where the ring is drawn, at the best placement, and its outer radius."""
    cup_fit = scene.cup_fit
    return cup_fit.best.center_mm, cup_fit.cup.ring_outer_diameter_mm / 2.0


def _press(scene: Scene, to_paper: Affine, scale: float) -> Iterator[Item]:
    """Ring and image circle, pad and etch area."""
    cup = scene.cup_fit.cup
    margin = cup.margin if cup.margin.is_fraction else Margin(cup.margin.value * scale, False)
    drawn = replace(
        cup,
        diameter_mm=cup.diameter_mm * scale,
        ring_width_mm=cup.ring_width_mm * scale,
        margin=margin,
    )
    center, _radius = _ring_of(scene)
    yield Group(tuple(ring_items(drawn)), Affine.translate(*_at(center, to_paper)))
    for outline, stroke in _press_outlines(scene):
        yield polygon(to_paper.map_points(outline), stroke)


def _press_outlines(scene: Scene) -> Iterator[tuple[Points, Stroke]]:
    """On the page of the artwork, against which they may be turned."""
    best, limits = scene.cup_fit.best, scene.press.limits
    found: list[tuple[Points, Stroke]] = []
    if limits.pad is not None:
        found.append((pad_outline_mm(limits.pad), PAD))
        if limits.pad.margin_mm:
            found.append((pad_outline_mm(limits.pad, limits.pad.margin_mm), KEPT_FREE))
    if limits.etch is not None:
        found.append((etch_outline_mm(limits.etch), ETCH))
        if limits.etch.margin_mm:
            found.append((etch_outline_mm(limits.etch, limits.etch.margin_mm), KEPT_FREE))
    for outline, stroke in found:
        yield on_page_mm(outline, best.center_mm, best.turn_deg), stroke


# --- the construction -------------------------------------------------------------------


def _filled(panel: Panel, to_paper: Affine) -> Iterator[Path]:
    """Ink and areas, the larger ones below, and then all their edges."""
    shapes: list[tuple[list[Points], Stroke, float]] = []
    if panel.scene is not None:
        ink = [to_paper.map_points(part) for part in _ink_of(panel.scene)]
        shapes.append((ink, INK, INK_GRAY))
    for mark in panel.marks:
        if isinstance(mark, Area):
            corners = to_paper.map_points(np.array(mark.corners))
            shapes.append(([corners], _AREA_LINE, _AREA_GRAY))
    for parts, _stroke, gray in sorted(shapes, key=lambda shape: -_extent(shape[0])):
        # One path: a part that lies within another is a hole in it.
        yield Path(tuple(step for part in parts for step in polygon(part).steps), None, gray)
    for parts, stroke, _gray in shapes:
        yield from (polygon(part, stroke) for part in parts)


def _extent(parts: Sequence[Points]) -> float:
    return max(abs(polygon_area(part)) for part in parts)


def _drawn(mark: Mark, to_paper: Affine, scale: float) -> Iterator[Path]:
    if isinstance(mark, Segment):
        yield from _segment(_at(mark.a, to_paper), _at(mark.b, to_paper), mark.style)
    elif isinstance(mark, Ring):
        stroke = _DASHED if mark.style == "dashed" else _LINE
        yield circle(_at(mark.center, to_paper), 2.0 * mark.radius_mm * scale, stroke)
    elif isinstance(mark, Dot):
        yield circle(_at(mark.at, to_paper), _DOT_MM, None, 0.0)
    elif isinstance(mark, RightAngle):
        yield _right_angle(mark, to_paper)


def _segment(a: tuple[float, float], b: tuple[float, float], style: str) -> Iterator[Path]:
    stroke = {"dashed": _DASHED, "size": _SIZE}.get(style, _LINE)
    ux, uy = _direction(a, b)
    if style == "arrow":
        base = (b[0] - _ARROW_MM * ux, b[1] - _ARROW_MM * uy)
        yield line(*a, *base, stroke)
        side = (-0.35 * _ARROW_MM * uy, 0.35 * _ARROW_MM * ux)
        tips = ((base[0] + s * side[0], base[1] + s * side[1]) for s in (1, -1))
        yield polygon((b, *tips), None, 0.0)
        return
    yield line(*a, *b, stroke)
    if style == "size":
        tick = (-_TICK_MM * uy, _TICK_MM * ux)
        ends = ((x - tick[0], y - tick[1], x + tick[0], y + tick[1]) for x, y in (a, b))
        yield lines(ends, stroke)


def _right_angle(mark: RightAngle, to_paper: Affine) -> Path:
    corner = _at(mark.corner, to_paper)
    ways = [_direction(corner, _at(way, to_paper)) for way in (mark.one, mark.other)]
    (ax, ay), (bx, by) = ((_CORNER_MM * x, _CORNER_MM * y) for x, y in ways)
    x, y = corner
    steps = (
        ("M", (x + ax, y + ay)),
        ("L", (x + ax + bx, y + ay + by)),
        ("L", (x + bx, y + by)),
    )
    return Path(steps, _SIZE)


def _labels(panel: Panel, to_paper: Affine, scale: float) -> Iterator[Label]:
    """Every label, and for each step its number, before its first words if it has any."""
    for number, marks in panel.steps:
        labels = [getattr(mark, "label", "") for mark in marks]
        # Not before a number, which would be read as one with it.
        carrier = next((n for n, text in enumerate(labels) if text and not text.isdigit()), -1)
        if number and carrier < 0:
            # Apart from the number of a dot, as well.
            places = _places(marks[0], to_paper, scale)
            yield Label("", number, places[len(places) // 2 :] if labels[0] else places)
        for index, (mark, text) in enumerate(zip(marks, labels, strict=True)):
            if text:
                places = _places(mark, to_paper, scale)
                yield Label(text, number if index == carrier else 0, places)


def _places(mark: Mark, to_paper: Affine, scale: float) -> tuple[Place, ...]:
    if isinstance(mark, Segment):
        return beside_segment(_at(mark.a, to_paper), _at(mark.b, to_paper))
    if isinstance(mark, Ring):
        return round_circle(_at(mark.center, to_paper), mark.radius_mm * scale)
    if isinstance(mark, Area):
        return inside(to_paper.map_points(np.array(mark.corners)))
    return about_point(_at(mark.at if isinstance(mark, Dot) else mark.corner, to_paper))


# --- points -----------------------------------------------------------------------------


def _at(point: tuple[float, float], to_paper: Affine) -> tuple[float, float]:
    ((x, y),) = to_paper.map_points([point])
    return float(x), float(y)


def _direction(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length) if length > 1e-9 else (1.0, 0.0)


def _ring_points(center: tuple[float, float], radius: float) -> Points:
    angles = np.arange(_CIRCLE_STEPS) * (2.0 * math.pi / _CIRCLE_STEPS)
    return np.stack([np.cos(angles), np.sin(angles)], axis=1) * radius + center


def _points_of(mark: Mark) -> Points:
    if isinstance(mark, Segment):
        return np.array([mark.a, mark.b])
    if isinstance(mark, Ring):
        return _ring_points(mark.center, mark.radius_mm)
    if isinstance(mark, Area):
        return np.array(mark.corners)
    return np.array([mark.at if isinstance(mark, Dot) else mark.corner])


def _seen(panel: Panel, to_paper: Affine) -> Points:
    """Points all along what is drawn, on the paper."""
    chains: list[Points] = []
    if panel.scene is not None:
        cup, (center, outer) = panel.scene.cup_fit.cup, _ring_of(panel.scene)
        radii = {outer, cup.ring_inner_diameter_mm / 2.0, cup.max_image_diameter_mm / 2.0}
        chains += _closed(_ink_of(panel.scene))
        chains += _closed(outline for outline, _stroke in _press_outlines(panel.scene))
        chains += _closed(_ring_points(center, radius) for radius in sorted(radii))
    for mark in panel.marks:
        points = _points_of(mark)
        # The middle of an area is of no more worth than its edge.
        chains += _closed([points]) if isinstance(mark, (Area, Ring)) else [points]
    return np.concatenate([_dense(to_paper.map_points(chain)) for chain in chains])


def _closed(chains: Iterable[Points]) -> list[Points]:
    return [np.concatenate([chain, chain[:1]]) for chain in chains]


def _dense(chain: Points) -> Points:
    pieces = [chain[:1]]
    for a, b in pairwise(chain):
        count = max(1, math.ceil(float(np.hypot(*(b - a))) / _SEEN_EVERY_MM))
        parts = np.arange(1, count + 1)[:, None] / count
        pieces.append(a + parts * (b - a))
    return np.concatenate(pieces)
