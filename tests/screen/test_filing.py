"""Opening, dropping, going through files, reading again, jobs, unsaved work, settings."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pygame
import pytest

from tests.screen.disk import DiskDesk
from viewer.artwork.model import LoadOptions
from viewer.fit import Placement
from viewer.job import (
    forget_unsaved,
    keep_unsaved,
    load_settings,
    read_job,
    settings_path,
    unsaved_jobs,
)
from viewer.job import recovery as recovery_module
from viewer.screen import model
from viewer.screen.file_dialog import FileChooser
from viewer.screen.job_session import job_of
from viewer.screen.model import Session

CTRL, SHIFT = pygame.KMOD_LCTRL, pygame.KMOD_LSHIFT


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[DiskDesk]:
    folder = tmp_path / "art"
    folder.mkdir()
    disk = DiskDesk(folder)
    yield disk
    disk.close()


def session(disk: DiskDesk) -> Session:
    assert disk.desk.session is not None
    return disk.desk.session


def said(disk: DiskDesk) -> str:
    return disk.desk.notice.text if disk.desk.notice is not None else ""


def title(disk: DiskDesk) -> str:
    dialog = disk.desk.asking.dialog()
    return dialog.title if dialog is not None else ""


def error(disk: DiskDesk) -> str:
    return disk.desk.editing.error if disk.desk.editing is not None else ""


def field(disk: DiskDesk, text: str) -> None:
    """Type over what stands in the field that has the keyboard."""
    disk.hand.key(pygame.K_END)
    assert disk.desk.editing is not None
    for _ in disk.desk.editing.text:
        disk.hand.key(pygame.K_BACKSPACE)
    disk.hand.type(text)


def press_button(disk: DiskDesk, name: str) -> None:
    from viewer.screen.dialog_box import dialog_boxes

    dialog = disk.desk.asking.dialog()
    assert dialog is not None
    boxes = dialog_boxes(dialog, disk.desk.layout, disk.desk.painter.texts, error(disk))
    disk.hand.click(boxes.hits[name].center)


# --- opening ------------------------------------------------------------------


def test_ctrl_o_asks_for_a_path_and_completes_it(disk: DiskDesk) -> None:
    disk.file("float.svg")
    disk.file("flag.svg")
    disk.hand.key(pygame.K_o, CTRL)
    assert title(disk) == "Open a file"
    disk.hand.type(str(disk.folder / "f"))
    disk.hand.key(pygame.K_TAB)
    assert disk.desk.editing is not None
    assert disk.desk.editing.text == str(disk.folder / "fl")
    disk.hand.type("o")
    disk.hand.key(pygame.K_TAB)
    assert disk.desk.editing.text == str(disk.folder / "float.svg")
    disk.hand.key(pygame.K_RETURN)
    disk.finish()
    assert os.path.basename(session(disk).artwork.path) == "float.svg"
    assert disk.desk.asking.question is None


def test_a_completion_can_be_chosen_with_arrows_or_the_mouse(disk: DiskDesk) -> None:
    flag = disk.file("flag.svg")
    (disk.folder / "sub").mkdir()
    disk.hand.key(pygame.K_o, CTRL)
    disk.hand.type(str(disk.folder) + os.sep)
    press_button(disk, f"row:{disk.folder}{os.sep}sub{os.sep}")
    assert disk.desk.editing is not None
    assert disk.desk.editing.text == f"{disk.folder}{os.sep}sub{os.sep}"
    field(disk, str(disk.folder) + os.sep)
    disk.hand.key(pygame.K_DOWN)
    disk.hand.key(pygame.K_RETURN)
    disk.finish()
    assert session(disk).artwork.path == flag


def test_escape_or_the_cross_leave_a_question(disk: DiskDesk) -> None:
    for leave in (lambda: disk.hand.key(pygame.K_ESCAPE), lambda: press_button(disk, "close")):
        disk.hand.key(pygame.K_o, CTRL)
        assert disk.desk.asking.question is not None
        leave()
        assert disk.desk.asking.question is None
        assert disk.desk.editing is None


def test_an_empty_path_is_told_at_the_field(disk: DiskDesk) -> None:
    disk.hand.key(pygame.K_o, CTRL)
    press_button(disk, "open")
    assert "type the path" in error(disk)


def test_commands_wait_while_something_is_asked(disk: DiskDesk) -> None:
    disk.open("float.svg")
    before = session(disk)
    disk.hand.key(pygame.K_o, CTRL)
    disk.hand.key(pygame.K_RIGHT)
    disk.hand.key(pygame.K_2)
    disk.hand.drag(disk.desk.layout.view.center, (300, 300))
    assert session(disk) is before


def test_files_opened_are_remembered_and_offered_on_the_empty_bench(disk: DiskDesk) -> None:
    paths = [disk.open(name) for name in ("float.svg", "lure.svg")]
    assert disk.store.wait(10)
    disk.close()
    later = DiskDesk(disk.folder)
    listed = later.desk.filing.listed()
    assert listed is not None
    assert [row.label for row in listed.rows] == ["1  lure.svg", "2  float.svg"]
    later.hand.key(pygame.K_2)
    assert later.desk.job is None
    later.hand.key(pygame.K_ESCAPE)
    later.hand.key(pygame.K_2, CTRL)
    later.finish()
    assert session(later).artwork.path == paths[0]
    assert load_settings().settings.last_folder == str(disk.folder)
    later.close()


def test_a_click_on_a_recent_file_opens_it(disk: DiskDesk) -> None:
    from viewer.screen.bench_list import list_boxes

    path = disk.open("float.svg")
    assert disk.store.wait(10)
    later = DiskDesk(disk.folder)
    listed = later.desk.filing.listed()
    assert listed is not None
    later.hand.click(list_boxes(listed, later.desk.layout)["recent:0"].center)
    later.finish()
    assert session(later).artwork.path == path
    later.close()


def test_a_recent_file_that_is_gone_leaves_the_list(disk: DiskDesk) -> None:
    path = disk.open("float.svg")
    os.unlink(path)
    disk.desk.filing.open(path)
    disk.finish()
    assert path not in disk.store.settings.recent_files
    assert "cannot be read" in said(disk)


# --- several files ---------------------------------------------------------------


def drop(disk: DiskDesk, *paths: str) -> None:
    disk.hand.send(pygame.DROPBEGIN)
    for path in paths:
        disk.hand.send(pygame.DROPFILE, file=path)
    disk.hand.send(pygame.DROPCOMPLETE)


def test_several_dropped_files_are_gone_through(disk: DiskDesk) -> None:
    paths = [disk.file(f"{n}.svg", 1 / n) for n in (3, 1, 2)]
    drop(disk, *paths)
    disk.finish()
    assert session(disk).artwork.path == paths[0]
    for step, wanted in ((1, 1), (1, 2), (-1, 1)):
        disk.hand.key(pygame.K_PAGEDOWN if step > 0 else pygame.K_PAGEUP)
        disk.finish()
        assert session(disk).artwork.path == paths[wanted]
    listed = disk.desk.filing.listed()
    assert listed is not None
    assert listed.chosen == 1
    disk.hand.key(pygame.K_PAGEDOWN)
    disk.finish()
    disk.hand.key(pygame.K_PAGEDOWN)
    assert said(disk) == "2.svg is the last of these files"


def test_a_click_in_the_list_opens_that_file(disk: DiskDesk) -> None:
    from viewer.screen.bench_list import list_boxes

    paths = [disk.file(f"{n}.svg") for n in (1, 2)]
    drop(disk, *paths)
    disk.finish()
    listed = disk.desk.filing.listed()
    assert listed is not None
    disk.hand.click(list_boxes(listed, disk.desk.layout)["batch:1"].center)
    disk.finish()
    assert session(disk).artwork.path == paths[1]


def test_a_file_among_them_that_cannot_be_read_is_passed(disk: DiskDesk) -> None:
    paths = [disk.file(f"{n}.svg") for n in (1, 2, 3)]
    Path(paths[1]).write_text("no number")
    drop(disk, *paths)
    disk.finish()
    disk.hand.key(pygame.K_PAGEDOWN)
    disk.finish()
    assert "2.svg" in said(disk)
    disk.hand.key(pygame.K_PAGEDOWN)
    disk.finish()
    assert session(disk).artwork.path == paths[2]


SVG = "<svg xmlns='http://www.w3.org/2000/svg' width='1mm' height='1mm'/>"


def test_page_keys_go_through_the_folder(disk: DiskDesk) -> None:
    for name in ("mug 2.svg", "mug 10.svg", "mug 1.svg"):
        (disk.folder / name).write_text(SVG)
    disk.desk.filing.open(str(disk.folder / "mug 2.svg"))
    disk.finish()
    disk.hand.key(pygame.K_PAGEDOWN)
    disk.finish()
    assert disk.opener.asked[-1][0] == str(disk.folder / "mug 10.svg")
    disk.hand.key(pygame.K_PAGEDOWN)
    assert said(disk) == "mug 10.svg is the last artwork in its folder"
    disk.hand.key(pygame.K_PAGEUP)
    disk.finish()
    assert disk.opener.asked[-1][0] == str(disk.folder / "mug 2.svg")


# --- pages ------------------------------------------------------------------------


def test_pages_are_chosen_by_keys_and_by_arrows_and_can_be_undone(disk: DiskDesk) -> None:
    disk.open("three pages.pdf")
    disk.hand.key(pygame.K_PAGEUP, CTRL)
    assert said(disk) == "page 1 is the first one"
    disk.hand.key(pygame.K_PAGEDOWN, CTRL)
    disk.finish()
    assert session(disk).artwork.page == 2
    # Half as large on page 2: 38 mm wide.
    assert session(disk).fit.width_mm == pytest.approx(38.0)
    place = disk.desk.painter.panel.place_of("command:next-page")
    assert place is not None
    disk.hand.click(place.center)
    disk.finish()
    assert session(disk).artwork.page == 3
    assert not disk.desk.filing.is_unsaved
    disk.hand.key(pygame.K_z, CTRL)
    disk.hand.key(pygame.K_z, CTRL)
    assert session(disk).artwork.page == 1
    assert not disk.desk.filing.is_unsaved


# --- a size that the file does not say ---------------------------------------------


def ask_size(disk: DiskDesk) -> None:
    disk.open("nosize.png")
    assert title(disk) == "nosize.png does not say how large it is"


def test_the_width_is_enough(disk: DiskDesk) -> None:
    ask_size(disk)
    disk.hand.type("50,5")
    disk.hand.key(pygame.K_RETURN)
    disk.finish()
    assert session(disk).fit.width_mm == pytest.approx(50.5)
    assert disk.desk.asking.question is None


def test_dots_per_inch_are_enough(disk: DiskDesk) -> None:
    ask_size(disk)
    disk.hand.key(pygame.K_TAB)
    disk.hand.key(pygame.K_TAB)
    disk.hand.type("192 dpi")
    press_button(disk, "read")
    disk.finish()
    assert disk.opener.asked[-1][1] == LoadOptions(dpi=192.0)
    assert session(disk).fit.width_mm == pytest.approx(38.0)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ((), "type a size"),
        (("x",), "x"),
        (("-3",), "greater than zero"),
        (("", "", "0"), "from 0.1 to 100000"),
        (("50", "", "300"), "already sets the size"),
    ],
)
def test_sizes_that_make_no_sense_are_told_at_the_field(
    disk: DiskDesk, fields: tuple[str, ...], message: str
) -> None:
    ask_size(disk)
    for number, text in enumerate(fields):
        if number:
            disk.hand.key(pygame.K_TAB)
        disk.hand.type(text)
    disk.hand.key(pygame.K_RETURN)
    assert message in error(disk)
    assert title(disk)


def test_two_points_and_their_distance_give_the_scale(disk: DiskDesk) -> None:
    from viewer.screen.dialog import PREVIEW
    from viewer.screen.dialog_box import dialog_boxes

    ask_size(disk)
    dialog = disk.desk.asking.dialog
    disk.until(lambda: (d := dialog()) is not None and d.preview is not None and d.preview.levels)
    shown = dialog()
    assert shown is not None
    assert shown.preview is not None
    camera = shown.preview.camera
    assert camera is not None
    boxes = dialog_boxes(shown, disk.desk.layout, disk.desk.painter.texts)
    box = boxes.hits[PREVIEW]
    # The ends of the triangle's long side, 76 mm apart at the assumed scale.
    for x_mm in (20.0, 96.0):
        x, y = camera.snapped(x_mm, 20.0)
        disk.hand.click((box.x + x, box.y + y))
    disk.hand.type("38")
    disk.hand.key(pygame.K_RETURN)
    disk.finish()
    # 38 mm, and larger by what two clicks, each a pixel off, may make of it; never smaller.
    px = 1 / camera.px_per_mm
    least, most = 38.0 * 76 / (76 + px), 38.0 * 76 / (76 - 3 * px)
    assert least <= session(disk).fit.width_mm <= most
    assert session(disk).fit.width_mm >= 38.0
    assert said(disk).startswith("sized by two points: up to ")


def test_points_are_put_by_keyboard_alone(disk: DiskDesk) -> None:
    ask_size(disk)
    dialog = disk.desk.asking.dialog
    disk.until(lambda: (d := dialog()) is not None and d.preview is not None and d.preview.levels)
    for _ in range(3):
        disk.hand.key(pygame.K_TAB)
    assert disk.desk.asking.focus == "preview"
    disk.hand.key(pygame.K_RETURN)
    for _ in range(5):
        disk.hand.key(pygame.K_RIGHT, SHIFT)
    disk.hand.key(pygame.K_PLUS)
    disk.hand.key(pygame.K_RETURN)
    assert disk.desk.asking.focus == "distance"
    shown = dialog()
    assert shown is not None
    assert shown.preview is not None
    (one, other), camera = shown.preview.points_mm, shown.preview.camera
    assert camera is not None
    # 50 px at the magnification of before the plus, which was a fifth less.
    assert (other[0] - one[0]) * camera.px_per_mm / 1.2 == pytest.approx(50)


def test_a_failed_reading_comes_back_to_the_question(disk: DiskDesk) -> None:
    ask_size(disk)
    (disk.folder / "nosize.png").write_text("no number")
    disk.hand.type("50")
    disk.hand.key(pygame.K_RETURN)
    disk.finish()
    assert "cannot be read" in error(disk)
    disk.hand.key(pygame.K_ESCAPE)
    assert not title(disk)


def test_page_keys_leave_the_question_for_the_next_file(disk: DiskDesk) -> None:
    paths = [disk.file(name) for name in ("nosize.png", "2.svg")]
    drop(disk, *paths)
    disk.finish()
    assert title(disk)
    disk.hand.key(pygame.K_PAGEDOWN)
    disk.finish()
    assert not title(disk)
    assert session(disk).artwork.path == paths[1]


# --- reading again -------------------------------------------------------------------


def test_a_saved_file_is_read_again_and_everything_chosen_stays(disk: DiskDesk) -> None:
    path = disk.open("float.svg")
    disk.hand.key(pygame.K_2)
    disk.hand.key(pygame.K_UP, SHIFT)
    disk.hand.key(pygame.K_e)
    before = session(disk)
    disk.file("float.svg", 0.5)
    disk.until(lambda: session(disk).loaded is not before.loaded)
    now = session(disk)
    assert now.placement == before.placement
    assert now.cup == before.cup
    assert now.fit.width_mm == pytest.approx(38.0)
    # Half the long side's 76 mm is the circle's radius; half as large after saving.
    assert "smallest circle was 76.00 mm, is 38.00 mm" in said(disk)
    disk.hand.key(pygame.K_z, CTRL)
    assert session(disk).loaded is now.loaded
    assert session(disk).placement.turn_deg == 0.0
    assert session(disk).artwork.path == path


def test_undo_after_reading_again_never_shows_the_old_content(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.desk.change(lambda s: model.with_scale(s, 0.5))
    disk.hand.key(pygame.K_1)
    disk.file("float.svg", 0.5)
    disk.until(lambda: session(disk).fit.width_mm == pytest.approx(19.0))
    for width_mm in (19.0, 38.0):
        disk.hand.key(pygame.K_z, CTRL)
        assert session(disk).fit.width_mm == pytest.approx(width_mm)


def test_ctrl_r_reads_again(disk: DiskDesk) -> None:
    disk.open("float.svg")
    count = len(disk.opener.asked)
    disk.hand.key(pygame.K_r, CTRL)
    disk.finish()
    assert len(disk.opener.asked) == count + 1
    assert said(disk).endswith("it is the same as before")


def test_a_file_spoiled_on_disk_is_told_and_what_is_shown_stays(disk: DiskDesk) -> None:
    disk.open("float.svg")
    before = session(disk)
    (disk.folder / "float.svg").write_text("no number")
    disk.until(lambda: "shown is the file as it was read" in said(disk))
    assert session(disk) is before
    disk.file("float.svg", 0.5)
    disk.until(lambda: session(disk) is not before)
    assert session(disk).fit.width_mm == pytest.approx(38.0)


def test_a_vanished_file_is_told(disk: DiskDesk) -> None:
    path = disk.open("float.svg")
    os.unlink(path)
    disk.until(lambda: "is gone from its folder" in said(disk))


def test_a_field_being_typed_in_stays_when_the_file_is_read_again(disk: DiskDesk) -> None:
    disk.open("float.svg")
    before = session(disk)
    disk.hand.key(pygame.K_RETURN)
    disk.hand.type("3")
    disk.file("float.svg", 0.5)
    disk.until(lambda: session(disk).loaded is not before.loaded)
    assert disk.desk.editing is not None
    assert disk.desk.editing.text == "3"


# --- jobs -------------------------------------------------------------------------------


def saved_job(disk: DiskDesk) -> str:
    disk.open("float.svg")
    disk.hand.key(pygame.K_2)
    disk.hand.key(pygame.K_RIGHT, SHIFT)
    disk.hand.key(pygame.K_e)
    disk.desk.change(lambda s: model.with_scale(s, 0.715))
    disk.hand.key(pygame.K_s, CTRL)
    assert title(disk) == "Save the job"
    disk.hand.key(pygame.K_RETURN)
    return str(disk.folder / "float.brim.toml")


def test_ctrl_s_asks_once_beside_the_artwork_and_then_saves(disk: DiskDesk) -> None:
    disk.open("float.svg")
    assert "unsaved" not in disk.desk.filing.title()
    disk.hand.key(pygame.K_RIGHT)
    assert disk.desk.filing.title() == "float.svg \u2013 unsaved changes"
    disk.hand.key(pygame.K_s, CTRL)
    disk.hand.key(pygame.K_RETURN)
    path = disk.folder / "float.brim.toml"
    assert said(disk).startswith("saved ")
    assert disk.desk.filing.title() == "float.brim.toml (float.svg)"
    first = read_job(str(path))
    disk.hand.key(pygame.K_RIGHT)
    assert "unsaved changes" in disk.desk.filing.title()
    disk.hand.key(pygame.K_s, CTRL)
    assert not title(disk)
    second = read_job(str(path))
    assert second.placement.center_mm[0] == pytest.approx(first.placement.center_mm[0] + 0.1)


def test_saving_leaves_undo_alone_and_undo_makes_it_unsaved(disk: DiskDesk) -> None:
    saved_job(disk)
    assert disk.desk.history.can_undo
    disk.hand.key(pygame.K_z, CTRL)
    assert disk.desk.filing.is_unsaved
    disk.hand.key(pygame.K_y, CTRL)
    assert not disk.desk.filing.is_unsaved


def test_a_job_comes_back_exactly(disk: DiskDesk) -> None:
    path = saved_job(disk)
    before = session(disk)
    later = DiskDesk(disk.folder)
    drop(later, path)
    later.finish()
    now = session(later)
    assert now.placement == before.placement
    assert now.scale == before.scale == 0.715
    assert now.cup == before.cup
    assert now.limits == before.limits
    assert job_of(now, "") == job_of(before, "")
    assert not later.desk.filing.is_unsaved
    assert not said(later)
    assert later.store.settings.recent_files[0] == path
    later.close()


def test_a_placement_off_the_steps_comes_back_to_the_last_digit(disk: DiskDesk) -> None:
    path = saved_job(disk)
    text = Path(path).read_text()
    start = text.rindex("center_mm")
    odd = text.replace(text[start : text.index("\n", start)], "center_mm = [1.23456789, 2.1]")
    Path(path).write_text(odd)
    disk.desk.filing.open(path)
    disk.finish()
    assert session(disk).placement == Placement((1.23456789, 2.1), session(disk).placement.turn_deg)
    assert not disk.desk.filing.is_unsaved


def test_a_job_tells_that_its_artwork_has_changed(disk: DiskDesk) -> None:
    path = saved_job(disk)
    before = session(disk)
    disk.close()
    disk.file("float.svg", 0.9)
    later = DiskDesk(disk.folder)
    later.desk.filing.open(path)
    later.finish()
    assert "float.svg has changed since this job was saved" in said(later)
    assert session(later).placement == before.placement
    assert later.desk.filing.is_unsaved
    later.close()


def test_a_job_asks_where_its_artwork_is(disk: DiskDesk) -> None:
    path = saved_job(disk)
    before = session(disk)
    disk.close()
    moved = disk.folder / "moved"
    moved.mkdir()
    os.rename(disk.folder / "float.svg", moved / "float.svg")
    later = DiskDesk(disk.folder)
    later.desk.filing.open(path)
    assert title(later) == "The artwork of this job is missing: float.svg"
    field(later, str(disk.folder / "nowhere.svg"))
    later.hand.key(pygame.K_RETURN)
    assert "there is no file" in error(later)
    field(later, str(moved))
    later.hand.key(pygame.K_RETURN)
    later.finish()
    assert session(later).placement == before.placement
    assert later.desk.filing.is_unsaved  # its path has changed
    later.close()


def test_a_job_that_cannot_be_read_is_told_in_one_line(disk: DiskDesk) -> None:
    path = disk.folder / "bad.brim.toml"
    path.write_text("schema = 1\ncup = 3\n")
    disk.desk.filing.open(str(path))
    assert "bad.brim.toml" in said(disk)
    assert "\n" not in said(disk)


def test_save_as_replaces_a_job_only_when_said_twice_and_other_files_never(
    disk: DiskDesk,
) -> None:
    path = saved_job(disk)
    disk.hand.key(pygame.K_s, CTRL | SHIFT)
    other = disk.folder / "other.brim.toml"
    other.write_bytes(Path(path).read_bytes())
    press = disk.folder / "press.toml"
    press.write_text("travel = 'front-back'\n")
    field(disk, str(press))
    disk.hand.key(pygame.K_RETURN)
    assert "is no job file" in error(disk)
    disk.hand.key(pygame.K_RIGHT)
    field(disk, str(disk.folder / "other"))
    disk.hand.key(pygame.K_RETURN)
    assert "Enter again replaces it" in error(disk)
    disk.hand.key(pygame.K_RETURN)
    assert disk.desk.filing.job_path == str(other)
    assert press.read_text() == "travel = 'front-back'\n"


def test_a_job_that_cannot_be_written_is_told_and_stays_unsaved(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    disk.hand.key(pygame.K_s, CTRL)
    field(disk, str(disk.folder / "nowhere" / "a"))
    disk.hand.key(pygame.K_RETURN)
    assert "there is no folder" in error(disk)
    assert disk.desk.filing.is_unsaved


def test_notes_are_kept_with_the_job(disk: DiskDesk) -> None:
    path = saved_job(disk)
    past = disk.desk.history.sessions
    disk.hand.key(pygame.K_n, CTRL)
    disk.hand.type("plate 4 \u00b6 blue")
    disk.hand.key(pygame.K_RETURN)
    assert disk.desk.filing.is_unsaved
    assert disk.desk.history.sessions == past
    disk.hand.key(pygame.K_s, CTRL)
    assert read_job(path).notes == "plate 4\nblue"
    disk.hand.key(pygame.K_n, CTRL)
    disk.hand.type("!")
    disk.hand.key(pygame.K_RETURN)
    disk.hand.key(pygame.K_s, CTRL)
    assert read_job(path).notes == "plate 4\nblue!"


# --- closing --------------------------------------------------------------------------


def test_closing_asks_and_staying_stays(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    for key in (pygame.K_ESCAPE, None):
        disk.hand.send(pygame.QUIT)
        assert title(disk) == "Save the changes to float.svg?"
        assert not disk.desk.is_closed
        if key is None:
            press_button(disk, "stay")
        else:
            disk.hand.key(key)
        assert not title(disk)
        assert not disk.desk.is_closed


def test_closing_without_saving(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    disk.until(lambda: disk.store.wait(0))
    disk.hand.key(pygame.K_q, CTRL)
    disk.hand.key(pygame.K_l)
    assert disk.desk.is_closed
    assert disk.store.wait(10)
    folder = Path(recovery_module.unsaved_folder())
    assert not list(folder.glob("*.brim.toml"))


def test_closing_saves_first(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    disk.hand.key(pygame.K_q, CTRL)
    disk.hand.key(pygame.K_s)
    assert title(disk) == "Save the job"
    assert disk.desk.editing is not None
    assert disk.desk.editing.text.endswith("float.brim.toml")
    disk.hand.key(pygame.K_RETURN)
    assert (disk.folder / "float.brim.toml").exists()
    assert disk.desk.is_closed


def test_the_key_that_answers_leaves_no_letter(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    disk.hand.key(pygame.K_q, CTRL)
    disk.hand.send(pygame.KEYDOWN, key=pygame.K_s, mod=0, unicode="s")
    disk.hand.type("s")
    disk.hand.send(pygame.KEYUP, key=pygame.K_s, mod=0)
    assert disk.desk.editing is not None
    assert disk.desk.editing.text.endswith("float.brim.toml")


def test_opening_another_file_asks_as_well(disk: DiskDesk) -> None:
    path = disk.open("float.svg")
    other = disk.file("lure.svg")
    disk.hand.key(pygame.K_RIGHT)
    drop(disk, other)
    assert title(disk) == "Save the changes to float.svg?"
    disk.hand.key(pygame.K_ESCAPE)
    assert session(disk).artwork.path == path
    assert disk.desk.filing.is_unsaved
    drop(disk, other)
    disk.hand.key(pygame.K_l)
    disk.finish()
    assert session(disk).artwork.path == other


def test_work_left_for_a_file_that_cannot_be_read_is_still_unsaved(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    drop(disk, str(disk.folder / "none.svg"))
    disk.hand.key(pygame.K_l)
    disk.finish()
    assert disk.desk.filing.is_unsaved


def test_undoing_everything_leaves_nothing_to_save(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT)
    disk.hand.key(pygame.K_z, CTRL)
    disk.hand.key(pygame.K_q, CTRL)
    assert disk.desk.is_closed


# --- unsaved work of before ---------------------------------------------------------------


def left_behind(disk: DiskDesk, monkeypatch: pytest.MonkeyPatch) -> Session:
    """Work that a process has kept which is gone by now."""
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT, SHIFT)
    left = session(disk)
    assert keep_unsaved(job_of(left, "half done")) == ""
    own = recovery_module._own
    assert own is not None
    own._file.close()  # as the system does when a process ends
    monkeypatch.setattr(recovery_module, "_own", None)
    disk.desk.filing._store = None
    assert [u.job is not None for u in unsaved_jobs()] == [True]
    return left


def test_unsaved_work_is_offered_and_taken_up(
    disk: DiskDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    left = left_behind(disk, monkeypatch)
    later = DiskDesk(disk.folder)
    later.desk.filing.look_for_unsaved()
    later.until(lambda: title(later))
    assert title(later) == "The program ended before this work was saved"
    later.hand.key(pygame.K_t)
    later.finish()
    assert session(later).placement == left.placement
    assert later.desk.filing.is_unsaved
    assert later.store.wait(10)
    # It is this process's now, which is running: nothing is left to offer.
    assert unsaved_jobs() == ()
    assert len(list(Path(recovery_module.unsaved_folder()).glob("*.brim.toml"))) == 1
    later.close()
    forget_unsaved()


def test_unsaved_work_can_be_thrown_away_or_left(
    disk: DiskDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    left_behind(disk, monkeypatch)
    for key, count in ((pygame.K_ESCAPE, 1), (pygame.K_d, 0)):
        later = DiskDesk(disk.folder)
        later.desk.filing.look_for_unsaved()
        later.until(lambda later=later: title(later))
        later.hand.key(key)
        assert later.store.wait(10)
        assert len(unsaved_jobs()) == count
        later.close()


def test_work_is_kept_once_it_rests(disk: DiskDesk) -> None:
    disk.open("float.svg")
    disk.hand.key(pygame.K_RIGHT, SHIFT)
    assert disk.store.wait(10)
    kept = list(Path(recovery_module.unsaved_folder()).glob("*.brim.toml"))
    assert len(kept) == 1
    text = kept[0].read_text()
    assert f"{session(disk).placement.center_mm[0]!r}" in text
    disk.hand.key(pygame.K_z, CTRL)
    assert disk.store.wait(10)
    assert not list(Path(recovery_module.unsaved_folder()).glob("*.brim.toml"))


def test_a_drag_is_kept_as_well(disk: DiskDesk) -> None:
    disk.open("float.svg")
    assert disk.store.wait(10)
    center = disk.desk.layout.view.center
    disk.hand.press(center)
    for step in range(1, 5):
        disk.hand.move((center[0] + 5 * step, center[1]))
        disk.hand.show()  # a frame asks for the title and the card, too
    disk.hand.release((center[0] + 20, center[1]))
    assert disk.desk.filing.is_unsaved
    assert disk.store.wait(10)
    kept = list(Path(recovery_module.unsaved_folder()).glob("*.brim.toml"))
    assert [f"{session(disk).placement.center_mm[0]!r}" in f.read_text() for f in kept] == [True]


# --- settings -------------------------------------------------------------------------------


def test_settings_that_cannot_be_written_are_told_and_stop_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("BRIMCHECK_CONFIG", str(tmp_path / "file" / "below"))
    disk = DiskDesk(tmp_path)
    path = disk.open("float.svg")
    disk.until(lambda: "not kept" in said(disk))
    assert disk.desk.filing.recent == (path,)
    disk.hand.key(pygame.K_RIGHT)
    assert session(disk).artwork.path == path
    disk.close()


def test_the_window_size_is_kept(disk: DiskDesk) -> None:
    disk.desk.filing.keep_window_size((1234, 777))
    disk.close()
    assert load_settings().settings.window_px == (1234, 777)
    assert os.path.dirname(settings_path()) == os.environ["BRIMCHECK_CONFIG"]


# --- the system's dialog ----------------------------------------------------------------


def chooser(script: str) -> FileChooser:
    return FileChooser(lambda: None, [sys.executable, "-c", script])


def test_files_chosen_in_the_systems_dialog_are_opened(tmp_path: Path) -> None:
    paths = [tmp_path / "float.svg", tmp_path / "lure.svg"]
    script = f"import sys; sys.stdout.write({chr(0).join(map(str, paths))!r})"
    disk = DiskDesk(tmp_path, chooser(script))
    for path in paths:
        disk.file(path.name)
    disk.hand.key(pygame.K_o, CTRL)
    disk.until(lambda: disk.desk.session is not None or disk.desk.job is not None)
    disk.until(lambda: disk.desk.session is not None)
    assert session(disk).artwork.path == str(paths[0])
    assert not title(disk)
    listed = disk.desk.filing.listed()
    assert listed is not None
    assert len(listed.rows) == 2
    disk.close()


def test_the_dialog_never_holds_the_window_and_goes_when_a_path_is_typed(tmp_path: Path) -> None:
    slow = chooser("import time; time.sleep(60)")
    disk = DiskDesk(tmp_path, slow)
    path = disk.file("float.svg")
    disk.hand.key(pygame.K_o, CTRL)
    child = slow._child
    assert child is not None
    disk.hand.type(path)
    disk.hand.key(pygame.K_RETURN)
    disk.finish()
    assert session(disk).artwork.path == path
    assert child.wait(10) != 0
    disk.close()


@pytest.mark.parametrize("script", ["", "raise SystemExit(1)", "print('x'); raise SystemExit(3)"])
def test_a_dialog_left_or_failed_leaves_the_path_field(tmp_path: Path, script: str) -> None:
    asked = chooser(script)
    disk = DiskDesk(tmp_path, asked)
    disk.hand.key(pygame.K_o, CTRL)
    disk.until(lambda: not asked.is_open)
    disk.desk.poll()
    assert title(disk) == "Open a file"
    assert disk.desk.job is None
    disk.close()
