"""From gas a day, burner rate and stove rate to hours of cold and of cooking, feed and fuel, each with its range."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from reportgen.calc import sampling, supply
from reportgen.message import Message, say
from reportgen.plan.answers import Answer, Floats, Taken, answer, stated, usual
from reportgen.plan.circumstances import circumstances, litres_per_kilogram
from reportgen.plan.past import PastRun
from reportgen.units import Stated

#: Gas that a household stove takes, as read [L/h]: lowest and highest published.
STOVE_RATES = (200.0, 450.0)
#: Where nobody stated a day's gas, one cubic metre stands for it [L]: an example to scale (ours).
EXAMPLE_GAS = 1000.0
#: Minutes of cooking of the three worked choices, where the gas allows them (ours).
COOKING = (0, 60, 120)
#: Where it does not, the shares of the gas that go to the stove [1] (ours).
COOKING_SHARES = (0.0, 1 / 3, 2 / 3)
DAY = 24.0
#: Net calorific values [MJ/kg] with their 95 % ranges: IPCC 2006, volume 2, Table 1.2.
FUELS: Mapping[str, tuple[Message, Message, float, float]] = {
    "lpg": (say("LPG"), say("LPG"), 47.3, 52.2),
    "kerosene": (say("kerosene"), say("Kerosene"), 43.8, 45.2),
    "charcoal": (say("charcoal"), say("Charcoal"), 29.5, 58.0),
    "wood": (say("firewood"), say("Firewood"), 15.6, 31.0),
}
#: Gas as read that cooks as much as a kilogram of fuel [L/kg] (GTZ 1993), and limits for other stoves [1] (ours).
SERVICE: Mapping[str, float] = {"charcoal": 500.0, "wood": 200.0}
SERVICE_LIMITS = 0.3
#: Points of the line between cold and cooking.
POINTS = 41


@dataclass(frozen=True)
class Choice:
    """One way to share a day's gas: minutes of cooking, and the hours of cold that the rest gives."""

    cooking: float
    cold: Answer


@dataclass(frozen=True)
class Line:
    """Hours of cold by minutes of cooking: middle and 95 % range, for a chart."""

    minutes: Floats
    middle: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Advice:
    """Household advice.

    Attributes
    ----------
    asked : dict of str to Stated or None
        What was stated, by option.
    answers : dict of str to Answer
    choices : tuple of Choice
        Three, the least cooking first.
    line : Line
    rests_on : tuple of Taken
    past : tuple of PastRun
    """

    asked: Mapping[str, Stated | None]
    answers: Mapping[str, Answer]
    choices: tuple[Choice, ...]
    line: Line
    rests_on: tuple[Taken, ...]
    past: tuple[PastRun, ...]


def make_advice(
    daily_gas: Stated | None = None,
    rate: Stated | None = None,
    stove_rate: Stated | None = None,
    past: tuple[PastRun, ...] = (),
) -> Advice:
    """Return the advice for gas a day as read [L/d] and these rates [L/h]; what is missing is taken and named."""
    around = circumstances(rate=rate, past=past)
    gas, stove, gas_of_waste = _daily(daily_gas), _stove(stove_rate), litres_per_kilogram(past)
    burner = around.rate
    all_cooking = gas.draws / stove.draws
    energy = gas.draws * around.energy
    state = (*around.state, around.methane)
    found = [
        answer("gas_a_day", say("Gas a day, as read"), "L/d", gas.draws, gas),
        answer(
            "cold_hours",
            say("Hours of cold a day, with all of it"),
            "h",
            cold_hours(gas, burner, stove, 0.0),
            gas,
            burner,
        ),
        answer(
            "cooking_hours", say("Hours of cooking a day on one flame, with all of it"), "h", all_cooking, gas, stove
        ),
        answer(
            "cold_per_cooking_hour",
            say("Hours of cold that an hour of cooking costs"),
            "h",
            stove.draws / burner.draws,
            burner,
            stove,
        ),
        answer(
            "daily_feed",
            say("Fresh waste a day behind it"),
            "kg/d",
            gas.draws * around.factor / gas_of_waste.draws,
            gas,
            gas_of_waste,
            *around.state,
        ),
        answer("energy_a_day", say("Net heat of a day's gas"), "MJ", energy, gas, *state),
    ]
    fuels, fuel_answers = _fuels(gas, energy, state)
    found += fuel_answers
    return Advice(
        {"daily_gas": daily_gas, "rate": rate, "stove_rate": stove_rate},
        {one.key: one for one in found},
        tuple(_choice(minutes, gas, burner, stove) for minutes in _worked(all_cooking)),
        _line(gas, burner, stove, float(np.median(all_cooking))),
        (gas, burner, stove, gas_of_waste, *state, *fuels),
        past,
    )


def cold_hours(gas: Taken, burner: Taken, stove: Taken, cooking: float) -> Floats:
    """Return the hours of cold [h] left after so many hours of cooking, none below nought and none above a day."""
    return np.asarray(np.clip(supply.gas_left(gas.draws, stove.draws, cooking) / burner.draws, 0.0, DAY))


def _worked(all_cooking: Floats) -> tuple[float, ...]:
    """Return the minutes of cooking of the three choices: fixed ones where the gas very likely allows them."""
    most = 60 * float(np.quantile(all_cooking, 0.1))
    if most >= max(COOKING):
        return tuple(map(float, COOKING))
    step = 10 if most >= 60 else 1
    return tuple(float(step * math.floor(share * most / step)) for share in COOKING_SHARES)


def _choice(minutes: float, gas: Taken, burner: Taken, stove: Taken) -> Choice:
    cold = cold_hours(gas, burner, stove, minutes / 60)
    return Choice(minutes, answer("cold", say("Hours of cold"), "h", cold, gas, burner, stove))


def _line(gas: Taken, burner: Taken, stove: Taken, most: float) -> Line:
    hours = np.linspace(0.0, most, POINTS)
    found = np.array([supply.middle_and_range(cold_hours(gas, burner, stove, float(hour))) for hour in hours])
    return Line(60 * hours, found[:, 0], found[:, 1], found[:, 2])


def _daily(quantity: Stated | None) -> Taken:
    label = say("Gas a day")
    if quantity is not None:
        return stated(label, quantity)
    draws = sampling.normal(label.text, EXAMPLE_GAS, 0.0)
    why = say("not stated: an example to scale, and no claim of what a digester gives")
    return usual(label, draws, say("{gas} L a day", gas=EXAMPLE_GAS), why, "planning-bands", option="--daily-gas")


def _stove(quantity: Stated | None) -> Taken:
    label = say("Gas the stove takes")
    if quantity is not None:
        return stated(label, quantity)
    low, high = STOVE_RATES
    return usual(
        label,
        sampling.between_factors(label.text, low, high),
        say("{low} to {high} L/h", low=low, high=high),
        say("not stated; published figures"),
        "stove-gas-use",
        option="--stove-rate",
    )


def _fuels(gas: Taken, energy: Floats, state: tuple[Taken, ...]) -> tuple[list[Taken], list[Answer]]:
    """Return what a day's gas is worth in other fuels: by its heat, and by the cooking it does."""
    taken, found = [], []
    for key, (name, title, value, high) in FUELS.items():
        label = say("Net heat of a kilogram of {fuel}", fuel=name)
        spread = math.log(high / value) / sampling.NORMAL_95
        heat = np.exp(sampling.normal(f"heat of {key}", math.log(value), spread))
        why = say("published, with its range")
        used = usual(label, heat, say("{value} MJ", value=value), why, "fuel-heating-values")
        taken.append(used)
        found.append(answer(f"{key}_by_energy", title, "kg", energy / heat, gas, used, *state))
    for key, litres in SERVICE.items():
        name, title, *_ = FUELS[key]
        label = say("Gas that cooks as much as a kilogram of {fuel}", fuel=name)
        draws = sampling.between(f"cooking of {key}", litres * (1 - SERVICE_LIMITS), litres * (1 + SERVICE_LIMITS))
        within = say("{litres} L within {percent} %", litres=litres, percent=100 * SERVICE_LIMITS)
        why = say("published; the limits are our guess of how stoves differ")
        used = usual(label, draws, within, why, "cooking-service")
        taken.append(used)
        found.append(answer(f"{key}_by_cooking", title, "kg", gas.draws / draws, gas, used))
    return taken, found
