"""What a file leaves open, and the answers that a person can give in the window.

An answer is one of the options of loading: the file is read again with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from viewer.artwork.model import ArtworkWarning, LoadOptions
from viewer.fit import Fit


@dataclass(frozen=True)
class Answer:
    """``label`` stands on a button, ``said`` in the file's card once it was given."""

    label: str
    value: Any
    said: str


@dataclass(frozen=True)
class Question:
    """What a warning asks, in one short line. ``option``: the name in LoadOptions."""

    words: str
    option: str
    answers: tuple[Answer, ...]

    def is_open(self, options: LoadOptions) -> bool:
        """Whether nobody has answered it yet."""
        return bool(getattr(options, self.option) == getattr(LoadOptions(), self.option))


QUESTIONS: dict[str, Question] = {
    "renderers-differ": Question(
        "the two renderers differ",
        "trust",
        (
            Answer("go by resvg", "resvg", "measured as resvg draws it"),
            Answer("go by cairo", "cairo", "measured as cairo draws it"),
        ),
    ),
    "white-unclear": Question(
        "is white ink or paper?",
        "white",
        (
            Answer("white is ink", "ink", "white read as ink"),
            Answer("white is paper", "paper", "white read as paper"),
        ),
    ),
    "bare-px": Question(
        "px: 96 or 72 per inch?",
        "px_per_inch",
        (
            Answer("96 per inch", 96.0, "px read as 96 per inch"),
            Answer("72 per inch", 72.0, "px read as 72 per inch"),
        ),
    ),
    "paper-unclear": Question(
        "is the border paper or ink?",
        "paper",
        (
            Answer("border is paper", "border", "border read as paper"),
            Answer("all of it is ink", "transparent", "all of it read as ink"),
        ),
    ),
    "speck": Question(
        "a speck decides the circle",
        "ignore_specks",
        (Answer("leave specks out", True, "specks left out"),),
    ),
}
MOST_ANSWERS = sum(len(question.answers) for question in QUESTIONS.values())


@dataclass(frozen=True)
class Offer:
    """An answer that can be given now. ``number`` counts from 1, as its key does."""

    number: int
    code: str
    answer: Answer

    @property
    def key_name(self) -> str:
        """The key that gives it."""
        return f"F{self.number + 1}"


def ordered_warnings(fit: Fit) -> tuple[ArtworkWarning, ...]:
    """Warnings as they are listed: those that forbid a plain "fits" first."""
    return tuple(sorted(fit.warnings, key=lambda warning: not warning.blocks_fits))


def offers(fit: Fit) -> tuple[Offer, ...]:
    """Every answer that a warning of this file still asks for."""
    found: list[Offer] = []
    for code in dict.fromkeys(warning.code for warning in ordered_warnings(fit)):
        question = QUESTIONS.get(code)
        if question is not None and question.is_open(fit.artwork.options):
            found.extend(
                Offer(number, code, answer)
                for number, answer in enumerate(question.answers, start=len(found) + 1)
            )
    return tuple(found)


def answered(options: LoadOptions, offer: Offer) -> LoadOptions:
    """The options with an answer added."""
    return replace(options, **{QUESTIONS[offer.code].option: offer.answer.value})


def said_words(options: LoadOptions) -> str:
    """ "white read as paper, as you said"; empty where nothing was said."""
    found = [
        answer.said
        for question in QUESTIONS.values()
        for answer in question.answers
        if not question.is_open(options) and getattr(options, question.option) == answer.value
    ]
    if options.paper is not None and options.paper.startswith("#"):
        found.append(f"{options.paper} read as paper")
    if options.leave_out:
        count = len(options.leave_out)
        found.append("1 piece left out" if count == 1 else f"{count} pieces left out")
    return f"{', '.join(found)}, as you said" if found else ""
