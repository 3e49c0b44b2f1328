"""Write the demo artwork again: ``python assets_demo/make_demo.py [FOLDER]``.

The drawings (SVG, PDF) come out byte for byte the same everywhere; the pictures
have the same pixels, though other versions of Pillow may pack them differently.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

import badge_art  # noqa: E402
import pdf_art  # noqa: E402
import raster_art  # noqa: E402
import svg_art  # noqa: E402
from PIL import Image  # noqa: E402


def _text(draw: Callable[[], str]) -> Callable[[], bytes]:
    return lambda: draw().encode("utf-8")


def _picture(draw: Callable[[], Image.Image], kind: str, **options: object) -> Callable[[], bytes]:
    def write() -> bytes:
        stream = io.BytesIO()
        draw().save(stream, kind, **options)
        return stream.getvalue()

    return write


FILES: dict[str, Callable[[], bytes]] = {
    "pennant.svg": _text(svg_art.pennant),
    "compass_px.svg": _text(svg_art.compass_px),
    "life_ring_white.svg": _text(svg_art.life_ring_white),
    "porthole_mask.svg": _text(svg_art.porthole_mask),
    "three_floats.svg": _text(svg_art.three_floats),
    "lure_side.svg": _text(svg_art.lure_side),
    "mug_tile.svg": _text(svg_art.mug_tile),
    "anchor_speck.svg": _text(svg_art.anchor_speck),
    "oars_over_edge.svg": _text(svg_art.oars_over_edge),
    "harbour_badge.svg": _text(badge_art.harbour_badge),
    "start_plate.pdf": pdf_art.start_plate,
    "whistle_600dpi.png": _picture(raster_art.whistle, "PNG", dpi=(600, 600), optimize=True),
    "race_flag_600dpi.tif": _picture(
        raster_art.race_flag, "TIFF", dpi=(600, 600), compression="group4"
    ),
    "mark_without_size.png": _picture(raster_art.mark_without_size, "PNG", optimize=True),
    "bobber_scan.jpg": _picture(
        raster_art.bobber_scan, "JPEG", dpi=(300, 300), quality=93, subsampling=0
    ),
}


def main(arguments: list[str]) -> int:
    """Write every file into the folder given, or next to this script."""
    folder = Path(arguments[0]) if arguments else HERE
    folder.mkdir(parents=True, exist_ok=True)
    for name, write in FILES.items():
        (folder / name).write_bytes(write())
    print(f"{len(FILES)} files written to {folder}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
