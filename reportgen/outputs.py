"""What a trial put out, what it cost, and what a day's gas would do: figures for those who pay and those who cook."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from reportgen.calc import uncertainty
from reportgen.figures import Assumption, Figure, Results
from reportgen.figures.figure import derived, given, not_given
from reportgen.message import Message, say
from reportgen.read.sheet import PER_TRIAL
from reportgen.trial import Numbers, Trial

DAY = 86_400.0  # [s]
#: A shorter log of gas does not tell a day's gas [d] (ours).
SHORTEST_LOG = 7.0
#: Gas, as read, that boils one litre of water on a biogas stove [L/L]: the ends of the published range.
GAS_TO_BOIL = (30.0, 40.0)
#: Source of `GAS_TO_BOIL`.
BOILING = "biogas-stove"


@dataclass(frozen=True)
class Outputs:
    """Figures beside those of the catalogue; each is given or says why it is not.

    Attributes
    ----------
    cost_per_ice : Figure
        Costs of this trial alone per kilogram of ice, in `currency` per kg.
    currency : str
        "" where it is not stated.
    gas_per_day : Figure
        Mean gas of a day of the log, standard dry [L].
    ice_per_day : Figure
        Ice from it, if each kilogram took as much gas as in this trial [kg].
    water_boiled : Figure
        Water that the gas of one kilogram of ice would have brought to the boil [L].
    days : float
        Days that the log of gas stands for.
    """

    cost_per_ice: Figure
    currency: str
    gas_per_day: Figure
    ice_per_day: Figure
    water_boiled: Figure
    days: float


def outputs(trial: Trial, results: Results) -> Outputs:
    """Return the outputs of a trial."""
    readings = trial.column("gas_produced")
    days = days_of(readings.at) if readings is not None else 0.0
    gas = _gas_per_day(results["gas_produced"], days)
    return Outputs(
        cost_per_ice=cost_per_ice(trial, results["ice_mass"]),
        currency=f"{trial.sheet.costs.get('currency', '')}".strip(),
        gas_per_day=gas,
        ice_per_day=derived(
            "ice_per_day",
            lambda g, p: g / p,
            gas,
            results["gas_per_ice"],
            working=lambda m, g, p: say("gas of a day / gas per kg of ice = {g} L / {p} L/kg = {m} kg", g=g, p=p, m=m),
        ),
        water_boiled=_water_boiled(results["gas_per_ice_as_read"]),
        days=days,
    )


def days_of(at: Numbers) -> float:
    """Return the days that rows at these instants [s] stand for: from first to last, and one typical interval."""
    moments = np.unique(at)
    if len(moments) < 2:
        return 0.0
    return float(moments[-1] - moments[0] + np.median(np.diff(moments))) / DAY


def trial_costs(trial: Trial) -> dict[str, float]:
    """Return what this trial alone cost, by name; empty where nothing of that is stated."""
    stated = trial.sheet.costs.get(PER_TRIAL, {})
    return {name: float(amount) for name, amount in stated.items()} if isinstance(stated, Mapping) else {}


def cost_per_ice(trial: Trial, ice: Figure) -> Figure:
    """Return the costs of this trial alone per kilogram of ice.

    Costs under free names are left out: nothing tells whether they were spent on this trial or on the set-up.
    """
    costs = trial_costs(trial)
    if not costs:
        has_others = any(not isinstance(amount, str) for amount in trial.sheet.costs.values())
        reason = (
            say("which costs are of this trial alone is not recorded (costs.per_trial); a set-up serves many trials")
            if has_others
            else say("no costs of this trial are recorded (costs.per_trial)")
        )
        return not_given("cost_per_ice", reason)
    total = sum(costs.values())
    return derived(
        "cost_per_ice",
        lambda mass: total / mass,
        ice,
        working=lambda cost, mass: say(
            "costs of this trial / ice = {total} / {mass} kg = {cost} per kg", total=total, mass=mass, cost=cost
        ),
        inputs=[f"trial.toml:costs.{PER_TRIAL}"],
    )


def _gas_per_day(produced: Figure, days: float) -> Figure:
    if not produced.is_given:
        return not_given("gas_per_day", produced.reason or say("no gas production is logged"))
    if days < SHORTEST_LOG:
        reason = say("production is logged over {days} days; a day's gas needs {least}", days=days, least=SHORTEST_LOG)
        return not_given("gas_per_day", reason)
    return derived(
        "gas_per_day",
        lambda gas: gas / days,
        produced,
        working=lambda mean, gas: say(
            "gas produced / days of the log = {gas} L / {days} = {mean} L a day", gas=gas, days=days, mean=mean
        ),
    )


def _water_boiled(gas: Figure) -> Figure:
    low, high = GAS_TO_BOIL
    middle = (low + high) / 2
    taken = Assumption("gas to boil water", _range(low, high), say("published figures of biogas stoves"))
    stove = given(
        "gas_to_boil",
        uncertainty.estimate(middle, (high - low) / 2 / 3**0.5, taken.name),
        assumptions=[taken],
    )
    return derived(
        "water_boiled",
        lambda g, s: g / s,
        gas,
        stove,
        working=lambda w, g, s: say("gas per kg of ice / gas per litre boiled = {g} L / {s} L = {w} L", g=g, s=s, w=w),
    )


def _range(low: float, high: float) -> Message:
    return say("{low} to {high} L of gas for a litre", low=low, high=high)
