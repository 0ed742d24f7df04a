"""The one list of what a log column can hold: names, units, labels, for readers, charts and documents."""

from __future__ import annotations

import difflib
import functools
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from reportgen import everyday, units


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
_ENDS = " \t\r\n\"'`:;=\u2018\u2019\u201c\u201d\u00ab\u00bb"
_MARKS = re.compile(r"[\s_\-./:,;'\"()\[\]]+")
#: A degree sign that was written as an ordinal, or read in another encoding.
_DEGREE = re.compile("\u00ba|\u00c2\u00b0")
_PERCENT = re.compile(r"(?P<number>\d+(?:[.,]\d*)?)\s*(?:%|percent|pct)?(?:\s*frozen)?")

Key = tuple[str, ...]
#: By language: the words of a phrase -> what it stands for.
Keyed = Mapping[str, Mapping[Key, Key]]


def _unaccented(text: str) -> str:
    parts = unicodedata.normalize("NFKD", text)
    return "".join(sign for sign in parts if not unicodedata.combining(sign)).casefold()


@functools.lru_cache(maxsize=4096)
def normalised(name: str) -> str:
    """Return `name` as it is matched: without case, accents, spaces, hyphens, underscores, points and slashes."""
    return re.sub(r"[\s_\-./:'\"]+", "", _unaccented(name))


def _key(text: str, language: str, short: Mapping[str, str]) -> Key:
    """Return the words of a text in order of the alphabet: without case, accents, marks and words that add nothing."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text).replace("%", " % ")
    words = [word for word in _MARKS.split(_unaccented(spaced)) if word]
    known = [short.get(word, word) if len(word) > 1 or len(words) > 1 else word for word in words]
    return tuple(sorted(word for word in known if word not in everyday.FILLERS[language]))


def _name_key(text: str, language: str) -> Key:
    return _key(text, language, everyday.SHORT[language])


def _phrases(words: everyday.Words) -> Iterator[tuple[str, Key]]:
    return ((phrase, (meaning,)) for meaning, phrases in words.items() for phrase in phrases)


def _states(table: Mapping[str, everyday.Words]) -> Keyed:
    return {lang: {_key(phrase, lang, {}): meaning for phrase, meaning in _phrases(w)} for lang, w in table.items()}


def _names(table: Mapping[str, everyday.Words]) -> Keyed:
    return {lang: {_name_key(phrase, lang): columns for phrase, columns in w.items()} for lang, w in table.items()}


def _found(table: Keyed, text: str, *, is_name: bool = False) -> Key:
    """Return what a text stands for in the first language that knows it; () where none does."""
    if len(text) > LONGEST_HEADING:
        return ()
    for language, meanings in table.items():
        meaning = meanings.get(_name_key(text, language) if is_name else _key(text, language, {}))
        if meaning is not None:
            return meaning
    return ()


def _spellings(phrase: str, language: str) -> Iterator[str]:
    """Return a phrase written as one word, and with each word cut short."""
    words = phrase.split()
    yield "".join(words)
    for i, word in enumerate(words):
        for cut, whole in everyday.SHORT[language].items():
            if whole == word and len(cut) > 1:
                yield "".join((*words[:i], cut, *words[i + 1 :]))


_EVENTS, _ICE = _states(everyday.EVENTS), _states(everyday.ICE)
_WITH_UNIT, _DOUBTFUL = _names(everyday.WITH_UNIT), _names(everyday.DOUBTFUL)
#: The names of ours and the everyday ones, by their words.
_ALIASES = {
    language: {
        _name_key(phrase, language): meaning
        for phrase, meaning in (*((name, (name,)) for name in COLUMNS), *_phrases(words))
    }
    for language, words in everyday.COLUMNS.items()
}
#: The same, for names written as one word.
_AS_ONE_WORD = {
    spelling: meaning[0]
    for language, words in everyday.COLUMNS.items()
    for phrase, meaning in (*((name.replace("_", " "), (name,)) for name in COLUMNS), *_phrases(words))
    for spelling in _spellings(phrase, language)
}
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
    if all(unit and not _is_unit(unit) for _, unit in in_brackets) and _found(_ALIASES, text, is_name=True):
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
    return (own,) if own else next(filter(None, (_found(t, name, is_name=True) for t in _NAME_TABLES)), ())


_NAME_TABLES = (_ALIASES, _WITH_UNIT, _DOUBTFUL)


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
    everyday_name = (*_found(_ALIASES, header_name, is_name=True), _AS_ONE_WORD.get(normalised(header_name)))[0]
    if everyday_name is not None:
        return everyday_name if unit is None or _fits(everyday_name, unit) else None
    may_be = _found(_WITH_UNIT, header_name, is_name=True) if unit is not None and _is_unit(unit) else ()
    fitting = [column for column in may_be if _fits(column, unit or "")]
    return fitting[0] if len(fitting) == 1 else None


def event_kind(text: str) -> str:
    """Return the kind of event that a text names, or ``other``."""
    return (*_found(_EVENTS, text), "other")[0]


def plain_ice_word(text: str) -> str | None:
    """Return the word of ours, or the percentage, that an everyday word for ice is read as; None where it is none."""
    return (*_found(_ICE, text), None)[0]


def columns_meant(header: str) -> list[str]:
    """Return the columns that a header which names none may be meant for, the likeliest first.

    A name such as "temperature" may be any of several columns; a slip of the pen leaves a name like the name. A unit
    leaves only the columns that it fits.
    """
    name, unit = split_header(header)
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
def _known_names() -> tuple[tuple[str, str, str, str], ...]:
    """Return all names, ours and everyday ones: as matched, their first words, their last word, and the column."""
    own = [(column.replace("_", " "), column) for column in COLUMNS]
    others = [
        (phrase, column)
        for words in everyday.COLUMNS.values()
        for phrase, (column,) in _phrases(words)
        if len(phrase) >= SHORTEST_LIKE_EVERYDAY
    ]
    parted = ((phrase, phrase.rpartition(" "), column) for phrase, column in (*own, *others))
    return tuple((normalised(phrase), normalised(parts[0]), parts[2], column) for phrase, parts, column in parted)


@functools.lru_cache(maxsize=4096)
def _like(name: str) -> list[str]:
    """Return the column whose name, of ours or everyday, is most like a name; nothing where none is like it."""
    written = normalised(name)
    likeness: dict[str, float] = {}
    for whole, first, last, column in _known_names():
        likeness[column] = max(likeness.get(column, 0.0), _likeness(written, whole, first, last))
    close = [column for column in likeness if likeness[column] >= LIKE]
    return sorted(close, key=lambda column: -likeness[column])[:1]


def _likeness(written: str, whole: str, first: str, last: str) -> float:
    """Return how alike two names are, from 0 to 1; a last word that both share does not count by itself."""
    if 2 * min(len(written), len(whole)) < LIKE * (len(written) + len(whole)):
        return 0.0  # the upper bound that their lengths set
    matcher = difflib.SequenceMatcher(None, written, whole)
    if matcher.quick_ratio() < LIKE:
        return 0.0  # an upper bound as well
    ratio = matcher.ratio()
    if not first or not written.endswith(last):
        return ratio
    return min(ratio, difflib.SequenceMatcher(None, written.removesuffix(last), first).ratio())


def frozen_share(text: str) -> float | None:
    """Return the share frozen, 0 to 1, that an ice cell means; None for "partial".

    Raises
    ------
    ValueError
        If the cell is no word of the vocabulary and no percentage from 0 to 100.
    """
    word = " ".join(text.casefold().split())
    word = plain_ice_word(text) or word
    if word in ICE_WORDS:
        return ICE_WORDS[word]
    match = _PERCENT.fullmatch(word)
    percent = float(match["number"].replace(",", ".")) if match else -1.0
    if not 0 <= percent <= 100:
        raise ValueError(text)
    return percent / 100
