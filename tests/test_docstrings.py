"""Public functions and classes say what they take and give; every example runs."""

from __future__ import annotations

import ast
import doctest
import importlib
import inspect
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "simprop"
FILES = sorted(p for p in ROOT.rglob("*.py") if p.name != "__main__.py")


def _module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT.parent).with_suffix("").parts).removesuffix(".__init__")


def _inherited(path: Path, of: str, method: str) -> str | None:
    """What a base class of the package says of a method that says nothing itself."""
    bases = getattr(importlib.import_module(_module(path)), of).__mro__[1:]
    own = [vars(b)[method] for b in bases if b.__module__.startswith("simprop.") and method in vars(b)]
    return next((doc for doc in map(inspect.getdoc, own) if doc), None)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_examples_run(path: Path) -> None:
    try:
        module = importlib.import_module(_module(path))
    except ImportError as error:
        pytest.skip(f"needs a package that isn't here: {error}")
    if "bullet" in path.parts:
        pytest.importorskip("pybullet")
    result = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS)
    assert result.failed == 0


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_public_names_have_docstrings(path: Path) -> None:
    tree = ast.parse(path.read_text())
    assert ast.get_docstring(tree), f"{path}: the module has no docstring"
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{path}: {node.name} has no docstring"
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                    said = ast.get_docstring(inner) or _inherited(path, node.name, inner.name)
                    assert said, f"{path}: {node.name}.{inner.name} has no docstring"


# The rooms of laws and loads are read by engineers: their functions with arguments state them. What is a record of the
# package is documented at its class.
STRICT = [p for p in FILES if p.relative_to(ROOT).parts[0] in ("laws", "strength")]


def _figures(node: ast.FunctionDef) -> bool:
    """Whether any argument is a figure, an array or a text rather than one record of the package."""
    kinds = [ast.unparse(a.annotation) if a.annotation else "" for a in node.args.args]
    return any(not re.fullmatch(r"[A-Z]\w+", kind) or kind in ("Array", "Vec", "Path") for kind in kinds)


@pytest.mark.parametrize("path", STRICT, ids=lambda p: str(p.relative_to(ROOT)))
def test_laws_state_arguments_and_source(path: Path) -> None:
    for node in ast.parse(path.read_text()).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and _figures(node):
            text = ast.get_docstring(node) or ""
            assert "Args:" in text, f"{path}: {node.name} doesn't state its arguments"
