"""Results files of anybody read and validated: a bad file is named and holds no other back, a bad figure likewise."""

from __future__ import annotations

import functools
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportgen.errors import ReportgenError
from reportgen.message import Message, say, say_counted
from reportgen.results_file import FORMAT, VERSION, results_schema
from reportgen.trial import Finding

RESULTS_NAME = "results.json"
#: A results file is 50 kB or so; a hundred times that is none [bytes] (ours).
LARGEST_FILE = 5_000_000
#: Brackets within brackets, at most: more than any results file has, less than would exhaust the reader (ours).
DEEPEST = 60
#: A name or another word of a file that is quoted is cut to this many letters (ours).
LONGEST_QUOTE = 60
#: Parts of the file without which nothing can be compared; of others only a note is made.
NEEDED = frozenset(("format", "version", "trial", "results"))


@dataclass(frozen=True)
class Read:
    """A results file: its path, its document or why there is none, and what is said of it."""

    path: Path
    document: dict[str, Any] | None
    error: ReportgenError | None
    findings: tuple[Finding, ...]


def results_files(paths: Sequence[Path]) -> list[Path]:
    """Return the results files that paths name, each once: files as they are, all `results.json` at or below folders.

    Raises
    ------
    ReportgenError
        If a path is not there, or there is no results file at all.
    """
    found: dict[Path, Path] = {}
    for path in paths:
        if path.exists():
            for file in sorted(path.rglob(RESULTS_NAME)) if path.is_dir() else [path]:
                found.setdefault(file.resolve(), file)
        else:
            raise ReportgenError(
                "no-results",
                f"{path}: there is no such file or folder.\n"
                f"Give the {RESULTS_NAME} that a report wrote, or a folder that holds such files.",
            )
    if not found:
        places = ", ".join(map(str, paths))
        raise ReportgenError(
            "no-results", f"{places}: no {RESULTS_NAME} is in it.\nWrite reports first, or name the files themselves."
        )
    return list(found.values())


def read_results(paths: Sequence[Path]) -> Iterator[Read]:
    """Yield each results file, validated against the JSON Schema of the format."""
    for path in paths:
        try:
            document, findings = validated(parsed(path), str(path))
        except ReportgenError as error:
            yield Read(path, None, error, ())
        else:
            yield Read(path, document, None, tuple(findings))


def parsed(path: Path) -> Any:
    """Return the JSON of a file.

    Raises
    ------
    ReportgenError
        If it cannot be read, or holds what no results file does: numbers beyond all bounds, brackets without end.
    """
    if path.exists() and not path.is_file():  # a pipe would be waited for without end
        raise ReportgenError("results-not-readable", f"{path}: cannot be opened (it is no file).")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise ReportgenError(
            "results-not-readable",
            f"{path}: cannot be opened ({error.strerror or error}).\nGive the results.json that a report wrote.",
        ) from error
    if len(data) > LARGEST_FILE:
        raise ReportgenError(
            "results-too-large", f"{path}: more than {LARGEST_FILE // 1_000_000} MB are no results of a trial."
        )
    try:
        found = json.loads(data.decode("utf-8-sig"), parse_float=_finite, parse_int=_whole, parse_constant=_refuse)
        if _depth(found) > DEEPEST:
            raise ValueError("brackets stand too deep within brackets")
    except (UnicodeDecodeError, RecursionError, ValueError) as error:
        reason = "brackets stand too deep within brackets" if isinstance(error, RecursionError) else quoted(str(error))
        raise ReportgenError(
            "results-not-readable",
            f"{path}: is no JSON of a results file ({reason}).\nGive the results.json that a report wrote.",
        ) from error
    return found


def _finite(text: str) -> float:
    value = float(text)
    return value if math.isfinite(value) else _refuse(text)


def _whole(text: str) -> int | float:
    # A whole number with more digits than a float has is none of a trial, and slow to turn into text.
    return int(text) if len(text) < 16 else _finite(text)


def _refuse(text: str) -> float:
    raise ValueError(f"{quoted(text)} is no finite number")


def _depth(value: Any) -> int:
    depth, level = 0, [value]
    while level and depth <= DEEPEST:
        depth += 1
        level = [
            inner
            for part in level
            if isinstance(part, dict | list)
            for inner in (part.values() if isinstance(part, dict) else part)
        ]
    return depth


def recognised(document: Any, name: str) -> dict[str, Any]:
    """Return a document that says it is a results file, whatever else is in it.

    Raises
    ------
    ReportgenError
        If it does not.
    """
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise ReportgenError(
            "not-results",
            f'{name}: is no results file; "format" has to be "{FORMAT}".\nGive the results.json of a report.',
        )
    return document


def identity(document: Mapping[str, Any]) -> str:
    """Return by what a trial is the same as another one: its id and its start, else the sums of its files."""
    facts = document["trial"]
    if facts.get("started"):
        return f"{facts['id']} {facts.get('site')} {facts['started']}"
    return " ".join(sorted(str(source.get("sha256")) for source in document.get("inputs") or ())) or str(facts["id"])


def validated(document: Any, name: str) -> tuple[dict[str, Any], list[Finding]]:
    """Return a document of which all that is left is as the format has it, and what was found to be wrong.

    A figure that is wrong is left out; a part that nothing can do without is an error.

    Raises
    ------
    ReportgenError
        If it is no results file, one of a newer version, or one without its trial.
    """
    document = recognised(document, name)
    version = document.get("version")
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        raise ReportgenError(
            "results-newer",
            f"{name}: is of version {version}; this program knows version {VERSION}.\n"
            "Use a newer reportgen to compare it.",
        )
    wrong: dict[str, str] = {}
    units: dict[str, str] = {}
    parts: dict[str, str] = {}
    missing = 0
    for error in _validator().iter_errors(document):
        path = list(error.absolute_path)
        if path[:1] == ["results"] and len(path) > 1:
            if path[2:] == ["unit"] and isinstance(error.instance, str):
                units.setdefault(path[1], f'"{quoted(error.instance)}", not "{error.validator_value}"')
            else:
                wrong.setdefault(path[1], _said(error, path[2:]))
        elif path == ["results"] and error.validator == "required":
            missing += 1
        elif not path and error.validator == "required" and bool(NEEDED - set(document)):
            lacking = ", ".join(sorted(NEEDED - set(document)))
            raise ReportgenError("results-damaged", f"{name}: has no {lacking}; nothing can be compared without.")
        elif path and path[0] in NEEDED:
            raise ReportgenError("results-damaged", f"{name}: {'.'.join(map(str, path))}: {_said(error, ())}.")
        else:
            parts.setdefault(str(path[0]) if path else "", _said(error, path[1:]))
    figures = {key: figure for key, figure in document["results"].items() if key not in wrong and key not in units}
    for key in [key for key, figure in figures.items() if not _is_ordered(figure)]:
        wrong[key] = "its range does not hold it"
        del figures[key]
    return {**{key: part for key, part in document.items() if key not in parts}, "results": figures}, [
        *(_said_of("caution", "results-foreign-unit", name, key, what) for key, what in units.items()),
        *(
            _said_of("caution", "results-wrong-figure", name, key, what)
            for key, what in wrong.items()
            if key not in units
        ),
        *([Finding("note", "results-missing-figure", _missing(missing), file=name)] if missing else []),
        *(_said_of("note", "results-wrong-part", name, key or "the file", what) for key, what in parts.items()),
    ]


def _missing(n: int) -> Message:
    return say_counted(n, "one figure of the format is missing", "{n} figures of the format are missing")


def _said_of(level: str, code: str, file: str, key: str, what: str) -> Finding:
    return Finding(level, code, say("{key}: {what}", key=quoted(key), what=what), file=file)


def _said(error: Any, path: Sequence[Any]) -> str:
    """Return in words what a part of a file is and should be, without quoting more of it than a line."""
    place = f"{quoted('.'.join(map(str, path)))}: " if path else ""
    if error.validator == "required":
        lacking = next((key for key in error.validator_value if key not in error.instance), "a part")
        return f"{place}{lacking} is missing"
    if error.validator == "type":
        kinds = error.validator_value if isinstance(error.validator_value, list) else [error.validator_value]
        return f"{place}has to be {' or '.join(kinds)}"
    return f"{place}{quoted(json.dumps(error.instance))} is not what the format allows"


def _is_ordered(figure: dict[str, Any]) -> bool:
    """Return whether the range of a figure holds its value, as far as rounding tells."""
    if figure["value"] is None:
        return True
    low, high = figure["interval_95"]
    slack = 1e-6 * max(abs(low), abs(high))
    return bool(low - slack <= figure["value"] <= high + slack)


def quoted(text: str) -> str:
    """Return a text of a stranger as part of a line: printable, and not long."""
    line = "".join(letter if letter.isprintable() else " " for letter in text[: 2 * LONGEST_QUOTE])
    return line if len(line) <= LONGEST_QUOTE else line[: LONGEST_QUOTE - 1] + "…"


@functools.cache
def _validator() -> Any:
    from jsonschema import Draft202012Validator

    return Draft202012Validator(results_schema())
