"""A copy of a PDF page, in memory, in which no path segment is long.

pdfium clamps the points of a path to 32,000 pixels from the window that it draws. A long
segment that passes the window is bent by that; a short one has both ends near the window,
or lies far away before and after. So with short segments a page of any size can be drawn
at any step. The curve and the line stay exactly what they were: only cut.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

Point = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]

LONGEST_MM = 15.0
_IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_MOST_INSTRUCTIONS = 200_000
_MOST_PIECES = 4_000
_MAX_DEPTH = 12


class _NotCut(Exception):
    """The page holds what must not be cut, or too much of it."""


def with_short_segments(source: str | io.BytesIO, page: int, mm_per_unit: float) -> bytes | None:
    """The whole PDF with one page so treated; None where that cannot be done.

    Dashed lines are left alone, since a clamped part would shift their dashes: a page
    with any gives None.
    """
    import pikepdf

    try:
        with pikepdf.open(source) as pdf:
            _Cutter(pdf, LONGEST_MM / mm_per_unit).page(pdf.pages[page - 1].obj)
            stream = io.BytesIO()
            pdf.save(stream)
            return stream.getvalue()
    except (_NotCut, pikepdf.PdfError, RuntimeError, ValueError, TypeError, LookupError, OSError):
        return None


class _Cutter:
    def __init__(self, pdf: Any, longest: float) -> None:
        self._pdf = pdf
        self._longest = longest
        self._forms: dict[Any, float] = {}
        self._instructions = 0

    def page(self, page: Any) -> None:
        import pikepdf

        resources = pikepdf.Page(page).resources
        content = self._content(pikepdf.Page(page), resources, _IDENTITY, 0)
        page["/Contents"] = self._pdf.make_stream(content)

    def _content(self, holder: Any, resources: Any, ctm: Matrix, depth: int) -> bytes:
        import pikepdf

        if depth > _MAX_DEPTH:
            raise _NotCut
        for state in dict(resources.get("/ExtGState", {})).values():
            if "/D" in state:
                raise _NotCut
        instructions = pikepdf.parse_content_stream(holder)
        self._instructions += len(instructions)
        if self._instructions > _MOST_INSTRUCTIONS:
            raise _NotCut
        return bytes(pikepdf.unparse_content_stream(self._cut(instructions, resources, ctm, depth)))

    def _cut(
        self, instructions: Iterable[Any], resources: Any, ctm: Matrix, depth: int
    ) -> list[Any]:
        out: list[Any] = []
        stack: list[Matrix] = []
        path = _Path(out)
        for instruction in instructions:
            name = str(instruction.operator)
            if name in _PATH_OPERATORS:
                values = [float(v) for v in instruction.operands]
                path.add(name, values, self._longest / max(_largest_scale(ctm), 1e-12))
                continue
            if name in _CLIPPING:
                path.is_clip = True
            elif name in _PAINTING:
                path.finish(name)
            if name == "q":
                stack.append(ctm)
            elif name == "Q":
                ctm = stack.pop() if stack else ctm
            elif name == "cm":
                a, b, c, d, e, f = (float(v) for v in instruction.operands)
                ctm = _product((a, b, c, d, e, f), ctm)
            elif name == "d" and len(instruction.operands[0]):
                raise _NotCut
            elif name == "Do":
                self._form(resources, str(instruction.operands[0]), ctm, depth)
            out.append(instruction)
        return out

    def _form(self, resources: Any, name: str, ctm: Matrix, depth: int) -> None:
        form = resources.get("/XObject", {}).get(name)
        if form is None or form.get("/Subtype") != "/Form":
            return
        if "/Matrix" in form:
            a, b, c, d, e, f = (float(v) for v in form["/Matrix"])
            ctm = _product((a, b, c, d, e, f), ctm)
        scale = _largest_scale(ctm)
        # Used again at a larger scale it is cut again: cutting what is cut is harmless.
        if self._forms.get(form.objgen, 0.0) >= scale:
            return
        self._forms[form.objgen] = scale
        own = form.get("/Resources", resources)
        form.write(self._content(form, own, ctm, depth + 1))


_PATH_OPERATORS = frozenset(("m", "l", "c", "v", "y", "h", "re"))
_CLIPPING = frozenset(("W", "W*"))
_FILLING = frozenset(("f", "F", "f*", "B", "B*", "b", "b*"))
_STROKING = frozenset(("S", "s", "B", "B*", "b", "b*"))
_CLOSING = frozenset(("s", "b", "b*"))
_PAINTING = _FILLING | _STROKING | {"n"}


class _Path:
    """Writes path operators in pieces; keeps the current point."""

    def __init__(self, out: list[Any]) -> None:
        self._out = out
        self._here: Point = (0.0, 0.0)
        self._start: Point = (0.0, 0.0)
        self._is_open = False
        self._longest = math.inf
        self._left_open: list[tuple[int, list[Any]]] = []
        self.is_clip = False

    def finish(self, paint: str) -> None:
        """Before an operator that ends the path: cut what it would close by itself.

        Filling and clipping close every subpath unsaid, with a segment as long as it
        happens to be. That may be said for them, unless the same path is stroked too.
        """
        if paint in _CLOSING and self._is_open:
            self._close(self._longest)
        self._leave()
        if paint in _FILLING or self.is_clip:
            if paint in _STROKING and self._left_open:
                raise _NotCut
            for at, closing in reversed(self._left_open):
                self._out[at:at] = closing
        self._left_open = []
        self.is_clip = False

    def _leave(self) -> None:
        """The subpath ends here; remember how it would be closed, were it filled."""
        if self._is_open and math.dist(self._here, self._start) > self._longest:
            here, written, self._out = self._here, self._out, []
            self._close(self._longest)
            closing, self._out, self._here = self._out, written, here
            self._left_open.append((len(self._out), closing))
        self._is_open = False

    def add(self, name: str, values: list[float], longest: float) -> None:
        points = list(zip(values[::2], values[1::2], strict=True))
        self._longest = longest
        if name in ("m", "re"):
            self._leave()
        self._is_open = name not in ("h", "re")
        if name == "m":
            self._here = self._start = points[0]
            self._out.append(_operator("m", points))
        elif name == "l":
            self._line(points[0], longest)
        elif name == "re":
            self._rectangle(*values, longest=longest)
        elif name == "h":
            self._close(longest)
        else:
            self._curve(name, points, longest)

    def _line(self, end: Point, longest: float) -> None:
        start, count = self._here, _count(math.dist(self._here, end), longest)
        for i in range(1, count):
            self._out.append(_operator("l", [_mix(start, end, i / count)]))
        self._out.append(_operator("l", [end]))
        self._here = end

    def _close(self, longest: float) -> None:
        start, end = self._here, self._start
        count = _count(math.dist(start, end), longest)
        for i in range(1, count):  # the last piece is the closing itself
            self._out.append(_operator("l", [_mix(start, end, i / count)]))
        self._out.append(_operator("h", []))
        self._here = self._start

    def _rectangle(self, x: float, y: float, w: float, h: float, *, longest: float) -> None:
        self._here = self._start = (x, y)
        self._out.append(_operator("m", [(x, y)]))
        for corner in ((x + w, y), (x + w, y + h), (x, y + h)):
            self._line(corner, longest)
        self._close(longest)

    def _curve(self, name: str, points: list[Point], longest: float) -> None:
        a = self._here
        if name == "v":
            b, c, d = a, points[0], points[1]
        elif name == "y":
            b, c, d = points[0], points[1], points[1]
        else:
            b, c, d = points
        polygon = math.dist(a, b) + math.dist(b, c) + math.dist(c, d)
        # Pieces of equal parameter: the longest is at most three times the mean.
        count = _count(3.0 * polygon, longest) if polygon > longest else 1
        self._here = d
        for i in range(count, 1, -1):
            left, right = _halves((a, b, c, d), 1.0 / i)
            self._out.append(_operator("c", left[1:]))
            a, b, c, d = right
        self._out.append(_operator("c", [b, c, d]))


def _count(length: float, longest: float) -> int:
    if not math.isfinite(length):
        raise _NotCut
    count = max(1, math.ceil(length / longest))
    if count > _MOST_PIECES:
        raise _NotCut
    return count


def _halves(curve: tuple[Point, ...], t: float) -> tuple[list[Point], tuple[Point, ...]]:
    """De Casteljau: the cubic before and after a parameter."""
    a, b, c, d = curve
    ab, bc, cd = _mix(a, b, t), _mix(b, c, t), _mix(c, d, t)
    abc, bcd = _mix(ab, bc, t), _mix(bc, cd, t)
    middle = _mix(abc, bcd, t)
    return [a, ab, abc, middle], (middle, bcd, cd, d)


def _mix(a: Point, b: Point, t: float) -> Point:
    return a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t


def _product(first: Matrix, then: Matrix) -> Matrix:
    """Row-vector convention of PDF: ``first`` is applied before ``then``."""
    a, b, c, d, e, f = first
    g, h, i, j, k, m = then
    return (
        a * g + b * i, a * h + b * j,
        c * g + d * i, c * h + d * j,
        e * g + f * i + k, e * h + f * j + m,
    )  # fmt: skip


def _largest_scale(matrix: Matrix) -> float:
    """An upper bound of how much the matrix lengthens anything (Frobenius norm)."""
    return math.hypot(*matrix[:4])


def _operator(name: str, points: Iterable[Point]) -> Any:
    import pikepdf

    numbers = [Decimal(f"{value:.9f}") for point in points for value in point]
    return pikepdf.ContentStreamInstruction(numbers, pikepdf.Operator(name))
