"""The cabinet of a simulated trial, its thermometer, and what is true of its cooling."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from dialects import number
from drawing import Drawing, Kind, quoted
from physics import Cabinet, Floats, correlated_noise

THRESHOLDS = {"time_to_0": 0.0, "time_to_minus_6": -6.0, "time_to_minus_12": -12.0, "time_to_minus_18": -18.0}


class CabinetLogs(Drawing):
    """A trial with its cabinet log."""

    def __init__(self, seed: int, kind: Kind | None) -> None:
        super().__init__(seed, kind)
        self._cabinet()

    def _cabinet(self) -> None:
        ambient = self.trait("ambient", self.between(14, 34))
        constant, delay = (
            self.trait("constant", self.between(0.6, 1.8)),
            self.trait("delay", self.between(0.1, 0.7)),
        )
        floor = self.trait("floor", self.between(-22, -8))
        start = min(ambient, 33.0) - abs(float(self.rng.normal(0, 2)))
        self.cabinet = cabinet = Cabinet(
            start, floor, constant, delay, self.hours, ambient, self.between(1.5, 4), self.between(0.05, 0.3)
        )
        again = cabinet.above_zero_again()
        follows = self.trait("hold-over logged", again is not None and self.chance(0.35))
        end = again + 1.2 if follows and again is not None else self.hours + self.between(0, 0.4)
        swing, phase = self.between(0, 1.5), self.between(0, 6)

        def ambient_at(hours: Floats) -> Floats:
            return np.asarray(ambient + swing * np.sin(2 * np.pi * hours / 9 + phase))

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
        self,
        times: Floats,
        margin: float,
        ambient_at: Callable[[Floats], Floats],
        follows: bool,
        again: float | None,
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
