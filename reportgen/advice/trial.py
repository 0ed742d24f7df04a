"""Household advice from a trial: its own gas a day, burner rate and yield, where it gives them."""

from __future__ import annotations

from reportgen.advice.model import Advice, make_advice
from reportgen.advice.words import advice_page
from reportgen.figures import Results
from reportgen.message import say
from reportgen.outputs import outputs
from reportgen.plan.page import Page
from reportgen.plan.past import PastRun
from reportgen.trial import Trial
from reportgen.units import Stated


def advice_section(trial: Trial, results: Results) -> Page | None:
    """Return the advice that a trial supports as text for its report; None where no log tells a day's gas."""
    if not outputs(trial, results).gas_per_day.is_given:
        return None
    return advice_page(advice_of_trial(trial, results), on_its_own=False)


def advice_of_trial(trial: Trial, results: Results) -> Advice:
    """Return the advice that a trial supports; what it does not give is taken as published, and named."""
    given = {key: figure.value for key, figure in results.figures.items() if figure.is_given}
    return make_advice(daily_gas=_daily_gas(trial, results), past=(PastRun(trial.sheet.id or trial.folder, given),))


def _daily_gas(trial: Trial, results: Results) -> Stated | None:
    """Return the mean gas of a day of the log, as read in the run; None where no log tells it."""
    standard = outputs(trial, results).gas_per_day
    as_read, dry = results["gas_used_as_read"], results["gas_used"]
    if not (standard.is_given and as_read.is_given and dry.is_given and dry.value > 0):
        return None
    factor = as_read.value / dry.value
    value, deviation = standard.value * factor, standard.standard_uncertainty * factor
    return Stated(value, deviation, "L/d", str(say("{litres} L a day by the log", litres=f"{value:.0f}")), True)
