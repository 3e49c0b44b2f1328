"""Open a file of any format in the processes that can draw it."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from viewer.artwork.formats.sniff import sniff_format
from viewer.artwork.formats.svg_source import SvgSource, read_svg
from viewer.artwork.model import ArtworkWarning, LoadOptions
from viewer.artwork.pool import CancelCheck, Worker, give_back, take_worker
from viewer.errors import ArtworkError, RenderError

MAX_FILE_BYTES = 512 * 1024 * 1024
_HEAD_BYTES = 4096
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
    kind, digest = _identify(path)
    opened = OpenFile(path, kind, digest)
    wanted = kinds or {"svg": ("cairo", "resvg"), "pdf": ("pdf",), "image": ("image",)}[kind]
    opened.workers = [take_worker(w) for w in wanted]
    everyone = list(opened.workers)
    try:
        if kind == "svg":
            _open_svg(opened, options, cancelled)
        else:
            worker = opened.workers[0]
            header, _blob = worker.call(
                "open", path=os.path.abspath(path), page=options.page, cancelled=cancelled
            )
            opened.facts[worker.kind] = header
            opened.warnings += [
                ArtworkWarning(str(w["code"]), str(w["message"]), bool(w["blocks_fits"]))
                for w in header.get("warnings", [])
            ]
        yield opened
    finally:
        for worker in everyone:
            give_back(worker)


def _identify(path: str) -> tuple[str, str]:
    name = os.path.basename(path) or path
    if os.path.isdir(path):
        raise ArtworkError(f"{path}: is a folder; give a file", code="is-folder")
    digest = hashlib.sha256()
    try:
        with open(path, "rb") as stream:
            head = stream.read(_HEAD_BYTES)
            digest.update(head)
            while block := stream.read(1 << 20):
                digest.update(block)
            if stream.tell() > MAX_FILE_BYTES:
                raise ArtworkError(f"{name}: larger than 512 MB", code="too-large")
    except FileNotFoundError:
        raise ArtworkError(f"{path}: no such file; check the name", code="no-such-file") from None
    except PermissionError:
        raise ArtworkError(f"{path}: may not be read; check its rights", code="no-access") from None
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise ArtworkError(f"{path}: {reason}", code="unreadable") from None
    kind = sniff_format(head)
    if kind is None:
        raise ArtworkError(
            f"{name}: not artwork this tool reads; "
            "give SVG, PDF, PNG, TIFF, JPEG, BMP, WebP or GIF",
            code="not-artwork",
        )
    return kind, digest.hexdigest()


def _open_svg(opened: OpenFile, options: LoadOptions, cancelled: CancelCheck | None) -> None:
    if options.page != 1:
        raise ArtworkError(f"page {options.page}: an SVG has one page", code="page-range")
    with open(opened.path, "rb") as stream:
        source = read_svg(stream.read(), options.px_per_inch)
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
