"""Every code of a finding or an error is explained once, and every explanation is of a code in use."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from write_readme import BLOCKS, README, with_block

from reportgen.codes import CODES
from reportgen.errors import LogFileError
from reportgen.message import say
from reportgen.read.sheet import FileRule
from reportgen.trial import LEVELS, Finding

PACKAGE = README.parent / "reportgen"
#: What is made with a code: the names of its arguments in order.
MAKERS = {
    "Finding": ("level", "code"),
    "ReportgenError": ("code",),
    "TrialFileError": ("code",),
    "LogFileError": ("code",),
    "OutputError": ("code",),
    "SheetFault": ("code",),
}


@dataclass(frozen=True)
class Use:
    """A code in the program's text; level is None where it is decided as the program runs."""

    code: str
    level: str | None
    place: str


@dataclass(frozen=True)
class Maker:
    """Something that is called with a code: its arguments in order, and the level where no argument gives it."""

    arguments: tuple[str, ...]
    level: str | None = None


def _called(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")


def _argument(call: ast.Call, maker: Maker, name: str) -> ast.expr | None:
    named = {keyword.arg: keyword.value for keyword in call.keywords}
    at = maker.arguments.index(name) if name in maker.arguments else len(call.args)
    return named.get(name, call.args[at] if at < len(call.args) else None)


def _text(node: ast.expr | None) -> str | None:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def _functions(tree: ast.AST) -> Iterator[ast.FunctionDef]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def _calls(tree: ast.AST) -> Iterator[ast.Call]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def makers(trees: dict[Path, ast.Module]) -> dict[str, Maker]:
    """Return all that makes findings or errors from a code: the classes, and the functions that take a `code`."""
    found = {name: Maker(names, None if "level" in names else "error") for name, names in MAKERS.items()}
    for tree in trees.values():
        for function in _functions(tree):
            arguments = tuple(argument.arg for argument in function.args.args)
            inner = [call for call in _calls(function) if _called(call) in MAKERS]
            if "code" in arguments and inner:
                maker = found[_called(inner[0])]
                defaults = dict(zip(reversed(arguments), reversed(function.args.defaults), strict=False))
                level = _text(_argument(inner[0], maker, "level")) or _text(defaults.get("level")) or maker.level
                found[function.name] = Maker(arguments, level)
    # A function that hands its code on to one of those.
    for tree in trees.values():
        for function in _functions(tree):
            arguments = tuple(argument.arg for argument in function.args.args)
            if {"level", "code"} <= set(arguments):
                found.setdefault(function.name, Maker(arguments))
    return found


def uses() -> list[Use]:
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}
    known = makers(trees)
    found = []
    for path, tree in trees.items():
        literal: set[str] = set()
        for call in _calls(tree):
            maker = known.get(_called(call))
            code = _text(_argument(call, maker, "code")) if maker is not None else None
            if maker is None or code is None:
                continue
            given = _argument(call, maker, "level")
            level = maker.level if given is None else _text(given)
            literal.add(code)
            found.append(Use(code, level, f"{path.name}:{call.lineno}"))
        # A code chosen among several stands in the function that makes the finding, or in a table of its module.
        tables = [node for node in tree.body if isinstance(node, ast.Assign | ast.AnnAssign)]
        for function in _functions(tree):
            if any(
                _called(call) in known
                and _argument(call, known[_called(call)], "code") is not None
                and _text(_argument(call, known[_called(call)], "code")) is None
                for call in _calls(function)
            ):
                parts = [node for part in (function, *tables) for node in ast.walk(part)]
                words = {_text(node) for node in parts if isinstance(node, ast.Constant)}
                found += [
                    Use(word, None, path.name)
                    for word in sorted(filter(None, words))
                    if word in CODES and word not in literal
                ]
    return found


USES = uses()


def test_the_walk_sees_constructors_helpers_and_choices() -> None:
    seen = {(use.code, use.level) for use in USES}
    assert {
        ("no-header", "error"),
        ("output-not-written", "error"),
        ("meter-rollover", "note"),
        ("holder-leaks", "caution"),
        ("flame-changed", "caution"),
        ("impossible-figure", "caution"),
        ("lit-twice", "note"),
        ("end-not-recorded", "caution"),
        ("next-day", None),
        ("unusual-cop", None),
        ("value-of-wrong-type", None),
    } <= seen


def test_every_code_in_use_is_explained_at_its_level() -> None:
    assert [use for use in USES if use.code not in CODES] == []
    assert [use for use in USES if use.level is not None and use.level not in CODES[use.code].levels] == []


def test_every_explained_code_is_in_use_at_each_of_its_levels() -> None:
    in_use = {use.code for use in USES}
    assert [code for code in CODES if code not in in_use] == []
    for name, code in CODES.items():
        levels = {use.level for use in USES if use.code == name}
        assert None in levels or levels == set(code.levels), name


@pytest.mark.parametrize("name", CODES)
def test_a_code_is_explained_in_plain_lines(name: str) -> None:
    code = CODES[name]
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
    assert set(code.levels) <= set(LEVELS)
    for line in (code.meaning, code.action):
        assert line.endswith((".", "…", '"'))
        assert 5 < len(line) <= 120
        assert "|" not in line
        assert "\n" not in line


def test_a_code_that_nobody_explained_is_refused() -> None:
    with pytest.raises(ValueError, match="no-such-code"):
        Finding("note", "no-such-code", say("x"))
    with pytest.raises(ValueError, match="no-such-code"):
        LogFileError("no-such-code", "x")


def test_a_code_at_another_level_is_refused() -> None:
    with pytest.raises(ValueError, match="no-header at level note"):
        Finding("note", "no-header", say("x"))


@pytest.mark.parametrize("name", BLOCKS)
def test_the_readme_is_current(name: str) -> None:
    text = README.read_text(encoding="utf-8")
    assert text == with_block(text, name, BLOCKS[name]()), "run: python tests/write_readme.py"


def test_the_readme_names_every_key_of_a_log_file() -> None:
    text = README.read_text(encoding="utf-8")
    assert [key for key in FileRule.model_fields if f"\n| `{key}` |" not in text] == []
