"""The ice of a simulated trial, the looks at it, and what a kilogram of it took."""

from __future__ import annotations

import numpy as np
from drawing import Kind, quoted
from gas_logs import GasLogs
from physics import Floats, frozen_shares, heat_of_fusion, ice_heat, water_heat

SOLID_KEYS = ("ice_making_time", "freezing_time", "ice_making_capacity", "cooling_power")
#: An eye judges the share frozen to within 10 to 20 % of the whole in 95 of 100 looks (from memory), so its standard
#: deviation is between these; half of its variance is the same in all looks of one trial (ours).
EYE = (0.05, 0.10)
#: People write tenths, and every fourth of them quarters (ours).
TENTHS, QUARTERS, QUARTERLY = 0.1, 0.25, 0.25
#: So near to no ice and to all of it an eye errs less, in proportion [1] (ours).
PLAIN = 0.15
#: From so large a share on ice is seen [1] (ours).
SEEN = 0.03


class IceLogs(GasLogs):
    """A trial with its ice log: all of it."""

    def __init__(self, seed: int, kind: Kind | None) -> None:
        super().__init__(seed, kind)
        self._ice()
        self._chain()

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
            put(
                "water",
                "ice_mass",
                quoted(f"{ice + spread * float(rng.standard_normal()):.3f} +/- {spread} kg"),
            )
        self.known("water_mass", mass)
        told = weighed or (all_solid and first_solid is not None) or (percent and bool((at_out > 0.25).all()))
        self.ice = ice if ice > 0 else None
        if self.ice is not None:
            self.heat = mass * water_heat(start) + ice * (heat_of_fusion() + ice_heat(cold))
            self.known("ice_mass", ice, told)
            self.known("heat_removed", self.heat, told)
        if first_solid is not None and last_not is not None:
            since = max(solid) - placed
            self.known("ice_making_time", max(solid))
            # Where all logs count from a lighting of unknown clock time, another clock time tells nothing.
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
        # The eye has its own chance, so that all else of a trial stays as it was.
        chance = np.random.default_rng([20260316, self.traits["seed"]])
        spread = self.trait("eye", float(chance.uniform(*EYE)))
        self.step = self.trait("eye step", QUARTERS if chance.random() < QUARTERLY else TENTHS)
        self.eye, always = spread / 2**0.5, spread / 2**0.5 * float(chance.standard_normal())
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
                words.append(self._word(float(np.interp(instant, hours, share)), instant >= done, percent, always))
            if instant < max(solid):
                last_not = instant
            elif first_solid is None:
                first_solid = instant
        self.add("ice.csv", "ice", times, words, True)
        if len(solid) > 1:
            self.add("ice.csv", "container", times, names, True)
        return last_not, first_solid

    def _word(self, share: float, is_solid: bool, percent: bool, always: float) -> str:
        if is_solid:
            return "100" if percent and self.chance(0.5) else "solid"
        if share < SEEN:
            return "0" if percent else "liquid"
        if not percent:
            return "partial"
        fade = min(1.0, share / PLAIN, (1 - share) / PLAIN)
        seen = share + fade * (always + self.eye * float(self.rng.standard_normal()))
        steps = min(max(round(seen / self.step), 1), round(1 / self.step) - 1)
        return f"{100 * steps * self.step:g}"

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
            self.known(
                "waste_to_ice",
                self.truth["waste_for_run"] / self.ice,
                told and "waste_for_run" in self.supported,
            )
