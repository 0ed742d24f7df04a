"""Change the calculations in one place at a time, and say which changes no test notices.

    python tests/mutation/mutate.py [MODULE ...] [--every N] [--from N] [--again FILE]

Each change runs in a process of its own, forked from one that has loaded all but the program, against the tests of that
module alone; no file is touched. A change that no test notices is a survivor: a test is missing, or `survivors.md` says
why none is written. Those it explains are counted, the others are printed as rows for it.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import gc
import importlib.util
import io
import json
import os
import re
import resource
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"
os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"

import hypothesis
import pytest
from hypothesis import strategies as st

ROOT = Path(__file__).resolve().parent.parent.parent
CALCULATIONS = ROOT / "reportgen" / "calc"
EXPLAINED = Path(__file__).with_name("survivors.md")
#: Modules that are tested through others too -> those.
THROUGH = {
    "ranges": ["gas", "water", "absorption"],
    "digester_log": ["gas_yield"],
    "gas_yield_model": ["gas_yield"],
    "response_noise": ["response"],
    "response_search": ["response"],
}
#: What tests and calculations load besides.
LIBRARIES = ("numpy", "scipy.optimize", "scipy.special", "scipy.stats", "uncertainties.umath", "iapws", "pint")
#: Tests of speed: what they see is how busy the machine is.
LEFT_OUT = "not take_a_moment"
#: Arguments that say how, and not what, is computed.
MANNERS = {"strict", "dtype", "maxsize", "draws", "max_nfev"}

COMPARISONS: dict[type[ast.cmpop], list[type[ast.cmpop]]] = {
    ast.Lt: [ast.LtE, ast.GtE],
    ast.LtE: [ast.Lt, ast.Gt],
    ast.Gt: [ast.GtE, ast.LtE],
    ast.GtE: [ast.Gt, ast.Lt],
    ast.Eq: [ast.NotEq],
    ast.NotEq: [ast.Eq],
    ast.Is: [ast.IsNot],
    ast.IsNot: [ast.Is],
    ast.In: [ast.NotIn],
    ast.NotIn: [ast.In],
}
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
PAIRS = [("min", "max"), ("minimum", "maximum"), ("argmin", "argmax"), ("any", "all"), ("left", "right")]
OTHER = {one: other for pair in PAIRS for one, other in (pair, pair[::-1])}


@dataclass(frozen=True)
class Change:
    """One node of a module replaced by another."""

    owner: ast.AST
    field: str
    index: int | None
    new: ast.AST
    name: str

    @property
    def row(self) -> str:
        """Its row in a table, as far as its name."""
        return f"| `{self.name.replace('|', chr(92) + '|')}` |"

    def make(self) -> None:
        """Put the new node in its place."""
        if self.index is None:
            setattr(self.owner, self.field, self.new)
        else:
            getattr(self.owner, self.field)[self.index] = self.new


def replacements(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what a node is replaced by, one at a time."""
    match node:
        case ast.Compare(left, operators, right):
            for i, operator in enumerate(operators):
                for other in COMPARISONS[type(operator)]:
                    yield ast.Compare(left, [*operators[:i], other(), *operators[i + 1 :]], right)
        case ast.BinOp(left, operator, right) if type(operator) in OPERATORS:
            yield ast.BinOp(left, OPERATORS[type(operator)](), right)
        case ast.AugAssign(target, operator, value) if type(operator) in OPERATORS:
            yield ast.AugAssign(target, OPERATORS[type(operator)](), value)
            yield ast.Pass()
        case ast.BoolOp(operator, values):
            yield ast.BoolOp(ast.Or() if isinstance(operator, ast.And) else ast.And(), values)
        case ast.UnaryOp(ast.Not() | ast.USub() | ast.Invert(), operand):
            yield operand
        case ast.Constant(bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(int() as value):
            yield from (ast.Constant(value + 1), ast.Constant(value - 1))
        case ast.Constant(float() as value):
            yield ast.Constant(value * 1.1 if value else 1.0)
        case ast.Constant(str() as value) if value in OTHER:
            yield ast.Constant(OTHER[value])
        case ast.Name(name, context) if name in OTHER:
            yield ast.Name(OTHER[name], context)
        case ast.Attribute(value, name, context) if name in OTHER:
            yield ast.Attribute(value, OTHER[name], context)
        case ast.If(ast.Name() | ast.Attribute() | ast.Call() | ast.BoolOp() as test, body, otherwise):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, otherwise)
        case ast.IfExp(ast.Name() | ast.Attribute() | ast.Call() | ast.BoolOp() as test, body, otherwise):
            yield ast.IfExp(ast.UnaryOp(ast.Not(), test), body, otherwise)
        case ast.Return(ast.AST() as value) if not isinstance(value, ast.Constant):
            yield ast.Return(ast.Constant(None))
        case ast.Raise() | ast.Continue() | ast.Break() | ast.Expr(ast.Call()):
            yield ast.Pass()


def short(node: ast.AST) -> str:
    """Return the first line of a node's source."""
    text = ast.unparse(ast.fix_missing_locations(node)).splitlines()[0]
    return text if len(text) <= 90 else f"{text[:87]}..."


def changes(node: ast.AST, where: str) -> Iterator[Change]:
    """Yield the changes of all that is below a node; words, types and manners are left alone."""
    for field, value in ast.iter_fields(node):
        if field in {"annotation", "returns", "decorator_list", "exc"}:
            continue
        for i, child in enumerate(value if isinstance(value, list) else [value]):
            words = isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)
            manner = isinstance(child, ast.keyword) and child.arg in MANNERS
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr) or words or manner:
                continue
            inside = f"{where}.{child.name}" if isinstance(child, (ast.FunctionDef, ast.ClassDef)) else where
            for new in replacements(child):
                ast.copy_location(new, child)
                name = f"{inside}: {short(child)} -> {short(new)}"
                yield Change(node, field, i if isinstance(value, list) else None, new, name)
            yield from changes(child, inside)


def changes_of(module: str) -> tuple[ast.Module, list[Change]]:
    """Return the source of a module, and its changes with names of their own."""
    tree = ast.parse((CALCULATIONS / f"{module}.py").read_text(encoding="utf-8"))
    named: list[Change] = []
    seen: dict[str, int] = {}
    for change in changes(tree, module):
        seen[change.name] = seen.get(change.name, 0) + 1
        nth = f" ({seen[change.name]})" if seen[change.name] > 1 else ""
        named.append(Change(change.owner, change.field, change.index, change.new, change.name + nth))
    return tree, named


def warm_up() -> None:
    """Load what every run loads, so that forked ones have it, and keep it out of the way of their garbage collector."""

    @hypothesis.settings(database=None, deadline=None, max_examples=5)
    @hypothesis.given(st.lists(st.floats(0, 1) | st.integers(0, 1)), st.text(max_size=2))
    def draw(_numbers: list[float], _text: str) -> None:
        pass

    draw()
    for library in LIBRARIES:
        importlib.import_module(library)
    with contextlib.redirect_stdout(io.StringIO()):
        pytest.main(["--version"])
    gc.collect()
    gc.freeze()


class Changed:
    """Imports one module from a tree instead of its file."""

    def __init__(self, module: str, tree: ast.Module) -> None:
        self.name, self.tree = f"reportgen.calc.{module}", tree

    def find_spec(self, name: str, *_: object) -> object:
        return importlib.util.spec_from_loader(name, self) if name == self.name else None  # type: ignore[arg-type]

    def create_module(self, _: object) -> None:
        return None

    def exec_module(self, module: object) -> None:
        code = compile(ast.fix_missing_locations(self.tree), f"{self.name} changed", "exec")
        exec(code, vars(module))


class Tests:
    """Runs the quickest tests first, without searching for the simplest example, and notes how long each took."""

    def __init__(self, times: Path) -> None:
        self.times = times
        self.known: dict[str, float] = json.loads(times.read_text()) if times.exists() else {}

    def pytest_configure(self) -> None:
        phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
        hypothesis.settings.register_profile("changed", derandomize=True, deadline=None, max_examples=50, phases=phases)
        hypothesis.settings.load_profile("changed")

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items.sort(key=lambda item: self.known.get(item.nodeid, 0.0))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.when == "call":
            self.known[report.nodeid] = report.duration

    def pytest_sessionfinish(self, exitstatus: int) -> None:
        if not self.times.exists():
            self.times.write_text(json.dumps(self.known))
        os._exit(int(exitstatus))  # tidying up takes as long as many tests


def tests_of(module: str) -> list[str]:
    """Return the files that test a module and load no more than calculations and units."""
    names = "|".join([module, *THROUGH.get(module, [])])
    wanted = re.compile(rf"^from reportgen\.calc(\.({names})| import .*\b({names})\b)", re.M)
    more = re.compile(r"^from reportgen\.(?!calc|units)", re.M)
    paths = sorted([*ROOT.glob("tests/calc/test_*.py"), *ROOT.glob("tests/reference/test_*.py")])
    texts = {str(path): path.read_text(encoding="utf-8") for path in paths}
    return [path for path, text in texts.items() if wanted.search(text) and not more.search(text)]


def passes(
    module: str, tree: ast.Module, change: Change | None, times: Path, limit: float | None
) -> tuple[bool, float]:
    """Return whether the tests of a module pass with a change, and the processor time they took [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    child = os.fork()
    if not child:
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in range(3 if change else 2):
            os.dup2(nothing, stream)
        if limit is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (round(limit), round(limit) + 1))
        if change:
            change.make()
        try:
            sys.meta_path.insert(0, Changed(module, tree))  # type: ignore[arg-type]
            options = ["-x", "-q", "-o", "addopts=", "--noconftest", "-p", "no:cacheprovider"]
            pytest.main([*options, "-k", LEFT_OUT, *tests_of(module)], plugins=[Tests(times)])
        finally:
            os._exit(1)  # the tests could not even be run
    _, status = os.waitpid(child, 0)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return status == 0, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> int:
    """Return 0 where every survivor is explained."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("modules", nargs="*", help="modules of reportgen/calc; all of them where none is named")
    parser.add_argument("--every", type=int, default=1, help="take every so many changes only")
    parser.add_argument("--from", type=int, default=0, dest="offset", help="the first change taken")
    parser.add_argument("--again", type=Path, help="take only what survived in the run whose output this file holds")
    asked = parser.parse_args()
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    if any(name.startswith("reportgen") for name in sys.modules):
        raise RuntimeError("the program is loaded before its changes")
    warm_up()
    explained = EXPLAINED.read_text(encoding="utf-8") if EXPLAINED.exists() else ""
    again = asked.again.read_text(encoding="utf-8") if asked.again else None
    open_survivors = 0
    for module in asked.modules or sorted(path.stem for path in CALCULATIONS.glob("[!_]*.py")):
        tree, found = changes_of(module)
        taken = [change for change in found[asked.offset :: asked.every] if again is None or change.row in again]
        with tempfile.TemporaryDirectory() as folder:
            times = Path(folder) / "times.json"
            whole, seconds = passes(module, tree, None, times, None)
            if not whole:
                print(f"{module}: its tests fail without any change")
                return 1
            survivors = []
            for change in taken:
                survived, _ = passes(module, tree, change, times, 3 * seconds + 5)
                if survived:
                    survivors.append(change.row)
        unexplained = [row for row in survivors if row not in explained]
        open_survivors += len(unexplained)
        print(
            f"{module}: {len(found)} changes, {len(taken)} tried, {len(taken) - len(survivors)} noticed, "
            f"{len(survivors)} survived, {len(survivors) - len(unexplained)} of them explained"
        )
        for row in unexplained:
            print(f"{row} |")
        sys.stdout.flush()
    return 1 if open_survivors else 0


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt):
        sys.exit(main())
