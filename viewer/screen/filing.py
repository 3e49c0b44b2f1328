"""Files and jobs of a desk: opening, reading again, what is saved and what is not."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pygame

from viewer.artwork.model import LoadOptions
from viewer.errors import BrimcheckError, Cancelled, SizeUnknownError
from viewer.job import Job, Unsaved, look_at, next_artwork, read_job
from viewer.job.watch import Look
from viewer.screen import model
from viewer.screen.bench_list import hit_list
from viewer.screen.commands import CTRL, mods_of
from viewer.screen.dialog import Listed, Row
from viewer.screen.file_dialog import FileChooser
from viewer.screen.file_watcher import CHANGED, FileWatcher
from viewer.screen.job_session import is_scale_kept, rebaser, restored
from viewer.screen.keeping import Keeping, clock_time
from viewer.screen.loader import LoadJob, Opened, Opener, open_now
from viewer.screen.model import Session
from viewer.screen.questions import MissingQuestion, OpenQuestion, UnsavedQuestion
from viewer.screen.size_question import SizeQuestion
from viewer.screen.store import Store
from viewer.screen.viewstate import Notice
from viewer.screen.wording import up

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

OPEN, SIZED, JOB, AGAIN, PAGE = "open", "sized", "job", "again", "page"
MOST_RECENT_SHOWN = 9
_BATCH, _RECENT = "batch:", "recent:"
_DIGITS = tuple(getattr(pygame, f"K_{number}") for number in range(1, 10))


@dataclass(frozen=True)
class _Plan:
    """What is to become of a file once it has been read."""

    kind: str
    job: Job | None = None
    job_path: str = ""
    unsaved: Unsaved | None = None
    said: str = ""
    is_moved: bool = False
    """The artwork lies elsewhere than the job says."""


class Filing(Keeping):
    """``store`` None: nothing is kept on disk and no file is watched, as for a picture."""

    def __init__(
        self,
        desk: Desk,
        opener: Opener,
        wake: Callable[[], None],
        store: Store | None = None,
        chooser: FileChooser | None = None,
    ) -> None:
        super().__init__(desk, store)
        self._opener, self._wake = opener, wake
        self.chooser = chooser if chooser is not None else FileChooser(wake)
        self._watcher = FileWatcher(wake) if store is not None else None
        self._plan: tuple[LoadJob, _Plan] | None = None
        self._look: Look | None = None
        self._last_path = ""
        self._read_at = ""
        self._batch: tuple[str, ...] = ()
        self._gathering: list[str] | None = None
        self._found: tuple[Unsaved, ...] = ()

    # --- what it says --------------------------------------------------------------

    def listed(self) -> Listed | None:
        """Files dropped together; on an empty bench, files opened lately."""
        if len(self._batch) > 1:
            rows = tuple(
                Row(f"{_BATCH}{n}", os.path.basename(path)) for n, path in enumerate(self._batch)
            )
            chosen = self._batch.index(self._last_path) if self._last_path in self._batch else -1
            title = f"{chosen + 1} of {len(rows)} files \u00b7 PageUp, PageDown"
            return Listed(title, rows, chosen)
        if self._desk.session is not None or self._desk.job is not None or not self.recent:
            return None
        rows = tuple(
            Row(f"{_RECENT}{n}", f"{n + 1}  {os.path.basename(path)}", os.path.dirname(path))
            for n, path in enumerate(self.recent[:MOST_RECENT_SHOWN])
        )
        said = "opened lately \u00b7 a click, or Ctrl and its number, opens it"
        return Listed(said, rows, is_middle=True)

    # --- opening -----------------------------------------------------------------

    def open(self, path: str, options: LoadOptions | None = None) -> None:
        """Open artwork, or a job file; asks first where work would be lost."""
        path = os.path.abspath(path)
        if path not in self._batch:
            self._batch = ()
        self.asking.close()
        self._guard(lambda: self._open(path, options), "Open")

    def _open(self, path: str, options: LoadOptions | None) -> None:
        self._last_path = path
        if is_job_path(path):
            self._open_job_file(path)
        else:
            self._read(path, options or LoadOptions(), _Plan(OPEN))

    def _read(
        self, path: str, options: LoadOptions, plan: _Plan, *, is_quiet: bool = False
    ) -> None:
        press = plan.job.press if plan.job is not None else None
        self._desk.open_file(path, options, press, is_quiet=is_quiet)
        if self._desk.job is not None:
            self._plan = (self._desk.job, plan)

    def reading(self, path: str) -> None:
        """A file is about to be read: how it looks now tells later whether it has changed."""
        self._look = look_at(path)
        self._last_path = path

    def _open_job_file(self, path: str) -> None:
        try:
            job = read_job(path)
        except BrimcheckError as error:
            self._desk.notice = Notice(error.message)
            self._forget_recent(path)
            return
        self._open_job(job, path)

    def _open_job(self, job: Job, job_path: str, unsaved: Unsaved | None = None) -> None:
        def read(known: Job) -> None:
            plan = _Plan(JOB, known, job_path, unsaved, is_moved=known is not job)
            self._read(known.artwork_path, known.load, plan)

        if os.path.isfile(job.artwork_path):
            read(job)
        else:
            self.asking.ask(MissingQuestion(self, job, read))

    def ask_to_open(self) -> None:
        """Ask for a file: by its path, from the list, and with the system's dialog."""
        self.asking.ask(OpenQuestion(self))
        self.browse()

    def browse(self) -> None:
        """Show the system's dialog, where there is one."""
        if self.chooser.is_available:
            self.chooser.ask(self._folder())

    def _folder(self) -> str:
        session = self._desk.session
        if session is not None:
            return os.path.dirname(os.path.abspath(session.loaded.path))
        kept = self._store.settings.last_folder if self._store is not None else ""
        return kept if os.path.isdir(kept) else os.path.expanduser("~")

    def read_with_size(self, path: str, options: LoadOptions, said: str) -> None:
        """Read a file that did not say its size, with what was answered."""
        self._read(path, options, _Plan(SIZED, said=said), is_quiet=True)

    def next_file(self, step: int) -> None:
        """The next file of those dropped together, or of the folder."""
        here = self._last_path
        if not here:
            return
        if len(self._batch) > 1 and here in self._batch:
            index = self._batch.index(here) + step
            following = self._batch[index] if 0 <= index < len(self._batch) else None
            where = "of these files"
        else:
            where = "artwork in its folder"
            try:
                following = next_artwork(os.path.abspath(here), step)
            except BrimcheckError as error:
                self._desk.notice = Notice(error.message)
                return
        if following is None:
            end = "last" if step > 0 else "first"
            self.say(f"{os.path.basename(here)} is the {end} {where}")
            return
        self.open(following)

    def next_page(self, step: int) -> None:
        """Another page of the same file, where the cup has most room on it."""
        session = self._desk.session
        if session is None:
            return
        options, pages = session.loaded.options, session.loaded.pages
        waiting = self._plan_of(self._desk.job)
        if waiting is not None and waiting.kind == PAGE and self._desk.job is not None:
            options = self._desk.job.options
        page = options.page + step
        if 1 <= page <= pages:
            self._read(session.loaded.path, replace(options, page=page), _Plan(PAGE))
        elif pages == 1:
            self.say("this file has one page only")
        else:
            self.say(f"page {options.page} is the {'last' if step > 0 else 'first'} one")

    def read_again(self) -> None:
        """Read the file again, as it is on disk now; everything chosen stays."""
        desk, session = self._desk, self._desk.session
        if session is None:
            return
        options = session.loaded.options
        if desk.job is not None:
            waiting = self._plan_of(desk.job)
            if waiting is not None and waiting.kind != AGAIN:
                return  # another file is on its way
            options = desk.job.options
        self._read(session.loaded.path, options, _Plan(AGAIN), is_quiet=True)

    # --- what has been read ----------------------------------------------------------

    def _plan_of(self, job: LoadJob | None) -> _Plan | None:
        plan = self._plan
        return plan[1] if plan is not None and job is not None and plan[0] is job else None

    def take(self, job: LoadJob, opened: Opened) -> bool:
        """A file has been read; False where the desk is to show it in the plain way."""
        plan = self._plan_of(job)
        self._plan = None
        self._read_at = clock_time()
        if plan is None:
            self._watch(opened)
            return False
        if plan.kind == AGAIN and self._desk.session is not None:
            self._show_changed(opened)
        elif plan.kind == PAGE and self._desk.session is not None:
            self._show_page(opened)
        elif plan.kind == JOB and plan.job is not None:
            self._show_job(opened, plan, plan.job)
        else:
            if plan.kind == SIZED:
                self.asking.close()
            self._desk.show(opened)
            if plan.said:
                self.say(plan.said)
        self._watch(opened)
        return True

    def _show_page(self, opened: Opened) -> None:
        """Another page, where the cup has most room; to look at it is no work to lose."""
        is_own = not self.is_unsaved and not self.job_path
        self._desk.show_again(opened, opened.session)
        now = self._job_now()
        if is_own and now is not None:
            self._clean = (*self._clean, now)

    def _watch(self, opened: Opened) -> None:
        if self._watcher is not None:
            self._watcher.watch(opened.session.loaded.path, self._look)

    def shown(self, session: Session) -> None:
        """A file is shown that has no job yet."""
        self.job_path, self._notes = "", ""
        self._now = (None, "", None)
        self._set_clean()
        self._remember(session.loaded.path)
        if self._store is not None:
            self._store.forget()

    def open_now(self, path: str, options: LoadOptions) -> None:
        """Read artwork or a job file before returning. Raises BrimcheckError."""
        if not is_job_path(path):
            self._desk.show(open_now(self._opener, path, options, self._desk.known_press))
            return
        job = read_job(path)
        opened = open_now(self._opener, job.artwork_path, job.load, job.press)
        self._show_job(opened, _Plan(JOB, job, os.path.abspath(path)), job)

    def _show_job(self, opened: Opened, plan: _Plan, job: Job) -> None:
        desk = self._desk
        desk.use_press(job.press)
        fresh = replace(opened.session, press=job.press)
        desk.show(replace(opened, session=restored(fresh, job)))
        self.job_path, self._notes = plan.job_path, job.notes
        self._now = (None, "", None)
        is_same = opened.session.loaded.sha256 == job.sha256
        is_other = plan.unsaved is not None or plan.is_moved
        self._clean = () if is_other else (job,)
        if plan.job_path:
            self._remember(plan.job_path)
        if is_same and not is_other:
            # What was read back counts as it stands, to the last digit.
            self._set_clean()
        if plan.unsaved is not None and self._store is not None:
            now = self._job_now()
            self._store.take_over(plan.unsaved, now if now is not None else job, plan.job_path)
        if not is_same:
            name = os.path.basename(job.artwork_path)
            said = f"{name} has changed since this job was saved: look at its verdict anew."
            desk.notice = Notice(said)
        elif not is_scale_kept(job):
            desk.notice = Notice(f"the job's scale {100 * job.scale:g} % cannot be shown here")

    def _show_changed(self, opened: Opened) -> None:
        desk, before = self._desk, self._desk.session
        assert before is not None
        desk.settle()
        before = desk.session
        assert before is not None
        rebased = rebaser(opened.session)
        now = rebased(before)
        if now is None:
            now = model.read_again(before, opened.session)
        is_own = not self.is_unsaved and not self.job_path
        desk.show_changed(opened, now, rebased)
        if is_own:
            self._set_clean()
        name = os.path.basename(now.loaded.path)
        sizes = [2 * s.fit.smallest_circle.radius for s in (before, now)]
        told = f"was {up(sizes[0], 2)} mm, is {up(sizes[1], 2)} mm"
        if before.loaded.sha256 == now.loaded.sha256:
            told = "it is the same as before"
        self.say(f"{name} read again {clock_time()}: smallest circle {told}")

    def refused(self, job: LoadJob, error: BrimcheckError) -> bool:
        """A file could not be read; False where the desk is to say so in the plain way."""
        plan = self._plan_of(job)
        self._plan = None
        if isinstance(error, Cancelled):
            return True
        if plan is not None and plan.kind == SIZED and self.asking.question is not None:
            self.asking.tell(error.message)
            return True
        if isinstance(error, SizeUnknownError):
            question = SizeQuestion(self._desk, self._opener, job.path, job.options, self._wake)
            self.asking.ask(question)
            return True
        if plan is not None and plan.kind == AGAIN:
            # Whatever is saved next will be read in its turn.
            self._rewatch(job.path)
            said = f"{error.message} \u2013 shown is the file as it was read {self._read_at}"
            self._desk.notice = Notice(said)
            return True
        if not os.path.exists(job.path):
            self._forget_recent(job.path)
        return False

    def _rewatch(self, path: str) -> None:
        if self._watcher is not None:
            self._watcher.watch(path, self._look)

    # --- unsaved work of before -------------------------------------------------------------

    def look_for_unsaved(self) -> None:
        """Have work looked for that was lost when the program ended."""
        if self._store is not None:
            self._store.look_for_unsaved()

    def take_up(self, unsaved: Unsaved) -> None:
        """Open work again that was not saved."""
        job = unsaved.job
        if job is not None:
            self._guard(lambda: self._open_job(job, unsaved.job_path, unsaved), "Open")

    def throw_away(self, unsaved: Unsaved) -> None:
        """Remove work that was not saved."""
        if self._store is not None:
            self._store.throw_away(unsaved)

    # --- events ------------------------------------------------------------------------------

    def poll(self) -> None:
        """Fetch what the threads have brought."""
        self.asking.poll()
        self._poll_watcher()
        chosen = self.chooser.take()
        if chosen:
            self.asking.close()
            self.dropped(chosen)
        if self._store is None:
            return
        self._found = self._store.take_unsaved() or self._found
        if self._found and self.asking.question is None and self._desk.job is None:
            found, self._found = self._found, ()
            self.asking.ask(UnsavedQuestion(self, found))
        if self._desk.notice is None:
            told = self._store.take_notice()
            if told:
                self._desk.notice = Notice(told)

    def _poll_watcher(self) -> None:
        found = self._watcher.take() if self._watcher is not None else ""
        session = self._desk.session
        if not found or session is None:
            return
        if found == CHANGED:
            self.read_again()
        elif self._desk.job is None:
            name = os.path.basename(session.loaded.path)
            self.say(f"{name} is gone from its folder; shown is how it was {self._read_at}")

    def take_event(self, event: pygame.event.Event) -> bool:
        """Files dropped, a list's clicks and keys; False for the rest."""
        if event.type in (pygame.KEYDOWN, pygame.MOUSEBUTTONDOWN):
            self._pass()
        if event.type == pygame.DROPBEGIN:
            self._gathering = []
        elif event.type == pygame.DROPFILE:
            if self._gathering is None:
                self.dropped((event.file,))
            else:
                self._gathering.append(event.file)
        elif event.type == pygame.DROPCOMPLETE:
            gathered, self._gathering = self._gathering, None
            if gathered:
                self.dropped(tuple(gathered))
        elif event.type == pygame.MOUSEBUTTONDOWN:
            return self._click(event.pos, event.button)
        elif event.type == pygame.KEYDOWN:
            return self._number(event.key, event.mod)
        else:
            return False
        return True

    def dropped(self, paths: tuple[str, ...]) -> None:
        """Open a file, or the first of several that are then gone through."""
        whole = tuple(dict.fromkeys(os.path.abspath(path) for path in paths))
        self._batch = whole if len(whole) > 1 else ()
        self.open(whole[0])

    def _click(self, pos: tuple[int, int], button: int) -> bool:
        desk = self._desk
        if desk.is_help_open or button > 3:
            return False
        name = hit_list(self.listed(), desk.layout, pos)
        if name is None:
            return False
        if button == 1 and name.startswith(_BATCH):
            self.open(self._batch[int(name.removeprefix(_BATCH))])
        elif button == 1 and name.startswith(_RECENT):
            self.open(self.recent[int(name.removeprefix(_RECENT))])
        return True

    def _number(self, key: int, mod: int) -> bool:
        """Ctrl and its number open a file of the list; a digit alone begins a size."""
        desk, listed = self._desk, self.listed()
        if listed is None or desk.is_help_open or desk.numbers.covers_bench:
            return False
        if mods_of(mod) != CTRL or mod & pygame.KMOD_ALT or key not in _DIGITS:
            return False
        number = _DIGITS.index(key)
        if f"{_RECENT}{number}" not in [row.name for row in listed.rows]:
            return False
        desk.keyboard.leave_panel_field()
        self.open(self.recent[number])
        return True

    def stop(self) -> None:
        """Let go of everything; what is unsaved and was not given up is offered again."""
        self.asking.close()
        self.chooser.cancel()
        if self._watcher is not None:
            self._watcher.stop()
        if self._store is not None:
            self._store.close()


def is_job_path(path: str) -> bool:
    """Whether a path is that of a job file, by its name."""
    return path.lower().endswith(".toml")
