"""The original SVG, byte for byte, as an element of a new document.

Changed is only what a nested root cannot keep: the prolog goes (its entities are put in
where they are used), the root gets an explicit place and size, and style rules that would
reach the elements around the drawing are kept to it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from xml.parsers import expat

from viewer.artwork.formats.svg_clean import escape
from viewer.artwork.formats.svg_css import ROOT_CLASS
from viewer.artwork.formats.svg_scope import may_reach_outside, scoped, scoped_at_rules
from viewer.artwork.formats.svg_source import REPLACED_ATTRIBUTES, RootParts, SvgSource
from viewer.errors import ArtworkError

_TOKEN = re.compile(
    r"<!--.*?-->|<!\[CDATA\[.*?\]\]>|<\?.*?\?>"
    r"|<(?:[^<>\"']|\"[^\"]*\"|'[^']*')*>|[^<]+",
    re.DOTALL,
)
_TAG_END = re.compile(rb"(?:[^>\"']|\"[^\"]*\"|'[^']*')*>")
_ENTITY_REF = re.compile(r"&([^\s&;#<]+);")
_AS_DATA = {"<": "&#60;", '"': "&#34;", "'": "&#39;"}


def nested_original(source: SvgSource) -> str:
    """An ``<svg>`` element (in a ``<g>`` if the root is transformed), in page px.

    ArtworkError where the file keeps attributes outside its elements.
    """
    document = _Document(_as_utf8(source.plain))
    document.read()
    body = document.body()
    for start, end, text in reversed(document.styles(source.root)):
        body = body[:start] + text.encode() + body[end:]
    text = _expanded(body.decode(), document.entities)
    name = document.root_name
    nested = f"<{name}{_root_attributes(document.root, source)}>{text}</{name}>"
    transform = source.root.transform
    return f'<g transform="{transform}">{nested}</g>' if transform else nested


def _as_utf8(data: bytes) -> bytes:
    """``data`` without its XML declaration, transcoded."""
    encoding = _encoding(data)
    try:
        text = data.decode(encoding)
    except (LookupError, UnicodeError) as error:
        raise ArtworkError(f"its characters cannot be read: {error}", code="not-readable") from None
    return re.sub(r"\A\s*<\?xml\s.*?\?>\s*", "", text, count=1, flags=re.DOTALL).encode()


def _encoding(data: bytes) -> str:
    marks = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
    marks |= {b"<\x00": "utf-16-le", b"\x00<": "utf-16-be"}
    for mark, name in marks.items():
        if data.startswith(mark):
            return name
    declared = re.match(rb"<\?xml[^>]*?encoding\s*=\s*[\"']([\w.:-]+)", data)
    return declared.group(1).decode() if declared else "utf-8"


@dataclass
class _Document:
    """One pass for the places where the root and the style sheets begin and end."""

    data: bytes
    root_name: str = ""
    root: dict[str, str] = field(default_factory=dict)
    entities: dict[str, str] = field(default_factory=dict)
    _depth: int = 0
    _body: tuple[int, int] = (0, 0)
    _open_style: int | None = None
    _style_text: list[str] = field(default_factory=list)
    _styles: list[tuple[int, int, str]] = field(default_factory=list)
    _defaults: dict[str, str] = field(default_factory=dict)

    def read(self) -> None:
        parser = expat.ParserCreate("utf-8")
        parser.buffer_text = True
        parser.ordered_attributes = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.EntityDeclHandler = self._entity
        parser.AttlistDeclHandler = self._attlist
        self._parser = parser
        try:
            parser.Parse(self.data, True)
        except (expat.ExpatError, ValueError) as error:
            raise ArtworkError(f"the file is not readable XML: {error}", code="not-readable") from (
                None
            )
        others = [name for name in self._defaults if name != self.root_name]
        if others:
            raise ArtworkError(
                f"its DOCTYPE gives <{others[0]}> elements attributes that would be lost on a "
                "sheet: save the drawing without a DOCTYPE first",
                code="doctype-attributes",
            )

    def body(self) -> bytes:
        """Everything between the root's tags."""
        return self.data[self._body[0] : self._body[1]]

    def styles(self, root: RootParts) -> list[tuple[int, int, str]]:
        """Style sheets of the body to be replaced: start, end (in the body), new text.

        Where any sheet acts on the root or reaches beyond the drawing, all are replaced
        by what was measured, with what acts on the root taken out.
        """
        cleaned = root.sheets
        acts_on_root = root.is_styled or any(ROOT_CLASS in sheet for sheet in cleaned)
        reaching = any(may_reach_outside(text) for _a, _b, text in self._styles)
        if not self._styles or not (acts_on_root or reaching):
            return []
        if len(cleaned) != len(self._styles):
            raise ArtworkError(
                "its style sheets cannot be kept apart from a sheet's own: save it with plain "
                "attributes instead of style rules",
                code="style-sheets",
            )
        at = self._body[0]
        return [
            # At-rules were not measured by, but they are the drawing's own.
            (start - at, end - at, escape(f"{scoped(text)}\n{scoped_at_rules(old)}"))
            for (start, end, old), text in zip(self._styles, cleaned, strict=True)
        ]

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
        if not is_parameter and value is not None:
            self.entities.setdefault(name, value)

    def _attlist(
        self, element: str, attribute: str, kind: str, default: str | None, required: int
    ) -> None:
        if default is not None:
            self._defaults[element] = attribute

    def _start(self, name: str, attributes: list[str]) -> None:
        self._depth += 1
        here = self._parser.CurrentByteIndex
        if self._depth == 1:
            self.root_name = name
            pairs = iter(attributes)
            self.root = dict(zip(pairs, pairs, strict=True))
            self._body = (self._tag_end(here), 0)
        elif name.rpartition(":")[2] == "style":
            self._start_style(self._tag_end(here), attributes)

    def _start_style(self, at: int, attributes: list[str]) -> None:
        kind = dict(zip(attributes[::2], attributes[1::2], strict=True)).get("type", "")
        if kind.strip().lower() not in ("", "text/css"):
            return
        if self.data[:at].endswith(b"/>"):
            self._styles.append((at, at, ""))
        else:
            self._open_style, self._style_text = at, []

    def _end(self, name: str) -> None:
        self._depth -= 1
        here = self._parser.CurrentByteIndex
        if self._depth == 0:
            self._body = (self._body[0], max(here, self._body[0]))
        elif self._open_style is not None:
            self._styles.append((self._open_style, here, "".join(self._style_text)))
            self._open_style = None

    def _text(self, text: str) -> None:
        if self._open_style is not None:
            self._style_text.append(text)

    def _tag_end(self, at: int) -> int:
        match = _TAG_END.match(self.data, at)
        return match.end() if match else len(self.data)


def _root_attributes(root: dict[str, str], source: SvgSource) -> str:
    """The root's own attributes, with those that place and size it set anew."""
    set_anew = dict(source.root.attributes)
    written = {"x": "0", "y": "0"}
    for name, value in root.items():
        if name not in REPLACED_ATTRIBUTES and name != "class":
            written[name] = value
    for name in (
        "width", "height", "overflow", "viewBox", "preserveAspectRatio", "style", "class"
    ):  # fmt: skip
        if name in set_anew:
            written[name] = set_anew[name]
    return "".join(f' {name}="{escape(value)}"' for name, value in written.items())


def _expanded(body: str, entities: dict[str, str]) -> str:
    """``body`` with the entities of the DOCTYPE put in; their sizes were checked on reading."""
    if not entities or "&" not in body:
        return body
    parts = []
    for match in _TOKEN.finditer(body):
        token = match.group()
        if "&" not in token or token.startswith(("<!--", "<![CDATA[", "<?")):
            parts.append(token)
        elif token.startswith("<"):
            parts.append(_in_attributes(token, entities))
        else:
            parts.append(_ENTITY_REF.sub(lambda m: _in_content(m, entities), token))
    return "".join(parts)


def _in_content(match: re.Match[str], entities: dict[str, str]) -> str:
    value = entities.get(match.group(1))
    return match.group() if value is None else _expanded(value, entities)


def _in_attributes(text: str, entities: dict[str, str]) -> str:
    def put_in(match: re.Match[str]) -> str:
        value = entities.get(match.group(1))
        if value is None:
            return match.group()
        quoted = re.sub(r"[<\"']", lambda m: _AS_DATA[m.group()], value)
        return _in_attributes(quoted, entities)

    return _ENTITY_REF.sub(put_in, text)
