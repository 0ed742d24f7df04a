"""All figures of a trial together, in the order of the catalogue, with the assumptions behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.calc import uncertainty
from reportgen.calc.response import Response
from reportgen.catalogue import KINDS
from reportgen.figures.budget import Budget, budgets
from reportgen.figures.cabinet import ambient_mean, cabinet_figures
from reportgen.figures.chain import chain_figures
from reportgen.figures.figure import Assumption, Figure
from reportgen.figures.freezing import freezing_figures
from reportgen.figures.gas import gas_figures
from reportgen.figures.gas_account import GasAccount
from reportgen.figures.gas_course import GasCourse, gas_course
from reportgen.figures.gas_state import GasState, gas_state, methane_fraction
from reportgen.figures.heat_leak import heat_leak_figures
from reportgen.figures.ice import Bracket, ice_figures
from reportgen.figures.plausibility import unusual
from reportgen.figures.reference import Comparison, compare_with_reference
from reportgen.figures.run import run_figures
from reportgen.figures.waste import waste_figures
from reportgen.message import Message
from reportgen.trial import Finding, Trial

#: Figures that a report leads with; an assumption is judged by what it does to the first of these it affects.
HEADLINE = (
    "energy_per_ice",
    "gas_per_ice",
    "waste_to_ice",
    "energy_used",
    "gas_used",
    "heat_removed",
    "cop_reversible",
    "time_to_0",
    "cooling_rate_mean",
    "loading_rate",
)
#: Figures whose uncertainty budget a report shows.
BUDGETED = (
    "gas_per_hour",
    "cooling_rate_mean",
    "time_to_0",
    "ice_making_time",
    "heat_removed",
    "energy_per_ice",
    "cop_ice",
    "waste_to_ice",
)


@dataclass(frozen=True)
class AssumptionEffect:
    """An assumption, the figures it affects, and the share of the variance of one of them that it accounts for."""

    assumption: Assumption
    affects: tuple[str, ...]
    share_of: str | None
    share_of_variance: float | None


@dataclass(frozen=True)
class Results:
    """Everything computed from a trial.

    Attributes
    ----------
    figures : mapping of str to Figure
        By key, in the order of the catalogue; all of them, given or not.
    gas_state : GasState
    gas_account : GasAccount or Message
        The message says why there is none.
    gas_course : GasCourse
        How the gas was drawn: the rate over windows, and where it changed.
    bracket : Bracket or None
        The looks between which all the ice was solid.
    response : Response or None
        The fitted cooling response.
    assumptions : tuple of AssumptionEffect
    budgets : tuple of Budget
        Of the headline figures that are given.
    comparisons : tuple of Comparison
        With a reference run of the same appliance on another heat source, where one is stated.
    findings : tuple of Finding
        Of the reading and of the computing.
    """

    figures: Mapping[str, Figure]
    gas_state: GasState
    gas_account: GasAccount | Message
    gas_course: GasCourse
    bracket: Bracket | None
    response: Response | None
    assumptions: tuple[AssumptionEffect, ...]
    budgets: tuple[Budget, ...]
    comparisons: tuple[Comparison, ...]
    findings: tuple[Finding, ...]

    def __getitem__(self, key: str) -> Figure:
        return self.figures[key]


def compute(trial: Trial) -> Results:
    """Compute every figure of the catalogue for a trial."""
    run = {figure.key: figure for figure in run_figures(trial)}
    ambient = ambient_mean(trial)
    state = gas_state(trial, ambient)
    methane = methane_fraction(trial)
    gas = gas_figures(trial, run["burning_time"], methane, state)
    course = gas_course(trial, gas.account)
    cabinet = cabinet_figures(trial)
    found = {**run, **{f.key: f for f in (ambient, methane, *gas.figures, *course.figures, *cabinet.figures)}}
    ice = ice_figures(trial, found["temperature_lowest"])
    found |= {figure.key: figure for figure in ice.figures}
    chain = chain_figures(
        trial,
        found["gas_used_as_read"],
        found["gas_used"],
        methane,
        found["energy_used"],
        found["ice_mass"],
        found["heat_removed"],
        ambient,
        found["temperature_lowest"],
    )
    waste = waste_figures(trial, found["gas_used"], found["gas_produced"], methane, found["ice_mass"], state.factor)
    found |= {figure.key: figure for figure in (*chain, *waste.figures)}
    freezing = freezing_figures(
        trial,
        found["temperature_lowest"],
        ice.bracket,
        found["freezing_time"],
        found["heat_removed"],
        found["ice_mass"],
    )
    leak = heat_leak_figures(trial, ambient, found["heat_removed"], found["energy_used"], found["cop_reversible"])
    found |= {figure.key: figure for figure in (*freezing.figures, *leak)}
    figures = {key: found[key] for key in KINDS}
    findings = (
        *trial.findings,
        *gas.findings,
        *course.findings,
        *cabinet.findings,
        *ice.findings,
        *freezing.findings,
        *waste.findings,
        *unusual(trial, figures),
    )
    return Results(
        figures,
        state,
        gas.account,
        course,
        ice.bracket,
        cabinet.response,
        _assumptions(figures),
        budgets(figures, BUDGETED),
        compare_with_reference(trial, figures),
        findings,
    )


def _assumptions(figures: Mapping[str, Figure]) -> tuple[AssumptionEffect, ...]:
    """Return each assumption once, those of values first, then by what they do to the headline."""
    taken: dict[str, Assumption] = {}
    affects: dict[str, list[str]] = {}
    for key, figure in figures.items():
        for assumption in figure.assumptions if figure.is_given else ():
            taken.setdefault(assumption.name, assumption)
            affects.setdefault(assumption.name, []).append(key)
    effects = []
    for name, assumption in taken.items():
        judged = next((key for key in HEADLINE if key in affects[name]), affects[name][0])
        share = uncertainty.variance_shares(figures[judged].number).get(name)
        effects.append(AssumptionEffect(assumption, tuple(affects[name]), judged if share else None, share))
    rank = {key: i for i, key in enumerate(HEADLINE)}
    return tuple(
        sorted(
            effects,
            key=lambda e: (not e.assumption.of_value, rank.get(e.share_of or "", 99), -(e.share_of_variance or 0.0)),
        )
    )
