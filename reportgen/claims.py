"""What may be said of a trial: sentences it supports, sentences it only indicates, sentences it does not show.

Each with its reason. The rules look at how a figure is known and how wide its range is, never at how good it looks.
"""

from __future__ import annotations

from dataclasses import dataclass

from reportgen import rounding, wording
from reportgen.catalogue import KINDS
from reportgen.checklist import first_cause
from reportgen.figures import Figure, Results, error_sources
from reportgen.figures.figure import ASSUMED, LIMITS, MEASURED
from reportgen.figures.reference import Comparison
from reportgen.message import COMMA, Message, listed, say
from reportgen.trial import Trial

SUPPORTED, INDICATED, NOT_SHOWN = "supported", "indicated", "not shown"
#: From the strongest to the weakest: of two grades that bear on one sentence the later one counts.
GRADES = (SUPPORTED, INDICATED, NOT_SHOWN)
#: A 95 % interval that reaches further to one side than this share of the value only indicates it (ours).
WIDE = 0.25
#: Freezing temperatures that a cabinet is said to have reached, coldest first [degC], and the figure that times each.
THRESHOLDS = (
    (-18.0, "time_to_minus_18"),
    (-12.0, "time_to_minus_12"),
    (-6.0, "time_to_minus_6"),
    (0.0, "time_to_0"),
)
#: Methods that reach beyond what was observed.
EXTRAPOLATED = ("extrapolated first batch",)


@dataclass(frozen=True)
class Claim:
    """A sentence about a trial, how far the trial bears it out, and why so."""

    grade: str
    sentence: Message
    reason: Message


def claims(trial: Trial, results: Results) -> tuple[Claim, ...]:
    """Return the claims of a trial, the strongest grade first."""
    found = [
        *_ice(trial, results),
        *_cold(results),
        *_amounts(results),
        *_compared(results.comparisons),
        *_never(trial, results),
    ]
    # The sort keeps the order above among equal grades.
    return tuple(sorted(found, key=lambda claim: GRADES.index(claim.grade)))


def relative_half_width(figure: Figure) -> float:
    """Return how far the 95 % interval of a figure reaches to its wider side, over the value; infinite about nought."""
    assert figure.interval is not None
    low, high = figure.interval
    reach = max(high - figure.value, figure.value - low)
    return reach / abs(figure.value) if figure.value else float("inf")


def grade(figure: Figure) -> tuple[str, Message]:
    """Return how far a figure is borne out, and why; one that is not given shows nothing."""
    if not figure.is_given:
        return NOT_SHOWN, first_cause(figure)
    if figure.basis == ASSUMED:
        names = [assumption.name for assumption in figure.assumptions if assumption.of_value]
        return INDICATED, (
            say("it rests on what nobody recorded: {names}", names=listed(map(error_sources.said, names), COMMA))
            if names
            else say("it rests on an assumption")
        )
    if figure.method in EXTRAPOLATED:
        return INDICATED, say("it is reckoned from one batch of less than a day; a day of it was not observed")
    width = relative_half_width(figure)
    if width > WIDE:
        return INDICATED, say(
            "its range reaches {percent} % of the value to one side, more than {limit} %",
            percent=rounding.plain(100 * width, 2),
            limit=rounding.plain(100 * WIDE, 2),
        )
    if figure.interval_kind == LIMITS:
        return SUPPORTED, say("seen between two looks, {percent} % to either side", percent=_percent(width))
    if figure.basis == MEASURED:
        return SUPPORTED, say("measured, within {percent} % with 95 % confidence", percent=_percent(width))
    return SUPPORTED, say(
        "calculated from what was measured, within {percent} % with 95 % confidence", percent=_percent(width)
    )


def _percent(share: float) -> str:
    return rounding.plain(100 * share, 2)


def compare(figure: Figure, with_value: float) -> str:
    """Return on which side of a value a figure lies: ``below``, ``above``, or ``open`` where its interval spans it."""
    assert figure.interval is not None
    low, high = figure.interval
    if high < with_value:
        return "below"
    return "above" if low > with_value else "open"


def _worst(*grades: tuple[str, Message]) -> tuple[str, Message]:
    return max(grades, key=lambda each: GRADES.index(each[0]))


def _ice(trial: Trial, results: Results) -> list[Claim]:
    time, mass = results["ice_making_time"], results["ice_mass"]
    if not time.is_given:
        if time.at_least is not None:
            seen = say(
                "it was not yet solid at the last look, {time} after lighting", time=rounding.duration(time.at_least)
            )
        else:
            seen = first_cause(time)
        return [Claim(NOT_SHOWN, say("How long this set-up takes to freeze this much water through."), seen)]
    assert time.interval is not None
    low, high = rounding.time_span(*time.interval)
    ended = (
        (SUPPORTED, say("how solid was judged is recorded"))
        if trial.sheet.water.end_point
        else (INDICATED, say("how the ice was judged to be solid is not recorded"))
    )
    # That the ice was made is not in doubt where only its mass is assumed or open.
    weighed = grade(mass) if mass.is_given else (SUPPORTED, say("no mass is claimed"))
    ice = say("about {value} kg of ice", value=wording.about(mass)["value"]) if mass.is_given else say("the ice")
    verdict, reason = _worst(grade(time), weighed, ended)
    sentence = say(
        "In this trial {ice} was solid {low} to {high} after the burner was lit.", ice=ice, low=low, high=high
    )
    return [Claim(verdict, sentence, reason)]


def _cold(results: Results) -> list[Claim]:
    """Return the coldest threshold that the cabinet reached, and the next one that its range leaves open."""
    lowest = results["temperature_lowest"]
    if not lowest.is_given:
        return [Claim(NOT_SHOWN, say("How cold the cabinet became."), first_cause(lowest))]
    found: list[Claim] = []
    for threshold, key in THRESHOLDS:
        side = compare(lowest, threshold)
        written = rounding.plain(threshold)
        if side == "open":
            found.append(
                Claim(
                    NOT_SHOWN,
                    say("That the cabinet reached {threshold} °C.", threshold=written),
                    say(
                        "its lowest temperature lies between {low} and {high} °C, on either side of it",
                        **_ends(lowest),
                    ),
                )
            )
        elif side == "below":
            held = results[key].is_given
            sentence = say("In this trial the air where the thermometer hung was colder than {t} °C.", t=written)
            reason = say("measured: at the lowest {low} to {high} °C", **_ends(lowest))
            if not held:
                reason = say(
                    "it was so only for a moment, or was so before lighting: {why}", why=first_cause(results[key])
                )
            found.append(Claim(SUPPORTED if held else INDICATED, sentence, reason))
            return found
    if not found:
        found.append(
            Claim(
                NOT_SHOWN,
                say("That the cabinet reached 0 °C."),
                say("its lowest temperature lies between {low} and {high} °C", **_ends(lowest)),
            )
        )
    return found


def _ends(figure: Figure) -> dict[str, str]:
    parts = wording.about(figure)
    return {"low": parts["low"], "high": parts["high"]}


def _amounts(results: Results) -> list[Claim]:
    """Return a claim for each amount that people quote."""
    sentences = {
        "gas_per_hour_as_read": say(
            "In this trial the burner drew {value} L of gas an hour, as read ({low} to {high})."
        ),
        "energy_per_ice": say(
            "In this trial a kilogram of ice took {value} MJ of heat from the gas ({low} to {high})."
        ),
        "waste_to_ice": say(
            "Behind the gas for a kilogram of this ice stood {value} kg of fresh waste ({low} to {high})."
        ),
        "ice_making_capacity": say(
            "With gas enough for it, this refrigerator could make {value} kg of ice in a day ({low} to {high})."
        ),
    }
    found = []
    for key, sentence in sentences.items():
        figure = results[key]
        verdict, reason = grade(figure)
        is_given = figure.is_given
        said = sentence.filled(**wording.about(figure)) if is_given else say("{label}.", label=KINDS[key].label)
        found.append(Claim(verdict, said, reason))
    return found


def _compared(comparisons: tuple[Comparison, ...]) -> list[Claim]:
    """Return what the trial says beside a reference run: two single runs at most indicate a difference."""
    found = []
    for comparison in comparisons:
        label = KINDS[comparison.key].label
        difference = comparison.here.value - comparison.reference.value
        if not comparison.differs:
            sentence = say("That this run and the reference run differ in: {label}.", label=label)
            found.append(Claim(NOT_SHOWN, sentence, say("the range of the difference spans nought")))
            continue
        sentence = (
            say("This run had the higher figure of the two for: {label}.", label=label)
            if difference > 0
            else say("This run had the lower figure of the two for: {label}.", label=label)
        )
        found.append(Claim(INDICATED, sentence, say("one run of each heat source; neither was repeated")))
    return found


def _never(trial: Trial, results: Results) -> list[Claim]:
    """Return what no single trial shows, and what this one leaves open by the way it was run."""
    one = [
        (
            say("That the next trial comes out alike."),
            say("one trial was run; another may differ by more than the ranges given"),
        ),
        (say("What another appliance, another site or another season gives."), say("one appliance, one site, one day")),
        (say("What a household has in a year."), say("a day was observed, no year of feeding, cooking and weather")),
        (
            say("That it meets a standard for appliances, or that it is safe."),
            say("no such test was made; the safety notes certify nothing"),
        ),
    ]
    if trial.feeds:
        one.append(
            (
                say("That the waste fed on the day made this gas or this ice."),
                say(
                    "gas comes from the feeds of weeks and from the starter slurry; no digester was run without feed "
                    "to tell them apart"
                ),
            )
        )
    if results["cop_ice"].is_given:
        one.append(
            (
                say("The thermal COP of the machine."),
                say("only the heat taken from the water is counted, not that from the cabinet and what leaked in"),
            )
        )
    if results["energy_used"].is_given and results["methane_fraction"].basis == ASSUMED:
        unsaid = trial.sheet.gas.methane is not None and not trial.sheet.gas.methane_method
        one.append(
            (
                say("How much heat the gas held, by measurement."),
                say("how the methane content was found is not recorded")
                if unsaid
                else say("the methane content was not measured"),
            )
        )
    if results["gas_used_as_read"].is_given:
        one.append(
            (
                say("What it does for the climate."),
                say("neither gas that escaped nor fuel that was really saved was measured"),
            )
        )
    if trial.sheet.outcome == "aborted":
        one.append((say("What a run to the end would have given."), say("the trial was aborted")))
    return [Claim(NOT_SHOWN, sentence, reason) for sentence, reason in one]
