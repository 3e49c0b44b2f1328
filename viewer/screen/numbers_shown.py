"""What a frame shows of sizing by numbers, as one value. No events, no drawing."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.press import Cup
from viewer.screen.numbers_query import Typed
from viewer.sizing import CircleRange, CupAnswer, SizeAnswer, SizeQuery, Worked


@dataclass(frozen=True)
class NumbersShown:
    """``typed``: what stands in the fields, with what is being typed if that makes sense.

    ``answer`` None: numbers are missing (``prompt``), contradict each other (``problem``, at
    ``problem_field``), are still being typed, or are worked on (``is_working``). ``query``
    and ``circle`` are there as soon as the numbers make sense. ``sums``: for the cup chosen.
    """

    typed: Typed
    cups: tuple[Cup, ...]
    chosen: int
    prompt: str = ""
    problem: str = ""
    problem_field: str = ""
    query: SizeQuery | None = None
    circle: CircleRange | None = None
    answer: SizeAnswer | None = None
    sums: tuple[Worked, ...] = ()
    is_working: bool = False
    has_file: bool = False
    is_typing: bool = False

    @property
    def cup(self) -> Cup:
        """The cup chosen."""
        return self.cups[self.chosen]

    @property
    def found(self) -> CupAnswer | None:
        """What holds for the cup chosen."""
        return None if self.answer is None else self.answer.cups[self.chosen]

    @property
    def covers_bench(self) -> bool:
        """Whether the bench shows the answer, and no artwork or invitation to drop some."""
        return self.has_file or self.is_typing or not self.typed.is_empty
