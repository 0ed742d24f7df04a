"""The one list of what a log column can hold: names, units, labels, for readers, charts and documents."""

from __future__ import annotations

import difflib
import functools
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from reportgen import everyday, units
from reportgen.everyday.letters import Words, western
from reportgen.everyday.phrases import Key, key, name_key, name_words, normalised, phrases, spellings
from reportgen.message import Message, say


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
    label : Message
        For people.
    meaning : Message
        One line for the documents.
    """

    name: str
    unit: str | None
    default_unit: str | None
    label: Message
    meaning: Message


def _number(name: str, unit: str, label: Message, meaning: Message, default_unit: str | None = None) -> Column:
    return Column(name, unit, default_unit or unit, label, meaning)


def _words(name: str, label: Message, meaning: Message) -> Column:
    return Column(name, None, None, label, meaning)


COLUMNS = {
    column.name: column
    for column in (
        _words("time", say("Time"), say("date and time, or a clock time on the date of the trial")),
        _words("date", say("Date"), say("the date, where it stands in a column of its own")),
        _number("elapsed", "s", say("Elapsed time"), say("time since the burner was lit"), default_unit="min"),
        _number("epoch", "s", say("Epoch time"), say("time since 1970-01-01 00:00 UTC")),
        _words("material", say("Feedstock"), say("what was fed at this time, by any name")),
        _number(
            "fresh_mass",
            "kg",
            say("Fresh mass"),
            say("wet mass of the feedstock as collected, without the water added"),
        ),
        _number("total_solids", "%", say("Total solids"), say("share of the fresh mass")),
        _number("volatile_solids", "%", say("Volatile solids"), say("share of the total solids")),
        _number("water_added", "L", say("Water added"), say("water fed with the feedstock")),
        _number("gas_volume", "L", say("Gas volume"), say("content of the gasholder, or total of the gas meter")),
        _number("gas_level", "cm", say("Gasholder level"), say("level, turned into volume by its area or table")),
        _number("gas_flow", "L/min", say("Gas flow"), say("rate of flow to the burner")),
        _number("gas_produced", "L", say("Gas produced"), say("amount produced since the row before")),
        _number("gas_elsewhere", "L", say("Gas used elsewhere"), say("amount that left but not to this burner")),
        _number("gas_temperature", "degC", say("Gas temperature"), say("temperature of the gas where it is measured")),
        _number(
            "gas_pressure",
            "kPa",
            say("Gas pressure"),
            say("pressure of the gas above atmospheric"),
            default_unit="mbar",
        ),
        _number(
            "atmospheric_pressure", "kPa", say("Atmospheric pressure"), say("barometer reading"), default_unit="hPa"
        ),
        _number("methane", "%", say("Methane"), say("methane in the dry gas, by volume")),
        _number("hydrogen_sulfide", "ppm", say("Hydrogen sulphide"), say("hydrogen sulphide in the gas, by volume")),
        _number("carbon_monoxide", "ppm", say("Carbon monoxide"), say("carbon monoxide in the room, by volume")),
        _number("cabinet_temperature", "degC", say("Cabinet"), say("temperature in the cabinet")),
        _number("ambient_temperature", "degC", say("Ambient"), say("temperature of the air around the appliance")),
        _number("boiler_temperature", "degC", say("Boiler"), say("temperature at the boiler")),
        _number("water_temperature", "degC", say("Water"), say("a probe in the water to be frozen")),
        _words("ice", say("Ice"), say("liquid, partial, solid, or the percent frozen")),
        _words("container", say("Container"), say("which container the ice column speaks of")),
        _words("event", say("Event"), say("burner lit, burner out, water placed, door opened, refill")),
        _words("note", say("Note"), say("free text")),
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
#: Kinds of event.
EVENTS = ("burner lit", "burner out", "water placed", "door opened", "refill")
#: What people write for the state of the ice -> the share frozen (None: partly, nobody said how much).
ICE_WORDS: dict[str, float | None] = {"liquid": 0.0, "partial": None, "solid": 1.0}
#: The columns that say when a row was written.
TIME_COLUMNS = ("time", "date", "elapsed", "epoch")
#: A longer cell is no heading with a unit [characters].
LONGEST_HEADING = 200
#: Names as alike as this, by `difflib`, may be slips of the pen for each other (ours).
LIKE = 0.8
#: A shorter name is like too many others [letters], ours and everyday ones (ours).
SHORTEST_LIKE = 3
SHORTEST_LIKE_EVERYDAY = 6
_BRACKET = re.compile(r"(?P<name>.*?)\s*[\[(]\s*(?P<unit>[^\[\]()]*?)\s*[\])]")
#: Blanks and marks at the ends of a header that are none of its words.
_ENDS = " \t\r\n\"'`:;=\u2018\u2019\u201c\u201d\u00ab\u00bb\u200e\u200f\u061c"
#: A degree sign that was written as an ordinal, or read in another encoding.
_DEGREE = re.compile("\u00ba|\u00c2\u00b0")
_PERCENT = re.compile(r"(?P<number>\d+(?:[.,]\d*)?)\s*(?:%|percent|pct)?\s*(?P<word>[^\W\d_]*)")

#: How sure a name is: it is one column; it is one with a unit that fits; it is asked about.
SURE, WITH_UNIT, ASKED = range(3)


def _states(table: Mapping[str, Words]) -> Mapping[str, Mapping[Key, str]]:
    return {tag: {key(phrase, tag): meaning for phrase, meaning in phrases(words)} for tag, words in table.items()}


def _state(table: Mapping[str, Mapping[Key, str]], text: str) -> str | None:
    """Return what a text stands for; None where no language knows it, or two take it for different things."""
    if len(text) > LONGEST_HEADING:
        return None
    found = {meaning for tag, meanings in table.items() if (meaning := meanings.get(key(text, tag))) is not None}
    return found.pop() if len(found) == 1 else None


_EVENTS, _ICE = _states(everyday.EVENTS), _states(everyday.ICE)


def _parts(table: Mapping[str, frozenset[str]]) -> tuple[tuple[str, frozenset[str]], ...]:
    return tuple((tag, frozenset(key(part, tag))) for tag, parts in table.items() for part in parts)


_AGAIN, _BY_ITSELF = _parts(everyday.AGAIN), _parts(everyday.BY_ITSELF)


def _sure_names(language: str) -> Iterator[tuple[str, str]]:
    """Return the names that mean one column: the everyday ones, and ours in the language that they are in."""
    if language == everyday.OURS:
        yield from ((name.replace("_", " "), name) for name in COLUMNS)
    yield from phrases(everyday.COLUMNS[language])


#: By language: the words of a name -> how sure it is, and the columns it means or may mean.
_NAMES: Mapping[str, Mapping[Key, tuple[int, Key]]] = {
    language: {
        **{name_key(phrase, language): (ASKED, columns) for phrase, columns in everyday.DOUBTFUL[language].items()},
        **{
            name_key(phrase, language): (WITH_UNIT, columns) for phrase, columns in everyday.WITH_UNIT[language].items()
        },
        **{name_key(phrase, language): (SURE, (column,)) for phrase, column in _sure_names(language)},
    }
    for language in everyday.COLUMNS
}


@functools.lru_cache(maxsize=4096)
def _use(name: str) -> tuple[int, Key]:
    """Return how sure a name is and the columns it means or may mean; what languages disagree on is asked about."""
    if len(name) > LONGEST_HEADING:
        return ASKED, ()
    uses = [use for tag, names in _NAMES.items() if (use := names.get(name_key(name, tag))) is not None]
    if len(set(uses)) == 1:
        return uses[0]
    return ASKED, tuple(dict.fromkeys(column for _, columns in uses for column in columns))


def _as_one_word() -> Mapping[str, str]:
    """Return the names that mean one column, written as one word."""
    meanings: dict[str, set[str]] = {}
    for language in everyday.COLUMNS:
        for phrase, column in _sure_names(language):
            for spelling in spellings(phrase, language):
                meanings.setdefault(spelling, set()).add(column)
    return {spelling: columns.pop() for spelling, columns in meanings.items() if len(columns) == 1}


_AS_ONE_WORD = _as_one_word()
_BY_NORMALISED = {normalised(name): name for name in COLUMNS}


def split_header(cell: str) -> tuple[str, str | None]:
    """Return the name and the unit of a header cell.

    The unit stands in brackets, ``cabinet_temperature [degC]``, and a remark in brackets may follow it; or, after a
    name of a column, behind a comma, a slash, a space or an underscore: ``fridge temp, °C``, ``gas_volume_L``.
    """
    if len(cell) > LONGEST_HEADING:
        return cell.strip(), None
    text = unicodedata.normalize("NFKC", _DEGREE.sub("°", cell)).strip(_ENDS)
    rest, in_brackets = text, list[tuple[str, str]]()
    while rest:
        match = _BRACKET.fullmatch(rest)
        if match is None:
            parted = _without_brackets(rest)
            if parted is not None:
                return parted
            break
        in_brackets.append((match["name"], match["unit"]))
        if _is_unit(match["unit"]):
            break
        parted = _without_brackets(match["name"])
        if parted is not None:
            return parted
        rest = match["name"]
    if all(unit and not _is_unit(unit) for _, unit in in_brackets) and _use(text)[0] == SURE:
        return text, None  # what stands in the brackets belongs to the name: temperature (fridge)
    # The last brackets that hold a unit are it; where none do, the last ones are meant for it.
    name, unit = next(
        (part for part in in_brackets if _is_unit(part[1])), in_brackets[0] if in_brackets else (text, "")
    )
    return name.rstrip(_ENDS + "/,"), unit or None


def _without_brackets(text: str) -> tuple[str, str] | None:
    """Return the name and the unit of a header that has no brackets round its unit; None where it ends in none."""
    for match in re.finditer(r"\s*[,/]\s*|[\s_\-]+", text):
        name, unit = text[: match.start()].rstrip(_ENDS), re.sub(r"[\s_]+", "", text[match.end() :])
        if not _is_usual_unit(unit):
            continue
        meant = _meanings(name)
        is_marked = match[0].strip() in (",", "/") and len(unit) > 1 and unit != "in"
        if any(_fits(column, unit) for column in meant) or (not meant and is_marked):
            return name, unit
    return None


def _meanings(name: str) -> Key:
    """Return the columns that a name means or may mean."""
    own = _BY_NORMALISED.get(normalised(name))
    return (own,) if own else _use(name)[1]


def _is_usual_unit(text: str) -> bool:
    return text in units.ALIASES or text.lower() in units.ALIASES


def _is_unit(text: str) -> bool:
    try:
        units.unit_named(text)
    except units.UnitError:
        return False
    return True


def _fits(column: str, unit: str) -> bool:
    """Return whether what stands under a header with a unit can be of a column; words have none."""
    of_column = "%" if column == "ice" else COLUMNS[column].unit
    if of_column is None:
        return not _is_unit(unit)
    try:
        units.conversion(unit, of_column)
    except units.UnitError:
        return False
    return True


def is_own_name(header_name: str) -> bool:
    """Return whether a header name is the name of a column itself, and no everyday name for it."""
    return normalised(header_name) in _BY_NORMALISED


@functools.lru_cache(maxsize=4096)
def column_named(header_name: str, unit: str | None = None) -> str | None:
    """Return the column that a header name means, or None where it means nothing to us or may mean several.

    An everyday name is one only with a `unit` that fits or without any; some are one only with a unit.
    """
    if len(header_name) > LONGEST_HEADING:
        return None
    own = _BY_NORMALISED.get(normalised(header_name))
    if own is not None:
        return own
    how, columns = _use(header_name)
    everyday_name = columns[0] if how == SURE else None if columns else _AS_ONE_WORD.get(normalised(header_name))
    if everyday_name is not None:
        return everyday_name if unit is None or _fits(everyday_name, unit) else None
    may_be = columns if how == WITH_UNIT and unit is not None and _is_unit(unit) else ()
    fitting = [column for column in may_be if _fits(column, unit or "")]
    return fitting[0] if len(fitting) == 1 else None


def event_kind(text: str) -> str:
    """Return the kind of event that a text names, or ``other``."""
    return _state(_EVENTS, text) or "other"


def lights_again(text: str) -> bool:
    """Return whether an event that lights the burner says itself that the burner was lit before."""
    return event_kind(text) == "burner lit" and any(part.issubset(key(text, tag)) for tag, part in _AGAIN)


def went_out_by_itself(text: str) -> bool:
    """Return whether a flame-out says itself that nobody put the flame out."""
    return event_kind(text) == "burner out" and any(part.issubset(key(text, tag)) for tag, part in _BY_ITSELF)


def plain_ice_word(text: str) -> str | None:
    """Return the word of ours, or the percentage, that an everyday word for ice is read as; None where it is none."""
    return _state(_ICE, text)


def columns_meant(header: str) -> list[str]:
    """Return the columns that a header which names none may be meant for, the likeliest first.

    A name such as "temperature" may be any of several columns; a slip of the pen leaves a name like the name. A unit
    leaves only the columns that it fits.
    """
    name, unit = split_header(header)
    name = name or unit or ""
    written = normalised(name)
    if len(written) < SHORTEST_LIKE and not _meanings(name):
        return []
    in_seconds = re.fullmatch(r"(.+?)[\s_\-,/]+(\w+)", name)
    if in_seconds and _is_usual_unit(in_seconds[2]) and _fits("elapsed", in_seconds[2]):
        return ["elapsed"] if "time" in _meanings(in_seconds[1]) else []
    meant = [*_meanings(name)] or [*_like(name)]
    if unit is None or not _is_unit(unit):
        return meant
    return [column for column in meant if _fits(column, unit)]


@functools.cache
def _known_names() -> Mapping[str, tuple[tuple[Key, str], ...]]:
    """Return all names, ours and everyday ones, by language: their words, and the column."""
    own = {name.replace("_", " ") for name in COLUMNS}
    return {
        language: tuple(
            {
                (name_words(phrase, language), column): None
                for phrase, column in _sure_names(language)
                if phrase in own or len(phrase) >= SHORTEST_LIKE_EVERYDAY
            }
        )
        for language in everyday.COLUMNS
    }


@functools.lru_cache(maxsize=4096)
def _like(name: str) -> list[str]:
    """Return the column whose name, of ours or everyday, is most like a name; nothing where none is like it."""
    likeness: dict[str, float] = {}
    for language, names in _known_names().items():
        written = name_words(name, language)
        for known, column in names:
            likeness[column] = max(likeness.get(column, 0.0), _likeness(written, known))
    close = [column for column in likeness if likeness[column] >= LIKE]
    return sorted(close, key=lambda column: -likeness[column])[:1]


def _likeness(written: Key, known: Key) -> float:
    """Return how alike two names are, from 0 to 1; a first or a last word that both share does not count by itself."""
    least = _ratio("".join(written), "".join(known))
    if least >= LIKE and len(known) > 1:
        if written[-1] == known[-1]:
            least = min(least, _ratio("".join(written[:-1]), "".join(known[:-1])))
        if written[0] == known[0]:
            least = min(least, _ratio("".join(written[1:]), "".join(known[1:])))
    return least


def _ratio(one: str, other: str) -> float:
    """Return how alike two texts are, from 0 to 1; 0 where that is below what counts as alike."""
    ours, theirs, both = _letters(one), _letters(other), len(one) + len(other)
    # Upper bounds: by their lengths, by letters that only one of them has, by how often each letter stands.
    if 2 * min(len(one), len(other)) < LIKE * both:
        return 0.0
    if 2 * min(len(one) - len(ours - theirs), len(other) - len(theirs - ours)) < LIKE * both:
        return 0.0
    matcher = difflib.SequenceMatcher(None, one, other)
    return matcher.ratio() if matcher.quick_ratio() >= LIKE else 0.0


@functools.lru_cache(maxsize=4096)
def _letters(text: str) -> frozenset[str]:
    return frozenset(text)


def frozen_share(text: str) -> float | None:
    """Return the share frozen, 0 to 1, that an ice cell means; None for "partial".

    Raises
    ------
    ValueError
        If the cell is no word of the vocabulary and no percentage from 0 to 100.
    """
    word = " ".join(western(text).casefold().split())
    word = plain_ice_word(text) or word
    if word in ICE_WORDS:
        return ICE_WORDS[word]
    match = _PERCENT.fullmatch(word)
    if match and match["word"] and plain_ice_word(match["word"]) != "solid":
        match = None
    percent = float(match["number"].replace(",", ".")) if match else -1.0
    if not 0 <= percent <= 100:
        raise ValueError(text)
    return percent / 100
