"""The questions about files and jobs: open, save, close, take up again, notes."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from viewer.errors import UsageError
from viewer.job import JOB_ENDING, LONGEST_NOTES, Job, Unsaved, read_job
from viewer.screen.asking import Question
from viewer.screen.dialog import Button, Dialog, Field, Row
from viewer.screen.path_hint import path_hint, plain_path

if TYPE_CHECKING:
    from viewer.screen.filing import Filing
    from viewer.screen.keeping import Keeping

PATH = "path"
MOST_RECENT_SHOWN = 8
_ROW = "row:"
_BREAK = " \u00b6 "


class PathQuestion(Question):
    """Asks for a path; completes what is typed."""

    ends_with: tuple[str, ...] = ()

    def __init__(self, text: str = "") -> None:
        super().__init__({PATH: text})
        self._offered: tuple[Row, ...] = ()
        self._is_more = False

    def change(self, field: str) -> None:
        """Offer how the path may go on."""
        text = self.texts[PATH]
        hint = path_hint(text) if text.strip() else None
        offered = hint.offered if hint is not None else ()
        if offered == (text,):
            offered = ()
        self._is_more = hint is not None and hint.is_more
        self._offered = tuple(_path_row(path) for path in offered)

    def complete(self, field: str) -> bool:
        """Add what is certain."""
        text = self.texts[PATH]
        common = path_hint(text).common if text.strip() else text
        if common == text:
            return False
        self.put(common)
        return True

    def put(self, path: str) -> None:
        """Have a path stand in the field, and the keyboard there."""
        raise NotImplementedError

    def typed(self) -> str:
        """The path as typed; UsageError where there is none."""
        path = plain_path(self.texts[PATH])
        if not path:
            raise UsageError("type the path of a file, or choose one below")
        return path


def _path_row(path: str) -> Row:
    plain = path.rstrip("/" + os.sep)
    name = os.path.basename(plain) + path[len(plain) :]
    return Row(f"{_ROW}{path}", name, os.path.dirname(plain))


class OpenQuestion(PathQuestion):
    """Asks which file to open: by its path, from the list, or in the system's dialog."""

    def __init__(self, filing: Filing) -> None:
        super().__init__()
        self._filing = filing

    def dialog(self) -> Dialog:
        """A path, files opened lately, a button for the system's dialog."""
        rows, title = self._offered, "Tab completes"
        if self._is_more:
            title += " \u00b7 there are more"
        if not self.texts[PATH].strip():
            rows = tuple(_path_row(path) for path in self._filing.recent[:MOST_RECENT_SHOWN])
            title = "opened lately"
        buttons = [Button("open", "Open", is_main=True)]
        if self._filing.chooser.is_available:
            buttons.append(Button("browse", "Choose in a list of files \u2026"))
        lines = ["SVG, PDF, PNG, JPEG, TIFF, or a job file. Or drop files on the window."]
        if self._filing.chooser.is_open:
            lines = ["A list of files is open in a window of its own. Or type here:"]
        return Dialog(
            "Open a file",
            tuple(lines),
            (Field(PATH, "path", is_wide=True),),
            rows_title=title,
            rows=rows,
            buttons=tuple(buttons),
        )

    def put(self, path: str) -> None:
        """Have a path stand in the field."""
        self._filing.asking.go_to(PATH)
        self._filing.asking.put_text(PATH, path)

    def enter(self, field: str) -> None:
        """Open what was typed; into a folder it goes on."""
        path = self.typed()
        if os.path.isdir(path):
            self.put(os.path.join(path, ""))
            return
        self._filing.open(path)

    def press(self, name: str) -> None:
        """Open a row's file, or show the system's dialog."""
        if name == "open":
            self.enter(PATH)
        elif name == "browse":
            self._filing.browse()
        elif name.startswith(_ROW):
            path = name.removeprefix(_ROW)
            if path.endswith(("/", os.sep)):
                self.put(path)
            else:
                self._filing.open(plain_path(path))

    def close(self) -> None:
        """The system's dialog goes with it."""
        self._filing.chooser.cancel()


class MissingQuestion(PathQuestion):
    """The artwork of a job is not where it was: asks where it is now."""

    def __init__(self, filing: Filing, job: Job, opening: Callable[[Job], None]) -> None:
        super().__init__(os.path.join(os.path.dirname(job.artwork_path), ""))
        self._filing, self._job, self._opening = filing, job, opening

    def dialog(self) -> Dialog:
        """Where it was, and a path."""
        name = os.path.basename(self._job.artwork_path)
        folder = os.path.dirname(self._job.artwork_path)
        return Dialog(
            f"The artwork of this job is missing: {name}",
            (f"It was in {folder}. Put it back there, or say where it is now.",),
            (Field(PATH, "path", is_wide=True),),
            rows=self._offered,
            buttons=(Button("open", "Use this file", is_main=True),),
            is_error=True,
        )

    def put(self, path: str) -> None:
        """Have a path stand in the field."""
        self._filing.asking.go_to(PATH)
        self._filing.asking.put_text(PATH, path)

    def enter(self, field: str) -> None:
        """Open the job with the file that was typed."""
        path = self.typed()
        if os.path.isdir(path):
            path = os.path.join(path, os.path.basename(self._job.artwork_path))
        if not os.path.isfile(path):
            raise UsageError(f"there is no file {path}")
        self._filing.asking.close()
        self._opening(replace(self._job, artwork_path=os.path.abspath(path)))

    def press(self, name: str) -> None:
        """A row's path goes into the field; the button does as Enter does."""
        if name.startswith(_ROW):
            self.put(name.removeprefix(_ROW))
        else:
            self.enter(PATH)


class SaveQuestion(PathQuestion):
    """Asks where to write the job; ``then`` goes on once it is written."""

    def __init__(self, filing: Keeping, path: str, then: Callable[[], None] | None) -> None:
        super().__init__(path)
        self._filing, self._then = filing, then
        self._warned = ""

    def dialog(self) -> Dialog:
        """A path."""
        return Dialog(
            "Save the job",
            ("It keeps which artwork this is, the press, the placement and your notes.",),
            (Field(PATH, "path", is_wide=True),),
            rows=self._offered,
            buttons=(Button("save", "Save", is_main=True),),
        )

    def put(self, path: str) -> None:
        """Have a path stand in the field."""
        self._filing.asking.go_to(PATH)
        self._filing.asking.put_text(PATH, path)

    def enter(self, field: str) -> None:
        """Write the job, unless another file would go."""
        path = self.typed()
        if os.path.isdir(path):
            raise UsageError(f"{path} is a folder: add a name to it")
        path = os.path.abspath(with_ending(path))
        self._check_free(path)
        self._filing.write(path)
        self._filing.asking.close()
        if self._then is not None:
            self._then()

    def press(self, name: str) -> None:
        """A row's path goes into the field; the button does as Enter does."""
        if name.startswith(_ROW):
            self.put(name.removeprefix(_ROW))
        else:
            self.enter(PATH)

    def _check_free(self, path: str) -> None:
        """Another job is replaced only when that was said twice; any other file never."""
        if not os.path.lexists(path) or path in (self._warned, self._filing.job_path):
            return
        try:
            read_job(path)
        except UsageError:
            raise UsageError(f"{path} exists and is no job file: give another name") from None
        self._warned = path
        raise UsageError("there is a job of that name: Enter again replaces it")


def with_ending(path: str) -> str:
    """The path of a job file; its ending is added where it is missing."""
    return path if path.lower().endswith(".toml") else path + JOB_ENDING


class ClosingQuestion(Question):
    """There are unsaved changes: save them, leave them, or stay."""

    def __init__(self, filing: Keeping, then: Callable[[], None], what: str) -> None:
        super().__init__()
        self._filing, self._then, self._what = filing, then, what

    def dialog(self) -> Dialog:
        """Three buttons."""
        name = self._filing.name
        return Dialog(
            f"Save the changes to {name}?",
            ("What was changed since it was opened or saved would be lost.",),
            buttons=(
                Button("save", "Save", "S", is_main=True),
                Button("leave", f"{self._what} without saving", "L"),
                Button("stay", "Stay", "Esc"),
            ),
        )

    def press(self, name: str) -> None:
        """Save and go on, go on, or stay."""
        if name == "save":
            self._filing.save(self._then)
            return
        self._filing.asking.close()
        if name == "leave":
            self._then()


class UnsavedQuestion(Question):
    """Work of a process that has ended is offered again."""

    def __init__(self, filing: Filing, found: tuple[Unsaved, ...]) -> None:
        super().__init__()
        self._filing, self._found = filing, found

    def dialog(self) -> Dialog:
        """Which work, and from when."""
        unsaved, *others = self._found
        when = time.strftime("%d %b, %H:%M", time.localtime(unsaved.kept_at_s))
        more = f" (1 of {len(self._found)})" if others else ""
        if unsaved.job is None:
            lines: tuple[str, ...] = (f"It cannot be read: {unsaved.problem}",)
            buttons: tuple[Button, ...] = ()
        else:
            cup = unsaved.job.cup_name
            lines = (f"{os.path.basename(unsaved.job.artwork_path)} on the {cup} cup, {when}.",)
            buttons = (Button("take", "Take it up again", "T", is_main=True),)
        return Dialog(
            f"The program ended before this work was saved{more}",
            lines,
            buttons=(
                *buttons,
                Button("drop", "Throw it away", "D"),
                Button("later", "Ask again next time", "Esc"),
            ),
        )

    def press(self, name: str) -> None:
        """Open it, remove it, or keep it for the next start."""
        unsaved = self._found[0]
        self._filing.asking.close()
        if name == "take":
            self._filing.take_up(unsaved)
            return
        if name == "drop":
            self._filing.throw_away(unsaved)
        if len(self._found) > 1:
            self._filing.asking.ask(UnsavedQuestion(self._filing, self._found[1:]))


class NotesQuestion(Question):
    """A line of notes for the job. Line ends are shown as a sign and stay."""

    def __init__(self, filing: Keeping, notes: str) -> None:
        super().__init__({"notes": _BREAK.join(notes.splitlines())})
        self._filing = filing

    def dialog(self) -> Dialog:
        """One line."""
        return Dialog(
            "Notes for this job",
            ("They are saved with the job. The sign \u00b6 stands for a new line.",),
            (Field("notes", "notes", is_wide=True),),
            buttons=(Button("keep", "Keep", is_main=True),),
        )

    def enter(self, field: str) -> None:
        """Keep what was typed."""
        parts = self.texts["notes"].split(_BREAK.strip())
        notes = "\n".join(part.strip() for part in parts).strip("\n")
        if len(notes) > LONGEST_NOTES:
            raise UsageError(f"notes must be at most {LONGEST_NOTES} characters long")
        self._filing.set_notes(notes)
        self._filing.asking.close()

    def press(self, name: str) -> None:
        """The button does as Enter does."""
        self.enter("notes")
