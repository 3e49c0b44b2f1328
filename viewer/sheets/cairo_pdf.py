"""An SVG as a one-page PDF of paths, by CairoSVG. Runs in a child process only."""

from __future__ import annotations

import io
import os
from typing import Any

from viewer.errors import ArtworkError

_TOLERANCE = 0.01


def svg_to_pdf(text: str) -> bytes:
    """``text`` must come from the cleaned drawing: nothing outside it is ever opened.

    ArtworkError ("no-cairo") where libcairo is missing.
    """
    if os.environ.get("BRIMCHECK_HIDE_CAIRO") == "1":
        raise _no_cairo()
    try:
        from cairosvg.parser import Tree
        from cairosvg.surface import PDFSurface
    except (OSError, ImportError):
        raise _no_cairo() from None
    from viewer.artwork.cairosvg_fixes import apply_fixes

    apply_fixes()

    class Exact(PDFSurface):  # type: ignore[misc]
        def draw(self, node: Any) -> None:
            # Cairo's default of a tenth of a unit would flatten arcs coarsely.
            self.context.set_tolerance(_TOLERANCE)
            super().draw(node)

    output = io.BytesIO()
    surface = Exact(Tree(bytestring=text.encode(), unsafe=False), output, 96)
    surface.finish()
    return output.getvalue()


def _no_cairo() -> ArtworkError:
    return ArtworkError(
        "libcairo is missing, without which no PDF can be made of an SVG: give a name in .svg",
        code="no-cairo",
    )
