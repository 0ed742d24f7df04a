"""The words of a report: headline, limits, method, labels. No figure is computed and no digit is chosen here but by rounding."""

from __future__ import annotations

from reportgen import rounding
from reportgen.figures import Figure, Results
from reportgen.message import Message, say
from reportgen.trial import Trial

UNITS = {
    "degC": "°C",
    "1": "",
    "h/m^3": "h/m³",
    "kg/(m^3 d)": "kg/(m³ d)",
    "kg/kg": "kg/kg",
    "K/h": "K/h",
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
LEVELS = {"note": say("note"), "caution": say("caution"), "error": say("not used")}
KEY_FIGURES = (
    "gas_per_hour_as_read",
    "cooling_rate_mean",
    "ice_making_time",
    "energy_per_ice",
    "waste_to_ice",
    "cop_ice",
)
#: Words for the ways a figure can be known.
INTERVAL_KINDS = {
    "normal": say("95 % interval"),
    "simulated": say("95 % interval, from the fit"),
    "limits": say("between two looks"),
}


def unit(name: str) -> str:
    """Return a unit as people write it."""
    return UNITS.get(name, name)


def headline(results: Results) -> list[Message]:
    """Return the plain result in a few sentences, each with its range."""
    sentences = [_ice_sentence(results), _gas_sentence(results), _cabinet_sentence(results), _waste_sentence(results)]
    return [sentence for sentence in sentences if sentence is not None]


def _about(figure: Figure) -> dict[str, str]:
    assert figure.interval is not None
    value, low, high = rounding.about(figure.value, *figure.interval)
    return {"value": value, "low": low, "high": high}


def _ice_sentence(results: Results) -> Message | None:
    mass, time = results["ice_mass"], results["ice_making_time"]
    if mass.is_given and time.is_given:
        assert time.interval is not None
        low, high = rounding.interval(*time.interval)
        return say(
            "In this trial about {value} kg of ice ({mass_low} to {mass_high} kg) became solid between {low} h and "
            "{high} h after the burner was lit.",
            value=_about(mass)["value"],
            mass_low=_about(mass)["low"],
            mass_high=_about(mass)["high"],
            low=low,
            high=high,
        )
    if time.at_least is not None:
        frozen = say(" About {value} kg ({low} to {high} kg) had frozen.", **_about(mass)) if mass.is_given else say("")
        return say(
            "In this trial the ice was not yet solid {hours} h after the burner was lit.{frozen}",
            hours=time.at_least,
            frozen=frozen,
        )
    if time.at_most is not None:
        return say(
            "In this trial the ice was solid by the first look, {hours} h after the burner was lit.", hours=time.at_most
        )
    if mass.is_given:
        return say("In this trial about {value} kg of ice ({low} to {high} kg) was made.", **_about(mass))
    return say("This trial gives no ice-making time: {reason}.", reason=time.reason)


def _gas_sentence(results: Results) -> Message | None:
    used, rate, energy = results["gas_used_as_read"], results["gas_per_hour_as_read"], results["energy_per_ice"]
    if not used.is_given:
        return say("The gas used is not given: {reason}.", reason=used.reason)
    first = say("The burner drew about {value} L of gas as read ({low} to {high} L)", **_about(used))
    second = say(", about {value} L per hour ({low} to {high})", **_about(rate)) if rate.is_given else say("")
    third = (
        say("; that is about {value} MJ of heat per kilogram of ice ({low} to {high})", **_about(energy))
        if energy.is_given
        else say("")
    )
    return say("{first}{second}{third}.", first=first, second=second, third=third)


def _cabinet_sentence(results: Results) -> Message | None:
    start, lowest, zero = results["temperature_start"], results["temperature_lowest"], results["time_to_0"]
    if not start.is_given or not lowest.is_given:
        return None
    fell = say(
        "The cabinet went from about {start} °C to {lowest} °C at its lowest",
        start=_about(start)["value"],
        lowest=_about(lowest)["value"],
    )
    if zero.is_given:
        return say("{fell}; it reached 0 °C after about {value} h ({low} to {high}).", fell=fell, **_about(zero))
    return say("{fell}.", fell=fell)


def _waste_sentence(results: Results) -> Message | None:
    ratio = results["waste_to_ice"]
    if not ratio.is_given:
        return None
    return say(
        "Behind the gas for each kilogram of ice stand about {value} kg of fresh waste ({low} to {high}), by {method}.",
        method=ratio.method,
        **_about(ratio),
    )


def not_shown(trial: Trial, results: Results) -> list[Message]:
    """Return what the trial does not show."""
    limits = [
        say(
            "This is one trial of one appliance, at one site, on one day. Another trial may differ by more than the ranges given."
        ),
    ]
    methane = results["methane_fraction"]
    if results["energy_used"].is_given and methane.basis == "assumed":
        limits.append(
            say("How much heat the gas held is not shown: its methane content was not measured by a recorded method.")
        )
    if results["waste_to_ice"].is_given:
        limits.append(
            say(
                "The waste fed on the day did not make this gas. An unknown part of the gas came from earlier feeds and the "
                "starter slurry; no digester was run without feed to tell."
            )
        )
    if results["ice_making_capacity"].is_given and results["ice_making_capacity"].method:
        limits.append(
            say(
                "Ice per day is extrapolated from a first batch that includes the pull-down of a warm cabinet; it was not observed."
            )
        )
    if results["cop_ice"].is_given:
        limits.append(
            say(
                "The thermal COP on the ice counts only the heat taken from the water, not from the cabinet and what leaked in; it is not the COP of the machine."
            )
        )
    if results["ice_making_time"].is_given and not trial.sheet.water.end_point:
        limits.append(say("How the ice was judged solid is not recorded."))
    limits.append(say("No conformity with an appliance standard is claimed."))
    return limits


def method(trial: Trial, results: Results) -> list[Message]:
    """Return how the figures were found, only for what was used."""
    parts = [
        say(
            "Times run from the first lighting of the burner. Values between readings are interpolated along a straight line."
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
                "Gas as read is the sum of what left the holder, meter or flow line while the burner was lit. It is turned to "
                "standard dry gas (0 °C, 101.325 kPa) with its temperature, pressure and vapour. {vapour} Heat is the net "
                "heating value of the methane in it (ISO 6976).",
                vapour=vapour,
            )
        )
    if results["temperature_start"].is_given:
        parts.append(
            say(
                "A threshold counts as crossed at the first downward crossing that holds for five minutes. The mean cooling "
                "rate is the fall to 0 °C over the time it took; the fastest is a robust line over 15 minutes or more."
            )
        )
    if results["cooling_time_constant"].is_given:
        parts.append(
            say(
                "Delay, time constant and floor come from a first-order response with dead time fitted by least squares, with "
                "profile intervals that allow for noise that is alike from reading to reading."
            )
        )
    if results["ice_making_time"].is_given:
        parts.append(
            say(
                "The ice is known to have become solid only between two looks: the interval is those two times, the value "
                "their middle. Heat removed counts cooling the water, freezing it and cooling the ice (IAPWS-95 and R10-06)."
            )
        )
    if results["waste_for_run"].is_given:
        parts.append(
            say(
                "Waste behind the gas is the gas used over the gas yield of the fresh waste ({method}); feed of the day is "
                "never set against ice of the day.",
                method=results["waste_for_run"].method,
            )
        )
    parts.append(
        say(
            "Uncertainties are combined as the Guide to the Expression of Uncertainty in Measurement (JCGM 100) says, errors "
            "that figures share are kept as shared. Intervals are at 95 %."
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
    if results["heat_removed"].is_given:
        keys += ["iapws-95", "iapws-ice"]
    if results["cop_reversible"].is_given:
        keys.append("absorption-limit")
    if results["waste_for_run"].is_given or results["gas_yield_model"].is_given:
        keys.append("first-order-digestion")
    if results["theoretical_methane_yield"].is_given:
        keys += ["buswell-mueller", "boyle"]
    return [*keys, "jcgm-100"]
