"""`trial.toml`: the facts of a trial as stated, checked key by key, with every fault named by its line."""

from __future__ import annotations

import datetime as dt
import difflib
import re
import tomllib
from itertools import pairwise
from pathlib import PurePosixPath
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from reportgen import units, vocabulary
from reportgen.errors import TrialFileError
from reportgen.read.stamps import YEARS

FILE_NAME = "trial.toml"
#: A trial sheet is a page or two of text; more than this is no trial sheet.
LARGEST_FILE = 1_000_000
#: An error is one to three lines, so at most this many faults are named at once, each on a line of this length.
MOST_FAULTS = 3
LONGEST_LINE = 300
#: Larger whole numbers are not written out in an error.
LARGEST_SHOWN = 10**20


def _quantity(unit: str, *, positive: bool = False, low: float | None = None, high: float | None = None) -> Any:
    """Return the type of a quantity string that is read into `unit`."""

    def read(value: object) -> units.Stated:
        stated = units.parse_stated(_text(value, units.EXAMPLES[unit]), unit)
        if positive and stated.value <= 0:
            raise ValueError(f'found "{stated.text}", expected more than zero')
        if (low is not None and stated.value < low) or (high is not None and stated.value > high):
            raise ValueError(f'found "{stated.text}", expected {low:g} to {high:g} {unit}')
        return stated

    return Annotated[units.Stated, BeforeValidator(read)]


def _accuracy(unit: str) -> Any:
    return Annotated[
        units.Stated,
        BeforeValidator(lambda value: units.parse_accuracy(_text(value, 'an accuracy such as "2 % (limits)"'), unit)),
    ]


def _text(value: object, wanted: str) -> str:
    if not isinstance(value, str):
        raise ValueError(f"found {_shown(value)}, expected {wanted} in quotation marks")
    return value


def _shown(value: object) -> str:
    """Return a value of the file as people wrote it, at most a line of it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and abs(value) > LARGEST_SHOWN:
        return "a number of many digits"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _zone(value: object) -> str:
    name = _text(value, 'an IANA zone such as "Indian/Mauritius"')
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f'found "{name}", expected an IANA zone such as "Indian/Mauritius" or "UTC"') from error
    return name


def _inside(value: object) -> str:
    text = _text(value, "a path inside the trial folder")
    path = PurePosixPath(text.replace("\\", "/"))
    if not path.name or path.is_absolute() or ".." in path.parts or re.search(r"^[A-Za-z]:|[\x00-\x1f]", str(path)):
        raise ValueError(f'found "{text}", expected a relative path inside the trial folder')
    return str(path)


def _moment(value: object) -> object:
    if not isinstance(value, str | dt.time | dt.datetime):
        raise ValueError(f'found {_shown(value)}, expected a clock time such as "09:05", or a date and time')
    return value


def _date(value: object) -> dt.date:
    try:
        date = value if type(value) is dt.date else dt.date.fromisoformat(_text(value, "a date such as 2026-03-14"))
    except ValueError as error:
        raise ValueError(f"found {_shown(value)}, expected a date such as 2026-03-14") from error
    if date.year not in YEARS:
        raise ValueError(f"found {date}, expected a year from {YEARS[0]} to {YEARS[-1]}")
    return date


#: A moment of the wall clock as stated: a clock time on the trial's date, or a date and time.
Clock = Annotated[Any, BeforeValidator(_moment)]
Percent = _quantity("%", low=0, high=100)
Temperature = _quantity("degC", low=-100, high=600)
Mass = _quantity("kg", positive=True)
Volume = _quantity("L", low=0, high=1e7)
Length = _quantity("mm", positive=True)
LevelTable = Annotated[list[Annotated[list[float], Field(min_length=2, max_length=2)]], Field(min_length=2)]


class Section(BaseModel):
    """A table of `trial.toml`; an unknown key in it is a fault."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class Burner(Section):
    """When the burner was lit and went out, and what it is."""

    lit: Clock | None = None
    out: Clock | None = None
    description: str = ""


class Gas(Section):
    """How the gas was measured, and what is known of it."""

    kind: Literal["holder", "meter", "flow"] | None = None
    isolated: bool | None = None
    level_area: _quantity("cm^2", positive=True) | None = None  # type: ignore[valid-type]
    level_table: LevelTable | None = None
    accuracy: _accuracy("L") | None = None  # type: ignore[valid-type]
    resolution: _quantity("L", positive=True) | None = None  # type: ignore[valid-type]
    capacity: Volume | None = None
    reserve: Volume | None = None
    temperature: Temperature | None = None
    pressure: _quantity("kPa", low=-20, high=50) | None = None  # type: ignore[valid-type]
    atmospheric: _quantity("kPa", low=40, high=115) | None = None  # type: ignore[valid-type]
    dry: bool = False
    methane: Percent | None = None
    methane_method: str = ""

    @model_validator(mode="after")
    def _levels_rise(self) -> Gas:
        if self.level_table is not None:
            levels = [pair[0] for pair in self.level_table]
            if any(b <= a for a, b in pairwise(levels)):
                raise ValueError("level_table: the levels must rise from row to row")
        return self


class Cabinet(Section):
    """The appliance and the thermometer in it."""

    appliance: str = ""
    inside_volume: Volume | None = None
    probe_position: str = ""
    resolution: _quantity("K", positive=True) | None = None  # type: ignore[valid-type]
    accuracy: _accuracy("K") | None = None  # type: ignore[valid-type]
    thermostat: str = ""
    heat_leak: _quantity("W/K", positive=True) | None = None  # type: ignore[valid-type]
    indoors: bool | None = None


class Boiler(Section):
    """The boiler of the appliance."""

    temperature: Temperature | None = None


class Water(Section):
    """The water put in to freeze."""

    mass: Mass | None = None
    placed: Clock | None = None
    temperature: _quantity("degC", low=0, high=100) | None = None  # type: ignore[valid-type]
    ice_temperature: _quantity("degC", low=-60, high=0) | None = None  # type: ignore[valid-type]
    ice_mass: Mass | None = None
    end_point: str = ""
    containers: Annotated[int, Field(ge=1, le=1000)] | None = None
    potable: bool | None = None
    shape: Literal["slab", "cylinder", "sphere"] | None = None
    thickness: Length | None = None
    diameter: Length | None = None


class Composition(Section):
    """Shares of the volatile solids."""

    carbohydrate: Percent
    protein: Percent
    lipid: Percent


class Digester(Section):
    """The digester and what is known of its feedstock."""

    working_volume: _quantity("L", positive=True) | None = None  # type: ignore[valid-type]
    solids_source: Literal["measured", "table"] | None = None
    source: str = ""
    specific_yield: _quantity("L/kg", positive=True) | None = None  # type: ignore[valid-type]
    yield_basis: Literal["standard", "as read"] = "standard"
    composition: Composition | None = None
    formula: str = ""


class FileRule(Section):
    """How one log file is to be read where the file alone does not tell."""

    date_order: Literal["day first", "month first", "year first"] | None = None


class Sheet(Section):
    """All of `trial.toml`."""

    title: Annotated[str, Field(min_length=1)]
    id: str = ""
    series: str = ""
    outcome: Literal["completed", "aborted"] | None = None
    reason: str = ""
    site: str = ""
    region: str = ""
    operator: str = ""
    signed_by: str = ""
    date: Annotated[dt.date, BeforeValidator(_date)] | None = None
    time_zone: Annotated[str, BeforeValidator(_zone)] | None = None
    altitude: _quantity("m", low=-500, high=6000) | None = None  # type: ignore[valid-type]
    photos: list[Annotated[str, BeforeValidator(_inside)]] = []
    photo_consent: bool = False
    incidents: str = ""
    licence: str = ""
    notes: str = ""
    burner: Burner = Burner()
    gas: Gas = Gas()
    cabinet: Cabinet = Cabinet()
    boiler: Boiler = Boiler()
    water: Water = Water()
    digester: Digester = Digester()
    audience: dict[str, int | float | str | bool] = {}
    costs: dict[str, int | float | str] = {}
    columns: dict[str, dict[str, str]] = {}
    files: dict[str, FileRule] = {}

    @model_validator(mode="after")
    def _columns_exist(self) -> Sheet:
        for file, mapping in self.columns.items():
            for name in mapping:
                if vocabulary.column_named(name) is None:
                    nearest = _nearest(name, list(vocabulary.COLUMNS))
                    raise ValueError(f'columns."{file}".{name} is no column of a log; the nearest known is "{nearest}"')
        return self


def parse_sheet(data: bytes) -> Sheet:
    """Read the bytes of `trial.toml`.

    Raises
    ------
    TrialFileError
        If it is no TOML, lacks a title, or holds a key or a value that cannot be used; up to three faults are named.
    """
    if len(data) > LARGEST_FILE:
        raise TrialFileError(f"{FILE_NAME}: {len(data)} bytes are too many for a trial sheet; is it the right file?")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TrialFileError(f"{FILE_NAME}: byte {error.start + 1} is not UTF-8 text; save the file as UTF-8.") from error
    try:
        content = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        fault = _one_line(str(error))
        raise TrialFileError(
            f"{FILE_NAME}: this is not TOML: {fault}.\nQuantities and times need quotation marks."
        ) from error
    try:
        return Sheet.model_validate(content)
    except ValidationError as error:
        lines = _key_lines(text)
        faults = [_one_line(_fault(fault, lines)) for fault in error.errors(include_url=False)]
        more = len(faults) - MOST_FAULTS
        shown = faults[:MOST_FAULTS] if more <= 0 else [*faults[: MOST_FAULTS - 1], f"... and {more + 1} more faults"]
        raise TrialFileError("\n".join(shown)) from error


def _fault(fault: Any, lines: dict[tuple[str, ...], int]) -> str:
    """Return one fault as a line: where, what was found, what was expected."""
    # Unions add the names of their members to the place; the keys of the file are what the user knows.
    place = [str(part) for part in fault["loc"]]
    while place and tuple(place) not in lines and fault["type"] not in ("missing", "extra_forbidden"):
        place.pop()
    dotted = ".".join(place)
    line = next((lines[tuple(place[:n])] for n in range(len(place), 0, -1) if tuple(place[:n]) in lines), None)
    where = f"{FILE_NAME}:{line}" if line else FILE_NAME
    if fault["type"] == "missing":
        return f'{where}: the key {dotted} is missing; add for example {place[-1]} = "…"'
    if fault["type"] == "extra_forbidden":
        nearest = _nearest(place[-1], _known_keys(place[:-1]))
        return f'{where}: the key {dotted} is not known; the nearest known key is "{nearest}"'
    message = str(fault["msg"]).removeprefix("Value error, ")
    if fault["type"] == "model_type":
        message = f"found {_shown(fault['input'])}, expected a table: a line [{dotted}] and its keys below it"
    elif not message.startswith(("found", "level_table", "columns")):
        message = f"found {_shown(fault['input'])}: {message[0].lower()}{message[1:]}"
    return f"{where}: {dotted}: {message}" if dotted else f"{where}: {message}"


def _one_line(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= LONGEST_LINE else f"{line[:LONGEST_LINE]} …"


def _known_keys(section: list[str]) -> list[str]:
    model: Any = Sheet
    for name in section:
        field = model.model_fields.get(name)
        if field is None:
            continue  # a free name, such as that of a file
        members = [field.annotation, *getattr(field.annotation, "__args__", ())]
        model = next((member for member in members if hasattr(member, "model_fields")), None)
        if model is None:
            return []
    here = list(model.model_fields)
    return here if section else here + [f"{name}.{key}" for name in here for key in _known_keys([name])]


def _nearest(name: str, known: list[str]) -> str:
    elsewhere = [key for key in known if key.endswith("." + name)]
    close = elsewhere or difflib.get_close_matches(name, known, n=1, cutoff=0.0)
    return close[0] if close else ""


_TABLE_LINE = re.compile(r"\s*\[\[?\s*(?P<name>[^\[\]]+?)\s*\]\]?\s*(?:#.*)?")
_KEY_LINE = re.compile(r"""\s*(?P<key>(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"))*)\s*=""")


def _key_lines(text: str) -> dict[tuple[str, ...], int]:
    """Return the line of each key and table; no TOML reader keeps them, and people need them."""
    lines: dict[tuple[str, ...], int] = {}
    table: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        header = _TABLE_LINE.fullmatch(line)
        key = _KEY_LINE.match(line)
        if header is not None:
            table = _key_parts(header["name"])
            lines.setdefault(table, number)
        elif key is not None:
            lines.setdefault(table + _key_parts(key["key"]), number)
    return lines


def _key_parts(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in re.findall(r"\"[^\"]*\"|'[^']*'|[^.]+", dotted))
