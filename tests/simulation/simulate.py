"""Trial folders with known truth: what is stated is drawn first, the truth round it, then the readings of the truth.

Where the trial format has no place for an accuracy (barometer, gas thermometer, feed scale, solids, eye), the truth is
drawn within what is commonly taken for such an instrument. Independent of reportgen.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal
from zoneinfo import ZoneInfo

import numpy as np
from dialects import CLOCKS, Column, Dialect, number
from physics import (
    NET_HEATING_VALUE,
    STEP,
    Cabinet,
    Floats,
    correlated_noise,
    daily_gas,
    frozen_shares,
    heat_of_fusion,
    ice_heat,
    standard_dry,
    standard_pressure,
    water_heat,
)

Kind = Literal["holder", "meter", "flow"]
KINDS: tuple[Kind, ...] = ("holder", "meter", "flow")
ZONES = ("Indian/Mauritius", "Africa/Nairobi", "America/Guatemala", "Asia/Kathmandu", "UTC", "Europe/Lisbon")
THRESHOLDS = {"time_to_0": 0.0, "time_to_minus_6": -6.0, "time_to_minus_12": -12.0, "time_to_minus_18": -18.0}
ICE_KEYS = ("gas_per_ice_as_read", "gas_per_ice", "methane_per_ice", "energy_per_ice", "cop_ice")
SOLID_KEYS = ("ice_making_time", "freezing_time", "ice_making_capacity", "cooling_power")
WASTE_KEYS = (
    "gas_produced", "waste_fed", "gas_yield_fresh", "gas_yield_vs", "methane_yield_vs", "gas_yield_model",
    "waste_for_run", "waste_to_ice", "loading_rate", "retention_time",
)  # fmt: skip
HISTORY = 160  # days of feeding before the feed log


@dataclass(frozen=True)
class Simulated:
    """A trial folder as texts by file name, the truth by key of the results file, and what the logs can tell.

    `supported`: keys that the logs support beyond doubt. `never`: keys of what did not happen or was not logged.
    Keys of the truth in neither may or may not be given.
    """

    files: dict[str, str]
    truth: dict[str, float]
    never: set[str]
    supported: set[str]
    traits: dict[str, Any]


@dataclass
class _Sheet:
    """`trial.toml` on its way: sections of keys."""

    sections: dict[str, dict[str, str]] = field(default_factory=lambda: {"": {}})

    def put(self, section: str, key: str, value: str) -> None:
        self.sections.setdefault(section, {})[key] = value

    def text(self) -> str:
        parts = []
        for section, keys in self.sections.items():
            head = f"[{section}]\n" if section else ""
            parts.append(head + "".join(f"{key} = {value}\n" for key, value in keys.items()))
        return "\n".join(parts)


def quoted(text: str) -> str:
    """Return a TOML string."""
    return f'"{text}"'


class _Trial:
    """One trial being made. Each part draws its traits, puts what is stated and logged, and records the truth."""

    def __init__(self, seed: int, kind: Kind | None) -> None:
        self.rng = np.random.default_rng([20260314, seed])
        self.sheet, self.truth = _Sheet(), dict[str, float]()
        self.supported, self.never = set[str](), {"theoretical_methane_yield"}
        self.traits: dict[str, Any] = {"seed": seed}
        self.columns: dict[str, list[Column]] = {}
        drawn = KINDS[int(self.rng.choice(3, p=(0.6, 0.2, 0.2)))]
        self.kind: Kind = kind or drawn
        self._clock()
        self._cabinet()
        self._gas_state()
        self._feeding()
        self._gas()
        self._ice()
        self._chain()

    # drawing -----------------------------------------------------------------------------------------------------
    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def one(self, *options: Any) -> Any:
        return options[int(self.rng.integers(len(options)))]

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def trait(self, name: str, value: Any) -> Any:
        self.traits[name] = value
        return value

    def stated(self, section: str, key: str, value: float, spread: float, unit: str, digits: int) -> float:
        """State a quantity with a standard uncertainty or limits, and return the truth drawn round it."""
        value = round(value, digits)
        limits = self.chance(0.3)
        self.sheet.put(section, key, quoted(f"{value:.{digits}f} +/- {spread:g} {unit}{' (limits)' if limits else ''}"))
        return value + spread * (self.between(-1, 1) if limits else float(self.rng.standard_normal()))

    def accuracy(self, section: str, size: float, unit: str) -> float:
        """State an accuracy, and return the error drawn from it, in the unit."""
        limits = self.chance(0.7)
        self.sheet.put(section, "accuracy", quoted(f"{size:g} {unit}{' (limits)' if limits else ''}"))
        self.traits.setdefault("accuracy_bound", {})[section] = size if limits else 3 * size
        return size * (self.between(-1, 1) if limits else float(self.rng.standard_normal()))

    def known(self, key: str, value: float, supported: bool = True) -> None:
        self.truth[key] = float(value)
        if supported:
            self.supported.add(key)

    # times -------------------------------------------------------------------------------------------------------
    def moment(self, hours: float) -> float:
        """Return an instant as seconds since 1970 UTC."""
        return self.lit + hours * 3600

    def minute(self, hours: float) -> float:
        """Return the whole minute, of the clock or since lighting, that people write for an instant [s since 1970 UTC]."""
        if self.dialect.clock == "elapsed":
            return self.lit + round(hours * 60) * 60.0
        return round(self.moment(hours) / 60) * 60.0

    def clock_minute(self, hours: float, pattern: str) -> str:
        """Return the wall clock to the whole minute, as stated in `trial.toml`."""
        when = dt.datetime.fromtimestamp(round(self.moment(hours) / 60) * 60.0, self.zone)
        return quoted(when.strftime(pattern))

    def hand_times(self, start: float, end: float, include: tuple[float, ...] = ()) -> list[float]:
        """Return irregular instants 6 to 27 minutes apart, none within 4 minutes of those that must be among them."""
        instants, instant = [], start
        low = int(self.rng.integers(6, 15))
        high = int(self.rng.integers(low + 4, 28))
        while instant <= end:
            instants.append(instant)
            instant += (int(self.rng.integers(low, high + 1)) + self.between(-0.5, 0.5)) / 60
        instants = [t for t in instants if all(abs(t - must) > 4 / 60 for must in include)]
        return sorted([*instants, *include])

    def logger_times(self, start: float, end: float) -> list[float]:
        step = int(self.rng.integers(1, 6)) * 60
        whole = self.chance(0.5)
        first = math.ceil(self.moment(start) / 60) * 60 + (0 if whole else int(self.rng.integers(0, 60)))
        return [(moment - self.lit) / 3600 for moment in range(int(first), int(self.moment(end)), step)]

    def add(self, file: str, header: str, hours: list[float] | Floats, cells: list[str], by_hand: bool) -> None:
        write = self.minute if by_hand else lambda t: float(round(self.moment(t)))
        pairs = [(write(t), cell) for t, cell in zip(hours, cells, strict=True)]
        self.columns.setdefault(file, []).append(Column(header, pairs))

    def _clock(self) -> None:
        zone = ZoneInfo(self.one(*ZONES))
        day = dt.date(2026, 1, 20) + dt.timedelta(days=int(self.rng.integers(0, 300)))
        late = self.trait("crosses midnight", self.chance(0.15))
        hour = int(self.rng.integers(19, 23)) if late else int(self.rng.integers(6, 13))
        start = dt.datetime.combine(day, dt.time(hour, int(self.rng.integers(0, 60))), zone)
        self.lit = start.timestamp() + self.between(-30, 30)
        clock = self.trait("clock", self.one(*CLOCKS))
        comma = self.trait("decimal comma", self.chance(0.3))
        separator = ";" if comma else self.one(",", ",", ";", "\t")
        one_file = self.trait("one file", self.chance(0.4))
        self.dialect = Dialect(clock, separator, comma, one_file, zone, self.lit)
        self.zone, self.day = zone, day
        self.sheet.put("", "title", quoted(f"Simulated trial {self.traits['seed']}"))
        self.sheet.put("", "date", day.isoformat())
        self.sheet.put("", "time_zone", quoted(str(zone)))
        self.hours = self.trait("hours", self.between(2.2, 8.0))
        self.known("run_time", self.hours)
        self.known("burning_time", self.hours)
        self.lit_by_clock = self.chance(0.5)
        if self.lit_by_clock:
            stamp = "%H:%M" if self.chance(0.5) else "%Y-%m-%d %H:%M"
            for key, hours in (("lit", 0.0), ("out", self.hours)):
                self.sheet.put("burner", key, self.clock_minute(hours, stamp))
        else:
            self.add("events.csv", "event", [0.0, self.hours], ["burner lit", "burner out"], True)

    # cabinet -----------------------------------------------------------------------------------------------------
    def _cabinet(self) -> None:
        ambient = self.trait("ambient", self.between(14, 34))
        constant, delay = self.trait("constant", self.between(0.6, 1.8)), self.trait("delay", self.between(0.1, 0.7))
        floor = self.trait("floor", self.between(-22, -8))
        start = min(ambient, 33.0) - abs(float(self.rng.normal(0, 2)))
        self.cabinet = cabinet = Cabinet(
            start, floor, constant, delay, self.hours, ambient, self.between(1.5, 4), self.between(0.05, 0.3)
        )
        again = cabinet.above_zero_again()
        follows = self.trait("hold-over logged", again is not None and self.chance(0.35))
        end = again + 1.2 if follows and again is not None else self.hours + self.between(0, 0.4)
        swing, phase = self.between(0, 1.5), self.between(0, 6)
        ambient_at: Callable[[Floats], Floats] = lambda t: ambient + swing * np.sin(2 * np.pi * t / 9 + phase)
        how = self.trait("thermometer", self.one("independent", "correlated", "hand"))
        by_hand = how == "hand"
        begin = -self.between(0.02, 0.25)
        if by_hand:
            must = tuple(t for t in (0.0, self.hours) if self.chance(0.6))
            times = np.array(self.hand_times(begin, end, must))
            step, sd, memory = self.one(0.1, 0.5, 1.0), 0.05, 0.0
        else:
            times = np.array(self.logger_times(begin, end))
            step, sd = self.one(0.01, 0.1, 0.1, 0.5), self.between(0.03, 0.3)
            memory = self.between(4, 40) / 60 if how == "correlated" else 0.0
        self.trait("step", step), self.trait("noise", sd), self.trait("memory", memory)
        fahrenheit = self.trait("fahrenheit", self.chance(0.2))
        error = self.accuracy("cabinet", self.one(0.2, 0.5, 1.0), "K")
        bound = self.traits["accuracy_bound"]["cabinet"]
        ambient_error = self.between(-1, 1)
        rows = {
            "cabinet_temperature": cabinet(times) + error + correlated_noise(self.rng, times, sd, memory),
            "ambient_temperature": ambient_at(times) + ambient_error + 0.05 * self.rng.standard_normal(len(times)),
        }
        if not fahrenheit:
            self.sheet.put("cabinet", "resolution", quoted(f"{step:g} K"))
        for name, values in rows.items():
            shown = [number(v * 1.8 + 32, step) if fahrenheit else number(v, step) for v in values]
            unit = self.one("°F", "degF") if fahrenheit else self.one("degC", "°C", "C")
            self.add("cabinet.csv", f"{name} [{unit}]", times, shown, by_hand)
        noise = sd + step * (5 / 9 if fahrenheit else 1.0) / 2
        self._cabinet_truth(times, bound + 4 * noise, ambient_at, follows, again)

    def _cabinet_truth(
        self, times: Floats, margin: float, ambient_at: Callable[[Floats], Floats], follows: bool, again: float | None
    ) -> None:
        cabinet = self.cabinet
        self.known("temperature_start", cabinet.start)
        inside = times[times >= 0]
        curve = cabinet(inside)
        medians = np.median(np.lib.stride_tricks.sliding_window_view(curve, 3), axis=1)
        lowest = float(medians.min())
        self.known("temperature_lowest", lowest)
        grid = np.linspace(0, self.hours, 2000)
        self.ambient_mean = float(ambient_at(grid).mean())
        self.known("ambient_mean", self.ambient_mean)
        for key, threshold in THRESHOLDS.items():
            crossing = cabinet.crossing(threshold)
            if float(curve.min()) > threshold + margin:
                self.never.add(key)
            if crossing is None:
                continue
            clear = inside[(inside > crossing) & (curve < threshold - margin)]
            sure = len(clear) > 2 and clear[-1] - clear[0] > 0.15 and cabinet.start > threshold + margin
            self.known(key, crossing, bool(sure))
        to_zero = cabinet.crossing(0.0)
        if to_zero is not None and "time_to_0" in self.supported:
            self.known("cooling_rate_mean", cabinet.start / to_zero)
        elif "time_to_0" in self.never:
            lowest_at = float(inside[1:-1][int(np.argmin(medians))])
            self.known("cooling_rate_mean", (cabinet.start - lowest) / lowest_at, cabinet.start - lowest > 3 * margin)
        self.known("cooling_rate_peak", self._steepest(inside[inside <= self.hours]), len(inside) > 8)
        long_enough = self.hours - cabinet.delay > 2.5 * cabinet.constant
        enough = bool(long_enough and np.sum((inside > cabinet.delay) & (inside < self.hours)) >= 12)
        self.known("cooling_time_constant", cabinet.constant, enough)
        self.known("cooling_delay", cabinet.delay, enough)
        self.known("temperature_floor", cabinet.floor, enough)
        self.traits["fall to floor"] = cabinet.start - cabinet.floor
        if again is not None:
            warm = times[(times > again) & (cabinet(times) > margin)]
            sure = float(cabinet(self.hours)) < -margin and len(warm) > 2 and warm[-1] - warm[0] > 0.15
            self.known("hold_over_time", again - self.hours, follows and bool(sure))
        if not follows and (again is None or float(cabinet(times[-1])) < -margin):
            self.never.add("hold_over_time")

    def _steepest(self, inside: Floats) -> float:
        """Return the steepest line through three or more noise-free readings that span 15 minutes or more."""
        curve, rates = self.cabinet(inside), [0.0]
        for first in range(len(inside)):
            last = max(int(np.searchsorted(inside, inside[first] + 0.25 - 1e-9)), first + 2)
            if last < len(inside):
                rates.append(-float(np.polyfit(inside[first : last + 1], curve[first : last + 1], 1)[0]))
        return max(rates)

    # gas ---------------------------------------------------------------------------------------------------------
    def _gas_state(self) -> None:
        put, rng = self.sheet.put, self.rng
        self.dry = self.trait("dry", self.chance(0.1))
        if self.dry:
            put("gas", "dry", "true")
        altitude = self.trait("altitude", float(self.one(0, round(self.between(0, 400)), round(self.between(400, 2400)))))
        weather = 0.7 * float(rng.standard_normal())
        self.air = standard_pressure(altitude) + weather
        how = self.trait("barometer", self.one("altitude", "stated", "logged"))
        gas_middle = self.traits["ambient"] + self.between(-3, 3)
        gas_middle = min(max(gas_middle, 12.0), 38.0)
        self.gas_drift = self.trait("gas drift", self.between(-1, 1)) if self.chance(0.5) else 0.0
        times = self.hand_times(-0.1, self.hours)
        if how == "altitude" or self.chance(0.3):
            put("", "altitude", quoted(f"{altitude:.0f} m"))
        if how == "stated":
            self.air = self.stated("gas", "atmospheric", self.air * 10, self.one(1.0, 2.0), "hPa", 0) / 10
        elif how == "logged":
            off = self.between(-0.2, 0.2)
            shown = [number((self.air + off) * 10, 1.0) for _ in times[::4]]
            self.add("gas.csv", "atmospheric_pressure [hPa]", times[::4], shown, True)
        if self.trait("gas temperature", self.one("stated", "logged")) == "stated":
            self.gas_mean = self.stated("gas", "temperature", gas_middle, self.one(0.5, 1.0, 2.0), "degC", 0)
        else:
            self.gas_mean, off = gas_middle, self.between(-1, 1)
            values = self.gas_at(np.array(times[::2])) + off
            shown = [number(v, 0.1) for v in values]
            self.add("gas.csv", "gas_temperature [degC]", times[::2], shown, True)
        if self.trait("gas pressure", self.one("stated", "logged", "cmH2O")) == "logged":
            self.gauge, off = self.between(0.4, 1.6), self.between(-0.1, 0.1)
            shown = [number((self.gauge + off) * 10, 0.1) for _ in times[::3]]
            self.add("gas.csv", "gas_pressure [mbar]", times[::3], shown, True)
        elif self.traits["gas pressure"] == "cmH2O":
            self.gauge = self.stated("gas", "pressure", self.between(4, 16), 0.5, "cmH2O", 1) * 0.0980665
        else:
            self.gauge = self.stated("gas", "pressure", self.between(4, 16), 0.5, "mbar", 1) / 10
        if self.trait("methane", self.one("stated", "stated", "logged")) == "stated":
            method = self.one("analyser", "absorption", "assumed")
            spread = 5.0 if method == "assumed" else self.one(1.0, 2.0, 3.0)
            self.methane = self.stated("gas", "methane", self.between(54, 66), spread, "%", 0) / 100
            put("gas", "methane_method", quoted(method))
        else:
            percent, off = self.between(54, 66), self.between(-1, 1)
            readings = [number(percent + off + 0.2 * float(rng.standard_normal()), 0.1) for _ in range(3)]
            self.add("gas.csv", "methane [%]", [0.05, self.hours / 2, self.hours - 0.05], readings, True)
            put("gas", "methane_method", quoted("analyser"))
            self.methane = percent / 100
        self.known("methane_fraction", self.methane)

    def gas_at(self, hours: Floats) -> Floats:
        """Return the temperature of the gas, whose mean over the run is `gas_mean`."""
        return self.gas_mean + self.gas_drift * (np.clip(hours / self.hours, -0.1, 1.2) - 0.5)

    def factor_at(self, hours: Floats) -> Floats:
        return standard_dry(self.gas_at(hours), self.air + self.gauge, self.dry)

    def _feeding(self) -> None:
        """Feed the digester for months, and log the last weeks."""
        rng, put = self.rng, self.sheet.put
        self.scale_error = self.accuracy("gas", self.one(1.0, 1.5, 2.0, 3.0), "%") / 100
        open_holder = self.kind == "holder" and self.chance(0.35)
        self.open = self.trait("open", open_holder)
        self.production = 0.0
        self.yield_fresh: float | None = None
        if not self.trait("feed logged", open_holder or self.chance(0.88)):
            self.never.update(WASTE_KEYS)
            return
        days = self.trait("feed days", int(rng.integers(16, 36)))
        course = self.trait("feeding", self.one("steady", "step"))
        usual, spread = self.between(1.5, 6), self.between(0.05, 0.18)
        rate, true_yield = self.trait("rate", self.between(0.09, 0.30)), self.between(80, 150)
        masses = usual * np.clip(rng.normal(1, spread, HISTORY + days), 0.6, 1.5)
        if course == "step":
            at = HISTORY + int(days * self.between(0.25, 0.65))
            masses[at:] *= self.one(0.5, 0.6, 1.6, 1.8, 2.0)
        step = self.one(0.02, 0.05, 0.1)
        weighed = np.round(masses / step) * step
        off = 1 + self.between(-0.02, 0.02)  # kitchen scale, no place for its accuracy in the format
        true_masses = masses / off
        gas = daily_gas(true_masses, true_yield, rate) * np.clip(rng.normal(1, 0.02, len(masses)), 0.9, 1.1)
        daily = standard_dry(
            self.gas_mean + rng.normal(0, 0.8, days), self.air + self.gauge + rng.normal(0, 0.3, days), self.dry
        )
        logged = slice(HISTORY, None)
        as_read, litre = gas[logged] / daily * (1 + self.scale_error), self.one(1.0, 2.0, 5.0)
        measured = self.trait("solids measured", self.chance(0.7))
        put("digester", "solids_source", quoted("measured" if measured else "table"))
        solids_off = 1 + self.between(-1, 1) * (0.05 if measured else 0.15)
        total, volatile = self.between(18, 28), self.between(80, 92)
        totals = total + rng.normal(0, 1, days) if measured else np.full(days, total)
        volatiles = volatile + rng.normal(0, 1, days) if measured else np.full(days, volatile)
        totals, volatiles = np.round(totals, 1), np.round(volatiles, 1)
        water = np.round(weighed[logged] * self.between(1, 3) * 2) / 2
        produced, fed = float(gas[logged].sum()), float(true_masses[logged].sum())
        solids = float((true_masses[logged] * totals * volatiles).sum()) / 1e4 / solids_off
        self._write_feeds(days, weighed[logged], step, totals, volatiles, water, as_read, litre)
        volume = round(usual * self.between(150, 250))
        put("digester", "working_volume", quoted(f"{volume} L"))
        self.true_yield, self.yield_fresh = true_yield, (produced / fed if course == "steady" else true_yield)
        self.known("gas_produced", produced)
        self.known("waste_fed", fed)
        self.known("gas_yield_fresh", produced / fed)
        self.known("gas_yield_vs", produced / solids)
        self.known("methane_yield_vs", produced / solids * self.methane)
        self.known("gas_yield_model", true_yield, course == "step" and days >= 24)
        self.known("loading_rate", solids / days / (volume / 1000))
        per_kilogram = 1 + self.between(-0.05, 0.05)
        self.known("retention_time", volume / ((fed * per_kilogram + float(water.sum())) / days))
        if open_holder:
            mean_rate = produced / days / 24 / float(self.factor_at(np.array([self.hours / 2]))[0])
            self.production = mean_rate * (1 + 0.15 * float(rng.standard_normal()))

    def _write_feeds(
        self, days: int, masses: Floats, step: float, totals: Floats, volatiles: Floats, water: Floats, gas: Floats, litre: float
    ) -> None:
        first = self.day - dt.timedelta(days=days - 1)
        style, hour = self.one("%Y-%m-%d", "%Y-%m-%d %H:%M", "%d/%m/%Y"), self.between(6.5, 10)
        lines = ["time,material,fresh_mass [kg],total_solids [%],volatile_solids [%],water_added [L],gas_produced [L]"]
        for i in range(days):
            clock = hour + float(self.rng.normal(0, 0.2))
            when = dt.datetime.combine(first + dt.timedelta(days=i), dt.time(int(clock), int(clock % 1 * 60)))
            lines.append(
                f"{when.strftime(style)},kitchen scraps,{number(masses[i], step)},{totals[i]:.1f},{volatiles[i]:.1f},"
                f"{water[i]:.1f},{number(gas[i], litre)}"
            )
        self.feed_file = "\n".join(lines) + "\n"

    def _gas(self) -> None:
        put = self.sheet.put
        put("gas", "kind", quoted(self.kind))
        rate, slope = self.between(30, 90), self.between(-0.08, 0.08)
        wave, period, phase = self.between(0, 0.04), self.between(0.7, 3), self.between(0, 6)
        after = 0.5
        self.grid = grid = np.arange(-0.5, self.hours + after + STEP, STEP)
        burning = (grid >= 0) & (grid < self.hours)
        course = 1 + slope * (grid / self.hours - 0.5) + wave * np.sin(2 * np.pi * grid / period + phase)
        self.draw = np.where(burning, rate * course, 0.0)
        factor = self.factor_at(grid)
        used, standard = float(self.draw.sum()) * STEP, float((self.draw * factor).sum()) * STEP
        self.used, self.standard = used, standard
        self.known("gas_used_as_read", used)
        self.known("gas_used", standard)
        self.known("gas_per_hour_as_read", used / self.hours)
        self.known("gas_per_hour", standard / self.hours)
        self.known("hours_per_cubic_metre_as_read", 1000 * self.hours / used)
        self.energy = standard / 1000 * self.methane * NET_HEATING_VALUE
        self.known("energy_used", self.energy)
        self.known("burner_power", self.energy * 1e6 / (self.hours * 3600))
        {"holder": self._holder, "meter": self._meter, "flow": self._flow}[self.kind](factor)
        if self.kind != "holder":
            self.never.add("holder_endurance")
        if self.yield_fresh is not None:
            told = self.traits["feeding"] == "steady" or self.traits["feed days"] >= 24
            self.known("waste_for_run", standard / self.yield_fresh, told)
            self.traits["waste_for_run by true yield"] = standard / self.true_yield

    def gas_times(self, include: tuple[float, ...]) -> tuple[Floats, bool]:
        by_hand = self.trait("gas by hand", self.chance(0.75))
        if not by_hand:
            return np.array(self.logger_times(-0.3, self.hours + 0.3)), False
        at_ends = self.trait("gas read at the ends", self.chance(0.6))
        must = (*include, 0.0, self.hours) if at_ends else include
        return np.array(self.hand_times(-self.between(0.05, 0.25), self.hours + self.between(0.25, 0.45), must)), True

    def _holder(self, factor: Floats) -> None:
        put, grid = self.sheet.put, self.grid
        stated = not self.open and self.chance(0.15)  # isolated is left out, and taken as true
        if not stated:
            put("gas", "isolated", "false" if self.open else "true")
        refill = None
        if not self.open and self.trait("refill", self.chance(0.25)):
            refill = (self.hours * self.between(0.3, 0.7), self.between(2, 5) / 60, self.between(60, 160))
        standard = -np.concatenate(([0.0], np.cumsum(self.draw * factor)[:-1])) * STEP
        standard += self.production * float(factor.mean()) * grid
        if refill is not None:
            standard += refill[2] * float(factor.mean()) * np.clip((grid - refill[0]) / refill[1], 0, 1)
        reserve = float(round(self.between(10, 30)))
        needed = -float((standard / factor).min()) + reserve + self.between(15, 120)
        content = (standard + needed * float(factor[grid <= 0][-1])) / factor
        must = () if refill is None else (refill[0] - 0.25 / 60, refill[0] + refill[1] + 0.25 / 60)
        times, by_hand = self.gas_times(must)
        values = np.interp(times, grid, content) * (1 + self.scale_error)
        self._write_volumes(times, values, by_hand, level=self.chance(0.35))
        if refill is not None and self.chance(0.5):
            self.add("events.csv", "event", [refill[0]], ["refill"], True)
        put("gas", "reserve", quoted(f"{reserve:.0f} L"))
        left = float(np.interp(self.hours, grid, content)) - reserve
        self.known("holder_endurance", left / (self.used / self.hours), left > 12)

    def _write_volumes(self, times: Floats, values: Floats, by_hand: bool, level: bool) -> None:
        put = self.sheet.put
        step = self.one(1.0, 2.0, 5.0) if by_hand else self.one(0.1, 0.5, 1.0)
        self.trait("gas step", step)
        if level:
            self.trait("level", True)
            area = float(round(self.between(2000, 5000), -1))
            centimetres = self.one(0.1, 0.5, 1.0) if by_hand else 0.1
            put("gas", "level_area", quoted(f"{area:.0f} cm^2"))
            step = centimetres * area / 1000
            shown = [number(v / area * 1000, centimetres) for v in values]
            self.add("gas.csv", "gas_level [cm]", times, shown, by_hand)
        elif self.trait("cubic metres", self.kind == "meter" and self.chance(0.5)):
            shown = [number(v / 1000, step / 1000) for v in values]
            self.add("gas.csv", "gas_volume [m3]", times, shown, by_hand)
        else:
            self.add("gas.csv", "gas_volume [L]", times, [number(v, step) for v in values], by_hand)
        if self.chance(0.7):
            put("gas", "resolution", quoted(f"{step:g} L"))

    def _meter(self, _: Floats) -> None:
        total = self.between(100, 80_000) + np.concatenate(([0.0], np.cumsum(self.draw)[:-1])) * STEP
        times, by_hand = self.gas_times(())
        start = total[0]
        values = start + (np.interp(times, self.grid, total) - start) * (1 + self.scale_error)
        self._write_volumes(times, values, by_hand, level=False)

    def _flow(self, _: Floats) -> None:
        times, by_hand = self.gas_times(())
        clear = (np.abs(times) > 1 / 60) & (np.abs(times - self.hours) > 1 / 60)  # lit and out are no flow to be read
        times = times[clear]
        step = self.trait("gas step", self.one(0.01, 0.02, 0.05, 0.1))
        values = np.interp(times, self.grid, self.draw) / 60 * (1 + self.scale_error)
        values = np.maximum(values * (1 + 0.01 * self.rng.standard_normal(len(times))), 0.0)
        self.add("gas.csv", "gas_flow [L/min]", times, [number(v, step) for v in values], by_hand)

    # ice ---------------------------------------------------------------------------------------------------------
    def _ice(self) -> None:
        put, rng = self.sheet.put, self.rng
        count = self.trait("containers", int(self.one(1, 1, 2, 3, 4)))
        mass = self.stated("water", "mass", self.between(0.4, 2.5), self.one(0.005, 0.01, 0.02), "kg", 2)
        start = self.stated("water", "temperature", self.between(14, 30), self.one(0.5, 1.0), "degC", 0)
        cold = self.stated("water", "ice_temperature", -self.between(4, 9), 1.0, "degC", 0)
        cold = min(cold, 0.0)
        put("water", "containers", str(count))
        placed, placed_by_clock = self.between(-0.2, 0.3), self.chance(0.5)
        if placed_by_clock:
            put("water", "placed", self.clock_minute(placed, "%Y-%m-%d %H:%M"))
        else:
            self.add("events.csv", "event", [placed], ["water placed"], True)
        begins = max(placed, 0.0) + self.between(0.2, 0.8)
        cabinet = self.cabinet
        below = cabinet.crossing(-1.0)
        earliest = max(begins, below if below is not None else self.hours) + 0.3
        last = max(self.hours * self.between(0.5, 1.35), earliest)
        solid = [last, *(max(last - self.between(0.05, 0.6), earliest - 0.2) for _ in range(count - 1))]
        hours, shares = frozen_shares(cabinet, begins, solid, self.hours + 0.5)
        at_out = np.array([float(np.interp(self.hours, hours, share)) for share in shares])
        all_solid = self.trait("solid", max(solid) <= self.hours)
        ice = mass * float(at_out.mean())
        percent = self.trait("percent", self.chance(0.6))
        last_not, first_solid = self._looks(hours, shares, solid, percent)
        weighed = self.trait("weighed", ice > 0.1 * mass and self.chance(0.5))
        if weighed:
            spread = self.one(0.005, 0.01)
            put("water", "ice_mass", quoted(f"{ice + spread * float(rng.standard_normal()):.3f} +/- {spread} kg"))
        self.known("water_mass", mass)
        told = weighed or all_solid and first_solid is not None or percent and bool((at_out > 0.25).all())
        self.ice = ice if ice > 0 else None
        if self.ice is not None:
            self.heat = mass * water_heat(start) + ice * (heat_of_fusion() + ice_heat(cold))
            self.known("ice_mass", ice, told)
            self.known("heat_removed", self.heat, told)
        if first_solid is not None and last_not is not None:
            since = max(solid) - placed
            self.known("ice_making_time", max(solid))
            # Where all logs count from the lighting, and no clock time of it is known, a clock time tells nothing.
            if placed_by_clock and self.dialect.clock == "elapsed" and not self.lit_by_clock:
                self.never.update(SOLID_KEYS[1:])
                return
            self.known("freezing_time", since)
            self.known("ice_making_capacity", ice * 24 / since)
            self.known("cooling_power", self.heat / since / 3.6)
        elif first_solid is None:
            self.never.update(SOLID_KEYS)

    def _looks(
        self, hours: Floats, shares: Floats, solid: list[float], percent: bool
    ) -> tuple[float | None, float | None]:
        """Write the looks; return the last that was not all solid and the first that was."""
        low, high = self.one((15, 30), (20, 50))
        instants, instant = [], self.between(0.3, 1.2)
        while instant < self.hours - 0.12:
            instants.append(instant)
            instant += self.between(low, high) / 60
        instants.append(self.hours - self.between(0.0, 0.03))
        times, words, names = [], [], []
        last_not, first_solid = None, None
        for instant in instants:
            for name, (share, done) in enumerate(zip(shares, solid, strict=True), start=1):
                times.append(instant)
                names.append(str(name))
                words.append(self._word(float(np.interp(instant, hours, share)), instant >= done, percent))
            if instant < max(solid):
                last_not = instant
            elif first_solid is None:
                first_solid = instant
        self.add("ice.csv", "ice", times, words, True)
        if len(solid) > 1:
            self.add("ice.csv", "container", times, names, True)
        return last_not, first_solid

    def _word(self, share: float, is_solid: bool, percent: bool) -> str:
        if is_solid:
            return "100" if percent and self.chance(0.5) else "solid"
        if not percent:
            return "liquid" if share < 0.03 else "partial"
        seen = share + 0.04 * float(self.rng.standard_normal())
        return str(int(min(max(round(seen * 10) * 10, 0), 90)))

    def _chain(self) -> None:
        boiler = self.stated("boiler", "temperature", self.between(165, 195), self.one(5.0, 10.0), "degC", 0)
        hot, warm, cold = (t + 273.15 for t in (boiler, self.ambient_mean, self.truth["temperature_lowest"]))
        if warm - cold > 4:
            self.known("cop_reversible", (1 - warm / hot) * cold / (warm - cold))
        if self.ice is None:
            return
        told = "ice_mass" in self.supported
        self.known("gas_per_ice_as_read", self.used / self.ice, told)
        self.known("gas_per_ice", self.standard / self.ice, told)
        self.known("methane_per_ice", self.standard * self.methane / self.ice, told)
        self.known("energy_per_ice", self.energy / self.ice, told)
        self.known("cop_ice", self.heat / 1000 / self.energy, told)
        if self.yield_fresh is not None:
            self.known("waste_to_ice", self.truth["waste_for_run"] / self.ice, told and "waste_for_run" in self.supported)

    def files(self) -> dict[str, str]:
        files = {"trial.toml": self.sheet.text()}
        if self.traits["feed logged"]:
            files["feed.csv"] = self.feed_file
        named = {name: _joined(columns) for name, columns in self.columns.items()}
        if self.dialect.one_file:
            named = {"log.csv": _joined([column for columns in named.values() for column in columns])}
        for name, columns in named.items():
            seconds = any(moment % 60 for column in columns for moment, _ in column.cells)
            files[name] = self.dialect.write(columns, seconds)
        return files


def _joined(columns: list[Column]) -> list[Column]:
    """Return columns with those of one header made one."""
    cells: dict[str, list[tuple[float, str]]] = {}
    for column in columns:
        cells.setdefault(column.header, []).extend(column.cells)
    return [Column(header, sorted(pairs, key=lambda pair: pair[0])) for header, pairs in cells.items()]


def simulate(seed: int, kind: Kind | None = None) -> Simulated:
    """Return one trial folder with its truth; equal arguments give equal folders."""
    trial = _Trial(seed, kind)
    return Simulated(
        trial.files(), trial.truth, trial.never - trial.supported, trial.supported, trial.traits
    )
