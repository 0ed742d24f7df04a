"""The edition that can be published: no name, no free text, no file name, and all numbers as they are.

It is made of the trial as read, before anything is computed or shown, so that nothing later can know what is left out.
"""

from __future__ import annotations

import functools
import hashlib
import numbers
import re
import string
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, time
from pathlib import PurePath
from typing import Any, Literal, TypeVar, get_args, get_origin

from reportgen import units
from reportgen.calc import theoretical_yield
from reportgen.figures.gas_state import NOT_MEASURED
from reportgen.message import Listed, Message, Written, say
from reportgen.read.sheet import FILE_NAME, PER_TRIAL, Section, Sheet
from reportgen.safety.words import hazards_of, says_nothing
from reportgen.set_up import plain, probe_place
from reportgen.trial import Event, Finding, Photo, Readings, Trial
from reportgen.vocabulary import COLUMNS, ICE_WORDS

#: Keys of the sheet that name people or bodies: left out even where texts are published.
NAMES = ("operator", "organisation", "contact", "signed_by", "paid_by", "equipment_from", "citation")
SectionT = TypeVar("SectionT", bound=Section)

#: Stands where something was recorded that this edition does not tell: as a reader is told, and in results files.
LEFT_OUT_HERE = say("left out of this edition")
WITHHELD = LEFT_OUT_HERE.text
#: Stands for a cell of a log that a finding would quote.
MASK = "…"
#: What is left out, in the order in which the report names it.
LEFT_OUT = {
    "names": say("names of people and bodies, of files and folders, the id and the series"),
    "site": say("the site, for which no region is stated"),
    "title": say("the title, which named the site or the operator"),
    "texts": say(
        "notes, incidents, remarks, events in words, descriptions of the set-up, names of costs and of groups of people"
    ),
    "cells": say("cells of the logs that a finding would quote"),
    "photos": say("photos that show people or have no consent to be published"),
    "captions": say("captions of photos"),
    "licence": say("the licence, which is none of the open ones known by name"),
}
#: Texts of the sheet that hold no free words: their form was checked when they were read, or they are meant for it.
KEPT_TEXTS = frozenset(("time_zone", "region", "lit", "out", "placed"))
#: Licences of data that are known by name; any other text may name its owner.
_LICENCE = re.compile(r"(CC0|CC[- ]BY([- ](SA|NC|ND))*|ODbL|ODC-BY|PDDL)([- ]\d\.\d)?|public domain", re.IGNORECASE)
_CURRENCY = re.compile(r"[A-Z]{3}")
_WORD = re.compile(r"[^\W\d_]+")
#: A shorter word of a name is none by itself: an initial, "of", "de" [letters] (ours).
SHORTEST_NAME = 3
#: Endings of files that tell what a file is and nothing of whose it is.
_ENDINGS = frozenset((".csv", ".tsv", ".txt", ".dat", ".xlsx", ".xls", ".ods", ".jpg", ".jpeg", ".png", ".webp"))
#: Ways of finding the methane content that the trial format names.
METHODS = ("analyser", "absorption", "assumed")
#: Events that the trial format names; any other is in somebody's own words.
KINDS_OF_EVENT = ("burner lit", "burner out", "water placed", "door opened", "refill")
#: Keys of `audience` that say who was counted without naming them.
COUNTED = frozenset(("visitors", "children", "adults", "women", "men", "pupils", "teachers"))


def anonymised(trial: Trial) -> Trial:
    """Return the trial as it can be published.

    `region` stands in place of the site. Free texts are left out, or kept without the names of site, operator and who
    signed where `publish_texts` is true. Of safety words in them stays which hazard they speak of, as `hazards`.
    Readings, times and stated quantities are not touched.
    """
    sheet, keeps = trial.sheet, trial.sheet.publish_texts
    names = _file_names(trial)
    photos = tuple(_photo(photo, sheet, names) for photo in trial.photos if sheet.photo_consent and not photo.people)
    trial = _with_files(trial, names, {photo.file for photo in photos})
    # Nobody is left on a photo to be asked.
    trial = replace(trial, findings=tuple(f for f in trial.findings if f.code != "photo-without-consent"))
    findings = tuple(_finding(finding, sheet, names) for finding in trial.findings)
    title, is_own = public_title(sheet)
    happened = {
        "names": True,
        "site": bool(sheet.site) and not sheet.region,
        "title": not is_own,
        "texts": not keeps,
        "cells": [str(finding.message) for finding in findings] != [str(found.message) for found in trial.findings],
        "photos": len(photos) < len(trial.photos),
        "captions": not keeps and any(photo.caption for photo in trial.photos),
        "licence": bool(sheet.licence) and not _LICENCE.fullmatch(sheet.licence.strip()),
    }
    materials = _labels("feedstock", (feed.material for feed in trial.feeds))
    containers = _labels("container", (look.container for look in trial.looks))
    return replace(
        trial,
        folder=pseudonym(trial),
        sheet=_public_sheet(sheet, pseudonym(trial), title),
        feeds=tuple(
            replace(feed, material=without_names(feed.material, sheet) if keeps else label)
            for feed, label in zip(trial.feeds, materials, strict=True)
        ),
        looks=tuple(replace(look, container=label) for look, label in zip(trial.looks, containers, strict=True)),
        events=tuple(map(functools.partial(_event, sheet=sheet), trial.events)),
        notes=tuple(map(functools.partial(_event, sheet=sheet), trial.notes)),
        findings=findings,
        photos=photos,
        left_out=tuple(key for key in LEFT_OUT if happened[key]),
        hazards=tuple(hazards_of(trial)),
        set_up_words=_set_up_words(sheet),
        lit_before=None if trial.lit_before is None else _masked(trial.lit_before, sheet, names),
    )


def pseudonym(trial: Trial) -> str:
    """Return the name under which a trial is published: the same for the same trial, whatever is corrected in it.

    Only who knows all of id (or folder), site and operator can tell that it is theirs.
    """
    sheet = trial.sheet
    return f"trial-{_sum(sheet.id or trial.folder, sheet.site, sheet.operator, str(sheet.date))}"


def _set_up_words(sheet: Sheet) -> tuple[str, str]:
    """Return where the probe is, in one word, and a sign of the words of the set-up.

    The sign is the same for trials of one region (of one site, where none is stated) set up in the same words. Who
    knows region and words can tell that it is made of them, and nothing else; names of people are not among them.
    """
    probe = probe_place(sheet.cabinet.probe_position)
    words = (plain(without_names(text, sheet)) for text in (sheet.water.end_point, sheet.cabinet.thermostat))
    return probe, f"words-{_sum(sheet.region or sheet.site, probe, *words)}"


def public_title(sheet: Sheet) -> tuple[str, bool]:
    """Return the title without names, and whether it is still the trial's own.

    One that shares a word with the name of the site or of a person even so gives way to a plain title.
    """
    title = without_names(sheet.title, sheet)
    named = _words_of(sheet.site, sheet.operator, sheet.signed_by, sheet.organisation) - _words_of(sheet.region)
    rest = functools.reduce(lambda text, ours: text.replace(ours, ""), (_PERSON, _ORGANISATION, _SITE, _TRIAL), title)
    if named.isdisjoint(_words_of(rest)):
        return title, True
    place = say(", {region}", region=sheet.region) if sheet.region else ""
    return str(say("Biogas-to-ice trial{place}", place=place)), False


_PERSON, _ORGANISATION, _SITE, _TRIAL = "the operator", "the organisation", "the site", "this trial"


def without_names(text: str, sheet: Sheet) -> str:
    """Return a text with the region in place of the site, and without the names of operator and who signed."""
    stands_for = {sheet.site: sheet.region or _SITE, sheet.id: _TRIAL}
    stands_for |= {sheet.organisation: _ORGANISATION, sheet.contact: _PERSON}
    for person in (sheet.operator, sheet.signed_by):
        stands_for |= {person: _PERSON, **dict.fromkeys(_words_of(person), _PERSON)}
    for name in sorted(filter(_is_name, stands_for), key=len, reverse=True):
        pattern = r"\s+".join(map(re.escape, name.split()))
        text = stands_for[name].join(re.split(rf"(?<!\w){pattern}(?!\w)", text, flags=re.IGNORECASE))
    return text


def _is_name(text: str) -> bool:
    return len(text.strip()) >= SHORTEST_NAME


def _words_of(*texts: str) -> set[str]:
    """Return the words of names, folded, without those too short to be a name."""
    return {word.casefold() for text in texts for word in _WORD.findall(text) if len(word) >= SHORTEST_NAME}


def _sum(*texts: str) -> str:
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()[:8]


def _labels(kind: str, names: Iterable[str]) -> list[str]:
    """Return a number for each different name: ``container 1``; nothing for no name."""
    known: dict[str, str] = {"": ""}
    return [known.setdefault(name.strip().casefold(), f"{kind} {len(known)}") for name in names]


def _public_sheet(sheet: Sheet, name: str, title: str) -> Sheet:
    plain = _section(sheet, sheet)
    kept = {
        "title": title,
        "id": name,
        "series": f"series-{_sum(sheet.series, sheet.site)}" if sheet.series else "",
        "site": sheet.region,
        **{key: WITHHELD if getattr(sheet, key) else "" for key in NAMES},
        "licence": sheet.licence if _LICENCE.fullmatch(sheet.licence.strip()) else "",
        "incidents": "" if says_nothing(sheet.incidents) else plain.incidents,
        "notes": plain.notes if sheet.publish_texts else "",
        "photos": [],
        "gas": plain.gas.model_copy(update={"methane_method": _method(sheet, plain.gas.methane_method)}),
        "digester": plain.digester.model_copy(update={"formula": _formula(sheet.digester.formula)}),
        "audience": {
            name: amount if not isinstance(amount, str) else True
            for name, amount in _numbered(sheet.audience, "group", COUNTED, sheet).items()
            if not isinstance(amount, str) or not says_nothing(amount)
        },
        "costs": {
            name: amount
            for name, amount in _numbered(sheet.costs, "item", frozenset(("currency", PER_TRIAL)), sheet).items()
            if not isinstance(amount, str) or _CURRENCY.fullmatch(amount)
        },
        "columns": {},
        "files": {},
    }
    return plain.model_copy(update=kept)


def _section(section: SectionT, sheet: Sheet) -> SectionT:
    """Return a section of the sheet whose free texts are left out, or kept without names; all else stays."""
    changed: dict[str, Any] = {}
    for name, field in type(section).model_fields.items():
        value = getattr(section, name)
        if isinstance(value, Section):
            changed[name] = _section(value, sheet)
        elif isinstance(value, str) and name not in KEPT_TEXTS and value not in _choices(field.annotation):
            changed[name] = _described(value, sheet)
    return section.model_copy(update=changed)


def _choices(annotation: Any) -> Iterator[Any]:
    """Yield the values among which a key has its own."""
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    for inner in get_args(annotation):
        yield from _choices(inner)


def _described(text: str, sheet: Sheet) -> str:
    if not text.strip():
        return ""
    return without_names(text, sheet) if sheet.publish_texts else WITHHELD


def _method(sheet: Sheet, described: str) -> str:
    """Return how the methane was found, so far that it can be told whether it was measured."""
    words = set(re.findall(r"\w+", sheet.gas.methane_method.casefold()))
    if sheet.publish_texts or not words:
        return described
    if words & NOT_MEASURED:
        return "assumed"
    return next((method for method in METHODS if method in words), described)


def _formula(formula: str) -> str:
    """Return a chemical formula, and nothing for a text that is none."""
    try:
        theoretical_yield.parse_formula(formula)
    except ValueError:
        return ""
    return formula


def _numbered(amounts: Mapping[str, Any], kind: str, known: frozenset[str], sheet: Sheet) -> dict[str, Any]:
    """Return amounts under letters in place of their free names."""
    return {
        name if name in known or sheet.publish_texts else f"{kind}_{_letter(n)}": (
            _numbered(amount, kind, known, sheet) if isinstance(amount, Mapping) else amount
        )
        for n, (name, amount) in enumerate(amounts.items(), start=1)
    }


def _letter(n: int) -> str:
    """Return A for 1, B for 2; after Z comes AA."""
    letters = string.ascii_uppercase
    return letters[(n - 1) % len(letters)] * (1 + (n - 1) // len(letters))


def _photo(photo: Photo, sheet: Sheet, names: Mapping[str, str]) -> Photo:
    caption = without_names(photo.caption, sheet) if sheet.publish_texts else ""
    return replace(photo, file=names[photo.file], caption=caption)


def _event(event: Event, sheet: Sheet) -> Event:
    """Return an event or note without its words; an event of a known kind is named by that."""
    if sheet.publish_texts:
        return replace(event, text=without_names(event.text, sheet))
    return replace(event, text=event.kind if event.kind in KINDS_OF_EVENT else "")


def _file_names(trial: Trial) -> dict[str, str]:
    """Return what each file is called here: a number in place of its name, in the order in which they were read."""
    pictures = dict.fromkeys(stated.file for stated in trial.sheet.photos)
    read = dict.fromkeys(source.file for source in trial.inputs)
    others = {finding.file for finding in trial.findings if finding.file} | set(trial.sheet.columns)
    named = {FILE_NAME: FILE_NAME}
    counts: Counter[str] = Counter()
    for kind, files in (
        ("photo", pictures),
        ("log", [name for name in read if name not in pictures]),
        ("file", sorted(others)),
    ):
        for name in files:
            ending = PurePath(name).suffix.lower()
            if name not in named:
                counts[kind] += 1
                named[name] = f"{kind}-{counts[kind]}{ending if ending in _ENDINGS else ''}"
    return named


def _with_files(trial: Trial, names: Mapping[str, str], photos: set[str]) -> Trial:
    """Return the trial with other names for its files, without those of photos that are left out."""

    def renamed(readings: Mapping[str, Readings]) -> dict[str, Readings]:
        return {
            column: replace(found, files=tuple(names.get(file, MASK) for file in found.files))
            for column, found in readings.items()
        }

    stated = {photo.file for photo in trial.sheet.photos}
    return replace(
        trial,
        readings=renamed(trial.readings),
        excluded=renamed(trial.excluded),
        feeds=tuple(replace(feed, file=names.get(feed.file, MASK)) for feed in trial.feeds),
        looks=tuple(replace(look, file=names.get(look.file, MASK)) for look in trial.looks),
        events=tuple(replace(event, file=_place(event.file, names)) for event in trial.events),
        notes=tuple(replace(note, file=_place(note.file, names)) for note in trial.notes),
        inputs=tuple(
            replace(source, file=names[source.file])
            for source in trial.inputs
            if source.file not in stated or names[source.file] in photos
        ),
        findings=tuple(
            replace(found, file=None if found.file is None else names.get(found.file, MASK)) for found in trial.findings
        ),
    )


def _place(file: str, names: Mapping[str, str]) -> str:
    """Return where something stands; a key of the sheet may follow its name: ``trial.toml:burner.lit``."""
    return file if file.partition(":")[0] == FILE_NAME else names.get(file, MASK)


def _finding(finding: Finding, sheet: Sheet, names: Mapping[str, str]) -> Finding:
    effect = None if finding.effect is None else _masked(finding.effect, sheet, names)
    return replace(finding, message=_masked(finding.message, sheet, names), effect=effect)


def _masked(message: Message, sheet: Sheet, names: Mapping[str, str]) -> Message:
    """Return a sentence whose values are numbers, times, and words of ours; cells of a log are not shown."""
    return replace(message, values={key: _value(value, sheet, names) for key, value in message.values.items()})


def _value(value: Any, sheet: Sheet, names: Mapping[str, str]) -> Any:
    if isinstance(value, Message):
        return _masked(value, sheet, names)
    if isinstance(value, Listed):
        return replace(value, items=tuple(_value(item, sheet, names) for item in value.items))
    if isinstance(value, numbers.Number | date | time | Written) or hasattr(value, "nominal_value"):
        return value
    text = str(value)
    if text in names:
        return names[text]
    is_ours = text == sheet.time_zone or _our_words().issuperset(_WORD.findall(text.casefold()))
    return value if is_ours else MASK


@functools.cache
def _our_words() -> frozenset[str]:
    """Return the words that a trial's files share with all others: columns, units, events, keys, signs of a clock."""

    def keys(section: type[Section]) -> Iterator[str]:
        for name, field in section.model_fields.items():
            yield name
            for inner in (field.annotation, *get_args(field.annotation)):
                if isinstance(inner, type) and issubclass(inner, Section):
                    yield from keys(inner)

    texts = [
        FILE_NAME,
        *COLUMNS,
        *(f"{column.unit} {column.default_unit}" for column in COLUMNS.values()),
        *KINDS_OF_EVENT,
        *ICE_WORDS,
        *units.EXAMPLES,
        *units.EXAMPLES.values(),
        *keys(Sheet),
        "am pm T Z UTC F C K h min s none",
    ]
    return frozenset(word for text in texts for word in _WORD.findall(text.casefold()))
