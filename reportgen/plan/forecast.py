"""The plan itself: gas and time that the ice takes, beside the gas that there is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from reportgen.calc import sampling, supply, water
from reportgen.figures.freezing import SURFACE
from reportgen.figures.heat_leak import KJ_PER_WATT_HOUR
from reportgen.message import Message, say
from reportgen.plan.answers import (
    OWN_RUNS,
    SPREAD_WEIGHT,
    USUAL_SPREAD,
    Answer,
    Floats,
    Taken,
    answer,
    from_runs,
    own,
    spread_text,
    stated,
    usual,
    withheld,
)
from reportgen.plan.asked import Asked
from reportgen.plan.circumstances import Circumstances, circumstances, litres_per_kilogram
from reportgen.plan.past import PastRun, seen

#: Heat that a small unit takes out over heat of the flame [1] (Srikhirin and others 2001, from memory).
COOLING_COP = (0.1, 0.3)
#: The share of that which becomes ice in a whole run [1]; the rest cools the cabinet and what leaks in (ours).
SHARE_OF_ICE = (0.2, 0.5)
#: Hours until a warm cabinet is below 0 °C: up to the longest published (the lower end is ours).
START_UP = (0.5, 4.0)
#: Air in a cabinet that makes ice [degC] (ours).
CABINET = (-15.0, -5.0)
#: Temperature of the ice at the end [degC] (ours).
ICE = (-5.0, 0.0)
#: How far the water put in may be from the air around, limits [K] (ours).
WATER_TO_AMBIENT = 3.0
#: The share of an earlier run's gas that would be spent for any amount of ice, at most, where the run's times do not tell
#: [1], and where they do (ours).
FIXED_SHARE, MOST_FIXED_SHARE = 0.5, 0.6
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
class _Freezing:
    """How gas turns into ice: gas as read for a heat [kJ], the heat that an amount of gas takes out, what it rests on."""

    gas_for: Callable[[Floats], Floats]
    heat_of: Callable[[Floats], Floats]
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
    freezing = _freezing(asked, around)
    start = _water_start(asked, around)
    heat = _heat_per_kilogram(start)
    least, through = _least_hours(asked, heat)
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
    cabinet = [_cooling_cop()] if asked.heat_leak is not None else []
    everything = {taken.label.text: taken for taken in [*used, *waste, *cabinet]}
    return Plan(asked, {key: by_key[key] for key in LABELS}, tuple(everything.values()))


@dataclass(frozen=True)
class _Supply:
    """The gas there is [L as read] and what comes in a day [L/d]; None where neither is stated."""

    gas: Taken | None
    daily: Taken | None

    @classmethod
    def of(cls, asked: Asked) -> _Supply:
        daily = stated(say("Gas a day"), asked.daily_gas) if asked.daily_gas is not None else None
        return cls(stated(say("Gas there is"), asked.gas) if asked.gas is not None else daily, daily)


def _freezing(asked: Asked, around: Circumstances) -> _Freezing:
    runs = [run for run in asked.past if seen([run], "gas_used") and seen([run], "heat_removed")]
    return _as_in_own_runs(asked, around, runs) if runs else _as_published(around)


def _as_published(around: Circumstances) -> _Freezing:
    cop, share = _cooling_cop(), _share_of_ice()
    on_ice = cop.draws * share.draws
    return _Freezing(
        lambda heat: np.asarray(supply.gas_for_heat(heat, on_ice, around.energy)),
        lambda gas: gas * around.energy * 1000 * on_ice,
        (cop, share),
    )


def _as_in_own_runs(asked: Asked, around: Circumstances, runs: list[PastRun]) -> _Freezing:
    """Return the freezing of earlier runs, as standard dry gas for heat, scaled to the methane and the heat planned."""
    used, heats = ([run.figures[key] for run in runs] for key in ("gas_used", "heat_removed"))
    middle_gas, middle_heat = (float(np.exp(np.mean(np.log(values)))) for values in (used, heats))
    label = say("Gas for the heat taken from the water, standard dry")
    per_heat = sampling.next_of(
        label.text, [gas / heat for gas, heat in zip(used, heats, strict=True)], USUAL_SPREAD, SPREAD_WEIGHT
    )
    taken = from_runs(label, 1000 * per_heat, len(runs), "L/MJ")
    fixed = _fixed_share(runs)
    # As much methane as then takes as much gas; richer gas takes less of it.
    logged = [run.figures["methane_fraction"] for run in runs if run.figures.get("methane_fraction", 0.0) > 0.0]
    richer = around.methane.draws / float(np.mean(logged)) if asked.methane is not None and logged else 1.0
    then = per_heat * middle_heat / richer / around.factor
    return _Freezing(
        lambda heat: np.asarray(supply.scaled_by_heat(then, heat, middle_heat, fixed.draws)),
        lambda gas: np.asarray(supply.heat_within_reach(gas, then, middle_heat, fixed.draws)),
        (taken, fixed),
    )


def _fixed_share(runs: list[PastRun]) -> Taken:
    shares = [
        run.figures["time_to_0"] / run.figures["ice_making_time"]
        for run in runs
        if run.figures.get("time_to_0", 0.0) > 0.0 and run.figures.get("ice_making_time", 0.0) > 0.0
    ]
    most = min(float(np.mean(shares)), MOST_FIXED_SHARE) if shares else FIXED_SHARE
    label = say("Share of a run's gas that cools the cabinet, whatever the ice")
    why = (
        say("at most the share of the time before 0 °C in your own runs")
        if shares
        else say("your own runs do not tell when the cabinet reached 0 °C")
    )
    draws = sampling.between(label.text, 0.0, most)
    return Taken(label, draws, OWN_RUNS, say("0 to {most} %", most=round(100 * most)), why, ("planning-bands",))


def _cooling_cop() -> Taken:
    label = say("Heat the unit takes out over heat of the flame")
    low, high = COOLING_COP
    return usual(
        label,
        sampling.between(label.text, low, high),
        say("{low} to {high}", low=low, high=high),
        say("published for small absorption units"),
        "small-absorption-units",
    )


def _share_of_ice() -> Taken:
    label = say("Share of that which becomes ice")
    low, high = SHARE_OF_ICE
    return usual(
        label,
        sampling.between(label.text, low, high),
        say("{low} to {high} %", low=100 * low, high=100 * high),
        say("the rest cools the cabinet and what leaks in; runs of your own (--from) replace this"),
        "planning-bands",
    )


def _water_start(asked: Asked, around: Circumstances) -> Taken:
    label = say("Water when put in")
    if asked.water_temperature is not None:
        return stated(label, asked.water_temperature, positive=False)
    draws = around.ambient.draws + sampling.between(label.text, -WATER_TO_AMBIENT, WATER_TO_AMBIENT)
    return usual(
        label,
        draws,
        say("as warm as the air within {limit} K", limit=WATER_TO_AMBIENT),
        say("not stated (--water-temperature)"),
        "planning-bands",
    )


def _heat_per_kilogram(start: Taken) -> Floats:
    """Return the heat [kJ/kg] from water as put in to ice a little below 0 °C."""
    ice = sampling.between("Ice at the end", *ICE)
    return np.asarray(water.heat_removed(1.0, 1.0, np.clip(start.draws, 0.0, 100.0), ice))


def _least_hours(asked: Asked, heat: Floats) -> tuple[Floats, tuple[Taken, ...]]:
    """Return the hours before which ice of the stated shape is not solid; nought where shape or size is not stated."""
    if asked.shape is None or asked.thickness is None:
        return np.zeros_like(heat), ()
    start = _start_up(asked.past)
    label = say("Heat from water to cabinet")
    surface = usual(
        label,
        sampling.between_factors(label.text, *SURFACE),
        say("{low} to {high} W/(m² K)", low=SURFACE[0], high=SURFACE[1]),
        say("from still air to good contact with a cold plate"),
        "plank",
        "planning-bands",
    )
    air = _cabinet_air(asked.past)
    size = stated(say("Thickness of the water"), asked.thickness)
    # All the heat of the water in place of that of freezing alone, as in the report's own figure.
    seconds = water.plank_freezing_time(
        asked.shape, size.draws / 1000, 0.0, air.draws, surface.draws, latent_heat=np.asarray(heat)
    )
    return np.asarray(supply.hours_to_solid(0.0, start.draws, seconds / 3600)), (start, surface, air)


def _start_up(past: tuple[PastRun, ...]) -> Taken:
    label = say("Until the cabinet is below 0 °C")
    known = own(label, past, "time_to_0", "h")
    if known is not None:
        return known
    low, high = START_UP
    return usual(
        label,
        sampling.between(label.text, low, high),
        say("{low} to {high} h", low=low, high=high),
        say("published as up to {high} h", high=high),
        "start-of-cooling",
        "planning-bands",
    )


def _cabinet_air(past: tuple[PastRun, ...]) -> Taken:
    label = say("Air in the cold cabinet")
    lowest = [run.figures["temperature_lowest"] for run in past if run.figures.get("temperature_lowest", 0.0) < -1.0]
    if lowest:
        cold = float(np.mean(lowest))
        draws = sampling.between(label.text, cold, cold / 2)
        why = say("from the lowest of your own runs to half of it")
        return Taken(label, draws, OWN_RUNS, spread_text(draws, "°C"), why, ("planning-bands",))
    low, high = CABINET
    return usual(
        label,
        sampling.between(label.text, low, high),
        say("{low} to {high} °C", low=low, high=high),
        say("usual in a cabinet that makes ice"),
        "planning-bands",
    )


def _need(
    asked: Asked,
    around: Circumstances,
    freezing: _Freezing,
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
        found.append(Answer(available.key, available.label, "L", available.value, available.interval, "measured"))
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
    freezing: _Freezing,
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
        return _not(key, say("needs runs of your own that tell when the cabinet reached 0 °C (--from), or --heat-leak"))
    if need is None:
        return _not(key, say("the heat leak costs gas for as long as the burner is lit: state --water"))
    leak, cop = stated(say("Heat leak"), asked.heat_leak), _cooling_cop()
    air = _cabinet_air(asked.past)
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
    return Answer(key, found.label, found.unit, float(np.quantile(draws, share)), found.interval, found.basis)


def _not(key: str, reason: Message) -> Answer:
    label, unit = LABELS[key]
    return withheld(key, label, unit, reason)
