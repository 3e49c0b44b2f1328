"""What drawing a PDF page cannot show: overprint, hidden layers, spot white and the like.

Works on opened pikepdf objects. Names that do not
occur in a content stream are not followed: unused resources warn of nothing.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Any

PdfWarnings = list[dict[str, Any]]

MAX_OBJECTS = 20_000
MAX_DEPTH = 40

_NAME_TOKEN = re.compile(rb"/([^\x00\t\n\f\r ()<>\[\]{}/%]+)")
_HEX_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")
_CATEGORIES = ("/ExtGState", "/ColorSpace", "/XObject", "/Pattern", "/Shading", "/Font")
_ANNOTATION_HIDDEN = 2

WHITE_STEMS = (
    "white",
    "weiss",
    "blanc",
    "bianco",
    "bianca",
    "branco",
    "underbase",
    "unterdruck",
    "underprint",
)
WHITE_WORDS = frozenset(("wit", "vit", "hvit", "hvid", "bialy", "bily", "wht"))

MESSAGES = {
    "overprint": "The page uses overprint, which the drawing on screen does not show.",
    "hidden-layers": "The file has layers that are hidden, or that print differently.",
    "spot-white": "A spot colour named as white is in use and may be drawn as paper.",
    "text-not-embedded": "Text uses a font that is not embedded, so its outline is a guess.",
    "annotations": "The page has annotations or form fields, which are not measured.",
    "external-reference": "The page refers to another file, which is not read.",
    "javascript": "The file contains a script, which is not run.",
    "dynamic-form": "The file is a dynamic form, whose contents are not measured.",
    "damaged-content": "A part of the page cannot be decoded, so ink may be missing.",
    "not-scanned": "The page is too complex to be checked for hidden ink.",
}
_HARMLESS = frozenset(("javascript",))


def scan_page(page: Any) -> PdfWarnings:
    """Warnings about one page, in a fixed order, each at most once."""
    scan = _Scan()
    scan.content(_page_bytes(page, scan), _resources(page), 0, page)
    if any(_is_seen(note) for note in _items(page.get("/Annots"))):
        scan.codes.add("annotations")
    return _warnings(scan.codes)


def scan_document(pdf: Any) -> PdfWarnings:
    """Warnings about the whole file."""
    root = pdf.Root
    codes: set[str] = set()
    if _has_hidden_layers(root.get("/OCProperties")):
        codes.add("hidden-layers")
    if _has_script(root):
        codes.add("javascript")
    form: Any = root.get("/AcroForm")
    if _is_dictionary(form) and "/XFA" in form:
        codes.add("dynamic-form")
    return _warnings(codes)


def means_white(colorant: str) -> bool:
    """Whether a spot color's name means white, or a base under other colors."""
    plain = unicodedata.normalize("NFKD", colorant.casefold())
    plain = "".join(char for char in plain if not unicodedata.combining(char))
    plain = plain.replace("ł", "l")
    if any(stem in plain for stem in WHITE_STEMS):
        return True
    return not WHITE_WORDS.isdisjoint(re.split(r"[^a-z]+", plain))


def used_names(content: bytes) -> set[str]:
    """All names in a content stream, as ``"/Name"``; too many rather than too few."""
    return {
        "/" + _HEX_ESCAPE.sub(_unescape, token).decode("utf-8", errors="replace")
        for token in set(_NAME_TOKEN.findall(content))
    }


def _unescape(match: re.Match[bytes]) -> bytes:
    return bytes((int(match.group(1), 16),))


def _warnings(codes: set[str]) -> PdfWarnings:
    return [
        {"code": code, "message": message, "blocks_fits": code not in _HARMLESS}
        for code, message in MESSAGES.items()
        if code in codes
    ]


class _Scan:
    """A walk over what a page uses; each indirect object once."""

    def __init__(self) -> None:
        self.codes: set[str] = set()
        self._seen: set[tuple[int, int]] = set()
        self._left = MAX_OBJECTS

    def content(self, data: bytes, resources: Any, depth: int, holder: Any) -> None:
        """Follow the resources that the content ``data`` of a page or stream names."""
        if not _is_dictionary(resources):
            return
        names = used_names(data)
        for category in _CATEGORIES:
            entries = resources.get(category)
            if not _is_dictionary(entries):
                continue
            if category == "/Font":
                names = _fonts_shown(holder, names)
            for name in entries.keys():  # noqa: SIM118 - not a mapping of Python's
                if name in names:
                    self._visit(entries[name], category, resources, depth + 1)

    def stream_bytes(self, stream: Any) -> bytes:
        """Decoded content; damage is noted, not raised."""
        try:
            return bytes(stream.read_bytes())
        except Exception:  # pikepdf raises several unrelated kinds
            self.codes.add("damaged-content")
            return b""

    def _visit(self, item: Any, category: str, resources: Any, depth: int) -> None:
        if self._is_known(item):
            return
        self._left -= 1
        if self._left < 0 or depth > MAX_DEPTH:
            self.codes.add("not-scanned")
            return
        if category == "/ExtGState":
            self._graphics_state(item, resources, depth)
        elif category == "/ColorSpace":
            self._color_space(item, depth)
        elif category == "/Font":
            self._font(item, depth)
        else:
            self._paint(item, resources, depth)

    def _is_known(self, item: Any) -> bool:
        key = getattr(item, "objgen", (0, 0))
        if key == (0, 0):
            return False
        if key in self._seen:
            return True
        self._seen.add(key)
        return False

    def _graphics_state(self, state: Any, resources: Any, depth: int) -> None:
        if not _is_dictionary(state):
            return
        if any(bool(state.get(key, False)) for key in ("/OP", "/op")):
            self.codes.add("overprint")
        mask = state.get("/SMask")
        if _is_dictionary(mask) and "/G" in mask:
            self._visit(mask["/G"], "/XObject", resources, depth + 1)
        font = state.get("/Font")
        if _is_array(font) and len(font):
            self._visit(font[0], "/Font", resources, depth + 1)

    def _color_space(self, space: Any, depth: int) -> None:
        if not _is_array(space) or len(space) < 2 or depth > MAX_DEPTH:
            return
        family = _text(space[0])
        if family == "/Separation":
            self._colorants([space[1]])
        elif family == "/DeviceN":
            self._colorants(list(_items(space[1])))
        else:  # Indexed and Pattern have a base space
            self._color_space(space[1], depth + 1)

    def _colorants(self, names: list[Any]) -> None:
        if any(means_white(_text(name)) for name in names):
            self.codes.add("spot-white")

    def _font(self, font: Any, depth: int) -> None:
        if not _is_dictionary(font):
            return
        if _text(font.get("/Subtype")) == "/Type3":
            glyphs = font.get("/CharProcs")
            resources = font.get("/Resources")
            if _is_dictionary(glyphs):
                for name in glyphs.keys():  # noqa: SIM118
                    glyph = glyphs[name]
                    self.content(self.stream_bytes(glyph), resources, depth + 1, glyph)
            return
        holders = list(_items(font.get("/DescendantFonts"))) or [font]
        if not all(_has_program(holder) for holder in holders):
            self.codes.add("text-not-embedded")

    def _paint(self, item: Any, resources: Any, depth: int) -> None:
        """A form, an image, a pattern or a shading."""
        if not _is_dictionary(item):
            return
        if any(key in item for key in ("/Ref", "/OPI", "/F")):
            self.codes.add("external-reference")
        self._named_color_space(item.get("/ColorSpace"), resources, depth)
        if _is_dictionary(item.get("/Shading")):
            self._visit(item["/Shading"], "/Shading", resources, depth + 1)
        if _is_dictionary(item.get("/ExtGState")):
            self._visit(item["/ExtGState"], "/ExtGState", resources, depth + 1)
        is_tiling = _text(item.get("/PatternType")) == "1"
        if _is_stream(item) and (is_tiling or _text(item.get("/Subtype")) == "/Form"):
            own = item.get("/Resources", resources)
            self.content(self.stream_bytes(item), own, depth, item)

    def _named_color_space(self, space: Any, resources: Any, depth: int) -> None:
        if _is_array(space):
            self._color_space(space, depth + 1)
            return
        known: Any = resources.get("/ColorSpace") if _is_dictionary(resources) else None
        if space is not None and _is_dictionary(known) and _text(space) in known:
            self._color_space(known[_text(space)], depth + 1)


def _fonts_shown(holder: Any, names: set[str]) -> set[str]:
    """Fonts that draw text; many programs select one on every page and never use it.

    All the names when the content cannot be parsed: too many rather than too few.
    """
    import pikepdf

    shown: set[str] = set()
    current = ""
    saved: list[str] = []
    try:
        parsed = pikepdf.parse_content_stream(holder, "q Q Tf Tj TJ ' \"")
    except Exception:  # pikepdf raises several unrelated kinds
        return names
    for instruction in parsed:
        operator = str(instruction.operator)
        if operator == "Tf":
            current = _text(instruction.operands[0]) if len(instruction.operands) else ""
        elif operator == "q":
            saved.append(current)
        elif operator == "Q":
            current = saved.pop() if saved else current
        else:
            shown.add(current)
    return shown


def _page_bytes(page: Any, scan: _Scan) -> bytes:
    contents = page.get("/Contents")
    if contents is None:
        return b""
    parts = list(_items(contents)) if _is_array(contents) else [contents]
    return b"\n".join(scan.stream_bytes(part) for part in parts)


def _resources(page: Any) -> Any:
    node: Any = page
    for _ in range(64):
        if "/Resources" in node:
            return node["/Resources"]
        if "/Parent" not in node:
            return None
        node = node["/Parent"]
    return None


def _is_seen(note: Any) -> bool:
    if not _is_dictionary(note) or _text(note.get("/Subtype")) == "/Popup":
        return False
    flags = note.get("/F", 0)
    if isinstance(flags, int) and flags & _ANNOTATION_HIDDEN:
        return False
    appearance: Any = note.get("/AP")
    return _is_dictionary(appearance) and "/N" in appearance


def _has_program(font: Any) -> bool:
    descriptor: Any = font.get("/FontDescriptor") if _is_dictionary(font) else None
    keys = ("/FontFile", "/FontFile2", "/FontFile3")
    return _is_dictionary(descriptor) and any(key in descriptor for key in keys)


def _has_hidden_layers(properties: Any) -> bool:
    if not _is_dictionary(properties):
        return False
    default: Any = properties.get("/D")
    if _is_dictionary(default):
        if _text(default.get("/BaseState", "/ON")) != "/ON":
            return True
        if any(True for _ in _items(default.get("/OFF"))):
            return True
    return any(_prints_differently(group) for group in _items(properties.get("/OCGs")))


def _prints_differently(group: Any) -> bool:
    usage: Any = group.get("/Usage") if _is_dictionary(group) else None
    if not _is_dictionary(usage):
        return False
    states = []
    for kind, key in (("/Print", "/PrintState"), ("/View", "/ViewState")):
        part = usage.get(kind)
        if _is_dictionary(part):
            states.append(_text(part.get(key, "/ON")))
    return any(state != "/ON" for state in states)


def _has_script(root: Any) -> bool:
    names: Any = root.get("/Names")
    if _is_dictionary(names) and "/JavaScript" in names:
        return True
    action = root.get("/OpenAction")
    return _is_dictionary(action) and _text(action.get("/S")) == "/JavaScript"


# Small tests that hold for any malformed object


def _type_name(item: Any) -> str:
    return str(getattr(item, "_type_name", ""))


def _is_dictionary(item: Any) -> bool:
    """A dictionary, or a stream, which has one."""
    return _type_name(item) in ("dictionary", "stream")


def _is_stream(item: Any) -> bool:
    return _type_name(item) == "stream"


def _is_array(item: Any) -> bool:
    return _type_name(item) == "array"


def _items(item: Any) -> Iterator[Any]:
    if _is_array(item):
        yield from item


def _text(item: Any) -> str:
    if item is None:
        return ""
    try:
        return str(item)
    except UnicodeDecodeError:
        return bytes(item).decode("latin-1")
