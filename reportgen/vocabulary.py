"""The one list of what a log column can hold: names, units, labels, for readers, charts and documents."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One thing a log may hold.

    Attributes
    ----------
    name : str
        As the header writes it (case, spaces, hyphens and underscores do not matter).
    unit : str or None
        The unit its numbers have inside the program; None for words.
    default_unit : str or None
        The unit taken where the header gives none.
    label : str
        For people.
    meaning : str
        One line for the documents.
    """

    name: str
    unit: str | None
    default_unit: str | None
    label: str
    meaning: str


def _number(name: str, unit: str, label: str, meaning: str, default_unit: str | None = None) -> Column:
    return Column(name, unit, default_unit or unit, label, meaning)


def _words(name: str, label: str, meaning: str) -> Column:
    return Column(name, None, None, label, meaning)


COLUMNS = {
    column.name: column
    for column in (
        _words("time", "Time", "date and time, or a clock time on the date of the trial"),
        _words("date", "Date", "the date, where it stands in a column of its own"),
        _number("elapsed", "s", "Elapsed time", "time since the burner was lit", default_unit="min"),
        _number("epoch", "s", "Epoch time", "time since 1970-01-01 00:00 UTC"),
        _words("material", "Feedstock", "what was fed at this time, by any name"),
        _number(
            "fresh_mass",
            "kg",
            "Fresh mass",
            "wet mass of the feedstock as collected, without the water added",
        ),
        _number("total_solids", "%", "Total solids", "share of the fresh mass"),
        _number("volatile_solids", "%", "Volatile solids", "share of the total solids"),
        _number("water_added", "L", "Water added", "water fed with the feedstock"),
        _number("gas_volume", "L", "Gas volume", "content of the gasholder, or total of the gas meter"),
        _number("gas_level", "cm", "Gasholder level", "level, turned into volume by its area or table"),
        _number("gas_flow", "L/min", "Gas flow", "rate of flow to the burner"),
        _number("gas_produced", "L", "Gas produced", "amount produced since the row before"),
        _number("gas_elsewhere", "L", "Gas used elsewhere", "amount that left but not to this burner"),
        _number("gas_temperature", "degC", "Gas temperature", "temperature of the gas where it is measured"),
        _number(
            "gas_pressure",
            "kPa",
            "Gas pressure",
            "pressure of the gas above atmospheric",
            default_unit="mbar",
        ),
        _number("atmospheric_pressure", "kPa", "Atmospheric pressure", "barometer reading", default_unit="hPa"),
        _number("methane", "%", "Methane", "methane in the dry gas, by volume"),
        _number("hydrogen_sulfide", "ppm", "Hydrogen sulphide", "hydrogen sulphide in the gas, by volume"),
        _number("carbon_monoxide", "ppm", "Carbon monoxide", "carbon monoxide in the room, by volume"),
        _number("cabinet_temperature", "degC", "Cabinet", "temperature in the cabinet"),
        _number("ambient_temperature", "degC", "Ambient", "temperature of the air around the appliance"),
        _number("boiler_temperature", "degC", "Boiler", "temperature at the boiler"),
        _number("water_temperature", "degC", "Water", "a probe in the water to be frozen"),
        _words("ice", "Ice", "liquid, partial, solid, or the percent frozen"),
        _words("container", "Container", "which container the ice column speaks of"),
        _words("event", "Event", "burner lit, burner out, water placed, door opened, refill"),
        _words("note", "Note", "free text"),
    )
}
#: Readings outside these limits, in the column's unit, are shown but not used: no instrument of a trial means
#: them (ours).
POSSIBLE = {
    "fresh_mass": (0.0, 10_000.0),
    "total_solids": (0.0, 100.0),
    "volatile_solids": (0.0, 100.0),
    "water_added": (0.0, 100_000.0),
    "gas_volume": (0.0, 1e9),
    "gas_level": (-100.0, 10_000.0),
    "gas_flow": (-10.0, 10_000.0),
    "gas_produced": (0.0, 1e7),
    "gas_elsewhere": (0.0, 1e7),
    "gas_temperature": (-30.0, 90.0),
    "gas_pressure": (-20.0, 50.0),
    "atmospheric_pressure": (40.0, 115.0),
    "methane": (0.0, 100.0),
    "hydrogen_sulfide": (0.0, 1e6),
    "carbon_monoxide": (0.0, 1e6),
    "cabinet_temperature": (-60.0, 70.0),
    "ambient_temperature": (-40.0, 60.0),
    "boiler_temperature": (-40.0, 400.0),
    "water_temperature": (-60.0, 100.0),
}
#: What people write in the event column -> the kind of event.
EVENTS = {
    "burner lit": ("burner lit", "lit", "flame lit", "burner on", "flame on", "relit", "burner relit"),
    "burner out": ("burner out", "out", "flame out", "burner off", "flame off"),
    "water placed": ("water placed", "water in", "placed"),
    "door opened": ("door opened", "door open", "door"),
    "refill": ("refill", "refilled", "gas refill"),
}
#: What people write for the state of the ice -> the share frozen (None: partly, nobody said how much).
ICE_WORDS: dict[str, float | None] = {"liquid": 0.0, "partial": None, "solid": 1.0}
#: Everyday words for the same -> the word of ours that they are read as.
EVERYDAY_ICE_WORDS = {
    "not frozen": "liquid",
    "water": "liquid",
    "still water": "liquid",
    "partly": "partial",
    "partly frozen": "partial",
    "skin": "partial",
    "thin skin": "partial",
    "slush": "partial",
    "frozen": "solid",
    "frozen solid": "solid",
    "hard": "solid",
}
#: The columns that say when a row was written.
TIME_COLUMNS = ("time", "date", "elapsed", "epoch")
#: A longer cell is no heading with a unit [characters].
LONGEST_HEADING = 200
#: Names as alike as this, by `difflib`, may be slips of the pen for each other (ours).
LIKE = 0.8
#: A shorter name is like too many others [letters] (ours).
SHORTEST_LIKE = 3
_HEADER = re.compile(r"\s*(?P<name>.*?)\s*(?:[\[(]\s*(?P<unit>[^\[\]()]*?)\s*[\])])?\s*")


def normalised(name: str) -> str:
    """Return `name` as it is matched: without case, spaces, hyphens and underscores."""
    return re.sub(r"[\s_\-]+", "", name).casefold()


_BY_NORMALISED = {normalised(name): name for name in COLUMNS}


def split_header(cell: str) -> tuple[str, str | None]:
    """Return the name and the unit of a header cell such as ``cabinet_temperature [degC]``."""
    match = _HEADER.fullmatch(cell.strip()) if len(cell) <= LONGEST_HEADING else None
    if match is None:
        return cell.strip(), None
    return match["name"], match["unit"] or None


def column_named(header_name: str) -> str | None:
    """Return the column that a header name means, or None where it means nothing to us."""
    return _BY_NORMALISED.get(normalised(header_name))


def event_kind(text: str) -> str:
    """Return the kind of event that a text names, or ``other``."""
    wanted = normalised(text)
    return next((kind for kind, names in EVENTS.items() if wanted in map(normalised, names)), "other")


def plain_ice_word(text: str) -> str | None:
    """Return the word of ours that an everyday word for ice is read as; None where it is none."""
    return EVERYDAY_ICE_WORDS.get(_words_of(text))


def columns_meant(header: str) -> list[str]:
    """Return the columns that a header which names none may be meant for, the likeliest first.

    A slip of the pen in a name leaves it like the name; a name cut short, such as "temperature", may be any of
    several columns.
    """
    written = normalised(split_header(header)[0])
    if len(written) < SHORTEST_LIKE:
        return []
    ends_alike = [name for name in COLUMNS if name.rpartition("_")[1] and name.rpartition("_")[2] == written]
    if ends_alike:
        return ends_alike
    likeness = {name: _likeness(written, name) for name in COLUMNS}
    close = [name for name in COLUMNS if likeness[name] >= LIKE]
    return sorted(close, key=lambda name: -likeness[name])[:1]


def _likeness(written: str, name: str) -> float:
    """Return how alike two names are, from 0 to 1; a last word that both share does not count by itself."""
    first, _, last = name.rpartition("_")
    whole = difflib.SequenceMatcher(None, written, normalised(name)).ratio()
    if not first or not written.endswith(last):
        return whole
    return min(whole, difflib.SequenceMatcher(None, written.removesuffix(last), normalised(first)).ratio())


def _words_of(text: str) -> str:
    return " ".join(text.casefold().split())


def frozen_share(text: str) -> float | None:
    """Return the share frozen, 0 to 1, that an ice cell means; None for "partial".

    Raises
    ------
    ValueError
        If the cell is no word of the vocabulary and no percentage from 0 to 100.
    """
    word = _words_of(text)
    word = EVERYDAY_ICE_WORDS.get(word, word)
    if word in ICE_WORDS:
        return ICE_WORDS[word]
    percent = float(word.removesuffix("%").strip().replace(",", "."))
    if not 0 <= percent <= 100:
        raise ValueError(text)
    return percent / 100
