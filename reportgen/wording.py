"""The words of a report: headline, limits, method, labels. No figure is computed here."""

from __future__ import annotations

import datetime as dt
import math
from itertools import pairwise

from reportgen import rounding
from reportgen.figures import Figure, Results
from reportgen.message import NOTHING, Message, say, say_counted
from reportgen.trial import Trial, wall_clock

UNITS = {
    "degC": "°C",
    "1": "",
    "h/m^3": "h/m³",
    "kg/(m^3 d)": "kg/(m³ d)",
}
#: For the standard uncertainty of a temperature: a difference is in kelvin.
DIFFERENCE_UNITS = {"degC": "K"}
BASIS = {
    "measured": say("measured"),
    "derived": say("calculated"),
    "assumed": say("rests on an assumption"),
    "not given": say("not given"),
}
GROUPS = {
    "run": say("The run"),
    "gas": say("Gas and heat"),
    "cabinet": say("The cabinet"),
    "ice": say("Water and ice"),
    "chain": say("From gas to ice"),
    "waste": say("Waste and digester"),
}
#: Over the sentences of each grade of `claims`.
GRADES = {
    "supported": say("Sentences this trial supports"),
    "indicated": say("Sentences it only indicates"),
    "not shown": say("What it does not show"),
}
#: How a source is known to us.
KNOWN = {
    "read": say("read"),
    "computed": say("computed"),
    "from memory": say("from memory"),
    "ours": say("ours"),
    "common practice, no source": say("common practice, no source"),
}
OUTCOMES = {"completed": say("completed"), "aborted": say("aborted")}
LEVELS = {"note": say("note"), "caution": say("caution"), "error": say("not used")}
KEY_FIGURES = (
    "gas_per_hour_as_read",
    "cooling_rate_mean",
    "ice_making_time",
    "energy_per_ice",
    "waste_to_ice",
    "cop_ice",
)
#: What is said beside an interval that is no normal one.
INTERVAL_REMARKS = {
    "normal": NOTHING,
    "simulated": say("from a fit or a simulation"),
    "limits": say("between two looks"),
}
#: How a figure was found, in plain words, by the name that the results file has for it.
METHODS = {
    "yield from totals at steady feeding": say(
        "with all the gas over all the waste of the logs, as feeding was steady"
    ),
    "yield from a first-order model of the feed log": say(
        "with a model of the digester fitted to the feed and gas logs"
    ),
    "yield as stated": say("with the gas yield of the waste that trial.toml states"),
    "totals over the log": say("all of it over the whole log"),
    "first-order model of the feed log": say("a model of the digester fitted to the feed and gas logs"),
    "start to 0 °C": say("from the start to 0 °C"),
    "start to the lowest reading": say("from the start to the lowest reading"),
    "between two readings": say("between two readings"),
    "Plank's equation with all the heat given up": say("Plank's equation with all the heat given up"),
    "extrapolated first batch": say("reckoned from this one batch, not observed over a day"),
}
#: Words that a reader of the figures may not know.
HOW_TO_READ = (
    (
        say("as read"),
        say("the gas at the temperature and pressure that it had in the holder or meter, water vapour included"),
    ),
    (
        say("standard dry"),
        say("the same gas turned to 0 °C and 101.325 kPa without water vapour, so that sites can be compared"),
    ),
    (
        say("standard uncertainty"),
        say(
            "how far off the value may well be: about two times in three it is closer than this. It is printed with "
            "two digits where the first of them is 1 or 2, else with one; value and interval have as many decimals"
        ),
    ),
    (
        say("95 % interval"),
        say("where the true value is nineteen times in twenty, if nothing unknown went wrong"),
    ),
    (
        say("thermal COP on the ice"),
        say("heat taken from the water over heat of the gas burnt: 0.05 is one part of cold from twenty of heat"),
    ),
    (say("basis"), say("how a figure is known: measured, calculated, or resting on an assumption")),
)


def unit(name: str) -> str:
    """Return a unit as people write it."""
    return UNITS.get(name, name)


def plain_method(figure: Figure) -> Message:
    """Return how a figure was found, in plain words."""
    return METHODS.get(figure.method or "", say("{method}", method=figure.method or ""))


def clock(trial: Trial, *moments: float) -> Message:
    """Return the wall clock at one moment [s] or from one to another, to the minute.

    The day is named where it is not that of the lighting. Empty where the logs only count from the lighting.
    """
    if trial.lit_at is None or not trial.clocked:
        return NOTHING
    lit, *times = (wall_clock(60 * math.floor(at / 60 + 0.5), trial.zone) for at in (trial.lit_at, *moments))
    days = [(time.date() - lit.date()).days for time in times]
    said = [
        say("{time}{day}", time=f"{time:%H:%M}", day=_day(trial, time, day) if day and day != following else NOTHING)
        for time, day, following in zip(times, days, [*days[1:], 0], strict=True)
    ]
    if len({str(text) for text in said}) == 1:
        return said[0]
    return say("{first} to {last}", first=said[0], last=said[-1])


def _day(trial: Trial, moment: dt.datetime, days: int) -> Message:
    if trial.dated:
        return say(" on {date}", date=moment.date())
    return say_counted(days, " the next day", " after {n} days")


def _clock_after(trial: Trial, *hours: float) -> Message:
    """Return the wall clock so many hours after lighting, in brackets after a space; empty where it is not known."""
    if trial.lit_at is None:
        return NOTHING
    return _in_brackets(clock(trial, *(trial.lit_at + 3600 * each for each in hours)))


def _in_brackets(time: Message) -> Message:
    return say(" ({time})", time=time) if str(time) else time


def headline(trial: Trial, results: Results) -> list[Message]:
    """Return the plain result in a few sentences, each with its range."""
    sentences = [
        _ice_sentence(trial, results),
        _pause_sentence(trial),
        _gas_sentence(results),
        _cabinet_sentence(trial, results),
        _waste_sentence(results),
    ]
    return [sentence for sentence in sentences if sentence is not None]


def about(figure: Figure) -> dict[str, str]:
    """Return the value and the ends of the range of a figure that is given, short: by ``value``, ``low``, ``high``."""
    assert figure.interval is not None
    value, low, high = rounding.about(figure.value, *figure.interval)
    return {"value": value, "low": low, "high": high}


def _ice_sentence(trial: Trial, results: Results) -> Message:
    mass, time = results["ice_mass"], results["ice_making_time"]
    ice = say("about {value} kg of ice ({low} to {high} kg)", **about(mass)) if mass.is_given else say("the ice")
    rest = say(".") if mass.is_given else say("; its mass is not known: {why}", why=_why(mass))
    if time.is_given:
        assert time.interval is not None
        low, high = rounding.time_span(*time.interval)
        return say(
            "In this trial {ice} became solid between {low} and {high} after the burner was lit{clock}{rest}",
            ice=ice,
            low=low,
            high=high,
            clock=_clock_after(trial, *time.interval),
            rest=rest,
        )
    if time.at_least is not None:
        frozen = say(" About {value} kg ({low} to {high} kg) had frozen.", **about(mass)) if mass.is_given else NOTHING
        return say(
            "In this trial the ice was not yet solid {hours} after the burner was lit{clock}.{frozen}",
            hours=rounding.duration(time.at_least),
            clock=_clock_after(trial, time.at_least),
            frozen=frozen,
        )
    if time.at_most is not None:
        return say(
            "In this trial {ice} was solid by the first look, {hours} after the burner was lit{clock}{rest}",
            ice=ice,
            hours=rounding.duration(time.at_most),
            clock=_clock_after(trial, time.at_most),
            rest=rest,
        )
    if mass.is_given:
        return say("In this trial {ice} was made; when it became solid is not known: {why}", ice=ice, why=_why(time))
    return say("This trial gives no ice-making time: {why}", why=_why(time))


def _pause_sentence(trial: Trial) -> Message | None:
    """Return how long the burner was out during the run, where it was lit again; None where it never was."""
    pauses = [(out, lit) for (_, out), (lit, _) in pairwise(trial.burning) if lit - out >= 30]
    if not pauses:
        return None
    return say_counted(
        len(pauses),
        "The burner was out for {time} in between{clock}, and was lit again.",
        "The burner was out {n} times in between, for {time} in all, and was lit again each time.",
        time=rounding.duration(sum(lit - out for out, lit in pauses) / 3600),
        clock=_in_brackets(clock(trial, *pauses[0])),
    )


def _why(figure: Figure) -> Message:
    """Return why a figure is not given, as the end of a sentence."""
    reason = figure.reason or say("the logs do not support it")
    return reason if str(reason).endswith("?") else say("{reason}.", reason=reason)


def _gas_sentence(results: Results) -> Message:
    used, rate, energy = results["gas_used_as_read"], results["gas_per_hour_as_read"], results["energy_per_ice"]
    if not used.is_given:
        return say("The gas used is not given: {why}", why=_why(used))
    first = say("The burner drew about {value} L of gas as read ({low} to {high} L)", **about(used))
    second = say(", about {value} L per hour ({low} to {high})", **about(rate)) if rate.is_given else NOTHING
    third = (
        say("; that is about {value} MJ of heat per kilogram of ice ({low} to {high})", **about(energy))
        if energy.is_given
        else NOTHING
    )
    return say("{first}{second}{third}.", first=first, second=second, third=third)


def _cabinet_sentence(trial: Trial, results: Results) -> Message | None:
    start, lowest, zero = results["temperature_start"], results["temperature_lowest"], results["time_to_0"]
    if not start.is_given or not lowest.is_given:
        return None
    fell = say(
        "The cabinet went from about {start} °C to {lowest} °C, the lowest median of three readings",
        start=about(start)["value"],
        lowest=about(lowest)["value"],
    )
    if zero.is_given:
        time = clock(trial, trial.lit_at + 3600 * zero.value) if trial.lit_at is not None else NOTHING
        return say(
            "{fell}; it reached 0 °C after about {value} h ({low} to {high} h){clock}.",
            fell=fell,
            clock=say(", at about {time}", time=time) if str(time) else time,
            **about(zero),
        )
    return say("{fell}.", fell=fell)


def _waste_sentence(results: Results) -> Message | None:
    ratio = results["waste_to_ice"]
    if not ratio.is_given:
        return None
    return say(
        "Behind the gas for each kilogram of ice stand about {value} kg of fresh waste ({low} to {high}), reckoned "
        "{method}.",
        method=plain_method(ratio),
        **about(ratio),
    )


def method(trial: Trial, results: Results) -> list[Message]:
    """Return how the figures were found, only for what was used."""
    parts = [
        say(
            "Times run from the first lighting of the burner. Values between readings are interpolated along a "
            "straight line."
        )
    ]
    if results["gas_used"].is_given:
        vapour = (
            say("The gas was dried before it was measured.")
            if trial.sheet.gas.dry
            else say("The gas is taken as saturated with water vapour (IAPWS-IF97).")
        )
        parts.append(
            say(
                "Gas as read is the sum of what left the holder, meter or flow line while the burner was lit. It is "
                "turned to standard dry gas (0 °C, 101.325 kPa) with its temperature, pressure and vapour. {vapour} "
                "Heat is the net heating value of the methane in it (ISO 6976).",
                vapour=vapour,
            )
        )
    if results["temperature_start"].is_given:
        parts.append(
            say(
                "A threshold counts as crossed at the first downward crossing that holds for five minutes. The mean "
                "cooling rate is the fall to 0 °C over the time it took; the fastest is a robust line over 15 minutes "
                "or more."
            )
        )
    if results["cooling_time_constant"].is_given:
        parts.append(
            say(
                "Delay, time constant and floor come from a first-order response with dead time fitted by least "
                "squares, with profile intervals that allow for noise that is alike from reading to reading."
            )
        )
    if results["ice_making_time"].is_given:
        parts.append(
            say(
                "The ice is known to have become solid only between two looks: the interval is those two times, the "
                "value their middle. Heat removed counts cooling the water, freezing it and cooling the ice (IAPWS-95 "
                "and R10-06)."
            )
        )
    if results["waste_for_run"].is_given:
        parts.append(
            say(
                "Waste behind the gas is the gas used over the gas yield of the fresh waste ({method}); feed of the "
                "day is never set against ice of the day.",
                method=plain_method(results["waste_for_run"]),
            )
        )
    parts.append(
        say(
            "Uncertainties are combined as the Guide to the Expression of Uncertainty in Measurement (JCGM 100) "
            "says; errors that figures share are kept as shared. Intervals are at 95 %."
        )
    )
    return parts


def sources_used(trial: Trial, results: Results) -> list[str]:
    """Return the keys of the published sources that the figures given rest on."""
    keys = []
    if results["gas_used"].is_given:
        keys += ["normal-conditions", *(() if trial.sheet.gas.dry else ("iapws-if97",))]
        if results.gas_state.atmospheric.basis == "derived":
            keys.append("iso-2533")
    if results["energy_used"].is_given:
        keys.append("iso-6976")
    if results["methane_fraction"].basis == "assumed":
        keys.append("methane-content")
    if any(results[key].is_given for key in ("time_to_minus_6", "time_to_minus_12", "time_to_minus_18")):
        keys.append("star-temperatures")
    if results["heat_removed"].is_given:
        keys += ["iapws-95", "iapws-ice"]
    if results["cop_reversible"].is_given:
        keys.append("absorption-limit")
    if results["waste_for_run"].is_given or results["gas_yield_model"].is_given:
        keys.append("first-order-digestion")
    if results["theoretical_methane_yield"].is_given:
        keys += ["buswell-mueller", "boyle"]
    return [*keys, "jcgm-100"]
