"""One page of a PDF (or PDF-compatible file): size, extent of its content, pictures of it.

Only pdfium's raw interface is used, and only here. Runs in a child process.
"""

from __future__ import annotations

import ctypes
import io
import math
import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viewer.artwork.formats.content import read_content
from viewer.artwork.formats.pdf_compare import show_the_same
from viewer.artwork.formats.pdf_scan import PdfWarnings, scan_document, scan_page
from viewer.artwork.formats.pdf_segments import with_short_segments
from viewer.artwork.formats.placed_pdf import read_placed_pdf
from viewer.errors import ArtworkError, RenderError

MM_PER_POINT = 25.4 / 72.0
LARGEST_COORDINATE_PT = 200_000.0
"""Content further out than this is not drawn; PDF pages end at 14400 units."""

LARGEST_BITMAP_PX = 64_000_000
MAX_FORM_DEPTH = 20
RECTANGLE_SKEW = 1e-5
"""pdfium snaps upright rectangles to whole pixels, up to half a pixel short of the truth.

Leaning by this much keeps it from doing so; over 4000 px it amounts to 0.04 px.
"""
_LETTER = (0.0, 0.0, 612.0, 792.0)

Box = tuple[float, float, float, float]
Rgba = NDArray[np.uint8]


@dataclass(frozen=True)
class PageFrame:
    """Where the visible page lies in user space, and how it is turned.

    ``visible`` is (x0, y0, x1, y1) in user units, y up; ``rotate_deg`` is
    clockwise as in the file, one of 0, 90, 180, 270.
    """

    media: Box
    visible: Box
    rotate_deg: int
    mm_per_unit: float

    @property
    def page_mm(self) -> tuple[float, float]:
        """Width and height as seen."""
        width = (self.visible[2] - self.visible[0]) * self.mm_per_unit
        height = (self.visible[3] - self.visible[1]) * self.mm_per_unit
        return (height, width) if self.rotate_deg in (90, 270) else (width, height)

    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """(a, b, c, d, e, f): X = a x + c y + e, Y = b x + d y + f, user units to mm."""
        x0, y0, x1, y1 = self.visible
        k = self.mm_per_unit
        if self.rotate_deg == 90:
            return 0.0, k, k, 0.0, -k * y0, -k * x0
        if self.rotate_deg == 180:
            return -k, 0.0, 0.0, k, k * x1, -k * y0
        if self.rotate_deg == 270:
            return 0.0, -k, -k, 0.0, k * y1, k * x1
        return k, 0.0, 0.0, -k, -k * x0, k * y1

    def box_mm(self, box: Box) -> list[float]:
        """A user-space box in page-frame mm, as [x0, y0, x1, y1]."""
        a, b, c, d, e, f = self.matrix()
        xs = [a * x + c * y + e for x in (box[0], box[2]) for y in (box[1], box[3])]
        ys = [b * x + d * y + f for x in (box[0], box[2]) for y in (box[1], box[3])]
        return [min(xs), min(ys), max(xs), max(ys)]


class PdfFile:
    """A page of a file, counted from 1. Raises ArtworkError when it cannot be used."""

    def __init__(self, path: str, page: int = 1) -> None:
        self._whole = read_content(path)
        self._document: Any = None
        self._page: Any = None
        self._name = os.path.basename(path)
        self._buffers: list[Any] = []  # pdfium reads from them as long as it is open
        self._placed = read_placed_pdf(self._whole.stream(), page)
        self._pages, self._frame, self._warnings = self._inspect(page)
        self._open(page)
        self._content = self._content_box()
        self._stroked_curves = self._has_any(_strokes_a_curve)
        self._pictures = self._has_any(_is_picture)
        self._sheet = self._enlarge_page(page)
        self._is_cut = self._cut_segments(page)

    def close(self) -> None:
        """Give the file back. May be called more than once."""
        pdfium = _pdfium()
        if self._page is not None:
            pdfium.FPDF_ClosePage(self._page)
            self._page = None
        if self._document is not None:
            pdfium.FPDF_CloseDocument(self._document)
            self._document = None

    def info(self) -> dict[str, Any]:
        """What is known without drawing; lengths in mm, page frame, JSON-able.

        ``content_mm`` is a conservative box round all that may be drawn, also
        beyond the page; None when the page has no objects.
        """
        frame = self._frame
        boxes = [frame.visible, frame.media] + ([self._content] if self._content else [])
        largest = max(abs(value) for box in boxes for value in box)
        return {
            "sha256": self._whole.sha256,
            "page_mm": list(frame.page_mm),
            "pages": self._pages,
            "warnings": [dict(warning) for warning in self._warnings],
            "content_mm": frame.box_mm(self._content) if self._content else None,
            "max_abs_coordinate_mm": largest * frame.mm_per_unit,
            "stroked_curves": self._stroked_curves,
            "pictures": self._pictures,
            "any_step": self._is_cut,
            "picture_rule": self._placed.picture.text() if self._placed.picture else None,
        }

    def draw(self, x0_mm: float, y0_mm: float, px_per_mm: float, w: int, h: int) -> Rgba:
        """A window of the page frame, (h, w, 4) straight-alpha RGBA, on nothing.

        What lies beyond the CropBox is drawn as well. Annotations are not.
        """
        return self._draw_page(self._page, x0_mm, y0_mm, px_per_mm, w, h)

    def _draw_page(
        self, page: Any, x0_mm: float, y0_mm: float, px_per_mm: float, w: int, h: int
    ) -> Rgba:
        if w <= 0 or h <= 0 or not px_per_mm > 0.0:
            raise RenderError("the window to draw is empty")
        if w * h > LARGEST_BITMAP_PX:
            raise RenderError(f"the window to draw is too large: {w} x {h} px")
        pdfium = _pdfium()
        bitmap = pdfium.FPDFBitmap_CreateEx(w, h, pdfium.FPDFBitmap_BGRA, None, 0)
        if not bitmap:
            raise RenderError(f"no memory for a picture of {w} x {h} px")
        try:
            matrix = pdfium.FS_MATRIX(*self._device_matrix(x0_mm, y0_mm, px_per_mm))
            clip = pdfium.FS_RECTF(0.0, 0.0, float(w), float(h))
            pdfium.FPDFBitmap_FillRect(bitmap, 0, 0, w, h, 0)
            pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page, matrix, clip, 0)
            return _copy_rgba(bitmap, w, h)
        finally:
            pdfium.FPDFBitmap_Destroy(bitmap)

    def _device_matrix(self, x0_mm: float, y0_mm: float, px_per_mm: float) -> list[float]:
        """From pdfium's own page space (top-left of the sheet, y down, points) to pixels."""
        a, b, c, d, e, f = self._frame.matrix()
        left, top = self._sheet[0], self._sheet[3]
        # x = left + u and y = top - v; worked out in double, pdfium goes on in float32.
        e += a * left + c * top - x0_mm
        f += b * left + d * top - y0_mm
        a, b, c, d, e, f = (value * px_per_mm for value in (a, b, -c, -d, e, f))
        k = RECTANGLE_SKEW
        return [a + k * b, b + k * a, c + k * d, d + k * c, e + k * f, f + k * e]

    def _source(self) -> io.BytesIO:
        """The file, or what it is without marks of ours."""
        return io.BytesIO(self._data)

    @property
    def _data(self) -> bytes:
        return self._whole.data if self._placed.data is None else self._placed.data

    def _inspect(self, page: int) -> tuple[int, PageFrame, PdfWarnings]:
        import pikepdf

        try:
            with pikepdf.open(self._source()) as pdf:
                count = len(pdf.pages)
                self._check_page(page, count)
                frame = read_frame(pdf.pages[page - 1].obj)
                warnings = scan_page(pdf.pages[page - 1].obj) + scan_document(pdf)
                warnings += [
                    {"code": w.code, "message": w.message, "blocks_fits": w.blocks_fits}
                    for w in self._placed.warnings
                ]
                self._check_damage(pdf.get_warnings(), warnings)
                return count, frame, warnings
        except pikepdf.PasswordError as error:
            raise ArtworkError(
                f"{self._name}: this PDF needs a password: save it without one",
                code="encrypted-pdf",
            ) from error
        except pikepdf.DependencyError as error:
            raise ArtworkError(f"{self._name}: cannot be read: {error}") from error
        except (pikepdf.PdfError, RuntimeError, ValueError, TypeError, KeyError) as error:
            raise self._damaged() from error
        except OSError as error:
            reason = error.strerror or type(error).__name__
            raise ArtworkError(f"{self._name}: cannot be read: {reason}") from error

    def _check_page(self, page: int, count: int) -> None:
        if count == 0:
            raise ArtworkError(f"{self._name}: this PDF has no pages", code="no-pages")
        if not 1 <= page <= count:
            has = "1 page" if count == 1 else f"{count} pages"
            raise ArtworkError(
                f"{self._name}: there is no page {page}: the file has {has}", code="page-range"
            )

    def _check_damage(self, complaints: list[Any], warnings: PdfWarnings) -> None:
        if not complaints:
            return
        if not _has_end_mark(self._whole.data):
            raise ArtworkError(
                f"{self._name}: the file is cut off: its end is missing", code="damaged"
            )
        message = "The file is damaged and was repaired for reading, so parts may be missing."
        warnings.append({"code": "damaged-pdf", "message": message, "blocks_fits": True})

    def _damaged(self) -> ArtworkError:
        return ArtworkError(
            f"{self._name}: the PDF is damaged and cannot be opened", code="damaged"
        )

    def _open(self, page: int) -> None:
        pdfium = _pdfium()
        self._document = self._load_bytes(self._data)
        if not self._document:
            self._document = None
            if pdfium.FPDF_GetLastError() == pdfium.FPDF_ERR_PASSWORD:
                raise ArtworkError(
                    f"{self._name}: this PDF needs a password: save it without one",
                    code="encrypted-pdf",
                )
            raise self._damaged()
        self._load_page(page)

    def _load_bytes(self, data: bytes) -> Any:
        buffer = ctypes.create_string_buffer(data, len(data))
        self._buffers.append(buffer)
        return _pdfium().FPDF_LoadMemDocument64(buffer, len(data), None)

    def _load_page(self, page: int) -> None:
        self._page = _pdfium().FPDF_LoadPage(self._document, page - 1)
        if not self._page:
            self._page = None
            self.close()
            raise self._damaged()

    def _content_box(self) -> Box | None:
        pdfium = _pdfium()
        box: Box | None = None
        for index in range(pdfium.FPDFPage_CountObjects(self._page)):
            found = _object_box(pdfium.FPDFPage_GetObject(self._page, index))
            box = _union(box, found)
        return box

    def _cut_segments(self, page: int) -> bool:
        """Go on with a copy in memory that can be drawn at any step, if it can be made.

        Only where it looks like the page itself; else the page is drawn as it is, which
        costs some certainty about the outline.
        """
        copy = with_short_segments(self._source(), page, self._frame.mm_per_unit)
        document = None if copy is None else self._load_bytes(copy)
        if not document:
            return False
        original = self._document, self._page
        self._document, self._page = document, None
        try:
            self._load_page(page)
            self._enlarge_page(page)
        except ArtworkError:
            self._document, self._page = original
            return False
        cut = self._document, self._page
        is_same = show_the_same(self._drawing(original[1]), self._drawing(cut[1]), self._near())
        self._document, self._page = original if is_same else cut
        self.close()
        self._document, self._page = cut if is_same else original
        return is_same

    def _drawing(self, page: Any) -> Callable[[float, float, float, int, int], Rgba]:
        return lambda *window: self._draw_page(page, *window)

    def _near(self) -> Box:
        """The sheet in mm, as far as ink on it is measured."""
        (width, height), sheet = self._frame.page_mm, self._frame.box_mm(self._sheet)
        reach = max(width, height)
        return (
            max(sheet[0], -reach),
            max(sheet[1], -reach),
            min(sheet[2], width + reach),
            min(sheet[3], height + reach),
        )

    def _has_any(self, is_such: Callable[[Any], bool]) -> bool:
        """Whether an object of the page, or in a form on it, is such.

        Strokes on curves: pdfium draws their ends less exactly. Pictures: it moves them.
        """
        pdfium = _pdfium()
        count = pdfium.FPDFPage_CountObjects(self._page)
        return any(
            _any_in(pdfium.FPDFPage_GetObject(self._page, i), 0, is_such) for i in range(count)
        )

    def _enlarge_page(self, page: int) -> Box:
        """Make the page a sheet that holds all content, upright, so nothing is cut off.

        pdfium clips to the page box it found when the page was loaded: the boxes are
        set and the page loaded again. Only the copy in memory changes.
        """
        pdfium = _pdfium()
        whole = _union(_union(self._frame.media, self._frame.visible), self._content)
        assert whole is not None
        # Whole numbers stay exact in float32, so the matrix needs no correction.
        sheet = (
            math.floor(max(whole[0], -LARGEST_COORDINATE_PT)) - 2.0,
            math.floor(max(whole[1], -LARGEST_COORDINATE_PT)) - 2.0,
            math.ceil(min(whole[2], LARGEST_COORDINATE_PT)) + 2.0,
            math.ceil(min(whole[3], LARGEST_COORDINATE_PT)) + 2.0,
        )
        pdfium.FPDFPage_SetRotation(self._page, 0)
        pdfium.FPDFPage_SetMediaBox(self._page, *sheet)
        pdfium.FPDFPage_SetCropBox(self._page, *sheet)
        pdfium.FPDF_ClosePage(self._page)
        self._load_page(page)
        return sheet


_library: Any = None


def _pdfium() -> Any:
    """The raw library, initialised once per process."""
    global _library
    if _library is None:
        import pypdfium2.raw

        pypdfium2.raw.FPDF_InitLibrary()
        _library = pypdfium2.raw
    return _library


def _copy_rgba(bitmap: Any, w: int, h: int) -> Rgba:
    pdfium = _pdfium()
    stride = int(pdfium.FPDFBitmap_GetStride(bitmap))
    buffer_type = ctypes.c_uint8 * (stride * h)
    buffer = ctypes.cast(pdfium.FPDFBitmap_GetBuffer(bitmap), ctypes.POINTER(buffer_type))
    rows = np.frombuffer(memoryview(buffer.contents), dtype=np.uint8).reshape(h, stride)
    bgra = rows[:, : 4 * w].reshape(h, w, 4)
    return np.ascontiguousarray(bgra[..., (2, 1, 0, 3)])


def _has_end_mark(data: bytes) -> bool:
    return b"%%EOF" in data[-4096:]


# Page geometry: ISO 32000-1, 7.7.3.3 and table 30


def read_frame(page: Any) -> PageFrame:
    """Boxes, rotation and user unit of a pikepdf page, with what it inherits."""
    media = _read_box(_inherited(page, "/MediaBox")) or _LETTER
    crop = _read_box(_inherited(page, "/CropBox")) or media
    unit = _number(page.get("/UserUnit"), 1.0)
    rotate = _number(_inherited(page, "/Rotate"), 0.0)
    visible = _intersection(media, crop) or media
    turned = round(rotate / 90.0) * 90 % 360
    return PageFrame(media, visible, turned, (unit if unit > 0.0 else 1.0) * MM_PER_POINT)


def _inherited(page: Any, key: str) -> Any:
    node = page
    for _ in range(64):
        if key in node:
            return node[key]
        if "/Parent" not in node:
            return None
        node = node["/Parent"]
    return None


def _number(value: Any, default: float) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError):
        return default
    return number if math.isfinite(number) else default


def _read_box(value: Any) -> Box | None:
    if value is None:
        return None
    try:
        x0, y0, x1, y1 = (float(number) for number in value)
    except (TypeError, ValueError):
        return None
    box = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return box if box[2] > box[0] and box[3] > box[1] else None


def _intersection(a: Box, b: Box) -> Box | None:
    box = (max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3]))
    return box if box[2] > box[0] and box[3] > box[1] else None


def _union(a: Box | None, b: Box | None) -> Box | None:
    if a is None or b is None:
        return a or b
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


# Extent of page objects


def _any_in(item: Any, depth: int, is_such: Callable[[Any], bool]) -> bool:
    """Also true for what is nested too deep to be looked at."""
    pdfium = _pdfium()
    if pdfium.FPDFPageObj_GetType(item) != pdfium.FPDF_PAGEOBJ_FORM:
        return is_such(item)
    if depth > 12:
        return True
    count = pdfium.FPDFFormObj_CountObjects(item)
    return any(
        _any_in(pdfium.FPDFFormObj_GetObject(item, i), depth + 1, is_such) for i in range(count)
    )


def _is_picture(item: Any) -> bool:
    pdfium = _pdfium()
    return bool(pdfium.FPDFPageObj_GetType(item) == pdfium.FPDF_PAGEOBJ_IMAGE)


def _strokes_a_curve(item: Any) -> bool:
    pdfium = _pdfium()
    kind = pdfium.FPDFPageObj_GetType(item)
    if kind == pdfium.FPDF_PAGEOBJ_TEXT:
        return bool(pdfium.FPDFTextObj_GetTextRenderMode(item) in (1, 2, 5, 6))
    if kind != pdfium.FPDF_PAGEOBJ_PATH:
        return False
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    if not pdfium.FPDFPath_GetDrawMode(item, fill, stroke) or not stroke.value:
        return False
    return any(
        pdfium.FPDFPathSegment_GetType(pdfium.FPDFPath_GetPathSegment(item, i))
        == pdfium.FPDF_SEGMENT_BEZIERTO
        for i in range(pdfium.FPDFPath_CountSegments(item))
    )


def _object_box(item: Any) -> Box | None:
    """Conservative bounds in user units; None when a clip leaves nothing of the object."""
    pdfium = _pdfium()
    sides = [ctypes.c_float() for _ in range(4)]
    if not pdfium.FPDFPageObj_GetBounds(item, *sides):
        return None
    x0, y0, x1, y1 = (side.value for side in sides)
    if not all(math.isfinite(value) for value in (x0, y0, x1, y1)):
        return None
    pad = 0.01
    if pdfium.FPDFPageObj_GetType(item) in (pdfium.FPDF_PAGEOBJ_TEXT, pdfium.FPDF_PAGEOBJ_FORM):
        # Text is bounded by what its font claims; glyphs may reach beyond.
        pad += _text_pad(item, 0)
    box = (x0 - pad, y0 - pad, x1 + pad, y1 + pad)
    clip = _clip_box(item)
    return box if clip is None else _intersection(box, clip)


def _text_pad(item: Any, depth: int) -> float:
    """One em, in the units of the item's surroundings, of the largest text in it."""
    pdfium = _pdfium()
    kind = pdfium.FPDFPageObj_GetType(item)
    matrix = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(item, matrix)
    scale = max(math.hypot(matrix.a, matrix.b), math.hypot(matrix.c, matrix.d))
    if kind == pdfium.FPDF_PAGEOBJ_TEXT:
        size = ctypes.c_float()
        pdfium.FPDFTextObj_GetFontSize(item, size)
        return abs(size.value) * scale
    if kind != pdfium.FPDF_PAGEOBJ_FORM or depth >= MAX_FORM_DEPTH:
        return 0.0
    count = pdfium.FPDFFormObj_CountObjects(item)
    inner = (pdfium.FPDFFormObj_GetObject(item, index) for index in range(count))
    return scale * max((_text_pad(part, depth + 1) for part in inner), default=0.0)


def _clip_box(item: Any) -> Box | None:
    """Bounds of the object's clip paths together; None: not clipped."""
    pdfium = _pdfium()
    clip = pdfium.FPDFPageObj_GetClipPath(item)
    result: Box | None = None
    for index in range(pdfium.FPDFClipPath_CountPaths(clip) if clip else 0):
        box = _clip_path_box(clip, index)
        if box is not None:
            # An empty intersection is a clip that lets nothing through: keep one corner.
            result = box if result is None else _clamped(result, box)
    return result


def _clamped(a: Box, b: Box) -> Box:
    x0, y0 = max(a[0], b[0]), max(a[1], b[1])
    return x0, y0, max(x0, min(a[2], b[2])), max(y0, min(a[3], b[3]))


def _clip_path_box(clip: Any, index: int) -> Box | None:
    pdfium = _pdfium()
    x, y = ctypes.c_float(), ctypes.c_float()
    xs: list[float] = []
    ys: list[float] = []
    for part in range(pdfium.FPDFClipPath_CountPathSegments(clip, index)):
        segment = pdfium.FPDFClipPath_GetPathSegment(clip, index, part)
        if segment and pdfium.FPDFPathSegment_GetPoint(segment, x, y):
            xs.append(x.value)
            ys.append(y.value)
    if not xs:
        return None
    return min(xs) - 0.01, min(ys) - 0.01, max(xs) + 0.01, max(ys) + 0.01
