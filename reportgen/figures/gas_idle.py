"""What a gasholder did while the burner was not lit: leaks, thermal breathing and production told apart."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from reportgen.calc import gas as gas_calc
from reportgen.calc import gas_course as calc
from reportgen.calc import uncertainty
from reportgen.figures.cabinet import ambient_mean
from reportgen.figures.figure import DERIVED, Assumption, Figure, given, not_given
from reportgen.figures.gas_account import SCALE_LIMITS, TELLS_WITHIN
from reportgen.figures.gas_readings import (
    HOUR,
    at_row,
    reading_uncertainty,
    used_elsewhere,
    volume_readings,
)
from reportgen.figures.gas_state import GAS_TO_AMBIENT_LIMITS, TEMPERATURE_LIMITS, UNKNOWN_TEMPERATURE, gas_state
from reportgen.message import COMMA, PLUS, Message, Written, listed, say
from reportgen.trial import Finding, Numbers, Readings, Trial

#: An idle holder is looked at this long before lighting and after going out [h] (ours).
IDLE_WITHIN = 24.0
#: Shortest idle stretch [h], and fewest readings in it (ours).
IDLE_SHORTEST, IDLE_READINGS = 1.0, 3
#: An idle holder moves beyond this many standard uncertainties of readings and breathing together (ours).
IDLE_SIGMAS = 3.0
#: Temperature explains a movement if it makes at least this share of it (ours).
EXPLAINS_SHARE = 0.5
#: How far the weather moves an unread barometer within a day, standard uncertainty [kPa] (ours).
WEATHER_IN_A_DAY = 0.3


@dataclass(frozen=True)
class _Idle:
    """An idle stretch: what the holder did from its first reading to its last, by straight lines [L].

    `change` is as read with what went elsewhere added, `breathing` the part that temperature and pressure make,
    `spread` the standard uncertainty of the rest, `breathed` the largest movement they make within the stretch, and
    `moved` that of the readings. `temperatures` [degC] are None where no log covers the stretch.
    """

    readings: Readings
    hours: float
    change: float
    breathing: float
    spread: float
    breathed: float
    moved: float
    beyond_reading: float
    temperatures: tuple[float, float] | None
    assumptions: tuple[Assumption, ...]

    @property
    def rest(self) -> float:
        """What temperature and pressure do not explain [L]; positive = gas came in."""
        return self.change - self.breathing

    @property
    def is_beyond(self) -> bool:
        return abs(self.rest) > IDLE_SIGMAS * self.spread

    @property
    def is_breathing(self) -> bool:
        """True where a logged temperature made the movement, or most of it."""
        return (
            self.temperatures is not None
            and not self.is_beyond
            and min(self.moved, self.breathed) > self.beyond_reading
            and self.breathed >= EXPLAINS_SHARE * self.moved
            and self.change * self.breathing >= 0
        )


def idle_loss(trial: Trial) -> tuple[Figure, tuple[Finding, ...]]:
    """Return what the idle holder lost [L/h as read], or why that is not known, and what it was seen to do."""
    key = "idle_loss"
    volumes = volume_readings(trial)
    if isinstance(volumes, Message):
        return not_given(key, volumes), ()
    if trial.sheet.gas.kind != "holder":
        return not_given(key, say("the gas was not read at a gasholder")), ()
    if not trial.burning:
        return not_given(key, trial.no_lighting), ()
    reading, taken = reading_uncertainty(trial, "holder", volumes)
    stretches = [_idle(trial, stretch, volumes, reading) for stretch in _idle_readings(trial, volumes)]
    if not stretches:
        return not_given(key, say("no idle stretch of an hour with three readings was logged")), ()
    leaking = [stretch for stretch in stretches if stretch.is_beyond and stretch.rest < 0]
    findings = tuple(finding for stretch in stretches for finding in _idle_findings(trial, stretch))
    if leaking:
        return _loss_given(trial, leaking, taken), findings
    still = [stretch for stretch in stretches if not stretch.is_beyond]
    inputs = [stretch.readings for stretch in stretches]
    if not still:
        return not_given(key, say("gas came into the idle holder, which hides what it lost"), inputs=inputs), findings
    reach = uncertainty.coverage_factor()
    most = min((max(-stretch.rest, 0.0) + reach * stretch.spread) / stretch.hours for stretch in still)
    reason = say("within the errors of reading and of temperature: less than {most} L/h", most=_two_digits(most))
    return not_given(key, reason, at_most=most, inputs=inputs), findings


def _two_digits(value: float) -> float:
    return float(f"{value:.2g}")


def _loss_given(trial: Trial, leaking: list[_Idle], taken: list[Assumption]) -> Figure:
    lost, hours = -sum(stretch.rest for stretch in leaking), sum(stretch.hours for stretch in leaking)
    spread = math.sqrt(sum(stretch.spread**2 for stretch in leaking))
    accuracy = trial.sheet.gas.accuracy
    relative = 0.0  # limits in litres are those of the zero, which a fall is free of
    if accuracy is None:
        relative = uncertainty.rectangular(SCALE_LIMITS)
    elif accuracy.unit == "%":
        relative = accuracy.value / 100
    number = uncertainty.estimate(lost, spread, "idle gas readings") * uncertainty.estimate(1.0, relative, "gas scale")
    number = number / hours
    terms = listed(
        (say("({high} − {low})", high=Written(-s.change, 1), low=Written(-s.breathing, 1)) for s in leaking), PLUS
    )
    return given(
        "idle_loss",
        number,
        basis=DERIVED,
        inputs=[stretch.readings for stretch in leaking],
        assumptions=[*taken, *(taken for stretch in leaking for taken in stretch.assumptions)],
        working=say(
            "(fall − what temperature and pressure explain) / time = {terms} L / {hours} h = {number} L/h",
            terms=terms,
            hours=round(hours, 2),
            number=number,
        ),
    )


def _idle_findings(trial: Trial, stretch: _Idle) -> Iterator[Finding]:
    start, end = (round(trial.hours(float(stretch.readings.at[i])), 2) for i in (0, -1))
    rows = listed(stretch.readings.sources, COMMA)
    if stretch.is_beyond and stretch.rest < 0:
        rate = -stretch.rest / stretch.hours
        burning = sum(until - since for since, until in trial.burning) / HOUR
        finding = at_row(
            "caution",
            "holder-leaks",
            say(
                "with the burner not lit the holder falls by {fall} L from {start} h to {end} h ({rows}), of which "
                "temperature and pressure explain {breathing} L: {rate} L/h leaks, or is used without being logged",
                fall=round(-stretch.change, 1),
                start=start,
                end=end,
                rows=rows,
                breathing=round(-stretch.breathing, 1),
                rate=_two_digits(rate),
            ),
            stretch.readings,
            0,
        )
        effect = say("gas used may include {lost} L lost; it is not taken off", lost=_two_digits(rate * burning))
        yield replace(finding, effect=effect)
    elif stretch.is_beyond and trial.sheet.gas.isolated is not False:
        yield at_row(
            "note",
            "idle-rise",
            say(
                "with the burner not lit the holder rises by {rise} L from {start} h to {end} h ({rows}), of which "
                "temperature and pressure explain {breathing} L: {rate} L/h came in, read as production",
                rise=round(stretch.change, 1),
                start=start,
                end=end,
                rows=rows,
                breathing=round(stretch.breathing, 1),
                rate=_two_digits(stretch.rest / stretch.hours),
            ),
            stretch.readings,
            0,
        )
    elif stretch.is_breathing:
        assert stretch.temperatures is not None
        yield at_row(
            "note",
            "thermal-breathing",
            say(
                "with the burner not lit the holder moves by {moved} L between {start} h and {end} h ({rows}); "
                "temperature ({coldest} °C to {warmest} °C) and pressure of the gas make {breathed} L: within the "
                "errors they explain it",
                moved=round(stretch.moved, 1),
                start=start,
                end=end,
                rows=rows,
                coldest=round(stretch.temperatures[0], 1),
                warmest=round(stretch.temperatures[1], 1),
                breathed=round(stretch.breathed, 1),
            ),
            stretch.readings,
            0,
        )


def _idle_readings(trial: Trial, volumes: Readings) -> list[Readings]:
    """Return the readings of each idle stretch that is long enough, cut at logged refills."""
    reach = IDLE_WITHIN * HOUR
    edges = [(trial.burning[0][0] - reach, trial.burning[0][0])]
    for (_, out), (lit, _) in pairwise(trial.burning):
        edges += [(out, lit)] if lit - out <= 2 * reach else [(out, out + reach), (lit - reach, lit)]
    edges.append((trial.burning[-1][1], trial.burning[-1][1] + reach))  # no reading lies after an end not recorded
    refills = [event.at for event in trial.events if event.kind == "refill"]
    parts = []
    for start, end in edges:
        cuts = [start, *sorted(at for at in refills if start < at < end), end]
        parts += [volumes.between(since, until) for since, until in pairwise(cuts)]
    return [
        part
        for part in parts
        if len(part) >= IDLE_READINGS and part.at[-1] - part.at[0] >= IDLE_SHORTEST * HOUR * (1 - 1e-9)
    ]


def _idle(trial: Trial, idle: Readings, volumes: Readings, reading: float) -> _Idle:
    hours = np.array([trial.hours(at) for at in idle.at])
    content = idle.values.astype(float)
    start, end = float(idle.at[0]), float(idle.at[-1])
    elsewhere = trial.column("gas_elsewhere")
    used = np.interp(idle.at, elsewhere.at, np.cumsum(elsewhere.values), left=0.0) if elsewhere is not None else 0.0
    temperatures, limits, assumption = _temperatures(trial, idle.at)
    factor, per_kelvin, by_pressure = _factors(trial, idle.at, temperatures)
    at_mean = content * factor / factor.mean()  # each content as it would stand in the mean state of the stretch
    change, _, weights = calc.line_change(hours, content + used)
    rest, scattered, _ = calc.line_change(hours, at_mean + used)
    stated = trial.sheet.gas.resolution
    step = stated.value if stated is not None else volumes.step
    # A content that hardly moves is rounded alike by many readings: the worst that rounding can do counts.
    by_reading = max(
        uncertainty.rounding(step) * float(np.abs(weights).sum()),
        reading * math.sqrt(float(weights @ weights)),
        scattered,
    )
    mean = max(float(content.mean()), 0.0)
    by_state = mean * math.hypot(per_kelvin * uncertainty.rectangular(limits), by_pressure)
    _, by_use = used_elsewhere(trial, start, end)
    breath = content - at_mean
    return _Idle(
        idle,
        float(hours[-1] - hours[0]),
        change,
        change - rest,
        math.hypot(by_reading, by_state, by_use),
        float(np.ptp(breath)),
        float(np.ptp(content + used)),
        IDLE_SIGMAS * math.sqrt(2) * reading,
        (float(temperatures.min()), float(temperatures.max())) if temperatures is not None else None,
        (assumption,),
    )


def _temperatures(trial: Trial, at: Numbers) -> tuple[Numbers | None, float, Assumption]:
    """Return gas temperatures [degC] at the moments `at`, limits of the error of their change [K], and what was taken.

    None where neither the gas nor the air around it was logged over the stretch.
    """
    name = "temperature of the idle gas"
    gas, ambient = (_covering(trial, column, at) for column in ("gas_temperature", "ambient_temperature"))
    if gas is not None:
        taken = Assumption(
            name,
            say("its change as logged, give or take {limits} K", limits=TEMPERATURE_LIMITS),
            say("one thermometer does not show the whole gas"),
            of_value=False,
        )
        return gas, TEMPERATURE_LIMITS, taken
    if ambient is not None:
        taken = Assumption(
            name,
            say("it changed as the air did, give or take {limits} K", limits=GAS_TO_AMBIENT_LIMITS),
            say("no gas temperature is logged over the idle time; gas in a holder is near the air around it"),
        )
        return ambient, GAS_TO_AMBIENT_LIMITS, taken
    taken = Assumption(
        name,
        say("unchanged, give or take {limits} K", limits=UNKNOWN_TEMPERATURE[1]),
        say("neither gas nor ambient temperature is logged over the idle time"),
    )
    return None, UNKNOWN_TEMPERATURE[1], taken


def _covering(trial: Trial, column: str, at: Numbers) -> Numbers | None:
    """Return the readings of a column at the moments `at`, by straight lines; None where they do not cover them."""
    readings = trial.column(column)
    if readings is None:
        return None
    near = readings.between(float(at[0]) - TELLS_WITHIN, float(at[-1]) + TELLS_WITHIN)
    if len(near) < 2 or near.at[0] > at[0] + TELLS_WITHIN or near.at[-1] < at[-1] - TELLS_WITHIN:
        return None
    return np.asarray(np.interp(at, near.at, near.values.astype(float)))


def _factors(trial: Trial, at: Numbers, temperatures: Numbers | None) -> tuple[Numbers, float, float]:
    """Return factors to standard dry gas at the moments `at`, and how much a volume grows per kelvin [1/K].

    The third is the relative standard uncertainty of the volume's change from a pressure that was not logged.
    """
    state = gas_state(trial, ambient_mean(trial))
    barometer = _covering(trial, "atmospheric_pressure", at)
    air = state.atmospheric.value if barometer is None else barometer
    pressure = air + state.gauge.value
    middle = state.temperature.value if temperatures is None else float(temperatures.mean())

    def factor(temperature: Numbers) -> Numbers:
        vapour = 0.0 if trial.sheet.gas.dry else gas_calc.water_vapour_pressure(np.maximum(temperature, 0.0))
        return np.asarray(gas_calc.dry_standard_factor(temperature, pressure, vapour))

    here = np.full(len(at), middle)
    per_kelvin = float(np.mean(factor(here - 0.5) / factor(here + 0.5))) - 1
    by_pressure = 0.0 if barometer is not None else WEATHER_IN_A_DAY / float(np.mean(pressure))
    return factor(here if temperatures is None else temperatures), per_kelvin, by_pressure
