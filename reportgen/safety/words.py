"""Words of people that call for a safety note. No denial takes one away; a tilted tray of ice is no tilted unit."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from reportgen.message import say
from reportgen.safety.note import SafetyNote
from reportgen.safety.word_groups import WORDS
from reportgen.trial import Event, Hazard, Readings, Trial, sources_of

#: At most so many different words are quoted (ours).
MOST_WORDS = 4


_LETTER = r"[^\W_]"
_BETWEEN = r"[\W_]{1,3}"


def _phrase(text: str, ending: str) -> str:
    """Return the pattern of a phrase, each of its words followed by the pattern `ending`."""
    pattern, between = "", ""
    for part in text.split():
        if part == "*":
            between = rf"{_BETWEEN}(?:{_LETTER}+{_BETWEEN}){{0,2}}"
        else:
            pattern += f"{between}{re.escape(part)}{ending}"
            between = _BETWEEN
    return pattern


def _pattern(stems: Iterable[str], words: Iterable[str]) -> re.Pattern[str]:
    # A whole word that a hyphen carries on is another word: ill-fitting, pop-up.
    endings = [_phrase(stem, f"{_LETTER}*") for stem in stems]
    wholes = [f"{_phrase(word, '')}(?!-?{_LETTER})" for word in words]
    return re.compile(f"(?<!{_LETTER})(?:{'|'.join([*endings, *wholes])})", re.IGNORECASE)


#: What the unit is called, and what is tilted or moved to look at the ice.
_UNIT = _pattern(("fridge", "refrigerat", "cabinet", "applianc", "freezer", "machine", "cooler"), ("unit", "units"))
_ICE = _pattern(
    ("tray", "bottle", "mould", "mold", "contain"), ("ice", "skin", "bag", "bags", "cup", "cups", "jar", "jars")
)
_CLAUSE = re.compile(r"[,;:.!?\n]")
_SENTENCE = re.compile(r"[.!?\n]")
_PATTERNS = {code: _pattern(group.stems, group.words) for code, group in WORDS.items()}
_APPLIANCE_PATTERNS = {
    code: _pattern([stem for stem in group.stems if stem not in group.not_in_appliance], group.words)
    for code, group in WORDS.items()
}


def words_found(code: str, text: str, *, of_appliance: bool = False) -> list[str]:
    """Return the words of a group in `text`, as written; `of_appliance` for what describes the appliance."""
    pattern = (_APPLIANCE_PATTERNS if of_appliance else _PATTERNS)[code]
    asks_unit = WORDS[code].of_unit and not of_appliance
    return [
        " ".join(match[0].split())
        for match in pattern.finditer(text)
        if not asks_unit or _is_of_unit(text, match.start())
    ]


def _is_of_unit(text: str, at: int) -> bool:
    """Return whether the clause or the sentence around a place names the unit and nothing of the ice."""
    parts = [_around(text, at, mark) for mark in (_CLAUSE, _SENTENCE)]
    return any(_UNIT.search(part) and not _ICE.search(part) for part in parts)


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
    groups = []
    for code in WORDS:
        in_sheet = {
            key: found
            for key, text in stated.items()
            if not WORDS[code].of_feed and (found := words_found(code, text, of_appliance=key == "cabinet.appliance"))
        }
        written_in = fed if WORDS[code].of_feed else rows
        in_rows = [(row, found) for row in written_in if (found := words_found(code, row.text))]
        written = [word for found in (*in_sheet.values(), *(found for _, found in in_rows)) for word in found]
        if written:
            places = sources_of([f"trial.toml:{key}" for key in in_sheet], event_places(row for row, _ in in_rows))
            groups.append(_Found(code, tuple(written), places))
    return groups


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
        quoted = say("the records say {words}", words=", ".join(f"“{word}”" for word in different))
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
