"""Faults of `trial.toml` in words: its line, its key, what was found, what was expected."""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

#: An error is one to three lines, so at most this many faults are named at once, each on so long a line.
MOST_FAULTS = 3
LONGEST_LINE = 300
#: Larger numbers are not written out, and are none of a visitor count or a price.
LARGEST_SHOWN = 10**15
#: What each kind of fault would have had instead.
EXPECTED = {
    "string_type": "a text in quotation marks",
    "string_too_short": "a text of at least one letter",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "float_type": "a number",
    "finite_number": "a number",
    "list_type": "a list in square brackets",
    "too_short": "two or more pairs of level and volume",
    "too_long": "pairs of level and volume",
    "dict_type": "a table",
}
#: What pydantic adds to the place of a value that may be of several types.
UNION_MEMBERS = {("int",), ("float",), ("str",), ("bool",), ("constrained-int",), ("constrained-float",)}
SEVERAL_TYPES = "a number or a text in quotation marks"
#: Where the TOML reader found the fault.
_PLACE = re.compile(r"\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")
_PAIR = re.compile(r"(?P<key>[^=\"']*)=(?P<value>[^#]*)(?:#.*)?")
#: Typographic quotation marks where a text begins or ends.
_CURLY_MARKS = "[\N{LEFT SINGLE QUOTATION MARK}-\N{DOUBLE HIGH-REVERSED-9 QUOTATION MARK}«»]"
_CURLY = re.compile(rf"=\s*{_CURLY_MARKS}|{_CURLY_MARKS}\s*(?:#.*)?$")
_DAY = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")
#: Lines that are no TOML are left out one after the other, so many at most (ours).
MOST_LEFT_OUT = 10
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_TABLE_LINE = re.compile(r"\s*\[\[?\s*(?P<name>[^\[\]]+?)\s*\]\]?\s*(?:#.*)?")
_SECTION_LINE = re.compile(r"""\s*\[\[?\s*["'A-Za-z]""")
_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_KEY_LINE = re.compile(rf"\s*(?P<key>{_KEY}(?:\s*\.\s*{_KEY})*)\s*=")


@dataclass(frozen=True)
class SheetFault:
    """What is wrong with a sheet.

    Attributes
    ----------
    code : str
        Of the first fault, one of `codes.CODES`.
    text : str
        One to three lines.
    line : int or None
        Where the first fault stands.
    """

    code: str
    text: str
    line: int | None


def faults_of(error: ValidationError, text: str, file: str, model: type[BaseModel]) -> SheetFault:
    """Return the faults of a file with this text, a line each, up to three lines.

    Parameters
    ----------
    model
        What the file is checked against; its fields are the known keys.
    """
    found = each_fault_of(error, text, file, model)
    shown_faults = [fault.text for fault in found]
    more = len(shown_faults) - MOST_FAULTS
    if more > 0:
        shown_faults = [*shown_faults[: MOST_FAULTS - 1], f"... and {more + 1} more faults"]
    return SheetFault(found[0].code, "\n".join(shown_faults), found[0].line)


def each_fault_of(error: ValidationError, text: str, file: str, model: type[BaseModel]) -> list[SheetFault]:
    """Return the faults of a file as `faults_of` does, each of them and each by itself."""
    lines = _key_lines(text)
    found = (_fault(fault, lines, file, model) for fault in error.errors(include_url=False))
    # A value that fits no type of several is one fault, though each type names its own.
    by_text = {one_line(fault.text): fault for fault in found}
    return [SheetFault(fault.code, line, fault.line) for line, fault in by_text.items()]


def not_toml(fault: str, text: str, file: str) -> SheetFault:
    """Return what is wrong with a text that is no TOML: its line, the fault, and what to do about that line.

    Parameters
    ----------
    fault
        As the TOML reader says it; it names the line and the column, or the end of the file.
    """
    place = _PLACE.search(fault)
    lines = text.rstrip().split("\n")
    if place is None:
        return SheetFault("sheet-not-toml", f"{file}: this is not TOML: {one_line(fault)}.", None)
    number = min(int(place["line"] or len(lines)), len(lines))
    where = f", column {place['column']}" if place["column"] else ", end of the file"
    what = one_line(fault.replace(place[0], "").strip())
    said = filter(None, (f"{file}:{number}: this is not TOML: {what}{where}.", _hint(fault, lines[number - 1])))
    return SheetFault("sheet-not-toml", "\n".join(said), number)


@dataclass(frozen=True)
class Recovered:
    """What is left of a file that is no TOML once the lines at fault are out.

    Attributes
    ----------
    content : dict or None
        None where the rest cannot be told from the fault.
    text : str
        Without the lines at fault; the others keep their numbers.
    faults : tuple of SheetFault
    keys : tuple of tuple of str
        The keys that are out with those lines, each from the top.
    """

    content: dict[str, Any] | None
    text: str
    faults: tuple[SheetFault, ...]
    keys: tuple[tuple[str, ...], ...]


def recover(text: str, file: str) -> Recovered:
    """Return the faults of a text that is no TOML, line after line, and what it holds without these lines.

    A line at fault is left out, a head of a section with what stands below it. Where a fault may go on over several
    lines, as a bracket that is never closed does, nothing below it can be judged and the search ends.
    """
    faults, keys = list[SheetFault](), list[tuple[str, ...]]()
    for _ in range(MOST_LEFT_OUT):
        try:
            return Recovered(tomllib.loads(text), text, tuple(faults), tuple(keys))
        except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
            fault = not_toml(str(error), text, file)
        faults.append(fault)
        lines = text.split("\n")
        end = _end_of_fault(lines, fault.line)
        if fault.line is None or end is None:
            break
        before = set(_key_lines("\n".join(lines[: fault.line - 1])))
        keys += [key for key in _key_lines("\n".join(lines[:end])) if key not in before]
        lines[fault.line - 1 : end] = [""] * (end - fault.line + 1)
        text = "\n".join(lines)
    return Recovered(None, text, tuple(faults), tuple(keys))


def _end_of_fault(lines: list[str], number: int | None) -> int | None:
    """Return the last line, counted from 1, that has to be left out with the line at fault; None where nobody knows."""
    if number is None or number > len(lines):
        return None
    above = [line for line in lines[: number - 1] if not _is_comment(line)]
    opened = sum(_without_texts(line).count(sign) for line in above for sign in "[{")
    closed = sum(_without_texts(line).count(sign) for line in above for sign in "]}")
    spans = any("\n".join(lines[:number]).count(mark) % 2 for mark in ('"""', "'''"))
    line = lines[number - 1]
    if opened != closed or spans or len(line) > LONGEST_LINE:
        return None
    if line.lstrip().startswith("["):
        heads = (at for at in range(number, len(lines)) if _SECTION_LINE.match(lines[at]))
        return next(heads, len(lines))
    return number if _KEY_LINE.match(line) else None


def _is_comment(line: str) -> bool:
    return line.lstrip().startswith("#")


def _without_texts(line: str) -> str:
    """Return a line without what stands in quotation marks and behind a comment sign."""
    return re.sub(r"\"[^\"]*\"|'[^']*'|#.*", "", line)


def _hint(fault: str, line: str) -> str:
    """Return what to do about a line that is no TOML; "" where nothing of it tells."""
    if "overwrite" in fault or "declare" in fault:
        return "A key or a section stands twice; keep one of the two."
    if fault.startswith("Unclosed array") and "[" not in line:
        return "Close the bracket that a line above opens."
    if _CURLY.search(line):
        return 'Use straight quotation marks: "…"'
    pair = _PAIR.fullmatch(line)
    if pair is None or not pair["key"].strip():
        return "" if _TABLE_LINE.fullmatch(line) else 'A line is  key = "value", or  [section], or a comment after #.'
    key, value = pair["key"].strip(), pair["value"].strip()
    if not value:
        return f'Write a value:  {one_line(key)} = "…"  or leave the line out.'
    if _DAY.fullmatch(value):
        return f"Write a date as year, month and day:  {one_line(key)} = 2026-03-14"
    if value[0] in "\"'" and line.count(value[0]) % 2 == 0:
        return "Keep the whole text inside the quotation marks; only a comment after # may follow."
    if value[0] in "\"'[{":
        return "Close what the line opens: a quotation mark or a bracket."
    bare = one_line(value.strip("\"'"))
    return f'Texts, quantities and times need quotation marks:  {one_line(key)} = "{bare}"'


def one_line(text: str) -> str:
    """Return a text without line ends, cut where it is too long for a line."""
    line = " ".join(text.split())
    return line if len(line) <= LONGEST_LINE else f"{line[:LONGEST_LINE]} …"


def nearest(name: str, known: list[str]) -> str:
    """Return the known key that a name most likely means."""
    elsewhere = [key for key in known if key.endswith("." + name)]
    close = elsewhere or difflib.get_close_matches(name, known, n=1, cutoff=0.0)
    return close[0] if close else ""


def shown(value: object) -> str:
    """Return a value of the file as people wrote it, at most a line of it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and abs(value) > LARGEST_SHOWN:
        return "a number of many digits"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _fault(fault: Any, lines: dict[tuple[str, ...], int], file: str, model: type[BaseModel]) -> SheetFault:
    """Return one fault as a line: where, what was found, what was expected."""
    # Unions add the names of their members to the place; the keys of the file are what the user knows.
    place = [str(part) for part in fault["loc"]]
    while place and tuple(place) not in lines and fault["type"] not in ("missing", "extra_forbidden"):
        place.pop()
    dotted = ".".join(part if _BARE_KEY.fullmatch(part) else f'"{part}"' for part in place)
    line = next((lines[tuple(place[:n])] for n in range(len(place), 0, -1) if tuple(place[:n]) in lines), None)
    where = f"{file}:{line}" if line else file
    if fault["type"] == "missing":
        text = f'{where}: the key {dotted} is missing; add for example {place[-1]} = "…"'
        return SheetFault("key-missing", text, line)
    if fault["type"] == "extra_forbidden":
        known = nearest(place[-1], _known_keys(place[:-1], model))
        text = f'{where}: the key {dotted} is not known; the nearest known key is "{known}"'
        return SheetFault("key-unknown", text, line)
    message = str(fault["msg"]).removeprefix("Value error, ")
    wanted = SEVERAL_TYPES if fault["loc"][-1:] in UNION_MEMBERS else _wanted(fault, dotted)
    if wanted:
        message = f"found {shown(fault['input'])}, expected {wanted}"
    elif not message.startswith("found"):
        message = f"found {shown(fault['input'])}: {message[0].lower()}{message[1:]}"
    code = "value-of-wrong-type" if fault["type"].endswith("_type") else "value-not-usable"
    return SheetFault(code, f"{where}: {dotted}: {message}" if dotted else f"{where}: {message}", line)


def _wanted(fault: Any, dotted: str) -> str | None:
    """Return what was expected, in words of the file."""
    if fault["type"] == "model_type":
        return f"a table: a line [{dotted}] and its keys below it"
    if fault["type"] == "literal_error":
        return str(fault["ctx"]["expected"]).replace("'", '"')
    return EXPECTED.get(fault["type"])


def _known_keys(section: list[str], top: type[BaseModel]) -> list[str]:
    model: Any = top
    for name in section:
        field = model.model_fields.get(name)
        if field is None:
            continue  # a free name, such as that of a file
        members = [field.annotation, *getattr(field.annotation, "__args__", ())]
        model = next((member for member in members if hasattr(member, "model_fields")), None)
        if model is None:
            return []
    here = list(model.model_fields)
    return here if section else here + [f"{name}.{key}" for name in here for key in _known_keys([name], top)]


def _key_lines(text: str) -> dict[tuple[str, ...], int]:
    """Return the line of each key and table; no TOML reader keeps them, and people need them."""
    lines: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    for number, line in enumerate(text.split("\n"), start=1):
        # A line of this many characters holds a text, no table; a pattern would crawl over it.
        header = _TABLE_LINE.fullmatch(line) if len(line) < LONGEST_LINE else None
        key = _KEY_LINE.match(line)
        if header is not None:
            table = _key_parts(header["name"])
            lines.setdefault(table, number)
        elif key is not None:
            lines.setdefault(table + _key_parts(key["key"]), number)
    return lines


def _key_parts(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in re.findall(r"\"[^\"]*\"|'[^']*'|[^.]+", dotted))
