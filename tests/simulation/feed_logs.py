"""The state of the gas of a simulated trial, and the digester that made it."""

from __future__ import annotations

import datetime as dt

import numpy as np
from cabinet_logs import CabinetLogs
from dialects import number
from drawing import Kind, quoted
from physics import Floats, daily_gas, standard_dry, standard_pressure

WASTE_KEYS = (
    "gas_produced",
    "waste_fed",
    "gas_yield_fresh",
    "gas_yield_vs",
    "methane_yield_vs",
    "gas_yield_model",
    "waste_for_run",
    "waste_to_ice",
    "loading_rate",
    "retention_time",
)
HISTORY = 160  # days of feeding before the feed log


class FeedLogs(CabinetLogs):
    """A trial with the state of its gas, and its feed log."""

    def __init__(self, seed: int, kind: Kind | None) -> None:
        super().__init__(seed, kind)
        self._gas_state()
        self._feeding()

    def _gas_state(self) -> None:
        put, rng = self.sheet.put, self.rng
        self.dry = self.trait("dry", self.chance(0.1))
        if self.dry:
            put("gas", "dry", "true")
        altitude = self.trait(
            "altitude", float(self.one(0, round(self.between(0, 400)), round(self.between(400, 2400))))
        )
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
        return np.asarray(self.gas_mean + self.gas_drift * (np.clip(hours / self.hours, -0.1, 1.2) - 0.5))

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
            self.gas_mean + rng.normal(0, 0.8, days),
            self.air + self.gauge + rng.normal(0, 0.3, days),
            self.dry,
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
        self,
        days: int,
        masses: Floats,
        step: float,
        totals: Floats,
        volatiles: Floats,
        water: Floats,
        gas: Floats,
        litre: float,
    ) -> None:
        first = self.day - dt.timedelta(days=days - 1)
        style, hour = self.one("%Y-%m-%d", "%Y-%m-%d %H:%M", "%d/%m/%Y"), self.between(6.5, 10)
        units = (
            "fresh_mass [kg]",
            "total_solids [%]",
            "volatile_solids [%]",
            "water_added [L]",
            "gas_produced [L]",
        )
        lines = [",".join(("time", "material", *units))]
        for i in range(days):
            clock = hour + float(self.rng.normal(0, 0.2))
            when = dt.datetime.combine(first + dt.timedelta(days=i), dt.time(int(clock), int(clock % 1 * 60)))
            solids = f"{totals[i]:.1f},{volatiles[i]:.1f}"
            fed = f"{when.strftime(style)},kitchen scraps,{number(masses[i], step)}"
            lines.append(f"{fed},{solids},{water[i]:.1f},{number(gas[i], litre)}")
        self.feed_file = "\n".join(lines) + "\n"
