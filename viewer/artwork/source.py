"""Open a file of any format in the processes that can draw it."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from viewer.artwork.formats.content import Content, read_content
from viewer.artwork.formats.sniff import HEAD_BYTES, sniff_format
from viewer.artwork.formats.svg_source import SvgSource, read_svg
from viewer.artwork.model import ArtworkWarning, LoadOptions
from viewer.artwork.pool import CancelCheck, Worker, give_back, take_worker
from viewer.errors import ArtworkError, RenderError

PX_PER_MM = 96.0 / 25.4

NO_CAIRO = (
    "libcairo is missing, so one renderer alone has drawn this and the uncertainty is wider; "
    "install it (Debian, Ubuntu: apt install libcairo2; macOS: brew install cairo; "
    "Windows: the GTK runtime) to have a second opinion"
)


@dataclass
class OpenFile:
    """A file and the renderers that have it open."""

    path: str
    format: str
    sha256: str
    workers: list[Worker] = field(default_factory=list)
    facts: dict[str, dict[str, Any]] = field(default_factory=dict)
    svg: SvgSource | None = None
    warnings: list[ArtworkWarning] = field(default_factory=list)


@contextlib.contextmanager
def open_file(
    path: str,
    options: LoadOptions,
    kinds: tuple[str, ...] | None = None,
    cancelled: CancelCheck | None = None,
) -> Iterator[OpenFile]:
    """Open ``path``; ``kinds`` limits the renderers (all that serve it by default).

    Raises ArtworkError in one line: no such file, a folder, empty, not artwork,
    damaged. Processes go back to the pool at the end, dead ones excepted.
    """
    # Pictures and PDF are read by the renderer itself, once; it tells the SHA-256 of what
    # it has read. What is an SVG has to be known here, and is then read here, once.
    kind = _kind_of(path, read_content(path, HEAD_BYTES).data)
    content = Content(b"")
    if kind == "svg":
        content = read_content(path)
        kind = _kind_of(path, content.data[:HEAD_BYTES])
        if kind != "svg":
            raise ArtworkError(f"{path}: changed while it was read; try again", code="changed")
    opened = OpenFile(path, kind, content.sha256)
    wanted = kinds or {"svg": ("cairo", "resvg"), "pdf": ("pdf",), "image": ("image",)}[kind]
    opened.workers = [take_worker(w) for w in wanted]
    everyone = list(opened.workers)
    try:
        if kind == "svg":
            _open_svg(opened, content, options, cancelled)
        else:
            worker = opened.workers[0]
            header, _blob = worker.call(
                "open", path=os.path.abspath(path), page=options.page, cancelled=cancelled
            )
            opened.facts[worker.kind] = header
            opened.sha256 = str(header["sha256"])
            opened.warnings += [
                ArtworkWarning(str(w["code"]), str(w["message"]), bool(w["blocks_fits"]))
                for w in header.get("warnings", [])
            ]
        yield opened
    finally:
        for worker in everyone:
            give_back(worker)


def _kind_of(path: str, head: bytes) -> str:
    kind = sniff_format(head)
    if kind is None:
        name = os.path.basename(path) or path
        raise ArtworkError(
            f"{name}: not artwork this tool reads; "
            "give SVG, PDF, PNG, TIFF, JPEG, BMP, WebP or GIF",
            code="not-artwork",
        )
    return kind


def _open_svg(
    opened: OpenFile, content: Content, options: LoadOptions, cancelled: CancelCheck | None
) -> None:
    if options.page != 1:
        raise ArtworkError(f"page {options.page}: an SVG has one page", code="page-range")
    source = read_svg(content.data, options.px_per_inch)
    opened.svg = source
    opened.warnings += source.warnings
    has_text = any(w.code == "text" for w in source.warnings)
    blob = source.inner.encode()
    for worker in opened.workers:
        worker.send("open", blob, page_px=list(source.page_px), fonts=has_text)
    kept: list[Worker] = []
    failure: ArtworkError | None = None
    for worker in opened.workers:
        try:
            opened.facts[worker.kind], _blob = worker.receive(cancelled)
            kept.append(worker)
        except RenderError as error:
            failure = error
            opened.warnings.append(ArtworkWarning("renderer-failed", error.message, True))
        except ArtworkError as error:
            failure = error
            if error.code != "no-cairo":
                raise
            opened.warnings.append(ArtworkWarning("no-cairo", NO_CAIRO, False))
    opened.workers = kept
    if not kept:
        assert failure is not None
        raise failure
