"""The waste figures: fed, yield, and the waste behind the gas, never same-day feed over same-day ice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reportgen.calc import uncertainty
from reportgen.figures.figure import (
    Assumption,
    Figure,
    because_of,
    derived,
    given,
    not_given,
    stated,
)
from reportgen.figures.waste_yield import (
    below_theory,
    ends_of_logs,
    feed_log,
    steadiness,
    theoretical_yield_figure,
    yield_fresh,
    yield_model,
    yield_per_solids,
)
from reportgen.message import Message, say
from reportgen.trial import Feed, Finding, Trial

#: Kitchen scale that nobody described, relative limits (common practice, no source).
SCALE_LIMITS = 0.02
#: Total and volatile solids from a table or of unknown origin, relative limits (ours: the usual spread of food waste).
TABLE_LIMITS = 0.15
#: Measured solids without a stated uncertainty, relative limits (common practice, no source).
SOLIDS_LIMITS = 0.05
#: Volume of a kilogram of ground waste, relative limits about 1 L (common practice, no source).
WASTE_VOLUME_LIMITS = 0.05


@dataclass(frozen=True)
class WasteFigures:
    """The figures of this part, and findings."""

    figures: list[Figure]
    findings: tuple[Finding, ...]


def waste_figures(
    trial: Trial, gas_used: Figure, produced: Figure, methane: Figure, ice: Figure, factor: Figure
) -> WasteFigures:
    """Return all waste figures."""
    scale = _scale()
    fed = _fed(trial, scale)
    solids = _volatile_solids(trial, scale)
    steady, why_not = steadiness(trial)
    fresh = yield_fresh(trial, fed, produced)
    model = yield_model(trial, fed, produced, factor)
    per_solids = yield_per_solids(trial, produced, solids)
    theoretical = theoretical_yield_figure(trial)
    methane_yield = derived(
        "methane_yield_vs",
        lambda y, x: y * x,
        per_solids,
        methane,
        working=lambda r, y, x: say("gas yield × methane fraction = {y} L/kg × {x} = {r} L/kg", y=y, x=x, r=r),
    )
    methane_yield = below_theory(methane_yield, theoretical)
    behind = _waste_for_run(trial, gas_used, steady, why_not, fresh, model, factor)
    figures = [
        fed,
        fresh,
        per_solids,
        methane_yield,
        model,
        theoretical,
        derived(
            "methane_yield_share",
            lambda y, most: y / most,
            methane_yield,
            theoretical,
            working=lambda r, y, most: say("{y} L/kg / {most} L/kg = {r}", y=y, most=most, r=r),
        ),
        behind,
        derived(
            "waste_to_ice",
            lambda w, m: w / m,
            behind,
            ice,
            method=behind.method,
            working=lambda r, w, m: say("waste behind the gas / ice = {w} kg / {m} kg = {r} kg/kg", w=w, m=m, r=r),
        ),
        _loading_rate(trial, solids),
        _retention_time(trial, fed),
    ]
    findings: tuple[Finding, ...] = ()
    if trial.feeds and not steady:
        findings = tuple(
            Finding(
                "note",
                "feeding-not-steady",
                reason,
                effect=say("the waste behind the gas does not rest on totals of the logs"),
            )
            for reason in why_not
        )
    return WasteFigures(figures, findings)


def _scale() -> Figure:
    taken = Assumption(
        "feed scale",
        say("right to {percent} %, as limits", percent=SCALE_LIMITS * 100),
        say("the accuracy of the feed scale is not recorded"),
        of_value=False,
    )
    return given(
        "feed_scale",
        uncertainty.estimate(1.0, uncertainty.rectangular(SCALE_LIMITS), "feed scale"),
        assumptions=[taken],
    )


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
    number = (
        uncertainty.estimate(total, uncertainty.rounding(step) * len(trial.feeds) ** 0.5, "feed readings")
        * scale.number
    )
    working = say("sum of {n} feeds = {number} kg", n=len(trial.feeds), number=number)
    return given(
        "waste_fed", number, inputs=[_sources(trial.feeds, trial)], working=working, assumptions=scale.assumptions
    )


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
    assumptions.append(
        Assumption(
            "solids of the feed",
            say("as logged, give or take {percent} %", percent=limits * 100),
            why,
            of_value=source != "measured",
        )
    )
    if len(known) < len(trial.feeds):
        assumptions.append(
            Assumption(
                "solids of other feeds",
                say("{n} feeds without solids are like the others", n=len(trial.feeds) - len(known)),
                say("their solids are not recorded"),
            )
        )
    number = scale.number * uncertainty.estimate(total, total * uncertainty.rectangular(limits), "solids of the feed")
    return given(key, number, basis="derived", inputs=[_sources(trial.feeds, trial)], assumptions=assumptions)


def _waste_for_run(
    trial: Trial,
    gas_used: Figure,
    steady: bool,
    why_not: tuple[Message, ...],
    fresh: Figure,
    model: Figure,
    factor: Figure,
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
        return not_given(
            "waste_for_run",
            say(
                "no yield connects the gas to the waste: {reason}; and none is stated (digester.specific_yield)",
                reason=reason,
            ),
        )
    ends = ends_of_logs(trial) if chosen is fresh else given("ends_of_logs", uncertainty.estimate(1.0, 0.0, "none"))
    return derived(
        "waste_for_run",
        lambda v, y, e: v / (y * e),
        gas_used,
        chosen,
        ends,
        method=method,
        working=lambda r, v, y, _: say("gas used / yield = {v} L / {y} L/kg = {r} kg of fresh waste", v=v, y=y, r=r),
    )


def _stated_yield(trial: Trial, factor: Figure) -> Figure:
    quantity = trial.sheet.digester.specific_yield
    assert quantity is not None
    figure = stated("specific_yield", quantity, "digester.specific_yield")
    source = trial.sheet.digester.source
    taken = Assumption(
        "specific yield",
        say("{text} of fresh mass, {basis}", text=quantity.text, basis=trial.sheet.digester.yield_basis),
        say("stated, from {source}", source=source) if source else say("stated, without a source"),
    )
    figure = given("specific_yield", figure.number, inputs=figure.inputs, assumptions=[taken])
    if trial.sheet.digester.yield_basis == "standard":
        return figure
    return derived("specific_yield", lambda y, f: y * f, figure, factor, working=lambda r, *_: say("{r}", r=r))


def _days(trial: Trial) -> float:
    """Return the days the feed log stands for: from the first day with a feed to the last, and one typical interval."""
    fed = np.unique(np.floor(feed_log(trial)[0]))
    return float((fed[-1] - fed[0]) * len(fed) / (len(fed) - 1)) if len(fed) > 1 else 0.0


def _loading_rate(trial: Trial, solids: Figure) -> Figure:
    volume, days = _working_volume(trial), _days(trial)
    if solids.is_given and not days:
        return not_given("loading_rate", say("a rate needs feeds on more than one day"))
    return derived(
        "loading_rate",
        lambda s, v: s / days / (v / 1000),
        solids,
        volume,
        working=lambda r, s, v: say(
            "volatile solids / days / volume = {s} kg / {days} d / ({v} L / 1000) = {r} kg/(m³ d)",
            s=s,
            days=days,
            v=v,
            r=r,
        ),
    )


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
    assumptions.append(
        Assumption(
            "volume of the feed",
            say("1 L per kg, give or take {percent} %", percent=WASTE_VOLUME_LIMITS * 100),
            say("the density of the ground waste is not recorded"),
            of_value=False,
        )
    )
    litres = given(
        "litres_per_kilogram",
        uncertainty.estimate(1.0, uncertainty.rectangular(WASTE_VOLUME_LIMITS), "volume of the feed"),
    )
    return derived(
        "retention_time",
        lambda v, w, x: v / ((w * x + water) / days),
        volume,
        fed,
        litres,
        assumptions=assumptions,
        inputs=[added],
        working=lambda r, v, w, _: say(
            "volume / daily feed volume = {v} L / (({w} kg × 1 L/kg + {water} L) / {days} d) = {r} d",
            v=v,
            w=w,
            water=water,
            days=days,
            r=r,
        ),
    )


def _working_volume(trial: Trial) -> Figure:
    volume = trial.sheet.digester.working_volume
    if volume is None:
        return not_given("working_volume", say("the working volume is not recorded (digester.working_volume)"))
    return stated("working_volume", volume, "digester.working_volume")
