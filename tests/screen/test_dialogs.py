"""Questions and lists drawn: no text is cut, leaves its box or the view, or meets another."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pygame
import pytest

from tests.screen.disk import DiskDesk
from viewer.job import Settings, Unsaved
from viewer.screen.dialog_box import dialog_boxes, shortened
from viewer.screen.filing import Filing
from viewer.screen.job_session import job_of
from viewer.screen.painter import Painter
from viewer.screen.path_hint import path_hint
from viewer.screen.questions import (
    ClosingQuestion,
    MissingQuestion,
    NotesQuestion,
    OpenQuestion,
    SaveQuestion,
    UnsavedQuestion,
)
from viewer.screen.text import PlacedText, Texts

CTRL = pygame.KMOD_LCTRL
SIZES = [((1100, 700), 1.0), ((1100, 700), 2.0), ((1600, 1000), 0.8), ((3840, 2160), 1.0)]
LONG = "harbour-club-anniversary-mug-second-version-final.svg"


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[DiskDesk]:
    disk = DiskDesk(tmp_path)
    yield disk
    disk.close()


def nothing() -> None:
    pass


def ask_open(disk: DiskDesk, filing: Filing) -> None:
    for number in range(12):
        disk.file(f"{number}-{LONG}")
    disk.desk.asking.ask(OpenQuestion(filing))
    disk.hand.type(str(disk.folder) + os.sep)


def ask_recent(disk: DiskDesk, filing: Filing) -> None:
    disk.desk.asking.ask(OpenQuestion(filing))


def ask_missing(disk: DiskDesk, filing: Filing) -> None:
    assert disk.desk.session is not None
    job = replace(job_of(disk.desk.session, ""), artwork_path=f"{disk.folder}/gone-{LONG}")
    disk.desk.asking.ask(MissingQuestion(filing, job, lambda job: None))
    disk.hand.key(pygame.K_RETURN)


def ask_save(disk: DiskDesk, filing: Filing) -> None:
    disk.desk.asking.ask(SaveQuestion(filing, str(disk.folder / "nowhere" / "x"), None))
    disk.hand.key(pygame.K_RETURN)


def ask_closing(disk: DiskDesk, filing: Filing) -> None:
    disk.desk.asking.ask(ClosingQuestion(filing, nothing, "Close"))


def ask_unsaved(disk: DiskDesk, filing: Filing) -> None:
    assert disk.desk.session is not None
    job = job_of(disk.desk.session, "")
    found = Unsaved("/x", job, "", time.time())
    disk.desk.asking.ask(UnsavedQuestion(filing, (found, found)))


def ask_notes(disk: DiskDesk, filing: Filing) -> None:
    disk.desk.asking.ask(NotesQuestion(filing, "blue\nplate 4, kept dry"))


def ask_size(disk: DiskDesk, filing: Filing) -> None:
    disk.open("nosize.png")
    dialog = disk.desk.asking.dialog
    disk.until(lambda: (d := dialog()) is not None and d.preview is not None and d.preview.levels)
    shown = dialog()
    assert shown is not None
    boxes = dialog_boxes(shown, disk.desk.layout, disk.desk.painter.texts)
    box = boxes.hits.get("preview")
    if box is None:
        return  # a very low window
    disk.hand.click((box.centerx - 20, box.centery))
    disk.hand.click((box.centerx + 20, box.centery))
    disk.hand.type("no length")
    disk.hand.key(pygame.K_RETURN)


ASKED = {
    "open": ask_open,
    "recent": ask_recent,
    "missing": ask_missing,
    "save": ask_save,
    "closing": ask_closing,
    "unsaved": ask_unsaved,
    "notes": ask_notes,
    "size": ask_size,
}


def use_scale(disk: DiskDesk, ui_scale: float) -> None:
    settings = Settings(ui_scale=ui_scale)
    disk.desk.looks.use_settings(settings, lambda change: None, lambda: "dark")


def texts_of(disk: DiskDesk, *where: str) -> list[PlacedText]:
    texts = Texts()
    texts.log = []
    painter = Painter(texts)
    painter.draw(pygame.Surface(disk.desk.size), disk.desk.frame())
    return [placed for placed in texts.log if placed.where in where]


def check(found: list[PlacedText], view: pygame.Rect) -> None:
    assert found
    for placed in found:
        assert not placed.is_cut, placed
        assert placed.box.contains(placed.rect), placed
        assert view.contains(placed.rect), placed
    for number, one in enumerate(found):
        for other in found[number + 1 :]:
            if one.text and other.text:
                assert not one.rect.colliderect(other.rect), (one, other)


@pytest.mark.parametrize("name", list(ASKED))
def test_every_question_is_drawn_whole_at_every_size(disk: DiskDesk, name: str) -> None:
    disk.open(LONG)
    asking: Callable[[DiskDesk, Filing], None] = ASKED[name]
    for size, ui_scale in SIZES:
        use_scale(disk, ui_scale)
        disk.desk.resize(size)
        asking(disk, disk.desk.filing)
        dialog = disk.desk.asking.dialog()
        assert dialog is not None
        check(texts_of(disk, "dialog"), disk.desk.layout.view)
        error = disk.desk.editing.error if disk.desk.editing is not None else ""
        boxes = dialog_boxes(dialog, disk.desk.layout, disk.desk.painter.texts, error)
        for box in boxes.hits.values():
            assert disk.desk.layout.view.contains(box)
            assert boxes.box.contains(box)
        disk.desk.asking.close()


@pytest.mark.parametrize(("size", "ui_scale"), SIZES)
def test_lists_and_the_files_card_are_drawn_whole(
    disk: DiskDesk, size: tuple[int, int], ui_scale: float
) -> None:
    use_scale(disk, ui_scale)
    disk.desk.resize(size)
    for number in range(9):
        disk.store.change(lambda s, n=number: s.with_recent(f"/far/away/folder/{n}-{LONG}"))
    check(texts_of(disk, "list", "empty"), disk.desk.layout.view)
    paths = [disk.file(f"{n}-pages-{LONG}") for n in range(12)]
    disk.desk.filing.dropped(tuple(paths))
    disk.finish()
    check(texts_of(disk, "list"), disk.desk.layout.view)
    disk.desk.filing.set_notes("a long note " * 30)
    disk.desk.filing.job_path = str(disk.folder / f"{LONG}.brim.toml")
    disk.hand.key(pygame.K_RIGHT)
    disk.desk.frame()
    card = texts_of(disk, "card:file")
    words = [placed.text for placed in card]
    assert "unsaved" in words
    assert "page 1 of 3" in words
    for number, one in enumerate(card):
        assert not one.is_cut, one
        assert one.box.contains(one.rect), one
        for other in card[number + 1 :]:
            if one.text and other.text:
                assert not one.rect.colliderect(other.rect), (one, other)


def test_what_is_drawn_step_by_step_is_what_is_drawn_at_once(disk: DiskDesk) -> None:
    disk.open("float.svg")
    surface = pygame.Surface(disk.desk.size)
    steps = [
        lambda: disk.hand.key(pygame.K_o, CTRL),
        lambda: disk.hand.type(str(disk.folder)),
        lambda: disk.hand.key(pygame.K_DOWN),
        lambda: disk.hand.key(pygame.K_ESCAPE),
        lambda: disk.hand.key(pygame.K_RIGHT),
        lambda: disk.hand.key(pygame.K_q, CTRL),
        lambda: disk.hand.key(pygame.K_RIGHT),
        lambda: disk.hand.key(pygame.K_ESCAPE),
        lambda: disk.hand.key(pygame.K_z, CTRL),
        lambda: disk.desk.filing.dropped((disk.file("a.svg"), disk.file("b.svg"))),
        disk.finish,
        lambda: disk.hand.key(pygame.K_PAGEDOWN),
        disk.finish,
    ]
    for step in steps:
        step()
        frame = disk.desk.frame()
        if disk.desk.job is not None:
            frame = replace(frame, loading=None)
        disk.desk.painter.draw(disk.hand.surface, frame)
        Painter().draw(surface, frame)
        one, other = (pygame.image.tobytes(s, "RGB") for s in (disk.hand.surface, surface))
        assert one == other


def test_a_long_path_loses_its_middle() -> None:
    texts = Texts()
    path = "/home/harbour/artwork/2026/second quarter/mugs"
    full = texts.width(path, 12)
    assert shortened(texts, path, full, 12) == path
    cut = shortened(texts, path, full // 2, 12)
    assert texts.width(cut, 12) <= full // 2
    assert cut.startswith("/home")
    assert cut.endswith("mugs")
    assert shortened(texts, path, 0, 12) == ""


def test_paths_go_on_with_folders_artwork_and_jobs_only(tmp_path: Path) -> None:
    for name in ("mug.svg", "Mug 2.PDF", "mug.txt", ".mug.svg", "mug.brim.toml"):
        (tmp_path / name).write_text("")
    (tmp_path / "mugs").mkdir()
    hint = path_hint(str(tmp_path / "mug"))
    names = [os.path.relpath(path, tmp_path) for path in hint.offered]
    assert names == ["Mug 2.PDF", "mug.brim.toml", "mug.svg", "mugs"]
    assert hint.offered[-1].endswith(os.sep)
    assert hint.common == str(tmp_path / "mug")
    assert path_hint(str(tmp_path / "mugs")).common == str(tmp_path / "mugs") + os.sep
    assert path_hint(str(tmp_path / "nowhere" / "x")).offered == ()
    assert path_hint("\0").offered == ()
