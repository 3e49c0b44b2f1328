"""What a frame shows of the lessons, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.lessons.marks import Mark
from viewer.lessons.view import LessonView, Stage

DONE, BEGUN, NOT_YET, NO_FILE = "done", "begun", "not-yet", "no-file"
STATE_WORDS = {
    DONE: "done",
    BEGUN: "begun",
    NOT_YET: "not yet",
    NO_FILE: "open a file first",
}


@dataclass(frozen=True)
class ListRow:
    """One lesson of the list. ``state``: one of those above."""

    number: int
    title: str
    state: str


@dataclass(frozen=True)
class ListShown:
    """The list of lessons. ``names``: learners to choose from, the last one first.

    ``notice``: one line on what could not be kept.
    """

    learner: str
    names: tuple[str, ...]
    rows: tuple[ListRow, ...]
    chosen: int
    notice: str = ""

    @property
    def done_count(self) -> int:
        """How many lessons this learner has done."""
        return sum(row.state == DONE for row in self.rows)


@dataclass(frozen=True)
class LessonShown:
    """Either the list, or the ``view`` of a lesson.

    ``newest``: so many of the view's marks, from the end, belong to the step shown last.
    ``has_curve``: whether something besides the cup limits, so that turning counts.
    """

    page: ListShown | None = None
    view: LessonView | None = None
    learner: str = ""
    newest: int = 0
    has_curve: bool = False

    @property
    def is_answer_hidden(self) -> bool:
        """Whether what would give the answer away is not shown yet."""
        return self.view is None or self.view.stage in (Stage.TRY, Stage.PREDICT)

    @property
    def is_constructing(self) -> bool:
        """Whether a construction is drawn, which needs the bench free of other signs."""
        return self.view is not None and bool(self.view.marks)

    @property
    def marks(self) -> tuple[tuple[Mark, ...], tuple[Mark, ...]]:
        """The construction: that of the steps before, and that of the newest step."""
        if self.view is None:
            return (), ()
        marks = self.view.marks
        split = len(marks) - self.newest
        return marks[:split], marks[split:]

    def bench_part(self) -> tuple[object, ...]:
        """What the bench shows of it; equal for equal pictures."""
        return (self.page is None, self.marks, self.is_answer_hidden)


def bench_part(shown: LessonShown | None) -> tuple[object, ...]:
    """What the bench shows of the lessons; empty on the bench of the work."""
    return () if shown is None else shown.bench_part()
