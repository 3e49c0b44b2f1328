"""Asks where the fit sheet of what is on screen goes, and on which paper it is to be printed."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING

from viewer.errors import BrimcheckError, UsageError
from viewer.screen.dialog import Button, Dialog, Field
from viewer.screen.model import Session
from viewer.screen.questions import PATH, PathQuestion
from viewer.screen.sheet_writing import Outcome, SheetThread, Written, usual_path
from viewer.screen.signing_entry import WAITING
from viewer.screen.wording import clearance, verdict_word
from viewer.sheets.page import PAPERS, Paper, paper_named
from viewer.sheets.target import refuse_bad_pdf_target
from viewer.signoff import Record, record_place
from viewer.signoff.on_sheet import refuse_record

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

NEEDS_FILE = "a fit sheet needs a file"
STILL_READING = "a file is still being read: write the sheet when it is shown"
STILL_WRITING = "a fit sheet is being written; wait a moment"
REPLACES = "there is a file of that name: Enter again replaces it"
TITLE = "Write the fit sheet"
_ROW, _PAPER, _WRITE = "row:", "paper:", "write"
_CHOSEN, _OTHER = "\u25cf", "\u25cb"


class FitSheets:
    """The fit sheets of one desk. ``record``: the file of the approval record, if given."""

    def __init__(self, desk: Desk, wake: Callable[[], None], record: str | None = None) -> None:
        self._desk, self._given = desk, record
        self._thread = SheetThread(wake)
        self.paper: Paper = PAPERS[0]
        """Remembered for the next sheet in this window, and no longer."""

    def ask(self) -> None:
        """Ask where the sheet of what is shown goes; refused while that is not known."""
        desk = self._desk
        desk.settle()
        refusal = self._refusal()
        if refusal or desk.session is None:
            desk.looks.say(refusal)
        else:
            desk.asking.ask(SheetQuestion(self, desk))

    def _refusal(self) -> str:
        session = self._desk.session
        if session is None:
            return NEEDS_FILE
        if self._desk.job is not None:
            return STILL_READING
        if self._thread.is_busy:
            return STILL_WRITING
        return "" if session.is_fit_current else WAITING

    @property
    def is_writing(self) -> bool:
        """Whether a sheet is being written."""
        return self._thread.is_busy

    def begin(self, target: str) -> None:
        """Begin to write what is shown now. UsageError where that may not be."""
        refusal, session = self._refusal(), self._desk.session
        if refusal or session is None:
            raise UsageError(refusal)
        self._thread.start(session, target, self.paper, self._record())

    def check(self, target: str) -> None:
        """UsageError for a name that the sheet may not have."""
        session = self._desk.session
        artwork = None if session is None else session.loaded.path
        refuse_bad_pdf_target(target, [(artwork, "the artwork")], option="")
        refuse_record(target, self._record(), option="")

    def _record(self) -> Record:
        return Record(record_place(self._given))

    def poll(self) -> None:
        """Tell what came of it, also where the question was left meanwhile."""
        found = self._thread.take()
        if found is None:
            return
        desk, asked = self._desk, self._desk.asking.question
        if isinstance(asked, SheetQuestion):
            asked.take(found)
        elif isinstance(found, Written):
            desk.filing.say(found.words)
        else:
            desk.filing.say(f"no fit sheet was written: {found.message}")

    def wait(self) -> None:
        """Wait until a sheet that was begun is written, and take what came of it."""
        self._thread.wait()
        self.poll()

    def stop(self) -> None:
        """End; what is being written is written."""
        self._thread.wait()


class SheetQuestion(PathQuestion):
    """A path and a paper; an existing file is replaced only when that was said twice."""

    def __init__(self, sheets: FitSheets, desk: Desk) -> None:
        assert desk.session is not None
        super().__init__(usual_path(desk.session))
        self._sheets, self._desk = sheets, desk
        self._warned = ""
        self._writing = ""

    def dialog(self) -> Dialog:
        """What it will say, a path, the paper; while it is written, only that."""
        if self._writing:
            return Dialog(TITLE, (f"writing {os.path.basename(self._writing)} \u2026",))
        papers = tuple(
            Button(f"{_PAPER}{paper.name}", f"{self._mark(paper)} {paper.name}") for paper in PAPERS
        )
        words = "Replace it" if self._is_warned() else "Write it"
        return Dialog(
            TITLE,
            (
                _subject(self._desk.session),
                "A PDF at true scale, to be printed at 100 %. What the approval record says of"
                " it stands on every page.",
            ),
            (Field(PATH, "path", is_wide=True),),
            rows=self._offered,
            buttons=(Button(_WRITE, words, is_main=True), *papers),
        )

    def _mark(self, paper: Paper) -> str:
        return _CHOSEN if paper == self._sheets.paper else _OTHER

    def change(self, field: str) -> None:
        """Offer folders and other sheets: the artwork itself is nothing to write to."""
        super().change(field)
        endings = (os.sep, ".pdf")
        rows = (row for row in self._offered if row.name.lower().endswith(endings))
        self._offered = tuple(rows)

    def put(self, path: str) -> None:
        """Have a path stand in the field."""
        self._desk.asking.go_to(PATH)
        self._desk.asking.put_text(PATH, path)

    def enter(self, field: str) -> None:
        """Have the sheet written, unless another file would go."""
        path = self._path()
        self._sheets.check(path)
        if os.path.lexists(path) and not self._is_warned():
            self._warned = path
            raise UsageError(REPLACES)
        self._sheets.begin(path)
        self._writing = path
        self._desk.asking.go_to("")

    def press(self, name: str) -> None:
        """A row's path goes into the field, a paper is chosen, or it is written."""
        if name.startswith(_ROW):
            self.put(name.removeprefix(_ROW))
        elif name.startswith(_PAPER):
            self._sheets.paper = paper_named(name.removeprefix(_PAPER))
        else:
            self.enter(PATH)

    def take(self, found: Outcome) -> None:
        """It is written, or could not be: then another path can be given."""
        desk = self._desk
        self._writing = self._warned = ""
        if isinstance(found, Written):
            desk.asking.close()
            desk.filing.say(found.words)
            return
        desk.asking.go_to(PATH)
        desk.asking.tell(found.message)

    def _path(self) -> str:
        path = self.typed()
        if os.path.isdir(path):
            raise UsageError(f"{path} is a folder: add a name to it")
        path = path if path.lower().endswith(".pdf") else f"{path}.pdf"
        return os.path.abspath(path)

    def _is_warned(self) -> bool:
        """Whether it was said already that the file of that name goes."""
        try:
            return bool(self._warned) and self._path() == self._warned
        except BrimcheckError:
            return False


def _subject(session: Session | None) -> str:
    """What is on screen, and so on the sheet."""
    if session is None:
        return ""
    placed = session.placed()[session.cup_index]
    name = os.path.basename(session.loaded.path)
    told = f"{verdict_word(placed)}, clearance {clearance(placed.clearance_mm)} mm"
    return f"{name}, {session.cup.name} cup as it is placed now: {told}."
