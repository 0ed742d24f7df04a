"""`trial.toml`: the facts of a trial as stated, checked key by key, with every fault named by its line."""

from __future__ import annotations

import codecs
import datetime as dt
import math
import re
import tomllib
from itertools import pairwise
from pathlib import PurePosixPath
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from reportgen import units, vocabulary
from reportgen.errors import TrialFileError
from reportgen.read import clock
from reportgen.read.faults import LARGEST_SHOWN, SEVERAL_TYPES, SheetFault, faults_of, nearest, not_toml, shown
from reportgen.read.stamps import YEARS
from reportgen.trial import FILE_NAME as FILE_NAME

#: The table of `costs` that holds what this trial alone cost; nothing tells what an amount beside it was spent on.
PER_TRIAL = "per_trial"
#: A trial sheet is a page or two of text; more than this is no trial sheet [bytes] (ours).
LARGEST_FILE = 1_000_000
#: A key of so many parts is none of ours, and reading it takes a time that grows with the square of them.
_LONG_KEY = re.compile(r"""(?<![\w"'-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){32}""")


def _quantity(unit: str, *, positive: bool = False, low: float = -math.inf, high: float = math.inf) -> BeforeValidator:
    """Return what reads a quantity string into `unit`."""

    def read(value: object) -> units.Stated:
        stated = units.parse_stated(_text(value, units.EXAMPLES[unit]), unit)
        if positive and stated.value <= 0:
            raise ValueError(f'found "{stated.text}", expected more than zero')
        if not low <= stated.value <= high:
            raise ValueError(f'found "{stated.text}", expected {low:g} to {high:g} {unit}')
        return stated

    return BeforeValidator(read)


def _accuracy(unit: str) -> BeforeValidator:
    wanted = 'an accuracy such as "2 % (limits)"'
    return BeforeValidator(lambda value: units.parse_accuracy(_text(value, wanted), unit))


def _text(value: object, wanted: str) -> str:
    if not isinstance(value, str):
        raise ValueError(f"found {shown(value)}, expected {wanted} in quotation marks")
    return value


def _zone(value: object) -> str:
    name = _text(value, 'an IANA zone such as "Indian/Mauritius"')
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f'found "{name}", expected an IANA zone such as "Indian/Mauritius" or "UTC"') from error
    return name


def _known_encoding(name: str) -> str:
    try:
        return codecs.lookup(name).name
    except LookupError as error:
        raise ValueError(f'found "{name}", expected an encoding such as "utf-8", "cp1252" or "shift_jis"') from error


def _known_columns(mapping: dict[str, str]) -> dict[str, str]:
    for name in mapping:
        if vocabulary.column_named(name) is None:
            known = nearest(name, list(vocabulary.COLUMNS))
            raise ValueError(f'found {name}, which is no column of a log; the nearest known is "{known}"')
    return mapping


def _rising(table: list[list[float]]) -> list[list[float]]:
    for (level, _), (following, _) in pairwise(table):
        if following <= level:
            raise ValueError(f"found {following:g} after {level:g}, expected levels that rise from pair to pair")
    return table


def _is_amount(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= LARGEST_SHOWN


def _cost(value: object) -> object:
    """Return an amount or a text, or a table of amounts of this trial alone, which are divided and so not negative."""
    if isinstance(value, dict):
        for name, amount in value.items():
            if not _is_amount(amount) or amount < 0:
                raise ValueError(f"found {shown(amount)} for {name}, expected a number that is not negative")
    elif not isinstance(value, str) and not _is_amount(value):
        raise ValueError(f"found {shown(value)}, expected {SEVERAL_TYPES}")
    return value


def _one_table(costs: dict[str, Any]) -> dict[str, Any]:
    for name, value in costs.items():
        if isinstance(value, dict) != (name == PER_TRIAL):
            wanted = "a table of amounts" if name == PER_TRIAL else f"a number; a table is only [costs.{PER_TRIAL}]"
            raise ValueError(f"found {shown(value)} for {name}, expected {wanted}")
    return costs


def _inside(value: object) -> str:
    text = _text(value, "a path inside the trial folder")
    path = PurePosixPath(text.replace("\\", "/"))
    if not path.name or path.is_absolute() or ".." in path.parts or re.search(r"^[A-Za-z]:|[\x00-\x1f]", str(path)):
        raise ValueError(f'found "{text}", expected a relative path inside the trial folder')
    return str(path)


def _moment(value: object) -> object:
    if not isinstance(value, str | dt.time | dt.datetime) or clock.parse_stated(value, dt.UTC, None) is None:
        raise ValueError(
            f'found {shown(value)}, expected a clock time such as "09:05" or a date and time such as "2026-03-14 09:05"'
        )
    return value


def _date(value: object) -> dt.date:
    try:
        date = value if type(value) is dt.date else dt.date.fromisoformat(str(value))
    except ValueError as error:
        raise ValueError(f"found {shown(value)}, expected a date such as 2026-03-14") from error
    if date.year not in YEARS:
        raise ValueError(f"found {date}, expected a year from {YEARS[0]} to {YEARS[-1]}")
    return date


#: A moment of the wall clock as stated: a clock time on the trial's date, or a date and time.
Clock = Annotated[Any, BeforeValidator(_moment)]
Percent = Annotated[units.Stated, _quantity("%", low=0, high=100)]
Temperature = Annotated[units.Stated, _quantity("degC", low=-100, high=600)]
Mass = Annotated[units.Stated, _quantity("kg", positive=True)]
Volume = Annotated[units.Stated, _quantity("L", low=0, high=1e7)]
Length = Annotated[units.Stated, _quantity("mm", positive=True)]
Power = Annotated[units.Stated, _quantity("W", positive=True)]
Duration = Annotated[units.Stated, _quantity("h", positive=True)]
Whole = Annotated[int, Field(ge=-LARGEST_SHOWN, le=LARGEST_SHOWN)]
Decimal = Annotated[float, Field(ge=-LARGEST_SHOWN, le=LARGEST_SHOWN)]
LevelTable = Annotated[
    list[Annotated[list[float], Field(min_length=2, max_length=2)]],
    Field(min_length=2),
    AfterValidator(_rising),
]


class Section(BaseModel):
    """A table of `trial.toml`; an unknown key in it is a fault."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class Burner(Section):
    """When the burner was lit and went out, and what it is."""

    lit: Clock | None = None
    out: Clock | None = None
    description: str = ""
    flame: str = ""


class Gas(Section):
    """How the gas was measured, and what is known of it."""

    kind: Literal["holder", "meter", "flow"] | None = None
    isolated: bool | None = None
    level_area: Annotated[units.Stated, _quantity("cm^2", positive=True)] | None = None
    level_table: LevelTable | None = None
    accuracy: Annotated[units.Stated, _accuracy("L")] | None = None
    resolution: Annotated[units.Stated, _quantity("L", positive=True)] | None = None
    capacity: Volume | None = None
    reserve: Volume | None = None
    temperature: Temperature | None = None
    pressure: Annotated[units.Stated, _quantity("kPa", low=-20, high=50)] | None = None
    atmospheric: Annotated[units.Stated, _quantity("kPa", low=40, high=115)] | None = None
    dry: bool = False
    methane: Percent | None = None
    methane_method: str = ""
    seal_water: str = ""


class Cabinet(Section):
    """The appliance and the thermometer in it."""

    appliance: str = ""
    inside_volume: Volume | None = None
    probe_position: str = ""
    probe_check: str = ""
    resolution: Annotated[units.Stated, _quantity("K", positive=True)] | None = None
    accuracy: Annotated[units.Stated, _accuracy("K")] | None = None
    thermostat: str = ""
    heat_leak: Annotated[units.Stated, _quantity("W/K", positive=True)] | None = None
    indoors: bool | None = None
    level_checked: bool | None = None
    food_inside: bool | None = None


class Boiler(Section):
    """The boiler of the appliance."""

    temperature: Temperature | None = None


class Water(Section):
    """The water put in to freeze."""

    mass: Mass | None = None
    placed: Clock | None = None
    temperature: Annotated[units.Stated, _quantity("degC", low=0, high=100)] | None = None
    ice_temperature: Annotated[units.Stated, _quantity("degC", low=-60, high=0)] | None = None
    ice_mass: Mass | None = None
    end_point: str = ""
    containers: Annotated[int, Field(ge=1, le=1000)] | None = None
    container: str = ""
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

    description: str = ""
    preparation: str = ""
    working_volume: Annotated[units.Stated, _quantity("L", positive=True)] | None = None
    solids_source: Literal["measured", "table"] | None = None
    source: str = ""
    specific_yield: Annotated[units.Stated, _quantity("L/kg", positive=True)] | None = None
    yield_basis: Literal["standard", "as read"] = "standard"
    composition: Composition | None = None
    formula: str = ""


class Reference(Section):
    """A run of the same appliance on another source of heat, as recorded elsewhere."""

    heat_source: Annotated[str, Field(min_length=1)]
    source: str = ""
    power: Power | None = None
    cooling_rate_mean: Annotated[units.Stated, _quantity("K/h", positive=True)] | None = None
    time_to_0: Duration | None = None
    time_to_minus_6: Duration | None = None
    time_to_minus_12: Duration | None = None
    time_to_minus_18: Duration | None = None
    ice_making_time: Duration | None = None
    freezing_time: Duration | None = None
    temperature_lowest: Temperature | None = None
    ice_making_capacity: Annotated[units.Stated, _quantity("kg/d", positive=True)] | None = None
    cooling_power: Power | None = None


class FileRule(Section):
    """How one log file is to be read where the file alone does not tell.

    `encoding` is a name that Python knows; `decimal` the decimal mark, the other one then groups thousands; `year` that
    of stamps without one; `clock_starts` the half of the day in which a 12-hour clock without am and pm begins;
    `time_zone` that of the file's clock where it is not the trial's.
    """

    encoding: Annotated[str, AfterValidator(_known_encoding)] | None = None
    decimal: Literal["point", "comma"] | None = None
    date_order: Literal["day first", "month first", "year first"] | None = None
    year: Annotated[int, Field(ge=YEARS[0], le=YEARS[-1])] | None = None
    clock_starts: Literal["am", "pm"] | None = None
    time_zone: Annotated[str, BeforeValidator(_zone)] | None = None


class StatedPhoto(Section):
    """A photo of the trial; `people` says that somebody can be recognised on it."""

    file: Annotated[str, BeforeValidator(_inside)]
    caption: str = ""
    people: bool = False


def _photo(value: object) -> object:
    """Return a photo that is named by its path alone as one with nothing else said."""
    return value if isinstance(value, dict) else StatedPhoto(file=_inside(value))


class Replication(Section):
    """What somebody needs who wants to do the same."""

    parts: str = ""
    skills: str = ""
    permissions: str = ""


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
    organisation: str = ""
    contact: str = ""
    signed_by: str = ""
    amendments: str = ""
    date: Annotated[dt.date, BeforeValidator(_date)] | None = None
    time_zone: Annotated[str, BeforeValidator(_zone)] | None = None
    altitude: Annotated[units.Stated, _quantity("m", low=-500, high=6000)] | None = None
    photos: list[Annotated[StatedPhoto, BeforeValidator(_photo)]] = []
    photo_consent: bool = False
    publish_texts: bool = False
    incidents: str = ""
    licence: str = ""
    citation: str = ""
    paid_by: str = ""
    equipment_from: str = ""
    conflicts: str = ""
    purpose: str = ""
    steps: str = ""
    deviations: str = ""
    weather: str = ""
    baseline: str = ""
    advice: str = ""
    notes: str = ""
    burner: Burner = Burner()
    gas: Gas = Gas()
    cabinet: Cabinet = Cabinet()
    boiler: Boiler = Boiler()
    water: Water = Water()
    digester: Digester = Digester()
    reference: Reference | None = None
    audience: dict[str, Whole | Decimal | str | bool] = {}
    costs: Annotated[dict[str, Annotated[Any, BeforeValidator(_cost)]], AfterValidator(_one_table)] = {}
    replication: Replication = Replication()
    columns: dict[str, Annotated[dict[str, str], AfterValidator(_known_columns)]] = {}
    files: dict[str, FileRule] = {}


def parse_sheet(data: bytes) -> Sheet:
    """Read the bytes of `trial.toml`.

    Raises
    ------
    TrialFileError
        If it is no TOML, lacks a title, or holds a key or a value that cannot be used.
    """
    text = sheet_text(data)
    try:
        content = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise as_error(not_toml(str(error), text, FILE_NAME)) from error
    try:
        return Sheet.model_validate(content)
    except ValidationError as error:
        raise as_error(faults_of(error, text, FILE_NAME, Sheet)) from error


def as_error(fault: SheetFault) -> TrialFileError:
    """Return a fault of `trial.toml` as an error."""
    return TrialFileError(fault.code, fault.text, FILE_NAME, fault.line)


def sheet_text(data: bytes) -> str:
    """Return the bytes of `trial.toml` as text.

    Raises
    ------
    TrialFileError
        If they are too many, no text, or of a kind that takes too long to read.
    """
    if len(data) > LARGEST_FILE:
        raise TrialFileError(
            "sheet-too-large",
            f"{FILE_NAME}: more than {LARGEST_FILE} bytes are too many for a trial sheet; is it the right file?",
            file=FILE_NAME,
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise TrialFileError(
            "sheet-not-utf-8",
            f"{FILE_NAME}: byte {error.start + 1} is not UTF-8 text; save the file as UTF-8.",
            file=FILE_NAME,
        ) from error
    long_key = _LONG_KEY.search(text)
    if long_key is not None:
        line = text.count("\n", 0, long_key.start()) + 1
        raise TrialFileError(
            "sheet-not-toml",
            f"{FILE_NAME}:{line}: more than 32 words joined by points are no key and no sentence.",
            FILE_NAME,
            line,
        )
    return text
