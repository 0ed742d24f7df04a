"""Write the parts of the README that follow from the code anew: `python tests/write_readme.py`."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import click

from reportgen import wording
from reportgen.catalogue import KINDS
from reportgen.cli.main import commands
from reportgen.codes import ALERT_CODES, CODES
from reportgen.new_trial import header_of
from reportgen.trial_check import check_text, check_trial
from reportgen.vocabulary import COLUMNS

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
EXAMPLE = "sample_trials/canteen-running-meter"
#: Characters in a line of the example.
WIDTH = 100
_SECTION = re.compile(r"#?\[(?P<name>[\w.]+)\]")
_KEY = re.compile(r"#?(?P<key>\w+) = (?P<value>.*?)(?:\s{2,}#\s*(?P<meaning>.*))?")


def _table(*rows: tuple[str, ...]) -> str:
    head, *rest = rows
    lines = [head, ("---",) * len(head), *rest]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def commands_table() -> str:
    """Return all commands with their arguments and options."""

    every = list(commands.commands.items())
    shared = set.intersection(*({str(one.name) for one in command.params} for _, command in every))

    def options(command: click.Command, names: set[str]) -> Iterator[tuple[str, ...]]:
        for option in command.params:
            if isinstance(option, click.Option) and option.name in names:
                written, told = option.get_help_record(click.Context(command)) or ("", "")
                yield "", f"`{written}`", " ".join(told.split())

    def rows() -> Iterator[tuple[str, ...]]:
        for name, command in sorted(every):
            arguments = [
                one.make_metavar(click.Context(command)) for one in command.params if isinstance(one, click.Argument)
            ]
            told = (command.help or "").partition("\n\n")[0].replace("\n", " ")
            yield f"`{' '.join(filter(None, [name, *arguments]))}`", "", told
            yield from options(command, {str(one.name) for one in command.params} - shared)
        yield "every command", "", ""
        yield from options(every[0][1], shared)

    return _table(("command", "option", "what it does"), *rows())


def columns_table() -> str:
    """Return all columns of logs."""
    rows = [(f"`{header_of(column)}`", str(column.label), str(column.meaning)) for column in COLUMNS.values()]
    return _table(("column", "label", "what it holds"), *rows)


def keys_table() -> str:
    """Return all keys of `trial.toml` as the trial sheet of `reportgen new` explains them, with an example each."""

    def rows() -> Iterator[tuple[str, ...]]:
        section = ""
        for line in (ROOT / "templates" / "new" / "trial.toml").read_text(encoding="utf-8").splitlines():
            if found := _SECTION.fullmatch(line.partition("  ")[0].strip()):
                section = found["name"]
            elif found := _KEY.fullmatch(line):
                key = f"{section}.{found['key']}" if section else found["key"]
                value = '"…"' if "{" in found["value"] and "title" in found["value"] else found["value"]
                yield f"`{key}`", f"`{value}`" if value != '""' else "text", found["meaning"] or ""

    return _table(("key", "for example", "what it says"), *rows())


def figures_table() -> str:
    """Return all figures that a report can give."""
    rows = [(f"`{kind.key}`", str(kind.label), wording.unit(kind.unit) or "1", kind.meaning) for kind in KINDS.values()]
    return _table(("key", "label", "unit", "what it is"), *rows)


def codes_table() -> str:
    """Return all codes of findings and errors."""
    rows = [(f"`{name}`", code.level, code.meaning, code.action) for name, code in CODES.items()]
    return _table(("code", "level", "what it means", "what to do"), *rows)


def alerts_table() -> str:
    """Return all alerts of a running trial."""
    rows = [(f"`{name}`", code.level, code.meaning, code.action) for name, code in ALERT_CODES.items()]
    return _table(("alert", "level", "what it means", "what to do"), *rows)


def check_example() -> str:
    """Return what `check` prints of a sample trial."""
    said = check_text(check_trial(ROOT / EXAMPLE), WIDTH)
    return f"```console\n$ reportgen check {EXAMPLE}\n{said}```"


#: By the name of its marks in the README: what makes a block.
BLOCKS: dict[str, Callable[[], str]] = {
    "check": check_example,
    "commands": commands_table,
    "columns": columns_table,
    "keys": keys_table,
    "figures": figures_table,
    "alerts": alerts_table,
    "codes": codes_table,
}


def with_block(text: str, name: str, block: str) -> str:
    """Return the text of the README with the block between the marks of this name as it should be.

    Raises
    ------
    ValueError
        If a mark is missing.
    """
    start, end = f"<!-- {name} -->\n", f"\n<!-- end of {name} -->"
    before, after = text.index(start) + len(start), text.index(end)
    return text[:before] + block + text[after:]


if __name__ == "__main__":
    text = README.read_text(encoding="utf-8")
    for name, block in BLOCKS.items():
        text = with_block(text, name, block())
    README.write_text(text, encoding="utf-8")
