"""Words of people that call for a safety note, in every language of logs.

No denial takes one away; a tilted tray of ice is no tilted unit.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from reportgen.everyday.letters import bare, places_in
from reportgen.message import COMMA, listed, say
from reportgen.read.sheet import Sheet
from reportgen.safety import arabic, french, spanish, swahili
from reportgen.safety.note import SafetyNote
from reportgen.safety.phrases import Phrases
from reportgen.safety.word_groups import WORDS
from reportgen.trial import Event, Hazard, Readings, Trial, sources_of

#: At most so many different words are quoted (ours).
MOST_WORDS = 4


_LETTER = r"[^\W_]"
_BETWEEN = r"[\W_]{1,3}"
#: So many letters may stand before a root.
_BEFORE_ROOT = rf"{_LETTER}{{0,10}}"
#: The languages beside English, each a module of words.
LANGUAGES = (french, spanish, swahili, arabic)
#: What people write where there is nothing to tell.
NOTHING = frozenset(
    map(
        bare,
        (
            *("", "none", "no", "nil", "nothing", "n/a", "na", "-", "--", "0"),
            *(text for language in LANGUAGES for text in language.NOTHING),
        ),
    )
)
_CLAUSE = re.compile(r"[,;:.!?\n\u060c\u061b\u061f]")
_SENTENCE = re.compile(r"[.!?\n\u061f]")


def _parts(phrase: str) -> list[str]:
    return bare(phrase).replace("'", " ").split()


def _phrase(phrase: str, ending: str, prefix: str) -> str:
    """Return the pattern of a phrase, each of its words between the patterns `prefix` and `ending`."""
    pattern, between = "", ""
    for part in _parts(phrase):
        if part == "*":
            between = rf"{_BETWEEN}(?:{_LETTER}+{_BETWEEN}){{0,2}}"
        else:
            pattern += f"{between}{prefix}{re.escape(part)}{ending}"
            between = _BETWEEN
    return pattern


def _alternatives(phrases: Phrases, prefix: str) -> list[str]:
    """Return the patterns of what a language has for one note."""
    endings = [_phrase(stem, f"{_LETTER}*", prefix) for stem in (*phrases.stems, *phrases.places)]
    # A whole word that a hyphen carries on is another word: ill-fitting, pop-up.
    wholes = [f"{_phrase(word, '', prefix)}(?!-?{_LETTER})" for word in phrases.words]
    roots = [_BEFORE_ROOT + _phrase(root, f"{_LETTER}*", "") for root in phrases.roots]
    return [*endings, *wholes, *roots]


class _Words:
    """What all languages have for one thing, to be looked for in bare texts.

    Parameters
    ----------
    english : Phrases
    others : one a language of `LANGUAGES`
    """

    def __init__(self, english: Phrases, others: Iterable[Phrases]) -> None:
        self._in_each = [(english, ""), *zip(others, (language.PREFIX for language in LANGUAGES), strict=True)]
        written = [phrase for of, _ in self._in_each for phrase in (*of.stems, *of.words, *of.roots, *of.places)]
        #: Of each phrase the longest word: a text with none of them needs no search.
        self._needed = tuple({max(_parts(phrase), key=len) for phrase in written})

    def found(self, text: str) -> Iterator[re.Match[str]]:
        """Return where the words stand in a bare text."""
        return self._pattern.finditer(text) if any(word in text for word in self._needed) else iter(())

    @functools.cached_property
    def _pattern(self) -> re.Pattern[str]:
        patterns = [part for phrases, prefix in self._in_each for part in _alternatives(phrases, prefix)]
        return re.compile(f"(?<!{_LETTER})(?:{'|'.join(patterns)})")


#: What the unit is called, and what is tilted or moved to look at the ice.
_UNIT = _Words(
    Phrases(("fridge", "refrigerat", "cabinet", "applianc", "freezer", "machine", "cooler"), ("unit", "units")),
    [language.UNIT for language in LANGUAGES],
)
_ICE = _Words(
    Phrases(
        ("tray", "bottle", "mould", "mold", "contain"), ("ice", "skin", "bag", "bags", "cup", "cups", "jar", "jars")
    ),
    [language.ICE for language in LANGUAGES],
)


def _words_of(code: str, *, in_appliance: bool = False, with_places: bool = True) -> _Words:
    """Return a group of words; `in_appliance` for what describes the appliance, and with names of places or without."""
    group = WORDS[code]
    english = Phrases(group.stems, group.words, not_in_appliance=group.not_in_appliance, places=group.places)
    in_each = [english, *(language.WORDS[code] for language in LANGUAGES)]
    if not with_places:
        in_each = [replace(of, places=()) for of in in_each]
    if in_appliance:
        in_each = [
            replace(of, stems=tuple(stem for stem in of.stems if stem not in of.not_in_appliance)) for of in in_each
        ]
    return _Words(in_each[0], in_each[1:])


_IN_TEXTS = {code: _words_of(code) for code in WORDS}
_IN_APPLIANCE = {code: _words_of(code, in_appliance=True) for code in WORDS}
_WITHOUT_PLACES = {code: _words_of(code, with_places=False) for code, group in WORDS.items() if group.places}
#: Keys of the sheet that tell of people and of the course of a trial, and describe no thing.
_TOLD = ("notes", "incidents", "reason", "amendments", "purpose", "steps", "deviations", "weather", "advice")


def words_found(code: str, text: str, *, of_appliance: bool = False, with_places: bool = True) -> list[str]:
    """Return the words of a group in `text`, as written.

    Parameters
    ----------
    of_appliance
        True for what describes the appliance.
    with_places
        False where the name of a place says no more than the address of the trial.
    """
    words = (_IN_APPLIANCE if of_appliance else _IN_TEXTS)[code]
    if not with_places:
        words = _WITHOUT_PLACES.get(code, words)
    asks_unit = WORDS[code].of_unit and not of_appliance
    plain = bare(text)
    matches = [match for match in words.found(plain) if not asks_unit or _is_of_unit(plain, match.start())]
    places = places_in(text) if matches else []
    return [" ".join(text[places[match.start()] : places[match.end() - 1] + 1].split()) for match in matches]


def _is_of_unit(text: str, at: int) -> bool:
    """Return whether the clause or the sentence around a place names the unit and nothing of the ice."""
    parts = [_around(text, at, mark) for mark in (_CLAUSE, _SENTENCE)]
    return any(any(_UNIT.found(part)) and not any(_ICE.found(part)) for part in parts)


def _around(text: str, at: int, mark: re.Pattern[str]) -> str:
    """Return the part of a text around a place, between one mark and the next."""
    ends = [match.start() for match in mark.finditer(text)]
    first = max((end + 1 for end in ends if end < at), default=0)
    return text[first : min((end for end in ends if end >= at), default=len(text))]


@dataclass(frozen=True)
class _Found:
    """The words of a group in what people wrote, as written, and where they stand."""

    code: str
    words: tuple[str, ...]
    places: tuple[str, ...]


def _found(trial: Trial) -> list[_Found]:
    sheet = trial.sheet
    stated = {
        "notes": sheet.notes,
        "incidents": sheet.incidents,
        "reason": sheet.reason,
        "amendments": sheet.amendments,
        "purpose": sheet.purpose,
        "steps": sheet.steps,
        "deviations": sheet.deviations,
        "weather": sheet.weather,
        "advice": sheet.advice,
        "burner.description": sheet.burner.description,
        # The word is left out where the key says it.
        "burner.flame": f"flame {sheet.burner.flame}" if sheet.burner.flame else "",
        "cabinet.appliance": sheet.cabinet.appliance,
        "cabinet.thermostat": sheet.cabinet.thermostat,
        "water.container": sheet.water.container,
        "digester.description": sheet.digester.description,
        "digester.preparation": sheet.digester.preparation,
    }
    fed = [Event(feed.at, "feed", feed.material, feed.file, feed.row) for feed in trial.feeds]
    rows = (*trial.events, *trial.notes)
    address = "\n".join((sheet.title, sheet.site, sheet.region, sheet.organisation))
    groups = []
    for code, group in WORDS.items():
        with_places = not (group.places and words_found(code, address))
        texts = {key: stated[key] for key in _TOLD} | {"audience": _audience(sheet)} if group.of_people else stated
        in_sheet = {
            key: found
            for key, text in texts.items()
            if not group.of_feed
            and (
                found := words_found(
                    code,
                    text,
                    of_appliance=key == "cabinet.appliance",
                    with_places=with_places or key in ("purpose", "audience"),
                )
            )
        }
        written_in = fed if group.of_feed else rows
        in_rows = [
            (row, found) for row in written_in if (found := words_found(code, row.text, with_places=with_places))
        ]
        written = [word for found in (*in_sheet.values(), *(found for _, found in in_rows)) for word in found]
        if written:
            places = sources_of([f"trial.toml:{key}" for key in in_sheet], event_places(row for row, _ in in_rows))
            groups.append(_Found(code, tuple(written), places))
    return groups


def _audience(sheet: Sheet) -> str:
    """Return who was there, in the words of the sheet, without those of whom nobody was."""
    present = audience_present(sheet)
    return "\n".join(f"{name} {value}" if isinstance(value, str) else name for name, value in present.items())


def audience_present(sheet: Sheet) -> dict[str, int | float | str | bool]:
    """Return who was there, without those of whom nobody was."""
    return {
        name: value
        for name, value in sheet.audience.items()
        if (not says_nothing(value) if isinstance(value, str) else value > 0)
    }


def says_nothing(text: str) -> bool:
    """Return True where a text says that there is nothing to tell."""
    return " ".join(bare(text).rstrip(".! \n").split()) in NOTHING


def word_notes(trial: Trial) -> list[SafetyNote]:
    """Return a note for each group of words that occurs in what people wrote, quoting the words alone.

    Words in what an edition leaves out call for their note as well, and are not quoted.
    """
    reasons = {
        hazard.code: (say("the records say so, in words left out of this edition"), hazard.places)
        for hazard in trial.hazards
    }
    for found in _found(trial):
        different = list(dict.fromkeys(word.casefold() for word in found.words))[:MOST_WORDS]
        quoted = say("the records say {words}", words=listed((say("“{text}”", text=word) for word in different), COMMA))
        reasons[found.code] = (quoted, found.places)
    return [
        SafetyNote(code, group.severity, group.text, *reasons[code], group.sources)
        for code, group in WORDS.items()
        if code in reasons
    ]


def hazards_of(trial: Trial) -> list[Hazard]:
    """Return the groups of words that occur in what people wrote, and where, without the words."""
    return [Hazard(found.code, found.places) for found in _found(trial)]


def event_places(events: Iterable[Event]) -> tuple[str, ...]:
    """Return where events stand, as runs of rows."""
    places = sorted({(event.file, event.row) for event in events})
    if not places:
        return ()
    files = tuple(dict.fromkeys(file for file, _ in places))
    rows = np.array([row for _, row in places], dtype=np.int64)
    index = np.array([files.index(file) for file, _ in places], dtype=np.int64)
    return Readings(np.zeros(len(rows)), np.zeros(len(rows)), rows, files, index).sources
