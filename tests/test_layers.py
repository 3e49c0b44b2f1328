"""A package imports only packages listed above it, and pygame lives in the screen alone."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

VIEWER = Path(__file__).resolve().parents[1] / "viewer"
LAYERS = (
    "errors",
    "units",
    "geometry",
    "press",
    "artwork",
    "fit",
    "sizing",
    "report",
    "job",
    "sheets",
    "signoff",
    "lessons",
    "screen",
    "cli",
    "__main__",
)


def imported_names(source: str, package: str) -> Iterator[str]:
    """Full dotted names of everything a module imports, wherever it does so."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*parents, base] if base else parents)
            yield from (f"{base}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Call) and node.args:
            name = node.func.attr if isinstance(node.func, ast.Attribute) else ""
            name = node.func.id if isinstance(node.func, ast.Name) else name
            first = node.args[0]
            if name in ("import_module", "__import__") and isinstance(first, ast.Constant):
                yield str(first.value)


def layer_of(dotted: str) -> str | None:
    """The layer a dotted name belongs to; None outside the project."""
    parts = dotted.split(".")
    return parts[1] if parts[0] == "viewer" and len(parts) > 1 else None


def wrong_imports(source: str, package: str, layer: str) -> list[str]:
    """Imports that point to a layer below the module's own, or to pygame where it must not be."""
    wrong = []
    for name in imported_names(source, package):
        target = layer_of(name)
        if target in LAYERS and target != layer and LAYERS.index(target) > LAYERS.index(layer):
            wrong.append(name)
        if name.split(".")[0] == "pygame" and layer != "screen":
            wrong.append(name)
    return wrong


def modules() -> list[Path]:
    """All modules of the package but its own ``__init__``."""
    return sorted(path for path in VIEWER.rglob("*.py") if path != VIEWER / "__init__.py")


def package_of(path: Path) -> tuple[str, str]:
    """Dotted package that relative imports start from, and the layer."""
    parts = path.relative_to(VIEWER).with_suffix("").parts
    return ".".join(("viewer", *parts[:-1])), parts[0]


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(VIEWER)))
def test_imports_point_upwards_only(path: Path) -> None:
    package, layer = package_of(path)
    assert layer in LAYERS, f"{layer} has no place in the order of layers"
    assert wrong_imports(path.read_text(encoding="utf-8"), package, layer) == []


def test_the_package_itself_imports_no_layer() -> None:
    source = (VIEWER / "__init__.py").read_text(encoding="utf-8")
    assert [name for name in imported_names(source, "viewer") if layer_of(name)] == []


@pytest.mark.parametrize(
    ("source", "layer"),
    [
        ("from viewer.screen import app", "fit"),
        ("import viewer.fit.fit", "geometry"),
        ("from viewer import cli", "report"),
        ("from ..fit import judge", "artwork"),
        ("from .. import fit", "artwork"),
        ("import importlib\nimportlib.import_module('viewer.cli')", "screen"),
        ("def late():\n    import pygame", "cli"),
        ("from pygame.locals import QUIT", "report"),
    ],
)
def test_the_check_can_fail(source: str, layer: str) -> None:
    assert wrong_imports(source, f"viewer.{layer}", layer) != []


@pytest.mark.parametrize(
    ("source", "layer"),
    [
        ("from ..geometry import convex_hull", "fit"),
        ("from .model import Artwork", "artwork"),
        ("import pygame", "screen"),
        ("import numpy as np", "geometry"),
    ],
)
def test_the_check_lets_good_imports_pass(source: str, layer: str) -> None:
    assert wrong_imports(source, f"viewer.{layer}", layer) == []
