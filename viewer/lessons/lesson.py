"""What a lesson is made of: scenes, a task, a prediction, steps, and a question.

A lesson is one module of `viewer.lessons.catalog` and one section of the file of words.
Nothing else has to know of it. All that it says in numbers it computes from its scenes.
"""

from __future__ import annotations

import random
from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from functools import cached_property

from viewer.artwork.model import Artwork, Points
from viewer.fit import CupFit, Fit, Placement, Verdict, fit_artwork
from viewer.lessons.answers import Answer
from viewer.lessons.marks import Mark
from viewer.lessons.texts import Words
from viewer.press import Press


@dataclass(frozen=True, eq=False)
class Scene:
    """Artwork against a press, which can be dragged and turned.

    ``name``: what it is called where a lesson has several. ``parts``: closed polygons of
    ink, mm of the page, shape (n, 2); empty where the file itself is drawn. ``start``:
    where the cup is at first. The first cup of the press is the one of the lesson.
    """

    artwork: Artwork
    press: Press
    start: Placement
    name: str = ""
    parts: tuple[Points, ...] = ()

    @cached_property
    def fit(self) -> Fit:
        """The exact fit, worked out when it is first needed."""
        press = self.press
        return fit_artwork(self.artwork, press.cups, press.setup_tolerance_mm, press.limits)

    @property
    def cup_fit(self) -> CupFit:
        """The fit with the lesson's cup."""
        wanted = self.press.cups[0]
        return next(found for found in self.fit.cups if found.cup == wanted)

    @property
    def can_fit(self) -> bool:
        """Whether there is a placement at which it surely fits."""
        return self.cup_fit.verdict is Verdict.FITS

    @property
    def is_open(self) -> bool:
        """Whether nobody can say: too close to call, or something forbids a plain "fits"."""
        return self.cup_fit.verdict is Verdict.TOO_CLOSE


@dataclass(frozen=True)
class Ask:
    """A question. ``worked``: the sum, a line each, shown after the answer.

    ``marks``: a construction that goes with it, for the sheet.
    """

    text: str
    answer: Answer
    worked: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class Step:
    """One step of the reveal: a line or two, and what it adds to the construction.

    ``scene``: which scene it is about. ``starts_over``: the steps before are wiped out.
    ``placement``: where the cup stands while this step is shown; None for its best place.
    """

    text: str
    marks: tuple[Mark, ...] = ()
    scene: int = 0
    starts_over: bool = False
    placement: Placement | None = None


@dataclass(frozen=True, eq=False)
class Given:
    """What a lesson may be about besides itself: the artwork that is open in the window."""

    artwork: Artwork | None = None
    press: Press = field(default_factory=Press)


class Lesson(ABC):
    """One lesson. ``number``: its place in the list. ``key``: its section of words.

    ``needs_artwork``: it is about the artwork in ``Given``.
    """

    number: int
    key: str
    needs_artwork: bool = False

    @abstractmethod
    def scenes(self, words: Words, given: Given) -> tuple[Scene, ...]:
        """The scenes, one at least. Every one has to be settled: it fits, or it cannot."""

    @abstractmethod
    def task(self, words: Words, scenes: tuple[Scene, ...]) -> str:
        """What to try."""

    @abstractmethod
    def prediction(self, words: Words, scenes: tuple[Scene, ...]) -> Ask:
        """What to guess before the answer is shown."""

    @abstractmethod
    def steps(self, words: Words, scenes: tuple[Scene, ...]) -> tuple[Step, ...]:
        """The construction, step by step."""

    @abstractmethod
    def question(self, words: Words, rng: random.Random, scenes: tuple[Scene, ...]) -> Ask:
        """A question with numbers of its own; the same ones for the same ``rng``."""
