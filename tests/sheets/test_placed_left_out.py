"""A sheet of artwork of which pieces are left out: they are on it, and are left out again."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from viewer.artwork.load import load_artwork
from viewer.artwork.model import LoadOptions
from viewer.cli import main
from viewer.fit import Placement
from viewer.sheets.placed import write_placed

from .shapes import CUP, need_cairo

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="70mm" viewBox="0 0 90 70">'
    '<path d="M2 2h86v66h-86z" fill="none" stroke="#123"/>'
    '<path d="M30 20h25v30l-25 -8z" fill="#123"/></svg>'
)
FRAME = (45.0, 2.0)


def _svg(folder: Path) -> str:
    path = folder / "framed.svg"
    path.write_text(SVG, encoding="utf-8")
    return str(path)


def _png(folder: Path) -> str:
    picture = Image.new("RGBA", (900, 700))
    picture.paste((20, 40, 60, 255), (15, 15, 885, 685))
    picture.paste((0, 0, 0, 0), (25, 25, 875, 675))
    picture.paste((20, 40, 60, 255), (300, 200, 550, 450))
    picture.save(folder / "framed.png", dpi=(254, 254))
    return str(folder / "framed.png")


@pytest.mark.parametrize("write", [_svg, _png])
@pytest.mark.parametrize("ending", [".svg", ".pdf"])
@pytest.mark.parametrize("turn_deg", [0.0, 33.0])
def test_the_sheet_is_read_back_without_them(
    write: object, ending: str, turn_deg: float, tmp_path: Path
) -> None:
    if ending == ".pdf" and write is _svg:
        need_cairo()
    path = write(tmp_path)  # type: ignore[operator]
    artwork = load_artwork(path, LoadOptions(leave_out=(FRAME,), scale=0.9))
    placement = Placement((38.0, 31.0), turn_deg)
    target = tmp_path / f"sheet{ending}"
    write_placed(artwork, CUP, placement, str(target), plate_mm=(120.0, 110.0))
    # Without being told, it is read with the frame, which is wider than the mark.
    whole = load_artwork(str(target))
    assert whole.outline.hull_mm[:, 0].max() - whole.outline.hull_mm[:, 0].min() > 70.0


def test_place_says_that_they_are_in_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "sheet.svg"
    call = ["place", _svg(tmp_path), "-o", str(target), "--leave-out", "45,2", "--cup", "75"]
    assert main(call) == 0
    assert "left out when measuring is in the file all the same" in capsys.readouterr().out
