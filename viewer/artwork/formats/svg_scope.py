"""Style rules of a drawing that is nested in a new document: may they reach beyond it?

A rule reaches only what its last compound selector matches. Ours are elements without
classes or ids that a drawing would name, so a last compound with a class or an id cannot
reach them, and such sheets, which are by far the most, stay byte for byte as they are.
"""

from __future__ import annotations

import re
from importlib import import_module
from itertools import pairwise
from typing import Any

SCOPE_CLASS = "brimcheck-artwork"
"""Class of the element that the drawing is nested in."""

_HOLDS_RULES = frozenset({"media", "supports", "layer", "container", "scope"})
_WITHOUT_SELECTORS = frozenset({"font-face", "charset", "namespace", "keyframes", "page"})


def may_reach_outside(sheet: str) -> bool:
    """Whether any rule of ``sheet`` could match elements around the drawing."""
    return bool(sheet.strip()) and any(map(_rule_reaches, _rules(sheet)))


def scoped(sheet: str) -> str:
    """``sheet`` with every rule that could reach outside kept to the drawing."""
    return "\n".join(map(_scoped_rule, _rules(sheet)))


def scoped_at_rules(sheet: str) -> str:
    """Only the at-rules of ``sheet`` (fonts, media), with the rules in them so kept."""
    return "\n".join(_scoped_rule(rule) for rule in _rules(sheet) if rule.type == "at-rule")


def _tinycss2() -> Any:
    return import_module("tinycss2")


def _rules(sheet: str) -> list[Any]:
    text = sheet.replace("<!--", " ").replace("-->", " ")
    rules = _tinycss2().parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
    return list(rules)


def _rule_reaches(rule: Any) -> bool:
    if rule.type == "qualified-rule":
        nested = any(token.type == "{} block" for token in rule.content)
        return nested or any(_selector_reaches(s) for s in _selectors(rule.prelude))
    if rule.type != "at-rule":
        return True
    if _holds_rules(rule):
        return any(map(_rule_reaches, _inner_rules(rule)))
    return _name(rule) not in _WITHOUT_SELECTORS


def _name(rule: Any) -> str:
    return re.sub(r"^-\w+-", "", str(rule.lower_at_keyword))


def _holds_rules(rule: Any) -> bool:
    return _name(rule) in _HOLDS_RULES and rule.content is not None


def _inner_rules(rule: Any) -> list[Any]:
    inner = _tinycss2().parse_rule_list(rule.content, skip_comments=True, skip_whitespace=True)
    return list(inner)


def _scoped_rule(rule: Any) -> str:
    serialize = _tinycss2().serialize
    if rule.type == "at-rule" and _holds_rules(rule):
        inner = "\n".join(map(_scoped_rule, _inner_rules(rule)))
        return f"@{rule.at_keyword}{serialize(rule.prelude)}{{{inner}}}"
    if rule.type != "qualified-rule":
        return str(rule.serialize()) if rule.type == "at-rule" else ""
    selectors = []
    for selector in _selectors(rule.prelude):
        text = serialize(selector).strip()
        selectors.append(f".{SCOPE_CLASS} {text}" if _selector_reaches(selector) else text)
    return f"{','.join(selectors)}{{{serialize(rule.content)}}}"


def _selectors(prelude: list[Any]) -> list[list[Any]]:
    found: list[list[Any]] = [[]]
    for token in prelude:
        if token.type == "literal" and token.value == ",":
            found.append([])
        elif token.type != "comment":
            found[-1].append(token)
    return found


def _selector_reaches(selector: list[Any]) -> bool:
    """Whether the last compound names neither a class nor an id of the drawing's own."""
    last: list[Any] = []
    for token in _trimmed(selector):
        is_combinator = token.type == "whitespace" or (
            token.type == "literal" and token.value in ">+~|"
        )
        last = [] if is_combinator else [*last, token]
    if any(t.type == "hash" for t in last):
        return any(t.type == "hash" and t.value.startswith("brimcheck") for t in last)
    for dot, name in pairwise(last):
        if dot.type == "literal" and dot.value == "." and name.type == "ident":
            if not name.value.startswith("brimcheck"):
                return False
            if name.value == "brimcheck-root":
                return False
    # The scope itself: what is kept to the drawing reaches nothing else.
    return not _is_scoped(selector)


def _is_scoped(selector: list[Any]) -> bool:
    tokens = _trimmed(selector)
    if len(tokens) < 4 or (tokens[3].type == "literal" and tokens[3].value in ">+~|"):
        return False
    return (
        tokens[0].type == "literal"
        and tokens[0].value == "."
        and getattr(tokens[1], "value", "") == SCOPE_CLASS
        and tokens[2].type == "whitespace"
    )


def _trimmed(selector: list[Any]) -> list[Any]:
    tokens = list(selector)
    while tokens and tokens[0].type == "whitespace":
        del tokens[0]
    while tokens and tokens[-1].type == "whitespace":
        del tokens[-1]
    return tokens
