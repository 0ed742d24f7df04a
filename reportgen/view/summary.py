"""A trial in one line that fits the shortest kind of message, and on one plain page."""

from __future__ import annotations

import re
from collections.abc import Iterator

from reportgen import speech, wording
from reportgen.beside import UNITS_SAID
from reportgen.figures import Results
from reportgen.message import Message, Written, listed, say
from reportgen.safety import SafetyNote, needs_top_warning
from reportgen.trial import Trial
from reportgen.view import facts
from reportgen.view.short_message import LONGEST, LONGEST_OF_ANY_SCRIPT, can_be_spelt, places, spelt

#: The title gives way first, but not beyond so many signs of it.
SHORTEST_TITLE = 24
#: An amount that would fall apart between words from right to left.
_AMOUNT = re.compile(rf"−?\d[\d.,]* (?:{UNITS_SAID})(?!\w)|−\d[\d.,]*")
_DIRECTION_SIGNS = str.maketrans("", "", speech.ISOLATE + speech.END_ISOLATE + speech.LEFT_TO_RIGHT)


def one_line(trial: Trial, results: Results, notes: tuple[SafetyNote, ...]) -> str:
    """Return what came out of a trial in one message of a telephone; what matters less is left out if it does not fit.

    In languages of Latin letters the line is spelt in the smallest alphabet, of which a message holds
    `short_message.LONGEST`; in others, of which it holds less than half, it takes two parts,
    `short_message.LONGEST_OF_ANY_SCRIPT`. A danger comes first, then the ice, the gas and the cabinet.
    """
    day = facts.date(trial)
    parts = [str(part) for part in _parts(trial, results)]
    stop = str(say("STOP: see its safety notes.")) if needs_top_warning(notes) else ""
    is_latin = can_be_spelt(" ".join((stop, day, *parts)))
    longest, cut = (LONGEST, "...") if is_latin else (LONGEST_OF_ANY_SCRIPT, "…")
    title = whole = _name(trial, is_latin)
    while True:
        told = str(listed(parts))
        line = say("{title}, {day}: {told}.", title=title, day=day, told=told)
        if not day:
            line = say("{title}: {told}.", title=title, told=told)
        text = " ".join(filter(None, (stop, str(line))))
        text = spelt(text.replace(" °", " ")) if is_latin else _held(text, title)
        over = places(text) - longest
        shown = len(title.removesuffix(cut))
        # Some signs take two places, so that fewer of them than are over may have to go.
        kept = max(shown - over - (len(cut) if title == whole else 0), shown // 2)
        if over <= 0 or (kept < 1 and len(parts) == 1):
            return text
        if kept >= SHORTEST_TITLE or len(parts) == 1:
            title = whole[:kept].rstrip() + cut
        else:
            parts.pop()


def _name(trial: Trial, is_latin: bool) -> str:
    """Return the title, or where its letters are of another script the id or the name of the folder."""
    names = (" ".join(name.split()) for name in (trial.sheet.title, trial.sheet.id, trial.folder))
    if not is_latin:
        return next(filter(None, names))
    return next(filter(None, (spelt(name).strip() for name in names if can_be_spelt(name))), spelt(str(say("Trial"))))


def _held(text: str, title: str) -> str:
    """Return a line from right to left with as few signs of direction as it needs, for each takes a place."""
    if not speech.current().is_right_to_left:
        return text
    head, _, rest = text.translate(_DIRECTION_SIGNS).partition(title)
    rest = _AMOUNT.sub(rf"{speech.LEFT_TO_RIGHT}\g<0>{speech.END_ISOLATE}", rest)
    return f"{head}{speech.ISOLATE}{title}{speech.END_ISOLATE}{rest}"


def _parts(trial: Trial, results: Results) -> Iterator[Message]:
    time, mass, gas, lowest = (
        results[key] for key in ("ice_making_time", "ice_mass", "gas_used_as_read", "temperature_lowest")
    )
    if trial.sheet.outcome == "aborted":
        burnt = results["burning_time"]
        yield (
            say("aborted after {hours} h of burning", hours=Written(burnt.value, 1))
            if burnt.is_given
            else say("aborted")
        )
    if mass.is_given and time.is_given:
        ice = wording.about(time)
        yield say("{value} kg of ice, solid after {low} to {high} h", value=wording.about(mass)["value"], **_ends(ice))
    elif time.at_least is not None:
        yield say("ice not solid when last seen, after {hours} h", hours=time.at_least)
    elif mass.is_given:
        yield say("{value} kg of ice ({low} to {high})", **wording.about(mass))
    else:
        yield say("no ice-making time")
    if gas.is_given:
        yield say("{value} L of gas as read ({low} to {high})", **wording.about(gas))
    if lowest.is_given:
        yield say("cabinet down to {value} °C", value=wording.about(lowest)["value"])


def _ends(about: dict[str, str]) -> dict[str, str]:
    return {"low": about["low"], "high": about["high"]}
