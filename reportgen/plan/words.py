"""A plan in words: the verdict, what to do about it, and all figures with their ranges."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

from reportgen import rounding
from reportgen.message import COMMA, Message, listed, say
from reportgen.plan.answers import OWN_RUNS, STATED, Answer, answer_document, assumption_document
from reportgen.plan.asked import Asked, inputs_document
from reportgen.plan.forecast import SAFE, Plan
from reportgen.plan.page import (
    Page,
    Row,
    Table,
    about,
    chances,
    deference_text,
    lighting_texts,
    row,
    shown,
    source_texts,
    taken_rows,
)

#: What is said of a chance from so much on [1], the best first (ours).
VERDICTS = (
    (0.95, say("The gas will very likely last until the ice is solid")),
    (SAFE, say("The gas will probably last until the ice is solid")),
    (0.5, say("The gas may last until the ice is solid, and may well not")),
    (0.1, say("The gas will probably not last until the ice is solid")),
    (0.0, say("The gas will very likely not last until the ice is solid")),
)
#: Own runs named in a sentence, at most.
MOST_NAMED = 4
#: What is asked, as the options are called.
INPUTS = tuple(field.name for field in fields(Asked) if field.name != "past")
#: Figures by the part of the page they stand in.
PARTS = (
    (say("Gas and time"), (
        "chance_gas_lasts", "gas_needed", "gas_available", "gas_to_have", "gas_left_when_solid", "ice_ready",
        "hours_of_burning", "refill_by", "cabinet_gas",
    )),
    (say("Water and waste"), ("water_suggested", "waste_needed", "daily_feed", "days_needed")),
)  # fmt: skip


def plan_page(plan: Plan) -> Page:
    """Return a plan as a page."""
    return Page(
        kicker=str(say("Before the trial")),
        title=str(say("Will the gas last?")),
        lead=tuple(map(str, _lead(plan))),
        tables=tuple(Table(str(head), (), tuple(_row(plan.answers[key]) for key in keys)) for head, keys in PARTS),
        rests_on=taken_rows(plan.rests_on),
        sources=source_texts(plan.rests_on, "jcgm-101"),
        safety=lighting_texts(),
        deference=deference_text(),
    )


def plan_document(plan: Plan) -> dict[str, Any]:
    """Return a plan as plain data."""
    asked = plan.asked
    return {
        "inputs": inputs_document({name: getattr(asked, name) for name in INPUTS}, asked.past),
        "results": {key: answer_document(answer) for key, answer in plan.answers.items()},
        "assumptions": [assumption_document(taken) for taken in plan.rests_on if taken.basis != STATED],
    }


def _lead(plan: Plan) -> list[Message]:
    found = plan.answers
    lines = [_verdict(plan)]
    needed, there = found["gas_needed"], found["gas_available"]
    if needed.value is not None:
        water = plan.asked.water
        text = water.text if water is not None else ""
        lines.append(say("Freezing {water} of water takes {gas} of gas.", water=text, gas=about(needed)))
    if there.value is not None:
        burning = found["hours_of_burning"]
        lines.append(say("{gas} keeps the burner lit for {hours}.", gas=_there(plan), hours=about(burning)))
    lines += _what_to_do(plan)
    ready = found["ice_ready"]
    if ready.value is not None:
        lines.append(say("The ice is solid {hours} after lighting, if the gas lasts.", hours=about(ready)))
    lines.append(_built_on(plan))
    return lines


def _verdict(plan: Plan) -> Message:
    chance = plan.answers["chance_gas_lasts"]
    if chance.value is None:
        return say("Whether the gas lasts cannot be said: {why}.", why=chance.reason)
    share = chance.value
    verdict = next(text for least, text in VERDICTS if share >= least)
    return say("{verdict}: {chances}.", verdict=verdict, chances=chances(share))


def _what_to_do(plan: Plan) -> list[Message]:
    found = plan.answers
    chance, mass, have = found["chance_gas_lasts"].value, found["water_suggested"], found["gas_to_have"]
    lines = []
    if chance is not None and chance < SAFE:
        if mass.value is not None:
            lines.append(
                say(
                    "With this gas, at most {mass} of water freezes in nine cases of ten: put in no more.",
                    mass=_kilograms(mass),
                )
            )
        if have.value is not None:
            lines.append(say("For the water planned, have {gas} L of gas.", gas=shown(have)[0]))
        refill = found["refill_by"]
        if refill.value is not None:
            lines.append(
                say(
                    "Or refill: be ready {hours} after lighting, with the burner out while the holder fills.",
                    hours=rounding.duration(refill.value),
                )
            )
    elif chance is None and mass.value is not None:
        lines.append(say("With this gas, {mass} of water freezes in nine cases of ten.", mass=_kilograms(mass)))
    waste, days = found["waste_needed"], found["days_needed"]
    if waste.value is not None:
        lines.append(say("Behind that gas stands {waste} of fresh waste.", waste=about(waste)))
    if days.value:
        lines.append(say("At the gas a day stated, the rest comes together in {days}.", days=about(days)))
    return lines


def _there(plan: Plan) -> Message:
    """Return the gas there is as it was stated."""
    if plan.asked.gas is not None:
        return say("The gas there is, {gas},", gas=plan.asked.gas.text)
    return say("A day's gas, {gas},", gas=plan.asked.daily_gas.text if plan.asked.daily_gas is not None else "")


def _kilograms(mass: Answer) -> Message:
    return say("{mass} kg", mass=shown(mass)[0])


def _row(answer: Answer) -> Row:
    """Return an answer as text; gas that is left, of which there is less than none, as gas that is missing."""
    low, high = answer.interval or (0.0, 0.0)
    if answer.key != "gas_left_when_solid" or answer.value is None or low >= 0:
        return row(answer)
    if high <= 0:
        label = say("Gas missing until the ice is solid, as read")
        return row(replace(answer, label=label, value=-answer.value, interval=(-high, -low)))
    value, missing, left = (text.lstrip(rounding.MINUS) for text in rounding.about(answer.value, low, high))
    is_left = answer.value >= 0 or value == "0"
    amount = say("{gas} L left", gas=value) if is_left else say("{gas} L missing", gas=value)
    ends = say("{missing} L missing to {left} L left", missing=missing, left=left)
    return Row(str(answer.label), str(amount), str(ends), row(answer).basis)


def _built_on(plan: Plan) -> Message:
    runs = plan.asked.past
    own = [str(taken.label) for taken in plan.rests_on if taken.basis == OWN_RUNS]
    if not own:
        why = say("the runs given tell nothing that a plan needs") if runs else say("no own runs were given (--from)")
        return say(
            "This stands on published bands and our own, since {why}. The ranges are wide: we know of no published "
            "measurement of the gas that a kilogram of ice takes.",
            why=why,
        )
    names = listed([*(run.name for run in runs[:MOST_NAMED]), *(["…"] if len(runs) > MOST_NAMED else [])], COMMA)
    return say("Own runs ({names}) were used in place of published bands for: {what}.", names=names, what=listed(own))
