"""What moves over the artwork: cups, ring, hatch, knob, travel arrow, points, call-out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pygame

from viewer.fit import PlacedFit, circle_points, deciding_points
from viewer.geometry import bounds_of
from viewer.geometry.types import Bounds
from viewer.press.outlines import etch_outline_mm, on_page_mm, pad_outline_mm, turned
from viewer.screen import theme
from viewer.screen.area_lines import AreaPainter, outlines_of
from viewer.screen.callout import callout_box, draw_callout
from viewer.screen.camera import Camera
from viewer.screen.highlight import Highlight, Inside
from viewer.screen.layout import Layout
from viewer.screen.lesson_shown import LessonShown
from viewer.screen.model import Session
from viewer.screen.outlines import OutlinePainter, shown_shift_mm
from viewer.screen.pixels import PREMULTIPLIED
from viewer.screen.ring import DottedCircles, RingPainter, RingSize, disc
from viewer.screen.shapes import line, polygon, rounded
from viewer.screen.text import Texts
from viewer.screen.theme import Rgb
from viewer.screen.wording import Callout, callout_for

Pixel = tuple[int, int]
PILL_ANGLES_DEG = (128, 112, 145, 98, 160, 60, 45, 30, 75, 175, 195, 215, 235, 300, 330)
KNOB_REACH_PX = 37
FARTHEST_PX = 100_000_000


@dataclass(frozen=True)
class OverlayPlace:
    """Where the cup stands in the window: px, and the overlay's turn."""

    center: Pixel
    px_per_mm: float
    overlay_turn_deg: float
    ring: RingSize

    def at(self, session: Session, point_mm: tuple[float, float]) -> Pixel:
        """Where a page point is, to a pixel."""
        x, y = session.placement.center_mm
        return (
            self.center[0] + round((point_mm[0] - x) * self.px_per_mm),
            self.center[1] + round((point_mm[1] - y) * self.px_per_mm),
        )

    def toward(self, angle_deg: float, distance_px: float) -> tuple[float, float]:
        """A point from the center; 0 is to the right, counter-clockwise as seen."""
        angle = math.radians(angle_deg)
        return (
            self.center[0] + distance_px * math.cos(angle),
            self.center[1] - distance_px * math.sin(angle),
        )


def overlay_place(session: Session, camera: Camera, layout: Layout) -> OverlayPlace:
    """The chosen cup's place in the window."""
    x, y = camera.snapped(*session.placement.center_mm)
    cup, scale = session.cup, camera.px_per_mm
    ring = RingSize(
        cup.max_image_diameter_mm / 2 * scale,
        cup.ring_inner_diameter_mm / 2 * scale,
        cup.ring_outer_diameter_mm / 2 * scale,
        max(1.6, 2.0 * layout.ui),
    )
    # A cup that is very far away is drawn as far away as the window can count.
    x, y = (max(-FARTHEST_PX, min(FARTHEST_PX, value)) for value in (x, y))
    center = (layout.view.x + x, layout.view.y + y)
    return OverlayPlace(center, scale, -session.placement.turn_deg, ring)


def knob_px(place: OverlayPlace, layout: Layout) -> Pixel:
    """Where the knob is that turns the cup."""
    x, y = place.toward(90 + place.overlay_turn_deg, place.ring.outer_px + layout.px(KNOB_REACH_PX))
    return round(x), round(y)


def numbered_contacts(session: Session) -> list[tuple[float, float]]:
    """The ink points that decide, in the order of their numbers: the same as on a sheet."""
    if session.is_fit_current:
        found = deciding_points(session.fit, session.cup_fit, session.placement)
    else:
        found = circle_points(session.fit)
    return [limit.point_mm for limit in found]


class OverlayPainter:
    """Draws the overlay; keeps rings, dots and discs."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._rings = RingPainter()
        self._dotted = DottedCircles()
        self._outlines = OutlinePainter(texts)
        self._areas = AreaPainter(texts)
        self._discs: dict[tuple[int, Rgb, Rgb, float], pygame.Surface] = {}
        self.lesson: LessonShown | None = None
        """In lessons nothing is shown that gives the answer away, or hides a construction."""

    def draw(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        placed: PlacedFit,
        camera: Camera,
        highlight: Highlight | None,
    ) -> None:
        """Draw everything over the view, clipped to it."""
        view = layout.view
        surface.set_clip(view)
        place = overlay_place(session, camera, layout)
        self._other_cups(surface, layout, session, place)
        self._rings.draw(surface, place.center, place.ring)
        if highlight is not None:
            in_view = (place.center[0] - view.x, place.center[1] - view.y)
            highlight.draw(surface, view.topleft, in_view, *allowed_px(session, place))
        turn = place.overlay_turn_deg
        self._areas.draw(surface, layout, session.limits, place.center, place.px_per_mm, turn)
        if session.others:
            keep_off = self._keep_off(layout, session, camera, place)
            self._outlines.draw(surface, layout, session, camera, keep_off)
        sign = self._sign(layout, session, placed, camera, place)
        self._pills(surface, layout, session, place, sign[1])
        is_free = self.lesson is None or not self.lesson.is_constructing
        if is_free and (session.limits.pad is not None or session.limits.etch is not None):
            taken = [*self._keep_off(layout, session, camera, place)]
            taken += [travel_box(self._texts, layout, session, place), sign[1]]
            limits, px_per_mm = session.limits, place.px_per_mm
            self._areas.labels(surface, layout, limits, place.center, px_per_mm, turn, taken)
        self._center_cross(surface, layout, place)
        if not session.limits.hold.is_free:
            self._datum(surface, layout, camera.snapped(*session.datum_mm))
        if shows_travel(self.lesson, session):
            self._travel(surface, layout, session, place)
        self._knob(surface, layout, place)
        if self.lesson is None or not self.lesson.is_constructing:
            self._points(surface, layout, session, placed, camera, sign)
        surface.set_clip(None)

    def knob_box(self, session: Session, camera: Camera, layout: Layout) -> pygame.Rect:
        """Where the knob is: no word of a construction may stand on it."""
        box = pygame.Rect(0, 0, layout.px(26), layout.px(26))
        box.center = knob_px(overlay_place(session, camera, layout), layout)
        return box

    def _keep_off(
        self, layout: Layout, session: Session, camera: Camera, place: OverlayPlace
    ) -> list[pygame.Rect]:
        """Where names of outlines must not stand: numbered points, names of cups, cross."""
        view, side = layout.view, layout.px(26)
        boxes = list(pill_boxes(self._texts, layout, session, place).values())
        points = [camera.snapped(*point) for point in numbered_contacts(session)]
        for x, y in [(view.x + x, view.y + y) for x, y in points] + [place.center]:
            boxes.append(pygame.Rect(x - side // 2, y - side // 2, side, side))
        return boxes

    def _other_cups(
        self, surface: pygame.Surface, layout: Layout, session: Session, place: OverlayPlace
    ) -> None:
        for index, cup_fit in enumerate(session.fit.cups):
            if index != session.cup_index:
                radius = cup_fit.cup.ring_outer_diameter_mm / 2 * place.px_per_mm
                self._dotted.draw(
                    surface,
                    place.center,
                    radius,
                    theme.MARK,
                    dot_px=max(1.0, layout.ui),
                    step_px=7 * layout.ui,
                )

    def _pills(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        place: OverlayPlace,
        sign: pygame.Rect,
    ) -> None:
        for index, box in pill_boxes(self._texts, layout, session, place).items():
            if box.colliderect(sign):
                continue
            name = session.fit.cups[index].cup.name
            rounded(surface, box, box.height // 2, theme.PILL)
            self._texts.where = "pills"
            inner = box.inflate(-2 * layout.px(6), 0)
            self._texts.draw(surface, name, inner, layout.px(12.5), theme.TEXT, align="center")

    def _center_cross(self, surface: pygame.Surface, layout: Layout, place: OverlayPlace) -> None:
        x, y = place.center
        arm = layout.px(8)
        for color, grow in ((theme.LIFT, 1), (theme.INK_LINE, 0)):
            surface.fill(color, (x - arm - grow, y - grow, 2 * arm + 1 + 2 * grow, 1 + 2 * grow))
            surface.fill(color, (x - grow, y - arm - grow, 1 + 2 * grow, 2 * arm + 1 + 2 * grow))

    def _datum(self, surface: pygame.Surface, layout: Layout, in_view: Pixel) -> None:
        """A small diamond: what the hold keeps near the cup's center."""
        x, y = layout.view.x + in_view[0], layout.view.y + in_view[1]
        for color, reach in (
            (theme.INK_LINE, layout.px(8)),
            (theme.LIFT, layout.px(6)),
            (theme.PAD, layout.px(4)),
        ):
            polygon(
                surface, [(x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y)], color
            )

    def _travel(
        self, surface: pygame.Surface, layout: Layout, session: Session, place: OverlayPlace
    ) -> None:
        box = travel_box(self._texts, layout, session, place)
        middle = travel_middle(layout, session, place)
        angle = math.radians(_travel_deg(session) + place.overlay_turn_deg)
        ux, uy = math.cos(angle), -math.sin(angle)
        half, head, wide = layout.px(72), layout.px(16), layout.px(7)
        shaft = half - head + 1
        start = (middle[0] - ux * shaft, middle[1] - uy * shaft)
        end = (middle[0] + ux * shaft, middle[1] + uy * shaft)
        line(surface, start, end, max(1.5, 2.0 * layout.ui), theme.MARK)
        for way in (1, -1):
            tip = (middle[0] + way * ux * half, middle[1] + way * uy * half)
            back = (tip[0] - way * ux * head, tip[1] - way * uy * head)
            polygon(
                surface,
                [
                    tip,
                    (back[0] - uy * wide, back[1] + ux * wide),
                    (back[0] + uy * wide, back[1] - ux * wide),
                ],
                theme.MARK,
            )
        rounded(surface, box, box.height // 2, theme.PILL)
        self._texts.where = "travel"
        inner = box.inflate(-2 * layout.px(5), 0)
        self._texts.draw(surface, "travel", inner, layout.px(12.5), theme.TEXT, align="center")

    def _knob(self, surface: pygame.Surface, layout: Layout, place: OverlayPlace) -> None:
        knob = knob_px(place, layout)
        foot = place.toward(90 + place.overlay_turn_deg, place.ring.outer_px)
        line(surface, foot, knob, max(1.5, 2.0 * layout.ui), theme.RING_EDGE)
        self._disc(surface, knob, layout.px(9), theme.LIFT, theme.RING_EDGE, layout)

    def _disc(
        self,
        surface: pygame.Surface,
        center: Pixel,
        radius_px: int,
        fill: Rgb,
        edge: Rgb,
        layout: Layout,
    ) -> None:
        edge_px = max(1.5, 2.0 * layout.ui)
        key = (radius_px, fill, edge, edge_px)
        if key not in self._discs:
            self._discs[key] = disc(radius_px, fill, edge, edge_px)
        image = self._discs[key]
        half = image.get_width() // 2
        surface.blit(image, (center[0] - half, center[1] - half), special_flags=PREMULTIPLIED)

    def _points(
        self,
        surface: pygame.Surface,
        layout: Layout,
        session: Session,
        placed: PlacedFit,
        camera: Camera,
        sign: tuple[Callout, pygame.Rect],
    ) -> None:
        view = layout.view
        contacts = numbered_contacts(session) if self.lesson is None else []
        tight_px = _tightest_px(layout, placed, camera)
        if not contacts or _tightest_number(session, placed, camera) is None:
            self._disc(surface, tight_px, layout.px(6), theme.LIFT, theme.INK_LINE, layout)
        for index, point in enumerate(contacts, start=1):
            x, y = camera.snapped(*point)
            self._number(surface, layout, (view.x + x, view.y + y), index)
        draw_callout(surface, self._texts, layout, sign[0], tight_px, sign[1])

    def _sign(
        self,
        layout: Layout,
        session: Session,
        placed: PlacedFit,
        camera: Camera,
        place: OverlayPlace,
    ) -> tuple[Callout, pygame.Rect]:
        """What is said at the tightest place, and where: no other word may stand there."""
        number = _tightest_number(session, placed, camera) if self.lesson is None else None
        callout = callout_for(session, placed, number)
        tight_px = _tightest_px(layout, placed, camera)
        return callout, callout_box(self._texts, layout, callout, tight_px, place.center)

    def _number(self, surface: pygame.Surface, layout: Layout, at: Pixel, number: int) -> None:
        self._disc(surface, at, layout.px(10), (255, 255, 255), theme.INK_LINE, layout)
        box = pygame.Rect(0, 0, layout.px(18), layout.px(18))
        box.center = at
        self._texts.where = "points"
        self._texts.draw(
            surface, str(number), box, layout.px(12.5), theme.INK_LINE, bold=True, align="center"
        )


def _tightest_px(layout: Layout, placed: PlacedFit, camera: Camera) -> Pixel:
    x, y = camera.snapped(*placed.tightest.point_mm)
    return layout.view.x + x, layout.view.y + y


def _tightest_number(session: Session, placed: PlacedFit, camera: Camera) -> int | None:
    """The number of the contact point that is the tightest one, if one is."""
    tight, number = placed.tightest.point_mm, None
    for index, point in enumerate(numbered_contacts(session), start=1):
        away_mm = math.dist(point, tight)
        if away_mm * camera.px_per_mm < 1.5 or away_mm < 0.02:
            number = index
    return number


def allowed_px(session: Session, place: OverlayPlace) -> tuple[Inside, Inside]:
    """Where ink may lie, within all margins and within the hard edges, about the center."""
    limits, scale = session.limits, place.px_per_mm
    soft, hard = [], []
    if limits.pad is not None:
        soft.append(pad_outline_mm(limits.pad, limits.pad.margin_mm))
        hard.append(pad_outline_mm(limits.pad))
    if limits.etch is not None:
        soft.append(etch_outline_mm(limits.etch, limits.etch.margin_mm))
        hard.append(etch_outline_mm(limits.etch))
    turn = place.overlay_turn_deg
    return (
        Inside(place.ring.image_px, [turned(points * scale, turn) for points in soft]),
        Inside(place.ring.inner_px, [turned(points * scale, turn) for points in hard]),
    )


def _travel_deg(session: Session) -> float:
    return 90.0 if session.press.travel == "front-back" else 0.0


def shows_travel(lesson: LessonShown | None, session: Session) -> bool:
    """Whether the travel arrow stands there: in lessons where the press holds the plate."""
    return lesson is None or not session.limits.hold.is_free


def travel_middle(layout: Layout, session: Session, place: OverlayPlace) -> tuple[float, float]:
    """Where the travel arrow's middle is: beside the ring, or in front of it."""
    side = 180.0 if session.press.travel == "front-back" else 270.0
    return place.toward(side + place.overlay_turn_deg, place.ring.outer_px + layout.px(39))


def travel_box(texts: Texts, layout: Layout, session: Session, place: OverlayPlace) -> pygame.Rect:
    """Where the word at the travel arrow stands."""
    width = texts.width("travel", layout.px(12.5)) + 2 * layout.px(7)
    box = pygame.Rect(0, 0, width, layout.px(20))
    x, y = travel_middle(layout, session, place)
    box.center = (round(x), round(y))
    return box


def pill_boxes(
    texts: Texts, layout: Layout, session: Session, place: OverlayPlace
) -> dict[int, pygame.Rect]:
    """Where the names of the other cups stand: on their circles, clear of each other."""
    side = layout.px(22)
    taken = []
    for point in numbered_contacts(session):
        taken.append(pygame.Rect(0, 0, side, side))
        taken[-1].center = place.at(session, point)
    taken.append(travel_box(texts, layout, session, place))
    boxes: dict[int, pygame.Rect] = {}
    for index, cup_fit in enumerate(session.fit.cups):
        if index == session.cup_index:
            continue
        radius = cup_fit.cup.ring_outer_diameter_mm / 2 * place.px_per_mm
        width = max(
            layout.px(34), texts.width(cup_fit.cup.name, layout.px(12.5)) + 2 * layout.px(10)
        )
        box = pygame.Rect(0, 0, width, layout.px(20))
        for angle in PILL_ANGLES_DEG:
            x, y = place.toward(angle, radius)
            box.center = (round(x), round(y))
            if layout.view.contains(box) and box.inflate(8, 8).collidelist(taken) < 0:
                boxes[index] = box.copy()
                taken.append(box.copy())
                break
    return boxes


def thing_at(pos: Pixel, texts: Texts, layout: Layout, session: Session, camera: Camera) -> str:
    """What a press at a window point takes hold of: "turn", "cup", "cup:2" or "pan"."""
    place = overlay_place(session, camera, layout)
    if math.dist(pos, knob_px(place, layout)) <= layout.px(15):
        return "turn"
    for index, box in pill_boxes(texts, layout, session, place).items():
        if box.collidepoint(pos):
            return f"cup:{index}"
    distance = math.dist(pos, place.center)
    if distance <= place.ring.outer_px:
        return "cup"
    for index, cup_fit in enumerate(session.fit.cups):
        radius = cup_fit.cup.ring_outer_diameter_mm / 2 * place.px_per_mm
        if abs(distance - radius) <= layout.px(5):
            return f"cup:{index}"
    return "pan"


def bounds_to_show(session: Session) -> Bounds:
    """What a fresh view shows, mm in the page frame."""
    x, y = session.placement.center_mm
    reach = session.cup.ring_outer_diameter_mm / 2 * 1.12
    ink = session.fit.ink_bounds
    boxes = [Bounds(x - reach, y - reach, x + reach, y + reach), ink]
    for other in session.others:
        dx, dy = shown_shift_mm(other, session.placement.center_mm)
        box = bounds_of(other.hull_mm)
        boxes.append(Bounds(box.x0 + dx, box.y0 + dy, box.x1 + dx, box.y1 + dy))
    for _, outline in outlines_of(session.limits):
        box = bounds_of(on_page_mm(outline, (x, y), session.placement.turn_deg))
        if max(box.width, box.height) <= 4.4 * reach:
            boxes.append(box)
    page = session.artwork.page_mm
    if max(page) <= 4.4 * reach:
        boxes.append(Bounds(0.0, 0.0, page[0], page[1]))
    return Bounds(
        min(b.x0 for b in boxes),
        min(b.y0 for b in boxes),
        max(b.x1 for b in boxes),
        max(b.y1 for b in boxes),
    )
