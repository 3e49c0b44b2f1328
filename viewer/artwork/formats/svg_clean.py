"""One pass over the XML of an SVG: safe, canonical text and what it contains.

Expat reads; nothing outside the bytes is ever opened. What cannot draw (comments,
metadata, foreign elements, event handlers) is dropped.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from xml.parsers import expat

from viewer.artwork.formats.svg_refs import ReferenceGraph
from viewer.artwork.formats.svg_scan import Scan, is_svg_data, smooth_edges
from viewer.errors import ArtworkError

SVG_NS = "http://www.w3.org/2000/svg"
XLINK_NS = "http://www.w3.org/1999/xlink"
XML_NS = "http://www.w3.org/XML/1998/namespace"
MAX_DEPTH = 200
MAX_EXPANSION = 4_000_000
MAX_ENTITIES = 10_000

_ANIMATIONS = frozenset(
    {"animate", "set", "animateTransform", "animateMotion", "animateColor", "discard"}
)
_SILENT = frozenset({"metadata", "title", "desc", "view", "cursor"})
_EMBEDS = frozenset({"foreignObject", "iframe", "video", "audio", "canvas", "object", "embed"})
_UNKNOWN_PAINTS = frozenset(
    {"meshgradient", "meshGradient", "mesh", "hatch", "solidcolor", "solidColor"}
)
_DRAWN_BY_REFERENCE = frozenset({"defs", "symbol", "clipPath", "mask", "pattern", "marker"})
_CONDITIONS = frozenset({"systemLanguage", "requiredFeatures", "requiredExtensions"})
_COORDINATES = frozenset({"d", "points", "transform", "gradientTransform", "patternTransform"})
_LENGTHS = frozenset(
    [
        "x",
        "y",
        "width",
        "height",
        "r",
        "rx",
        "ry",
        "cx",
        "cy",
        "x1",
        "y1",
        "x2",
        "y2",
        "fx",
        "fy",
        "fr",
        "dx",
        "dy",
        "refX",
        "refY",
        "markerWidth",
        "markerHeight",
        "stroke-width",
        "stroke-dasharray",
        "stroke-dashoffset",
        "font-size",
        "startOffset",
        "textLength",
        "letter-spacing",
        "word-spacing",
        "baseline-shift",
        "viewBox",
    ]
)
_NEEDS_ESCAPE = re.compile(r'[&<>"\x00-\x1f\x7f-\x9f]')
_SPECIAL = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"}
_ENTITY_REF = re.compile(r"&([^\s&;#<]+);")
_NO_REFS = re.compile(r"<!--.*?-->|<!\[CDATA\[.*?\]\]>|<!ENTITY[^>]*>", re.DOTALL)
_PREDEFINED = frozenset({"amp", "lt", "gt", "quot", "apos"})


def escape(text: str) -> str:
    """``text`` for use as XML character data or inside double quotes."""
    if not _NEEDS_ESCAPE.search(text):
        return text
    return _NEEDS_ESCAPE.sub(lambda m: _SPECIAL.get(m.group(), f"&#{ord(m.group())};"), text)


@dataclass
class CleanSvg:
    """The cleaned document, its root kept apart.

    ``parts`` joined is the content of the root; each of ``styles`` is the index of
    a part that stands for the raw text of a style sheet.
    """

    root: dict[str, str]
    parts: list[str]
    styles: list[int]
    scan: Scan
    element_count: int
    classes: dict[str, int] = field(default_factory=dict)
    has_nested_svg: bool = False


@dataclass
class _Switch:
    part: int
    attributes: str
    depth: int
    children: int = 0
    conditional: bool = False


def clean_svg(data: bytes) -> CleanSvg:
    """Read ``data`` (plain XML bytes); ArtworkError names the line of a fault."""
    return _Cleaner(data).run()


class _Cleaner:
    def __init__(self, data: bytes) -> None:
        self._data = data
        self._scan = Scan()
        self._graph = ReferenceGraph()
        self._root: dict[str, str] = {}
        self._parts: list[str] = []
        self._styles: list[int] = []
        self._style_text: list[str] | None = None
        self._classes: dict[str, int] = {}
        self._namespace = ""
        self._owners = [0]
        self._switches: list[_Switch] = []
        self._depth = self._skipping = self._text_depth = self._count = self._nested = 0
        self._entities: dict[str, str] = {}
        self._expanded = 0
        self._outside_dtd = False

    def run(self) -> CleanSvg:
        parser = expat.ParserCreate(None, " ")
        parser.buffer_text = True
        parser.ordered_attributes = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.ProcessingInstructionHandler = self._instruction
        parser.StartDoctypeDeclHandler = self._doctype
        parser.EndDoctypeDeclHandler = self._doctype_end
        parser.EntityDeclHandler = self._entity
        parser.ExternalEntityRefHandler = self._external_entity
        parser.SkippedEntityHandler = self._skipped_entity
        self._parser = parser
        try:
            parser.Parse(self._data, True)
        except expat.ExpatError as error:
            raise _not_readable(error) from None
        except (LookupError, UnicodeError, ValueError) as error:
            raise ArtworkError(f"the file is not readable XML: {error}", code="not-readable") from (
                None
            )
        self._graph.check_uses()
        if self._graph.has_endless_paint():
            self._scan.warn("endless-reference")
        return CleanSvg(
            self._root,
            self._parts,
            self._styles,
            self._scan,
            self._count,
            self._classes,
            self._nested > 0,
        )

    # -- prolog -------------------------------------------------------------

    def _doctype(self, name: str, system: str | None, public: str | None, internal: int) -> None:
        self._outside_dtd = system is not None

    def _entity(
        self,
        name: str,
        is_parameter: int,
        value: str | None,
        base: str | None,
        system: str | None,
        public: str | None,
        notation: str | None,
    ) -> None:
        if is_parameter:
            self._outside_dtd = True
        elif value is not None:
            self._entities.setdefault(name, value)
            if len(self._entities) > MAX_ENTITIES:
                raise _too_much_expansion()

    def _doctype_end(self) -> None:
        if self._entities:
            self._check_entities()
        if self._outside_dtd:
            self._check_undefined()

    def _check_entities(self) -> None:
        """Sizes after expansion, innermost first, without expanding anything."""
        sizes: dict[str, int] = {}
        refs = {name: _ENTITY_REF.findall(value) for name, value in self._entities.items()}
        for first in self._entities:
            stack, on_path = [first], {first}
            while stack:
                name = stack[-1]
                waiting = [r for r in refs[name] if r in refs and r not in sizes]
                if not waiting:
                    sizes[name] = len(self._entities[name]) + sum(
                        sizes.get(r, 1) for r in refs[name]
                    )
                    if sizes[name] > MAX_EXPANSION:
                        raise _too_much_expansion()
                    on_path.discard(stack.pop())
                elif waiting[0] in on_path:
                    raise ArtworkError(
                        f"the entity &{waiting[0]}; contains itself", code="entity-expansion"
                    )
                else:
                    stack.append(waiting[0])
                    on_path.add(waiting[0])

    def _check_undefined(self) -> None:
        # Expat drops an undefined entity in an attribute silently when the DTD has
        # parts outside the file (which are never read), so look for it ourselves.
        start = self._data[:2]
        text = self._data.decode("utf-16" if start in (b"\xff\xfe", b"\xfe\xff") else "latin-1")
        for name in _ENTITY_REF.findall(_NO_REFS.sub("", text)):
            plain = name if start in (b"\xff\xfe", b"\xfe\xff") else _utf8(name)
            if plain not in self._entities and plain not in _PREDEFINED:
                raise _undefined(plain)

    def _external_entity(
        self, context: str | None, base: str | None, system: str | None, public: str | None
    ) -> int:
        self._scan.warn("external-reference", system or public or "an external entity")
        return 1

    def _skipped_entity(self, name: str, is_parameter: int) -> None:
        if not is_parameter:
            raise _undefined(name, self._parser.CurrentLineNumber)

    def _instruction(self, target: str, text: str) -> None:
        if target == "xml-stylesheet":
            self._scan.warn("external-reference", "a style sheet")

    def _grow(self, length: int) -> None:
        self._expanded += length
        if self._expanded > len(self._data) + MAX_EXPANSION:
            raise _too_much_expansion()

    # -- elements -----------------------------------------------------------

    def _start(self, name: str, attributes: list[str]) -> None:
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise ArtworkError(
                f"line {self._parser.CurrentLineNumber}: elements are nested deeper than"
                f" {MAX_DEPTH} levels",
                code="too-deep",
            )
        if self._entities:
            self._grow(sum(map(len, attributes)))
        if self._skipping:
            self._skipping += 1
            return
        namespace, _, local = name.rpartition(" ")
        if self._depth == 1:
            self._open_root(namespace, local, attributes)
        elif namespace != self._namespace or not self._open(local, attributes):
            self._skipping = 1

    def _open_root(self, namespace: str, local: str, attributes: list[str]) -> None:
        if local != "svg":
            raise ArtworkError(
                f"the file is XML but not SVG: its outermost element is <{local}>",
                code="not-readable",
            )
        self._namespace = namespace
        if namespace != SVG_NS:
            self._scan.warn("no-namespace")
        refs: list[str] = []
        self._root = self._attributes("svg", attributes, refs, is_root=True)
        self._enter(self._root, "svg", refs)

    def _open(self, local: str, attributes: list[str]) -> bool:
        """Write a start tag; False: the element and all in it is left out."""
        if local in _SILENT or self._style_text is not None:
            return False
        if local in _ANIMATIONS:
            self._scan.warn("animation")
            return False
        if local == "script":
            self._scan.warn("script")
            return False
        if local in _EMBEDS:
            # With a required extension it is never shown: a drawing program's own copy.
            if not _value(attributes, "requiredExtensions"):
                self._scan.warn("foreign-object")
            return False
        if local in _UNKNOWN_PAINTS:
            self._scan.warn("unsupported-element", local)
        refs: list[str] = []
        kept = self._attributes(local, attributes, refs)
        if local in ("image", "use") and "xlink:href" not in kept:
            return False
        self._scan.has_image |= local == "image"
        self._note_child(kept)
        self._enter(kept, local, refs)
        if local == "style":
            self._parts.append("<style>")
            self._open_style(kept)
            return True
        if local == "svg":
            self._nested += 1
        elif local == "text" or self._text_depth:
            self._text_depth += 1
        written = "".join([f' {key}="{escape(value)}"' for key, value in kept.items()])
        if local == "switch":
            self._switches.append(_Switch(len(self._parts), written, self._depth))
        self._parts.append(f"<{local}{written}>")
        return True

    def _enter(self, kept: dict[str, str], local: str, refs: list[str]) -> None:
        self._count += 1
        node = self._graph.enter(
            self._owners[-1], kept.get("id", ""), is_drawn=local not in _DRAWN_BY_REFERENCE
        )
        self._owners.append(node)
        target = kept.get("xlink:href", "")
        if target.startswith("#"):
            if local == "use":
                self._graph.add_use(node, target[1:])
            else:
                self._graph.add_paint(node, target[1:])
        for ref in refs:
            self._graph.add_paint(node, ref)
        for name in kept.get("class", "").split():
            self._classes[name] = self._classes.get(name, 0) + 1

    def _open_style(self, kept: dict[str, str]) -> None:
        media = kept.get("media", "all").strip().lower()
        if media not in ("", "all", "screen"):
            self._scan.warn("media-query")
        is_css = kept.get("type", "text/css").strip().lower() in ("", "text/css")
        self._parts.append("")
        self._style_text = []
        if is_css:
            self._styles.append(len(self._parts) - 1)

    def _note_child(self, kept: dict[str, str]) -> None:
        conditional = not _CONDITIONS.isdisjoint(kept)
        if self._switches and self._switches[-1].depth == self._depth - 1:
            self._switches[-1].children += 1
            self._switches[-1].conditional |= conditional
        elif conditional:
            self._scan.warn("conditional")

    def _attributes(
        self, local: str, attributes: list[str], refs: list[str], *, is_root: bool = False
    ) -> dict[str, str]:
        """The attributes worth keeping, with outside addresses taken out."""
        kept: dict[str, str] = {}
        scan = self._scan
        pairs = iter(attributes)
        for name, value in zip(pairs, pairs, strict=True):
            if " " in name:
                namespace, _, name = name.rpartition(" ")
                if namespace == XLINK_NS and name == "href":
                    if "xlink:href" not in kept:
                        self._href(local, value, kept)
                elif namespace == XML_NS and name == "space":
                    kept["xml:space"] = value
                continue
            if name == "href":
                kept.pop("xlink:href", None)  # SVG 2: href wins over xlink:href
                self._href(local, value, kept)
                continue
            if name == "src":
                scan.warn("external-reference", value)
                continue
            if name[:2] == "on" or name in ("cursor", "shape-rendering"):
                continue
            if name in _COORDINATES:
                scan.coordinates(value)
            elif name in _LENGTHS:
                scan.coordinates(value)
                scan.has_dashes |= name == "stroke-dasharray"
                if not (is_root and name in ("width", "height")):
                    scan.units(value)
            elif name == "style":
                scan.declarations(value)
                if not is_root:
                    scan.transforms(value)
                value = smooth_edges(value)
            elif name == "vector-effect":
                scan.strokes(value)
            elif name == "pathLength":
                scan.has_path_length = True
            elif name == "image-rendering":
                scan.declarations(f"image-rendering:{value}")
            elif name == "filter" and value.strip().lower() not in ("", "none"):
                scan.warn("filter")
            if "(" in value or "\\" in value:
                value = scan.local_urls(value, refs)
            kept[name] = value
        return kept

    def _href(self, local: str, value: str, kept: dict[str, str]) -> None:
        address = value.strip()
        if local == "a" or not address:
            return
        if address.startswith("#"):
            kept["xlink:href"] = address
        elif address[:5].lower() == "data:" and local in ("image", "feImage"):
            if is_svg_data(address):
                self._scan.warn("nested-svg-image")
            else:
                kept["xlink:href"] = address
        else:
            self._scan.warn("external-reference", address)

    def _end(self, name: str) -> None:
        self._depth -= 1
        if self._skipping:
            self._skipping -= 1
            return
        self._owners.pop()
        if self._depth == 0:
            return
        if self._style_text is not None:
            if self._styles and self._styles[-1] == len(self._parts) - 1:
                self._parts[-1] = "".join(self._style_text)
            self._parts.append("</style>")
            self._style_text = None
            return
        local = name.rpartition(" ")[2]
        if self._text_depth:
            self._text_depth -= 1
        if local == "switch":
            local = self._close_switch()
        self._parts.append(f"</{local}>")

    def _close_switch(self) -> str:
        switch = self._switches.pop()
        if switch.conditional or switch.children > 1:
            self._scan.warn("conditional")
            return "switch"
        self._parts[switch.part] = f"<g{switch.attributes}>"
        return "g"

    def _text(self, text: str) -> None:
        if self._entities:
            self._grow(len(text))
        if self._skipping:
            return
        if self._style_text is not None:
            self._style_text.append(text)
        elif self._text_depth:
            if not text.isspace():
                self._scan.warn("text")
            self._parts.append(escape(text))


def _value(attributes: list[str], name: str) -> str:
    names = attributes[::2]
    return attributes[2 * names.index(name) + 1].strip() if name in names else ""


def _utf8(latin: str) -> str:
    return latin.encode("latin-1").decode("utf-8", "replace")


def _undefined(name: str, line: int | None = None) -> ArtworkError:
    where = f"line {line}: " if line is not None else ""
    return ArtworkError(
        f"the file is not readable XML: {where}the entity &{name}; is used but not defined",
        code="not-readable",
    )


def _too_much_expansion() -> ArtworkError:
    return ArtworkError(
        "the file's entities expand to more than 4 million characters", code="entity-expansion"
    )


def _not_readable(error: expat.ExpatError) -> ArtworkError:
    reason = expat.errors.messages.get(error.code, "") if error.code else ""
    if "amplification" in reason or "recursive entity" in reason:
        return ArtworkError(
            f"the file's entities expand without measure: line {error.lineno}",
            code="entity-expansion",
        )
    if error.code == expat.errors.codes.get(expat.errors.XML_ERROR_UNBOUND_PREFIX):
        reason = "a name has a prefix whose namespace is not declared"
    return ArtworkError(
        f"the file is not readable XML: line {error.lineno}: {reason or 'malformed'}",
        code="not-readable",
    )
