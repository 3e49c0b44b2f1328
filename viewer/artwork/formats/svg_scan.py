"""What a look at an SVG's attribute values and styles can tell without drawing it.

Two renderers that agree prove little where both ignore the same thing, so every
such thing is named here in one plain sentence.
"""

from __future__ import annotations

import base64
import binascii
import re
from urllib.parse import unquote_to_bytes

from viewer.artwork.model import ArtworkWarning

MESSAGES: dict[str, str] = {
    "animation": "the drawing is animated; only its still picture was measured",
    "conditional": "parts of the drawing are shown only under conditions (language or features)",
    "css-geometry": "the drawing uses a CSS property that the renderers may ignore",
    "endless-reference": "a pattern, mask, clip or marker refers to itself",
    "external-reference": "the drawing refers to another file or address, which was not followed",
    "filter": "the drawing uses a filter effect, which can reach beyond its shapes",
    "foreign-object": "the drawing embeds content that is not SVG, which is not drawn",
    "media-query": "the drawing has style rules that apply only on some media",
    "nested-svg-image": "the drawing embeds another SVG as an image",
    "non-scaling-stroke": (
        "the drawing has strokes that keep their width when it is scaled, which is not measured"
    ),
    "no-namespace": "the file does not declare the SVG namespace; it was read as SVG all the same",
    "page-size-guessed": "the file gives only one side of the page; the other side was assumed",
    "path-length": "the drawing scales its dashes by pathLength, which the renderers ignore",
    "root-css": "a style rule reaches the drawing as a whole in a way that may not be honoured",
    "root-transform": (
        "the whole drawing is transformed; programs differ on the centre of that, so the place"
        " on the page may differ (the size does not)"
    ),
    "script": "the drawing contains a script, which was not run",
    "sharp-image": (
        "the drawing holds a picture that is to be drawn without smoothing, so that single"
        " pixels of it can be missed"
    ),
    "text": "the drawing contains text, whose shape depends on the fonts installed",
    "unsupported-element": "the drawing uses a kind of paint that the renderers do not know",
    "unusual-unit": "the drawing uses units or computed lengths that renderers read differently",
}
NOT_BLOCKING = frozenset({"no-namespace", "page-size-guessed", "root-transform"})

_UNUSUAL_UNIT = re.compile(
    r"\d\.?(?:vw|vh|vi|vb|vmin|vmax|ch|ic|lh|rlh|ex|q|rem|cap|cq[whib])\b"
    r"|\b(?:calc|var|min|max|clamp|env)\(",
    re.IGNORECASE,
)
_URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^)'"]*))\s*\)?""", re.IGNORECASE)
_ESCAPE = re.compile(r"\\(?:([0-9a-fA-F]{1,6})\s?|(.))", re.DOTALL)
_COMMENT = re.compile(r"/\*.*?(?:\*/|\Z)", re.DOTALL)
_ANIMATION = re.compile(r"(?:^|[;{\s])(?:-\w+-)?(?:animation|transition)[-\w]*\s*:", re.IGNORECASE)
_FILTER = re.compile(r"(?:^|[;{\s])(?:backdrop-)?filter\s*:\s*(?!none\b)[^\s;]", re.IGNORECASE)
_GEOMETRY = re.compile(
    r"(?:^|[;{\s])(?:d|transform-box|rotate|scale|translate|zoom|offset(?:-\w+)?)\s*:",
    re.IGNORECASE,
)
_TRANSFORM = re.compile(
    r"(?:^|[;{\s])(?:-\w+-)?transform(?:-origin)?\s*:\s*(?!none\b)[^\s;]", re.IGNORECASE
)
_KEEPS_STROKE = re.compile(r"\bnon-scaling-", re.IGNORECASE)
_SHARP_EDGES = re.compile(r"(?<![\w-])shape-rendering(\s*:)", re.IGNORECASE)
_SHARP_IMAGE = re.compile(
    r"image-rendering\s*:\s*(?:optimizeSpeed|pixelated|[-\w]*crisp-edges)", re.IGNORECASE
)
_BIG_NUMBER = re.compile(r"(?<![\d.])\d{5,}|\d[eE]\+?\d")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def unescape_css(text: str) -> str:
    """``text`` without CSS comments and with CSS escapes resolved, for looking at only."""
    if "/*" in text:
        text = _COMMENT.sub(" ", text)
    if "\\" not in text:
        return text
    return _ESCAPE.sub(_unescaped, text)


def _unescaped(match: re.Match[str]) -> str:
    digits = match.group(1)
    if digits is None:
        return match.group(2)
    code = int(digits, 16)
    return chr(code) if 0 < code < 0x110000 and not 0xD800 <= code < 0xE000 else "\ufffd"


def largest_number(text: str) -> float:
    """Largest absolute number in ``text`` if any could reach 10000, else 0."""
    if not _BIG_NUMBER.search(text):
        return 0.0
    return max((abs(float(number)) for number in _NUMBER.findall(text)), default=0.0)


def is_svg_data(uri: str) -> bool:
    """Whether a ``data:`` address holds SVG, by its label or by its first bytes."""
    head, _, body = uri[5:].partition(",")
    if "svg" in head.lower():
        return True
    sample = body[:400].strip()
    if "base64" in head.lower():
        sample = "".join(sample.split())
        try:
            start = base64.b64decode(sample[: len(sample) // 4 * 4])
        except (binascii.Error, ValueError):
            return False
    else:
        start = unquote_to_bytes(sample)
    return start.lstrip(b"\xef\xbb\xbf \r\n\t").startswith((b"<", b"\x1f\x8b"))


def smooth_edges(text: str) -> str:
    """CSS whose ``shape-rendering`` has another name, so that no renderer knows it.

    Without smoothing, ink that covers no center of a coarse pixel is not drawn at all.
    """
    return _SHARP_EDGES.sub(r"x-shape-rendering\1", text)


class Scan:
    """Collects warnings (one per code) and what the values refer to."""

    def __init__(self) -> None:
        self._found: dict[str, ArtworkWarning] = {}
        self.largest = 0.0
        """Largest absolute coordinate seen of at least 10000, in its own user units."""
        self.has_dashes = False
        self.has_path_length = False
        self.has_image = False
        self.has_sharp_images = False

    @property
    def warnings(self) -> tuple[ArtworkWarning, ...]:
        """Everything found, in the order found."""
        return tuple(self._found.values())

    def warn(self, code: str, detail: str = "") -> None:
        """Note ``code`` once; ``detail`` is added to its sentence."""
        if code not in self._found:
            message = MESSAGES[code] + (f" ({_shortened(detail)})" if detail else "")
            self._found[code] = ArtworkWarning(code, message, code not in NOT_BLOCKING)

    def coordinates(self, text: str) -> None:
        """Look for large coordinates."""
        if _BIG_NUMBER.search(text):
            self.largest = max(self.largest, largest_number(text))

    def units(self, text: str) -> None:
        """Look for units on which renderers differ."""
        match = _UNUSUAL_UNIT.search(text)
        if match:
            self.warn("unusual-unit", text.strip())

    def strokes(self, value: str) -> None:
        """Look for strokes whose width does not follow the drawing."""
        if _KEEPS_STROKE.search(value):
            self.warn("non-scaling-stroke")

    def combinations(self) -> None:
        """To be asked when all has been read: what matters only beside something else."""
        if self.has_dashes and self.has_path_length:
            self.warn("path-length")
        if self.has_image and self.has_sharp_images:
            self.warn("sharp-image")

    def transforms(self, text: str) -> None:
        """Look for transforms in CSS, most of which the renderers ignore."""
        if _TRANSFORM.search(unescape_css(text)):
            self.warn("css-geometry")

    def declarations(self, text: str) -> None:
        """Look at CSS declarations (of a style attribute or of one rule)."""
        plain = _URL.sub("url()", unescape_css(text))
        if _ANIMATION.search(plain):
            self.warn("animation")
        if _FILTER.search(plain):
            self.warn("filter")
        if _GEOMETRY.search(plain):
            self.warn("css-geometry")
        self.strokes(plain)
        self.has_dashes |= "dasharray" in plain.lower()
        self.has_sharp_images |= bool(_SHARP_IMAGE.search(plain))
        self.units(plain)

    def local_urls(self, text: str, refs: list[str]) -> str:
        """``text`` with every outside ``url()`` replaced by ``none``.

        Appends the ids referred to within the file to ``refs``.
        """
        if "\\" in text or "/*" in text:
            text = unescape_css(text)

        def replace(match: re.Match[str]) -> str:
            address = (match.group(1) or match.group(2) or match.group(3) or "").strip()
            if address.startswith("#"):
                refs.append(address[1:])
                return match.group(0)
            if address[:5].lower() == "data:":
                if is_svg_data(address):
                    self.warn("nested-svg-image")
                    return "none"
                return match.group(0)
            if address:
                self.warn("external-reference", address)
            return "none"

        return _URL.sub(replace, text)


def _shortened(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:57] + "..."
