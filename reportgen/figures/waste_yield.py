"""The gas yield of the waste: from totals, from a model of the feed log, per volatile solids, and at most."""

from __future__ import annotations

import math

import numpy as np

from reportgen.calc import gas_yield, gas_yield_model, theoretical_yield, uncertainty
from reportgen.calc.digester_log import Reason
from reportgen.figures.figure import (
    SIMULATED,
    Assumption,
    Figure,
    because_of,
    derived,
    given,
    not_given,
    stated,
)
from reportgen.message import Message, Written, listed, say
from reportgen.trial import Numbers, Trial, wall_clock

DAY = 86400.0
#: Relative standard uncertainty of the theoretical yield of a known composition: methane is no ideal gas (ours).
THEORY_RELATIVE = 0.003
#: The gas log must cover at least this share of the days of the feed log for a yield from totals (ours).
COVERED = 0.8
#: Volatile solids cannot give more methane than pure fat would (Buswell and Mueller).
HIGHEST_METHANE_YIELD = theoretical_yield.theoretical_methane_yield(
    theoretical_yield.parse_formula(theoretical_yield.LIPID)
)
_REASONS = {
    "no_feed": say("no feed is logged"),
    "no_gas": say("no gas production is logged"),
    "logs_apart": say("the feed log and the gas log share no days"),
    "window_short": say("feed log and gas log share only {days} days; {needed_days} are needed"),
    "feed_uneven": say("daily feed varies too much ({variation} of its mean, at most {limit})"),
    "weekly_feed_uneven": say("weekly feed varies too much ({variation} of its mean, at most {limit})"),
    "gas_drifts": say("daily gas drifts over the days, by {drift} of its mean"),
    "feed_log_short": say("the feed log spans {days} days; the model needs {needed_days}"),
    "gas_log_short": say("the gas log spans {days} days; the model needs {needed_days}"),
    "gas_rows_few": say("{rows} rows of gas production are too few; the model needs {needed_rows}"),
    "not_constrained": say("the logs leave the model's yield open"),
}


def feed_log(trial: Trial) -> tuple[Numbers, Numbers]:
    """Return days and masses [kg] of the feeds."""
    return _local_days(trial, np.array([f.at for f in trial.feeds])), np.array([f.fresh_mass for f in trial.feeds])


def gas_log(trial: Trial) -> tuple[Numbers, Numbers]:
    """Return days and amounts [L as read] of the logged production."""
    amounts = trial.column("gas_produced")
    if amounts is None:
        return np.empty(0), np.empty(0)
    return _local_days(trial, amounts.at), amounts.values.astype(float)


def _local_days(trial: Trial, at: Numbers) -> Numbers:
    """Return times in days whose whole numbers are local midnights: feeding goes by the wall clock."""
    if not len(at):
        return at
    offset = wall_clock(float(at[-1]), trial.zone).utcoffset()
    return (at + (offset.total_seconds() if offset else 0.0)) / DAY


def steadiness(trial: Trial) -> tuple[bool, tuple[Message, ...]]:
    """Return whether feeding was steady enough for a yield from totals, and what speaks against it."""
    feed, gas = feed_log(trial), gas_log(trial)
    if not len(feed[0]) or not len(gas[0]):
        return False, (say("feed and daily gas are not both logged"),)
    steady, reasons = gas_yield.feeding_is_steady(*feed, *gas)
    return steady, tuple(_said(reason) for reason in reasons)


def _said(reason: Reason) -> Message:
    return _REASONS[reason.code].filled(**{name: round(value, 2) for name, value in reason.values.items()})


def yield_fresh(trial: Trial, fed: Figure, produced: Figure) -> Figure:
    """Return totals over totals, where the two logs cover the same days."""
    key = "gas_yield_fresh"
    missing = next((need for need in (produced, fed) if not need.is_given), None)
    if missing is not None:
        return not_given(key, because_of(missing))
    feed, gas = feed_log(trial), gas_log(trial)
    apart = say("feed log and gas log cover too few days in common for totals to speak of the same feed")
    if len(gas[0]) < 2:
        return not_given(key, apart)
    found = gas_yield.steady_yield(*feed, *gas)
    if isinstance(found, Reason):
        return not_given(key, _said(found))
    longest = max(float(at[-1] - at[0]) for at, _ in (feed, gas))
    if found.last_day - found.first_day < COVERED * longest:
        return not_given(key, apart)
    return derived(
        key,
        lambda g, w: g / w,
        produced,
        fed,
        method="totals over the log",
        working=lambda r, g, w: say("gas produced / waste fed = {g} L / {w} kg = {r} L/kg", g=g, w=w, r=r),
    )


def ends_of_logs(trial: Trial) -> Figure:
    """Return one, uncertain by what the ends of the logs leave open of the yield of the waste itself.

    Part of the gas at the beginning came from earlier feed; the last feeds have not given all of theirs.
    """
    found = gas_yield.steady_yield(*feed_log(trial), *gas_log(trial))
    if isinstance(found, Reason):
        return not_given("ends_of_logs", _said(found))
    number = uncertainty.estimate(1.0, found.relative_standard_uncertainty, "ends of the feed and gas logs")
    return given("ends_of_logs", number, basis="derived")


def yield_model(trial: Trial, fed: Figure, produced: Figure, factor: Figure) -> Figure:
    """Return the yield of the first-order model; it shares the errors of the gas and feed scales with the totals."""
    key = "gas_yield_model"
    missing = next((need for need in (produced, fed) if not need.is_given), None)
    if missing is not None:
        return not_given(key, because_of(missing))
    feed, gas = feed_log(trial), gas_log(trial)
    if not len(feed[0]) or not len(gas[0]):
        return not_given(key, say("feed and daily gas are not both logged"))
    found = gas_yield_model.first_order_yield(*feed, *gas)
    if isinstance(found, Reason):
        return not_given(key, _said(found))
    relative = uncertainty.estimate(1.0, found.standard_uncertainty / found.value, "first-order model of the digester")
    fitted = given("model_yield", found.value * relative, basis="derived")
    figure = derived(
        key,
        lambda y, g, w: y * factor.value * (g / produced.value) / (w / fed.value),
        fitted,
        produced,
        fed,
        method="first-order model of the feed log",
        working=lambda r, y, _g, _w: say(
            "gas of each day = yield × sum of feeds × decay, rates {a} to {b} per day, {share} % of the gas from "
            "earlier feed: {y} L/kg as read × {f} = {r} L/kg",
            a=found.rates[0],
            b=found.rates[1],
            share=round(found.background_share * 100),
            y=y,
            f=factor.number,
            r=r,
        ),
    )
    shared = derived("shared", lambda g, w: g / w, produced, fed, working=lambda r, _g, _w: say("{r}", r=r))
    other = found.value * factor.value * uncertainty.coverage_factor() * shared.standard_uncertainty / shared.value
    low, high = (abs(end * factor.value - figure.value) for end in found.interval_95)
    interval = (figure.value - math.hypot(low, other), figure.value + math.hypot(high, other))
    return figure.renamed(key, interval=interval, interval_kind=SIMULATED)


def yield_per_solids(trial: Trial, produced: Figure, solids: Figure) -> Figure:
    """Return gas produced over volatile solids fed."""
    covered = yield_fresh(trial, solids, produced)
    if covered.reason is not None:
        return not_given("gas_yield_vs", covered.reason)
    return covered.renamed(
        "gas_yield_vs",
        working=say(
            "gas produced / volatile solids fed = {g} L / {s} kg = {r} L/kg",
            g=produced.number,
            s=solids.number,
            r=covered.number,
        ),
    )


def theoretical_yield_figure(trial: Trial) -> Figure:
    """Return the methane yield that the composition allows at most."""
    key, sheet = "theoretical_methane_yield", trial.sheet.digester
    spread, assumptions = 0.0, tuple[Assumption, ...]()
    if sheet.formula:
        try:
            counts = theoretical_yield.parse_formula(sheet.formula)
            value = theoretical_yield.theoretical_methane_yield(counts)
        except ValueError as error:
            return not_given(key, say("digester.formula cannot be used: {error}", error=str(error)))
        place, text = "formula", say("{text}", text=sheet.formula)
    elif sheet.composition is not None:
        parts = [
            stated(
                name, getattr(sheet.composition, name), f"digester.composition.{name}", source="composition of the feed"
            )
            for name in ("carbohydrate", "protein", "lipid")
        ]
        shares = [part.value / 100 for part in parts]
        try:
            value = theoretical_yield.yield_from_composition(*shares)
        except ValueError as error:
            return not_given(key, say("digester.composition cannot be used: {error}", error=str(error)))
        pure = [
            theoretical_yield.theoretical_methane_yield(theoretical_yield.parse_formula(formula))
            for formula in (theoretical_yield.CARBOHYDRATE, theoretical_yield.PROTEIN, theoretical_yield.LIPID)
        ]
        mixed = derived(
            key,
            lambda *s: sum(a * b for a, b in zip(s, pure, strict=True)) / sum(s),
            *parts,
            working=lambda r, *_: say("{r}", r=r),
        )
        spread = mixed.standard_uncertainty
        assumptions = parts[0].assumptions or parts[1].assumptions or parts[2].assumptions
        shown = listed((Written(share, 2) for share in shares), say(" : "))
        place, text = "composition", say("{text}", text=shown)
    else:
        return not_given(
            key, say("the composition of the volatile solids is not recorded (digester.composition or .formula)")
        )
    number = uncertainty.estimate(value, math.hypot(spread, THEORY_RELATIVE * value), "composition of the feed")
    working = say("Buswell and Boyle for {text} = {number} L/kg", text=text, number=number)
    return given(
        key, number, basis="derived", inputs=[f"trial.toml:digester.{place}"], working=working, assumptions=assumptions
    )


def below_theory(figure: Figure, theoretical: Figure) -> Figure:
    """Return a methane yield, withheld where it is above the theoretical one."""
    if not figure.is_given:
        return figure
    ceiling = theoretical.value if theoretical.is_given else HIGHEST_METHANE_YIELD
    if figure.value <= ceiling:
        return figure
    return not_given(
        figure.key,
        say(
            "{value} L/kg would be above the theoretical yield of {ceiling} L/kg; feed or gas log must be incomplete",
            value=figure.number,
            ceiling=ceiling,
        ),
        inputs=figure.inputs,
        impossible=True,
    )
