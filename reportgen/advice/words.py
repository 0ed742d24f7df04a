"""Household advice in words: the trade-off, three worked choices, the feed behind it, fuels on two bases kept apart."""

from __future__ import annotations

import math
from typing import Any

from reportgen import rounding
from reportgen.advice.model import FUELS, SERVICE, Advice, Choice
from reportgen.calc.digester_log import DEFAULT_RATES
from reportgen.message import Message, listed, say, say_counted
from reportgen.plan.answers import OWN_RUNS, STATED, answer_document, assumption_document
from reportgen.plan.asked import inputs_document
from reportgen.plan.page import (
    Page,
    Picture,
    Row,
    Table,
    about,
    deference_text,
    lighting_texts,
    row,
    source_texts,
    taken_rows,
)
from reportgen.wording import BASIS

#: From this share of the value on, half of a range is called wide, and from the other on very wide [1] (ours).
WIDE, VERY_WIDE = 0.25, 0.5
#: Slowest and fastest published rate at which food waste turns into gas [1/d].
RATES = (DEFAULT_RATES[0], DEFAULT_RATES[-1])


def advice_page(advice: Advice, *, on_its_own: bool = True) -> Page:
    """Return household advice as a page; in a report, without its picture and the options of the command line."""
    found = advice.answers
    daily = ("gas_a_day", "cold_hours", "cooking_hours", "cold_per_cooking_hour", "daily_feed", "energy_a_day")
    return Page(
        kicker=str(say("For one household")),
        title=str(say("Cold or cooking: what a day's gas can do")),
        lead=tuple(map(str, _lead(advice))),
        tables=(
            Table(str(say("Three choices")), (), tuple(_choice_row(choice) for choice in advice.choices)),
            Table(str(say("A day's gas")), (str(_feed(advice)),), tuple(row(found[key]) for key in daily)),
            Table(
                str(say("Fuel with as much heat in it (energy basis)")),
                (
                    str(
                        say(
                            "The heat of a day's gas is that of one of these amounts. It says nothing of how well a "
                            "stove uses it."
                        )
                    ),
                ),
                tuple(row(found[f"{key}_by_energy"]) for key in FUELS),
            ),
            Table(
                str(say("Fuel that cooks as much (cooking-service basis)")),
                (
                    str(
                        say(
                            "If all of it is burnt on a stove, it cooks as much as one of these amounts. They differ "
                            "from those above since stoves differ: never add or compare the two."
                        )
                    ),
                ),
                tuple(row(found[f"{key}_by_cooking"]) for key in SERVICE),
            ),
        ),
        rests_on=taken_rows(advice.rests_on, with_options=on_its_own),
        sources=source_texts(advice.rests_on, "first-order-digestion", "jcgm-101"),
        safety=lighting_texts(),
        deference=deference_text(),
        picture=_picture(advice) if on_its_own else None,
    )


def _picture(advice: Advice) -> Picture:
    # The drawing library takes a while to load, and a report draws its charts elsewhere.
    from reportgen.charts.trade_off import trade_off_chart

    chart = trade_off_chart(
        advice.line.minutes,
        (advice.line.middle, advice.line.low, advice.line.high),
        [(choice.cooking, choice.cold.value or 0.0) for choice in advice.choices],
    )
    return Picture(str(chart.title), str(chart.alt), chart.svg)


def advice_document(advice: Advice) -> dict[str, Any]:
    """Return household advice as plain data."""
    return {
        "inputs": inputs_document(advice.asked, advice.past),
        "results": {key: answer_document(answer) for key, answer in advice.answers.items()},
        "choices": [
            {"cooking_minutes": choice.cooking, "cold_hours": answer_document(choice.cold)} for choice in advice.choices
        ],
        "assumptions": [assumption_document(taken) for taken in advice.rests_on if taken.basis != STATED],
    }


def _lead(advice: Advice) -> list[Message]:
    found = advice.answers
    own = [str(taken.label) for taken in advice.rests_on if taken.basis == OWN_RUNS]
    gas = advice.asked["daily_gas"]
    lines = [
        say(
            "{gas} either keeps a refrigerator cold for {cold}, or cooks on one flame for {cooking}; not both.",
            gas=say("Gas of {gas}", gas=gas.text) if gas is not None else say("A cubic metre of gas a day"),
            cold=about(found["cold_hours"]),
            cooking=about(found["cooking_hours"]),
        ),
        say("Each hour of cooking costs {hours} of cold.", hours=about(found["cold_per_cooking_hour"])),
        _certainty(advice),
    ]
    if own:
        lines.append(say("Own runs were used in place of published figures for: {what}.", what=listed(own)))
    lines.append(
        say("No household was observed: this is a reckoning, and hours of flame are no promise of a temperature.")
    )
    return lines


def _certainty(advice: Advice) -> Message:
    """Return in words how well the hours of cold are known."""
    cold = advice.answers["cold_hours"]
    assert cold.value is not None and cold.interval is not None
    low, high = cold.interval
    half = (high - low) / 2 / cold.value if cold.value else 0.0
    ends = {"low": rounding.plain(low, 2), "high": rounding.plain(high, 2)}
    if half >= VERY_WIDE:
        return say(
            "How long is hardly known: anything from {low} to {high} h of cold would be no surprise. Your own burner's "
            "rate would tell.",
            **ends,
        )
    if half >= WIDE:
        return say("How long is known roughly: most likely between {low} and {high} h of cold.", **ends)
    return say("How long is known fairly well: between {low} and {high} h of cold.", **ends)


def _feed(advice: Advice) -> Message:
    return say(
        "Behind it stands {feed} of fresh food waste, fed every day. Gas follows feed slowly: {a} to {b} % of what a "
        "feed gives comes in its first day, {c} to {d} % within a week.",
        feed=about(advice.answers["daily_feed"]),
        a=turned_into_gas(1, RATES[0]),
        b=turned_into_gas(1, RATES[1]),
        c=turned_into_gas(7, RATES[0]),
        d=turned_into_gas(7, RATES[1]),
    )


def turned_into_gas(days: float, rate: float) -> int:
    """Return the share [%] of its gas that a feed has given after so many days, by first order at a rate [1/d]."""
    return round(100 * (1 - math.exp(-rate * days)))


def _choice_row(choice: Choice) -> Row:
    cold = row(choice.cold)
    label = (
        say("No cooking")
        if not choice.cooking
        else say_counted(round(choice.cooking), "{n} minute of cooking", "{n} minutes of cooking")
    )
    return Row(str(label), str(say("{hours} of cold", hours=cold.value)), cold.interval, str(BASIS[choice.cold.basis]))
