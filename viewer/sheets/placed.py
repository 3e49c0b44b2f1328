"""Write artwork as placed: its own bytes, shifted, turned and scaled, on a plate-sized page.

Nothing is handed over on trust. The sheet is written beside the target, read back like
any other file, and its outline compared with where the measured one has to lie; only then
does it take the target's name.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from viewer.artwork.formats.svg_source import read_svg
from viewer.artwork.load import load_artwork
from viewer.artwork.model import Artwork, LoadOptions
from viewer.errors import ArtworkError, BrimcheckError, UsageError
from viewer.fit import Placement
from viewer.geometry import hull_excess
from viewer.press import Cup, PressLimits
from viewer.sheets.layout import SheetLayout, lay_out
from viewer.sheets.placed_pdf import (
    drawing_pdf_sheet,
    pdf_sheet,
    picture_pdf_sheet,
    sheet_of_a_picture,
)
from viewer.sheets.placed_svg import drawing_sheet, picture_sheet

AGREEMENT_MM = 0.02
"""How far the sheet may lie from what was measured, besides what both are uncertain by."""
_ENDINGS = (".svg", ".pdf")


@dataclass(frozen=True)
class Placed:
    """A sheet that has been written and read back. Lengths in mm.

    ``cup_center_mm`` is a point of the sheet's page. The artwork read from the sheet stands
    there with no turn as it stood when it was placed.
    """

    path: str
    page_mm: tuple[float, float]
    cup_center_mm: tuple[float, float]


def write_placed(
    artwork: Artwork,
    cup: Cup,
    placement: Placement,
    target: str,
    *,
    plate_mm: tuple[float, float] | None = None,
    limits: PressLimits | None = None,
    with_rings: bool = False,
) -> Placed:
    """Write ``artwork`` as placed to ``target`` (.svg or .pdf), a sheet at true scale.

    The cup's center stands in the middle of the page: of ``plate_mm`` (across, along), or
    of whole millimeters that hold the ring and the etch area of ``limits``. A cross marks
    it; ``with_rings`` adds the image circle and the ring's edges. The marks are on a
    layer of their own, which is not measured when the sheet is read back.

    UsageError when the call or the target is wrong; ArtworkError when the file has changed
    since it was measured, or when the sheet would not be the same artwork: then nothing is
    written. A target that exists is replaced, in one step.
    """
    ending = _check_target(artwork, target)
    layout = lay_out(artwork, cup, placement, plate_mm, limits or PressLimits(), with_rings)
    name = os.path.basename(artwork.path)
    data = _unchanged_bytes(artwork)
    try:
        sheet = _sheet_bytes(artwork, data, layout, ending)
    except BrimcheckError as error:
        raise _about(error, name, ending) from None
    if artwork.format != "svg":
        _unchanged_bytes(artwork)  # it was read anew by name while the sheet was made
    with _beside(target, ending) as temporary:
        _write(temporary, sheet, target)
        _check_sheet(temporary, artwork, layout, name, ending)
        _rename(temporary, target)
    return Placed(target, layout.page_mm, layout.cup_center_mm)


def checked_sheet(artwork: Artwork, layout: SheetLayout, path: str) -> bytes:
    """The bytes of a sheet, written to ``path`` (.svg or .pdf) to be read back and compared.

    ArtworkError as of `write_placed`.
    """
    ending = os.path.splitext(path)[1].lower()
    name = os.path.basename(artwork.path)
    sheet = _sheet_bytes(artwork, _unchanged_bytes(artwork), layout, ending)
    _unchanged_bytes(artwork)
    _write(path, sheet, path)
    _check_sheet(path, artwork, layout, name, ending)
    return sheet


def _check_target(artwork: Artwork, target: str) -> str:
    """The target's ending. UsageError for a target that cannot be written."""
    ending = os.path.splitext(target)[1].lower()
    if ending not in _ENDINGS:
        raise UsageError(f"{target}: a sheet is written as .svg or .pdf; give a name that ends so")
    if artwork.format == "pdf" and ending == ".svg":
        raise UsageError(f"{target}: a PDF cannot be placed in an SVG; give a name in .pdf")
    if os.path.isdir(target):
        raise UsageError(f"{target}: is a folder; give the name of a file")
    folder = os.path.dirname(os.path.abspath(target))
    if not os.path.isdir(folder):
        raise UsageError(f"{target}: there is no folder {folder}; make it first")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise UsageError(f"{target}: the folder {folder} may not be written to")
    with contextlib.suppress(OSError):
        if os.path.samefile(target, artwork.path):
            raise UsageError(f"{target}: is the artwork itself; give another name")
    return ending


def _unchanged_bytes(artwork: Artwork) -> bytes:
    try:
        with open(artwork.path, "rb") as stream:
            data = stream.read()
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise ArtworkError(f"{artwork.path}: {reason}") from None
    if hashlib.sha256(data).hexdigest() != artwork.sha256:
        raise ArtworkError(
            f"{artwork.path}: has changed since it was measured; open it again", code="changed"
        )
    return data


def _sheet_bytes(artwork: Artwork, data: bytes, layout: SheetLayout, ending: str) -> bytes:
    if artwork.format == "pdf":
        return pdf_sheet(artwork, layout)
    if artwork.format == "image":
        write = picture_sheet if ending == ".svg" else picture_pdf_sheet
        return write(artwork, layout)
    source = read_svg(data, artwork.options.px_per_inch)
    if source.picture is not None:
        raise sheet_of_a_picture()
    writers: dict[str, Callable[..., bytes]] = {".svg": drawing_sheet, ".pdf": drawing_pdf_sheet}
    return writers[ending](artwork, source, layout)


def _about(error: BrimcheckError, name: str, ending: str) -> BrimcheckError:
    """The same error with the artwork's name and, for a PDF of an SVG, the way out."""
    if error.code == "render-failed" and ending == ".pdf":
        text = f"it cannot be written as PDF ({error.message}); give a name in .svg"
        return type(error)(f"{name}: {text}", code=error.code)
    return type(error)(f"{name}: {error.message}", code=error.code)


@contextlib.contextmanager
def _beside(target: str, ending: str) -> Iterator[str]:
    """A name in the target's folder; what it names is gone afterwards."""
    folder = os.path.dirname(os.path.abspath(target))
    temporary = os.path.join(folder, f".brimcheck-{secrets.token_hex(6)}{ending}")
    try:
        yield temporary
    finally:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def _write(temporary: str, data: bytes, target: str) -> None:
    try:
        with open(temporary, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as error:
        raise _cannot_write(target, error) from None


def _rename(temporary: str, target: str) -> None:
    try:
        os.replace(temporary, target)
    except OSError as error:
        raise _cannot_write(target, error) from None


def _cannot_write(target: str, error: OSError) -> UsageError:
    return UsageError(f"{target}: cannot be written: {error.strerror or type(error).__name__}")


def _check_sheet(path: str, artwork: Artwork, layout: SheetLayout, name: str, ending: str) -> None:
    """Read the sheet and compare; ArtworkError when it is not the artwork as measured."""
    try:
        back = load_artwork(path, _options_for(artwork, layout))
    except BrimcheckError as error:
        reason = error.message.replace(os.path.basename(path), "the sheet")
        if error.code == "no-ink":
            raise _refusal(artwork, name, ending, "the sheet comes out empty") from None
        raise _refusal(artwork, name, ending, f"it cannot be read back: {reason}") from None
    if _is_coarse(back) and not _is_coarse(artwork):
        raise _refusal(artwork, name, ending, "it cannot be read back finely")
    expected = layout.to_page.map_points(artwork.outline.hull_mm)
    allowed = AGREEMENT_MM + artwork.outline.uncertainty_mm + back.outline.uncertainty_mm
    over, at = max(
        hull_excess(back.outline.hull_mm, expected), hull_excess(expected, back.outline.hull_mm)
    )
    if over > allowed:
        place = f"near ({at[0]:.1f}, {at[1]:.1f}) mm of the sheet"
        raise _refusal(artwork, name, ending, f"it comes out {over:.2f} mm different {place}")
    wrong = max(abs(a - b) for a, b in zip(back.page_mm, layout.page_mm, strict=True))
    if wrong > AGREEMENT_MM / 2.0:
        raise _refusal(artwork, name, ending, "its page comes out in another size")


def _is_coarse(artwork: Artwork) -> bool:
    """Whether the outline is hardly known, so that comparing it would prove little."""
    return any(warning.code == "coarse-only" for warning in artwork.warnings)


def _options_for(artwork: Artwork, layout: SheetLayout) -> LoadOptions:
    """Read as the artwork was read; the sheet has its own size and one page.

    Pieces that were left out are on the sheet as well, elsewhere: they are left out again.
    """
    left_out = [piece.point_mm for piece in artwork.left_out]
    placed = layout.to_page.map_points(np.array(left_out).reshape(-1, 2)).tolist()
    kept = LoadOptions(
        trust=artwork.options.trust,
        ignore_specks=artwork.options.ignore_specks,
        leave_out=tuple((x, y) for x, y in placed),
        time_budget_s=max(artwork.options.time_budget_s, 60.0),
    )
    if artwork.format == "image":
        return kept  # the sheet brings the picture's own rule along
    return replace(kept, paper=artwork.options.paper, white=artwork.options.white)


def _refusal(artwork: Artwork, name: str, ending: str, what: str) -> ArtworkError:
    way_out = "place a simpler copy of the drawing"
    if artwork.format != "pdf" and ending == ".pdf":
        way_out = "give a name in .svg"
    return ArtworkError(f"{name}: nothing was written: {what}; {way_out}", code="not-placed")
