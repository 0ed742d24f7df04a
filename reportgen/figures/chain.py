"""The energy chain: what a kilogram of ice took, and how the cold compares with the heat that made it."""

from __future__ import annotations

from reportgen.calc import absorption, series, uncertainty
from reportgen.figures.figure import (
    ASSUMED,
    Assumption,
    Figure,
    because_of,
    derived,
    given,
    not_given,
    stated,
)
from reportgen.message import Message, say
from reportgen.trial import Trial

#: Boiler of an absorption refrigerator where it was not measured: middle and limits [degC] (from memory: 150 to 200).
UNKNOWN_BOILER = (175.0, 25.0)
#: Limits of error of a boiler thermometer nobody described [K] (common practice, no source).
BOILER_LIMITS = 5.0
#: The heat of the gas is at least this many times the heat taken from the water, in any machine of this kind (ours).
LEAST_ENERGY_PER_HEAT = 1.2
#: What may be wrong where a COP is above what can be.
SUSPECTS = say("a mass, a gas reading or its unit, or a temperature")


def chain_figures(
    trial: Trial,
    gas_as_read: Figure,
    gas: Figure,
    methane: Figure,
    energy: Figure,
    ice: Figure,
    heat: Figure,
    ambient: Figure,
    lowest: Figure,
) -> list[Figure]:
    """Return gas, methane and energy per kilogram of ice, the thermal COP on the ice and its reversible limit."""

    def per_ice(key: str, label: Message, unit: str, amount: Figure) -> Figure:
        return derived(
            key,
            lambda a, m: a / m,
            amount,
            ice,
            working=lambda r, a, m: say(
                "{label} / ice = {a} {unit} / {m} kg = {r} {unit}/kg", label=label, a=a, unit=unit, m=m, r=r
            ),
        )

    methane_used = derived(
        "methane_used",
        lambda v, x: v * x,
        gas,
        methane,
        working=lambda r, v, x: say("{v} × {x} = {r} L", v=v, x=x, r=r),
    )
    limit = _reversible(trial, ambient, lowest)
    cop = derived(
        "cop_ice",
        lambda q, e: q / e / 1000,
        heat,
        energy,
        working=lambda r, q, e: say(
            "heat removed from the water / energy used = {q} kJ / ({e} MJ × 1000) = {r}", q=q, e=e, r=r
        ),
    )
    cop = possible(cop, limit)
    ratios = [
        per_ice("gas_per_ice_as_read", say("gas used as read"), "L", gas_as_read),
        per_ice("gas_per_ice", say("gas used"), "L", gas),
        per_ice("methane_per_ice", say("methane used"), "L", methane_used),
        per_ice("energy_per_ice", say("energy used"), "MJ", energy),
    ]
    if cop.is_impossible:
        # The same gas and the same ice stand in these ratios: one of the two is wrong.
        ratios = [not_given(ratio.key, because_of(cop), inputs=ratio.inputs) for ratio in ratios]
    return [
        *ratios,
        cop,
        limit,
        derived(
            "share_of_limit",
            lambda c, most: c / most,
            cop,
            limit,
            working=lambda r, c, most: say(
                "COP on the ice / reversible limit = {c} / {most} = {r}", c=c, most=most, r=r
            ),
        ),
    ]


def possible(
    cop: Figure,
    limit: Figure,
    suspects: Message = SUSPECTS,
) -> Figure:
    """Return a COP, withheld where it breaks a physical limit; `suspects` are what may be wrong then."""
    if not cop.is_given:
        return cop
    ceiling, rule = 1 / LEAST_ENERGY_PER_HEAT, say("more cold than the heat of the gas can make")
    if limit.is_given and limit.value < ceiling:
        ceiling, rule = limit.value, say("above the reversible limit {limit}", limit=limit.number)
    if cop.value <= ceiling:
        return cop
    return not_given(
        cop.key,
        say("{cop} would be {rule}; {suspects} must be wrong", cop=cop.number, rule=rule, suspects=suspects),
        inputs=cop.inputs,
        impossible=True,
    )


def _reversible(trial: Trial, ambient: Figure, lowest: Figure) -> Figure:
    boiler = _boiler(trial)

    def formula(*temperatures: uncertainty.UFloat) -> uncertainty.UFloat:
        return absorption.reversible_cop(*temperatures)

    if (missing := next((need for need in (ambient, lowest) if not need.is_given), None)) is not None:
        return not_given("cop_reversible", because_of(missing))
    if not boiler.value > ambient.value > lowest.value:
        return not_given(
            "cop_reversible",
            say(
                "there is no such limit unless boiler ({b} °C), ambient ({a} °C) and cabinet ({c} °C) fall in "
                "this order",
                b=boiler.value,
                a=ambient.value,
                c=lowest.value,
            ),
        )
    return derived(
        "cop_reversible",
        formula,
        boiler,
        ambient,
        lowest,
        working=lambda r, s, a, c: say(
            "(1 − Ta / Ts) × Tc / (Ta − Tc) = (1 − {ta} / {ts}) × {tc} / ({ta} − {tc}) = {r}, in kelvin",
            ta=a + 273.15,
            ts=s + 273.15,
            tc=c + 273.15,
            r=r,
        ),
    )


def _boiler(trial: Trial) -> Figure:
    readings = trial.column("boiler_temperature")
    if readings is not None and trial.burning:
        inside = readings.between(trial.burning[0][0], trial.burning[-1][1])
        if len(inside):
            taken = Assumption(
                "boiler thermometer",
                say("right to {limits} K, as limits", limits=BOILER_LIMITS),
                say("its accuracy is not recorded"),
                of_value=False,
            )
            spread = uncertainty.rectangular(BOILER_LIMITS)
            mean = series.time_weighted_mean(inside.at, inside.values, float(inside.at[0]), float(inside.at[-1]))
            assert mean is not None  # a mean over the readings' own span is never empty
            number = uncertainty.estimate(mean, spread, "boiler thermometer")
            return given("boiler_temperature", number, inputs=[inside], assumptions=[taken])
    if trial.sheet.boiler.temperature is not None:
        return stated("boiler_temperature", trial.sheet.boiler.temperature, "boiler.temperature")
    middle, limits = UNKNOWN_BOILER
    taken = Assumption(
        "boiler temperature",
        say("{middle} °C, give or take {limits} K", middle=middle, limits=limits),
        say("it is not recorded; boilers of absorption refrigerators run at 150 to 200 °C"),
    )
    number = uncertainty.estimate(middle, uncertainty.rectangular(limits), "boiler temperature")
    return given("boiler_temperature", number, basis=ASSUMED, assumptions=[taken])
