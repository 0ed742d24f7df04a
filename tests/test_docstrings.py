"""Every public name says what it means; formulas say their units and sources."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "reportgen"
Documented = ast.FunctionDef | ast.ClassDef


def public(tree: ast.Module) -> Iterator[Documented]:
    for node in tree.body:
        if isinstance(node, Documented) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from (n for n in node.body if isinstance(n, ast.FunctionDef) and not n.name.startswith("_"))


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_every_public_name_is_documented(path: Path) -> None:
    tree = ast.parse(path.read_text())
    assert ast.get_docstring(tree), f"{path.name} has no docstring"
    missing = [node.name for node in public(tree) if not ast.get_docstring(node)]
    assert not missing


@pytest.mark.parametrize("path", sorted((PACKAGE / "calc").glob("*.py")), ids=lambda p: p.name)
def test_documented_parameters_exist(path: Path) -> None:
    for node in public(ast.parse(path.read_text())):
        text = ast.get_docstring(node) or ""
        if not isinstance(node, ast.FunctionDef) or "Parameters\n" not in text:
            continue
        names = {a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)}
        block = text.split("Parameters\n", 1)[1].split("\n", 1)[1].split("\n\n", 1)[0]
        said = {
            name.strip()
            for line in block.splitlines()
            if line and not line.startswith(" ")
            for name in line.split(":")[0].split(",")
        }
        assert said <= names, f"{node.name} documents {said - names}"
