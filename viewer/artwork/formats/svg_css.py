"""Style sheets of an SVG: what they say about the root, and rules that survive nesting.

The drawing is nested in a new root, so rules that size, clip or transform the old
root must act on it alone; they are resolved here and taken out of the sheets.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from viewer.artwork.formats.svg_scan import Scan, smooth_edges

ROOT_CLASS = "brimcheck-root"
"""Stands for ``:root`` once the drawing is nested."""

_SIZING = frozenset(
    [
        "width",
        "height",
        "x",
        "y",
        "transform",
        "transform-origin",
        "overflow",
        "overflow-x",
        "overflow-y",
        "min-width",
        "max-width",
        "min-height",
        "max-height",
        "display",
    ]
)
_MOVED = frozenset({"clip-path", "mask", "opacity", "filter", "display"})
_BOX = _SIZING | _MOVED
_READ = _BOX | {"font-size"}
_ROOT_PSEUDO = re.compile(r":root\b", re.IGNORECASE)
_DROPPED_RULES = {
    "import": "external-reference",
    "media": "media-query",
    "supports": "media-query",
    "layer": "media-query",
    "container": "media-query",
    "keyframes": "animation",
}

Specificity = tuple[int, int, int, int]


@dataclass(frozen=True)
class RootStyle:
    """Cascaded CSS values of the root by lower case name, and what is left to write."""

    values: dict[str, str]
    style: str
    """What is left of the root's style attribute."""
    sheets: list[str]


@dataclass(frozen=True)
class _Root:
    id: str
    classes: frozenset[str]


class _Cascade:
    def __init__(self) -> None:
        self._won: dict[str, tuple[tuple[bool, Specificity], str]] = {}

    def add(self, name: str, value: str, important: bool, specificity: Specificity) -> None:
        rank = (important, specificity)
        if name not in self._won or rank >= self._won[name][0]:
            self._won[name] = (rank, value)

    def values(self) -> dict[str, str]:
        return {name: value for name, (_, value) in self._won.items()}


def resolve_styles(
    sheets: list[str],
    root: dict[str, str],
    classes: dict[str, int],
    scan: Scan,
    *,
    has_nested_svg: bool,
) -> RootStyle:
    """Cascade of ``sheets`` and the root's style attribute; rewritten sheets.

    ``classes`` counts how many elements carry each class. Values are CSS text.
    """
    cascade = _Cascade()
    self_ = _Root(root.get("id", ""), frozenset(root.get("class", "").split()))
    reader = _Sheets(self_, classes, scan, cascade, has_nested_svg)
    written = [reader.read(sheet) for sheet in sheets]
    style = _inline(root.get("style", ""), cascade)
    values = cascade.values()
    moved = [f"{name}:{values[name]}" for name in sorted(_MOVED) if name in values]
    return RootStyle(values, ";".join([*style, *moved]), written)


def _css_parser() -> Any:
    """tinycss2, only once a file has a style sheet or a style on its root."""
    return import_module("tinycss2")


def _inline(text: str, cascade: _Cascade) -> list[str]:
    if not text.strip():
        return []
    tinycss2 = _css_parser()

    kept = []
    for item in tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True):
        if item.type != "declaration":
            continue
        if item.lower_name in _READ:
            value = tinycss2.serialize(item.value).strip()
            cascade.add(item.lower_name, value, item.important, (1, 0, 0, 0))
        if item.lower_name not in _BOX:
            kept.append(item.serialize().rstrip(";"))
    return kept


class _Sheets:
    """Reads one sheet after the other into a cascade."""

    def __init__(
        self,
        root: _Root,
        classes: dict[str, int],
        scan: Scan,
        cascade: _Cascade,
        has_nested_svg: bool,
    ) -> None:
        self._root = root
        self._classes = classes
        self._scan = scan
        self._cascade = cascade
        self._has_nested_svg = has_nested_svg

    def read(self, text: str) -> str:
        tinycss2 = _css_parser()

        text = smooth_edges(text.replace("<!--", " ").replace("-->", " "))
        kept: list[str] = []
        for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
            if rule.type == "qualified-rule":
                kept.append(self._rule(rule))
            elif rule.type == "at-rule":
                self._at_rule(rule)
        return "\n".join(line for line in kept if line)

    def _at_rule(self, rule: Any) -> None:
        name = re.sub(r"^-\w+-", "", rule.lower_at_keyword)
        if name in _DROPPED_RULES:
            self._scan.warn(_DROPPED_RULES[name])

    def _rule(self, rule: Any) -> str:
        """The rule as text, without what sizes, clips or moves the root."""
        tinycss2 = _css_parser()
        self._scan.declarations(tinycss2.serialize(rule.content))
        declarations = []
        for item in tinycss2.parse_blocks_contents(
            rule.content, skip_comments=True, skip_whitespace=True
        ):
            if item.type == "declaration":
                declarations.append(item)
            else:  # a nested rule, which neither renderer reads
                self._scan.warn("root-css")
        stripped = [item for item in declarations if item.lower_name not in _BOX]
        own, others = [], []
        for selector in _selectors(rule.prelude):
            specificity = self._specificity(selector)
            if specificity is not None:
                self._cascade_all(declarations, specificity)
                own.append(selector)
            else:
                others.append(selector)
            reaches = self._is_shared(selector) if specificity else self._may_reach_root(selector)
            if reaches and len(stripped) < len(declarations):
                self._scan.warn("root-css", tinycss2.serialize(selector))
        if others:
            self._scan.transforms(tinycss2.serialize(rule.content))
        return self._written(own, stripped) + self._written(others, declarations)

    def _cascade_all(self, declarations: list[Any], specificity: Specificity) -> None:
        for item in declarations:
            if item.lower_name in _READ:
                value = self._local(_css_parser().serialize(item.value).strip())
                self._cascade.add(item.lower_name, value, item.important, specificity)

    def _written(self, selectors: list[list[Any]], declarations: list[Any]) -> str:
        if not selectors or not declarations:
            return ""
        prelude = ",".join(_css_parser().serialize(selector) for selector in selectors)
        prelude = _ROOT_PSEUDO.sub("." + ROOT_CLASS, prelude)
        body = ";".join(self._local(item.serialize().rstrip(";")) for item in declarations)
        return f"{prelude}{{{body}}}"

    def _local(self, text: str) -> str:
        return self._scan.local_urls(text, []) if "(" in text or "\\" in text else text

    def _specificity(self, selector: list[Any]) -> Specificity | None:
        """Specificity of a selector of one compound that matches the root, else None."""
        ids = classes = types = 0
        tokens = iter(selector)
        for token in tokens:
            if token.type == "ident":
                if token.value != "svg":
                    return None
                types += 1
            elif token.type == "hash":
                if token.value != self._root.id:
                    return None
                ids += 1
            elif token.type == "literal" and token.value == ".":
                name = next(tokens, None)
                if name is None or getattr(name, "value", "") not in self._root.classes:
                    return None
                classes += 1
            elif token.type == "literal" and token.value == ":":
                name = next(tokens, None)
                if name is None or getattr(name, "lower_value", "") != "root":
                    return None
                classes += 1
            elif not (token.type == "literal" and token.value == "*"):
                return None
        return (0, ids, classes, types) if selector else None

    def _is_shared(self, selector: list[Any]) -> bool:
        """Whether a matching selector may match elements other than the root."""
        kinds = [(token.type, getattr(token, "value", "")) for token in selector]
        names = [value for _, value in kinds]
        if any(kind == "hash" for kind, _ in kinds) or "root" in names:
            return False
        if "." in names:
            own = [n for n in names if n in self._root.classes]
            return all(self._classes.get(name, 0) > 1 for name in own)
        return self._has_nested_svg or "svg" not in names

    def _may_reach_root(self, selector: list[Any]) -> bool:
        """Whether a compound or attribute selector could match the nested root."""
        last: list[Any] = []
        for token in selector:
            if token.type == "whitespace" or (token.type == "literal" and token.value in ">+~"):
                last = []
            else:
                last.append(token)
        if not last or len(last) == len(selector):
            return bool(last) and any(t.type in ("[] block", "function") for t in last)
        return self._specificity(last) is not None


def _selectors(prelude: list[Any]) -> list[list[Any]]:
    """The comma-separated selectors, without comments and outer whitespace."""
    found: list[list[Any]] = [[]]
    for token in prelude:
        if token.type == "literal" and token.value == ",":
            found.append([])
        elif token.type != "comment":
            found[-1].append(token)
    for selector in found:
        while selector and selector[0].type == "whitespace":
            del selector[0]
        while selector and selector[-1].type == "whitespace":
            del selector[-1]
    return found
