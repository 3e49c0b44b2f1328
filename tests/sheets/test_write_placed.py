"""What is refused, what the page is, and that no half or wrong file is ever left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork
from viewer.errors import ArtworkError, UsageError
from viewer.fit import Placement
from viewer.press import Cup, EtchArea, PressLimits
from viewer.sheets.layout import page_for, ring_diameters_mm
from viewer.sheets.placed import write_placed

from .shapes import CUP, PLACEMENTS, need_cairo, pennant, write

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def artwork(tmp_path: Path) -> Artwork:
    return load_artwork(write(tmp_path / "pennant.svg", pennant()))


@pytest.mark.parametrize(
    ("cup", "limits", "page_mm"),
    [
        (Cup("75", 75.0), PressLimits(), (85.0, 85.0)),
        (Cup("75", 75.0, named_by="inside"), PressLimits(), (91.0, 91.0)),
        (Cup("75.2", 75.2), PressLimits(), (86.0, 86.0)),
        (Cup("75", 75.0), PressLimits(etch=EtchArea(120.0, 60.5)), (130.0, 85.0)),
        # 20 mm to the right: half of 120 and 20 on both sides, so that the cup stays central.
        (Cup("75", 75.0), PressLimits(etch=EtchArea(120.0, 90.5, (20.0, 0.0))), (170.0, 101.0)),
    ],
)
def test_page_holds_ring_and_etch_area(
    cup: Cup, limits: PressLimits, page_mm: tuple[float, float]
) -> None:
    assert page_for(cup, limits) == page_mm


def test_rings() -> None:
    assert ring_diameters_mm(CUP) == (63.75, 69.0, 75.0)
    assert ring_diameters_mm(Cup("75", 75.0, ring_width_mm=0.0)) == (63.75, 75.0)


def test_the_plate_decides_the_page(artwork: Artwork, tmp_path: Path) -> None:
    placed = write_placed(
        artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.svg"), plate_mm=(100.5, 60.25)
    )
    assert placed.page_mm == (100.5, 60.25)
    assert placed.cup_center_mm == (50.25, 30.125)
    text = (tmp_path / "sheet.svg").read_text()
    assert 'width="100.5mm" height="60.25mm" viewBox="0 0 100.5 60.25"' in text
    assert "<title>pennant.svg placed for cup 75</title>" in text
    assert "<dc:creator>brimcheck</dc:creator>" in text


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_the_same_sheet_twice_is_the_same_file(
    ending: str, artwork: Artwork, tmp_path: Path
) -> None:
    if ending == "pdf":
        need_cairo()
    for name in ("one", "two"):
        write_placed(
            artwork, CUP, PLACEMENTS[1], str(tmp_path / f"{name}.{ending}"), with_rings=True
        )
    assert (tmp_path / f"one.{ending}").read_bytes() == (tmp_path / f"two.{ending}").read_bytes()


@pytest.mark.parametrize(
    ("target", "message"),
    [
        ("sheet.png", r"sheet\.png: a sheet is written as \.svg or \.pdf"),
        ("sheet", r"sheet: a sheet is written as"),
        ("nowhere/sheet.svg", r"there is no folder .*nowhere; make it first"),
        ("folder.svg", r"folder\.svg: is a folder"),
        ("pennant.svg", r"pennant\.svg: is the artwork itself"),
        ("same.svg", r"same\.svg: is the artwork itself"),
    ],
)
def test_targets_that_are_refused(
    target: str, message: str, artwork: Artwork, tmp_path: Path
) -> None:
    (tmp_path / "folder.svg").mkdir()
    os.link(tmp_path / "pennant.svg", tmp_path / "same.svg")
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(UsageError, match=message) as caught:
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / target))
    assert "\n" not in caught.value.message
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert (tmp_path / "pennant.svg").read_bytes() == pennant()


@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written(artwork: Artwork, tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    folder.chmod(0o500)
    with pytest.raises(UsageError, match="may not be written to"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(folder / "sheet.svg"))


def test_a_full_disk_is_one_line(
    artwork: Artwork, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_fd: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UsageError, match=r"sheet\.svg: cannot be written: No space left"):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "sheet.svg"))
    assert [path.name for path in tmp_path.iterdir()] == ["pennant.svg"]


@pytest.mark.parametrize("plate_mm", [(0.0, 50.0), (50.0, -1.0), (float("nan"), 5.0), (6e3, 50.0)])
def test_plates_that_are_none(
    plate_mm: tuple[float, float], artwork: Artwork, tmp_path: Path
) -> None:
    with pytest.raises(UsageError, match="plate: "):
        write_placed(artwork, CUP, PLACEMENTS[0], str(tmp_path / "s.svg"), plate_mm=plate_mm)


def test_a_placement_that_is_none(artwork: Artwork, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="plain numbers"):
        write_placed(artwork, CUP, Placement((0.0, float("inf"))), str(tmp_path / "sheet.svg"))


def test_a_file_that_is_gone_or_changed(artwork: Artwork, tmp_path: Path) -> None:
    target = str(tmp_path / "sheet.svg")
    write(tmp_path / "pennant.svg", pennant(more="<g/>"))
    with pytest.raises(ArtworkError, match="has changed since it was measured") as caught:
        write_placed(artwork, CUP, PLACEMENTS[0], target)
    assert caught.value.code == "changed"
    (tmp_path / "pennant.svg").unlink()
    with pytest.raises(ArtworkError, match=r"pennant\.svg: No such file"):
        write_placed(artwork, CUP, PLACEMENTS[0], target)
    assert not list(tmp_path.iterdir())


KILLED = """
import os, signal, sys
from viewer.artwork.load import load_artwork
from viewer.fit import Placement
from viewer.press import Cup
from viewer.sheets import placed
def die(temporary, target):
    assert os.path.getsize(temporary) > 0
    os.kill(os.getpid(), signal.SIGKILL)
placed._rename = die
artwork = load_artwork(sys.argv[1])
placed.write_placed(artwork, Cup("75", 75.0), Placement((30.0, 20.0), 5.0), sys.argv[2])
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
@pytest.mark.parametrize("old", [None, "the old one"])
def test_killed_before_the_rename(old: str | None, tmp_path: Path) -> None:
    path, target = write(tmp_path / "pennant.svg", pennant()), tmp_path / "sheet.svg"
    if old is not None:
        target.write_text(old)
    done = subprocess.run([sys.executable, "-c", KILLED, path, str(target)], cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert (target.read_text() if target.exists() else None) == old


def test_an_existing_target_is_replaced(artwork: Artwork, tmp_path: Path) -> None:
    target = tmp_path / "sheet.svg"
    target.write_text("the old one")
    write_placed(artwork, CUP, PLACEMENTS[0], str(target))
    assert target.read_text().startswith("<?xml")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pennant.svg", "sheet.svg"]


def test_importing_it_loads_no_foreign_library() -> None:
    code = (
        "import sys, viewer.sheets.placed\n"
        "heavy = ('pikepdf', 'PIL', 'cairosvg', 'resvg_py', 'pygame', 'pypdfium2')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True
    )
    assert done.stdout.strip() == "[]"
