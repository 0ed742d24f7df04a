"""Templates of a reader's own: single blocks of ours written anew, in a sandbox, with every slip named.

A file of the folder has the name of one of ours, extends it as ``standard/<name>`` and overrides blocks of it. It sees
what ours sees: text that is finished. It can read no file, run no code, and call nothing but what ours call. The page
it makes keeps our policy, so that it loads nothing and runs nothing, whoever wrote the template.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path, PurePath
from types import FunctionType
from typing import Any

import jinja2
from jinja2 import meta, nodes
from jinja2.exceptions import SecurityError
from jinja2.runtime import BlockReference, LoopContext, Macro
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from reportgen import speech
from reportgen.errors import ReportgenError
from reportgen.resources import templates_folder
from reportgen.trial import FILE_NAME

#: By this prefix a template of one's own names ours.
STANDARD = "standard"
ENDINGS = (".html", ".md", ".txt", ".css")
#: What a template can go wrong with when it is rendered: what jinja2 says, and what a value says of its use.
SLIPS = (jinja2.TemplateError, ArithmeticError, LookupError, TypeError, ValueError, RecursionError)
#: Ours have 30 kB at most [bytes] (ours).
LARGEST_FILE = 1_000_000
#: What a page is made of may be called, and methods of these; of other values nothing.
_CALLED = (Macro, BlockReference, LoopContext)
_HARMLESS = (str, Markup, int, float, list, tuple, dict, LoopContext)
#: A page loads nothing but pictures that it holds, runs no script and sends nothing; how it looks stands in it.
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
#: How a page of ours begins: nothing stands before the policy that it does not hold for.
_HEAD = re.compile(
    r'\s*<!doctype html>\s*<html lang="[\w-]+" dir="(?:ltr|rtl)">\s*<head>\s*(?:<meta (?:charset|name)="[^"<>]*"'
    r'(?: content="[^"<>]*")?>\s*)*<meta http-equiv="Content-Security-Policy" content="(?P<policy>[^"<>]*)">'
)
#: What no policy keeps from leading elsewhere, by a refresh or by asking for the address of a host.
_AROUND = re.compile(r"<(meta|link|base)\b", re.IGNORECASE)
_DESCRIPTION = re.compile(r'<meta name="description" content="[^"<>]*">')
#: Names in an error, at most.
MOST_NAMED = 40


def loader(own: Path | None) -> jinja2.BaseLoader:
    """Return where templates come from: the reader's folder before ours."""
    ours = jinja2.FileSystemLoader(templates_folder())
    if own is None:
        return ours
    return jinja2.ChoiceLoader([jinja2.FileSystemLoader(own), jinja2.PrefixLoader({STANDARD: ours}), ours])


class Sandbox(ImmutableSandboxedEnvironment):
    """Where templates of a reader's own are rendered."""

    intercepted_binops = frozenset(("*", "**"))

    def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
        """Multiply numbers and nothing else: a text a thousand million times over is more than memory holds."""
        if operator == "**" or not all(isinstance(side, int | float) for side in (left, right)):
            raise SecurityError(f"{operator} is for numbers alone" if operator == "*" else "** is not for templates")
        return super().call_binop(context, operator, left, right)

    def is_safe_callable(self, obj: Any) -> bool:
        """Return whether a template may call this: functions handed to it, methods of texts, numbers and lists."""
        owner = getattr(obj, "__self__", None)
        ours = isinstance(obj, FunctionType) and str(obj.__module__).startswith("reportgen.")
        ours = ours or any(obj is known for known in self.globals.values())
        return super().is_safe_callable(obj) and (ours or isinstance(obj, _CALLED) or type(owner) in _HARMLESS)

    def getattr(self, obj: Any, attribute: str) -> Any:
        """Return an attribute as the sandbox allows; a missing one is told with those there are."""
        found = super().getattr(obj, attribute)
        if isinstance(found, PurePath):
            return self.unsafe_undefined(obj, attribute)
        if isinstance(found, jinja2.Undefined) and is_dataclass(obj):
            names = [field.name for field in fields(obj)]
            return self.undefined(f'there is no "{attribute}" here{_known(attribute, names)}')
        return found


def check(own: Path, environment: jinja2.Environment) -> None:
    """See that each template of a folder has a name, blocks and values that ours have.

    Raises
    ------
    ReportgenError
        That names the file, what it has, and what there is.
    """
    names = sorted(_names(templates_folder()))
    if not own.is_dir():
        raise ReportgenError("template-unknown", f"--templates: {own} is no folder.")
    trial = next((place for place in (own, *own.parents) if (place / FILE_NAME).exists()), None)
    if trial is not None:
        raise ReportgenError(
            "template-unknown",
            f"--templates: {own} belongs to the trial folder {trial}, and a trial brings no templates of its own.\n"
            "Look through them, and put what you want to use in a folder elsewhere.",
        )
    for path in sorted(own.rglob("*")):
        if not path.resolve().is_relative_to(own.resolve()):
            raise ReportgenError(
                "template-broken", f"{path}: this is a link out of the folder.\nPut the file itself in the folder."
            )
        if path.stat().st_size > LARGEST_FILE and path.suffix in ENDINGS:
            raise ReportgenError(
                "template-broken", f"{path}: has more than {LARGEST_FILE // 10**6} MB, which no template has."
            )
    for name in sorted(_names(own)):
        if name not in names:
            raise ReportgenError("template-unknown", f"{own / name}: no template has this name{_known(name, names)}")
        if not name.endswith(".css"):
            _check_template(own, name, environment)


def check_page(page: str, script_source: str, own: Path) -> None:
    """See that a page made with templates of a reader's own begins with our policy and nothing leads around it.

    A browser then loads nothing for it and runs nothing in it but the script that `script_source` names by its sum.

    Raises
    ------
    ReportgenError
        That says what may not be.
    """
    head = _HEAD.match(page)
    if head is None or head["policy"] != POLICY + script_source:
        fault = "a page has to begin as base.html does, with its Content-Security-Policy as it is"
    else:
        kept = (
            element for element in _AROUND.finditer(page, head.end()) if not _DESCRIPTION.match(page, element.start())
        )
        element = next(kept, None)
        if element is None:
            return
        fault = f"a page may hold no <{element[1].lower()}> element of its own"
    raise ReportgenError("template-broken", f"{own}: {fault}; a report loads nothing and leads nowhere by itself.")


def told(error: Exception, own: Path) -> ReportgenError:
    """Return what went wrong in a template of one's own, for the one who wrote it."""
    if isinstance(error, jinja2.TemplateSyntaxError):
        return ReportgenError(
            "template-broken", f"{own / (error.name or '')}, line {error.lineno}: {error.message}.", row=error.lineno
        )
    if isinstance(error, SecurityError):
        return ReportgenError("template-broken", f"{own}: a template may not do this: {error.message}")
    return ReportgenError("template-broken", f"{own}: {error}")


def _names(folder: Path) -> Iterator[str]:
    for path in folder.rglob("*"):
        place = path.relative_to(folder)
        if path.is_file() and path.suffix in ENDINGS and place.parts[0] != speech.FOLDER:
            yield place.as_posix()


def _check_template(own: Path, name: str, environment: jinja2.Environment) -> None:
    try:
        text = (own / name).read_text(encoding="utf-8")
        environment.compile(text, name, name)
        tree = environment.parse(text, name)
    except (OSError, UnicodeDecodeError) as error:
        raise ReportgenError("template-broken", f"{own / name}: cannot be read as UTF-8 text ({error}).") from error
    except jinja2.TemplateSyntaxError as error:
        raise told(error, own) from error
    ours = list(_line(f"{STANDARD}/{name}", environment))
    blocks = {block.name for one in ours for block in one.find_all(nodes.Block)}
    for block in tree.find_all(nodes.Block):
        if block.name not in blocks and any(isinstance(node, nodes.Extends) for node in tree.body):
            raise ReportgenError(
                "template-unknown",
                f'{own / name}, line {block.lineno}: there is no block "{block.name}"{_known(block.name, blocks)}',
                row=block.lineno,
            )
    values = {value for one in ours for value in meta.find_undeclared_variables(one)} | set(environment.globals)
    for value in sorted(meta.find_undeclared_variables(tree) - values):
        raise ReportgenError("template-unknown", f'{own / name}: there is no value "{value}"{_known(value, values)}')


def _line(name: str, environment: jinja2.Environment) -> Iterator[nodes.Template]:
    """Return a template of ours and those it extends and includes."""
    assert environment.loader is not None
    tree = environment.parse(environment.loader.get_source(environment, name)[0], name)
    yield tree
    named = [node.template for node in tree.find_all(nodes.Extends)]
    named += [node.template for node in tree.find_all(nodes.Include)]
    for other in named:
        if isinstance(other, nodes.Const) and not other.value.endswith(".css"):
            yield from _line(f"{STANDARD}/{other.value}", environment)


def _known(name: str, names: Iterable[str]) -> str:
    known = sorted(names)
    near = difflib.get_close_matches(name, known, 1)
    likely = f"; did you mean {near[0]}?" if near else "."
    return f"{likely}\nThere are: {', '.join(known[:MOST_NAMED])}{', …' if len(known) > MOST_NAMED else ''}."
