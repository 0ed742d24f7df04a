"""Words of people that call for a safety note. No denial takes one away; a tilted tray of ice is no tilted unit."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from reportgen.message import Message, say
from reportgen.safety.note import SafetyNote
from reportgen.trial import Event, Hazard, Readings, Trial, sources_of

#: At most so many different words are quoted (ours).
MOST_WORDS = 4


@dataclass(frozen=True)
class WordGroup:
    """Words that call for one note.

    Attributes
    ----------
    severity : str
    text : Message
    sources : tuple of str
    stems : tuple of str
        Found at the start of words, whatever the ending. The words of a phrase are stems each; ``*`` stands
        for up to two words.
    words : tuple of str
        Found as whole words and phrases only, because more common words begin alike.
    not_in_appliance : tuple of str
        Stems that name the kind of appliance in `cabinet.appliance` and mean nothing there.
    of_unit : bool
        True where the words count only beside a name of the unit and not of the ice: ice is tilted to see
        whether it is solid.
    """

    severity: str
    text: Message
    sources: tuple[str, ...]
    stems: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    not_in_appliance: tuple[str, ...] = ()
    of_unit: bool = False


#: By the code of the note; English. The first three come before all other notes.
WORDS = {
    "people-ill": WordGroup(
        "stop",
        say(
            "Someone may have been taken ill: get everybody into fresh air and seek medical help. Headache, "
            "dizziness and nausea are signs of carbon monoxide and of hydrogen sulphide, so nothing is lit "
            "again until the cause is found."
        ),
        ("common-precautions",),
        stems=(
            "headach",
            "head ach",
            "dizz",
            "nause",
            "vomit",
            "unconscious",
            "unwell",
            "poison",
            "lightheaded",
            "light headed",
            "short * breath",
            "drows",
            "hospital",
            "ambulance",
        ),
        words=(
            "ill",
            "illness",
            "sick",
            "sickness",
            "fainted",
            "fainting",
            "felt faint",
            "queasy",
            "giddy",
            "passed out",
            "blacked out",
            "threw up",
        ),
    ),
    "ammonia": WordGroup(
        "stop",
        say(
            "Ammonia or a yellow stain points to a leak of the sealed cooling circuit: put out flames, "
            "leave, let air in, and do not use the unit again. In air, NIOSH sets {short} ppm over 15 "
            "minutes and holds {danger} ppm for dangerous to life.",
            short=35,
            danger=300,
        ),
        ("cooling-unit-contents", "niosh-osha-ammonia"),
        stems=(
            "ammoni",
            "leak * ammoni",
            "ammoni * leak",
            "yellow * stain",
            "yellow * powder",
            "yellow * crust",
            "yellow * deposit",
            "yellow * residue",
            "stain * yellow",
        ),
        words=("nh3",),
        not_in_appliance=("ammoni",),
    ),
    "gas-smell": WordGroup(
        "stop",
        say(
            "A smell of gas means that gas is escaping, and a smell that fades may mean that hydrogen "
            "sulphide has dulled the nose. Put out flames, touch no switch, leave, let air in, and close "
            "the gas only where the valve can be reached from open air."
        ),
        ("niosh-hydrogen-sulfide", "smell-fails", "common-precautions"),
        stems=("smell", "stink", "stench", "rotten egg", "reek"),
        words=("smelt", "stank", "stunk", "whiff", "odour", "odours", "odor", "odors"),
    ),
    "leak-words": WordGroup(
        "act",
        say(
            "The records speak of a leak. Find it with soapy water, never with a flame, and light nothing "
            "near the gas until it is tight."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=("leak", "hiss", "gas escap", "escap * gas", "los * gas"),
    ),
    "flashback-words": WordGroup(
        "act",
        say(
            "A pop or a flame that strikes back means that air reached the gas, or that the gas came too "
            "slowly for the burner. Shut the valve, find the cause, and have a flame arrester close to the "
            "burner."
        ),
        ("gas-carrying-parts", "harris-biogas-safety"),
        stems=(
            "flashback",
            "flash * back",
            "backfir",
            "back fir",
            "lit back",
            "light back",
            "strik back",
            "struck back",
            "burn back",
            "explos",
            "explod",
        ),
        words=("pop", "pops", "popped", "popping", "bang", "bangs", "banged"),
    ),
    "soot-words": WordGroup(
        "act",
        say(
            "Soot, smoke or a yellow flame shows gas burning with too little air, which makes carbon "
            "monoxide. Have burner and flue cleaned and checked by a fitter before the next run."
        ),
        ("cpsc-absorption-refrigerators", "common-precautions"),
        stems=("yellow flame", "orange flame", "flame * yellow", "flame * orange", "yellow tip", "smok"),
        words=("soot", "sooty", "sooted", "sooting"),
    ),
    "unattended-words": WordGroup(
        "act",
        say(
            "The records speak of a burner with nobody by it. A flame that goes out leaves raw gas flowing, "
            "so somebody stays within reach of the valve, or a flame-failure device shuts it."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=(
            "unattend",
            "overnight",
            "over night",
            "left running",
            "left burning",
            "nobody there",
            "no one there",
            "went home",
            "unsupervis",
        ),
        words=("asleep",),
    ),
    "tilt-words": WordGroup(
        "know",
        say(
            "The records speak of the unit being tilted or moved. An absorption unit that runs out of level "
            "can be ruined; stand it upright and level, and give it time to settle before lighting."
        ),
        ("level-operation",),
        stems=("tilt", "transport", "laid down", "upside down", "not level", "out of level", "uneven"),
        words=("moved", "on its side", "tipped", "tipped over", "knocked over", "fell over"),
        of_unit=True,
    ),
    "medicine-words": WordGroup(
        "act",
        say(
            "Vaccines, insulin and other medicines need storage that was tested for them; a converted "
            "refrigerator and the figures of this report are no ground for keeping any."
        ),
        ("common-precautions",),
        stems=("vaccin", "insulin", "medic", "antibiotic", "antivenom"),
        words=("drug", "drugs"),
    ),
    "children-words": WordGroup(
        "act",
        say(
            "Children were or will be near. Mark a line that they stay behind, guard what is hot, and let "
            "one adult have nothing to do but stand by the gas valve."
        ),
        ("gtz-biogas-digest", "common-precautions"),
        stems=("school", "child", "pupil", "toddler"),
        words=("kid", "kids", "baby", "babies"),
    ),
    "wind-words": WordGroup(
        "know",
        say(
            "Wind blows flames out and pushes flue gas back. Shelter the burner without closing off its "
            "air, and keep hoses short and the holder shaded and tied down."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=("gust", "breez", "draught"),
        words=(
            "wind",
            "winds",
            "windy",
            "windier",
            "windblown",
            "draft",
            "drafts",
            "drafty",
            "storm",
            "storms",
            "stormy",
        ),
    ),
    "electricity-words": WordGroup(
        "know",
        say(
            "Electricity and gas meet on this appliance or near it. Unplug it while it runs on gas, and "
            "keep switches, relays and loose contacts away from gas, for any of them can spark."
        ),
        ("harris-biogas-safety",),
        stems=("electric", "unplug", "12 volt", "24 volt", "three way", "two way", "3 way", "2 way"),
        words=(
            "mains",
            "plug",
            "plugs",
            "plugged",
            "socket",
            "12 v",
            "12v",
            "24 v",
            "24v",
            "110 v",
            "110v",
            "120 v",
            "120v",
            "220 v",
            "220v",
            "230 v",
            "230v",
            "240 v",
            "240v",
        ),
    ),
}

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
        "burner.description": sheet.burner.description,
        "cabinet.appliance": sheet.cabinet.appliance,
        "cabinet.thermostat": sheet.cabinet.thermostat,
    }
    rows = (*trial.events, *trial.notes)
    groups = []
    for code in WORDS:
        in_sheet = {
            key: found
            for key, text in stated.items()
            if (found := words_found(code, text, of_appliance=key == "cabinet.appliance"))
        }
        in_rows = [(row, found) for row in rows if (found := words_found(code, row.text))]
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
