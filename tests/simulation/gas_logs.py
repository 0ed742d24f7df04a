"""The gas a simulated trial burns, and the holder, meter or flow meter that is read."""

from __future__ import annotations

import numpy as np
from dialects import number
from drawing import Kind, quoted
from feed_logs import FeedLogs
from physics import NET_HEATING_VALUE, STEP, Floats


class GasLogs(FeedLogs):
    """A trial with its gas log."""

    def __init__(self, seed: int, kind: Kind | None) -> None:
        super().__init__(seed, kind)
        self._gas()

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
