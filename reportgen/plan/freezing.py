"""How gas turns into ice: by own runs or as published; the heat of the water; and how soon its shape lets it freeze."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from reportgen.calc import sampling, supply, water
from reportgen.figures.freezing import SURFACE
from reportgen.message import say
from reportgen.plan.answers import (
    OWN_RUNS,
    SPREAD_WEIGHT,
    USUAL_SPREAD,
    Floats,
    Taken,
    from_runs,
    own,
    spread_text,
    stated,
    usual,
)
from reportgen.plan.asked import Asked
from reportgen.plan.circumstances import Circumstances
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
#: The share of an earlier run's gas that would be spent for any amount of ice, at most [1]: it cools the cabinet down
#: and makes up for what leaks in (ours; in invented runs of one appliance it is about two thirds).
FIXED_SHARE = 0.7


@dataclass(frozen=True)
class Freezing:
    """How gas turns into ice: the gas as read [L] for a heat [kJ], the heat for a gas, and what they rest on."""

    gas_for: Callable[[Floats], Floats]
    heat_of: Callable[[Floats], Floats]
    rests_on: tuple[Taken, ...]


def freezing_of(asked: Asked, around: Circumstances) -> Freezing:
    """Return how gas turns into ice: as in the runs of one's own that tell, else as published."""
    runs = [run for run in asked.past if seen([run], "gas_used") and seen([run], "heat_removed")]
    return _as_in_own_runs(asked, around, runs) if runs else _as_published(around)


def _as_published(around: Circumstances) -> Freezing:
    cop, share = cooling_cop(), _share_of_ice()
    on_ice = cop.draws * share.draws
    return Freezing(
        lambda heat: np.asarray(supply.gas_for_heat(heat, on_ice, around.energy)),
        lambda gas: gas * around.energy * 1000 * on_ice,
        (cop, share),
    )


def _as_in_own_runs(asked: Asked, around: Circumstances, runs: list[PastRun]) -> Freezing:
    """Return the freezing of earlier runs, as standard dry gas for heat, scaled to the methane and the heat planned."""
    used, heats = ([run.figures[key] for run in runs] for key in ("gas_used", "heat_removed"))
    middle_heat = float(np.exp(np.mean(np.log(heats))))
    label = say("Gas for the heat taken from the water, standard dry")
    per_heat = sampling.next_of(
        label.text, [gas / heat for gas, heat in zip(used, heats, strict=True)], USUAL_SPREAD, SPREAD_WEIGHT
    )
    taken = from_runs(label, 1000 * per_heat, len(runs), "L/MJ")
    fixed = _fixed_share()
    # As much methane as then takes as much gas; richer gas takes less of it.
    logged = [run.figures["methane_fraction"] for run in runs if run.figures.get("methane_fraction", 0.0) > 0.0]
    richer = around.methane.draws / float(np.mean(logged)) if asked.methane is not None and logged else 1.0
    then = per_heat * middle_heat / richer / around.factor
    return Freezing(
        lambda heat: np.asarray(supply.scaled_by_heat(then, heat, middle_heat, fixed.draws)),
        lambda gas: np.asarray(supply.heat_within_reach(gas, then, middle_heat, fixed.draws)),
        (taken, fixed),
    )


def _fixed_share() -> Taken:
    label = say("Share of a run's gas that cools the cabinet, whatever the ice")
    return usual(
        label,
        sampling.between(label.text, 0.0, FIXED_SHARE),
        say("0 to {most} %", most=round(100 * FIXED_SHARE)),
        say("it matters only where more or less ice is planned than own runs made"),
        "planning-bands",
    )


def cooling_cop() -> Taken:
    """Return the heat that a small unit takes out over the heat of its flame [1]."""
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
        say("the rest cools the cabinet and what leaks in; own runs replace this"),
        "planning-bands",
        option="--from",
    )


def water_start(asked: Asked, around: Circumstances) -> Taken:
    """Return the temperature of the water when put in [degC]."""
    label = say("Water when put in")
    if asked.water_temperature is not None:
        return stated(label, asked.water_temperature, positive=False)
    draws = around.ambient.draws + sampling.between(label.text, -WATER_TO_AMBIENT, WATER_TO_AMBIENT)
    return usual(
        label,
        draws,
        say("as warm as the air within {limit} K", limit=WATER_TO_AMBIENT),
        say("not stated"),
        "planning-bands",
        option="--water-temperature",
    )


def heat_per_kilogram(start: Taken) -> Floats:
    """Return the heat [kJ/kg] from water as put in to ice a little below 0 °C."""
    ice = sampling.between("Ice at the end", *ICE)
    return np.asarray(water.heat_removed(1.0, 1.0, np.clip(start.draws, 0.0, 100.0), ice))


def least_hours(asked: Asked, heat: Floats) -> tuple[Floats, tuple[Taken, ...]]:
    """Return the hours before which no ice of the stated shape is solid, nor of any before the cabinet is cold."""
    start = _start_up(asked.past)
    if asked.shape is None or asked.thickness is None:
        return start.draws, (start,)
    label = say("Heat from water to cabinet")
    surface = usual(
        label,
        sampling.between_factors(label.text, *SURFACE),
        say("{low} to {high} W/(m² K)", low=SURFACE[0], high=SURFACE[1]),
        say("from still air to good contact with a cold plate"),
        "plank",
        "planning-bands",
    )
    air = cabinet_air(asked.past)
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


def cabinet_air(past: tuple[PastRun, ...]) -> Taken:
    """Return the temperature of the air in the cold cabinet [degC]."""
    label = say("Air in the cold cabinet")
    lowest = [run.figures["temperature_lowest"] for run in past if run.figures.get("temperature_lowest", 0.0) < -1.0]
    if lowest:
        cold = float(np.mean(lowest))
        draws = sampling.between(label.text, cold, cold / 2)
        why = say("from the lowest of own runs to half of it")
        return Taken(label, draws, OWN_RUNS, spread_text(draws, "°C"), why, ("planning-bands",))
    low, high = CABINET
    return usual(
        label,
        sampling.between(label.text, low, high),
        say("{low} to {high} °C", low=low, high=high),
        say("usual in a cabinet that makes ice"),
        "planning-bands",
    )
