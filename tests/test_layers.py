"""Data flow one way: read -> trial -> figures -> view -> render -> write. An import never points back."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "reportgen"
#: Rooms from the ground up: a module imports only from rooms before its own, or from its own.
ROOMS = [
    {"__init__"},
    {"codes", "errors", "sources", "calc", "resources", "unit_definitions", "wish"},
    {"speech"},
    {"rounding"},
    {"beside"},
    {"message", "units", "lines"},
    {"everyday", "vocabulary", "catalogue"},
    {"trial"},
    {"checks"},
    {"read", "photos"},
    {"figures"},
    {"set_up"},
    {"results_file", "results_reader", "safety", "checklist", "claims", "outputs", "supports", "what_if", "wording"},
    {"charts", "anonymous", "issue"},
    {"plan"},
    {"advice"},
    {"status"},
    {"view"},
    {"comparison"},
    {"own_templates"},
    {"render", "write", "pdf"},
    {"data_package", "publication"},
    {"batch", "compare_files", "trial_check", "new_trial"},
    {"cli"},
    {"__main__"},
]
ALLOWED_IN_CALC = {"numpy", "scipy", "uncertainties"}


def room_of(module: str) -> int:
    name = module.split(".")[1] if "." in module else "__init__"
    return next(level for level, names in enumerate(ROOMS) if name in names)


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def imports(path: Path) -> list[str]:
    """Return what a module imports, type-only imports left out."""
    tree = ast.parse(path.read_text())
    typing_only = {
        id(child)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for child in ast.walk(node)
    }
    found = []
    for node in ast.walk(tree):
        if id(node) in typing_only:
            continue
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found += [
                f"{node.module}.{alias.name}" if node.module == "reportgen" else node.module for alias in node.names
            ]
    return found


def dotted(path: Path) -> str:
    parts = ("reportgen", *path.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts if parts[-1] != "__init__" or len(parts) == 2 else parts[:-1])


@pytest.mark.parametrize("path", modules(), ids=dotted)
def test_imports_point_one_way(path: Path) -> None:
    own = room_of(dotted(path))
    for name in imports(path):
        if name == "reportgen.__version__" or not name.startswith("reportgen"):
            continue
        assert room_of(name) <= own, f"{dotted(path)} imports {name}, which comes later"


@pytest.mark.parametrize("path", [p for p in modules() if not p.name.startswith("__")], ids=dotted)
def test_every_module_is_in_the_developers_table(path: Path) -> None:
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = {line.split("|")[1].strip(" `"): line.split("|")[2] for line in text.splitlines() if line.startswith("| `")}
    if path.parent == PACKAGE:
        assert path.name in rows
    else:
        assert f"`{path.stem}`" in rows[f"{path.parent.name}/"]


@pytest.mark.parametrize("path", [p for p in modules() if p.parent.name == "calc"], ids=dotted)
def test_calculations_are_pure(path: Path) -> None:
    for name in imports(path):
        top = name.split(".")[0]
        assert name.startswith("reportgen.calc") or top in ALLOWED_IN_CALC | sys.stdlib_module_names, name
    calls = {ast.unparse(node.func) for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call)}
    assert not calls & {"open", "print", "input", "datetime.now", "time.time"}


def test_only_the_command_line_prints() -> None:
    for path in modules():
        calls = {ast.unparse(n.func) for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Call)}
        assert path.parent.name == "cli" or not calls & {"print", "click.echo"}, path


def test_help_loads_neither_tables_nor_charts() -> None:
    code = (
        "import sys; from reportgen.cli import run; run(['--help']); "
        "sys.exit(bool({'pandas', 'numpy', 'scipy', 'pint'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, cwd=PACKAGE.parent)
    assert done.returncode == 0, done.stderr
