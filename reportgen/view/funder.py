"""What the edition for funders shows beside the view of the report: what was done and put out, costs, a household."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen import rounding, wording
from reportgen.figures import Figure, Results, error_sources
from reportgen.message import NOTHING, Message, say, say_counted
from reportgen.outputs import BOILING, Outputs, outputs
from reportgen.safety import SafetyNote, safety_notes
from reportgen.sources import SOURCES
from reportgen.trial import Trial
from reportgen.view import facts
from reportgen.view.figure_text import figure_view, without_columns
from reportgen.view.parts import FigureView, HouseholdView, ReportView

#: Figures of the table of results, in the order of the page.
SHOWN = (
    "ice_mass",
    "ice_making_time",
    "gas_per_hour_as_read",
    "temperature_lowest",
    "energy_per_ice",
    "waste_to_ice",
)
#: Figures counted as outputs.
COUNTED = {
    "waste_fed": say("Waste kept for the digester, over the feed log"),
    "gas_used_as_read": say("Gas burnt, as read"),
    "burning_time": say("Hours with the burner lit"),
    "ice_mass": say("Ice made"),
}
#: Facts at the head of the page.
FACTS = (say("Report"), say("Site"), say("Region"), say("Date"), say("Operator"), say("Organisation"), say("Contact"))
#: The picture shown is the first of these that the trial has.
CHARTS = ("charts/chain.svg", "charts/cabinet.svg", "charts/gas.svg")
#: Assumptions named in this edition, at most; the full report names them all.
MOST_ASSUMPTIONS = 3


@dataclass(frozen=True)
class FunderView:
    """The edition for funders, as text.

    Attributes
    ----------
    facts : tuple of (str, str)
        Who, where and when.
    chart : str
        File name of the picture shown.
    done : str
        What was done, in a sentence.
    results : tuple of FigureView
    outputs : tuple of FigureView
        What was counted.
    people : str
        "" where nobody was counted.
    household : tuple of str
        What it means for one household.
    cost : FigureView
        Costs of this trial per kilogram of ice, or why they are not given.
    chain : tuple of (str, str)
        From inputs to outcomes, each link with its label.
    rests_on : tuple of str
        The assumptions that matter most.
    safety : str
        How many notes of which weight the full report holds.
    """

    facts: tuple[tuple[str, str], ...]
    chart: str
    done: str
    results: tuple[FigureView, ...]
    outputs: tuple[FigureView, ...]
    people: str
    household: tuple[str, ...]
    cost: FigureView
    chain: tuple[tuple[str, str], ...]
    rests_on: tuple[str, ...]
    safety: str


def build_funder(view: ReportView, trial: Trial, results: Results) -> FunderView:
    """Return what the edition for funders shows beside the view of the report."""
    at_head = set(map(str, FACTS))
    drawn = [chart.file_name for chart in view.charts]
    found = outputs(trial, results)
    money = say("{currency} per kg", currency=found.currency) if found.currency else say("per kg")
    assumed = [effect.assumption for effect in results.assumptions if effect.assumption.of_value]
    return FunderView(
        facts=tuple((label, value) for label, value in view.facts if label in at_head),
        chart=next((name for name in CHARTS if name in drawn), ""),
        done=str(_done(trial, results)),
        results=tuple(figure_view(key, results[key], short=True) for key in SHOWN),
        outputs=tuple(figure_view(key, results[key], short=True, label=label) for key, label in COUNTED.items()),
        people=facts.people(trial),
        household=tuple(map(str, _household(results, found, view.household))),
        cost=figure_view(
            found.cost_per_ice.key,
            found.cost_per_ice,
            short=True,
            label=say("Cost of this trial per kg of ice"),
            unit=str(money),
        ),
        chain=tuple((str(label), str(text)) for label, text in _chain(trial, results)),
        rests_on=tuple(
            str(say("{name}: {value}", name=error_sources.said(assumption.name), value=assumption.value))
            for assumption in assumed[:MOST_ASSUMPTIONS]
        ),
        safety=str(_safety(safety_notes(trial, results))),
    )


def _amount(figure: Figure, unit: str) -> Message:
    return say("about {value} {unit}", value=wording.about(figure)["value"], unit=unit)


def _done(trial: Trial, results: Results) -> Message:
    day, site = facts.date(trial), trial.sheet.site
    where = say(" at {site}", site=site) if site else NOTHING
    start = say("On {day}{where}", day=day, where=where) if day else say("In this trial{where}", where=where)
    burning, water = results["burning_time"], results["water_mass"]
    time = say(" for {time}", time=rounding.duration(burning.value)) if burning.is_given else NOTHING
    aim = say(", to freeze {water} of water", water=_amount(water, "kg")) if water.is_given else NOTHING
    return say(
        "{start}, biogas made from food waste was burnt{time} under the boiler of an absorption refrigerator{aim}.",
        start=start,
        time=time,
        aim=aim,
    )


def _household(results: Results, found: Outputs, household: HouseholdView | None) -> list[Message]:
    said = []
    ice, boiled = found.ice_per_day, found.water_boiled
    if found.gas_per_day.is_given:
        fed = results["waste_fed"]
        waste = say(" from {waste} of waste fed in that time", waste=_amount(fed, "kg")) if fed.is_given else NOTHING
        said.append(
            say_counted(
                round(found.days),
                "This digester made about {gas} L of gas a day, standard dry, over {n} day of log{waste}.",
                "This digester made about {gas} L of gas a day, standard dry, over {n} days of log{waste}.",
                gas=wording.about(found.gas_per_day)["value"],
                waste=waste,
            )
        )
        said += [say("{sentence}", sentence=sentence) for sentence in (household.lead[:2] if household else ())]
        if ice.is_given:
            said.append(
                say(
                    "A day's gas would make about {value} kg of ice ({low} to {high}), if each kilogram took as much "
                    "gas as in this trial.",
                    **wording.about(ice),
                )
            )
    else:
        why = without_columns(str(found.gas_per_day.reason))
        said.append(say("What a day's gas would do is not given: {why}.", why=why))
        per_cubic_metre = results["hours_per_cubic_metre_as_read"]
        if per_cubic_metre.is_given:
            said.append(
                say(
                    "One cubic metre of gas, as read, kept this burner lit for about {value} h ({low} to {high}).",
                    **wording.about(per_cubic_metre),
                )
            )
    if boiled.is_given:
        said.append(
            say(
                "Gas can be burnt once: that behind a kilogram of this ice would have brought about {value} L of water "
                "({low} to {high}) to the boil on a biogas stove, by published figures ({source}).",
                source=SOURCES[BOILING].text.partition(":")[0],
                **wording.about(boiled),
            )
        )
    said.append(
        say(
            "A household that feeds less has less gas. No household was observed, so this is a reckoning and no "
            "finding."
        )
    )
    return said


def _chain(trial: Trial, results: Results) -> list[tuple[Message, Message]]:
    """Return the line from inputs to outcomes; what was not observed is named as such."""
    fed, gas, ice = results["waste_fed"], results["gas_used_as_read"], results["ice_mass"]
    waste = _amount(fed, "kg") if fed.is_given else say("an amount not recorded")
    burnt = _amount(gas, "L") if gas.is_given else say("an amount not recorded")
    made = _amount(ice, "kg") if ice.is_given else say("an amount not recorded")
    people = facts.people(trial) or facts.NOT_RECORDED
    return [
        (
            say("Inputs"),
            say("food waste ({waste} over the feed log), a digester, a burner, a refrigerator", waste=waste),
        ),
        (say("Activity"), say("gas burnt as read: {gas}", gas=burnt)),
        (say("Outputs"), say("ice: {ice}; people present: {people}", ice=made, people=people)),
        (say("Outcomes"), say("not observed: whether anybody wastes, spends or spoils less")),
        (say("Assumed"), say("that feeding goes on, that somebody tends the flame, and that local rules allow it")),
    ]


def _safety(notes: tuple[SafetyNote, ...]) -> Message:
    count = {name: sum(note.severity == name for note in notes) for name in ("stop", "act")}
    # A count of nought would read as if somebody had found it safe.
    weighty = [
        say_counted(count["stop"], "{n} that says stop", "{n} that say stop") if count["stop"] else None,
        say_counted(
            count["act"],
            "{n} that asks for something to be done before the next run",
            "{n} that ask for something to be done before the next run",
        )
        if count["act"]
        else None,
    ]
    named = [message for message in weighty if message is not None]
    if not named:
        return say_counted(
            len(notes),
            "The full report holds {n} safety note; read it before you light.",
            "The full report holds {n} safety notes; read them before you light.",
        )
    among = say("{one} and {other}", one=named[0], other=named[1]) if len(named) == 2 else named[0]
    return say_counted(
        len(notes),
        "The full report holds {n} safety note, and it is {among}; read it before you light.",
        "The full report holds {n} safety notes, among them {among}; read them before you light.",
        among=among,
    )
