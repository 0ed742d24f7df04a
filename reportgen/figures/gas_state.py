"""The state of the gas where it was measured, and what turns a volume as read into a standard dry one."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from reportgen.calc import gas, series, uncertainty
from reportgen.figures.figure import ASSUMED, Assumption, Figure, Number, derived, given, stated
from reportgen.message import Message, say
from reportgen.trial import Readings, Trial

#: Limits of error of a logged quantity whose instrument's accuracy is nowhere stated (common practice, no source).
TEMPERATURE_LIMITS = 1.0  # K
GAUGE_LIMITS = 0.1  # kPa
BAROMETER_LIMITS = 0.2  # kPa
METHANE_LIMITS = 1.0  # percentage points
#: Gas is near the temperature of the air around the holder; limits of the difference [K] (common practice, no source).
GAS_TO_AMBIENT_LIMITS = 5.0
#: Nothing recorded at all: a warm day, and limits that hold most [degC, K] (ours).
UNKNOWN_TEMPERATURE = (25.0, 10.0)
#: A small holder presses with 0 to 20 mbar; middle and limits [kPa] (common practice, no source).
UNKNOWN_GAUGE = (1.0, 1.0)
#: How far the weather moves the barometer from the standard atmosphere, standard uncertainty [kPa] (ours).
WEATHER = 0.8
#: Sea level where neither barometer nor altitude is known; covers sites up to some 500 m [kPa] (ours).
UNKNOWN_ALTITUDE = 3.0
#: Limits of how far wet gas of other days may differ in volume from that of the run [1]: 5 K at 30 °C (ours).
OTHER_DAYS_LIMITS = 0.03
#: Methane in biogas, middle and limits [%]: 50 to 70 (published bands: FAO/CMS 1996; Bond and Templeton 2011).
UNKNOWN_METHANE = (60.0, 10.0)
#: Words of `gas.methane_method` that say it was not measured.
#: Limits of a methane measurement whose uncertainty nobody stated [percentage points] (common practice, no source).
MEASURED_METHANE_LIMITS = 3.0
NOT_MEASURED = frozenset(("assumed", "assumption", "estimate", "estimated", "guess", "guessed", "literature", "table"))


@dataclass(frozen=True)
class GasState:
    """Temperature [degC], gauge and atmospheric pressure [kPa], and factors [1] from volume as read to standard dry.

    `factor` is that of the run; `factor_over_log` that of the days over which production was logged.
    """

    temperature: Figure
    gauge: Figure
    atmospheric: Figure
    factor: Figure
    factor_over_log: Figure


def gas_state(trial: Trial, ambient: Figure) -> GasState:
    """Return the mean state of the gas over the run, from readings, `trial.toml`, or named assumptions."""
    sheet = trial.sheet.gas
    temperature = _logged(trial, "gas_temperature", TEMPERATURE_LIMITS, "gas temperature")
    if temperature is None and sheet.temperature is not None:
        temperature = stated("gas_temperature", sheet.temperature, "gas.temperature")
    temperature = temperature or _temperature_taken(ambient)
    gauge = _logged(trial, "gas_pressure", GAUGE_LIMITS, "gas pressure")
    if gauge is None and sheet.pressure is not None:
        gauge = stated("gas_pressure", sheet.pressure, "gas.pressure")
    gauge = gauge or _taken(
        "gas_pressure",
        *UNKNOWN_GAUGE,
        say("kPa above atmospheric"),
        say("no gas pressure is recorded; small holders press little"),
    )
    atmospheric = _atmospheric(trial)
    vapour_assumptions = (
        ()
        if sheet.dry
        else (
            Assumption(
                "water vapour",
                say("saturated at the gas temperature"),
                say("gas over water carries all the vapour it can, unless it is dried"),
                of_value=False,
            ),
        )
    )

    def formula(t: uncertainty.UFloat, over: uncertainty.UFloat, air: uncertainty.UFloat) -> uncertainty.UFloat:
        vapour = 0.0 if sheet.dry else gas.water_vapour_pressure(t)
        return gas.dry_standard_factor(t, air + over, vapour)

    factor = derived(
        "gas_factor",
        formula,
        temperature,
        gauge,
        atmospheric,
        assumptions=vapour_assumptions,
        working=lambda f, t, over, air: say(
            "(p − vapour) / 101.325 kPa × 273.15 K / (273.15 + t) = ({air} + {over} − {vapour}) / 101.325 × "
            "273.15 / (273.15 + {t}) = {f}",
            air=air,
            over=over,
            vapour=0 if sheet.dry else gas.water_vapour_pressure(t),
            t=t,
            f=f,
        ),
    )
    return GasState(temperature, gauge, atmospheric, factor, _over_log(factor))


def _over_log(factor: Figure) -> Figure:
    source = "state of the gas over the feed log"
    taken = Assumption(
        source,
        say("as in the run, give or take {percent} % of the volume", percent=OTHER_DAYS_LIMITS * 100),
        say("the temperature and pressure of the gas on those days are not recorded"),
        of_value=False,
    )
    other_days = given(
        "other_days",
        uncertainty.estimate(1.0, uncertainty.rectangular(OTHER_DAYS_LIMITS), source),
        assumptions=[taken],
    )
    return derived("gas_factor", lambda f, o: f * o, factor, other_days, working=lambda r, _f, _o: say("{r}", r=r))


def methane_fraction(trial: Trial) -> Figure:
    """Return the methane fraction of the dry gas: logged, stated, or the usual band."""
    logged = _logged(trial, "methane", METHANE_LIMITS, "methane fraction")
    sheet = trial.sheet.gas
    if logged is not None:
        percent = logged
    elif sheet.methane is not None:
        percent = _stated_methane(trial)
    else:
        percent = _taken(
            "methane",
            *UNKNOWN_METHANE,
            "%",
            say("not recorded; biogas holds 50 to 70 % methane"),
            source="methane fraction",
        )
    number: Number = percent.number
    working = say("methane of the dry gas = {percent} % / 100", percent=number)
    return given(
        "methane_fraction",
        number / 100,
        basis=percent.basis,
        inputs=percent.inputs,
        working=working,
        assumptions=percent.assumptions,
    )


def _stated_methane(trial: Trial) -> Figure:
    sheet = trial.sheet.gas
    assert sheet.methane is not None
    figure = stated("methane", sheet.methane, "gas.methane", source="methane fraction")
    method = sheet.methane_method.strip().casefold()
    if method and not NOT_MEASURED.intersection(re.findall(r"\w+", method)):
        return figure if sheet.methane.has_uncertainty else _measured_methane(trial)
    spread = sheet.methane.standard_uncertainty if sheet.methane.has_uncertainty else UNKNOWN_METHANE[1] / 3**0.5
    why = (
        say("trial.toml says it was assumed, not measured")
        if method
        else say("how it was found is not recorded (gas.methane_method)")
    )
    if not sheet.methane.has_uncertainty:
        why = say("{why}; limits of {limits} percentage points are taken", why=why, limits=UNKNOWN_METHANE[1])
    taken = Assumption("methane fraction", say("{text} of the dry gas", text=sheet.methane.text), why)
    number = uncertainty.estimate(sheet.methane.value, spread, "methane fraction")
    return given("methane", number, basis=ASSUMED, inputs=["trial.toml:gas.methane"], assumptions=[taken])


def _measured_methane(trial: Trial) -> Figure:
    quantity = trial.sheet.gas.methane
    assert quantity is not None
    taken = Assumption(
        "methane fraction",
        say("{text}, give or take {limits} percentage points", text=quantity.text, limits=MEASURED_METHANE_LIMITS),
        say("measured, but its uncertainty is not stated"),
        of_value=False,
    )
    spread = uncertainty.rectangular(MEASURED_METHANE_LIMITS)
    number = uncertainty.estimate(quantity.value, spread, "methane fraction")
    return given("methane", number, inputs=["trial.toml:gas.methane"], assumptions=[taken])


def _temperature_taken(ambient: Figure) -> Figure:
    if not ambient.is_given:
        why = say("neither gas nor ambient temperature is recorded")
        return _taken("gas_temperature", *UNKNOWN_TEMPERATURE, "°C", why)
    spread = uncertainty.estimate(0.0, uncertainty.rectangular(GAS_TO_AMBIENT_LIMITS), "gas temperature")
    taken = Assumption(
        "gas temperature",
        say("the mean ambient {t} °C, give or take {limits} K", t=ambient.value, limits=GAS_TO_AMBIENT_LIMITS),
        say("no gas temperature is recorded; gas in a holder is near the air around it"),
    )
    return given(
        "gas_temperature", ambient.number + spread, inputs=ambient.inputs, assumptions=[*ambient.assumptions, taken]
    )


def _atmospheric(trial: Trial) -> Figure:
    logged = _logged(trial, "atmospheric_pressure", BAROMETER_LIMITS, "atmospheric pressure")
    if logged is not None:
        return logged
    sheet = trial.sheet
    if sheet.gas.atmospheric is not None:
        return stated("atmospheric_pressure", sheet.gas.atmospheric, "gas.atmospheric")
    if sheet.altitude is not None:
        altitude = stated("altitude", sheet.altitude, "altitude")
        weather = uncertainty.estimate(0.0, WEATHER, "atmospheric pressure")
        taken = Assumption(
            "atmospheric pressure",
            say(
                "standard atmosphere at {altitude}, give or take {weather} kPa",
                altitude=sheet.altitude.text,
                weather=WEATHER,
            ),
            say("no barometer reading; the weather moves it"),
            of_value=False,
        )
        number = gas.standard_atmosphere(altitude.number) + weather
        return given(
            "atmospheric_pressure",
            number,
            basis="derived",
            inputs=altitude.inputs,
            assumptions=[*altitude.assumptions, taken],
        )
    taken = Assumption(
        "atmospheric pressure",
        say("101.3 kPa (sea level), give or take {spread} kPa", spread=UNKNOWN_ALTITUDE),
        say("neither a barometer reading nor the altitude is recorded; a site above 500 m would be misjudged"),
    )
    number = uncertainty.estimate(gas.STANDARD_PRESSURE, UNKNOWN_ALTITUDE, "atmospheric pressure")
    return given("atmospheric_pressure", number, assumptions=[taken])


def _taken(
    key: str, middle: float, limits: float, unit: Message | str, why: Message, source: str | None = None
) -> Figure:
    """Return an assumed quantity, rectangular within limits either side of the middle."""
    name = source or key.replace("_", " ")
    value = say("{middle} {unit}, give or take {limits}", middle=middle, unit=unit, limits=limits)
    number = uncertainty.estimate(middle, uncertainty.rectangular(limits), name)
    return given(key, number, assumptions=[Assumption(name, value, why)])


def _logged(trial: Trial, column: str, limits: float, source: str) -> Figure | None:
    """Return the mean of a logged column over the burning time, or its nearest reading where none lies in the run."""
    readings = trial.column(column)
    if readings is None:
        return None
    used, mean = _over_run(trial, readings)
    taken = Assumption(
        source,
        say("the logged mean, give or take {limits}", limits=limits),
        say("the accuracy of its instrument is not recorded"),
        of_value=False,
    )
    spread = uncertainty.rectangular(limits)
    scatter = float(np.std(used.values, ddof=1)) / len(used) ** 0.5 if len(used) > 1 else 0.0
    number = uncertainty.estimate(mean, (spread**2 + scatter**2) ** 0.5, source)
    return given(column, number, inputs=[used], assumptions=[taken])


def _over_run(trial: Trial, readings: Readings) -> tuple[Readings, float]:
    if not trial.burning:
        return readings, float(np.mean(readings.values))
    start, end = trial.burning[0][0], trial.burning[-1][1]
    inside = readings.between(start, end)
    if len(inside) >= 2:
        mean = series.time_weighted_mean(inside.at, inside.values, float(inside.at[0]), float(inside.at[-1]))
        return inside, float(np.mean(inside.values)) if mean is None else mean
    if len(inside) == 1:
        return inside, float(inside.values[0])
    distance = np.maximum(start - readings.at, readings.at - end)
    nearest = readings.where(distance == distance.min())
    return nearest, float(np.mean(nearest.values))
