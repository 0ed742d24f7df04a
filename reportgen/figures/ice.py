"""The ice figures: when it became solid, how much there is, what heat was taken from the water."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from reportgen.calc import uncertainty, water
from reportgen.figures.figure import LIMITS, Assumption, Figure, derived, given, not_given, stated
from reportgen.message import Message, say
from reportgen.trial import Finding, Look, Trial

HOUR = 3600.0
#: An eye judges a frozen share to within 10 to 20 % of the whole (from memory): limits of its error [1].
EYE_LIMITS = 0.15
#: So much of the variance of that error is of the eye, and the same in all its looks [1] (ours).
SAME_EYE = 0.5
#: The limits are narrower where they would go beyond all of the water, but never than this [1] (ours).
LEAST_LIMITS = 0.05
#: Ice that nobody measured is between the lowest cabinet reading and 0 °C; without readings down to this [degC] (ours).
COLDEST_ICE = -10.0
#: A look so long after the burner went out still tells what was frozen at the end [h] (ours).
LOOKED_AFTER = 0.5
#: An extrapolation to a day whose ends differ by more than this factor says nothing (ours).
WIDEST_CAPACITY = 5.0
#: Weighed ice beyond the water put in by this many standard uncertainties cannot be (ours).
MORE_ICE_THAN_WATER_SIGMAS = 3.0


@dataclass(frozen=True)
class Bracket:
    """The looks between which something became solid; an open side is None."""

    before: Look | None
    after: Look | None


@dataclass(frozen=True)
class IceFigures:
    """The figures of this part, the bracket in which all was solid (or None), and findings."""

    figures: list[Figure]
    bracket: Bracket | None
    findings: tuple[Finding, ...]


def ice_figures(trial: Trial, lowest: Figure) -> IceFigures:
    """Return all ice figures."""
    findings: list[Finding] = []
    brackets = _brackets(trial, findings)
    bracket = _last_of(brackets)
    findings += _containers(trial, brackets)
    water_mass = _water_mass(trial)
    ice_mass = _ice_mass(trial, water_mass, brackets)
    making = _solid_since("ice_making_time", bracket, trial.lit_at, trial.no_lighting)
    freezing = _solid_since(
        "freezing_time",
        bracket,
        trial.placed_at,
        say("when the water was put in is not recorded (water.placed, or the event “water placed”)"),
    )
    heat = _heat(trial, water_mass, ice_mass, lowest)
    capacity = derived(
        "ice_making_capacity",
        lambda m, t: m / t * 24,
        ice_mass,
        freezing,
        method="extrapolated first batch" if freezing.is_given and freezing.value < 24 else None,
        working=lambda r, m, t: say("ice / freezing time × 24 h/d = {m} kg / {t} h × 24 = {r} kg/d", m=m, t=t, r=r),
    )
    if (
        capacity.is_given
        and capacity.interval is not None
        and capacity.interval[1] > WIDEST_CAPACITY * capacity.interval[0]
    ):
        capacity = not_given(
            "ice_making_capacity",
            say(
                "the looks leave it open from {low} to {high} kg/d", low=capacity.interval[0], high=capacity.interval[1]
            ),
            inputs=capacity.inputs,
        )
    power = derived(
        "cooling_power",
        lambda q, t: q / t / 3.6,
        heat,
        freezing,
        working=lambda r, q, t: say("heat / freezing time = {q} kJ / ({t} h × 3.6) = {r} W", q=q, t=t, r=r),
    )
    return IceFigures([water_mass, ice_mass, making, freezing, capacity, heat, power], bracket, tuple(findings))


def _brackets(trial: Trial, findings: list[Finding]) -> dict[str, Bracket]:
    """Return the bracket of each container: the last look that was not solid before the first that stayed solid."""
    end = trial.burning[-1][1] if trial.burning else math.inf
    brackets: dict[str, Bracket] = {}
    # A look that names no container speaks of all of them.
    names = dict.fromkeys(look.container for look in trial.looks if look.container)
    if names and len(names) < (trial.sheet.water.containers or 0):
        findings.append(
            Finding(
                "caution",
                "containers-not-seen",
                say(
                    "{n} containers were looked at of {all} that water.containers states",
                    n=len(names),
                    all=trial.sheet.water.containers,
                ),
                effect=say("the others are taken to be like these"),
            )
        )
    for name in names or dict.fromkeys(look.container for look in trial.looks):
        looks = [look for look in trial.looks if look.container in (name, "")]
        solid = next((i for i, look in enumerate(looks) if look.is_solid), None)
        if solid is not None:
            later = [i for i in range(solid + 1, len(looks)) if not looks[i].is_solid and looks[i].at <= end]
            if later:
                findings.append(
                    Finding(
                        "caution",
                        "solid-then-not",
                        say(
                            "the ice is solid in row {row} and not solid later, with the burner lit; the later look "
                            "counts",
                            row=looks[solid].row,
                        ),
                        looks[later[-1]].file,
                        looks[later[-1]].row,
                    )
                )
                solid = next((i for i in range(later[-1] + 1, len(looks)) if looks[i].is_solid), None)
        if solid is None:
            # Later looks tell of the thaw.
            in_time = [look for look in looks if look.at <= end + LOOKED_AFTER * HOUR]
            brackets[name] = Bracket((in_time or looks)[-1], None)
        else:
            brackets[name] = Bracket(looks[solid - 1] if solid else None, looks[solid])
    return brackets


def _last_of(brackets: dict[str, Bracket]) -> Bracket | None:
    """Return when all containers are solid: with the last one, so not before the latest look at one that was not."""
    if not brackets:
        return None
    befores = [bracket.before for bracket in brackets.values() if bracket.before is not None]
    before = max(befores, key=lambda look: look.at, default=None)
    unfinished = [bracket for bracket in brackets.values() if bracket.after is None]
    if unfinished:
        return max(unfinished, key=lambda bracket: bracket.before.at if bracket.before else -math.inf)
    after = max((bracket.after for bracket in brackets.values() if bracket.after), key=lambda look: look.at)
    return Bracket(before, after)


def _containers(trial: Trial, brackets: dict[str, Bracket]) -> list[Finding]:
    """Return what the looks say of several containers apart; the figures go by the last of them."""
    if len(brackets) < 2 or trial.lit_at is None:
        return []
    solid = sorted(trial.hours(bracket.after.at) for bracket in brackets.values() if bracket.after is not None)
    if not solid:
        return []
    message = say(
        "{n} of {all} containers were seen solid, the first by {first} h and the last by {last} h after lighting",
        n=len(solid),
        all=len(brackets),
        first=round(solid[0], 2),
        last=round(solid[-1], 2),
    )
    return [
        Finding("note", "containers", message, effect=say("ice-making and freezing time are those of the last one"))
    ]


def _solid_since(key: str, bracket: Bracket | None, since: float | None, unknown: Message) -> Figure:
    if bracket is None:
        return not_given(key, say("nobody looked at the ice (column ice)"))
    if since is None:
        return not_given(key, unknown)

    def hours(look: Look) -> float:
        return (look.at - since) / HOUR

    if bracket.after is None:
        assert bracket.before is not None
        return not_given(
            key,
            say("not solid at the last look, {t} h after", t=hours(bracket.before)),
            at_least=max(hours(bracket.before), 0.0),
            inputs=[bracket.before],
        )
    if hours(bracket.after) <= 0:
        return not_given(key, say("the ice was solid before"), inputs=[bracket.before, bracket.after])
    if bracket.before is None:
        return not_given(
            key,
            say("already solid at the first look, {t} h after", t=hours(bracket.after)),
            at_most=hours(bracket.after),
            inputs=[bracket.after],
        )
    low, high = max(hours(bracket.before), 0.0), hours(bracket.after)
    middle = uncertainty.estimate((low + high) / 2, 0.0, "looks at the ice")
    ends = (uncertainty.estimate(low, 0.0, "looks at the ice"), uncertainty.estimate(high, 0.0, "looks at the ice"))
    working = say(
        "not solid at {low} h, solid at {high} h: between the two, middle ({low} + {high}) / 2 = {middle} h",
        low=low,
        high=high,
        middle=(low + high) / 2,
    )
    return given(
        key,
        middle,
        inputs=[bracket.before, bracket.after],
        working=working,
        ends=ends,
        interval=(low, high),
        interval_kind=LIMITS,
    )


def _water_mass(trial: Trial) -> Figure:
    mass = trial.sheet.water.mass
    if mass is None:
        return not_given("water_mass", say("how much water was put in is not recorded (water.mass)"))
    figure = stated("water_mass", mass, "water.mass")
    return figure.renamed("water_mass", working=say("stated as {text}", text=mass.text))


def _ice_mass(trial: Trial, water_mass: Figure, brackets: dict[str, Bracket]) -> Figure:
    weighed = trial.sheet.water.ice_mass
    if weighed is not None:
        figure = stated("ice_mass", weighed, "water.ice_mass")
        spread = math.hypot(figure.standard_uncertainty, water_mass.standard_uncertainty)
        if water_mass.is_given and figure.value - water_mass.value > MORE_ICE_THAN_WATER_SIGMAS * spread:
            return not_given(
                "ice_mass",
                say(
                    "more ice ({ice} kg) than water put in ({water} kg) cannot be",
                    ice=weighed.value,
                    water=water_mass.value,
                ),
                inputs=[*figure.inputs, *water_mass.inputs],
                impossible=True,
            )
        return figure.renamed("ice_mass", working=say("weighed: {text}", text=weighed.text))
    if not water_mass.is_given or not brackets:
        reason = (
            water_mass.reason if not water_mass.is_given else say("the ice was not weighed and nobody looked at it")
        )
        return not_given("ice_mass", reason or say("the ice was not weighed"))
    partly = [look for bracket in brackets.values() if (look := _last_look(bracket)).frozen is None]
    if partly:
        return not_given(
            "ice_mass",
            say("the ice was partly frozen; how much of it was not recorded (weigh it, or write a percentage)"),
            inputs=[*water_mass.inputs, *partly],
            at_most=water_mass.value,
        )
    share, assumption, looks = _frozen_share(brackets)
    if uncertainty.nominal(share) <= 0:
        return not_given("ice_mass", say("no ice at the last look"), inputs=looks)
    figure = given("frozen_share", share, inputs=looks, assumptions=[assumption])
    return derived(
        "ice_mass",
        lambda m, s: m * s,
        water_mass,
        figure,
        working=lambda r, m, s: say("water put in × share frozen = {m} kg × {s} = {r} kg", m=m, s=s, r=r),
    )


def _last_look(bracket: Bracket) -> Look:
    look = bracket.after or bracket.before
    assert look is not None  # a bracket is made of at least one look
    return look


def _frozen_share(brackets: dict[str, Bracket]) -> tuple[uncertainty.UFloat, Assumption, list[Look]]:
    """Return the share frozen at the end, containers alike; judged by eye where it is not all solid."""
    total: uncertainty.UFloat = uncertainty.estimate(0.0, 0.0, "share frozen")
    same = uncertainty.estimate(0.0, math.sqrt(SAME_EYE), "share frozen")
    looks = []
    for bracket in brackets.values():
        look = _last_look(bracket)
        looks.append(look)
        if look.is_solid:
            total = total + 1.0
        elif look.frozen:
            half = min(EYE_LIMITS, look.frozen, max(1 - look.frozen, LEAST_LIMITS))
            spread = uncertainty.rectangular(half)
            own = uncertainty.estimate(look.frozen, math.sqrt(1 - SAME_EYE) * spread, "share frozen")
            total = total + own + spread * same
    share = total / len(brackets)
    solid = all(look.is_solid for look in looks)
    value = say("all of the water put in") if solid else say("{share} of the water put in", share=share)
    why = (
        say("the ice was not weighed; it was judged solid by looking")
        if solid
        else say("the ice was not weighed; the share is judged by eye")
    )
    return share, Assumption("share frozen", value, why), looks


def _heat(trial: Trial, water_mass: Figure, ice_mass: Figure, lowest: Figure) -> Figure:
    start, ice = _water_temperature(trial), _ice_temperature(trial, lowest)
    everything = water_mass if water_mass.is_given else ice_mass.renamed("water_mass")
    return derived(
        "heat_removed",
        water.heat_removed,
        everything,
        ice_mass,
        start,
        ice,
        working=lambda r, m, i, t, e: say(
            "{m} kg × {sensible} kJ/kg (to 0 °C) + {i} kg × ({fusion} + {cold}) kJ/kg (freezing, and cooling to "
            "{e} °C) = {r} kJ",
            m=m,
            sensible=water.water_enthalpy(t),
            i=i,
            fusion=water.HEAT_OF_FUSION,
            cold=-water.ice_enthalpy(e),
            e=e,
            r=r,
        ),
    )


def _water_temperature(trial: Trial) -> Figure:
    quantity = trial.sheet.water.temperature
    if quantity is not None:
        return stated("water_temperature", quantity, "water.temperature")
    readings = trial.column("water_temperature")
    placed = trial.placed_at if trial.placed_at is not None else trial.lit_at
    if readings is None or placed is None:
        return not_given(
            "water_temperature", say("the start temperature of the water is not recorded (water.temperature)")
        )
    near = readings.between(placed - HOUR / 4, placed + HOUR / 4)
    near = near.where(near.values >= 0)
    if not len(near):
        return not_given("water_temperature", say("no water temperature was read when the water was put in"))
    since = near.where(near.at >= placed)
    near = near.where(near.at == (since.at[0] if len(since) else near.at[-1]))
    limits = uncertainty.rectangular(1.0)
    taken = Assumption(
        "water temperature",
        say("the first reading of the probe in the water, give or take 1 K"),
        say("the accuracy of its thermometer is not recorded"),
        of_value=False,
    )
    number = uncertainty.estimate(float(near.values[0]), limits, "water temperature")
    return given("water_temperature", number, inputs=[near], assumptions=[taken])


def _ice_temperature(trial: Trial, lowest: Figure) -> Figure:
    quantity = trial.sheet.water.ice_temperature
    if quantity is not None:
        return stated("ice_temperature", quantity, "water.ice_temperature")
    coldest = min(lowest.value, 0.0) if lowest.is_given else COLDEST_ICE
    number = uncertainty.estimate(coldest / 2, uncertainty.rectangular(-coldest / 2), "ice temperature")
    taken = Assumption(
        "ice temperature",
        say("between {coldest} °C and 0 °C", coldest=coldest),
        say("it was not measured; ice in a cabinet lies between the lowest reading and 0 °C"),
    )
    inputs: Iterable[str] = lowest.inputs if lowest.is_given else ()
    return given("ice_temperature", number, inputs=inputs, assumptions=[taken])
