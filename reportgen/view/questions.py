"""Questions for a class, with answers from this trial's data. A figure that the trial lacks makes no question."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from reportgen import rounding, wording
from reportgen.claims import THRESHOLDS, compare
from reportgen.figures import Figure, Results, error_sources
from reportgen.message import Message, listed, say
from reportgen.trial import Trial
from reportgen.view.followed import followed

#: More questions than these are more than a lesson (ours).
MOST_QUESTIONS = 10


@dataclass(frozen=True)
class QuestionView:
    """A question, its answer in words, and its working as lines on a board (none for a question of understanding)."""

    question: str
    answer: str
    lines: tuple[str, ...] = ()


def questions(trial: Trial, results: Results) -> tuple[QuestionView, ...]:
    """Return the questions that this trial's data can answer, in the order of the chain."""
    found = [view for ask in ASKED for view in ask(trial, results)]
    return tuple(found[:MOST_QUESTIONS])


def _given(results: Results, *keys: str) -> list[Figure] | None:
    """Return the figures of these keys, or None where one of them is not given."""
    figures = [results[key] for key in keys]
    return figures if all(figure.is_given for figure in figures) else None


def _worked(
    question: Message, figure: Figure, working: Message, unit: str, more: Message | None = None
) -> QuestionView:
    """Return a question that the working of a figure answers."""
    parts = wording.about(figure)
    value = say("{value} {unit}", value=parts["value"], unit=unit) if unit else parts["value"]
    answer = say("About {value}; the 95 % interval is {low} to {high}.", **(parts | {"value": value}))
    if more is not None:
        answer = say("{answer} {more}", answer=answer, more=more)
    return QuestionView(str(question), str(answer), tuple(str(working).split(" = ")))


def _gas_rate(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "gas_used_as_read", "burning_time", "gas_per_hour_as_read"):
        rate = figures[-1]
        working = followed(rate)
        question = say(
            "The burner drew {gas} L of gas, as read, in {time} h. How much is that in an hour?",
            gas=working.values["v"],
            time=working.values["t"],
        )
        yield _worked(question, rate, working, "L/h")


def _cubic_metre(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "gas_per_hour_as_read", "hours_per_cubic_metre_as_read"):
        hours = figures[-1]
        working = followed(hours)
        rate = working.values["rate"]
        question = say("At {rate} L an hour, how long does one cubic metre (1000 L) last?", rate=rate)
        yield _worked(question, hours, working, "h")


def _heat(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "gas_used", "methane_fraction", "energy_used"):
        energy = figures[-1]
        working = followed(energy)
        question = say(
            "Standard dry, the gas burnt was {gas} L, and a share of {methane} of it was methane. A cubic metre of "
            "methane gives {value} MJ. How much heat did the flame give off?",
            gas=working.values["v"],
            methane=working.values["x"],
            value=working.values["h"],
        )
        yield _worked(question, energy, working, "MJ")


def _power(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "energy_used", "burning_time", "burner_power"):
        power = figures[-1]
        working = followed(power)
        question = say(
            "The flame gave off {energy} MJ in {time} h. What was its mean power in watts (joules in a second)?",
            energy=working.values["e"],
            time=working.values["t"],
        )
        yield _worked(question, power, working, "W")


def _cooling(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "temperature_start", "time_to_0", "cooling_rate_mean"):
        rate = figures[-1]
        if rate.method and "lowest" in rate.method:
            return
        working = followed(rate)
        question = say(
            "The cabinet fell from {start} °C to 0 °C in {time} h. How fast did it cool, on average?",
            start=working.values["t"],
            time=working.values["h"],
        )
        more = say("A difference of one kelvin is one of one degree Celsius.")
        yield _worked(question, rate, working, "K/h", more)


def _heat_of_ice(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "water_mass", "heat_removed"):
        heat = figures[-1]
        working = followed(heat)
        question = say(
            "How much heat had to leave the {mass} kg of water, and which of its steps took the most?",
            mass=working.values["m"],
        )
        more = say("Freezing took the most: see the kilojoules of each kilogram.")
        yield _worked(question, heat, working, "kJ", more)


def _share(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "heat_removed", "energy_used", "cop_ice"):
        share = figures[-1]
        working = followed(share)
        question = say(
            "The flame gave off {energy} MJ, and {heat} kJ left the water. What share is that? Where did the rest of "
            "the flame's heat go?",
            energy=working.values["e"],
            heat=working.values["q"],
        )
        more = say(
            "Heat is not lost: that of the flame left by the flue and, with the heat from the water, at the back of "
            "the appliance. Some cold went into the cabinet and made up for what leaked in."
        )
        yield _worked(question, share, working, "", more)


def _waste(_: Trial, results: Results) -> Iterator[QuestionView]:
    if figures := _given(results, "waste_for_run", "ice_mass", "waste_to_ice"):
        ratio = figures[-1]
        working = followed(ratio)
        question = say(
            "Behind the gas of this run stood {waste} kg of fresh waste, and {ice} kg of ice were made. How much "
            "waste stood behind one kilogram of ice?",
            waste=working.values["w"],
            ice=working.values["m"],
        )
        yield _worked(question, ratio, working, "kg")


def _between_looks(_: Trial, results: Results) -> Iterator[QuestionView]:
    time = results["ice_making_time"]
    if time.is_given and time.interval is not None and time.interval_kind == "limits":
        low, high = rounding.time_span(*time.interval)
        yield QuestionView(
            str(
                say(
                    "The ice is said to have become solid {low} to {high} after lighting. Why is there no single time?",
                    low=low,
                    high=high,
                )
            ),
            str(
                say(
                    "Somebody looked at {low} and it was not solid, and at {high} it was. When it happened in between "
                    "nobody saw. Looking more often near the end would make the range smaller.",
                    low=low,
                    high=high,
                )
            ),
        )
    elif time.at_least is not None:
        last = rounding.duration(time.at_least)
        yield QuestionView(
            str(say("The ice was not yet solid at the last look, {time} after lighting. What can be said?", time=last)),
            str(
                say(
                    "Only that it takes longer than {time}. How much longer nobody knows, so no ice-making time is "
                    "given.",
                    time=last,
                )
            ),
        )


def _threshold(_: Trial, results: Results) -> Iterator[QuestionView]:
    lowest = results["temperature_lowest"]
    if not lowest.is_given:
        return
    threshold = min((each for each, _ in THRESHOLDS), key=lambda each: abs(each - lowest.value))
    parts = wording.about(lowest)
    answers = {
        "below": say("Yes: even the upper end of its range, {high} °C, is colder than that.", **parts),
        "above": say("No: even the lower end of its range, {low} °C, is warmer than that.", **parts),
        "open": say("No: its range from {low} to {high} °C lies on both sides, so nobody can tell.", **parts),
    }
    question = say(
        "At its lowest the cabinet read {value} °C; with the error of the thermometer that means {low} to {high} °C. "
        "May we write that it was colder than {threshold} °C?",
        threshold=rounding.plain(threshold),
        **parts,
    )
    yield QuestionView(str(question), str(answers[compare(lowest, threshold)]))


def _same_day(trial: Trial, results: Results) -> Iterator[QuestionView]:
    if trial.feeds and results["gas_used_as_read"].is_given:
        yield QuestionView(
            str(say("Why may we not divide the ice of the day by the waste that was fed on the same day?")),
            str(
                say(
                    "The gas of that day came from the feeds of the weeks before; most of the gas of that day's feed "
                    "came only later. The two have hardly anything to do with each other."
                )
            ),
        )


def _assumed(_: Trial, results: Results) -> Iterator[QuestionView]:
    names = [effect.assumption.name for effect in results.assumptions if effect.assumption.of_value]
    if names:
        yield QuestionView(
            str(say("Which things were taken in this trial, and not measured? What would you measure next time?")),
            str(
                say(
                    "Taken were: {names}. Each of them can be measured or written down.",
                    names=listed(map(error_sources.said, names)),
                )
            ),
        )


#: In the order in which they are asked.
ASKED: tuple[Callable[[Trial, Results], Iterator[QuestionView]], ...] = (
    _gas_rate,
    _heat,
    _power,
    _cooling,
    _heat_of_ice,
    _share,
    _waste,
    _between_looks,
    _threshold,
    _same_day,
    _assumed,
    _cubic_metre,
)
