"""A QR code as one path of squares; the only module that knows segno."""

from __future__ import annotations

from viewer.sheets.draw_list import Path, Step, rectangle_steps

QUIET_MODULES = 4
"""ISO/IEC 18004 wants so much white around it."""


def qr_path(text: str, x: float, y: float, side_mm: float) -> Path:
    """A code of ``text`` in a square of this side, its white border included."""
    import segno

    code = segno.make(text, error="m", micro=False, boost_error=False)
    rows = [[bool(module) for module in row] for row in code.matrix]
    module_mm = side_mm / (len(rows) + 2 * QUIET_MODULES)
    left, top = x + QUIET_MODULES * module_mm, y + QUIET_MODULES * module_mm
    steps: list[Step] = []
    for number, row in enumerate(rows):
        low = top + number * module_mm
        for start, end in _runs(row):
            steps += rectangle_steps(
                left + start * module_mm, low, left + end * module_mm, low + module_mm
            )
    return Path(tuple(steps), fill=0.0)


def _runs(row: list[bool]) -> list[tuple[int, int]]:
    """Stretches of dark modules, so that no renderer leaves a hairline between them."""
    runs: list[tuple[int, int]] = []
    for index, dark in enumerate(row):
        if dark and runs and runs[-1][1] == index:
            runs[-1] = (runs[-1][0], index + 1)
        elif dark:
            runs.append((index, index + 1))
    return runs
