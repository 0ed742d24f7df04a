"""Figures that are possible but unusual: said, never withheld. What breaks a limit is withheld where it is made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from reportgen.calc.absorption import DIFFUSION_ABSORPTION_COP_HIGH
from reportgen.catalogue import KINDS
from reportgen.figures.figure import Figure
from reportgen.figures.gas_readings import volume_readings
from reportgen.message import COMMA, Message, listed, say
from reportgen.trial import Finding, Readings, Trial

#: Thermal COP on the ice alone: a small unit reaches 0.1 to 0.3 on everything it cools (Srikhirin 2001, from memory),
#: and ice is only part of that; below the lower value hardly any of the heat did anything (ours).
USUAL_COP_ICE = (0.003, 0.15)
#: Gas as read [L/h]: 0.3 to 2.5 L/min; the upper end is the 60 g/h of LPG that EN 732 covers, as energy.
USUAL_GAS_PER_HOUR = (18.0, 150.0)
#: Heat of the flame under a small unit's boiler [W]: 300 to 700 in a measured one (Najjaran 2019), with room (ours).
USUAL_BURNER_POWER = (50.0, 1500.0)
#: Methane in biogas [1]: published bands run from 45 to 70 or 75 % (AgSTAR; Zhang 2007).
USUAL_METHANE = (0.45, 0.75)
#: Standard dry gas per fresh waste [L/kg]: 110 to 180 measured on food waste; beyond this the logs disagree (ours).
HIGHEST_USUAL_YIELD = 350.0
#: A cabinet this much warmer than its surroundings while the burner is lit is not being cooled [K] (ours).
WARMER_THAN_AMBIENT = 3.0
#: A cabinet this much colder than its surroundings at lighting was cooled before [K] (ours).
COOLED_BEFORE = 2.0
#: An ambient reading no farther from lighting than this tells what it was then [h] (ours).
AMBIENT_NEAR = 0.5
HOUR = 3600.0
#: An ambient range beyond this means day and night, or sun, in one run [K] (ours).
WIDE_AMBIENT = 5.0
#: Ice that weighs this share less than the water put in was spilt, or not all of it was weighed (ours).
LOST_WATER = 0.05


#: Gas used in fewer steps of the scale than this is known to 5 % at best (ours).
FEWEST_GAS_STEPS = 20


def unusual(trial: Trial, figures: Mapping[str, Figure]) -> tuple[Finding, ...]:
    """Return a finding for each figure that lies outside what is usual."""
    return (
        *_refused(figures),
        *_bands(figures),
        *_temperatures(trial, figures),
        *_losses(figures),
        *_few_gas_steps(trial, figures),
    )


def _few_gas_steps(trial: Trial, figures: Mapping[str, Figure]) -> Iterator[Finding]:
    used, volumes = figures["gas_used_as_read"], volume_readings(trial)
    if not used.is_given or isinstance(volumes, Message) or trial.sheet.gas.kind not in ("holder", "meter"):
        return
    stated = trial.sheet.gas.resolution
    step = stated.value if stated is not None else volumes.step
    if 0 < used.value < FEWEST_GAS_STEPS * step:
        yield Finding(
            "note",
            "few-gas-steps",
            say(
                "the gas used, {used} L, is only {n} steps of {step} L of the scale",
                used=used.number,
                n=round(used.value / step),
                step=float(step),
            ),
            effect=say("every figure that rests on it is rough; run longer, or weigh the water that takes its place"),
        )


def _refused(figures: Mapping[str, Figure]) -> Iterator[Finding]:
    for key, figure in figures.items():
        if figure.is_impossible and figure.reason is not None:
            yield _caution(
                "impossible-figure",
                say("{label} is withheld: {reason}", label=KINDS[key].label, reason=figure.reason),
                figure,
            )


def _bands(figures: Mapping[str, Figure]) -> Iterator[Finding]:
    for key, (low, high), code, meaning in (
        ("cop_ice", USUAL_COP_ICE, "unusual-cop", say("a mass, a gas reading or the methane content may be wrong")),
        (
            "gas_per_hour_as_read",
            USUAL_GAS_PER_HOUR,
            "unusual-gas-rate",
            say("a reading, its unit or gas.kind may be wrong"),
        ),
        (
            "burner_power",
            USUAL_BURNER_POWER,
            "unusual-burner-power",
            say("a gas reading, its unit or the methane content may be wrong"),
        ),
        (
            "methane_fraction",
            USUAL_METHANE,
            "unusual-methane",
            say("the sample may have held air, or the digester is upset"),
        ),
        (
            "gas_yield_fresh",
            (0.0, HIGHEST_USUAL_YIELD),
            "unusual-yield",
            say("feed or gas may be missing from the logs"),
        ),
    ):
        figure = figures[key]
        if figure.is_given and not low <= figure.value <= high:
            yield _caution(
                code,
                say(
                    "{label}: {value} {unit} is outside what is usual, {low} to {high}; {meaning}",
                    label=KINDS[key].label,
                    unit=KINDS[key].unit.replace("1", ""),
                    value=figure.number,
                    low=low,
                    high=high,
                    meaning=meaning,
                ),
                figure,
            )
    cop = figures["cop_ice"]
    if cop.is_given and cop.value > DIFFUSION_ABSORPTION_COP_HIGH:
        yield _caution(
            "above-known-units",
            say(
                "thermal COP on the ice: {value} is more than any small absorption unit is known to reach on all "
                "that it cools ({limit})",
                value=cop.number,
                limit=DIFFUSION_ABSORPTION_COP_HIGH,
            ),
            cop,
        )


def _temperatures(trial: Trial, figures: Mapping[str, Figure]) -> Iterator[Finding]:
    start, ambient = figures["temperature_start"], figures["ambient_mean"]
    readings = trial.column("ambient_temperature")
    if not ambient.is_given or readings is None or not trial.burning:
        return
    if start.is_given:
        yield from _cooled_before(start.value, ambient.value, readings, trial.burning[0][0])
    run = trial.burning[0][0], trial.burning[-1][1]
    around = readings.between(*run)
    if len(around) and float(np.ptp(around.values)) > WIDE_AMBIENT:
        yield Finding(
            "note",
            "ambient-swings",
            say(
                "ambient ran from {low} °C to {high} °C in the run",
                low=float(around.values.min()),
                high=float(around.values.max()),
            ),
        )
    cabinet = trial.column("cabinet_temperature")
    inside = cabinet.between(*run) if cabinet is not None else None
    solid = next((look for look in trial.looks if look.is_solid), None)
    if solid is not None and inside is not None and len(inside) and float(inside.values.min()) > 0:
        yield Finding(
            "caution",
            "solid-above-zero",
            say("the ice is called solid, but no cabinet reading is below 0 °C"),
            solid.file,
            solid.row,
            effect=say("a unit, a sign or the place of the thermometer may be wrong"),
        )
    if inside is not None and len(inside) and len(around):
        surroundings = np.interp(inside.at, around.at, around.values)
        warmer = np.flatnonzero(inside.values > surroundings + WARMER_THAN_AMBIENT)
        if len(warmer):
            first = int(warmer[0])
            yield Finding(
                "caution",
                "warmer-than-ambient",
                say(
                    "{n} cabinet readings are more than {limit} K above ambient with the burner lit",
                    n=len(warmer),
                    limit=WARMER_THAN_AMBIENT,
                ),
                inside.files[int(inside.file_index[first])],
                int(inside.rows[first]),
                effect=say("the two thermometers may be swapped, or the unit heats instead of cooling"),
            )


def _cooled_before(start: float, mean: float, ambient: Readings, lit: float) -> Iterator[Finding]:
    """Yield that the cabinet was colder than its surroundings at lighting, or than their mean where none was read."""
    around = _ambient_at(ambient, lit)
    surroundings = mean if around is None else around
    if surroundings - start <= COOLED_BEFORE:
        return
    values = {"difference": surroundings - start}
    message = (
        say(
            "the cabinet was {difference} K colder than the mean ambient of the run when the burner was lit, near to "
            "which none was read: not a warm start, if it was so then",
            **values,
        )
        if around is None
        else say(
            "the cabinet was {difference} K colder than its surroundings when the burner was lit: not a warm start",
            **values,
        )
    )
    yield Finding("note", "cooled-before", message, effect=say("times and rates are not those of a warm start"))


def _ambient_at(ambient: Readings, lit: float) -> float | None:
    """Return the ambient temperature at lighting, between the readings on either side of it; None where none is near.

    Of two sides with one near, that one counts.
    """
    near = ambient.between(lit - AMBIENT_NEAR * HOUR, lit + AMBIENT_NEAR * HOUR)
    return float(np.interp(lit, near.at, near.values.astype(float))) if len(near) else None


def _losses(figures: Mapping[str, Figure]) -> Iterator[Finding]:
    water, ice = figures["water_mass"], figures["ice_mass"]
    if figures["ice_making_time"].is_given and water.is_given and ice.is_given:
        lost = 1 - ice.value / water.value
        if lost > LOST_WATER:
            yield _caution(
                "ice-lighter",
                say(
                    "the ice is {percent} % lighter than the water put in, though it was solid",
                    percent=round(100 * lost),
                ),
                ice,
            )


def _caution(code: str, message: Message, figure: Figure) -> Finding:
    return Finding("caution", code, message, effect=say("from {places}", places=listed(figure.inputs[:4], COMMA)))
