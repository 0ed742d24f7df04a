"""The waste figures: fed, yield, and the waste behind the gas, never same-day feed over same-day ice."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np

from reportgen.calc import gas_yield, theoretical_yield, uncertainty
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
from reportgen.message import Message, say
from reportgen.trial import Feed, Finding, Numbers, Trial

DAY = 86400.0
#: Kitchen scale that nobody described, relative limits (common practice, no source).
SCALE_LIMITS = 0.02
#: Total and volatile solids from a table or of unknown origin, relative limits (ours, after the usual spread of food waste).
TABLE_LIMITS = 0.15
#: Measured solids without a stated uncertainty, relative limits (common practice, no source).
SOLIDS_LIMITS = 0.05
#: Relative standard uncertainty of the theoretical yield of a known composition: methane is no ideal gas (ours).
THEORY_RELATIVE = 0.003
#: Volume of a kilogram of ground waste, relative limits about 1 L (common practice, no source).
WASTE_VOLUME_LIMITS = 0.05
#: The gas log must cover at least this share of the days of the feed log for a yield from totals (ours).
COVERED = 0.8
BACKGROUND = say(
    "An unknown part of this gas came from earlier feeds and the starter slurry; no digester was run without feed to tell."
)
#: Volatile solids cannot give more methane than pure fat would (Buswell and Mueller).
HIGHEST_METHANE_YIELD = theoretical_yield.theoretical_methane_yield(theoretical_yield.parse_formula(theoretical_yield.LIPID))

_REASONS = {
    "no_feed": "no feed is logged",
    "no_gas": "no gas production is logged",
    "logs_apart": "the feed log and the gas log share no days",
    "window_short": "feed log and gas log share only {days} days; {needed_days} are needed",
    "feed_uneven": "daily feed varies too much ({variation} of its mean, at most {limit})",
    "weekly_feed_uneven": "weekly feed varies too much ({variation} of its mean, at most {limit})",
    "gas_drifts": "daily gas drifts over the days, by {drift} of its mean",
    "feed_log_short": "the feed log spans {days} days; the model needs {needed_days}",
    "gas_log_short": "the gas log spans {days} days; the model needs {needed_days}",
    "gas_rows_few": "{rows} rows of gas production are too few; the model needs {needed_rows}",
    "not_constrained": "the logs leave the model's yield open",
}


@dataclass(frozen=True)
class WasteFigures:
    """The figures of this part, and findings."""

    figures: list[Figure]
    findings: tuple[Finding, ...]


def waste_figures(trial: Trial, gas_used: Figure, produced: Figure, methane: Figure, ice: Figure, factor: Figure) -> WasteFigures:
    """Return all waste figures."""
    scale = _scale()
    fed = _fed(trial, scale)
    solids = _volatile_solids(trial, scale)
    steady, why_not = _steadiness(trial)
    fresh = _yield_fresh(trial, fed, produced)
    model = _yield_model(trial, fed, produced, factor)
    per_solids = _per_solids(trial, produced, solids)
    theoretical = _theoretical(trial)
    methane_yield = derived(
        "methane_yield_vs", lambda y, x: y * x, per_solids, methane,
        working=lambda r, y, x: say("gas yield × methane fraction = {y} L/kg × {x} = {r} L/kg", y=y, x=x, r=r),
    )  # fmt: skip
    behind = _waste_for_run(trial, gas_used, steady, why_not, fresh, model, factor)
    figures = [
        fed, fresh, per_solids, _below_theory(methane_yield, theoretical), model, theoretical, behind,
        derived(
            "waste_to_ice", lambda w, m: w / m, behind, ice, method=behind.method,
            working=lambda r, w, m: say("waste behind the gas / ice = {w} kg / {m} kg = {r} kg/kg", w=w, m=m, r=r),
        ),
        _loading_rate(trial, solids),
        _retention_time(trial, fed),
    ]  # fmt: skip
    findings: tuple[Finding, ...] = ()
    if trial.feeds and not steady:
        findings = tuple(Finding("note", "feeding-not-steady", reason, effect=say(
            "the waste behind the gas rests on the model or on a stated yield, not on totals"))
            for reason in why_not)  # fmt: skip
    return WasteFigures(figures, findings)


def _scale() -> Figure:
    taken = Assumption("feed scale", say("right to {percent} %, as limits", percent=SCALE_LIMITS * 100),
                       say("the accuracy of the feed scale is not recorded"), of_value=False)  # fmt: skip
    return given("feed_scale", uncertainty.estimate(1.0, uncertainty.rectangular(SCALE_LIMITS), "feed scale"), assumptions=[taken])


def _sources(feeds: tuple[Feed, ...], trial: Trial) -> object:
    readings = trial.column("fresh_mass")
    return readings if readings is not None else [f"{feed.file}:{feed.row}" for feed in feeds[:1]]


def _fed(trial: Trial, scale: Figure) -> Figure:
    if not trial.feeds:
        return not_given("waste_fed", say("no feed is logged (column fresh_mass)"))
    total = sum(feed.fresh_mass for feed in trial.feeds)
    if total <= 0:
        return not_given("waste_fed", say("the feed log adds up to nought"), inputs=[_sources(trial.feeds, trial)])
    readings = trial.column("fresh_mass")
    step = readings.step if readings is not None else 0.0
    number = uncertainty.estimate(total, uncertainty.rounding(step) * len(trial.feeds) ** 0.5, "feed readings") * scale.number
    working = say("sum of {n} feeds = {number} kg", n=len(trial.feeds), number=number)
    return given("waste_fed", number, inputs=[_sources(trial.feeds, trial)], working=working, assumptions=scale.assumptions)


def _volatile_solids(trial: Trial, scale: Figure) -> Figure:
    """Return the volatile solids fed over the log [kg]; feeds without solids count with the mean of those with."""
    key = "volatile_solids_fed"
    if not trial.feeds:
        return not_given(key, say("no feed is logged (column fresh_mass)"))
    known = [f for f in trial.feeds if f.total_solids is not None and f.volatile_solids is not None]
    if not known:
        return not_given(key, say("total and volatile solids of the feed are not recorded"))
    shares = [f.fresh_mass * f.total_solids * f.volatile_solids / 1e4 for f in known]  # type: ignore[operator]
    weighed = sum(f.fresh_mass for f in known)
    if not sum(shares) > 0:
        return not_given(key, say("the solids of the feed are nought"))
    total = sum(shares) / weighed * sum(f.fresh_mass for f in trial.feeds)
    assumptions = list(scale.assumptions)
    source = trial.sheet.digester.solids_source
    limits = SOLIDS_LIMITS if source == "measured" else TABLE_LIMITS
    why = say("how they were found is not recorded (digester.solids_source)")
    if source == "measured":
        why = say("they were measured; how well is not recorded")
    elif source == "table":
        why = say("they are taken from a table ({source})", source=trial.sheet.digester.source or "not named")
    assumptions.append(Assumption(
        "solids of the feed", say("as logged, give or take {percent} %", percent=limits * 100), why,
        of_value=source != "measured"))  # fmt: skip
    if len(known) < len(trial.feeds):
        assumptions.append(Assumption(
            "solids of other feeds", say("{n} feeds without solids are like the others", n=len(trial.feeds) - len(known)),
            say("their solids are not recorded")))  # fmt: skip
    number = scale.number * uncertainty.estimate(total, total * uncertainty.rectangular(limits), "solids of the feed")
    return given(key, number, basis="derived", inputs=[_sources(trial.feeds, trial)], assumptions=assumptions)


def _feed_log(trial: Trial) -> tuple[Numbers, Numbers]:
    return _local_days(trial, np.array([f.at for f in trial.feeds])), np.array([f.fresh_mass for f in trial.feeds])


def _gas_log(trial: Trial) -> tuple[Numbers, Numbers]:
    amounts = trial.column("gas_produced")
    if amounts is None:
        return np.empty(0), np.empty(0)
    return _local_days(trial, amounts.at), amounts.values.astype(float)


def _local_days(trial: Trial, at: Numbers) -> Numbers:
    """Return times in days whose whole numbers are local midnights: feeding goes by the wall clock."""
    if not len(at):
        return at
    offset = dt.datetime.fromtimestamp(float(at[-1]), trial.zone).utcoffset()
    return (at + (offset.total_seconds() if offset else 0.0)) / DAY


def _steadiness(trial: Trial) -> tuple[bool, tuple[Message, ...]]:
    feed, gas = _feed_log(trial), _gas_log(trial)
    if not len(feed[0]) or not len(gas[0]):
        return False, (say("feed and daily gas are not both logged"),)
    steady, reasons = gas_yield.feeding_is_steady(*feed, *gas)
    return steady, tuple(_said(reason) for reason in reasons)


def _said(reason: gas_yield.Reason) -> Message:
    return say(_REASONS[reason.code], **{name: round(value, 2) for name, value in reason.values.items()})


def _yield_fresh(trial: Trial, fed: Figure, produced: Figure) -> Figure:
    """Return totals over totals, uncertain also by what the ends of the logs leave open."""
    key = "gas_yield_fresh"
    missing = next((need for need in (produced, fed) if not need.is_given), None)
    if missing is not None:
        return not_given(key, because_of(missing))
    feed, gas = _feed_log(trial), _gas_log(trial)
    apart = say("feed log and gas log cover too few days in common for totals to speak of the same feed")
    if len(gas[0]) < 2:
        return not_given(key, apart)
    found = gas_yield.steady_yield(*feed, *gas)
    if isinstance(found, gas_yield.Reason):
        return not_given(key, _said(found))
    longest = max(float(at[-1] - at[0]) for at, _ in (feed, gas))
    if found.last_day - found.first_day < COVERED * longest:
        return not_given(key, apart)
    ends = given("log_ends", uncertainty.estimate(1.0, found.relative_standard_uncertainty, "ends of the feed and gas logs"))
    return derived(
        key, lambda g, w, e: g / w * e, produced, fed, ends, method="totals over the log",
        working=lambda r, g, w, e: say("gas produced / waste fed = {g} L / {w} kg = {r} L/kg", g=g, w=w, r=r),
    )  # fmt: skip


def _yield_model(trial: Trial, fed: Figure, produced: Figure, factor: Figure) -> Figure:
    """Return the yield of the first-order model; it shares the errors of the gas and feed scales with the totals."""
    key = "gas_yield_model"
    missing = next((need for need in (produced, fed) if not need.is_given), None)
    if missing is not None:
        return not_given(key, because_of(missing))
    feed, gas = _feed_log(trial), _gas_log(trial)
    if not len(feed[0]) or not len(gas[0]):
        return not_given(key, say("feed and daily gas are not both logged"))
    found = gas_yield.first_order_yield(*feed, *gas)
    if isinstance(found, gas_yield.Reason):
        return not_given(key, _said(found))
    relative = uncertainty.estimate(1.0, found.standard_uncertainty / found.value, "first-order model of the digester")
    fitted = given("model_yield", found.value * relative, basis="derived")
    figure = derived(
        key, lambda y, g, w: y * factor.value * (g / produced.value) / (w / fed.value), fitted, produced, fed,
        method="first-order model of the feed log",
        working=lambda r, y, _g, _w: say(
            "gas of each day = yield × sum of feeds × decay, rates {a} to {b} per day, {share} % of the gas from earlier "
            "feed: {y} L/kg as read × {f} = {r} L/kg",
            a=found.rates[0], b=found.rates[1], share=round(found.background_share * 100), y=y, f=factor.number, r=r),
    )  # fmt: skip
    shared = derived("shared", lambda g, w: g / w, produced, fed, working=lambda r, _g, _w: say("{r}", r=r))
    other = found.value * factor.value * uncertainty.coverage_factor() * shared.standard_uncertainty / shared.value
    low, high = (abs(end * factor.value - figure.value) for end in found.interval_95)
    interval = (figure.value - math.hypot(low, other), figure.value + math.hypot(high, other))
    return figure.renamed(key, interval=interval, interval_kind=SIMULATED)


def _per_solids(trial: Trial, produced: Figure, solids: Figure) -> Figure:
    covered = _yield_fresh(trial, solids, produced)
    if covered.reason is not None:
        return not_given("gas_yield_vs", covered.reason)
    return covered.renamed("gas_yield_vs", working=say(
        "gas produced / volatile solids fed = {g} L / {s} kg = {r} L/kg", g=produced.number, s=solids.number, r=covered.number))  # fmt: skip


def _theoretical(trial: Trial) -> Figure:
    key, sheet = "theoretical_methane_yield", trial.sheet.digester
    spread, assumptions = 0.0, tuple[Assumption, ...]()
    if sheet.formula:
        try:
            counts = theoretical_yield.parse_formula(sheet.formula)
            value = theoretical_yield.theoretical_methane_yield(counts)
        except ValueError as error:
            return not_given(key, say("digester.formula cannot be used: {error}", error=str(error)))
        place, text = "formula", sheet.formula
    elif sheet.composition is not None:
        parts = [
            stated(name, getattr(sheet.composition, name), f"digester.composition.{name}", source="composition of the feed")
            for name in ("carbohydrate", "protein", "lipid")
        ]
        shares = [part.value / 100 for part in parts]
        try:
            value = theoretical_yield.yield_from_composition(*shares)
        except ValueError as error:
            return not_given(key, say("digester.composition cannot be used: {error}", error=str(error)))
        pure = [theoretical_yield.theoretical_methane_yield(theoretical_yield.parse_formula(formula)) for formula in (
            theoretical_yield.CARBOHYDRATE, theoretical_yield.PROTEIN, theoretical_yield.LIPID)]  # fmt: skip
        mixed = derived(
            key, lambda *s: sum(a * b for a, b in zip(s, pure, strict=True)) / sum(s), *parts,
            working=lambda r, *_: say("{r}", r=r),
        )  # fmt: skip
        spread = mixed.standard_uncertainty
        assumptions = parts[0].assumptions or parts[1].assumptions or parts[2].assumptions
        place, text = "composition", " : ".join(f"{share:.2f}" for share in shares)
    else:
        return not_given(key, say("the composition of the volatile solids is not recorded (digester.composition or .formula)"))
    number = uncertainty.estimate(value, math.hypot(spread, THEORY_RELATIVE * value), "composition of the feed")
    working = say("Buswell and Boyle for {text} = {number} L/kg", text=text, number=number)
    return given(key, number, basis="derived", inputs=[f"trial.toml:digester.{place}"], working=working,
                 assumptions=assumptions)  # fmt: skip


def _below_theory(figure: Figure, theoretical: Figure) -> Figure:
    if not figure.is_given:
        return figure
    ceiling = theoretical.value if theoretical.is_given else HIGHEST_METHANE_YIELD
    if figure.value <= ceiling:
        return figure
    return not_given(figure.key, say(
        "{value} L/kg would be above the theoretical yield of {ceiling} L/kg; feed or gas log must be incomplete",
        value=figure.number, ceiling=ceiling), inputs=figure.inputs)  # fmt: skip


def _waste_for_run(
    trial: Trial, gas_used: Figure, steady: bool, why_not: tuple[Message, ...], fresh: Figure, model: Figure, factor: Figure
) -> Figure:
    """Return gas used over the yield: totals where feeding was steady, else the model, else a stated yield."""
    if steady and fresh.is_given:
        chosen, method = fresh, "yield from totals at steady feeding"
    elif model.is_given:
        chosen, method = model, "yield from a first-order model of the feed log"
    elif trial.sheet.digester.specific_yield is not None:
        chosen, method = _stated_yield(trial, factor), "yield as stated"
    else:
        reason = why_not[0] if why_not else (fresh.reason or say("no yield is known"))
        return not_given("waste_for_run", say(
            "no yield connects the gas to the waste: {reason}; and none is stated (digester.specific_yield)", reason=reason))  # fmt: skip
    return derived(
        "waste_for_run", lambda v, y: v / y, gas_used, chosen, method=method,
        working=lambda r, v, y: say("gas used / yield = {v} L / {y} L/kg = {r} kg of fresh waste", v=v, y=y, r=r),
    )  # fmt: skip


def _stated_yield(trial: Trial, factor: Figure) -> Figure:
    quantity = trial.sheet.digester.specific_yield
    assert quantity is not None
    figure = stated("specific_yield", quantity, "digester.specific_yield")
    source = trial.sheet.digester.source
    taken = Assumption(
        "specific yield", say("{text} of fresh mass, {basis}", text=quantity.text, basis=trial.sheet.digester.yield_basis),
        say("stated, from {source}", source=source) if source else say("stated, without a source"),
    )  # fmt: skip
    figure = given("specific_yield", figure.number, inputs=figure.inputs, assumptions=[taken])
    if trial.sheet.digester.yield_basis == "standard":
        return figure
    return derived("specific_yield", lambda y, f: y * f, figure, factor, working=lambda r, y, f: say("{r}", r=r))


def _days(trial: Trial) -> float:
    """Return the days the feed log stands for: from the first day with a feed to the last, and one typical interval."""
    fed = np.unique(np.floor(_feed_log(trial)[0]))
    return float((fed[-1] - fed[0]) * len(fed) / (len(fed) - 1)) if len(fed) > 1 else 0.0


def _loading_rate(trial: Trial, solids: Figure) -> Figure:
    volume, days = _working_volume(trial), _days(trial)
    if solids.is_given and not days:
        return not_given("loading_rate", say("a rate needs feeds on more than one day"))
    return derived(
        "loading_rate", lambda s, v: s / days / (v / 1000), solids, volume,
        working=lambda r, s, v: say(
            "volatile solids / days / volume = {s} kg / {days} d / ({v} L / 1000) = {r} kg/(m³ d)", s=s, days=days, v=v, r=r),
    )  # fmt: skip


def _retention_time(trial: Trial, fed: Figure) -> Figure:
    volume, days = _working_volume(trial), _days(trial)
    if not fed.is_given or not volume.is_given:
        return not_given("retention_time", because_of(volume if fed.is_given else fed))
    if not days:
        return not_given("retention_time", say("a rate needs feeds on more than one day"))
    added = trial.column("water_added")
    assumptions = []
    if added is None:
        return not_given("retention_time", say("the water fed with the waste is not recorded (column water_added)"))
    water = float(added.values.sum())
    assumptions.append(Assumption(
        "volume of the feed", say("1 L per kg, give or take {percent} %", percent=WASTE_VOLUME_LIMITS * 100),
        say("the density of the ground waste is not recorded"), of_value=False))  # fmt: skip
    litres = uncertainty.estimate(1.0, uncertainty.rectangular(WASTE_VOLUME_LIMITS), "volume of the feed")
    return derived(
        "retention_time", lambda v, w: v / ((w * litres + water) / days), volume, fed, assumptions=assumptions, inputs=[added],
        working=lambda r, v, w: say(
            "volume / daily feed volume = {v} L / (({w} kg × 1 L/kg + {water} L) / {days} d) = {r} d",
            v=v, w=w, water=water, days=days, r=r),
    )  # fmt: skip


def _working_volume(trial: Trial) -> Figure:
    volume = trial.sheet.digester.working_volume
    if volume is None:
        return not_given("working_volume", say("the working volume is not recorded (digester.working_volume)"))
    return stated("working_volume", volume, "digester.working_volume")
