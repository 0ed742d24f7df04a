"""The plan itself: gas and time that the ice takes, beside the gas that there is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from reportgen.calc import supply
from reportgen.figures.heat_leak import KJ_PER_WATT_HOUR
from reportgen.message import Message, say
from reportgen.plan.answers import Answer, Floats, Taken, answer, own, stated, withheld
from reportgen.plan.asked import Asked
from reportgen.plan.circumstances import Circumstances, circumstances, litres_per_kilogram
from reportgen.plan.freezing import (
    Freezing,
    cabinet_air,
    cooling_cop,
    freezing_of,
    heat_per_kilogram,
    least_hours,
    water_start,
)

#: A plan is safe from this chance on [1]; common practice, no source.
SAFE = 0.9

LABELS: Mapping[str, tuple[Message, str]] = {
    "gas_available": (say("Gas there is, as read"), "L"),
    "gas_needed": (say("Gas needed until the ice is solid, as read"), "L"),
    "gas_to_have": (say("Gas that is enough in nine cases of ten, as read"), "L"),
    "gas_left_when_solid": (say("Gas left when the ice is solid, as read"), "L"),
    "chance_gas_lasts": (say("Chance that the gas lasts"), "1"),
    "ice_ready": (say("Ice solid, from burner lit"), "h"),
    "hours_of_burning": (say("Hours the gas keeps the burner lit"), "h"),
    "refill_by": (say("Refill by, from burner lit"), "h"),
    "water_suggested": (say("Water that freezes in nine cases of ten"), "kg"),
    "cabinet_gas": (say("Gas for the cold cabinet before any ice, as read"), "L"),
    "waste_needed": (say("Fresh waste behind the gas needed"), "kg"),
    "daily_feed": (say("Fresh waste a day behind the daily gas"), "kg/d"),
    "days_needed": (say("Days of gas to collect first"), "d"),
}


@dataclass(frozen=True)
class Plan:
    """A plan.

    Attributes
    ----------
    asked : Asked
    answers : dict of str to Answer
        By the keys of `LABELS`, in their order.
    rests_on : tuple of Taken
        All that was taken.
    """

    asked: Asked
    answers: Mapping[str, Answer]
    rests_on: tuple[Taken, ...]


@dataclass(frozen=True)
class _Need:
    """Gas [L as read], hours and heat of the planned amount of ice, and what they rest on."""

    gas: Floats
    hours: Floats
    rests_on: tuple[Taken, ...]


def make_plan(asked: Asked) -> Plan:
    """Return the plan for what was asked; what is missing is taken as in earlier runs or as usual, and named."""
    around = circumstances(
        ambient=asked.ambient,
        altitude=asked.altitude,
        methane=asked.methane,
        rate=asked.rate,
        power=asked.power,
        past=asked.past,
    )
    freezing = freezing_of(asked, around)
    start = water_start(asked, around)
    heat = heat_per_kilogram(start)
    least, through = least_hours(asked, heat)
    supply_of = _Supply.of(asked)
    need = _need(asked, around, freezing, start, heat, least, through)
    found = [
        *_gas_answers(supply_of, need, around),
        _water_suggested(supply_of, freezing, start, heat, least, through, around),
        _cabinet_gas(asked, around, need),
        *_feed_answers(asked, supply_of, need, around),
    ]
    by_key = {one.key: one for one in found}
    used = [*around.state, around.methane, around.rate, *freezing.rests_on, start, *through]
    waste = [litres_per_kilogram(asked.past)] if asked.water is not None or asked.daily_gas is not None else []
    cabinet = [cooling_cop()] if asked.heat_leak is not None else []
    everything = {taken.label.text: taken for taken in [*used, *waste, *cabinet]}
    return Plan(asked, {key: by_key[key] for key in LABELS}, tuple(everything.values()))


@dataclass(frozen=True)
class _Supply:
    """The gas there is [L as read] and what comes in a day [L/d]; None where neither is stated.

    `is_uncertain` says that the gas was stated with an uncertainty.
    """

    gas: Taken | None
    daily: Taken | None
    is_uncertain: bool

    @classmethod
    def of(cls, asked: Asked) -> _Supply:
        daily = stated(say("Gas a day"), asked.daily_gas) if asked.daily_gas is not None else None
        gas = stated(say("Gas there is"), asked.gas) if asked.gas is not None else daily
        quantity = asked.gas or asked.daily_gas
        return cls(gas, daily, quantity is not None and quantity.has_uncertainty)


def _need(
    asked: Asked,
    around: Circumstances,
    freezing: Freezing,
    start: Taken,
    heat: Floats,
    least: Floats,
    through: tuple[Taken, ...],
) -> _Need | None:
    if asked.water is None:
        return None
    mass = stated(say("Water to be frozen"), asked.water)
    cooling = supply.hours_of_gas(freezing.gas_for(mass.draws * heat), around.rate.draws)
    hours = np.maximum(cooling, least)
    rests_on = (mass, start, around.rate, *around.state, *freezing.rests_on, *through)
    return _Need(around.rate.draws * hours, hours, rests_on)


def _gas_answers(there: _Supply, need: _Need | None, around: Circumstances) -> list[Answer]:
    no_gas, no_water = say("state --gas or --daily-gas"), say("state --water")
    found = []
    if there.gas is None:
        found += [_not(key, no_gas) for key in ("gas_available", "hours_of_burning")]
    else:
        available = _answered("gas_available", there.gas.draws)
        found.append(replace(available, basis="measured", as_stated=not there.is_uncertain))
        hours = supply.hours_of_gas(there.gas.draws, around.rate.draws)
        found.append(_answered("hours_of_burning", hours, around.rate))
    if need is None:
        found += [_not(key, no_water) for key in ("gas_needed", "gas_to_have", "ice_ready")]
    else:
        found.append(_answered("gas_needed", need.gas, *need.rests_on))
        found.append(_answered("ice_ready", need.hours, *need.rests_on))
        found.append(_at_share("gas_to_have", need.gas, SAFE, *need.rests_on))
    if there.gas is None or need is None:
        keys = ("gas_left_when_solid", "chance_gas_lasts", "refill_by")
        return [*found, *(_not(key, no_water if need is None else no_gas) for key in keys)]
    found.append(_answered("gas_left_when_solid", there.gas.draws - need.gas, *need.rests_on))
    chance = supply.chance(there.gas.draws, need.gas)
    ends = tuple(supply.chance(end, need.gas) for end in supply.middle_and_range(there.gas.draws)[1:])
    label, unit = LABELS["chance_gas_lasts"]
    basis = _answered("chance_gas_lasts", need.gas, *need.rests_on).basis
    found.append(Answer("chance_gas_lasts", label, unit, chance, (min(ends[0], chance), max(ends[1], chance)), basis))
    if chance >= SAFE:
        found.append(_not("refill_by", say("the gas lasts in nine cases of ten")))
    else:
        hours = supply.hours_of_gas(there.gas.draws, around.rate.draws)
        found.append(_at_share("refill_by", np.asarray(hours), 1 - SAFE, around.rate))
    return found


def _water_suggested(
    there: _Supply,
    freezing: Freezing,
    start: Taken,
    heat: Floats,
    least: Floats,
    through: tuple[Taken, ...],
    around: Circumstances,
) -> Answer:
    if there.gas is None:
        return _not("water_suggested", say("state --gas or --daily-gas"))
    lasts = supply.hours_of_gas(there.gas.draws, around.rate.draws) >= least
    mass = np.where(lasts, freezing.heat_of(there.gas.draws) / heat, 0.0)
    suggested = _at_share("water_suggested", mass, 1 - SAFE, *freezing.rests_on, start, *around.state, *through)
    if not suggested.value:
        return _not("water_suggested", say("so little gas freezes no amount of water for sure, in this shape or any"))
    return suggested


def _cabinet_gas(asked: Asked, around: Circumstances, need: _Need | None) -> Answer:
    """Return the gas until the cabinet is cold by earlier runs; else what the heat leak takes over the planned run."""
    key = "cabinet_gas"
    start = own(say("Until the cabinet is below 0 °C"), asked.past, "time_to_0", "h")
    if start is not None:
        return _answered(key, start.draws * around.rate.draws, start, around.rate)
    if asked.heat_leak is None:
        return _not(key, say("needs own runs that tell when the cabinet reached 0 °C (--from), or --heat-leak"))
    if need is None:
        return _not(key, say("the heat leak costs gas for as long as the burner is lit: state --water"))
    leak, cop = stated(say("Heat leak"), asked.heat_leak), cooling_cop()
    air = cabinet_air(asked.past)
    watts = leak.draws * np.maximum(around.ambient.draws - air.draws, 0.0)
    spent = supply.gas_for_heat(watts * need.hours * KJ_PER_WATT_HOUR, cop.draws, around.energy)
    # What leaks in is part of what the whole run takes.
    return _answered(key, np.minimum(spent, need.gas), cop, air, *need.rests_on)


def _feed_answers(asked: Asked, there: _Supply, need: _Need | None, around: Circumstances) -> list[Answer]:
    gas_of_waste = litres_per_kilogram(asked.past)
    found = []
    if need is None:
        found.append(_not("waste_needed", say("state --water")))
    else:
        waste = need.gas * around.factor / gas_of_waste.draws
        found.append(_answered("waste_needed", waste, gas_of_waste, *need.rests_on))
    if there.daily is None:
        return [*found, *(_not(key, say("state --daily-gas")) for key in ("daily_feed", "days_needed"))]
    feed = there.daily.draws * around.factor / gas_of_waste.draws
    found.append(_answered("daily_feed", feed, gas_of_waste, *around.state))
    if need is None:
        return [*found, _not("days_needed", say("state --water"))]
    stored = there.gas.draws if asked.gas is not None and there.gas is not None else 0.0
    missing = np.maximum(need.gas - stored, 0.0) / there.daily.draws
    return [*found, _answered("days_needed", missing, *need.rests_on)]


def _answered(key: str, draws: Floats, *rests_on: Taken) -> Answer:
    label, unit = LABELS[key]
    return answer(key, label, unit, np.asarray(draws), *rests_on)


def _at_share(key: str, draws: Floats, share: float, *rests_on: Taken) -> Answer:
    """Return the value that so large a share of the draws does not exceed, with the range of them all."""
    found = _answered(key, draws, *rests_on)
    return replace(found, value=float(np.quantile(draws, share)), on_safe_side=True)


def _not(key: str, reason: Message) -> Answer:
    label, unit = LABELS[key]
    return withheld(key, label, unit, reason)
