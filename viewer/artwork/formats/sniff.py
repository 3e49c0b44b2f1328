"""What a file is, told by its content; an extension is only a hint for listing folders."""

from __future__ import annotations

import os
import re

from viewer.errors import ArtworkError

HEAD_BYTES = 4096
"""How much of a file ``sniff_format`` wants to see."""

ARTWORK_EXTENSIONS = frozenset(
    f".{name}"
    for name in "svg svgz pdf ai png tif tiff jpg jpeg bmp webp gif".split()  # noqa: SIM905
)

_IMAGE_SIGNATURES = (
    b"\x89PNG\r\n\x1a\n",
    b"II*\x00",
    b"MM\x00*",
    b"II+\x00",
    b"MM\x00+",
    b"\xff\xd8\xff",
    b"GIF87a",
    b"GIF89a",
)
_BMP_HEADER_SIZES = frozenset((12, 16, 40, 52, 56, 64, 108, 124))
_TEXT_MARKS = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
    (b"<\x00", "utf-16-le"),
    (b"\x00<", "utf-16-be"),
)
_SVG_ROOT = re.compile(r"<(?:[A-Za-z_][\w.-]*:)?svg[\s>/]")
_HTML_ROOT = re.compile(r"^<(?:!doctype\s+)?html\b", re.IGNORECASE)
_XML_MISC = re.compile(r"\s+|<\?.*?\?>|<!--.*?-->", re.DOTALL)
_OPEN_MISC = ("<?", "<!--", "<!DOCTYPE")


def sniff_format(head: bytes) -> str | None:
    """``"svg"``, ``"pdf"``, ``"image"``, or None when the first 4 KB say nothing known.

    An empty file and PostScript raise ArtworkError with what to do.
    """
    if not head:
        raise ArtworkError("empty file: it has no content at all", code="empty")
    if head.startswith(b"\x1f\x8b"):
        return "svg"
    if _is_image(head):
        return "image"
    if b"%PDF" in head[:1024]:
        return "pdf"
    if head.lstrip(b"\xef\xbb\xbf\x04\r\n \t").startswith(b"%!PS") or head.startswith(
        b"\xc5\xd0\xd3\xc6"
    ):
        raise ArtworkError("PostScript cannot be measured: save it as PDF", code="postscript")
    return "svg" if _is_svg(_as_text(head)) else None


def find_artwork_files(folder: str) -> list[str]:
    """Paths of the files in ``folder`` with a known extension, sorted; not recursive.

    Hidden files are skipped; a folder that cannot be listed raises ArtworkError.
    """
    try:
        with os.scandir(folder) as entries:
            names = [entry.name for entry in entries if _is_artwork_entry(entry)]
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise ArtworkError(f"{folder}: cannot list this folder: {reason}") from error
    return [os.path.join(folder, name) for name in sorted(names, key=lambda n: (n.lower(), n))]


def _is_artwork_entry(entry: os.DirEntry[str]) -> bool:
    if entry.name.startswith("."):
        return False
    # A dangling link stays listed: whoever reads it reports it, nothing is skipped silently.
    return os.path.splitext(entry.name)[1].lower() in ARTWORK_EXTENSIONS and not entry.is_dir()


def _is_image(head: bytes) -> bool:
    if head.startswith(_IMAGE_SIGNATURES):
        return True
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return True
    # "BM" alone could begin a text, so the header's own size has to be a known one.
    return head[:2] == b"BM" and int.from_bytes(head[14:18], "little") in _BMP_HEADER_SIZES


def _as_text(head: bytes) -> str:
    for mark, encoding in _TEXT_MARKS:
        if head.startswith(mark):
            return head.decode(encoding, errors="ignore").lstrip("\ufeff")
    # Tags are ASCII in every other encoding an XML file may have.
    return head.decode("latin-1")


def _is_svg(text: str) -> bool:
    rest = _skip_prolog(text)
    if _SVG_ROOT.match(rest):
        return True
    if _HTML_ROOT.match(rest):
        return False
    if rest.startswith("<!DOCTYPE"):
        # The internal subset may be longer than the head and names the root up front.
        return re.match(r"<!DOCTYPE\s+(?:[\w.-]+:)?svg\b", rest) is not None
    # A comment longer than the head hides the root; XML that far is worth a try.
    return rest.startswith(_OPEN_MISC)


def _skip_prolog(text: str) -> str:
    position = 0
    while match := _XML_MISC.match(text, position):
        position = match.end()
    return text[position:]
