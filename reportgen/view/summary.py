"""A trial in one line that fits the shortest kind of message, and on one plain page."""

from __future__ import annotations

from collections.abc import Iterator

from reportgen import wording
from reportgen.figures import Results
from reportgen.message import Message, Written, listed, say
from reportgen.safety import SafetyNote, needs_top_warning
from reportgen.trial import Trial
from reportgen.view import facts

#: Signs that the shortest kind of message holds.
LONGEST = 160
#: The title gives way first, but not beyond so many signs of it.
SHORTEST_TITLE = 24


def one_line(trial: Trial, results: Results, notes: tuple[SafetyNote, ...]) -> str:
    """Return what came out of a trial in `LONGEST` signs at most; what matters less is left out where it does not fit.

    A danger comes first, then the ice, the gas and the cabinet; each with its range.
    """
    title, day = " ".join(trial.sheet.title.split()), facts.date(trial)
    parts = [str(part) for part in _parts(trial, results)]
    stop = say("STOP: see its safety notes.")
    danger = f"{stop} " if needs_top_warning(notes) else ""
    while True:
        told = str(listed(parts))
        line = danger + str(say("{title}, {day}: {told}.", title=title, day=day, told=told))
        if not day:
            line = danger + str(say("{title}: {told}.", title=title, told=told))
        over = len(line) - LONGEST
        if over <= 0:
            return line
        if len(title) - over - 1 >= SHORTEST_TITLE or len(parts) == 1:
            title = title[: max(len(title) - over - 1, 1)].rstrip() + "…"
        else:
            parts.pop()


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
