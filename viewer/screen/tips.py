"""Tips: what a thing is for and why, after the pointer or the focus has rested on it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pygame

from viewer.screen import focus
from viewer.screen.commands import BY_NAME
from viewer.screen.curve_strip import is_in_plot, plot_box
from viewer.screen.look import Tip
from viewer.screen.overlay import (
    knob_px,
    overlay_place,
    pill_boxes,
    shows_travel,
    travel_box,
)

if TYPE_CHECKING:
    from viewer.screen.looks import Looks

Pos = tuple[int, int]
REST_S = 0.6
_ENDS = (
    pygame.KEYDOWN,
    pygame.MOUSEBUTTONDOWN,
    pygame.MOUSEWHEEL,
    pygame.VIDEORESIZE,
    pygame.WINDOWLEAVE,
)
TIPS: dict[str, tuple[str, str]] = {
    "cup": (
        "A cup of your set: its largest image, the verdict and the clearance where it stands,"
        " and the best it could have. The bar is now, the tick is the best; right of the line"
        " is clear.",
        "1 \u2026 9",
    ),
    "field:right": (
        "How far the cup's centre is right of the datum. Type a length in any unit; minus is left.",
        "Enter, or the arrow keys without it",
    ),
    "field:back": (
        "How far the cup's centre is behind the datum, as the operator stands. Minus is in front.",
        "Enter, or the arrow keys without it",
    ),
    "field:angle": (
        "How far the artwork is turned against the press, counter-clockwise positive. Alone, a"
        " round cup does not care; pad, plate and hold do.",
        "Q  E",
    ),
    "field:scale": (
        "How large the artwork is drawn here. It changes every length told, and never the file.",
        "",
    ),
    "field:limit:pad": (
        "The pad's printing area: ink outside of it is not picked up well. \u201cnone\u201d when"
        " the pad is far larger than the image.",
        "L",
    ),
    "field:limit:etch": (
        "The area of the plate that can be etched: ink outside of it is not on the plate.",
        "L",
    ),
    "field:limit:hold": (
        "Which way the plate can be set against the cup. The best fit keeps to it.",
        "L",
    ),
    "field:limit:reach": ("How far the plate can be set from the datum, each way.", "L"),
    "field:limit:datum": (
        "What the fixture locates by. Shifts are counted from it.",
        "L",
    ),
    "field:limit:angles": (
        "The angles that the fixture allows. The best fit keeps to them.",
        "L",
    ),
    "field:cup:diameter": ("The diameter that the chosen cup is named by.", ""),
    "field:cup:ring": (
        "How wide the ring's edge is, each side; all ink must be inside of it. Measure yours"
        " with a caliper: it is sharp, keep fingers off its edge.",
        "",
    ),
    "field:cup:margin": (
        "What is kept free inside the ring, so that no ink is scraped by its edge: a share of"
        " the named diameter, ring included, or mm each side.",
        "",
    ),
    "way": (
        "A change that makes the image fit this cup, and the clearance it would have then. It is"
        " shown on the artwork now; a click takes it, Ctrl+Z takes it back.",
        "Ctrl+1 \u2026",
    ),
    "piece": (
        "A separate piece of ink. A click leaves it out of what is measured, or takes it in"
        " again; the result lists what was left out.",
        "P",
    ),
    "tool": (
        "Another way to read the file: what is paper, and what is ink. It can be undone, and"
        " the result lists it.",
        "",
    ),
    "command:best": (
        "Put the cup where the clearance is greatest, by a search with a proof: no other place"
        " and angle that the press allows is better.",
        "B",
    ),
    "command:centre": ("Put the cup's centre over the datum; the angle stays.", "C"),
    "command:undo": ("Take back the last change that concerns the fit.", "Ctrl+Z"),
    "command:warnings": (
        "Warnings say what could make the measured ink differ from the printed ink.",
        "W",
    ),
    "field:numbers:width": (
        "How wide the image is, in any unit; 66x88 gives the height as well. \u201cabout 48\u201d"
        " may be off by half of its last digit: 47.5 to 48.5.",
        "S \u00b7 without a file, its first digit",
    ),
    "field:numbers:height": (
        "How high the image is, square to the width.",
        "Tab",
    ),
    "field:numbers:diagonal": (
        "The two points of the image that are farthest apart, at any angle. Alone it gives a first"
        " answer; with width and height a sharper one.",
        "Tab",
    ),
    "field:numbers:shape": (
        "A full rectangle reaches its corners, an ellipse does not: the same numbers, another"
        " circle. Leave it unknown unless you are told.",
        "\u2191 \u2193 or its first letters",
    ),
    "field:numbers:radius": ("The radius of the rounded corners.", "Tab"),
    "numbers:cup": (
        "A cup, its largest image, and what the numbers alone can say. A click shows its sum and"
        " its drawing.",
        "\u2191 \u2193 or ,  . \u00b7 beside a file 1 \u2026 9",
    ),
    "numbers:clear": ("Forget these numbers and begin with the next ones.", "Delete"),
    "numbers:back": (
        "Back to the artwork, which is as it was. The numbers stay: S brings them back.",
        "S  Esc",
    ),
    "turn": (
        "Drag to turn the cup, pad and plate over the artwork.",
        "Q  E, Shift 15\u00b0, Ctrl 0.1\u00b0",
    ),
    "travel": (
        "The way the cup or plate slides on this press, as the operator stands in front.",
        "",
    ),
    "ring": (
        "The cup's doctoring ring. All ink must be inside of it; drag to move it. The blue"
        " circle is the largest image, with the margin kept.",
        "arrow keys",
    ),
    "curve": (
        "The best clearance that each angle of the artwork allows. Above zero fits; hatched"
        " angles are not allowed. Click or drag to turn.",
        "\u2190 \u2192 when it has the focus",
    ),
    "ruler": ("Millimetres from the datum: right and back count positive.", ""),
}
"""By the name of a thing, or by the first word of its name: what it is for, and its keys."""


def words_for(name: str) -> tuple[str, str]:
    """(what and why, keys) of a thing; the help's own words where no tip is written."""
    found = TIPS.get(name) or TIPS.get(name.rpartition(":")[0]) or TIPS.get(name.partition(":")[0])
    if found is not None:
        return found
    kind, _, what = name.partition(":")
    command = BY_NAME.get(what) if kind == "command" else None
    return (command.label, command.help_keys) if command is not None else ("", "")


class Tips:
    """Waits until the pointer or the focus rests; shows a tip until anything happens."""

    def __init__(self, looks: Looks) -> None:
        self._looks = looks
        self._pos: Pos | None = None
        self._focus = ""
        self._due: float | None = None
        self.shown: Tip | None = None

    @property
    def due(self) -> float | None:
        """When to look again, in seconds of the clock."""
        return self._due

    def notice_event(self, event: pygame.event.Event) -> None:
        """Something has happened: a tip goes, and a pointer that moved may come to rest."""
        kind = event.type
        if kind == pygame.MOUSEMOTION:
            if self.shown is not None and self._pos == event.pos:
                return
            self._pos = event.pos
            self._rest("")
        elif kind in _ENDS:
            self.forget()

    def rest_at(self, name: str) -> None:
        """The focus has come to a thing."""
        self._rest(name)

    def forget(self) -> None:
        """Show none, and wait for none."""
        self.shown, self._due, self._focus = None, None, ""

    def tick(self) -> None:
        """Show a tip when the rest was long enough."""
        if self._due is None or self._looks.clock() < self._due:
            return
        self._due = None
        desk = self._looks.desk
        frame = desk.frame()
        is_busy = desk.pointer.drag is not None or frame.editing is not None or frame.is_help_open
        is_over = frame.dialog is not None or frame.look.is_big or frame.look.calibrating
        if is_busy or is_over or frame.signing is not None:
            return
        found = self._at_focus() if self._focus else self._at_pointer()
        if found is None:
            return
        name, box = found
        words, keys = words_for(name)
        if words:
            self.shown = Tip(words, keys, (box.x, box.y, box.width, box.height))

    def _rest(self, name: str) -> None:
        self.shown, self._focus = None, name
        self._due = self._looks.clock() + REST_S

    def _at_focus(self) -> tuple[str, pygame.Rect] | None:
        box = focus_box(self._looks, self._focus)
        return None if box is None else (self._focus, box)

    def _at_pointer(self) -> tuple[str, pygame.Rect] | None:
        desk, pos = self._looks.desk, self._pos
        if pos is None:
            return None
        panel = desk.painter.panel
        name = panel.hit(pos)
        if name is not None:
            box = panel.place_of(name)
            return None if box is None else (name, box)
        if desk.session is None or desk.camera is None or desk.numbers.covers_bench:
            return None
        layout = desk.layout
        if is_in_plot(layout, pos):
            return focus.CURVE, _around(pos)
        if layout.view.collidepoint(pos):
            thing = self._on_bench(pos)
            return None if not thing else (thing, _around(pos))
        return ("ruler", _around(pos)) if layout.bench.collidepoint(pos) else None

    def _on_bench(self, pos: Pos) -> str:
        desk = self._looks.desk
        session, camera, layout = desk.session, desk.camera, desk.layout
        assert session is not None
        assert camera is not None
        place, texts = overlay_place(session, camera, layout), desk.painter.texts
        if math.dist(pos, knob_px(place, layout)) <= layout.px(15):
            return "turn"
        for index, box in pill_boxes(texts, layout, session, place).items():
            if box.collidepoint(pos):
                return f"cup:{index}"
        is_there = shows_travel(desk.frame().lesson, session)
        if is_there and travel_box(texts, layout, session, place).collidepoint(pos):
            return "travel"
        if place.ring.inner_px <= math.dist(pos, place.center) <= place.ring.outer_px:
            return "ring"
        return ""


def _around(pos: Pos) -> pygame.Rect:
    return pygame.Rect(pos[0] - 6, pos[1] - 6, 12, 24)


def focus_box(looks: Looks, name: str) -> pygame.Rect | None:
    """Where the thing with the focus is in the window."""
    if name == focus.CURVE:
        return plot_box(looks.desk.layout)
    return looks.desk.painter.panel.place_of(name)
